"""The comparison finds what differs, asks the same on any machine, and lets pass what was renamed on purpose."""

import json
import os
import shutil
import subprocess
import sys
from collections.abc import Mapping
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest
from compare import main, report, trees
from compare.answering import TAG, answered, own_tag
from compare.asking import SHOPS, Known, Request, first_questions, learnt, post
from compare.differ import differences
from compare.mix import requests
from compare.renames import Renames, read_renames

from chequerwork.app import create_app
from chequerwork.ops.settings import Settings

NOTHING = Renames.from_text("")
PROJECT = Path(__file__).resolve().parents[2]
QUOTED = {"price": {"total": "650.76", "parts": [1, 2.5]}, "order": {"frame": {"hold": "glued"}}, "advice": []}


def a_record(body: Any = b"", kind: str = "application/json", *, status: int = 200, **headers: str) -> dict[str, Any]:
    """An answer as written down."""
    sent = body if isinstance(body, bytes) else json.dumps(body).encode()
    named = [[name.replace("_", "-"), text] for name, text in headers.items()]
    told = {"status": status, "headers": [["Content-Type", kind], *named], "body": sent.decode("latin-1")}
    return {**told, "broke": None, "seconds": 0.001}


def found(old: Mapping[str, Any], new: Mapping[str, Any], renames: Renames = NOTHING, given: str = "id-1"):
    return [(each.what, each.where, each.old, each.new) for each in differences(old, new, renames, given)]


# What differs ---------------------------------------------------------------------------------------------------------


def test_equal_answers_have_no_difference():
    assert found(a_record(QUOTED), a_record(QUOTED)) == []


@pytest.mark.parametrize(
    ("changed", "told"),
    [
        ({"price": {**QUOTED["price"], "total": "650.77"}}, ("moved", "/price/total", '"650.76"', '"650.77"')),
        ({"price": {**QUOTED["price"], "parts": [1, 2.50001]}}, ("moved", "/price/parts/*", "2.5", "2.50001")),
        ({"price": {**QUOTED["price"], "parts": [1.0, 2.5]}}, ("moved", "/price/parts/*", "1", "1.0")),
        ({"price": {**QUOTED["price"], "parts": [2.5]}}, ("gone", "/price/parts/*", "1", "")),
        ({"advice": [{"code": "a"}]}, ("new", "/advice/*", "", '{"code": "a"}')),
        ({"advice": None}, ("moved", "/advice", "[]", "null")),
        ({"a/b~c": 1}, ("new", "/a~1b~0c", "", "1")),
        ({"order": {}}, ("gone", "/order/frame", '{"hold": "glued"}', "")),
        ({"price": {"parts": [1, 2.5], "total": "650.76"}}, ("order", "/price", "total, parts", "parts, total")),
    ],
)
def test_a_difference_of_json_has_its_pointer(changed, told):
    assert found(a_record(QUOTED), a_record({**QUOTED, **changed})) == [told]


@pytest.mark.parametrize(
    ("kind", "old", "new", "told"),
    [
        ("text/csv", b"price.total,a\r\n5,x\r\n", b"price.total,a\r\n6,x\r\n", ("moved", "/price/total")),
        ("text/csv", b"a;b\r\n1;2\r\n1;2\r\n", b"a;b\r\n1;2\r\n1;3\r\n", ("moved", "/b")),
        ("text/csv", b"a,b\r\n1,2\r\n", b"b,a\r\n2,1\r\n", ("order", "/*")),
        ("text/csv", b"a,b\r\n", b"b,a\r\n", ("bytes", "")),
        ("text/csv", b"a\r\n1\r\n", b"\xef\xbb\xbfa\r\n1\r\n", ("gone", "/a")),
        ("text/tab-separated-values", b'a\tb\r\n1\t"2\r\n', b'a\tb\r\n1\t"3\r\n', ("moved", "/b")),
        ("application/x-ndjson", b'{"a.b":1}\n', b'{"a.b":2}\n', ("moved", "/*/a.b")),
        ("text/plain", b"one\ntwo\n", b"one\n2\n", ("line", "")),
        ("image/svg+xml", b"<svg/>", b"<svg></svg>", ("line", "")),
        ("text/csv", b"ERROR a", b"ERROR b", ("line", "")),
        ("application/json", b"{}", b"{ }", ("bytes", "")),
        ("application/json", b"{", b"[", ("line", "")),
    ],
)
def test_every_form_is_compared_in_its_own_way(kind, old, new, told):
    assert told in [(what, where) for what, where, *_ in found(a_record(old, kind), a_record(new, kind))]


def test_status_headers_and_failures_are_compared():
    old = a_record(QUOTED, ETag='"1"', Vary="Origin")
    assert found(old, {**a_record(QUOTED, ETag='"1"'), "status": 404, "broke": "KeyError"}) == [
        ("status", "", "200", "404"),
        ("broke", "", "None", "KeyError"),
        ("header", "vary", "Origin", ""),
    ]


