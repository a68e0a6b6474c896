"""The paths. Every section is asked in the same way: read an order, make its plan, show a part, write it as asked."""

from collections.abc import Mapping, Sequence
from dataclasses import replace
from datetime import date, datetime
from functools import partial
from itertools import combinations
from typing import Any, Final
from zoneinfo import ZoneInfo

import orjson
from flask import Blueprint, Request, Response, abort, g, redirect, request

from chequerwork.api import price_table, stock_plan, suggestions, views
from chequerwork.api.access import caller_role, require_maker
from chequerwork.api.choices import choices
from chequerwork.api.fields import Closed
from chequerwork.api.http import answer
from chequerwork.api.presentation import Presentation, nothing_beside_the_body, read_presentation, read_wishes
from chequerwork.api.problems import KINDS, explain
from chequerwork.api.reading import read_args, read_json, read_query
from chequerwork.api.schemas import CHOICES, TIMBERS, Reading, beside, flat_shape, order_of, read_asked, read_order
from chequerwork.api.service import Service
from chequerwork.api.sources import sources
from chequerwork.api.timbers import timbers
from chequerwork.domain.basics.errors import Fault, Refused
from chequerwork.domain.basics.shop import KeyRole, Shop
from chequerwork.domain.completion.complete import complete
from chequerwork.domain.order.request import OrderRequest
from chequerwork.domain.plan import SECTIONS, Plan
from chequerwork.render.cells import MEDIA_TYPES, pick, to_csv, to_csv_rows, to_text
from chequerwork.render.quote import quote_page
from chequerwork.render.text import to_page

JSON: Final = "application/json"
SUFFIXES: Final = ("csv", "tsv", "txt")
WORKSHOP_ONLY: Final = frozenset({"materials", "cutting", "finishing"})
QUOTES: Final = "quotes"
PRICED: Final = ("price", QUOTES)  # where the cost of a stock plan may be asked for
_SHAPE: Final = flat_shape()


def blueprint(service: Service) -> Blueprint:
    """All paths of version 1, bound to a service."""
    paths = Blueprint("v1", __name__)
    for section in (*SECTIONS, QUOTES):
        _add(paths, service, section, None, ["GET", "POST"])
        for suffix in SUFFIXES:
            _add(paths, service, section, suffix, ["GET"])
    paths.add_url_rule("/v1/choices", "choices", lambda: _choices(service, None), methods=["GET", "POST"])
    paths.add_url_rule("/v1/timbers", "timbers", lambda: _timbers(service, None), methods=["GET"])
    paths.add_url_rule("/v1/sources", "sources", lambda: _sources(service, None), methods=["GET"])
    for suffix in SUFFIXES:
        _add_siblings(paths, service, suffix)
    for form in (None, *stock_plan.FORMS):
        _add_stock_plan(paths, service, form)
    for form in (None, *price_table.FORMS):
        _add_price_table(paths, service, form)
    for form in (None, *suggestions.FORMS):
        _add_suggestions(paths, service, form)
    paths.add_url_rule("/.well-known/jwks.json", "keys", lambda: _keys(service), methods=["GET"])
    paths.add_url_rule("/healthz", "alive", lambda: _health(well=True), methods=["GET"])
    paths.add_url_rule("/readyz", "ready", lambda: _health(well=_can_quote(service)), methods=["GET"])
    paths.add_url_rule("/openapi.json", "contract_json", lambda: _contract(service, "json"), methods=["GET"])
    paths.add_url_rule("/openapi.yaml", "contract_yaml", lambda: _contract(service, "yaml"), methods=["GET"])
    paths.add_url_rule("/problems/<kind>", "problem", _kind_of_problem, methods=["GET"])
    paths.add_url_rule("/", "home", lambda: redirect("/docs/"), methods=["GET"])
    return paths


def _add(paths: Blueprint, service: Service, section: str, suffix: str | None, methods: list[str]) -> None:
    path, name = (f"/v1/{section}.{suffix}", f"{section}_{suffix}") if suffix else (f"/v1/{section}", section)
    paths.add_url_rule(path, name, lambda: ask(_asked_now(), service, section, suffix), methods=methods)


