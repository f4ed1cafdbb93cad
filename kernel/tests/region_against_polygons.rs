//! Booleans of regions against an independent polygon library and against the laws of sets.
//!
//! Each figure is also cut into fine chords and combined by `geo`. The two areas may differ by no more than
//! the segments between arcs and chords of both operands (the symmetric difference of any boolean lies within
//! the symmetric differences of its operands) plus what snapping and the library's integer grid may move.
//! The laws `|A∪B| + |A∩B| = |A| + |B|` and `|A−B| + |A∩B| = |A|` are checked to the snap tolerance alone.
//! The figures seek trouble: shared edges, grids, tangent arcs, touching corners, offsets near the snap
//! tolerance, identical and nested figures.

use geo::{Area, BooleanOps, Coord, LineString, Polygon};
use kernel::geom::{
    ArcTurn, Contour, Motion2, Point2, Region, Segment, Tag, Vec2, difference, first_self_contact,
    intersection, union,
};
use kernel::quantity::{maths, tolerance};
use proptest::prelude::*;

/// One closed outline with holes strictly inside, and how it is placed.
#[derive(Clone, Copy, Debug)]
enum Shape {
    Rectangle { width: f64, height: f64 },
    Disc { radius: f64 },
    Slot { length: f64, radius: f64 },
    RoundedPlate { width: f64, height: f64, radius: f64 },
    NotchedPlate { width: f64, height: f64, radius: f64 },
    Ring { outer: f64, inner: f64 },
    Frame { width: f64, height: f64, wall: f64 },
    Triangle { width: f64, height: f64 },
}

fn at(x: f64, y: f64) -> Point2 {
    Point2::new(x, y)
}

fn line(a: Point2, b: Point2) -> Segment {
    Segment::line(a, b, Tag(1))
}

fn left_arc(a: Point2, b: Point2, centre: Point2) -> Segment {
    Segment::arc(a, b, centre, ArcTurn::Left, Tag(2))
}

fn rectangle(low: Point2, high: Point2) -> Contour {
    Contour::polygon(&[low, at(high.x, low.y), high, at(low.x, high.y)], Tag(1)).unwrap()
}

impl Shape {
    /// Contours with the lower left corner (or the centre, for discs and rings) at the origin.
    fn region(self) -> Region {
        let contours = match self {
            Self::Rectangle { width, height } => vec![rectangle(at(0.0, 0.0), at(width, height))],
            Self::Disc { radius } => vec![Contour::circle(at(0.0, 0.0), radius, Tag(2)).unwrap()],
            Self::Slot { length, radius } => {
                let (a, b) = (at(0.0, -radius), at(length, -radius));
                let (c, d) = (at(length, radius), at(0.0, radius));
                let pieces = vec![
                    line(a, b),
                    left_arc(b, c, at(length, 0.0)),
                    line(c, d),
                    left_arc(d, a, at(0.0, 0.0)),
                ];
                vec![Contour::new(pieces).unwrap()]
            }
            Self::RoundedPlate { width: w, height: h, radius: r } => vec![
                Contour::new(vec![
                    line(at(r, 0.0), at(w - r, 0.0)),
                    left_arc(at(w - r, 0.0), at(w, r), at(w - r, r)),
                    line(at(w, r), at(w, h - r)),
                    left_arc(at(w, h - r), at(w - r, h), at(w - r, h - r)),
                    line(at(w - r, h), at(r, h)),
                    left_arc(at(r, h), at(0.0, h - r), at(r, h - r)),
                    line(at(0.0, h - r), at(0.0, r)),
                    left_arc(at(0.0, r), at(r, 0.0), at(r, r)),
                ])
                .unwrap(),
            ],
            Self::NotchedPlate { width: w, height: h, radius: r } => vec![
                Contour::new(vec![
                    line(at(0.0, 0.0), at(w, 0.0)),
                    line(at(w, 0.0), at(w, h - r)),
                    Segment::arc(at(w, h - r), at(w - r, h), at(w, h), ArcTurn::Right, Tag(2)),
                    line(at(w - r, h), at(0.0, h)),
                    line(at(0.0, h), at(0.0, 0.0)),
                ])
                .unwrap(),
            ],
            Self::Ring { outer, inner } => vec![
                Contour::circle(at(0.0, 0.0), outer, Tag(2)).unwrap(),
                Contour::circle(at(0.0, 0.0), inner, Tag(3)).unwrap().reversed(),
            ],
            Self::Frame { width, height, wall } => vec![
                rectangle(at(0.0, 0.0), at(width, height)),
                rectangle(at(wall, wall), at(width - wall, height - wall)).reversed(),
            ],
            Self::Triangle { width, height } => {
                vec![Contour::polygon(&[at(0.0, 0.0), at(width, 0.0), at(0.0, height)], Tag(1)).unwrap()]
            }
        };
        Region::from_oriented(contours)
    }
}

