//! Formed bumps: volumes and surfaces against handbook mensuration and against a fine mesh, surfaces that
//! carry their patches, names that last, room that is kept.
//!
//! Solids of revolution by the theorems of Pappus and Guldin (engineering handbooks: volume is the area of
//! the section times the way of its centroid); prisms as area times length.

#[allow(dead_code, reason = "tests and benches use different parts")]
#[path = "../benches/parts.rs"]
mod parts;

use kernel::fold::{Form, FormFace, Level, Patch, Ring, around_forms};
use kernel::geom::Vec3;
use kernel::history::feature::{
    Bump, BumpChange, BumpSide, DrawnLine, Feature, FoldSide, HeldFace, KeptSize, LineMarks, Offset, Pattern,
    StepFaces, XFrom,
};
use kernel::history::{EdgeShape, FeatureEntry, History, Number, Profile, ProfileEdge, Shape};
use kernel::quantity::maths;
use kernel::regenerate::{Part, regenerate};
use parts::{base, cutout, entry, flange, history, n, panel};
use proptest::prelude::*;

fn bump(profile: Shape, places: &[[f64; 2]], height: f64, draft: f64) -> Bump {
    Bump {
        panel: panel("plate"),
        profile,
        pattern: Pattern::At(places.iter().map(|[x, y]| [n(*x), n(*y)]).collect()),
        x_from: XFrom::Left,
        height: n(height),
        side: BumpSide::In,
        draft: n(draft),
        punch_radius: Some(n(3.0)),
        die_radius: Some(n(4.0)),
        corner_radius: None,
    }
}

fn circle(diameter: f64) -> Shape {
    Shape::Circle { diameter: n(diameter) }
}

fn opening(name: &str, diameter: f64, at: [f64; 2]) -> FeatureEntry {
    entry(name, Feature::Cutout(cutout("plate", circle(diameter), Pattern::At(vec![at.map(n)]))))
}

/// A plate of 300 x 200 with a wall at its front whose bend starts at y = 0, sheet 2 mm, and these features.
fn asked(features: Vec<FeatureEntry>) -> History {
    let mut wall = flange(&["plate/front"], 90.0, 30.0);
    wall.holds = HeldFace::BendStart;
    let mut all =
        vec![base("plate", Profile::rectangle(&n(300.0), &n(200.0))), entry("wall", Feature::Flange(wall))];
    all.extend(features);
    history(2.0, 2.0, 0.4, all)
}

fn try_made(features: Vec<FeatureEntry>) -> Result<Part, Vec<&'static str>> {
    regenerate(&asked(features))
        .map_err(|findings| findings.into_iter().map(|finding| finding.code).collect())
}

fn made(features: Vec<FeatureEntry>) -> Part {
    try_made(features).expect("the part can be made")
}

fn one(bump: Bump) -> Part {
    made(vec![entry("clear", Feature::Bump(bump))])
}

fn code(features: Vec<FeatureEntry>) -> &'static str {
    let codes = try_made(features).expect_err("it is refused");
    assert_eq!(codes.len(), 1, "{codes:?}");
    codes[0]
}

/// Volume and surface of a quarter of a tube of wall `inner` to `inner + 2` turned round an axis `centre`
/// away, bulging away from the axis (`+1`) or towards it: centroids of quarter discs and quarter arcs.
fn quarter_ring(inner: f64, centre: f64, sign: f64) -> (f64, f64) {
    let pi = maths::PI;
    let solid = |r: f64| maths::TAU * (centre + sign * 4.0 * r / (3.0 * pi)) * (pi * r * r / 4.0);
    let skin = |r: f64| maths::TAU * (centre + sign * 2.0 * r / pi) * (pi * r / 2.0);
    (solid(inner + 2.0) - solid(inner), skin(inner) + skin(inner + 2.0))
}

/// Upright bump of 20 mm, t = 2, punch 3, die 4, turned round the axis of a top of this radius: fillets of a
/// quarter turn, wall 20 − 4 − 5 = 11 mm from 3 to 5 mm outside the top; the foot 9 mm outside it.
fn turned(top: f64) -> (f64, f64) {
    let (punch, punch_skin) = quarter_ring(3.0, top, 1.0);
    let (die, die_skin) = quarter_ring(4.0, top + 9.0, -1.0);
    let ((a, b), pi) = ((top + 3.0, top + 5.0), maths::PI);
    (punch + die + pi * (b * b - a * a) * 11.0, punch_skin + die_skin + 2.0 * pi * (a + b) * 11.0)
}

