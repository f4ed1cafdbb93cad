//! The sheet a part is cut from: material, thickness, and how it bends.
//!
//! Job: keep together what one sheet of a cover is, and what follows from it alone. Invariant: none
//! beyond those of its fields. Must not know: the part.

use crate::quantity::{Radius, Turn};

use super::{Bend, BendRule, BendRuleError, Material, Thickness};

/// Cubic millimetres in one cubic decimetre.
const MM3_PER_DM3: f64 = 1e6;

/// One sheet of stock with the shop's usual bend.
#[derive(Clone, Debug, PartialEq)]
pub struct Sheet {
    /// What it is made of.
    pub material: Material,
    /// Its nominal thickness.
    pub thickness: Thickness,
    /// The inside radius of bends that do not say their own.
    pub inside_radius: Radius,
    /// Where the K-factor comes from.
    pub bend_rule: BendRule,
    /// How it lies under the blank.
    pub grain: Grain,
}

/// Which way the sheet was rolled, seen in the blank.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Grain {
    /// The shop may lay the blank either way.
    #[default]
    Any,
    /// Along the blank's x.
    AlongX,
    /// Along the blank's y.
    AlongY,
}

impl Grain {
    /// The word in scripts and reports.
    #[must_use]
    pub fn word(self) -> &'static str {
        match self {
            Self::Any => "any",
            Self::AlongX => "x",
            Self::AlongY => "y",
        }
    }
}

impl Sheet {
    /// A bend of this sheet, with the K-factor of its rule.
    ///
    /// # Errors
    /// [`BendRuleError`] if the rule is a shop table without rows for this bend.
    pub fn bend(&self, turn: Turn, inside_radius: Radius) -> Result<Bend, BendRuleError> {
        let k_factor = self.bend_rule.k_factor(self.thickness, inside_radius, turn)?;
        Ok(Bend { turn, inside_radius, k_factor })
    }

    /// Mass in kg of flat sheet with this area in mm²: `area · thickness · density`.
    ///
    /// The area of the finished blank gives the mass of the part; bending does not change it.
    #[must_use]
    pub fn mass_of_area_kg(&self, area_mm2: f64) -> f64 {
        self.mass_of_volume_kg(area_mm2 * self.thickness.length().to_mm())
    }

    /// Mass in kg of this volume of metal in mm³: `volume · density`.
    #[must_use]
    pub fn mass_of_volume_kg(&self, volume_mm3: f64) -> f64 {
        volume_mm3 * (self.material.density_kg_per_dm3.value / MM3_PER_DM3)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::quantity::{Angle, Length};
    use crate::stock::material;

    fn door_sheet() -> Sheet {
        Sheet {
            material: *material("DC01").unwrap(),
            thickness: Thickness::new(Length::mm(2.0)).unwrap(),
            inside_radius: Radius::new(Length::mm(2.0)).unwrap(),
            bend_rule: BendRule::Din6935,
            grain: Grain::Any,
        }
    }

    #[test]
    fn a_square_metre_of_2_mm_steel_weighs_15_7_kg() {
        // 1e6 mm² · 2 mm = 2 dm³; 2 · 7.85
        let sheet = door_sheet();
        assert!((sheet.mass_of_area_kg(1e6) - 15.7).abs() < 1e-12);
        assert!((sheet.mass_of_volume_kg(2e6) - 15.7).abs() < 1e-12);
    }

    #[test]
    fn a_bend_takes_its_k_from_the_rule_at_its_own_radius() {
        let sheet = door_sheet();
        let turn = Turn::new(Angle::deg(90.0)).unwrap();
        // DIN 6935 at r = s: k = 0.65, K = 0.325; at r = 10 s the centre line.
        let usual = sheet.bend(turn, sheet.inside_radius).unwrap();
        let wide = sheet.bend(turn, Radius::new(Length::mm(20.0)).unwrap()).unwrap();
        assert_eq!((usual.k_factor.value(), wide.k_factor.value()), (0.325, 0.5));
    }
}
