"""Random half-folded parts at the press brake, as the kernel's example writes them, against python-fcl.

The part is folded anew here from panels and bends, laid between punch and die by the formulas of
docs/math/bend-order.md, and made of closed meshes by trimesh; fcl tells whether meshes of sheet and tools meet.
What meets tools that are a little smaller must be refused; what keeps clear of tools that are a little larger must
not be. Only between the two may the answers differ: there the planner's rounded bends and last steps lie.
"""

import json
from pathlib import Path

import numpy as np
import shapely
import trimesh
from tally import Tally
from trimesh.collision import CollisionManager

# A graze that begins and ends within the planner's last step is this deep at most, in mm.
GRAZE = 0.5
# What the planner's bends stand out of round ones, its touches and chords, in mm.
TOUCH = 0.15
# Moments of the stroke that are looked at.
MOMENTS = 40
# Pieces of a right-angled bend.
PIECES = 8
# Ram and bed are longer than any part, in mm.
LONG = 5000.0


def check_orders(folder: Path, tally: Tally) -> None:
    """Checks every state of one file, and that the checks notice answers that were spoilt."""
    states = json.loads((folder / "states.json").read_text(encoding="utf-8"))
    seen = [_seen(state) for state in states]
    said = [state["answer"]["says"] for state in states]
    _check_all(states, seen, said, tally)
    for kind, spoilt in [
        ("half-folded part that meets something is refused", ["clear"] * len(said)),
        ("half-folded part that is clear of tools is not refused for them", ["tool"] * len(said)),
        ("half-folded part that is clear of itself is not refused for it", ["itself"] * len(said)),
    ]:
        found = Tally()
        _check_all(states, seen, spoilt, found)
        missed = [] if kind in found.failed_kinds() else [f"not noticed by `{kind}`"]
        tally.none("spoilt answers about half-folded parts are noticed", "own", kind, missed)


def _check_all(states: list[dict], seen: list[dict], said: list[str], tally: Tally) -> None:
    for number, (state, found, says) in enumerate(zip(states, seen, said, strict=True)):
        case = f"state {number:03}"
        if says == "clear":
            faults = [what for what in ("tool", "itself") if found[what] == "meets"]
            tally.none("half-folded part that meets something is refused", "python-fcl", case, faults)
        # A panel beside the bend lies on the die, which is not looked at here.
        beside = says == "tool" and state["answer"].get("zone") in found["beside"]
        if says in ("tool", "room") and not beside:
            faults = ["clear"] if found["tool"] == "clear" else []
            kind = "half-folded part that is clear of tools is not refused for them"
            tally.none(kind, "python-fcl", case, faults)
        if says == "itself":
            faults = ["clear"] if found["itself"] == "clear" else []
            kind = "half-folded part that is clear of itself is not refused for it"
            tally.none(kind, "python-fcl", case, faults)


def _seen(state: dict) -> dict:
    """Whether the sheet meets tools and itself: `meets`, `clear`, or `near` where nobody can tell."""
    asked, loaded = state["half_turns"]
    lead = state["bends"][state["now"][0]]
    beside = {f"panel {lead['parent']}"} | {f"panel {state['bends'][b]['child']}" for b in state["now"]}
    small = _tools(state, -(GRAZE + TOUCH), state["shortfall"])
    large = _tools(state, TOUCH, -10.0)
    tool, itself = "clear", "clear"
    for moment in range(1, MOMENTS + 1):
        half = loaded * moment / MOMENTS
        zones = _at_brake(state, half, 0.0)
        tip = _axis_height(state, half) - _inside_radius(state, lead, half)
        # Without the zones at the bend, which touch the tools by intent.
        away = {name: mesh for name, mesh in zones.items() if name not in beside}
        if tool != "meets" and _meet(_lifted(small, tip), away):
            tool = "meets"
        elif tool == "clear" and _meet(_lifted(large, tip), away):
            tool = "near"
        if itself == "meets":
            continue
        wings = _wings(state)
        if half <= asked and _meet(*_split(_at_brake(state, half, -GRAZE), wings)):
            itself = "meets"
        elif itself == "clear" and _meet(*_split(_at_brake(state, half, TOUCH), wings)):
            itself = "near"
    return {"tool": tool, "itself": itself, "beside": beside}


def _meet(one: dict[str, trimesh.Trimesh], other: dict[str, trimesh.Trimesh]) -> bool:
    if not one or not other:
        return False
    managers = []
    for meshes in (one, other):
        manager = CollisionManager()
        for name, mesh in meshes.items():
            manager.add_object(name, mesh)
        managers.append(manager)
    return managers[0].in_collision_other(managers[1])


