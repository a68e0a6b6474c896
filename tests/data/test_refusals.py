"""A mistake in a fact file stops the start, is named with file, row and column, and hides no other mistake."""

import pytest

from chequerwork.data.tables import COLUMNS, load_tables

# file; a text that occurs once in it; what takes its place; where the fault is: key of a TOML record, or a text on that
# line of a CSV file, or None for the line of the change; column; code
MISTAKES = [
    # sources and confidence
    ("species.csv", "CIRAD; VEND; MEM,species sheet; data sheet; memory,verified",
     "CIRAB; VEND; MEM,species sheet; data sheet; memory,verified", None, "source",
     "unknown-source"),
    ("games.csv", "FIDE-SEC,square side", ",square side", None, "source", "missing-value"),
    ("games.csv", "FIDE-SEC,square side", "FIDE-SEC,", None, "locator", "missing-value"),
    ("games.csv", "layout; memory,from-memory", "layout; memory,certain", None, "confidence", "bad-value"),
    ("currencies.csv", "EUR,2,,ISO4217,minor unit,verified-in-text", "EUR,2,,ISO4217,minor unit,", None, "confidence",
     "missing-value"),
    ("notices.toml", 'source = "EU-98-6"', 'source = "EU-98-7"', "eu-price-display", "source", "unknown-source"),
    # keys
    ("species.csv", "\nbutternut,", "\nbasswood,", "Juglans cinerea", "key", "duplicate-key"),
    ("species.csv", "\nteak,", "\nTeak wood,", None, "key", "bad-value"),
    ("species.csv", "\nteak,", "\n,", None, "key", "missing-value"),
    ("finishes.csv", "\ngel_varnish,", "\nlacquer,", "sprayed", "key", "duplicate-key"),
    ("abrasives.csv", "\nP180,", "\nP150,", "P150,FEPA_P_ISO6344,82", "grade", "duplicate-key"),
    ("abrasives.csv", "\nP180,FEPA", "\n180,FEPA", None, "grade", "bad-value"),
    ("sheets.csv", "MDF,12,11.875,12.125", "MDF,18,11.875,12.125", "17.875,18.125", "thickness_mm", "duplicate-key"),
    ("countries.csv", "\nFR,France", "\nDE,France", None, "code", "duplicate-key"),
    ("countries.csv", "\nFR,France", "\nfr,France", None, "code", "bad-value"),
    ("currencies.csv", "\nEUR,", "\nEURO,", None, "code", "bad-value"),
    ("cites.toml", 'taxon = "Khaya"', 'taxon = "Afzelia"', "Afzelia", "taxon", "duplicate-key"),
    ("notices.toml", 'code = "eudr"', 'code = "uk-timber"', "uk-timber", "code", "duplicate-key"),
    ("sources.toml", 'id = "GDH"', 'id = "BWK"', "BWK", "id", "duplicate-key"),
    # numbers and their ranges
    ("species.csv", "Fagus sylvatica,690,", "Fagus sylvatica,0.69,", None, "density_kg_m3", "out-of-range"),
    ("species.csv", "Fagus sylvatica,690,", "Fagus sylvatica,nan,", None, "density_kg_m3", "bad-number"),
    ("species.csv", "Fagus sylvatica,690,", "Fagus sylvatica,inf,", None, "density_kg_m3", "bad-number"),
    ("species.csv", "Fagus sylvatica,690,", "Fagus sylvatica,6_90,", None, "density_kg_m3", "bad-number"),
    ("species.csv", "Fagus sylvatica,690,", 'Fagus sylvatica,"690,0",', None, "density_kg_m3", "bad-number"),
    ("species.csv", "Fagus sylvatica,690,", f"Fagus sylvatica,{'9' * 400},", None, "density_kg_m3", "out-of-range"),
    ("species.csv", "Fagus sylvatica,690,", "Fagus sylvatica,,", None, "density_kg_m3", "missing-value"),
    ("species.csv", "5.8,11.8,0.002,0.0041,6450", "5.8,11.8,0.002,0.41,6450", None, "c_tangential_per_pct",
     "out-of-range"),
    ("species.csv", "4493,11583,", "4493,1.68,", None, "modulus_along_mpa", "out-of-range"),
    ("finishes.csv", "film-forming,12.27,4,", "film-forming,12.27,four,", None, "coats", "bad-number"),
    ("finishes.csv", "film-forming,12.27,4,", "film-forming,12.27,40,", None, "coats", "out-of-range"),
    ("finishes.csv", "film-forming,12.27,4,", "film-forming,500,4,", None, "coverage_m2_l", "out-of-range"),
    ("adhesives.csv", "200,0.5,12,24,24,20", "200,0.5,-12,24,24,20", None, "clamp_h", "out-of-range"),
    ("pressures.csv", "dense,700,,1.2,1.7,", "dense,700,,1.2,17,", None, "high_mpa", "out-of-range"),
    ("sheets.csv", "3050,1525,685,0.0002,", "3050,1525,685,0.02,", None, "movement_per_pct", "out-of-range"),
    ("operations.csv", "rails,0.5,0.3,4,", "rails,0.5,0.3,0,", None, "units_reference", "out-of-range"),
    ("currencies.csv", "\nCLF,4,", "\nCLF,5,", None, "exponent", "out-of-range"),
    ("currencies.csv", "\nAFN,2,1,", "\nAFN,2,one,", None, "cash_step", "bad-number"),
    ("games.csv", "chess,Chess,8,8,", "chess,Chess,80,8,", None, "columns", "out-of-range"),
    ("species.csv", "0.00201,0.00427,shrinkage", "0.00201,0.427,shrinkage", None, "c_tangential_alt_per_pct",
     "out-of-range"),
    ("species.csv", "0.00201,0.00427,shrinkage", ",0.00427,shrinkage", None, "c_radial_alt_per_pct", "missing-value"),
    ("species.csv", "0.00201,0.00427,shrinkage", "0.00201,0.00427,hearsay", None, "c_alt_basis", "bad-value"),
    ("species.csv", "0.00201,0.00427,shrinkage,DIN68100", "0.00201,0.00427,shrinkage,DIN68101", None, "c_alt_source",
     "unknown-source"),
    # lower ends above upper ends, rows out of order
    ("species.csv", "5.8,11.8,0.002,0.0041,6450", "5.8,11.8,0.0041,0.002,6450", None,
     "c_radial_per_pct", "wrong-order"),
    ("species.csv", "5.8,11.8,0.002,0.0041,6450", "11.8,5.8,0.002,0.0041,6450", None,
     "shrink_radial_pct", "wrong-order"),
    ("adhesives.csv", "2,0.7,2.1,GLUE-MAG", "2,2.1,0.7,GLUE-MAG", None, "pressure_low_mpa", "wrong-order"),
    ("sheets.csv", "6.5,6.1,6.9,", "6.5,6.9,6.1,", None, "thickness_low_mm", "wrong-order"),
    ("thickness_classes.csv", "6/4,38.1,33.3375", "6/4,33.3375,38.1", None, "surfaced_mm", "wrong-order"),
    ("thickness_classes.csv", "5/4,31.75,", "5/4,39.75,", "6/4,38.1", "rough_mm", "wrong-order"),
    ("games.csv", "International draughts,10,10,40,45", "International draughts,10,10,45,40", None,
     "square_low_mm", "wrong-order"),
    ("operations.csv", "0.6,0.955,2.0", "1.6,0.955,2.0", None, "optimistic_h", "wrong-order"),
    ("operations.csv", "\ncrosscut,", "\nglue,", "mill,", "code", "wrong-order"),
    ("abrasives.csv", "\nP100,FEPA_P_ISO6344,162,", "\nP100,FEPA_P_ISO6344,262,", None, "particle_um", "wrong-order"),
    ("fit_bands.csv", "roomy,0.65,0.75", "roomy,0.7,0.75", None, "low", "wrong-order"),
    ("fit_bands.csv", "crowded,0.85,,", "crowded,0.85,1,", None, "high", "wrong-order"),
    ("finishes.csv", "matt,P120,P150,", "matt,P150,P120,", None, "stop_grade_low", "wrong-order"),
    ("pressures.csv", "medium,510,700,", "medium,500,700,", None, "density_low_kg_m3", "wrong-order"),
    ("pressures.csv", "dense,700,,", "dense,700,1200,", None, "density_high_kg_m3", "wrong-order"),
    ("pressures.csv", "700,1.03,1.38", "700,1.38,1.03", None, "low_mpa", "wrong-order"),
    # names that must be elsewhere
    ("aliases.csv", "Noyer noir,fr,black_walnut", "Noyer noir,fr,black_wallnut", None, "species", "unknown-name"),
    ("aliases.csv", "Noyer noir,fr,", "Noyer noir,french,", None, "language", "bad-value"),
    ("aliases.csv", "Noyer noir,fr,", "!,fr,", None, "name", "bad-value"),
    ("aliases.csv", "Noyer noir,fr,", "Bergahorn,fr,", "Bergahorn,de", "name", "duplicate-key"),
    ("aliases.csv", "Noyer noir,fr,", "European Beech,fr,", None, "name", "duplicate-key"),
    ("aliases.csv", "Noyer noir,fr,", "Noyer-commun,fr,", "Noyer commun,fr", "name", "duplicate-key"),
    ("aliases.csv", "Noyer noir,fr,", "NOYER D AMÉRIQUE,fr,", "Noyer d'Amérique,fr", "name", "duplicate-key"),
    ("aliases.csv", "Noyer noir,fr,black_walnut", "Faggió comune,fr,black_walnut", "Faggio comune,it",
     "name", "duplicate-key"),
    ("species.csv", "splinters go septic\",,no", "splinters go septic\",Milletia,no", None,
     "cites_taxon", "unknown-name"),
    ("finishes.csv", "matt,P120,P150,,2", "matt,P120,P155,,2", None, "stop_grade_high", "unknown-name"),
    ("finishes.csv", "P150,P220,P320,", "P150,P220,P330,", None, "between_coats", "unknown-name"),
    ("cites.toml", 'annotation = "#10"', 'annotation = "#12"', "Paubrasilia echinata", "annotation", "unknown-name"),
    ("cites.toml", 'annotation = "#10"', 'annotation = "ten"', "Paubrasilia echinata", "annotation", "bad-value"),
    ("formulas.toml", 'function = "timber.emc_pct"', 'function = "timber.emc"', "emc_pct", "key", "bad-value"),
    ("climates.csv", "museum_steady,", "heated_humidified,", "Heated home, humidifier", "key", "duplicate-key"),
    ("climates.csv", ",45,55,21,", ",55,45,21,", None, "low_rh_pct", "wrong-order"),
    ("climates.csv", ",45,55,21,", ",0.45,55,21,", None, "low_rh_pct", "out-of-range"),
    ("climates.csv", ",45,55,21,", ",45,55,70,", None, "temperature_c", "out-of-range"),
    # closed lists and forms
    ("formulas.toml", 'function = "timber.emc_pct"', 'function = "emc_pct"', "emc_pct", "function", "bad-value"),
    ("species.csv", ",yes,#a9783f", ",maybe,#a9783f", None, "oily", "bad-value"),
    ("species.csv", ",yes,#a9783f", ",yes,brown", None, "colour", "bad-value"),
    ("operations.csv", ",joints,", ",clamps,", None, "driver", "bad-value"),
    ("cites.toml", 'appendix = "I"\n', 'appendix = "IV"\n', "Dalbergia nigra", "appendix", "bad-value"),
    ("notices.toml", 'code = "gloss-finish"\nseverity = "caution"', 'code = "gloss-finish"\nseverity = "danger"',
     "gloss-finish", "severity", "bad-value"),
    ("notices.toml", 'audience = "workshop"\nform = "packaging"\nsubject = "Wood in the packaging"',
     'audience = "maker"\nform = "packaging"\nsubject = "Wood in the packaging"', "ispm-15", "audience", "bad-value"),
    ("notices.toml", 'form = "packaging"\nsubject = "Wood in the packaging"',
     'form = "crate"\nsubject = "Wood in the packaging"', "ispm-15", "form", "bad-value"),
    ("thresholds.toml", 'value = "2.9"\nunit = "kg"', 'value = "2.9"\nunit = "lb"', "lacey-entry-plant", "unit",
     "bad-value"),
    ("thresholds.toml", 'value = "2.9"', 'value = "0"', "lacey-entry-plant", "value", "out-of-range"),
    ("thresholds.toml", 'key = "small-parts-bore"', 'key = "small-parts-width"', "lacey-plant-share", "key",
     "unknown-name"),
    # days and limits
    ("notices.toml", 'applies_until = "2028-07-01"', 'applies_until = "1 July 2028"', "low-value-eu", "applies_until",
     "bad-value"),
    ("notices.toml", 'applies_until = "2028-07-01"', 'applies_until = "20280701"', "low-value-eu", "applies_until",
     "bad-value"),
    ("notices.toml", 'applies_until = "2028-07-01"', 'applies_until = "2026-06-30"', "low-value-eu", "applies_until",
     "wrong-order"),
    ("cites.toml", 'applies_from = "2007-09-13"', 'applies_from = "2007-09-31"', "Paubrasilia echinata", "applies_from",
     "bad-value"),
    ("cites.toml", 'all populations of all other species', '', "Dalbergia", "populations", "missing-value"),
    ("notices.toml", "hot or wet on it. This is a prompt, not advice.", "hot or wet on it.", "finish-curing", "text",
     "bad-value"),
    ("notices.toml", "Check with the carrier.\"", "Check before sending.\"", "transit-moisture", "text", "bad-value"),
]  # fmt: skip