#[test]
fn upright_round_bump_by_handbook_formulas() {
    let flat = made(vec![]);
    // Profile 70: the top's radius is 35 − 5 = 30.
    let part = one(bump(circle(70.0), &[[150.0, 100.0]], 20.0, 0.0));
    let form = &part.tree.forms()[0];
    assert_eq!(form.top().as_circle().unwrap().1, 30.0);
    assert_eq!(form.foot().as_circle().unwrap().1, 39.0);
    let pi = maths::PI;
    let (ring, skin) = turned(30.0);
    let flats = pi * (30.0 * 30.0 - 39.0 * 39.0);
    let volume = part.measures.volume - flat.measures.volume;
    assert!((volume - (ring + 2.0 * flats)).abs() < 1e-8, "{volume}");
    let surface = part.measures.surface - flat.measures.surface;
    assert!((surface - (skin + 2.0 * flats)).abs() < 1e-8, "{surface}");
    // The blank does not change, nor does the mass.
    assert_eq!(part.blank.region, flat.blank.region);
    assert_eq!(part.mass_kg(), flat.mass_kg());
}

#[test]
fn leaning_round_bump_as_a_frustum_with_rings_of_tori() {
    // Draft 30°, t = 2, h = 12, punch 3, die 4, profile 100. By trigonometry (tan 30° = 1/√3, the half turn
    // is 30° too): setback 12/√3 + 5/√3 = 17/√3, top 50 − 17/√3; die reach 4/√3.
    let part = one(bump(circle(100.0), &[[150.0, 100.0]], 12.0, 30.0));
    let form = &part.tree.forms()[0];
    let (root, pi) = (3.0_f64.sqrt(), maths::PI);
    let top = 50.0 - 17.0 / root;
    assert!((form.top().as_circle().unwrap().1 - top).abs() < 1e-12);
    let foot = 50.0 + 4.0 / root;
    assert!((form.foot().as_circle().unwrap().1 - foot).abs() < 1e-12);
    // Solids under each face, by slices z: a frustum of a cone for the wall, and for each fillet the body
    // turned from its circular segment: a disc of radius c ± √(r² − ζ²) has the area
    // π (c² ± 2 c √(r² − ζ²) + r² − ζ²), whose integral over ζ is elementary.
    let under_fillet = |c: f64, r: f64, sign: f64, from: f64, to: f64| {
        let root_integral = |z: f64| 0.5 * (z * (r * r - z * z).max(0.0).sqrt() + r * r * maths::asin(z / r));
        let plain = |z: f64| (c * c + r * r) * z - z * z * z / 3.0;
        pi * (plain(to) - plain(from) + sign * 2.0 * c * (root_integral(to) - root_integral(from)))
    };
    let under = |punch: f64, die: f64| {
        // Wall normal at 30° above the horizontal: sin 30° = 1/2, cos 30° = √3/2.
        let upper = (top + punch * 0.5 * root, 7.0 + 0.5 * punch);
        let lower = (foot - die * 0.5 * root, 4.0 - 0.5 * die);
        let (a, b) = (upper.0, lower.0);
        let frustum = pi * (upper.1 - lower.1) * (a * a + a * b + b * b) / 3.0;
        under_fillet(top, punch, 1.0, 0.5 * punch, punch)
            + frustum
            + under_fillet(foot, die, -1.0, -die, -0.5 * die)
    };
    // The raised face from z = 0 to 12; the hollow one from −2 to 10. The foot's disc between −2 and 0.
    let metal = under(5.0, 4.0) + pi * foot * foot * 2.0 - under(3.0, 6.0);
    let added = metal - pi * foot * foot * 2.0;
    assert!((form.added_volume() - added).abs() < 1e-8, "{} {added}", form.added_volume());
}

