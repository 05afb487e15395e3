"""Holding a document to its JSON Schema, and saying in plain words everywhere that it does not keep to it."""

from __future__ import annotations

import json
import re
from collections.abc import Iterable, Iterator, Mapping
from difflib import get_close_matches
from functools import cache
from itertools import islice
from pathlib import Path
from typing import Any

from jsonschema import Draft202012Validator, ValidationError
from jsonschema.validators import extend

from reach.errors import InputError, Problem
from reach.json_text import Document, JsonPath, shown

MOST_PROBLEMS = 10_000
"""After so many problems a document is read no further."""

_FOLDERS = (Path(__file__).parent / "schemas", Path(__file__).parent.parent / "schemas")
_NOUNS = {
    "string": "a string",
    "integer": "a whole number",
    "number": "a number",
    "boolean": "true or false",
    "array": "a list",
    "object": "an object",
    "null": "null",
}


@cache
def load_schema(name: str) -> Mapping[str, Any]:
    """Return the schema of this name ("level", "movement", ...), from the installed package or from the checkout."""
    file = next(path for folder in _FOLDERS if (path := folder / f"{name}.schema.json").is_file())
    schema: Mapping[str, Any] = json.loads(file.read_text("utf-8"))
    return schema


def validate(document: Document, schema_name: str) -> None:
    """Check a document against a schema.

    Raises
    ------
    InputError
        If it breaks a rule of the schema; it names every place where it does, in the order of the file.
    """
    errors = islice(_validator(schema_name).iter_errors(document.value), MOST_PROBLEMS)
    problems: dict[Problem, int] = {}
    for error in errors:
        offset, problem = _problem(document, error)
        problems.setdefault(problem, offset)
    if problems:
        raise InputError(sorted(problems, key=lambda problem: problems[problem]))


def nearest(word: str, allowed: Iterable[str]) -> str:
    """Return a hint at the allowed word that looks most like this one, "" if none does.

    Examples
    --------
    >>> nearest("hieght_px", ["width_px", "height_px"])
    '; did you mean "height_px"?'
    """
    matches = get_close_matches(word[:80], list(allowed), n=1, cutoff=0.6)
    return f"; did you mean {shown(matches[0])}?" if matches else ""


def expectation(schema: Mapping[str, Any]) -> str:
    """Return in words what a schema allows: its title, or what follows from its keywords.

    Examples
    --------
    >>> expectation({"type": "integer", "minimum": 4, "maximum": 256})
    'a whole number from 4 to 256'
    >>> expectation({"type": "number", "exclusiveMinimum": 0})
    'a number greater than 0'
    """
    if "title" in schema:
        return str(schema["title"])
    if "const" in schema:
        return json.dumps(schema["const"])
    if "enum" in schema:
        return "one of " + ", ".join(json.dumps(value) for value in schema["enum"])
    types = schema.get("type", [])
    noun = " or ".join(_NOUNS[each] for each in ([types] if isinstance(types, str) else types)) or "another value"
    for low, high, what in (("minItems", "maxItems", ""), ("minLength", "maxLength", " characters")):
        if low in schema or high in schema:
            return f"{noun} of {_span(schema.get(low, 0), schema.get(high))}{what}"
    if "minimum" in schema and "maximum" in schema:
        return f"{noun} from {schema['minimum']} to {schema['maximum']}"
    bounds = [
        f"{words} {schema[key]}"
        for key, words in (("minimum", "at least"), ("exclusiveMinimum", "greater than"), ("maximum", "at most"))
        if key in schema
    ]
    return " ".join([noun, " and ".join(bounds)]).strip()


@cache
def _validator(name: str) -> Any:
    keywords = {"items": _items, "pattern": _pattern, "additionalProperties": _additional_properties}
    return extend(Draft202012Validator, keywords)(load_schema(name))


def _items(validator: Any, items: Any, instance: Any, schema: Mapping[str, Any]) -> Iterator[ValidationError]:
    """As the standard has it, but a list that is too long is not looked into: that is one problem, not a million."""
    if not isinstance(instance, list) or len(instance) > schema.get("maxItems", len(instance)):
        return
    for index, item in enumerate(instance):
        yield from validator.descend(item, items, path=index)


def _pattern(validator: Any, pattern: str, instance: Any, schema: Mapping[str, Any]) -> Iterator[ValidationError]:
    """As the standard has it: `$` is the end of the text, where Python would allow a line feed behind it."""
    if isinstance(instance, str) and not re.search(re.sub(r"\$$", r"\\Z", pattern), instance):
        yield ValidationError("pattern")


def _additional_properties(
    validator: Any, allowed: Any, instance: Any, schema: Mapping[str, Any]
) -> Iterator[ValidationError]:
    """As the standard has it, but with an error of its own for every key, at the key."""
    if not isinstance(instance, dict):
        return
    known = schema.get("properties", {})
    if allowed is not False:
        for key, value in instance.items():
            if key not in known:
                yield from validator.descend(value, allowed, path=key)
        return
    for key in instance:
        if key not in known:
            yield ValidationError("unknown key", cause=UnknownKey(key))


class UnknownKey(KeyError):
    """Carries the name of a key that a schema does not know."""


def _problem(document: Document, error: ValidationError) -> tuple[int, Problem]:
    """What a validation error says, in plain words, and where in the file it stands."""
    path: JsonPath = tuple(error.absolute_path)
    schema: Mapping[str, Any] = error.schema  # type: ignore[assignment]
    instance: Any = error.instance
    key: str | None = None
    found = shown(instance)
    if isinstance(error.cause, UnknownKey):
        key = str(error.cause.args[0])
        known = list(schema.get("properties", {}))
        found = f"the unknown key {shown(key)}"
        name = f"in {schema['title']}: " if "title" in schema else ""
        allowed = f"{name}{', '.join(known)}{nearest(key, known)}"
    elif error.validator == "required":
        missing = next(each for each in schema["required"] if each not in instance and f"'{each}'" in error.message)
        found = f"no key {shown(missing)}"
        allowed = f"the key {shown(missing)}: {expectation(schema['properties'][missing])}"
    elif "propertyNames" in error.absolute_schema_path:
        key = str(instance)
        found = f"the key {shown(key)}"
        allowed = expectation(schema)
    elif error.validator == "uniqueItems":
        found, allowed = "the same entry twice", "each entry at most once"
    elif error.validator in ("minLength", "maxLength") and len(instance) > 40:
        found, allowed = f"a string of {len(instance)} characters", expectation(schema)
    else:
        allowed = expectation(schema)
    return document.offset(path, key), document.problem(path, found, allowed, key)


def _span(low: int, high: int | None) -> str:
    if high is None:
        return f"at least {low}"
    return str(low) if low == high else f"{low} to {high}"
