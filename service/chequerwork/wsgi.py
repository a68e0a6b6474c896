"""The application object that a WSGI server loads."""

from chequerwork.app import create_app

app = create_app()
