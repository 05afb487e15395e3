"""Polygons in rising order: counter-clockwise from the right end of the lowest edge.

Going round from there v rises along the right side to the top and falls along the left side. One tick of any input
keeps that order - a shear moves no v, the sum with a vertical segment shifts whole chains - and cuts at speeds and
joins need it: with it each is one walk over the vertices that sorts nothing. Polygons that are stored are in this
order; points and segments are polygons like any other. Approximation: over - whatever rounds, rounds outward.
"""

from reach.kernels.typed import kernel


@kernel
def begin_lowest(ax, av, n, bx, bv) -> None:
    """Copy a counter-clockwise polygon into b, in rising order."""
    k = 0
    for i in range(1, n):
        if av[i] < av[k] or (av[i] == av[k] and ax[i] > ax[k]):
            k = i
    for i in range(n):
        bx[i] = ax[k]
        bv[i] = av[k]
        k = k + 1 if k + 1 < n else 0


@kernel
def peak(av, n) -> int:
    """Index of the right end of the highest edge."""
    t = 0
    while t + 1 < n and av[t + 1] > av[t]:
        t += 1
    return t


@kernel
def left_side(av, n, t) -> tuple[int, int]:
    """First and last index of the left side from the top down; n is the bottom vertex where right and left share it.

    `t` is the peak, where the left side begins if the highest edge is a point.
    """
    first = t + 1 if t + 1 < n and av[t + 1] == av[t] else t
    last = n - 1 if n == 1 or (n - 1 > t and av[n - 1] == av[0]) else n
    return first, last


@kernel
def sum_and_shear(ax, av, n, down, up, bx, bv) -> int:
    """{(x + w, w) : (x, v) in a, v + down <= w <= v + up}, exactly; returns its number of vertices (at most n + 2).

    The sum of a convex polygon and a vertical segment is its lower chain moved by `down` and its upper chain by `up`.
    """
    if down == up:
        for i in range(n):
            bv[i] = av[i] + down
            bx[i] = ax[i] + bv[i]
        return n
    i = 0
    bv[0] = av[0] + down
    bx[0] = ax[0] + bv[0]
    while i + 1 < n and ax[i + 1] > ax[i]:
        i += 1
        bv[i] = av[i] + down
        bx[i] = ax[i] + bv[i]
    m = i + 1
    if i + 1 < n and ax[i + 1] == ax[i]:
        i += 1
    bv[m] = av[i] + up
    bx[m] = ax[i] + bv[m]
    m += 1
    while i + 1 < n and ax[i + 1] < ax[i]:
        i += 1
        bv[m] = av[i] + up
        bx[m] = ax[i] + bv[m]
        m += 1
    if i + 1 == n:
        if n > 1 and ax[0] < ax[i]:
            # the lowest point is the one farthest left
            bv[m] = av[0] + up
            bx[m] = ax[0] + bv[m]
            m += 1
        elif n > 1 and ax[0] > ax[i]:
            bv[m] = av[i] + down
            bx[m] = ax[i] + bv[m]
            m += 1
        return m
    if ax[i + 1] > ax[i]:
        i -= 1
    while i + 1 < n:
        i += 1
        bv[m] = av[i] + down
        bx[m] = ax[i] + bv[m]
        m += 1
    return m


@kernel
def cut_x(x, v, to_x, to_v, bound) -> tuple[int, bool]:
    """Where an edge that rises from (x, v) crosses a speed, rounded down, and whether that was rounding."""
    product = (to_x - x) * (bound - v)
    rise = to_v - v
    step = product // rise
    return x + step, step * rise != product


@kernel
def _turns_left(bx, bv, i, k, x, v) -> bool:
    """Whether the way from vertex i of b over its vertex k to (x, v) turns left at k."""
    return (bx[k] - bx[i]) * (v - bv[i]) - (bv[k] - bv[i]) * (x - bx[i]) > 0


@kernel
def _add_turning(bx, bv, base, m, x, v) -> int:
    """Append (x, v) to a chain that begins at `base`; vertices that are no corner any more go. Returns the new end."""
    while m - base >= 2 and not _turns_left(bx, bv, m - 2, m - 1, x, v):
        m -= 1
    bx[m] = x
    bv[m] = v
    return m + 1


