"""Sanding and coats of one board."""

from collections.abc import Mapping
from typing import Final

from chequerwork.api.answer_fields import many, maybe_num, maybe_text, num, one, text, whole
from chequerwork.api.sections.trees import Fields, Tree, rounded
from chequerwork.domain.basics.advice import Audience
from chequerwork.domain.making.finishing import Grade
from chequerwork.domain.plan import Plan
from chequerwork.quantities import format_volume

SHAPES: Final[Mapping[str, Fields]] = {
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
}


def view(plan: Plan, _: Audience) -> Tree:
    """The section as a tree; the same for every caller."""
    found, units = plan.finishing, plan.order.units
    return {
        "finish": found.finish,
        "sanding": {"top": [_grade(g) for g in found.top], "underside": [_grade(g) for g in found.underside]},
        "area_m2": rounded(found.area_m2, 4),
        "sanded_m2": rounded(found.sanded_m2, 4),
        "coats": [
            {
                "number": coat.number,
                "finish_ml": rounded(coat.finish_ml, 1),
                "sand_before": coat.sand_before,
                "wait_h": rounded(coat.wait_h, 2),
            }
            for coat in found.coats
        ],
        "finish_ml": rounded(found.finish_ml, 1),
        "finish_text": format_volume(found.finish_ml, units),
        "coats_per_day": found.coats_per_day,
        "handle_h": rounded(found.handle_h, 2),
        "cure_days": rounded(found.cure_days, 2),
    }


def _grade(grade: Grade) -> Tree:
    return {
        "grade": grade.grade,
        "particle_um": grade.particle_um,
        "ratio": None if grade.ratio is None else rounded(grade.ratio, 3),
    }