# The part


def _inside_radius(state: dict, bend: dict, half: float) -> float:
    """The neutral fibre keeps its length."""
    return max(bend["allowance"] / (2.0 * half) - bend["k"] * state["thickness"], 0.0)


def _axis_height(state: dict, half: float) -> float:
    """Both wings lie on the shoulders of the V, or the round part itself does."""
    lead = state["bends"][state["now"][0]]
    outer, seat = _inside_radius(state, lead, half) + state["thickness"], state["opening"] / 2.0
    if outer * np.sin(half) < seat:
        return outer / np.cos(half) - seat * np.tan(half)
    return np.sqrt(max(outer**2 - seat**2, 0.0))


def _turned(bend: dict, index: int, state: dict, half: float) -> float:
    """The turn of a bend now, in rad."""
    if index in state["now"]:
        return 2.0 * half
    return bend["turn"] if index in state["made"] else 0.0


def _bend_frame(bend: dict) -> np.ndarray:
    """From (along, outward, normal) at the start of the bend into the parent's frame."""
    frame = np.eye(4)
    frame[:2, 0], frame[:2, 1], frame[:2, 3] = bend["along"], bend["outward"], bend["origin"]
    if np.linalg.det(frame[:3, :3]) < 0.0:
        raise ValueError("along, outward and normal of a bend are not right-handed")
    return frame


def _arc(state: dict, bend: dict, turn: float, share: float) -> np.ndarray:
    """Frame at a share of the bend's width, seen from its start: (along, outward, normal), on the inner face."""
    width, t = bend["allowance"], state["thickness"]
    frame = np.eye(4)
    if turn == 0.0:
        frame[1, 3] = width * share
        return frame
    sign = 1.0 if bend["up"] else -1.0
    # The concave face is the inner one of a bend up, the outer one of a bend down.
    radius = width / turn - bend["k"] * t
    to_axis = radius if bend["up"] else -(t + radius)
    angle = sign * turn * share
    turning = trimesh.transformations.rotation_matrix(angle, [1, 0, 0], [0, 0, to_axis])
    return turning @ frame


def _frames(state: dict, half: float) -> list[np.ndarray]:
    """Every panel's frame in the base panel's."""
    frames: list[np.ndarray | None] = [None] * len(state["panels"])
    frames[0] = np.eye(4)
    left = list(enumerate(state["bends"]))
    while left:
        for index, bend in list(left):
            if frames[bend["parent"]] is None:
                continue
            turn = _turned(bend, index, state, half)
            frames[bend["child"]] = frames[bend["parent"]] @ _bend_frame(bend) @ _arc(state, bend, turn, 1.0)
            left.remove((index, bend))
    return frames


def _at_brake(state: dict, half: float, grown: float) -> dict[str, trimesh.Trimesh]:
    """Every zone but the strip that is being made, as a mesh at the brake: x along, y to the back, z up."""
    t = state["thickness"]
    frames = _frames(state, half)
    place = _place(state, frames, half)
    meshes = {}
    for index, outline in enumerate(state["panels"]):
        polygon = shapely.Polygon(outline).buffer(grown, join_style="mitre")
        polygons = [polygon] if polygon.geom_type == "Polygon" else list(polygon.geoms)
        for part, piece in enumerate(p for p in polygons if not p.is_empty):
            plate = _prism(piece, [-t - min(grown, 0.0), min(grown, 0.0)])
            name = f"panel {index}" if part == 0 else f"panel {index}/{part}"
            meshes[name] = plate.apply_transform(place @ frames[index])
    for index, bend in enumerate(state["bends"]):
        if index in state["now"]:
            continue
        turn = _turned(bend, index, state, half)
        count = max(1, int(np.ceil(PIECES * turn / (np.pi / 2.0))))
        start = place @ frames[bend["parent"]] @ _bend_frame(bend)
        low, high = bend["reach"][0] - grown, bend["reach"][1] + grown
        for piece in range(count):
            corners = []
            for share in (piece / count, (piece + 1) / count):
                frame = start @ _arc(state, bend, turn, share)
                for x in (low, high):
                    for n in (min(grown, 0.0), -t - min(grown, 0.0)):
                        corners.append((frame @ [x, 0.0, n, 1.0])[:3])
            meshes[f"bend {index}/{piece}"] = trimesh.convex.convex_hull(np.array(corners))
    return meshes


