"""Forces: a kind of quantity like the others, whose grammar and traps are tested beside this file."""

import pytest

from chequerwork.domain.basics.errors import BadQuantity
from chequerwork.quantities import format_force, parse_force


@pytest.mark.parametrize(
    ("text", "newtons"),
    [
        ("850 N", 850.0),
        ("4.5 kN", 4500.0),
        ("4.5kn", 4500.0),
        ("1 lbf", 4.4482216152605),  # 0.45359237 kg x 9.80665 m/s2, both exact by definition
        ("1000 lbf", 4448.2216152605),
        ("100 kN", 100_000.0),
    ],
)
def test_a_force_is_read(text, newtons):
    assert parse_force(text) == newtons


@pytest.mark.parametrize(
    ("text", "code"),
    [
        ("4500", "unit-missing"),
        ("450 kg", "unknown-unit"),
        ("1000 lb", "unknown-unit"),  # a mass
        ("100.1 kN", "out-of-range"),
        ("-1 N", "sign"),
    ],
)
def test_what_is_no_force_is_refused_with_its_code(text, code):
    with pytest.raises(BadQuantity) as caught:
        parse_force(text)
    assert caught.value.code == code


@pytest.mark.parametrize(
    ("n", "metric", "imperial"),
    [
        (0, "0 N", "0 lbf"),
        (850, "850 N", "191 lbf"),
        (999.6, "1 kN", "225 lbf"),
        (4448.2216152605, "4.4 kN", "1000 lbf"),
        (13709.4, "13.7 kN", "3082 lbf"),
    ],
)
def test_a_force_is_written(n, metric, imperial):
    assert format_force(n, "metric") == metric
    assert format_force(n, "imperial") == imperial
