"""Proof that the checks can fail: good files are spoilt one at a time, and the check meant for it must notice."""

import csv
import json
import re
import shutil
import struct
from collections.abc import Callable
from pathlib import Path

from tally import Tally


def _text(name: str, pattern: str, change: Callable[[re.Match], str] | str) -> Callable[[Path], None]:
    def spoil(folder: Path) -> None:
        path = folder / name
        text, count = re.subn(pattern, change, path.read_text(encoding="utf-8"), count=1)
        if count != 1:
            raise ValueError(f"{name} has nothing like {pattern}")
        path.write_text(text, encoding="utf-8")

    return spoil


def _report(change: Callable[[dict], None]) -> Callable[[Path], None]:
    def spoil(folder: Path) -> None:
        path = folder / "report.json"
        report = json.loads(path.read_text(encoding="utf-8"))
        change(report)
        path.write_text(json.dumps(report), encoding="utf-8")

    return spoil


def _triangles(change: Callable[[list[bytes]], None]) -> Callable[[Path], None]:
    def spoil(folder: Path) -> None:
        path = folder / "folded.stl"
        data = path.read_bytes()
        records = [data[i : i + 50] for i in range(84, len(data), 50)]
        change(records)
        path.write_bytes(data[:80] + struct.pack("<I", len(records)) + b"".join(records))

    return spoil


def _flip(records: list[bytes]) -> None:
    r = records[0]
    records[0] = r[:12] + r[24:36] + r[12:24] + r[36:]


def _stretched_glb(by: float) -> Callable[[Path], None]:
    """Makes the body longer along x by this factor."""
    return lambda folder: _stretch_glb(folder, by)


def _stretch_glb(folder: Path, by: float) -> None:
    path = folder / "folded.glb"
    data = bytearray(path.read_bytes())
    (length,) = struct.unpack_from("<I", data, 12)
    head = json.loads(data[20 : 20 + length])
    binary = 20 + length + 8
    places = {p["attributes"]["POSITION"] for m in head["meshes"] for p in m["primitives"]}
    for place in places:
        accessor = head["accessors"][place]
        view = head["bufferViews"][accessor["bufferView"]]
        start = binary + view.get("byteOffset", 0) + accessor.get("byteOffset", 0)
        for i in range(accessor["count"]):
            at = start + i * view.get("byteStride", 12)
            (x,) = struct.unpack_from("<f", data, at)
            struct.pack_into("<f", data, at, x * by)
    path.write_bytes(bytes(data))


def _bend(key: str, by: float, name: str | None = None) -> Callable[[Path], None]:
    """Changes a figure of the bend of this name or the first one, in the table and in the report alike."""

    def spoil(folder: Path) -> None:
        path = folder / "bends.csv"
        with path.open(encoding="utf-8", newline="") as table:
            rows = list(csv.DictReader(table))
        index = 0 if name is None else [row["name"] for row in rows].index(name)
        value = round(float(rows[index][key]) + by, 6)
        rows[index][key] = f"{value:.6f}"
        with path.open("w", encoding="utf-8", newline="") as table:
            writer = csv.DictWriter(table, rows[0].keys())
            writer.writeheader()
            writer.writerows(rows)
        if key == "x1_mm":
            _report(lambda r: r["bends"][index]["blank_line_mm"][0].__setitem__(0, value))(folder)
        else:
            _report(lambda r: r["bends"][index].update({key: value}))(folder)

    return spoil


def _second_body(records: list[bytes]) -> None:
    """Adds a small closed body beside the part."""
    o, x, y, z = (struct.pack("<3f", *p) for p in ((-999, 0, 0), (-998, 0, 0), (-999, 1, 0), (-999, 0, 1)))
    for corners in ((o, y, x), (o, x, z), (o, z, y), (x, y, z)):
        records.append(bytes(12) + b"".join(corners) + bytes(2))


