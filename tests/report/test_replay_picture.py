"""Replays as pictures and films: the body where the rows say, at the speed of play."""

from __future__ import annotations

from io import BytesIO
from itertools import pairwise
from types import SimpleNamespace

import numpy as np
import pytest
from PIL import Image

from reach.errors import InputError, OutputError
from reach.level import level_from_dict
from reach.report.film_palette import FilmPalette
from reach.report.flown import events, flown
from reach.report.palette import BLUISH_GREEN, INK, VERMILLION
from reach.report.replay_film import FRAME_CS, LAST_FRAME_CS, MOST_FRAMES, Film, shown_ticks
from reach.report.replay_ghosts import GHOST_FILL, chosen_ghosts, draw_ghosts
from reach.report.replay_picture import draw_replay, save_replay
from reach.simulator import Replay, Row

SPX = 65536
WIDTH, HEIGHT = 12, 22


def level_of(columns=20):
    rows = ["." * columns] * 6 + ["#" * columns]
    places = [{"id": "quay", "kind": "start", "at": [0, 5]}, {"id": "lamp", "kind": "goal", "at": [6, 5]}]
    return level_from_dict(
        {"format": "reach-level/1", "name": "Rope Walk", "tile_px": 16, "rows": rows, "places": places}
    )


def movement_of(tick_rate_hz=60):
    motion = SimpleNamespace(body_w=WIDTH * SPX, body_h=HEIGHT * SPX)
    return SimpleNamespace(name="lamplighter", tick_rate_hz=tick_rate_hz, motion=motion)


def row(tick, x_px, feet_px, vy_px=0.0, grounded=1, lost=0, places=()):
    return Row(tick, round(x_px * SPX), round((feet_px - HEIGHT) * SPX), 0, round(vy_px * SPX), grounded, lost, places)


def hop():
    """Two ticks of standing, a hop of 28 ticks, three more on the ground: made by hand, 3 px a tick sideways."""
    rows = [row(0, 2, 96), row(1, 2, 96)]
    for i in range(1, 29):
        height = 40 * (1 - ((i - 14) / 14) ** 2) if i < 28 else 0
        rows.append(row(1 + i, 2 + 3 * i, 96 - height, vy_px=-1.0 if i < 14 else 1.0, grounded=int(i == 28)))
    rows += [row(30 + i, 86 + 3 * (i + 1), 96, places=("lamp",) if i == 2 else ()) for i in range(3)]
    return rows


def frames_of(data):
    with Image.open(BytesIO(data)) as film:
        return [(film.seek(i), film.convert("RGB"), film.info["duration"])[1:] for i in range(film.n_frames)]


def test_events_are_told_at_their_ticks():
    told = events(flown(movement_of(), hop()))
    assert told == {0: "start", 2: "takeoff", 29: "lands", 32: "touches lamp, end"}


def test_falls_bounces_and_loss_are_told():
    rows = [
        row(0, 2, 96),
        row(1, 2, 96, vy_px=0, grounded=0),
        row(2, 2, 98, vy_px=2, grounded=0),
        row(3, 2, 99, vy_px=-4, grounded=0),
        row(4, 2, 120, vy_px=4, grounded=0, lost=1),
    ]
    assert events(flown(movement_of(), rows)) == {0: "start", 1: "falls", 3: "bounces", 4: "lost"}


@pytest.mark.parametrize("sunk_px", [0, 2])
def test_a_jump_soon_after_the_edge_is_no_bounce(sunk_px):
    rows = [
        row(0, 2, 96),
        row(1, 2, 96, vy_px=0, grounded=0),
        row(2, 2, 96 + sunk_px, vy_px=sunk_px, grounded=0),
        row(3, 2, 92, vy_px=-4, grounded=0),
    ]
    assert events(flown(movement_of(), rows)) == {0: "start", 1: "falls", 3: "takeoff, end"}


def test_who_walks_onto_a_spring_bounces():
    rows = [row(0, 2, 96), row(1, 4, 96, vy_px=-4, grounded=0), row(2, 6, 92, vy_px=-3, grounded=0)]
    assert events(flown(movement_of(), rows)) == {0: "start", 1: "bounces", 2: "end"}


