"""Every refusal of a wish: which field, what is wrong, the limit, what to change; and all of them at once."""

import re
from dataclasses import replace
from datetime import timedelta

import pytest
from builders import TODAY, a_frame, a_request, altered

from chequerwork.domain.basics.errors import Refused
from chequerwork.domain.basics.shop import Span
from chequerwork.domain.completion.complete import complete
from chequerwork.domain.order.order import ChessPieces, Hold, Line, Pattern, Skirt
from chequerwork.domain.order.request import BackingRequest, BaseRequest, ClimateRequest, OrderRequest, SandingRequest


@pytest.fixture
def faults_of(moosgrund, tables):
    """The faults of the small request after changes, in one shop or another; none if it is accepted."""

    def faults(shop=None, **changes):
        shop = shop or moosgrund
        try:
            complete(a_request(shop, **changes), shop=shop, tables=tables, today=TODAY)
        except Refused as refused:
            return refused.faults
        return ()

    return faults


@pytest.fixture
def only_fault_of(faults_of):
    def fault(shop=None, **changes):
        (found,) = faults_of(shop, **changes)
        return found

    return fault


def base(**changes):
    return BaseRequest(**{"material": "mdf", "thickness_mm": 9.0, "inset_mm": 20.0, **changes})


# What a test gives, where the fault is, its code, and words its sentence must hold.
REFUSALS = [
    ({"game": "ches"}, ("game",), "unknown-name", ["'ches'", "Did you mean chess?"]),
    ({"game": "draughts-10", "columns": 8, "square_mm": 42.0}, ("columns",), "conflict", ["10 columns", "8"]),
    ({"game": "draughts-10", "rows": 12, "square_mm": 42.0}, ("rows",), "conflict", ["10 rows", "12"]),
    ({"columns": 7, "pattern": Pattern.TURN}, ("pattern",), "odd-columns", ["7 squares", "shift", "even"]),
    ({"square_mm": None}, ("square",), "missing", ["'48 mm'", "pieces"]),
    ({"square_mm": 21.9}, ("square",), "too-small", ["21.9 mm", "22 mm to 75 mm", "at least 22 mm"]),
    ({"square_mm": 75.1}, ("square",), "too-large", ["75.1 mm", "at most 75 mm"]),
    (
        {"square_mm": None, "pieces": ChessPieces(king_base_mm=12.0)},
        ("pieces",), "too-small", ["derived from the pieces", "15.5 mm", "at least 22 mm"],
    ),
    ({"light": None}, ("light",), "missing", ["light", "sycamore_maple", "wenge"]),
    ({"dark": None}, ("dark",), "missing", ["dark", "sycamore_maple", "wenge"]),
    ({"dark": "sycamore_maple"}, ("dark",), "conflict", ["'sycamore_maple'", "two timbers"]),
    ({"dark": "wenga"}, ("dark",), "unknown-name", ["'wenga'", "wenge"]),
    ({"dark": "black_walnut"}, ("dark",), "not-offered", ["Black walnut", "european_walnut"]),
    ({"dark": "schwarznuss"}, ("dark",), "unknown-name", ["black_walnut", "Juglans nigra"]),
    ({"thickness_mm": 9.9}, ("thickness",), "too-small", ["9.9 mm", "at least 10 mm"]),
    (
        {"lines": (Line(species="pear", width_mm=3.0), Line(species="wenge", width_mm=8.5))},
        ("lines", 1, "width"), "too-large", ["8.5 mm", "at most 8 mm"],
    ),
    (
        {"lines": (Line(species="boxwood", width_mm=3.0),)},
        ("lines", 0, "species"), "unknown-name", ["'boxwood'", "Choose one of"],
    ),
    ({"frame": a_frame(species="teak")}, ("frame", "species"), "not-offered", ["Teak"]),
    ({"frame": a_frame(hold=Hold.GLUED, width_mm=14.0)}, ("frame", "width"), "too-small", ["14 mm", "15 mm"]),
    ({"frame": a_frame(width_mm=90.5)}, ("frame", "width"), "too-large", ["90.5 mm", "at most 90 mm"]),
    ({"frame": a_frame(thickness_mm=0.0)}, ("frame", "thickness"), "too-small", ["0 mm", "Leave out thickness"]),
    ({"frame": a_frame(hold=Hold.GLUED, thickness_mm=5.5)}, ("frame", "thickness"), "too-small", ["5.5", "6 mm"]),
    (
        {"frame": a_frame(thickness_mm=18.0, bevel_mm=10.0)},
        ("frame", "bevel"), "too-large", ["18 mm", "at most 9 mm"],
    ),
    ({"frame": a_frame(hold=Hold.GLUED, width_mm=15.0, bevel_mm=8.0)}, ("frame", "bevel"), "too-large", ["7.5 mm"]),
    ({"base": base(material="plywood")}, ("base", "material"), "unknown-name", ["'plywood'", "birch_plywood"]),
    ({"base": base(thickness_mm=7.5)}, ("base", "thickness"), "not-offered", ["7.5 mm", "6 mm, 9 mm"]),
    ({"base": base(inset_mm=145.0)}, ("base", "inset"), "too-large", ["145 mm", "384 mm", "at most 96 mm"]),
    (
        {"frame": a_frame(thickness_mm=24.0), "base": base()},
        ("frame", "thickness"), "conflict", ["hang 6 mm", "18 mm thick", "at least 45 mm"],
    ),
    (
        {"base": base(skirt=Skirt(species="pear", width_mm=1.5))},
        ("base", "skirt", "width"), "too-small", ["1.5 mm", "at least 2 mm"],
    ),
    (
        {"base": base(skirt=Skirt(species="teak", width_mm=5.0))},
        ("base", "skirt", "species"), "not-offered", ["Teak"],
    ),
    (
        {"base": base(backing=BackingRequest(species="pear", thickness_mm=6.5))},
        ("base", "backing", "thickness"), "too-large", ["6.5 mm", "at most 6 mm"],
    ),
    (
        {"base": base(backing=BackingRequest(species="pine", thickness_mm=3.0))},
        ("base", "backing", "species"), "unknown-name", ["'pine'"],
    ),
    ({"feet": 3}, ("feet",), "too-few", ["3 feet", "0, or 4"]),
    ({"finish": "shellac"}, ("finish",), "unknown-name", ["'shellac'", "shellac_2lb"]),
    ({"sanding": SandingRequest(top="P230")}, ("sanding", "top"), "unknown-name", ["'P230'", "P220"]),
    ({"sanding": SandingRequest(underside="600")}, ("sanding", "underside"), "unknown-name", ["'600'", "P600"]),
    ({"climate": ClimateRequest(low_rh_pct=63.0)}, ("climate", "low_rh"), "conflict", ["63 %", "62 %"]),
    (
        {"climate": ClimateRequest(room="heated_cold_winter")},
        ("climate", "room"), "unknown-name",
        ["'heated_cold_winter'", "Did you mean heated_cold_winters", "museum_steady"],
    ),
    (
        {"climate": ClimateRequest(room="sauna", low_rh_pct=90.0)},
        ("climate", "room"), "unknown-name", ["'sauna'", "There are: museum_steady, conditioned_all_year"],
    ),
    (
        {"climate": ClimateRequest(room="heated_cold_winters", low_rh_pct=63.0)},
        ("climate", "low_rh"), "conflict", ["63 %", "60 %"],
    ),
    ({"quantity": 41}, ("quantity",), "too-large", ["41 boards", "40"]),
    ({"channel": "own_sight"}, ("channel",), "unknown-name", ["'own_sight'", "own_site"]),
    ({"ship_to": "XX"}, ("ship_to",), "unknown-name", ["'XX'", "ISO 3166"]),
    ({"ship_to": "JP"}, ("ship_to",), "not-offered", ["Japan", "AT", "SK"]),
    ({"starts_on": TODAY - timedelta(days=1)}, ("starts_on",), "in-the-past", ["2027-01-31", "2027-02-01"]),
    ({"wanted_by": TODAY - timedelta(days=1)}, ("wanted_by",), "in-the-past", ["2027-01-31", "2027-02-01"]),
    ({"wanted_by": TODAY + timedelta(days=3), "starts_on": TODAY + timedelta(days=4)}, ("wanted_by",), "before-start",
     ["2027-02-04", "2027-02-05", "later"]),
]  # fmt: skip


