"""Convex polygons in the (x, vx) plane with integer vertices: the sets that an exploration is made of.

A polygon is two int64 arrays of vertices in counter-clockwise order and their number; a point (one vertex) and a
segment (two) are polygons like any other. No function allocates. Approximation: over throughout - whatever rounds,
rounds outward.

Products stay inside 64 bits: x spans less than 2**37 spx and vx less than 2**24 spx per tick (limits of the formats).
"""

from reach.kernels.typed import kernel, view

MAX_VERTICES = 128
"""A stored polygon never has more vertices; `simplify` makes it so, outward."""


@kernel
def box(ax, av, n) -> tuple[int, int, int, int]:
    """Least and greatest x, least and greatest v."""
    x0 = ax[0]
    x1 = ax[0]
    v0 = av[0]
    v1 = av[0]
    for i in range(1, n):
        x0 = min(x0, ax[i])
        x1 = max(x1, ax[i])
        v0 = min(v0, av[i])
        v1 = max(v1, av[i])
    return x0, x1, v0, v1


@kernel
def range_of(a, n) -> tuple[int, int]:
    """Least and greatest of the first n numbers."""
    low = a[0]
    high = a[0]
    for i in range(1, n):
        low = min(low, a[i])
        high = max(high, a[i])
    return low, high


@kernel
def copy(ax, av, n, bx, bv) -> int:
    """Copy the vertices of a to b."""
    for i in range(n):
        bx[i] = ax[i]
        bv[i] = av[i]
    return n


@kernel
def _sorted_points(ax, av, n, sx, sv) -> int:
    """The vertices in lexicographic order; `a` may be out of convex position by what rounding moved."""
    low = 0
    for i in range(1, n):
        if ax[i] < ax[low] or (ax[i] == ax[low] and av[i] < av[low]):
            low = i
    # merge the chain that runs forward from the least vertex with the one that runs backward
    forward = low
    left = n - 1
    sx[0] = ax[low]
    sv[0] = av[low]
    m = 1
    f = forward + 1 if forward + 1 < n else 0
    b = forward - 1 if forward > 0 else n - 1
    while left > 0:
        take_forward = f == b or ax[f] < ax[b] or (ax[f] == ax[b] and av[f] <= av[b])
        if take_forward:
            px = ax[f]
            pv = av[f]
            f = f + 1 if f + 1 < n else 0
        else:
            px = ax[b]
            pv = av[b]
            b = b - 1 if b > 0 else n - 1
        left -= 1
        k = m - 1
        if sx[k] == px and sv[k] == pv:
            continue
        while k >= 0 and (sx[k] > px or (sx[k] == px and sv[k] > pv)):
            sx[k + 1] = sx[k]
            sv[k + 1] = sv[k]
            k -= 1
        sx[k + 1] = px
        sv[k + 1] = pv
        m += 1
    return m


@kernel
def _hull_of_sorted(sx, sv, m, bx, bv) -> int:
    """Convex hull of points in lexicographic order (Andrew's monotone chain), counter-clockwise from the least."""
    if m == 1:
        bx[0] = sx[0]
        bv[0] = sv[0]
        return 1
    k = 0
    for i in range(m):
        while (
            k >= 2
            and (bx[k - 1] - bx[k - 2]) * (sv[i] - bv[k - 2]) - (bv[k - 1] - bv[k - 2]) * (sx[i] - bx[k - 2]) <= 0
        ):
            k -= 1
        if k >= 1 and bx[k - 1] == sx[i] and bv[k - 1] == sv[i]:
            continue
        bx[k] = sx[i]
        bv[k] = sv[i]
        k += 1
    floor = k + 1
    for i in range(m - 2, -1, -1):
        while (
            k >= floor
            and (bx[k - 1] - bx[k - 2]) * (sv[i] - bv[k - 2]) - (bv[k - 1] - bv[k - 2]) * (sx[i] - bx[k - 2]) <= 0
        ):
            k -= 1
        if bx[k - 1] == sx[i] and bv[k - 1] == sv[i]:
            continue
        bx[k] = sx[i]
        bv[k] = sv[i]
        k += 1
    if k > 1 and bx[k - 1] == bx[0] and bv[k - 1] == bv[0]:
        k -= 1
    return k


@view
def _row(work, i):
    """Row i of the six rows of scratch."""
    length = work.shape[0] // 6
    return work[i * length : (i + 1) * length]


@kernel
def tidy(ax, av, n, work) -> int:
    """Replace `a` by its own convex hull; `work` is six rows of scratch. Returns the number of vertices."""
    if n <= 1:
        return n
    sx, sv = _row(work, 0), _row(work, 1)
    m = _sorted_points(ax, av, n, sx, sv)
    return _hull_of_sorted(sx, sv, m, ax, av)


