//! Plane and space geometry: points, placements, lines and arcs, closed contours, regions.
//!
//! Job: exact figures of lines and circular arcs in the plane, rigid placements in space, and the scalar
//! types that give values or derivatives. Numbers are plain `f64` (or a dual number) in mm and rad.
//! Invariant: a [`Contour`] is closed with bit-equal joints; a [`Region`] has counter-clockwise outer
//! contours and clockwise holes; arcs are never replaced by chords. Must not know: sheet metal.

mod arc_fit;
mod arrangement;
mod boolean;
mod box_tree;
mod clearance;
mod containment;
mod contour;
mod convex;
mod convex_polygon;
mod crossing;
mod dual;
mod enclosing;
mod facing;
mod figure;
mod intersect;
mod linking;
mod monotone;
mod offset;
mod openings;
mod pairs;
mod passing;
mod passing_square;
mod plane;
mod pushing;
mod raising;
mod region;
mod rounding;
mod scalar;
mod segment;
mod space;

pub(crate) use arc_fit::arcs_on_right;
pub use boolean::{BooleanError, clip_to_left, difference, intersection, union};
pub use box_tree::{Box3, BoxTree, Branch};
pub use clearance::{NarrowWeb, clear_of_outlines, narrow_webs};
pub use containment::{Nesting, Place, RegionLocator, nesting, place_in_contour, place_in_region};
pub use contour::{Contour, ContourError};
pub use convex::{Apart, Convex, Hull, RolledTriangle, RoundSide, Separation, separation};
pub use convex_polygon::{convex_hull, convex_pieces};
pub use crossing::{Approach, SelfContact, distance_between, first_self_contact, nearer_than};
pub use dual::Dual;
pub use enclosing::{Circle, Oblong, narrowest_slot_around, smallest_circle_around, smallest_square_around};
pub use facing::{Between, Facing, facing};
pub use figure::{Flat, FlatArc, FlatCircle, FlatLine};
pub use intersect::{Meeting, meet};
pub(crate) use monotone::{for_monotone_pieces, x_at_height};
pub use offset::{OffsetError, offset};
pub use openings::{OpeningError, OpeningPlace, cut_openings, opening_places};
pub use passing::{largest_circle_in, longest_bar_of};
pub use passing_square::largest_square_in;
pub use plane::{BoundingBox, Motion2, Point2, Vec2};
pub use pushing::clearing_shift;
pub use region::Region;
pub use rounding::{Neighbour, RoundingError, chamfer_corner, round_corner};
pub use scalar::Scalar;
pub use segment::{ArcTurn, Curve, Segment, Tag, chords_for_arc};
pub use space::{Placement, Plane3, Vec3, place_in_words, unit};
