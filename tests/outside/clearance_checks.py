"""Distances of random plates to random neighbours, as the kernel's example writes them, against python-fcl.

Both are bodies of flat faces, whose meshes are exact. trimesh hands them to fcl and tells whether one lies in the
other.
"""

import json
from collections.abc import Callable
from pathlib import Path

import numpy as np
import trimesh
from tally import Tally
from trimesh.collision import CollisionManager

# What the project promises, in mm.
BOUND = 1e-6


def check_clearances(folder: Path, tally: Tally) -> None:
    """Checks every pair of one file, and that the checks notice pairs that were spoilt."""
    entries = json.loads((folder / "pairs.json").read_text(encoding="utf-8"))
    _check_all(entries, tally)
    for kind, is_meant, spoil in SPOILINGS:
        spoilt = json.loads(json.dumps(entries))
        for entry in spoilt:
            meant = [n for n in entry["neighbours"] if is_meant(n["distance"])]
            for neighbour in meant:
                spoil(neighbour)
            entry["neighbours"] = meant
        found = Tally()
        _check_all(spoilt[:40], found)
        missed = [] if kind in found.failed_kinds() else [f"not noticed by `{kind}`"]
        tally.none("spoilt distances are noticed", "own", kind, missed)


def _changed(name: str, change: Callable[[float], float]) -> Callable[[dict], None]:
    def spoil(neighbour: dict) -> None:
        value = neighbour[name]
        neighbour[name] = [change(x) for x in value] if isinstance(value, list) else change(value)

    return spoil


# The check that must notice, the distances that are spoilt, and how.
SPOILINGS = [
    ("distance to a neighbour", lambda d: d > 0.0, _changed("distance", lambda d: d + 2.0 * BOUND)),
    ("what is apart does not lie inside", lambda d: d <= 0.0, _changed("distance", lambda d: 1.0)),
    ("overlap with a neighbour is one", lambda d: d > 0.0, _changed("distance", lambda d: -d)),
    ("way out of an overlap frees the neighbour", lambda d: d <= 0.0, _changed("distance", lambda d: 0.9 * d)),
]


def _check_all(entries: list[dict], tally: Tally) -> None:
    for number, entry in enumerate(entries):
        part = _mesh(entry["part"])
        manager = CollisionManager()
        manager.add_object("part", part)
        for index, neighbour in enumerate(entry["neighbours"]):
            case = f"plate {number:03}, neighbour {index}"
            _check(case, manager, part, neighbour, tally)


def _mesh(entry: dict) -> trimesh.Trimesh:
    return trimesh.Trimesh(np.array(entry["vertices"]), np.array(entry["triangles"]), process=False)


def _check(case: str, manager: CollisionManager, part: trimesh.Trimesh, entry: dict, tally: Tally) -> None:
    other, ours = _mesh(entry["mesh"]), entry["distance"]
    if ours > 0.0:
        theirs = manager.min_distance_single(other)
        tally.check("distance to a neighbour", "python-fcl", case, abs(theirs - ours), BOUND, "mm")
        inside = part.contains(other.vertices[:1])[0] or other.contains(part.vertices[:1])[0]
        tally.none("what is apart does not lie inside", "trimesh", case, ["inside"] if inside else [])
        return
    meets = manager.in_collision_single(other)
    inside = part.contains(other.vertices[:1])[0] or other.contains(part.vertices[:1])[0]
    faults = [] if meets or inside else ["no overlap"]
    tally.none("overlap with a neighbour is one", "python-fcl", case, faults)
    # Moved by the way that is given, and a trace farther, it is free.
    moved = other.copy()
    moved.apply_translation(np.array(entry["direction"]) * (BOUND - ours))
    faults = ["still meets"] if manager.in_collision_single(moved) else []
    tally.none("way out of an overlap frees the neighbour", "python-fcl", case, faults)
