//! Openings of folded covers judged against hazards: reach by hand, every row of the tables at its limits, and laws.

#![allow(clippy::unwrap_used, reason = "a check stops at the first surprise, in its helping functions too")]

#[allow(dead_code, reason = "tests and benches use different parts")]
#[path = "../benches/parts.rs"]
mod parts;

use kernel::diag::Severity;
use kernel::guard::{Against, Guarded, Judged, OpeningKind, Way};
use kernel::guarding::{LOWER_LIMBS, Outcome, POINT_OF_OPERATION, UPPER_LIMBS};
use kernel::history::feature::{Feature, FeatureEntry, Pattern};
use kernel::history::{
    GuardingRisk, GuardingRule, GuardingSpec, History, NeighbourEntry, NeighbourSpec, Profile, Shape, Stand,
};
use kernel::regenerate::{Part, regenerate};
use parts::{base, cutout, entry, flange, history, n};
use proptest::prelude::*;

/// Beside a limit, in mm.
const BESIDE: f64 = 1e-3;

fn guarding(rule: GuardingRule) -> Option<GuardingSpec> {
    Some(GuardingSpec { rule, risk: GuardingRisk::High, floor: None, up: None, span: None })
}

fn neighbour(name: &str, kind: NeighbourSpec, hazard: bool) -> NeighbourEntry {
    NeighbourEntry {
        name: name.to_owned(),
        kind,
        clearance: None,
        hazard: Some(hazard),
        bolted: false,
        travel: None,
        turning: None,
        span: None,
    }
}

/// A block along the axes between two corners.
fn block(name: &str, low: [f64; 3], high: [f64; 3], hazard: bool) -> NeighbourEntry {
    let size = [0, 1, 2].map(|i| high[i] - low[i]);
    let at = [0.5 * (low[0] + high[0]), 0.5 * (low[1] + high[1]), low[2]];
    let stand = Stand { at, along: [0.0, 0.0, 1.0], across: Some([1.0, 0.0, 0.0]) };
    neighbour(name, NeighbourSpec::Block { stand, size }, hazard)
}

/// A flat sheet of 600 by 600 and 2 mm with one opening in its middle.
fn sheet(shape: Shape) -> Vec<FeatureEntry> {
    let at = Pattern::At(vec![[n(300.0), n(300.0)]]);
    vec![
        base("plate", Profile::rectangle(&n(600.0), &n(600.0))),
        entry("vent", Feature::Cutout(cutout("plate", shape, at))),
    ]
}

/// A box of sheet 1 mm, walls all around: inside `width` by `depth` from (1, 1), tips 60 mm over the floor.
fn tray(width: f64, depth: f64) -> Vec<FeatureEntry> {
    let walls = flange(&["floor/front", "floor/right", "floor/back", "floor/left"], 90.0, 61.0);
    vec![
        base("floor", Profile::rectangle(&n(width + 2.0), &n(depth + 2.0))),
        entry("wall", Feature::Flange(walls)),
    ]
}

fn among(rule: GuardingRule, features: Vec<FeatureEntry>, neighbours: Vec<NeighbourEntry>) -> History {
    History { neighbours, guarding: guarding(rule), ..history(1.0, 1.0, 0.42, features) }
}

fn made(rule: GuardingRule, features: Vec<FeatureEntry>, neighbours: Vec<NeighbourEntry>) -> Part {
    regenerate(&among(rule, features, neighbours)).unwrap()
}

fn guarded(part: &Part) -> &Guarded {
    part.guarded.as_ref().unwrap()
}

#[track_caller]
fn only(part: &Part, kind: OpeningKind) -> &Judged {
    let all: Vec<&Judged> = guarded(part).openings.iter().filter(|j| j.opening.kind == kind).collect();
    let [one] = all[..] else { panic!("{} openings of that kind", all.len()) };
    one
}

#[track_caller]
fn near(got: f64, wanted: f64) {
    assert!((got - wanted).abs() < 1e-6, "{got} against {wanted}");
}

fn codes(part: &Part) -> Vec<&'static str> {
    part.findings.iter().map(|f| f.code).filter(|code| code.starts_with("guard::")).collect()
}

