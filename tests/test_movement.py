"""Movement profiles: exact compiling, its rounding report, and what a file may not say."""

import json
from decimal import ROUND_HALF_UP, Decimal, localcontext
from fractions import Fraction

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from reach.errors import InputError
from reach.kernels.params import Motion
from reach.movement import compile_number, compile_speed, half_away, load_movement, movement_from_dict
from tests.made_files import movement_data, refused
from tests.oracle_files import compile_rules

PX = 65536


def motion(**changes):
    return movement_from_dict(movement_data(**changes)).motion


def rounded(value):
    """The nearest whole number, halves away from 0, by the standard library's decimal module (an independent rounding).

    The rule is roundTiesToAway of IEEE 754; ROUND_HALF_UP is its name in the General Decimal Arithmetic Specification.
    """
    with localcontext() as context:
        context.prec = 400
        exact = Decimal(value.numerator) / Decimal(value.denominator)
        return int(exact.quantize(Decimal(1), rounding=ROUND_HALF_UP))


@given(st.fractions(max_denominator=10**6) | st.integers(-(10**6), 10**6).map(lambda n: Fraction(n, 2)))
def test_rounding_is_half_away_from_zero(value):
    assert half_away(value) == rounded(value)


@given(st.decimals(0, 3840, places=6), st.integers(10, 1000))
def test_a_speed_is_rounded_once_from_the_decimal_as_written(speed, rate):
    exact = Fraction(speed) * PX / rate
    expected = max(rounded(exact), 1) if speed else 0
    assert compile_speed(speed, rate) == expected


def test_what_is_positive_stays_positive():
    assert compile_number(Fraction(0)) == 0
    assert compile_number(Fraction(1, 10**9)) == 1
    assert motion(air__drag=1e-12, fall__terminal_speed=1e-300).drag == 1
    assert motion(body__width_px=1e-9).body_w == 1
    assert motion(air__drag=0).drag == 0


def test_the_number_the_model_gives_as_an_example():
    """150 px/s^2 at 60 Hz becomes 2731, 0.012 % off (motion model, section 3)."""
    movement = movement_from_dict(movement_data(air__acceleration=150))
    assert movement.motion.air_accel.tolist() == [2731]
    (rounding,) = [each for each in movement.roundings if each.value == "air.acceleration"]
    assert (rounding.unit, rounding.asked, rounding.compiled, rounding.derived) == ("px/s^2", 150, 2731, False)
    assert rounding.used == Fraction(2731 * 3600, PX)
    assert float(rounding.relative_error) == pytest.approx(0.00012, abs=0.000005)
    assert rounding.error == rounding.used - 150


def test_every_value_of_a_profile():
    compiled = motion()
    speed = {each: rounded(Fraction(each) * PX / 60) for each in (80, 90, 120, 142, 252, 290)}
    rate = {
        each: rounded(Fraction(each) * PX / 3600) for each in (3, 150, 160, 190, 210, 230, 280, 420, 500, 1300, 1480)
    }
    expected = {
        "body_w": 12 * PX,
        "body_h": 22 * PX,
        "walk_accel": rate[160],
        "walk_cap": speed[80],
        "has_run": 1,
        "run_accel": rate[230],
        "run_cap": speed[142],
        "run_memory": 7,
        "coast": rate[160],
        "reverse": rate[420],
        "jump_from": [0, speed[120]],
        # 74 px in 33 ticks: 74 * 65536 * 2 / (33 * 34) = 8644.7 a tick a tick, and 33 times that.
        "jump_launch": [speed[252], 33 * 8645],
        "jump_gravity_held": [rate[500], 8645],
        "jump_gravity": [rate[1300], rate[1480]],
        "cut_speed": speed[90],
        "launch_tick_gravity": 0,
        "terminal": speed[290],
        "air_accel_from": [0, speed[80]],
        "air_accel": [rate[150], rate[210]],
        "air_reverse_from_speed": [0, speed[80]],
        "air_reverse_from_takeoff": [0, speed[120]],
        "air_reverse": [rate[190], rate[280]],
        "air_cap_from": [0, speed[90]],
        "air_cap": [speed[80], speed[142]],
        "drag": rate[3],
        "coyote_ticks": 5,
        "buffer_ticks": 4,
        "drop_through": 1,
    }
    assert tuple(expected) == Motion._fields
    for name, value in expected.items():
        got = getattr(compiled, name)
        if isinstance(value, list):
            assert got.dtype == np.int64, name
            assert got.tolist() == value, name
        else:
            assert type(got) is int, name
            assert got == value, name


