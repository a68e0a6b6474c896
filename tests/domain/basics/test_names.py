"""Names of timbers: the same one however it is written, near ones, and those that several timbers go by.

Which timber a trade name means is from memory unless a row of the table says otherwise; botanical names settle it.
"""

import pytest
from builders import demo_tables
from hypothesis import given
from hypothesis import strategies as st

from chequerwork.domain.basics.names import MOST_NEAR, Match, also_said_of, find, fold, unknown_timber, words

TABLES = demo_tables()


def found(name: str) -> tuple[str, ...]:
    """Keys that a name may mean."""
    return tuple(meant.species for meant in find(name, TABLES))


# One name, many spellings ---------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("name", "species"),
    [
        ("hard_maple", "hard_maple"),
        ("sugar maple", "hard_maple"),
        ("SUGAR-MAPLE", "hard_maple"),
        ("Acer saccharum", "hard_maple"),
        ("Zuckerahorn", "hard_maple"),
        ("Zucker-Ahorn", "hard_maple"),
        ("Érable à sucre", "hard_maple"),
        ("erable a sucre", "hard_maple"),
        ("klon cukrowy", "hard_maple"),
        ("Bergahorn", "sycamore_maple"),
        ("Érable sycomore", "sycamore_maple"),
        ("gewone esdoorn", "sycamore_maple"),
        ("american plane", "american_sycamore"),
        ("Europäischer Nussbaum", "european_walnut"),
        ("europaeischer nussbaum", "european_walnut"),
        ("europaischer nußbaum", "european_walnut"),
        ("orzech włoski", "european_walnut"),
        ("orzech wloski", "european_walnut"),
        ("noyer noir d’Amérique", "black_walnut"),
        ("noce nazionale", "european_walnut"),
        ("Amerikanische Weisseiche", "white_oak"),
        ("dąb szypułkowy", "european_oak"),
        ("Quercus pedunculata", "european_oak"),
        ("Birnbaum", "pear"),
        ("peral", "pear"),
        ("grusza", "pear"),
        ("big-leaf mahogany", "honduran_mahogany"),
        ("bigleaf mahogany", "honduran_mahogany"),
        ("wengé", "wenge"),
        ("brazilian cherry", "jatoba"),
        ("Betula lutea", "yellow_birch"),
        ("Ostindischer Palisander", "indian_rosewood"),
    ],
)
def test_a_name_is_found_in_any_spelling_and_language(name, species):
    assert [(meant.species, meant.match) for meant in find(name, TABLES)] == [(species, Match.EXACT)]
    assert also_said_of(name, TABLES) == ()


def test_words_are_small_plain_and_without_what_joins_them():
    assert words("Noyer noir d'Amérique") == ("noyer", "noir", "d", "amerique")
    assert words("  Dąb\tbezszypułkowy ") == ("dab", "bezszypulkowy")
    assert fold("Weiß-Esche") == fold("WEISSESCHE") == "weissesche"


@given(st.sampled_from([name.text for names in TABLES.names.values() for name in names]), st.randoms())
def test_case_and_joints_never_matter(text, chance):
    changed = "".join(chance.choice((letter.lower(), letter.upper())) for letter in text)
    changed = changed.replace(" ", chance.choice("-_ "))
    assert found(changed) == found(text) != ()


# Names of several timbers ---------------------------------------------------------------------------------------------

# The traps of wood notes 10, item 8 ("sycamore is a plane in the US and a maple in Europe; mahogany, rosewood, cherry
# likewise: key on botanical names") first; the others are the same trap in other words.
TRAPS = {
    "sycamore": {"american_sycamore", "sycamore_maple"},
    "mahogany": {"honduran_mahogany", "african_mahogany", "sapele"},
    "rosewood": {"indian_rosewood", "cocobolo", "bubinga"},
    "cherry": {"black_cherry", "jatoba"},
    "maple": {"hard_maple", "soft_maple_red", "sycamore_maple"},
    "oak": {"white_oak", "red_oak", "european_oak"},
    "ash": {"white_ash", "european_ash"},
    "beech": {"american_beech", "european_beech"},
    "walnut": {"black_walnut", "european_walnut"},
    "Ahorn": {"hard_maple", "soft_maple_red", "sycamore_maple"},
    "Eiche": {"white_oak", "red_oak", "european_oak"},
    "Nussbaum": {"black_walnut", "european_walnut"},
    "Mahagoni": {"honduran_mahogany", "african_mahogany", "sapele"},
    "Palisander": {"indian_rosewood", "cocobolo"},
    "érable": {"hard_maple", "soft_maple_red", "sycamore_maple"},
    "chêne": {"white_oak", "red_oak", "european_oak"},
    "noyer": {"black_walnut", "european_walnut"},
    "merisier": {"black_cherry", "yellow_birch"},
    "acajou": {"honduran_mahogany", "african_mahogany"},
    "roble": {"white_oak", "red_oak", "european_oak"},
    "nogal": {"black_walnut", "european_walnut"},
    "sicómoro": {"american_sycamore", "sycamore_maple"},
    "rovere": {"white_oak", "red_oak", "european_oak"},
    "noce": {"black_walnut", "european_walnut"},
    "esdoorn": {"hard_maple", "soft_maple_red", "sycamore_maple"},
    "dąb": {"white_oak", "red_oak", "european_oak"},
}
# One timber of the table bears the name, and others that are not in it.
HALF_TRAPS = {
    "tulipwood": ("yellow_poplar", "Dalbergia decipularis"),
    "soft maple": ("soft_maple_red", "Acer saccharinum"),
    "European maple": ("sycamore_maple", "Acer platanoides"),
    "birch": ("yellow_birch", "Betula pendula"),
    "ebony": ("gaboon_ebony", "Diospyros ebenum"),
    "padauk": ("african_padauk", "Pterocarpus macrocarpus"),
    "cedar": ("eastern_redcedar", "Thuja plicata"),
    "pencil cedar": ("eastern_redcedar", "Juniperus procera"),
    "genuine mahogany": ("honduran_mahogany", "Swietenia mahagoni"),
    "African rosewood": ("bubinga", "Pterocarpus erinaceus"),
    "African teak": ("iroko", "Pericopsis elata"),
    "Akazie": ("black_locust", "Acacia"),
    "Kirschbaum": ("black_cherry", "Prunus avium"),
    "Platane": ("american_sycamore", "Platanus × hispanica"),
    "Linde": ("basswood", "Tilia cordata"),
    "poplar": ("yellow_poplar", "Populus"),
}


