//! Where the K-factor of a bend comes from.
//!
//! Job: one answer, a K-factor, from whichever source the shop trusts. Invariant: the tables are checked
//! and ordered when they are made, and between rows they are continuous. Must not know: what the K-factor
//! is used for.

use thiserror::Error;

use crate::quantity::{Length, Radius, Turn, maths, tolerance};

use super::{Bend, DeductionError, KFactor, StripFit, Thickness};

/// The rule a sheet is bent by.
#[derive(Clone, Debug, PartialEq)]
pub enum BendRule {
    /// The same K-factor for every bend.
    Fixed(KFactor),
    /// K by inside radius over thickness.
    RatioTable(RatioTable),
    /// DIN 6935: `k = 0.65 + 0.5 lg(r / s)` for `r / s ≤ 5`, `k = 1` above, and `K = k / 2`.
    ///
    /// The formula falls below zero for `r / s < 0.0501` (and is `−∞` for a sharp bend); there K is 0.
    /// At `r / s = 5` it gives 0.9995, so K steps up by 0.00026, as in the standard. The turn has no
    /// influence.
    /// The standard also neglects bends that turn less than 15°; that is not done here.
    Din6935,
    /// A shop's own bend deductions.
    DeductionTable(DeductionTable),
    /// A fit to a shop's own test strips.
    TestStrips(StripFit),
}

/// Why a rule has no K-factor for a bend.
#[derive(Clone, Debug, PartialEq, Error)]
pub enum BendRuleError {
    /// The shop table has no rows for this sheet.
    #[error("the shop's deduction table has no rows for {asked} sheet; it has {}", listed(tabulated.iter().map(|t| t.length())))]
    ThicknessNotTabulated {
        /// Thickness of the sheet.
        asked: Thickness,
        /// Every thickness of the table, thinnest first.
        tabulated: Vec<Thickness>,
    },
    /// The shop table has rows for this sheet, but the radius lies outside them.
    #[error("the shop's deduction table has no rows around an inside radius of {} for {thickness} sheet; it has {}", asked.length(), listed(tabulated.iter().map(|r| r.length())))]
    RadiusNotTabulated {
        /// Thickness of the rows, which is that of the sheet.
        thickness: Thickness,
        /// Inside radius of the bend.
        asked: Radius,
        /// Every inside radius of the table for this thickness, smallest first.
        tabulated: Vec<Radius>,
    },
    /// The bend is sharper or rounder than every test strip.
    #[error("no test strip was bent like an inside radius of {} in {thickness} sheet: r/t is {:.3}, tested are {}", radius.length(), radius.length() / thickness.length(), tested.iter().map(|ratio| format!("{ratio:.3}")).collect::<Vec<_>>().join(", "))]
    RatioNotTested {
        /// Thickness of the sheet.
        thickness: Thickness,
        /// Inside radius of the bend.
        radius: Radius,
        /// Every tested inside radius over thickness, smallest first.
        tested: Vec<f64>,
    },
}

fn listed(lengths: impl Iterator<Item = Length>) -> String {
    lengths.map(|length| length.to_string()).collect::<Vec<_>>().join(", ")
}

impl BendRule {
    /// The K-factor for a bend of this sheet.
    ///
    /// # Errors
    /// [`BendRuleError`], from a deduction table or test strips only: the other rules answer for every bend.
    pub fn k_factor(
        &self,
        thickness: Thickness,
        inside_radius: Radius,
        turn: Turn,
    ) -> Result<KFactor, BendRuleError> {
        let ratio = inside_radius.length() / thickness.length();
        match self {
            Self::Fixed(k_factor) => Ok(*k_factor),
            Self::RatioTable(table) => Ok(table.k_factor(ratio)),
            Self::Din6935 => Ok(din_6935(ratio)),
            Self::DeductionTable(table) => table.k_factor(thickness, inside_radius, turn),
            Self::TestStrips(fit) => fit.k_factor(ratio).ok_or_else(|| BendRuleError::RatioNotTested {
                thickness,
                radius: inside_radius,
                tested: fit.ratios().iter().map(|row| row.ratio).collect(),
            }),
        }
    }

