//! Openings by the federal rules of the United States: 29 CFR 1910.217 table O-10, 1910.219 table O-12.
//!
//! Invariant: rows are kept in inches as printed; the width of an opening is its smaller dimension, whatever its
//! length (OSHA letter of 22 Jan 1998, seen).

use super::source::{Source, Status};

/// A row of table O-10.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct PointOfOperationRow {
    /// The opening is at least this far from the hazard, in inches.
    pub from_in: f64,
    /// Up to this distance, in inches.
    pub to_in: f64,
    /// Widest opening there, in inches.
    pub widest_in: f64,
}

/// What a barrier of table O-12 is filled with.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Filling {
    /// Woven wire.
    WovenWire,
    /// Expanded metal.
    ExpandedMetal,
    /// Perforated metal: a sheet with holes.
    PerforatedMetal,
    /// Sheet metal without openings.
    SheetMetal,
    /// Wood or metal strips that cross each other.
    StripsCrossed,
    /// Wood or metal strips that do not cross.
    StripsNotCrossed,
}

/// A row of table O-12.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct BarrierRow {
    /// What the barrier is filled with.
    pub filling: Filling,
    /// Clearance from the moving part in inches: at least this.
    pub from_in: f64,
    /// And at most, or under, this.
    pub to_in: f64,
    /// Widest opening in inches; none where no opening is given.
    pub widest_in: Option<f64>,
    /// Thinnest filling as printed: gauges are those of the US standard gauge.
    pub thinnest: &'static str,
    /// The same in inches, of metal: by the US standard gauge (15 U.S.C. 206).
    pub thinnest_in: f64,
}

pub(super) const POINT_OF_OPERATION_SOURCE: Source = Source {
    title: "29 CFR 1910.217(f)(4) table O-10",
    edition: "no edition, law in force not looked up",
    read: "not read; only its neighbours: the width is the smaller dimension, the guarding line is 1/2 in away",
    status: Status::FromMemory,
    disagreement: "1910.217(a)(5) leaves press brakes out; ISO 13857 slots are at times stricter (3/8 in: 80 mm \
                   against 38.1 mm) and at times laxer (3/4 in: 120 mm against 139.7 mm)",
};

pub(super) const BARRIER_SOURCE: Source = Source {
    title: "29 CFR 1910.219 table O-12",
    edition: "no edition, law in force not looked up",
    read: "copy in a state code, Washington 296-307-28060 table P-1; the federal table itself from memory agrees",
    status: Status::Seen,
    disagreement: "woven wire is printed both with 3/8 in under 2 in and with 1/2 in under 4 in: the smaller holds",
};

const fn point(from_in: f64, to_in: f64, widest_in: f64) -> PointOfOperationRow {
    PointOfOperationRow { from_in, to_in, widest_in }
}

/// Table O-10 of 29 CFR 1910.217.
pub const POINT_OF_OPERATION: &[PointOfOperationRow] = &[
    point(0.5, 1.5, 0.25),
    point(1.5, 2.5, 0.375),
    point(2.5, 3.5, 0.5),
    point(3.5, 5.5, 0.625),
    point(5.5, 6.5, 0.75),
    point(6.5, 7.5, 0.875),
    point(7.5, 12.5, 1.25),
    point(12.5, 15.5, 1.5),
    point(15.5, 17.5, 1.875),
    point(17.5, 31.5, 2.125),
];

const fn barrier(
    filling: Filling,
    [from_in, to_in]: [f64; 2],
    widest_in: f64,
    (thinnest, thinnest_in): (&'static str, f64),
) -> BarrierRow {
    BarrierRow { filling, from_in, to_in, widest_in: Some(widest_in), thinnest, thinnest_in }
}

const STRIPS: (&str, f64) = ("wood 3/4 in; metal No. 16", 0.0625);

/// Table O-12 of 29 CFR 1910.219; barriers are at least 7 ft high.
pub const BARRIERS: &[BarrierRow] = &[
    barrier(Filling::WovenWire, [0.0, 2.0], 0.375, ("No. 16", 0.0625)),
    barrier(Filling::WovenWire, [2.0, 4.0], 0.5, ("No. 16", 0.0625)),
    barrier(Filling::WovenWire, [0.0, 4.0], 0.5, ("No. 16", 0.0625)),
    barrier(Filling::WovenWire, [4.0, 15.0], 2.0, ("No. 12", 0.109_375)),
    barrier(Filling::ExpandedMetal, [0.0, 4.0], 0.5, ("No. 18", 0.05)),
    barrier(Filling::ExpandedMetal, [4.0, 15.0], 2.0, ("No. 13", 0.093_75)),
    barrier(Filling::PerforatedMetal, [0.0, 4.0], 0.5, ("No. 20", 0.0375)),
    barrier(Filling::PerforatedMetal, [4.0, 15.0], 2.0, ("No. 14", 0.078_125)),
    BarrierRow { widest_in: None, ..barrier(Filling::SheetMetal, [0.0, 4.0], 0.0, ("No. 22", 0.031_25)) },
    BarrierRow { widest_in: None, ..barrier(Filling::SheetMetal, [4.0, 15.0], 0.0, ("No. 22", 0.031_25)) },
    barrier(Filling::StripsCrossed, [0.0, 4.0], 0.375, STRIPS),
    barrier(Filling::StripsCrossed, [4.0, 15.0], 2.0, STRIPS),
    barrier(Filling::StripsNotCrossed, [0.0, 4.0], 0.5, STRIPS),
    barrier(Filling::StripsNotCrossed, [4.0, 15.0], 1.0, STRIPS),
];

impl Filling {
    /// What it is called.
    #[must_use]
    pub fn name(self) -> &'static str {
        match self {
            Self::WovenWire => "woven wire",
            Self::ExpandedMetal => "expanded metal",
            Self::PerforatedMetal => "perforated metal",
            Self::SheetMetal => "sheet metal",
            Self::StripsCrossed => "wood or metal strip crossed",
            Self::StripsNotCrossed => "wood or metal strip not crossed",
        }
    }
}

/// Least distance in inches at which table O-10 admits an opening of this width, with its row.
pub(super) fn point_of_operation(width_in: f64, slack_in: f64) -> Option<&'static PointOfOperationRow> {
    POINT_OF_OPERATION.iter().find(|row| width_in <= row.widest_in + slack_in)
}

/// Least clearance in inches at which table O-12 admits an opening of this width, with its row: every row that
/// covers a clearance has to admit it there.
pub(super) fn barrier_row(
    filling: Filling,
    width_in: f64,
    slack_in: f64,
) -> Option<(f64, &'static BarrierRow)> {
    let rows = || BARRIERS.iter().filter(move |row| row.filling == filling);
    let admits = |row: &BarrierRow| row.widest_in.is_some_and(|widest| width_in <= widest + slack_in);
    let mut starts: Vec<f64> = rows().map(|row| row.from_in).collect();
    starts.sort_by(f64::total_cmp);
    starts.into_iter().find_map(|from| {
        // From here on outwards no row may forbid it.
        let outward = || rows().filter(move |row| row.to_in > from);
        let row = outward().find(|row| row.from_in <= from)?;
        outward().all(admits).then_some((from, row))
    })
}
