"""Sanding, finish and hours explained."""

from functools import partial

from chequerwork.domain.basics.advice import Audience
from chequerwork.domain.basics.arithmetic import times, total
from chequerwork.domain.basics.facts import Adhesive, Finish
from chequerwork.domain.explain.steps import Ledger
from chequerwork.domain.making.finishing import Grade, coat_ml, outer_edge_mm, sanded_m2, size_ratio, surface_m2
from chequerwork.domain.making.hours import (
    CURVES,
    SHARES,
    likely_up_to_h,
    operation_h,
    pert_beta_sd,
    pert_mean,
    points_of,
    scaled_h,
    sum_sd,
    units_of,
)
from chequerwork.domain.making.schedule.network import cure_factor, curing, whole_minutes
from chequerwork.domain.making.schedule.work_plan import stretched_h
from chequerwork.domain.plan import Plan


def finishing(plan: Plan, ledger: Ledger, _: Audience) -> None:
    """Ratios of the ladders, area, and finish for one board."""
    order, found, at = plan.order, plan.finishing, ledger.at
    finish = plan.tables.finishes[order.surface.finish]
    _ladder(ledger, "top", found.top)
    _ladder(ledger, "underside", found.underside)
    overall = plan.geometry.overall
    sides = {"length_mm": overall.length_mm, "width_mm": overall.width_mm, "edge_mm": outer_edge_mm(plan.geometry)}
    area_m2 = at("area_m2")(surface_m2, **sides)
    grades = {"top_grades": len(found.top), "underside_grades": len(found.underside)}
    at("sanded_m2")(sanded_m2, **sides, **grades)
    waste_pct = plan.shop.consumables.finish_waste_pct
    for index in range(len(found.coats)):
        coverage = {"coverage_m2_l": finish.coverage_m2_l, "waste_pct": waste_pct}
        each_ml = at("coats", index, "finish_ml")(coat_ml, area_m2=area_m2, **coverage)
    at("finish_ml", unit="ml")(times, amount=each_ml, count=finish.coats)


def _ladder(ledger: Ledger, side: str, grades: tuple[Grade, ...]) -> None:
    for index in range(1, len(grades)):
        before_um, after_um = grades[index - 1].particle_um, grades[index].particle_um
        place = ("sanding", side, index, "ratio")
        ledger.at(*place)(size_ratio, before_um=before_um, after_um=after_um)


def schedule(plan: Plan, ledger: Ledger, _: Audience) -> None:
    """Hours of every operation as a three-point estimate, their sum and its spread, and whole minutes."""
    labour, at, found = plan.shop.labour, ledger.at, plan.hours
    units = units_of(plan.geometry, plan.cutting, plan.finishing, len(plan.order.field.lines))
    learning, place = _learning(plan, ledger), ("hands_on_h", "expected")
    means, sds = [], []
    for work in found.work:
        norm, name = plan.tables.operations[work.code], work.title
        setup_h, unit_h, (norm_low_h, norm_likely_h, norm_high_h) = points_of(norm, labour)
        count = times(units[work.code], plan.order.sale.quantity)
        rates = {"setup_h": setup_h, "unit_h": unit_h, "units": count, "learning": learning, "pace": labour.pace}
        likely_h = at(*place, part=f"{name}: likely")(operation_h, **rates)
        scale = {"norm_likely_h": norm_likely_h, "likely_h": likely_h}
        low_h = at(*place, part=f"{name}: optimistic")(scaled_h, norm_h=norm_low_h, **scale)
        high_h = at(*place, part=f"{name}: pessimistic")(scaled_h, norm_h=norm_high_h, **scale)
        outer = {"optimistic": low_h, "pessimistic": high_h}
        means.append(at(*place, part=name, unit="h")(pert_mean, likely=likely_h, **outer))
        sds.append(at("hands_on_h", "sd", part=name, unit="h")(pert_beta_sd, mean=means[-1], **outer))
    expected_h = at("hands_on_h", "expected", unit="h")(total, parts=tuple(means))
    sd_h = at("hands_on_h", "sd", unit="h")(sum_sd, sds=tuple(sds), correlation=found.spread.correlation)
    for promise, share in SHARES.items():
        deviations = found.spread.deviations(share)
        at("hands_on_h", promise)(likely_up_to_h, expected_h=expected_h, sd_h=sd_h, deviations=deviations)
    _minutes(plan, ledger)


def _learning(plan: Plan, ledger: Ledger) -> float:
    """What a batch teaches, where the shop says that it does."""
    labour, boards = plan.shop.labour, plan.order.sale.quantity
    if labour.learning == 1 or boards == 1:
        return 1.0
    entry = ledger.at("hands_on_h", "expected", part="run time of a board, of the first one's", unit="ratio")
    return entry(CURVES[labour.learning_form], first=1.0, rate=labour.learning, boards=boards)


def _minutes(plan: Plan, ledger: Ledger) -> None:
    """Hands-on minutes of the steps that are one operation each; the others share those of theirs. Then the waits."""
    found = plan.schedule.placement.network
    whole = {parts[0][0]: operation for operation, parts in found.shares if len(parts) == 1}
    hours = stretched_h(plan.hours, plan.shop.calendar.holds_at)
    adhesive = plan.tables.adhesives[plan.shop.consumables.adhesive]
    for index, place in enumerate(plan.schedule.order):
        if place in whole:
            ledger.at("steps", index, "hands_on_min")(whole_minutes, hours=hours[whole[place]])
        if found.coats[place]:
            _wait(
                plan,
                ledger,
                index,
                plan.finishing.coats[found.coats[place] - 1].wait_h,
                plan.tables.finishes[plan.order.surface.finish],
            )
        elif found.waits_min[place] and found.nodes[place].boards:
            _wait(plan, ledger, index, adhesive.machine_after_h, adhesive)


def _wait(plan: Plan, ledger: Ledger, index: int, wait_h: float, cures: Adhesive | Finish) -> None:
    """The wait of the table, longer in a cold workshop."""
    at = partial(ledger.at, "steps", index, "waiting_min")
    slow = at(part="times as long")(cure_factor, **curing(cures, plan.shop.workshop_climate.temperature_c))
    hours = at(part="hours", unit="h")(times, amount=wait_h, count=slow)
    at()(whole_minutes, hours=hours)
