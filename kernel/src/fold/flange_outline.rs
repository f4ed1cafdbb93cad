//! Outlines that were drawn for flanges: looked at against the bend, and cut off where it ends.
//!
//! Invariant: the pieces run counter-clockwise from the base, which lies at y = 0 of the flange's frame
//! between the feet of the pose; everything else lies above it.

use std::collections::BTreeMap;

use crate::dimension::Source;
use crate::geom::{Motion2, Point2, Segment, Tag, Vec2};
use crate::history::Profile;
use crate::history::feature::Flange;
use crate::ident::{FeatureId, PanelId};
use crate::quantity::tolerance;

use super::FoldFault;
use super::corner_seam::FlangeSide;
use super::profile_shape::outline_pieces;
use super::seam_cuts::Posed;

/// The shape of a flange as it was drawn.
pub(super) struct DrawnFlange {
    /// Pieces in the flange's frame, each with the index of its edge; the base is the first one.
    pub(super) pieces: Vec<(usize, Segment)>,
    /// How far it stops short of the left and the right end of the edge that it stands on, in mm.
    pub(super) insets: [f64; 2],
}

impl DrawnFlange {
    /// The x at which the left or right edge comes out of the bend.
    pub(super) fn foot(&self, end: FlangeSide) -> f64 {
        let base = self.pieces[0].1;
        match end {
            FlangeSide::Left => base.start.x,
            FlangeSide::Right => base.end.x,
        }
    }

    /// The pieces, with feet that lie on the ends of the bend to within rounding put there.
    pub(super) fn standing_on(&self, ends: [f64; 2]) -> Vec<(usize, Segment)> {
        let [left, right] = [(FlangeSide::Left, ends[0]), (FlangeSide::Right, ends[1])].map(|(side, end)| {
            let foot = self.foot(side);
            Point2::new(if (foot - end).abs() <= tolerance::SNAP_MM { end } else { foot }, 0.0)
        });
        put_feet(self.pieces.clone(), left, right)
    }
}

fn put_feet(mut pieces: Vec<(usize, Segment)>, left: Point2, right: Point2) -> Vec<(usize, Segment)> {
    pieces[0].1 = Segment::line(left, right, Tag::default());
    pieces[1].1.start = right;
    let last = pieces.len() - 1;
    pieces[last].1.end = left;
    pieces
}

/// The drawn flanges of a part, by their panels.
///
/// # Errors
/// A fault for each one that cannot be drawn, with its feature.
pub(super) fn drawn_flanges(
    posed: Posed<'_, '_>,
) -> Result<BTreeMap<PanelId, DrawnFlange>, Vec<(FeatureId, FoldFault)>> {
    let mut found = BTreeMap::new();
    let mut faults = Vec::new();
    for (index, panel) in posed.skeleton.panels().iter().enumerate() {
        let Source::Flange { flange: Flange { outline: Some(outline), .. }, .. } = panel.source else {
            continue;
        };
        let id = PanelId::new(index);
        match drawn_flange(posed, id, outline) {
            Ok(drawn) => {
                found.insert(id, drawn);
            }
            Err(fault) => faults.push((panel.feature, fault)),
        }
    }
    if faults.is_empty() { Ok(found) } else { Err(faults) }
}

fn drawn_flange(posed: Posed<'_, '_>, id: PanelId, outline: &Profile) -> Result<DrawnFlange, FoldFault> {
    let panel = &posed.skeleton.panels()[id.index()];
    let (own, name) = (posed.pose.panel(id), || panel.name.clone());
    let role = |edge: usize| outline.edges[edge].name.clone();
    let mut pieces = outline_pieces(panel.name.as_str(), outline, posed.free)?;
    let base = pieces.iter().position(|(edge, _)| *edge == 0).expect("every edge gives a piece");
    pieces.rotate_left(base);
    let ends = [pieces[0].1.start.y, pieces[0].1.end.y];
    if ends.iter().any(|y| y.abs() > tolerance::SNAP_MM) {
        return Err(FoldFault::OutlineOffBend { panel: name(), edge: role(0), ends });
    }
    // From here on in the flange's frame, where the bend ends at y = 0.
    let level = -own.drawn_shift;
    let down = Motion2 { x_axis: Vec2::new(1.0, 0.0), origin: Point2::new(0.0, own.drawn_shift) };
    for (_, piece) in &mut pieces {
        *piece = piece.moved(down);
    }
    let in_bend = |edge: usize, lowest: f64| FoldFault::OutlineInBend {
        panel: name(),
        edge: role(edge),
        lowest: lowest + level,
        level,
    };
    let last = pieces.len() - 1;
    for (place, (edge, piece)) in pieces.iter().enumerate().skip(1) {
        let bounds = piece.bounding_box();
        let lowest = if bounds.min.y < -level - tolerance::SNAP_MM {
            bounds.min.y
        } else {
            // An edge beside the base comes up out of the bend; the others keep clear of it.
            match (place == 1, place == last) {
                (true, true) => bounds.max.y,
                (true, false) => piece.end.y,
                (false, true) => piece.start.y,
                (false, false) => bounds.min.y,
            }
        };
        if lowest <= tolerance::SNAP_MM {
            return Err(in_bend(*edge, lowest));
        }
    }
    let [left, right] = [own.corners[0], own.corners[1]].map(|[x, y]| Point2::new(x, y));
    let pieces = put_feet(pieces, left, right);
    for (edge, piece) in [pieces[1], pieces[last]] {
        let lowest = piece.bounding_box().min.y;
        if lowest < -tolerance::SNAP_MM {
            return Err(in_bend(edge, lowest));
        }
    }
    let bend = own.bend.as_ref().expect("a flange has a bend");
    let insets = [left.x, bend.edge_length - right.x];
    if insets.iter().any(|&inset| inset < -tolerance::SNAP_MM) {
        let Source::Flange { parent, edge, .. } = panel.source else {
            unreachable!("only flanges are looked at");
        };
        let parent = &posed.skeleton.panels()[posed.skeleton.root(parent).index()];
        return Err(FoldFault::WiderThanEdge {
            panel: name(),
            edge: parent.name.edge(parent.edge_roles()[edge]),
            feet: [left.x, right.x],
            edge_length: bend.edge_length,
        });
    }
    Ok(DrawnFlange { pieces, insets })
}
