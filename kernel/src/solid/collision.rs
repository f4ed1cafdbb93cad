//! Zones of the folded part that reach into each other.
//!
//! Two bodies with corners overlap if an edge of one passes through the inside of the other, or one lies wholly
//! in the other. So the edges of every zone, creases included, as straight wires on both faces and across the
//! sheet, are held against the true shape of every zone near by: a plate between two planes, or a piece of
//! tube, with the zone's own region in its plane. Two zones that coincide have no such edge; wires half-way
//! through the sheet, a little inside the outline, find them.
//! Invariant: zones that share a crease are never compared, and what is less than
//! [`tolerance::COLLISION_MM`] deep is none; openings of a zone are looked at only where another zone is near.
//! Must not know: what is to be done about it.

use std::cell::OnceCell;

use crate::fold::{FoldFractions, FoldTree, StripMap};
use crate::geom::{
    BoundingBox, Contour, Meeting, Place, Placement, Point2, Region, RegionLocator, Segment, Tag, Vec3,
    chords_for_arc, meet,
};
use crate::ident::{BendId, PanelId};
use crate::quantity::{maths, tolerance};

use super::Zone;

/// How far inside the outline wires run half-way through the sheet, in mm: edges that lie exactly in the faces of
/// another zone find nothing, and these do.
const CORE_INSET_MM: f64 = 2.0 * tolerance::COLLISION_MM;

/// By how much such wires are shorter at either end, in mm, where the outline may turn back: they stay in the
/// sheet at every corner above 6°, and the slabs of other zones that they have to meet are thicker.
const CORE_END_MM: f64 = 20.0 * CORE_INSET_MM;

/// A zone of the sheet; formed bumps are not looked at, and their panel counts as flat.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum FoldedZone {
    /// A flat panel.
    Panel(PanelId),
    /// A bend.
    Bend(BendId),
}

impl From<FoldedZone> for Zone {
    fn from(zone: FoldedZone) -> Self {
        match zone {
            FoldedZone::Panel(panel) => Self::Panel(panel),
            FoldedZone::Bend(bend) => Self::Bend(bend),
        }
    }
}

/// Two zones that need the same place.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Collision {
    /// The zones, panels before bends.
    pub zones: [FoldedZone; 2],
    /// A point inside both, in mm.
    pub at: Vec3<f64>,
    /// How far `at` lies inside one of them, in mm; elsewhere they may overlap more.
    pub depth: f64,
}

/// All pairs of zones that reach into each other at these fold fractions, in the order of their ids.
#[must_use]
pub fn collisions(tree: &FoldTree, fractions: &FoldFractions) -> Vec<Collision> {
    let frames = tree.placements(fractions);
    let panels = tree.panels().iter().map(|panel| {
        let frame = frames[panel.id.index()];
        Body::new(FoldedZone::Panel(panel.id), &panel.region, Form::Plate(frame), tree.thickness())
    });
    let bends = tree.bends().iter().map(|bend| {
        let map = tree.strip_map(bend, &frames, fractions);
        let form = if map.angle() > 0.0 { Form::Tube(map) } else { Form::Plate(map.start()) };
        Body::new(FoldedZone::Bend(bend.id), &bend.region, form, tree.thickness())
    });
    let bodies: Vec<Body<'_>> = panels.chain(bends).filter(|b| !b.region.is_empty()).collect();
    let mut found = Vec::new();
    for (index, a) in bodies.iter().enumerate() {
        for b in &bodies[index + 1..] {
            if a.in_space.overlaps(b.in_space) && !share_crease(tree, a.zone, b.zone) {
                found.extend(a.collision(b));
            }
        }
    }
    found
}

/// Whether sheet goes on from one zone to the other.
fn share_crease(tree: &FoldTree, a: FoldedZone, b: FoldedZone) -> bool {
    let beside = |bend: BendId, panel: PanelId| {
        let bend = tree.bend(bend);
        bend.parent == panel || bend.child == panel
    };
    match (a, b) {
        (FoldedZone::Panel(_), FoldedZone::Panel(_)) => false,
        (FoldedZone::Panel(panel), FoldedZone::Bend(bend))
        | (FoldedZone::Bend(bend), FoldedZone::Panel(panel)) => beside(bend, panel),
        // Over a panel with nothing between its bends, two bends meet directly.
        (FoldedZone::Bend(a), FoldedZone::Bend(b)) => {
            let bare = |panel: PanelId| tree.panel(panel).region.is_empty();
            [tree.bend(a).parent, tree.bend(a).child].into_iter().any(|p| bare(p) && beside(b, p))
        }
    }
}

