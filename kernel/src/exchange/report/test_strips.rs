//! The test strips of the report. Invariant: figures of the fit as they are, rounded like all others.

use schemars::JsonSchema;
use serde::Serialize;

use crate::stock::{BendRule, FittedStrip, TestedRatio};

use super::rounded;

/// Test strips and the K that was fitted to them.
#[derive(Serialize, JsonSchema)]
pub(super) struct TestStripsFigures {
    /// What the legs are measured from: `outside`, `inside` or `tangent`.
    legs_from: &'static str,
    /// By how much in mm one flat length less its legs may be measured wrong, with a confidence of 95 %; null if
    /// it was not stated.
    uncertainty_mm: Option<f64>,
    /// Number of strips less number of tested ratios.
    degrees_of_freedom: usize,
    /// Estimate in mm of the standard deviation of one flat length less its legs; null without degrees of freedom.
    scatter_mm: Option<f64>,
    /// The tested radii over thickness, the smallest first.
    ratios: Vec<TestedRatioFigures>,
    /// The strips in the order given.
    strips: Vec<TestStripFigures>,
}

/// One tested radius over thickness.
#[derive(Serialize, JsonSchema)]
struct TestedRatioFigures {
    /// Inside radius over thickness.
    radius_over_thickness: f64,
    /// Fitted place of the neutral fibre as a share of the thickness from the inside.
    k_factor: f64,
    /// The true K lies within this of it, with a confidence of 95 %; null if nothing shows it, because all strips
    /// agree to the last digit and no uncertainty is stated.
    k_plus_minus: Option<f64>,
    /// Numbers of its strips, from 1.
    strips: Vec<usize>,
}

/// One test strip.
#[derive(Serialize, JsonSchema)]
struct TestStripFigures {
    /// Its number, from 1.
    strip: usize,
    /// Lengths of its legs in mm, from end to end.
    legs_mm: Vec<f64>,
    /// Turn of each of its bends in degrees.
    turn_deg: f64,
    /// Its thickness in mm.
    thickness_mm: f64,
    /// Inside radius of each of its bends in mm.
    inside_radius_mm: f64,
    /// Its length in mm before bending.
    flat_mm: f64,
    /// K of this strip alone.
    k_factor: f64,
    /// Its flat length in mm less the one reckoned with the fitted K.
    residual_mm: f64,
    /// Whether it disagrees with the other strips more than chance allows.
    outlier: bool,
}

/// The figures of a fit; `None` where K comes from another rule.
pub(super) fn test_strips_figures(rule: &BendRule) -> Option<TestStripsFigures> {
    let BendRule::TestStrips(fit) = rule else { return None };
    let scatter = fit.scatter();
    Some(TestStripsFigures {
        legs_from: fit.legs_from().word(),
        uncertainty_mm: fit.uncertainty().map(|length| rounded(length.to_mm())),
        degrees_of_freedom: scatter.map_or(0, |scatter| scatter.degrees_of_freedom),
        scatter_mm: scatter.map(|scatter| rounded(scatter.deviation.to_mm())),
        ratios: fit.ratios().iter().map(ratio_figures).collect(),
        strips: (1..).zip(fit.strips()).map(strip_figures).collect(),
    })
}

fn ratio_figures(row: &TestedRatio) -> TestedRatioFigures {
    TestedRatioFigures {
        radius_over_thickness: rounded(row.ratio),
        k_factor: rounded(row.k_factor.value()),
        k_plus_minus: row.plus_minus.map(rounded),
        strips: row.strips.clone(),
    }
}

fn strip_figures((number, fitted): (usize, &FittedStrip)) -> TestStripFigures {
    let strip = &fitted.strip;
    TestStripFigures {
        strip: number,
        legs_mm: strip.legs.iter().map(|leg| rounded(leg.to_mm())).collect(),
        turn_deg: rounded(strip.turn.angle().to_deg()),
        thickness_mm: rounded(strip.thickness.length().to_mm()),
        inside_radius_mm: rounded(strip.inside_radius.length().to_mm()),
        flat_mm: rounded(strip.flat.to_mm()),
        k_factor: rounded(fitted.k_factor.value()),
        residual_mm: rounded(fitted.residual.to_mm()),
        outlier: fitted.outlier.is_some(),
    }
}
