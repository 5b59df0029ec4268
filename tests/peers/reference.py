"""Networks solved without any of our code: friction factors of the library fluids, equations to SciPy's general root finder, states of
devices by trying them all. Slow and plain on purpose."""
import itertools
import math

import numpy as np
from fluids.friction import friction_factor
from scipy.optimize import brentq, root

G = 9.80665
# Pure water at 20 degrees Celsius (IAPWS; from memory of the releases, the exact values do not matter as both sides use them).
RHO, NU = 998.204, 1.003367e-6
SMALL_HEAD = 0.01


def colebrook(Re, eD):
    """Colebrook-White, solved by the library to the last digits (method of Clamond)."""
    return friction_factor(Re, eD, Method="Clamond")


def slope_at_4000(eD):
    step = 1e-4
    return (math.log(colebrook(4000 * math.exp(step), eD)) - math.log(colebrook(4000 * math.exp(-step), eD))) / (2 * step)


def darcy(Re, eD, cache={}):
    """64/Re to 2000, Colebrook-White from 4000, between them the cubic in (ln Re, ln f) with the slopes of both."""
    if Re <= 2000:
        return 64 / Re
    if Re >= 4000:
        return colebrook(Re, eD)
    if eD not in cache:
        cache[eD] = math.log(colebrook(4000.0, eD)), slope_at_4000(eD)
    y1, m1 = cache[eD]
    y0, m0, width = math.log(64 / 2000), -1.0, math.log(2)
    t = math.log(Re / 2000) / width
    y = ((1 + 2 * t) * (1 - t) ** 2 * y0 + t * (1 - t) ** 2 * width * m0 + t * t * (3 - 2 * t) * y1 + t * t * (t - 1) * width * m1)
    return math.exp(y)


def head_of(kpa):
    return 1e3 * kpa / (RHO * G)


def loss(link, q):
    """Head lost by a link that is open, for a flow in its own direction."""
    if link["kind"] == "pipe":
        D = link["bore_m"]
        velocity_head = 8 * q * abs(q) / (math.pi**2 * G * D**4)
        Re = 4 * abs(q) / (math.pi * D * NU)
        if Re < 1e-9:
            return 128 * NU * link["length_m"] * q / (math.pi * G * D**4) + link["fittings"] * velocity_head
        return (darcy(Re, link["roughness_m"] / D) * link["length_m"] / D + link["fittings"]) * velocity_head
    return head_of(link["per_lps_squared"]) * 1e6 * q * abs(q)


def outflow(outlet, head):
    """The flow of an outlet for a head above it: a power of it, below 1 cm the parabola of the same value and slope to zero."""
    if outlet.get("at_kpa") is None:
        return outlet["flow_m3s"]
    x = outlet["exponent"]
    k = outlet["flow_m3s"] / head_of(outlet["at_kpa"]) ** x
    if head >= SMALL_HEAD:
        return k * head**x
    small = k * SMALL_HEAD**x
    a, b = (2 - x) * small / SMALL_HEAD, (x - 1) * small / SMALL_HEAD**2
    return head * (a + b * head) if head > 0 else 0.0


def solve_states(net, states):
    """Heads and flows for given states of the links, or None where the root finder gives up."""
    z, links = net["levels_m"], net["links"]
    fixed = {s["junction"]: z[s["junction"]] + head_of(s["pressure_kpa"]) for s in net["sources"]}
    free = [i for i in range(len(z)) if i not in fixed]
    n, m = len(free), len(links)
    at = {node: k for k, node in enumerate(free)}
    top = max(fixed.values())

    def unpack(x):
        H = np.array([fixed.get(i, 0.0) for i in range(len(z))])
        H[free] = x[:n] * 10
        return H, x[n:] * 1e-4

    def residual(x):
        H, Q = unpack(x)
        mass, energy = np.zeros(len(z)), np.empty(m)
        for j, (link, state) in enumerate(zip(links, states)):
            a, b = link["from"], link["to"]
            mass[a] -= Q[j]
            mass[b] += Q[j]
            if state == "open":
                energy[j] = H[a] - H[b] - loss(link, Q[j])
            elif state == "shut":
                energy[j] = Q[j] * 1e4
            else:
                energy[j] = H[b] - z[b] - head_of(link["set_kpa"])
        for outlet in net["outlets"]:
            i = outlet["junction"]
            mass[i] -= outflow(outlet, H[i] - z[i])
        return np.concatenate([mass[free] * 1e4, energy])

    demand = sum(o["flow_m3s"] for o in net["outlets"])
    for share, method in itertools.product((1.0, 0.3, 0.05), ("hybr", "lm")):
        x0 = np.concatenate([np.full(n, 0.9 * top / 10), np.full(m, share * demand / 1e-4)])
        options = dict(xtol=1e-13) if method == "hybr" else dict(xtol=1e-14, ftol=1e-14)
        try:
            found = root(residual, x0, method=method, options=options)
        except (ValueError, OverflowError, ZeroDivisionError):
            continue
        if np.abs(residual(found.x)).max() < 1e-8:
            return unpack(found.x)
    return None


def consistent(net, states, H, Q):
    """True where no device contradicts its state: no backward flow, no regulator below its setting that could do better."""
    z = net["levels_m"]
    for j, (link, state) in enumerate(zip(net["links"], states)):
        a, b = link["from"], link["to"]
        if link["kind"] == "regulator":
            set_m = z[b] + head_of(link["set_kpa"])
            if state == "open" and (Q[j] < -1e-10 or H[b] > set_m + 1e-7):
                return False
            if state == "regulating" and (Q[j] < -1e-10 or H[a] - H[b] < loss(link, Q[j]) - 1e-7):
                return False
            if state == "shut" and H[a] > H[b] + 1e-7 and H[b] < set_m - 1e-7:
                return False
        elif link["kind"] == "device" and link["checked"]:
            if state == "open" and Q[j] < -1e-10 or state == "shut" and H[a] > H[b] + 1e-7:
                return False
    return True


def solve(net):
    """Heads, flows and states; None without, or with several different, consistent solutions."""
    choices = []
    for link in net["links"]:
        if link["kind"] == "regulator":
            choices.append(("regulating", "open", "shut"))
        elif link["kind"] == "device" and link["checked"]:
            choices.append(("open", "shut"))
        else:
            choices.append(("open",))
    found = []
    for states in itertools.product(*choices):
        answer = solve_states(net, states)
        if answer is not None and consistent(net, states, *answer):
            found.append((*answer, list(states)))
    if not found or any(np.abs(other[0] - found[0][0]).max() > 1e-6 for other in found[1:]):
        return None
    return found[0]


def tree_shooting(net):
    """A second way for an end-fed chain of pipes with power outlets: from a guess of the last head back to the source, by Brent."""
    z, links, outlets = net["levels_m"], net["links"], {o["junction"]: o for o in net["outlets"]}

    def source_head(last):
        H, q = [last], 0.0
        for link in reversed(links):
            i = link["to"]
            if i in outlets:
                q += outflow(outlets[i], H[-1] - z[i])
            H.append(H[-1] + loss(link, q))
        return H[::-1]

    wanted = z[0] + head_of(net["sources"][0]["pressure_kpa"])
    last = brentq(lambda h: source_head(h)[0] - wanted, z[-1] + 0.02, wanted, xtol=1e-13)
    return np.array(source_head(last))