    /// A few words for reports: `fixed K 0.42`, `K by r/t, 5 rows`, `DIN 6935`, `shop deductions, 12 rows`,
    /// `5 test strips at 2 radii`. K is shown to four decimals at most.
    #[must_use]
    pub fn name(&self) -> String {
        match self {
            Self::Fixed(k_factor) => format!("fixed K {}", (k_factor.value() * 1e4).round() / 1e4),
            Self::RatioTable(table) => format!("K by r/t, {}", counted(table.rows.len())),
            Self::Din6935 => "DIN 6935".to_owned(),
            Self::DeductionTable(table) => format!("shop deductions, {}", counted(table.rows.len())),
            Self::TestStrips(fit) => {
                let (strips, radii) = (fit.strips().len(), fit.ratios().len());
                let plural = if strips == 1 { "" } else { "s" };
                format!(
                    "{strips} test strip{plural} at {radii} {}",
                    if radii == 1 { "radius" } else { "radii" }
                )
            }
        }
    }
}

impl BendRule {
    /// Where K comes from, in a sentence.
    #[must_use]
    pub fn source(&self) -> &'static str {
        match self {
            Self::Fixed(_) => "given for all bends of this part",
            Self::RatioTable(_) => {
                "the given table of K by inside radius over thickness, linear between its rows"
            }
            Self::Din6935 => "DIN 6935, K = k / 2 with k = 0.65 + 0.5 lg(r / t) up to r / t = 5 and 1 above",
            Self::TestStrips(_) => {
                "least squares over the test strips of each radius, linear between tested radii"
            }
            Self::DeductionTable(_) => {
                "the shop's bend deductions: K that gives the deduction of the nearest rows"
            }
        }
    }
}

fn counted(rows: usize) -> String {
    if rows == 1 { "1 row".to_owned() } else { format!("{rows} rows") }
}

/// Ratio above which DIN 6935 takes the centre line.
const DIN_CENTRE_LINE_ABOVE: f64 = 5.0;

fn din_6935(ratio: f64) -> KFactor {
    let k = if ratio <= DIN_CENTRE_LINE_ABOVE { 0.65 + 0.5 * maths::log10(ratio) } else { 1.0 };
    KFactor::nearest(0.5 * k)
}

/// A row of a [`RatioTable`].
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct RatioRow {
    /// Inside radius over thickness, `≥ 0`.
    pub ratio: f64,
    /// K at this ratio.
    pub k_factor: KFactor,
}

/// K by inside radius over thickness: linear between rows, held constant outside them.
///
/// Invariant: at least one row, ratios strictly rising.
#[derive(Clone, Debug, PartialEq)]
pub struct RatioTable {
    rows: Vec<RatioRow>,
}

/// Why rows are no [`RatioTable`]. Rows are counted from 1.
#[derive(Clone, Copy, Debug, PartialEq, Error)]
pub enum RatioTableError {
    /// No rows.
    #[error("a table of K by r/t needs at least one row")]
    Empty,
    /// A ratio that is negative, infinite or not a number.
    #[error("row {row} of the table of K by r/t has the ratio {ratio}; it must be a number from 0 up")]
    RatioOutOfRange {
        /// Which row.
        row: usize,
        /// Its ratio.
        ratio: f64,
    },
    /// A ratio not above the one before: most often a slip of the pen, so it is not sorted away.
    #[error("row {row} of the table of K by r/t has the ratio {ratio}, not above {before} before it")]
    NotRising {
        /// Which row.
        row: usize,
        /// Its ratio.
        ratio: f64,
        /// Ratio of the row before.
        before: f64,
    },
}

impl RatioTable {
    /// Checks the rows.
    ///
    /// # Errors
    /// [`RatioTableError`] for the first row at fault.
    pub fn new(rows: Vec<RatioRow>) -> Result<Self, RatioTableError> {
        if rows.is_empty() {
            return Err(RatioTableError::Empty);
        }
        for (index, RatioRow { ratio, .. }) in rows.iter().copied().enumerate() {
            if !(0.0 <= ratio && ratio.is_finite()) {
                return Err(RatioTableError::RatioOutOfRange { row: index + 1, ratio });
            }
            if index > 0 && ratio <= rows[index - 1].ratio {
                let before = rows[index - 1].ratio;
                return Err(RatioTableError::NotRising { row: index + 1, ratio, before });
            }
        }
        Ok(Self { rows })
    }

