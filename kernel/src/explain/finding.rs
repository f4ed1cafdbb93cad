//! Findings of one kind: every place where it was met, and limit and source where a check found it.
//! Invariant: limit and source are those of the check itself.

use crate::check;

use super::{Explanation, Subject};

/// The findings with this code; of a check it is told, too, that there are none.
pub(super) fn explain(subject: Subject<'_>, code: &str) -> Option<Explanation> {
    let check = check::ALL.iter().find(|check| check.code == code);
    let found: Vec<_> = subject.findings.iter().filter(|finding| finding.code == code).collect();
    if check.is_none() && found.is_empty() {
        return None;
    }
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
        sources: check.map_or_else(Vec::new, |check| {
            vec![format!("limit: {}", check.limit), format!("source: {}", check.source)]
        }),
    })
}
