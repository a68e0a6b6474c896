"""Check docker/compose.yaml against the Compose specification, without a container engine, and print it filled in.

Every fault is printed and the exit code is then 1: unknown keys, wrong types, names that point nowhere.
"""

import re
import sys
from pathlib import Path
from typing import Any

import yaml
from compose_spec import PyOptions

COMPOSE_FILE = Path(__file__).with_name("compose.yaml")
VARIABLE = re.compile(r"\$\{(?P<name>\w+)(?::(?P<kind>[-?])(?P<text>[^}]*))?\}")
REQUIRED_EXAMPLES = {"SHOPS": "/srv/shops"}


def filled_in(text: str) -> str:
    """The file as Compose reads it: variables replaced by their defaults, required ones by an example."""

    def value(match: re.Match[str]) -> str:
        if match["kind"] == "-":
            return match["text"]
        return REQUIRED_EXAMPLES[match["name"]]

    return VARIABLE.sub(value, text)


def dangling_names(project: dict[str, Any]) -> list[str]:
    """Networks and services that are used but not there; the specification's types cannot show these."""
    faults = []
    for name, service in project["services"].items():
        for kind, known in (("networks", project["networks"]), ("depends_on", project["services"])):
            missing = set(service.get(kind, ())) - set(known)
            faults += [f"service {name}: {kind} names {other!r}, which is not in the file" for other in missing]
        for mount in service.get("volumes", ()):
            source = mount["source"]
            if source.startswith(".") and not (COMPOSE_FILE.parent / source).exists():
                faults.append(f"service {name}: mounts {source}, which is not there")
    return faults


def main() -> int:
    """Check the file, say what was found, and print it as the next linter can read it."""
    text = filled_in(COMPOSE_FILE.read_text(encoding="utf-8"))
    try:
        PyOptions(apply_merge=True).from_yaml(text)
    except ValueError as error:
        print(f"{COMPOSE_FILE.name}: not valid by the Compose specification: {error}", file=sys.stderr)
        return 1
    faults = dangling_names(yaml.safe_load(text))
    for fault in faults:
        print(f"{COMPOSE_FILE.name}: {fault}", file=sys.stderr)
    print(text)
    return 1 if faults else 0


if __name__ == "__main__":
    sys.exit(main())
