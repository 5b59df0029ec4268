"""Peers compiled with numba: a tree sweep for networks without loops, and the same sweep in front of SuperLU for the looped core."""
import math

import numpy as np
import scipy.sparse as sp
from numba import njit
from scipy.sparse.linalg import splu

from networks import coefficients, median_ms, start


@njit(error_model="numpy", inline="always")
def loss(Q, laminar, power, c, Qre, km):
    """64/Re to 2000, linear to 3000, 0.32 Re^-0.25 to 1e5, 0.13 Re^-0.172 from 1.2e5, a straight line between."""
    q = abs(Q)
    Re = q / Qre
    if Re <= 2000.0:
        h = laminar * q
        g = laminar
    elif Re < 3000.0:
        rise = (0.32 * 3000.0**-0.25 - 0.032) / 1000.0
        f = 0.032 + rise * (Re - 2000.0)
        h = c * f * q * q
        g = c * (2 * f * q + rise / Qre * q * q)
    elif Re <= 1e5:
        s = math.sqrt(q)
        t = power * s * math.sqrt(s)
        h = t * q
        g = 1.75 * t
    elif Re < 1.2e5:
        low = 0.32 * 1e5**-0.25
        rise = (0.13 * 1.2e5**-0.172 - low) / 2e4
        f = low + rise * (Re - 1e5)
        h = c * f * q * q
        g = c * (2 * f * q + rise / Qre * q * q)
    else:
        f = 0.13 * Re**-0.172
        h = c * f * q * q
        g = 1.828 * c * f * q
    h += km * q * q
    g += 2 * km * q
    return (h if Q >= 0 else -h), g


@njit(error_model="numpy")
def tree_newton(par, laminar, power, c, Qre, km, em, z, H, Q, tol, itmax):
    """Newton by leaf elimination; node 0 is fixed, link i joins par[i] to i, parents come first."""
    n = len(par)
    p, y, d, r, dH = np.empty(n), np.empty(n), np.empty(n), np.empty(n), np.empty(n)
    for it in range(1, itmax + 1):
        for i in range(n):
            d[i] = 0.0
            r[i] = 0.0
        for i in range(n - 1, 0, -1):
            h, g = loss(Q[i], laminar[i], power[i], c[i], Qre[i], km[i])
            pi = 1.0 / g
            u = Q[i] + pi * (H[par[i]] - H[i] - h)
            hh = H[i] - z[i]
            if hh > 0.01:
                s = math.sqrt(hh)
                q = em[i] * s
                dq = 0.5 * em[i] / s
            else:
                q = em[i] * 10.0 * max(hh, 0.0)
                dq = em[i] * 10.0
            di = d[i] + pi + dq
            ri = r[i] + u - q
            k = pi / di
            j = par[i]
            d[j] += pi - pi * k
            r[j] += -u + k * ri
            p[i] = k
            y[i] = ri / di
            d[i] = pi
            r[i] = h
        d[0] = 0.0
        r[0] = 0.0
        mx = sq = se = 0.0
        dH[0] = 0.0
        for i in range(1, n):
            dh = y[i] + p[i] * dH[par[i]]
            dH[i] = dh
            H[i] += dh
            mx = max(mx, abs(dh))
            new = Q[i] + d[i] * (H[par[i]] - H[i] - r[i])
            se += abs(new - Q[i])
            sq += abs(new)
            Q[i] = new
        if mx < tol and se < 1e-6 * sq:
            return it
    return itmax


@njit(error_model="numpy")
def fold(order, fpar, flink, laminar, power, c, Qre, km, a, b, em, z, H, Q, d, r, hl, pl):
    """Evaluates every link and node and folds the forest, leaves first."""
    for i in range(len(z)):
        hh = H[i] - z[i]
        if hh > 0.01:
            s = math.sqrt(hh)
            q = em[i] * s
            d[i] = 0.5 * em[i] / s
        else:
            q = em[i] * 10.0 * max(hh, 0.0)
            d[i] = em[i] * 10.0
        r[i] = -q
    for j in range(len(a)):
        h, g = loss(Q[j], laminar[j], power[j], c[j], Qre[j], km[j])
        hl[j] = h
        pj = 1.0 / max(g, 1e-3)
        pl[j] = pj
        u = Q[j] + pj * (H[a[j]] - H[b[j]] - h)
        d[a[j]] += pj
        d[b[j]] += pj
        r[a[j]] -= u
        r[b[j]] += u
    for k in range(len(order)):
        i = order[k]
        w = pl[flink[k]] / d[i]
        d[fpar[k]] -= pl[flink[k]] * w
        r[fpar[k]] += w * r[i]


