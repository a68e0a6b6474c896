"""Chequerwork: one request for a handmade chequered board in, one complete quote out."""

__version__ = "0.1.0"
