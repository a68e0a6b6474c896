"""Views: a plan as the plain tree that is written as JSON, CSV or text. Chooses and rounds; never computes.

One function per section. Numbers are rounded here, so that the last binary digit of one machine's mathematics
library never shows. What a person reads carries ``_text`` beside it in the order's units.
"""

import hashlib
from collections.abc import Callable, Mapping, Sequence
from datetime import timedelta
from decimal import Decimal
from typing import Any, Final

import orjson

from chequerwork.api.order_view import mm, order
from chequerwork.api.signing import Signer
from chequerwork.domain.advice import Advice, Audience
from chequerwork.domain.cutting import Block, Part
from chequerwork.domain.finishing import Grade
from chequerwork.domain.geometry import Rect
from chequerwork.domain.plan import SECTIONS, Plan
from chequerwork.quantities import format_length, format_mass, format_volume

Tree = dict[str, Any]

CUSTOMER_SECTIONS: Final = ("geometry", "movement", "schedule", "packing", "compliance", "price")


def section(plan: Plan, name: str, *, workshop: bool) -> Tree:
    """Answer of one section's own path: the section under its name, and its findings."""
    return {name: _VIEWS[name](plan, workshop), "advice": advice(plan, (name,), workshop=workshop)}


def quote(plan: Plan, signer: Signer | None, *, workshop: bool) -> Tree:
    """Answer of the whole quote: identity, the completed order, every section the caller may see, all findings."""
    names = SECTIONS if workshop else CUSTOMER_SECTIONS
    placed = order(plan.order)
    tree: Tree = {"quote": identity(plan, placed, signer), "order": placed}
    for name in names:
        tree[name] = _VIEWS[name](plan, workshop)
    # A customer hears all findings for customers, also those of rooms that are the workshop's own.
    tree["advice"] = advice(plan, SECTIONS, workshop=workshop)
    return tree


def advice(plan: Plan, sections: Sequence[str], *, workshop: bool) -> list[Tree]:
    """Findings of these sections that the caller may read."""
    return [_finding(a) for a in plan.advice(sections) if workshop or a.audience is Audience.ALL]


def _finding(found: Advice) -> Tree:
    return {
        "code": found.code,
        "severity": found.severity,
        "at": "/" + "/".join(map(str, found.at)),
        "text": found.text,
        "source": found.source,
    }


def identity(plan: Plan, order_tree: Tree, signer: Signer | None) -> Tree:
    """Who says what until when. The id is a hash of what was asked and answered: same quote, same id."""
    placed, price = plan.order, plan.price
    valid_until = placed.issued_on + timedelta(days=plan.shop.price.valid_days)
    tree: Tree = {
        "issued_on": placed.issued_on.isoformat(),
        "valid_until": valid_until.isoformat(),
        "shop": placed.shop,
        "tables_version": plan.tables.version,
    }
    digest = hashlib.sha256(orjson.dumps([tree, order_tree], option=orjson.OPT_SORT_KEYS))
    digest.update(f"{price.total} {price.currency}".encode())
    tree = {"id": f"q-{digest.hexdigest()[:24]}", "shop_name": plan.shop.name, **tree}
    claims = {**tree, "total": _money(price.total), "currency": price.currency}
    return {**tree, "token": signer.sign(claims) if signer else None}


# Sections -------------------------------------------------------------------------------------------------------------


def _geometry(plan: Plan, _: bool) -> Tree:
    found, units = plan.geometry, plan.order.units
    tree: Tree = {
        "square_mm": mm(found.square_mm),
        "square_text": format_length(found.square_mm, units),
        "columns": found.columns,
        "rows": found.rows,
        "light_squares": found.light_squares,
        "dark_squares": found.dark_squares,
        "thickness_mm": mm(found.thickness_mm),
        "thickness_text": format_length(found.thickness_mm, units),
        "mass_kg": round(found.mass_kg, 3),
        "mass_text": format_mass(found.mass_kg * 1000, units),
        "mass_half_range_kg": round(found.mass_half_range_kg, 3),
        "mass_half_range_text": format_mass(found.mass_half_range_kg * 1000, units),
        "field": _rect(found.field, units, diagonal=True),
        "overall": _rect(found.overall, units),
    }
    tree["overall"]["height_mm"] = mm(found.height_mm)
    tree["overall"]["height_text"] = format_length(found.height_mm, units)
    tree["overall"]["diagonal_mm"] = mm(found.overall.diagonal_mm)
    tree["frame"] = _rails(plan) if found.rails else None
    if found.base:
        tree["base"] = {
            "panel": _rect(found.base.panel, units),
            "outside": _rect(found.base.outside, units),
        }
    else:
        tree["base"] = None
    fit = found.fit
    tree["fit"] = {
        "fill_ratio": None if fit.fill_ratio is None else round(fit.fill_ratio, 4),
        "verdict": fit.verdict,
        "square_low_mm": mm(fit.square_low_mm),
        "square_low_text": None if fit.square_low_mm is None else format_length(fit.square_low_mm, units),
        "square_high_mm": mm(fit.square_high_mm),
        "square_high_text": None if fit.square_high_mm is None else format_length(fit.square_high_mm, units),
    }
    tree["accuracy"] = _accuracy(plan)
    return tree


