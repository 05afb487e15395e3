"""What a project sets: where it is looked for, what is refused, and in which words."""

import math

import pytest

from reach.errors import InputError
from reach.options import MOST_TIME_S, MOST_WINDOW_MS, CheckOptions
from reach.schema import load_schema
from reach.settings import KEYS, PATHS, descriptions, find_settings


@pytest.fixture
def project(tmp_path, monkeypatch):
    """A repository with a folder in it, in which the test runs."""
    (tmp_path / ".git").mkdir()
    (tmp_path / "levels").mkdir()
    monkeypatch.chdir(tmp_path / "levels")
    return tmp_path


def refused():
    with pytest.raises(InputError) as error:
        find_settings()
    return str(error.value)


def test_the_nearest_file_holds_and_its_paths_lead_from_where_it_stands(project):
    (project / "reach.toml").write_text('movement = "moves/walker.json"\nwindow_ms = 42.5\njobs = 2\n')
    found = find_settings()
    assert (found.file, found.looked_in) == ("../reach.toml", (".", ".."))
    assert found.values == {"movement": "../moves/walker.json", "window_ms": 42.5, "jobs": 2}
    (project / "levels" / "pyproject.toml").write_text('[tool.other]\na = 1\n[tool.reach]\nfail_on = "note"\n')
    found = find_settings()
    assert (found.file, found.looked_in, found.values) == ("pyproject.toml", (".",), {"fail_on": "note"})


def test_a_file_without_the_table_is_passed_by_and_nothing_above_the_repository_is_read(project, monkeypatch):
    (project / "reach.toml").write_text("jobs = 2\n")
    inner = project / "levels" / "game"
    (inner / ".git").mkdir(parents=True)
    (inner / "pyproject.toml").write_text('[project]\nname = "game"\n')
    monkeypatch.chdir(inner)
    found = find_settings()
    assert (found.file, found.looked_in, found.values) == ("", (".",), {})


def test_settings_in_both_files_of_a_folder_are_refused(project):
    (project / "reach.toml").write_text("jobs = 2\n")
    (project / "pyproject.toml").write_text("[tool.reach]\njobs = 3\n")
    assert refused() == (
        "../pyproject.toml: tool.reach: found settings, and ../reach.toml beside it; "
        "allowed: settings in one of the two"
    )


@pytest.mark.parametrize(
    ("text", "told"),
    [
        ("windw_ms = 40", ["windw_ms: found the unknown key", 'did you mean "window_ms"?']),
        ('window_ms = "40"', ['window_ms: found "40"; allowed: a number from 0 to 1000']),
        ("window_ms = nan", ["window_ms: found", "a finite number"]),
        ("jobs = 0", ["jobs: found 0; allowed: a whole number from 1 to 256"]),
        ("jobs = true", ["jobs: found true"]),
        ("time_limit = 2020-01-01", ["time_limit: found a value of type date"]),
        ('fail_on = "eror"', ['fail_on: found "eror"', 'did you mean "error"?']),
        ("jobs = 2\njobs = 3", ["text that is no TOML (cannot overwrite a value (at ", "allowed: TOML 1.0"]),
        ("jobs = 300\ncahe = 1", ["jobs: found 300", 'did you mean "cache"?']),
    ],
)
def test_a_mistake_names_file_key_found_and_allowed(project, text, told):
    (project / "reach.toml").write_text(text)
    message = refused()
    assert all(line.startswith("../reach.toml: ") for line in message.splitlines())
    for words in told:
        assert words in message


def test_a_mistake_in_a_shared_file_names_the_table(project):
    (project / "pyproject.toml").write_text("[tool.reach]\njobs = 300\n")
    assert refused().startswith("../pyproject.toml: tool.reach.jobs: found 300")
    (project / "pyproject.toml").write_text("[tool]\nreach = 3\n")
    assert refused().startswith("../pyproject.toml: tool.reach: found 3")


def test_a_file_that_is_set_has_to_be_there(project):
    (project / "reach.toml").write_text('movement = "-"\nworld = "a.world.json"\n')
    with pytest.raises(InputError) as error:
        find_settings().path("world")
    assert str(error.value) == (
        '../reach.toml: world: found "../a.world.json", where there is nothing; '
        "allowed: the path of a file or a folder, from the folder of ../reach.toml"
    )
    (project / "reach.toml").rename(project / "levels" / "reach.toml")
    assert find_settings().values["movement"] == "./-", "a file of that name, not standard input"


def test_the_schema_allows_what_a_check_takes():
    entries = load_schema("settings")["properties"]
    assert list(KEYS) == list(descriptions()) == list(entries) and set(PATHS) < set(entries)
    assert (entries["window_ms"]["maximum"], entries["time_limit"]["maximum"]) == (MOST_WINDOW_MS, MOST_TIME_S)
    CheckOptions("start", entries["window_ms"]["minimum"], math.ulp(0.0), math.ulp(0.0), 1)
