"""One file per section of a plan: how it is shown, and the schema of what is shown."""
