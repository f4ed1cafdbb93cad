//! The pose: where every panel of a skeleton lies for given values of the free numbers.
//!
//! One formula over [`Scalar`]. A bend through the signed turn `a` (positive towards the inner face) on an
//! edge with direction `e`, outward normal `o` and panel normal `n` gives the child panel the axes
//! `x' = e`, `y' = o cos a + n sin a`, `n' = −o sin a + n cos a`. Its axis lies `r` above the inner face
//! for `a > 0` and `r + t` below it for `a < 0`. Derivation: `docs/math/fold-map.md`.
//!
//! Invariant: `x` of a flange counts from the end of the drawn edge that is on the left when one looks at
//! the inner face with the bend at the bottom; `y` from the line where the bend ends.

use crate::geom::{Motion2, Placement, Point2, Scalar, Vec3};
use crate::history::feature::{Flange, FoldSide, HeldFace};
use crate::history::{EdgeShape, Number, Profile, SheetFace};
use crate::ident::PanelId;
use crate::quantity::maths;
use crate::stock::{BendRule, LengthDatum, Sheet, datum_setback};

use super::flange_outline::{FlangeCorners, drawn_corners};
use super::line_bend::{FlatFrame, LinePose};
use super::skeleton::{LinePart, SkeletonLine};
use super::{Skeleton, SkeletonPanel, Source};

/// What a pose needs to know of the sheet, in mm.
#[derive(Clone, Copy, Debug)]
pub struct SheetNumbers<'s> {
    /// Thickness.
    pub thickness: f64,
    /// Inside radius of bends that have none of their own.
    pub inside_radius: f64,
    /// Where K comes from.
    pub bend_rule: &'s BendRule,
}

impl<'s> From<&'s Sheet> for SheetNumbers<'s> {
    fn from(sheet: &'s Sheet) -> Self {
        Self {
            thickness: sheet.thickness.length().to_mm(),
            inside_radius: sheet.inside_radius.length().to_mm(),
            bend_rule: &sheet.bend_rule,
        }
    }
}

/// A drawn corner in a panel's own coordinates, in mm.
pub type DrawnCorner<S> = [S; 2];

/// Where the panels lie.
#[derive(Clone, Debug)]
pub struct Pose<S> {
    /// One for each panel of the skeleton.
    pub panels: Vec<PanelPose<S>>,
    /// Thickness of the sheet in mm.
    pub thickness: S,
}

/// Where one panel lies and what was drawn on it.
#[derive(Clone, Debug)]
pub struct PanelPose<S> {
    /// The panel's own frame in space.
    pub placement: Placement<S>,
    /// Drawn corners in the panel's frame, counter-clockwise; edge `i` leaves corner `edge_order[i]`. A piece
    /// of a parted panel has those of the whole panel.
    pub corners: Vec<DrawnCorner<S>>,
    /// Position among the corners at which drawn edge `i` starts when run counter-clockwise.
    pub edge_order: Vec<usize>,
    /// What the panel's own drawn coordinates have to be shifted by along y to become frame coordinates.
    pub drawn_shift: S,
    /// The bend it hangs on; none for the base panel.
    pub bend: Option<BendPose<S>>,
    /// A point of the panel for measuring, in its frame.
    pub anchor: DrawnCorner<S>,
    /// The lines that part it, in order, in its flat drawing; none on a piece.
    pub lines: Vec<LinePose<S>>,
    /// Shift of each corner by the lines before it; empty if there are none.
    pub corner_shifts: Vec<DrawnCorner<S>>,
    /// Where it lies in the flat drawing of the panel that it is a piece of.
    pub in_flat: FlatFrame<S>,
    /// How far outwards of its drawn place each drawn edge lies as it is made, in mm; empty if everything is
    /// made as drawn.
    pub(super) edges_made: Vec<S>,
}

