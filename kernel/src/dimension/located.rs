//! Things that distances are measured between: where they lie for a pose, and how far they are apart.
//!
//! A thing is a plane (a face of a panel, or one given by numbers), a straight line (an arris of an edge, or an
//! axis) or a point. Distances to planes carry a sign and are smooth through zero; those between lines and
//! points do not and are smooth above zero.
//! Invariant: which face or arris of a thing counts was chosen before; here all is one formula.

use crate::geom::{Plane3, Scalar, Vec3};
use crate::history::{Number, SheetFace};
use crate::ident::PanelId;
use crate::machine::Datum;
use crate::quantity::maths;
use crate::solve::relation::{angle_between, plane_distance};

use super::Pose;

/// A thing with the panel, face or arris found.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) enum ThingAt<'h> {
    /// A face of a panel.
    Face { panel: PanelId, face: SheetFace, at: OnFace },
    /// The arris on this face of a drawn edge, by its index.
    Arris { panel: PanelId, edge: usize, face: SheetFace, at: OnArris },
    /// A point in the base panel's coordinates.
    Point(&'h [Number; 3]),
    /// A line in the base panel's coordinates, with its unit direction.
    Axis { through: &'h [Number; 3], along: Vec3<f64> },
    /// A plane in the base panel's coordinates, with its unit normal.
    Plane { through: &'h [Number; 3], normal: Vec3<f64> },
    /// An axis, plane or point of a neighbour in the base panel's coordinates.
    Neighbour(Datum),
}

/// The point of a face that stands for it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) enum OnFace {
    /// The panel's point for measuring.
    Anchor,
    /// A drawn corner, by its position.
    Corner(usize),
}

/// The point of an arris that stands for it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) enum OnArris {
    Start,
    Middle,
    End,
}

/// A thing in space.
#[derive(Clone, Copy, Debug)]
pub(super) enum Located<S> {
    /// A plane; its point is one of the thing itself.
    Plane(Plane3<S>),
    /// A line through a point of the thing, with its unit direction.
    Line(Vec3<S>, Vec3<S>),
    /// A point.
    Point(Vec3<S>),
}

impl ThingAt<'_> {
    /// Where the thing lies for this pose and these free numbers.
    pub(super) fn locate<S: Scalar>(&self, pose: &Pose<S>, free: &[S]) -> Located<S> {
        let place = |[x, y, z]: &[Number; 3]| Vec3::new(x.evaluate(free), y.evaluate(free), z.evaluate(free));
        let lifted = |v: Vec3<f64>| Vec3::constant(v.x, v.y, v.z);
        match *self {
            Self::Face { panel, face, at } => {
                let panel = pose.panel(panel);
                let normal = panel.placement.n;
                let [x, y] = match at {
                    OnFace::Anchor => panel.anchor,
                    OnFace::Corner(corner) => panel.corners[corner],
                };
                let point = panel.placement.point(x, y, S::constant(0.0));
                Located::Plane(Plane3 { point: point + normal.times(pose.depth(face)), normal })
            }
            Self::Arris { panel, edge, face, at } => {
                let panel = pose.panel(panel);
                let drawn = panel.edge(edge);
                let (_, [dx, dy]) = drawn.length_and_direction();
                let [x, y] = match at {
                    OnArris::Start => drawn.start,
                    OnArris::Middle => [0, 1].map(|i| (drawn.start[i] + drawn.end[i]).scaled(0.5)),
                    OnArris::End => drawn.end,
                };
                Located::Line(
                    panel.placement.point(x, y, pose.depth(face)),
                    panel.placement.direction(dx, dy, S::constant(0.0)),
                )
            }
            Self::Point(at) => Located::Point(place(at)),
            Self::Axis { through, along } => Located::Line(place(through), lifted(along)),
            Self::Plane { through, normal } => {
                Located::Plane(Plane3 { point: place(through), normal: lifted(normal) })
            }
            Self::Neighbour(Datum::Axis(through, along)) => Located::Line(lifted(through), lifted(along)),
            Self::Neighbour(Datum::Plane(point, normal)) => {
                Located::Plane(Plane3 { point: lifted(point), normal: lifted(normal) })
            }
            Self::Neighbour(Datum::Point(at)) => Located::Point(lifted(at)),
        }
    }

    /// Depth along its panel's normal in mm; zero where it is not of the sheet.
    pub(super) fn depth(&self, pose: &Pose<f64>) -> f64 {
        match *self {
            Self::Face { face, .. } | Self::Arris { face, .. } => pose.depth(face),
            Self::Point(_) | Self::Axis { .. } | Self::Plane { .. } | Self::Neighbour(_) => 0.0,
        }
    }

    /// The panel that it is of, if it is part of the sheet.
    pub(super) fn panel(&self) -> Option<PanelId> {
        match *self {
            Self::Face { panel, .. } | Self::Arris { panel, .. } => Some(panel),
            Self::Point(_) | Self::Axis { .. } | Self::Plane { .. } | Self::Neighbour(_) => None,
        }
    }
}

