//! Distances of round metal against formulas of solid geometry, to 1e-6 mm.

use kernel::fold::FormFace;
use kernel::geom::{Placement, Point2};
use kernel::history::feature::{Bump, BumpSide, Feature};
use kernel::history::{Profile, Shape};
use kernel::machine::Prism;
use kernel::quantity::maths;
use kernel::regenerate::Part;
use kernel::solid::Zone;

use super::parts::{base, cutout, entry, flange, history, line, n, outline, panel};
use super::{along, assert_near, at, bar, bracket, cuboid, made, measured, point, still, v};

#[test]
fn bar_over_the_plate() {
    let found = measured(&bracket(), &[bar(v(0.0, 30.0, 25.0), v(1.0, 0.0, 0.0), 10.0)]);
    assert_near(found.distance, 15.0);
    assert!(matches!(found.zone, Zone::Panel(_)));
    assert_near(found.on_part.z, 0.0);
    assert_near(found.on_neighbour.z, 15.0);
    assert_near(found.direction.z, 1.0);
}

#[test]
fn bars_outside_the_bend_run_along_it_slantwise_and_across() {
    let part = bracket();
    // The axis of the bend is the line y = 5, z = 3; its outer face lies 5 mm away, towards −y and −z.
    for (y, z) in [(-10.0, -10.0), (-1.0, -6.0), (-20.0, 2.0), (4.0, -3.5)] {
        let from_axis = maths::hypot(y - 5.0, z - 3.0);
        let found = measured(&part, &[bar(v(60.0, y, z), v(1.0, 0.0, 0.0), 1.0)]);
        assert_near(found.distance, from_axis - 5.0 - 1.0);
        assert!(matches!(found.zone, Zone::Bend(_)));
    }
    // Skew lines: the distance of the axes is |way · (a × b)| / |a × b|.
    for direction in [v(1.0, 0.2, -0.2), v(0.5, 1.0, -1.0), v(-0.3, 1.0, -1.1), v(0.0, 1.0, -1.0)] {
        let across = v(1.0, 0.0, 0.0).cross(direction);
        let axes = v(0.0, -12.0, -13.0).dot(across).abs() / across.length();
        let found = measured(&part, &[bar(v(60.0, -7.0, -10.0), direction, 2.0)]);
        assert_near(found.distance, axes - 5.0 - 2.0);
        assert!(matches!(found.zone, Zone::Bend(_)));
    }
}

#[test]
fn pins_inside_the_bend() {
    let part = bracket();
    // Parallel to the axis and off it towards the metal: the inner face is 3 mm from the axis.
    for (y, z) in [(-0.5, -0.5), (-1.0, -0.2), (-0.01, -0.7), (-1e-5, -1e-5)] {
        let found = measured(&part, &[bar(v(60.0, 5.0 + y, 3.0 + z), v(1.0, 0.0, 0.0), 0.5)]);
        assert_near(found.distance, 3.0 - maths::hypot(y, z) - 0.5);
    }
    // About the axis itself all places are as near.
    let found = measured(&part, &[bar(v(60.0, 5.0, 3.0), v(1.0, 0.0, 0.0), 0.5)]);
    assert_near(found.distance, 2.5);
    // A point off the axis.
    assert_near(measured(&part, &[point(v(60.0, 4.2, 2.4))]).distance, 3.0 - 1.0);
}

#[test]
fn shafts_through_the_hole_are_nearest_to_its_rim_or_wall() {
    let part = bracket();
    let up = v(0.0, 0.0, 1.0);
    // Off the middle by (3, 4)/5 of e, right through: 10 − r − e.
    for (radius, e) in [(6.0, 0.0), (6.0, 1.0), (2.0, 6.5), (9.9, 0.05)] {
        let found = measured(&part, &[bar(v(60.0 + 0.6 * e, 50.0 + 0.8 * e, 0.0), up, radius)]);
        assert_near(found.distance, 10.0 - radius - e);
    }
    // Ending at a height over the plate: from rim to rim.
    for (radius, e, height) in [(6.0, 0.0, 3.0), (6.0, 1.5, 0.5), (2.0, 4.0, 7.0)] {
        let shaft =
            Prism::cylinder(along(v(60.0 - 0.8 * e, 50.0 + 0.6 * e, 0.0), up), radius, [height, 90.0]);
        let found = measured(&part, &[still(shaft)]);
        assert_near(found.distance, maths::hypot(10.0 - radius - e, height));
    }
    // Larger than the hole: as high as it stands over the plate.
    let shaft = Prism::cylinder(along(v(60.0, 50.0, 0.0), up), 14.0, [2.5, 90.0]);
    assert_near(measured(&part, &[still(shaft)]).distance, 2.5);
    // A point over the middle of the hole, and one over its rim.
    assert_near(measured(&part, &[point(v(60.0, 50.0, 7.5))]).distance, 12.5);
    assert_near(measured(&part, &[point(v(60.0, 47.0, -6.0))]).distance, maths::hypot(7.0, 4.0));
}

