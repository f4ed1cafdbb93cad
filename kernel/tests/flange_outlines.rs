//! Flanges whose outline was drawn, against areas and lengths worked out by hand, against the same flange given
//! by its length, and on random outlines against a clipped polygon.
//!
//! Sheet of the figures: t = 2, r = 3, K = 0.4. At 90° outside lengths begin r + t = 5 mm before the bend's end,
//! and the bend takes π/2 · (3 + 0.4 · 2) = 5.969026 mm of the blank (definition).

#[allow(dead_code, reason = "tests and benches use different parts")]
#[path = "../benches/parts.rs"]
mod parts;

use std::f64::consts::PI;

use kernel::diag::{Diagnostic, Severity};
use kernel::fold::FoldFractions;
use kernel::geom::Curve;
use kernel::history::feature::{
    BreakShape, CornerBreak, CornerName, Corners, DrawnLine, Feature, FeatureEntry, Flange, FlangeEnd,
    FoldLine, FoldSide, HeldFace, Hem, HemForm, HemSpec, KeptSize, LengthFrom, LineMarks, Neighbour, Offset,
    Pattern, Seam, StepFaces,
};
use kernel::history::{
    DimensionEntry, DimensionKind, EdgeName, EdgeShape, Element, FreeNumber, History, Number, Profile,
    ProfileEdge, ProfileRelation, RelationEntry, Shape, Target,
};
use kernel::ident::VarId;
use kernel::regenerate::{Part, regenerate};
use parts::{arc, base, cutout, entry, flange, history, hold_inside, line, n, outline, panel};
use proptest::prelude::*;
use proptest::strategy::ValueTree;
use proptest::test_runner::TestRunner;

const ALLOWANCE: f64 = 5.969_026;
const LEVEL: f64 = 5.0;

/// Four corners with the roles of an ordinary flange.
fn four_sided(corners: [[f64; 2]; 4]) -> Profile {
    outline(&corners, ["root", "right", "tip", "left"].map(line).to_vec())
}

/// The same outline run the other way round, from the other end of its first edge.
fn other_way_round(profile: &Profile) -> Profile {
    let count = profile.edges.len();
    let at = |i: usize| (count - i) % count;
    let corners = (0..count).map(|i| profile.corners[(at(i) + 1) % count].clone()).collect();
    let turned = |edge: &ProfileEdge| {
        let shape = match &edge.shape {
            EdgeShape::Arc(radius) => EdgeShape::Arc(radius.times(-1.0)),
            EdgeShape::ArcRise(rise) => EdgeShape::ArcRise(rise.times(-1.0)),
            EdgeShape::Line => EdgeShape::Line,
            EdgeShape::ArcThrough(via) => EdgeShape::ArcThrough(via.clone()),
        };
        ProfileEdge { name: edge.name.clone(), shape }
    };
    Profile::new(corners, (0..count).map(|i| turned(&profile.edges[at(i)])).collect())
}

fn drawn(on: &[&str], outline: Profile) -> Flange {
    Flange { outline: Some(outline), ..flange(on, 90.0, 0.0) }
}

fn plate(length: f64, width: f64) -> FeatureEntry {
    base("plate", Profile::rectangle(&n(length), &n(width)))
}

/// A plate of 100 x 80 with these features.
fn on_plate(features: Vec<FeatureEntry>) -> History {
    history(2.0, 3.0, 0.4, [vec![plate(100.0, 80.0)], features].concat())
}

/// A drawn flange `tab` on the right edge of the plate, 80 mm long.
fn tab(outline: Profile) -> FeatureEntry {
    entry("tab", Feature::Flange(drawn(&["plate/right"], outline)))
}

/// A round-headed tab: 60 mm wide from x = 10, straight up to y = 30, then a half circle.
fn round_tab() -> Profile {
    outline(
        &[[10.0, 0.0], [70.0, 0.0], [70.0, 30.0], [10.0, 30.0]],
        vec![line("foot"), line("right"), arc("head", 30.0), line("left")],
    )
}

/// A tab with sides that lean inwards by 10 mm over 40.
fn leaning_tab() -> Profile {
    four_sided([[10.0, 0.0], [70.0, 0.0], [60.0, 40.0], [20.0, 40.0]])
}

#[track_caller]
fn made(history: &History) -> Part {
    regenerate(history).unwrap_or_else(|faults| panic!("{faults:#?}"))
}

