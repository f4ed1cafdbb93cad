"""K from test strips against scipy: the fit, its ± and its outliers, worked out anew from the measured strips.

scipy solves one weighted least-squares system for all radii at once and gives the covariance of its answer,
where the kernel takes means radius by radius; outliers are found by leaving each strip out and solving again.
"""

import math
from dataclasses import dataclass

import numpy as np
from part_files import PRINTED, PartFiles
from scipy import stats
from scipy.optimize import curve_fit
from tally import Tally

# scipy stops when a step changes the answer by less; the system is linear, so that the answer is far nearer.
SOLVED = 1e-9
CONFIDENCE = 0.95
# Radii over thickness within this share of the smallest count as one; `SAME_RATIO_SHARE` in
# kernel/src/stock/strip_fit.rs.
SAME_RATIO = 0.1
# The chance of a strip to be called an outlier: that of three standard deviations.
OUTLIER_CHANCE = 2.0 * stats.norm.sf(3.0)


@dataclass
class System:
    """`lengths = design · K`, a row for each strip and a column for each tested radius over thickness."""

    design: np.ndarray
    lengths: np.ndarray
    ratios: np.ndarray

    @property
    def freedom(self) -> int:
        return len(self.lengths) - self.design.shape[1]

    def solved(self) -> tuple[np.ndarray, np.ndarray, float]:
        """K, its standard error and the scatter of lengths, in mm; needs degrees of freedom."""
        k, covariance = curve_fit(
            lambda design, *k: design @ np.array(k),
            self.design,
            self.lengths,
            p0=np.full(self.design.shape[1], 0.4),
            jac=lambda design, *k: design,
            xtol=SOLVED**1.5,
            ftol=SOLVED**1.5,
            gtol=SOLVED**1.5,
        )
        rest = self.lengths - self.design @ k
        return k, np.sqrt(np.diag(covariance)), math.sqrt(float(rest @ rest) / self.freedom)

    def without(self, row: int) -> "System":
        """The system without one strip."""
        keep = np.arange(len(self.lengths)) != row
        return System(self.design[keep], self.lengths[keep], self.ratios[keep])


def _system(figures: dict) -> System:
    """Takes the arcs of the inner faces and the straight parts off the flat lengths; K makes up the rest."""
    strips = figures["strips"]
    design, lengths = np.zeros((len(strips), len(figures["ratios"]))), np.zeros(len(strips))
    ratios = np.array([s["inside_radius_mm"] / s["thickness_mm"] for s in strips])
    for row, s in enumerate(strips):
        t, r, a = s["thickness_mm"], s["inside_radius_mm"], math.radians(s["turn_deg"])
        face = {"outside": r + t, "inside": r, "tangent": 0.0}[figures["legs_from"]]
        # To the mould line up to 90 degrees, to the tangent above (DIN 6935).
        setback = face * math.tan(0.5 * min(a, 0.5 * math.pi))
        bends = len(s["legs_mm"]) - 1
        straight = sum(s["legs_mm"]) - 2.0 * bends * setback
        column = next(i for i, row in enumerate(figures["ratios"]) if s["strip"] in row["strips"])
        design[row, column] = bends * a * t
        lengths[row] = s["flat_mm"] - straight - bends * a * r
    return System(design, lengths, ratios)


def check_strips(part: PartFiles, tally: Tally) -> None:
    """Checks the fit of one part, if its K is fitted to test strips."""
    figures = part.report["sheet"].get("test_strips")
    if figures is None:
        return
    case, strips, fitted = part.case, figures["strips"], figures["ratios"]
    grouped = sorted(number for row in fitted for number in row["strips"])
    found = [] if grouped == list(range(1, len(strips) + 1)) else ["a strip has no radius, or two"]
    tally.none("every test strip has one radius over thickness", "own", case, found)
    if found:
        return
    system = _system(figures)
    least = [min(system.ratios[n - 1] for n in row["strips"]) for row in fitted]
    most = [max(system.ratios[n - 1] for n in row["strips"]) for row in fitted]
    found = [f"{a:.3f} to {b:.3f} is one" for a, b in zip(least, most) if b > a * (1.0 + SAME_RATIO)]
    found += [f"{a:.3f} and {b:.3f} are two" for a, b in zip(least, least[1:]) if b <= a * (1.0 + SAME_RATIO)]
    tally.none("radii over thickness within a tenth are one", "own", case, found)

    k, error, scatter = system.solved()
    weights = system.design**2
    ratios = (weights * system.ratios[:, None]).sum(axis=0) / weights.sum(axis=0)
    half = stats.t.ppf(0.5 + 0.5 * CONFIDENCE, system.freedom) * error
    if figures["uncertainty_mm"] is not None:
        stated = figures["uncertainty_mm"] * system.design.sum(axis=0) / weights.sum(axis=0)
        half = np.maximum(half, stated)
    bound = PRINTED + SOLVED

    def compare(kind: str, place: str, got: float, wanted: float, unit: str) -> None:
        tally.check(kind, "scipy", f"{case}, {place}", abs(got - wanted), bound, unit)

    for index, row in enumerate(fitted):
        place = f"r/t {row['radius_over_thickness']}"
        compare("r/t of test strips is their weighted mean", place, row["radius_over_thickness"], ratios[index], "")
        compare("K of test strips by least squares", place, row["k_factor"], k[index], "")
        compare("± of K by covariance and Student's t", place, row["k_plus_minus"], half[index], "")
    compare("scatter of test strips", "all", figures["scatter_mm"], scatter, "mm")
    freedom = abs(figures["degrees_of_freedom"] - system.freedom)
    tally.check("degrees of freedom of test strips", "scipy", case, freedom, 0, "")
    rest = system.lengths - system.design @ k
    for row, strip in enumerate(strips):
        place = f"strip {strip['strip']}"
        alone = system.lengths[row] / system.design[row].sum()
        compare("K of one test strip alone", place, strip["k_factor"], alone, "")
        compare("residual of a test strip", place, strip["residual_mm"], rest[row], "mm")
        wrong = strip["outlier"] != _is_outlier(system, row, figures["uncertainty_mm"])
        tally.none("outliers by leaving strips out", "scipy", f"{case}, {place}", ["strip"] if wrong else [])
    for bend in part.bends:
        wanted = float(np.interp(bend["inside_radius_mm"] / part.thickness, ratios, k))
        compare("K of bends is linear between tested r/t", bend["name"], bend["k_factor"], wanted, "")


def _is_outlier(system: System, row: int, uncertainty: float | None) -> bool:
    """Whether a strip is off what the others say, by more than the chance of three standard deviations."""
    column = int(np.flatnonzero(system.design[row])[0])
    others = system.without(row)
    if not others.design[:, column].any() or others.freedom < 1:
        return False
    k, error, scatter = others.solved()
    weight = system.design[row, column]
    off = abs(system.lengths[row] - weight * k[column])
    deviation = math.hypot(scatter, weight * error[column])
    return off > (uncertainty or 0.0) and 2.0 * stats.t.sf(off / deviation, others.freedom) < OUTLIER_CHANCE
