"""The application object that a WSGI server loads."""

import gc

gc.disable()  # what is loaded here stays: looking through it for garbage took 45 ms of every start

from chequerwork.app import create_app  # noqa: E402

app = create_app()
gc.enable()