@pytest.mark.parametrize(("name", "old", "new", "where", "column", "code"), MISTAKES)
def test_a_mistake_is_named_with_file_row_and_column(spoil, faults, name, old, new, where, column, code):
    spoil(name, old, new)
    found = faults()
    row = where if name.endswith(".toml") else spoil.line(name, where or new)
    assert ((name, row, column), code) in [(fault.at, fault.code) for fault in found]
    # Beside it stands only what follows from it: rows that name a key which is gone.
    assert {fault.code for fault in found if fault.at[0] != name} <= {"unknown-name", "unknown-source"}


def test_a_limit_of_listed_wood_is_given_with_its_day_and_only_where_it_counts(folder, faults):
    """Two listings have one. Without the word for it, both cells are too much; with the word they must be there."""
    path = folder / "cites.toml"
    shipped = path.read_text("utf-8")
    path.write_text(shipped.replace('finished_board = "above-limit"', 'finished_board = "no"'), "utf-8")
    columns = ("limit_kg", "limit_from")
    listings = {("cites.toml", taxon, column) for taxon in ("Dalbergia", "Guibourtia") for column in columns}
    assert {(fault.at, fault.code) for fault in faults()} == {(at, "bad-value") for at in listings}
    path.write_text(shipped.replace('limit_kg = "10"', 'limit_kg = ""').replace("2019-11-26", ""), "utf-8")
    assert {(fault.at, fault.code) for fault in faults()} == {(at, "missing-value") for at in listings}


