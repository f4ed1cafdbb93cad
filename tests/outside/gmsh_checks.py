"""Blank and mesh against gmsh, which needs system libraries that the other libraries do not."""

import math

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
