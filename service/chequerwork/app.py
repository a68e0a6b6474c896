"""The only wiring: settings, tables, shops and signing key in, a Flask application out."""

import os
from functools import cache

import orjson
from flask import Flask, Response
from flask_swagger_ui import get_swaggerui_blueprint

from chequerwork.api import http, problems
from chequerwork.api.routes import blueprint
from chequerwork.api.service import Service
from chequerwork.api.signing import Signer
from chequerwork.data.tables import load_tables
from chequerwork.ops.limits import MAX_BODY_BYTES
from chequerwork.ops.settings import Settings
from chequerwork.shop.access import refuse_demo_keys
from chequerwork.shop.loader import demo_folder, load_shops

_DOCS = "/docs"
# The reference page runs its own script and one inline start-up script; it loads nothing from elsewhere.
_DOCS_POLICY = (
    "default-src 'none'; script-src 'self' 'unsafe-inline'; style-src 'self' 'unsafe-inline'; "
    "img-src 'self' data:; connect-src 'self'; frame-ancestors 'none'"
)


def create_app(settings: Settings | None = None) -> Flask:
    """Make the application.

    Parameters
    ----------
    settings
        What the operator decided; None reads the environment.

    Raises
    ------
    SettingsError, Refused, BadKey
        A setting, shop file or signing key cannot be used; nothing is served then.
    """
    service = load_service(settings or Settings.from_environment(os.environ))
    app = Flask("chequerwork", static_folder=None)
    # One byte more than allowed: the reader refuses in its own words.
    app.config["MAX_CONTENT_LENGTH"] = MAX_BODY_BYTES + 1
    origins = frozenset(origin for shop in service.shops.values() for origin in shop.origins)
    http.finish(app, origins=origins)
    problems.register(app)
    app.register_blueprint(blueprint(service))
    look = {"app_name": "Chequerwork", "validatorUrl": None, "layout": "BaseLayout"}
    docs = get_swaggerui_blueprint(_DOCS, "/openapi.json", config=look)
    docs.after_request(_docs_policy)
    app.register_blueprint(docs)
    app.extensions["chequerwork"] = service
    return app


def load_service(settings: Settings) -> Service:
    """Read everything that requests are answered from.

    Raises
    ------
    Refused, BadKey
        As for ``create_app``.
    """
    tables = load_tables()
    shipped = not settings.shop_paths
    shops = load_shops(settings.shop_paths or (demo_folder(),), tables=tables)
    shops = refuse_demo_keys(shops, shipped=shipped)
    signer = None
    if settings.signing_key_path is not None:
        signer = Signer.from_file(settings.signing_key_path)
    elif shipped:
        signer = Signer.from_file(demo_folder() / "signing_key.json")
    return Service(tables=tables, shops=shops, signer=signer, contract=_contract)


@cache
def _contract(form: str) -> bytes:
    from chequerwork.api.openapi import contract, to_yaml  # noqa: PLC0415 - 60 ms that quoting does not need

    return to_yaml(contract()).encode() if form == "yaml" else orjson.dumps(contract())


def _docs_policy(response: Response) -> Response:
    response.headers["Content-Security-Policy"] = _DOCS_POLICY
    return response
