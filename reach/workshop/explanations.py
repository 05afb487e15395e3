"""Which single rule or number, were it another, would make a profile follow a recording it does not follow.

Every candidate replays the recording with one thing changed. It is judged by how many ticks it follows until it first
differs, and by how far it is off on the whole, with the same allowance as the profile itself. An explanation is called
clear only if it follows the recording to its end, or most of what was not followed and far more closely; else the
answer is that none of those tried explains it. Nothing explains a difference that leaves the replay up to it unchanged.
In an exact recording a fitted number explains only what it follows to the last subpixel.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace
from functools import partial
from typing import TYPE_CHECKING

import numpy as np

from reach.workshop.changed_numbers import JOINT, Quantity, counts, quantities
from reach.workshop.parity import (
    SPX_PER_PX,
    Comparison,
    Course,
    Play,
    agreed_ticks,
    allowance_spx,
    reference_path,
    residuals_spx,
)
from reach.workshop.variants import SHARE, Ground, Player, Variant

if TYPE_CHECKING:
    from reach.kernels.params import Motion

JUDGED_TICKS = 20_000
"""Explanations are judged on so many ticks of a recording, those around the differences first."""
AFTER_TICKS = 1_800
"""Of a take, on so many after its first difference."""
FIT_AFTER_TICKS = 240
"""Numbers are fitted on the ticks up to so many after a take's first difference."""
LEAST_AFTER_TICKS = 3
"""With fewer ticks from the first difference on, nothing can be told apart."""
CLOSE_SHARE = 0.25
"""An explanation that does not follow to the end must be closer than this part of the distance without it."""
NEAR_SHARE, NEAR_STEPS = 0.03, 31
"""Around a fitted value, up to this part of it away, so many others are looked at again."""
FIRST_AFTER_TICKS = 12
"""In an exact recording, numbers are also fitted on so few ticks after a take's first difference: what differs later
may have another cause."""
NEIGHBOUR_STEPS = 8
"""In an exact recording, so many whole subpixels to both sides of a fitted value are tried."""
JOINT_STEPS = 16
"""A factor is known from a number that it changes by at least so many subpixels."""
BACK_SHARE = 1 / 8
"""A factor is known from a number with which the recording is no longer followed once so much of its change is taken
back."""
LEADS_ON_TICKS = 10
"""A fitted value that follows for so many more ticks than the profile as it is is looked at more closely."""
AS_CLOSE = 1.05
"""Explanations that follow as long and are off by no more than this many times the best one's are as good as it."""
FAR_SPX = 8 * SPX_PER_PX
"""What is off by more counts as off by this in a fit: one missed landing must not outweigh everything else."""
_FINE = 9


@dataclass(frozen=True)
class Explanation:
    """One thing changed, and what it does. `ticks` are followed of the `of_ticks` that were judged.

    `off_px` is the root of the mean square distance over them. `said` tells the change as a sentence. `is_fitted` tells
    that a number in it was chosen to suit the recording.
    """

    id: str
    said: str
    is_fitted: bool
    ticks: int
    off_px: float


@dataclass(frozen=True)
class Explained:
    """What was found out about a recording that differs.

    `unchanged` is the profile as it is. `ranked` are all candidates, the best first. `clear` are those of them that
    explain the recording; more than one only where they do so as well as each other. `too_short` tells that there are
    not enough ticks after the first difference to tell anything.
    """

    unchanged: Explanation
    ranked: tuple[Explanation, ...]
    clear: tuple[Explanation, ...]
    of_ticks: int
    too_short: bool


@dataclass(frozen=True)
class _Rule:
    """A candidate without a number: a sentence, and the variant."""

    id: str
    said: str
    variant: Variant


