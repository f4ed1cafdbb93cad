//! Outlines with relations against figures of plane geometry, and laws on random figures.
//!
//! The figures are worked out in the comment of each test from plane geometry; no other source is needed.

#[allow(dead_code, reason = "tests and benches use different parts")]
#[path = "../benches/parts.rs"]
mod parts;

use kernel::diag::Diagnostic;
use kernel::dimension::{BlankSize, Settled, SheetNumbers, Skeleton, settle};
use kernel::history::feature::{DrawnLine, Feature, FoldSide, KeptSize, LineMarks, Offset, StepFaces};
use kernel::history::{
    EdgeShape, Element, FreeNumber, History, Number, Profile, ProfileEdge, ProfileRelation, RelationEntry,
};
use kernel::ident::VarId;
use kernel::quantity::maths::{self, PI};
use kernel::quantity::tolerance;
use kernel::regenerate::regenerate;
use parts::{arc, base, history, line, n, outline};
use proptest::prelude::*;

/// Answers are good to rounding, not only to the tolerance of a relation.
const NEAR: f64 = 1e-9;

fn edge(name: &str) -> Element {
    Element::Edge(name.to_owned())
}

fn corner(a: &str, b: &str) -> Element {
    Element::Corner([a.to_owned(), b.to_owned()])
}

fn centre(name: &str) -> Element {
    Element::Centre(name.to_owned())
}

fn place(x: f64, y: f64) -> Element {
    Element::Place([n(x), n(y)])
}

fn parallel(a: Element, b: Element) -> ProfileRelation {
    ProfileRelation::Parallel { a, b }
}

fn tangent(a: &str, b: &str) -> ProfileRelation {
    ProfileRelation::Tangent { a: edge(a), b: edge(b) }
}

fn on(a: Element, b: Element) -> ProfileRelation {
    ProfileRelation::Coincident { a, b }
}

fn horizontal(edge: &str) -> ProfileRelation {
    ProfileRelation::Horizontal { edge: edge.to_owned() }
}

fn length(edge: &str, value: f64) -> ProfileRelation {
    ProfileRelation::Length { edge: edge.to_owned(), value: n(value) }
}

fn radius(edge: &str, value: f64) -> ProfileRelation {
    ProfileRelation::Radius { edge: edge.to_owned(), value: n(value) }
}

fn distance(a: Element, b: Element, value: f64) -> ProfileRelation {
    ProfileRelation::Distance { a, b, value: n(value) }
}

fn angle(a: Element, b: Element, value: f64) -> ProfileRelation {
    ProfileRelation::Angle { a, b, value: n(value) }
}

fn equal(a: &str, b: &str) -> ProfileRelation {
    ProfileRelation::Equal { a: a.to_owned(), b: b.to_owned() }
}

/// A plate whose outline is a sketch with these relations.
fn plate(drawn: &Profile, relations: Vec<ProfileRelation>) -> History {
    let mut free = Vec::new();
    let mut profile = drawn.sketched("plate", None, &mut free).expect("its arcs can be drawn");
    profile.relations =
        relations.into_iter().map(|relation| RelationEntry { relation, span: None }).collect();
    let mut history = history(1.5, 1.5, 0.42, vec![base("plate", profile)]);
    history.free_numbers = free;
    history
}

fn settled(history: &History) -> Result<Settled, Vec<Diagnostic>> {
    let sheet = history.sheet.resolve().map_err(|fault| vec![fault])?;
    let sheet = SheetNumbers::from(&sheet);
    settle(history, &Skeleton::new(history, sheet)?, sheet, BlankSize::default())
}

fn outline_of(history: &History) -> &Profile {
    history.features[0].feature.profile().expect("a plate has an outline")
}

fn corners(history: &History, free: &[f64]) -> Vec<[f64; 2]> {
    outline_of(history).corners.iter().map(|c| c.each_ref().map(|n| n.evaluate(free))).collect()
}

#[track_caller]
fn assert_corners(history: &History, settled: &Settled, wanted: &[[f64; 2]]) {
    let got = corners(history, &settled.free);
    assert_eq!(got.len(), wanted.len());
    for ([gx, gy], [wx, wy]) in got.iter().zip(wanted) {
        assert!(maths::hypot(gx - wx, gy - wy) < NEAR, "{got:?} against {wanted:?}");
    }
}

