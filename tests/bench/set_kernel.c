/* One tick of a set of polygons as reach/kernels does it, in plain C: the limit that the compiled kernels are held to.

The same arrays and the same steps, function by function: rising.py, polygon.py, pool.py, post.py and the advance of
flight.py. The numbers of cells and records come from heap.py as macros (see set_kernel.py). */

#include <math.h>
#include <stdint.h>

typedef int64_t i64;

static inline i64 least_of(i64 a, i64 b) { return a < b ? a : b; }
static inline i64 greatest_of(i64 a, i64 b) { return a > b ? a : b; }

/* Rounds down; `under` is positive. */
static inline i64 floor_div(i64 top, i64 under) { return top / under - (top % under < 0); }

/* --- polygon.py --- */

static void box(const i64 *ax, const i64 *av, i64 n, i64 *x0, i64 *x1, i64 *v0, i64 *v1) {
    *x0 = *x1 = ax[0];
    *v0 = *v1 = av[0];
    for (i64 i = 1; i < n; i++) {
        *x0 = least_of(*x0, ax[i]);
        *x1 = greatest_of(*x1, ax[i]);
        *v0 = least_of(*v0, av[i]);
        *v1 = greatest_of(*v1, av[i]);
    }
}

static inline void range_of(const i64 *a, i64 n, i64 *low, i64 *high) {
    i64 l = a[0], h = a[0];
    for (i64 i = 1; i < n; i++) {
        l = least_of(l, a[i]);
        h = greatest_of(h, a[i]);
    }
    *low = l;
    *high = h;
}

static inline void copy(const i64 *ax, const i64 *av, i64 n, i64 *bx, i64 *bv) {
    for (i64 i = 0; i < n; i++) {
        bx[i] = ax[i];
        bv[i] = av[i];
    }
}

static i64 sorted_points(const i64 *ax, const i64 *av, i64 n, i64 *sx, i64 *sv) {
    i64 low = 0;
    for (i64 i = 1; i < n; i++)
        if (ax[i] < ax[low] || (ax[i] == ax[low] && av[i] < av[low])) low = i;
    sx[0] = ax[low];
    sv[0] = av[low];
    i64 m = 1;
    i64 f = low + 1 < n ? low + 1 : 0;
    i64 b = low > 0 ? low - 1 : n - 1;
    for (i64 left = n - 1; left > 0; left--) {
        i64 px, pv;
        if (f == b || ax[f] < ax[b] || (ax[f] == ax[b] && av[f] <= av[b])) {
            px = ax[f];
            pv = av[f];
            f = f + 1 < n ? f + 1 : 0;
        } else {
            px = ax[b];
            pv = av[b];
            b = b > 0 ? b - 1 : n - 1;
        }
        i64 k = m - 1;
        if (sx[k] == px && sv[k] == pv) continue;
        while (k >= 0 && (sx[k] > px || (sx[k] == px && sv[k] > pv))) {
            sx[k + 1] = sx[k];
            sv[k + 1] = sv[k];
            k--;
        }
        sx[k + 1] = px;
        sv[k + 1] = pv;
        m++;
    }
    return m;
}

static inline int no_left_turn(const i64 *bx, const i64 *bv, i64 k, i64 x, i64 v) {
    return (bx[k - 1] - bx[k - 2]) * (v - bv[k - 2]) - (bv[k - 1] - bv[k - 2]) * (x - bx[k - 2]) <= 0;
}

static i64 hull_of_sorted(const i64 *sx, const i64 *sv, i64 m, i64 *bx, i64 *bv) {
    if (m == 1) {
        bx[0] = sx[0];
        bv[0] = sv[0];
        return 1;
    }
    i64 k = 0;
    for (i64 i = 0; i < m; i++) {
        while (k >= 2 && no_left_turn(bx, bv, k, sx[i], sv[i])) k--;
        if (k >= 1 && bx[k - 1] == sx[i] && bv[k - 1] == sv[i]) continue;
        bx[k] = sx[i];
        bv[k] = sv[i];
        k++;
    }
    i64 floor = k + 1;
    for (i64 i = m - 2; i >= 0; i--) {
        while (k >= floor && no_left_turn(bx, bv, k, sx[i], sv[i])) k--;
        if (bx[k - 1] == sx[i] && bv[k - 1] == sv[i]) continue;
        bx[k] = sx[i];
        bv[k] = sv[i];
        k++;
    }
    if (k > 1 && bx[k - 1] == bx[0] && bv[k - 1] == bv[0]) k--;
    return k;
}

