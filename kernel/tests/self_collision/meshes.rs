//! Collisions of random parts against the meshes of their zones, met by a library that knows nothing of them.

use kernel::fold::{Bend, FoldFractions};
use kernel::geom::Vec3;
use kernel::history::feature::{Bump, BumpSide, Feature, FoldSide, HeldFace, Pattern, XFrom};
use kernel::history::{History, Profile, Shape};
use kernel::ident::FormId;
use kernel::quantity::maths;
use kernel::regenerate::{Part, regenerate};
use kernel::solid::Zone;
use parry3d_f64::math::{Pose, Vector};
use parry3d_f64::query::intersection_test;
use parry3d_f64::shape::TriMesh;
use proptest::prelude::*;
use proptest::strategy::ValueTree;
use proptest::test_runner::TestRunner;

use super::found;
use super::parts::{base, entry, flange, history, line, n, outline, panel};

/// How far the meshes may leave the true zones, in mm.
const CHORD_MM: f64 = 0.005;

/// Whether sheet joins two zones, panels before bends before forms.
fn joined(part: &Part, a: Zone, b: Zone) -> bool {
    let beside = |bend: &Bend, panel| bend.parent == panel || bend.child == panel;
    match (a, b) {
        (Zone::Panel(panel), Zone::Bend(bend)) => beside(part.tree.bend(bend), panel),
        (Zone::Panel(panel), Zone::Form(form)) => part.tree.forms()[form.index()].panel == panel,
        (Zone::Panel(_) | Zone::Bend(_) | Zone::Form(_), _) => false,
    }
}

