//! How sharp a material can be bent, by thickness, turn and grain.
//!
//! Job: the published least inside radii. Invariant: every number carries its source. Must not know: dies.

use super::{Material, Published, SourceStatus, Thickness};
use SourceStatus::{FromMemory, Seen};

/// A least inside radius in mm.
pub type LeastRadius = Published<f64>;

/// How a bend line lies to the direction in which the sheet was rolled.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum RollingSense {
    /// Across it, or nearer to across than to along.
    Across,
    /// Along it.
    Along,
}

/// Rows of one material: thickness above and up to which a row holds (mm), least radius over thickness for turns
/// up to 90°, and above where the standard has one.
type Rows = &'static [(f64, f64, f64, Option<f64>)];

/// Source: EN 485-2, recommended bend radii (5754 seen, 6061 from memory).
const ALUMINIUM: &[(&str, SourceStatus, Rows)] = &[
    (
        "EN AW-5754 H111",
        Seen,
        &[
            (0.2, 0.5, 0.0, Some(0.5)),
            (0.5, 1.5, 0.5, Some(0.5)),
            (1.5, 6.0, 1.0, Some(1.0)),
            (6.0, 12.5, 2.0, None),
        ],
    ),
    (
        "EN AW-5754 H22",
        Seen,
        &[
            (0.2, 0.5, 0.5, Some(1.5)),
            (0.5, 1.5, 1.0, Some(1.5)),
            (1.5, 3.0, 1.5, Some(2.0)),
            (3.0, 6.0, 1.5, None),
            (6.0, 12.5, 2.5, None),
        ],
    ),
    ("EN AW-6061 T6", FromMemory, &[(0.4, 1.5, 2.5, None), (1.5, 3.0, 3.5, None), (3.0, 6.0, 4.0, None)]),
];

/// Least radius of low carbon steel: half the thickness, but 0.8 mm. Source: sheet metal design guidelines (seen).
const STEEL: (f64, f64) = (0.5, 0.8);

/// The least inside radius at which a material is bent without cracking, whatever its grain; `turn` in rad.
///
/// Low carbon steel `max(t/2, 0.8 mm)`, stainless steel `t`, brass `t/2` (the row of copper), aluminium by
/// EN 485-2: its radius for 180° holds for turns above 90° where it has one. None where no row has the thickness,
/// and for hems of steel and brass, which are pressed flat in two strokes.
#[must_use]
pub fn least_radius(material: &Material, thickness: Thickness, turn: f64) -> Option<LeastRadius> {
    use crate::quantity::{maths, tolerance};
    let t = thickness.length().to_mm();
    if let Some((_, status, rows)) = ALUMINIUM.iter().find(|(name, ..)| *name == material.name) {
        let (_, _, right_angle, half_turn) =
            rows.iter().find(|(above, up_to, ..)| *above <= t && t <= *up_to)?;
        let above = turn > 0.5 * maths::PI + tolerance::PARALLEL;
        let factor = if above { half_turn.unwrap_or(*right_angle) } else { *right_angle };
        return Some(Published { value: factor * t, source: "EN 485-2", status: *status });
    }
    if turn > maths::PI - tolerance::PARALLEL {
        return None;
    }
    let of_service = |factor: f64| Published {
        value: factor * t,
        source: "guideline sheet of a manufacturing service",
        status: Seen,
    };
    match material.number {
        number if number.starts_with("1.0") => Some(Published {
            value: (STEEL.0 * t).max(STEEL.1),
            source: "sheet metal design guidelines, low carbon steel",
            status: Seen,
        }),
        number if number.starts_with("1.4") => Some(of_service(1.0)),
        "CW508L" => Some(of_service(0.5)),
        _ => None,
    }
}

/// Rows of DIN 6935: thickness up to which a row holds, and least inside radius in mm for a least tensile strength
/// up to 390, 490 and 640 N/mm². Source: workbook that cites DIN 6935 (1975-10) (seen).
const DIN_6935: [(f64, [f64; 3]); 15] = [
    (1.0, [1.0, 1.2, 1.6]),
    (1.5, [1.6, 2.0, 2.5]),
    (2.5, [2.5, 3.0, 4.0]),
    (3.0, [3.0, 4.0, 5.0]),
    (4.0, [5.0, 5.0, 6.0]),
    (5.0, [6.0, 8.0, 8.0]),
    (6.0, [8.0, 10.0, 10.0]),
    (7.0, [10.0, 12.0, 12.0]),
    (8.0, [12.0, 16.0, 16.0]),
    (10.0, [16.0, 20.0, 20.0]),
    (12.0, [20.0, 25.0, 25.0]),
    (14.0, [25.0, 28.0, 32.0]),
    (16.0, [28.0, 32.0, 36.0]),
    (18.0, [36.0, 40.0, 45.0]),
    (20.0, [40.0, 45.0, 50.0]),
];

