"""Suggestions held against everything there is: small spaces are gone through whole, by another way than the search."""

import itertools
import math
from dataclasses import replace
from datetime import date
from decimal import Decimal

import pytest
from builders import TODAY, a_frame, a_request, demo_shops, demo_tables

from chequerwork.domain.basics.budget import Budget
from chequerwork.domain.basics.errors import Refused
from chequerwork.domain.basics.shop import Span
from chequerwork.domain.completion.complete import complete
from chequerwork.domain.order.order import ChessPieces, Hold, Line
from chequerwork.domain.order.request import OrderRequest
from chequerwork.domain.plan import Plan
from chequerwork.domain.suggestions.limits import MEASURES, Field, First, Limits, Wishes, overrun
from chequerwork.domain.suggestions.moves import contrast, lightness
from chequerwork.domain.suggestions.search import Search
from chequerwork.domain.suggestions.suggest import _Request, suggest
from chequerwork.domain.wood.verdict import Verdict

TABLES, WHOLE_SHOP = demo_tables(), demo_shops()["moosgrund"]
# Fewer squares, so that everything can be gone through.
SHOP = replace(WHOLE_SHOP, ranges=replace(WHOLE_SHOP.ranges, square=Span(low_mm=44.0, high_mm=60.0)))
F = Field
TWO_LINES = (Line(species="wenge", width_mm=2.0), Line(species="sycamore_maple", width_mm=3.0))


def framed(**changes) -> OrderRequest:
    """A board that has something to give up."""
    board = {
        "square_mm": 52.0,
        "light": "sycamore_maple",
        "dark": "wenge",
        "lines": TWO_LINES,
        "feet": 4,
        "frame": a_frame(SHOP, species="wenge", width_mm=44.0, hold=Hold.FLOATING),
        **changes,
    }
    return a_request(SHOP, **board)


CHEAP = (First.LIKENESS, First.LOW_PRICE, First.LARGE_SQUARES)


def plan_of(order):
    return Plan(order, SHOP, TABLES)


def suggested(request, limits, wishes=Wishes(), count=4):  # noqa: B008 - frozen
    return suggest(request, limits, wishes, count, shop=SHOP, tables=TABLES, today=TODAY)


def points_of(option_points, plan, reference, top_mm, wishes):
    """The stated ranking, said once more: points of the changes, the square, verdict, pieces and what comes first."""
    found = option_points + 100 * math.log(top_mm / plan.order.field.square_mm)
    verdict = plan.movement.verdict
    found += {Verdict.SOUND: 0, Verdict.WATCH: 0.5, Verdict.EXPECT_DAMAGE: 20}[verdict]
    found += 4 * max(0, verdict.rank - reference.movement.verdict.rank)
    found += {None: 0, "standard": 0, "roomy": 4, "tight": 4}.get(plan.geometry.fit.verdict, 25)
    share = math.log(float(plan.price.total) / float(reference.price.total))
    found += (100 if wishes.first is First.LOW_PRICE else 5) * share
    if wishes.first is First.EARLY:
        found += 2 * (plan.schedule.dates.ready_on - plan.order.dates.issued_on).days
    if wishes.first is First.CONTRAST:
        found += 100 - contrast(plan.order.field.light, plan.order.field.dark, TABLES)
    return found


