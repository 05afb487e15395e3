"""Strict JSON that remembers where everything stood, so that every complaint can name a line and a column.

Stricter than the standard library's reader: no duplicate keys, no NaN, no nesting deeper than 32, no number that a
double cannot hold, no half of a surrogate pair. Numbers keep the decimal as written: a whole number becomes int (`1.0`
too), any other a Decimal.
"""

from __future__ import annotations

import json
import re
from bisect import bisect_right
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal
from functools import cached_property
from json.decoder import scanstring  # type: ignore[attr-defined]
from numbers import Integral, Rational, Real
from typing import Any, NamedTuple, NoReturn

from reach.errors import InputError, Problem

MAX_DEPTH = 32
"""Lists and objects may be nested this deep."""
MAX_VALUES = 500_000
"""A file may hold this many values and keys."""
MAX_NUMBER_LENGTH = 64
"""A number may be written with this many characters."""

JsonPath = tuple[str | int, ...]
"""Keys and indices from the root of a file to a value in it."""

_SPACE = re.compile(r"[ \t\n\r]*")
_NUMBER = re.compile(r"-?(?:0|[1-9][0-9]*)(?P<fraction>\.[0-9]+)?(?P<exponent>[eE][-+]?[0-9]+)?")
_WORD = re.compile(r"[A-Za-z_0-9.+-]+|.", re.DOTALL)
_HALF_PAIR = re.compile("[\ud800-\udfff]")
_PLAIN_KEY = re.compile(r"[A-Za-z_][A-Za-z_0-9]*")
_WORDS = {"true": True, "false": False, "null": None}
_LARGEST_EXPONENT = 307
_SMALLEST_EXPONENT = -307


class Spot(NamedTuple):
    """Where a value stands in the text: the offset of its start, those of an object's keys, the spots of its parts."""

    start: int
    keys: Mapping[str, int] = {}
    parts: Mapping[str, Spot] | Sequence[Spot] = ()


@dataclass(frozen=True, eq=False)
class Document:
    """A value read from JSON, or handed over as plain Python values, and where its parts stand.

    `origin` names the file as the user named it. `text` and `spot` are None for values that came from no file.
    """

    value: Any
    origin: str
    text: str | None = None
    spot: Spot | None = None

    def place(self, path: JsonPath = (), key: str | None = None) -> str:
        """Return where the value at `path` stands; with `key`, where that key of the object at `path` does.

        Examples
        --------
        >>> parse_json('{"places": [{"at": [1, 2]}]}', "quay.json").place(("places", 0, "at", 1))
        '$.places[0].at[1] (line 1, column 24)'
        """
        name = path_text(path if key is None else (*path, key))
        if self.text is None:
            return name
        return f"{name} ({self._lines.place(self.offset(path, key))})"

    @cached_property
    def _lines(self) -> Lines:
        return Lines(self.text or "")

    def offset(self, path: JsonPath = (), key: str | None = None) -> int:
        """Return the offset in the text of the value at `path`, or of its `key`; 0 where there is no text."""
        if self.spot is None:
            return 0
        spot = self.spot
        for step in path:
            spot = spot.parts[step]  # type: ignore[index]
        return spot.start if key is None else spot.keys[key]

    def problem(self, path: JsonPath, found: str, allowed: str, key: str | None = None) -> Problem:
        """Return the problem of the value at `path` (of its `key`, if one is given)."""
        return Problem(self.origin, self.place(path, key), found, allowed)


def parse_json(text: str, origin: str) -> Document:
    """Return what a JSON text holds.

    Raises
    ------
    InputError
        At the first thing that is not strict JSON, or over a limit of this module.
    """
    reader = _Reader(text, origin)
    value, spot, end = reader.value(reader.skip(0), 1)
    end = reader.skip(end)
    if end != len(text):
        reader.fail(end, reader.word(end), "nothing after the end of the value")
    return Document(value, origin, text, spot)


def document_of(data: Any, origin: str) -> Document:
    """Return a document of plain Python values, held to the same rules as a file.

    Raises
    ------
    InputError
        If a part of it has no place in JSON, or is over a limit of this module.
    """
    return Document(_plain(data, (), origin), origin)


def path_text(path: Iterable[str | int]) -> str:
    """Return a JSON path in the notation of RFC 9535.

    Examples
    --------
    >>> path_text(("symbols", "~", "place")), path_text(("places", 2))
    ("$.symbols['~'].place", '$.places[2]')
    """
    parts = ["$"]
    for step in path:
        if isinstance(step, int):
            parts.append(f"[{step}]")
        elif _PLAIN_KEY.fullmatch(step) and len(step) <= 40:
            parts.append(f".{step}")
        else:
            quoted = shown(step)[1:-1].replace('\\"', '"').replace("'", "\\'")
            parts.append(f"['{quoted}']")
    return "".join(parts)


