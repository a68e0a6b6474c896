"""Whatever a shop file holds, it loads or is refused: no other exception, no secret, no long quotation."""

import copy
import string
import zoneinfo

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from chequerwork.domain.basics.errors import Refused
from chequerwork.domain.basics.shop import Shop
from chequerwork.shop.loader import describe_faults, load_shop

pytestmark = pytest.mark.slow("random shop files")

FEW = settings(max_examples=60, deadline=None, derandomize=True, suppress_health_check=[HealthCheck.too_slow])
WORDS = st.sampled_from(
    [
        "3 mm",
        "19 %",
        "62.50",
        "4/4",
        "wenge",
        "AT",
        "EUR",
        "net",
        "08:00-12:00",
        "1 h",
        "2 kg",
        "20 °C",
        "-1",
        "",
        "flat",
    ]
)
SCALARS = st.one_of(
    WORDS,
    st.text(st.characters(exclude_categories=["Cs"]), max_size=70),
    st.booleans(),
    st.integers(-(2**70), 2**70),
    st.floats(),
    st.dates(),
)
JUNK = st.recursive(
    SCALARS,
    lambda inner: st.one_of(
        st.lists(inner, max_size=4),
        st.dictionaries(st.one_of(WORDS, st.text(string.printable, max_size=8)), inner, max_size=4),
    ),
    max_leaves=8,
)


def places(tree, at=()):
    """Every path of a file, tables before what they hold."""
    entries = tree.items() if isinstance(tree, dict) else enumerate(tree) if isinstance(tree, list) else ()
    for key, value in entries:
        yield (*at, key)
        yield from places(value, (*at, key))


@pytest.fixture(scope="module", autouse=True)
def _zones_are_listed_once():
    """Listing the time zones is half of a load, and there are hundreds of loads here."""
    zones = zoneinfo.available_timezones()
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(zoneinfo, "available_timezones", lambda: zones)
        yield


@pytest.fixture(scope="module")
def every_place(demo):
    """Every path of a demo shop, but only two of each list and one of each table of like tables."""
    shapes = {}
    for path in places(demo()):
        like = path[0] in {"lumber", "finishes", "channels", "zones"} and len(path) > 1
        if not any(isinstance(part, int) and part > 1 for part in path):
            shapes.setdefault((path[0], "any", *path[2:]) if like else path, path)
    return list(shapes.values())


def put(tree, path, value):
    """Put a value in, unless an earlier change took its place away."""
    try:
        for key in path[:-1]:
            tree = tree[key]
        tree[path[-1]] = value
    except (KeyError, IndexError, TypeError):
        return


def outcome(text, tables) -> Shop | Refused:
    """The shop, or what it is refused with; any other exception is the test's failure."""
    try:
        return load_shop(text, tables=tables, name="a.toml")
    except Refused as refused:
        return refused


def loads_or_is_refused(text, tables):
    found = outcome(text, tables)
    if isinstance(found, Refused):
        assert found.faults
        assert all(fault.at[0] == "a.toml" and fault.code and fault.detail for fault in found.faults)
        lines = describe_faults(found).splitlines()
        assert len([line for line in lines if line.startswith("    ")]) == len(found.faults)
    else:
        assert isinstance(found, Shop)


@FEW
@given(text=st.text(max_size=200))
def test_any_text_loads_or_is_refused(text, tables):
    loads_or_is_refused(text, tables)


@FEW
@given(data=st.data())
def test_any_tree_under_known_names_loads_or_is_refused(data, tables, demo, write_toml):
    names = st.one_of(st.sampled_from(sorted(demo())), st.text(string.printable, max_size=8))
    tree = data.draw(st.dictionaries(names, JUNK, max_size=12))
    loads_or_is_refused(write_toml(tree), tables)


@settings(FEW, max_examples=100)
@given(data=st.data())
def test_a_demo_shop_with_junk_anywhere_loads_or_is_refused(data, tables, demo, write_toml, every_place):
    tree = demo()
    changes = st.lists(st.tuples(st.sampled_from(every_place), JUNK), min_size=1, max_size=6)
    for path, junk in data.draw(changes):
        put(tree, path, copy.deepcopy(junk))
    loads_or_is_refused(write_toml(tree), tables)


def test_taking_any_one_setting_away_loads_or_is_refused(tables, demo, write_toml, every_place):
    for path in every_place:
        loads_or_is_refused(write_toml(demo({path: ...})), tables)


def test_no_fault_repeats_more_than_60_characters_of_a_value(demo, write_toml, tables, every_place):
    long = "".join(f"{number}x" for number in range(100))
    refused = [outcome(write_toml(demo({path: long})), tables) for path in every_place]
    texts = [describe_faults(found) for found in refused if isinstance(found, Refused)]
    assert len(texts) > 100
    assert [text for text in texts if long[:61] in text] == []
    assert any(long[:40] in text for text in texts)


SECRET = "a1b2c3d4e5f60718293a4b5c6d7e8f9000112233"  # noqa: S105  as long as an access key, but of no shop


@pytest.mark.parametrize("as_key", [False, True], ids=["as a value", "as a name"])
def test_no_fault_tells_a_secret_wherever_it_was_put(as_key, demo, write_toml, tables, every_place):
    told = []
    for path in every_place:
        place = (*path[:-1], SECRET) if as_key and isinstance(path[-1], str) else path
        found = outcome(write_toml(demo({place: f"{SECRET} {SECRET}"})), tables)
        if isinstance(found, Refused):
            told.append(describe_faults(found) + str(found) + repr(found.faults))
    assert len(told) > 100
    assert [text for text in told if SECRET[:12] in text or SECRET[-12:] in text] == []


def test_salts_and_hashes_are_not_told_even_when_they_are_too_short_to_look_like_one(faults_of):
    for setting in ("salt", "sha256"):
        for value in ("5ec4e7", "pepper-and-5ec4e7", 0x5EC4E7, ["5ec4e7"], {"hex": "5ec4e7"}):
            (fault,) = faults_of({("keys", 0, setting): value})
            assert "5ec4e7" not in str(fault)
            assert str(0x5EC4E7) not in str(fault)


def test_a_parsers_sentence_about_broken_toml_is_not_repeated(tables):
    with pytest.raises(Refused) as refused:
        load_shop(f'"{SECRET}" = 1\n"{SECRET}" = 2\n', tables=tables, name="a.toml")
    assert SECRET not in str(refused.value)
