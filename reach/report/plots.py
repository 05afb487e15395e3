"""What every plot shares: its paper, its letters, its axes laid out in pixels, and how it is written.

matplotlib is imported when a plot is made. Plots never use its global state: a user's own settings change nothing.
"""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from io import BytesIO
from pathlib import Path
from typing import TYPE_CHECKING, Any

from reach.files import write_bytes
from reach.report.palette import GRID_FIFTH, INK, PAGE, QUIET_INK, RULER, Rgb

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

DPI = 100
TEXT_PT = 9.0
SMALL_TEXT_PT = 8.0
TITLE_PT = 10.5


def colour(rgb: Rgb) -> tuple[float, float, float]:
    """A colour of the palette as matplotlib takes it."""
    return rgb[0] / 255, rgb[1] / 255, rgb[2] / 255


@contextmanager
def plot_style() -> Iterator[None]:
    """The settings in which plots are made and written: matplotlib's defaults, and the letters that come with it."""
    import matplotlib

    with matplotlib.rc_context():
        matplotlib.rcdefaults()
        matplotlib.rcParams.update(
            {
                "axes.edgecolor": colour(RULER),
                "axes.labelcolor": colour(INK),
                "axes.labelsize": TEXT_PT,
                "axes.titlesize": TITLE_PT,
                "font.family": "DejaVu Sans",
                "font.size": TEXT_PT,
                "grid.color": colour(GRID_FIFTH),
                "text.color": colour(INK),
                "xtick.color": colour(RULER),
                "xtick.labelcolor": colour(QUIET_INK),
                "xtick.labelsize": SMALL_TEXT_PT,
                "ytick.color": colour(RULER),
                "ytick.labelcolor": colour(QUIET_INK),
                "ytick.labelsize": SMALL_TEXT_PT,
            }
        )
        yield


def new_figure(width_px: int, height_px: int) -> Figure:
    """An empty page of this size."""
    from matplotlib.backends.backend_agg import FigureCanvasAgg
    from matplotlib.figure import Figure

    figure = Figure(figsize=(width_px / DPI, height_px / DPI), dpi=DPI, facecolor=colour(PAGE))
    FigureCanvasAgg(figure)
    return figure


def axes_at(figure: Figure, left_px: float, top_px: float, width_px: float, height_px: float) -> Axes:
    """Axes whose frame stands at this place of the page, counted from its top left corner."""
    width, height = figure.get_size_inches() * DPI
    return figure.add_axes((left_px / width, 1 - (top_px + height_px) / height, width_px / width, height_px / height))


def text_at(figure: Figure, left_px: float, top_px: float, text: str, **style: Any) -> float:
    """Write text whose top left corner stands at this place of the page; returns where it ends on the right, px."""
    width, height = figure.get_size_inches() * DPI
    written = figure.text(left_px / width, 1 - top_px / height, text, va="top", ha="left", **style)
    return float(written.get_window_extent().x1)


def second_axis(axes: Axes, side: str, factor: float) -> Any:
    """An axis on the "top" or on the "right" that shows the other axis's values times a factor, for another unit."""

    def there(values: Any) -> Any:
        return values * factor

    def back(values: Any) -> Any:
        return values / factor

    if side == "top":
        return axes.secondary_xaxis("top", functions=(there, back))
    return axes.secondary_yaxis("right", functions=(there, back))


def save_figure(figure: Figure, path: Path) -> None:
    """Write a page as a PNG, whole or not at all.

    Raises
    ------
    OutputError
        If it cannot be written.
    """
    data = BytesIO()
    figure.savefig(data, format="png", dpi=DPI, metadata={"Software": None})
    write_bytes(path, data.getvalue())
