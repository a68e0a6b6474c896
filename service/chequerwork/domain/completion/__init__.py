"""From what is asked to an order that can be made: the shop's habits in the gaps, and every fault at once."""
