//! By how much the shop may be off in a part, and where that is said.
//!
//! Invariant: every limit is a finite number of 0 or more and has a source.

use crate::history::ToleranceSpec;
use crate::stock::{BEND_PLACE_MM, RADIUS_SHARE, TURN_DEG, laser_cut_limit, thickness_limit};

use super::Deviation;

/// Limits of everything that may be off.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Tolerances {
    /// Turn of a bend, in degrees.
    pub turn: Limit,
    /// Inside radius of a bend.
    pub radius: RadiusLimit,
    /// Thickness of the sheet, in mm.
    pub thickness: Limit,
    /// Place of a bend line in the blank, in mm.
    pub bend_place: Limit,
    /// Place of a cut edge, in mm.
    pub cut: Limit,
}

/// How far something may be off to either side.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Limit {
    /// In mm or degrees.
    pub value: f64,
    /// Where it is said.
    pub source: &'static str,
}

/// How far an inside radius may be off to either side.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum RadiusLimit {
    /// The same for every bend, in mm, as asked for.
    Each(Limit),
    /// A share of the radius.
    Share(Limit),
}

/// What the source of a limit is that the history gives.
const STATED: &str = "stated";

impl Tolerances {
    /// What was asked for, and the defaults for the rest, for sheet of this thickness and a blank whose longer
    /// side has this length, both in mm.
    ///
    /// The default of a cut edge is half of what ISO 9013 lets a length of the longer side be off, so that two
    /// edges that are off against each other are just within it.
    #[must_use]
    pub fn of(spec: Option<&ToleranceSpec>, thickness: f64, blank_length: f64) -> Self {
        let asked = spec.cloned().unwrap_or_default();
        let limit = |asked: Option<f64>, value: f64, source| {
            asked.map_or(Limit { value, source }, |value| Limit { value, source: STATED })
        };
        let radius_source = "a tenth of the radius (common practice, no source)";
        Self {
            turn: limit(asked.turn, TURN_DEG, "press brake guide of a machine supplier, common"),
            radius: match asked.radius {
                Some(value) => RadiusLimit::Each(Limit { value, source: STATED }),
                None => RadiusLimit::Share(Limit { value: RADIUS_SHARE, source: radius_source }),
            },
            thickness: limit(
                asked.thickness,
                thickness_limit(thickness),
                if thickness <= 3.0 {
                    "EN 10131, normal, coils of 1200 to 1500 mm (from memory)"
                } else {
                    "6 % of the thickness (common practice, no source)"
                },
            ),
            bend_place: limit(
                asked.bend_place,
                BEND_PLACE_MM,
                "press brake guide of a machine supplier, common flange length",
            ),
            cut: limit(
                asked.cut,
                0.5 * laser_cut_limit(thickness, blank_length),
                "half of ISO 9013 class 1 for the longer side of the blank",
            ),
        }
    }

    /// How far one thing may be off, in mm or degrees; `radius` is the inside radius of its bend in mm.
    #[must_use]
    pub fn limit(&self, deviation: Deviation, radius: f64) -> f64 {
        match deviation {
            Deviation::Thickness => self.thickness.value,
            Deviation::Turn(_) => self.turn.value,
            Deviation::Radius(_) => match self.radius {
                RadiusLimit::Each(limit) => limit.value,
                RadiusLimit::Share(share) => share.value * radius,
            },
            Deviation::BendPlace(_) => self.bend_place.value,
            Deviation::Cut(..) => self.cut.value,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::ident::PanelId;

    #[test]
    fn what_is_left_out_has_its_default() {
        let spec = ToleranceSpec { turn: Some(0.25), ..ToleranceSpec::default() };
        let made = Tolerances::of(Some(&spec), 1.5, 400.0);
        assert_eq!(made.turn, Limit { value: 0.25, source: "stated" });
        // 1.5 mm: EN 10131 ± 0.09; ISO 9013 for 315 to 1000 mm ± 0.35, half for each edge.
        assert_eq!((made.thickness.value, made.cut.value), (0.09, 0.175));
        let bend = PanelId::new(1);
        assert!((made.limit(Deviation::Radius(bend), 2.0) - 0.2).abs() < 1e-15);
        let spec = ToleranceSpec { radius: Some(0.3), ..spec };
        let made = Tolerances::of(Some(&spec), 1.5, 400.0);
        assert_eq!(made.limit(Deviation::Radius(bend), 2.0), 0.3);
    }
}
