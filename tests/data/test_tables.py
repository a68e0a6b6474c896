"""What the shipped fact tables hold: complete, sourced, frozen, found by every name."""

import csv
import dataclasses
import hashlib
import math
import re
import shutil
import tomllib
from importlib.resources import files
from pathlib import Path

import pytest
from reference.checks import all_checks

from chequerwork.data.tables import BUILD, COLUMNS, EDITION, load_tables
from chequerwork.domain.basics.facts import Grain
from chequerwork.domain.basics.names import LANGUAGES, fold, is_shared
from chequerwork.domain.law.listings import notice_code
from chequerwork.domain.wood.timber import coefficient_from_shrinkage

DATA = Path(str(files("chequerwork.data")))
SERVICE = DATA.parent


def rows(name: str) -> list[dict[str, str]]:
    """Rows as they stand in a file, read without our loader."""
    if name.endswith(".toml"):
        return tomllib.loads((DATA / name).read_text(encoding="utf-8"))[name.removesuffix(".toml")]
    with (DATA / name).open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))


FACTS = [(name, row) for name in COLUMNS if name != "sources.toml" for row in rows(name)]
SOURCES = {row["id"] for row in rows("sources.toml")}


def test_every_table_is_complete(tables):
    sizes = {
        field.name: len(getattr(tables, field.name)) for field in dataclasses.fields(tables) if field.name != "version"
    }
    assert sizes == {
        "sources": len(rows("sources.toml")),  # none without use: see below
        "species": 39,
        "names": 581,  # spellings, of 696 aliases, 39 keys and 39 names
        "called": 39,
        "abrasives": 28,
        "abrasives_cami": 22,
        "finishes": 14,
        "adhesives": 9,
        "pressures": 3,
        "sheets": 16,
        "rooms": 9,
        "thickness_classes": 10,
        "games": 4,
        "fit_bands": 5,
        "operations": 15,
        "steps": 23,
        "cites": 20,
        "notices": 36,
        "thresholds": 6,
        "flutes": 4,
        "packing": 34,
        "currencies": 157,
        "countries": 249,
        "eu_members": 27,
        "formulas": len(rows("formulas.toml")),  # as many as the domain has: see tests/house
    }


def test_every_row_names_source_locator_and_confidence():
    bare = [
        (name, row)
        for name, row in FACTS
        if not row["source"].strip() or not row["locator"].strip() or not row["confidence"].strip()
    ]
    assert bare == []
    assert {part for _, row in FACTS for part in row["source"].split("; ")} <= SOURCES


def test_what_was_read_cites_a_publication():
    unread = {"MEM", "house"}
    assert [
        (name, row)
        for name, row in FACTS
        if row["confidence"] == "verified-in-text" and set(row["source"].split("; ")) <= unread
    ] == []


def test_what_is_from_memory_says_so_in_its_source():
    assert [
        (name, row)
        for name, row in FACTS
        if row["confidence"] == "from-memory" and "MEM" not in row["source"].split("; ")
    ] == []


def test_no_source_is_listed_without_use():
    """By a fact, by a note, by the domain, or by a published figure that the service is checked against."""
    used = {part for _, row in FACTS for part in row["source"].split("; ")}
    used |= {part for check in all_checks() for part in check.source.split("; ")}
    notes = " ".join(row["note"] for row in rows("sources.toml"))
    code = " ".join(path.read_text(encoding="utf-8") for path in sorted((SERVICE / "domain").rglob("*.py")))
    words = set(re.findall(r"[A-Za-z0-9]+(?:-[A-Za-z0-9]+)*", f"{notes} {code}"))
    assert SOURCES - used - words == set()


def test_every_source_a_finding_names_is_listed():
    named = set()
    for path in sorted((SERVICE / "domain").rglob("*.py")):
        for text in re.findall(r'\bsource="([^"]+)"', path.read_text(encoding="utf-8")):
            named.update(text.split("; "))
    assert len(named) > 5
    assert named <= SOURCES


def test_every_source_in_a_reference_of_the_domain_is_listed():
    named = set()
    for path in sorted((SERVICE / "domain").rglob("*.py")):
        for block in re.findall(r"References\n +-+\n(.*?)\"\"\"", path.read_text(encoding="utf-8"), flags=re.DOTALL):
            named.update(re.findall(r"\b[A-Z][A-Z0-9]*[A-Z][A-Z0-9]*(?:-[A-Za-z0-9]+)+", block))
    assert len(named) > 10
    assert named <= SOURCES


def test_tables_cannot_be_changed(tables):
    with pytest.raises(TypeError):
        tables.species["hard_maple"] = None
    with pytest.raises(dataclasses.FrozenInstanceError):
        tables.species["hard_maple"].density_kg_m3 = 1.0
    with pytest.raises(dataclasses.FrozenInstanceError):
        tables.version = "x"


