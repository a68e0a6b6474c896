"""What must hold between the settings of one shop file, and between the files of one service.

Each check looks only at settings that were read without fault, so one slip gives one message.
"""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from decimal import Decimal
from itertools import pairwise

from chequerwork.domain.basics.errors import Path
from chequerwork.domain.basics.facts import Currency, Tables
from chequerwork.domain.basics.shop import ShippingService, Shop
from chequerwork.domain.basics.trade import Charge, FeeBase
from chequerwork.domain.making.schedule.network import circle_of
from chequerwork.shop.access import DEMO_SHOPS, is_demo_key
from chequerwork.shop.settings_table import FaultList, shown

USUAL_COLUMNS = 8  # of an order that names none

Mistake = tuple[Path, str, str]  # where, code, detail


@dataclass(frozen=True, slots=True, kw_only=True)
class Draft:
    """A shop that may have holes, with what is known about them."""

    shop: Shop
    tables: Tables
    faults: FaultList

    def sound(self, *dotted: str) -> bool:
        """Whether settings, given like ``defaults.channel``, may be used."""
        return self.faults.sound(*(tuple(path.split(".")) for path in dotted))


def cross_check(draft: Draft) -> None:
    """Run every check and add what it finds to the draft's faults."""
    mistakes = [mistake for check in CHECKS for mistake in check(draft)]
    for at, code, detail in mistakes:
        draft.faults.add(at, code, detail)


# Defaults and ranges --------------------------------------------------------------------------------------------------


def _defaults_are_offered(draft: Draft) -> Iterator[Mistake]:
    shop = draft.shop
    offers: tuple[tuple[str, str, Mapping[str, object]], ...] = (
        ("channel", "channels", shop.channels),
        ("finish", "finishes", shop.finishes),
    )
    for key, table, offered in offers:
        if draft.sound(f"defaults.{key}", table):
            given = getattr(shop.defaults, key)
            if given not in offered:
                detail = f"{shown(given)} is not among [{table}], which has: {', '.join(offered)}."
                yield ("defaults", key), "not-offered", f"{detail} Name one of them or add it there."


def _default_thickness_can_be_made(draft: Draft) -> Iterator[Mistake]:
    shop = draft.shop
    at = ("defaults", "thickness")
    thickness_mm, span = shop.defaults.thickness_mm, shop.ranges.thickness
    if draft.sound("defaults.thickness", "ranges.thickness") and not span.low_mm <= thickness_mm <= span.high_mm:
        limit = f"ranges.thickness is {span.low_mm:g} mm to {span.high_mm:g} mm"
        yield at, "out-of-range", f"{thickness_mm:g} mm is given; {limit}. Change one of them."
    if draft.sound("defaults.thickness", "lumber", "machines.planing_face", "machines.flattening"):
        rough_mm = shop.machines.rough_field_thickness_mm(thickness_mm)
        thickest_mm = {known.name: known.rough_mm for known in draft.tables.thickness_classes}
        fit = [
            lumber
            for lumber in shop.lumber.values()
            if max(thickest_mm[name] for name in lumber.classes) >= rough_mm - 1e-9
        ]
        if len(fit) < 2:
            detail = f"{thickness_mm:g} mm finished needs {rough_mm:.1f} mm sawn, and {len(fit)} of the timbers is "
            yield at, "lumber-too-thin", f"{detail}bought that thick; a board needs two. Buy thicker or plan thinner."


def _an_eight_by_eight_fits_outside(draft: Draft) -> Iterator[Mistake]:
    if draft.sound("ranges.square", "ranges.outside"):
        least_mm = USUAL_COLUMNS * draft.shop.ranges.square.low_mm
        outside_mm = draft.shop.ranges.outside_mm
        if outside_mm < least_mm:
            detail = f"{outside_mm:g} mm is given, but eight of the smallest squares are {least_mm:g} mm."
            yield ("ranges", "outside"), "conflict", f"{detail} Raise outside or lower ranges.square.low."


# What is bought -------------------------------------------------------------------------------------------------------


def _sheets_differ(draft: Draft) -> Iterator[Mistake]:
    seen: dict[tuple[str, float], int] = {}
    for index, sheet in enumerate(draft.shop.sheets):
        if draft.faults.sound(("sheets", index)):
            first = seen.setdefault((sheet.material, sheet.thickness_mm), index)
            if first != index:
                detail = f"{sheet.material} of {sheet.thickness_mm:g} mm is already sheet no. {first + 1}."
                yield ("sheets", index), "duplicate", f"{detail} Keep one of them."


