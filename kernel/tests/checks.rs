//! Every check that holds a number against a limit: silent at the limit and 1e-6 mm beside it, a finding 1e-6 mm
//! on the other side. The source of each limit stands with its rule in `kernel/src/check/`.

#[allow(dead_code, reason = "tests and benches use different parts")]
#[path = "../benches/parts.rs"]
mod parts;

use kernel::check;
use kernel::diag::{Bound, Diagnostic, Severity};
use kernel::history::feature::{
    BreakShape, Bump, BumpSide, CornerBreak, CornerName, Corners, Cutout, Feature, FeatureEntry, FlangeEnd,
    FoldSide, HeldFace, Hem, HemForm, HemSpec, LengthFrom, NotchSize, Pattern, Relief, XFrom,
};
use kernel::history::{
    BendRuleSpec, EdgeName, GrainSpec, History, LimitSpec, NeighbourEntry, NeighbourSpec, Number, Profile,
    Shape, ShopValue, Stand, StockSheetSpec, StockSizeSpec, TestStripSpec, TestStripsSpec,
};
use kernel::quantity::{maths, tolerance};
use kernel::regenerate::regenerate;
use kernel::stock::LIMITS;
use parts::{base, cutout, entry, flange, history, n, outline};
use proptest::prelude::*;

/// Beside a limit by this much, in mm or degrees.
const BESIDE: f64 = 1e-6;

/// Findings of one check.
fn found(code: &str, history: &History) -> Vec<Diagnostic> {
    assert!(check::ALL.iter().any(|check| check.code == code), "{code}");
    let part = regenerate(history).unwrap_or_else(|faults| panic!("{faults:?}"));
    part.findings.into_iter().filter(|finding| finding.code == code).collect()
}

/// A check is silent at `limit` and on its good side, and gives one finding with these numbers on the other; the
/// part has the measured number `limit + off` at `part(limit_of_part + off)`.
fn fires_below(code: &str, severity: Severity, limit: f64, part: impl Fn(f64) -> History) -> Diagnostic {
    for off in [0.0, BESIDE] {
        let findings: Vec<_> =
            found(code, &part(off)).into_iter().filter(|f| f.severity == severity).collect();
        assert_eq!(findings, [], "{off} beside");
    }
    let findings: Vec<_> =
        found(code, &part(-BESIDE)).into_iter().filter(|f| f.severity == severity).collect();
    let [finding] = findings.as_slice() else { panic!("{findings:?}") };
    let measure = finding.measure.as_ref().expect("limits are of measured numbers");
    let got = match measure.bound {
        Bound::AtLeast => limit - BESIDE,
        Bound::AtMost => limit + BESIDE,
    };
    assert!((measure.limit - limit).abs() < 1e-9, "{measure:?}");
    assert!((measure.got - got).abs() < 1e-8, "{measure:?}");
    assert!(!finding.hints.is_empty() && !finding.origins.is_empty());
    finding.clone()
}

/// The same with the shop's limit `name` at `value`, which the family says.
fn with_limit(mut history: History, name: &str, value: ShopValue) -> History {
    history.shop.push(LimitSpec { name: name.to_owned(), value, file: None, of_tools: false, span: None });
    history
}

fn plate(width: f64, height: f64) -> FeatureEntry {
    base("plate", Profile::rectangle(&n(width), &n(height)))
}

fn at(places: &[[f64; 2]]) -> Pattern {
    Pattern::At(places.iter().map(|[x, y]| [n(*x), n(*y)]).collect())
}

fn circle(diameter: f64) -> Shape {
    Shape::Circle { diameter: n(diameter) }
}

fn cut(name: &str, shape: Shape, places: &[[f64; 2]]) -> FeatureEntry {
    entry(name, Feature::Cutout(cutout("plate", shape, at(places))))
}

/// A plate of 1.5 mm, r 1.5, with a wall of this outside length and turn; V 10 on hand by thickness and radius.
fn wall(length: f64, turn: f64, radius: f64) -> History {
    let wall = flange(&["plate/front"], turn, length);
    history(1.5, radius, 0.44, vec![plate(100.0, 80.0), entry("wall", Feature::Flange(wall))])
}

const MINIMUM_FLANGE: &str = "check::minimum_flange";

#[test]
fn minimum_flange_at_a_right_angle_is_seven_tenths_of_the_v() {
    // 6 t = 9, the next die on hand has V 10; 0.7 · 10 = 7 (tooling maker's air bending chart: V 10, b 7).
    let finding = fires_below(MINIMUM_FLANGE, Severity::Fault, 7.0, |off| wall(7.0 + off, 90.0, 1.5));
    let message = "panel `wall` reaches 7.00 mm out from the bend of `wall`, at least 7.00 mm (0.7 V at 90°, V 10 mm; \
                   tooling maker's air bending chart (seen)): 1.0e-6 mm too little";
    assert_eq!(finding.message, message);
}

#[test]
fn minimum_flange_at_other_turns_follows_the_shoulders() {
    // V/2 / cos(a/2) in place of V/√2, to the outer mould line. Up to 90° the asked length runs there; above, to
    // the tangent: (r + t)(tan(a/2) − 1) less.
    for turn in [1.0_f64, 30.0, 60.0, 89.0, 91.0, 120.0, 150.0_f64] {
        let half = 0.5 * turn * maths::PI / 180.0;
        let limit = 0.7 * 10.0 * maths::cos(maths::PI / 4.0) / maths::cos(half);
        let asked = if turn > 90.0 { limit - 3.0 * (maths::tan(half) - 1.0) } else { limit };
        fires_below(MINIMUM_FLANGE, Severity::Fault, limit, |off| wall(asked + off, turn, 1.5));
    }
}

#[test]
fn minimum_flange_warns_where_only_a_narrower_die_than_that_of_the_radius_will_do() {
    // r 3: V 6 · 3 = 18 on hand, 0.7 · 18 = 12.6; V 10 has room: 2 · 4.5 · sin 45° = 6.4.
    fires_below(MINIMUM_FLANGE, Severity::Warning, 12.6, |off| wall(12.6 + off, 90.0, 3.0));
    fires_below(MINIMUM_FLANGE, Severity::Fault, 7.0, |off| wall(7.0 + off, 90.0, 3.0));
    // r 8: the bend itself is 2 · 9.5 · sin 45° = 13.4 wide, the next die has V 14: 9.8.
    fires_below(MINIMUM_FLANGE, Severity::Fault, 9.8, |off| wall(9.8 + off, 90.0, 8.0));
}

