"""The profile to write: what was determined, and from a profile to start from what was not."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Any

from reach.errors import InputError, Problem
from reach.movement import movement_from_dict
from reach.workshop.fit.outcome import Estimate, Found, Quantity
from reach.workshop.fit.written_profile import AIR_LISTS, JUMP_KEYS, profile_data, required_paths

if TYPE_CHECKING:
    from reach.movement import Movement
    from reach.workshop.fit.fitting import Fit

OPTIONAL = (
    "ground.run.memory_ticks",
    "jump.on_release.cut_speed",
    "jump.launch_tick_gravity",
    "air.drag",
    "help.coyote_ticks",
    "help.buffer_ticks",
    "help.drop_through",
)
_TICKS = ("ground.run.memory_ticks", "help.coyote_ticks", "help.buffer_ticks")


@dataclass(frozen=True)
class Completed:
    """A movement file's content, and the paths of what was taken from the profile to start from.

    `least` are the paths of counts of ticks that are only bounded, written as the least that is possible.
    """

    data: Mapping[str, Any]
    from_start: tuple[str, ...]
    least: tuple[str, ...]


def complete(fit: Fit, start: Movement | None, body: Mapping[str, Any] | None) -> Completed:
    """Return the movement file that a fit makes.

    Parameters
    ----------
    fit : Fit
    start : Movement, optional
        Gives what the recording does not tell.
    body : mapping, optional
        `width_px` and `height_px`; the start's unless given.

    Raises
    ------
    InputError
        If a required value is neither determined nor in a start; it names each.
    """
    found = Found(dict(fit.found.estimates), dict(fit.found.counts), seen=dict(fit.found.seen))
    taken: list[str] = []
    if start is not None:
        taken = _fill_in(found, start)
        if body is None:
            body = start.declared["body"]
            taken.append("body")
    problems = [
        Problem(fit.recording.origin, path, "no ticks that determine it", "a take that does, or --start")
        for path in required_paths(found)
        if path not in found.estimates
    ]
    if body is None:
        problems.append(Problem(fit.recording.origin, "body", "no size of the body", "--body-px, or --start"))
    if problems or body is None:
        raise InputError(problems)
    name = "fitted" if start is None else f"{start.name}, fitted"
    data = profile_data(found, name[:200], fit.tick_rate_hz, body, _nothing)
    movement_from_dict(data)
    least = [path for path in _TICKS if path in found.estimates and not found.estimates[path].exact]
    return Completed(data, tuple(taken), tuple(least))


def _nothing(path: str) -> Any:
    raise KeyError(path)


def _fill_in(found: Found, start: Movement) -> list[str]:
    """Add the start's values where none was determined; returns their paths."""
    own = start_estimates(start)
    taken = []
    counts = {path: _count(own, path) for path in ("jump.bands", *AIR_LISTS)}
    if not found.counts.get("ground.run") and "ground.run.top_speed" in own:
        found.counts["ground.run"] = 1
    for path, count in counts.items():
        keys = JUMP_KEYS if path == "jump.bands" else ("value",)
        if not any(each.startswith(f"{path}[") for each in found.estimates):
            found.counts[path] = count
            chosen = [each for each in own if each.startswith(f"{path}[")]
            taken += [each for each in chosen if not each.endswith("[0].from_speed")]
            found.estimates.update({each: own[each] for each in chosen})
            continue
        thresholds = ("from_takeoff_speed",) if path == "jump.bands" else AIR_LISTS[path]
        for index in range(found.counts.get(path, 0), count):
            # The start's bands beyond every speed that was recorded stay as they are.
            if all(own[f"{path}[{index}].{key}"].low <= found.seen.get(path, 0.0) for key in thresholds):
                break
            found.counts[path] = index + 1
            for key in (*thresholds, *keys):
                found.estimates[f"{path}[{index}].{key}"] = own[f"{path}[{index}].{key}"]
                taken.append(f"{path}[{index}].{key}")
        for index in range(found.counts.get(path, 0)):
            for key in (*thresholds, *keys):
                name = f"{path}[{index}].{key}"
                same = f"{path}[{min(index, count - 1)}].{key}"
                if (index or key in keys) and name not in found.estimates and same in own:
                    found.estimates[name] = replace(own[same], path=name)
                    taken.append(name)
                elif key in thresholds and name in found.estimates and same in own:
                    # Of the thresholds that the recording allows, the start's own.
                    seen = found.estimates[name]
                    if seen.low <= own[same].low <= seen.high:
                        found.estimates[name] = replace(own[same], path=name)
    for path in (*required_paths(found), *OPTIONAL):
        seen_here = found.estimates.get(path)
        if path == "jump.on_release.cut_speed" and _ruled_out(found, own.get(path)):
            continue
        if path in own and seen_here is None:
            found.estimates[path] = own[path]
            taken.append(path)
        elif path in own and seen_here is not None and path in _TICKS and not seen_here.exact:
            if seen_here.low <= own[path].low <= seen_here.high:
                found.estimates[path] = own[path]
                taken.append(path)
    return sorted(set(taken))


