//! One zone of the folded part as a body, and the deepest place at which two of them meet.
//!
//! Invariant: both bodies are asked for wires and for depths, so that the answer does not hang on which comes
//! first. Must not know: the fold tree, who is compared with whom.

use crate::geom::{Placement, Vec3};
use crate::quantity::tolerance;

use super::box3::Box3;
use super::sheet::{Sheet, SheetSide};
use super::shell::{Shell, ShellSide};
use super::{Collision, Zone};

/// A straight piece of an edge or along a face, in space.
pub(super) type Wire = [Vec3<f64>; 2];

/// A point inside a body, and how far.
#[derive(Clone, Copy, Debug)]
pub(super) struct Inside {
    pub(super) at: Vec3<f64>,
    pub(super) depth: f64,
}

enum Metal<'a> {
    Sheet(Sheet<'a>),
    Shell(Shell<'a>),
}

/// One zone of the folded part.
pub(super) struct Body<'a> {
    zone: Zone,
    metal: Metal<'a>,
    frame: Placement<f64>,
    /// In its own frame.
    extent: Box3,
    in_space: Box3,
}

impl<'a> Body<'a> {
    pub(super) fn sheet(zone: Zone, sheet: Sheet<'a>) -> Self {
        let (frame, extent) = (sheet.frame(), sheet.extent());
        Self::new(zone, Metal::Sheet(sheet), frame, extent)
    }

    pub(super) fn shell(zone: Zone, shell: Shell<'a>) -> Self {
        let (frame, extent) = (shell.frame(), shell.extent());
        Self::new(zone, Metal::Shell(shell), frame, extent)
    }

    fn new(zone: Zone, metal: Metal<'a>, frame: Placement<f64>, extent: Box3) -> Self {
        let in_space = Box3::around(extent.corners().map(|p| frame.point(p.x, p.y, p.z)));
        Self { zone, metal, frame, extent, in_space }
    }

    pub(super) fn zone(&self) -> Zone {
        self.zone
    }

    /// Whether the bodies may meet at all.
    pub(super) fn is_near(&self, other: &Self) -> bool {
        self.in_space.overlaps(other.in_space)
    }

    /// The deepest place that is found where the bodies reach into each other.
    pub(super) fn collision(&self, other: &Self) -> Option<Collision> {
        let (theirs, own) = (self.seen(other), other.seen(self));
        if !self.extent.overlaps(theirs) || !other.extent.overlaps(own) {
            return None;
        }
        let sides = [Side::new(self, theirs, other.is_rolled()), Side::new(other, own, self.is_rolled())];
        let found = sides[0].met_by(&sides[1], None);
        let deepest = sides[1].met_by(&sides[0], found)?;
        Some(Collision { zones: [self.zone, other.zone], at: deepest.at, depth: deepest.depth })
    }

    /// The extent of another body in the frame of this one.
    fn seen(&self, other: &Self) -> Box3 {
        Box3::around(other.extent.corners().map(|p| self.frame.coordinates(other.frame.point(p.x, p.y, p.z))))
    }

    fn is_rolled(&self) -> bool {
        match &self.metal {
            Metal::Sheet(sheet) => sheet.is_rolled(),
            Metal::Shell(_) => false,
        }
    }
}

/// A body with what of it matters in one comparison.
struct Side<'a, 'r> {
    body: &'a Body<'r>,
    part: Part<'a, 'r>,
}

enum Part<'a, 'r> {
    Sheet(SheetSide<'a, 'r>),
    Shell(ShellSide<'a, 'r>),
}

impl<'a, 'r> Side<'a, 'r> {
    fn new(body: &'a Body<'r>, place: Box3, to_rolled: bool) -> Self {
        let part = match &body.metal {
            Metal::Sheet(sheet) => Part::Sheet(sheet.side(place, to_rolled)),
            Metal::Shell(shell) => Part::Shell(shell.side(place)),
        };
        Self { body, part }
    }

    /// The deepest point at which a wire of the other body passes through this one, if any is deeper than what
    /// is `known`.
    fn met_by(&self, other: &Self, known: Option<Inside>) -> Option<Inside> {
        let mut deepest = known;
        let visit = |wire: Wire| {
            let own = Box3::around(wire.map(|p| self.body.frame.coordinates(p)));
            if self.body.extent.overlaps(own) {
                let least = deepest.map_or(tolerance::COLLISION_MM, |known| known.depth);
                let found = match &self.part {
                    Part::Sheet(side) => side.deepest_on(wire, least),
                    Part::Shell(side) => side.deepest_on(wire, least),
                };
                deepest = found.or(deepest);
            }
        };
        match &other.part {
            Part::Sheet(side) => side.each_wire(visit),
            Part::Shell(side) => side.each_wire(visit),
        }
        deepest
    }
}
