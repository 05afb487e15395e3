"""Everything the rules may look at: what was explored, proved, measured and asked about one level."""

from __future__ import annotations

from collections.abc import Collection, Mapping
from dataclasses import dataclass, field
from enum import StrEnum
from typing import TYPE_CHECKING

from reach.findings import Finding, Mark, MarkShape, Move, PlaceVerdict, Severity, Tile, Verdict
from reach.graph import mutual_groups
from reach.script import script_to_dict
from reach.wording import count_words, foothold_words

if TYPE_CHECKING:
    from reach.graph import MoveGraph
    from reach.level import Level
    from reach.movement import Movement
    from reach.options import CheckOptions
    from reach.reachability.barriers import Barrier
    from reach.reachability.cures import Cure
    from reach.reachability.result import Exploration, Foothold
    from reach.script import Script


class Outlook(StrEnum):
    """What is known of a body at rest on one foothold (or bouncing on one spring)."""

    FREE = "free"
    """A script leads from rest on it to an ending place."""
    SOFTLOCK = "softlock"
    """Proved: no input leads to an ending place, and none loses the body."""
    FORCED_LOSS = "forced-loss"
    """Proved: no input leads to an ending place. The superset loses the body; whether an input does is not proved."""
    UNDECIDED = "undecided"
    """Neither a script nor a proof."""


@dataclass(frozen=True)
class FootholdOutlook:
    """The answer for one foothold; `why` is said where it is undecided, and `limit` names the limit that left it so.

    `way_in` is a script that comes to rest on it (on a spring: that bounces on it), None where none was found.
    """

    foothold: int
    outlook: Outlook
    way_in: Script | None
    why: str = ""
    limit: str = ""


@dataclass(frozen=True)
class Pit:
    """Footholds with one outlook that moves lead between, either way."""

    outlooks: tuple[FootholdOutlook, ...]

    @property
    def footholds(self) -> tuple[int, ...]:
        """Indices of the pit's footholds, ascending."""
        return tuple(one.foothold for one in self.outlooks)

    @property
    def way_in(self) -> Script | None:
        """The shortest script that comes to rest in the pit."""
        scripts = [one.way_in for one in self.outlooks if one.way_in is not None]
        return min(scripts, key=lambda script: script.ticks, default=None)


MEANT_TO_BE_REACHED = ("goal", "exit", "checkpoint", "pickup")
"""The kinds of place that a player is to get to."""


def is_out_of_reach(place: PlaceVerdict) -> bool:
    """Tell whether a place that a player is to get to is proved unreachable, and not meant to be."""
    meant = place.must_be == "unreachable"
    return place.kind in MEANT_TO_BE_REACHED and place.verdict is Verdict.UNREACHABLE and not meant


@dataclass(frozen=True)
class Evidence:
    """What one check found out, for the rules to judge.

    `places` are the verdicts in the level's order, `tiles` the standable tiles by verdict. `moves` are the moves
    that a script proves; edges of `graph.under_` point into them. `route` is the easiest route (indices into
    `moves`) to the place `route_to`, or, where not `route_easiest`, a way that was proved. `outlooks` answers for every
    foothold on which a body can come to rest, in the order of the footholds; it is empty for a level without ending
    places. `cures` belongs to the tight moves of the route. `limit` is the limit that ended the work early ("" if none
    did), `search_end` what is said of the search for scripts where it left something without one. `barriers` has what
    bars the way to a place first, by the place's index; whether there is such for a place of `barriers_unknown` was not
    found out, as `barriers_end` explains.
    """

    level: Level
    movement: Movement
    options: CheckOptions
    exploration: Exploration
    graph: MoveGraph
    places: tuple[PlaceVerdict, ...]
    tiles: Mapping[Verdict, tuple[Tile, ...]]
    scripts: Mapping[str, Script]
    moves: tuple[Move, ...]
    route: tuple[int, ...]
    route_to: str | None
    outlooks: tuple[FootholdOutlook, ...]
    cures: Mapping[int, Cure]
    limit: str = ""
    route_easiest: bool = True
    search_end: str = ""
    barriers: Mapping[int, Barrier] = field(default_factory=dict)
    barriers_unknown: Collection[int] = ()
    barriers_end: str = ""

    def is_tight(self, move: Move) -> bool:
        """Tell whether a move's window is short or cannot be measured, or whether it lands where one can only pass.

        Nothing is said of a move that was left out when a limit ended the work.
        """
        return not move.left_out and (move.passing_only or move.window_ms is None or self.is_short(move))

    def is_short(self, move: Move) -> bool:
        """Tell whether a move's window is under the threshold."""
        return move.window_ms is not None and move.window_ms < self.options.window_threshold_ms

    def pits(self, outlook: Outlook) -> tuple[Pit, ...]:
        """Return the footholds with this outlook, those that lead to each other as one pit."""
        known = {one.foothold: one for one in self.outlooks if one.outlook is outlook}
        groups = mutual_groups(self.graph.over_, known)
        return tuple(Pit(tuple(known[index] for index in group)) for group in groups)

    def pit_finding(
        self, pit: Pit, rule: str, severity: Severity, sentence: str, advice: str, because: str = ""
    ) -> Finding:
        """Return the finding about a pit: a sentence with `{where}` for the pit and `{stays}` for what a player does
        there, why it is so, and how a player gets there.
        """
        first, *others = pit.footholds
        more = f" (and {count_words(len(others), 'foothold')} of the same pit)" if others else ""
        where = foothold_words(self.foothold(first)) + more
        stays = "bounces" if self.foothold(first).is_spring else "comes to rest"
        way_in = pit.way_in
        details = {
            "footholds": [
                {"row": foothold.row, "columns": list(foothold.columns), "spring": foothold.is_spring}
                for foothold in map(self.foothold, pit.footholds)
            ],
            "way_in": None if way_in is None else script_to_dict(way_in),
        }
        return Finding(
            rule,
            severity,
            self.foothold_tile(first),
            " ".join(filter(None, (sentence.format(where=where, stays=stays), because, _way_in_words(way_in)))),
            advice,
            details,
            tuple(self.foothold_mark(index) for index in pit.footholds),
        )

    def foothold(self, index: int) -> Foothold:
        """Return one foothold."""
        return self.exploration.footholds[index]

    def foothold_tile(self, index: int) -> Tile:
        """Return the tile in the middle of a foothold, at which findings about it stand."""
        first, last = self.foothold(index).columns
        return ((first + last) // 2, self.foothold(index).row)

    def foothold_mark(self, index: int) -> Mark:
        """Return the mark that draws the top of a foothold."""
        foothold = self.foothold(index)
        first, last = foothold.columns
        tops = tuple((column, foothold.row) for column in range(first, last + 1))
        return Mark(MarkShape.FOOTHOLD, tiles=tops)


def _way_in_words(way_in: Script | None) -> str:
    if way_in is None or way_in.ticks == 0:
        return "It is where the player begins."
    return f"A script of {count_words(way_in.ticks, 'tick')} leads in."
