//! Where a flange sits on its panel: the drawn sides, and the numbers of a flange in its panel's frame.
//!
//! Depths count from a drawn edge inwards, places along an edge by the x of the flange on it.
//! Invariant: plain geometry of one flange and one side; knows nothing of neighbours.

use crate::dimension::BendPose;
use crate::geom::{Curve, Point2, Segment, Vec2};
use crate::history::Number;
use crate::history::feature::{CornerRelief, Flange, NotchSize, Relief};
use crate::ident::PanelId;
use crate::quantity::tolerance;

use super::CreaseSpan;
use super::corner_seam::{EndLine, FlangeSide};

/// Smallest relief width in mm. Source: fabrication-service guideline `width ≥ max(t, 0.030 in)`.
const RELIEF_WIDTH_MM: f64 = 0.762;

/// A panel as drawn, before its own flanges take their part: sides counter-clockwise.
#[derive(Clone, Debug)]
pub(super) struct Drawn {
    pub(super) sides: Vec<Side>,
    /// Of the bend it hangs on; its side is the first one.
    pub(super) crease: Option<CreaseSpan>,
}

impl Drawn {
    /// Whether nothing flat lies behind the bend it hangs on.
    pub(super) fn is_only_a_bend(&self) -> bool {
        self.crease.is_some()
            && self.sides.iter().all(|side| {
                let Segment { start, end, curve, .. } = side.piece;
                curve == Curve::Line && start.y.abs().max(end.y.abs()) <= tolerance::SNAP_MM
            })
    }
}

/// A side of a drawn panel.
#[derive(Clone, Copy, Debug)]
pub(super) struct Side {
    /// Index of the drawn edge in the skeleton's panel.
    pub(super) edge: usize,
    pub(super) piece: Segment,
}

/// The cut beside a bend that ends within its edge, in mm.
#[derive(Clone, Copy, Debug)]
pub(super) struct ReliefCut {
    pub(super) shape: CutShape,
    pub(super) width: f64,
    /// Beyond the line where the bend starts.
    pub(super) depth: f64,
}

/// How the cut beside a bend looks.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum CutShape {
    /// A notch with two square corners; a tear is a very narrow one.
    Square,
    /// A notch that ends in a half circle.
    Round,
    /// No notch: the edge beside the bend lies at the bend's start.
    Level,
}

/// What is done at a corner where two bends meet, with its size in mm.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct CornerCut {
    pub(super) shape: CornerShape,
    /// How far both bends stop short of their common corner.
    pub(super) size: f64,
}

impl CornerCut {
    /// The bends meet in a point.
    pub(super) const TEAR: Self = Self { shape: CornerShape::Uncut, size: 0.0 };
}

/// What the panel loses at a corner where two bends meet.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum CornerShape {
    /// A rhombus along both bends; a square at a right angle.
    Square,
    /// A circle about the corner.
    Round,
    /// Nothing.
    Uncut,
}

/// One flange on a side of a panel.
#[derive(Clone, Copy)]
pub(super) struct Seat<'h> {
    pub(super) panel: PanelId,
    pub(super) flange: &'h Flange,
    /// Index of the side it stands on.
    pub(super) side: usize,
    pub(super) bend: BendPose<f64>,
    pub(super) relief: ReliefCut,
    /// What the flange asks for where its bend meets a neighbour's; none to follow the neighbour.
    pub(super) corner: Option<CornerCut>,
    /// Cuts of its left and right side by seams.
    pub(super) cuts: [Option<EndLine>; 2],
    /// How far the bend was asked to stop short of the drawn edge's left and right end, in mm.
    pub(super) insets: [f64; 2],
}

