//! The materials covers are made of, as their standards publish them.
//!
//! Job: density and strength by designation. Invariant: every number carries its source and whether that
//! source was read or remembered; where a standard gives a number by thickness, so does the table.
//! Must not know: how a material bends; that is the bend rule's job.

use thiserror::Error;

use super::Thickness;

/// How far a published number can be trusted.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum SourceStatus {
    /// Read in the source named, or in a reproduction of it.
    Seen,
    /// Known to be published there, but not read for this table.
    FromMemory,
}

impl SourceStatus {
    /// `seen` or `from memory`.
    #[must_use]
    pub fn text(self) -> &'static str {
        match self {
            Self::Seen => "seen",
            Self::FromMemory => "from memory",
        }
    }
}

/// A number or range with its source.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Published<T> {
    /// What is published.
    pub value: T,
    /// Standard, or the sheet that was read.
    pub source: &'static str,
    /// Whether the source was read.
    pub status: SourceStatus,
}

/// A range that holds for a range of thickness. The unit is that of the property.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Band {
    /// Least thickness in mm, included.
    pub from_mm: f64,
    /// Greatest thickness in mm, included. Where two bands meet, the one listed first holds.
    pub to_mm: f64,
    /// Least value guaranteed, if the standard states one.
    pub least: Option<f64>,
    /// Greatest value allowed, if the standard states one.
    pub most: Option<f64>,
}

/// A material in one delivery condition.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Material {
    /// Designation, for example `DC01` or `EN AW-5754 H22`; unique in [`MATERIALS`].
    pub name: &'static str,
    /// Material number, for example `1.0330`; conditions of one alloy share it.
    pub number: &'static str,
    /// What it is, in a few words.
    pub description: &'static str,
    /// Density at 20 °C in kg/dm³.
    pub density_kg_per_dm3: Published<f64>,
    /// Tensile strength Rm in N/mm².
    pub tensile_strength: &'static [Published<Band>],
    /// Yield strength (ReL, ReH) or 0.2 % proof strength Rp0.2 in N/mm².
    pub yield_strength: &'static [Published<Band>],
    /// Elongation after fracture in percent, on the gauge length its source uses (mostly 80 mm, 50 mm for
    /// aluminium and brass).
    pub elongation: &'static [Published<Band>],
}

impl Material {
    /// Tensile strength in N/mm² at this thickness; `None` where the table has no row.
    #[must_use]
    pub fn tensile_strength_at(&self, thickness: Thickness) -> Option<Published<Band>> {
        row_at(self.tensile_strength, thickness)
    }

    /// Yield or proof strength in N/mm² at this thickness; `None` where the table has no row.
    #[must_use]
    pub fn yield_strength_at(&self, thickness: Thickness) -> Option<Published<Band>> {
        row_at(self.yield_strength, thickness)
    }

    /// Elongation in percent at this thickness; `None` where the table has no row.
    #[must_use]
    pub fn elongation_at(&self, thickness: Thickness) -> Option<Published<Band>> {
        row_at(self.elongation, thickness)
    }
}

fn row_at(rows: &[Published<Band>], thickness: Thickness) -> Option<Published<Band>> {
    let mm = thickness.length().to_mm();
    rows.iter().copied().find(|row| row.value.from_mm <= mm && mm <= row.value.to_mm)
}

/// A name that is in no table.
#[derive(Clone, Debug, PartialEq, Eq, Error)]
#[error("there is no material `{asked}`{}; known are {}", suggestion(*nearest), known())]
pub struct UnknownMaterial {
    /// The name that was asked for.
    pub asked: String,
    /// The known name that was most likely meant, if one is near.
    pub nearest: Option<&'static str>,
}

fn suggestion(nearest: Option<&str>) -> String {
    nearest.map_or_else(String::new, |name| format!(", did you mean `{name}`"))
}

fn known() -> String {
    MATERIALS.iter().map(|material| material.name).collect::<Vec<_>>().join(", ")
}

/// The material with this designation; upper and lower case, spaces and hyphens make no difference.
///
/// # Errors
/// [`UnknownMaterial`] with the known names and the nearest of them.
pub fn material(name: &str) -> Result<&'static Material, UnknownMaterial> {
    let asked = plain(name);
    MATERIALS
        .iter()
        .find(|material| plain(material.name) == asked)
        .ok_or_else(|| UnknownMaterial { asked: name.to_owned(), nearest: nearest_name(&asked) })
}

/// A designation without the differences that do not matter.
fn plain(name: &str) -> String {
    name.chars().filter(|c| !c.is_whitespace() && *c != '-').flat_map(char::to_lowercase).collect()
}