#[track_caller]
fn refused(history: &History) -> Diagnostic {
    let mut faults = regenerate(history).map(|_| ()).expect_err("it cannot be made");
    assert_eq!(faults.len(), 1, "{faults:#?}");
    faults.remove(0)
}

#[track_caller]
fn assert_near(got: f64, wanted: f64, within: f64) {
    assert!((got - wanted).abs() <= within, "{got} against {wanted}");
}

fn area_of(part: &Part, name: &str) -> f64 {
    part.tree.panels().iter().find(|p| p.name.as_str() == name).expect("the panel is there").region.area()
}

fn bend_length(part: &Part, child: &str) -> f64 {
    let found = part.tree.bends().iter().find(|b| part.tree.panel(b.child).name.as_str() == child);
    found.expect("the bend is there").length()
}

#[test]
fn round_tab_by_hand() {
    let part = made(&on_plate(vec![tab(round_tab())]));
    // Flat: 60 x (30 − 5) and half a disc of radius 30: 1500 + 450 π = 2913.716694.
    assert_near(area_of(&part, "tab"), 1500.0 + 450.0 * PI, 1e-9);
    assert_near(bend_length(&part, "tab"), 60.0, 1e-12);
    // The plate loses 60 x 5 to the bend and two notches of 2 x (5 + 5) beside it: 8000 − 300 − 40 = 7660.
    // Blank: 7660 + 60 · 5.969026 + 2913.716694 = 10931.858254.
    assert_near(part.blank.region.area(), 10_931.858_254, 1e-4);
    // Outside the tab is 60 high: 100 + 60 − (10 − 5.969026) = 155.969026.
    assert_near(part.blank.bounding_box().width(), 155.969_026, 1e-6);
    let mesh = part.mesh(&FoldFractions::all(&part.tree, 1.0), 0.001).unwrap();
    let [low, high] = mesh.bounding_box().unwrap();
    assert_near(high.z - low.z, 60.0, 1e-3);
    assert_near(high.x, 100.0, 1e-9);
}

#[test]
fn leaning_sides_are_as_drawn_and_the_bend_is_as_wide_as_they_are_at_its_end() {
    let part = made(&on_plate(vec![tab(leaning_tab())]));
    // 5 mm up of 40 the sides have come in by 1.25 each: 60 − 2.5 = 57.5. Flat: (57.5 + 40) / 2 · 35 = 1706.25.
    assert_near(bend_length(&part, "tab"), 57.5, 1e-12);
    assert_near(area_of(&part, "tab"), 1706.25, 1e-9);
    // Counted from where the flat begins, nothing is cut off: (60 + 40) / 2 · 40.
    let mut whole = drawn(&["plate/right"], leaning_tab());
    whole.length_from = LengthFrom::Tangent;
    let part = made(&on_plate(vec![entry("tab", Feature::Flange(whole))]));
    assert_near(bend_length(&part, "tab"), 60.0, 1e-12);
    assert_near(area_of(&part, "tab"), 2000.0, 1e-9);
    // At 45° the bend takes 5 tan 22.5° = 2.071068 of the outside size; the sides come in by a quarter of that.
    let mut open = drawn(&["plate/right"], leaning_tab());
    open.turn = n(45.0);
    let part = made(&on_plate(vec![entry("tab", Feature::Flange(open))]));
    assert_near(bend_length(&part, "tab"), 60.0 - 2.071_068 / 2.0, 1e-6);
}

#[test]
fn a_half_disc_stands_on_its_chord() {
    // Half a disc of radius 30 about (40, 0), of which the bend takes the lowest 5 mm: the chord there is
    // 2 √(900 − 25) = 59.160798, and the cap above it r² acos(5/30) − 5 √875 = 900 · 1.403348 − 147.901995 =
    // 1115.111428.
    let disc = outline(&[[10.0, 0.0], [70.0, 0.0]], vec![line("foot"), arc("rim", 30.0)]);
    for disc in [disc.clone(), other_way_round(&disc)] {
        let part = made(&on_plate(vec![tab(disc)]));
        assert_near(bend_length(&part, "tab"), 59.160_798, 1e-6);
        assert_near(area_of(&part, "tab"), 1_115.111_428, 1e-5);
    }
}

