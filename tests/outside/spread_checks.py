"""Spreads of an L and a U against own formulas, differentiated as differences.

Each part is a chain of flats and arcs in one plane. As made, the blank keeps its nominal sizes, and each bend of
actual turn a, inside radius r and thickness t takes a (r + K t) of it, half on each side of its line. The
limits and K are those of the report; everything else is worked out here.
"""

import math
from collections.abc import Callable

import numpy as np
from part_files import PRINTED, PartFiles
from tally import Tally

# What may be off, in the order of the vectors below: thickness; turn (degrees), radius and place of each bend;
# then cut edges.
Figure = Callable[[np.ndarray], float]


def check_spreads(part: PartFiles, tally: Tally) -> None:
    """Checks worst case and root of squares of the dimensions whose part is known by heart."""
    stem = part.script.removesuffix(".rhai").rsplit("/", 1)[-1]
    if stem == "l_bracket":
        figures = {"height": _heights_of_l(part)}
    elif stem == "u_cover":
        figures = {"clear width": _widths_of_u(part, 0.0), "overall width": _widths_of_u(part, 1.0)}
    else:
        return
    for dimension in part.report["dimensions"]:
        if dimension["name"] not in figures:
            continue
        limits = _limits(part)
        worst, likely = _spread(figures[dimension["name"]], limits)
        case = f"{part.case}, {dimension['name']}"
        # Differences over 1e-5 are good to some 1e-10 of their lever; a turn is printed to 1e-6 degrees.
        bound = PRINTED + 1e-6
        for key, value in (("worst", worst), ("likely", likely)):
            deviation = abs(value - dimension["spread"][key])
            tally.check(f"{key} spread by own formulas", "numpy", case, deviation, bound, "mm")


def _limits(part: PartFiles) -> np.ndarray:
    limit = {entry["of"]: entry for entry in part.report["tolerances"]}
    value = {name: entry["plus_minus"] for name, entry in limit.items()}
    all_limits = [value["thickness"]]
    for bend in part.bends:
        share = bend["inside_radius_mm"] if limit["radius"]["unit"] == "of the radius" else 1.0
        all_limits += [value["turn"], value["radius"] * share, value["bend_place"]]
    return np.array(all_limits + [value["cut"]])


def _spread(figures: list[Figure], limits: np.ndarray) -> tuple[float, float]:
    """Worst case and root of squares of the figure that spreads most."""

    def parts(figure: Figure) -> np.ndarray:
        step = 1e-5
        ways = np.eye(len(limits)) * step
        slopes = np.array([(figure(way) - figure(-way)) / (2.0 * step) for way in ways])
        return np.abs(slopes * limits)

    largest = max((parts(figure) for figure in figures), key=np.sum)
    return float(np.sum(largest)), float(np.linalg.norm(largest))


class Bend:
    """A bend as made: how it lies in its plane, with x outwards and z along the normal of the flat before it."""

    def __init__(self, part: PartFiles, index: int, off: np.ndarray) -> None:
        nominal = part.bends[index]
        own = off[1 + 3 * index : 4 + 3 * index]
        self.t = part.thickness + off[0]
        self.r = nominal["inside_radius_mm"] + own[1]
        nominal_turn = math.radians(nominal["turn_deg"])
        self.a = nominal_turn + math.radians(own[0])
        k = nominal["k_factor"]
        drawn = nominal_turn * (nominal["inside_radius_mm"] + k * part.thickness)
        taken = self.a * (self.r + k * self.t)
        self.start = own[2] - 0.5 * (taken - drawn)
        self.end = own[2] + 0.5 * (taken - drawn)

    def point(self, along: float, share: float) -> np.ndarray:
        """A place of the flat behind it, `along` as drawn and at a share of the thickness from the inner face."""
        sin, cos = math.sin(self.a), math.cos(self.a)
        flat = along - self.end
        inner = np.array([self.start + self.r * sin + flat * cos, self.r * (1.0 - cos) + flat * sin])
        return inner - share * self.t * self.normal()

    def normal(self) -> np.ndarray:
        return np.array([-math.sin(self.a), math.cos(self.a)])


def _heights_of_l(part: PartFiles) -> list[Figure]:
    """Height of the leg's tip over the outer face of the foot: of whichever arris is higher, or of both."""
    bend, t = part.bends[0], part.thickness
    setback = (bend["inside_radius_mm"] + t) * math.tan(0.5 * math.radians(min(bend["turn_deg"], 90.0)))
    flat = part.report["parameters"]["b"] - setback

    def height(share: float) -> Figure:
        def figure(off: np.ndarray) -> float:
            made = Bend(part, 0, off)
            return float(made.point(flat + off[-1], share)[1] + made.t)

        return figure

    figures = [height(0.0), height(1.0)]
    nominal = [figure(np.zeros(5)) for figure in figures]
    return [f for f, value in zip(figures, nominal) if value > max(nominal) - 1e-6]


def _widths_of_u(part: PartFiles, share: float) -> list[Figure]:
    """Distance of a place of one wall from the face of the other one, at the wall's foot and tip."""
    flat = part.report["parameters"]["height"] - part.bends[0]["inside_radius_mm"]
    plate = part.report["free_numbers"]["plate_width"] - 2.0 * (part.bends[0]["inside_radius_mm"] + part.thickness)

    def width(own: int, along: float) -> Figure:
        def figure(off: np.ndarray) -> float:
            here, there = (Bend(part, index, off) for index in (own, 1 - own))
            place = here.point(along, share)
            # Seen from the other wall, outwards is the other way.
            seen = np.array([-place[0] - plate, place[1]])
            return float((seen - there.point(0.0, share)) @ there.normal())

        return figure

    return [width(own, along) for own in (0, 1) for along in (0.0, flat)]
