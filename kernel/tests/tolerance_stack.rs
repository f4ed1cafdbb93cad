//! How far dimensions and gaps spread: derivatives by hand, against differences, and against many parts made at
//! random; gaps of made parts are measured by parry3d, which knows nothing of readings.

#[allow(dead_code, reason = "tests and benches use different parts")]
#[path = "../benches/parts.rs"]
mod parts;

use kernel::dimension::{BlankSize, MaterialPoint, SheetNumbers, Skeleton, Spread, Stack, Tolerances};
use kernel::fold::{self, Gap};
use kernel::geom::{Dual, Scalar as _};
use kernel::history::feature::{
    DrawnLine, Feature, FoldSide, Hem, HemForm, HemSpec, KeptSize, LineMarks, Offset, Seam, StepFaces,
};
use kernel::history::{
    DimensionEntry, DimensionKind, EdgeName, FreeNumber, History, Number, Profile, Target, Thing,
    ToleranceSpec,
};
use kernel::ident::VarId;
use kernel::quantity::maths;
use kernel::regenerate::{Part, regenerate};
use parry3d_f64::math::{Pose, Vector};
use parry3d_f64::query;
use parry3d_f64::shape::ConvexPolyhedron;
use parts::{base, entry, flange, history, n, panel};

const DEG: f64 = maths::PI / 180.0;

fn measured(kind: DimensionKind) -> DimensionEntry {
    DimensionEntry { name: "measured".to_owned(), kind, target: Target::Measured, stays: None, span: None }
}

fn thing(name: &str) -> Thing {
    if name.contains('/') {
        Thing::Edge(EdgeName::new(name).expect("a well-formed name"))
    } else {
        Thing::Panel(panel(name))
    }
}

fn clear(a: &str, b: &str) -> DimensionKind {
    DimensionKind::Clear { a: thing(a), b: thing(b) }
}

fn overall(a: &str, b: &str) -> DimensionKind {
    DimensionKind::Overall { a: thing(a), b: thing(b) }
}

fn made(history: &History) -> Part {
    regenerate(history).unwrap_or_else(|faults| panic!("{faults:?}"))
}

/// Does something with the stack of a part.
fn with_stack<T>(history: &History, look: impl FnOnce(&Stack<'_, '_>, &[Gap]) -> T) -> T {
    let part = made(history);
    let sheet = SheetNumbers::from(&part.sheet);
    let skeleton = Skeleton::new(history, sheet).expect("the part was made");
    let size = part.blank.bounding_box();
    let size = [size.width(), size.height()];
    let known = part.settled.blank_corners.map_or_else(BlankSize::default, |corners| BlankSize {
        beyond_corners: [size[0] - corners[0], size[1] - corners[1]],
    });
    let spec = history.tolerances.as_ref();
    let tolerances = Tolerances::of(spec, part.tree.thickness(), size[0].max(size[1]));
    let stack = Stack::new(history, &skeleton, sheet, &part.settled, known, &tolerances);
    let gaps = fold::gaps(&part.tree, &skeleton, &part.settled.free);
    look(&stack, &gaps)
}

/// The spread of the only dimension.
fn spread_of(history: &History, kind: DimensionKind) -> Spread {
    let mut history = history.clone();
    history.dimensions = vec![measured(kind)];
    made(&history).tolerance_stack(&history).dimensions.remove(0)
}

/// Sensitivity to one thing.
fn slope(spread: &Spread, name: &str) -> f64 {
    let found = spread.contributions.iter().find(|c| c.name == name);
    found.map_or(0.0, |c| c.sensitivity)
}

#[track_caller]
fn assert_slopes(spread: &Spread, wanted: &[(&str, f64)]) {
    for &(name, wanted) in wanted {
        let got = slope(spread, name);
        assert!((got - wanted).abs() < 1e-9, "{name}: {got} against {wanted}");
    }
    let known = |name: &str| wanted.iter().any(|(wanted, _)| *wanted == name);
    let more: Vec<&str> =
        spread.contributions.iter().map(|c| c.name.as_str()).filter(|n| !known(n)).collect();
    assert!(more.is_empty(), "also moved by {more:?}");
}

