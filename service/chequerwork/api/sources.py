"""What the numbers rest on: the source list, and every formula in words."""

from collections.abc import Mapping
from typing import Final

from chequerwork.api.answer_fields import kind, many, text
from chequerwork.api.sections.trees import Fields, Tree
from chequerwork.domain.basics.facts import Formula, Tables

SHAPES: Final[Mapping[str, Fields]] = {
    "Source": {
        "id": text(),
        "title": text(),
        "publisher": text(),
        "year": text(),
        "note": text("How it was read: in full or part, as a copy, secondary, from memory, house."),
    },
    "Formula": {
        "key": text("Name of the formula in every explanation."),
        "title": text(),
        "function": text("Its path in the code."),
        "expression": text(
            "For a calculator: ^ is a power, angles are in degrees, ceil and floor go to whole numbers."
        ),
        "unit": text("Of the result."),
        "valid": text("Range in words."),
        "sources": kind("array", "Ids of the source list.", items={"type": "string"}),
        "locator": text("Where in the source."),
        "confidence": text("verified-in-text, derived, from-memory or house."),
        "note": text(),
    },
    "Sources": {
        "tables_version": text("Version of the fact tables behind every number."),
        "sources": many("Source"),
        "formulas": many("Formula"),
    },
}


def sources(tables: Tables) -> Tree:
    """Every source and every formula, in the order of their tables."""
    return {
        "tables_version": tables.version,
        "sources": [
            {"id": each.id, "title": each.title, "publisher": each.publisher, "year": each.year, "note": each.note}
            for each in tables.sources.values()
        ],
        "formulas": [_formula(each) for each in tables.formulas.values()],
    }


def _formula(formula: Formula) -> Tree:
    return {
        "key": formula.key,
        "title": formula.title,
        "function": formula.function,
        "expression": formula.expression,
        "unit": formula.unit,
        "valid": formula.valid,
        "sources": source_ids(formula),
        "locator": formula.locator,
        "confidence": formula.confidence,
        "note": formula.note,
    }


def source_ids(formula: Formula) -> list[str]:
    """The sources of a formula, one by one."""
    return formula.source.split("; ")
