"""A maker's price list in a real spreadsheet program: the published formula, and files of cells, in two regions.

Calc runs without a window, with a fresh profile, and asks the real server; what its cells hold is compared with the
JSON answers to the same orders. Needs Calc; ``make office-check`` runs it.
"""

import json
import os
import re
import shutil
import signal
import subprocess
from collections.abc import Callable, Iterator
from datetime import date, timedelta
from pathlib import Path
from typing import Any

import openpyxl
import pytest
import requests

pytestmark = pytest.mark.office

PROJECT = Path(__file__).resolve().parents[2]
README = (PROJECT / "README.md").read_text(encoding="utf-8")
DEMO_SHOP = PROJECT / "service" / "chequerwork" / "shop" / "demo" / "moosgrund.toml"
MISSING = "not installed: {}; on Debian: apt-get install --no-install-recommends libreoffice-calc python3-uno"
TIME_LIMIT_S = 90

# What a maker types, in forms that a spreadsheet might take for something else; and what is none, with why.
SQUARES = ["48 mm", "1 7/8 in", "2¼ in", "2-1/16in", "5.2 cm", '1 7/8"']
FAULTS = {"48": "no unit", "4,8 cm": "comma", "=3*16": "no unit", "nine": "no number"}
DATES = "&issued_on=2027-02-01&starts_on=2027-02-08"
FRAME = "&frame.joint=mitre&frame.hold=floating&frame.species=wenge&frame.width=44mm"
ORDER = {
    "game": "chess", "square": "2 1/16 in", "pieces": {"king_base": "40 mm"}, "light": "pear", "dark": "wenge",
    "lines": [{"species": "wenge", "width": "2 mm"}, {"species": "pear", "width": "3 mm"}],
    "frame": {"joint": "mitre", "hold": "floating", "species": "wenge", "width": "44 mm"}, "feet": 4,
    "base": {"material": "birch_plywood", "thickness": "6 mm"},
    "issued_on": "2027-02-01", "starts_on": "2027-02-08",
}  # fmt: skip

# Windows' numbers of the two languages, as a file import asks for them; 0 is that of the profile.
LANGUAGES = {"en-US": 1033, "de-DE": 1031}
# LibreOffice's com.sun.star.util.NumberFormat.
FORMAT_DATE, FORMAT_LOGICAL = 2, 1024
DAY_ZERO = date(1899, 12, 30)

PROFILE = """<?xml version="1.0" encoding="UTF-8"?>
<oor:items xmlns:oor="http://openoffice.org/2001/registry" xmlns:xs="http://www.w3.org/2001/XMLSchema">
<item oor:path="/org.openoffice.Setup/L10N"><prop oor:name="ooSetupSystemLocale" oor:op="fuse">
<value>{locale}</value></prop></item>
<item oor:path="/org.openoffice.Office.Common/Security/Scripting"><prop oor:name="SecureURL" oor:op="fuse">
<value><it>{trusted}</it></value></prop></item>
</oor:items>
"""

Cells = dict[str, dict[str, Any]]


class Calc:
    """Calc as somebody in one region uses it. Documents in its folder are trusted to ask the network."""

    def __init__(self, locale: str, folder: Path) -> None:
        self.locale = locale
        self._soffice, self._python = programs()
        self.folder = folder / "documents"
        self.folder.mkdir()
        self._profile = folder / "profile"
        (self._profile / "user").mkdir(parents=True)
        settings = PROFILE.format(locale=locale, trusted=self.folder.as_uri())
        (self._profile / "user" / "registrymodifications.xcu").write_text(settings, encoding="utf-8")

    def read(self, *documents: dict[str, Any]) -> list[Cells]:
        """The cells of each document, by address."""
        wanted = {"program": self._soffice, "profile": str(self._profile), "documents": documents}
        answer = run_driver(self._python, json.dumps(wanted))
        return [{address(*cell["place"]): cell for cell in cells} for cells in json.loads(answer)]

    def read_csv(self, name: str, content: bytes, *, delimiter: str, options: str) -> dict[str, Any]:
        """What to hand to ``read`` for a file of cells. The first options: delimiter, quote, UTF-8, first row."""
        path = self.folder / name
        path.write_bytes(content)
        return {"url": path.as_uri(), "csv_options": f"{ord(delimiter)},34,76,1,,{options}"}


