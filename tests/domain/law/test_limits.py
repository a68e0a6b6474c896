"""Limits of law as arithmetic: what fits the small-parts cylinder, found again by trying positions."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from chequerwork.domain.law.limits import boards_within, fits_small_parts_cylinder

BORE, DEPTH = 31.75, 57.15


def fits(diameter, height):
    return fits_small_parts_cylinder(diameter_mm=diameter, height_mm=height, bore_mm=BORE, depth_mm=DEPTH)


def highest(diameter):
    """Height of the highest part of a diameter that fits, by halving."""
    low, high = 0.0, 100.0
    while high - low > 1e-6:
        middle = (low + high) / 2
        low, high = (middle, high) if fits(diameter, middle) else (low, middle)
    return low


# Trying positions. The test cylinder stands upright, open above at z = 0, its axis at x = y = 0, its bottom sloping
# down towards +x by 45 degrees: z = DEPTH - BORE / 2 + x. The part may turn about any axis.


def rims(diameter, height, lean, turn, points=24):
    """Points of both rims, seen from above; and how far the part reaches up, and against the slope."""
    axis = (math.sin(lean) * math.cos(turn), math.sin(lean) * math.sin(turn), math.cos(lean))
    right = (math.cos(lean) * math.cos(turn), math.cos(lean) * math.sin(turn))
    ahead = (-math.sin(turn), math.cos(turn))
    rim = [
        tuple(
            end * height / 2 * axis[at] + diameter / 2 * (math.cos(angle) * right[at] + math.sin(angle) * ahead[at])
            for at in (0, 1)
        )
        for angle in (2 * math.pi * step / points for step in range(points))
        for end in (-1, 1)
    ]

    def reach(across):
        """Support of the part in the direction (-across, 0, 1)."""
        along = axis[2] - across * axis[0]
        return abs(along) * height / 2 + diameter / 2 * math.sqrt(max(0.0, 1 + across - along * along))

    return rim, reach(0), reach(1)


def room(diameter, height, lean, turn):
    """By how much the part so turned goes further to the deep side than it must; negative where it does not fit."""
    rim, up, down = rims(diameter, height, lean, turn)
    needed = up + down - (DEPTH - BORE / 2)
    radius = BORE / 2

    def furthest(shift):
        """How far towards the deep side, the part being moved sideways; every point stays in the bore."""
        most, least = math.inf, -math.inf
        for x, y in rim:
            square = radius * radius - (y + shift) ** 2
            if square < 0:
                return -1000 + square
            most, least = min(most, math.sqrt(square) - x), max(least, -math.sqrt(square) - x)
        return most if least <= most else -100 + most - least

    low, high = -radius, radius
    for _ in range(25):
        first, second = low + (high - low) / 3, high - (high - low) / 3
        low, high = (first, high) if furthest(first) < furthest(second) else (low, second)
    return furthest((low + high) / 2) - needed


def fits_somehow(diameter, height):
    """Whether one of some hundred positions lets the part in."""
    leans = [math.radians(degrees) for degrees in (0, 12, 20, 24, 25.5, 26.5, 27.5, 28.3, 29, 30, 36, 45, 60, 75)]
    turns = [math.radians(degrees) for degrees in (0, 30, 60, 90, 135, 180)]
    return any(room(diameter, height, lean, turn) >= 0 for lean in leans for turn in turns)


@pytest.mark.parametrize("diameter", [1, 3, 6, 10, 13, 16, 19.05, 22, 25, 29])
def test_no_position_lets_in_what_the_rule_keeps_out(diameter):
    """And just below the limit one is found. 24 points of a rim see 0.9 % less than the whole circle does."""
    limit = highest(diameter)
    assert fits_somehow(diameter, limit - 0.4)
    assert not fits_somehow(diameter, limit + 0.4)


@pytest.mark.parametrize(("diameter", "height"), [(2, 55.15), (16, 41.15), (25.4, 31.75), (31.75, 25.4)])
def test_upright_height_and_diameter_share_the_depth(diameter, height):
    """The deep side is as deep as the cylinder; on a slope of 45 deg the part's own width costs as much again."""
    assert fits(diameter, height)
    assert diameter + height == pytest.approx(DEPTH)


def test_a_slender_part_leans_across_the_bore():
    """The longest line in the cylinder goes from the shallow side's rim to the deepest point."""
    assert highest(0.001) == pytest.approx(math.hypot(BORE, DEPTH), abs=0.01)
    assert fits(DEPTH / 6, DEPTH / 6 * 5.1)


@given(st.floats(0.1, 60), st.floats(0.1, 80), st.floats(0, 20), st.floats(0, 20))
def test_a_part_inside_a_small_part_is_small(diameter, height, thinner, lower):
    if fits(diameter, height):
        assert fits(max(0.05, diameter - thinner), max(0.05, height - lower))


@given(st.floats(0.001, 50), st.floats(0.1, 100))
def test_as_many_boards_as_the_limit_holds(each, limit):
    count = boards_within(each_kg=each, limit_kg=limit)
    assert count * each <= limit * (1 + 1e-6)
    assert (count + 1) * each > limit


def test_the_limit_itself_is_within():
    assert boards_within(each_kg=2.0, limit_kg=10.0) == 5
    assert boards_within(each_kg=0.1, limit_kg=0.3) == 3  # 0.3 / 0.1 is below 3 in binary
    assert boards_within(each_kg=10.1, limit_kg=10.0) == 0
