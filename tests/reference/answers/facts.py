"""Questions about what the fact tables carry, and how far a second source is from it."""

from builders import demo_tables
from reference.answers.registry import checks_formulas

from chequerwork.domain.basics.facts import Grain
from chequerwork.domain.wood.timber import coefficient_from_shrinkage, emc_pct, shrinkage_at_pct

NEWTON_PER_LBF = 4.4482216152605
MPA_PER_MILLION_PSI = 6894.757293168
KG_M3_PER_LB_FT3 = 16.018463374
MILLION_PER_M3 = 1e9  # cubic millimetres
TABLES = demo_tables()
SPECIES = TABLES.species


# A timber -------------------------------------------------------------------------------------------------------------


@checks_formulas()
def coefficient(*, species, grain):
    return SPECIES[species].coefficient(Grain(grain))


@checks_formulas()
def shrinkage_pct(*, species, grain):
    return SPECIES[species].shrinkage_pct(Grain(grain))


@checks_formulas()
def side_hardness_n(*, species):
    return SPECIES[species].hardness_n


@checks_formulas()
def side_hardness_lbf(*, species):
    return SPECIES[species].hardness_n / NEWTON_PER_LBF


@checks_formulas()
def modulus_mpa(*, species):
    return SPECIES[species].modulus_along_mpa


@checks_formulas()
def modulus_million_psi(*, species):
    """As printed for bending at span/depth 14, without the 10 % the table's footnote adds for a true modulus."""
    return SPECIES[species].modulus_along_mpa / MPA_PER_MILLION_PSI


@checks_formulas()
def elastic_ratios(*, species):
    return [SPECIES[species].ratio_tangential, SPECIES[species].ratio_radial]


@checks_formulas()
def mean_elastic_ratio(*, species):
    return sum(elastic_ratios(species=species)) / 2


@checks_formulas()
def density_kg_m3(*, species):
    return SPECIES[species].density_kg_m3


@checks_formulas()
def density_lb_ft3(*, species):
    return SPECIES[species].density_kg_m3 / KG_M3_PER_LB_FT3


@checks_formulas()
def gravity_at_12(*, species):
    """Oven-dry mass over the volume at 12 %."""
    return SPECIES[species].density_kg_m3 / 1120


@checks_formulas("timber.shrinkage_at_pct")
def basic_gravity(*, species, volumetric_shrinkage_pct):
    """Oven-dry mass over the green volume."""
    return gravity_at_12(species=species) * (1 - shrinkage_at_pct(volumetric_shrinkage_pct, 12.0) / 100)


@checks_formulas()
def cites_of_timber(*, species):
    """Appendix, annotation and whether a finished board is covered; nothing where it is not listed."""
    listing = TABLES.listing_of(species)
    return [listing.appendix, listing.annotation, listing.finished_board] if listing else []


# A second source over ours: 1 where they agree ------------------------------------------------------------------------


@checks_formulas()
def coefficient_over_ours(*, species, grain, per_pct):
    return per_pct / coefficient(species=species, grain=grain)


@checks_formulas()
def implied_over_ours(*, species, grain, shrinkage_pct):
    """The coefficient that a total shrinkage implies; it says more of the timber than of the formula."""
    return coefficient_from_shrinkage(shrinkage_pct) / coefficient(species=species, grain=grain)


@checks_formulas()
def shrinkage_over_ours(*, species, grain, shrinkage_pct):
    return shrinkage_pct / SPECIES[species].shrinkage_pct(Grain(grain))


@checks_formulas()
def density_over_ours(*, species, density_kg_m3):
    return density_kg_m3 / SPECIES[species].density_kg_m3


# Rooms, games, stock --------------------------------------------------------------------------------------------------


@checks_formulas("timber.emc_pct")
def moisture_of_room_pct(*, room, season):
    kind = TABLES.rooms[room]
    rh_pct = {"low": kind.low_rh_pct, "high": kind.high_rh_pct}[season]
    return emc_pct(temperature_c=kind.temperature_c, rh_pct=rh_pct)


@checks_formulas()
def board_of_game(*, game):
    return [TABLES.games[game].columns, TABLES.games[game].rows]


@checks_formulas()
def squares_of_game_mm(*, game):
    return [TABLES.games[game].square_low_mm, TABLES.games[game].square_high_mm]


@checks_formulas()
def rough_and_surfaced_mm(*, name):
    found = {each.name: each for each in TABLES.thickness_classes}[name]
    return [found.rough_mm, found.surfaced_mm]


@checks_formulas()
def sheet_kg(*, material, thickness_mm):
    """Of a whole sheet in the size that comes first."""
    sheet = TABLES.sheet(material, thickness_mm)
    return sheet.length_mm * sheet.width_mm * sheet.thickness_mm / MILLION_PER_M3 * sheet.density_kg_m3


@checks_formulas()
def sheet_growth_mm(*, material, thickness_mm, length_mm, change_pct):
    return length_mm * TABLES.sheet(material, thickness_mm).movement_per_pct * change_pct


@checks_formulas()
def adhesive_figure(*, adhesive, quantity):
    return getattr(TABLES.adhesives[adhesive], quantity)


@checks_formulas()
def finish_figure(*, finish, quantity):
    return getattr(TABLES.finishes[finish], quantity)
