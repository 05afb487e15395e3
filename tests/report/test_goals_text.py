"""What is said of a profile made from goals."""

from fractions import Fraction

from reach.report.goals_text import NAMES, STOPS_RISE, to_text
from reach.workshop.design_goals import FIELDS, Goals
from reach.workshop.goal_solver import design_profile


def test_every_goal_is_told_asked_and_got():
    goals = Goals(jump_tiles=Fraction(4), ticks_to_apex=24, air_ticks=42, hop_tiles=Fraction(5, 2))
    lines = to_text(design_profile(goals, "keeper")).splitlines()
    assert lines[:10] == [
        "goal                asked      got",
        "jump height         4 tiles    4.000 tiles (64.00 px)",
        "ticks to the apex   24         24 (400 ms)",
        "ticks in the air    42         42 (700 ms)",
        "least hop           2.5 tiles  2.121 tiles (33.93 px)",
        "terminal speed      -          513.000 px/s (32.06 tiles/s)",
        "gap at full run     -          5.001 tiles (80.02 px)",
        "top speed           -          97.170 px/s (6.07 tiles/s)",
        "ticks to top speed  -          18 (300 ms)",
        "ticks to stop       -          12 (200 ms)",
    ]
    assert lines[11].startswith("--hop-tiles gave way to --air-ticks: the gravity that ends a hop")
    assert lines[-1] == "The gap is crossed to the last subpixel: leave players room."


def test_a_speed_is_told_as_it_was_asked():
    goals = Goals(air_ticks=42, terminal_tiles_per_s=Fraction(7))
    text = to_text(design_profile(goals, "keeper"))
    assert "terminal speed      7 tiles/s" in text
    assert "--terminal-tiles-per-s gave way to --air-ticks" in text
    assert "--terminal-px-per-s gave way" in to_text(
        design_profile(Goals(air_ticks=42, terminal_px_per_s=Fraction(112)), "keeper")
    )


def test_a_release_that_has_to_stop_the_rise_is_told():
    goals = Goals(jump_tiles=Fraction(4), ticks_to_apex=24, air_ticks=60)
    assert STOPS_RISE in to_text(design_profile(goals, "keeper")).splitlines()
    assert STOPS_RISE not in to_text(design_profile(Goals(), "keeper"))


def test_what_only_rounding_prevents_is_not_said_to_give_way():
    text = to_text(design_profile(Goals(tick_rate_hz=1000, gap_tiles=Fraction(1), ticks_to_top=1999), "keeper"))
    assert "--ticks-to-top is not met: the nearest found; speeds and rates are whole subpixels a tick" in text


def test_all_goals_have_names():
    assert set(NAMES) == set(FIELDS)