def test_a_tag_follows_its_body():
    old, other = a_record(QUOTED, ETag='"1"'), {**QUOTED, "advice": None}
    assert [each[1] for each in found(old, a_record(other, ETag='"2"'))] == ["/advice"]
    assert "etag" in [each[1] for each in found(old, a_record(other, ETag='"1"'))]
    assert [each[1] for each in found(old, a_record(QUOTED, ETag='"2"'))] == ["etag"]


@pytest.mark.parametrize(("given", "count"), [("id-1", 1), ("", 0), ("two words", 0)])
def test_only_an_id_that_the_server_made_up_is_not_compared(given, count):
    old, new = (a_record(QUOTED, X_Request_Id=text) for text in ("0123456789abcdef", "fedcba9876543210"))
    assert len(found(old, new, given=given)) == count


def test_one_cause_is_one_line_with_a_count_and_an_example():
    request = Request(kind="section", method="GET", path="/v1/price", query="square=48mm")
    some = [
        (number, request, each)
        for number in range(30)
        for each in differences(
            a_record({"total": f"{number}.50", "note": "It moves 3 mm."}),
            a_record({"total": f"{number}.51", "note": f"It moves {number} cm."}),
            NOTHING,
        )
    ]
    causes = report.causes(some)
    assert {(cause.where, len(cause.answers)) for cause in causes} == {("/total", 30), ("/note", 30)}
    lines = list(report.told(causes, [request] * 30))
    assert any("GET /v1/price?square=48mm" in line for line in lines)
    assert any("`/total` | 30 |" in line for line in report.markdown(causes, NOTHING))


# What is asked --------------------------------------------------------------------------------------------------------


@pytest.fixture(scope="module")
def apps():
    own = Settings(shop_paths=(trees.SHOPS,))
    return {"demo": create_app(Settings()), "own": create_app(own)}


def ask(apps, request: Request) -> dict[str, Any]:
    told = json.loads(request.line())
    return answered(apps[told["served"]], own_tag(apps[told["served"]], told))


@pytest.fixture(scope="module")
def first(apps) -> dict[str, list[dict[str, Any]]]:
    return {served: [ask(apps, request) for request in first_questions(served)] for served in SHOPS}


@pytest.fixture(scope="module")
def worlds(first) -> list[Known]:
    examples = {path.name: path.read_bytes() for path in sorted((PROJECT / "openapi" / "examples").glob("*.json"))}
    return [learnt(served, answers, examples) for served, answers in first.items()]


_PRINT = """
import hashlib, json, sys
from compare.asking import learnt
from compare.mix import requests
worlds = [learnt(served, answers, {}) for served, answers in json.load(sys.stdin).items()]
print(hashlib.sha256("".join(each.line() for each in requests(worlds, seed=7, count=400)).encode()).hexdigest())
"""


@pytest.mark.slow("starts a process")
def test_a_seed_asks_the_same_whatever_the_hashes(first):
    told = {
        subprocess.run(
            [sys.executable, "-c", _PRINT],
            input=json.dumps(first),
            env={**os.environ, "PYTHONPATH": str(PROJECT / "tests"), "PYTHONHASHSEED": seed},
            capture_output=True,
            text=True,
            check=True,
        ).stdout
        for seed in ("1", "2")
    }
    assert len(told) == 1


def test_a_longer_run_begins_as_a_shorter_one_and_another_seed_asks_otherwise(worlds):
    short, long = (list(requests(worlds, seed=3, count=count)) for count in (40, 90))
    assert long[: len(short)] == short
    assert len(long) == len(short) + 50
    assert list(requests(worlds, seed=4, count=40))[-40:] != short[-40:]


def test_every_path_of_the_contract_is_asked_in_every_run(worlds):
    asked = {(request.served, request.path) for request in requests(worlds, seed=1, count=0)}
    assert {(known.served, path) for known in worlds for path in known.paths} <= asked


def test_most_of_what_is_asked_can_be_answered_and_no_request_is_a_failure(apps, worlds):
    quick = (each for each in requests(worlds, seed=11, count=260) if each.kind in ("section", "explain", "no order"))
    status = [ask(apps, request)["status"] for request in quick]
    assert len(status) > 100
    assert max(status) < 500
    assert 0.4 < sum(each < 400 for each in status) / len(status) < 0.9


def test_all_three_roles_of_every_shop_are_asked(worlds):
    keys = {
        text for request in requests(worlds, seed=1, count=1500) for name, text in request.headers if "Auth" in name
    }
    for served, shops in SHOPS.items():
        kind = "demo" if served == "demo" else "compare"
        assert {f"Bearer {kind}-{role}-{shop}" for role in ("maker", "storefront") for shop in shops} <= keys


