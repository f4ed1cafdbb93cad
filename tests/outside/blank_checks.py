"""The blank, as drawn in blank.dxf, against ezdxf and shapely."""

import math

from ezdxf import bbox
from part_files import DXF_PRINTED, PRINTED, Cut, PartFiles
from shapely import LineString, Point, Polygon, STRtree
from tally import Tally

CUT_LAYERS = {"CUT_OUTER", "CUT_INNER"}
FOLD_LAYERS = {"FOLD_UP", "FOLD_DOWN"}
# Outlines of bumps, as marks: there only if there are bumps.
MARK_LAYERS = {"FORM_UP", "FORM_DOWN"}
# Places in the bend order, as writing.
ORDER_LAYERS = {"BEND_ORDER"}
LAYERS = CUT_LAYERS | FOLD_LAYERS | ORDER_LAYERS
# Arcs are cut into chords this near to them for shapely, in mm. Contours of sheet that could be cut are much
# further apart (a laser's kerf is about 0.1 mm), so that chords this fine cannot hide a crossing or make one.
FLAT = 1e-4
# Points nearer than this are one point to the kernel, in mm: `SNAP_MM` in kernel/src/quantity/tolerance.rs.
SNAP = 1e-7


def check_blank(part: PartFiles, expected: dict, tally: Tally) -> None:
    """Checks one drawing."""
    if not _drawing(part, tally):
        return
    _curves(part, expected, tally)
    _figures(part, tally)
    polygon = _arrangement(part, tally)
    if polygon is not None:
        _folds(part, polygon, bool(expected.get("bends_cut_slantwise")), tally)


def _drawing(part: PartFiles, tally: Tally) -> bool:
    """The file itself; says whether its layers are known, without which there is nothing to compare."""
    audit = part.drawing.audit()
    found = [e.message for e in audit.errors + audit.fixes]
    tally.none("drawing passes a strict audit", "ezdxf", part.case, found)
    units = part.drawing.header["$INSUNITS"]
    tally.check("drawing is in millimetres ($INSUNITS 4)", "ezdxf", part.case, abs(units - 4), 0, "")
    wrong = []
    for entity in part.drawing.modelspace():
        kind, layer = entity.dxftype(), entity.dxf.layer
        outline = kind in ("LWPOLYLINE", "CIRCLE")
        written = (layer in FOLD_LAYERS and kind == "LINE") or (layer in ORDER_LAYERS and kind == "TEXT")
        if not (layer in CUT_LAYERS | MARK_LAYERS if outline else written):
            wrong.append(f"{kind} on {layer}")
    missing = [f"no layer {name}" for name in LAYERS if not part.drawing.layers.has_entry(name)]
    tally.none("entities are on the documented layers", "ezdxf", part.case, wrong + missing)
    polylines = part.drawing.modelspace().query("LWPOLYLINE")
    opened = [f"open polyline on {p.dxf.layer}" for p in polylines if not p.closed]
    # A polyline that repeats its first point closes with a piece without length, a fault at the machine.
    dots = [f"piece without length on {c.layer}" for c in part.cuts for s in c.curves if s.chord <= SNAP]
    tally.none("every polyline is closed, without dots", "ezdxf", part.case, opened + dots)
    return not wrong


def _curves(part: PartFiles, expected: dict, tally: Tally) -> None:
    """True arcs and circles: those that the script asked for, and no others."""
    found = {
        "circles": [2.0 * cut.curves[0].radius for cut in part.cuts if cut.is_circle],
        "arcs": [c.radius for cut in part.cuts if not cut.is_circle for c in cut.curves if c.bulge],
    }
    for kind in ("circles", "arcs"):
        if kind not in expected:
            continue
        wanted = sorted(size for size, count in expected[kind] for _ in range(count))
        got = sorted(found[kind])
        # Radius from chord and bulge: both ends are rounded, and points within a snap are joined.
        worst = max((abs(a - b) for a, b in zip(wanted, got)), default=0.0)
        worst = worst if len(wanted) == len(got) else math.inf
        tally.check(f"{kind} of the script are true {kind}", "ezdxf", part.case, worst, SNAP, "mm")


