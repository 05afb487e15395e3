"""The text of a movement file: one line a group of numbers, decimals as they are."""

from __future__ import annotations

import json
from collections.abc import Mapping
from decimal import Decimal
from typing import Any

_WIDTH = 110


def to_text(data: Mapping[str, Any]) -> str:
    """Return a movement file's content as JSON text; Decimals keep every digit.

    Examples
    --------
    >>> print(to_text({"name": "stroller", "fall": {"terminal_speed": Decimal("310.5")}}), end="")
    {
      "name": "stroller",
      "fall": {"terminal_speed": 310.5}
    }
    """
    return _text(data, 0, 1) + "\n"


def _text(value: Any, depth: int, opened: int = 0) -> str:
    """A value as JSON; what is `opened` or too wide for a line gets one line an entry."""
    line = _on_one_line(value)
    if not isinstance(value, Mapping | list) or (not opened and len(line) + 2 * depth <= _WIDTH):
        return line
    indent = "  " * (depth + 1)
    if isinstance(value, Mapping):
        entries = [f"{indent}{json.dumps(key)}: {_text(part, depth + 1)}" for key, part in value.items()]
        return "{\n" + ",\n".join(entries) + "\n" + "  " * depth + "}"
    return "[\n" + ",\n".join(f"{indent}{_text(part, depth + 1)}" for part in value) + "\n" + "  " * depth + "]"


def _on_one_line(value: Any) -> str:
    if isinstance(value, Decimal):
        return format(value, "f")
    if isinstance(value, Mapping):
        return "{" + ", ".join(f"{json.dumps(key)}: {_on_one_line(part)}" for key, part in value.items()) + "}"
    if isinstance(value, list):
        return "[" + ", ".join(map(_on_one_line, value)) + "]"
    return json.dumps(value, ensure_ascii=False)
