"""The report on a world in short, as Markdown for a review comment: the levels, worst first, and what the world is.

Errors are written out, and some of the warnings; notes are counted. The tables are those of GitHub Flavored Markdown
(github.github.com/gfm, 4.10); the rest is CommonMark.
"""

from __future__ import annotations

import re
from dataclasses import replace
from typing import TYPE_CHECKING

from reach.findings import Severity
from reach.report.text_report import TIMING_NOTE
from reach.report.world_findings import HEADINGS, MEANT, Told, counting, meant, notes_of_world
from reach.report.world_table import BY_WEIGHT, Standing, rows, titles, with_accepted
from reach.report.world_text import extent, headline, left_out_words, played_as
from reach.wording import count_words

if TYPE_CHECKING:
    from reach.world.result import LevelResult, WorldReport

MAX_ENTRIES = 100
"""Rows of the table, and entries of each list; what is left out is counted. Comments may hold only so much."""
MAX_WARNINGS = 20
"""The same for each list of warnings, and of what is accepted."""

_MARKS = re.compile(r"([\\`*_{}\[\]<>|#~&!])")
_LINKED = re.compile(r"(?i)(?<=http):(?=//)|(?<=https):(?=//)|(?<=www)\.|@")


def dump(report: WorldReport) -> str:
    """Return the summary as Markdown text."""
    blocks = [
        f"## {escaped(report.name)}: {headline(report)}",
        _sentence(extent(report)),
        escaped(played_as(report)),
        *_table(report),
    ]
    blocks += _list("Failed", [_failed(level) for level in report.failed])
    for (severity, follows), heading in HEADINGS.items():
        most = MAX_ENTRIES if severity is Severity.ERROR else MAX_WARNINGS
        blocks += _list(heading, [_finding(each) for each in counting(report, severity, follows)], most)
    blocks += _list("Notes", [_finding(each) for each in notes_of_world(report)])
    blocks += _list(MEANT, [_finding(each, "Meant: ") for each in meant(report)], MAX_WARNINGS)
    blocks += _list("Not finished", _not_finished(report))
    if any("window_ticks" in entry.finding.details for level in report.levels for entry in level.findings):
        blocks.append(escaped(TIMING_NOTE))
    return "\n\n".join(blocks) + "\n"


def escaped(text: str) -> str:
    """Return text that Markdown shows as it is, on one line: no marks, no links, no mentions of people.

    Backslashes stand before what would be a mark (CommonMark 2.4); what would become a link or a mention by itself is
    broken by a character reference (CommonMark 2.5), which is shown as the character.
    """
    line = " ".join(text.split())
    line = "".join(character if character.isprintable() else "\N{REPLACEMENT CHARACTER}" for character in line)
    return _LINKED.sub(lambda found: f"&#{ord(found[0])};", _MARKS.sub(r"\\\1", line))


def _table(report: WorldReport) -> list[str]:
    """The levels that are not good, worst first, and how many others there are."""
    table = rows(report)
    wide = with_accepted(table)
    grave = [row for row in table if row.accepted or row.standing not in (Standing.GOOD, Standing.NOT_GRAVE)]
    good = len(report.levels) - len(report.left_out) - len(grave)
    blocks = []
    if grave:
        heads = ("how", *titles(wide)[1:])
        numbers = range(2, 2 + len(BY_WEIGHT) + wide)
        rule = ("--:" if column in numbers else ":--" for column in range(len(heads)))
        shown = [heads, tuple(rule), *(tuple(map(escaped, row.cells(wide))) for row in grave[:MAX_ENTRIES])]
        blocks.append("\n".join(f"| {' | '.join(cells)} |" for cells in shown))
    if len(grave) > MAX_ENTRIES:
        blocks.append(_left_out(len(grave) - MAX_ENTRIES))
    if good:
        blocks.append(f"{count_words(good, 'level')} without an error or a warning.")
    if report.left_out:
        blocks.append(escaped(left_out_words(replace(report, levels=report.left_out[:MAX_ENTRIES]))))
    if len(report.left_out) > MAX_ENTRIES:
        blocks.append(_left_out(len(report.left_out) - MAX_ENTRIES))
    return blocks


def _list(heading: str, entries: list[str], most: int | None = None) -> list[str]:
    most = MAX_ENTRIES if most is None else most
    if not entries:
        return []
    blocks = [f"### {heading}", "\n".join(f"- {entry}" for entry in entries[:most])]
    return [*blocks, _left_out(len(entries) - most)] if len(entries) > most else blocks


def _left_out(number: int) -> str:
    return f"{number} more not shown here."


def _failed(level: LevelResult) -> str:
    whys = [f"from {one.job.entrance}: {one.why}" for one in level.outcomes if one.report is None]
    return f"**{escaped(level.id)}** {escaped(level.why or '; '.join(whys))}"


def _finding(told: Told, lead: str = "") -> str:
    advice = f" To do: {told.advice}" if told.advice else ""
    return f"**{escaped(told.title)}**: {escaped(lead + told.message + advice)}"


def _not_finished(report: WorldReport) -> list[str]:
    return [
        f"**{escaped(level.id)}** from {escaped(one.job.entrance)}: {escaped(one.report.incomplete_why)}. "
        "What was not proved by then is undecided."
        for level in report.levels
        for one in level.outcomes
        if one.report is not None and not one.report.complete
    ]


def _sentence(words: str) -> str:
    return escaped(f"{words[:1].upper()}{words[1:]}.")
