"""The table of materials, against the table of the motion model."""

from reach.kernels import params
from reach.materials import BY_NAME, MATERIALS


def test_the_row_of_a_code_stands_at_its_index():
    assert [material.code for material in MATERIALS] == list(range(len(MATERIALS)))
    for material in MATERIALS:
        assert material.code == getattr(params, material.name.upper())
        assert BY_NAME[material.name] is material


def test_what_materials_do():
    def names(key):
        return {material.name for material in MATERIALS if getattr(material, key)}

    assert names("blocks") == {"solid", "spring"}
    assert names("carries") == {"solid", "one_way", "spring"}
    assert names("hurts") == {"hazard"}
    assert names("launches") == {"spring"}
    assert names("holds_places") == {"empty", "one_way"}


def test_no_two_materials_share_a_symbol():
    symbols = "".join(material.symbols for material in MATERIALS)
    assert sorted(symbols) == sorted(" .#=^")
