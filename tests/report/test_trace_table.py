from decimal import Decimal

import numpy as np
import pytest

from reach.report.trace_table import exact_px, to_csv
from reach.workshop.tracing import Trace


@pytest.mark.parametrize("spx", [0, 1, -1, 65535, 65536, -65537, 7_000_001, 2**40 + 3])
def test_decimals_are_exact(spx):
    text = exact_px(spx)
    assert Decimal(text) * 65536 == spx
    assert len(text) < 4 or not text.endswith(("0.", "."))


def test_the_table_has_the_columns_of_a_recording():
    inputs = np.array([[0, 0, 0, 0], [1, 0, 1, 0], [-1, 1, 0, 1]])
    trace = Trace(np.array([0, 65536, 98304]), np.array([0, -32768, 0]), inputs, ())
    assert to_csv(trace) == (
        "tick,x_px,y_px,left,right,down,run,jump\n0,0,0,0,0,0,0,0\n1,1,-0.5,0,1,0,1,0\n2,1.5,0,1,0,1,0,1\n"
    )
