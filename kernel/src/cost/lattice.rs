//! Patterns in which one blank is repeated: a unit of one or two blanks, in rows that are alike or take turns.
//!
//! Invariant: every pitch is one from which on the figures are clear of each other, so that any row and any
//! stack of them is. Must not know: sheets of stock, prices.

use crate::geom::{Contour, Motion2, Point2, Segment, Vec2, clearing_shift};
use crate::quantity::tolerance;

/// An outline turned by quarters, its lower left corner at the origin.
#[derive(Clone, Debug)]
pub(super) struct Turned {
    pub(super) quarter_turns: u8,
    /// From the outline's own coordinates.
    pub(super) motion: Motion2,
    /// Its extents in mm.
    pub(super) size: Vec2,
    segments: Vec<Segment>,
}

impl Turned {
    pub(super) fn new(outline: &Contour, quarter_turns: u8) -> Self {
        let axis = [Vec2::new(1.0, 0.0), Vec2::new(0.0, 1.0), Vec2::new(-1.0, 0.0), Vec2::new(0.0, -1.0)];
        let turn = Motion2 { x_axis: axis[usize::from(quarter_turns % 4)], origin: Point2::ORIGIN };
        let bounds = outline.moved(turn).bounding_box();
        let motion = Motion2 { origin: Point2::ORIGIN + (Point2::ORIGIN - bounds.min), ..turn };
        Self {
            quarter_turns: quarter_turns % 4,
            motion,
            size: bounds.max - bounds.min,
            segments: outline.moved(motion).segments().to_vec(),
        }
    }
}

/// One or two blanks that are repeated together, from their lower left corner.
#[derive(Clone, Debug)]
struct Unit {
    members: Vec<(Turned, Vec2)>,
    segments: Vec<Segment>,
    width: f64,
}

impl Unit {
    fn new(members: Vec<(Turned, Vec2)>) -> Self {
        let moved = |(turned, at): &(Turned, Vec2)| shifted(&turned.segments, *at);
        let segments = members.iter().flat_map(moved).collect();
        let width = members.iter().map(|(turned, at)| at.x + turned.size.x).fold(0.0, f64::max);
        Self { members, segments, width }
    }
}

/// Rows of units, every second one of the second kind.
#[derive(Clone, Debug)]
pub(super) struct Lattice {
    rows: [Row; 2],
    /// From one unit to the next.
    pitch: f64,
    /// From one row to the next one of its kind.
    period: f64,
}

#[derive(Clone, Debug)]
struct Row {
    unit: Unit,
    start: Vec2,
}

impl Lattice {
    /// Where blanks lie within `inner`, row by row: each with its lower left corner.
    pub(super) fn for_places(&self, inner: Vec2, mut place: impl FnMut(&Turned, Vec2)) {
        let room = inner + Vec2::new(tolerance::SNAP_MM, tolerance::SNAP_MM);
        for number in 0_u32.. {
            let row = &self.rows[usize::from(number % 2 == 1)];
            let y = row.start.y + f64::from(number / 2) * self.period;
            if y > inner.y {
                break;
            }
            for column in 0_u32.. {
                let x = row.start.x + f64::from(column) * self.pitch;
                if x > inner.x {
                    break;
                }
                for (turned, at) in &row.unit.members {
                    let corner = Vec2::new(x + at.x, y + at.y);
                    let far = corner + turned.size;
                    if far.x <= room.x && far.y <= room.y {
                        place(turned, corner);
                    }
                }
            }
        }
    }
}

/// Every pattern of an outline and its half turn, the simplest first.
pub(super) fn all(ahead: &Turned, back: &Turned, inner: Vec2, gap: f64) -> Vec<Lattice> {
    let here = Vec2::new(0.0, 0.0);
    let single = Unit::new(vec![(ahead.clone(), here)]);
    let turned = Unit::new(vec![(back.clone(), here)]);
    let mut lattices = rows_alike(&single, inner, gap);
    lattices.push(rows_in_turn(&single, &turned, inner, gap));
    for (first, second) in [(ahead, back), (back, ahead)] {
        let beside = along_x(&first.segments, &second.segments, gap);
        let above = along_y(&first.segments, &second.segments, gap);
        for at in [beside.map(|x| Vec2::new(x, 0.0)), above.map(|y| Vec2::new(0.0, y))].into_iter().flatten()
        {
            let pair = Unit::new(vec![(first.clone(), here), (second.clone(), at)]);
            lattices.extend(rows_alike(&pair, inner, gap));
        }
    }
    lattices
}

