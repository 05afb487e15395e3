"""Runs the benchmark: `python -m tests.bench`."""

import sys

from tests.bench.command import main

sys.exit(main())
