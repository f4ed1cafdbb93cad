//! Reaching over a barrier: ISO 13857 tables 1 and 2.
//!
//! Invariant: between rows and columns the value that is safer holds, never one between (footnote seen); heights
//! are from the floor, without boxes, chairs or ladders.

use crate::quantity::{Length, tolerance};

use super::source::{Source, Status};
use super::verdict::Outcome;

/// How bad an injury would be, as the user's risk assessment says.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Risk {
    /// Table 1.
    Low,
    /// Table 2.
    High,
}

/// A table for reaching over.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct ReachOverTable {
    /// Heights of the barrier in mm, rising.
    pub barriers_mm: &'static [f64],
    /// Heights of the hazard in mm, falling, each with the horizontal distance in mm for every barrier.
    pub rows: &'static [(f64, &'static [f64])],
    /// Where it comes from.
    pub source: Source,
    /// Barriers lower than this in mm need further measures (from memory).
    pub least_barrier_without_more_mm: f64,
}

/// What the table says about one hazard behind one barrier.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct ReachOver {
    /// Whether the distance at hand is enough.
    pub outcome: Outcome,
    /// The horizontal distance at hand.
    pub got: Length,
    /// The horizontal distance that is needed; none where the table does not go.
    pub needs: Option<Length>,
    /// Height of the hazard and of the barrier of the cell that asks for most, in mm.
    pub cell_mm: Option<[f64; 2]>,
    /// The table.
    pub source: &'static Source,
}

impl Risk {
    /// The table for it.
    #[must_use]
    pub fn table(self) -> &'static ReachOverTable {
        match self {
            Self::Low => &LOW_RISK,
            Self::High => &HIGH_RISK,
        }
    }
}

impl ReachOver {
    /// What is left over: got less needed.
    #[must_use]
    pub fn margin(&self) -> Option<Length> {
        self.needs.map(|needs| self.got - needs)
    }
}

/// Whether a hazard can be reached over a barrier: its height, that of the barrier's upper edge, both from the
/// floor, and the horizontal distance between them.
#[must_use]
pub fn reach_over(risk: Risk, hazard: Length, barrier: Length, horizontal: Length) -> ReachOver {
    let table = risk.table();
    let Some((needs, cell)) = needed(table, hazard.to_mm(), barrier.to_mm()) else {
        return ReachOver {
            outcome: Outcome::NotCovered,
            got: horizontal,
            needs: None,
            cell_mm: None,
            source: &table.source,
        };
    };
    let enough = horizontal.to_mm() >= needs - tolerance::SNAP_MM;
    let low = barrier.to_mm() < table.least_barrier_without_more_mm - tolerance::SNAP_MM && needs > 0.0;
    let outcome = match (enough, low) {
        (true, false) => Outcome::Passes,
        (true, true) => Outcome::NeedsFurtherMeasures,
        (false, _) => Outcome::Fails,
    };
    ReachOver {
        outcome,
        got: horizontal,
        needs: Some(Length::mm(needs)),
        cell_mm: Some(cell),
        source: &table.source,
    }
}

/// The largest distance of the cells around, with the heights of its cell; none below the floor and for a barrier
/// that is lower than the lowest one of the table, unless the hazard is so high that nobody reaches it.
fn needed(table: &ReachOverTable, hazard: f64, barrier: f64) -> Option<(f64, [f64; 2])> {
    let snap = tolerance::SNAP_MM;
    let (highest, _) = table.rows[0];
    if hazard >= highest - snap {
        return Some((0.0, [highest, table.barriers_mm[0]]));
    }
    // A lower barrier never asks for less, so that the next lower column is the safer one; above the last one it
    // stays.
    let column = table.barriers_mm.iter().rposition(|&b| b <= barrier + snap)?;
    let at_or_above = table.rows.iter().rposition(|(a, _)| *a >= hazard - snap)?;
    let at_or_below = table.rows.iter().position(|(a, _)| *a <= hazard + snap)?;
    let cells = table.rows[at_or_above.min(at_or_below)..=at_or_above.max(at_or_below)].iter();
    cells
        .map(|(a, distances)| (distances[column], [*a, table.barriers_mm[column]]))
        .max_by(|x, y| x.0.total_cmp(&y.0))
}

