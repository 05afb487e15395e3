"""The rules of the house that a machine can watch over: where things stand, who imports whom, what agrees with what."""

import ast
import json
import re
import sys
from pathlib import Path

import jsonschema
import pytest

from reach.cli.app import app
from reach.errors import InputError
from reach.findings import MoveKind, Severity, Verdict
from reach.level import PlaceKind, level_from_dict, load_level
from reach.level_sources import READERS, load_any_level
from reach.level_sources.mapping import load_mapping
from reach.materials import MATERIALS
from reach.movement import load_movement
from reach.rules.registry import HEADINGS, all_rules
from reach.script import BUTTONS, load_script
from reach.world.rules import registry as world_registry
from reach.world.world_file import load_world
from tests.checkout import ROOT, tracked_files

FILES = tracked_files()
MODULES = [name for name in FILES if name.startswith("reach/") and name.endswith(".py")]
RULES = [
    name for name in MODULES if name.startswith("reach/rules/") and Path(name).stem not in ("__init__", "registry")
]
WORLD_RULES = [
    name
    for name in MODULES
    if name.startswith("reach/world/rules/") and Path(name).stem not in ("__init__", "registry")
]
SCHEMAS = [name for name in FILES if name.startswith("schemas/")]
SAMPLES = [name for name in FILES if name.startswith("sample_levels/") and name.endswith(".json")]

TOP_LEVEL = {
    ".ci",
    ".gitignore",
    ".pre-commit-hooks.yaml",
    "DEVELOPERS.md",
    "LICENSE",
    "README.md",
    "pyproject.toml",
    "reach",
    "sample_levels",
    "schemas",
    "tests",
}

LAYERS = (
    ("errors", "json_text", "files", "schema", "materials", "compiler", "kernels", "findings"),
    ("level", "movement", "script", "level_sources", "options", "settings", "wording", "timing", "areas", "simulator"),
    ("reachability", "verdicts"),
    ("graph",),
    ("evidence", "outlooks", "measures", "routes", "rest_starts", "proofs", "assembly", "workshop"),
    ("rules",),
    ("checker", "report", "world", "comparison"),
    ("cli",),
    ("__main__", "__init__"),
)
"""The parts of reach from the bottom up: a module imports from its own layer and from those below it."""

FORBIDDEN = (
    ("rules", ("simulator", "report", "cli"), "a rule judges what was found; it never simulates, prints or draws"),
    ("report", ("rules", "checker", "evidence", "graph"), "a report shows findings and never asks which rule it was"),
    ("checker", ("report", "cli", "world"), "a check says nothing to the user, and knows of one level"),
    ("world", ("report", "cli", "comparison"), "a run over a world says nothing to the user"),
    ("comparison", ("report", "cli", "rules"), "a comparison never asks which rule it was, and says nothing"),
)

TESTED_AS_A_WHOLE = {
    "reach/__init__.py": "tests/test_public_api.py",
    "reach/__main__.py": "tests/test_main.py",
}
CROSS_CUTTING = {
    "tests/kernels/test_closed_forms.py",
    "tests/kernels/test_independent_arcs.py",
    "tests/kernels/test_textbook.py",
    "tests/reachability/test_closure.py",
    "tests/reachability/test_z3.py",
    "tests/test_commit_hook.py",
    "tests/test_house_rules.py",
    "tests/test_packaging.py",
    "tests/test_readme.py",
    "tests/test_sample_levels.py",
    "tests/test_sample_movements.py",
}
"""Tests of many modules at once, or against something outside the project."""


def parse(name):
    return ast.parse((ROOT / name).read_text(encoding="utf-8"), name)


def imports(name):
    """The modules that a file imports when it runs, wherever in it; imports for the type checker do not count."""
    found = set()

    def visit(node):
        if isinstance(node, ast.If) and "TYPE_CHECKING" in ast.unparse(node.test):
            return
        if isinstance(node, ast.Import):
            found.update(alias.name for alias in node.names)
        elif isinstance(node, ast.ImportFrom):
            assert node.level == 0, f"{name}: a relative import"
            found.add(node.module)
            found.update(f"{node.module}.{alias.name}" for alias in node.names)
        for child in ast.iter_child_nodes(node):
            visit(child)

    visit(parse(name))
    return found


def part(module):
    """The part of reach a dotted module or a file belongs to."""
    words = module.removesuffix(".py").replace("/", ".").split(".")
    return words[1] if len(words) > 1 else "__init__"