static i64 tidy(i64 *ax, i64 *av, i64 n, i64 *work) {
    if (n <= 1) return n;
    i64 *sx = work, *sv = work + 2 * WIDTH;
    i64 m = sorted_points(ax, av, n, sx, sv);
    return hull_of_sorted(sx, sv, m, ax, av);
}

static i64 clip_x(const i64 *ax, const i64 *av, i64 n, i64 bound, int keep_left, i64 *bx, i64 *bv, i64 *work) {
    i64 sign = keep_left ? 1 : -1;
    i64 m = 0;
    int rounded = 0;
    for (i64 i = 0; i < n; i++) {
        i64 j = i + 1 < n ? i + 1 : 0;
        i64 si = sign * (bound - ax[i]);
        i64 sj = sign * (bound - ax[j]);
        if (si >= 0) {
            bx[m] = ax[i];
            bv[m] = av[i];
            m++;
        }
        if ((si > 0 && sj < 0) || (si < 0 && sj > 0)) {
            i64 top = (av[j] - av[i]) * (bound - ax[i]);
            i64 under = ax[j] - ax[i];
            if (under < 0) {
                top = -top;
                under = -under;
            }
            i64 step = floor_div(top, under);
            if (step * under != top) {
                rounded = 1;
                if (ax[j] < ax[i]) step++;
            }
            bx[m] = bound;
            bv[m] = av[i] + step;
            m++;
        }
    }
    if (m > 1 && (rounded || n <= 2)) m = tidy(bx, bv, m, work);
    return m;
}

static int has_point(const i64 *ax, const i64 *av, i64 n, i64 x, i64 v) {
    if (n == 1) return ax[0] == x && av[0] == v;
    if (n == 2) {
        if ((ax[1] - ax[0]) * (v - av[0]) != (av[1] - av[0]) * (x - ax[0])) return 0;
        return least_of(ax[0], ax[1]) <= x && x <= greatest_of(ax[0], ax[1]) && least_of(av[0], av[1]) <= v &&
               v <= greatest_of(av[0], av[1]);
    }
    for (i64 i = 0; i < n; i++) {
        i64 j = i + 1 < n ? i + 1 : 0;
        if ((ax[j] - ax[i]) * (v - av[i]) - (av[j] - av[i]) * (x - ax[i]) < 0) return 0;
    }
    return 1;
}

static int touches(const i64 *ax, const i64 *av, i64 n, const i64 *bx, const i64 *bv, i64 m) {
    for (i64 i = 0; i < m; i++)
        if (has_point(ax, av, n, bx[i], bv[i])) return 1;
    for (i64 i = 0; i < n; i++)
        if (has_point(bx, bv, m, ax[i], av[i])) return 1;
    return 0;
}

static i64 simplify(i64 *ax, i64 *av, i64 n, i64 limit, i64 *work) {
    i64 x0, x1, v0, v1;
    box(ax, av, n, &x0, &x1, &v0, &v1);
    while (n > limit) {
        i64 best = -1, best_x = 0, best_v = 0;
        double best_cost = 0.0;
        for (i64 i = 0; i < n; i++) {
            i64 o = i > 0 ? i - 1 : n - 1;
            i64 j = i + 1 < n ? i + 1 : 0;
            i64 k = j + 1 < n ? j + 1 : 0;
            i64 ux = ax[i] - ax[o], uv = av[i] - av[o];
            i64 wx = ax[j] - ax[k], wv = av[j] - av[k];
            double cross = (double)ux * (double)wv - (double)uv * (double)wx;
            if (cross >= 0.0) continue;
            i64 ex = ax[j] - ax[i], ev = av[j] - av[i];
            double t = ((double)ex * (double)wv - (double)ev * (double)wx) / cross;
            if (!(0.0 <= t && t < 1e6)) continue;
            double qx = ax[i] + t * ux, qv = av[i] + t * uv;
            double cost = fabs((double)ex * (qv - av[i]) - (double)ev * (qx - ax[i]));
            if (best >= 0 && cost >= best_cost) continue;
            for (i64 dx = -1; dx < 3; dx++)
                for (i64 dv = -1; dv < 3; dv++) {
                    i64 tx = (i64)qx + dx, tv = (i64)qv + dv;
                    if (tx < x0 || tx > x1 || tv < v0 || tv > v1) continue;
                    int outside_first = ux * (tv - av[o]) - uv * (tx - ax[o]) <= 0;
                    int outside_last = (ax[k] - ax[j]) * (tv - av[j]) - (av[k] - av[j]) * (tx - ax[j]) <= 0;
                    if (outside_first && outside_last && (best != i || cost < best_cost)) {
                        best = i;
                        best_cost = cost;
                        best_x = tx;
                        best_v = tv;
                    }
                }
        }
        if (best < 0) break;
        ax[best] = best_x;
        av[best] = best_v;
        for (i64 i = best + 1 < n ? best + 1 : 0; i < n - 1; i++) {
            ax[i] = ax[i + 1];
            av[i] = av[i + 1];
        }
        n = tidy(ax, av, n - 1, work);
    }
    return n;
}

