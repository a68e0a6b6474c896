"""What a work plan plans: the boards of one order as they are made together."""

from datetime import date
from typing import NamedTuple

from chequerwork.domain.board.geometry import base_is_glued
from chequerwork.domain.making.joints import GlueStage
from chequerwork.domain.order.order import Base, Frame, Line, Surface


class Batch(NamedTuple):
    """What is planned: the boards of one order, how they are finished, and which of their stages are glued."""

    quantity: int
    starts_on: date
    surface: Surface
    feet: bool
    glued: frozenset[str]


def batch_of(
    lines: tuple[Line, ...],
    frame: Frame | None,
    base: Base | None,
    feet: int,
    surface: Surface,
    quantity: int,
    starts_on: date,
) -> Batch:
    """The boards of an order as the work plan sees them."""
    glued = {GlueStage.STRIPS, GlueStage.BARS}
    if lines:
        glued.add(GlueStage.LINES)
    if frame:
        glued.add(GlueStage.CORNERS)
    if base_is_glued(frame, base):
        glued.add(GlueStage.BASE)
    return Batch(quantity, starts_on, surface, feet > 0, frozenset(glued))
