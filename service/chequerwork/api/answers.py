"""Schemas of the answers, for the contract. Views write the trees themselves; tests hold them to these schemas.

Answers may gain fields within a version, so every object allows more than it names.
"""

from collections.abc import Mapping
from typing import Any, Final

from marshmallow import INCLUDE, Schema, fields

from chequerwork.domain.plan import SECTIONS

Fields = Mapping[str, fields.Field[Any]]


def _kind(kind: str | list[str], about: str, **more: Any) -> fields.Field[Any]:
    contract: dict[str, Any] = {"type": kind, **more}
    if about:
        contract["description"] = about
    return fields.Raw(required=True, metadata={"contract": contract})


def num(about: str = "") -> fields.Field[Any]:
    """A number; its unit is in its name."""
    return _kind("number", about)


def maybe_num(about: str = "") -> fields.Field[Any]:
    """A number, or null where there is none."""
    return _kind(["number", "null"], about)


def whole(about: str = "") -> fields.Field[Any]:
    """A whole number."""
    return _kind("integer", about)


def text(about: str = "") -> fields.Field[Any]:
    """A text."""
    return _kind("string", about)


def maybe_text(about: str = "") -> fields.Field[Any]:
    """A text, or null where there is none."""
    return _kind(["string", "null"], about)


def money(about: str = "") -> fields.Field[Any]:
    """An amount in the shop's currency, as text with a point."""
    return _kind("string", about, pattern=r"^-?\d+(\.\d{1,4})?$")


def day(about: str = "") -> fields.Field[Any]:
    """A date."""
    return _kind("string", about, format="date")


def one(name: str, about: str = "") -> fields.Field[Any]:
    """An object of a named schema."""
    return _ref({"$ref": _pointer(name)}, about)


def maybe_one(name: str, about: str = "") -> fields.Field[Any]:
    """An object of a named schema, or null."""
    return _ref({"anyOf": [{"$ref": _pointer(name)}, {"type": "null"}]}, about)


def lacking(name: str, about: str = "") -> fields.Field[Any]:
    """An object that only some callers get."""
    return _ref({"$ref": _pointer(name)}, about, required=False)


def many(name: str, about: str = "", *, required: bool = True) -> fields.Field[Any]:
    """A list of objects of a named schema."""
    return _ref({"type": "array", "items": {"$ref": _pointer(name)}}, about, required=required)


def _ref(contract: dict[str, Any], about: str, *, required: bool = True) -> fields.Field[Any]:
    if about:
        contract["description"] = about
    return fields.Raw(required=required, metadata={"contract": contract})


def _pointer(name: str) -> str:
    return f"#/components/schemas/{name}"


class Open(Schema):
    """An answer object: it may gain fields."""

    class Meta:
        """Allow more than is named."""

        unknown = INCLUDE


def _schema(name: str, shape: Fields) -> Schema:
    cls = Open.from_dict(dict(shape), name=name)
    return cls(unknown=INCLUDE)


_RECT: Final = {"length_mm": num("Along the grain."), "length_text": text(), "width_mm": num(), "width_text": text()}

