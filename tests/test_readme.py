"""README: its commands run as written, its tables say what the code says, its links lead somewhere."""

import json
import re
import subprocess

import pytest
from PIL import Image, ImageChops

import reach
from reach.findings import Verdict
from reach.level import level_from_dict
from reach.materials import MATERIALS
from reach.movement import load_movement, movement_from_dict
from reach.rules.registry import all_rules
from reach.script import load_script
from reach.workshop.tracing import trace_script
from reach.world.rules import registry as world_registry
from tests.checkout import ROOT, copy_checkout
from tests.readme import README, blocks

JSON_BLOCK = r"^```json\n(.*?)^```$"
TEXT = README.read_text(encoding="utf-8")


def table_under(heading):
    """The rows of the first table below a heading, cells stripped, without the header."""
    below = TEXT.partition(f"\n## {heading}\n")[2].partition("\n## ")[0]
    assert below, f"no heading {heading}"
    rows = [line for line in below.splitlines() if line.startswith("|")]
    return [[cell.strip() for cell in re.split(r"(?<!\\)\|", row)[1:-1]] for row in rows[2:]]


def test_the_findings_are_those_that_the_rules_make():
    assert [row[0].strip("`") for row in table_under("What it finds")] == [rule.id for rule in all_rules()]
    of_worlds = [rule.id for rule in world_registry.all_rules()]
    assert [row[0].strip("`") for row in table_under("A whole world")] == of_worlds


def test_the_world_shown_is_the_sample():
    (shown,) = re.findall(r"^```\n(\{\n.*?)^```$", TEXT, re.MULTILINE | re.DOTALL)
    sample = json.loads(
        (ROOT / "sample_levels" / "worlds" / "missable_for_good.world.json").read_text(encoding="utf-8")
    )
    assert json.loads(shown) == {key: value for key, value in sample.items() if key != "note"}


def test_the_materials_are_those_of_the_code():
    rows = {row[0].strip("`"): row for row in table_under("Tiles and places")}
    for material in MATERIALS:
        symbols = "".join(re.findall("`(.)`", rows[material.name][1]))
        assert symbols == material.symbols.replace(" ", ""), material.name
        assert (rows[material.name][2], rows[material.name][3]) == (
            "yes" if material.blocks else "no",
            "yes" if material.carries else "no",
        )


def test_links_lead_to_files_and_headings():
    headings = {
        re.sub(r"[^a-z0-9 -]", "", line.lstrip("# ").lower()).replace(" ", "-")
        for line in TEXT.splitlines()
        if line.startswith("#")
    }
    links = re.findall(r"\]\(([^)]+)\)", TEXT)
    assert links
    for link in links:
        file, _, heading = link.partition("#")
        assert "://" not in link, "README needs no network"
        assert (ROOT / file).exists(), link
        if not file:
            assert heading in headings, link


def test_every_format_is_in_the_table():
    formats = {path.name: json.loads(path.read_text())["properties"] for path in (ROOT / "schemas").glob("*.json")}
    properties = formats.pop("settings.schema.json")  # a table in a file of another format, so it names none
    assert "format" not in properties
    assert "settings, `reach.toml` | [schemas/settings.schema.json](schemas/settings.schema.json)" in TEXT
    for file, properties in formats.items():
        assert f"`{properties['format']['const']}` | [schemas/{file}](schemas/{file})" in TEXT


def test_the_level_shown_is_one_and_keeps_its_promise():
    text, _, _ = re.findall(JSON_BLOCK, TEXT, re.MULTILINE | re.DOTALL)
    level = level_from_dict(json.loads(text))
    assert level.place("attic").must_be == "unreachable"
    report = reach.check(level, load_movement(ROOT / "sample_levels" / "movement" / "lamplighter.json"))
    assert [(place.id, place.verdict) for place in report.places if place.kind != "start"] == [
        ("goal-1", Verdict.REACHABLE),
        ("attic", Verdict.UNREACHABLE),
    ]


def test_the_profile_shown_is_one_and_jumps_as_high_as_it_says():
    """The height of a held jump from rest: the formula of uniform motion, v^2 / 2g, to within a tick's step."""
    _, text, _ = re.findall(JSON_BLOCK, TEXT, re.MULTILINE | re.DOTALL)
    motion = movement_from_dict(json.loads(text)).motion
    launch, gravity = int(motion.jump_launch[0]), int(motion.jump_gravity_held[0])
    assert launch**2 / (2 * gravity) / 65536 == pytest.approx(58, abs=launch / 65536)
    assert (motion.coyote_ticks, motion.buffer_ticks, motion.drop_through) == (4, 5, 1)


def test_the_script_shown_is_one_and_jumps(tmp_path):
    _, _, text = re.findall(JSON_BLOCK, TEXT, re.MULTILINE | re.DOTALL)
    (tmp_path / "script.json").write_text(text, encoding="utf-8")
    script = load_script(tmp_path / "script.json")
    movement = load_movement(ROOT / "sample_levels" / "movement" / f"{script.movement}.json")
    trace = trace_script(movement, script)
    assert trace.warnings == ()
    assert trace.y_spx.min() < 0 == trace.y_spx[-1]


def test_every_block_for_powershell_says_the_same_as_the_one_for_a_shell():
    pairs = [block for block in blocks() if block.powershell]
    assert len(pairs) >= 2
    for block in pairs:
        shell = block.shell.replace("python3 -m venv", "py -m venv").replace(".venv/bin/", ".venv/Scripts/")
        assert block.powershell.replace("\\", "/").replace("`\n", "\\\n") == shell


def test_one_command_runs_the_tests_and_the_others_use_reach():
    assert sum(block.runs_the_tests for block in blocks()) == 1
    assert all(".venv/bin/" in block.shell for block in blocks())


@pytest.mark.install
def test_every_other_command_runs_as_written(tmp_path):
    checkout = copy_checkout(tmp_path / "checkout")
    told = ""
    for block in blocks():
        if block.runs_the_tests:
            continue
        ran = subprocess.run(
            ["sh", "-e", "-c", block.shell],
            cwd=checkout,
            stdin=subprocess.DEVNULL,
            capture_output=True,
            text=True,
            check=False,
        )
        assert ran.returncode == block.exit_code, f"{block.shell}\n{ran.stdout}\n{ran.stderr}"
        assert "internal error" not in ran.stderr
        told += ran.stdout + ran.stderr
    for shown in re.findall(r"^```text\n(.*?)^```$", TEXT, re.MULTILINE | re.DOTALL):
        for line in shown.splitlines():
            assert line in told, f"README shows what no command says: {line}"
    assert len(list((checkout / "proofs").glob("*.json"))) > 1
    # README shows the pictures that its first commands draw.
    shown = re.findall(r"!\[.*\]\((.*\.png)\)", TEXT)
    assert "sample_levels/pictures/island_world.png" in shown
    for made, picture in (("map.png", shown[0]), ("island.png", "sample_levels/pictures/island_world.png")):
        with Image.open(checkout / made) as drawn, Image.open(ROOT / picture) as kept:
            assert ImageChops.difference(drawn.convert("RGB"), kept.convert("RGB")).getbbox() is None
