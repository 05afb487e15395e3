"""A page with the curves of one profile, or of two on top of each other."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any, NamedTuple

import numpy as np

from reach.report.palette import BLACK, BLUE, GRID_FIFTH, INK, PAGE, QUIET_INK, RULER, SKY_BLUE, VERMILLION, Rgb
from reach.report.plots import (
    SMALL_TEXT_PT,
    TITLE_PT,
    axes_at,
    colour,
    new_figure,
    plot_style,
    save_figure,
    second_axis,
    text_at,
)
from reach.workshop.curves import RUN_PHASES, Curves, Envelope, Steer, Takeoff

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

SPX = 65536
PAGE_WIDTH_PX = 1500
SIDE_PX = 78
GAP_PX = 128
SPEED_HEIGHT_PX = 270
BAR_HEIGHT_PX = 17
AIR_HEIGHT_PX = 210
LEAST_HEIGHT_PX = 110
MOST_HEIGHT_PX = 560
HEAD_PX = 92
"""Above every row of panels: its title, and the axis on top."""
FOOT_PX = 46
"""Below it: its lower axis."""
LINE_PX = 18
HOLDS_ROOM_PX = 14
"""Between what is said of holds and the next title."""
NAME_LENGTH = 40
MARKERS = ("^", "s", "D", "o")
GLYPHS = ("\N{BLACK UP-POINTING TRIANGLE}", "\N{BLACK SQUARE}", "\N{BLACK DIAMOND}", "\N{BLACK CIRCLE}")
STEER_MARKERS = {Steer.FORWARD: ">", Steer.NONE: "o", Steer.BACK: "<"}
TAKEOFF_WORDS = {
    Takeoff.STANDING: "from standing",
    Takeoff.WALKING: "from the walk's top speed",
    Takeoff.RUNNING: "from the run's top speed",
}


class Look(NamedTuple):
    """How a profile's lines are told from another's."""

    colour: Rgb
    dashes: tuple[float, ...] | None
    fill: Rgb


LOOKS = (Look(BLUE, None, SKY_BLUE), Look(VERMILLION, (4.0, 1.6), VERMILLION))


def save_curves(curves: Sequence[Curves], path: Path) -> None:
    """Write the page as a PNG, whole or not at all.

    Parameters
    ----------
    curves : sequence of Curves
        One or two, measured together.
    path : Path

    Raises
    ------
    OutputError
        If it cannot be written.
    """
    with plot_style():
        save_figure(draw_curves(curves), path)


def draw_curves(curves: Sequence[Curves]) -> Figure:
    """The page; to be made and written within `plot_style`."""
    takeoffs = [each for each in Takeoff if any(flight.takeoff is each for own in curves for flight in own.arcs)]
    width = (PAGE_WIDTH_PX - 2 * SIDE_PX - GAP_PX * (len(takeoffs) - 1)) / len(takeoffs)
    across = _span([flight.x_spx for own in curves for flight in own.arcs], curves[0], 4)
    up = _span([flight.height_spx for own in curves for flight in own.arcs], curves[0])
    wide = _span(
        [side for own in curves for each in own.envelopes for side in (each.left_spx, each.right_spx)], curves[0], 4
    )
    tall = _span([each.height_px * SPX for own in curves for each in own.envelopes], curves[0])
    arc_height, across, up = _to_scale(width, across, up)
    envelope_height, wide, tall = _to_scale(width, wide, tall)
    buttons = _buttons(curves[0])
    remarks = [f"{_name(own, curves)}: {each}" for own in curves for each in own.remarks]

    heights = [
        SPEED_HEIGHT_PX + BAR_HEIGHT_PX * len(buttons),
        AIR_HEIGHT_PX,
        arc_height + LINE_PX * len(curves) + HOLDS_ROOM_PX,
        envelope_height,
    ]
    tops = []
    top = 40.0 + LINE_PX * len(curves)
    for height in heights:
        tops.append(top + HEAD_PX)
        top += HEAD_PX + height + FOOT_PX
    figure = new_figure(PAGE_WIDTH_PX, round(top + 14 + LINE_PX * (len(remarks) + 1)))

    _draw_head(figure, curves)
    told = (
        "attack, sustain, release, reversing, run and its memory; buttons held below; ticks until the speed is reached"
    )
    if len(curves) > 1:
        told += f", {' / '.join(_name(own, curves) for own in curves)}"
    _title(figure, tops[0], "Speed along the ground", told)
    _draw_speed(figure, curves, tops[0], buttons)
    _title(figure, tops[1], "Air control", f"sideways speed in a jump with the button held; {_steer_key()}")
    _title(figure, tops[2], "Jump arcs", "steered forward; path of the feet from where they stood; a dot a tick")
    _title(
        figure,
        tops[3],
        "Envelope of one takeoff",
        "where the feet can be at the end of a tick, whatever is pressed, with nothing in the way; no input leaves it; "
        "step at 0: above it rise and fall, below it the fall alone",
    )
    for column, takeoff in enumerate(takeoffs):
        left = SIDE_PX + column * (width + GAP_PX)
        _draw_air(axes_at(figure, left, tops[1], width, AIR_HEIGHT_PX), curves, takeoff)
        _draw_arcs(axes_at(figure, left, tops[2], width, arc_height), curves, takeoff, across, up)
        _tell_holds(figure, curves, takeoff, left, tops[2] + arc_height + FOOT_PX - 4)
        _draw_envelopes(axes_at(figure, left, tops[3], width, envelope_height), curves, takeoff, wide, tall)
    for line, remark in enumerate(remarks):
        text_at(figure, SIDE_PX, top + LINE_PX * line, remark, color=colour(INK), size=SMALL_TEXT_PT)
    return figure


def _span(values: Sequence[np.ndarray], curves: Curves, least: int = 0) -> tuple[float, float]:
    """What an axis of a tile grid shows, in tiles: 0 to `least`, all values, and half a tile more."""
    tile = curves.tile_px * SPX
    every = np.concatenate([np.array([0, least * tile]), *values]) / tile
    return float(every.min()) - 0.5, float(every.max()) + 0.5


def _to_scale(
    width: float, across: tuple[float, float], up: tuple[float, float]
) -> tuple[float, tuple[float, float], tuple[float, float]]:
    """The height of a panel, and its spans widened so that a tile is as high as it is wide."""
    px_a_tile = width / (across[1] - across[0])
    height = min(max(px_a_tile * (up[1] - up[0]), LEAST_HEIGHT_PX), MOST_HEIGHT_PX)
    px_a_tile = min(px_a_tile, height / (up[1] - up[0]))
    return height, (across[0], across[0] + width / px_a_tile), (up[0], up[0] + height / px_a_tile)


def _name(own: Curves, curves: Sequence[Curves]) -> str:
    name = own.movement.name
    if sum(each.movement.name == name for each in curves) > 1:
        name += f" ({Path(own.movement.origin).name})"
    return name if len(name) <= NAME_LENGTH else name[: NAME_LENGTH - 1] + "\N{HORIZONTAL ELLIPSIS}"


def _style(index: int) -> dict[str, Any]:
    look = LOOKS[index]
    style: dict[str, Any] = {"color": colour(look.colour), "linewidth": 1.6}
    if look.dashes:
        style["dashes"] = look.dashes
    return style


def _steer_key() -> str:
    glyphs = ("\N{BLACK RIGHT-POINTING TRIANGLE}", "\N{BLACK CIRCLE}", "\N{BLACK LEFT-POINTING TRIANGLE}")
    words = ("forward held", "no direction", "back held")
    return ",  ".join(f"{glyph} {word}" for glyph, word in zip(glyphs, words, strict=True))


def _title(figure: Figure, top: float, title: str, more: str) -> None:
    end = text_at(figure, SIDE_PX, top - HEAD_PX + 8, title, weight="bold", size=TITLE_PT)
    text_at(figure, end + 14, top - HEAD_PX + 9, more, color=colour(QUIET_INK))


def _head_panel(axes: Axes, takeoff: Takeoff) -> None:
    axes.annotate(
        TAKEOFF_WORDS[takeoff],
        (0, 1),
        (0, 38),
        xycoords="axes fraction",
        textcoords="offset pixels",
        weight="bold",
        size=SMALL_TEXT_PT,
    )


def _draw_head(figure: Figure, curves: Sequence[Curves]) -> None:
    from matplotlib.lines import Line2D

    width, height = figure.get_size_inches() * figure.dpi
    for index, own in enumerate(curves):
        y = 24 + LINE_PX * index
        line = Line2D([SIDE_PX / width, (SIDE_PX + 44) / width], [1 - (y + 6) / height] * 2, **_style(index))
        figure.add_artist(line)
        motion = own.movement.motion
        size = f"a body of {motion.body_w / SPX:g} x {motion.body_h / SPX:g} px"
        more = f"{size}, {own.movement.tick_rate_hz} ticks a second; tiles of {own.tile_px} px"
        name = _name(own, curves)
        end = text_at(figure, SIDE_PX + 54, y - 1, name, weight="bold", size=TITLE_PT)
        text_at(figure, end + 14, y, more, color=colour(QUIET_INK))


def _same_rate(curves: Sequence[Curves]) -> bool:
    return len({own.movement.tick_rate_hz for own in curves}) == 1


def _time_axes(axes: Axes, curves: Sequence[Curves], label_below: bool = True) -> None:
    """Milliseconds below; ticks above, where all profiles have ticks of the same length."""
    if label_below:
        axes.set_xlabel("ms", loc="right", labelpad=1)
    if _same_rate(curves):
        ms = 1000 / curves[0].movement.tick_rate_hz
        above = second_axis(axes, "top", 1 / ms)
        above.set_xlabel("ticks", loc="right", labelpad=3)
    axes.spines["top"].set_visible(not _same_rate(curves))


def _speed_axes(axes: Axes, curves: Sequence[Curves]) -> None:
    """Px a second on the left, tiles a second on the right."""
    tile = curves[0].tile_px
    axes.set_ylabel("px/s", loc="top")
    right = second_axis(axes, "right", 1 / tile)
    right.set_ylabel("tiles/s", loc="top")
    axes.axhline(0, color=colour(RULER), linewidth=1, zorder=1)
    axes.grid(True, zorder=0)
    axes.set_axisbelow(True)


def _buttons(curves: Curves) -> list[str]:
    """The buttons that the speed curve uses, from the top bar to the lowest."""
    held = {
        name: any(condition(phase.buttons) for phase in curves.phases)
        for name, condition in (
            ("right", lambda buttons: buttons.direction > 0),
            ("left", lambda buttons: buttons.direction < 0),
            ("run", lambda buttons: buttons.run),
        )
    }
    return [name for name, used in held.items() if used]


def _draw_speed(figure: Figure, curves: Sequence[Curves], top: float, buttons: list[str]) -> None:
    width = PAGE_WIDTH_PX - 2 * SIDE_PX
    axes = axes_at(figure, SIDE_PX, top, width, SPEED_HEIGHT_PX)
    end_ms = float(curves[0].phases[-1].end_s * 1000)
    for index, own in enumerate(curves):
        rate = own.movement.tick_rate_hz
        speed = own.speed.vx_spx * rate / SPX
        axes.plot(np.arange(len(speed)) * 1000 / rate, speed, zorder=3 + index, **_style(index))
    low, high = axes.get_ylim()
    axes.set_ylim(low, high + (high - low) * 0.24)
    axes.set_xlim(0, end_ms)
    _speed_axes(axes, curves)
    _time_axes(axes, curves, label_below=False)
    axes.tick_params(axis="x", bottom=False, labelbottom=False)
    for number, phase in enumerate(curves[0].phases):
        begin, end = float(phase.begin_s * 1000), float(phase.end_s * 1000)
        if number:
            axes.axvline(begin, color=colour(QUIET_INK), linewidth=0.8, zorder=2)
        words = f"{phase.name}\n{_ticks_told(curves, number)}"
        if (end - begin) / end_ms * width > 7.2 * max(map(len, words.split("\n"))):
            axes.text(
                (begin + end) / 2,
                0.97,
                words,
                transform=axes.get_xaxis_transform(),
                ha="center",
                va="top",
                size=SMALL_TEXT_PT,
                linespacing=1.35,
                zorder=5,
                bbox={"facecolor": colour(PAGE), "linewidth": 0, "pad": 1},
            )

    bars = axes_at(figure, SIDE_PX, top + SPEED_HEIGHT_PX, width, BAR_HEIGHT_PX * len(buttons))
    for row, name in enumerate(buttons):
        for phase in curves[0].phases:
            down = {"right": phase.buttons.direction > 0, "left": phase.buttons.direction < 0, "run": phase.buttons.run}
            if down[name]:
                begin, end = float(phase.begin_s * 1000), float(phase.end_s * 1000)
                bars.barh(-row, end - begin, left=begin, height=0.62, color=colour(QUIET_INK), zorder=3)
    bars.set_xlim(0, end_ms)
    bars.set_ylim(0.5 - len(buttons), 0.5)
    bars.set_yticks([-row for row in range(len(buttons))], buttons)
    bars.tick_params(axis="y", length=0)
    for phase in curves[0].phases[1:]:
        bars.axvline(float(phase.begin_s * 1000), color=colour(QUIET_INK), linewidth=0.8, zorder=2)
    bars.set_xlabel("ms", loc="right", labelpad=1)


def _ticks_told(curves: Sequence[Curves], number: int) -> str:
    """In how many ticks the profiles come to the speed of a phase."""
    needs_run = curves[0].phases[number].name in RUN_PHASES
    told = []
    for own in curves:
        ticks = own.phase_ticks[number]
        lacks_run = needs_run and not own.movement.motion.has_run
        told.append("no run" if lacks_run else "?" if ticks is None else str(ticks))
    if told[-1] == "no run":
        return " / ".join([*told[:-2], f"{told[-2]} ticks", told[-1]])
    return f"{' / '.join(told)} ticks"


def _draw_air(axes: Axes, curves: Sequence[Curves], takeoff: Takeoff) -> None:
    from matplotlib.ticker import MaxNLocator

    for index, own in enumerate(curves):
        rate = own.movement.tick_rate_hz
        for number, flight in enumerate(each for each in own.air if each.takeoff is takeoff):
            speed = flight.vx_spx[1:] * rate / SPX
            every = max(3, len(speed) // 5)
            axes.plot(
                np.arange(1, len(speed) + 1) * 1000 / rate,
                speed,
                marker=STEER_MARKERS[flight.steer],
                markersize=6,
                markevery=(every * (number + 1) // 3 - 1, every),
                zorder=3 + index,
                **_style(index),
            )
    axes.set_xlim(left=0)
    _time_axes(axes, curves)
    _speed_axes(axes, curves)
    axes.yaxis.set_major_locator(MaxNLocator(6))
    _head_panel(axes, takeoff)


def _tile_axes(axes: Axes, curves: Curves, across: tuple[float, float], up: tuple[float, float]) -> None:
    """A grid of tiles, counted below and on the left; px above and on the right."""
    from matplotlib.ticker import MultipleLocator

    tile = curves.tile_px
    axes.set_xlim(*across)
    axes.set_ylim(*up)
    span = across[1] - across[0]
    most = 20 if span < 90 else 8
    step = next(size * 10**power for power in range(9) for size in (1, 2, 5) if span <= most * size * 10**power)
    axes.xaxis.set_major_locator(MultipleLocator(step))
    axes.yaxis.set_major_locator(MultipleLocator(step))
    axes.grid(True, zorder=0, color=colour(GRID_FIFTH))
    axes.set_axisbelow(True)
    axes.set_xlabel("tiles", loc="right", labelpad=1)
    axes.set_ylabel("tiles", loc="top")
    above = second_axis(axes, "top", tile)
    above.set_xlabel("px", loc="right", labelpad=3)
    right = second_axis(axes, "right", tile)
    right.set_ylabel("px", loc="top")
    axes.axhline(0, color=colour(QUIET_INK), linewidth=1.2, zorder=2)


def _draw_body(axes: Axes, own: Curves, index: int) -> None:
    """The body where it stood, for its size."""
    from matplotlib.patches import Rectangle

    tile = own.tile_px * SPX
    width, height = own.movement.motion.body_w / tile, own.movement.motion.body_h / tile
    style = _style(index)
    axes.add_patch(
        Rectangle(
            (-width / 2, 0),
            width,
            height,
            fill=False,
            edgecolor=colour(LOOKS[index].colour),
            linewidth=1,
            linestyle="--" if "dashes" in style else "-",
            zorder=2,
        )
    )


def _draw_arcs(
    axes: Axes, curves: Sequence[Curves], takeoff: Takeoff, across: tuple[float, float], up: tuple[float, float]
) -> None:
    _tile_axes(axes, curves[0], across, up)
    tile = curves[0].tile_px * SPX
    for index, own in enumerate(curves):
        flights = [each for each in own.arcs if each.takeoff is takeoff]
        if flights:
            _draw_body(axes, own, index)
        for flight, marker in zip(flights, MARKERS[len(MARKERS) - len(flights) :], strict=True):
            x, y = flight.x_spx / tile, flight.height_spx / tile
            axes.plot(x, y, zorder=3 + index, **_style(index))
            axes.plot(x, y, ".", markersize=2.6, color=colour(BLACK), zorder=5)
            apex = int(np.argmax(y))
            axes.plot(x[[apex]], y[[apex]], marker, markersize=7, color=colour(LOOKS[index].colour), zorder=6)
    _head_panel(axes, takeoff)


def _tell_holds(figure: Figure, curves: Sequence[Curves], takeoff: Takeoff, left: float, top: float) -> None:
    """Under the arcs: which mark stands at the apex of a jump held for so many ticks."""
    for index, own in enumerate(curves):
        flights = [each for each in own.arcs if each.takeoff is takeoff]
        if not flights:
            continue
        glyphs = GLYPHS[len(GLYPHS) - len(flights) :]
        told = [f"{glyph} {flight.held_ticks}" for glyph, flight in zip(glyphs, flights[:-1], strict=False)]
        told.append(f"{glyphs[-1]} to the landing")
        who = f"{_name(own, curves)}, " if len(curves) > 1 else ""
        text_at(figure, left, top + LINE_PX * index, f"{who}ticks held:  " + "   ".join(told), size=SMALL_TEXT_PT)


def _draw_envelopes(
    axes: Axes, curves: Sequence[Curves], takeoff: Takeoff, across: tuple[float, float], up: tuple[float, float]
) -> None:
    _tile_axes(axes, curves[0], across, up)
    for index, own in enumerate(curves):
        for envelope in own.envelopes:
            if envelope.takeoff is takeoff:
                _draw_body(axes, own, index)
                _draw_envelope(axes, envelope, own, index)
    _head_panel(axes, takeoff)


def _draw_envelope(axes: Axes, envelope: Envelope, own: Curves, index: int) -> None:
    """The area of all rows, each as wide as those around it that a tick can step over, so that none is left out."""
    motion, height = own.movement.motion, envelope.height_px
    stepped = -(-max(motion.terminal, int(motion.jump_launch.max())) // SPX)
    rows = np.arange(height[0], height[-1] - 1, -1)
    near = np.abs(rows[:, None] - height[None, :]) <= (stepped + 1) // 2
    left = np.where(near, envelope.left_spx, np.iinfo(np.int64).max).min(axis=1)
    right = np.where(near, envelope.right_spx, np.iinfo(np.int64).min).max(axis=1)
    edge = np.repeat(rows, 2) + np.tile([1, 0], len(rows))
    x = np.concatenate([np.repeat(left, 2), np.repeat(right, 2)[::-1], left[:1]]) / (SPX * own.tile_px)
    y = np.concatenate([edge, edge[::-1], edge[:1]]) / own.tile_px
    axes.fill(x, y, color=colour(LOOKS[index].fill), alpha=0.18, linewidth=0, zorder=2)
    axes.plot(x, y, zorder=3 + index, **_style(index))