def _rect(rect: Rect, units: str, *, diagonal: bool = False) -> Tree:
    tree: Tree = {
        "length_mm": mm(rect.length_mm),
        "length_text": format_length(rect.length_mm, units),
        "width_mm": mm(rect.width_mm),
        "width_text": format_length(rect.width_mm, units),
    }
    if diagonal:
        tree["diagonal_mm"] = mm(rect.diagonal_mm)
    return tree


def _rails(plan: Plan) -> Tree:
    found, units = plan.geometry, plan.order.units
    return {
        "opening": _rect(found.opening, units),
        "clearance_mm": mm(found.seat.clearance_mm),
        "clearance_text": format_length(found.seat.clearance_mm, units),
        "tongue_mm": mm(found.seat.tongue_mm),
        "tongue_text": format_length(found.seat.tongue_mm, units),
        "tongue_thickness_mm": mm(found.tongue_thickness_mm),
        "tongue_thickness_text": format_length(found.tongue_thickness_mm, units),
        "rails": [
            {
                "side": rail.side,
                "count": rail.count,
                "long_point_mm": mm(rail.long_point_mm),
                "long_point_text": format_length(rail.long_point_mm, units),
                "short_point_mm": mm(rail.short_point_mm),
                "short_point_text": format_length(rail.short_point_mm, units),
                "width_mm": mm(rail.width_mm),
                "width_text": format_length(rail.width_mm, units),
                "thickness_mm": mm(rail.thickness_mm),
                "thickness_text": format_length(rail.thickness_mm, units),
                "species": rail.species,
            }
            for rail in found.rails
        ],
    }


def _accuracy(plan: Plan) -> Tree:
    found = plan.accuracy
    return {
        "strip_tolerance_mm": round(found.strip_tolerance_mm, 4),
        "mismatch_worst_mm": round(found.mismatch_worst_mm, 4),
        "mismatch_sigma_mm": round(found.mismatch_sigma_mm, 4),
        "strip_needed_mm": round(found.strip_needed_mm, 4),
        "blade_error_deg": round(found.blade_error_deg, 4),
        "bevel_gap_mm": round(found.bevel_gap_mm, 4),
        "shear_mm": mm(found.shear_mm),
        "size_worst_mm": mm(found.size_worst_mm),
    }


def _cutting(plan: Plan, _: bool) -> Tree:
    found, units = plan.cutting, plan.order.units
    cuts = found.crosscuts
    return {
        "pattern": found.pattern,
        "strips": [
            {
                "species": strip.species,
                "count": strip.count,
                "width_mm": mm(strip.width_mm),
                "width_text": format_length(strip.width_mm, units),
                "length_mm": mm(strip.length_mm),
                "length_text": format_length(strip.length_mm, units),
            }
            for strip in found.strips
        ],
        "panel": {**_rect(found.panel, units), "thickness_mm": mm(found.panel_thickness_mm)},
        "crosscuts": {
            "count": cuts.count,
            "cuts": cuts.cuts,
            "spare_bars": cuts.spare_bars,
            "width_mm": mm(cuts.width_mm),
            "width_text": format_length(cuts.width_mm, units),
            "end_width_mm": mm(cuts.end_width_mm),
            "end_width_text": format_length(cuts.end_width_mm, units),
            "kerf_mm": mm(cuts.kerf_mm),
            "kerf_text": format_length(cuts.kerf_mm, units),
            "length_needed_mm": mm(cuts.length_needed_mm),
            "length_needed_text": format_length(cuts.length_needed_mm, units),
            "length_allowed_mm": mm(cuts.length_allowed_mm),
            "length_allowed_text": format_length(cuts.length_allowed_mm, units),
            "spare_mm": mm(cuts.spare_mm),
        },
        "overhang_mm": mm(found.overhang_mm),
        "parts": [_part(part, units) for part in found.parts],
    }