#[test]
fn one_outline_makes_a_tab_on_each_edge() {
    let tabs = drawn(&["plate/left", "plate/right"], round_tab());
    let part = made(&on_plate(vec![entry("tab", Feature::Flange(tabs))]));
    for name in ["tab.left", "tab.right"] {
        assert_near(area_of(&part, name), 1500.0 + 450.0 * PI, 1e-9);
    }
}

#[test]
fn flanges_stand_on_drawn_edges() {
    // A lip on the leaning right edge, which is 35 · √(1 + 1/16) = 36.077174 long above the bend, 10 mm away from
    // the bend of the tab; at the wide corner above, its bend, 5 mm further in, meets the tip 5 · 10/40 = 1.25
    // beyond the end of its edge.
    let lip = |edge: &str| entry("lip", Feature::Flange(flange(&[edge], 90.0, 20.0)));
    let mut beside = flange(&["tab/right"], 90.0, 20.0);
    beside.right.inset = n(10.0);
    let part = made(&on_plate(vec![tab(leaning_tab()), entry("lip", Feature::Flange(beside))]));
    assert_near(bend_length(&part, "lip"), 36.077_174 - 10.0 + 1.25, 1e-6);
    // On the tip both ends are like that: 40 + 2.5, and the tab loses (40 + 42.5) / 2 · 5 = 206.25.
    let part = made(&on_plate(vec![tab(leaning_tab()), lip("tab/tip")]));
    assert_near(bend_length(&part, "lip"), 42.5, 1e-9);
    assert_near(area_of(&part, "tab"), 1706.25 - 206.25, 1e-9);
    // 100 + 40 + 20 outside, two bends.
    assert_near(part.blank.bounding_box().width(), 160.0 - 2.0 * (10.0 - ALLOWANCE), 1e-5);
    assert_eq!(refused(&on_plate(vec![tab(round_tab()), lip("tab/head")])).code, "history::flange_on_arc");
    let fault = refused(&on_plate(vec![tab(round_tab()), lip("tab/foot")]));
    assert_eq!(fault.code, "history::flange_on_root");
    assert!(fault.hints[0].contains("`right`, `head`, `left`"), "{fault:?}");
}

#[test]
fn a_drawn_rectangle_gives_the_files_of_the_flange_given_by_its_length() {
    let mut by_length = flange(&["plate/right"], 90.0, 40.0);
    by_length.left.inset = n(10.0);
    by_length.right.inset = n(15.0);
    let rectangle = four_sided([[10.0, 0.0], [65.0, 0.0], [65.0, 40.0], [10.0, 40.0]]);
    let files = |wall: Flange| {
        let lip = entry("lip", Feature::Flange(flange(&["wall/tip"], 60.0, 15.0)));
        let history = on_plate(vec![entry("wall", Feature::Flange(wall)), lip]);
        let part = made(&history);
        let mut files = part.files(&history, &part.details(&history)).expect("contours do not touch");
        files.retain(|(name, _)| *name != "history.json");
        files
    };
    assert_eq!(files(by_length), files(drawn(&["plate/right"], rectangle)));
}

