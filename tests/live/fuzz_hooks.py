"""What the generator of `make fuzz` must know of this service and cannot read in its contract.

Loaded by the generator itself; `test_fuzz.py` says how.
"""

import json
import os
from collections.abc import Callable, Iterator, Mapping
from itertools import count
from zlib import crc32

import schemathesis
from contract.check import FULL, ORDERS, flat
from schemathesis import Case, Response
from schemathesis.checks import CheckContext
from schemathesis.hooks import HookContext
from schemathesis.schemas import BaseSchema

Fields = Mapping[str, object]

INLINE = os.environ.get("FUZZ_INLINE") == "1"

# Refusals that no schema can foretell: they depend on the shop, on today, or on two fields together.
RULES = frozenset(
    {
        "ambiguous-name",
        "before-start",
        "beyond-board",
        "conflict",
        "duplicate",
        "duplicate-id",
        "improper-fraction",
        "in-the-past",
        "lumber-too-thin",
        "no-board-long-enough",
        "no-board-so-sawn",
        "no-board-thick-enough",
        "no-board-wide-enough",
        "no-sheet-so-thick",
        "no-such-board",
        "not-offered",
        "odd-columns",
        "out-of-range",
        "overlapping",
        "parcel-too-large",
        "pieces-missing",
        "price-needed",
        "too-few",
        "too-heavy",
        "too-large",
        "too-late",
        "too-many",
        "too-small",
        "too-thin-to-float",
        "unknown-name",
        "zero-denominator",
    }
)
# In a flat query the parts of one thing stand side by side, and a list is one text; a contract of query parameters
# cannot say that some need others, how long a length inside the text may be, which days of a list there are, nor that
# ``columns`` comes once as each of two things.
RULES_OF_FLAT_QUERIES = RULES | {"bad-list", "missing", "no-such-day", "repeated", "too-long", "unknown-field"}


# Some seventy forms of paths take one and the same order. All that the contract says of it, value by value, is tried on
# these; every other form tries a part of it, each another, so that together they try all of it some five times. What a
# form has of its own, and how it is asked for, is tried whole on each.
IN_DEPTH = frozenset(
    {
        ("GET", "/v1/price-table"),
        ("GET", "/v1/quotes"),
        ("POST", "/v1/price-table"),
        ("POST", "/v1/quotes"),
        ("POST", "/v1/stock-plan"),
        ("POST", "/v1/suggestions"),
    }
)
WITHOUT_ORDER = ("/v1/choices", "/v1/sources", "/v1/timbers")
PARTS = 12
HOW_IT_IS_ASKED_FOR = frozenset(
    {
        "default_positive_test",
        "malformed_content_type",
        "missing_parameter",
        "unspecified_http_method",
        "unsupported_content_type",
    }
)
of_the_order: set[str | None] = {None, "application/json"}
turns: dict[tuple[str, str], Iterator[int]] = {}


@schemathesis.hook
def after_load_schema(_context: HookContext, schema: BaseSchema) -> None:
    """Learn which parameters an order has in a query; a case without a name is of several of them."""
    of_the_order.update(parameter.name for parameter in schema["/v1/quotes"]["GET"].query)


def takes_an_order(case: Case) -> bool:
    """Whether this is a form of a path that is asked about an order."""
    return case.path.startswith("/v1/") and not case.path.startswith(WITHOUT_ORDER)


@schemathesis.hook
def filter_case(_context: HookContext, case: Case) -> bool:
    """Of cases that go through the contract value by value, leave out what other forms try."""
    form = (case.method, case.path)
    if case.meta is None or case.meta.phase.name != "coverage" or form in IN_DEPTH or not takes_an_order(case):
        return True
    tried = case.meta.phase.data
    if tried.parameter not in of_the_order or tried.scenario in HOW_IT_IS_ASKED_FOR:
        return True
    turn = turns.setdefault(form, count(len(turns)))  # each form begins one case later than the one before
    return next(turn) % PARTS == 0


# Fifty fields generated at once are never an order that can be made, and what is refused is never computed. So values
# are tried on a sound order: of cases that go through the contract each that is new to a form, of random ones some of
# the order and more of what stands beside it.
MOOSGRUND = [order for order in ORDERS.values() if order.get("shop", "moosgrund") == "moosgrund"]
ONE_IN, ONE_BESIDE_IN = 8, 2
asked_with: dict[tuple[str, str], set[str]] = {}


