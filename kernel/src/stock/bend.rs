//! The bend formulas and the places flange lengths are measured from.
//!
//! Job: how long a bend is in the flat, and how far its ends lie from the corner lines that drawings
//! measure to. Invariant: each formula stands here once, over plain values or values with derivatives.
//! Must not know: what lies on either side of the bend. Derivation, figure and worked table:
//! `docs/math/bend-allowance.md`.

use thiserror::Error;

use crate::geom::Scalar;
use crate::quantity::{Length, Radius, Turn, maths, tolerance};

use super::{KFactor, StockError, Thickness};

/// One bend: how far it turns, how sharply, and where its neutral fibre lies.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Bend {
    /// Angle the sheet is turned through, measured from flat; the opening angle is 180° less this.
    pub turn: Turn,
    /// Radius of the inner face.
    pub inside_radius: Radius,
    /// Place of the neutral fibre.
    pub k_factor: KFactor,
}

/// Why a bend deduction belongs to no bend.
#[derive(Clone, Copy, Debug, PartialEq, Error)]
pub enum DeductionError {
    /// The flats are parallel, so their mould lines never meet and there is nothing to deduct from.
    #[error("a turn of {:.2} has no mould line to deduct from", turn.angle())]
    NoMouldLine {
        /// The turn that was given.
        turn: Turn,
    },
    /// The neutral fibre would lie outside the metal.
    #[error("a bend deduction of {deduction} puts the neutral fibre outside the metal: {fault}")]
    OutsideTheMetal {
        /// The deduction that was given.
        deduction: Length,
        /// Says the K-factor that follows.
        fault: StockError,
    },
}

impl Bend {
    /// The bend whose deduction was measured on a test strip:
    /// `K = ((2 · outside setback − deduction) / turn [rad] − inside radius) / thickness`.
    ///
    /// It inverts [`Bend::deduction`] exactly, so a blank made with it reproduces the measured deduction.
    ///
    /// # Errors
    /// [`DeductionError::NoMouldLine`] for a half turn, [`DeductionError::OutsideTheMetal`] if K would lie
    /// outside `[0, 1]`.
    pub fn from_deduction(
        turn: Turn,
        inside_radius: Radius,
        thickness: Thickness,
        deduction: Length,
    ) -> Result<Self, DeductionError> {
        let outer = inside_radius.length() + thickness.length();
        let setback = mould_setback(turn, outer).ok_or(DeductionError::NoMouldLine { turn })?;
        let neutral_radius = (setback * 2.0 - deduction) * (1.0 / turn.angle().to_rad());
        let k_factor = KFactor::new((neutral_radius - inside_radius.length()) / thickness.length())
            .map_err(|fault| DeductionError::OutsideTheMetal { deduction, fault })?;
        Ok(Self { turn, inside_radius, k_factor })
    }

    /// Width the bend takes up in the flat blank: the arc length of the neutral fibre,
    /// `turn [rad] · (inside radius + K · thickness)`.
    ///
    /// Never negative; zero only if radius and K are both zero (a sharp crease). Linear: scaling radius and
    /// thickness by `s` scales the result by `s`. Source: definition; derived in
    /// `docs/math/bend-allowance.md`.
    ///
    /// ```
    /// # use kernel::quantity::{Angle, Length, Radius, Turn};
    /// # use kernel::stock::{Bend, KFactor, Thickness};
    /// let bend = Bend {
    ///     turn: Turn::new(Angle::deg(90.0)).unwrap(),
    ///     inside_radius: Radius::new(Length::mm(2.0)).unwrap(),
    ///     k_factor: KFactor::new(0.44).unwrap(),
    /// };
    /// let sheet = Thickness::new(Length::mm(2.0)).unwrap();
    /// // π/2 · (2 + 0.44 · 2) = 4.5239 mm
    /// assert!(bend.allowance(sheet).is_within(Length::mm(4.5239), Length::mm(1e-4)));
    /// ```
    #[must_use]
    pub fn allowance(&self, thickness: Thickness) -> Length {
        Length::mm(neutral_arc(
            self.turn.angle().to_rad(),
            self.inside_radius.length().to_mm(),
            self.k_factor.value(),
            thickness.length().to_mm(),
        ))
    }

    /// Distance from an end of the bend to the outer mould line, where the two outer faces would meet:
    /// `(inside radius + thickness) · tan(turn / 2)`.
    ///
    /// `None` for a half turn: the faces are parallel and meet nowhere. Grows without bound towards it.
    #[must_use]
    pub fn outside_setback(&self, thickness: Thickness) -> Option<Length> {
        mould_setback(self.turn, self.inside_radius.length() + thickness.length())
    }