#[test]
fn upright_rectangular_bump_is_four_walls_and_one_turned_ring() {
    // Profile 70 x 50, setback 5: top 60 x 40, its corners rounded with 6: straight pieces 48 and 28.
    let mut rectangular =
        bump(Shape::Outline(Profile::rectangle(&n(70.0), &n(50.0))), &[[100.0, 80.0]], 20.0, 0.0);
    rectangular.corner_radius = Some(n(6.0));
    let part = one(rectangular);
    let form = &part.tree.forms()[0];
    assert_eq!(form.top().segments().len(), 8);
    let pi = maths::PI;
    // Section: quarter tubes of 3 to 5 and of 4 to 6, and 11 x 2.
    let section = pi / 4.0 * (25.0 - 9.0) + pi / 4.0 * (36.0 - 16.0) + 22.0;
    let (corners, corner_skin) = turned(6.0);
    let length = 2.0 * (48.0 + 28.0);
    let top_area = 60.0 * 40.0 - (4.0 - pi) * 36.0;
    // Steiner: the foot lies 9 outside.
    let foot_area = top_area + (length + 12.0 * pi) * 9.0 + pi * 81.0;
    assert!((form.foot().signed_area() - foot_area).abs() < 1e-9);
    let volume = section * length + corners + 2.0 * (top_area - foot_area);
    assert!((form.added_volume() - volume).abs() < 1e-8);
    let skin = pi / 2.0 * (3.0 + 5.0 + 4.0 + 6.0) + 22.0;
    let surface = skin * length + corner_skin + 2.0 * (top_area - foot_area);
    assert!((form.added_surface() - surface).abs() < 1e-8);
}

#[test]
fn a_rectangular_bump_with_the_least_radii_is_nearly_a_frustum() {
    // t = 2 with tools of 0.01 mm and corners of 0.01 mm, draft 45°, h = 10, profile 100 x 80. The space
    // under the hollow face up to the panel's hollow face is a frustum of a pyramid with conical corners:
    // its base is the mould line of the hollow face, 2 (√2 − 1) inside the profile, its top 10 further in.
    // Handbook: h (A1 + A2 + √(A1 A2)) / 3 holds for similar ends only; slices A(v) = A + L v + π v²
    // integrate to h (A + L w / 2 + π w² / 3) with w = 10.
    let mut sharp =
        bump(Shape::Outline(Profile::rectangle(&n(100.0), &n(80.0))), &[[100.0, 60.0]], 10.0, 45.0);
    sharp.punch_radius = Some(n(0.01));
    sharp.die_radius = Some(n(0.01));
    sharp.corner_radius = Some(n(0.01));
    let part = one(sharp);
    let form = &part.tree.forms()[0];
    let inset = 2.0 * (2.0_f64.sqrt() - 1.0) + 10.0;
    let (a, b) = (100.0 - 2.0 * inset, 80.0 - 2.0 * inset);
    let pi = maths::PI;
    let frustum = |a: f64, b: f64| 10.0 * (a * b + 2.0 * (a + b) * 5.0 + pi * 100.0 / 3.0);
    let hollow = under_face(form, FormFace::Hollow, 400);
    // Fillets of 0.01 mm on one side and 2.01 mm on the other; the die's is the larger one on the hollow face.
    let wedge = (2.01_f64 * 2.01) * (maths::tan(pi / 8.0) - pi / 8.0);
    let tolerance = wedge * 2.0 * (a + b + 40.0 * pi) + 1.0;
    assert!((hollow - frustum(a, b)).abs() < tolerance, "{hollow} {} {tolerance}", frustum(a, b));
    assert!(hollow > frustum(a, b), "the fillet at the foot only adds space");
}

/// Fine triangles of a patch: rows of points over shares of both directions.
fn triangles(patch: &Patch<'_>, steps: usize) -> Vec<[Vec3<f64>; 3]> {
    #[expect(clippy::cast_precision_loss)]
    let share = |i: usize| i as f64 / steps as f64;
    let mut all = Vec::with_capacity(2 * steps * steps);
    for i in 0..steps {
        for j in 0..steps {
            let at = |di: usize, dj: usize| patch.point(share(i + di), share(j + dj));
            all.extend([[at(0, 0), at(0, 1), at(1, 1)], [at(0, 0), at(1, 1), at(1, 0)]]);
        }
    }
    all
}