// Sheet of all parts by hand: t = 2, r = 2, K = 0.45, so that a bend takes a (r + 0.9).
const T: f64 = 2.0;
const R: f64 = 2.0;
const K: f64 = 0.45;

/// A plate of 80 x 100 mm outside with a wall of 50 mm outside on its right edge.
fn l_bracket() -> History {
    let wall = flange(&["plate/right"], 90.0, 50.0);
    let features =
        vec![base("plate", Profile::rectangle(&n(80.0), &n(100.0))), entry("wall", Feature::Flange(wall))];
    history(T, R, K, features)
}

#[test]
fn outside_leg_of_an_l_by_hand() {
    // The outer arris of the tip lies above the plate's outer face by
    // h = t + r (1 − cos a) + (y − e) sin a − t cos a with y = 50 − r − t and e = p + (a (r + K t) − B) / 2;
    // at a right angle its derivatives are these.
    let spread = spread_of(&l_bracket(), overall("plate", "wall/tip"));
    let neutral = R + K * T;
    let quarter = maths::FRAC_PI_2;
    assert_slopes(
        &spread,
        &[
            ("turn of bend `wall`", (R + T - 0.5 * neutral) * DEG),
            ("inside radius of bend `wall`", 1.0 - 0.5 * quarter),
            ("thickness", 1.0 - 0.5 * quarter * K),
            ("place of bend `wall`", -1.0),
            ("cut of `wall/tip`", 1.0),
        ],
    );
    // Limits: 1° of turn, a tenth of the radius, 0.11 mm of 2 mm (EN 10131), 0.5 mm of place, and half of
    // 0.25 mm (ISO 9013, 2 mm, blank below 125 mm long) of cutting.
    let parts: [f64; 5] = [
        (R + T - 0.5 * neutral) * DEG * 1.0,
        (1.0 - 0.5 * quarter) * 0.2,
        (1.0 - 0.5 * quarter * K) * 0.11,
        0.5,
        0.125,
    ];
    assert!((spread.worst - parts.iter().sum::<f64>()).abs() < 1e-9, "{}", spread.worst);
    let likely = parts.iter().map(|p| p * p).sum::<f64>().sqrt();
    assert!((spread.likely - likely).abs() < 1e-9, "{}", spread.likely);
    let first = &spread.contributions[0];
    assert_eq!(first.name, "place of bend `wall`");
    assert!((first.share - 0.25 / (likely * likely)).abs() < 1e-9, "{}", first.share);
}

#[test]
fn angle_and_widths_of_an_l_by_hand() {
    let l = l_bracket();
    let angle = DimensionKind::Angle { a: panel("plate"), b: panel("wall") };
    assert_slopes(&spread_of(&l, angle), &[("turn of bend `wall`", 1.0)]);
    // Between two cut edges, each counts once.
    let edge = |name: &str| EdgeName::new(name).expect("well formed");
    let width = |a: &str, b: &str| DimensionKind::PanelWidth { a: edge(a), b: edge(b) };
    let across = spread_of(&l, width("plate/front", "plate/back"));
    assert_slopes(&across, &[("cut of `plate/front`", 1.0), ("cut of `plate/back`", 1.0)]);
    // The right edge is where the outer faces meet: p − (a (r + K t) − B) / 2 + (r + t) tan(a / 2) out.
    let (neutral, quarter) = (R + K * T, maths::FRAC_PI_2);
    assert_slopes(
        &spread_of(&l, width("plate/left", "plate/right")),
        &[
            ("cut of `plate/left`", 1.0),
            ("place of bend `wall`", 1.0),
            // d tan(a / 2) / da = 1 at a right angle.
            ("turn of bend `wall`", (R + T - 0.5 * neutral) * DEG),
            ("inside radius of bend `wall`", 1.0 - 0.5 * quarter),
            ("thickness", 1.0 - 0.5 * quarter * K),
        ],
    );
    // The blank changes by its cuts only.
    assert_slopes(
        &spread_of(&l, DimensionKind::BlankLength),
        &[("cut of `plate/left`", 1.0), ("cut of `wall/tip`", 1.0)],
    );
}

