//! A bump near a bend, an edge, an opening or another bump.
//!
//! What it does: measures from the foot of every bump, where its die fillet ends, to the lines where bends of its
//! panel start or end, to cut edges, to openings, and to the feet of other bumps.
//! Limits: bend `3 t` from its line (`3 t + r` from the bend; common practice, no source); edge `4 t`, opening `3 t`
//! (sheet metal design guidelines, dimples, seen); bump `4 t` (the same, from memory). The guidelines add the radii
//! of the dimples, since they measure from their middles.
//! Why it is bad: metal is drawn in from all sides, and what lies beside is pulled out of shape.
//! Use instead: move it away, make it smaller, or cut the opening afterwards.
//! Invariant: one finding for each bump and kind of neighbour; an opening in the flat top of a bump is none.

use crate::diag::{Bound, Diagnostic, Severity};
use crate::fold::{EdgeLabel, Form};
use crate::geom::nearer_than;
use crate::stock::Limit;

use super::limited::{Broken, in_thicknesses};
use super::{Check, Subject};

pub(super) const CHECK: Check = Check {
    code: CODE,
    limit: "from the foot of a bump to a bend 3 thicknesses, to an edge 4, to an opening 3, to another bump 4",
    source: "sheet metal design guidelines, dimples (seen; bump to bump from memory); bend: common practice, no source",
    of: &[Limit::BumpToBend, Limit::BumpToEdge, Limit::BumpToHole, Limit::BumpToBump],
    run,
};

const CODE: &str = "check::bump_spacing";

/// What may stand beside a bump: its limit, and what it is called.
type Kind = (Limit, &'static str);
const BEND: Kind = (Limit::BumpToBend, "a bend");
const EDGE: Kind = (Limit::BumpToEdge, "an edge");
const OPENING: Kind = (Limit::BumpToHole, "an opening");
const BUMP: Kind = (Limit::BumpToBump, "another bump");

fn run(subject: Subject<'_>) -> Vec<Diagnostic> {
    let forms = subject.tree.forms();
    let of_form = |(index, form): (usize, &Form)| {
        let later = forms[index + 1..].iter().filter(|other| other.panel == form.panel);
        let reach = in_thicknesses(subject, BUMP.0).value;
        let near = later.filter_map(|other| nearer_than(form.foot(), other.foot(), reach));
        let beside = near.map(|approach| (BUMP, approach.distance_mm));
        worst_of_each(beside.chain(beside_panel(subject, form)))
            .into_iter()
            .filter_map(|((limit, what), got)| {
                let limit = in_thicknesses(subject, limit);
                let broken = Broken {
                    code: CODE,
                    severity: Severity::Warning,
                    what: format!("the foot of bump `{}` is {got:.2} mm from {what}", form.name),
                    got,
                    bound: Bound::AtLeast,
                    limit: &limit,
                    unit: "mm",
                    places: 1,
                    origin: subject.tree.origin(form.feature).clone(),
                };
                limit.is_above(got).then(|| broken.finding(subject).hint("move it away, or make it smaller"))
            })
            .collect::<Vec<_>>()
    };
    forms.iter().enumerate().flat_map(of_form).collect()
}

/// Everything of a bump's panel that may be too near, with its distance.
fn beside_panel<'a>(subject: Subject<'a>, form: &'a Form) -> impl Iterator<Item = (Kind, f64)> + 'a {
    let region = &subject.tree.panel(form.panel).region;
    let reach = [BEND, EDGE, OPENING].map(|(limit, _)| in_thicknesses(subject, limit).value);
    let farthest = reach.into_iter().fold(0.0, f64::max);
    let near = form.bounding_box().grown(farthest);
    let contours = region.contours().iter().filter(move |c| near.touches(c.bounding_box()));
    let contours = contours.filter(move |c| c.signed_area() > 0.0 || !form.carries(c));
    let pieces = contours.flat_map(|c| c.segments()).filter(move |s| near.touches(s.bounding_box()));
    pieces.map(move |piece| {
        let kind = match subject.tree.label(piece) {
            EdgeLabel::CreaseStart(_) | EdgeLabel::CreaseEnd(_) => BEND,
            EdgeLabel::Opening(_) => OPENING,
            EdgeLabel::Edge(_)
            | EdgeLabel::StripEnd(_)
            | EdgeLabel::Relief(_)
            | EdgeLabel::CornerBreak(_) => EDGE,
        };
        let foot = form.foot().segments().iter();
        let distance =
            foot.map(|own| crate::geom::distance_between(own, piece)).fold(f64::INFINITY, f64::min);
        (kind, distance)
    })
}

/// The least distance of each kind, in the order in which the kinds come up.
fn worst_of_each(found: impl Iterator<Item = (Kind, f64)>) -> Vec<(Kind, f64)> {
    let mut worst: Vec<(Kind, f64)> = Vec::new();
    for (kind, got) in found {
        match worst.iter_mut().find(|(known, _)| *known == kind) {
            Some((_, known)) => *known = known.min(got),
            None => worst.push((kind, got)),
        }
    }
    worst
}