/// Volume between a face and the level it has at the panel, by prisms under triangles.
fn under_face(form: &Form, face: FormFace, steps: usize) -> f64 {
    let level = form.depth(form.section.level(face, Level::Panel));
    let rise = if form.side == BumpSide::In { 1.0 } else { -1.0 };
    let ring: f64 = form
        .patches()
        .filter(|patch| patch.face == face)
        .flat_map(|patch| triangles(&patch, steps))
        .map(|[a, b, c]| {
            let plan = 0.5 * ((b.x - a.x) * (c.y - a.y) - (c.x - a.x) * (b.y - a.y));
            let height = (a.z + b.z + c.z) / 3.0 - level;
            plan.abs() * height * rise
        })
        .sum();
    ring + form.top().signed_area() * form.section.height
}

/// Profiles with arcs, a concave corner, and corners of all kinds.
fn profiles() -> impl Strategy<Value = Shape> {
    let edge = |name: &str, shape| ProfileEdge { name: name.to_owned(), shape };
    let corner = |x: f64, y: f64| [n(x), n(y)];
    let angle = (40.0..90.0_f64, 40.0..80.0_f64, 4.0..12.0_f64).prop_map(move |(l, w, r)| {
        // An L whose concave corner is an arc of radius r.
        let (a, b) = (0.5 * l, 0.5 * w);
        Shape::Outline(Profile::new(
            vec![
                corner(0.0, 0.0),
                corner(l, 0.0),
                corner(l, b),
                corner(a + r, b),
                corner(a, b + r),
                corner(a, w),
                corner(0.0, w),
            ],
            vec![
                edge("front", EdgeShape::Line),
                edge("right", EdgeShape::Line),
                edge("step", EdgeShape::Line),
                edge("throat", EdgeShape::Arc(n(-r))),
                edge("inner", EdgeShape::Line),
                edge("back", EdgeShape::Line),
                edge("left", EdgeShape::Line),
            ],
        ))
    });
    let bowed = (40.0..90.0_f64, 30.0..80.0_f64, 60.0..200.0_f64).prop_map(|(l, w, r)| {
        let mut profile = Profile::rectangle(&n(l), &n(w));
        profile.edges[1].shape = EdgeShape::Arc(n(r));
        profile.edges[3].shape = EdgeShape::Arc(n(-r));
        Shape::Outline(profile)
    });
    let slot = (40.0..90.0_f64, 0.3..0.9_f64, 0.0..180.0_f64).prop_map(|(length, share, direction)| {
        Shape::Slot { length: n(length), width: n(length * share), direction: n(direction) }
    });
    prop_oneof![(10.0..90.0_f64).prop_map(circle), slot, bowed, angle]
}

