"""The request: its schemas, and the way from raw data to what is asked, every fault kept."""

from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import dataclass, replace
from datetime import date
from typing import Any, Final

from marshmallow import Schema, ValidationError

from chequerwork.api.fields import (
    COUNTRY,
    CURRENCY,
    Called,
    Choice,
    Closed,
    Code,
    Count,
    Day,
    Either,
    Message,
    Name,
    Nested,
    Number,
    Several,
    Strict,
    TimberKey,
    length,
    temperature,
)
from chequerwork.domain.basics.bounds import bounds_of
from chequerwork.domain.basics.errors import Fault, Path, Refused, near_names
from chequerwork.domain.basics.facts import Grain, Tables
from chequerwork.domain.basics.shop import Shop
from chequerwork.domain.completion.complete import complete
from chequerwork.domain.order.order import (
    ChessPieces,
    DraughtsMan,
    Edge,
    Hold,
    Joint,
    Line,
    Order,
    Pattern,
    Skirt,
    Units,
)
from chequerwork.domain.order.request import (
    BackingRequest,
    BaseRequest,
    ClimateRequest,
    CornersRequest,
    FrameRequest,
    GrainRequest,
    OrderRequest,
    SandingRequest,
)

Near = Callable[[str, Iterable[str]], tuple[str, ...]]  # names like one

MOST_LINES: Final = bounds_of(OrderRequest, "lines")[1]


class ChessPiecesSchema(Closed):
    """Sizes of a chess set."""

    made = ChessPieces
    renamed = {"king_base": "king_base_mm", "pawn_base": "pawn_base_mm", "king_height": "king_height_mm"}
    king_base = length(
        *bounds_of(ChessPieces, "king_base_mm"), about="Diameter of the king's base.", required=True, example="38 mm"
    )
    king_height = length(*bounds_of(ChessPieces, "king_height_mm"), about="Height of the king.", example="95 mm")
    pawn_base = length(*bounds_of(ChessPieces, "pawn_base_mm"), about="Diameter of a pawn's base.", example="24 mm")
    fill_ratio = Number(
        *bounds_of(ChessPieces, "fill_ratio"), unit="", about="Wished king base over square; usually 0.75 to 0.80."
    )


class DraughtsManSchema(Closed):
    """Size of a draughts man."""

    made = DraughtsMan
    renamed = {"man": "man_mm"}
    man = length(*bounds_of(DraughtsMan, "man_mm"), about="Diameter of a man.", required=True, example="38 mm")


class LineSchema(Closed):
    """A narrow inlaid band."""

    made = Line
    renamed = {"width": "width_mm"}
    species = TimberKey(about="Timber of the line.", required=True, example="wenge")
    width = length(*bounds_of(Line, "width_mm"), about="Width of the line.", required=True, example="3 mm")


class FrameSchema(Closed):
    """The border."""

    made = FrameRequest
    renamed = {"width": "width_mm", "thickness": "thickness_mm", "bevel": "bevel_mm"}
    joint = Choice(Joint, about="How the corners meet.", required=True)
    hold = Choice(Hold, about="How the field sits in the frame: glued, or free to move in a groove.", required=True)
    species = TimberKey(about="Timber of the rails.", required=True, example="european_walnut")
    width = length(*bounds_of(FrameRequest, "width_mm"), about="Width of a rail.", required=True, example="42 mm")
    thickness = length(
        *bounds_of(FrameRequest, "thickness_mm"),
        about="Thickness of a rail; left out, the shop's usual one.",
        example="25 mm",
    )
    bevel = length(
        *bounds_of(FrameRequest, "bevel_mm"), about="Taken off the outer upper edge at 45 degrees.", example="3 mm"
    )
    grain = Choice(Grain, about="How the rails are sawn; left out, as the shop buys them.")
    edge = Choice(Edge, about="How a floating field enters the rails: by a tongue, left out, or under a lip of theirs.")


