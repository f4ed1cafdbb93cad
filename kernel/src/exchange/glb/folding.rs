//! The folding animation of `folded.glb`: one clip, one second a step of the bend order.
//!
//! A panel moves by keyframes of its node, from where it lies in the blank to where it lies in the folded part. A
//! strip moves with its parent and has one morph target, the strip laid flat, whose weight goes from 1 to 0.
//! Invariant: without the clip the file shows the folded part; at the start of the clip every zone lies in the plane
//! of the blank; at its end nothing has moved from the folded part. Between its ends a strip is drawn by straight
//! ways of its points, not rolled. Must not know: how the order was found.

use gltf_json::validation::Checked;
use gltf_json::{self as gltf, Index};

use crate::brake::BendPlan;
use crate::fold::{FoldFractions, FoldTree, StripMap};
use crate::geom::{Placement, Vec3};
use crate::ident::{BendId, PanelId};
use crate::quantity::maths;
use crate::solid::Zone;

use super::{Builder, MM_PER_METRE, MOTION, POSITIONS, Shaded, accessor, single, turned_up};

/// Keyframes of one step; between them positions are drawn along chords.
const FRAMES: u32 = 12;

/// Adds the clip for these nodes of zones.
pub(super) fn add(
    builder: &mut Builder,
    tree: &FoldTree,
    plan: &BendPlan,
    nodes: &[(Zone, Index<gltf::Node>)],
) {
    if plan.steps.is_empty() {
        return;
    }
    let folded = tree.placements(&FoldFractions::all(tree, 1.0));
    let mut times = vec![0.0];
    let mut stages = vec![FoldFractions::all(tree, 0.0)];
    for (step, at) in plan.steps.iter().zip(0_u16..) {
        let before = stages.last().expect("the flat stage is there").clone();
        for frame in 1..=FRAMES {
            let share = f64::from(frame) / f64::from(FRAMES);
            let stage = step.bends.iter().fold(before.clone(), |stage, bend| stage.with(*bend, share));
            times.push(f64::from(at) + share);
            stages.push(stage);
        }
    }
    let frames: Vec<Vec<Placement<f64>>> = stages.iter().map(|stage| tree.placements(stage)).collect();
    let clock = builder.numbers(&times);
    let mut samplers = Vec::new();
    let mut channels = Vec::new();
    let mut channel = |node, path, output| {
        channels.push(gltf::animation::Channel {
            sampler: Index::new(u32::try_from(samplers.len()).expect("a part has few zones")),
            target: gltf::animation::Target {
                extensions: None,
                extras: gltf::Extras::default(),
                node,
                path: Checked::Valid(path),
            },
            extensions: None,
            extras: gltf::Extras::default(),
        });
        samplers.push(gltf::animation::Sampler {
            extensions: None,
            extras: gltf::Extras::default(),
            input: clock,
            interpolation: Checked::Valid(gltf::animation::Interpolation::Linear),
            output,
        });
    };
    for (zone, node) in nodes {
        let panel = moves_with(tree, *zone);
        let moves: Vec<Move> =
            frames.iter().map(|placed| Move::between(folded[panel.index()], placed[panel.index()])).collect();
        channel(*node, gltf::animation::Property::Translation, builder.shifts(&moves));
        channel(*node, gltf::animation::Property::Rotation, builder.turns(&moves));
        if let Zone::Bend(id) = zone {
            let weights: Vec<f64> = stages.iter().map(|stage| 1.0 - stage.of(*id)).collect();
            channel(*node, gltf::animation::Property::MorphTargetWeights, builder.numbers(&weights));
        }
    }
    builder.root.push(gltf::Animation {
        extensions: None,
        extras: gltf::Extras::default(),
        channels,
        name: Some("folding".to_owned()),
        samplers,
    });
}

/// The panel in whose frame a zone is drawn.
fn moves_with(tree: &FoldTree, zone: Zone) -> PanelId {
    match zone {
        Zone::Panel(id) => id,
        Zone::Bend(id) => tree.bend(id).parent,
        Zone::Form(id) => tree.forms()[id.index()].panel,
    }
}

/// The rigid motion from the folded part to a stage, in mm, as a turn (quaternion, scalar last) and a shift.
struct Move {
    turn: [f64; 4],
    shift: Vec3<f64>,
}

impl Move {
    fn between(from: Placement<f64>, to: Placement<f64>) -> Self {
        // Rows of the turn: images of the axes.
        let image =
            |e: Vec3<f64>| to.x.times(from.x.dot(e)) + to.y.times(from.y.dot(e)) + to.n.times(from.n.dot(e));
        let [x, y, z] =
            [Vec3::new(1.0, 0.0, 0.0), Vec3::new(0.0, 1.0, 0.0), Vec3::new(0.0, 0.0, 1.0)].map(image);
        let shift = to.origin - (x.times(from.origin.x) + y.times(from.origin.y) + z.times(from.origin.z));
        Self { turn: quaternion([x, y, z]), shift }
    }
}

