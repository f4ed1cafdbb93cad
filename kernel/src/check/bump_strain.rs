//! The wall of a bump is stretched more than the sheet bears.
//!
//! What it does: estimates how far the cross-section of a bump's wall is stretched, and compares it with the
//! sheet's elongation after fracture. Estimate: developed length of the middle layer, from the top's outline
//! to the foot, over its length in plan, less one; no metal is drawn in, and the section thins as its volume
//! is kept (plane strain). Source: definition of engineering strain and constancy of volume (common theory
//! of plasticity, from memory); the comparison is common practice, no source.
//! Limit: the least elongation that the material's standard guarantees at this thickness.
//! Why it is bad: the sheet tears at the punch's edge. The estimate is a mean over the section: at the
//! punch's edge the strain is above it, and metal drawn in from the panel lowers it.
//! Use instead: less height, more draft, larger radii, or a softer sheet; prove it with a trial part.
//! Invariant: one finding for each bump above the limit, and a note for each feature with bumps if the limit
//! is not known.

use crate::diag::{Diagnostic, Severity};
use crate::fold::Form;
use crate::quantity::tolerance;

use super::{Check, Subject};

pub(super) const CHECK: Check = Check {
    code: CODE,
    limit: "mean strain of a bump's wall below the elongation that the material's standard guarantees",
    source: "definition of strain and constancy of volume (theory of plasticity, from memory); the comparison is common practice, no source",
    of: &[],
    run,
};

const CODE: &str = "check::bump_strain";

fn run(subject: Subject<'_>) -> Vec<Diagnostic> {
    let sheet = subject.sheet;
    let forms = subject.tree.forms();
    let limit = sheet.material.elongation_at(sheet.thickness).and_then(|row| Some((row.value.least?, row)));
    let Some((limit, row)) = limit else {
        let mut noted: Vec<&Form> = Vec::new();
        for form in forms {
            if noted.last().is_none_or(|last| last.feature != form.feature) {
                noted.push(form);
            }
        }
        return noted.into_iter().map(|form| unknown_limit(subject, form)).collect();
    };
    let above = forms.iter().filter(|form| 100.0 * form.section.elongation() > limit + tolerance::PERCENT);
    above
        .map(|form| {
            let section = &form.section;
            let message = format!(
                "the wall of bump `{}` is stretched by about {:.1} % and thins by {:.1} %; {} bears {limit:.1} % ({}, {})",
                form.name,
                100.0 * section.elongation(),
                100.0 * section.thinning(),
                sheet.material.name,
                row.source,
                row.status.text(),
            );
            Diagnostic::warning(CODE, message, subject.tree.origin(form.feature).clone())
                .hint("make the bump lower, its draft or radii larger, or choose a softer sheet; prove it with a trial part")
        })
        .collect()
}

fn unknown_limit(subject: Subject<'_>, form: &Form) -> Diagnostic {
    let message = format!(
        "the wall of bump `{}` is stretched by about {:.1} %; the elongation of {} at {:.2} mm is not in the tables",
        form.name,
        100.0 * form.section.elongation(),
        subject.sheet.material.name,
        subject.tree.thickness(),
    );
    let origin = subject.tree.origin(form.feature).clone();
    Diagnostic { severity: Severity::Note, ..Diagnostic::warning(CODE, message, origin) }
}
