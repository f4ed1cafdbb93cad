"""The folded part, as written to folded.stl and folded.glb, against trimesh and scipy."""

import math

import numpy as np
import trimesh
from part_files import CHORD, PRINTED, SINGLE, PartFiles
from scipy.spatial import cKDTree
from tally import Tally

# An arc is never cut into chords of more than this many radians (30°), however small it is.
COARSEST = math.radians(30.0)


def check_solid(part: PartFiles, tally: Tally) -> None:
    """Checks the meshes of one part."""
    stl = _joined(trimesh.load_mesh(part.folder / "folded.stl", process=False))
    glb = _millimetres(trimesh.load_scene(part.folder / "folded.glb", process=False))
    for name, mesh in (("stl", stl), ("glb", glb)):
        case = f"{part.case}, {name}"
        faults = []
        if not mesh.is_watertight:
            faults.append("not watertight")
        if not mesh.is_winding_consistent:
            faults.append("winding not consistent")
        if not mesh.is_volume:
            faults.append("not a volume that is wound outwards")
        tally.none("mesh is watertight and wound outwards", "trimesh", case, faults)
        tally.check("mesh is one body", "trimesh", case, abs(mesh.body_count - 1), 0, "bodies")
        _figures(part, mesh, case, tally)
    _same(part, stl, glb, tally)


def _joined(mesh: trimesh.Trimesh) -> trimesh.Trimesh:
    """The mesh with vertices joined that have the same bits, and no others."""
    vertices, back = np.unique(mesh.vertices.astype(np.float32), axis=0, return_inverse=True)
    return trimesh.Trimesh(vertices.astype(float), back.reshape(-1)[mesh.faces], process=False)


def _millimetres(scene: trimesh.Scene) -> trimesh.Trimesh:
    """The scene as one mesh in mm with z up: the format has metres and y up."""
    mesh = _joined(scene.to_mesh())
    x, y, z = mesh.vertices.T
    return trimesh.Trimesh(1000.0 * np.column_stack([x, -z, y]), mesh.faces, process=False)


def _rounding(part: PartFiles) -> float:
    """How far single precision may move a coordinate, in mm; a file in metres rounds the same share."""
    return SINGLE * max(abs(x) for corner in part.report["folded"]["bbox_mm"] for x in corner)


def _chord_turn(radius: float) -> float:
    """Largest turn of a chord within CHORD of an arc of this radius."""
    return min(COARSEST, 2.0 * math.acos(1.0 - min(CHORD / radius, 1.0))) if radius > 0.0 else COARSEST


def chord_losses(part: PartFiles) -> tuple[float, float]:
    """Most that chords may take from or add to the volume (mm³) and the surface (mm²)."""
    t = part.thickness
    # A chord of turn δ misses 1 − sin δ / δ ≤ δ²/6 of its sector; a bend is the difference of two sectors cut
    # the same way, by steps fit for its outer radius. A cut arc of radius ρ in a panel misses the area
    # between arc and chords, ρ² (δ − sin δ) / 2 ≤ ρ² δ³ / 12 a chord.
    volume = surface = 0.0
    for bend in part.bends:
        a, r, length = math.radians(bend["turn_deg"]), bend["inside_radius_mm"], bend["length_mm"]
        share = _chord_turn(r + t) ** 2 / 6.0
        sector = 0.5 * a * ((r + t) ** 2 - r**2)
        volume += share * length * sector
        # A face of chords is narrower by 1 − sin(δ/2)/(δ/2) ≤ δ²/24; the two cut ends are sectors.
        surface += share / 4.0 * length * a * (2.0 * r + t) + share * 2.0 * sector
    for cut in part.cuts:
        for curve in cut.curves:
            if curve.bulge:
                delta = _chord_turn(curve.radius)
                beside = curve.radius * curve.length * delta**2 / 12.0
                volume += beside * t
                surface += 2.0 * beside + curve.length * t * delta**2 / 24.0
    for bump in part.report["bumps"]:
        # Its curved faces lie between foot and top and up the wall, once inside and once outside. Chords
        # lie beside them by 2/3 of their sagitta on average, along and across a face that curves both ways.
        (w, d), (v, e) = bump["foot_mm"], bump["top_mm"]
        curved = 2.0 * (w * d - v * e + 2.0 * (w + d) * (bump["height_mm"] + t))
        volume += 4.0 / 3.0 * CHORD * curved
        sharpest = max(min(bump["punch_radius_mm"], bump["die_radius_mm"]), CHORD)
        surface += 2.0 * _chord_turn(sharpest) ** 2 / 24.0 * curved
    return volume, surface


def moved_by_rounding(part: PartFiles) -> float:
    """How far single precision may move a vertex, in mm."""
    return math.sqrt(3.0) * _rounding(part)


def _figures(part: PartFiles, mesh: trimesh.Trimesh, case: str, tally: Tally) -> None:
    folded = part.report["folded"]
    moved = moved_by_rounding(part)
    volume, surface = chord_losses(part)
    # Single precision moves every face by at most `moved`.
    bound = volume + moved * folded["surface_area_mm2"] + PRINTED
    deviation = abs(mesh.volume - folded["volume_mm3"])
    tally.check("mesh volume against the report", "trimesh", case, deviation, bound, "mm³")
    # An edge of a triangle changes by at most twice `moved`, its area by half of that times its girth.
    girth = mesh.edges_unique_length[mesh.faces_unique_edges].sum()
    bound = surface + moved * girth + PRINTED
    deviation = abs(mesh.area - folded["surface_area_mm2"])
    tally.check("mesh surface against the report", "trimesh", case, deviation, bound, "mm²")
    (low, high), (lowest, highest) = mesh.bounds, np.array(folded["bbox_mm"])
    within = np.concatenate([low - lowest, highest - high])
    # The box is that of the true surfaces: chords lie within it, by at most their tolerance, twice that where a
    # face curves both ways. The file in metres rounds twice: the metre and the product that brings it back.
    rounding = 2.0 * _rounding(part) + PRINTED
    deviation = float(max(-within.min(), within.max() - 2.0 * CHORD))
    tally.check("mesh extents against the report", "trimesh", case, max(deviation, 0.0), rounding, "mm")


def _same(part: PartFiles, stl: trimesh.Trimesh, glb: trimesh.Trimesh, tally: Tally) -> None:
    """Both files hold the same body: units, axes, triangles."""
    moved = 2.0 * moved_by_rounding(part)
    count = abs(len(stl.faces) - len(glb.faces))
    tally.check("stl and glb have the same triangles", "trimesh", part.case, count, 0, "triangles")
    apart = max(cKDTree(a.vertices).query(b.vertices)[0].max() for a, b in ((stl, glb), (glb, stl)))
    tally.check("stl and glb vertices coincide", "scipy", part.case, float(apart), 2.0 * moved, "mm")
    bound = 2.0 * moved * part.report["folded"]["surface_area_mm2"]
    tally.check("stl and glb volumes agree", "trimesh", part.case, abs(stl.volume - glb.volume), bound, "mm³")
