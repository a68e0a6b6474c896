"""The contract, generated: request schemas as they read, answer schemas as they are held to, paths from one table."""

import json
from collections.abc import Iterator, Mapping
from typing import Any, Final

import yaml
from apispec import APISpec
from apispec.ext.marshmallow import MarshmallowPlugin
from marshmallow import fields

from chequerwork import __version__
from chequerwork.api import answers
from chequerwork.api.endpoints import ENDPOINTS
from chequerwork.api.fields import TEXT_FORMS
from chequerwork.api.forms import JSON, Form
from chequerwork.api.openapi_parts import (
    BOARD,
    ERRORS,
    PRESENTATION,
    REFRESH,
    WHOLE,
    Json,
    Parameters,
    flat,
    in_query,
    request_schemas,
    shared_parameters,
    table_schemas,
)
from chequerwork.api.pipeline import Endpoint, Who
from chequerwork.api.problems import KINDS, MEDIA_TYPE

_SECURITY: Final[Mapping[Who, list[Json]]] = {
    Who.ANYONE: [],
    Who.CUSTOMER: [{}, {"accessKey": []}],
    Who.MAKER: [{"accessKey": []}],
}
# What a path of ours may answer besides 200 and 304. The server itself may also send 405, 500 and 503.
_PROMISED: Final = frozenset({"400", "401", "403", "404", "413", "414", "415", "422"})
_UNCHANGED: Final[Json] = {"description": "Unchanged since the entity tag of If-None-Match"}
_HEADERS: Final[Json] = {
    "ETag": {"description": "Entity tag of exactly these bytes", "schema": {"type": "string"}},
    "X-Request-Id": {"description": "Id of this request", "schema": {"type": "string"}},
}
_KEYS: Final = (
    "A storefront's or a maker's key of one shop. Without a key you have the customer view; a maker's key opens "
    "the workshop view."
)
_ABOUT: Final = (
    "One request for a handmade chequered board in; sizes, cut list, materials, wood movement, finishing, dates, "
    "parcel, notices and price out. The calculation is a pure function: the same order, with `issued_on` and "
    "`starts_on` given, is answered with the same bytes. Lengths are texts with a unit; answers carry the unit in "
    "each name. Money is text with a point. Answers may gain fields within a version: ignore what you do not know.\n\n"
    "Everything here is a planning aid. Safety, customs and timber law notices are prompts: ask the authority that "
    "each names."
)


def contract() -> Json:
    """The OpenAPI 3.1 document as a plain tree, the same for the same code."""
    spec = APISpec(
        title="Chequerwork",
        version=__version__,
        openapi_version="3.1.0",
        plugins=[_plugin()],
        info={"description": _ABOUT},
        servers=[{"url": "/", "description": "The service that shows this page"}],
        tags=[
            {"name": "board", "description": "One order in, one section of its plan out"},
            {"name": "spreadsheet", "description": "The same, flat, for cells and plain clients"},
            {"name": "service", "description": "What is offered, keys, health"},
        ],
        security=[],
    )
    for name, form in TEXT_FORMS.items():
        spec.components.schema(name, component=dict(form))
    for name, schema in request_schemas():
        spec.components.schema(name, dict(WHOLE.get(name, {})), schema=schema)
    for name, answered in answers.schemas().items():
        spec.components.schema(name, answered)
    spec.components.security_scheme("accessKey", {"type": "http", "scheme": "bearer", "description": _KEYS})
    for name, refusal in _problem_responses():
        spec.components.response(name, refusal)
    for name, parameter in shared_parameters():
        spec.components.parameter(name, "query", parameter)
    for path, operations in (*_endpoints(), *_of_the_service()):
        spec.path(path, operations=operations)
    # Through JSON: plain dicts, lists and texts only, no schema objects or special strings.
    document: Json = json.loads(json.dumps(spec.to_dict()))
    components = document["components"]["schemas"]
    components |= table_schemas(components)
    return document


