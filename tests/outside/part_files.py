"""One made part, as read from its files.

Job: read report, bend table, history and drawing once for all checks. Invariant: nothing is worked out here
that a check is about; figures are as printed.
"""

import csv
import json
import math
from dataclasses import dataclass
from pathlib import Path

import ezdxf
from ezdxf.math import bulge_to_arc

# Figures in report.json and bends.csv are rounded to six places, so each is off by at most half of one.
PRINTED = 0.5e-6
# Coordinates in blank.dxf are rounded to ten places.
DXF_PRINTED = 0.5e-10
# Largest distance between a true curve and its chords in the meshes, in mm; docs: `CHORD_MM` in
# kernel/src/quantity/tolerance.rs.
CHORD = 0.05
# Half of the gap between neighbouring single-precision numbers, as a share of the number.
SINGLE = 2.0**-24


@dataclass
class Curve:
    """One piece of a cut: a line (`radius` is infinite) or an arc, from `start` to `end`."""

    start: tuple[float, float]
    end: tuple[float, float]
    bulge: float

    @property
    def chord(self) -> float:
        return math.dist(self.start, self.end)

    @property
    def sweep(self) -> float:
        """Turn from start to end in rad, positive to the left; 0 for a line."""
        return 4.0 * math.atan(self.bulge)

    @property
    def radius(self) -> float:
        return self.chord / (2.0 * abs(math.sin(self.sweep / 2.0))) if self.bulge else math.inf

    @property
    def length(self) -> float:
        return self.radius * abs(self.sweep) if self.bulge else self.chord

    @property
    def area_beside_chord(self) -> float:
        """Signed area between arc and chord: r²(φ − sin φ)/2, positive when it swings to the right."""
        if not self.bulge:
            return 0.0
        return 0.5 * self.radius**2 * (self.sweep - math.sin(self.sweep))

    @property
    def centre(self) -> tuple[float, float]:
        centre, _, _, _ = bulge_to_arc(self.start, self.end, self.bulge)
        return centre.x, centre.y

    def point(self, share: float) -> tuple[float, float]:
        """The point at this share of the way."""
        if not self.bulge:
            return tuple(a + share * (b - a) for a, b in zip(self.start, self.end))
        (x, y), turn = self.centre, share * self.sweep
        dx, dy = self.start[0] - x, self.start[1] - y
        cos, sin = math.cos(turn), math.sin(turn)
        return x + dx * cos - dy * sin, y + dx * sin + dy * cos


@dataclass
class Cut:
    """A closed cut of the blank."""

    layer: str
    is_circle: bool
    curves: list[Curve]

    @property
    def area(self) -> float:
        """Area inside, by the shoelace formula and the segments of circles beside the chords."""
        x0, y0 = self.curves[0].start
        corners = sum(
            0.5 * ((c.start[0] - x0) * (c.end[1] - y0) - (c.end[0] - x0) * (c.start[1] - y0))
            for c in self.curves
        )
        return abs(corners + sum(c.area_beside_chord for c in self.curves))


@dataclass
class PartFiles:
    """Files and figures of one part."""

    case: str
    script: str
    folder: Path
    report: dict
    bends: list[dict]
    drawing: ezdxf.document.Drawing
    cuts: list[Cut]

    @property
    def thickness(self) -> float:
        return self.report["sheet"]["thickness_mm"]

    @property
    def curved_cut_length(self) -> float:
        return sum(c.length for cut in self.cuts for c in cut.curves if c.bulge)


def read_part(case: str, script: str, folder: Path) -> PartFiles:
    """Reads the files of a part that was made into `folder`."""
    report = json.loads((folder / "report.json").read_text(encoding="utf-8"))
    with (folder / "bends.csv").open(encoding="utf-8", newline="") as table:
        bends = [_numbers(row) for row in csv.DictReader(table)]
    drawing = ezdxf.readfile(folder / "blank.dxf")
    cuts = []
    for entity in drawing.modelspace():
        if entity.dxf.layer.startswith("FORM_"):
            # A mark of a bump, which is not cut.
            continue
        if entity.dxftype() == "LWPOLYLINE":
            points = list(entity.get_points("xyb"))
            following = points[1:] + points[:1]
            curves = [Curve((x, y), (p[0], p[1]), bulge) for (x, y, bulge), p in zip(points, following)]
            cuts.append(Cut(entity.dxf.layer, False, curves))
        elif entity.dxftype() == "CIRCLE":
            (x, y, _), r = entity.dxf.center, entity.dxf.radius
            halves = [Curve((x + r, y), (x - r, y), 1.0), Curve((x - r, y), (x + r, y), 1.0)]
            cuts.append(Cut(entity.dxf.layer, True, halves))
    return PartFiles(case, script, folder, report, bends, drawing, cuts)


def _numbers(row: dict[str, str]) -> dict:
    words = {"name", "direction", "punch", "die"}
    return {k: v if k in words else (float(v) if v else None) for k, v in row.items()}
