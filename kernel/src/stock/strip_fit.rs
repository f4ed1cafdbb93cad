//! K fitted to test strips.
//!
//! Job: one K for each tested radius over thickness, how sure it is, and how far each strip lies off.
//! Invariant: the fit is least squares in flat length, strips keep their order and numbers, and every K lies
//! inside the metal. Must not know: what the K is used for. Derivation and an example by hand:
//! `docs/math/test-strips.md`.

use thiserror::Error;

use crate::quantity::{Length, tolerance};

use super::bend_rule::held_line;
use super::student_t::two_sided_bound;
use super::{KFactor, LengthDatum, TestStrip, TestStripError, Thickness};

/// Share of all fits whose K lies within the stated ± of the true one.
const CONFIDENCE: f64 = 0.95;

/// A strip whose deviation has a smaller chance than `1 − OUTLIER_SHARE` is named: the share of a normal
/// distribution within three standard deviations, `erf(3/√2)`.
const OUTLIER_SHARE: f64 = 0.997_300_203_936_740;

/// Radii over thickness within this share of each other count as one, and so does a bend that lies this far
/// beyond the tested ones. Sheet may be 9 % off its nominal thickness (EN 10131: 0.03 mm at 0.35 mm, from
/// memory), and over a tenth of r/t the K of DIN 6935 changes by 0.01 only.
const SAME_RATIO_SHARE: f64 = 0.1;

/// A test strip against the fit.
#[derive(Clone, Debug, PartialEq)]
pub struct FittedStrip {
    /// What was measured.
    pub strip: TestStrip,
    /// The K of this strip alone.
    pub k_factor: KFactor,
    /// Measured flat length less the one reckoned with the K of its radius.
    pub residual: Length,
    /// Set if it disagrees with the other strips more than chance allows.
    pub outlier: Option<Outlier>,
}

/// How a strip disagrees with the others.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Outlier {
    /// Measured flat length less the one reckoned from the other strips of its radius.
    pub off: Length,
    /// Standard deviation of flat lengths without this strip.
    pub scatter_of_others: Length,
}

/// The K of one tested radius over thickness.
#[derive(Clone, Debug, PartialEq)]
pub struct TestedRatio {
    /// Inside radius over thickness: the mean of its strips, weighted as their K.
    pub ratio: f64,
    /// The K that makes the squares of its strips' residuals smallest.
    pub k_factor: KFactor,
    /// The true K lies within this of it, with a confidence of 95 %. `None` if nothing shows it: the strips agree
    /// to the last digit, because they were measured too coarsely to differ, and no uncertainty is stated.
    pub plus_minus: Option<f64>,
    /// Numbers of its strips, from 1 in the order given.
    pub strips: Vec<usize>,
}

/// K by inside radius over thickness from test strips: linear between the tested ratios, and an error beyond
/// them by more than a tenth.
///
/// Invariant: at least one ratio, none falling.
#[derive(Clone, Debug, PartialEq)]
pub struct StripFit {
    legs_from: LengthDatum,
    uncertainty: Option<Length>,
    strips: Vec<FittedStrip>,
    ratios: Vec<TestedRatio>,
    scatter: Option<Scatter>,
}

/// How far flat lengths lie off the fit.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Scatter {
    /// `√(Σ residual² / degrees of freedom)`: estimate of the standard deviation of a flat length.
    pub deviation: Length,
    /// Number of strips less number of tested ratios, at least 1.
    pub degrees_of_freedom: usize,
}

/// Why strips give no K. Strips are counted from 1, in the order given.
#[derive(Clone, Copy, Debug, PartialEq, Error)]
pub enum StripFitError {
    /// No strips.
    #[error("a fit needs at least one test strip")]
    Empty,
    /// Measures that are those of no strip.
    #[error("test strip {strip}: {fault}")]
    NoStrip {
        /// Which strip.
        strip: usize,
        /// What is wrong with it.
        fault: TestStripError,
    },
    /// A stated uncertainty of zero or less.
    #[error("the uncertainty of a flat length is {got}; it must be above zero")]
    UncertaintyNotPositive {
        /// What was stated.
        got: Length,
    },
    /// No two strips of one radius over thickness, and no stated uncertainty.
    #[error("no radius has two test strips, so that nothing shows how sure K is")]
    NothingShowsScatter,
}

