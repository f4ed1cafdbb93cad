//! A flange does not reach over the die.
//!
//! What it does: measures the panels on both sides of every bend from the outer mould line to their far edge, or
//! to the outer mould line of the bend at their far end, where they are longest.
//! Limit: `0.7 V` at 90°, by the geometry of `die.rs` at other turns. Source: tooling maker's air bending chart,
//! least inside die flange (seen); `V/√2` is the geometric bound. V is the narrowest die on hand for the thickness
//! (`6 t` to 2.67 mm, `8 t` to 8 mm; force chart with die opening rule, seen) that has room for the bend's radius.
//! Why it is bad: the edge falls into the V, and the bend is neither at its place nor of its angle: a fault.
//! Where the flange reaches over that die, but not over the one that gives the radius in air bending
//! (`V = 6 r`, averaged chart, seen), the bend needs a punch of its radius: a warning.
//! Use instead: a longer flange, a thinner sheet, or a bend that is made in another way.
//! Invariant: one finding for each bend at most. Hems have rules of their own. Panels that end in a bend to the
//! other side are steps, whose rule is `step_height`; a panel between two bends to one side is bent over the
//! narrower of their two dies at least.

use crate::diag::{Bound, Diagnostic, Severity};
use crate::fold::Bend;
use crate::stock::Limit;

use super::limited::{Broken, By, Formula, Least};
use super::reach::both_sides;
use super::{Check, Subject, die};

pub(super) const CHECK: Check = Check {
    code: CODE,
    limit: "a flange is 0.7 V long outside at 90°, V of the narrowest die for thickness and radius",
    source: "tooling maker's air bending chart (seen); die opening by a force chart (seen)",
    of: &[Limit::MinimumFlange, Limit::VOpenings, Limit::VByThickness, Limit::VByRadius],
    run,
};

const CODE: &str = "check::minimum_flange";

fn run(subject: Subject<'_>) -> Vec<Diagnostic> {
    let bends = subject.tree.bends().iter().filter(|bend| !die::is_hem(bend));
    bends.filter_map(|bend| shortest(subject, bend)).collect()
}

/// The shorter side of a bend, if it is too short.
fn shortest(subject: Subject<'_>, bend: &Bend) -> Option<Diagnostic> {
    let (tree, limits, t) = (subject.tree, subject.limits, subject.tree.thickness());
    let mut worst: Option<(f64, Diagnostic)> = None;
    for side in both_sides(tree, bend).into_iter().flatten() {
        let far = side.ends_in.map(|id| tree.bend(id));
        // A far bend at the panel's other end: seen from the panel, both turn its sheet to one side or not.
        if far.is_some_and(|far| !die::is_hem(far) && far.side != bend.side) {
            continue;
        }
        let outside = side.depth + die::setback(bend, t) + far.map_or(0.0, |far| die::setback(far, t));
        let of = |die: fn(&crate::stock::ShopLimits, f64, &Bend) -> f64| {
            let v = |bend: &Bend| die(limits, t, bend);
            let own = v(bend);
            far.filter(|far| !die::is_hem(far)).map_or(own, |far| own.min(v(far)))
        };
        for (v, severity, why, hint) in [
            (
                of(die::narrowest),
                Severity::Fault,
                "",
                "make it longer, or have it made over a narrower die: `v_openings` says which are on hand",
            ),
            (
                of(die::by_radius),
                Severity::Warning,
                ", the die that makes this radius",
                "make it longer or its radius smaller, or have it made with a punch of this radius over a narrower die",
            ),
        ] {
            let least = Least {
                value: die::shortest_flange(limits, v, bend.turn()),
                formula: Formula::OfV(limits.number(Limit::MinimumFlange), "V at 90°", v, why),
                by: By::Shop(Limit::MinimumFlange),
            };
            if !least.is_above(outside) {
                continue;
            }
            let panel = tree.panel(side.panel);
            let broken = Broken {
                code: CODE,
                severity,
                what: format!(
                    "panel `{}` reaches {outside:.2} mm out from the bend of `{}`",
                    panel.name,
                    tree.panel(bend.child).name
                ),
                got: outside,
                bound: Bound::AtLeast,
                limit: &least,
                unit: "mm",
                places: 1,
                origin: tree.origin(panel.feature).clone(),
            };
            let missing = least.value - outside;
            let fault = severity == Severity::Fault;
            let worse = worst.as_ref().is_none_or(|(known, finding)| {
                (finding.severity == Severity::Fault, *known) < (fault, missing)
            });
            if worse {
                worst = Some((missing, broken.finding(subject).hint(hint)));
            }
            break;
        }
    }
    worst.map(|(_, finding)| finding)
}
