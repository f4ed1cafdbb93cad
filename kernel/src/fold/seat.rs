//! Where a flange sits on its panel: the drawn sides, and the numbers of a flange in its panel's frame.
//!
//! Depths count from a drawn edge inwards, places along an edge by the x of the flange on it.
//! Invariant: plain geometry of one flange and one side; knows nothing of neighbours.

use crate::dimension::BendPose;
use crate::geom::{Point2, Segment, Vec2};
use crate::history::Number;
use crate::history::feature::{Flange, FlangeEnd, ReliefShape};
use crate::ident::PanelId;
use crate::quantity::tolerance;

use super::CreaseSpan;
use super::corner_seam::FlangeSide;

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
            && self.sides.iter().all(|s| s.piece.start.y.abs().max(s.piece.end.y.abs()) <= tolerance::SNAP_MM)
    }
}

/// A side of a drawn panel.
#[derive(Clone, Copy, Debug)]
pub(super) struct Side {
    /// Index of the drawn edge in the skeleton's panel.
    pub(super) edge: usize,
    pub(super) piece: Segment,
}

/// Sizes of the relief beside a bend, in mm.
#[derive(Clone, Copy, Debug)]
pub(super) struct ReliefSize {
    pub(super) shape: ReliefShape,
    pub(super) width: f64,
    pub(super) depth: f64,
}

/// One flange on a side of a panel.
#[derive(Clone, Copy)]
pub(super) struct Seat<'h> {
    pub(super) panel: PanelId,
    pub(super) flange: &'h Flange,
    /// Index of the side it stands on.
    pub(super) side: usize,
    pub(super) bend: BendPose<f64>,
    pub(super) relief: ReliefSize,
}

impl<'h> Seat<'h> {
    /// Default relief: width `max(t, 0.762 mm)` (fabrication-service guideline), depth `t + r` past the start
    /// of the bend (common practice, no source).
    pub(super) fn new(
        panel: PanelId,
        flange: &'h Flange,
        side: usize,
        bend: BendPose<f64>,
        thickness: f64,
        free: &[f64],
    ) -> Self {
        let size = |number: &Option<Number>, rule: f64| number.as_ref().map_or(rule, |n| n.evaluate(free));
        let width = size(&flange.relief.width, thickness.max(RELIEF_WIDTH_MM));
        let depth = size(&flange.relief.depth, (thickness + bend.inside_radius).max(0.5 * width));
        Self { panel, flange, side, bend, relief: ReliefSize { shape: flange.relief.shape, width, depth } }
    }

    /// What was asked for at one end.
    pub(super) fn asked(&self, end: FlangeSide) -> &'h FlangeEnd {
        match end {
            FlangeSide::Left => &self.flange.left,
            FlangeSide::Right => &self.flange.right,
        }
    }

    /// The place `inset` mm from one end of the drawn edge.
    pub(super) fn x_from_end(&self, end: FlangeSide, inset: f64) -> f64 {
        match end {
            FlangeSide::Left => inset,
            FlangeSide::Right => self.bend.edge_length - inset,
        }
    }

    /// How far a point lies from one end of the drawn edge, along the edge inwards, in mm.
    pub(super) fn inset_of(&self, end: FlangeSide, p: Point2) -> f64 {
        match end {
            FlangeSide::Left => self.x_of(p),
            FlangeSide::Right => self.bend.edge_length - self.x_of(p),
        }
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
