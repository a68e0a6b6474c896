"""What only the maker reads on the page of a quote: cut list, purchases, finish, work plan and costs.

The private types name the keys of the answer that are read here; ``tests/contract`` holds them to the contract.
"""

from collections.abc import Iterator, Sequence
from typing import NotRequired, TypedDict

from chequerwork.render.moved import moves_told
from chequerwork.render.page import INDENT, Tree, paragraph, table, words

# Cut ------------------------------------------------------------------------------------------------------------------


class _Block(TypedDict):
    text: str


class _Part(TypedDict):
    id: str
    role: str
    species: str
    count: int
    rough: _Block
    final: _Block


class _Crosscuts(TypedDict):
    cuts: int
    spare_bars: int
    width_mm: float
    end_width_mm: float
    width_text: str
    end_width_text: str
    kerf_text: str
    length_needed_text: str
    length_allowed_text: str


class _GlueUp(TypedDict):
    name: str
    joint_length_text: str
    joint_width_text: str
    adhesive_text: str
    force_text: str
    joints: int
    clamps: int
    preparation: Sequence[str]


class CuttingTree(TypedDict):
    """The cut list of an answer, as far as it is printed."""

    pattern: str
    crosscuts: _Crosscuts
    parts: Sequence[_Part]
    glue_ups: Sequence[_GlueUp]


def cut_list(cutting: CuttingTree) -> Iterator[str]:
    """Parts, crosscuts and glue-ups."""
    cuts = cutting["crosscuts"]
    parts = map(_part, cutting["parts"])
    yield from table([("part", "pieces", "role", "of", "rough", "final"), *parts])
    yield ""
    spare = f", {cuts['spare_bars']} of them to spare" if cuts["spare_bars"] else ""
    ends = f" (first and last {cuts['end_width_text']})" if cuts["end_width_mm"] != cuts["width_mm"] else ""
    yield f"{INDENT}Crosscut {cuts['cuts']} bars of {cuts['width_text']}{ends}{spare}; {cuts['kerf_text']} kerf."
    yield f"{INDENT}They need {cuts['length_needed_text']}, the strips have {cuts['length_allowed_text']}."
    ways = {"turn": "Turn every second bar end for end.", "shift": "Move every second bar by one square, then trim."}
    yield f"{INDENT}{ways[cutting['pattern']]}"
    yield ""
    yield from _glue_ups(cutting["glue_ups"])


def _part(part: _Part) -> Sequence[str]:
    sizes = part["rough"]["text"], part["final"]["text"]
    return part["id"], str(part["count"]), part["role"], words(part["species"]), *sizes


def _glue_ups(found: Sequence[_GlueUp]) -> Iterator[str]:
    rows = [
        (
            each["name"],
            str(each["joints"]),
            f"{each['joint_length_text']} x {each['joint_width_text']}",
            each["adhesive_text"],
            each["force_text"],
            str(each["clamps"]),
            " ".join(each["preparation"]),
        )
        for each in found
    ]
    yield from table([("glue", "joints", "longest", "adhesive", "force", "clamps", "before"), *rows])


# Buy, sand and finish -------------------------------------------------------------------------------------------------


class _Timber(TypedDict):
    species: str
    cost: str
    gross_m3: float
    gross_board_feet: float
    board_feet: float


class _Material(TypedDict):
    item: str
    quantity_text: str
    note: str
    cost: str


class MaterialsTree(TypedDict):
    """What is bought, as far as it is printed."""

    timber: Sequence[_Timber]
    lines: Sequence[_Material]


def bill_of_materials(materials: MaterialsTree, currency: str) -> Iterator[str]:
    """Lumber, then everything else, in the shop's own currency."""
    rows = [(words(t["species"]), f"{t['gross_m3']:.4f} m3", _board_feet(t), t["cost"]) for t in materials["timber"]]
    rows += [(m["item"], m["quantity_text"], m["note"], m["cost"]) for m in materials["lines"]]
    yield from table([("what", "how much", "", f"cost, {currency}"), *rows])


def _board_feet(timber: _Timber) -> str:
    return f"{timber['gross_board_feet']:.1f} board feet, charged as {timber['board_feet']:g}"


class _Grade(TypedDict):
    grade: str


class _Ladders(TypedDict):
    top: Sequence[_Grade]
    underside: Sequence[_Grade]


class _Coat(TypedDict):
    finish_ml: float


class FinishingTree(TypedDict):
    """Sanding and finish of one board, as far as they are printed."""

    sanding: _Ladders
    coats: Sequence[_Coat]
    area_m2: float


def sand_and_finish(finishing: FinishingTree) -> Iterator[str]:
    """Grades of each side, and the coats."""
    for side, grades in (("top", finishing["sanding"]["top"]), ("underside", finishing["sanding"]["underside"])):
        yield f"{INDENT}{side}: {', '.join(step['grade'] for step in grades)}"
    coats = finishing["coats"]
    yield f"{INDENT}{len(coats)} coats of {coats[0]['finish_ml']:g} ml on {finishing['area_m2']:g} m2"


# Work plan ------------------------------------------------------------------------------------------------------------


class _Step(TypedDict):
    title: str
    starts_at: str
    hands_on_min: int
    waiting_min: int
    float_min: int
    critical: bool


