//! Pieces that neighbours are made of: a prism over the hull of discs, or a surface of triangles, each with the
//! straight travel that it may make.
//!
//! A round shaft is a prism over one disc, a box one over four discs without radius, a hexagon head one over six,
//! a chain around two wheels one over two. So there is one convex shape, and one formula for its farthest point.
//! Invariant: a prism has one disc at least, and its lower height comes first. Must not know: what a piece stands for.

use std::collections::HashMap;

use crate::geom::{Box3, Convex, Placement, Point2, Vec3};

/// A disc in the plane of a prism's profile.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Disc {
    /// Its middle, in mm.
    pub centre: Point2,
    /// Its radius in mm, zero for a corner.
    pub radius: f64,
}

/// The convex hull of discs, drawn from one height to another.
#[derive(Clone, Debug, PartialEq)]
pub struct Prism {
    /// Where the plane of the discs lies; the prism is drawn along its normal.
    pub placement: Placement<f64>,
    /// One disc at least.
    pub discs: Vec<Disc>,
    /// Heights along the normal between which it reaches, lower one first, in mm.
    pub reach: [f64; 2],
}

impl Prism {
    /// The cylinder about the normal of `placement`, from `reach[0]` to `reach[1]` mm along it.
    #[must_use]
    pub fn cylinder(placement: Placement<f64>, radius: f64, reach: [f64; 2]) -> Self {
        Self { placement, discs: vec![Disc { centre: Point2::new(0.0, 0.0), radius }], reach }
    }

    /// The box whose middle is the middle of the placement's plane, `width` mm along its x and `depth` mm along its
    /// y, from `reach[0]` to `reach[1]` mm along its normal.
    #[must_use]
    pub fn cuboid(placement: Placement<f64>, [width, depth]: [f64; 2], reach: [f64; 2]) -> Self {
        let corner =
            |x: f64, y: f64| Disc { centre: Point2::new(x * width / 2.0, y * depth / 2.0), radius: 0.0 };
        Self {
            placement,
            discs: vec![corner(-1.0, -1.0), corner(1.0, -1.0), corner(1.0, 1.0), corner(-1.0, 1.0)],
            reach,
        }
    }

    /// The point of the prism that lies farthest along `direction`, which need not have unit length. Of several
    /// alike it is one of them.
    #[must_use]
    pub fn farthest(&self, direction: Vec3<f64>) -> Vec3<f64> {
        let [u, v] = [direction.dot(self.placement.x), direction.dot(self.placement.y)];
        let height = self.reach[usize::from(direction.dot(self.placement.n) > 0.0)];
        let sideways = (u * u + v * v).sqrt();
        let along = |disc: &Disc| disc.centre.x * u + disc.centre.y * v + disc.radius * sideways;
        let mut best = &self.discs[0];
        let mut reach = along(best);
        for disc in &self.discs[1..] {
            let farther = along(disc);
            if farther > reach {
                (best, reach) = (disc, farther);
            }
        }
        let out = if sideways > 0.0 { [u / sideways, v / sideways] } else { [0.0, 0.0] };
        self.placement.point(
            best.centre.x + best.radius * out[0],
            best.centre.y + best.radius * out[1],
            height,
        )
    }
}

/// A surface of triangles; what it closes in belongs to it.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Surface {
    /// Corners in mm.
    pub vertices: Vec<Vec3<f64>>,
    /// Indices into `vertices`, counter-clockwise seen from outside.
    pub triangles: Vec<[u32; 3]>,
}

impl Surface {
    /// The three corners of each triangle.
    pub fn corners(&self) -> impl Iterator<Item = [Vec3<f64>; 3]> + '_ {
        self.triangles.iter().map(|triangle| triangle.map(|index| self.vertices[index as usize]))
    }

    /// How many edges do not lie between two triangles that run along them in opposite ways; zero for a closed surface.
    /// Corners in one place are one corner.
    #[must_use]
    pub fn open_edges(&self) -> usize {
        let mut places = HashMap::new();
        let corners: Vec<usize> = self
            .vertices
            .iter()
            .map(|v| {
                let next = places.len();
                *places.entry(place(*v)).or_insert(next)
            })
            .collect();
        let mut edges: Vec<(usize, usize, bool)> = Vec::with_capacity(3 * self.triangles.len());
        for triangle in &self.triangles {
            let [a, b, c] = triangle.map(|index| corners[index as usize]);
            let between = [(a, b), (b, c), (c, a)].into_iter().filter(|(from, to)| from != to);
            edges.extend(between.map(|(from, to)| (from.min(to), from.max(to), from < to)));
        }
        edges.sort_unstable();
        let ends = |edge: &(usize, usize, bool)| (edge.0, edge.1);
        let runs = edges.chunk_by(|a, b| ends(a) == ends(b));
        runs.filter(|run| 2 * run.iter().filter(|edge| edge.2).count() != run.len()).count()
    }

    /// Whether it closes in a space.
    #[must_use]
    pub fn is_closed(&self) -> bool {
        !self.triangles.is_empty() && self.open_edges() == 0
    }

    /// Enclosed volume in mm³ of a closed surface, by the divergence theorem; negative if it is inside out.
    #[must_use]
    pub fn volume(&self) -> f64 {
        let Some(&origin) = self.vertices.first() else { return 0.0 };
        let six = self.corners().map(|corners| {
            let [a, b, c] = corners.map(|corner| corner - origin);
            a.dot(b.cross(c))
        });
        six.sum::<f64>() / 6.0
    }
}