/// The first known name that contains what was asked; otherwise the one with the fewest letters to change,
/// unless that is more than half of them.
fn nearest_name(asked: &str) -> Option<&'static str> {
    let letters = asked.chars().count();
    if letters == 0 {
        return None;
    }
    let names = || MATERIALS.iter().map(|material| (material.name, plain(material.name)));
    let containing = names().find(|(_, known)| known.contains(asked)).map(|(name, _)| name);
    containing.or_else(|| {
        names()
            .map(|(name, known)| (strsim::levenshtein(asked, &known), name))
            .min_by_key(|(changes, _)| *changes)
            .filter(|(changes, _)| 2 * changes <= letters)
            .map(|(_, name)| name)
    })
}

use SourceStatus::{FromMemory, Seen};

const EN_10130: &str = "EN 10130, mill brochure table";
const EN_10025: &str = "EN 10025-2 table 7";
const EN_10088: &str = "EN 10088-2";
const EN_485: &str = "EN 485-2";
const EN_1652: &str = "EN 1652";

const fn published<T: Copy>(value: T, source: &'static str, status: SourceStatus) -> Published<T> {
    Published { value, source, status }
}

const fn between(
    thickness: (f64, f64),
    range: (f64, f64),
    source: &'static str,
    status: SourceStatus,
) -> Published<Band> {
    let (from_mm, to_mm) = thickness;
    published(Band { from_mm, to_mm, least: Some(range.0), most: Some(range.1) }, source, status)
}

const fn at_least(
    thickness: (f64, f64),
    least: f64,
    source: &'static str,
    status: SourceStatus,
) -> Published<Band> {
    let (from_mm, to_mm) = thickness;
    published(Band { from_mm, to_mm, least: Some(least), most: None }, source, status)
}

const fn at_most(
    thickness: (f64, f64),
    most: f64,
    source: &'static str,
    status: SourceStatus,
) -> Published<Band> {
    let (from_mm, to_mm) = thickness;
    published(Band { from_mm, to_mm, least: None, most: Some(most) }, source, status)
}

const CARBON_STEEL_DENSITY: Published<f64> =
    published(7.85, "EN 10025 and EN 1991-1-1 convention", FromMemory);
const AW_5754_DENSITY: Published<f64> =
    published(2.67, "encyclopedia article; sheets say 2.66 to 2.68", Seen);

