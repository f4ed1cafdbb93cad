//! Parameters changed in a thousand small steps: the answer follows, and never jumps to another one.

#[allow(dead_code, reason = "tests and benches use different parts")]
#[path = "../benches/parts.rs"]
mod parts;

use kernel::diag::Diagnostic;
use kernel::history::feature::{Feature, LengthFrom};
use kernel::history::{
    DimensionEntry, DimensionKind, EdgeName, FreeNumber, History, Number, Profile, SheetFace, Target, Thing,
};
use kernel::ident::VarId;
use kernel::quantity::maths;
use kernel::regenerate::regenerate;
use parts::{base, entry, flange, history, n, panel};

const STEPS: i32 = 1000;
const LENGTH: f64 = 50.0;
const RADIUS: f64 = 2.0;

fn hold(name: &str, kind: DimensionKind, value: f64) -> DimensionEntry {
    DimensionEntry { name: name.to_owned(), kind, target: Target::Held(n(value)), stays: None, span: None }
}

/// The lower arris of a wall's tip above the inner face of the floor.
fn height_of_tip() -> DimensionKind {
    DimensionKind::Clear {
        a: Thing::Face { panel: panel("floor"), face: SheetFace::Inner },
        b: Thing::Edge(EdgeName::new("wall/tip").expect("a well-formed name")),
    }
}

/// A floor with a wall of 50 mm from the tangent, whose turn is free and starts at `start`.
fn leaning(start: f64) -> History {
    let mut wall = flange(&["floor/left"], 90.0, LENGTH);
    wall.length_from = LengthFrom::Tangent;
    wall.turn = Number::free(VarId::new(0));
    let mut history = history(
        1.0,
        RADIUS,
        0.42,
        vec![base("floor", Profile::rectangle(&n(120.0), &n(80.0))), entry("wall", Feature::Flange(wall))],
    );
    history.free_numbers = vec![FreeNumber::new("turn", start)];
    history
}

/// The free numbers, of a part that nothing is said of.
fn answer(history: &History) -> Result<Vec<f64>, Vec<Diagnostic>> {
    regenerate(history).map(|part| {
        assert_eq!(part.settled.warnings, [], "a branch that goes on needs no word");
        part.settled.free
    })
}

/// Height of the lower arris at a turn, by hand: the bend rises by `r (1 − cos a)`, the flat by `50 sin a`; leaning
/// outwards, the arris of the outer face lies `cos a` times the thickness of 1 mm below that of the inner one.
fn rise(turn: f64) -> f64 {
    let (sin, cos) = maths::sin_cos(turn * maths::PI / 180.0);
    RADIUS * (1.0 - cos) + LENGTH * sin - cos.max(0.0)
}

#[test]
fn a_wall_that_could_lean_either_way_stays_on_its_side() {
    // Beyond the upright the inner arris is the lower one, and highest where tan a = −50 / 2.
    let top = 90.0 + maths::atan2(RADIUS, LENGTH) * 180.0 / maths::PI;
    for (start, from, to) in [(60.0, 20.0, top - 0.5), (120.0, 160.0, top + 0.5)] {
        for step in 0..=STEPS {
            let wanted = from + (to - from) * f64::from(step) / f64::from(STEPS);
            let mut history = leaning(start);
            history.dimensions = vec![hold("height", height_of_tip(), rise(wanted))];
            let found = answer(&history).unwrap_or_else(|faults| panic!("{wanted}: {faults:?}"));
            assert!(
                (found[0] - wanted).abs() < 1e-5,
                "from {start}, step {step}: {} against {wanted}",
                found[0]
            );
        }
    }
    // Above the top there is nothing, and that is said.
    let mut history = leaning(60.0);
    history.dimensions = vec![hold("height", height_of_tip(), rise(top) + 0.1)];
    let faults = answer(&history).expect_err("the wall is not that long");
    assert_eq!(faults[0].code, "dimension::not_held");
}

