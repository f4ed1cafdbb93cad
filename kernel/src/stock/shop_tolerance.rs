//! What a shop keeps to unless something else is agreed: thickness of the sheet, cuts and bends.
//!
//! Job: the published tables and habits. Invariant: every number carries its source; a limit is meant to both
//! sides of the nominal value. Must not know: what the limits do to a part.

/// By how much the turn of a bend may be off, in degrees. Source: press brake guide of a machine supplier
/// (RUCHENG, seen), "bend angle, common".
pub const TURN_DEG: f64 = 1.0;

/// By how much a bend line may be off its place, in mm. Source: RUCHENG (seen), the least "flange length,
/// common": a flange is as long as its bend line is far from its edge.
pub const BEND_PLACE_MM: f64 = 0.5;

/// By how much the inside radius of a bend may be off, as a share of it (common practice, no source).
pub const RADIUS_SHARE: f64 = 0.1;

/// Rows `[up to thickness, ±]` in mm. Source: EN 10131, normal tolerances, yield strength below 260 MPa, widths
/// of 1200 to 1500 mm, into which the usual coils fall (from memory).
const COLD_ROLLED_MM: [[f64; 2]; 9] = [
    [0.4, 0.04],
    [0.6, 0.04],
    [0.8, 0.05],
    [1.0, 0.06],
    [1.2, 0.07],
    [1.6, 0.09],
    [2.0, 0.11],
    [2.5, 0.13],
    [3.0, 0.15],
];

/// By how much thicker sheet may be off, as a share of its thickness: a little more than the share of the
/// last row of the table (common practice, no source).
const THICKER_SHARE: f64 = 0.06;

/// By how much a sheet of this thickness (mm) may be thicker or thinner, in mm.
///
/// Up to 3 mm the table of EN 10131 (cold-rolled steel), whatever the material; sheet below its 0.35 mm has its
/// first row. Above, 6 % of the thickness (common practice, no source).
#[must_use]
pub fn thickness_limit(thickness: f64) -> f64 {
    let row = COLD_ROLLED_MM.iter().find(|[up_to, _]| thickness <= *up_to);
    row.map_or(THICKER_SHARE * thickness, |[_, limit]| *limit)
}

/// Lengths in mm below which the limits of a row of [`LASER_CUT_MM`] hold, in order.
const CUT_LENGTHS_MM: [f64; 9] = [3.0, 10.0, 35.0, 125.0, 315.0, 1000.0, 2000.0, 4000.0, 6000.0];

/// Thickness up to which a row holds, and its limits by [`CUT_LENGTHS_MM`] with one more for longer cuts, in
/// mm. Source: ISO 9013 class 1 as restated by a metal shop (seen). Thickness above 6.3 mm has no limits below
/// 3 mm there; those of the next column stand in.
const LASER_CUT_MM: [(f64, [f64; 10]); 5] = [
    (1.0, [0.075, 0.1, 0.1, 0.2, 0.2, 0.3, 0.4, 0.65, 0.9, 1.6]),
    (3.15, [0.1, 0.15, 0.2, 0.25, 0.25, 0.35, 0.4, 0.65, 1.0, 1.75]),
    (6.3, [0.2, 0.2, 0.25, 0.25, 0.3, 0.4, 0.45, 0.7, 1.1, 1.9]),
    (10.0, [0.25, 0.25, 0.3, 0.3, 0.35, 0.45, 0.55, 0.75, 1.25, 2.2]),
    (15.0, [0.3, 0.3, 0.35, 0.4, 0.45, 0.55, 0.65, 0.85, 1.5, 2.5]),
];

/// By how much a length cut with a laser may be off, for sheet of this thickness, all in mm.
///
/// ISO 9013 class 1; thicker sheet than its 15 mm and longer cuts than its 8 m have the last row and column.
#[must_use]
pub fn laser_cut_limit(thickness: f64, length: f64) -> f64 {
    let row = LASER_CUT_MM.iter().find(|(up_to, _)| thickness <= *up_to);
    let (_, limits) = row.unwrap_or(&LASER_CUT_MM[LASER_CUT_MM.len() - 1]);
    let column = CUT_LENGTHS_MM.iter().position(|below| length < *below);
    limits[column.unwrap_or(CUT_LENGTHS_MM.len())]
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn beyond_the_tables_the_last_rows_hold() {
        assert_eq!(thickness_limit(0.2), 0.04);
        assert_eq!(thickness_limit(3.0), 0.15);
        assert!((thickness_limit(4.0) - 0.24).abs() < 1e-12);
        assert_eq!(laser_cut_limit(20.0, 10_000.0), 2.5);
        assert_eq!(laser_cut_limit(1.5, 1000.0), 0.4);
        assert_eq!(laser_cut_limit(1.5, 999.9), 0.35);
    }
}
