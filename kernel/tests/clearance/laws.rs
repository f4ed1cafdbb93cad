//! Laws of distances, and distances of random parts against their meshes.

use kernel::fold::FoldFractions;
use kernel::geom::{Placement, Vec3};
use kernel::machine::{Piece, Prism, Shape, Surface};
use kernel::regenerate::{Part, regenerate};
use kernel::solid::{Metal, Obstacle, clearance};
use parry3d_f64::math::{Pose, Vector};
use parry3d_f64::query;
use parry3d_f64::shape::TriMesh;
use proptest::prelude::*;
use proptest::strategy::ValueTree;
use proptest::test_runner::TestRunner;

use super::random::random_part;
use super::{along, v};

/// How far meshes may leave the true part, in mm.
const CHORD_MM: f64 = 1e-3;

/// A box or round bar somewhere near parts of some hundred mm.
fn neighbour() -> impl Strategy<Value = Prism> {
    let place = prop::array::uniform3(-60.0..140.0_f64);
    let turn = prop::array::uniform3(-1.0..1.0_f64);
    let size = prop::array::uniform3(prop_oneof![Just(0.4), 1.0..60.0_f64]);
    (place, turn, size, any::<bool>()).prop_map(|(at, turn, [a, b, c], round)| {
        let placement = along(v(at[0], at[1], at[2]), v(turn[0], turn[1], turn[2] + 0.01));
        if round {
            Prism::cylinder(placement, a, [-b, c])
        } else {
            Prism::cuboid(placement, [a, b], [0.0, c])
        }
    })
}

fn parts() -> impl Iterator<Item = (Part, Vec<Prism>)> {
    let mut runner = TestRunner::deterministic();
    let strategy = (random_part(), prop::collection::vec(neighbour(), 5));
    std::iter::from_fn(move || {
        loop {
            let (history, prisms) = strategy.new_tree(&mut runner).unwrap().current();
            if let Ok(part) = regenerate(&history) {
                return Some((part, prisms));
            }
        }
    })
}

fn tri_mesh(vertices: &[Vec3<f64>], triangles: Vec<[u32; 3]>) -> TriMesh {
    TriMesh::new(vertices.iter().map(|p| Vector::new(p.x, p.y, p.z)).collect(), triangles).unwrap()
}

/// The mesh of a box.
fn box_surface(prism: &Prism) -> Surface {
    let corner = |i: usize| {
        let disc = prism.discs[[0, 1, 3, 2][i & 3]];
        prism.placement.lift(disc.centre, prism.reach[i >> 2])
    };
    let squares = [[0, 2, 3, 1], [4, 5, 7, 6], [0, 1, 5, 4], [2, 6, 7, 3], [0, 4, 6, 2], [1, 3, 7, 5]];
    Surface {
        vertices: (0..8).map(corner).collect(),
        triangles: squares.iter().flat_map(|&[a, b, c, d]| [[a, b, c], [a, c, d]]).collect(),
    }
}

/// Boxes beside random parts: the distance of the meshes is as large, but for chords.
#[test]
fn distances_of_random_parts_are_those_of_their_meshes() {
    let (mut apart, mut meeting) = (0, 0);
    for (part, prisms) in parts().take(200) {
        let folded = FoldFractions::all(&part.tree, 1.0);
        let Ok(mesh) = part.mesh(&folded, CHORD_MM) else { continue };
        let metal = Metal::new(&part.tree, &folded).unwrap();
        let own = tri_mesh(&mesh.vertices, mesh.faces.iter().map(|f| f.corners).collect());
        for prism in prisms.iter().filter(|prism| prism.discs.len() == 4) {
            let surface = box_surface(prism);
            let other = tri_mesh(&surface.vertices, surface.triangles.clone());
            let still = Pose::identity();
            let wanted = query::distance(&still, &own, &still, &other).unwrap().distance;
            let solid = [Piece::still(Shape::Prism(prism.clone()))];
            let hollow = [Piece::still(Shape::Surface(surface))];
            let got = clearance(&metal, &Obstacle::new(&solid)).unwrap();
            if got.distance > 0.0 {
                apart += 1;
                assert!((got.distance - wanted).abs() <= 2.0 * CHORD_MM, "{} {wanted} {got:?}", got.distance);
                let far = clearance(&metal, &Obstacle::new(&hollow)).unwrap();
                assert!((got.distance - far.distance).abs() < 1e-7, "{got:?} {far:?}");
            } else {
                meeting += 1;
                // Of meshes one may lie in the other.
                let inside = clearance(&metal, &Obstacle::new(&hollow)).unwrap();
                assert!(inside.distance <= 0.0, "{got:?} {inside:?}");
                // Moved out by the way that is given it is free, and a little less far it is not.
                for (share, free) in [(1.0, true), (0.99, false)] {
                    let by = got.direction.times(-got.distance * share + if free { 1e-6 } else { -1e-6 });
                    let placement = Placement { origin: prism.placement.origin + by, ..prism.placement };
                    let moved = [Piece::still(Shape::Prism(Prism { placement, ..prism.clone() }))];
                    let after = clearance(&metal, &Obstacle::new(&moved)).unwrap();
                    assert!((after.distance > 0.0) == free || -got.distance < 1e-4, "{got:?} {after:?}");
                }
            }
        }
    }
    assert!(apart > 200 && meeting > 30, "{apart} apart, {meeting} meeting");
}