class Lines:
    """Turns offsets (code points) in a text into lines and columns, both from 1."""

    def __init__(self, text: str) -> None:
        """Find the line feeds once."""
        self._ends = [match.start() for match in re.finditer("\n", text)]

    def place(self, offset: int) -> str:
        """Return an offset's line and column as a message shows them.

        Examples
        --------
        >>> Lines("{\\n  1").place(4)
        'line 2, column 3'
        """
        before = bisect_right(self._ends, offset - 1)
        column = offset - (self._ends[before - 1] if before else -1)
        return f"line {before + 1}, column {column}"


def shown(value: Any) -> str:
    """Return a value as a message shows it: short, on one line, without control characters.

    Examples
    --------
    >>> shown("a" * 60), shown([1, 2]), shown({"a": 1}), shown(None)
    ('"aaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaa..."', 'a list of 2', 'an object of 1', 'null')
    """
    if isinstance(value, str):
        text = value if len(value) <= 40 else value[:40] + "..."
        quoted = json.dumps(text, ensure_ascii=False)
        return "".join(c if c.isprintable() else json.dumps(c)[1:-1] for c in quoted)
    if isinstance(value, Mapping):
        return f"an object of {len(value)}"
    if isinstance(value, list | tuple):
        return f"a list of {len(value)}"
    text = str(value) if isinstance(value, Decimal) else json.dumps(value, default=repr)
    return text if len(text) <= 40 else text[:37] + "..."


class _Reader:
    """Reads one text by recursive descent; the recursion is bounded by MAX_DEPTH."""

    def __init__(self, text: str, origin: str) -> None:
        self.text = text
        self.origin = origin
        self.count = 0

    def fail(self, at: int, found: str, allowed: str) -> NoReturn:
        raise InputError([Problem(self.origin, Lines(self.text).place(at), found, allowed)])

    def skip(self, at: int) -> int:
        match = _SPACE.match(self.text, at)
        return match.end() if match else at

    def word(self, at: int) -> str:
        """What stands at `at`, as a message shows it."""
        match = _WORD.match(self.text, at)
        if match is None:
            return "the end of the file"
        return shown(match.group()) if len(match.group()) == 1 else shown(match.group())[1:-1]

    def counted(self, at: int) -> None:
        self.count += 1
        if self.count > MAX_VALUES:
            self.fail(at, f"more than {MAX_VALUES} values", f"at most {MAX_VALUES} values in a file")

    def value(self, at: int, depth: int) -> tuple[Any, Spot, int]:
        """The value that begins at `at`, its spot, and the offset behind it."""
        self.counted(at)
        first = self.text[at : at + 1]
        if first == '"':
            text, end = self.string(at)
            return text, Spot(at), end
        if first in ("{", "["):
            if depth > MAX_DEPTH:
                self.fail(at, f"nesting deeper than {MAX_DEPTH}", f"at most {MAX_DEPTH} levels of lists and objects")
            return self.object(at, depth) if first == "{" else self.array(at, depth)
        match = _NUMBER.match(self.text, at)
        if match:
            return self.number(match), Spot(at), match.end()
        for word, value in _WORDS.items():
            if self.text.startswith(word, at):
                return value, Spot(at), at + len(word)
        found = self.word(at)
        allowed = "a JSON value: a string in double quotes, number, list, object, true, false or null"
        if found.lstrip("-").lower() in ("nan", "infinity", "inf"):
            allowed = "a finite number"
        return self.fail(at, found, allowed)

    def array(self, at: int, depth: int) -> tuple[list[Any], Spot, int]:
        values: list[Any] = []
        spots: list[Spot] = []
        start, at = at, self.skip(at + 1)
        if self.text.startswith("]", at):
            return values, Spot(start), at + 1
        while True:
            value, spot, end = self.value(at, depth + 1)
            values.append(value)
            spots.append(spot)
            at, more = self.after(end, "]")
            if not more:
                return values, Spot(start, {}, spots), at

    def object(self, at: int, depth: int) -> tuple[dict[str, Any], Spot, int]:
        values: dict[str, Any] = {}
        keys: dict[str, int] = {}
        spots: dict[str, Spot] = {}
        start, at = at, self.skip(at + 1)
        if self.text.startswith("}", at):
            return values, Spot(start), at + 1
        while True:
            if not self.text.startswith('"', at):
                self.fail(at, self.word(at), "a key in double quotes")
            self.counted(at)
            key, end = self.string(at)
            if key in values:
                first = Lines(self.text).place(keys[key])
                self.fail(at, f"the key {shown(key)} again", f"each key once in an object (first at {first})")
            end = self.skip(end)
            if not self.text.startswith(":", end):
                self.fail(end, self.word(end), f'":" after the key {shown(key)}')
            keys[key] = at
            values[key], spots[key], end = self.value(self.skip(end + 1), depth + 1)
            at, more = self.after(end, "}")
            if not more:
                return values, Spot(start, keys, spots), at

    def after(self, at: int, close: str) -> tuple[int, bool]:
        """Where to read on behind a part of a list or object, and whether another part comes."""
        at = self.skip(at)
        if self.text.startswith(close, at):
            return at + 1, False
        if not self.text.startswith(",", at):
            self.fail(at, self.word(at), f'"," or "{close}"')
        behind = self.skip(at + 1)
        if self.text.startswith(close, behind):
            self.fail(at, f'a "," before "{close}"', f'no "," after the last part before "{close}"')
        return behind, True

    def string(self, at: int) -> tuple[str, int]:
        try:
            text, end = scanstring(self.text, at + 1, True)
        except json.JSONDecodeError as error:
            if error.msg.startswith("Unterminated"):
                self.fail(at, "a string without its closing quote", "a string that ends in a double quote")
            if error.msg.startswith("Invalid control"):
                self.fail(
                    error.pos, "a control character in a string", r"control characters written as \n, \t or \u00XX"
                )
            self.fail(
                error.pos, "a broken escape in a string", r"\" \\ \/ \b \f \n \r \t or \u and four hexadecimal digits"
            )
        half = _HALF_PAIR.search(text)
        if half:
            self.fail(at, f"half of a surrogate pair, {shown(half.group())}", "Unicode characters")
        return text, end

    def number(self, match: re.Match[str]) -> int | Decimal:
        def fail(found: str, allowed: str) -> NoReturn:
            self.fail(match.start(), found, allowed)

        follower = self.text[match.end() : match.end() + 1]
        if follower.isalnum() or follower in tuple(".+-_"):
            fail(self.word(match.start()), "a number as JSON writes it: 12, -3, 0.5 or 1e3")
        if len(match.group()) > MAX_NUMBER_LENGTH:
            fail(f"a number of {len(match.group())} characters", f"at most {MAX_NUMBER_LENGTH} characters")
        if match["fraction"] is None and match["exponent"] is None:
            return int(match.group())
        return _exact(Decimal(match.group()), match.group(), fail)


