"""The names that `import reach` offers: all there, lazy, and the same for a type checker."""

import ast
import subprocess
import sys
from importlib.metadata import PackageNotFoundError
from pathlib import Path

import pytest

import reach

SOURCE = Path(reach.__file__).read_text(encoding="utf-8")


@pytest.mark.parametrize("name", reach.__all__)
def test_every_name_is_there(name):
    assert getattr(reach, name) is not None
    assert name in dir(reach)


def test_names_are_sorted_and_documented():
    assert sorted(reach.__all__) == sorted(set(reach.__all__))
    for name in set(reach.__all__) - {"__version__"}:
        assert (getattr(reach, name).__doc__ or "").strip(), name


def test_the_type_checker_sees_the_same_names_from_the_same_modules():
    (block,) = [node for node in ast.parse(SOURCE).body if isinstance(node, ast.If)]
    imported = {
        alias.name: node.module for node in block.body if isinstance(node, ast.ImportFrom) for alias in node.names
    }
    assert imported == reach._MODULE_OF
    assert {*imported, "__version__"} == set(reach.__all__)


def test_importing_loads_nothing_heavy():
    code = (
        "import sys, reach; print([m for m in ('numba', 'numpy', 'networkx', 'PIL', 'jsonschema') if m in sys.modules])"
    )
    ran = subprocess.run(
        [sys.executable, "-c", code], cwd=Path(reach.__file__).parents[1], capture_output=True, text=True, check=True
    )
    assert ran.stdout == "[]\n"


def test_an_unknown_name_is_an_attribute_error():
    with pytest.raises(AttributeError, match="no_such_name"):
        reach.no_such_name


def test_version_is_the_distributions_or_says_that_there_is_none(monkeypatch):
    def missing(name):
        raise PackageNotFoundError(name)

    monkeypatch.setattr("importlib.metadata.version", lambda name: f"9.9 of {name}")
    assert reach._version() == "9.9 of levelreach"
    monkeypatch.setattr("importlib.metadata.version", missing)
    assert reach._version() == "0+checkout"