    /// Distance from an end of the bend to the inner mould line, where the two inner faces would meet:
    /// `inside radius · tan(turn / 2)`.
    ///
    /// `None` for a half turn, as with [`Bend::outside_setback`]; zero for a sharp bend.
    #[must_use]
    pub fn inside_setback(&self) -> Option<Length> {
        mould_setback(self.turn, self.inside_radius.length())
    }

    /// What the bend takes off the sum of two legs measured to the outer mould line:
    /// `2 · outside setback − allowance`.
    ///
    /// Positive for every turn below 180° as long as `K ≤ ½`, because `tan x > x`; a larger K can make it
    /// negative at small turns and large radii. `None` for a half turn. Flat length of two legs:
    /// `a + b − deduction`.
    #[must_use]
    pub fn deduction(&self, thickness: Thickness) -> Option<Length> {
        Some(self.outside_setback(thickness)? * 2.0 - self.allowance(thickness))
    }
}

/// Setback to the mould line of faces that lie `face_radius` from the bend axis; `None` for a half turn.
fn mould_setback(turn: Turn, face_radius: Length) -> Option<Length> {
    let turn_rad = turn.angle().to_rad();
    (maths::PI - turn_rad > tolerance::PARALLEL)
        .then(|| Length::mm(corner_distance(turn_rad, face_radius.to_mm())))
}

/// What the length of a flange is measured from, at a bend.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum LengthDatum {
    /// The outer mould line up to 90°; beyond, the tangent to the outer face of the bend that is square to
    /// the leg. These are the leg lengths of DIN 6935.
    Outside,
    /// The inner mould line up to 90°; beyond, the tangent to the inner face of the bend that is square to
    /// the leg.
    Inside,
    /// The end of the bend, where the flat begins.
    Tangent,
}

impl LengthDatum {
    /// `outside`, `inside` or `tangent`.
    #[must_use]
    pub fn word(self) -> &'static str {
        match self {
            Self::Outside => "outside",
            Self::Inside => "inside",
            Self::Tangent => "tangent",
        }
    }

    /// Distance from the end of the bend, where the flat begins, back to where the length is measured
    /// from; never negative. See [`datum_setback`], which holds the formula.
    #[must_use]
    pub fn setback(self, turn: Turn, inside_radius: Radius, thickness: Thickness) -> Length {
        Length::mm(datum_setback(
            self,
            turn.angle().to_rad(),
            inside_radius.length().to_mm(),
            thickness.length().to_mm(),
        ))
    }
}

/// [`LengthDatum::setback`] over any scalar: `turn_rad` in `(0, π]`, lengths in mm.
///
/// | datum | turn ≤ 90° | turn > 90° |
/// |---|---|---|
/// | outside | `(r + t) tan(turn / 2)` | `r + t` |
/// | inside | `r tan(turn / 2)` | `r` |
/// | tangent | 0 | 0 |
///
/// The value is continuous at 90°, where `tan(turn / 2) = 1`; the derivative with respect to the turn is
/// not: it falls from the face radius to zero. At exactly 90° the derivative from below is given.
/// Source: DIN 6935 (leg lengths for opening angles up to and above 90°); the inside datum follows the same
/// rule on the inner face (common practice, no source).
pub fn datum_setback<S: Scalar>(datum: LengthDatum, turn_rad: S, inside_radius: S, thickness: S) -> S {
    datum_setback_as_at(turn_rad.value(), datum, turn_rad, inside_radius, thickness)
}

/// [`datum_setback`] by the column of another turn, in rad: where a bend that was drawn with that turn is made
/// with a turn beside it, its lengths are still measured to the line that they were drawn to.
pub fn datum_setback_as_at<S: Scalar>(
    drawn_turn: f64,
    datum: LengthDatum,
    turn_rad: S,
    inside_radius: S,
    thickness: S,
) -> S {
    let face_radius = match datum {
        LengthDatum::Outside => inside_radius + thickness,
        LengthDatum::Inside => inside_radius,
        LengthDatum::Tangent => return S::constant(0.0),
    };
    if drawn_turn <= maths::FRAC_PI_2 { corner_distance(turn_rad, face_radius) } else { face_radius }
}

/// [`Bend::allowance`] over any scalar: `turn_rad · (inside_radius + k_factor · thickness)`, with
/// `turn_rad` in `(0, π]` and lengths in mm.
pub fn neutral_arc<S: Scalar>(turn_rad: S, inside_radius: S, k_factor: S, thickness: S) -> S {
    turn_rad * (inside_radius + k_factor * thickness)
}

