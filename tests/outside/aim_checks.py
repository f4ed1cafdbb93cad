"""The smallest blank of the aimed channel against scipy: sequential least squares over formulas of our own.

The blank is added up from flats and allowances, `π/2 (r + K t)` for each square bend; nothing of the kernel's
search, slopes or limits is used.
"""

import math

import numpy as np
from part_files import PartFiles
from scipy.optimize import minimize
from tally import Tally

# What is cut off along the bends, as parts/aimed_channel.rhai has it.
DEPTH = 90.0


def check_aim(part: PartFiles, tally: Tally) -> None:
    """Finds the smallest figure of the aimed channel with scipy and compares it with the report's."""
    if not part.script.endswith("aimed_channel.rhai"):
        return
    aim = part.report.get("aim", {})
    t, r = part.thickness, part.report["sheet"]["inside_radius_mm"]
    get = part.report["parameters"].get
    allowance = 0.5 * math.pi * (r + 0.42 * t)

    def blank(u):
        return (u[0] - 2.0 * r) + 2.0 * (u[1] - r) + 2.0 * allowance

    figures = {"blank area": lambda u: DEPTH * blank(u), "cut length": lambda u: 2.0 * (DEPTH + blank(u))}
    figure = figures[get("aim")]
    # Parts of 100 mm, so that the routine's tolerances mean the same for all numbers.
    best = minimize(
        lambda u: figure(100.0 * u) / figure([100.0, 100.0]),
        np.array([max(get("clear"), 240.0), min(get("most"), 90.0)]) / 100.0,
        method="SLSQP",
        bounds=[(get("clear") / 100.0, None), (0.1, get("most") / 100.0)],
        constraints=[{"type": "ineq", "fun": lambda u: u[0] * u[1] - get("section") / 100.0}],
        options={"ftol": 1e-12, "maxiter": 500},
    )
    tally.none("scipy finds a smallest figure", "scipy", part.case, [] if best.success else [best.message])
    wanted = figure(100.0 * best.x)
    # Near a smooth optimum the figure hardly knows where it is: a millionth is beyond what anyone pays for.
    deviation = abs(aim.get("after", math.inf) - wanted) / wanted
    tally.check("smallest figure as scipy finds it", "scipy", part.case, deviation, 1e-6, "")
