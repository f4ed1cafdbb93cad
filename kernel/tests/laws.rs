//! Laws that hold for every part that can be made, tried on random histories that seek trouble.
//!
//! Many random histories (`random/mod.rs`) cannot be made; those must be refused with a finding, never with a
//! panic. At least a third can be, which the last test counts.

#[allow(dead_code, reason = "tests and benches use different parts")]
#[path = "../benches/parts.rs"]
mod parts;
mod random;

use std::collections::BTreeMap;

use kernel::dimension::{BlankSize, SheetNumbers, Skeleton, settle};
use kernel::fold::{EdgeLabel, FoldFractions};
use kernel::geom::{Placement, Point2, Segment, Vec3};
use kernel::history::feature::{Feature, FoldSide, HeldFace};
use kernel::history::{EdgeShape, Profile, ProfileEdge, Target};
use kernel::quantity::{maths, tolerance};
use kernel::regenerate::{Part, regenerate};
use kernel::solid::Mesh;
use parts::{base, entry, flange, history, n};
use proptest::prelude::*;
use proptest::strategy::ValueTree;
use proptest::test_runner::TestRunner;
use random::{random_history, random_part};

/// Every edge of the mesh belongs to exactly two triangles, run in opposite directions.
fn is_closed(mesh: &Mesh) -> bool {
    let edges = uses_of_edges(mesh);
    edges.iter().all(|((a, b), count)| *count == 1 && edges.get(&(*b, *a)) == Some(&1))
}

/// Every edge is run as often one way as the other.
fn is_balanced(mesh: &Mesh) -> bool {
    let edges = uses_of_edges(mesh);
    edges.iter().all(|((a, b), count)| edges.get(&(*b, *a)) == Some(count))
}

fn uses_of_edges(mesh: &Mesh) -> BTreeMap<(u32, u32), u32> {
    let mut edges: BTreeMap<(u32, u32), u32> = BTreeMap::new();
    for face in &mesh.faces {
        for i in 0..3 {
            *edges.entry((face.corners[i], face.corners[(i + 1) % 3])).or_default() += 1;
        }
    }
    edges
}

fn apart(a: Placement<f64>, b: Placement<f64>) -> f64 {
    let d = |p: Vec3<f64>, q: Vec3<f64>| (p - q).length();
    d(a.origin, b.origin).max(d(a.x, b.x)).max(d(a.y, b.y)).max(d(a.n, b.n))
}