#[test]
fn inside_width_of_a_u_by_hand() {
    // Walls of 40 mm outside on both ends of 200 mm: the inside width at the tips of the walls.
    let walls = flange(&["floor/left", "floor/right"], 90.0, 40.0);
    let features =
        vec![base("floor", Profile::rectangle(&n(200.0), &n(100.0))), entry("wall", Feature::Flange(walls))];
    let u = history(T, R, K, features);
    let inside = DimensionKind::Inside { a: panel("wall.left"), b: panel("wall.right") };
    let spread = spread_of(&u, inside);
    // One wall's inner face lies p − (a (r + K t) − B) / 2 + r sin a + y cos a out of where its bend starts,
    // with y = 40 − r − t along the wall: for a turn more it leans in by y and starts (r + K t) / 2 earlier.
    let (neutral, quarter) = (R + K * T, maths::FRAC_PI_2);
    let lean = -(40.0 - R - T) - 0.5 * neutral;
    assert_slopes(
        &spread,
        &[
            ("turn of bend `wall.left`", lean * DEG),
            ("turn of bend `wall.right`", lean * DEG),
            ("inside radius of bend `wall.left`", 1.0 - 0.5 * quarter),
            ("inside radius of bend `wall.right`", 1.0 - 0.5 * quarter),
            ("place of bend `wall.left`", 1.0),
            ("place of bend `wall.right`", 1.0),
            ("thickness", -quarter * K),
        ],
    );
    // Over the outer faces two thicknesses come on top.
    let outside = DimensionKind::Outside { a: panel("wall.left"), b: panel("wall.right") };
    let spread = spread_of(&u, outside);
    assert!((slope(&spread, "thickness") - (2.0 - quarter * K)).abs() < 1e-9);
}

#[test]
fn height_of_a_z_by_hand() {
    // A web of 60 mm outside up from the plate, and a lip of 25 mm outside that goes on outwards.
    let web = flange(&["plate/right"], 90.0, 60.0);
    let mut lip = flange(&["web/tip"], 90.0, 25.0);
    lip.side = FoldSide::Down;
    let features = vec![
        base("plate", Profile::rectangle(&n(80.0), &n(100.0))),
        entry("web", Feature::Flange(web)),
        entry("lip", Feature::Flange(lip)),
    ];
    let z = history(T, R, K, features);
    // The lip's outer face looks at the plate. With turns a up and b down, a place y behind its bend lies at
    // h = r (1 − cos a) + (w + s₂ − e₁) sin a + (r + t)(cos(a − b) − cos a) + (y − e₂) sin(a − b) − t cos(a − b)
    // with w = 60 − 2 (r + t), s = p − g, e = p + g and g = (a (r + K t) − B) / 2 of each bend.
    let spread = spread_of(&z, clear("plate", "lip"));
    let (neutral, quarter) = (R + K * T, maths::FRAC_PI_2);
    // At the lip's tip. A turn more of the first bend lifts all behind it about an axis that lies r + (r + t) + y
    // inwards; a turn more of the second lowers the lip by y about where it starts.
    let y = 25.0 - R - T;
    let first = R + (R + T) + y - 0.5 * neutral;
    let second = -y - 0.5 * neutral;
    assert_slopes(
        &spread,
        &[
            ("turn of bend `web`", first * DEG),
            ("turn of bend `lip`", second * DEG),
            ("inside radius of bend `web`", 1.0 - 0.5 * quarter),
            ("inside radius of bend `lip`", 1.0 - 0.5 * quarter),
            ("thickness", -quarter * K),
            ("place of bend `web`", -1.0),
            ("place of bend `lip`", 1.0),
        ],
    );
}

