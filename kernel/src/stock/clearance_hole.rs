//! Clearance holes for bolts after ISO 273: three fits for each thread size.
//!
//! Job: the published table. Invariant: sizes rise, each hole is wider than its bolt, and a fit is wider than
//! the one before. Source: ISO 273 as listed by a fastener supplier, M3 to M16 seen; all other rows from
//! memory. Must not know: where a hole is cut.

use thiserror::Error;

use crate::quantity::Length;

use super::SourceStatus::{self, FromMemory, Seen};

/// How much room a clearance hole leaves to its bolt.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum ClearanceFit {
    /// Hole tolerance H12: parts that are located by their bolts.
    Fine,
    /// Hole tolerance H13: the usual one.
    Medium,
    /// Hole tolerance H14: loose, for frames that are welded or set up by hand.
    Coarse,
}

impl ClearanceFit {
    /// Every fit, the tightest first.
    pub const ALL: [Self; 3] = [Self::Fine, Self::Medium, Self::Coarse];

    /// `fine`, `medium` or `coarse`, as the standard calls its series.
    #[must_use]
    pub fn word(self) -> &'static str {
        match self {
            Self::Fine => "fine",
            Self::Medium => "medium",
            Self::Coarse => "coarse",
        }
    }
}

/// The clearance holes of one thread size.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct ClearanceHole {
    /// Thread size, for example `M6`; unique in [`CLEARANCE_HOLES`].
    pub bolt: &'static str,
    /// Diameters in mm, in the order of [`ClearanceFit::ALL`].
    pub diameters_mm: [f64; 3],
    /// Whether the row was read in the source or written down from memory.
    pub status: SourceStatus,
}

impl ClearanceHole {
    /// Diameter of the hole.
    #[must_use]
    pub fn diameter(&self, fit: ClearanceFit) -> Length {
        let [fine, medium, coarse] = self.diameters_mm;
        Length::mm(match fit {
            ClearanceFit::Fine => fine,
            ClearanceFit::Medium => medium,
            ClearanceFit::Coarse => coarse,
        })
    }
}

/// A thread size that ISO 273 has no row for.
#[derive(Clone, Debug, PartialEq, Eq, Error)]
#[error("there is no clearance hole for a bolt `{asked}`")]
pub struct UnknownBolt {
    /// What was asked for.
    pub asked: String,
}

const fn row(bolt: &'static str, diameters_mm: [f64; 3], status: SourceStatus) -> ClearanceHole {
    ClearanceHole { bolt, diameters_mm, status }
}

/// Every size known, in the order in which messages list them.
pub const CLEARANCE_HOLES: &[ClearanceHole] = &[
    row("M1.6", [1.7, 1.8, 2.0], FromMemory),
    row("M2", [2.2, 2.4, 2.6], FromMemory),
    row("M2.5", [2.7, 2.9, 3.1], FromMemory),
    row("M3", [3.2, 3.4, 3.6], Seen),
    row("M3.5", [3.7, 3.9, 4.2], Seen),
    row("M4", [4.3, 4.5, 4.8], Seen),
    row("M5", [5.3, 5.5, 5.8], Seen),
    row("M6", [6.4, 6.6, 7.0], Seen),
    row("M7", [7.4, 7.6, 8.0], Seen),
    row("M8", [8.4, 9.0, 10.0], Seen),
    row("M10", [10.5, 11.0, 12.0], Seen),
    row("M12", [13.0, 13.5, 14.5], Seen),
    row("M14", [15.0, 15.5, 16.5], Seen),
    row("M16", [17.0, 17.5, 18.5], Seen),
    row("M18", [19.0, 20.0, 21.0], FromMemory),
    row("M20", [21.0, 22.0, 24.0], FromMemory),
    row("M22", [23.0, 24.0, 26.0], FromMemory),
    row("M24", [25.0, 26.0, 28.0], FromMemory),
    row("M27", [28.0, 30.0, 32.0], FromMemory),
    row("M30", [31.0, 33.0, 35.0], FromMemory),
    row("M33", [34.0, 36.0, 38.0], FromMemory),
    row("M36", [37.0, 39.0, 42.0], FromMemory),
    row("M39", [40.0, 42.0, 45.0], FromMemory),
    row("M42", [43.0, 45.0, 48.0], FromMemory),
    row("M45", [46.0, 48.0, 52.0], FromMemory),
    row("M48", [50.0, 52.0, 56.0], FromMemory),
    row("M52", [54.0, 56.0, 62.0], FromMemory),
    row("M56", [58.0, 62.0, 66.0], FromMemory),
    row("M60", [62.0, 66.0, 70.0], FromMemory),
    row("M64", [66.0, 70.0, 74.0], FromMemory),
];

/// The clearance holes of a thread size.
///
/// # Errors
/// [`UnknownBolt`] if the table has no such size.
pub fn clearance_hole(bolt: &str) -> Result<&'static ClearanceHole, UnknownBolt> {
    CLEARANCE_HOLES.iter().find(|row| row.bolt == bolt).ok_or_else(|| UnknownBolt { asked: bolt.to_owned() })
}
