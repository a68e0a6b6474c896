"""Will it stay flat? Bow of a field glued to its base, across and along the grain, and what would balance it."""

from collections.abc import Mapping, Sequence
from typing import NamedTuple

from chequerwork.domain.basics.arithmetic import weighted
from chequerwork.domain.basics.facts import Grain, Tables
from chequerwork.domain.basics.shop import Lumber
from chequerwork.domain.board.geometry import base_is_glued
from chequerwork.domain.order.order import Backing, Base, BoardField, Frame
from chequerwork.domain.wood.movement import BAND, Swing, Year
from chequerwork.domain.wood.timber import along_change_pct, moduli, modulus_across_mpa


class Layer(NamedTuple):
    """One layer of a lay-up: thickness [mm], modulus [MPa], free strain."""

    thickness_mm: float
    modulus_mpa: float
    strain: float


class Ply(NamedTuple):
    """One layer of a board: thickness [mm], modulus [MPa], free strain in the driest season and in the dampest."""

    thickness_mm: float
    modulus_mpa: float
    dry: float
    damp: float


class Balance(NamedTuple):
    """The backing that brings the bow across to nothing in the worse season, and the bow it leaves in the other."""

    species: str
    grain: Grain
    thickness_mm: float
    left_mm: float


class Flatness(NamedTuple):
    """Bow of the field on its base in the worse season, an upper bound; zeros where it is not glued to a base.

    ``hollow`` is the side that is hollow across in that season. ``balance_score`` compares the thickness of the
    backing with the field's: 0 is balanced, 1 is one-sided; None without a glued base.
    """

    across_mm: float = 0.0
    along_mm: float = 0.0
    hollow: str | None = None
    balance_score: float | None = None

    @property
    def bow_mm(self) -> float:
        """The larger of the two. [mm]"""
        return max(self.across_mm, self.along_mm)

    @property
    def band_mm(self) -> float:
        """Plus or minus, on the bow across. [mm]"""
        return BAND * self.across_mm


FREE = Flatness()


def curvature(layers: Sequence[Layer]) -> float:
    """Curvature of a laminated strip whose layers want different lengths. [1/mm]

    Linear elastic, bonded, free to bend, no creep: an upper bound for wood. Positive when the last layer is on the
    convex side. Force and moment balance of the layers; for two layers it is the bimetal formula. In a wide panel
    every modulus is E / (1 - nu), which leaves the result as it is where nu is alike.

    Parameters
    ----------
    layers
        From the underside up, at least one.

    References
    ----------
    TIMO (1925) for two layers; equal layers give 1.5 de / h.
    """
    return _bends([Ply(*layer, layer.strain) for layer in layers])[0]


def laminate_bend(
    thicknesses_mm: tuple[float, ...], moduli_mpa: tuple[float, ...], strains: tuple[float, ...]
) -> float:
    """Curvature of a laminated strip, as ``curvature``, of its layers as three lists. [1/mm]

    Parameters
    ----------
    thicknesses_mm
        Of the layers from the underside up. [mm]
    moduli_mpa
        As many. [MPa]
    strains
        As many: what each layer wants to change by, as a fraction.

    References
    ----------
    TIMO (1925) for two layers; equal layers give 1.5 de / h.
    """
    return curvature([Layer(*layer) for layer in zip(thicknesses_mm, moduli_mpa, strains, strict=True)])


def balancing_mm(layers: Sequence[Layer], backing: Layer) -> float | None:
    """Thickness of a backing below the given layers at which nothing bends; None where no thickness does. [mm]

    Curvature vanishes where the sums of ``curvature`` satisfy S M = Q N. With the backing's t as the unknown the
    cubic terms cancel and t solves a quadratic; its smallest positive root is taken.

    Parameters
    ----------
    layers
        From the underside up, without the backing, at least one.
    backing
        Its modulus and strain; its thickness is not looked at.

    References
    ----------
    TIMO (1925): the balanced case, solved for the thickness of one layer.
    """
    stiffness, first, _, (force, moment), _ = _sums([Ply(*layer, 0.0) for layer in layers])
    # 0 = c + b t + a t^2, heights measured from the underside of the given layers.
    c = stiffness * moment - first * force
    b = backing.modulus_mpa * (moment - first * backing.strain)
    a = backing.modulus_mpa / 2 * (force - stiffness * backing.strain)
    return min((root for root in _roots(a, b, c) if root > 0), default=None)