#[test]
fn what_is_done_to_panels_is_done_to_drawn_flanges() {
    let notched = || {
        outline(
            &[
                [5.0, 0.0],
                [75.0, 0.0],
                [75.0, 60.0],
                [45.0, 60.0],
                [45.0, 45.0],
                [35.0, 45.0],
                [35.0, 60.0],
                [5.0, 60.0],
            ],
            ["foot", "right", "ear_right", "notch_right", "notch", "notch_left", "ear_left", "left"]
                .map(line)
                .to_vec(),
        )
    };
    let hem = Hem::from(HemSpec {
        edges: vec![EdgeName::new("tab/ear_right").unwrap()],
        form: HemForm::Open { length: n(12.0), gap: n(2.0) },
        side: FoldSide::Up,
        left: FlangeEnd { inset: n(0.0), taper: n(0.0) },
        right: FlangeEnd { inset: n(0.0), taper: n(0.0) },
    });
    let across = |y: f64| DrawnLine::Through([n(0.0), n(y)], [n(1.0), n(y)]);
    let step = Offset {
        panel: panel("tab"),
        line: across(22.0),
        marks: LineMarks::Middle,
        height: n(4.0),
        between: StepFaces::Same,
        turn: n(45.0),
        side: FoldSide::Up,
        inside_radius: Some(n(1.0)),
        keeps: KeptSize::Blank,
    };
    let fold = FoldLine {
        panel: panel("tab"),
        line: across(38.0),
        marks: LineMarks::Middle,
        turn: n(30.0),
        side: FoldSide::Up,
        inside_radius: None,
    };
    let corner = CornerName { panel: panel("tab"), between: ["ear_left".to_owned(), "left".to_owned()] };
    let hole = cutout("tab", Shape::Circle { diameter: n(10.0) }, Pattern::At(vec![[n(25.0), n(20.0)]]));
    let rounded =
        || CornerBreak { corners: Corners::Named(vec![corner.clone()]), shape: BreakShape::Round(n(6.0)) };
    let plain = made(&on_plate(vec![tab(notched())]));
    // 70 x 55 above the bend, less the notch of 10 x 15.
    assert_near(area_of(&plain, "tab"), 3700.0, 1e-9);
    // A hole is set in the drawing's own coordinates, and a named corner is rounded: (1 − π/4) · 6².
    let part = made(&on_plate(vec![
        tab(notched()),
        entry("hole", Feature::Cutout(hole)),
        entry("soft", Feature::CornerBreak(rounded())),
    ]));
    assert_near(area_of(&part, "tab"), 3700.0 - 25.0 * PI - (1.0 - 0.25 * PI) * 36.0, 1e-9);
    let tab_panel = part.tree.panels().iter().find(|p| p.name.as_str() == "tab").unwrap();
    let circle = tab_panel.region.contours().iter().find(|c| c.signed_area() < 0.0).unwrap();
    let Curve::Arc { centre, .. } = circle.segments()[0].curve else { panic!("a round hole") };
    assert_near(centre.x, 25.0, 1e-12);
    assert_near(centre.y, 20.0 - LEVEL, 1e-12);
    // A hem on one ear: over the bend it is 12, so that its flat is 12 − (1 + 2) = 9 by 30.
    let part = made(&on_plate(vec![tab(notched()), entry("hem", Feature::Hem(hem))]));
    assert_near(area_of(&part, "hem"), 270.0, 1e-9);
    // A step that keeps the blank leaves it as it is; a fold parts it, 70 mm long, below the notch.
    let part = made(&on_plate(vec![tab(notched()), entry("step", Feature::Offset(step))]));
    assert_near(part.blank.region.area(), plain.blank.region.area(), 1e-6);
    let part = made(&on_plate(vec![tab(notched()), entry("kink", Feature::FoldLine(fold))]));
    assert_near(bend_length(&part, "kink"), 70.0, 1e-9);
    assert!(part.findings.iter().all(|f| f.severity != Severity::Fault), "{:?}", part.findings);
}

#[test]
fn a_seam_closes_to_a_drawn_edge_and_does_not_cut_one() {
    let [a, b] = ["tab/left", "other/right"].map(|name| EdgeName::new(name).unwrap());
    let mut other = flange(&["plate/back"], 90.0, 40.0);
    other.right.inset = n(2.0);
    let features = |seam| {
        let high = four_sided([[20.0, 0.0], [72.0, 0.0], [72.0, 40.0], [20.0, 40.0]]);
        on_plate(vec![
            tab(high),
            entry("other", Feature::Flange(other.clone())),
            entry("seam", Feature::Seam(seam)),
        ])
    };
    let fault = refused(&features(Seam::Meet { a: a.clone(), b: b.clone(), gap: n(1.0) }));
    assert_eq!(fault.code, "history::seam_on_drawn_edge");
    // The tab is upright at x = 100, its inner face at 98; it ends 20 mm before the corner, at y = 60. The other
    // wall stands at y = 80 with its inner face at 78, 18 mm further on: it has to stop 30 mm from the tab's edge,
    // √(30² − 18²) = 24 mm short of it along x, at x = 74.
    let part = made(&features(Seam::Close { edge: b, to: Neighbour::Edge(a), gap: n(30.0) }));
    let frames = part.tree.placements(&FoldFractions::all(&part.tree, 1.0));
    let wall = part.tree.panels().iter().find(|p| p.name.as_str() == "other").unwrap();
    let points = wall.region.contours()[0].segments().iter();
    let reach =
        points.map(|s| frames[wall.id.index()].lift(s.start, 0.0).x).fold(f64::NEG_INFINITY, f64::max);
    assert_near(reach, 74.0, 1e-9);
}

