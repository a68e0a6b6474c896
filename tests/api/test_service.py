"""The service around the orders: caching, other origins, headers, health, reference pages, signatures, commands."""

import json
import re
import socket
import subprocess
import sys
from urllib.parse import urljoin, urlsplit

import pytest
import yaml
from contract.check import ORDERS, flat, maker
from joserfc import jws
from joserfc.errors import JoseError
from joserfc.jwk import KeySet, OKPKey

from chequerwork.app import create_app
from chequerwork.cli import main
from chequerwork.ops.settings import Settings
from chequerwork.shop.loader import demo_folder

LEAST = ORDERS["least"]
QUERY = flat(LEAST)
# The origin of the first demo shop, of the second, and of nobody.
HERE, THERE, STRANGE = (
    "https://brettwerkstatt-moosgrund.example",
    "https://willet-slough-boardworks.example",
    "https://stranger.example",
)
GET_PATHS = [
    "/v1/price",
    "/v1/price.csv",
    "/v1/price.tsv",
    "/v1/price.txt",
    "/v1/choices",
    "/v1/sources",
    "/v1/timbers",
]


def tokens(answer, header: str) -> set[str]:
    return {token.strip().lower() for token in answer.headers.get(header, "").split(",")} - {""}


# Conditional requests and caches (RFC 9110, RFC 9111) -----------------------------------------------------------------


def query_of(path: str) -> dict[str, str]:
    return {} if path in ("/v1/choices", "/v1/sources", "/v1/timbers") else QUERY


@pytest.mark.parametrize("path", [*GET_PATHS, "/openapi.json", "/openapi.yaml", "/.well-known/jwks.json"])
def test_what_is_known_is_not_sent_again(client, path):
    query = query_of(path) if path.startswith("/v1") else {}
    first = client.get(path, query_string=query)
    tag = first.headers["ETag"]
    assert re.fullmatch(r'"[^"]+"', tag), "a strong tag"
    for known in (tag, f"W/{tag}", f'"other", {tag}', "*"):
        for method in ("GET", "HEAD"):
            again = client.open(path, method=method, query_string=query, headers={"If-None-Match": known})
            assert again.status_code == 304
            assert again.data == b""
            assert again.headers["ETag"] == tag
            assert again.headers["Cache-Control"] == first.headers["Cache-Control"]
            assert again.headers.get("Vary") == first.headers.get("Vary")
    assert client.get(path, query_string=query, headers={"If-None-Match": '"other"'}).status_code == 200


def test_a_post_is_always_answered_in_full(client):
    first = client.post("/v1/price", json=LEAST)
    assert client.post("/v1/price", json=LEAST, headers={"If-None-Match": first.headers["ETag"]}).status_code == 200


def test_a_tag_is_of_these_bytes_alone(client):
    tags = [client.get(path, query_string=QUERY).headers["ETag"] for path in GET_PATHS[:4]]
    tags.append(client.get("/v1/price", query_string={**QUERY, "quantity": "2"}).headers["ETag"])
    tags.append(client.get("/v1/price", query_string=QUERY, headers=maker(LEAST)).headers["ETag"])
    assert len(set(tags)) == len(tags)


def test_a_known_tag_does_not_hide_a_fault_or_a_missing_key(client):
    tag = client.get("/v1/price", query_string=QUERY).headers["ETag"]
    assert client.get("/v1/price", query_string={"square": "1"}, headers={"If-None-Match": tag}).status_code == 422
    assert client.get("/v1/cutting", query_string=QUERY, headers={"If-None-Match": "*"}).status_code == 401


def test_caches_are_told_what_they_may_keep(client):
    public = client.get("/v1/price", query_string=QUERY)
    assert {"public", "max-age=300"} == tokens(public, "Cache-Control")
    assert tokens(public, "Vary") == {"authorization", "origin"}
    for path in ("/healthz", "/readyz"):
        assert tokens(client.get(path), "Cache-Control") == {"no-store"}
    for refused in (
        client.get("/v1/price"),
        client.get("/v1/none"),
        client.get("/v1/cutting"),
        client.delete("/v1/price"),
    ):
        assert tokens(refused, "Cache-Control") == {"no-store"}


# Other origins (Fetch standard, CORS) ---------------------------------------------------------------------------------


@pytest.mark.parametrize("path", GET_PATHS)
def test_a_shops_own_page_may_read_its_answers(client, path):
    answer = client.get(path, query_string=query_of(path), headers={"Origin": HERE})
    assert answer.headers["Access-Control-Allow-Origin"] == HERE
    assert {"etag", "x-request-id", "retry-after"} <= tokens(answer, "Access-Control-Expose-Headers")
    assert "Access-Control-Allow-Credentials" not in answer.headers


