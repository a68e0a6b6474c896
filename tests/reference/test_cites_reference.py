"""Listings of CITES against a table of taxa copied from the notices read, and against the calendar of its conferences.

The table's own ``source`` column names what was read in words; ``members`` are the taxa of its first column one by one,
``*`` for every species of a genus.
"""

from datetime import date, timedelta

import pytest
from builders import demo_tables, table_rows

from chequerwork.domain.basics.facts import Coverage

LISTINGS = table_rows("cites_listings")
CONFERENCES = table_rows("cites_conferences")
SPECIES = demo_tables().species
COVERAGE = {"yes": Coverage.YES, "no": Coverage.NO, "only above": Coverage.ABOVE_LIMIT}
# Where a species of ours comes from, when the listing is of some populations only (flora of the region, from memory).
GROWS_IN = {"Diospyros crassiflora": "Africa", "Swietenia macrophylla": "Neotropics"}


def members(row):
    return [tuple(name.split(" ")) for name in row["members"].split("; ")]


def falls_under(botanical, row):
    """Whether a botanical name, or one of its genus where only the genus is given, is a member of a taxon."""
    genus, _, epithet = botanical.partition(" ")
    if row["populations"] == "Madagascar only" and GROWS_IN.get(botanical) != "Madagascar":
        return False
    return any(genus == its and (name in (epithet, "*") or epithet == "spp.") for its, name in members(row))


def taxon_of(botanical):
    """The row a species falls under; a species named alone goes before its genus."""
    for row in sorted(LISTINGS, key=lambda row: "*" in row["members"]):
        if any(falls_under(name, row) for name in botanical.split(" / ")):
            return row
    return None


@pytest.mark.parametrize("species", SPECIES.values(), ids=lambda species: species.key)
def test_a_species_is_listed_as_its_botanical_name_says(tables, species):
    row, listing = taxon_of(species.botanical), tables.listing_of(species.key)
    if row is None or row["appendix"] == "not listed":
        assert listing is None
        return
    assert listing is not None
    assert (listing.appendix, listing.annotation) == (row["appendix"], row["annotation"])
    assert listing.finished_board is next(
        kind for words, kind in COVERAGE.items() if row["finished_board"].startswith(words)
    )
    assert listing.taxon in {name for its in members(row) for name in (its[0], " ".join(its))}


def test_six_species_of_the_table_are_listed(tables):
    """So that the test above looks at both kinds."""
    assert {key for key in SPECIES if tables.listing_of(key)} == {
        "african_padauk", "african_mahogany", "honduran_mahogany", "bubinga", "indian_rosewood", "cocobolo",
    }  # fmt: skip


def rows_of(taxon):
    names = {name.strip() for name in taxon.split(",")}
    return [
        row
        for row in LISTINGS
        if any(its[0] in names or " ".join(its) in names for its in members(row))
        and ("*" in row["members"] or taxon in row["members"] or " " not in taxon)
    ]


@pytest.mark.parametrize("taxon", demo_tables().cites)
def test_a_listing_says_what_the_notices_say(tables, taxon):
    listing = tables.cites[taxon]
    found = [row for row in rows_of(taxon) if row["appendix"] == listing.appendix]
    (row,) = found if len(found) == 1 else [row for row in found if taxon in row["members"]]
    assert listing.annotation == row["annotation"]
    assert listing.finished_board is next(
        kind for words, kind in COVERAGE.items() if row["finished_board"].startswith(words)
    )
    assert str(listing.period.first).startswith(row["since"])
    for region in ("Africa", "Madagascar", "Neotropic"):
        assert (region in row["populations"]) == (region in listing.populations), region


def test_every_taxon_of_the_notices_has_its_listing(tables):
    told = [row for row in LISTINGS if row["appendix"] != "not listed"]
    shown = {name.strip() for taxon in tables.cites for name in taxon.split(",")}
    for row in told:
        assert any(its[0] in shown or " ".join(its) in shown for its in members(row)), row["taxon"]
    assert len(told) == 19


@pytest.mark.parametrize("row", CONFERENCES, ids=lambda row: row["conference"])
def test_a_listing_begins_ninety_days_after_its_conference(tables, row):
    """Article XV of the convention. An independent way to each day, where no listing was delayed."""
    day = date.fromisoformat(row["last_day"]) + timedelta(days=90)
    assert day == date.fromisoformat(row["in_force"])
    for taxon in filter(None, row["taxa"].split("; ")):
        assert tables.cites[taxon].period.first == day


def test_the_exemption_by_weight_begins_with_the_annotation_that_made_it(tables):
    (day,) = {listing.limit_period.first for listing in tables.cites.values() if listing.limit_kg}
    assert str(day) == next(row["in_force"] for row in CONFERENCES if row["conference"].startswith("CoP18"))
    assert {listing.limit_kg for listing in tables.cites.values()} == {None, 10.0}


def test_what_is_from_memory_is_not_called_verified(tables):
    for row in (*tables.cites.values(), *tables.notices.values()):
        assert row.verified is (row.confidence == "verified-in-text" and "MEM" not in row.source.split("; "))
    assert not tables.cites["Cedrela"].verified
    assert not tables.cites["Guaiacum"].verified
    assert tables.cites["Khaya"].verified
