//! How far clearances to neighbours spread in the shop.
//!
//! A clearance is a smallest distance, so that to first order it changes as that of the two nearest places (envelope
//! theorem), and of several pairs that are as near the one counts that comes nearest of all. Such pairs are found by
//! moving the metal as the shop may: each zone is turned and shifted by one deviation after the other, and from where
//! that brings it on to where the place that is nearest then comes nearest, as long as that goes on.
//! Derivation and worked figures: `docs/math/tolerance-stack.md`.
//!
//! Invariant: a neighbour stands still; the place found is never one that comes less near than the nearest place
//! as drawn. Must not know: what a neighbour is, what is required, how spreads are shown.

use crate::dimension::{Approach, Deviation, MaterialPoint, MetalPlace, Skeleton, Spread, Stack};
use crate::fold::{FoldFractions, FoldTree};
use crate::geom::{Placement, Point2, Vec3};
use crate::ident::PanelId;
use crate::machine::Neighbour;
use crate::quantity::tolerance;
use crate::solid::Zone;

use super::nearest::{Nearest, nearest_moved, nearest_to_point};
use super::place::Folded;
use super::{Clearance, Metal, Obstacle};

/// How far a clearance spreads.
#[derive(Clone, Debug, PartialEq)]
pub struct ClearanceSpread {
    /// How far the distance of the place spreads that comes nearest of all.
    pub spread: Spread,
    /// How near it comes, in mm; below zero if part and neighbour then need the same place.
    pub least: f64,
    /// The zone that it belongs to.
    pub zone: Zone,
}

/// How far each of these clearances of a part spreads, in their order.
#[must_use]
pub fn clearance_spreads(
    stack: &Stack<'_, '_>,
    skeleton: &Skeleton<'_>,
    tree: &FoldTree,
    metal: Metal<'_>,
    neighbours: &[Neighbour],
    clearances: &[Clearance],
) -> Vec<ClearanceSpread> {
    let fractions = FoldFractions::all(tree, 1.0);
    let frames = tree.placements(&fractions);
    let folded = Folded { tree, skeleton, fractions: &fractions, frames: &frames };
    let parts = parts(stack, tree, &frames, metal);
    let of = |(neighbour, found): (&Neighbour, &Clearance)| {
        Hunt::new(stack, folded, &neighbour.pieces, found).ended(&parts)
    };
    neighbours.iter().zip(clearances).map(of).collect()
}

/// A zone that may come near.
struct Part<'a> {
    zone: Zone,
    metal: Metal<'a>,
    /// Panels with which it moves: a bend with what is before it and what is behind it.
    moves_with: Vec<PanelId>,
    /// No point of it moves farther, in mm.
    reach: f64,
}

fn parts<'a>(
    stack: &Stack<'_, '_>,
    tree: &FoldTree,
    frames: &[Placement<f64>],
    metal: Metal<'a>,
) -> Vec<Part<'a>> {
    let part = |(zone, metal): (Zone, Metal<'a>)| {
        let moves_with = match zone {
            Zone::Panel(panel) => vec![panel],
            Zone::Bend(bend) => vec![tree.bend(bend).child, tree.bend(bend).parent],
            Zone::Form(form) => vec![tree.forms()[form.index()].panel],
        };
        let reach = moves_with.iter().map(|&panel| reach(stack, frames, &metal, panel)).fold(0.0, f64::max);
        Part { zone, metal, moves_with, reach }
    };
    metal.by_zone().into_iter().map(part).collect()
}

/// How far metal that moves with a panel comes at most: a corner of the box around it goes farthest, and thickness,
/// radius and cuts move its surface besides.
fn reach(stack: &Stack<'_, '_>, frames: &[Placement<f64>], metal: &Metal<'_>, panel: PanelId) -> f64 {
    let Some(extent) = metal.extent() else { return 0.0 };
    let ends = [extent.low, extent.high];
    let corner = |i: usize| Vec3::new(ends[i & 1].x, ends[i >> 1 & 1].y, ends[i >> 2].z);
    let axes = [Vec3::new(1.0, 0.0, 0.0), Vec3::new(0.0, 1.0, 0.0), Vec3::new(0.0, 0.0, 1.0)];
    let thickness = stack.made().nominal_thickness();
    let approach = |at: Vec3<f64>, toward: Vec3<f64>| {
        let at = frames[panel.index()].coordinates(at);
        let (at, depth) = (Point2::new(at.x, at.y), -at.z / thickness);
        let place = MetalPlace::Flat(MaterialPoint { panel, at, depth, cuts: Vec::new() });
        Approach { place, toward, distance: 0.0 }
    };
    let all: Vec<Approach> = (0..8).flat_map(|i| axes.map(|axis| approach(corner(i), axis))).collect();
    let moves: Vec<f64> = stack.closings(&all).into_iter().map(|closing| closing.by).collect();
    let corners = moves.chunks(3).map(|by| Vec3::new(by[0], by[1], by[2]).length()).fold(0.0, f64::max);
    let limits = stack.made().deviations().iter().zip(stack.limits());
    let own = limits.filter(|(deviation, _)| match deviation {
        Deviation::Thickness => true,
        Deviation::Cut(of, _) | Deviation::Radius(of) | Deviation::BendPlace(of) => *of == panel,
        Deviation::Turn(_) => false,
    });
    corners + own.map(|(_, limit)| limit).sum::<f64>()
}

