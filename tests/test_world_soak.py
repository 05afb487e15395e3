import sys

import pytest

from tests.world_soak import soak


@pytest.mark.long
@pytest.mark.skipif(sys.platform != "linux", reason="reads its memory from /proc")
def test_many_levels_and_killed_processes(tmp_path):
    assert soak(first=0, levels=60, jobs=2, folder=tmp_path) == []
