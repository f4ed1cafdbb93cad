//! Two bumps set freely against each other, so that their shoulders meet in a lens and no edge is near.

use super::body::Body;
use super::shell::Shell;
use crate::fold::FoldTree;
use crate::geom::{Placement, Vec3};
use crate::history::feature::{BasePanel, Bump, BumpSide, Feature, FeatureEntry, Pattern, XFrom};
use crate::history::{
    BendRuleSpec, FORMAT_VERSION, GrainSpec, History, Number, PanelName, Profile, Shape, SheetSpec,
    ThicknessSpec,
};
use crate::ident::FormId;
use crate::quantity::{maths, tolerance};
use crate::regenerate::regenerate;
use crate::solid::Zone;

/// A plate of 1 mm with an upright bump of 10 mm about (0, 0), punch edge 3 and die edge 4: its shoulder is a tube
/// of radius 4 about the outline of the top, at a height of 6 mm; the top is 4 mm smaller than the profile.
fn bumped(profile: Shape) -> FoldTree {
    let n = Number::constant;
    let corner = |x: f64, y: f64| [n(x), n(y)];
    let plate = rectangle(400.0, 400.0);
    let bump = Bump {
        panel: PanelName::new("plate").expect("well formed"),
        profile,
        pattern: Pattern::At(vec![corner(0.0, 0.0)]),
        x_from: XFrom::Left,
        height: n(10.0),
        side: BumpSide::In,
        draft: n(0.0),
        punch_radius: Some(n(3.0)),
        die_radius: Some(n(4.0)),
        corner_radius: None,
    };
    let entry = |name: &str, feature| FeatureEntry { name: name.to_owned(), feature, span: None };
    let history = History {
        format: FORMAT_VERSION,
        family: "part".to_owned(),
        title: String::new(),
        parameters: Vec::new(),
        sheet: SheetSpec {
            material: "DC01".to_owned(),
            thickness: ThicknessSpec::Mm(1.0),
            inside_radius: 1.0,
            bend_rule: BendRuleSpec::FixedK(0.42),
            grain: GrainSpec::Any,
            span: None,
        },
        free_numbers: Vec::new(),
        features: vec![
            entry("plate", Feature::BasePanel(BasePanel { outline: plate })),
            entry("bump", Feature::Bump(bump)),
        ],
        dimensions: Vec::new(),
        aim: None,
        neighbours: Vec::new(),
        neighbour_groups: Vec::new(),
        guarding: None,
        tolerances: None,
        bend_order: Vec::new(),
        shop: Vec::new(),
        stock_sheet: None,
        rates: None,
    };
    regenerate(&history).expect("the part can be made").tree
}

/// A rectangle about (0, 0).
fn rectangle(x: f64, y: f64) -> Profile {
    let mut made = Profile::rectangle(&Number::constant(x), &Number::constant(y));
    let corners = [[-0.5, -0.5], [0.5, -0.5], [0.5, 0.5], [-0.5, 0.5]];
    made.corners = corners.map(|[a, b]| [a * x, b * y].map(Number::constant)).into();
    made
}

/// How deep the two are found to overlap.
fn overlap(first: &FoldTree, second: &FoldTree, frame: Placement<f64>) -> Option<f64> {
    let shell = |index, frame| {
        let tree: &FoldTree = [first, second][index];
        Body::shell(
            Zone::Form(FormId::new(index)),
            Shell::new(&tree.forms()[0], &tree.panels()[0].region, frame),
        )
    };
    let (a, b) = (shell(0, Placement::identity()), shell(1, frame));
    assert!(a.is_near(&b));
    a.collision(&b).map(|found| found.depth)
}

/// A frame in which a second bump's shoulder, met at this place of its frame where its normal is `(0, s, c)`,
/// reaches `depth` mm into the first one's at `place` with that `normal`; its x axis then lies along `along`.
fn against(
    (met, [s, c]): (Vec3<f64>, [f64; 2]),
    (place, normal, along): (Vec3<f64>, Vec3<f64>, Vec3<f64>),
    depth: f64,
) -> Placement<f64> {
    // (1, 0, 0) goes to `along`, (0, s, c) to −`normal`, and so (0, −c, s) to their cross product.
    let down = normal.times(-1.0);
    let third = along.cross(down);
    let (y, n) = (down.times(s) - third.times(c), down.times(c) + third.times(s));
    let origin = Vec3::new(0.0, 0.0, 0.0);
    let turned = Placement { origin, x: along, y, n };
    Placement { origin: place - normal.times(depth) - turned.point(met.x, met.y, met.z), ..turned }
}

#[test]
fn a_lens_between_two_shoulders_is_found_wherever_it_lies() {
    // A round dome with a top of radius 100 and a ridge with a straight shoulder 62 mm long at y = 11. Where the
    // ridge lies across the dome's ring, the lens is 0.5 mm wide, and lines across the dome are 2.4 mm apart.
    let dome = bumped(Shape::Circle { diameter: Number::constant(208.0) });
    let ridge = bumped(Shape::Outline(rectangle(80.0, 30.0)));
    let least = tolerance::COLLISION_MM;
    for case in 0..200_u32 {
        // Multiples of irrational numbers are spread evenly.
        let spread = |by: f64, low: f64, high: f64| low + (high - low) * (f64::from(case) * by).fract();
        let around = spread(0.618_034, 0.0, maths::TAU);
        let [up, ridge_up] = [0.754_878, 0.569_840].map(|by| spread(by, 0.8, 1.3));
        let turn = spread(0.819_173, 0.0, maths::PI);
        let (sin, cos) = maths::sin_cos(around);
        let (rise, out) = maths::sin_cos(up);
        let normal = Vec3::new(cos * out, sin * out, rise);
        let ring = Vec3::new(-sin, cos, 0.0);
        let (across, along) = maths::sin_cos(turn);
        let axis = ring.times(along) + normal.cross(ring).times(across);
        let place = Vec3::new(100.0 * cos, 100.0 * sin, 6.0) + normal.times(4.0);
        let (c, s) = maths::sin_cos(ridge_up);
        let met = Vec3::new(spread(0.414_214, -25.0, 25.0), 11.0 + 4.0 * s, 6.0 + 4.0 * c);
        let found = |depth| overlap(&dome, &ridge, against((met, [s, c]), (place, normal, axis), depth));
        for clear in [-least, 0.0, 0.45 * least] {
            assert_eq!(found(clear), None, "{case}: {clear}");
        }
        for depth in [3.0 * least, 10.0 * least] {
            let got = found(depth).unwrap_or_else(|| panic!("{case}: {depth} is not found"));
            assert!(depth - 2.0 * least <= got && got <= depth, "{case}: {got} of {depth}");
        }
    }
}