def test_silence_means_the_defaults():
    data = movement_data(tick_rate_hz=None, ground__run=None, air__drag=None, help=None)
    data["jump"] = {"bands": [{"launch_speed": 1, "gravity_held": 1, "gravity": 1}]}
    data["air"] = {"acceleration": 1.5, "reverse_deceleration": 2, "top_speed": [{"value": 3}]}
    movement = movement_from_dict(data)
    compiled = movement.motion
    assert movement.tick_rate_hz == 60
    assert (compiled.has_run, compiled.run_memory, compiled.drag, compiled.cut_speed) == (0, 0, 0, -1)
    assert (compiled.run_accel, compiled.run_cap) == (compiled.walk_accel, compiled.walk_cap)
    assert (compiled.launch_tick_gravity, compiled.coyote_ticks, compiled.buffer_ticks, compiled.drop_through) == (
        0,
    ) * 4
    for name in ("jump_from", "air_accel_from", "air_reverse_from_speed", "air_reverse_from_takeoff", "air_cap_from"):
        assert getattr(compiled, name).tolist() == [0], name
    assert motion(jump__on_release="gravity").cut_speed == -1
    assert motion(jump__on_release__cut_speed=0).cut_speed == 0


def test_units_per_tick():
    """A px a tick at 60 ticks a second is 60 px/s; a px a tick a tick 3600 px/s^2 (by the definition of the units)."""
    flat = {"air__acceleration": 3600, "air__reverse_deceleration": 7200, "air__top_speed": 60, "air__drag": 1800}
    ground = {"ground__walk": {"acceleration": 900, "top_speed": 90}, "ground__run": None}
    ground |= {"ground__coast_deceleration": 450, "ground__reverse_deceleration": 225}
    jump = {
        "jump__bands": [{"launch_speed": 120, "gravity_held": 360, "gravity": 36}],
        "jump__on_release__cut_speed": 30,
    }
    per_second = motion(**flat, **ground, **jump, fall__terminal_speed=600)
    flat = {"air__acceleration": 1, "air__reverse_deceleration": 2, "air__top_speed": 1, "air__drag": 0.5}
    ground = {"ground__walk": {"acceleration": 0.25, "top_speed": 1.5}, "ground__run": None}
    ground |= {"ground__coast_deceleration": 0.125, "ground__reverse_deceleration": 0.0625}
    jump = {
        "jump__bands": [{"launch_speed": 2, "gravity_held": 0.1, "gravity": 0.01}],
        "jump__on_release__cut_speed": 0.5,
    }
    per_tick = motion(units="per_tick", **flat, **ground, **jump, fall__terminal_speed=10)
    for name in Motion._fields:
        assert np.array_equal(getattr(per_second, name), getattr(per_tick, name)), name
    (rounding,) = [
        each
        for each in movement_from_dict(
            movement_data(units="per_tick", **flat, **ground, **jump, fall__terminal_speed=10)
        ).roundings
        if each.value == "jump.bands[0].gravity_held"
    ]
    assert (rounding.unit, rounding.asked, rounding.compiled) == ("px/tick^2", Fraction(1, 10), 6554)