static i64 enclose(i64 *ax, i64 *av, i64 n) {
    i64 x0, x1, v0, v1;
    box(ax, av, n, &x0, &x1, &v0, &v1);
    ax[0] = ax[3] = x0;
    ax[1] = ax[2] = x1;
    av[0] = av[1] = v0;
    av[2] = av[3] = v1;
    return 4;
}

/* --- rising.py --- */

static void begin_lowest(const i64 *ax, const i64 *av, i64 n, i64 *bx, i64 *bv) {
    i64 k = 0;
    for (i64 i = 1; i < n; i++)
        if (av[i] < av[k] || (av[i] == av[k] && ax[i] > ax[k])) k = i;
    for (i64 i = 0; i < n; i++) {
        bx[i] = ax[k];
        bv[i] = av[k];
        k = k + 1 < n ? k + 1 : 0;
    }
}

static inline i64 peak(const i64 *av, i64 n) {
    i64 t = 0;
    while (t + 1 < n && av[t + 1] > av[t]) t++;
    return t;
}

static inline void left_side(const i64 *av, i64 n, i64 t, i64 *first, i64 *last) {
    *first = t + 1 < n && av[t + 1] == av[t] ? t + 1 : t;
    *last = n == 1 || (n - 1 > t && av[n - 1] == av[0]) ? n - 1 : n;
}

static i64 sum_and_shear(const i64 *ax, const i64 *av, i64 n, i64 down, i64 up, i64 *bx, i64 *bv) {
    if (down == up) {
        for (i64 i = 0; i < n; i++) {
            bv[i] = av[i] + down;
            bx[i] = ax[i] + bv[i];
        }
        return n;
    }
    i64 i = 0;
    bv[0] = av[0] + down;
    bx[0] = ax[0] + bv[0];
    while (i + 1 < n && ax[i + 1] > ax[i]) {
        i++;
        bv[i] = av[i] + down;
        bx[i] = ax[i] + bv[i];
    }
    i64 m = i + 1;
    if (i + 1 < n && ax[i + 1] == ax[i]) i++;
    bv[m] = av[i] + up;
    bx[m] = ax[i] + bv[m];
    m++;
    while (i + 1 < n && ax[i + 1] < ax[i]) {
        i++;
        bv[m] = av[i] + up;
        bx[m] = ax[i] + bv[m];
        m++;
    }
    if (i + 1 == n) {
        if (n > 1 && ax[0] < ax[i]) {
            bv[m] = av[0] + up;
            bx[m] = ax[0] + bv[m];
            m++;
        } else if (n > 1 && ax[0] > ax[i]) {
            bv[m] = av[i] + down;
            bx[m] = ax[i] + bv[m];
            m++;
        }
        return m;
    }
    if (ax[i + 1] > ax[i]) i--;
    while (i + 1 < n) {
        i++;
        bv[m] = av[i] + down;
        bx[m] = ax[i] + bv[m];
        m++;
    }
    return m;
}

