//! What dimensions measure, as formulas over the pose.
//!
//! Invariant: which of two faces, arrises or corners counts is decided once, at the start values, so that a
//! measure stays one smooth formula during a solve.

use crate::geom::{Plane3, Scalar, Vec3};
use crate::history::{DimensionKind, History, NeighbourFault, PanelName, SheetFace, Thing, ThingKind};
use crate::ident::PanelId;
use crate::quantity::{maths, tolerance};
use crate::solve::relation::{angle_between, plane_distance, point_distance};

use super::clearance::{self, NearestPlace};
use super::developed::{BlankAxis, BlankSize, Extent, flat_frames};
use super::line_bend::FlatFrame;
use super::located::{Located, OnArris, OnFace, ThingAt};
use super::made::Off;
use super::pose::{PanelPose, Pose, SheetNumbers};
use super::skeleton::SkeletonFault;
use super::{DimensionFault, Skeleton};

/// What a dimension measures, resolved.
#[derive(Clone, Debug, PartialEq)]
pub(super) enum Measure<'h> {
    /// Between these faces of two panels; `side` is the side of `b`'s normal on which `a` lies.
    Faces { a: (PanelId, SheetFace), b: (PanelId, SheetFace), side: f64 },
    /// Between two drawn edges of one panel, perhaps on two of its pieces; `side` is the side of `a` on which
    /// `b` lies.
    Edges { a: (PanelId, usize), b: (PanelId, usize), side: f64 },
    /// Between the normals of two panels.
    Angle { a: PanelId, b: PanelId },
    /// Between two parallel things; `side` is that of [`Located::distance_to`].
    Things { a: ThingAt<'h>, b: ThingAt<'h>, side: f64 },
    /// Half of what the first distance is more than the second one, both from a common thing.
    OffCentre(Box<[Measure<'h>; 2]>),
    /// Smallest distance to a neighbour: that of the nearest of these places, one for each panel that counts.
    ClearOf(Vec<NearestPlace>),
    /// Extent of the blank.
    Blank(Extent),
    /// The first less the second.
    Difference(Box<[Measure<'h>; 2]>),
    /// The first over the second.
    Ratio(Box<[Measure<'h>; 2]>),
}

/// A part in one pose, as measures see it.
pub(super) struct Scene<'a, S> {
    pub(super) pose: &'a Pose<S>,
    free: &'a [S],
    /// Where the panels lie in the blank; empty if no measure asks.
    flat: Vec<FlatFrame<S>>,
    blank: BlankSize,
    /// How far the shop is off; none in a pose as drawn.
    off: Option<Off<'a, S>>,
}

impl<'a, S: Scalar> Scene<'a, S> {
    /// The scene for these measures.
    pub(super) fn new<'m, 'h: 'm>(
        skeleton: &Skeleton<'_>,
        pose: &'a Pose<S>,
        sheet: SheetNumbers<'_>,
        free: &'a [S],
        blank: BlankSize,
        mut measures: impl Iterator<Item = &'m Measure<'h>>,
    ) -> Self {
        let flat =
            if measures.any(Measure::is_of_blank) { flat_frames(skeleton, pose, sheet) } else { Vec::new() };
        Self { pose, free, flat, blank, off: None }
    }

    /// The scene of a pose as made: the blank, which lies in `flat` as drawn, changes by its cuts only.
    pub(super) fn as_made(
        pose: &'a Pose<S>,
        free: &'a [S],
        flat: Vec<FlatFrame<S>>,
        blank: BlankSize,
        off: Off<'a, S>,
    ) -> Self {
        Self { pose, free, flat, blank, off: Some(off) }
    }
}

impl Scene<'_, f64> {
    /// Length and width in mm of the blank between its drawn corners, if a measure asks for one of them.
    pub(super) fn blank_corners(
        &self,
        measures: &[Measure<'_>],
        skeleton: &Skeleton<'_>,
        sheet: SheetNumbers<'_>,
    ) -> Option<[f64; 2]> {
        let size = |axis| {
            // The corners with which it was solved, where some were.
            let used = measures.iter().find_map(|measure| measure.extent(axis));
            used.unwrap_or_else(|| Extent::of(axis, skeleton, self.pose, sheet)).size(self.pose, &self.flat)
        };
        (!self.flat.is_empty()).then(|| [BlankAxis::Length, BlankAxis::Width].map(size))
    }
}

/// Why a dimension cannot be measured.
pub(super) enum MeasureFault {
    Name(SkeletonFault),
    Neighbour(NeighbourFault),
    Dimension(DimensionFault),
}

impl From<NeighbourFault> for MeasureFault {
    fn from(fault: NeighbourFault) -> Self {
        Self::Neighbour(fault)
    }
}

impl From<SkeletonFault> for MeasureFault {
    fn from(fault: SkeletonFault) -> Self {
        Self::Name(fault)
    }
}

impl From<DimensionFault> for MeasureFault {
    fn from(fault: DimensionFault) -> Self {
        Self::Dimension(fault)
    }
}

/// Resolves measures at the start values.
pub(super) struct Resolver<'a, 'h> {
    pub(super) skeleton: &'a Skeleton<'h>,
    pub(super) pose: &'a Pose<f64>,
    pub(super) free: &'a [f64],
    pub(super) sheet: SheetNumbers<'a>,
}

impl<'h> Resolver<'_, 'h> {
    /// What all dimensions measure, if every one of them can be measured here.
    pub(super) fn measures(&self, history: &'h History) -> Option<Vec<Measure<'h>>> {
        let all = history.dimensions.iter();
        all.map(|entry| self.measure(&entry.name, &entry.kind).ok()).collect()
    }

    /// What `kind` measures; `name` is that of the dimension.
    pub(super) fn measure(&self, name: &str, kind: &'h DimensionKind) -> Result<Measure<'h>, MeasureFault> {
        match kind {
            DimensionKind::Inside { a, b } | DimensionKind::Outside { a, b } => {
                self.faces(name, [a, b], matches!(kind, DimensionKind::Inside { .. }))
            }
            DimensionKind::PanelWidth { a, b } => {
                let (edge_a, edge_b) = (self.skeleton.edge(a)?, self.skeleton.edge(b)?);
                if self.skeleton.root(edge_a.0) != self.skeleton.root(edge_b.0) {
                    let dimension = name.to_owned();
                    return Err(DimensionFault::TwoPanels { dimension, a: a.clone(), b: b.clone() }.into());
                }
                let side = if width(self.pose, edge_a, edge_b, 1.0) >= 0.0 { 1.0 } else { -1.0 };
                Ok(Measure::Edges { a: edge_a, b: edge_b, side })
            }
            DimensionKind::Angle { a, b } => {
                Ok(Measure::Angle { a: self.skeleton.find(a)?, b: self.skeleton.find(b)? })
            }
            DimensionKind::Clear { a, b } => self.things(name, [a, b], Nearness::Nearest),
            DimensionKind::Overall { a, b } => self.things(name, [a, b], Nearness::Farthest),
            DimensionKind::OffCentre { a, b, about } => self.off_centre(name, [a, b], about),
            DimensionKind::ClearOf { neighbour, panel } => {
                self.skeleton.neighbours().known(neighbour)?;
                panel.as_ref().map_or(Ok(()), |panel| self.skeleton.find(panel).map(|_| ()))?;
                let known = self.skeleton.nearest().iter().find(|nearest| nearest.kind == *kind);
                Ok(Measure::ClearOf(known.map(|nearest| nearest.places.clone()).unwrap_or_default()))
            }
            DimensionKind::BlankLength => Ok(self.extent(BlankAxis::Length)),
            DimensionKind::BlankWidth => Ok(self.extent(BlankAxis::Width)),
            DimensionKind::Difference(two) => Ok(Measure::Difference(self.both(name, two)?)),
            DimensionKind::Ratio(two) => Ok(Measure::Ratio(self.both(name, two)?)),
        }
    }

    fn both(&self, name: &str, two: &'h [DimensionKind; 2]) -> Result<Box<[Measure<'h>; 2]>, MeasureFault> {
        let [a, b] = two;
        if a.unit() != b.unit() {
            let dimension = name.to_owned();
            return Err(DimensionFault::TwoUnits { dimension, a: a.to_string(), b: b.to_string() }.into());
        }
        Ok(Box::new([self.measure(name, a)?, self.measure(name, b)?]))
    }

    fn extent(&self, axis: BlankAxis) -> Measure<'h> {
        Measure::Blank(Extent::of(axis, self.skeleton, self.pose, self.sheet))
    }

    fn faces(&self, name: &str, [a, b]: [&PanelName; 2], inside: bool) -> Result<Measure<'h>, MeasureFault> {
        let (pa, pb) = (self.skeleton.find(a)?, self.skeleton.find(b)?);
        if pa == pb {
            return Err(DimensionFault::SamePanel { dimension: name.to_owned(), a: a.clone() }.into());
        }
        let thickness = self.sheet.thickness;
        let (frame_a, frame_b) = (self.pose.panel(pa), self.pose.panel(pb));
        // Side of each panel's middle plane on which the other one's anchor lies.
        let side_of = |own: &PanelPose<f64>, other: &PanelPose<f64>| {
            let middle = own.placement.point(0.0, 0.0, -0.5 * thickness);
            let other_middle = other.anchor() - other.placement.n.times(0.5 * thickness);
            if (other_middle - middle).dot(own.placement.n) >= 0.0 { 1.0 } else { -1.0 }
        };
        let (b_from_a, a_from_b) = (side_of(frame_a, frame_b), side_of(frame_b, frame_a));
        // The inner face looks along the normal.
        let face = |towards: f64| if (towards > 0.0) == inside { SheetFace::Inner } else { SheetFace::Outer };
        Ok(Measure::Faces { a: (pa, face(b_from_a)), b: (pb, face(a_from_b)), side: a_from_b })
    }

    /// The faces and arrises of a thing that may count.
    fn candidates(&self, name: &str, thing: &'h Thing) -> Result<Vec<ThingAt<'h>>, MeasureFault> {
        let faces = [SheetFace::Inner, SheetFace::Outer];
        let unit = |[x, y, z]: [f64; 3]| {
            let v = Vec3::new(x, y, z);
            let length = v.length();
            let is_direction = length.is_finite() && length > tolerance::SNAP_MM;
            let fault = || DimensionFault::NoDirection { dimension: name.to_owned() };
            if is_direction { Ok(v.times(1.0 / length)) } else { Err(fault()) }
        };
        Ok(match thing {
            Thing::Panel(panel) => {
                let panel = self.skeleton.find(panel)?;
                faces.map(|face| ThingAt::Face { panel, face, at: OnFace::Anchor }).to_vec()
            }
            Thing::Face { panel, face } => {
                vec![ThingAt::Face { panel: self.skeleton.find(panel)?, face: *face, at: OnFace::Anchor }]
            }
            Thing::Edge(edge) => {
                let (panel, edge) = self.skeleton.edge(edge)?;
                faces.map(|face| ThingAt::Arris { panel, edge, face, at: OnArris::Middle }).to_vec()
            }
            Thing::Point(at) => vec![ThingAt::Point(at)],
            Thing::Axis { through, along } => vec![ThingAt::Axis { through, along: unit(*along)? }],
            Thing::Plane { through, normal } => vec![ThingAt::Plane { through, normal: unit(*normal)? }],
            Thing::Neighbour(thing) => {
                vec![ThingAt::Neighbour(self.skeleton.neighbours().find(thing)?)]
            }
        })
    }

    fn located(&self, thing: &ThingAt<'_>) -> Located<f64> {
        thing.locate(self.pose, self.free)
    }

    fn things(
        &self,
        name: &str,
        [a, b]: [&'h Thing; 2],
        nearness: Nearness,
    ) -> Result<Measure<'h>, MeasureFault> {
        if let (Thing::Panel(a), Thing::Panel(b)) = (a, b) {
            return self.faces(name, [a, b], matches!(nearness, Nearness::Nearest));
        }
        let (of_a, of_b) = (self.candidates(name, a)?, self.candidates(name, b)?);
        let mut best: Option<(f64, Measure<'h>)> = None;
        for thing_a in &of_a {
            for thing_b in &of_b {
                let (la, lb) = (self.located(thing_a), self.located(thing_b));
                let signed = la.distance_to(lb, 1.0);
                let side = if signed >= 0.0 { 1.0 } else { -1.0 };
                let reach = match nearness {
                    Nearness::Nearest => signed.abs(),
                    Nearness::Farthest => -signed.abs(),
                };
                // The same to rounding is the same: the first one counts.
                if best.as_ref().is_none_or(|(known, _)| reach < known - tolerance::SNAP_MM) {
                    best = Some((reach, Measure::Things { a: *thing_a, b: *thing_b, side }));
                }
            }
        }
        let (_, measure) = best.expect("every thing has a face, an arris or itself to measure to");
        if let Measure::Things { a: at, b: bt, .. } = &measure
            && at.panel().is_some()
            && at.panel() == bt.panel()
        {
            let (dimension, a, b) = (name.to_owned(), a.to_string(), b.to_string());
            return Err(DimensionFault::OneThing { dimension, a, b }.into());
        }
        Ok(measure)
    }

    fn off_centre(
        &self,
        name: &str,
        [a, b]: [&'h Thing; 2],
        about: &'h Thing,
    ) -> Result<Measure<'h>, MeasureFault> {
        let ways = [a, b].map(|thing| self.things(name, [thing, about], Nearness::Nearest));
        let [a_way, b_way] = ways;
        let both = [a_way?, b_way?];
        // Half a difference of lengths is how far the middle is off only where both ways lie in one line, as they do
        // where they are square to a plane.
        let is_plane = match about {
            Thing::Panel(_) | Thing::Face { .. } | Thing::Plane { .. } => true,
            Thing::Neighbour(thing) => thing.kind == ThingKind::Plane,
            Thing::Edge(_) | Thing::Point(_) | Thing::Axis { .. } => false,
        };
        let ways = both.each_ref().map(|measure| {
            let way = measure.ways(self.pose, self.free).into_iter().next();
            way.map_or(Vec3::new(0.0, 0.0, 0.0), |way| way.direction.times(way.length()))
        });
        let lengths = ways.map(Vec3::length);
        let opposite = lengths.iter().all(|length| *length > tolerance::SNAP_MM)
            && ways[0].dot(ways[1]) < 0.0
            && (is_plane
                || ways[0].cross(ways[1]).length() <= tolerance::SMOOTH_RAD * lengths[0] * lengths[1]);
        if !opposite {
            let (dimension, a, b) = (name.to_owned(), a.to_string(), b.to_string());
            return Err(DimensionFault::OneSide { dimension, a, b, about: about.to_string() }.into());
        }
        Ok(Measure::OffCentre(Box::new(both)))
    }
}

/// The straight way that a distance spans.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Way {
    /// The panels that its ends are of; none where an end is given by numbers.
    pub panels: [Option<PanelId>; 2],
    /// Its ends in mm; sideways of the direction they may lie apart.
    pub ends: [Vec3<f64>; 2],
    /// Unit direction from the first end to the second one.
    pub direction: Vec3<f64>,
    /// Depth in mm along the first panel's normal at which it starts.
    pub depth: f64,
}

impl Way {
    /// What the distance measures, in mm.
    #[must_use]
    pub fn length(&self) -> f64 {
        (self.ends[1] - self.ends[0]).dot(self.direction)
    }
}

/// Which faces and arrises of two things count.
#[derive(Clone, Copy)]
enum Nearness {
    Nearest,
    Farthest,
}

impl Measure<'_> {
    /// What is measured, in mm or rad, or without unit for a ratio.
    pub(super) fn value<S: Scalar>(&self, scene: &Scene<'_, S>) -> S {
        let zero = S::constant(0.0);
        match self {
            &Self::Faces { a: (a, face_a), b: (b, face_b), side } => {
                let (a, b) = (scene.pose.panel(a), scene.pose.panel(b));
                let anchor = a.anchor() + a.placement.n.times(scene.pose.depth(face_a));
                let plane = Plane3 {
                    point: b.placement.point(zero, zero, scene.pose.depth(face_b)),
                    normal: b.placement.n.times(S::constant(side)),
                };
                plane_distance(anchor, plane, zero)
            }
            &Self::Edges { a, b, side } => width(scene.pose, a, b, side),
            &Self::Angle { a, b } => {
                angle_between(scene.pose.panel(a).placement.n, scene.pose.panel(b).placement.n, zero)
            }
            Self::Things { a, b, side } => {
                a.locate(scene.pose, scene.free).distance_to(b.locate(scene.pose, scene.free), *side)
            }
            Self::OffCentre(two) => (two[0].value(scene) - two[1].value(scene)).scaled(0.5),
            // Before a part is known there is nothing to hold.
            Self::ClearOf(places) => {
                clearance::nearest(places, scene.pose).map_or(zero, |place| place.distance(scene.pose))
            }
            Self::Blank(extent) => {
                let size = extent.size(scene.pose, &scene.flat)
                    + S::constant(scene.blank.beyond_corners[extent.axis().index()]);
                let longer = |off: Off<'_, S>| {
                    let [low, high] = extent.ends().map(|(panel, edge)| off.cut(panel, edge));
                    size + low + high
                };
                scene.off.map_or(size, longer)
            }
            Self::Difference(two) => two[0].value(scene) - two[1].value(scene),
            Self::Ratio(two) => two[0].value(scene) / two[1].value(scene),
        }
    }

    /// Measured less asked for, in mm or rad; of a ratio what the first measure is more than it should be.
    pub(super) fn residual<S: Scalar>(&self, scene: &Scene<'_, S>, target: S) -> S {
        match self {
            Self::Ratio(two) => two[0].value(scene) - target * two[1].value(scene),
            Self::Faces { .. }
            | Self::Edges { .. }
            | Self::Angle { .. }
            | Self::Things { .. }
            | Self::OffCentre(_)
            | Self::ClearOf(_)
            | Self::Blank(_)
            | Self::Difference(_) => self.value(scene) - target,
        }
    }

    /// How far from parallel the two things are between which a distance is measured, in rad; zero for what
    /// is not one distance.
    pub(super) fn off_parallel(&self, pose: &Pose<f64>, free: &[f64]) -> f64 {
        let between = |a: Vec3<f64>, b: Vec3<f64>| {
            let angle = angle_between(a, b, 0.0);
            angle.min(maths::PI - angle)
        };
        match self {
            &Self::Faces { a, b, .. } => between(pose.panel(a.0).placement.n, pose.panel(b.0).placement.n),
            &Self::Edges { a, b, .. } => {
                let direction = |(panel, edge): (PanelId, usize)| {
                    let panel = pose.panel(panel);
                    let (_, [x, y]) = panel.edge(edge).length_and_direction();
                    panel.placement.direction(x, y, 0.0)
                };
                between(direction(a), direction(b))
            }
            Self::Things { a, b, .. } => a.locate(pose, free).off_parallel(b.locate(pose, free)),
            Self::OffCentre(two) | Self::Difference(two) | Self::Ratio(two) => {
                two[0].off_parallel(pose, free).max(two[1].off_parallel(pose, free))
            }
            Self::Angle { .. } | Self::ClearOf(_) | Self::Blank(_) => 0.0,
        }
    }

    /// The ways that its distances span: one, or two where it is made of two; none for an angle or the blank.
    pub(super) fn ways(&self, pose: &Pose<f64>, free: &[f64]) -> Vec<Way> {
        match self {
            &Self::Faces { a, b, side } => {
                let (pa, pb) = (pose.panel(a.0), pose.panel(b.0));
                let depth = pose.depth(a.1);
                let start = pa.anchor() + pa.placement.n.times(depth);
                let end = pb.placement.point(0.0, 0.0, pose.depth(b.1));
                let direction = pb.placement.n.times(-side);
                vec![Way { panels: [Some(a.0), Some(b.0)], ends: [start, end], direction, depth }]
            }
            &Self::Edges { a, b, side } => {
                let (pa, pb) = (pose.panel(a.0), pose.panel(b.0));
                let (edge_a, edge_b) = (pa.edge(a.1), pb.edge(b.1));
                let (_, [dx, dy]) = edge_a.length_and_direction();
                let middle = |i: usize| 0.5 * (edge_b.start[i] + edge_b.end[i]);
                let start = pa.placement.point(edge_a.start[0], edge_a.start[1], 0.0);
                let end = pb.placement.point(middle(0), middle(1), 0.0);
                let direction = pa.placement.direction(-dy * side, dx * side, 0.0);
                vec![Way { panels: [Some(a.0), Some(b.0)], ends: [start, end], direction, depth: 0.0 }]
            }
            Self::Things { a, b, .. } => {
                let (la, lb) = (a.locate(pose, free), b.locate(pose, free));
                let way = la.way_to(lb);
                let length = way.length();
                let direction =
                    if length > tolerance::SNAP_MM { way.times(1.0 / length) } else { la.normal_to(lb) };
                let ends = [la.middle(), lb.middle()];
                vec![Way { panels: [a.panel(), b.panel()], ends, direction, depth: a.depth(pose) }]
            }
            Self::OffCentre(two) | Self::Difference(two) | Self::Ratio(two) => {
                two.iter().flat_map(|measure| measure.ways(pose, free)).collect()
            }
            Self::ClearOf(places) => {
                let way = |place: &NearestPlace| {
                    let start = place.point(pose);
                    let end = start + place.direction.times(place.distance(pose));
                    let (panels, depth) =
                        ([Some(place.panel), None], pose.depth(SheetFace::Outer) * place.depth);
                    Way { panels, ends: [start, end], direction: place.direction, depth }
                };
                clearance::nearest(places, pose).map(way).into_iter().collect()
            }
            Self::Angle { .. } | Self::Blank(_) => Vec::new(),
        }
    }

    /// Whether the measure can pass through zero: distances between lines and points cannot.
    pub(super) fn has_sign(&self, pose: &Pose<f64>, free: &[f64]) -> bool {
        match self {
            Self::Things { a, b, .. } => a.locate(pose, free).is_signed_with(b.locate(pose, free)),
            Self::OffCentre(_) | Self::ClearOf(_) | Self::Difference(_) => true,
            Self::Faces { .. }
            | Self::Edges { .. }
            | Self::Angle { .. }
            | Self::Blank(_)
            | Self::Ratio(_) => false,
        }
    }

    /// Whether it is a ratio over a measure of nothing, or made of one.
    pub(super) fn is_over_nothing(&self, scene: &Scene<'_, f64>) -> bool {
        match self {
            Self::Ratio(two) => {
                two[1].value(scene).abs() <= two[1].tolerance()
                    || two.iter().any(|m| m.is_over_nothing(scene))
            }
            Self::OffCentre(two) | Self::Difference(two) => two.iter().any(|m| m.is_over_nothing(scene)),
            Self::Faces { .. }
            | Self::Edges { .. }
            | Self::Angle { .. }
            | Self::Things { .. }
            | Self::ClearOf(_)
            | Self::Blank(_) => false,
        }
    }

    /// The extent of the blank along an axis that it is made of, if it is.
    fn extent(&self, axis: BlankAxis) -> Option<Extent> {
        match self {
            Self::Blank(extent) => (extent.axis() == axis).then_some(*extent),
            Self::OffCentre(two) | Self::Difference(two) | Self::Ratio(two) => {
                two.iter().find_map(|measure| measure.extent(axis))
            }
            Self::Faces { .. }
            | Self::Edges { .. }
            | Self::Angle { .. }
            | Self::Things { .. }
            | Self::ClearOf(_) => None,
        }
    }

    pub(super) fn is_of_blank(&self) -> bool {
        match self {
            Self::Blank(_) => true,
            Self::OffCentre(two) | Self::Difference(two) | Self::Ratio(two) => {
                two.iter().any(Self::is_of_blank)
            }
            Self::Faces { .. }
            | Self::Edges { .. }
            | Self::Angle { .. }
            | Self::Things { .. }
            | Self::ClearOf(_) => false,
        }
    }

    pub(super) fn tolerance(&self) -> f64 {
        match self {
            Self::Faces { .. }
            | Self::Edges { .. }
            | Self::Things { .. }
            | Self::OffCentre(_)
            | Self::ClearOf(_)
            | Self::Blank(_) => tolerance::HELD_MM,
            Self::Angle { .. } => tolerance::HELD_RAD,
            Self::Difference(two) | Self::Ratio(two) => two[0].tolerance(),
        }
    }

    /// What the engineer's unit of the measure is in the solver's: 1 for mm, π/180 for degrees.
    pub(super) fn unit(&self) -> f64 {
        match self {
            Self::Faces { .. }
            | Self::Edges { .. }
            | Self::Things { .. }
            | Self::OffCentre(_)
            | Self::ClearOf(_)
            | Self::Blank(_)
            | Self::Ratio(_) => 1.0,
            Self::Angle { .. } => maths::PI / 180.0,
            Self::Difference(two) => two[0].unit(),
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