#[test]
fn minimum_flange_sees_the_panel_before_the_bend_and_the_web_between_two() {
    // The drawn size of the plate is its outside size.
    let narrow = |edges: &'static [&'static str]| {
        move |off: f64| {
            let walls = flange(edges, 90.0, 30.0);
            history(1.5, 1.5, 0.44, vec![plate(100.0, 7.0 + off), entry("wall", Feature::Flange(walls))])
        }
    };
    fires_below(MINIMUM_FLANGE, Severity::Fault, 7.0, narrow(&["plate/front"]));
    for off in [0.0, BESIDE] {
        assert_eq!(found(MINIMUM_FLANGE, &narrow(&["plate/front", "plate/back"])(off)), []);
    }
    // Seen from both bends.
    let findings = found(MINIMUM_FLANGE, &narrow(&["plate/front", "plate/back"])(-BESIDE));
    let [finding] = findings.as_slice() else { panic!("{findings:?}") };
    assert_eq!(finding.measure.as_ref().unwrap().places, 2);
}

#[test]
fn minimum_flange_goes_by_the_dies_of_the_shop() {
    let dies =
        |off| with_limit(wall(5.6 + off, 90.0, 1.0), "v_openings", ShopValue::Numbers(vec![8.0, 12.0]));
    let rows = |off| with_limit(dies(off), "v_by_thickness", ShopValue::Pairs(vec![[3.0, 5.0]]));
    // 5 · 1.5 = 7.5: V 8.
    let finding = fires_below(MINIMUM_FLANGE, Severity::Fault, 5.6, rows);
    assert!(finding.message.contains("V 8 mm"), "{}", finding.message);
    let factor = |off| with_limit(wall(9.0 + off, 90.0, 1.5), "minimum_flange", ShopValue::Number(0.9));
    let finding = fires_below(MINIMUM_FLANGE, Severity::Fault, 9.0, factor);
    assert!(finding.message.contains("said by the family"), "{}", finding.message);
    assert_eq!(finding.origins[1].name, "shop");
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 64, ..ProptestConfig::default() })]

    /// Whatever thickness, radius and turn: the limit is where the geometry says, and nowhere else.
    #[test]
    fn minimum_flange_is_exact_for_any_bend(
        thickness in 0.5_f64..4.0,
        share in 0.5_f64..2.0,
        turn in 5.0_f64..150.0,
    ) {
        let radius = share * thickness;
        let half = 0.5 * turn * maths::PI / 180.0;
        let wanted = [(2.67, 6.0), (8.0, 8.0)].into_iter().find(|(up_to, _)| thickness <= *up_to).unwrap().1 * thickness;
        let wanted = f64::max(wanted, 2.0 * (radius + thickness) * maths::sin(half));
        let dies = [4.0, 6.0, 7.0, 8.0, 10.0, 12.0, 14.0, 16.0, 18.0, 20.0, 25.0, 32.0, 40.0];
        let v = dies.into_iter().find(|v| *v >= wanted).unwrap();
        let limit = 0.7 * v * maths::cos(maths::PI / 4.0) / maths::cos(half);
        let tangent = (radius + thickness) * (maths::tan(half) - 1.0);
        let asked = if turn > 90.0 { limit - tangent } else { limit };
        let part = |off: f64| {
            let wall = flange(&["plate/front"], turn, asked + off);
            history(thickness, radius, 0.44, vec![plate(100.0, 200.0), entry("wall", Feature::Flange(wall))])
        };
        // A flange that ends within its own bend is refused before any check.
        prop_assume!(asked > (radius + thickness) * maths::tan(half).max(1.0) + 0.01);
        fires_below(MINIMUM_FLANGE, Severity::Fault, limit, part);
    }
}

#[test]
fn step_height_is_half_the_v_and_t_and_r() {
    // V 10: 5 + 1.5 + 1.5 = 8 (common practice, no source). Between the bend lines: the allowance of two half bends
    // and the flat of the web, its outside length less r + t.
    let allowance = maths::PI / 2.0 * (1.5 + 0.44 * 1.5);
    let part = |off: f64| {
        let riser = flange(&["plate/front"], 90.0, 8.0 + off - allowance + 3.0);
        let mut tread = flange(&["riser/tip"], 90.0, 30.0);
        (tread.side, tread.holds) = (FoldSide::Down, HeldFace::BendStart);
        let features = vec![
            plate(100.0, 80.0),
            entry("riser", Feature::Flange(riser)),
            entry("tread", Feature::Flange(tread)),
        ];
        history(1.5, 1.5, 0.44, features)
    };
    fires_below("check::step_height", Severity::Warning, 8.0, part);
    // 0.6 · 10 + 3 = 9.
    let factor = |off: f64| with_limit(part(1.0 + off), "step_height", ShopValue::Number(0.6));
    fires_below("check::step_height", Severity::Warning, 9.0, factor);
    // The web between two bends to opposite sides is no flange over a die.
    assert_eq!(found(MINIMUM_FLANGE, &part(0.0)), []);
}

/// A plate with one bend that starts at y = 0, and these openings.
fn beside_bend(thickness: f64, shape: Shape, places: &[[f64; 2]]) -> History {
    let mut wall = flange(&["plate/front"], 90.0, 30.0);
    wall.holds = HeldFace::BendStart;
    let features =
        vec![plate(100.0, 80.0), entry("wall", Feature::Flange(wall)), cut("openings", shape, places)];
    history(thickness, 2.0, 0.4, features)
}

const HOLE_NEAR_BEND: &str = "check::hole_near_bend";

#[test]
fn hole_near_bend_warns_below_two_thicknesses_only() {
    // Limit: 2 t = 4 mm from the start of the bend (fabrication guide, seen). One hole is far away.
    let part = |off: f64| beside_bend(2.0, circle(10.0), &[[50.0, 9.0 + off], [70.0, 55.0]]);
    let finding = fires_below(HOLE_NEAR_BEND, Severity::Warning, 4.0, part);
    let message = "an opening in panel `plate` is 4.00 mm from the bend of `wall`, at least 4.00 mm (2 t; fabrication \
                   guide, hole edge to start of the bend radius (seen)): 1.0e-6 mm too little";
    assert_eq!((finding.message.as_str(), finding.origins[0].name.as_str()), (message, "openings"));
    // A shop that asks for 2.5 t.
    let part = |off| with_limit(part(1.0 + off), "hole_to_bend", ShopValue::Number(2.5));
    fires_below(HOLE_NEAR_BEND, Severity::Warning, 5.0, part);
}