#[test]
fn a_larger_neighbour_is_never_farther() {
    let mut compared = 0;
    for (part, prisms) in parts().take(60) {
        let metal = Metal::new(&part.tree, &FoldFractions::all(&part.tree, 1.0)).unwrap();
        for prism in prisms.into_iter().filter(|prism| prism.discs.len() == 1) {
            let mut last = f64::INFINITY;
            for growth in [0.0, 0.5, 3.0, 20.0] {
                let mut grown = prism.clone();
                grown.discs[0].radius += growth;
                let got = clearance(&metal, &Obstacle::new(&[Piece::still(Shape::Prism(grown))])).unwrap();
                // Of overlaps only a way out is known, which need not be the shortest.
                assert!(got.distance.max(0.0) <= last + 1e-7, "{got:?} after {last}");
                last = got.distance.max(0.0);
                compared += 1;
            }
        }
    }
    assert!(compared > 200, "{compared}");
}

#[test]
fn travel_takes_the_least_of_all_places_on_the_way() {
    let mut compared = 0;
    for (part, prisms) in parts().take(15) {
        let metal = Metal::new(&part.tree, &FoldFractions::all(&part.tree, 1.0)).unwrap();
        for prism in prisms {
            let travel = v(30.0, -20.0, 45.0);
            let at = |share: f64| {
                let placement =
                    Placement { origin: prism.placement.origin + travel.times(share), ..prism.placement };
                let piece = Piece::still(Shape::Prism(Prism { placement, ..prism.clone() }));
                clearance(&metal, &Obstacle::new(&[piece])).unwrap().distance.max(0.0)
            };
            let moving = Piece { shape: Shape::Prism(prism.clone()), travel };
            let got = clearance(&metal, &Obstacle::new(&[moving])).unwrap().distance.max(0.0);
            let steps = 200;
            let least =
                (0..=steps).map(|i| at(f64::from(i) / f64::from(steps))).fold(f64::INFINITY, f64::min);
            // Between two looks it moves by 0.29 mm.
            assert!(
                got <= least + 1e-7 && least <= got + 0.15,
                "{got} {least} {prism:?} {:?}",
                (0..=20).map(|i| at(f64::from(i) / 20.0)).collect::<Vec<_>>()
            );
            compared += 1;
        }
    }
    assert!(compared > 50, "{compared}");
}

#[test]
fn moving_part_and_neighbour_together_changes_nothing() {
    // The same plate drawn elsewhere in its plane: its frame stays, its outline moves.
    use super::parts::{base, entry, flange, history, line, outline};
    use kernel::history::feature::Feature;
    let drawn = |x: f64, y: f64| {
        let corners = [[x, y], [x + 90.0, y], [x + 90.0, y + 60.0], [x, y + 60.0]];
        let names = ["front", "right", "back", "left"].map(line);
        let wall = flange(&["plate/front", "plate/right"], 75.0, 40.0);
        let features =
            vec![base("plate", outline(&corners, names.to_vec())), entry("wall", Feature::Flange(wall))];
        regenerate(&history(1.5, 2.0, 0.44, features)).unwrap()
    };
    let (here, there) = (drawn(0.0, 0.0), drawn(700.0, -300.0));
    let mut runner = TestRunner::deterministic();
    let strategy = neighbour();
    for _ in 0..100 {
        let prism = strategy.new_tree(&mut runner).unwrap().current();
        let origin = prism.placement.origin + v(700.0, -300.0, 0.0);
        let moved = Prism { placement: Placement { origin, ..prism.placement }, ..prism.clone() };
        let measured = |part: &Part, prism: Prism| {
            let pieces = [Piece::still(Shape::Prism(prism))];
            let metal = Metal::new(&part.tree, &FoldFractions::all(&part.tree, 1.0)).unwrap();
            clearance(&metal, &Obstacle::new(&pieces)).unwrap()
        };
        let (a, b) = (measured(&here, prism), measured(&there, moved));
        // Distances are exact to 2e-7 mm; a way out is no longer turned when that saves less than 1e-7 mm, and
        // rounding decides how often it is turned before.
        let bound = if a.distance > 0.0 { 2e-7 } else { 1e-6 };
        assert!((a.distance - b.distance).abs() < bound, "{a:?} {b:?}");
    }
}