fn step_on_plate() -> History {
    let step = Offset {
        panel: panel("plate"),
        line: DrawnLine::Through([n(60.0), n(0.0)], [n(60.0), n(90.0)]),
        side: FoldSide::Up,
        turn: n(70.0),
        height: n(15.0),
        between: StepFaces::Same,
        keeps: KeptSize::Folded,
        marks: LineMarks::Start,
        inside_radius: None,
    };
    let wall = flange(&["plate/front"], 90.0, 30.0);
    let features =
        vec![base("plate", Profile::rectangle(&n(150.0), &n(90.0))), entry("step", Feature::Offset(step))];
    let mut history = history(T, R, K, features);
    let _ = wall;
    history.dimensions = vec![measured(clear("plate", "step"))];
    history
}

/// A tray whose four walls lean outwards, mitred: of inside distances nothing is parallel but the rims' edges.
fn leaning_tray() -> History {
    let walls = flange(&["floor/front", "floor/right", "floor/back", "floor/left"], 70.0, 50.0);
    let edge = |name: &str| EdgeName::new(name).expect("well formed");
    let meet = |a: &str, b: &str| Feature::Seam(Seam::Meet { a: edge(a), b: edge(b), gap: n(0.8) });
    let features = vec![
        base("floor", Profile::rectangle(&n(240.0), &n(160.0))),
        entry("wall", Feature::Flange(walls)),
        entry("mitre", meet("wall.front/left", "wall.right/right")),
    ];
    let mut history = history(T, R, K, features);
    history.dimensions = vec![
        measured(clear("wall.left/tip", "wall.right/tip")),
        measured(overall("floor", "wall.front/tip")),
        measured(DimensionKind::Angle { a: panel("wall.left"), b: panel("wall.right") }),
        measured(clear("wall.front/tip", "wall.back/tip")),
    ];
    for (index, dimension) in history.dimensions.iter_mut().enumerate() {
        dimension.name = format!("measured {index}");
    }
    history
}

/// A cover, some of whose measures are made of others.
fn cover() -> History {
    let mut history = parts::five_panel_cover();
    let walls = || clear("wall.left", "wall.right");
    let across = || clear("wall.front", "wall.back");
    let about = Thing::Plane { through: [150.0, 0.0, 0.0].map(n), normal: [1.0, 0.0, 0.0] };
    let axis = Thing::Axis { through: [150.0, 0.0, 25.0].map(n), along: [0.0, 1.0, 0.0] };
    let kinds = [
        DimensionKind::Difference(Box::new([walls(), across()])),
        DimensionKind::Ratio(Box::new([walls(), across()])),
        DimensionKind::OffCentre { a: thing("wall.left"), b: thing("wall.right"), about },
        DimensionKind::BlankLength,
        DimensionKind::BlankWidth,
        DimensionKind::Clear { a: thing("wall.left"), b: axis.clone() },
        DimensionKind::Clear { a: thing("wall.left/tip"), b: axis },
        DimensionKind::Clear { a: thing("wall.left/tip"), b: Thing::Point([200.0, 80.0, 30.0].map(n)) },
        clear("face", "wall.front/tip"),
        DimensionKind::Outside { a: panel("wall.left"), b: panel("wall.right") },
    ];
    history.dimensions.extend(kinds.map(measured));
    for (index, dimension) in history.dimensions.iter_mut().enumerate() {
        dimension.name = format!("measured {index}");
    }
    history
}