def test_what_changes_nothing_at_the_end_is_left_out():
    still = [*hop(), *(row(33 + i, 95, 96, places=("lamp",)) for i in range(40))]
    way = flown(movement_of(), still)
    assert way.rows[-1].tick == 32
    assert way.ticks == 72
    text = " ".join(item.text for item in draw_ghosts(level_of(), "lamplighter", way).texts)
    assert "72 ticks, 1.20 s at 60 a second" in text
    assert "Nothing changes after tick 32." in text


def test_ghosts_stand_at_events_and_a_body_apart():
    way = flown(movement_of(), hop())
    chosen = chosen_ghosts(way)
    assert {0, 2, 29, 32} <= set(chosen)
    for before, after in pairwise(chosen):
        x1, y1 = way.corner_px(way.rows[before])
        x2, y2 = way.corner_px(way.rows[after])
        assert np.hypot(x2 - x1, y2 - y1) <= 2 * HEIGHT
    assert len(chosen) < len(way.rows)


def test_the_picture_shows_the_body_where_the_rows_say():
    rows = hop()
    sheet = draw_ghosts(level_of(), "lamplighter", flown(movement_of(), rows))
    # The fill is a veil of three quarters, so that the map shows through; the body stands on the ground in ticks 0, 1
    # (one ghost) and from tick 29 on, and a tile of 16 px is drawn 48 px large.
    veiled = np.round(0.75 * np.array(GHOST_FILL) + 0.25 * 255)
    filled = (np.abs(np.asarray(sheet.image) - veiled).max(axis=2) <= 1).sum()
    one_body = (WIDTH * 3) * (HEIGHT * 3)
    assert 0.8 * one_body < filled < 4 * one_body
    texts = [item.text for item in sheet.texts]
    assert texts[0] == "Replay in Rope Walk"
    for label in ("0 start", "2 takeoff", "29 lands", "32 touches lamp, end", "lamp", "quay"):
        assert label in texts, label
    assert BLUISH_GREEN in {colour for _, colour in sheet.image.getcolors(1 << 24)}, "the place that is touched"


def test_a_lost_body_is_crossed_out():
    rows = [*hop()[:20], row(20, 62, 90, grounded=0, lost=1)]
    seen = {c: n for n, c in draw_ghosts(level_of(), "x", flown(movement_of(), rows)).image.getcolors(1 << 24)}
    assert seen.get(VERMILLION, 0) > 20
    seen = {c: n for n, c in draw_ghosts(level_of(), "x", flown(movement_of(), hop())).image.getcolors(1 << 24)}
    assert VERMILLION not in seen


def test_a_long_way_is_cut_into_strips():
    rows = [row(i, 2 + 4 * i, 96) for i in range(600)]
    sheet = draw_ghosts(level_of(200), "lamplighter", flown(movement_of(), rows))
    assert sheet.width < 1800
    assert sum(item.text.startswith("Columns ") for item in sheet.texts) >= 2


@pytest.mark.parametrize("rate", [30, 50, 60, 90, 144])
def test_a_film_runs_at_the_speed_of_play(rate):
    ticks, speed_up = shown_ticks(5 * rate, rate)
    assert speed_up == 1
    # A film file tells times in hundredths of a second (GIF89a specification, graphic control extension).
    for index, tick in enumerate(ticks[:-1]):
        assert abs(tick / rate - index * FRAME_CS / 100) < 1 / rate
    assert ticks[-1] == 5 * rate
    assert all(before < after for before, after in pairwise(ticks))


def test_a_long_film_is_played_faster_and_says_so():
    ticks, speed_up = shown_ticks(60 * 100, 60)
    assert speed_up > 1
    assert len(ticks) <= MOST_FRAMES + 1
    assert ticks[1] == 3 * speed_up
    rows = [row(i, 2 + (i % 2), 96) for i in range(60 * 60 + 1)]
    film = Film(level_of(), "lamplighter", flown(movement_of(), rows))
    assert film.speed_up == 3


