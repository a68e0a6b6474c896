"""Prove the image without a container engine: replay its Dockerfile and use what comes out.

Each instruction of docker/Dockerfile is carried out in a scratch folder that stands for the image's root:
COPY copies what the ignore file lets through, RUN runs the same command; ENV, WORKDIR and USER take effect.
Then CMD is started as a container would start it: as the image's user, with no home, on files that it cannot
change. It must become healthy by the image's own HEALTHCHECK, answer one quote, leave no file behind, and
stop when told.

What this cannot show is the base image itself: the Python at hand stands for it. Only root can take on the
image's user; anybody else runs the same steps as themselves.
"""

import json
import os
import re
import shlex
import shutil
import signal
import socket
import subprocess
import sys
import tempfile
import time
import urllib.request
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

PROJECT = Path(__file__).resolve().parent.parent
DOCKERFILE = PROJECT / "docker" / "Dockerfile"
START_LIMIT_S = 30
STOP_LIMIT_S = 25
WRITABLE_BY_ALL = (Path("/dev/shm"), Path("/var/tmp"))  # noqa: S108  looked at, never written
ORDER = {"square": "48 mm", "light": "sycamore_maple", "dark": "european_walnut"}


class ImageFault(Exception):
    """The image would not work; the text says why."""


def log(text: str) -> None:
    """Say one step, at once."""
    print(f"image-check: {text}", flush=True)


# Reading the dockerfile.


def instructions(text: str) -> Iterator[tuple[str, str]]:
    """Pairs of instruction and its argument, with comments dropped and continued lines joined."""
    lines = [line for line in text.splitlines() if not line.lstrip().startswith("#")]
    for line in "\n".join(lines).replace("\\\n", " ").splitlines():
        if line.strip():
            word, _, rest = line.strip().partition(" ")
            yield word.upper(), rest.strip()


def exec_form(argument: str) -> list[str]:
    """The words of an exec-form command; a shell form would put a shell between the engine and the server."""
    if not argument.startswith("["):
        raise ImageFault(f"not in exec form: {argument}")
    words: list[str] = json.loads(argument)
    return words


# Carrying it out.


@dataclass(slots=True, kw_only=True)
class Stage:
    """One build stage while it is replayed."""

    root: Path
    environment: dict[str, str]
    folder: str = "/"
    user: str = "0:0"
    command: list[str] = field(default_factory=list)
    health: list[str] = field(default_factory=list)

    def inside(self, path: str) -> Path:
        """Where a path of the image lies in the scratch folder."""
        return self.root / (Path(self.folder) / path).as_posix().lstrip("/")

    def relocated(self, text: str) -> str:
        """The text with paths under /opt, where the whole image lives, moved into the scratch folder."""
        return re.sub(r"(?<![\w.])/opt(?=[/:\s]|$)", f"{self.root}/opt", text)

    def variables(self) -> dict[str, str]:
        """The environment of a process in the image: what ENV says and nothing of the caller's."""
        return {name: self.relocated(value) for name, value in self.environment.items()}