#[test]
fn hole_near_bend_sees_notches_and_keeps_long_openings_farther_away() {
    let rectangle = |length: f64| Shape::Outline(Profile::rectangle(&n(length), &n(10.0)));
    // A notch from the left edge, as long as 20 mm on both sides of it.
    let notch = |off: f64| beside_bend(2.0, rectangle(20.0), &[[-5.0, 4.0 + off]]);
    fires_below(HOLE_NEAR_BEND, Severity::Warning, 4.0, notch);
    // Up to 10 t = 20 mm an opening is like a hole; a longer one keeps 4 t = 8 mm (common practice, no source).
    let hole = |off: f64| beside_bend(2.0, rectangle(20.0), &[[30.0, 4.0 + off]]);
    fires_below(HOLE_NEAR_BEND, Severity::Warning, 4.0, hole);
    let slot = |off: f64| beside_bend(2.0, rectangle(20.001), &[[30.0, 8.0 + off]]);
    let finding = fires_below(HOLE_NEAR_BEND, Severity::Warning, 8.0, slot);
    assert!(finding.message.starts_with("a long opening"), "{}", finding.message);
    // A round hole is no slot.
    assert_eq!(found(HOLE_NEAR_BEND, &beside_bend(2.0, circle(30.0), &[[50.0, 19.0]])), []);
}

#[test]
fn hole_near_edge_is_two_thicknesses_and_more_in_thin_sheet() {
    // 2 t = 4 mm, at least 1.575 mm (guideline sheet of a manufacturing service, seen). Three holes, one far away.
    let part = |thickness: f64, gap: f64| {
        let places = [[5.0 + gap, 40.0], [5.0 + gap, 60.0], [50.0, 40.0]];
        history(thickness, 2.0, 0.4, vec![plate(100.0, 80.0), cut("openings", circle(10.0), &places)])
    };
    let check = "check::hole_near_edge";
    let finding = fires_below(check, Severity::Warning, 4.0, |off| part(2.0, 4.0 + off));
    assert_eq!(finding.measure.unwrap().places, 2);
    fires_below(check, Severity::Warning, 1.575, |off| part(0.5, 1.575 + off));
    // 2 · 0.7875 = 1.575: from here on the thickness counts.
    fires_below(check, Severity::Warning, 1.6, |off| part(0.8, 1.6 + off));
    let shop = |off: f64| with_limit(part(2.0, 3.0 + off), "hole_to_edge", ShopValue::Number(1.5));
    fires_below(check, Severity::Warning, 3.0, shop);
    // An opening over the edge is a notch.
    assert_eq!(found(check, &part(2.0, -5.0)), []);
}

#[test]
fn holes_too_close_below_a_web_of_one_and_a_fifth_thicknesses() {
    // 1.2 · 2 = 2.4 mm (design guideline of an enclosure maker, seen).
    let one = |web: f64| {
        let places = [[30.0, 40.0], [40.0 + web, 40.0]];
        history(2.0, 2.0, 0.4, vec![plate(100.0, 80.0), cut("holes", circle(10.0), &places)])
    };
    let check = "check::holes_too_close";
    fires_below(check, Severity::Warning, 2.4, |off| one(2.4 + off));
    // A hole beside a slot that is turned by 30°.
    let two = |web: f64| {
        let (sin, cos) = maths::sin_cos(maths::PI / 6.0);
        let slot = Shape::Slot { length: n(30.0), width: n(6.0), direction: n(30.0) };
        let beside = 3.0 + web + 4.0;
        let hole = [50.0 - sin * beside, 40.0 + cos * beside];
        let features =
            vec![plate(100.0, 80.0), cut("slot", slot, &[[50.0, 40.0]]), cut("hole", circle(8.0), &[hole])];
        history(2.0, 2.0, 0.4, features)
    };
    let finding = fires_below(check, Severity::Warning, 2.4, |off| two(2.4 + off));
    assert_eq!(finding.origins[0].name, "hole");
    let shop = |off: f64| with_limit(one(4.0 + off), "hole_to_hole", ShopValue::Number(2.0));
    fires_below(check, Severity::Warning, 4.0, shop);
}

#[test]
fn small_hole_is_narrower_than_the_sheet_is_thick() {
    // 1 t, at least 0.787 mm (guideline sheet of a manufacturing service, seen).
    let part = |thickness: f64, shape: Shape| {
        history(
            thickness,
            2.0,
            0.4,
            vec![plate(100.0, 80.0), cut("holes", shape, &[[30.0, 40.0], [60.0, 40.0]])],
        )
    };
    let check = "check::small_hole";
    let finding = fires_below(check, Severity::Warning, 2.0, |off| part(2.0, circle(2.0 + off)));
    assert_eq!(finding.measure.unwrap().places, 2);
    fires_below(check, Severity::Warning, 0.787, |off| part(0.5, circle(0.787 + off)));
    let slot = |off: f64| part(2.0, Shape::Slot { length: n(12.0), width: n(2.0 + off), direction: n(30.0) });
    fires_below(check, Severity::Warning, 2.0, slot);
    let shop = |off: f64| with_limit(part(2.0, circle(1.0 + off)), "hole_width", ShopValue::Number(0.5));
    fires_below(check, Severity::Warning, 1.0, shop);
}

#[test]
fn relief_size_is_one_thickness_wide_and_t_and_r_deep() {
    let part = |thickness: f64, width: f64, depth: f64, round: bool| {
        let mut wall = flange(&["plate/front"], 90.0, 30.0);
        (wall.left.inset, wall.right.inset) = (n(20.0), n(20.0));
        let size = NotchSize { width: Some(n(width)), depth: Some(n(depth)) };
        wall.relief = if round { Relief::Round(size) } else { Relief::Square(size) };
        history(thickness, 1.5, 0.44, vec![plate(100.0, 80.0), entry("wall", Feature::Flange(wall))])
    };
    let check = "check::relief_size";
    for round in [false, true] {
        // Width t, at least 0.762 mm (guideline sheet of a manufacturing service, seen).
        fires_below(check, Severity::Warning, 1.5, |off| part(1.5, 1.5 + off, 5.0, round));
        fires_below(check, Severity::Warning, 0.762, |off| part(0.5, 0.762 + off, 5.0, round));
        // Depth t + r past the start of the bend (common practice, no source).
        fires_below(check, Severity::Warning, 3.0, |off| part(1.5, 2.0, 3.0 + off, round));
    }
    let shop =
        |off: f64| with_limit(part(1.5, 2.0, 4.5 + off, false), "relief_depth", ShopValue::Number(2.0));
    fires_below(check, Severity::Warning, 4.5, shop);
}

