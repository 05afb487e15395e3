"""A comparison of a recording with its profile, for people."""

from __future__ import annotations

from typing import TYPE_CHECKING

from reach.workshop.missing_ticks import LONGEST_GAP_TICKS
from reach.workshop.parity import Agreement

if TYPE_CHECKING:
    from reach.workshop.explanations import Explained, Explanation
    from reach.workshop.parity import Comparison, Course, Difference
    from reach.workshop.parity_hints import Hint

SHOWN_TAKES = 20
"""So many takes that differ are told one by one."""
SHOWN_OTHERS = 5
"""So many explanations that are as good as the first are told."""


def to_text(comparison: Comparison, explained: Explained | None, hint: Hint | None = None) -> str:
    """Return what was compared, where it first differs, and what explains it best."""
    recording = comparison.recording
    rows, missing = (sum(getattr(each, name) for each in comparison.courses) for name in ("rows", "missing"))
    after_gaps = f", and {_many(missing, 'missing tick')} between them gone past" if missing else ""
    lines = [
        f'{recording.origin} against movement "{comparison.movement.name}"',
        f"positions {recording.rounding_said}; tolerance {decimal_text_px(comparison.tolerance_px)} px",
        f"{_many(len(comparison.courses), 'take')}, {_many(rows, 'row')} compared{after_gaps}",
    ]
    told = 0
    for difference, course in zip(comparison.differences, comparison.courses, strict=True):
        if course.missing_tick is not None:
            lines.append(
                f"{_name(course)}: compared only up to tick {course.missing_tick}, where more than "
                f"{LONGEST_GAP_TICKS} ticks are missing"
            )
        if difference is not None:
            told += 1
            if told <= SHOWN_TAKES:
                lines += _difference(course, difference)
    if told > SHOWN_TAKES:
        lines.append(f"and {told - SHOWN_TAKES} more takes that differ")
    lines += _agreement(comparison, rows, missing)
    if hint is not None:
        lines += ["", hint.said]
    if explained is not None:
        lines += ["", *_explained(explained)]
    return "\n".join(lines) + "\n"


def _agreement(comparison: Comparison, rows: int, missing: int) -> list[str]:
    """What follows from it as a whole, where the differences themselves do not say so."""
    if comparison.agreement is Agreement.DIFFERS:
        return []
    if any(comparison.differences):
        return ["", "undecided: other buttons in the missing ticks might explain it"]
    if missing:
        filled = f"with buttons in the {_many(missing, 'missing tick')} that suit the rows after"
    else:
        filled = ""
    if comparison.agreement is Agreement.UNDECIDED:
        said = f"undecided: no difference in the {rows} of {comparison.recording.rows} rows that could be compared"
        return ["", f"{said}, {filled}" if filled else said]
    return ["", f"no difference: the character moves as the profile does{f', {filled}' if filled else ''}"]


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
        f"after {_many(difference.agreed_ticks, 'tick')} that agree",
        f"  the character is {' and '.join(where)} than the profile; buttons down: {held}",
    ]


def _explained(explained: Explained) -> list[str]:
    before = f"the profile as it is follows {explained.unchanged.ticks} of {explained.of_ticks}"
    if explained.too_short:
        return ["the recording ends too soon after the difference to tell what explains it"]
    if not explained.clear:
        lines = ["none of the single changes tried explains the recording clearly"]
        if explained.ranked and explained.ranked[0].ticks > explained.unchanged.ticks:
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
    fitted = " (fitted)" if explanation.is_fitted else ""
    of = "all" if explanation.ticks == explained.of_ticks else f"{explanation.ticks} of"
    follows = f"follows {of} {explained.of_ticks} ticks, {explanation.off_px:.3g} px off (root mean square)"
    return f"{explanation.said}{fitted}: {follows}"


def decimal_text_px(value: float) -> str:
    """Return a length in px with the digits that matter: at least three, and no more than six behind the point."""
    return "0" if value == 0 else f"{value:.6f}".rstrip("0").rstrip(".") if value < 1 else f"{value:.6g}"


def _many(count: int, what: str) -> str:
    return f"{count} {what}{'' if count == 1 else 's'}"