fn random_bumps() -> impl Strategy<Value = Bump> {
    (
        profiles(),
        prop_oneof![0.5..4.0_f64, 4.0..15.0_f64],
        prop_oneof![Just(0.0), Just(45.0), 0.0..80.0_f64],
        [0.01..4.0_f64, 0.01..4.0_f64],
        prop::option::of(0.01..6.0_f64),
        any::<bool>(),
    )
        .prop_map(|(profile, height, draft, [punch, die], corner, inwards)| {
            let mut made = bump(profile, &[[110.0, 60.0]], height, draft);
            made.punch_radius = Some(n(punch));
            made.die_radius = Some(n(die));
            made.corner_radius = corner.map(n);
            made.side = if inwards { BumpSide::In } else { BumpSide::Out };
            made
        })
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(128))]

    #[test]
    fn volume_agrees_with_a_fine_mesh_and_patches_lie_on_their_surfaces(bump in random_bumps()) {
        if let Ok(part) = try_made(vec![entry("clear", Feature::Bump(bump))]) {
            let form = &part.tree.forms()[0];
            // Between the faces: what lies under the raised one less what lies under the hollow one, both
            // from the panel's own level. Errors of chords fall with the square of their number, so that two
            // meshes tell what a much finer one would give.
            let between = |steps: usize| {
                under_face(form, FormFace::Raised, steps) - under_face(form, FormFace::Hollow, steps)
            };
            let (coarse, fine) = (between(12), between(24));
            let limit = (4.0 * fine - coarse) / 3.0;
            let expected = form.added_volume();
            let scale = form.foot().signed_area() * form.section.height;
            prop_assert!((limit - expected).abs() < 1e-5 * scale, "{limit} {expected} {scale}");
            for patch in form.patches() {
                for along in [0.0, 0.3, 0.9] {
                    for across in [0.0, 0.4, 1.0] {
                        let p = patch.point(along, across);
                        let (distance, normal) = patch.surface.distance_and_normal(p);
                        prop_assert!(distance.abs() < 1e-9, "{distance} {patch:?}");
                        let drawn = patch.normal(along, across);
                        prop_assert!((normal - drawn).length() < 1e-6, "{normal:?} {drawn:?} {patch:?}");
                    }
                }
                let [a, b, c, d] = patch.corners();
                prop_assert_eq!([a, b, c, d],
                    [patch.point(0.0, 0.0), patch.point(0.0, 1.0), patch.point(1.0, 1.0), patch.point(1.0, 0.0)]);
            }
        }
    }

    #[test]
    fn patches_share_their_corners_with_neighbours_and_outlines(bump in random_bumps()) {
        if let Ok(part) = try_made(vec![entry("clear", Feature::Bump(bump))]) {
            let form = &part.tree.forms()[0];
            let count = form.top().segments().len();
            for face in FormFace::BOTH {
                let patches: Vec<Patch<'_>> = form.patches().filter(|p| p.face == face).collect();
                for (i, patch) in patches.iter().enumerate() {
                    let [a, b, c, d] = patch.corners();
                    // The next piece of the same ring.
                    let next = &patches[i - i % count + (i + 1) % count];
                    prop_assert_eq!([d, c], [next.corners()[0], next.corners()[1]]);
                    // The same piece of the next ring, or the foot.
                    match patches.get(i + count) {
                        Some(below) => prop_assert_eq!([b, c], [below.corners()[0], below.corners()[3]]),
                        None => {
                            let piece = form.foot().segments()[patch.piece];
                            prop_assert_eq!([b.x, b.y, c.x, c.y],
                                [piece.start.x, piece.start.y, piece.end.x, piece.end.y]);
                        }
                    }
                    if patch.ring == Ring::PunchFillet {
                        let piece = form.top().segments()[patch.piece];
                        prop_assert_eq!([a.x, a.y, d.x, d.y],
                            [piece.start.x, piece.start.y, piece.end.x, piece.end.y]);
                        prop_assert_eq!(a.z, form.top_depth(face));
                    }
                }
            }
        }
    }
}

#[test]
fn many_random_bumps_can_be_made() {
    use proptest::strategy::ValueTree;
    let mut runner = proptest::test_runner::TestRunner::deterministic();
    let mut could = 0;
    for _ in 0..200 {
        let bump = random_bumps().new_tree(&mut runner).unwrap().current();
        could += usize::from(try_made(vec![entry("clear", Feature::Bump(bump))]).is_ok());
    }
    assert!(could >= 60, "only {could} of 200 random bumps could be made");
}

#[test]
fn a_form_out_is_the_mirror_of_one_in() {
    let inwards = bump(circle(60.0), &[[100.0, 80.0]], 10.0, 30.0);
    let outwards = Bump { side: BumpSide::Out, ..inwards.clone() };
    let (up, down) = (one(inwards), one(outwards));
    let (up, down) = (&up.tree.forms()[0], &down.tree.forms()[0]);
    assert_eq!(up.added_volume(), down.added_volume());
    assert_eq!([up.top_depth(FormFace::Raised), up.top_depth(FormFace::Hollow)], [10.0, 8.0]);
    assert_eq!([down.top_depth(FormFace::Raised), down.top_depth(FormFace::Hollow)], [-12.0, -10.0]);
    for (a, b) in up.patches().zip(down.patches()) {
        let (p, q) = (a.point(0.3, 0.4), b.point(0.3, 0.4));
        // Mirrored in the middle of the sheet, n = −1.
        assert!((p.x - q.x).abs() + (p.y - q.y).abs() + (p.z + q.z + 2.0).abs() < 1e-12);
    }
}

