//! Bumps that meet what stands beside, over or behind them, each just short of it, touching, and into it.
//!
//! Sheet 1 mm, bends 1 mm; bumps have a punch edge of 3 and a die edge of 4 mm and upright walls unless it is
//! said otherwise. So the raised side's shoulder is a torus of tube radius 3 + 1 = 4, whose centre runs round the
//! outline of the flat top, 4 mm below it; the top is 4 mm smaller than the profile all round, the foot 4 mm
//! larger.

use kernel::geom::Vec3;
use kernel::history::feature::{
    Bump, BumpSide, Feature, FlangeEnd, FoldSide, HeldFace, Hem, HemForm, HemSpec, Pattern, XFrom,
};
use kernel::history::{EdgeName, FeatureEntry, Profile, Shape};
use kernel::quantity::tolerance::COLLISION_MM;
use kernel::regenerate::Part;

use super::parts::{base, cutout, entry, flange, n, panel};
use super::{found, made, names};

fn circle(diameter: f64) -> Shape {
    Shape::Circle { diameter: n(diameter) }
}

fn at(x: f64, y: f64) -> Pattern {
    Pattern::At(vec![[n(x), n(y)]])
}

/// A round bump with a profile of 30 mm, towards the inner face.
fn round(on: &str, [x, y]: [f64; 2], height: f64) -> Bump {
    Bump {
        panel: panel(on),
        profile: circle(30.0),
        pattern: at(x, y),
        x_from: XFrom::Left,
        height: n(height),
        side: BumpSide::In,
        draft: n(0.0),
        punch_radius: Some(n(3.0)),
        die_radius: Some(n(4.0)),
        corner_radius: None,
    }
}

fn bumped(name: &str, bump: Bump) -> FeatureEntry {
    entry(name, Feature::Bump(bump))
}

/// A wall on one edge, upright, whose inner face stands over the edge.
fn wall(name: &str, edge: &str, length: f64) -> FeatureEntry {
    let mut made = flange(&[edge], 90.0, length);
    made.holds = HeldFace::Inner;
    entry(name, Feature::Flange(made))
}

fn plate(length: f64, width: f64) -> FeatureEntry {
    base("plate", Profile::rectangle(&n(length), &n(width)))
}

/// Makes a part that overlaps by so much, for what must be clear, and for what must be found as these two zones,
/// that deep, so near to that place.
fn meets(zones: [&str; 2], (place, near): ([f64; 3], f64), make: impl Fn(f64) -> Part) {
    for clear in [-0.05, 0.0, 0.45 * COLLISION_MM] {
        assert_eq!(names(&make(clear)), Vec::<[String; 2]>::new(), "{clear}");
    }
    for depth in [3.0 * COLLISION_MM, 0.1] {
        let part = make(depth);
        assert_eq!(names(&part), [zones], "{depth}");
        let collision = found(&part)[0];
        let got = collision.depth;
        // Chords of a hollow edge stand out of it by half the least depth.
        let bounds = [depth - COLLISION_MM, depth + 0.5 * COLLISION_MM];
        assert!(bounds[0] <= got && got <= bounds[1], "{got} of {depth}");
        let [x, y, z] = place;
        let off = collision.at - Vec3::new(x, y, z);
        assert!(off.length() < near, "{:?} is {off:?} off", collision.at);
    }
}

/// Two walls 80 mm high, their inner faces `gap` apart at x = 0 and x = `gap`; z = 0 is the plate's inner face.
/// Heights on the walls count from their outer corner, 1 mm below.
fn channel(gap: f64, more: Vec<FeatureEntry>) -> Part {
    let mut features =
        vec![plate(gap, 100.0), wall("left", "plate/left", 80.0), wall("right", "plate/right", 80.0)];
    features.extend(more);
    made(1.0, 1.0, features)
}

