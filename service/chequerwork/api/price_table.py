"""Tables of prices: an order some of whose fields are lists, every combination priced, a row for each.

Rows are made one at a time, while they are sent. Whatever can be wrong with a request is told before the first one; a
combination that cannot be made is a row that says why.
"""

import itertools
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date
from typing import Any, Final

import orjson

from chequerwork.api.component import AnswerContext, Component, other, text, texts, whole
from chequerwork.api.forms import JSON, Body, Form, Forms, as_cells, names_of
from chequerwork.api.order_view import order as order_tree
from chequerwork.api.pipeline import Context, Reader, find_shop
from chequerwork.api.presentation import Presentation
from chequerwork.api.problems import invalid_order, parameter
from chequerwork.api.reading import ONE_TABLE
from chequerwork.api.schemas import flat_shape
from chequerwork.api.sections.trees import amount, mm
from chequerwork.api.service import Service, day_at
from chequerwork.api.table_reading import TableRequest, check_names, read_table
from chequerwork.api.views import CUSTOMER_SECTIONS, SECTION_VIEWS
from chequerwork.domain.basics.advice import Audience
from chequerwork.domain.basics.errors import Fault, Path, Refused
from chequerwork.domain.basics.facts import Tables
from chequerwork.domain.basics.memory import Made, Memory
from chequerwork.domain.basics.shop import Shop
from chequerwork.domain.completion.complete import complete
from chequerwork.domain.order.request import OrderRequest
from chequerwork.domain.plan import SECTIONS, Plan
from chequerwork.ops.limits import MAX_COMBINATIONS, MAX_FAULTS, PAGE_ROWS, WHOLE_ROWS
from chequerwork.render.cells import MEDIA_TYPES, Scalar, csv_header, csv_lines, lenient, pick
from chequerwork.render.table_page import table_page

FAULT: Final = ("fault", "fault_text")  # columns of a row that cannot be priced
_ENOUGH: Final = 2 * MAX_FAULTS  # faults that are told of a table none of whose combinations can be made
_SEARCHED: Final = 200  # rows in which a column is looked for
PRICES: Final = (
    "geometry.overall.length_mm",
    "geometry.overall.width_mm",
    "price.unit_gross",
    "price.shipping",
    "price.tax",
    "price.total",
    "price.currency",
)
COSTS: Final = ("price.workshop.cost_total", "price.workshop.margin_pct")
PRICE_TABLE: Final = Component(
    "PriceTableAnswer",
    text("shop", of="shop.id"),
    text("tables_version", "Version of the fact tables behind every number.", "tables.version"),
    whole("combinations", "Rows.", "asked.size"),
    texts("columns", "Names of a row's values, in their order."),
    other(
        "rows",
        {
            "type": "array",
            "items": {"type": "object", "additionalProperties": {"type": ["string", "number", "boolean", "null"]}},
        },
        "One for each combination, the last list of the request changing fastest. A row that cannot be priced has "
        "the code of its fault and a sentence, and null in place of the prices.",
        lambda *_: [],  # sent as they are made
    ),
)
COMPONENTS: Final = (PRICE_TABLE,)
_SHAPE: Final = flat_shape()
_AT_ONCE: Final = 100  # rows in one piece of a body


