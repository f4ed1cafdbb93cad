//! What each dimension measures, by hand, and what is held with it.

#[allow(dead_code, reason = "tests and benches use different parts")]
#[path = "../benches/parts.rs"]
mod parts;

use kernel::diag::Diagnostic;
use kernel::dimension::DimensionState;
use kernel::history::feature::{Feature, FoldSide};
use kernel::history::{
    DimensionEntry, DimensionKind, EdgeName, FreeNumber, History, Number, Profile, SheetFace, Target, Thing,
};
use kernel::ident::VarId;
use kernel::regenerate::{Part, regenerate};
use parts::{base, entry, flange, history, n, panel};
use proptest::prelude::*;

fn dimension(name: &str, kind: DimensionKind, target: Target) -> DimensionEntry {
    DimensionEntry { name: name.to_owned(), kind, target, stays: None, span: None }
}

fn measured(kind: DimensionKind) -> DimensionEntry {
    dimension("measured", kind, Target::Measured)
}

fn held(name: &str, kind: DimensionKind, value: f64) -> DimensionEntry {
    dimension(name, kind, Target::Held(n(value)))
}

fn thing(name: &str) -> Thing {
    if name.contains('/') {
        Thing::Edge(EdgeName::new(name).expect("a well-formed name"))
    } else {
        Thing::Panel(panel(name))
    }
}

fn face(name: &str, face: SheetFace) -> Thing {
    Thing::Face { panel: panel(name), face }
}

fn clear(a: Thing, b: Thing) -> DimensionKind {
    DimensionKind::Clear { a, b }
}

fn overall(a: Thing, b: Thing) -> DimensionKind {
    DimensionKind::Overall { a, b }
}

fn of_two(
    kind: fn(Box<[DimensionKind; 2]>) -> DimensionKind,
    a: DimensionKind,
    b: DimensionKind,
) -> DimensionKind {
    kind(Box::new([a, b]))
}

fn place(x: f64, y: f64, z: f64) -> [Number; 3] {
    [n(x), n(y), n(z)]
}

fn plane(at: [f64; 3], normal: [f64; 3]) -> Thing {
    Thing::Plane { through: place(at[0], at[1], at[2]), normal }
}

fn axis(at: [f64; 3], along: [f64; 3]) -> Thing {
    Thing::Axis { through: place(at[0], at[1], at[2]), along }
}

/// A tray of 200 x 100 mm outside, 2 mm thick, inside radius 2: walls 40 mm high outside on the left and right
/// edge, and on each a lip of 15 mm outside that looks inwards.
fn tray() -> History {
    let walls = flange(&["floor/left", "floor/right"], 90.0, 40.0);
    let lips = flange(&["wall.left/tip", "wall.right/tip"], 90.0, 15.0);
    history(
        2.0,
        2.0,
        0.45,
        vec![
            base("floor", Profile::rectangle(&n(200.0), &n(100.0))),
            entry("wall", Feature::Flange(walls)),
            entry("lip", Feature::Flange(lips)),
        ],
    )
}

fn made(history: &History) -> Part {
    regenerate(history).unwrap_or_else(|faults| panic!("{faults:?}"))
}

fn refused(history: &History) -> Diagnostic {
    regenerate(history).expect_err("it cannot be made").remove(0)
}

/// What `kind` measures on the tray.
fn on_tray(kind: DimensionKind) -> f64 {
    let mut history = tray();
    history.dimensions = vec![measured(kind)];
    made(&history).settled.dimensions[0].got
}

#[track_caller]
fn assert_near(got: f64, wanted: f64) {
    assert!((got - wanted).abs() < 1e-9, "{got} against {wanted}");
}

