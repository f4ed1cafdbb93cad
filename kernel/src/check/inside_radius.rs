//! A bend is sharper than its material bears.
//!
//! What it does: holds the inside radius of every bend against its material, thickness and turn, and against the
//! grain of the sheet.
//! Limits: a fault below what any source bends: low carbon steel `max(t/2, 0.8 mm)` (sheet metal design guidelines,
//! seen), stainless steel `t`, brass `t/2` (guideline sheet of a manufacturing service, seen), aluminium by EN 485-2
//! (5754 seen, 6061 from memory). A warning for carbon steel below the least radius of DIN 6935 (seen), which goes
//! by tensile strength, and by the next thicker row along the grain and above 120°. Where the sheet may lie either
//! way, the worse way counts. A shop that says `inside_radius` takes the place of both: a fault.
//! Why it is bad: the outer fibre cracks, at once or in use.
//! Use instead: a larger radius, a softer material, or a bend across the grain.
//! Invariant: one finding for each limit, however many bends; closed hems of steel are pressed flat and do not count.

use crate::diag::{Bound, Diagnostic, Severity};
use crate::fold::Bend;
use crate::geom::Vec2;
use crate::ident::BendId;
use crate::quantity::{maths, tolerance};
use crate::stock::{Grain, Limit, Published, RollingSense, din_6935_radius, least_radius};

use super::limited::{Broken, By, Formula, Least, few, short};
use super::{Check, Subject, die};

pub(super) const CHECK: Check = Check {
    code: CODE,
    limit: "inside radius by material, thickness, turn and grain: what any source bends, and DIN 6935 for carbon steel",
    source: "sheet metal design guidelines, guideline sheet of a manufacturing service, EN 485-2, DIN 6935 (seen; 6061 from memory)",
    of: &[Limit::InsideRadius],
    run,
};

const CODE: &str = "check::inside_radius";

/// Bends that break the same limit.
struct Group {
    limit: Least,
    severity: Severity,
    got: f64,
    bends: Vec<BendId>,
}

fn run(subject: Subject<'_>) -> Vec<Diagnostic> {
    let tree = subject.tree;
    let mut groups: Vec<Group> = Vec::new();
    for bend in tree.bends() {
        let Some((severity, limit)) =
            limits_of(subject, bend).find(|(_, l)| l.is_above(bend.inside_radius()))
        else {
            continue;
        };
        match groups.iter_mut().find(|group| group.limit == limit) {
            Some(group) => {
                group.got = group.got.min(bend.inside_radius());
                group.bends.push(bend.id);
            }
            None => groups.push(Group { limit, severity, got: bend.inside_radius(), bends: vec![bend.id] }),
        }
    }
    let finding = |group: Group| {
        let names: Vec<String> =
            group.bends.iter().map(|id| tree.panel(tree.bend(*id).child).name.to_string()).collect();
        let first = tree.panel(tree.bend(group.bends[0]).child);
        let bends = if group.bends.len() == 1 { "bend" } else { "bends" };
        let broken = Broken {
            code: CODE,
            severity: group.severity,
            what: format!(
                "the inside radius of the {bends} of {} in {} of {} mm is {:.2} mm",
                few(&names),
                subject.sheet.material.name,
                short(tree.thickness()),
                group.got
            ),
            got: group.got,
            bound: Bound::AtLeast,
            limit: &group.limit,
            unit: "mm",
            places: group.bends.len(),
            origin: tree.origin(first.feature).clone(),
        };
        let hint = match group.severity {
            Severity::Fault => "make the radius larger, or choose a softer material",
            Severity::Warning | Severity::Note => {
                "make the radius larger, lay the bends across the grain (`grain` of `part`), or prove it with a trial bend"
            }
        };
        broken.finding(subject).hint(hint)
    };
    groups.into_iter().map(finding).collect()
}

/// The limits of a bend, the hardest first.
fn limits_of(subject: Subject<'_>, bend: &Bend) -> impl Iterator<Item = (Severity, Least)> {
    let (material, t) = (&subject.sheet.material, subject.tree.sheet_thickness());
    let said = subject.limits.given(Limit::InsideRadius).map(|factor| Least {
        value: factor * subject.tree.thickness(),
        formula: Formula::Times(factor, "t"),
        by: By::Shop(Limit::InsideRadius),
    });
    let published = |severity, formula, found: Published<f64>| {
        let by = By::Published(found.source, found.status);
        (severity, Least { value: found.value, formula, by })
    };
    let by_shop = said.is_some();
    let hem = die::is_hem(bend);
    let rolling = rolling(subject, bend);
    let tables = [
        least_radius(material, t, bend.turn())
            .map(|found| published(Severity::Fault, Formula::AnySource(material.name), found)),
        din_6935_radius(material, t, bend.turn(), rolling).map(|found| {
            let words = match (rolling, subject.sheet.grain) {
                (RollingSense::Across, _) => "across the grain",
                (RollingSense::Along, Grain::Any) => "along the grain, since the sheet may lie either way",
                (RollingSense::Along, Grain::AlongX | Grain::AlongY) => "along the grain",
            };
            published(Severity::Warning, Formula::Words(words), found)
        }),
    ];
    let said = said.filter(|_| !hem).map(|limit| (Severity::Fault, limit));
    said.into_iter().chain(tables.into_iter().flatten().filter(move |_| !by_shop))
}

/// How a bend line lies to the grain; half-way counts as along.
fn rolling(subject: Subject<'_>, bend: &Bend) -> RollingSense {
    let grain = match subject.sheet.grain {
        Grain::Any => return RollingSense::Along,
        Grain::AlongX => Vec2::new(1.0, 0.0),
        Grain::AlongY => Vec2::new(0.0, 1.0),
    };
    let [from, to] = subject.blank.bend_lines[bend.id.index()].centre;
    let cosine = (to - from).normalized().dot(grain).abs();
    if cosine < maths::cos(0.25 * maths::PI) - tolerance::PARALLEL {
        RollingSense::Across
    } else {
        RollingSense::Along
    }
}