def _figures(part: PartFiles, tally: Tally) -> None:
    """Area, cut length, pierces and extents of the report, by formula from the drawing's own numbers."""
    blank = part.report["blank"]
    area = sum(c.area if c.layer == "CUT_OUTER" else -c.area for c in part.cuts)
    # Both coordinates of each end of a piece may be off by the rounding of the drawing, which moves the
    # contour by at most √2 times that; double precision adds 1e-15 of the area of the extents a piece.
    moved = math.sqrt(2.0) * DXF_PRINTED * blank["cut_length_mm"]
    pieces = sum(len(c.curves) for c in part.cuts)
    rounding = pieces * 1e-15 * blank["length_mm"] * blank["width_mm"]
    bound = PRINTED + moved + rounding
    deviation = abs(area - blank["area_mm2"])
    tally.check("blank area by formula from the drawing", "ezdxf", part.case, deviation, bound, "mm²")
    length = sum(s.length for c in part.cuts for s in c.curves)
    # Each piece changes by at most its two rounded ends; an arc is π/2 of its chord at most, twice over for
    # more than a half circle, which the drawing splits.
    bound = PRINTED + pieces * math.pi * math.sqrt(2.0) * 2.0 * DXF_PRINTED
    deviation = abs(length - blank["cut_length_mm"])
    tally.check("cut length by formula from the drawing", "ezdxf", part.case, deviation, bound, "mm")
    pierces = abs(len(part.cuts) - blank["pierces"])
    tally.check("pierces are the closed cuts of the drawing", "ezdxf", part.case, pierces, 0, "cuts")
    extents = bbox.extents(part.drawing.modelspace().query("LWPOLYLINE CIRCLE"), fast=False)
    # ezdxf takes arcs by Bézier curves cut into chords, within this share of their radius (measured 2.8e-4)
    # plus its default sagitta of 0.01 mm; drawings without arcs on the outline get the rounding only.
    outer = [s.radius for c in part.cuts if c.layer == "CUT_OUTER" for s in c.curves if s.bulge]
    bound = PRINTED + 2.0 * DXF_PRINTED + (0.02 + 6e-4 * max(outer) if outer else 0.0)
    for size, key in ((extents.size.x, "length_mm"), (extents.size.y, "width_mm")):
        deviation = abs(size - blank[key])
        tally.check("blank extents", "ezdxf", part.case, deviation, bound, "mm")


def _ring(cut: Cut) -> list[tuple[float, float]]:
    """The cut as points, arcs by chords within FLAT."""
    points = []
    for curve in cut.curves:
        count = 1
        if curve.bulge:
            # Half the angle of a chord with this sagitta.
            half = math.acos(1.0 - min(FLAT / curve.radius, 1.0))
            count = max(2, math.ceil(abs(curve.sweep) / (2.0 * half)))
        points += [curve.point(i / count) for i in range(count)]
    return points


def _arrangement(part: PartFiles, tally: Tally) -> Polygon | None:
    """Contours keep apart, holes lie inside; returns the blank as a polygon."""
    outer = [Polygon(_ring(c)) for c in part.cuts if c.layer == "CUT_OUTER"]
    inner = [Polygon(_ring(c)) for c in part.cuts if c.layer == "CUT_INNER"]
    tally.check("blank is one piece", "shapely", part.case, abs(len(outer) - 1), 0, "outlines")
    if len(outer) != 1:
        return None
    crossed = [f"contour {i} crosses itself" for i, p in enumerate(outer + inner) if not p.is_valid]
    rings = [p.exterior for p in outer + inner]
    pairs = STRtree(rings).query(rings, predicate="intersects").T
    crossed += [f"contours {a} and {b} touch" for a, b in pairs if a < b]
    tally.none("no contour touches another or itself", "shapely", part.case, crossed)
    outside = [f"hole {i} is not inside" for i, hole in enumerate(inner) if not outer[0].contains(hole)]
    pairs = STRtree(inner).query(inner, predicate="intersects").T if inner else []
    outside += [f"hole {a} overlaps hole {b}" for a, b in pairs if a < b]
    tally.none("holes are inside the outline and apart", "shapely", part.case, outside)
    polygon = Polygon(outer[0].exterior, [p.exterior for p in inner])
    blank = part.report["blank"]
    # The area between an arc and its chords is at most 2/3 of sagitta times arc length.
    bound = PRINTED + 2.0 / 3.0 * FLAT * part.curved_cut_length + 1e-12 * polygon.envelope.area
    deviation = abs(polygon.area - blank["area_mm2"])
    tally.check("blank area by fine polygons", "shapely", part.case, deviation, bound, "mm²")
    x0, y0, x1, y1 = polygon.bounds
    # Each end of an extent may lie on an arc, whose chords stay inside it by FLAT.
    bound = PRINTED + 2.0 * DXF_PRINTED + (2.0 * FLAT if part.curved_cut_length else 0.0)
    for size, key in ((x1 - x0, "length_mm"), (y1 - y0, "width_mm")):
        tally.check(
            "blank extents by fine polygons", "shapely", part.case, abs(size - blank[key]), bound, "mm"
        )
    return polygon


