//! The sheet as it was asked for, in saved form.
//!
//! Invariant: plain data; [`SheetSpec::resolve`] is the only way to a [`Sheet`], and checks everything.

use serde::{Deserialize, Serialize};
use thiserror::Error;

use crate::diag::{Diagnostic, Origin, Span};
use crate::quantity::{Angle, Length, QuantityError, Radius, Turn};
use crate::stock::{
    self, BendRule, DeductionRow, DeductionTable, DeductionTableError, GaugeError, GaugeSystem, Grain,
    KFactor, RatioRow, RatioTable, RatioTableError, Sheet, StockError, StripFitError, TestStripError,
    Thickness, UnknownMaterial,
};

use super::test_strips::TestStripsSpec;

/// Material, thickness, usual inside radius, and where the K-factor comes from.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct SheetSpec {
    /// Designation of the material, for example `DC01`.
    pub material: String,
    /// Thickness, in mm or as a gauge number.
    pub thickness: ThicknessSpec,
    /// Inside radius in mm of bends that have none of their own.
    pub inside_radius: f64,
    /// Where the K-factor comes from.
    pub bend_rule: BendRuleSpec,
    /// Which way the sheet was rolled; any way if left out.
    #[serde(default, skip_serializing_if = "GrainSpec::is_any")]
    pub grain: GrainSpec,
    /// Where it was written.
    #[serde(skip)]
    pub span: Option<Span>,
}

/// Which way the sheet was rolled, seen in the blank.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum GrainSpec {
    /// The shop may lay the blank either way.
    #[default]
    Any,
    /// Along the blank's x.
    X,
    /// Along the blank's y.
    Y,
}

impl GrainSpec {
    fn is_any(&self) -> bool {
        *self == Self::Any
    }
}

/// Thickness of a sheet.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case", deny_unknown_fields)]
pub enum ThicknessSpec {
    /// In mm.
    Mm(f64),
    /// By a gauge number of a system: `sheet steel`, `galvanised steel`, `stainless steel` or
    /// `aluminium and brass`.
    Gauge {
        /// Name of the system.
        system: String,
        /// Number.
        number: u32,
    },
}

/// Where the K-factor comes from.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case", deny_unknown_fields)]
pub enum BendRuleSpec {
    /// The same K for every bend.
    FixedK(f64),
    /// Rows `[inside radius / thickness, K]`, rising.
    RatioTable(Vec<[f64; 2]>),
    /// The formula of DIN 6935.
    Din6935,
    /// Rows `[thickness mm, inside radius mm, turn degrees, deduction mm]` measured by a shop.
    Deductions(Vec<[f64; 4]>),
    /// A fit to test strips measured by a shop.
    TestStrips(TestStripsSpec),
}

