//! The exact boundary of parts with cuts of every kind through their bends: counts by hand, volume by the
//! divergence theorem over its faces, and the mesh that is cut from it.

#[allow(dead_code, reason = "tests and benches use different parts")]
#[path = "../benches/parts.rs"]
mod parts;

use std::collections::BTreeMap;

use kernel::fold::FoldFractions;
use kernel::geom::Vec3;
use kernel::history::feature::{Cutout, DrawnLine, Feature, FoldLine, FoldSide, LineMarks, Pattern, Reach};
use kernel::history::{EdgeShape, History, Profile, ProfileEdge, Shape};
use kernel::quantity::maths;
use kernel::regenerate::{Part, regenerate};
use kernel::solid::brep::{Brep, FaceCounts, Surface3};
use kernel::solid::{Mesh, Zone};
use parts::{base, cutout, entry, five_panel_cover, flange, history, n, panel};

/// A plate with one flange.
fn l_bracket() -> History {
    history(
        2.0,
        2.0,
        0.44,
        vec![
            base("plate", Profile::rectangle(&n(50.0), &n(100.0))),
            entry("leg", Feature::Flange(flange(&["plate/right"], 90.0, 30.0))),
        ],
    )
}

/// A disc of 70 mm radius, bent along a slanted line: the bend ends in arcs.
fn bent_disc(turn: f64, radius: f64, side: FoldSide, at: f64) -> History {
    let arc = |name: &str, y: f64| ProfileEdge {
        name: name.to_owned(),
        shape: EdgeShape::ArcThrough([n(0.0), n(y)]),
    };
    let disc = Profile::new(
        vec![[n(-70.0), n(0.0)], [n(70.0), n(0.0)]],
        vec![arc("south", -70.0), arc("north", 70.0)],
    );
    let fold = FoldLine {
        panel: panel("disc"),
        line: DrawnLine::Through([n(60.0), n(at)], [n(-60.0), n(at + 10.0)]),
        marks: LineMarks::Middle,
        turn: n(turn),
        side,
        inside_radius: None,
    };
    history(2.0, radius, 0.4, vec![base("disc", disc), entry("tip", Feature::FoldLine(fold))])
}

fn folded(part: &Part) -> Brep {
    part.brep(&FoldFractions::all(&part.tree, 1.0))
}

/// Number of vertices, edges and faces.
fn sizes(brep: &Brep) -> [usize; 3] {
    [brep.vertices().len(), brep.edges().len(), brep.faces().len()]
}

/// Places and weights of Gauss-Legendre quadrature with five points on (−1, 1).
const GAUSS: [(f64, f64); 5] = [
    (-0.906_179_845_938_664, 0.236_926_885_056_189_08),
    (-0.538_469_310_105_683_1, 0.478_628_670_499_366_47),
    (0.0, 0.568_888_888_888_888_9),
    (0.538_469_310_105_683_1, 0.478_628_670_499_366_47),
    (0.906_179_845_938_664, 0.236_926_885_056_189_08),
];

fn integral(function: impl Fn(f64) -> f64) -> f64 {
    let pieces = 24;
    let half = 0.5 / f64::from(pieces);
    (0..pieces)
        .map(|i| {
            let middle = (2.0 * f64::from(i) + 1.0) * half;
            half * GAUSS.iter().map(|(place, weight)| weight * function(middle + half * place)).sum::<f64>()
        })
        .sum()
}

/// A small step of a share: differences over four points are then good to about 1e-11, and stay within the
/// edge at every place of [`integral`].
const STEP: f64 = 5e-4;

/// Derivative by the share, with an error of the fourth power of the step.
fn velocity(at: impl Fn(f64) -> Vec3<f64>, t: f64) -> Vec3<f64> {
    let near = at(t + STEP) - at(t - STEP);
    let far = at(t + 2.0 * STEP) - at(t - 2.0 * STEP);
    (near.times(8.0) - far).times(1.0 / (12.0 * STEP))
}

/// A third of the flux of the position vector out of all faces.
fn volume_by_divergence(brep: &Brep) -> f64 {
    brep.faces().iter().map(|face| flux(brep, face)).sum::<f64>() / 3.0
}

