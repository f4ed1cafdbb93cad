//! Laws of cuts straight through the folded part: one looks through random openings in random parts.

#[allow(dead_code, reason = "tests and benches use different parts")]
#[path = "../benches/parts.rs"]
mod parts;

use kernel::fold::{FoldFractions, FoldTree};
use kernel::geom::{
    Contour, Place, Placement, Point2, Region, Segment, Tag, Vec2, Vec3, place_in_contour, place_in_region,
};
use kernel::history::feature::{
    Cutout, DrawnLine, Feature, FeatureEntry, FlangeEnd, FoldLine, FoldSide, HeldFace, Hem, HemForm, HemSpec,
    KeptSize, LengthFrom, LineMarks, Offset, Pattern, Reach, StepFaces, Straight, StraightSide,
};
use kernel::history::{EdgeName, EdgeShape, History, Number, Profile, ProfileEdge, Shape};
use kernel::quantity::maths;
use kernel::regenerate::regenerate;
use parts::{base, cutout, entry, flange, history, n, panel};
use proptest::prelude::*;
use proptest::strategy::ValueTree;
use proptest::test_runner::TestRunner;

const T: f64 = 2.0;
const R: f64 = 3.0;
const SQUARE: [f64; 3] = [0.0, 0.0, 1.0];

/// A star-shaped polygon about the origin.
fn star(spokes: &[f64]) -> Profile {
    let count = spokes.len() as f64;
    let corners: Vec<Point2> = spokes
        .iter()
        .enumerate()
        .map(|(i, r)| Point2::ORIGIN + Vec2::unit(i as f64 * maths::TAU / count) * *r)
        .collect();
    let edges =
        (0..corners.len()).map(|i| ProfileEdge { name: format!("e{i}"), shape: EdgeShape::Line }).collect();
    Profile::new(corners.iter().map(|p| [n(p.x), n(p.y)]).collect(), edges)
}

/// A half disc: an arc and a line.
fn half_disc(radius: f64) -> Profile {
    Profile::new(
        vec![[n(radius), n(0.0)], [n(-radius), n(0.0)]],
        vec![
            ProfileEdge { name: "arc".into(), shape: EdgeShape::ArcThrough([n(0.0), n(radius)]) },
            ProfileEdge { name: "line".into(), shape: EdgeShape::Line },
        ],
    )
}

/// The outline of a profile of fixed numbers, set at a place.
fn window(shape: &Profile, at: [f64; 2]) -> Contour {
    let point =
        |[x, y]: &[Number; 2]| Point2::new(x.evaluate::<f64>(&[]) + at[0], y.evaluate::<f64>(&[]) + at[1]);
    let count = shape.corners.len();
    let piece = |i: usize| {
        let (a, b) = (point(&shape.corners[i]), point(&shape.corners[(i + 1) % count]));
        match &shape.edges[i].shape {
            EdgeShape::ArcThrough(via) => {
                Segment::arc_through(a, point(via), b, Tag(0)).expect("no three points on one line")
            }
            EdgeShape::Line | EdgeShape::Arc(_) | EdgeShape::ArcRise(_) => Segment::line(a, b, Tag(0)),
        }
    };
    Contour::new((0..count).map(piece).collect()).expect("corners follow each other")
}

/// A zone's sheet: its region, and where a place of it at a depth lies in space.
struct Sheet<'a> {
    region: &'a Region,
    place: Box<dyn Fn(Point2, f64) -> Vec3<f64> + 'a>,
}

fn sheets(tree: &FoldTree) -> Vec<Sheet<'_>> {
    let folded = FoldFractions::all(tree, 1.0);
    let frames = tree.placements(&folded);
    let mut sheets: Vec<Sheet<'_>> = Vec::new();
    for (panel, frame) in tree.panels().iter().zip(&frames) {
        let frame: Placement<f64> = *frame;
        sheets.push(Sheet { region: &panel.region, place: Box::new(move |p, depth| frame.lift(p, depth)) });
    }
    for bend in tree.bends() {
        let map = tree.strip_map(bend, &frames, &folded);
        sheets.push(Sheet {
            region: &bend.region,
            place: Box::new(move |p, depth| map.point(p.x, p.y, depth)),
        });
    }
    sheets
}

/// Points spread evenly over the unit cube: multiples of powers of the root of x⁴ = x + 1.
fn samples(offset: f64) -> impl Iterator<Item = (f64, f64, f64)> {
    let share = move |i: i32, step: f64| (offset + f64::from(i) * step).fract();
    (0..400).map(move |i| (share(i, 0.819_172_513), share(i, 0.671_043_607), share(i, 0.549_700_478)))
}

/// Where a point in space is seen in the plane z = 0 along a direction.
fn seen(p: Vec3<f64>, along: [f64; 3]) -> Point2 {
    Point2::new(p.x - p.z * along[0] / along[2], p.y - p.z * along[1] / along[2])
}

fn side() -> impl Strategy<Value = FoldSide> {
    prop_oneof![Just(FoldSide::Up), Just(FoldSide::Down)]
}

