"""Margins, fees, tax and rounding against the trade's arithmetic."""

from decimal import Decimal

from chequerwork.domain.basics.amounts import round_money


def test_a_binary_float_would_round_the_wrong_way():
    """TRADE-PRICE (P11b): a float rounds 2.675 down to 2.67; money is decimal and gives 2.68."""
    assert round(2.675, 2) == 2.67
    assert round_money(Decimal("2.675"), 2) == Decimal("2.68")
