//! The web between two openings is narrow.
//!
//! What it does: measures between any two closed openings of the blank.
//! Limit: `1.2 t`. Source: design guideline of an enclosure maker, gap of round holes (seen); `2 t` is also asked
//! for (common practice, no source).
//! Why it is bad: the web bends into the hole that is punched second, or burns when it is cut by laser.
//! Use instead: a wider pitch, smaller openings, or one opening in place of two.
//! Invariant: one finding for each pair of features, however many webs.

use std::collections::BTreeMap;

use crate::diag::Diagnostic;
use crate::geom::narrow_webs;
use crate::stock::Limit;

use super::limited::in_thicknesses;
use super::openings::{Group, add, feature_of, middle, place};
use super::{Check, Subject};

pub(super) const CHECK: Check = Check {
    code: CODE,
    limit: "the web between two openings is 1.2 thicknesses wide",
    source: "design guideline of an enclosure maker (seen)",
    of: &[Limit::HoleToHole],
    run,
};

const CODE: &str = "check::holes_too_close";

fn run(subject: Subject<'_>) -> Vec<Diagnostic> {
    let (tree, limit) = (subject.tree, in_thicknesses(subject, Limit::HoleToHole));
    let contours = subject.blank.region.contours();
    let mut groups = BTreeMap::new();
    for web in narrow_webs(&subject.blank.region, limit.value) {
        let [a, b] = web.contours.map(|index| &contours[index]);
        if limit.is_above(web.width)
            && let (Some(one), Some(other)) = (feature_of(tree, a), feature_of(tree, b))
        {
            let at = middle(a).midpoint(middle(b));
            add(&mut groups, (one.min(other), one.max(other)), web.width, at);
        }
    }
    let finding = |((one, other), group): ((_, _), Group)| {
        let names = if one == other {
            format!("between openings of `{}`", tree.origin(one).name)
        } else {
            format!("between openings of `{}` and `{}`", tree.origin(one).name, tree.origin(other).name)
        };
        let webs = if group.places == 1 { "a web".to_owned() } else { format!("{} webs", group.places) };
        let what = format!(
            "{webs} {names} {} {:.2} mm wide at {}",
            if group.places == 1 { "is" } else { "are as little as" },
            group.got,
            place(group.at)
        );
        // The later one is more likely the one to change.
        let origin = tree.origin(other).clone();
        group
            .under(CODE, &limit, what, origin)
            .finding(subject)
            .hint("set them farther apart, or make them smaller or one")
    };
    groups.into_iter().map(finding).collect()
}