/// What the sketch has left free.
fn left_free(settled: &Settled) -> usize {
    let [sketch] = settled.sketches.as_slice() else { panic!("one sketch") };
    assert_eq!(settled.left_free + sketch.left_free, settled.report.degrees_of_freedom);
    sketch.left_free
}

/// A plate drawn with its front edge 240 mm long, which shall be 180 mm of 280, stepped 70 mm before its right
/// edge: at x = 210, which lies behind the front edge as meant, but not as drawn.
fn stepped_plate(meant: f64) -> History {
    let drawn = outline(
        &[[0.0, 0.0], [240.0, 0.0], [300.0, 0.0], [300.0, 100.0], [0.0, 100.0]],
        vec![line("front"), line("front_end"), line("right"), line("back"), line("left")],
    );
    let vertical = |edge: &str| ProfileRelation::Vertical { edge: edge.to_owned() };
    let relations = vec![
        on(corner("left", "front"), place(0.0, 0.0)),
        horizontal("front"),
        horizontal("front_end"),
        horizontal("back"),
        vertical("right"),
        vertical("left"),
        length("front", meant),
        length("left", 100.0),
        distance(edge("left"), edge("right"), 280.0),
    ];
    let mut history = plate(&drawn, relations);
    let step = Offset {
        panel: parts::panel("plate"),
        line: DrawnLine::Beside { edge: "right".to_owned(), distance: n(70.0) },
        marks: LineMarks::Middle,
        height: n(14.0),
        between: StepFaces::Same,
        turn: n(90.0),
        side: FoldSide::Up,
        inside_radius: None,
        keeps: KeptSize::Folded,
    };
    let wall = parts::flange(&["plate/front"], 90.0, 40.0);
    history
        .features
        .extend([parts::entry("wall", Feature::Flange(wall)), parts::entry("step", Feature::Offset(step))]);
    history
}

#[test]
fn sides_of_a_line_are_judged_on_the_solved_sketch() {
    let history = stepped_plate(180.0);
    let settled = settled(&history).unwrap();
    assert_corners(
        &history,
        &settled,
        &[[0.0, 0.0], [180.0, 0.0], [280.0, 0.0], [280.0, 100.0], [0.0, 100.0]],
    );
    assert_eq!(left_free(&settled), 0);
    regenerate(&history).unwrap();
}

#[test]
fn an_edge_that_the_solved_sketch_leads_across_a_line_is_refused() {
    // Drawn to 240, where the line crosses it, and meant to: 230 lies beyond 210.
    let refused = settled(&stepped_plate(230.0)).unwrap_err();
    assert_eq!(refused[0].code, "history::edge_crossed");
}

fn triangle() -> Profile {
    outline(&[[3.0, -2.0], [95.0, 5.0], [40.0, 52.0]], vec![line("base"), line("right"), line("left")])
}

#[test]
fn isosceles_triangle_of_given_base_and_height_has_its_tip_over_the_middle() {
    // Base 90 from the origin along x, equal legs, tip 60 above: by symmetry the tip is at (45, 60).
    let history = plate(
        &triangle(),
        vec![
            on(corner("left", "base"), place(0.0, 0.0)),
            horizontal("base"),
            length("base", 90.0),
            equal("left", "right"),
            distance(corner("right", "left"), edge("base"), 60.0),
        ],
    );
    let settled = settled(&history).unwrap();
    assert_corners(&history, &settled, &[[0.0, 0.0], [90.0, 0.0], [45.0, 60.0]]);
    assert_eq!(left_free(&settled), 0);
}

#[test]
fn triangle_of_three_sides_follows_the_law_of_cosines() {
    // Sides 7, 8, 5 times 10: cos of the angle between 80 and 50 is (64 + 25 − 49)/80 = 1/2, so it is 60°,
    // and the tip is at 50 (cos 60°, sin 60°).
    let history = plate(
        &triangle(),
        vec![
            on(corner("left", "base"), place(0.0, 0.0)),
            horizontal("base"),
            length("base", 80.0),
            length("right", 70.0),
            length("left", 50.0),
        ],
    );
    let tip = [25.0, 25.0 * 3.0_f64.sqrt()];
    assert_corners(&history, &settled(&history).unwrap(), &[[0.0, 0.0], [80.0, 0.0], tip]);
}

