"""Solves random networks with ours and with general libraries that know nothing of it, and compares them node by node.

    python3 tests/peers/compare.py [--networks 40] [--seed 1]

Three comparisons: trees and loops with slopes, outlets of several exponents, regulators and check valves against SciPy's root finder over
friction factors of the library fluids; end-fed laterals against shooting with Brent's method; demand-only loops against pandapipes.
Exit code 1 where anything differs by more than it may, or too few networks could be compared."""
import argparse
import json
import math
import random
import subprocess
import sys

import environment

environment.ensure()

import numpy as np  # noqa: E402

from pandapipes.pf.pipeflow_setup import PipeflowNotConverged  # noqa: E402

import networks  # noqa: E402
import pandapipes_peer  # noqa: E402
import reference  # noqa: E402

# Ours rounds heads to 1e-6 m and flows to 1e-12 m3/s and stops at 1e-9 m; the root finder, asked for 1e-8 m, ends far below. So the
# rounding is half of what is allowed in heads, and a tenth of it in flows.
HEAD_M, FLOW_M3S = 1e-6, 1e-11
# pandapipes finds its friction factor by iteration and stops at a tolerance of its own; 0.01 mm is 0.1 Pa of 600 kPa.
PANDAPIPES_M = 1e-5
# It writes Colebrook-White with k/(3.71 d); a roughness larger in that ratio makes it the k/(3.7 d) of the textbooks and of ours.
PANDAPIPES_ROUGHNESS = 3.71 / 3.7


def pipe(rng, a, b):
    return dict(kind="pipe", length_m=rng.uniform(0.5, 30), bore_m=rng.choice([0.004318, 0.0106, 0.01524, 0.02093, 0.0266]),
                roughness_m=rng.choice([0.0, 1.5e-6, 7e-6]), fittings=rng.choice([0.0, rng.uniform(0.2, 5)]), **{"from": a, "to": b})


def random_network(rng, devices):
    """A tree of 5 to 16 nodes with up to 3 more pipes, slopes, outlets, and some devices."""
    n = rng.randint(5, 16)
    levels = [rng.uniform(-2, 2) for _ in range(n)]
    links = []
    left = rng.randint(1, 2) if devices else 0
    for i in range(1, n):
        a = rng.randint(max(0, i - 3), i - 1)
        if left and rng.random() < 0.3:
            left -= 1
            loss = rng.uniform(20, 400)
            if rng.random() < 0.6:
                links.append(dict(kind="regulator", set_kpa=rng.uniform(80, 220), per_lps_squared=loss, **{"from": a, "to": i}))
            else:
                links.append(dict(kind="device", checked=rng.random() < 0.7, per_lps_squared=loss, **{"from": a, "to": i}))
        else:
            links.append(pipe(rng, a, i))
    for _ in range(rng.randint(0, 3)):
        a, b = rng.sample(range(n), 2)
        links.append(pipe(rng, a, b))
    # Every end has an outlet, so that no branch is at rest.
    inner = {link["from"] for link in links}
    outlets = []
    for i in range(1, n):
        if i not in inner or rng.random() < 0.6:
            outlets.append(dict(junction=i, flow_m3s=rng.uniform(2, 300) * 1e-3 / 3600, at_kpa=rng.uniform(50, 250),
                                exponent=rng.choice([0.4, 0.5, 0.57, 0.75, 1.0])))
    sources = [dict(junction=0, pressure_kpa=rng.uniform(200, 400))]
    return dict(density_kgm3=reference.RHO, viscosity_m2ps=reference.NU, levels_m=levels, links=links, outlets=outlets, sources=sources)


def lateral(rng):
    """An end-fed line of emitters on a slope."""
    n, slope = rng.randint(10, 60), rng.uniform(-0.03, 0.03)
    spacing, exponent = rng.choice([0.1524, 0.3048, 0.5]), rng.choice([0.45, 0.5, 0.6, 1.0])
    bore = rng.choice([0.004318, 0.01524])
    line = dict(kind="pipe", length_m=spacing, bore_m=bore, roughness_m=0.0, fittings=0.0)
    links = [dict(line, **{"from": i, "to": i + 1}) for i in range(n)]
    outlets = [dict(junction=i, flow_m3s=1e-3 / 3600, at_kpa=100.0, exponent=exponent) for i in range(1, n + 1)]
    return dict(density_kgm3=reference.RHO, viscosity_m2ps=reference.NU, levels_m=[slope * spacing * i for i in range(n + 1)],
                links=links, outlets=outlets, sources=[dict(junction=0, pressure_kpa=rng.uniform(120, 250))])


