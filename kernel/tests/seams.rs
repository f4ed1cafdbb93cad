//! Gaps of seams, measured in space by a library that knows nothing of how they were made.
//!
//! Random seams are meets and laps between walls of a four-sided panel, or between flanges on the tips of
//! these walls: oblique corners, turns and lengths that differ, tapers, up and down, thick and thin sheet.
//! The flat metal of the two flanges is a convex body each, made here from the panel's outline and the
//! thickness; parry3d's convex distance (good to some 1e-8 of the distance) says how far they are apart.

#[allow(dead_code, reason = "tests and benches use different parts")]
#[path = "../benches/parts.rs"]
mod parts;

use std::collections::BTreeMap;

use kernel::dimension::{BlankSize, SheetNumbers, Skeleton, settle};
use kernel::fold::{self, EdgeLabel, FoldFractions, FoldTree};
use kernel::geom::{Placement, Point2, Vec3};
use kernel::history::feature::{
    CornerRelief, Feature, FeatureEntry, Flange, FoldSide, LengthFrom, Neighbour, NotchSize, Relief, Seam,
    SheetFace,
};
use kernel::history::{EdgeName, EdgeShape, History, Profile, ProfileEdge};
use kernel::quantity::maths;
use parry3d_f64::math::{Pose, Vector};
use parry3d_f64::query;
use parry3d_f64::shape::ConvexPolyhedron;
use parts::{base, entry, flange, history, n, panel};
use proptest::prelude::*;
use proptest::strategy::ValueTree;
use proptest::test_runner::TestRunner;

/// How near the measured distance has to come to the gap, in mm.
const GAP_MM: f64 = 1e-6;

fn edge(name: &str) -> EdgeName {
    EdgeName::new(name).expect("well formed")
}

/// The tree of a history, or the codes of what is wrong with it. The blank is not looked at: a wide seam may
/// well want sheet that another flange has.
fn tree(history: &History) -> Result<FoldTree, Vec<&'static str>> {
    let codes = |found: Vec<kernel::diag::Diagnostic>| found.iter().map(|d| d.code).collect::<Vec<_>>();
    let sheet = history.sheet.resolve().expect("a fixed sheet");
    let numbers = SheetNumbers::from(&sheet);
    let skeleton = Skeleton::new(history, numbers).map_err(codes)?;
    let settled = settle(history, &skeleton, numbers, BlankSize::default()).map_err(codes)?;
    fold::build(history, &skeleton, &settled.pose, &settled.free, &sheet).map_err(codes)
}

/// A flat panel in space.
struct Flat {
    frame: Placement<f64>,
    corners: Vec<Point2>,
    thickness: f64,
}

impl Flat {
    fn of(tree: &FoldTree, name: &str) -> Self {
        let found = tree.panels().iter().find(|p| p.name.as_str() == name).expect("the panel is there");
        let frame = tree.placements(&FoldFractions::all(tree, 1.0))[found.id.index()];
        let corners = found.region.contours()[0].segments().iter().map(|s| s.start).collect();
        Self { frame, corners, thickness: tree.thickness() }
    }

    fn body(&self) -> ConvexPolyhedron {
        let convex = |i: usize| {
            let at = |k: usize| self.corners[(i + k) % self.corners.len()];
            (at(1) - at(0)).cross(at(2) - at(1)) >= -1e-9
        };
        assert!((0..self.corners.len()).all(convex), "a flange without flanges of its own is convex");
        let points: Vec<Vector> = [0.0, -self.thickness]
            .iter()
            .flat_map(|&depth| self.corners.iter().map(move |&p| self.frame.lift(p, depth)))
            .map(|p| Vector::new(p.x, p.y, p.z))
            .collect();
        ConvexPolyhedron::from_convex_hull(&points).expect("a flat has volume")
    }

    fn apart(&self, other: &Self) -> f64 {
        let here = Pose::identity();
        query::distance(&here, &self.body(), &here, &other.body()).expect("both are convex").distance
    }
}

#[derive(Clone, Debug)]
struct Wall {
    turn: f64,
    length: f64,
    taper: f64,
}

