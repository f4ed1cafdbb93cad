//! Cuts on the blank across bends: by hand, and against the same cut made in the whole blank at once.

#[allow(dead_code, reason = "tests and benches use different parts")]
#[path = "../benches/parts.rs"]
mod parts;

use kernel::diag::Severity;
use kernel::fold::{EdgeLabel, FoldFractions};
use kernel::geom::{Contour, Motion2, Point2, Region, Tag, Vec2, difference};
use kernel::history::feature::{
    Cutout, DrawnLine, Feature, FeatureEntry, FillArea, FoldLine, FoldSide, HeldFace, LengthFrom, LineMarks,
    Pattern, Reach,
};
use kernel::history::{EdgeShape, History, Profile, ProfileEdge, Shape};
use kernel::quantity::maths;
use kernel::regenerate::{Part, regenerate};
use parts::{base, cutout, entry, flange, history, n, panel};
use proptest::prelude::*;

/// Allowance of a bend of 90° with r = 2, K = 0.4, t = 2: `π/2 · (2 + 0.8)`.
const ALLOWANCE: f64 = 0.5 * maths::PI * 2.8;

/// A plate of 100 x 80 with a wall whose bend starts at y = 0 and whose y counts from where it ends; above
/// it a second flange.
fn bracket(cuts: Vec<FeatureEntry>) -> History {
    let tangent = |edge: &str, length: f64| {
        let mut made = flange(&[edge], 90.0, length);
        made.holds = HeldFace::BendStart;
        made.length_from = LengthFrom::Tangent;
        Feature::Flange(made)
    };
    let mut features = vec![
        base("plate", Profile::rectangle(&n(100.0), &n(80.0))),
        entry("wall", tangent("plate/front", 40.0)),
        entry("lip", tangent("wall/tip", 15.0)),
    ];
    features.extend(cuts);
    history(2.0, 2.0, 0.4, features)
}

fn cut(name: &str, on: &str, shape: Shape, places: &[[f64; 2]]) -> FeatureEntry {
    let pattern = Pattern::At(places.iter().map(|[x, y]| [n(*x), n(*y)]).collect());
    entry(name, Feature::Cutout(Cutout { reach: Reach::Blank, ..cutout(on, shape, pattern) }))
}

fn circle(diameter: f64) -> Shape {
    Shape::Circle { diameter: n(diameter) }
}

fn rectangle(length: f64, width: f64) -> Shape {
    Shape::Outline(Profile::rectangle(&n(length), &n(width)))
}

fn made(cuts: Vec<FeatureEntry>) -> Part {
    regenerate(&bracket(cuts)).expect("the part can be made")
}

fn code(cuts: Vec<FeatureEntry>) -> &'static str {
    regenerate(&bracket(cuts)).expect_err("the part cannot be made")[0].code
}

fn area() -> f64 {
    100.0 * (80.0 + 40.0 + 15.0 + 2.0 * ALLOWANCE)
}

#[test]
fn a_round_cut_over_a_bend_splits_its_two_creases() {
    // Centre in the middle of the strip.
    let part = made(vec![cut("hole", "plate", circle(12.0), &[[50.0, -0.5 * ALLOWANCE]])]);
    assert!((part.blank.region.area() - (area() - 36.0 * maths::PI)).abs() < 1e-6);
    assert_eq!(part.blank.pierces(), 2);
    let half = 0.5 * ALLOWANCE;
    let chord = 2.0 * (36.0 - half * half).sqrt();
    let bend = &part.tree.bends()[0];
    for spans in [&bend.start, &bend.end] {
        assert_eq!(spans.len(), 2);
        assert!((spans[1].from - spans[0].to - chord).abs() < 1e-6);
    }
    // What a cut leaves of the plate's edge is shared with the strip bit for bit.
    for span in &bend.start {
        let vertices = part.tree.panels()[0].region.contours().iter().flat_map(Contour::segments);
        assert!(vertices.map(|s| s.start).any(|p| p == span.from_point || p == span.to_point));
    }
    assert!(part.findings.iter().all(|f| f.severity != Severity::Fault), "{:?}", part.findings);
    // Folded, a share of a strip's area holds that share of the bend's sector: π/4 · (4² − 2²) = 3 π mm² over
    // the allowance, beside 2 mm of flat sheet. By the circle's formula half the strip's opening is
    // h √(r² − h²) + r² asin(h / r) up to h.
    let opened = 2.0 * (half * 0.5 * chord + 36.0 * maths::asin(half / 6.0));
    let strips = 200.0 * ALLOWANCE - opened;
    let flat = 100.0 * 135.0 - (36.0 * maths::PI - opened);
    let volume = 2.0 * flat + strips * 3.0 * maths::PI / ALLOWANCE;
    assert!((part.measures.volume - volume).abs() < 1e-5, "{} {volume}", part.measures.volume);
    let mesh = part.mesh(&FoldFractions::all(&part.tree, 1.0), 1e-3).unwrap();
    assert!((mesh.volume() - volume).abs() < 1e-3 * part.measures.surface);
}

#[test]
fn a_window_may_lie_wholly_in_a_bend() {
    let part = made(vec![cut("window", "plate", circle(3.0), &[[50.0, -0.5 * ALLOWANCE]])]);
    let bend = &part.tree.bends()[0];
    assert_eq!(bend.region.holes().count(), 1);
    assert_eq!((bend.start.len(), bend.end.len()), (1, 1));
    assert!((part.blank.region.area() - (area() - 2.25 * maths::PI)).abs() < 1e-9);
}

