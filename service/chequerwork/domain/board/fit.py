"""How the pieces suit the squares, and the square that suits given pieces."""

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from typing import NamedTuple

from chequerwork.domain.basics.advice import Advice, Severity
from chequerwork.domain.basics.arithmetic import enlarged_mm, round_up, times
from chequerwork.domain.basics.facts import FitBand, Tables
from chequerwork.domain.order.order import ChessPieces, DraughtsMan, Pieces, Play, Units

FILL_TARGET = 0.78  # base diameter over square; see the fit bands
MAN_ROOM_MM = (5.0, 7.0)  # draughts: what players leave around a man
MAN_MARGIN_MM = 6.0  # its middle
SQUARE_STEP_MM = {"metric": 0.5, "imperial": 25.4 / 16}  # a derived square is rounded up to this
MAN_MARGINS_MM = (("crowded", 3.0), ("tight", 5.0), ("standard", 7.0), ("roomy", 12.0))  # below which; house


@dataclass(frozen=True, slots=True, kw_only=True)
class Fit:
    """How the pieces suit the square. None where no pieces were given."""

    fill_ratio: float | None
    verdict: str | None
    square_low_mm: float | None
    square_high_mm: float | None


def fill_ratio(base_mm: float, square_mm: float) -> float:
    """Diameter of a piece's base over the side of its square.

    Parameters
    ----------
    base_mm
        Diameter. [mm]
    square_mm
        Side. [mm]

    References
    ----------
    BOARD-STD section 2; 1.75 in on 2.25 in: 0.778 (S05).
    """
    return base_mm / square_mm


def square_at_ratio_mm(base_mm: float, ratio: float) -> float:
    """Square on which a base has a fill ratio. [mm]

    Parameters
    ----------
    base_mm
        Diameter. [mm]
    ratio
        Base over square. More than 0.

    References
    ----------
    BOARD-STD section 2.
    """
    return base_mm / ratio


def square_for(pieces: Pieces, units: Units) -> float:
    """Square that suits the pieces, rounded up to the unit system's step. [mm]

    Chess: king base over the wished fill ratio, or over 0.78, and never less than twice the pawn's base. Draughts:
    man plus 6 mm.

    References
    ----------
    BOARD-STD, sections 1 to 3 (78 % as diameter over side; pawn rule; man + 5 to 7 mm, players' practice).
    """
    return round_up(strictest(pieces).wanted_mm, SQUARE_STEP_MM[units])


class SquareRule(NamedTuple):
    """One rule by which pieces ask for a square: its formula and what goes in."""

    name: str
    formula: Callable[..., float]
    inputs: tuple[float, ...]  # as the formula takes them

    @property
    def wanted_mm(self) -> float:
        """The square it asks for. [mm]"""
        return self.formula(*self.inputs)


def strictest(pieces: Pieces) -> SquareRule:
    """The rule that asks for the largest square."""
    return max(_rules(pieces), key=lambda rule: rule.wanted_mm)


def _rules(pieces: Pieces) -> Iterator[SquareRule]:
    if isinstance(pieces, DraughtsMan):
        yield SquareRule("man and the room around it", enlarged_mm, (pieces.man_mm, 1, MAN_MARGIN_MM))
        return
    ratio = pieces.fill_ratio or FILL_TARGET
    yield SquareRule("square for the king", square_at_ratio_mm, (pieces.king_base_mm, ratio))
    if pieces.fill_ratio is None:
        yield SquareRule("two pawns side by side", times, (pieces.pawn_base_mm or 0.0, 2))