/// Volume of the folded part by the blank: a bend's middle fibre has radius r + t/2, its neutral one r + K t.
fn volume_from_blank(part: &Part) -> f64 {
    let t = part.tree.thickness();
    let bends: f64 =
        part.tree.bends().iter().map(|b| b.length() * b.turn() * t * t * (0.5 - b.k_factor())).sum();
    part.blank.region.area() * t + bends
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(600))]

    #[test]
    fn blank_area_is_panels_and_strips(history in random_history()) {
        let Ok(part) = regenerate(&history) else { return Ok(()) };
        let panels: f64 = part.tree.panels().iter().map(|p| p.region.area()).sum();
        let strips: f64 = part.tree.bends().iter().map(|b| b.length() * b.allowance()).sum();
        prop_assert!((part.blank.region.area() - panels - strips).abs() < 1e-6 * (panels + strips));
    }

    #[test]
    fn folded_volume_follows_from_the_blank(history in random_history()) {
        let Ok(part) = regenerate(&history) else { return Ok(()) };
        prop_assert!((part.measures.volume - volume_from_blank(&part)).abs() < 1e-9 * part.measures.volume);
    }

    #[test]
    fn mesh_is_closed_and_its_volume_converges(history in random_history(), fraction in 0.0..1.0) {
        let Ok(part) = regenerate(&history) else { return Ok(()) };
        let folded = FoldFractions::all(&part.tree, 1.0);
        let error = |chord: f64| {
            let mesh = part.mesh(&folded, chord).expect("contours without openings do not touch");
            assert!(is_closed(&mesh));
            (mesh.volume() - part.measures.volume).abs()
        };
        // Chords leave a surface by at most the chord tolerance, so that the volume between is at most that
        // times the surface.
        for chord in [0.1, 0.01, 0.001] {
            let bound = chord * part.measures.surface;
            prop_assert!(error(chord) <= bound, "{} above {} at {}", error(chord), bound, chord);
        }
        let half = part.mesh(&FoldFractions::all(&part.tree, fraction), 0.05).expect("as above");
        prop_assert!(is_closed(&half));
    }

    #[test]
    fn folding_fully_gives_the_pose_and_not_at_all_gives_the_blank(history in random_history()) {
        let Ok(part) = regenerate(&history) else { return Ok(()) };
        let folded = part.tree.placements(&FoldFractions::all(&part.tree, 1.0));
        for (placement, pose) in folded.iter().zip(&part.settled.pose.panels) {
            prop_assert!(apart(*placement, pose.placement) < 1e-9 * (1.0 + placement.origin.length()));
        }
        let flat = part.tree.placements(&FoldFractions::all(&part.tree, 0.0));
        for (placement, motion) in flat.iter().zip(part.tree.flat_motions()) {
            let p = Point2::new(17.0, -5.0);
            let q = motion.point(p);
            prop_assert!((placement.lift(p, 0.0) - Vec3::new(q.x, q.y, 0.0)).length() < 1e-9);
        }
    }

    #[test]
    fn unfold_then_fold_restores_every_point(history in random_history(), u in 0.0..1.0, v in 0.0..1.0, fraction in 0.0..1.0) {
        let Ok(part) = regenerate(&history) else { return Ok(()) };
        let fractions = FoldFractions::all(&part.tree, fraction);
        let frames = part.tree.placements(&fractions);
        // Blank to space by the panel's frame, back by the frame that the fold map gives to its parent's
        // strip end: two ways that only agree if the maps do.
        let flat = part.tree.placements(&FoldFractions::all(&part.tree, 0.0));
        let motions = part.tree.flat_motions();
        for (index, motion) in motions.iter().enumerate() {
            let p = Point2::new(100.0 * u - 50.0, 80.0 * v);
            let in_blank = motion.point(p);
            let back = flat[index].coordinates(Vec3::new(in_blank.x, in_blank.y, 0.0));
            prop_assert!(Point2::new(back.x, back.y).distance(p) < 1e-9 && back.z.abs() < 1e-9);
        }
        // A strip's start and end lie on its two panels at any fraction, and its width is the neutral arc.
        for bend in part.tree.bends() {
            let map = part.tree.strip_map(bend, &frames, &fractions);
            let x = bend.reach()[0] + u * bend.length();
            let end = frames[bend.child.index()].lift(Point2::new(x, 0.0), 0.0);
            prop_assert!((map.point(x, bend.allowance(), 0.0) - end).length() < 1e-9);
            let neutral = -bend.k_factor() * part.tree.thickness();
            let depth = if bend.side == FoldSide::Up { neutral } else { -part.tree.thickness() - neutral };
            let steps = 2000;
            let point = |i: i32| map.point(x, bend.allowance() * f64::from(i) / f64::from(steps), depth);
            let arc: f64 = (0..steps).map(|i| (point(i + 1) - point(i)).length()).sum();
            prop_assert!((arc - bend.allowance()).abs() < 1e-5 * bend.allowance(), "{} against {}", arc, bend.allowance());
        }
    }

    #[test]
    fn seams_between_walls_keep_their_gap_in_space(
        turns in prop_oneof![
            (30.0..140.0_f64).prop_map(|a| [a, a]),
            [30.0..140.0_f64, 30.0..140.0],
        ],
        gap in 0.2..3.0_f64,
        skew in -40.0..40.0_f64,
        down in any::<bool>(),
    ) {
        // Two walls at one corner of a parallelogram, seen from the panel as built: the ends that face each
        // other are straight lines in space, whose smallest distance is the gap.
        let slant = 150.0 * maths::tan(skew * maths::PI / 180.0);
        let corners = [[0.0, 0.0], [200.0, 0.0], [200.0 + slant, 150.0], [slant, 150.0]];
        let outline = Profile::new(
            corners.map(|[x, y]| [n(x), n(y)]).to_vec(),
            ["front", "right", "back", "left"]
                .map(|name| ProfileEdge { name: name.to_owned(), shape: EdgeShape::Line })
                .to_vec(),
        );
        let wall = |edge: &str, turn: f64| {
            let mut made = flange(&[edge], turn, 30.0);
            made.corner_gap = n(gap);
            // Sides may lean outwards as far as the neighbour lets them.
            (made.left.taper, made.right.taper) = (n(-80.0), n(-80.0));
            if down {
                made.side = FoldSide::Down;
            }
            Feature::Flange(made)
        };
        let history = history(1.0, 2.0, 0.42, vec![
            base("plate", outline),
            entry("a", wall("plate/front", turns[0])),
            entry("b", wall("plate/right", turns[1])),
        ]);
        let part = regenerate(&history);
        prop_assume!(part.is_ok());
        let part = part.expect("just checked");
        let frames = part.tree.placements(&FoldFractions::all(&part.tree, 1.0));
        let depth = if down { -1.0 } else { 0.0 };
        let side = |panel: usize, role: &str| -> Option<[Vec3<f64>; 2]> {
            let panel = &part.tree.panels()[panel];
            let piece = panel.region.contours()[0].segments().iter().find(|s| {
                matches!(part.tree.label(s), kernel::fold::EdgeLabel::Edge(e) if e.role == role)
            })?;
            let frame = frames[panel.id.index()];
            Some([frame.lift(piece.start, depth), frame.lift(piece.end, depth)])
        };
        // Run counter-clockwise: the front wall's end at the right of the plate is its left one.
        let (a, b) = (side(1, "left").expect("the side is there"), side(2, "right").expect("the side is there"));
        let steps = 60;
        let at = |[p, q]: [Vec3<f64>; 2], i: i32| p + (q - p).times(f64::from(i) / f64::from(steps));
        let mut least = f64::INFINITY;
        for i in 0..=steps {
            for j in 0..=steps {
                least = least.min((at(a, i) - at(b, j)).length());
            }
        }
        // The lines are parallel; where they overlap along their length the distance is the gap itself.
        prop_assert!(least >= gap - 1e-9, "{} against {}", least, gap);
        let along = (a[1] - a[0]).times(1.0 / (a[1] - a[0]).length());
        let across = (b[0] - a[0]) - along.times((b[0] - a[0]).dot(along));
        // Where turns differ or the corner is sharp, more than the gap is left, because no side stands out
        // beyond the radius.
        let alike = turns[0] == turns[1] && skew >= 0.0;
        prop_assert!(!alike || (across.length() - gap).abs() < 1e-9, "{} against {}", across.length(), gap);
    }

    #[test]
    fn a_flange_without_taper_is_never_wider_at_its_tip(history in random_history()) {
        let mut plain = history.clone();
        for feature in &mut plain.features {
            if let Feature::Flange(f) = &mut feature.feature {
                (f.left.taper, f.right.taper) = (n(0.0), n(0.0));
                // A corner relief lets the bend stop short of the side behind it.
                f.corner_relief = None;
                // A drawn outline may well be wider farther up.
                if f.outline.take().is_some() {
                    f.length = n(25.0);
                }
            }
        }
        let Ok(part) = regenerate(&plain) else { return Ok(()) };
        for bend in part.tree.bends() {
            let panel = part.tree.panel(bend.child);
            let spread = part.tree.bends().iter().any(|b| b.parent == bend.child);
            let size = panel.region.bounding_box();
            // Beyond the bend's ends a side may stand out by the radius, where it closes a corner.
            let beyond = bend.inside_radius() + 1e-6;
            prop_assert!(spread || size.min.x >= bend.reach()[0] - beyond && size.max.x <= bend.reach()[1] + beyond);
            // A bend is longer than its drawn edge only where the corner beside it is oblique, by at most
            // twice the deepest bend start on the panel.
            let drawn = part.settled.pose.panel(bend.child).bend.expect("a flange has a bend");
            let deepest = part.tree.bends().iter().filter(|b| b.parent == bend.parent).map(|b| {
                part.settled.pose.panel(b.child).bend.expect("a flange has a bend").setback
            }).fold(0.0, f64::max);
            prop_assert!(bend.parent.index() > 0 || bend.length() <= drawn.edge_length + 4.0 * deepest + 1e-6);
        }
    }

    #[test]
    fn a_held_inside_width_survives_any_thickness_and_radius(
        thickness in 0.5..4.0_f64, radius in 0.0..6.0_f64, asked in 80.0..400.0_f64, turn_holds in 0usize..3,
    ) {
        let mut history = parts::five_panel_cover();
        history.sheet.thickness = kernel::history::ThicknessSpec::Mm(thickness);
        history.sheet.inside_radius = radius;
        history.dimensions[0].target = Target::Held(n(asked));
        if let Feature::Flange(walls) = &mut history.features[1].feature {
            walls.holds = [HeldFace::Outer, HeldFace::Inner, HeldFace::BendStart][turn_holds];
        }
        let sheet = history.sheet.resolve().expect("the sheet can be");
        let sheet = SheetNumbers::from(&sheet);
        let skeleton = Skeleton::new(&history, sheet).expect("names resolve");
        let settled = settle(&history, &skeleton, sheet, BlankSize::default()).expect("two free lengths reach any width");
        prop_assert!((settled.dimensions[0].got - asked).abs() < 1e-6);
        prop_assert_eq!(settled.report.degrees_of_freedom, 0);
        // Between the walls the face is drawn as wide as the held width plus what its edges hold.
        let drawn = settled.free[0];
        let extra = match turn_holds { 0 => 2.0 * thickness, 1 => 0.0, _ => -2.0 * radius };
        prop_assert!((drawn - asked - extra).abs() < 1e-6, "{} against {}", drawn, asked + extra);
    }

    #[test]
    fn a_part_drawn_elsewhere_and_turned_has_a_congruent_blank(history in random_history(), dx in -500.0..500.0_f64, dy in -500.0..500.0_f64, angle in 0.0..6.0_f64) {
        let Ok(part) = regenerate(&history) else { return Ok(()) };
        let mut moved = history.clone();
        if let Feature::BasePanel(plate) = &mut moved.features[0].feature {
            let (sin, cos) = maths::sin_cos(angle);
            for [x, y] in &mut plate.outline.corners {
                let (px, py) = (x.as_constant().expect("plain"), y.as_constant().expect("plain"));
                (*x, *y) = (n(cos * px - sin * py + dx), n(sin * px + cos * py + dy));
            }
        }
        let other = regenerate(&moved).expect("moving changes nothing");
        prop_assert!((part.blank.region.area() - other.blank.region.area()).abs() < 1e-6 * part.blank.region.area());
        prop_assert!((part.blank.cut_length() - other.blank.cut_length()).abs() < 1e-6 * part.blank.cut_length());
        prop_assert!((part.measures.volume - other.measures.volume).abs() < 1e-6 * part.measures.volume);
        prop_assert_eq!(part.blank.region.contours()[0].segments().len(), other.blank.region.contours()[0].segments().len());
    }

    #[test]
    fn drawing_clockwise_changes_nothing(history in random_history()) {
        let Ok(part) = regenerate(&history) else { return Ok(()) };
        let mut turned = history.clone();
        if let Feature::BasePanel(plate) = &mut turned.features[0].feature {
            // Corner 0 stays first; edge i leaves corner i, so the last edge comes first.
            plate.outline.corners[1..].reverse();
            plate.outline.edges.reverse();
        }
        let other = regenerate(&turned).expect("the direction of drawing changes nothing");
        prop_assert!((part.blank.region.area() - other.blank.region.area()).abs() < 1e-6 * part.blank.region.area());
        for (a, b) in part.blank.bend_lines.iter().zip(&other.blank.bend_lines) {
            prop_assert!(a.centre[0].distance(b.centre[0]) < 1e-6 && a.centre[1].distance(b.centre[1]) < 1e-6);
        }
    }

    #[test]
    fn features_that_do_not_touch_can_change_places(history in random_history()) {
        let Ok(part) = regenerate(&history) else { return Ok(()) };
        // Second flanges stay behind the ones they stand on.
        let mut shuffled = history.clone();
        shuffled.features[1..].sort_by(|a, b| a.name.as_bytes()[0].cmp(&b.name.as_bytes()[0]).then(b.name.cmp(&a.name)));
        let other = regenerate(&shuffled).expect("order changes nothing");
        prop_assert!((part.blank.region.area() - other.blank.region.area()).abs() < 1e-6 * part.blank.region.area());
        for line in &part.blank.bend_lines {
            let twin = other.blank.bend_lines.iter().find(|l| l.name == line.name).expect("the same bends");
            prop_assert!(twin.centre[0].distance(line.centre[0]) < 1e-9);
        }
    }
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(2000))]

    #[test]
    fn boundary_and_mesh_are_one_closed_body(history in random_part(), fraction in 0.0..1.0) {
        let Ok(part) = regenerate(&history) else { return Ok(()) };
        for fraction in [1.0, fraction, 0.0] {
            let fractions = FoldFractions::all(&part.tree, fraction);
            let brep = part.brep(&fractions);
            prop_assert_eq!(brep.first_fault(), None);
            prop_assert_eq!(brep.handles(), Some(part.blank.region.holes().count()));
            let mesh = part.mesh(&fractions, 0.05).expect("the blank's contours are apart");
            // Where a bend has no radius, two cuts of it can run along one piece of its axis: more than two
            // triangles share an edge there, as many one way as the other.
            let sharp = part.tree.bends().iter().any(|bend| bend.inside_radius() == 0.0);
            prop_assert!(is_closed(&mesh) || (sharp && is_balanced(&mesh)));
        }
    }
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(2000))]

    #[test]
    fn nothing_is_too_small_for_single_precision(history in random_part(), fraction in 0.0..1.0) {
        let Ok(part) = regenerate(&history) else { return Ok(()) };
        let is_short = |piece: &Segment| piece.length() < tolerance::LEAST_EDGE_MM;
        let is_cut = |piece: &Segment| matches!(part.tree.label(piece), EdgeLabel::Opening(_));
        for contour in part.blank.region.contours() {
            let pieces = contour.segments();
            for (i, piece) in pieces.iter().enumerate() {
                let beside = [pieces[(i + 1) % pieces.len()], pieces[(i + pieces.len() - 1) % pieces.len()]];
                let by_a_cut = is_cut(piece) || beside.iter().any(is_cut);
                prop_assert!(!(is_short(piece) && by_a_cut), "{:?}", part.tree.label(piece));
            }
        }
        // An edge may be asked for that is shorter: once in 50,000 parts one is.
        prop_assume!(!part.blank.region.contours().iter().flat_map(|c| c.segments()).any(is_short));
        // Whatever a bend without radius loses ends on its axis, where the places of two cuts may be neighbours.
        let sharp = part.tree.bends().iter().any(|bend| bend.inside_radius() == 0.0);
        for fraction in [1.0, fraction] {
            let fractions = FoldFractions::all(&part.tree, fraction);
            let brep = part.brep(&fractions);
            for edge in brep.edges().iter().filter(|edge| !sharp || edge.over.is_some()) {
                let [from, to] = edge.ends.map(|v| brep.at(v));
                let way = (brep.point_on(edge, 0.5) - from).length() + (to - brep.point_on(edge, 0.5)).length();
                // Folding makes the face on the inside of a bend shorter.
                let least = if edge.over.is_some() { 0.0 } else { tolerance::LEAST_EDGE_MM - 1e-9 };
                prop_assert!(way >= least, "{:?}", edge);
            }
            for corners in part.mesh(&fractions, 0.05).expect("the blank's contours are apart").triangles() {
                prop_assert!(has_area_in_single_precision(corners), "{:?}", corners);
            }
        }
    }
}

#[expect(clippy::cast_possible_truncation, reason = "as files do")]
fn has_area_in_single_precision(corners: [Vec3<f64>; 3]) -> bool {
    let single = |x: f64| f64::from(x as f32);
    let [a, b, c] = corners.map(|v| Vec3::new(single(v.x), single(v.y), single(v.z)));
    (b - a).cross(c - a).length() > 0.0
}

#[test]
fn at_least_a_third_of_random_histories_can_be_made() {
    let mut runner = TestRunner::deterministic();
    let strategy = random_history();
    let trials = 300;
    let histories = (0..trials).map(|_| strategy.new_tree(&mut runner).expect("it never rejects").current());
    let made: Vec<_> = histories.filter(|history| regenerate(history).is_ok()).collect();
    assert!(made.len() * 3 >= trials, "{} of {trials}", made.len());
    // Some of them have flanges with a drawn outline.
    let draws = |feature: &Feature| matches!(feature, Feature::Flange(f) if f.outline.is_some());
    let drawn = made.iter().filter(|history| history.features.iter().any(|f| draws(&f.feature))).count();
    assert!(drawn * 20 >= trials, "{drawn} of {trials}");
}
