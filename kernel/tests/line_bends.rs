//! Offsets, fold lines, hems and turned panels against lengths worked out by hand, and laws that they keep.
//!
//! By definition a bend through `a` takes `a (r + K t)` of the blank, and a step of two bends through `a` with
//! a web `w` rises `(2 r + t)(1 − cos a) + w sin a` between equal faces and is `(2 r + t) sin a + w cos a`
//! wide (plane geometry of two arcs and their common tangent).

#[allow(dead_code, reason = "tests and benches use different parts")]
#[path = "../benches/parts.rs"]
mod parts;

use kernel::fold::FoldFractions;
use kernel::geom::{Placement, Point2};
use kernel::history::feature::{
    DrawnLine, Feature, FlangeEnd, FoldLine, FoldSide, Hem, HemForm, HemSpec, KeptSize, LineMarks, Offset,
    StepFaces, Turned,
};
use kernel::history::{
    BendRuleSpec, DimensionEntry, DimensionKind, FeatureEntry, FreeNumber, History, Number, Profile, Target,
};
use kernel::ident::VarId;
use kernel::regenerate::{Part, regenerate};
use parts::{base, entry, flange, history, n, panel};
use proptest::prelude::*;
use std::f64::consts::PI;

const T: f64 = 1.5;
const R: f64 = 2.0;
const K: f64 = 0.4;

fn plate(length: f64, width: f64) -> FeatureEntry {
    base("plate", Profile::rectangle(&n(length), &n(width)))
}

fn on_sheet(features: Vec<FeatureEntry>) -> History {
    history(T, R, K, features)
}

fn beside(edge: &str, distance: f64) -> DrawnLine {
    DrawnLine::Beside { edge: edge.to_owned(), distance: n(distance) }
}

fn through(from: [f64; 2], to: [f64; 2]) -> DrawnLine {
    DrawnLine::Through(from.map(n), to.map(n))
}

fn offset(line: DrawnLine, height: f64, turn: f64) -> Offset {
    Offset {
        panel: panel("plate"),
        line,
        marks: LineMarks::Middle,
        height: n(height),
        between: StepFaces::Same,
        turn: n(turn),
        side: FoldSide::Up,
        inside_radius: None,
        keeps: KeptSize::Folded,
    }
}

fn fold(on: &str, line: DrawnLine, turn: f64) -> FoldLine {
    FoldLine {
        panel: panel(on),
        line,
        marks: LineMarks::Middle,
        turn: n(turn),
        side: FoldSide::Up,
        inside_radius: None,
    }
}

#[track_caller]
fn made(history: &History) -> Part {
    regenerate(history).unwrap_or_else(|faults| panic!("{faults:#?}"))
}

#[track_caller]
fn assert_near(got: f64, wanted: f64, within: f64) {
    assert!((got - wanted).abs() <= within, "{got} against {wanted}");
}

fn frame(part: &Part, name: &str) -> Placement<f64> {
    let frames = part.tree.placements(&FoldFractions::all(&part.tree, 1.0));
    let index = part.tree.panels().iter().position(|p| p.name.as_str() == name);
    frames[index.expect("the part has the panel")]
}

/// Largest and smallest coordinate along x of the panel's corners on its inner face.
fn reach_x(part: &Part, name: &str) -> [f64; 2] {
    let frame = frame(part, name);
    let mut panels = part.tree.panels().iter();
    let panel = panels.find(|p| p.name.as_str() == name).expect("the part has the panel");
    let xs = panel.region.contours()[0].segments().iter().map(|s| frame.lift(s.start, 0.0).x);
    xs.fold([f64::INFINITY, f64::NEG_INFINITY], |[lo, hi], x| [lo.min(x), hi.max(x)])
}