/// Distance from a tangent point of a circle to the point where both tangents meet: `radius · tan(turn / 2)`.
fn corner_distance<S: Scalar>(turn_rad: S, radius: S) -> S {
    radius * turn_rad.scaled(0.5).tan()
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;
    use crate::geom::Dual;
    use crate::quantity::Angle;

    fn turn(deg: f64) -> Turn {
        Turn::new(Angle::deg(deg)).unwrap()
    }

    fn radius(mm: f64) -> Radius {
        Radius::new(Length::mm(mm)).unwrap()
    }

    fn sheet(mm: f64) -> Thickness {
        Thickness::new(Length::mm(mm)).unwrap()
    }

    fn bend(turn_deg: f64, radius_mm: f64, k: f64) -> Bend {
        Bend { turn: turn(turn_deg), inside_radius: radius(radius_mm), k_factor: KFactor::new(k).unwrap() }
    }

    /// Flat length of a strip with the same bend between all legs: flats between the bends, plus the bends.
    fn flat_length(legs: &[f64], datum: LengthDatum, bend: Bend, sheet: Thickness) -> f64 {
        let bends = legs.len() as f64 - 1.0;
        let setback = datum.setback(bend.turn, bend.inside_radius, sheet).to_mm();
        legs.iter().sum::<f64>() - 2.0 * bends * setback + bends * bend.allowance(sheet).to_mm()
    }

    fn assert_near(got: f64, wanted: f64, within: f64) {
        assert!((got - wanted).abs() <= within, "got {got}, wanted {wanted} within {within}");
    }

    // By hand for the four strips below, t = 2, r = 2, K = 0.44, 90°:
    // allowance π/2 · (2 + 0.88) = 4.523893, deduction 2 · 4 − 4.523893 = 3.476107.

    #[test]
    fn l_strip_matches_hand_value() {
        let (bend, sheet) = (bend(90.0, 2.0, 0.44), sheet(2.0));
        assert_near(bend.deduction(sheet).unwrap().to_mm(), 3.476107, 5e-7);
        // 50 + 30 − 3.476107
        assert_near(flat_length(&[50.0, 30.0], LengthDatum::Outside, bend, sheet), 76.523893, 1e-6);
    }

    #[test]
    fn z_strip_matches_hand_value() {
        // Feet 30 and 25, overall height 40: 95 − 2 · 3.476107.
        let got = flat_length(&[30.0, 40.0, 25.0], LengthDatum::Outside, bend(90.0, 2.0, 0.44), sheet(2.0));
        assert_near(got, 88.047787, 1e-6);
    }

    #[test]
    fn u_strip_matches_hand_value_from_outside_and_inside() {
        let (bend, sheet) = (bend(90.0, 2.0, 0.44), sheet(2.0));
        // Outside 40 × 100 × 40: 180 − 2 · 3.476107.
        let outside = flat_length(&[40.0, 100.0, 40.0], LengthDatum::Outside, bend, sheet);
        assert_near(outside, 173.047787, 1e-6);
        // The same strip with its clear width: 38 × 96 × 38 inside.
        let inside = flat_length(&[38.0, 96.0, 38.0], LengthDatum::Inside, bend, sheet);
        assert_near(inside, 173.047787, 1e-6);
        // And by its flats: 36 + 92 + 36 + 2 · 4.523893.
        let tangent = flat_length(&[36.0, 92.0, 36.0], LengthDatum::Tangent, bend, sheet);
        assert_near(tangent, 173.047787, 1e-6);
    }

    #[test]
    fn hat_strip_matches_hand_value() {
        // Feet 20, sides 35, top 60, all outside: 170 − 4 · 3.476107.
        let legs = [20.0, 35.0, 60.0, 35.0, 20.0];
        let got = flat_length(&legs, LengthDatum::Outside, bend(90.0, 2.0, 0.44), sheet(2.0));
        assert_near(got, 156.095574, 2e-6);
    }

    #[test]
    fn v_strip_turned_past_a_right_angle_measures_to_the_tangent() {
        // t = 2, r = 2, K = 0.44, 135°: allowance 3π/4 · 2.88 = 6.785840; each leg loses r + t = 4.
        // 50 + 30 − 8 + 6.785840
        let got = flat_length(&[50.0, 30.0], LengthDatum::Outside, bend(135.0, 2.0, 0.44), sheet(2.0));
        assert_near(got, 78.785840, 1e-6);
    }

    #[test]
    fn closed_hem_has_an_allowance_but_no_mould_line() {
        let (half_turn, sheet) = (bend(180.0, 0.0, 0.3), sheet(1.5));
        // π · 0.3 · 1.5
        assert_near(half_turn.allowance(sheet).to_mm(), 1.413717, 5e-7);
        assert_eq!(half_turn.outside_setback(sheet), None);
        assert_eq!(half_turn.inside_setback(), None);
        assert_eq!(half_turn.deduction(sheet), None);
        assert_eq!(LengthDatum::Outside.setback(half_turn.turn, half_turn.inside_radius, sheet).to_mm(), 1.5);
        assert_eq!(
            Bend::from_deduction(half_turn.turn, radius(0.0), sheet, Length::mm(1.0)),
            Err(DeductionError::NoMouldLine { turn: half_turn.turn })
        );
    }

    #[test]
    fn crease_without_radius_and_k_takes_no_width() {
        assert_eq!(bend(90.0, 0.0, 0.0).allowance(sheet(2.0)).to_mm(), 0.0);
    }

    #[test]
    fn impossible_deduction_is_refused_with_its_k() {
        // 90°, r = t = 2: deduction 0 would need K = (8 / (π/2) − 2) / 2 = 1.546.
        let refused = Bend::from_deduction(turn(90.0), radius(2.0), sheet(2.0), Length::mm(0.0)).unwrap_err();
        assert_eq!(
            refused.to_string(),
            "a bend deduction of 0.000 mm puts the neutral fibre outside the metal: a K-factor of \
             1.546479 is not between 0 (inner face) and 1 (outer face)"
        );
    }

    #[test]
    fn datum_setback_is_continuous_at_a_right_angle() {
        for datum in [LengthDatum::Outside, LengthDatum::Inside, LengthDatum::Tangent] {
            let below = datum_setback(datum, maths::FRAC_PI_2 - 1e-12, 3.0, 1.5);
            let above = datum_setback(datum, maths::FRAC_PI_2 + 1e-12, 3.0, 1.5);
            assert_near(below, above, 1e-10);
        }
    }

    /// Compares all partial derivatives of a formula with central differences.
    fn check_derivatives(
        name: &str,
        at: [f64; 3],
        dual: impl Fn([Dual<3>; 3]) -> Dual<3>,
        value: impl Fn([f64; 3]) -> f64,
    ) {
        let h = 1e-6;
        let got = dual(std::array::from_fn(|i| Dual::variable(at[i], i)));
        assert_eq!(got.value, value(at), "{name} at {at:?}");
        for i in 0..3 {
            let (mut up, mut down) = (at, at);
            up[i] += h;
            down[i] -= h;
            let slope = (value(up) - value(down)) / (2.0 * h);
            assert!((got.parts[i] - slope).abs() < 1e-8, "{name} at {at:?}, variable {i}: {got:?}");
        }
    }

    #[test]
    fn derivatives_match_central_differences() {
        for at in [[0.4, 2.0, 1.5], [1.5, 0.0, 3.0], [1.7, 2.0, 1.5], [maths::PI, 5.0, 1.0]] {
            for datum in [LengthDatum::Outside, LengthDatum::Inside, LengthDatum::Tangent] {
                check_derivatives(
                    datum.word(),
                    at,
                    |[a, r, t]| datum_setback(datum, a, r, t),
                    |[a, r, t]| datum_setback(datum, a, r, t),
                );
            }
            check_derivatives(
                "neutral arc",
                at,
                |[a, r, t]| neutral_arc(a, r, Dual::constant(0.4), t),
                |[a, r, t]| neutral_arc(a, r, 0.4, t),
            );
        }
    }

    proptest! {
        #[test]
        fn bend_from_its_own_deduction_is_the_same_bend(
            turn_deg in 0.5..179.5_f64, r in 0.0..20.0_f64, t in 0.3..12.0_f64, k in 0.01..0.99_f64,
        ) {
            let (wanted, sheet) = (bend(turn_deg, r, k), sheet(t));
            let deduction = wanted.deduction(sheet).unwrap();
            let got = Bend::from_deduction(wanted.turn, wanted.inside_radius, sheet, deduction).unwrap();
            // Cancellation: the setback (up to 7,400 mm at 179.5°) and r / t (up to 67) are subtracted out.
            prop_assert!((got.k_factor.value() - k).abs() < 1e-10, "{} against {}", got.k_factor.value(), k);
        }

        #[test]
        fn deduction_is_positive_while_k_is_at_most_a_half(
            turn_deg in 0.01..179.99_f64, r in 0.0..50.0_f64, t in 0.3..12.0_f64, k in 0.0..=0.5_f64,
        ) {
            // Because tan x > x for 0 < x < 90°.
            prop_assert!(bend(turn_deg, r, k).deduction(sheet(t)).unwrap().to_mm() > 0.0);
        }
    }
}