impl StripFit {
    /// Fits K to strips whose legs are measured from `legs_from`.
    ///
    /// `uncertainty` bounds, with a confidence of 95 %, by how much one flat length less its legs is measured
    /// wrong. It may be common to all strips, so that it does not average out; where it gives a larger ± than
    /// the strips' own scatter, it holds. It must be given if no ratio has two strips.
    ///
    /// # Errors
    /// [`StripFitError`] for the first fault found.
    pub fn new(
        strips: Vec<TestStrip>,
        legs_from: LengthDatum,
        uncertainty: Option<Length>,
    ) -> Result<Self, StripFitError> {
        if strips.is_empty() {
            return Err(StripFitError::Empty);
        }
        if let Some(got) = uncertainty.filter(|length| length.to_mm() <= 0.0) {
            return Err(StripFitError::UncertaintyNotPositive { got });
        }
        let mut measured = Vec::with_capacity(strips.len());
        for (number, strip) in (1..).zip(&strips) {
            measured.push(Measured {
                ratio: strip.ratio(),
                k: strip
                    .checked_k(legs_from)
                    .map_err(|fault| StripFitError::NoStrip { strip: number, fault })?,
                weight: strip.mm_for_one_k(),
            });
        }
        let groups = by_ratio(&measured);
        let means: Vec<Mean> = groups.iter().map(|group| Mean::of(&measured, group)).collect();
        let mut residuals = vec![0.0; strips.len()];
        for (group, mean) in groups.iter().zip(&means) {
            for &index in group {
                residuals[index] = measured[index].weight * (measured[index].k.value() - mean.k);
            }
        }
        let squares: f64 = residuals.iter().map(|residual| residual * residual).sum();
        let freedom = strips.len() - groups.len();
        let scatter = (freedom > 0).then(|| Scatter {
            deviation: Length::mm((squares / freedom as f64).sqrt()),
            degrees_of_freedom: freedom,
        });
        let mut ratios = Vec::with_capacity(groups.len());
        let mut outliers = vec![None; strips.len()];
        for (group, mean) in groups.into_iter().zip(means) {
            for &index in &group {
                let share = measured[index].weight / mean.root_of_squares;
                let off = Deviation { residual: residuals[index], leverage: share * share };
                outliers[index] = off.outlier(squares, freedom, uncertainty);
            }
            let by_scatter = scatter.map(|scatter| scatter.half_width(&mean));
            let shows_nothing = scatter.is_some_and(|s| s.deviation.to_mm() <= tolerance::HELD_MM);
            let by_uncertainty = uncertainty.map(|length| length.to_mm() / mean.mm_for_one_k);
            let plus_minus = match (by_scatter, by_uncertainty) {
                (Some(a), Some(b)) => Some(a.max(b)),
                (Some(_), None) if shows_nothing => None,
                (Some(only), None) | (None, Some(only)) => Some(only),
                (None, None) => return Err(StripFitError::NothingShowsScatter),
            };
            let strips = group.into_iter().map(|index| index + 1).collect();
            ratios.push(TestedRatio {
                ratio: mean.ratio,
                k_factor: KFactor::nearest(mean.k),
                plus_minus,
                strips,
            });
        }
        let strips = strips
            .into_iter()
            .zip(measured)
            .zip(residuals.into_iter().zip(outliers))
            .map(|((strip, measured), (residual, outlier))| FittedStrip {
                strip,
                k_factor: measured.k,
                residual: Length::mm(residual),
                outlier,
            })
            .collect();
        Ok(Self { legs_from, uncertainty, strips, ratios, scatter })
    }

    /// What the lengths of the legs are measured from.
    #[must_use]
    pub fn legs_from(&self) -> LengthDatum {
        self.legs_from
    }

    /// The stated uncertainty of one flat length less its legs.
    #[must_use]
    pub fn uncertainty(&self) -> Option<Length> {
        self.uncertainty
    }

    /// The strips in the order given.
    #[must_use]
    pub fn strips(&self) -> &[FittedStrip] {
        &self.strips
    }

    /// The tested radii over thickness, smallest first.
    #[must_use]
    pub fn ratios(&self) -> &[TestedRatio] {
        &self.ratios
    }

    /// How far flat lengths lie off the fit; `None` if each ratio has one strip only.
    #[must_use]
    pub fn scatter(&self) -> Option<Scatter> {
        self.scatter
    }

    /// K at this inside radius over thickness; `None` beyond the tested ones.
    #[must_use]
    pub fn k_factor(&self, ratio: f64) -> Option<KFactor> {
        let points: Vec<_> = self.ratios.iter().map(|row| (row.ratio, row.k_factor.value())).collect();
        let (least, most) = (points[0].0, points[points.len() - 1].0);
        let tested = is_same_or_more(ratio, least) && is_same_or_more(most, ratio);
        tested.then(|| KFactor::nearest(held_line(&points, ratio)))
    }

