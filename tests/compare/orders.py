"""Random orders that a shop can make, or nearly: what a customer might ask, in every way of writing it."""

from collections.abc import Callable
from datetime import date, timedelta
from fractions import Fraction
from random import Random
from typing import Any

from compare.asking import TODAY, Known, Offer, draw, sometimes

Tree = dict[str, Any]
GRAINS = ("flat", "quarter", "mixed")
GAMES = {"chess": 8, "draughts-8": 8, "draughts-10": 10, "draughts-12": 12}
_VULGAR = {Fraction(1, 4): "¼", Fraction(1, 2): "½", Fraction(3, 4): "¾", Fraction(1, 8): "⅛", Fraction(3, 8): "⅜"}


def length(dice: Random, low_mm: float, high_mm: float, *, imperial: bool = False) -> str:
    """A length between two, written as people of some place write it."""
    mm = low_mm + (high_mm - low_mm) * dice.random()
    if sometimes(dice, 0.8 if imperial else 0.1) and high_mm - low_mm > 2:
        return _inches(dice, low_mm, high_mm, mm)
    shown = round(mm) if low_mm <= round(mm) <= high_mm and high_mm - low_mm > 3 else round(mm, 1)
    shown = min(max(shown, low_mm), high_mm)
    return draw(
        dice,
        [
            (6, f"{shown:g} mm"),
            (2, f"{shown:g}mm"),
            (1, f"{shown / 10:.6g} cm"),
            (0.3, f"{shown / 1000:.7g} m"),
            (0.3, f" {shown:g}\u00a0MM "),
        ],
    )


def _inches(dice: Random, low_mm: float, high_mm: float, mm: float) -> str:
    parts = 8 if high_mm - low_mm > 7 else 16
    inches = Fraction(round(mm / 25.4 * parts), parts)
    while inches * Fraction("25.4") < Fraction(low_mm) or not inches:
        inches += Fraction(1, parts)
    while inches * Fraction("25.4") > Fraction(high_mm) and inches > Fraction(1, parts):
        inches -= Fraction(1, parts)
    whole, rest = divmod(inches, 1)
    if not rest:
        return dice.choice((f"{whole} in", f'{whole}"', f"{whole}in"))
    forms = [f"{float(inches):g} in", f"{whole} {rest} in" if whole else f"{rest} in"]
    if whole:
        forms.append(f"{whole}-{rest}in")
    if rest in _VULGAR:
        forms.append(f"{whole or ''}{_VULGAR[rest]} in")
    return dice.choice(forms)


def day(dice: Random, first: int, last: int) -> str:
    """A date so many days from today."""
    return (date.fromisoformat(TODAY) + timedelta(days=dice.randint(first, last))).isoformat()


def an_order(dice: Random, known: Known, offer: Offer | None = None, *, small: bool = False) -> Tree:
    """An order most of which a shop can make; fields in any order.

    Parameters
    ----------
    dice, known
        Chance, and what the shops offer.
    offer
        Of the shop that is asked; None draws one.
    small
        Whether it is to be one that is quick to plan boards for.
    """
    offer = offer or dice.choice(known.offers)
    order = _Drawn(dice, offer, small=small).order()
    names = list(order)
    if sometimes(dice, 0.3):
        dice.shuffle(names)
    return {name: order[name] for name in names}


