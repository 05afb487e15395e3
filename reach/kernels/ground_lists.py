"""The ground states of footholds as they are stored: of each a list of what is settled and one of what waits (INBOX).

Lists grow at their heads. Arrays as in heap.py.
"""

from reach.kernels import heap, polygon
from reach.kernels.pool import add_polygon, record, vertices
from reach.kernels.typed import kernel


@kernel
def held_by(g, head, ax, av, n, zone) -> bool:
    """Whether one polygon of a list, of the same zone, holds all of the piece."""
    x0, x1, v0, v1 = polygon.box(ax, av, n)
    i = head
    while i >= 0:
        r = record(g, i)
        if (
            g[r + heap.ZONE] == zone
            and g[r + heap.X0] <= x0
            and x1 <= g[r + heap.X1]
            and g[r + heap.V0] <= v0
            and v1 <= g[r + heap.V1]
        ):
            bx, bv, m = vertices(g, i)
            if polygon.contains(bx, bv, m, ax, av, n):
                return True
        i = g[r + heap.NEXT]
    return False


@kernel
def store(g, heads, node, ax, av, n, zone) -> bool:
    """Put a polygon at the head of a foothold's list (region SETTLED or INBOX). False: no room."""
    i = add_polygon(g, ax, av, n, zone)
    if g[heap.FULL]:
        return False
    head = g[heads] + node
    g[record(g, i) + heap.NEXT] = g[head]
    g[head] = i
    return True


@kernel
def length(g, heads, node) -> int:
    """Number of polygons in a foothold's list (region SETTLED or INBOX)."""
    n = 0
    i = g[g[heads] + node]
    while i >= 0:
        n += 1
        i = g[record(g, i) + heap.NEXT]
    return n


@kernel
def shorten(g, heads, node, n) -> None:
    """Take the last n polygons out of a foothold's list."""
    at = g[heads] + node
    for _ in range(length(g, heads, node) - n):
        at = record(g, g[at]) + heap.NEXT
    g[at] = -1


@kernel
def listed(g) -> tuple[int, int]:
    """Number of the polygons that are in lists, and of their vertices."""
    count = 0
    corners = 0
    for heads in (heap.SETTLED, heap.INBOX):
        for node in range(g[heads + 1]):
            i = g[g[heads] + node]
            while i >= 0:
                count += 1
                corners += g[record(g, i) + heap.SIZE]
                i = g[record(g, i) + heap.NEXT]
    return count, corners


@kernel
def copy_lists(g, a) -> None:
    """Copy all lists of `g`, as they are, to empty ground states `a` that have the room."""
    for heads in (heap.SETTLED, heap.INBOX):
        for node in range(g[heads + 1]):
            at = a[heads] + node
            i = g[g[heads] + node]
            while i >= 0:
                ax, av, n = vertices(g, i)
                a[at] = add_polygon(a, ax, av, n, g[record(g, i) + heap.ZONE])
                at = record(a, a[at]) + heap.NEXT
                a[at] = -1
                i = g[record(g, i) + heap.NEXT]
