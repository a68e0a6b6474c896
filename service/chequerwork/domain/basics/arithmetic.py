"""Sums and roundings that every room makes in the same way."""

import math


def round_up(value: float, step: float) -> float:
    """The next multiple of ``step`` at or above ``value``, in their unit.

    Parameters
    ----------
    value
        0 or more. Within a billionth of a multiple it is one, so that no binary tail lifts it by a whole step.
    step
        More than 0.

    References
    ----------
    House.
    """
    return math.ceil(value / step - 1e-9) * step


def total(parts: tuple[float, ...]) -> float:
    """Sum of parts, in their unit.

    Parameters
    ----------
    parts
        None or more.

    References
    ----------
    House.
    """
    return sum(parts)


def weighted(shares: tuple[float, ...], values: tuple[float, ...]) -> float:
    """Mean of values, each with its share, in their unit.

    Parameters
    ----------
    shares
        Together 1.
    values
        As many.

    References
    ----------
    House.
    """
    mean = 0.0
    for share, value in zip(shares, values, strict=True):
        mean += share * value
    return mean


def times(amount: float, count: float) -> float:
    """One amount so many times, in its unit.

    Parameters
    ----------
    amount
        Of one.
    count
        How many.

    References
    ----------
    House.
    """
    return amount * count


def enlarged_mm(size_mm: float, count: int, allowance_mm: float) -> float:
    """A size with an allowance on it, once or more: a border on both sides, what planing takes off both faces. [mm]

    Parameters
    ----------
    size_mm
        Before. [mm]
    count
        How often the allowance is added: 1, or 2 for both sides.
    allowance_mm
        Of one side; negative makes the size smaller. [mm]

    References
    ----------
    House.
    """
    return size_mm + count * allowance_mm
