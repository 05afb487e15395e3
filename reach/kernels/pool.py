"""Storage of polygons and of sets of polygons (see heap.py), and the builder in which a new set grows.

A full region never makes anything write out of bounds: it raises the FULL flag and the job starts again with more room.
"""

from reach.kernels import polygon, rising
from reach.kernels.heap import (
    B_DIRTY,
    B_HEAD,
    B_JOINS,
    B_LANE,
    B_SIZE,
    B_V0,
    B_V1,
    B_WIDTH,
    B_X0,
    B_X1,
    B_ZONE,
    BUILD,
    BUILD_N,
    FIRST,
    FULL,
    ITEM,
    ITEM_N,
    JOINED,
    POLYGON,
    POLYGON_N,
    POLYGON_WIDTH,
    SCRATCH,
    SCRATCH_ROWS,
    SET,
    SET_FIRST,
    SET_N,
    SET_SIZE,
    SET_WIDTH,
    SET_X0,
    SET_X1,
    SIZE,
    V0,
    V1,
    VERTEX_N,
    VERTEX_V,
    VERTEX_X,
    WIDTH,
    WORK,
    WORK_ROWS,
    X0,
    X1,
    ZONE,
)
from reach.kernels.typed import kernel, view


@view
def scratch_x(j, i):
    """The x of scratch polygon i."""
    a = j[SCRATCH] + i * WIDTH
    return j[a : a + WIDTH]


@view
def scratch_v(j, i):
    """The v of scratch polygon i."""
    a = j[SCRATCH] + (SCRATCH_ROWS + i) * WIDTH
    return j[a : a + WIDTH]


@view
def work_room(j):
    """Scratch of the polygon functions: WORK_ROWS rows of 2 * WIDTH."""
    a = j[WORK]
    return j[a : a + WORK_ROWS * 2 * WIDTH]


@kernel
def record(a, i) -> int:
    """Where polygon i's record stands."""
    return a[POLYGON] + i * POLYGON_WIDTH


@kernel
def set_record(a, s) -> int:
    """Where set s's record stands; set 0 is empty."""
    return a[SET] + s * SET_WIDTH


@view
def vertices(a, i):
    """The vertices of polygon i (views of x and v) and their number."""
    r = a[POLYGON] + i * POLYGON_WIDTH
    at = a[r + FIRST]
    n = a[r + SIZE]
    x = a[VERTEX_X] + at
    v = a[VERTEX_V] + at
    return a[x : x + n], a[v : v + n], n


@kernel
def _add_vertices(a, ax, av, n) -> int:
    """Store the vertices of a polygon; returns where its record stands, -1 and the FULL flag where there is no room."""
    i = a[POLYGON_N]
    at = a[VERTEX_N]
    if i >= a[POLYGON + 1] or at + n > a[VERTEX_X + 1]:
        a[FULL] = 1
        return -1
    x = a[VERTEX_X] + at
    v = a[VERTEX_V] + at
    for k in range(n):
        a[x + k] = ax[k]
        a[v + k] = av[k]
    r = record(a, i)
    a[r + FIRST] = at
    a[r + SIZE] = n
    a[VERTEX_N] = at + n
    a[POLYGON_N] = i + 1
    return r


@kernel
def add_polygon(a, ax, av, n, zone) -> int:
    """Store a polygon; returns its index (0 and the FULL flag where there is no room)."""
    i = a[POLYGON_N]
    r = _add_vertices(a, ax, av, n)
    if r < 0:
        return 0
    x0, x1 = polygon.range_of(ax, n)
    a[r + ZONE] = zone
    a[r + X0] = x0
    a[r + X1] = x1
    a[r + V0] = av[0]
    a[r + V1] = av[rising.peak(av, n)]
    return i


@kernel
def add_item(a, i) -> None:
    """Append polygon i to the set in the making."""
    m = a[ITEM_N]
    if m >= a[ITEM + 1]:
        a[FULL] = 1
        return
    a[a[ITEM] + m] = i
    a[ITEM_N] = m + 1


