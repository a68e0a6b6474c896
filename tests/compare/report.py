"""What a run says: how much was asked, what was answered, and each cause of differences in one line."""

import re
from collections import Counter, defaultdict
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any

from compare.asking import Request
from compare.differ import Difference
from compare.renames import Renames

MOST_TEXTS = 6  # different texts at one place that are told apart
MOST_CAUSES = 200  # told in full
_SHOWN = 110


@dataclass(slots=True, kw_only=True)
class Cause:
    """Differences that are alike: the same thing at the same place."""

    what: str
    where: str
    answers: set[int] = field(default_factory=set)
    forms: Counter[str] = field(default_factory=Counter)
    first: tuple[int, Difference] | None = None
    pairs: list[tuple[str, str]] = field(default_factory=list)

    def add(self, number: int, request: Request, found: Difference) -> None:
        """One more of them."""
        self.answers.add(number)
        self.forms[form_of(request)] += 1
        self.pairs.append((found.old, found.new))
        self.first = self.first or (number, found)


def form_of(request: Request) -> str:
    """The suffix of its path, or json."""
    name = request.path.rpartition("/")[2]
    return name.rpartition(".")[2] if "." in name else "json"


def stem_of(request: Request) -> str:
    """Its path without the suffix; paths that are nowhere in the contract together."""
    stem = request.path.removesuffix(f".{form_of(request)}")
    return "/problems/{kind}" if stem.startswith("/problems/") else stem


def causes(found: Iterable[tuple[int, Request, Difference]]) -> list[Cause]:
    """All differences, those that are alike together, the most frequent cause first."""
    by_text: dict[tuple[str, str, str], Cause] = {}
    for number, request, each in found:
        told = _alike(each.old) + " -> " + _alike(each.new) if each.what in ("moved", "line", "gone", "new") else ""
        key = (each.what, each.where, told)
        by_text.setdefault(key, Cause(what=each.what, where=each.where)).add(number, request, each)
    by_place: dict[tuple[str, str], list[Cause]] = defaultdict(list)
    for (what, where, _), cause in by_text.items():
        by_place[what, where].append(cause)
    merged = [each for some in by_place.values() for each in _few(some)]
    return sorted(merged, key=lambda cause: (-len(cause.answers), cause.where))


def _few(some: list[Cause]) -> list[Cause]:
    if len(some) <= MOST_TEXTS or some[0].what == "line":
        return some
    whole = Cause(what=some[0].what, where=some[0].where, first=some[0].first)
    for each in some:
        whole.answers |= each.answers
        whole.forms += each.forms
        whole.pairs += each.pairs
    return [whole]


def _alike(text: str) -> str:
    """A text without what varies from order to order: numbers and hashes."""
    text = re.sub(r"[\w-]{20,}", "~", text)
    return re.sub(r"-?\d+(?:\.\d+)?", "#", text)[:300]


# What is printed ------------------------------------------------------------------------------------------------------


def counted(requests: Sequence[Request], old: Sequence[Mapping[str, Any]], new: Sequence[Mapping[str, Any]]) -> str:
    """How many requests of which path and kind, by status, and how many seconds they took."""
    out = []
    for head, of in (("path", stem_of), ("kind", lambda request: request.kind)):
        rows: dict[str, list[int]] = defaultdict(list)
        for number, request in enumerate(requests):
            rows[of(request)].append(number)
        out.append(
            f"{head:26} {'asked':>6} {'2xx':>6} {'304':>5} {'4xx':>6} {'other':>5} {'old s':>7} {'new s':>7}  forms"
        )
        rare = {name: some for name, some in rows.items() if head == "path" and len(some) < 4}
        for name, numbers in rows.items():
            if name not in rare:
                out.append(_row(name, numbers, requests, old, new))
        if rare:
            out.append(_row("elsewhere", [n for some in rare.values() for n in some], requests, old, new))
        out.append("")
    out += [_row("all", list(range(len(requests))), requests, old, new), "", _statuses(old)]
    return "\n".join(out)


