"""Pencil and paper of the pictures: boxes, lines, and texts that stay inside their boxes.

Plain SVG 1.1 without styles, patterns, scripts or references, so that browsers and office programs draw the same.
Lengths are in pixels of the picture.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final
from xml.etree.ElementTree import Element, SubElement, tostring

from chequerwork.render.cells import plain_line

FONT: Final = "DejaVu Sans, Verdana, Arial, sans-serif"
LARGEST: Final = 12
SMALLEST: Final = 8  # printed on a page of A4 across, still six points
LINE: Final = 1.25  # height of a line of text, in sizes of its font
# Widths of letters in sizes of their font, in the widest of the fonts above; what is not listed is wide.
_WIDTHS: Final = {
    **dict.fromkeys("abcdeghknopqsuvxyzßäöüéèLFETJ?#*+=<>_", 0.66),
    **dict.fromkeys("0123456789", 0.64),
    **dict.fromkeys("ijl.,:;'|! ()[]/-tfrI", 0.46),
    **dict.fromkeys("ABCDGHKNOPQRSUVXYZ&ÄÖÜ×", 0.8),
}
_WIDEST: Final = 1.06
_BOLD: Final = 1.12
_SPACE: Final = 0.7  # between a name and its size in one line, in sizes of the font


@dataclass(frozen=True, slots=True, kw_only=True)
class Box:
    """A rectangle of the picture. [px]"""

    x: float
    y: float
    width: float
    height: float

    @property
    def right(self) -> float:
        """Where it ends."""
        return self.x + self.width

    @property
    def bottom(self) -> float:
        """Where it ends below."""
        return self.y + self.height

    def inset(self, by: float) -> "Box":
        """A smaller one inside it, at least a line."""
        by = min(by, self.width / 2, self.height / 2)
        return Box(x=self.x + by, y=self.y + by, width=self.width - 2 * by, height=self.height - 2 * by)


@dataclass(frozen=True, slots=True, kw_only=True)
class Fitted:
    """How a text goes into its box: its lines, the size of its font, and whether it is turned upwards."""

    lines: tuple[tuple[str, str], ...]  # of each line what is bold, and what is not
    font: int
    turned: bool
    wide: float  # room that its longest line takes
    high: float  # room that its lines take below each other


def picture(*, width: float, height: float, title: str, desc: str) -> Element:
    """An empty picture with its name and what it shows in words."""
    root = Element(
        "svg",
        {
            "xmlns": "http://www.w3.org/2000/svg",
            "version": "1.1",
            "width": number(width),
            "height": number(height),
            "viewBox": f"0 0 {number(width)} {number(height)}",
            "role": "img",
            "font-family": FONT,
        },
    )
    SubElement(root, "title").text = clean(title)
    SubElement(root, "desc").text = clean(desc)
    box(root, Box(x=0, y=0, width=width, height=height), fill="white")
    return root


def written(root: Element) -> str:
    """The picture as text, ended by a line feed."""
    return f"{tostring(root, encoding='unicode')}\n"


def number(value: float) -> str:
    """A coordinate, to a hundredth of a pixel."""
    return f"{value:z.2f}".rstrip("0").rstrip(".")


def clean(text: str) -> str:
    """What XML can hold of a text, in one line."""
    return plain_line("".join(letter for letter in text if not "\ud800" <= letter <= "\udfff" and letter < "\ufffe"))


def box(parent: Element, where: Box, **looks: str) -> None:
    """A rectangle."""
    sizes = {"x": where.x, "y": where.y, "width": where.width, "height": where.height}
    SubElement(parent, "rect", {**{name: number(size) for name, size in sizes.items()}, **_attributes(looks)})


def path(parent: Element, strokes: Sequence[str], **looks: str) -> None:
    """Lines, each written as the d of a path; nothing where there are none."""
    if strokes:
        SubElement(parent, "path", {"d": "".join(strokes), "fill": "none", "stroke": "black", **_attributes(looks)})


def stroke(x1: float, y1: float, x2: float, y2: float) -> str:
    """A straight line, for ``path``."""
    return f"M{number(x1)} {number(y1)}L{number(x2)} {number(y2)}"


def text(parent: Element, x: float, y: float, said: str, *, font: float = 10, **looks: str) -> Element:
    """A line of text that begins at (x, y), or lies about it with ``text_anchor``."""
    made = SubElement(parent, "text", {"x": number(x), "y": number(y), "font-size": number(font), **_attributes(looks)})
    made.text = clean(said)
    return made


def _attributes(looks: dict[str, str]) -> dict[str, str]:
    return {name.replace("_", "-"): value for name, value in looks.items()}


# Texts in boxes -------------------------------------------------------------------------------------------------------


def text_px(said: str, font: float, *, bold: bool = False) -> float:
    """Room that a text takes, rather too much than too little: no reader's fonts are known here."""
    return sum(_WIDTHS.get(letter, _WIDEST) for letter in clean(said)) * font * (_BOLD if bold else 1)