#[test]
fn reliefs_by_rule_and_tears_are_right() {
    for (relief, thickness) in
        [(Relief::by_rule(), 0.5), (Relief::by_rule(), 3.0), (Relief::Tear, 1.5), (Relief::None, 1.5)]
    {
        let mut wall = flange(&["plate/front", "plate/left"], 90.0, 30.0);
        (wall.left.inset, wall.right.inset) = (n(20.0), n(20.0));
        wall.relief = relief;
        let part =
            history(thickness, 1.5, 0.44, vec![plate(100.0, 80.0), entry("wall", Feature::Flange(wall))]);
        assert_eq!(found("check::relief_size", &part), []);
    }
}

/// A wall on the front (its bend along x) of this material, thickness, radius and turn.
fn bent(material: &str, thickness: f64, radius: f64, turn: f64, grain: GrainSpec) -> History {
    let wall = flange(&["plate/front"], turn, 60.0);
    let mut history =
        history(thickness, radius, 0.44, vec![plate(100.0, 80.0), entry("wall", Feature::Flange(wall))]);
    (history.sheet.material, history.sheet.grain) = (material.to_owned(), grain);
    history
}

#[test]
fn inside_radius_goes_by_material_thickness_turn_and_grain() {
    let fires = |severity, limit, material: &str, thickness, turn, grain| {
        fires_below("check::inside_radius", severity, limit, |off| {
            bent(material, thickness, limit + off, turn, grain)
        })
    };
    use GrainSpec::{Any, X, Y};
    use Severity::{Fault, Warning};
    // Low carbon steel max(t/2, 0.8 mm) (sheet metal design guidelines, seen); 1 mm, 3 mm.
    fires(Fault, 0.8, "DC01", 1.0, 90.0, Any);
    fires(Fault, 1.5, "DC01", 3.0, 90.0, Any);
    // Stainless steel t (guideline sheet of a manufacturing service, seen).
    fires(Fault, 1.5, "1.4301", 1.5, 90.0, Any);
    // EN 485-2, 5754 H22 over 1.5 mm to 3 mm: 1.5 t at 90°, 2 t at 180° (seen).
    fires(Fault, 3.0, "EN AW-5754 H22", 2.0, 90.0, Any);
    fires(Fault, 4.0, "EN AW-5754 H22", 2.0, 100.0, Any);
    // DIN 6935 (seen), Rm up to 390, over 1 mm to 1.5 mm: 1.6 mm across the grain, else the row over 1.5 mm: 2.5 mm.
    // The bend runs along x.
    fires(Warning, 1.6, "DC01", 1.5, 90.0, Y);
    fires(Warning, 2.5, "DC01", 1.5, 90.0, X);
    fires(Warning, 2.5, "DC01", 1.5, 90.0, Any);
    fires(Warning, 2.5, "DC01", 1.5, 130.0, Y);
    // S355J2 below 3 mm: Rm from 510, over 1.5 mm to 2.5 mm: 4 mm, the next row 5 mm.
    fires(Warning, 4.0, "S355J2", 2.0, 90.0, Y);
    fires(Warning, 5.0, "S355J2", 2.0, 90.0, X);
}

#[test]
fn inside_radius_of_a_shop_takes_the_place_of_the_tables() {
    let part = |off: f64| {
        with_limit(
            bent("DC01", 1.5, 0.6 + off, 90.0, GrainSpec::Any),
            "inside_radius",
            ShopValue::Number(0.4),
        )
    };
    fires_below("check::inside_radius", Severity::Fault, 0.6, part);
    assert_eq!(found("check::inside_radius", &part(0.0)), []);
}

#[test]
fn many_bends_with_one_radius_are_one_finding() {
    let walls = flange(&["plate/front", "plate/right", "plate/back", "plate/left"], 90.0, 30.0);
    let part = history(1.5, 0.5, 0.44, vec![plate(100.0, 80.0), entry("wall", Feature::Flange(walls))]);
    let findings = found("check::inside_radius", &part);
    assert_eq!((findings.len(), findings[0].measure.as_ref().unwrap().places), (1, 4));
    assert!(findings[0].message.contains("`wall.left`") || findings[0].message.contains("1 more"));
}

/// A hem on the tip of a wall of 1.5 mm.
fn hem_on_wall(length: f64, form: HemForm) -> History {
    let end = || FlangeEnd { inset: n(0.0), taper: n(0.0) };
    let edges = vec![EdgeName::new("wall/tip").expect("well formed")];
    let hem = Hem::from(HemSpec { edges, form, side: FoldSide::Up, left: end(), right: end() });
    let features = vec![
        plate(100.0, 80.0),
        entry("wall", Feature::Flange(flange(&["plate/front"], 90.0, length))),
        entry("hem", Feature::Hem(hem)),
    ];
    history(1.5, 1.5, 0.4, features)
}

#[test]
fn hem_return_is_six_thicknesses_pressed_flat_and_four_open() {
    // 6 · 1.5 = 9 mm (forming guideline of a fabrication service, seen), 4 · 1.5 = 6 mm (common practice, no
    // source).
    let check = "check::hem_return";
    let closed = |length: f64| hem_on_wall(60.0, HemForm::Closed { length: n(length), k_factor: None });
    let finding = fires_below(check, Severity::Fault, 9.0, |off| closed(9.0 + off));
    assert!(finding.message.starts_with("hem `hem`, pressed flat, is 9.00 mm long over its bend"));
    let open = |length: f64, gap: f64| hem_on_wall(60.0, HemForm::Open { length: n(length), gap: n(gap) });
    for gap in [0.2, 1.5, 3.0] {
        fires_below(check, Severity::Fault, 6.0, |off| open(6.0 + off, gap));
    }
    assert_eq!(found(check, &hem_on_wall(60.0, HemForm::Rolled { diameter: n(4.0), turn: n(270.0) })), []);
    let shop = |off: f64| with_limit(closed(7.5 + off), "closed_hem", ShopValue::Number(5.0));
    fires_below(check, Severity::Fault, 7.5, shop);
}

