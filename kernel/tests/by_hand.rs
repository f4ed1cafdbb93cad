//! Whole parts against lengths worked out by hand: L, Z, U, hat and box, through every stage.
//!
//! The flat length of a profile is the sum of its outside lengths less a deduction for each bend,
//! `2 (r + t) tan(a/2) − a (r + K t)` (definition; sheet-metal workbook and FAA-H-8083-31, seen). All parts
//! here have t = 2 mm, r = 3 mm, K = 0.4, so that at 90° the allowance is π/2 · 3.8 = 5.969026 mm and the
//! deduction 10 − 5.969026 = 4.030974 mm.

#[allow(dead_code, reason = "tests and benches use different parts")]
#[path = "../benches/parts.rs"]
mod parts;

use kernel::history::feature::{
    BreakShape, CornerBreak, CornerName, Corners, Feature, FoldSide, HeldFace, LengthFrom,
};
use kernel::history::{DimensionEntry, DimensionKind, EdgeShape, History, Profile, ProfileEdge, Target};
use kernel::regenerate::{Part, regenerate};
use parts::{base, entry, flange, history, n, panel};

const DEDUCTION_90: f64 = 4.030_974;

fn made(history: &History) -> Part {
    regenerate(history).expect("the part can be made")
}

fn on_sheet(features: Vec<kernel::history::FeatureEntry>) -> History {
    history(2.0, 3.0, 0.4, features)
}

fn plate(length: f64, width: f64) -> kernel::history::FeatureEntry {
    base("plate", Profile::rectangle(&n(length), &n(width)))
}

#[track_caller]
fn assert_near(got: f64, wanted: f64) {
    assert!((got - wanted).abs() < 1e-5, "{got} against {wanted}");
}

fn measured(name: &str, kind: DimensionKind) -> DimensionEntry {
    DimensionEntry { name: name.to_owned(), kind, target: Target::Measured, stays: None, span: None }
}

#[test]
fn l_of_80_and_50_outside_loses_one_deduction() {
    let wall = flange(&["plate/right"], 90.0, 50.0);
    let part = made(&on_sheet(vec![plate(80.0, 120.0), entry("wall", Feature::Flange(wall))]));
    let size = part.blank.bounding_box();
    assert_near(size.width(), 80.0 + 50.0 - DEDUCTION_90);
    assert_near(size.height(), 120.0);
    assert_near(part.blank.region.area(), (130.0 - DEDUCTION_90) * 120.0);
    // Outside the plate ends at x = 80 and the wall at z = 50 − 2, metal from −2 to 0.
    let mesh = part.mesh(&kernel::fold::FoldFractions::all(&part.tree, 1.0), 0.01).unwrap();
    let [low, high] = mesh.bounding_box().unwrap();
    assert_near(high.x, 80.0);
    assert_near(high.z, 48.0);
    assert_near(low.z, -2.0);
}

#[test]
fn z_of_up_and_down_bends_steps_the_end_panel() {
    let web = flange(&["plate/right"], 90.0, 40.0);
    let mut end = flange(&["web/tip"], 90.0, 30.0);
    end.side = FoldSide::Down;
    let mut history = on_sheet(vec![
        plate(60.0, 100.0),
        entry("web", Feature::Flange(web)),
        entry("end", Feature::Flange(end)),
    ]);
    let between = |kind: fn(_, _) -> DimensionKind| kind(panel("plate"), panel("end"));
    history.dimensions = vec![
        measured("step inside", between(|a, b| DimensionKind::Inside { a, b })),
        measured("step outside", between(|a, b| DimensionKind::Outside { a, b })),
        measured("turned", between(|a, b| DimensionKind::Angle { a, b })),
    ];
    let part = made(&history);
    // 60 + 40 + 30 outside lengths, two bends.
    assert_near(part.blank.bounding_box().width(), 130.0 - 2.0 * DEDUCTION_90);
    // The web is 40 high over both faces: the end panel lies on its far side.
    assert_near(part.settled.dimensions[1].got, 40.0);
    assert_near(part.settled.dimensions[0].got, 36.0);
    assert_near(part.settled.dimensions[2].got, 0.0);
}

