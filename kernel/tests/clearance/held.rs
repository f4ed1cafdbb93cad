//! Smallest distances to neighbours that the solver keeps, against figures by hand.
//!
//! A channel of 1.5 mm: floor, walls up at its left and right, and a lid on the tip of the right wall. The left wall
//! stands at x = 0, the right one's inner face at `width − 1.5`, the lid's at z = `height − 3`, both free. A shaft of
//! 40 mm diameter runs along y through x = 50, z = 30: the floor is 10 mm from it, the left wall 28.5.

use kernel::dimension::DimensionState;
use kernel::history::feature::Feature;
use kernel::history::{
    Aim, AimFigure, DimensionEntry, DimensionKind, FreeNumber, History, NeighbourEntry, NeighbourSpec,
    Number, Profile, Target,
};
use kernel::ident::VarId;
use kernel::quantity::maths;
use kernel::regenerate::{Part, regenerate};

use super::parts::{base, entry, flange, history, n, panel};
use super::{assert_near, made};

const T: f64 = 1.5;

fn free(index: usize) -> Number {
    Number::free(VarId::new(index))
}

fn clear_of(at: Option<&str>) -> DimensionKind {
    DimensionKind::ClearOf { neighbour: "shaft".to_owned(), panel: at.map(panel) }
}

fn dimension(kind: DimensionKind, target: Target) -> DimensionEntry {
    DimensionEntry { name: "room".to_owned(), kind, target, stays: None, span: None }
}

fn with_shaft(mut history: History, dimensions: Vec<DimensionEntry>) -> History {
    let kind = NeighbourSpec::Shaft { from: [50.0, -20.0, 30.0], to: [50.0, 180.0, 30.0], diameter: 40.0 };
    history.neighbours = vec![NeighbourEntry {
        name: "shaft".to_owned(),
        kind,
        clearance: None,
        hazard: None,
        bolted: false,
        travel: None,
        turning: None,
        span: None,
    }];
    history.dimensions = dimensions;
    history
}

fn channel([width, height]: [f64; 2], dimensions: Vec<DimensionEntry>) -> History {
    let mut right = flange(&["floor/right"], 90.0, height);
    right.length = free(1);
    let features = vec![
        base("floor", Profile::rectangle(&free(0), &n(160.0))),
        entry("left", Feature::Flange(flange(&["floor/left"], 90.0, 60.0))),
        entry("right", Feature::Flange(right)),
        entry("lid", Feature::Flange(flange(&["right/tip"], 90.0, 30.0))),
    ];
    let mut history = history(T, 1.5, 0.44, features);
    history.free_numbers = vec![FreeNumber::new("width", width), FreeNumber::new("height", height)];
    with_shaft(history, dimensions)
}

/// The smallest distance of the whole part, as the check measures it.
fn nearest(part: &Part) -> f64 {
    part.clearances[0].distance
}

#[test]
fn wall_is_kept_eight_millimetres_from_the_shaft() {
    // 50 + 20 + 8 + 1.5.
    let asked = dimension(clear_of(Some("right")), Target::AtLeast(n(8.0)));
    let part = made(&channel([75.0, 90.0], vec![asked]));
    assert_near(part.settled.free[0], 79.5);
    let room = &part.settled.dimensions[0];
    assert_near(room.got, 8.0);
    assert_eq!((room.state, room.kind, room.unit), (DimensionState::AtLeast, "clear of", "mm"));
    assert_near(nearest(&part), 8.0);
}

#[test]
fn what_is_farther_than_asked_moves_nothing() {
    let asked = dimension(clear_of(None), Target::AtLeast(n(8.0)));
    let part = made(&channel([100.0, 90.0], vec![asked]));
    assert_eq!(part.settled.free, [100.0, 90.0]);
    // The floor.
    assert_near(part.settled.dimensions[0].got, 10.0);
    assert_eq!(part.settled.dimensions[0].state, DimensionState::AboveLeast);
}