#[derive(Clone, Copy, Debug, PartialEq)]
enum Kind {
    Meet,
    LapFlush,
    LapBy(f64),
}

#[derive(Clone, Debug)]
struct Case {
    /// Angles of the side edges off square, in degrees.
    skew: [f64; 2],
    thickness: f64,
    radius: f64,
    walls: [Wall; 2],
    /// On the tips of the walls.
    returns: Option<[Wall; 2]>,
    sides: [FoldSide; 2],
    return_side: FoldSide,
    kind: Kind,
    gap: f64,
}

fn walls(lengths: std::ops::Range<f64>) -> impl Strategy<Value = [Wall; 2]> {
    let turn = || prop_oneof![1 => Just(90.0), 3 => 15.0..165.0_f64];
    let taper = prop_oneof![Just(0.0), -10.0..25.0];
    let wall = (turn(), lengths, taper).prop_map(|(turn, length, taper)| Wall { turn, length, taper });
    ([wall.clone(), wall], any::<bool>()).prop_map(|([a, mut b], alike)| {
        if alike {
            b.turn = a.turn;
        }
        [a, b]
    })
}

fn case() -> impl Strategy<Value = Case> {
    let side = || prop_oneof![Just(FoldSide::Up), Just(FoldSide::Down)];
    let skew = || prop_oneof![Just(0.0), -35.0..35.0];
    (
        ([skew(), skew()], 0.5..3.0, 0.2..4.0, 0.2..5.0),
        walls(40.0..90.0),
        prop::option::weighted(0.45, walls(20.0..40.0)),
        (side(), prop::bool::weighted(0.1), side()),
        prop_oneof![2 => Just(Kind::Meet), 1 => Just(Kind::LapFlush), 1 => (0.0..8.0).prop_map(Kind::LapBy)],
    )
        .prop_map(
            |((skew, thickness, radius, gap), walls, returns, (side, against, return_side), kind)| {
                let other = if side == FoldSide::Up { FoldSide::Down } else { FoldSide::Up };
                let sides = [side, if against && returns.is_none() { other } else { side }];
                Case { skew, thickness, radius, walls, returns, sides, return_side, kind, gap }
            },
        )
}

impl Case {
    fn history(&self) -> History {
        let [left, right] = self.skew.map(|a| 300.0 * maths::tan(a * maths::PI / 180.0));
        let corners = [[0.0, 0.0], [500.0, 0.0], [500.0 + right, 300.0], [left, 300.0]];
        let outline = Profile {
            corners: corners.map(|[x, y]| [n(x), n(y)]).to_vec(),
            edges: ["front", "right", "back", "left"]
                .map(|name| ProfileEdge { name: name.to_owned(), shape: EdgeShape::Line })
                .to_vec(),
            relations: Vec::new(),
        };
        let made = |on: &str, wall: &Wall, side: FoldSide| {
            // Lengths count from the bend's end, so that every turn leaves a flat.
            let mut made = flange(&[on], wall.turn, wall.length);
            made.length_from = LengthFrom::Tangent;
            (made.left.taper, made.right.taper) = (n(wall.taper), n(wall.taper));
            made.side = side;
            Feature::Flange(made)
        };
        let [a, b] = &self.walls;
        let mut features = vec![
            base("plate", outline),
            entry("a", made("plate/front", a, self.sides[0])),
            entry("b", made("plate/right", b, self.sides[1])),
        ];
        if let Some([c, d]) = &self.returns {
            features.push(entry("c", made("a/tip", c, self.return_side)));
            features.push(entry("d", made("b/tip", d, self.return_side)));
        }
        let [a, b] = self.ends().map(|name| edge(&name));
        let gap = n(self.gap);
        let seam = match self.kind {
            Kind::Meet => Seam::Meet { a, b, gap },
            Kind::LapFlush => Seam::Lap { cover: a, under: b, gap, overlap: None },
            Kind::LapBy(overlap) => Seam::Lap { cover: a, under: b, gap, overlap: Some(n(overlap)) },
        };
        features.push(entry("seam", Feature::Seam(seam)));
        history(self.thickness, self.radius, 0.42, features)
    }

