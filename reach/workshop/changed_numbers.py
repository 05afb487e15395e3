"""A profile with one of its numbers changed: what a recording may be explained by."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np

from reach.kernels.params import Motion
from reach.movement import SPX_PER_PX

if TYPE_CHECKING:
    from reach.movement import Movement

MOST_TICKS = 12
"""Coyote time, jump buffer and run memory are tried up to so many ticks, and up to twice the profile's own."""
LEAST_FACTOR, MOST_FACTOR = 0.5, 2.0
_STEPS = 57

_SPEEDS = ("walk_cap", "run_cap", "jump_launch", "terminal", "air_cap")
_THRESHOLDS = ("jump_from", "air_accel_from", "air_reverse_from_speed", "air_reverse_from_takeoff", "air_cap_from")
_RATES = (
    "walk_accel",
    "run_accel",
    "coast",
    "reverse",
    "jump_gravity_held",
    "jump_gravity",
    "air_accel",
    "air_reverse",
    "drag",
)

_FACTORS: tuple[tuple[str, str, tuple[str, ...]], ...] = (
    ("gravity", "gravity is {}", ("jump_gravity_held", "jump_gravity")),
    ("gravity-held", "gravity with the button down is {}", ("jump_gravity_held",)),
    ("gravity-released", "gravity with the button up is {}", ("jump_gravity",)),
    ("launch-speed", "the launch speed is {}", ("jump_launch",)),
    ("walk-acceleration", "the walk's acceleration is {}", ("walk_accel",)),
    ("walk-top-speed", "the walk's top speed is {}", ("walk_cap",)),
    ("run-acceleration", "the run's acceleration is {}", ("run_accel",)),
    ("run-top-speed", "the run's top speed is {}", ("run_cap",)),
    ("coasting", "the coasting deceleration is {}", ("coast",)),
    ("reversing", "the reversing deceleration is {}", ("reverse",)),
    ("terminal-speed", "the terminal speed is {}", ("terminal",)),
    ("air-acceleration", "the acceleration in the air is {}", ("air_accel",)),
    ("air-reversing", "the reversing deceleration in the air is {}", ("air_reverse",)),
    ("air-top-speed", "the top speed in the air is {}", ("air_cap",)),
    ("drag", "the fading of speed in the air (drag) is {}", ("drag",)),
    ("cut-speed", "the speed that a release cuts to is {}", ("cut_speed",)),
    ("lengths", "all lengths are {}", (*_SPEEDS, *_THRESHOLDS, *_RATES, "cut_speed")),
)

NOUNS = {fields[0]: sentence.removesuffix(" is {}") for _, sentence, fields in _FACTORS if len(fields) == 1}
"""What fields are called."""
JOINT = frozenset(name for name, _, fields in _FACTORS if len(fields) > 1)
"""The quantities that change several fields by one factor."""


@dataclass(frozen=True, eq=False)
class Quantity:
    """One thing of a profile that a number changes: a factor of some of its fields, or a value that it lacks.

    `fields` are multiplied by the factor, or set to the value where `is_value`, which is in spx per tick (per tick).
    """

    id: str
    sentence: str
    movement: Movement
    fields: tuple[str, ...]
    is_value: bool = False
    most: float = MOST_FACTOR

    @property
    def motion(self) -> Motion:
        """The profile's own numbers."""
        return self.movement.motion

    @property
    def finest(self) -> float:
        """Differences of the factor or value that are not worth looking at."""
        return 0.5 if self.is_value else 2e-7

    def grid(self) -> np.ndarray:
        """The values to try first."""
        if self.is_value:
            return np.linspace(0.0, self.most, _STEPS)
        return np.geomspace(LEAST_FACTOR, self.most, _STEPS)

    def changed(self, at: float) -> Motion:
        """The profile's numbers with this factor or value."""
        values: dict[str, Any] = {}
        for name in self.fields:
            old = getattr(self.motion, name)
            new = np.rint(np.asarray(old, np.float64) * (0 if self.is_value else at) + (at if self.is_value else 0))
            keep = 1 if name in _SPEEDS or name in _RATES else 0
            least = np.where(np.asarray(old) > 0, keep, np.minimum(old, 0)) if not self.is_value else 0
            fitted = np.maximum(new, least).astype(np.int64)
            values[name] = fitted if isinstance(old, np.ndarray) else int(fitted)
        return self.motion._replace(**values)

    def neighbours(self, at: float, steps: int) -> list[float]:
        """A factor or value, and those up to so many subpixels of the greatest number away from it."""
        step = 1.0 if self.is_value else 1 / max(1, *(int(np.max(getattr(self.motion, name))) for name in self.fields))
        whole = at if self.is_value else round(at / step) * step
        return [at, *(max(0.0, whole + step * each) for each in range(-steps, steps + 1))]

    def nudged(self, changed: Motion) -> Iterator[Motion]:
        """Numbers that differ from those of a factor by one subpixel in one place, as rounding each of them may."""
        for name in self.fields:
            own = np.asarray(getattr(changed, name), np.int64)
            for place in range(own.size):
                for step in (-1, 1):
                    values = own.copy()
                    values.flat[place] = max(0, int(values.flat[place]) + step)
                    yield _with(changed, **{name: values if own.ndim else int(values)})

    def reset(self, changed: Motion, name: str, share: float = 1.0) -> Motion:
        """Changed numbers with this share of one field's change taken back, the whole of it unless told."""
        old, new = (np.asarray(getattr(motion, name), np.float64) for motion in (self.motion, changed))
        values = np.rint(new + (old - new) * share).astype(np.int64)
        return _with(changed, **{name: values if values.ndim else int(values)})

    def steps(self, changed: Motion, name: str) -> int:
        """By how many subpixels a field has changed, at most."""
        return int(np.max(np.abs(np.asarray(getattr(changed, name)) - np.asarray(getattr(self.motion, name)))))

    def said_of(self, at: float, shown: Sequence[str], is_one_factor: bool) -> str:
        """The change of several fields as a sentence.

        Parameters
        ----------
        at : float
        shown : sequence of str
            The fields whose change matters.
        is_one_factor : bool
            Whether it is known that one factor changed them.
        """
        nouns = [NOUNS[name] for name in shown if name in NOUNS]
        listed = " and ".join(filter(None, (", ".join(nouns[:-1]), nouns[-1] if nouns else "")))
        if is_one_factor:
            return self.said(at) + (f" (shown by {listed})" if nouns and len(nouns) < len(self.fields) else "")
        told = _percent(at)
        return f"{listed} are each about {told}, which does not show whether one factor changed them"

    def said(self, at: float) -> str:
        """The change as a sentence."""
        if self.is_value:
            return self.sentence.format(_in_units(at, self.fields[0], self.movement))
        words = _percent(at)
        old, new = getattr(self.motion, self.fields[0]), getattr(self.changed(at), self.fields[0])
        if len(self.fields) == 1 and np.size(old) == 1:
            name = self.fields[0]
            told = [_in_units(float(np.ravel(value)[0]), name, self.movement) for value in (new, old)]
            words += f" ({told[0]} instead of {told[1]})"
        return self.sentence.format(words)


