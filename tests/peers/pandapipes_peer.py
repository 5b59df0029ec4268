"""A general-purpose pipe-flow library. It knows no pressure-dependent outlets, so each is a constant sink of its flow at 25 psi, and
its friction is Swamee-Jain: the time of another, simpler problem on the same network. Looser tolerance, table handling included."""
import logging
import math
import warnings

import numpy as np

warnings.filterwarnings("ignore")
logging.disable(logging.CRITICAL)
import pandapipes as pp  # noqa: E402
from pandapipes.properties import create_constant_fluid  # noqa: E402

from networks import G, H25, NU, RHO, median_ms  # noqa: E402


def build(w, demand, roughness_mm=1.5e-3):
    """A network of the library with constant sinks in m3/s, one for each node (zero: none)."""
    net = pp.create_empty_network()
    net.fluid = create_constant_fluid("water", "liquid", density=RHO, viscosity=RHO * NU, heat_capacity=4182.0,
                                      molar_mass=18.015, compressibility=0.0, der_compressibility=0.0)
    pp.create_junctions(net, w["n"], pn_bar=1.0, tfluid_k=293.15, height_m=w["z"])
    for node, head in w["fixed"].items():
        pp.create_ext_grid(net, node, p_bar=(head - w["z"][node]) * RHO * G / 1e5, t_k=293.15)
    given = dict(length_km=w["L"] / 1000, k_mm=roughness_mm, loss_coefficient=w["K"])
    try:
        pp.create_pipes_from_parameters(net, w["a"], w["b"], inner_diameter_mm=w["D"] * 1e3, **given)
    except TypeError:
        pp.create_pipes_from_parameters(net, w["a"], w["b"], diameter_m=w["D"], **given)
    at = np.flatnonzero(demand > 0)
    pp.create_sinks(net, at, mdot_kg_per_s=demand[at] * RHO)
    return net


def peers(w):
    """Yields name, median of a cold solve, and least head."""
    net = build(w, w["em"] * math.sqrt(H25))
    options = dict(friction_model="swamee-jain", mode="hydraulics", tol_p=1e-5, tol_m=1e-5, max_iter_hyd=100)
    try:
        pp.pipeflow(net, **options)
    except Exception as error:  # It says itself what went wrong.
        yield f"pandapipes, constant demands: {type(error).__name__}", None, None
        return
    least = net.res_junction.p_bar.min() * 1e5 / RHO / G
    yield "pandapipes, constant demands", median_ms(lambda: pp.pipeflow(net, **options), least=3, most=30), least
