"""A table of a shop file is read by the fields of its record: by type, unit and bounds."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from decimal import Decimal

import pytest

from chequerwork.domain.basics.bounds import within
from chequerwork.domain.basics.facts import Grain
from chequerwork.shop.readers import money
from chequerwork.shop.record import known, record_of, settings_of
from chequerwork.shop.settings_table import FaultList, SettingsTable


@dataclass(frozen=True, slots=True, kw_only=True)
class Bench:
    """A record for these tests."""

    key: str
    name: str
    depth_mm: float = field(metadata=within(10, 100))
    discount_pct: Decimal = field(metadata=within(0, 90))
    vices: int = field(default=1, metadata=within(0, 4))
    grain: Grain | None = None
    rate_h: Decimal = Decimal(7)


GIVEN = {"name": "Long bench", "depth": "4 cm", "discount": "5 %", "grain": "flat", "rate_per_hour": "9.50"}
RATE = {"rate_per_hour": money()}


def read(given: Mapping[str, object], **own: object) -> tuple[Bench, FaultList]:
    faults = FaultList("bench.toml")
    made = record_of(SettingsTable(given, (), faults), Bench, **{"key": known("a"), "rate_h": RATE, **own})
    faults.close()
    return made, faults


def test_settings_are_named_like_fields_without_their_units():
    made, faults = read(GIVEN)
    assert not faults.found
    assert made == Bench(
        key="a", name="Long bench", depth_mm=40.0, discount_pct=Decimal("5.0"), grain=Grain.FLAT, rate_h=Decimal("9.50")
    )


def test_what_has_a_default_may_be_left_out_and_nothing_else():
    _, faults = read({"name": "Bench"})
    assert [(fault.at, fault.code) for fault in faults.found] == [
        (("bench.toml", "depth"), "missing"),
        (("bench.toml", "discount"), "missing"),
    ]


def test_bounds_are_those_of_the_field():
    _, faults = read(GIVEN | {"depth": "101 mm", "vices": 5})
    assert [fault.detail for fault in faults.found] == [
        "'101 mm' is outside 10 mm to 100 mm.",
        "5 is outside 0 to 4.",
    ]


def test_a_field_that_is_no_setting_keeps_its_default():
    made, faults = read(GIVEN, rate_h=None)
    assert made.rate_h == 7
    assert [fault.code for fault in faults.found] == ["unknown-setting"]


def test_what_is_left_out_may_be_as_somewhere_else():
    table = SettingsTable({"name": "Bench", "depth": "4 cm"}, (), FaultList("bench.toml"))
    found = settings_of(table, Bench, {"vices": 3, "discount_pct": Decimal(1)}, key=known("a"))
    assert (found["vices"], found["discount_pct"]) == (3, Decimal(1))


def test_a_field_that_nobody_can_read_is_an_error_of_ours():
    @dataclass(frozen=True, slots=True, kw_only=True)
    class Unbounded:
        depth_mm: float = 3.0

    with pytest.raises(LookupError, match="depth_mm"):
        record_of(SettingsTable({}, (), FaultList("bench.toml")), Unbounded)
