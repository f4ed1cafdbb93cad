//! Whether a flange is as wide as a dimension says that it is.
//!
//! A width is measured between drawn edges; where a flange shares a corner with a neighbour, its side is
//! moved, and the dimension would hold a size that the part does not have.
//! Invariant: only reads the finished tree. The base panel's widths are those of its drawing.

use crate::diag::Diagnostic;
use crate::dimension::{Pose, Skeleton};
use crate::geom::{Point2, Segment};
use crate::history::{DimensionKind, EdgeName, History};
use crate::quantity::tolerance;

use super::{EdgeLabel, FoldFault, FoldTree};

/// A finding for every width between the sides of a flange that the part does not have.
pub(super) fn faults(
    history: &History,
    skeleton: &Skeleton<'_>,
    pose: &Pose<f64>,
    tree: &FoldTree,
) -> Vec<Diagnostic> {
    let mut findings = Vec::new();
    for entry in &history.dimensions {
        let DimensionKind::PanelWidth { a, b } = &entry.kind else { continue };
        let Some(panel) = tree.panels().iter().find(|p| p.name == a.panel && p.bend.is_some()) else {
            continue;
        };
        let side = |edge: &EdgeName| {
            let pieces = panel.region.contours().iter().flat_map(|c| c.segments());
            pieces.copied().find(|s| matches!(tree.label(s), EdgeLabel::Edge(e) if e == edge))
        };
        let (Some(made_a), Some(made_b)) = (side(a), side(b)) else { continue };
        let drawn = |edge: &EdgeName| {
            let index = skeleton.panels()[panel.id.index()].edge_index(&edge.role)?;
            let drawn = pose.panel(panel.id).edge(index);
            let point = |[x, y]: [f64; 2]| Point2::new(x, y);
            Some(Segment::line(point(drawn.start), point(drawn.end), made_a.tag))
        };
        let (Some(drawn_a), Some(drawn_b)) = (drawn(a), drawn(b)) else { continue };
        let (made, drawn) = (between(made_a, made_b), between(drawn_a, drawn_b));
        if (made - drawn).abs() > tolerance::HELD_MM {
            let fault = FoldFault::WidthNotAsMade { a: a.clone(), b: b.clone(), drawn, made };
            findings.push(fault.diagnose(entry.origin()));
        }
    }
    findings
}

/// Distance of the middle of `b` from the line of `a`.
fn between(a: Segment, b: Segment) -> f64 {
    a.start_direction().cross(b.start.midpoint(b.end) - a.start).abs()
}
