//! Stretches of the outline that face each other, as findings.
//!
//! Job: one finding for each pair of features between whose edges there is too little. Invariant: reliefs and ends of
//! bends bound no notch, they are as wide as was asked for. Must not know: which limit it is.

use std::collections::BTreeMap;

use crate::diag::Diagnostic;
use crate::fold::EdgeLabel;
use crate::geom::{Between, facing};

use super::Subject;
use super::limited::Least;
use super::openings::{Group, add, place};

/// Findings about places where the outline faces itself nearer than a limit.
pub(super) fn facing_edges(
    subject: Subject<'_>,
    wanted: Between,
    limit: &Least,
    code: &'static str,
    hint: &'static str,
) -> Vec<Diagnostic> {
    let tree = subject.tree;
    let mut groups: BTreeMap<[String; 2], Group> = BTreeMap::new();
    let mut origins = BTreeMap::new();
    for outline in subject.blank.region.outers() {
        for found in facing(outline, limit.value).into_iter().filter(|found| found.between == wanted) {
            let labels = found.tags.map(|tag| tree.label_of(tag));
            let is_relief =
                |label: &EdgeLabel| matches!(label, EdgeLabel::Relief(_) | EdgeLabel::StripEnd(_));
            if !limit.is_above(found.width) || (wanted == Between::Gap && labels.into_iter().any(is_relief)) {
                continue;
            }
            let mut sides = labels.map(|label| tree.origin_of(label));
            sides.sort_by(|a, b| a.name.cmp(&b.name));
            let key = sides.map(|origin| origin.name.clone());
            origins.entry(key.clone()).or_insert_with(|| sides[1].clone());
            add(&mut groups, key, found.width, found.at);
        }
    }
    let words = match wanted {
        Between::Sheet => ["tab", "tabs"],
        Between::Gap => ["notch", "notches"],
    };
    let finding = |(key, group): ([String; 2], Group)| {
        let origin = origins[&key].clone();
        let [one, other] = key;
        let beside = if one == other { format!("`{one}`") } else { format!("`{one}` and `{other}`") };
        let (got, at) = (group.got, place(group.at));
        let what = match group.places {
            1 => format!("a {} between edges of {beside} is {got:.2} mm wide at {at}", words[0]),
            count => format!(
                "{count} {} between edges of {beside} are as little as {got:.2} mm wide at {at}",
                words[1]
            ),
        };
        group.under(code, limit, what, origin).finding(subject).hint(hint)
    };
    groups.into_iter().map(finding).collect()
}