/// Numbers of one bend.
#[derive(Clone, Copy, Debug)]
pub struct BendPose<S> {
    /// Turn in rad, above zero whichever way the bend goes.
    pub turn: S,
    /// Inside radius in mm.
    pub inside_radius: S,
    /// Length of the flange as asked for, in mm; zero behind a drawn line and where an outline says the shape.
    pub length: S,
    /// Length of the flat behind the bend before any line parts it, in mm; zero where `length` is said to be.
    pub flat: S,
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
        let drawn = DrawnEdge { start: self.corners[at], end: self.corners[(at + 1) % self.corners.len()] };
        self.edges_made.get(index).map_or(drawn, |&outwards| drawn.moved(outwards))
    }

    /// A point of the panel for measuring: the middle of the bend's end, or of the first drawn edge.
    #[must_use]
    pub fn anchor(&self) -> Vec3<S> {
        self.placement.point(self.anchor[0], self.anchor[1], S::constant(0.0))
    }

    /// Makes the drawn corners a panel.
    fn new(
        placement: Placement<S>,
        corners: Vec<DrawnCorner<S>>,
        edge_order: Vec<usize>,
        drawn_shift: S,
        bend: Option<BendPose<S>>,
    ) -> Self {
        let anchor = {
            let (a, b) = (corners[edge_order[0]], corners[(edge_order[0] + 1) % corners.len()]);
            [(a[0] + b[0]).scaled(0.5), (a[1] + b[1]).scaled(0.5)]
        };
        Self {
            placement,
            corners,
            edge_order,
            drawn_shift,
            bend,
            anchor,
            lines: Vec::new(),
            corner_shifts: Vec::new(),
            in_flat: FlatFrame::identity(),
            edges_made: Vec::new(),
        }
    }

    /// Draws a line on the panel's flat drawing and shifts the corners behind it.
    pub(super) fn draw_line(&mut self, line: LinePose<S>, beyond: &[usize]) {
        let zero = S::constant(0.0);
        self.corner_shifts.resize(self.corners.len(), [zero, zero]);
        for &corner in beyond {
            self.corners[corner] = line.grown(self.corners[corner]);
            let shift = &mut self.corner_shifts[corner];
            *shift = line.grown(*shift);
        }
        self.lines.push(line);
    }
}

impl<S: Scalar> BendPose<S> {
    /// Frame of the panel behind the bend, given that of the parent and the sign of the side.
    pub(super) fn child_frame(&self, parent: &Placement<S>, sign: f64, thickness: S) -> Placement<S> {
        let zero = S::constant(0.0);
        let (sin, cos) = self.turn.scaled(sign).sin_cos();
        let o = parent.direction(self.outward[0], self.outward[1], zero);
        let n = parent.n;
        // Radius of the inner face about the bend's axis: the inside one upwards, the outside one downwards.
        let face_radius = if sign > 0.0 { self.inside_radius } else { self.inside_radius + thickness };
        Placement {
            origin: parent.point(self.origin[0], self.origin[1], zero)
                + o.times(face_radius * sin.scaled(sign))
                + n.times((face_radius - face_radius * cos).scaled(sign)),
            x: parent.direction(self.along[0], self.along[1], zero),
            y: o.times(cos) + n.times(sin),
            n: n.times(cos) - o.times(sin),
        }
    }
}

impl PanelPose<f64> {
    /// Brings something drawn about a place of the panel into the flat drawing that it belongs to: behind a
    /// line it is shifted by the line's growth, but not turned or stretched.
    #[must_use]
    pub fn drawn_in_flat(&self, place: Point2) -> Motion2 {
        let flat = self.in_flat.motion();
        let grown = |p: [f64; 2], line: &LinePose<f64>| if line.behind(p) > 0.0 { line.grown(p) } else { p };
        let placed = flat.point(place);
        let [x, y] = self.lines.iter().fold([placed.x, placed.y], grown);
        Motion2 { x_axis: flat.x_axis, origin: Point2::new(x, y) }
    }
}

impl BendPose<f64> {
    /// The same bend with its place in the flat drawing of the panel that its parent is a piece of.
    #[must_use]
    pub fn in_flat(mut self, parent: &FlatFrame<f64>) -> Self {
        self.origin = parent.point(self.origin);
        self.along = parent.vector(self.along);
        self.outward = parent.vector(self.outward);
        self
    }
}

impl<S: Scalar> DrawnEdge<S> {
    /// Length in mm and unit direction.
    pub fn length_and_direction(&self) -> (S, DrawnCorner<S>) {
        let (dx, dy) = (self.end[0] - self.start[0], self.end[1] - self.start[1]);
        let length = (dx * dx + dy * dy).sqrt();
        (length, [dx / length, dy / length])
    }

