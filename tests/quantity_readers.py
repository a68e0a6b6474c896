"""Readers that only tests need: of a length to its last digit, and of a volume as one is written."""

from fractions import Fraction

from chequerwork import quantities


def parse_length_exact(text: str) -> Fraction:
    """Read a length as ``parse_length`` does, without the rounding to a float. [mm]"""
    above, below, _ = quantities._read(text, quantities._LENGTH)
    if above > quantities._LENGTH.high * below:
        raise quantities._out_of_range(text, quantities._LENGTH)
    return Fraction(above, below)


def parse_volume(text: str) -> float:
    """Read a volume in the units that one is written in, 0 to 10 m³. [ml] Raises ``BadQuantity``."""
    return quantities._amount(text, quantities._VOLUME)
