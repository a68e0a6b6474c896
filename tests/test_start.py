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


FIRST = """
import sys
from concurrent.futures import ThreadPoolExecutor
from chequerwork.app import create_app
app = create_app()
paths = ["/v1/choices", "/v1/timbers.csv", "/v1/sources", "/v1/quotes?square=48mm&light=pear&dark=wenge"] * 2
with ThreadPoolExecutor(len(paths)) as threads:
    sys.exit(set(threads.map(lambda path: app.test_client().get(path).status_code, paths)) != {200})
"""


@pytest.mark.slow("starts processes")
def test_the_first_requests_of_a_process_do_not_wait_for_each_other_for_ever():
    """What is made when first needed once held two locks, in either order."""
    for _ in range(3):
        subprocess.run([sys.executable, "-c", FIRST], timeout=120, check=True)
