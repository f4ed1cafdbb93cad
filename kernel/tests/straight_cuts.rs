//! Cuts straight through the folded part, by hand; `straight_cut_laws.rs` looks through random ones.

#[allow(dead_code, reason = "tests and benches use different parts")]
#[path = "../benches/parts.rs"]
mod parts;

use kernel::fold::FoldFractions;
use kernel::geom::Contour;
use kernel::history::feature::{
    Cutout, DrawnLine, Feature, FeatureEntry, FoldSide, HeldFace, KeptSize, LengthFrom, LineMarks, Offset,
    Pattern, Reach, StepFaces, Straight, StraightSide,
};
use kernel::history::{History, Profile, Shape};
use kernel::quantity::{maths, tolerance};
use kernel::regenerate::{Part, regenerate};
use parts::{base, cutout, entry, flange, history, n, panel};

const T: f64 = 2.0;
const R: f64 = 3.0;

/// A plate of 100 x 80 with walls of `turn` degrees at its left and right edges, whose lengths count from where
/// their bends end.
fn channel(turn: f64, side: FoldSide, cuts: Vec<FeatureEntry>) -> History {
    let wall = |edge: &str| {
        let mut made = flange(&[edge], turn, 40.0);
        made.holds = HeldFace::BendStart;
        made.length_from = LengthFrom::Tangent;
        made.side = side;
        Feature::Flange(made)
    };
    let mut features = vec![
        base("plate", Profile::rectangle(&n(100.0), &n(80.0))),
        entry("left", wall("plate/left")),
        entry("right", wall("plate/right")),
    ];
    features.extend(cuts);
    history(T, R, 0.4, features)
}

fn straight(along: [f64; 3], side: StraightSide, panels: Option<&[&str]>) -> Reach {
    let panels = panels.map(|names| names.iter().map(|name| panel(name)).collect());
    Reach::Straight(Straight { along: along.map(n), side, panels })
}

fn cut(on: &str, shape: Shape, at: [f64; 2], reach: Reach) -> FeatureEntry {
    let pattern = Pattern::At(vec![[n(at[0]), n(at[1])]]);
    entry("window", Feature::Cutout(Cutout { reach, ..cutout(on, shape, pattern) }))
}

fn circle(diameter: f64) -> Shape {
    Shape::Circle { diameter: n(diameter) }
}

fn rectangle(length: f64, width: f64) -> Shape {
    Shape::Outline(Profile::rectangle(&n(length), &n(width)))
}

const SQUARE: [f64; 3] = [0.0, 0.0, 1.0];

fn made(history: &History) -> Part {
    regenerate(history).unwrap_or_else(|faults| panic!("{faults:#?}"))
}

fn code(history: &History) -> &'static str {
    regenerate(history).expect_err("the part cannot be made")[0].code
}

fn removed(part: &Part, name: &str) -> f64 {
    let whole = made(&channel(90.0, FoldSide::Up, Vec::new()));
    let area = |part: &Part| {
        part.tree.panels().iter().find(|p| p.name == panel(name)).expect("the panel is there").region.area()
    };
    area(&whole) - area(part)
}

fn strip_removed(part: &Part, bend: usize) -> f64 {
    let whole = made(&channel(90.0, FoldSide::Up, Vec::new()));
    whole.tree.bends()[bend].region.area() - part.tree.bends()[bend].region.area()
}

#[test]
fn a_round_cut_through_both_walls_is_round_in_both() {
    let reach = straight(SQUARE, StraightSide::Both, None);
    let part = made(&channel(90.0, FoldSide::Up, vec![cut("left", circle(20.0), [40.0, 20.0], reach)]));
    let disc = 100.0 * maths::PI;
    for name in ["left", "right"] {
        assert!((removed(&part, name) - disc).abs() < 1e-9, "{name}");
    }
    assert!(removed(&part, "plate").abs() < 1e-12);
    // The two circles face each other: in space their centres differ along x only.
    let frames = part.tree.placements(&FoldFractions::all(&part.tree, 1.0));
    let centre = |index: usize| {
        let hole = part.tree.panels()[index].region.holes().next().unwrap();
        frames[index].lift(hole.as_circle().unwrap().0, 0.0)
    };
    let apart = centre(1) - centre(2);
    assert!(apart.y.abs() < 1e-9 && apart.z.abs() < 1e-9 && apart.x.abs() > 90.0, "{apart:?}");
}