@pytest.mark.parametrize(
    ("changes", "at", "code", "words"), REFUSALS, ids=[f"{'.'.join(map(str, r[1]))} {r[2]}" for r in REFUSALS]
)
def test_one_fault_is_named_with_value_limit_and_remedy(only_fault_of, changes, at, code, words):
    fault = only_fault_of(**changes)
    assert (fault.at, fault.code) == (at, code)
    assert [word for word in words if word not in fault.detail] == []


@pytest.mark.parametrize("refusal", REFUSALS, ids=[f"{'.'.join(map(str, r[1]))} {r[2]}" for r in REFUSALS])
def test_sentences_end_and_tell_no_price(only_fault_of, refusal):
    """A customer may read them: no currency, rate or margin, and no Python in them."""
    detail = only_fault_of(**refusal[0]).detail
    assert re.fullmatch(r"['\w].*[.?]", detail, flags=re.DOTALL)
    assert not re.search(r"EUR|USD|margin|rate|None|True|False|<|object at", detail)


# Lumber, grooves and sheets -------------------------------------------------------------------------------------------


def test_thickness_beyond_the_lumber_names_the_most_that_can_be_made(willet_slough, only_fault_of, faults_of):
    """Purpleheart comes in 5/4, 31.75 mm: less two faces of 3/32 in and two flattenings of 1/32 in is 25.4 mm."""
    fault = only_fault_of(willet_slough, dark="purpleheart", thickness_mm=26.0)
    assert (fault.at, fault.code) == (("thickness",), "lumber-too-thin")
    assert "31.8 mm" in fault.detail
    assert "Ask for at most 25.4 mm." in fault.detail
    assert faults_of(willet_slough, dark="purpleheart", thickness_mm=25.4) == ()