def _asked_now() -> Request:
    """The request itself: what Flask lends under its name looks it up anew for each of its values."""
    found: Request = request._get_current_object()  # type: ignore[attr-defined]  # noqa: SLF001  as Flask documents
    return found


def _add_siblings(paths: Blueprint, service: Service, suffix: str) -> None:
    for name, answered in (("choices", _choices), ("sources", _sources), ("timbers", _timbers)):
        view = partial(answered, service, suffix)
        paths.add_url_rule(f"/v1/{name}.{suffix}", f"{name}_{suffix}", view, methods=["GET"])


def _add_stock_plan(paths: Blueprint, service: Service, form: str | None) -> None:
    path, name = (f"/v1/stock-plan.{form}", f"stock_plan_{form}") if form else ("/v1/stock-plan", "stock_plan")
    paths.add_url_rule(
        path, name, lambda: stock_plan.ask(request, service, form, day_of=_today), methods=["GET", "POST"]
    )


def _add_price_table(paths: Blueprint, service: Service, form: str | None) -> None:
    path, name = (f"/v1/price-table.{form}", f"price_table_{form}") if form else ("/v1/price-table", "price_table")
    paths.add_url_rule(
        path, name, lambda: price_table.ask(request, service, form, day_of=_today), methods=["GET", "POST"]
    )


def _add_suggestions(paths: Blueprint, service: Service, form: str | None) -> None:
    path, name = (f"/v1/suggestions.{form}", f"suggestions_{form}") if form else ("/v1/suggestions", "suggestions")
    paths.add_url_rule(
        path, name, lambda: suggestions.ask(request, service, form, day_of=_today), methods=["GET", "POST"]
    )


def ask(asked: Request, service: Service, section: str, suffix: str | None) -> Response:
    """Answer one request for a section or a whole quote."""
    if section in WORKSHOP_ONLY and "HTTP_AUTHORIZATION" not in asked.environ:
        require_maker(None)  # before anything is read: a stranger costs nothing and learns nothing
    reading, shown = _read(asked, suffix, _wishes(section))
    shop = _shop(service, reading)
    g.shop = shop
    role = caller_role(asked, shop)
    if section in WORKSHOP_ONLY or shown.from_stock or shown.sensitivity:
        require_maker(role)
    workshop = role is KeyRole.MAKER
    plan = Plan(order_of(reading, shop=shop, tables=service.tables, today=_today(shop)), shop, service.tables)
    if section == QUOTES:
        tree = views.quote(plan, service.signer, workshop=workshop)
    else:
        tree = views.section(plan, section, workshop=workshop)
    if shown.explain:
        tree["explain"] = views.explanations(plan, tree, workshop=workshop)
    if shown.from_stock:
        stock_plan.add_from_stock(tree, plan)
    if shown.sensitivity:
        tree["price"]["workshop"]["sensitivity"] = views.sensitivity(plan)
    title = f"{section.capitalize()} for a board of {plan.order.field.columns} x {plan.order.field.rows} squares"
    body, content_type = _written(tree, title, suffix, shown)
    return answer(asked, body, content_type, private=role is not None)


def _wishes(section: str) -> tuple[str, ...]:
    return ("explain", "from_stock", "sensitivity") if section in PRICED else ("explain",)


def _read(asked: Request, suffix: str | None, wishes: Sequence[str]) -> tuple[Reading, Presentation]:
    raw, shown, faults = _raw(asked, suffix, _SHAPE, wishes=wishes)
    return beside(read_order(raw, frozenset(f.at for f in faults)), faults), shown


def _raw(
    asked: Request, suffix: str | None, shape: Mapping[str, str], *, wishes: Sequence[str] = ()
) -> tuple[dict[str, Any], Presentation, list[Fault]]:
    """What was asked, as a nested dict, from a body or a flat query; how to write the answer; faults of the query."""
    if asked.method == "POST":
        return *_body(asked, wishes), []
    wished, args, faults = read_wishes(read_args(asked), wishes)
    shown = wished
    if suffix is not None:
        shown, args, more = read_presentation(args, suffix)
        faults += more
    raw, more = read_query(args, shape=shape)
    shown = replace(shown, explain=wished.explain, from_stock=wished.from_stock, sensitivity=wished.sensitivity)
    return raw, shown, [*faults, *more]


