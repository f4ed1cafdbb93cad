//! Every tolerance of the kernel, with its unit and its reason.
//!
//! Invariant: a comparison elsewhere names one of these; a bare `1e-6` in other code is a mistake.

/// Points closer than this are one point, in mm. Far below any cutting accuracy (about 0.05 mm) and far
/// above the rounding of coordinates up to 10 m (about 2e-12 mm).
pub const SNAP_MM: f64 = 1e-7;

/// Loops smaller than this are dust left by snapping, in mm².
pub const DUST_AREA_MM2: f64 = 1e-6;

/// A dimension counts as held when it is this near to what was asked, in mm.
pub const HELD_MM: f64 = 1e-6;

/// An angle dimension counts as held when it is this near to what was asked, in rad.
pub const HELD_RAD: f64 = 1e-9;

/// Directions whose cross product is below this are parallel (unit vectors, so about the angle in rad).
pub const PARALLEL: f64 = 1e-9;

/// Largest distance between a true curve and its chords in meshes, in mm, unless the caller asks for less.
pub const CHORD_MM: f64 = 0.05;

/// A singular value below this share of the largest one counts as zero when a Jacobian's rank is counted.
/// Columns are in mm per mm or mm per degree, so that good systems lie above 1e-4.
pub const RANK_SHARE: f64 = 1e-9;

/// A sheet or radius matches a row of a shop's table when it is this near, in mm. Half of a thousandth of an
/// inch, to which such tables are printed, is 0.0127 mm (18 gauge: 0.0478 in, printed 0.048); neighbouring
/// gauges of one system are at least 0.033 mm apart.
pub const SHOP_TABLE_MM: f64 = 0.013;