/// Sizes on a half-millimetre grid, so that edges, tangent points and corners of two shapes meet often.
fn shape() -> impl Strategy<Value = Shape> {
    let size = |low: u32, high: u32| (low..=high).prop_map(|halves| 0.5 * f64::from(halves));
    prop_oneof![
        (size(2, 12), size(2, 12)).prop_map(|(width, height)| Shape::Rectangle { width, height }),
        size(1, 8).prop_map(|radius| Shape::Disc { radius }),
        (size(2, 12), size(1, 4)).prop_map(|(length, radius)| Shape::Slot { length, radius }),
        (size(5, 14), size(5, 14), size(1, 2)).prop_map(|(width, height, radius)| Shape::RoundedPlate {
            width,
            height,
            radius
        }),
        (size(5, 14), size(5, 14), size(1, 4)).prop_map(|(width, height, radius)| Shape::NotchedPlate {
            width,
            height,
            radius
        }),
        (size(3, 8), size(1, 2)).prop_map(|(outer, inner)| Shape::Ring { outer, inner }),
        (size(5, 14), size(5, 14), size(1, 2)).prop_map(|(width, height, wall)| Shape::Frame {
            width,
            height,
            wall
        }),
        (size(2, 12), size(2, 12)).prop_map(|(width, height)| Shape::Triangle { width, height }),
    ]
}

/// An offset between far below and just above the snap tolerance, or none.
fn slight() -> impl Strategy<Value = f64> {
    let size = prop_oneof![
        4 => Just(0.0),
        1 => Just(1e-8),
        1 => Just(5e-8),
        1 => Just(9.9e-8),
        1 => Just(1e-7),
        1 => Just(1.01e-7),
        1 => Just(2e-7),
        1 => Just(5e-7),
        1 => Just(1e-6),
        2 => 1e-9..1e-6_f64,
    ];
    (size, any::<bool>()).prop_map(|(size, minus)| if minus { -size } else { size })
}

fn place_on_grid() -> impl Strategy<Value = Motion2> {
    (-8..=8_i32, -8..=8_i32, 0..4_u8).prop_map(|(x, y, quarter)| {
        let x_axis = [Vec2::new(1.0, 0.0), Vec2::new(0.0, 1.0), Vec2::new(-1.0, 0.0), Vec2::new(0.0, -1.0)]
            [usize::from(quarter)];
        Motion2 { x_axis, origin: at(0.5 * f64::from(x), 0.5 * f64::from(y)) }
    })
}

fn place_nearly_on_grid() -> impl Strategy<Value = Motion2> {
    let tilt = prop_oneof![2 => Just(0.0), 1 => -1e-6..1e-6_f64, 1 => -1e-8..1e-8_f64];
    (place_on_grid(), slight(), slight(), tilt).prop_map(|(on_grid, dx, dy, tilt)| Motion2 {
        x_axis: Motion2 { x_axis: Vec2::unit(tilt), origin: Point2::ORIGIN }.vector(on_grid.x_axis),
        origin: on_grid.origin + Vec2::new(dx, dy),
    })
}

fn place_anywhere() -> impl Strategy<Value = Motion2> {
    (-5.0..5.0_f64, -5.0..5.0_f64, 0.0..maths::TAU)
        .prop_map(|(x, y, turn)| Motion2 { x_axis: Vec2::unit(turn), origin: at(x, y) })
}

/// Both shapes on the grid, and the whole turned, so that shared edges are equal only up to rounding.
fn place_on_turned_grid() -> impl Strategy<Value = (Motion2, Motion2)> {
    (place_on_grid(), place_on_grid(), place_anywhere()).prop_map(|(a, b, all)| (all.after(a), all.after(b)))
}

const CHORDS_PER_TURN: f64 = 128.0;

/// The region as a polygon of chords, and the area between its arcs and their chords in mm².
fn chords(region: &Region) -> (Polygon<f64>, f64) {
    let mut between = 0.0;
    let mut rings = region.contours().iter().map(|contour| {
        let mut ring = Vec::new();
        for segment in contour.segments() {
            let sweep = segment.sweep().abs();
            #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss)]
            let count = (sweep / maths::TAU * CHORDS_PER_TURN).ceil().max(1.0) as u32;
            for i in 0..count {
                let p = segment.point_at(f64::from(i) / f64::from(count));
                ring.push(Coord { x: p.x, y: p.y });
            }
            if segment.curvature() != 0.0 {
                let radius = 1.0 / segment.curvature().abs();
                let step = sweep / f64::from(count);
                between += 0.5 * radius * radius * f64::from(count) * (step - maths::sin(step));
            }
        }
        LineString::from(ring)
    });
    let outer = rings.next().unwrap();
    let holes = rings.collect();
    (Polygon::new(outer, holes), between)
}

