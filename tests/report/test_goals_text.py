"""What is said of a profile made from goals."""

from fractions import Fraction

from reach.report.goals_text import NAMES, to_text
from reach.workshop.design_goals import FIELDS, Goals
from reach.workshop.goal_solver import design_profile


def test_every_goal_is_told_asked_and_got():
    goals = Goals(jump_tiles=Fraction(4), ticks_to_apex=24, air_ticks=42, hop_tiles=Fraction(5, 2))
    lines = to_text(design_profile(goals, "keeper")).splitlines()
    assert lines[:9] == [
        "goal                asked      got",
        "jump height         4 tiles    4.000 tiles (64.00 px)",
        "ticks to the apex   24         24 (400 ms)",
        "ticks in the air    42         42 (700 ms)",
        "least hop           2.5 tiles  2.121 tiles (33.93 px)",
        "terminal speed      -          513.000 px/s (32.06 tiles/s)",
        "gap at full run     -          5.001 tiles (80.02 px)",
        "ticks to top speed  -          18 (300 ms)",
        "ticks to stop       -          12 (200 ms)",
    ]
    assert lines[10].startswith("--hop-tiles gave way to --air-ticks: the gravity that ends a hop")
    assert lines[-1] == "The gap is crossed to the last subpixel: leave players room."


def test_what_only_rounding_prevents_is_not_said_to_give_way():
    text = to_text(design_profile(Goals(tick_rate_hz=1000, gap_tiles=Fraction(1), ticks_to_top=1999), "keeper"))
    assert "--ticks-to-top is not met: the nearest that whole subpixels a tick allow" in text


def test_all_goals_have_names():
    assert set(NAMES) == set(FIELDS)