static inline i64 cut_x(i64 x, i64 v, i64 to_x, i64 to_v, i64 bound, int *rounded) {
    i64 product = (to_x - x) * (bound - v);
    i64 rise = to_v - v;
    i64 step = floor_div(product, rise);
    *rounded = step * rise != product;
    return x + step;
}

static inline int turns_left(const i64 *bx, const i64 *bv, i64 i, i64 k, i64 x, i64 v) {
    return (bx[k] - bx[i]) * (v - bv[i]) - (bv[k] - bv[i]) * (x - bx[i]) > 0;
}

static inline i64 add_turning(i64 *bx, i64 *bv, i64 base, i64 m, i64 x, i64 v) {
    while (m - base >= 2 && !turns_left(bx, bv, m - 2, m - 1, x, v)) m--;
    bx[m] = x;
    bv[m] = v;
    return m + 1;
}

static i64 cut_speeds(const i64 *ax, const i64 *av, i64 n, i64 low, i64 high, i64 *bx, i64 *bv) {
    i64 t = peak(av, n);
    if (low > high || av[t] < low || av[0] > high) return 0;
    if (low <= av[0] && av[t] <= high) {
        copy(ax, av, n, bx, bv);
        return n;
    }
    i64 i = 0, e = t, m = 0, x;
    int turning = 0, rounded;
    while (av[i] < low) i++;
    while (av[e] > high) e--;
    if (i > 0 && av[i] > low) {
        x = cut_x(ax[i - 1], av[i - 1], ax[i], av[i], low, &turning);
        bx[0] = x + turning;
        bv[0] = low;
        m = 1;
    }
    while (turning && i < e && (ax[i] - bx[0]) * (av[i + 1] - low) <= (av[i] - low) * (ax[i + 1] - bx[0])) i++;
    for (; i <= e; i++, m++) {
        bx[m] = ax[i];
        bv[m] = av[i];
    }
    if (e < t && (m == 0 || bv[m - 1] < high)) {
        x = cut_x(ax[e], av[e], ax[e + 1], av[e + 1], high, &rounded);
        m = add_turning(bx, bv, 0, m, x + rounded, high);
    }
    i64 first, last;
    left_side(av, n, t, &first, &last);
    i = first;
    while (av[i < n ? i : 0] > high) i++;
    e = last;
    while (av[e < n ? e : 0] < low) e--;
    i64 base = m;
    turning = 0;
    if (i > first) {
        i64 k = i < n ? i : 0;
        if (av[k] < high) {
            x = cut_x(ax[k], av[k], ax[i - 1], av[i - 1], high, &turning);
            if (x == bx[m - 1] && bv[m - 1] == high) {
                base = m - 1;
            } else {
                bx[m] = x;
                bv[m] = high;
                m++;
            }
        }
    }
    if (i <= e) {
        i64 k = i < n ? i : 0;
        if (m == base && ax[k] == bx[m - 1] && av[k] == bv[m - 1]) {
            base = m - 1;
            i++;
        }
    }
    for (; i <= e; i++) {
        i64 k = i < n ? i : 0;
        if (turning) {
            i64 before = m;
            m = add_turning(bx, bv, base, m, ax[k], av[k]);
            turning = m <= before || m - base <= 2;
        } else {
            bx[m] = ax[k];
            bv[m] = av[k];
            m++;
        }
    }
    if (e < last && bv[m - 1] > low) {
        i64 k = e + 1 < n ? e + 1 : 0;
        x = cut_x(ax[k], av[k], ax[e], av[e], low, &rounded);
        m = add_turning(bx, bv, base, m, x, low);
    }
    if (m > 1 && bx[m - 1] == bx[0] && bv[m - 1] == bv[0]) m--;
    return m;
}