/// A tray with a closed hem, a flange that starts at its edge and one that goes down.
fn hemmed() -> History {
    let mut start = flange(&["plate/left"], 120.0, 40.0);
    start.holds = kernel::history::feature::HeldFace::BendStart;
    let mut down = flange(&["plate/right"], 60.0, 35.0);
    down.side = FoldSide::Down;
    let end = || kernel::history::feature::FlangeEnd { inset: n(0.0), taper: n(0.0) };
    let hem = Hem::from(HemSpec {
        edges: vec![EdgeName::new("down/tip").expect("well formed")],
        form: HemForm::Closed { length: n(12.0), k_factor: None },
        side: FoldSide::Up,
        left: end(),
        right: end(),
    });
    let mut history = history(
        1.0,
        1.5,
        0.4,
        vec![
            base("plate", Profile::rectangle(&n(120.0), &n(90.0))),
            entry("start", Feature::Flange(start)),
            entry("down", Feature::Flange(down)),
            entry("hem", Feature::Hem(hem)),
        ],
    );
    history.dimensions = vec![
        measured(clear("plate", "start/tip")),
        measured(clear("plate", "down/tip")),
        measured(clear("down", "hem")),
        measured(DimensionKind::Angle { a: panel("plate"), b: panel("start") }),
    ];
    for (index, dimension) in history.dimensions.iter_mut().enumerate() {
        dimension.name = format!("measured {index}");
    }
    history
}

fn samples() -> Vec<History> {
    vec![l_with_blank(), cover(), leaning_tray(), step_on_plate(), hemmed()]
}

fn l_with_blank() -> History {
    let mut l = l_bracket();
    l.dimensions = vec![measured(DimensionKind::BlankLength)];
    l
}

#[test]
fn nothing_off_gives_the_pose_and_the_figures_that_were_drawn() {
    for history in samples() {
        let part = made(&history);
        with_stack(&history, |stack, gaps| {
            let none = vec![0.0; stack.limits().len()];
            let pose = stack.made().pose(&none);
            assert_eq!(pose.thickness, part.settled.pose.thickness);
            for (made, drawn) in pose.panels.iter().zip(&part.settled.pose.panels) {
                assert_eq!(made.placement, drawn.placement);
                for edge in 0..drawn.edge_order.len() {
                    assert_eq!(made.edge(edge).start, drawn.edge(edge).start);
                    assert_eq!(made.edge(edge).end, drawn.edge(edge).end);
                }
            }
            for (readings, dimension) in stack.readings(&none).iter().zip(&part.settled.dimensions) {
                assert!(!readings.is_empty());
                for reading in readings {
                    assert!((reading - dimension.got).abs() < 1e-9, "{}: {reading}", dimension.name);
                }
            }
            for gap in gaps {
                for distance in stack.distances(&gap.pairs, &none) {
                    assert!((distance - gap.got).abs() < 1e-6, "{distance} against {}", gap.got);
                }
            }
        });
    }
}

/// All readings and distances, one after the other.
fn figures<S: kernel::geom::Scalar>(stack: &Stack<'_, '_>, gaps: &[Gap], off: &[S]) -> Vec<S> {
    let mut all: Vec<S> = stack.readings(off).into_iter().flatten().collect();
    all.extend(gaps.iter().flat_map(|gap| stack.distances(&gap.pairs, off)));
    all
}

#[test]
fn derivatives_are_those_of_differences() {
    for history in samples() {
        with_stack(&history, |stack, gaps| {
            let count = stack.limits().len();
            for index in 0..count {
                let mut dual = vec![Dual::<1>::constant(0.0); count];
                dual[index] = Dual::variable(0.0, 0);
                let exact = figures(stack, gaps, &dual);
                let h = 1e-4;
                let moved = |by: f64| {
                    let mut off = vec![0.0; count];
                    off[index] = by;
                    figures(stack, gaps, &off)
                };
                let (ahead, behind) = (moved(h), moved(-h));
                for (at, exact) in exact.iter().enumerate() {
                    let slope = (ahead[at] - behind[at]) / (2.0 * h);
                    let name = stack.made().name(stack.made().deviations()[index]);
                    let got = exact.parts[0];
                    assert!(
                        (got - slope).abs() <= 1e-6 * (1.0 + slope.abs()),
                        "{name}, reading {at}: {got} against {slope}"
                    );
                }
            }
        });
    }
}

/// Numbers between −1 and 1, evenly spread, the same on every machine (a 64-bit linear congruential generator
/// with the multiplier and increment of Knuth's MMIX, from memory; its high bits).
struct Even(u64);

