//! The pose: where every panel of a skeleton lies for given values of the free numbers.
//!
//! One formula over [`Scalar`]. A bend through the signed turn `a` (positive towards the inner face) on an
//! edge with direction `e`, outward normal `o` and panel normal `n` gives the child panel the axes
//! `x' = e`, `y' = o cos a + n sin a`, `n' = −o sin a + n cos a`. Its axis lies `r` above the inner face
//! for `a > 0` and `r + t` below it for `a < 0`. Derivation: `docs/math/fold-map.md`.
//!
//! Invariant: `x` of a flange counts from the end of the drawn edge that is on the left when one looks at
//! the inner face with the bend at the bottom; `y` from the line where the bend ends.

use crate::geom::{Placement, Scalar, Vec3};
use crate::history::feature::{Flange, HeldFace, LengthFrom};
use crate::history::{EdgeShape, Number};
use crate::ident::PanelId;
use crate::quantity::maths;
use crate::stock::{LengthDatum, datum_setback};

use super::{Skeleton, Source};

/// What a pose needs to know of the sheet, in mm.
#[derive(Clone, Copy, Debug)]
pub struct SheetNumbers {
    /// Thickness.
    pub thickness: f64,
    /// Inside radius of bends that have none of their own.
    pub inside_radius: f64,
}

/// A drawn corner in a panel's own coordinates, in mm.
pub type DrawnCorner<S> = [S; 2];

/// Where the panels lie.
#[derive(Clone, Debug)]
pub struct Pose<S> {
    /// One for each panel of the skeleton.
    pub panels: Vec<PanelPose<S>>,
}

/// Where one panel lies and what was drawn on it.
#[derive(Clone, Debug)]
pub struct PanelPose<S> {
    /// The panel's own frame in space.
    pub placement: Placement<S>,
    /// Drawn corners in the panel's frame, counter-clockwise; edge `i` leaves corner `edge_order[i]`.
    pub corners: Vec<DrawnCorner<S>>,
    /// Position among the corners at which drawn edge `i` starts when run counter-clockwise.
    pub edge_order: Vec<usize>,
    /// What the panel's own drawn coordinates have to be shifted by along y to become frame coordinates.
    pub drawn_shift: S,
    /// The bend it hangs on; none for the base panel.
    pub bend: Option<BendPose<S>>,
}

/// Numbers of one bend.
#[derive(Clone, Copy, Debug)]
pub struct BendPose<S> {
    /// Turn in rad, above zero whichever way the bend goes.
    pub turn: S,
    /// Inside radius in mm.
    pub inside_radius: S,
    /// Length of the flange as asked for, in mm.
    pub length: S,
    /// Distance from the drawn edge inwards to the line where the bend starts, in mm.
    pub setback: S,
    /// Length of the drawn edge in mm.
    pub edge_length: S,
    /// Point of the crease at the flange's `x = 0`, in the parent's coordinates.
    pub origin: DrawnCorner<S>,
    /// Direction of the flange's x in the parent's coordinates, unit length.
    pub along: DrawnCorner<S>,
    /// Direction away from the parent panel in its coordinates, unit length.
    pub outward: DrawnCorner<S>,
}

/// A straight drawn edge in its panel's coordinates.
#[derive(Clone, Copy, Debug)]
pub struct DrawnEdge<S> {
    /// Where it starts, counter-clockwise.
    pub start: DrawnCorner<S>,
    /// Where it ends.
    pub end: DrawnCorner<S>,
}

impl<S: Scalar> PanelPose<S> {
    /// A drawn edge, run counter-clockwise.
    #[must_use]
    pub fn edge(&self, index: usize) -> DrawnEdge<S> {
        let at = self.edge_order[index];
        DrawnEdge { start: self.corners[at], end: self.corners[(at + 1) % self.corners.len()] }
    }

