"""Figures of report.json and bends.csv against each other, their schema, and sums by hand."""

import json
import math

from jsonschema import Draft202012Validator
from part_files import PRINTED, PartFiles
from tally import Tally

# Keys that every report of this version must have, whatever the schema file says.
CONTRACT = {
    "family",
    "parameters",
    "sheet",
    "blank",
    "folded",
    "mass_kg",
    "degrees_of_freedom",
    "dimensions",
    "bends",
    "checks",
}
# How near a dimension is held, in mm and degrees: `HELD_MM`, `HELD_RAD` in kernel/src/quantity/tolerance.rs.
HELD = {"mm": 1e-6, "deg": math.degrees(1e-9)}


def check_figures(part: PartFiles, schema_text: str, entry: dict, tally: Tally) -> None:
    """Checks the figures of one part."""
    schema = json.loads(schema_text)
    Draft202012Validator.check_schema(schema)
    found = [f"{e.json_path}: {e.message}" for e in Draft202012Validator(schema).iter_errors(part.report)]
    found += [f"no key {key}" for key in CONTRACT - part.report.keys()]
    tally.none("report follows its schema", "jsonschema", part.case, found)
    if found:
        return
    _table(part, tally)
    _bends(part, tally)
    # Where a cut ends a bend slantwise the bend has no one length; other programs integrate the exact solid.
    if not entry.get("bends_cut_slantwise"):
        _volume(part, tally)
    _dimensions(part, tally)
    _blank_by_hand(part, tally)


def _setting(in_report: dict) -> dict:
    """The columns of the table that say how a bend is made; empty where no order works."""
    setting = in_report.get("setting")
    if not setting:
        numbers = ("die_opening_mm", "tool_length_mm", "gauge_mm", "turn_under_load_deg")
        forces = ("force_kn", "least_force_kn", "most_force_kn")
        return {"punch": "", "die": "", **dict.fromkeys(numbers + forces)}
    least, force, most = setting["force_kn"] or (None, None, None)
    others = ("gauge_at", "closed_after", "air_bend_radius_mm", "force_kn")
    shown = {key: value for key, value in setting.items() if key not in others}
    return {**shown, "force_kn": force, "least_force_kn": least, "most_force_kn": most}


def _table(part: PartFiles, tally: Tally) -> None:
    """report.json and bends.csv say the same."""
    found = []
    if len(part.report["bends"]) != len(part.bends):
        found.append("different numbers of bends")
    for in_report, in_table in zip(part.report["bends"], part.bends):
        (x1, y1), (x2, y2) = in_report["blank_line_mm"]
        flat = {**in_report, "x1_mm": x1, "y1_mm": y1, "x2_mm": x2, "y2_mm": y2, **_setting(in_report)}
        del flat["blank_line_mm"]
        flat.pop("setting", None)
        if flat != in_table:
            found.append(f"{in_report['name']} differs")
    wanted = list(range(1, len(part.bends) + 1))
    if part.report["bend_order"]["state"] in ("impossible", "not found"):
        wanted = [None] * len(part.bends)
    if [b["order"] for b in part.bends] != wanted:
        found.append(f"orders are not {wanted}")
    tally.none("bend table says what the report says", "own", part.case, found)


# An edge pressed flat is drawn 0.1 mm open, with its neutral fibre in the middle (common practice, no source).
PRESSED_FLAT_RADIUS = 0.05
PRESSED_FLAT_K = 0.5


def din_6935(ratio: float) -> float:
    """K as a share of the thickness: k = 0.65 + 0.5 lg(r/t) from 0 to 1, halved, since DIN counts half thicknesses."""
    return 0.5 * min(1.0, max(0.0, 0.65 + 0.5 * math.log10(ratio)))


def _bends(part: PartFiles, tally: Tally) -> None:
    """Each bend's allowance and deduction from its turn, radius and K."""
    t = part.thickness
    for bend in part.bends:
        case = f"{part.case}, {bend['name']}"
        a, r, k = math.radians(bend["turn_deg"]), bend["inside_radius_mm"], bend["k_factor"]
        # Turn (in degrees), radius and K are printed rounded, and so is the answer.
        printed = PRINTED * (1.0 + math.radians(1.0) * (r + k * t) + a * (1.0 + t))
        deviation = abs(a * (r + k * t) - bend["allowance_mm"])
        tally.check("bend allowance is a (r + K t)", "own formula", case, deviation, printed, "mm")
        if math.isclose(r, PRESSED_FLAT_RADIUS) and math.isclose(bend["turn_deg"], 180.0):
            deviation = abs(PRESSED_FLAT_K - k)
            tally.check("K of an edge pressed flat", "common practice", case, deviation, PRINTED, "")
        elif part.report["sheet"]["bend_rule"] == "DIN 6935":
            # K changes by 0.25 / ln 10 for each share that the printed radius and thickness are off.
            bound = PRINTED * (1.0 + 0.25 / math.log(10.0) * (1.0 / r + 1.0 / t))
            tally.check("K follows DIN 6935", "own formula", case, abs(din_6935(r / t) - k), bound, "")
        # Outside lengths run to the mould line up to 90 degrees, to the outer tangent above (DIN 6935).
        setback = (r + t) * (math.tan(0.5 * a) if bend["turn_deg"] <= 90.0 else 1.0)
        deviation = abs(2.0 * setback - bend["allowance_mm"] - bend["deduction_mm"])
        # The tangent doubles the rounding of the half angle at a right angle.
        bound = PRINTED * (2.0 + 2.0 + 2.0 * math.radians(1.0) * (r + t))
        tally.check(
            "bend deduction is two setbacks less the allowance",
            "own formula",
            case,
            deviation,
            bound,
            "mm",
        )