#[test]
fn hem_size_is_a_gap_of_one_thickness_and_a_roll_of_two() {
    let check = "check::hem_size";
    // Inside diameter t (forming guideline, seen).
    let open = |gap: f64| hem_on_wall(60.0, HemForm::Open { length: n(12.0), gap: n(gap) });
    fires_below(check, Severity::Warning, 1.5, |off| open(1.5 + off));
    // Outside radius 2 t = 3 (sheet metal design guidelines, curls, seen): inside diameter 2 (3 − 1.5).
    let rolled = |diameter: f64| hem_on_wall(60.0, HemForm::Rolled { diameter: n(diameter), turn: n(270.0) });
    fires_below(check, Severity::Warning, 3.0, |off| rolled(3.0 + 2.0 * off));
    // A closed one has no gap.
    assert_eq!(found(check, &hem_on_wall(60.0, HemForm::Closed { length: n(12.0), k_factor: None })), []);
}

#[test]
fn hem_near_bend_is_five_thicknesses_and_both_radii_away() {
    // 5 · 1.5 + 1.5 + 1 = 10 from the outside of the hem to the inside of the bend (hem spacing note, seen). The
    // wall is longer by the thickness, from the outside of the bend.
    let part = |off: f64| hem_on_wall(11.5 + off, HemForm::Open { length: n(7.0), gap: n(2.0) });
    fires_below("check::hem_near_bend", Severity::Warning, 10.0, part);
    let shop = |off: f64| with_limit(part(1.5 + off), "hem_to_bend", ShopValue::Number(6.0));
    fires_below("check::hem_near_bend", Severity::Warning, 11.5, shop);
}

fn bump(name: &str, diameter: f64, height: f64, place: [f64; 2]) -> FeatureEntry {
    entry(
        name,
        Feature::Bump(Bump {
            panel: parts::panel("plate"),
            profile: circle(diameter),
            pattern: at(&[place]),
            x_from: XFrom::Left,
            height: n(height),
            side: BumpSide::In,
            draft: n(45.0),
            punch_radius: None,
            die_radius: None,
            corner_radius: None,
        }),
    )
}

/// Radius of the foot of a bump of this diameter and height.
fn foot_radius(diameter: f64, height: f64) -> f64 {
    let part = history(1.0, 2.0, 0.4, vec![plate(300.0, 300.0), bump("b", diameter, height, [150.0, 150.0])]);
    let part = regenerate(&part).expect("a bump in the middle of a plate can be made");
    0.5 * part.tree.forms()[0].bounding_box().width()
}

#[test]
fn bump_spacing_keeps_from_bends_edges_openings_and_other_bumps() {
    let check = "check::bump_spacing";
    let foot = foot_radius(20.0, 2.0);
    let mut wall = flange(&["plate/front"], 90.0, 30.0);
    wall.holds = HeldFace::BendStart;
    let with = |place: [f64; 2], more: Vec<FeatureEntry>| {
        let first = [
            plate(100.0, 80.0),
            entry("wall", Feature::Flange(wall.clone())),
            bump("bump", 20.0, 2.0, place),
        ];
        history(1.0, 2.0, 0.4, first.into_iter().chain(more).collect())
    };
    // Bend 3 t (common practice, no source), edge 4 t, opening 3 t (guidelines, seen), bump 4 t (from memory); t 1.
    fires_below(check, Severity::Warning, 3.0, |off| with([50.0, foot + 3.0 + off], vec![]));
    fires_below(check, Severity::Warning, 4.0, |off| with([foot + 4.0 + off, 40.0], vec![]));
    let hole =
        |off: f64| with([40.0, 40.0], vec![cut("hole", circle(6.0), &[[40.0 + foot + 6.0 + off, 40.0]])]);
    fires_below(check, Severity::Warning, 3.0, hole);
    let other =
        |off: f64| with([30.0, 40.0], vec![bump("other", 20.0, 2.0, [30.0 + 2.0 * foot + 4.0 + off, 40.0])]);
    fires_below(check, Severity::Warning, 4.0, other);
    // An opening in the flat top is not beside the bump.
    assert_eq!(found(check, &with([40.0, 40.0], vec![cut("hole", circle(6.0), &[[40.0, 40.0]])])), []);
    for (name, place) in [("bump_to_bend", [50.0, foot + 5.0]), ("bump_to_edge", [foot + 5.0, 40.0])] {
        let part = |off: f64| {
            let mut history = with(place, vec![]);
            if let Feature::Bump(bump) = &mut history.features[2].feature {
                let shift = |number: &Number| n(number.evaluate::<f64>(&[]) + off);
                let Pattern::At(places) = &bump.pattern else { panic!() };
                bump.pattern = Pattern::At(places.iter().map(|p| [shift(&p[0]), shift(&p[1])]).collect());
            }
            with_limit(history, name, ShopValue::Number(5.0))
        };
        fires_below(check, Severity::Warning, 5.0, part);
    }
}

#[test]
fn bump_height_is_three_thicknesses() {
    // Common practice, no source.
    let part = |off: f64| {
        history(1.0, 2.0, 0.4, vec![plate(100.0, 80.0), bump("bump", 20.0, 3.0 - off, [50.0, 40.0])])
    };
    fires_below("check::bump_height", Severity::Warning, 3.0, part);
    let shop = |off: f64| with_limit(part(1.0 + off), "bump_height", ShopValue::Number(2.0));
    fires_below("check::bump_height", Severity::Warning, 2.0, shop);
}

#[test]
fn findings_about_many_panels_of_one_feature_are_one() {
    let walls = flange(&["plate/front", "plate/back"], 90.0, 5.0);
    let part = history(1.5, 1.5, 0.4, vec![plate(100.0, 80.0), entry("wall", Feature::Flange(walls))]);
    let findings = found("check::minimum_flange", &part);
    let [finding] = findings.as_slice() else { panic!("{findings:?}") };
    assert_eq!(finding.measure.as_ref().unwrap().places, 2);
    assert!(finding.message.ends_with("; 1 more of `wall` alike"), "{}", finding.message);
}

/// A plate of 100 x 60 mm whose back edge has notches of this width at 30 mm, and so much sheet between them.
fn notched(thickness: f64, notch: f64, tab: f64) -> History {
    let (a, b) = (30.0 + notch, 30.0 + notch + tab);
    let corners = [
        [0.0, 0.0],
        [100.0, 0.0],
        [100.0, 60.0],
        [b + notch, 60.0],
        [b + notch, 40.0],
        [b, 40.0],
        [b, 60.0],
        [a, 60.0],
        [a, 40.0],
        [30.0, 40.0],
        [30.0, 60.0],
        [0.0, 60.0],
    ];
    let edges = (0..corners.len()).map(|index| parts::line(&format!("e{index}"))).collect();
    history(thickness, 2.0, 0.4, vec![base("plate", parts::outline(&corners, edges))])
}