#[test]
fn the_last_change_wins_and_the_name_stays() {
    let change = |profile: Option<Shape>, height: Option<Number>| {
        Feature::BumpChange(BumpChange { bump: "clear".into(), profile, height })
    };
    let part = made(vec![
        entry("clear", Feature::Bump(bump(circle(60.0), &[[100.0, 80.0]], 10.0, 30.0))),
        entry("first", change(Some(circle(80.0)), Some(n(12.0)))),
        entry("second", change(None, Some(n(14.0)))),
    ]);
    let form = &part.tree.forms()[0];
    assert_eq!((form.name.as_str(), form.section.height), ("clear", 14.0));
    let asked = one(bump(circle(80.0), &[[100.0, 80.0]], 14.0, 30.0));
    assert_eq!(form.top(), asked.tree.forms()[0].top());
}

#[test]
fn several_places_and_pieces_have_names_of_their_own() {
    let mut several = bump(
        Shape::Outline(Profile::rectangle(&n(50.0), &n(40.0))),
        &[[30.0, 60.0], [150.0, 60.0]],
        8.0,
        30.0,
    );
    several.corner_radius = Some(n(2.0));
    let part = one(several);
    let names: Vec<&str> = part.tree.forms().iter().map(|f| f.name.as_str()).collect();
    assert_eq!(names, ["clear.place-1", "clear.place-2"]);
    let form = &part.tree.forms()[0];
    let roles: Vec<&str> = (0..8).map(|i| form.role(i)).collect();
    let expected = ["front", "front+right", "right", "right+back", "back", "back+left", "left", "left+front"];
    assert_eq!(roles.iter().collect::<std::collections::BTreeSet<_>>(), expected.iter().collect());
    assert_eq!(roles.iter().position(|r| *r == "front").map(|i| roles[(i + 1) % 8]), Some("front+right"));
    assert_eq!(part.blank.forms.len(), 2);
}

#[test]
fn an_opening_on_the_top_goes_with_the_top() {
    // Top radius 30 − 5 = 25.
    let with = |opening_diameter: f64, x: f64| {
        vec![
            entry("clear", Feature::Bump(bump(circle(60.0), &[[150.0, 100.0]], 20.0, 0.0))),
            opening("view", opening_diameter, [x, 100.0]),
        ]
    };
    let part = made(with(12.0, 155.0));
    let (form, region) = (&part.tree.forms()[0], &part.tree.panels()[0].region);
    let (around, top) = (around_forms(region, &[form]), form.top_region(region));
    assert_eq!((around.contours().len(), top.contours().len()), (2, 2));
    let pi = maths::PI;
    assert!((top.area() - pi * (625.0 - 36.0)).abs() < 1e-9);
    assert!((around.area() - (300.0 * 200.0 - pi * 34.0 * 34.0)).abs() < 1e-8);
    // At x = 167 it comes to 2 mm from the top's outline, exactly one thickness.
    assert!(try_made(with(12.0, 167.0)).is_ok());
    assert_eq!(code(with(12.0, 167.01)), "fold::bump_opening_in_wall");
    assert_eq!(code(with(12.0, 180.0)), "fold::bump_opening_in_wall");
    assert_eq!(code(with(90.0, 150.0)), "fold::bump_off_panel");
    // The foot's radius is 34: beside it from 34 + 2 + 6 on.
    assert!(try_made(with(12.0, 192.0)).is_ok());
    assert_eq!(code(with(12.0, 191.99)), "fold::bump_near_opening");
}

#[test]
fn one_thickness_of_flat_is_kept_on_every_side() {
    // Foot radius 34: profile 60, upright, die 4.
    let at = |x: f64, y: f64| vec![entry("clear", Feature::Bump(bump(circle(60.0), &[[x, y]], 20.0, 0.0)))];
    assert!(try_made(at(150.0, 36.0)).is_ok());
    assert_eq!(code(at(150.0, 35.99)), "fold::bump_near_bend");
    assert!(try_made(at(36.0, 100.0)).is_ok());
    assert_eq!(code(at(35.99, 100.0)), "fold::bump_near_edge");
    assert_eq!(code(at(-80.0, 100.0)), "fold::bump_off_panel");
    let pair = |x: f64| {
        let both = [[60.0, 100.0], [x, 100.0]];
        vec![entry("clear", Feature::Bump(bump(circle(60.0), &both, 20.0, 0.0)))]
    };
    assert!(try_made(pair(130.0)).is_ok());
    assert_eq!(code(pair(129.99)), "fold::bump_near_bump");
    assert_eq!(code(pair(60.0)), "fold::bump_near_bump");
}