static i64 join(const i64 *ax, const i64 *av, i64 n, const i64 *bx, const i64 *bv, i64 k, i64 *cx, i64 *cv) {
    i64 s = peak(av, n), t = peak(bv, k);
    i64 m = 0, i = 0, j = 0, x, v;
    while (i <= s || j <= t) {
        if (j > t || (i <= s && (av[i] < bv[j] || (av[i] == bv[j] && ax[i] >= bx[j])))) {
            x = ax[i];
            v = av[i];
            i++;
        } else {
            x = bx[j];
            v = bv[j];
            j++;
        }
        if (m == 0 || v > cv[m - 1]) m = add_turning(cx, cv, 0, m, x, v);
    }
    i64 last, end;
    left_side(av, n, s, &i, &last);
    left_side(bv, k, t, &j, &end);
    i64 base = m;
    while (i <= last || j <= end) {
        i64 p = i < n ? i : 0, q = j < k ? j : 0;
        if (j > end || (i <= last && (av[p] > bv[q] || (av[p] == bv[q] && ax[p] <= bx[q])))) {
            x = ax[p];
            v = av[p];
            i++;
        } else {
            x = bx[q];
            v = bv[q];
            j++;
        }
        if (m == base) {
            if (v == cv[m - 1] && x == cx[m - 1]) {
                base = m - 1;
                continue;
            }
        } else if (v == cv[m - 1]) {
            continue;
        }
        m = add_turning(cx, cv, base, m, x, v);
    }
    if (m > 1 && cx[m - 1] == cx[0] && cv[m - 1] == cv[0]) m--;
    return m;
}

static int meet_lowest(const i64 *ax, const i64 *av, i64 n, const i64 *bx, const i64 *bv, i64 m) {
    i64 a = av[n - 1] == av[0] ? ax[n - 1] : ax[0];
    i64 b = bv[m - 1] == bv[0] ? bx[m - 1] : bx[0];
    return a <= bx[0] && b <= ax[0];
}

static int meet_highest(const i64 *ax, const i64 *av, i64 n, const i64 *bx, const i64 *bv, i64 m) {
    i64 s = peak(av, n), t = peak(bv, m);
    i64 a = s + 1 < n && av[s + 1] == av[s] ? ax[s + 1] : ax[s];
    i64 b = t + 1 < m && bv[t + 1] == bv[t] ? bx[t + 1] : bx[t];
    return a <= bx[t] && b <= ax[s];
}

static inline int turns_left_or_on(i64 x, i64 v, i64 to_x, i64 to_v, i64 px, i64 pv) {
    return (to_x - x) * (pv - v) - (to_v - v) * (px - x) >= 0;
}

static int holds(const i64 *ax, const i64 *av, i64 n, const i64 *bx, const i64 *bv, i64 m) {
    i64 s = peak(av, n), t = peak(bv, m);
    if (bv[0] < av[0] || bv[t] > av[s]) return 0;
    i64 i = 0;
    for (i64 q = 0; q <= t; q++) {
        while (i + 1 < s && av[i + 1] < bv[q]) i++;
        if (s == 0) {
            if (bx[q] > ax[0]) return 0;
        } else if (!turns_left_or_on(ax[i], av[i], ax[i + 1], av[i + 1], bx[q], bv[q])) {
            return 0;
        }
    }
    i64 last, first, end;
    left_side(av, n, s, &i, &last);
    left_side(bv, m, t, &first, &end);
    for (i64 q = first; q <= end; q++) {
        i64 x = bx[q < m ? q : 0], v = bv[q < m ? q : 0];
        while (i + 1 < last && av[i + 1] > v) i++;
        i64 k = i + 1 < n ? i + 1 : 0;
        if (i == last) {
            if (x < ax[i < n ? i : 0]) return 0;
        } else if (!turns_left_or_on(ax[i], av[i], ax[k], av[k], x, v)) {
            return 0;
        }
    }
    return 1;
}

/* --- pool.py --- */

static inline i64 *scratch_x(i64 *j, i64 i) { return j + j[SCRATCH] + i * WIDTH; }
static inline i64 *scratch_v(i64 *j, i64 i) { return j + j[SCRATCH] + (SCRATCH_ROWS + i) * WIDTH; }
static inline i64 *piece(i64 *j, i64 k) { return j + j[BUILD] + k * B_WIDTH; }
static inline i64 *piece_x(i64 *p) { return p + B_HEAD; }
static inline i64 *piece_v(i64 *p) { return p + B_HEAD + WIDTH; }

static void put(i64 *p, const i64 *ax, const i64 *av, i64 n, i64 x0, i64 x1) {
    copy(ax, av, n, piece_x(p), piece_v(p));
    p[B_SIZE] = n;
    p[B_X0] = x0;
    p[B_X1] = x1;
    p[B_V0] = av[0];
    p[B_V1] = av[peak(av, n)];
}

