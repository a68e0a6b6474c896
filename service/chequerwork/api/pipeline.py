"""The one way from a request to its answer: read it, find its shop, see who asks, answer, write.

What is special about a path stands in its entry of the table of endpoints, never here.
"""

from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import dataclass, field, replace
from enum import Enum, auto
from functools import partial
from typing import Any, Final, Generic, TypeVar

from flask import Blueprint, Request, Response, g, request
from werkzeug.datastructures import ImmutableMultiDict, MultiDict

from chequerwork.api.access import caller_role, require_maker
from chequerwork.api.forms import Answer, Form, Forms
from chequerwork.api.http import answer, stream
from chequerwork.api.presentation import Presentation, nothing_beside_the_body, read_presentation
from chequerwork.api.problems import invalid_order
from chequerwork.api.reading import ONE_ORDER, Bounds, read_args, read_json, read_query
from chequerwork.api.service import Service
from chequerwork.domain.basics.errors import Fault, Path, Refused
from chequerwork.domain.basics.shop import KeyRole, Shop

Read = TypeVar("Read")
OfShop = TypeVar("OfShop")  # Shop, or None where a path may be asked of no shop


class Who(Enum):
    """Who may ask."""

    ANYONE = auto()  # no key is looked at
    CUSTOMER = auto()  # a maker's key shows more
    MAKER = auto()


@dataclass(frozen=True, slots=True, kw_only=True)
class Reader(Generic[Read, OfShop]):
    """How a request is read, from a body or a flat query.

    Attributes
    ----------
    component
        Name in the contract of what is asked.
    shape
        Flat names of a query, and how their texts are read.
    of_query
        What was asked, from the nested query and the faults that were found in it.
    of_body
        What was asked, from a body; None where a path takes none.
    shop
        The shop that is asked. Raises ``Refused`` with every fault of the reading where there is none such.
    bounds
        How much a body may hold.
    alternatives
        Whether a text of a query may hold several.
    order_at
        Where in a body the order stands whose fields stand at the top of a query.
    """

    component: str
    shape: Mapping[str, str]
    of_query: Callable[[dict[str, Any], list[Fault]], Read]
    of_body: Callable[[dict[str, Any]], Read] | None = None
    shop: Callable[[Read, Service], OfShop]
    bounds: Bounds = ONE_ORDER
    alternatives: bool = False
    order_at: Path = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Context(Generic[OfShop]):
    """What an answer rests on besides what was asked."""

    service: Service
    shop: OfShop
    workshop: bool  # whether the maker asks
    shown: Presentation
    form: Form[Any]


@dataclass(frozen=True, slots=True, kw_only=True)
class Endpoint(Generic[Read, OfShop, Answer]):
    """A path of version 1 with its forms.

    Attributes
    ----------
    name
        Of the path.
    reader, answer, forms
        What is asked, what is answered, how it is written.
    who, maker_when
        Who may ask; and when only the maker may, by what is asked.
    flags
        Parameters for what else stands beside the answer.
    bodies_everywhere
        Whether every form takes a body, or the JSON alone.
    view
        Component name of the JSON answer in the contract.
    summary, tag, asked_flat, examples
        Words of the contract; examples are bodies by name.
    """

    name: str
    reader: Reader[Read, OfShop]
    answer: Callable[[Read, Context[OfShop]], Answer]
    forms: Forms[Answer]
    who: Who = Who.CUSTOMER
    maker_when: Callable[[Read, Presentation], bool] | None = None
    flags: tuple[str, ...] = ()
    bodies_everywhere: bool = False
    view: str
    summary: str
    tag: str = "board"
    asked_flat: str = "asked flat"
    examples: Mapping[str, Mapping[str, Any]] = field(default_factory=dict)

    def path(self, suffix: str | None) -> str:
        """Path of a form."""
        return f"/v1/{self.name}.{suffix}" if suffix else f"/v1/{self.name}"

    def id(self, suffix: str | None) -> str:
        """Name of a form's operation."""
        name = self.name.replace("-", "_")
        return f"{name}_{suffix}" if suffix else name

    def takes_body(self, suffix: str | None) -> bool:
        """Whether a form may be asked by POST."""
        return self.reader.of_body is not None and (suffix is None or self.bodies_everywhere)


