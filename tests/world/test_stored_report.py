import dataclasses
from dataclasses import replace
from types import MappingProxyType

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from reach.checker import check
from reach.findings import Finding, Mark, MarkShape, Move, MoveKind, PlaceVerdict, Report, Severity, Verdict
from reach.script import Script, Step
from reach.world.stored_report import from_bytes, to_bytes
from tests.made_reports import MEANT, SOFTLOCK, TIGHT_LANDING, UNUSED, make_report
from tests.world_runs import drawn_job, drawn_task

SCRIPT = Script("Rope Walk", "lamplighter", "start-1", (Step(12, ("right",)), Step(3, ("right", "jump")), Step(1, ())))


def same(one, other):
    """Whether two values are equal and of the same types, all the way down."""
    if isinstance(one, np.ndarray):
        return isinstance(other, np.ndarray) and one.dtype == other.dtype and np.array_equal(one, other)
    if dataclasses.is_dataclass(one):
        names = [field.name for field in dataclasses.fields(one)]
        return type(one) is type(other) and all(same(getattr(one, name), getattr(other, name)) for name in names)
    if isinstance(one, dict):
        pairs = zip(one.items(), other.items(), strict=True)
        return type(other) is dict and all(same(a, b) and same(x, y) for (a, x), (b, y) in pairs)
    if isinstance(one, (list, tuple)):
        return type(one) is type(other) and len(one) == len(other) and all(map(same, one, other))
    return type(one) is type(other) and repr(one) == repr(other)


def assert_round_trip(report):
    data = to_bytes(report)
    assert same(report, from_bytes(data))
    assert to_bytes(from_bytes(data)) == data


@pytest.mark.parametrize("seed", [3, 14, 27, 259])
def test_a_real_report_comes_back_whole(seed):
    task = drawn_task(drawn_job(seed))
    assert_round_trip(check(task.level, task.movement, task.options))


def test_a_made_report_comes_back_whole():
    report = make_report(
        findings=(TIGHT_LANDING, SOFTLOCK, UNUSED, MEANT),
        scripts={"lamp": SCRIPT, "start-1": replace(SCRIPT, steps=())},
        coverage=np.arange(48 * 64).reshape(48, 64) % 7 == 0,
        complete=False,
        incomplete_why="the time limit of 3 s was reached",
    )
    assert_round_trip(report)
    assert from_bytes(to_bytes(report)).findings[0].details["cure"] == {"nearer_px": 5, "lower_px": None}


@pytest.mark.parametrize("shape", [(0, 0), (0, 8), (1, 1), (3, 5), (8, 8), (7, 9)])
def test_coverage_of_any_shape_comes_back(shape):
    full = np.ones(shape, np.bool_)
    assert_round_trip(make_report(coverage=full))
    # A view that does not lie in one piece says the same.
    wide = np.ones((shape[0], 2 * shape[1]), np.bool_)[:, ::2]
    assert to_bytes(make_report(coverage=wide)) == to_bytes(make_report(coverage=full))


def test_mappings_and_numbers_of_other_types_come_back_plain():
    found = replace(TIGHT_LANDING, details=MappingProxyType({"chance": np.float64(0.1), "kind": MoveKind.JUMP}))
    back = from_bytes(to_bytes(make_report(findings=(found,)))).findings[0].details
    assert back == {"chance": 0.1, "kind": "jump"}
    assert [type(value) for value in (back, *back.values())] == [dict, float, str]


TEXT = st.text(max_size=8)
NUMBERS = st.integers(-(10**20), 10**20) | st.floats(allow_nan=False)
TILES = st.tuples(st.integers(0, 4095), st.integers(0, 4095))
POINTS = st.tuples(st.floats(allow_nan=False), st.floats(allow_nan=False))
FREE = st.recursive(
    st.none() | st.booleans() | NUMBERS | TEXT,
    lambda inner: (
        st.lists(inner, max_size=3) | st.lists(inner, max_size=3).map(tuple) | st.dictionaries(TEXT, inner, max_size=3)
    ),
    max_leaves=8,
)


def several(strategy):
    return st.lists(strategy, max_size=3).map(tuple)


def maybe(strategy):
    return st.none() | strategy