def test_version_is_edition_and_fingerprint(tables):
    assert re.fullmatch(r"20[0-9]{2}\.(0[1-9]|1[0-2])-[0-9a-f]{8}", tables.version)
    assert tables.version.startswith(EDITION)
    digest = hashlib.sha256()
    for name in COLUMNS:
        content = (DATA / name).read_bytes()
        digest.update(name.encode() + b"\n" + str(len(content)).encode() + b"\n" + content)
    assert tables.version.removeprefix(f"{EDITION}-") == digest.hexdigest()[:8]


@pytest.mark.parametrize("name", COLUMNS)
def test_version_moves_with_any_byte_of_any_file(tables, folder, name):
    assert load_tables(folder).version == tables.version
    with (folder / name).open("ab") as file:
        file.write(b"\n")
    assert load_tables(folder).version != tables.version


def test_no_file_of_facts_is_forgotten():
    assert {path.name for path in DATA.iterdir() if path.suffix in {".csv", ".toml"}} == set(COLUMNS)


def names_of(record):
    return [field.name for field in dataclasses.fields(record)]


def test_files_load_from_any_folder(tables, folder):
    copy = folder / "deeper"
    copy.mkdir()
    for name in COLUMNS:
        shutil.move(folder / name, copy / name)
    again = load_tables(copy)
    assert {name: getattr(again, name) for name in names_of(again)} == {
        name: getattr(tables, name) for name in names_of(tables)
    }


def test_every_timber_has_a_name_of_its_own_in_every_language(tables):
    """Where the trade has no own word, the name it uses is written down for that language all the same.

    Dutch and Polish names stand only where we are sure of them: two timbers have no Dutch one.
    """
    told = {
        (key, name.language) for key, names in tables.called.items() for name in names if not is_shared(name, tables)
    }
    missing = {(key, language) for key in tables.species for language in LANGUAGES} - told
    assert missing == {("butternut", "nl"), ("eastern_redcedar", "nl")}


def test_a_key_means_its_own_timber_and_no_other(tables):
    for key in tables.species:
        assert {name.species for name in tables.names[fold(key)]} == {key}


def test_every_botanical_name_means_one_timber(tables):
    for names in tables.names.values():
        if any(name.language == "botanical" for name in names):
            assert len({name.species for name in names}) == 1, names[0].text
    for key, species in tables.species.items():
        genus = species.botanical.split()[0]
        assert any(name.text.startswith(genus) for name in tables.called[key] if name.language == "botanical"), key


def test_a_second_pair_of_coefficients_differs_and_says_where_it_is_from(tables):
    """Wood notes 1: published coefficients first, else C = S / (3000 - 20 S); what differs is kept beside."""
    second = {key: row.second for key, row in tables.species.items() if row.second is not None}
    assert len(second) == 18
    for key, each in second.items():
        row = tables.species[key]
        assert (each.c_radial, each.c_tangential) != (row.c_radial, row.c_tangential)
        assert set(each.source.split("; ")) <= SOURCES
        if each.basis == "shrinkage":
            # printed to five decimals; shrinkages to a tenth of a percent
            assert each.c_radial == pytest.approx(coefficient_from_shrinkage(row.shrink_radial_pct), abs=6e-6), key
            implied = coefficient_from_shrinkage(row.shrink_tangential_pct)
            assert each.c_tangential == pytest.approx(implied, abs=6e-6), key


def test_confidence_of_a_timber_follows_from_that_of_its_figures(tables):
    """Wood notes, preface: verified only where density and coefficients are verified or derived from such."""
    for key, row in tables.species.items():
        read = "from-memory" not in (row.confidences.density, row.confidences.coefficients)
        assert (row.confidence == "verified-in-text") is read, key


def test_listed_timbers_are_marked(tables):
    """Section 9 of the wood notes: listings of CITES up to CoP19."""
    assert {key: row.cites_taxon for key, row in tables.species.items() if row.cites_taxon} == {
        "african_padauk": "Pterocarpus",
        "african_mahogany": "Khaya",
        "honduran_mahogany": "Swietenia macrophylla",
        "bubinga": "Guibourtia",
        "indian_rosewood": "Dalbergia",
        "cocobolo": "Dalbergia",
    }
    assert {row.cites_taxon for row in tables.species.values() if row.cites_taxon} <= set(tables.cites)


def test_oily_timbers_are_those_named_in_print(tables):
    """Cocobolo: FPL-TS. Teak and rosewoods: GLUE-GUIDE. Iroko has minerals, not oil, so it is not here."""
    assert {key for key, row in tables.species.items() if row.oily} == {"teak", "indian_rosewood", "cocobolo"}


def test_every_listing_is_explained_by_a_notice(tables):
    assert {notice_code(listing) for listing in tables.cites.values()} == {
        code for code in tables.notices if re.match(r"cites-i+(-|$)", code)
    }