    /// Whether a strip of about this thickness is among the tested ones.
    #[must_use]
    pub fn has_thickness(&self, thickness: Thickness) -> bool {
        let asked = thickness.length().to_mm();
        let mut tested = self.strips.iter().map(|fitted| fitted.strip.thickness.length().to_mm());
        tested.any(|t| is_same_or_more(asked, t) && is_same_or_more(t, asked))
    }
}

/// Whether `a` is at most a tenth below `b`.
fn is_same_or_more(a: f64, b: f64) -> bool {
    b <= a * (1.0 + SAME_RATIO_SHARE)
}

/// What the fit needs of a strip.
struct Measured {
    ratio: f64,
    k: KFactor,
    /// Flat length in mm for one K.
    weight: f64,
}

/// Indices of strips whose ratios lie within a tenth of the smallest of them, ratios rising from list to list,
/// each list in the order given.
fn by_ratio(measured: &[Measured]) -> Vec<Vec<usize>> {
    let mut rising: Vec<usize> = (0..measured.len()).collect();
    rising.sort_by(|&a, &b| measured[a].ratio.total_cmp(&measured[b].ratio).then(a.cmp(&b)));
    let mut groups: Vec<Vec<usize>> = Vec::new();
    for index in rising {
        match groups.last_mut() {
            Some(group) if is_same_or_more(measured[group[0]].ratio, measured[index].ratio) => {
                group.push(index);
            }
            Some(_) | None => groups.push(vec![index]),
        }
    }
    groups.iter_mut().for_each(|group| group.sort_unstable());
    groups
}

/// The least-squares K of strips with one ratio.
struct Mean {
    ratio: f64,
    k: f64,
    /// `√Σw²`, `w` the flat length in mm for one K.
    root_of_squares: f64,
    /// `Σw² / Σw`: the common error of all flat lengths in mm that makes K wrong by 1.
    mm_for_one_k: f64,
}

impl Mean {
    fn of(measured: &[Measured], group: &[usize]) -> Self {
        // Weights as shares of the largest, so that their squares neither vanish nor overflow.
        let largest = group.iter().map(|&index| measured[index].weight).fold(0.0, f64::max);
        let (mut shares, mut squares, mut k, mut ratio) = (0.0, 0.0, 0.0, 0.0);
        for strip in group.iter().map(|&index| &measured[index]) {
            let share = strip.weight / largest;
            shares += share;
            squares += share * share;
            k += share * share * strip.k.value();
            ratio += share * share * strip.ratio;
        }
        Self {
            ratio: ratio / squares,
            k: k / squares,
            root_of_squares: largest * squares.sqrt(),
            mm_for_one_k: largest * squares / shares,
        }
    }
}

impl Scatter {
    /// Half of the interval for a mean's K: `t · s / √Σw²`.
    fn half_width(self, mean: &Mean) -> f64 {
        two_sided_bound(CONFIDENCE, self.degrees_of_freedom) * self.deviation.to_mm() / mean.root_of_squares
    }
}

/// Residual of one strip in mm, and its leverage `w² / Σw²`: its share in the mean of its ratio, in `(0, 1]`.
struct Deviation {
    residual: f64,
    leverage: f64,
}

impl Deviation {
    /// The strip against the fit without it: it is off by `residual / (1 − leverage)`, and its square in the
    /// sum of `squares` is `residual² / (1 − leverage)`.
    fn outlier(&self, squares: f64, freedom: usize, uncertainty: Option<Length>) -> Option<Outlier> {
        let without = freedom.checked_sub(1).filter(|&left| left > 0)?;
        let own = 1.0 - self.leverage;
        let off = self.residual / own;
        let noise = uncertainty.map_or(tolerance::HELD_MM, Length::to_mm);
        // A strip that is alone with its ratio has nothing to differ from: its residual and `own` are zero.
        if !off.is_finite() || off.abs() <= noise {
            return None;
        }
        let scatter = ((squares - self.residual * off).max(0.0) / without as f64).sqrt();
        let limit = two_sided_bound(OUTLIER_SHARE, without) * scatter / own.sqrt();
        (off.abs() > limit).then(|| Outlier { off: Length::mm(off), scatter_of_others: Length::mm(scatter) })
    }
}

#[cfg(test)]
mod tests;
