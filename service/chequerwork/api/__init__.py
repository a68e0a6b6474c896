"""HTTP: requests in, answers out. Reads plans and shows them; computes nothing of its own.

May know Flask, marshmallow and the signature library; what a number means is decided in ``domain``.
"""