#[test]
fn shaft_behind_a_hole_is_as_far_as_its_nearest_line() {
    // Axis 50 above the sheet, radius 10: 40 mm, whatever the hole.
    let shaft = |z: f64| NeighbourSpec::Shaft { from: [-50.0, 300.0, z], to: [700.0, 300.0, z], diameter: 20.0 };
    let hole = Shape::Circle { diameter: n(9.0) };
    let part = made(GuardingRule::Iso13857, sheet(hole.clone()), vec![neighbour("shaft", shaft(50.0), true)]);
    let found = &only(&part, OpeningKind::Hole).against[0];
    near(found.reach.distance, 40.0);
    assert_eq!((found.reach.way, found.outcome()), (Way::Free, Outcome::Passes));
    near(found.margin().unwrap(), 20.0);
    // Beside the hole: axis 30 over it and 40 aside; the rim is 4.5 nearer: hypot(35.5, 30) − 10.
    let beside = NeighbourSpec::Shaft { from: [-50.0, 340.0, 30.0], to: [700.0, 340.0, 30.0], diameter: 20.0 };
    let part = made(GuardingRule::Iso13857, sheet(hole.clone()), vec![neighbour("shaft", beside, true)]);
    near(only(&part, OpeningKind::Hole).against[0].reach.distance, 35.5_f64.hypot(30.0) - 10.0);
    // On the other side the outer face counts, 1 mm lower.
    let part = made(GuardingRule::Iso13857, sheet(hole.clone()), vec![neighbour("shaft", shaft(-50.0), true)]);
    near(only(&part, OpeningKind::Hole).against[0].reach.distance, 39.0);
    // Through the hole.
    let upright = NeighbourSpec::Shaft { from: [300.0, 300.0, -20.0], to: [300.0, 300.0, 90.0], diameter: 8.0 };
    let part = made(GuardingRule::Iso13857, sheet(hole), vec![neighbour("shaft", upright, true)]);
    let found = &only(&part, OpeningKind::Hole).against[0];
    assert_eq!((found.reach.way, found.outcome()), (Way::Within, Outcome::Fails));
    near(found.reach.distance, 0.0);
}

#[test]
fn metal_in_the_way_is_told_and_the_straight_distance_kept() {
    // The hole's rim is at x = 300 + 5, the block begins 20 beyond the outer face of the right wall, at 622, level
    // with the floor up to half the wall: the straight way runs along the floor through the wall.
    let mut features = tray(600.0, 600.0);
    let at = Pattern::At(vec![[n(300.0), n(300.0)]]);
    features.push(entry("vent", Feature::Cutout(cutout("floor", Shape::Circle { diameter: n(10.0) }, at))));
    let aside = block("aside", [622.0, 200.0, 10.0], [700.0, 400.0, 30.0], true);
    let inside = block("inside", [340.0, 200.0, 10.0], [400.0, 400.0, 30.0], true);
    let part = made(GuardingRule::Iso13857, features, vec![aside, inside]);
    let [blocked, free] = &only(&part, OpeningKind::Hole).against[..] else { panic!("two hazards") };
    assert_eq!(blocked.reach.way, Way::Blocked);
    near(blocked.reach.distance, 317.0_f64.hypot(10.0));
    assert_eq!(free.reach.way, Way::Free);
    near(free.reach.distance, 35.0_f64.hypot(10.0));
    let outside: Vec<&str> = guarded(&part).outside.iter().map(|(name, _)| name.as_str()).collect();
    assert_eq!(outside, ["aside"]);
    // The block ends at 700, the wall's outer face is at 602.
    near(guarded(&part).outside[0].1, 98.0);
    assert!(codes(&part).contains(&"guard::hazard_outside"));
}

/// What the tables ask for in the tests: a distance in mm, or why there is none.
#[derive(Clone, Copy, Debug, PartialEq)]
enum Asked {
    Mm(f64),
    Not(Outcome),
}

