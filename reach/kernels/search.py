"""The concrete search: attempts played by the scalar step from states that have a script, all gains kept.

Approximation: under. Every state is the end of a script from the start, so whatever is marked is reachable; cells of
position and speed only keep the search from doing the same twice.
"""

from reach.kernels import attempts as a
from reach.kernels import book as b
from reach.kernels import records as r
from reach.kernels.attempts import NEVER
from reach.kernels.compiling import compiled, inlined
from reach.kernels.params import Buttons
from reach.kernels.step import band1, step
from reach.kernels.trials import aim_at, finish_trial, next_trial

DONE, TAPPING, SETTLING, RUNNING, LEAVING, TAKING_OFF, FLYING, BRAKING, PRESSING = range(9)
"""What an attempt is doing: a tap, coasting after it, running up, off the ground before a late press, the tick of the
takeoff, in the air, coming to rest after a landing (or a run-up), landing once more with a press for the buffer."""


@inlined
def was_launched(old, new):
    """True where a spring launched the body in the tick from `old` to `new`, both alive. Approximation: exact.

    A tick that ends with upward speed moved the body up by just that speed, unless the speed was given after the move.
    """
    return new.vy < 0 and new.y >= old.y


@inlined
def mark_contacts(state, on_top, at, node, book, motion, terrain):
    """Note every standable tile under the feet of a body on top of its row, and every place that it touches."""
    tile = terrain.tile
    total = book.nodes[node, b.TOTAL] + at
    places = book.reach.shape[0] - book.place_next.shape[0]
    first_column = state.x // tile
    last_column = (state.x + motion.body_w - 1) // tile
    row = (state.y + motion.body_h) // tile
    if on_top and 0 <= row < book.tile_slot.shape[0]:
        for column in range(first_column, last_column + 1):
            slot = book.tile_slot[row, column]
            if slot >= 0 and r.may_improve(slot, total, book):
                r.mark(slot, node, at, book)
    last_row = min(book.place_at.shape[0] - 1, (state.y + motion.body_h - 1) // tile)
    for place_row in range(max(0, state.y // tile), last_row + 1):
        for column in range(first_column, last_column + 1):
            place = book.place_at[place_row, column]
            while place >= 0:
                if r.may_improve(places + place, total, book):
                    r.mark(places + place, node, at, book)
                place = book.place_next[place]


@inlined
def ending_place(state, book, motion, terrain):
    """Index of an ending place that the body touches, -1 if none."""
    tile = terrain.tile
    for row in range(max(0, state.y // tile), min(book.place_at.shape[0], (state.y + motion.body_h - 1) // tile + 1)):
        for column in range(state.x // tile, (state.x + motion.body_w - 1) // tile + 1):
            place = book.place_at[row, column]
            while place >= 0:
                if terrain.place_ends[place] != 0:
                    return place
                place = book.place_next[place]
    return -1


@compiled
def next_from_table(book):
    """Draw up the next attempt of the grid from the waiting node with the fewest ticks; False if none waits."""
    counts = book.counts
    while True:
        if counts[b.CURRENT] < 0 or counts[b.NEXT_PLAN] >= 2 * book.table.shape[0]:
            counts[b.CURRENT] = r.pop(book)
            counts[b.NEXT_PLAN] = 0
            if counts[b.CURRENT] < 0:
                return False
        node = counts[b.CURRENT]
        row = book.table[counts[b.NEXT_PLAN] >> 1]
        facing = 1 - 2 * (counts[b.NEXT_PLAN] & 1)
        counts[b.NEXT_PLAN] += 1
        state = b.load_state(book.nodes[node])
        if state.grounded == 0 or state.buffer > 0:
            fit = a.FIT_FLYING
        elif book.nodes[node, b.RESTING] != 0:
            fit = a.FIT_RESTING
        else:
            fit = a.FIT_MOVING
        backwards = fit == a.FIT_MOVING and facing * state.vx < 0 and row[a.DEPART] != a.ROLL_ON
        if row[a.FITS] & fit != 0 and not backwards and state.lost == 0 and state.ended == 0:
            for field in range(a.ATTEMPT_FIELDS):
                book.plan[field] = row[field]
            for field in (a.RUN_DIRECTION, a.DIRECTION, a.STEER_1, a.STEER_2, a.STEER_3):
                book.plan[field] *= facing
            book.plan[a.NODE] = node
            return True


@compiled
def come_to_rest(state, at, target, source, kind, leave, landed_x, book):
    """Keep a rest on the target: a node, and the move that led to it."""
    node = book.plan[a.NODE]
    r.add_rest(state, at, node, target, book)
    if target != source and source >= 0:
        margin = min(r.landing_margin(landed_x, target, book), r.landing_margin(state.x, target, book))
        rests = 1 if state.buffer == 0 else 0
        r.keep_move(source, target, kind, node, at, leave, rests, max(0, margin), book)
    if target == book.counts[b.AIM]:
        book.counts[b.MISS] = 0


@compiled
def arrive(state, at, target, source, kind, leave, book):
    """Keep a landing on the target that need not come to rest."""
    book.footholds[target, b.LANDED_ON] = 1
    node = book.plan[a.NODE]
    if target != source and source >= 0:
        r.keep_move(source, target, kind, node, at, leave, 0, 0, book)
    if state.grounded == 0:
        r.add_moving(state, at, node, target, b.CELL_BOUNCE, book)
        if target == book.counts[b.AIM]:
            book.counts[b.MISS] = 0
        return
    if state.vx != 0:
        r.add_moving(state, at, node, target, b.CELL_MOVING, book)
    if target == book.counts[b.AIM]:
        book.counts[b.MISS] = min(book.counts[b.MISS], 1 + abs(state.vx))


@compiled
def search(most_ticks, book, motion, terrain):
    """Make attempts until none is left, a table is full or so many ticks have been simulated. Approximation: under.

    Attempts are those of the grid from every waiting node, or trials at `book.targets` where `counts[TRIALS]` is set.

    Returns
    -------
    int
        Attempts made.
    """
    counts = book.counts
    plan = book.plan
    tape = book.tape
    tile = terrain.tile
    footholds = book.footholds.shape[0]
    end = counts[b.TICKS] + most_ticks
    made = 0
    while counts[b.TICKS] < end and counts[b.FULL] == 0:
        if counts[b.TRIALS] != 0 and counts[b.MISSING] == 0 and counts[b.GO_ON] == 0:
            break
        if not (next_trial(book) if counts[b.TRIALS] != 0 else next_from_table(book)):
            break
        made += 1
        node = plan[a.NODE]
        depart = plan[a.DEPART]
        state = b.load_state(book.nodes[node])
        source = book.nodes[node, b.FOOTHOLD]
        kind = b.KIND_WALK_OFF
        if depart == a.FLY:
            phase = FLYING
            if state.grounded != 0:
                kind = b.KIND_JUMP
            elif source >= 0:
                kind = b.KIND_SPRING
        elif plan[a.TAP_TICKS] > 0:
            phase = TAPPING
        else:
            phase = RUNNING
        at = 0
        ticks = 0
        leave = 0
        target = -1
        hold = plan[a.HOLD]
        until_1 = plan[a.UNTIL_1]
        until_2 = plan[a.UNTIL_2]
        scaled = plan[a.IN_APEXES] == 0
        before = state
        landed = state
        landed_at = 0
        landed_code = 0
        braking = 0
        if phase == RUNNING and plan[a.RUN_TICKS] == 0 and depart in (a.JUMP, a.DROP):
            phase = TAKING_OFF
        if phase == TAKING_OFF and depart == a.JUMP and state.jump_was_down != 0:
            phase = DONE
        while phase != DONE and at < tape.shape[0]:
            if not scaled and phase in (TAKING_OFF, FLYING):
                scaled = True
                entry = band1(motion.jump_from, abs(state.vx))
                apex = motion.jump_launch[entry] // motion.jump_gravity_held[entry] + 1
                if hold < NEVER:
                    hold = max(hold * apex // 16, 1)
                if until_1 < NEVER:
                    until_1 = max(until_1 * apex // 16, 1)
                if until_2 < NEVER:
                    until_2 = max(until_2 * apex // 16, 1)
            direction = 0
            down = 0
            jump = 0
            run = plan[a.RUN]
            if phase == TAPPING:
                direction = plan[a.TAP_DIRECTION]
            elif phase == RUNNING:
                if ticks != plan[a.PAUSE_AT]:
                    direction = plan[a.RUN_DIRECTION]
            elif phase == LEAVING:
                direction = plan[a.RUN_DIRECTION]
            elif phase == TAKING_OFF:
                direction = plan[a.DIRECTION]
                if depart == a.DROP:
                    down = 1
                else:
                    jump = 1
            elif phase == FLYING:
                if ticks < until_1:
                    direction = plan[a.STEER_1]
                elif ticks < until_2:
                    direction = plan[a.STEER_2]
                else:
                    direction = plan[a.STEER_3]
                if kind == b.KIND_JUMP and ticks < hold and state.vy < 0:
                    jump = 1
            elif phase == BRAKING:
                run = 0
                if braking == 2:
                    direction = -1 if landed.vx > 0 else 1
            elif phase == PRESSING:
                direction = (landed_code & 3) - 1
                run = (landed_code >> 3) & 1
                jump = 1
            old = state
            state = step(old, Buttons(direction, down, run, jump), motion, terrain)
            code = b.encode(direction, down, run, jump)
            tape[at] = code
            at += 1
            ticks += 1
            counts[b.TICKS] += 1

            if state.lost == 0:
                launched = was_launched(old, state)
                mark_contacts(state, state.grounded != 0 or launched, at, node, book, motion, terrain)
                if counts[b.TRIALS] != 0:
                    aim_at(old, state, book)
            else:
                launched = False
            arrives = False
            fails = False
            if state.lost != 0 or state.ended != 0:
                if phase == RUNNING and depart == a.JUMP_LATE and old.jump_was_down == 0 and at > 1:
                    state = old
                    at -= 1
                    ticks = 0
                    phase = TAKING_OFF
                    continue
                if state.ended != 0:
                    place = ending_place(state, book, motion, terrain)
                    walks = phase in (TAPPING, SETTLING, RUNNING, BRAKING)
                    left_from = target if phase == BRAKING else source
                    if left_from >= 0:
                        r.keep_move(
                            left_from, footholds + place, b.KIND_STRIDE if walks else kind, node, at,
                            at - 1 if walks else leave, 1, 0, book,
                        )  # fmt: skip
                if phase != BRAKING:
                    break
                fails = True
            elif launched:
                spring = r.foothold_at(state.x, state.y, book)
                walks = phase in (TAPPING, SETTLING, RUNNING, BRAKING)
                if spring >= 0:
                    arrive(
                        state, at, spring, target if phase == BRAKING else source,
                        b.KIND_STRIDE if walks else kind, at - 1 if walks else leave, book,
                    )  # fmt: skip
                if phase != BRAKING:
                    break
                fails = True
            elif phase in (TAPPING, SETTLING, RUNNING) and state.grounded != 0:
                stands_on = r.foothold_at(state.x, state.y, book)
                if stands_on != source:
                    kind = b.KIND_STRIDE
                    leave = at - 1
                    arrives = True
                elif phase == TAPPING:
                    if ticks >= plan[a.TAP_TICKS]:
                        phase = SETTLING
                elif phase == SETTLING:
                    if state.vx == 0:
                        r.add_rest(state, at, node, source, book)
                        phase = RUNNING
                        ticks = 0
                        if plan[a.RUN_TICKS] == 0 and depart in (a.JUMP, a.DROP):
                            phase = TAKING_OFF
                elif depart != a.JUMP_LATE and ticks >= plan[a.RUN_TICKS]:
                    ticks = 0
                    if depart in (a.JUMP, a.DROP):
                        phase = TAKING_OFF
                        leave = at
                    elif depart == a.STOP:
                        arrives = True
                        leave = at
                    else:
                        break
                elif direction != 0 and state.x == old.x and state.vx == 0:
                    r.add_rest(state, at, node, source, book)
                    if depart != a.JUMP:
                        break
                    phase = TAKING_OFF
                    leave = at
                    ticks = 0
                elif plan[a.RUN_CELLS] > 0 and 2 * abs(state.x - book.nodes[node, 0]) >= plan[a.RUN_CELLS] * tile:
                    if depart == a.ROLL_ON:
                        r.add_moving(state, at, node, source, b.CELL_MOVING, book)
                    break
            elif phase == RUNNING:
                leave = at - 1
                if depart == a.JUMP_LATE and old.jump_was_down == 0:
                    plan[a.RUN_TICKS] = ticks - 1
                    state = old
                    at -= 1
                    phase = TAKING_OFF
                elif depart == a.JUMP_OFF and state.coyote > 0 and state.jump_was_down == 0:
                    phase = LEAVING if plan[a.COYOTE] > 1 else TAKING_OFF
                elif depart == a.WALK_OFF:
                    phase = FLYING
                else:
                    break
                ticks = 0
            elif phase in (TAPPING, SETTLING):
                break
            elif phase == LEAVING:
                if state.grounded != 0:
                    break
                if ticks >= plan[a.COYOTE] - 1 or state.coyote <= 1:
                    phase = TAKING_OFF
                    ticks = 0
            elif phase == TAKING_OFF:
                if state.grounded != 0 or (depart == a.DROP and state.y == old.y):
                    break
                kind = b.KIND_DROP if depart == a.DROP else b.KIND_JUMP
                phase = FLYING
                ticks = 1
            elif phase == FLYING:
                arrives = state.grounded != 0
            elif phase == PRESSING:
                if state.grounded != 0:
                    r.add_moving(state, at, node, target, b.CELL_BUFFERED, book)
                break

            if arrives:
                target = r.foothold_at(state.x, state.y, book)
                if target < 0:
                    break
                arrive(state, at, target, source, kind, leave, book)
                before = old
                landed = state
                landed_at = at
                landed_code = code
                phase = BRAKING
                braking = 1
                if state.vx == 0:
                    braking = 2
            elif phase != BRAKING:
                continue
            if not fails and state.grounded != 0 and state.vx == 0:
                if r.foothold_at(state.x, state.y, book) == target:
                    come_to_rest(state, at, target, source, kind, leave, landed.x, book)
            elif not fails and state.grounded != 0:
                continue
            state = landed
            at = landed_at
            braking += 1
            if braking > 2:
                presses = motion.buffer_ticks > 0 and before.grounded == 0 and before.jump_was_down == 0
                if not presses or before.coyote > 0 or landed_code >= 16:
                    break
                state = before
                at = landed_at - 1
                phase = PRESSING
        if counts[b.TRIALS] != 0:
            finish_trial(book)
    return made


@compiled
def begin(state, book, motion, terrain):
    """Make the first node, of the state that everything starts from, and note what it stands on and touches."""
    foothold = -1
    if state.grounded != 0:
        foothold = r.foothold_at(state.x, state.y, book)
        if foothold >= 0 and book.footholds[foothold, b.IS_SPRING] != 0:
            foothold = -1
    resting = 1 if foothold >= 0 and state.vx == 0 and state.buffer == 0 else 0
    r.add_node(state, 0, -1, foothold, resting, book)
    if state.lost == 0:
        mark_contacts(state, state.grounded != 0, 0, 0, book, motion, terrain)
        if foothold >= 0:
            book.footholds[foothold, b.LANDED_ON] = 1