#[test]
fn distances_between_panels_faces_and_edges_of_a_tray() {
    // The sheet lies below z = 0: walls stand on x = 0 to 2 and 198 to 200 and end at z = 38.
    assert_near(on_tray(clear(thing("wall.left"), thing("wall.right"))), 196.0);
    assert_near(on_tray(overall(thing("wall.left"), thing("wall.right"))), 200.0);
    // Mixed: from the inner face of one to the outer face of the other.
    let (inner, outer) = (face("wall.left", SheetFace::Inner), face("wall.right", SheetFace::Outer));
    assert_near(on_tray(clear(inner, outer)), 198.0);
    // Panel height: from the floor to the outer face of the lip, and to the wall's own end under it.
    assert_near(on_tray(clear(thing("floor"), thing("lip.left"))), 36.0);
    assert_near(on_tray(overall(thing("floor"), thing("lip.left"))), 40.0);
    // The gap between the lips: each reaches 15 mm in from its wall's outer face.
    assert_near(on_tray(clear(thing("lip.left/tip"), thing("lip.right/tip"))), 170.0);
    // Arrises: to the lower and to the upper one of a lip's edge.
    assert_near(on_tray(clear(face("floor", SheetFace::Inner), thing("lip.left/tip"))), 36.0);
    assert_near(on_tray(overall(face("floor", SheetFace::Inner), thing("lip.left/tip"))), 38.0);
    // Faces that are flush.
    let (a, b) = (face("lip.left", SheetFace::Outer), face("lip.right", SheetFace::Outer));
    assert_near(on_tray(clear(a, b)), 0.0);
}

#[test]
fn distances_to_places_given_by_numbers() {
    let shaft = || axis([100.0, 50.0, 20.0], [0.0, 3.0, 0.0]);
    // From the shaft to the inner faces of wall and floor, and to the nearer arris of a lip's tip: the lips end
    // at x = 15 and 185, their inner face at z = 36.
    assert_near(on_tray(clear(shaft(), thing("wall.left"))), 98.0);
    assert_near(on_tray(clear(thing("floor"), shaft())), 20.0);
    assert_near(on_tray(clear(thing("lip.left/tip"), shaft())), (85.0_f64 * 85.0 + 16.0 * 16.0).sqrt());
    assert_near(on_tray(overall(thing("lip.left/tip"), shaft())), (85.0_f64 * 85.0 + 18.0 * 18.0).sqrt());
    let machine = || plane([-30.0, 0.0, 0.0], [-1.0, 0.0, 0.0]);
    assert_near(on_tray(clear(thing("wall.left"), machine())), 30.0);
    assert_near(on_tray(overall(machine(), thing("wall.left"))), 32.0);
    let point = || Thing::Point(place(100.0, 10.0, 36.0));
    assert_near(on_tray(clear(thing("wall.right"), point())), 98.0);
    assert_near(on_tray(clear(thing("lip.right/tip"), point())), 85.0);
    assert_near(on_tray(clear(point(), Thing::Point(place(97.0, 14.0, 36.0)))), 5.0);
    assert_near(on_tray(clear(point(), shaft())), 16.0);
}

#[test]
fn what_is_made_of_other_measures() {
    let walls = || clear(thing("wall.left"), thing("wall.right"));
    let lips = || clear(thing("lip.left/tip"), thing("lip.right/tip"));
    assert_near(on_tray(of_two(DimensionKind::Difference, walls(), lips())), 26.0);
    assert_near(on_tray(of_two(DimensionKind::Ratio, walls(), lips())), 196.0 / 170.0);
    let about = |x: f64| DimensionKind::OffCentre {
        a: thing("wall.left"),
        b: thing("wall.right"),
        about: plane([x, 0.0, 0.0], [1.0, 0.0, 0.0]),
    };
    assert_near(on_tray(about(100.0)), 0.0);
    // The middle lies 3 mm to the left of what it is measured about.
    assert_near(on_tray(about(103.0)), 3.0);
}

