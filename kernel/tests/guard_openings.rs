//! Openings of folded covers against figures by hand.

#![allow(clippy::unwrap_used, reason = "a check stops at the first surprise, in its helping functions too")]

#[allow(dead_code, reason = "tests and benches use different parts")]
#[path = "../benches/parts.rs"]
mod parts;

use kernel::geom::Vec3;
use kernel::guard::{Opening, OpeningKind, openings};
use kernel::guarding::{Demand, OpeningRule, OpeningShape, required};
use kernel::history::feature::{Cutout, Feature, FeatureEntry, Pattern, Reach};
use kernel::history::{History, Profile, Shape};
use kernel::quantity::{Length, maths};
use kernel::regenerate::regenerate;
use parts::{base, cutout, entry, five_panel_cover, flange, history, n, perforated_plate};

/// What chords of arcs may add to a rim's measures, in mm.
const WIDENED: f64 = 0.02;

fn of(history: &History) -> Vec<Opening> {
    openings(&regenerate(history).unwrap().tree)
}

fn kinds(found: &[Opening], kind: OpeningKind) -> Vec<&Opening> {
    found.iter().filter(|opening| opening.kind == kind).collect()
}

#[track_caller]
fn near(got: f64, wanted: f64) {
    assert!((got - wanted).abs() < 1e-6, "{got} against {wanted}");
}

/// Not smaller than the true value, and larger by what chords may add at most.
#[track_caller]
fn widened(got: f64, wanted: f64) {
    assert!(wanted - 1e-6 <= got && got <= wanted + WIDENED + 1e-6, "{got} against {wanted}");
}

#[test]
fn a_box_has_four_seams_four_corners_and_one_open_side() {
    // Inside 310 by 190, walls 60 outside with t = 1.5, r = 2: flat sides of 60 − 3.5 = 56.5; gap 1.
    let found = of(&five_panel_cover());
    let seams = kinds(&found, OpeningKind::Seam);
    let names: Vec<&str> = seams.iter().map(|seam| seam.name.as_str()).collect();
    let (front, right, back, left) = ("`wall.front`", "`wall.right`", "`wall.back`", "`wall.left`");
    let wanted = [(front, right), (right, back), (back, left), (left, front)];
    for (a, b) in wanted {
        assert!(names.contains(&format!("seam {a} / {b}").as_str()), "{names:?}");
    }
    assert_eq!(seams.len(), 4);
    for seam in &seams {
        near(seam.measures.around_slot[0], 1.0);
        near(seam.measures.around_slot[1], 56.5);
        near(seam.measures.passing_circle, 1.0);
        let OpeningShape::Slot { width, length } = seam.measures.shape else { panic!("{seam:?}") };
        near(width.to_mm(), 1.0);
        near(length.to_mm(), 56.5);
        // All of it lies between foot and tip: 3.5 − 1.5 above the inner face of the base, and 60 − 1.5.
        for p in seam.outline(0) {
            assert!(2.0 - 1e-6 <= p.z && p.z <= 58.5 + 1e-6, "{p:?}");
        }
    }
    let corners = kinds(&found, OpeningKind::CornerRelief);
    assert_eq!(corners.len(), 4);
    for corner in corners {
        assert!(corner.measures.around_circle > 0.5 && corner.measures.around_circle < 8.0, "{corner:?}");
        assert!(corner.outline(0).iter().all(|p| p.z <= 2.0 + 1e-6));
    }
    let [side] = kinds(&found, OpeningKind::OpenSide)[..] else { panic!("one open side") };
    assert_eq!(side.name, "open side opposite `face`");
    near(side.measures.around_slot[0], 190.0);
    near(side.measures.around_slot[1], 310.0);
    near(side.measures.passing_circle, 190.0);
    near(side.measures.passing_square, 190.0);
    // The inner corners are cut by the mouths of the seams, 1 mm wide: by 1/√2 along each wall.
    let short = 190.0 - 2.0_f64.sqrt();
    near(side.measures.around_circle, maths::hypot(310.0, short));
    assert!(side.outline(0).iter().all(|p| (p.z - 58.5).abs() < 1e-6));
    let by_table = required(OpeningRule::Iso13857UpperLimbs, &side.measures.shape);
    assert_eq!(by_table.demand, Demand::ByReachOver);
    let [holes] = kinds(&found, OpeningKind::Hole)[..] else { panic!("one group of holes") };
    assert_eq!((holes.name.as_str(), holes.count()), ("holes `holes`", 12));
    assert_eq!(holes.measures.shape, OpeningShape::Round { diameter: Length::mm(9.0) });
    assert_eq!(found.len(), 4 + 4 + 1 + 1);
}

