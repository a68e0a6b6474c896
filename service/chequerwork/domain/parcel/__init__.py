"""How it travels: cartons, services of carriers, what to pack, what waits on the way."""