    /// Run counter-clockwise the front wall comes first: its end at the common corner is its left one.
    fn ends(&self) -> [String; 2] {
        let names = if self.returns.is_some() { ["c", "d"] } else { ["a", "b"] };
        [format!("{}/left", names[0]), format!("{}/right", names[1])]
    }
}

/// The side with this role, as drawn from start to end, at a depth.
fn side(tree: &FoldTree, name: &str, depth: f64) -> [Vec3<f64>; 2] {
    let wanted = edge(name);
    let found = tree.panels().iter().find(|p| p.name == wanted.panel).expect("the panel is there");
    let frame = tree.placements(&FoldFractions::all(tree, 1.0))[found.id.index()];
    let pieces = found.region.contours()[0].segments().iter();
    let piece = pieces
        .filter(|s| matches!(tree.label(s), EdgeLabel::Edge(e) if *e == wanted))
        .max_by(|p, q| p.length().total_cmp(&q.length()))
        .expect("the side is there");
    [frame.lift(piece.start, depth), frame.lift(piece.end, depth)]
}

/// Whether the under side of a lap has the cover's face or end opposite it at some place along the seam:
/// where not, the flanges pass each other and are farther apart than the gap.
fn cover_is_opposite(tree: &FoldTree, cover: &Flat, cover_end: &str, under_end: &str) -> bool {
    let [p, q] = side(tree, cover_end, 0.0);
    let along = (q - p).times(1.0 / (q - p).length());
    let inward = cover.frame.n.cross(along);
    let centre =
        cover.corners.iter().fold(Vec3::new(0.0, 0.0, 0.0), |sum, &c| sum + cover.frame.lift(c, 0.0));
    let centre = centre.times(1.0 / f64::from(u32::try_from(cover.corners.len()).expect("few corners")));
    let inward = if (centre - p).dot(inward) > 0.0 { inward } else { -inward };
    // Where the two lower edges of the under side lie over the cover: into it from its end, and off its middle.
    let middle = -0.5 * cover.thickness;
    let edges = [0.0, -cover.thickness].map(|depth| side(tree, under_end, depth));
    let places = edges.map(|[a, _]| {
        let d = a - p;
        (d.dot(inward), (d.dot(cover.frame.n) - middle).abs())
    });
    let at = if places.iter().all(|(into, _)| *into >= 0.0) {
        if places[0].1 < places[1].1 { places[0].0 } else { places[1].0 }
    } else {
        0.0
    };
    // The cover's stretch along the seam at that place.
    let flat: Vec<(f64, f64)> = cover
        .corners
        .iter()
        .map(|&c| {
            let d = cover.frame.lift(c, 0.0) - p;
            (d.dot(inward) - at, d.dot(along))
        })
        .collect();
    let mut stretch = (f64::INFINITY, f64::NEG_INFINITY);
    for i in 0..flat.len() {
        let (a, b) = (flat[i], flat[(i + 1) % flat.len()]);
        let hits: Vec<f64> = if (a.0 - b.0).abs() < 1e-9 {
            if a.0.abs() < 1e-9 { vec![a.1, b.1] } else { Vec::new() }
        } else {
            let t = a.0 / (a.0 - b.0);
            if (-1e-9..=1.0 + 1e-9).contains(&t) { vec![a.1 + t * (b.1 - a.1)] } else { Vec::new() }
        };
        for hit in hits {
            stretch = (stretch.0.min(hit), stretch.1.max(hit));
        }
    }
    let [a, b] = edges[0].map(|e| (e - p).dot(along));
    stretch.1.min(a.max(b)) - stretch.0.max(a.min(b)) > 1e-6
}