@pytest.mark.parametrize(
    "origin", [STRANGE, THERE, "null", HERE + ".evil.example", HERE + ":444", "http" + HERE[5:], HERE[:-1]]
)
def test_another_page_may_not(client, origin):
    for answer in (
        client.get("/v1/price", query_string=QUERY, headers={"Origin": origin}),
        client.post("/v1/quotes", json=LEAST, headers={"Origin": origin}),
        client.post("/v1/quotes", json={}, headers={"Origin": origin}),
    ):
        assert not [name for name, _ in answer.headers if name.startswith("Access-Control")]
        assert "origin" in tokens(answer, "Vary")


def test_a_page_can_read_why_it_was_refused(client):
    """A form shows the faults beside its fields, so a refusal is as readable as an answer."""
    for answer in (
        client.post("/v1/quotes", json={"square": 48}, headers={"Origin": HERE}),
        client.post("/v1/quotes", data=b"{", content_type="application/json", headers={"Origin": HERE}),
        client.get("/v1/cutting", query_string=QUERY, headers={"Origin": HERE}),
        client.get("/v1/price", query_string={**QUERY, "shop": "nowhere"}, headers={"Origin": HERE}),
    ):
        assert answer.status_code >= 400
        assert answer.headers["Access-Control-Allow-Origin"] == HERE


@pytest.mark.parametrize("origin", [HERE, THERE])
@pytest.mark.parametrize("path", ["/v1/quotes", "/v1/cutting", "/v1/price.csv"])
def test_a_preflight_is_answered_without_a_key(client, path, origin):
    """It cannot know the shop yet, so every served shop's page may ask."""
    asked = {
        "Origin": origin,
        "Access-Control-Request-Method": "POST",
        "Access-Control-Request-Headers": "content-type,authorization",
    }
    answer = client.options(path, headers=asked)
    assert answer.status_code == 204
    assert answer.headers["Access-Control-Allow-Origin"] == origin
    assert {"get", "post", "options"} <= tokens(answer, "Access-Control-Allow-Methods")
    assert {"content-type", "authorization", "if-none-match"} <= tokens(answer, "Access-Control-Allow-Headers")
    assert int(answer.headers["Access-Control-Max-Age"]) <= 7200


def test_a_preflight_of_a_stranger_is_not_granted(client):
    asked = {"Origin": STRANGE, "Access-Control-Request-Method": "POST"}
    answer = client.options("/v1/quotes", headers=asked)
    assert not [name for name, _ in answer.headers if name.startswith("Access-Control")]


# Headers of every answer ----------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    "path",
    [
        "/v1/price",
        "/v1/choices",
        "/v1/sources",
        "/v1/timbers",
        "/v1/none",
        "/v1/cutting",
        "/healthz",
        "/readyz",
        "/",
        "/docs/",
        "/openapi.json",
        "/x",
    ],
)
def test_every_answer_is_guarded_and_has_an_id(client, path):
    """OWASP secure headers."""
    answer = client.get(path)
    assert answer.headers["X-Content-Type-Options"] == "nosniff"
    assert answer.headers["Referrer-Policy"] == "no-referrer"
    policy = answer.headers["Content-Security-Policy"]
    assert "default-src 'none'" in policy
    assert "frame-ancestors 'none'" in policy
    assert re.fullmatch(r"[A-Za-z0-9._-]{8,64}", answer.headers["X-Request-Id"])
    assert "Set-Cookie" not in answer.headers
    assert len(answer.headers.getlist("Vary")) <= 1


def test_a_request_id_is_taken_over_if_it_is_one(client):
    for given in ("order-4711", "a" * 64):
        assert client.get("/healthz", headers={"X-Request-Id": given}).headers["X-Request-Id"] == given
    for bad in ("", "a" * 65, "with space", "<script>", "é"):
        told = client.get("/healthz", headers={"X-Request-Id": bad}).headers["X-Request-Id"]
        assert told != bad
        assert re.fullmatch(r"[0-9a-f]{16}", told)


def test_two_requests_have_two_ids(client):
    assert len({client.get("/healthz").headers["X-Request-Id"] for _ in range(20)}) == 20


# Health and reference pages -------------------------------------------------------------------------------------------


def test_a_sound_service_is_alive_and_ready(client):
    for path in ("/healthz", "/readyz"):
        answer = client.get(path)
        assert (answer.status_code, answer.get_json()) == (200, {"status": "pass"})


def test_the_front_door_leads_to_the_reference(client):
    answer = client.get("/")
    assert answer.status_code == 302
    assert urlsplit(answer.headers["Location"]).path == "/docs/"
    assert client.get("/docs").status_code == 308
    assert client.get("/docs/").status_code == 200


