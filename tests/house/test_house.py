"""The house itself: its commands are documented, its pins are complete, its files name no machine."""

import fnmatch
import itertools
import os
import re
import subprocess
import tomllib
from collections.abc import Iterator
from pathlib import Path

import pytest
import yaml

from chequerwork import __version__
from chequerwork.ops import limits

PROJECT = Path(__file__).resolve().parents[2]
MAKEFILE = (PROJECT / "Makefile").read_text(encoding="utf-8")
DOCKERFILE = (PROJECT / "docker" / "Dockerfile").read_text(encoding="utf-8")
PROXY_CONF = (PROJECT / "docker" / "proxy.conf").read_text(encoding="utf-8")
CONSTRAINTS = (PROJECT / "docker" / "constraints.txt").read_text(encoding="utf-8")
PYPROJECT = tomllib.loads((PROJECT / "pyproject.toml").read_text(encoding="utf-8"))

# Put together here, so that this file does not name them itself.
MACHINE_PATHS = ["/" + folder + "/" for folder in ("work", "root", "home", "Users")]
REGISTRY_HOSTS = [
    ".".join(parts) for parts in (("pypi", "org"), ("pythonhosted", "org"), ("npmjs", "org"), ("npmjs", "com"))
]


def text(name: str) -> str:
    return (PROJECT / name).read_text(encoding="utf-8")


def normal(name: str) -> str:
    """A package's name as indexes compare it (PEP 503)."""
    return re.sub(r"[-_.]+", "-", name).lower()


def makefile_targets() -> dict[str, str]:
    """Targets that `make` lists, with their sentences."""
    return dict(re.findall(r"^([a-z-]+):.*?## (.+)$", MAKEFILE, flags=re.MULTILINE))


def documented_targets(document: str) -> set[str]:
    """Targets that a table of this document lists, one a row: | `make x` | ... |."""
    return set(re.findall(r"^\| *`make ([a-z-]+)[^`]*` *\|", text(document), flags=re.MULTILINE))


def our_files() -> Iterator[Path]:
    """Files of the project, without what .gitignore names."""
    ignored = [line.rstrip("/") for line in text(".gitignore").splitlines() if line and not line.startswith("#")] + [
        ".git"
    ]
    for folder, folders, names in os.walk(PROJECT):
        folders[:] = [name for name in folders if not any(fnmatch.fnmatch(name, pattern) for pattern in ignored)]
        yield from (
            Path(folder) / name for name in names if not any(fnmatch.fnmatch(name, pattern) for pattern in ignored)
        )


def test_developers_page_lists_exactly_the_targets_of_the_makefile():
    assert documented_targets("DEVELOPERS.md") == set(makefile_targets())


def test_readme_names_no_target_that_is_not_there():
    named = set(re.findall(r"^\s*make ([a-z-]+)|`make ([a-z-]+)", text("README.md"), flags=re.MULTILINE))
    targets = {first or second for first, second in named}
    assert {"run", "test"} <= targets
    assert targets <= set(makefile_targets())


def test_every_target_is_declared_and_listed():
    declared = set(" ".join(re.findall(r"^\.PHONY: (.+)$", MAKEFILE, flags=re.MULTILINE)).split())
    assert declared == set(makefile_targets())


def test_make_alone_prints_every_target():
    shown = subprocess.run(["make"], cwd=PROJECT, capture_output=True, text=True, check=True).stdout  # noqa: S607
    for target, sentence in makefile_targets().items():
        assert re.search(rf"^  make {target} +{re.escape(sentence)}$", shown, flags=re.MULTILINE), target


def wanted_packages() -> set[str]:
    """Every package that pyproject.toml names, with or without an extra."""
    project = PYPROJECT["project"]
    groups = [
        project["dependencies"],
        PYPROJECT["build-system"]["requires"],
        *project["optional-dependencies"].values(),
    ]
    lines = itertools.chain.from_iterable(groups)
    return {normal(re.match(r"[A-Za-z0-9._-]+", line)[0]) for line in lines}


