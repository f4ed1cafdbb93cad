//! What passes through an opening and what contains it, over random outlines of lines and arcs, against dense
//! samples and against the same outline moved, turned, scaled and run backwards.

#![allow(clippy::unwrap_used, reason = "a check stops at the first surprise, in its helping functions too")]

use kernel::geom::{
    Contour, Motion2, Place, Point2, Region, RegionLocator, Segment, Tag, Vec2, first_self_contact,
    largest_circle_in, largest_square_in, narrowest_slot_around, smallest_circle_around,
    smallest_square_around,
};
use kernel::quantity::maths;
use proptest::prelude::*;

/// Corners around the origin by radius, and how far each edge bulges as a share of its chord; below a twentieth it is
/// straight.
fn outline(spokes: &[(f64, f64)], scale: f64) -> Option<Contour> {
    let number = |count: usize| f64::from(u32::try_from(count).unwrap());
    let step = maths::TAU / number(spokes.len());
    let corner =
        |i: usize| Point2::ORIGIN + Vec2::unit(step * number(i)) * (scale * spokes[i % spokes.len()].0);
    let at: Vec<Point2> = (0..spokes.len()).map(corner).collect();
    let pieces = (0..at.len()).map(|i| {
        let (a, b) = (at[i], at[(i + 1) % at.len()]);
        let bulge = spokes[i].1;
        let via = a.midpoint(b) + (b - a).right() * bulge;
        let arc = Segment::arc_through(a, via, b, Tag(0)).filter(|_| bulge.abs() > 0.05);
        arc.unwrap_or(Segment::line(a, b, Tag(0)))
    });
    Contour::new(pieces.collect()).ok().filter(|c| first_self_contact(c).is_none())
}

fn spokes() -> impl Strategy<Value = Vec<(f64, f64)>> {
    proptest::collection::vec((5.0..40.0_f64, -0.3..0.3_f64), 3..9)
}

/// Diameter, side, around: circle, square, slot's width.
fn figures(contour: &Contour) -> [f64; 5] {
    let region = Region::inside(contour.clone());
    let circle = largest_circle_in(&region).unwrap();
    [
        circle.radius,
        largest_square_in(&region, circle).length,
        smallest_circle_around(contour).radius,
        smallest_square_around(contour).length,
        narrowest_slot_around(contour).width,
    ]
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 24, ..ProptestConfig::default() })]

    #[test]
    fn no_sample_is_better(spokes in spokes()) {
        let Some(contour) = outline(&spokes, 1.0) else { return Ok(()) };
        let region = Region::inside(contour.clone());
        let locator = RegionLocator::new(&region);
        let distance = |p: Point2| contour.segments().iter().map(|s| s.distance_to(p)).fold(f64::INFINITY, f64::min);
        let circle = largest_circle_in(&region).unwrap();
        // The circle passes.
        prop_assert!(locator.place(circle.centre) == Place::Inside);
        prop_assert!(distance(circle.centre) >= circle.radius - 1e-9);
        let bounds = contour.bounding_box();
        for i in 0..=60 {
            for j in 0..=60 {
                let share = |k: i32| f64::from(k) / 60.0;
                let p = bounds.min + Vec2::new(bounds.width() * share(i), bounds.height() * share(j));
                if locator.place(p) == Place::Inside {
                    prop_assert!(distance(p) <= circle.radius + 2e-9, "{p:?}");
                }
            }
        }
        // The square passes: its outline lies inside.
        let square = largest_square_in(&region, circle);
        let half = 0.5 * square.length - 1e-7;
        for k in 0..200 {
            let turn = maths::TAU * f64::from(k) / 200.0;
            let (x, y) = (maths::cos(turn), maths::sin(turn));
            let out = half / x.abs().max(y.abs());
            let p = square.middle + square.along * (x * out) + square.along.left() * (y * out);
            prop_assert!(locator.place(p) != Place::Outside, "{square:?}");
        }
        // What contains it does, and no sampled one is smaller.
        let around = smallest_circle_around(&contour);
        let slot = narrowest_slot_around(&contour);
        let box_around = smallest_square_around(&contour);
        let places: Vec<Point2> =
            contour.segments().iter().flat_map(|s| (0..64).map(|k| s.point_at(f64::from(k) / 64.0))).collect();
        for &p in &places {
            prop_assert!(around.centre.distance(p) <= around.radius + 1e-9);
            let out = p - slot.middle;
            prop_assert!(out.dot(slot.along).abs() <= 0.5 * slot.length + 1e-9);
            prop_assert!(out.cross(slot.along).abs() <= 0.5 * slot.width + 1e-9);
        }
        let extent = |u: Vec2| {
            let reach: Vec<f64> = places.iter().map(|p| (*p - Point2::ORIGIN).dot(u)).collect();
            let least = reach.iter().copied().fold(f64::INFINITY, f64::min);
            reach.iter().copied().fold(f64::NEG_INFINITY, f64::max) - least
        };
        // Samples of an arc miss at most its sagitta over a 64th.
        let missed = 0.01;
        for k in 0..720 {
            let u = Vec2::unit(maths::PI * f64::from(k) / 720.0);
            prop_assert!(extent(u) >= slot.width - missed);
            prop_assert!(extent(u).max(extent(u.left())) >= box_around.length - missed);
        }
        for k in 0..100 {
            let moved = around.centre + Vec2::unit(f64::from(k)) * (0.002 * f64::from(k));
            let reach = places.iter().map(|p| moved.distance(*p)).fold(0.0, f64::max);
            prop_assert!(reach >= around.radius - missed);
        }
    }

    #[test]
    fn figures_do_not_depend_on_how_the_outline_is_laid(
        spokes in spokes(), turn in 0.0..6.0_f64, scale in 0.05..20.0_f64, first in 0..9_usize,
    ) {
        let Some(contour) = outline(&spokes, 1.0) else { return Ok(()) };
        let wanted = figures(&contour);
        let motion = Motion2 { x_axis: Vec2::unit(turn), origin: Point2::new(123.0, -45.0) };
        let mut turned = contour.segments().to_vec();
        let count = turned.len();
        turned.rotate_left(first % count);
        let others = [
            (contour.moved(motion), 1.0),
            (contour.reversed(), 1.0),
            (Contour::new(turned).unwrap(), 1.0),
            (outline(&spokes, scale).unwrap(), scale),
        ];
        for (other, scale) in others {
            let got = figures(&other);
            for (index, (g, w)) in got.into_iter().zip(wanted).enumerate() {
                // Squares are told to a thousandth, the rest to 1e-9 and rounding.
                let within = if index == 1 { 1.01e-3 * w * scale } else { 3e-9 * scale.max(1.0) };
                prop_assert!((g - w * scale).abs() <= within, "figure {index}: {g} against {}", w * scale);
            }
        }
    }
}