class Replay:
    """Carries out the instructions one by one, keeping finished stages by name."""

    def __init__(self, scratch: Path, host_environment: dict[str, str]) -> None:
        self.scratch = scratch
        self.host_environment = host_environment
        self.finished: dict[str, Path] = {}
        self.name = ""
        self.stage: Stage | None = None

    def do(self, word: str, argument: str) -> None:
        """Carry out one instruction; one that is not understood stops the check."""
        log(f"{word} {argument[:100]}")
        if word == "FROM":
            self._from(argument)
            return
        if self.stage is None:
            raise ImageFault(f"{word} before FROM")
        action = getattr(self, f"_{word.lower()}", None)
        if action is None:
            raise ImageFault(f"{word} is not replayed; teach docker/image_check.py what it means")
        action(self.stage, argument)

    def _from(self, argument: str) -> None:
        root = self.scratch / "root"
        if self.stage is not None:
            kept = self.scratch / f"stage-{self.name}"
            root.rename(kept)
            self.finished[self.name] = kept
        root.mkdir(mode=0o755)
        self.name = argument.partition(" AS ")[2] or "final"
        self.stage = Stage(root=root, environment={"PATH": self.host_environment["PATH"]})

    def _env(self, stage: Stage, argument: str) -> None:
        for pair in shlex.split(argument):
            name, _, value = pair.partition("=")
            stage.environment[name] = value.replace("$PATH", stage.environment["PATH"])

    def _workdir(self, stage: Stage, argument: str) -> None:
        stage.folder = argument
        stage.inside(".").mkdir(parents=True, exist_ok=True)

    def _copy(self, stage: Stage, argument: str) -> None:
        *flags, target = argument.split()
        origin = PROJECT
        if flags[0].startswith("--from="):
            origin = self.finished[flags.pop(0).removeprefix("--from=")]
        for source in flags:
            path = origin / source.lstrip("/")
            if origin is PROJECT and not sent_to_builder(path):
                raise ImageFault(f"COPY {source}: the ignore file keeps it from the builder")
            to_folder = target.endswith("/") or len(flags) > 1
            place = stage.inside(target) / path.name if to_folder else stage.inside(target)
            copy(path, place, drop=("__pycache__", "*.egg-info") if origin is PROJECT else ())

    def _run(self, stage: Stage, argument: str) -> None:
        environment = self.host_environment | stage.variables()
        subprocess.run(  # noqa: S602  the Dockerfile's own commands are meant for a shell
            stage.relocated(argument), shell=True, check=True, cwd=stage.inside("."), env=environment
        )

    def _user(self, stage: Stage, argument: str) -> None:
        stage.user = argument

    def _expose(self, stage: Stage, argument: str) -> None:
        if argument != stage.environment.get("PORT"):
            raise ImageFault(f"EXPOSE {argument} but PORT={stage.environment.get('PORT')}")

    def _healthcheck(self, stage: Stage, argument: str) -> None:
        stage.health = exec_form(argument.partition(" CMD ")[2].strip())

    def _cmd(self, stage: Stage, argument: str) -> None:
        stage.command = exec_form(argument)


def sent_to_builder(path: Path) -> bool:
    """Whether the ignore file, which lets through only what it names after ``!``, sends this path."""
    lines = DOCKERFILE.with_name("Dockerfile.dockerignore").read_text(encoding="utf-8").splitlines()
    return f"!{path.relative_to(PROJECT)}" in lines


def copy(source: Path, target: Path, *, drop: tuple[str, ...]) -> None:
    """Copy a file or a folder, without the names that match ``drop``."""
    target.parent.mkdir(parents=True, exist_ok=True)
    if source.is_dir():
        shutil.copytree(source, target, symlinks=True, ignore=shutil.ignore_patterns(*drop))
    else:
        shutil.copy2(source, target)


# Using it.


def base_python(*, user_id: int) -> Path:
    """An interpreter to stand for the base image's: new enough, with venv, in reach of the image's user."""
    found = [getattr(sys, "_base_executable", sys.executable), "/usr/local/bin/python3", "/usr/bin/python3"]
    suits = "import sys, venv, ensurepip; sys.exit(sys.version_info < (3, 11))"
    for candidate in found:
        path = Path(candidate).resolve()
        in_reach = user_id == os.getuid() or all(folder.stat().st_mode & 0o001 for folder in path.parents)
        if path.exists() and in_reach and subprocess.run([path, "-c", suits], check=False).returncode == 0:
            return path
    raise ImageFault(f"no Python 3.11 with venv that user {user_id} may read among {', '.join(found)}")


def tool_folder(scratch: Path, python: Path) -> Path:
    """A folder for PATH in which ``python`` is the base interpreter, as in the base image."""
    folder = scratch / "base"
    folder.mkdir(mode=0o755)
    tool = folder / "python"
    tool.write_text(f'#!/bin/sh\nexec {shlex.quote(str(python))} "$@"\n', encoding="utf-8")
    tool.chmod(0o755)
    return folder


def files_of(folder: Path) -> dict[Path, tuple[int, int]]:
    """Every file below a folder with its size and time of change."""
    return {path: (path.lstat().st_size, path.lstat().st_mtime_ns) for path in folder.rglob("*") if not path.is_dir()}


def left_behind(*, user_id: int, folders: tuple[Path, ...]) -> list[Path]:
    """Files of the image's user in folders that everybody may write to."""
    return [
        path for folder in folders if folder.is_dir() for path in folder.rglob("*") if path.lstat().st_uid == user_id
    ]


def free_port() -> int:
    """A TCP port that nobody listens on now."""
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        port: int = probe.getsockname()[1]
        return port