def fit(square_mm: float, pieces: Pieces | None, bands: tuple[FitBand, ...]) -> Fit:
    """How the pieces suit the square.

    The fill ratio is base *diameter* over square: read as an area share, 78 % would let the base touch all four
    edges. ``square_low_mm`` and ``square_high_mm`` bound the squares on which these pieces stand ``standard``.

    References
    ----------
    BOARD-STD section 2 (0.75 to 0.80 usual), section 3 (man + 5 to 7 mm).
    """
    if pieces is None:
        return Fit(fill_ratio=None, verdict=None, square_low_mm=None, square_high_mm=None)
    if isinstance(pieces, DraughtsMan):
        margin_mm = square_mm - pieces.man_mm
        verdict = next((word for word, below_mm in MAN_MARGINS_MM if margin_mm < below_mm - 1e-9), "lonely")
        return Fit(
            fill_ratio=fill_ratio(pieces.man_mm, square_mm),
            verdict="standard" if abs(margin_mm - MAN_ROOM_MM[1]) <= 1e-9 else verdict,
            square_low_mm=enlarged_mm(pieces.man_mm, 1, MAN_ROOM_MM[0]),
            square_high_mm=enlarged_mm(pieces.man_mm, 1, MAN_ROOM_MM[1]),
        )
    ratio = fill_ratio(pieces.king_base_mm, square_mm)
    standard = next(band for band in bands if band.verdict == "standard")
    # Both ends of the usual band are printed as usual.
    usual = standard.low - 1e-9 <= ratio <= standard.high + 1e-9
    verdict = next((band.verdict for band in bands if ratio < band.high), bands[-1].verdict)
    return Fit(
        fill_ratio=ratio,
        verdict=standard.verdict if usual else verdict,
        square_low_mm=square_at_ratio_mm(pieces.king_base_mm, standard.high),
        square_high_mm=square_at_ratio_mm(pieces.king_base_mm, standard.low),
    )


def square_high_mm(pieces: Pieces, bands: tuple[FitBand, ...]) -> float:
    """The largest square on which pieces stand ``standard``. [mm]

    References
    ----------
    BOARD-STD sections 2 and 3.
    """
    if isinstance(pieces, DraughtsMan):
        return enlarged_mm(pieces.man_mm, 1, MAN_ROOM_MM[1])
    return square_at_ratio_mm(pieces.king_base_mm, next(band.low for band in bands if band.verdict == "standard"))


def fit_advice(square_mm: float, play: Play, tables: Tables) -> tuple[Advice, ...]:
    """Advice about square and pieces."""
    found: list[Advice] = []
    game = tables.games.get(play.game) if play.game else None
    if game and not game.square_low_mm - 1e-6 <= square_mm <= game.square_high_mm + 1e-6:
        found.append(
            Advice(
                code="outside-usual-square",
                severity=Severity.INFO,
                at=("geometry", "square_mm"),
                text=f"{game.title} is usually played on squares of {game.square_low_mm:g} to "
                f"{game.square_high_mm:g} mm; this board has {square_mm:.4g} mm.",
                source=game.source,
            )
        )
    pieces = play.pieces
    if pieces is not None:
        found.extend(_standing(square_mm, fit(square_mm, pieces, tables.fit_bands)))
    if isinstance(pieces, ChessPieces) and pieces.pawn_base_mm and square_mm < 2 * pieces.pawn_base_mm - 1e-6:
        found.append(
            Advice(
                code="pawn-rule",
                severity=Severity.CAUTION,
                at=("geometry", "fit"),
                text=f"Four pawns of {pieces.pawn_base_mm:g} mm do not fit one square; that asks for a square of "
                f"{2 * pieces.pawn_base_mm:g} mm.",
                source="BOARD-STD",
            )
        )
    return tuple(found)


def _standing(square_mm: float, found: Fit) -> tuple[Advice, ...]:
    if found.verdict in (None, "standard", "roomy"):
        return ()
    severity = Severity.WARNING if (found.fill_ratio or 0.0) >= 1 else Severity.CAUTION
    return (
        Advice(
            code=f"pieces-{found.verdict}",
            severity=severity,
            at=("geometry", "fit"),
            text=f"The pieces stand {found.verdict} on {square_mm:.4g} mm squares (fill ratio "
            f"{found.fill_ratio:.2f}); squares of {found.square_low_mm:.1f} to {found.square_high_mm:.1f} mm suit "
            "them.",
            source="BOARD-STD",
        ),
    )