def _boards_are_named_once(draft: Draft) -> Iterator[Mistake]:
    seen: dict[str, int] = {}
    for index, board in enumerate(draft.shop.rack.boards):
        at = ("stock", "boards", index, "id")
        if draft.faults.sound(at):
            first = seen.setdefault(board.id, index)
            if first != index:
                detail = f"{shown(board.id)} already names board no. {first + 1}."
                yield at, "duplicate", f"{detail} Choose another id, or raise its count where the boards are equal."


def _boards_have_a_price(draft: Draft) -> Iterator[Mistake]:
    """Their own, or that at which the shop buys the same wood or sheet."""
    shop = draft.shop
    for index, board in enumerate(draft.shop.rack.boards):
        at = ("stock", "boards", index)
        if board.price is not None or not draft.faults.sound(at):
            continue
        if board.species in draft.tables.species:
            if draft.sound("lumber") and board.species not in shop.lumber:
                detail = f"{board.species} is not in [lumber], so this board has no price by volume."
                yield (*at, "price"), "no-price", f"{detail} Give it price, price_per_m3 or price_per_board_foot."
        elif draft.sound("sheets") and shop.sheet_stock(board.species, board.thickness_mm) is None:
            detail = (
                f"{board.species} of {board.thickness_mm:g} mm is not among [[sheets]], so this piece has no price."
            )
            yield (*at, "price"), "no-price", f"{detail} Give it price: what the piece is worth."


# Price ----------------------------------------------------------------------------------------------------------------


def _fees_and_margin_leave_something(draft: Draft) -> Iterator[Mistake]:
    """The price is cost / (1 - fees - margin), so fees and margin must stay below the whole, whoever sells and pays."""
    shop = draft.shop
    if not draft.sound("price.margin", "tax"):
        return
    margin_pct, channels = shop.price.margin_pct, []
    for channel in shop.channels.values():
        if draft.sound(f"channels.{channel.key}"):
            tax_pct = shop.tax.worst_pct(channel)
            if _taken_pct(channel, tax_pct) + margin_pct >= 100:
                yield ("channels", channel.key, "fee"), "conflict", _too_much(channel, tax_pct, margin_pct)
            else:
                channels.append((_taken_pct(channel, tax_pct), tax_pct, channel.key))
    for payment in shop.payments.values():
        if channels and draft.sound(f"payments.{payment.key}"):
            fee_pct, tax_pct, key = max(channels, key=lambda each: each[0] + _taken_pct(payment, each[1]))
            if fee_pct + _taken_pct(payment, tax_pct) + margin_pct >= 100:
                detail = _too_much(payment, tax_pct, margin_pct, f"beside the {fee_pct:.2f} % of channel {key}, ")
                yield ("payments", payment.key, "fee"), "conflict", detail


def _taken_pct(charge: Charge, tax_pct: Decimal) -> Decimal:
    """Of the net price, bounds apart."""
    return charge.fee_pct if charge.fee_base is FeeBase.NET else charge.fee_pct * (1 + tax_pct / 100)


def _too_much(charge: Charge, tax_pct: Decimal, margin_pct: Decimal, beside: str = "") -> str:
    of_tax = "" if charge.fee_base is FeeBase.NET else f" (counted on a price with up to {tax_pct} % tax)"
    taken = f"The fee takes {_taken_pct(charge, tax_pct):.2f} %{of_tax}"
    detail = f"{taken}, {beside}and the margin" if beside else f"{taken} and the margin"
    lower = "the fee or price.margin" if margin_pct else "the fee"
    remedy = f"Together they must stay below 100 %, or no price covers the cost. Lower {lower}."
    return f"{detail} {margin_pct} % of the net price. {remedy}"


def _ways_to_pay_are_offered(draft: Draft) -> Iterator[Mistake]:
    shop = draft.shop
    if not draft.sound("payments"):
        return
    named: list[tuple[Path, str | None]] = [(("defaults", "payment"), shop.defaults.payment)]
    named += [(("channels", key, "payment"), channel.payment) for key, channel in shop.channels.items()]
    for at, given in named:
        if given is not None and draft.faults.sound(at) and given not in shop.payments:
            known = f"which has: {', '.join(shop.payments)}" if shop.payments else "which is not there"
            detail = f"{shown(given)} is not among [payments], {known}."
            yield at, "not-offered", f"{detail} Name one of them or add it there."


