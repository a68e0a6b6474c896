"""Rows of the build: operations with their norms, and the steps that share them."""

from collections.abc import Mapping

from chequerwork.data.reading import SNAKE, Row
from chequerwork.data.records import check_order
from chequerwork.domain.basics.facts import BuildStep, Operation, StepKind
from chequerwork.domain.making.joints import Stage

DRIVERS = ("strips", "panels", "m2", "joints", "edges", "rails", "m2 x grits", "coats", "boards")
STAGES = tuple(Stage)  # what is glued at once


def operation(row: Row) -> Operation:
    """Norm for one operation of the build."""
    made = Operation(
        code=row.matching("code", SNAKE, "glue_strips"),
        title=row.text("title"),
        driver=row.one_of("driver", DRIVERS),
        setup_h=row.number("setup_h", 0, 40),
        unit_h=row.number("unit_h", 0, 40),
        units_reference=row.number("units_reference", 0.01, 1_000),
        optimistic_h=row.number("optimistic_h", 0, 100),
        likely_h=row.number("likely_h", 0, 100),
        pessimistic_h=row.number("pessimistic_h", 0, 100),
        machine_share=row.number("machine_share", 0, 1),
        confidence=row.raw("confidence"),
        source=row.raw("source"),
    )
    check_order(row, "optimistic_h", made.optimistic_h, made.likely_h)
    check_order(row, "likely_h", made.likely_h, made.pessimistic_h)
    return made


def step(row: Row, operations: Mapping[str, Operation], above: Mapping[str, BuildStep]) -> BuildStep:
    """A step of the build; what it waits for stands above it."""
    kind = row.one_of("kind", tuple(StepKind))
    resting, glued = kind == StepKind.REST, kind == StepKind.GLUE
    made = BuildStep(
        code=row.matching("code", SNAKE, "glue_strips"),
        title=row.text("title"),
        kind=StepKind(kind) if kind in tuple(StepKind) else StepKind.HANDS,
        operation=row.raw("operation") or None,
        part=row.number("part", 0 if resting else 0.01, 100),
        after=tuple(filter(None, row.raw("after").split("; "))),
        stages=tuple(filter(None, row.raw("stages").split("; "))),
        confidence=row.raw("confidence"),
        source=row.raw("source"),
    )
    for name in made.after:
        if name not in above:
            detail = f"It waits for {name[:60]!r}, and no step above has that code. Sort the rows or correct it."
            row.fault("after", "unknown-name", detail)
    if resting != (made.operation is None) or (made.operation and operations and made.operation not in operations):
        detail = f"{row.raw('operation')[:60]!r} is given. A step of hands names a code of operations.csv, a rest none."
        row.fault("operation", "unknown-name", detail)
    for name in made.stages if glued else ():
        if name not in STAGES:
            row.fault("stages", "unknown-name", f"{name[:60]!r} is given. Name some of: {', '.join(STAGES)}.")
    if glued != bool(made.stages):
        row.fault("stages", "bad-value", "Steps of kind glue name what is glued, and no others do.")
    return made
