import pytest

from reach.errors import InputError
from reach.movement import movement_from_dict
from reach.workshop.sheet import SheetOptions, make_sheet
from tests.made_sheets import sample_sheet

PX = 65536


def test_a_sheet_states_what_it_is_about():
    sheet = sample_sheet("lamplighter")
    assert (sheet.name, sheet.tick_rate_hz, sheet.tile_px) == ("lamplighter", 60, 16)
    assert (sheet.body_w_spx, sheet.body_h_spx) == (11 * PX, 23 * PX)
    # four ticks are 66.7 ms, three 50 ms
    assert (sheet.window_ms, sheet.window_ticks) == (60.0, 4)
    assert [gait.gait for gait in sheet.ground_speeds] == ["walk", "run"]
    assert len(sheet.takeoff_bands) == 3 and len(sheet.landings) == 2


def test_corridors_are_the_body_and_the_jump_on_top_of_it():
    sheet = sample_sheet("courier")
    (band,) = sheet.takeoff_bands
    assert sheet.headroom.walk_spx == 19 * PX
    assert sheet.headroom.held_spx == (19 * PX + band.held.height_spx,)
    assert sheet.headroom.tapped_spx == (19 * PX + band.tapped.height_spx,)
    # a press let go before touching down hops lower than a tap
    assert sheet.headroom.smallest_hop_spx == band.buffered.height_spx < band.tapped.height_spx


def test_what_has_no_end_has_no_figure_and_everything_else_has():
    data = {
        "format": "reach-movement/1",
        "name": "balloon",
        "units": "per_tick",
        "body": {"width_px": 8, "height_px": 8},
        "ground": {
            "walk": {"acceleration": 0.00002, "top_speed": 2},
            "coast_deceleration": 0.5,
            "reverse_deceleration": 0.5,
        },
        "jump": {"bands": [{"from_takeoff_speed": 0, "launch_speed": 0.5, "gravity_held": 0.1, "gravity": 0.1}]},
        "fall": {"terminal_speed": 2},
        "air": {"acceleration": 0.00002, "reverse_deceleration": 0.1, "top_speed": 2},
    }
    sheet = make_sheet(movement_from_dict(data))
    (walk,) = sheet.ground_speeds
    assert walk.to_top is None and walk.coasting is not None
    assert sheet.reach.rows[0].gap.at_most_spx is not None
    assert sheet.takeoff_bands[0].held is not None


@pytest.mark.parametrize(
    ("options", "named"),
    [
        ({"tile_px": 3}, "tile_px"),
        ({"tile_px": 257}, "tile_px"),
        ({"window_ms": -1}, "window_ms"),
        ({"window_ms": 1001}, "window_ms"),
        ({"window_ms": float("nan")}, "window_ms"),
        ({"time_limit_s": 0}, "time_limit_s"),
        ({"time_limit_s": 1e9}, "time_limit_s"),
    ],
)
def test_options_that_mean_nothing_are_refused(options, named):
    with pytest.raises(InputError, match=named):
        SheetOptions(**options)


def test_all_options_that_mean_nothing_are_told_at_once():
    with pytest.raises(InputError) as caught:
        SheetOptions(0, -1, -1)
    assert len(caught.value.problems) == 3


@pytest.mark.parametrize(("tile_px", "up"), [(8, 5), (24, 1), (50, 0)])
def test_heights_are_whole_tiles_of_the_size_asked_for(tile_px, up):
    sheet = sample_sheet("ferryman", tile_px)
    # the apex stands 715 / 16 px high
    assert sheet.reach.rows[0].height_tiles == up == 715 * PX // 16 // (tile_px * PX)
    assert sheet.reach.rows[-1].height_tiles == -8