class SkirtSchema(Closed):
    """A strip that hides the edge of the base."""

    made = Skirt
    renamed = {"width": "width_mm"}
    species = TimberKey(about="Timber of the skirt.", required=True, example="european_walnut")
    width = length(
        *bounds_of(Skirt, "width_mm"),
        about="How far the strip stands out from the panel.",
        required=True,
        example="8 mm",
    )


class BackingSchema(Closed):
    """A thin panel of wood below."""

    made = BackingRequest
    renamed = {"thickness": "thickness_mm"}
    species = TimberKey(about="Timber of the backing.", required=True, example="sycamore_maple")
    thickness = length(
        *bounds_of(BackingRequest, "thickness_mm"), about="Thickness of the backing.", required=True, example="3 mm"
    )
    grain = Choice(Grain, about="How it is sawn; left out, as the shop buys it. It lies as the field's grain does.")


class BaseSchema(Closed):
    """The panel under the field."""

    made = BaseRequest
    renamed = {"thickness": "thickness_mm", "inset": "inset_mm"}
    material = Name(about="Sheet material.", required=True, example="birch_plywood")
    thickness = length(
        *bounds_of(BaseRequest, "thickness_mm"), about="Nominal thickness of the sheet.", required=True, example="9 mm"
    )
    inset = length(
        *bounds_of(BaseRequest, "inset_mm"),
        about="How far the base stands in from the board's outside, on every side.",
        example="20 mm",
    )
    skirt = Nested(SkirtSchema(), about="Strip that hides the edge of the base.", nullable=True, ref="Skirt")
    backing = Nested(BackingSchema(), about="Thin panel below.", nullable=True, ref="Backing")


class SquaresGrainSchema(Closed):
    """How the timbers of the squares are sawn."""

    made = GrainRequest
    light = Choice(Grain, about="How the light squares are sawn; left out, as the shop buys the timber.")
    dark = Choice(Grain, about="How the dark squares are sawn; left out, as the shop buys the timber.")


class SandingSchema(Closed):
    """Last grades of abrasive, FEPA P series."""

    made = SandingRequest
    top = Name(about="Last grade on the playing side.", example="P180")
    underside = Name(about="Last grade below.", example="P120")


class ClimateSchema(Closed):
    """The customer's year indoors."""

    made = ClimateRequest
    renamed = {
        "low_rh": "low_rh_pct",
        "high_rh": "high_rh_pct",
        "temperature": "temperature_c",
    }
    room = Name(
        about="Kind of room, see /v1/choices: fills in what else of the climate is left out.",
        example="heated_mild_winters",
    )
    low_rh = Number(
        *bounds_of(ClimateRequest, "low_rh_pct"), unit=" %", about="Relative humidity of the driest season. [%]"
    )
    high_rh = Number(
        *bounds_of(ClimateRequest, "high_rh_pct"), unit=" %", about="Relative humidity of the dampest season. [%]"
    )
    temperature = temperature(*bounds_of(ClimateRequest, "temperature_c"), about="Room temperature.")


class CornersSchema(Closed):
    """How closely the corners of the squares should meet."""

    made = CornersRequest
    renamed = {"within": "within_mm", "confidence": "confidence_pct"}
    within = length(
        *bounds_of(CornersRequest, "within_mm"),
        about="Step allowed at a corner; left out, 0.15 mm, which shows.",
        example="0.15 mm",
    )
    confidence = Number(
        *bounds_of(CornersRequest, "confidence_pct"),
        unit=" %",
        about="Share of boards on which every corner must meet so; left out, 95. [%]",
    )