#[test]
fn five_hundred_random_seams_keep_their_gap_in_space() {
    let mut runner = TestRunner::deterministic();
    let strategy = case();
    let (mut kept, mut tried, mut worst) = (BTreeMap::<String, u32>::new(), 0u32, 0.0_f64);
    let mut refused = BTreeMap::<&'static str, u32>::new();
    while kept.values().sum::<u32>() < 500 {
        tried += 1;
        let case = strategy.new_tree(&mut runner).expect("a case").current();
        let tree = match tree(&case.history()) {
            Ok(tree) => tree,
            Err(codes) => {
                *refused.entry(codes[0]).or_default() += 1;
                continue;
            }
        };
        let ends = case.ends();
        let [a, b] = [&ends[0], &ends[1]].map(|end| Flat::of(&tree, edge(end).panel.as_str()));
        let got = a.apart(&b);
        // Never less, whatever else is true of the two.
        assert!(got >= case.gap - GAP_MM, "{got} of {}: {case:?}", case.gap);
        if case.kind != Kind::Meet && !cover_is_opposite(&tree, &a, &ends[0], &ends[1]) {
            *refused.entry("the covered end passes beside the cover").or_default() += 1;
            continue;
        }
        assert!((got - case.gap).abs() <= GAP_MM, "{got} instead of {}: {case:?}", case.gap);
        worst = worst.max((got - case.gap).abs());
        let kind = if case.kind == Kind::Meet { "meet" } else { "lap" };
        let of = if case.returns.is_some() { "returns" } else { "walls" };
        *kept.entry(format!("{kind} of {of}")).or_default() += 1;
    }
    assert!(tried < 800, "worst {worst:e} of {tried} tried: {kept:?}, left out: {refused:?}");
    assert!(kept.len() == 4 && kept.values().all(|&count| count >= 60), "{kept:?}");
}

/// A plate of 100 x 80 mm, thickness 2, inside radius 2, with walls of 30 mm at right angles on all edges:
/// outer faces at the drawn edges, inner ones 2 mm within, bends starting 4 mm within.
fn tray(more: Vec<FeatureEntry>) -> History {
    let wall = |edge: &str| Feature::Flange(flange(&[edge], 90.0, 30.0));
    let mut features = vec![
        base("plate", Profile::rectangle(&n(100.0), &n(80.0))),
        entry("a", wall("plate/front")),
        entry("b", wall("plate/right")),
        entry("c", wall("plate/back")),
        entry("d", wall("plate/left")),
    ];
    features.extend(more);
    history(2.0, 2.0, 0.42, features)
}

fn with_seam(seam: Seam) -> FoldTree {
    tree(&tray(vec![entry("seam", Feature::Seam(seam))])).expect("the seam can be made")
}

fn assert_at(place: f64, by_hand: f64) {
    assert!((place - by_hand).abs() < 1e-9, "{place}, by hand {by_hand}");
}

/// Wall a's left end and wall b's right end lie at the corner (100, 0): the first ends at an x, the other one
/// at a y.
fn ends_at_corner(tree: &FoldTree) -> (f64, f64) {
    let a = side(tree, "a/left", 0.0).map(|p| p.x);
    let b = side(tree, "b/right", 0.0).map(|p| p.y);
    assert_at(a[0], a[1]);
    assert_at(b[0], b[1]);
    (a[0], b[0])
}

#[test]
fn walls_of_a_tray_meet_and_lap_where_hand_calculation_says() {
    let (a, b) = (|| edge("a/left"), || edge("b/right"));
    // The inner faces meet in the line (98, 2); edges 1 mm apart lie 1/√2 from it on each face.
    let (x, y) = ends_at_corner(&with_seam(Seam::Meet { a: a(), b: b(), gap: n(1.0) }));
    assert_at(x, 98.0 - 0.5_f64.sqrt());
    assert_at(y, 2.0 + 0.5_f64.sqrt());
    // The cover ends in the outer face x = 100 of the other wall, which stops 1 mm from its inner face.
    let lap = |overlap| Seam::Lap { cover: a(), under: b(), gap: n(1.0), overlap };
    let (x, y) = ends_at_corner(&with_seam(lap(None)));
    assert_at(x, 100.0);
    assert_at(y, 3.0);
    // 5 mm past the line of the inner faces.
    let (x, y) = ends_at_corner(&with_seam(lap(Some(n(5.0)))));
    assert_at(x, 103.0);
    assert_at(y, 3.0);
    let (x, y) = ends_at_corner(&with_seam(Seam::Lap { cover: b(), under: a(), gap: n(0.5), overlap: None }));
    assert_at(x, 97.5);
    assert_at(y, 0.0);
}

