//! Dimensions as relations over the pose.
//!
//! Invariant: which of two faces look at each other is decided once, at the start values, so that a residual
//! stays one smooth formula during a solve.

use crate::geom::{Plane3, Scalar, Vec3};
use crate::history::{DimensionKind, History, Number, Target};
use crate::ident::{DimensionId, PanelId};
use crate::quantity::{maths, tolerance};
use crate::solve::System;
use crate::solve::relation::{angle_between, plane_distance, point_distance};

use super::pose::{PanelPose, Pose, SheetNumbers};
use super::relation::{Drawn, Resolved, Sketched};
use super::skeleton::SkeletonFault;
use super::{DimensionFault, Skeleton};

/// What a dimension measures, resolved.
#[derive(Clone, Copy, Debug)]
pub(super) enum Measure {
    /// Between the faces at these depths (0 inner, −t outer) of two panels; `side` is the side of `b`'s
    /// normal on which `a` lies.
    Faces { a: PanelId, b: PanelId, depth_a: f64, depth_b: f64, side: f64 },
    /// Between two drawn edges of one panel, perhaps on two of its pieces; `side` is the side of `a` on which
    /// `b` lies.
    Edges { a: (PanelId, usize), b: (PanelId, usize), side: f64 },
    /// Between the normals of two panels.
    Angle { a: PanelId, b: PanelId },
}

/// Why a dimension cannot be measured.
pub(super) enum MeasureFault {
    Name(SkeletonFault),
    Dimension(DimensionFault),
}

/// Resolves what a dimension measures, at the start pose.
pub(super) fn measure_of(
    name: &str,
    kind: &DimensionKind,
    skeleton: &Skeleton<'_>,
    start: &Pose<f64>,
    thickness: f64,
) -> Result<Measure, MeasureFault> {
    let find = |panel| skeleton.find(panel).map_err(MeasureFault::Name);
    match kind {
        DimensionKind::Inside { a, b } | DimensionKind::Outside { a, b } => {
            let (pa, pb) = (find(a)?, find(b)?);
            if pa == pb {
                let fault = DimensionFault::SamePanel { dimension: name.to_owned(), a: a.clone() };
                return Err(MeasureFault::Dimension(fault));
            }
            let inside = matches!(kind, DimensionKind::Inside { .. });
            let (frame_a, frame_b) = (start.panel(pa), start.panel(pb));
            // Side of each panel's middle plane on which the other one's anchor lies.
            let side_of = |own: &PanelPose<f64>, other: &PanelPose<f64>| {
                let middle = own.placement.point(0.0, 0.0, -0.5 * thickness);
                let other_middle = other.anchor() - other.placement.n.times(0.5 * thickness);
                if (other_middle - middle).dot(own.placement.n) >= 0.0 { 1.0 } else { -1.0 }
            };
            let (b_from_a, a_from_b) = (side_of(frame_a, frame_b), side_of(frame_b, frame_a));
            // The inner face (depth 0) looks along the normal.
            let depth = |towards: f64| if (towards > 0.0) == inside { 0.0 } else { -thickness };
            Ok(Measure::Faces {
                a: pa,
                b: pb,
                depth_a: depth(b_from_a),
                depth_b: depth(a_from_b),
                side: a_from_b,
            })
        }
        DimensionKind::PanelWidth { a, b } => {
            let (edge_a, edge_b) = (
                skeleton.edge(a).map_err(MeasureFault::Name)?,
                skeleton.edge(b).map_err(MeasureFault::Name)?,
            );
            if skeleton.root(edge_a.0) != skeleton.root(edge_b.0) {
                let fault =
                    DimensionFault::TwoPanels { dimension: name.to_owned(), a: a.clone(), b: b.clone() };
                return Err(MeasureFault::Dimension(fault));
            }
            let side = if width(start, edge_a, edge_b, 1.0) >= 0.0 { 1.0 } else { -1.0 };
            Ok(Measure::Edges { a: edge_a, b: edge_b, side })
        }
        DimensionKind::Angle { a, b } => Ok(Measure::Angle { a: find(a)?, b: find(b)? }),
    }
}

impl Measure {
    /// The measure less `target`, in mm or rad.
    pub(super) fn residual<S: Scalar>(&self, pose: &Pose<S>, target: S) -> S {
        match *self {
            Self::Faces { a, b, depth_a, depth_b, side } => {
                let (a, b) = (pose.panel(a), pose.panel(b));
                let anchor = a.anchor() + a.placement.n.times(S::constant(depth_a));
                let (zero, depth) = (S::constant(0.0), S::constant(depth_b));
                let plane = Plane3 {
                    point: b.placement.point(zero, zero, depth),
                    normal: b.placement.n.times(S::constant(side)),
                };
                plane_distance(anchor, plane, target)
            }
            Self::Edges { a, b, side } => width(pose, a, b, side) - target,
            Self::Angle { a, b } => {
                angle_between(pose.panel(a).placement.n, pose.panel(b).placement.n, target)
            }
        }
    }