#[test]
fn holes_keep_their_places() {
    let found = of(&five_panel_cover());
    let [holes] = kinds(&found, OpeningKind::Hole)[..] else { panic!("one group of holes") };
    // Grid from (60, 50), pitches 60 and 40, radius 4.5.
    for index in 0..holes.count() {
        let outline = holes.outline(index);
        let count = f64::from(u32::try_from(outline.len()).unwrap());
        let middle = outline.iter().fold(Vec3::new(0.0, 0.0, 0.0), |sum, p| sum + p.times(1.0 / count));
        let (column, row) = ((middle.x - 60.0) / 60.0, (middle.y - 50.0) / 40.0);
        near(column, column.round());
        near(row, row.round());
        assert!(outline.iter().all(|p| ((*p - middle).length() - 4.5).abs() < 1e-6 && p.z.abs() < 1e-9));
    }
}

/// A plate of 100 by 80 with walls on two edges that meet, 60 high.
fn two_walls(taper: f64, gap: f64) -> History {
    let wall = |edge: &str, lean: f64| {
        let mut made = flange(&[edge], 90.0, 60.0);
        made.corner_gap = n(gap);
        // The corner is at the left end of `front`.
        made.left.taper = n(lean);
        Feature::Flange(made)
    };
    let features = vec![
        base("plate", Profile::rectangle(&n(100.0), &n(80.0))),
        entry("front", wall("plate/front", taper)),
        entry("side", wall("plate/right", 0.0)),
    ];
    history(1.5, 2.0, 0.44, features)
}

#[test]
fn two_free_edges_between_flanges_are_no_corner() {
    let found = of(&two_walls(0.0, 1.0));
    assert_eq!(kinds(&found, OpeningKind::Seam).len(), 1);
    assert_eq!(kinds(&found, OpeningKind::CornerRelief).len(), 1);
    let [side] = kinds(&found, OpeningKind::OpenSide)[..] else { panic!("one open side") };
    assert_eq!(side.panels.len(), 3, "{:?}", side.panels);
}

#[test]
fn seams_are_as_wide_as_they_were_asked_for() {
    for gap in [0.5, 1.0, 5.0, 12.0] {
        let found = of(&two_walls(0.0, gap));
        let [seam] = kinds(&found, OpeningKind::Seam)[..] else { panic!("one seam") };
        assert_eq!(seam.name, "seam `front` / `side`");
        near(seam.measures.around_slot[0], gap);
    }
}

#[test]
fn a_tapered_seam_is_as_wide_as_its_wide_end() {
    // The side leans by 5° over 56.5: 4.94 more at the tip, across the corner from a gap of 1.
    let found = of(&two_walls(5.0, 1.0));
    let [seam] = kinds(&found, OpeningKind::Seam)[..] else { panic!("one seam") };
    let more = 56.5 * maths::tan(maths::PI / 36.0);
    let got = seam.measures.around_slot[0];
    assert!(more < got && got < more + 1.5, "{got} against {more} and the gap");
}

#[test]
fn a_channel_is_open_at_its_ends_and_opposite_its_floor_at_once() {
    // 200 by 100, walls 60 on the long edges, outer faces at the drawn edges, t = 2: clear width 96.
    let walls = flange(&["floor/front", "floor/back"], 90.0, 60.0);
    let features =
        vec![base("floor", Profile::rectangle(&n(200.0), &n(100.0))), entry("wall", Feature::Flange(walls))];
    let found = of(&history(2.0, 2.0, 0.44, features));
    let [side] = &found[..] else { panic!("{found:?}") };
    assert_eq!(side.kind, OpeningKind::OpenSide);
    assert!(side.name.starts_with("open side along "), "{}", side.name);
    widened(side.measures.around_slot[0], 96.0);
    widened(side.measures.around_slot[1], 200.0);
    near(side.measures.passing_circle, 96.0);
    // Its line in space runs from the floor to the tips: inner face at 0, tips at 58.
    let heights: Vec<f64> = side.outline(0).iter().map(|p| p.z).collect();
    near(heights.iter().copied().fold(f64::INFINITY, f64::min), 0.0);
    near(heights.iter().copied().fold(0.0, f64::max), 58.0);
}

