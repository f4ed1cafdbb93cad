//! Gaps between panels of the folded part: those of seams, and of flanges that meet at a corner.
//!
//! Invariant: a gap is the smallest distance of the two flat sheets as they were drawn in the end, whatever was
//! asked for. Must not know: how it spreads.

use crate::dimension::{MaterialPair, Skeleton, Source};
use crate::history::feature::{Flange, Neighbour, Seam};
use crate::history::{EdgeName, PanelName};
use crate::ident::PanelId;
use crate::quantity::tolerance;

use super::FoldTree;
use super::map::FoldFractions;
use super::nearest::nearest;

/// A gap between two panels.
#[derive(Clone, Debug)]
pub struct Gap {
    /// Name of the seam; none for a corner that no seam was asked for.
    pub seam: Option<String>,
    /// The panels.
    pub between: [PanelName; 2],
    /// What was asked for, in mm.
    pub asked: f64,
    /// Smallest distance of the flat sheets, in mm.
    pub got: f64,
    /// The places of the two panels where they are that near.
    pub pairs: Vec<MaterialPair>,
}

/// Gaps of all seams that ask for one, in their order, then those of corners, in the order of the panels. Panels
/// that touch have none.
#[must_use]
pub fn gaps(tree: &FoldTree, skeleton: &Skeleton<'_>, free: &[f64]) -> Vec<Gap> {
    let frames = tree.placements(&FoldFractions::all(tree, 1.0));
    let name = |panel: PanelId| skeleton.panels()[panel.index()].name.clone();
    let gap = |seam: Option<&str>, panels: [PanelId; 2], asked: f64| {
        let found = nearest(tree, skeleton, &frames, panels)?;
        let between = panels.map(name);
        Some(Gap { seam: seam.map(str::to_owned), between, asked, got: found.distance, pairs: found.pairs })
    };
    let mut found: Vec<Gap> = Vec::new();
    let mut seamed: Vec<[PanelId; 2]> = Vec::new();
    for seam in skeleton.seams() {
        let (Some(panels), Some(asked)) = (panels_of(skeleton, seam.seam), seam.seam.gap()) else { continue };
        seamed.push(panels);
        found.extend(gap(Some(seam.name), panels, asked.evaluate(free)));
    }
    for (panels, asked) in corners(skeleton, free) {
        let [a, b] = panels;
        if seamed.contains(&[a, b]) || seamed.contains(&[b, a]) {
            continue;
        }
        // Flanges that end well before the corner do not meet there.
        let meets = |gap: &Gap| gap.got <= asked + tolerance::LEAST_GAP_MM;
        found.extend(gap(None, panels, asked).filter(meets));
    }
    found
}

fn panels_of(skeleton: &Skeleton<'_>, seam: &Seam) -> Option<[PanelId; 2]> {
    let of_edge = |edge: &EdgeName| skeleton.edge(edge).ok().map(|(panel, _)| panel);
    let two = match seam {
        Seam::Meet { a, b, .. } | Seam::Lap { cover: a, under: b, .. } => [of_edge(a)?, of_edge(b)?],
        Seam::Close { edge, to: Neighbour::Panel(panel), .. } => [of_edge(edge)?, skeleton.find(panel).ok()?],
        Seam::Close { edge, to: Neighbour::Edge(other), .. } => [of_edge(edge)?, of_edge(other)?],
        Seam::Flush { .. } => return None,
    };
    Some(two)
}

/// Flanges on two edges of a panel that follow each other, with the larger of their corner gaps in mm.
fn corners(skeleton: &Skeleton<'_>, free: &[f64]) -> Vec<([PanelId; 2], f64)> {
    let flange_on = |parent: PanelId, edge: usize| -> Option<(PanelId, &Flange)> {
        skeleton.panels().iter().enumerate().find_map(|(index, panel)| match panel.source {
            Source::Flange { flange, parent: on, edge: at, .. } if (on, at) == (parent, edge) => {
                Some((PanelId::new(index), flange))
            }
            Source::Flange { .. } | Source::Base(_) | Source::Piece { .. } => None,
        })
    };
    let mut found = Vec::new();
    for index in 0..skeleton.panels().len() {
        let parent = PanelId::new(index);
        let count = skeleton.panels()[skeleton.root(parent).index()].edge_roles().len();
        for edge in 0..count {
            let next = (edge + 1) % count;
            let (Some((a, one)), Some((b, other))) = (flange_on(parent, edge), flange_on(parent, next))
            else {
                continue;
            };
            if one.side != other.side {
                continue;
            }
            let [one, other] = [one, other].map(|flange| flange.corner_gap.evaluate(free));
            found.push(([a, b], one.max(other)));
        }
    }
    found
}