#[test]
fn square_step_by_hand() {
    // t = 1.5, r = 2, K = 0.4: allowance π/2 · 2.6 = 4.084070. Height 14 at 90°: web 14 − 5.5 = 8.5, width
    // 5.5, developed 2 · 4.084070 + 8.5 = 16.668141: the blank grows by 11.168141.
    let step = offset(beside("right", 60.0), 14.0, 90.0);
    let part = made(&on_sheet(vec![plate(200.0, 80.0), entry("step", Feature::Offset(step))]));
    assert_near(part.blank.bounding_box().width(), 211.168_141, 1e-6);
    assert_near(part.blank.bounding_box().height(), 80.0, 1e-9);
    assert_near(frame(&part, "step").origin.z, 14.0, 1e-9);
    // The line is the middle of the step: its bends run from 140 − 2.75 to 140 + 2.75, and the end stays.
    let [stays, moved] = [reach_x(&part, "plate"), reach_x(&part, "step")];
    assert_near(stays[1], 137.25, 1e-9);
    assert_near(moved[0], 142.75, 1e-9);
    assert_near(moved[1], 200.0, 1e-9);
    assert_eq!(part.tree.bends().iter().map(|b| b.side).collect::<Vec<_>>(), [FoldSide::Up, FoldSide::Down]);
}

#[test]
fn step_that_keeps_the_blank_shortens_the_part() {
    let mut step = offset(beside("right", 60.0), 14.0, 90.0);
    step.keeps = KeptSize::Blank;
    let part = made(&on_sheet(vec![plate(200.0, 80.0), entry("step", Feature::Offset(step))]));
    assert_near(part.blank.bounding_box().width(), 200.0, 1e-9);
    assert_near(reach_x(&part, "step")[1], 200.0 - 11.168_141, 1e-6);
}

#[test]
fn small_step_gets_the_turn_at_which_its_web_vanishes() {
    // Height 2.75 is half of 2 r + t = 5.5: cos a = 1 − 1/2, a = 60°. Width 5.5 · sin 60° = 4.763140,
    // developed 2 · π/3 · 2.6 = 5.445427.
    let step = offset(beside("right", 60.0), 2.75, 90.0);
    let part = made(&on_sheet(vec![plate(200.0, 80.0), entry("step", Feature::Offset(step))]));
    assert_near(part.tree.bends()[0].turn(), PI / 3.0, 1e-12);
    assert_near(part.blank.bounding_box().width(), 200.0 + 5.445_427 - 4.763_140, 1e-6);
    assert!(part.tree.panels()[1].region.is_empty());
    assert_near(frame(&part, "step").origin.z, 2.75, 1e-12);
    // The two bends share one line: the spans name the same places.
    let [first, last] = [&part.tree.bends()[0], &part.tree.bends()[1]];
    assert_eq!((first.end[0].from, first.end[0].to), (last.start[0].from, last.start[0].to));
}

#[test]
fn clear_and_overall_heights_differ_by_a_thickness_each() {
    for (between, rises) in [(StepFaces::Facing, 11.5), (StepFaces::Same, 10.0), (StepFaces::Away, 8.5)] {
        let mut step = offset(beside("right", 60.0), 10.0, 90.0);
        step.between = between;
        let mut history = on_sheet(vec![plate(200.0, 80.0), entry("step", Feature::Offset(step))]);
        let (a, b) = (panel("plate"), panel("step"));
        history.dimensions = vec![
            DimensionEntry {
                name: "clear".into(),
                kind: DimensionKind::Inside { a: a.clone(), b: b.clone() },
                target: Target::Measured,
                stays: None,
                span: None,
            },
            DimensionEntry {
                name: "overall".into(),
                kind: DimensionKind::Outside { a, b },
                target: Target::Measured,
                stays: None,
                span: None,
            },
        ];
        let part = made(&history);
        assert_near(frame(&part, "step").origin.z, rises, 1e-9);
        assert_near(part.settled.dimensions[0].got, rises - T, 1e-9);
        assert_near(part.settled.dimensions[1].got, rises + T, 1e-9);
    }
}