#[test]
fn narrow_tab_is_two_thicknesses_wide() {
    // 2 t, at least 3.2 mm (common practice, no source).
    let check = "check::narrow_tab";
    fires_below(check, Severity::Warning, 4.0, |off| notched(2.0, 8.0, 4.0 + off));
    fires_below(check, Severity::Warning, 3.2, |off| notched(1.0, 8.0, 3.2 + off));
    let shop = |off: f64| with_limit(notched(2.0, 8.0, 6.0 + off), "tab_width", ShopValue::Number(3.0));
    fires_below(check, Severity::Warning, 6.0, shop);
}

#[test]
fn narrow_notch_is_as_wide_as_the_sheet_is_thick() {
    // 1 t, at least 1 mm (common practice, no source).
    let check = "check::narrow_notch";
    let finding = fires_below(check, Severity::Warning, 2.0, |off| notched(2.0, 2.0 + off, 20.0));
    assert_eq!(finding.measure.unwrap().places, 2);
    fires_below(check, Severity::Warning, 1.0, |off| notched(0.5, 1.0 + off, 20.0));
    let shop =
        |off: f64| with_limit(notched(0.5, 1.5 + off, 20.0), "notch_width_floor", ShopValue::Number(1.5));
    fires_below(check, Severity::Warning, 1.5, shop);
}

#[test]
fn sheet_size_lets_the_blank_lie_either_way_unless_the_grain_is_said() {
    // 2000 x 4000 mm less a rim of 10 mm all round (common practice, no source).
    let part = |width: f64, height: f64, grain| {
        let mut history = history(1.5, 1.5, 0.4, vec![plate(width, height)]);
        history.sheet.grain = grain;
        history
    };
    use GrainSpec::{Any, X, Y};
    let check = "check::sheet_size";
    fires_below(check, Severity::Fault, 4000.0, |off| part(3980.0 - off, 1000.0, Any));
    fires_below(check, Severity::Fault, 4000.0, |off| part(1000.0, 3980.0 - off, Any));
    fires_below(check, Severity::Fault, 2000.0, |off| part(1980.0 - off, 3980.0, Any));
    fires_below(check, Severity::Fault, 4000.0, |off| part(3980.0 - off, 1980.0, X));
    fires_below(check, Severity::Fault, 2000.0, |off| part(1980.0 - off, 3980.0, Y));
    assert_eq!(found(check, &part(3980.0, 1980.0, Y)).len(), 1);
    assert_eq!(found(check, &part(3980.0, 1980.0, Any)), []);
    let shop = |off: f64| {
        let part =
            with_limit(part(600.0 - off, 300.0, Any), "sheets", ShopValue::Pairs(vec![[500.0, 602.0]]));
        with_limit(part, "sheet_margin", ShopValue::Number(1.0))
    };
    fires_below(check, Severity::Fault, 602.0, shop);
    // The sheet that was chosen stands in the place of all others, smaller or larger, whichever side is called first.
    let chosen = |size: [f64; 2], off: f64| {
        let mut part = part(size[0] - 20.0 - off, size[1] - 20.0, Any);
        part.stock_sheet = Some(StockSheetSpec { size: StockSizeSpec::Mm(size), gap: 5.0, span: None });
        part
    };
    fires_below(check, Severity::Fault, 700.0, |off| chosen([700.0, 500.0], off));
    fires_below(check, Severity::Fault, 500.0, |off| chosen([500.0, 700.0], off));
    fires_below(check, Severity::Fault, 6000.0, |off| chosen([6000.0, 2500.0], off));
}

#[test]
fn brake_length_is_that_of_the_longest_bend() {
    let part = |length: f64| {
        let walls = flange(&["plate/front", "plate/left"], 90.0, 30.0);
        history(1.5, 1.5, 0.4, vec![plate(length, 80.0), entry("wall", Feature::Flange(walls))])
    };
    // The bend stops at the corner relief of t + r = 3 mm and the setback of 3 mm: that much shorter than the edge.
    let shorter = {
        let made = regenerate(&part(1000.0)).unwrap();
        1000.0 - made.tree.bends().iter().map(|bend| bend.length()).fold(0.0, f64::max)
    };
    let check = "check::brake_length";
    // Common practice, no source.
    fires_below(check, Severity::Fault, 3000.0, |off| part(3000.0 + shorter - off));
    let shop = |off: f64| with_limit(part(2500.0 + shorter - off), "brake_length", ShopValue::Number(2500.0));
    fires_below(check, Severity::Fault, 2500.0, shop);
}

#[test]
fn sharp_corners_are_one_note() {
    // A gable of this angle, all other corners with a chamfer. Common practice, no source.
    let check = "check::sharp_corner";
    let house = |angle: f64| {
        let half = 0.5 * angle * maths::PI / 180.0;
        let rise = 50.0 * maths::cos(half) / maths::sin(half);
        let names = ["front", "right", "roof_right", "roof_left", "left"];
        let corners = [[0.0, 0.0], [100.0, 0.0], [100.0, 60.0], [50.0, 60.0 + rise], [0.0, 60.0]];
        let plate = base("plate", outline(&corners, names.map(parts::line).into()));
        let corner = |side: usize| CornerName {
            panel: parts::panel("plate"),
            between: [names[side], names[(side + 1) % 5]].map(str::to_owned),
        };
        let breaks = CornerBreak {
            corners: Corners::Named((0..5).filter(|side| *side != 2).map(corner).collect()),
            shape: BreakShape::Chamfer(n(5.0)),
        };
        history(1.5, 1.5, 0.4, vec![plate, entry("breaks", Feature::CornerBreak(breaks))])
    };
    fires_below(check, Severity::Note, 120.0, |off| house(120.0 + off));
    let shop = |off: f64| with_limit(house(100.0 + off), "sharp_corner", ShopValue::Number(100.0));
    fires_below(check, Severity::Note, 100.0, shop);
    let findings = found(check, &history(1.5, 1.5, 0.4, vec![plate(100.0, 80.0)]));
    assert_eq!((findings.len(), findings[0].measure.as_ref().unwrap().places), (1, 4));
    assert!(findings[0].message.contains("and 1 more"), "{}", findings[0].message);
}

