"""Questions about limits of law, hours, parcel and price."""

from dataclasses import replace
from decimal import ROUND_HALF_EVEN, Decimal
from statistics import NormalDist

from builders import a_plan, altered, an_order, demo_shops, demo_tables, laid_out
from reference.answers.registry import checks_formulas

from chequerwork.domain.basics.amounts import round_money
from chequerwork.domain.basics.trade import Channel, FeeBase, TaxRegime
from chequerwork.domain.board.geometry import Rect
from chequerwork.domain.law import limits
from chequerwork.domain.making.hours import cumulative_average, likely_up_to_h, pert_sd, sum_sd, unit_average
from chequerwork.domain.money.fees import layer_of, net_for_margin
from chequerwork.domain.money.margins import margin_pct, markup_pct, with_markup
from chequerwork.domain.money.pricing import Till
from chequerwork.domain.money.terms import terms_of
from chequerwork.domain.parcel.packing import pack
from chequerwork.domain.parcel.parcels import carton_side_mm, is_flat

IN = 25.4
POUND_KG = 0.45359237  # exact
CM3_PER_IN3 = 2.54**3
EXACT = 20  # decimals: as good as unrounded
TABLES, MOOSGRUND = demo_tables(), demo_shops()["moosgrund"]


# Limits of law --------------------------------------------------------------------------------------------------------


@checks_formulas("limits.fits_small_parts_cylinder")
def foot_fits_the_cylinder(**foot):
    bore, depth = (TABLES.thresholds[f"small-parts-{part}"].value for part in ("bore", "depth"))
    return limits.fits_small_parts_cylinder(**foot, bore_mm=bore, depth_mm=depth)


@checks_formulas("limits.lacey_small_content")
def content_is_small(*, listed=False, **content):
    return limits.lacey_small_content(
        **content,
        listed=listed,
        share_limit=TABLES.thresholds["lacey-plant-share"].value,
        entry_limit_kg=TABLES.thresholds["lacey-entry-plant"].value,
    )


# Hours ----------------------------------------------------------------------------------------------------------------


@checks_formulas("hours.pert_sd", "hours.sum_sd")
def sd_of_spans(*, spans, correlation):
    return sum_sd(tuple(pert_sd(0.0, span) for span in spans), correlation)


@checks_formulas("hours.likely_up_to_h")
def p80_h(*, expected_h, sd_h):
    """As the notes have it, as if hours were normal; ours lean to the long side (``chance``)."""
    return likely_up_to_h(expected_h, sd_h, NormalDist().inv_cdf(0.80))


@checks_formulas("hours.operation_h")
def hours_per_board(*, setup_h, run_h, boards, learning=1.0):
    """A norm of one operation whose driver is a board, in a shop that keeps to the norm."""
    norm = replace(TABLES.operations["pack"], setup_h=setup_h, unit_h=run_h)
    shop = altered(MOOSGRUND, labour={"pace": 1.0, "hours": {}, "learning": learning})
    facts = altered(TABLES, operations={"pack": norm})
    return a_plan(shop, tables=facts, quantity=boards).hours.work[0].likely_h / boards


@checks_formulas("hours.cumulative_average")
def wright_total(*, first, rate, boards):
    return boards * cumulative_average(first, rate, boards)


@checks_formulas("hours.unit_average")
def crawford_total(*, first, rate, boards):
    return boards * unit_average(first, rate, boards)


# Parcel ---------------------------------------------------------------------------------------------------------------


def parcel(board_mm, service=None, **packing):
    """A board of that size and no mass, sent by a shop that packs so, by a carrier of these habits."""
    shop = altered(MOOSGRUND, packing=packing)
    home = shop.zones[0]
    shop = altered(shop, zones=(altered(home, services=(altered(home.services[0], **(service or {})),)),))
    order = an_order(shop)
    length_mm, width_mm, height_mm = board_mm
    overall = Rect(length_mm=length_mm, width_mm=width_mm)
    geometry = replace(laid_out(order, shop, TABLES), overall=overall, height_mm=height_mm, mass_kg=0.0)
    return pack(geometry, 1, order.sale.ship_to, order.units, shop).first


def bare(sides_in, service=None, **packing):
    return parcel([side * IN for side in sides_in], service, clearance_mm=0.0, wall_mm=0.0, **packing)


@checks_formulas("parcels.carton_side_mm")
def carton_mm(*, board_mm, **packing):
    return [carton_side_mm(side, **packing) for side in board_mm]


@checks_formulas("shipping.dimensional_kg")
def dimensional_kg_of_a_board(*, board_mm, divisor_cm3_kg):
    return parcel(board_mm, clearance_mm=50.0, wall_mm=7.0, divisor_cm3_kg=divisor_cm3_kg).dimensional_kg


@checks_formulas("arithmetic.round_up")
def whole_inches(*, sides_mm):
    found = bare([side / IN for side in sides_mm], {"sides_up_to_mm": IN}, cushion_kg_m3=0.0)
    return [side / IN for side in found.carriage.sides_mm]