def _exact(value: Decimal, written: str, fail: Callable[[str, str], NoReturn]) -> int | Decimal:
    """An int where the number is whole; refused where no double could hold it."""
    if not value.is_finite():
        fail(written, "a finite number")
    # A zero may carry a vast exponent, which later arithmetic would have to write out.
    if value.is_zero():
        return 0
    if value.adjusted() > _LARGEST_EXPONENT:
        fail(written, f"a number smaller than 1e{_LARGEST_EXPONENT + 1}")
    if value.adjusted() < _SMALLEST_EXPONENT:
        fail(written, f"0, or a number of at least 1e{_SMALLEST_EXPONENT}")
    return int(value) if value == value.to_integral_value() else value


def _plain(data: Any, path: JsonPath, origin: str) -> Any:
    """The same data as JSON would have given it."""

    def fail(found: str, allowed: str) -> NoReturn:
        raise InputError([Problem(origin, path_text(path), found, allowed)])

    if isinstance(data, str):
        if _HALF_PAIR.search(data):
            fail("half of a surrogate pair", "Unicode characters")
        return str(data)
    if data is None or isinstance(data, bool):
        return data
    if isinstance(data, Integral):
        if abs(int(data)) >= 10**MAX_NUMBER_LENGTH:
            fail("a whole number too long to show", f"at most {MAX_NUMBER_LENGTH} digits")
        return int(data)
    if isinstance(data, Decimal):
        if len(data.as_tuple().digits) > MAX_NUMBER_LENGTH:
            fail(shown(data), f"at most {MAX_NUMBER_LENGTH} digits")
        return _exact(data, shown(data), fail)
    if isinstance(data, Real) and not isinstance(data, Rational):
        return _exact(Decimal(repr(float(data))), repr(float(data)), fail)
    if isinstance(data, Mapping | list | tuple) and len(path) >= MAX_DEPTH:
        fail(f"nesting deeper than {MAX_DEPTH}", f"at most {MAX_DEPTH} levels of lists and objects")
    if isinstance(data, Mapping):
        for key in data:
            if not isinstance(key, str) or _HALF_PAIR.search(key):
                fail(f"the key {shown(key)}", "keys that are strings of Unicode characters")
        return {str(key): _plain(value, (*path, key), origin) for key, value in data.items()}
    if isinstance(data, list | tuple):
        return [_plain(value, (*path, index), origin) for index, value in enumerate(data)]
    return fail(f"a value of type {type(data).__name__}", "a string, number, list, object, true, false or null")