#[test]
fn angle_is_that_of_the_corner_seen_from_inside_it() {
    // 40° and 75° at the ends of a base of 100: by the law of sines the left leg is 100 sin 75° / sin 65°.
    let history = plate(
        &triangle(),
        vec![
            on(corner("left", "base"), place(0.0, 0.0)),
            horizontal("base"),
            length("base", 100.0),
            angle(edge("base"), edge("left"), 40.0),
            angle(edge("base"), edge("right"), 75.0),
        ],
    );
    let deg = PI / 180.0;
    let leg = 100.0 * maths::sin(75.0 * deg) / maths::sin(65.0 * deg);
    let tip = [leg * maths::cos(40.0 * deg), leg * maths::sin(40.0 * deg)];
    assert_corners(&history, &settled(&history).unwrap(), &[[0.0, 0.0], [100.0, 0.0], tip]);
}

#[test]
fn angle_of_edges_that_do_not_meet_is_seen_from_where_they_would() {
    // A trapezium of base 100 and height 40 whose legs lean in by the same 15° to the vertical: they would
    // meet above at 30°, and the top is 100 − 2 · 40 tan 15° long.
    let drawn = outline(
        &[[0.0, 0.0], [100.0, 0.0], [88.0, 38.0], [9.0, 41.0]],
        vec![line("base"), line("right"), line("top"), line("left")],
    );
    let history = plate(
        &drawn,
        vec![
            on(corner("left", "base"), place(0.0, 0.0)),
            horizontal("base"),
            length("base", 100.0),
            distance(edge("base"), edge("top"), 40.0),
            equal("left", "right"),
            angle(edge("left"), edge("right"), 30.0),
        ],
    );
    let lean = 40.0 * maths::tan(PI / 12.0);
    let settled = settled(&history).unwrap();
    assert_corners(&history, &settled, &[[0.0, 0.0], [100.0, 0.0], [100.0 - lean, 40.0], [lean, 40.0]]);
    assert_eq!(left_free(&settled), 0);
}

#[test]
fn stadium_of_radius_12_and_straights_of_50() {
    // Two straights run into two arcs, tangent at all four ends, as a belt lies on two pulleys. Pulleys of one
    // size make the straights parallel and the arcs half circles, so the corners are at (0, ∓12) and
    // (50, ∓12), and the rises 12.
    let drawn = outline(
        &[[0.0, -11.0], [52.0, -12.5], [49.0, 14.0], [1.0, 13.0]],
        vec![line("front"), arc("right", 14.0), line("back"), arc("left", 13.0)],
    );
    let history = plate(
        &drawn,
        vec![
            tangent("front", "right"),
            tangent("right", "back"),
            tangent("back", "left"),
            tangent("left", "front"),
            radius("right", 12.0),
            equal("right", "left"),
            length("front", 50.0),
            horizontal("front"),
            on(centre("left"), place(0.0, 0.0)),
        ],
    );
    let settled = settled(&history).unwrap();
    assert_corners(&history, &settled, &[[0.0, -12.0], [50.0, -12.0], [50.0, 12.0], [0.0, 12.0]]);
    let rises: Vec<f64> = outline_of(&history)
        .edges
        .iter()
        .filter_map(|edge| match &edge.shape {
            EdgeShape::ArcRise(rise) => Some(rise.evaluate(&settled.free)),
            EdgeShape::Line | EdgeShape::Arc(_) | EdgeShape::ArcThrough(_) => None,
        })
        .collect();
    assert!(rises.len() == 2 && rises.iter().all(|rise| (rise - 12.0).abs() < NEAR), "{rises:?}");
    assert_eq!(left_free(&settled), 0);
}

#[test]
fn regular_hexagon_by_equal_sides_and_angles() {
    // Five equal sides pairs and four angles of 120°, side 40 along x from the origin: the corners follow by
    // turning 60° to the left after each side.
    let names = ["a", "b", "c", "d", "e", "f"];
    let drawn = outline(
        &[[2.0, 1.0], [38.0, -3.0], [63.0, 30.0], [44.0, 71.0], [-1.0, 66.0], [-22.0, 38.0]],
        names.map(line).to_vec(),
    );
    let mut relations = vec![on(corner("f", "a"), place(0.0, 0.0)), horizontal("a"), length("a", 40.0)];
    relations.extend(names.windows(2).map(|pair| equal(pair[0], pair[1])));
    relations.extend(names.windows(2).take(4).map(|pair| angle(edge(pair[0]), edge(pair[1]), 120.0)));
    let history = plate(&drawn, relations);
    let h = 20.0 * 3.0_f64.sqrt();
    let wanted = [[0.0, 0.0], [40.0, 0.0], [60.0, h], [40.0, 2.0 * h], [0.0, 2.0 * h], [-20.0, h]];
    assert_corners(&history, &settled(&history).unwrap(), &wanted);
}

