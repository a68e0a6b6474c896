"""What a shop's log of hours says of its settings: lines for ``[labour.hours]``, and the correlation.

For each operation hours = setup + per unit x units is fitted to the log, every entry weighed by what the table says it
takes, because a long job is off by more minutes than a short one. Where batches do not differ enough to tell setup from
run, the table's own split is kept and scaled. How far entries lie from the fit gives low and high; their shape is the
table's, because a few entries cannot tell it. The limits below are our own: common practice, no source.
"""

import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from statistics import fmean
from typing import Final

from chequerwork.domain.basics.bounds import bounds_of
from chequerwork.domain.basics.facts import Operation, Tables
from chequerwork.domain.basics.shop import Labour, OwnHours, Shop
from chequerwork.domain.making.hours import CURVES
from chequerwork.shop.logbook import LoggedWork

FEWEST_FOR_SPREAD: Final = 5  # entries of an operation
FEWEST_FOR_SETUP: Final = 5
FEWEST_ORDERS: Final = 8  # of three operations and more, for a correlation
FEWEST_TOGETHER: Final = 3
TOLD_APART: Final = 1.5  # largest batch over smallest
UNSURE: Final = 0.2  # of the time per unit: a fit whose error is larger is not used
ODD: Final = 3.0  # times the fit, or a third of it: worth a second look
LEAST_LOW: Final = 0.05  # of the likely hours
MOST_HIGH: Final = bounds_of(OwnHours, "high")[1]
MOST_HOURS: Final = bounds_of(OwnHours, "unit_h")[1]


@dataclass(frozen=True, slots=True, kw_only=True)
class FittedHours:
    """One operation as the log has it, at the shop's pace. ``low`` and ``high`` are None where entries are too few."""

    operation: Operation
    entries: int
    counted: int  # entries that say their units
    setup_h: float  # likely, as the settings are
    unit_h: float
    setup_off_h: float | None  # standard error of the setup; None = the table's split
    low: float | None
    high: float | None
    logged_h: float
    table_h: float  # what the table of norms says of the same entries
    odd: tuple[LoggedWork, ...] = ()
    off: Mapping[str, float] = field(default_factory=dict)  # by order: standard deviations from the fit


@dataclass(frozen=True, slots=True, kw_only=True)
class CommonFactor:
    """How far operations of one order go together: None where the log has too few orders to tell."""

    orders: int
    correlation: float | None
    off: float


def settings_from(entries: Sequence[LoggedWork], shop: Shop, tables: Tables) -> str:
    """Lines of TOML for a shop file, each with what it rests on.

    Parameters
    ----------
    entries
        The log.
    shop
        Whose pace and learning the log was made with.
    tables
        The norms.
    """
    by_operation: dict[str, list[LoggedWork]] = {}
    for entry in entries:
        by_operation.setdefault(entry.operation, []).append(entry)
    fits = [
        fit(by_operation[code], norm, shop.labour) for code, norm in tables.operations.items() if code in by_operation
    ]
    return "\n".join([*_heading(entries, fits), *_correlation_lines(together(fits)), *_hours_lines(fits)]) + "\n"


def fit(entries: Sequence[LoggedWork], norm: Operation, labour: Labour) -> FittedHours:
    """One operation's settings from its entries.

    Parameters
    ----------
    entries
        Of one operation, at least one.
    norm
        That operation in the table.
    labour
        The shop's pace and learning.
    """
    units = [_units(entry, norm, labour) for entry in entries]
    hours_h = [entry.hours_h / labour.pace for entry in entries]
    table_h = [norm.setup_h + norm.unit_h * count for count in units]
    split = _told_apart(units, hours_h, table_h)
    if split is None:
        scale = fmean(hour / table for hour, table in zip(hours_h, table_h, strict=True))
        setup_h, unit_h, setup_off_h, freedom = scale * norm.setup_h, scale * norm.unit_h, None, len(units) - 1
    else:
        setup_h, unit_h, setup_off_h = split
        freedom = len(units) - 2
    ratios = [hour / (setup_h + unit_h * count) for hour, count in zip(hours_h, units, strict=True)]
    sd = math.sqrt(sum((ratio - 1) ** 2 for ratio in ratios) / freedom) if freedom > 0 else 0.0
    low, likely, high = _points(sd * math.sqrt(1 + 1 / len(units)), norm)
    enough = len(units) >= FEWEST_FOR_SPREAD
    if not enough:
        likely = 6 * norm.likely_h / (norm.optimistic_h + 4 * norm.likely_h + norm.pessimistic_h)
    return FittedHours(
        operation=norm,
        entries=len(units),
        counted=sum(entry.units is not None for entry in entries),
        setup_h=setup_h * likely,
        unit_h=unit_h * likely,
        setup_off_h=setup_off_h,
        low=low / likely if enough else None,
        high=high / likely if enough else None,
        logged_h=sum(entry.hours_h for entry in entries),
        table_h=sum(table_h) * labour.pace,
        odd=tuple(e for e, ratio in zip(entries, ratios, strict=True) if not 1 / ODD < ratio < ODD),
        off={e.order: (r - 1) / sd for e, r in zip(entries, ratios, strict=True) if e.order and enough and sd > 0},
    )


