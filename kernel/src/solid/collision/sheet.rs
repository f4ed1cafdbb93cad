//! The sheet of a panel or a bend as a body: a region of a plane, flat or rolled, with a thickness.
//!
//! Invariant: only the pieces of the outline near the other body are looked at, and the distance to them counts
//! as depth as the distance to the faces does. Must not know: what the other body is.

use std::cell::OnceCell;

use crate::fold::StripMap;
use crate::geom::{
    BoundingBox, Contour, Meeting, Place, Placement, Point2, Region, RegionLocator, Segment, Tag, Vec3,
    chords_for_arc, meet,
};
use crate::quantity::{maths, tolerance};

use super::body::{Inside, Wire};
use super::box3::Box3;
use super::lie::{CHORD_MM, Lie};

/// How far inside the outline wires run half-way through the sheet, in mm: edges that lie exactly in the faces of
/// another zone find nothing, and these do.
const CORE_INSET_MM: f64 = 2.0 * tolerance::COLLISION_MM;

/// By how much such wires are shorter at either end, in mm, where the outline may turn back: they stay in the
/// sheet at every corner above 6°, and the slabs of other zones that they have to meet are thicker.
const CORE_END_MM: f64 = 20.0 * CORE_INSET_MM;

/// The sheet of one panel or bend.
pub(super) struct Sheet<'a> {
    region: &'a Region,
    lie: Lie,
    thickness: f64,
    locator: OnceCell<RegionLocator>,
}

/// What of a sheet matters in one comparison.
pub(super) struct SheetSide<'a, 'r> {
    sheet: &'a Sheet<'r>,
    pieces: Vec<&'r Segment>,
    /// Where a rolled sheet may meet another one, in its own frame.
    ribs_in: Option<Box3>,
}

impl<'r> Sheet<'r> {
    pub(super) fn new(region: &'r Region, lie: Lie, thickness: f64) -> Self {
        Self { region, lie, thickness, locator: OnceCell::new() }
    }

    pub(super) fn is_empty(&self) -> bool {
        self.region.is_empty()
    }

    pub(super) fn is_rolled(&self) -> bool {
        match self.lie {
            Lie::Flat(_) => false,
            Lie::Rolled(_) => true,
        }
    }

    pub(super) fn frame(&self) -> Placement<f64> {
        self.lie.frame()
    }

    pub(super) fn extent(&self) -> Box3 {
        let flat =
            self.region.outers().fold(BoundingBox::EMPTY, |all, outer| all.union(outer.bounding_box()));
        self.lie.extent(flat, self.thickness)
    }

    /// The sheet with those pieces of its outline that may lie in a box of its own frame; `to_rolled`
    /// if the other body is a rolled sheet.
    pub(super) fn side<'a>(&'a self, place: Box3, to_rolled: bool) -> SheetSide<'a, 'r> {
        let reach = BoundingBox {
            min: Point2::new(place.low.x, place.low.y),
            max: Point2::new(place.high.x, place.high.y),
        }
        .grown(tolerance::COLLISION_MM);
        let pieces = self.region.contours().iter().flat_map(Contour::segments);
        let pieces = match self.lie {
            Lie::Flat(_) => pieces.filter(|s| reach.touches(s.bounding_box())).collect(),
            // A strip's y is rolled up.
            Lie::Rolled(_) => pieces
                .filter(|s| {
                    let size = s.bounding_box();
                    reach.min.x <= size.max.x && size.min.x <= reach.max.x
                })
                .collect(),
        };
        SheetSide { sheet: self, pieces, ribs_in: to_rolled.then_some(place) }
    }

    fn place(&self, p: Point2) -> Place {
        self.locator.get_or_init(|| RegionLocator::new(self.region)).place(p)
    }
}

impl SheetSide<'_, '_> {
    /// Every wire of the sheet near the other body.
    pub(super) fn each_wire(&self, mut visit: impl FnMut(Wire)) {
        let (lie, thickness) = (&self.sheet.lie, self.sheet.thickness);
        for piece in &self.pieces {
            edge_wires(lie, piece, thickness, &mut visit);
        }
        match (lie, self.ribs_in) {
            (Lie::Rolled(map), Some(place)) => self.each_rib(map, place, &mut visit),
            (Lie::Rolled(_), None) | (Lie::Flat(_), _) => {}
        }
    }

