//! Hexagon heads, plain washers and hexagon nuts by thread size.
//!
//! Job: the published tables. Invariant: sizes rise; a head, a nut and a washer are wider than their thread.
//! Sources: ISO 4017 (heads) as far as it agrees with a supplier's table of DIN 933, M10, M12 and M14 from memory, since
//! the two standards differ there; ISO 7089 (washers) as listed by a fastener supplier; ISO 4032 (nuts) from memory.
//! Must not know: where a bolt stands.

use thiserror::Error;

use super::SourceStatus::{self, FromMemory, Seen};

/// The hexagon head of one thread size, after ISO 4017.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct HexHead {
    /// Thread size, for example `M6`; unique in [`HEX_HEADS`].
    pub bolt: &'static str,
    /// Diameter of the thread in mm.
    pub thread_mm: f64,
    /// Width across flats in mm, the nominal one, which is the largest.
    pub across_flats_mm: f64,
    /// Height of the head in mm, nominal.
    pub height_mm: f64,
    /// Whether the row was read in the source or written down from memory.
    pub status: SourceStatus,
}

/// The plain washer of one thread size, after ISO 7089.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Washer {
    /// Thread size.
    pub bolt: &'static str,
    /// Outside diameter in mm.
    pub outside_mm: f64,
    /// Thickness in mm, nominal.
    pub thickness_mm: f64,
    /// Whether the row was read in the source or written down from memory.
    pub status: SourceStatus,
}

/// The hexagon nut of one thread size, after ISO 4032; it is as wide as the head.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct HexNut {
    /// Thread size.
    pub bolt: &'static str,
    /// Height in mm, the largest.
    pub height_mm: f64,
    /// Whether the row was read in the source or written down from memory.
    pub status: SourceStatus,
}

/// Head, washer and nut of one thread size.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Fastener {
    /// The head.
    pub head: &'static HexHead,
    /// The washer.
    pub washer: &'static Washer,
    /// The nut.
    pub nut: &'static HexNut,
}

/// A thread size that the tables have no row for.
#[derive(Clone, Debug, PartialEq, Eq, Error)]
#[error("there is no hexagon bolt `{asked}` in the tables")]
pub struct UnknownFastener {
    /// What was asked for.
    pub asked: String,
}

const fn head(
    bolt: &'static str,
    thread_mm: f64,
    across_flats_mm: f64,
    height_mm: f64,
    status: SourceStatus,
) -> HexHead {
    HexHead { bolt, thread_mm, across_flats_mm, height_mm, status }
}

const fn washer(bolt: &'static str, outside_mm: f64, thickness_mm: f64) -> Washer {
    Washer { bolt, outside_mm, thickness_mm, status: Seen }
}

const fn nut(bolt: &'static str, height_mm: f64) -> HexNut {
    HexNut { bolt, height_mm, status: FromMemory }
}

/// Every head known, in the order in which messages list them.
pub const HEX_HEADS: &[HexHead] = &[
    head("M3", 3.0, 5.5, 2.0, Seen),
    head("M4", 4.0, 7.0, 2.8, Seen),
    head("M5", 5.0, 8.0, 3.5, Seen),
    head("M6", 6.0, 10.0, 4.0, Seen),
    head("M8", 8.0, 13.0, 5.3, Seen),
    head("M10", 10.0, 16.0, 6.4, FromMemory),
    head("M12", 12.0, 18.0, 7.5, FromMemory),
    head("M14", 14.0, 21.0, 8.8, FromMemory),
    head("M16", 16.0, 24.0, 10.0, Seen),
    head("M18", 18.0, 27.0, 11.5, Seen),
    head("M20", 20.0, 30.0, 12.5, Seen),
];

/// Every washer known, a row for each of [`HEX_HEADS`].
pub const WASHERS: &[Washer] = &[
    washer("M3", 7.0, 0.5),
    washer("M4", 9.0, 0.8),
    washer("M5", 10.0, 1.0),
    washer("M6", 12.0, 1.6),
    washer("M8", 16.0, 1.6),
    washer("M10", 20.0, 2.0),
    washer("M12", 24.0, 2.5),
    washer("M14", 28.0, 2.5),
    washer("M16", 30.0, 3.0),
    washer("M18", 34.0, 3.0),
    washer("M20", 37.0, 3.0),
];

/// Every nut known, a row for each of [`HEX_HEADS`].
pub const HEX_NUTS: &[HexNut] = &[
    nut("M3", 2.4),
    nut("M4", 3.2),
    nut("M5", 4.7),
    nut("M6", 5.2),
    nut("M8", 6.8),
    nut("M10", 8.4),
    nut("M12", 10.8),
    nut("M14", 12.8),
    nut("M16", 14.8),
    nut("M18", 15.8),
    nut("M20", 18.0),
];

/// Head, washer and nut of a thread size.
///
/// # Errors
/// [`UnknownFastener`] if the tables have no such size.
pub fn fastener(bolt: &str) -> Result<Fastener, UnknownFastener> {
    let unknown = || UnknownFastener { asked: bolt.to_owned() };
    let head = HEX_HEADS.iter().find(|row| row.bolt == bolt).ok_or_else(unknown)?;
    let washer = WASHERS.iter().find(|row| row.bolt == bolt).ok_or_else(unknown)?;
    let nut = HEX_NUTS.iter().find(|row| row.bolt == bolt).ok_or_else(unknown)?;
    Ok(Fastener { head, washer, nut })
}