#[test]
fn blank_sizes_are_those_of_the_blank() {
    // 2 · 15 + 2 · 40 + 200 outside, four bends of 90 degrees: each loses 2 (2 + 2) less π/2 · 2.9.
    let deduction = 8.0 - 0.5 * std::f64::consts::PI * 2.9;
    assert_near(on_tray(DimensionKind::BlankLength), 310.0 - 4.0 * deduction);
    assert_near(on_tray(DimensionKind::BlankWidth), 100.0);
}

#[test]
fn a_round_end_counts_in_the_blank() {
    // A disc of 120 mm, drawn as two half circles between corners 120 mm apart along x, is 120 mm wide.
    let disc = parts::outline(
        &[[0.0, 0.0], [120.0, 0.0]],
        vec![parts::arc("front", 60.0), parts::arc("back", 60.0)],
    );
    let mut history = history(2.0, 2.0, 0.45, vec![base("floor", disc)]);
    history.dimensions = vec![measured(DimensionKind::BlankWidth), measured(DimensionKind::BlankLength)];
    history.dimensions[1].name = "other".to_owned();
    let sizes: Vec<f64> = made(&history).settled.dimensions.iter().map(|d| d.got).collect();
    assert_near(sizes[0], 120.0);
    assert_near(sizes[1], 120.0);
}

/// The tray with a free length of floor, walls and lips.
fn free_tray() -> History {
    let mut history = tray();
    let free = |index| Number::free(VarId::new(index));
    history.free_numbers =
        vec![FreeNumber::new("floor", 200.0), FreeNumber::new("wall", 40.0), FreeNumber::new("lip", 15.0)];
    history.features[0] = base("floor", Profile::rectangle(&free(0), &n(100.0)));
    for (feature, number) in [(1, 1), (2, 2)] {
        let Feature::Flange(flange) = &mut history.features[feature].feature else { panic!("a flange") };
        flange.length = free(number);
    }
    history
}

fn settled(history: &History) -> Vec<f64> {
    made(history).settled.free
}

#[test]
fn every_kind_can_be_held() {
    let walls = || clear(thing("wall.left"), thing("wall.right"));
    let lips = || clear(thing("lip.left/tip"), thing("lip.right/tip"));
    let mut history = free_tray();
    history.dimensions = vec![
        held("inside", walls(), 250.0),
        held("height", overall(thing("floor"), thing("lip.left")), 55.0),
        held("twice", of_two(DimensionKind::Ratio, walls(), lips()), 2.0),
    ];
    // Floor 250 + 4; wall 55; lips 125 apart, so (254 - 125) / 2 long outside.
    for (got, wanted) in settled(&history).into_iter().zip([254.0, 55.0, 64.5]) {
        assert_near(got, wanted);
    }
    history.dimensions[2] = held("equal", of_two(DimensionKind::Difference, walls(), lips()), 28.0);
    assert_near(settled(&history)[2], 16.0);
    history.dimensions[2] = held("blank", DimensionKind::BlankLength, 400.0);
    let deduction = 8.0 - 0.5 * std::f64::consts::PI * 2.9;
    assert_near(settled(&history)[2], 0.5 * (400.0 - 254.0 - 110.0 + 4.0 * deduction));
}

#[test]
fn a_blank_is_measured_between_the_corners_that_stand_out_where_the_solver_ends() {
    // Two front corners change places as the farthest: at w + 40 and at 2 w, start 30, answer 75.
    let w = Number::free(VarId::new(0));
    let corners =
        vec![[n(0.0), n(0.0)], [w.plus(&n(40.0)), n(0.0)], [w.times(2.0), n(60.0)], [n(0.0), n(60.0)]];
    let edges = ["front", "right", "back", "left"].map(parts::line).to_vec();
    let mut history = history(2.0, 2.0, 0.45, vec![base("floor", Profile::new(corners, edges))]);
    history.free_numbers = vec![FreeNumber::new("w", 30.0)];
    history.dimensions = vec![held("length", DimensionKind::BlankLength, 150.0)];
    let part = made(&history);
    assert_near(part.blank.bounding_box().width(), 150.0);
    assert_near(part.settled.free[0], 75.0);
}