#[test]
fn a_bump_inwards_meets_the_wall_opposite() {
    // A top with a radius of 11 at x = 20 + depth; the deepest places are all over it.
    for draft in [0.0, 30.0] {
        let make = |depth: f64| {
            let mut cap = round("left", [50.0, 40.0], 20.0 + depth);
            (cap.profile, cap.draft) = (circle(50.0), n(draft));
            channel(20.0, vec![bumped("cap", cap)])
        };
        let part = make(0.1);
        assert_eq!(names(&part), [["right", "bump cap"]]);
        assert!((found(&part)[0].depth - 0.1).abs() < 1e-9);
        assert!((found(&part)[0].at.x - 20.05).abs() <= 0.05 + 1e-9);
        assert_eq!(names(&make(0.0)), Vec::<[String; 2]>::new());
        assert_eq!(names(&make(-0.05)), Vec::<[String; 2]>::new());
        assert_eq!(names(&make(3.0 * COLLISION_MM)).len(), 1);
    }
}

#[test]
fn tops_of_two_facing_bumps_meet() {
    for drawn in [Shape::Circle { diameter: n(30.0) }, Shape::Outline(Profile::rectangle(&n(30.0), &n(20.0)))]
    {
        let make = |depth: f64| {
            let mut low = round("left", [50.0, 40.0], 12.0);
            let mut high = round("right", [45.0, 43.0], 10.0 + depth);
            (low.profile, high.profile) = (drawn.clone(), circle(30.0));
            channel(22.0, vec![bumped("low", low), bumped("high", high)])
        };
        let part = make(0.1);
        assert_eq!(names(&part), [["bump low", "bump high"]]);
        let collision = found(&part)[0];
        assert!((collision.depth - 0.1).abs() < 1e-9, "{collision:?}");
        assert!((collision.at.x - 12.0).abs() <= 0.1 + 1e-9, "{collision:?}");
        assert_eq!(names(&make(0.0)), Vec::<[String; 2]>::new());
        assert_eq!(names(&make(-0.05)), Vec::<[String; 2]>::new());
    }
}

#[test]
fn shoulders_of_two_facing_bumps_meet_where_no_edge_is() {
    // Both 10 mm high with tops of radius 11, beside each other by 22 + 4.8: their tubes' centres run 4.8 apart
    // along y, at x = 6 and x = gap − 6. 4.8² + 6.4² = 8²: two tubes of radius 4 touch at a gap of 18.4.
    // y on the walls runs in opposite directions.
    let make = |depth: f64| {
        let apart = 8.0 - depth;
        let gap = 12.0 + (apart * apart - 4.8 * 4.8).sqrt();
        let low = round("left", [50.0 + 13.4, 40.0], 10.0);
        let high = round("right", [50.0 + 13.4, 40.0], 10.0);
        channel(gap, vec![bumped("low", low), bumped("high", high)])
    };
    // Half-way between the centres.
    meets(["bump low", "bump high"], ([9.2, 50.0, 39.0], 1.0), make);
}

#[test]
fn a_shoulder_meets_a_wall_that_leans_over_it() {
    // The wall is turned 135° about an axis at (100, 1): its inner face lies 1 mm from the axis, its normal is
    // (−1, −1)/√2. The tube's centre nearest to it, at (x + 11, 16) for a bump of 20 mm at x, is 4 mm from it when
    // ((100 − x − 11) + (1 − 16))/√2 + 1 = 4, so at x = 74 − 3√2.
    let root = 2.0_f64.sqrt();
    let make = |depth: f64| {
        let mut leaning = flange(&["plate/right"], 135.0, 60.0);
        leaning.holds = HeldFace::BendStart;
        let x = 74.0 - 3.0 * root + depth * root;
        made(
            1.0,
            1.0,
            vec![
                plate(100.0, 90.0),
                entry("lid", Feature::Flange(leaning)),
                bumped("cap", round("plate", [x, 45.0], 20.0)),
            ],
        )
    };
    let x = 85.0 - 3.0 * root;
    meets(["lid", "bump cap"], ([x + 4.0 / root, 45.0, 16.0 + 4.0 / root], 1.5), make);
}

