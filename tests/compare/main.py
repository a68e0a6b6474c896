"""Ask an old commit and this tree the same few thousand requests, and print every difference between their answers.

Run by ``make compare AGAINST=<commit>``. The requests depend on the seed, the count and what the old tree's shops
offer, on nothing else. Both trees have the same fixed day. The status is 1 where an answer differs or a tree failed.
"""

import argparse
import itertools
import json
import sys
import time
from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Any

from compare import report
from compare.asking import SHOPS, TODAY, Known, Request, first_questions, learnt
from compare.differ import differences
from compare.mix import requests, with_id
from compare.renames import Renames, read_renames
from compare.trees import FOLDER, Tree, ask, kept_answers, old_tree, this_tree, wait_for

Records = list[dict[str, Any]]


def main(words: Sequence[str]) -> int:
    """Compare, print, and say whether anything differs."""
    given = _given(words)
    began = time.perf_counter()
    renames, old, new = read_renames(), old_tree(given.against), this_tree()
    asked = list(requests(_worlds(old), seed=given.seed, count=given.count))
    was, now = _both(old, new, asked, renames)
    print(f"{old.root.name[:12]} and this tree, seed {given.seed}, {len(asked)} requests, today is {TODAY}\n")
    print(report.counted(asked, was, now), end="\n\n")
    found = [
        (number, request, each)
        for number, request in enumerate(asked)
        for each in differences(was[number], now[number], renames, _id_of(request))
    ]
    causes = report.causes(found)
    print("\n".join(report.told(causes, asked)))
    failed = _failures(asked, was, now)
    if given.markdown:
        print("\n".join(report.markdown(causes, renames)))
    differing = len({number for number, *_ in found})
    print(
        f"{len(found)} differences in {differing} of {len(asked)} answers, by {len(causes)} causes; "
        f"{failed} failures; {time.perf_counter() - began:.0f} s"
    )
    return 1 if found or failed else 0


def _given(words: Sequence[str]) -> argparse.Namespace:
    parser = argparse.ArgumentParser(prog="compare", description=__doc__)
    parser.add_argument("against", help="the commit to compare with")
    parser.add_argument("--seed", type=int, default=1, help="of the random requests")
    parser.add_argument("--count", type=int, default=4000, help="random requests, beside those always asked")
    parser.add_argument("--markdown", action="store_true", help="also print tables for the changelog")
    return parser.parse_args(words)


def _worlds(old: Tree) -> list[Known]:
    """What the old tree's shops offer: the demo shops, and the others."""
    first = {served: first_questions(served) for served in SHOPS}
    answers = iter(_answered(old, [with_id(each, n) for n, each in enumerate(itertools.chain(*first.values()))]))
    examples = {path.name: path.read_bytes() for path in sorted((old.root / "openapi" / "examples").glob("*.json"))}
    return [learnt(served, [next(answers) for _ in some], examples) for served, some in first.items()]


def _answered(old: Tree, asked: Sequence[Request]) -> Records:
    lines = "".join(request.line() for request in asked)
    kept = kept_answers(old, lines, TODAY)
    if not kept.exists():
        _keep([ask(old, lines, TODAY, FOLDER / "old.answers")], kept)
    return _read(kept)


def _both(old: Tree, new: Tree, asked: Sequence[Request], renames: Renames) -> tuple[Records, Records]:
    """Answers of both trees, asked side by side."""
    old_lines = "".join(request.line() for request in asked)
    new_lines = "".join(renames.request(request).line() for request in asked)
    kept, written = kept_answers(old, old_lines, TODAY), FOLDER / "new.answers"
    running = [ask(new, new_lines, TODAY, written)]
    if kept.exists():
        wait_for(running)
    else:
        _keep([*running, ask(old, old_lines, TODAY, FOLDER / "old.answers")], kept)
    return _read(kept), _read(written)


def _keep(running: Sequence[Any], kept: Path) -> None:
    wait_for(running)
    (FOLDER / "old.answers").replace(kept)


def _read(path: Path) -> Records:
    with path.open(encoding="utf-8") as lines:
        return [json.loads(line) for line in lines]


def _id_of(request: Request) -> str:
    return next((text for name, text in request.headers if name == "X-Request-Id"), "")


def _failures(asked: Sequence[Request], *trees: Sequence[Mapping[str, Any]]) -> int:
    """Print every failure of either tree, whether the other failed as well or not."""
    count = 0
    for name, records in zip(("old", "new"), trees, strict=True):
        for request, record in zip(asked, records, strict=True):
            if record["status"] >= 500 or record["broke"]:
                count += 1
                print(f"FAILED  {name}: {record['status']} {record['broke'] or ''} {report.asked(request)}")
    return count


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