@kernel
def cut_speeds(ax, av, n, low, high, bx, bv) -> int:
    """The part of a with low <= v <= high, into b; x of a cut is rounded outward.

    Returns its number of vertices, 0 where nothing is left.
    """
    t = peak(av, n)
    if low > high or av[t] < low or av[0] > high:
        return 0
    if low <= av[0] and av[t] <= high:
        for i in range(n):
            bx[i] = ax[i]
            bv[i] = av[i]
        return n
    # the right side: the vertices from i to e, with a cut before and after
    i = 0
    while av[i] < low:
        i += 1
    e = t
    while av[e] > high:
        e -= 1
    m = 0
    turning = False
    if i > 0 and av[i] > low:
        x, turning = cut_x(ax[i - 1], av[i - 1], ax[i], av[i], low)
        bx[0] = x + turning
        bv[0] = low
        m = 1
    while turning and i < e and (ax[i] - bx[0]) * (av[i + 1] - low) <= (av[i] - low) * (ax[i + 1] - bx[0]):
        i += 1
    while i <= e:
        bx[m] = ax[i]
        bv[m] = av[i]
        m += 1
        i += 1
    if e < t and (m == 0 or bv[m - 1] < high):
        x, rounded = cut_x(ax[e], av[e], ax[e + 1], av[e + 1], high)
        m = _add_turning(bx, bv, 0, m, x + rounded, high)
    # the left side, from the top down
    first, last = left_side(av, n, t)
    i = first
    while av[i if i < n else 0] > high:
        i += 1
    e = last
    while av[e if e < n else 0] < low:
        e -= 1
    base = m
    turning = False
    if i > first:
        k = i if i < n else 0
        if av[k] < high:
            x, turning = cut_x(ax[k], av[k], ax[i - 1], av[i - 1], high)
            if x == bx[m - 1] and bv[m - 1] == high:
                base = m - 1
            else:
                bx[m] = x
                bv[m] = high
                m += 1
    if i <= e:
        k = i if i < n else 0
        if m == base and ax[k] == bx[m - 1] and av[k] == bv[m - 1]:
            base = m - 1
            i += 1
    while i <= e:
        k = i if i < n else 0
        if turning:
            before = m
            m = _add_turning(bx, bv, base, m, ax[k], av[k])
            turning = m <= before or m - base <= 2
        else:
            bx[m] = ax[k]
            bv[m] = av[k]
            m += 1
        i += 1
    if e < last and bv[m - 1] > low:
        k = e + 1 if e + 1 < n else 0
        x, _ = cut_x(ax[k], av[k], ax[e], av[e], low)
        m = _add_turning(bx, bv, base, m, x, low)
    if m > 1 and bx[m - 1] == bx[0] and bv[m - 1] == bv[0]:
        m -= 1
    return m


@kernel
def join(ax, av, n, bx, bv, k, cx, cv) -> int:
    """Convex hull of two polygons, into c (neither of them). Returns its number of vertices (at most n + k)."""
    s = peak(av, n)
    t = peak(bv, k)
    m = 0
    i = 0
    j = 0
    while i <= s or j <= t:
        if j > t or (i <= s and (av[i] < bv[j] or (av[i] == bv[j] and ax[i] >= bx[j]))):
            x = ax[i]
            v = av[i]
            i += 1
        else:
            x = bx[j]
            v = bv[j]
            j += 1
        if m == 0 or v > cv[m - 1]:
            m = _add_turning(cx, cv, 0, m, x, v)
    i, last = left_side(av, n, s)
    j, end = left_side(bv, k, t)
    base = m
    while i <= last or j <= end:
        p = i if i < n else 0
        q = j if j < k else 0
        if j > end or (i <= last and (av[p] > bv[q] or (av[p] == bv[q] and ax[p] <= bx[q]))):
            x = ax[p]
            v = av[p]
            i += 1
        else:
            x = bx[q]
            v = bv[q]
            j += 1
        if m == base:
            if v == cv[m - 1] and x == cx[m - 1]:
                base = m - 1
                continue
        elif v == cv[m - 1]:
            continue
        m = _add_turning(cx, cv, base, m, x, v)
    if m > 1 and cx[m - 1] == cx[0] and cv[m - 1] == cv[0]:
        m -= 1
    return m


@kernel
def meet_lowest(ax, av, n, bx, bv, m) -> bool:
    """Whether the lowest edges or points of two polygons, at the same speed, touch."""
    a = ax[n - 1] if av[n - 1] == av[0] else ax[0]
    b = bx[m - 1] if bv[m - 1] == bv[0] else bx[0]
    return a <= bx[0] and b <= ax[0]


@kernel
def meet_highest(ax, av, n, bx, bv, m) -> bool:
    """Whether the highest edges or points of two polygons, at the same speed, touch."""
    s = peak(av, n)
    t = peak(bv, m)
    a = ax[s + 1] if s + 1 < n and av[s + 1] == av[s] else ax[s]
    b = bx[t + 1] if t + 1 < m and bv[t + 1] == bv[t] else bx[t]
    return a <= bx[t] and b <= ax[s]


@kernel
def holds(ax, av, n, bx, bv, m) -> bool:
    """Whether a holds all of b: no vertex of b's right side lies right of a's, and none of its left side left of it."""
    s = peak(av, n)
    t = peak(bv, m)
    if bv[0] < av[0] or bv[t] > av[s]:
        return False
    i = 0
    for q in range(t + 1):
        while i + 1 < s and av[i + 1] < bv[q]:
            i += 1
        if s == 0:
            if bx[q] > ax[0]:
                return False
        elif not _turns_left_or_on(ax[i], av[i], ax[i + 1], av[i + 1], bx[q], bv[q]):
            return False
    i, last = left_side(av, n, s)
    first, end = left_side(bv, m, t)
    for q in range(first, end + 1):
        x = bx[q if q < m else 0]
        v = bv[q if q < m else 0]
        while i + 1 < last and av[i + 1] > v:
            i += 1
        k = i + 1 if i + 1 < n else 0
        if i == last:
            if x < ax[i if i < n else 0]:
                return False
        elif not _turns_left_or_on(ax[i], av[i], ax[k], av[k], x, v):
            return False
    return True


@kernel
def _turns_left_or_on(x, v, to_x, to_v, px, pv) -> bool:
    """Whether a point lies on an edge's line or to its left."""
    return (to_x - x) * (pv - v) - (to_v - v) * (px - x) >= 0
