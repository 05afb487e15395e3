"""A comparison of a recording with its profile, for people."""

from __future__ import annotations

from typing import TYPE_CHECKING

from reach.workshop.explanations import Explained, Explanation

if TYPE_CHECKING:
    from reach.workshop.parity import Comparison, Course, Difference

SHOWN_TAKES = 20
"""So many takes that differ are told one by one."""
SHOWN_OTHERS = 5
"""So many explanations that are as good as the first are told."""


def to_text(comparison: Comparison, explained: Explained | None) -> str:
    """Return what was compared, where it first differs, and what explains it best."""
    recording = comparison.recording
    lines = [
        f'{recording.origin} against movement "{comparison.movement.name}"',
        f"positions {recording.rounding_said}; tolerance {decimal_text_px(comparison.tolerance_px)} px",
        f"{_many(len(comparison.courses), 'take')}, "
        f"{_many(sum(course.ticks for course in comparison.courses), 'tick')} compared",
    ]
    told = 0
    for difference, course in zip(comparison.differences, comparison.courses, strict=True):
        if course.missing_tick is not None:
            lines.append(f"{_name(course)}: compared up to tick {course.missing_tick}, which is missing")
        if difference is not None:
            told += 1
            if told <= SHOWN_TAKES:
                lines += _difference(course, difference)
    if told > SHOWN_TAKES:
        lines.append(f"and {told - SHOWN_TAKES} more takes that differ")
    if comparison.agrees:
        lines += ["", "no difference: the character moves as the profile does"]
    if explained is not None:
        lines += ["", *_explained(explained)]
    return "\n".join(lines) + "\n"


def _name(course: Course) -> str:
    return f'take "{course.take.name}"' if course.take.name else "the recording"


def _difference(course: Course, difference: Difference) -> list[str]:
    where = [
        f"{decimal_text_px(abs(amount))} px {words[amount > 0]}"
        for amount, words in (
            (difference.aside_px, ("farther left", "farther right")),
            (difference.lower_px, ("higher", "lower")),
        )
        if amount
    ]
    held = ", ".join(difference.buttons) or "none"
    return [
        f"{_name(course)}: first differs in tick {difference.tick} (line {difference.line}), "
        f"after {_many(difference.after_ticks - 1, 'tick')} that agree",
        f"  the character is {' and '.join(where)} than the profile; buttons down: {held}",
    ]


def _explained(explained: Explained) -> list[str]:
    before = f"the profile as it is follows {explained.unchanged.ticks} of {explained.of_ticks}"
    if explained.too_short:
        return ["the recording ends too soon after the difference to tell what explains it"]
    if not explained.clear:
        lines = ["none of the single changes tried explains the recording clearly"]
        if explained.ranked:
            lines.append(f"  the nearest, not near enough: {_told(explained.ranked[0], explained)}")
        return [*lines, f"  {before}"]
    best, *others = explained.clear
    lines = ["explained best as if", f"  {_told(best, explained)}", f"  {before}"]
    if others:
        lines.append("as good an explanation, which this recording cannot tell from it:")
        lines += [f"  {_told(each, explained)}" for each in others[:SHOWN_OTHERS]]
        if len(others) > SHOWN_OTHERS:
            lines.append(f"  and {len(others) - SHOWN_OTHERS} more")
    return lines


def _told(explanation: Explanation, explained: Explained) -> str:
    fitted = " (fitted by least squares)" if explanation.is_fitted else ""
    of = "all" if explanation.ticks == explained.of_ticks else f"{explanation.ticks} of"
    follows = f"follows {of} {explained.of_ticks} ticks, {explanation.off_px:.3g} px off (root mean square)"
    return f"{explanation.said}{fitted}: {follows}"


def decimal_text_px(value: float) -> str:
    """Return a length in px with the digits that matter: at least three, and no more than six behind the point."""
    return "0" if value == 0 else f"{value:.6f}".rstrip("0").rstrip(".") if value < 1 else f"{value:.6g}"


def _many(count: int, what: str) -> str:
    return f"{count} {what}{'' if count == 1 else 's'}"
