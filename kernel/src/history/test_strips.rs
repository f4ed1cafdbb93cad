//! Test strips as they were measured, in saved form.
//!
//! Invariant: plain data, never a fitted number; [`TestStripsSpec::checked`] is the only way to a fit.

use serde::{Deserialize, Serialize};

use crate::quantity::{Angle, Length, Radius, Turn};
use crate::stock::{StripFit, TestStrip, Thickness};

use super::feature::LengthFrom;
use super::sheet::{SheetFault, quantity};

/// Strips that a shop has cut, measured, bent, and measured again.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct TestStripsSpec {
    /// What the lengths of all legs are measured from.
    pub legs_from: LengthFrom,
    /// By how much in mm one flat length less its legs may be measured wrong, with a confidence of 95 %.
    pub uncertainty: Option<f64>,
    /// The strips.
    pub strips: Vec<TestStripSpec>,
}

/// One strip; lengths in mm, the turn in degrees.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct TestStripSpec {
    /// Lengths of the legs after bending, from end to end.
    pub legs: Vec<f64>,
    /// Turn of each bend.
    pub turn: f64,
    /// Thickness of the strip.
    pub thickness: f64,
    /// Inside radius of each bend.
    pub inside_radius: f64,
    /// Length before bending.
    pub flat: f64,
}

impl TestStripsSpec {
    /// The fit to the strips.
    pub(super) fn checked(&self) -> Result<StripFit, SheetFault> {
        let numbered = (1..).zip(&self.strips);
        let strips = numbered
            .map(|(number, strip)| strip.checked().map_err(|fault| fault.in_strip(number)))
            .collect::<Result<_, _>>()?;
        let uncertainty =
            self.uncertainty.map(|mm| quantity("uncertainty", Length::try_mm(mm))).transpose()?;
        Ok(StripFit::new(strips, self.legs_from.datum(), uncertainty)?)
    }
}

impl TestStripSpec {
    fn checked(&self) -> Result<TestStrip, SheetFault> {
        let legs = self.legs.iter().map(|&mm| quantity("leg", Length::try_mm(mm)));
        Ok(TestStrip {
            legs: legs.collect::<Result<_, _>>()?,
            turn: quantity("turn", Angle::try_deg(self.turn).and_then(Turn::new))?,
            thickness: Thickness::new(quantity("thickness", Length::try_mm(self.thickness))?)?,
            inside_radius: quantity(
                "inside radius",
                Length::try_mm(self.inside_radius).and_then(Radius::new),
            )?,
            flat: quantity("flat length", Length::try_mm(self.flat))?,
        })
    }
}