def _own_currency_has_no_rate(draft: Draft) -> Iterator[Mistake]:
    shop = draft.shop
    if shop.exchange is None or not draft.sound("currency", "exchange.rates"):
        return
    if shop.currency in shop.exchange.rates:
        detail = f"{shop.currency} is the shop's own currency, which is worth itself. Remove it."
        yield ("exchange", "rates", shop.currency), "conflict", detail
    for code in shop.exchange.ends:
        if code not in shop.exchange.rates and draft.sound(f"exchange.ends.{code}"):
            detail = f"There is no rate for {code}, so no price ends in it. Add the rate or remove the end."
            yield ("exchange", "ends", code), "conflict", detail


def _amounts_fit_the_currency(draft: Draft) -> Iterator[Mistake]:
    if not draft.sound("currency"):
        return
    own = draft.tables.currencies[draft.shop.currency]
    payable: list[tuple[Path, Decimal, Currency]] = [(at, amount, own) for at, amount in _payable_amounts(draft)]
    if draft.shop.exchange is not None and draft.sound("exchange.ends"):
        for code, end in draft.shop.exchange.ends.items():
            foreign = draft.tables.currencies[code]
            payable.append((("exchange", "ends", code, "step"), end.step, foreign))
            payable.append((("exchange", "ends", code, "ending"), end.ending, foreign))
    for at, amount, currency in payable:
        if draft.faults.sound(at) and amount != round(amount, currency.exponent):
            detail = f"{amount} has more decimals than {currency.code} has: {currency.exponent}."
            yield at, "too-fine", f"{detail} Round it."


def _payable_amounts(draft: Draft) -> Iterator[tuple[Path, Decimal]]:
    """Amounts that appear in an answer as they are."""
    shop = draft.shop
    yield ("price", "step"), shop.price.price_step
    yield ("price", "ending"), shop.price.price_ending
    if shop.price.cash_step is not None:
        yield ("price", "cash_step"), shop.price.cash_step
    for table, charges in (("channels", shop.channels), ("payments", shop.payments)):
        for charge in charges.values():
            yield (table, charge.key, "fee_fixed"), charge.fee_fixed
            yield (table, charge.key, "fee_least"), charge.fee_least
            yield (table, charge.key, "fee_max"), charge.fee_max or Decimal(0)
    for at, service in _services(draft):
        for index, (_, price) in enumerate(service.steps):
            yield (*at, "steps", index, "price"), price
        for index, fee in enumerate(service.fees):
            yield (*at, "fees", index, "amount"), fee.amount


# Calendar and parcels -------------------------------------------------------------------------------------------------


def _somebody_works(draft: Draft) -> Iterator[Mistake]:
    if draft.sound("calendar.hours") and not any(draft.shop.calendar.windows):
        detail = "No weekday has working hours, so nothing would ever be made. Give at least one."
        yield ("calendar", "hours"), "no-hours", detail


def _the_build_can_be_done(draft: Draft) -> Iterator[Mistake]:
    """What the shop says its steps wait for makes no circle, and every step leads to the last."""
    own = dict(draft.shop.workflow.after) if draft.sound("work.after") else {}
    if not own:
        return
    after = {code: step.after for code, step in draft.tables.steps.items()} | own
    circle = circle_of(after)
    if circle:
        told = " waits for ".join((*circle, circle[0]))
        at = next(code for code in circle if code in own)
        yield ("work", "after", at), "circle", f"{told}: none of them could ever begin. Take one of them out."
        return
    last, awaited = tuple(after)[-1], {name for names in after.values() for name in names}
    for code in after:
        if code not in awaited and code != last:
            changed = (name for name in own if code in draft.tables.steps[name].after)
            detail = f"Nothing waits for {code} any more, so the plan would {last} before it is done."
            at = next(changed, next(iter(own)))
            yield ("work", "after", at), "loose-step", f"{detail} Name {code} here or in another step."
    for code, names in own.items():
        if not names and draft.tables.steps[code].after:
            usual = ", ".join(draft.tables.steps[code].after)
            detail = f"{code} waits for nothing, so it would begin before there is anything to work on."
            yield ("work", "after", code), "wrong-count", f"{detail} Name at least one step; usually: {usual}."


def _services(draft: Draft) -> Iterator[tuple[Path, ShippingService]]:
    """Every way to send, and its table in the file: the zone's own, or one of its services."""
    for zone in draft.shop.zones:
        own = ("zones", zone.key)
        for index, service in enumerate(zone.services):
            if service.name is not None:
                yield (*own, "services", index), service
            elif draft.faults.sound((*own, "services")):  # else it is a service whose name could not be read
                yield own, service


