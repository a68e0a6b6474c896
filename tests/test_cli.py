"""The commands, as a maker types them."""

import json
import re
import tomllib

import pytest

from chequerwork.api.examples import FIRST, ORDERS
from chequerwork.api.signing import Signer
from chequerwork.cli import main
from chequerwork.domain.basics.shop import KeyRole
from chequerwork.shop.access import hash_key
from chequerwork.shop.loader import demo_folder


@pytest.fixture(autouse=True)
def _no_settings_of_the_developer(monkeypatch):
    for name in ("CHEQUERWORK_SHOPS", "CHEQUERWORK_SIGNING_KEY", "HOST", "PORT", "WEB_CONCURRENCY"):
        monkeypatch.delenv(name, raising=False)


def test_quote_prints_the_example_order_for_its_maker(capsys):
    assert main(["quote"]) == 0
    page = capsys.readouterr().out
    assert page.startswith("Brettwerkstatt Moosgrund: quote q-")
    assert "\nCut\n---\n" in page
    assert "\nWhat it costs\n" in page


def test_quote_reads_an_order_from_a_file(tmp_path, capsys):
    path = tmp_path / "order.json"
    path.write_text(json.dumps(dict(ORDERS["draughts-pair"])), "utf-8")
    assert main(["quote", str(path)]) == 0
    assert "10 x 10 of 1 5/8 in" in capsys.readouterr().out


def test_quote_names_every_fault_of_an_order(tmp_path, capsys):
    order = {**ORDERS[FIRST], "square": "4 m", "light": "pare", "ship_to": "XX"}
    path = tmp_path / "order.json"
    path.write_text(json.dumps(order), "utf-8")
    assert main(["quote", str(path)]) == 1
    told = capsys.readouterr().err
    assert told.startswith("chequerwork: ")
    assert all(name in told for name in ("square", "light", "ship_to", "pear"))


@pytest.mark.parametrize("content", ["", "[1]", "{", '"text"'])
def test_quote_says_that_a_file_holds_no_order(tmp_path, capsys, content):
    path = tmp_path / "order.json"
    path.write_text(content, "utf-8")
    assert main(["quote", str(path)]) == 1
    assert "cannot be read as a JSON order" in capsys.readouterr().err


def test_quote_asks_for_a_date_because_it_must_repeat_itself(tmp_path, capsys):
    path = tmp_path / "order.json"
    path.write_text('{"square": "48 mm", "light": "pear", "dark": "wenge"}', "utf-8")
    assert main(["quote", str(path)]) == 1
    assert "issued_on" in capsys.readouterr().err


def test_check_shop_passes_the_demo_files(capsys):
    assert main(["check-shop", str(demo_folder())]) == 0
    assert "moosgrund: no mistakes." in capsys.readouterr().out


def test_check_shop_names_all_mistakes_at_once(tmp_path, capsys):
    text = (demo_folder() / "moosgrund.toml").read_text("utf-8")
    path = tmp_path / "mine.toml"
    path.write_text(
        text.replace('finish = "hardwax_oil"', 'finish = "hardwacks"').replace('"turn" ', '"twist" '), "utf-8"
    )
    assert main(["check-shop", str(path)]) == 1
    told = capsys.readouterr().err
    assert "hardwax_oil" in told
    assert "turn or shift" in told or "shift" in told


def test_check_shop_turns_a_log_into_settings_or_names_its_mistakes(tmp_path, capsys):
    shop, log = str(demo_folder() / "moosgrund.toml"), tmp_path / "hours.csv"
    log.write_text("date;operation;hours\n2027-02-09;frame;1,8\n", "utf-8")
    assert main(["check-shop", shop, "--log", str(log)]) == 0
    assert set(tomllib.loads(capsys.readouterr().out)["labour"]["hours"]) == {"frame"}
    assert main(["check-shop", str(demo_folder()), "--log", str(log)]) == 1
    assert "Name one shop file" in capsys.readouterr().err
    log.write_text("date;operation;hours\n2027-02-09;frames;-1\n", "utf-8")
    assert main(["check-shop", shop, "--log", str(log)]) == 1
    told = capsys.readouterr().err
    assert "2 mistakes" in told
    assert "[row 2]" in told
    assert "Did you mean frame?" in told


def test_a_missing_shop_file_is_told_by_name(tmp_path, capsys):
    assert main(["check-shop", str(tmp_path / "none.toml")]) == 1
    assert "none.toml" in capsys.readouterr().err


@pytest.mark.parametrize("role", list(KeyRole))
def test_new_key_prints_lines_that_open_for_its_key(capsys, role):
    assert main(["new-key", role]) == 0
    out = capsys.readouterr().out
    key = re.search(r"^[0-9a-f]{40}$", out, re.MULTILINE)[0]
    salt, digest = (re.search(rf'^{name} = "([0-9a-f]+)"$', out, re.MULTILINE)[1] for name in ("salt", "sha256"))
    assert hash_key(key, bytes.fromhex(salt)).hex() == digest
    assert f'role = "{role}"' in out


def test_new_signing_key_prints_a_key_that_signs(capsys, tmp_path):
    assert main(["new-signing-key"]) == 0
    path = tmp_path / "signing.json"
    path.write_text(capsys.readouterr().out, "utf-8")
    signer = Signer.from_file(path)
    assert signer.sign({"id": "q-1"}).count(".") == 2
    assert "d" not in signer.public_keys()["keys"][0]


def test_a_wrong_setting_stops_serving_with_its_name(monkeypatch, capsys):
    monkeypatch.setenv("PORT", "eighty")
    assert main(["serve"]) == 1
    assert "PORT" in capsys.readouterr().err


def test_a_wrong_signing_key_stops_serving_and_is_not_shown(monkeypatch, tmp_path, capsys):
    path = tmp_path / "key.json"
    path.write_text('{"kty": "oct", "k": "c2VjcmV0"}', "utf-8")
    monkeypatch.setenv("CHEQUERWORK_SIGNING_KEY", str(path))
    assert main(["serve"]) == 1
    told = capsys.readouterr().err
    assert "signing key" in told
    assert "c2VjcmV0" not in told


def test_a_wrong_command_line_is_answered_with_the_usage():
    with pytest.raises(SystemExit) as left:
        main(["bake"])
    assert left.value.code == 2