@checks_formulas("shipping.dimensional_kg", "shipping.billable_kg")
def billable_lb(*, sides_in, divisors_in3_lb, whole_inches=False):
    service = {"sides_up_to_mm": IN if whole_inches else 0.0, "round_up_kg": POUND_KG}
    return [
        bare(sides_in, {**service, "divisor_cm3_kg": divisor * CM3_PER_IN3 / POUND_KG}, carton_kg_m2=0.0).billable_kg
        / POUND_KG
        for divisor in divisors_in3_lb
    ]


@checks_formulas("shipping.dimensional_counts", "shipping.billable_kg")
def billed_by_mass_alone(*, sides_in, above_in3):
    """Whether a parcel of no mass but its size is billed as nothing."""
    found = bare(sides_in, {"dimensional_above_cm3": above_in3 * CM3_PER_IN3}, carton_kg_m2=0.0, cushion_kg_m3=0.0)
    return found.billable_kg == 0


@checks_formulas("parcels.is_flat")
def is_flat_in(*, sides_in):
    return is_flat(tuple(side * IN for side in sides_in))


@checks_formulas("shipping.length_plus_girth_mm")
def length_plus_girth_in(*, sides_in):
    return bare(sides_in).length_plus_girth_mm / IN


# Price ----------------------------------------------------------------------------------------------------------------

PLAIN = altered(MOOSGRUND, price={"price_step": Decimal(0), "price_ending": Decimal(0)})


def channel(fee_pct, base, fee_fixed):
    return Channel(
        key="test", name="Test", fee_pct=Decimal(fee_pct), fee_base=FeeBase(base), fee_fixed=Decimal(fee_fixed)
    )


def fees(fee_pct, base, fee_fixed, tax="0", shipping_gross="0", **bounds):
    """The channel alone, as it bears on an order."""
    takes = replace(channel(fee_pct, base, fee_fixed), **{name: Decimal(given) for name, given in bounds.items()})
    return (layer_of(takes, tax=Decimal(tax), shipping_gross=Decimal(shipping_gross)),)


@checks_formulas("margins.gross_up", "margins.fee_share")
def net_price(*, cost, fee_pct, fee_fixed, base, tax, margin):
    return net_for_margin(Decimal(cost), fees(fee_pct, base, fee_fixed, tax), Decimal(margin))


@checks_formulas("margins.gross_up", "margins.fee_share", "margins.part_of", "margins.fee_rounded")
def margin_that_remains(*, cost, fee_pct, fee_fixed, base, tax, margin):
    """What is kept of the price after the fee the channel really takes of it."""
    (layer,) = fees(fee_pct, base, fee_fixed, tax)
    net = net_for_margin(Decimal(cost), (layer,), Decimal(margin))
    taken = layer.fee(layer.taken_of(net, net * (1 + Decimal(tax)), Decimal(0)), EXACT)
    return (net - taken - Decimal(cost)) / net


@checks_formulas("margins.gross_up")
def markup_of_margin(*, margins):
    free = fees("0", "net", "0")
    return [net_for_margin(Decimal(1), free, Decimal(margin)) - 1 for margin in margins]


@checks_formulas("margins.with_markup", "margins.margin_pct", "margins.markup_pct")
def sold_at(*, cost, price):
    """Markup and margin of goods bought and sold at these prices, in percent; and the price that the markup gives."""
    kept = Decimal(price) - Decimal(cost)
    markup = markup_pct(kept, Decimal(cost))
    return [markup, margin_pct(kept, Decimal(price)), with_markup(Decimal(cost), markup / 100)]


def plain_till(regime=TaxRegime.INCLUDED, tax="0", **changes):
    """A till of one board without fees, margin or price ends."""
    shop = altered(PLAIN, tax={"regime": regime, "rates_pct": {"AT": Decimal(tax) * 100}}, **changes)
    order = an_order(shop)
    terms = terms_of(order.sale, order.dates.issued_on, None, shop, TABLES)
    return Till(terms, 1, Decimal(0), Decimal(0))


@checks_formulas("amounts.net_inside")
def tax_inside(*, net, tax):
    sold = plain_till(tax=tax).sold(Decimal(net) * (1 + Decimal(tax)))
    return (sold.unit_gross - sold.unit_net) / sold.unit_gross


@checks_formulas("amounts.round_money", "amounts.gross_of")
def tax_of_three(*, unit_net, tax, by):
    """The service's way, by unit; and the other way, which it does not take."""
    sold = plain_till(TaxRegime.ADDED, tax).sold(Decimal(unit_net))
    by_unit = 3 * (sold.unit_gross - sold.unit_net)
    return by_unit if by == "unit" else round_money(3 * sold.unit_net * Decimal(tax), 2)


@checks_formulas("amounts.round_money")
def halves(*, amount):
    return [round_money(Decimal(amount), 2), round_money(Decimal(amount), 2, rounding=ROUND_HALF_EVEN)]