#[test]
fn line_tangent_to_a_circle_that_it_does_not_end_on() {
    // A roof edge from (−50, 0) touches the circle of radius 14 about the origin from above: the touching
    // ray leaves at asin(14/50), so that it climbs to y = 50 tan(asin(14/50)) = 50 · 14/48 at x = 0.
    let drawn = outline(
        &[[-50.0, 0.0], [-14.0, 0.0], [14.0, 0.0], [50.0, 0.0], [0.0, 20.0]],
        vec![line("step"), arc("seat", -14.0), line("ledge"), line("down"), line("roof")],
    );
    let history = plate(
        &drawn,
        vec![
            on(corner("roof", "step"), place(-50.0, 0.0)),
            on(corner("step", "seat"), place(-14.0, 0.0)),
            on(corner("seat", "ledge"), place(14.0, 0.0)),
            on(corner("ledge", "down"), place(50.0, 0.0)),
            on(centre("seat"), edge("step")),
            on(corner("down", "roof"), Element::YAxis),
            tangent("seat", "roof"),
        ],
    );
    let settled = settled(&history).unwrap();
    let wanted = [[-50.0, 0.0], [-14.0, 0.0], [14.0, 0.0], [50.0, 0.0], [0.0, 50.0 * 14.0 / 48.0]];
    assert_corners(&history, &settled, &wanted);
    assert_eq!(left_free(&settled), 0);
}

#[test]
fn circles_touch_from_outside_or_within_as_they_were_drawn() {
    // Two arcs bulge out of a slab's long sides, centres over one another at x = 0 on the sides themselves:
    // half circles of radius 10 and R. Touching from outside, the sides are 10 + R = 25 apart.
    let drawn = outline(
        &[
            [-60.0, 0.0],
            [-10.0, 0.0],
            [10.0, 0.0],
            [60.0, 0.0],
            [60.0, 28.0],
            [15.0, 28.0],
            [-15.0, 28.0],
            [-60.0, 28.0],
        ],
        vec![
            line("f1"),
            arc("low", -10.0),
            line("f2"),
            line("right"),
            line("b1"),
            arc("high", -15.0),
            line("b2"),
            line("left"),
        ],
    );
    let relations = |gap: ProfileRelation| {
        vec![
            on(centre("low"), place(0.0, 0.0)),
            horizontal("f1"),
            on(edge("f1"), edge("f2")),
            on(centre("low"), edge("f1")),
            radius("low", 10.0),
            parallel(edge("b1"), Element::XAxis),
            on(edge("b1"), edge("b2")),
            on(centre("high"), edge("b1")),
            on(centre("high"), Element::YAxis),
            radius("high", 15.0),
            gap,
        ]
    };
    let apart = plate(&drawn, relations(tangent("low", "high")));
    let settled_apart = settled(&apart).unwrap();
    let got = corners(&apart, &settled_apart.free);
    assert!((got[5][1] - 25.0).abs() < NEAR && (got[1][0] + 10.0).abs() < NEAR, "{got:?}");
    // Drawn with the centres 4 apart, the smaller circle lies within the greater: 15 − 10 = 5.
    let mut near = drawn.clone();
    near.corners[4..].iter_mut().for_each(|corner| corner[1] = n(4.0));
    let near = plate(&near, relations(tangent("low", "high")));
    let got = corners(&near, &settled(&near).unwrap().free);
    assert!((got[5][1] - 5.0).abs() < NEAR, "{got:?}");
}

