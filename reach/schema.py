"""Holding a document to its JSON Schema, and saying in plain words everywhere that it does not keep to it."""

from __future__ import annotations

import json
import re
from collections.abc import Iterable, Iterator, Mapping, Sequence
from difflib import get_close_matches
from functools import cache
from itertools import islice
from pathlib import Path
from typing import Any

from jsonschema import Draft202012Validator, ValidationError
from jsonschema.validators import extend
from referencing import Registry, Resource

from reach.errors import InputError, Problem
from reach.json_text import Document, JsonPath, shown

MOST_PROBLEMS = 1000
"""After so many problems a document is read no further."""

SUFFIX = ".schema.json"
KEYS_OF_MANY_KINDS = {"format", "name", "note"}
"""Keys that do not tell one kind of file from another."""
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
    file = next(path for folder in _FOLDERS if (path := folder / f"{name}{SUFFIX}").is_file())
    schema: Mapping[str, Any] = json.loads(file.read_text("utf-8"))
    return schema


def validate(document: Document, schema_name: str) -> None:
    """Check a document against a schema.

    Raises
    ------
    InputError
        If it breaks a rule of the schema; it names every place where it does, in the order of the file. A file of
        another kind breaks most rules, and is told as that alone.
    """
    errors = list(islice(_validator(schema_name).iter_errors(document.value), MOST_PROBLEMS))
    if not errors:
        return
    if of_another_kind := _other_kind(document, schema_name):
        raise InputError([of_another_kind])
    problems: dict[Problem, int] = {}
    for error, meant in _with_meant_keys(errors):
        offset, problem = _problem(document, error, meant)
        problems.setdefault(problem, offset)
    raise InputError(sorted(problems, key=lambda problem: problems[problem]))


def nearest(word: str, allowed: Iterable[str]) -> str:
    """Return a hint at the allowed word that looks most like this one, "" if none does.

    Examples
    --------
    >>> nearest("hieght_px", ["width_px", "height_px"])
    '; did you mean "height_px"?'
    """
    matches = _matches(word, allowed)
    return f"; did you mean {shown(matches[0])}?" if matches else ""


def _matches(word: str, allowed: Iterable[str]) -> list[str]:
    """The allowed word that looks most like this one, or none."""
    return get_close_matches(word[:80], list(allowed), n=1, cutoff=0.6)


def expectation(schema: Mapping[str, Any]) -> str:
    """Return in words what a schema allows: its title, what follows from its keywords, or its description.

    Examples
    --------
    >>> expectation({"type": "integer", "minimum": 4, "maximum": 256})
    'a whole number from 4 to 256'
    >>> expectation({"type": "number", "exclusiveMinimum": 0})
    'a number greater than 0'
    """
    if "title" in schema:
        return str(schema["title"])
    if "$ref" in schema:
        text = str(schema["description"])
        return text[0].lower() + text[1:].rstrip(".")
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


class KeyProblem(KeyError):
    """Carries the key that is missing from an object, or that a schema does not know."""

    @property
    def key(self) -> str:
        """The key."""
        return str(self.args[0])


@cache
def _validator(name: str) -> Any:
    keywords = {
        "items": _items,
        "pattern": _pattern,
        "required": _required,
        "propertyNames": _property_names,
        "additionalProperties": _additional_properties,
    }
    registry: Registry[Any] = Registry(retrieve=_resource)  # type: ignore[call-arg]
    return extend(Draft202012Validator, keywords)(load_schema(name), registry=registry)


def _resource(uri: str) -> Resource[Any]:
    """The schema that another one refers to by its file name."""
    return Resource.from_contents(load_schema(uri.removesuffix(SUFFIX)))


def _items(validator: Any, items: Any, instance: Any, schema: Mapping[str, Any]) -> Iterator[ValidationError]:
    """As the standard has it, but a list that is too long is not looked into: that is one problem, not a million."""
    if not isinstance(instance, list) or len(instance) > schema.get("maxItems", len(instance)):
        return
    for index, item in enumerate(instance):
        yield from validator.descend(item, items, path=index)


def _property_names(validator: Any, names: Any, instance: Any, schema: Mapping[str, Any]) -> Iterator[ValidationError]:
    """As the standard has it, but an object that is too large is not looked into."""
    if isinstance(instance, dict) and len(instance) <= schema.get("maxProperties", len(instance)):
        for key in instance:
            yield from validator.descend(key, names)


def _additional_properties(
    validator: Any, allowed: Any, instance: Any, schema: Mapping[str, Any]
) -> Iterator[ValidationError]:
    """As the standard has it, but with an error of its own for every key; an object too large is not looked into."""
    if not isinstance(instance, dict) or len(instance) > schema.get("maxProperties", len(instance)):
        return
    known = schema.get("properties", {})
    for key, value in instance.items():
        if key in known:
            continue
        if allowed is False:
            yield ValidationError("unknown key", cause=KeyProblem(key))
        else:
            yield from validator.descend(value, allowed, path=key)


def _required(validator: Any, required: Any, instance: Any, schema: Mapping[str, Any]) -> Iterator[ValidationError]:
    """As the standard has it, with the missing key kept."""
    if isinstance(instance, dict):
        for key in required:
            if key not in instance:
                yield ValidationError("missing key", cause=KeyProblem(key))