@kernel
def clip_x(ax, av, n, bound, keep_left, bx, bv, work) -> int:
    """The part of `a` with x <= bound (keep_left) or x >= bound; v of a cut is rounded outward.

    0 where nothing is left.
    """
    sign = 1 if keep_left else -1
    m = 0
    rounded = False
    for i in range(n):
        j = i + 1 if i + 1 < n else 0
        si = sign * (bound - ax[i])
        sj = sign * (bound - ax[j])
        if si >= 0:
            bx[m] = ax[i]
            bv[m] = av[i]
            m += 1
        if (si > 0 and sj < 0) or (si < 0 and sj > 0):
            top = (av[j] - av[i]) * (bound - ax[i])
            under = ax[j] - ax[i]
            if under < 0:
                top = -top
                under = -under
            step = top // under
            if step * under != top:
                rounded = True
                # counter-clockwise, the upper side of a polygon runs to the left
                if ax[j] < ax[i]:
                    step += 1
            bx[m] = bound
            bv[m] = av[i] + step
            m += 1
    if m > 1 and (rounded or n <= 2):
        m = tidy(bx, bv, m, work)
    return m


@kernel
def has_point(ax, av, n, x, v) -> bool:
    """Whether the polygon, its edges included, holds the point."""
    if n == 1:
        return ax[0] == x and av[0] == v
    if n == 2:
        if (ax[1] - ax[0]) * (v - av[0]) != (av[1] - av[0]) * (x - ax[0]):
            return False
        return min(ax[0], ax[1]) <= x <= max(ax[0], ax[1]) and min(av[0], av[1]) <= v <= max(av[0], av[1])
    for i in range(n):
        j = i + 1 if i + 1 < n else 0
        if (ax[j] - ax[i]) * (v - av[i]) - (av[j] - av[i]) * (x - ax[i]) < 0:
            return False
    return True


@kernel
def contains(ax, av, n, bx, bv, m) -> bool:
    """Whether a holds all of b."""
    for i in range(m):
        if not has_point(ax, av, n, bx[i], bv[i]):
            return False
    return True


@kernel
def touches(ax, av, n, bx, bv, m) -> bool:
    """Whether a vertex of one lies in the other. False may be said of two polygons that only cross edge on edge."""
    for i in range(m):
        if has_point(ax, av, n, bx[i], bv[i]):
            return True
    for i in range(n):
        if has_point(bx, bv, m, ax[i], av[i]):
            return True
    return False


@kernel
def simplify(ax, av, n, limit, work) -> int:
    """Bring `a` to at most `limit` vertices (or as near as integers allow), outward, inside its own box.

    An edge goes by running its two neighbours on to where they meet; the meeting point is moved outward to a whole one
    and taken only if both old vertices stay inside. Cheapest edge first. Returns the number of vertices.
    """
    x0, x1, v0, v1 = box(ax, av, n)
    while n > limit:
        best = -1
        best_cost = 0.0
        best_x = 0
        best_v = 0
        for i in range(n):
            o = i - 1 if i > 0 else n - 1
            j = i + 1 if i + 1 < n else 0
            k = j + 1 if j + 1 < n else 0
            ux = ax[i] - ax[o]
            uv = av[i] - av[o]
            wx = ax[j] - ax[k]
            wv = av[j] - av[k]
            cross = float(ux) * float(wv) - float(uv) * float(wx)
            if cross >= 0.0:
                continue
            ex = ax[j] - ax[i]
            ev = av[j] - av[i]
            t = (float(ex) * float(wv) - float(ev) * float(wx)) / cross
            if not (0.0 <= t < 1e6):
                continue
            qx = ax[i] + t * ux
            qv = av[i] + t * uv
            cost = abs(float(ex) * (qv - av[i]) - float(ev) * (qx - ax[i]))
            if best >= 0 and cost >= best_cost:
                continue
            # the whole points around the meeting point, the outermost that keeps both old vertices
            for dx in range(-1, 3):
                for dv in range(-1, 3):
                    tx = int(qx) + dx
                    tv = int(qv) + dv
                    if tx < x0 or tx > x1 or tv < v0 or tv > v1:
                        continue
                    outside_first = ux * (tv - av[o]) - uv * (tx - ax[o]) <= 0
                    outside_last = (ax[k] - ax[j]) * (tv - av[j]) - (av[k] - av[j]) * (tx - ax[j]) <= 0
                    if outside_first and outside_last and (best != i or cost < best_cost):
                        best = i
                        best_cost = cost
                        best_x = tx
                        best_v = tv
        if best < 0:
            break
        j = best + 1 if best + 1 < n else 0
        ax[best] = best_x
        av[best] = best_v
        for i in range(j, n - 1):
            ax[i] = ax[i + 1]
            av[i] = av[i + 1]
        n -= 1
        n = tidy(ax, av, n, work)
    return n


@kernel
def enclose(ax, av, n) -> int:
    """Replace a polygon by the rectangle around it; returns its number of vertices."""
    x0, x1, v0, v1 = box(ax, av, n)
    ax[0], ax[1], ax[2], ax[3] = x0, x1, x1, x0
    av[0], av[1], av[2], av[3] = v0, v0, v1, v1
    return 4
