"""What requests are answered from, read once at start."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from datetime import date, datetime
from zoneinfo import ZoneInfo

from chequerwork.api.signing import Signer
from chequerwork.domain.basics.errors import Refused, unknown_name
from chequerwork.domain.basics.facts import Tables
from chequerwork.domain.basics.shop import Shop

USUAL_SQUARE_MM = 48.0  # of an order that only shows that a shop quotes


@dataclass(frozen=True, slots=True, kw_only=True)
class Service:
    """What requests are answered from, read once at start."""

    tables: Tables
    shops: Mapping[str, Shop]
    signer: Signer | None
    contract: Callable[[str], bytes]  # the OpenAPI document, as "json" or "yaml"

    def shop(self, asked: str | None) -> Shop:
        """The shop asked, or the first one.

        Raises
        ------
        Refused
            No shop of that id is served.
        """
        if asked is None:
            return next(iter(self.shops.values()))
        shop = self.shops.get(asked)
        if shop is None:
            raise Refused([unknown_name(at=("shop",), what="shop", given=asked, known=self.shops)])
        return shop

    def first_order(self, shop: Shop) -> dict[str, str]:
        """An order of the first and the last timber of a shop: the least that a quote needs."""
        timbers = list(shop.lumber)
        return {"shop": shop.id, "square": f"{plain_square_mm(shop):g} mm", "light": timbers[0], "dark": timbers[-1]}


def plain_square_mm(shop: Shop) -> float:
    """A square that the shop makes: the usual one, or else one from the middle of what it makes. [mm]"""
    made = shop.ranges.square
    return USUAL_SQUARE_MM if made.low_mm <= USUAL_SQUARE_MM <= made.high_mm else (made.low_mm + made.high_mm) / 2


def day_at(shop: Shop) -> date:
    """The one reading of the clock: the date where the shop is."""
    return datetime.now(ZoneInfo(shop.calendar.time_zone)).date()
