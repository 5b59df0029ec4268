"""Expected values for `tests/checks/hydraulics_degenerate.rs`: devices in parallel and in loops, solved by trying every state with SciPy's
root finder over friction factors of the library fluids.

    python3 tests/peers/degenerate.py"""
import environment

environment.ensure()

import reference  # noqa: E402


def pipe(a, b, length_m, bore_m):
    return dict(kind="pipe", length_m=length_m, bore_m=bore_m, roughness_m=1.5e-6, fittings=0.0, **{"from": a, "to": b})


def regulator(a, b, set_kpa, per_lps_squared):
    return dict(kind="regulator", set_kpa=set_kpa, per_lps_squared=per_lps_squared, **{"from": a, "to": b})


def check(a, b, per_lps_squared):
    return dict(kind="device", checked=True, per_lps_squared=per_lps_squared, **{"from": a, "to": b})


def network(num, links, outlets):
    outlets = [dict(junction=at, flow_m3s=lps * 1e-3, at_kpa=200.0, exponent=0.5) for at, lps in outlets]
    return dict(levels_m=[0.0] * num, links=links, outlets=outlets, sources=[dict(junction=0, pressure_kpa=350.0)])


def check_in_loop(near, far):
    links = [pipe(0, 1, 10, 0.02093), pipe(1, 2, 20, 0.01524), pipe(0, 3, 15, 0.02093), check(2, 3, 50.0)]
    return network(4, links, [(2, near), (3, far)])


CASES = {
    "two unequal regulators in parallel, the higher at its limit": network(
        3, [pipe(0, 1, 6, 0.02093), regulator(1, 2, 200.0, 300.0), regulator(1, 2, 170.0, 100.0)], [(2, 0.9)]),
    "two equal regulators in parallel": network(
        3, [pipe(0, 1, 6, 0.02093), regulator(1, 2, 170.0, 100.0), regulator(1, 2, 170.0, 300.0)], [(2, 0.6)]),
    "a regulator in a loop, regulating": network(
        4, [pipe(0, 1, 10, 0.02093), regulator(1, 2, 150.0, 100.0), pipe(1, 3, 20, 0.01524), pipe(3, 2, 20, 0.0106)],
        [(2, 0.5), (3, 0.05)]),
    "a regulator in a loop, shut by its bypass": network(
        4, [pipe(0, 1, 10, 0.02093), regulator(1, 2, 150.0, 100.0), pipe(1, 3, 2, 0.01524), pipe(3, 2, 2, 0.01524)],
        [(2, 0.05), (3, 0.05)]),
    "a check valve in a loop, shut": check_in_loop(0.4, 0.05),
    "a check valve in a loop, open": check_in_loop(0.05, 0.6),
}


def main():
    for name, net in CASES.items():
        answer = reference.solve(net)
        if answer is None:
            print(f"{name}: no unique solution")
            continue
        heads, flows, states = answer
        print(name)
        print("  heads m  ", ", ".join(f"{head:.9f}" for head in heads))
        print("  flows L/s", ", ".join(f"{1e3 * flow:.10f}" for flow in flows))
        print("  states   ", ", ".join(states))


if __name__ == "__main__":
    main()