    /// The rows, ratios rising.
    #[must_use]
    pub fn rows(&self) -> &[RatioRow] {
        &self.rows
    }

    fn k_factor(&self, ratio: f64) -> KFactor {
        let points: Vec<_> = self.rows.iter().map(|row| (row.ratio, row.k_factor.value())).collect();
        KFactor::nearest(held_line(&points, ratio))
    }
}

/// A row of a [`DeductionTable`]: one test bend of the shop.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct DeductionRow {
    /// Sheet thickness.
    pub thickness: Thickness,
    /// Inside radius of the test bend.
    pub inside_radius: Radius,
    /// Turn of the test bend, below 180°.
    pub turn: Turn,
    /// Sum of both legs, measured to the outer mould line, less the flat length.
    pub deduction: Length,
}

/// A shop's bend deductions, turned into K-factors.
///
/// Each row gives a K by the identity of [`Bend::from_deduction`], so a bend like the row gets the row's
/// deduction back. For other bends K is interpolated, not the deduction: the deduction follows the setback,
/// which grows without bound towards 180°, while K hardly changes.
///
/// - Thickness: rows of the nearest thickness, if it is within [`tolerance::SHOP_TABLE_MM`]. There is no
///   interpolation between thicknesses: those are different sheets.
/// - Inside radius: linear between the rows around it; outside the rows an error, except within
///   [`tolerance::SHOP_TABLE_MM`], where the end row holds.
/// - Turn: at each radius linear between the turns tabulated there, held constant outside them. With one
///   turn only, mostly 90°, its K serves for all: K describes where in the thickness the neutral fibre lies,
///   which depends on how sharply the sheet is bent (`r / t`), not on how far.
///
/// Invariant: at least one row; ordered by thickness, radius, turn; no two rows for the same bend; every K
/// in its range.
#[derive(Clone, Debug, PartialEq)]
pub struct DeductionTable {
    rows: Vec<TestBend>,
}

/// A shop row with the bend it implies.
#[derive(Clone, Copy, Debug, PartialEq)]
struct TestBend {
    thickness: Thickness,
    bend: Bend,
}

/// Why rows are no [`DeductionTable`]. Rows are counted from 1, in the order given.
#[derive(Clone, Copy, Debug, PartialEq, Error)]
pub enum DeductionTableError {
    /// No rows.
    #[error("a deduction table needs at least one row")]
    Empty,
    /// A row no bend can have.
    #[error("row {row} of the deduction table: {fault}")]
    ImpossibleRow {
        /// Which row.
        row: usize,
        /// What is impossible about it.
        fault: DeductionError,
    },
    /// Two rows for the same thickness, radius and turn.
    #[error("rows {first} and {second} of the deduction table are for the same bend")]
    SameBendTwice {
        /// The row that comes first.
        first: usize,
        /// The row that repeats it.
        second: usize,
    },
}

impl DeductionTable {
    /// Checks the rows and puts them in order; shops list them in every order.
    ///
    /// # Errors
    /// [`DeductionTableError`] for the first fault found.
    pub fn new(rows: &[DeductionRow]) -> Result<Self, DeductionTableError> {
        if rows.is_empty() {
            return Err(DeductionTableError::Empty);
        }
        let mut numbered = Vec::with_capacity(rows.len());
        for (number, row) in (1..).zip(rows) {
            let bend = Bend::from_deduction(row.turn, row.inside_radius, row.thickness, row.deduction)
                .map_err(|fault| DeductionTableError::ImpossibleRow { row: number, fault })?;
            numbered.push((TestBend { thickness: row.thickness, bend }, number));
        }
        numbered.sort_by_key(|(row, number)| (row.place(), *number));
        for pair in numbered.windows(2) {
            if pair[0].0.place() == pair[1].0.place() {
                return Err(DeductionTableError::SameBendTwice { first: pair[0].1, second: pair[1].1 });
            }
        }
        Ok(Self { rows: numbered.into_iter().map(|(row, _)| row).collect() })
    }