def _row(
    name: str,
    numbers: Sequence[int],
    requests: Sequence[Request],
    old: Sequence[Mapping[str, Any]],
    new: Sequence[Mapping[str, Any]],
) -> str:
    status = Counter(_class(old[number]) for number in numbers)
    forms = Counter(form_of(requests[number]) for number in numbers)
    told = " ".join(f"{form} {count}" for form, count in forms.most_common(6))
    took = [sum(answers[number]["seconds"] for number in numbers) for answers in (old, new)]
    return (
        f"{name[:26]:26} {len(numbers):6} {status['2xx']:6} {status['304']:5} {status['4xx']:6} {status['other']:5} "
        f"{took[0]:7.1f} {took[1]:7.1f}  {told}"
    )


def _class(record: Mapping[str, Any]) -> str:
    status = record["status"]
    if status == 304:
        return "304"
    return f"{status // 100}xx" if status // 100 in (2, 4) and not record["broke"] else "other"


def _statuses(records: Sequence[Mapping[str, Any]]) -> str:
    every = Counter(record["status"] for record in records)
    codes = {
        code for each in records for code in re.findall(r'"code": ?"([\w-]+)"', each["body"]) if each["status"] >= 400
    }
    told = ", ".join(f"{status}: {count}" for status, count in sorted(every.items()))
    return f"answered by status: {told}; {len(codes)} different codes of faults"


def told(found: Sequence[Cause], requests: Sequence[Request]) -> Iterator[str]:
    """A line for each cause, and below it an example."""
    for cause in found[:MOST_CAUSES]:
        number, example = cause.first or (0, Difference(what="", at="", old="", new=""))
        forms = " ".join(f"{form} {count}" for form, count in cause.forms.most_common())
        yield f"{cause.what:7} {cause.where or '(text)'}  in {len(cause.answers)} answers ({forms})"
        yield f"        {_about(example.old, example.new)} -> {_about(example.new, example.old)}"
        yield f"        request {number}: {asked(requests[number])}"
    if len(found) > MOST_CAUSES:
        yield f"... and {len(found) - MOST_CAUSES} more causes"


def asked(request: Request) -> str:
    """A request in one line."""
    query = f"?{request.query}" if request.query else ""
    key = next((f" [{text}]" for name, text in request.headers if name == "Authorization"), "")
    body = request.body.decode("utf-8", "replace")
    return _short(f"{request.method} {request.path}{query}{key} {body}", 300)


def _about(text: str, other: str) -> str:
    """A text from shortly before the place where it begins to differ from another."""
    same = next((n for n, (a, b) in enumerate(zip(text, other, strict=False)) if a != b), 0)
    begin = max(same - 30, 0) if len(text) > _SHOWN else 0
    return _short(f"...{text[begin:]}" if begin else text)


def _short(text: str, most: int = _SHOWN) -> str:
    line = text.encode("unicode_escape").decode() if not text.isprintable() else text
    return line if len(line) <= most else f"{line[: most - 3]}..."


# For the changelog ----------------------------------------------------------------------------------------------------


def markdown(found: Sequence[Cause], renames: Renames) -> Iterator[str]:
    """Tables of what was renamed and of the numbers that moved."""
    if renames:
        yield from ("| was | is |", "|---|---|")
        for words in (renames.paths, renames.fields, renames.answers):
            yield from (f"| `{old}` | `{new}` |" for old, new in words.items())
        yield ""
    yield from ("| number | answers | moved by | for example |", "|---|---|---|---|")
    for cause in found:
        pairs = [pair for pair in map(_numbers, cause.pairs) if pair] if cause.what == "moved" else []
        if pairs:
            shares = [(new - old) / abs(old) * 100 for old, new in pairs if old]
            by = f"{min(shares):+.3g} to {max(shares):+.3g} %" if shares else "from 0"
            yield f"| `{cause.where}` | {len(cause.answers)} | {by} | {pairs[0][0]:g} -> {pairs[0][1]:g} |"


def _numbers(pair: tuple[str, str]) -> tuple[float, float] | None:
    try:
        old, new = (float(text.strip('"')) for text in pair)
    except ValueError:
        return None
    return old, new
