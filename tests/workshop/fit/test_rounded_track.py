"""Ground and flights from rounded positions: what is sure, and what stays in doubt."""

from fractions import Fraction

from reach.workshop.fit.rounded_track import label_rounded
from reach.workshop.fit.stretches import UNKNOWN, Takeoff, cut_into_stretches
from reach.workshop.recording import load_recording
from tests.made_recordings import csv_of, random_profile, systematic_takes


def late(tmp_path, seed, number):
    """A walk off an edge, and a press so many ticks later."""
    takes = [take for take in systematic_takes(random_profile(seed).motion, ()) if take.name == f"late{number}"]
    file = tmp_path / "late.csv"
    file.write_text(csv_of(takes, Fraction(1)), encoding="utf-8")
    (stretch,) = cut_into_stretches(load_recording(file))
    label_rounded(stretch, 65536.0)
    return stretch, takes[0]


def test_a_late_jump_is_one_though_its_fall_shows_before(tmp_path):
    stretch, take = late(tmp_path, 116, 3)
    walk_off, jump = stretch.flights[:2]
    assert (walk_off.kind, jump.kind) == (Takeoff.WALK_OFF, Takeoff.JUMP)
    assert jump.fell_from == walk_off.begin
    assert jump.begin == jump.press == next(n for n, row in enumerate(take.inputs) if row[3])


def test_a_short_rest_at_the_beginning_is_not_called_air(tmp_path):
    stretch, take = late(tmp_path, 100, 3)
    grounded = [state.grounded for state in take.states]
    assert not any(stretch.ground[row] == 0 for row in range(10) if grounded[row])
    for row, told in enumerate(stretch.ground):
        assert told in (UNKNOWN, grounded[row])