def _volume(part: PartFiles, tally: Tally) -> None:
    """Folding moves the neutral fibre off the middle: the volume grows by l t (a (r + t/2) − allowance) a bend."""
    t, blank, folded = part.thickness, part.report["blank"], part.report["folded"]
    grown, bound = 0.0, PRINTED * (1.0 + t)
    for bend in part.bends:
        a, r, length = math.radians(bend["turn_deg"]), bend["inside_radius_mm"], bend["length_mm"]
        share = a * (r + 0.5 * t) - bend["allowance_mm"]
        grown += length * t * share
        # Length, turn in degrees, radius and allowance are printed rounded.
        bound += PRINTED * t * (abs(share) + length * (math.radians(1.0) * (r + 0.5 * t) + a + 1.0))
    # What a bump adds is checked by the volume of the exact solid, which another program integrates.
    for bump in part.report["bumps"]:
        grown += bump["added_volume_mm3"]
        bound += PRINTED
    deviation = abs(folded["volume_mm3"] - blank["area_mm2"] * t - grown)
    tally.check(
        "folded volume is blank area times t and the bends' growth",
        "own formula",
        part.case,
        deviation,
        bound,
        "mm³",
    )


def _dimensions(part: PartFiles, tally: Tally) -> None:
    """What is held measures what was asked."""
    for dimension in part.report["dimensions"]:
        if dimension["state"] == "held":
            deviation = abs(dimension["asked"] - dimension["got"])
            bound = HELD[dimension["unit"]] + 2.0 * PRINTED
            case = f"{part.case}, {dimension['name']}"
            tally.check("held dimensions hold", "own", case, deviation, bound, "mm or deg")


def _setback(part: PartFiles, bend: dict, face: str) -> float:
    """From a bend's end to the corner, or beyond a right angle to the outermost line, of its outside or inside."""
    radius = bend["inside_radius_mm"] + (part.thickness if face == "outside" else 0.0)
    return radius * math.tan(0.5 * math.radians(min(bend["turn_deg"], 90.0)))


def _blank_by_hand(part: PartFiles, tally: Tally) -> None:
    """Blank lengths of simple parts: the flats between the bends and the allowances, added up."""
    get, bends = part.report["parameters"].get, part.bends
    out = [_setback(part, b, "outside") for b in bends]
    took = [b["allowance_mm"] for b in bends]
    stem = part.script.removesuffix(".rhai").rsplit("/", 1)[-1]
    if stem == "l_bracket":
        sums = {"length_mm": (get("a") - out[0]) + took[0] + (get("b") - out[0])}
    elif stem == "z_bracket":
        middle = get("step") - out[0] - out[1]
        sums = {"length_mm": (get("a") - out[0]) + took[0] + middle + took[1] + (get("b") - out[1])}
    elif stem == "u_cover":
        walls = [get("height") - _setback(part, b, "inside") for b in bends]
        plate = get("clear") + 2.0 * part.thickness - out[0] - out[1]
        sums = {"length_mm": plate + sum(walls) + sum(took), "width_mm": 90.0}
    elif stem == "box":
        # Walls are in the order front, right, back, left.
        sums = {
            key: get(key.removesuffix("_mm"))
            + 2.0 * get("height")
            + sum(took[i] - 2.0 * out[i] for i in pair)
            for key, pair in (("length_mm", (1, 3)), ("width_mm", (0, 2)))
        }
    else:
        return
    for key, by_hand in sums.items():
        deviation = abs(by_hand - part.report["blank"][key])
        # Each allowance, turn and radius is printed rounded; a held width is good to 1e-6 mm.
        bound = PRINTED * (1.0 + 4.0 * len(bends)) + HELD["mm"]
        tally.check("blank length by hand", "own formula", part.case, deviation, bound, "mm")