/// Equal rows, straight above each other or every second one half a pitch on.
fn rows_alike(unit: &Unit, inner: Vec2, gap: f64) -> Vec<Lattice> {
    let pitch = pitch_of(unit, gap);
    let straight = height_between(unit, unit, [0.0, pitch], inner, gap).unwrap_or(0.0);
    let half = 0.5 * pitch;
    // Rows of one kind are two steps apart.
    let staggered = height_between(unit, unit, [half, pitch], inner, gap).unwrap_or(0.0).max(0.5 * straight);
    let lattice = |shift: f64, step: f64| Lattice {
        rows: [
            Row { unit: unit.clone(), start: Vec2::new(0.0, 0.0) },
            Row { unit: unit.clone(), start: Vec2::new(shift, step) },
        ],
        pitch,
        period: 2.0 * step,
    };
    vec![lattice(0.0, straight), lattice(half, staggered)]
}

/// Rows of an outline and rows of its half turn.
fn rows_in_turn(unit: &Unit, turned: &Unit, inner: Vec2, gap: f64) -> Lattice {
    let pitch = pitch_of(unit, gap);
    let height = |low: &Unit, high: &Unit| height_between(low, high, [0.0, pitch], inner, gap).unwrap_or(0.0);
    let (first, second) = (height(unit, turned), height(turned, unit));
    Lattice {
        rows: [
            Row { unit: unit.clone(), start: Vec2::new(0.0, 0.0) },
            Row { unit: turned.clone(), start: Vec2::new(0.0, first) },
        ],
        pitch,
        period: (first + second).max(height(unit, unit)).max(height(turned, turned)),
    }
}

fn pitch_of(unit: &Unit, gap: f64) -> f64 {
    along_x(&unit.segments, &unit.segments, gap).expect("a figure meets itself")
}

/// How far a row must lie above another one when it starts `shift` further on; none if nothing meets.
fn height_between(low: &Unit, high: &Unit, [shift, pitch]: [f64; 2], inner: Vec2, gap: f64) -> Option<f64> {
    // Units that are farther away than the two kinds of row are wide never meet.
    let reach = low.width.max(high.width) + gap;
    // A row has no more steps than this.
    let steps = (inner.x / pitch).floor();
    let first = ((-reach - shift) / pitch).ceil().max(-steps);
    let last = ((reach - shift) / pitch).floor().min(steps);
    let mut highest: Option<f64> = None;
    let mut column = first;
    while column <= last {
        let beside = shifted(&high.segments, Vec2::new(column * pitch + shift, 0.0));
        if let Some(height) = along_y(&low.segments, &beside, gap) {
            highest = Some(highest.map_or(height, |known| known.max(height)));
        }
        column += 1.0;
    }
    highest
}

fn shifted(segments: &[Segment], by: Vec2) -> Vec<Segment> {
    let motion = Motion2 { origin: Point2::ORIGIN + by, ..Motion2::IDENTITY };
    segments.iter().map(|segment| segment.moved(motion)).collect()
}

fn along_x(fixed: &[Segment], moving: &[Segment], gap: f64) -> Option<f64> {
    clearing_shift(fixed, moving, gap)
}

/// Along y: a quarter turn to the right brings it to x.
fn along_y(fixed: &[Segment], moving: &[Segment], gap: f64) -> Option<f64> {
    let right = Motion2 { x_axis: Vec2::new(0.0, -1.0), origin: Point2::ORIGIN };
    let lying = |segments: &[Segment]| -> Vec<Segment> { segments.iter().map(|s| s.moved(right)).collect() };
    clearing_shift(&lying(fixed), &lying(moving), gap)
}