#[test]
fn fold_line_keeps_the_blank_and_lies_where_it_was_drawn() {
    // Allowance at 60°: π/3 · 2.6 = 2.722714.
    for (marks, starts) in [
        (LineMarks::Start, 120.0),
        (LineMarks::Middle, 120.0 - 1.361_357),
        (LineMarks::End, 120.0 - 2.722_714),
    ] {
        let mut along = fold("plate", beside("right", 80.0), 60.0);
        along.marks = marks;
        let part = made(&on_sheet(vec![plate(200.0, 80.0), entry("lip", Feature::FoldLine(along))]));
        assert_near(part.blank.region.area(), 200.0 * 80.0, 1e-6);
        assert_near(part.blank.bend_lines[0].start[0].x, starts, 1e-6);
        let end = frame(&part, "lip");
        // Rises r (1 − cos 60°) behind the bend.
        assert_near(end.origin.z, R * 0.5, 1e-9);
    }
}

#[test]
fn slanting_fold_line_parts_a_corner_off() {
    // The corner at (200, 80) lies to the left of the way from (150, 80) to (200, 30).
    let mut along = fold("plate", through([150.0, 80.0], [200.0, 30.0]), 45.0);
    along.side = FoldSide::Down;
    let part = made(&on_sheet(vec![plate(200.0, 80.0), entry("ear", Feature::FoldLine(along))]));
    assert_eq!(part.tree.panels()[1].region.contours()[0].segments().len(), 3);
    assert_near(part.blank.region.area(), 16_000.0, 1e-6);
    // The strip is a trapezium: its ends run along the edges of the plate.
    assert_eq!(part.tree.bends()[0].region.contours()[0].segments().len(), 4);
    let spans = (&part.tree.bends()[0].start[0], &part.tree.bends()[0].end[0]);
    assert_near(
        (spans.0.to - spans.0.from) - (spans.1.to - spans.1.from),
        2.0 * part.tree.bends()[0].allowance(),
        1e-9,
    );
}

#[test]
fn what_stands_on_the_moved_side_travels_along() {
    let wall = flange(&["plate/right"], 90.0, 30.0);
    let step = offset(beside("right", 60.0), 14.0, 90.0);
    let (wall, step) = (entry("wall", Feature::Flange(wall)), entry("step", Feature::Offset(step)));
    let before = made(&on_sheet(vec![plate(200.0, 80.0), wall.clone()]));
    // Whether the step is asked for before the wall or after it.
    for features in [[wall.clone(), step.clone()], [step, wall]] {
        let after = made(&on_sheet([vec![plate(200.0, 80.0)], features.to_vec()].concat()));
        let (was, is) = (frame(&before, "wall"), frame(&after, "wall"));
        assert_near(is.origin.z - was.origin.z, 14.0, 1e-9);
        assert_near(is.origin.x, was.origin.x, 1e-9);
        assert!((is.n - was.n).length() < 1e-12);
    }
}

#[test]
fn a_fold_drawn_before_a_step_travels_with_it() {
    let lip = entry("lip", Feature::FoldLine(fold("plate", beside("right", 20.0), 90.0)));
    let step = entry("step", Feature::Offset(offset(beside("right", 60.0), 14.0, 90.0)));
    let first = made(&on_sheet(vec![plate(200.0, 80.0), lip.clone(), step.clone()]));
    let last = made(&on_sheet(vec![plate(200.0, 80.0), step, lip]));
    for name in ["plate", "step.web", "step", "lip"] {
        let (a, b) = (frame(&first, name), frame(&last, name));
        assert!((a.origin - b.origin).length() < 1e-9 && (a.n - b.n).length() < 1e-12, "{name}");
    }
    assert_near(first.blank.region.area(), last.blank.region.area(), 1e-9);
}

