"""Limits of law and of test standards against their texts and the trade's examples."""

import pytest
from builders import published

from chequerwork.domain.limits import boards_within, fits_small_parts_cylinder, lacey_small_content


@pytest.fixture(scope="module")
def functions(tables):
    limit = {key: row.value for key, row in tables.thresholds.items()}

    def fits(**foot):
        return fits_small_parts_cylinder(**foot, bore_mm=limit["small-parts-bore"], depth_mm=limit["small-parts-depth"])

    def small(*, listed=False, **content):
        return lacey_small_content(
            **content,
            listed=listed,
            share_limit=limit["lacey-plant-share"],
            entry_limit_kg=limit["lacey-entry-plant"],
        )

    return {"boards_within": boards_within, "fits_small_parts_cylinder": fits, "lacey_small_content": small}


@pytest.mark.parametrize("row", published("limits"))
def test_published_figure(functions, row):
    assert functions[row.function](**row.inputs) == row.expected, row.note


def test_the_cylinder_is_the_printed_one(tables):
    """SMALLPARTS-CPSC: 1.25 in wide, 2.25 in long. SMALLPARTS-CA: 31.7 wide, 25.4 to 57.1 deep, a slope of 45 deg."""
    bore, depth = (tables.thresholds[f"small-parts-{part}"].value for part in ("bore", "depth"))
    assert (bore, depth) == (1.25 * 25.4, 2.25 * 25.4)
    assert (bore, depth - bore, depth) == pytest.approx((31.7, 25.4, 57.1), abs=0.051)