/// Opening with a measure, seen by hazards at the distance, 0.001 mm nearer and 0.001 mm farther.
#[track_caller]
fn at_distance(what: &str, asked: Asked, part: impl Fn(&[f64]) -> Vec<Against>) {
    let near_to = |mm: f64| if mm > BESIDE { vec![mm - BESIDE, mm, mm + BESIDE] } else { vec![mm + BESIDE] };
    match asked {
        Asked::Mm(mm) => {
            let distances = near_to(mm);
            for (found, distance) in part(&distances).iter().zip(&distances) {
                near(found.reach.distance, *distance);
                near(found.verdict.needs().unwrap().to_mm(), mm);
                let wanted = if *distance < mm { Outcome::Fails } else { Outcome::Passes };
                assert_eq!(found.outcome(), wanted, "{what} at {distance}");
            }
        }
        Asked::Not(outcome) => assert_eq!(part(&[2000.0])[0].outcome(), outcome, "{what}"),
    }
}

/// Every limit of a column: largest measure of the row, what it asks for, and what the next row asks for.
type Limits = Vec<(f64, Asked, Asked)>;

fn limits(rows: &[(f64, Asked)], beyond: Outcome) -> Limits {
    let next = |i: usize| rows.get(i + 1).map_or(Asked::Not(beyond), |row| row.1);
    rows.iter().enumerate().map(|(i, (up_to, asked))| (*up_to, *asked, next(i))).collect()
}

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Column {
    Round,
    Square,
    Slot,
}

const COLUMNS: [Column; 3] = [Column::Round, Column::Square, Column::Slot];
const RULES: [GuardingRule; 3] =
    [GuardingRule::Iso13857, GuardingRule::Iso13857Legs, GuardingRule::Osha1910_217];

fn limits_of(rule: GuardingRule, column: Column) -> Limits {
    match rule {
        GuardingRule::Iso13857 => {
            let row = |row: &kernel::guarding::UpperLimbRow| {
                let mm = match column {
                    Column::Round => row.round_mm,
                    Column::Square => row.square_mm,
                    Column::Slot => row.slot_mm,
                };
                (row.up_to_mm, Asked::Mm(mm))
            };
            limits(&UPPER_LIMBS.iter().map(row).collect::<Vec<_>>(), Outcome::ByReachOver)
        }
        GuardingRule::Iso13857Legs => {
            let row = |row: &kernel::guarding::LowerLimbRow| {
                let asked = match (column, row.slot_mm) {
                    (Column::Slot, Some(mm)) => Asked::Mm(mm),
                    (Column::Slot, None) => Asked::Not(Outcome::NotCovered),
                    (Column::Round | Column::Square, _) => Asked::Mm(row.square_or_round_mm),
                };
                (row.up_to_mm, asked)
            };
            limits(&LOWER_LIMBS.iter().map(row).collect::<Vec<_>>(), Outcome::NotCovered)
        }
        GuardingRule::Osha1910_217 | GuardingRule::Osha1910_219 => {
            let rows: Vec<(f64, Asked)> = POINT_OF_OPERATION
                .iter()
                .map(|row| (25.4 * row.widest_in, Asked::Mm(25.4 * row.from_in)))
                .collect();
            limits(&rows, Outcome::NotCovered)
        }
    }
}

/// For every limit: just under it, at it, just over it.
fn each_limit(rule: GuardingRule, column: Column, beside: f64, judge: impl Fn(f64, Asked)) -> usize {
    let limits = limits_of(rule, column);
    for &(measure, asked, next) in &limits {
        judge(measure - beside, asked);
        judge(measure, asked);
        judge(measure + beside, next);
    }
    limits.len()
}

#[test]
fn holes_at_every_limit() {
    let mut count = 0;
    for rule in RULES {
        for column in COLUMNS {
            count += each_limit(rule, column, BESIDE, |measure, asked| {
                let shape = match column {
                    Column::Round => Shape::Circle { diameter: n(measure) },
                    Column::Square => Shape::Rectangle { width: n(measure), height: n(measure) },
                    Column::Slot => Shape::Slot { length: n(500.0), width: n(measure) },
                };
                at_distance(&format!("{column:?} of {measure} by {rule:?}"), asked, |distances| {
                    let blocks = distances.iter().enumerate().map(|(i, z)| {
                        block(&format!("block{i}"), [0.0, 0.0, *z], [600.0, 600.0, z + 10.0], true)
                    });
                    let part = made(rule, sheet(shape.clone()), blocks.collect());
                    only(&part, OpeningKind::Hole).against.clone()
                });
            });
        }
    }
    assert_eq!(count, 3 * (UPPER_LIMBS.len() + LOWER_LIMBS.len() + POINT_OF_OPERATION.len()));
}

