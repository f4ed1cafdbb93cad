//! Points of the folded part as places of its metal, which move as the metal does.
//!
//! Invariant: nothing being off, a place lies at the point that it was found for. Must not know: by how much a shop
//! is off.

use crate::dimension::{MetalPlace, PressedPoint, RolledPoint, Skeleton};
use crate::fold::{Bend, FoldFractions, FoldTree, material_point};
use crate::geom::{Placement, Vec3};
use crate::history::feature::BumpSide;
use crate::ident::{BendId, FormId};
use crate::quantity::tolerance;
use crate::solid::Zone;

/// A folded part whose points are asked for.
#[derive(Clone, Copy)]
pub(super) struct Folded<'a, 'h> {
    pub(super) tree: &'a FoldTree,
    pub(super) skeleton: &'a Skeleton<'h>,
    pub(super) fractions: &'a FoldFractions,
    pub(super) frames: &'a [Placement<f64>],
}

impl Folded<'_, '_> {
    /// The place of a zone's metal at a point; `outwards` is the unit vector away from the metal there.
    pub(super) fn place(self, zone: Zone, at: Vec3<f64>, outwards: Vec3<f64>) -> MetalPlace {
        match zone {
            Zone::Panel(panel) => {
                MetalPlace::Flat(material_point(self.tree, self.skeleton, self.frames, panel, at))
            }
            Zone::Bend(bend) => self.rolled(bend, at),
            Zone::Form(form) => self.pressed(form, at, outwards),
        }
    }

    fn rolled(self, bend: BendId, at: Vec3<f64>) -> MetalPlace {
        let bend = self.tree.bend(bend);
        let map = self.tree.strip_map(bend, self.frames, self.fractions);
        let [along, across, depth] = map.coordinates(at);
        let depth = -depth / self.tree.thickness();
        let cuts = self.cuts_beside(bend, along);
        MetalPlace::Rolled(RolledPoint { panel: bend.child, along, across, depth, cuts })
    }

    /// The drawn sides of a flange end its bend, too. The first edge of its outline is the bend, from left to right.
    fn cuts_beside(self, bend: &Bend, along: f64) -> Vec<(usize, f64)> {
        let drawn = &self.skeleton.panels()[bend.child.index()];
        let last = drawn.edge_roles().len().saturating_sub(1);
        if self.skeleton.root(bend.child) != bend.child || last < 2 {
            return Vec::new();
        }
        let strip = bend.region.bounding_box();
        if (along - strip.min.x).abs() <= tolerance::CLEARANCE_MM {
            vec![(last, -1.0)]
        } else if (along - strip.max.x).abs() <= tolerance::CLEARANCE_MM {
            vec![(1, 1.0)]
        } else {
            Vec::new()
        }
    }

    /// The raised face keeps its height over that of the panel, and with it its place if that is the inner one; the
    /// hollow face is off by the thickness. On an upright wall the face is not told, and counts as the hollow one.
    fn pressed(self, form: FormId, at: Vec3<f64>, outwards: Vec3<f64>) -> MetalPlace {
        let form = &self.tree.forms()[form.index()];
        let frame = self.frames[form.panel.index()];
        let out = Vec3::new(outwards.dot(frame.x), outwards.dot(frame.y), outwards.dot(frame.n));
        let (raised_moves, raised_looks) = match form.side {
            BumpSide::In => (Vec3::new(0.0, 0.0, 0.0), out.z),
            BumpSide::Out => (Vec3::new(0.0, 0.0, -1.0), -out.z),
        };
        let is_raised = raised_looks > tolerance::PARALLEL;
        let by_thickness = if is_raised { raised_moves } else { raised_moves + out };
        MetalPlace::Pressed(PressedPoint { panel: form.panel, at: frame.coordinates(at), by_thickness })
    }
}