def to_yaml(document: Json) -> str:
    """The document as YAML in its own order."""
    text: str = yaml.safe_dump(document, sort_keys=False, allow_unicode=True, width=110)
    return text


def _plugin() -> MarshmallowPlugin:
    class Plugin(MarshmallowPlugin):
        """Takes each field's own word for its JSON Schema."""

        def init_spec(self, spec: APISpec) -> None:
            super().init_spec(spec)
            if self.converter is not None:
                self.converter.add_attribute_function(_own_contract)  # type: ignore[no-untyped-call]

    return Plugin(schema_name_resolver=lambda schema: schema.__class__.__name__.removesuffix("Schema"))


def _own_contract(_: Any, field: fields.Field[Any], **__: Any) -> Json:
    contract: Json = field.metadata.get("contract", {})
    return contract


# Endpoints ------------------------------------------------------------------------------------------------------------


def _endpoints() -> Iterator[tuple[str, Json]]:
    for endpoint in ENDPOINTS:
        for suffix, form in endpoint.forms.items():
            operations = {"get": _get(endpoint, suffix, form)}
            if endpoint.takes_body(suffix):
                operations = {"post": _post(endpoint, suffix, form), **operations}
            yield endpoint.path(suffix), operations


def _post(endpoint: Endpoint[Any, Any, Any], suffix: str | None, form: Form[Any]) -> Json:
    content: Json = {"schema": _ref(endpoint.reader.component)}
    if suffix is None and endpoint.examples:
        content["examples"] = {name: {"value": dict(asked)} for name, asked in endpoint.examples.items()}
    body = {"requestBody": {"required": True, "content": {JSON: content}}}
    responses = {"responses": {**_answered(endpoint, form), **_refused(endpoint, "413", "415")}}
    told = {"operationId": endpoint.id(suffix), **_told(endpoint, suffix, form)}
    if endpoint.who is Who.ANYONE:
        return {**told, **responses, **body}
    return {**told, "parameters": _beside_a_body(endpoint, form), **body, **responses}


def _get(endpoint: Endpoint[Any, Any, Any], suffix: str | None, form: Form[Any]) -> Json:
    told = {"operationId": endpoint.id(suffix), **_told(endpoint, suffix, form)}
    if endpoint.takes_body(suffix):
        told |= {"operationId": f"{endpoint.id(suffix)}_get", "summary": f"{told['summary']}, {endpoint.asked_flat}"}
    responses = {**_answered(endpoint, form), "304": _UNCHANGED, **_refused(endpoint, "414")}
    return {**told, "parameters": _in_query(endpoint, form), "responses": responses}


def _told(endpoint: Endpoint[Any, Any, Any], suffix: str | None, form: Form[Any]) -> Json:
    few = f", up to {form.most_rows} rows" if form.most_rows else ""
    return {
        "tags": ["spreadsheet" if form.for_cells else endpoint.tag],
        "summary": f"{endpoint.summary}, as .{suffix}{few}" if suffix else endpoint.summary,
        "security": _SECURITY[endpoint.who],
    }


def _beside_a_body(endpoint: Endpoint[Any, Any, Any], form: Form[Any]) -> Parameters:
    if not endpoint.bodies_everywhere:
        return [*endpoint.flags]
    columns = [form.columns] if form.columns else []
    return in_query(*columns, *_board(form), *_look(form), *_errors(form), REFRESH)


def _in_query(endpoint: Endpoint[Any, Any, Any], form: Form[Any]) -> Parameters:
    asked, more = flat(endpoint.reader.component, form)
    look, errors = in_query(*_look(form)), in_query(*_errors(form))
    refresh = in_query(REFRESH)
    # The order of parameters means nothing; it stays as it was first published.
    if endpoint.who is Who.ANYONE:
        columns = in_query(form.columns) if form.columns and "columns" in form.takes else []
        return [*asked, *refresh, *look, *errors, *columns]
    if endpoint.reader.alternatives:
        return [*asked, *look, *errors, *refresh]
    return [*asked, *endpoint.flags, *look, *refresh, *errors, *more, *in_query(*_board(form))]