    /// The edge moved outwards.
    fn moved(&self, outwards: S) -> Self {
        let (_, [dx, dy]) = self.length_and_direction();
        let moved = |[x, y]: DrawnCorner<S>| [x + dy * outwards, y - dx * outwards];
        Self { start: moved(self.start), end: moved(self.end) }
    }
}

impl Skeleton<'_> {
    /// Poses the skeleton for these values of the free numbers (mm or degrees, indexed by id).
    ///
    /// Numbers that make no sense (an edge without length) give non-finite values, which the caller meets as
    /// such; nothing panics.
    #[must_use]
    pub fn pose<S: Scalar>(&self, sheet: SheetNumbers<'_>, free: &[S]) -> Pose<S> {
        let mut panels: Vec<PanelPose<S>> = Vec::with_capacity(self.panels().len());
        for panel in self.panels() {
            let mut pose = panel_pose(panel, &panels, sheet, free);
            for line in &panel.lines {
                let drawn = line_pose(line, &pose, sheet, free);
                pose.draw_line(drawn, &line.beyond);
            }
            panels.push(pose);
        }
        Pose { panels, thickness: S::constant(sheet.thickness) }
    }
}

/// The pose of one panel, given those before it; without the lines that part it.
pub(super) fn panel_pose<S: Scalar>(
    panel: &SkeletonPanel<'_>,
    before: &[PanelPose<S>],
    sheet: SheetNumbers<'_>,
    free: &[S],
) -> PanelPose<S> {
    match panel.source {
        Source::Base(base) => base_pose(&base.outline, free),
        Source::Flange { flange, parent, edge, .. } => {
            let turn = panel.turned.unwrap_or(&flange.turn);
            flange_pose(&before[parent.index()], edge, flange, turn, sheet, free)
        }
        Source::Piece { root, line, part, parent, side } => {
            piece_pose(&before[root.index()], line, part, &before[parent.index()], side, sheet)
        }
    }
}

/// A line in the flat drawing of `root`, which has all lines before it already.
pub(super) fn line_pose<S: Scalar>(
    line: &SkeletonLine<'_>,
    root: &PanelPose<S>,
    sheet: SheetNumbers<'_>,
    free: &[S],
) -> LinePose<S> {
    let placed = |p: DrawnCorner<S>| match line.drawn_on {
        None => {
            let drawn = [p[0], p[1] + root.drawn_shift];
            line.behind.iter().fold(drawn, |p, &earlier| root.lines[earlier].grown(p))
        }
        Some((earlier, part)) => piece_frame(&root.lines[earlier], part).point(p),
    };
    line.spec.pose(line.turned, line.edge.map(|edge| root.edge(edge)), placed, sheet, free)
}

/// Where the piece behind a line lies in the flat drawing.
fn piece_frame<S: Scalar>(line: &LinePose<S>, part: LinePart) -> FlatFrame<S> {
    line.frame_at(match part {
        LinePart::Web => line.numbers.allowances[0],
        LinePart::Moved => line.numbers.developed,
    })
}

fn piece_pose<S: Scalar>(
    root: &PanelPose<S>,
    line: usize,
    part: LinePart,
    parent: &PanelPose<S>,
    side: FoldSide,
    sheet: SheetNumbers<'_>,
) -> PanelPose<S> {
    let drawn = &root.lines[line];
    let zero = S::constant(0.0);
    let in_flat = piece_frame(drawn, part);
    let last = &drawn.numbers.allowances[match part {
        LinePart::Web => 0,
        LinePart::Moved => 1,
    }];
    let bend_start = in_flat.point([zero, -*last]);
    let bend = BendPose {
        turn: drawn.numbers.turns[match part {
            LinePart::Web => 0,
            LinePart::Moved => 1,
        }],
        inside_radius: drawn.numbers.inside_radius,
        length: zero,
        flat: zero,
        setback: zero,
        edge_length: drawn.length,
        origin: parent.in_flat.coordinates(bend_start),
        along: parent.in_flat.turned_back(drawn.along),
        outward: parent.in_flat.turned_back(drawn.outward),
    };
    let corners = root.corners.iter().map(|&c| in_flat.coordinates(c)).collect();
    let placement = bend.child_frame(&parent.placement, side.sign(), S::constant(sheet.thickness));
    PanelPose {
        anchor: [drawn.length.scaled(0.5), zero],
        in_flat,
        ..PanelPose::new(placement, corners, root.edge_order.clone(), zero, Some(bend))
    }
}

