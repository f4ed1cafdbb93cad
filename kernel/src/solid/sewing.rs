//! Sews the zones of a fold tree into one boundary.
//!
//! Every vertex of a zone's contour is a *post*: one vertex on the inner face, one on the outer face. Two
//! zones that meet at a crease share its posts and its two edges, so that nothing has to be matched by
//! distance. Invariant: a post and a crease are found again by bit-equal points only. A bend without radius
//! has no face on its inside: what lies over each other there is one edge.

use crate::fold::{Bend, EdgeLabel, FoldFractions, FoldTree, StripMap};
use crate::geom::{Contour, Curve, Nesting, Placement, Point2, Region, Segment, Tag, Vec3, nesting};
use crate::history::feature::FoldSide;
use crate::ident::{BendId, EdgeId, PanelId, VertexId};
use crate::quantity::{maths, tolerance};

use super::Zone;
use super::brep::{Brep, CircleArc, Curve3, Edge, Face, FacePart, RolledCurve, Sense, Surface3, Use};
use super::strip::{CreaseSpan, Strip};

/// The exact boundary of the part at these fold fractions.
///
/// # Panics
/// If the tree breaks its own promise that panel and bend share the vertices of their creases.
#[must_use]
pub fn brep(tree: &FoldTree, fractions: &FoldFractions) -> Brep {
    let frames = tree.placements(fractions);
    let mut sewing = Sewing {
        tree,
        depths: [0.0, -tree.thickness()],
        brep: Brep::default(),
        posts: Vec::new(),
        known: vec![Vec::new(); tree.panels().len()],
        creases: vec![Vec::new(); tree.panels().len()],
        frames,
    };
    let strips: Vec<Strip> = tree.bends().iter().map(|bend| Strip::of(tree, bend)).collect();
    let maps: Vec<StripMap> =
        tree.bends().iter().map(|bend| tree.strip_map(bend, &sewing.frames, fractions)).collect();
    let rings: Vec<Vec<Vec<PostId>>> =
        tree.bends().iter().zip(&strips).zip(&maps).map(|((bend, strip), map)| sewing.strip_posts(bend, strip, map)).collect();
    for ((bend, strip), (map, rings)) in tree.bends().iter().zip(&strips).zip(maps.iter().zip(&rings)) {
        for side in 0..2 {
            if map.angle() > 0.0 && map.radius(sewing.depths[side]) <= tolerance::SNAP_MM {
                super::collapse::close(&mut sewing, bend, strip, map, rings, side);
            }
        }
    }
    for panel in tree.panels() {
        let rings = sewing.panel_posts(panel.id, &panel.region);
        sewing.zone(Zone::Panel(panel.id), &panel.region, &rings, Lie::Flat(sewing.frames[panel.id.index()]));
    }
    for ((bend, strip), (map, rings)) in tree.bends().iter().zip(&strips).zip(maps.iter().zip(&rings)) {
        let lie = if map.angle() > 0.0 { Lie::Rolled(*map) } else { Lie::Flat(map.start()) };
        sewing.zone(Zone::Bend(bend.id), &strip.region, rings, lie);
    }
    sewing.brep
}