def _pattern(validator: Any, pattern: str, instance: Any, schema: Mapping[str, Any]) -> Iterator[ValidationError]:
    """As the standard has it: `$` is the end of the text, where Python would allow a line feed behind it."""
    if isinstance(instance, str) and not re.search(re.sub(r"\$$", r"\\Z", pattern), instance):
        yield ValidationError("pattern")


@cache
def _kinds() -> Mapping[str, Mapping[str, Any]]:
    """The schemas of all files that name their format, by that name."""
    folder = next(folder for folder in _FOLDERS if folder.is_dir())
    schemas = [load_schema(file.name.removesuffix(SUFFIX)) for file in sorted(folder.glob(f"*{SUFFIX}"))]
    return {schema["properties"]["format"]["const"]: schema for schema in schemas if "format" in schema["properties"]}


def _other_kind(document: Document, schema_name: str) -> Problem | None:
    """What is wrong with a file that is of another kind, by its format or, where that is none of ours, by its keys."""
    schema = load_schema(schema_name)
    data = document.value
    if not isinstance(data, dict) or "format" not in schema["properties"]:
        return None
    own = schema["properties"]["format"]["const"]
    told = data.get("format")
    if told == own:
        return None
    allowed = f"{schema['title']}, with the format {shown(own)}"
    if isinstance(told, str) and told in _kinds():
        return document.problem(("format",), f"{_kinds()[told]['title']}, {shown(told)}", allowed)

    def known(each: Mapping[str, Any]) -> int:
        return len((data.keys() & each["properties"].keys()) - KEYS_OF_MANY_KINDS)

    likeliest = max(_kinds().values(), key=known)
    without = 'no key "format"' if told is None else f"the format {shown(told)}"
    if known(likeliest) > max(known(schema), 1):
        return document.problem((), f"{without}, and the keys of {likeliest['title']}", allowed)
    if not known(schema) and (strange := [shown(key) for key in data if key not in schema["properties"]]):
        more = f" and {len(strange) - 3} more" if len(strange) > 3 else ""
        return document.problem((), f"{without}, and unknown keys: {', '.join(strange[:3])}{more}", allowed)
    return None


def _with_meant_keys(errors: Sequence[ValidationError]) -> Iterator[tuple[ValidationError, ValidationError | None]]:
    """Each error, and beside that of an unknown key the one that the key which it is likely meant to be is missing."""
    missing = {(tuple(error.absolute_path), _key(error)): error for error in errors if error.validator == "required"}
    meant: dict[int, ValidationError] = {}
    for error in errors:
        if error.validator == "additionalProperties":
            schema: Mapping[str, Any] = error.schema  # type: ignore[assignment]
            instance: Mapping[str, Any] = error.instance  # type: ignore[assignment]
            free = [key for key in schema.get("properties", {}) if key not in instance]
            for key in _matches(_key(error), free):
                if (place := (tuple(error.absolute_path), key)) in missing:
                    meant[id(error)] = missing.pop(place)
    for error in errors:
        if error.validator != "required" or (tuple(error.absolute_path), _key(error)) in missing:
            yield error, meant.get(id(error))


def _key(error: ValidationError) -> str:
    """The key that is missing or unknown."""
    return str(getattr(error.cause, "key", ""))


def _entry_words(schema: Any, key: str) -> str:
    return f"{shown(key)}: {expectation(schema['properties'][key])}"


def _problem(document: Document, error: ValidationError, meant: ValidationError | None) -> tuple[int, Problem]:
    """What a validation error says, in plain words, and where in the file it stands.

    `meant` is the error of the missing key that an unknown one is likely meant to be.
    """
    path: JsonPath = tuple(error.absolute_path)
    schema: Mapping[str, Any] = error.schema  # type: ignore[assignment]
    instance: Any = error.instance
    at_key: str | None = None
    found = shown(instance)
    allowed = expectation(schema)
    if isinstance(error.cause, KeyProblem) and error.validator == "required":
        found = f"no key {shown(error.cause.key)}"
        allowed = _entry_words(schema, error.cause.key)
    elif isinstance(error.cause, KeyProblem):
        at_key = error.cause.key
        known = list(schema.get("properties", {}))
        found = f"the unknown key {shown(at_key)}"
        allowed = f"in {expectation(schema)}: {', '.join(known)}{nearest(at_key, known)}"
        if meant is not None:
            missing = _key(meant)
            found += f", and no key {shown(missing)}"
            allowed = f"{_entry_words(meant.schema, missing)}; did you mean {shown(missing)}?"
    elif "propertyNames" in error.absolute_schema_path:
        at_key = str(instance)
        found = f"the key {shown(at_key)}"
    elif error.validator == "type" and schema["type"] == "object":
        allowed = f"an object: {allowed}"
    elif error.validator == "enum" and isinstance(instance, str):
        allowed += nearest(instance, (value for value in schema["enum"] if isinstance(value, str)))
    elif error.validator == "uniqueItems":
        allowed = "each entry at most once"
    elif isinstance(instance, str) and error.validator == "maxLength":
        found = f"a string of {len(instance)} characters"
    return document.offset(path, at_key), document.problem(path, found, allowed, at_key)


def _span(low: int, high: int | None) -> str:
    if high is None:
        return f"at least {low}"
    return str(low) if low == high else f"{low} to {high}"
