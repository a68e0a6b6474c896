"""The two trees that are asked: an old commit with an environment from its own pins, and the tree at hand."""

import hashlib
import os
import subprocess
import sys
import tomllib
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path

HERE = Path(__file__).resolve().parents[2]
FOLDER = HERE / ".venv" / "compare"
ANSWERING = Path(__file__).resolve().with_name("answering.py")
SHOPS = Path(__file__).resolve().with_name("shops")
READY = "complete"


@dataclass(frozen=True, slots=True, kw_only=True)
class Tree:
    """Where a tree lies, and what runs it."""

    root: Path
    python: Path


def this_tree() -> Tree:
    """The tree at hand, in the environment that runs this."""
    return Tree(root=HERE, python=Path(sys.executable))


def old_tree(commit: str) -> Tree:
    """The tree of a commit, made ready the first time that it is asked for.

    Parameters
    ----------
    commit
        Anything that git knows a commit by.
    """
    sha = _git("rev-parse", "--verify", f"{commit}^{{commit}}").decode().strip()
    root = FOLDER / sha
    if not (root / "service").exists():
        _git("worktree", "prune")  # of folders that `make clean` took
        _git("worktree", "add", "--force", "--detach", str(root), sha)
    return Tree(root=root, python=_environment_of(root) / "bin" / "python")


def _environment_of(root: Path) -> Path:
    """The environment of a tree's own pins; trees with the same ones share it, for the service itself is not in it."""
    pins = root / "docker" / "constraints.txt"
    needed = tomllib.loads((root / "pyproject.toml").read_text("utf-8"))["project"]["dependencies"]
    digest = hashlib.sha256("\n".join([*needed, pins.read_text("utf-8")]).encode()).hexdigest()
    place = FOLDER / f"pins-{digest[:16]}"
    if not (place / READY).exists():
        print(f"compare: making the environment of {root.name[:12]} from its own pins", flush=True)
        subprocess.run([sys.executable, "-m", "venv", "--clear", str(place)], check=True)
        pip = [str(place / "bin" / "python"), "-m", "pip", "--disable-pip-version-check", "--quiet", "--no-input"]
        subprocess.run([*pip, "install", "-c", str(pins), *needed], check=True)
        (place / READY).touch()
    return place


def _git(*words: str) -> bytes:
    return subprocess.run(["git", *words], cwd=HERE, check=True, capture_output=True).stdout  # noqa: S607 - whichever


def ask(tree: Tree, requests: str, day: str, into: Path) -> subprocess.Popen[bytes]:
    """Begin to answer requests from a tree.

    Parameters
    ----------
    tree
        Which one.
    requests
        JSON lines.
    day
        Today's date for it.
    into
        File of the answers; the requests stand beside it, and what the service logged.
    """
    asked = into.with_suffix(".requests")
    asked.write_text(requests, "utf-8")
    command = [str(tree.python), str(ANSWERING), str(asked), str(into), day, str(SHOPS)]
    with into.with_suffix(".log").open("wb") as log:
        return subprocess.Popen(command, cwd=tree.root, env=_variables(tree), stderr=log)


def _variables(tree: Tree) -> Mapping[str, str]:
    """The demo shops whatever is set here; hashes differ from process to process, as they do where it is served."""
    kept = {name: text for name, text in os.environ.items() if not name.startswith(("CHEQUERWORK_", "PYTHON"))}
    return {**kept, "PYTHONPATH": str(tree.root / "service")}


def wait_for(running: Sequence[subprocess.Popen[bytes]]) -> None:
    """Let all of them come to their end.

    Raises
    ------
    SystemExit
        One could not be run at all; its log says why.
    """
    ends = [process.wait() for process in running]
    if any(ends):
        sys.exit(f"compare: a tree could not be asked; see the logs in {FOLDER}")


def kept_answers(tree: Tree, requests: str, day: str) -> Path:
    """Where the answers of an old tree are kept: the same questions are not asked of it twice."""
    files = (ANSWERING, *sorted(SHOPS.iterdir()))
    digest = hashlib.sha256(
        "\0".join([requests, day, *(path.read_text("utf-8") for path in files)]).encode()
    ).hexdigest()
    return tree.root / f"answers-{digest[:24]}.jsonl"