/// The turn whose matrix has these columns, after Shepperd (1978): from the largest component, which keeps digits.
fn quaternion([x, y, z]: [Vec3<f64>; 3]) -> [f64; 4] {
    let squares =
        [1.0 + x.x - y.y - z.z, 1.0 - x.x + y.y - z.z, 1.0 - x.x - y.y + z.z, 1.0 + x.x + y.y + z.z];
    let largest = (0..4).max_by(|a, b| squares[*a].total_cmp(&squares[*b])).unwrap_or(3);
    let sum = [y.x + x.y, z.x + x.z, z.y + y.z];
    let difference = [y.z - z.y, z.x - x.z, x.y - y.x];
    let raw = match largest {
        0 => [squares[0], sum[0], sum[1], difference[0]],
        1 => [sum[0], squares[1], sum[2], difference[1]],
        2 => [sum[1], sum[2], squares[2], difference[2]],
        _ => [difference[0], difference[1], difference[2], squares[3]],
    };
    let length = raw.iter().map(|c| c * c).sum::<f64>().sqrt();
    raw.map(|c| c / length)
}

impl Builder {
    fn motion(&mut self, values: &[f32], kind: gltf::accessor::Type, count: usize) -> Index<gltf::Accessor> {
        let float = gltf::accessor::ComponentType::F32;
        let mut made = accessor(MOTION, self.motion.len(), count, (float, kind));
        if let gltf::accessor::Type::Scalar = kind {
            let ends = [f32::min, f32::max].map(|end| values.iter().copied().reduce(end).unwrap_or(0.0));
            let [least, most] = ends.map(|end| Some(vec![f64::from(end)].into()));
            (made.min, made.max) = (least, most);
        }
        self.motion.extend(values.iter().flat_map(|x| x.to_le_bytes()));
        self.root.push(made)
    }

    fn numbers(&mut self, values: &[f64]) -> Index<gltf::Accessor> {
        #[expect(clippy::cast_possible_truncation, reason = "the format holds single precision")]
        let singles: Vec<f32> = values.iter().map(|x| *x as f32).collect();
        self.motion(&singles, gltf::accessor::Type::Scalar, values.len())
    }

    fn shifts(&mut self, moves: &[Move]) -> Index<gltf::Accessor> {
        let values: Vec<f32> =
            moves.iter().flat_map(|m| single(turned_up(m.shift.times(1.0 / MM_PER_METRE)))).collect();
        self.motion(&values, gltf::accessor::Type::Vec3, moves.len())
    }

    fn turns(&mut self, moves: &[Move]) -> Index<gltf::Accessor> {
        let mut values: Vec<f32> = Vec::new();
        let mut last = [0.0, 0.0, 0.0, 1.0];
        for Move { turn, .. } in moves {
            // A turn and its opposite are the same; neighbours on one side turn the short way.
            let along: f64 = turn.iter().zip(last).map(|(a, b)| a * b).sum();
            let sign = if along < 0.0 { -1.0 } else { 1.0 };
            last = turn.map(|c| sign * c);
            let axis = turned_up(Vec3::new(last[0], last[1], last[2]));
            values.extend(single(axis));
            values.extend(&single(Vec3::new(last[3], 0.0, 0.0))[..1]);
        }
        self.motion(&values, gltf::accessor::Type::Vec4, moves.len())
    }

    /// A morph target that lays a piece of a strip's surface flat, seen from the folded part.
    pub(super) fn flat_target(
        &mut self,
        tree: &FoldTree,
        bend: BendId,
        folded: &[Placement<f64>],
        shaded: &Shaded,
    ) -> gltf::mesh::MorphTarget {
        let map = tree.strip_map(tree.bend(bend), folded, &FoldFractions::all(tree, 1.0));
        let moved: Vec<[f32; 3]> = shaded
            .positions
            .iter()
            .map(|p| {
                let [x, y, z] = p.map(f64::from);
                let place = Vec3::new(x, 0.0 - z, y).times(MM_PER_METRE);
                let way = laid_flat(&map, place) - place;
                single(turned_up(way.times(1.0 / MM_PER_METRE)))
            })
            .collect();
        let ends = [f32::min, f32::max].map(|end| {
            let reach = moved.iter().copied().reduce(|a, b| [0, 1, 2].map(|i| end(a[i], b[i])));
            reach.unwrap_or_default().map(f64::from).to_vec()
        });
        let vector = (gltf::accessor::ComponentType::F32, gltf::accessor::Type::Vec3);
        let mut made = accessor(POSITIONS, self.positions.len(), moved.len(), vector);
        let [least, most] = ends;
        (made.min, made.max) = (Some(least.into()), Some(most.into()));
        self.positions.extend(moved.iter().flatten().flat_map(|x| x.to_le_bytes()));
        let positions = Some(self.root.push(made));
        gltf::mesh::MorphTarget { positions, normals: None, tangents: None }
    }
}

/// Where a point of a rolled strip lies when the strip is laid flat beside its parent.
fn laid_flat(map: &StripMap, p: Vec3<f64>) -> Vec3<f64> {
    if map.angle() == 0.0 {
        return p;
    }
    let strip = map.unrolled(p);
    let from_axis = map.from_axis(p);
    let depth = map.sign() * (map.radius(0.0) - maths::hypot(from_axis.y, from_axis.z));
    map.start().point(strip.x, strip.y, depth)
}
