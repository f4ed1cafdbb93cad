//! Zones of the sheet as convex cells, and how near two convex bodies are.
//!
//! Job: cut panels, strips and bumps into convex prisms, and tell by separating axes how far two of them are apart
//! at least. Invariant: cells cover the zone: openings count as metal, round bends lie within their
//! flats. Must not know: tools, orders.

use crate::fold::{FoldFractions, FoldTree};
use crate::geom::{Contour, Placement, Point2, Region, Vec2, Vec3, convex_hull, convex_pieces};
use crate::history::feature::BumpSide;
use crate::ident::{FormId, PanelId};
use crate::quantity::maths;
use crate::solid::Zone;

/// How far arcs in the outline of a zone may lie off their chords, in mm.
const OUTLINE_CHORD_MM: f64 = 0.2;

/// Into how many flats a right-angled bend is cut; they stand out by less than a hundredth of its outer radius.
const FLATS: f64 = 6.0;

/// A rigid map, perhaps with a reflection: what is turned over counts from its other face.
#[derive(Clone, Copy, Debug)]
pub(super) struct Pose {
    pub(super) origin: Vec3<f64>,
    pub(super) axes: [Vec3<f64>; 3],
}

impl Pose {
    pub(super) fn point(&self, p: Vec3<f64>) -> Vec3<f64> {
        self.origin + self.direction(p)
    }

    pub(super) fn direction(&self, d: Vec3<f64>) -> Vec3<f64> {
        self.axes[0].times(d.x) + self.axes[1].times(d.y) + self.axes[2].times(d.z)
    }

    /// This map after another.
    pub(super) fn after(&self, inner: &Self) -> Self {
        Self { origin: self.point(inner.origin), axes: inner.axes.map(|axis| self.direction(axis)) }
    }

    /// The way back.
    pub(super) fn inverse(&self) -> Self {
        let rows = |d: Vec3<f64>| Vec3::new(self.axes[0].dot(d), self.axes[1].dot(d), self.axes[2].dot(d));
        let unit = [Vec3::new(1.0, 0.0, 0.0), Vec3::new(0.0, 1.0, 0.0), Vec3::new(0.0, 0.0, 1.0)];
        Self { origin: -rows(self.origin), axes: unit.map(rows) }
    }
}

impl From<Placement<f64>> for Pose {
    fn from(p: Placement<f64>) -> Self {
        Self { origin: p.origin, axes: [p.x, p.y, p.n] }
    }
}

/// A convex prism.
#[derive(Clone, Debug)]
pub(super) struct Cell {
    pub(super) corners: Vec<Vec3<f64>>,
    /// Unit normals of its faces, opposite ones once.
    pub(super) normals: Vec<Vec3<f64>>,
    /// Unit directions of its edges, parallel ones once.
    pub(super) edges: Vec<Vec3<f64>>,
}

impl Cell {
    /// A convex polygon in the plane of a frame, drawn from one height along its normal to another.
    fn prism(frame: Placement<f64>, polygon: &[Point2], reach: [f64; 2]) -> Self {
        let corners = reach.iter().flat_map(|&n| polygon.iter().map(move |p| frame.lift(*p, n))).collect();
        let mut normals = vec![frame.n];
        let mut edges = vec![frame.n];
        for (a, b) in polygon.iter().zip(polygon.iter().cycle().skip(1)) {
            let along = (*b - *a).normalized();
            let direction = frame.direction(along.x, along.y, 0.0);
            let is_new = |known: &Vec3<f64>| known.cross(direction).length() > SAME_DIRECTION;
            if edges[1..].iter().all(is_new) {
                edges.push(direction);
                normals.push(frame.direction(-along.y, along.x, 0.0));
            }
        }
        Self { corners, normals, edges }
    }

    pub(super) fn moved(&self, pose: &Pose) -> Self {
        Self {
            corners: self.corners.iter().map(|p| pose.point(*p)).collect(),
            normals: self.normals.iter().map(|d| pose.direction(*d)).collect(),
            edges: self.edges.iter().map(|d| pose.direction(*d)).collect(),
        }
    }

    fn extent(&self, axis: Vec3<f64>) -> [f64; 2] {
        self.corners.iter().fold([f64::INFINITY, f64::NEG_INFINITY], |[low, high], p| {
            let at = p.dot(axis);
            [low.min(at), high.max(at)]
        })
    }
}

/// Unit directions whose cross product is below this are one: the faces between them would be 0.1 mm apart over 1 m.
const SAME_DIRECTION: f64 = 1e-4;

/// A lower bound on the distance of two convex bodies in mm, negative if they overlap: then it is minus the least
/// way by which they can be parted (Gottschalk, Lin and Manocha, 1996: two convex polyhedra are apart if and only if
/// a face normal of one or a cross product of two edges parts them).
///
/// Stops as soon as it is above `enough`.
pub(super) fn gap(a: &Cell, b: &Cell, enough: f64) -> f64 {
    let along = |axis: Vec3<f64>| {
        let ([la, ha], [lb, hb]) = (a.extent(axis), b.extent(axis));
        (lb - ha).max(la - hb)
    };
    let mut best = f64::NEG_INFINITY;
    for axis in a.normals.iter().chain(&b.normals) {
        best = best.max(along(*axis));
        if best > enough {
            return best;
        }
    }
    for u in &a.edges {
        for v in &b.edges {
            let axis = u.cross(*v);
            let length = axis.length();
            if length > SAME_DIRECTION {
                best = best.max(along(axis.times(1.0 / length)));
                if best > enough {
                    return best;
                }
            }
        }
    }
    best
}