#[test]
fn box_beside_round_corners_of_a_plate() {
    let corner = |x: f64, y: f64| [x, y];
    let edges = ["a", "b", "c", "d"].map(line);
    let plate = outline(
        &[corner(0.0, 0.0), corner(100.0, 0.0), corner(100.0, 60.0), corner(40.0, 60.0)],
        edges.to_vec(),
    );
    let part = made(&history(2.0, 3.0, 0.4, vec![base("plate", plate)]));
    // A corner of the box points at the slanted edge from (40, 60) to (0, 0): line 3 x − 2 y = 0.
    let found = measured(&part, &[cuboid(v(-10.0, 40.0, -5.0), v(10.0, 50.0, 5.0))]);
    assert_near(found.distance, (3.0 * 10.0 - 2.0 * 40.0_f64).abs() / 13.0_f64.sqrt());
}

/// A plate of 300 x 200, sheet 2 mm, with one bump 12 mm high about (150, 100).
fn bumped(profile: Shape, draft: f64) -> Part {
    let bump = Bump {
        panel: panel("plate"),
        profile,
        pattern: at(&[[150.0, 100.0]]),
        x_from: kernel::history::feature::XFrom::Left,
        height: n(12.0),
        side: BumpSide::In,
        draft: n(draft),
        punch_radius: Some(n(3.0)),
        die_radius: Some(n(4.0)),
        corner_radius: Some(n(20.0)),
    };
    made(&history(
        2.0,
        2.0,
        0.4,
        vec![
            base("plate", Profile::rectangle(&n(300.0), &n(200.0))),
            entry("wall", Feature::Flange(flange(&["plate/front"], 90.0, 30.0))),
            entry("bump", Feature::Bump(bump)),
        ],
    ))
}

#[test]
fn points_and_bars_beside_a_bump_are_as_far_as_its_section_says() {
    let round = Shape::Circle { diameter: n(80.0) };
    let corners = [[-45.0, -45.0], [45.0, -45.0], [45.0, 45.0], [-45.0, 45.0]];
    let square = Shape::Outline(outline(&corners, ["a", "b", "c", "d"].map(line).to_vec()));
    for draft in [0.0, 20.0, 45.0] {
        let part = bumped(round.clone(), draft);
        let form = &part.tree.forms()[0];
        let section = form.section.profile(FormFace::Raised);
        let to_section =
            |p: Point2| section.iter().map(|(_, piece)| piece.distance_to(p)).fold(f64::INFINITY, f64::min);
        let radius = 0.5 * form.top().bounding_box().width();
        // (outside the top's outline, height): near the punch fillet, the wall and the die fillet.
        for (offset, height, angle) in
            [(2.0, 13.5, 0.3), (9.0, 12.0, 2.0), (12.0, 6.0, 4.0), (15.0, 3.0, 5.5)]
        {
            let (sin, cos) = maths::sin_cos(angle);
            let p = v(150.0 + (radius + offset) * cos, 100.0 + (radius + offset) * sin, height);
            let by_hand = to_section(Point2::new(offset, height));
            let inside_foot = offset < form.section.width();
            let wanted = if inside_foot { by_hand } else { by_hand.min(height) };
            assert_near(measured(&part, &[point(p)]).distance, wanted);
        }
        let part = bumped(square.clone(), draft);
        let form = &part.tree.forms()[0];
        let edge = form.top().bounding_box().max.x;
        let pin = Prism::cylinder(along(v(edge + 12.0, 100.0, 9.0), v(0.0, 1.0, 0.0)), 1.0, [-5.0, 5.0]);
        assert_near(measured(&part, &[still(pin)]).distance, to_section(Point2::new(12.0, 9.0)) - 1.0);
    }
}