    fn k_factor(
        &self,
        thickness: Thickness,
        inside_radius: Radius,
        turn: Turn,
    ) -> Result<KFactor, BendRuleError> {
        let sheet_rows = self.rows_for(thickness)?;
        let mut by_radius = Vec::new();
        for same_radius in sheet_rows.chunk_by(|a, b| a.place().radius == b.place().radius) {
            let by_turn: Vec<_> = same_radius
                .iter()
                .map(|row| (row.bend.turn.angle().to_rad(), row.bend.k_factor.value()))
                .collect();
            let radius = same_radius[0].bend.inside_radius;
            by_radius.push((radius, held_line(&by_turn, turn.angle().to_rad())));
        }
        let asked = inside_radius.length().to_mm();
        let points: Vec<_> = by_radius.iter().map(|(radius, k)| (radius.length().to_mm(), *k)).collect();
        let (least, most) = (points[0].0, points[points.len() - 1].0);
        if least - tolerance::SHOP_TABLE_MM <= asked && asked <= most + tolerance::SHOP_TABLE_MM {
            Ok(KFactor::nearest(held_line(&points, asked)))
        } else {
            Err(BendRuleError::RadiusNotTabulated {
                thickness: sheet_rows[0].thickness,
                asked: inside_radius,
                tabulated: by_radius.into_iter().map(|(radius, _)| radius).collect(),
            })
        }
    }

    /// The rows of the nearest thickness, never none.
    fn rows_for(&self, asked: Thickness) -> Result<&[TestBend], BendRuleError> {
        let away = |rows: &[TestBend]| (rows[0].thickness.length() - asked.length()).to_mm().abs();
        let by_thickness = || self.rows.chunk_by(|a, b| a.place().thickness == b.place().thickness);
        by_thickness()
            .min_by(|a, b| away(a).total_cmp(&away(b)))
            .filter(|nearest| away(nearest) <= tolerance::SHOP_TABLE_MM)
            .ok_or_else(|| BendRuleError::ThicknessNotTabulated {
                asked,
                tabulated: by_thickness().map(|rows| rows[0].thickness).collect(),
            })
    }
}

/// Place of a row in the order of a table, in whole steps of the snap tolerances, so that 0.03 in and
/// 0.762 mm are the same radius.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
struct Place {
    thickness: i64,
    radius: i64,
    turn: i64,
}

impl TestBend {
    fn place(&self) -> Place {
        let steps = |value: f64, step: f64| (value / step).round() as i64;
        Place {
            thickness: steps(self.thickness.length().to_mm(), tolerance::SNAP_MM),
            radius: steps(self.bend.inside_radius.length().to_mm(), tolerance::SNAP_MM),
            turn: steps(self.bend.turn.angle().to_rad(), tolerance::HELD_RAD),
        }
    }
}