#[test]
fn neighbours_end_at_the_corner_and_leave_a_drawn_outline_alone() {
    // Both run to the corner: the bends end in one point 5 mm in, the plain wall is trimmed for its gap, the drawn
    // one is not.
    let full = four_sided([[0.0, 0.0], [80.0, 0.0], [80.0, 30.0], [0.0, 30.0]]);
    let wall = entry("wall", Feature::Flange(flange(&["plate/front"], 90.0, 30.0)));
    let part = made(&on_plate(vec![tab(full.clone()), wall]));
    assert_near(area_of(&part, "tab"), 80.0 * 25.0, 1e-9);
    // The tab's right end is at the front: there its bend stops 5 mm before the edge does.
    assert_near(bend_length(&part, "tab"), 75.0, 1e-9);
    assert_near(bend_length(&part, "wall"), 95.0, 1e-9);
    // The gap of 1 mm is shared at 45°: the wall ends 2 + 1/√2 from the outer face of the tab.
    assert_near(area_of(&part, "wall"), (100.0 - 2.0 - 0.5_f64.sqrt()) * 25.0, 1e-9);
    assert!(part.findings.iter().all(|f| f.severity != Severity::Fault), "{:?}", part.findings);
    // Where both are drawn to the corner they run into each other, and the check of the finished part says so.
    let both = four_sided([[0.0, 0.0], [100.0, 0.0], [100.0, 30.0], [0.0, 30.0]]);
    let wall = entry("wall", Feature::Flange(drawn(&["plate/front"], both)));
    let part = made(&on_plate(vec![tab(full), wall]));
    let faults = part.findings.iter().filter(|f| f.severity == Severity::Fault);
    let codes: Vec<_> = faults.map(|f| f.code).collect();
    assert_eq!(codes, ["check::folded_into_itself"], "{:?}", part.findings);
}

#[test]
fn outlines_that_do_not_stand_on_the_bend_are_refused() {
    let code = |outline: Profile| refused(&on_plate(vec![tab(outline)])).code;
    let box_from = |y: f64| four_sided([[10.0, y], [70.0, y], [70.0, 30.0], [10.0, 30.0]]);
    assert_eq!(code(box_from(0.5)), "fold::outline_off_bend");
    assert_eq!(
        code(four_sided([[10.0, 0.0], [70.0, 1.0], [70.0, 30.0], [10.0, 30.0]])),
        "fold::outline_off_bend"
    );
    // Away from the flange, into the bend, or through it further on.
    assert_eq!(
        code(four_sided([[10.0, 0.0], [70.0, 0.0], [70.0, -30.0], [10.0, -30.0]])),
        "fold::outline_in_bend"
    );
    assert_eq!(
        code(four_sided([[10.0, 0.0], [70.0, 0.0], [70.0, 5.0], [10.0, 30.0]])),
        "fold::outline_in_bend"
    );
    let dipping = |y: f64| {
        outline(
            &[[10.0, 0.0], [70.0, 0.0], [70.0, 30.0], [40.0, y], [10.0, 30.0]],
            ["foot", "right", "down", "up", "left"].map(line).to_vec(),
        )
    };
    assert_eq!(code(dipping(5.0)), "fold::outline_in_bend");
    assert_eq!(code(dipping(-1.0)), "fold::outline_crosses_itself");
    made(&on_plate(vec![tab(dipping(5.01))]));
    // An arc beside the base that comes down again outside it.
    let hooked = outline(
        &[[10.0, 0.0], [40.0, 0.0], [70.0, 4.0], [70.0, 30.0], [10.0, 30.0]],
        vec![line("foot"), arc("hook", -15.5), line("right"), line("tip"), line("left")],
    );
    assert_eq!(code(hooked), "fold::outline_in_bend");
    let low = outline(&[[10.0, 0.0], [70.0, 0.0]], vec![line("foot"), arc("rim", 100.0)]);
    // 100 − √(100² − 30²) = 4.606 high, less than the bend takes.
    assert_eq!(code(low), "fold::outline_in_bend");
    // Where the bend ends, 5 mm up, the sides stand 2.5 mm out beyond the edge.
    assert_eq!(
        code(four_sided([[0.0, 0.0], [80.0, 0.0], [90.0, 20.0], [-10.0, 20.0]])),
        "fold::wider_than_edge"
    );
    assert_eq!(
        code(four_sided([[-0.1, 0.0], [70.0, 0.0], [70.0, 30.0], [-0.1, 30.0]])),
        "fold::wider_than_edge"
    );
    let crossing = four_sided([[10.0, 0.0], [70.0, 0.0], [10.0, 30.0], [70.0, 30.0]]);
    assert_eq!(code(crossing), "fold::outline_crosses_itself");
    // Sides that meet before the bend ends leave nothing.
    let crossed_in_bend =
        outline(&[[10.0, 0.0], [70.0, 0.0], [40.0, 4.0]], ["foot", "right", "left"].map(line).to_vec());
    assert_eq!(code(crossed_in_bend), "fold::outline_in_bend");
}