static void join_into(i64 *j, i64 *p, const i64 *ax, const i64 *av, i64 n, i64 x0, i64 x1) {
    i64 *bx = piece_x(p), *bv = piece_v(p);
    i64 *cx = scratch_x(j, JOINED), *cv = scratch_v(j, JOINED);
    i64 q = join(bx, bv, p[B_SIZE], ax, av, n, cx, cv);
    if (q > MAX_VERTICES) {
        q = simplify(cx, cv, q, MAX_VERTICES / 2, j + j[WORK]);
        if (q > MAX_VERTICES) q = enclose(cx, cv, q);
        begin_lowest(cx, cv, q, bx, bv);
        copy(bx, bv, q, cx, cv);
    }
    put(p, cx, cv, q, least_of(x0, p[B_X0]), greatest_of(x1, p[B_X1]));
}

static i64 touching(i64 *j, i64 count, const i64 *ax, const i64 *av, i64 n, i64 x0, i64 x1, i64 zone, i64 lane,
                    i64 besides) {
    i64 v0 = av[0], v1 = av[peak(av, n)];
    for (i64 k = 0; k < count; k++) {
        i64 *p = piece(j, k);
        if (k != besides && p[B_ZONE] == zone && p[B_LANE] == lane && p[B_X0] <= x1 && x0 <= p[B_X1] &&
            p[B_V0] <= v1 && v0 <= p[B_V1]) {
            i64 *bx = piece_x(p), *bv = piece_v(p), m = p[B_SIZE];
            if (p[B_V0] == v0 && meet_lowest(bx, bv, m, ax, av, n)) return k;
            if (p[B_V1] == v1 && meet_highest(bx, bv, m, ax, av, n)) return k;
            if (touches(bx, bv, m, ax, av, n)) return k;
        }
    }
    return -1;
}

static i64 drop_piece(i64 *j, i64 q, i64 watched) {
    i64 last = j[BUILD_N] - 1;
    if (q != last) {
        i64 *a = piece(j, q), *c = piece(j, last);
        i64 n = c[B_SIZE];
        for (i64 i = 0; i <= B_JOINS; i++) a[i] = c[i];
        for (i64 i = B_HEAD; i < B_HEAD + n; i++) {
            a[i] = c[i];
            a[WIDTH + i] = c[WIDTH + i];
        }
    }
    j[BUILD_N] = last;
    return watched == last ? q : watched;
}

static void build(i64 *j, const i64 *ax, const i64 *av, i64 n, i64 zone, i64 lane) {
    if (n == 0) return;
    i64 x0, x1;
    range_of(ax, n, &x0, &x1);
    i64 k = touching(j, j[BUILD_N], ax, av, n, x0, x1, zone, lane, -1);
    i64 *p;
    if (k < 0) {
        k = j[BUILD_N];
        if (k >= j[BUILD + 1]) {
            j[FULL] = 1;
            return;
        }
        p = piece(j, k);
        put(p, ax, av, n, x0, x1);
        p[B_ZONE] = zone;
        p[B_LANE] = lane;
        p[B_DIRTY] = 1;
        p[B_JOINS] = 0;
        j[BUILD_N] = k + 1;
        return;
    }
    p = piece(j, k);
    i64 *bx = piece_x(p), *bv = piece_v(p), m = p[B_SIZE];
    if (p[B_X0] <= x0 && x1 <= p[B_X1] && holds(bx, bv, m, ax, av, n)) return;
    if (x0 <= p[B_X0] && p[B_X1] <= x1 && holds(ax, av, n, bx, bv, m))
        put(p, ax, av, n, x0, x1);
    else
        join_into(j, p, ax, av, n, x0, x1);
    i64 joins = p[B_JOINS] + 1;
    for (;;) {
        p = piece(j, k);
        i64 q = touching(j, j[BUILD_N], piece_x(p), piece_v(p), p[B_SIZE], p[B_X0], p[B_X1], zone, lane, k);
        if (q < 0) break;
        i64 *c = piece(j, q);
        join_into(j, p, piece_x(c), piece_v(c), c[B_SIZE], c[B_X0], c[B_X1]);
        joins = greatest_of(joins, c[B_JOINS]) + 1;
        k = drop_piece(j, q, k);
    }
    p[B_DIRTY] = 1;
    p[B_JOINS] = joins;
}

