"""Views: a plan as the plain tree that is written as JSON, CSV or text. Chooses and rounds; never computes.

One file per section in ``sections``. Numbers are rounded here, so that the last binary digit of one machine's
mathematics library never shows. What a person reads carries ``_text`` beside it in the order's units.
"""

import hashlib
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Final

import orjson

from chequerwork.api.component import (
    Component,
    PlanContext,
    choice,
    context_of,
    day,
    elsewhere,
    maybe,
    pointer,
    sentence,
    text,
)
from chequerwork.api.order_view import order
from chequerwork.api.sections.compliance import COMPLIANCE
from chequerwork.api.sections.cutting import CUTTING
from chequerwork.api.sections.finishing import FINISHING
from chequerwork.api.sections.geometry import GEOMETRY
from chequerwork.api.sections.materials import MATERIALS
from chequerwork.api.sections.movement import MOVEMENT
from chequerwork.api.sections.packing import PACKING
from chequerwork.api.sections.price import PRICE
from chequerwork.api.sections.schedule import SCHEDULE
from chequerwork.api.sections.trees import Tree, amount
from chequerwork.api.signing import Signer
from chequerwork.domain.basics.advice import Audience, Severity
from chequerwork.domain.plan import SECTIONS, Plan


@dataclass(frozen=True, slots=True, kw_only=True)
class SectionView:
    """How one section of a plan is shown."""

    name: str  # also of the part of the plan that it shows first of all
    component: Component

    def view(self, plan: Plan, caller: Audience) -> Tree:
        """The section as a tree, as far as the caller may see it."""
        return self.write(context_of(plan, workshop=caller is Audience.WORKSHOP))

    def write(self, to: PlanContext) -> Tree:
        """The section of the plan in the context."""
        return self.component.write(getattr(to.plan, self.name), to)


SECTION_VIEWS: Final[Mapping[str, SectionView]] = {
    name: SectionView(name=name, component=component)
    for name, component in (
        ("geometry", GEOMETRY),
        ("cutting", CUTTING),
        ("materials", MATERIALS),
        ("movement", MOVEMENT),
        ("finishing", FINISHING),
        ("schedule", SCHEDULE),
        ("packing", PACKING),
        ("compliance", COMPLIANCE),
        ("price", PRICE),
    )
}
CUSTOMER_SECTIONS: Final = ("geometry", "movement", "schedule", "packing", "compliance", "price")


FINDING: Final = Component(
    "Finding",
    text("code"),
    choice("severity", Severity),
    pointer("at", "JSON pointer into the plan."),
    sentence("text"),
    maybe(text("source", "Id of the source list.")),
)


IDENTITY: Final = Component(
    "Identity",
    elsewhere(text("id")),
    text("shop_name", of="shop.name"),
    day("issued_on", of="order.dates.issued_on"),
    day("valid_until"),
    text("shop", of="order.shop"),
    text("tables_version", "Version of the fact tables behind every number.", "tables.version"),
    elsewhere(maybe(text("token", "Compact JWS of this identity with total and currency; null where no key is set."))),
)


def section(plan: Plan, name: str, *, workshop: bool) -> Tree:
    """Answer of one section's own path: the section under its name, and its advice."""
    to = context_of(plan, workshop=workshop)
    return {name: SECTION_VIEWS[name].write(to), "advice": _advice(to, (name,))}


def quote(plan: Plan, signer: Signer | None, *, workshop: bool) -> Tree:
    """Answer of the whole quote: identity, the completed order, every section the caller may see, all advice."""
    names = SECTIONS if workshop else CUSTOMER_SECTIONS
    placed, to = order(plan.order), context_of(plan, workshop=workshop)
    tree: Tree = {"quote": _identity(to, placed, signer), "order": placed}
    for name in names:
        tree[name] = SECTION_VIEWS[name].write(to)
    # A customer hears all advice for customers, also those of sections that are the workshop's own.
    tree["advice"] = _advice(to, SECTIONS)
    return tree


def _advice(to: PlanContext, sections: Sequence[str]) -> list[Tree]:
    """Advice on these sections that the caller may read."""
    found = to.plan.advice(sections)
    return FINDING.write_each([each for each in found if to.workshop or each.audience is Audience.ALL], to)


def explanations(plan: Plan, tree: Tree, *, workshop: bool) -> Tree:
    """How the numbers of the sections in an answer were worked out."""
    from chequerwork.api.explanations import explanation  # noqa: PLC0415 - 10 ms that few requests need

    return explanation(plan, [name for name in SECTIONS if name in tree], workshop=workshop)


def sensitivity(plan: Plan) -> Tree:
    """What moves the price, for the maker."""
    from chequerwork.api.sensitivity_view import view  # noqa: PLC0415 - several orders' work that few requests need

    return view(plan)


def _identity(to: PlanContext, order_tree: Tree, signer: Signer | None) -> Tree:
    """Who says what until when. The id is a hash of what was asked and answered: same quote, same id."""
    price, told = to.plan.price, IDENTITY.write(to.plan, to)
    hashed = {name: value for name, value in told.items() if name != "shop_name"}
    digest = hashlib.sha256(orjson.dumps([hashed, order_tree], option=orjson.OPT_SORT_KEYS))
    digest.update(f"{price.total} {price.currency}".encode())
    tree = {"id": f"q-{digest.hexdigest()[:24]}", **told}
    claims = {**tree, "total": amount(price.total), "currency": price.currency}
    return {**tree, "token": signer.sign(claims) if signer else None}
