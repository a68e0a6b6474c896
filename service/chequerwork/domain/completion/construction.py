"""Can it be built? Checks of the field, lines, frame and base of a wish against one shop's lumber and ranges."""

import math
from collections.abc import Iterator

from chequerwork.domain.basics.errors import Fault, Path, unknown_name
from chequerwork.domain.basics.names import unknown_timber
from chequerwork.domain.basics.shop import Span
from chequerwork.domain.board.geometry import LIP_MM, rim_mm
from chequerwork.domain.completion.defaults import Asked
from chequerwork.domain.making.lumber import offered_classes
from chequerwork.domain.order.order import Base, Edge, Hold, Order
from chequerwork.domain.wood import movement

FLOATING_LEAST_MM = 9.0  # three thirds of 3 mm: a tongue and two shoulders (common practice, no source)
RAIL_LEAST_MM = 6.0  # thinnest rail (common practice, no source)
GROOVE_LIP_MM = 3.0  # wood below the groove of a rail (common practice, no source)
SEAT_MOST_MM = 60.0  # twice the widest clearance any order can ask for


class Construction(Asked):
    """A wish seen against a shop, with the faults of its construction."""

    def construction_faults(self) -> Iterator[Fault]:
        """Faults of the field's thickness, its lines, frame and base, and of the size of the whole."""
        yield from self._thickness()
        yield from self._lines()
        yield from self._frame()
        yield from self._base()
        if not self.floats():
            yield from self.size_faults()

    def floats(self) -> bool:
        """Whether the field is free to move in its frame."""
        return self.wish.frame is not None and self.wish.frame.hold is Hold.FLOATING

    def seat_faults(self, order: Order) -> Iterator[Fault]:
        """What a floating field's seat asks of the rail and adds to the size."""
        if not self.floats():
            return
        season = movement.swing(order, self.shop, movement.year_of(order, self.shop, self.tables))
        fault = movement.groove_fault(order, season)
        if fault is not None:
            yield fault
        longest_mm = max(self.outside_mm() or (0.0,)) + 2 * movement.seat(order, season).gap_mm
        if longest_mm > self.shop.ranges.outside_mm:
            yield self._too_long(longest_mm)

    def offered(self, at: Path, species: str) -> Iterator[Fault]:
        """Fault of a timber that this shop does not work, or none."""
        if species in self.shop.lumber:
            return
        if species in self.tables.species:
            yield Fault(
                at=at,
                code="not-offered",
                detail=f"This shop does not work {self.tables.species[species].name}. "
                f"It offers: {', '.join(sorted(self.shop.lumber))}.",
            )
            return
        yield unknown_timber(at=at, given=species, tables=self.tables, worked=self.shop.lumber)

    def _thickness(self) -> Iterator[Fault]:
        given = self.wish.thickness_mm is not None
        at: Path = ("thickness",)
        if given:
            yield from in_span(at, "The thickness", self.thickness_mm, self.shop.ranges.thickness)
        rough_mm = self.shop.machines.rough_field_thickness_mm(self.thickness_mm)
        for role in ("light", "dark"):
            species = getattr(self.wish, role)
            yield from self._thick_enough(at, f"the {role} squares", species, rough_mm, self.thickness_mm)

    def _thick_enough(
        self, at: Path, what: str, species: str | None, rough_mm: float, final_mm: float
    ) -> Iterator[Fault]:
        offer = self.shop.lumber.get(species or "")
        if offer is None:
            return
        thickest_mm = offered_classes(offer.classes, self.tables)[-1].rough_mm
        if rough_mm > thickest_mm + 1e-9:
            most_mm = final_mm - (rough_mm - thickest_mm)
            yield Fault(
                at=at,
                code="lumber-too-thin",
                detail=f"{final_mm:g} mm finished needs {rough_mm:.1f} mm rough {species} for {what}; the "
                f"thickest this shop works is {thickest_mm:.1f} mm. Ask for at most {_floor(most_mm):g} mm.",
            )

    def _lines(self) -> Iterator[Fault]:
        for index, line in enumerate(self.wish.lines):
            at: Path = ("lines", index)
            yield from self.offered((*at, "species"), line.species)
            yield from in_span((*at, "width"), "The line", line.width_mm, self.shop.ranges.line_width)
            rough_mm = self.shop.machines.rough_thickness_mm(self.thickness_mm)
            yield from self._thick_enough((*at, "species"), "the line", line.species, rough_mm, self.thickness_mm)

    def _frame(self) -> Iterator[Fault]:
        frame = self.wish.frame
        if frame is None:
            return
        yield from self.offered(("frame", "species"), frame.species)
        yield from in_span(("frame", "width"), "The rail", frame.width_mm, self.shop.ranges.frame_width)
        thickness_mm = self.frame_thickness_mm(frame)
        at: Path = ("frame", "thickness")
        if not frame.thickness_mm and frame.thickness_mm is not None:
            detail = "A rail of 0 mm is no rail. Leave out thickness for the usual one."
            yield Fault(at=at, code="too-small", detail=detail)
            return
        rough_mm = self.shop.machines.rough_thickness_mm(thickness_mm)
        yield from self._thick_enough(at, "the frame", frame.species, rough_mm, thickness_mm)
        if thickness_mm < RAIL_LEAST_MM:
            yield Fault(
                at=at,
                code="too-small",
                detail=f"The rail is {thickness_mm:g} mm thick; it needs at least {RAIL_LEAST_MM:g} mm. Ask for a "
                "thicker rail.",
            )
        most_mm = min(frame.width_mm, thickness_mm) / 2
        if frame.bevel_mm > most_mm + 1e-9:
            yield Fault(
                at=("frame", "bevel"),
                code="too-large",
                detail=f"A bevel of {frame.bevel_mm:g} mm takes more than half of a rail of {frame.width_mm:g} x "
                f"{thickness_mm:g} mm. Ask for at most {_floor(most_mm):g} mm.",
            )
        if frame.hold is Hold.FLOATING and frame.edge is Edge.LIP:
            yield from self._can_lie_under_a_lip(thickness_mm)
        elif frame.hold is Hold.FLOATING:
            yield from self._can_float(thickness_mm)
        elif frame.edge is Edge.LIP:
            yield Fault(
                at=("frame", "edge"),
                code="conflict",
                detail="A lip laps over a field that is free to move, and this one is glued to its rails. Ask for hold "
                "floating, or leave out edge.",
            )

    def _can_lie_under_a_lip(self, rail_mm: float) -> Iterator[Fault]:
        needed_mm = self.thickness_mm + 2 * LIP_MM
        if rail_mm < needed_mm - 1e-9:
            yield Fault(
                at=("frame", "thickness"),
                code="too-thin-to-float",
                detail=f"A rail of {rail_mm:g} mm cannot hold a field {self.thickness_mm:g} mm thick between two lips "
                f"of {LIP_MM:g} mm; it needs {math.ceil(needed_mm):g} mm. Ask for a thicker rail or edge tongue.",
            )

    def _can_float(self, rail_mm: float) -> Iterator[Fault]:
        if self.thickness_mm < FLOATING_LEAST_MM:
            yield Fault(
                at=("frame", "hold"),
                code="too-thin-to-float",
                detail=f"A field of {self.thickness_mm:g} mm has no room for a tongue; a floating field needs "
                f"{FLOATING_LEAST_MM:g} mm. Ask for a thicker field or hold glued.",
            )
            return
        # The tongue is the middle third of the field, and wood must stand below its groove.
        needed_mm = self.thickness_mm * 2 / 3 + GROOVE_LIP_MM
        if rail_mm < needed_mm - 1e-9:
            yield Fault(
                at=("frame", "thickness"),
                code="too-thin-to-float",
                detail=f"A rail of {rail_mm:g} mm cannot hold the groove of a floating field {self.thickness_mm:g} mm "
                f"thick; it needs {math.ceil(needed_mm):g} mm. Ask for a thicker rail or hold glued.",
            )

    def _base(self) -> Iterator[Fault]:
        base, frame = self.wish.base, self.wish.frame
        if base is None:
            return
        yield from self._sheet(base)
        outside_mm = self.outside_mm()
        if outside_mm is not None:
            yield from self._stands(base, min(outside_mm))
        hang_mm = self.frame_thickness_mm(frame) - rim_mm(frame) - self.thickness_mm if frame else 0.0
        if outside_mm is not None:
            yield from self._on_sheet(base, outside_mm)
        if frame and base.inset_mm < frame.width_mm and hang_mm > 1e-6:
            yield Fault(
                at=("frame", "thickness"),
                code="conflict",
                detail=f"The base runs under the rails, which hang {hang_mm:g} mm below the field, so it could not "
                f"touch the field. "
                + ("Ask for edge tongue" if rim_mm(frame) else f"Make the rails {self.thickness_mm:g} mm thick")
                + f" or the inset at least {frame.width_mm:g} mm.",
            )
        if base.skirt:
            yield from self.offered(("base", "skirt", "species"), base.skirt.species)
            yield from in_span(
                ("base", "skirt", "width"), "The skirt", base.skirt.width_mm, Span(low_mm=2.0, high_mm=30.0)
            )
            rough_mm = self.shop.machines.rough_thickness_mm(base.skirt.width_mm)
            at: Path = ("base", "skirt", "width")
            yield from self._thick_enough(at, "the skirt", base.skirt.species, rough_mm, base.skirt.width_mm)
        if base.backing:
            yield from self.offered(("base", "backing", "species"), base.backing.species)
            yield from in_span(
                ("base", "backing", "thickness"),
                "The backing",
                base.backing.thickness_mm,
                self.shop.ranges.backing,
            )

    def _stands(self, base: Base, side_mm: float) -> Iterator[Fault]:
        """Whether the shorter side leaves the base at least half of itself, and the skirt half of that."""
        most_mm = side_mm / 4
        if base.inset_mm > most_mm + 1e-9:
            yield Fault(
                at=("base", "inset"),
                code="too-large",
                detail=f"An inset of {base.inset_mm:g} mm leaves less than half of the board's {side_mm:g} mm to stand "
                f"on. Ask for at most {_floor(most_mm):g} mm.",
            )
        elif base.skirt and base.skirt.width_mm > (side_mm / 2 - base.inset_mm) / 2 + 1e-9:
            yield Fault(
                at=("base", "skirt", "width"),
                code="too-large",
                detail=f"Two skirts of {base.skirt.width_mm:g} mm take more than half of a base of "
                f"{side_mm - 2 * base.inset_mm:g} mm. Ask for at most "
                f"{_floor((side_mm / 2 - base.inset_mm) / 2):g} mm.",
            )

    def _sheet(self, base: Base) -> Iterator[Fault]:
        materials = {stock.material for stock in self.shop.sheets}
        if base.material not in materials:
            yield unknown_name(at=("base", "material"), what="sheet material", given=base.material, known=materials)
        elif self.shop.sheet_stock(base.material, base.thickness_mm) is None:
            on_offer = sorted(s.thickness_mm for s in self.shop.sheets if s.material == base.material)
            yield Fault(
                at=("base", "thickness"),
                code="not-offered",
                detail=f"This shop does not work {base.material} of {base.thickness_mm:g} mm, but: "
                f"{', '.join(f'{t:g} mm' for t in on_offer)}.",
            )

    def _on_sheet(self, base: Base, outside_mm: tuple[float, float]) -> Iterator[Fault]:
        sheet = self.tables.sheet(base.material, base.thickness_mm)
        if sheet is None:
            return
        # A floating field's clearance may add to the panel; no seat is wider than this.
        long_mm, short_mm = (side - 2 * base.inset_mm + SEAT_MOST_MM for side in sorted(outside_mm, reverse=True))
        if long_mm > sheet.length_mm or short_mm > sheet.width_mm:
            yield Fault(
                at=("base", "inset"),
                code="too-large",
                detail=f"The base would be about {long_mm:.0f} x {short_mm:.0f} mm; a sheet is {sheet.length_mm:g} x "
                f"{sheet.width_mm:g} mm. Ask for a smaller board or a larger inset.",
            )

    def size_faults(self) -> Iterator[Fault]:
        """Whether the board is longer than the shop makes, a floating field's clearance aside."""
        outside_mm = self.outside_mm()
        if outside_mm is None or {"columns", "rows", "square", "pieces", "frame", "lines"} & self.faulted:
            return
        if max(outside_mm) > self.shop.ranges.outside_mm:
            yield self._too_long(max(outside_mm))

    def _too_long(self, longest_mm: float) -> Fault:
        cells = max(self.columns, self.rows)
        room_mm = self.shop.ranges.outside_mm - (longest_mm - cells * (self.square_mm or 0.0))
        return Fault(
            at=("square",) if self.wish.square_mm is not None else ("pieces",),
            code="too-large",
            detail=f"The board would be {longest_mm:.4g} mm on its longer side; this shop makes up to "
            f"{self.shop.ranges.outside_mm:g} mm. Ask for a square of at most {_floor(room_mm / cells):g} mm, "
            "fewer cells or a narrower border.",
        )


def in_span(at: Path, what: str, given_mm: float, span: Span) -> Iterator[Fault]:
    """Fault of a length [mm] that is outside a range, or none."""
    if not span.low_mm - 1e-9 <= given_mm <= span.high_mm + 1e-9:
        small = given_mm < span.low_mm
        yield Fault(
            at=at,
            code="too-small" if small else "too-large",
            detail=f"{what} is {given_mm:.6g} mm; this shop makes {span.low_mm:.6g} mm to {span.high_mm:.6g} mm. "
            f"Ask for {'at least' if small else 'at most'} {(span.low_mm if small else span.high_mm):.6g} mm.",
        )


def _floor(value_mm: float) -> float:
    return math.floor(value_mm * 10 + 1e-9) / 10