def rises(launch, gravity, launch_tick_gravity):
    """Heights above the takeoff after each tick with the button held (motion model 5.3, written out)."""
    height, speed, heights = 0, launch, [0]
    for tick in range(4 * (launch // gravity + 2)):
        if tick or launch_tick_gravity:
            speed -= gravity
        height += speed
        heights.append(height)
    return heights


@given(
    st.decimals(Decimal("0.001"), 200, places=3),
    st.integers(1, 60),
    st.booleans(),
    st.integers(10, 240),
)
def test_design_figures_meet_the_apex_at_its_tick(height, ticks, launch_tick_gravity, rate):
    band = {"height_px": height, "ticks_to_apex": ticks, "gravity": 100}
    changes = {"jump__bands": [band], "jump__launch_tick_gravity": launch_tick_gravity, "tick_rate_hz": rate}
    data = movement_data(**changes, units="per_tick")
    for path in ("ground", "air", "fall"):
        data[path] = json.loads(json.dumps(data[path]), parse_int=lambda text: int(text) / 100)
    data["jump"]["on_release"] = "gravity"
    data["jump"]["bands"][0]["gravity"] = 1
    data["ground"]["run"]["memory_ticks"] = 0
    try:
        movement = movement_from_dict(data)
    except InputError as error:
        assert all("a height that needs" in problem.found for problem in error.problems)
        return
    launch, held = int(movement.motion.jump_launch[0]), int(movement.motion.jump_gravity_held[0])
    heights = rises(launch, held, launch_tick_gravity)
    assert heights.index(max(heights)) == ticks
    by_name = {each.value: each for each in movement.roundings}
    apex = by_name["jump.bands[0].height_px"]
    assert (apex.asked, apex.compiled, apex.unit) == (Fraction(height), max(heights), "px")
    assert apex.used == Fraction(max(heights), PX)
    # Rounding gravity moves it by at most half a subpixel, but for the least gravity there is, 1.
    assert abs(apex.error) * PX <= Fraction(ticks * (ticks + 1), 4) or held == 1
    assert by_name["jump.bands[0].launch_speed"].derived
    assert by_name["jump.bands[0].gravity_held"].compiled == held


@pytest.mark.parametrize("launch_tick_gravity", [False, True])
@pytest.mark.parametrize(
    ("gravity", "ticks", "apex"),
    [(64, 19, 12160), (64, 20, 13440), (70, 18, 11970)],
)
def test_apexes_of_semi_implicit_euler(gravity, ticks, apex, launch_tick_gravity):
    """Apex g q (q+1) / 2 for a launch of q g, from the sum of the first q whole numbers (Gauss's formula).

    Semi-implicit Euler as in the PETSc manual's TSBASICSYMPLECTICSIEULER: the speed first, then the place.
    """
    assert apex == sum(gravity * n for n in range(1, ticks + 1))
    band = {"height_px": apex / PX, "ticks_to_apex": ticks, "gravity": 100}
    compiled = motion(jump__bands=[band], jump__launch_tick_gravity=launch_tick_gravity)
    assert compiled.jump_gravity_held.tolist() == [gravity]
    assert compiled.jump_launch.tolist() == [(ticks + launch_tick_gravity) * gravity]
    assert max(rises(int(compiled.jump_launch[0]), gravity, launch_tick_gravity)) == apex


def test_a_published_jump_height():
    """A jump of 2.50 m takes off at 7.0 m/s and is in the air for 1.44 s, g = 9.80 m/s^2.

    OpenStax, University Physics Volume 1, chapter 3, problem 75. At 1000 ticks a second, 100 px a metre, 714 ticks up.
    """
    band = {"height_px": 250, "ticks_to_apex": 714, "gravity": 980}
    movement = movement_from_dict(movement_data(jump__bands=[band], tick_rate_hz=1000))
    derived = {each.value: float(each.used) for each in movement.roundings if each.derived}
    assert derived["jump.bands[0].launch_speed"] / 100 == pytest.approx(7.0, abs=0.05)
    assert derived["jump.bands[0].gravity_held"] / 100 == pytest.approx(9.80, abs=0.05)


def test_one_rounding_a_number_of_the_file():
    movement = movement_from_dict(movement_data())
    named = [each.value for each in movement.roundings]
    assert len(named) == len(set(named))
    for each in movement.roundings:
        node = movement.declared
        if each.derived:
            continue
        for step in each.value.replace("[", ".").replace("]", "").split("."):
            node = node[int(step) if step.isdigit() else step]
        assert Fraction(node) == each.asked, each.value
    assert [each.value for each in movement.roundings if each.derived] == [
        "jump.bands[1].launch_speed",
        "jump.bands[1].gravity_held",
    ]
    (zero,) = [each for each in movement.roundings if each.value == "jump.bands[0].from_takeoff_speed"]
    assert (zero.error, zero.relative_error) == (0, 0)


def test_loading_from_a_file(tmp_path):
    (tmp_path / "a.json").write_text(json.dumps(movement_data()), encoding="utf-8")
    movement = load_movement(tmp_path / "a.json")
    assert movement.origin == str(tmp_path / "a.json")
    assert movement.declared == movement_data()
    (tmp_path / "a.json").write_text(json.dumps(movement_data(), indent=1).replace('"drag": 3', '"drag": -3'))
    ((place, found, allowed),) = refused(load_movement, tmp_path / "a.json")
    assert place.startswith("$.air.drag (line ")
    assert (found, allowed) == ("-3", "a number from 0 to 64000000")


def test_the_hash_tells_content_not_layout(tmp_path):
    text = json.dumps(movement_data(note="x"), sort_keys=True, indent=3).replace("160", "1.60e2")
    (tmp_path / "a.json").write_text(text)
    assert load_movement(tmp_path / "a.json").sha256 == movement_from_dict(movement_data()).sha256
    different = [
        {"name": "x"},
        {"tick_rate_hz": 50},
        {"air__drag": 3.5},
        {"help__coyote_ticks": 0},
        {"units": "per_tick"},
    ]
    hashes = {movement_from_dict(movement_data(**change)).sha256 for change in different[:-1]}
    assert len(hashes | {movement_from_dict(movement_data()).sha256}) == len(different)


POSITIVE = (
    "body__width_px",
    "body__height_px",
    "ground__walk__acceleration",
    "ground__walk__top_speed",
    "ground__run__acceleration",
    "ground__run__top_speed",
    "ground__coast_deceleration",
    "ground__reverse_deceleration",
    "jump__bands__0__gravity_held",
    "jump__bands__0__gravity",
    "jump__bands__1__height_px",
    "fall__terminal_speed",
    "air__acceleration__0__value",
    "air__reverse_deceleration__0__value",
    "air__top_speed__0__value",
    "air__acceleration",
    "air__reverse_deceleration",
    "air__top_speed",
)
NOT_NEGATIVE = (
    "jump__bands__0__launch_speed",
    "jump__bands__0__from_takeoff_speed",
    "jump__on_release__cut_speed",
    "air__drag",
    "air__acceleration__0__from_speed",
    "air__reverse_deceleration__0__from_takeoff_speed",
)
COUNTS = ("ground__run__memory_ticks", "help__coyote_ticks", "help__buffer_ticks")


def path_of(key):
    steps = key.split("__")
    return "$" + "".join(f"[{step}]" if step.isdigit() else f".{step}" for step in steps)


@pytest.mark.parametrize("key", POSITIVE + NOT_NEGATIVE)
def test_which_numbers_may_be_0(key):
    for value in [-1, -1e-9, "80", True, float("nan"), float("inf")] + [0] * (key in POSITIVE):
        problems = refused(movement_from_dict, movement_data(**{key: value}))
        assert {place for place, _, _ in problems} == {path_of(key)}, value
    if key in NOT_NEGATIVE:
        movement_from_dict(movement_data(**{key: 0}))


@pytest.mark.parametrize("key", COUNTS)
def test_counts_of_ticks(key):
    for value in (-1, 256, 1.5, True, "3"):
        ((place, _, allowed),) = refused(movement_from_dict, movement_data(**{key: value}))
        assert (place, allowed) == (path_of(key), "a whole number from 0 to 255")
    for value in (0, 255, 3.0):
        movement_from_dict(movement_data(**{key: value}))


@pytest.mark.parametrize(
    ("key", "most"),
    [
        ("ground__walk__top_speed", 3840),
        ("ground__run__acceleration", 230400),
        ("jump__bands__0__launch_speed", 3840),
        ("jump__bands__1__from_takeoff_speed", 3840),
        ("jump__bands__0__gravity", 230400),
        ("jump__on_release__cut_speed", 3840),
        ("fall__terminal_speed", 3840),
        ("air__acceleration__1__from_speed", 3840),
        ("air__top_speed__1__value", 3840),
        ("air__drag", 230400),
    ],
)
def test_speeds_and_rates_are_at_most_64_px_a_tick(key, most):
    movement_from_dict(movement_data(**{key: most}))
    ((place, found, allowed),) = refused(movement_from_dict, movement_data(**{key: most + 0.001}))
    assert (place, found) == (path_of(key), str(most + 0.001))
    assert allowed.startswith(f"at most {most} px/s")


@pytest.mark.parametrize(
    ("changes", "place", "found"),
    [
        ({"tick_rate_hz": 9}, "$.tick_rate_hz", "9"),
        ({"tick_rate_hz": 1001}, "$.tick_rate_hz", "1001"),
        ({"tick_rate_hz": 59.94}, "$.tick_rate_hz", "59.94"),
        ({"units": "px"}, "$.units", '"px"'),
        ({"units": None}, "$", 'no key "units"'),
        ({"format": "reach-level/1"}, "$.format", 'a level, "reach-level/1"'),
        ({"body__width_px": 2049}, "$.body.width_px", "2049"),
        ({"body__depth_px": 2}, "$.body.depth_px", 'the unknown key "depth_px"'),
        ({"ground__walk": None}, "$.ground", 'no key "walk"'),
        ({"ground__walk": 80}, "$.ground.walk", "80"),
        ({"jump__bands": []}, "$.jump.bands", "a list of 0"),
        ({"jump__bands": 5}, "$.jump.bands", "5"),
        ({"jump__bands__1__launch_speed": 9}, "$.jump.bands[1].launch_speed", 'the unknown key "launch_speed"'),
        ({"jump__bands__1__height_px": None}, "$.jump.bands[1]", 'no key "height_px"'),
        ({"jump__bands__1__gravity": None}, "$.jump.bands[1]", 'no key "gravity"'),
        ({"jump__bands__0__gravity_held": None}, "$.jump.bands[0]", 'no key "gravity_held"'),
        ({"jump__bands__1__ticks_to_apex": 0}, "$.jump.bands[1].ticks_to_apex", "0"),
        ({"jump__bands__1__ticks_to_apex": 1001}, "$.jump.bands[1].ticks_to_apex", "1001"),
        ({"jump__bands__0__from_takeoff_speed": 1}, "$.jump.bands[0]", "a first band from 1"),
        (
            {"jump__bands__1__from_takeoff_speed": 0},
            "$.jump.bands[1]",
            "a band from 0 after one from 0",
        ),
        (
            {"jump__bands__1__height_px": 4000},
            "$.jump.bands[1].height_px",
            "a height that needs a launch_speed of 14117.651367 px/s",
        ),
        ({"jump__on_release": "cut"}, "$.jump.on_release", '"cut"'),
        ({"jump__on_release": {}}, "$.jump.on_release", 'no key "cut_speed"'),
        ({"jump__on_release": 4}, "$.jump.on_release", "4"),
        ({"jump__launch_tick_gravity": 1}, "$.jump.launch_tick_gravity", "1"),
        ({"air__acceleration": []}, "$.air.acceleration", "a list of 0"),
        ({"air__acceleration__1__from_speed": 0}, "$.air.acceleration[1]", "a band from 0 after one from 0"),
        (
            {"air__acceleration__1": {"from_takeoff_speed": 1, "value": 2}},
            "$.air.acceleration[1].from_takeoff_speed",
            'the unknown key "from_takeoff_speed"',
        ),
        (
            {"air__reverse_deceleration__1": {"from_speed": 0, "value": 3}},
            "$.air.reverse_deceleration[1]",
            "a band from 0 and 0 after one from 0 and 0",
        ),
        (
            {"air__reverse_deceleration__0__from_takeoff_speed": 5},
            "$.air.reverse_deceleration[0]",
            "a first band from 0 and 5",
        ),
        ({"help__drop_through": "yes"}, "$.help.drop_through", '"yes"'),
    ],
)
def test_a_mistake_is_named_with_its_place(changes, place, found):
    assert [problem[:2] for problem in refused(movement_from_dict, movement_data(**changes))] == [(place, found)]


def test_bands_that_differ_by_less_than_a_subpixel_a_tick_are_refused():
    bands = [{"value": 5}, {"from_speed": 0.0001, "value": 6}, {"from_speed": 0.0002, "value": 7}]
    ((place, found, allowed),) = refused(movement_from_dict, movement_data(air__acceleration=bands))
    assert place == "$.air.acceleration[2]"
    assert found == "bands from 0.0001 and 0.0002, which are the same in whole subpixels a tick"
    assert allowed == "bands that lie at least 1/65536 px a tick apart"
    # A first threshold above 0 stays above 0, so these two are kept apart.
    assert motion(air__acceleration=bands[:2]).air_accel_from.tolist() == [0, 1]


def test_bands_by_two_speeds_ascend_by_the_first_then_the_second():
    def bands(*pairs):
        return [{"from_speed": a, "from_takeoff_speed": b, "value": 9} for a, b in pairs]

    compiled = motion(air__reverse_deceleration=bands((0, 0), (0, 60), (60, 0), (60, 120)))
    assert compiled.air_reverse_from_speed.tolist() == [0, 0, PX, PX]
    assert compiled.air_reverse_from_takeoff.tolist() == [0, PX, 0, 2 * PX]
    found = refused(movement_from_dict, movement_data(air__reverse_deceleration=bands((0, 0), (60, 0), (0, 60))))
    assert [each[:2] for each in found] == [
        ("$.air.reverse_deceleration[2]", "a band from 0 and 60 after one from 60 and 0")
    ]


def test_all_mistakes_of_a_profile_are_told_at_once():
    changes = {"fall__terminal_speed": 4000, "air__drag": 10**6, "jump__bands__1__from_takeoff_speed": 0}
    places = [place for place, _, _ in refused(movement_from_dict, movement_data(**changes))]
    assert sorted(places) == ["$.air.drag", "$.fall.terminal_speed", "$.jump.bands[1]"]


@given(st.data())
def test_any_number_anywhere_compiles_or_is_refused(data):
    key = data.draw(
        st.sampled_from(POSITIVE + NOT_NEGATIVE + COUNTS + ("tick_rate_hz", "jump__bands__1__ticks_to_apex"))
    )
    value = data.draw(st.integers() | st.floats() | st.decimals() | st.booleans() | st.none() | st.text(max_size=3))
    try:
        compiled = motion(**{key: value})
    except InputError as error:
        assert error.problems
        return
    for name in ("body_w", "walk_accel", "walk_cap", "run_accel", "run_cap", "coast", "reverse", "terminal"):
        assert 1 <= getattr(compiled, name) <= 2048 * PX
    for name in ("jump_from", "air_accel_from", "air_cap_from"):
        thresholds = getattr(compiled, name)
        assert thresholds[0] == 0
        assert (np.diff(thresholds) > 0).all()


def positive(most):
    return st.decimals(Decimal("0.001"), most, places=3)


@given(st.data(), st.sampled_from(["per_second", "per_tick"]), st.integers(10, 1000), st.booleans(), st.booleans())
def test_a_second_reading_of_the_model_compiles_to_the_same_integers(data, units, rate, at_launch, runs):
    """Against the compiling of tests/oracle_files.py, which was written from the model alone."""
    most = 30 if units == "per_tick" else 30 * rate
    number = st.integers(1, most) | positive(most)
    changes = {key: data.draw(number) for key in POSITIVE[:12] if "body" not in key and "height_px" not in key}
    changes |= {"body__width_px": data.draw(positive(100)), "body__height_px": data.draw(positive(100))}
    changes |= {"jump__bands__0__launch_speed": data.draw(number), "jump__on_release__cut_speed": data.draw(number)}
    changes |= {"jump__bands__1__height_px": data.draw(positive(20)), "jump__bands__1__gravity": 2}
    changes |= {"jump__bands__1__from_takeoff_speed": 3, "air__drag": data.draw(number)}
    changes |= {"air__acceleration": data.draw(number), "air__top_speed": data.draw(number)}
    changes["air__reverse_deceleration"] = [
        {"value": data.draw(number)},
        {"from_takeoff_speed": 2, "value": data.draw(number)},
        {"from_speed": 1, "value": data.draw(number)},
    ]
    changes |= {"units": units, "tick_rate_hz": rate, "jump__launch_tick_gravity": at_launch}
    profile = movement_data(**changes)
    if not runs:
        del profile["ground"]["run"]
    one, two = movement_from_dict(profile).motion, compile_rules(profile)
    assert (one.body_w, one.body_h) == (two.width, two.height)
    assert [one.walk_accel, one.walk_cap] == two.walk.tolist()
    assert ([one.run_accel, one.run_cap] if one.has_run else []) == two.run.tolist()
    assert (one.run_memory, one.coast, one.reverse) == (two.memory, two.coast, two.reverse)
    jumps = (one.jump_from, one.jump_launch, one.jump_gravity_held, one.jump_gravity)
    assert np.stack(jumps, axis=1).tolist() == two.jumps.tolist()
    assert (one.cut_speed, one.launch_tick_gravity, one.terminal) == (two.cut, two.gravity_at_launch, two.terminal)
    assert np.stack((one.air_accel_from, one.air_accel), axis=1).tolist() == two.air_push.tolist()
    brake = (one.air_reverse_from_speed, one.air_reverse_from_takeoff, one.air_reverse)
    assert np.stack(brake, axis=1).tolist() == two.air_brake.tolist()
    assert np.stack((one.air_cap_from, one.air_cap), axis=1).tolist() == two.air_top.tolist()
    assert one.drag == two.drag
    assert (one.coyote_ticks, one.buffer_ticks, one.drop_through) == (two.coyote, two.buffer, two.drops)
