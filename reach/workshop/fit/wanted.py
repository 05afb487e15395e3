"""What a recording did not tell, and the takes to record for it."""

from __future__ import annotations

import re

from reach.workshop.fit.outcome import Found, Missing
from reach.workshop.fit.written_profile import required_paths
from reach.workshop.recording import Recording

_TAKES = (
    (r"ground\.walk\..*", "Stand, then hold right for 90 ticks with run up."),
    (r"ground\.coast_deceleration", "Hold right for 90 ticks, let go, and wait until the body stands."),
    (r"ground\.reverse_deceleration", "Hold right for 90 ticks, then left for 90."),
    (r"ground\.run\.memory_ticks", "Hold run and right for 120 ticks, let go of run alone, and keep right for 60."),
    (r"ground\.run\..*", "Stand, then hold run and right for 120 ticks."),
    (r"jump\.bands\[\d+\]\.gravity", "Press jump, let go of it after 5 ticks, and wait for the landing."),
    (r"jump\.bands\[\d+\]\.\w+", "Press jump and hold it until the landing."),
    (r"jump\.on_release", "Press jump and let go of it 3 ticks later, while the body still rises fast."),
    (
        r"jump\.launch_tick_gravity",
        "Press jump for 1 tick just before a landing, so that the buffered jump begins with the button up.",
    ),
    (r"fall\.terminal_speed", "Fall from so high that the falling speed stops growing."),
    (r"air\.acceleration.*", "Jump from standing, and hold right in the air."),
    (r"air\.reverse_deceleration.*", "Hold right for 90 ticks, jump, and hold left in the air."),
    (r"air\.top_speed.*", "Jump from standing off a high edge, and hold right until the speed stops growing."),
    (r"air\.drag", "Hold right for 90 ticks, jump, and let go of right in the air."),
    (
        r"help\.coyote_ticks",
        "Walk off an edge and press jump 2 ticks later; again 3, 4, 5 ... ticks later, until it no longer jumps.",
    ),
    (
        r"help\.buffer_ticks",
        "Jump, and press jump again 1 tick before the landing and keep it down; again 2, 3, 4 ... ticks before, until "
        "it no longer jumps.",
    ),
    (r"help\.drop_through", "Stand on a one-way platform and press down."),
    (r"body", "No take: a recording tells where the body is, not how large. Take it from the collision box."),
)
OPTIONAL = (
    "ground.run.memory_ticks",
    "jump.on_release",
    "jump.launch_tick_gravity",
    "air.drag",
    "help.coyote_ticks",
    "help.buffer_ticks",
    "help.drop_through",
)
_EXACT_ONLY = ("jump.launch_tick_gravity", "help.drop_through")
_WHY_CHOICE = {
    "jump.launch_tick_gravity": "only a buffered jump whose button is up again at takeoff tells; until then launch "
    "speeds are those without it",
}


def missing(found: Found, recording: Recording) -> list[Missing]:
    """What was not found, in the order of a movement file, the body last."""
    wanted = [*required_paths(found), *OPTIONAL]
    if not found.counts.get("ground.run"):
        wanted = [path for path in wanted if not path.startswith("ground.run")] + ["ground.run"]
    gone = []
    for path in wanted:
        if path in found.missing and path not in found.estimates:
            gone.append(found.missing[path])
            continue
        estimate = found.estimates.get(path)
        if path == "jump.on_release" and "jump.on_release.cut_speed" in found.estimates:
            continue
        if path == "ground.run" and path in found.estimates:
            continue
        if estimate is None:
            gone.append(Missing(path, why(path, recording), take_for(found, path)))
        elif not estimate.exact and path.endswith("_ticks"):
            most = f"at most {estimate.high:.0f}" if estimate.bounded else "no upper end was seen"
            gone.append(Missing(path, f"only bounded: at least {estimate.low:.0f}, {most}", take_for(found, path)))
    gone.append(Missing("body", "a recording does not tell the size of the body", take_for(found, "body")))
    return gone


def why(path: str, recording: Recording) -> str:
    """Why a path was not found."""
    buttons = recording.buttons
    if path == "ground.run":
        return "run was never down" if "run" in buttons else "the recording has no column run"
    if path == "help.drop_through" and "down" not in buttons:
        return "the recording has no column down"
    if path.startswith(("jump.", "help.coyote", "help.buffer")) and "jump" not in buttons:
        return "the recording has no column jump"
    if not recording.exact and path in _EXACT_ONLY:
        return "rounded positions do not show it"
    lost = "in too few ticks that agree" if recording.exact else "hidden by the rounding of the positions"
    return _WHY_CHOICE.get(path, f"never exercised, or {lost}")


def take_for(found: Found, path: str) -> str:
    """The take that would tell a path; for a band, at which takeoff or current speed."""
    take = next(
        take for pattern, take in _TAKES if re.fullmatch(pattern, path) or (path == "ground.run" and "run" in pattern)
    )
    match = re.fullmatch(r"(.*)\[(\d+)\]\.\w+", path)
    if match is not None and found.counts.get(match[1], 0) > 1:
        return f"In band {int(match[2]) + 1} of {match[1]}: {take[:1].lower()}{take[1:]}"
    return take
