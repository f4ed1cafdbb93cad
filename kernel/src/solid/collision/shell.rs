//! A bump as a body: the shell over its foot, flat top included.
//!
//! A place of space is seen in the bump's cross-section: how far outside the outline of the top it lies in
//! plan, and how high. The metal is what lies within half a thickness of the section's middle line, so that the
//! depth of a point is exact. It changes by no more than the way gone, which bounds it along a wire between the
//! points that are tried. Derivation: `docs/math/formed-bump.md`.
//!
//! Invariant: the body ends at the foot, where the panel's sheet begins. Must not know: what the other body is.

use std::cell::{Cell, OnceCell};

use crate::fold::{Form, FormFace};
use crate::geom::{
    BoundingBox, Contour, Curve, Place, Placement, Point2, Region, Segment, Tag, Vec3, place_in_contour,
};

use super::body::{Inside, Wire};
use super::box3::Box3;
use super::lie::{CHORD_MM, Lie};
use super::sheet::edge_wires;

/// The shell of one bump.
pub(super) struct Shell<'a> {
    form: &'a Form,
    frame: Placement<f64>,
    /// The middle line of the cross-section, from inside the top to the foot.
    middle: Vec<Segment>,
    openings: Vec<Contour>,
    /// The section's two face lines and its middle line from the outline of the top to the foot, as chords.
    chords: OnceCell<[Vec<Point2>; 3]>,
}

/// What of a shell matters in one comparison.
pub(super) struct ShellSide<'a, 'r> {
    shell: &'a Shell<'r>,
    /// Where in its own frame wires are wanted.
    place: Box3,
    /// A ball of the bump's frame in which nothing is deep enough: wires that follow each other often lie in it.
    idle: Cell<(Vec3<f64>, f64)>,
}

impl<'r> Shell<'r> {
    /// The shell of a form over a panel with this region and frame.
    pub(super) fn new(form: &'r Form, panel: &Region, frame: Placement<f64>) -> Self {
        let [raised, hollow] = FormFace::BOTH.map(|face| form.section.profile(face));
        let mut middle: Vec<Segment> =
            raised.iter().zip(&hollow).map(|((_, a), (_, b))| half_way(a, b)).collect();
        let (end, size) = (middle[0].start, form.top().bounding_box());
        let start = Point2::new(end.x - size.width() - size.height(), end.y);
        middle.insert(0, Segment::line(start, end, Tag::default()));
        let openings = panel.holes().filter(|hole| form.carries(hole)).cloned().collect();
        Self { form, frame, middle, openings, chords: OnceCell::new() }
    }

    pub(super) fn frame(&self) -> Placement<f64> {
        self.frame
    }

    pub(super) fn extent(&self) -> Box3 {
        let plan = self.form.bounding_box();
        let [a, b] =
            [-self.form.section.thickness, self.form.section.height].map(|height| self.form.depth(height));
        Box3 {
            low: Vec3::new(plan.min.x, plan.min.y, a.min(b)),
            high: Vec3::new(plan.max.x, plan.max.y, a.max(b)),
        }
    }

    /// The shell with those of its wires that may lie in a box of its own frame.
    pub(super) fn side<'a>(&'a self, place: Box3) -> ShellSide<'a, 'r> {
        ShellSide { shell: self, place, idle: Cell::new((self.frame.origin, 0.0)) }
    }

    fn chords(&self) -> &[Vec<Point2>; 3] {
        self.chords.get_or_init(|| {
            let [raised, hollow] = FormFace::BOTH
                .map(|face| chords(self.form.section.profile(face).iter().map(|(_, piece)| piece)));
            // The first piece is that of the flat top.
            [raised, hollow, chords(self.middle[1..].iter())]
        })
    }

    /// How deep in mm a place of the bump's own frame lies in the metal, negative outside; exact within the
    /// metal, and nowhere does it change by more than the way from one place to another.
    fn depth(&self, p: Vec3<f64>) -> f64 {
        let (form, plan) = (self.form, Point2::new(p.x, p.y));
        let offset = outside(form.top(), plan);
        // From height to depth and back is the same step.
        let seen = Point2::new(offset, form.depth(p.z));
        let from_middle =
            self.middle.iter().map(|piece| piece.distance_to(seen)).fold(f64::INFINITY, f64::min);
        let depth = (0.5 * form.section.thickness - from_middle).min(form.section.width() - offset);
        self.openings.iter().fold(depth, |depth, opening| depth.min(outside(opening, plan)))
    }
}

/// The piece half-way between the same piece of two parallel lines.
fn half_way(a: &Segment, b: &Segment) -> Segment {
    let curve = match (a.curve, b.curve) {
        (Curve::Arc { centre, radius, turn }, Curve::Arc { radius: other, .. }) => {
            Curve::Arc { centre, radius: 0.5 * (radius + other), turn }
        }
        (Curve::Line | Curve::Arc { .. }, _) => Curve::Line,
    };
    Segment { start: a.start.midpoint(b.start), end: a.end.midpoint(b.end), curve, tag: a.tag }
}

