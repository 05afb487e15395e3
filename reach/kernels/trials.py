"""Trials: attempts drawn at random at a target, the one that came nearest so far changed a little over and over.

An evolution strategy with one parent (Rechenberg 1973). What is drawn does not depend on the machine or the clock.
"""

from reach.kernels import attempts as a
from reach.kernels import book as b
from reach.kernels.attempts import NEVER
from reach.kernels.compiling import compiled, inlined

(
    SOURCE,
    TARGET,
    AIM_LEFT,
    AIM_RIGHT,
    AIM_TOP,
    AIM_BOTTOM,
    ACTIVE,
    NEAREST,
    TRIED,
    STALE,
    CLOSEST,
    BEST,
) = range(12)
CLOSEST_BEST = BEST + a.ATTEMPT_FIELDS
TARGET_FIELDS = CLOSEST_BEST + a.ATTEMPT_FIELDS
"""A target: the foothold to leave, the one to reach (or as in `moves` a place; -1: what is in the box), the box in
which the body's left edge and feet line ought to come, whether it is wanted, the nearest miss, trials so far, how
many of them since one came nearer, the nearest miss ever, the attempt that came nearest, and the one that ever
did."""

TRIALS_IN_TURN = 64

MOST_STALE = 1500
"""After so many trials that come no nearer a target begins anew, from another parent."""

FAR = 1 << 50
NOT_LANDED = 1 << 40


@inlined
def aim_at(old, state, book):
    """Note how near to the target's box the body is.

    Below a top that it falls past a body is out of the race: what counts is how far it was from it in the tick in which
    its feet line passed. Then the miss is just the shift that was lacking.
    """
    row = book.targets[book.counts[b.TARGET]]
    feet = state.y + book.counts[b.BODY_H]
    across = max(0, max(row[AIM_LEFT] - state.x, state.x - row[AIM_RIGHT]))
    up = max(0, max(row[AIM_TOP] - feet, feet - row[AIM_BOTTOM]))
    if row[AIM_TOP] == row[AIM_BOTTOM] and feet > row[AIM_BOTTOM] and state.vy > 0:
        if old.y + book.counts[b.BODY_H] > row[AIM_BOTTOM]:
            return
        up = 0
    away = NOT_LANDED + across + up
    if book.counts[b.AIM] < 0 and across + up == 0:
        away = 0
    if away < book.counts[b.MISS]:
        book.counts[b.MISS] = away


@compiled
def draw_length(most, book):
    """A number from 1 to about `most`, small ones as often as large ones by their number of digits."""
    bits = 0
    while (1 << bits) < most:
        bits += 1
    return 1 + b.draw(book, 1 << b.draw(book, bits + 1))


@compiled
def draw_steering(ahead, book):
    """Draw what is steered in the air."""
    plan = book.plan
    air = book.counts[b.AIR_TICKS]
    kind = b.draw(book, 6)
    plan[a.STEER_1] = ahead
    plan[a.UNTIL_1] = NEVER
    plan[a.STEER_2] = 0
    plan[a.UNTIL_2] = NEVER
    plan[a.STEER_3] = 0
    if kind == 0:
        return
    plan[a.UNTIL_1] = draw_length(air, book)
    plan[a.UNTIL_2] = plan[a.UNTIL_1] + draw_length(air, book)
    if kind == 1:
        plan[a.STEER_3] = -ahead
    elif kind == 2:
        plan[a.STEER_2] = -ahead
        plan[a.STEER_3] = ahead
    elif kind == 3:
        plan[a.STEER_1] = -ahead
        plan[a.STEER_2] = ahead
        plan[a.STEER_3] = ahead
    elif kind == 4:
        plan[a.STEER_1] = 0
        plan[a.STEER_2] = ahead
        plan[a.STEER_3] = ahead
    else:
        plan[a.STEER_1] = b.draw(book, 3) - 1
        plan[a.STEER_2] = b.draw(book, 3) - 1
        plan[a.STEER_3] = b.draw(book, 3) - 1


@compiled
def draw_departure(book):
    """Draw how the ground is left."""
    plan = book.plan
    counts = book.counts
    kind = b.draw(book, 12)
    plan[a.DEPART] = a.JUMP
    plan[a.RUN_TICKS] = draw_length(256, book)
    if kind >= 9:
        plan[a.RUN_TICKS] = 0
    if kind < 3:
        plan[a.DEPART] = a.JUMP_LATE
    elif kind == 3 and counts[b.COYOTE_TICKS] > 0:
        plan[a.DEPART] = a.JUMP_OFF
        plan[a.COYOTE] = 1 + b.draw(book, counts[b.COYOTE_TICKS])
        plan[a.RUN_TICKS] = NEVER
    elif kind == 4:
        plan[a.DEPART] = a.WALK_OFF
        plan[a.RUN_TICKS] = NEVER
    elif (kind == 5 or kind == 11) and counts[b.HAS_DROP] != 0:
        plan[a.DEPART] = a.DROP


@compiled
def draw_node(foothold, book):
    """A node on the foothold at random, -1 if there is none; those found last are as likely as the first."""
    count = book.footholds[foothold, b.NODE_COUNT]
    if count == 0:
        return -1
    node = book.footholds[foothold, b.FIRST_NODE]
    for _ in range(b.draw(book, min(count, 256))):
        node = book.nodes[node, b.NEXT]
    return node