def _part(part: Part, units: str) -> Tree:
    return {
        "id": part.id,
        "role": part.role,
        "species": part.species,
        "count": part.count,
        "rough": _block(part.rough, units),
        "final": _block(part.final, units),
    }


def _block(block: Block, units: str) -> Tree:
    length_mm, width_mm, thickness_mm = block
    return {
        "length_mm": mm(length_mm),
        "width_mm": mm(width_mm),
        "thickness_mm": mm(thickness_mm),
        "text": f"{format_length(length_mm, units)} x {format_length(width_mm, units)} x "
        f"{format_length(thickness_mm, units)}",
    }


def _materials(plan: Plan, _: bool) -> Tree:
    found, units = plan.materials, plan.order.units
    return {
        "quantity": plan.order.quantity,
        "timber": [
            {
                "species": timber.species,
                "net_m3": round(timber.net_m3, 6),
                "gross_m3": round(timber.gross_m3, 6),
                "gross_board_feet": round(timber.gross_board_feet, 2),
                "board_feet": timber.board_feet,
                "mass_kg": round(timber.mass_kg, 3),
                "mass_text": format_mass(timber.mass_kg * 1000, units),
                "cost": _money(timber.cost, plan),
            }
            for timber in found.timber
        ],
        "lines": [
            {
                "item": item.item,
                "role": item.role,
                "quantity": round(item.quantity, 3),
                "unit": item.unit,
                "quantity_text": _amount(item.quantity, item.unit, units),
                "note": item.note,
                "cost": _money(item.cost, plan),
            }
            for item in found.items
        ],
    }


def _amount(quantity: float, unit: str, units: str) -> str:
    if unit == "g":
        return format_mass(quantity, units)
    if unit == "ml":
        return format_volume(quantity, units)
    return f"{quantity:.4g} {unit}"


def _movement(plan: Plan, _: bool) -> Tree:
    found = plan.movement
    swing = found.swing
    return {
        "emc_build_pct": round(swing.emc_build_pct, 2),
        "emc_low_pct": round(swing.emc_low_pct, 2),
        "emc_high_pct": round(swing.emc_high_pct, 2),
        "field": {
            "shrink_mm": mm(swing.shrink_mm),
            "swell_mm": mm(swing.swell_mm),
            "band_mm": mm(swing.band_mm),
        },
        "mitre_gap_mm": mm(found.mitre_gap_mm),
        "mitre_side": found.mitre_side,
        "bow_mm": mm(found.bow_mm),
        "groove_clearance_mm": mm(found.groove_clearance_mm),
        "verdict": found.verdict,
        "reasons": [{"code": r.code, "verdict": r.verdict, "text": r.text} for r in found.reasons],
    }


def _finishing(plan: Plan, _: bool) -> Tree:
    found, units = plan.finishing, plan.order.units
    return {
        "finish": found.finish,
        "sanding": {"top": [_grade(g) for g in found.top], "underside": [_grade(g) for g in found.underside]},
        "area_m2": round(found.area_m2, 4),
        "sanded_m2": round(found.sanded_m2, 4),
        "coats": [
            {
                "number": coat.number,
                "finish_ml": round(coat.finish_ml, 1),
                "sand_before": coat.sand_before,
                "wait_h": round(coat.wait_h, 2),
            }
            for coat in found.coats
        ],
        "finish_ml": round(found.finish_ml, 1),
        "finish_text": format_volume(found.finish_ml, units),
        "coats_per_day": found.coats_per_day,
        "handle_h": round(found.handle_h, 2),
        "cure_days": round(found.cure_days, 2),
    }


def _grade(grade: Grade) -> Tree:
    return {
        "grade": grade.grade,
        "particle_um": grade.particle_um,
        "ratio": None if grade.ratio is None else round(grade.ratio, 3),
    }