impl Even {
    fn next(&mut self) -> f64 {
        self.0 = self.0.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        let high = u32::try_from(self.0 >> 32).expect("32 bits are left");
        2.0 * f64::from(high) / f64::from(u32::MAX) - 1.0
    }
}

/// How far off the standard deviation of 10,000 samples may be: that of evenly spread numbers is good to a share
/// of √(0.8 / (4 · 10,000)) = 0.45 %; this is more than six times that.
const SAMPLED_SHARE: f64 = 0.03;

/// The same history with tolerances that are this share of what the shop keeps to.
fn within(history: &History, share: f64) -> History {
    let mut history = history.clone();
    history.tolerances = Some(parts::tolerances(share));
    history
}

fn spreads_of(stack: &Stack<'_, '_>, gaps: &[Gap]) -> Vec<Spread> {
    stack.smallest_distances(&gaps.iter().map(|gap| gap.pairs.as_slice()).collect::<Vec<_>>())
}

/// The spread of each figure, with the values that one of its readings or distances has in made parts.
fn sampled(history: &History, samples: usize) -> Vec<(Spread, Vec<f64>)> {
    with_stack(history, |stack, gaps| {
        let groups: Vec<usize> = stack
            .readings(&vec![0.0; stack.limits().len()])
            .iter()
            .map(Vec::len)
            .chain(gaps.iter().map(|gap| gap.pairs.len()))
            .collect();
        let spreads: Vec<Spread> = stack.dimensions().into_iter().chain(spreads_of(stack, gaps)).collect();
        // Of every group the reading that spreads most, found with one thing off at a time.
        let count = stack.limits().len();
        let mut worst = vec![0.0; groups.iter().sum()];
        for (index, &limit) in stack.limits().iter().enumerate() {
            let moved = |by: f64| {
                let mut off = vec![0.0; count];
                off[index] = by;
                figures(stack, gaps, &off)
            };
            for (at, (p, q)) in moved(limit).into_iter().zip(moved(-limit)).enumerate() {
                worst[at] += 0.5 * f64::abs(p - q);
            }
        }
        let mut first = 0;
        let chosen: Vec<usize> = groups
            .iter()
            .map(|len| {
                let mut own = first..first + len;
                first = own.end;
                let most = own.clone().map(|at| worst[at]).fold(0.0, f64::max);
                // Of equals the first one, as the stack takes it.
                own.find(|&at| worst[at] >= most - 1e-6).expect("every figure has a reading")
            })
            .collect();
        let mut even = Even(20_261_128);
        let mut values = vec![Vec::with_capacity(samples); chosen.len()];
        for _ in 0..samples {
            let off: Vec<f64> = stack.limits().iter().map(|limit| limit * even.next()).collect();
            let all = figures(stack, gaps, &off);
            for (values, &at) in values.iter_mut().zip(&chosen) {
                values.push(all[at]);
            }
        }
        spreads.into_iter().zip(values).collect()
    })
}

fn standard_deviation(values: &[f64]) -> f64 {
    let count = values.len() as f64;
    let mean = values.iter().sum::<f64>() / count;
    (values.iter().map(|v| (v - mean) * (v - mean)).sum::<f64>() / (count - 1.0)).sqrt()
}