static i64 close_set(i64 *j, i64 first) {
    i64 m = j[ITEM_N] - first;
    if (m == 0) return 0;
    i64 s = j[SET_N];
    if (s >= j[SET + 1]) {
        j[FULL] = 1;
        return 0;
    }
    i64 item = j[ITEM];
    i64 *r = j + j[POLYGON] + j[item + first] * POLYGON_WIDTH;
    i64 x0 = r[X0], x1 = r[X1];
    for (i64 q = first + 1; q < first + m; q++) {
        r = j + j[POLYGON] + j[item + q] * POLYGON_WIDTH;
        x0 = least_of(x0, r[X0]);
        x1 = greatest_of(x1, r[X1]);
    }
    r = j + j[SET] + s * SET_WIDTH;
    r[SET_FIRST] = item + first;
    r[SET_SIZE] = m;
    r[SET_X0] = x0;
    r[SET_X1] = x1;
    j[SET_N] = s + 1;
    return s;
}

static i64 finish(i64 *j) {
    i64 first = j[ITEM_N];
    for (i64 k = 0; k < j[BUILD_N]; k++) {
        i64 *p = piece(j, k);
        i64 n = p[B_SIZE];
        i64 i = j[POLYGON_N], at = j[VERTEX_N];
        if (i >= j[POLYGON + 1] || at + n > j[VERTEX_X + 1]) {
            j[FULL] = 1;
            break;
        }
        copy(piece_x(p), piece_v(p), n, j + j[VERTEX_X] + at, j + j[VERTEX_V] + at);
        i64 *r = j + j[POLYGON] + i * POLYGON_WIDTH;
        r[FIRST] = at;
        r[SIZE] = n;
        j[VERTEX_N] = at + n;
        j[POLYGON_N] = i + 1;
        r[ZONE] = p[B_ZONE];
        r[X0] = p[B_X0];
        r[X1] = p[B_X1];
        r[V0] = p[B_V0];
        r[V1] = p[B_V1];
        if (j[ITEM_N] >= j[ITEM + 1]) {
            j[FULL] = 1;
        } else {
            j[j[ITEM] + j[ITEM_N]] = i;
            j[ITEM_N]++;
        }
    }
    j[BUILD_N] = 0;
    return close_set(j, first);
}

/* --- post.py --- */

static inline const i64 *zone_record(const i64 *w, i64 z) { return w + w[ZONES] + z * ZONE_WIDTH; }

static i64 clip_range(i64 *j, i64 n, i64 low, i64 high, i64 *bx, i64 *bv) {
    i64 x0, x1;
    range_of(bx, n, &x0, &x1);
    if (x1 < low || x0 > high) return 0;
    if (x0 >= low && x1 <= high) return n;
    i64 *cx = scratch_x(j, 2), *cv = scratch_v(j, 2), *work = j + j[WORK];
    if (x0 < low) {
        n = clip_x(bx, bv, n, low, 0, cx, cv, work);
        begin_lowest(cx, cv, n, bx, bv);
    }
    if (x1 > high && n > 0) {
        n = clip_x(bx, bv, n, high, 1, cx, cv, work);
        begin_lowest(cx, cv, n, bx, bv);
    }
    return n;
}

static void into_zones(const i64 *w, i64 *j, const i64 *ax, const i64 *av, i64 n, i64 low, i64 high, i64 table,
                       i64 lane) {
    if (n == 0) return;
    i64 *bx = scratch_x(j, 3), *bv = scratch_v(j, 3);
    i64 v0 = av[0], v1 = av[peak(av, n)];
    i64 end = w[w[ZONE_AT] + table + 1];
    for (i64 z = w[w[ZONE_AT] + table]; z < end; z++) {
        const i64 *r = zone_record(w, z);
        i64 least = greatest_of(low, r[Z_LOW]), most = least_of(high, r[Z_HIGH]);
        if (least > most || v1 < least || most < v0) continue;
        if (least <= v0 && v1 <= most) {
            build(j, ax, av, n, z, lane);
            continue;
        }
        i64 m = cut_speeds(ax, av, n, least, most, bx, bv);
        build(j, bx, bv, m, z, lane);
    }
}