def enumerated(request, limits, wishes):
    """Least points of all: every set of changes, and in each every square from the largest on."""
    asking = _Request(request, limits, wishes, SHOP, TABLES, TODAY)
    space, reference = asking.space, plan_of(asking.asked)
    best = math.inf
    for moves in itertools.product(*space.groups):
        made = space.base
        for move in moves:
            made = move.make(made)
        of_changes = sum(move.points for move in moves)
        for square_mm in space.squares_mm:
            # Nothing costs a third of the board asked for, so no more than this comes off again.
            off = 2 * math.log(3) * 50 if wishes.first is First.LOW_PRICE else 5 * math.log(3)
            if wishes.first in CHEAP and of_changes + 100 * math.log(space.squares_mm[0] / square_mm) - off > best:
                break
            try:
                order = complete(replace(made, square_mm=square_mm), shop=SHOP, tables=TABLES, today=TODAY)
                plan = plan_of(order)
                kept = all(
                    limit is None or overrun(name, limit, plan) <= 0
                    for name, limit in (
                        ("outside", limits.outside_mm),
                        ("height", limits.height_mm),
                        ("mass", limits.mass_g),
                        ("total", limits.total),
                        ("ready_by", limits.ready_by),
                        ("verdict", limits.verdict),
                    )
                )
                _ = plan.price
            except Refused:
                continue
            if kept:
                best = min(best, points_of(of_changes, plan, reference, space.squares_mm[0], wishes))
                break
    return best


CASES = {
    "a smaller table": (framed(), Limits(outside_mm=480.0), Wishes(may_change=(F.SQUARE, F.FRAME))),
    "the square must stay": (framed(), Limits(outside_mm=500.0), Wishes(may_change=(F.FRAME, F.LINES))),
    "less money": (framed(), Limits(total=Decimal(600)), Wishes(may_change=(F.SQUARE, F.LINES, F.FEET, F.FINISH))),
    "little money": (framed(), Limits(total=Decimal(520)), Wishes(may_change=(F.SQUARE, F.FRAME, F.LINES))),
    "other timbers": (framed(), Limits(total=Decimal(650)), Wishes(may_change=(F.SQUARE, F.LIGHT, F.DARK))),
    "light": (framed(), Limits(mass_g=3000.0), Wishes(may_change=(F.SQUARE, F.THICKNESS, F.FEET))),
    "low": (framed(), Limits(height_mm=24.0), Wishes(may_change=(F.THICKNESS, F.FEET, F.FINISH))),
    "sound": (framed(), Limits(verdict=Verdict.SOUND), Wishes(may_change=(F.SQUARE, F.PATTERN, F.GRAIN))),
    "sound and small": (
        framed(frame=a_frame(SHOP, species="wenge", width_mm=44.0)),
        Limits(verdict=Verdict.SOUND, outside_mm=490.0),
        Wishes(may_change=(F.SQUARE, F.PATTERN, F.FRAME)),
    ),
    "cheap first": (
        framed(),
        Limits(outside_mm=500.0),
        Wishes(first=First.LOW_PRICE, may_change=(F.SQUARE, F.LINES, F.FINISH, F.FEET)),
    ),
    "early first": (
        framed(),
        Limits(outside_mm=500.0),
        Wishes(first=First.EARLY, may_change=(F.SQUARE, F.FINISH, F.FEET)),
    ),
    "by a day": (framed(), Limits(ready_by=date(2027, 2, 11)), Wishes(may_change=(F.SQUARE, F.FINISH, F.FRAME))),
    "left open": (
        a_request(SHOP, square_mm=None, light=None, dark=None),
        Limits(outside_mm=420.0, total=Decimal(450)),
        Wishes(may_change=(F.SQUARE, F.LIGHT, F.DARK)),
    ),
    "contrast first": (
        a_request(SHOP, light=None, dark=None),
        Limits(total=Decimal(520)),
        Wishes(first=First.CONTRAST, may_change=(F.SQUARE, F.LIGHT, F.DARK)),
    ),
    "for pieces": (
        framed(square_mm=None, pieces=ChessPieces(king_base_mm=38.0)),
        Limits(outside_mm=470.0),
        Wishes(first=First.LARGE_SQUARES, may_change=(F.SQUARE, F.FRAME)),
    ),
}


@pytest.mark.parametrize("case", CASES)
def test_the_best_suggestion_is_the_best_there_is(case):
    request, limits, wishes = CASES[case]
    found = suggested(request, limits, wishes)
    assert found.thorough
    assert found.suggestions[0].points == pytest.approx(enumerated(request, limits, wishes), abs=1e-5)


