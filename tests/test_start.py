"""What a start loads: what every quote needs, and nothing heavy that few requests do."""

import subprocess
import sys

import pytest

HEAVY = {"numpy", "highspy", "apispec", "yaml", "babel"}
CODE = "import gc, sys, chequerwork.wsgi; print(gc.isenabled(), *{name.partition('.')[0] for name in sys.modules})"


@pytest.mark.slow("starts a process")
def test_a_start_loads_nothing_heavy_and_leaves_garbage_to_be_collected():
    run = subprocess.run([sys.executable, "-c", CODE], capture_output=True, text=True, check=True)
    collected, *loaded = run.stdout.split()
    assert collected == "True"
    assert "flask" in loaded
    assert HEAVY & set(loaded) == set()