def _add(*keys: str | int, by: float) -> Callable[[Path], None]:
    def change(report: dict) -> None:
        place = report
        for key in keys[:-1]:
            place = place[key]
        place[keys[-1]] += by

    return _report(change)


def _opening(key: str, by: float, index: int = 0) -> Callable[[Path], None]:
    """Changes a measure of the first opening."""

    def change(report: dict) -> None:
        opening = report["guarding"]["openings"][0]
        if isinstance(opening[key], list):
            opening[key][index] += by
        else:
            opening[key] += by

    return _report(change)


# Checks that a run without gmsh leaves out.
WITH_GMSH = {
    "blank area as figures of lines and arcs",
    "every edge is between two triangles",
    "mesh volume by a second reader",
    "folded.step is one closed solid",
    "volume of folded.step",
    "surface of folded.step",
    "faces of folded.step by kind",
    "vertices and edges of folded.step",
}
# Checks that no spoilt file can reach: they are about the table of cases, the program's exit and scipy itself.
OUT_OF_REACH = {
    "every script is in the table",
    "program makes the part",
    "random parts are written",
    "scipy's own residuals vanish",
    "scipy finds a smallest figure",
}

# What is spoilt, in the files of which part, and the check that must notice it.
SPOILINGS: list[tuple[str, str, Callable[[Path], None], str]] = [
    (
        "a blank on the sheet is left out",
        "nested_ell",
        _report(lambda r: r["nesting"]["blanks"].pop()),
        "blanks on the sheet are counted",
    ),
    (
        "the last blank lies 1000 mm too far",
        "nested_ell",
        _add("nesting", "blanks", -1, "at_mm", 0, by=1000.0),
        "blanks lie within the margins",
    ),
    (
        "the last blank lies 0.01 mm nearer to the one before",
        "nested_ell",
        _add("nesting", "blanks", -1, "at_mm", 0, by=-0.01),
        "no two blanks are nearer than the gap",
    ),
    (
        "the first two blanks lie upon each other",
        "nested_ell",
        _report(lambda r: r["nesting"]["blanks"].__setitem__(1, r["nesting"]["blanks"][0])),
        "no two blanks overlap",
    ),
    (
        "more rectangles than blanks are said to fit",
        "nested_ell",
        _add("nesting", "count_of_rectangles", by=1000),
        "never fewer blanks than rectangles",
    ),
    (
        "the use of the sheet is 0.001 % more",
        "nested_ell",
        _add("nesting", "use_percent", by=1e-3),
        "use of the sheet",
    ),
    (
        "an amount of the price is 0.001 more",
        "nested_ell",
        _add("cost", "lines", 0, "amount", by=1e-3),
        "a line is quantity times rate",
    ),
    (
        "the price is 0.001 more than its lines",
        "nested_ell",
        _add("cost", "total", by=1e-3),
        "lines add up to the price",
    ),
    (
        "0.001 kg of sheet more are charged",
        "nested_ell",
        _add("cost", "lines", 0, "quantity", by=1e-3),
        "sheet that is charged",
    ),
    (
        "a pierce more is charged",
        "nested_ell",
        _add("cost", "lines", 2, "quantity", by=1),
        "quantities are those of the blank",
    ),
    (
        "a face of the exact solid is missing",
        "box",
        _text("folded.step", r"(CLOSED_SHELL\('',\()#\d+,", r"\1"),
        "folded.step is one closed solid",
    ),
    (
        "a bend of the exact solid has a radius 1e-5 larger",
        "l_bracket",
        _text("folded.step", r"(CYLINDRICAL_SURFACE\('',#\d+,)([0-9.]+)", lambda m: f"{m[1]}{float(m[2]) + 1e-5}"),
        "surface of folded.step",
    ),
    (
        "a vertex of the exact solid is 0.01 mm off",
        "l_bracket",
        _text("folded.step", r"(CARTESIAN_POINT\('',\([-0-9.]+,[-0-9.]+,)([-0-9.]+)", lambda m: f"{m[1]}{float(m[2]) + 0.01}"),
        "surface of folded.step",
    ),
    (
        "the report counts a cylinder more",
        "l_bracket",
        _add("solid", "faces", "cylinders", by=1),
        "faces of folded.step by kind",
    ),
    (
        "the report counts an edge more",
        "l_bracket",
        _add("solid", "edges", by=1),
        "vertices and edges of folded.step",
    ),
    (
        "the report's volume is 0.001 mm³ larger than the exact solid's",
        "l_bracket",
        _add("folded", "volume_mm3", by=1e-3),
        "volume of folded.step",
    ),
    (
        "a bulge is 1e-6 larger",
        "terminal_cover",
        _text("blank.dxf", r"\n 42\n(0\.\d{6})", lambda m: f"\n 42\n{float(m[1]) + 1e-6:.6f}"),
        "blank area by formula from the drawing",
    ),
    (
        "a bulge is 1 % larger",
        "terminal_cover",
        _text("blank.dxf", r"\n 42\n(0\.\d{6})", lambda m: f"\n 42\n{float(m[1]) * 1.01:.6f}"),
        "blank area by fine polygons",
    ),
    (
        "a bulge is turned over",
        "chain_guard",
        _text("blank.dxf", r"\n 42\n(-?)([01]\.)", lambda m: f"\n 42\n{'' if m[1] else '-'}{m[2]}"),
        "blank area as figures of lines and arcs",
    ),
    (
        "a polyline is left open",
        "chain_guard",
        _text("blank.dxf", r"(AcDbPolyline\n 90\n\d+\n 70\n)1", r"\g<1>0"),
        "every polyline is closed, without dots",
    ),
    (
        "the unit is inches",
        "chain_guard",
        _text("blank.dxf", r"(\$INSUNITS\n 70\n)4", r"\g<1>1"),
        "drawing is in millimetres ($INSUNITS 4)",
    ),
    (
        "a layer has a line type that is not there",
        "chain_guard",
        _text("blank.dxf", r"(CUT_OUTER\n 70\n0\n 62\n7\n  6\n)CONTINUOUS", r"\g<1>NOWHERE"),
        "drawing passes a strict audit",
    ),
    (
        "an inner cut is on the wrong layer",
        "chain_guard",
        _text("blank.dxf", r"(AcDbEntity\n  8\n)CUT_INNER", r"\g<1>SCRAP"),
        "entities are on the documented layers",
    ),
    (
        "a circle is an inch off",
        "terminal_cover",
        _text("blank.dxf", r"(AcDbCircle\n 10\n)", r"\g<1>9"),
        "holes are inside the outline and apart",
    ),
    (
        "a circle is 0.001 mm larger",
        "many_holes",
        _text("blank.dxf", r"(AcDbCircle\n 10\n.*\n 20\n.*\n 30\n.*\n 40\n)2\.5\n", r"\g<1>2.501\n"),
        "circles of the script are true circles",
    ),
    (
        "a bend line is on the other side's layer",
        "chain_guard",
        _text("blank.dxf", r"(LINE\n  5\n.*\n330\n.*\n100\nAcDbEntity\n  8\n)FOLD_UP", r"\g<1>FOLD_DOWN"),
        "bend lines are those of bends.csv",
    ),
    (
        "a triangle is missing",
        "chain_guard",
        _triangles(lambda records: records.pop()),
        "mesh is watertight and wound outwards",
    ),
    (
        "a triangle is missing for the second reader",
        "chain_guard",
        _triangles(lambda records: records.pop()),
        "every edge is between two triangles",
    ),
    ("a triangle is turned over", "chain_guard", _triangles(_flip), "mesh is watertight and wound outwards"),
    ("the glb is 1 % longer", "leaning_chain", _stretched_glb(1.01), "mesh volume against the report"),
    (
        "the glb is 1 millionth longer than the stl",
        "leaning_chain",
        _stretched_glb(1.000001),
        "stl and glb vertices coincide",
    ),
    ("an allowance is 0.001 mm larger", "l_bracket", _bend("allowance_mm", 0.001), "blank length by hand"),
    (
        "an allowance is 0.001 mm larger than its formula",
        "box",
        _bend("allowance_mm", 0.001),
        "bend allowance is a (r + K t)",
    ),
    (
        "an allowance does not fit the volume",
        "chain_guard",
        _bend("allowance_mm", 0.001),
        "folded volume is blank area times t and the bends' growth",
    ),
    (
        "the report has no mass",
        "chain_guard",
        _report(lambda r: r.pop("mass_kg")),
        "report follows its schema",
    ),
    (
        "the report's area is 0.001 mm² larger",
        "chain_guard",
        _add("blank", "area_mm2", by=1e-3),
        "blank area by formula from the drawing",
    ),
    (
        "the report's length is 0.001 mm larger",
        "box",
        _add("blank", "length_mm", by=1e-3),
        "blank extents by fine polygons",
    ),
    (
        "the report's volume is 0.1 mm³ larger",
        "box",
        _add("folded", "volume_mm3", by=0.1),
        "folded volume is blank area times t and the bends' growth",
    ),
    (
        "a free number is 0.0001 larger",
        "leaning_chain",
        _add("free_numbers", "web_length", by=1e-4),
        "free numbers as scipy solves them",
    ),
    (
        "a free number is 0.0001 larger",
        "chain_guard",
        _add("free_numbers", "face_length", by=1e-4),
        "free numbers as scipy solves them",
    ),
    (
        "a smallest figure is 0.1 mm² larger",
        "aimed_channel",
        _add("aim", "after", by=0.1),
        "smallest figure as scipy finds it",
    ),
    (
        "a free number has another name",
        "u_cover",
        _report(lambda r: r["free_numbers"].update(other=1.0)),
        "free numbers are those of the script",
    ),
    (
        "a held dimension is 0.001 mm off",
        "u_cover",
        _add("dimensions", 0, "got", by=1e-3),
        "held dimensions hold",
    ),
    (
        "a measured dimension is 0.001 mm off",
        "chain_guard",
        _add("dimensions", 2, "got", by=1e-3),
        "measured dimensions as scipy finds them",
    ),
    (
        "a worst case is 0.001 mm larger",
        "l_bracket",
        _add("dimensions", 0, "spread", "worst", by=1e-3),
        "worst spread by own formulas",
    ),
    (
        "a likely spread is 0.001 mm smaller",
        "u_cover",
        _add("dimensions", 1, "spread", "likely", by=-1e-3),
        "likely spread by own formulas",
    ),
    (
        "a pierce is added",
        "box",
        _add("blank", "pierces", by=1),
        "pierces are the closed cuts of the drawing",
    ),
    (
        "the cut length is 0.001 mm larger",
        "chain_guard",
        _add("blank", "cut_length_mm", by=1e-3),
        "cut length by formula from the drawing",
    ),
    ("the report's width is 0.001 mm larger", "box", _add("blank", "width_mm", by=1e-3), "blank extents"),
    (
        "the report's volume is 10 % larger",
        "box",
        _report(lambda r: r["folded"].update(volume_mm3=1.1 * r["folded"]["volume_mm3"])),
        "mesh volume by a second reader",
    ),
    (
        "the report's surface is 1 % larger",
        "box",
        _report(lambda r: r["folded"].update(surface_area_mm2=1.01 * r["folded"]["surface_area_mm2"])),
        "mesh surface against the report",
    ),
    (
        "the box about the part is 0.001 mm too small",
        "box",
        _add("folded", "bbox_mm", 1, 2, by=-1e-3),
        "mesh extents against the report",
    ),
    ("a K is 0.001 larger", "box", _bend("k_factor", 0.001), "K follows DIN 6935"),
    ("the hem's K is 0.001 larger", "coupling_guard", _bend("k_factor", 0.001, "hem"), "K of an edge pressed flat"),
    (
        "a number on the drawing is another one",
        "box",
        _text("blank.dxf", r"(AcDbText\n(?:.*\n)*?  1\n)\d+", r"\g<1>99"),
        "numbers on the drawing are those of bends.csv",
    ),
    (
        "a deduction is 0.001 mm larger",
        "box",
        _bend("deduction_mm", 0.001),
        "bend deduction is two setbacks less the allowance",
    ),
    (
        "a bend is 0.001 mm longer",
        "box",
        _bend("length_mm", 0.001),
        "bend lines are as long as bends.csv says",
    ),
    ("a bend line sticks out", "box", _bend("x1_mm", 1.0), "bend lines run over metal"),
    ("a bend line stops short", "box", _bend("x1_mm", -1.0), "bend lines end on the outline"),
    (
        "the table alone is changed",
        "box",
        _text("bends.csv", r"\n1,", "\n2,"),
        "bend table says what the report says",
    ),
    (
        "a bend line is missing",
        "box",
        _text("blank.dxf", r"  0\nLINE\n[\s\S]*? 31\n.*\n", ""),
        "as many bend lines as bends",
    ),
    (
        "a hole touches its neighbours",
        "many_holes",
        _text("blank.dxf", r"(AcDbCircle\n 10\n.*\n 20\n.*\n 30\n.*\n 40\n)2\.5\n", r"\g<1>6.5\n"),
        "no contour touches another or itself",
    ),
    (
        "a hole is drawn as an outline",
        "chain_guard",
        _text("blank.dxf", r"(AcDbEntity\n  8\n)CUT_INNER", r"\g<1>CUT_OUTER"),
        "blank is one piece",
    ),
    (
        "a round end is 1 % flatter",
        "many_holes",
        _text("blank.dxf", r"\n 42\n(-?[01]\.\d+)", lambda m: f"\n 42\n{float(m[1]) * 0.99:.15f}"),
        "arcs of the script are true arcs",
    ),
    ("a second body lies beside the part", "box", _triangles(_second_body), "mesh is one body"),
    (
        "a triangle is in the glb only",
        "box",
        _triangles(lambda records: records.pop()),
        "stl and glb have the same triangles",
    ),
    ("the glb alone is 1 % longer", "box", _stretched_glb(1.01), "stl and glb volumes agree"),
    ("a degree of freedom is left", "u_cover", _add("degrees_of_freedom", by=1), "degrees of freedom left"),
    (
        "a test strip has two radii",
        "tested_strips",
        _report(lambda r: r["sheet"]["test_strips"]["ratios"][0]["strips"].append(5)),
        "every test strip has one radius over thickness",
    ),
    (
        "a test strip is with another radius",
        "tested_strips",
        _report(
            lambda r: r["sheet"]["test_strips"]["ratios"][0]["strips"].append(
                r["sheet"]["test_strips"]["ratios"][1]["strips"].pop()
            )
        ),
        "radii over thickness within a tenth are one",
    ),
    (
        "the r/t of a radius is 0.00001 larger",
        "tested_strips",
        _add("sheet", "test_strips", "ratios", 0, "radius_over_thickness", by=1e-5),
        "r/t of test strips is their weighted mean",
    ),
    (
        "a fitted K is 0.00001 larger",
        "tested_strips",
        _add("sheet", "test_strips", "ratios", 1, "k_factor", by=1e-5),
        "K of test strips by least squares",
    ),
    (
        "a ± is 0.00001 smaller",
        "tested_strips",
        _add("sheet", "test_strips", "ratios", 2, "k_plus_minus", by=-1e-5),
        "± of K by covariance and Student's t",
    ),
    (
        "the scatter is 0.00001 mm smaller",
        "tested_strips",
        _add("sheet", "test_strips", "scatter_mm", by=-1e-5),
        "scatter of test strips",
    ),
    (
        "a degree of freedom of the strips is left",
        "tested_strips",
        _add("sheet", "test_strips", "degrees_of_freedom", by=1),
        "degrees of freedom of test strips",
    ),
    (
        "the K of one strip is 0.00001 larger",
        "tested_strips",
        _add("sheet", "test_strips", "strips", 3, "k_factor", by=1e-5),
        "K of one test strip alone",
    ),
    (
        "a residual has the other sign",
        "tested_strips",
        _report(
            lambda r: r["sheet"]["test_strips"]["strips"][1].update(
                residual_mm=-r["sheet"]["test_strips"]["strips"][1]["residual_mm"]
            )
        ),
        "residual of a test strip",
    ),
    (
        "a good strip is called an outlier",
        "tested_strips",
        _report(lambda r: r["sheet"]["test_strips"]["strips"][0].update(outlier=True)),
        "outliers by leaving strips out",
    ),
    (
        "the K of a bend between two tested radii is 0.001 larger",
        "tested_strips",
        _bend("k_factor", 0.001, "middling"),
        "K of bends is linear between tested r/t",
    ),
    (
        "a hole is left out of the openings",
        "odd_openings",
        _report(lambda r: r["guarding"]["openings"].clear()),
        "holes of the report are cuts of the drawing",
    ),
    *(
        (f"{what} is 0.001 mm {word}", "odd_openings", _opening(key, by), noticed_by)
        for what, key, by, word, noticed_by in (
            ("a passing circle", "passing_circle_mm", 0.001, "larger", "largest circle that passes"),
            ("a passing slot", "passing_slot_mm", 0.001, "wider", "width of the slot that passes"),
            ("a containing circle", "around_circle_mm", -0.001, "smaller", "smallest circle around"),
            ("a containing square", "around_square_mm", -0.001, "smaller", "smallest square around"),
            ("a containing slot", "around_slot_mm", -0.001, "narrower", "width of the slot around"),
        )
    ),
    (
        "a passing square is 0.05 mm larger",
        "odd_openings",
        _opening("passing_square_mm", 0.05),
        "largest square that passes",
    ),
    (
        "a passing slot is 1 mm shorter",
        "odd_openings",
        _opening("passing_slot_mm", -1.0, 1),
        "length of the slot that passes",
    ),
    (
        "a containing slot is 0.001 mm longer",
        "odd_openings",
        _opening("around_slot_mm", 0.001, 1),
        "length of the slot around",
    ),
]


def check_tampering(
    made: dict[str, Path], check: Callable[[str, Path, Tally], None], scratch: Path, tally: Tally
) -> None:
    """Spoils copies of the files in `made` (by script stem) and demands that `check` notices each."""
    kinds = set(tally.kinds)
    for what, stem, spoil, noticed_by in SPOILINGS:
        # A kind of check that was left out of this run cannot notice; a name that is misspelt would not either.
        if noticed_by in WITH_GMSH and noticed_by not in tally.kinds:
            continue
        folder = scratch / "spoilt"
        shutil.rmtree(folder, ignore_errors=True)
        shutil.copytree(made[stem], folder)
        spoil(folder)
        spoilt = Tally()
        check(stem, folder, spoilt)
        missed = [] if noticed_by in spoilt.failed_kinds() else [f"not noticed by `{noticed_by}`"]
        tally.none("spoilt files are noticed", "own", f"{what} ({stem})", missed)
    proven = {noticed_by for _, _, _, noticed_by in SPOILINGS}
    unproven = sorted(kinds - proven - OUT_OF_REACH)
    tally.none("every kind of check has been seen to fail", "own", "tampering.py", unproven)
