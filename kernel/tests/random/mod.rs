//! Random histories that seek trouble, for laws and for files that other programs read.
//!
//! A random history is a polygon of three to seven corners with flanges of any turn on any edge, up or down,
//! with insets, tapers and second flanges, on thin and thick sheet; a random part has holes, bumps, fold lines
//! and offsets on top. Many cannot be made.

use kernel::history::feature::{
    Bump, BumpSide, CornerRelief, Cutout, DrawnLine, Feature, Flange, FoldLine, FoldSide, HeldFace, KeptSize,
    LengthFrom, LineMarks, NotchSize, Offset, Pattern, Reach, Relief, StepFaces, Straight, StraightSide,
    XFrom,
};
use kernel::history::{EdgeShape, History, Profile, ProfileEdge, Shape};
use kernel::quantity::maths;
use proptest::prelude::*;

use super::parts::{base, cutout, entry, flange, history, n, panel};

#[derive(Clone, Debug)]
struct RandomFlange {
    turn: f64,
    length: f64,
    side: FoldSide,
    from: LengthFrom,
    holds: HeldFace,
    insets: [f64; 2],
    tapers: [f64; 2],
    relief: Relief,
    corner_relief: Option<CornerRelief>,
    /// Heights of a drawn outline in place of the length, insets and tapers.
    skyline: Option<Vec<f64>>,
}

fn random_relief() -> impl Strategy<Value = Relief> {
    let by_rule = NotchSize { width: None, depth: None };
    let by_hand = NotchSize { width: Some(n(2.5)), depth: Some(n(1.3)) };
    prop_oneof![
        3 => Just(Relief::Square(by_rule.clone())),
        3 => Just(Relief::Round(by_rule)),
        1 => Just(Relief::Square(by_hand.clone())),
        1 => Just(Relief::Round(by_hand)),
        1 => Just(Relief::Tear),
        1 => Just(Relief::None),
    ]
}

/// Mostly nothing: flanges that meet with different ones are refused.
fn random_corner_relief() -> impl Strategy<Value = Option<CornerRelief>> {
    prop_oneof![
        6 => Just(None),
        1 => Just(Some(CornerRelief::Tear)),
        1 => prop::option::of(0.0..8.0).prop_map(|size| Some(CornerRelief::Square(size.map(n)))),
        1 => prop::option::of(0.0..8.0).prop_map(|size| Some(CornerRelief::Round(size.map(n)))),
        1 => prop::option::of(0.0..8.0).prop_map(|size| Some(CornerRelief::None(size.map(n)))),
    ]
}

fn random_flange() -> impl Strategy<Value = RandomFlange> {
    let turn = prop_oneof![4 => Just(90.0), 2 => 5.0..175.0, 1 => prop_oneof![Just(0.5), Just(179.0), Just(90.000_001)]];
    let inset = || prop_oneof![3 => Just(0.0), 1 => 0.0..30.0];
    let taper = || prop_oneof![3 => Just(0.0), 1 => -20.0..50.0];
    (
        turn,
        10.0..60.0,
        prop_oneof![3 => Just(FoldSide::Up), 1 => Just(FoldSide::Down)],
        prop_oneof![Just(LengthFrom::Outside), Just(LengthFrom::Inside), Just(LengthFrom::Tangent)],
        prop_oneof![Just(HeldFace::Outer), Just(HeldFace::Inner), Just(HeldFace::BendStart)],
        [inset(), inset()],
        [taper(), taper()],
        random_relief(),
        (random_corner_relief(), random_skyline()),
    )
        .prop_map(
            |(turn, length, side, from, holds, insets, tapers, relief, (corner_relief, skyline))| {
                RandomFlange {
                    turn,
                    length,
                    side,
                    from,
                    holds,
                    insets,
                    tapers,
                    relief,
                    corner_relief,
                    skyline,
                }
            },
        )
}

fn random_skyline() -> impl Strategy<Value = Option<Vec<f64>>> {
    prop::option::weighted(0.15, prop::collection::vec(10.0..60.0_f64, 2..5))
}

/// An outline 40 mm wide at its foot, which rises to each height in turn, from right to left; its last edge but
/// one is an arc.
fn skyline(left: f64, heights: &[f64]) -> Profile {
    let last = heights.len() - 1;
    let top = heights.iter().enumerate();
    let mut corners = vec![[left, 0.0], [left + 40.0, 0.0]];
    corners.extend(top.map(|(i, &y)| [left + 45.0 - 50.0 * i as f64 / last as f64, y]));
    let mut edges = vec![("root".to_owned(), EdgeShape::Line), ("right".to_owned(), EdgeShape::Line)];
    edges.extend((0..last).map(|i| match (i, i + 1 == last && last > 1) {
        (_, true) => ("arch".to_owned(), EdgeShape::Arc(n(200.0))),
        (0, false) => ("tip".to_owned(), EdgeShape::Line),
        (i, false) => (format!("top{i}"), EdgeShape::Line),
    }));
    edges.push(("left".to_owned(), EdgeShape::Line));
    let edges = edges.into_iter().map(|(name, shape)| ProfileEdge { name, shape });
    Profile::new(corners.into_iter().map(|c| c.map(n)).collect(), edges.collect())
}

fn feature(edge: &str, f: &RandomFlange) -> Feature {
    let mut made = flange(&[edge], f.turn, f.length);
    made.side = f.side;
    made.length_from = f.from;
    made.holds = f.holds;
    made.left.inset = n(f.insets[0]);
    made.right.inset = n(f.insets[1]);
    made.left.taper = n(f.tapers[0]);
    made.right.taper = n(f.tapers[1]);
    made.relief = f.relief.clone();
    made.corner_relief = f.corner_relief.clone();
    if let Some(heights) = &f.skyline {
        let drawn = skyline(f.insets[0], heights);
        let Flange { turn, side, length_from, holds, relief, corner_relief, .. } = made;
        let plain = flange(&[edge], 0.0, 0.0);
        let outline = Some(drawn);
        made = Flange { turn, side, length_from, holds, relief, corner_relief, outline, ..plain };
    }
    Feature::Flange(made)
}

