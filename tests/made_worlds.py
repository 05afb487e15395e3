"""Worlds made by hand or at random, and a runner that answers from a table instead of exploring."""

from __future__ import annotations

import json
import random
from collections.abc import Collection, Iterator, Mapping
from dataclasses import dataclass, field
from functools import cache
from typing import Any

from reach.errors import Problem
from reach.findings import PlaceVerdict, Verdict
from reach.level import Level, level_from_dict
from reach.movement import Movement, movement_from_dict
from reach.options import CheckOptions
from reach.world.changed_levels import Chosen
from reach.world.part_checker import check_part
from reach.world.result import Job, Outcome, Spot, State
from reach.world.world_checker import check_world
from reach.world.world_file import Link, LoadedWorld, WorldLevel
from tests.checked import MOVEMENT
from tests.made_reports import make_report

YES, NO, OPEN = Verdict.REACHABLE, Verdict.UNREACHABLE, Verdict.UNDECIDED

Answer = Mapping[str, Verdict]
"""The verdict on places of a level, by id; what is not named is reachable."""


def room(name: str, places: Mapping[str, str | dict[str, Any]]) -> Level:
    """Return a level of flat ground with places side by side; each is told by its kind, or by its keys in the file."""
    return _room(name, json.dumps(places))


@cache
def _room(name: str, text: str) -> Level:
    places = json.loads(text)
    entries = [{"kind": told} if isinstance(told, str) else told for told in places.values()]
    listed = [
        {"id": place, "at": [index + 1, 2], **entry}
        for index, (place, entry) in enumerate(zip(places, entries, strict=True))
    ]
    width = len(listed) + 2
    if not any(entry["kind"] == "start" for entry in listed):
        listed.insert(0, {"id": "in", "kind": "start", "at": [0, 2]})
    rows = ["." * width, "." * width, "." * width, "#" * width]
    return level_from_dict({"format": "reach-level/1", "name": name, "tile_px": 16, "rows": rows, "places": listed})


@cache
def _movement() -> Movement:
    return movement_from_dict(MOVEMENT)


def spot(text: str) -> Spot:
    """Return a place from its text LEVEL/PLACE."""
    level, _, place = text.partition("/")
    return level, place


def made_world(
    rooms: Mapping[str, Mapping[str, Any] | None],
    links: Mapping[str, str],
    start: str | None,
    must_reach: tuple[str, ...] = (),
) -> LoadedWorld:
    """Return a world of rooms (None: a level whose file is broken), with links from exits to entrances."""
    movement = _movement()
    levels = tuple(
        WorldLevel(each, f"{each}.json", movement, None, (Problem(f"{each}.json", "", "no such file", "a file"),))
        if places is None
        else WorldLevel(each, f"{each}.json", movement, room(each, places))
        for each, places in rooms.items()
    )
    return LoadedWorld(
        "made",
        "made.world.json",
        levels,
        tuple(Link(spot(source), spot(target)) for source, target in links.items()),
        None if start is None else spot(start),
        tuple(map(spot, must_reach)),
    )


@dataclass
class TableRunner:
    """Answers every job from a table, in an order of its own; None in the table: the job fails.

    `ran` are the jobs in the order in which they were answered.
    """

    world: LoadedWorld
    table: Mapping[Job, Answer | None]
    seed: int = 0
    findings: Mapping[Job, tuple[Any, ...]] = field(default_factory=dict)
    ran: list[Job] = field(default_factory=list)
    waiting: list[Job] = field(default_factory=list)

    def submit(self, job: Job) -> None:
        """Take on a job."""
        self.waiting.append(job)

    def as_completed(self) -> Iterator[Outcome]:
        """Answer jobs in a random order, new ones among them, until none is left."""
        order = random.Random(self.seed)
        while self.waiting:
            job = self.waiting.pop(order.randrange(len(self.waiting)))
            self.ran.append(job)
            yield self.answer(job)

    def answer(self, job: Job) -> Outcome:
        """Return what the table says of a job."""
        level = self.world.by_id[job.level].level
        answer = self.table.get(job, {})
        if level is None or answer is None:
            return Outcome(job, State.FAILED, None, "a made failure")
        places = tuple(
            PlaceVerdict(
                place.id,
                place.kind.value,
                (place.column, place.row),
                place.required,
                place.must_be,
                answer.get(place.id, YES),
                12 if answer.get(place.id, YES) is YES else None,
            )
            for place in level.places
        )
        report = make_report(places=places, findings=self.findings.get(job, ()), from_place=job.entrance, moves=())
        return Outcome(job, State.CHECKED, report)


def judged(world: LoadedWorld, table: Mapping[str, Answer | None] | None = None, seed: int = 0, **values: Any):
    """The report on a made world; the table is told by LEVEL/ENTRANCE or LEVEL/ENTRANCE/WITHOUT."""
    jobs = {Job(*key.split("/")): answer for key, answer in (table or {}).items()}
    return check_world(world, runner=TableRunner(world, jobs, seed, **values))


def judged_part(world: LoadedWorld, levels: Collection[str], table: Mapping[str, Answer | None] = {}, **values: Any):
    """The report on some levels of a made world, as if they had changed since `main`."""
    jobs = {Job(*key.split("/")): answer for key, answer in table.items()}
    return check_part(world, Chosen("main", levels), CheckOptions(), TableRunner(world, jobs, **values))


def found(report, rule):
    """What one rule found, as (severity, level, place)."""
    return [(each.severity.value, each.level, each.place) for each in report.findings if each.rule == rule]
