"""What authorities ask: limits, protected species, notices."""