def _shop(service: Service, reading: Reading) -> Shop:
    try:
        return service.shop(reading.shop)
    except Refused as refused:
        raise Refused([*refused.faults, *reading.faults]) from None


def _body(asked: Request, wishes: Sequence[str]) -> tuple[dict[str, Any], Presentation]:
    """The body of a request. It says all of an order: any other parameter beside it would be ignored without a word."""
    shown = Presentation()
    if asked.query_string:
        shown, args, faults = read_wishes(read_args(asked), wishes)
        nothing_beside_the_body(args, faults)
    return read_json(asked), shown


def _written(tree: dict[str, Any], title: str, suffix: str | None, shown: Presentation) -> tuple[bytes, str]:
    if suffix is None:
        return orjson.dumps(tree), JSON
    if suffix == "txt":
        if shown.field is not None:
            return to_text(pick(tree, shown.field)).encode(), MEDIA_TYPES[suffix]
        return (quote_page(tree) if "quote" in tree else to_page(tree, title)).encode(), MEDIA_TYPES[suffix]
    return to_csv(tree, **_form(shown)), MEDIA_TYPES[suffix]


def _form(shown: Presentation) -> dict[str, Any]:
    """How a table is to be written."""
    return {"columns": shown.columns, "delimiter": shown.delimiter, "decimal": shown.decimal, "bom": shown.bom}


def _choices(service: Service, suffix: str | None) -> Response:
    """What a shop offers; asked like a section, but of nothing more than the shop."""
    _, shop, shown = _asked(service, CHOICES, suffix)
    shop = shop or service.shop(None)
    g.shop = shop
    served = {key: each.name for key, each in service.shops.items()}
    tree = choices(shop, service.tables, served)
    body, content_type = _written(tree, f"What {shop.name} offers", suffix, shown)
    return answer(request, body, content_type, private=False)


def _asked(service: Service, schema: Closed, suffix: str | None) -> tuple[dict[str, Any], Shop | None, Presentation]:
    """What is asked of a path that takes no order, of which shop, and how to write the answer."""
    raw, shown, faults = _raw(request, suffix, flat_shape(schema))
    asked, more = read_asked(schema, raw)
    faults += more
    shop = None
    if "shop" in asked:
        try:
            shop = service.shop(asked["shop"])
        except Refused as refused:
            faults += refused.faults
    if faults:
        raise Refused(faults)
    return asked, shop, shown


def _timbers(service: Service, suffix: str | None) -> Response:
    """The species table, as far as a name or a shop leads."""
    asked, shop, shown = _asked(service, TIMBERS, suffix)
    if shop is not None:
        g.shop = shop
    tree = timbers(service.tables, name=asked.get("name"), shop=shop)
    if suffix in ("csv", "tsv"):  # a table of its own: one row for each timber
        every = timbers(service.tables, name=None, shop=None)
        body, content_type = to_csv_rows(tree["timbers"], every["timbers"], **_form(shown)), MEDIA_TYPES[suffix]
    else:
        body, content_type = _written(tree, "Timbers", suffix, shown)
    return answer(request, body, content_type, private=False)


def _sources(service: Service, suffix: str | None) -> Response:
    """What the numbers rest on, whoever the maker is."""
    _, shown, faults = _raw(request, suffix, {})
    if faults:
        raise Refused(faults)
    body, content_type = _written(sources(service.tables), "What the numbers rest on", suffix, shown)
    return answer(request, body, content_type, private=False)


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
    square = shop.ranges.square
    request = OrderRequest(square_mm=(square.low_mm + square.high_mm) / 2, light=pair[0], dark=pair[1])
    try:
        order = complete(request, shop=shop, tables=service.tables, today=_today(shop))
        views.quote(Plan(order, shop, service.tables), service.signer, workshop=True)
    except Refused:
        return False
    return True


def _today(shop: Shop) -> date:
    """The one reading of the clock: the date where the shop is."""
    return datetime.now(ZoneInfo(shop.calendar.time_zone)).date()
