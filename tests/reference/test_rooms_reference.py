"""Kinds of rooms against the moisture of wood that was published for such rooms.

Each row of ``tables/climates.csv`` names its source; a printed span is of whole percents, so half of one is allowed.
"""

import csv
from pathlib import Path

import pytest
from builders import demo_tables

from chequerwork.domain.timber import emc_pct


def cases() -> list:
    """Rows of the table as test cases named after what they check."""
    path = Path(__file__).parent / "tables" / "climates.csv"
    with path.open(encoding="utf-8", newline="") as file:
        return [pytest.param(row, id=f"{row['room']} {row['season']}") for row in csv.DictReader(file)]


@pytest.mark.parametrize("row", cases())
def test_wood_in_such_a_room_has_the_moisture_that_was_found_there(row):
    room = demo_tables().rooms[row["room"]]
    rh_pct = room.low_rh_pct if row["season"] == "low" else room.high_rh_pct
    found = emc_pct(temperature_c=room.temperature_c, rh_pct=rh_pct)
    tolerance = float(row["tol"])
    assert float(row["mc_low_pct"]) - tolerance <= found <= float(row["mc_high_pct"]) + tolerance