def test_both_timbers_may_be_too_thin(moosgrund, faults_of):
    lumber = {key: replace(each, classes=("4/4",)) for key, each in moosgrund.lumber.items()}
    faults = faults_of(replace(moosgrund, lumber=lumber), thickness_mm=19.1)
    assert [(fault.at, fault.code) for fault in faults] == [(("thickness",), "lumber-too-thin")] * 2
    # 25.4 less 2 x 2.4 and 2 x 0.8
    assert all("Ask for at most 19 mm." in fault.detail for fault in faults)


def test_a_rail_beyond_the_lumber_names_the_most_that_can_be_made(willet_slough, only_fault_of, faults_of):
    """31.75 less two faces of 3/32 in is 26.9875: a rail is glued up once less than the field."""
    frame = a_frame(willet_slough, species="purpleheart")
    fault = only_fault_of(willet_slough, frame=replace(frame, thickness_mm=27.0))
    assert (fault.at, fault.code) == (("frame", "thickness"), "lumber-too-thin")
    assert "Ask for at most 26.9 mm." in fault.detail
    assert faults_of(willet_slough, frame=replace(frame, thickness_mm=26.9)) == ()


def test_a_field_too_thin_for_a_tongue_cannot_float(moosgrund, only_fault_of, faults_of):
    shop = altered(moosgrund, ranges={"thickness": Span(low_mm=5.0, high_mm=36.0)})
    fault = only_fault_of(shop, thickness_mm=8.9, frame=a_frame())
    assert (fault.at, fault.code) == (("frame", "hold"), "too-thin-to-float")
    assert faults_of(shop, thickness_mm=8.9, frame=a_frame(hold=Hold.GLUED)) == ()
    assert faults_of(shop, thickness_mm=9.0, frame=a_frame()) == ()