def balance_score(*, face_mm: float, back_mm: float) -> float:
    """How far a lay-up is from equal layers on both sides of its core; the trade warns above 0.1.

    Parameters
    ----------
    face_mm
        Layer on the playing side. [mm] More than 0.
    back_mm
        Layer on the back. [mm] 0 where there is none.

    References
    ----------
    TRADE-BUILD: |thickness ratio - 1|; a face of 0.605 mm against a back of 0.794 mm scores 0.31.
    """
    return abs(back_mm / face_mm - 1)


def bow_mm(*, bend: float, length_mm: float) -> float:
    """Height of the bow over a length. [mm]

    Parameters
    ----------
    bend
        One over the radius. [1/mm]
    length_mm
        Chord. [mm] Short against the radius.

    References
    ----------
    WOOD-NOTES section 4: f = k L^2 / 8. 6 mm of flat-sawn maple on 12 mm of MDF, 400 mm wide, +3 %: 10.2 mm.
    """
    return abs(bend) * length_mm * length_mm / 8


def flatten(
    field: BoardField, frame: Frame | None, base: Base | None, tables: Tables, year: Year, season: Swing
) -> Flatness:
    """Bow of the field of one board, across and along, in the worse season."""
    if base is None or not base_is_glued(frame, base):
        return FREE
    bend = bend_across(base, field_ply(field, tables, season), tables, year)
    along = bend_along(base, field, tables, year)
    back_mm = base.backing.thickness_mm if base.backing else 0.0
    return Flatness(
        across_mm=bow_mm(bend=bend, length_mm=field.width_mm),
        along_mm=bow_mm(bend=along, length_mm=field.length_mm),
        # The field is on top: where it is the longer layer it stands up in the middle.
        hollow=None if not bend else "underside" if bend > 0 else "top",
        balance_score=balance_score(face_mm=field.thickness_mm, back_mm=back_mm),
    )


def bend_across(base: Base, field: Ply, tables: Tables, year: Year) -> float:
    """Curvature across the grain of a field on a base, in the worse season; positive stands up in the middle. [1/mm]"""
    backing = base.backing
    plies = [_wood(backing, tables, year)] if backing else []
    return max(_bends([*plies, *_sheet(base, year), field]), key=abs)


def bend_along(base: Base, field: BoardField, tables: Tables, year: Year) -> float:
    """Curvature along the grain, where wood hardly moves and the sheet does, in the worse season. [1/mm]"""
    build_pct, *seasons = year.moisture
    dry, damp = (along_change_pct(from_pct=build_pct, to_pct=to_pct) / 100 for to_pct in seasons)
    light, dark = (moduli(tables.species[key]).along_mpa for key in (field.light, field.dark))
    plies = [*_sheet(base, year), Ply(field.thickness_mm, (light + dark) / 2, dry, damp)]  # strips share the load
    if base.backing:
        modulus_mpa = moduli(tables.species[base.backing.species]).along_mpa
        plies.insert(0, Ply(base.backing.thickness_mm, modulus_mpa, dry, damp))
    return max(_bends(plies), key=abs)


def balance(
    field: BoardField,
    frame: Frame | None,
    base: Base | None,
    lumber: Mapping[str, Lumber],
    tables: Tables,
    year: Year,
    season: Swing,
) -> Balance | None:
    """Backing of the field's livelier timber, as the shop buys it, that takes the bow out of the worse season."""
    if base is None or not base_is_glued(frame, base):
        return None
    bare = bare_of(base, field_ply(field, tables, season), year)
    species = max((field.light, field.dark), key=lambda key: abs(year.strain(key, lumber[key].grain).worst))
    grain = lumber[species].grain
    worst = max((0, 1), key=lambda at: abs(_bends(bare)[at]))
    thickness_mm = balancing_of(bare, wood_ply(0.0, species, grain, tables, year), worst)
    if thickness_mm is None:
        return None
    bends = _bends([wood_ply(thickness_mm, species, grain, tables, year), *bare])
    left_mm = bow_mm(bend=max(bends, key=abs), length_mm=field.width_mm)
    return Balance(species, grain, thickness_mm, left_mm)


def balancing_of(bare: Sequence[Ply], backing: Ply, at: int) -> float | None:
    """``balancing_mm`` in one season: 0 is the driest, 1 the dampest. [mm]"""
    return balancing_mm([_in_season(ply, at) for ply in bare], _in_season(backing, at))