# How it is asked ------------------------------------------------------------------------------------------------------

_CLOCK = """
import sys
sys.path.insert(0, sys.argv[1])
from answering import stop_the_clock
stop_the_clock("2027-02-03")
from datetime import date, datetime
from zoneinfo import ZoneInfo
import tomllib
read = tomllib.loads("on = 2027-01-01")["on"]
assert date.today() == datetime.now(ZoneInfo("Asia/Tokyo")).date() == date(2027, 2, 3)
assert datetime.now(ZoneInfo("America/Los_Angeles")).date() == date.fromisoformat("2027-02-03")
assert isinstance(read, date) and isinstance(datetime.now(), date) and not isinstance(read, datetime)
assert type(date(2027, 1, 1)) is type(read) is type(datetime.now().date())
assert issubclass(datetime, date) and {read: 1}[date(2027, 1, 1)] == 1
"""


@pytest.mark.slow("starts a process")
def test_the_clock_stands_still_and_dates_stay_dates():
    subprocess.run([sys.executable, "-c", _CLOCK, str(Path(__file__).parent)], check=True)


def test_an_answer_is_written_down_whole(apps):
    asked = Request(
        kind="", method="GET", path="/v1/price.txt", query="square=48mm&light=pear&dark=wenge&field=price.total"
    )
    whole = ask(apps, replace(asked, headers=(("X-Request-Id", "mine"),)))
    assert whole["status"] == 200
    assert float(whole["body"]) > 0
    assert ["X-Request-Id", "mine"] in whole["headers"]
    again = ask(apps, replace(asked, headers=(("If-None-Match", TAG),)))
    assert (again["status"], again["body"]) == (304, "")


def test_an_application_that_breaks_off_is_no_end_of_the_run():
    def broken(_environ: Any, start: Any) -> Any:
        start("200 OK", [])
        yield b"begun"
        raise KeyError("the rest")

    record = answered(broken, json.loads(Request(kind="", method="GET", path="/").line()))
    assert record == {"status": 200, "headers": [], "body": "begun", "broke": "KeyError"}


# Trees ----------------------------------------------------------------------------------------------------------------

_PLANTED = """

_sound = create_app


def create_app(settings=None):
    app = _sound(settings)

    @app.after_request
    def plant(response):
        from flask import request
        if request.path == "/v1/price":
            response.set_data(response.get_data().replace(b'"total":"', b'"total":"1'))
        if request.path == "/v1/price.txt":
            response.set_data(response.get_data().replace(b"shipping", b"carriage"))
        if request.path == "/v1/choices":
            response.headers["Cache-Control"] = "no-store"
        return response

    return app
"""


@pytest.fixture
def two_trees(tmp_path, monkeypatch):
    """This tree as the old one, and a copy with something planted as the new one; both in this environment."""
    shutil.copytree(PROJECT / "service", tmp_path / "planted" / "service")
    with (tmp_path / "planted" / "service" / "chequerwork" / "app.py").open("a", encoding="utf-8") as file:
        file.write(_PLANTED)
    old = trees.Tree(root=tmp_path / "old", python=Path(sys.executable))
    old.root.mkdir()
    (old.root / "service").symlink_to(PROJECT / "service")
    (old.root / "openapi").symlink_to(PROJECT / "openapi")
    new = trees.Tree(root=tmp_path / "planted", python=Path(sys.executable))
    least = "shop=moosgrund&square=48mm&light=pear&dark=wenge"
    some = [
        Request(kind="planted", method="GET", path=path, query=query, headers=(("X-Request-Id", "planted"),))
        for path, query in (
            ("/v1/price", least),
            ("/v1/price.txt", least),
            ("/v1/choices", ""),
            ("/v1/geometry", least),
        )
    ]
    monkeypatch.setattr(main, "FOLDER", tmp_path)
    monkeypatch.setattr(main, "old_tree", lambda _: old)
    monkeypatch.setattr(main, "requests", lambda *_args, **_named: some)
    return old, new


def test_a_tree_does_not_differ_from_itself_and_what_is_planted_is_found(two_trees, monkeypatch, capsys):
    old, planted = two_trees
    monkeypatch.setattr(main, "this_tree", lambda: old)
    assert main.main(["HEAD"]) == 0
    assert "0 differences in 0 of 4 answers" in capsys.readouterr().out
    monkeypatch.setattr(main, "this_tree", lambda: planted)
    assert main.main(["HEAD", "--markdown"]) == 1
    said = capsys.readouterr().out
    for line in ("moved   /price/total", "line    (text)", "header  cache-control", "| `/price/total` |"):
        assert line in said
    assert "differences in 3 of 4 answers" in said


# Renames --------------------------------------------------------------------------------------------------------------