def programs() -> tuple[str, str]:
    """Calc, and a Python that has the module which comes with Calc. Without them there is nothing to test."""
    soffice = shutil.which("soffice")
    python = next(filter(knows_uno, ["/usr/bin/python3", shutil.which("python3")]), None)
    missing = [name for name, found in (("soffice", soffice), ("Python's uno module", python)) if found is None]
    if soffice is None or python is None:
        pytest.exit(MISSING.format(" and ".join(missing)), returncode=1)
    return soffice, python


def run_driver(python: str, wanted: str) -> str:
    """Run the driver; if it hangs, it is ended with all it started."""
    driver = subprocess.Popen(
        [python, str(Path(__file__).with_name("calc_driver.py"))],
        stdin=subprocess.PIPE, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True, start_new_session=True,
    )  # fmt: skip
    try:
        told, said = driver.communicate(wanted, timeout=TIME_LIMIT_S)
    except subprocess.TimeoutExpired:
        os.killpg(driver.pid, signal.SIGKILL)
        _, said = driver.communicate()
        pytest.fail(f"Calc did not finish within {TIME_LIMIT_S} s and said:\n{said}")
    assert driver.returncode == 0, said
    return told


def knows_uno(python: str | None) -> bool:
    """Whether this Python is there and has the module that comes with Calc."""
    if python is None or not Path(python).exists():
        return False
    return subprocess.run([python, "-c", "import uno"], capture_output=True, check=False).returncode == 0


def address(column: int, row: int) -> str:
    """``A1`` for 0, 0."""
    return f"{openpyxl.utils.get_column_letter(column + 1)}{row + 1}"


@pytest.fixture(scope="module", params=["en-US", "de-DE"])
def calc(request: pytest.FixtureRequest, tmp_path_factory: pytest.TempPathFactory) -> Calc:
    return Calc(request.param, tmp_path_factory.mktemp("calc"))


# The published formula ------------------------------------------------------------------------------------------------


def published(server_url: str) -> tuple[str, str]:
    """The README's two formulas as they stand there: one asks this server with A2, one makes a number of B2."""
    asking, number = re.findall(r"^```\n(=.*?)\n```$", README, flags=re.MULTILINE | re.DOTALL)
    asking = asking.replace("http://127.0.0.1:8000", server_url)
    assert "ENCODEURL(A2)" in asking
    assert server_url in asking
    assert "B2" in number
    return asking, number


def web_call(formula: str, *, field: str, more: str = "") -> str:
    """The formula's own question, without what it makes of the answer, for another field and more of an order."""
    call = re.search(r'WEBSERVICE\(.*?"\)', formula, flags=re.DOTALL)
    assert call
    assert "field=price.total" in call[0]
    return re.sub(r'"\)$', f'{more}")', call[0].replace("field=price.total", f"field={field}"))


def in_row(formula: str, row: int) -> str:
    """As a spreadsheet changes it when it is filled down from row 2."""
    return formula.replace("A2", f"A{row}").replace("E2", f"E{row}")


def in_file(formula: str) -> str:
    """As files of the xlsx format hold it: commas between arguments, and a mark before names that came later."""
    pieces = re.split(r'("[^"]*")', formula)
    pieces[::2] = [
        re.sub(r"\b(WEBSERVICE|ENCODEURL|NUMBERVALUE)\b", r"_xlfn.\1", piece).replace(";", ",") for piece in pieces[::2]
    ]
    return "".join(pieces)


