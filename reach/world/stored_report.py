"""A report as bytes and back, nothing lost: for files that keep reports, and for the way from process to process.

The first line tells the format and the SHA-256 of what follows: zlib's form of one line of JSON, with every field of
the report by its name, and the coverage as bits, eight to a byte. Nothing in it can run code as it is read.
"""

from __future__ import annotations

import dataclasses
import hashlib
import json
import math
import zlib
from collections.abc import Mapping
from enum import Enum
from functools import cache
from types import NoneType, UnionType
from typing import Any, Union, get_args, get_origin, get_type_hints

import numpy as np

from reach.findings import Report
from reach.script import Script

FORMAT = b"reach-stored-report/1"
LIST, TUPLE = "[", "("
"""What the first entry of a written sequence is, where its type tells nothing: such as in the details of a finding."""


def to_bytes(report: Report) -> bytes:
    """Return a report as bytes; equal reports give equal bytes.

    Raises
    ------
    TypeError
        If a field holds what its type does not allow, or a free one what JSON cannot tell.
    """
    fields = _written(report, Report)
    coverage = np.asarray(report.coverage)
    if coverage.dtype != np.bool_ or coverage.ndim != 2:
        raise TypeError(f"the coverage is {coverage.dtype} of {coverage.ndim} dimensions, not bool of 2")
    fields["coverage"] = coverage.shape
    text = json.dumps(fields, separators=(",", ":"))
    body = zlib.compress(text.encode() + b"\n" + np.packbits(coverage).tobytes())
    return b" ".join((FORMAT, _digest(body))) + b"\n" + body


def from_bytes(data: bytes) -> Report:
    """Return the report that was made into these bytes.

    Raises
    ------
    ValueError
        If they are damaged, or come from a version with other fields.
    """
    head, _, body = data.partition(b"\n")
    if head != b" ".join((FORMAT, _digest(body))):
        raise ValueError("not a stored report, or a damaged one")
    try:
        text, _, bits = zlib.decompress(body).partition(b"\n")
        fields = json.loads(text)
        rows, columns = fields.pop("coverage")
        report: Report = _read_fields(fields, Report, coverage=_unpacked(bits, rows, columns))
    except (zlib.error, LookupError, TypeError, AttributeError) as error:
        raise ValueError(f"a stored report of another version: {error}") from None
    return report


def _digest(body: bytes) -> bytes:
    return hashlib.sha256(body).hexdigest().encode()


def _unpacked(bits: bytes, rows: int, columns: int) -> np.ndarray:
    packed = np.frombuffer(bits, np.uint8)
    if packed.size != math.ceil(rows * columns / 8):
        raise ValueError(f"{packed.size} bytes of coverage for {rows} x {columns} cells")
    return np.unpackbits(packed, count=rows * columns).reshape(rows, columns).astype(np.bool_)


@cache
def _types(kind: type) -> dict[str, Any]:
    """The types of a dataclass's fields, all but the report's coverage, which is no JSON."""
    hints = get_type_hints(kind, localns={"np": np, "Script": Script})
    return {field.name: hints[field.name] for field in dataclasses.fields(kind) if hints[field.name] is not np.ndarray}


def _written(value: Any, kind: Any) -> Any:
    """A value of a declared type as JSON's values."""
    if kind is Any:
        return _freely_written(value)
    origin, parts = get_origin(kind), get_args(kind)
    if origin in (Union, UnionType):
        return None if value is None else _written(value, _present(parts))
    if dataclasses.is_dataclass(kind) and isinstance(kind, type):
        _require(value, kind)
        return {name: _written(getattr(value, name), part) for name, part in _types(kind).items()}
    if origin is tuple:
        _require(value, tuple)
        return [_written(item, part) for item, part in zip(value, _item_types(parts, len(value)), strict=True)]
    if origin is not None:
        _require(value, Mapping)
        return {_key(key): _written(item, parts[1]) for key, item in value.items()}
    # A whole number may stand where a fraction is declared; a truth value may not.
    _require(value, (int, float) if kind is float else kind, never=() if kind is bool else bool)
    return value.value if isinstance(value, Enum) else _scalar(value)


def _read(value: Any, kind: Any) -> Any:
    """The value of a declared type that was written."""
    if kind is Any:
        return _freely_read(value)
    origin, parts = get_origin(kind), get_args(kind)
    if origin in (Union, UnionType):
        return None if value is None else _read(value, _present(parts))
    if dataclasses.is_dataclass(kind) and isinstance(kind, type):
        return _read_fields(value, kind)
    if origin is tuple:
        return tuple(_read(item, part) for item, part in zip(value, _item_types(parts, len(value)), strict=True))
    if origin is not None:
        return {_read(key, parts[0]): _read(item, parts[1]) for key, item in value.items()}
    return kind(value) if issubclass(kind, Enum) else value


def _read_fields(written: Mapping[str, Any], kind: Any, **given: Any) -> Any:
    types = _types(kind)
    if types.keys() != written.keys():
        raise KeyError(f"fields of {kind.__name__}")
    return kind(**{name: _read(written[name], part) for name, part in types.items()}, **given)


def _present(parts: tuple[Any, ...]) -> Any:
    """The type of what is there, of one that may be None."""
    (kind,) = (part for part in parts if part is not NoneType)
    return kind


def _item_types(parts: tuple[Any, ...], count: int) -> tuple[Any, ...]:
    return (parts[0],) * count if parts[-1] is Ellipsis else parts


def _require(value: Any, kind: Any, never: Any = ()) -> None:
    if not isinstance(value, kind) or isinstance(value, never):
        raise TypeError(f"no report holds {value!r} there")


def _key(value: Any) -> str:
    _require(value, str)
    return str(value.value) if isinstance(value, Enum) else str(value)


def _scalar(value: Any) -> Any:
    """The plain value of one that may be of a subclass, such as numpy's numbers are."""
    for plain in (bool, int, float, str):
        if isinstance(value, plain):
            return plain(value)
    raise TypeError(f"no report holds {value!r}")


def _freely_written(value: Any) -> Any:
    if isinstance(value, Mapping):
        return {_key(key): _freely_written(item) for key, item in value.items()}
    if isinstance(value, (list, tuple)):
        return [LIST if isinstance(value, list) else TUPLE, *map(_freely_written, value)]
    return None if value is None else _scalar(value)


def _freely_read(value: Any) -> Any:
    if isinstance(value, dict):
        return {key: _freely_read(item) for key, item in value.items()}
    if isinstance(value, list):
        items = map(_freely_read, value[1:])
        return list(items) if value[0] == LIST else tuple(items)
    return value