#[test]
fn one_side_and_named_panels_limit_the_cut() {
    let through = |side, panels| {
        let reach = straight(SQUARE, side, panels);
        made(&channel(90.0, FoldSide::Up, vec![cut("left", circle(20.0), [40.0, 20.0], reach)]))
    };
    let disc = 100.0 * maths::PI;
    // The walls stand up: inner faces look at each other.
    for (side, panels, right) in [
        (StraightSide::Inner, None, disc),
        (StraightSide::Outer, None, 0.0),
        (StraightSide::Both, Some(&["left"][..]), 0.0),
        (StraightSide::Both, Some(&["left", "right"][..]), disc),
    ] {
        let part = through(side, panels);
        assert!((removed(&part, "left") - disc).abs() < 1e-9);
        assert!((removed(&part, "right") - right).abs() < 1e-9, "{side:?} {panels:?}");
    }
    let miss = straight(SQUARE, StraightSide::Both, Some(&["left", "plate"]));
    let history = channel(90.0, FoldSide::Up, vec![cut("left", circle(20.0), [40.0, 20.0], miss)]);
    assert_eq!(code(&history), "fold::cut_misses_panel");
}

#[test]
fn a_window_over_an_edge_of_the_part_takes_the_wall_behind_it() {
    // 20 wide, from 10 mm inside the plate to far beyond the left wall, square to the plate: the wall is seen
    // edge on, and with it all 20 mm of it go, to the tip; of the strip likewise.
    let reach = straight(SQUARE, StraightSide::Both, None);
    let history =
        channel(90.0, FoldSide::Up, vec![cut("plate", rectangle(60.0, 20.0), [-50.0, 30.0], reach)]);
    let part = made(&history);
    assert!((removed(&part, "plate") - 10.0 * 20.0).abs() < 1e-6);
    assert!((removed(&part, "left") - 40.0 * 20.0).abs() < 1e-6);
    let strip = 20.0 * part.tree.bends()[0].allowance();
    assert!((strip_removed(&part, 0) - strip).abs() < 1e-6);
    assert!(
        (part.blank.region.area()
            - (made(&channel(90.0, FoldSide::Up, Vec::new())).blank.region.area() - 1000.0 - strip))
            .abs()
            < 1e-5
    );
}

#[test]
fn a_window_that_ends_in_the_bend_clears_on_both_faces() {
    // Seen along z, the outer face of the left bend (r + t = 5 about x = 0 less the bend) reaches farther out
    // than the inner one. A window up to 2 mm beyond the plate's crease clears the strip until its OUTER face
    // is beyond that: (r + t) sin τ = 2 would be too early, r sin τ = 2 is where the inner face is out.
    let reach = straight(SQUARE, StraightSide::Both, Some(&["plate", "left"]));
    let history = channel(90.0, FoldSide::Up, vec![cut("plate", rectangle(12.0, 20.0), [-2.0, 30.0], reach)]);
    let part = made(&history);
    let bend = &part.tree.bends()[0];
    let until = maths::asin(2.0 / R) / (0.5 * maths::PI) * bend.allowance();
    assert!((strip_removed(&part, 0) - 20.0 * until).abs() < 1e-6, "{}", strip_removed(&part, 0));
    assert!((removed(&part, "plate") - 200.0).abs() < 1e-6);
    assert_eq!((bend.start.len(), bend.end.len()), (2, 1));
}

#[test]
fn a_cut_square_to_a_step_takes_the_same_of_both_its_bends() {
    // The step turns about the middle of its web, and so does a circle about the line it was drawn along. The
    // second bend ends just where its sheet is seen square on again.
    for turn in [60.0, 90.0] {
        let step = Offset {
            panel: panel("plate"),
            line: DrawnLine::Through([n(60.0), n(0.0)], [n(60.0), n(80.0)]),
            marks: LineMarks::Middle,
            height: n(12.0),
            between: StepFaces::Same,
            turn: n(turn),
            side: FoldSide::Up,
            inside_radius: None,
            keeps: KeptSize::Folded,
        };
        let reach = straight(SQUARE, StraightSide::Both, None);
        let plate = base("plate", Profile::rectangle(&n(100.0), &n(80.0)));
        let window = cut("plate", circle(20.0), [60.0, 40.0], reach);
        let part =
            made(&history(T, R, 0.4, vec![plate, entry("step", Feature::Offset(step.clone())), window]));
        let strip = 80.0 * part.tree.bends()[0].allowance();
        let [first, second] = [0, 1].map(|bend| strip - part.tree.bends()[bend].region.area());
        assert!(first > 10.0 && (first - second).abs() < 1e-3, "{turn}: {first} {second}");
        let pieces = part.blank.region.contours().iter().flat_map(Contour::segments);
        assert!(pieces.clone().all(|s| s.length() > 1e-4), "no piece is shorter than what a cut is off by");
    }
}