_SHAPES: Final[Mapping[str, Fields]] = {
    "Finding": {
        "code": text(),
        "severity": _kind("string", "", enum=["info", "caution", "warning"]),
        "at": text("JSON pointer into the plan."),
        "text": text(),
        "source": maybe_text("Id of the source list."),
    },
    "Rect": _RECT,
    "Field": {**_RECT, "diagonal_mm": num()},
    "Overall": {
        **_RECT,
        "height_mm": num("Table to playing surface, feet included."),
        "height_text": text(),
        "diagonal_mm": num(),
    },
    "Rail": {
        "side": _kind("string", "Side of the field it runs along.", enum=["length", "width"]),
        "count": whole(),
        "long_point_mm": num(),
        "long_point_text": text(),
        "short_point_mm": num(),
        "short_point_text": text(),
        "width_mm": num(),
        "width_text": text(),
        "thickness_mm": num(),
        "thickness_text": text(),
        "species": text(),
    },
    "Rails": {
        "opening": one("Rect"),
        "clearance_mm": num("Gap at each side of a floating field; 0 where it is glued."),
        "clearance_text": text(),
        "tongue_mm": num("Tongue in the groove at each side; 0 where it is glued."),
        "tongue_text": text(),
        "rails": many("Rail"),
    },
    "BaseSizes": {"panel": one("Rect", "The sheet as cut."), "outside": one("Rect", "With its skirt.")},
    "Fit": {
        "fill_ratio": maybe_num("Base diameter over square; null without pieces."),
        "verdict": maybe_text("lonely, roomy, standard, tight or crowded; null without pieces."),
        "square_low_mm": maybe_num("Smallest square on which these pieces stand standard."),
        "square_low_text": maybe_text(),
        "square_high_mm": maybe_num("Largest such square."),
        "square_high_text": maybe_text(),
    },
    "Accuracy": {
        "strip_tolerance_mm": num("Strip width, plus or minus, that the shop holds."),
        "mismatch_worst_mm": num("Largest possible step where four squares meet."),
        "mismatch_sigma_mm": num("Its standard deviation."),
        "strip_needed_mm": num("Strip tolerance at which one corner in twenty misses by 0.15 mm."),
        "blade_error_deg": num(),
        "bevel_gap_mm": num("Gap below between two bars that meet on top."),
        "shear_mm": num("How far the field leans if every crosscut is off by the blade's error."),
        "size_worst_mm": num("Largest error of the field's width."),
    },
    "Geometry": {
        "square_mm": num("Finished square."),
        "square_text": text(),
        "columns": whole("Across the grain."),
        "rows": whole("Along the grain."),
        "light_squares": whole(),
        "dark_squares": whole(),
        "thickness_mm": num(),
        "thickness_text": text(),
        "mass_kg": num("One board."),
        "mass_text": text(),
        "mass_half_range_kg": num("Plus or minus."),
        "mass_half_range_text": text(),
        "field": one("Field", "The chequered area."),
        "overall": one("Overall"),
        "frame": maybe_one("Rails"),
        "base": maybe_one("BaseSizes"),
        "fit": one("Fit"),
        "accuracy": one("Accuracy"),
    },
    "Strip": {
        "species": text(),
        "count": whole(),
        "width_mm": num(),
        "width_text": text(),
        "length_mm": num(),
        "length_text": text(),
    },
    "Panel": {**_RECT, "thickness_mm": num()},
    "Crosscuts": {
        "count": whole("Bars that become the field."),
        "cuts": whole("Cuts, spare bars included."),
        "spare_bars": whole(),
        "width_mm": num("As cut, dressing included."),
        "width_text": text(),
        "end_width_mm": num("The first and last bar: wider where they carry a floating field's tongue."),
        "end_width_text": text(),
        "kerf_mm": num(),
        "kerf_text": text(),
        "length_needed_mm": num("Every square, kerf, spare, dressing, squaring and end trim."),
        "length_needed_text": text(),
        "length_allowed_mm": num("What the strips are cut to."),
        "length_allowed_text": text(),
        "spare_mm": num("Allowed less needed."),
    },
    "Block": {"length_mm": num(), "width_mm": num(), "thickness_mm": num(), "text": text()},
    "Part": {
        "id": text(),
        "role": text("strip, line, rail, base, skirt or backing."),
        "species": text("Timber, or sheet material of the base."),
        "count": whole("For one board."),
        "rough": one("Block"),
        "final": one("Block", "As it goes into its glue-up or frame."),
    },
    "Cutting": {
        "pattern": text(),
        "strips": many("Strip"),
        "panel": one("Panel", "The first glue-up."),
        "crosscuts": one("Crosscuts"),
        "overhang_mm": num("Trimmed off each side of a shifted field."),
        "parts": many("Part"),
    },
    "Timber": {
        "species": text(),
        "net_m3": num("In the finished parts."),
        "gross_m3": num("To be bought."),
        "board_feet": num("By the trade's rounding."),
        "mass_kg": num("Of the net volume."),
        "mass_text": text(),
        "cost": money(),
    },
    "MaterialLine": {
        "item": text(),
        "role": text(),
        "quantity": num(),
        "unit": text(),
        "quantity_text": text(),
        "note": text(),
        "cost": money(),
    },
    "Materials": {
        "quantity": whole("Boards; all amounts are for this many."),
        "timber": many("Timber"),
        "lines": many("MaterialLine"),
    },
    "FieldMovement": {
        "shrink_mm": num("From the day it is built to the driest season."),
        "swell_mm": num("To the dampest."),
        "band_mm": num("Plus or minus, for the spread of published coefficients."),
    },
    "Reason": {"code": text(), "verdict": text(), "text": text()},
    "Movement": {
        "emc_build_pct": num("Moisture content in the workshop."),
        "emc_low_pct": num("In the customer's driest season."),
        "emc_high_pct": num("In the dampest."),
        "field": one("FieldMovement"),
        "mitre_gap_mm": num(),
        "mitre_side": maybe_text("inside or outside; null without mitres."),
        "bow_mm": num("Across the field, glued to its base: an upper bound."),
        "groove_clearance_mm": num("Per side."),
        "verdict": text("sound, watch or expect damage."),
        "reasons": many("Reason"),
    },
    "Grade": {"grade": text(), "particle_um": num(), "ratio": maybe_num("Size of the grade before over this one.")},
    "Ladders": {"top": many("Grade"), "underside": many("Grade")},
    "Coat": {
        "number": whole(),
        "finish_ml": num(),
        "sand_before": maybe_text(),
        "wait_h": num("To the next coat, or to handling."),
    },
    "Finishing": {
        "finish": text(),
        "sanding": one("Ladders"),
        "area_m2": num("All faces of one board."),
        "sanded_m2": num("Area times grades."),
        "coats": many("Coat"),
        "finish_ml": num("One board, waste included."),
        "finish_text": text(),
        "coats_per_day": whole(),
        "handle_h": num(),
        "cure_days": num(),
    },
    "Hours": {"expected": num(), "p80": num("Exceeded in one order of five."), "p95": num(), "sd": num()},
    "Step": {
        "code": text(),
        "title": text(),
        "after": _kind("array", "Codes of the steps before.", items={"type": "string"}),
        "starts_at": _kind("string", "Local time with its offset, to the minute."),
        "ends_at": _kind("string", "Local time with its offset, to the minute."),
        "hands_on_min": whole(),
        "waiting_min": whole("After the hands leave it."),
    },
    "Schedule": {
        "starts_on": day(),
        "ready_on": day(),
        "ships_on": day(),
        "cured_on": day("The finish is fully cured."),
        "wanted_by": _kind(["string", "null"], "", format="date"),
        "margin_days": _kind(["integer", "null"], "Days between leaving and the wanted day; negative is too late."),
        "time_zone": _ref({"type": "string"}, "Workshop view.", required=False),
        "hands_on_h": lacking("Hours", "Workshop view: the whole order."),
        "steps": many("Step", "Workshop view.", required=False),
    },
    "Carton": {**_RECT, "height_mm": num(), "height_text": text()},
    "Packing": {
        "parcels": whole(),
        "carton": one("Carton", "Of one board, outside."),
        "mass_kg": num("Of one parcel."),
        "mass_text": text(),
        "dimensional_kg": num(),
        "billable_kg": num(),
        "billable_text": text(),
        "length_plus_girth_mm": num(),
        "length_plus_girth_text": text(),
        "flat": _kind("boolean", "Flat by the test houses' shape."),
    },
    "Notice": {
        "code": text(),
        "severity": _kind("string", "", enum=["info", "caution", "warning"]),
        "subject": text(),
        "text": text(),
        "authority": text("Who to ask."),
        "as_of": day(),
        "confidence": text(),
        "source": text(),
    },
    "Compliance": {"notices": many("Notice")},
    "Cost": {"code": text(), "title": text(), "amount": money()},
    "Fees": {"channel": text(), "rate_pct": num(), "base": text(), "fixed": money(), "amount": money()},
    "Risk": {"p50": money("Cost if hours are as expected."), "p80": money(), "p95": money()},
    "CostBuildUp": {
        "costs": many("Cost"),
        "cost_total": money("Sum of the lines."),
        "floor_total": money("Least net price of the goods at which nothing is lost."),
        "margin_pct": num("Of the goods' net price, after fees and costs."),
        "margin_total": money(),
        "fees": one("Fees"),
        "risk": one("Risk"),
    },
    "Price": {
        "currency": text("ISO 4217."),
        "quantity": whole(),
        "unit_net": money("One board without tax."),
        "unit_gross": money("One board with tax."),
        "shipping": money("Without tax."),
        "shipping_gross": money("With tax."),
        "tax_name": text(),
        "tax_pct": num(),
        "tax_regime": text("included or added."),
        "tax": money("All tax."),
        "total": money("What the customer pays: quantity x unit_net + shipping + tax."),
        "workshop": lacking("CostBuildUp", "Workshop view."),
    },
    "Identity": {
        "id": text(),
        "shop_name": text(),
        "issued_on": day(),
        "valid_until": day(),
        "shop": text(),
        "tables_version": text("Version of the fact tables behind every number."),
        "token": maybe_text("Compact JWS of this identity with total and currency; null where no key is set."),
    },
    "CompleteOrder": {
        "shop": text(),
        "columns": whole(),
        "rows": whole(),
        "game": maybe_text(),
        "square_mm": num(),
        "square_text": text(),
        "pieces": _kind(["object", "null"], ""),
        "light": text(),
        "dark": text(),
        "thickness_mm": num(),
        "thickness_text": text(),
        "pattern": text(),
        "lines": _kind("array", "", items={"type": "object"}),
        "frame": _kind(["object", "null"], ""),
        "base": _kind(["object", "null"], ""),
        "feet": whole(),
        "finish": text(),
        "sanding": _kind("object", ""),
        "climate": _kind("object", ""),
        "quantity": whole(),
        "issued_on": day(),
        "starts_on": day(),
        "wanted_by": _kind(["string", "null"], "", format="date"),
        "ship_to": text(),
        "channel": text(),
        "units": text(),
    },
    "Quote": {
        "quote": one("Identity"),
        "order": one("CompleteOrder", "The order with every gap filled, in canonical units."),
        "geometry": one("Geometry"),
        "cutting": lacking("Cutting", "Workshop view."),
        "materials": lacking("Materials", "Workshop view."),
        "movement": one("Movement"),
        "finishing": lacking("Finishing", "Workshop view."),
        "schedule": one("Schedule"),
        "packing": one("Packing"),
        "compliance": one("Compliance"),
        "price": one("Price"),
        "advice": many("Finding"),
    },
    "Fault": {
        "pointer": _ref({"type": "string"}, "JSON pointer into the body.", required=False),
        "parameter": _ref({"type": "string"}, "Name of the query parameter.", required=False),
        "code": text("Stable; new ones may come."),
        "detail": text("What is wrong, what was given, the limit, what to change."),
    },
    "Problem": {
        "type": text("Stable path of the kind of problem."),
        "title": text(),
        "status": whole(),
        "detail": text(),
        "instance": text(),
        "errors": many("Fault", "Every fault of the request.", required=False),
        "request_id": _ref({"type": "string"}, "With 500: name it when you report the failure.", required=False),
    },
    "Health": {"status": _kind("string", "", enum=["pass", "fail"])},
    "TimberChoice": {
        "key": text(),
        "name": text(),
        "botanical": text(),
        "colour": text("Preview tone, #rrggbb."),
        "hardness_n": num("Side hardness."),
        "listed": _kind("boolean", "Whether the timber is listed by CITES."),
    },
    "FinishChoice": {"key": text(), "name": text(), "sheen": text()},
    "NamedChoice": {"key": text(), "name": text()},
    "GameChoice": {"key": text(), "name": text(), "columns": whole(), "rows": whole()},
    "SheetChoice": {"material": text(), "thickness_mm": num(), "thickness_text": text()},
    "Range": {"low_mm": num(), "high_mm": num(), "text": text()},
    "Ranges": {
        "square": one("Range"),
        "thickness": one("Range"),
        "frame_width": one("Range"),
        "line_width": one("Range"),
        "backing": one("Range"),
        "outside_mm": num("Longest outside edge."),
        "quantity": whole(),
    },
    "ClimateChoice": {"low_rh_pct": num(), "high_rh_pct": num(), "temperature_c": num()},
    "DefaultChoices": {
        "thickness_mm": num(),
        "pattern": text(),
        "finish": text(),
        "channel": text(),
        "ship_to": text(),
        "units": text(),
        "climate": one("ClimateChoice"),
    },
    "Choices": {
        "shop": text(),
        "name": text(),
        "demo": _kind("boolean", ""),
        "currency": text(),
        "timbers": many("TimberChoice"),
        "finishes": many("FinishChoice"),
        "games": many("GameChoice"),
        "channels": many("NamedChoice"),
        "sheets": many("SheetChoice"),
        "grades": _kind("array", "FEPA grades for sanding, coarse to fine.", items={"type": "string"}),
        "patterns": _kind("array", "", items={"type": "string"}),
        "destinations": _kind("array", "ISO 3166 codes; * where the shop sends anywhere.", items={"type": "string"}),
        "ranges": one("Ranges"),
        "defaults": one("DefaultChoices"),
        "shops": many("NamedChoice", "Every shop served here."),
    },
}


def section_shape(section: str) -> Fields:
    """Answer of one section's own path."""
    return {section: one(section.capitalize()), "advice": many("Finding", "What to know about it.")}


def schemas() -> Mapping[str, Schema]:
    """Every answer schema by its component name."""
    shapes = dict(_SHAPES)
    for section in SECTIONS:
        shapes[f"{section.capitalize()}Answer"] = section_shape(section)
    return {name: _schema(name, shape) for name, shape in shapes.items()}