class OrderSchema(Closed):
    """What a customer asks for."""

    made = dict
    shop = Name(about="Shop to ask; left out, the first one served.", example="moosgrund")
    columns = Count(*bounds_of(OrderRequest, "columns"), about="Squares across the grain; left out, 8 or the game's.")
    rows = Count(*bounds_of(OrderRequest, "rows"), about="Squares along the grain; left out, 8 or the game's.")
    game = Name(about="Game instead of columns and rows: chess, draughts-8, draughts-10, draughts-12.", example="chess")
    square = length(
        *bounds_of(OrderRequest, "square_mm"), about="Finished side of a square; left out, derived from the pieces."
    )
    pieces = Either(
        ChessPiecesSchema(),
        DraughtsManSchema(),
        mark="man",
        refs=("ChessPieces", "DraughtsMan"),
        about="Pieces that will stand on the board: the fit is judged, and the square derived where it is left out.",
    )
    light = TimberKey(about="Timber of the light squares.", required=True, example="sycamore_maple")
    dark = TimberKey(about="Timber of the dark squares.", required=True, example="european_walnut")
    grain = Nested(SquaresGrainSchema(), about="How the timbers of the squares are sawn.", ref="SquaresGrain")
    thickness = length(
        *bounds_of(OrderRequest, "thickness_mm"),
        about="Finished thickness of the field; left out, the shop's usual one.",
        example="20 mm",
    )
    pattern = Choice(Pattern, about="How the chequer is made; odd columns need shift.")
    lines = Several(LineSchema(), most=MOST_LINES, about="Lines between field and frame, inside out.", ref="Line")
    frame = Nested(FrameSchema(), about="The border; left out or null, none.", nullable=True, ref="Frame")
    base = Nested(BaseSchema(), about="The panel under the field; left out or null, none.", nullable=True, ref="Base")
    feet = Count(*bounds_of(OrderRequest, "feet"), about="0, or 4 and more.", default=0)
    finish = Name(about="Finish; left out, the shop's usual one.", example="hardwax_oil")
    sanding = Nested(SandingSchema(), about="Last grades; left out, what the finish wants.", ref="Sanding")
    climate = Nested(
        ClimateSchema(), about="The customer's year indoors; left out, the shop's usual one.", ref="Climate"
    )
    corners = Nested(CornersSchema(), about="How closely the corners should meet; left out, as shows.", ref="Corners")
    quantity = Count(*bounds_of(OrderRequest, "quantity"), about="Boards of this kind.", default=1)
    issued_on = Day(about="Date of the quote; left out, today in the shop's zone.")
    starts_on = Day(about="First day of work; left out, the shop's next free day.")
    wanted_by = Day(about="Day by which the board should leave the shop.")
    ship_to = Code(COUNTRY, about="Destination, ISO 3166; left out, the shop's country.")
    channel = Name(about="Sales channel of the shop; left out, its usual one.", example="own_site")
    payment = Name(about="How it is paid, of the shop's ways; left out, the channel's usual one.", example="card")
    currency = Code(CURRENCY, about="Of the price, ISO 4217, as the shop quotes in; left out, the shop's own.")
    units = Choice(Units, about="Unit system of the texts; left out, the shop's.")


ORDER: Final = OrderSchema()

_RENAMED: Final = {"square": "square_mm", "thickness": "thickness_mm"}
_STANDARD: Final = {
    "Missing data for required field.": ("missing", "This field is needed. Give it a value."),
    "Unknown field.": ("unknown-field", "There is no such field."),
    "Invalid input type.": ("wrong-type", "An object is needed."),
}


class ChoicesSchema(Closed):
    """Which shop's choices are asked."""

    made = dict
    shop = Name(about="Shop to ask; left out, the first one served.", example="moosgrund")


class TimbersSchema(Closed):
    """Which timbers are asked."""

    made = dict
    name = Called(about="What a timber is called, in any language of the table; near names count.", example="Bergahorn")
    shop = Name(about="Only timbers that this shop works; left out, the whole table.", example="moosgrund")


CHOICES: Final = ChoicesSchema()
TIMBERS: Final = TimbersSchema()