#[test]
fn shapes_that_no_tool_presses_are_refused_at_their_limits() {
    let with = |change: &dyn Fn(&mut Bump)| {
        let mut asked = bump(circle(60.0), &[[150.0, 100.0]], 20.0, 0.0);
        change(&mut asked);
        vec![entry("clear", Feature::Bump(asked))]
    };
    // Least height 4 + 3 + 2 = 9 for an upright wall: then fillet runs into fillet.
    assert!(try_made(with(&|b| b.height = n(9.0))).is_ok());
    assert_eq!(code(with(&|b| b.height = n(8.99))), "fold::bump_too_low");
    assert_eq!(code(with(&|b| b.height = n(0.0))), "fold::bump_size");
    assert_eq!(code(with(&|b| b.draft = n(90.0))), "fold::bump_draft");
    assert_eq!(code(with(&|b| b.draft = n(-1.0))), "fold::bump_draft");
    // At 45°: setback 20 + 5 (√2 − 1) = 22.0711; a circle of 44.14 has 0.001 too little.
    assert!(try_made(with(&|b| (b.draft, b.profile) = (n(45.0), circle(44.2)))).is_ok());
    assert_eq!(code(with(&|b| (b.draft, b.profile) = (n(45.0), circle(44.14)))), "fold::bump_top_closes");
    // A sharp concave corner never does; an arc must be above the die's reach, 4 mm for an upright wall.
    let corner = |x: f64, y: f64| [n(x), n(y)];
    let angle = |radius: Option<f64>| {
        let r = radius.unwrap_or(0.0);
        let mut corners = vec![
            corner(-30.0, -30.0),
            corner(30.0, -30.0),
            corner(30.0, 0.0),
            corner(r, 0.0),
            corner(0.0, r),
            corner(0.0, 30.0),
            corner(-30.0, 30.0),
        ];
        let line = |name: &str| ProfileEdge { name: name.to_owned(), shape: EdgeShape::Line };
        let mut edges: Vec<ProfileEdge> = (0..7).map(|i| line(&format!("e{i}"))).collect();
        match radius {
            Some(r) => edges[3].shape = EdgeShape::Arc(n(-r)),
            None => {
                corners.remove(4);
                edges.remove(4);
            }
        }
        Shape::Outline(Profile::new(corners, edges))
    };
    assert_eq!(code(with(&|b| b.profile = angle(None))), "fold::bump_concave_corner");
    assert_eq!(code(with(&|b| b.profile = angle(Some(4.0)))), "fold::bump_concave_corner");
    assert!(try_made(with(&|b| b.profile = angle(Some(4.02)))).is_ok());
}

#[test]
fn a_bump_behind_an_offset_lies_on_the_moved_piece() {
    // The right half of the plate is raised; its own bump travels with it, the other one stays.
    let step = Offset {
        panel: panel("plate"),
        line: DrawnLine::Through([n(150.0), n(0.0)], [n(150.0), n(200.0)]),
        marks: LineMarks::Middle,
        height: n(12.0),
        between: StepFaces::Same,
        turn: n(90.0),
        side: FoldSide::Up,
        inside_radius: None,
        keeps: KeptSize::Folded,
    };
    let both = [[60.0, 100.0], [240.0, 100.0]];
    let all = vec![
        base("plate", Profile::rectangle(&n(300.0), &n(200.0))),
        entry("step", Feature::Offset(step)),
        entry("clear", Feature::Bump(bump(circle(60.0), &both, 10.0, 30.0))),
    ];
    let part = regenerate(&history(2.0, 2.0, 0.4, all)).unwrap();
    let names: Vec<String> =
        part.tree.forms().iter().map(|f| part.tree.panel(f.panel).name.to_string()).collect();
    assert_eq!(names.iter().collect::<std::collections::BTreeSet<_>>().len(), 2, "{names:?}");
    assert!(names.iter().all(|name| !name.ends_with(".web")), "{names:?}");
    let frames = part.tree.placements(&kernel::fold::FoldFractions::all(&part.tree, 1.0));
    let middles: Vec<Vec3<f64>> = part
        .tree
        .forms()
        .iter()
        .map(|form| {
            let (centre, _) = form.top().as_circle().unwrap();
            frames[form.panel.index()].lift(centre, form.top_depth(FormFace::Raised))
        })
        .collect();
    let heights: Vec<f64> = middles.iter().map(|p| p.z).collect();
    let [low, high] = [heights[0].min(heights[1]), heights[0].max(heights[1])];
    assert!((low - 10.0).abs() < 1e-9 && (high - 22.0).abs() < 1e-9, "{heights:?}");
    // Places count as drawn: along y nothing has moved.
    assert!(middles.iter().all(|p| (p.y - 100.0).abs() < 1e-9), "{middles:?}");
}