/// Two walls that meet at a corner with this gap, 160 high.
fn corner(gap: f64) -> Vec<FeatureEntry> {
    let wall = |edge: &str| {
        let mut made = flange(&[edge], 90.0, 160.0);
        made.corner_gap = n(gap);
        Feature::Flange(made)
    };
    vec![
        base("plate", Profile::rectangle(&n(600.0), &n(600.0))),
        entry("front", wall("plate/front")),
        entry("side", wall("plate/right")),
    ]
}

#[test]
fn seam_gaps_at_every_limit() {
    for rule in RULES {
        // A slot that is 500 mm long in the other test is as long as the wall here, above what counts as short.
        let count = each_limit(rule, Column::Slot, BESIDE, |measure, asked| {
            if measure > 60.0 {
                return;
            }
            at_distance(&format!("seam of {measure} by {rule:?}"), asked, |distances| {
                // Blocks that look along x at the side of the front wall, where the seam begins.
                let from = |x: f64| block("block", [x - 10.0, -300.0, -300.0], [x, 900.0, 900.0], true);
                let empty = made(rule, corner(measure), Vec::new());
                let rim = only(&empty, OpeningKind::Seam).opening.outline(0);
                let begins = rim.iter().map(|p| p.x).fold(f64::INFINITY, f64::min);
                let blocks = distances.iter().enumerate().map(|(i, distance)| NeighbourEntry {
                    name: format!("block{i}"),
                    ..from(begins - distance)
                });
                let part = made(rule, corner(measure), blocks.collect());
                only(&part, OpeningKind::Seam).against.clone()
            });
        });
        assert!(count >= 8);
    }
}

#[test]
fn open_sides_at_every_limit() {
    for rule in RULES {
        // The rim of an open side is known to rounding, a little above what counts as at a limit.
        each_limit(rule, Column::Slot, 10.0 * BESIDE, |measure, asked| {
            if measure < 15.0 || (measure - 180.0).abs() < 1.0 || measure > 230.0 {
                return;
            }
            let width = measure - 1e-6;
            at_distance(&format!("open side of {width} by {rule:?}"), asked, |distances| {
                let blocks = distances.iter().enumerate().map(|(i, distance)| {
                    let z = 60.0 + distance;
                    block(&format!("block{i}"), [-9.0, -9.0, z], [600.0, 400.0, z + 10.0], true)
                });
                let part = made(rule, tray(500.0, width), blocks.collect());
                only(&part, OpeningKind::OpenSide).against.clone()
            });
        });
    }
}

#[test]
fn gaps_to_a_mounting_plate_at_every_limit() {
    for rule in RULES {
        each_limit(rule, Column::Slot, BESIDE, |measure, asked| {
            let Asked::Mm(mm) = asked else { return };
            if mm <= BESIDE || measure > 60.0 {
                return;
            }
            at_distance(&format!("gap of {measure} by {rule:?}"), asked, |distances| {
                distances
                    .iter()
                    .map(|distance| {
                        // A block in the middle of a square box, so far from the walls all around.
                        let inside = 2.0 * distance + 20.0;
                        let (low, high) = (1.0 + distance, 21.0 + distance);
                        let hazard = block("block", [low, low, 5.0], [high, high, 60.0 + measure - 0.5], true);
                        let far = inside + 100.0;
                        let frame = block(
                            "frame",
                            [-100.0, -100.0, 60.0 + measure],
                            [far, far, 70.0 + measure],
                            false,
                        );
                        let part = made(rule, tray(inside, inside), vec![hazard, frame]);
                        let side = only(&part, OpeningKind::OpenSide);
                        let closing = side.closing.as_ref().unwrap();
                        near(closing.gap, measure);
                        assert_eq!(closing.neighbour, "frame");
                        side.against[0].clone()
                    })
                    .collect()
            });
        });
    }
}

