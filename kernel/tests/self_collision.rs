//! Folded parts that need one place twice, that nearly do, and that only touch.

#[allow(dead_code, reason = "tests and benches use different parts")]
#[path = "../benches/parts.rs"]
mod parts;

use kernel::diag::Severity;
use kernel::fold::FoldFractions;
use kernel::history::feature::{Feature, FoldSide, HeldFace, LengthFrom};
use kernel::history::{FeatureEntry, Profile};
use kernel::regenerate::{Part, regenerate};
use kernel::solid::{Collision, Zone, collisions};
use parts::{base, entry, flange, history, n};

fn made(thickness: f64, radius: f64, features: Vec<FeatureEntry>) -> Part {
    regenerate(&history(thickness, radius, 0.42, features)).unwrap_or_else(|faults| panic!("{faults:?}"))
}

fn found(part: &Part) -> Vec<Collision> {
    collisions(&part.tree, &FoldFractions::all(&part.tree, 1.0))
}

fn names(part: &Part) -> Vec<[String; 2]> {
    let name = |zone| match zone {
        Zone::Form(form) => part.tree.forms()[form.index()].name.clone(),
        Zone::Panel(panel) => part.tree.panel(panel).name.to_string(),
        Zone::Bend(bend) => format!("bend {}", part.tree.panel(part.tree.bend(bend).child).name),
    };
    found(part).into_iter().map(|c| c.zones.map(name)).collect()
}

/// A base of 80 x 100 mm with a wall on its left and right edge.
fn leaning_walls(turn: f64, length: f64) -> Part {
    let walls = flange(&["top/left", "top/right"], turn, length);
    made(
        1.0,
        1.0,
        vec![base("top", Profile::rectangle(&n(80.0), &n(100.0))), entry("wall", Feature::Flange(walls))],
    )
}

#[test]
fn long_walls_turned_towards_each_other_collide() {
    let part = leaning_walls(120.0, 120.0);
    assert_eq!(names(&part), [["wall.left", "wall.right"]]);
    let [fault] = part.findings.as_slice() else { panic!("{:?}", part.findings) };
    assert_eq!((fault.code, fault.severity), ("check::folded_into_itself", Severity::Fault));
    assert!(fault.message.starts_with("panel `wall.left` and panel `wall.right`"), "{}", fault.message);
    // They meet in the plane half-way, over the middle of the base.
    let at = found(&part)[0].at;
    assert!((at.x - 40.0).abs() < 2.0 && 0.0 < at.y && at.y < 100.0, "{at:?}");
    // Walls that end before they meet do not.
    assert_eq!(names(&leaning_walls(120.0, 70.0)), Vec::<[String; 2]>::new());
    assert_eq!(names(&leaning_walls(90.0, 120.0)), Vec::<[String; 2]>::new());
}

/// A pan with walls 40 mm high, 100 mm apart between their inner faces, and a lip on top of the left wall that
/// reaches over to the right one; `length` counts from the outside.
fn lip(length: f64) -> Part {
    let mut walls = flange(&["top/left", "top/right"], 90.0, 40.0);
    walls.holds = HeldFace::Inner;
    let mut lip = flange(&["wall.left/tip"], 90.0, length);
    lip.length_from = LengthFrom::Outside;
    // The lip lies below the right wall's tip.
    let mut short = walls.clone();
    (walls.edges, short.edges) = (vec![walls.edges[1].clone()], vec![short.edges[0].clone()]);
    short.length = n(30.0);
    lip.edges = vec![kernel::history::EdgeName::new("low/tip").unwrap()];
    made(
        1.0,
        1.0,
        vec![
            base("top", Profile::rectangle(&n(100.0), &n(60.0))),
            entry("high", Feature::Flange(walls)),
            entry("low", Feature::Flange(short)),
            entry("lip", Feature::Flange(lip)),
        ],
    )
}

#[test]
fn a_lip_through_the_opposite_wall_collides_and_one_just_short_of_it_does_not() {
    // From the outer face of the low wall, 1 mm thick, to the inner face of the high one: 101 mm.
    let clear = Vec::<[String; 2]>::new();
    assert_eq!(names(&lip(110.0)), [["high", "lip"]]);
    assert_eq!(names(&lip(101.05)), [["high", "lip"]]);
    assert_eq!(names(&lip(101.0)), clear, "touching");
    assert_eq!(names(&lip(100.95)), clear);
    let deepest = found(&lip(101.05))[0].depth;
    assert!(0.01 < deepest && deepest < 0.06, "{deepest}");
}

#[test]
fn a_bend_that_bulges_through_a_wall_is_named() {
    // The lip's own return bends down just where the high wall stands.
    let mut history = history(1.0, 1.0, 0.42, Vec::new());
    let mut high = flange(&["top/right"], 90.0, 40.0);
    high.holds = HeldFace::Inner;
    let mut low = flange(&["top/left"], 90.0, 30.0);
    low.holds = HeldFace::Inner;
    let lip = flange(&["low/tip"], 90.0, 101.5);
    let ret = flange(&["lip/tip"], 90.0, 15.0);
    history.features = vec![
        base("top", Profile::rectangle(&n(100.0), &n(60.0))),
        entry("high", Feature::Flange(high)),
        entry("low", Feature::Flange(low)),
        entry("lip", Feature::Flange(lip)),
        entry("return", Feature::Flange(ret)),
    ];
    let part = regenerate(&history).unwrap_or_else(|faults| panic!("{faults:?}"));
    assert_eq!(names(&part), [["high", "return"], ["high", "bend return"]]);
    // One finding for the two, since the bend belongs to the panel behind it.
    assert_eq!(part.findings.len(), 1);
    assert!(part.findings[0].message.contains("`return`"), "{}", part.findings[0].message);
}

#[test]
fn covers_whose_walls_only_meet_have_no_collision() {
    for side in [FoldSide::Up, FoldSide::Down] {
        let mut walls = flange(&["top/front", "top/right", "top/back", "top/left"], 90.0, 40.0);
        walls.side = side;
        for gap in [0.01, 1.0] {
            walls.corner_gap = n(gap);
            for turn in [30.0, 90.0, 100.0] {
                walls.turn = n(turn);
                let features = vec![
                    base("top", Profile::rectangle(&n(200.0), &n(120.0))),
                    entry("wall", Feature::Flange(walls.clone())),
                ];
                assert_eq!(
                    names(&made(2.0, 2.0, features)),
                    Vec::<[String; 2]>::new(),
                    "{side:?} {gap} {turn}"
                );
            }
        }
    }
}

#[test]
fn a_flap_that_lies_exactly_in_another_is_found() {
    // Two lips of one length at one height, from opposite walls, fill the same place between the walls.
    let walls = flange(&["top/left", "top/right"], 90.0, 40.0);
    let lips = flange(&["wall.left/tip", "wall.right/tip"], 90.0, 97.0);
    let part = made(
        1.0,
        1.0,
        vec![
            base("top", Profile::rectangle(&n(102.0), &n(60.0))),
            entry("wall", Feature::Flange(walls)),
            entry("lip", Feature::Flange(lips)),
        ],
    );
    assert!(names(&part).contains(&["lip.left".to_owned(), "lip.right".to_owned()]), "{:?}", names(&part));
}