#[test]
fn symmetric_edges_and_corners_mirror_each_other() {
    // A drop: two legs from (0, −30) up to a cap arc, mirrored about the y axis. Legs tangent to a cap of
    // radius 15 about the origin touch it where the radius is perpendicular to the leg: sin α = 15/30 = 1/2
    // at the tip, touching points at 15 (±cos 30°, −sin 30°).
    let drawn = outline(
        &[[1.0, -29.0], [12.0, -6.0], [-14.0, -8.0]],
        vec![
            line("right"),
            ProfileEdge { name: "cap".to_owned(), shape: EdgeShape::ArcThrough([n(0.0), n(17.0)]) },
            line("left"),
        ],
    );
    let mirror = |a, b| ProfileRelation::Symmetric { a, b, about: Element::YAxis };
    let history = plate(
        &drawn,
        vec![
            mirror(edge("right"), edge("left")),
            tangent("right", "cap"),
            radius("cap", 15.0),
            on(corner("left", "right"), place(0.0, -30.0)),
            on(centre("cap"), place(0.0, 0.0)),
        ],
    );
    let side = 15.0 * maths::cos(PI / 6.0);
    let solved = settled(&history).unwrap();
    assert_corners(&history, &solved, &[[0.0, -30.0], [side, -7.5], [-side, -7.5]]);
}

#[test]
fn targets_may_be_free_numbers_that_other_relations_settle() {
    // The height is a declared free number; the side lengths make it 12 (5, 12, 13).
    let drawn = outline(&[[0.0, 0.0], [6.0, 0.5], [5.0, 11.0]], ["base", "right", "left"].map(line).to_vec());
    let mut history = plate(
        &drawn,
        vec![
            on(corner("left", "base"), place(0.0, 0.0)),
            horizontal("base"),
            length("base", 5.0),
            length("left", 13.0),
            ProfileRelation::Perpendicular { a: edge("base"), b: edge("right") },
        ],
    );
    let height = Number::free(VarId::new(history.free_numbers.len()));
    history.free_numbers.push(FreeNumber::new("height", 10.0));
    let kernel::history::Feature::BasePanel(base) = &mut history.features[0].feature else {
        panic!("a plate is a base panel")
    };
    let relation = ProfileRelation::Length { edge: "right".to_owned(), value: height };
    base.outline.relations.push(RelationEntry { relation, span: None });
    let solved = settled(&history).unwrap();
    assert!((solved.free.last().unwrap() - 12.0).abs() < NEAR);
    assert_eq!((left_free(&solved), solved.left_free), (0, 0));
}

#[test]
fn what_is_tied_to_nothing_stays_where_it_was_drawn() {
    // One length only: both ends of the base give way by half, along it, and the tip does not move. Eight
    // numbers less one relation are free.
    let drawn = outline(
        &[[0.0, 0.0], [100.0, 0.0], [100.0, 50.0], [0.0, 50.0]],
        ["front", "right", "back", "left"].map(line).to_vec(),
    );
    let history = plate(&drawn, vec![length("front", 110.0)]);
    let solved = settled(&history).unwrap();
    assert_corners(&history, &solved, &[[-5.0, 0.0], [105.0, 0.0], [100.0, 50.0], [0.0, 50.0]]);
    assert_eq!((left_free(&solved), solved.left_free), (7, 0));
    assert_eq!(solved.sketches[0].numbers, 8);
}

#[test]
fn freedom_is_counted_for_each_sketch_and_for_declared_numbers_apart() {
    // The window has 6 numbers and one relation. A declared number is tied to nothing.
    let mut history = plate(
        &outline(&[[0.0, 0.0], [100.0, 0.0], [0.0, 90.0]], ["front", "slope", "left"].map(line).to_vec()),
        vec![on(corner("left", "front"), place(0.0, 0.0)), horizontal("front"), length("front", 100.0)],
    );
    history.free_numbers.push(FreeNumber::new("spare", 1.0));
    let window = outline(&[[10.0, 10.0], [30.0, 10.0], [10.0, 25.0]], ["a", "b", "c"].map(line).to_vec());
    let mut window = window.sketched("window", None, &mut history.free_numbers).unwrap();
    window.relations.push(RelationEntry { relation: horizontal("a"), span: None });
    let place = kernel::history::feature::Pattern::At(vec![[n(0.0), n(0.0)]]);
    let cutout = parts::cutout("plate", kernel::history::Shape::Outline(window), place);
    history.features.push(parts::entry("window", kernel::history::Feature::Cutout(cutout)));
    let solved = settled(&history).unwrap();
    let counts: Vec<_> = solved.sketches.iter().map(|s| (s.name.as_str(), s.numbers, s.left_free)).collect();
    assert_eq!(counts, [("plate", 6, 2), ("window", 6, 5)]);
    assert_eq!((solved.left_free, solved.report.degrees_of_freedom), (1, 8));
}