#[test]
fn plate_that_touches_the_rim_closes_the_side_and_one_that_leaves_a_corner_free_does_not() {
    let hazard = || block("block", [50.0, 50.0, 10.0], [80.0, 80.0, 40.0], true);
    let on = |to: f64| block("frame", [-10.0, -10.0, 60.0], [to, 150.0, 70.0], false);
    let part = made(GuardingRule::Iso13857, tray(130.0, 130.0), vec![hazard(), on(150.0)]);
    let side = only(&part, OpeningKind::OpenSide);
    assert!(side.closing.as_ref().unwrap().is_closed() && side.against.is_empty());
    // It ends 31 mm short of the inner face of the right wall, at 131.
    let part = made(GuardingRule::Iso13857, tray(130.0, 130.0), vec![hazard(), on(100.0)]);
    let side = only(&part, OpeningKind::OpenSide);
    near(side.closing.as_ref().unwrap().gap, 31.0);
    // A plate that covers nothing but a strip: the side stays open.
    let part = made(GuardingRule::Iso13857, tray(130.0, 130.0), vec![hazard(), on(-5.0)]);
    let side = only(&part, OpeningKind::OpenSide);
    assert_eq!(side.closing, None);
    // What moves or hurts closes nothing.
    let mut moving = on(150.0);
    moving.travel = Some([0.0, 0.0, 80.0]);
    let part = made(GuardingRule::Iso13857, tray(130.0, 130.0), vec![hazard(), moving]);
    assert_eq!(only(&part, OpeningKind::OpenSide).closing, None);
}

#[test]
fn side_too_large_for_the_table_goes_by_reaching_over_its_edge() {
    // Heights over the floor: edge 60 + 1140 = 1200, hazard from 1150 to 1180, below the opening: 0 mm across.
    let hazard = || block("block", [50.0, 50.0, 10.0], [80.0, 80.0, 40.0], true);
    let mut asked = among(GuardingRule::Iso13857, tray(130.0, 130.0), vec![hazard()]);
    let part = regenerate(&asked).unwrap();
    assert!(codes(&part).contains(&"guard::floor_unknown"), "{:?}", codes(&part));
    asked.guarding.as_mut().unwrap().floor = Some(-1140.0);
    let part = regenerate(&asked).unwrap();
    let over = only(&part, OpeningKind::OpenSide).against[0].over.clone().unwrap();
    near(over.barrier, 1200.0);
    assert_eq!(over.said.outcome, Outcome::Fails);
    near(over.said.got.to_mm(), 0.0);
    // High risk, barrier 1200: hazards at 1200 and at 1000 both ask for 1400 mm.
    near(over.said.needs.unwrap().to_mm(), 1400.0);
    assert!(codes(&part).contains(&"guard::reach_over"));
    // Low risk: 1000 mm.
    asked.guarding.as_mut().unwrap().risk = GuardingRisk::Low;
    let part = regenerate(&asked).unwrap();
    let over = only(&part, OpeningKind::OpenSide).against[0].over.clone().unwrap();
    near(over.said.needs.unwrap().to_mm(), 1000.0);
    // 1000 mm and more aside it is enough: from the inner face at 131 to 1131.
    for (aside, outcome) in [(1131.0 - BESIDE, Outcome::Fails), (1131.0, Outcome::Passes)] {
        asked.neighbours = vec![block("block", [aside, 50.0, 10.0], [aside + 30.0, 80.0, 40.0], true)];
        let part = regenerate(&asked).unwrap();
        let found = &only(&part, OpeningKind::OpenSide).against[0];
        assert_eq!(found.outcome(), outcome, "{:?}", found.over);
    }
    // Nobody reaches 2600 mm.
    asked.guarding.as_mut().unwrap().floor = Some(-2590.0);
    let part = regenerate(&asked).unwrap();
    assert_eq!(only(&part, OpeningKind::OpenSide).against[0].outcome(), Outcome::Passes);
}