def test_a_groove_too_deep_for_the_rail_names_the_least_rail(only_fault_of, faults_of):
    dry = ClimateRequest(low_rh_pct=10.0)
    fault = only_fault_of(frame=a_frame(width_mm=15.0), climate=dry)
    assert (fault.at, fault.code) == (("frame", "width"), "too-small")
    least_mm = float(re.search(r"at least (\d+) mm", fault.detail)[1])
    assert faults_of(frame=a_frame(width_mm=least_mm), climate=dry) == ()
    assert faults_of(frame=a_frame(width_mm=least_mm - 1.0), climate=dry) != ()


@pytest.mark.parametrize(
    ("changes", "at"),
    [
        ({"light": "Mahagoni"}, ("light",)),
        ({"dark": "Mahagoni"}, ("dark",)),
        ({"lines": (Line(species="Mahagoni", width_mm=3.0),)}, ("lines", 0, "species")),
        ({"frame": a_frame(species="Mahagoni")}, ("frame", "species")),
        ({"base": base(skirt=Skirt(species="Mahagoni", width_mm=5.0))}, ("base", "skirt", "species")),
        ({"base": base(backing=BackingRequest(species="Mahagoni", thickness_mm=3.0))}, ("base", "backing", "species")),
    ],
)
def test_a_name_of_several_timbers_is_never_resolved_in_silence(only_fault_of, changes, at):
    fault = only_fault_of(**changes)
    assert (fault.at, fault.code) == (at, "ambiguous-name")
    for words in ("Swietenia macrophylla", "Khaya", "Entandrophragma cylindricum", "not worked by this shop"):
        assert words in fault.detail


def test_a_wilder_climate_asks_for_a_wider_rail(faults_of):
    frame = a_frame(width_mm=20.0)
    assert faults_of(frame=frame) == ()
    assert faults_of(frame=frame, climate=ClimateRequest(low_rh_pct=10.0, high_rh_pct=90.0)) != ()


def test_a_base_larger_than_its_sheet_is_refused(moosgrund, only_fault_of):
    ranges = {"outside_mm": 3000.0, "square": Span(low_mm=22.0, high_mm=200.0)}
    shop = altered(moosgrund, ranges=ranges)
    fault = only_fault_of(shop, square_mm=150.0, columns=8, rows=8, base=base(inset_mm=0.0))
    assert (fault.at, fault.code) == (("base", "inset"), "too-large")
    assert "2440 x 1220 mm" in fault.detail


@pytest.mark.parametrize(
    ("changes", "at"),
    [
        ({"square_mm": 75.0, "columns": 12, "rows": 9, "pattern": Pattern.TURN, "frame": a_frame()}, ("square",)),
        ({"square_mm": 70.0, "columns": 8, "rows": 14}, ("square",)),
        ({"square_mm": None, "pieces": ChessPieces(king_base_mm=50.0), "rows": 16}, ("pieces",)),
    ],
)
def test_a_board_too_large_names_the_largest_square(only_fault_of, faults_of, changes, at):
    fault = only_fault_of(**changes)
    assert (fault.at, fault.code) == (at, "too-large")
    assert "900 mm" in fault.detail
    largest_mm = float(re.search(r"a square of at most ([\d.]+) mm", fault.detail)[1])
    assert faults_of(**{**changes, "pieces": None, "square_mm": largest_mm}) == ()
    assert faults_of(**{**changes, "pieces": None, "square_mm": largest_mm + 0.2}) != ()


def test_a_zone_without_countries_serves_the_rest_of_the_world(willet_slough, faults_of):
    assert faults_of(willet_slough, ship_to="JP") == ()


# All at once ----------------------------------------------------------------------------------------------------------

WORST = OrderRequest(
    game="draughts-10",
    columns=9,
    square_mm=500.0,
    light="sycamore",
    dark="teak",
    thickness_mm=50.0,
    pattern=Pattern.TURN,
    lines=(Line(species="boxwood", width_mm=12.0),),
    frame=a_frame(species="pine", width_mm=200.0, bevel_mm=120.0),
    base=BaseRequest(
        material="cardboard",
        thickness_mm=9.0,
        skirt=Skirt(species="teak", width_mm=90.0),
        backing=BackingRequest(species="oak", thickness_mm=20.0),
    ),
    feet=2,
    finish="moonshine",
    sanding=SandingRequest(top="P1", underside="smooth"),
    climate=ClimateRequest(low_rh_pct=80.0, high_rh_pct=20.0),
    quantity=400,
    starts_on=TODAY - timedelta(days=30),
    wanted_by=TODAY - timedelta(days=20),
    ship_to="JP",
    channel="bazaar",
)


