"""Hands-on hours of an order with their spread, from the norms of the operations or the shop's own."""

import math
from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import NamedTuple, cast

from chequerwork.domain.basics.arithmetic import total
from chequerwork.domain.basics.facts import Operation, Tables
from chequerwork.domain.basics.shop import Labour, LearningForm, Promise
from chequerwork.domain.board.geometry import Geometry
from chequerwork.domain.making.chance import Points, Sum, add_up
from chequerwork.domain.making.cutting import Cutting
from chequerwork.domain.making.finishing import Finishing

# What the words say.
SHARES: Mapping[Promise, float] = {Promise.P50: 0.50, Promise.P80: 0.80, Promise.P95: 0.95}


class Work(NamedTuple):
    """Hands-on time of one operation for the whole order: three points, the likely one in setup and run. [h]"""

    code: str
    title: str
    setup_h: float
    run_h: float
    low_h: float
    likely_h: float
    high_h: float
    expected_h: float

    @property
    def sd_h(self) -> float:
        """Standard deviation. [h]"""
        return pert_beta_sd(self.low_h, self.expected_h, self.high_h)


@dataclass(frozen=True, slots=True, kw_only=True)
class Hours:
    """Hands-on time of the whole order; its spread is worked out when first asked for."""

    work: tuple[Work, ...]
    correlation: float  # of the scores of two operations: see ``chance``
    expected_h: float
    _spread: Sum | None = field(default=None, init=False, repr=False, compare=False)

    @property
    def terms(self) -> tuple[Points, ...]:
        """Low, likely and high of each operation. [h]"""
        return tuple((w.low_h, w.likely_h, w.high_h) for w in self.work)

    @property
    def spread(self) -> Sum:
        """What the operations come to together, by chance. [h]"""
        if self._spread is None:
            # As a cached property would do it; the record stays equal to one that was not asked.
            object.__setattr__(self, "_spread", add_up(self.terms, self.correlation))
        return cast("Sum", self._spread)

    @property
    def sd_h(self) -> float:
        """Standard deviation. [h]"""
        return self.spread.sd

    @property
    def p50_h(self) -> float:
        """Exceeded in every second order. [h]"""
        return self.at(Promise.P50)

    @property
    def p80_h(self) -> float:
        """Exceeded in one order of five. [h]"""
        return self.at(Promise.P80)

    @property
    def p95_h(self) -> float:
        """Exceeded in one order of twenty. [h]"""
        return self.at(Promise.P95)

    def at(self, promise: Promise) -> float:
        """Hours that hold as safely as promised. [h]"""
        if promise is Promise.EXPECTED:
            return self.expected_h
        return likely_up_to_h(self.expected_h, self.spread.sd, self.spread.deviations(SHARES[promise]))


def pert_mean(optimistic: float, likely: float, pessimistic: float) -> float:
    """Mean of a three-point estimate, (a + 4 m + b) / 6, in the unit of its arguments.

    Parameters
    ----------
    optimistic, likely, pessimistic
        The three points.

    References
    ----------
    PERT.
    """
    return (optimistic + 4 * likely + pessimistic) / 6


def pert_sd(optimistic: float, pessimistic: float) -> float:
    """PERT's rule of thumb for a standard deviation, (b - a) / 6, in the unit of its arguments.

    The table of hours was judged by it (check values L02, L09, L10). Answers use ``pert_beta_sd``, that of the very
    distribution that their percentiles are of: 0.14 to 0.19 of the span, where the rule says 0.17 for every shape.

    Parameters
    ----------
    optimistic, pessimistic
        The outer points.

    References
    ----------
    PERT.
    """
    return (pessimistic - optimistic) / 6


