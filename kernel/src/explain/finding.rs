//! A finding of the checks: its limit, its source, and every place where it was met.
//! Invariant: limit and source are those of the check itself.

use crate::check;

use super::{Explanation, Subject};

/// The check with this code, if the part has findings of it or not.
pub(super) fn explain(subject: Subject<'_>, code: &str) -> Option<Explanation> {
    let check = check::ALL.iter().find(|check| check.code == code)?;
    let found: Vec<_> = subject.findings.iter().filter(|finding| finding.code == code).collect();
    let mut heading =
        format!("{code}: {} {}", found.len(), if found.len() == 1 { "finding" } else { "findings" });
    for finding in &found {
        heading.push_str("\n  ");
        heading.push_str(&finding.message);
    }
    Some(Explanation {
        heading,
        origin: found.first().and_then(|finding| finding.origins.first().cloned()),
        steps: Vec::new(),
        total: None,
        sources: vec![format!("limit: {}", check.limit), format!("source: {}", check.source)],
    })
}