#[test]
fn relations_that_contradict_each_other_are_named() {
    let mut relations = vec![
        on(corner("left", "base"), place(0.0, 0.0)),
        horizontal("base"),
        length("base", 80.0),
        length("right", 30.0),
    ];
    relations.push(length("left", 40.0));
    let faults = settled(&plate(&triangle(), relations)).unwrap_err();
    let [conflict] = faults.as_slice() else { panic!("{faults:?}") };
    assert_eq!(conflict.code, "dimension::conflict");
    for length in ["`base` in outline `plate` = 80.000 mm", "`right` in", "`left` in"] {
        assert!(conflict.message.contains(&format!("length of {length}")), "{}", conflict.message);
    }
    // Nothing but the three lengths: 30 and 40 do not reach over 80.
    assert!(!conflict.message.contains("horizontal") && !conflict.message.contains("corner"));
    // With 30 and 40 the base is at most 70; with 80 and 40, or 80 and 30, the third is at least 40 or 50.
    for (name, wanted) in [("base", 70.0), ("right", 40.0), ("left", 50.0)] {
        let start =
            format!("with the others held, length of `{name}` in outline `plate` comes no nearer than ");
        let hint = conflict.hints.iter().find_map(|hint| hint.strip_prefix(&start)).expect("each has a hint");
        let got: f64 = hint.trim_end_matches(" mm").parse().expect("a number");
        assert!((got - wanted).abs() < 0.002, "{hint}");
    }
}

/// Corners of a figure turned and shifted so that the first lies at the origin and the second along x.
fn laid_out(corners: &[[f64; 2]]) -> Vec<[f64; 2]> {
    let [ox, oy] = corners[0];
    let (dx, dy) = (corners[1][0] - ox, corners[1][1] - oy);
    let length = maths::hypot(dx, dy);
    let (c, s) = (dx / length, dy / length);
    corners.iter().map(|[x, y]| [(x - ox) * c + (y - oy) * s, (y - oy) * c - (x - ox) * s]).collect()
}

/// A star-shaped polygon of 4 to 9 corners, with offsets by which the drawing is wrong.
fn planted() -> impl Strategy<Value = (Vec<[f64; 2]>, Vec<[f64; 2]>)> {
    (4usize..10).prop_flat_map(|count| {
        let spokes = prop::collection::vec((60.0..140.0, -0.2..0.2), count);
        let slips = prop::collection::vec([-4.0..4.0, -4.0..4.0], count);
        (spokes, slips).prop_map(move |(spokes, slips)| {
            let corner = |(i, (radius, shift)): (usize, &(f64, f64))| {
                let angle = (i as f64 + shift) * maths::TAU / count as f64;
                [radius * maths::cos(angle), radius * maths::sin(angle)]
            };
            (spokes.iter().enumerate().map(corner).collect(), slips)
        })
    })
}

fn names(count: usize) -> Vec<String> {
    (0..count).map(|i| format!("e{i}")).collect()
}

fn corner_angle(corners: &[[f64; 2]], at: usize) -> f64 {
    let count = corners.len();
    let ([px, py], [x, y], [qx, qy]) =
        (corners[(at + count - 1) % count], corners[at], corners[(at + 1) % count]);
    let (ax, ay, bx, by) = (px - x, py - y, qx - x, qy - y);
    maths::atan2((ax * by - ay * bx).abs(), ax * bx + ay * by) * 180.0 / PI
}

/// Relations that determine a polygon up to rigid motion, drawn from its own measures: all lengths but the
/// last two, and all angles between the edges so held, are a chain from which the last corner follows by
/// one more length and one diagonal.
fn measures_of(corners: &[[f64; 2]]) -> Vec<ProfileRelation> {
    let count = corners.len();
    let names = names(count);
    let span =
        |a: usize, b: usize| maths::hypot(corners[a][0] - corners[b][0], corners[a][1] - corners[b][1]);
    let at = |i: usize| corner(&names[(i + count - 1) % count], &names[i]);
    let mut relations: Vec<ProfileRelation> =
        (0..count - 2).map(|i| length(&names[i], span(i, i + 1))).collect();
    for i in 1..count - 2 {
        relations.push(angle(edge(&names[i - 1]), edge(&names[i]), corner_angle(corners, i)));
    }
    let last = count - 1;
    relations.push(distance(at(last), at(last - 1), span(last, last - 1)));
    relations.push(distance(at(last), at(0), span(last, 0)));
    relations
}

