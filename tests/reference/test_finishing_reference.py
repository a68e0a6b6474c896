"""Sanding ladders against the public ones."""

from chequerwork.domain.making.finishing import ladder


def test_ladder_of_the_trade(tables):
    """TRADE-GRIT (A06): P80 to P220 at 1.7 is P80, P120, P180, P220, a public ladder too."""
    assert [step.grade for step in ladder(tables, "P220", most=1.7)] == ["P80", "P120", "P180", "P220"]


def test_twice_the_number_is_just_above_a_ratio_of_two(tables):
    """TRADE-GRIT (A05): P80 to P150 is 2.01, the limit; at 2.0 a grade stands between."""
    assert [step.grade for step in ladder(tables, "P150", most=2.02)] == ["P80", "P150"]
    assert [step.grade for step in ladder(tables, "P150", most=2.0)] == ["P80", "P120", "P150"]