def pert_beta_sd(optimistic: float, mean: float, pessimistic: float) -> float:
    """Standard deviation of a beta-PERT estimate, sqrt((mean - a) (b - mean) / 7), in the unit of its arguments.

    Parameters
    ----------
    optimistic, mean, pessimistic
        Outer points, and the mean (a + 4 m + b) / 6 between them.

    References
    ----------
    PERT-BETA.
    """
    return math.sqrt((mean - optimistic) * (pessimistic - mean) / 7)


def sum_sd(sds: tuple[float, ...], correlation: float) -> float:
    """Standard deviation of a sum of equally correlated terms.

    Parameters
    ----------
    sds
        Standard deviations of the terms.
    correlation
        Between any two of them. 0 (independent) to 1 (one task).

    References
    ----------
    PERT; 13 operations: 0.762 h independent (L09), 2.433 h as one task (L02).
    """
    independent = sum(sd * sd for sd in sds)
    together = sum(sds) ** 2
    return math.sqrt((1 - correlation) * independent + correlation * together)


def likely_up_to_h(expected_h: float, sd_h: float, deviations: float) -> float:
    """Hours that are exceeded only so often. [h]

    Parameters
    ----------
    expected_h
        Mean. [h]
    sd_h
        Standard deviation. [h]
    deviations
        From the mean, by the shape of the sum. A normal one has 0.8416 for one order of five, 1.6449 for one of
        twenty; hours lean to the long side, so theirs are a little less and a little more.

    References
    ----------
    TRADE-LABOUR: 10.92 h and 0.762 h: 11.6 h in one of five if they were normal (L10).
    """
    return expected_h + deviations * sd_h


def operation_h(*, setup_h: float, unit_h: float, units: float, learning: float, pace: float) -> float:
    """Likely hours of one operation for the whole order. [h]

    Parameters
    ----------
    setup_h
        Once for the batch. [h]
    unit_h
        For one unit of the first board. [h]
    units
        Of all boards together.
    learning
        Time of a board on average, as a fraction of the first one's. 1 where a batch teaches nothing.
    pace
        1 is the norm; 1.1 is ten percent slower.

    References
    ----------
    TRADE-LABOUR: hours = setup + per unit x units; learning on the run time only (L07, L08).
    """
    return (setup_h + unit_h * units * learning) * pace


def learning_exponent(rate: float) -> float:
    """Exponent b of a learning curve y = a x^b.

    Parameters
    ----------
    rate
        What is left of the time whenever the number of pieces doubles. 0.8 for an 80 % curve.

    References
    ----------
    NASA: ln(rate) / ln 2; -0.234465 at 85 % (L03).
    """
    return math.log(rate) / math.log(2)


def cumulative_average(first: float, rate: float, boards: int) -> float:
    """Time of a piece on average by Wright's curve, whose y is the average of all up to the x-th.

    Parameters
    ----------
    first
        Time of the first.
    rate
        What is left of the average whenever the number doubles.
    boards
        Pieces, 1 or more.

    References
    ----------
    NASA: 12 h, 85 %, 10 pieces: 6.99 h (L04, L05).
    """
    return float(first * boards ** learning_exponent(rate))


def unit_average(first: float, rate: float, boards: int) -> float:
    """Time of a piece on average by Crawford's curve, whose y is the time of the x-th itself.

    Parameters
    ----------
    first
        Time of the first.
    rate
        What is left of a piece's time whenever its number doubles.
    boards
        Pieces, 1 or more.

    References
    ----------
    NASA: 12 h, 85 %, 10 pieces: 85.4 h together (L06).
    """
    exponent = learning_exponent(rate)
    return float(first * sum(piece**exponent for piece in range(1, boards + 1)) / boards)


def scaled_h(norm_h: float, norm_likely_h: float, likely_h: float) -> float:
    """Optimistic or pessimistic hours of an operation: the norm's, in the proportion of the likely hours. [h]

    Parameters
    ----------
    norm_h
        Optimistic or pessimistic hours of the norm. [h]
    norm_likely_h
        Likely hours of the norm. [h]
    likely_h
        Likely hours of this order. [h]

    References
    ----------
    House: a larger job spreads in proportion.
    """
    return norm_h * (likely_h / norm_likely_h)


