//! Findings of one check about many panels of one feature are one.
//!
//! Job: of findings with the same limit and the same feature the worst stays, and says how many more there are.
//! Invariant: order is that of the first of each; nothing is lost but the places of the others. Must not know: any
//! limit.

use crate::diag::Diagnostic;

/// One finding for each feature and limit.
pub(super) fn together(findings: Vec<Diagnostic>) -> Vec<Diagnostic> {
    let mut groups: Vec<Vec<Diagnostic>> = Vec::new();
    for finding in findings {
        match groups.iter_mut().find(|group| are_alike(&group[0], &finding)) {
            Some(group) => group.push(finding),
            None => groups.push(vec![finding]),
        }
    }
    groups.into_iter().map(worst).collect()
}

fn are_alike(a: &Diagnostic, b: &Diagnostic) -> bool {
    let (Some(one), Some(other)) = (&a.measure, &b.measure) else { return false };
    (a.code, a.severity, &a.origins, &a.hints) == (b.code, b.severity, &b.origins, &b.hints)
        && (one.limit.to_bits(), one.bound, one.unit, &one.source)
            == (other.limit.to_bits(), other.bound, other.unit, &other.source)
}

/// The first of those that break their limit by most, with the number of all.
fn worst(group: Vec<Diagnostic>) -> Diagnostic {
    let places: usize = group.iter().filter_map(|finding| Some(finding.measure.as_ref()?.places)).sum();
    let more = group.len() - 1;
    let off = |finding: &Diagnostic| finding.measure.as_ref().map_or(0.0, |m| (m.got - m.limit).abs());
    let worst = group.into_iter().reduce(|a, b| if off(&b) > off(&a) { b } else { a });
    let mut worst = worst.expect("a group has a finding");
    if more > 0 {
        worst.message = format!("{}; {more} more of `{}` alike", worst.message, worst.origins[0].name);
        if let Some(measure) = &mut worst.measure {
            measure.places = places;
        }
    }
    worst
}
