"""A vectorised Newton solve of the nodal equations with numpy and SuperLU, and the same for constant demands."""
import math

import numpy as np
import scipy.sparse as sp
from scipy.sparse.linalg import splu

from networks import H25, NU, coefficients, median_ms, start


def prepare(w):
    n, m = w["n"], len(w["a"])
    free = np.ones(n, bool)
    free[list(w["fixed"])] = False
    ix = np.full(n, -1)
    nf = int(free.sum())
    ix[free] = np.arange(nf)
    a, b = ix[w["a"]], ix[w["b"]]
    both, lj = (a >= 0) & (b >= 0), np.arange(m)
    rows = np.concatenate([a[a >= 0], b[b >= 0], a[both], b[both], np.arange(nf)])
    cols = np.concatenate([a[a >= 0], b[b >= 0], b[both], a[both], np.arange(nf)])
    src = np.concatenate([lj[a >= 0], lj[b >= 0], lj[both], lj[both], m + np.arange(nf)])
    one = np.ones
    sign = np.concatenate([one((a >= 0).sum()), one((b >= 0).sum()), -one(both.sum()), -one(both.sum()), one(nf)])
    u, inv = np.unique(cols.astype(np.int64) * nf + rows, return_inverse=True)
    M = sp.csr_matrix((sign, (inv, src)), shape=(len(u), m + nf))
    ptr = np.searchsorted(u // nf, np.arange(nf + 1)).astype(np.int32)
    at = (np.concatenate([a[a >= 0], b[b >= 0]]), np.concatenate([lj[a >= 0], lj[b >= 0]]))
    B = sp.csr_matrix((np.concatenate([one((a >= 0).sum()), -one((b >= 0).sum())]), at), shape=(nf, m))
    return dict(free=np.flatnonzero(free), nf=nf, M=M, ind=(u % nf).astype(np.int32), ptr=ptr, B=B)


def power_law(w):
    """The law of `numba_tree.loss`, for all pipes at once."""
    laminar, power, c, Qre, km = coefficients(w)
    rise = (0.32 * 3000**-0.25 - 0.032) / 1000
    low = 0.32 * 1e5**-0.25
    step = (0.13 * 1.2e5**-0.172 - low) / 2e4

    def at(Q):
        q = np.abs(Q)
        Re = q / Qre
        s = np.sqrt(q)
        t = power * s * np.sqrt(s)
        f = 0.032 + rise * (Re - 2000)
        h = np.where(Re <= 2000, laminar * q, np.where(Re < 3000, c * f * q * q, t * q))
        g = np.where(Re <= 2000, laminar, np.where(Re < 3000, c * (2 * f * q + rise / Qre * q * q), 1.75 * t))
        fast = np.flatnonzero(Re > 1e5)
        if len(fast):
            x, ff, cc = Re[fast], q[fast], c[fast]
            straight = x < 1.2e5
            f = np.where(straight, low + step * (x - 1e5), 0.13 * x**-0.172)
            h[fast] = cc * f * ff * ff
            g[fast] = np.where(straight, cc * (2 * f * ff + step / Qre[fast] * ff * ff), 1.828 * cc * f * ff)
        return np.sign(Q) * (h + km * q * q), g + 2 * km * q

    return at


def swamee_jain(w, roughness=1.5e-6, g=9.81):
    """Friction of the pipe-flow library beside us, continued linearly below Re 50, where it has a pole near 7."""
    D, L = w["D"], w["L"]
    c, A, km = 8 * L / (math.pi**2 * g * D**5), math.pi * D * D / 4, 8 * w["K"] / (math.pi**2 * g * D**4)
    k50 = c * 0.25 / np.log10(roughness / 3.7 / D + 5.74 / 50**0.9) ** 2 * 50 * A * NU / D

    def at(Q):
        q = np.maximum(np.abs(Q), 1e-12)
        Re = q * D / A / NU
        t = roughness / 3.7 / D + 5.74 / Re**0.9
        lg = np.log10(t)
        lam = 0.25 / lg**2
        dl = -0.5 / lg**3 / math.log(10) / t * (-0.9 * 5.74 * Re**-0.9) / q
        h, slope = (c * lam + km) * q * q, 2 * (c * lam + km) * q + c * dl * q * q
        slow = Re < 50
        h, slope = np.where(slow, k50 * q + km * q * q, h), np.where(slow, k50 + 2 * km * q, slope)
        return np.sign(Q) * h, slope

    return at


def solve(w, P, loss, demand=None, tol=1e-6, itmax=80):
    """Heads, from rest; `demand` of the free nodes takes the place of emitters."""
    a, b, free, B, nf = w["a"], w["b"], P["free"], P["B"], P["nf"]
    Q, H = start(w)
    em, z = w["em"][free], w["z"][free]
    for _ in range(itmax):
        h, g = loss(Q)
        p = 1 / np.maximum(g, 1e-3)
        if demand is None:
            hh = H[free] - z
            r = np.sqrt(np.maximum(hh, 0.01))
            q = np.where(hh > 0.01, em * r, em * 10 * np.maximum(hh, 0))
            dq = np.where(hh > 0.01, 0.5 * em / r, em * 10)
        else:
            q, dq = demand, np.zeros(nf)
        A = sp.csc_matrix((P["M"] @ np.concatenate([p, dq]), P["ind"], P["ptr"]), shape=(nf, nf))
        lu = splu(A, permc_spec="MMD_AT_PLUS_A", diag_pivot_thresh=0.0, options=dict(SymmetricMode=True))
        dx = lu.solve(-(B @ (Q + p * (H[a] - H[b] - h))) - q)
        H[free] += dx
        new = Q + p * (H[a] - H[b] - h)
        e = np.abs(new - Q).sum() / np.abs(new).sum()
        Q = new
        if np.abs(dx).max() < tol and e < 1e-6:
            break
    return H


def peers(w):
    """Yields name, median of a cold solve, and least head."""
    P, loss = prepare(w), power_law(w)
    least = solve(w, P, loss).min()
    yield "scipy SuperLU", median_ms(lambda: solve(w, P, loss)), least
    demand = (w["em"] * math.sqrt(H25))[P["free"]]
    fixed = swamee_jain(w)
    least = solve(w, P, fixed, demand).min()
    yield "scipy SuperLU, constant demands, Swamee-Jain", median_ms(lambda: solve(w, P, fixed, demand)), least