def test_every_notice_is_a_prompt_that_ends_with_whom_to_ask(tables):
    for notice in tables.notices.values():
        last = notice.text.split("This is a prompt, not advice.")[-1]
        assert re.fullmatch(
            rf" (Rules change\. )?Check with {re.escape(notice.authority)}( before shipping)?\.", last
        ), notice.code


def test_the_unresolved_british_dust_limit_stays_labelled(tables):
    text = tables.notices["wood-dust"].text
    assert "unresolved" in text.split("Great Britain")[1]


def test_sheets_are_found_by_nominal_thickness(tables):
    assert tables.sheet("mdf", 12.2).thickness_mm == 12
    assert tables.sheet("mdf", 11.4) is None
    assert tables.sheet("oak_plywood", 12) is None
    assert tables.sheet("birch_plywood", 6.0).thickness_mm == 6
    assert tables.sheet("birch_plywood", 6.4).thickness_mm == 6.5


def test_of_two_sizes_the_usual_sheet_is_found(tables):
    found = tables.sheet("birch_plywood", 18)
    assert (found.length_mm, found.width_mm) == (2440, 1220)


def test_rooms_are_told_by_what_is_done_in_them_and_never_by_a_country(tables):
    countries = {name.lower() for name in tables.countries.values()}
    for room in tables.rooms.values():
        assert not any(name in f"{room.key} {room.title}".lower() for name in countries), room.key
        assert room.low_rh_pct < room.high_rh_pct


def test_games_are_exactly_the_four(tables):
    assert {key: (game.columns, game.rows) for key, game in tables.games.items()} == {
        "chess": (8, 8),
        "draughts-8": (8, 8),
        "draughts-10": (10, 10),
        "draughts-12": (12, 12),
    }


@pytest.mark.parametrize("ratio", [0.0, 0.3, 0.65, 0.7499, 0.75, 0.8, 0.85, 0.99, 1.0, 3.0, 1e6])
def test_every_fill_ratio_has_one_verdict(tables, ratio):
    assert len([band for band in tables.fit_bands if band.low <= ratio < band.high]) == 1


def test_fit_bands_run_from_loose_to_crowded(tables):
    assert [(band.verdict, band.low) for band in tables.fit_bands] == [
        ("lonely", 0.0),
        ("roomy", 0.65),
        ("standard", 0.75),
        ("tight", 0.80),
        ("crowded", 0.85),
    ]
    assert tables.fit_bands[-1].high == math.inf


def test_operations_come_in_the_order_of_the_build(tables):
    assert tuple(tables.operations) == BUILD
    assert len(BUILD) == 15


def test_grades_run_from_coarse_to_fine(tables):
    for grades in (tables.abrasives, tables.abrasives_cami):
        sizes = [grade.particle_um for grade in grades.values()]
        assert sizes == sorted(sizes, reverse=True)
    assert all(name.startswith("P") for name in tables.abrasives)
    assert all(name.isdigit() for name in tables.abrasives_cami)


def test_classes_run_from_thin_to_thick(tables):
    rough = [each.rough_mm for each in tables.thickness_classes]
    assert rough == sorted(rough)


def test_only_water_and_spirit_leave_harmless_rags(tables):
    assert {key for key, finish in tables.finishes.items() if not finish.self_heating_rags} == {
        "shellac_2lb",
        "shellac_1lb",
        "waterborne_polyurethane",
        "lacquer",
    }


def test_only_brushed_shellac_is_gloss_as_applied(tables):
    assert {key for key, finish in tables.finishes.items() if finish.gloss} == {"shellac_2lb"}


def test_coats_a_day_follow_the_wait(tables):
    """House rule: two where the next coat may follow within 6 h, else one; never more than two."""
    for finish in tables.finishes.values():
        assert finish.coats_per_day == (2 if finish.recoat_h <= 6 else 1), finish.key


def test_no_adhesive_is_unfit_for_edge_joints(tables):
    assert "contact_cement" not in tables.adhesives
    assert all(adhesive.pressure_high_mpa > 0 for adhesive in tables.adhesives.values())


def test_mixed_grain_takes_the_mean(tables):
    maple = tables.species["hard_maple"]
    assert maple.coefficient(Grain.MIXED) == pytest.approx((0.00165 + 0.00353) / 2)
    assert maple.shrinkage_pct(Grain.QUARTER) == 4.8


def test_members_of_the_union_are_countries(tables):
    assert tables.eu_members <= set(tables.countries)
    assert {"DE", "IE", "HR", "SI"} <= tables.eu_members
    assert tables.eu_members.isdisjoint({"GB", "CH", "NO", "IS", "LI", "TR", "UA"})


def test_no_text_of_a_notice_holds_what_a_cell_would_guard(tables):
    """A sign of a formula behind a comma: a spreadsheet's reader would find a mark before it (EN 71-1, -2 and -3)."""
    for notice in tables.notices.values():
        assert not re.search(r"[,;\t]\s*[=+\-@]", notice.text), notice.code
