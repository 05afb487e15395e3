"""Explorations of scenes, and what the oracle has to say about the same."""

from __future__ import annotations

from typing import Any

from reach.reachability.explore import Explorer
from reach.reachability.result import Exploration
from tests.micro_maps import Scene


def explored(scene: Scene, **options: Any) -> Exploration:
    """Explore a scene from its start to the fixpoint."""
    exploration = Explorer(scene.motion, scene.terrain).explore(scene.start, **options)
    assert exploration.complete, exploration.why
    return exploration