/// A box along the axes of some frame, in mm.
#[derive(Clone, Copy, Debug)]
struct Box3 {
    low: Vec3<f64>,
    high: Vec3<f64>,
}

impl Box3 {
    fn around(points: impl IntoIterator<Item = Vec3<f64>>) -> Self {
        let inf = f64::INFINITY;
        let nothing = Self { low: Vec3::new(inf, inf, inf), high: Vec3::new(-inf, -inf, -inf) };
        points.into_iter().fold(nothing, |b, p| Self {
            low: Vec3::new(b.low.x.min(p.x), b.low.y.min(p.y), b.low.z.min(p.z)),
            high: Vec3::new(b.high.x.max(p.x), b.high.y.max(p.y), b.high.z.max(p.z)),
        })
    }

    fn corners(self) -> [Vec3<f64>; 8] {
        let ends = [self.low, self.high];
        std::array::from_fn(|i| Vec3::new(ends[i & 1].x, ends[(i >> 1) & 1].y, ends[i >> 2].z))
    }

    /// Whether the boxes share more than a collision may be shallow.
    fn overlaps(self, other: Self) -> bool {
        let least = tolerance::COLLISION_MM;
        let apart = |low: f64, high: f64| low + least >= high;
        !(apart(self.low.x, other.high.x)
            || apart(other.low.x, self.high.x)
            || apart(self.low.y, other.high.y)
            || apart(other.low.y, self.high.y)
            || apart(self.low.z, other.high.z)
            || apart(other.low.z, self.high.z))
    }
}

/// Where a zone's sheet lies.
enum Form {
    /// Between two planes.
    Plate(Placement<f64>),
    /// Between two cylinders.
    Tube(StripMap),
}

impl Form {
    fn frame(&self) -> Placement<f64> {
        match self {
            Self::Plate(frame) => *frame,
            Self::Tube(map) => map.start(),
        }
    }

    /// The place in space of a point of the zone's region at `depth` mm along the normal.
    fn lift(&self, p: Point2, depth: f64) -> Vec3<f64> {
        match self {
            Self::Plate(frame) => frame.lift(p, depth),
            Self::Tube(map) => map.point(p.x, p.y, depth),
        }
    }

    /// Into how many wires a piece of the region's outline is cut.
    fn wires(&self, piece: &Segment, thickness: f64) -> usize {
        let chord = 0.5 * tolerance::COLLISION_MM;
        let in_plane = piece.chord_count(chord);
        match self {
            Self::Plate(_) => in_plane,
            Self::Tube(map) => {
                let radius = map.radius(0.0).max(map.radius(-thickness));
                let size = piece.bounding_box();
                in_plane.max(chords_for_arc(radius, map.angle_at(size.height()), chord))
            }
        }
    }

    /// The extent of a tube or plate in its own frame.
    fn extent(&self, region: BoundingBox, thickness: f64) -> Box3 {
        match self {
            Self::Plate(_) => Box3 {
                low: Vec3::new(region.min.x, region.min.y, -thickness),
                high: Vec3::new(region.max.x, region.max.y, 0.0),
            },
            Self::Tube(map) => {
                const STEPS: u32 = 8;
                let frame = map.start();
                let on_arc = |i: u32| map.allowance() * f64::from(i) / f64::from(STEPS);
                let points = (0..=STEPS).flat_map(|i| {
                    let at = |x: f64, depth: f64| frame.coordinates(map.point(x, on_arc(i), depth));
                    [at(region.min.x, 0.0), at(region.max.x, -thickness), at(region.min.x, -thickness)]
                });
                // Between two steps the outer face stands out over their chord.
                let radius = map.radius(0.0).max(map.radius(-thickness));
                let half = 0.5 * map.angle() / f64::from(STEPS);
                let out = radius * (1.0 - maths::cos(half));
                let bare = Box3::around(points);
                Box3 {
                    low: Vec3::new(bare.low.x, bare.low.y - out, bare.low.z - out),
                    high: Vec3::new(bare.high.x, bare.high.y + out, bare.high.z + out),
                }
            }
        }
    }
}

/// One zone of the folded part.
struct Body<'a> {
    zone: FoldedZone,
    region: &'a Region,
    form: Form,
    thickness: f64,
    /// In its own frame.
    extent: Box3,
    in_space: Box3,
    locator: OnceCell<RegionLocator>,
}

/// A straight piece of an edge, in space.
type Wire = [Vec3<f64>; 2];

