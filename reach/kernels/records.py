"""Writing into the book: cells, the waiting list, nodes, first reaches and moves."""

from reach.kernels.book import (
    BODY_H,
    CELL_BUFFERED,
    CELL_REST,
    CELLS,
    COUNT,
    FIRST,
    FIRST_NODE,
    FOOTHOLD,
    FULL,
    HALF,
    HEAP,
    LEFT,
    MISSING,
    MOST_NODES_ON_FOOTHOLD,
    MOVE_COUNT,
    MOVE_FIRST,
    MOVE_FROM_REST,
    MOVE_KIND,
    MOVE_LEAVE,
    MOVE_MARGIN,
    MOVE_NODE,
    MOVE_SOURCE,
    MOVE_TARGET,
    MOVE_TICKS,
    MOVE_TO_REST,
    MOVES,
    NEXT,
    NODE_COUNT,
    NODES,
    PARENT,
    POOL,
    REACH_COUNT,
    REACH_FIRST,
    REACH_NODE,
    REACH_TOTAL,
    REST_LEFT,
    REST_RIGHT,
    RESTING,
    RIGHT,
    TILE,
    TOP_SPEED,
    TOTAL,
    WANTED,
    save_state,
    scatter,
)
from reach.kernels.compiling import compiled, inlined


@compiled
def is_new_cell(key, cells, counts):
    """True where the key (1 to 2^62) was not in the set; it is now. A set that is full knows every key."""
    mask = cells.shape[0] - 1
    slot = scatter(key) & mask
    while cells[slot] != 0:
        if cells[slot] == key:
            return False
        slot = (slot + 1) & mask
    if 4 * counts[CELLS] > 3 * cells.shape[0]:
        counts[FULL] = 1
        return False
    cells[slot] = key
    counts[CELLS] += 1
    return True


@compiled
def push(key, node, book):
    """Add a node to the waiting list."""
    heap = book.heap
    at = book.counts[HEAP]
    book.counts[HEAP] = at + 1
    while at > 0:
        above = (at - 1) >> 1
        if heap[above, 0] <= key:
            break
        heap[at, 0] = heap[above, 0]
        heap[at, 1] = heap[above, 1]
        at = above
    heap[at, 0] = key
    heap[at, 1] = node


@compiled
def pop(book):
    """Remove and return the node with the least key, -1 if none waits."""
    heap = book.heap
    size = book.counts[HEAP] - 1
    if size < 0:
        return -1
    book.counts[HEAP] = size
    node = heap[0, 1]
    key = heap[size, 0]
    moved = heap[size, 1]
    at = 0
    while True:
        child = 2 * at + 1
        if child >= size:
            break
        if child + 1 < size and heap[child + 1, 0] < heap[child, 0]:
            child += 1
        if heap[child, 0] >= key:
            break
        heap[at, 0] = heap[child, 0]
        heap[at, 1] = heap[child, 1]
        at = child
    heap[at, 0] = key
    heap[at, 1] = moved
    return node


@compiled
def keep_inputs(ticks, book):
    """(first, count) of the pool entries that now hold the tape's first `ticks` ticks; count -1 where it is full."""
    first = book.counts[POOL]
    last = first - 1
    code = -1
    for at in range(ticks):
        if book.tape[at] == code:
            book.pool[last] += 256
            continue
        last += 1
        if last >= book.pool.shape[0]:
            book.counts[FULL] = 1
            return first, -1
        code = book.tape[at]
        book.pool[last] = 256 + code
    book.counts[POOL] = last + 1
    return first, last + 1 - first


@compiled
def foothold_at(x, y, book):
    """Index of the foothold that a body with its feet on the ground at (x, y) is on, -1 if none."""
    row = (y + book.counts[BODY_H]) // book.counts[TILE]
    if row < 0 or row >= book.row_first.shape[0] - 1:
        return -1
    low = book.row_first[row]
    high = book.row_first[row + 1]
    while low < high:
        middle = (low + high) >> 1
        if book.footholds[middle, RIGHT] < x:
            low = middle + 1
        else:
            high = middle
    if low < book.row_first[row + 1] and book.footholds[low, LEFT] <= x:
        return low
    return -1


@compiled
def add_node(state, ticks, parent, foothold, resting, book):
    """The node of a state that the tape's first `ticks` ticks lead to from `parent`; -1 where there is no room."""
    node = book.counts[NODES]
    if node >= book.nodes.shape[0]:
        book.counts[FULL] = 1
        return -1
    first, count = keep_inputs(ticks, book)
    if count < 0:
        return -1
    book.counts[NODES] = node + 1
    row = book.nodes[node]
    save_state(state, row)
    row[PARENT] = parent
    row[TOTAL] = ticks
    if parent >= 0:
        row[TOTAL] += book.nodes[parent, TOTAL]
    row[FIRST] = first
    row[COUNT] = count
    row[FOOTHOLD] = foothold
    row[RESTING] = resting
    row[NEXT] = -1
    if foothold >= 0:
        row[NEXT] = book.footholds[foothold, FIRST_NODE]
        book.footholds[foothold, FIRST_NODE] = node
        book.footholds[foothold, NODE_COUNT] += 1
    push(row[TOTAL], node, book)
    return node


@inlined
def may_improve(slot, total, book):
    """True where a script of `total` ticks to this tile or place would be kept."""
    return book.reach[slot, REACH_NODE] < 0 or 8 * total < 7 * book.reach[slot, REACH_TOTAL]