@njit(error_model="numpy")
def unfold(order, fpar, flink, d, r, pl, a, b, hl, H, Q, dH):
    for k in range(len(order) - 1, -1, -1):
        i = order[k]
        dH[i] = (r[i] + pl[flink[k]] * dH[fpar[k]]) / d[i]
    mx = se = sq = 0.0
    for i in range(len(H)):
        H[i] += dH[i]
        mx = max(mx, abs(dH[i]))
    for j in range(len(a)):
        new = Q[j] + pl[j] * (H[a[j]] - H[b[j]] - hl[j])
        se += abs(new - Q[j])
        sq += abs(new)
        Q[j] = new
    return mx, se / sq


def partition(w):
    """What can be folded, in order, and the pattern of the core."""
    n, m = w["n"], len(w["a"])
    degree, at = np.zeros(n, int), [[] for _ in range(n)]
    for j in range(m):
        for e in (w["a"][j], w["b"][j]):
            at[e].append(j)
            degree[e] += 1
    fixed, gone, used = set(w["fixed"]), np.zeros(n, bool), np.zeros(m, bool)
    order, fpar, flink = [], [], []
    stack = [i for i in range(n) if degree[i] == 1 and i not in fixed]
    while stack:
        i = stack.pop()
        if gone[i] or degree[i] != 1:
            continue
        j = next(j for j in at[i] if not used[j])
        P = w["b"][j] if w["a"][j] == i else w["a"][j]
        gone[i] = used[j] = True
        order.append(i), fpar.append(P), flink.append(j)
        degree[P] -= 1
        degree[i] = 0
        if degree[P] == 1 and P not in fixed:
            stack.append(P)
    core = np.array([i for i in range(n) if not gone[i] and i not in fixed], int)
    ix = np.full(n, -1)
    ix[core] = np.arange(len(core))
    cl = np.flatnonzero(~used)
    A, B = ix[w["a"][cl]], ix[w["b"][cl]]
    both = (A >= 0) & (B >= 0)
    nc = len(core)
    rows = np.concatenate([A[both], B[both], np.arange(nc)])
    cols = np.concatenate([B[both], A[both], np.arange(nc)])
    u, inv = np.unique(cols.astype(np.int64) * max(nc, 1) + rows, return_inverse=True)
    return dict(order=np.array(order, np.int32), fpar=np.array(fpar, np.int32), flink=np.array(flink, np.int32), core=core,
                clb=cl[both], nnz=len(u), inv=inv, nb=both.sum(), ind=(u % max(nc, 1)).astype(np.int32),
                ptr=np.searchsorted(u // max(nc, 1), np.arange(nc + 1)).astype(np.int32), nc=nc)


def hybrid(w, S, C, H, Q, tol=1e-6, itmax=60):
    n, m, nb = w["n"], len(w["a"]), S["nb"]
    d, r, dH, hl, pl = np.empty(n), np.empty(n), np.zeros(n), np.empty(m), np.empty(m)
    for it in range(1, itmax + 1):
        fold(S["order"], S["fpar"], S["flink"], *C, w["a"], w["b"], w["em"], w["z"], H, Q, d, r, hl, pl)
        dH[:] = 0
        if S["nc"]:
            v = np.empty(len(S["inv"]))
            v[:nb] = v[nb : 2 * nb] = -pl[S["clb"]]
            v[2 * nb :] = d[S["core"]]
            A = sp.csc_matrix((np.bincount(S["inv"], v, S["nnz"]), S["ind"], S["ptr"]), shape=(S["nc"],) * 2)
            lu = splu(A, permc_spec="MMD_AT_PLUS_A", diag_pivot_thresh=0.0, options=dict(SymmetricMode=True))
            dH[S["core"]] = lu.solve(r[S["core"]])
        mx, e = unfold(S["order"], S["fpar"], S["flink"], d, r, pl, w["a"], w["b"], hl, H, Q, dH)
        if mx < tol and e < 1e-6:
            break
    return it


def peers(w):
    """Yields name, median of a cold solve, and least head."""
    C, (Q0, H0) = coefficients(w), start(w)
    if w["kind"] == "beds":
        padded = [np.concatenate([[1.0], v]) for v in C]
        par = np.concatenate([[-1], w["a"]]).astype(np.int32)
        Qp = np.concatenate([[0.0], Q0])

        def sweep():
            H = H0.copy()
            tree_newton(par, *padded, w["em"], w["z"], H, Qp.copy(), 1e-6, 60)
            return H

        least = sweep().min()
        yield "numba tree sweep", median_ms(sweep), least
    S = partition(w)

    def cold():
        H = H0.copy()
        hybrid(w, S, C, H, Q0.copy())
        return H

    least = cold().min()
    yield "numba forest + SuperLU core", median_ms(cold, most=300), least
