//! Steps against meshes of half-folded parts.
//!
//! The planner says what is in the way from convex cells and paths of its own. Here the true mesh of the half-folded
//! part, openings and round bends included, is laid between tools drawn as closed meshes, and an independent library
//! (parry3d) looks for triangles that cross.

use kernel::brake::{Block, Dies, StepCosts, Tool, Trial};
use kernel::fold::FoldFractions;
use kernel::geom::{Point2, Vec3, convex_pieces};
use kernel::regenerate::Part;
use kernel::solid::Zone;
use kernel::stock::Tooling;
use parry3d_f64::math::{Pose, Vector};
use parry3d_f64::query::intersection_test;
use parry3d_f64::shape::{ConvexPolyhedron, TriMesh};

use super::generator::{self, Dice};

/// Zones of the part with some strokes made and one at a share of its turn, at the brake, without the zones beside the bend.
fn at_brake(
    part: &Part,
    done: &[usize],
    trial: &Trial<'_>,
    choice: &kernel::brake::Choice,
    half: f64,
) -> Vec<(Zone, TriMesh)> {
    let stroke = choice.stroke;
    let now = &trial.strokes()[stroke];
    let mut fractions = FoldFractions::all(&part.tree, 0.0);
    for bend in done.iter().flat_map(|s| &trial.strokes()[*s]) {
        fractions = fractions.with(*bend, 1.0);
    }
    for bend in now {
        fractions = fractions.with(*bend, 2.0 * half / part.tree.bend(*bend).turn());
    }
    let lead = part.tree.bend(now[0]);
    let parent = part.tree.placements(&fractions)[lead.parent.index()];
    let [origin, x, y, z] = trial.parent_at_brake(choice, half);
    let mesh = part.mesh(&fractions, 0.02).unwrap();
    let vertices: Vec<Vector> = mesh
        .vertices
        .iter()
        .map(|v| {
            let local: Vec3<f64> = parent.coordinates(*v);
            let p = origin + x.times(local.x) + y.times(local.y) + z.times(local.z);
            Vector::new(p.x, p.y, p.z)
        })
        .collect();
    // The sheet at the bend touches the tools by intent.
    let beside = |zone: Zone| match zone {
        Zone::Bend(id) => now.contains(&id),
        Zone::Panel(id) => id == lead.parent || now.iter().any(|b| part.tree.bend(*b).child == id),
        Zone::Form(_) => false,
    };
    let mut zones: Vec<Zone> = mesh.faces.iter().map(|f| f.zone).filter(|zone| !beside(*zone)).collect();
    zones.sort_unstable();
    zones.dedup();
    let of = |zone| mesh.faces.iter().filter(move |f| f.zone == zone).map(|f| f.corners).collect();
    zones.into_iter().map(|zone| (zone, TriMesh::new(vertices.clone(), of(zone)).unwrap())).collect()
}

fn prism(outline: &[Point2], lift: f64, [from, to]: [f64; 2]) -> Vec<ConvexPolyhedron> {
    let pieces = convex_pieces(outline).into_iter();
    pieces
        .map(|piece| {
            // A twentieth of a millimetre counts as a touch.
            let corners: Vec<Vector> =
                piece.iter().flat_map(|p| [from, to].map(|x| Vector::new(x, p.x, p.y + lift))).collect();
            ConvexPolyhedron::from_convex_hull(&corners).unwrap()
        })
        .collect()
}

#[test]
fn a_hundred_random_half_folded_parts_meet_the_tools_where_meshes_do() {
    let tooling = Tooling::default();
    let (mut states, mut seed, mut met, mut careful) = (0, 1000, 0, 0);
    while states < 100 {
        seed += 1;
        let Some(part) = generator::part(seed, 6) else { continue };
        let mut dice = Dice::new(seed + 7);
        let mut trial =
            Trial::new(&part.tree, &part.sheet, &part.limits, &tooling, Dies::Usual, StepCosts::default());
        let count = trial.strokes().len();
        let stroke = dice.below(count);
        let done: Vec<usize> = (0..count).filter(|s| *s != stroke && dice.below(2) == 0).collect();
        let choices = trial.choices(stroke);
        if choices.is_empty() || done.is_empty() {
            continue;
        }
        let choice = choices[dice.below(choices.len())];
        let answer = trial.step(&done, &choice);
        // The part of the bend that tools cover even if they are as short as they may be, at either end.
        let [from, to] = trial.span(stroke);
        let short = tooling.shortfall.min(0.45 * (to - from));
        let span = [from + short, to - short];
        let long = [-1e4, 1e4];
        let (punch, die) = (&tooling.punches[choice.tools.punch], &tooling.dies[choice.tools.die]);
        let mut crossed = None;
        // A stroke ends where the turn that was asked for does; what lies beyond is for the planner alone.
        let end = trial.half_turns(stroke)[0];
        for i in 1..=24 {
            let half = end * f64::from(i) / 24.0;
            let zones = at_brake(&part, &done, &trial, &choice, half);
            let tip = trial.tip(&choice, half);
            let tools = [
                (Tool::Punch, prism(&punch.outline, tip, span)),
                (Tool::Ram, prism(&tooling.brake.ram, tip + punch.height, long)),
                (Tool::Die, prism(&die.outline, 0.0, span)),
                (Tool::Bed, prism(&tooling.brake.bed, -die.height, long)),
            ];
            for (tool, pieces) in tools {
                let none = Pose::IDENTITY;
                for (zone, mesh) in &zones {
                    if pieces.iter().any(|p| intersection_test(&none, mesh, &none, p).unwrap().intersecting) {
                        crossed = crossed.or(Some((tool, half, *zone)));
                    }
                }
            }
        }
        states += 1;
        // Convex cells and flats may only be a little too careful.
        let zone_at_tool = match answer {
            Err(Block::Tool { zone, .. }) => Some(zone),
            _ => None,
        };
        careful += usize::from(crossed.is_none() && zone_at_tool.is_some());
        let refused = matches!(answer, Err(Block::Tool { .. } | Block::Room { .. }));
        if let Some((tool, half, zone)) = crossed {
            met += 1;
            assert!(
                refused,
                "seed {seed}, {choice:?} after {done:?}: {zone:?} meets {tool:?} at {half}, yet {answer:?}; span {:?}, {:?}",
                trial.span(stroke),
                part.tree
                    .bends()
                    .iter()
                    .map(|b| (b.parent, b.child, b.turn().to_degrees(), b.reach(), b.side))
                    .collect::<Vec<_>>()
            );
        }
    }
    assert!(met >= 15 && careful <= 10, "{met} {careful}");
}
