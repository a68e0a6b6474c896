"""Work that a search may do."""


class Budget:
    """Work that is left to a search. Counted, not timed: the same question ends at the same answer everywhere."""

    def __init__(self, work: int) -> None:
        self.left = work

    def spend(self, work: int) -> bool:
        """Take some of it, what is there or not; whether there was as much."""
        self.left -= work
        return self.left >= 0

    def close(self) -> None:
        """Leave nothing for any further search."""
        self.left = min(self.left, 0)

    @property
    def used_up(self) -> bool:
        """Whether nothing more may be begun."""
        return self.left <= 0