#[test]
fn outlines_that_cannot_be_read_are_refused() {
    let code = |flange: Flange| refused(&on_plate(vec![entry("tab", Feature::Flange(flange))])).code;
    let on_right = |outline: Profile| drawn(&["plate/right"], outline);
    let mut standing_on_arc = round_tab();
    standing_on_arc.edges[0].shape = EdgeShape::Arc(n(100.0));
    assert_eq!(code(on_right(standing_on_arc)), "history::flange_on_arc");
    let mut twice = round_tab();
    twice.edges[1].name = "left".to_owned();
    assert_eq!(code(on_right(twice)), "history::name_used_twice");
    let mut nameless = round_tab();
    nameless.edges[1].name = "no name".to_owned();
    assert_eq!(code(on_right(nameless)), "history::bad_name");
    let mut short = round_tab();
    short.corners.pop();
    assert_eq!(code(on_right(short)), "history::outline_count");
    for size in 0..5 {
        let mut both = on_right(round_tab());
        let FlangeEnd { inset: left, taper: lean_left } = &mut both.left;
        let FlangeEnd { inset: right, taper: lean_right } = &mut both.right;
        *[&mut both.length, left, right, lean_left, lean_right][size] = n(3.0);
        assert_eq!(code(both), "history::outline_and_size");
    }
}

#[test]
fn a_bend_beside_the_panel_s_own_bend_needs_room_in_the_drawing_too() {
    // On the side of a wall a bend keeps a relief and a thickness, 2 + 2, from the wall's own bend.
    let wall = entry("wall", Feature::Flange(flange(&["plate/right"], 90.0, 50.0)));
    let ear = |from: f64| {
        let shape = four_sided([[0.0, 0.0], [from, 0.0], [from, 20.0], [0.0, 20.0]]);
        on_plate(vec![wall.clone(), entry("ear", Feature::Flange(drawn(&["wall/right"], shape)))])
    };
    // The edge is 45 long; seen from the ear its right end is at the wall's bend.
    made(&ear(41.0));
    assert_eq!(refused(&ear(41.5)).code, "fold::no_room_for_relief");
}

/// A sketch of a round-headed tab, drawn up to 2 mm off, with free numbers counted from `free`.
fn sketched_tab(free: &mut Vec<FreeNumber>, height: Number) -> Profile {
    let rough = outline(
        &[[11.0, 1.5], [69.0, -1.0], [71.0, 28.0], [9.0, 31.0]],
        vec![line("foot"), line("right"), arc("head", 33.0), line("left")],
    );
    let mut tab = rough.sketched("tab", None, free).expect("a tab can be drawn");
    let edge = |name: &str| Element::Edge(name.to_owned());
    let corner = |a: &str, b: &str| Element::Corner([a.to_owned(), b.to_owned()]);
    tab.relations = [
        ProfileRelation::Coincident { a: edge("foot"), b: Element::XAxis },
        ProfileRelation::Coincident { a: corner("left", "foot"), b: Element::Place([n(10.0), n(0.0)]) },
        ProfileRelation::Vertical { edge: "left".to_owned() },
        ProfileRelation::Tangent { a: edge("right"), b: edge("head") },
        ProfileRelation::Tangent { a: edge("head"), b: edge("left") },
        ProfileRelation::Radius { edge: "head".to_owned(), value: n(30.0) },
        ProfileRelation::Parallel { a: edge("left"), b: edge("right") },
        ProfileRelation::Distance { a: Element::Centre("head".to_owned()), b: Element::XAxis, value: height },
    ]
    .map(|relation| RelationEntry { relation, span: None })
    .to_vec();
    tab
}