def loaded_by(page: str) -> list[str]:
    """Everything that a page of HTML fetches by itself."""
    return re.findall(r"""<(?:script|link|img|iframe)\b[^>]*?(?:src|href)\s*=\s*["']?([^"'\s>]+)""", page)


def test_everything_that_the_reference_loads_is_served_here(client):
    page = client.get("/docs/").get_data(as_text=True)
    found = loaded_by(page)
    assert len(found) >= 4
    for address in found:
        full = urljoin("http://localhost/docs/", address)
        assert urlsplit(full).netloc == "localhost", address
        with client.get(urlsplit(full).path) as answer:  # closes the file behind it
            assert answer.status_code == 200, address
            assert len(answer.data) > 100
            if address.endswith((".js", ".css")):
                assert ("javascript" if address.endswith(".js") else "css") in answer.mimetype
    config = re.search(r'"url": "([^"]+)"', page)
    assert config is not None
    assert client.get(config[1]).get_json()["openapi"].startswith("3.1")


def test_the_reference_names_no_other_host(client):
    page = client.get("/docs/").get_data(as_text=True)
    hosts = set(re.findall(r"https?://([^/\"'\s:]+)", page)) | set(re.findall(r"""["'(]//([\w.-]+)""", page))
    assert hosts <= {"localhost"}
    for sheet in (address for address in loaded_by(page) if address.endswith(".css")):
        with client.get(sheet) as answer:
            text = answer.get_data(as_text=True)
        assert not re.search(r"@import|url\(\s*[\"']?(https?:)?//", text)
    policy = client.get("/docs/").headers["Content-Security-Policy"]
    assert not re.search(r"https?:|\*", policy)


@pytest.mark.slow("the whole contract, read again")
def test_the_contract_is_the_same_as_json_and_as_yaml(client):
    written = client.get("/openapi.yaml")
    assert written.mimetype == "application/yaml"
    assert yaml.safe_load(written.get_data(as_text=True)) == client.get("/openapi.json").get_json()


# Signatures (RFC 7515, 7517, 8037, 9864) ------------------------------------------------------------------------------

ALLOWED = jws.JWSRegistry(algorithms=["Ed25519"])


def published(client) -> OKPKey:
    """The one key that the service publishes."""
    (key,) = KeySet.import_key_set(client.get("/.well-known/jwks.json").get_json()).keys
    return key


def quoted(client, order=LEAST, **headers: str) -> dict:
    return client.post("/v1/quotes", json=order, headers=headers).get_json()


@pytest.mark.parametrize("name", ORDERS)
def test_the_published_key_verifies_a_quotes_token(client, name):
    tree = quoted(client, ORDERS[name])
    signed = jws.deserialize_compact(tree["quote"]["token"], published(client), registry=ALLOWED)
    claims = json.loads(signed.payload)
    assert signed.headers()["alg"] == "Ed25519"
    for field in ("id", "shop", "issued_on", "valid_until", "tables_version"):
        assert claims[field] == tree["quote"][field]
    assert (claims["total"], claims["currency"]) == (tree["price"]["total"], tree["price"]["currency"])


def test_a_token_holds_no_secret_in_either_view(client):
    for headers in ({}, maker(LEAST)):
        tree = quoted(client, LEAST, **headers)
        claims = json.loads(
            jws.deserialize_compact(tree["quote"]["token"], published(client), registry=ALLOWED).payload
        )
        assert set(claims) <= {
            "id", "shop", "shop_name", "issued_on", "valid_until", "tables_version", "total", "currency",
        }  # fmt: skip


def test_a_token_that_was_changed_is_not_verified(client):
    token = quoted(client)["quote"]["token"]
    header, payload, signature = token.split(".")
    key = published(client)
    other = quoted(client, {**LEAST, "quantity": 2})["quote"]["token"].split(".")[1]
    forged = [f"{header}.{other}.{signature}", f"{header}.{payload}.{signature[:-4]}AAAA", f"{header}.{payload}."]
    for bad in forged:
        with pytest.raises((JoseError, ValueError)):
            jws.deserialize_compact(bad, key, registry=ALLOWED)


def test_the_published_keys_hold_nothing_private(client):
    for key in client.get("/.well-known/jwks.json").get_json()["keys"]:
        assert "d" not in key
        assert (key["kty"], key["crv"], key["use"], key["alg"]) == ("OKP", "Ed25519", "sig", "Ed25519")


def test_ones_own_key_signs_and_its_public_half_is_published(tmp_path):
    key = OKPKey.generate_key("Ed25519", private=True)
    path = tmp_path / "key.json"
    path.write_text(json.dumps(key.as_dict(private=True)), "utf-8")
    client = create_app(Settings(signing_key_path=path)).test_client()
    token = quoted(client)["quote"]["token"]
    assert json.loads(jws.deserialize_compact(token, key, registry=ALLOWED).payload)["shop"] == "moosgrund"
    assert published(client).thumbprint() == key.thumbprint()
    with pytest.raises(JoseError):
        jws.deserialize_compact(token, published(create_app(Settings()).test_client()), registry=ALLOWED)