def read_asked(schema: Closed, raw: Mapping[str, Any]) -> tuple[dict[str, Any], list[Fault]]:
    """What is asked of a path that takes no order, and every fault."""
    try:
        data: dict[str, Any] = schema.load(raw)
    except ValidationError as error:
        messages: Any = error.messages
        found = (faults_of(messages[name], (name,), schema, raw.get(name)) for name in messages)
        data = dict(error.valid_data) if isinstance(error.valid_data, dict) else {}
        return data, [fault for faults in found for fault in faults]
    return data, []


@dataclass(frozen=True, slots=True, kw_only=True)
class Reading:
    """A raw order as far as it could be read.

    ``faulted`` are the top-level names that could not, and are not to be judged again; ``timbers`` are sound names
    of timbers inside them, and ``climate`` is what a refused climate says of humidity: both still can be.
    """

    shop: str | None
    request: OrderRequest
    faults: tuple[Fault, ...] = ()
    faulted: frozenset[str] = frozenset()
    timbers: tuple[tuple[Path, str], ...] = ()
    climate: ClimateRequest | None = None


def read_order(raw: Mapping[str, Any], unread: frozenset[Path] = frozenset(), near_to: Near = near_names) -> Reading:
    """Read a raw order, from a body or a flat query, and keep every fault. ``unread`` was refused before."""
    faults: list[Fault] = []
    try:
        data: dict[str, Any] = ORDER.load(raw)
    except ValidationError as error:
        messages: Any = error.messages
        data = dict(error.valid_data) if isinstance(error.valid_data, dict) else {}
        # Field by field in the contract's order; names that are not in it come last.
        for name in sorted(messages, key=lambda name: _RANK.get(name, len(_RANK))):
            if name in ("light", "dark") and name not in raw:
                continue  # the shop says it better, with the timbers that it works
            data.pop(name, None)
            faults.extend(faults_of(messages[name], (name,), ORDER, raw.get(name), near_to))
    shop = data.pop("shop", None)
    data["lines"] = tuple(data.get("lines") or ())
    faulted = frozenset(str(f.at[0]) for f in faults if f.at[0] in ORDER.fields)
    wrong = unread | {f.at for f in faults}
    return Reading(
        shop=shop,
        request=OrderRequest(**{attribute_of(name): value for name, value in data.items()}),
        faults=tuple(faults),
        faulted=faulted,
        timbers=tuple(_timbers(raw, faulted, wrong)) if faulted else (),
        climate=_humidities(raw.get("climate"), wrong) if any(at[0] == "climate" for at in wrong) else None,
    )


def attribute_of(name: str) -> str:
    """Name that a field of the contract has in a request."""
    return _RENAMED.get(name, name)


def beside(reading: Reading, faults: Iterable[Fault]) -> Reading:
    """The reading of a flat order with the faults of its query: a parameter that could not be read is not missing."""
    told = tuple(faults)
    unread = frozenset(str(fault.at[0]) for fault in told if fault.at)
    own = (fault for fault in reading.faults if fault.code != "missing" or str(fault.at[0]) not in unread)
    return replace(reading, faults=(*told, *own), faulted=reading.faulted | unread)


def _timbers(raw: Mapping[str, Any], faulted: frozenset[str], wrong: frozenset[Path]) -> Iterator[tuple[Path, str]]:
    """Names of timbers inside parts that could not be read as a whole."""
    pending: list[tuple[Path, Any]] = [((name,), raw[name]) for name in sorted(faulted & {"lines", "frame", "base"})]
    while pending:
        at, part = pending.pop(0)
        steps = part.items() if isinstance(part, Mapping) else enumerate(part) if isinstance(part, list) else ()
        for step, value in steps:
            if step == "species" and isinstance(value, str) and (*at, step) not in wrong:
                yield (*at, step), value
            else:
                pending.append(((*at, step), value))