/// The broken line through `points` (at least one, first coordinates rising) at `x`; outside them the end
/// point's value.
pub(super) fn held_line(points: &[(f64, f64)], x: f64) -> f64 {
    let above = points.partition_point(|point| point.0 < x);
    if above == 0 {
        points[0].1
    } else if above == points.len() {
        points[above - 1].1
    } else {
        let ((x0, y0), (x1, y1)) = (points[above - 1], points[above]);
        y0 + (y1 - y0) * ((x - x0) / (x1 - x0))
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::quantity::Angle;

    fn sheet(mm: f64) -> Thickness {
        Thickness::new(Length::mm(mm)).unwrap()
    }

    fn radius(mm: f64) -> Radius {
        Radius::new(Length::mm(mm)).unwrap()
    }

    fn turn(deg: f64) -> Turn {
        Turn::new(Angle::deg(deg)).unwrap()
    }

    fn k_of(rule: &BendRule, t: f64, r: f64, turn_deg: f64) -> f64 {
        rule.k_factor(sheet(t), radius(r), turn(turn_deg)).unwrap().value()
    }

    /// A row whose K is known beforehand.
    fn row(t: f64, r: f64, turn_deg: f64, k: f64) -> DeductionRow {
        let bend =
            Bend { turn: turn(turn_deg), inside_radius: radius(r), k_factor: KFactor::new(k).unwrap() };
        DeductionRow {
            thickness: sheet(t),
            inside_radius: bend.inside_radius,
            turn: bend.turn,
            deduction: bend.deduction(sheet(t)).unwrap(),
        }
    }

    fn shop() -> BendRule {
        BendRule::DeductionTable(
            DeductionTable::new(&[
                row(2.0, 4.0, 90.0, 0.46),
                row(1.5, 1.0, 90.0, 0.38),
                row(2.0, 2.0, 135.0, 0.44),
                row(2.0, 2.0, 90.0, 0.42),
            ])
            .unwrap(),
        )
    }

    fn assert_near(got: f64, wanted: f64) {
        assert!((got - wanted).abs() <= 1e-12, "got {got}, wanted {wanted}");
    }

    #[test]
    fn din_rule_is_not_changed_inside_its_range() {
        // k = 0.65 + 0.5 lg 0.1 = 0.15; k(1) = 0.65; k(5) = 0.999485; above 5 the centre line.
        assert_near(k_of(&BendRule::Din6935, 2.0, 0.2, 90.0), 0.075);
        assert_near(k_of(&BendRule::Din6935, 2.0, 2.0, 90.0), 0.325);
        assert!((k_of(&BendRule::Din6935, 1.0, 5.0, 90.0) - 0.4997425).abs() < 5e-8);
        assert_near(k_of(&BendRule::Din6935, 1.0, 5.0001, 90.0), 0.5);
    }

    #[test]
    fn din_rule_gives_zero_for_a_sharp_bend() {
        assert_near(k_of(&BendRule::Din6935, 2.0, 0.0, 90.0), 0.0);
        // The formula crosses zero at r/s = 10^-1.3 = 0.05012.
        assert_near(k_of(&BendRule::Din6935, 1.0, 0.0501, 90.0), 0.0);
        assert!(k_of(&BendRule::Din6935, 1.0, 0.0502, 90.0) > 0.0);
    }

    #[test]
    fn ratio_table_is_linear_between_rows_and_held_outside() {
        let rows = [(1.0, 0.3), (2.0, 0.4), (4.0, 0.5)]
            .map(|(ratio, k)| RatioRow { ratio, k_factor: KFactor::new(k).unwrap() });
        let rule = BendRule::RatioTable(RatioTable::new(rows.to_vec()).unwrap());
        for (r, k) in [(0.0, 0.3), (2.0, 0.3), (3.0, 0.35), (4.0, 0.4), (6.0, 0.45), (8.0, 0.5), (99.0, 0.5)]
        {
            assert_near(k_of(&rule, 2.0, r, 90.0), k);
        }
    }

    #[test]
    fn ratio_table_refuses_bad_rows_by_number() {
        let table = |ratios: &[f64]| {
            let k_factor = KFactor::new(0.4).unwrap();
            RatioTable::new(ratios.iter().map(|&ratio| RatioRow { ratio, k_factor }).collect())
        };
        assert_eq!(table(&[]), Err(RatioTableError::Empty));
        assert_eq!(table(&[1.0, -0.5]), Err(RatioTableError::RatioOutOfRange { row: 2, ratio: -0.5 }));
        assert!(matches!(table(&[f64::NAN]), Err(RatioTableError::RatioOutOfRange { row: 1, .. })));
        assert!(matches!(table(&[1.0, f64::INFINITY]), Err(RatioTableError::RatioOutOfRange { row: 2, .. })));
        assert_eq!(
            table(&[1.0, 1.0]).unwrap_err().to_string(),
            "row 2 of the table of K by r/t has the ratio 1, not above 1 before it"
        );
    }

    #[test]
    fn shop_rows_come_back_whatever_their_order() {
        for (t, r, a, k) in [(2.0, 4.0, 90.0, 0.46), (1.5, 1.0, 90.0, 0.38), (2.0, 2.0, 135.0, 0.44)] {
            assert_near(k_of(&shop(), t, r, a), k);
        }
    }

    #[test]
    fn shop_table_is_linear_in_radius_and_turn() {
        // Half-way between radii 2 and 4 at 90°: (0.42 + 0.46) / 2.
        assert_near(k_of(&shop(), 2.0, 3.0, 90.0), 0.44);
        // A third of the way from 90° to 135° at radius 2: 0.42 + 0.02 / 3.
        assert_near(k_of(&shop(), 2.0, 2.0, 105.0), 0.42 + 0.02 / 3.0);
        // Outside the tabulated turns the nearest holds; at radius 4 only 90° is tabulated.
        assert_near(k_of(&shop(), 2.0, 2.0, 30.0), 0.42);
        assert_near(k_of(&shop(), 2.0, 2.0, 170.0), 0.44);
        assert_near(k_of(&shop(), 2.0, 3.0, 170.0), 0.45);
        assert_near(k_of(&shop(), 2.0, 2.0, 180.0), 0.44);
    }

    #[test]
    fn shop_table_answers_just_outside_its_rows_within_the_tolerance_only() {
        assert_near(k_of(&shop(), 2.012, 1.988, 90.0), 0.42);
        assert_near(k_of(&shop(), 2.0, 4.012, 90.0), 0.46);
        assert!(shop().k_factor(sheet(2.014), radius(2.0), turn(90.0)).is_err());
        assert!(shop().k_factor(sheet(2.0), radius(4.014), turn(90.0)).is_err());
    }

    #[test]
    fn missing_shop_rows_say_what_there_is() {
        assert_eq!(
            shop().k_factor(sheet(3.0), radius(2.0), turn(90.0)).unwrap_err().to_string(),
            "the shop's deduction table has no rows for 3.000 mm sheet; it has 1.500 mm, 2.000 mm"
        );
        assert_eq!(
            shop().k_factor(sheet(2.0), radius(1.0), turn(90.0)).unwrap_err().to_string(),
            "the shop's deduction table has no rows around an inside radius of 1.000 mm for 2.000 mm sheet; \
             it has 2.000 mm, 4.000 mm"
        );
    }

    #[test]
    fn shop_table_refuses_bad_rows_by_number() {
        assert_eq!(DeductionTable::new(&[]), Err(DeductionTableError::Empty));
        // 0.03 in is 0.762 mm.
        let mut twice = [row(2.0, 0.762, 90.0, 0.4), row(1.0, 1.0, 90.0, 0.4), row(2.0, 1.0, 90.0, 0.4)];
        twice[2].inside_radius = Radius::new(Length::inch(0.03)).unwrap();
        assert_eq!(
            DeductionTable::new(&twice).map(|_| ()).map_err(|fault| fault.to_string()),
            Err("rows 1 and 3 of the deduction table are for the same bend".to_owned())
        );
        let mut impossible = [row(1.0, 1.0, 90.0, 0.4), row(2.0, 2.0, 90.0, 0.4)];
        impossible[1].deduction = Length::mm(40.0);
        assert!(matches!(
            DeductionTable::new(&impossible),
            Err(DeductionTableError::ImpossibleRow { row: 2, fault: DeductionError::OutsideTheMetal { .. } })
        ));
    }

    #[test]
    fn names_are_short() {
        assert_eq!(BendRule::Fixed(KFactor::new(0.42).unwrap()).name(), "fixed K 0.42");
        assert_eq!(BendRule::Fixed(KFactor::new(1.0 / 3.0).unwrap()).name(), "fixed K 0.3333");
        assert_eq!(BendRule::Din6935.name(), "DIN 6935");
        assert_eq!(shop().name(), "shop deductions, 4 rows");
        let single = vec![RatioRow { ratio: 1.0, k_factor: KFactor::new(0.4).unwrap() }];
        assert_eq!(BendRule::RatioTable(RatioTable::new(single).unwrap()).name(), "K by r/t, 1 row");
    }
}
