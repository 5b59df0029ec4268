"""The best general peer: evaluation and assembly compiled with numba, sparse LDL^T of a library with its symbolic part reused."""
import math

import numpy as np
import qdldl
import scipy.sparse as sp
from numba import njit

from networks import coefficients, median_ms, start
from numba_tree import loss


@njit(error_model="numpy")
def assemble(a, b, ix, pos, dpos, laminar, power, c, Qre, km, em, z, H, Q, data, r, hl, pl):
    data[:] = 0.0
    r[:] = 0.0
    for i in range(len(H)):
        k = dpos[i]
        if k >= 0:
            hh = H[i] - z[i]
            if hh > 0.01:
                s = math.sqrt(hh)
                q = em[i] * s
                data[k] += 0.5 * em[i] / s
            else:
                q = em[i] * 10.0 * max(hh, 0.0)
                data[k] += em[i] * 10.0
            r[ix[i]] -= q
    for j in range(len(a)):
        h, g = loss(Q[j], laminar[j], power[j], c[j], Qre[j], km[j])
        p = 1.0 / max(g, 1e-3)
        hl[j] = h
        pl[j] = p
        u = Q[j] + p * (H[a[j]] - H[b[j]] - h)
        if ix[a[j]] >= 0:
            data[dpos[a[j]]] += p
            r[ix[a[j]]] -= u
        if ix[b[j]] >= 0:
            data[dpos[b[j]]] += p
            r[ix[b[j]]] += u
        if pos[j] >= 0:
            data[pos[j]] -= p


@njit(error_model="numpy")
def update(a, b, ix, dx, H, Q, hl, pl):
    mx = se = sq = 0.0
    for i in range(len(H)):
        if ix[i] >= 0:
            d = dx[ix[i]]
            H[i] += d
            mx = max(mx, abs(d))
    for j in range(len(a)):
        new = Q[j] + pl[j] * (H[a[j]] - H[b[j]] - hl[j])
        se += abs(new - Q[j])
        sq += abs(new)
        Q[j] = new
    return mx, se / sq


class Solver:
    def __init__(self, w):
        n, a, b = w["n"], w["a"], w["b"]
        self.w, self.C, self.F = w, coefficients(w), None
        free = np.ones(n, bool)
        free[list(w["fixed"])] = False
        nf = int(free.sum())
        self.ix = np.full(n, -1)
        self.ix[free] = np.arange(nf)
        x, y = self.ix[a], self.ix[b]
        both = (x >= 0) & (y >= 0)
        r, c = np.minimum(x, y)[both], np.maximum(x, y)[both]
        key = np.concatenate([c.astype(np.int64) * nf + r, np.arange(nf, dtype=np.int64) * (nf + 1)])
        u, inv = np.unique(key, return_inverse=True)
        ptr = np.searchsorted(u // nf, np.arange(nf + 1)).astype(np.int32)
        self.U = sp.csc_matrix((np.ones(len(u)), (u % nf).astype(np.int32), ptr), shape=(nf, nf))
        self.pos, self.dpos = np.full(len(a), -1), np.full(n, -1)
        self.pos[both], self.dpos[free] = inv[: both.sum()], inv[both.sum() :]
        self.r, self.hl, self.pl = np.empty(nf), np.empty(len(a)), np.empty(len(a))

    def solve(self, H, Q, tol=1e-6, itmax=60):
        w = self.w
        for it in range(1, itmax + 1):
            assemble(w["a"], w["b"], self.ix, self.pos, self.dpos, *self.C, w["em"], w["z"], H, Q, self.U.data, self.r, self.hl, self.pl)
            if self.F is None:
                self.F = qdldl.Solver(self.U, upper=True)
            else:
                self.F.update(self.U, upper=True)
            mx, e = update(w["a"], w["b"], self.ix, self.F.solve(self.r), H, Q, self.hl, self.pl)
            if mx < tol and e < 1e-6:
                break
        return it


def peers(w):
    """Yields name, median of a cold solve, and least head."""
    S, (Q0, H0) = Solver(w), start(w)

    def cold():
        H = H0.copy()
        S.solve(H, Q0.copy())
        return H

    least = cold().min()
    yield "numba + LDL reused", median_ms(cold), least