impl<S> Pose<S> {
    /// The pose of one panel.
    #[must_use]
    pub fn panel(&self, id: PanelId) -> &PanelPose<S> {
        &self.panels[id.index()]
    }
}

impl<S: Scalar> Pose<S> {
    /// Where a face of the sheet lies along the normal of a panel, in mm.
    pub(super) fn depth(&self, face: SheetFace) -> S {
        match face {
            SheetFace::Inner => S::constant(0.0),
            SheetFace::Outer => -self.thickness,
        }
    }
}

fn base_pose<S: Scalar>(outline: &Profile, free: &[S]) -> PanelPose<S> {
    let run = CounterClockwise::new(outline, free);
    PanelPose::new(Placement::identity(), run.corners, run.edge_order, S::constant(0.0), None)
}

/// A drawn outline, run counter-clockwise.
pub(super) struct CounterClockwise<S> {
    pub(super) corners: Vec<DrawnCorner<S>>,
    /// Position among the corners at which drawn edge `i` starts.
    pub(super) edge_order: Vec<usize>,
    /// Whether it was drawn the other way round.
    pub(super) reversed: bool,
}

impl<S: Scalar> CounterClockwise<S> {
    pub(super) fn new(outline: &Profile, free: &[S]) -> Self {
        let mut corners: Vec<[S; 2]> =
            outline.corners.iter().map(|[x, y]| [x.evaluate(free), y.evaluate(free)]).collect();
        let count = corners.len();
        let mut edge_order: Vec<usize> = (0..count).collect();
        let shapes: Vec<&EdgeShape> = outline.edges.iter().map(|e| &e.shape).collect();
        let reversed = signed_area(&corners, &shapes, free) < 0.0;
        if reversed {
            // Edge i ran from corner i to i + 1; backwards it starts at what was corner i + 1.
            corners.reverse();
            edge_order = (0..count).map(|i| (2 * count - 2 - i) % count).collect();
        }
        Self { corners, edge_order, reversed }
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
    turn: &Number,
    sheet: SheetNumbers<'_>,
    free: &[S],
) -> PanelPose<S> {
    let rad = |number: &Number| number.evaluate(free).scaled(maths::PI / 180.0);
    let thickness = S::constant(sheet.thickness);
    let turn = rad(turn);
    let inside_radius =
        flange.inside_radius.as_ref().map_or(S::constant(sheet.inside_radius), |r| r.evaluate(free));
    let setback_to = |datum| datum_setback(datum, turn, inside_radius, thickness);
    let setback = setback_to(match flange.holds {
        HeldFace::Outer => LengthDatum::Outside,
        HeldFace::Inner => LengthDatum::Inside,
        HeldFace::BendStart => LengthDatum::Tangent,
    });
    let datum = setback_to(flange.length_from.datum());
    let length = flange.length.evaluate(free);
    let flat = if flange.outline.is_some() { S::constant(0.0) } else { length - datum };

    let drawn = parent.edge(edge);
    let (edge_length, direction) = drawn.length_and_direction();
    let along = [-direction[0], -direction[1]];
    let outward = [direction[1], -direction[0]];
    let origin = [drawn.end[0] - outward[0] * setback, drawn.end[1] - outward[1] * setback];
    let bend = BendPose { turn, inside_radius, length, flat, setback, edge_length, origin, along, outward };
    let placement = bend.child_frame(&parent.placement, flange.side.sign(), thickness);
    if let Some(outline) = &flange.outline {
        let FlangeCorners { corners, edge_order } = drawn_corners(outline, datum, free);
        return PanelPose::new(placement, corners, edge_order, -datum, Some(bend));
    }
    let zero = S::constant(0.0);
    let (left, right) = (flange.left.inset.evaluate(free), edge_length - flange.right.inset.evaluate(free));
    let lean = |taper: &Number| flat * rad(taper).tan();
    let corners = vec![
        [left, zero],
        [right, zero],
        [right - lean(&flange.right.taper), flat],
        [left + lean(&flange.left.taper), flat],
    ];
    PanelPose::new(placement, corners, vec![0, 1, 2, 3], -datum, Some(bend))
}
