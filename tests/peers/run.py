"""Times the solver and its peers on the same networks in one go: cold, medians, one core, one JSON object a line.

    python3 tests/peers/run.py --sizes 1000 10000

`same` tells whether a peer solves the same equations, in which case the least heads have to agree."""
import argparse
import json
import subprocess

import environment

environment.ensure()

import networks  # noqa: E402
import numba_ldl  # noqa: E402
import numba_tree  # noqa: E402
import pandapipes_peer  # noqa: E402
import scipy_newton  # noqa: E402


def main():
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--sizes", type=int, nargs="+", default=[1000, 10000], help="about how many nodes")
    sizes = parser.parse_args().sizes
    program = environment.build("solve_bench")
    for size in sizes:
        lines = subprocess.run([program, str(size)], check=True, capture_output=True, text=True).stdout.splitlines()
        ours = {line["network"]: line for line in map(json.loads, lines)}
        for kind in networks.KINDS:
            w = kind(size)
            own = ours[w["kind"]]
            if (own["nodes"], own["links"]) != (w["n"], len(w["a"])):
                raise SystemExit(f"{w['kind']}: the networks differ: {own} beside {w['n']} nodes, {len(w['a'])} links")
            for module in (numba_tree, numba_ldl, scipy_newton, pandapipes_peer):
                for name, peer_ms, least in module.peers(w):
                    same = "constant demands" not in name
                    if same and abs(least - own["min_head_m"]) > 2e-6:
                        raise SystemExit(f"{w['kind']} {w['n']}: least head {own['min_head_m']} is {least} by {name}")
                    print(json.dumps(dict(network=w["kind"], nodes=w["n"], ours_ms=own["ours_ms"], peer=name, peer_ms=peer_ms,
                                          same=same, ours_prepare_ms=own["prepare_ms"], iterations=own["iterations"])), flush=True)


if __name__ == "__main__":
    main()