@pytest.mark.parametrize("case", CASES)
def test_suggestions_come_in_the_order_of_their_points_and_differ(case):
    request, limits, wishes = CASES[case]
    found = suggested(request, limits, wishes, count=8).suggestions
    points = [each.points for each in found]
    assert points == sorted(points)
    kinds = [
        (tuple(c.field for c in each.changes), each.plan.order.field.light, each.plan.order.field.dark)
        for each in found
    ]
    assert len(set(kinds)) == len(kinds)


def test_an_order_that_keeps_to_its_limits_comes_first_as_it_is():
    found = suggested(framed(), Limits(outside_mm=600.0)).suggestions[0]
    assert (found.changes, found.gives_up) == ((), ())
    assert found.plan.order == complete(framed(), shop=SHOP, tables=TABLES, today=TODAY)


def test_fields_that_stay_are_never_changed():
    wishes = Wishes(keep=(F.FRAME, F.LIGHT, F.DARK, F.FINISH))
    for each in suggested(framed(), Limits(outside_mm=460.0), wishes, count=8).suggestions:
        order = each.plan.order
        assert (order.field.light, order.field.dark, order.surface.finish) == (
            "sycamore_maple",
            "wenge",
            SHOP.defaults.finish,
        )
        assert order.frame is not None
        assert (order.frame.species, order.frame.width_mm) == ("wenge", 44.0)


def test_only_named_timbers_are_used_anywhere_in_the_board():
    only = ("sycamore_maple", "european_walnut")
    found = suggested(framed(), Limits(species=only)).suggestions
    assert found
    for each in found:
        assert {key for key, _ in each.plan.geometry.timber_kg} <= set(only)


def test_what_it_gives_up_is_said():
    found = suggested(framed(), Limits(outside_mm=480.0), Wishes(may_change=(F.SQUARE,))).suggestions[0]
    assert [(change.field, change.was) for change in found.changes] == [("square", 52.0)]
    assert found.gives_up[0].text == "Squares: {0} instead of {1}."
    assert found.gives_up[0].lengths_mm == (found.plan.order.field.square_mm, 52.0)


# Where nothing suits --------------------------------------------------------------------------------------------------


def test_a_limit_below_the_least_board_is_told_exactly():
    """Eight squares of the least size that the shop makes, 44 mm here."""
    found = suggested(framed(), Limits(outside_mm=150.0))
    assert found.suggestions == ()
    assert [(each.limit, each.least) for each in found.alone] == [("outside", 8 * 44.0)]


def test_the_least_is_that_of_an_order_that_can_be_made():
    """Below the postage, and with rails that stay: what is told is what such an order has, no sum without it."""
    found = suggested(framed(), Limits(total=Decimal(5)))
    assert found.closest is not None
    assert [(each.limit, each.least) for each in found.alone] == [("total", found.closest.suggestion.plan.price.total)]
    kept = suggested(framed(), Limits(outside_mm=100.0), Wishes(keep=(F.FRAME, F.LINES)))
    (alone,) = kept.alone
    assert kept.closest is not None
    overall = kept.closest.suggestion.plan.geometry.overall
    assert alone.least == max(overall.length_mm, overall.width_mm) > 8 * 44.0 + 2 * 40.0


def test_the_closest_miss_and_what_would_do_are_true():
    wishes = Wishes(keep=(F.FRAME, F.LINES, F.SQUARE))
    found = suggested(framed(), Limits(outside_mm=470.0, total=Decimal(900)), wishes)
    assert found.suggestions == ()
    assert found.closest is not None
    assert [each.limit for each in found.closest.missed] == ["outside"]
    assert MEASURES["outside"](found.closest.suggestion.plan) == found.closest.missed[0].has > 470
    (relaxed,) = found.relaxed
    assert relaxed.limit == "outside"
    again = suggested(framed(), Limits(outside_mm=relaxed.needed, total=Decimal(900)), wishes)
    assert again.suggestions
    less = suggested(framed(), Limits(outside_mm=relaxed.needed - 0.5, total=Decimal(900)), wishes)
    assert less.suggestions == ()


