"""Limits of law and of test standards against their texts and the trade's examples."""

import pytest


def test_the_cylinder_is_the_printed_one(tables):
    """SMALLPARTS-CPSC: 1.25 in wide, 2.25 in long. SMALLPARTS-CA: 31.7 wide, 25.4 to 57.1 deep, a slope of 45 deg."""
    bore, depth = (tables.thresholds[f"small-parts-{part}"].value for part in ("bore", "depth"))
    assert (bore, depth) == (1.25 * 25.4, 2.25 * 25.4)
    assert (bore, depth - bore, depth) == pytest.approx((31.7, 25.4, 57.1), abs=0.051)