def _look(form: Form[Any]) -> Iterator[Json]:
    """Parameters of how to write; one that leaves no choice is not told."""
    for name in form.takes:
        if name in PRESENTATION and not (name == "delimiter" and form.plain.delimiter == "\t"):
            yield PRESENTATION[name]


def _errors(form: Form[Any]) -> list[Json]:
    return [ERRORS] if "errors" in form.takes else []


def _board(form: Form[Any]) -> list[Json]:
    return [BOARD] if "board" in form.takes else []


def _answered(endpoint: Endpoint[Any, Any, Any], form: Form[Any]) -> Json:
    media_type = form.media_type.partition(";")[0]
    schema = _ref(endpoint.view) if media_type == JSON else {"type": "string"}
    content = {"content": {media_type: {"schema": schema}}}
    headers = {"headers": _HEADERS}
    parts = {**content, **headers} if endpoint.who is Who.ANYONE else {**headers, **content}
    return {"200": {"description": "Answer", **parts}}


def _refused(endpoint: Endpoint[Any, Any, Any], *more: str) -> Json:
    statuses = ["400", "422", *more]
    if endpoint.who is not Who.ANYONE:
        statuses.append("401")
    if endpoint.who is Who.MAKER or endpoint.maker_when:
        statuses.append("403")
    return {status: _response(status) for status in sorted(statuses)}


# Of the service itself ------------------------------------------------------------------------------------------------


def _of_the_service() -> Iterator[tuple[str, Json]]:
    health: Json = {JSON: {"schema": _ref("Health")}}
    anything: Json = {"type": "object"}
    yield "/healthz", _plain("alive", "Whether the process answers", health, kept=False)
    ready = _plain("ready", "Whether every shop can quote", health, kept=False)
    ready["get"]["responses"]["503"] = {"description": "Not ready", "content": health}
    yield "/readyz", ready
    keys = _plain("keys", "Public keys of signed quotes (RFC 7517)", {JSON: {"schema": anything}})
    yield "/.well-known/jwks.json", keys
    kind = {"in": "path", "name": "kind", "required": True, "schema": {"type": "string", "enum": list(KINDS)}}
    words = {"text/plain": {"schema": {"type": "string"}}}
    page = _plain("problem", "What a kind of problem means: where its type leads", words)
    page["get"]["responses"]["404"] = _response("404")
    page["get"]["parameters"] = [kind]
    yield "/problems/{kind}", page
    yield "/openapi.json", _plain("contract_json", "This document", {JSON: {"schema": anything}})
    yield "/openapi.yaml", _plain("contract_yaml", "This document as YAML", {"application/yaml": {"schema": anything}})


def _plain(name: str, summary: str, content: Json, *, kept: bool = True) -> Json:
    """A path that nothing is asked of; ``kept`` is whether its answer may be kept and asked for again."""
    responses: Json = {"200": {"description": "Answer", "content": content}}
    if kept:
        responses["200"]["headers"] = _HEADERS
        responses["304"] = _UNCHANGED
    told = {"operationId": name, "tags": ["service"], "summary": summary, "security": []}
    return {"get": {**told, "responses": responses}}


# Pieces ---------------------------------------------------------------------------------------------------------------


def _problem_responses() -> Iterator[tuple[str, Json]]:
    for status, title in sorted(set(KINDS.values())):
        if str(status) not in _PROMISED:
            continue
        yield (
            f"Problem{status}",
            {"description": title, "content": {MEDIA_TYPE: {"schema": _ref("Problem")}}},
        )


def _response(status: str) -> Json:
    """A refusal, by its status."""
    return {"$ref": f"#/components/responses/Problem{status}"}


def _ref(name: str) -> Json:
    """A named schema."""
    return {"$ref": f"#/components/schemas/{name}"}
