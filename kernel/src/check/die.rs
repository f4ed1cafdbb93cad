//! The die over which a bend is made.
//!
//! Job: which V opening, and how long a flange must be so that it lies on it. Invariant: geometry of an air bend
//! at the end of the stroke, in mm and rad. Must not know: the rest of the part.
//!
//! The sheet leans on both shoulders of the V, which are `V` apart, and its outer faces meet at the middle in the
//! outer mould line. Each leg rises by half the turn `a`, so that from the mould line to the shoulder it takes
//! `V/2 / cos(a/2)`: `V/√2 = 0.707 V` at 90° (the lower bound that tool makers' charts round to 0.7 V).
//! With a shop's factor `f` of V at 90° the flange is `f V cos 45° / cos(a/2)`.
//! The V must have room for the bend itself: [`ShopLimits::v_for_bend`].

use crate::fold::Bend;
use crate::quantity::{maths, tolerance};
use crate::stock::{Limit, ShopLimits};

/// Whether a bend is that of a hem, which no V makes: turned through half a turn or more.
pub(super) fn is_hem(bend: &Bend) -> bool {
    bend.turn() > maths::PI - tolerance::PARALLEL
}

/// The narrowest V on hand that bends this sheet and has room for the bend.
pub(super) fn narrowest(limits: &ShopLimits, thickness: f64, bend: &Bend) -> f64 {
    limits.v_for_bend(thickness, bend.inside_radius(), bend.turn())
}

/// The V on hand that gives the inside radius in air bending, if that needs a wider one.
pub(super) fn by_radius(limits: &ShopLimits, thickness: f64, bend: &Bend) -> f64 {
    limits
        .v_opening(thickness, limits.number(Limit::VByRadius) * bend.inside_radius())
        .max(narrowest(limits, thickness, bend))
}

/// Shortest flange from the outer mould line that lies on the shoulder of a V, for a turn below a half turn.
pub(super) fn shortest_flange(limits: &ShopLimits, v: f64, turn: f64) -> f64 {
    let right = maths::cos(0.25 * maths::PI);
    limits.number(Limit::MinimumFlange) * v * right / maths::cos(0.5 * turn)
}

/// From the line where a bend ends to its outer mould line; to the outermost line of a hem.
pub(super) fn setback(bend: &Bend, thickness: f64) -> f64 {
    let outer = bend.inside_radius() + thickness;
    if is_hem(bend) { outer } else { outer * maths::tan(0.5 * bend.turn()) }
}