/// A plate, a wall 40 mm high at x = 0, and a lip from its tip over the plate: its inner face at z = 38, for the
/// wall counts from z = −1 to the lip's outer face.
fn under_a_lip(side: BumpSide, height: f64, more: Vec<FeatureEntry>) -> Part {
    let mut cap = round("plate", [50.0, 45.0], height);
    cap.side = side;
    let mut features = vec![
        plate(100.0, 90.0),
        wall("wall", "plate/left", 40.0),
        entry("lip", Feature::Flange(flange(&["wall/tip"], 90.0, 100.0))),
        bumped("cap", cap),
    ];
    features.extend(more);
    made(1.0, 1.0, features)
}

#[test]
fn a_bump_meets_the_flange_that_is_folded_back_over_it() {
    let make = |depth: f64| under_a_lip(BumpSide::In, 38.0 + depth, Vec::new());
    // Right through it, as deep as its own metal allows.
    let part = make(20.0);
    assert_eq!(names(&part), [["lip", "bump cap"]]);
    assert!((found(&part)[0].depth - 0.5).abs() < 0.01 && found(&part)[0].at.z > 38.0);
    let part = make(0.1);
    assert_eq!(names(&part), [["lip", "bump cap"]]);
    let collision = found(&part)[0];
    assert!((collision.depth - 0.1).abs() < 1e-9 && (collision.at.z - 38.05).abs() <= 0.05 + 1e-9);
    assert_eq!(names(&make(0.0)), Vec::<[String; 2]>::new());
    assert_eq!(names(&make(-0.05)), Vec::<[String; 2]>::new());
}

#[test]
fn a_bump_through_an_opening_meets_its_rim_only() {
    // The bump's outer wall has the profile's radius of 15. The lip's inner face looks down: its x runs against y.
    let make = |radius: f64| {
        let hole = cutout("lip", circle(2.0 * radius), at(45.0, 51.0));
        under_a_lip(BumpSide::In, 60.0, vec![entry("hole", Feature::Cutout(hole))])
    };
    meets(["lip", "bump cap"], ([50.0, 45.0, 38.5], 15.1), |depth| make(15.0 - depth));
}

/// The same with the bump pressed outwards, 20 mm deep: its hollow's flat lies at z = −20. A tab 10 mm wide comes
/// down from the lip's tip, at the middle of the hollow, `down` mm from the lip's outer face at z = 39.
fn into_the_hollow(down: f64, more: Vec<FeatureEntry>) -> Part {
    let mut cap = round("plate", [50.0, 45.0], 20.0);
    cap.side = BumpSide::Out;
    let end = || FlangeEnd { inset: n(40.0), taper: n(0.0) };
    let mut tab = flange(&["lip/tip"], 90.0, down);
    (tab.left, tab.right) = (end(), end());
    // From x = −1 to x = 50.5 over all.
    let lip = flange(&["wall/tip"], 90.0, 51.5);
    let mut features = vec![
        plate(100.0, 90.0),
        wall("wall", "plate/left", 40.0),
        entry("lip", Feature::Flange(lip)),
        entry("tab", Feature::Flange(tab)),
        bumped("cap", cap),
    ];
    features.extend(more);
    made(1.0, 1.0, features)
}

#[test]
fn the_hollow_of_a_bump_is_free_down_to_its_bottom() {
    // The tab's corners are 5.025 from its middle.
    meets(["tab", "bump cap"], ([50.0, 45.0, -20.0], 5.1), |depth| into_the_hollow(59.0 + depth, Vec::new()));
    // Through an opening in the top it may go on: half of its diagonal is √(5² + 0.5²) = 5.025.
    let through = |diameter: f64| {
        let view = cutout("plate", circle(diameter), at(50.0, 45.0));
        into_the_hollow(80.0, vec![entry("view", Feature::Cutout(view))])
    };
    assert_eq!(names(&through(10.06)), Vec::<[String; 2]>::new());
    assert_eq!(names(&through(9.8)), [["tab", "bump cap"]]);
}

