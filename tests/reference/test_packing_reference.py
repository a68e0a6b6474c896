"""Cartons and billable mass against the carriers' published examples."""

from dataclasses import replace

import pytest
from builders import altered, an_order, published

from chequerwork.domain.arithmetic import round_up
from chequerwork.domain.geometry import Rect, lay_out
from chequerwork.domain.packing import carton_side_mm, is_flat, pack

IN = 25.4
POUND_KG = 0.45359237  # exact
CM3_PER_IN3 = 2.54**3


@pytest.fixture(scope="module")
def functions(tables, moosgrund):
    def parcel(board_mm, **packing):
        """A board of that size and no mass, sent by a shop that packs so."""
        shop = altered(moosgrund, packing=packing)
        order = an_order(shop)
        length_mm, width_mm, height_mm = board_mm
        overall = Rect(length_mm=length_mm, width_mm=width_mm)
        geometry = replace(lay_out(order, shop, tables), overall=overall, height_mm=height_mm, mass_kg=0.0)
        return pack(order, shop, geometry)

    def bare(sides_in, **packing):
        return parcel([side * IN for side in sides_in], clearance_mm=0.0, wall_mm=0.0, **packing)

    def billable_lb(*, sides_in, divisors_in3_lb):
        return [
            bare(
                sides_in,
                carton_kg_m2=0.0,
                divisor_cm3_kg=divisor * CM3_PER_IN3 / POUND_KG,
                round_up_kg=POUND_KG,
            ).billable_kg
            / POUND_KG
            for divisor in divisors_in3_lb
        ]

    return {
        "carton_mm": lambda *, board_mm, **packing: [carton_side_mm(side, **packing) for side in board_mm],
        "dimensional_kg": lambda *, board_mm, divisor_cm3_kg: (
            parcel(board_mm, clearance_mm=50.0, wall_mm=7.0, divisor_cm3_kg=divisor_cm3_kg).dimensional_kg
        ),
        "whole_inches": lambda *, sides_mm: [round_up(side / IN, 1) for side in sides_mm],
        "billable_lb": billable_lb,
        "is_flat": lambda *, sides_in: is_flat(tuple(side * IN for side in sides_in)),
        "length_plus_girth_in": lambda *, sides_in: bare(sides_in).length_plus_girth_mm / IN,
    }


@pytest.mark.parametrize("row", published("packing"))
def test_published_figure(functions, row):
    assert functions[row.function](**row.inputs) == row.expected, row.note


@pytest.mark.parametrize(
    ("sides_in", "flat"),
    [((27, 27, 8), False), ((32, 32, 8), True), ((33, 33, 8.1), False), ((10, 10, 2.5), False), ((40, 12, 2), True)],
)
def test_edges_of_the_flat_shape(sides_in, flat):
    """ISTA-3A: shortest up to 8 in, next at least four times that, at least 800 in3."""
    assert is_flat(tuple(side * IN for side in sides_in)) is flat