_EIGHTHS = (
    (SPX_PER_PX, "whole px"),
    (SPX_PER_PX // 16, "sixteenths of a px"),
    (SPX_PER_PX // 256, "256ths of a px"),
)

RULES: tuple[_Rule, ...] = (
    _Rule("move-first", "the body moves before its speeds change (the other order)", Variant(move_first=True)),
    _Rule("mean-speed", "the body moves by the mean of the old and the new speed", Variant(mean_speed=True)),
    _Rule("input-delay-1", "buttons act one tick later", Variant(input_delay_ticks=1)),
    _Rule("input-delay-2", "buttons act two ticks later", Variant(input_delay_ticks=2)),
    _Rule(
        "reverse-through-zero",
        "reversing does not stop at speed 0 but goes on the other way in the same tick",
        Variant(reverse_through_zero=True),
    ),
    _Rule("excess-cut", "a speed above the top speed is cut to it at once", Variant(excess_cut=True)),
    _Rule("ground-rules-in-air", "the ground's rules for speed hold in the air too", Variant(ground_rules_in_air=True)),
    _Rule("air-coasts", "with no direction pressed, speed fades in the air as on the ground", Variant(air_coasts=True)),
    _Rule(
        "held-after-apex", "gravity is not raised at the apex while the button is down", Variant(held_after_apex=True)
    ),
    _Rule("held-anew", "pressing jump again in a rise lowers gravity again", Variant(held_anew=True)),
    _Rule("release-stops", "releasing jump stops the rise at once", Variant(release_share=0)),
    _Rule("release-halves", "releasing jump halves the upward speed", Variant(release_share=SHARE // 2)),
    _Rule(
        "terminal-before-gravity",
        "the terminal speed bounds the speed before gravity is added, not after",
        Variant(terminal_before_gravity=True),
    ),
    _Rule(
        "bands-by-current-speed",
        "gravity and air control go by the current speed, not by that of the takeoff",
        Variant(bands_by_current_speed=True),
    ),
    _Rule("landing-stops", "a landing takes the horizontal speed away", Variant(landing_stops=True)),
    _Rule("lands-on-touch", "feet that come exactly to a top have landed", Variant(lands_on_touch=True)),
    *(
        _Rule(f"{what}-{way}-{number}", f"{what} are {words} to {name} after every tick", variant)
        for number, (grid, name) in enumerate(_EIGHTHS, 1)
        for what, way, words, variant in (
            ("positions", "rounded", "rounded", Variant(position_grid=grid)),
            ("positions", "cut", "rounded down", Variant(position_grid=grid, rounds_down=True)),
            ("speeds", "rounded", "rounded", Variant(speed_grid=grid)),
            ("speeds", "cut", "rounded down", Variant(speed_grid=grid, rounds_down=True)),
        )
    ),
)


def explain_difference(comparison: Comparison, tell: Callable[[str, float | None], None] | None = None) -> Explained:
    """Try every candidate on a recording that differs from its profile.

    Parameters
    ----------
    comparison : Comparison
        With at least one difference.
    tell : callable, optional
        Told what is being done and which part of it is done.
    """
    judge = _Judge(comparison)
    unchanged = judge.unchanged
    ranked: list[Explanation] = []
    candidates = list(_candidates(comparison, judge))
    for done, candidate in enumerate(candidates):
        if tell is not None:
            tell("comparing rules", done / len(candidates))
        found = candidate()
        if found is not None:
            ranked.append(found)
    ranked.sort(key=lambda each: (-each.ticks, each.off_px, each.is_fitted, each.id))
    too_short = judge.of_ticks - unchanged.ticks < LEAST_AFTER_TICKS
    # a number that is fitted to exact positions and yet misses some of them is not the one
    able = [each for each in ranked if each.ticks == judge.of_ticks or not (each.is_fitted and judge.is_exact)]
    clear = () if too_short else _clear(unchanged, able, judge.of_ticks)
    return Explained(unchanged, tuple(ranked), clear, judge.of_ticks, too_short)


def _clear(unchanged: Explanation, ranked: Sequence[Explanation], of_ticks: int) -> tuple[Explanation, ...]:
    """The best candidate, if it explains the recording, and all that do so as well; those without a fit come first."""
    if not ranked:
        return ()
    best = ranked[0]
    follows_all = best.ticks == of_ticks
    gained = best.ticks - unchanged.ticks
    much = gained * 2 >= of_ticks - unchanged.ticks and best.off_px <= CLOSE_SHARE * unchanged.off_px
    if not follows_all and not (gained >= 10 and much):
        return ()
    as_good = [each for each in ranked if each.ticks == best.ticks and each.off_px <= best.off_px * AS_CLOSE]
    return tuple(sorted(as_good, key=lambda each: (each.is_fitted, each.id in JOINT)))


class _Judge:
    """The ticks that candidates are judged on, and how."""

    def __init__(self, comparison: Comparison) -> None:
        self.allowance = allowance_spx(comparison.recording, comparison.tolerance_px)
        self.is_exact = not any(self.allowance)
        self.terrain = comparison.terrain
        self.ground = Ground(comparison.terrain)
        pairs = sorted(zip(comparison.differences, comparison.courses, strict=True), key=lambda pair: pair[0] is None)
        self.courses: list[Course] = []
        self.fit_courses: list[Course] = []
        self.first_courses: list[Course] = []
        self.before: list[tuple[Course, np.ndarray]] = []
        own = self.reference(comparison.movement.motion)
        left = JUDGED_TICKS
        for difference, course in pairs:
            agreed = difference.after_ticks if difference is not None else 0
            ticks = min(course.ticks, agreed + AFTER_TICKS, left)
            if ticks:
                self.courses.append(_first(course, ticks))
                self.fit_courses.append(_first(course, min(ticks, agreed + FIT_AFTER_TICKS)))
                self.first_courses.append(_first(course, min(ticks, agreed + FIRST_AFTER_TICKS)))
                if difference is not None:
                    until = _first(course, min(ticks, agreed))
                    self.before.append((until, own(until.start, until.inputs)))
            left -= ticks
        self.of_ticks = sum(course.ticks for course in self.courses)
        self.unchanged = self.judged("as it is", "the profile as it is", own, False)

    def reference(self, motion: Motion) -> Play:
        """The motion model with other numbers."""
        return reference_path(motion, self.terrain)

    def matters(self, play: Play) -> bool:
        """Whether a way of playing moves the body otherwise than the profile, up to some take's first difference."""
        return any(not np.array_equal(play(course.start, course.inputs), path) for course, path in self.before)

    def judged(self, name: str, said: str, play: Play, is_fitted: bool) -> Explanation:
        """How well a way of playing follows the recording."""
        ticks, square, rows = 0, 0.0, 0
        for course in self.courses:
            path = play(course.start, course.inputs)
            ticks += agreed_ticks(course, path, self.allowance)
            off = residuals_spx(course, path)
            square += float((off**2).sum())
            rows += len(off)
        return Explanation(name, said, is_fitted, ticks, (square / max(rows, 1)) ** 0.5 / SPX_PER_PX)

    def tried(self, name: str, said: str, play: Play) -> Explanation | None:
        """How well another rule follows the recording, None where it has no part in what differs."""
        return self.judged(name, said, play, False) if self.matters(play) else None

    def fit(
        self,
        playing: Callable[[float], Play],
        grid: np.ndarray,
        finest: float,
        neighbours: Callable[[float], list[float]],
    ) -> float:
        """The value that suits the recording best.

        Least squares over the ticks around the first differences. In an exact recording, then the one of the whole
        numbers around it that follows longest. In others, where it leads on, least squares over all ticks that are
        judged, and then, of the values about as good, the one that follows longest.
        """
        at = _least(lambda value: self.misfit(playing(value), self.fit_courses), grid, finest)
        if self.is_exact:
            first = _least(lambda value: self.misfit(playing(value), self.first_courses), grid, finest)
            return max((*neighbours(at), *neighbours(first)), key=lambda value: self.score(playing(value)))
        ticks = self.follows(playing(at))
        if at == 0 or ticks == self.of_ticks or ticks < self.unchanged.ticks + LEADS_ON_TICKS:
            return at
        near = at * np.linspace(1 - NEAR_SHARE, 1 + NEAR_SHARE, NEAR_STEPS)
        at = _least(lambda value: self.misfit(playing(value), self.courses), near, finest)
        near = at * np.linspace(1 - NEAR_SHARE, 1 + NEAR_SHARE, NEAR_STEPS)
        return max((at, *near.tolist()), key=lambda value: self.follows(playing(value)))

    def follows(self, play: Play) -> int:
        """For how many ticks a way of playing follows the recording."""
        return self.judged("", "", play, False).ticks

    def score(self, play: Play) -> tuple[int, float]:
        """Greater where a way of playing follows for longer, or for as long and more closely."""
        found = self.judged("", "", play, False)
        return found.ticks, -found.off_px

    def misfit(self, play: Play, courses: Sequence[Course]) -> float:
        """The sum of squares that a fit makes small, spx^2."""
        total = 0.0
        for course in courses:
            off = residuals_spx(course, play(course.start, course.inputs))
            total += float(np.minimum((off**2).sum(axis=1), float(FAR_SPX) ** 2).sum())
        return total


def _first(course: Course, ticks: int) -> Course:
    return replace(course, shift_spx=course.shift_spx[: ticks + 1], inputs=course.inputs[:ticks])


def _candidates(comparison: Comparison, judge: _Judge) -> Iterator[Callable[[], Explanation | None]]:
    motion = comparison.movement.motion
    for rule in RULES:
        yield partial(judge.tried, rule.id, rule.said, Player(motion, judge.ground, rule.variant).play)
    for name, said, changed in counts(motion):
        yield partial(judge.tried, name, said, judge.reference(changed))
    for quantity in quantities(comparison.movement):
        yield partial(_fitted, quantity, judge)
    yield partial(_drag, motion, judge)


def _fitted(quantity: Quantity, judge: _Judge) -> Explanation | None:
    """The value of one quantity that suits the recording best, None where the profile's own does."""

    def play(value: float) -> Play:
        return judge.reference(quantity.changed(value))

    at = judge.fit(play, quantity.grid(), quantity.finest, lambda value: quantity.neighbours(value, NEIGHBOUR_STEPS))
    changed = _settled(quantity, quantity.changed(at), judge)
    if not judge.matters(judge.reference(changed)):
        return None
    said = quantity.said(at)
    if len(quantity.fields) > 1:
        shown = [name for name in quantity.fields if _plays_otherwise(changed, quantity.reset(changed, name), judge)]
        if len(shown) == 1:
            return None  # that number alone explains as much, and is tried too
        said = quantity.said_of(at, shown, _is_one_factor(quantity, changed, shown, judge))
    return judge.judged(quantity.id, said, judge.reference(changed), True)


def _settled(quantity: Quantity, changed: Motion, judge: _Judge) -> Motion:
    """Numbers changed by a factor, each rounded such that an exact recording is followed for longest."""
    best = judge.score(judge.reference(changed))
    if not judge.is_exact or quantity.is_value:
        return changed
    settled = changed
    while best[0] < judge.of_ticks:
        nudged = [each for each in quantity.nudged(settled) if _is_near(quantity, each, changed)]
        scores = [judge.score(judge.reference(each)) for each in nudged]
        if not scores or max(scores) <= best:
            break
        best = max(scores)
        settled = nudged[scores.index(best)]
    return settled


def _is_near(quantity: Quantity, motion: Motion, changed: Motion) -> bool:
    """Whether no number is farther from what a factor makes of it than one subpixel."""
    pairs = ((getattr(motion, name), getattr(changed, name)) for name in quantity.fields)
    return all(np.all(np.abs(np.asarray(new) - np.asarray(old)) <= 1) for new, old in pairs)


def _is_one_factor(quantity: Quantity, changed: Motion, shown: Sequence[str], judge: _Judge) -> bool:
    """Whether at least two numbers tell the factor, and so that it is the same."""
    ticks = judge.follows(judge.reference(changed))
    telling = [
        name
        for name in shown
        if quantity.steps(changed, name) >= JOINT_STEPS
        and judge.follows(judge.reference(quantity.reset(changed, name, BACK_SHARE))) < ticks
    ]
    return len(telling) > 1


def _plays_otherwise(one: Motion, other: Motion, judge: _Judge) -> bool:
    """Whether two sets of numbers move the body differently in what is judged."""
    first, second = judge.reference(one), judge.reference(other)
    return any(
        not np.array_equal(first(course.start, course.inputs), second(course.start, course.inputs))
        for course in judge.courses
    )


def _drag(motion: Motion, judge: _Judge) -> Explanation | None:
    def play(share: float) -> Play:
        return Player(motion, judge.ground, Variant(drag_share=round(share * SHARE))).play

    def neighbours(share: float) -> list[float]:
        whole = round(share * SHARE)
        return [max(0, whole + step) / SHARE for step in range(-NEIGHBOUR_STEPS, NEIGHBOUR_STEPS + 1)]

    share = judge.fit(play, np.linspace(0.0, 0.2, 21), 0.5 / SHARE, neighbours)
    if round(share * SHARE) <= 0 or not judge.matters(play(share)):
        return None
    said = f"in the air, both speeds lose {100 * share:.3g} % of themselves in every tick (air drag)"
    return judge.judged("air-drag", said, play(share), True)


def _least(cost: Callable[[float], float], grid: np.ndarray, finest: float) -> float:
    """The place of the least cost: on a grid first, then on finer ones around its best place, down to `finest`."""
    costs = [cost(float(value)) for value in grid]
    best = int(np.argmin(costs))
    low, high = float(grid[max(best - 1, 0)]), float(grid[min(best + 1, len(grid) - 1)])
    at, least = float(grid[best]), costs[best]
    while high - low > finest:
        finer = np.linspace(low, high, _FINE)
        costs = [cost(float(value)) for value in finer]
        best = int(np.argmin(costs))
        if costs[best] <= least:
            at, least = float(finer[best]), costs[best]
        quarter = (high - low) / 5
        low, high = max(low, at - quarter), min(high, at + quarter)
    return at