#[test]
fn a_slanting_cut_is_as_much_longer_as_the_sheet_is_thick() {
    // Through the plate at 45° along x: a circle becomes one, and the same one shifted by the thickness, and
    // all between: π r² + 2 r t.
    let reach = straight([1.0, 0.0, 1.0], StraightSide::Both, Some(&["plate"]));
    let part = made(&channel(90.0, FoldSide::Up, vec![cut("plate", circle(20.0), [50.0, 40.0], reach)]));
    let area = 100.0 * maths::PI + 20.0 * T;
    assert!((removed(&part, "plate") - area).abs() < 1e-4 * 30.0 * maths::PI);
    // Through the left wall at 45° along the wall's height, from the plate: on the wall the plane is turned by
    // 90°, so that the same is seen there.
    let reach = straight([-1.0, 0.0, 1.0], StraightSide::Both, Some(&["left"]));
    let part = made(&channel(90.0, FoldSide::Up, vec![cut("plate", circle(20.0), [20.0, 40.0], reach)]));
    assert!((removed(&part, "left") - area).abs() < 1e-4 * 30.0 * maths::PI, "{}", removed(&part, "left"));
}

#[test]
fn what_cannot_be_cut_is_named() {
    let with = |on: &str, at, along| {
        let reach = straight(along, StraightSide::Both, None);
        channel(90.0, FoldSide::Up, vec![cut(on, circle(20.0), at, reach)])
    };
    assert_eq!(code(&with("plate", [50.0, 40.0], [1.0, 0.5, 0.0])), "fold::cut_along_panel");
    assert_eq!(code(&with("plate", [50.0, 40.0], [0.0; 3])), "fold::cut_without_direction");
    // The plate has sheet there, but it is the wall that was asked for.
    let wall_alone = straight(SQUARE, StraightSide::Both, Some(&["left"]));
    let beside = channel(90.0, FoldSide::Up, vec![cut("plate", circle(20.0), [50.0, 40.0], wall_alone)]);
    assert_eq!(code(&beside), "fold::cut_misses_panel");
    assert_eq!(code(&with("plate", [500.0, 40.0], SQUARE)), "fold::cut_removes_nothing");
}

/// A plate of 60 x 89.3 in 0.5 mm sheet with a wall at its left, cut along a direction almost in its plane: a
/// shadow 7 m long.
fn grazed_wall() -> History {
    let plate = base("plate", Profile::rectangle(&n(60.0), &n(89.288_411_995_036_81)));
    let wall = entry("wall", Feature::Flange(flange(&["plate/left"], 90.0, 10.0)));
    let along = [0.167_065_780_879_837_95, -0.653_972_804_124_681, 0.001_480_525_602_457_945_4];
    let reach = straight(along, StraightSide::Both, None);
    let at = [-3.779_133_594_639_389_6, 54.217_672_852_241_17];
    history(
        0.5,
        0.0,
        0.221_262_734_401_285_33,
        vec![plate, wall, cut("plate", circle(15.495_341_660_872_098), at, reach)],
    )
}

#[test]
fn a_cut_that_grazes_a_wall_leaves_one_closed_body() {
    let part = made(&grazed_wall());
    for fraction in [0.0, 0.5, 1.0] {
        let fractions = FoldFractions::all(&part.tree, fraction);
        assert_eq!(part.brep(&fractions).first_fault(), None, "{fraction}");
    }
    // The shadow's tip is not followed farther than an edge may be short.
    let pieces = part.blank.region.contours().iter().flat_map(Contour::segments);
    assert!(pieces.map(|s| s.length()).fold(f64::INFINITY, f64::min) >= tolerance::LEAST_EDGE_MM);
}
