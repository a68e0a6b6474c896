"""Files and folders of shops: what is read, in which order, and what cannot be read at all."""

import pytest

from chequerwork.domain.basics.errors import Refused
from chequerwork.shop.loader import LARGEST_FILE_BYTES, demo_folder, load_shop, load_shops


@pytest.fixture
def text():
    return (demo_folder() / "moosgrund.toml").read_text(encoding="utf-8")


@pytest.fixture
def refusal(tables):
    """The faults with which files are refused."""

    def faults(*paths):
        with pytest.raises(Refused) as refused:
            load_shops(paths, tables=tables)
        return refused.value.faults

    return faults


def renamed(text, name):
    return (
        text.partition("[[keys]]")[0]
        .replace('id = "moosgrund"', f'id = "{name}"')
        .replace("demo = true", "demo = false")
    )


def test_files_and_folders_are_read_in_the_order_given_and_folders_by_name(tmp_path, text, tables):
    folder = tmp_path / "shops"
    folder.mkdir()
    for name in ("elm", "birch", "notes"):
        (folder / f"{name}.toml").write_text(renamed(text, name), encoding="utf-8")
    (folder / "notes.toml").rename(folder / "notes.txt")
    (tmp_path / "oak.toml").write_text(renamed(text, "oak"), encoding="utf-8")
    assert list(load_shops([tmp_path / "oak.toml", folder], tables=tables)) == ["oak", "birch", "elm"]


def test_same_file_gives_the_same_shop(text, tables):
    assert load_shop(text, tables=tables, name="a") == load_shop(text, tables=tables, name="b")


def test_a_loaded_shop_cannot_be_changed(text, tables):
    shop = load_shop(text, tables=tables, name="a")
    for mapping in (shop.lumber, shop.finishes, shop.channels, shop.labour.hours, shop.tax.rates_pct):
        with pytest.raises(TypeError):
            mapping["new"] = None


def test_what_may_be_left_out_may_be_left_out(load):
    optional = (("origins",), ("sheets",), ("labour", "hours"), ("calendar", "holidays"), ("keys",))
    shop = load(dict.fromkeys((*optional, ("calendar", "free_from")), ...))
    assert (shop.origins, shop.sheets, shop.keys) == ((), (), ())
    assert not shop.labour.hours
    assert not shop.calendar.holidays
    assert shop.calendar.free_from is None
    assert load({("defaults", "frame_thickness"): "7/8 in"}).defaults.frame_thickness_mm == pytest.approx(22.225)


def test_byte_order_mark_and_windows_line_ends_do_no_harm(tmp_path, text, tables):
    (tmp_path / "a.toml").write_bytes(b"\xef\xbb\xbf" + text.replace("\n", "\r\n").encode())
    assert list(load_shops([tmp_path], tables=tables)) == ["moosgrund"]


def test_missing_file_empty_folder_and_wrong_bytes_are_told_together(tmp_path, refusal):
    (tmp_path / "empty").mkdir()
    (tmp_path / "latin.toml").write_bytes('name = "Käfer"'.encode("latin-1"))
    faults = refusal(tmp_path / "none.toml", tmp_path / "empty", tmp_path / "latin.toml")
    assert [(fault.at[0].rpartition("/")[2], fault.code) for fault in faults] == [
        ("none.toml", "unreadable"),
        ("empty", "no-shop"),
        ("latin.toml", "not-utf-8"),
    ]
    assert "No such file" in faults[0].detail
    assert "byte 10" in faults[2].detail


def test_two_shops_of_one_id_are_refused_with_the_first_ones_file(tmp_path, text, refusal):
    for name in ("a.toml", "b.toml"):
        (tmp_path / name).write_text(text, encoding="utf-8")
    (fault,) = refusal(tmp_path)
    assert (fault.at, fault.code) == ((str(tmp_path / "b.toml"), "id"), "duplicate")
    assert str(tmp_path / "a.toml") in fault.detail


def test_mistakes_of_several_files_are_told_together(tmp_path, text, refusal):
    (tmp_path / "a.toml").write_text(text.replace('"2.8 mm"', '"2.8"'), encoding="utf-8")
    (tmp_path / "b.toml").write_text(text.replace('country = "AT"', 'country = "AX1"'), encoding="utf-8")
    assert [fault.at[0][-6:] for fault in refusal(tmp_path)] == ["a.toml", "b.toml"]


@pytest.mark.parametrize(
    ("text", "code", "words"),
    [
        ('id = "a\n', "not-toml", "line 1, column 8"),
        ("id = 1\nid = 2\n", "not-toml", "line 2"),
        ("x = " + "[" * 20_000, "not-toml", "brackets"),
        ("x = " + "1" * 9_000, "not-toml", "digits"),
        ("# " + "x" * LARGEST_FILE_BYTES, "too-large", str(LARGEST_FILE_BYTES)),
        ("", "missing", "id is missing"),
    ],
)
def test_what_is_no_shop_file_is_refused_with_the_reason(text, code, words, tables):
    with pytest.raises(Refused) as refused:
        load_shop(text, tables=tables, name="a.toml")
    first = refused.value.faults[0]
    assert (first.at[0], first.code) == ("a.toml", code)
    assert words in first.detail


def test_an_empty_file_misses_every_table_and_names_each_once(tables):
    with pytest.raises(Refused) as refused:
        load_shop("", tables=tables, name="a.toml")
    places = [fault.at for fault in refused.value.faults]
    assert {fault.code for fault in refused.value.faults} == {"missing"}
    assert len(places) == len(set(places))
    assert ("a.toml", "machines") in places
    assert all(len(place) == 2 for place in places)


def test_a_number_too_long_to_print_is_refused_without_being_printed(load):
    with pytest.raises(Refused) as refused:
        load({("ranges", "quantity"): 16**300})
    assert "more than 15 digits" in str(refused.value)
