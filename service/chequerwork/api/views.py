"""Views: a plan as the plain tree that is written as JSON, CSV or text. Chooses and rounds; never computes.

One file per section in ``sections``. Numbers are rounded here, so that the last binary digit of one machine's
mathematics library never shows. What a person reads carries ``_text`` beside it in the order's units.
"""

import hashlib
from collections.abc import Mapping, Sequence
from datetime import timedelta
from typing import Final, Protocol

import orjson

from chequerwork.api.order_view import order
from chequerwork.api.sections import (
    compliance,
    cutting,
    finishing,
    geometry,
    materials,
    movement,
    packing,
    price,
    schedule,
)
from chequerwork.api.sections.trees import Fields, Tree, amount, tell
from chequerwork.api.signing import Signer
from chequerwork.domain.basics.advice import Advice, Audience
from chequerwork.domain.plan import SECTIONS, Plan


class Room(Protocol):
    """A file of ``sections``: how one section is shown, and the schemas of what is shown."""

    @property
    def SHAPES(self) -> Mapping[str, Fields]:  # noqa: N802 - a constant of the file
        """Schemas by component name."""

    def view(self, plan: Plan, caller: Audience, /) -> Tree:
        """The section as a tree, as far as the caller may see it."""


ROOMS: Final[Mapping[str, Room]] = {
    "geometry": geometry,
    "cutting": cutting,
    "materials": materials,
    "movement": movement,
    "finishing": finishing,
    "schedule": schedule,
    "packing": packing,
    "compliance": compliance,
    "price": price,
}
CUSTOMER_SECTIONS: Final = ("geometry", "movement", "schedule", "packing", "compliance", "price")


def section(plan: Plan, name: str, *, workshop: bool) -> Tree:
    """Answer of one section's own path: the section under its name, and its findings."""
    return {
        name: ROOMS[name].view(plan, _caller(workshop=workshop)),
        "advice": advice(plan, (name,), workshop=workshop),
    }


def quote(plan: Plan, signer: Signer | None, *, workshop: bool) -> Tree:
    """Answer of the whole quote: identity, the completed order, every section the caller may see, all findings."""
    names = SECTIONS if workshop else CUSTOMER_SECTIONS
    placed = order(plan.order)
    tree: Tree = {"quote": identity(plan, placed, signer), "order": placed}
    for name in names:
        tree[name] = ROOMS[name].view(plan, _caller(workshop=workshop))
    # A customer hears all findings for customers, also those of rooms that are the workshop's own.
    tree["advice"] = advice(plan, SECTIONS, workshop=workshop)
    return tree


def advice(plan: Plan, sections: Sequence[str], *, workshop: bool) -> list[Tree]:
    """Findings of these sections that the caller may read."""
    units = plan.order.units
    return [_finding(a, units) for a in plan.advice(sections) if workshop or a.audience is Audience.ALL]


def explanations(plan: Plan, tree: Tree, *, workshop: bool) -> Tree:
    """How the numbers of the sections in an answer were worked out."""
    from chequerwork.api.explanations import explanation  # noqa: PLC0415 - 10 ms that few requests need

    return explanation(plan, [name for name in SECTIONS if name in tree], workshop=workshop)


def sensitivity(plan: Plan) -> Tree:
    """What moves the price, for the maker."""
    from chequerwork.api.sensitivity_view import view  # noqa: PLC0415 - several orders' work that few requests need

    return view(plan)


def _caller(*, workshop: bool) -> Audience:
    return Audience.WORKSHOP if workshop else Audience.ALL


def _finding(found: Advice, units: str) -> Tree:
    return {
        "code": found.code,
        "severity": found.severity,
        "at": "/" + "/".join(map(str, found.at)),
        "text": tell(found.text, found.lengths_mm, units),
        "source": found.source,
    }


def identity(plan: Plan, order_tree: Tree, signer: Signer | None) -> Tree:
    """Who says what until when. The id is a hash of what was asked and answered: same quote, same id."""
    placed, found = plan.order, plan.price
    valid_until = placed.dates.issued_on + timedelta(days=plan.shop.price.valid_days)
    tree: Tree = {
        "issued_on": placed.dates.issued_on.isoformat(),
        "valid_until": valid_until.isoformat(),
        "shop": placed.shop,
        "tables_version": plan.tables.version,
    }
    digest = hashlib.sha256(orjson.dumps([tree, order_tree], option=orjson.OPT_SORT_KEYS))
    digest.update(f"{found.total} {found.currency}".encode())
    tree = {"id": f"q-{digest.hexdigest()[:24]}", "shop_name": plan.shop.name, **tree}
    claims = {**tree, "total": amount(found.total), "currency": found.currency}
    return {**tree, "token": signer.sign(claims) if signer else None}
