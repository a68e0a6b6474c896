"""Can it be built? Checks of a request's board against one shop's lumber and ranges."""

import math
from collections.abc import Iterator

from chequerwork.domain.basics.errors import Fault, Path, unknown_name
from chequerwork.domain.basics.facts import Game, Tables
from chequerwork.domain.basics.memory import Made, plainly
from chequerwork.domain.basics.names import unknown_timber
from chequerwork.domain.basics.shop import Climate, Shop, Span
from chequerwork.domain.board.geometry import LIP_MM, rim_mm
from chequerwork.domain.completion.defaults import Filled
from chequerwork.domain.making.lumber import offered_classes
from chequerwork.domain.order.order import BoardField, Edge, Frame, Hold, Pattern
from chequerwork.domain.order.request import BaseRequest, ConstructionRequest
from chequerwork.domain.wood import movement

FLOATING_LEAST_MM = 9.0  # three thirds of 3 mm: a tongue and two shoulders (common practice, no source)
RAIL_LEAST_MM = 6.0  # thinnest rail (common practice, no source)
GROOVE_LIP_MM = 3.0  # wood below the groove of a rail (common practice, no source)
SKIRT_MM = Span(low_mm=2.0, high_mm=30.0)  # width of a skirt (common practice, no source)
FEET_FEWEST = 4
SEAT_MOST_MM = 60.0  # twice the widest clearance any order can ask for


# Names of the contract that decide how the board is built.
BOARD = frozenset(
    {"columns", "rows", "game", "square", "pieces", "light", "dark", "thickness", "pattern", "lines", "frame", "base"}
)


class Construction(Filled):
    """A request's board seen against a shop, with every fault of it.

    ``faulted`` are the top-level fields that the reader has refused: they are not reported as missing.
    """

    def __init__(
        self, request: ConstructionRequest, shop: Shop, tables: Tables, faulted: frozenset[str] = frozenset()
    ) -> None:
        super().__init__(request, shop, tables)
        self.faulted = faulted

    def faults(self) -> Iterator[Fault]:
        """Every fault that needs no climate, in the order of the contract's table."""
        yield from self._squares_and_pattern()
        yield from self._square()
        yield from self._timbers()
        yield from self.construction_faults()
        yield from self._feet()

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
        return self.request.frame is not None and self.request.frame.hold is Hold.FLOATING

    def seat_faults(
        self, field: BoardField, frame: Frame | None, climate: Climate, made: Made = plainly
    ) -> Iterator[Fault]:
        """What a floating field's seat asks of the rail and adds to the size; ``made`` as the plan makes its parts."""
        if not self.floats():
            return
        year = made(movement.year_of, climate, self.shop.workshop_climate, self.tables)
        sat = made(movement.seat, frame, made(movement.swing, field, self.shop.lumber, year))
        fault = movement.groove_fault(frame, sat)
        if fault is not None:
            yield fault
        longest_mm = max(self.outside_mm() or (0.0,)) + 2 * sat.gap_mm
        if longest_mm > self.shop.ranges.outside_mm:
            yield self._too_long(longest_mm)

    # The field --------------------------------------------------------------------------------------------------------

    def _squares_and_pattern(self) -> Iterator[Fault]:
        request = self.request
        if request.game is not None:
            game = self.tables.games.get(request.game)
            if game is None:
                yield unknown_name(at=("game",), what="game", given=request.game, known=self.tables.games)
            else:
                yield from self._against_game(game)
        if self.columns % 2 and self.pattern is Pattern.TURN and "columns" not in self.faulted:
            yield Fault(
                at=("pattern",),
                code="odd-columns",
                detail=f"A bar of {self.columns} squares is the same after turning, so turn makes stripes, not a "
                "chequer. Use pattern shift, or an even number of columns.",
            )

    def _against_game(self, game: Game) -> Iterator[Fault]:
        for name, given, wanted in (
            ("columns", self.request.columns, game.columns),
            ("rows", self.request.rows, game.rows),
        ):
            if given is not None and given != wanted:
                yield Fault(
                    at=(name,),
                    code="conflict",
                    detail=f"{game.title} is played on {wanted} {name}, but {given} were asked for. "
                    f"Leave out {name} or leave out game.",
                )

    def _square(self) -> Iterator[Fault]:
        if self.square_mm is None:
            if not {"square", "pieces"} & self.faulted:
                yield Fault(
                    at=("square",),
                    code="missing",
                    detail="Give the square as a length such as '48 mm', or pieces to derive it from.",
                )
            return
        derived = self.request.square_mm is None
        at: Path = ("pieces",) if derived else ("square",)
        what = "The square derived from the pieces" if derived else "The square"
        yield from in_span(at, what, self.square_mm, self.shop.ranges.square)

    def _timbers(self) -> Iterator[Fault]:
        for role in ("light", "dark"):
            given: str | None = getattr(self.request, role)
            if given is None:
                yield Fault(
                    at=(role,),
                    code="missing",
                    detail=f"Name the {role} timber. This shop offers: {', '.join(sorted(self.shop.lumber))}.",
                )
            else:
                yield from self.offered((role,), given)
        if self.request.light is not None and self.request.light == self.request.dark:
            yield Fault(
                at=("dark",),
                code="conflict",
                detail=f"Light and dark are both {self.request.light!r}: no chequer would show. Choose two timbers.",
            )

    def _feet(self) -> Iterator[Fault]:
        if self.request.feet and 0 < self.request.feet < FEET_FEWEST:
            yield Fault(
                at=("feet",),
                code="too-few",
                detail=f"A board on {self.request.feet} feet rocks. Ask for 0, or {FEET_FEWEST} and more.",
            )

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
        given = self.request.thickness_mm is not None
        at: Path = ("thickness",)
        if given:
            yield from in_span(at, "The thickness", self.thickness_mm, self.shop.ranges.thickness)
        rough_mm = self.shop.machines.rough_field_thickness_mm(self.thickness_mm)
        for role in ("light", "dark"):
            species = getattr(self.request, role)
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
        for index, line in enumerate(self.request.lines):
            at: Path = ("lines", index)
            yield from self.offered((*at, "species"), line.species)
            yield from in_span((*at, "width"), "The line", line.width_mm, self.shop.ranges.line_width)
            rough_mm = self.shop.machines.rough_thickness_mm(self.thickness_mm)
            yield from self._thick_enough((*at, "species"), "the line", line.species, rough_mm, self.thickness_mm)

    def _frame(self) -> Iterator[Fault]:
        frame = self.request.frame
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
        base, frame = self.request.base, self.request.frame
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
            yield from in_span(("base", "skirt", "width"), "The skirt", base.skirt.width_mm, SKIRT_MM)
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

    def _stands(self, base: BaseRequest, side_mm: float) -> Iterator[Fault]:
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

    def _sheet(self, base: BaseRequest) -> Iterator[Fault]:
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

    def _on_sheet(self, base: BaseRequest, outside_mm: tuple[float, float]) -> Iterator[Fault]:
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
            at=("square",) if self.request.square_mm is not None else ("pieces",),
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