def estimate(
    geometry: Geometry,
    cutting: Cutting,
    finishing: Finishing,
    lines: int,
    quantity: int,
    labour: Labour,
    tables: Tables,
) -> Hours:
    """Hours of the whole order from the operation norms, the shop's own figures where it gives them.

    Setup is shared by the batch: hours = setup + per unit x units x boards, the run time lessened by learning. The
    norm's optimistic and pessimistic hours scale with the likely ones.

    References
    ----------
    TRADE-LABOUR: an estimate from memory, to be replaced by the shop's own log.
    """
    units = units_of(geometry, cutting, finishing, lines)
    learning = learning_of(quantity, labour)
    work = tuple(
        _work(operation, units[operation.code] * quantity, learning, labour)
        for operation in tables.operations.values()
        if units.get(operation.code)
    )
    return Hours(
        work=work,
        correlation=labour.correlation,
        expected_h=total(tuple(w.expected_h for w in work)),
    )


def learning_of(quantity: int, labour: Labour) -> float:
    """Run time of a board of this batch on average, as a fraction of the first one's."""
    if labour.learning == 1 or quantity == 1:
        return 1.0
    return CURVES[labour.learning_form](1.0, labour.learning, quantity)


CURVES = {LearningForm.CUMULATIVE_AVERAGE: cumulative_average, LearningForm.UNIT: unit_average}


def units_of(geometry: Geometry, cutting: Cutting, finishing: Finishing, lines: int) -> Mapping[str, float]:
    """Units of each operation's driver for one board; an operation that the board does not need has none."""
    strips = float(sum(s.count for s in cutting.strips))
    field_m2 = geometry.field.length_mm * geometry.field.width_mm * 1e-6
    return {
        "mill": strips,
        "rip": strips,
        "glue_strips": 1.0,
        "flatten_strips": cutting.panel.length_mm * cutting.panel.width_mm * 1e-6,
        "crosscut": float(cutting.crosscuts.cuts),
        "glue_bars": float(geometry.rows - 1),
        "flatten_field": field_m2,
        "trim_field": 4.0,
        "lines": 4.0 * lines,
        "base": 1.0 if geometry.base else 0.0,
        "frame": 4.0 if geometry.rails else 0.0,
        "sand": finishing.sanded_m2,
        "finish": float(len(finishing.coats)),
        "fit_out": 1.0,
        "pack": 1.0,
    }


def points_of(operation: Operation, labour: Labour) -> tuple[float, float, Points]:
    """Setup, time per unit, and low, likely and high to scale, of an operation: the shop's own or the norm's. [h]"""
    low_h, likely_h, high_h = operation.optimistic_h, operation.likely_h, operation.pessimistic_h
    own = labour.hours.get(operation.code)
    if own is None:
        return operation.setup_h, operation.unit_h, (low_h, likely_h, high_h)
    low_h = low_h if own.low is None else own.low * likely_h
    high_h = high_h if own.high is None else own.high * likely_h
    return own.setup_h, own.unit_h, (low_h, likely_h, high_h)


def _work(operation: Operation, units: float, learning: float, labour: Labour) -> Work:
    setup_h, unit_h, (low, likely, high) = points_of(operation, labour)
    likely_h = operation_h(setup_h=setup_h, unit_h=unit_h, units=units, learning=learning, pace=labour.pace)
    low_h, high_h = scaled_h(low, likely, likely_h), scaled_h(high, likely, likely_h)
    setup_h *= labour.pace
    return Work(
        code=operation.code,
        title=operation.title,
        setup_h=setup_h,
        run_h=likely_h - setup_h,
        low_h=low_h,
        likely_h=likely_h,
        high_h=high_h,
        expected_h=pert_mean(low_h, likely_h, high_h),
    )
