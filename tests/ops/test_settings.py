"""Settings come from the environment, are checked once, and every bad one is named at once."""

import gc
import os
import runpy
from pathlib import Path
from types import SimpleNamespace

import pytest
from builders import altered
from flask import Flask

from chequerwork.app import create_app, load_service
from chequerwork.domain.basics.shop import Shop, Span
from chequerwork.ops.settings import Settings, SettingsError

GUNICORN_CONF = Path(__file__).parents[2] / "service" / "chequerwork" / "ops" / "gunicorn_conf.py"


def server_settings(monkeypatch: pytest.MonkeyPatch, **environment: str) -> dict[str, object]:
    """What gunicorn reads from its configuration file in this environment."""
    for name in os.environ.keys() & {"HOST", "PORT", "WEB_CONCURRENCY"}:
        monkeypatch.delenv(name)
    for name, value in environment.items():
        monkeypatch.setenv(name, value)
    return runpy.run_path(str(GUNICORN_CONF))


def test_an_empty_environment_serves_the_demo_shops_on_this_machine_only():
    assert Settings.from_environment({}) == Settings(
        host="127.0.0.1", port=8000, workers=2, shop_paths=(), signing_key_path=None, log_level="info", proxy_hops=0
    )


def test_every_variable_is_read():
    settings = Settings.from_environment(
        {
            "HOST": "0.0.0.0",
            "PORT": "8123",
            "WEB_CONCURRENCY": "3",
            "CHEQUERWORK_SHOPS": os.pathsep.join(["shops/a.toml", "more"]),
            "CHEQUERWORK_SIGNING_KEY": "key.json",
            "CHEQUERWORK_LOG_LEVEL": "WARNING",
            "CHEQUERWORK_PROXY_HOPS": "1",
        }
    )
    assert settings == Settings(
        host="0.0.0.0",
        port=8123,
        workers=3,
        shop_paths=(Path("shops/a.toml"), Path("more")),
        signing_key_path=Path("key.json"),
        log_level="warning",
        proxy_hops=1,
    )


def test_a_blank_variable_counts_as_absent():
    assert Settings.from_environment({"PORT": " ", "CHEQUERWORK_SHOPS": ""}) == Settings()


def test_all_bad_settings_are_named_at_once_with_value_and_limit():
    with pytest.raises(SettingsError) as caught:
        Settings.from_environment(
            {
                "HOST": "http://here",
                "PORT": "65536",
                "WEB_CONCURRENCY": "0",
                "CHEQUERWORK_LOG_LEVEL": "loud",
                "CHEQUERWORK_PROXY_HOPS": "-1",
            }
        )
    assert [problem.partition("=")[0] for problem in caught.value.problems] == [
        "HOST",
        "PORT",
        "WEB_CONCURRENCY",
        "CHEQUERWORK_LOG_LEVEL",
        "CHEQUERWORK_PROXY_HOPS",
    ]
    assert "PORT='65536': must be a whole number from 1 to 65535" in caught.value.problems


@pytest.mark.parametrize("text", ["80.0", "8 0", "0x50", "²", "٨", "1_000", "+80", "9" * 5000])
def test_a_port_is_written_in_plain_digits(text: str):
    with pytest.raises(SettingsError, match=r"^PORT=.{1,70}: must be a whole number from 1 to 65535$"):
        Settings.from_environment({"PORT": text})


def test_every_setting_is_documented_with_its_variable():
    source = (GUNICORN_CONF.parent / "settings.py").read_text(encoding="utf-8")
    for name in Settings.__dataclass_fields__:
        _, _, after = source.partition(f"\n    {name}: ")
        assert after.partition("\n")[2].lstrip().startswith('"""``'), (
            f"{name} has no text that begins with its variable"
        )


def test_behind_a_proxy_a_process_serves_one_request_at_a_time(monkeypatch: pytest.MonkeyPatch):
    server = server_settings(monkeypatch, CHEQUERWORK_PROXY_HOPS="1", WEB_CONCURRENCY="3")
    assert (server["worker_class"], server["threads"], server["workers"]) == ("sync", 1, 3)


def test_without_a_proxy_an_idle_connection_does_not_occupy_a_process(monkeypatch: pytest.MonkeyPatch):
    assert server_settings(monkeypatch, CHEQUERWORK_PROXY_HOPS="0")["worker_class"] == "gthread"


def test_the_server_writes_no_control_socket_and_no_access_log(monkeypatch: pytest.MonkeyPatch):
    server = server_settings(monkeypatch)
    assert server["control_socket_disable"] is True
    assert server["accesslog"] is None
    assert "%(r)s" not in str(server["access_log_format"]), "the request line holds the query"
    assert "%(q)s" not in str(server["access_log_format"])


def test_an_ipv6_address_is_bound_in_brackets(monkeypatch: pytest.MonkeyPatch):
    assert server_settings(monkeypatch, HOST="::1", PORT="8001")["bind"] == "[::1]:8001"


@pytest.mark.slow("starts a process")
def test_what_the_server_loads_is_not_looked_through_for_garbage(monkeypatch: pytest.MonkeyPatch):
    server = server_settings(monkeypatch)
    try:
        server["when_ready"](serving(create_app(Settings())))
        assert gc.get_freeze_count() > 0
    finally:
        gc.unfreeze()


def test_every_shop_is_asked_for_a_quote_before_workers_are_forked(monkeypatch: pytest.MonkeyPatch):
    app, answers = create_app(Settings()), []
    app.after_request(lambda response: answers.append(response) or response)
    try:
        server_settings(monkeypatch)["when_ready"](serving(app))
    finally:
        gc.unfreeze()
    assert [answer.status_code for answer in answers] == [200] * len(app.extensions["chequerwork"].shops)


@pytest.mark.parametrize(("low_mm", "high_mm", "square"), [(22.0, 75.0, "48 mm"), (10.0, 41.0, "25.5 mm")])
def test_a_shop_is_asked_for_a_square_that_it_makes(moosgrund: Shop, low_mm: float, high_mm: float, square: str):
    shop = altered(moosgrund, ranges={"square": Span(low_mm=low_mm, high_mm=high_mm)})
    assert load_service(Settings()).first_order(shop)["square"] == square


def serving(app: Flask) -> SimpleNamespace:
    """What a server's hook sees of the server."""
    return SimpleNamespace(app=SimpleNamespace(wsgi=lambda: app))