#[test]
fn the_bulge_of_an_arc_that_grows_with_the_part_is_part_of_its_size() {
    // A square of side w with a half round on its right: w + w / 2 long.
    let w = Number::free(VarId::new(0));
    let corners = vec![[n(0.0), n(0.0)], [w.clone(), n(0.0)], [w.clone(), w.clone()], [n(0.0), w.clone()]];
    let mut edges = ["front", "right", "back", "left"].map(parts::line).to_vec();
    edges[1].shape = kernel::history::EdgeShape::Arc(w.times(0.5));
    let mut history = history(2.0, 2.0, 0.45, vec![base("floor", Profile::new(corners, edges))]);
    history.free_numbers = vec![FreeNumber::new("w", 60.0)];
    history.dimensions = vec![held("length", DimensionKind::BlankLength, 150.0)];
    let part = made(&history);
    assert!((part.blank.bounding_box().width() - 150.0).abs() < 1e-6);
    assert!((part.settled.free[0] - 100.0).abs() < 1e-6);
}

#[test]
fn faces_count_that_look_at_each_other_where_the_solver_ends() {
    for start in [20.0, 60.0, 120.0, 150.0] {
        let mut history = tray();
        history.features.truncate(2);
        history.free_numbers = vec![FreeNumber::new("turn", start)];
        let Feature::Flange(walls) = &mut history.features[1].feature else { panic!("a flange") };
        walls.turn = Number::free(VarId::new(0));
        let upright = DimensionKind::Angle { a: panel("floor"), b: panel("wall.left") };
        let walls = || (thing("wall.left"), thing("wall.right"));
        let wall = || (face("wall.left", SheetFace::Inner), plane([-30.0, 0.0, 0.0], [1.0, 0.0, 0.0]));
        let near = || (thing("wall.left"), plane([-30.0, 0.0, 0.0], [1.0, 0.0, 0.0]));
        let kinds = [
            clear(walls().0, walls().1),
            overall(walls().0, walls().1),
            clear(wall().0, wall().1),
            clear(near().0, near().1),
            overall(near().0, near().1),
        ];
        history.dimensions = vec![held("upright", upright, 90.0)];
        let names = ["a", "b", "c", "d", "e"];
        history
            .dimensions
            .extend(names.into_iter().zip(kinds).map(|(name, kind)| dimension(name, kind, Target::Measured)));
        let got: Vec<f64> = made(&history).settled.dimensions.iter().skip(1).map(|d| d.got).collect();
        for (got, wanted) in got.into_iter().zip([196.0, 200.0, 32.0, 30.0, 32.0]) {
            assert!((got - wanted).abs() < 1e-6, "from {start}: {got} against {wanted}");
        }
    }
}

#[test]
fn a_slanted_seam_is_taken_off_the_blank_that_is_held() {
    // Two walls at a corner of a trapezoid; the blank is as long as its true outline, cut corners and all.
    let outline = parts::outline(
        &[[0.0, 0.0], [200.0, 0.0], [160.0, 90.0], [0.0, 90.0]],
        ["front", "slant", "back", "left"].map(parts::line).to_vec(),
    );
    let walls = flange(&["floor/front", "floor/slant", "floor/back"], 90.0, 40.0);
    let mut history =
        history(2.0, 2.0, 0.45, vec![base("floor", outline), entry("wall", Feature::Flange(walls))]);
    history.free_numbers = vec![FreeNumber::new("wall", 40.0)];
    let Feature::Flange(walls) = &mut history.features[1].feature else { panic!("a flange") };
    walls.length = Number::free(VarId::new(0));
    history.dimensions = vec![held("blank", DimensionKind::BlankLength, 250.0)];
    let part = made(&history);
    assert_near(part.blank.bounding_box().width(), 250.0);
    assert_near(part.settled.dimensions[0].got, 250.0);
}