RENAMED = Renames.from_text(
    """
    [paths]
    "/v1/quotes" = "/v1/offers"
    [fields]
    "frame.hold" = "frame.fixing"
    "columns" = "size.across"
    [answers]
    "/price/total" = "/price/sum"
    "/order/frame/hold" = "/order/frame/fixing"
    "/parts/*/rough" = "/parts/*/sawn"
    "/geometry" = "/sizes"
    "/old/here" = "/new/there"
    """
)


def test_the_file_of_renames_can_be_read():
    assert isinstance(read_renames(), Renames)


@pytest.mark.parametrize("text", ["[pats]\na = 'b'", "[answers]\n'/a/*' = '/b'"])
def test_a_file_that_says_something_else_is_refused(text):
    with pytest.raises(ValueError, match="renames: "):
        Renames.from_text(text)


def test_a_request_is_sent_in_the_new_words():
    body = {"columns": 9, "frame": {"hold": "glued", "width": "40 mm"}, "rows": 8}
    sent = RENAMED.request(post("", "/v1/quotes", body))
    assert sent.path == "/v1/offers"
    assert json.loads(sent.body) == {
        "frame": {"fixing": "glued", "width": "40 mm"},
        "rows": 8,
        "size": {"across": 9},
    }
    within = {"order": body, "orders": [{"frame": [None, {"hold": ["glued", "floating"]}]}]}
    told = json.loads(RENAMED.request(post("", "/v1/stock-plan", within)).body)
    assert told["order"]["frame"]["fixing"] == "glued"
    assert told["orders"][0]["frame"][1] == {"fixing": ["glued", "floating"]}


def test_a_flat_request_is_sent_in_the_new_words():
    flat = Request(
        kind="", method="GET", path="/v1/quotes.csv", query="frame.hold=glued&columns=price.total;sizes&rows=8"
    )
    sent = RENAMED.request(flat)
    assert (sent.path, sent.query) == ("/v1/offers.csv", "frame.fixing=glued&columns=price.sum%3Bsizes&rows=8")


@pytest.mark.parametrize("body", [b"", b"{", b"[1]", b'{"light":"\\ud800","columns":8}', b"[" * 100_000, b"\xff"])
def test_a_body_that_is_no_order_is_sent_as_it_is(body):
    asked = Request(kind="", method="POST", path="/v1/price", body=body)
    assert RENAMED.request(asked).body == body


def test_nothing_is_translated_where_nothing_was_renamed():
    asked = Request(kind="", method="POST", path="/v1/quotes", body=b'{ "columns" : 8 }', query="frame.hold=%zz")
    assert NOTHING.request(asked) is asked
    assert RENAMED.request(replace(asked, body=b'{ "a" : 8 }')).body == b'{ "a" : 8 }'


@pytest.mark.parametrize(
    ("kind", "old", "new"),
    [
        ("application/json", {"price": {"total": 1, "a": 2}}, {"price": {"sum": 1, "a": 2}}),
        ("application/json", {"parts": [{"rough": 1}, {"rough": 2}]}, {"parts": [{"sawn": 1}, {"sawn": 2}]}),
        ("application/json", {"geometry": {"a": [1]}, "b": 2}, {"sizes": {"a": [1]}, "b": 2}),
        ("application/json", {"old": {"here": 1, "a": 2}}, {"old": {"a": 2}, "new": {"there": 1}}),
        ("application/json", {"advice": [{"at": "/geometry/fit"}]}, {"advice": [{"at": "/sizes/fit"}]}),
        ("application/json", {"link": "/v1/quotes?frame.hold=x"}, {"link": "/v1/offers?frame.fixing=x"}),
        (
            "application/problem+json",
            {"errors": [{"pointer": "/frame/hold"}]},
            {"errors": [{"pointer": "/frame/fixing"}]},
        ),
        (
            "application/problem+json",
            {"errors": [{"parameter": "columns"}]},
            {"errors": [{"parameter": "size.across"}]},
        ),
        ("text/csv", b"price.total,parts.0.rough.a\r\n1,2\r\n", b"price.sum,parts.0.sawn.a\r\n1,2\r\n"),
        ("application/x-ndjson", b'{"frame.hold":1,"price.total":2}', b'{"frame.fixing":1,"price.sum":2}'),
    ],
)
def test_what_was_renamed_on_purpose_is_no_difference(kind, old, new):
    was, now = a_record(old, kind, ETag='"1"'), a_record(new, kind, ETag='"2"')
    assert found(was, now, RENAMED) == []
    assert found(was, now) != []


def test_renames_hide_no_other_difference():
    was, now = a_record({"price": {"total": 1}}), a_record({"price": {"sum": 2}})
    assert found(was, now, RENAMED) == [("moved", "/price/sum", "1", "2")]
    assert "| `/price/total` | `/price/sum` |" in list(report.markdown([], RENAMED))