impl<'h> Seat<'h> {
    /// A flange without seams. Reliefs by rule: width `max(t, 0.762 mm)` (fabrication-service guideline),
    /// depth `t + r` past the start of the bend (common practice, no source); at corners `t + r`, at least
    /// 0.762 mm (the same depth for both bends).
    pub(super) fn new(
        panel: PanelId,
        flange: &'h Flange,
        side: usize,
        bend: BendPose<f64>,
        thickness: f64,
        free: &[f64],
    ) -> Self {
        let size = |number: Option<&Number>, rule: f64| number.map_or(rule, |n| n.evaluate(free));
        let notch = |shape, asked: &NotchSize| {
            let width = size(asked.width.as_ref(), thickness.max(RELIEF_WIDTH_MM));
            let depth = size(asked.depth.as_ref(), (thickness + bend.inside_radius).max(0.5 * width));
            ReliefCut { shape, width, depth }
        };
        let slit = |shape| ReliefCut { shape, width: tolerance::TEAR_MM, depth: 0.0 };
        let relief = match &flange.relief {
            Relief::Square(asked) => notch(CutShape::Square, asked),
            Relief::Round(asked) => notch(CutShape::Round, asked),
            Relief::Tear => slit(CutShape::Square),
            Relief::None => slit(CutShape::Level),
        };
        let corner = flange.corner_relief.as_ref().map(|asked| {
            let rule = (thickness + bend.inside_radius).max(RELIEF_WIDTH_MM);
            let by = |shape, asked: &Option<Number>| CornerCut { shape, size: size(asked.as_ref(), rule) };
            match asked {
                CornerRelief::Square(asked) => by(CornerShape::Square, asked),
                CornerRelief::Round(asked) => by(CornerShape::Round, asked),
                CornerRelief::None(asked) => by(CornerShape::Uncut, asked),
                CornerRelief::Tear => CornerCut::TEAR,
            }
        });
        let insets = [&flange.left, &flange.right].map(|end| end.inset.evaluate(free));
        Self { panel, flange, side, bend, relief, corner, cuts: [None; 2], insets }
    }

    /// How far the bend was asked to stop short of one end of the drawn edge, in mm.
    pub(super) fn inset(&self, end: FlangeSide) -> f64 {
        self.insets[end.index()]
    }

    /// Angle in degrees by which the side at one end leans inwards.
    pub(super) fn taper(&self, end: FlangeSide) -> &'h Number {
        match end {
            FlangeSide::Left => &self.flange.left.taper,
            FlangeSide::Right => &self.flange.right.taper,
        }
    }

    /// The place `inset` mm from one end of the drawn edge.
    pub(super) fn x_from_end(&self, end: FlangeSide, inset: f64) -> f64 {
        match end {
            FlangeSide::Left => inset,
            FlangeSide::Right => self.bend.edge_length - inset,
        }
    }

    /// How far this x lies from one end of the drawn edge, along the edge inwards, in mm.
    pub(super) fn inset_of_x(&self, end: FlangeSide, x: f64) -> f64 {
        match end {
            FlangeSide::Left => x,
            FlangeSide::Right => self.bend.edge_length - x,
        }
    }

    /// How far a point lies from one end of the drawn edge, along the edge inwards, in mm.
    pub(super) fn inset_of(&self, end: FlangeSide, p: Point2) -> f64 {
        self.inset_of_x(end, self.x_of(p))
    }

    /// The point at this x and depth inwards of the drawn edge, in the panel's frame.
    pub(super) fn at(&self, x: f64, depth: f64) -> Point2 {
        let along = Vec2::new(self.bend.along[0], self.bend.along[1]);
        let outward = Vec2::new(self.bend.outward[0], self.bend.outward[1]);
        let crease = Point2::new(self.bend.origin[0], self.bend.origin[1]);
        crease + along * x + outward * (self.bend.setback - depth)
    }

    /// The flange's x of a point of the panel.
    pub(super) fn x_of(&self, p: Point2) -> f64 {
        (p - Point2::new(self.bend.origin[0], self.bend.origin[1]))
            .dot(Vec2::new(self.bend.along[0], self.bend.along[1]))
    }
}
