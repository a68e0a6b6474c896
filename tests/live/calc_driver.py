"""Opens documents in Calc without a window and tells what their cells hold.

Needs the ``uno`` module, which belongs to the system's Python and not to ours; `test_spreadsheet.py` starts this file
with that Python. It reads one JSON object from its input: the program, the folder of its profile, and the documents.
"""

import json
import socket
import subprocess
import sys
import time
from pathlib import Path

import uno  # type: ignore[import-not-found]
from com.sun.star.beans import PropertyValue  # type: ignore[import-not-found]
from com.sun.star.connection import NoConnectException  # type: ignore[import-not-found]

START_LIMIT_S = 30
STOP_LIMIT_S = 15
SETTLE_LIMIT_S = 10
BLOCKED = 540  # Calc's error of a cell that may not ask the network, or has not yet
FULL_UPDATE = 3  # com.sun.star.document.UpdateDocMode: without it no cell asks
CSV_FILTER = "Text - txt - csv (StarCalc)"


def named(**values):
    """UNO's way of writing keyword arguments."""
    return tuple(PropertyValue(Name=name, Value=value) for name, value in values.items())


def connected(process, port):
    """The office behind a port, as soon as it answers."""
    local = uno.getComponentContext()
    resolver = local.ServiceManager.createInstanceWithContext("com.sun.star.bridge.UnoUrlResolver", local)
    deadline = time.monotonic() + START_LIMIT_S
    while True:
        try:
            return resolver.resolve(f"uno:socket,host=127.0.0.1,port={port};urp;StarOffice.ComponentContext")
        except NoConnectException:
            if process.poll() is not None or time.monotonic() > deadline:
                raise
            time.sleep(0.1)


def read(desktop, wanted):
    """Cells of one document, after typing into it what is to be typed and letting it calculate."""
    options = {"Hidden": True, "UpdateDocMode": FULL_UPDATE}
    if "csv_options" in wanted:
        options |= {"FilterName": CSV_FILTER, "FilterOptions": wanted["csv_options"]}
    document = desktop.loadComponentFromURL(wanted["url"], "_blank", 0, named(**options))
    sheet = document.Sheets.getByIndex(0)
    for address, text in wanted.get("typed", {}).items():
        sheet.getCellRangeByName(address).FormulaLocal = text
    deadline = time.monotonic() + SETTLE_LIMIT_S
    document.calculateAll()
    while (cells := told(document, sheet)) and any(cell["error"] == BLOCKED for cell in cells):
        if time.monotonic() > deadline:
            break
        time.sleep(0.2)
        document.calculateAll()
    document.close(True)  # noqa: FBT003  UNO knows no keywords
    return cells


def told(document, sheet):
    """Every cell of the used area, row by row."""
    cursor = sheet.createCursor()
    cursor.gotoEndOfUsedArea(False)  # noqa: FBT003
    last = cursor.RangeAddress
    formats = {}  # every question crosses to another process, and there are few formats
    places = ((column, row) for row in range(last.EndRow + 1) for column in range(last.EndColumn + 1))
    return [told_cell(document, formats, sheet.getCellByPosition(*place), place) for place in places]


def told_cell(document, formats, cell, place):
    """One cell: what it is to Calc, what it shows, and the kind of its number format."""
    key = cell.NumberFormat
    if key not in formats:
        formats[key] = document.NumberFormats.getByKey(key).Type
    return {
        "place": place,
        "kind": cell.Type.value,
        "value": cell.Value,
        "shown": cell.String,
        "error": cell.getError(),
        "format": formats[key],
    }


def main():
    """Start the office, read all documents, stop it."""
    wanted = json.load(sys.stdin)
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        port = probe.getsockname()[1]
    command = [
        wanted["program"], f"-env:UserInstallation={Path(wanted['profile']).as_uri()}", "--headless", "--norestore",
        "--nodefault", f"--accept=socket,host=127.0.0.1,port={port};urp;",
    ]  # fmt: skip
    process = subprocess.Popen(command, stdout=sys.stderr)
    try:
        context = connected(process, port)
        desktop = context.ServiceManager.createInstanceWithContext("com.sun.star.frame.Desktop", context)
        answer = [read(desktop, each) for each in wanted["documents"]]
        desktop.terminate()
        process.wait(STOP_LIMIT_S)
    finally:
        if process.poll() is None:
            process.terminate()  # its starter hands this on
            process.wait(STOP_LIMIT_S)
    json.dump(answer, sys.stdout)


if __name__ == "__main__":
    main()