#[test]
fn finding_names_reach_limit_row_and_mark_and_counts_equal_holes() {
    // Four holes of 15 in a row, 50 apart: a block 100 behind two of them; the others are 111.8 and more away.
    let at = |x: f64| [n(x), n(300.0)];
    let holes = Pattern::At(vec![at(100.0), at(200.0), at(300.0), at(400.0)]);
    let mut features = sheet(Shape::Circle { diameter: n(15.0) });
    features[1] = entry("vent", Feature::Cutout(cutout("plate", Shape::Circle { diameter: n(15.0) }, holes)));
    let hazard = block("chain", [90.0, 290.0, 100.0], [210.0, 310.0, 120.0], true);
    let part = made(GuardingRule::Iso13857, features, vec![hazard]);
    let finding = part.findings.iter().find(|f| f.code == "guard::opening_too_near").unwrap();
    let measure = finding.measure.as_ref().unwrap();
    near(measure.got, 100.0);
    near(measure.limit, 120.0);
    // The third hole ends at 292.5, 82.5 beside the block: 129.6 mm.
    assert_eq!((finding.severity, measure.places), (Severity::Fault, 2));
    for word in ["`chain`", "holes `vent`", "100.00 mm", "120.00 mm", "over 12 up to 20 mm", "seen"] {
        assert!(finding.message.contains(word), "{word}: {}", finding.message);
    }
}

#[test]
fn without_a_hazard_there_is_nothing_to_judge() {
    let part = made(GuardingRule::Iso13857, tray(130.0, 130.0), Vec::new());
    assert_eq!(codes(&part), ["guard::no_hazard"]);
    assert!(guarded(&part).openings.iter().all(|judged| judged.against.is_empty()));
    let silent = History { guarding: None, ..among(GuardingRule::Iso13857, tray(130.0, 130.0), Vec::new()) };
    let part = regenerate(&silent).unwrap();
    assert!(part.guarded.is_none() && codes(&part).is_empty());
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 24, ..ProptestConfig::default() })]

    /// Straight ways between points of the opening and of the hazard are never shorter than the reach, and those
    /// between finely spaced points hardly longer.
    #[test]
    fn reach_is_that_of_a_fine_search_at_most(
        size in [40.0..200.0_f64, 40.0..200.0],
        slot in [10.0..30.0_f64, 4.0..9.0],
        place in [-80.0..260.0_f64, -80.0..260.0, -60.0..120.0],
        extent in [1.0..60.0_f64, 1.0..60.0, 1.0..60.0],
        away in 0.0..100.0_f64,
    ) {
        let mut features = tray(size[0], size[1]);
        let shape = Shape::Slot { length: n(slot[0]), width: n(slot[1]) };
        let middle = [0.5 * size[0] + 1.0, 0.5 * size[1] + 1.0];
        let at = Pattern::At(vec![middle.map(n)]);
        features.push(entry("vent", Feature::Cutout(cutout("floor", shape, at))));
        let high = [0, 1, 2].map(|i| place[i] + extent[i]);
        let hazard = block("hazard", place, high, true);
        // Away from the floor, on the side on which it is.
        let up = if place[2] >= 0.0 { away } else { -away };
        let moved = block("moved", [place[0], place[1], place[2] + up], [high[0], high[1], high[2] + up], true);
        let part = made(GuardingRule::Iso13857, features, vec![hazard, moved]);
        let [first, second] = &only(&part, OpeningKind::Hole).against[..] else { panic!("two hazards") };
        let crosses = place[2] < 0.0 && high[2] > -1.0;
        prop_assert!(crosses || second.reach.distance >= first.reach.distance - 1e-9);
        let inside = |p: f64, i: usize| p.clamp(place[i], high[i]);
        let straight = 0.5 * (slot[0] - slot[1]);
        let mut found = f64::INFINITY;
        for (i, j, k) in (0..=40).flat_map(|i| (0..=10).flat_map(move |j| (0..=1).map(move |k| (i, j, k)))) {
            let share = |k: i32, of: i32| 2.0 * f64::from(k) / f64::from(of) - 1.0;
            let (u, v) = (0.5 * slot[0] * share(i, 40), 0.5 * slot[1] * share(j, 10));
            if (u - u.clamp(-straight, straight)).hypot(v) > 0.5 * slot[1] {
                continue;
            }
            let p = [middle[0] + u, middle[1] + v, -f64::from(k)];
            let d = [0, 1, 2].map(|i| inside(p[i], i) - p[i]);
            found = found.min(d[0].hypot(d[1]).hypot(d[2]));
        }
        prop_assert!(first.reach.distance <= found + 1e-9, "{} against {found}", first.reach.distance);
        // Points of the grid lie no more than 1.2 mm from any point of the slot, round ends included.
        prop_assert!(first.reach.distance >= found - 2.0, "{} against {found}", first.reach.distance);
    }
}