fn flux(brep: &Brep, face: &kernel::solid::brep::Face) -> f64 {
    // Sums a function of place and velocity along all loops.
    let around = |function: &dyn Fn(Vec3<f64>, Vec3<f64>) -> f64| -> f64 {
        brep.loops(face)
            .flatten()
            .map(|used| {
                let edge = &brep.edges()[used.edge.index()];
                let sign = if brep.ends(*used) == edge.ends { 1.0 } else { -1.0 };
                sign * integral(|t| function(brep.point_on(edge, t), velocity(|t| brep.point_on(edge, t), t)))
            })
            .sum()
    };
    match &face.surface {
        Surface3::Plane(frame) => {
            let twice = around(&|p, v| (p - frame.origin).cross(v).dot(frame.n));
            0.5 * twice * frame.origin.dot(frame.n)
        }
        Surface3::Cylinder { frame, radius } => around(&|p, v| {
            let local = frame.coordinates(p);
            let turning = (local.x * v.dot(frame.y) - local.y * v.dot(frame.x)) / (radius * radius);
            let outwards = (frame.x.times(local.x) + frame.y.times(local.y)).times(1.0 / radius);
            -(frame.origin.dot(outwards) + radius) * radius * local.z * turning
        }),
        Surface3::Cone { .. } | Surface3::Torus { .. } => panic!("no part here has forms"),
        Surface3::Rolled { piece, map } => {
            let thickness = 2.0;
            let at = |t: f64, depth: f64| {
                let p = piece.point_at(t);
                map.point(p.x, p.y, depth)
            };
            integral(|t| {
                integral(|share| {
                    let depth = -thickness * share;
                    let along = velocity(|t| at(t, depth), t);
                    let inwards = (at(t, 0.0) - at(t, -thickness)).times(1.0 / thickness);
                    at(t, depth).dot(along.cross(inwards)) * thickness
                })
            })
        }
    }
}

fn is_closed(mesh: &Mesh) -> bool {
    let mut edges: BTreeMap<(u32, u32), u32> = BTreeMap::new();
    for face in &mesh.faces {
        for i in 0..3 {
            *edges.entry((face.corners[i], face.corners[(i + 1) % 3])).or_default() += 1;
        }
    }
    edges.iter().all(|((a, b), count)| *count == 1 && edges.get(&(*b, *a)) == Some(&1))
}

#[test]
fn l_bracket_by_hand() {
    let part = regenerate(&l_bracket()).unwrap();
    let brep = folded(&part);
    // Eight corners of the sheet, two of them at either end of the bend; ten lines on each side of it; eight
    // edges through it. Plate, bend and leg from both sides and the eight cut edges.
    assert_eq!(sizes(&brep), [16, 28, 14]);
    assert_eq!(brep.face_counts(), FaceCounts { planes: 12, cylinders: 2, ..FaceCounts::default() });
    assert_eq!((brep.first_fault(), brep.handles()), (None, Some(0)));
    // docs/math/fold-map.md, numbers to check by hand: 15,342.4778 mm³.
    assert!((volume_by_divergence(&brep) - 15_342.477_8).abs() < 1e-4);
}

#[test]
fn a_round_opening_whose_middle_lies_in_a_bend_without_radius_parts_it_into_halves() {
    // The circle's vertices are its outermost points along the bend; it reaches into both panels or into one.
    let plate = base("plate", Profile::rectangle(&n(50.0), &n(100.0)));
    let leg = entry("leg", Feature::Flange(flange(&["plate/back"], 90.0, 30.0)));
    let blank = regenerate(&history(4.0, 0.0, 0.4, vec![plate.clone(), leg.clone()])).unwrap().blank;
    let [start, end] = [blank.bend_lines[0].start[0].y, blank.bend_lines[0].end[0].y];
    for (y, diameter) in [(0.5 * (start + end), 7.8), (start + 0.3, 3.0), (end - 0.3, 3.0)] {
        let shape = Shape::Circle { diameter: n(diameter) };
        let hole = cutout("plate", shape, Pattern::At(vec![[n(20.0), n(y)]]));
        let hole = entry("hole", Feature::Cutout(Cutout { reach: Reach::Blank, ..hole }));
        let part = regenerate(&history(4.0, 0.0, 0.4, vec![plate.clone(), leg.clone(), hole])).unwrap();
        let folded = FoldFractions::all(&part.tree, 1.0);
        let brep = part.brep(&folded);
        assert_eq!((brep.first_fault(), brep.handles()), (None, Some(1)), "{y}");
        assert!(part.mesh(&folded, 0.05).is_ok());
    }
}