#[test]
fn wall_and_lid_both_keep_away_though_one_is_nearest_at_a_time() {
    for start in [[75.0, 55.0], [74.0, 57.0], [76.5, 53.5], [60.0, 40.0]] {
        let asked = dimension(clear_of(None), Target::AtLeast(n(8.0)));
        let part = made(&channel(start, vec![asked]));
        // Lid: 30 + 20 + 8 + 3.
        assert_near(part.settled.free[0], 79.5);
        assert_near(part.settled.free[1], 61.0);
        assert_near(nearest(&part), 8.0);
    }
}

#[test]
fn measured_distance_is_that_of_the_check() {
    for start in [[75.0, 90.0], [100.0, 57.0], [60.0, 90.0], [100.0, 90.0]] {
        let part = made(&channel(start, vec![dimension(clear_of(None), Target::Measured)]));
        assert_near(part.settled.dimensions[0].got, nearest(&part));
        assert_eq!(part.settled.free, start);
    }
}

#[test]
fn turn_of_a_wall_is_found_that_keeps_it_off_a_round_shaft() {
    // The wall starts at x = 100 and leans over the shaft by its free turn.
    let mut wall = flange(&["floor/right"], 120.0, 90.0);
    wall.turn = free(0);
    let features =
        vec![base("floor", Profile::rectangle(&n(100.0), &n(160.0))), entry("wall", Feature::Flange(wall))];
    for (start, target) in
        [(120.0, Target::Held(n(8.0))), (140.0, Target::AtLeast(n(8.0))), (85.0, Target::Held(n(8.0)))]
    {
        let mut history = history(T, 1.5, 0.44, features.clone());
        history.free_numbers = vec![FreeNumber::new("turn", start)];
        let part = made(&with_shaft(history, vec![dimension(clear_of(Some("wall")), target)]));
        let turn = part.settled.free[0] * (maths::PI / 180.0);
        // The normal of the inner face at a turn `a` is (−sin a, cos a); the face goes through the outer mould line,
        // moved inwards by the sheet. The drawn edge is at the outer face.
        let normal = [-maths::sin(turn), maths::cos(turn)];
        let frame = part.settled.pose.panel(kernel::ident::PanelId::new(1)).placement;
        assert_near(frame.n.x, normal[0]);
        let off = (50.0 - frame.origin.x) * normal[0] + (30.0 - frame.origin.z) * normal[1];
        assert_near(off - 20.0, 8.0);
        assert_near(part.settled.dimensions[0].got, 8.0);
    }
}

#[test]
fn smallest_blank_goes_as_near_as_it_may() {
    let asked = dimension(clear_of(None), Target::AtLeast(n(8.0)));
    let mut history = channel([110.0, 90.0], vec![asked]);
    history.aim = Some(Aim { smallest: AimFigure::BlankArea, span: None });
    let part = made(&history);
    assert!((part.settled.free[0] - 79.5).abs() < 1e-4, "{:?}", part.settled.free);
    assert!((part.settled.free[1] - 61.0).abs() < 1e-4, "{:?}", part.settled.free);
    assert!(nearest(&part) >= 8.0 - 1e-6);
}

#[test]
fn distance_spreads_with_the_turns_before_it() {
    let history = channel([100.0, 90.0], vec![dimension(clear_of(Some("right")), Target::Measured)]);
    let part = made(&history);
    let stack = part.tolerance_stack(&history);
    let spread = &stack.dimensions[0];
    // The shaft's middle is 30 mm above the floor, and so 28.5 over the inside of the bend: a degree more of turn.
    let turn = spread.contributions.iter().find(|c| c.name == "turn of bend `right`").unwrap();
    assert!((turn.sensitivity.abs() - 30.0 * maths::PI / 180.0).abs() < 0.06, "{turn:?}");
    assert!(spread.worst >= turn.sensitivity.abs() * turn.limit);
}

#[test]
fn neighbour_that_is_not_there_is_refused() {
    let mut history = channel([100.0, 90.0], vec![dimension(clear_of(None), Target::Measured)]);
    history.neighbours.clear();
    let faults = regenerate(&history).unwrap_err();
    assert_eq!(faults[0].code, "history::unknown_neighbour");
}