impl<S: Scalar> Located<S> {
    /// A point of the thing.
    pub(super) fn middle(self) -> Vec3<S> {
        match self {
            Self::Plane(plane) => plane.point,
            Self::Line(middle, _) | Self::Point(middle) => middle,
        }
    }

    fn plane(self) -> Option<Plane3<S>> {
        match self {
            Self::Plane(plane) => Some(plane),
            Self::Line(..) | Self::Point(_) => None,
        }
    }

    /// Distance of two parallel things in mm. With a plane among them it is positive where `side` times the
    /// plane's normal points to the other thing; otherwise it has no sign, and no derivative at zero.
    pub(super) fn distance_to(self, other: Self, side: f64) -> S {
        let (zero, side) = (S::constant(0.0), S::constant(side));
        if let Some(Plane3 { point, normal }) = other.plane() {
            return plane_distance(self.middle(), Plane3 { point, normal: normal.times(side) }, zero);
        }
        if self.plane().is_some() {
            return other.distance_to(self, side.value());
        }
        self.way_to(other).length()
    }

    /// The shortest way in mm from this thing to a parallel one.
    pub(super) fn way_to(self, other: Self) -> Vec3<S> {
        let way = other.middle() - self.middle();
        match (self, other) {
            (Self::Plane(Plane3 { normal, .. }), _) | (_, Self::Plane(Plane3 { normal, .. })) => {
                normal.times(way.dot(normal))
            }
            (Self::Line(_, along), _) | (_, Self::Line(_, along)) => way - along.times(way.dot(along)),
            (Self::Point(_), Self::Point(_)) => way,
        }
    }
}

impl Located<f64> {
    /// Whether a distance between the two has a sign.
    pub(super) fn is_signed_with(self, other: Self) -> bool {
        self.plane().is_some() || other.plane().is_some()
    }

    /// The direction in which two things that touch are measured: the normal of a plane among them.
    pub(super) fn normal_to(self, other: Self) -> Vec3<f64> {
        self.plane().or(other.plane()).map_or(Vec3::new(0.0, 0.0, 0.0), |plane| plane.normal)
    }

    /// How far from parallel two things are, in rad; zero where one of them is a point.
    pub(super) fn off_parallel(self, other: Self) -> f64 {
        let between = |a: Vec3<f64>, b: Vec3<f64>| {
            let angle = angle_between(a, b, 0.0);
            angle.min(maths::PI - angle)
        };
        match (self, other) {
            (Self::Plane(a), Self::Plane(b)) => between(a.normal, b.normal),
            (Self::Line(_, a), Self::Line(_, b)) => between(a, b),
            (Self::Plane(plane), Self::Line(_, along)) | (Self::Line(_, along), Self::Plane(plane)) => {
                (maths::FRAC_PI_2 - angle_between(plane.normal, along, 0.0)).abs()
            }
            (Self::Point(_), _) | (_, Self::Point(_)) => 0.0,
        }
    }
}
