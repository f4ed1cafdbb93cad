"""Measures of openings in flat panels, worked out anew from the drawing with shapely and scipy.

The report tells for each opening the largest circle, square and slot that pass and the smallest that contain it
(definitions: `docs/math/guard-openings.md`). Holes of the report and cuts of the drawing have no common name, so that
each hole must have as many cuts with its measures as it says, and each cut a hole; a measure that is wrong leaves both
alone. Cuts across bends are measured on another figure and are no part of this.
"""

import math
from dataclasses import dataclass

import numpy as np
import shapely
from part_files import PRINTED, Cut, PartFiles
from scipy.optimize import minimize
from shapely import Point, Polygon, maximum_inscribed_circle, minimum_bounding_radius
from tally import Tally

# Arcs are cut into chords this near to them, in mm.
FLAT = 1e-4
# shapely's largest circle is as large as can be within this, in mm.
CIRCLE = 1e-5
# What passes and contains is off by what the chords lie within arcs on both sides, and what is printed.
BOUND = 2.0 * (FLAT + CIRCLE) + PRINTED
# The largest square is told within this share of itself: docs/math/guard-openings.md.
SQUARE_SHARE = 1e-3
# Squares are sought in an outline this near to the true one, in mm, ...
COARSE = 5e-4
# ... so that their sides are off by twice that across the corners at most; half of it again is for the search's end.
SEARCH = 3.0 * math.sqrt(2.0) * COARSE
# The middle of the circle may be this much nearer to the outline than it is at best, in mm; with less, shapely gives
# the room of parallel sides up.
ROOM = 1e-3
# The slot that passes grows with the room of its middle line: between two sides of a corner by the room over the sine
# of half the angle (openings here have none below 10 degrees), beside an arc by the chord of a sagitta as high.
CORNER_GROWTH = 1.0 / math.sin(math.radians(5.0))
# Rounding of coordinates of some 100 mm, in mm.
ROUNDING = 1e-9
# How many cuts of one part are measured; patterns repeat one shape.
SHAPES = 12


@dataclass
class Measures:
    """Measures of one shape in mm; the lengths of slots lie between two bounds."""

    passing_circle: float
    passing_square: float
    passing_slot: tuple[float, float]
    around_circle: float
    around_square: float
    around_slot_width: float
    around_slot: tuple[float, float]


def check_openings(part: PartFiles, tally: Tally) -> None:
    """Checks the holes of one part that judges its openings."""
    guarding = part.report.get("guarding")
    if not guarding or any(o["kind"] == "hole across bends" for o in guarding["openings"]):
        return
    holes = [o for o in guarding["openings"] if o["kind"] == "hole"]
    shapes: dict[tuple[float, float], list[Cut]] = {}
    for cut in part.cuts:
        if cut.layer == "CUT_INNER":
            length = sum(curve.length for curve in cut.curves)
            shapes.setdefault((round(cut.area, 6), round(length, 6)), []).append(cut)
    counted = sum(hole["count"] for hole in holes)
    cuts = sum(len(alike) for alike in shapes.values())
    tally.check("holes of the report are cuts of the drawing", "shapely", part.case, abs(counted - cuts), 0, "")
    for alike in list(shapes.values())[:SHAPES]:
        wanted = measured(_polygon(alike[0]))
        # The hole of this shape: the one whose measures come nearest to those of the cut.
        hole = min(holes, key=lambda h: max(d / b for _, d, b in _deviations(h, wanted)), default=None)
        if hole is None:
            continue
        for kind, deviation, bound in _deviations(hole, wanted):
            tally.check(kind, "shapely and scipy", part.case, deviation, bound, "mm")


def _polygon(cut: Cut) -> Polygon:
    points = []
    for curve in cut.curves:
        share = FLAT / curve.radius if math.isfinite(curve.radius) else 0.0
        # A chord over the angle a lies r (1 - cos(a / 2)) within its arc.
        step = 2.0 * math.acos(1.0 - min(share, 1.0)) if share else math.inf
        count = max(1, math.ceil(abs(curve.sweep) / step)) if share else 1
        points += [curve.point(k / count) for k in range(count)]
    return Polygon(points)


def measured(polygon: Polygon) -> Measures:
    """All measures of the inside of a polygon."""
    circle = maximum_inscribed_circle(polygon, tolerance=CIRCLE)
    radius = circle.length
    straight = _longest_line(polygon.buffer(-(radius - ROOM), quad_segs=64))
    size = 2.0 * minimum_bounding_radius(polygon)
    growth = ROOM * CORNER_GROWTH + math.sqrt(8.0 * size * ROOM)
    slot = (2.0 * radius + straight - growth, 2.0 * radius + straight)
    hull = np.array(polygon.convex_hull.exterior.coords)
    # The narrowest slot lies along an edge of the hull; how long it is may change much while its width hardly does.
    net = np.concatenate([_edge_directions(hull), np.linspace(0.0, math.pi, 18001)])
    widths, lengths = _extents(hull, net)
    narrow = widths <= widths.min() + 2.0 * FLAT
    return Measures(
        passing_circle=2.0 * radius,
        passing_square=_largest_square(polygon, radius),
        passing_slot=slot,
        around_circle=size,
        around_square=_smallest_square(hull),
        around_slot_width=widths.min(),
        around_slot=(lengths[narrow].min(), lengths[narrow].max()),
    )


