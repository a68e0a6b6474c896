"""Hands-on hours of an order with their spread, from the norms of the operations."""

import math
from collections.abc import Mapping
from dataclasses import dataclass
from statistics import NormalDist

from chequerwork.domain.arithmetic import total
from chequerwork.domain.cutting import Cutting
from chequerwork.domain.facts import Operation, Tables
from chequerwork.domain.finishing import Finishing
from chequerwork.domain.geometry import Geometry
from chequerwork.domain.order import Order
from chequerwork.domain.shop import Labour, Promise, Shop

Z80, Z95 = NormalDist().inv_cdf(0.80), NormalDist().inv_cdf(0.95)


@dataclass(frozen=True, slots=True, kw_only=True)
class Work:
    """Hands-on time of one operation for the whole order, three-point estimate."""

    code: str
    title: str
    likely_h: float
    expected_h: float
    sd_h: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Hours:
    """Hands-on time of the whole order."""

    work: tuple[Work, ...]
    expected_h: float
    sd_h: float

    @property
    def p80_h(self) -> float:
        """Exceeded in one order of five. [h]"""
        return likely_up_to_h(self.expected_h, self.sd_h, Z80)

    @property
    def p95_h(self) -> float:
        """Exceeded in one order of twenty. [h]"""
        return likely_up_to_h(self.expected_h, self.sd_h, Z95)

    def at(self, promise: Promise) -> float:
        """Hours that hold as safely as promised. [h]"""
        match promise:
            case Promise.P80:
                return self.p80_h
            case Promise.P95:
                return self.p95_h
            case _:
                return self.expected_h


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
    """Standard deviation of a three-point estimate, (b - a) / 6, in the unit of its arguments.

    Parameters
    ----------
    optimistic, pessimistic
        The outer points.

    References
    ----------
    PERT.
    """
    return (pessimistic - optimistic) / 6


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
    """Hours that are exceeded only so often, if they spread like a normal distribution. [h]

    Parameters
    ----------
    expected_h
        Mean. [h]
    sd_h
        Standard deviation. [h]
    deviations
        Of the standard normal distribution: 0.8416 for one order of five, 1.6449 for one of twenty.

    References
    ----------
    TRADE-LABOUR: 10.92 h and 0.762 h: 11.6 h in one of five (L10).
    """
    return expected_h + deviations * sd_h


def operation_h(*, setup_h: float, unit_h: float, units: float, pace: float) -> float:
    """Likely hours of one operation for the whole order. [h]

    Parameters
    ----------
    setup_h
        Once for the batch. [h]
    unit_h
        For one unit. [h]
    units
        Of all boards together.
    pace
        1 is the norm; 1.1 is ten percent slower.

    References
    ----------
    TRADE-LABOUR: hours = setup + per unit x units.
    """
    return (setup_h + unit_h * units) * pace


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
    order: Order, shop: Shop, tables: Tables, geometry: Geometry, cutting: Cutting, finishing: Finishing
) -> Hours:
    """Hours of the whole order from the operation norms, the shop's own figures where it gives them.

    Setup is shared by the batch: hours = setup + per unit x units x boards. The norm's optimistic and pessimistic
    hours scale with the likely ones.

    References
    ----------
    TRADE-LABOUR: an estimate from memory, to be replaced by the shop's own log.
    """
    units = units_of(order, geometry, cutting, finishing)
    work = tuple(
        _work(operation, units[operation.code] * order.quantity, shop.labour)
        for operation in tables.operations.values()
        if units.get(operation.code)
    )
    return Hours(
        work=work,
        expected_h=total(tuple(w.expected_h for w in work)),
        sd_h=sum_sd(tuple(w.sd_h for w in work), shop.labour.correlation),
    )


def units_of(order: Order, geometry: Geometry, cutting: Cutting, finishing: Finishing) -> Mapping[str, float]:
    """Units of each operation's driver for one board; an operation that the board does not need has none."""
    strips = float(sum(s.count for s in cutting.strips))
    field_m2 = geometry.field.length_mm * geometry.field.width_mm * 1e-6
    return {
        "mill": strips,
        "rip": strips,
        "glue_strips": 1.0,
        "flatten_strips": cutting.panel.length_mm * cutting.panel.width_mm * 1e-6,
        "crosscut": float(cutting.crosscuts.cuts),
        "glue_bars": float(order.rows - 1),
        "flatten_field": field_m2,
        "trim_field": 4.0,
        "lines": 4.0 * len(order.lines),
        "base": 1.0 if order.base else 0.0,
        "frame": 4.0 if order.frame else 0.0,
        "sand": finishing.sanded_m2,
        "finish": float(len(finishing.coats)),
        "fit_out": 1.0,
        "pack": 1.0,
    }


def _work(operation: Operation, units: float, labour: Labour) -> Work:
    setup_h, unit_h = labour.hours.get(operation.code, (operation.setup_h, operation.unit_h))
    likely_h = operation_h(setup_h=setup_h, unit_h=unit_h, units=units, pace=labour.pace)
    low_h = scaled_h(operation.optimistic_h, operation.likely_h, likely_h)
    high_h = scaled_h(operation.pessimistic_h, operation.likely_h, likely_h)
    return Work(
        code=operation.code,
        title=operation.title,
        likely_h=likely_h,
        expected_h=pert_mean(low_h, likely_h, high_h),
        sd_h=pert_sd(low_h, high_h),
    )
