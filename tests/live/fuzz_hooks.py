"""What the generator of `make fuzz` must know of this service and cannot read in its contract.

Loaded by the generator itself; `test_fuzz.py` says how.
"""

import json
import os
from collections.abc import Iterator
from itertools import count

import schemathesis
from schemathesis import Case, Response
from schemathesis.checks import CheckContext
from schemathesis.hooks import HookContext
from schemathesis.schemas import BaseSchema

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


@schemathesis.hook
def filter_case(_context: HookContext, case: Case) -> bool:
    """Of cases that go through the contract value by value, leave out what other forms try."""
    form = (case.method, case.path)
    takes_an_order = case.path.startswith("/v1/") and not case.path.startswith(WITHOUT_ORDER)
    if case.meta is None or case.meta.phase.name != "coverage" or form in IN_DEPTH or not takes_an_order:
        return True
    tried = case.meta.phase.data
    if tried.parameter not in of_the_order or tried.scenario in HOW_IT_IS_ASKED_FOR:
        return True
    turn = turns.setdefault(form, count(len(turns)))  # each form begins one case later than the one before
    return next(turn) % PARTS == 0


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
