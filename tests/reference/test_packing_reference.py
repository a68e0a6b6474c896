"""The flat shape of the transport test, at its edges."""

import pytest

from chequerwork.domain.parcel.parcels import is_flat

IN = 25.4


@pytest.mark.parametrize(
    ("sides_in", "flat"),
    [((27, 27, 8), False), ((32, 32, 8), True), ((33, 33, 8.1), False), ((10, 10, 2.5), False), ((40, 12, 2), True)],
)
def test_edges_of_the_flat_shape(sides_in, flat):
    """ISTA-3A: shortest up to 8 in, next at least four times that, at least 800 in3."""
    assert is_flat(tuple(side * IN for side in sides_in)) is flat