/// Why a sheet cannot be.
#[derive(Clone, Debug, PartialEq, Error)]
#[expect(missing_docs, reason = "the message of each fault says what its fields are")]
pub enum SheetFault {
    #[error(transparent)]
    Material(#[from] UnknownMaterial),
    #[error(transparent)]
    Stock(#[from] StockError),
    #[error("{what}: {problem}")]
    Quantity { what: &'static str, problem: QuantityError },
    #[error(transparent)]
    Gauge(#[from] GaugeError),
    #[error("there is no gauge system `{asked}`")]
    GaugeSystem { asked: String },
    #[error(transparent)]
    RatioTable(#[from] RatioTableError),
    #[error(transparent)]
    DeductionTable(#[from] DeductionTableError),
    #[error("test strip {strip}: {fault}")]
    InStrip { strip: usize, fault: Box<SheetFault> },
    #[error(transparent)]
    StripFit(#[from] StripFitError),
}

impl SheetFault {
    /// The finding for whoever described the sheet.
    #[must_use]
    pub fn diagnose(&self, origin: Origin) -> Diagnostic {
        let (code, hint) = self.code_and_hint();
        let finding = Diagnostic::fault(code, self.to_string(), origin);
        match hint {
            Some(hint) => finding.hint(hint),
            None => finding,
        }
    }

    /// The same fault, in a property of a test strip; strips are counted from 1.
    pub(super) fn in_strip(self, strip: usize) -> Self {
        Self::InStrip { strip, fault: Box::new(self) }
    }

    fn code_and_hint(&self) -> (&'static str, Option<String>) {
        match self {
            Self::Material(_) => (
                "stock::unknown_material",
                Some("write it as in this list; capitals, spaces and hyphens make no difference".to_owned()),
            ),
            Self::Stock(StockError::ThicknessNotPositive { .. }) => (
                "stock::thickness_not_positive",
                Some("give the thickness in mm, for example 1.5".to_owned()),
            ),
            Self::Stock(StockError::KFactorOutOfRange { .. }) => (
                "stock::k_factor_out_of_range",
                Some("most sheet bends with K between 0.3 and 0.5".to_owned()),
            ),
            Self::Quantity { .. } => ("stock::bad_quantity", None),
            Self::Gauge(_) => ("stock::unknown_gauge", None),
            Self::GaugeSystem { .. } => {
                let known = GaugeSystem::ALL.map(|s| format!("`{}`", s.name())).join(", ");
                ("stock::unknown_gauge_system", Some(format!("known are {known}")))
            }
            Self::RatioTable(_) => ("stock::bad_ratio_table", None),
            Self::DeductionTable(_) => ("stock::bad_deduction_table", None),
            Self::InStrip { fault, .. } => fault.code_and_hint(),
            Self::StripFit(fault) => ("stock::bad_test_strips", strip_fit_hint(fault).map(str::to_owned)),
        }
    }
}

fn strip_fit_hint(fault: &StripFitError) -> Option<&'static str> {
    match fault {
        StripFitError::NoStrip { fault: TestStripError::OutsideTheMetal(_), .. } => Some(
            "look at its lengths, at what the legs are measured from, and at the turn, which counts from flat",
        ),
        StripFitError::NothingShowsScatter => Some(
            "bend a second strip of one radius, or say with `uncertainty` by how many mm a flat length less \
             its legs may be measured wrong",
        ),
        StripFitError::Empty
        | StripFitError::NoStrip {
            fault:
                TestStripError::TooFewLegs { .. } | TestStripError::TooLarge | TestStripError::LegTooShort { .. },
            ..
        }
        | StripFitError::UncertaintyNotPositive { .. } => None,
    }
}

pub(super) fn quantity<T>(what: &'static str, made: Result<T, QuantityError>) -> Result<T, SheetFault> {
    made.map_err(|problem| SheetFault::Quantity { what, problem })
}

impl SheetSpec {
    /// The sheet that was asked for.
    ///
    /// # Errors
    /// The first property that cannot be, as a finding about `sheet`.
    pub fn resolve(&self) -> Result<Sheet, Diagnostic> {
        self.checked().map_err(|fault| fault.diagnose(self.origin()))
    }

    /// What findings about the sheet name.
    #[must_use]
    pub fn origin(&self) -> Origin {
        Origin { name: "sheet".to_owned(), span: self.span }
    }

    fn checked(&self) -> Result<Sheet, SheetFault> {
        let thickness = match &self.thickness {
            ThicknessSpec::Mm(mm) => Thickness::new(quantity("thickness", Length::try_mm(*mm))?)?,
            ThicknessSpec::Gauge { system, number } => {
                let found = GaugeSystem::ALL.into_iter().find(|s| s.name() == system);
                let system = found.ok_or_else(|| SheetFault::GaugeSystem { asked: system.clone() })?;
                system.thickness(*number)?
            }
        };
        Ok(Sheet {
            material: *stock::material(&self.material)?,
            thickness,
            inside_radius: quantity(
                "inside radius",
                Length::try_mm(self.inside_radius).and_then(Radius::new),
            )?,
            bend_rule: self.bend_rule.checked()?,
            grain: match self.grain {
                GrainSpec::Any => Grain::Any,
                GrainSpec::X => Grain::AlongX,
                GrainSpec::Y => Grain::AlongY,
            },
        })
    }
}

impl BendRuleSpec {
    fn checked(&self) -> Result<BendRule, SheetFault> {
        Ok(match self {
            Self::FixedK(k) => BendRule::Fixed(KFactor::new(*k)?),
            Self::RatioTable(rows) => {
                let row = |&[ratio, k]: &[f64; 2]| {
                    Ok::<_, SheetFault>(RatioRow { ratio, k_factor: KFactor::new(k)? })
                };
                BendRule::RatioTable(RatioTable::new(rows.iter().map(row).collect::<Result<_, _>>()?)?)
            }
            Self::Din6935 => BendRule::Din6935,
            Self::Deductions(rows) => {
                let row = |&[t, r, turn, deduction]: &[f64; 4]| {
                    Ok::<_, SheetFault>(DeductionRow {
                        thickness: Thickness::new(quantity("thickness in a row", Length::try_mm(t))?)?,
                        inside_radius: quantity(
                            "inside radius in a row",
                            Length::try_mm(r).and_then(Radius::new),
                        )?,
                        turn: quantity("turn in a row", Angle::try_deg(turn).and_then(Turn::new))?,
                        deduction: quantity("deduction in a row", Length::try_mm(deduction))?,
                    })
                };
                let rows: Vec<DeductionRow> = rows.iter().map(row).collect::<Result<_, _>>()?;
                BendRule::DeductionTable(DeductionTable::new(&rows)?)
            }
            Self::TestStrips(strips) => BendRule::TestStrips(strips.checked()?),
        })
    }
}
