"""Sanding and coats of one board."""

from typing import Final

from chequerwork.api.component import Component, itself, many, maybe, number, one, text, volume, whole

GRADE: Final = Component(
    "Grade",
    text("grade"),
    number("particle_um"),
    maybe(number("ratio", "Size of the grade before over this one.", decimals=3)),
)
LADDERS: Final = Component("Ladders", many("top", GRADE), many("underside", GRADE))
COAT: Final = Component(
    "Coat",
    whole("number"),
    number("finish_ml", decimals=1),
    maybe(text("sand_before")),
    number("wait_h", "To the next coat, or to handling.", decimals=2),
)
FINISHING: Final = Component(
    "Finishing",
    text("finish"),
    one("sanding", LADDERS, of=itself),
    number("area_m2", "All faces of one board.", decimals=4),
    number("sanded_m2", "Area times grades.", decimals=4),
    many("coats", COAT),
    volume("finish", "One board, waste included."),
    whole("coats_per_day"),
    number("handle_h", decimals=2),
    number("cure_days", decimals=2),
)

COMPONENTS: Final = (GRADE, LADDERS, COAT, FINISHING)
