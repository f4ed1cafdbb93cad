//! How far sheet goes on from a bend, across it.
//!
//! Job: depth of the panel on either side of a bend, and what stands at its far end. Invariant: depths count from
//! the line where the bend starts or ends; only outlines count, not holes. Must not know: any limit.

use crate::fold::{Bend, EdgeLabel, FoldTree};
use crate::geom::{Curve, Motion2, Point2, Segment, Vec2};
use crate::ident::{BendId, PanelId};
use crate::quantity::tolerance;

/// How far a panel goes on from a bend.
#[derive(Clone, Copy, Debug)]
pub(super) struct Reached {
    /// The panel.
    pub(super) panel: PanelId,
    /// In mm.
    pub(super) depth: f64,
    /// The bend at the far end, if the panel ends in one that runs along this one.
    pub(super) ends_in: Option<BendId>,
}

/// The panel before and the panel behind a bend; none for one without a flat.
pub(super) fn both_sides(tree: &FoldTree, bend: &Bend) -> [Option<Reached>; 2] {
    // Seen from the bend: x along it, y away from it.
    let before = Motion2 { x_axis: Vec2::new(-bend.along.x, -bend.along.y), origin: bend.origin }.inverse();
    let mirrored = bend.reach().map(|x| -x);
    let behind = Motion2 { x_axis: Vec2::new(1.0, 0.0), origin: Point2::ORIGIN };
    [
        reached(tree, bend.id, bend.parent, before, [mirrored[1], mirrored[0]]),
        reached(tree, bend.id, bend.child, behind, bend.reach()),
    ]
}

fn reached(
    tree: &FoldTree,
    from: BendId,
    panel: PanelId,
    seen: Motion2,
    [low, high]: [f64; 2],
) -> Option<Reached> {
    let mut found: Option<Reached> = None;
    for piece in tree.panel(panel).region.outers().flat_map(|c| c.segments()) {
        let Some(depth) = depth_within(piece.moved(seen), low, high) else { continue };
        if found.is_some_and(|known| depth < known.depth - tolerance::SNAP_MM) {
            continue;
        }
        let crease = match tree.label(piece) {
            EdgeLabel::CreaseStart(bend) | EdgeLabel::CreaseEnd(bend) if *bend != from => Some(*bend),
            EdgeLabel::CreaseStart(_)
            | EdgeLabel::CreaseEnd(_)
            | EdgeLabel::Edge(_)
            | EdgeLabel::StripEnd(_)
            | EdgeLabel::Relief(_)
            | EdgeLabel::Opening(_)
            | EdgeLabel::CornerBreak(_) => None,
        };
        let along = seen.vector(piece.start_direction()).y.abs() <= tolerance::PARALLEL;
        let ends_in = crease.filter(|_| along);
        // Of pieces equally far, one that is a crease says more.
        let farther = found.is_none_or(|known| depth > known.depth + tolerance::SNAP_MM);
        if farther || ends_in.is_some() {
            found = Some(Reached { panel, depth, ends_in });
        }
    }
    found.filter(|reached| reached.depth > tolerance::SNAP_MM)
}

/// Greatest y of a piece between two x; none beside them. Of an arc that reaches beyond, its whole box counts.
fn depth_within(piece: Segment, low: f64, high: f64) -> Option<f64> {
    let bounds = piece.bounding_box();
    if bounds.max.x < low + tolerance::SNAP_MM || bounds.min.x > high - tolerance::SNAP_MM {
        return None;
    }
    match piece.curve {
        Curve::Line => {
            let (a, b) = (piece.start, piece.end);
            let at = |x: f64| {
                let share = if b.x == a.x { 0.0 } else { (x.clamp(low, high) - a.x) / (b.x - a.x) };
                a.y + share * (b.y - a.y)
            };
            Some(if b.x == a.x { bounds.max.y } else { at(a.x).max(at(b.x)) })
        }
        Curve::Arc { .. } => Some(bounds.max.y),
    }
}
