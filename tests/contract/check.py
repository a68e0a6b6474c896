"""Holding an answer to the contract: its status, media type, schema, and that it says nothing the contract does not.

Here are also the orders that the tests of the interface ask for, and two small readers of JSON.
"""

import json
import re
from collections.abc import Iterator, Mapping
from functools import cache
from pathlib import Path
from typing import Any, Self

from flask import Flask
from flask.testing import FlaskClient
from jsonschema import Draft202012Validator, FormatChecker, ValidationError, validators
from referencing import Registry, Resource
from referencing.jsonschema import DRAFT202012
from werkzeug.test import TestResponse

from chequerwork.api.examples import ORDERS as EXAMPLES

PROBLEM = "application/problem+json"
# Objects whose keys the contract leaves open on purpose, by component and key: parts of the completed order, which
# are described where they are asked for, and documents of other standards.
MAPS = frozenset(
    {"CompleteOrder/pieces", "Order/pieces", "Remedy/patch", "Explanation/inputs", "PriceTableAnswer/rows"}
)
# Paths whose whole answer is a document of another standard: a JWK set, and the contract itself.
FOREIGN = frozenset({"/.well-known/jwks.json", "/openapi.json"})
# What the server itself may answer on any path; not promised path by path.
ANYWHERE = frozenset({404, 405, 500, 503})
_URI = "urn:contract"

# Orders of every kind: the contract's own examples, and more that use every field and draw every kind of advice.
_OURS: Mapping[str, Any] = json.loads((Path(__file__).resolve().parents[1] / "api" / "orders.json").read_text("utf-8"))
ORDERS: Mapping[str, Mapping[str, Any]] = {**EXAMPLES, **_OURS}
FULL: Mapping[str, Any] = _OURS["every field"]


def ecma(pattern: str) -> re.Pattern[str]:
    """A pattern as JSON Schema means it (ECMA-262): ``$`` is the end alone, not also before a last line end."""
    return re.compile(pattern.removesuffix("$") + (r"\Z" if pattern.endswith("$") else ""), re.ASCII)


def _pattern(_: Any, pattern: str, value: object, __: Any) -> Iterator[ValidationError]:
    if isinstance(value, str) and not ecma(pattern).search(value):
        yield ValidationError(f"{value!r} is not of the pattern")


_Validator = validators.extend(Draft202012Validator, {"pattern": _pattern})


def leaf_faults(validator: Draft202012Validator, value: object) -> list[str]:
    """Every fault of a value, with its place."""
    return [f"{error.json_path}: {error.message[:200]}" for error in validator.iter_errors(value)]


