#!/bin/sh
# Renews docker/constraints.txt: every package, direct or not, that running, testing, linting, fuzzing and browsing use,
# as one set that installs together.
set -eu
cd "$(dirname "$0")/.."
scratch=$(mktemp -d)
trap 'rm -rf "$scratch"' EXIT

"${PYTHON:-python3}" -m venv "$scratch/venv"
pip="$scratch/venv/bin/python -m pip --disable-pip-version-check --no-input --quiet"
$pip install --upgrade setuptools
$pip install --no-build-isolation --editable '.[test,lint,fuzz,browser]'
$pip check
{
    echo "# Every package the project uses, pinned. Written by 'make lock'; do not edit."
    $pip freeze --all --exclude-editable --exclude pip
} > "$scratch/constraints.txt"
mv "$scratch/constraints.txt" docker/constraints.txt
echo "docker/constraints.txt: $(grep -c == docker/constraints.txt) packages"
