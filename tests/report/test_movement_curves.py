"""The page of curves: everything on it, nothing on top of anything else."""

from dataclasses import replace
from itertools import combinations

import matplotlib.text
import numpy as np
import pytest

from reach.movement import load_movement
from reach.report.movement_curves import LOOKS, draw_curves, save_curves
from reach.report.palette import MIN_MARK_CONTRAST, PAGE, contrast
from reach.report.plots import plot_style
from reach.workshop.curves import measure_curves
from tests.builders import make_motion
from tests.checkout import ROOT

LAMPLIGHTER, COURIER, FERRYMAN = (
    load_movement(ROOT / "sample_levels" / "movement" / f"{name}.json")
    for name in ("lamplighter", "courier", "ferryman")
)
SLOW = replace(COURIER, name="barge", motion=make_motion(walk_accel=1, jump_gravity_held=1, jump_gravity=1))
PAGES = {
    "one": [LAMPLIGHTER],
    "two": [LAMPLIGHTER, COURIER],
    "two of one name": [COURIER, COURIER],
    "no run": [FERRYMAN],
    "two rates": [LAMPLIGHTER, replace(COURIER, tick_rate_hz=50)],
    "a long name": [replace(COURIER, name="The Keeper of the Ferry over the Northern Sound " * 3)],
    "what takes too long": [SLOW],
}


def texts_drawn(figure):
    """(text, its box in px) of all that is drawn; an axis keeps labels beyond its ends and does not draw them."""
    every = [*figure.axes, *(child for each in figure.axes for child in each.child_axes)]
    ticks = {axis: axis._update_ticks() for axes in every for axis in (axes.xaxis, axes.yaxis)}
    kept = {
        id(label)
        for axis in ticks
        for tick in (*axis.majorTicks, *axis.minorTicks)
        for label in (tick.label1, tick.label2)
    }
    really = {id(label) for shown in ticks.values() for tick in shown for label in (tick.label1, tick.label2)}
    return [
        (text.get_text(), text.get_window_extent())
        for text in figure.findobj(matplotlib.text.Text)
        if text.get_text().strip() and text.get_visible() and (id(text) not in kept or id(text) in really)
    ]


@pytest.fixture(scope="module", params=PAGES.values(), ids=PAGES.keys())
def page(request):
    """(profiles, the figure, its texts with their boxes in px)."""
    with plot_style():
        figure = draw_curves(measure_curves(request.param, 16))
        figure.canvas.draw()
        return request.param, figure, texts_drawn(figure)


def test_no_text_lies_on_another(page):
    for (one, a), (other, b) in combinations(page[2], 2):
        across, up = min(a.x1, b.x1) - max(a.x0, b.x0), min(a.y1, b.y1) - max(a.y0, b.y0)
        assert min(across, up) <= 1, (one, other)


def test_all_text_is_on_the_page(page):
    _, figure, texts = page
    width, height = figure.get_size_inches() * figure.dpi
    assert height < 3000
    for text, box in texts:
        assert min(box.x0, box.y0) >= 0, text
        assert box.x1 <= width, text
        assert box.y1 <= height, text


def test_a_profile_is_named_and_its_line_is_shown(page):
    profiles, _, texts = page
    every = [text for text, _ in texts]
    for profile in profiles:
        assert any(text.startswith(profile.name[:30]) for text in every)
    assert len({text for text in every if text.startswith("courier")}) >= sum(p.name == "courier" for p in profiles[:1])


def test_axes_tell_their_units(page):
    profiles, _, texts = page
    every = [text for text, _ in texts]
    assert {"px/s", "tiles/s", "ms", "px", "tiles"} <= set(every)
    assert ("ticks" in every) == (len({profile.tick_rate_hz for profile in profiles}) == 1)


def test_a_profile_without_a_run_is_said_to_have_none():
    with plot_style():
        for profiles, told in (([LAMPLIGHTER, COURIER], "ticks / no run"), ([COURIER, LAMPLIGHTER], "no run / ")):
            figure = draw_curves(measure_curves(profiles, 16))
            every = [text.get_text() for text in figure.findobj(matplotlib.text.Text)]
            runs = [text for text in every if text.startswith("run")]
            assert all(told in text for text in runs if "\n" in text)
            assert any("\n" in text for text in runs)


def test_remarks_are_on_the_page():
    with plot_style():
        curves = measure_curves([SLOW], 16)
        every = [text.get_text() for text in draw_curves(curves).findobj(matplotlib.text.Text)]
    assert curves[0].remarks
    for remark in curves[0].remarks:
        assert f"barge: {remark}" in every


def test_profiles_differ_by_more_than_colour():
    assert len({look.dashes for look in LOOKS}) == len(LOOKS)
    for look in LOOKS:
        assert contrast(look.colour, PAGE) >= MIN_MARK_CONTRAST


def test_lines_are_the_curves():
    curves = measure_curves([COURIER], 16)
    with plot_style():
        figure = draw_curves(curves)
    speed = figure.axes[0].lines[0]
    assert np.array_equal(speed.get_ydata(), curves[0].speed.vx_spx * 60 / 65536)
    assert np.allclose(speed.get_xdata(), np.arange(len(curves[0].speed.vx_spx)) * 1000 / 60)


def test_a_page_is_the_same_every_time(tmp_path):
    for name in ("a.png", "b.png"):
        save_curves(measure_curves([COURIER], 16), tmp_path / name)
    assert (tmp_path / "a.png").read_bytes() == (tmp_path / "b.png").read_bytes()
