//! Booleans of regions against an independent polygon library and against the laws of sets.
//!
//! Each figure is also cut into fine chords and combined by `geo`. The two areas may differ by no more than
//! the segments between arcs and chords of both operands (the symmetric difference of any boolean lies within
//! the symmetric differences of its operands) plus what snapping and the library's integer grid may move.
//! The laws `|A∪B| + |A∩B| = |A| + |B|` and `|A−B| + |A∩B| = |A|` are checked to the snap tolerance alone.
//! The figures seek trouble: shared edges, grids, tangent arcs, touching corners, offsets near the snap
//! tolerance, identical and nested figures. 22,000 random cases a run.

#![expect(clippy::unwrap_used, reason = "this whole file is a test")]

use geo::{Area, BooleanOps, Coord, LineString, MultiPolygon, Polygon};
use kernel::geom::{
    ArcTurn, Contour, Curve, Motion2, Point2, Region, Segment, Tag, Vec2, cut_openings, difference,
    first_self_contact, intersection, union,
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

/// Everything grown about the origin.
fn scaled(region: &Region, by: f64) -> Region {
    let point = |p: Point2| at(by * p.x, by * p.y);
    let segment = |s: &Segment| {
        let curve = match s.curve {
            Curve::Line => Curve::Line,
            Curve::Arc { centre, radius, turn } => {
                Curve::Arc { centre: point(centre), radius: by * radius, turn }
            }
        };
        Segment { start: point(s.start), end: point(s.end), curve, tag: s.tag }
    };
    let contour = |c: &Contour| Contour::new(c.segments().iter().map(segment).collect()).unwrap();
    Region::from_oriented(region.contours().iter().map(contour).collect())
}

/// Every arc runs on the very circle of an arc of an operand with the same tag.
fn check_arcs(result: &Region, operands: &[&Region]) -> Result<(), TestCaseError> {
    let circle = |s: &Segment| match s.curve {
        Curve::Line => None,
        Curve::Arc { centre, radius, .. } => Some((centre, radius, s.tag)),
    };
    let segments = |r: &Region| r.contours().iter().flat_map(Contour::segments).filter_map(circle).collect();
    let given: Vec<(Point2, f64, Tag)> = operands.iter().flat_map(|r| -> Vec<_> { segments(r) }).collect();
    let made: Vec<(Point2, f64, Tag)> = segments(result);
    for arc in made {
        prop_assert!(given.contains(&arc), "{arc:?} is on none of {given:?}");
    }
    Ok(())
}

/// What snapping may add to or take from an area in mm².
fn slack(a: &Region, b: &Region) -> f64 {
    let length = a.boundary_length() + b.boundary_length();
    2.0 * tolerance::SNAP_MM * length + 10.0 * tolerance::DUST_AREA_MM2
}

/// What the polygon library's grid of 32-bit integers may add to or take from an area in mm²: every point may
/// move by two units of 2⁻³⁰ of the extent (grid size from memory).
fn grid_slack(a: &Region, b: &Region) -> f64 {
    let all = a.bounding_box().union(b.bounding_box());
    let unit = all.width().max(all.height()) / f64::from(1 << 30);
    2.0 * unit * (a.boundary_length() + b.boundary_length())
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
    let bound = between_a + between_b + slack + grid_slack(a, b);
    let near = |what: &str, got: f64, want: f64| {
        prop_assert!((got - want).abs() <= bound, "{what}: {got} mm², polygons say {want} ± {bound}");
        Ok(())
    };
    near("union", joined.area(), fine_a.union(&fine_b).unsigned_area())?;
    near("intersection", common.area(), fine_a.intersection(&fine_b).unsigned_area())?;
    near("difference", rest.area(), fine_a.difference(&fine_b).unsigned_area())?;

    for result in [&joined, &common, &rest] {
        check_arcs(result, &[a, b])?;
    }
    check_contours(&joined, features, slack)?;
    check_contours(&common, features, slack)?;
    check_contours(&rest, features, slack)
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(4_000))]

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
    #![proptest_config(ProptestConfig::with_cases(2_000))]

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

    #[test]
    fn large_figures_far_away(
        a in shape(), b in shape(), on_a in place_on_grid(), on_b in place_nearly_on_grid(), turn in 0.0..7.0_f64
    ) {
        let far = Motion2 { x_axis: Vec2::unit(turn), origin: at(4321.0, -2345.6) };
        let (a, b) = (scaled(&a.region().moved(on_a), 150.0), scaled(&b.region().moved(on_b), 150.0));
        check(&a.moved(far), &b.moved(far), Features::Slight)?;
    }

    #[test]
    fn four_figures_at_once(
        shapes in [shape(), shape(), shape(), shape()],
        places in prop::array::uniform4(place_nearly_on_grid()),
    ) {
        let regions: Vec<Region> =
            shapes.iter().zip(places).map(|(shape, place)| shape.region().moved(place)).collect();
        let slack = 4.0 * slack(&regions[0], &regions[1]) + 4.0 * slack(&regions[2], &regions[3]);
        let joined = union(&regions).unwrap();
        let rest = difference(&regions[0], &regions[1..]).unwrap();
        let others = union(&regions[1..]).unwrap();
        prop_assert!((rest.area() + others.area() - joined.area()).abs() <= slack);
        let one_by_one = regions.iter().fold(Region::default(), |sum, r| union(&[sum, r.clone()]).unwrap());
        prop_assert!((one_by_one.area() - joined.area()).abs() <= slack);
        let operands: Vec<&Region> = regions.iter().collect();
        check_arcs(&joined, &operands)?;
        check_arcs(&rest, &operands)?;
        check_contours(&joined, Features::Slight, slack)?;
        check_contours(&rest, Features::Slight, slack)?;

        let (fine, between): (Vec<Polygon<f64>>, Vec<f64>) = regions.iter().map(chords).unzip();
        let bound = between.iter().sum::<f64>() + slack;
        let empty = MultiPolygon::<f64>::new(Vec::new());
        let fine_joined = fine.iter().fold(empty, |sum, p| sum.union(p));
        prop_assert!((joined.area() - fine_joined.unsigned_area()).abs() <= bound);
    }

    #[test]
    fn openings_cut_at_once_or_one_by_one(
        centres in prop::collection::vec((0..24_u8, 0..16_u8, 1..5_u8, slight()), 1..24)
    ) {
        let plate = Region::inside(rectangle(at(0.5, 0.5), at(12.5, 8.5)));
        let openings: Vec<Contour> = centres
            .iter()
            .map(|&(x, y, r, slight)| {
                let centre = at(0.5 + 0.5 * f64::from(x) + slight, 0.5 + 0.5 * f64::from(y));
                Contour::circle(centre, 0.25 * f64::from(r), Tag(2)).unwrap()
            })
            .collect();
        let regions: Vec<Region> = openings.iter().cloned().map(Region::inside).collect();
        let at_once = cut_openings(&plate, &openings).unwrap();
        let by_boolean = difference(&plate, &regions).unwrap();
        let slack = 2.0 * tolerance::SNAP_MM * (plate.boundary_length() + by_boolean.boundary_length())
            + 24.0 * tolerance::DUST_AREA_MM2;
        prop_assert!((at_once.area() - by_boolean.area()).abs() <= slack);
        check_contours(&at_once, Features::Slight, slack)?;
    }
}
