"""A saved report as a side: `reach-world-report/1`, or `reach-report/1` of one level.

A report on a thousand levels holds some million values, far more than files that people write, and was written by a
program. So it is not read by the reader that remembers where every value stood, nor looked over value by value against
its schema: it is read at once, up to MOST_BYTES, and everything that is compared is looked at as it is taken. What is
wrong is named by its JSON path alone.
"""

from __future__ import annotations

import json
import math
import re
from collections.abc import Callable, Iterable, Mapping
from typing import Any, TypeVar

from reach.comparison.side import CheckSide, Found, LevelSide, Side, is_about_ending, missable_of, numbered
from reach.errors import InputError, Problem
from reach.findings import Move, MoveKind, PlaceVerdict, Severity, Tile, Verdict
from reach.json_text import JsonPath, path_text, shown
from reach.level import START
from reach.world.result import LinkVerdict, Spot

WORLD_FORMAT, LEVEL_FORMAT = FORMATS = ("reach-world-report/1", "reach-report/1")
MOST_BYTES = 1024 * 2**20
"""A larger saved report is refused."""
MOST_NUMBER = 2**53 - 1
"""No larger whole number is in any report; a double holds them all (RFC 8259, 6)."""
_HALF = re.compile(r"\\u[dD][89a-fA-F]")
"""The escape of half of a surrogate pair."""

Taken = TypeVar("Taken")


def parsed(text: str) -> Any:
    """Return what a JSON text holds, as plain values.

    Raises
    ------
    ValueError
        If it is no JSON, or holds a number that is not finite or half of a surrogate pair, which no file can hold.
    """
    try:
        data = json.loads(text, parse_constant=_no_number, parse_float=_finite)
        if _HALF.search(text):
            json.dumps(data, ensure_ascii=False).encode("utf-8")
    except RecursionError:
        raise ValueError("nesting that is too deep") from None
    except UnicodeEncodeError:
        raise ValueError("half of a surrogate pair") from None
    return data


def _no_number(word: str) -> float:
    raise ValueError(word)


def _finite(word: str) -> float:
    value = float(word)
    if not math.isfinite(value):
        raise ValueError(word)
    return value


def side_of_saved(data: Any, origin: str, name: str) -> Side:
    """Return the side that a saved report is.

    Parameters
    ----------
    data
        The values of its JSON text, an object with one of FORMATS.
    origin : str
        The file, as messages name it.
    name : str
        What the level is called where the report is of one level.

    Raises
    ------
    InputError
        At the first thing that no report of this format holds.
    """
    root = _Part(data, origin)
    return _world(root) if root["format"].value == WORLD_FORMAT else _alone(root, name)


class _Part:
    """A value of the report and its path; what is taken out of it is looked at."""

    __slots__ = ("origin", "path", "value")

    def __init__(self, value: Any, origin: str, path: JsonPath = ()) -> None:
        self.value = value
        self.origin = origin
        self.path = path

    def fail(self, allowed: str) -> InputError:
        allowed += ", as reach writes it"
        return InputError([Problem(self.origin, path_text(self.path), shown(self.value), allowed)])

    def __getitem__(self, key: str) -> _Part:
        if not isinstance(self.value, dict):
            raise self.fail("an object")
        if key not in self.value:
            problem = Problem(self.origin, path_text(self.path), f"no key {shown(key)}", "a whole report")
            raise InputError([problem])
        return _Part(self.value[key], self.origin, (*self.path, key))

    def items(self) -> Iterable[_Part]:
        if not isinstance(self.value, list):
            raise self.fail("a list")
        return (_Part(item, self.origin, (*self.path, index)) for index, item in enumerate(self.value))

    def as_(self, kind: type[Taken]) -> Taken:
        """The value, which has to be of this type; a truth value is no number."""
        if not isinstance(self.value, kind) or (isinstance(self.value, bool) and kind is not bool):
            names = {str: "a text", int: "a whole number", bool: "true or false", dict: "an object"}
            raise self.fail(names[kind])
        if isinstance(self.value, int) and abs(self.value) > MOST_NUMBER:
            raise self.fail(f"a whole number up to {MOST_NUMBER}")
        return self.value

    def number(self) -> float:
        return self.value if isinstance(self.value, float) else self.as_(int)

    def one_of(self, kind: Callable[[Any], Taken]) -> Taken:
        """The member of an enumeration that it names."""
        try:
            return kind(self.value)
        except ValueError:
            words = ", ".join(each.value for each in kind)  # type: ignore[attr-defined]
            raise self.fail(f"one of {words}") from None

    def maybe(self, take: Callable[[_Part], Taken]) -> Taken | None:
        return None if self.value is None else take(self)

    def once(self, key: str) -> Iterable[_Part]:
        """The items of a list of objects, each of which has another text under this key."""
        known: set[str] = set()
        for part in self.items():
            name = part[key].as_(str)
            if name in known:
                raise part[key].fail("each once")
            known.add(name)
            yield part

    def tile(self) -> Tile:
        value = self.value
        if not (isinstance(value, list) and len(value) == 2 and all(type(each) is int and each >= 0 for each in value)):
            raise self.fail("a tile, as [column, row]")
        return value[0], value[1]

    def spot(self) -> Spot:
        level, slash, place = self.as_(str).partition("/")
        if not slash:
            raise self.fail("a place, as LEVEL/PLACE")
        return level, place


def _text(part: _Part) -> str:
    return part.as_(str)


