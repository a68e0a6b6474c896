"""The fact tables as shipped, and copies of their files to spoil."""

import shutil
from collections.abc import Callable
from importlib.resources import files
from pathlib import Path

import pytest

from chequerwork.data.tables import COLUMNS, load_tables
from chequerwork.domain.basics.errors import Fault, Refused
from chequerwork.domain.basics.facts import Tables


@pytest.fixture(scope="session")
def tables() -> Tables:
    return load_tables()


@pytest.fixture
def folder(tmp_path) -> Path:
    """A copy of every fact file."""
    shipped = Path(str(files("chequerwork.data")))
    for name in COLUMNS:
        shutil.copy(shipped / name, tmp_path / name)
    return tmp_path


class Spoiler:
    """Changes copied files, one text at a time."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder

    def __call__(self, name: str, old: str, new: str) -> None:
        """Replace a text that occurs once."""
        text = (self.folder / name).read_text(encoding="utf-8")
        assert text.count(old) == 1, f"{old!r} is {text.count(old)} times in {name}"
        (self.folder / name).write_text(text.replace(old, new), encoding="utf-8")

    def line(self, name: str, part: str) -> int:
        """Number of the line with a text that occurs once."""
        text = (self.folder / name).read_text(encoding="utf-8")
        assert text.count(part) == 1, f"{part!r} is {text.count(part)} times in {name}"
        return text[: text.index(part) + len(part) - len(part.lstrip())].count("\n") + 1


@pytest.fixture
def spoil(folder) -> Spoiler:
    return Spoiler(folder)


@pytest.fixture
def faults(folder) -> Callable[[], tuple[Fault, ...]]:
    """What the loader has against the copied files."""

    def found() -> tuple[Fault, ...]:
        with pytest.raises(Refused) as refused:
            load_tables(folder)
        return refused.value.faults

    return found