def imported_parts(name):
    known = {each for layer in LAYERS for each in layer}
    reach_modules = {module for module in imports(name) if module.startswith("reach.")}
    return {part(module) for module in reach_modules if part(module) in known}


def layer_of(name):
    for height, layer in enumerate(LAYERS):
        if name in layer:
            return height
    raise AssertionError(f"the part {name} of reach has no layer: give it one in LAYERS")


def test_only_the_agreed_entries_at_the_top():
    assert {name.partition("/")[0] for name in FILES} <= TOP_LEVEL


@pytest.mark.parametrize("name", MODULES)
def test_imports_point_down(name):
    own = part(name)
    above = {each for each in imported_parts(name) if layer_of(each) > layer_of(own)}
    assert not above, f"{name} imports from above: {sorted(above)}"
    for where, what, why in FORBIDDEN:
        if own == where:
            assert not imported_parts(name) & set(what), why


@pytest.mark.parametrize("name", [name for name in MODULES if name.startswith("reach/kernels/")])
def test_kernels_import_kernels_and_numpy_only(name):
    foreign = {module.partition(".")[0] for module in imports(name)} - {"numpy", "reach"} - STANDARD_LIBRARY
    assert not foreign
    assert imported_parts(name) <= {"kernels", "compiler"}


STANDARD_LIBRARY = set(sys.stdlib_module_names)


@pytest.mark.parametrize("name", MODULES)
def test_no_module_has_a_name_of_the_standard_library(name):
    stem = Path(name).stem
    assert stem in ("__init__", "__main__") or stem not in STANDARD_LIBRARY
    assert stem not in ("utils", "helpers", "manager", "common", "misc")


@pytest.mark.parametrize("name", MODULES)
def test_only_the_command_line_prints_and_exits_and_nothing_asserts(name):
    speaks = name == "reach/__main__.py" or name.startswith("reach/cli/")
    for node in ast.walk(parse(name)):
        if isinstance(node, ast.Assert):
            # The type checker may be told what cannot be None; nothing else is for an assert outside of tests.
            assert ast.unparse(node.test).endswith(" is not None"), f"{name}:{node.lineno}: assert is for tests"
        if isinstance(node, ast.Call) and not speaks:
            called = ast.unparse(node.func)
            assert called not in ("print", "exit", "sys.exit", "os._exit", "input"), f"{name}:{node.lineno}: {called}"
        if isinstance(node, ast.Raise) and node.exc is not None:
            raised = ast.unparse(node.exc).partition("(")[0]
            assert raised not in ("Exception", "BaseException"), f"{name}:{node.lineno}: raise {raised}"


def test_tests_mirror_the_modules():
    """A test is named after what it tests, with a word behind where there are several: test_step_properties.py."""
    tests = {name for name in FILES if re.fullmatch(r"tests/(.*/)?test_\w+\.py", name)}
    assert tests >= CROSS_CUTTING | set(TESTED_AS_A_WHOLE.values())
    tested = [*MODULES, *(name for name in FILES if re.fullmatch(r"tests/(bench/)?[a-z_]+\.py", name))]
    stems = {mirror(name) for name in tested}
    for test in sorted(tests - CROSS_CUTTING - set(TESTED_AS_A_WHOLE.values())):
        words = test.removesuffix(".py").split("_")
        begins = {"_".join(words[:count]) for count in range(2, len(words) + 1)}
        assert begins & stems, f"{test} mirrors no module"


def mirror(name):
    """The path of a module's test, without its ending; a package's is named after the package, beside it or in it."""
    folder, _, stem = name.removesuffix(".py").removesuffix("/__init__").rpartition("/")
    folder = re.sub("^reach", "tests", folder)
    return f"{folder}/test_{stem}"


@pytest.mark.parametrize("name", [*RULES, *WORLD_RULES])
def test_a_rule_has_its_page_its_test_and_its_sample(name):
    of_a_world = name in WORLD_RULES
    stem = Path(name).stem
    assert f"tests/{'world/' if of_a_world else ''}rules/test_{stem}.py" in FILES
    assert f"sample_levels/{f'worlds/{stem}.world' if of_a_world else f'findings/{stem}'}.json" in FILES
    page = ast.get_docstring(parse(name)) or ""
    titles = re.findall(r"^(.+)\n-+$", page, re.MULTILINE)
    assert tuple(titles) == HEADINGS
    rules = world_registry.all_rules() if of_a_world else all_rules()
    assert stem.replace("_", "-") in {rule.id for rule in rules}