@contextmanager
def started(stage: Stage, scratch: Path, *, user_id: int) -> Iterator[dict[str, str]]:
    """Run CMD as a container would, until the block ends; then it must stop by itself when told."""
    private = scratch / "tmp"
    private.mkdir(mode=0o700)
    os.chown(private, user_id, -1)
    # No HOME on purpose: a container's user has none.
    environment = stage.variables() | {"HOST": "127.0.0.1", "PORT": str(free_port()), "TMPDIR": str(private)}
    output = (scratch / "output.txt").open("w+", encoding="utf-8")
    process = subprocess.Popen(
        stage.command,
        cwd=stage.inside("."),
        env=environment,
        stdout=output,
        stderr=subprocess.STDOUT,
        **as_user(user_id),
    )
    try:
        wait_until_healthy(stage, process, environment, user_id=user_id)
        yield environment
    except BaseException:
        output.seek(0)
        log(f"the server said:\n{output.read()}")
        raise
    finally:
        process.send_signal(signal.SIGTERM)
        try:
            code = process.wait(STOP_LIMIT_S)
        except subprocess.TimeoutExpired:
            process.kill()
            code = process.wait()
        output.close()
    if code != 0:
        raise ImageFault(f"told to stop, the server ended with code {code} and not 0")
    if files := list(private.iterdir()):
        raise ImageFault(f"files left in the temporary folder: {files}")


def as_user(user_id: int) -> dict[str, Any]:
    """Arguments that make a process run as the image's user; only root can, others stay who they are."""
    return {"user": user_id, "group": user_id, "extra_groups": []} if os.getuid() == 0 else {}


def wait_until_healthy(
    stage: Stage, process: subprocess.Popen[bytes], environment: dict[str, str], *, user_id: int
) -> None:
    """Ask the image's own health check until it agrees."""
    deadline = time.monotonic() + START_LIMIT_S
    while time.monotonic() < deadline:
        if process.poll() is not None:
            raise ImageFault(f"the server ended with code {process.returncode}")
        check = subprocess.run(
            stage.health, env=environment, check=False, stderr=subprocess.DEVNULL, **as_user(user_id)
        )
        if check.returncode == 0:
            return
        time.sleep(0.2)
    raise ImageFault(f"not healthy after {START_LIMIT_S} s")


def ask_for_a_quote(port: str) -> None:
    """One real order must come back as a quote with a total."""
    request = urllib.request.Request(
        f"http://127.0.0.1:{port}/v1/quotes",
        data=json.dumps(ORDER).encode(),
        headers={"Content-Type": "application/json"},
    )
    with urllib.request.urlopen(request, timeout=10) as answer:  # noqa: S310  our own server
        quote = json.load(answer)
    log(f"quoted {quote['price']['total']} {quote['price']['currency']}")


def main() -> int:
    """Replay the Dockerfile, use the image, and say what was found."""
    text = DOCKERFILE.read_text(encoding="utf-8")
    user_id = image_user(text) if os.getuid() == 0 else os.getuid()
    with tempfile.TemporaryDirectory(prefix="image-check-") as name:
        scratch = Path(name)
        scratch.chmod(0o755)
        path = f"{tool_folder(scratch, base_python(user_id=user_id))}:/usr/local/bin:/usr/bin:/bin"
        replay = Replay(scratch, os.environ | {"PATH": path})
        for word, argument in instructions(text):
            replay.do(word, argument)
        stage = replay.stage
        if stage is None or not stage.command or not stage.health:
            raise ImageFault("the Dockerfile needs FROM, HEALTHCHECK and CMD")
        before = files_of(stage.root)
        with started(stage, scratch, user_id=user_id) as environment:
            log(f"healthy as user {user_id}: {shlex.join(stage.command)}")
            ask_for_a_quote(environment["PORT"])
        if files_of(stage.root) != before:
            changed = sorted(str(path) for path, _ in files_of(stage.root).items() ^ before.items())
            raise ImageFault(f"the running image changed its own files: {changed}")
        if os.getuid() == 0 and (files := left_behind(user_id=user_id, folders=WRITABLE_BY_ALL)):
            raise ImageFault(f"files left outside the temporary folder: {files}")
    log("nothing written, stopped when told: the image works")
    return 0


def image_user(text: str) -> int:
    """The numeric user of the Dockerfile; a name could be anybody, and root is refused."""
    users = [argument.partition(":")[0] for word, argument in instructions(text) if word == "USER"]
    if not users or not users[-1].isdigit() or int(users[-1]) == 0:
        raise ImageFault("USER must be a number and not root's")
    return int(users[-1])


if __name__ == "__main__":
    try:
        sys.exit(main())
    except (ImageFault, subprocess.CalledProcessError) as fault:
        log(f"FAILED: {fault}")
        sys.exit(1)
