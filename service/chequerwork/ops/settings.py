"""The settings of one running service, read once from the environment."""

import os
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Self, TypeVar

T = TypeVar("T")

DEFAULT_HOST = "127.0.0.1"
DEFAULT_PORT = 8000
DEFAULT_WORKERS = 2
DEFAULT_LOG_LEVEL = "info"
MAX_PORT = 65_535
MAX_WORKERS = 64
MAX_PROXY_HOPS = 8
MAX_DIGITS = 9  # no setting needs more, and int() refuses very long texts with a message of its own
MAX_SHOWN = 60  # characters of a bad value that a message repeats
LOG_LEVELS = ("debug", "info", "warning", "error", "critical")


class SettingsError(ValueError):
    """Every setting that cannot be used, named at once.

    Parameters
    ----------
    problems
        One sentence for each bad setting: its name, what was given, the limit.
    """

    def __init__(self, problems: list[str]) -> None:
        super().__init__("\n".join(problems))
        self.problems = tuple(problems)


@dataclass(frozen=True, slots=True, kw_only=True)
class Settings:
    """What the person who runs the service decides. Nothing here changes an answer's numbers."""

    host: str = DEFAULT_HOST
    """``HOST``: the address to listen on. Only this machine by default; ``0.0.0.0`` in a container."""

    port: int = DEFAULT_PORT
    """``PORT``: the TCP port to listen on, 1 to 65535."""

    workers: int = DEFAULT_WORKERS
    """``WEB_CONCURRENCY``: how many worker processes answer requests, 1 to 64."""

    shop_paths: tuple[Path, ...] = ()
    """``CHEQUERWORK_SHOPS``: shop files, or folders of them, joined by ``:``. Empty means the demo shops."""

    signing_key_path: Path | None = None
    """``CHEQUERWORK_SIGNING_KEY``: file of the private key that signs quotes. None means unsigned quotes."""

    log_level: str = DEFAULT_LOG_LEVEL
    """``CHEQUERWORK_LOG_LEVEL``: ``debug``, ``info``, ``warning``, ``error`` or ``critical``."""

    proxy_hops: int = 0
    """``CHEQUERWORK_PROXY_HOPS``: how many proxies in front are trusted for ``X-Forwarded-`` headers, 0 to 8.

    It also picks the kind of worker: behind a proxy that buffers, one request per process is fastest; where
    clients connect directly, an idle connection must not occupy a whole process.
    """

    @classmethod
    def from_environment(cls, environment: Mapping[str, str]) -> Self:
        """Settings from environment variables; an absent or blank one takes its default.

        Parameters
        ----------
        environment
            Variable names and their texts, such as ``os.environ``.

        Returns
        -------
        Settings
            Checked settings. Whether the files exist is left to those who read them.

        Raises
        ------
        SettingsError
            One or more variables cannot be used; all are named.
        """
        reader = _Reader(environment)
        settings = cls(
            host=reader.read("HOST", DEFAULT_HOST, _host),
            port=reader.read("PORT", DEFAULT_PORT, _whole_number(1, MAX_PORT)),
            workers=reader.read("WEB_CONCURRENCY", DEFAULT_WORKERS, _whole_number(1, MAX_WORKERS)),
            shop_paths=reader.read("CHEQUERWORK_SHOPS", (), _paths),
            signing_key_path=reader.read("CHEQUERWORK_SIGNING_KEY", None, Path),
            log_level=reader.read("CHEQUERWORK_LOG_LEVEL", DEFAULT_LOG_LEVEL, _log_level),
            proxy_hops=reader.read("CHEQUERWORK_PROXY_HOPS", 0, _whole_number(0, MAX_PROXY_HOPS)),
        )
        if reader.problems:
            raise SettingsError(reader.problems)
        return settings


class _Reader:
    """Reads variables one by one and remembers every fault, so that all can be told at once."""

    def __init__(self, environment: Mapping[str, str]) -> None:
        self._environment = environment
        self.problems: list[str] = []

    def read(self, name: str, default: T, parse: Callable[[str], T]) -> T:
        given = self._environment.get(name, "").strip()
        if not given:
            return default
        try:
            return parse(given)
        except ValueError as error:
            self.problems.append(f"{name}={given[:MAX_SHOWN]!r}: {error}")
            return default


def _host(text: str) -> str:
    if any(character.isspace() or character in "/@?#" for character in text):
        raise ValueError("must be a host name or an IP address alone, such as 127.0.0.1 or 0.0.0.0")
    return text


def _whole_number(low: int, high: int) -> Callable[[str], int]:
    def parse(text: str) -> int:
        digits_only = text.isascii() and text.isdigit() and len(text) <= MAX_DIGITS
        if not digits_only or not low <= int(text) <= high:
            raise ValueError(f"must be a whole number from {low} to {high}")
        return int(text)

    return parse


def _paths(text: str) -> tuple[Path, ...]:
    return tuple(Path(part) for part in text.split(os.pathsep) if part)


def _log_level(text: str) -> str:
    if text.lower() not in LOG_LEVELS:
        raise ValueError(f"must be one of {', '.join(LOG_LEVELS)}")
    return text.lower()