@kernel
def close_set(a, first) -> int:
    """Make a set of the items from number `first` on; returns its index, 0 if it is empty."""
    m = a[ITEM_N] - first
    if m == 0:
        return 0
    s = a[SET_N]
    if s >= a[SET + 1]:
        a[FULL] = 1
        return 0
    item = a[ITEM]
    r = record(a, a[item + first])
    x0 = a[r + X0]
    x1 = a[r + X1]
    for q in range(first + 1, first + m):
        r = record(a, a[item + q])
        x0 = min(x0, a[r + X0])
        x1 = max(x1, a[r + X1])
    r = set_record(a, s)
    a[r + SET_FIRST] = item + first
    a[r + SET_SIZE] = m
    a[r + SET_X0] = x0
    a[r + SET_X1] = x1
    a[SET_N] = s + 1
    return s


@kernel
def items(a, s) -> tuple[int, int]:
    """Cells of `a` that hold the polygons of set s: (first, end)."""
    r = set_record(a, s)
    return a[r + SET_FIRST], a[r + SET_FIRST] + a[r + SET_SIZE]


@kernel
def piece(j, b, k) -> int:
    """Where piece k of builder b (BUILD or CLOSE) stands."""
    return j[b] + k * B_WIDTH


@view
def piece_vertices(j, b, k):
    """The vertices of a builder's piece (views with room for WIDTH) and their number."""
    p = j[b] + k * B_WIDTH
    a = p + B_HEAD
    return j[a : a + WIDTH], j[a + WIDTH : a + 2 * WIDTH], j[p + B_SIZE]


@kernel
def put(j, b, k, ax, av, n, x0, x1) -> None:
    """Write the vertices of piece k of a builder, which lie in [x0, x1]."""
    bx, bv, _ = piece_vertices(j, b, k)
    polygon.copy(ax, av, n, bx, bv)
    p = piece(j, b, k)
    j[p + B_SIZE] = n
    j[p + B_X0] = x0
    j[p + B_X1] = x1
    j[p + B_V0] = av[0]
    j[p + B_V1] = av[rising.peak(av, n)]