def test_all_mistakes_of_all_files_are_named_at_once(spoil, faults):
    spoil("species.csv", "Fagus sylvatica,690,", "Fagus sylvatica,0.69,")
    spoil("species.csv", ",yes,#a9783f", ",yes,brown")
    spoil("aliases.csv", "Noyer noir,fr,black_walnut", "Noyer noir,fr,black_wallnut")
    spoil("notices.toml", 'source = "EU-98-6"', 'source = "EU-98-7"')
    spoil("countries.csv", "\nFR,France,yes", "\nFR,France,oui")
    assert {fault.at for fault in faults()} == {
        ("species.csv", spoil.line("species.csv", "Fagus sylvatica"), "density_kg_m3"),
        ("species.csv", spoil.line("species.csv", "yes,brown"), "colour"),
        ("aliases.csv", spoil.line("aliases.csv", "black_wallnut"), "species"),
        ("notices.toml", "eu-price-display", "source"),
        ("countries.csv", spoil.line("countries.csv", "oui"), "eu_member"),
    }


def test_a_message_names_what_was_given_the_limit_and_the_remedy(spoil, faults):
    spoil("species.csv", "Fagus sylvatica,690,", "Fagus sylvatica,0.69,")
    (fault,) = faults()
    assert fault.detail == "density_kg_m3 is 0.69; it must be 150 to 1400. Check figure and unit."