#[test]
fn a_cut_up_to_a_crease_leaves_the_other_zone_an_edge() {
    // From the end of the bend 3 mm back into it: the wall's crease becomes an edge of the opening.
    let part = made(vec![cut("pocket", "wall", rectangle(20.0, 3.0), &[[40.0, -3.0]])]);
    let bend = &part.tree.bends()[0];
    assert_eq!((bend.start.len(), bend.end.len()), (1, 2));
    let wall = &part.tree.panels()[1].region;
    let opened = wall.contours().iter().flat_map(Contour::segments).filter(|s| {
        matches!(part.tree.label(s), EdgeLabel::Opening(_)) && s.start.y.abs() < 1e-9 && s.end.y.abs() < 1e-9
    });
    assert!((opened.map(|s| s.length()).sum::<f64>() - 20.0).abs() < 1e-6);
    assert!((part.blank.region.area() - (area() - 60.0)).abs() < 1e-6);
    assert_eq!(part.blank.pierces(), 2);
}

#[test]
fn a_cut_over_two_bends_takes_all_zones_between() {
    let long = 40.0 + 2.0 * ALLOWANCE + 10.0;
    let part = made(vec![cut("long", "plate", rectangle(10.0, long), &[[30.0, 5.0 - long]])]);
    assert!((part.blank.region.area() - (area() - 10.0 * long)).abs() < 1e-6);
    assert!(part.tree.bends().iter().all(|b| b.start.len() == 2 && b.end.len() == 2));
}

#[test]
fn a_cut_that_parts_the_blank_is_named() {
    let across = |y: f64, width: f64| cut("saw", "plate", rectangle(120.0, width), &[[-10.0, y]]);
    assert_eq!(code(vec![across(-1.0, 3.0)]), "fold::bend_cut_away");
    assert_eq!(code(vec![across(20.0, 3.0)]), "blank::several_outlines");
    assert_eq!(code(vec![across(200.0, 3.0)]), "fold::cut_removes_nothing");
}

#[test]
fn thousands_of_openings_may_cross_bends() {
    let pattern = Pattern::Grid {
        from: [n(2.0), n(-60.0)],
        columns: 32,
        rows: 45,
        column_pitch: n(3.0),
        row_pitch: n(3.0),
        staggered: false,
    };
    let mut many = cut("air", "plate", circle(2.0), &[]);
    if let Feature::Cutout(cutout) = &mut many.feature {
        cutout.pattern = pattern;
    }
    let plain = area() - 32.0 * 45.0 * maths::PI;
    assert!((made(vec![many]).blank.region.area() - plain).abs() < 1e-5);
}

#[test]
fn a_fill_laid_on_the_blank_covers_both_sides_of_a_fold_line() {
    // A fold line keeps the size of the blank: the same holes as in the flat plate are cut, over the bend too.
    let plate = || base("plate", Profile::rectangle(&n(200.0), &n(80.0)));
    let fold = FoldLine {
        panel: panel("plate"),
        line: DrawnLine::Beside { edge: "right".to_owned(), distance: n(80.0) },
        marks: LineMarks::Middle,
        turn: n(60.0),
        side: FoldSide::Up,
        inside_radius: None,
    };
    let mut air = cut("air", "plate", circle(6.0), &[]);
    if let Feature::Cutout(cutout) = &mut air.feature {
        cutout.pattern = Pattern::Fill {
            area: FillArea::Panel,
            column_pitch: n(10.0),
            row_pitch: n(10.0),
            staggered: false,
            margin: n(5.0),
        };
    }
    let of = |features| regenerate(&history(2.0, 2.0, 0.4, features)).expect("the part can be made");
    let folded = of(vec![plate(), entry("lip", Feature::FoldLine(fold)), air.clone()]);
    let flat = of(vec![plate(), air]);
    assert!(flat.blank.pierces() > 100);
    assert_eq!(folded.blank.pierces(), flat.blank.pierces());
    assert!((folded.blank.region.area() - flat.blank.region.area()).abs() < 1e-5);
    assert!(folded.tree.bends()[0].start.len() > 5);
}

/// A star-shaped polygon about the origin.
fn star(spokes: &[f64]) -> Vec<Point2> {
    let count = spokes.len() as f64;
    spokes
        .iter()
        .enumerate()
        .map(|(i, r)| Point2::ORIGIN + Vec2::unit(i as f64 * maths::TAU / count) * *r)
        .collect()
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(300))]

    /// The cut zones laid flat are the blank cut at once.
    #[test]
    fn zones_are_cut_as_the_blank_is(
        spokes in prop::collection::vec(3.0..30.0_f64, 3..9),
        at in [0.0..100.0_f64, -60.0..20.0_f64],
    ) {
        let corners = star(&spokes);
        let edges = (0..corners.len())
            .map(|i| ProfileEdge { name: format!("e{i}"), shape: EdgeShape::Line })
            .collect();
        let profile = Profile::new(corners.iter().map(|p| [n(p.x), n(p.y)]).collect(), edges);
        let part = match regenerate(&bracket(vec![cut("star", "plate", Shape::Outline(profile), &[at])])) {
            Ok(part) => part,
            Err(faults) => {
                let fair = ["fold::cut_removes_nothing", "blank::several_outlines", "fold::bend_cut_away"];
                prop_assert!(fair.contains(&faults[0].code), "{faults:?}");
                return Ok(());
            }
        };
        let shift = Motion2 { origin: Point2::new(at[0], at[1]), ..Motion2::IDENTITY };
        let removed = Region::inside(Contour::polygon(&corners, Tag(0)).unwrap().moved(shift));
        let whole = made(Vec::new()).blank.region;
        let left = difference(&whole, &[removed]).unwrap();
        prop_assert!((part.blank.region.area() - left.area()).abs() < 1e-5);
        prop_assert_eq!(part.blank.pierces(), left.contours().len());
    }
}
