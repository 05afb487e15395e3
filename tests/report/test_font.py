"""Text is broken and shortened to fit, whatever it says."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from reach.report.font import clean, load_font, shorten, text_width, wrap


@given(st.text(max_size=200), st.integers(40, 300))
def test_no_line_is_wider_than_asked_and_nothing_is_lost(text, width):
    lines = wrap(text, width, 13)
    assert all(text_width(line, 13) <= width or len(line) == 1 for line in lines)
    assert "".join(lines).replace(" ", "") == clean(text).replace(" ", "")


def test_what_is_left_out_is_seen_to_be_left_out():
    lines = wrap("one two three four five six seven eight", 60, 13, most_lines=2)
    assert len(lines) == 2
    assert lines[-1].endswith("…")
    assert text_width(lines[-1], 13) <= 60


def test_shortening_keeps_what_fits():
    assert shorten("quay", 200, 13) == "quay"
    short = shorten("a" * 300, 100, 13)
    assert short.endswith("…")
    assert 80 < text_width(short, 13) <= 100


def test_control_characters_do_not_reach_a_picture():
    assert clean("a\tb\r\n\x1b[31mc\u202ed") == "a b [31mc d"


@pytest.mark.parametrize("letter", "éßŁΩЖ→×≤…✓")
def test_the_typeface_has_more_than_ascii(letter):
    absent = load_font(20).getmask("\uffff").getbbox(), bytes(load_font(20).getmask("\uffff"))
    assert (load_font(20).getmask(letter).getbbox(), bytes(load_font(20).getmask(letter))) != absent