def fitted(name: str, size: str, where: Box) -> Fitted | None:
    """Name and size below each other or in one line, level or turned, as large as they fit; None where they do not."""
    bold, plain = text_px(name, 1, bold=True), text_px(size, 1)
    ways = (
        (((name, ""), ("", size)), max(bold, plain)),
        (((name, size),), bold + _SPACE + plain),
    )
    for turned in (False, True):
        along, across = (where.height, where.width) if turned else (where.width, where.height)
        for font in range(LARGEST, SMALLEST - 1, -1):
            for lines, wide in ways:
                if wide * font <= along - 8 and len(lines) * LINE * font <= across - 4:
                    return _fit(lines, font, wide, turned=turned)
    return None


def numbered(key: int) -> Fitted:
    """A number in place of words, as small as it may be."""
    return _fit(((f"{key}", ""),), SMALLEST, text_px(f"{key}", 1, bold=True), turned=False)


def _fit(lines: tuple[tuple[str, str], ...], font: int, wide: float, *, turned: bool) -> Fitted:
    return Fitted(lines=lines, font=font, turned=turned, wide=wide * font, high=len(lines) * LINE * font)


def label(parent: Element, where: Box, how: Fitted) -> None:
    """Draw a fitted text about the middle of its box, on white."""
    x, y = where.x + where.width / 2, where.y + where.height / 2
    turn = {"transform": f"rotate(-90 {number(x)} {number(y)})"} if how.turned else {}
    paper = Box(x=x - how.wide / 2 - 2, y=y - how.high / 2, width=how.wide + 4, height=how.high)
    box(parent, paper, fill="white", **turn)
    for row, (bold, plain) in enumerate(how.lines):
        base = y - how.high / 2 + (row + 0.78) * LINE * how.font
        said = text(parent, x, base, plain if not bold else "", font=how.font, text_anchor="middle", **turn)
        if bold:
            SubElement(said, "tspan", {"font-weight": "bold"}).text = clean(bold)
        if bold and plain:
            SubElement(said, "tspan", {"dx": number(_SPACE * how.font)}).text = clean(plain)


def shortened(said: str, font: float, room: float) -> str:
    """The text, or as much of its beginning as fits."""
    if text_px(said, font, bold=True) <= room:
        return said
    while said and text_px(f"{said}...", font, bold=True) > room:
        said = said[:-1]
    return f"{said.rstrip()}..."


def wrapped(words: Sequence[str], font: float, room: float) -> list[str]:
    """Entries of a list in lines of at most this room; an entry is not broken."""
    lines: list[str] = []
    for entry in words:
        longer = f"{lines[-1]}; {entry}" if lines else entry
        if lines and text_px(longer, font) <= room:
            lines[-1] = longer
        else:
            lines.append(entry)
    return lines