def quantities(movement: Movement) -> Iterator[Quantity]:
    """Everything that a profile has and that may be another number, and what it lacks."""
    motion = movement.motion
    for name, sentence, fields in _FACTORS:
        if name.startswith("run-") and not motion.has_run:
            continue
        if (name == "drag" and motion.drag == 0) or (name == "cut-speed" and motion.cut_speed < 0):
            continue
        kept = tuple(field for field in fields if field != "cut_speed" or motion.cut_speed >= 0)
        yield Quantity(name, sentence, movement, kept)
    if motion.drag == 0:
        most = float(motion.air_accel.max())
        yield Quantity("drag", "speed fades in the air (drag), by {}", movement, ("drag",), True, most)
    if motion.cut_speed < 0:
        most = float(motion.jump_launch.max())
        sentence = "releasing jump cuts the upward speed, to at most {}"
        yield Quantity("cut-speed", sentence, movement, ("cut_speed",), True, most)


def counts(motion: Motion) -> Iterator[tuple[str, str, Motion]]:
    """(id, sentence, numbers) of profiles in which something that is counted or is so or not so is otherwise."""
    if motion.launch_tick_gravity:
        yield (
            "launch-tick-gravity",
            "gravity does not act in the tick of the takeoff",
            _with(motion, launch_tick_gravity=0),
        )
    else:
        yield "launch-tick-gravity", "gravity acts in the tick of the takeoff too", _with(motion, launch_tick_gravity=1)
    names = [("coyote_ticks", "coyote time"), ("buffer_ticks", "the jump buffer")]
    if motion.has_run:
        names.append(("run_memory", "the run's memory"))
    for name, words in names:
        own = getattr(motion, name)
        for ticks in range(max(MOST_TICKS, 2 * own) + 1):
            if ticks != own:
                label = f"{name.removesuffix('_ticks').replace('_', '-')}-{ticks}"
                yield label, f"{words} is {ticks} ticks, not {own}", _with(motion, **{name: ticks})
    if motion.cut_speed >= 0:
        yield "no-cut", "releasing jump does not cut the upward speed", _with(motion, cut_speed=-1)
    if len(motion.jump_from) > 1:
        first = {
            name: getattr(motion, name)[:1]
            for name in ("jump_from", "jump_launch", "jump_gravity_held", "jump_gravity")
        }
        yield (
            "one-jump-band",
            "a jump is the same at every takeoff speed (that of the first band)",
            motion._replace(**first),
        )


def _percent(factor: float) -> str:
    return f"{abs(factor - 1) * 100:.3g} % {'higher' if factor > 1 else 'lower'}"


def _with(motion: Motion, **values: Any) -> Motion:
    return motion._replace(**values)


def _in_units(spx: float, field: str, movement: Movement) -> str:
    """A speed or a rate in the units of the profile's file."""
    rate = movement.tick_rate_hz
    if movement.declared["units"] == "per_tick":
        return f"{spx / SPX_PER_PX:.6g} px/tick{'^2' if field in _RATES else ''}"
    if field in _RATES:
        return f"{spx * rate**2 / SPX_PER_PX:.6g} px/s^2"
    return f"{spx * rate / SPX_PER_PX:.6g} px/s"