#[test]
fn hole_that_crosses_the_bend_has_rims_on_both_cylinders() {
    // A wall at 90° whose bend carries a round hole of the blank about the middle of the strip.
    let mut hole = cutout("plate", Shape::Circle { diameter: n(16.0) }, at(&[[60.0, 4.0]]));
    hole.reach = kernel::history::feature::Reach::Blank;
    let part = made(&history(
        2.0,
        3.0,
        0.4,
        vec![
            base("plate", Profile::rectangle(&n(120.0), &n(80.0))),
            entry("wall", Feature::Flange(flange(&["plate/front"], 90.0, 50.0))),
            entry("hole", Feature::Cutout(hole)),
        ],
    ));
    let bend = &part.tree.bends()[0];
    let frames = part.tree.placements(&kernel::fold::FoldFractions::all(&part.tree, 1.0));
    let map = part.tree.strip_map(bend, &frames, &kernel::fold::FoldFractions::all(&part.tree, 1.0));
    // The wall of the hole, in the strip and in both panels: every place of it at every depth, looked over densely,
    // gives what points within the hole have as nearest.
    type Lift<'a> = Box<dyn Fn(Point2, f64) -> kernel::geom::Vec3<f64> + 'a>;
    let mut pieces: Vec<(kernel::geom::Segment, Lift<'_>)> = Vec::new();
    for piece in bend.region.contours().iter().flat_map(|c| c.segments()) {
        pieces.push((*piece, Box::new(|q, depth| map.point(q.x, q.y, depth))));
    }
    for panel in part.tree.panels() {
        let frame = frames[panel.id.index()];
        for piece in panel.region.contours().iter().flat_map(|c| c.segments()) {
            pieces.push((*piece, Box::new(move |q, depth| frame.lift(q, depth))));
        }
    }
    for p in [v(60.0, 1.5, -0.5), v(58.0, -1.0, -2.0), v(63.0, 3.0, 1.0)] {
        let mut least = f64::INFINITY;
        for (piece, lift) in &pieces {
            let distance = |t: f64, depth: f64| (lift(piece.point_at(t), depth) - p).length();
            // Depth by depth the least along the piece by golden section around the best of many places.
            let along = |depth: f64| {
                let count = 500;
                let places = (0..=count).map(|i| f64::from(i) / f64::from(count));
                let best = places.min_by(|a, b| distance(*a, depth).total_cmp(&distance(*b, depth))).unwrap();
                golden((best - 4e-3).max(0.0), (best + 4e-3).min(1.0), |t| distance(t, depth))
            };
            let count = 40;
            let depths = (0..=count).map(|i| -2.0 * f64::from(i) / f64::from(count));
            let best = depths.min_by(|a, b| along(*a).total_cmp(&along(*b))).unwrap();
            least = least.min(golden((best - 0.05).max(-2.0), (best + 0.05).min(0.0), along));
        }
        assert_near(measured(&part, &[point(p)]).distance, least);
    }
}

/// The least value of a function with one valley.
fn golden(mut low: f64, mut high: f64, function: impl Fn(f64) -> f64) -> f64 {
    const SHARE: f64 = 0.618_033_988_749_895;
    for _ in 0..45 {
        let [a, b] = [high - SHARE * (high - low), low + SHARE * (high - low)];
        if function(a) < function(b) { high = b } else { low = a }
    }
    function(low).min(function(high)).min(function(0.5 * (low + high)))
}

#[test]
fn hexagon_head_over_the_plate_turned_so_that_an_edge_points_at_the_wall() {
    // Across flats 13 mm (ISO 4017, M8, from memory); a corner lies 13 / √3 from the axis.
    let corner = 13.0 / 3.0_f64.sqrt();
    let discs = (0..6).map(|i| {
        let (sin, cos) = maths::sin_cos(maths::PI * (0.5 + f64::from(i) / 3.0));
        kernel::machine::Disc { centre: Point2::new(corner * cos, corner * sin), radius: 0.0 }
    });
    let placement = Placement { origin: v(60.0, 20.0, 10.0), ..Placement::identity() };
    let head = Prism { placement, discs: discs.collect(), reach: [0.0, 5.3] };
    // The wall's inner face is y = 2, 18 mm from the axis; the plate is 10 mm below.
    assert_near(measured(&bracket(), &[still(head.clone())]).distance, 10.0);
    let near = Prism { placement: Placement { origin: v(60.0, 14.0, 20.0), ..placement }, ..head };
    assert_near(measured(&bracket(), &[still(near)]).distance, 12.0 - corner);
}