def _postage_climbs(draft: Draft) -> Iterator[Mistake]:
    for own, service in _services(draft):
        if not draft.faults.sound((*own, "steps")):
            continue
        for index, (light, heavy) in enumerate(pairwise(service.steps), start=1):
            at = (*own, "steps", index)
            if heavy[0] <= light[0]:
                detail = f"up_to {heavy[0]:g} kg follows {light[0]:g} kg. Order the steps from light to heavy."
                yield (*at, "up_to"), "not-ascending", detail
            elif heavy[1] < light[1]:
                detail = f"{heavy[1]} is asked up to {heavy[0]:g} kg, but {light[1]} up to {light[0]:g} kg."
                yield (*at, "price"), "not-ascending", f"{detail} A heavier parcel cannot cost less."


def _services_are_named_once(draft: Draft) -> Iterator[Mistake]:
    for zone in draft.shop.zones:
        names = [service.name for service in zone.services]
        for index, name in enumerate(names):
            at = ("zones", zone.key, "services", index, "name")
            if name is not None and draft.faults.sound(at) and name in names[:index]:
                detail = f"{shown(name)} already names service no. {names.index(name) + 1}. Choose another name."
                yield at, "duplicate", detail


def _zones_share_no_country(draft: Draft) -> Iterator[Mistake]:
    taken: dict[str, str] = {}
    rest: list[str] = []
    for zone in draft.shop.zones:
        at = ("zones", zone.key, "countries")
        if not draft.faults.sound(at):
            continue
        for country in sorted(zone.countries):
            if country in taken:
                yield at, "duplicate", f"{country} is already in zone {taken[country]}. Keep it in one of them."
            taken.setdefault(country, zone.key)
        if not zone.countries:
            if rest:
                detail = f"Zone {rest[0]} already has no countries, which means everywhere else."
                yield at, "duplicate", f"{detail} Only one zone can; name countries here."
            rest.append(zone.key)


def _home_is_served(draft: Draft) -> Iterator[Mistake]:
    if draft.sound("country", "zones") and draft.shop.zone(draft.shop.country) is None:
        detail = f"No zone holds the shop's own country {draft.shop.country}, where an order without ship_to goes."
        yield ("zones",), "home-not-served", f"{detail} Add it to a zone."


# Access ---------------------------------------------------------------------------------------------------------------


def _keys_are_named_once(draft: Draft) -> Iterator[Mistake]:
    names: list[str] = []
    for index, key in enumerate(draft.shop.keys):
        if draft.faults.sound(("keys", index, "name")) and key.name in names:
            detail = f"{shown(key.name)} already names key no. {names.index(key.name) + 1}. Choose another name."
            yield ("keys", index, "name"), "duplicate", detail
        names.append(key.name)


def _only_shipped_shops_are_demos(draft: Draft) -> Iterator[Mistake]:
    if draft.sound("demo", "id") and draft.shop.demo and draft.shop.id not in DEMO_SHOPS:
        detail = "Only the shipped demonstration shops are demos: their keys are published. Write demo = false."
        yield ("demo",), "not-a-demo-shop", detail


def _demo_keys_stay_in_demo_shops(draft: Draft) -> Iterator[Mistake]:
    if not draft.sound("demo", "id"):
        return
    for index, key in enumerate(draft.shop.keys):
        if not draft.faults.sound(("keys", index)):
            continue
        published = is_demo_key(draft.shop.id, key)
        at = ("keys", index, "sha256")
        if published and not draft.shop.demo:
            yield at, "demo-key", "This is a published demo key, which anybody may use. Make a key of your own."
        if draft.shop.demo and not published:
            detail = "A demo shop holds only the published demo keys. With keys of your own, write demo = false."
            yield at, "not-a-demo-key", detail


CHECKS = (
    _defaults_are_offered,
    _default_thickness_can_be_made,
    _an_eight_by_eight_fits_outside,
    _sheets_differ,
    _boards_are_named_once,
    _boards_have_a_price,
    _somebody_works,
    _the_build_can_be_done,
    _fees_and_margin_leave_something,
    _ways_to_pay_are_offered,
    _own_currency_has_no_rate,
    _amounts_fit_the_currency,
    _zones_share_no_country,
    _home_is_served,
    _postage_climbs,
    _services_are_named_once,
    _keys_are_named_once,
    _only_shipped_shops_are_demos,
    _demo_keys_stay_in_demo_shops,
)
