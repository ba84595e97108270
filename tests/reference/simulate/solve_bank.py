"""Charge of one bank over time, solved with SciPy, for the tests of the time simulation.

Run once by hand; its output is kept as solve_bank.json:

    python3 tests/reference/simulate/solve_bank.py > tests/reference/simulate/solve_bank.json

Needs the Debian package python3-scipy. Everything is written out from the equations, none of it shared with the simulation:

    bank         U(soc) by straight lines between the points of a cell, times the cells; R in series; current into it positive
    discharge    constant power P:  V = (U + sqrt(U^2 - 4 R P)) / 2,  I = -P / V
    charge       the lesser of a current limit and what holds a voltage, loads of constant power taken first
    lead-acid    takes no more than the missing charge over one hour; stores 97 % up to 80 % of charge, from there falling to 50 % at 100 %
    rate effect  above the rated current a discharge draws (I / I_rated)^(k - 1) as much
"""

import json
import platform
import sys
from pathlib import Path

import numpy as np
import scipy
from scipy.integrate import solve_ivp

HOUR = 3600.0
TABLE = json.loads(
    (Path(__file__).parents[3] / "language/src/reference/energy/open-circuit-voltage.json").read_text()
)
CURVES = {row["chemistry"]: np.array(row["points"]) for row in TABLE["rows"]}


def rest(curve, cells, soc):
    points = CURVES[curve]
    return cells * np.interp(soc, points[:, 0], points[:, 1])


def sag(volts, ohms, watts):
    return (volts + np.sqrt(volts * volts - 4 * ohms * watts)) / 2


def charge_current(volts, ohms, limit, held, watts):
    """A into the bank: the limit less the loads, or what holds the voltage."""
    # V solves  limit - watts / V = (V - U) / R.
    v = (volts + ohms * limit + np.sqrt((volts + ohms * limit) ** 2 - 4 * ohms * watts)) / 2
    return (v - volts) / ohms if v <= held else (held - volts) / ohms


CASES = [
    {
        "name": "constant power out of lithium iron phosphate",
        "chemistry": "lfp", "cells": 16, "capacity_Ah": 300, "resistance_ohm": 0.01,
        "soc": 0.95, "hours": 8, "load_W": 1800.0,
    },
    {
        "name": "constant power out of a small cold bank, far into the knee",
        "chemistry": "lfp", "cells": 16, "capacity_Ah": 100, "resistance_ohm": 0.05,
        "soc": 0.5, "hours": 1.5, "load_W": 1500.0,
    },
    {
        "name": "current limit, then voltage, with a load beside it",
        "chemistry": "lfp", "cells": 16, "capacity_Ah": 200, "resistance_ohm": 0.06,
        "soc": 0.3, "hours": 5, "load_W": 600.0, "limit_A": 90.0, "held_V": 55.2,
    },
    {
        "name": "high-nickel cells, whose voltage tells their charge",
        "chemistry": "nmc", "cells": 14, "capacity_Ah": 150, "resistance_ohm": 0.03,
        "soc": 0.2, "hours": 4, "load_W": 200.0, "limit_A": 60.0, "held_V": 57.4,
    },
    {
        "name": "lead-acid that takes less and less",
        "chemistry": "flooded", "cells": 24, "capacity_Ah": 400, "resistance_ohm": 0.02,
        "soc": 0.6, "hours": 10, "load_W": 0.0, "limit_A": 80.0, "held_V": 57.6, "lead": True,
    },
    {
        "name": "lead-acid at currents above its rating",
        "chemistry": "agm", "cells": 24, "capacity_Ah": 200, "resistance_ohm": 0.03,
        "soc": 1.0, "hours": 3, "load_W": 1600.0, "peukert": 1.12, "rated_A": 10.0,
    },
]


def slope(case, soc):
    volts = rest(case["chemistry"], case["cells"], soc)
    ohms = case["resistance_ohm"]
    if "limit_A" in case:
        amperes = charge_current(volts, ohms, case["limit_A"], case["held_V"], case["load_W"])
    else:
        amperes = -case["load_W"] / sag(volts, ohms, case["load_W"])
    share = 1.0
    if case.get("lead") and amperes > 0:
        amperes = min(amperes, (1 - soc) * case["capacity_Ah"] / 1.0)
        share = 0.97 if soc <= 0.8 else 0.97 - 0.47 * (soc - 0.8) / 0.2
    if amperes < 0 and "peukert" in case and -amperes > case["rated_A"]:
        share = (-amperes / case["rated_A"]) ** (case["peukert"] - 1)
    return share * amperes / (case["capacity_Ah"] * HOUR)


def solve(case):
    times = np.linspace(0, case["hours"] * HOUR, 25)
    # Small steps, so that the corners of the table fall between steps and not unseen inside them.
    found = solve_ivp(
        lambda _, y: [slope(case, y[0])], (0, times[-1]), [case["soc"]],
        t_eval=times, method="DOP853", rtol=1e-12, atol=1e-14, max_step=5.0,
    )
    if not found.success:
        sys.exit(f"{case['name']}: {found.message}")
    return {**case, "time_s": times.tolist(), "soc_over_time": found.y[0].tolist()}


json.dump(
    {
        "command": "python3 tests/reference/simulate/solve_bank.py > tests/reference/simulate/solve_bank.json",
        "program": f"SciPy {scipy.__version__} solve_ivp (DOP853, rtol 1e-12), Python {platform.python_version()}, Debian 12",
        "cases": [solve(case) for case in CASES],
    },
    sys.stdout,
    indent=1,
)
print()