@compiled
def draw_attempt(target, book):
    """Draw a whole attempt at a target; False if it has no node to begin at."""
    plan = book.plan
    counts = book.counts
    row = book.targets[target]
    node = draw_node(row[SOURCE], book)
    if node < 0:
        return False
    state = b.load_state(book.nodes[node])
    ahead = 1
    if row[AIM_LEFT] + row[AIM_RIGHT] < 2 * state.x:
        ahead = -1
    if b.draw(book, 6) == 0:
        ahead = -ahead
    plan[:] = 0
    plan[a.NODE] = node
    plan[a.PAUSE_AT] = -1
    plan[a.RUN] = 1 if counts[b.HAS_RUN] != 0 and b.draw(book, 4) != 0 else 0
    plan[a.RUN_DIRECTION] = ahead if b.draw(book, 8) != 0 else -ahead
    plan[a.DIRECTION] = ahead if b.draw(book, 8) != 0 else b.draw(book, 3) - 1
    plan[a.HOLD] = NEVER if b.draw(book, 2) == 0 else draw_length(counts[b.AIR_TICKS], book)
    draw_departure(book)
    if b.draw(book, 3) == 0:
        plan[a.TAP_DIRECTION] = 1 - 2 * b.draw(book, 2)
        plan[a.TAP_TICKS] = draw_length(128, book)
    if b.draw(book, 6) == 0 and plan[a.RUN_TICKS] > 0:
        plan[a.PAUSE_AT] = b.draw(book, min(plan[a.RUN_TICKS], 64))
    draw_steering(ahead, book)
    if state.grounded == 0 or state.buffer > 0:
        plan[a.DEPART] = a.FLY
    return True


@compiled
def change(value, least, book):
    """A count of ticks near another one, never below the least."""
    if value >= NEVER:
        return draw_length(64, book)
    return max(least, value + (1 - 2 * b.draw(book, 2)) * draw_length(8, book))


@compiled
def vary_attempt(target, book):
    """Change the target's best attempt in up to three things."""
    plan = book.plan
    row = book.targets[target]
    for field in range(a.ATTEMPT_FIELDS):
        plan[field] = row[BEST + field]
    ahead = 1 - 2 * b.draw(book, 2)
    for _ in range(b.draw(book, 4)):
        what = b.draw(book, 12)
        if what == 0:
            plan[a.TAP_DIRECTION] = ahead
            plan[a.TAP_TICKS] = b.draw(book, 12)
        elif what == 1 and plan[a.TAP_TICKS] > 0:
            plan[a.TAP_TICKS] = change(plan[a.TAP_TICKS], 0, book)
        elif what == 2 and plan[a.DEPART] in (a.JUMP, a.DROP):
            plan[a.RUN_TICKS] = change(plan[a.RUN_TICKS], 0, book)
        elif what == 3 and plan[a.DEPART] == a.JUMP_LATE:
            plan[a.DEPART] = a.JUMP
        elif what == 4:
            plan[a.PAUSE_AT] = b.draw(book, 64) - 1
        elif what == 5:
            plan[a.HOLD] = change(plan[a.HOLD], 1, book)
        elif what == 6:
            plan[a.UNTIL_1] = change(plan[a.UNTIL_1], 0, book)
        elif what == 7:
            plan[a.UNTIL_2] = change(plan[a.UNTIL_2], 0, book)
        elif what == 8:
            draw_steering(ahead, book)
        elif what == 9 and plan[a.DEPART] != a.FLY:
            draw_departure(book)
        elif what == 10:
            plan[a.DIRECTION] = b.draw(book, 3) - 1
        elif what == 11:
            node = draw_node(row[SOURCE], book)
            state = b.load_state(book.nodes[node])
            flies = state.grounded == 0 or state.buffer > 0
            if flies == (plan[a.DEPART] == a.FLY):
                plan[a.NODE] = node


@compiled
def next_trial(book):
    """Draw the next trial, the active targets taking turns; False if none is active."""
    counts = book.counts
    size = book.targets.shape[0]
    for _ in range(size + 1):
        if counts[b.TARGET] < 0 or counts[b.TRIAL] >= TRIALS_IN_TURN or book.targets[counts[b.TARGET], ACTIVE] == 0:
            counts[b.TARGET] = (counts[b.TARGET] + 1) % size if size > 0 else -1
            counts[b.TRIAL] = 0
        target = counts[b.TARGET]
        if target < 0 or book.targets[target, ACTIVE] == 0:
            continue
        row = book.targets[target]
        counts[b.TRIAL] += 1
        row[TRIED] += 1
        counts[b.AIM] = row[TARGET]
        counts[b.MISS] = FAR
        if row[NEAREST] < FAR and b.draw(book, 4) != 0:
            vary_attempt(target, book)
            return True
        if draw_attempt(target, book):
            return True
        counts[b.TRIAL] = TRIALS_IN_TURN
    return False


@compiled
def finish_trial(book):
    """Keep the attempt if none came nearer to its target; a hit makes the target inactive, staleness begins it anew."""
    row = book.targets[book.counts[b.TARGET]]
    miss = book.counts[b.MISS]
    row[STALE] += 1
    if miss < row[NEAREST]:
        row[STALE] = 0
    elif row[STALE] >= MOST_STALE:
        row[STALE] = 0
        row[NEAREST] = FAR
    if miss <= row[NEAREST]:
        row[NEAREST] = miss
        for field in range(a.ATTEMPT_FIELDS):
            row[BEST + field] = book.plan[field]
    if miss < row[CLOSEST]:
        row[CLOSEST] = miss
        for field in range(a.ATTEMPT_FIELDS):
            row[CLOSEST_BEST + field] = book.plan[field]
    if miss == 0:
        row[ACTIVE] = 0