def test_an_unknown_source_gets_near_matches(spoil, faults):
    spoil("notices.toml", 'source = "EU-98-6"', 'source = "EU-98-7"')
    (fault,) = faults()
    assert "'EU-98-7'" in fault.detail
    assert "EU-98-6" in fault.detail


def test_radial_above_tangential_passes_where_the_note_says_the_source_prints_it(folder, spoil):
    spoil("species.csv", "5.8,11.8,0.002,0.0041,6450", "5.8,11.8,0.0041,0.002,6450")
    spoil("species.csv", "BWK prints 0.20 and 0.42", "Printed with radial above tangential. BWK prints 0.20 and 0.42")
    assert load_tables(folder).species["european_beech"].c_radial == 0.0041


@pytest.mark.parametrize("name", COLUMNS)
def test_a_missing_file_is_named(folder, faults, name):
    (folder / name).unlink()
    assert ((name,), "missing-file") in [(fault.at, fault.code) for fault in faults()]


@pytest.mark.parametrize("name", COLUMNS)
def test_a_file_without_rows_is_refused(folder, faults, name):
    header = ",".join(COLUMNS[name]) if name.endswith(".csv") else f"{name.removesuffix('.toml')} = []"
    (folder / name).write_text(header + "\n", encoding="utf-8")
    assert ((name,), "empty-file") in [(fault.at, fault.code) for fault in faults()]


