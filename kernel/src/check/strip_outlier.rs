//! A test strip that disagrees with the others spoils the K of its radius.
//!
//! What it does: holds each strip against the fit to the others.
//! Limit: three standard deviations, with Student's t in place of the normal distribution, so that a good strip
//! is named in 27 of 10,000 cases however few there are; nothing is said within the stated uncertainty. Source:
//! derived in `docs/math/test-strips.md`; three standard deviations are common practice, no source.
//! Why it is bad: one leg read wrongly moves the K of its radius, and widens the ± of all.
//! Use instead: measure the strip again, or bend another one; nothing is left out of the fit on its own.
//! Invariant: only sheet whose K is fitted to test strips has findings, one for each strip at most.

use crate::diag::Diagnostic;
use crate::stock::BendRule;

use super::{Check, Subject};

pub(super) const CHECK: Check = Check {
    code: CODE,
    limit: "three standard deviations, by Student's t: a good strip is named in 27 of 10,000 cases",
    source: "docs/math/test-strips.md; three standard deviations are common practice, no source",
    of: &[],
    run,
};

const CODE: &str = "check::strip_outlier";

fn run(subject: Subject<'_>) -> Vec<Diagnostic> {
    let BendRule::TestStrips(fit) = &subject.sheet.bend_rule else { return Vec::new() };
    let outliers =
        (1..).zip(fit.strips()).filter_map(|(number, fitted)| Some((number, fitted, fitted.outlier?)));
    outliers
        .map(|(number, fitted, outlier)| {
            let off = outlier.off.to_mm();
            let message = format!(
                "test strip {number} was {:.3} mm {} before bending than the other strips of its radius say; \
                 without it strips scatter by {:.3} mm, and it alone gives K {:.4}",
                off.abs(),
                if off > 0.0 { "longer" } else { "shorter" },
                outlier.scatter_of_others.to_mm(),
                fitted.k_factor.value()
            );
            Diagnostic::warning(CODE, message, subject.sheet_origin.clone())
                .hint("measure the strips of this radius again, or bend another one")
        })
        .collect()
}