def price_list(server_url: str) -> list[dict[str, str]]:
    """Formulas of every row: B the total, C the length in inches, D the day it leaves, E what was answered."""
    asking, number = published(server_url)
    length = number.replace("B2", web_call(asking, field="geometry.overall.length_in", more=FRAME))
    ships_on = f"=DATEVALUE({web_call(asking, field='schedule.ships_on', more=DATES)})"
    columns = {"B": number.replace("B2", "E2"), "C": length, "D": ships_on, "E": asking}
    return [
        {"A": square} | {column: in_row(each, row) for column, each in columns.items()}
        for row, square in enumerate([*SQUARES, *FAULTS], start=2)
    ]


def save_price_list(server_url: str, path: Path) -> str:
    """The price list as an xlsx file whose first column holds what a maker typed; its address."""
    book = openpyxl.Workbook()
    sheet = book.active
    for column, heading in enumerate(("square", "total", "length in", "leaves on", "answer"), start=1):
        sheet.cell(1, column, heading)
    for row, cells in enumerate(price_list(server_url), start=2):
        sheet[f"A{row}"] = 48 if cells["A"] == "48" else cells["A"]
        for column in "BCDE":
            sheet[f"{column}{row}"] = in_file(cells[column])
        sheet[f"D{row}"].number_format = "yyyy-mm-dd"
    book.save(path)
    return path.as_uri()


@pytest.fixture(scope="module", params=["opened", "typed"])
def filled_in(request: pytest.FixtureRequest, calc: Calc, server_url: str) -> Cells:
    """The price list, opened from an xlsx file or typed into an empty sheet as a person types it in this region."""
    if request.param == "opened":
        return calc.read({"url": save_price_list(server_url, calc.folder / "prices.xlsx")})[0]
    rows = enumerate(price_list(server_url), start=2)
    typed = {f"{column}{row}": text for row, cells in rows for column, text in cells.items()}
    return calc.read({"url": "private:factory/scalc", "typed": typed})[0]


def quote(server_url: str, square: str, more: str = "") -> dict[str, Any]:
    """The JSON answer to the order of one row."""
    query = {"square": square, "light": "pear", "dark": "wenge"}
    answer = requests.get(f"{server_url}/v1/quotes?{more.removeprefix('&')}", params=query, timeout=10)
    assert answer.status_code == 200, answer.text
    whole: dict[str, Any] = answer.json()
    return whole


def test_lengths_stay_what_the_maker_typed(filled_in: Cells):
    for row, square in enumerate(SQUARES, start=2):
        assert (filled_in[f"A{row}"]["kind"], filled_in[f"A{row}"]["shown"]) == ("TEXT", square)


def test_totals_are_those_of_the_service_and_numbers(filled_in: Cells, calc: Calc, server_url: str):
    totals = [filled_in[f"B{row}"] for row in range(2, 2 + len(SQUARES))]
    expected = [quote(server_url, square)["price"]["total"] for square in SQUARES]
    assert [total["error"] for total in totals] == [0] * len(SQUARES)
    assert [total["value"] for total in totals] == [float(each) for each in expected]
    # The profile is really of its region, or the two would prove no more than one.
    sign = "," if calc.locale == "de-DE" else "."
    assert sign in totals[0]["shown"] + totals[1]["shown"]


def test_overall_lengths_in_inches_are_those_of_the_service(filled_in: Cells, server_url: str):
    lengths = [filled_in[f"C{row}"]["value"] for row in range(2, 2 + len(SQUARES))]
    millimetres = [quote(server_url, square, FRAME)["geometry"]["overall"]["length_mm"] for square in SQUARES]
    # One inch is 25.4 mm: international yard and pound agreement of 1959, from memory. Four decimals are answered.
    assert lengths == pytest.approx([mm / 25.4 for mm in millimetres], abs=0.5e-4)
    assert len(set(lengths)) == len(SQUARES) - 1  # 1 7/8 in stands there twice, in two forms


