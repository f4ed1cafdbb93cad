//! A dimension: the way through the sheet that it spans; a free number: where it started and where it went.
//! Invariant: the steps of a distance add up to what it measures.

use crate::dimension::{DimensionResult, Way};
use crate::fold::FoldFractions;
use crate::geom::Vec3;
use crate::history::DimensionKind;
use crate::ident::PanelId;
use crate::quantity::maths;

use super::chain::{self, Place};
use super::{Explanation, Figure, Step, Subject, blank};

pub(super) fn explain(subject: Subject<'_>, index: usize) -> Explanation {
    let entry = &subject.history.dimensions[index];
    let result = &subject.settled.dimensions[index];
    let heading = heading(&entry.kind.to_string(), result);
    let origin = Some(entry.origin());
    let unit = entry.kind.unit();
    let total = Some(Figure { value: result.got, unit });
    let sources = Vec::new();
    match (&entry.kind, result.ways.as_slice()) {
        (DimensionKind::BlankLength, _) => {
            let sized = blank::extent(subject, "blank length", Vec3::new(1.0, 0.0, 0.0));
            Explanation { heading, origin, ..sized }
        }
        (DimensionKind::BlankWidth, _) => {
            let sized = blank::extent(subject, "blank width", Vec3::new(0.0, 1.0, 0.0));
            Explanation { heading, origin, ..sized }
        }
        (DimensionKind::Angle { a, b }, _) => {
            let turns = turns(subject, a.as_str(), b.as_str());
            Explanation { heading, origin, steps: turns, total, sources }
        }
        (kind, [way]) if kind.measure_count() == 1 => {
            let steps = along(subject, way);
            Explanation { heading, origin, steps, total, sources }
        }
        (kind, ways) if ways.len() == 2 && is_of_two_distances(kind) => {
            let formula = match kind {
                DimensionKind::OffCentre { .. } => "half of (first − second)",
                DimensionKind::Ratio(_) => "first / second",
                DimensionKind::Difference(_)
                | DimensionKind::Inside { .. }
                | DimensionKind::Outside { .. }
                | DimensionKind::Clear { .. }
                | DimensionKind::Overall { .. }
                | DimensionKind::ClearOf { .. }
                | DimensionKind::PanelWidth { .. }
                | DimensionKind::Angle { .. }
                | DimensionKind::BlankLength
                | DimensionKind::BlankWidth => "first − second",
            };
            let mut steps: Vec<Step> = Vec::new();
            for (which, way) in ["first", "second"].into_iter().zip(ways) {
                steps.extend(along(subject, way));
                steps.push(Step::new(format!("{which} distance"), way.length(), "mm", "sum of the above"));
            }
            steps.push(Step::new(kind.word(), result.got, unit, formula));
            Explanation { heading, origin, steps, total: None, sources }
        }
        (kind, _) => {
            let how = "measure its parts as dimensions of their own to see them explained";
            let steps = vec![Step::new(kind.word(), result.got, unit, how)];
            Explanation { heading, origin, steps, total: None, sources }
        }
    }
}

/// Whether a measure is made of two distances and nothing else.
fn is_of_two_distances(kind: &DimensionKind) -> bool {
    match kind {
        DimensionKind::OffCentre { .. } => true,
        DimensionKind::Difference(two) | DimensionKind::Ratio(two) => {
            two.iter().all(|part| part.measure_count() == 1 && part.unit() == "mm" && !part.is_of_blank())
                && two.iter().all(|part| !matches!(part, DimensionKind::OffCentre { .. }))
        }
        DimensionKind::Inside { .. }
        | DimensionKind::Outside { .. }
        | DimensionKind::Clear { .. }
        | DimensionKind::Overall { .. }
        | DimensionKind::ClearOf { .. }
        | DimensionKind::PanelWidth { .. }
        | DimensionKind::Angle { .. }
        | DimensionKind::BlankLength
        | DimensionKind::BlankWidth => false,
    }
}

fn heading(what: &str, result: &DimensionResult) -> String {
    let asked = result.asked.map_or_else(String::new, |asked| {
        format!(", {} (asked {asked:.3} {})", result.state.word(), result.unit)
    });
    format!("`{}`: {what} is {:.3} {}{asked}", result.name, result.got, result.unit)
}

fn along(subject: Subject<'_>, way: &Way) -> Vec<Step> {
    let folded = FoldFractions::all(subject.tree, 1.0);
    // What does not hang on a panel stands in the base panel's coordinates.
    let place = |i: usize| Place { panel: way.panels[i].unwrap_or(PanelId::new(0)), at: way.ends[i] };
    chain::along(subject.tree, &folded, [place(0), place(1)], way.direction, way.depth)
}

/// The turns of the bends between two panels.
fn turns(subject: Subject<'_>, a: &str, b: &str) -> Vec<Step> {
    let tree = subject.tree;
    let find = |name: &str| tree.panels().iter().find(|p| p.name.as_str() == name).map(|p| p.id);
    let (Some(a), Some(b)) = (find(a), find(b)) else { return Vec::new() };
    let way = chain::path(tree, a, b);
    let mut steps = Vec::new();
    for pair in way.windows(2) {
        let behind = if tree.panel(pair[1]).bend.is_some_and(|bend| tree.bend(bend).parent == pair[0]) {
            pair[1]
        } else {
            pair[0]
        };
        let Some(bend) = tree.panel(behind).bend.map(|bend| tree.bend(bend)) else { continue };
        let what = format!("turn of {}", tree.panel(behind).name);
        let turn = bend.turn() * (180.0 / maths::PI);
        steps
            .push(Step::new(what, turn, "deg", bend.side.word()).at(tree.origin(tree.panel(behind).feature)));
    }
    steps
}

pub(super) fn explain_free(subject: Subject<'_>, index: usize) -> Explanation {
    let free = &subject.history.free_numbers[index];
    let value = subject.settled.free[index];
    let mut steps = vec![Step::new("start", free.start, "", "as declared")];
    steps.extend(free.min.map(|min| Step::new("least", min, "", "bound")));
    steps.extend(free.max.map(|max| Step::new("most", max, "", "bound")));
    steps.extend(free.weight.map(|weight| Step::new("weight", weight, "", "how unwilling it is to move")));
    let settled = subject.aimed.map_or(value, |aimed| aimed.free_before[index]);
    steps.push(Step::new("moved by", settled - free.start, "", "least change that lets the dimensions hold"));
    steps.extend(subject.aimed.map(|aimed| {
        let why = format!("towards the smallest {}", aimed.figure.word());
        Step::new("and then by", value - settled, "", why)
    }));
    Explanation {
        heading: format!("free number `{}`: {value:.3}", free.name),
        origin: Some(crate::diag::Origin { name: free.name.clone(), span: free.span }),
        steps,
        total: None,
        sources: vec!["how it was solved: docs/math/solver.md".to_owned()],
    }
}
