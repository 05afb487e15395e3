"""The package: built from the checkout, installed in a bare environment, used away from the checkout."""

import json
import os
import subprocess
import sys
import tarfile
import venv
import zipfile
from pathlib import Path

import pytest

from tests.checkout import ROOT, copy_checkout

pytestmark = pytest.mark.install
SCHEMAS = sorted(path.name for path in (ROOT / "schemas").glob("*.schema.json"))


def run(*words, cwd, **options):
    environment = {key: value for key, value in os.environ.items() if not key.startswith(("PYTHON", "VIRTUAL_ENV"))}
    ran = subprocess.run(
        [str(word) for word in words], cwd=cwd, env=environment, capture_output=True, text=True, check=False, **options
    )
    assert ran.returncode == 0, f"{' '.join(map(str, words))}\n{ran.stdout}\n{ran.stderr}"
    return ran.stdout


@pytest.fixture(scope="module")
def built(tmp_path_factory):
    """The sdist, and the wheel made of the sdist alone."""
    source = copy_checkout(tmp_path_factory.mktemp("packaging") / "checkout")
    out = source.parent / "dist"
    run(sys.executable, "-m", "build", "--no-isolation", "--outdir", out, cwd=source)
    (sdist,) = out.glob("*.tar.gz")
    (wheel,) = out.glob("*.whl")
    return sdist, wheel


@pytest.fixture(scope="module")
def bare(built, tmp_path_factory):
    """A folder with nothing in it, and the programs of an environment in which only the wheel was installed."""
    folder = tmp_path_factory.mktemp("bare")
    venv.create(folder / "environment", with_pip=True)
    programs = folder / "environment" / ("Scripts" if sys.platform == "win32" else "bin")
    run(programs / "python", "-m", "pip", "install", "--quiet", built[1], cwd=folder)
    (folder / "away").mkdir()
    return folder / "away", programs


def test_sdist_holds_what_a_tester_needs(built):
    with tarfile.open(built[0]) as archive:
        names = {name.partition("/")[2] for name in archive.getnames()}
    for name in ("pyproject.toml", "README.md", "DEVELOPERS.md", "LICENSE", "reach/__main__.py", "tests/oracle.py"):
        assert name in names
    assert {f"schemas/{name}" for name in SCHEMAS} <= names
    assert any(name.startswith("sample_levels/island/") for name in names)


def test_wheel_holds_the_program_its_schemas_and_nothing_else(built):
    assert SCHEMAS
    with zipfile.ZipFile(built[1]) as archive:
        names = set(archive.namelist())
    assert {f"reach/schemas/{name}" for name in SCHEMAS} <= names
    assert {name.partition("/")[0] for name in names if ".dist-info/" not in name} == {"reach"}
    modules = {path.relative_to(ROOT).as_posix() for path in (ROOT / "reach").rglob("*.py")}
    assert {name for name in names if name.endswith(".py")} == modules
    assert not [name for name in names if "__pycache__" in name or name.endswith((".nbi", ".nbc"))]


def test_the_command_runs_and_knows_its_version(bare):
    folder, programs = bare
    version = run(programs / "reach", "--version", cwd=folder)
    assert version.startswith("reach ")
    assert version == run(programs / "python", "-m", "reach", "--version", cwd=folder)
    assert "checkout" not in version


def test_a_check_runs_away_from_the_checkout(bare):
    folder, programs = bare
    level = {
        "format": "reach-level/1",
        "name": "Quay",
        "tile_px": 16,
        "rows": ["........", "........", "........", ".@....!.", "########"],
    }
    movement = (ROOT / "sample_levels" / "movement" / "lamplighter.json").read_bytes()
    (folder / "quay.json").write_text(json.dumps(level))
    (folder / "lamplighter.json").write_bytes(movement)
    words = ["check", "quay.json", "-m", "lamplighter.json", "--format", "json", "--image", "map.png", "--scripts", "p"]
    report = json.loads(run(programs / "reach", *words, cwd=folder))
    assert [place["verdict"] for place in report["places"]] == ["reachable", "reachable"]
    assert (folder / "map.png").read_bytes().startswith(b"\x89PNG")
    assert (folder / "p" / "goal-1.json").exists()


def test_the_public_names_import_there(bare):
    folder, programs = bare
    code = "import reach; [getattr(reach, name) for name in reach.__all__]; print(reach.__file__)"
    assert str(folder.parent) in str(Path(run(programs / "python", "-c", code, cwd=folder).strip()))