#[test]
fn a_bump_meets_the_return_of_a_hem() {
    // The return's lower face lies one gap of 3.5 mm over the plate.
    let make = |depth: f64| {
        let end = || FlangeEnd { inset: n(0.0), taper: n(0.0) };
        let hem = Hem::from(HemSpec {
            edges: vec![EdgeName::new("plate/front").expect("well formed")],
            form: HemForm::Open { length: n(40.0), gap: n(3.5) },
            side: FoldSide::Up,
            left: end(),
            right: end(),
        });
        let mut cap = round("plate", [50.0, 20.0], 3.5 + depth);
        (cap.punch_radius, cap.die_radius) = (None, None);
        made(1.0, 1.0, vec![plate(100.0, 90.0), entry("hem", Feature::Hem(hem)), bumped("cap", cap)])
    };
    let part = make(0.1);
    assert_eq!(names(&part), [["hem", "bump cap"]]);
    assert!((found(&part)[0].depth - 0.1).abs() < 1e-9 && (found(&part)[0].at.z - 3.55).abs() <= 0.05 + 1e-9);
    assert_eq!(names(&make(0.0)), Vec::<[String; 2]>::new());
    assert_eq!(names(&make(-0.05)), Vec::<[String; 2]>::new());
    // One finding, which names both and stands at the bump.
    let [fault] =
        part.findings.iter().filter(|f| f.code == "check::folded_into_itself").collect::<Vec<_>>()[..]
    else {
        panic!("{:?}", part.findings)
    };
    assert!(
        fault.message.starts_with("panel `hem` and bump `cap` of `plate` of the folded part"),
        "{}",
        fault.message
    );
    assert_eq!(fault.origins.iter().map(|o| o.name.as_str()).collect::<Vec<_>>(), ["cap", "hem"]);
}

#[test]
fn a_shoulder_meets_the_round_of_a_bend_crosswise() {
    // The left wall ends at z = 39 in a bend outwards of inside radius 5, whose inner face, 6 mm about an axis at
    // (−6, 39), is the convex one. The bump from the right wall, 18 mm away, is 20 mm high, so that its tube's centre
    // runs at x = 18 − 16 = 2. Its lowest place is 11 below its middle: 8 beside the axis and 6 above it, 6 + 4 mm
    // away, it touches.
    let make = |depth: f64| {
        let apart = 10.0 - depth;
        let middle = 39.0 + (apart * apart - 64.0_f64).sqrt() + 11.0;
        let mut brim = flange(&["left/tip"], 90.0, 30.0);
        (brim.side, brim.holds, brim.inside_radius) = (FoldSide::Down, HeldFace::BendStart, Some(n(5.0)));
        made(
            1.0,
            1.0,
            vec![
                plate(18.0, 100.0),
                wall("left", "plate/left", 40.0),
                wall("right", "plate/right", 90.0),
                entry("brim", Feature::Flange(brim)),
                bumped("cap", round("right", [50.0, middle + 1.0], 20.0)),
            ],
        )
    };
    meets(["bend brim", "bump cap"], ([-6.0 + 4.8, 50.0, 39.0 + 3.6], 1.0), make);
}

#[test]
fn bumps_beside_each_other_and_beside_a_bend_are_left_alone() {
    // Feet 1 mm apart and 1 mm from the bend, the least that is allowed.
    let mut wall = flange(&["plate/front"], 90.0, 60.0);
    wall.holds = HeldFace::BendStart;
    let mut caps = round("plate", [0.0, 0.0], 20.0);
    caps.pattern = Pattern::At(vec![[n(30.0), n(20.0)], [n(69.0), n(20.0)]]);
    let part =
        made(1.0, 1.0, vec![plate(100.0, 90.0), entry("wall", Feature::Flange(wall)), bumped("caps", caps)]);
    assert_eq!(part.tree.forms().len(), 2);
    assert_eq!(names(&part), Vec::<[String; 2]>::new());
}