@pytest.mark.parametrize("name", SCHEMAS)
def test_a_schema_is_one_and_describes_everything(name):
    schema = json.loads((ROOT / name).read_text(encoding="utf-8"))
    jsonschema.Draft202012Validator.check_schema(schema)
    missing = []

    def visit(node, path):
        if isinstance(node, dict):
            for key, value in node.get("properties", {}).items():
                if "description" not in value:
                    missing.append(f"{path}/{key}")
            for key, value in node.items():
                if key not in ("if", "then", "else", "not"):
                    visit(value, f"{path}/{key}")
        elif isinstance(node, list):
            for index, value in enumerate(node):
                visit(value, f"{path}/{index}")

    visit(schema, "")
    assert missing == []


def choices(schema_name):
    """Every list of allowed values in a schema, as sets."""
    found = []

    def visit(node):
        if isinstance(node, dict):
            if "enum" in node:
                found.append({value for value in node["enum"] if value is not None})
            for value in node.values():
                visit(value)
        elif isinstance(node, list):
            for value in node:
                visit(value)

    visit(json.loads((ROOT / "schemas" / f"{schema_name}.schema.json").read_text(encoding="utf-8")))
    return found


@pytest.mark.parametrize(
    ("schema", "values"),
    [
        ("level", {kind.value for kind in PlaceKind}),
        ("level", {"reachable", "unreachable"}),
        ("script", set(BUTTONS)),
        ("report", {verdict.value for verdict in Verdict}),
        ("report", {severity.value for severity in Severity}),
        ("report", {kind.value for kind in MoveKind}),
        ("report", {kind.value for kind in PlaceKind}),
    ],
)
def test_schemas_allow_what_the_code_knows(schema, values):
    assert values in choices(schema)


@pytest.mark.parametrize("material", MATERIALS, ids=lambda material: material.name)
def test_every_material_can_be_drawn_and_a_launch_stands_by_springs_only(material):
    entry = {"material": material.name}
    if material.launches:
        entry["launch_px_per_s"] = 300
    data = {
        "format": "reach-level/1",
        "name": "Quay",
        "tile_px": 16,
        "rows": ["....", ".@..", "##Q#"],
        "symbols": {"Q": entry},
    }
    assert level_from_dict(data).material[2, 2] == material.code
    data["symbols"]["Q"] = {"material": material.name} if material.launches else entry | {"launch_px_per_s": 300}
    with pytest.raises(InputError):
        level_from_dict(data)


def test_there_are_samples():
    assert SAMPLES


@pytest.mark.parametrize("name", SAMPLES)
def test_every_sample_is_valid(name):
    load = {
        "reach-level": load_level,
        "reach-mapping": load_mapping,
        "reach-movement": load_movement,
        "reach-script": load_script,
        "reach-world": load_world,
    }
    data = json.loads((ROOT / name).read_text(encoding="utf-8"))
    load[data["format"].partition("/")[0]](ROOT / name)


@pytest.mark.parametrize("name", ["DEVELOPERS.md", "README.md"])
def test_every_path_and_command_in_the_documents_exists(name):
    text = (ROOT / name).read_text(encoding="utf-8")
    folders = {parent.as_posix() for file in FILES for parent in Path(file).parents}
    groups = {
        "": app,
        **{f"{group.typer_instance.info.name} ": group.typer_instance for group in app.registered_groups},
    }
    commands = {name.strip() for name in groups} | {
        name + (command.name or command.callback.__name__)
        for name, group in groups.items()
        for command in group.registered_commands
    }
    words = re.findall(r"`([^`\n]+)`", text)
    words += [word for block in re.findall(r"^```sh\n(.*?)^```", text, re.M | re.S) for word in block.split()]
    paths = [word for word in words if re.fullmatch(r"\.?[\w-]+(/[\w.-]+)*(/|\.(py|json|md|toml|png))", word)]
    tops = {file.partition("/")[0] for file in FILES}
    paths = [path for path in paths if path.partition("/")[0] in tops]
    assert paths
    for path in paths:
        assert path.rstrip("/") in FILES or path.rstrip("/") in folders, path
    for command in re.findall(r"(?:`|/|^)reach ((?:movement )?[a-z]+)\b", text, re.MULTILINE):
        assert command in commands, f"reach {command}"


def test_levels_of_other_forms_convert():
    sources = [name for name in FILES if name.startswith("sample_levels/convert/")]
    maps = [name for name in sources if Path(name).suffix in READERS]
    assert {Path(name).suffix for name in maps} == set(READERS)
    for name in maps:
        mapping = (ROOT / name).with_suffix(".mapping.json")
        load_any_level(ROOT / name, mapping if mapping.exists() else None, 16)