#[test]
fn strain_and_height_are_compared_with_elongation_and_thickness() {
    // DC01 at 2 mm bears 28 % (EN 10130). Upright, t = 2, tools 3 and 4, height 9.5: fillets 5 + 5 mm at the
    // middle layer, π/2 · 9 + 0.5 = 14.637 mm over a width of 9 mm: 62.6 %, thinning 38.5 %. 3 t is 6 mm.
    let part = one(bump(circle(60.0), &[[150.0, 100.0]], 9.5, 0.0));
    let found: Vec<(&str, &str)> = part
        .findings
        .iter()
        .filter(|f| f.code.starts_with("check::bump_"))
        .map(|f| (f.code, f.message.as_str()))
        .collect();
    let [(strain, words), (height, high)] = found.as_slice() else { panic!("{found:?}") };
    assert_eq!((*strain, *height), ("check::bump_strain", "check::bump_height"));
    assert!(words.contains("by about 62.6 % and thins by 38.5 %"), "{words}");
    assert_eq!(
        *high,
        "bump `clear` is 9.50 mm high, at most 6.00 mm (3 t; common practice, no source): 3.50 mm too much"
    );
    // At a draft of 60° and 6 mm, the fillets turn through 30°: tan 15° = 0.267949, width
    // 6 · 1.732051 + 9 · 0.267949 = 12.803848, wall 12 − 2.411543 = 9.588457, developed π/6 · 9 + 9.588457
    // = 14.300846: 11.7 %.
    let gentle = one(bump(circle(90.0), &[[150.0, 100.0]], 6.0, 60.0));
    assert!(gentle.findings.iter().all(|f| !f.code.starts_with("check::bump_")), "{:?}", gentle.findings);
    let section = &gentle.tree.forms()[0].section;
    assert!((section.width() - 12.803_848).abs() < 1e-6);
    assert!((section.elongation() - (14.300_846 / 12.803_848 - 1.0)).abs() < 1e-6);
}

#[test]
fn the_blank_is_marked_and_not_cut() {
    let asked = asked(vec![entry("clear", Feature::Bump(bump(circle(60.0), &[[100.0, 80.0]], 10.0, 30.0)))]);
    let part = regenerate(&asked).unwrap();
    let files = part.files(&asked, &part.details(&asked)).unwrap();
    let text = |wanted: &str| {
        let (_, bytes) = files.iter().find(|(name, _)| *name == wanted).unwrap();
        String::from_utf8(bytes.clone()).unwrap()
    };
    // Foot and top are circles on a layer of their own; 8 is the layer's group code.
    let dxf = text("blank.dxf");
    let circles: Vec<&str> = dxf.split("CIRCLE\n").skip(1).collect();
    assert_eq!(circles.len(), 2);
    assert!(circles.iter().all(|c| c.contains("  8\nFORM_UP\n")), "{circles:?}");
    let svg = text("blank.svg");
    assert_eq!(svg.matches("<title>clear, pressed in</title>").count(), 1);
    let report: serde_json::Value = serde_json::from_str(&text("report.json")).unwrap();
    let bump = &report["bumps"][0];
    assert_eq!((bump["name"].as_str(), bump["panel"].as_str()), (Some("clear"), Some("plate")));
    assert_eq!((bump["height_mm"].as_f64(), bump["draft_deg"].as_f64()), (Some(10.0), Some(30.0)));
    let section = &part.tree.forms()[0].section;
    let thinning = bump["thinning_percent"].as_f64().unwrap();
    assert!((thinning - 100.0 * section.thinning()).abs() < 1e-6, "{thinning}");
}