/// The place that comes nearest to a neighbour.
struct Hunt<'a, 'p, 'h> {
    stack: &'a Stack<'p, 'h>,
    folded: Folded<'a, 'h>,
    obstacle: Obstacle<'a>,
    /// How far the obstacle is moved away so that it is free of the metal.
    away: Vec3<f64>,
    best: Found,
    /// Points of the zone that were looked at already.
    known: Vec<Vec3<f64>>,
}

/// A place, and how near it comes.
struct Found {
    zone: Zone,
    approach: Approach,
    least: f64,
}

/// Where a climb stands.
#[derive(Clone)]
struct Step {
    /// How much the deviations are off.
    off: Vec<f64>,
    /// The point of the zone, as drawn, that came nearest before.
    at: Vec3<f64>,
}

/// How many times smaller deviations are than they may be where places are told apart that are equally near as
/// drawn.
const FINELY: f64 = 1e-3;

impl<'a, 'p, 'h> Hunt<'a, 'p, 'h> {
    fn new(
        stack: &'a Stack<'p, 'h>,
        folded: Folded<'a, 'h>,
        pieces: &'a [crate::machine::Piece],
        found: &Clearance,
    ) -> Self {
        let obstacle = Obstacle::new(pieces);
        let is_apart = found.distance > tolerance::CLEARANCE_MM;
        let away = found.direction.times(if is_apart { 0.0 } else { tolerance::LIFT_MM - found.distance });
        let place = folded.place(found.zone, found.on_part, found.direction);
        let approach = Approach { place, toward: found.direction, distance: found.distance };
        let by = stack.closings(std::slice::from_ref(&approach))[0].by;
        let best = Found { zone: found.zone, least: found.distance - by, approach };
        Self { stack, folded, obstacle, away, best, known: Vec::new() }
    }