#[test]
fn width_over_a_step_is_held_while_its_web_is_given_another_turn() {
    let free = Number::free(VarId::new(0));
    let step = entry("step", Feature::Offset(offset(beside("right", 60.0), 14.0, 90.0)));
    let width = |turned: Option<f64>| {
        let mut features = vec![base("plate", Profile::rectangle(&free, &n(80.0))), step.clone()];
        features.extend(turned.map(|turn| {
            entry("leaning", Feature::Turned(Turned { panel: panel("step.web"), turn: n(turn) }))
        }));
        let mut history = on_sheet(features);
        history.free_numbers = vec![FreeNumber::new("length", 150.0)];
        history.dimensions = vec![DimensionEntry {
            name: "over all".into(),
            kind: DimensionKind::PanelWidth {
                a: panel("plate").edge("left"),
                b: panel("plate").edge("right"),
            },
            target: Target::Held(n(200.0)),
            stays: None,
            span: None,
        }];
        made(&history)
    };
    let (square, leaning) = (width(None), width(Some(50.0)));
    for part in [&square, &leaning] {
        assert_near(reach_x(part, "step")[1] - reach_x(part, "plate")[0], 200.0, 1e-6);
        assert_near(frame(part, "step").origin.z, 14.0, 1e-9);
        assert_near(frame(part, "step").n.z, 1.0, 1e-12);
    }
    assert_near(leaning.tree.bends()[0].turn(), 50.0 * PI / 180.0, 1e-12);
    // Web at 50°: (14 − 5.5 (1 − cos 50°)) / sin 50° = 15.711010, developed 2 · 5π/18 · 2.6 + 15.711010 =
    // 20.248866, width 5.5 sin 50° + 15.711010 cos 50° = 14.312087.
    assert_near(leaning.blank.bounding_box().width(), 200.0 + 20.248_866 - 14.312_087, 1e-5);
}

#[test]
fn turned_wall_keeps_a_held_inside_width() {
    let free = Number::free(VarId::new(0));
    let walls = flange(&["plate/left", "plate/right"], 90.0, 40.0);
    let lips = flange(&["wall.right/tip"], 90.0, 20.0);
    let mut history = on_sheet(vec![
        base("plate", Profile::rectangle(&free, &n(80.0))),
        entry("wall", Feature::Flange(walls)),
        entry("lip", Feature::Flange(lips)),
        entry("leaning", Feature::Turned(Turned { panel: panel("lip"), turn: n(35.0) })),
    ]);
    history.free_numbers = vec![FreeNumber::new("length", 150.0)];
    history.dimensions = vec![parts::hold_inside("clear", "wall.left", "wall.right", 120.0)];
    let part = made(&history);
    assert_near(part.settled.dimensions[0].got, 120.0, 1e-6);
    assert_near(part.tree.bends()[2].turn(), 35.0 * PI / 180.0, 1e-12);
}

fn hem(form: HemForm) -> Feature {
    let end = || FlangeEnd { inset: n(0.0), taper: n(0.0) };
    Feature::Hem(Hem::from(HemSpec {
        edges: vec![panel("plate").edge("right")],
        form,
        side: FoldSide::Up,
        left: end(),
        right: end(),
    }))
}