/// How far in mm a point lies outside an outline; negative inside.
fn outside(outline: &Contour, p: Point2) -> f64 {
    let distance = outline.segments().iter().map(|piece| piece.distance_to(p)).fold(f64::INFINITY, f64::min);
    match place_in_contour(outline, p) {
        Place::Inside => -distance,
        Place::OnBoundary | Place::Outside => distance,
    }
}

/// The chords of pieces that follow each other, as points.
fn chords<'a>(pieces: impl Iterator<Item = &'a Segment>) -> Vec<Point2> {
    let mut points = Vec::new();
    for piece in pieces {
        let count = piece.chord_count(CHORD_MM);
        #[expect(clippy::cast_precision_loss, reason = "a small number of wires")]
        let inner = (0..count).map(|i| piece.point_at(i as f64 / count as f64));
        points.extend(inner);
        points.push(piece.end);
    }
    points.dedup();
    points
}

impl ShellSide<'_, '_> {
    /// The deepest point of a wire in the shell to [`CHORD_MM`], if any is more than `least` mm deep.
    ///
    /// From a point at depth `d` none deeper than `best + CHORD_MM` can come within `best − d + CHORD_MM`.
    pub(super) fn deepest_on(&self, [p, q]: Wire, least: f64) -> Option<Inside> {
        let shell = self.shell;
        let [from, to] = [p, q].map(|v| shell.frame.coordinates(v));
        let (centre, radius) = self.idle.get();
        if [from, to].into_iter().all(|v| (v - centre).length() < radius) {
            return None;
        }
        let [first, last] = shell.extent().shares(from, to)?;
        let length = (to - from).length();
        let mut best = least;
        let mut found = None;
        let mut share = first;
        // No place is deeper than half-way through.
        while best + CHORD_MM < 0.5 * shell.form.section.thickness {
            let tried = from + (to - from).times(share);
            let depth = shell.depth(tried);
            self.idle.set((tried, best - depth));
            if depth > best {
                best = depth;
                found = Some(Inside { at: p + (q - p).times(share), depth });
            }
            if share >= last {
                break;
            }
            share = last.min(share + (best - depth + CHORD_MM) / length);
        }
        found
    }

    /// Every wire of the shell near the other body: nets over both faces, a line half-way through beside each
    /// piece of the outline, and the edges of openings in the top.
    pub(super) fn each_wire(&self, mut visit: impl FnMut(Wire)) {
        let (form, frame) = (self.shell.form, self.shell.frame);
        for (top, foot) in form.top().segments().iter().zip(form.foot().segments()) {
            self.net(top, foot, &mut visit);
        }
        let [raised, hollow] = FormFace::BOTH.map(|face| form.top_depth(face));
        let flat = Lie::Flat(Placement { origin: frame.point(0.0, 0.0, raised.max(hollow)), ..frame });
        for piece in self.shell.openings.iter().flat_map(Contour::segments) {
            edge_wires(&flat, piece, form.section.thickness, &mut visit);
        }
    }

    /// The lines along and across one piece of the outline, each cut into chords; the line across at its end
    /// belongs to the next piece.
    fn net(&self, top: &Segment, foot: &Segment, visit: &mut impl FnMut(Wire)) {
        let [raised, hollow, middle] = self.shell.chords();
        let count = top.chord_count(CHORD_MM).max(foot.chord_count(CHORD_MM));
        #[expect(clippy::cast_precision_loss, reason = "a small number of wires")]
        let ends = |i: usize| [top, foot].map(|piece| piece.point_at(i as f64 / count as f64));
        let place = BoundingBox {
            min: Point2::new(self.place.low.x, self.place.low.y),
            max: Point2::new(self.place.high.x, self.place.high.y),
        };
        let mut here = ends(0);
        for i in 0..count {
            let next = ends(i + 1);
            let strip = here.into_iter().chain(next).fold(BoundingBox::EMPTY, BoundingBox::with);
            if strip.touches(place) {
                for line in [raised, hollow] {
                    let mut p = self.at(here, line[0]);
                    visit([p, self.at(next, line[0])]);
                    for &level in &line[1..] {
                        let (below, beside) = (self.at(here, level), self.at(next, level));
                        visit([p, below]);
                        visit([below, beside]);
                        p = below;
                    }
                }
                if i == 0 {
                    for levels in middle.windows(2) {
                        visit([levels[0], levels[1]].map(|level| self.at(here, level)));
                    }
                }
            }
            here = next;
        }
    }

    /// The place in space of a point of the cross-section at a place along the outline, given by its points of
    /// top and foot.
    fn at(&self, [top, foot]: [Point2; 2], level: Point2) -> Vec3<f64> {
        let form = self.shell.form;
        self.shell.frame.lift(top.lerp(foot, level.x / form.section.width()), form.depth(level.y))
    }
}
