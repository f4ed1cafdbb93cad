//! Laws of views on random parts, with parry3d as a ray caster that knows nothing of lines.
//!
//! From edges to lines: every place of an edge that no triangle lies before has a visible line, every other one a line.
//! From lines to edges: a visible line has an edge there that nothing lies before, a hidden one only such as something
//! does. A ray that runs along the border of a triangle may hit it or not, so that each place is looked at from three
//! places a hair apart; either answer is right where they differ. Places nearer than a margin to where a line begins,
//! ends or changes are left out.

use kernel::drawing::views::{Direction, Line, LineKind, Path, Projection, Sight};
use kernel::geom::{Point2, Vec2, Vec3};
use kernel::ident::EdgeId;
use kernel::quantity::tolerance;
use kernel::regenerate::regenerate;
use kernel::solid::Zone;
use kernel::solid::brep::Face;
use parry3d_f64::math::Vector;
use parry3d_f64::query::{Ray, RayCast};
use parry3d_f64::shape::TriMesh;
use proptest::prelude::*;
use proptest::strategy::ValueTree;
use proptest::test_runner::TestRunner;

use super::random::random_part;
use super::{Body, distance, points_along, v};

/// How near to an end of a line nothing is asked, in mm: several times the chords' distance from true curves, which
/// is where silhouettes and chords disagree.
const MARGIN_MM: f64 = 0.3;

/// How far apart the places are from which one is looked at, in mm.
const HAIR_MM: f64 = 2e-3;

/// What lies before a place by less than this does not hide it, in mm.
const BEFORE_MM: f64 = 5e-3;

/// How far a line may lie from its edge, in mm.
const OFF_MM: f64 = 0.025;

fn bodies() -> impl Iterator<Item = (Body, Direction)> {
    let mut runner = TestRunner::deterministic();
    let strategy = (random_part(), prop::array::uniform3(-1.0..1.0_f64));
    let named = [Direction::FRONT, Direction::TOP, Direction::RIGHT, Direction::ISOMETRIC, Direction::BOTTOM];
    let mut count = 0;
    std::iter::from_fn(move || {
        loop {
            let (history, [x, y, z]) = strategy.new_tree(&mut runner).unwrap().current();
            let Ok(part) = regenerate(&history) else { continue };
            let Some(body) = Body::of(&part) else { continue };
            let Some(slanting) = Direction::new(v(x, y, z)) else { continue };
            count += 1;
            // Every other part from a named side, where lines lie upon each other.
            let direction = if count % 2 == 0 { slanting } else { named[(count / 2) % named.len()] };
            return Some((body, direction));
        }
    })
}

struct Caster {
    mesh: TriMesh,
    axes: [Vec3<f64>; 2],
    towards: Vec3<f64>,
}

impl Caster {
    fn new(body: &Body, direction: Direction) -> Self {
        let mesh = &body.mesh.mesh;
        let vertices = mesh.vertices.iter().map(|p| Vector::new(p.x, p.y, p.z)).collect();
        let triangles = mesh.faces.iter().map(|f| f.corners).collect();
        let mesh = TriMesh::new(vertices, triangles).unwrap();
        Self { mesh, axes: direction.axes(), towards: direction.towards() }
    }

    fn place(&self, q: Vec3<f64>) -> Point2 {
        Point2::new(q.dot(self.axes[0]), q.dot(self.axes[1]))
    }

    /// Whether something lies before a place, as seen from there and from a hair to both sides of a line along `way`.
    fn hidden(&self, q: Vec3<f64>, way: Vec3<f64>) -> [bool; 3] {
        let along = self.place(way) - Point2::new(0.0, 0.0);
        let aside = along.normalized().left();
        let aside = self.axes[0].times(aside.x) + self.axes[1].times(aside.y);
        [0.0, HAIR_MM, -HAIR_MM].map(|hair| self.is_before(q + aside.times(hair)))
    }

    /// Depth of the first thing that a ray meets, if it belongs to one of these zones.
    fn first(&self, q: Vec3<f64>, zones: &[Zone], body: &Body) -> Option<f64> {
        const FAR_MM: f64 = 1e4;
        let eye = q - self.towards.times(FAR_MM);
        let vector = |p: Vec3<f64>| Vector::new(p.x, p.y, p.z);
        let ray = Ray::new(vector(eye), vector(self.towards));
        let met = self.mesh.cast_local_ray_and_get_normal(&ray, f64::MAX, false)?;
        let face = body.mesh.mesh.faces[met.subshape as usize];
        zones.contains(&face.zone).then_some(met.time_of_impact - FAR_MM)
    }

    fn is_before(&self, q: Vec3<f64>) -> bool {
        const FAR_MM: f64 = 1e4;
        let eye = q - self.towards.times(FAR_MM);
        let vector = |p: Vec3<f64>| Vector::new(p.x, p.y, p.z);
        self.mesh
            .cast_local_ray(&Ray::new(vector(eye), vector(self.towards)), FAR_MM - BEFORE_MM, false)
            .is_some()
    }
}

