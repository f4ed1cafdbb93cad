//! Joins strips and panels along their creases once everything is cut.
//!
//! Cuts are made zone by zone, so that the ends of a crease agree to rounding only. Here each end gets one
//! place along the bend, and the vertices are set to it.
//! Invariant: afterwards a strip's crease pieces lie at exactly `y = 0` and `y = allowance`, a child's at
//! exactly `y = 0` with the strip's x, and every [`CreaseSpan`] names vertices of both zones.

use crate::diag::{Diagnostic, Origin};
use crate::geom::{Contour, Point2, Region, Segment, Tag};
use crate::ident::PanelId;
use crate::quantity::tolerance;

use super::tree::{Bend, Panel};
use super::{CreaseSpan, EdgeLabel, FoldFault, Labels};

/// Joins all bends of a part; a fault is told of the panel behind its bend.
pub(super) fn join(
    panels: &mut [Panel],
    bends: &mut [Bend],
    labels: &mut Labels,
    origin: &dyn Fn(PanelId) -> Origin,
) -> Result<(), Diagnostic> {
    for bend in bends.iter_mut() {
        let tags = [labels.tag(EdgeLabel::CreaseStart(bend.id)), labels.tag(EdgeLabel::CreaseEnd(bend.id))];
        let levels = [0.0, bend.allowance()];
        for (tag, level) in tags.into_iter().zip(levels) {
            let moves = ends_of(&bend.region, tag).map(|p| (p, Point2::new(p.x, level))).collect::<Vec<_>>();
            bend.region = with_vertices(&bend.region, &moves);
        }
    }
    // A bend that follows another one directly begins where that one ends.
    for index in 0..bends.len() {
        let (before, from) = bends.split_at_mut(index);
        let bend = &mut from[0];
        let parent = &panels[bend.parent.index()];
        let Some(first) = parent.bend.filter(|_| parent.region.is_empty()) else { continue };
        let first = &before[first.index()];
        let end = labels.tag(EdgeLabel::CreaseEnd(first.id));
        let start = labels.tag(EdgeLabel::CreaseStart(bend.id));
        let places: Vec<f64> = ends_of(&first.region, end).map(|p| p.x).collect();
        let moves: Vec<(Point2, Point2)> = ends_of(&bend.region, start)
            .filter_map(|p| Some((p, Point2::new(nearest(&places, p.x)?, 0.0))))
            .collect();
        bend.region = with_vertices(&bend.region, &moves);
    }
    for bend in bends {
        let (start, end) =
            (labels.tag(EdgeLabel::CreaseStart(bend.id)), labels.tag(EdgeLabel::CreaseEnd(bend.id)));
        let grazed = FoldFault::CutGrazesBend { bend: panels[bend.child.index()].name.clone() };
        let fault = || grazed.diagnose(origin(bend.child));
        let child_places: Vec<f64> = ends_of(&bend.region, end).map(|p| p.x).collect();
        let child_moves: Vec<(Point2, Point2)> = ends_of(&panels[bend.child.index()].region, end)
            .filter_map(|p| Some((p, Point2::new(nearest(&child_places, p.x)?, 0.0))))
            .collect();
        let child = &mut panels[bend.child.index()].region;
        *child = with_vertices(child, &child_moves);
        let along = |x: f64| Point2::new(x, 0.0);
        bend.end = spans(&bend.region, end, &panels[bend.child.index()].region, along).ok_or_else(fault)?;
        let (origin, direction) = (bend.origin, bend.along);
        let on_parent = |x: f64| origin + direction * x;
        bend.start =
            spans(&bend.region, start, &panels[bend.parent.index()].region, on_parent).ok_or_else(fault)?;
    }
    Ok(())
}

/// Ends of the pieces with this tag.
pub(super) fn ends_of(region: &Region, tag: Tag) -> impl Iterator<Item = Point2> {
    tagged(region, tag).flat_map(|s| [s.start, s.end])
}

/// The pieces with this tag.
pub(super) fn tagged(region: &Region, tag: Tag) -> impl Iterator<Item = &Segment> {
    region.contours().iter().flat_map(Contour::segments).filter(move |s| s.tag == tag)
}

/// The place next to `x`, if it is one with it.
pub(super) fn nearest(places: &[f64], x: f64) -> Option<f64> {
    let near = places.iter().copied().min_by(|a, b| (a - x).abs().total_cmp(&(b - x).abs()))?;
    ((near - x).abs() <= JOINT_MM).then_some(near)
}

/// Two cuts of one crease end at most this far apart in mm: each was made within the snap tolerance.
pub(super) const JOINT_MM: f64 = 10.0 * tolerance::SNAP_MM;

/// The spans of a crease: the strip's pieces from left to right, each with the panel's piece. None if they
/// are not the same ones. A panel without region has any vertex.
fn spans(
    strip: &Region,
    tag: Tag,
    panel: &Region,
    on_panel: impl Fn(f64) -> Point2,
) -> Option<Vec<CreaseSpan>> {
    let mut spans = Vec::new();
    for piece in tagged(strip, tag) {
        let (from, to) = (piece.start.x.min(piece.end.x), piece.start.x.max(piece.end.x));
        let (from_point, to_point) = if panel.is_empty() {
            (on_panel(from), on_panel(to))
        } else {
            // A panel's outline runs along its crease from right to left at a bend's start, and the other
            // way round at its end.
            let (a, b) = (on_panel(from), on_panel(to));
            tagged(panel, tag).find_map(|s| {
                [(s.start, s.end), (s.end, s.start)]
                    .into_iter()
                    .find(|(p, q)| p.distance(a) <= JOINT_MM && q.distance(b) <= JOINT_MM)
            })?
        };
        spans.push(CreaseSpan { from, to, from_point, to_point });
    }
    let same_count = panel.is_empty() || tagged(panel, tag).count() == spans.len();
    spans.sort_by(|a, b| a.from.total_cmp(&b.from));
    same_count.then_some(spans)
}

/// The region with some vertices set elsewhere, within the joint's tolerance.
pub(super) fn with_vertices(region: &Region, moves: &[(Point2, Point2)]) -> Region {
    let set = |p: Point2| moves.iter().find(|(old, _)| *old == p).map_or(p, |(_, new)| *new);
    let contour = |c: &Contour| {
        // A panel can have thousands of openings, of which none is moved.
        if c.segments().iter().all(|s| set(s.start) == s.start) {
            return c.clone();
        }
        let pieces = c.segments().iter().flat_map(|s| s.with_ends(set(s.start), set(s.end)));
        Contour::new(pieces.collect()).unwrap_or_else(|_| c.clone())
    };
    if moves.is_empty() {
        return region.clone();
    }
    Region::from_oriented(region.contours().iter().map(contour).collect())
}
