"""Free numbers against scipy: the same dimensions, written anew over a fold map of our own.

All bends of these parts are parallel, so that each is a chain in one plane. A position on the sheet's inner
face and the heading along it say all. A bend up swings about a centre `r` to the left of the heading, one
down about a centre `r + t` to the right. This is the map of docs/math/fold-map.md reached another way: no
frames, no setback formula for the position, only centres and headings.
"""

import math
from dataclasses import dataclass

import numpy as np
from part_files import PartFiles
from scipy.optimize import least_squares
from tally import Tally


@dataclass
class Walker:
    """A point on the inner face, and which way the sheet goes on from there."""

    x: float
    z: float
    heading: float = 0.0

    def ahead(self, length: float) -> "Walker":
        """After a flat of this length."""
        return Walker(
            self.x + length * math.cos(self.heading), self.z + length * math.sin(self.heading), self.heading
        )

    def bent(self, turn: float, radius: float) -> "Walker":
        """After a bend up through `turn` rad whose inner face has this radius."""
        left = self.heading + 0.5 * math.pi
        x, z = self.x + radius * math.cos(left), self.z + radius * math.sin(left)
        left += turn
        return Walker(x - radius * math.cos(left), z - radius * math.sin(left), self.heading + turn)

    def height_over(self, other: "Walker") -> float:
        """Distance of this point from the other one's inner face, on the side that face looks to."""
        left = other.heading + 0.5 * math.pi
        return (self.x - other.x) * math.cos(left) + (self.z - other.z) * math.sin(left)


def _corner(radius: float, turn: float) -> float:
    return radius * math.tan(0.5 * min(turn, 0.5 * math.pi))


def _mirrored(walker: Walker) -> Walker:
    """Walks the other way: the left of the part, seen from its back."""
    return Walker(-walker.x, walker.z, math.pi - walker.heading)


def clear_between_walls(drawn: float, radius: float, held: float) -> float:
    """Clear width of a U with square walls, by walking out to both sides.

    `drawn` is the distance of the drawn edges, `radius` that of the inner face, and `held` that of the face
    that keeps to the drawn edge.
    """
    flat = 0.5 * drawn - _corner(held, 0.5 * math.pi)
    right = Walker(0.0, 0.0).ahead(flat).bent(0.5 * math.pi, radius)
    left = _mirrored(right)
    return Walker(left.x, left.z, right.heading).height_over(right)


def _u_cover(part: PartFiles):
    t, r, get = part.thickness, part.report["sheet"]["inside_radius_mm"], part.report["parameters"].get

    def residuals(u):
        return [clear_between_walls(u[0], r, r + t) - get("clear")]

    measured = {"overall width": lambda u: clear_between_walls(u[0], r, r + t) + 2.0 * t}
    return ["plate_width"], [100.0], residuals, measured


def _chain_guard(part: PartFiles):
    t, r, get = part.thickness, part.report["sheet"]["inside_radius_mm"], part.report["parameters"].get

    def residuals(u):
        clear = [clear_between_walls(drawn, r, r + t) for drawn in u]
        return [clear[0] - get("clear_length"), clear[1] - get("clear_height")]

    # Outside is inside with a sheet on each side.
    measured = {"overall length": lambda u: clear_between_walls(u[0], r, r + t) + 2.0 * t}
    return ["face_length", "face_height"], [get("clear_length"), get("clear_height")], residuals, measured


def _terminal_cover(part: PartFiles):
    """Walls whose inner face holds the drawn edge; a hood that is turned alone."""
    t, r, get = part.thickness, part.report["sheet"]["inside_radius_mm"], part.report["parameters"].get

    def residuals(u):
        hood = Walker(0.0, 0.0).bent(math.radians(u[1]), r)
        return [
            clear_between_walls(u[0], r, r) + 2.0 * t - get("width"),
            math.degrees(hood.heading) - get("hood_angle"),
        ]

    measured = {"clear width": lambda u: clear_between_walls(u[0], r, r), "plate width": lambda u: u[0]}
    return ["plate_width", "hood_turn"], [get("width"), 60.0], residuals, measured


def _leaning_chain(part: PartFiles):
    t, get = part.thickness, part.report["parameters"].get
    r, r_roof = 2.5, 4.0

    def walk(u):
        lean, web, width = math.radians(u[0]), u[1], u[2]
        right = 0.5 * math.pi
        # The wall stands on the left edge, whose drawn line is its outer face; the plate's middle is zero.
        wall = _mirrored(Walker(0.0, 0.0).ahead(0.5 * width - _corner(r + t, right)).bent(right, r))
        foot = Walker(0.0, 0.0).ahead(0.5 * width)
        roof = foot.bent(lean, r).ahead(web).bent(math.pi - lean, r_roof)
        drop = roof.ahead(44.0 - _corner(r + t, right)).bent(right, r)
        return foot, wall, roof, drop

    def residuals(u):
        foot, wall, roof, drop = walk(u)
        return [
            roof.height_over(foot) - get("clear_height"),
            # The drop's inner face looks at the web; what looks at the wall is its outer face.
            drop.x - t - wall.x - get("clear_width"),
            u[2] - get("plate_width"),
        ]

    return ["lean", "web_length", "drawn_width"], [75.0, 62.0, 170.0], residuals, {"lean": lambda u: u[0]}


SYSTEMS = {
    "u_cover": _u_cover,
    "chain_guard": _chain_guard,
    "terminal_cover": _terminal_cover,
    "leaning_chain": _leaning_chain,
}


def check_equations(part: PartFiles, tally: Tally) -> None:
    """Solves the part's dimensions with scipy and compares free and measured numbers."""
    system = SYSTEMS.get(part.script.removesuffix(".rhai").rsplit("/", 1)[-1])
    if system is None:
        return
    names, start, residuals, measured = system(part)
    answer = least_squares(residuals, start, xtol=1e-15, ftol=1e-15, gtol=1e-15)
    left = float(np.abs(answer.fun).max())
    # As small as double precision gives for lengths up to 1200 mm and turns in degrees.
    tally.check("scipy's own residuals vanish", "scipy", part.case, left, 1e-11, "mm or deg")
    bound = 1e-9
    free = part.report["free_numbers"]
    strange = set(names) ^ free.keys()
    tally.none("free numbers are those of the script", "scipy", part.case, sorted(strange))
    for name, value in zip(names, answer.x):
        deviation = abs(free.get(name, math.inf) - value)
        tally.check(
            "free numbers as scipy solves them",
            "scipy",
            f"{part.case}, {name}",
            deviation,
            bound,
            "mm or deg",
        )
    got = {d["name"]: d["got"] for d in part.report["dimensions"]}
    for name, measure in measured.items():
        deviation = abs(got.get(name, math.inf) - measure(answer.x))
        tally.check(
            "measured dimensions as scipy finds them",
            "scipy",
            f"{part.case}, {name}",
            deviation,
            bound,
            "mm or deg",
        )
    freedom = part.report["degrees_of_freedom"]
    rank = int(np.linalg.matrix_rank(answer.jac))
    tally.check("degrees of freedom left", "scipy", part.case, abs(freedom - (len(names) - rank)), 0, "")
