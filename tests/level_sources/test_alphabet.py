"""Characters for maps."""

from reach.level import KNOWN_SYMBOLS, level_from_dict
from reach.level_sources.alphabet import Alphabet
from tests.made_files import level_data


def spring(launch):
    return {"material": "spring", "launch_px_per_s": launch}


def test_known_entries_get_their_usual_symbol():
    alphabet = Alphabet()
    entries = [{"material": "empty"}, {"material": "solid"}, {"place": "start"}, {"place": "goal"}]
    assert "".join(map(alphabet.draw, entries)) == ".#@!"
    assert alphabet.symbols == {}


def test_a_wish_is_granted_where_it_can_be():
    alphabet = Alphabet()
    assert alphabet.draw(spring(1), "7") == "7"
    assert alphabet.draw(spring(2), "7") != "7"
    assert alphabet.draw(spring(3), "#") != "#"
    assert len(alphabet.draw(spring(4), "rope")) == 1
    assert alphabet.draw(spring(5), "\x07").isprintable()
    assert alphabet.draw(spring(1), "x") == "7"
    assert alphabet.symbols["7"] == spring(1)


def test_there_are_characters_for_every_entry_and_levels_take_them():
    alphabet = Alphabet()
    drawn = [alphabet.draw(spring(launch)) for launch in range(1, 3001)]
    assert len(set(drawn)) == 3000
    assert not set(drawn) & set(KNOWN_SYMBOLS)
    level = level_from_dict(level_data(rows=["@" + "".join(drawn)], symbols=alphabet.symbols))
    assert [int(level.launch_px_per_s[column, 0]) for column in range(1, 3001)] == list(range(1, 3001))