def test_every_dependency_is_pinned_once():
    lines = [line for line in CONSTRAINTS.splitlines() if not line.startswith("#")]
    assert [line for line in lines if not re.fullmatch(r"[A-Za-z0-9._-]+==[A-Za-z0-9.+!]+", line)] == []
    pinned = [normal(line.partition("==")[0]) for line in lines]
    assert len(pinned) == len(set(pinned))
    assert wanted_packages() <= set(pinned)


def test_image_and_makefile_install_from_the_same_pins():
    assert re.search(r"^COPY .*docker/constraints\.txt", DOCKERFILE, flags=re.MULTILINE)
    for source in (DOCKERFILE, MAKEFILE):
        installs = [
            line for line in source.replace("\\\n", " ").splitlines() if re.search(r"(pip|PIP\)).* install ", line)
        ]
        assert installs
        for line in installs:
            for step in re.findall(r"install .*?(?=&&|$)", line):
                assert "-c " in step or "--no-deps" in step, f"installs something unpinned: {step}"


def test_image_installs_dependencies_before_the_code():
    assert DOCKERFILE.index("COPY pyproject.toml") < DOCKERFILE.index("COPY service")


def test_image_runs_as_a_number_that_is_not_root():
    users = re.findall(r"^USER (.+)$", DOCKERFILE, flags=re.MULTILINE)
    assert users
    assert re.fullmatch(r"[1-9]\d*:[1-9]\d*", users[-1])


def test_image_uses_the_oldest_python_that_is_promised():
    promised = PYPROJECT["project"]["requires-python"].removeprefix(">=")
    assert set(re.findall(r"^FROM python:(\d+\.\d+)", DOCKERFILE, flags=re.MULTILINE)) == {promised}


def test_compose_file_names_the_image_of_this_version():
    services = yaml.safe_load(text("docker/compose.yaml"))["services"]
    images = {service["image"] for name, service in services.items() if name.startswith("service-")}
    assert images == {f"chequerwork:{__version__}"}


def test_every_container_is_read_only_and_without_privileges():
    for name, service in yaml.safe_load(text("docker/compose.yaml"))["services"].items():
        assert service["read_only"] is True, name
        assert service["cap_drop"] == ["ALL"], name
        assert service["deploy"]["resources"]["limits"].keys() == {"cpus", "memory", "pids"}, name
        assert all(mount["read_only"] for mount in service.get("volumes", [])), name


def test_proxy_and_service_have_the_same_limits():
    assert f"client_max_body_size {limits.MAX_BODY_BYTES // limits.KIB}k;" in PROXY_CONF
    assert f"client_max_body_size {limits.STOCK_BODY_BYTES // limits.KIB}k;" in PROXY_CONF
    assert (
        f"larger than {limits.MAX_BODY_BYTES} bytes, or {limits.STOCK_BODY_BYTES} of a stock plan or a price table"
        in PROXY_CONF
    )


@pytest.mark.parametrize("words", [MACHINE_PATHS, REGISTRY_HOSTS], ids=["machine paths", "registry hosts"])
def test_no_file_names_a_machine_or_a_registry(words: list[str]):
    found = []
    for path in our_files():
        content = path.read_bytes().decode("utf-8", errors="replace")
        found += [f"{path.relative_to(PROJECT)}: {word}" for word in words if word in content]
    assert found == []


def test_no_source_file_is_longer_than_500_lines():
    sources = [path for path in our_files() if path.suffix == ".py"]
    assert len(sources) > 20
    assert [path.name for path in sources if len(path.read_text(encoding="utf-8").splitlines()) > 500] == []


def test_tables_and_pages_travel_with_the_package():
    """What lies beside the modules and is no code must match a pattern of package-data, or the image lacks it."""
    patterns = PYPROJECT["tool"]["setuptools"]["package-data"]["chequerwork"]
    package = PROJECT / "service" / "chequerwork"
    beside = [path for path in our_files() if package in path.parents and path.suffix not in {".py", ".pyc"}]
    assert beside
    assert [str(path) for path in beside if not any(path.match(pattern) for pattern in patterns)] == []