def _place(state: dict, frames: list[np.ndarray], half: float) -> np.ndarray:
    """From the base panel's frame to the brake."""
    lead = state["bends"][state["now"][0]]
    start = frames[lead["parent"]] @ _bend_frame(lead)
    radius = _inside_radius(state, lead, half)
    up = 1.0 if lead["up"] else -1.0
    axis = start @ [0.0, 0.0, radius if lead["up"] else -(state["thickness"] + radius), 1.0]
    # Half way round the bend, seen from the axis, is down; the parent is where the bend begins.
    down = (start @ _arc(state, lead, 2.0 * half, 0.5))[:3, 2] * -up
    along = start[:3, 0]
    to_parent = np.cross(along, down)
    if to_parent @ start[:3, 1] > 0.0:
        to_parent = -to_parent
    back = to_parent if state["parent_at_back"] else -to_parent
    # Tools are alike from both ends, so that x may run either way: rows are the brake's axes.
    x = np.cross(back, -down)
    rotation = np.array([x, back, -down])
    place = np.eye(4)
    place[:3, :3] = rotation
    place[:3, 3] = np.array([0.0, 0.0, _axis_height(state, half)]) - rotation @ axis[:3]
    state["sense"] = float(np.sign(x @ along))
    return place


def _wings(state: dict) -> tuple[set[int], set[int]]:
    """Panels on the parent's side of the bend that is being made, and beyond it."""
    beyond = {state["bends"][b]["child"] for b in state["now"]}
    grown = True
    while grown:
        more = {b["child"] for b in state["bends"] if b["parent"] in beyond} - beyond
        grown = bool(more)
        beyond |= more
    return set(range(len(state["panels"]))) - beyond, beyond


def _split(zones: dict[str, trimesh.Trimesh], wings: tuple[set[int], set[int]]) -> tuple[dict, dict]:
    """Zones of the two wings, without what always lies side by side at the bend."""
    return tuple({name: mesh for name, mesh in zones.items() if _panel(name) in wing} for wing in wings)


def _panel(name: str) -> int:
    return int(name.split(" ")[1].split("/")[0])


# The tools


def _prism(polygon: shapely.Polygon, heights: list[float]) -> trimesh.Trimesh:
    """A polygon drawn from one height to another."""
    low, high = heights
    corners = np.array(polygon.exterior.coords)[:-1]
    if shapely.Polygon(corners).convex_hull.equals(polygon):
        ring = [np.column_stack([corners, np.full(len(corners), h)]) for h in (low, high)]
        return trimesh.convex.convex_hull(np.vstack(ring))
    pieces = [p for p in shapely.constrained_delaunay_triangles(polygon).geoms if p.area > 0.0]
    return trimesh.util.concatenate([_prism(p, heights) for p in pieces])


def _tools(state: dict, grown: float, shorter: float) -> dict[str, list]:
    """Prisms of the tools as they stand with the punch's tip at the origin, each with whether it moves."""
    lead = state["bends"][state["now"][0]]
    ends = []
    for index in state["now"]:
        bend = state["bends"][index]
        shift = np.dot(np.subtract(bend["origin"], lead["origin"]), lead["along"])
        sense = np.sign(np.dot(bend["along"], lead["along"]))
        ends += [shift + sense * x for x in bend["reach"]]
    low, high = min(ends), max(ends)
    shorter = min(shorter, 0.45 * (high - low))
    span, long = [low + shorter, high - shorter], [-LONG, LONG]
    lifted = lambda outline, by: [[y, z + by] for y, z in outline]  # noqa: E731
    return {
        "punch": [state["punch"], span, True, grown, state],
        "die": [state["die"], span, False, grown, state],
        "ram": [lifted(state["ram"], state["punch_height"]), long, True, grown, state],
        "bed": [lifted(state["bed"], -state["die_height"]), long, False, grown, state],
    }


def _lifted(tools: dict[str, list], tip: float) -> dict[str, trimesh.Trimesh]:
    """The tools with the punch's tip at a height."""
    meshes = {}
    for name, (outline, span, moves, grown, state) in tools.items():
        key = f"{name} {grown}"
        if key not in state:
            polygon = shapely.Polygon(outline).buffer(grown, join_style="mitre")
            # Drawn in (y, z) over x: turned so that the third axis is x.
            sense = state["sense"]
            reach = sorted(sense * x for x in span)
            mesh = _prism(polygon, reach)
            mesh.vertices = mesh.vertices[:, [2, 0, 1]]
            state[key] = mesh
        mesh = state[key].copy()
        if moves:
            mesh.apply_translation([0.0, 0.0, tip])
        meshes[name] = mesh
    return meshes