def add_to(paths: Blueprint, service: Service, endpoint: Endpoint[Any, Any, Any]) -> None:
    """Add an endpoint's path and those of its other forms."""
    for suffix, form in endpoint.forms.items():
        methods = ["GET", "POST"] if endpoint.takes_body(suffix) else ["GET"]
        view = partial(_respond, service, endpoint, form)
        paths.add_url_rule(endpoint.path(suffix), endpoint.id(suffix), view, methods=methods)


def _respond(service: Service, endpoint: Endpoint[Any, Any, Any], form: Form[Any]) -> Response:
    # The request itself: what Flask lends under its name looks it up anew for each of its values.
    asked: Request = request._get_current_object()  # type: ignore[attr-defined]  # noqa: SLF001  as Flask documents
    if endpoint.who is Who.MAKER and "HTTP_AUTHORIZATION" not in asked.environ:
        require_maker(None)  # before anything is read: a stranger costs nothing and learns nothing
    reading, shown = _read(asked, endpoint, form)
    try:
        shop = endpoint.reader.shop(reading, service)
        if shop is not None:
            g.shop = shop
        role = _admitted(asked, endpoint, reading, shown, shop)
        workshop = role is KeyRole.MAKER
        context = Context(service=service, shop=shop, workshop=workshop, shown=shown, form=form)
        found = endpoint.answer(reading, context)
    except Refused as refused:
        if asked.method == "POST" or not endpoint.reader.order_at:
            raise
        raise Refused(_flat(refused.faults, endpoint.reader.order_at)) from None
    try:
        body = form.write(found, shown)
    except Refused as refused:  # how to write it stands in the query, whatever the method
        raise invalid_order(refused.faults, in_query=True) from None
    if isinstance(body, bytes):
        return answer(asked, body, form.media_type, private=role is not None)
    return stream(asked, body, form.media_type, private=role is not None)


def _read(asked: Request, endpoint: Endpoint[Any, Any, Any], form: Form[Any]) -> tuple[Any, Presentation]:
    """What was asked, and how to write the answer."""
    reader = endpoint.reader
    shown, args, faults = form.plain, _NOTHING, list[Fault]()
    if asked.query_string:
        shown, args, faults = read_presentation(read_args(asked), (*endpoint.flags, *form.takes), form.plain)
    if asked.method == "POST" and reader.of_body is not None:
        if asked.query_string:
            nothing_beside_the_body(args, faults)
        return reader.of_body(read_json(asked, reader.bounds)), shown
    raw, more = read_query(args, shape=reader.shape, alternatives=reader.alternatives)
    if any(not fault.at for fault in more):  # of the query as a whole: nothing was read, so nothing else is known
        raise Refused([*faults, *more])
    return reader.of_query(raw, [*faults, *more]), shown


_NOTHING: Final[MultiDict[str, str]] = ImmutableMultiDict()


def _admitted(
    asked: Request, endpoint: Endpoint[Any, Any, Any], reading: Any, shown: Presentation, shop: Any
) -> KeyRole | None:
    """Role of a caller who may ask this."""
    if endpoint.who is Who.ANYONE:
        return None
    role = caller_role(asked, shop)
    if endpoint.who is Who.MAKER or (endpoint.maker_when is not None and endpoint.maker_when(reading, shown)):
        require_maker(role)
    return role


def _flat(faults: Iterable[Fault], order_at: Path) -> Iterator[Fault]:
    """Faults with places in a body, for a query: the order's fields stand at its top."""
    depth = len(order_at)
    for fault in faults:
        yield replace(fault, at=fault.at[depth:]) if fault.at[:depth] == order_at else fault


# For readers and answerers --------------------------------------------------------------------------------------------


def placed(faults: Iterable[Fault], at: Path) -> Iterator[Fault]:
    """Faults of a part at its place in the request."""
    for fault in faults:
        yield replace(fault, at=(*at, *fault.at))


def find_shop(service: Service, name: str | None, others: Iterable[Fault], at: Path = ()) -> Shop:
    """The shop asked, or the first one.

    Parameters
    ----------
    service, name
        What is served, and what was asked.
    others
        Faults of the request that were found before, and are told with this one.
    at
        Where the part stands that names the shop.

    Raises
    ------
    Refused
        No shop of that name is served.
    """
    try:
        return service.shop(name)
    except Refused as refused:
        raise Refused([*placed(refused.faults, at), *others]) from None
