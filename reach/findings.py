"""What a check says: verdicts, moves, findings with the marks to draw for them, and the report that holds them all."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from enum import StrEnum
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    import numpy as np

    from reach.script import Script

Tile = tuple[int, int]
"""A tile as (column, row)."""

PointPx = tuple[float, float]
"""A point of the map as (x, y) in pixels, y downward."""


class Verdict(StrEnum):
    """What is claimed of a place or a tile."""

    REACHABLE = "reachable"
    UNREACHABLE = "unreachable"
    UNDECIDED = "undecided"


class Severity(StrEnum):
    """How much a finding matters."""

    ERROR = "error"
    WARNING = "warning"
    NOTE = "note"

    @property
    def rank(self) -> int:
        """0 for a note, 1 for a warning, 2 for an error."""
        return {"note": 0, "warning": 1, "error": 2}[self.value]


class MoveKind(StrEnum):
    """How a body gets from one foothold to the next."""

    JUMP = "jump"
    WALK_OFF = "walk_off"
    DROP = "drop"
    STRIDE = "stride"
    SPRING = "spring"


class MarkShape(StrEnum):
    """The shape a finding wants drawn over the map."""

    TILE = "tile"
    FOOTHOLD = "foothold"
    ARC = "arc"
    GAP = "gap"


@dataclass(frozen=True)
class Mark:
    """One thing to draw for a finding; drawing code needs to know no rule.

    TILE: `tiles` are outlined together. FOOTHOLD: the tops of `tiles` (one row, ascending columns) are drawn as a bar.
    ARC: `points_px` is a path of the body's feet centre. GAP: two `points_px`, a measured line. Either may have a
    `label`.
    """

    shape: MarkShape
    tiles: tuple[Tile, ...] = ()
    points_px: tuple[PointPx, ...] = ()
    label: str = ""


@dataclass(frozen=True)
class Finding:
    """One thing found in a level.

    `at` is the tile it is about (None: the whole level); `message` says what, `advice` what to do about it;
    `details` is JSON-ready; `accepted` holds the level file's reason where the finding is known and meant.
    """

    rule: str
    severity: Severity
    at: Tile | None
    message: str
    advice: str = ""
    details: Mapping[str, Any] = field(default_factory=dict)
    marks: tuple[Mark, ...] = ()
    accepted: str | None = None

    @property
    def undecided(self) -> bool:
        """Whether it says that something could not be decided: its details then hold that verdict."""
        return self.details.get("verdict") == Verdict.UNDECIDED


@dataclass(frozen=True)
class PlaceVerdict:
    """The verdict on one place; `ticks` is the length of the kept script to it (0 if the start touches it, None

    without one).
    """

    id: str
    kind: str
    at: Tile
    required: bool
    must_be: str | None
    verdict: Verdict
    ticks: int | None


@dataclass(frozen=True)
class Move:
    """One move between footholds, as proved by a script.

    `source` and `target` are the takeoff and landing tiles. `air_ticks` counts ticks off the ground. `window_ticks` is
    the largest box of press, hold and steer ticks that works (None: not measured), `window_open` tells that it is no
    smaller than the largest that is measured. `chance` is for the stated timing spread. `landing_room_px` spans the
    spots on the target where the box's plans land. `needs_speed`: proved to exist for no body that starts at rest on
    the source. `arc_px` is the flown path of the body's feet centre, `touches` the places touched on it.
    `passing_only`: no plan tried comes to rest on the target. `left_out`: a limit ended the work before the move was
    measured.
    """

    source: Tile
    target: Tile
    kind: MoveKind
    air_ticks: int
    window_ticks: int | None = None
    window_ms: float | None = None
    window_open: bool = False
    chance: float | None = None
    landing_room_px: float | None = None
    needs_speed: bool = False
    passing_only: bool = False
    left_out: bool = False
    arc_px: tuple[PointPx, ...] = ()
    touches: tuple[str, ...] = ()


@dataclass(frozen=True)
class Report:
    """Everything a check found out about one level under one movement.

    `tiles` maps each verdict to its standable tiles, sorted by row, then column. `route` is the easiest route's moves
    (indices into `moves`) and `route_to` the id of the ending place it leads to; where not `route_easiest`, it is a way
    that was proved, and an easier one may exist. `scripts` holds one proof per
    reachable place. `coverage` is a bool array, one cell an eighth of a tile (rows * 8, columns * 8): True where the
    body can ever be. `has_ending`: some place ends the level; without one nobody can be stuck, and there is no route.
    """

    product: str
    level_name: str
    level_sha256: str
    columns: int
    rows: int
    tile_px: int
    movement_name: str
    movement_sha256: str
    tick_rate_hz: int
    body_px: tuple[float, float]
    from_place: str
    options: Mapping[str, Any]
    places: tuple[PlaceVerdict, ...]
    tiles: Mapping[Verdict, tuple[Tile, ...]]
    moves: tuple[Move, ...]
    route: tuple[int, ...]
    route_to: str | None
    findings: tuple[Finding, ...]
    scripts: Mapping[str, Script]
    coverage: np.ndarray
    complete: bool
    incomplete_why: str = ""
    route_easiest: bool = True
    has_ending: bool = True

    def count(self, severity: Severity) -> int:
        """Number of findings of this severity that the level file does not accept."""
        return sum(1 for f in self.findings if f.severity is severity and f.accepted is None)
