"""Bounds stand where the field is, and whoever asks gets them as they were written."""

from dataclasses import dataclass, field

import pytest

from chequerwork.domain.basics.bounds import bounds_of, within


@dataclass(frozen=True, slots=True, kw_only=True)
class Plank:
    """A record for these tests."""

    length_mm: float = field(metadata=within(0.5, 100))
    count: int = field(default=1, metadata=within(1, 20))
    name: str = ""


def test_bounds_are_told_as_they_were_written():
    assert bounds_of(Plank, "length_mm") == (0.5, 100)
    assert [type(bound) for bound in bounds_of(Plank, "count")] == [int, int]


@pytest.mark.parametrize("name", ["name", "width_mm"])
def test_a_field_without_bounds_has_none_to_tell(name):
    with pytest.raises(LookupError):
        bounds_of(Plank, name)


def test_a_field_with_bounds_keeps_its_default():
    assert Plank(length_mm=3.0).count == 1