class _Hours(TypedDict):
    expected: float
    p80: float


class _Ready(TypedDict):
    p50: str
    p80: str
    p95: str


class _WayOut(TypedDict):
    text: str
    ships_on: str
    feasible: bool
    boards: int


class WorkPlanTree(TypedDict, total=False):
    """The work plan of an answer; all of it left out for a customer."""

    time_zone: str
    hands_on_h: _Hours
    ready: _Ready
    remedies: Sequence[_WayOut]
    steps: Sequence[_Step]


def work_plan(schedule: WorkPlanTree) -> Iterator[str]:
    """The dated steps, and how sure the days are."""
    hours, ready = schedule["hands_on_h"], schedule["ready"]
    rows = [
        (
            _clock(step["starts_at"]),
            f"{step['hands_on_min']} min",
            _length(step["waiting_min"]),
            "decides" if step["critical"] else _length(step["float_min"]),
            step["title"],
        )
        for step in schedule["steps"]
    ]
    yield from table([("begins", "hands on", "then wait", "may slip", ""), *rows])
    yield f"{INDENT}{hours['expected']:g} h expected; one order of five takes more than {hours['p80']:g} h"
    days = f"{ready['p50']} in one order of two, {ready['p80']} in four of five, {ready['p95']} in 19 of 20"
    yield f"{INDENT}Ready by {days}"
    yield f"{INDENT}Clock of {schedule['time_zone']}"
    for way in schedule["remedies"]:
        day = f"{way['boards']} leave on {way['ships_on']}"
        yield from paragraph(f"{'In time' if way['feasible'] else 'Sooner'}: {way['text']} {day}.", further=INDENT * 2)


def _clock(moment: str) -> str:
    return moment[:16].replace("T", " ")


def _length(minutes: int) -> str:
    hours, rest = divmod(minutes, 60)
    return " ".join(filter(None, (f"{hours} h" if hours else "", f"{rest} min" if rest else "")))


# Costs ----------------------------------------------------------------------------------------------------------------


class _Cost(TypedDict):
    title: str
    amount: str


class _ChannelFees(TypedDict):
    channel: str
    amount: str


class _PaymentFees(TypedDict):
    payment: str
    amount: str


class _Discount(TypedDict):
    pct: float
    margin_pct: float
    margin_total: str


_Exchange = TypedDict("_Exchange", {"from": str, "rate": str, "on": str, "source": str})  # "from" is a keyword


class _Risk(TypedDict):
    p80: str
    p95: str


class _FromStock(TypedDict):
    lumber_allowed: str
    lumber_cost: str
    margin_total: str
    margin_pct: float


class BuildUpTree(TypedDict):
    """What a price is made of, as far as it is printed."""

    costs: Sequence[_Cost]
    cost_total: str
    margin_total: str
    floor_total: str
    margin_pct: float
    markup_pct: float
    fees: _ChannelFees
    payment_fees: _PaymentFees | None
    discount: _Discount | None
    exchange: _Exchange | None
    risk: _Risk
    from_stock: NotRequired[_FromStock]
    sensitivity: NotRequired[Tree]


def costs(inside: BuildUpTree, currency: str) -> Iterator[str]:
    """What the price is made of, and what would move it."""
    yield from _build_up(inside)
    exchange = inside["exchange"]
    if exchange is not None:
        rate = f"{exchange['rate']} {currency} for one {exchange['from']}"
        yield f"{INDENT}At {rate}, {exchange['on']}: {exchange['source']}"
    if "sensitivity" in inside:
        yield from moves_told(inside["sensitivity"], INDENT)


def own_currency(inside: BuildUpTree, quoted: str) -> str:
    """The shop's: what it buys is not in the currency of a foreign quote."""
    exchange = inside["exchange"]
    return exchange["from"] if exchange else quoted


def _build_up(inside: BuildUpTree) -> Iterator[str]:
    risk = inside["risk"]
    yield from table(
        [
            *((cost["title"], cost["amount"]) for cost in inside["costs"]),
            ("sum", inside["cost_total"]),
            *_fees(inside),
            (
                f"margin, {inside['margin_pct']:g} % of the price, {inside['markup_pct']:g} % of the cost",
                inside["margin_total"],
            ),
            *_discount(inside["discount"]),
            ("never below, without tax", inside["floor_total"]),
            ("cost in one order of five", risk["p80"]),
            ("cost in one of twenty", risk["p95"]),
            *_from_stock(inside.get("from_stock")),
        ],
        right=(1,),
    )


def _fees(inside: BuildUpTree) -> Iterator[tuple[str, str]]:
    yield f"fees of {inside['fees']['channel']}", inside["fees"]["amount"]
    if inside["payment_fees"] is not None:
        yield f"fees of {inside['payment_fees']['payment']}", inside["payment_fees"]["amount"]


def _discount(found: _Discount | None) -> Iterator[tuple[str, str]]:
    if found is not None:
        yield f"margin after {found['pct']:g} % off, {found['margin_pct']:g} %", found["margin_total"]


def _from_stock(found: _FromStock | None) -> Iterator[tuple[str, str]]:
    if found is not None:
        yield f"wood by the stock plan, {found['lumber_allowed']} allowed", found["lumber_cost"]
        yield f"margin with that wood, {found['margin_pct']:g} %", found["margin_total"]
