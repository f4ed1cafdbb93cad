//! Folded parts that need one place twice, that nearly do, and that only touch.

#[allow(dead_code, reason = "tests and benches use different parts")]
#[path = "../benches/parts.rs"]
mod parts;

use kernel::diag::Severity;
use kernel::fold::FoldFractions;
use kernel::geom::Vec3;
use kernel::history::feature::{Feature, FoldSide, HeldFace, LengthFrom};
use kernel::history::{FeatureEntry, Profile};
use kernel::regenerate::{Part, regenerate};
use kernel::solid::{Collision, FoldedZone, Zone, collisions};
use parry3d_f64::math::{Pose, Vector};
use parry3d_f64::query::intersection_test;
use parry3d_f64::shape::TriMesh;
use parts::{base, entry, flange, history, n};
use proptest::prelude::*;
use proptest::strategy::ValueTree;
use proptest::test_runner::TestRunner;

fn made(thickness: f64, radius: f64, features: Vec<FeatureEntry>) -> Part {
    regenerate(&history(thickness, radius, 0.42, features)).unwrap_or_else(|faults| panic!("{faults:?}"))
}

fn found(part: &Part) -> Vec<Collision> {
    collisions(&part.tree, &FoldFractions::all(&part.tree, 1.0))
}

fn names(part: &Part) -> Vec<[String; 2]> {
    let name = |zone| match zone {
        FoldedZone::Panel(panel) => part.tree.panel(panel).name.to_string(),
        FoldedZone::Bend(bend) => format!("bend {}", part.tree.panel(part.tree.bend(bend).child).name),
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

/// The zones that sheet joins to a zone.
fn joined(part: &Part, a: Zone, b: Zone) -> bool {
    let beside = |bend: &kernel::fold::Bend, panel| bend.parent == panel || bend.child == panel;
    match (a, b) {
        (Zone::Panel(panel), Zone::Bend(bend)) | (Zone::Bend(bend), Zone::Panel(panel)) => {
            beside(part.tree.bend(bend), panel)
        }
        (Zone::Panel(_) | Zone::Bend(_) | Zone::Form(_), _) => false,
    }
}

/// The mesh of each zone, every vertex moved inwards by `shrink` mm from all faces of the zone that meet there.
/// Creases have no face and stay where they are along the sheet.
fn zone_meshes(part: &Part, shrink: f64) -> Vec<(Zone, TriMesh)> {
    let mesh = part.mesh(&FoldFractions::all(&part.tree, 1.0), 0.002).expect("a part of plain flanges");
    let panels = part.tree.panels().iter().map(|p| Zone::Panel(p.id));
    let zones = panels.chain(part.tree.bends().iter().map(|b| Zone::Bend(b.id)));
    zones
        .filter_map(|zone| {
            let faces: Vec<[usize; 3]> =
                mesh.faces.iter().filter(|f| f.zone == zone).map(|f| f.corners.map(|i| i as usize)).collect();
            let mut own: Vec<usize> = faces.iter().flatten().copied().collect();
            own.sort_unstable();
            own.dedup();
            let mut normals: Vec<Vec<Vec3<f64>>> = vec![Vec::new(); own.len()];
            let place = |i: usize| own.binary_search(&i).expect("every corner is a vertex");
            for corners in &faces {
                let [a, b, c] = corners.map(|i| mesh.vertices[i]);
                let normal = (b - a).cross(c - a);
                if normal.length() > 1e-12 {
                    let unit = normal.times(1.0 / normal.length());
                    corners.iter().for_each(|&i| normals[place(i)].push(unit));
                }
            }
            let moved = own.iter().zip(&normals).map(|(&i, normals)| {
                // Projections in turn end where the vertex lies far enough behind every face.
                let mut by = Vec3::new(0.0, 0.0, 0.0);
                for normal in normals.iter().cycle().take(100 * normals.len()) {
                    by = by + normal.times((-shrink - normal.dot(by)).min(0.0));
                }
                let p = mesh.vertices[i] + by;
                Vector::new(p.x, p.y, p.z)
            });
            let index = |i: usize| u32::try_from(place(i)).expect("a small mesh");
            let triangles = faces.iter().map(|corners| corners.map(index)).collect();
            Some((zone, TriMesh::new(moved.collect(), triangles).ok()?))
        })
        .collect()
}

fn meshes_meet(part: &Part, shrink: f64) -> Vec<[Zone; 2]> {
    let meshes = zone_meshes(part, shrink);
    let still = Pose::identity();
    let mut met = Vec::new();
    for (index, (a, mesh)) in meshes.iter().enumerate() {
        for (b, other) in &meshes[index + 1..] {
            let meets =
                || intersection_test(&still, mesh, &still, other).expect("both are meshes").intersecting;
            if !joined(part, *a, *b) && meets() {
                met.push([*a, *b]);
            }
        }
    }
    met
}

/// A small plate with long walls that lean in and out, and lips on them: about every second one collides.
fn crowded() -> impl Strategy<Value = kernel::history::History> {
    let wall = || (50.0..150.0_f64, 15.0..120.0_f64, any::<bool>(), 0.0..20.0_f64);
    let lip = || prop::option::of((40.0..150.0_f64, 8.0..70.0_f64, any::<bool>()));
    let walls = prop::collection::vec(prop::option::weighted(0.75, (wall(), lip())), 4);
    (
        60.0..160.0_f64,
        60.0..120.0_f64,
        prop_oneof![Just(0.8), Just(2.0)],
        prop_oneof![Just(0.5), Just(3.0)],
        walls,
    )
        .prop_map(|(length, width, thickness, radius, walls)| {
            let mut features = vec![base("top", Profile::rectangle(&n(length), &n(width)))];
            for (role, wall) in ["front", "right", "back", "left"].into_iter().zip(walls) {
                let Some(((turn, length, down, inset), lip)) = wall else { continue };
                let mut made = flange(&[&format!("top/{role}")], turn, length);
                made.side = if down { FoldSide::Down } else { FoldSide::Up };
                (made.left.inset, made.right.inset) = (n(inset), n(inset));
                features.push(entry(role, Feature::Flange(made)));
                if let Some((turn, length, down)) = lip {
                    let mut made = flange(&[&format!("{role}/tip")], turn, length);
                    made.side = if down { FoldSide::Down } else { FoldSide::Up };
                    features.push(entry(&format!("{role}-lip"), Feature::Flange(made)));
                }
            }
            history(thickness, radius, 0.42, features)
        })
}

#[test]
fn collisions_are_those_of_the_meshes_of_the_zones() {
    // Whatever is found, unshrunk meshes meet there; whatever is not found, meshes shrunk by 0.05 mm do not.
    let mut runner = TestRunner::deterministic();
    let (mut collided, mut clear) = (0, 0);
    for _ in 0..300 {
        let history = crowded().new_tree(&mut runner).expect("the strategy never rejects").current();
        let Ok(part) = regenerate(&history) else { continue };
        let got: Vec<[Zone; 2]> = found(&part).iter().map(|c| c.zones.map(Zone::from)).collect();
        let (meet, meet_deep) = (meshes_meet(&part, 0.0), meshes_meet(&part, 0.05));
        for pair in &got {
            assert!(meet.contains(pair), "{pair:?} do not meet: {history:?}");
        }
        for pair in &meet_deep {
            assert!(got.contains(pair), "{pair:?} meet, but were not found: {history:?}");
        }
        if got.is_empty() { clear += 1 } else { collided += 1 }
    }
    assert!(collided >= 50 && clear >= 50, "{collided} collide, {clear} do not");
}
