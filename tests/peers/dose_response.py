"""Exact beta-Poisson values by a general library (mpmath), for tests/checks/margin.rs.

Run by hand: python3 -m venv /tmp/v && /tmp/v/bin/pip install mpmath && /tmp/v/bin/python tests/peers/dose_response.py
"""

import mpmath

mpmath.mp.dps = 40
for alpha, beta in ((0.04, 0.055), (0.145, 7.59)):
    for dose in (1e-3, 0.5, 10.0, 250.0, 590.0, 650.0, 5000.0, 1e6):
        value = 1 - mpmath.hyp1f1(alpha, alpha + beta, -mpmath.mpf(dose))
        print(f"    ({alpha}, {beta}, {dose}, {mpmath.nstr(value, 12)}),")