/// A chord of an edge at which two faces meet at an angle.
struct Way {
    ends: [Vec3<f64>; 2],
    faces: [usize; 2],
}

fn sharp_ways(body: &Body) -> Vec<Way> {
    let mut beside = vec![Vec::new(); body.brep.edges().len()];
    for (index, face) in body.brep.faces().iter().enumerate() {
        body.brep.loops(face).flatten().for_each(|used| beside[used.edge.index()].push(index));
    }
    let mut ways = Vec::new();
    for (index, (edge, faces)) in body.brep.edges().iter().zip(&beside).enumerate() {
        let middle = body.brep.point_on(edge, 0.5);
        let normals: Vec<Vec3<f64>> =
            faces.iter().map(|&f| body.brep.faces()[f].outward_normal(middle)).collect();
        let is_smooth = normals[0].cross(normals[1]).length() <= tolerance::DRAWN_SMOOTH_RAD;
        if is_smooth && normals[0].dot(normals[1]) > 0.0 {
            continue;
        }
        let along = body.mesh.along(EdgeId::new(index));
        let at = |v: u32| body.mesh.mesh.vertices[v as usize];
        let faces = [faces[0], faces[1]];
        ways.extend(along.windows(2).map(|pair| Way { ends: [at(pair[0]), at(pair[1])], faces }));
    }
    ways
}

/// Points of a line about `step` mm apart, without its ends.
fn middles_along(line: &Line, step: f64) -> impl Iterator<Item = Point2> {
    points_along(line, 0.5 * step.min(line.path.length())).into_iter().skip(1).step_by(2)
}

fn near(projection: &Projection, p: Point2, which: impl Fn(Sight) -> bool) -> bool {
    projection.lines.iter().any(|line| which(line.sight) && distance(line, p) <= OFF_MM)
}

/// Whether a line of another sight begins, ends or changes near a place.
fn is_near_an_end(projection: &Projection, p: Point2) -> bool {
    projection.lines.iter().any(|line| {
        let points = points_along(line, line.path.length());
        [points[0], points[points.len() - 1]].iter().any(|end| end.distance(p) < MARGIN_MM)
    })
}

#[test]
fn every_place_of_an_edge_has_the_line_that_rays_ask_for() {
    let (mut asked, mut left_out, mut seen_count, mut hidden_count) = (0, 0, 0, 0);
    for (number, (body, direction)) in bodies().take(120).enumerate() {
        let projection = body.seen(direction);
        let caster = Caster::new(&body, direction);
        for Way { ends: [a, b], .. } in sharp_ways(&body) {
            let way = b - a;
            if caster.place(a).distance(caster.place(b)) < MARGIN_MM {
                continue;
            }
            for share in [0.13, 0.5, 0.81] {
                let q = a + way.times(share);
                let p = caster.place(q);
                if is_near_an_end(&projection, p) {
                    left_out += 1;
                    continue;
                }
                asked += 1;
                let rays = caster.hidden(q, way);
                assert!(near(&projection, p, |_| true), "part {number}: no line at {p:?} {direction:?}");
                if rays == [false; 3] {
                    seen_count += 1;
                    assert!(
                        near(&projection, p, |sight| sight == Sight::Visible),
                        "part {number}: no visible line at {p:?} {q:?} {direction:?}"
                    );
                }
                hidden_count += usize::from(rays == [true; 3]);
            }
        }
    }
    assert!(asked > 3 * left_out && seen_count > 1000 && hidden_count > 1000);
}

#[test]
fn every_line_is_seen_or_hidden_as_rays_say() {
    let (mut visible, mut hidden, mut left_out, mut off) = (0, 0, 0, Vec::new());
    for (number, (body, direction)) in bodies().take(120).enumerate() {
        let projection = body.seen(direction);
        let caster = Caster::new(&body, direction);
        let ways = sharp_ways(&body);
        for line in projection.lines.iter().filter(|line| line.kind == LineKind::Sharp) {
            for p in middles_along(line, 7.0) {
                if is_near_an_end(&projection, p) {
                    left_out += 1;
                    continue;
                }
                let chords_off = if matches!(line.path, Path::Arc(_)) { OFF_MM } else { 1e-6 };
                // What rays say of edges of the line's own faces there.
                let mut own = Vec::new();
                for Way { ends: [a, b], faces } in &ways {
                    let [from, to] = [*a, *b].map(|q| caster.place(q));
                    let way = to - from;
                    let share = (p - from).dot(way) / way.dot(way).max(f64::MIN_POSITIVE);
                    let off = from.lerp(to, share).distance(p);
                    if !(0.0..=1.0).contains(&share) || off > chords_off || *faces != line.faces {
                        continue;
                    }
                    own.push(caster.hidden(*a + (*b - *a).times(share), *b - *a));
                }
                let is_right = match line.sight {
                    Sight::Visible => own.iter().any(|rays| rays.contains(&false)),
                    Sight::Hidden => own.iter().any(|rays| rays.contains(&true)),
                };
                match line.sight {
                    Sight::Visible => visible += 1,
                    Sight::Hidden => hidden += 1,
                }
                if !is_right {
                    off.push(format!("part {number}: {:?} at {p:?}, {direction:?}, {own:?}", line.sight));
                }
            }
        }
    }
    assert!(off.is_empty(), "{} off: {:#?}", off.len(), &off[..off.len().min(12)]);
    assert!(visible > 1000 && hidden > 1000 && visible + hidden > 3 * left_out);
}

