"""In coarse units a search over every single state ends, and the superset has all that it reaches."""

from tests.bench.single_states import UNITS_PER_TILE, explored_tiles, make_world, visited_tiles


def test_the_search_ends_and_the_superset_has_what_it_found():
    world = make_world(14)
    tiles, states = visited_tiles(world, 100_000)
    assert states > 10
    assert not (tiles & ~explored_tiles(world)).any()


def test_a_search_without_room_says_so():
    assert visited_tiles(make_world(UNITS_PER_TILE[0]), 1000) is None