#[test]
fn ten_thousand_parts_spread_as_the_root_of_squares_says() {
    let (share, samples) = (0.02, 10_000);
    let mut checked = 0;
    for history in samples_to_make() {
        let history = within(&history, share);
        // The largest term beyond the first order: all turns at their limit, at the end of the largest lever.
        let bends = 4.0;
        let turned = bends * share * DEG;
        let beyond = 0.5 * 300.0 * turned * turned;
        for (spread, values) in sampled(&history, samples) {
            // Evenly spread numbers have the standard deviation of their limit over √3.
            let got = standard_deviation(&values) * 3.0_f64.sqrt();
            let off = |likely: f64| (got / likely - 1.0).abs();
            assert!(off(spread.likely) < SAMPLED_SHARE, "{got} against {}", spread.likely);
            let nominal = values.iter().sum::<f64>() / values.len() as f64;
            let most = values.iter().map(|v| (v - nominal).abs()).fold(0.0, f64::max);
            assert!(most <= spread.worst + beyond, "{most} beyond {}", spread.worst);
            // Without one of the larger contributions, or with its sensitivity off by half, it does not fit.
            for contribution in spread.contributions.iter().filter(|c| c.share > 0.1) {
                for factor in [0.0, 1.5] {
                    let wrong = 1.0 + contribution.share * (factor * factor - 1.0);
                    assert!(off(spread.likely * wrong.sqrt()) > SAMPLED_SHARE, "{}", contribution.name);
                    checked += 1;
                }
            }
        }
    }
    assert!(checked > 60, "{checked}");
}

fn samples_to_make() -> Vec<History> {
    vec![cover(), leaning_tray(), step_on_plate()]
}

#[test]
fn the_worst_case_is_reached_and_never_more() {
    for history in samples_to_make() {
        let history = within(&history, 0.02);
        with_stack(&history, |stack, _| {
            let none = vec![0.0; stack.limits().len()];
            let nominal = stack.readings(&none);
            for (at, spread) in stack.dimensions().into_iter().enumerate() {
                // Everything at its limit, on the side that the sensitivities say.
                let off: Vec<f64> = stack
                    .made()
                    .deviations()
                    .iter()
                    .map(|d| {
                        let found = spread.contributions.iter().find(|c| c.deviation == *d);
                        found.map_or(0.0, |c| c.limit * c.sensitivity.signum())
                    })
                    .collect();
                let moved = &stack.readings(&off)[at];
                let most = moved.iter().zip(&nominal[at]).map(|(a, b)| a - b).fold(0.0, f64::max);
                assert!((most - spread.worst).abs() < 0.01 * spread.worst, "{most}: {}", spread.worst);
            }
        });
    }
}

/// The flat sheet of a panel as made, as a convex body.
fn body(part: &Part, stack: &Stack<'_, '_>, off: &[f64], name: &str) -> ConvexPolyhedron {
    let found = part.tree.panels().iter().find(|p| p.name.as_str() == name).expect("the panel is there");
    let pose = stack.made().pose(off);
    let points: Vec<Vector> = found.region.contours()[0]
        .segments()
        .iter()
        .flat_map(|piece| [0.0, 1.0].map(|depth| (piece.start, depth)))
        .map(|(at, depth)| MaterialPoint { panel: found.id, at, depth, cuts: Vec::new() })
        .map(|point| stack.made().point(&pose, off, &point))
        .map(|p| Vector::new(p.x, p.y, p.z))
        .collect();
    ConvexPolyhedron::from_convex_hull(&points).expect("a flat has volume")
}

#[test]
fn gaps_of_made_parts_are_those_that_another_library_measures() {
    let mut lapped = leaning_tray();
    let edge = |name: &str| EdgeName::new(name).expect("well formed");
    let lap = |cover: &str, under: &str| Seam::Lap {
        cover: edge(cover),
        under: edge(under),
        gap: n(0.6),
        overlap: None,
    };
    lapped.features[2] = entry("lap", Feature::Seam(lap("wall.front/left", "wall.right/right")));
    let mut compared = 0;
    for history in [cover(), leaning_tray(), lapped] {
        let mut history = within(&history, 0.02);
        if let Some(spec) = &mut history.tolerances {
            spec.cut = Some(0.0);
        }
        let part = made(&history);
        with_stack(&history, |stack, gaps| {
            assert_eq!(gaps.len(), 4);
            let mut even = Even(7);
            for (gap, spread) in gaps.iter().zip(spreads_of(stack, gaps)) {
                assert!((gap.got - gap.asked).abs() < 1e-6, "{} against {}", gap.got, gap.asked);
                for _ in 0..20 {
                    let off: Vec<f64> = stack.limits().iter().map(|limit| limit * even.next()).collect();
                    let [a, b] = gap.between.each_ref().map(|name| body(&part, stack, &off, name.as_str()));
                    let here = Pose::identity();
                    let apart = query::distance(&here, &a, &here, &b).expect("both are convex").distance;
                    let near = stack.distances(&gap.pairs, &off).into_iter().fold(f64::INFINITY, f64::min);
                    // To first order: what is left is the square of the share.
                    assert!((apart - near).abs() < 0.02 * spread.worst, "{apart} against {near}");
                    compared += 1;
                }
            }
        });
    }
    assert_eq!(compared, 240);
}

