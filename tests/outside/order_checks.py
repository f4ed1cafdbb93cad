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
# How far tools may stand out beyond the bend at either end, in mm.
OVERHANG = 10.0
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
    # Without the zones at the bend, which touch the tools by intent.
    away = [{name: mesh for name, mesh in wing.items() if name not in beside} for wing in _wings(state, 0.0)]
    sheet = [_manager(wing) for wing in away]
    thin, thick = ([_manager(wing) for wing in _wings(state, grown)] for grown in (-GRAZE, TOUCH))
    small, large = _tools(state, -(GRAZE + TOUCH), state["shortfall"]), _tools(state, TOUCH, -OVERHANG)
    tool, itself = "clear", "clear"
    for moment in range(1, MOMENTS + 1):
        half = loaded * moment / MOMENTS
        places = _places(state, half)
        for wings in (sheet, thin, thick):
            for (manager, names), place in zip(wings, places, strict=True):
                for name in names:
                    manager.set_transform(name, place)
        tip = _axis_height(state, half) - _inside_radius(state, lead, half)
        down = trimesh.transformations.translation_matrix([0.0, 0.0, tip])
        for manager, _ in (small, large):
            for name in ("punch", "ram"):
                manager.set_transform(name, down)
        meets = lambda tools: any(tools[0].in_collision_other(wing) for wing, _ in sheet)  # noqa: E731
        if tool != "meets" and meets(small):
            tool = "meets"
        elif tool == "clear" and meets(large):
            tool = "near"
        if itself != "meets" and half <= asked and thin[0][0].in_collision_other(thin[1][0]):
            itself = "meets"
        elif itself == "clear" and thick[0][0].in_collision_other(thick[1][0]):
            itself = "near"
    return {"tool": tool, "itself": itself, "beside": beside}


def _manager(meshes: dict[str, trimesh.Trimesh]) -> tuple[CollisionManager, list[str]]:
    manager = CollisionManager()
    for name, mesh in meshes.items():
        manager.add_object(name, mesh)
    return manager, list(meshes)


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


def _wings(state: dict, grown: float) -> list[dict[str, trimesh.Trimesh]]:
    """Every zone but the strip that is being made, as meshes in the frames of the panels before and behind it."""
    t = state["thickness"]
    lead = state["bends"][state["now"][0]]
    beyond = _beyond(state)
    frames = _frames(state, 0.5 * lead["turn"])
    roots = [np.linalg.inv(frames[lead[end]]) for end in ("parent", "child")]
    wings: list[dict[str, trimesh.Trimesh]] = [{}, {}]
    inner, outer = min(grown, 0.0), -t - min(grown, 0.0)
    for index, outline in enumerate(state["panels"]):
        polygon = shapely.Polygon(outline).buffer(grown, join_style="mitre")
        polygons = [polygon] if polygon.geom_type == "Polygon" else list(polygon.geoms)
        side = int(index in beyond)
        for part, piece in enumerate(p for p in polygons if not p.is_empty):
            name = f"panel {index}" if part == 0 else f"panel {index}/{part}"
            wings[side][name] = _prism(piece, [outer, inner]).apply_transform(roots[side] @ frames[index])
    for index, bend in enumerate(state["bends"]):
        if index in state["now"]:
            continue
        turn = _turned(bend, index, state, 0.0)
        count = max(1, int(np.ceil(PIECES * turn / (np.pi / 2.0))))
        side = int(bend["parent"] in beyond)
        start = roots[side] @ frames[bend["parent"]] @ _bend_frame(bend)
        low, high = bend["reach"][0] - grown, bend["reach"][1] + grown
        for piece in range(count):
            corners = []
            for share in (piece / count, (piece + 1) / count):
                frame = start @ _arc(state, bend, turn, share)
                corners += [(frame @ [x, 0.0, n, 1.0])[:3] for x in (low, high) for n in (inner, outer)]
            wings[side][f"bend {index}/{piece}"] = trimesh.convex.convex_hull(np.array(corners))
    return wings


def _places(state: dict, half: float) -> list[np.ndarray]:
    """From the frames of the panels before and behind the bend to the brake."""
    lead = state["bends"][state["now"][0]]
    frames = _frames(state, half)
    place = _place(state, frames, half)
    return [place @ frames[lead[end]] for end in ("parent", "child")]


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
    return place


def _beyond(state: dict) -> set[int]:
    """Panels behind the bend that is being made."""
    beyond = {state["bends"][b]["child"] for b in state["now"]}
    while True:
        more = {b["child"] for b in state["bends"] if b["parent"] in beyond} - beyond
        if not more:
            return beyond
        beyond |= more


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


def _tools(state: dict, grown: float, shorter: float) -> tuple[CollisionManager, list[str]]:
    """The tools as they stand with the punch's tip at the origin; those of the bend's length are cut at both ends."""
    lead = state["bends"][state["now"][0]]
    ends = []
    for index in state["now"]:
        bend = state["bends"][index]
        shift = np.dot(np.subtract(bend["origin"], lead["origin"]), lead["along"])
        sense = np.sign(np.dot(bend["along"], lead["along"]))
        ends += [shift + sense * x for x in bend["reach"]]
    low, high = min(ends), max(ends)
    shorter = min(shorter, 0.45 * (high - low))
    # Where along the brake the bend begins hangs on which way round it lies.
    origin, along = (_at_bend(state, v) for v in ([0.0, 0.0, 0.0, 1.0], [1.0, 0.0, 0.0, 0.0]))
    span = sorted(origin[0] + along[0] * x for x in (low + shorter, high - shorter))
    long = [-LONG, LONG]
    lifted = lambda outline, by: [[y, z + by] for y, z in outline]  # noqa: E731
    shapes = {
        "punch": (state["punch"], span),
        "die": (state["die"], span),
        "ram": (lifted(state["ram"], state["punch_height"]), long),
        "bed": (lifted(state["bed"], -state["die_height"]), long),
    }
    meshes = {}
    for name, (outline, reach) in shapes.items():
        mesh = _prism(shapely.Polygon(outline).buffer(grown, join_style="mitre"), reach)
        # Drawn in (y, z) over x.
        mesh.vertices = mesh.vertices[:, [2, 0, 1]]
        meshes[name] = mesh
    return _manager(meshes)


def _at_bend(state: dict, coordinates: list[float]) -> np.ndarray:
    """Where coordinates at the start of the bend that is being made lie at the brake."""
    half = state["half_turns"][0]
    lead = state["bends"][state["now"][0]]
    return _places(state, half)[0] @ _bend_frame(lead) @ np.array(coordinates)
