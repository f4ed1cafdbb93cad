//! A test strip: sheet that was cut, measured, bent, and measured again.
//!
//! Job: the K of one strip, from its own figures alone. Invariant: none beyond those of its fields; only
//! [`TestStrip::checked_k`] says whether they can be those of a strip. Must not know: other strips.

use thiserror::Error;

use crate::quantity::{Length, Radius, Turn};

use super::{KFactor, LengthDatum, StockError, Thickness, datum_setback};

/// No measure of a strip is larger, in mm; a slip of the pen is, and squares of larger ones could overflow.
const LARGEST_MM: f64 = 1e5;

/// A strip of sheet with one bend, or several equal ones, as measured.
#[derive(Clone, Debug, PartialEq)]
pub struct TestStrip {
    /// Lengths of the legs after bending, two or more, from end to end; a leg between two bends is measured
    /// at both its ends.
    pub legs: Vec<Length>,
    /// Turn of each bend.
    pub turn: Turn,
    /// Thickness of the strip.
    pub thickness: Thickness,
    /// Inside radius of each bend.
    pub inside_radius: Radius,
    /// Length of the strip before bending.
    pub flat: Length,
}

/// Why measures are those of no strip. Legs are counted from 1.
#[derive(Clone, Copy, Debug, PartialEq, Error)]
pub enum TestStripError {
    /// A strip without bend.
    #[error("two legs or more are needed, got {legs}")]
    TooFewLegs {
        /// How many legs it has.
        legs: usize,
    },
    /// A measure that is a slip of the pen.
    #[error("a measure is above {:.0} m", LARGEST_MM / 1000.0)]
    TooLarge,
    /// A leg that would end within its bend.
    #[error("leg {leg} is {got} long, but to the end of its bend there are {needed} already")]
    LegTooShort {
        /// Which leg.
        leg: usize,
        /// Its length.
        got: Length,
        /// Setbacks of the bends at its ends.
        needed: Length,
    },
    /// The neutral fibre would lie outside the metal.
    #[error(transparent)]
    OutsideTheMetal(#[from] StockError),
}

impl TestStrip {
    /// Inside radius over thickness.
    #[must_use]
    pub fn ratio(&self) -> f64 {
        self.inside_radius.length() / self.thickness.length()
    }

    /// How much longer the flat strip must be in mm for K to be larger by 1: `bends · turn [rad] · thickness`.
    ///
    /// So a flat length that is measured wrong by `δ` makes K wrong by `δ` over this.
    pub(super) fn mm_for_one_k(&self) -> f64 {
        self.bends() * self.turn.angle().to_rad() * self.thickness.length().to_mm()
    }

    /// The K with which the bends make up the flat length:
    /// `((flat − straight parts) / bends / turn [rad] − inside radius) / thickness`.
    ///
    /// A straight part is a leg less a setback, as `legs_from` says, at each of its bends.
    ///
    /// # Errors
    /// [`TestStripError`] for the first fault found.
    pub(super) fn checked_k(&self, legs_from: LengthDatum) -> Result<KFactor, TestStripError> {
        if self.legs.len() < 2 {
            return Err(TestStripError::TooFewLegs { legs: self.legs.len() });
        }
        let (turn, radius) = (self.turn.angle().to_rad(), self.inside_radius.length().to_mm());
        let (thickness, flat) = (self.thickness.length().to_mm(), self.flat.to_mm());
        let legs = || self.legs.iter().map(|leg| leg.to_mm());
        if legs().chain([radius, thickness, flat]).any(|measure| measure > LARGEST_MM) {
            return Err(TestStripError::TooLarge);
        }
        let setback = datum_setback(legs_from, turn, radius, thickness);
        let mut straight = 0.0;
        for (index, leg) in legs().enumerate() {
            let ends_at_bends = if index == 0 || index + 1 == self.legs.len() { 1.0 } else { 2.0 };
            let needed = ends_at_bends * setback;
            if leg < needed {
                let (got, needed) = (self.legs[index], Length::try_mm(needed));
                let needed = needed.map_err(|_| TestStripError::TooLarge)?;
                return Err(TestStripError::LegTooShort { leg: index + 1, got, needed });
            }
            straight += leg - needed;
        }
        let arcs = self.bends() * turn * radius;
        Ok(KFactor::new((flat - straight - arcs) / self.mm_for_one_k())?)
    }