#[test]
fn a_panel_that_stays_keeps_its_place() {
    // A tray whose left wall stands where one free number says, its right wall where another one says.
    let mut history = free_tray();
    let (left, right) = (Number::free(VarId::new(0)), Number::free(VarId::new(1)));
    history.free_numbers = vec![FreeNumber::new("left", 0.0), FreeNumber::new("right", 200.0)];
    let corners = [[&left, &n(0.0)], [&right, &n(0.0)], [&right, &n(100.0)], [&left, &n(100.0)]];
    let corners = corners.iter().map(|c| c.map(Clone::clone)).collect();
    let edges = ["front", "right", "back", "left"].map(parts::line).to_vec();
    history.features[0] = base("floor", Profile::new(corners, edges));
    for (feature, length) in [(1, 40.0), (2, 15.0)] {
        let Feature::Flange(flange) = &mut history.features[feature].feature else { panic!("a flange") };
        flange.length = n(length);
    }
    history.dimensions = vec![held("inside", clear(thing("wall.left"), thing("wall.right")), 206.0)];
    // The smallest change moves both walls alike.
    for (got, wanted) in settled(&history).into_iter().zip([-5.0, 205.0]) {
        assert_near(got, wanted);
    }
    history.dimensions[0].stays = Some(panel("wall.left"));
    let [left, right] = settled(&history)[..] else { panic!("two free numbers") };
    assert_eq!(left, 0.0);
    assert_near(right, 210.0);
    history.dimensions[0].stays = Some(panel("wall.right"));
    let [left, right] = settled(&history)[..] else { panic!("two free numbers") };
    assert_eq!(right, 200.0);
    assert_near(left, -10.0);
    // Twice the weight moves a quarter as far.
    history.dimensions[0].stays = None;
    history.free_numbers[0].weight = Some(2.0);
    for (got, wanted) in settled(&history).into_iter().zip([-2.0, 208.0]) {
        assert_near(got, wanted);
    }
    // A bound is kept, and the other side does the rest.
    history.free_numbers[1].max = Some(203.0);
    for (got, wanted) in settled(&history).into_iter().zip([-7.0, 203.0]) {
        assert_near(got, wanted);
    }
}

#[test]
fn one_sided_dimensions_move_nothing_that_is_right() {
    let walls = || clear(thing("wall.left"), thing("wall.right"));
    let mut history = free_tray();
    history.dimensions = vec![dimension("clear", walls(), Target::AtLeast(n(150.0)))];
    let part = made(&history);
    assert_eq!(part.settled.free, [200.0, 40.0, 15.0]);
    assert_eq!(part.settled.dimensions[0].state, DimensionState::AboveLeast);
    history.dimensions[0].target = Target::AtLeast(n(220.0));
    let part = made(&history);
    assert_near(part.settled.free[0], 224.0);
    assert_eq!(part.settled.dimensions[0].state, DimensionState::AtLeast);
    history.dimensions[0].target = Target::AtMost(n(180.0));
    let part = made(&history);
    assert_near(part.settled.free[0], 184.0);
    assert_eq!(part.settled.dimensions[0].state, DimensionState::AtMost);
    // The blank must be at most 280 mm long: floor, walls and lips give way, walls and lips on both sides.
    history.dimensions = vec![dimension("blank", DimensionKind::BlankLength, Target::AtMost(n(280.0)))];
    let part = made(&history);
    assert_near(part.blank.bounding_box().width(), 280.0);
    let moved: Vec<f64> = part.settled.free.iter().zip([200.0, 40.0, 15.0]).map(|(a, b)| a - b).collect();
    assert_near(moved[1], 2.0 * moved[0]);
    assert_near(moved[2], 2.0 * moved[0]);
}