def _deviations(hole: dict, wanted: Measures) -> list[tuple[str, float, float]]:
    square = wanted.passing_square
    width, length = hole["passing_slot_mm"]
    around, along = hole["around_slot_mm"]

    def outside(value: float, bounds: tuple[float, float]) -> float:
        return max(bounds[0] - value, value - bounds[1], 0.0)

    def off(key: str, value: float) -> float:
        return abs(hole[key] - value)

    return [
        ("largest circle that passes", off("passing_circle_mm", wanted.passing_circle), BOUND),
        ("largest square that passes", off("passing_square_mm", square), SQUARE_SHARE * square + SEARCH),
        ("width of the slot that passes", abs(width - wanted.passing_circle), BOUND),
        ("length of the slot that passes", outside(length, wanted.passing_slot), BOUND),
        ("smallest circle around", off("around_circle_mm", wanted.around_circle), BOUND),
        ("smallest square around", off("around_square_mm", wanted.around_square), BOUND),
        ("width of the slot around", abs(around - wanted.around_slot_width), BOUND),
        ("length of the slot around", outside(along, wanted.around_slot), BOUND),
    ]


def _longest_line(room: Polygon) -> float:
    """Length of the longest line that stays within the room that the middle of a circle has."""
    # What is left has room for every line along which the circle itself goes on.
    room = room.simplify(0.2 * ROOM)
    longest = 0.0
    for piece in getattr(room, "geoms", [room]):
        if piece.is_empty:
            continue
        points = np.array(piece.exterior.coords)[:-1]
        one, other = np.triu_indices(len(points), 1)
        lines = shapely.linestrings(np.stack([points[one], points[other]], axis=1))
        # A line along an edge lies on it but for rounding.
        within = piece.buffer(ROUNDING)
        shapely.prepare(within)
        lengths = shapely.length(lines)[shapely.covers(within, lines)]
        longest = max(longest, float(lengths.max(initial=0.0)))
    return longest


def _edge_directions(hull: np.ndarray) -> np.ndarray:
    edges = np.diff(hull, axis=0)
    return np.arctan2(edges[:, 1], edges[:, 0])


def _extents(hull: np.ndarray, turns: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """How wide (across) and how long (along) the hull is at each turn."""
    along = hull @ np.array([np.cos(turns), np.sin(turns)])
    across = hull @ np.array([-np.sin(turns), np.cos(turns)])
    return np.ptp(across, axis=0), np.ptp(along, axis=0)


def _smallest_square(hull: np.ndarray) -> float:
    def side(turns: np.ndarray) -> np.ndarray:
        return np.maximum(*_extents(hull, turns))

    # Between the nodes of a fine net the side changes by less than the size times the step; two finer nets follow.
    turns = np.linspace(0.0, math.pi / 2.0, 9001)
    best = side(turns)
    step = turns[1]
    for _ in range(3):
        turns = turns[np.argmin(best)] + np.linspace(-step, step, 2001)
        best = side(turns)
        step /= 1000.0
    return float(best.min())


def _largest_square(polygon: Polygon, radius: float) -> float:
    """Side of the largest square inside, by many starts: a square about p fits while no place of the outline is nearer
    than half its side by the larger of the two coordinates along its sides."""
    polygon = polygon.simplify(COARSE)
    ring = np.array(polygon.exterior.coords)
    starts, ends = ring[:-1], ring[1:]

    def half(x: np.ndarray) -> float:
        middle, turn = x[:2], x[2]
        if not polygon.covers(Point(middle)):
            return -polygon.distance(Point(middle))
        frame = np.array([[math.cos(turn), -math.sin(turn)], [math.sin(turn), math.cos(turn)]])
        a, b = (starts - middle) @ frame, (ends - middle) @ frame
        d = b - a
        least = np.minimum(np.abs(a).max(axis=1), np.abs(b).max(axis=1))
        # max(|x|, |y|) along a line is least at an end or where one is zero or both are as large.
        for top, bottom in (
            (a[:, 0], d[:, 0]),
            (a[:, 1], d[:, 1]),
            (a[:, 0] - a[:, 1], d[:, 0] - d[:, 1]),
            (a[:, 0] + a[:, 1], d[:, 0] + d[:, 1]),
        ):
            with np.errstate(divide="ignore", invalid="ignore"):
                share = np.clip(np.nan_to_num(-top / bottom), 0.0, 1.0)
            at = a + share[:, None] * d
            least = np.minimum(least, np.abs(at).max(axis=1))
        return float(least.min())

    x0, y0, x1, y1 = polygon.bounds
    places = [(x, y) for x in np.linspace(x0, x1, 15)[1:-1] for y in np.linspace(y0, y1, 15)[1:-1]]
    centre = maximum_inscribed_circle(polygon, tolerance=CIRCLE).coords[0]
    turns = np.linspace(0.0, math.pi / 2.0, 13)[:-1]
    tried = [(half(np.array([*p, t])), p, t) for p in [centre, *places] for t in turns]
    tried.sort(key=lambda entry: -entry[0])
    best = 0.0
    for _, place, turn in tried[:24]:
        start = np.array([*place, turn])
        for size in (0.2 * radius, 0.02 * radius):
            simplex = np.array([start, *(start + np.diag([size, size, size / radius]))])
            options = {"initial_simplex": simplex, "xatol": 1e-7, "fatol": 1e-8, "maxiter": 4000}
            found = minimize(lambda x: -half(x), start, method="Nelder-Mead", options=options)
            start = found.x
        best = max(best, half(start))
    return 2.0 * best
