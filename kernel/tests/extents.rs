//! The box about the folded part: by hand, and approached by meshes from inside.

#[allow(dead_code, reason = "tests and benches use different parts")]
#[path = "../benches/parts.rs"]
mod parts;
mod random;

use kernel::fold::{FoldFractions, FormSurface};
use kernel::geom::Vec3;
use kernel::history::feature::{
    Bump, BumpSide, Feature, FeatureEntry, FlangeEnd, FoldSide, HeldFace, Hem, HemForm, HemSpec, LengthFrom,
    Pattern, XFrom,
};
use kernel::history::{EdgeName, Profile, Shape};
use kernel::quantity::{maths, tolerance};
use kernel::regenerate::{Part, regenerate};
use parts::{base, entry, flange, history, n, panel};
use proptest::prelude::*;
use random::random_part;

const T: f64 = 2.0;
const R: f64 = 3.0;

fn made(bent: Vec<FeatureEntry>) -> Part {
    let plate = base("plate", Profile::rectangle(&n(100.0), &n(80.0)));
    let features = std::iter::once(plate).chain(bent).collect();
    regenerate(&history(T, R, 0.4, features)).unwrap_or_else(|faults| panic!("{faults:#?}"))
}

fn extent(part: &Part) -> [Vec3<f64>; 2] {
    part.brep(&FoldFractions::all(&part.tree, 1.0)).bounding_box().expect("the part has vertices")
}

fn assert_box(part: &Part, low: [f64; 3], high: [f64; 3]) {
    let [lo, hi] = extent(part);
    let wanted = [Vec3::new(low[0], low[1], low[2]), Vec3::new(high[0], high[1], high[2])];
    for (got, wanted) in [(lo, wanted[0]), (hi, wanted[1])] {
        assert!((got - wanted).length() < 1e-9, "{got:?} instead of {wanted:?}");
    }
}

#[test]
fn a_rolled_hem_stands_as_high_as_its_roll() {
    // The drawn edge is the outermost line of the roll, whose outside diameter is D + 2 t; it lies with its
    // lowest line on the outer face of the plate.
    let end = || FlangeEnd { inset: n(0.0), taper: n(0.0) };
    for turn in [200.0, 270.0] {
        let hem = Hem::from(HemSpec {
            edges: vec![EdgeName::new("plate/left").unwrap()],
            form: HemForm::Rolled { diameter: n(8.0), turn: n(turn) },
            side: FoldSide::Up,
            left: end(),
            right: end(),
        });
        let part = made(vec![entry("hem", Feature::Hem(hem))]);
        assert_box(&part, [0.0, 0.0, -T], [100.0, 80.0, 8.0 + T]);
    }
}

/// A wall at the left edge whose bend starts there, with a flat of 20 mm.
fn wall(turn: f64) -> FeatureEntry {
    let mut wall = flange(&["plate/left"], turn, 20.0);
    (wall.holds, wall.length_from) = (HeldFace::BendStart, LengthFrom::Tangent);
    entry("wall", Feature::Flange(wall))
}

#[test]
fn the_bend_of_a_leaning_wall_stands_out_farther_than_its_ends() {
    // Beyond a quarter turn the outer face has been r + t before the plate; the wall then leans back.
    let turn = 120.0_f64;
    let part = made(vec![wall(turn)]);
    let (sin, cos) = maths::sin_cos(turn * maths::PI / 180.0);
    // The bend ends at height r − (r + t) cos on the outer face; the wall goes on along (cos, sin).
    let top = R - (R + T) * cos + 20.0 * sin;
    let inner_top = R - R * cos + 20.0 * sin;
    assert_box(&part, [-(R + T), 0.0, -T], [100.0, 80.0, top.max(inner_top)]);
}

#[test]
fn a_bump_on_a_leaning_wall_stands_out_by_the_round_of_its_edge() {
    let mut wall = flange(&["plate/left"], 75.0, 60.0);
    (wall.holds, wall.length_from) = (HeldFace::BendStart, LengthFrom::Tangent);
    let bump = Bump {
        panel: panel("wall"),
        profile: Shape::Circle { diameter: n(34.0) },
        pattern: Pattern::At(vec![[n(40.0), n(36.0)]]),
        x_from: XFrom::Left,
        height: n(14.0),
        side: BumpSide::Out,
        draft: n(10.0),
        punch_radius: Some(n(3.0)),
        die_radius: Some(n(4.0)),
        corner_radius: None,
    };
    let part = made(vec![entry("wall", Feature::Flange(wall)), entry("bump", Feature::Bump(bump))]);
    // Towards −x a torus about an axis at the angle α to x reaches R sin α + r beyond its centre; here the
    // wall's normal is the axis, α is 15°, and the round of the bump's top stands out farthest.
    let frame = part.tree.placements(&FoldFractions::all(&part.tree, 1.0))[1];
    let sin = maths::sin(maths::PI / 12.0);
    let farthest = part.tree.forms()[0]
        .patches()
        .filter_map(|patch| match patch.surface {
            FormSurface::Torus { centre, ring_radius, tube_radius, .. } => {
                let centre = frame.point(centre.x, centre.y, centre.z);
                Some(centre.x - ring_radius * sin - tube_radius)
            }
            FormSurface::Plane { .. } | FormSurface::Cylinder { .. } | FormSurface::Cone { .. } => None,
        })
        .fold(f64::INFINITY, f64::min);
    let [lo, _] = extent(&part);
    assert!(farthest < -20.0 && (lo.x - farthest).abs() < 1e-9, "{} instead of {farthest}", lo.x);
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(600))]

    #[test]
    fn the_box_of_meshes_grows_towards_that_of_the_boundary(history in random_part(), fraction in 0.0..1.0) {
        let Ok(part) = regenerate(&history) else { return Ok(()) };
        for fraction in [1.0, fraction] {
            let fractions = FoldFractions::all(&part.tree, fraction);
            let [lo, hi] = part.brep(&fractions).bounding_box().expect("the part has vertices");
            for chord in [0.1, 0.01, 0.001] {
                let mesh = part.mesh(&fractions, chord).expect("the blank's contours are apart");
                let [low, high] = mesh.bounding_box().expect("the part has vertices");
                // A torus is cut into chords both ways; vertices too near to each other have become one.
                let most = 2.0 * chord + tolerance::LEAST_EDGE_MM;
                let gaps = [low - lo, hi - high];
                for gap in gaps.into_iter().flat_map(|gap| [gap.x, gap.y, gap.z]) {
                    prop_assert!((-1e-9..=most).contains(&gap), "{gap} at {chord}: {lo:?} to {hi:?}");
                }
            }
        }
    }
}