@pytest.mark.parametrize(
    ("name", "content"),
    [
        ("games.csv", b"key,title\n\xff\xfe\n"),
        ("games.csv", b'key,title\n"chess,Chess\n'),
        ("cites.toml", b"[[cites]\n"),
        ("cites.toml", b'[[cites]]\ntaxon = "Khaya"\ntaxon = "Khaya"\n'),
        ("cites.toml", b'[[listings]]\ntaxon = "Khaya"\n'),
        ("cites.toml", b'cites = "none"\n'),
    ],
)
def test_a_file_that_cannot_be_read_is_refused_as_a_whole(folder, faults, name, content):
    if name == "games.csv":
        content = content.replace(b"key,title", ",".join(COLUMNS[name]).encode())
    (folder / name).write_bytes(content)
    assert ((name,), "broken-file") in [(fault.at, fault.code) for fault in faults()]


def test_columns_must_be_exactly_the_known_ones(folder, faults):
    text = (folder / "games.csv").read_text(encoding="utf-8")
    (folder / "games.csv").write_text(text.replace("square_low_mm", "square_low_in", 1), encoding="utf-8")
    assert [(fault.at, fault.code) for fault in faults()] == [
        (("games.csv", 1), "missing-column"),
        (("games.csv", 1), "unknown-column"),
    ]


def test_a_column_named_twice_is_refused(folder, faults):
    text = (folder / "games.csv").read_text(encoding="utf-8").splitlines()
    (folder / "games.csv").write_text(
        "\n".join(f"{line},1" for line in text).replace(",1", ",key", 1), encoding="utf-8"
    )
    assert [(fault.at, fault.code) for fault in faults()] == [(("games.csv", 1), "unknown-column")]


def test_a_row_with_a_cell_too_many_is_refused(spoil, faults):
    spoil("fit_bands.csv", "roomy,0.65,0.75", "roomy,0,65,0.75")
    assert (("fit_bands.csv", 3), "bad-row") in [(fault.at, fault.code) for fault in faults()]


def test_a_key_missing_from_a_record_is_refused(spoil, faults):
    spoil("cites.toml", 'appendix = "I"\n', "")
    assert (("cites.toml", 1), "missing-column") in [(fault.at, fault.code) for fault in faults()]


def test_a_record_holds_texts_only(spoil, faults):
    spoil("sources.toml", 'id = "GDH"\n', "id = 7\n")
    assert "bad-row" in [fault.code for fault in faults()]