static void stop_at(const i64 *w, i64 *j, i64 wall, i64 table, i64 lane) {
    i64 *px = scratch_x(j, 5), *pv = scratch_v(j, 5);
    px[0] = wall;
    pv[0] = 0;
    into_zones(w, j, px, pv, 1, -FAR, FAR, table, lane);
}

static void push(const i64 *w, i64 *j, const i64 *ax, const i64 *av, i64 n, i64 z, i64 low, i64 high, i64 left,
                 i64 right, i64 table) {
    if (low > high) return;
    i64 *bx = scratch_x(j, 0), *bv = scratch_v(j, 0);
    i64 pieces = zone_record(w, z)[Z_PIECES];
    for (i64 part = 0; part < pieces; part++) {
        const i64 *p = zone_record(w, z) + Z_DOWN + 4 * part;
        i64 least = greatest_of(low, p[2]), most = least_of(high, p[3]);
        i64 m = sum_and_shear(ax, av, n, p[0], p[1], bx, bv);
        if (left == -FAR && right == FAR) {
            into_zones(w, j, bx, bv, m, least, most, table, left);
            continue;
        }
        i64 x0, x1;
        range_of(bx, m, &x0, &x1);
        if (left <= x0 && x1 <= right) {
            into_zones(w, j, bx, bv, m, least, most, table, left);
            continue;
        }
        i64 *sx = scratch_x(j, 1), *sv = scratch_v(j, 1);
        m = sum_and_shear(ax, av, n, p[0], p[1], sx, sv);
        m = cut_speeds(sx, sv, m, least, most, bx, bv);
        if (m == 0) continue;
        range_of(bx, m, &x0, &x1);
        if (x0 < left) stop_at(w, j, left, table, left);
        if (x1 > right) stop_at(w, j, right, table, left);
        m = clip_range(j, m, left, right, bx, bv);
        into_zones(w, j, bx, bv, m, -FAR, FAR, table, left);
    }
}

/* --- rows.py, flight.py --- */

static void corridor(const i64 *w, i64 span, i64 x, i64 *left, i64 *right) {
    i64 lo = w[w[FREE] + span], hi = w[w[FREE] + span + 1], base = w[INTERVALS];
    while (lo < hi) {
        i64 mid = (lo + hi) / 2;
        if (w[base + mid * INTERVAL_WIDTH + HIGH] < x)
            lo = mid + 1;
        else
            hi = mid;
    }
    *left = w[base + lo * INTERVAL_WIDTH + LOW];
    *right = w[base + lo * INTERVAL_WIDTH + HIGH];
}

static i64 advance(const i64 *w, i64 *marks, i64 *j, i64 table, i64 s, i64 span) {
    i64 left = -FAR, right = FAR;
    const i64 *r = j + j[SET] + s * SET_WIDTH;
    i64 first = r[SET_FIRST], end = first + r[SET_SIZE];
    for (i64 q = first; q < end; q++) {
        r = j + j[POLYGON] + j[q] * POLYGON_WIDTH;
        if (span >= 0) corridor(w, span, r[X0], &left, &right);
        push(w, j, j + j[VERTEX_X] + r[FIRST], j + j[VERTEX_V] + r[FIRST], r[SIZE], r[ZONE], -FAR, FAR, left, right,
             table);
        marks[POLYGON_TICKS]++;
    }
    return finish(j);
}

/* As the function of this name in set_kernel.py. */
i64 replay(const i64 *w, i64 *marks, i64 *j, const i64 *a, i64 count, i64 times) {
    i64 vertex = j[VERTEX_N], polygon = j[POLYGON_N], item = j[ITEM_N], set = j[SET_N];
    i64 made = 0;
    for (i64 time = 0; time < times; time++)
        for (i64 i = 0; i < count; i++) {
            j[VERTEX_N] = vertex;
            j[POLYGON_N] = polygon;
            j[ITEM_N] = item;
            j[SET_N] = set;
            advance(w, marks, j, a[3 * i], a[3 * i + 1], a[3 * i + 2]);
            made += j[VERTEX_N] - vertex;
        }
    return made;
}
