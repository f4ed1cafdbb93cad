//! A relief beside a bend is too narrow or too shallow.
//!
//! What it does: measures the pieces of relief beside each end of a bend: along the bend, and past the line where
//! it starts.
//! Limits: width `t`, at least 0.762 mm (0.030 in); guideline sheet of a manufacturing service (seen). Depth `t + r`
//! past the start of the bend; common practice, no source (guides ask for `1.5 t` and `2 t + r` from the edge, seen).
//! Why it is bad: the sheet beside the bend is drawn in, bulges or tears.
//! Use instead: a wider or deeper relief; a tear, where a torn corner does no harm.
//! Invariant: one finding for each bend, width and depth at most. Tears, reliefs of no depth, and edges that lie at
//! the bottom of one were asked for as they are.

use crate::diag::{Bound, Diagnostic, Severity};
use crate::fold::{Bend, EdgeLabel};
use crate::geom::{BoundingBox, Motion2};
use crate::quantity::tolerance;
use crate::stock::Limit;

use super::limited::{Broken, By, Formula, Least, in_thicknesses};
use super::{Check, Subject};

pub(super) const CHECK: Check = Check {
    code: CODE,
    limit: "a relief is 1 thickness wide, at least 0.762 mm, and t + r deep past the start of the bend",
    source: "guideline sheet of a manufacturing service (seen); depth: common practice, no source",
    of: &[Limit::ReliefWidth, Limit::ReliefWidthFloor, Limit::ReliefDepth],
    run,
};

const CODE: &str = "check::relief_size";

fn run(subject: Subject<'_>) -> Vec<Diagnostic> {
    subject.tree.bends().iter().flat_map(|bend| of_bend(subject, bend)).collect()
}

fn of_bend(subject: Subject<'_>, bend: &Bend) -> Vec<Diagnostic> {
    let (tree, limits) = (subject.tree, subject.limits);
    let child = tree.panel(bend.child);
    let seen = Motion2 { x_axis: bend.along, origin: bend.origin }.inverse();
    let [from, to] = bend.reach();
    let middle = 0.5 * (from + to);
    let (mut width, mut depth) = (f64::INFINITY, f64::INFINITY);
    let pieces = || {
        let all = tree.panel(bend.parent).region.outers().flat_map(|c| c.segments());
        all.filter(|piece| matches!(tree.label(piece), EdgeLabel::Relief(panel) if *panel == child.name))
            .map(|piece| piece.moved(seen).bounding_box())
    };
    for is_left in [true, false] {
        let side = pieces().filter(|bounds| (bounds.min.x + bounds.max.x < 2.0 * middle) == is_left);
        let bounds = side.fold(BoundingBox::EMPTY, BoundingBox::union);
        let deep = -bounds.min.y;
        let wide = bounds.max.x - bounds.min.x;
        // Nothing there, a tear, or none past the bend's start.
        if !deep.is_finite() || deep <= tolerance::SNAP_MM {
            continue;
        }
        depth = depth.min(deep);
        // An edge that lies at the bottom is as wide as it is.
        if wide > tolerance::SNAP_MM {
            width = width.min(wide);
        }
    }
    let wide = in_thicknesses(subject, Limit::ReliefWidth).or_floor(limits, Limit::ReliefWidthFloor);
    let factor = limits.number(Limit::ReliefDepth);
    let deep = Least {
        value: factor * tree.thickness() + bend.inside_radius(),
        formula: Formula::Times(factor, "t + r"),
        by: By::Shop(Limit::ReliefDepth),
    };
    let measured = [(width, &wide, "wide"), (depth, &deep, "deep past the start of the bend")];
    let broken = measured.into_iter().filter(|(got, least, _)| least.is_above(*got));
    broken
        .map(|(got, limit, how)| {
            let broken = Broken {
                code: CODE,
                severity: Severity::Warning,
                what: format!("the relief beside the bend of `{}` is {got:.2} mm {how}", child.name),
                got,
                bound: Bound::AtLeast,
                limit,
                unit: "mm",
                places: 1,
                origin: tree.origin(child.feature).clone(),
            };
            broken.finding(subject).hint("make the relief larger, or leave its size to the rule")
        })
        .collect()
}