@pytest.mark.parametrize(("name", "species"), TRAPS.items())
def test_a_name_of_several_timbers_gives_them_all(name, species):
    meant = find(name, TABLES)
    assert {each.species for each in meant} == species
    assert all(each.match is Match.EXACT for each in meant)


@pytest.mark.parametrize("name", [*TRAPS, *HALF_TRAPS])
def test_such_a_name_is_refused_with_every_botanical_name(name):
    fault = unknown_timber(at=("light",), given=name, tables=TABLES, worked=["pear"])
    assert fault.code == "ambiguous-name"
    for species in found(name):
        assert f"{species} ({TABLES.species[species].botanical}, not worked by this shop)" in fault.detail
    for other in also_said_of(name, TABLES):
        assert other in fault.detail


@pytest.mark.parametrize(("name", "told"), HALF_TRAPS.items())
def test_a_name_that_also_means_a_timber_outside_the_table_says_so(name, told):
    species, other = told
    assert found(name) == (species,)
    assert other in also_said_of(name, TABLES)


# Near names -----------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("name", "species"),
    [
        ("wallnut", {"black_walnut", "european_walnut"}),
        ("Juglans nigre", {"black_walnut"}),
        ("hard mapel", {"hard_maple"}),
        ("mahagony", {"honduran_mahogany", "african_mahogany", "sapele"}),
        ("walnut black", {"black_walnut"}),
        ("rosewood, east indian", {"indian_rosewood"}),
        ("zuckerah", {"hard_maple"}),
        ("wenga", {"wenge"}),
    ],
)
def test_a_slip_a_part_or_another_order_of_words_is_near(name, species):
    meant = find(name, TABLES)
    assert species <= {each.species for each in meant}
    assert meant[0].species in species
    assert all(each.match is Match.NEAR for each in meant)


@pytest.mark.parametrize("name", ["", "x", "zzzzzz", "boxwood", "pine", "????", "12", "ö" * 500])
def test_what_is_near_nothing_finds_nothing(name):
    assert find(name, TABLES) == ()


@given(st.text(max_size=90))
def test_any_text_is_answered_alike_each_time_and_in_bounds(text):
    meant = find(text, TABLES)
    assert meant == find(text, TABLES)
    assert len({each.species for each in meant}) == len(meant)
    assert all(each.match is Match.EXACT for each in meant) or len(meant) <= MOST_NEAR
    assert unknown_timber(at=(), given=text, tables=TABLES).detail


# What a refusal says --------------------------------------------------------------------------------------------------


def test_a_refusal_says_whether_the_shop_works_what_may_be_meant():
    def told(name: str, *worked: str) -> str:
        return unknown_timber(at=("dark",), given=name, tables=TABLES, worked=worked).detail

    assert "Write pear (Pyrus communis, worked by this shop)." in told("Birnbaum", "pear", "teak")
    assert told("Teck", "pear", "wenge").endswith(
        "Write teak (Tectona grandis, not worked by this shop). It offers: pear, wenge."
    )
    near = told("wallnut", "black_walnut")
    assert "black_walnut (Juglans nigra, worked by this shop)" in near
    assert "european_walnut (Juglans regia, not worked by this shop)" in near
    assert told("zzzzzz", "pear", "wenge").endswith("Choose one of: pear, wenge.")


def test_where_no_shop_is_asked_nobody_works_anything():
    assert "by this shop" not in unknown_timber(at=(), given="oak", tables=TABLES).detail