proptest! {
    #![proptest_config(ProptestConfig { failure_persistence: None, ..ProptestConfig::with_cases(300) })]

    #[test]
    fn a_figure_drawn_inexactly_becomes_congruent_to_the_one_measured((planted, slips) in planted()) {
        let drawn: Vec<[f64; 2]> =
            planted.iter().zip(&slips).map(|(c, s)| [c[0] + s[0], c[1] + s[1]]).collect();
        let edges: Vec<ProfileEdge> = names(planted.len()).iter().map(|name| line(name)).collect();
        // Near a straight or folded corner an angle cannot tell to which side it opens.
        let clear = (0..planted.len()).all(|i| {
            let (planted, drawn) = (corner_angle(&planted, i), corner_angle(&drawn, i));
            (20.0..160.0).contains(&planted) && (20.0..160.0).contains(&drawn)
        });
        prop_assume!(clear);
        let mut relations = measures_of(&planted);
        let history = plate(&outline(&drawn, edges.clone()), relations.clone());
        let solved = settled(&history).unwrap();
        prop_assert_eq!(left_free(&solved), 3);
        let got = laid_out(&corners(&history, &solved.free));
        for (g, w) in got.iter().zip(laid_out(&planted)) {
            prop_assert!(maths::hypot(g[0] - w[0], g[1] - w[1]) < 1e-6, "{:?} against {:?}", g, w);
        }
        // Anchored, nothing is left free, and solving from the answer returns the answer.
        let first = corner(&names(planted.len())[planted.len() - 1], "e0");
        relations.push(on(first, place(0.0, 0.0)));
        relations.push(horizontal("e0"));
        let anchored = plate(&outline(&drawn, edges.clone()), relations.clone());
        let solved = settled(&anchored).unwrap();
        prop_assert_eq!(left_free(&solved), 0);
        let answer = corners(&anchored, &solved.free);
        let again = plate(&outline(&answer, edges), relations);
        let again_solved = settled(&again).unwrap();
        for (g, w) in corners(&again, &again_solved.free).iter().zip(&answer) {
            prop_assert!(maths::hypot(g[0] - w[0], g[1] - w[1]) < tolerance::HELD_MM);
        }
    }

    /// Slips are kept below a quarter of the radius: an arc that is drawn folded over has another answer.
    #[test]
    fn rounded_corners_keep_radius_and_tangency(
        (size, slips) in ([50.0..120.0, 30.0..90.0], prop::collection::vec([-0.25..0.25, -0.25..0.25], 8)),
        r in 3.0..12.0,
    ) {
        // A rectangle with rounded corners: its straights end `r` before the corners.
        let [w, h]: [f64; 2] = size;
        let exact = [
            [r, 0.0], [w - r, 0.0], [w, r], [w, h - r], [w - r, h], [r, h], [0.0, h - r], [0.0, r],
        ];
        let drawn: Vec<[f64; 2]> =
            exact.iter().zip(&slips).map(|(c, s)| [c[0] + r * s[0], c[1] + r * s[1]]).collect();
        let mut edges = Vec::new();
        for i in 0..4 {
            edges.push(line(&format!("s{i}")));
            let ([ax, ay], [bx, by]) = (drawn[2 * i + 1], drawn[(2 * i + 2) % 8]);
            edges.push(arc(&format!("c{i}"), 0.75 * maths::hypot(bx - ax, by - ay)));
        }
        let mut relations = vec![
            horizontal("s0"),
            distance(edge("s0"), edge("s2"), h),
            distance(edge("s3"), edge("s1"), w),
            ProfileRelation::Perpendicular { a: edge("s0"), b: edge("s1") },
            on(edge("s0"), Element::XAxis),
            on(edge("s3"), Element::YAxis),
            radius("c0", r),
        ];
        for i in 0..4 {
            relations.push(tangent(&format!("s{i}"), &format!("c{i}")));
            relations.push(tangent(&format!("c{i}"), &format!("s{}", (i + 1) % 4)));
            if i > 0 {
                relations.push(equal("c0", &format!("c{i}")));
            }
        }
        let history = plate(&outline(&drawn, edges), relations);
        let solved = settled(&history).unwrap();
        prop_assert_eq!(left_free(&solved), 0);
        for (g, w) in corners(&history, &solved.free).iter().zip(exact) {
            prop_assert!(maths::hypot(g[0] - w[0], g[1] - w[1]) < 1e-6, "{:?} against {:?}", g, w);
        }
    }
}
