"""Suggestions: the few best different orders within limits, and what would do where there is none."""
