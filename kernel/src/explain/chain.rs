//! The way through the sheet from one place to another, taken apart along a direction.
//!
//! Between two panels the sheet runs over the panels and bends of the tree. The way is cut where it enters and
//! leaves each bend, half-way along the bend; the pieces, seen along a direction, add up to the whole.
//! Invariant: the steps' values sum to the distance of the two places along the direction, to rounding.

use crate::fold::{FoldFractions, FoldTree};
use crate::geom::{Placement, Point2, Vec3};
use crate::ident::PanelId;
use crate::quantity::tolerance;

use super::Step;

/// A place on a panel, or of the base panel's surroundings.
#[derive(Clone, Copy, Debug)]
pub(super) struct Place {
    pub(super) panel: PanelId,
    pub(super) at: Vec3<f64>,
}

/// The steps along `direction` (unit length) from one place to the other, at `depth` mm along the panels' normals,
/// at these fold fractions; steps of nothing are left out.
pub(super) fn along(
    tree: &FoldTree,
    fractions: &FoldFractions,
    [from, to]: [Place; 2],
    direction: Vec3<f64>,
    depth: f64,
) -> Vec<Step> {
    let frames = tree.placements(fractions);
    let mut steps = Vec::new();
    let mut here = from.at;
    let mut walk = |what: String, next: Vec3<f64>, panel: PanelId| {
        let value = (next - here).dot(direction);
        here = next;
        if value.abs() > tolerance::SNAP_MM {
            steps.push(Step::new(what, value, "mm", "").at(tree.origin(tree.panel(panel).feature)));
        }
    };
    let way = path(tree, from.panel, to.panel);
    for pair in way.windows(2) {
        let [p, q] = [pair[0], pair[1]];
        // The bend hangs on whichever of the two lies behind it.
        let behind = if parent(tree, q) == Some(p) { q } else { p };
        let ends = bend_ends(tree, &frames, behind, depth);
        let [enter, leave] = if behind == q { ends } else { [ends[1], ends[0]] };
        walk(format!("along {}", tree.panel(p).name), enter, p);
        walk(format!("over the bend of {}", tree.panel(behind).name), leave, behind);
    }
    walk(format!("along {}", tree.panel(to.panel).name), to.at, to.panel);
    steps
}

fn parent(tree: &FoldTree, panel: PanelId) -> Option<PanelId> {
    tree.panel(panel).bend.map(|bend| tree.bend(bend).parent)
}

/// Panels from `a` to `b`, both included.
pub(super) fn path(tree: &FoldTree, a: PanelId, b: PanelId) -> Vec<PanelId> {
    let to_base = |panel| std::iter::successors(Some(panel), |&p| parent(tree, p)).collect::<Vec<_>>();
    let (mut up, mut down) = (to_base(a), to_base(b));
    while up.len() > 1 && down.len() > 1 && up[up.len() - 2] == down[down.len() - 2] {
        up.pop();
        down.pop();
    }
    down.pop();
    up.extend(down.into_iter().rev());
    up
}

/// Where the middle of a bend starts at its parent and ends at the panel behind it.
fn bend_ends(tree: &FoldTree, frames: &[Placement<f64>], behind: PanelId, depth: f64) -> [Vec3<f64>; 2] {
    let bend = tree.bend(tree.panel(behind).bend.expect("a panel on the way between two hangs on a bend"));
    let [from, to] = bend.reach();
    let middle = 0.5 * (from + to);
    let start = bend.origin + bend.along * middle;
    [
        frames[bend.parent.index()].lift(start, depth),
        frames[behind.index()].lift(Point2::new(middle, 0.0), depth),
    ]
}
