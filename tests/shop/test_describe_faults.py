"""All mistakes as a text a maker can work through."""

from chequerwork.domain.basics.errors import Fault, Refused
from chequerwork.shop.loader import describe_faults


def fault(*at, detail):
    return Fault(at=at, code="c", detail=detail)


def test_mistakes_are_counted_then_grouped_by_file_and_table():
    refused = Refused(
        [
            fault("oak.toml", "machines", "kerf_rip", detail="Too thick."),
            fault("elm.toml", detail="Not TOML."),
            fault("oak.toml", "price", "step", detail="Zero."),
            fault("oak.toml", "machines", "squaring", detail="Missing."),
            fault("oak.toml", "zones", "home", "steps", 2, "up_to", detail="Too light."),
            fault("oak.toml", "lumber", "pear", "classes", 0, detail="Unknown."),
            fault("oak.toml", "id", detail="Twice."),
        ]
    )
    assert describe_faults(refused) == (
        "7 mistakes in 2 files.\n"
        "\n"
        "oak.toml: 6 mistakes\n"
        "  [machines]\n"
        "    kerf_rip: Too thick.\n"
        "    squaring: Missing.\n"
        "  [price]\n"
        "    step: Zero.\n"
        "  [zones.home.steps] no. 3\n"
        "    up_to: Too light.\n"
        "  [lumber.pear.classes]\n"
        "    no. 1: Unknown.\n"
        "  (top of the file)\n"
        "    id: Twice.\n"
        "\n"
        "elm.toml: 1 mistake\n"
        "  (top of the file)\n"
        "    Not TOML."
    )


def test_one_mistake_is_counted_as_one_and_stays_on_one_line():
    text = describe_faults(Refused([fault("a.toml", "price", "step", detail="Two\nlines\there.")]))
    assert text.splitlines()[0] == "1 mistake in 1 file."
    assert text.splitlines()[-1] == "    step: Two lines here."


def test_fault_without_a_place_is_still_told():
    assert "Nothing to serve." in describe_faults(Refused([fault(detail="Nothing to serve.")]))
