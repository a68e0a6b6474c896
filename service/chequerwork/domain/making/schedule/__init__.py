"""The dated work plan: hands in the shop's hours, curing round the clock, several things at a time."""
