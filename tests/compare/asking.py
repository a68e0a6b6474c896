"""Requests as plain data, and what an old tree says of itself before it is asked: timbers, finishes, fields."""

import json
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import asdict, dataclass
from random import Random
from typing import Any, TypeVar

T = TypeVar("T")

SHOPS = ("moosgrund", "willet-slough")  # the demo shops, whose keys are published
TODAY = "2027-02-03"
Headers = tuple[tuple[str, str], ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Request:
    """One request; ``kind`` says what it is meant to try, for the count of them."""

    kind: str
    method: str
    path: str
    query: str = ""
    body: bytes = b""
    headers: Headers = ()

    def line(self) -> str:
        """As one JSON line for whoever answers."""
        return json.dumps({**asdict(self), "body": self.body.decode("latin-1")}) + "\n"


@dataclass(frozen=True, slots=True, kw_only=True)
class Offer:
    """What a shop offers: its answer at ``/v1/choices``, and flat names of its answers."""

    shop: str
    choices: Mapping[str, Any]
    values: Sequence[str]  # flat names of every value of a workshop's quote

    def keys(self, of: str) -> list[str]:
        """The keys of a list, such as ``timbers``."""
        return [str(each["key"]) for each in self.choices[of]]

    def span(self, of: str) -> tuple[float, float]:
        """Low and high of one of the shop's ranges. [mm]"""
        found = self.choices["ranges"][of]
        return float(found["low_mm"]), float(found["high_mm"])

    @property
    def imperial(self) -> bool:
        """Whether its texts are in inches."""
        return bool(self.choices["defaults"]["units"] == "imperial")


@dataclass(frozen=True, slots=True, kw_only=True)
class Known:
    """All that is learnt from the old tree."""

    offers: Sequence[Offer]
    timbers: Sequence[str]  # every key of the table
    called: Sequence[str]  # what people call timbers
    paths: Sequence[str]  # of the contract
    examples: Mapping[str, bytes]  # recorded requests, by their files' names


def first_questions() -> list[Request]:
    """What must be known before anything can be asked at random."""
    order = {"light": "", "dark": "", "frame": {"joint": "mitre", "hold": "floating", "width": "45 mm"}}
    asked = []
    for shop, light, dark in zip(SHOPS, ("pear", "hard_maple"), ("wenge", "black_walnut"), strict=True):
        frame = {**order["frame"], "species": dark}  # type: ignore[dict-item]
        lines = [{"species": dark, "width": "3 mm"}]
        body = {"shop": shop, "square": "50 mm", "light": light, "dark": dark, "frame": frame, "lines": lines}
        asked += [
            Request(kind="first", method="GET", path="/v1/choices", query=f"shop={shop}"),
            post("first", "/v1/quotes", {**body, "pieces": {"king_base": "38 mm"}, "feet": 4}, maker(shop)),
        ]
    return [
        *asked,
        Request(kind="first", method="GET", path="/v1/timbers"),
        Request(kind="first", method="GET", path="/openapi.json"),
    ]


def learnt(answers: Sequence[Mapping[str, Any]], examples: Mapping[str, bytes]) -> Known:
    """What the answers to the first questions say.

    Raises
    ------
    ValueError
        One of them is no answer.
    """
    bodies = []
    for answer in answers:
        if answer["status"] != 200:
            raise ValueError(f"a first question was answered {answer['status']}: {answer['body'][:300]}")
        bodies.append(json.loads(answer["body"].encode("latin-1")))
    *of_shops, timbers, contract = bodies
    offers = [
        Offer(shop=shop, choices=of_shops[2 * n], values=list(flat_names(of_shops[2 * n + 1])))
        for n, shop in enumerate(SHOPS)
    ]
    names = (each["names"] | {"botanical": [each["botanical"]]} for each in timbers["timbers"])
    return Known(
        offers=offers,
        timbers=[each["key"] for each in timbers["timbers"]],
        called=list(dict.fromkeys(name for each in names for some in each.values() for name in some)),
        paths=list(contract["paths"]),
        examples=examples,
    )


def flat_names(tree: Any, before: str = "") -> Iterator[str]:
    """``price.total`` and every other flat name of an answer."""
    steps = tree.items() if isinstance(tree, dict) else enumerate(tree)
    for step, value in steps:
        if isinstance(value, dict | list):
            yield from flat_names(value, f"{before}{step}.")
        else:
            yield f"{before}{step}"


def post(kind: str, path: str, body: Any, headers: Headers = (), query: str = "") -> Request:
    """A JSON body sent to a path."""
    return Request(
        kind=kind,
        method="POST",
        path=path,
        query=query,
        body=json.dumps(body, ensure_ascii=False).encode(),
        headers=(("Content-Type", "application/json"), *headers),
    )


def maker(shop: str) -> Headers:
    """The published key of a demo shop's maker."""
    return (("Authorization", f"Bearer demo-maker-{shop}"),)


def storefront(shop: str) -> Headers:
    """The published key of its storefront."""
    return (("Authorization", f"Bearer demo-storefront-{shop}"),)


def caller(dice: Random, shop: str, *, makers: float = 0.4) -> Headers:
    """Whose request it is: nobody's, a storefront's, the maker's, or one with a key that is wrong in some way."""
    drawn = dice.random()
    if drawn < makers:
        return maker(shop)
    if drawn < makers + 0.12:
        return storefront(shop)
    if drawn < makers + 0.17:
        other = SHOPS[1 - SHOPS.index(shop)]
        wrong = (
            "Bearer no-such-key",
            f"Bearer demo-maker-{other}",
            f"Basic demo-maker-{shop}",
            "Bearer",
            "",
            f"bearer  demo-maker-{shop}",
            f"Bearer demo-maker-{shop} twice",
            "Bearer " + "k" * 201,
        )
        return (("Authorization", dice.choice(wrong)),)
    return ()


def draw(dice: Random, weighted: Iterable[tuple[float, T]]) -> T:
    """One of some things, by their weights."""
    weights, things = zip(*weighted, strict=True)
    return dice.choices(things, weights)[0]


def sometimes(dice: Random, share: float) -> bool:
    """True in this share of cases."""
    return dice.random() < share


Maker = Callable[[Random, Known], Request]