@kernel
def join_into(j, b, k, ax, av, n, x0, x1) -> None:
    """Replace piece k by its convex hull with the polygon, which lies in [x0, x1]."""
    bx, bv, m = piece_vertices(j, b, k)
    cx = scratch_x(j, JOINED)
    cv = scratch_v(j, JOINED)
    q = rising.join(bx, bv, m, ax, av, n, cx, cv)
    if q > polygon.MAX_VERTICES:
        q = polygon.simplify(cx, cv, q, polygon.MAX_VERTICES // 2, work_room(j))
        if q > polygon.MAX_VERTICES:
            q = polygon.enclose(cx, cv, q)
        rising.begin_lowest(cx, cv, q, bx, bv)
        polygon.copy(bx, bv, q, cx, cv)
    p = piece(j, b, k)
    put(j, b, k, cx, cv, q, min(x0, j[p + B_X0]), max(x1, j[p + B_X1]))


@kernel
def touching(j, b, count, ax, av, n, x0, x1, zone, lane, besides) -> int:
    """The first piece (but `besides`) of the same zone and lane that the polygon in [x0, x1] touches; -1 if none."""
    v0 = av[0]
    v1 = av[rising.peak(av, n)]
    for k in range(count):
        p = piece(j, b, k)
        if (
            k != besides
            and j[p + B_ZONE] == zone
            and j[p + B_LANE] == lane
            and j[p + B_X0] <= x1
            and x0 <= j[p + B_X1]
            and j[p + B_V0] <= v1
            and v0 <= j[p + B_V1]
        ):
            bx, bv, m = piece_vertices(j, b, k)
            # pieces of a zone mostly meet on the zone's edge, where the question is a cheap one
            if j[p + B_V0] == v0 and rising.meet_lowest(bx, bv, m, ax, av, n):
                return k
            if j[p + B_V1] == v1 and rising.meet_highest(bx, bv, m, ax, av, n):
                return k
            if polygon.touches(bx, bv, m, ax, av, n):
                return k
    return -1


@kernel
def remove(j, b, number, q, watched) -> int:
    """Drop piece q by moving the last one into its place; returns where piece `watched` stands now."""
    last = j[number] - 1
    if q != last:
        a = piece(j, b, q)
        c = piece(j, b, last)
        n = j[c + B_SIZE]
        for i in range(B_JOINS + 1):
            j[a + i] = j[c + i]
        for i in range(B_HEAD, B_HEAD + n):
            j[a + i] = j[c + i]
            j[a + WIDTH + i] = j[c + WIDTH + i]
    j[number] = last
    return q if watched == last else watched


@kernel
def build(j, b, number, ax, av, n, zone, lane) -> int:
    """Add a piece, joined (convex hull) with what it touches in its own zone and lane; what it changes is dirty.

    `number` is the cell that counts the builder's pieces. Returns the piece's place, -1 where there is no room.
    """
    if n == 0:
        return -1
    x0, x1 = polygon.range_of(ax, n)
    k = touching(j, b, j[number], ax, av, n, x0, x1, zone, lane, -1)
    if k < 0:
        k = j[number]
        if k >= j[b + 1]:
            j[FULL] = 1
            return -1
        put(j, b, k, ax, av, n, x0, x1)
        p = piece(j, b, k)
        j[p + B_ZONE] = zone
        j[p + B_LANE] = lane
        j[p + B_DIRTY] = 1
        j[p + B_JOINS] = 0
        j[number] = k + 1
        return k
    p = piece(j, b, k)
    bx, bv, m = piece_vertices(j, b, k)
    # where one piece holds the other, as that of the zone itself mostly does, there is no hull to find
    if j[p + B_X0] <= x0 and x1 <= j[p + B_X1] and rising.holds(bx, bv, m, ax, av, n):
        return k
    if x0 <= j[p + B_X0] and j[p + B_X1] <= x1 and rising.holds(ax, av, n, bx, bv, m):
        put(j, b, k, ax, av, n, x0, x1)
    else:
        join_into(j, b, k, ax, av, n, x0, x1)
    joins = j[p + B_JOINS] + 1
    while True:
        bx, bv, m = piece_vertices(j, b, k)
        p = piece(j, b, k)
        q = touching(j, b, j[number], bx, bv, m, j[p + B_X0], j[p + B_X1], zone, lane, k)
        if q < 0:
            break
        cx, cv, m = piece_vertices(j, b, q)
        c = piece(j, b, q)
        join_into(j, b, k, cx, cv, m, j[c + B_X0], j[c + B_X1])
        joins = max(joins, j[c + B_JOINS]) + 1
        k = remove(j, b, number, q, k)
    p = piece(j, b, k)
    j[p + B_DIRTY] = 1
    j[p + B_JOINS] = joins
    return k


@kernel
def finish(j) -> int:
    """Store the pieces of BUILD as a set; returns its index. The builder is empty afterwards."""
    first = j[ITEM_N]
    for k in range(j[BUILD_N]):
        ax, av, n = piece_vertices(j, BUILD, k)
        p = piece(j, BUILD, k)
        i = j[POLYGON_N]
        r = _add_vertices(j, ax, av, n)
        if r < 0:
            break
        j[r + ZONE] = j[p + B_ZONE]
        j[r + X0] = j[p + B_X0]
        j[r + X1] = j[p + B_X1]
        j[r + V0] = j[p + B_V0]
        j[r + V1] = j[p + B_V1]
        add_item(j, i)
    j[BUILD_N] = 0
    return close_set(j, first)