impl<'a> Body<'a> {
    fn new(zone: FoldedZone, region: &'a Region, form: Form, thickness: f64) -> Self {
        let flat = region.outers().fold(BoundingBox::EMPTY, |all, outer| all.union(outer.bounding_box()));
        let extent = form.extent(flat, thickness);
        let frame = form.frame();
        let in_space = Box3::around(extent.corners().map(|p| frame.point(p.x, p.y, p.z)));
        Self { zone, region, form, thickness, extent, in_space, locator: OnceCell::new() }
    }

    /// The extent of another body in the frame of this one.
    fn seen(&self, other: &Self) -> Box3 {
        let (own, theirs) = (self.form.frame(), other.form.frame());
        Box3::around(other.extent.corners().map(|p| own.coordinates(theirs.point(p.x, p.y, p.z))))
    }

    /// The deepest place that is found where the bodies reach into each other.
    fn collision(&self, other: &Self) -> Option<Collision> {
        let (theirs, own) = (self.seen(other), other.seen(self));
        if !self.extent.overlaps(theirs) || !other.extent.overlaps(own) {
            return None;
        }
        let sides = [(self, theirs), (other, own)].map(|(body, near)| Side { body, pieces: body.near(near) });
        let found = sides[0].met_by(&sides[1]).into_iter().chain(sides[1].met_by(&sides[0]));
        let deepest = found.max_by(|a, b| a.depth.total_cmp(&b.depth))?;
        Some(Collision { zones: [self.zone, other.zone], at: deepest.at, depth: deepest.depth })
    }

    /// The pieces of the region's outline that may lie in a box of its own frame.
    fn near(&self, place: Box3) -> Vec<&'a Segment> {
        let reach = BoundingBox {
            min: Point2::new(place.low.x, place.low.y),
            max: Point2::new(place.high.x, place.high.y),
        }
        .grown(tolerance::COLLISION_MM);
        let pieces = self.region.contours().iter().flat_map(Contour::segments);
        match self.form {
            Form::Plate(_) => pieces.filter(|s| reach.touches(s.bounding_box())).collect(),
            // A strip's y is rolled up.
            Form::Tube(_) => pieces
                .filter(|s| {
                    let size = s.bounding_box();
                    reach.min.x <= size.max.x && size.min.x <= reach.max.x
                })
                .collect(),
        }
    }

    fn place(&self, p: Point2) -> Place {
        self.locator.get_or_init(|| RegionLocator::new(self.region)).place(p)
    }
}

/// A body with the pieces of its outline that matter in one comparison.
struct Side<'a, 'r> {
    body: &'a Body<'r>,
    pieces: Vec<&'r Segment>,
}

/// A point inside a body, and how far.
#[derive(Clone, Copy)]
struct Inside {
    at: Vec3<f64>,
    depth: f64,
}

impl Side<'_, '_> {
    /// The deepest point at which an edge of the other body passes through this one.
    fn met_by(&self, other: &Side<'_, '_>) -> Option<Inside> {
        let mut deepest: Option<Inside> = None;
        let frame = self.body.form.frame();
        for wire in other.edges() {
            let own = Box3::around(wire.map(|p| frame.coordinates(p)));
            if !self.body.extent.overlaps(own) {
                continue;
            }
            for stretch in self.stretches(wire) {
                if let Some(found) = self.deepest_of(wire, stretch)
                    && deepest.is_none_or(|known| known.depth < found.depth)
                {
                    deepest = Some(found);
                }
            }
        }
        deepest
    }

    /// The edges of the body near the other one.
    fn edges(&self) -> impl Iterator<Item = Wire> {
        let (form, thickness) = (&self.body.form, self.body.thickness);
        self.pieces.iter().flat_map(move |piece| {
            let count = form.wires(piece, thickness);
            #[expect(clippy::cast_precision_loss, reason = "a small number of wires")]
            let at = move |i: usize| piece.point_at(i as f64 / count as f64);
            (0..count).flat_map(move |i| {
                let (p, q) = (at(i), at(i + 1));
                // The sheet lies to the left; ends are left out, where it may turn away.
                let along = q - p;
                let inwards = along.normalized().left() * CORE_INSET_MM;
                let end = (CORE_END_MM / along.length()).min(0.25);
                let core =
                    [end, 1.0 - end].map(|share| form.lift(p.lerp(q, share) + inwards, -0.5 * thickness));
                [
                    [form.lift(p, 0.0), form.lift(q, 0.0)],
                    [form.lift(p, -thickness), form.lift(q, -thickness)],
                    [form.lift(p, 0.0), form.lift(p, -thickness)],
                    core,
                ]
            })
        })
    }

