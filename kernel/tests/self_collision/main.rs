//! Folded parts that need one place twice, that nearly do, and that only touch.

#[allow(dead_code, reason = "tests and benches use different parts")]
#[path = "../../benches/parts.rs"]
mod parts;

mod bumps;
mod meshes;

use kernel::diag::Severity;
use kernel::fold::FoldFractions;
use kernel::geom::Vec3;
use kernel::history::feature::{Feature, FoldSide, HeldFace, LengthFrom};
use kernel::history::{FeatureEntry, Profile};
use kernel::regenerate::{Part, regenerate};
use kernel::solid::{Collision, Zone, collisions};
use parts::{base, entry, flange, history, line, n, outline};

fn made(thickness: f64, radius: f64, features: Vec<FeatureEntry>) -> Part {
    regenerate(&history(thickness, radius, 0.42, features)).unwrap_or_else(|faults| panic!("{faults:?}"))
}

fn found(part: &Part) -> Vec<Collision> {
    collisions(&part.tree, &FoldFractions::all(&part.tree, 1.0))
}

fn names(part: &Part) -> Vec<[String; 2]> {
    let name = |zone| match zone {
        Zone::Panel(panel) => part.tree.panel(panel).name.to_string(),
        Zone::Bend(bend) => format!("bend {}", part.tree.panel(part.tree.bend(bend).child).name),
        Zone::Form(form) => format!("bump {}", part.tree.forms()[form.index()].name),
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
    // Faults come first.
    let [fault, others @ ..] = part.findings.as_slice() else { panic!("nothing was found") };
    assert_eq!((fault.code, fault.severity), ("check::folded_into_itself", Severity::Fault));
    assert!(others.iter().all(|f| f.severity != Severity::Fault), "{others:?}");
    assert!(fault.message.starts_with("panel `wall.left` and panel `wall.right`"), "{}", fault.message);
    // They meet in the plane half-way, over the middle of the base.
    let at = found(&part)[0].at;
    assert!((at.x - 40.0).abs() < 2.0 && 0.0 < at.y && at.y < 100.0, "{at:?}");
    // They meet about 80 mm up, where neither has an edge in the other: their ends lie in one plane.
    assert_eq!(names(&leaning_walls(120.0, 90.0)), [["wall.left", "wall.right"]]);
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
    lip.edges = vec![parts::panel("low").edge("tip")];
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
    assert_eq!(part.findings.iter().filter(|f| f.code == "check::folded_into_itself").count(), 1);
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

#[test]
fn bends_that_cross_meet_where_neither_has_an_edge() {
    // The back wall stands upright over a ledge of the plate; from its right edge at x = 80 a flange turns away
    // about an upright axis, so that the bend's inner face, 2 mm about x = 80, is the convex one. The right wall
    // leans inwards by 30° and ends, 30 mm behind its bend, in a brim that turns away: 6 mm about an axis along y.
    // That axis lies 7 mm behind the wall's, which is at (x, 1), and 30 mm up:
    // at (x − 30 sin 30° + 7 cos 30°, 1 + 30 cos 30° + 7 sin 30°). Both touch when it is 2 + 6 mm from x = 80.
    let root = 3.0_f64.sqrt();
    let make = |depth: f64| {
        let x = 80.0 + 8.0 - depth + 15.0 - 3.5 * root;
        let corners = [[0.0, 0.0], [x, 0.0], [x, 150.0], [91.0, 150.0], [91.0, 100.0], [0.0, 100.0]];
        let edges = ["front", "right", "back", "step", "ledge", "left"].map(line).into();
        let mut back = flange(&["plate/ledge"], 90.0, 60.0);
        (back.holds, back.right.inset) = (HeldFace::Inner, n(11.0));
        let mut side = flange(&["back/right"], 150.0, 4.0);
        (side.holds, side.side) = (HeldFace::BendStart, FoldSide::Down);
        side.length_from = LengthFrom::Tangent;
        let mut right = flange(&["plate/right"], 120.0, 30.0);
        (right.holds, right.length_from) = (HeldFace::BendStart, LengthFrom::Tangent);
        let mut brim = flange(&["right/tip"], 60.0, 20.0);
        (brim.holds, brim.side, brim.inside_radius) = (HeldFace::BendStart, FoldSide::Down, Some(n(5.0)));
        let flanges = [("back", back), ("side", side), ("right", right), ("brim", brim)];
        let flanges = flanges.map(|(name, flange)| entry(name, Feature::Flange(flange)));
        let mut features = vec![base("plate", outline(&corners, edges))];
        features.extend(flanges);
        made(1.0, 1.0, features)
    };
    for clear in [-0.05, 0.0] {
        assert_eq!(names(&make(clear)), Vec::<[String; 2]>::new(), "{clear}");
    }
    for depth in [0.03, 0.1] {
        let part = make(depth);
        assert_eq!(names(&part), [["bend side", "bend brim"]], "{depth}");
        let collision = found(&part)[0];
        assert!(depth - 0.01 <= collision.depth && collision.depth <= depth, "{collision:?}");
        let off = collision.at - Vec3::new(82.0, 102.0, 4.5 + 15.0 * root);
        assert!(off.length() < 1.0, "{collision:?}");
    }
}