    fn bends(&self) -> f64 {
        (self.legs.len() - 1) as f64
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::quantity::{Angle, maths};

    fn strip(legs: &[f64], turn_deg: f64, t: f64, r: f64, flat: f64) -> TestStrip {
        TestStrip {
            legs: legs.iter().map(|&leg| Length::mm(leg)).collect(),
            turn: Turn::new(Angle::deg(turn_deg)).unwrap(),
            thickness: Thickness::new(Length::mm(t)).unwrap(),
            inside_radius: Radius::new(Length::mm(r)).unwrap(),
            flat: Length::mm(flat),
        }
    }

    fn k(strip: &TestStrip, legs_from: LengthDatum) -> f64 {
        strip.checked_k(legs_from).unwrap().value()
    }

    fn assert_near(got: f64, wanted: f64) {
        assert!((got - wanted).abs() <= 5e-7, "got {got}, wanted {wanted}");
    }

    #[test]
    fn k_of_strips_by_hand() {
        // The strips of `bend.rs`, t = 2, r = 2, K = 0.44, the other way round. Six decimals of a flat length
        // leave 5e-7 / (π/2 · 2) = 1.6e-7 in K.
        let outside = LengthDatum::Outside;
        assert_near(k(&strip(&[50.0, 30.0], 90.0, 2.0, 2.0, 76.523_893), outside), 0.44);
        assert_near(k(&strip(&[30.0, 40.0, 25.0], 90.0, 2.0, 2.0, 88.047_787), outside), 0.44);
        assert_near(k(&strip(&[20.0, 35.0, 60.0, 35.0, 20.0], 90.0, 2.0, 2.0, 156.095_574), outside), 0.44);
        assert_near(k(&strip(&[38.0, 96.0, 38.0], 90.0, 2.0, 2.0, 173.047_787), LengthDatum::Inside), 0.44);
        assert_near(k(&strip(&[36.0, 92.0, 36.0], 90.0, 2.0, 2.0, 173.047_787), LengthDatum::Tangent), 0.44);
        // Past 90° the legs run to the outer tangent, each losing r + t.
        assert_near(k(&strip(&[50.0, 30.0], 135.0, 2.0, 2.0, 78.785_840), outside), 0.44);
        // A longer blank by π/2 · 2 mm is one K more, with two bends by twice that.
        assert_near(strip(&[50.0, 30.0], 90.0, 2.0, 2.0, 76.0).mm_for_one_k(), maths::PI);
        assert_near(strip(&[30.0, 40.0, 25.0], 90.0, 2.0, 2.0, 88.0).mm_for_one_k(), maths::TAU);
    }

    #[test]
    fn measures_of_no_strip_are_refused() {
        let said = |strip: TestStrip| strip.checked_k(LengthDatum::Outside).unwrap_err().to_string();
        assert_eq!(said(strip(&[76.0], 90.0, 2.0, 2.0, 76.0)), "two legs or more are needed, got 1");
        // One setback is 4 mm, and the middle leg has two.
        let needed = "but to the end of its bend there are";
        assert_eq!(
            said(strip(&[50.0, 3.9], 90.0, 2.0, 2.0, 50.4)),
            format!("leg 2 is 3.900 mm long, {needed} 4.000 mm already")
        );
        assert_eq!(
            said(strip(&[50.0, 7.9, 30.0], 90.0, 2.0, 2.0, 81.0)),
            format!("leg 2 is 7.900 mm long, {needed} 8.000 mm already")
        );
        // Flat as long as both legs: K = (8 / (π/2) − 2) / 2 = 1.546479.
        assert_eq!(
            said(strip(&[50.0, 30.0], 90.0, 2.0, 2.0, 80.0)),
            "a K-factor of 1.546479 is not between 0 (inner face) and 1 (outer face)"
        );
        assert_eq!(said(strip(&[1e300, 1e300], 90.0, 1e299, 1.0, 2e300)), "a measure is above 100 m");
        // The mould line of a turn of almost 180° never comes into it: legs run to the tangent.
        assert!(strip(&[50.0, 30.0], 179.999_999, 2.0, 2.0, 81.0).checked_k(LengthDatum::Outside).is_ok());
    }
}