/// What snapping may add to or take from an area in mm².
fn slack(a: &Region, b: &Region) -> f64 {
    let length = a.boundary_length() + b.boundary_length();
    2.0 * tolerance::SNAP_MM * length + 10.0 * tolerance::DUST_AREA_MM2
}

/// Whether a result may hold features hardly wider than the snap tolerance.
#[derive(Clone, Copy, PartialEq)]
enum Features {
    Plain,
    Slight,
}

/// Outer contours come first and enclose something, holes follow; a result joined with itself is itself; a
/// result without slight features neither crosses nor touches itself.
fn check_contours(region: &Region, features: Features, slack: f64) -> Result<(), TestCaseError> {
    let again = union(std::slice::from_ref(region)).unwrap();
    prop_assert!((again.area() - region.area()).abs() <= slack, "{} is not {}", again.area(), region.area());
    let areas: Vec<f64> = region.contours().iter().map(Contour::signed_area).collect();
    prop_assert!(areas.is_sorted_by_key(|&area| area < 0.0), "a hole before an outline: {areas:?}");
    for (index, contour) in region.contours().iter().enumerate() {
        if features == Features::Plain {
            prop_assert_eq!(first_self_contact(contour), None, "contour {}", index);
        }
    }
    Ok(())
}

fn check(a: &Region, b: &Region, features: Features) -> Result<(), TestCaseError> {
    let slack = slack(a, b);
    let joined = union(&[a.clone(), b.clone()]).unwrap();
    let common = intersection(a, b).unwrap();
    let rest = difference(a, std::slice::from_ref(b)).unwrap();

    let law = |what: &str, got: f64, want: f64| {
        prop_assert!((got - want).abs() <= slack, "{what}: {got} is not {want} within {slack}");
        Ok(())
    };
    law("|A∪B| + |A∩B|", joined.area() + common.area(), a.area() + b.area())?;
    law("|A−B| + |A∩B|", rest.area() + common.area(), a.area())?;
    law("|B∪A|", union(&[b.clone(), a.clone()]).unwrap().area(), joined.area())?;
    law("|B∩A|", intersection(b, a).unwrap().area(), common.area())?;
    law("|(A−B)∩B|", intersection(&rest, b).unwrap().area(), 0.0)?;
    law("|(A−B)∪B|", union(&[rest.clone(), b.clone()]).unwrap().area(), joined.area())?;

    let ((fine_a, between_a), (fine_b, between_b)) = (chords(a), chords(b));
    let bound = between_a + between_b + slack;
    let near = |what: &str, got: f64, want: f64| {
        prop_assert!((got - want).abs() <= bound, "{what}: {got} mm², polygons say {want} ± {bound}");
        Ok(())
    };
    near("union", joined.area(), fine_a.union(&fine_b).unsigned_area())?;
    near("intersection", common.area(), fine_a.intersection(&fine_b).unsigned_area())?;
    near("difference", rest.area(), fine_a.difference(&fine_b).unsigned_area())?;

    check_contours(&joined, features, slack)?;
    check_contours(&common, features, slack)?;
    check_contours(&rest, features, slack)
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(5_000))]

    #[test]
    fn figures_on_a_common_grid(a in shape(), b in shape(), on_a in place_on_grid(), on_b in place_on_grid()) {
        check(&a.region().moved(on_a), &b.region().moved(on_b), Features::Plain)?;
    }

    #[test]
    fn figures_nearly_on_a_common_grid(
        a in shape(), b in shape(), on_a in place_on_grid(), on_b in place_nearly_on_grid()
    ) {
        check(&a.region().moved(on_a), &b.region().moved(on_b), Features::Slight)?;
    }

    #[test]
    fn figures_on_a_turned_grid(a in shape(), b in shape(), (on_a, on_b) in place_on_turned_grid()) {
        check(&a.region().moved(on_a), &b.region().moved(on_b), Features::Plain)?;
    }
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(2_500))]

    #[test]
    fn figures_anywhere(a in shape(), b in shape(), on_a in place_anywhere(), on_b in place_anywhere()) {
        check(&a.region().moved(on_a), &b.region().moved(on_b), Features::Plain)?;
    }

    #[test]
    fn a_figure_and_its_slightly_moved_copy(
        a in shape(), on_a in place_anywhere(), dx in slight(), dy in slight(), tilt in slight()
    ) {
        let first = a.region().moved(on_a);
        let slight = Motion2 { x_axis: Vec2::unit(tilt), origin: at(dx, dy) };
        check(&first, &first.moved(slight), Features::Slight)?;
    }
}