def _world(root: _Part) -> Side:
    if root["changed_since"].value is not None:
        problem = Problem(root.origin, "$.changed_since", "a report on a part of a world", "one on all of it")
        raise InputError([problem])
    findings: dict[str, list[Found]] = {}
    for part in root["findings"].items():
        found = _found(part, part["place"].maybe(_text), None)
        findings.setdefault(part["level"].maybe(_text) or "", []).append(found)
    links = [
        LinkVerdict(part["from"].spot(), part["to"].spot(), part["verdict"].one_of(Verdict))
        for part in root["links"].once("from")
    ]
    levels = [_level(part) for part in root["levels"].once("id")]
    if not levels:
        raise root["levels"].fail("at least one level")
    return Side(
        product=root["product"].as_(str),
        name=root["name"].as_(str),
        linked=root["linked"].as_(bool),
        single=False,
        options=_options(root),
        must_reach=tuple(part.spot() for part in root["must_reach"].items()),
        levels={level.id: level for level in levels},
        links={link.source: link for link in links},
        found={level: numbered(those) for level, those in findings.items()},
    )


def _options(root: _Part) -> Mapping[str, Any]:
    part = root["options"]
    part.as_(dict)
    return {name: part[name].maybe(_Part.number) for name in part.value}


def _level(part: _Part) -> LevelSide:
    checks = {}
    failed = [part["why"].as_(str)] if part["why"].value else []
    for each in part["entrances"].once("entrance"):
        entrance = each["entrance"].as_(str)
        if each["report"].value is None:
            if not part["why"].value:
                failed.append(f"from {entrance}: {each['why'].as_(str)}")
        else:
            checks[entrance] = _check(each["report"], entrance)
    return LevelSide(
        id=part["id"].as_(str),
        movement_name=part["movement"].as_(str),
        entered=part["entered"].one_of(Verdict),
        checks=checks,
        found=numbered(_level_found(each) for each in part["findings"].items()),
        failed="; ".join(failed),
    )


def _alone(root: _Part, name: str) -> Side:
    check = _check(root, "")
    level = LevelSide(
        id=name,
        movement_name=root["movement"]["name"].as_(str),
        entered=Verdict.REACHABLE,
        checks={check.entrance: check},
        found=numbered(_level_found(each) for each in root["findings"].items()),
    )
    product, told = root["product"].as_(str), root["level"]["name"].as_(str)
    return Side(product, told, False, True, _options(root), (), {name: level}, {}, {})


def _check(part: _Part, entrance: str) -> CheckSide:
    places = [_place(each) for each in part["places"].once("id")]
    entrance = entrance or part["from"].as_(str)
    if entrance == START:
        entrance = next((place.id for place in places if place.kind == START), entrance)
    moves = list(part["moves"].items())
    route = []
    for each in part["route"].items():
        if not 0 <= each.as_(int) < len(moves):
            raise each.fail("an index into moves")
        route.append(_move(moves[each.as_(int)]))
    return CheckSide(
        entrance=entrance,
        columns=part["level"]["columns"].as_(int),
        rows=part["level"]["rows"].as_(int),
        level_sha256=part["level"]["sha256"].as_(str),
        movement_sha256=part["movement"]["sha256"].as_(str),
        tick_rate_hz=_positive(part["movement"]["tick_rate_hz"]),
        complete=part["complete"].as_(bool),
        incomplete_why=part["incomplete_why"].as_(str),
        places={place.id: place for place in places},
        tiles={verdict: frozenset(each.tile() for each in part["tiles"][verdict.value].items()) for verdict in Verdict},
        route=tuple(route),
        route_to=part["route_to"].maybe(_text),
        route_easiest=part["route_easiest"].as_(bool),
        has_ending=part["summary"]["has_ending"].as_(bool),
    )


def _positive(part: _Part) -> int:
    if part.as_(int) < 1:
        raise part.fail("a whole number of at least 1")
    return part.as_(int)


def _place(part: _Part) -> PlaceVerdict:
    return PlaceVerdict(
        id=part["id"].as_(str),
        kind=part["kind"].as_(str),
        at=part["at"].tile(),
        required=part["required"].as_(bool),
        must_be=part["must_be"].maybe(_text),
        verdict=part["verdict"].one_of(Verdict),
        ticks=part["ticks"].maybe(lambda ticks: ticks.as_(int)),
    )


def _move(part: _Part) -> Move:
    return Move(
        source=part["from"].tile(),
        target=part["to"].tile(),
        kind=part["kind"].one_of(MoveKind),
        air_ticks=part["air_ticks"].as_(int),
        window_ticks=part["window_ticks"].maybe(lambda ticks: ticks.as_(int)),
        window_ms=part["window_ms"].maybe(_Part.number),
        window_open=part["window_open"].as_(bool),
    )


def _level_found(part: _Part) -> Found:
    place = part["details"].as_(dict).get("place")
    return _found(part, place if isinstance(place, str) else None, part["at"].maybe(_Part.tile))


def _found(part: _Part, place: str | None, at: Tile | None) -> Found:
    return Found(
        part["rule"].as_(str),
        part["severity"].one_of(Severity),
        place or ("" if at is None else f"tile {at[0]},{at[1]}"),
        place,
        at,
        part["message"].as_(str),
        part["accepted"].maybe(_text) is not None,
        part["details"].as_(dict).get("verdict") == Verdict.UNDECIDED,
        missable_of(part["details"].as_(dict)),
        is_about_ending(part["rule"].as_(str), part["details"].as_(dict)),
    )