#[test]
fn closed_and_flush_ends_lie_where_hand_calculation_says() {
    let close =
        |edge_name: &str, to: Neighbour, gap: f64| Seam::Close { edge: edge(edge_name), to, gap: n(gap) };
    // Wall b stops 1.5 mm from the inner face y = 2 of wall a; that one keeps its usual corner.
    let closed = with_seam(close("b/right", Neighbour::Panel(panel("a")), 1.5));
    let (x, y) = ends_at_corner(&closed);
    assert_at(x, 98.0 - 0.5_f64.sqrt());
    assert_at(y, 3.5);
    let flush = |face| Seam::Flush { edge: edge("a/left"), panel: panel("b"), face };
    assert_at(ends_at_corner(&with_seam(flush(SheetFace::Outer))).0, 100.0);
    assert_at(ends_at_corner(&with_seam(flush(SheetFace::Inner))).0, 98.0);
    // A flange over the tray, whose outer face is 30 mm above the plate's at z = −2, reaches to 2 mm from the inner face y = 78 of the back
    // wall, however long it was drawn; its corners at the front stay.
    for drawn in [10.0, 150.0] {
        let lid = Flange { length_from: LengthFrom::Outside, ..flange(&["a/tip"], 90.0, drawn) };
        let more = vec![
            entry("lid", Feature::Flange(lid)),
            entry("seam", Feature::Seam(close("lid/tip", Neighbour::Panel(panel("c")), 2.0))),
        ];
        let made = tree(&tray(more)).unwrap();
        for end in side(&made, "lid/tip", 0.0) {
            assert_at(end.y, 76.0);
            assert_at(end.z, 26.0);
        }
    }
}

/// Two flanges in one plane: the one is closed to the end of the other, and further seams find that end where
/// it was put.
#[test]
fn ends_in_one_plane_are_closed_to_each_other() {
    let part = |first: Seam, second: Seam| {
        let wall = |left: f64, right: f64| {
            let mut made = flange(&["plate/front"], 90.0, 30.0);
            (made.left.inset, made.right.inset) = (n(left), n(right));
            Feature::Flange(made)
        };
        tree(&history(
            1.0,
            1.0,
            0.42,
            vec![
                base("plate", Profile::rectangle(&n(100.0), &n(80.0))),
                entry("west", wall(70.0, 10.0)),
                entry("middle", wall(40.0, 40.0)),
                entry("east", wall(10.0, 70.0)),
                entry("first", Feature::Seam(first)),
                entry("second", Feature::Seam(second)),
            ],
        ))
    };
    // The front edge runs along x; seen from inside, left is towards large x.
    let close = |e: &str, to: &str| Seam::Close { edge: edge(e), to: Neighbour::Edge(edge(to)), gap: n(3.0) };
    let made = part(close("middle/right", "west/left"), close("east/right", "middle/left")).unwrap();
    assert_at(side(&made, "west/left", 0.0)[0].x, 30.0);
    assert_at(side(&made, "middle/right", 0.0)[0].x, 33.0);
    assert_at(side(&made, "middle/left", 0.0)[0].x, 60.0);
    assert_at(side(&made, "east/right", 0.0)[0].x, 63.0);
    assert_at(Flat::of(&made, "west").apart(&Flat::of(&made, "middle")), 3.0);
    // An end that is found later cannot be what another one goes by.
    let later = part(close("east/right", "middle/left"), close("middle/left", "east/right"));
    assert_eq!(later.unwrap_err(), vec!["fold::seam_order"]);
}

