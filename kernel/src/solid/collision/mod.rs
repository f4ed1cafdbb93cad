//! Zones of the folded part that reach into each other.
//!
//! Two bodies overlap if an edge of one passes through the inside of the other, or one lies wholly in the
//! other; round faces may also meet in a lens that no edge reaches. So straight wires along the edges of every
//! zone, in a net over the faces of bumps, and along bends that may meet bends, are held against the true shape
//! of every zone near by: a plate between two planes, a piece of tube, or the shell of a bump. Zones that
//! coincide, or whose edges lie in each other's faces, have no such edge; wires half-way through the sheet find
//! them. Derivation: `docs/math/formed-bump.md`.
//!
//! Invariant: zones that share sheet are never compared; what is less than half of [`tolerance::COLLISION_MM`]
//! deep is no collision, and a lens of three times that depth is one; openings of a zone are looked at only where
//! another zone is near. A bump lies over its panel, whose own sheet is absent within its foot.
//! Must not know: what is to be done about it.
//!
//! [`tolerance::COLLISION_MM`]: crate::quantity::tolerance::COLLISION_MM

mod body;
mod box3;
mod lie;
mod sheet;
mod shell;

use std::borrow::Cow;

use crate::fold::{FoldFractions, FoldTree, Form, around_forms};
use crate::geom::{Region, Vec3};
use crate::ident::{BendId, FormId, PanelId};

use super::Zone;
use body::Body;
use lie::Lie;
use sheet::Sheet;
use shell::Shell;

/// Two zones that need the same place.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Collision {
    /// The zones, panels before bends before forms.
    pub zones: [Zone; 2],
    /// A point inside both, in mm.
    pub at: Vec3<f64>,
    /// How far `at` lies inside one of them, in mm; elsewhere they may overlap more.
    pub depth: f64,
}

/// All pairs of zones that reach into each other at these fold fractions, in the order of their ids.
#[must_use]
pub fn collisions(tree: &FoldTree, fractions: &FoldFractions) -> Vec<Collision> {
    let frames = tree.placements(fractions);
    let thickness = tree.thickness();
    let flats: Vec<Cow<'_, Region>> = tree
        .panels()
        .iter()
        .map(|panel| {
            let own: Vec<&Form> = tree.forms().iter().filter(|form| form.panel == panel.id).collect();
            around_forms(&panel.region, &own)
        })
        .collect();
    let panels = tree.panels().iter().zip(&flats).map(|(panel, flat)| {
        let lie = Lie::Flat(frames[panel.id.index()]);
        (Zone::Panel(panel.id), Sheet::new(flat, lie, thickness))
    });
    let bends = tree.bends().iter().map(|bend| {
        let map = tree.strip_map(bend, &frames, fractions);
        let lie = if map.angle() > 0.0 { Lie::Rolled(map) } else { Lie::Flat(map.start()) };
        (Zone::Bend(bend.id), Sheet::new(&bend.region, lie, thickness))
    });
    let sheets = panels.chain(bends).filter(|(_, sheet)| !sheet.is_empty());
    let forms = tree.forms().iter().enumerate().map(|(index, form)| {
        let panel = &tree.panel(form.panel).region;
        let shell = Shell::new(form, panel, frames[form.panel.index()]);
        Body::shell(Zone::Form(FormId::new(index)), shell)
    });
    let bodies: Vec<Body<'_>> = sheets.map(|(zone, sheet)| Body::sheet(zone, sheet)).chain(forms).collect();
    let mut found = Vec::new();
    for (index, a) in bodies.iter().enumerate() {
        for b in &bodies[index + 1..] {
            if a.is_near(b) && !share_sheet(tree, a.zone(), b.zone()) {
                found.extend(a.collision(b));
            }
        }
    }
    found
}

/// Whether sheet goes on from one zone to the other, or they stand beside each other on one flat.
fn share_sheet(tree: &FoldTree, a: Zone, b: Zone) -> bool {
    let beside = |bend: BendId, panel: PanelId| {
        let bend = tree.bend(bend);
        bend.parent == panel || bend.child == panel
    };
    let under = |form: FormId| tree.forms()[form.index()].panel;
    match (a, b) {
        // A bend keeps off the foot of a bump beside it, but may come back over it.
        (Zone::Panel(_), Zone::Panel(_))
        | (Zone::Bend(_), Zone::Form(_))
        | (Zone::Form(_), Zone::Bend(_)) => false,
        (Zone::Panel(panel), Zone::Bend(bend)) | (Zone::Bend(bend), Zone::Panel(panel)) => {
            beside(bend, panel)
        }
        // Over a panel with nothing between its bends, two bends meet directly.
        (Zone::Bend(a), Zone::Bend(b)) => {
            let bare = |panel: PanelId| tree.panel(panel).region.is_empty();
            [tree.bend(a).parent, tree.bend(a).child].into_iter().any(|p| bare(p) && beside(b, p))
        }
        (Zone::Panel(panel), Zone::Form(form)) | (Zone::Form(form), Zone::Panel(panel)) => {
            panel == under(form)
        }
        // A bump lies over its foot, and the feet on one panel lie apart.
        (Zone::Form(a), Zone::Form(b)) => under(a) == under(b),
    }
}

#[cfg(test)]
mod tests;