#[test]
fn a_sketch_settles_the_outline_of_a_flange() {
    let mut free = Vec::new();
    let sketch = sketched_tab(&mut free, n(30.0));
    let mut history = on_plate(vec![tab(sketch)]);
    history.free_numbers = free;
    let part = made(&history);
    // The same tab as by hand.
    assert_near(area_of(&part, "tab"), 1500.0 + 450.0 * PI, 1e-6);
    assert_near(bend_length(&part, "tab"), 60.0, 1e-8);
    assert_eq!(part.settled.sketches[0].left_free, 0, "{:?}", part.settled.sketches);
}

#[test]
fn dimensions_hold_through_drawn_flanges() {
    // A lip on a tab whose height is free: it shall lie 40 mm above the plate, clear. Outside that is 44, so that
    // the tab is 44 high, and 44 − 5 − 5 of it are flat.
    let height = Number::free(VarId::new(0));
    let shape = Profile::new(
        vec![[n(10.0), n(0.0)], [n(70.0), n(0.0)], [n(70.0), height.clone()], [n(10.0), height]],
        ["root", "right", "tip", "left"].map(line).to_vec(),
    );
    let mut history =
        on_plate(vec![tab(shape), entry("lip", Feature::Flange(flange(&["tab/tip"], 90.0, 20.0)))]);
    history.free_numbers = vec![FreeNumber::new("height", 30.0)];
    history.dimensions = vec![
        hold_inside("clear", "plate", "lip", 40.0),
        DimensionEntry {
            name: "across".to_owned(),
            kind: DimensionKind::PanelWidth {
                a: EdgeName::new("tab/left").unwrap(),
                b: EdgeName::new("tab/right").unwrap(),
            },
            target: Target::Measured,
            stays: None,
            span: None,
        },
    ];
    let part = made(&history);
    assert_near(part.settled.free[0], 44.0, 1e-7);
    assert_near(part.settled.dimensions[1].got, 60.0, 1e-9);
    assert_near(area_of(&part, "tab"), 60.0 * 34.0, 1e-4);
}

/// Two outlines piece by piece, in order.
fn assert_same_blank(a: &Part, b: &Part) -> Result<(), TestCaseError> {
    let (a, b) = (a.blank.region.contours(), b.blank.region.contours());
    prop_assert_eq!(a.len(), b.len());
    for (a, b) in a.iter().zip(b) {
        prop_assert_eq!(a.segments().len(), b.segments().len());
        for (a, b) in a.segments().iter().zip(b.segments()) {
            prop_assert!(a.start.distance(b.start) < 1e-9 && a.end.distance(b.end) < 1e-9, "{:?} {:?}", a, b);
            prop_assert_eq!(a.tag, b.tag);
            prop_assert_eq!(a.curve == Curve::Line, b.curve == Curve::Line);
        }
    }
    Ok(())
}

fn any_base() -> impl Strategy<Value = Flange> {
    (
        prop_oneof![Just(90.0), 10.0..170.0_f64],
        prop_oneof![Just(FoldSide::Up), Just(FoldSide::Down)],
        prop_oneof![Just(LengthFrom::Outside), Just(LengthFrom::Inside), Just(LengthFrom::Tangent)],
        prop_oneof![Just(HeldFace::Outer), Just(HeldFace::Inner), Just(HeldFace::BendStart)],
    )
        .prop_map(|(turn, side, length_from, holds)| Flange {
            side,
            length_from,
            holds,
            ..flange(&["plate/right"], turn, 0.0)
        })
}

/// The area of a polygon above a level: clipped corner by corner, then the shoelace formula.
fn area_above(corners: &[[f64; 2]], level: f64) -> f64 {
    let mut kept: Vec<[f64; 2]> = Vec::new();
    for (i, &a) in corners.iter().enumerate() {
        let b = corners[(i + 1) % corners.len()];
        if a[1] >= level {
            kept.push(a);
        }
        if (a[1] >= level) != (b[1] >= level) {
            let share = (level - a[1]) / (b[1] - a[1]);
            kept.push([a[0] + share * (b[0] - a[0]), level]);
        }
    }
    let shoelace = (0..kept.len()).map(|i| {
        let (a, b) = (kept[i], kept[(i + 1) % kept.len()]);
        a[0] * b[1] - a[1] * b[0]
    });
    0.5 * shoelace.sum::<f64>()
}

