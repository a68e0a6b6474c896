"""Example requests of the contract and of the command line: an invented scenario, dated so that answers repeat."""

from collections.abc import Mapping
from typing import Any, Final

ORDERS: Final[Mapping[str, Mapping[str, Any]]] = {
    "club-chess": {
        "shop": "moosgrund",
        "game": "chess",
        "square": "52 mm",
        "pieces": {"king_base": "40 mm", "pawn_base": "25 mm"},
        "light": "pear",
        "dark": "wenge",
        "thickness": "18 mm",
        "lines": [{"species": "european_ash", "width": "3 mm"}],
        "frame": {"joint": "mitre", "hold": "floating", "species": "wenge", "width": "44 mm", "bevel": "3 mm"},
        "feet": 4,
        "finish": "hardwax_oil",
        "climate": {"low_rh": 30, "high_rh": 60, "temperature": "21 C"},
        "issued_on": "2027-02-01",
        "starts_on": "2027-02-08",
        "wanted_by": "2027-03-05",
        "ship_to": "NL",
    },
    "draughts-pair": {
        "shop": "willet-slough",
        "game": "draughts-10",
        "pieces": {"man": "1 3/8 in"},
        "light": "yellow_birch",
        "dark": "black_cherry",
        "pattern": "shift",
        "frame": {"joint": "butt", "hold": "glued", "species": "black_cherry", "width": "1 1/2 in"},
        "quantity": 2,
        "issued_on": "2027-02-01",
        "starts_on": "2027-02-08",
        "units": "imperial",
    },
    "nine-by-nine": {
        "shop": "moosgrund",
        "columns": 9,
        "rows": 9,
        "square": "3.6 cm",
        "light": "sycamore_maple",
        "dark": "european_oak",
        "pattern": "shift",
        "base": {"material": "birch_plywood", "thickness": "6.5 mm", "inset": "12 mm"},
        "issued_on": "2027-02-01",
        "starts_on": "2027-02-08",
    },
    "least": {
        "square": "48 mm",
        "light": "sycamore_maple",
        "dark": "pear",
        "issued_on": "2027-02-01",
        "starts_on": "2027-02-08",
    },
}
FIRST: Final = "club-chess"

TABLES: Final[Mapping[str, Mapping[str, Any]]] = {
    "club-chess-sizes": {
        **ORDERS[FIRST],
        "square": ["48 mm", "52 mm", "55 mm"],
        "frame": [
            None,
            {"joint": "mitre", "hold": "floating", "species": "wenge", "width": ["40 mm", "44 mm"], "bevel": "3 mm"},
        ],
        "ship_to": ["AT", "NL"],
    },
}

STOCK: Final[Mapping[str, Mapping[str, Any]]] = {
    "order-from-rack": {"order": ORDERS[FIRST]},
    "parts-from-boards": {
        "shop": "moosgrund",
        "parts": [
            {
                "id": "strip",
                "species": "sycamore_maple",
                "length": "577 mm",
                "width": "54 mm",
                "thickness": "24 mm",
                "count": 8,
            },
            {
                "id": "rail",
                "species": "european_walnut",
                "length": "520 mm",
                "width": "50 mm",
                "thickness": "29 mm",
                "count": 4,
            },
        ],
        "boards": [
            {
                "id": "maple-12",
                "species": "sycamore_maple",
                "length": "2450 mm",
                "width": "185 mm",
                "class": "4/4",
                "count": 2,
                "defects": [{"from": "820 mm", "to": "860 mm"}],
            },
            {
                "id": "walnut-3",
                "species": "european_walnut",
                "length": "1900 mm",
                "width": "160 mm",
                "class": "5/4",
                "price_per_board_foot": "11.20",
                "sawn": "flat",
            },
        ],
        "saw": {"kerf_rip": "2.8 mm", "keep_length": "350 mm"},
        "buy": False,
    },
}

SUGGESTIONS: Final[Mapping[str, Mapping[str, Any]]] = {
    "smaller-table": {
        "order": ORDERS[FIRST],
        "limits": {"outside": "480 mm", "total": "700"},
        "count": 3,
    },
    "nothing-fixed": {
        "order": {
            "shop": "willet-slough",
            "game": "chess",
            "pieces": {"king_base": "1 1/2 in"},
            "issued_on": "2027-02-01",
            "starts_on": "2027-02-08",
            "units": "imperial",
        },
        "limits": {"outside": "18 in", "mass": "7 lb", "verdict": "watch"},
        "wishes": {"first": "contrast"},
    },
    "too-much-asked": {
        "order": ORDERS["nine-by-nine"],
        "limits": {"outside": "300 mm", "total": "300", "verdict": "sound"},
        "wishes": {"keep": ["light", "dark", "base"]},
    },
}