/// A case of the table below: the limit that a family says and its value, the check that goes by it and how hard, the
/// limit in mm, and a part as far beside it.
type Said = (&'static str, f64, &'static str, Severity, f64, fn(f64) -> History);

/// A plate of this thickness with a round relief of this width and depth past the start of the bend, r 1.5.
fn relieved(thickness: f64, width: f64, depth: f64) -> History {
    let mut wall = flange(&["plate/front"], 90.0, 30.0);
    (wall.left.inset, wall.right.inset) = (n(20.0), n(20.0));
    wall.relief = Relief::Round(NotchSize { width: Some(n(width)), depth: Some(n(depth)) });
    history(thickness, 1.5, 0.44, vec![plate(100.0, 80.0), entry("wall", Feature::Flange(wall))])
}

/// A plate of this thickness with a round hole of 10 mm so far from its left edge.
fn beside_edge(thickness: f64, gap: f64) -> History {
    let hole = cut("opening", circle(10.0), &[[5.0 + gap, 40.0]]);
    history(thickness, 2.0, 0.4, vec![plate(100.0, 80.0), hole])
}

/// A bump of 20 mm on 1 mm sheet, this far from a hole of 6 mm or from another bump.
fn bump_beside(gap: f64, hole: bool) -> History {
    let foot = foot_radius(20.0, 2.0);
    let other = if hole {
        cut("hole", circle(6.0), &[[30.0 + foot + 3.0 + gap, 40.0]])
    } else {
        bump("other", 20.0, 2.0, [30.0 + 2.0 * foot + gap, 40.0])
    };
    history(1.0, 2.0, 0.4, vec![plate(100.0, 80.0), bump("bump", 20.0, 2.0, [30.0, 40.0]), other])
}

#[test]
fn limits_that_a_family_says_take_the_place_of_the_usual_ones() {
    use Severity::{Fault, Warning};
    let cases: &[Said] = &[
        ("slot_to_bend", 5.0, HOLE_NEAR_BEND, Warning, 10.0, |off| {
            let slot = Shape::Outline(Profile::rectangle(&n(30.0), &n(10.0)));
            beside_bend(2.0, slot, &[[30.0, 10.0 + off]])
        }),
        ("hole_to_edge_floor", 3.0, "check::hole_near_edge", Warning, 3.0, |off| beside_edge(0.5, 3.0 + off)),
        ("hole_width_floor", 2.5, "check::small_hole", Warning, 2.5, |off| {
            history(0.5, 2.0, 0.4, vec![plate(100.0, 80.0), cut("hole", circle(2.5 + off), &[[30.0, 40.0]])])
        }),
        ("tab_width_floor", 5.0, "check::narrow_tab", Warning, 5.0, |off| notched(1.0, 8.0, 5.0 + off)),
        ("notch_width", 2.0, "check::narrow_notch", Warning, 4.0, |off| notched(2.0, 4.0 + off, 20.0)),
        ("relief_width", 2.0, "check::relief_size", Warning, 3.0, |off| relieved(1.5, 3.0 + off, 5.0)),
        ("relief_width_floor", 1.2, "check::relief_size", Warning, 1.2, |off| relieved(0.5, 1.2 + off, 5.0)),
        ("bump_to_hole", 5.0, "check::bump_spacing", Warning, 5.0, |off| bump_beside(5.0 + off, true)),
        ("bump_to_bump", 6.0, "check::bump_spacing", Warning, 6.0, |off| bump_beside(6.0 + off, false)),
        ("open_hem", 5.0, "check::hem_return", Fault, 7.5, |off| {
            hem_on_wall(60.0, HemForm::Open { length: n(7.5 + off), gap: n(2.0) })
        }),
        ("hem_gap", 2.0, "check::hem_size", Warning, 3.0, |off| {
            hem_on_wall(60.0, HemForm::Open { length: n(12.0), gap: n(3.0 + off) })
        }),
        // Outside radius 3 t = 4.5: inside diameter 6.
        ("curl_radius", 3.0, "check::hem_size", Warning, 4.5, |off| {
            hem_on_wall(60.0, HemForm::Rolled { diameter: n(6.0 + 2.0 * off), turn: n(270.0) })
        }),
    ];
    for &(name, value, code, severity, limit, part) in cases {
        let said = |off: f64| with_limit(part(off), name, ShopValue::Number(value));
        let finding = fires_below(code, severity, limit, said);
        assert!(finding.message.contains("said by the family"), "{name}: {}", finding.message);
    }
    // V 7 · 3 = 21: the next die is V 25, 0.7 · 25.
    fires_below(MINIMUM_FLANGE, Severity::Warning, 17.5, |off| {
        with_limit(wall(17.5 + off, 90.0, 3.0), "v_by_radius", ShopValue::Number(7.0))
    });
    // V 9 · 1.5 = 13.5: the next die is V 14.
    let rows = ShopValue::Pairs(vec![[3.0, 9.0]]);
    fires_below(MINIMUM_FLANGE, Severity::Fault, 9.8, |off| {
        with_limit(wall(9.8 + off, 90.0, 1.5), "v_by_thickness", rows.clone())
    });
}

#[test]
fn neighbour_too_near_below_the_clearance_that_was_asked_for() {
    // The plate's inner face lies at z = 0. What is held may be off by a millionth, and the finding is its own.
    let check = "check::neighbour_too_near";
    let part = |above: f64| {
        let stand = Stand { at: [50.0, 40.0, above], along: [0.0, 0.0, 1.0], across: None };
        let mut part = history(1.5, 1.5, 0.4, vec![plate(100.0, 80.0)]);
        part.neighbours.push(NeighbourEntry {
            name: "housing".to_owned(),
            kind: NeighbourSpec::Block { stand, size: [20.0; 3] },
            clearance: Some(5.0),
            hazard: None,
            bolted: false,
            travel: None,
            turning: None,
            span: None,
        });
        part
    };
    for above in [5.0 + BESIDE, 5.0, 5.0 - 0.9 * tolerance::HELD_MM] {
        assert_eq!(found(check, &part(above)), [], "{above}");
    }
    for above in [5.0 - 1.1 * tolerance::HELD_MM, 4.0, 0.0, -0.5] {
        let findings = found(check, &part(above));
        let [finding] = findings.as_slice() else { panic!("{findings:?}") };
        let measure = finding.measure.as_ref().unwrap();
        assert_eq!((finding.severity, measure.limit), (Severity::Fault, 5.0));
        assert!((measure.got - above).abs() < 1e-9, "{measure:?}");
    }
}