/// A wall of random heights on the right edge of the plate, and the corners of its drawing.
fn any_skyline() -> impl Strategy<Value = (History, Vec<[f64; 2]>)> {
    let reach = (-15.0..15.0_f64, 60.0..95.0_f64);
    let top = prop::collection::vec(25.0..70.0_f64, 2..6);
    let feet = (0.0..25.0_f64, 55.0..80.0_f64);
    (any_base(), feet, top, reach, any::<bool>()).prop_map(|(given, feet, top, reach, backwards)| {
        // Its corners run back from right to left, so that it does not cross itself.
        let count = top.len();
        let at = |i: usize| reach.1 + (reach.0 - reach.1) * i as f64 / (count - 1) as f64;
        let mut corners = vec![[feet.0, 0.0], [feet.1, 0.0]];
        corners.extend(top.iter().enumerate().map(|(i, &y)| [at(i), y]));
        let edges: Vec<ProfileEdge> = (0..corners.len()).map(|i| line(&format!("e{i}"))).collect();
        let drawing = outline(&corners, edges);
        let drawing = if backwards { other_way_round(&drawing) } else { drawing };
        let wall = entry("wall", Feature::Flange(Flange { outline: Some(drawing), ..given }));
        (on_plate(vec![wall]), corners)
    })
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(300))]

    #[test]
    fn a_drawn_rectangle_is_the_flange_given_by_its_length(
        given in any_base(),
        length in 12.0..60.0_f64,
        insets in [prop_oneof![Just(0.0), 0.0..30.0_f64], prop_oneof![Just(0.0), 0.0..30.0_f64]],
        child in prop_oneof![Just(None), Just(Some("tip")), Just(Some("left")), Just(Some("right"))],
        backwards in any::<bool>(),
    ) {
        let mut by_length = given.clone();
        by_length.length = n(length);
        by_length.left.inset = n(insets[0]);
        by_length.right.inset = n(insets[1]);
        let right = 80.0 - insets[1];
        let rectangle = four_sided([[insets[0], 0.0], [right, 0.0], [right, length], [insets[0], length]]);
        let rectangle = if backwards { other_way_round(&rectangle) } else { rectangle };
        let by_outline = Flange { outline: Some(rectangle), ..given };
        let with = |wall: Flange| {
            let lip = child.map(|edge| entry("lip", Feature::Flange(flange(&[&format!("wall/{edge}")], 70.0, 12.0))));
            let walls = [entry("wall", Feature::Flange(wall))];
            regenerate(&on_plate(walls.into_iter().chain(lip).collect()))
        };
        match (with(by_length), with(by_outline)) {
            (Ok(a), Ok(b)) => {
                assert_same_blank(&a, &b)?;
                prop_assert!((a.measures.volume - b.measures.volume).abs() < 1e-6);
                prop_assert_eq!(a.findings, b.findings);
            }
            (Err(a), Err(b)) => {
                let codes = |faults: &[Diagnostic]| faults.iter().map(|f| f.code).collect::<Vec<_>>();
                prop_assert_eq!(codes(&a), codes(&b));
            }
            (a, b) => prop_assert!(false, "{:?} against {:?}", a.err(), b.err()),
        }
    }

    #[test]
    fn a_drawn_flange_has_the_area_of_its_drawing_beyond_the_bend((history, corners) in any_skyline()) {
        let Ok(part) = regenerate(&history) else { return Ok(()) };
        let level = -part.settled.pose.panels[1].drawn_shift;
        let area = area_above(&corners, level);
        prop_assert!((area_of(&part, "wall") - area).abs() < 1e-9 * area, "{}", area);
        let panels: f64 = part.tree.panels().iter().map(|p| p.region.area()).sum();
        let bend = &part.tree.bends()[0];
        let strips = bend.length() * bend.allowance();
        prop_assert!((part.blank.region.area() - panels - strips).abs() < 1e-9 * panels);
        // The bend is as wide as the drawing is there.
        let width = (area_above(&corners, level) - area_above(&corners, level + 1e-4)) / 1e-4;
        prop_assert!((bend.length() - width).abs() < 1e-2, "{} against {}", bend.length(), width);
    }
}

#[test]
fn most_random_drawings_can_be_made() {
    let mut runner = TestRunner::deterministic();
    let strategy = any_skyline();
    let made = (0..300).filter(|_| {
        let (history, _) = strategy.new_tree(&mut runner).expect("the strategy never rejects").current();
        regenerate(&history).is_ok()
    });
    let made = made.count();
    assert!(made > 150, "{made} of 300");
}