#[test]
fn hems_keep_the_size_over_them_and_take_their_length_of_the_blank() {
    // The plate ends r + t before its drawn edge; behind the bend lies the length less r + t.
    let open = made(&on_sheet(vec![
        plate(200.0, 80.0),
        entry("hem", hem(HemForm::Open { length: n(12.0), gap: n(3.0) })),
    ]));
    // r = 1.5: 200 − 3 + π (1.5 + 0.6) + 9 = 212.597345.
    assert_near(open.blank.bounding_box().width(), 212.597_345, 1e-6);
    let closed = made(&on_sheet(vec![
        plate(200.0, 80.0),
        entry("hem", hem(HemForm::Closed { length: n(12.0), k_factor: None })),
    ]));
    // r = 0.05, K = 0.5: 200 − 1.55 + π (0.05 + 0.75) + 10.45 = 211.413274.
    assert_near(closed.blank.bounding_box().width(), 211.413_274, 1e-6);
    let measured = HemForm::Closed { length: n(12.0), k_factor: Some(0.4) };
    let measured = made(&on_sheet(vec![plate(200.0, 80.0), entry("hem", hem(measured))]));
    // K = 0.4: 200 − 1.55 + π · 0.65 + 10.45 = 210.942035.
    assert_near(measured.blank.bounding_box().width(), 210.942_035, 1e-6);
    let rolled = made(&on_sheet(vec![
        plate(200.0, 80.0),
        entry("hem", hem(HemForm::Rolled { diameter: n(6.0), turn: n(270.0) })),
    ]));
    // r = 3: 200 − 4.5 + 3π/2 · 3.6 = 212.464600; nothing flat behind the roll.
    assert_near(rolled.blank.bounding_box().width(), 212.464_600, 1e-6);
    assert!(rolled.tree.panels()[1].region.is_empty());
    for part in [&open, &closed, &rolled] {
        let mesh = part.mesh(&FoldFractions::all(&part.tree, 1.0), 0.001).unwrap();
        let [low, high] = mesh.bounding_box().unwrap();
        assert_near(high.x, 200.0, 1e-3);
        assert_near(low.x, 0.0, 1e-9);
    }
    // The gap is between the two inner faces.
    assert_near(frame(&open, "hem").origin.z, 3.0, 1e-9);
}

#[test]
fn every_drawn_edge_is_found_by_its_name_on_either_side_of_a_step() {
    let step = entry("step", Feature::Offset(offset(beside("right", 60.0), 14.0, 90.0)));
    for edge in ["plate/right", "step/right"] {
        let wall = entry("wall", Feature::Flange(flange(&[edge], 90.0, 30.0)));
        let part = made(&on_sheet(vec![plate(200.0, 80.0), step.clone(), wall]));
        assert_eq!(part.tree.panel(part.tree.bends()[2].parent).name.as_str(), "step");
    }
    let crossed = entry("wall", Feature::Flange(flange(&["plate/back"], 90.0, 30.0)));
    let faults = regenerate(&on_sheet(vec![plate(200.0, 80.0), step, crossed])).unwrap_err();
    assert_eq!(faults[0].code, "history::edge_crossed");
}