    fn ended(mut self, parts: &[Part<'_>]) -> ClearanceSpread {
        for part in parts {
            self.look_at(part);
        }
        let Found { zone, approach, least } = self.best;
        let spread = self.stack.approaches(&[approach]).remove(0);
        ClearanceSpread { spread, least, zone }
    }

    /// Looks for places of one zone.
    fn look_at(&mut self, part: &Part<'_>) {
        let boxes = part.metal.extent().zip(self.obstacle.extent());
        let off = boxes.map_or(f64::INFINITY, |(own, theirs)| own.distance_to(theirs.moved(self.away)));
        if off - part.reach - self.away.length() > self.best.least {
            return;
        }
        let matters = self.best.least + part.reach + self.away.length();
        let first = match nearest_moved(&part.metal, &self.obstacle, self.away, matters) {
            Some(Nearest::Apart(first, _)) => first.points[0],
            Some(Nearest::Meet(..)) | None => return,
        };
        let nothing = vec![0.0; self.stack.limits().len()];
        self.known.clear();
        for &panel in &part.moves_with {
            let mut reached = Vec::new();
            reached.extend(self.climb(part, panel, Step { off: nothing.clone(), at: first }, FINELY));
            for off in self.starts(panel) {
                reached.extend(self.climb(part, panel, Step { off, at: first }, FINELY));
            }
            for nearest in reached {
                let farthest = Step { off: nearest.off.iter().map(|off| -off).collect(), at: nearest.at };
                self.climb(part, panel, nearest, 1.0);
                self.climb(part, panel, farthest, 1.0);
            }
        }
    }

    /// One thing off at a time: each turn and place of a bend that moves a panel, to either side.
    fn starts(&self, panel: PanelId) -> Vec<Vec<f64>> {
        let mut moved_by = vec![panel];
        let mut at = panel;
        while let Some(bend) = self.folded.tree.panel(at).bend {
            at = self.folded.tree.bend(bend).parent;
            moved_by.push(at);
        }
        let deviations = self.stack.made().deviations().iter().zip(self.stack.limits()).enumerate();
        let counts = |deviation: &Deviation| match deviation {
            Deviation::Turn(of) | Deviation::BendPlace(of) => moved_by.contains(of),
            Deviation::Thickness | Deviation::Radius(_) | Deviation::Cut(..) => false,
        };
        deviations
            .filter(|(_, (deviation, limit))| counts(deviation) && **limit > 0.0)
            .flat_map(|(index, (_, &limit))| [limit, -limit].map(|off| (index, off)))
            .map(|(index, off)| {
                let mut start = vec![0.0; self.stack.limits().len()];
                start[index] = off;
                start
            })
            .collect()
    }

    /// From where deviations bring a zone on to where the place that is nearest there comes nearest; the last step of
    /// the way, if it went to a place that was not known.
    fn climb(&mut self, part: &Part<'_>, panel: PanelId, mut step: Step, scale: f64) -> Option<Step> {
        const MOST_STEPS: usize = 8;
        let mut reached: Option<(f64, Step)> = None;
        for _ in 0..MOST_STEPS {
            let scaled: Vec<f64> = step.off.iter().map(|off| off * scale).collect();
            let Some(at) = self.nearest(part, panel, &scaled, step.at) else { break };
            if self.known.iter().any(|known| (*known - at).length() <= tolerance::LIFT_MM) {
                break;
            }
            self.known.push(at);
            let Some(approach) = self.as_drawn(part, at) else { break };
            let closing = self.stack.closings(std::slice::from_ref(&approach)).remove(0);
            let least = approach.distance - closing.by;
            if least < self.best.least - tolerance::SNAP_MM {
                self.best = Found { zone: part.zone, approach, least };
            }
            if reached.as_ref().is_some_and(|(known, _)| least >= known - tolerance::SNAP_MM) {
                break;
            }
            step = Step { off: closing.deviations, at };
            reached = Some((least, step.clone()));
        }
        reached.map(|(_, step)| step)
    }

    /// The nearest point of a zone when it has moved with a panel, where it lies as drawn; none if it would reach into
    /// the obstacle whatever share of the way it moved. A point of the zone tells how far to look.
    fn nearest(&self, part: &Part<'_>, panel: PanelId, off: &[f64], known: Vec3<f64>) -> Option<Vec3<f64>> {
        const MOST_HALVINGS: u32 = 12;
        let before = self.folded.frames[panel.index()];
        (0..MOST_HALVINGS).find_map(|halvings| {
            let share = 1.0 / f64::from(1_u32 << halvings);
            let off: Vec<f64> = off.iter().map(|off| off * share).collect();
            let after = self.stack.made().pose(&off).panel(panel).placement;
            let motion = back(before, after, self.away);
            let limit = nearest_to_point(known, &self.obstacle, motion)?.distance;
            match nearest_moved(&part.metal, &self.obstacle, motion, limit) {
                Some(Nearest::Apart(apart, _)) => Some(apart.points[0]),
                Some(Nearest::Meet(..)) => None,
                None => Some(known),
            }
        })
    }

    /// The place of a zone about a point that is nearest as drawn: from each side to the point of the other one that
    /// is nearest to it, until both stay.
    fn as_drawn(&self, part: &Part<'_>, mut on_part: Vec3<f64>) -> Option<Approach> {
        const MOST_ROUNDS: usize = 40;
        let mut round = 0;
        loop {
            let drawn = nearest_to_point(on_part, &self.obstacle, self.away)?;
            let theirs = Obstacle::of_point(drawn.points[1]);
            let nothing = Vec3::new(0.0, 0.0, 0.0);
            let nearer = nearest_moved(&part.metal, &theirs, nothing, drawn.distance - tolerance::SNAP_MM);
            round += 1;
            match nearer {
                Some(Nearest::Apart(back, _)) if round < MOST_ROUNDS => on_part = back.points[0],
                Some(Nearest::Apart(..)) | None => {
                    let toward = drawn.normal;
                    let place = self.folded.place(part.zone, on_part, toward);
                    return Some(Approach {
                        place,
                        toward,
                        distance: drawn.distance - self.away.dot(toward),
                    });
                }
                Some(Nearest::Meet(..)) => return None,
            }
        }
    }
}

/// What an obstacle does, seen from metal that goes from one placement to another, if it is moved away first.
fn back(before: Placement<f64>, after: Placement<f64>, away: Vec3<f64>) -> Placement<f64> {
    let seen = |v: Vec3<f64>| before.direction(v.dot(after.x), v.dot(after.y), v.dot(after.n));
    let origin = after.coordinates(away);
    Placement {
        origin: before.point(origin.x, origin.y, origin.z),
        x: seen(Vec3::new(1.0, 0.0, 0.0)),
        y: seen(Vec3::new(0.0, 1.0, 0.0)),
        n: seen(Vec3::new(0.0, 0.0, 1.0)),
    }
}