/// Table 1: low risk.
pub const LOW_RISK: ReachOverTable = ReachOverTable {
    barriers_mm: &[1000.0, 1200.0, 1400.0, 1600.0, 1800.0, 2000.0, 2200.0, 2400.0, 2500.0],
    rows: &[
        (2500.0, &[0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0]),
        (2400.0, &[100.0, 100.0, 100.0, 100.0, 100.0, 100.0, 100.0, 100.0, 0.0]),
        (2200.0, &[600.0, 600.0, 500.0, 500.0, 400.0, 350.0, 250.0, 0.0, 0.0]),
        (2000.0, &[1100.0, 900.0, 700.0, 600.0, 500.0, 350.0, 0.0, 0.0, 0.0]),
        (1800.0, &[1100.0, 1000.0, 900.0, 900.0, 600.0, 0.0, 0.0, 0.0, 0.0]),
        (1600.0, &[1300.0, 1000.0, 900.0, 900.0, 500.0, 0.0, 0.0, 0.0, 0.0]),
        (1400.0, &[1300.0, 1000.0, 900.0, 800.0, 100.0, 0.0, 0.0, 0.0, 0.0]),
        (1200.0, &[1400.0, 1000.0, 900.0, 500.0, 0.0, 0.0, 0.0, 0.0, 0.0]),
        (1000.0, &[1400.0, 1000.0, 900.0, 300.0, 0.0, 0.0, 0.0, 0.0, 0.0]),
        (800.0, &[1300.0, 900.0, 600.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0]),
        (600.0, &[1200.0, 500.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0]),
        (400.0, &[1200.0, 300.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0]),
        (200.0, &[1100.0, 200.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0]),
        (0.0, &[1100.0, 200.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0]),
    ],
    source: Source {
        title: "ISO 13857 table 1, reaching over, low risk",
        edition: "2008 / 2019",
        read: "not read; an inch table of a state code, Washington 296-806-20056 table 200-2, agrees within rounding",
        status: Status::FromMemory,
        disagreement: "hazard and barrier both at 2400 mm: the inch table has 0, this one 100 mm, which is used",
    },
    least_barrier_without_more_mm: 1000.0,
};

/// Table 2: high risk.
pub const HIGH_RISK: ReachOverTable = ReachOverTable {
    barriers_mm: &[1000.0, 1200.0, 1400.0, 1600.0, 1800.0, 2000.0, 2200.0, 2400.0, 2500.0, 2700.0],
    rows: &[
        (2700.0, &[0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0]),
        (2600.0, &[900.0, 800.0, 700.0, 600.0, 600.0, 500.0, 400.0, 300.0, 100.0, 0.0]),
        (2400.0, &[1100.0, 1000.0, 900.0, 800.0, 700.0, 600.0, 400.0, 300.0, 100.0, 0.0]),
        (2200.0, &[1300.0, 1200.0, 1000.0, 900.0, 800.0, 600.0, 400.0, 300.0, 0.0, 0.0]),
        (2000.0, &[1400.0, 1300.0, 1100.0, 900.0, 800.0, 600.0, 400.0, 0.0, 0.0, 0.0]),
        (1800.0, &[1500.0, 1400.0, 1100.0, 900.0, 800.0, 600.0, 0.0, 0.0, 0.0, 0.0]),
        (1600.0, &[1500.0, 1400.0, 1100.0, 900.0, 800.0, 500.0, 0.0, 0.0, 0.0, 0.0]),
        (1400.0, &[1500.0, 1400.0, 1100.0, 900.0, 800.0, 0.0, 0.0, 0.0, 0.0, 0.0]),
        (1200.0, &[1500.0, 1400.0, 1100.0, 900.0, 700.0, 0.0, 0.0, 0.0, 0.0, 0.0]),
        (1000.0, &[1500.0, 1400.0, 1000.0, 800.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0]),
        (800.0, &[1500.0, 1300.0, 900.0, 600.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0]),
        (600.0, &[1400.0, 1300.0, 800.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0]),
        (400.0, &[1400.0, 1200.0, 400.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0]),
        (200.0, &[1200.0, 900.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0]),
        (0.0, &[1100.0, 500.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0]),
    ],
    source: Source {
        title: "ISO 13857 table 2, reaching over, high risk",
        edition: "2008 / 2019",
        read: "not read",
        status: Status::FromMemory,
        disagreement: "",
    },
    least_barrier_without_more_mm: 1400.0,
};
