"""Replays as tables: every column, both forms."""

import csv
import io
import json

import numpy as np

from reach.report.replay_table import COLUMNS, to_csv, to_json
from reach.simulator import Replay, Row

REPLAY = Replay(
    (
        Row(0, -65536, 131072, 0, 0, 1, 0, ("start-1",)),
        Row(1, np.int64(-60000), np.int64(131072), np.int64(5536), np.int64(-7), 0, 1, ("bell", "lamp")),
        Row(2, 1, 2, 3, 4, 0, 0, ()),
    ),
    (),
)


def test_columns_are_the_rows_own():
    assert Row._fields == COLUMNS


def test_csv_reads_back():
    rows = list(csv.reader(io.StringIO(to_csv(REPLAY))))
    assert rows == [
        list(COLUMNS),
        ["0", "-65536", "131072", "0", "0", "1", "0", "start-1"],
        ["1", "-60000", "131072", "5536", "-7", "0", "1", "bell lamp"],
        ["2", "1", "2", "3", "4", "0", "0", ""],
    ]
    assert to_csv(REPLAY).endswith("\n")
    assert "\r" not in to_csv(REPLAY)


def test_json_reads_back_a_line_a_tick():
    text = to_json(REPLAY)
    data = json.loads(text)
    assert data[1] == {
        "tick": 1,
        "x_spx": -60000,
        "y_spx": 131072,
        "vx_spx": 5536,
        "vy_spx": -7,
        "grounded": 0,
        "lost": 1,
        "places": ["bell", "lamp"],
    }
    assert [row["places"] for row in data] == [["start-1"], ["bell", "lamp"], []]
    assert len(text.splitlines()) == len(REPLAY.rows) + 2
