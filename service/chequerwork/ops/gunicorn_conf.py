"""How gunicorn runs the service. Every name below is one of gunicorn's own settings."""

import gc
import os
from pathlib import Path
from typing import Any

from chequerwork.ops import refusals
from chequerwork.ops.settings import Settings

refusals.install()
_settings = Settings.from_environment(os.environ)
_address = f"[{_settings.host}]" if ":" in _settings.host else _settings.host  # IPv6 needs its brackets
_MEMORY_BACKED = Path("/dev/shm")  # noqa: S108  heartbeat files only, which gunicorn names safely

bind = f"{_address}:{_settings.port}"
workers = _settings.workers
# A proxy buffers slow clients, so one request per process is right behind one. Browsers that connect directly open
# connections ahead of need, and a thread waits up to 5 s for the first byte of each: more threads than one browser's.
worker_class = "sync" if _settings.proxy_hops else "gthread"
threads = 1 if _settings.proxy_hops else 16
keepalive = 5  # seconds; used by threads only
# Tables and shops are loaded once and shared by all workers; a broken shop file stops the start.
preload_app = True


def when_ready(server: Any) -> None:  # noqa: ANN401 - gunicorn's own
    """Before workers are forked: one quote of every shop loads what only quotes need; then all that is there stays.

    Without those quotes every worker loads that for itself: 50 ms of its first request, and 6 MB. What stays is never
    again looked through for garbage: else a request in some hundred waits 30 ms for that, and memory that workers share
    is written to and so copied.
    """
    app = server.app.wsgi()
    service = app.extensions["chequerwork"]
    for shop in service.shops.values():
        app.test_client().post("/v1/quotes", json=service.first_order(shop))
    gc.collect()
    gc.freeze()


# The control socket would be written to a home folder that a container does not have.
control_socket_disable = True
# A heartbeat on a slow disk can look like a hung worker.
worker_tmp_dir = str(_MEMORY_BACKED) if os.access(_MEMORY_BACKED, os.W_OK) else None

# The longest answers are tables of prices: 20,000 rows of boards that have nothing in common take 10 s of one core.
timeout = 60
graceful_timeout = 20
# Workers are replaced now and then, never all at once, so that a slow leak cannot grow for ever.
max_requests = 20_000
max_requests_jitter = 2_000

limit_request_line = 4094
limit_request_fields = 64
limit_request_field_size = 8190

# The application alone decides which X-Forwarded- headers count (CHEQUERWORK_PROXY_HOPS).
forwarded_allow_ips = ""
secure_scheme_headers: dict[str, str] = {}

# No access log by default: the proxy keeps one. If it is switched on, it shows the path without the query,
# because a query can hold a customer's whole order.
accesslog = None
access_log_format = '%(t)s "%(m)s %(U)s %(H)s" %(s)s %(B)s %(D)sus'
errorlog = "-"
loglevel = _settings.log_level
proc_name = "chequerwork"
