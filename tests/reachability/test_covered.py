"""All that a superset's states can do is in its key."""

from dataclasses import replace

import numpy as np

from reach.kernels.params import HAZARD, SOLID
from reach.reachability.covered import covered_key, may_be_above, read_tiles
from tests.random_levels import generate
from tests.reachability.test_script_memory import posed


def test_all_that_decides_is_in_the_key():
    problem = posed(*generate(7))
    seen = problem.explore()
    motion, terrain, start = problem.motion, problem.terrain, problem.start
    given = covered_key(motion, terrain, seen, start)
    assert covered_key(motion, terrain, problem.explore(), start) == given
    row, column = np.argwhere(read_tiles(motion, terrain, seen)).tolist()[0]
    material = terrain.material.copy()
    material[row, column] = HAZARD if material[row, column] == SOLID else SOLID
    others = [
        covered_key(motion._replace(coast=motion.coast + 1), terrain, seen, start),
        covered_key(motion, terrain._replace(material=material), seen, start),
        covered_key(motion, terrain._replace(place_ends=1 - terrain.place_ends), seen, start),
        covered_key(motion, terrain, seen, start._replace(x=start.x + 1)),
    ]
    assert len({given, *others}) == 5


def test_who_gets_above_the_map_may_come_down_anywhere():
    level, movement = generate(7)
    problem = posed(level, movement)
    seen = problem.explore()
    wide = np.pad(problem.terrain.material, ((20, 0), (0, 20)))
    wide[-1] = SOLID
    terrain = problem.terrain._replace(material=wide, launch=np.zeros(wide.shape, np.int64))
    coverage = np.zeros((wide.shape[0] * 8, wide.shape[1] * 8), bool)
    low, high = coverage.copy(), coverage.copy()
    low[-12:-8, 8:16] = True
    high[0:4, 8:16] = True
    for cover, reaches in ((low, False), (high, True)):
        read = read_tiles(problem.motion, terrain, replace(seen, coverage=cover))
        assert bool(read[0].all()) == reaches
        assert may_be_above(problem.motion, terrain, replace(seen, coverage=cover)) == reaches
        assert not read.all()
