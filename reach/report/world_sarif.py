"""The report on a world as SARIF 2.1.0, which code review and CI services show beside the files.

What could not be decided is a result of the kind `open`, whose level is then `none` (SARIF 2.1.0, 3.27.9 and 3.27.10).
A finding that a file accepts is one that is suppressed, for the reason given there. A level that failed, or that was
not finished, is a notification of the run; those that were not checked, since they have not changed, are one together.
"""

from __future__ import annotations

import hashlib
import json
import posixpath
import re
from collections import Counter
from collections.abc import Iterator, Mapping
from typing import TYPE_CHECKING, Any
from urllib.parse import quote

from reach.report.text_report import TIMING_NOTE
from reach.report.world_text import left_out_words
from reach.wording import tile_words

if TYPE_CHECKING:
    from reach.findings import Finding
    from reach.world.result import WorldFinding, WorldReport

VERSION = "2.1.0"
SCHEMA = "https://docs.oasis-open.org/sarif/sarif/v2.1.0/errata01/os/schemas/sarif-schema-2.1.0.json"
FINGERPRINT = "findingPlace/v1"
"""What a result's fingerprint is of: the rule, the level, the place or tile, and which such finding there it is."""


def dump(report: WorldReport, rules: Mapping[str, str], origin: str) -> str:
    """Return the report as SARIF text.

    Parameters
    ----------
    report : WorldReport
    rules : mapping of str to str
        By the id of every rule there is, what it finds, in a line.
    origin : str
        The world file or the folder, with `/` between folders, from the folder that files are to be named from, which
        for a review is that of the checkout; "" if it is none of these.
    """
    return json.dumps(_Log(report, rules, origin).log(), ensure_ascii=False, allow_nan=False, indent=2) + "\n"


class _Log:
    """Puts the log together; knows where the files are, and the number of each rule."""

    def __init__(self, report: WorldReport, rules: Mapping[str, str], origin: str) -> None:
        self.report = report
        self.rules = dict(sorted(rules.items()))
        self.index = {rule: index for index, rule in enumerate(self.rules)}
        self.world_file = origin if report.linked else ""
        folder = posixpath.dirname(origin) if report.linked else origin
        self.files = {level.id: posixpath.normpath(posixpath.join(folder, level.file)) for level in report.levels}

    def log(self) -> dict[str, Any]:
        """Return the whole log, its version first (SARIF 2.1.0, 3.13.2)."""
        name, _, version = self.report.product.partition(" ")
        rules = [{"id": rule, "shortDescription": {"text": summary}} for rule, summary in self.rules.items()]
        run = {
            "tool": {"driver": {"name": name, "version": version, "rules": rules}},
            "invocations": [
                {
                    "executionSuccessful": not self.report.failed,
                    "toolExecutionNotifications": list(self._notifications()),
                }
            ],
            "results": list(self._results()),
        }
        return {"version": VERSION, "$schema": SCHEMA, "runs": [run]}

    def _notifications(self) -> Iterator[dict[str, Any]]:
        for level in self.report.levels:
            failed = [f"from {one.job.entrance}: {one.why}" for one in level.outcomes if one.report is None]
            for why in [level.why] if level.why else failed:
                yield self._notification("error", level.id, f"The level '{level.id}' failed: {why}")
            for one in level.outcomes:
                if one.report is not None and not one.report.complete:
                    words = f"The level '{level.id}' from {one.job.entrance} was not finished: "
                    rest = f"{one.report.incomplete_why}. What was not proved by then is undecided."
                    yield self._notification("warning", level.id, words + rest)

        if self.report.left_out:
            yield {"level": "note", "message": {"text": _literal(left_out_words(self.report))}}

    def _notification(self, grade: str, level: str, text: str) -> dict[str, Any]:
        return {"level": grade, "message": {"text": _literal(text)}, "locations": [self._location(level, None)]}

    def _results(self) -> Iterator[dict[str, Any]]:
        numbers: Counter[tuple[str, ...]] = Counter()
        for found in self.report.findings:
            key = (found.rule, found.level or "", found.place or "")
            numbers[key] += 1
            where = None if found.level is None else "/".join(filter(None, (found.level, found.place)))
            locations = [self._location(found.level, where)] if found.level or self.world_file else []
            yield self._result(found, locations, (*key, str(numbers[key])), "external", {})
        for level in self.report.levels:
            for entry in level.findings:
                one = entry.finding
                tile = "" if one.at is None else tile_words(one.at)
                key = (one.rule, level.id, tile)
                numbers[key] += 1
                where = f"{level.id}/{tile}" if tile else level.id
                own = {"entrances": list(entry.entrances)} | ({} if one.at is None else {"at": list(one.at)})
                locations = [self._location(level.id, where)]
                yield self._result(one, locations, (*key, str(numbers[key])), "inSource", own)

    def _result(
        self,
        found: Finding | WorldFinding,
        locations: list[dict[str, Any]],
        key: tuple[str, ...],
        accepted_in: str,
        own: dict[str, Any],
    ) -> dict[str, Any]:
        told = [found.message, f"To do: {found.advice}" if found.advice else ""]
        told.append(TIMING_NOTE if "window_ticks" in found.details else "")
        accepted = [] if found.accepted is None else [{"kind": accepted_in, "justification": found.accepted}]
        return {
            "ruleId": found.rule,
            "ruleIndex": self.index[found.rule],
            "kind": "open" if found.undecided else "fail",
            "level": "none" if found.undecided else found.severity.value,
            "message": {"text": _literal(" ".join(filter(None, told)))},
            "locations": locations,
            "partialFingerprints": {FINGERPRINT: hashlib.sha256("\n".join(key).encode()).hexdigest()},
            "suppressions": accepted,
            "properties": {"severity": found.severity.value, **own},
        }

    def _location(self, level: str | None, where: str | None) -> dict[str, Any]:
        """A level's file, or the world's, and what of it is meant."""
        file = self.world_file if level is None else self.files[level]
        location: dict[str, Any] = {"physicalLocation": {"artifactLocation": {"uri": quote(file)}}}
        if where is not None:
            location["logicalLocations"] = [{"fullyQualifiedName": where}]
        return location


def _literal(text: str) -> str:
    """Return a message with nothing in it to fill in (SARIF 2.1.0, 3.11.5) and no link (3.11.6)."""
    text = text.replace("{", "{{").replace("}", "}}")
    return re.sub(r"\[([^\[\]]*)\]\(", r"\[\1\](", text)