/// The zones of a face and of those beside it.
fn zones_about(body: &Body, face: usize) -> Vec<Zone> {
    let faces = body.brep.faces();
    let edges: Vec<EdgeId> = body.brep.loops(&faces[face]).flatten().map(|used| used.edge).collect();
    let is_beside = |f: &&Face| body.brep.loops(f).flatten().any(|used| edges.contains(&used.edge));
    faces.iter().filter(is_beside).map(|f| f.zone).collect()
}

/// At a silhouette that is seen, the face, or the panel that it runs into soon, lies on one side and nothing of both on
/// the other: there a ray goes past them.
#[test]
fn seen_silhouettes_lie_where_rays_leave_the_face() {
    /// How far to both sides one looks, in mm: nearer, chords lie inside of the true face.
    const BESIDE_MM: f64 = 0.06;
    let (mut right, mut wrong) = (0, Vec::new());
    for (number, (body, direction)) in bodies().take(300).enumerate() {
        let projection = body.seen(direction);
        let caster = Caster::new(&body, direction);
        let [x, y] = caster.axes;
        for line in projection.lines.iter().filter(|line| line.faces[0] == line.faces[1]) {
            if line.sight == Sight::Hidden {
                continue;
            }
            let zones = zones_about(&body, line.faces[0]);
            for p in middles_along(line, 7.0).filter(|p| !is_near_an_end(&projection, *p)) {
                let around =
                    (0..8).map(|i| p + Vec2::unit(f64::from(i) * std::f64::consts::FRAC_PI_4) * BESIDE_MM);
                let depths: Vec<Option<f64>> =
                    around.map(|q| caster.first(x.times(q.x) + y.times(q.y), &zones, &body)).collect();
                let hits = depths.iter().flatten().count();
                // A zone may go on behind, where a bend comes back.
                let nearest = depths.iter().flatten().copied().fold(f64::INFINITY, f64::min);
                let near = depths.iter().flatten().filter(|depth| **depth < nearest + 2.0).count();
                if hits > 0 && near < 8 {
                    right += 1;
                } else {
                    wrong.push(format!("part {number}: {p:?}, {direction:?}, {depths:?}"));
                }
            }
        }
    }
    assert!(wrong.is_empty(), "{} wrong: {:#?}", wrong.len(), &wrong[..wrong.len().min(8)]);
    assert!(right > 200);
}

#[test]
fn views_fill_the_box_about_the_part() {
    for (number, (body, _)) in bodies().take(100).enumerate() {
        let [low, high] = body.brep.bounding_box().unwrap();
        for direction in [Direction::FRONT, Direction::TOP, Direction::RIGHT] {
            let [right, up] = direction.axes();
            let points = || body.seen(direction).lines.into_iter().flat_map(|line| points_along(&line, 0.05));
            let most = |axis: fn(Point2) -> f64| points().map(axis).fold(f64::NEG_INFINITY, f64::max);
            let least = |axis: fn(Point2) -> f64| points().map(axis).fold(f64::INFINITY, f64::min);
            let found = [least(|p| p.x), most(|p| p.x), least(|p| p.y), most(|p| p.y)];
            let asked = [low.dot(right), high.dot(right), low.dot(up), high.dot(up)];
            assert!(
                (0..4).all(|i| (found[i] - asked[i]).abs() < OFF_MM),
                "part {number}: {found:?}, {asked:?}, {direction:?}"
            );
        }
    }
}

#[test]
fn from_the_other_side_all_lines_are_mirrored() {
    for (number, (body, direction)) in bodies().take(60).enumerate() {
        let projection = body.seen(direction);
        let other = body.seen(direction.opposite());
        for line in projection.lines.iter().filter(|line| line.kind != LineKind::Tangent) {
            // Looked at along z, what is up changes and not what is to the right.
            let [right, _] = direction.axes();
            let turned = right.dot(direction.opposite().axes()[0]) > 0.0;
            for p in middles_along(line, 5.0) {
                let mirrored = if turned { Point2::new(p.x, -p.y) } else { Point2::new(-p.x, p.y) };
                assert!(near(&other, mirrored, |_| true), "part {number}: {p:?} {direction:?}");
            }
        }
    }
}