@compiled
def mark(slot, node, ticks, book):
    """Note that the tape's first `ticks` ticks reach a tile or place; a clearly shorter script replaces a known one."""
    row = book.reach[slot]
    first, count = keep_inputs(ticks, book)
    if count < 0:
        return
    if row[REACH_NODE] < 0 and row[WANTED] != 0:
        book.counts[MISSING] -= 1
    row[REACH_NODE] = node
    row[REACH_FIRST] = first
    row[REACH_COUNT] = count
    row[REACH_TOTAL] = book.nodes[node, TOTAL] + ticks


@compiled
def find_move(source, target, kind, book):
    """Index of the move's row or -1, and the slot in `move_slots` where it is or would go."""
    mask = book.move_slots.shape[0] - 1
    slot = scatter((source * HALF + target) * 8 + kind) & mask
    while book.move_slots[slot] != 0:
        index = book.move_slots[slot] - 1
        row = book.moves[index]
        if row[MOVE_SOURCE] == source and row[MOVE_TARGET] == target and row[MOVE_KIND] == kind:
            return index, slot
        slot = (slot + 1) & mask
    return -1, slot


@compiled
def keep_move(source, target, kind, node, ticks, leave, to_rest, margin, book):
    """Keep the tape's first `ticks` ticks from `node` as the example of a move, unless a better one is known.

    Better is: from rest on the source, to rest on the target, then a landing farther from the target's ends
    (`margin`, in coarse steps), then fewer ticks.
    """
    from_rest = 0
    if book.nodes[node, RESTING] != 0 and book.nodes[node, FOOTHOLD] == source:
        from_rest = 1
    index, slot = find_move(source, target, kind, book)
    if index >= 0:
        known = book.moves[index]
        score = (known[MOVE_FROM_REST] * 2 + known[MOVE_TO_REST]) * 64 + known[MOVE_MARGIN]
        found = (from_rest * 2 + to_rest) * 64 + margin
        if found < score or (found == score and 8 * ticks >= 7 * known[MOVE_TICKS]):
            return
    elif book.counts[MOVES] >= book.moves.shape[0]:
        book.counts[FULL] = 1
        return
    first, count = keep_inputs(ticks, book)
    if count < 0:
        return
    if index < 0:
        index = book.counts[MOVES]
        book.counts[MOVES] = index + 1
        book.move_slots[slot] = index + 1
    row = book.moves[index]
    row[MOVE_SOURCE] = source
    row[MOVE_TARGET] = target
    row[MOVE_KIND] = kind
    row[MOVE_FROM_REST] = from_rest
    row[MOVE_TO_REST] = to_rest
    row[MOVE_NODE] = node
    row[MOVE_FIRST] = first
    row[MOVE_COUNT] = count
    row[MOVE_TICKS] = ticks
    row[MOVE_MARGIN] = margin
    row[MOVE_LEAVE] = leave


@inlined
def cell_key(kind, foothold, x_cell, v_cell, flags):
    """The key of a cell; different cells of one foothold have different keys as long as the numbers fit."""
    return (((foothold * 1048576 + (x_cell + 524288) % 1048576) * 1024 + (v_cell + 512) % 1024) * 8 + flags) * 16 + kind


@inlined
def landing_margin(x, foothold, book):
    """Distance of x from the nearer end of a foothold in quarter tiles, at most 8."""
    left = x - book.footholds[foothold, LEFT]
    right = book.footholds[foothold, RIGHT] - x
    return min(8, 4 * min(left, right) // book.counts[TILE])


@compiled
def add_rest(state, ticks, parent, foothold, book):
    """Make a node of a body at rest, if its spot is new or the farthest out so far.

    Where a press still waits in the buffer the body only stands for a tick: it takes off by itself in the next.
    """
    if state.buffer != 0:
        add_moving(state, ticks, parent, foothold, CELL_BUFFERED, book)
        return
    row = book.footholds[foothold]
    tile = book.counts[TILE]
    finer = max(1, tile >> 4)
    extreme = state.x <= row[REST_LEFT] - finer or state.x >= row[REST_RIGHT] + finer
    flags = 0
    if state.x == row[LEFT]:
        flags = 1
    elif state.x == row[RIGHT]:
        flags = 2
    key = cell_key(CELL_REST, foothold, (state.x - row[LEFT]) // max(1, tile >> 1), 0, flags)
    if not is_new_cell(key, book.cells, book.counts) and not extreme:
        return
    if row[NODE_COUNT] < MOST_NODES_ON_FOOTHOLD:
        row[REST_LEFT] = min(row[REST_LEFT], state.x)
        row[REST_RIGHT] = max(row[REST_RIGHT], state.x)
        add_node(state, ticks, parent, foothold, 1, book)


@compiled
def add_moving(state, ticks, parent, foothold, kind, book):
    """Make a node of a moving, buffered or thrown body, if its cell of position and speed is new."""
    row = book.footholds[foothold]
    x_cell = (state.x - row[LEFT]) // max(1, book.counts[TILE] >> 1)
    v_cell = state.vx // max(1, book.counts[TOP_SPEED] >> 2)
    key = cell_key(kind, foothold, x_cell, v_cell, 0)
    if is_new_cell(key, book.cells, book.counts) and row[NODE_COUNT] < MOST_NODES_ON_FOOTHOLD:
        add_node(state, ticks, parent, foothold, 0, book)