#[test]
fn what_is_loose_implied_at_its_bound_or_without_effect_is_told() {
    let walls = || clear(thing("wall.left"), thing("wall.right"));
    let mut history = free_tray();
    history.free_numbers[1].max = Some(40.0);
    history.dimensions = vec![
        held("inside", walls(), 250.0),
        held("outside", overall(thing("wall.left"), thing("wall.right")), 254.0),
        held("width", DimensionKind::BlankWidth, 100.0),
        dimension("high", overall(thing("floor"), thing("lip.left")), Target::AtLeast(n(40.0))),
    ];
    let part = made(&history);
    let remarks = part.remarks(&history);
    let loose: Vec<Vec<(&str, f64)>> = remarks
        .loose
        .iter()
        .map(|loose| loose.numbers.iter().map(|(name, by)| (name.as_str(), *by)).collect())
        .collect();
    assert_eq!(loose, [vec![("wall", 1.0)], vec![("lip", 1.0)]]);
    let [implied] = remarks.implied.as_slice() else { panic!("{:?}", remarks.implied) };
    assert_eq!((implied.what.as_str(), implied.by.as_slice()), ("outside", ["inside".to_owned()].as_slice()));
    let at: Vec<(&str, f64, &str)> =
        remarks.at_bounds.iter().map(|at| (at.number.as_str(), at.value, at.end)).collect();
    assert_eq!(at, [("wall", 40.0, "most")]);
    assert_eq!(remarks.without_effect, ["width"]);
}

#[test]
fn limits_that_are_reached_close_a_way_of_what_is_loose() {
    let loose = |history: &History| -> Vec<(String, &'static str)> {
        let remarks = made(history).remarks(history);
        remarks.loose.iter().map(|loose| (loose.numbers[0].0.clone(), loose.open.word())).collect()
    };
    let of = |open: [&'static str; 3]| -> Vec<(String, &'static str)> {
        ["floor", "wall", "lip"].iter().zip(open).map(|(name, open)| ((*name).to_owned(), open)).collect()
    };
    let walls = || clear(thing("wall.left"), thing("wall.right"));
    let mut history = free_tray();
    assert_eq!(loose(&history), of(["both", "both", "both"]));
    history.dimensions = vec![dimension("most", walls(), Target::AtMost(n(150.0)))];
    assert_eq!(loose(&history), of(["down", "both", "both"]));
    history.dimensions.push(dimension("least", walls(), Target::AtLeast(n(150.0))));
    assert_eq!(loose(&history), of(["neither", "both", "both"]));
    history.dimensions.remove(0);
    // A limit that is kept with room to spare closes nothing.
    assert_eq!(loose(&history), of(["both", "both", "both"]));
    history.dimensions = vec![dimension("least", walls(), Target::AtLeast(n(250.0)))];
    history.free_numbers[1].max = Some(40.0);
    history.free_numbers[2].min = Some(15.0);
    assert_eq!(loose(&history), of(["up", "down", "up"]));
}

#[test]
fn a_dimension_that_its_ranges_keep_from_its_value_says_how_near_it_comes() {
    let mut history = free_tray();
    history.free_numbers[0].max = Some(210.0);
    let start = made(&history).blank.bounding_box();
    history.dimensions = vec![held("stock", DimensionKind::BlankLength, 500.0)];
    // With walls and lips kept by ranges of one value, the floor alone grows by 10 mm.
    for number in [1, 2] {
        let start = history.free_numbers[number].start;
        (history.free_numbers[number].min, history.free_numbers[number].max) = (Some(start), Some(start));
    }
    let faults = regenerate(&history).expect_err("it is out of reach");
    let got = start.max.x - start.min.x + 10.0;
    assert_eq!(faults[0].code, "dimension::not_held");
    assert_eq!(
        faults[0].message,
        format!(
            "`stock` asks for 500.000 mm, the nearest that was found is {got:.3} mm: free number `floor` touches \
             its bound, at most 210.000, free number `wall` touches its bound, at most 40.000, free number `lip` \
             touches its bound, at most 15.000"
        )
    );
    assert_eq!(faults.len(), 1);
}