fn cut(name: &str, on: &str, shape: Shape, pattern: Pattern, reach: Reach) -> FeatureEntry {
    entry(name, Feature::Cutout(Cutout { reach, ..cutout(on, shape, pattern) }))
}

#[test]
fn a_window_in_a_wall_lies_in_the_wall() {
    let mut history = two_walls(0.0, 1.0);
    let shape = Shape::Slot { length: n(20.0), width: n(6.0), direction: n(0.0) };
    let grid = Pattern::Grid {
        from: [n(20.0), n(15.0)],
        columns: 3,
        rows: 2,
        column_pitch: n(25.0),
        row_pitch: n(12.0),
        staggered: false,
    };
    history.features.push(cut("drain", "front", shape, grid, Reach::Panel));
    let found = of(&history);
    let [slots] = kinds(&found, OpeningKind::Hole)[..] else { panic!("one group") };
    assert_eq!((slots.name.as_str(), slots.count()), ("holes `drain`", 6));
    assert_eq!(slots.measures.shape, OpeningShape::Slot { width: Length::mm(6.0), length: Length::mm(20.0) });
    let spread = |of: fn(&Vec3<f64>) -> f64, index: usize| {
        let values: Vec<f64> = slots.outline(index).iter().map(of).collect();
        let least = values.iter().copied().fold(f64::INFINITY, f64::min);
        values.iter().copied().fold(f64::NEG_INFINITY, f64::max) - least
    };
    for index in 0..6 {
        near(spread(|p| p.y, index), 0.0);
        near(spread(|p| p.x, index), 20.0);
        near(spread(|p| p.z, index), 6.0);
    }
}

#[test]
fn a_slot_across_a_bend_is_measured_over_the_outer_face() {
    // t = 2, r = 2, K = 0.4: the strip is π/2 · 2.8 wide in the blank and π/2 · 4 on its outer face.
    let mut wall = flange(&["plate/front"], 90.0, 50.0);
    wall.holds = kernel::history::feature::HeldFace::BendStart;
    let middle = -0.25 * maths::PI * 2.8;
    let shape = Shape::Slot { length: n(30.0), width: n(5.0), direction: n(90.0) };
    let features = vec![
        base("plate", Profile::rectangle(&n(100.0), &n(80.0))),
        entry("wall", Feature::Flange(wall)),
        cut("port", "plate", shape, Pattern::At(vec![[n(50.0), n(middle)]]), Reach::Blank),
    ];
    let found = of(&history(2.0, 2.0, 0.4, features));
    let [port] = kinds(&found, OpeningKind::AcrossBends)[..] else { panic!("{found:?}") };
    assert_eq!(port.name, "opening across bends `port`");
    assert_eq!(port.panels.len(), 2);
    let longer = 0.5 * maths::PI * (4.0 - 2.8);
    widened(port.measures.around_slot[0], 5.0);
    widened(port.measures.around_slot[1], 30.0 + longer);
}

#[test]
fn thousands_of_equal_holes_are_one_entry() {
    // As many as the ventilated cover over a dryer fan has.
    let found = of(&perforated_plate(52, 74));
    let holes = kinds(&found, OpeningKind::Hole);
    assert_eq!(holes.iter().map(|o| o.count()).sum::<usize>(), 3848);
    assert_eq!(holes.len(), 1);
}

#[test]
fn a_flat_plate_has_no_open_side() {
    let found = of(&history(2.0, 2.0, 0.44, vec![base("plate", Profile::rectangle(&n(100.0), &n(80.0)))]));
    assert!(found.is_empty(), "{found:?}");
}