/// A wall at each of these edges, with sides that lean inwards by `taper` degrees.
fn walls(edges: &[&str], turn: f64, side: FoldSide, length: f64, taper: f64) -> Feature {
    let mut made = flange(edges, turn, length);
    (made.holds, made.length_from, made.side) = (HeldFace::BendStart, LengthFrom::Tangent, side);
    (made.left.taper, made.right.taper) = (n(taper), n(taper));
    Feature::Flange(made)
}

fn hem(edge: &str, form: HemForm, side: FoldSide) -> Feature {
    let end = || FlangeEnd { inset: n(0.0), taper: n(0.0) };
    let edges = vec![EdgeName::new(edge).expect("the name is well-formed")];
    Feature::Hem(Hem::from(HemSpec { edges, form, side, left: end(), right: end() }))
}

/// What is bent at a plate of 100 x 80.
fn random_bends() -> impl Strategy<Value = Vec<FeatureEntry>> {
    let channel = (20.0..160.0_f64, side(), 0.0..30.0_f64).prop_map(|(turn, side, taper)| {
        vec![entry("walls", walls(&["plate/left", "plate/right"], turn, side, 40.0, taper))]
    });
    // A wall that leans, and another one at its tip.
    let leaning = (20.0..150.0_f64, side(), 20.0..150.0_f64, side(), 0.0..20.0_f64).prop_map(
        |(turn, first, again, second, taper)| {
            vec![
                entry("wall", walls(&["plate/left"], turn, first, 35.0, taper)),
                entry("lip", walls(&["wall/tip"], again, second, 20.0, 0.0)),
            ]
        },
    );
    let line = || {
        [20.0..80.0_f64, 20.0..80.0_f64]
            .prop_map(|[low, high]| DrawnLine::Through([n(low), n(0.0)], [n(high), n(80.0)]))
    };
    let step = (line(), 8.0..25.0_f64, 20.0..90.0_f64, side()).prop_map(|(line, height, turn, side)| {
        let step = Offset {
            panel: panel("plate"),
            line,
            marks: LineMarks::Middle,
            height: n(height),
            between: StepFaces::Same,
            turn: n(turn),
            side,
            inside_radius: None,
            keeps: KeptSize::Folded,
        };
        vec![entry("step", Feature::Offset(step))]
    });
    let fold = (line(), 20.0..150.0_f64, side()).prop_map(|(line, turn, side)| {
        let fold = FoldLine {
            panel: panel("plate"),
            line,
            marks: LineMarks::Middle,
            turn: n(turn),
            side,
            inside_radius: None,
        };
        vec![entry("fold", Feature::FoldLine(fold))]
    });
    let form = prop_oneof![
        Just(HemForm::Closed { length: n(14.0), k_factor: None }),
        (1.0..5.0_f64).prop_map(|gap| HemForm::Open { length: n(18.0), gap: n(gap) }),
        (6.0..16.0_f64, 180.0..260.0_f64)
            .prop_map(|(diameter, turn)| HemForm::Rolled { diameter: n(diameter), turn: n(turn) }),
    ];
    let hemmed = (form, side(), 20.0..150.0_f64, any::<bool>()).prop_map(|(form, side, turn, on_wall)| {
        if on_wall {
            let wall = entry("wall", walls(&["plate/left"], turn, FoldSide::Up, 35.0, 0.0));
            vec![wall, entry("hem", hem("wall/tip", form, side))]
        } else {
            vec![entry("hem", hem("plate/left", form, side))]
        }
    });
    prop_oneof![channel, leaning, step, fold, hemmed]
}

/// The part with these bends, and with these cuts.
fn bent(bends: &[FeatureEntry], cuts: Vec<FeatureEntry>) -> History {
    let plate = base("plate", Profile::rectangle(&n(100.0), &n(80.0)));
    let features = std::iter::once(plate).chain(bends.iter().cloned()).chain(cuts);
    history(T, R, 0.4, features.collect())
}

fn window_cut(profile: &Profile, at: [f64; 2], along: [f64; 3]) -> FeatureEntry {
    let reach = Reach::Straight(Straight { along: along.map(n), side: StraightSide::Both, panels: None });
    let made = cutout("plate", Shape::Outline(profile.clone()), Pattern::At(vec![at.map(n)]));
    entry("window", Feature::Cutout(Cutout { reach, ..made }))
}