    /// A point of the panel for measuring: the middle of the bend's end, or of the first drawn edge.
    #[must_use]
    pub fn anchor(&self) -> Vec3<S> {
        let edge = self.edge(0);
        let middle = |a: S, b: S| (a + b).scaled(0.5);
        let [x, y] = [middle(edge.start[0], edge.end[0]), middle(edge.start[1], edge.end[1])];
        self.placement.point(x, y, S::constant(0.0))
    }
}

impl<S: Scalar> DrawnEdge<S> {
    /// Length in mm and unit direction.
    pub fn length_and_direction(&self) -> (S, DrawnCorner<S>) {
        let (dx, dy) = (self.end[0] - self.start[0], self.end[1] - self.start[1]);
        let length = (dx * dx + dy * dy).sqrt();
        (length, [dx / length, dy / length])
    }
}

impl Skeleton<'_> {
    /// Poses the skeleton for these values of the free numbers (mm or degrees, indexed by id).
    ///
    /// Numbers that make no sense (an edge without length) give non-finite values, which the caller meets as
    /// such; nothing panics.
    #[must_use]
    pub fn pose<S: Scalar>(&self, sheet: SheetNumbers, free: &[S]) -> Pose<S> {
        let mut panels: Vec<PanelPose<S>> = Vec::with_capacity(self.panels().len());
        for panel in self.panels() {
            let pose = match panel.source {
                Source::Base(base) => base_pose(&base.outline, free),
                Source::Flange { flange, parent, edge } => {
                    flange_pose(&panels[parent.index()], edge, flange, sheet, free)
                }
            };
            panels.push(pose);
        }
        Pose { panels }
    }
}

impl<S> Pose<S> {
    /// The pose of one panel.
    #[must_use]
    pub fn panel(&self, id: PanelId) -> &PanelPose<S> {
        &self.panels[id.index()]
    }
}

fn base_pose<S: Scalar>(outline: &crate::history::Profile, free: &[S]) -> PanelPose<S> {
    let mut corners: Vec<[S; 2]> =
        outline.corners.iter().map(|[x, y]| [x.evaluate(free), y.evaluate(free)]).collect();
    let count = corners.len();
    let mut edge_order: Vec<usize> = (0..count).collect();
    if signed_area(&corners, &outline.edges.iter().map(|e| &e.shape).collect::<Vec<_>>(), free) < 0.0 {
        // Edge i ran from corner i to i + 1; backwards it starts at what was corner i + 1.
        corners.reverse();
        edge_order = (0..count).map(|i| (2 * count - 2 - i) % count).collect();
    }
    PanelPose {
        placement: Placement::identity(),
        corners,
        edge_order,
        drawn_shift: S::constant(0.0),
        bend: None,
    }
}

/// Sign of the area inside the corners, with arcs as the bulges they add; values only.
fn signed_area<S: Scalar>(corners: &[[S; 2]], shapes: &[&EdgeShape], free: &[S]) -> f64 {
    let value = |p: [S; 2]| [p[0].value(), p[1].value()];
    let mut area = 0.0;
    for (i, shape) in shapes.iter().enumerate() {
        let ([ax, ay], [bx, by]) = (value(corners[i]), value(corners[(i + 1) % corners.len()]));
        area += 0.5 * (ax * by - bx * ay);
        let (dx, dy) = (bx - ax, by - ay);
        let chord = maths::hypot(dx, dy);
        // Area between arc and chord: r²(φ − sin φ)/2, positive when the arc bulges to the right of its
        // chord, which is outwards of a counter-clockwise outline.
        area += match shape {
            EdgeShape::Line => 0.0,
            EdgeShape::Arc(radius) => {
                let r = radius.evaluate(free).value();
                let half = maths::asin(0.5 * chord / r.abs());
                0.5 * r * r * (2.0 * half - maths::sin(2.0 * half)) * r.signum()
            }
            EdgeShape::ArcThrough([vx, vy]) => {
                let (px, py) = (vx.evaluate(free).value() - ax, vy.evaluate(free).value() - ay);
                let (qx, qy) = (bx - ax - px, by - ay - py);
                // The angle between the two legs at the point on the way is π − φ/2.
                let turn = 2.0 * maths::atan2(px * qy - py * qx, px * qx + py * qy);
                let r = 0.5 * chord / maths::sin(0.5 * turn.abs());
                0.5 * r * r * (turn.abs() - maths::sin(turn.abs())) * turn.signum()
            }
            EdgeShape::ArcRise(rise) => {
                let rise = rise.evaluate(free).value();
                let turn = 4.0 * maths::atan2(rise.abs(), 0.5 * chord);
                let r = 0.5 * chord / maths::sin(0.5 * turn);
                let area = 0.5 * r * r * (turn - maths::sin(turn)) * rise.signum();
                // A rise of zero has a radius without end and no area.
                if area.is_finite() { area } else { 0.0 }
            }
        };
    }
    area
}