/// The least inside radius of DIN 6935 for structural and cold-rolled steel; `turn` in rad.
///
/// A bend along the grain or of more than 120° takes the next thicker row. None for other materials, without a
/// tensile strength, beyond the table, and for hems.
#[must_use]
pub fn din_6935_radius(
    material: &Material,
    thickness: Thickness,
    turn: f64,
    rolling: RollingSense,
) -> Option<LeastRadius> {
    use crate::quantity::{maths, tolerance};
    if !material.number.starts_with("1.0") || turn > maths::PI - tolerance::PARALLEL {
        return None;
    }
    let strength = material.tensile_strength_at(thickness)?.value.least?;
    let column = [390.0, 490.0, 640.0].iter().position(|up_to| strength <= *up_to)?;
    let t = thickness.length().to_mm();
    let row = DIN_6935.iter().position(|(up_to, _)| t <= *up_to)?;
    let beyond = turn > maths::PI * (120.0 / 180.0) + tolerance::PARALLEL;
    let step = usize::from(beyond || rolling == RollingSense::Along);
    let (_, radii) = DIN_6935.get(row + step)?;
    Some(Published { value: radii[column], source: "DIN 6935", status: Seen })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::quantity::{Length, maths};
    use crate::stock::material;

    const RIGHT: f64 = 0.5 * maths::PI;

    fn least(name: &str, t: f64, degrees: f64) -> Option<f64> {
        let t = Thickness::new(Length::mm(t)).unwrap();
        least_radius(material(name).unwrap(), t, degrees / 180.0 * maths::PI).map(|found| found.value)
    }

    fn din(name: &str, t: f64, turn: f64, rolling: RollingSense) -> Option<f64> {
        let t = Thickness::new(Length::mm(t)).unwrap();
        din_6935_radius(material(name).unwrap(), t, turn, rolling).map(|found| found.value)
    }

    #[test]
    fn least_radii_are_those_of_their_sources() {
        // max(0.5 t, 0.8)
        assert_eq!([1.0, 1.6, 3.0].map(|t| least("DC01", t, 90.0)), [Some(0.8), Some(0.8), Some(1.5)]);
        assert_eq!(least("1.4301", 1.5, 90.0), Some(1.5));
        // EN 485-2: 5754 H22 over 0.5 to 1.5: 1.0 t at 90°, 1.5 t at 180°; over 3: no row for 180°.
        assert_eq!(least("EN AW-5754 H22", 1.0, 90.0), Some(1.0));
        assert_eq!([91.0, 180.0].map(|turn| least("EN AW-5754 H22", 1.0, turn)), [Some(1.5); 2]);
        assert_eq!(least("EN AW-5754 H22", 4.0, 180.0), Some(6.0));
        assert_eq!(least("EN AW-6061 T6", 2.0, 90.0), Some(7.0));
        // Hems of steel are pressed flat; tables end.
        assert_eq!([least("DC01", 1.0, 180.0), least("EN AW-6061 T6", 8.0, 90.0)], [None; 2]);
    }

    #[test]
    fn din_6935_goes_by_strength_grain_and_turn() {
        use RollingSense::{Across, Along};
        // DC01: least Rm 270, first column; S235JR 360; S355J2 below 3 mm 510, third column, from 3 mm 470.
        assert_eq!([1.0, 1.5, 3.0].map(|t| din("DC01", t, RIGHT, Across)), [Some(1.0), Some(1.6), Some(3.0)]);
        assert_eq!(din("S355J2", 2.0, RIGHT, Across), Some(4.0));
        assert_eq!(din("S355J2", 4.0, RIGHT, Across), Some(5.0));
        // The next thicker row along the grain, and above 120°, but once.
        assert_eq!(din("DC01", 1.5, RIGHT, Along), Some(2.5));
        assert_eq!(din("DC01", 1.5, maths::PI * 0.7, Across), Some(2.5));
        assert_eq!(din("DC01", 1.5, maths::PI * 0.7, Along), Some(2.5));
        assert_eq!([din("1.4301", 1.5, RIGHT, Along), din("S235JR", 20.0, RIGHT, Along)], [None; 2]);
    }
}
