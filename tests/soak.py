"""Longer runs over random levels, from the command line.

`python -m tests.soak --levels 500` holds the package against the exhaustive search on that many levels nobody looked at
before, and prints what was compared, with every contradiction. `--first` begins at another seed. `--what checks`
compares whole checks instead of the supersets, `--what fine` supersets for fine numbers. `--choose` prints
`decisive_seeds.py` anew, for a changed generator.
"""

from __future__ import annotations

import argparse
import sys
import textwrap

from tests.mechanisms import FIRST_DRAWN, QUOTA, find_decisive
from tests.oracle_comparison import compare, compare_fine_superset, compare_report, compare_superset
from tests.random_levels import digest

INDENTED = {"initial_indent": "        ", "subsequent_indent": "        "}
WHAT = {"supersets": compare_superset, "checks": compare_report, "fine": compare_fine_superset}


def chosen_seeds() -> str:
    """The text of `decisive_seeds.py`."""
    lines = [
        '"""Seeds of levels in which a mechanism decides a verdict; written by `python -m tests.soak --choose`."""',
        "",
        f'DIGEST = "{digest(range(200))}"',
        '"""Of what the first 200 seeds gave when these were chosen."""',
        "",
        "# fmt: off",
        "DECISIVE: dict[str, tuple[int, ...]] = {",
    ]
    found = find_decisive(QUOTA, rounds=2000)
    for name, seeds in found.items():
        lines += [f'    "{name}": (', *textwrap.wrap(f"{str(seeds)[1:-1]},", 110, **INDENTED), "    ),"]
    return "\n".join([*lines, "}", "# fmt: on", ""])


def main() -> int:
    parser = argparse.ArgumentParser(prog="python -m tests.soak")
    parser.add_argument("--levels", type=int, default=500)
    parser.add_argument("--first", type=int, default=FIRST_DRAWN)
    parser.add_argument("--states", type=int, default=400_000, help="the most single states that a search keeps")
    parser.add_argument("--what", choices=WHAT, default="supersets")
    parser.add_argument("--choose", action="store_true")
    options = parser.parse_args()
    if options.choose:
        print(chosen_seeds(), end="")
        return 0
    seeds = range(options.first, options.first + options.levels)
    found = compare(seeds, options.states, WHAT[options.what])
    print(found)
    return 1 if found.contradictions else 0


if __name__ == "__main__":
    sys.exit(main())
