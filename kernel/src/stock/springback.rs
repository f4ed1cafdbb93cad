//! Springback: by how much a bend is turned too far so that it comes back to what was asked for.
//!
//! An estimate: factors of a table of DIN 6935 (seen in a reproduction, its column heads from memory), by material
//! and by inside radius over thickness, between whose columns is interpolated in the logarithm of the ratio.
//! Invariant: a factor lies above 0 and at most at 1. Must not know: the brake.

use crate::quantity::maths;

/// Columns of the table: inside radius after springback over thickness (from memory).
const RATIOS: [f64; 11] = [1.0, 1.6, 2.5, 4.0, 6.3, 10.0, 16.0, 25.0, 40.0, 63.0, 100.0];

/// Rows of the table; shorter ones end earlier. Source: DIN6935-TB (seen).
pub const SPRINGBACK_ROWS: &[(&str, &[f64])] = &[
    ("DC04", &[0.99, 0.99, 0.99, 0.98, 0.97, 0.97, 0.96, 0.94, 0.91, 0.87, 0.83]),
    ("DC01", &[0.99, 0.99, 0.99, 0.97, 0.96, 0.96, 0.93, 0.9, 0.85, 0.77, 0.66]),
    ("X12CrNi18-8", &[0.99, 0.98, 0.97, 0.95, 0.93, 0.89, 0.84, 0.76, 0.63]),
    ("E-Cu-R20", &[0.98, 0.97, 0.97, 0.96, 0.95, 0.93, 0.9, 0.85, 0.79, 0.72, 0.6]),
    ("CuZn33-R29", &[0.97, 0.97, 0.96, 0.95, 0.94, 0.93, 0.89, 0.86, 0.83, 0.77, 0.73]),
    ("EN AW-Al99.0", &[0.99, 0.99, 0.99, 0.99, 0.98, 0.98, 0.97, 0.97, 0.96, 0.95, 0.93]),
    ("EN AW-AlCuMg1", &[0.98, 0.98, 0.98, 0.98, 0.97, 0.97, 0.96, 0.95, 0.93, 0.91, 0.87]),
    ("EN AW-AlSiMgMn", &[0.98, 0.98, 0.97, 0.96, 0.95, 0.93, 0.9, 0.86, 0.82, 0.76, 0.72]),
];

/// Where the factors come from.
pub const SPRINGBACK_SOURCE: &str = "DIN 6935 factors k_R (reproduction seen, column heads from memory)";

/// The row of the table that stands for one of our materials.
///
/// Structural steel has the row of DC01, both stainless steels that of X12CrNi18-8, aluminium alloys that of
/// EN AW-AlSiMgMn, brass that of CuZn33-R29 (common practice, no source).
#[must_use]
pub fn springback_row(material_name: &str) -> &'static str {
    match material_name {
        "DC04" => "DC04",
        name if name.starts_with("1.4") => "X12CrNi18-8",
        name if name.starts_with("EN AW") => "EN AW-AlSiMgMn",
        name if name.starts_with("CuZn") => "CuZn33-R29",
        _ => "DC01",
    }
}

/// Factor `k_R`, the turn after springback over the turn under load, of a row of the table at this ratio of
/// inside radius to thickness. Outside the columns the first and the last one hold; an unknown row has 1.
#[must_use]
pub fn springback_factor(row: &str, radius_over_thickness: f64) -> f64 {
    let factors = SPRINGBACK_ROWS.iter().find(|(name, _)| *name == row).map_or(&[1.0][..], |(_, f)| f);
    let after = RATIOS[..factors.len()].iter().position(|ratio| radius_over_thickness <= *ratio);
    match after {
        Some(0) => factors[0],
        Some(i) => {
            let (low, high) = (maths::ln(RATIOS[i - 1]), maths::ln(RATIOS[i]));
            let share = (maths::ln(radius_over_thickness) - low) / (high - low);
            factors[i - 1] + share * (factors[i] - factors[i - 1])
        }
        None => factors[factors.len() - 1],
    }
}

/// Turn under load, in the unit of `turn`: `turn / k_R`. Source: DIN6935-TB (seen).
#[must_use]
pub fn turn_under_load(material_name: &str, turn: f64, radius_over_thickness: f64) -> f64 {
    turn / springback_factor(springback_row(material_name), radius_over_thickness)
}

/// Radius before over radius after springback of a bend in elastic and ideally plastic sheet:
/// `4 x³ - 3 x + 1` with `x = r Y / (E t)`, r the radius before. Source: KALPAKJIAN (from memory).
///
/// Radius before in mm, yield strength and modulus in N/mm², thickness in mm.
#[must_use]
pub fn radius_ratio(radius: f64, yield_strength: f64, modulus: f64, thickness: f64) -> f64 {
    let x = radius * yield_strength / (modulus * thickness);
    4.0 * x * x * x - 3.0 * x + 1.0
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn overbend_by_hand() {
        // DC01 at r = t: 90° / 0.99 = 90.909°.
        assert!((turn_under_load("DC01", 90.0, 1.0) - 90.909).abs() < 1e-3);
        // Between 2.5 (0.97) and 4 (0.95): ln(3/2.5) / ln(4/2.5) = 0.38792, so 0.96224.
        assert!((springback_factor("X12CrNi18-8", 3.0) - 0.962_24).abs() < 1e-5);
        // Beyond its last column the shorter row stays.
        assert_eq!(springback_factor("X12CrNi18-8", 90.0), 0.63);
        assert_eq!(springback_factor("DC01", 0.2), 0.99);
    }
}