    /// How far from parallel the two things are between which a distance is measured, in rad; zero for an
    /// angle.
    pub(super) fn off_parallel(&self, pose: &Pose<f64>) -> f64 {
        let between = |a: Vec3<f64>, b: Vec3<f64>| {
            let angle = angle_between(a, b, 0.0);
            angle.min(maths::PI - angle)
        };
        match *self {
            Self::Faces { a, b, .. } => between(pose.panel(a).placement.n, pose.panel(b).placement.n),
            Self::Edges { a, b, .. } => {
                let direction = |(panel, edge): (PanelId, usize)| {
                    let panel = pose.panel(panel);
                    let (_, [x, y]) = panel.edge(edge).length_and_direction();
                    panel.placement.direction(x, y, 0.0)
                };
                between(direction(a), direction(b))
            }
            Self::Angle { .. } => 0.0,
        }
    }

    fn tolerance(&self) -> f64 {
        match self {
            Self::Faces { .. } | Self::Edges { .. } => tolerance::HELD_MM,
            Self::Angle { .. } => tolerance::HELD_RAD,
        }
    }

    /// What the engineer's unit of the measure is in the solver's: 1 for mm, π/180 for degrees.
    pub(super) fn unit(&self) -> f64 {
        match self {
            Self::Faces { .. } | Self::Edges { .. } => 1.0,
            Self::Angle { .. } => maths::PI / 180.0,
        }
    }
}

/// Distance of the middle of edge `b` from the line of edge `a` in the plane of `a`'s piece, inwards positive,
/// times `side`.
fn width<S: Scalar>(pose: &Pose<S>, a: (PanelId, usize), b: (PanelId, usize), side: f64) -> S {
    let (panel_a, panel_b) = (pose.panel(a.0), pose.panel(b.0));
    let (edge_a, edge_b) = (panel_a.edge(a.1), panel_b.edge(b.1));
    let (_, [dx, dy]) = edge_a.length_and_direction();
    let zero = S::constant(0.0);
    let middle = |i: usize| (edge_b.start[i] + edge_b.end[i]).scaled(0.5);
    point_distance(
        panel_a.placement.point(edge_a.start[0], edge_a.start[1], zero),
        panel_b.placement.point(middle(0), middle(1), zero),
        panel_a.placement.direction(-dy.scaled(side), dx.scaled(side), zero),
        zero,
    )
}

/// The held dimensions of a history, followed by the relations of its outlines, as a system of equations.
pub(super) struct Equations<'a, 'h> {
    pub(super) skeleton: &'a Skeleton<'h>,
    pub(super) sheet: SheetNumbers<'a>,
    pub(super) free_count: usize,
    pub(super) held: Vec<Held<'h>>,
    pub(super) sketched: Vec<Sketched<'h>>,
    /// One for each equation.
    tolerances: Vec<f64>,
}

/// One dimension that must hold.
pub(super) struct Held<'h> {
    pub(super) id: DimensionId,
    pub(super) measure: Measure,
    pub(super) target: &'h Number,
}

impl<'a, 'h> Equations<'a, 'h> {
    pub(super) fn new(
        history: &'h History,
        skeleton: &'a Skeleton<'h>,
        sheet: SheetNumbers<'a>,
        measures: &[Measure],
        sketched: Vec<Sketched<'h>>,
    ) -> Self {
        let held: Vec<Held<'h>> = history
            .dimensions
            .iter()
            .zip(measures)
            .enumerate()
            .filter_map(|(index, (entry, measure))| match &entry.target {
                Target::Held(target) => Some(Held { id: DimensionId::new(index), measure: *measure, target }),
                Target::Measured => None,
            })
            .collect();
        let mut tolerances: Vec<f64> = held.iter().map(|held| held.measure.tolerance()).collect();
        for relation in sketched.iter().flat_map(|sketched| &sketched.relations) {
            tolerances.resize(tolerances.len() + relation.rows(), relation.tolerance());
        }
        Self { skeleton, sheet, free_count: history.free_numbers.len(), held, sketched, tolerances }
    }

    /// Every relation with the outline it is of, its place there, and the first of its equations.
    pub(super) fn relations(&self) -> impl Iterator<Item = (&Sketched<'h>, usize, &Resolved, usize)> {
        let mut row = self.held.len();
        let all = self.sketched.iter().flat_map(|sketched| {
            sketched.relations.iter().enumerate().map(move |(index, relation)| (sketched, index, relation))
        });
        all.map(move |(sketched, index, relation)| {
            let first = row;
            row += relation.rows();
            (sketched, index, relation, first)
        })
    }
}

impl System for Equations<'_, '_> {
    fn variable_count(&self) -> usize {
        self.free_count
    }

    fn relation_count(&self) -> usize {
        self.tolerances.len()
    }

    fn residuals<S: Scalar>(&self, unknowns: &[S], residuals: &mut [S]) {
        let (dimensions, mut rest) = residuals.split_at_mut(self.held.len());
        if !self.held.is_empty() {
            let pose = self.skeleton.pose(self.sheet, unknowns);
            for (held, residual) in self.held.iter().zip(dimensions) {
                let target = held.target.evaluate(unknowns).scaled(held.measure.unit());
                *residual = held.measure.residual(&pose, target);
            }
        }
        for sketched in &self.sketched {
            let drawn = Drawn::new(sketched.profile, unknowns);
            for relation in &sketched.relations {
                let rows;
                (rows, rest) = rest.split_at_mut(relation.rows());
                relation.residuals(&drawn, rows);
            }
        }
    }

    fn tolerance(&self, relation: usize) -> f64 {
        self.tolerances[relation]
    }
}
