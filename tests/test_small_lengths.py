"""Lengths that may be small, such as gaps and bows, as people read them."""

import pytest

from chequerwork.quantities import format_fine


@pytest.mark.parametrize(
    ("mm", "metric", "imperial"),
    [
        (0.0, "0 mm", "0 in"),
        (0.004, "0 mm", "0.000 in"),
        (0.06, "0.06 mm", "0.002 in"),
        (0.5, "0.5 mm", "0.020 in"),
        (0.56, "0.56 mm", "0.022 in"),
        (0.999, "1 mm", "0.039 in"),
        (1.6, "1.6 mm", "0.063 in"),
        (3.1, "3.1 mm", "0.122 in"),
        (3.175, "3.2 mm", "1/8 in"),
        (10.2, "10.2 mm", "13/32 in"),
    ],
)
def test_a_small_length_is_written_to_the_digit_that_matters(mm, metric, imperial):
    """Gaps and bows: 1/32 in would be 0.8 mm, so inches go to thousandths below an eighth."""
    assert format_fine(mm, "metric") == metric
    assert format_fine(mm, "imperial") == imperial


def test_an_unknown_system_of_units_is_a_mistake_of_ours():
    for mm in (0.5, 50.0):
        with pytest.raises(ValueError, match=r"'Metric'.*metric or imperial"):
            format_fine(mm, "Metric")
