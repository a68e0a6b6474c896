"""All routes: the table of endpoints, and what the service says of itself."""

from functools import partial
from itertools import combinations

import orjson
from flask import Blueprint, Response, abort, redirect, request

from chequerwork.api import views
from chequerwork.api.endpoints import ENDPOINTS
from chequerwork.api.forms import JSON
from chequerwork.api.http import answer
from chequerwork.api.pipeline import add_to
from chequerwork.api.problems import KINDS, explain
from chequerwork.api.service import Service, day_at, plain_square_mm
from chequerwork.domain.basics.errors import Refused
from chequerwork.domain.basics.shop import Shop
from chequerwork.domain.completion.complete import complete
from chequerwork.domain.order.request import OrderRequest
from chequerwork.domain.plan import Plan
from chequerwork.render.cells import MEDIA_TYPES


def blueprint(service: Service) -> Blueprint:
    """All paths, bound to a service."""
    paths = Blueprint("v1", __name__)
    for endpoint in ENDPOINTS:
        add_to(paths, service, endpoint)
    for path, name, view in (
        ("/.well-known/jwks.json", "keys", partial(_keys, service)),
        ("/healthz", "alive", partial(_health, well=True)),
        ("/readyz", "ready", lambda: _health(well=_can_quote(service))),
        ("/openapi.json", "contract_json", partial(_contract, service, "json")),
        ("/openapi.yaml", "contract_yaml", partial(_contract, service, "yaml")),
        ("/problems/<kind>", "problem", _kind_of_problem),
        ("/", "home", lambda: redirect("/docs/")),
    ):
        paths.add_url_rule(path, name, view, methods=["GET"])
    return paths


def _kind_of_problem(kind: str) -> Response:
    """What a type of problem means, where its ``type`` leads."""
    if kind not in KINDS:
        abort(404)
    status, title = KINDS[kind]
    body = f"{title}\n\nStatus {status}. {explain(status)}\n"
    return answer(request, body.encode(), MEDIA_TYPES["txt"], private=False)


def _keys(service: Service) -> Response:
    keys = service.signer.public_keys() if service.signer else {"keys": []}
    return answer(request, orjson.dumps(keys), JSON, private=False)


def _contract(service: Service, form: str) -> Response:
    return answer(request, service.contract(form), f"application/{form}", private=False)


def _health(*, well: bool) -> Response:
    body = orjson.dumps({"status": "pass" if well else "fail"})
    headers = {"Cache-Control": "no-store"} if well else {"Cache-Control": "no-store", "Retry-After": "10"}
    return Response(body, 200 if well else 503, headers, content_type=JSON)


def _can_quote(service: Service) -> bool:
    """Whether every shop can quote a plain board of some two of its timbers."""
    return all(
        any(_quotes(service, shop, pair) for pair in combinations(shop.lumber, 2)) for shop in service.shops.values()
    )


def _quotes(service: Service, shop: Shop, pair: tuple[str, str]) -> bool:
    asked = OrderRequest(square_mm=plain_square_mm(shop), light=pair[0], dark=pair[1])
    try:
        order = complete(asked, shop=shop, tables=service.tables, today=day_at(shop))
        views.quote(Plan(order, shop, service.tables), service.signer, workshop=True)
    except Refused:
        return False
    return True