fn flange_pose<S: Scalar>(
    parent: &PanelPose<S>,
    edge: usize,
    flange: &Flange,
    sheet: SheetNumbers,
    free: &[S],
) -> PanelPose<S> {
    let rad = |number: &Number| number.evaluate(free).scaled(maths::PI / 180.0);
    let thickness = S::constant(sheet.thickness);
    let turn = rad(&flange.turn);
    let inside_radius =
        flange.inside_radius.as_ref().map_or(S::constant(sheet.inside_radius), |r| r.evaluate(free));
    let setback_to = |datum| datum_setback(datum, turn, inside_radius, thickness);
    let setback = setback_to(match flange.holds {
        HeldFace::Outer => LengthDatum::Outside,
        HeldFace::Inner => LengthDatum::Inside,
        HeldFace::BendStart => LengthDatum::Tangent,
    });
    let datum = setback_to(match flange.length_from {
        LengthFrom::Outside => LengthDatum::Outside,
        LengthFrom::Inside => LengthDatum::Inside,
        LengthFrom::Tangent => LengthDatum::Tangent,
    });
    let length = flange.length.evaluate(free);
    let flat = length - datum;

    let drawn = parent.edge(edge);
    let (edge_length, direction) = drawn.length_and_direction();
    let along = [-direction[0], -direction[1]];
    let outward = [direction[1], -direction[0]];
    let origin = [drawn.end[0] - outward[0] * setback, drawn.end[1] - outward[1] * setback];
    let bend = BendPose { turn, inside_radius, length, setback, edge_length, origin, along, outward };

    let sign = flange.side.sign();
    let (sin, cos) = turn.scaled(sign).sin_cos();
    let zero = S::constant(0.0);
    let frame = &parent.placement;
    let o = frame.direction(outward[0], outward[1], zero);
    let n = frame.n;
    // Radius of the inner face about the bend's axis: the inside one upwards, the outside one downwards.
    let face_radius = if sign > 0.0 { inside_radius } else { inside_radius + thickness };
    let placement = Placement {
        origin: frame.point(origin[0], origin[1], zero)
            + o.times(face_radius * sin.scaled(sign))
            + n.times((face_radius - face_radius * cos).scaled(sign)),
        x: frame.direction(along[0], along[1], zero),
        y: o.times(cos) + n.times(sin),
        n: n.times(cos) - o.times(sin),
    };

    let (left, right) = (flange.left.inset.evaluate(free), edge_length - flange.right.inset.evaluate(free));
    let lean = |taper: &Number| flat * rad(taper).tan();
    let corners = vec![
        [left, zero],
        [right, zero],
        [right - lean(&flange.right.taper), flat],
        [left + lean(&flange.left.taper), flat],
    ];
    PanelPose { placement, corners, edge_order: vec![0, 1, 2, 3], drawn_shift: -datum, bend: Some(bend) }
}
