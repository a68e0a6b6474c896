"""The finished board: shapes, sizes, fit to the pieces, how closely its corners meet."""