MARKS = st.builds(Mark, st.sampled_from(MarkShape), several(TILES), several(POINTS), TEXT)
FINDINGS = st.builds(
    Finding,
    TEXT,
    st.sampled_from(Severity),
    maybe(TILES),
    TEXT,
    TEXT,
    st.dictionaries(TEXT, FREE, max_size=3),
    several(MARKS),
    maybe(TEXT),
)
PLACES = st.builds(
    PlaceVerdict,
    id=TEXT,
    kind=TEXT,
    at=TILES,
    required=st.booleans(),
    must_be=maybe(TEXT),
    verdict=st.sampled_from(Verdict),
    ticks=maybe(st.integers(0)),
)
MOVES = st.builds(
    Move,
    source=TILES,
    target=TILES,
    kind=st.sampled_from(MoveKind),
    air_ticks=st.integers(0),
    window_ticks=maybe(st.integers(0)),
    window_ms=maybe(NUMBERS),
    chance=maybe(NUMBERS),
    needs_speed=st.booleans(),
    arc_px=several(POINTS),
    touches=several(TEXT),
)
STEPS = st.builds(Step, st.integers(1), several(TEXT))
SCRIPTS = st.dictionaries(TEXT, st.builds(Script, TEXT, TEXT, TEXT, several(STEPS)), max_size=2)


@given(
    places=several(PLACES),
    moves=several(MOVES),
    findings=several(FINDINGS),
    scripts=SCRIPTS,
    route=several(st.integers(0)),
    route_to=maybe(TEXT),
    tiles=st.dictionaries(st.sampled_from(Verdict), several(TILES)),
    options=st.dictionaries(TEXT, FREE, max_size=3),
    body_px=POINTS,
    level_name=TEXT,
)
@settings(max_examples=30, deadline=None)
def test_any_report_comes_back_whole(**values):
    assert_round_trip(make_report(**values))


@pytest.mark.parametrize(
    "values",
    [
        {"columns": True},
        {"columns": 8.0},
        {"columns": None},
        {"level_name": 3},
        {"complete": 1},
        {"route": [0, 1]},
        {"body_px": (1.0, 2.0, 3.0)},
        {"findings": (replace(UNUSED, details={"at": {1, 2}}),)},
        {"findings": (replace(UNUSED, details={3: 4}),)},
        {"findings": (replace(UNUSED, details={"count": np.int64(3)}),)},
        {"coverage": np.zeros((4, 4), np.uint8)},
        {"coverage": np.zeros(4, np.bool_)},
    ],
)
def test_what_would_not_come_back_is_refused(values):
    with pytest.raises((TypeError, ValueError)):
        to_bytes(make_report(**values))


def test_every_changed_or_missing_byte_is_noticed():
    data = to_bytes(make_report(moves=(), places=(), route=(), coverage=np.ones((3, 3), np.bool_)))
    for at in range(len(data)):
        with pytest.raises(ValueError):
            from_bytes(data[:at] + bytes([data[at] ^ 0x10]) + data[at + 1 :])
        with pytest.raises(ValueError):
            from_bytes(data[:at])
    with pytest.raises(ValueError):
        from_bytes(data + b"\n")


def sealed(text, bits):
    """Bytes with a right checksum, whatever is in them."""
    import zlib

    from reach.world.stored_report import FORMAT, _digest

    body = zlib.compress(text.encode() + b"\n" + bits)
    return FORMAT + b" " + _digest(body) + b"\n" + body


@pytest.mark.parametrize(
    "change",
    [
        lambda fields: fields.pop("route"),
        lambda fields: fields.update(news=1),
        lambda fields: fields.pop("coverage"),
        lambda fields: fields.update(coverage=[100, 100]),
        lambda fields: fields.update(moves=[{"source": [0, 0]}]),
        lambda fields: fields.update(places=3),
        lambda fields: fields.update(body_px=[1]),
        lambda fields: fields.update(tiles={"perhaps": []}),
    ],
)
def test_fields_of_another_version_are_refused(change):
    import json
    import zlib

    text, _, bits = zlib.decompress(to_bytes(make_report()).partition(b"\n")[2]).partition(b"\n")
    assert same(from_bytes(sealed(text.decode(), bits)), make_report())
    fields = json.loads(text)
    change(fields)
    with pytest.raises(ValueError):
        from_bytes(sealed(json.dumps(fields), bits))


def test_every_field_of_a_report_is_stored():
    names = {field.name for field in dataclasses.fields(Report)}
    changed = make_report(complete=False, incomplete_why="x", has_ending=False)
    back = from_bytes(to_bytes(changed))
    assert {name for name in names if not same(getattr(back, name), getattr(make_report(), name))} == {
        "complete",
        "incomplete_why",
        "has_ending",
    }