/// Each crease span joins a vertex of the strip to one of the panel, at the same place in space.
fn spans_join(part: &Part) -> Result<(), TestCaseError> {
    let fractions = FoldFractions::all(&part.tree, 1.0);
    let frames = part.tree.placements(&fractions);
    for bend in part.tree.bends() {
        let map = part.tree.strip_map(bend, &frames, &fractions);
        for (spans, across, panel) in
            [(&bend.start, 0.0, bend.parent), (&bend.end, bend.allowance(), bend.child)]
        {
            let vertices: Vec<Point2> = part
                .tree
                .panel(panel)
                .region
                .contours()
                .iter()
                .flat_map(|c| c.segments())
                .map(|s| s.start)
                .collect();
            let strip: Vec<Point2> =
                bend.region.contours().iter().flat_map(|c| c.segments()).map(|s| s.start).collect();
            for span in spans {
                for (x, p) in [(span.from, span.from_point), (span.to, span.to_point)] {
                    prop_assert!(vertices.is_empty() || vertices.contains(&p), "{p:?} is no vertex");
                    prop_assert!(strip.contains(&Point2::new(x, across)), "{x} {across} is no vertex");
                    let apart = (map.point(x, across, 0.0) - frames[panel.index()].lift(p, 0.0)).length();
                    prop_assert!(apart < 1e-6, "{apart}");
                }
            }
        }
    }
    Ok(())
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(300))]

    #[test]
    fn a_step_has_its_height_and_keeps_its_size(
        height in 0.3..40.0_f64, turn in 5.0..120.0_f64, radius in 0.0..6.0_f64, thickness in 0.5..4.0_f64,
        slant in -30.0..30.0_f64, up in any::<bool>(), folded in any::<bool>(), din in any::<bool>(),
    ) {
        // A steep height at a shallow turn runs beyond the plate.
        prop_assume!(height / kernel::quantity::maths::sin(turn * PI / 180.0) < 100.0);
        let mut step = offset(through([170.0 + slant, 0.0], [170.0 - slant, 80.0]), height, turn);
        step.side = if up { FoldSide::Up } else { FoldSide::Down };
        step.keeps = if folded { KeptSize::Folded } else { KeptSize::Blank };
        let mut asked = history(thickness, radius, K, vec![plate(400.0, 80.0), entry("step", Feature::Offset(step))]);
        if din {
            asked.sheet.bend_rule = BendRuleSpec::Din6935;
        }
        // What lies to the left of an upward line is the plate's left part, which moves.
        let part = made(&asked);
        let moved = frame(&part, "step");
        let sign = if up { 1.0 } else { -1.0 };
        prop_assert!((moved.origin.z - sign * height).abs() < 1e-9);
        prop_assert!((moved.n.z - 1.0).abs() < 1e-12);
        // A drawn corner behind the line: where it was drawn, or moved back by the growth.
        let numbers = part.settled.pose.panel(part.tree.panels()[0].id).lines[0].numbers;
        let corner = part.settled.pose.panel(part.tree.panels()[2].id).corners[0];
        let got = moved.point(corner[0], corner[1], 0.0);
        let length = (80.0 * 80.0 + 4.0 * slant * slant).sqrt();
        let outwards = (got.x * -80.0 + got.y * -2.0 * slant) / length;
        let (sin, cos) = kernel::quantity::maths::sin_cos(numbers.turns[0]);
        let width = (2.0 * radius + thickness) * sin + numbers.web * cos;
        let shortened = if folded { 0.0 } else { numbers.developed - width };
        prop_assert!((outwards + shortened).abs() < 1e-9, "{outwards} {shortened}");
        if !folded {
            prop_assert!((part.blank.region.area() - 32_000.0).abs() < 1e-5);
        }
        spans_join(&part)?;
    }

    #[test]
    fn fold_lines_keep_the_blank(
        turns in [2.0..170.0_f64, 2.0..170.0_f64], at in [60.0..160.0_f64, 240.0..340.0_f64],
        slants in [-40.0..40.0_f64, -40.0..40.0_f64], up in any::<[bool; 2]>(), radius in 0.2..5.0_f64,
        hole in any::<bool>(),
    ) {
        let side = |up| if up { FoldSide::Up } else { FoldSide::Down };
        let line = |i: usize, down: bool| {
            let (foot, head) = ([at[i] + slants[i], 0.0], [at[i] - slants[i], 80.0]);
            if down { through(head, foot) } else { through(foot, head) }
        };
        let mut left = fold("plate", line(0, false), turns[0]);
        let mut right = fold("plate", line(1, true), turns[1]);
        (left.side, right.side) = (side(up[0]), side(up[1]));
        let mut features = vec![plate(400.0, 80.0)];
        if hole {
            features.push(entry("wall", Feature::Flange(flange(&["plate/right"], 60.0, 25.0))));
        }
        let flat = made(&history(T, radius, K, features.clone()));
        features.extend([entry("left_end", Feature::FoldLine(left)), entry("right_end", Feature::FoldLine(right))]);
        let part = made(&history(T, radius, K, features));
        prop_assert!((part.blank.region.area() - flat.blank.region.area()).abs() < 1e-5);
        prop_assert!((part.blank.region.boundary_length() - flat.blank.region.boundary_length()).abs() < 1e-5);
        spans_join(&part)?;
    }
}