def test_every_fault_of_a_wish_is_named_at_once(moosgrund, tables):
    with pytest.raises(Refused) as refused:
        complete(WORST, shop=moosgrund, tables=tables, today=TODAY)
    assert {".".join(map(str, fault.at)) for fault in refused.value.faults} == {
        "columns", "pattern", "square", "light", "dark", "thickness", "lines.0.species", "lines.0.width",
        "frame.species", "frame.width", "frame.bevel", "base.material", "base.skirt.species",
        "base.skirt.width", "base.backing.species", "base.backing.thickness", "feet", "finish", "sanding.top",
        "sanding.underside", "climate.low_rh", "quantity", "channel", "ship_to", "starts_on", "wanted_by",
    }  # fmt: skip


def test_faults_come_in_the_order_of_the_contract(moosgrund, tables):
    """Rooms in the order in which an order is read; within a field, as found."""
    with pytest.raises(Refused) as refused:
        complete(WORST, shop=moosgrund, tables=tables, today=TODAY)
    fields = list(dict.fromkeys(fault.at[0] for fault in refused.value.faults))
    assert fields == [
        "columns", "pattern", "square", "light", "dark", "thickness", "lines", "frame", "base", "feet", "finish",
        "sanding", "climate", "quantity", "channel", "ship_to", "starts_on", "wanted_by",
    ]  # fmt: skip


def test_feet_are_judged_even_without_a_square(faults_of):
    """They once hid behind the size of the board: a wish without a square learned of its feet only when mended."""
    assert [fault.at for fault in faults_of(square_mm=None, feet=3)] == [("square",), ("feet",)]


def test_a_groove_is_judged_beside_faults_that_do_not_touch_the_construction(faults_of):
    """Finish, quantity and days decide nothing about a rail."""
    others = {"finish": "moonshine", "feet": 2, "quantity": 41, "channel": "bazaar", "wanted_by": TODAY - timedelta(1)}
    found = [
        fault.at for fault in faults_of(frame=a_frame(width_mm=15.0), climate=ClimateRequest(low_rh_pct=10.0), **others)
    ]
    assert ("frame", "width") in found
    assert {("finish",), ("feet",), ("quantity",), ("channel",), ("wanted_by",)} < set(found)


@pytest.mark.parametrize(
    "fault",
    [{"dark": None}, {"dark": "boxwood"}, {"square_mm": 500.0}, {"climate": ClimateRequest(low_rh_pct=90.0)}],
)
def test_a_groove_waits_until_the_construction_is_sound(faults_of, fault):
    found = {fault.at for fault in faults_of(frame=a_frame(width_mm=15.0), **fault)}
    assert ("frame", "width") not in found


def test_timbers_inside_refused_fields_are_judged_all_the_same(moosgrund, tables):
    """The reader could not read the frame's width, but its timber and the line's it could."""
    timbers = [(("frame", "species"), "pine"), (("lines", 0, "species"), "pear"), (("lines", 1, "species"), "teak")]
    given = {"faulted": frozenset({"frame", "lines"}), "timbers": timbers}
    with pytest.raises(Refused) as refused:
        complete(a_request(moosgrund), shop=moosgrund, tables=tables, today=TODAY, **given)
    assert [(fault.at, fault.code) for fault in refused.value.faults] == [
        (("frame", "species"), "unknown-name"),
        (("lines", 1, "species"), "not-offered"),
    ]


def test_an_empty_wish_misses_square_and_timbers(moosgrund, tables):
    with pytest.raises(Refused) as refused:
        complete(OrderRequest(), shop=moosgrund, tables=tables, today=TODAY)
    assert [(fault.at, fault.code) for fault in refused.value.faults] == [
        (("square",), "missing"),
        (("light",), "missing"),
        (("dark",), "missing"),
    ]