/// Every material known, in the order they are listed in messages.
///
/// EN 10130 covers 0.35 to 3 mm; its limits shift by 20 N/mm² and 2 % for `0.5 < t ≤ 0.7`, and by 40 N/mm²
/// and 4 % for `t ≤ 0.5`.
pub const MATERIALS: &[Material] = &[
    Material {
        name: "DC01",
        number: "1.0330",
        description: "cold rolled steel for bending and simple forming",
        density_kg_per_dm3: CARBON_STEEL_DENSITY,
        tensile_strength: &[between((0.35, 3.0), (270.0, 410.0), EN_10130, Seen)],
        yield_strength: &[
            at_most((0.35, 0.5), 320.0, EN_10130, Seen),
            at_most((0.5, 0.7), 300.0, EN_10130, Seen),
            at_most((0.7, 3.0), 280.0, EN_10130, Seen),
        ],
        elongation: &[
            at_least((0.35, 0.5), 24.0, EN_10130, Seen),
            at_least((0.5, 0.7), 26.0, EN_10130, Seen),
            at_least((0.7, 3.0), 28.0, EN_10130, Seen),
        ],
    },
    Material {
        name: "DC04",
        number: "1.0338",
        description: "cold rolled steel for deep drawing",
        density_kg_per_dm3: CARBON_STEEL_DENSITY,
        tensile_strength: &[between((0.35, 3.0), (270.0, 350.0), EN_10130, Seen)],
        yield_strength: &[
            at_most((0.35, 0.5), 250.0, EN_10130, Seen),
            at_most((0.5, 0.7), 230.0, EN_10130, Seen),
            at_most((0.7, 3.0), 210.0, EN_10130, Seen),
        ],
        elongation: &[
            at_least((0.35, 0.5), 34.0, EN_10130, Seen),
            at_least((0.5, 0.7), 36.0, EN_10130, Seen),
            at_least((0.7, 3.0), 38.0, EN_10130, Seen),
        ],
    },
    Material {
        name: "S235JR",
        number: "1.0038",
        description: "hot rolled structural steel",
        density_kg_per_dm3: CARBON_STEEL_DENSITY,
        tensile_strength: &[between((0.0, 100.0), (360.0, 510.0), EN_10025, Seen)],
        yield_strength: &[at_least((0.0, 16.0), 235.0, EN_10025, Seen)],
        elongation: &[
            at_least((0.0, 1.0), 15.0, EN_10025, FromMemory),
            at_least((1.0, 1.5), 16.0, EN_10025, FromMemory),
            at_least((1.5, 2.0), 17.0, EN_10025, FromMemory),
            at_least((2.0, 2.5), 18.0, EN_10025, FromMemory),
            at_least((3.0, 40.0), 24.0, EN_10025, FromMemory),
            at_least((2.5, 3.0), 19.0, EN_10025, FromMemory),
        ],
    },
    Material {
        name: "S355J2",
        number: "1.0577",
        description: "hot rolled structural steel, high strength",
        density_kg_per_dm3: CARBON_STEEL_DENSITY,
        tensile_strength: &[
            between((3.0, 100.0), (470.0, 630.0), EN_10025, Seen),
            between((0.0, 3.0), (510.0, 680.0), EN_10025, Seen),
        ],
        yield_strength: &[at_least((0.0, 16.0), 355.0, EN_10025, Seen)],
        elongation: &[
            at_least((0.0, 1.0), 12.0, EN_10025, FromMemory),
            at_least((1.0, 1.5), 13.0, EN_10025, FromMemory),
            at_least((1.5, 2.0), 14.0, EN_10025, FromMemory),
            at_least((2.0, 2.5), 15.0, EN_10025, FromMemory),
            at_least((3.0, 40.0), 20.0, EN_10025, FromMemory),
            at_least((2.5, 3.0), 16.0, EN_10025, FromMemory),
        ],
    },
    Material {
        name: "1.4301",
        number: "1.4301",
        description: "stainless steel X5CrNi18-10, cold rolled strip",
        density_kg_per_dm3: published(7.9, "supplier data sheet; another says 8.0", Seen),
        tensile_strength: &[between((0.0, 8.0), (540.0, 750.0), EN_10088, FromMemory)],
        yield_strength: &[at_least((0.0, 8.0), 230.0, EN_10088, FromMemory)],
        elongation: &[at_least((0.0, 8.0), 45.0, EN_10088, FromMemory)],
    },
    Material {
        name: "1.4401",
        number: "1.4401",
        description: "stainless steel X5CrNiMo17-12-2, cold rolled strip",
        density_kg_per_dm3: published(8.0, "EN 10088-1", FromMemory),
        tensile_strength: &[between((0.0, 8.0), (530.0, 680.0), EN_10088, FromMemory)],
        yield_strength: &[at_least((0.0, 8.0), 240.0, EN_10088, FromMemory)],
        elongation: &[at_least((0.0, 8.0), 40.0, EN_10088, FromMemory)],
    },
    Material {
        name: "EN AW-5754 H22",
        number: "3.3535",
        description: "aluminium AlMg3, work hardened and back annealed, quarter hard",
        density_kg_per_dm3: AW_5754_DENSITY,
        tensile_strength: &[between((0.2, 40.0), (220.0, 270.0), EN_485, Seen)],
        yield_strength: &[at_least((0.2, 40.0), 130.0, EN_485, Seen)],
        elongation: &[
            at_least((0.2, 0.5), 7.0, EN_485, Seen),
            at_least((0.5, 1.5), 8.0, EN_485, FromMemory),
            at_least((1.5, 3.0), 10.0, EN_485, Seen),
            at_least((3.0, 6.0), 11.0, EN_485, Seen),
        ],
    },
    Material {
        name: "EN AW-5754 H111",
        number: "3.3535",
        description: "aluminium AlMg3, annealed and slightly work hardened",
        density_kg_per_dm3: AW_5754_DENSITY,
        tensile_strength: &[between((0.2, 100.0), (190.0, 240.0), EN_485, Seen)],
        yield_strength: &[at_least((0.2, 100.0), 80.0, EN_485, Seen)],
        elongation: &[
            at_least((0.2, 0.5), 12.0, EN_485, Seen),
            at_least((0.5, 1.5), 14.0, EN_485, Seen),
            at_least((1.5, 3.0), 16.0, EN_485, Seen),
            at_least((3.0, 6.0), 18.0, EN_485, Seen),
        ],
    },
    Material {
        name: "EN AW-6061 T6",
        number: "3.3214",
        description: "aluminium AlMg1SiCu, solution treated and artificially aged",
        density_kg_per_dm3: published(2.7, "supplier data sheet", Seen),
        tensile_strength: &[at_least((0.4, 6.0), 290.0, EN_485, FromMemory)],
        yield_strength: &[at_least((0.4, 6.0), 240.0, EN_485, FromMemory)],
        elongation: &[
            at_least((0.4, 1.5), 6.0, EN_485, FromMemory),
            at_least((1.5, 3.0), 7.0, EN_485, FromMemory),
            at_least((3.0, 6.0), 10.0, EN_485, FromMemory),
        ],
    },
    Material {
        name: "CuZn37 R300",
        number: "CW508L",
        description: "brass, soft to quarter hard",
        density_kg_per_dm3: published(8.44, "copper alloy tables", FromMemory),
        tensile_strength: &[between((0.2, 5.0), (300.0, 370.0), EN_1652, FromMemory)],
        yield_strength: &[at_most((0.2, 5.0), 180.0, EN_1652, FromMemory)],
        elongation: &[at_least((0.2, 2.5), 38.0, EN_1652, FromMemory)],
    },
];