def _humidities(part: Any, wrong: frozenset[Path]) -> ClimateRequest | None:
    """Both humidities of a refused climate, or None where either of them, or what fills its gap, was not read."""
    if not isinstance(part, Mapping) or {("climate",), ("climate", "low_rh"), ("climate", "high_rh")} & wrong:
        return None
    low, high = part.get("low_rh"), part.get("high_rh")
    if ("climate", "room") in wrong:
        return None if low is None or high is None else ClimateRequest(low_rh_pct=float(low), high_rh_pct=float(high))
    return ClimateRequest(room=part.get("room"), low_rh_pct=low, high_rh_pct=high)


def order_of(reading: Reading, *, shop: Shop, tables: Tables, today: date) -> Order:
    """The complete order of what was read.

    Raises
    ------
    Refused
        With the faults of the reading first and those of the request after them.
    """
    try:
        order = complete(
            reading.request,
            shop=shop,
            tables=tables,
            today=today,
            faulted=reading.faulted,
            timbers=reading.timbers,
            climate=reading.climate,
        )
    except Refused as refused:
        raise Refused([*reading.faults, *refused.faults]) from None
    if reading.faults:
        raise Refused(reading.faults)
    return order


_RANK: Final = {name: rank for rank, name in enumerate(ORDER.fields)}


def faults_of(messages: Any, at: Path, schema: Schema | None, raw: Any, near_to: Near = near_names) -> Iterator[Fault]:
    """Flatten marshmallow's nested messages into faults, with near names for unknown fields.

    Parameters
    ----------
    messages, at
        What the library says of a field, and the field's place.
    schema, raw
        Of the object in which the field stands, and what was given for it.
    near_to
        Searches names like an unknown one.
    """
    if isinstance(messages, Mapping):
        inner = _schema_at(schema, at[-1], raw)
        for key, value in messages.items():
            yield from faults_of(value, (*at, key), inner, _inside(raw, key), near_to)
        return
    for message in messages:
        code, detail = _told(message)
        if code == "unknown-field" and schema is not None:
            near = near_to(str(at[-1]), schema.fields)
            known = f"Did you mean {' or '.join(near)}?" if near else f"It takes: {', '.join(schema.fields)}."
            detail = f"There is no field {str(at[-1])[:60]!r} here. {known}"
        yield Fault(at=at, code=code, detail=detail)


def _inside(raw: Any, step: Any) -> Any:
    if isinstance(raw, Mapping):
        return raw.get(step)
    return raw[step] if isinstance(raw, list) and isinstance(step, int) else None


def _told(message: str) -> tuple[str, str]:
    if isinstance(message, Message):
        return message.code, str(message)
    return _STANDARD.get(message, ("invalid", message))


def _schema_at(schema: Schema | None, step: str | int, raw: Any) -> Schema | None:
    """Schema of the object below a step; a list index stays with the list's own schema."""
    field = schema.fields.get(step) if schema is not None and isinstance(step, str) else None
    if isinstance(field, Either):
        return field.second if isinstance(raw, Mapping) and field.mark in raw else field.first
    if isinstance(field, Nested | Several):
        return field.schema
    return schema


def flat_shape(schema: Schema = ORDER, prefix: str = "") -> dict[str, str]:
    """Flat parameter names of the order and how their texts are read: int, number, text or lines."""
    shape: dict[str, str] = {}
    for name, field in schema.fields.items():
        full = prefix + name
        if isinstance(field, Nested):
            shape |= flat_shape(field.schema, f"{full}.")
        elif isinstance(field, Either):
            shape |= flat_shape(field.first, f"{full}.") | flat_shape(field.second, f"{full}.")
        else:
            shape[full] = _text_kind(field)
    return shape


def _text_kind(field: Any) -> str:
    if isinstance(field, Several):
        return "lines"
    kinds: tuple[tuple[type[Strict], str], ...] = ((Count, "int"), (Number, "number"))
    return next((kind for cls, kind in kinds if isinstance(field, cls)), "text")