    /// The shares of a wire between which it runs within the sheet's thickness, deep enough; the region in the
    /// sheet's plane does not count yet.
    fn stretches(&self, [p, q]: Wire) -> Vec<[f64; 2]> {
        let (top, bottom) = (-tolerance::COLLISION_MM, tolerance::COLLISION_MM - self.body.thickness);
        match &self.body.form {
            Form::Plate(frame) => {
                let [from, to] = [p, q].map(|v| (v - frame.origin).dot(frame.n));
                between(from, to, bottom, top).into_iter().collect()
            }
            Form::Tube(map) => {
                const STEPS: u32 = 16;
                let (a, b) = (map.from_axis(p), map.from_axis(q));
                let radii = [map.radius(top), map.radius(bottom)];
                in_tube(a, b - a, radii[0].min(radii[1]), radii[0].max(radii[1]))
                    .into_iter()
                    .flat_map(|[from, to]| {
                        let share = move |i: u32| from + (to - from) * f64::from(i) / f64::from(STEPS);
                        (0..STEPS).map(move |i| [share(i), share(i + 1)])
                    })
                    .collect()
            }
        }
    }

    /// Where a point of space lies in the region's plane, and how deep between the faces.
    fn unrolled(&self, p: Vec3<f64>) -> (Point2, f64) {
        let (flat, depth) = match &self.body.form {
            Form::Plate(frame) => {
                let local = frame.coordinates(p);
                (Point2::new(local.x, local.y), local.z)
            }
            Form::Tube(map) => {
                let from_axis = map.from_axis(p);
                let radius = (from_axis.y * from_axis.y + from_axis.z * from_axis.z).sqrt();
                let faces = [map.radius(0.0), map.radius(-self.body.thickness)];
                let share = (radius - faces[0]) / (faces[1] - faces[0]);
                (map.unrolled(p), -self.body.thickness * share)
            }
        };
        (flat, (-depth).min(depth + self.body.thickness))
    }

    /// The deepest of some points of a stretch that lie within the region, if any is deep enough.
    fn deepest_of(&self, [p, q]: Wire, [from, to]: [f64; 2]) -> Option<Inside> {
        let at = |share: f64| p + (q - p).times(share);
        let (start, _) = self.unrolled(at(from));
        let (end, _) = self.unrolled(at(to));
        let path = BoundingBox::EMPTY.with(start).with(end);
        // A stretch on the far side of the axis, where unrolling has its cut, lies in no strip.
        if let Form::Tube(map) = &self.body.form
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
        let (flat, between_faces) = self.unrolled(at);
        if self.body.place(flat) != Place::Inside {
            return None;
        }
        let depth = self.pieces.iter().map(|s| s.distance_to(flat)).fold(between_faces, f64::min);
        (depth > tolerance::COLLISION_MM).then_some(Inside { at, depth })
    }
}

/// The shares of the way from `from` to `to` between which a linear measure lies between two limits.
fn between(from: f64, to: f64, low: f64, high: f64) -> Option<[f64; 2]> {
    let step = to - from;
    let [mut first, mut last] = [0.0_f64, 1.0];
    if step.abs() <= tolerance::SNAP_MM {
        return (low < from && from < high).then_some([first, last]);
    }
    let [enter, leave] =
        if step > 0.0 { [low, high] } else { [high, low] }.map(|limit| (limit - from) / step);
    (first, last) = (first.max(enter), last.min(leave));
    (first < last).then_some([first, last])
}

/// The shares of a straight way (`start` to `start + way`, seen from an axis along x) between which it lies
/// farther than `inner` and nearer than `outer` to the axis.
fn in_tube(start: Vec3<f64>, way: Vec3<f64>, inner: f64, outer: f64) -> Vec<[f64; 2]> {
    let a = way.y * way.y + way.z * way.z;
    let b = start.y * way.y + start.z * way.z;
    let c = start.y * start.y + start.z * start.z;
    if a.sqrt() <= tolerance::SNAP_MM {
        let radius = c.sqrt();
        return if inner < radius && radius < outer { vec![[0.0, 1.0]] } else { Vec::new() };
    }
    // Nearer than a radius: a s² + 2 b s + c < radius².
    let nearer = |radius: f64| {
        let root = b * b - a * (c - radius * radius);
        (root > 0.0).then(|| [(-b - root.sqrt()) / a, (-b + root.sqrt()) / a])
    };
    let Some([first, last]) = nearer(outer) else { return Vec::new() };
    let parts = match nearer(inner.max(0.0)) {
        None => vec![[first, last]],
        Some([enter, leave]) => vec![[first, enter], [leave, last]],
    };
    parts.into_iter().map(|[f, l]| [f.max(0.0), l.min(1.0)]).filter(|[f, l]| f < l).collect()
}
