//! What dimensions of the finished part are solved with: the size of the blank, and where it is near to neighbours.
//!
//! Job: read both off a part that was made. Invariant: a part is finished when what was known before it was made is
//! what is read off it. Must not know: how anything is solved.

use crate::dimension::{BlankSize, DimensionFault, Nearest, NearestPlace};
use crate::fold::{FoldFractions, FoldTree};
use crate::history::{DimensionKind, History};
use crate::ident::PanelId;
use crate::machine::Neighbour;
use crate::quantity::tolerance;
use crate::solid::{Metal, Obstacle, clearance};

use super::Made;

/// What is known of a finished part.
#[derive(Clone, Debug, Default)]
pub(super) struct Known {
    pub(super) blank: BlankSize,
    pub(super) nearest: Vec<Nearest>,
}

impl Known {
    /// What is read off a part.
    pub(super) fn of(made: &Made, history: &History, neighbours: &[Neighbour]) -> Self {
        let mut kinds: Vec<&DimensionKind> = Vec::new();
        for kind in history.dimensions.iter().flat_map(|entry| entry.kind.clearances()) {
            if !kinds.contains(&kind) {
                kinds.push(kind);
            }
        }
        let nearest = kinds.into_iter().map(|kind| nearest(&made.tree, kind, neighbours)).collect();
        Self { blank: made.beyond_corners(), nearest }
    }

    /// What a part, made with this and now read as `found`, is off by, if by more than is right.
    pub(super) fn off(&self, made: &Made, found: &Self) -> Option<DimensionFault> {
        let off = self.blank.change(found.blank);
        if off > tolerance::SNAP_MM {
            return Some(DimensionFault::BlankNotSettled { off });
        }
        let solved = self.nearest.iter().zip(&found.nearest);
        solved.into_iter().find_map(|(before, now)| {
            let [before_mm, now_mm] = [before, now].map(|nearest| nearest.distance(&made.settled.pose));
            let off = before_mm.zip(now_mm).map_or(0.0, |(before, now)| (before - now).abs());
            let (_, neighbour) = before.kind.between();
            (off > 0.5 * tolerance::HELD_MM).then_some(DimensionFault::ClearanceNotSettled { neighbour, off })
        })
    }
}

/// The nearest place of every panel that counts.
fn nearest(tree: &FoldTree, kind: &DimensionKind, neighbours: &[Neighbour]) -> Nearest {
    let (panel, neighbour) = match kind {
        DimensionKind::ClearOf { neighbour, panel } => (panel, neighbour),
        DimensionKind::Inside { .. }
        | DimensionKind::Outside { .. }
        | DimensionKind::Clear { .. }
        | DimensionKind::Overall { .. }
        | DimensionKind::OffCentre { .. }
        | DimensionKind::PanelWidth { .. }
        | DimensionKind::Angle { .. }
        | DimensionKind::BlankLength
        | DimensionKind::BlankWidth
        | DimensionKind::Difference(_)
        | DimensionKind::Ratio(_) => unreachable!("only smallest distances to neighbours are looked for"),
    };
    let fractions = FoldFractions::all(tree, 1.0);
    let frames = tree.placements(&fractions);
    let pieces = neighbours.iter().find(|known| known.name == *neighbour).map(|known| &known.pieces);
    let obstacle = Obstacle::new(pieces.map_or(&[], Vec::as_slice));
    let counts = |name| panel.as_ref().is_none_or(|panel| panel == name);
    let panels = tree.panels().iter().filter(|panel| counts(&panel.name));
    let place = |panel: PanelId| {
        let metal = Metal::of_panel(tree, &fractions, panel).ok()?;
        let found = clearance(&metal, &obstacle)?;
        let at = frames[panel.index()].coordinates(found.on_part);
        let (distance, direction) = (found.distance, found.direction);
        let depth = -at.z / tree.thickness();
        Some(NearestPlace { panel, at: [at.x, at.y], depth, from: found.on_part, distance, direction })
    };
    Nearest { kind: kind.clone(), places: panels.filter_map(|panel| place(panel.id)).collect() }
}