def _mark(bend: dict) -> str:
    """What stands at a bend line: its number, or its name where there is no order."""
    return bend["name"] if bend["order"] is None else f"{bend['order']:.0f}"


def _folds(part: PartFiles, polygon: Polygon, slantwise: bool, tally: Tally) -> None:
    """Bend lines: those of the table, from cut edge to cut edge, over metal all the way."""
    lines = {
        (tuple(e.dxf.start)[:2], tuple(e.dxf.end)[:2], e.dxf.layer)
        for e in part.drawing.modelspace().query("LINE")
    }
    tally.check(
        "as many bend lines as bends", "ezdxf", part.case, abs(len(lines) - len(part.bends)), 0, "lines"
    )
    # A number (where there is no order, a name) stands over the middle of its bend line, no higher than 5 mm.
    numbers = [(e.dxf.text, tuple(e.dxf.align_point)[:2]) for e in part.drawing.modelspace().query("TEXT")]
    wanted = [(_mark(bend), _middle(bend)) for bend in part.bends]
    astray = [
        f"no {order} at {middle}"
        for order, middle in wanted
        if not any(order == number and math.dist(middle, at) < 2.0 for number, at in numbers)
    ]
    if len(numbers) != len(wanted):
        astray.append(f"{len(numbers)} numbers for {len(wanted)} bends")
    tally.none("numbers on the drawing are those of bends.csv", "ezdxf", part.case, astray)
    outer = polygon.exterior
    for bend in part.bends:
        case = f"{part.case}, {bend['name']}"
        ends = (bend["x1_mm"], bend["y1_mm"]), (bend["x2_mm"], bend["y2_mm"])
        layer = {"up": "FOLD_UP", "down": "FOLD_DOWN"}[bend["direction"]]
        same = [max(math.dist(a, ends[0]), math.dist(b, ends[1])) for a, b, on in lines if on == layer]
        # Table and drawing round both coordinates of an end.
        bound = math.sqrt(2.0) * (PRINTED + DXF_PRINTED)
        deviation = min(same, default=math.inf)
        tally.check("bend lines are those of bends.csv", "ezdxf", case, deviation, bound, "mm")
        # Each end is rounded along the line too. Slantwise, the middle of a bend is shorter than all of it.
        deviation = math.dist(*ends) - bend["length_mm"]
        deviation = max(deviation, 0.0) if slantwise else abs(deviation)
        bound = 2.0 * math.sqrt(2.0) * PRINTED + PRINTED
        tally.check("bend lines are as long as bends.csv says", "ezdxf", case, deviation, bound, "mm")
        # The ends lie on the cut edges beside the bend, which are straight there unless they are cut slantwise.
        bound = math.sqrt(2.0) * PRINTED + SNAP + (FLAT if slantwise else 0.0)
        deviation = max(outer.distance(Point(end)) for end in ends)
        tally.check("bend lines end on the outline", "shapely", case, deviation, bound, "mm")
        off = LineString(ends).difference(polygon)
        deviation = max((polygon.distance(Point(p)) for g in _parts(off) for p in g.coords), default=0.0)
        deviation = max(deviation, off.length if off.length > 2.0 * bound else 0.0)
        tally.check("bend lines run over metal", "shapely", case, deviation, bound, "mm")


def _parts(shape):
    return [g for g in getattr(shape, "geoms", [shape]) if not g.is_empty]


def _middle(bend: dict) -> tuple[float, float]:
    return 0.5 * (bend["x1_mm"] + bend["x2_mm"]), 0.5 * (bend["y1_mm"] + bend["y2_mm"])