def with_what_is_new(given: Fields, sound: Fields, case: Case) -> Fields:
    """Fields as generated where a value is new to this form of a path, else as they stand in a sound order."""
    known = asked_with.setdefault((case.method, case.path), set())
    new = {name for name, value in given.items() if f"{name}={value!r}" not in known}
    known.update(f"{name}={value!r}" for name, value in given.items())
    if case.meta.generation.mode.is_positive:
        given = {"square": sound["square"], **given}  # a query need not say it, but an order needs it
    elif not new:
        return given  # a mistake that was made before, or that something is missing
    new.add(case.meta.phase.data.parameter)
    return {name: (given if name in new else sound)[name] for name in given if name in new or name in sound}


def with_some(given: Fields, sound: Fields) -> Fields:
    """A sound order with some fields as generated, the same ones every time."""
    some = {
        name: value
        for name, value in given.items()
        if crc32(f"{name}={value!r}".encode()) % (ONE_IN if name in of_the_order else ONE_BESIDE_IN) == 0
    }
    return {**sound, **some}


def on_a_sound_order(given: Fields, case: Case, written: Callable[[Fields], Fields]) -> Fields:
    """What is generated for an order, as one that reaches further than its reader."""
    if case.meta.phase.name == "coverage":
        return with_what_is_new(given, written(FULL), case)
    return with_some(given, written(MOOSGRUND[crc32(repr(given).encode()) % len(MOOSGRUND)]))


def aim(case: Case) -> None:
    """Try the values of a case on a sound order; random mistakes stay among random values."""
    at_random = case.meta.phase.name == "fuzzing"
    if case.meta.phase.name != "coverage" and not (at_random and case.meta.generation.mode.is_positive):
        return
    if case.method == "GET":
        case.query = on_a_sound_order(case.query, case, flat)
    elif isinstance(case.body, dict) and isinstance(case.body.get("order"), dict):
        case.body = {**case.body, "order": on_a_sound_order(case.body["order"], case, dict)}
    elif isinstance(case.body, dict) and "light" in case.body:
        case.body = on_a_sound_order(case.body, case, dict)


# A generated request for a price table keeps so many alternatives in so many lists: a hundred rows, not thousands, and
# a query that is not longer than a request line may be.
ALTERNATIVES, LISTS = 2, 6


def few_alternatives(value: object, left: list[int]) -> object:
    """The value with two alternatives in the first lists and one in the others; what is no list is as it was."""
    if isinstance(value, dict):
        return {name: few_alternatives(part, left) for name, part in value.items()}
    if isinstance(value, list) and len(value) > 1:
        kept = value[: ALTERNATIVES if left else 1]
        del left[:1]
        return [few_alternatives(each, left) for each in kept]
    if isinstance(value, str) and "|" in value:  # alternatives in a query
        kept = value.split("|")[: ALTERNATIVES if left else 1]
        del left[:1]
        return "|".join(kept)
    return value


@schemathesis.hook
def before_call(_context: HookContext, case: Case, _kwargs: dict[str, object]) -> None:
    """Ask for faults in one cell always or never: such answers have status 200, whatever was wrong."""
    if case.meta is not None and takes_an_order(case):
        aim(case)
    as_the_contract_says = case.meta is not None and case.meta.generation.mode.is_positive
    if case.path.startswith("/v1/price-table") and as_the_contract_says:
        if isinstance(case.body, dict):
            case.body = few_alternatives(case.body, [1] * LISTS)
        left = [1] * LISTS
        for name, value in case.query.items():
            case.query[name] = few_alternatives(value, left)
    if INLINE:
        case.query["errors"] = "inline"
    elif case.query.get("errors") == "inline":
        del case.query["errors"]


@schemathesis.check
def schema_valid_order_is_refused_by_a_rule_only(_context: CheckContext, response: Response, case: Case) -> None:
    """An order of the right shape may be one that cannot be made, but it is never refused for its shape."""
    if response.status_code != 422 or case.meta is None or not case.meta.generation.mode.is_positive:
        return
    known = RULES_OF_FLAT_QUERIES if case.method == "GET" else RULES
    faults = json.loads(response.content)["errors"]
    others = [fault for fault in faults if fault["code"] not in known]
    assert others == [], f"the contract allows what the service refuses: {others}"
