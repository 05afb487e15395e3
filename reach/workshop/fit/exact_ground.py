"""Speeds and rates on the ground, from exact positions: what most unclamped ticks agree on."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass
from typing import NamedTuple

from reach.workshop.fit.bands import Ref
from reach.workshop.fit.outcome import Found, Quantity
from reach.workshop.fit.stretches import Stretch

NEVER = 10**6
"""The age of a run that is surely forgotten."""
VOTES_FOR_A_CLAIM = 2


class GroundTick(NamedTuple):
    """A tick under the ground's rule: speeds along the pressed direction (along the motion, where none is pressed).

    `age` is 0 while run is down, then the ticks on the ground since, NEVER where the run is surely forgotten, -1 where
    it cannot be told.
    """

    ref: Ref
    before: float
    after: float
    pressed: bool
    age: int


@dataclass(frozen=True)
class Vote:
    """The value that most ticks show, and the ticks that do and do not."""

    value: float
    refs: tuple[Ref, ...]
    against: tuple[Ref, ...]


def vote(values: Sequence[tuple[float, Ref]]) -> Vote | None:
    """Return the commonest value, None where not even two ticks, or not the half of them, agree."""
    if not values:
        return None
    counted = Counter(value for value, _ in values)
    value, votes = max(counted.items(), key=lambda item: (item[1], -item[0]))
    if votes < VOTES_FOR_A_CLAIM or votes * 2 <= len(values):
        return None
    return Vote(value, tuple(r for v, r in values if v == value), tuple(r for v, r in values if v != value))


def ground_ticks(stretch: Stretch) -> list[GroundTick]:
    """The ticks of a stretch that the ground's rule decides."""
    ages = run_ages(stretch)
    ticks = []
    for i in range(2, stretch.rows):
        if stretch.rule[i] != 1:
            continue
        before, after, direction = stretch.vx[i - 1], stretch.vx[i], int(stretch.direction[i])
        sign = direction or (1 if before >= 0 else -1)
        ref = Ref(stretch.take, int(stretch.ticks[i]))
        ticks.append(GroundTick(ref, float(sign * before), float(sign * after), direction != 0, ages[i]))
    return ticks


def run_ages(stretch: Stretch) -> list[int]:
    """For each row, the age of the run as `GroundTick` has it (motion model, rule 2)."""
    ages = []
    age = -1
    for i in range(stretch.rows):
        if stretch.run[i]:
            age = 0
        elif stretch.rule[i] == 0:
            age = NEVER
        elif age not in (-1, NEVER):
            age += 1
        ages.append(age)
    return ages


def fit_ground(stretches: Sequence[Stretch], found: Found) -> None:
    """Add what the ground's rules show."""
    ticks = [tick for stretch in stretches for tick in ground_ticks(stretch)]
    coasting = [(t.before - t.after, t.ref) for t in ticks if not t.pressed and t.before > 0 and t.after > 0]
    _add(found, "ground.coast_deceleration", coasting)
    reversing = [(t.after - t.before, t.ref) for t in ticks if t.pressed and t.before < 0 and t.after < 0]
    _add(found, "ground.reverse_deceleration", reversing)
    speeding = [t for t in ticks if t.pressed and t.before >= 0]
    running = [t for t in speeding if t.age == 0]
    walking = [t for t in speeding if t.age != 0]
    surely = [t for t in walking if t.age == NEVER]
    # A run that may still be remembered does not show the walk; where nothing else is there, the commonest wins.
    _gait(found, "ground.walk", surely if _shows(surely) else walking)
    if running:
        _gait(found, "ground.run", running)
        _memory(found, [t for t in speeding if 0 < t.age < NEVER])


def _shows(ticks: Sequence[GroundTick]) -> bool:
    return len({t.after - t.before for t in ticks} - {0}) > 0 and any(t.after == t.before > 0 for t in ticks)


def _add(found: Found, path: str, values: Sequence[tuple[float, Ref]]) -> Vote | None:
    won = vote(values)
    if won is not None and won.value > 0:
        found.add(path, Quantity.RATE, won.value, won.value, won.refs)
        return won
    return None


def _gait(found: Found, path: str, ticks: Sequence[GroundTick]) -> None:
    """Top speed and acceleration of a gait: the speed that stays, and the steps up to below it."""
    top = vote([(t.after, t.ref) for t in ticks if t.after == t.before > 0])
    fastest = max((t.after for t in ticks if t.after > t.before), default=0.0)
    if top is not None:
        found.add(f"{path}.top_speed", Quantity.SPEED, top.value, top.value, top.refs)
        fastest = top.value
    _add(found, f"{path}.acceleration", [(t.after - t.before, t.ref) for t in ticks if t.before < t.after < fastest])


def _memory(found: Found, ticks: Sequence[GroundTick]) -> None:
    """How long a run is remembered: the ages at which only the run's rule, or only the walk's, explains a tick."""
    gaits = []
    coast = found.value("ground.coast_deceleration")
    for gait in ("run", "walk"):
        accel, top = (found.value(f"ground.{gait}.{name}") for name in ("acceleration", "top_speed"))
        if accel is None or top is None:
            return
        gaits.append((accel, top))

    def next_speed(before: float, gait: tuple[float, float]) -> float | None:
        accel, top = gait
        if before <= top:
            return min(before + accel, top)
        return None if coast is None else max(before - coast, top)

    yes: dict[int, list[Ref]] = {}
    no: dict[int, list[Ref]] = {}
    for tick in ticks:
        run, walk = (next_speed(tick.before, gait) for gait in gaits)
        if run is not None and walk is not None and (run == tick.after) != (walk == tick.after):
            (yes if run == tick.after else no).setdefault(tick.age, []).append(tick.ref)
    add_ticks_bounds(found, "ground.run.memory_ticks", yes, no)


def add_ticks_bounds(found: Found, path: str, yes: dict[int, list[Ref]], no: dict[int, list[Ref]]) -> None:
    """Add a count of ticks from the ages at which something still worked (`yes`) and no longer did (`no`).

    Single voices against the many are left out: the split is where the fewest are contradicted.
    """
    if not yes and not no:
        return
    ages = sorted({0, *yes, *(age - 1 for age in no)})

    def contradicted(limit: int) -> int:
        return sum(len(refs) for age, refs in yes.items() if age > limit) + sum(
            len(refs) for age, refs in no.items() if age <= limit
        )

    best = min(ages, key=lambda limit: (contradicted(limit), limit))
    low = max((age for age in yes if age <= best), default=0)
    high = min((age - 1 for age in no if age > best), default=float("inf"))
    refs = tuple(ref for age in (low, high + 1) for source in (yes, no) for ref in source.get(int(min(age, NEVER)), ()))
    found.add(path, Quantity.TICKS, low, high, refs)
