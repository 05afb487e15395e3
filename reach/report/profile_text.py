"""The text of a movement file: an object or a list on one line where it fits."""

from __future__ import annotations

import json
from typing import Any

WIDTH = 110
"""A line is no longer than this where its parts can stand on lines of their own."""


def to_json(data: dict[str, Any]) -> str:
    """Return the text of a movement file with this content.

    Examples
    --------
    >>> print(to_json({"name": "barge", "body": {"width_px": 10, "height_px": 12.5}}), end="")
    {
      "name": "barge",
      "body": {"width_px": 10, "height_px": 12.5}
    }
    """
    return (
        "{\n"
        + ",\n".join(f"  {json.dumps(key)}: {_text(value, 2, len(key) + 4)}" for key, value in data.items())
        + "\n}\n"
    )


def _text(value: Any, indent: int, used: int) -> str:
    line = json.dumps(value, ensure_ascii=False)
    if not isinstance(value, dict | list) or indent + used + len(line) <= WIDTH:
        return line
    pad = " " * (indent + 2)
    if isinstance(value, list):
        return "[\n" + ",\n".join(f"{pad}{_text(each, indent + 2, 0)}" for each in value) + f"\n{' ' * indent}]"
    parts = (f"{pad}{json.dumps(key)}: {_text(each, indent + 2, len(key) + 4)}" for key, each in value.items())
    return "{\n" + ",\n".join(parts) + f"\n{' ' * indent}}}"