#[test]
fn a_bend_without_radius_has_one_edge_instead_of_its_inner_face() {
    let mut history = l_bracket();
    history.sheet.inside_radius = 0.0;
    let part = regenerate(&history).unwrap();
    let brep = folded(&part);
    // Against the bracket with a radius: two vertices become one at both ends, three lines on the inner side
    // (two creases, and the two ends that are points now) become one, and the inner face of the bend is gone.
    assert_eq!(sizes(&brep), [14, 25, 13]);
    assert_eq!((brep.first_fault(), brep.handles()), (None, Some(0)));
    let mesh = part.mesh(&FoldFractions::all(&part.tree, 1.0), 0.01).unwrap();
    assert!(is_closed(&mesh));
    // Every corner of a triangle is a point of its own: none has shrunk to a line.
    assert!(mesh.triangles().all(|[a, b, c]| (b - a).cross(c - a).length() > 1e-9));
}

#[test]
fn each_round_hole_adds_a_handle_and_two_half_cylinders() {
    let part = regenerate(&five_panel_cover()).unwrap();
    let brep = folded(&part);
    assert_eq!((brep.first_fault(), brep.handles()), (None, Some(12)));
    // Five panels from both sides, and the cut edges; four bends from both sides and twelve holes of two arcs.
    assert_eq!(brep.face_counts().cylinders, 2 * 4 + 2 * 12);
    let by_divergence = volume_by_divergence(&brep);
    assert!((by_divergence / part.measures.volume - 1.0).abs() < 1e-9, "{by_divergence}");
}

#[test]
fn arcs_through_bends_keep_volume_topology_and_mesh() {
    for (turn, radius, side, at) in [
        (90.0, 2.0, FoldSide::Up, 20.0),
        (90.0, 2.0, FoldSide::Down, 20.0),
        (30.0, 12.0, FoldSide::Up, -30.0),
        (175.0, 5.0, FoldSide::Down, 50.0),
        (120.0, 0.0, FoldSide::Up, 40.0),
        (60.0, 0.0, FoldSide::Down, 60.0),
    ] {
        let part = regenerate(&bent_disc(turn, radius, side, at)).unwrap();
        let brep = folded(&part);
        assert_eq!((brep.first_fault(), brep.handles()), (None, Some(0)));
        // The bend's two ends are arcs through it; without a radius one of its faces is none.
        assert_eq!(brep.face_counts().rolled, 2);
        assert_eq!(brep.face_counts().planes, 4);
        let by_divergence = volume_by_divergence(&brep);
        assert!(
            (by_divergence / part.measures.volume - 1.0).abs() < 1e-7,
            "{turn} {radius}: {by_divergence} against {}",
            part.measures.volume
        );
        for chord in [0.1, 0.01, 0.001] {
            let mesh = part.mesh(&FoldFractions::all(&part.tree, 1.0), chord).unwrap();
            assert!(is_closed(&mesh));
            // Chords leave a surface by at most the chord tolerance.
            let bound = chord * part.measures.surface;
            let volume = (mesh.volume() - part.measures.volume).abs();
            assert!(volume <= bound, "{turn} {radius}: {volume} against {bound} at {chord}");
            // A chord of sagitta s over an arc of radius ρ is short by s / (3 ρ) of its length.
            let surface = (mesh.surface() - part.measures.surface).abs();
            assert!(surface <= bound, "{turn} {radius}: {surface} against {bound} at {chord}");
        }
        for fraction in [0.0, 0.01, 0.5] {
            let fractions = FoldFractions::all(&part.tree, fraction);
            let brep = part.brep(&fractions);
            assert_eq!((brep.first_fault(), brep.handles()), (None, Some(0)));
            assert!(is_closed(&part.mesh(&fractions, 0.05).unwrap()));
        }
    }
}

#[test]
fn every_face_of_a_flat_part_is_flat_or_square_to_it() {
    let part = regenerate(&bent_disc(90.0, 2.0, FoldSide::Up, 20.0)).unwrap();
    let brep = part.brep(&FoldFractions::all(&part.tree, 0.0));
    for face in brep.faces() {
        match (&face.surface, face.zone) {
            (Surface3::Plane(frame), _) => {
                assert!(frame.n.z.abs() < 1e-12 || (frame.n.z.abs() - 1.0).abs() < 1e-12);
            }
            (Surface3::Cylinder { frame, .. }, _) => assert!((frame.n.z.abs() - 1.0).abs() < 1e-12),
            (Surface3::Cone { .. } | Surface3::Torus { .. } | Surface3::Rolled { .. }, zone) => {
                panic!("{zone:?} is neither")
            }
        }
    }
    let t = 2.0;
    let disc = 4_900.0 * maths::PI * t;
    assert!((volume_by_divergence(&brep) / disc - 1.0).abs() < 1e-9);
    assert!(brep.faces().iter().any(|f| matches!(f.zone, Zone::Bend(_))));
}