#[test]
fn numbers_that_share_a_change_move_by_as_much_as_the_parameter_in_every_step() {
    // A floor from `left` to `right` with walls: the clear length changes by 0.2 mm a step, each side by half of it.
    let (left, right) = (Number::free(VarId::new(0)), Number::free(VarId::new(1)));
    let corners = [[&left, &n(0.0)], [&right, &n(0.0)], [&right, &n(80.0)], [&left, &n(80.0)]];
    let corners = corners.iter().map(|corner| corner.map(Clone::clone)).collect();
    let edges = ["front", "right", "back", "left"].map(parts::line).to_vec();
    let walls = flange(&["floor/left", "floor/right"], 90.0, 30.0);
    let mut history = history(
        1.0,
        RADIUS,
        0.42,
        vec![base("floor", Profile::new(corners, edges)), entry("wall", Feature::Flange(walls))],
    );
    history.free_numbers = vec![FreeNumber::new("left", 0.0), FreeNumber::new("right", 200.0)];
    let clear = || DimensionKind::Inside { a: panel("wall.left"), b: panel("wall.right") };
    let mut before: Option<Vec<f64>> = None;
    for step in 0..=STEPS {
        history.dimensions = vec![hold("clear", clear(), 100.0 + 0.2 * f64::from(step))];
        let found = answer(&history).unwrap_or_else(|faults| panic!("{step}: {faults:?}"));
        if let Some(before) = &before {
            let moved = [before[0] - found[0], found[1] - before[1]];
            assert!(moved.iter().all(|moved| (moved - 0.1).abs() < 1e-8), "step {step}: {moved:?}");
        }
        before = Some(found);
    }
}

/// A wall with a lip and a lip on that, all three turned by one free number; measured is how far the last tip lies
/// from a plane that stands aslant over it.
fn curling(turn: &Number, target: Target) -> History {
    let link = |edges: &[&str], length: f64| {
        let mut link = flange(edges, 90.0, length);
        link.length_from = LengthFrom::Tangent;
        link.turn = turn.clone();
        Feature::Flange(link)
    };
    let floor = base("floor", Profile::rectangle(&n(120.0), &n(80.0)));
    let links = [
        entry("wall", link(&["floor/left"], 50.0)),
        entry("lip", link(&["wall/tip"], 20.0)),
        entry("hook", link(&["lip/tip"], 40.0)),
    ];
    let mut history = history(0.5, 1.0, 0.42, [floor].into_iter().chain(links).collect());
    let range = FreeNumber { min: Some(5.0), max: Some(175.0), ..FreeNumber::new("turn", 142.0) };
    history.free_numbers = vec![range];
    // The wall goes outwards, along −x: 20° aslant its height counts by cos 20° and its way out by sin 20°.
    let (sin, cos) = maths::sin_cos(20.0 * maths::PI / 180.0);
    let plane = Thing::Plane { through: [n(0.0), n(0.0), n(300.0)], normal: [-sin, 0.0, cos] };
    let tip = Thing::Edge(EdgeName::new("hook/tip").expect("a well-formed name"));
    let kind = DimensionKind::Clear { a: tip, b: plane };
    history.dimensions =
        vec![DimensionEntry { name: "clear".to_owned(), kind, target, stays: None, span: None }];
    history
}