def together(fits: Sequence[FittedHours]) -> CommonFactor:
    """Correlation between operations of one order: the average product of two deviations, over all pairs.

    Parameters
    ----------
    fits
        Every operation of the log.
    """
    by_order: dict[str, list[float]] = {}
    for each in fits:
        for order, off in each.off.items():
            by_order.setdefault(order, []).append(off)
    jobs = [offs for offs in by_order.values() if len(offs) >= FEWEST_TOGETHER]
    if len(jobs) < FEWEST_ORDERS:
        return CommonFactor(orders=len(jobs), correlation=None, off=0.0)
    products = [(sum(offs) ** 2 - sum(off * off for off in offs)) / 2 for offs in jobs]
    pairs = [len(offs) * (len(offs) - 1) / 2 for offs in jobs]
    # The fit took the mean out of the deviations, which lessens their products by one part in n.
    whole = len(jobs) / (len(jobs) - 1)
    without = [
        whole * (sum(products) - product) / (sum(pairs) - pair) for product, pair in zip(products, pairs, strict=True)
    ]
    spread = sum((each - fmean(without)) ** 2 for each in without) * (len(jobs) - 1) / len(jobs)  # jackknife
    correlation = whole * sum(products) / sum(pairs)
    return CommonFactor(orders=len(jobs), correlation=min(max(correlation, 0.0), 1.0), off=math.sqrt(spread))


def _units(entry: LoggedWork, norm: Operation, labour: Labour) -> float:
    """Units of an entry, lessened by what its batch taught; where it counts none, those of the table's board."""
    boards = entry.boards or 1
    units = norm.units_reference * boards if entry.units is None else entry.units
    return units * (CURVES[labour.learning_form](1.0, labour.learning, boards) if labour.learning < 1 else 1.0)


def _told_apart(
    units: Sequence[float], hours_h: Sequence[float], table_h: Sequence[float]
) -> tuple[float, float, float] | None:
    """Setup, time per unit and the setup's standard error by weighted least squares, or None where none can be told."""
    if len(units) < FEWEST_FOR_SETUP or max(units) < TOLD_APART * min(units):
        return None
    weights = [1 / table**2 for table in table_h]
    w, wx = sum(weights), sum(weight * x for weight, x in zip(weights, units, strict=True))
    wxx = sum(weight * x * x for weight, x in zip(weights, units, strict=True))
    wy = sum(weight * y for weight, y in zip(weights, hours_h, strict=True))
    wxy = sum(weight * x * y for weight, x, y in zip(weights, units, hours_h, strict=True))
    spread = w * wxx - wx * wx
    if spread <= 1e-9 * w * wxx:
        return None
    setup_h, unit_h = (wxx * wy - wx * wxy) / spread, (w * wxy - wx * wy) / spread
    rest = sum(
        weight * (y - setup_h - unit_h * x) ** 2 for weight, x, y in zip(weights, units, hours_h, strict=True)
    ) / (len(units) - 2)
    setup_off_h, unit_off_h = math.sqrt(rest * wxx / spread), math.sqrt(rest * w / spread)
    if unit_h <= 0 or unit_off_h > UNSURE * unit_h or setup_h < -2 * setup_off_h:
        return None
    return (setup_h, unit_h, setup_off_h) if setup_h > 0 else (0.0, wxy / wxx, setup_off_h)