#[test]
fn returns_in_one_plane_meet_like_a_picture_frame() {
    // Four walls with returns of 15 mm turned inwards: all in one plane, mitred at 45°, 0.8 apart.
    let mut more = Vec::new();
    for wall in ["a", "b", "c", "d"] {
        more.push(entry(&format!("r{wall}"), Feature::Flange(flange(&[&format!("{wall}/tip")], 90.0, 15.0))));
    }
    for (first, second) in [("a", "b"), ("b", "c"), ("c", "d"), ("d", "a")] {
        let seam = Seam::Meet {
            a: edge(&format!("r{first}/left")),
            b: edge(&format!("r{second}/right")),
            gap: n(0.8),
        };
        more.push(entry(&format!("mitre-{first}"), Feature::Seam(seam)));
    }
    let made = tree(&tray(more)).unwrap();
    for [first, second] in [["ra", "rb"], ["rb", "rc"], ["rc", "rd"], ["rd", "ra"]] {
        let gap = Flat::of(&made, first).apart(&Flat::of(&made, second));
        assert!((gap - 0.8).abs() < GAP_MM, "{gap}");
    }
    // From the tray's corner (100, 0) the mitre runs along x + y = 100, half a gap to each side.
    for p in side(&made, "ra/left", 0.0) {
        assert_at((100.0 - p.x - p.y) / 2.0_f64.sqrt(), 0.4);
    }
}

/// Area of the plate and lengths of its first two bends.
fn plate_and_bends(tree: &FoldTree) -> (f64, f64, f64) {
    (tree.panels()[0].region.area(), tree.bends()[0].length(), tree.bends()[1].length())
}

#[test]
fn corner_reliefs_take_from_panel_and_bends_what_hand_calculation_says() {
    // The flat of the plate is 92 x 72 mm and the bends are as long: the walls' sides, 1/√2 from the line of
    // the inner faces, stand out beyond them.
    let with = |corner_relief: Option<CornerRelief>| {
        let mut tray = tray(Vec::new());
        for entry in &mut tray.features {
            if let Feature::Flange(made) = &mut entry.feature {
                made.corner_relief.clone_from(&corner_relief);
            }
        }
        plate_and_bends(&tree(&tray).unwrap())
    };
    let assert_is = |got: (f64, f64, f64), lost: f64, short: f64| {
        assert_at(got.0, 92.0 * 72.0 - lost);
        assert_at(got.1, 92.0 - short);
        assert_at(got.2, 72.0 - short);
    };
    assert_is(with(None), 0.0, 0.0);
    assert_is(with(Some(CornerRelief::Tear)), 0.0, 0.0);
    assert_is(with(Some(CornerRelief::Square(Some(n(3.0))))), 4.0 * 9.0, 6.0);
    assert_is(with(Some(CornerRelief::Round(Some(n(3.0))))), 9.0 * maths::PI, 6.0);
    assert_is(with(Some(CornerRelief::None(Some(n(3.0))))), 0.0, 6.0);
    // By rule: thickness and inside radius, 4 mm.
    assert_is(with(Some(CornerRelief::Square(None))), 4.0 * 16.0, 8.0);
}

#[test]
fn reliefs_beside_a_bend_take_from_the_panel_what_hand_calculation_says() {
    let with = |relief: Relief| {
        let mut wall = flange(&["plate/front"], 90.0, 30.0);
        (wall.left.inset, wall.right.inset) = (n(10.0), n(12.0));
        wall.relief = relief;
        let made = tree(&history(
            2.0,
            2.0,
            0.42,
            vec![
                base("plate", Profile::rectangle(&n(100.0), &n(80.0))),
                entry("wall", Feature::Flange(wall)),
            ],
        ))
        .unwrap();
        assert_at(made.bends()[0].length(), 78.0);
        made.panels()[0].region.area()
    };
    let size = |width: f64, depth: f64| NotchSize { width: Some(n(width)), depth: Some(n(depth)) };
    // The bend starts 4 mm within the edge, on 78 mm of it.
    let bare = 100.0 * 80.0 - 78.0 * 4.0;
    assert_at(with(Relief::Tear), bare - 2.0 * 0.01 * 4.0);
    assert_at(with(Relief::None), bare - 22.0 * 4.0);
    assert_at(with(Relief::Square(size(3.0, 5.0))), bare - 2.0 * 3.0 * 9.0);
    // A half circle of radius 1.5 in place of the last 1.5 mm.
    assert_at(with(Relief::Round(size(3.0, 5.0))), bare - 2.0 * (3.0 * 7.5 + 0.5 * maths::PI * 2.25));
    // By rule 2 mm wide (the thickness) and 4 mm deep (thickness and radius).
    assert_at(with(Relief::by_rule()), bare - 2.0 * 2.0 * 8.0);
}