#[test]
fn a_sweep_across_the_end_of_a_branch_is_never_silent_beyond_it_and_always_before() {
    // Where the branch ends, without the solver: the least distance at given turns around 139°.
    let measured = |turn: f64| {
        let part = regenerate(&curling(&n(turn), Target::Measured)).expect("a part");
        part.settled.dimensions[0].got
    };
    let (mut low, mut high) = (137.0, 142.0);
    while high - low > 1e-7 {
        let (a, b) = (low + 0.4 * (high - low), low + 0.6 * (high - low));
        if measured(a) < measured(b) { high = b } else { low = a }
    }
    let (end, least) = (low, measured(low));
    let mut before: Option<f64> = None;
    let (mut jumps, mut refused) = (Vec::new(), 0);
    for step in 0..=STEPS {
        let target = least + 0.5 - f64::from(step) * 1e-3;
        let part = match regenerate(&curling(&Number::free(VarId::new(0)), Target::Held(n(target)))) {
            Ok(part) => part,
            // The other answers are far off, and may not be found; that is said, too.
            Err(faults) => {
                assert!(target < least, "step {step}: {faults:?}");
                refused += 1;
                continue;
            }
        };
        let turn = part.settled.free[0];
        let said: Vec<_> = part.findings.iter().filter(|f| f.code == "dimension::beyond_a_fork").collect();
        assert_eq!(said.len(), usize::from(target < least), "step {step}: {turn} {:?}", part.findings);
        if let [warning] = said[..] {
            assert!(warning.message.contains("`clear` can be followed to 2"), "{}", warning.message);
            assert!(warning.message.contains(&format!(" mm of {target:.3} mm")), "{}", warning.message);
            let (_, there) =
                warning.message.split_once("`turn` starts at 142.000, comes to ").expect("the number");
            let there: f64 =
                there.split(' ').next().and_then(|value| value.parse().ok()).expect("where it ends");
            // The distance is lowest at the end, so that it hardly changes there while the turn does.
            let room = measured(there) - least;
            assert!((0.0..5e-3).contains(&room), "{room} above {least} at {end}: {}", warning.message);
        } else {
            assert!(turn > end, "step {step}: {turn}");
        }
        if before.is_some_and(|before| (turn - before).abs() > 10.0) {
            jumps.push(target < least);
        }
        before = Some(turn);
    }
    assert!(refused + jumps.len() > 0 && jumps.iter().all(|&said| said), "each jump has its word: {jumps:?}");
}

#[test]
fn what_is_held_holds_with_the_arris_that_is_nearest_at_the_answer() {
    // Whichever arris of the last tip was nearest at the start, or in between.
    let (mut held, mut refused) = (0, 0);
    for (turn, low, high) in [(142.0, 150.0, 290.0), (60.0, 150.0, 290.0), (100.0, 200.0, 290.0)] {
        for step in 0..=560 {
            let target = low + (high - low) * f64::from(step) / 560.0;
            let mut history = curling(&Number::free(VarId::new(0)), Target::Held(n(target)));
            history.free_numbers[0].start = turn;
            let Ok(part) = regenerate(&history) else {
                refused += 1;
                continue;
            };
            let there = curling(&n(part.settled.free[0]), Target::Measured);
            let got = regenerate(&there).expect("it was a part").settled.dimensions[0].got;
            assert!(
                (got - target).abs() <= 1e-6,
                "from {turn}°: {target} asked, {got} at {:?}",
                part.settled.free
            );
            held += 1;
        }
    }
    assert!(held > 800 && refused < 700, "{held}, {refused}");
}

#[test]
fn a_wall_that_starts_at_its_highest_is_held_by_the_arris_that_is_lower_where_it_ends() {
    // The inner arris is highest where tan a = −50 / 2, the start to all digits, and can sink to either side; before
    // the upright the outer one is the lower one. By itself the inner one leads to 64.6°, where the outer one is
    // 0.43 mm too low, and the outer one, nearly at its highest, to an answer a turn away.
    let top = 90.0 + maths::atan2(RADIUS, LENGTH) * 180.0 / maths::PI;
    for (start, is_before) in [(top, true), (top + 5.0, false)] {
        let mut history = leaning(start);
        history.dimensions = vec![hold("height", height_of_tip(), rise(120.0))];
        let turn = answer(&history).expect("a part")[0];
        assert!((rise(turn) - rise(120.0)).abs() < 1e-6, "from {start}: {turn}");
        assert_eq!(turn < 90.0, is_before, "from {start}: {turn}");
    }
}
