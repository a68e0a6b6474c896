"""The packing list: what goes into a parcel, in which order, and which photographs prove it."""

import pytest
from builders import a_plan, altered

from chequerwork.domain.parcel.packing_list import flute_of

AROUND = {"corner_mm": 12.0, "corner_size_mm": 60.0, "face_mm": 6.0, "interleaf_mm": 4.0}


def protecting(shop):
    return altered(shop, packing={"protection": AROUND, "boards_per_parcel": 2})


def materials(plan):
    return {each.code: each for each in plan.packing_list.materials}


def test_a_plain_parcel_is_paper_cushion_carton_tape_and_labels(moosgrund):
    assert list(materials(a_plan(moosgrund))) == ["paper", "cushion", "carton", "tape", "label"]


def test_a_carton_is_ordered_by_its_inside(moosgrund):
    """488 x 488 x 122 mm outside with a wall of 7 mm."""
    carton = materials(a_plan(moosgrund))["carton"]
    assert (carton.length_mm, carton.width_mm, carton.thickness_mm) == pytest.approx((474.0, 474.0, 108.0))
    assert carton.note == "flute BC"


def test_everything_that_protects_is_listed_from_the_board_outwards(moosgrund):
    plan = a_plan(protecting(moosgrund), quantity=3, square_mm=70.0)
    found = materials(plan)
    assert list(found) == ["paper", "interleaf", "corner", "face_sheet", "cushion", "carton", "tape", "label"]
    assert (found["corner"].pieces, found["face_sheet"].pieces, found["interleaf"].pieces) == (8, 2, 1)
    assert found["face_sheet"].length_mm == pytest.approx(560 + 2 * 12)
    last = {each.code: each for each in plan.packing_list.last_materials}
    assert "interleaf" not in last
    assert last["corner"].pieces == 4


def test_a_last_parcel_that_alone_is_flat_has_its_face_sheets_and_their_step(moosgrund):
    """Five boards make no flat parcel, the one that is left does."""
    plan = a_plan(altered(protecting(moosgrund), packing={"boards_per_parcel": 5}), quantity=6, square_mm=70.0)
    assert not plan.packing.first.flat
    assert plan.packing.last.flat
    assert "face_sheet" not in materials(plan)
    assert "face_sheet" in {each.code for each in plan.packing_list.last_materials}
    assert any("rigid" in text for text in plan.packing_list.steps)


def test_paper_is_twice_around_with_a_quarter_for_folds(moosgrund):
    """Common practice, no source. Surface of 384 x 384 x 18: 2 x (0.147456 + 2 x 0.006912) m2."""
    assert materials(a_plan(moosgrund))["paper"].area_m2 == pytest.approx(2 * 1.25 * 2 * (0.147456 + 2 * 0.006912))


def test_steps_and_photographs_ask_for_no_more_than_is_there(moosgrund, willet_slough):
    plain = a_plan(moosgrund).packing_list
    assert not any(word in text for text in (*plain.steps, *plain.photos) for word in ("block", "rigid", "between"))
    full = a_plan(protecting(moosgrund), quantity=2, square_mm=70.0).packing_list
    assert len(full.steps) == len(plain.steps) + 3
    assert len(full.photos) == len(plain.photos) + 3
    sea = a_plan(willet_slough, ship_to="JP").packing_list
    assert any("moisture-barrier" in text for text in sea.steps)
    assert "barrier" in {each.code for each in sea.materials}


def test_photographs_prove_faces_corners_serial_packing_sides_scale_and_label(moosgrund):
    """CLAIMS: a maker lost every claim, because nobody could prove how the boards had been packed."""
    told = " ".join(a_plan(moosgrund).packing_list.photos)
    for part in ("top", "underside", "corners", "serial", "cushioning", "six sides", "scale", "address label"):
        assert part in told


@pytest.mark.parametrize(("wall_mm", "flute"), [(1.6, "E"), (3.2, "B"), (3.96875, "C"), (7.0, "BC"), (5.0, None)])
def test_a_wall_is_named_by_its_flute(tables, wall_mm, flute):
    """FLUTES: E 1.6, B 3.2, C 4.0, BC about 7 mm; 5/32 in is 3.97 mm."""
    found = flute_of(wall_mm, tables.flutes)
    assert (found and found.name) == flute
