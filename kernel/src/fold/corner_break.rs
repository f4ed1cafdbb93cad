//! Corners rounded or chamfered on flat panels.
//!
//! Invariant: only convex corners between two named edges are broken; corners at creases, reliefs and
//! openings stay.

use crate::dimension::Skeleton;
use crate::geom::{Contour, Region, chamfer_corner, round_corner};
use crate::history::EdgeName;
use crate::history::feature::{BreakShape, CornerBreak, CornerName, Corners};
use crate::ident::FeatureId;
use crate::quantity::tolerance;

use super::tree::Panel;
use super::{EdgeLabel, FoldFault, Labels};

/// Breaks the corners of one feature.
pub(super) fn apply(
    panels: &mut [Panel],
    labels: &mut Labels,
    skeleton: &Skeleton<'_>,
    free: &[f64],
    feature: FeatureId,
    corners: &CornerBreak,
) -> Result<(), FoldFault> {
    let size = match &corners.shape {
        BreakShape::Round(size) | BreakShape::Chamfer(size) => size.evaluate(free),
    };
    if !(size > tolerance::SNAP_MM && size.is_finite()) {
        return Err(FoldFault::BreakSize { got: size });
    }
    let chosen: Vec<CornerName> = match &corners.corners {
        Corners::Named(names) => names.clone(),
        Corners::AllOuter => {
            panels.iter().filter(|p| p.feature < feature).flat_map(|p| free_corners(p, labels)).collect()
        }
    };
    let tag = labels.tag(EdgeLabel::CornerBreak(feature));
    for name in chosen {
        let id = skeleton
            .find(&name.panel)
            .map_err(|_| FoldFault::NoSuchCorner { corner: name.clone(), free: Vec::new() })?;
        let panel = &mut panels[skeleton.root(id).index()];
        // Two edges can meet at two corners; a broken one has the two edges no longer side by side.
        let mut found = find(panel, labels, &name);
        if found.is_none() {
            let free = free_corners(panel, labels).iter().map(ToString::to_string).collect();
            return Err(FoldFault::NoSuchCorner { corner: name, free });
        }
        while let Some((contour_index, at)) = found {
            let contour = &panel.region.contours()[contour_index];
            let broken = match corners.shape {
                BreakShape::Round(_) => round_corner(contour, at, size, tag),
                BreakShape::Chamfer(_) => chamfer_corner(contour, at, size, tag),
            }
            .map_err(|problem| FoldFault::Break { corner: name.clone(), problem })?;
            let mut contours = panel.region.contours().to_vec();
            contours[contour_index] = broken;
            panel.region = Region::from_oriented(contours);
            found = find(panel, labels, &name);
        }
    }
    Ok(())
}

/// Contour and index of the piece that ends in the corner.
fn find(panel: &Panel, labels: &Labels, name: &CornerName) -> Option<(usize, usize)> {
    panel.region.contours().iter().enumerate().find_map(|(c, contour)| {
        (0..contour.segments().len())
            .find(|&i| {
                corner_at(contour, i, labels).is_some_and(|(a, b)| {
                    let [x, y] = &name.between;
                    (a.role == *x && b.role == *y) || (a.role == *y && b.role == *x)
                })
            })
            .map(|i| (c, i))
    })
}

fn free_corners(panel: &Panel, labels: &Labels) -> Vec<CornerName> {
    panel
        .region
        .contours()
        .iter()
        .flat_map(|contour| {
            (0..contour.segments().len()).filter_map(|i| {
                let (a, b) = corner_at(contour, i, labels)?;
                Some(CornerName { panel: panel.name.clone(), between: [a.role.clone(), b.role.clone()] })
            })
        })
        .collect()
}

/// The two named edges that meet where piece `index` ends, if the corner there is convex.
fn corner_at<'a>(
    contour: &Contour,
    index: usize,
    labels: &'a Labels,
) -> Option<(&'a EdgeName, &'a EdgeName)> {
    let pieces = contour.segments();
    let (before, after) = (&pieces[index], &pieces[(index + 1) % pieces.len()]);
    let convex = before.end_direction().cross(after.start_direction()) > tolerance::PARALLEL;
    match (labels.label(before.tag), labels.label(after.tag)) {
        (EdgeLabel::Edge(a), EdgeLabel::Edge(b)) if convex && a != b => Some((a, b)),
        _ => None,
    }
}