def _points(sd: float, norm: Operation) -> tuple[float, float, float]:
    """Low, likely and high of a mean of 1 with that deviation and the shape of the table's three points."""
    at = (norm.likely_h - norm.optimistic_h) / (norm.pessimistic_h - norm.optimistic_h)
    mean = (1 + 4 * at) / 6
    span = min(sd / math.sqrt(mean * (1 - mean) / 7), (1 - LEAST_LOW) / mean)
    low = 1 - span * mean
    return low, low + at * span, low + span


# As text --------------------------------------------------------------------------------------------------------------


def _heading(entries: Sequence[LoggedWork], fits: Sequence[FittedHours]) -> Iterator[str]:
    days = sorted(entry.day for entry in entries)
    orders = len({entry.order for entry in entries if entry.order})
    counts = (
        _counted(len(entries), "entry", "entries"),
        _counted(len(fits), "operation"),
        _counted(orders, "named order"),
    )
    yield "# {} of {} in {}, {} to {}.".format(*counts, days[0], days[-1])
    yield "# Put these lines in place of those of the same name in your shop file; the others stay."
    for each in fits:
        for entry in each.odd:
            told = f"{each.operation.code} of {entry.hours_h:.3g} h is far from your other entries. A slip of the pen?"
            yield f"# Look at row {entry.row}: {told}"


def _correlation_lines(found: CommonFactor) -> Iterator[str]:
    yield "\n[labour]"
    rests = f"orders with {FEWEST_TOGETHER} operations or more that have {FEWEST_FOR_SPREAD} entries each"
    if found.correlation is None:
        yield f"# correlation: {found.orders} {rests}; {FEWEST_ORDERS} are needed, so keep yours."
        return
    low, high = max(0.0, found.correlation - 2 * found.off), min(1.0, found.correlation + 2 * found.off)
    yield f"correlation = {found.correlation:.2f}  # from {found.orders} {rests}; likely {low:.2f} to {high:.2f}"


def _hours_lines(fits: Sequence[FittedHours]) -> Iterator[str]:
    yield "\n[labour.hours]"
    for each in fits:
        if max(each.setup_h, each.unit_h) > MOST_HOURS:
            most = f"{max(each.setup_h, each.unit_h):.3g} h for its setup or for one unit"
            yield f"# {each.operation.code}: {most}; a shop file takes {MOST_HOURS:g} h at most. Look at its rows."
            continue
        spread = ""
        if each.low is not None and each.high is not None:
            # Outwards to whole percents, within what a shop file may say.
            low, high = max(each.low, LEAST_LOW), min(each.high, MOST_HIGH)
            spread = f', low = "{max(1, math.floor(low * 100))} %", high = "{max(100, math.ceil(high * 100))} %"'
        times = f'setup = "{_minutes(each.setup_h)} min", unit = "{_minutes(each.unit_h)} min"'
        yield f"{each.operation.code} = {{ {times}{spread} }}  # {'; '.join(_rests_on(each))}"


def _rests_on(each: FittedHours) -> Iterator[str]:
    yield f"{_counted(each.entries, 'entry', 'entries')}, {_hours(each.logged_h)}, by the table {_hours(each.table_h)}"
    if each.setup_off_h is None:
        yield "setup in the table's share"
    else:
        yield f"setup within {_minutes(2 * each.setup_off_h)} min"
    if each.low is None:
        yield f"{FEWEST_FOR_SPREAD} entries are needed to tell the spread, so the table's stays"
    if each.counted < each.entries:
        uncounted = each.entries - each.counted
        yield f"{uncounted} without units: {each.operation.units_reference:g} {each.operation.driver} a board"


def _counted(count: int, one: str, more: str = "") -> str:
    return f"{count} {one if count == 1 else more or one + 's'}"


def _hours(time_h: float) -> str:
    return f"{time_h:.3g} h" if time_h < 999.5 else f"{time_h:.0f} h"  # never 1.08e+03


def _minutes(time_h: float) -> str:
    minutes = time_h * 60
    return f"{round(minutes, 3 if minutes < 1 else 2 if minutes < 10 else 1):g}"
