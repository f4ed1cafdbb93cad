//! Openings that are cut: within a panel, and across bends.
//!
//! Invariant: equal openings of one feature in one panel are one entry with every place. Must not know: seams,
//! open sides.

use crate::fold::EdgeLabel;
use crate::geom::{Contour, Curve, Motion2, Placement, Point2, Segment, Vec2};
use crate::quantity::tolerance;

use super::rim::{Loop, Zone, own_frame, sampled, without_repeats};
use super::{Figure, Folded, Measures, Opening, OpeningKind, cut_name, rim};

/// Holes and cut-outs that close within one panel, in the order of the panels, equal ones together.
pub(super) fn in_panels(folded: &Folded<'_>) -> Vec<Opening> {
    let tree = folded.tree;
    let mut found = Vec::new();
    for panel in tree.panels() {
        let frame = folded.frames[panel.id.index()];
        let mut groups: Vec<(EdgeLabel, Contour, Vec<Placement<f64>>)> = Vec::new();
        let own = panel.region.holes().filter(|c| !c.segments().iter().any(|s| tree.label(s).is_crease()));
        for contour in own {
            let contour = contour.reversed();
            let label = tree.label(&contour.segments()[0]);
            let place = own_frame(&contour);
            let x = frame.direction(place.x_axis.x, place.x_axis.y, 0.0);
            let at = Placement { origin: frame.lift(place.origin, 0.0), x, y: frame.n.cross(x), n: frame.n };
            let alike = |(made_by, figure, _): &(EdgeLabel, Contour, Vec<Placement<f64>>)| {
                made_by == label && looks_like(&contour, place, figure)
            };
            match groups.iter_mut().rev().find(|group| alike(group)) {
                Some((_, _, frames)) => frames.push(at),
                None => groups.push((label.clone(), contour.moved(place.inverse()), vec![at])),
            }
        }
        found.extend(groups.into_iter().map(|(label, contour, frames)| {
            let word = if frames.len() == 1 { "hole" } else { "holes" };
            let (name, origin) = cut_name(tree, word, &label);
            let measures = Measures::of(&contour);
            let panels = vec![panel.name.clone()];
            let figure = Figure::Flat { contour, frames };
            Opening { name, kind: OpeningKind::Hole, panels, origin, figure, measures }
        }));
    }
    found
}

/// Whether a contour, seen from its own frame, is this figure within the snap tolerance.
fn looks_like(contour: &Contour, place: Motion2, figure: &Contour) -> bool {
    let (pieces, wanted) = (contour.segments(), figure.segments());
    let back = place.inverse();
    let near = |p: Point2, q: Point2| back.point(p).distance(q) <= tolerance::SNAP_MM;
    let same = |a: &Segment, b: &Segment| match (a.curve, b.curve) {
        (Curve::Line, Curve::Line) => true,
        (Curve::Arc { centre, turn, .. }, Curve::Arc { centre: other, turn: way, .. }) => {
            turn == way && near(centre, other)
        }
        (Curve::Line, Curve::Arc { .. }) | (Curve::Arc { .. }, Curve::Line) => false,
    };
    pieces.len() == wanted.len()
        && pieces.iter().zip(wanted).all(|(a, b)| near(a.start, b.start) && same(a, b))
}

/// An opening that passes bends. It is measured on the sheet laid flat with every bend as wide as its outer face:
/// no two places of the folded opening are farther apart than there, so that nothing passes that would not pass the
/// flat figure (`docs/math/guard-openings.md`).
pub(super) fn across_bends(folded: &Folded<'_>, cut: &Loop) -> Option<Opening> {
    let tree = folded.tree;
    let laid = outer_faces_flat(folded);
    let mut flat = Vec::new();
    let mut panels = Vec::new();
    for rim in &cut.pieces {
        let panel = match rim.zone {
            Zone::Panel(id) => id,
            Zone::Bend(id) => tree.bend(id).child,
        };
        let name = &tree.panel(panel).name;
        if !panels.contains(name) {
            panels.push(name.clone());
        }
        let (motion, stretch) = match rim.zone {
            Zone::Panel(id) => (laid[id.index()].0, 1.0),
            Zone::Bend(id) => laid[tree.bend(id).child.index()].1,
        };
        let points = sampled(&[rim.piece]);
        flat.extend(points.into_iter().map(|p| motion.point(Point2::new(p.x, p.y * stretch))));
    }
    flat.reverse();
    let measures = Measures::of(&without_repeats(flat.into_iter())?).widened(2.0 * rim::CHORD_MM);
    let mut points = folded.points(&cut.pieces, 0.0);
    points.reverse();
    let frame = rim::best_plane(&points)?;
    let (name, origin) = cut_name(tree, "opening across bends", tree.label(&cut.pieces[0].piece));
    let figure = Figure::Rim { points, frame };
    Some(Opening { name, kind: OpeningKind::AcrossBends, panels, origin, figure, measures })
}

/// For each panel its motion into the plane with every bend as wide as its outer face, and for the strip that it
/// hangs on the strip's motion with the factor across it.
fn outer_faces_flat(folded: &Folded<'_>) -> Vec<(Motion2, (Motion2, f64))> {
    let tree = folded.tree;
    let still = Motion2::IDENTITY;
    let mut motions: Vec<(Motion2, (Motion2, f64))> = Vec::new();
    for panel in tree.panels() {
        motions.push(match panel.bend {
            None => (still, (still, 1.0)),
            Some(id) => {
                let bend = tree.bend(id);
                let strip = bend.strip_motion(motions[bend.parent.index()].0);
                let width = (bend.turn() * (bend.inside_radius() + tree.thickness())).max(bend.allowance());
                let behind = Motion2 { x_axis: Vec2::new(1.0, 0.0), origin: Point2::new(0.0, width) };
                (strip.after(behind), (strip, width / bend.allowance()))
            }
        });
    }
    motions
}
