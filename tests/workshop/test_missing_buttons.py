"""Buttons without a column: named where the body moves as if they were pressed, and only there."""

import pytest

from reach.movement import load_movement
from reach.workshop.missing_buttons import missing_buttons, missing_said
from reach.workshop.recording import load_recording
from tests.checkout import ROOT

LAMPLIGHTER = load_movement(ROOT / "sample_levels" / "movement" / "lamplighter.json")


def recording(tmp_path, columns, positions):
    rows = [f"{tick},{x},{y}" + ",0" * len(columns) for tick, (x, y) in enumerate(positions)]
    (tmp_path / "r.csv").write_text("\n".join([",".join(["tick,x_px,y_px", *columns]), *rows]), encoding="utf-8")
    return load_recording(tmp_path / "r.csv")


@pytest.mark.parametrize(
    ("columns", "step", "missing"),
    [
        (["right"], (0, 0), ()),
        (["right"], (0, -1), ("jump",)),
        (["right", "jump"], (0, 1), ()),
        (["jump"], (1, -1), ("right",)),
        (["right"], (-1, 0), ("left",)),
        (["right"], (90, 0), ("run",)),
        (["right", "run"], (90, 0), ()),
    ],
)
def test_those_that_matter_are_named(tmp_path, columns, step, missing):
    read = recording(tmp_path, columns, [(tick * step[0] + tick // 6 * 0.25, tick * step[1]) for tick in range(12)])
    assert missing_buttons(read, LAMPLIGHTER) == missing
    assert [each.split(": ")[1] for each in missing_said(read, LAMPLIGHTER)] == [
        f"no column {each}" for each in missing
    ]


def test_rounding_is_no_motion(tmp_path):
    read = recording(tmp_path, ["right"], [(0, tick % 2) for tick in range(12)])
    assert missing_buttons(read) == ()
