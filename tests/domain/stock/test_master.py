"""The solver ends its searches by counted nodes, never by a clock."""

import math
from random import Random
from typing import Any

import pytest

from chequerwork.domain.stock import master
from chequerwork.domain.stock.master import Master

KINDS, CONTENTS = 90, 600


def a_hard_master() -> Master:
    """Any three pieces a board: nothing is proven at the root, and without a limit 299 nodes are searched."""
    chance = Random(1)  # noqa: S311 (the same program for ever)
    made = Master([1] * KINDS, [KINDS], [1000.0] * KINDS)
    for _ in range(CONTENTS):
        kinds = chance.sample(range(KINDS), 3)
        made.add(0, 1.0, [int(kind in kinds) for kind in range(KINDS)])
    made.relax()
    return made


def nodes_when_done(monkeypatch: pytest.MonkeyPatch) -> list[int]:
    """Fills with the nodes of every search."""
    seen, number = list[int](), Master._number

    def noted(self: Master, *args: Any) -> None:
        seen.append(int(self.highs.getInfoValue("mip_node_count")[1]))
        number(self, *args)

    monkeypatch.setattr(Master, "_number", noted)
    return seen


def test_counted_nodes_end_a_search_at_the_same_choice_and_no_clock_is_set(monkeypatch):
    monkeypatch.setattr(master, "MOST_NODES", 5)
    seen, found = nodes_when_done(monkeypatch), []
    for _ in range(2):
        made = a_hard_master()
        found.append(made.whole(math.inf))
        assert seen[-1] == 5
        assert made.highs.getOptionValue("time_limit")[1] == math.inf
    assert found[0] is not None
    assert found[0] == found[1]
