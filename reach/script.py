"""A script: which buttons are down for how many ticks, from one place of a level on.

A script file (`reach-script/1`) is described key by key in `schemas/script.schema.json`.
"""

from __future__ import annotations

import json
from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache
from itertools import pairwise
from pathlib import Path
from typing import Any

import numpy as np

from reach.errors import InputError
from reach.files import read_json, write_text
from reach.json_text import Document, document_of
from reach.schema import validate

FORMAT = "reach-script/1"
MAX_TICKS = 1_000_000
"""The ticks of all steps of a script, together."""
BUTTONS = ("left", "right", "down", "run", "jump")
"""Every button, in the order in which a script lists them."""


@dataclass(frozen=True)
class Step:
    """The same buttons held down for `ticks` ticks, at least 1."""

    ticks: int
    buttons: tuple[str, ...]


@dataclass(frozen=True)
class Script:
    """The input of every tick after the start state, for the level and movement of these names.

    `from_place` is the id of the place it begins at, or "start".
    """

    level: str
    movement: str
    from_place: str
    steps: tuple[Step, ...]

    @property
    def ticks(self) -> int:
        """The length of the script in ticks."""
        return sum(step.ticks for step in self.steps)

    def inputs(self) -> np.ndarray:
        """Return the input of every tick.

        Returns
        -------
        int64 [ticks, 4]
            Columns: direction (-1, 0 or +1; left and right together are 0), down, run, jump.
        """
        rows = [_row(step.buttons) for step in self.steps]
        return np.repeat(_array(rows), np.array([step.ticks for step in self.steps], np.int64), axis=0)

    @classmethod
    def from_inputs(cls, inputs: np.ndarray, level: str, movement: str, from_place: str = "start") -> Script:
        """Return the shortest script that gives these inputs, an integer array as `inputs` returns it."""
        array = _array(inputs)
        changes = np.flatnonzero((array[1:] != array[:-1]).any(axis=1)) + 1
        bounds = [0, *changes.tolist(), len(array)] if len(array) else []
        steps = tuple(_step(end - begin, *array[begin].tolist()) for begin, end in pairwise(bounds))
        return cls(level, movement, from_place, steps)


def load_script(path: str | Path) -> Script:
    """Return the script in a JSON file; `-` reads standard input.

    Raises
    ------
    InputError
        If the file cannot be read or breaks a rule of the format; it names every problem.
    """
    return _script(read_json(path))


def script_from_dict(data: Any, origin: str = "<script>") -> Script:
    """Return the script that plain Python values tell, with the keys of a script file.

    Raises
    ------
    InputError
        If they break a rule of the format; it names every problem.
    """
    return _script(document_of(data, origin))


def script_to_dict(script: Script) -> dict[str, Any]:
    """Return a script with the keys of a script file, ready for JSON."""
    return {
        "format": FORMAT,
        "level": script.level,
        "movement": script.movement,
        "from": script.from_place,
        "steps": [{"ticks": step.ticks, "buttons": list(step.buttons)} for step in script.steps],
    }


def script_to_text(script: Script) -> str:
    """Return the text of a script file: one line a step.

    Raises
    ------
    InputError
        If the script breaks a rule of the format, so that the file could not be read back; it names every problem.
    """
    data = script_to_dict(script)
    script_from_dict(data)
    steps = data.pop("steps")
    lines = [f"  {json.dumps(key)}: {json.dumps(value, ensure_ascii=False)}," for key, value in data.items()]
    listed = ",\n".join(f"    {json.dumps(step)}" for step in steps)
    lines.append(f'  "steps": [\n{listed}\n  ]' if steps else '  "steps": []')
    return "{\n" + "\n".join(lines) + "\n}\n"


def save_script(script: Script, path: str | Path) -> None:
    """Write a script file, whole or not at all.

    Raises
    ------
    InputError
        If the script breaks a rule of the format.
    OutputError
        If it cannot be written.
    """
    write_text(path, script_to_text(script))


def _script(document: Document) -> Script:
    """The script a document tells, or every problem it has."""
    validate(document, "script")
    data = document.value
    steps = tuple(
        Step(step["ticks"], tuple(button for button in BUTTONS if button in step["buttons"])) for step in data["steps"]
    )
    script = Script(data["level"], data["movement"], data["from"], steps)
    if script.ticks > MAX_TICKS:
        raise InputError([document.problem(("steps",), f"{script.ticks} ticks", f"at most {MAX_TICKS} ticks")])
    return script


def _array(rows: Sequence[Sequence[int]] | np.ndarray) -> np.ndarray:
    return np.array(rows, np.int64).reshape(-1, 4)


def _row(buttons: Sequence[str]) -> tuple[int, int, int, int]:
    direction = ("right" in buttons) - ("left" in buttons)
    return direction, int("down" in buttons), int("run" in buttons), int("jump" in buttons)


@lru_cache(1 << 14)
def _step(ticks: int, direction: int, down: int, run: int, jump: int) -> Step:
    """Return a step, the same for the same values: scripts have thousands, of which few differ."""
    pressed = (direction < 0, direction > 0, down, run, jump)
    return Step(ticks, tuple(name for name, is_down in zip(BUTTONS, pressed, strict=True) if is_down))
