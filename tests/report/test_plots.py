from io import BytesIO

import matplotlib
import pytest
from PIL import Image

from reach.errors import OutputError
from reach.report.palette import BLUE, PAGE
from reach.report.plots import axes_at, colour, new_figure, plot_style, save_figure, second_axis, text_at


def drawn(path, **settings):
    """A small plot made under a user's own settings."""
    with matplotlib.rc_context(settings), plot_style():
        figure = new_figure(200, 120)
        axes = axes_at(figure, 40, 20, 120, 60)
        axes.plot([0, 1], [0, 1], color=colour(BLUE))
        text_at(figure, 40, 100, "Quay")
        save_figure(figure, path)
    return path.read_bytes()


def test_a_page_is_a_png_of_its_size_and_the_same_every_time(tmp_path):
    data = drawn(tmp_path / "a.png")
    with Image.open(BytesIO(data)) as image:
        assert image.size == (200, 120)
        assert image.convert("RGB").getpixel((1, 1)) == PAGE
        assert "Software" not in image.info
    assert drawn(tmp_path / "b.png") == data


def test_a_user_s_own_settings_change_nothing(tmp_path):
    mine = {"font.size": 22.0, "axes.facecolor": "black", "lines.linewidth": 9.0}
    assert drawn(tmp_path / "a.png") == drawn(tmp_path / "b.png", **mine)
    with matplotlib.rc_context(mine):
        before = dict(matplotlib.rcParams)
        with plot_style():
            pass
        assert dict(matplotlib.rcParams) == before


def test_axes_and_text_stand_where_they_are_put():
    with plot_style():
        figure = new_figure(200, 120)
        frame = axes_at(figure, 40, 20, 120, 60).get_window_extent()
        assert [round(value) for value in (frame.x0, 120 - frame.y1, frame.width, frame.height)] == [40, 20, 120, 60]
        end = text_at(figure, 40, 100, "Quay")
        assert 60 < end < 90


def test_a_second_axis_counts_in_another_unit():
    with plot_style():
        axes = axes_at(new_figure(200, 120), 40, 20, 120, 60)
        axes.set_xlim(0, 50)
        axes.set_ylim(0, 4)
        above, right = second_axis(axes, "top", 0.06), second_axis(axes, "right", 16)
        axes.figure.canvas.draw()
        assert above.get_xlim() == pytest.approx((0, 3))
        assert right.get_ylim() == pytest.approx((0, 64))


def test_what_cannot_be_written_is_said(tmp_path):
    with pytest.raises(OutputError, match="no such folder"):
        drawn(tmp_path / "no" / "a.png")