#[cfg(test)]
mod tests {
    use super::*;
    use crate::quantity::Length;

    fn sheet(mm: f64) -> Thickness {
        Thickness::new(Length::mm(mm)).unwrap()
    }

    #[test]
    fn names_forgive_case_spaces_and_hyphens() {
        for (asked, wanted) in [
            ("dc01", "DC01"),
            (" s235 jr ", "S235JR"),
            ("en aw 5754-h22", "EN AW-5754 H22"),
            ("ENAW5754H111", "EN AW-5754 H111"),
            ("cuzn37 r300", "CuZn37 R300"),
        ] {
            assert_eq!(material(asked).unwrap().name, wanted);
        }
    }

    #[test]
    fn every_name_finds_its_own_material() {
        for known in MATERIALS {
            assert_eq!(material(known.name).unwrap(), known);
        }
    }

    #[test]
    fn unknown_name_lists_the_known_ones_and_the_nearest() {
        assert_eq!(
            material("DC1").unwrap_err().to_string(),
            "there is no material `DC1`, did you mean `DC01`; known are DC01, DC04, S235JR, S355J2, 1.4301, \
             1.4401, EN AW-5754 H22, EN AW-5754 H111, EN AW-6061 T6, CuZn37 R300"
        );
        for (asked, nearest) in [
            ("S235", Some("S235JR")),
            ("1.4302", Some("1.4301")),
            ("5754", Some("EN AW-5754 H22")),
            ("en aw-6061 t4", Some("EN AW-6061 T6")),
            ("oak", None),
            ("", None),
        ] {
            assert_eq!(material(asked).unwrap_err().nearest, nearest, "{asked}");
        }
    }

    #[test]
    fn numbers_follow_the_thickness() {
        let elongation =
            |name: &str, mm: f64| material(name).unwrap().elongation_at(sheet(mm)).map(|row| row.value.least);
        // EN 10130: 28 % above 0.7 mm, 2 less to 0.7, 4 less to 0.5.
        assert_eq!(elongation("DC01", 0.5), Some(Some(24.0)));
        assert_eq!(elongation("DC01", 0.7), Some(Some(26.0)));
        assert_eq!(elongation("DC01", 0.75), Some(Some(28.0)));
        assert_eq!(elongation("DC01", 4.0), None);
        // EN 10025-2: the bands change at 3 mm, which belongs to the thicker one.
        let strength = |mm: f64| material("S355J2").unwrap().tensile_strength_at(sheet(mm)).unwrap().value;
        assert_eq!((strength(2.99).least, strength(2.99).most), (Some(510.0), Some(680.0)));
        assert_eq!((strength(3.0).least, strength(3.0).most), (Some(470.0), Some(630.0)));
        assert_eq!(material("S355J2").unwrap().yield_strength_at(sheet(3.0)).unwrap().status.text(), "seen");
        assert_eq!(elongation("S235JR", 3.0), Some(Some(24.0)));
    }

    #[test]
    fn bands_of_one_property_leave_no_gap() {
        for known in MATERIALS {
            for bands in [known.tensile_strength, known.yield_strength, known.elongation] {
                let mut ends: Vec<_> = bands.iter().map(|row| (row.value.from_mm, row.value.to_mm)).collect();
                ends.sort_by(|a, b| a.0.total_cmp(&b.0));
                assert!(!ends.is_empty(), "{}", known.name);
                assert!(ends.windows(2).all(|pair| pair[0].1 == pair[1].0), "{}: {ends:?}", known.name);
            }
        }
    }
}
