//! Openings by ISO 13857: tables for arms and for legs. Invariant: rows follow each other without gap, and no
//! distance falls with a larger opening of the same shape.

use super::source::{Source, Status};

/// A row for upper limbs of persons of 14 years and older.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct UpperLimbRow {
    /// The part of the body that passes.
    pub limb: &'static str,
    /// The opening is larger than this, in mm.
    pub over_mm: f64,
    /// It is at most this, in mm.
    pub up_to_mm: f64,
    /// Distance that a slot needs, in mm.
    pub slot_mm: f64,
    /// Distance that a square needs, in mm.
    pub square_mm: f64,
    /// Distance that a circle needs, in mm.
    pub round_mm: f64,
    /// Distance that a slot needs that is so short that the thumb stops the hand, in mm.
    pub short_slot_mm: Option<f64>,
}

/// A row for lower limbs.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct LowerLimbRow {
    /// The part of the body that passes.
    pub limb: &'static str,
    /// The opening is larger than this, in mm.
    pub over_mm: f64,
    /// It is at most this, in mm.
    pub up_to_mm: f64,
    /// Distance that a slot needs, in mm; none where slots are not admissible.
    pub slot_mm: Option<f64>,
    /// Distance that a square or a circle needs, in mm.
    pub square_or_round_mm: f64,
    /// Distance that a short slot needs, in mm.
    pub short_slot_mm: Option<f64>,
}

/// A slot for arms is short up to this length in mm (ISO 13857 table 4, seen: the thumb stops the hand).
pub(super) const SHORT_SLOT_ARM_MM: f64 = 65.0;

/// A slot for legs is short up to this length in mm (ISO 13857 table 7, footnote seen).
pub(super) const SHORT_SLOT_LEG_MM: f64 = 75.0;

pub(super) const UPPER_SOURCE: Source = Source {
    title: "ISO 13857 table 4, upper limbs, 14 years and older",
    edition: "2008 / 2019",
    read: "restated by a machine-safety consultant, footnotes by a safety supplier",
    status: Status::Seen,
    disagreement: "29 CFR 1910.217 table O-10 is at times stricter (3/4 in: 139.7 mm against 120 mm) and at times \
                   laxer (3/8 in: 38.1 mm against 80 mm)",
};

pub(super) const LOWER_SOURCE: Source = Source {
    title: "ISO 13857 table 7, lower limbs",
    edition: "2008 / 2019",
    read: "not read but for its footnotes on short slots and on access of the whole body",
    status: Status::FromMemory,
    disagreement: "",
};

pub(super) const IRREGULAR_SOURCE: Source = Source {
    title: "ISO 13857, rule for irregular openings",
    edition: "2008 / 2019",
    read: "not read",
    status: Status::FromMemory,
    disagreement: "",
};

const fn upper(
    limb: &'static str,
    [over_mm, up_to_mm]: [f64; 2],
    [slot_mm, square_mm, round_mm]: [f64; 3],
) -> UpperLimbRow {
    UpperLimbRow { limb, over_mm, up_to_mm, slot_mm, square_mm, round_mm, short_slot_mm: None }
}

/// ISO 13857 table 4. Larger openings go by the table for reaching over.
pub const UPPER_LIMBS: &[UpperLimbRow] = &[
    upper("fingertip", [0.0, 4.0], [2.0, 2.0, 2.0]),
    upper("fingertip", [4.0, 6.0], [10.0, 5.0, 5.0]),
    upper("finger to knuckle", [6.0, 8.0], [20.0, 15.0, 5.0]),
    upper("finger to knuckle", [8.0, 10.0], [80.0, 25.0, 20.0]),
    upper("hand", [10.0, 12.0], [100.0, 80.0, 80.0]),
    upper("hand", [12.0, 20.0], [120.0, 120.0, 120.0]),
    UpperLimbRow { short_slot_mm: Some(200.0), ..upper("hand", [20.0, 30.0], [850.0, 120.0, 120.0]) },
    upper("arm", [30.0, 40.0], [850.0, 200.0, 120.0]),
    upper("arm", [40.0, 120.0], [850.0, 850.0, 850.0]),
];

const fn lower(
    limb: &'static str,
    [over_mm, up_to_mm]: [f64; 2],
    slot_mm: f64,
    square_or_round_mm: f64,
) -> LowerLimbRow {
    LowerLimbRow { limb, over_mm, up_to_mm, slot_mm: Some(slot_mm), square_or_round_mm, short_slot_mm: None }
}

/// ISO 13857 table 7. A slot above 180 mm, a square or circle above 240 mm lets the whole body in.
pub const LOWER_LIMBS: &[LowerLimbRow] = &[
    lower("toe tip", [0.0, 5.0], 0.0, 0.0),
    lower("toe", [5.0, 15.0], 10.0, 0.0),
    LowerLimbRow { short_slot_mm: Some(50.0), ..lower("toe", [15.0, 35.0], 80.0, 25.0) },
    lower("foot", [35.0, 60.0], 180.0, 80.0),
    lower("leg to knee", [60.0, 80.0], 650.0, 180.0),
    lower("leg to crotch", [80.0, 95.0], 1100.0, 650.0),
    lower("leg to crotch", [95.0, 180.0], 1100.0, 1100.0),
    LowerLimbRow { slot_mm: None, ..lower("whole body", [180.0, 240.0], 0.0, 1100.0) },
];
