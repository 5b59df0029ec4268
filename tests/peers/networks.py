"""The bench networks and the friction law, with the same numbers as `core/benches/networks/mod.rs`. SI units."""
import math
import statistics
import time

import numpy as np

G = 9.80665
NU = 1.00337e-6
RHO = 998.204
IN = 0.0254
FT = 0.3048
GPM = 3.785411784e-3 / 60
PSI = 6894.757293168361
H25 = 25 * PSI / (RHO * G)
H15 = 15 * PSI / (RHO * G)
# 0.5 gph at 15 psi, exponent 0.5.
K_EMITTER = 0.5 * GPM / 60 / math.sqrt(H15)


def beds(about, looped=False):
    """A main with drip beds. Node i > 0 has the parent link i - 1 from a[i - 1]; parents come first."""
    header, lateral = 36, 8
    if about <= 150:
        num, header = 1, max(1, about // 9)
    else:
        num = max(1, round(about / (header * (lateral + 1) + 1)))
    bed = header * lateral * K_EMITTER * math.sqrt(H25)
    parent, bore, length, fittings, emitter, ends, mains = [-1], [0.0], [0.0], [0.0], [0.0], [], []

    def grow(at, d, l, k, e):
        parent.append(at), bore.append(d), length.append(l), fittings.append(k), emitter.append(e)
        return len(parent) - 1

    main = 0
    for b in range(num):
        # 1.5 m/s in the main.
        main = grow(main, max(math.sqrt(4 * bed * (num - b) / math.pi / 1.5), IN), 10 * FT, 0.5, 0.0)
        mains.append(main)
        along = main
        for _ in range(header):
            along = grow(along, 0.6 * IN, FT, 0.0, 0.0)
            end = along
            for i in range(lateral):
                end = grow(end, 0.17 * IN, 0.5 * FT, 4.0 if i == 0 else 0.0, K_EMITTER)
        ends.append(along)
    n = len(parent)
    a, b = parent[1:], list(range(1, n))
    bore, length, fittings = bore[1:], length[1:], fittings[1:]
    if looped:
        a, b = a + ends, b + mains
        bore, length, fittings = bore + [0.6 * IN] * num, length + [header * FT] * num, fittings + [0.0] * num
        if num > 2:
            a, b = a + [main], b + [0]
            bore, length, fittings = bore + [1.5 * IN], length + [10 * FT * num], fittings + [0.0]
    return network("beds_looped" if looped else "beds", n, a, b, bore, length, fittings, emitter)


def beds_looped(about):
    """The same with a return pipe from each header's end to the main and a ring from the main's end to its start."""
    return beds(about, True)


def mesh(about):
    """A square grid with an outlet at every node, fed at one corner."""
    side = max(3, round(math.sqrt(about)))
    each = 0.02 * GPM
    a, b, bore = [], [], []
    for r in range(side):
        for c in range(side):
            rank = min(r + c, 2 * side - 2)
            share = max(1, min(rank + 1, 2 * side - 1 - rank))
            d = max(math.sqrt(4 * (each * side * side / share / 2) / math.pi), 0.3 * IN)
            for there, to in ((c + 1 < side, 1), (r + 1 < side, side)):
                if there:
                    a.append(r * side + c), b.append(r * side + c + to), bore.append(d)
    n = side * side
    emitter = [0.0] + [each / math.sqrt(H25)] * (n - 1)
    return network("mesh", n, a, b, bore, [1.0] * len(a), [0.0] * len(a), emitter)


def network(kind, n, a, b, bore, length, fittings, emitter):
    return dict(kind=kind, n=n, a=np.array(a, np.int32), b=np.array(b, np.int32), D=np.array(bore), L=np.array(length),
                K=np.array(fittings), em=np.array(emitter), z=np.zeros(n), fixed={0: H25})


KINDS = (beds, beds_looped, mesh)


def coefficients(w, nu=NU):
    """Per pipe: laminar slope, coefficient of the power 1.75, 8 L/(pi^2 g D^5), flow of Re 1, coefficient of local losses."""
    D, L = w["D"], w["L"]
    laminar = 128 * nu * L / (math.pi * G * D**4)
    power = 0.32 * (math.pi * D * nu / 4) ** 0.25 * 8 * L / (math.pi**2 * G * D**5)
    return laminar, power, 8 * L / (math.pi**2 * G * D**5), math.pi * D * nu / 4, 8 * w["K"] / (math.pi**2 * G * D**4)


def start(w):
    """Flows at 0.3 m/s and heads of the source."""
    return 0.3 * math.pi / 4 * w["D"] ** 2, np.full(w["n"], H25)


def median_ms(run, budget=2.0, least=5, most=2000):
    """The median of a run's time, in milliseconds."""
    times, begin = [], time.perf_counter()
    while len(times) < least or (time.perf_counter() - begin < budget and len(times) < most):
        t = time.perf_counter()
        run()
        times.append(time.perf_counter() - t)
    return 1e3 * statistics.median(times)