/// The mesh of each zone, every vertex moved inwards by `shrink` mm from all faces of the zone that meet there.
/// Creases have no face and stay where they are along the sheet.
fn zone_meshes(part: &Part, shrink: f64) -> Vec<(Zone, TriMesh)> {
    let folded = FoldFractions::all(&part.tree, 1.0);
    let mesh = part.mesh(&folded, CHORD_MM).expect("no outline touches another one");
    let panels = part.tree.panels().iter().map(|p| Zone::Panel(p.id));
    let bends = part.tree.bends().iter().map(|b| Zone::Bend(b.id));
    let forms = (0..part.tree.forms().len()).map(|index| Zone::Form(FormId::new(index)));
    panels
        .chain(bends)
        .chain(forms)
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
                for _ in 0..100 {
                    if normals.iter().all(|normal| normal.dot(by) <= -shrink) {
                        break;
                    }
                    for normal in normals {
                        by = by + normal.times((-shrink - normal.dot(by)).min(0.0));
                    }
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
fn crowded() -> impl Strategy<Value = History> {
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

/// How collisions of random parts compare with their meshes.
#[derive(Default)]
struct Compared {
    parts: u32,
    /// Pairs that were found, and pairs near which nothing was found nor met.
    found: u32,
    /// Pairs too near to touching to say.
    doubtful: u32,
    /// Parts without a collision.
    clear: u32,
}

/// Whatever is found, unshrunk meshes meet there; whatever is not found, meshes shrunk by 0.05 mm do not. Only
/// pairs that `counts` are counted.
fn compare(
    parts: u32,
    strategy: &impl Strategy<Value = History>,
    is_wanted: impl Fn(&Part) -> bool,
    counts: impl Fn(&[Zone; 2]) -> bool,
) -> Compared {
    let mut runner = TestRunner::deterministic();
    let mut compared = Compared::default();
    while compared.parts < parts {
        let history = strategy.new_tree(&mut runner).expect("the strategy never rejects").current();
        let Ok(part) = regenerate(&history) else { continue };
        if !is_wanted(&part) {
            continue;
        }
        compared.parts += 1;
        let got = found(&part);
        let (meet, meet_deep) = (meshes_meet(&part, 0.0), meshes_meet(&part, 0.05));
        for collision in &got {
            // Meshes of round zones lie inside them.
            let touches = collision.depth < 4.0 * CHORD_MM;
            assert!(touches || meet.contains(&collision.zones), "{collision:?} does not meet: {history:?}");
        }
        for pair in &meet_deep {
            let is_found = got.iter().any(|c| c.zones == *pair);
            assert!(is_found, "{pair:?} meet, but were not found: {history:?}");
        }
        let of =
            |pairs: &[[Zone; 2]]| u32::try_from(pairs.iter().filter(|p| counts(p)).count()).expect("few");
        let found = of(&got.iter().map(|c| c.zones).collect::<Vec<_>>());
        compared.found += found;
        compared.doubtful += of(&meet) - of(&meet_deep);
        compared.clear += u32::from(found == 0);
    }
    compared
}

#[test]
fn collisions_are_those_of_the_meshes_of_the_zones() {
    let Compared { parts, found, doubtful, clear } = compare(250, &crowded(), |_| true, |_| true);
    assert!(
        parts - clear >= 50 && clear >= 50 && 10 * doubtful <= found,
        "{parts} {found} {doubtful} {clear}"
    );
}

/// A bump to be set on some panel, its height, and how far off the panel's middle it stands.
fn loose_bump() -> impl Strategy<Value = (Bump, f64, [f64; 2])> {
    let profile = prop_oneof![
        (14.0..30.0_f64).prop_map(|diameter| Shape::Circle { diameter: n(diameter) }),
        (14.0..30.0_f64, 14.0..30.0_f64, prop_oneof![Just(0.0), 0.0..90.0_f64])
            .prop_map(|(x, y, turn)| Shape::Outline(turned_rectangle(0.5 * x, 0.5 * y, turn))),
    ];
    let draft = prop_oneof![Just(0.0), 0.0..30.0_f64];
    let off = prop::array::uniform2(-6.0..6.0_f64);
    (profile, 3.0..24.0_f64, draft, prop::bool::weighted(0.3), off).prop_map(
        |(profile, height, draft, outwards, off)| {
            let bump = Bump {
                panel: panel("plate"),
                profile,
                pattern: Pattern::At(Vec::new()),
                x_from: XFrom::Left,
                height: n(height),
                side: if outwards { BumpSide::Out } else { BumpSide::In },
                draft: n(draft),
                punch_radius: None,
                die_radius: None,
                corner_radius: None,
            };
            (bump, height, off)
        },
    )
}

fn turned_rectangle(x: f64, y: f64, degrees: f64) -> Profile {
    let (sin, cos) = maths::sin_cos(degrees.to_radians());
    let corners = [[-x, -y], [x, -y], [x, y], [-x, y]].map(|[x, y]| [x * cos - y * sin, x * sin + y * cos]);
    outline(&corners, ["front", "right", "back", "left"].map(line).into())
}

/// A trough with bumps on plate, walls and lip, inwards and outwards. Its walls lean in or out, or stand upright
/// at a distance that the bump of the left one, or those of both, just fill or do not.
fn bumpy() -> impl Strategy<Value = History> {
    let wall = || (60.0..120.0_f64, 50.0..70.0_f64);
    let lip = prop::option::of((60.0..140.0_f64, 25.0..60.0_f64));
    let bumps = [0.3, 0.9, 0.9, 0.6].map(|share| prop::option::weighted(share, loose_bump()));
    let gap = (20.0..50.0_f64, 0..3_usize, -0.5..0.5_f64);
    (gap, prop_oneof![Just(0.8), Just(1.5)], wall(), wall(), lip, bumps).prop_map(
        |((gap, filled_by, spare), thickness, mut left, mut right, lip, bumps)| {
            let high = |bump: &Option<(Bump, f64, [f64; 2])>| bump.as_ref().map_or(0.0, |(_, high, _)| *high);
            let filled: f64 = bumps[1..=filled_by].iter().map(high).sum();
            let gap = if filled > 0.0 { filled + spare } else { gap };
            if filled > 0.0 {
                (left.0, right.0) = (90.0, 90.0);
            }
            let mut features = vec![base("plate", Profile::rectangle(&n(gap), &n(60.0)))];
            let flanges = [("left", "plate/left", left), ("right", "plate/right", right)];
            for (name, edge, (turn, length)) in flanges.into_iter().chain(lip.map(|l| ("lip", "left/tip", l)))
            {
                let mut made = flange(&[edge], turn, length);
                made.holds = HeldFace::Inner;
                features.push(entry(name, Feature::Flange(made)));
            }
            let lengths = [Some(60.0), Some(left.1), Some(right.1), lip.map(|(_, length)| length)];
            let panels = ["plate", "left", "right", "lip"].into_iter().zip(lengths).zip(bumps);
            for ((on, length), bump) in panels {
                let (Some(length), Some((mut bump, _, [x, y]))) = (length, bump) else { continue };
                let middle = if on == "plate" { 0.5 * gap } else { 30.0 };
                bump.panel = panel(on);
                bump.pattern = Pattern::At(vec![[n(middle + x), n(0.5 * length + y)]]);
                features.push(entry(&format!("{on}-bump"), Feature::Bump(bump)));
            }
            history(thickness, 1.0, 0.42, features)
        },
    )
}

#[test]
fn collisions_of_bumps_are_those_of_their_meshes() {
    let with_a_form = |pair: &[Zone; 2]| matches!(pair[1], Zone::Form(_));
    let Compared { parts, found, doubtful, clear } =
        compare(300, &bumpy(), |part| !part.tree.forms().is_empty(), with_a_form);
    assert!(
        parts - clear >= 80 && clear >= 80 && 10 * doubtful <= found,
        "{parts} {found} {doubtful} {clear}"
    );
}