class Contract:
    """The OpenAPI document, ready to hold answers to."""

    def __init__(self, document: Mapping[str, Any]) -> None:
        self.document = document
        resource = Resource.from_contents(dict(document), default_specification=DRAFT202012)
        self._registry: Registry[Any] = Registry().with_resource(_URI, resource)
        self.validator = cache(self._validator)
        self.seen: set[tuple[str, str, str]] = set()

    def _validator(self, pointer: str) -> Draft202012Validator:
        schema = {"$ref": f"{_URI}#{pointer}"}
        return _Validator(schema, registry=self._registry, format_checker=FormatChecker())

    def component(self, name: str) -> Draft202012Validator:
        """Validator of one named schema."""
        return self.validator(f"/components/schemas/{name}")

    def resolve(self, node: Mapping[str, Any]) -> Mapping[str, Any]:
        """The node itself, or what its reference names."""
        while "$ref" in node:  # what stands beside it only annotates
            found: Any = self.document
            for step in node["$ref"].removeprefix("#/").split("/"):
                found = found[step]
            node = found
        return node

    def operations(self) -> Iterator[tuple[str, str, Mapping[str, Any]]]:
        """Method, path and description of everything the contract offers."""
        for path, methods in self.document["paths"].items():
            for method, operation in methods.items():
                yield method.upper(), path, operation

    def hold(self, answer: TestResponse, method: str, path: str) -> None:
        """Fail unless the contract describes this answer of this operation, and all of it."""
        operation = self.document["paths"][path].get("get" if method == "HEAD" else method.lower())
        if operation is None:
            assert answer.status_code == 405, f"{method} {path} is not in the contract"
            self.hold_problem(answer)
            return
        status = str(answer.status_code)
        if status not in operation["responses"]:
            assert answer.status_code in ANYWHERE, f"{method} {path}: {status} is not in the contract"
            self.hold_problem(answer)
            return
        response = self.resolve(operation["responses"][status])
        self.seen.add((method, path, status))
        content = response.get("content", {})
        if not content:
            assert answer.data == b"", f"{method} {path} {status}: a body that the contract does not have"
            return
        assert answer.mimetype in content, f"{method} {path} {status}: {answer.mimetype} is not in {list(content)}"
        if method != "HEAD" and answer.mimetype.endswith(("/json", "+json")):
            self._hold_tree(answer.get_json(), content[answer.mimetype]["schema"], path)

    def hold_problem(self, answer: TestResponse) -> None:
        """Fail unless this is a problem body as the contract has it, about itself."""
        assert answer.mimetype == PROBLEM
        self._hold_tree(answer.get_json(), {"$ref": "#/components/schemas/Problem"}, "")

    def _hold_tree(self, tree: object, schema: Mapping[str, Any], path: str) -> None:
        if "$ref" not in schema:
            assert path in FOREIGN, f"{path}: the contract does not name the schema of its answer"
            return
        pointer = schema["$ref"].removeprefix("#")
        assert leaf_faults(self.validator(pointer), tree) == [], path
        assert list(self.unnamed(tree, schema)) == [], path

    def unnamed(self, tree: object, schema: Mapping[str, Any], *, owner: str = "", at: str = "") -> Iterator[str]:
        """Places of an answer that its schema does not name, maps of ``MAPS`` aside."""
        for one in schema.get("anyOf", []):
            if one.get("type") != "null" and tree is not None:
                schema = one
        owner = schema["$ref"].rpartition("/")[2] if "$ref" in schema else owner
        named = self.resolve(schema)
        if isinstance(tree, list):
            for index, item in enumerate(tree):
                yield from self.unnamed(item, named.get("items", {}), owner=owner, at=f"{at}/{index}")
        elif isinstance(tree, dict) and owner not in MAPS:
            for key, value in tree.items():
                if key in named.get("properties", {}):
                    inner = named["properties"][key]
                    yield from self.unnamed(value, inner, owner=f"{owner}/{key}", at=f"{at}/{key}")
                else:
                    yield f"{at}/{key}"


class HeldClient(FlaskClient):
    """A client whose every answer of a path of the contract is held to it."""

    contract: Contract

    @classmethod
    def of(cls, app: Flask, contract: Contract) -> Self:
        """A client of this application."""
        client = cls(app, app.response_class, use_cookies=False)
        client.contract = contract
        return client

    def open(self, *args: Any, **kwargs: Any) -> TestResponse:
        """Ask, and hold the answer."""
        answer = super().open(*args, **kwargs)
        method, path = answer.request.method, re.sub("^/problems/[^/]+$", "/problems/{kind}", answer.request.path)
        if method in ("GET", "HEAD", "POST") and path in self.contract.document["paths"]:
            self.contract.hold(answer, method, path)
        return answer


def maker(order: Mapping[str, Any]) -> dict[str, str]:
    """The header with the published key of the order's demo shop that opens the workshop view."""
    return {"Authorization": f"Bearer demo-maker-{order.get('shop', 'moosgrund')}"}


def pointed(tree: Any, pointer: str) -> Any:
    """What a JSON pointer (RFC 6901) names; KeyError, IndexError or ValueError where there is nothing."""
    for step in pointer.split("/")[1:]:
        name = step.replace("~1", "/").replace("~0", "~")
        tree = tree[int(name)] if isinstance(tree, list) else tree[name]
    return tree


def flat(order: Mapping[str, Any], prefix: str = "") -> dict[str, str]:
    """An order as the parameters of a query: nested names by dots, lines by : and ;"""
    found: dict[str, str] = {}
    for name, value in order.items():
        if isinstance(value, dict):
            found |= flat(value, f"{prefix}{name}.")
        elif isinstance(value, list):
            found[prefix + name] = ";".join(f"{each['species']}:{each['width']}" for each in value)
        elif value is not None:
            found[prefix + name] = value if isinstance(value, str) else json.dumps(value)
    return found