/// A polygon about the origin; angles in order, so that it does not cross itself.
fn random_outline() -> impl Strategy<Value = Profile> {
    let rectangle =
        (60.0..300.0, 60.0..200.0).prop_map(|(l, w): (f64, f64)| Profile::rectangle(&n(l), &n(w)));
    let polygon = (3usize..8).prop_flat_map(|count| {
        prop::collection::vec((80.0..160.0, -0.25..0.25), count).prop_map(move |spokes| {
            let corners = spokes
                .iter()
                .enumerate()
                .map(|(i, (radius, shift)): (usize, &(f64, f64))| {
                    let angle = (i as f64 + shift) * maths::TAU / count as f64;
                    [n(radius * maths::cos(angle)), n(radius * maths::sin(angle))]
                })
                .collect();
            let edges =
                (0..count).map(|i| ProfileEdge { name: format!("e{i}"), shape: EdgeShape::Line }).collect();
            Profile::new(corners, edges)
        })
    });
    prop_oneof![rectangle, polygon]
}

pub(crate) fn random_history() -> impl Strategy<Value = History> {
    (
        random_outline(),
        prop_oneof![Just(0.5), Just(1.0), Just(2.0), Just(4.0)],
        prop_oneof![Just(0.0), Just(0.2), Just(1.5), Just(6.0)],
        0.0..0.5,
        prop::collection::vec(
            prop::option::weighted(0.6, (random_flange(), prop::option::weighted(0.4, random_flange()))),
            7,
        ),
    )
        .prop_map(|(outline, thickness, radius, k, flanges)| {
            let roles: Vec<String> = outline.edges.iter().map(|e| e.name.clone()).collect();
            let mut features = vec![base("plate", outline)];
            for (index, (role, chosen)) in roles.iter().zip(&flanges).enumerate() {
                if let Some((first, second)) = chosen {
                    features.push(entry(&format!("f{index}"), feature(&format!("plate/{role}"), first)));
                    if let Some(second) = second {
                        features.push(entry(&format!("g{index}"), feature(&format!("f{index}/tip"), second)));
                    }
                }
            }
            history(thickness, radius, k, features)
        })
}

/// A history with holes (through bends too), bumps, fold lines and offsets in its base panel besides.
#[allow(dead_code, reason = "not every law looks at these")]
pub(crate) fn random_part() -> impl Strategy<Value = History> {
    let place = || [-60.0..200.0_f64, -60.0..150.0_f64];
    // Half of them near the front edge of a rectangle, where they meet a bend.
    let anywhere = || prop_oneof![place(), [0.0..200.0_f64, -8.0..10.0_f64]];
    let straight = [-1.0..1.0_f64, -1.0..1.0_f64, 0.0..1.0_f64].prop_map(|[x, y, z]| {
        Reach::Straight(Straight { along: [x, y, z].map(n), side: StraightSide::Both, panels: None })
    });
    let reach = prop_oneof![1 => Just(Reach::Panel), 2 => Just(Reach::Blank), 1 => straight];
    let hole = (anywhere(), 2.0..30.0_f64, reach).prop_map(|(at, diameter, reach)| {
        let hole = cutout("plate", Shape::Circle { diameter: n(diameter) }, Pattern::At(vec![at.map(n)]));
        Feature::Cutout(Cutout { reach, ..hole })
    });
    let bump = (place(), 24.0..44.0_f64, 3.0..9.0_f64, prop_oneof![Just(0.0), 5.0..60.0_f64], any::<bool>())
        .prop_map(|(at, diameter, height, draft, out)| {
            Feature::Bump(Bump {
                panel: panel("plate"),
                profile: Shape::Circle { diameter: n(diameter) },
                pattern: Pattern::At(vec![at.map(n)]),
                x_from: XFrom::Left,
                height: n(height),
                side: if out { BumpSide::Out } else { BumpSide::In },
                draft: n(draft),
                punch_radius: None,
                die_radius: None,
                corner_radius: None,
            })
        });
    let line = (place(), place()).prop_map(|(a, b)| DrawnLine::Through(a.map(n), b.map(n)));
    let side = || prop_oneof![Just(FoldSide::Up), Just(FoldSide::Down)];
    let bent = (line, side(), 5.0..150.0_f64, prop::option::of(0.5..15.0_f64)).prop_map(
        |(line, side, turn, step)| match step {
            None => Feature::FoldLine(FoldLine {
                panel: panel("plate"),
                line,
                marks: LineMarks::Middle,
                turn: n(turn),
                side,
                inside_radius: None,
            }),
            Some(height) => Feature::Offset(Offset {
                panel: panel("plate"),
                line,
                marks: LineMarks::Middle,
                height: n(height),
                between: StepFaces::Same,
                turn: n(turn.min(90.0)),
                side,
                inside_radius: None,
                keeps: KeptSize::Folded,
            }),
        },
    );
    (
        random_history(),
        prop::option::weighted(0.5, hole),
        prop::option::weighted(0.4, bump),
        prop::option::weighted(0.4, bent),
    )
        .prop_map(|(mut history, hole, bump, bent)| {
            let named = [("hole", hole), ("bump", bump), ("moved", bent)];
            history.features.extend(named.into_iter().filter_map(|(name, made)| Some(entry(name, made?))));
            history
        })
}
