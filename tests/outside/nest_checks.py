"""Blanks on the stock sheet against shapely, and the price against sums worked out anew."""

import math

from blank_checks import FLAT, _ring
from part_files import PRINTED, PartFiles
from shapely import Polygon, box
from shapely.affinity import rotate, translate
from tally import Tally


def check_nest(part: PartFiles, tally: Tally) -> None:
    """Checks one report; parts without stock sheet or rates have nothing to check."""
    if part.report["nesting"] is not None:
        _places(part, tally)
    if part.report["cost"] is not None:
        _price(part, tally)


def _places(part: PartFiles, tally: Tally) -> None:
    """Every blank lies within the margins, and no two come nearer than the gap."""
    nesting = part.report["nesting"]
    outline = next(Polygon(_ring(c)) for c in part.cuts if c.layer == "CUT_OUTER")
    placed = [
        translate(rotate(outline, b["turn_deg"], origin=(0, 0)), *b["at_mm"]) for b in nesting["blanks"]
    ]
    tally.check("blanks on the sheet are counted", "own", part.case, abs(len(placed) - nesting["count"]), 0, "blanks")
    margin, gap = nesting["margin_mm"], nesting["gap_mm"]
    inner = box(margin, margin, nesting["width_mm"] - margin, nesting["height_mm"] - margin)
    # Chords lie within FLAT of arcs, and each place is printed rounded.
    off = FLAT + 2.0 * PRINTED
    beyond = max((p.difference(inner).area / p.length for p in placed), default=0.0)
    tally.check("blanks lie within the margins", "shapely", part.case, beyond, off, "mm")
    pairs = [(a, b) for i, a in enumerate(placed) for b in placed[i + 1 :]]
    nearest = min((a.distance(b) for a, b in pairs), default=math.inf)
    missing = max(0.0, gap - nearest)
    tally.check("no two blanks are nearer than the gap", "shapely", part.case, missing, 2.0 * off, "mm")
    overlap = max((a.intersection(b).area for a, b in pairs), default=0.0)
    tally.check("no two blanks overlap", "shapely", part.case, overlap, 0, "mm²")
    fewer = max(0, nesting["count_of_rectangles"] - nesting["count"])
    tally.check("never fewer blanks than rectangles", "own", part.case, fewer, 0, "blanks")
    used = 100.0 * nesting["count"] * part.report["blank"]["area_mm2"]
    deviation = abs(used / (nesting["width_mm"] * nesting["height_mm"]) - nesting["use_percent"])
    tally.check("use of the sheet", "own formula", part.case, deviation, 2.0 * PRINTED, "%")


def _price(part: PartFiles, tally: Tally) -> None:
    """Lines are quantity times rate and add up; quantities are those of work and sheet."""
    report, cost, work = part.report, part.report["cost"], part.report["work"]
    lines = {line["what"]: line for line in cost["lines"]}
    found = [
        abs(line["quantity"] * line["rate"] - line["amount"])
        - PRINTED * (1.0 + line["quantity"] + line["rate"])
        for line in lines.values()
    ]
    tally.check("a line is quantity times rate", "own formula", part.case, max(0.0, *found), 0, "currency")
    deviation = abs(sum(line["amount"] for line in lines.values()) - cost["total"])
    tally.check(
        "lines add up to the price", "own formula", part.case, deviation, PRINTED * (len(lines) + 1), "currency"
    )
    kg_per_mm2 = report["mass_kg"] / report["blank"]["area_mm2"]
    if "sheet, share of the stock sheet" in lines:
        nesting = report["nesting"]
        wanted = kg_per_mm2 * nesting["width_mm"] * nesting["height_mm"] / nesting["count"]
        got = lines["sheet, share of the stock sheet"]["quantity"]
    else:
        wanted = kg_per_mm2 * report["blank"]["length_mm"] * report["blank"]["width_mm"]
        got = lines["sheet, rectangle around the blank"]["quantity"]
    # The mass is printed rounded, and so is the answer.
    bound = PRINTED * (2.0 + wanted / report["mass_kg"])
    tally.check("sheet that is charged", "own formula", part.case, abs(wanted - got), bound, "kg")
    pairs = [
        (lines["cut"]["quantity"], report["blank"]["cut_length_mm"] / 1000.0),
        (lines["pierces"]["quantity"], report["blank"]["pierces"]),
        (lines["bending strokes"]["quantity"], work["bending_strokes"]),
    ]
    deviation = max(abs(a - b) for a, b in pairs)
    tally.check("quantities are those of the blank", "own", part.case, deviation, 2.0 * PRINTED, "m or pieces")
