"""Requests as plain data, and what an old tree says of itself before it is asked: timbers, finishes, fields."""

import json
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import asdict, dataclass, replace
from random import Random
from typing import Any, TypeVar

T = TypeVar("T")

# The shops that are asked, with two of their timbers: the demo shops, whose keys are published, and those of the folder
# beside this file, which use what the demo shops leave out.
SHOPS: Mapping[str, Mapping[str, tuple[str, str]]] = {
    "demo": {"moosgrund": ("pear", "wenge"), "willet-slough": ("hard_maple", "black_walnut")},
    "own": {"brimful": ("sycamore_maple", "indian_rosewood"), "sparse": ("hickory", "bubinga")},
}
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
    served: str = "demo"  # by which shops, a key of SHOPS

    def line(self) -> str:
        """As one JSON line for whoever answers."""
        return json.dumps({**asdict(self), "body": self.body.decode("latin-1")}) + "\n"


@dataclass(frozen=True, slots=True, kw_only=True)
class Offer:
    """What a shop offers: its answer at ``/v1/choices``, and flat names of its answers."""

    shop: str
    first: bool  # whether it is asked where no shop is named
    choices: Mapping[str, Any]
    values: Sequence[str]  # flat names of every value of a workshop's quote
    customers: Sequence[str]  # and of a customer's

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

    served: str
    offers: Sequence[Offer]
    timbers: Sequence[str]  # every key of the table
    called: Sequence[str]  # what people call timbers
    paths: Sequence[str]  # of the contract
    examples: Mapping[str, bytes]  # recorded requests, by their files' names


def first_questions(served: str) -> list[Request]:
    """What must be known of some shops before anything can be asked at random."""
    asked = []
    for shop, (light, dark) in SHOPS[served].items():
        frame = {"joint": "mitre", "hold": "floating", "species": dark, "width": "45 mm"}
        lines = [{"species": dark, "width": "3 mm"}]
        body = {"shop": shop, "square": "50 mm", "light": light, "dark": dark, "frame": frame, "lines": lines}
        body |= {"pieces": {"king_base": "38 mm"}, "feet": 4}
        asked += [
            Request(kind="first", method="GET", path="/v1/choices", query=f"shop={shop}"),
            post("first", "/v1/quotes", body, maker(shop)),
            post("first", "/v1/quotes", body),
        ]
    asked += [Request(kind="first", method="GET", path=path) for path in ("/v1/timbers", "/openapi.json")]
    return [replace(request, served=served) for request in asked]


def learnt(served: str, answers: Sequence[Mapping[str, Any]], examples: Mapping[str, bytes]) -> Known:
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
    offers = []
    for number, shop in enumerate(SHOPS[served]):
        choices, workshop, customer = of_shops[3 * number : 3 * number + 3]
        names = {"values": list(flat_names(workshop)), "customers": list(flat_names(customer))}
        offers.append(Offer(shop=shop, first=number == 0, choices=choices, **names))
    called = (each["names"] | {"botanical": [each["botanical"]]} for each in timbers["timbers"])
    return Known(
        served=served,
        offers=offers,
        timbers=[each["key"] for each in timbers["timbers"]],
        called=list(dict.fromkeys(name for each in called for some in each.values() for name in some)),
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
    """The key of a shop's maker."""
    return (("Authorization", f"Bearer {_key(shop, 'maker')}"),)


def storefront(shop: str) -> Headers:
    """The key of its storefront."""
    return (("Authorization", f"Bearer {_key(shop, 'storefront')}"),)


def _key(shop: str, role: str) -> str:
    return f"{'demo' if shop in SHOPS['demo'] else 'compare'}-{role}-{shop}"


def caller(dice: Random, shop: str, *, makers: float = 0.4) -> Headers:
    """Whose request it is: nobody's, a storefront's, the maker's, or one with a key that is wrong in some way."""
    drawn = dice.random()
    if drawn < makers:
        return maker(shop)
    if drawn < makers + 0.12:
        return storefront(shop)
    if drawn < makers + 0.17:
        other = next(each for some in SHOPS.values() if shop in some for each in some if each != shop)
        wrong = (
            "Bearer no-such-key",
            f"Bearer {_key(other, 'maker')}",
            f"Basic {_key(shop, 'maker')}",
            "Bearer",
            "",
            f"bearer  {_key(shop, 'maker')}",
            f"Bearer {_key(shop, 'maker')} twice",
            f"Bearer demo-maker-{shop}",
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