def test_days_are_those_of_the_service_and_can_be_reckoned_with(filled_in: Cells, server_url: str):
    for row, square in enumerate(SQUARES, start=2):
        expected = quote(server_url, square, DATES)["schedule"]["ships_on"]
        assert (DAY_ZERO + timedelta(filled_in[f"D{row}"]["value"])).isoformat() == expected


def test_a_fault_can_be_read_in_the_cell_and_is_never_a_number(filled_in: Cells):
    for row, why in enumerate(FAULTS.values(), start=2 + len(SQUARES)):
        answered = filled_in[f"E{row}"]["shown"]
        assert answered.startswith("ERROR square: "), answered
        assert why in answered
        assert filled_in[f"B{row}"]["shown"] == answered


# Files of cells -------------------------------------------------------------------------------------------------------


def parameters(tree: Any, prefix: str = "") -> dict[str, Any]:
    """An order as a flat query, whose lists are one text."""
    flat: dict[str, Any] = {}
    for name, value in tree.items():
        if isinstance(value, dict):
            flat |= parameters(value, f"{prefix}{name}.")
        elif isinstance(value, list):
            flat[prefix + name] = ";".join(f"{line['species']}:{line['width']}" for line in value)
        else:
            flat[prefix + name] = value
    return flat


def leaves(branch: Any, name: str = "") -> Iterator[tuple[str, Any]]:
    """Every value of an answer with the heading that its column has."""
    steps = branch.items() if isinstance(branch, dict) else enumerate(branch) if isinstance(branch, list) else ()
    for step, value in steps:
        yield from leaves(value, f"{name}.{step}" if name else str(step))
    if not isinstance(branch, dict | list):
        yield name, branch


@pytest.fixture(scope="module")
def whole_quote(server_url: str) -> Callable[..., bytes]:
    """A maker's quote of a board with all its parts, as a file of cells or as JSON."""
    key = re.search(r"Authorization: Bearer ([A-Za-z0-9._~-]{8,})", README)
    assert key, "the README shows no call with a maker's key"

    def ask(suffix: str, **presentation: str) -> bytes:
        answer = requests.get(
            f"{server_url}/v1/quotes{suffix}",
            params=parameters(ORDER) | presentation,
            headers={"Authorization": f"Bearer {key[1]}"},
            timeout=10,
        )
        assert answer.status_code == 200, answer.text
        return answer.content

    return ask


def check_cell(name: str, cell: dict[str, Any], value: Any, *, knows_true: bool) -> None:
    """Hold one imported cell to the value of the JSON answer."""
    if isinstance(value, bool):
        # True is a word, and an import that looks for words looks for those of its own language.
        got: Any = (cell["format"], cell["value"]) if knows_true else (cell["kind"], cell["shown"])
        assert got == ((FORMAT_LOGICAL, float(value)) if knows_true else ("TEXT", str(value).upper())), name
    elif value in (None, ""):
        assert cell["kind"] == "EMPTY", name
    elif isinstance(value, int | float) or re.fullmatch(r"-?\d+\.\d\d", value):
        assert (cell["kind"], cell["value"]) == ("VALUE", float(value)), name
        assert cell["format"] != FORMAT_DATE, f"{name} became a date: {cell['shown']}"
    elif re.fullmatch(r"\d{4}-\d\d-\d\d", value):
        assert (cell["kind"], cell["format"]) == ("VALUE", FORMAT_DATE), name
        assert (DAY_ZERO + timedelta(cell["value"])).isoformat() == value, name
    elif name.startswith("price.") and name.endswith("_text"):
        # An amount as people write it would become a number of the region: the cell begins with an apostrophe.
        assert (cell["kind"], cell["shown"]) == ("TEXT", f"'{value}"), name
    else:
        assert (cell["kind"], cell["shown"]) == ("TEXT", value), name