class _Drawn:
    def __init__(self, dice: Random, offer: Offer, *, small: bool) -> None:
        self.dice, self.offer, self.small = dice, offer, small
        self.woods = offer.keys("timbers")
        self.light, self.dark = dice.sample(self.woods, 2)
        self.imperial = offer.imperial
        self.thin = sometimes(dice, 0.5)

    def order(self) -> Tree:
        dice = self.dice
        order: Tree = {}
        if not self.offer.first or sometimes(dice, 0.7):
            order["shop"] = self.offer.shop
        columns, rows = self._cells(order)
        frame = self._frame() if sometimes(dice, 0.6) else None
        self._square(order, columns, rows, frame)
        order |= {"light": self.light, "dark": self.dark}
        parts: dict[str, tuple[float, Callable[[], Any]]] = {
            "grain": (0.15, self._grain),
            "thickness": (0.35, self._thickness),
            "lines": (0.25, self._lines),
            "base": (0.35 if self.offer.choices["sheets"] else 0, lambda: self._base(frame)),
            "feet": (0.35, lambda: dice.choice((0, 4, 4, 5, 6, 8, 12))),
            "finish": (0.4, lambda: dice.choice(self.offer.keys("finishes"))),
            "sanding": (0.2, self._sanding),
            "climate": (0.3, self._climate),
            "corners": (0.2, self._corners),
            "quantity": (0.35, lambda: draw(dice, [(5, 1), (5, 2), (4, 3), (3, 5), (2, 12), (1, 24)])),
            "ship_to": (0.4, self._ship_to),
            "channel": (0.3, lambda: dice.choice(self.offer.keys("channels"))),
            "currency": (0.15, lambda: dice.choice(self.offer.choices["currencies"])),
            "units": (0.3, lambda: dice.choice(("metric", "imperial"))),
        }
        if self.offer.keys("payments"):
            parts["payment"] = (0.3, lambda: dice.choice(self.offer.keys("payments")))
        for name, (share, made) in parts.items():
            if sometimes(dice, share):
                order[name] = made()
        if self.small:
            order |= {"quantity": 1}
        if frame or sometimes(dice, 0.1):
            order["frame"] = frame
        self._dates(order)
        return order

    def _cells(self, order: Tree) -> tuple[int, int]:
        dice = self.dice
        if sometimes(dice, 0.3):
            order["game"] = dice.choice(["chess", "draughts-8"] if self.small else list(GAMES))
            return GAMES[order["game"]], GAMES[order["game"]]
        if sometimes(dice, 0.35):
            return 8, 8
        most = 8 if self.small else draw(dice, [(8, 10), (1, 16), (0.5, 24)])
        columns, rows = dice.randint(3, most), dice.randint(2, most)
        order |= {"columns": columns, "rows": rows}
        shift = columns % 2 or sometimes(dice, 0.4)
        if shift or sometimes(dice, 0.4):
            order["pattern"] = "shift" if shift else "turn"
        return columns, rows

    def _square(self, order: Tree, columns: int, rows: int, frame: Tree | None) -> None:
        dice = self.dice
        low, high = self.offer.span("square")
        room = float(self.offer.choices["ranges"]["outside_mm"]) - (180 if frame else 60)
        high = max(min(high, room / max(columns, rows)), low)
        drawn = draw(dice, [(6, "square"), (1.5, "pieces"), (2, "both")])
        if drawn != "pieces":
            order["square"] = length(dice, low, high, imperial=self.imperial)
        if drawn != "square":
            most = high * 0.78
            if sometimes(dice, 0.25):
                order["pieces"] = {"man": length(dice, min(low, most) * 0.8, most, imperial=self.imperial)}
            else:
                order["pieces"] = self._chess(low * 0.8, most)

    def _chess(self, low_mm: float, most_mm: float) -> Tree:
        dice = self.dice
        pieces: Tree = {"king_base": length(dice, min(low_mm, most_mm - 1), most_mm, imperial=self.imperial)}
        if sometimes(dice, 0.4):
            pieces["pawn_base"] = length(dice, max(5, low_mm * 0.5), max(6, low_mm * 0.9))
        if sometimes(dice, 0.3):
            pieces["king_height"] = length(dice, 60, 110)
        if sometimes(dice, 0.3):
            pieces["fill_ratio"] = dice.choice((0.7, 0.75, 0.78, 0.8, 1))
        return pieces

    def _wood(self) -> str:
        return self.dice.choice((*self.woods, self.light, self.dark, self.dark))

    def _frame(self) -> Tree:
        dice = self.dice
        low, high = self.offer.span("frame_width")
        frame: Tree = {
            "joint": dice.choice(("mitre", "butt")),
            "hold": dice.choice(("glued", "floating", "floating")),
            "species": self._wood(),
            "width": length(dice, max(low, 25), min(high, 75), imperial=self.imperial),
        }
        if sometimes(dice, 0.25):
            frame["thickness"] = length(dice, 17, 34, imperial=self.imperial)
        if sometimes(dice, 0.3):
            frame["bevel"] = dice.choice(("0 mm", "2 mm", "3mm", "1/8 in", "5 mm"))
        if sometimes(dice, 0.2):
            frame["grain"] = dice.choice(GRAINS)
        if sometimes(dice, 0.25):
            frame["edge"] = "lip" if frame["hold"] == "floating" and sometimes(dice, 0.7) else "tongue"
        return frame

    def _grain(self) -> Tree:
        return {name: self.dice.choice(GRAINS) for name in ("light", "dark") if sometimes(self.dice, 0.7)}

    def _thickness(self) -> str:
        low, high = self.offer.span("thickness")
        return length(self.dice, low, min(high, 30), imperial=self.imperial)

    def _lines(self) -> list[Tree]:
        low, high = self.offer.span("line_width")
        count = draw(self.dice, [(5, 1), (3, 2), (1, 3), (0.3, 6)])
        return [
            {"species": self._wood(), "width": length(self.dice, low, high, imperial=self.imperial)}
            for _ in range(count)
        ]

    def _base(self, frame: Tree | None) -> Tree | None:
        dice = self.dice
        if sometimes(dice, 0.1):
            return None
        sheet = dice.choice(self.offer.choices["sheets"])
        base: Tree = {"material": sheet["material"], "thickness": f"{sheet['thickness_mm']:g} mm"}
        if sometimes(dice, 0.3):
            base["thickness"] = sheet["thickness_text"]
        if sometimes(dice, 0.6):
            far = bool(frame) and sometimes(dice, 0.6)
            base["inset"] = length(dice, *((76, 90) if far else (0, 40)))
        if sometimes(dice, 0.3):
            width = length(dice, 2, 20, imperial=self.imperial)
            base["skirt"] = {"species": self._wood(), "width": width} if sometimes(dice, 0.9) else None
        if sometimes(dice, 0.3):
            low, high = self.offer.span("backing")
            base["backing"] = {"species": self._wood(), "thickness": length(dice, low, high)}
            if sometimes(dice, 0.3):
                base["backing"]["grain"] = dice.choice(GRAINS)
        return base

    def _sanding(self) -> Tree:
        grades = [grade for grade in self.offer.choices["grades"] if 100 <= int(grade.strip("P")) <= 400]
        return {name: self.dice.choice(grades) for name in ("top", "underside") if sometimes(self.dice, 0.7)}

    def _climate(self) -> Tree:
        dice = self.dice
        climate: Tree = {}
        if sometimes(dice, 0.5):
            climate["room"] = dice.choice(self.offer.keys("rooms"))
        if sometimes(dice, 0.6):
            climate |= {"low_rh": dice.randint(15, 50), "high_rh": dice.choice((50, 55.5, 60, 65, 72.25, 80))}
        if sometimes(dice, 0.4):
            climate["temperature"] = dice.choice(("21 C", "18.5 °C", "70 F", "68°F", "-0.5 degC", "30 c"))
        return climate

    def _corners(self) -> Tree:
        dice = self.dice
        corners: Tree = {}
        if sometimes(dice, 0.7):
            corners["within"] = length(dice, 0.05, 0.6)
        if sometimes(dice, 0.5):
            corners["confidence"] = dice.choice((50, 80, 90.5, 95, 99, 99.9))
        return corners

    def _ship_to(self) -> str:
        known = [code for code in self.offer.choices["destinations"] if code != "*"]
        return self.dice.choice(known or ["US", "AT", "CA", "NZ", "JP", "GB", "CH", "BR"])

    def _dates(self, order: Tree) -> None:
        dice = self.dice
        if sometimes(dice, 0.5):
            order["issued_on"] = day(dice, -40, 200) if sometimes(dice, 0.5) else TODAY
        first = (date.fromisoformat(order.get("issued_on", TODAY)) - date.fromisoformat(TODAY)).days
        if sometimes(dice, 0.45):
            order["starts_on"] = day(dice, first, first + 40)
        if sometimes(dice, 0.33):
            order["wanted_by"] = day(dice, first + 2, first + 90)