/// What two corners have in common that lie in one place, bit for bit.
pub(super) fn place(v: Vec3<f64>) -> [u64; 3] {
    // Adding zero makes -0 the same as 0.
    [v.x, v.y, v.z].map(|x| (x + 0.0).to_bits())
}

/// The form of a piece.
#[derive(Clone, Debug, PartialEq)]
pub enum Shape {
    /// Convex, exact.
    Prism(Prism),
    /// Of triangles, as read from a file.
    Surface(Surface),
}

impl Shape {
    /// The same shape in the coordinates in which its own ones lie at `placement`.
    #[must_use]
    pub fn placed(self, placement: Placement<f64>) -> Self {
        match self {
            Self::Prism(prism) => Self::Prism(Prism { placement: placement.after(prism.placement), ..prism }),
            Self::Surface(Surface { vertices, triangles }) => {
                let vertices = vertices.into_iter().map(|v| placement.point(v.x, v.y, v.z)).collect();
                Self::Surface(Surface { vertices, triangles })
            }
        }
    }
}

/// A shape, and the straight travel that it may make: the piece is every place of the shape moved by between none
/// and all of it.
#[derive(Clone, Debug, PartialEq)]
pub struct Piece {
    /// The shape where it stands at the start of its travel.
    pub shape: Shape,
    /// The travel in mm; zero for what stands still.
    pub travel: Vec3<f64>,
}

impl Piece {
    /// A shape that stands still.
    #[must_use]
    pub fn still(shape: Shape) -> Self {
        Self { shape, travel: Vec3::new(0.0, 0.0, 0.0) }
    }

    /// The convex hull of the places that it takes up; none for a surface without vertices.
    #[must_use]
    pub fn hull(&self) -> Option<PieceHull<'_>> {
        let is_something = match &self.shape {
            Shape::Prism(_) => true,
            Shape::Surface(surface) => !surface.vertices.is_empty(),
        };
        is_something.then_some(PieceHull(self))
    }

    /// The box around it; none for a surface without vertices.
    #[must_use]
    pub fn extent(&self) -> Option<Box3> {
        self.hull().map(|hull| Box3::of_body(&hull))
    }
}

/// The convex hull of a piece, wherever it moves to.
#[derive(Clone, Copy, Debug)]
pub struct PieceHull<'a>(&'a Piece);

impl Convex for PieceHull<'_> {
    fn farthest(&self, direction: Vec3<f64>) -> Vec3<f64> {
        let Self(Piece { shape, travel }) = self;
        let start = match shape {
            Shape::Prism(prism) => prism.farthest(direction),
            Shape::Surface(surface) => surface
                .vertices
                .iter()
                .copied()
                .reduce(|a, b| if b.dot(direction) > a.dot(direction) { b } else { a })
                .expect("there is no hull of nothing"),
        };
        if travel.dot(direction) > 0.0 { start + *travel } else { start }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn close(a: Vec3<f64>, b: Vec3<f64>) -> bool {
        (a - b).length() < 1e-12
    }

    #[test]
    fn farthest_point_of_a_cylinder_lies_on_its_rim() {
        let shaft = Prism::cylinder(Placement::identity(), 10.0, [-5.0, 40.0]);
        // Direction (3, 4, 1): the rim point along (0.6, 0.8) at the upper end.
        assert!(close(shaft.farthest(Vec3::new(3.0, 4.0, 1.0)), Vec3::new(6.0, 8.0, 40.0)));
        assert!(close(shaft.farthest(Vec3::new(3.0, 4.0, -1.0)), Vec3::new(6.0, 8.0, -5.0)));
    }

    #[test]
    fn chain_around_two_wheels_reaches_to_the_farther_wheel() {
        let wheel = |x, radius| Disc { centre: Point2::new(x, 0.0), radius };
        let chain = Prism {
            placement: Placement::identity(),
            discs: vec![wheel(0.0, 60.0), wheel(200.0, 30.0)],
            reach: [0.0, 12.0],
        };
        assert!(close(chain.farthest(Vec3::new(1.0, 0.0, 0.0)), Vec3::new(230.0, 0.0, 0.0)));
        assert!(close(chain.farthest(Vec3::new(0.0, 1.0, 0.5)), Vec3::new(0.0, 60.0, 12.0)));
    }

    #[test]
    fn travel_stretches_the_extent_one_way() {
        let plate = Shape::Prism(Prism::cuboid(Placement::identity(), [100.0, 60.0], [0.0, 8.0]));
        let piece = Piece { shape: plate, travel: Vec3::new(0.0, -25.0, 0.0) };
        let Box3 { low, high } = piece.extent().unwrap();
        assert!(close(low, Vec3::new(-50.0, -55.0, 0.0)));
        assert!(close(high, Vec3::new(50.0, 30.0, 8.0)));
    }

    #[test]
    fn surface_without_vertices_has_no_extent() {
        assert_eq!(Piece::still(Shape::Surface(Surface::default())).extent(), None);
    }
}