#[test]
fn a_dimension_that_is_out_of_reach_is_not_blamed_on_others() {
    // A wall of 40 mm cannot be 90 mm clear of a plane through the floor, however it turns; the floor can be long.
    let mut history = free_tray();
    history.free_numbers[1].max = Some(40.0);
    history.free_numbers[1].min = Some(40.0);
    history.dimensions = vec![
        held("inside", clear(thing("wall.left"), thing("wall.right")), 250.0),
        held("height", overall(thing("floor"), thing("lip.left")), 90.0),
    ];
    let faults = regenerate(&history).expect_err("the wall is not that high");
    let [fault] = faults.as_slice() else { panic!("{faults:?}") };
    assert!(fault.message.starts_with("`height` asks for 90.000 mm"), "{fault:?}");
    assert!(!fault.hints.iter().any(|hint| hint.contains("other dimensions")), "{fault:?}");
}

#[test]
fn what_cannot_be_measured_is_named() {
    let code = |kind: DimensionKind| {
        let mut history = tray();
        history.dimensions = vec![held("odd", kind, 5.0)];
        refused(&history).code
    };
    let walls = || clear(thing("wall.left"), thing("wall.right"));
    let angle = DimensionKind::Angle { a: panel("floor"), b: panel("wall.left") };
    assert_eq!(code(of_two(DimensionKind::Difference, walls(), angle)), "dimension::two_units");
    assert_eq!(code(clear(thing("floor"), thing("floor/left"))), "dimension::one_thing");
    assert_eq!(code(clear(thing("floor"), thing("wall.left"))), "dimension::not_parallel");
    assert_eq!(code(clear(thing("floor"), thing("wall.top"))), "history::unknown_panel");
    assert_eq!(code(clear(thing("floor"), axis([0.0; 3], [0.0; 3]))), "dimension::no_direction");
    let about = plane([250.0, 0.0, 0.0], [1.0, 0.0, 0.0]);
    let off = DimensionKind::OffCentre { a: thing("wall.left"), b: thing("wall.right"), about };
    assert_eq!(code(off), "dimension::one_side");
    // A middle sideways of an axis is not half a difference of lengths.
    let corner = |x: f64, y: f64| Thing::Point(place(x, y, 0.0));
    let about = axis([0.0, 0.0, 0.0], [0.0, 0.0, 1.0]);
    let off = DimensionKind::OffCentre { a: corner(10.0, 0.0), b: corner(0.0, 10.0), about };
    assert_eq!(code(off), "dimension::one_side");
    let doubled = |kind: DimensionKind| of_two(DimensionKind::Difference, kind.clone(), kind);
    let many = (0..4).fold(walls(), |kind, _| doubled(kind));
    assert_eq!(code(many), "dimension::too_many_measures");
    let mut history = free_tray();
    history.free_numbers[0].min = Some(210.0);
    assert_eq!(refused(&history).code, "dimension::start_out_of_bounds");
    history.free_numbers[0] = FreeNumber { weight: Some(0.0), ..FreeNumber::new("floor", 200.0) };
    assert_eq!(refused(&history).code, "dimension::weight");
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 64, ..ProptestConfig::default() })]

    #[test]
    fn a_blank_held_by_leaning_walls_is_as_long_as_asked(
        turn in 35.0..145.0_f64,
        side in prop::bool::ANY,
        radius in 0.5..6.0_f64,
        length in 300.0..420.0_f64,
    ) {
        let mut history = free_tray();
        let Feature::Flange(walls) = &mut history.features[1].feature else { panic!("a flange") };
        walls.turn = n(turn);
        walls.inside_radius = Some(n(radius));
        walls.side = if side { FoldSide::Up } else { FoldSide::Down };
        history.dimensions = vec![held("blank", DimensionKind::BlankLength, length)];
        let part = made(&history);
        prop_assert!((part.blank.bounding_box().width() - length).abs() <= 1e-6);
    }
}
