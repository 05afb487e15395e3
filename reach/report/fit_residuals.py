"""A picture of how far each row of a recording lies from what was fitted to it."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np

from reach.report.movement_fit_text import held_words
from reach.report.palette import BLACK, BLUE, COVERED, QUIET_INK, RULER, VERMILLION
from reach.report.plots import SMALL_TEXT_PT, axes_at, colour, new_figure, plot_style, save_figure, text_at

if TYPE_CHECKING:
    from matplotlib.axes import Axes

    from reach.workshop.fit.fitting import Fit

WIDTH_PX, HEIGHT_PX = 1100, 620
_LEFT, _TOP, _PANEL_W, _PANEL_H, _STEP = 78, 118, 990, 186, 236
LEAST_PX = 0.05
"""A panel shows at least so much up and down: less is no more than a number's last digits."""
WITHOUT_DOTS = (
    "A stretch without dots: rows that no value found decides alone, "
    "or about which the recording leaves open which rule acts."
)
_NAMES = {"x": "x: along the ground", "y": "y: up and down"}


def save_residuals(fit: Fit, path: Path) -> None:
    """Draw the residuals as a PNG.

    Raises
    ------
    OutputError
        If it cannot be written.
    """
    with plot_style():
        figure = new_figure(WIDTH_PX, HEIGHT_PX)
        starts = _starts(fit)
        text_at(figure, 20, 14, f"{fit.recording.origin}: {held_words(fit)}", weight="bold")
        text_at(figure, 20, 36, f"Positions: {fit.recording.rounding_said}.", color=colour(QUIET_INK))
        text_at(figure, 20, 54, WITHOUT_DOTS, color=colour(QUIET_INK))
        half = float(fit.recording.rounding_px) / 2
        for number, axis in enumerate("xy"):
            axes = axes_at(figure, _LEFT, _TOP + number * _STEP, _PANEL_W, _PANEL_H)
            _draw(axes, fit, axis, starts, half)
            axes.set_title(_NAMES[axis], loc="left", fontsize=9.5)
            axes.set_ylabel("off by, px")
            # Numbers of any length leave the label where it is.
            axes.yaxis.set_label_coords(-54 / _PANEL_W, 0.5)
            if number:
                axes.set_xlabel("rows in the order of the file")
        _legend(figure.axes[0], half)
        save_figure(figure, path)


def _starts(fit: Fit) -> list[int]:
    """The number of rows before each take."""
    lengths = [len(take.ticks) for take in fit.recording.takes]
    return [0, *np.cumsum(lengths).tolist()]


def _draw(axes: Axes, fit: Fit, axis: str, starts: list[int], half: float) -> None:
    takes = fit.recording.takes

    def place(take: int, tick: int) -> int:
        return starts[take] + int(np.searchsorted(takes[take].ticks, tick))

    good = [(place(*ref), off) for ref, own, off in fit.replayed.rows if own == axis]
    bad = [(place(*each.ref), each.off_px) for each in fit.replayed.residuals if each.axis == axis]
    if half:
        axes.axhspan(-half, half, facecolor=colour(COVERED), edgecolor="none", zorder=0)
    axes.axhline(0, color=colour(RULER), linewidth=0.8, zorder=1)
    for start in starts[1:-1] if len(starts) <= 60 else []:
        axes.axvline(start, color=colour(RULER), linewidth=0.6, linestyle=(0, (2, 3)), zorder=1)
    if good:
        axes.plot(*zip(*good, strict=True), ".", color=colour(BLUE), markersize=2.6, zorder=2)
    if bad:
        axes.plot(
            *zip(*bad, strict=True),
            "X",
            color=colour(VERMILLION),
            markersize=7,
            markeredgecolor=colour(BLACK),
            zorder=3,
        )
    axes.set_xlim(0, max(1, starts[-1] - 1))
    most = max([half * 1.3, *(abs(off) * 1.15 for _, off in (*good, *bad)), LEAST_PX])
    axes.set_ylim(-most, most)
    if not good and not bad:
        axes.text(
            0.5, 0.6, "no row of this axis was judged", transform=axes.transAxes, ha="center", color=colour(QUIET_INK)
        )


def _legend(axes: Axes, half: float) -> None:
    from matplotlib.lines import Line2D
    from matplotlib.patches import Patch

    handles: list[Line2D | Patch] = [
        Line2D([], [], color=colour(BLUE), marker=".", linestyle="none", markersize=6, label="a row"),
        Line2D(
            [],
            [],
            color=colour(VERMILLION),
            marker="X",
            linestyle="none",
            markersize=7,
            markeredgecolor=colour(BLACK),
            label="a row that the profile does not explain",
        ),
        Line2D([], [], color=colour(RULER), linestyle=(0, (2, 3)), label="a new take"),
    ]
    if half:
        handles.append(Patch(facecolor=colour(COVERED), edgecolor=colour(RULER), label="within the rounding"))
    axes.legend(
        handles=handles,
        loc="lower right",
        bbox_to_anchor=(1.0, 1.1),
        ncols=len(handles),
        frameon=False,
        fontsize=SMALL_TEXT_PT,
        borderaxespad=0.0,
    )
