//! What a step looks like at the brake, seen along the bend.
//!
//! Job: outlines in the section across the bend, in the coordinates of the tools: y to the back, z up, the middle of
//! the die's opening as origin. Invariant: what is drawn is what was tried: the same cells and tools at the same
//! moment. Must not know: any output format, colours.

use crate::geom::{Point2, convex_hull};
use crate::quantity::maths;
use crate::solid::Zone;

use super::gauge::Gauge;
use super::steps::{Block, Choice, Steps};
use super::sweep::{Moment, Tool, Towards, WingCell};
use super::wings::{Mask, Wing};

/// Whether a bend is made.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Progress {
    /// Before this step.
    Done,
    /// In this step.
    Now,
    /// Later.
    ToDo,
}

/// What an outline is part of.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Drawn {
    /// A tool, cut.
    Tool(Tool),
    /// A panel or bump, cut.
    Panel,
    /// A bend, cut.
    Bend(Progress),
    /// Cut sheet that is in the way.
    InTheWay,
    /// Sheet before or behind the cut.
    Beyond,
}

/// One convex outline.
#[derive(Clone, Debug, PartialEq)]
pub struct Outline {
    /// What it is.
    pub of: Drawn,
    /// Its corners in mm.
    pub corners: Vec<Point2>,
}

/// The brake at the end of one step.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct StepPicture {
    /// Outlines, those behind first.
    pub outlines: Vec<Outline>,
}

/// Sides of the round part of the bend that is made.
const ROUND_SIDES: u32 = 12;

/// The brake at the end of a stroke, with the gauge where it stood before it, and with what is in the way if it cannot
/// be made: cut where that is.
pub(super) fn picture(
    steps: &mut Steps<'_>,
    done: Mask,
    choice: &Choice,
    gauge: Option<&Gauge>,
    block: Option<&Block>,
) -> StepPicture {
    let in_the_way: &[Zone] = match block {
        Some(Block::Tool { zone, .. } | Block::Room { zone, .. }) => &[*zone],
        Some(Block::Itself { zones }) => zones,
        Some(Block::Segments { .. }) | None => &[],
    };
    let facts = steps.facts[choice.stroke].clone();
    let half = facts.half[0];
    let stroke = steps.motion(choice);
    let moment = stroke.at(half);
    let mut beyond = Vec::new();
    let mut cut = Vec::new();
    let mut at = 0.5 * (facts.span[0] + facts.span[1]);
    for zone in in_the_way {
        let [low, high] = reach(steps, done, choice.stroke, *zone);
        if low < high {
            let inside = 0.1 * (high - low);
            at = at.clamp(low + inside, high - inside);
        }
    }
    for zone in 0..steps.wings.zones.len() {
        let Some((wing, mask)) = steps.wings.sides[choice.stroke][zone] else { continue };
        let towards = towards(choice, wing);
        let of = match steps.wings.zones[zone].zone {
            zone if in_the_way.contains(&zone) => Drawn::InTheWay,
            Zone::Panel(_) | Zone::Form(_) => Drawn::Panel,
            Zone::Bend(id) if done >> steps.wings.stroke_of[id.index()] & 1 == 1 => {
                Drawn::Bend(Progress::Done)
            }
            Zone::Bend(_) => Drawn::Bend(Progress::ToDo),
        };
        let index = steps.wings.cells_at(choice.stroke, zone, wing, done & mask);
        for cell in steps.wings.cells(index) {
            let placed = |p: &Point2| moment.place(p.x, p.y, towards);
            beyond.push(Outline {
                of: Drawn::Beyond,
                corners: cell.section.corners.iter().map(placed).collect(),
            });
            let corners: Vec<Point2> = cut_at(cell, at).iter().map(placed).collect();
            if corners.len() > 2 {
                cut.push(Outline { of, corners });
            }
        }
    }
    let mut outlines = beyond;
    // Side frames stand beside what is looked at.
    for piece in steps.pieces(choice.tools).filter(|piece| piece.tool != Tool::Frame) {
        let lift = if piece.tool.moves() { moment.tip } else { 0.0 };
        let corners = piece.section.corners.iter().map(|p| Point2::new(p.x, p.y + lift)).collect();
        outlines.push(Outline { of: Drawn::Tool(piece.tool), corners });
    }
    if let Some(gauge) = gauge {
        let [_, height, depth] = steps.finger();
        let corner = |y: f64, z: f64| Point2::new(gauge.distance + y, gauge.height + z);
        let half = 0.5 * height;
        let corners = vec![corner(0.0, -half), corner(depth, -half), corner(depth, half), corner(0.0, half)];
        outlines.push(Outline { of: Drawn::Tool(Tool::Gauge), corners });
    }
    outlines.extend(cut);
    outlines.extend(round(stroke.inside_radius(half), stroke.thickness, half, &moment));
    StepPicture { outlines }
}

/// From where to where along the bend a zone reaches; nowhere for the bend that is made.
fn reach(steps: &mut Steps<'_>, done: Mask, stroke: usize, zone: Zone) -> [f64; 2] {
    let nowhere = [f64::INFINITY, f64::NEG_INFINITY];
    let number = steps.wings.zones.iter().position(|known| known.zone == zone);
    let seen = number.and_then(|number| Some((number, steps.wings.sides[stroke][number]?)));
    let Some((number, (wing, mask))) = seen else { return nowhere };
    let index = steps.wings.cells_at(stroke, number, wing, done & mask);
    let cells = steps.wings.cells(index).iter().map(|cell| cell.along);
    cells.fold(nowhere, |[low, high], [from, to]| [low.min(from), high.max(to)])
}

fn towards(choice: &Choice, wing: Wing) -> Towards {
    if wing == choice.back { Towards::Back } else { Towards::Front }
}

/// The section of a cell at a place along the bend: distance from the wing's start, and height.
fn cut_at(cell: &WingCell, at: f64) -> Vec<Point2> {
    let corners = &cell.cell.corners;
    let mut crossed = Vec::new();
    for (i, a) in corners.iter().enumerate() {
        for b in &corners[i + 1..] {
            if (a.x - at) * (b.x - at) <= 0.0 && a.x != b.x {
                let p = *a + (*b - *a).times((at - a.x) / (b.x - a.x));
                crossed.push(Point2::new(p.y, p.z));
            }
        }
    }
    convex_hull(&crossed)
}

/// The bend that is made.
fn round(inner: f64, thickness: f64, half: f64, moment: &Moment) -> impl Iterator<Item = Outline> {
    let axis = moment.tip + inner;
    let at = move |radius: f64, angle: f64| {
        let (sin, cos) = maths::sin_cos(angle);
        Point2::new(radius * sin, axis - radius * cos)
    };
    let step = 2.0 * half / f64::from(ROUND_SIDES);
    (0..ROUND_SIDES).map(move |i| {
        let (from, to) = (step * f64::from(i) - half, step * f64::from(i + 1) - half);
        let outer = inner + thickness;
        Outline {
            of: Drawn::Bend(Progress::Now),
            corners: vec![at(inner, from), at(outer, from), at(outer, to), at(inner, to)],
        }
    })
}
