"""What the numbers rest on: the source list, and every formula in words."""

from typing import Final

from chequerwork.api.component import AnswerContext, Component, many, text, texts
from chequerwork.api.sections.trees import Tree
from chequerwork.domain.basics.facts import Formula, Tables

SOURCE: Final = Component(
    "Source",
    text("id"),
    text("title"),
    text("publisher"),
    text("year"),
    text("note", "How it was read: in full or part, as a copy, secondary, from memory, house."),
)
FORMULA: Final = Component(
    "Formula",
    text("key", "Name of the formula in every explanation."),
    text("title"),
    text("function", "Its path in the code."),
    text("expression", "For a calculator: ^ is a power, angles are in degrees, ceil and floor go to whole numbers."),
    text("unit", "Of the result."),
    text("valid", "Range in words."),
    texts("sources", "Ids of the source list.", lambda formula, _: source_ids(formula)),
    text("locator", "Where in the source."),
    text("confidence", "verified-in-text, derived, from-memory or house."),
    text("note"),
)
SOURCES: Final = Component(
    "Sources",
    text("tables_version", "Version of the fact tables behind every number.", "version"),
    many("sources", SOURCE, of=lambda tables, _: tables.sources.values()),
    many("formulas", FORMULA, of=lambda tables, _: tables.formulas.values()),
)

COMPONENTS: Final = (SOURCE, FORMULA, SOURCES)


def sources(tables: Tables) -> Tree:
    """Every source and every formula, in the order of their tables."""
    return SOURCES.write(tables, AnswerContext())


def source_ids(formula: Formula) -> list[str]:
    """The sources of a formula, one by one."""
    return formula.source.split("; ")