#[test]
fn folded_into_itself_from_a_hundredth_of_a_millimetre_on() {
    // A wall of 30 mm with a lip that reaches over to the opposite wall, whose inner face is 101 mm from the outer face
    // of the first one. Zones that reach into each other by 0.01 mm only touch.
    let part = |length: f64| {
        let wall = |edge: &str, high: f64| {
            let mut wall = flange(&[edge], 90.0, high);
            wall.holds = HeldFace::Inner;
            Feature::Flange(wall)
        };
        let mut lip = flange(&["low/tip"], 90.0, length);
        lip.length_from = LengthFrom::Outside;
        let features = vec![
            plate(100.0, 60.0),
            entry("high", wall("plate/right", 40.0)),
            entry("low", wall("plate/left", 30.0)),
            entry("lip", Feature::Flange(lip)),
        ];
        history(1.0, 1.0, 0.4, features)
    };
    let (check, touching) = ("check::folded_into_itself", 101.0 + 0.01);
    for length in [101.0, touching - 1e-4] {
        assert_eq!(found(check, &part(length)), [], "{length}");
    }
    for length in [touching + 1e-3, 103.0] {
        let findings = found(check, &part(length));
        let [finding] = findings.as_slice() else { panic!("{length}: {findings:?}") };
        assert_eq!(finding.severity, Severity::Fault);
        for name in ["high", "lip"] {
            assert!(finding.origins.iter().any(|origin| origin.name == name), "{finding:?}");
        }
    }
}

#[test]
fn bump_strain_from_the_elongation_of_the_standard_on() {
    // DC01 bears 28 % at least (EN 10130, as in the table of materials).
    let check = "check::bump_strain";
    let part = |height: f64| {
        history(1.0, 2.0, 0.4, vec![plate(200.0, 200.0), bump("bump", 80.0, height, [100.0, 100.0])])
    };
    let made = |height: f64| regenerate(&part(height)).unwrap();
    let strain = |height: f64| 100.0 * made(height).tree.forms()[0].section.elongation();
    let sheet = made(2.0).sheet;
    let limit = sheet.material.elongation_at(sheet.thickness).unwrap().value.least.unwrap();
    assert_eq!(limit, 28.0);
    // The height at which the wall is stretched by just so much.
    let (mut low, mut high) = (0.1, 30.0);
    for _ in 0..60 {
        let middle = 0.5 * (low + high);
        if strain(middle) < limit { low = middle } else { high = middle }
    }
    for height in [low - BESIDE, low] {
        assert_eq!(found(check, &part(height)), [], "{height}");
    }
    let findings = found(check, &part(high + BESIDE));
    let [finding] = findings.as_slice() else { panic!("{findings:?}") };
    assert_eq!(finding.severity, Severity::Warning);
    assert!(finding.message.contains("by about 28.0 %") && finding.message.contains("bears 28.0 %"));
}

/// A plate of this thickness whose K is fitted to strips of this one.
fn tested(sheet: f64, strips: f64) -> History {
    let strip = |flat: f64| TestStripSpec {
        legs: vec![40.0, 60.0],
        turn: 90.0,
        thickness: strips,
        inside_radius: 2.0,
        flat,
    };
    let mut part = history(sheet, 2.0, 0.4, vec![plate(100.0, 80.0)]);
    part.sheet.bend_rule = BendRuleSpec::TestStrips(TestStripsSpec {
        legs_from: LengthFrom::Outside,
        uncertainty: None,
        strips: [96.7, 96.66, 96.7].map(strip).to_vec(),
    });
    part
}

#[test]
fn strip_thickness_is_that_of_the_sheet_within_a_tenth() {
    let check = "check::strip_thickness";
    for (sheet, strips) in [(2.0, 2.0), (2.0, 2.2 - BESIDE), (2.2 - BESIDE, 2.0)] {
        assert_eq!(found(check, &tested(sheet, strips)), [], "{sheet} {strips}");
    }
    for (sheet, strips) in [(2.0, 2.2 + BESIDE), (2.2 + BESIDE, 2.0)] {
        let findings = found(check, &tested(sheet, strips));
        let [finding] = findings.as_slice() else { panic!("{findings:?}") };
        assert_eq!(finding.severity, Severity::Warning);
    }
}

#[test]
fn every_check_and_every_limit_of_the_shop_is_tried_here() {
    // Where the line between a good strip and one that is out lies is tried in `stock::strip_fit`.
    let elsewhere = ["check::strip_outlier"];
    let here = include_str!("checks.rs");
    for check in check::ALL.iter().filter(|check| !elsewhere.contains(&check.code)) {
        assert!(here.contains(&format!("\"{}\"", check.code)), "{}", check.code);
    }
    for info in LIMITS {
        assert!(here.contains(&format!("\"{}\"", info.name)), "{}", info.name);
    }
}

#[test]
fn findings_stand_faults_first_and_none_comes_by_the_thousand() {
    // 400 holes that touch neither each other nor anything, all too near to each other and too small.
    let grid = Pattern::Grid {
        from: [n(10.0), n(10.0)],
        columns: 20,
        rows: 20,
        column_pitch: n(2.0),
        row_pitch: n(2.0),
        staggered: false,
    };
    let holes: Cutout = cutout("plate", circle(1.4), grid);
    let features = vec![
        plate(60.0, 60.0),
        entry("lip", Feature::Flange(flange(&["plate/front"], 90.0, 6.0))),
        entry("holes", Feature::Cutout(holes)),
    ];
    let part = regenerate(&history(1.5, 1.5, 0.4, features)).unwrap();
    let kinds: Vec<_> =
        part.findings.iter().map(|f| (f.severity.word(), f.code.trim_start_matches("check::"))).collect();
    assert_eq!(
        kinds,
        [
            ("fault", "minimum_flange"),
            ("warning", "inside_radius"),
            ("warning", "holes_too_close"),
            ("warning", "small_hole"),
            ("note", "sharp_corner")
        ]
    );
    let places: Vec<_> = part.findings.iter().map(|f| f.measure.as_ref().unwrap().places).collect();
    // 2 · 19 · 20 webs of 0.6 mm and 2 · 19 · 19 of 2√2 − 1.4 = 1.43 mm aslant, below 1.8; 400 holes, four corners.
    assert_eq!(places, [1, 1, 760 + 722, 400, 4]);
}