#[test]
fn a_measured_dimension_follows_what_is_asked_of_a_held_one() {
    // Walls on both ends of a plate whose ends are free: 200 mm inside are held, and the right wall is measured
    // from a plane at x = 0. Both ends move alike, so that it moves by half.
    let free = |index| Number::free(VarId::new(index));
    let corners = [[free(0), n(0.0)], [free(1), n(0.0)], [free(1), n(80.0)], [free(0), n(80.0)]];
    let edges = ["front", "right", "back", "left"].map(parts::line).to_vec();
    let walls = flange(&["plate/left", "plate/right"], 90.0, 40.0);
    let features =
        vec![base("plate", Profile::new(corners.to_vec(), edges)), entry("wall", Feature::Flange(walls))];
    let mut history = history(T, R, K, features);
    history.free_numbers = vec![FreeNumber::new("left", 0.0), FreeNumber::new("right", 200.0)];
    let zero = || Thing::Plane { through: [0.0, 0.0, 0.0].map(n), normal: [1.0, 0.0, 0.0] };
    let held = |value: f64| DimensionEntry {
        name: "inside".to_owned(),
        target: Target::Held(n(value)),
        ..measured(clear("wall.left", "wall.right"))
    };
    let right = DimensionKind::Clear { a: thing("wall.right"), b: zero() };
    let outside = overall("wall.left", "wall.right");
    history.dimensions = vec![held(210.0), measured(right), measured(outside)];
    history.dimensions[2].name = "outside".to_owned();
    let by = |history: &History| {
        let follows = made(history).tolerance_stack(history).follows;
        assert!(follows[0].is_empty());
        assert!(follows[1..].iter().all(|f| f.len() == 1 && f[0].dimension == "inside"), "{follows:?}");
        [follows[1][0].by, follows[2][0].by]
    };
    let [right, outside] = by(&history);
    assert!((right - 0.5).abs() < 1e-9 && (outside - 1.0).abs() < 1e-9, "{right}, {outside}");
    // With twice the weight the left end moves a quarter as far: the right one by four fifths of all.
    history.free_numbers[0].weight = Some(2.0);
    assert!((by(&history)[0] - 0.8).abs() < 1e-9);
    history.free_numbers[0].weight = None;
    history.dimensions[0].stays = Some(panel("wall.left"));
    assert!((by(&history)[0] - 1.0).abs() < 1e-9);
}

#[test]
fn tolerances_that_cannot_be_are_refused() {
    for wrong in [-0.1, f64::NAN, f64::INFINITY] {
        let mut history = l_bracket();
        history.tolerances = Some(ToleranceSpec { bend_place: Some(wrong), ..ToleranceSpec::default() });
        let fault = regenerate(&history).expect_err("it cannot be").remove(0);
        assert_eq!(fault.code, "dimension::tolerance");
        assert!(fault.message.contains("bend_place"), "{}", fault.message);
    }
    // Nothing off, nothing spreads.
    let mut history = within(&l_bracket(), 0.0);
    history.dimensions = vec![measured(overall("plate", "wall/tip"))];
    let spread = made(&history).tolerance_stack(&history).dimensions.remove(0);
    assert_eq!((spread.worst, spread.likely, spread.contributions.len()), (0.0, 0.0, 0));
}
