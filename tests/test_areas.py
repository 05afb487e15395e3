import random

import numpy as np
import pytest
from scipy import ndimage

from reach.areas import areas


@pytest.mark.parametrize("seed", range(20))
def test_areas_agree_with_labelled_pixels(seed):
    """Reference: scipy.ndimage.label with all eight neighbours."""
    rng = random.Random(seed)
    grid = np.array([[rng.random() < 0.35 for _ in range(12)] for _ in range(9)])
    labels, count = ndimage.label(grid, np.ones((3, 3)))
    expected = [sorted((c, r) for r, c in np.argwhere(labels == each).tolist()) for each in range(1, count + 1)]
    found = areas((c, r) for r, c in np.argwhere(grid).tolist())
    assert sorted(sorted(area) for area in found) == sorted(expected)


def test_areas_and_their_tiles_are_in_reading_order():
    assert areas([(4, 1), (0, 2), (1, 1), (5, 0)]) == (((5, 0), (4, 1)), ((1, 1), (0, 2)))
    assert areas([]) == ()
