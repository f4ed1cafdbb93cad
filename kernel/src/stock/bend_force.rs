//! Force of an air bend, with the spread of what is published about it.
//!
//! `F = C · Rm · t² · L / V`: in proportion to strength, to the square of the thickness and to the length, in
//! inverse proportion to the die's opening (all sources; FORCE-DH, seen). Sources differ in C.
//! Invariant: `least ≤ likely ≤ most`. Must not know: the brake.

use super::{Material, Thickness};

/// Smallest published C. Source: Groover (from memory).
pub const LEAST_C: f64 = 1.33;

/// The trade's C. Source: tooling maker's chart (FORCE-AMA), whose rows for stainless it reproduces
/// (common practice).
pub const USUAL_C: f64 = 1.42;

/// The greatest: the US rule of 575 t²/V tons a foot for mild steel of 60 ksi. Source: FORCE-DH, seen.
pub const MOST_C: f64 = 1.597;

/// C of German forming texts, `1 + 4 t / V` (from memory).
#[must_use]
pub fn c_by_opening(thickness: f64, opening: f64) -> f64 {
    1.0 + 4.0 * thickness / opening
}

/// Force in kN of an air bend `length` mm long: C, strength in N/mm², thickness and opening in mm.
#[must_use]
pub fn air_bend_force(c: f64, strength: f64, thickness: f64, length: f64, opening: f64) -> f64 {
    const N_PER_KN: f64 = 1000.0;
    c * strength * thickness * thickness * length / opening / N_PER_KN
}

/// Force of one bend in kN.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct BendForce {
    /// With the smallest C and the least strength of the material.
    pub least: f64,
    /// With the usual C and the middle of the range of strength.
    pub likely: f64,
    /// With the greatest C, [`c_by_opening`] included, and the greatest strength.
    pub most: f64,
}

impl BendForce {
    /// Force of an air bend `length` mm long over a die of `opening` mm; none where the material's table has no
    /// strength for this thickness.
    ///
    /// A strength without upper limit counts as a quarter more than its lower one, one without lower limit as a
    /// quarter less than its upper one (common practice, no source).
    #[must_use]
    pub fn new(material: &Material, thickness: Thickness, length: f64, opening: f64) -> Option<Self> {
        const OPEN_END: f64 = 1.25;
        let band = material.tensile_strength_at(thickness)?.value;
        let (low, high) = match (band.least, band.most) {
            (Some(low), Some(high)) => (low, high),
            (Some(low), None) => (low, OPEN_END * low),
            (None, Some(high)) => (high / OPEN_END, high),
            (None, None) => return None,
        };
        let t = thickness.length().to_mm();
        let force = |c, strength| air_bend_force(c, strength, t, length, opening);
        Some(Self {
            least: force(LEAST_C, low),
            likely: force(USUAL_C, 0.5 * (low + high)),
            most: force(MOST_C.max(c_by_opening(t, opening)), high),
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::quantity::Length;
    use crate::stock::material;

    #[test]
    fn force_by_hand() {
        // 1.42 · 340 · 4 · 1000 / 12 = 160 933 N; DC01 has 270 to 410 N/mm², 340 in the middle.
        let sheet = Thickness::new(Length::mm(2.0)).unwrap();
        let force = BendForce::new(material("DC01").unwrap(), sheet, 1000.0, 12.0).unwrap();
        assert!((force.likely - 160.933).abs() < 1e-3, "{force:?}");
        // 1.33 · 270 · 4000 / 12 and, since 1 + 8/12 is above 1.597, 1.6667 · 410 · 4000 / 12.
        assert!((force.least - 119.7).abs() < 1e-9 && (force.most - 227.778).abs() < 1e-3, "{force:?}");
    }
}