def test_each_of_two_limits_may_be_the_one_to_relax():
    wishes = Wishes(keep=(F.FRAME, F.LINES), may_change=None)
    limits = Limits(total=Decimal(560), verdict=Verdict.SOUND)
    found = suggested(framed(square_mm=60.0), limits, Wishes(keep=(*wishes.keep, F.SQUARE, F.LIGHT, F.DARK)))
    assert found.suggestions == ()
    for relaxed in found.relaxed:
        assert overrun(relaxed.limit, relaxed.needed, relaxed.suggestion.plan) <= 0
        for name, most in (("total", limits.total), ("verdict", limits.verdict)):
            if name != relaxed.limit:
                assert overrun(name, most, relaxed.suggestion.plan) <= 0


def test_two_timbers_alike_show_no_chequer():
    found = suggested(framed(), Limits(species=("wenge",)))
    assert [each.limit for each in found.alone] == ["species"]


def test_what_the_rack_cannot_give_is_not_suggested():
    """Proved by the stock plan of each: every piece from the rack, nothing bought."""
    found = suggested(framed(dark="european_walnut"), Limits(from_stock=True), count=2)
    assert found.suggestions
    for each in found.suggestions:
        assert each.plan.stock.purchases == ()
    many = suggested(framed(quantity=40), Limits(from_stock=True))
    assert many.suggestions == ()
    assert many.closest is not None
    assert [each.limit for each in many.closest.missed] == ["from_stock"]


def test_work_is_bounded_whatever_is_asked():
    hard = Limits(outside_mm=400.0, total=Decimal(430), verdict=Verdict.SOUND, mass_g=1500.0, ready_by=date(2027, 2, 9))
    asking = _Request(framed(), hard, Wishes(), SHOP, TABLES, TODAY)
    search = asking.search()
    list(asking.chosen(search, 8))
    assert search.budget.left > -5000  # the set at hand is finished, no other begun


# Colours --------------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(("colour", "expected"), [("#ffffff", 100.0), ("#000000", 0.0), ("#777777", 50.0)])
def test_lightness_is_that_of_the_standard(colour, expected):
    """CIE L*: white 100, black 0; sRGB 119 of 255 is middle grey, L* 50 (from memory)."""
    assert lightness(colour) == pytest.approx(expected, abs=0.1)


# One border between squares that keep and squares that do not ---------------------------------------------------------


@pytest.mark.parametrize("shop_id", ["moosgrund", "willet-slough"])
@pytest.mark.parametrize(
    "limits",
    [
        Limits(outside_mm=455.0),
        Limits(total=Decimal(560)),
        Limits(mass_g=2600.0),
        Limits(verdict=Verdict.SOUND),
        Limits(ready_by=date(2027, 2, 12), total=Decimal(640)),
    ],
    ids=["outside", "total", "mass", "verdict", "ready"],
)
def test_the_largest_square_is_found_by_halving(shop_id, limits):
    """Every square from the largest on, one after the other, leads to the same one."""
    shop = demo_shops()[shop_id]
    rows = itertools.product((4, 8), (Hold.GLUED, Hold.FLOATING, None), (13.0, 18.0))
    for columns, hold, thick_mm in rows:
        frame = a_frame(shop, hold=hold) if hold else None
        request = a_request(shop, columns=columns, square_mm=None, frame=frame, thickness_mm=thick_mm)
        asking = _Request(request, limits, Wishes(), shop, TABLES, TODAY)
        search = Search(asking.space, limits, Budget(10**9))
        found = search.solve(asking.space.base)
        by_hand = None
        for square_mm in asking.space.squares_mm:
            candidate = search.look(replace(asking.space.base, square_mm=square_mm))
            if candidate is not None and next(search.misses(candidate), None) is None and search.work_out(candidate, 1):
                by_hand = square_mm
                break
        assert (found.order.field.square_mm if found else None) == by_hand