#[test]
fn u_has_an_outside_width_two_thicknesses_above_the_inside_one() {
    let walls = flange(&["plate/left", "plate/right"], 90.0, 45.0);
    let mut history = on_sheet(vec![plate(100.0, 200.0), entry("wall", Feature::Flange(walls))]);
    let between = |kind: fn(_, _) -> DimensionKind| kind(panel("wall.left"), panel("wall.right"));
    history.dimensions = vec![
        measured("inside", between(|a, b| DimensionKind::Inside { a, b })),
        measured("outside", between(|a, b| DimensionKind::Outside { a, b })),
    ];
    let part = made(&history);
    assert_near(part.blank.bounding_box().width(), 100.0 + 2.0 * 45.0 - 2.0 * DEDUCTION_90);
    assert_near(part.settled.dimensions[0].got, 96.0);
    assert_near(part.settled.dimensions[1].got, 100.0);
}

#[test]
fn u_measured_inside_and_held_inside_gains_what_a_bend_adds() {
    // Inside lengths: flat = sum of inside lengths + (allowance − 2 r) for each bend = 5.969026 − 6.
    let mut walls = flange(&["plate/left", "plate/right"], 90.0, 45.0);
    walls.length_from = LengthFrom::Inside;
    walls.holds = HeldFace::Inner;
    let mut history = on_sheet(vec![plate(100.0, 200.0), entry("wall", Feature::Flange(walls))]);
    history.dimensions =
        vec![measured("inside", DimensionKind::Inside { a: panel("wall.left"), b: panel("wall.right") })];
    let part = made(&history);
    assert_near(part.blank.bounding_box().width(), 100.0 + 90.0 + 2.0 * (5.969_026 - 6.0));
    assert_near(part.settled.dimensions[0].got, 100.0);
}

#[test]
fn u_measured_from_the_tangent_adds_whole_bends() {
    let mut walls = flange(&["plate/left", "plate/right"], 90.0, 45.0);
    walls.length_from = LengthFrom::Tangent;
    walls.holds = HeldFace::BendStart;
    let part = made(&on_sheet(vec![plate(100.0, 200.0), entry("wall", Feature::Flange(walls))]));
    assert_near(part.blank.bounding_box().width(), 100.0 + 90.0 + 2.0 * 5.969_026);
}

#[test]
fn hat_of_five_panels_loses_four_deductions() {
    let walls = flange(&["plate/left", "plate/right"], 90.0, 40.0);
    let mut brims = flange(&["wall.left/tip", "wall.right/tip"], 90.0, 25.0);
    brims.side = FoldSide::Down;
    let mut history = on_sheet(vec![
        plate(90.0, 150.0),
        entry("wall", Feature::Flange(walls)),
        entry("brim", Feature::Flange(brims)),
    ]);
    history.dimensions =
        vec![measured("height", DimensionKind::Outside { a: panel("plate"), b: panel("brim.left") })];
    let part = made(&history);
    assert_near(part.blank.bounding_box().width(), 90.0 + 80.0 + 50.0 - 4.0 * DEDUCTION_90);
    assert_near(part.settled.dimensions[0].got, 40.0);
    let mesh = part.mesh(&kernel::fold::FoldFractions::all(&part.tree, 1.0), 0.01).unwrap();
    let [low, high] = mesh.bounding_box().unwrap();
    // A brim of 25 mm outside reaches 25 − 2 beyond the wall's outer face (2 mm beyond its inner one).
    assert_near(high.x - low.x, 90.0 + 2.0 * 23.0);
}

#[test]
fn box_has_a_blank_of_panels_strips_and_ledges_added_up_by_hand() {
    let walls = flange(&["plate/front", "plate/right", "plate/back", "plate/left"], 90.0, 50.0);
    let part = made(&on_sheet(vec![plate(200.0, 140.0), entry("wall", Feature::Flange(walls))]));
    let size = part.blank.bounding_box();
    assert_near(size.width(), 200.0 + 100.0 - 2.0 * DEDUCTION_90);
    assert_near(size.height(), 140.0 + 100.0 - 2.0 * DEDUCTION_90);
    // Plate between bend starts: (200 − 10) by (140 − 10). Strips as long as that. Walls: flats of 45 mm,
    // each end r − 1/√2 longer than its bend, so that inner edges stand 1 mm apart.
    let longer = 2.0 * (3.0 - 1.0 / 2.0_f64.sqrt());
    let flats = 2.0 * 45.0 * ((190.0 + longer) + (130.0 + longer));
    let strips = 2.0 * 5.969_026 * (190.0 + 130.0);
    let area = 190.0 * 130.0 + flats + strips;
    assert!((part.blank.region.area() - area).abs() < 1e-3, "{} against {area}", part.blank.region.area());
    // Volume: flats as they are, bends as tube sectors π/4 ((r + t)² − r²) = π/4 · 16.
    let volume = 2.0 * (190.0 * 130.0 + flats) + std::f64::consts::FRAC_PI_4 * 16.0 * 2.0 * (190.0 + 130.0);
    assert!((part.measures.volume - volume).abs() < 1e-3, "{} against {volume}", part.measures.volume);
}