/// One zone in the frame of a panel, as it lies before and after its own bend is made.
#[derive(Clone, Debug)]
pub(super) struct ZoneCells {
    pub(super) zone: Zone,
    /// The panel in whose frame it lies.
    pub(super) anchor: PanelId,
    pub(super) flat: Vec<Cell>,
    /// Of a strip when it is rolled; none for panels and bumps.
    pub(super) rolled: Option<Vec<Cell>>,
}

/// All zones of a part: panels, then bends, then forms, without empty ones.
pub(super) fn zones(tree: &FoldTree) -> Vec<ZoneCells> {
    let t = tree.thickness();
    let mut found = Vec::new();
    for panel in tree.panels() {
        let flat = slabs(&panel.region, Placement::identity(), [-t, 0.0]);
        found.push(ZoneCells { zone: Zone::Panel(panel.id), anchor: panel.id, flat, rolled: None });
    }
    let frames: Vec<Placement<f64>> = tree.panels().iter().map(|_| Placement::identity()).collect();
    let folded = FoldFractions::all(tree, 1.0);
    for bend in tree.bends() {
        let map = tree.strip_map(bend, &frames, &folded);
        let start = map.start();
        let spans = bend.region.level_spans(0.5 * bend.allowance());
        let flat = spans.iter().map(|[from, to]| {
            let corner = |x: f64, y: f64| Point2::new(x, y);
            let rectangle = [
                corner(*from, 0.0),
                corner(*to, 0.0),
                corner(*to, bend.allowance()),
                corner(*from, bend.allowance()),
            ];
            Cell::prism(start, &rectangle, [-t, 0.0])
        });
        let rolled = spans.iter().flat_map(|span| flats(&map, *span, t)).collect();
        found.push(ZoneCells {
            zone: Zone::Bend(bend.id),
            anchor: bend.parent,
            flat: flat.collect(),
            rolled: Some(rolled),
        });
    }
    for (index, form) in tree.forms().iter().enumerate() {
        let height = form.section.height;
        let hull = convex_hull(&chords(form.foot()));
        let reach = match form.side {
            BumpSide::In => [-t, height],
            BumpSide::Out => [-t - height, 0.0],
        };
        let flat = vec![Cell::prism(Placement::identity(), &hull, reach)];
        found.push(ZoneCells {
            zone: Zone::Form(FormId::new(index)),
            anchor: form.panel,
            flat,
            rolled: None,
        });
    }
    found.retain(|zone| !zone.flat.is_empty());
    found
}

fn slabs(region: &Region, frame: Placement<f64>, reach: [f64; 2]) -> Vec<Cell> {
    region
        .outers()
        .flat_map(|outer| convex_pieces(&chords(outer)))
        .map(|piece| Cell::prism(frame, &piece, reach))
        .collect()
}

/// Corners of a contour whose arcs are cut into chords.
fn chords(contour: &Contour) -> Vec<Point2> {
    let pieces = contour.segments().iter();
    pieces
        .flat_map(|piece| {
            let count = piece.chord_count(OUTLINE_CHORD_MM);
            #[expect(clippy::cast_precision_loss, reason = "a small number of chords")]
            (0..count).map(move |i| piece.point_at(i as f64 / count as f64))
        })
        .collect()
}

/// Flats of a rolled strip: chords inside, tangents outside.
fn flats(map: &crate::fold::StripMap, span: [f64; 2], thickness: f64) -> Vec<Cell> {
    let start = map.start();
    #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "a bend has few flats")]
    let count = (FLATS * map.angle() / maths::FRAC_PI_2).ceil().max(1.0) as u32;
    let step = map.angle() / f64::from(count);
    let radii = [map.radius(0.0), map.radius(-thickness)];
    let (inner, outer) = (radii[0].min(radii[1]), radii[0].max(radii[1]) / maths::cos(0.5 * step));
    // Seen along the bend: away from the parent, and from the axis towards its start.
    let frame = Placement {
        origin: map.axis_point(0.0),
        x: start.y,
        y: start.n.times(-map.sign()),
        n: start.x.times(-map.sign()),
    };
    let reach = if map.sign() > 0.0 { [-span[1], -span[0]] } else { span };
    let at = |radius: f64, angle: f64| {
        let (sin, cos) = maths::sin_cos(angle);
        Point2::new(radius * sin, radius * cos)
    };
    (0..count)
        .map(|i| {
            let (from, to) = (step * f64::from(i), step * f64::from(i + 1));
            let corners = [at(inner, from), at(inner, to), at(outer, to), at(outer, from)];
            Cell::prism(frame, &convex_hull(&corners), reach)
        })
        .collect()
}

/// A convex polygon in the section across the bend, with the outward normals of its sides.
#[derive(Clone, Debug)]
pub(super) struct Section {
    pub(super) corners: Vec<Point2>,
    pub(super) sides: Vec<Vec2>,
}

impl Section {
    pub(super) fn new(corners: Vec<Point2>) -> Self {
        let next = corners.iter().cycle().skip(1);
        let sides = corners.iter().zip(next).map(|(a, b)| (*b - *a).normalized().right()).collect();
        Self { corners, sides }
    }

    /// As [`gap`], in the plane.
    pub(super) fn gap(&self, other: &Self, enough: f64) -> f64 {
        let one_way = |a: &Self, b: &Self, mut best: f64| {
            for (corner, side) in a.corners.iter().zip(&a.sides) {
                let nearest =
                    b.corners.iter().map(|p| (*p - *corner).dot(*side)).fold(f64::INFINITY, f64::min);
                best = best.max(nearest);
                if best > enough {
                    break;
                }
            }
            best
        };
        let best = one_way(self, other, f64::NEG_INFINITY);
        if best > enough { best } else { one_way(other, self, best) }
    }
}