def _ruled_out(found: Found, cut: Estimate | None) -> bool:
    """Whether a release that gravity alone ruled was faster than a cut speed: a slower one looks the same with it."""
    seen = found.seen.get("jump.on_release", float("inf"))
    return "jump.on_release" in found.estimates and (cut is None or seen > cut.low)


def _count(own: Mapping[str, Estimate], path: str) -> int:
    keys = "launch_speed" if path == "jump.bands" else "value"
    index = 0
    while f"{path}[{index}].{keys}" in own:
        index += 1
    return index


def start_estimates(start: Movement) -> dict[str, Estimate]:
    """The compiled values of a profile, as estimates by path; without what it leaves out."""
    motion = start.motion
    made: dict[str, Estimate] = {}

    def add(path: str, quantity: Quantity, value: int) -> None:
        made[path] = Estimate(path, quantity, float(value), float(value), ())

    gaits = [("walk", motion.walk_accel, motion.walk_cap)]
    if motion.has_run:
        gaits.append(("run", motion.run_accel, motion.run_cap))
        add("ground.run.memory_ticks", Quantity.TICKS, motion.run_memory)
    for name, acceleration, top in gaits:
        add(f"ground.{name}.acceleration", Quantity.RATE, acceleration)
        add(f"ground.{name}.top_speed", Quantity.SPEED, top)
    add("ground.coast_deceleration", Quantity.RATE, motion.coast)
    add("ground.reverse_deceleration", Quantity.RATE, motion.reverse)
    add("fall.terminal_speed", Quantity.SPEED, motion.terminal)
    add("air.drag", Quantity.RATE, motion.drag)
    add("help.coyote_ticks", Quantity.TICKS, motion.coyote_ticks)
    add("help.buffer_ticks", Quantity.TICKS, motion.buffer_ticks)
    add("help.drop_through", Quantity.CHOICE, motion.drop_through)
    add("jump.launch_tick_gravity", Quantity.CHOICE, motion.launch_tick_gravity)
    if motion.cut_speed >= 0:
        add("jump.on_release.cut_speed", Quantity.SPEED, motion.cut_speed)
    lists: tuple[tuple[str, dict[str, Any], Mapping[str, Quantity]], ...] = (
        (
            "jump.bands",
            {
                "from_takeoff_speed": motion.jump_from,
                "launch_speed": motion.jump_launch,
                "gravity_held": motion.jump_gravity_held,
                "gravity": motion.jump_gravity,
            },
            {"gravity_held": Quantity.RATE, "gravity": Quantity.RATE},
        ),
        (
            "air.acceleration",
            {"from_speed": motion.air_accel_from, "value": motion.air_accel},
            {"value": Quantity.RATE},
        ),
        (
            "air.reverse_deceleration",
            {
                "from_speed": motion.air_reverse_from_speed,
                "from_takeoff_speed": motion.air_reverse_from_takeoff,
                "value": motion.air_reverse,
            },
            {"value": Quantity.RATE},
        ),
        ("air.top_speed", {"from_takeoff_speed": motion.air_cap_from, "value": motion.air_cap}, {}),
    )
    for path, columns, quantities in lists:
        for key, values in columns.items():
            for index, value in enumerate(values.tolist()):
                add(f"{path}[{index}].{key}", quantities.get(key, Quantity.SPEED), value)
    return made
