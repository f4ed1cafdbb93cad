//! Planted overlaps are all found, with the way out that a hand finds.

use kernel::geom::{Placement, Vec3};
use kernel::machine::{Piece, Prism, Shape, Surface};
use kernel::solid::{Clearance, Zone};

use super::{along, assert_near, bar, bracket, cuboid, measured, still, v};

#[track_caller]
fn assert_overlap(found: Clearance, depth: f64, direction: Vec3<f64>) {
    assert_near(found.distance, -depth);
    assert!((found.direction - direction).length() < 1e-6, "{found:?}");
}

/// The surface of a box, wound outwards.
fn surface(low: Vec3<f64>, high: Vec3<f64>) -> Surface {
    let x = [low.x, high.x];
    let y = [low.y, high.y];
    let z = [low.z, high.z];
    let vertices = (0..8).map(|i| v(x[i & 1], y[(i >> 1) & 1], z[i >> 2])).collect();
    let squares = [[0, 2, 3, 1], [4, 5, 7, 6], [0, 1, 5, 4], [2, 6, 7, 3], [0, 4, 6, 2], [1, 3, 7, 5]];
    let triangles = squares.iter().flat_map(|&[a, b, c, d]| [[a, b, c], [a, c, d]]).collect();
    Surface { vertices, triangles }
}

fn of_surface(surface: Surface) -> Piece {
    Piece::still(Shape::Surface(surface))
}

#[test]
fn bar_that_dips_into_the_plate_is_lifted_out() {
    // 0.75 mm deep from above; the bar ends beyond the plate on both sides.
    let found = measured(&bracket(), &[bar(v(0.0, 70.0, 9.25), v(1.0, 0.0, 0.0), 10.0)]);
    assert_overlap(found, 0.75, v(0.0, 0.0, 1.0));
    assert!(matches!(found.zone, Zone::Panel(_)));
    assert_near(found.on_part.x.clamp(0.0, 120.0), found.on_part.x);
    assert!(-2.0 <= found.on_part.z && found.on_part.z <= 1e-6, "{found:?}");
}

#[test]
fn block_that_cuts_into_the_end_of_the_plate_is_drawn_back() {
    let found = measured(&bracket(), &[cuboid(v(116.5, 40.0, -20.0), v(150.0, 70.0, 20.0))]);
    assert_overlap(found, 3.5, v(1.0, 0.0, 0.0));
}

#[test]
fn bar_that_bites_the_bend_leaves_away_from_its_axis() {
    // Axes 8 mm apart at 45°, radii 5 and 4: 1 mm too near.
    let off = 8.0 / 2.0_f64.sqrt();
    let found = measured(&bracket(), &[bar(v(0.0, 5.0 - off, 3.0 - off), v(1.0, 0.0, 0.0), 4.0)]);
    let out = -1.0 / 2.0_f64.sqrt();
    assert_overlap(found, 1.0, v(0.0, out, out));
    assert!(matches!(found.zone, Zone::Bend(_)));
}

#[test]
fn shaft_too_thick_for_the_hole_and_off_its_middle() {
    // In a hole of 20 mm a shaft of 12 mm, 5 mm off: 1 mm into the wall of the hole.
    let found = measured(&bracket(), &[bar(v(65.0, 50.0, 0.0), v(0.0, 0.0, 1.0), 6.0)]);
    assert_overlap(found, 1.0, v(-1.0, 0.0, 0.0));
}

#[test]
fn pin_wholly_inside_the_metal() {
    // A pin of 0.5 mm in the middle of the sheet: its top is 0.5 mm below the inner face, its foot 0.3 mm above the
    // outer one.
    let pin = Prism::cylinder(along(v(30.0, 60.0, 0.0), v(0.0, 0.0, 1.0)), 0.25, [-1.7, -0.5]);
    assert_overlap(measured(&bracket(), &[still(pin)]), 1.5, v(0.0, 0.0, -1.0));
    let cube = of_surface(surface(v(30.0, 60.0, -1.7), v(30.5, 60.5, -0.5)));
    assert_overlap(measured(&bracket(), &[cube]), 1.5, v(0.0, 0.0, -1.0));
}

#[test]
fn part_wholly_inside_a_neighbour() {
    // The part reaches from −2 to 48 in z: a block up to z = 60 leaves downwards after 62 mm, upwards after
    // 148 mm; sideways it has farther to go.
    let (low, high) = (v(-300.0, -300.0, -100.0), v(300.0, 300.0, 60.0));
    assert_overlap(measured(&bracket(), &[cuboid(low, high)]), 62.0, v(0.0, 0.0, -1.0));
    assert_overlap(measured(&bracket(), &[of_surface(surface(low, high))]), 62.0, v(0.0, 0.0, -1.0));
}

#[test]
fn open_surface_around_the_part_holds_nothing() {
    let mut open = surface(v(-300.0, -300.0, -100.0), v(300.0, 300.0, 60.0));
    open.triangles.pop();
    let pieces = [of_surface(open)];
    assert!(kernel::solid::Obstacle::new(&pieces).is_open());
    assert_near(measured(&bracket(), &pieces).distance, 12.0);
}

#[test]
fn touching_is_neither_near_nor_deep() {
    let found = measured(&bracket(), &[cuboid(v(20.0, 20.0, 0.0), v(40.0, 40.0, 10.0))]);
    assert_eq!(found.distance, 0.0);
    // A bar that rests on the plate and on the wall at once.
    let found = measured(&bracket(), &[bar(v(0.0, 10.0, 8.0), v(1.0, 0.0, 0.0), 8.0)]);
    assert_eq!(found.distance, 0.0);
}

#[test]
fn plate_that_travels_through_the_wall_is_found_though_both_its_ends_are_clear() {
    let placement = Placement { origin: v(60.0, -40.0, 30.0), ..Placement::identity() };
    let plate = Prism::cuboid(placement, [20.0, 10.0], [0.0, 4.0]);
    let travel = v(0.0, 80.0, 0.0);
    let end = Placement { origin: placement.origin + travel, ..placement };
    assert_near(measured(&bracket(), &[still(plate.clone())]).distance, 35.0);
    assert_near(measured(&bracket(), &[still(Prism { placement: end, ..plate.clone() })]).distance, 30.0);
    // Up over the wall's upper edge at z = 48 from its lower side at z = 30.
    let found = measured(&bracket(), &[Piece { shape: Shape::Prism(plate), travel }]);
    assert_overlap(found, 18.0, v(0.0, 0.0, 1.0));
}

#[test]
fn two_pieces_of_a_neighbour_come_free_together() {
    // One presses on the plate from above, one on the wall from inside: out along the diagonal or one by one.
    let pieces =
        [cuboid(v(20.0, 30.0, -1.0), v(40.0, 40.0, 9.0)), cuboid(v(20.0, 1.0, 20.0), v(40.0, 9.0, 30.0))];
    let found = measured(&bracket(), &pieces);
    // Moved by (0, 1, 1) both are free, 1.414 mm.
    assert_near(found.distance, -2.0_f64.sqrt());
}