def test_a_film_file_has_its_frames_and_times():
    frames = frames_of(draw_replay(level_of(), movement_of(), hop(), ".gif"))
    assert [duration for _, duration in frames[:-1]] == [10 * FRAME_CS] * (len(frames) - 1)
    assert frames[-1][1] == 10 * LAST_FRAME_CS
    assert len(frames) == len(shown_ticks(32, 60)[0])
    assert len({frame.size for frame, _ in frames}) == 1


def test_a_film_shows_the_body_where_the_rows_say():
    way = flown(movement_of(), hop())
    film = Film(level_of(), "lamplighter", way)
    frames = frames_of(draw_replay(level_of(), movement_of(), hop(), ".gif"))
    columns, rows = way.window(level_of())
    tile = frames[0][0].width // len(columns)
    for tick, (frame, _) in zip(film.ticks, frames, strict=True):
        x, y = way.corner_px(way.rows[tick])
        left = round(x * tile / 16) - columns.start * tile
        bottom = frame.height - (rows.stop * tile - round((y + HEIGHT) * tile / 16))
        middle = frame.getpixel((left + round(WIDTH * tile / 32), bottom - 1))
        assert middle == INK, tick


def test_equal_replays_give_equal_files():
    for kind in (".png", ".gif"):
        one, other = (draw_replay(level_of(), movement_of(), hop(), kind) for _ in range(2))
        assert one == other


@pytest.mark.parametrize("kind", [".png", ".gif"])
def test_a_replay_of_no_ticks_is_drawn(kind):
    with Image.open(BytesIO(draw_replay(level_of(), movement_of(), hop()[:1], kind))) as image:
        assert getattr(image, "n_frames", 1) == 1


@pytest.mark.parametrize("kind", [".png", ".gif"])
def test_a_body_beyond_the_maps_borders_is_drawn(kind):
    rows = [row(0, 2, -200, grounded=0), row(1, 2, 40, grounded=0), row(2, 2, 400, grounded=0, lost=1)]
    assert len(draw_replay(level_of(), movement_of(), rows, kind)) > 1000


def test_the_view_goes_with_the_body_on_a_large_map():
    rows = [row(i, 2 + 4 * i, 96) for i in range(600)]
    film = Film(level_of(200), "lamplighter", flown(movement_of(), rows))
    for index in (0, len(film.ticks) // 2, len(film.ticks) - 1):
        frame = np.asarray(film.frame(index))
        assert frame.shape[1] < 1000
        assert (frame == INK).all(axis=2)[46:].sum() > 60, "the body is in view"


def test_colours_that_matter_are_exact_in_a_film():
    image = Image.new("RGB", (4, 1))
    image.putdata([(255, 255, 255), (0, 158, 115), (0, 158, 115), (10, 20, 30)])
    palette = FilmPalette([image])
    assert palette.apply(image).convert("RGB").tobytes() == image.tobytes()
    near = Image.new("RGB", (1, 1), (12, 20, 30))
    assert palette.apply(near).convert("RGB").getpixel((0, 0)) == (10, 20, 30)


@pytest.mark.parametrize("name", ["way.png", "way.gif", "WAY.PNG"])
def test_the_files_ending_says_what_is_written(tmp_path, name):
    save_replay(level_of(), movement_of(), Replay(tuple(hop()), ()), tmp_path / name)
    with Image.open(tmp_path / name) as image:
        assert image.format == name[-3:].upper()


def test_another_ending_is_refused_and_nothing_written(tmp_path):
    with pytest.raises(InputError, match=r"\.jpg"):
        save_replay(level_of(), movement_of(), Replay(tuple(hop()), ()), tmp_path / "way.jpg")
    assert list(tmp_path.iterdir()) == []


def test_a_folder_that_is_not_there_is_told(tmp_path):
    with pytest.raises(OutputError):
        save_replay(level_of(), movement_of(), Replay(tuple(hop()), ()), tmp_path / "absent" / "way.png")