def _schedule(plan: Plan, workshop: bool) -> Tree:
    found = plan.schedule
    tree: Tree = {
        "starts_on": found.starts_on.isoformat(),
        "ready_on": found.ready_on.isoformat(),
        "ships_on": found.ships_on.isoformat(),
        "cured_on": found.cured_on.isoformat(),
        "wanted_by": plan.order.wanted_by.isoformat() if plan.order.wanted_by else None,
        "spare_days": found.spare_days,
    }
    if not workshop:
        return tree
    hours = plan.hours
    tree["time_zone"] = plan.shop.calendar.time_zone
    tree["hands_on_h"] = {
        "expected": round(hours.expected_h, 2),
        "p80": round(hours.p80_h, 2),
        "p95": round(hours.p95_h, 2),
        "sd": round(hours.sd_h, 2),
    }
    tree["steps"] = [
        {
            "code": step.code,
            "title": step.title,
            "after": list(step.after),
            "starts_at": step.starts_at.isoformat(timespec="minutes"),
            "ends_at": step.ends_at.isoformat(timespec="minutes"),
            "hands_on_min": step.hands_on_min,
            "waiting_min": step.waiting_min,
        }
        for step in found.steps
    ]
    return tree


def _packing(plan: Plan, _: bool) -> Tree:
    found, units = plan.packing, plan.order.units
    return {
        "parcels": found.parcels,
        "carton": {
            **_rect(Rect(length_mm=found.length_mm, width_mm=found.width_mm), units),
            "height_mm": mm(found.height_mm),
            "height_text": format_length(found.height_mm, units),
        },
        "mass_kg": round(found.mass_kg, 3),
        "mass_text": format_mass(found.mass_kg * 1000, units),
        "dimensional_kg": round(found.dimensional_kg, 3),
        "billable_kg": round(found.billable_kg, 3),
        "billable_text": format_mass(found.billable_kg * 1000, units),
        "length_plus_girth_mm": mm(found.length_plus_girth_mm),
        "length_plus_girth_text": format_length(found.length_plus_girth_mm, units),
        "flat": found.flat,
    }


def _compliance(plan: Plan, workshop: bool) -> Tree:
    return {
        "notices": [
            {
                "code": notice.code,
                "severity": notice.severity,
                "subject": notice.subject,
                "text": notice.text,
                "authority": notice.authority,
                "as_of": notice.as_of,
                "confidence": notice.confidence,
                "source": notice.source,
            }
            for notice in plan.compliance.notices
            if workshop or notice.audience is Audience.ALL
        ]
    }


def _price(plan: Plan, workshop: bool) -> Tree:
    found = plan.price
    tree: Tree = {
        "currency": found.currency,
        "quantity": found.quantity,
        "unit_net": _money(found.unit_net),
        "unit_gross": _money(found.unit_gross),
        "shipping": _money(found.shipping),
        "shipping_gross": _money(found.shipping_gross),
        "tax_name": found.tax_name,
        "tax_pct": float(found.tax_pct),
        "tax_regime": found.regime,
        "tax": _money(found.tax),
        "total": _money(found.total),
    }
    if workshop:
        tree["workshop"] = {
            "costs": [{"code": c.code, "title": c.title, "amount": _money(c.amount)} for c in found.costs],
            "cost_total": _money(found.cost_total),
            "floor_total": _money(found.floor_total),
            "margin_pct": float(found.margin_pct),
            "margin_total": _money(found.margin_total),
            "fees": {
                "channel": found.fees.channel,
                "rate_pct": float(found.fees.rate_pct),
                "base": found.fees.base,
                "fixed": _money(found.fees.fixed),
                "amount": _money(found.fees.amount),
            },
            "risk": {
                "p50": _money(found.cost_p50),
                "p80": _money(found.cost_p80),
                "p95": _money(found.cost_p95),
            },
        }
    return tree


_VIEWS: Final[Mapping[str, Callable[[Plan, bool], Tree]]] = {
    "geometry": _geometry,
    "cutting": _cutting,
    "materials": _materials,
    "movement": _movement,
    "finishing": _finishing,
    "schedule": _schedule,
    "packing": _packing,
    "compliance": _compliance,
    "price": _price,
}


def _money(amount: Decimal, plan: Plan | None = None) -> str:
    """An amount as text with a point; rounded to the currency's decimals where it is not yet."""
    if plan is not None:
        exponent = plan.tables.currencies[plan.shop.currency].exponent
        amount = round(amount, exponent)
    return f"{amount:f}"