/// Lines of sight within the window meet no sheet at any depth; sheet none of whose lines of sight comes near
/// the window is still there. `offset` shifts the places that are looked at.
fn look_through(
    bends: &[FeatureEntry],
    profile: &Profile,
    at: [f64; 2],
    along: [f64; 3],
    offset: f64,
) -> Result<(), TestCaseError> {
    let Ok(whole) = regenerate(&bent(bends, Vec::new())) else { return Ok(()) };
    let part = match regenerate(&bent(bends, vec![window_cut(profile, at, along)])) {
        Ok(part) => part,
        Err(faults) => {
            let fair = [
                "fold::cut_removes_nothing",
                "blank::several_outlines",
                "fold::bend_cut_away",
                "fold::panel_in_pieces",
            ];
            prop_assert!(fair.contains(&faults[0].code), "{faults:?}");
            return Ok(());
        }
    };
    let window = window(profile, at);
    let near = |p: Point2, margin: f64| window.segments().iter().any(|s| s.distance_to(p) <= margin);
    for (left, before) in sheets(&part.tree).iter().zip(&sheets(&whole.tree)) {
        if before.region.is_empty() {
            continue;
        }
        let reach = before.region.bounding_box();
        for (a, b, depth) in samples(offset) {
            let p = Point2::new(reach.min.x + a * reach.width(), reach.min.y + b * reach.height());
            if place_in_region(before.region, p) != Place::Inside {
                continue;
            }
            let still = place_in_region(left.region, p);
            let through = seen((before.place)(p, -depth * T), along);
            if place_in_contour(&window, through) == Place::Inside && !near(through, 1e-6) {
                prop_assert!(still == Place::Outside, "sheet is left at {p:?}");
            }
            if still == Place::Inside {
                continue;
            }
            // Along the sheet's normal, lines of sight move by so much between two of the depths below.
            let depths = (0..=200).map(|i| seen((before.place)(p, -T * f64::from(i) / 200.0), along));
            let seen_at: Vec<Point2> = depths.collect();
            let step = seen_at.windows(2).map(|w| w[0].distance(w[1])).fold(0.0, f64::max);
            let slack = step + 1e-3;
            if seen_at.iter().all(|&q| place_in_contour(&window, q) == Place::Outside && !near(q, slack)) {
                // A loose island within the opening falls out; on a line through it sheet goes on both sides.
                let goes = |x: f64| {
                    let p = Point2::new(x, p.y);
                    [0.0, 0.5, 1.0].iter().any(|depth| {
                        let through = seen((before.place)(p, -depth * T), along);
                        place_in_contour(&window, through) == Place::Inside
                    })
                };
                let steps = |to: f64| (1..200).map(move |i| p.x + (to - p.x) * f64::from(i) / 200.0);
                let island = steps(reach.min.x).any(goes) && steps(reach.max.x).any(goes);
                prop_assert!(island, "sheet is missing at {p:?}");
            }
        }
    }
    // The two zones at a crease agree, and the blank is what the zones add up to.
    let zones: f64 = part.tree.panels().iter().map(|p| p.region.area()).sum::<f64>()
        + part.tree.bends().iter().map(|b| b.region.area()).sum::<f64>();
    prop_assert!((part.blank.region.area() - zones).abs() < 1e-5);
    for fraction in [0.0, 0.6, 1.0] {
        let fractions = FoldFractions::all(&part.tree, fraction);
        prop_assert_eq!(part.brep(&fractions).first_fault(), None);
        prop_assert!(part.mesh(&fractions, 0.05).is_ok());
    }
    Ok(())
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(1500))]

    #[test]
    fn one_can_look_through_and_nothing_else_is_missing(
        bends in random_bends(),
        spokes in prop::collection::vec(4.0..35.0_f64, 3..8),
        round in any::<bool>(),
        at in [-20.0..120.0_f64, 0.0..80.0_f64],
        along in [-1.0..1.0_f64, -1.0..1.0_f64, 0.1..1.0_f64],
        square in any::<bool>(),
        offset in 0.0..1.0_f64,
    ) {
        let along = if square { SQUARE } else { along };
        let profile = if round { half_disc(spokes[0]) } else { star(&spokes) };
        look_through(&bends, &profile, at, along, offset)?;
    }
}

#[test]
fn a_side_of_a_shadow_that_is_almost_straight_meets_a_round_one_in_one_point() {
    // Two curves of the shadow cross on the bend; arcs of 7 mm and of 370 m stand for them there.
    let fold = FoldLine {
        panel: panel("plate"),
        line: DrawnLine::Through([n(64.777_321_669_451_75), n(0.0)], [n(22.771_548_711_689_125), n(80.0)]),
        marks: LineMarks::Middle,
        turn: n(26.601_604_948_795_91),
        side: FoldSide::Down,
        inside_radius: None,
    };
    let bends = [entry("fold", Feature::FoldLine(fold))];
    let profile = star(&[4.0, 4.0, 28.957_366_800_993_583, 5.810_477_433_439_456, 32.633_080_160_524_436]);
    let at = [26.823_570_030_657_955, 79.853_241_354_757_22];
    let along = [-0.317_236_349_904_981_23, -0.749_258_822_379_113_1, 0.245_356_664_742_702_07];
    look_through(&bends, &profile, at, along, 0.0).expect("it is clear and closed");
}

#[test]
fn two_thirds_of_random_cuts_can_be_made() {
    let mut runner = TestRunner::deterministic();
    let strategy = random_bends();
    let made = (0..200).filter(|i| {
        let bends = strategy.new_tree(&mut runner).expect("it never rejects").current();
        let at = [f64::from(i % 20) * 5.0, f64::from(i / 20) * 8.0];
        regenerate(&bent(&bends, vec![window_cut(&half_disc(12.0), at, [0.4, -0.3, 1.0])])).is_ok()
    });
    let made = made.count();
    assert!(made * 3 >= 400, "{made} of 200");
}