def wood_ply(thickness_mm: float, species: str, grain: Grain, tables: Tables, year: Year) -> Ply:
    """A layer of one timber, seen across its face."""
    return Ply(thickness_mm, modulus_across_mpa(tables.species[species], grain), *year.strain(species, grain))


def _wood(backing: Backing, tables: Tables, year: Year) -> Ply:
    return wood_ply(backing.thickness_mm, backing.species, backing.grain, tables, year)


def _sheet(base: Base, year: Year) -> list[Ply]:
    sheet, strain = year.sheet(base)
    return [Ply(base.thickness_mm, sheet.modulus_mpa, *strain)] if sheet else []


def bare_of(base: Base, field: Ply, year: Year) -> list[Ply]:
    """The sheet and the field on it, without a backing, from the underside up."""
    return [*_sheet(base, year), field]


def timber_shares(field: BoardField, season: Swing) -> tuple[float, float]:
    """Shares of the field's width that are of the light timber and of the dark one."""
    light, dark = season.strips[:2]
    return light.pieces / field.columns, dark.pieces / field.columns


def field_ply(field: BoardField, tables: Tables, season: Swing) -> Ply:
    """The field across the grain: strips side by side act in series, so compliances and strains average.

    References
    ----------
    WOOD-NOTES 4.1: 1/E = sum f/E, e = sum f e, f the share of the width.
    """
    light, dark = season.strips[:2]
    shares = timber_shares(field, season)
    light_mpa = modulus_across_mpa(tables.species[light.species], light.grain)
    dark_mpa = modulus_across_mpa(tables.species[dark.species], dark.grain)
    return Ply(
        field.thickness_mm,
        series_modulus_mpa(shares, (light_mpa, dark_mpa)),
        weighted(shares, (light.strain.dry, dark.strain.dry)),
        weighted(shares, (light.strain.damp, dark.strain.damp)),
    )


def series_modulus_mpa(shares: tuple[float, ...], moduli_mpa: tuple[float, ...]) -> float:
    """Stiffness of strips side by side, pulled across. [MPa]

    Parameters
    ----------
    shares
        Of the width; together 1.
    moduli_mpa
        As many. [MPa]

    References
    ----------
    WOOD-NOTES 4.1: 1/E = sum f/E.
    """
    compliance = 0.0
    for share, modulus_mpa in zip(shares, moduli_mpa, strict=True):
        compliance += share / modulus_mpa
    return 1 / compliance


def _in_season(ply: Ply, at: int) -> Layer:
    return Layer(ply.thickness_mm, ply.modulus_mpa, ply.damp if at else ply.dry)


def _bends(plies: Sequence[Ply]) -> tuple[float, float]:
    """Curvature in the driest season and in the dampest. [1/mm]"""
    stiffness, first, second, dry, damp = _sums(plies)
    resistance = stiffness * second - first * first
    return (
        (stiffness * dry[1] - first * dry[0]) / resistance,
        (stiffness * damp[1] - first * damp[0]) / resistance,
    )


def _sums(plies: Sequence[Ply]) -> tuple[float, float, float, tuple[float, float], tuple[float, float]]:
    """Stiffness, its first and second moment about the underside, and force and moment of each season's strains."""
    bottom = stiffness = first = second = dry_force = dry_moment = damp_force = damp_moment = 0.0
    for thickness_mm, modulus_mpa, dry, damp in plies:
        middle = bottom + thickness_mm / 2
        et = thickness_mm * modulus_mpa
        et_middle = et * middle
        stiffness += et
        first += et_middle
        second += et_middle * middle + et * thickness_mm * thickness_mm / 12
        dry_force += et * dry
        dry_moment += et_middle * dry
        damp_force += et * damp
        damp_moment += et_middle * damp
        bottom += thickness_mm
    return stiffness, first, second, (dry_force, dry_moment), (damp_force, damp_moment)


def _roots(a: float, b: float, c: float) -> tuple[float, ...]:
    """Real solutions of c + b t + a t^2 = 0, without the loss of digits where a is small."""
    below = b * b - 4 * a * c
    if below < 0 or (a == 0 and b == 0):
        return ()
    q = -(b + (below**0.5 if b >= 0 else -(below**0.5))) / 2
    return tuple(root for root in ((c / q if q else 0.0), (q / a if a else 0.0)))
