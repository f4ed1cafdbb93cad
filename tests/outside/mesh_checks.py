"""Neighbours that are meshes: files written by trimesh, and their extents as the program reads them.

Every file is written from one turned solid, in the unit that the script then says, and read back by trimesh as well,
so that both look at the same bytes.
"""

import json
import subprocess
from pathlib import Path

import numpy as np
import trimesh

from tally import Tally

# Ending, unit as the script says it (none for glTF), and that unit in mm.
FILES = [
    ("binary.stl", "mm", 1.0),
    ("ascii.stl", "inch", 25.4),
    ("plain.obj", "cm", 10.0),
    ("placed.glb", None, 1000.0),
    ("text.gltf", None, 1000.0),
]
# Clear of the lid.
AT = np.array([10.0, -20.0, 95.0])
# Single precision tells 4e-6 mm apart at 60 mm.
BOUND_MM = 1e-5


def check_meshes(program: Path, folder: Path, tally: Tally) -> None:
    """One part with every file as a neighbour, and that the checks notice a report that was spoilt."""
    folder.mkdir(parents=True, exist_ok=True)
    solid = trimesh.creation.annulus(r_min=20.0, r_max=45.0, height=30.0)
    solid.apply_transform(trimesh.transformations.euler_matrix(0.3, -0.7, 1.1))
    lines = [
        'family("Meshes");',
        'let lid = part(#{ material: "DC01", thickness: 1.5, inside_radius: 1.5 });',
        'let top = lid.base("top", rectangle(200, 120));',
    ]
    expected = {}
    for name, unit, mm in FILES:
        path, stem = folder / name, Path(name).stem
        _write(solid, path, mm)
        loaded = trimesh.load(path, force="mesh")
        low, high = loaded.bounds * mm
        if unit is None:
            # Its y is upwards: y becomes z, and z becomes -y.
            low, high = np.array([low[0], -high[2], low[1]]), np.array([high[0], -low[2], high[1]])
        expected[stem] = (low + AT, high + AT)
        said = f'unit: "{unit}", ' if unit else ""
        lines.append(f'lid.import_mesh("{stem}", "{name}", #{{ {said}at: {AT.tolist()} }});')
    script = folder / "meshes.rhai"
    script.write_text("\n".join(lines) + "\n", encoding="utf-8")
    done = subprocess.run([program, "make", script, "--out", folder / "out"], capture_output=True, text=True)
    problem = [] if done.returncode == 0 else [done.stderr.strip()[:300]]
    tally.none("program reads foreign meshes", "own", "meshes", problem)
    if problem:
        return
    report = json.loads((folder / "out" / "report.json").read_text(encoding="utf-8"))
    _check_report(report, expected, tally)
    for kind, spoil in SPOILINGS:
        spoilt = json.loads(json.dumps(report))
        spoil(spoilt)
        found = Tally()
        _check_report(spoilt, expected, found)
        missed = [] if kind in found.failed_kinds() else [f"not noticed by `{kind}`"]
        tally.none("spoilt meshes are noticed", "own", kind, missed)


def _moved(report: dict) -> None:
    report["neighbours"][0]["bbox_mm"][1][2] += 2.0 * BOUND_MM


def _opened(report: dict) -> None:
    report["checks"].append({"code": "machine::mesh_open", "message": "a mesh is not closed"})


SPOILINGS = [("extent of a foreign mesh", _moved), ("closed meshes are read as closed", _opened)]


def _check_report(report: dict, expected: dict, tally: Tally) -> None:
    got = {neighbour["name"]: np.array(neighbour["bbox_mm"]) for neighbour in report["neighbours"]}
    for stem, corners in expected.items():
        off = float(np.abs(got[stem] - np.array(corners)).max())
        tally.check("extent of a foreign mesh", "trimesh", stem, off, BOUND_MM, "mm")
    opened = [finding["message"] for finding in report["checks"] if finding["code"] == "machine::mesh_open"]
    tally.none("closed meshes are read as closed", "trimesh", "meshes", opened)


def _write(solid: trimesh.Trimesh, path: Path, mm: float) -> None:
    scaled = solid.copy()
    scaled.apply_scale(1.0 / mm)
    if path.name == "ascii.stl":
        path.write_text(trimesh.exchange.stl.export_stl_ascii(scaled), encoding="utf-8")
    elif path.suffix == ".glb":
        # The node moves the mesh back to where it was.
        away = trimesh.transformations.euler_matrix(0.5, 0.2, -0.4)
        moved = scaled.copy()
        moved.apply_transform(np.linalg.inv(away))
        scene = trimesh.Scene()
        scene.add_geometry(moved, transform=away)
        scene.export(path)
    elif path.suffix == ".gltf":
        files = trimesh.exchange.gltf.export_gltf(trimesh.Scene(scaled), embed_buffers=True)
        path.write_bytes(files["model.gltf"])
    else:
        scaled.export(path)
