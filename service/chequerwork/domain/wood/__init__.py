"""What the wood does in a year: moisture, movement, bow, strength, and the verdict on them."""
