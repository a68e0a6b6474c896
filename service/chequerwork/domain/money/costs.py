"""The cost build-up of an order: every line rounded once, in the shop's own currency, without tax."""

from collections.abc import Iterator
from dataclasses import dataclass
from decimal import Decimal
from typing import NamedTuple

from chequerwork.domain.basics.amounts import money, percent_of, round_money, sum_of_money
from chequerwork.domain.basics.facts import Tables
from chequerwork.domain.basics.shop import PriceRules, Shop
from chequerwork.domain.making.hours import Hours
from chequerwork.domain.making.materials import Materials
from chequerwork.domain.money.risk import stretch
from chequerwork.domain.parcel.packing import Consignment

SHEETS = "base"  # role of sheet goods in a bill
LABOUR = "labour_"  # begins the codes of labour, one for each operation
MACHINES = "machine_time"
_ROLES = (
    ("base", "Sheet goods"),
    ("adhesive", "Adhesive"),
    ("abrasives", "Abrasives"),
    ("finish", "Finish"),
    ("feet", "Feet"),
    ("sundries", "Tape and labels"),
)


class Cost(NamedTuple):
    """One line of the cost build-up, for the whole order."""

    code: str
    title: str
    amount: Decimal


@dataclass(frozen=True, slots=True, kw_only=True)
class BuildUp:
    """Every cost line, and what work and waste cost as safely as the price holds, of what they cost on average."""

    lines: tuple[Cost, ...]
    stretch: float


def build_up(shop: Shop, tables: Tables, materials: Materials, hours: Hours, parcel: Consignment) -> BuildUp:
    """Cost lines, rounded once: lumber, items by role, waste, labour by operation, machines, overhead, packing."""
    exponent = tables.currencies[shop.currency].exponent
    bought = tuple(_bought(tables, materials, exponent))
    spent = sum_of_money(tuple(cost.amount for cost in bought))
    longer = stretch(shop, tables, hours, percent_of(spent, shop.price.waste_pct, exponent))
    time = tuple(
        Cost(code=code, title=title, amount=round_money(money(spent_h, rate_h), exponent))
        for code, title, spent_h, rate_h in worked(shop, tables, hours, longer)
    )
    waste = percent_of(spent, held_waste_pct(shop.price, longer), exponent)
    spent += waste + sum_of_money(tuple(cost.amount for cost in time))
    overhead = percent_of(spent, shop.price.overhead_pct, exponent)
    lines = (
        *bought,
        Cost(code="waste", title="Pieces that fail", amount=waste),
        *time,
        Cost(code="overhead", title="Overhead", amount=overhead),
        Cost(code="packing", title="Carton and cushioning", amount=round_money(parcel.material_cost, exponent)),
    )
    return BuildUp(lines=lines, stretch=longer)


def held_waste_pct(rules: PriceRules, longer: float) -> Decimal:
    """Waste that the price is made of. [%]"""
    return rules.waste_pct if longer == 1 else rules.waste_pct * Decimal(f"{longer:.9f}")


def usual_waste(lines: tuple[Cost, ...], rules: PriceRules, exponent: int) -> Decimal:
    """Waste on average, of cost lines in the shop's own currency."""
    return percent_of(
        sum_of_money(tuple(cost.amount for cost in lines if is_bought(cost.code))), rules.waste_pct, exponent
    )


def _bought(tables: Tables, materials: Materials, exponent: int) -> Iterator[Cost]:
    for timber in materials.timber:
        title = tables.species[timber.species].name
        yield Cost(code=f"lumber_{timber.species}", title=title, amount=round_money(timber.cost, exponent))
    by_role: dict[str, Decimal] = {}
    for item in materials.items:
        by_role[item.role] = by_role.get(item.role, Decimal(0)) + item.cost
    for code, title in _ROLES:
        amount = round_money(by_role.get(code, Decimal(0)), exponent)
        if amount:
            yield Cost(code=code, title=title, amount=amount)


def worked(shop: Shop, tables: Tables, hours: Hours, longer: float) -> Iterator[tuple[str, str, float, Decimal]]:
    """Code, title, hours and rate: hands by operation, ``longer`` times as long as expected, then the machines."""
    for work in hours.work:
        yield LABOUR + work.code, work.title, work.expected_h * longer, shop.labour.rate_h
    if shop.machines.rate_h:
        yield MACHINES, "Machines running", machine_h(tables, hours) * longer, shop.machines.rate_h


def machine_h(tables: Tables, hours: Hours) -> float:
    """Expected hours in which a machine runs. [h]"""
    return sum(work.expected_h * tables.operations[work.code].machine_share for work in hours.work)


def is_bought(code: str) -> bool:
    """Whether a cost line is something bought for the board: wood, sheets, adhesive and the like."""
    return code.startswith("lumber_") or code in _CODES


def is_worked(code: str) -> bool:
    """Whether a cost line is time: of hands or machines."""
    return code.startswith(LABOUR) or code == MACHINES


_CODES = frozenset(code for code, _ in _ROLES)
