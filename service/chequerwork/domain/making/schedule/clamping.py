"""What glue-ups are pressed with: clamps and presses that a shop counts, and the rounds they make of a batch."""

from collections.abc import Iterator, Sequence

from chequerwork.domain.basics.advice import Advice, Audience, Severity
from chequerwork.domain.basics.facts import BuildStep, Tables
from chequerwork.domain.basics.shop import Shop
from chequerwork.domain.making.joints import GlueStage, GlueUp
from chequerwork.domain.making.schedule.batch import Batch
from chequerwork.domain.making.schedule.network import Network
from chequerwork.domain.making.schedule.placing import Pool


def clamps_of(step: BuildStep, glue_ups: Sequence[GlueUp]) -> int:
    """Clamps that one board takes in a step; 0 where nothing is glued."""
    return sum(each.clamps for each in glue_ups if each.stage in step.stages)


def rounds_of(
    batch: Batch, glue_ups: Sequence[GlueUp], shop: Shop, tables: Tables
) -> tuple[tuple[str, tuple[int, ...]], ...]:
    """Codes of the steps with glue, and the boards of each of their rounds."""
    limited = shop.machines.clamps is not None or shop.machines.presses is not None
    found = []
    for step in tables.glued_steps:
        if batch.glued.isdisjoint(step.stages):
            continue
        rounds: tuple[int, ...] = (batch.quantity,)
        if limited:
            size, need = _pool_of(step, shop, glue_ups)
            if size is not None and need:
                rounds = _rounds(batch.quantity, max(1, size // need))
        found.append((step.code, rounds))
    return tuple(found)


def pools_of(found: Network, shop: Shop, tables: Tables, glue_ups: Sequence[GlueUp]) -> tuple[Pool, ...]:
    """Clamps and presses, as far as the shop counts them, with what every step of a network takes."""
    clamps, presses = shop.machines.clamps, shop.machines.presses
    if clamps is None and presses is None:
        return ()
    needs = {"clamps": [0] * len(found.nodes), "presses": [0] * len(found.nodes)}
    for place_of, node in enumerate(found.nodes):
        if node.boards:
            step = tables.steps[node.step]
            size, need = _pool_of(step, shop, glue_ups)
            pressed = GlueStage.BASE in step.stages and presses is not None
            needs["presses" if pressed else "clamps"][place_of] = min(node.boards * need, size or 0)
    sizes = {"clamps": clamps, "presses": presses}
    return tuple(Pool(size, tuple(needs[name])) for name, size in sizes.items() if size is not None)


def advice_on_glueing(shop: Shop, tables: Tables, glue_ups: Sequence[GlueUp]) -> Iterator[Advice]:
    """A workshop too cold for its glue, and glue-ups that want more clamps than there are."""
    adhesive, temperature_c = tables.adhesives[shop.consumables.adhesive], shop.workshop_climate.temperature_c
    if temperature_c < adhesive.min_temperature_c:
        yield Advice(
            code="cold-for-adhesive",
            severity=Severity.CAUTION,
            at=("schedule", "steps"),
            text=f"The workshop has {temperature_c:g} degC; {adhesive.name} needs at least "
            f"{adhesive.min_temperature_c:g} degC, or its film stays chalky and weak.",
            source=adhesive.source,
            audience=Audience.WORKSHOP,
        )
    clamps = shop.machines.clamps
    for step in tables.glued_steps if clamps is not None else ():
        size, need = _pool_of(step, shop, glue_ups)
        if size == clamps is not None and need > clamps:
            yield Advice(
                code="too-few-clamps",
                severity=Severity.CAUTION,
                at=("schedule", "steps"),
                text=f"{step.title}: one board wants {need} clamps and the shop has {clamps}. The plan uses all of "
                "them; borrow some, tighten harder, or glue in two halves.",
                audience=Audience.WORKSHOP,
            )


def _pool_of(step: BuildStep, shop: Shop, glue_ups: Sequence[GlueUp]) -> tuple[int | None, int]:
    """What a glue-up is pressed with: how many the shop has, how many one board needs."""
    if GlueStage.BASE in step.stages and shop.machines.presses is not None:
        return shop.machines.presses, 1
    return shop.machines.clamps, clamps_of(step, glue_ups)


def _rounds(quantity: int, most: int) -> tuple[int, ...]:
    full, rest = divmod(quantity, most)
    return (most,) * full + ((rest,) if rest else ())