    /// Wires along both faces of a strip, with the axis, as far as they may lie in a box of its own frame.
    fn each_rib(&self, map: &StripMap, place: Box3, visit: &mut impl FnMut(Wire)) {
        let thickness = self.sheet.thickness;
        let radius = map.radius(0.0).max(map.radius(-thickness));
        let count = chords_for_arc(radius, map.angle(), CHORD_MM);
        for rib in 1..count {
            #[expect(clippy::cast_precision_loss, reason = "a small number of wires")]
            let y = map.allowance() * (rib as f64 / count as f64);
            for depth in [0.0, -thickness] {
                let at = map.start().coordinates(map.point(0.0, y, depth));
                if place.low.y < at.y && at.y < place.high.y && place.low.z < at.z && at.z < place.high.z {
                    for span in self.sheet.region.level_spans(y) {
                        visit(span.map(|x| map.point(x, y, depth)));
                    }
                }
            }
        }
    }

    /// The deepest point of a wire in the sheet, of those tried; if any is more than `least` mm deep.
    pub(super) fn deepest_on(&self, wire: Wire, least: f64) -> Option<Inside> {
        let stretches = self.sheet.lie.stretches(wire, self.sheet.thickness);
        let found = stretches.into_iter().filter_map(|stretch| self.deepest_of(wire, stretch));
        found.filter(|inside| inside.depth > least).max_by(|a, b| a.depth.total_cmp(&b.depth))
    }

    /// The deepest of some points of a stretch that lie within the region, if any is deep enough.
    fn deepest_of(&self, [p, q]: Wire, [from, to]: [f64; 2]) -> Option<Inside> {
        let (lie, thickness) = (&self.sheet.lie, self.sheet.thickness);
        let at = |share: f64| p + (q - p).times(share);
        let (start, _) = lie.unrolled(at(from), thickness);
        let (end, _) = lie.unrolled(at(to), thickness);
        let path = BoundingBox::EMPTY.with(start).with(end);
        // A stretch on the far side of the axis, where unrolling has its cut, lies in no strip.
        if let Lie::Rolled(map) = lie
            && path.height() > 0.5 * map.allowance() * (1.0 + maths::TAU / map.angle())
        {
            return None;
        }
        let mut shares = vec![0.0, 1.0];
        if start.distance(end) > tolerance::SNAP_MM {
            let line = Segment::line(start, end, Tag::default());
            for piece in self.pieces.iter().filter(|s| path.touches(s.bounding_box())) {
                match meet(&line, piece) {
                    Meeting::Apart => {}
                    Meeting::Points(points) => shares.extend(points.iter().map(|&p| line.share_at(p))),
                    Meeting::Overlap(ends) => {
                        shares.extend(ends.iter().flat_map(|&(a, b)| [line.share_at(a), line.share_at(b)]));
                    }
                }
            }
            shares.sort_by(f64::total_cmp);
        }
        let tried = shares.windows(2).flat_map(|w| [0.25, 0.5, 0.75].map(|s| w[0] + (w[1] - w[0]) * s));
        tried
            .filter_map(|share| self.inside(at(from + (to - from) * share)))
            .max_by(|a, b| a.depth.total_cmp(&b.depth))
    }

    fn inside(&self, at: Vec3<f64>) -> Option<Inside> {
        let (flat, between_faces) = self.sheet.lie.unrolled(at, self.sheet.thickness);
        if self.sheet.place(flat) != Place::Inside {
            return None;
        }
        let depth = self.pieces.iter().map(|s| s.distance_to(flat)).fold(between_faces, f64::min);
        (depth > tolerance::COLLISION_MM).then_some(Inside { at, depth })
    }
}

/// Wires along an edge of the sheet: on both faces, across, and half-way through, a little inside the outline.
pub(super) fn edge_wires(lie: &Lie, piece: &Segment, thickness: f64, visit: &mut impl FnMut(Wire)) {
    let count = lie.wires(piece, thickness);
    #[expect(clippy::cast_precision_loss, reason = "a small number of wires")]
    let at = |i: usize| piece.point_at(i as f64 / count as f64);
    for i in 0..count {
        let (p, q) = (at(i), at(i + 1));
        // The sheet lies to the left; ends are left out, where it may turn away.
        let along = q - p;
        let inwards = along.normalized().left() * CORE_INSET_MM;
        let end = (CORE_END_MM / along.length()).min(0.25);
        visit([lie.lift(p, 0.0), lie.lift(q, 0.0)]);
        visit([lie.lift(p, -thickness), lie.lift(q, -thickness)]);
        visit([lie.lift(p, 0.0), lie.lift(p, -thickness)]);
        visit([end, 1.0 - end].map(|share| lie.lift(p.lerp(q, share) + inwards, -0.5 * thickness)));
    }
}