def import_options(language: int, *, detect: bool) -> str:
    """Calc's options of an import from the sixth on: language, no quoting, dates and the like, ..., formulas."""
    return f"{language},false,{str(detect).lower()},false,false,false,0,true"


@pytest.mark.parametrize(
    ("region", "presentation"),
    [("en-US", {}), ("de-DE", {"delimiter": ";", "decimal": ",", "bom": "1"})],
    ids=["default", "semicolons-and-commas"],
)
def test_numbers_texts_and_dates_of_a_whole_quote_are_imported_as_such(
    calc: Calc, whole_quote: Callable[..., bytes], region: str, presentation: dict[str, str]
):
    """In its own region a file opens as it is; elsewhere the language of its numbers is chosen while importing it."""
    content = whole_quote(".csv", **presentation)
    expected = dict(leaves(json.loads(whole_quote(""))))
    language = 0 if region == calc.locale else LANGUAGES[region]
    separator = presentation.get("delimiter", ",")
    # Only plain numbers and dates are looked for, or also all else that a cell may be.
    options = [import_options(language, detect=detecting) for detecting in (False, True)]
    imports = [calc.read_csv(f"{region}.csv", content, delimiter=separator, options=each) for each in options]
    for cells, detecting in zip(calc.read(*imports), (False, True), strict=True):
        headings = [cell["shown"] for cell in cells.values() if cell["place"][1] == 0]
        row = [cell for cell in cells.values() if cell["place"][1] == 1]
        assert {cell["place"][1] for cell in cells.values()} == {0, 1}
        assert {cell["kind"] for cell in cells.values()} == {"TEXT", "VALUE", "EMPTY"}
        assert headings == list(expected)
        for name, cell in zip(headings, row, strict=True):
            check_cell(name, cell, expected[name], knows_true=detecting and region == "en-US")


@pytest.fixture(scope="module")
def formula_shop_url(start_server: Callable[..., Any], tmp_path_factory: pytest.TempPathFactory) -> str:
    """Address of a server whose shop has a formula for a name."""
    shop = DEMO_SHOP.read_text(encoding="utf-8")
    name = 'name = "Brettwerkstatt Moosgrund"'
    assert name in shop
    path = tmp_path_factory.mktemp("shop") / "shop.toml"
    path.write_text(shop.replace(name, 'name = "=1+1"'), encoding="utf-8")
    server = start_server(CHEQUERWORK_SHOPS=str(path))
    server.wait_until_healthy()
    return str(server.url)


@pytest.mark.parametrize(("delimiter", "decimal"), [(",", "."), (";", ",")], ids=["default", "semicolons-and-commas"])
def test_nothing_that_people_wrote_becomes_a_formula(calc: Calc, formula_shop_url: str, delimiter: str, decimal: str):
    """A shop's name, and an order that cannot be read and is repeated in the cell that says so."""
    files = {"control": f"a{delimiter}=1+1\r\n".encode()}
    for what, square in (("named", "48 mm"), ("fault", "=1+1;=1+1,=1+1")):
        query = {"square": square, "light": "pear", "dark": "wenge", "errors": "inline"}
        query |= {"delimiter": delimiter, "decimal": decimal}
        files[what] = requests.get(f"{formula_shop_url}/v1/quotes.csv", params=query, timeout=10).content
    options = import_options(0, detect=True)
    imports = [
        calc.read_csv(f"{what}.csv", content, delimiter=delimiter, options=options) for what, content in files.items()
    ]
    control, named, fault = calc.read(*imports)
    assert control["B1"]["kind"] == "FORMULA"  # so Calc does make formulas of what looks like one
    assert {cell["kind"] for cell in named.values()} == {"TEXT", "VALUE", "EMPTY"}
    assert "'=1+1" in [cell["shown"] for cell in named.values()]
    assert [(cell["kind"], cell["shown"][:6]) for cell in fault.values()] == [("TEXT", "ERROR ")]
