"""Operation: what the person who runs the service decides, and how the server is set up.

This room knows nothing of boards: it imports nothing of ours, and it raises nothing of the domain's.
"""
