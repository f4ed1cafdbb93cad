//! The metal of a folded part, ready to be asked how near things are.
//!
//! Invariant: its pieces are the part, the whole of it and nothing else. Must not know: neighbours.

use std::collections::BTreeMap;

use crate::fold::{FoldFractions, FoldTree, Form, FormFace, around_forms};
use crate::geom::{Box3, BoxTree, Region};
use crate::ident::{FormId, PanelId};
use crate::solid::{MeshFault, Zone};

use super::cell::{Cell, Shell};
use super::plan::{as_box, plans};

/// The metal of a folded part.
#[derive(Clone, Debug)]
pub struct Metal<'a> {
    pub(super) cells: Vec<(Cell<'a>, Shell)>,
    pub(super) tree: BoxTree,
}

impl<'a> Metal<'a> {
    /// The metal of the tree's part at these fold fractions.
    ///
    /// # Errors
    /// [`MeshFault`] if contours of a panel touch each other.
    pub fn new(tree: &'a FoldTree, fractions: &FoldFractions) -> Result<Self, MeshFault> {
        Self::of(tree, fractions, |_| true)
    }

    /// The metal of one panel, of the bend that it hangs on, and of its bumps.
    ///
    /// # Errors
    /// As [`Metal::new`].
    pub fn of_panel(
        tree: &'a FoldTree,
        fractions: &FoldFractions,
        panel: PanelId,
    ) -> Result<Self, MeshFault> {
        Self::of(tree, fractions, |behind| behind == panel)
    }

    fn of(
        tree: &'a FoldTree,
        fractions: &FoldFractions,
        counts: impl Fn(PanelId) -> bool,
    ) -> Result<Self, MeshFault> {
        let frames = tree.placements(fractions);
        let thickness = tree.thickness();
        let mut cells: Vec<(Cell<'a>, Shell)> = Vec::new();
        let shelled = |cell: Cell<'a>| {
            let shell = cell.shell();
            (cell, shell)
        };
        let touching = |id| MeshFault::ContoursTouch { panel: tree.panel(id).name.clone() };
        for panel in tree.panels().iter().filter(|panel| counts(panel.id)) {
            let own: Vec<&Form> = tree.forms().iter().filter(|form| form.panel == panel.id).collect();
            let flat = around_forms(&panel.region, &own);
            let found = plans_of(&flat).ok_or_else(|| touching(panel.id))?;
            let frame = frames[panel.id.index()];
            let piece = |plan| shelled(Cell::flat(Zone::Panel(panel.id), frame, plan, [-thickness, 0.0]));
            cells.extend(found.into_iter().map(piece));
        }
        for bend in tree.bends().iter().filter(|bend| counts(bend.child)) {
            let map = tree.strip_map(bend, &frames, fractions);
            let zone = Zone::Bend(bend.id);
            if map.angle() == 0.0 {
                let found = plans_of(&bend.region).ok_or_else(|| touching(bend.child))?;
                let piece = |plan| shelled(Cell::flat(zone, map.start(), plan, [-thickness, 0.0]));
                cells.extend(found.into_iter().map(piece));
            } else if let Some(sides) = as_box(&bend.region) {
                cells.extend(Cell::sectors(zone, map, sides, thickness).map(shelled));
            } else {
                let found = plans_of(&bend.region).ok_or_else(|| touching(bend.child))?;
                let rolled = found.into_iter().flat_map(|plan| Cell::rolled(zone, map, plan, thickness));
                cells.extend(rolled.map(shelled));
            }
        }
        for (index, form) in tree.forms().iter().enumerate().filter(|(_, form)| counts(form.panel)) {
            let zone = Zone::Form(FormId::new(index));
            let frame = frames[form.panel.index()];
            let top = form.top_region(&tree.panel(form.panel).region);
            let found = plans_of(&top).ok_or_else(|| touching(form.panel))?;
            let [a, b] = FormFace::BOTH.map(|face| form.top_depth(face));
            let heights = [a.min(b), a.max(b)];
            cells.extend(found.into_iter().map(|plan| shelled(Cell::flat(zone, frame, plan, heights))));
            let (raised, hollow): (Vec<_>, Vec<_>) =
                form.patches().partition(|patch| patch.face == FormFace::Raised);
            for faces in raised.into_iter().zip(hollow) {
                let foot = form.foot().segments()[faces.0.piece];
                cells.extend(Cell::walls(zone, frame, [faces.0, faces.1], foot).into_iter().map(shelled));
            }
        }
        Ok(Self::of_cells(cells))
    }

    fn of_cells(cells: Vec<(Cell<'a>, Shell)>) -> Self {
        let boxes: Vec<Box3> = cells.iter().map(|(_, shell)| shell.extent()).collect();
        Self { cells, tree: BoxTree::new(&boxes) }
    }

    /// The same metal zone by zone.
    pub(super) fn by_zone(self) -> Vec<(Zone, Self)> {
        let mut zones: BTreeMap<Zone, Vec<(Cell<'a>, Shell)>> = BTreeMap::new();
        for piece in self.cells {
            zones.entry(piece.0.zone).or_default().push(piece);
        }
        zones.into_iter().map(|(zone, cells)| (zone, Self::of_cells(cells))).collect()
    }

    /// The box around it; none if there is no metal.
    #[must_use]
    pub fn extent(&self) -> Option<Box3> {
        self.tree.root().map(|root| self.tree.branch(root).0)
    }
}

fn plans_of(region: &Region) -> Option<Vec<super::plan::Plan>> {
    if region.is_empty() { Some(Vec::new()) } else { plans(region) }
}
