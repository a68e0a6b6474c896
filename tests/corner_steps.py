"""Steps at the corners of one board whose strips are known: what the closed forms of accuracy speak of at large."""

from chequerwork.domain.order.order import Pattern


def mismatches(pattern, strip_errors_mm):
    """Steps between two neighbouring bars at each inner boundary, left to right, of strips with these errors.

    Every bar is cut from the same strips, so every second pair of bars of the board has the same steps. Turn: the
    first k errors less the last k, the same at both ends. Shift: the error of strip k + 1 less that of the first.

    Parameters
    ----------
    pattern
        See ``accuracy.mismatch_worst_mm``.
    strip_errors_mm
        Of each strip's width, in their order in the first glue-up. [mm] N for turn, N + 1 for shift.

    Returns
    -------
    tuple of float
        N - 1 signed steps. [mm]

    References
    ----------
    TRADE-TOL; check value T06: two colours ripped at settings 0.2 mm apart step at every odd boundary.
    """
    if pattern is Pattern.SHIFT:
        return tuple(error - strip_errors_mm[0] for error in strip_errors_mm[1:-1])
    step_mm, steps = 0.0, []
    for first, last in zip(strip_errors_mm[:-1], reversed(strip_errors_mm), strict=False):
        step_mm += first - last
        steps.append(step_mm)
    return tuple(steps)
