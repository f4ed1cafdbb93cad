"""Blank, mesh and exact solid against gmsh, which needs system libraries that the other libraries do not."""

import json
import math
from collections import Counter
from pathlib import Path

import gmsh
import numpy as np
from blank_checks import LAYERS
from part_files import PRINTED, Cut, PartFiles
from solid_checks import chord_losses, moved_by_rounding
from tally import Tally


def start() -> None:
    """Starts gmsh, silent but for errors; once a run."""
    gmsh.initialize(["foldwright", "-v", "1"], readConfigFiles=False)


def check_with_gmsh(part: PartFiles, tally: Tally) -> None:
    """Checks one part."""
    if all(cut.layer in LAYERS for cut in part.cuts):
        _blank_area(part, tally)
    _mesh(part, tally)
    check_exact_solid(part.case, part.folder, tally)


def check_exact_solid(case: str, folder: Path, tally: Tally) -> None:
    """folded.step in gmsh's geometry kernel: one closed solid with the report's figures."""
    report = json.loads((folder / "report.json").read_text(encoding="utf-8"))
    gmsh.clear()
    # What is written is judged, not what a repair makes of it.
    gmsh.option.setNumber("Geometry.OCCAutoFix", 0)
    occ = gmsh.model.occ
    try:
        read = occ.importShapes(str(folder / "folded.step"), highestDimOnly=False)
        occ.synchronize()
    except Exception as problem:  # gmsh has no error type of its own.
        tally.none("folded.step is one closed solid", "gmsh", case, [f"not read: {problem}"])
        return
    bodies, faces = gmsh.model.getEntities(3), gmsh.model.getEntities(2)
    found = [] if len(bodies) == 1 and len(read) > 0 else [f"{len(bodies)} solids"]
    if bodies:
        # Every edge between two faces, and every face part of the one body.
        beside = Counter(abs(edge) for face in faces for _, edge in gmsh.model.getBoundary([face], oriented=False))
        found += [f"edge {edge} is between {count} faces" for edge, count in beside.items() if count != 2]
        skin = {abs(tag) for _, tag in gmsh.model.getBoundary(bodies, oriented=False)}
        found += [f"face {tag} is of no solid" for _, tag in faces if tag not in skin]
    tally.none("folded.step is one closed solid", "gmsh", case, found)
    folded, solid = report["folded"], report["solid"]
    # The report is printed to PRINTED; gmsh's integration over these surfaces is good to twelve digits or so.
    for kind, dimension, key, unit in (
        ("volume of folded.step", 3, "volume_mm3", "mm³"),
        ("surface of folded.step", 2, "surface_area_mm2", "mm²"),
    ):
        got = sum(occ.getMass(dimension, tag) for _, tag in gmsh.model.getEntities(dimension))
        tally.check(kind, "gmsh", case, abs(got - folded[key]), PRINTED + 1e-9 * folded[key], unit)
    names = {
        "Plane": "planes",
        "Cylinder": "cylinders",
        "Cone": "cones",
        "Torus": "tori",
        "BSpline surface": "splines",
    }
    counted = Counter(names.get(gmsh.model.getType(*face), gmsh.model.getType(*face)) for face in faces)
    wrong = [f"{counted[name]} {name}, not {count}" for name, count in solid["faces"].items() if counted[name] != count]
    wrong += [f"{count} of kind {name}" for name, count in counted.items() if name not in solid["faces"]]
    tally.none("faces of folded.step by kind", "gmsh", case, wrong)
    counts = [len(gmsh.model.getEntities(dimension)) for dimension in (0, 1)]
    deviation = sum(abs(a - solid[key]) for a, key in zip(counts, ("vertices", "edges")))
    tally.check("vertices and edges of folded.step", "gmsh", case, deviation, 0, "")


def _blank_area(part: PartFiles, tally: Tally) -> None:
    """Area of the exact figures of lines and arcs in gmsh's geometry kernel: the outline less the holes."""
    gmsh.clear()
    areas = {"CUT_OUTER": 0.0, "CUT_INNER": 0.0}
    for cut in part.cuts:
        areas[cut.layer] += _face_area(cut)
    deviation = abs(areas["CUT_OUTER"] - areas["CUT_INNER"] - part.report["blank"]["area_mm2"])
    # Gauss integration there is good to 1e-9 of the area it runs over, outline and holes each.
    bound = PRINTED + 1e-9 * sum(areas.values())
    tally.check("blank area as figures of lines and arcs", "gmsh", part.case, deviation, bound, "mm²")


def _face_area(cut: Cut) -> float:
    """Area of one contour; NaN if gmsh makes no face of it."""
    occ = gmsh.model.occ
    # Every arc is cut into quarters, so that start, centre and end say which way it goes.
    pieces = []
    for curve in cut.curves:
        count = max(1, math.ceil(abs(curve.sweep) / (0.5 * math.pi) - 1e-9))
        pieces += [(curve, i / count) for i in range(count)]
    corners = [occ.addPoint(*curve.point(share), 0.0) for curve, share in pieces]
    lines = []
    for (curve, _), a, b in zip(pieces, corners, corners[1:] + corners[:1]):
        if curve.bulge:
            lines.append(occ.addCircleArc(a, occ.addPoint(*curve.centre, 0.0), b))
        else:
            lines.append(occ.addLine(a, b))
    try:
        return abs(occ.getMass(2, occ.addPlaneSurface([occ.addCurveLoop(lines)])))
    except Exception:  # gmsh has no error type of its own.
        return math.nan


def _mesh(part: PartFiles, tally: Tally) -> None:
    """A second reader of the STL: every edge between two triangles, and the volume by its own nodes."""
    gmsh.clear()
    gmsh.merge(str(part.folder / "folded.stl"))
    tags, coordinates, _ = gmsh.model.mesh.getNodes()
    _, nodes = gmsh.model.mesh.getElementsByType(2)
    place = np.zeros(int(tags.max()) + 1, dtype=int)
    place[tags.astype(int)] = np.arange(len(tags))
    faces = place[nodes.astype(int)].reshape(-1, 3)
    points = coordinates.reshape(-1, 3)
    edges = np.sort(np.concatenate([faces[:, [0, 1]], faces[:, [1, 2]], faces[:, [2, 0]]]), axis=1)
    _, uses = np.unique(edges, axis=0, return_counts=True)
    tally.check("every edge is between two triangles", "gmsh", part.case, int((uses != 2).sum()), 0, "edges")
    a, b, c = (points[faces[:, i]] - points[0] for i in range(3))
    volume = float(np.einsum("ij,ij->i", a, np.cross(b, c)).sum() / 6.0)
    folded = part.report["folded"]
    bound = chord_losses(part)[0] + moved_by_rounding(part) * folded["surface_area_mm2"] + PRINTED
    deviation = abs(volume - folded["volume_mm3"])
    tally.check("mesh volume by a second reader", "gmsh", part.case, deviation, bound, "mm³")
