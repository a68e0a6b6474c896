"""Every question that a row of ``tests/reference/tables`` may put to the domain, by name.

Each asks the real functions, with the demo shops and the fact tables as shipped; nothing here computes an answer.
A formula of the formula table answers to its key and needs nothing here.
"""

from collections.abc import Mapping

from reference.answers import boards, facts, making, trade, wood
from reference.answers.registry import Answer, of_module, of_the_formulas


def _all() -> Mapping[str, Answer]:
    found = of_the_formulas()
    for module in (wood, facts, boards, making, trade):
        for name, answer in of_module(vars(module)).items():
            if name in found and found[name] is not answer:
                raise ValueError(f"two answers to {name}")
            found[name] = answer
    return found


ANSWERS = _all()
