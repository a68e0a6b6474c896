"""Forms: answers and plans written as bytes or text for one kind of reader.

This room decides looks, never numbers. It knows no requests, files, network or clock, and equal input gives equal
bytes. It may import the domain and ``quantities``.
"""
