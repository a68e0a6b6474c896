"""The application object that a WSGI server loads."""

import gc

gc.disable()  # what is loaded here stays: looking through it for garbage took 45 ms of every start

try:
    from chequerwork.app import create_app

    app = create_app()
finally:
    gc.enable()