#[test]
fn a_lean_of_150_degrees_is_measured_to_the_outer_tangent() {
    // Above 90° outside lengths run to the tangent of the outer surface (DIN 6935): each leg loses r + t = 5
    // to the bend, whose allowance is 150° · 3.8 = 9.948377 mm.
    let wall = flange(&["plate/right"], 150.0, 50.0);
    let part = made(&on_sheet(vec![plate(80.0, 120.0), entry("wall", Feature::Flange(wall))]));
    assert_near(part.blank.bounding_box().width(), 75.0 + 45.0 + 9.948_377);
    // What the bend table calls the deduction is what the two outside lengths lose.
    let deduction = part.bend_table()[0].deduction.to_mm();
    assert_near(deduction, 80.0 + 50.0 - part.blank.bounding_box().width());
}

#[test]
fn an_inset_is_counted_from_the_drawn_end_and_opens_its_relief_where_little_is_left() {
    // t = 1, r = 1: bend starts 2 mm within the drawn edge, reliefs 1 mm wide and 2 mm past the bend start.
    let front_bend = |inset_left: f64, inset_right: f64| {
        let mut front = flange(&["plate/front"], 90.0, 20.0);
        (front.left.inset, front.right.inset) = (n(inset_left), n(inset_right));
        let right = flange(&["plate/right"], 90.0, 20.0);
        let part = made(&history(
            1.0,
            1.0,
            0.4,
            vec![
                base("plate", Profile::rectangle(&n(100.0), &n(60.0))),
                entry("front", Feature::Flange(front)),
                entry("right", Feature::Flange(right)),
            ],
        ));
        part.tree.bends()[0].length()
    };
    // Seen from inside, the front flange's right end is at the free corner, at x = 0.
    for (inset, bend) in [(0.0, 98.0), (0.5, 97.5), (5.0, 93.0)] {
        assert_near(front_bend(0.0, inset), bend);
    }
    // At the corner with the right flange, 2 mm of the edge are that one's bend anyway.
    for (inset, bend) in [(0.0, 98.0), (1.2, 98.0), (2.0, 98.0), (2.5, 97.5), (3.01, 96.99), (8.0, 92.0)] {
        assert_near(front_bend(inset, 0.0), bend);
    }
}

#[test]
fn a_bend_on_a_nearly_straight_outline_is_as_long_as_its_edge() {
    // The corner turns by about 1°: the bend stops a relief (here 2 mm wide) short of it.
    let corners = [[0.0, 0.0], [100.0, 0.0], [400.0, 5.0], [400.0, 60.0], [0.0, 60.0]];
    let outline = Profile::new(
        corners.map(|[x, y]| [n(x), n(y)]).to_vec(),
        ["front", "skew", "right", "back", "left"]
            .map(|name| ProfileEdge { name: name.to_owned(), shape: EdgeShape::Line })
            .to_vec(),
    );
    let wall = flange(&["plate/front"], 90.0, 20.0);
    let part = made(&on_sheet(vec![base("plate", outline), entry("wall", Feature::Flange(wall))]));
    assert_near(part.tree.bends()[0].length(), 98.0);
}

#[test]
fn both_corners_between_the_same_two_edges_are_broken() {
    let lens = Profile::new(
        vec![[n(0.0), n(0.0)], [n(100.0), n(0.0)]],
        vec![
            ProfileEdge { name: "a".to_owned(), shape: EdgeShape::Line },
            ProfileEdge { name: "b".to_owned(), shape: EdgeShape::ArcThrough([n(50.0), n(30.0)]) },
        ],
    );
    let between = ["a".to_owned(), "b".to_owned()];
    let corners = Corners::Named(vec![CornerName { panel: panel("lens"), between }]);
    let part = made(&on_sheet(vec![
        base("lens", lens),
        entry("soft", Feature::CornerBreak(CornerBreak { corners, shape: BreakShape::Round(n(3.0)) })),
    ]));
    assert_eq!(part.blank.region.contours()[0].segments().len(), 4);
}