@dataclass(frozen=True, slots=True, kw_only=True)
class PricedRow:
    """One combination: what it asks for, and its plan or why there is none."""

    numbers: tuple[int, ...]  # which alternative of each field
    asked: Mapping[str, Scalar]
    plan: Plan | None
    faults: tuple[Fault, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Table:
    """A request that can be answered."""

    asked: TableRequest
    shop: Shop
    tables: Tables
    day: date
    caller: Audience
    leaves: Mapping[str, Callable[[Plan], Scalar]]
    made: Made
    columns: Sequence[str] = ()

    def rows(self) -> Iterator[PricedRow]:
        """Every combination, the last list of the request changing fastest."""
        for numbers in itertools.product(*(range(field.node.size) for field in self.asked.fields)):
            yield _row(self, numbers)

    def plan(self, request: OrderRequest) -> Plan:
        """The plan of one combination, made of what others have in common with it. Raises ``Refused``."""
        order = complete(request, shop=self.shop, tables=self.tables, today=self.day, made=self.made)
        return Plan(order, self.shop, self.tables, self.made)


def _row(table: Table, numbers: tuple[int, ...]) -> PricedRow:
    values: dict[str, Any] = {}
    cells: dict[str, Scalar] = {}
    faults: tuple[Fault, ...] = ()
    for field, number in zip(table.asked.fields, numbers, strict=True):
        option = field.option(number)
        values[field.attribute] = option.value
        cells |= option.cells
        faults += option.faults
    if faults:
        return PricedRow(numbers=numbers, asked=cells, plan=None, faults=faults)
    try:
        plan = table.plan(OrderRequest(**values))
        plan.price  # noqa: B018 - it may be refused too
    except Refused as refused:
        return PricedRow(numbers=numbers, asked=cells, plan=None, faults=refused.faults)
    return PricedRow(numbers=numbers, asked=cells, plan=plan)


# Reading --------------------------------------------------------------------------------------------------------------


def _shop(asked: TableRequest, service: Service) -> Shop:
    return find_shop(service, asked.shop, asked.faults)


READER: Final = Reader(
    component="PriceTableOrder",
    shape=_SHAPE,
    of_query=read_table,
    of_body=read_table,
    shop=_shop,
    bounds=ONE_TABLE,
    alternatives=True,
)


# Answering ------------------------------------------------------------------------------------------------------------


def answer(asked: TableRequest, context: Context[Shop]) -> Table:
    """Answer one request for a table of prices: with all that its rows are made from.

    Raises
    ------
    Refused, Problem
        With every fault of the request; or there is no combination that can be made, for one reason.
    """
    shop, tables, day = context.shop, context.service.tables, day_at(context.shop)
    caller = Audience.WORKSHOP if context.workshop else Audience.ALL
    table = Table(
        asked=asked,
        shop=shop,
        tables=tables,
        day=day,
        caller=caller,
        leaves=leaves(caller),
        made=Memory().made,
    )
    return replace(table, columns=_columns(table, context.shown, context.form.most_rows))


def _columns(table: Table, shown: Presentation, most_rows: int | None) -> Sequence[str]:
    """The columns, once nothing can be wrong any more but single rows."""
    asked = table.asked
    faults = [*asked.faults, *check_names(asked, table.shop, table.tables, table.day)]
    if most_rows is not None and asked.size > most_rows:
        detail = f"A page has {most_rows} rows at most, and there are {asked.size}. Ask for .csv, or shorten the lists."
        faults.append(Fault(at=(), code="too-many", detail=detail))
    if faults:
        raise Refused(faults)
    first = _first_made(table)
    if shown.columns:
        if first is not None:
            _check_columns(table, shown.columns, first)
        return shown.columns
    varied = list(dict.fromkeys(name for field in asked.fields for name in field.varied))
    return [*varied, *PRICES, *(COSTS if table.caller is Audience.WORKSHOP else ()), *FAULT]


def _first_made(table: Table) -> PricedRow | None:
    """The first combination that can be made; None where none can, for different reasons.

    Raises
    ------
    Refused
        None can, all for the same field.
    """
    found: dict[tuple[Path, str], Fault] = {}
    common: set[str] | None = None
    for row in table.rows():
        if row.plan is not None:
            return row
        for fault in table.asked.placed(row.numbers, row.faults) if len(found) < _ENOUGH else ():
            found.setdefault((fault.at, fault.code), fault)
        names = {str(fault.at[0]) for fault in row.faults if fault.at}
        common = names if common is None else common & names
        if not common:
            break
    if common:
        raise Refused([fault for fault in found.values() if fault.at and str(fault.at[0]) in common])
    return None if common is None else next((row for row in table.rows() if row.plan is not None), None)


def _check_columns(table: Table, columns: Sequence[str], first: PricedRow) -> None:
    """Refuse names of which no row has a value: those that the first row lacks are looked for in others."""
    lacking = [name for name in columns if not _has(table, first, name)]
    for row in itertools.islice(table.rows(), _SEARCHED) if lacking else ():
        lacking = [name for name in lacking if not _has(table, row, name)]
    if lacking and first.plan is not None:
        tree = _tree(table, first.plan, (*lacking, *PRICES))
        faults: list[Fault] = []
        for name in lacking:
            try:
                pick({**dict.fromkeys(_SHAPE), **tree}, name, at=("columns",))
            except Refused as refused:
                faults += refused.faults
        raise invalid_order(faults, in_query=True)


def _has(table: Table, row: PricedRow, name: str) -> bool:
    if name in _SHAPE or name in FAULT:
        return True
    if row.plan is None:
        return False
    try:
        pick(_tree(table, row.plan, (name,)), name)
    except Refused:
        return False
    return True


# Rows -----------------------------------------------------------------------------------------------------------------


def _tree(table: Table, plan: Plan, names: Iterable[str]) -> dict[str, Any]:
    """The sections that the names begin with, as far as the caller sees them."""
    visible = SECTIONS if table.caller is Audience.WORKSHOP else CUSTOMER_SECTIONS
    found: dict[str, Any] = {}
    for section in dict.fromkeys(name.partition(".")[0] for name in names if name not in _SHAPE):
        if section == "order":
            found[section] = order_tree(plan.order)
        elif section in visible:
            found[section] = SECTION_VIEWS[section].view(plan, table.caller)
    return found


# Leaves of the views that most tables show, each by itself: no row needs the whole section for them.
_SIZES_AND_PRICE: Final[Mapping[str, Callable[[Plan], Scalar]]] = {
    "geometry.overall.length_mm": lambda plan: mm(plan.geometry.overall.length_mm),
    "geometry.overall.width_mm": lambda plan: mm(plan.geometry.overall.width_mm),
    "price.unit_gross": lambda plan: amount(plan.price.unit_gross),
    "price.unit_net": lambda plan: amount(plan.price.unit_net),
    "price.shipping": lambda plan: amount(plan.price.shipping),
    "price.tax": lambda plan: amount(plan.price.tax),
    "price.total": lambda plan: amount(plan.price.total),
    "price.currency": lambda plan: plan.price.currency,
}
_COST: Final[Mapping[str, Callable[[Plan], Scalar]]] = {
    "price.workshop.cost_total": lambda plan: amount(plan.price.cost_total),
    "price.workshop.margin_pct": lambda plan: float(plan.price.margin_pct),
}


def leaves(caller: Audience) -> Mapping[str, Callable[[Plan], Scalar]]:
    """Sizes and values of a price that a caller sees, by their names, as the views of the sections have them."""
    return {**_SIZES_AND_PRICE, **_COST} if caller is Audience.WORKSHOP else _SIZES_AND_PRICE


def _cells(table: Table, names: Sequence[str], row: PricedRow) -> list[Scalar]:
    tree: Mapping[str, Any] = {}
    faults = row.faults
    if row.plan is not None:
        try:
            tree = _tree(table, row.plan, (name for name in names if name not in table.leaves))
        except Refused as refused:  # a section may be refused that the price does not need, such as dates
            faults = refused.faults
    told: Mapping[str, Scalar] = dict(zip(FAULT, _told(faults) if faults else (None, None), strict=True))
    plan = row.plan if not faults else None
    return [_cell(table, row, name, told, plan, tree) for name in names]


def _cell(
    table: Table, row: PricedRow, name: str, told: Mapping[str, Scalar], plan: Plan | None, tree: Mapping[str, Any]
) -> Scalar:
    """One value of a row: as it was asked, of its fault, or of the plan; None where there is none."""
    if name in _SHAPE:
        return row.asked.get(name, table.shop.id if name == "shop" else None)
    if name in told:
        return told[name]
    if plan is None:
        return None
    leaf = table.leaves.get(name)
    return lenient(tree, name) if leaf is None else leaf(plan)


def _told(faults: Sequence[Fault]) -> tuple[str, str]:
    """Code and sentence of the first fault; the others are counted."""
    first = faults[0]
    more = f" (1 of {len(faults)} faults)" if len(faults) > 1 else ""
    where = f"{parameter(first.at)}: " if first.at else ""
    return first.code, f"{where}{first.detail}{more}"


# Writing --------------------------------------------------------------------------------------------------------------


def _sent(table: Table, chunks: Iterator[bytes]) -> Body:
    """A short table whole, a long one in pieces."""
    return b"".join(chunks) if table.asked.size <= WHOLE_ROWS else chunks


def _rows(table: Table) -> Iterator[list[Scalar]]:
    return (_cells(table, table.columns, row) for row in table.rows())


def _pieces(table: Table) -> Iterator[list[list[Scalar]]]:
    rows = _rows(table)
    while some := list(itertools.islice(rows, _AT_ONCE)):
        yield some


def _as_cells(table: Table, shown: Presentation) -> Iterator[bytes]:
    yield csv_header(table.columns, delimiter=shown.delimiter, bom=shown.bom)
    for some in _pieces(table):
        yield csv_lines(some, delimiter=shown.delimiter, decimal=shown.decimal)


def _as_lines(table: Table) -> Iterator[bytes]:
    for some in _pieces(table):
        yield b"".join(orjson.dumps(row, option=orjson.OPT_APPEND_NEWLINE) for row in _named(table, some))


def _as_json(table: Table) -> Iterator[bytes]:
    yield orjson.dumps(PRICE_TABLE.write(table, AnswerContext()))[:-2]
    between = b""
    for some in _pieces(table):
        yield between + b",".join(orjson.dumps(row) for row in _named(table, some))
        between = b","
    yield b"]}"


def _named(table: Table, rows: Iterable[Sequence[Scalar]]) -> Iterator[dict[str, Scalar]]:
    return (dict(zip(table.columns, row, strict=True)) for row in rows)


def _as_page(table: Table) -> bytes:
    return table_page(f"Prices of {table.shop.name}", table.columns, [*_named(table, _rows(table))], FAULT).encode()


COLUMNS_TOLD: Final = (
    f"Names of the columns in their order, joined by semicolons: fields of the order and values of the answer. "
    f"Left out, the fields that vary, size, prices and what is wrong. Up to {MAX_COMBINATIONS} combinations."
)
_NAMES: Final = {**names_of("the columns", "square;price.total;fault"), "description": COLUMNS_TOLD}
_PICKED: Final = ("columns",)
FORMS: Final[Forms[Table]] = {
    None: Form(
        media_type=JSON,
        write=lambda table, _: _sent(table, _as_json(table)),
        takes=_PICKED,
        columns=_NAMES,
        for_cells=False,
    ),
    **as_cells(lambda table, shown: _sent(table, _as_cells(table, shown)), _NAMES),
    "ndjson": Form(
        media_type="application/x-ndjson",
        write=lambda table, _: _sent(table, _as_lines(table)),
        takes=_PICKED,
        columns=_NAMES,
    ),
    "txt": Form(
        media_type=MEDIA_TYPES["txt"],
        write=lambda table, _: _as_page(table),
        takes=(*_PICKED, "errors"),
        columns=_NAMES,
        most_rows=PAGE_ROWS,
    ),
}
