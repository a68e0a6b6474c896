"""A maker's own settings: read from one commented TOML file, checked once at start, all mistakes named at once."""