def demand_network(rng):
    """A level ring main with chords whose every pipe is well in turbulent flow: there all take Colebrook and White at their word."""
    n = rng.randint(4, 8)
    sizes = dict(roughness_m=rng.choice([1.5e-6, 7e-6, 4.5e-5]))

    def wide(a, b):
        return dict(pipe(rng, a, b), bore_m=rng.choice([0.0266, 0.0351, 0.0409]), **sizes)

    links = [wide(i, (i + 1) % n) for i in range(n)] + [wide(0, n // 2)]
    outlets = [dict(junction=i, flow_m3s=rng.uniform(2e-4, 8e-4)) for i in range(1, n)]
    return dict(density_kgm3=networks.RHO, viscosity_m2ps=networks.NU, levels_m=[0.0] * n, links=links, outlets=outlets,
                sources=[dict(junction=0, pressure_kpa=600.0)])


def ours(program, nets):
    text = "".join(json.dumps(net) + "\n" for net in nets)
    done = subprocess.run([program], input=text, capture_output=True, text=True)
    if done.returncode:
        sys.exit(done.stderr)
    return [json.loads(line) for line in done.stdout.splitlines()]


def turbulent(net, flows):
    return all(4 * abs(q) / (math.pi * link["bore_m"] * networks.NU) > 4500 for link, q in zip(net["links"], flows))


def pandapipes_heads(net):
    links = net["links"]
    demand = np.zeros(len(net["levels_m"]))
    for outlet in net["outlets"]:
        demand[outlet["junction"]] += outlet["flow_m3s"]
    column = lambda key: np.array([link[key] for link in links])  # noqa: E731
    head = 1e3 * net["sources"][0]["pressure_kpa"] / (networks.RHO * networks.G)
    w = dict(n=len(demand), a=column("from"), b=column("to"), D=column("bore_m"), L=column("length_m"), K=column("fittings"),
             z=np.zeros(len(demand)), fixed={0: head})
    grid = pandapipes_peer.build(w, demand, roughness_mm=column("roughness_m") * 1e3 * PANDAPIPES_ROUGHNESS)
    try:
        pandapipes_peer.pp.pipeflow(grid, friction_model="colebrook", mode="hydraulics", tol_p=1e-5, tol_m=1e-5, max_iter_hyd=200,
                                    max_iter_colebrook=200)
    except PipeflowNotConverged:
        return None
    return grid.res_junction.p_bar.values * 1e5 / (networks.RHO * networks.G)


class Tally:
    """What was compared, and the largest differences."""

    def __init__(self, name, least):
        self.name, self.least, self.done, self.skipped, self.head, self.flow, self.misses = name, least, 0, 0, 0.0, 0.0, 0

    def compare(self, net, found, heads, flows, head_m, flow_m3s):
        head = max(abs(a - b) for a, b in zip(found["heads_m"], heads))
        flow = max((abs(a - b) for a, b in zip(found["flows_m3s"], flows)), default=0.0) if flows is not None else 0.0
        self.done += 1
        self.head, self.flow = max(self.head, head), max(self.flow, flow)
        if not found["converged"] or head > head_m or flow > flow_m3s:
            self.misses += 1
            print(f"MISS {self.name}: {head:.2e} m, {flow:.2e} m3/s, converged {found['converged']}: {json.dumps(net)}")

    def report(self):
        print(f"{self.name}: {self.done} compared, {self.skipped} skipped, largest difference {self.head:.1e} m, {self.flow:.1e} m3/s")
        return self.misses == 0 and self.done >= self.least


def main():
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--networks", type=int, default=40, help="how many of each kind")
    parser.add_argument("--seed", type=int, default=1)
    arguments = parser.parse_args()
    rng, num = random.Random(arguments.seed), arguments.networks
    program = environment.build("solve_json")
    tallies = []
    for name, devices in (("SciPy and fluids, pipes", False), ("SciPy and fluids, devices", True)):
        nets = [random_network(rng, devices) for _ in range(num)]
        tally = Tally(name, num // 2)
        for net, found in zip(nets, ours(program, nets)):
            answer = reference.solve(net)
            if answer is None:
                # The root finder gave up, or a regulator in a loop has several consistent states.
                tally.skipped += 1
                continue
            tally.compare(net, found, answer[0], answer[1], HEAD_M, FLOW_M3S)
        tallies.append(tally)
    nets = [lateral(rng) for _ in range(num)]
    tally = Tally("Brent, laterals", num)
    for net, found in zip(nets, ours(program, nets)):
        tally.compare(net, found, reference.tree_shooting(net), None, HEAD_M, FLOW_M3S)
    tallies.append(tally)
    nets = [demand_network(rng) for _ in range(3 * num)]
    tally = Tally("pandapipes, demands", num // 4)
    for net, found in zip(nets, ours(program, nets)):
        enough = tally.done >= num or not turbulent(net, found["flows_m3s"])
        heads = None if enough else pandapipes_heads(net)
        if heads is None:
            tally.skipped += 1
        else:
            tally.compare(net, found, heads, None, PANDAPIPES_M, FLOW_M3S)
    tallies.append(tally)
    if not all([tally.report() for tally in tallies]):
        sys.exit(1)


if __name__ == "__main__":
    main()
