"""Times a general solid modeller, gmsh's built-in one driven from Python, on the five-panel cover with 12 holes.

The same part as the bench `five_panel_cover_solid_and_step`: `five_panel_cover` in kernel/benches/parts.rs, with the sizes
that its dimensions settle to. Boxes for panels, sectors of tubes for bends, one fusion, one cut with twelve
cylinders, and the STEP file; the volume is checked against the kernel's formula before any time counts.
Usage: `python tests/outside/general_modeller.py [MICROSECONDS OF OURS]`.
"""

import math
import statistics
import sys
import tempfile
import time
from pathlib import Path

import gmsh

THICKNESS, RADIUS = 1.5, 2.0
# Clear inside lengths are held; the flat of the face lies between the bend starts.
CLEAR = (310.0, 190.0)
HEIGHT = 60.0
# Drawn edges are the outer faces of the walls, so that holes count from there.
FIRST, PITCH, COLUMNS, ROWS, HOLE = (60.0, 50.0), (60.0, 40.0), 4, 3, 9.0
# Walls keep a gap of 1 mm at corners, which runs at 45 degrees; this is how far they reach beyond their bends.
BEYOND = RADIUS - math.sqrt(0.5)
RUNS = 9


def build() -> float:
    """Builds the cover; returns its volume in mm³."""
    occ = gmsh.model.occ
    t, r = THICKNESS, RADIUS
    length, width = (clear + 2.0 * t for clear in CLEAR)
    flat = length - 2.0 * (r + t), width - 2.0 * (r + t)
    parts = [(3, occ.addBox(r + t, r + t, -t, flat[0], flat[1], t))]
    for side in range(4):
        along = flat[side % 2]
        bend = occ.addCylinder(0, 0, r, along, 0, 0, r + t, angle=0.5 * math.pi)
        bore = occ.addCylinder(0, 0, r, along, 0, 0, r, angle=0.5 * math.pi)
        sector, _ = occ.cut([(3, bend)], [(3, bore)])
        # The sector of 90 degrees lies about the x axis; it is turned until it goes on from the face.
        occ.rotate(sector, 0, 0, r, 1, 0, 0, 0.5 * math.pi)
        wall = [(3, occ.addBox(-BEYOND, -r - t, r, along + 2.0 * BEYOND, t, HEIGHT - r - t))]
        piece = sector + wall
        centre = 0.5 * length, 0.5 * width
        occ.translate(piece, -0.5 * along, -0.5 * flat[(side + 1) % 2], 0)
        occ.rotate(piece, 0, 0, 0, 0, 0, 1, side * 0.5 * math.pi)
        occ.translate(piece, *centre, 0)
        parts += piece
    body, _ = occ.fuse(parts[:1], parts[1:])
    drills = []
    for column in range(COLUMNS):
        for row in range(ROWS):
            x, y = FIRST[0] + column * PITCH[0], FIRST[1] + row * PITCH[1]
            drills.append((3, occ.addCylinder(x, y, -2.0 * t, 0, 0, 4.0 * t, 0.5 * HOLE)))
    body, _ = occ.cut(body, drills)
    occ.synchronize()
    if len(body) != 1:
        raise SystemExit(f"the modeller made {len(body)} bodies")
    return occ.getMass(*body[0])


def expected() -> float:
    """The same volume by formula."""
    t, r = THICKNESS, RADIUS
    flat = [clear + 2.0 * t - 2.0 * (r + t) for clear in CLEAR]
    bends = 2.0 * sum(flat) * 0.25 * math.pi * ((r + t) ** 2 - r**2)
    walls = (2.0 * sum(flat) + 8.0 * BEYOND) * (HEIGHT - r - t) * t
    return flat[0] * flat[1] * t + bends + walls - COLUMNS * ROWS * 0.25 * math.pi * HOLE**2 * t


def main() -> None:
    gmsh.initialize(["foldwright", "-v", "0"], readConfigFiles=False)
    times = []
    with tempfile.TemporaryDirectory() as folder:
        for _ in range(RUNS):
            gmsh.clear()
            start = time.perf_counter()
            volume = build()
            gmsh.write(str(Path(folder) / "cover.step"))
            times.append(1e6 * (time.perf_counter() - start))
            if abs(volume / expected() - 1.0) > 1e-9:
                raise SystemExit(f"the modeller's volume is {volume}, by formula {expected()}")
    median = statistics.median(times)
    print(f"general modeller: {median:.0f} µs (median of {RUNS}), volume {volume:.6f} mm³")
    if len(sys.argv) > 1:
        print(f"ours: {float(sys.argv[1]):.0f} µs; ratio {median / float(sys.argv[1]):.0f}")


if __name__ == "__main__":
    main()