# Commands -------------------------------------------------------------------------------------------------------------


def test_quote_prints_the_example_as_a_maker_reads_it(capsys):
    assert main(["quote"]) == 0
    page = capsys.readouterr().out
    for part in ("Brettwerkstatt Moosgrund", "52 mm", "Crosscut", "wenge", "What it costs", "margin", "2027-02-"):
        assert part in page
    assert "None" not in page
    assert max(map(len, page.splitlines())) <= 120


def test_quote_prints_an_order_of_a_file(tmp_path, capsys):
    path = tmp_path / "order.json"
    path.write_text(json.dumps(ORDERS["bare field, other shop"]), "utf-8")
    assert main(["quote", str(path)]) == 0
    assert "1 7/8 in" in capsys.readouterr().out


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("{", "order.json"),
        ("[]", "order.json"),
        ('{"square": 48, "light": "sycamor_maple", "dark": "pear", "issued_on": "2027-02-01"}', "sycamore_maple"),
        ('{"square": "48 mm", "light": "sycamore_maple", "dark": "pear"}', "issued_on"),
        ('{"shop": "mosgrund", "issued_on": "2027-02-01"}', "moosgrund"),
    ],
)
def test_a_bad_order_is_told_and_the_exit_code_is_not_zero(tmp_path, capsys, text, said):
    path = tmp_path / "order.json"
    path.write_text(text, "utf-8")
    assert main(["quote", str(path)]) == 1
    told = capsys.readouterr()
    assert said in told.err
    assert told.out == ""
    assert "Traceback" not in told.err


def test_a_missing_order_file_is_told(tmp_path, capsys):
    assert main(["quote", str(tmp_path / "none.json")]) == 1
    assert "none.json" in capsys.readouterr().err


def test_check_shop_praises_the_demo_files_and_names_all_mistakes_of_a_bad_one(tmp_path, capsys):
    files = sorted(map(str, demo_folder().glob("*.toml")))
    assert main(["check-shop", *files]) == 0
    assert capsys.readouterr().out.count("no mistakes") == 2
    bad = tmp_path / "bad.toml"
    text = (demo_folder() / "moosgrund.toml").read_text("utf-8")
    for right, wrong in (
        ('currency = "EUR"', 'currency = "EURO"'),
        ("pace = 0.95", "pase = 0.95"),
        ('"12 %"', '"112 %"'),
    ):
        assert right in text
        text = text.replace(right, wrong, 1)
    bad.write_text(text, "utf-8")
    assert main(["check-shop", files[0], str(bad)]) == 1
    told = capsys.readouterr().err
    assert all(word in told for word in ("currency", "pase", "pace", "margin"))


def run(*arguments: str, **environment: str) -> subprocess.CompletedProcess[str]:
    """The command as a person starts it, with a sound environment but for what is given."""
    return subprocess.run(
        [sys.executable, "-m", "chequerwork", *arguments],
        env={"PATH": "", **environment}, capture_output=True, text=True, check=False, timeout=30,
    )  # fmt: skip


@pytest.mark.slow("starts processes")
def test_serve_says_what_is_wrong_and_does_not_serve(tmp_path):
    """A busy port, a broken shop file, settings of no use: a clear message and a non-zero exit."""
    broken = tmp_path / "broken.toml"
    broken.write_text("id = ", "utf-8")
    with socket.socket() as busy:
        busy.bind(("127.0.0.1", 0))
        busy.listen()
        port = str(busy.getsockname()[1])
        tries = [
            (run("serve", PORT=port), [port]),
            (run("serve", CHEQUERWORK_SHOPS=str(broken)), ["broken.toml", "1 mistake"]),
            (run("serve", PORT="none", WEB_CONCURRENCY="0"), ["PORT", "WEB_CONCURRENCY"]),
            (run("serve", CHEQUERWORK_SIGNING_KEY=str(broken)), ["signing key"]),
        ]
    for ran, said in tries:
        assert ran.returncode == 1, ran.stderr
        assert all(word in ran.stderr for word in said), ran.stderr
        assert "Traceback" not in ran.stderr
        assert ran.stdout == ""


@pytest.mark.parametrize("arguments", [[], ["bake"], ["check-shop"], ["new-key", "owner"]])
def test_a_wrong_command_line_ends_with_two(arguments):
    with pytest.raises(SystemExit) as ended:
        main(arguments)
    assert ended.value.code == 2
