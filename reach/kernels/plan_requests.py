"""What searches for plans ask, for many moves in one call: the best of some plans, or a grid of one plan's ticks."""

from reach.kernels.compiling import compiled, inlined
from reach.kernels.plan_choice import Ledge, choose, put_on_trial
from reach.kernels.plan_tick import Goal, Scene
from reach.kernels.plan_trial import LACKS, Wish, fly_ticks

CHOICE = 0
GRID = 1

ASKED, FIRST_PLAN, END_PLAN, KNOWN, FIRST_TICK, PRESSES, HOLDS, STEERS, FIRST_CELL = 0, 1, 2, 3, 4, 5, 6, 7, 8
LEDGE, WISH, GOAL = 9, 12, 17
REQUEST_COLUMNS = 28
"""A request is an int64 [28] row: CHOICE or GRID; the first of its plans and the one after the last; what is known; of
a grid's ticks the first one, how many presses, holds and steers follow from there on, and its first cell; then the
ledge, the wish (not used for a grid), and the goal.
"""


@inlined
def row_ledge(row):
    """The ledge in a request's row."""
    return Ledge(row[LEDGE], row[LEDGE + 1], row[LEDGE + 2])


@inlined
def row_wish(row):
    """The wish in a request's row."""
    return Wish(row[WISH], row[WISH + 1], row[WISH + 2], row[WISH + 3], row[WISH + 4])


@inlined
def row_goal(row):
    """The goal in a request's row."""
    return Goal(
        row[GOAL],
        row[GOAL + 1],
        row[GOAL + 2],
        row[GOAL + 3],
        row[GOAL + 4],
        row[GOAL + 5],
        row[GOAL + 6],
        row[GOAL + 7],
        row[GOAL + 8],
        row[GOAL + 9],
        row[GOAL + 10],
    )


@compiled
def fly_grid(row, plans, ticks, worths, spots, scene, room):
    """Fly the grid of a request; returns the longest flight's ticks, or LACKS. Approximation: exact."""
    holds = row[FIRST_TICK] + row[PRESSES]
    steers = holds + row[HOLDS]
    end = steers + row[STEERS]
    if row[HOLDS] > room.ends.shape[0]:
        room.lack[0] = row[HOLDS]
        return LACKS
    cells = row[PRESSES] * row[HOLDS] * row[STEERS]
    return fly_ticks(
        ticks[row[FIRST_TICK] : holds],
        ticks[holds:steers],
        ticks[steers:end],
        put_on_trial(plans[row[FIRST_PLAN]], row_ledge(row), scene, room),
        scene,
        room,
        worths[row[FIRST_CELL] : row[FIRST_CELL] + cells],
        spots[row[FIRST_CELL] : row[FIRST_CELL] + cells],
    )


@compiled
def answer_requests(
    begin,
    most,
    requests,
    results,
    answers,
    trials,
    bounds,
    passing,
    plans,
    ticks,
    worths,
    spots,
    motion,
    course,
    room,
):
    """Answer requests one after another, from number `begin` on, until all are or so many combinations are flown.

    One kernel for all that is asked, because what choices and grids have in common is nearly all.

    Parameters
    ----------
    begin, most : int64
        At least one request is answered, where there is room.
    requests : int64 [requests, 28]
    results : int64 [requests, 6, 4]
        Receives what `choose` writes.
    answers : int64 [requests]
        Receives what `choose` returns, or a grid's longest flight.
    trials, bounds : int64 [n, 9, 4], int64 [n]
        Room for as many plans as a request has at most.
    passing : uint8 [plans]
        Receives what `choose` writes.
    plans : int64 [plans, 10]
        Those of all requests.
    ticks : int64 [n]
        Those of all grids.
    worths, spots : uint8 [cells], int64 [cells]
        Receive all grids: what `fill_grid` writes.
    motion, course : Motion, Course
        The same for all.
    room : Room

    Returns
    -------
    end, lacks : int64, bool
        The first request that is not answered; whether that is because there was not room enough: the call has to be
        made again from there on, with what `room.lack` says.
    """
    room.flown[0] = 0
    for n in range(begin, requests.shape[0]):
        row = requests[n]
        scene = Scene(motion, course, row_goal(row))
        if row[ASKED] == CHOICE:
            first = row[FIRST_PLAN]
            end = row[END_PLAN]
            answers[n] = choose(
                results[n],
                trials[: end - first],
                bounds[: end - first],
                passing[first:end],
                plans[first:end],
                row_ledge(row),
                row[KNOWN],
                row_wish(row),
                scene,
                room,
            )
        else:
            answers[n] = fly_grid(row, plans, ticks, worths, spots, scene, room)
        if answers[n] == LACKS:
            return n, True
        if room.flown[0] >= most:
            return n + 1, False
    return requests.shape[0], False
