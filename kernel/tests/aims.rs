//! Aims: the smallest figure of a blank while dimensions hold, against figures by hand and against grids.

#[allow(dead_code, reason = "tests and benches use different parts")]
#[path = "../benches/parts.rs"]
mod parts;

use kernel::diag::Severity;
use kernel::dimension::Aimed;
use kernel::history::feature::Feature;
use kernel::history::{
    Aim, AimFigure, DimensionEntry, DimensionKind, EdgeName, FreeNumber, History, Number, Profile, Target,
    Thing,
};
use kernel::ident::VarId;
use kernel::quantity::maths;
use kernel::regenerate::{Part, regenerate};
use parts::{base, entry, flange, history, n, panel};
use proptest::prelude::*;

/// Thickness and inside radius of every part here, in mm, and its K.
const T: f64 = 1.5;
const R: f64 = 2.0;
const K: f64 = 0.44;

/// Depth of the channel in mm: the length of its bends.
const DEPTH: f64 = 160.0;

/// What two outside lengths lose at a square bend: `2 (r + t) − π/2 (r + K t)`.
fn deduction() -> f64 {
    2.0 * (R + T) - 0.5 * maths::PI * (R + K * T)
}

fn free(index: usize) -> Number {
    Number::free(VarId::new(index))
}

fn dimension(name: &str, kind: DimensionKind, target: Target) -> DimensionEntry {
    DimensionEntry { name: name.to_owned(), kind, target, stays: None, span: None }
}

fn edge(name: &str) -> EdgeName {
    EdgeName::new(name).expect("a well-formed name")
}

/// Outside width of the channel.
fn wide() -> DimensionKind {
    DimensionKind::Outside { a: panel("wall.left"), b: panel("wall.right") }
}

/// Outside height of the channel.
fn high() -> DimensionKind {
    DimensionKind::Overall { a: Thing::Panel(panel("floor")), b: Thing::Edge(edge("wall.left/tip")) }
}

fn aimed_for(mut history: History, smallest: AimFigure) -> History {
    history.aim = Some(Aim { smallest, span: None });
    history
}

/// A channel of free width and height, both outside: its blank is `DEPTH` by `width + 2 height − 2 deduction`.
fn channel(width: f64, height: f64) -> History {
    let mut walls = flange(&["floor/left", "floor/right"], 90.0, height);
    walls.length = free(1);
    let features =
        vec![base("floor", Profile::rectangle(&free(0), &n(DEPTH))), entry("wall", Feature::Flange(walls))];
    let mut history = history(T, R, K, features);
    history.free_numbers = vec![FreeNumber::new("width", width), FreeNumber::new("height", height)];
    history
}

fn blank_of_channel(width: f64, height: f64) -> f64 {
    width + 2.0 * height - 2.0 * deduction()
}

/// A plate of free length and width.
fn plate(length: f64, width: f64) -> History {
    let mut history = history(T, R, K, vec![base("plate", Profile::rectangle(&free(0), &free(1)))]);
    history.free_numbers = vec![FreeNumber::new("length", length), FreeNumber::new("width", width)];
    history
}

fn plate_sides() -> [DimensionKind; 2] {
    let width = |a: &str, b: &str| DimensionKind::PanelWidth { a: edge(a), b: edge(b) };
    [width("plate/left", "plate/right"), width("plate/front", "plate/back")]
}

/// The product of two measures over 100² mm², as a ratio of ratios.
fn product(a: DimensionKind, b: DimensionKind) -> DimensionKind {
    let point = |x: f64| Thing::Point([n(x), n(0.0), n(0.0)]);
    let hundred = || DimensionKind::Clear { a: point(0.0), b: point(100.0) };
    let ratio = |a, b| DimensionKind::Ratio(Box::new([a, b]));
    ratio(ratio(a, hundred()), ratio(hundred(), b))
}

fn made(history: &History) -> Part {
    regenerate(history).unwrap_or_else(|faults| panic!("{faults:?}"))
}

fn aim_of(part: &Part) -> &Aimed {
    part.aimed.as_ref().expect("the history has an aim")
}

fn codes(part: &Part) -> Vec<(&str, Severity)> {
    let of_aims = part.findings.iter().filter(|finding| finding.code.starts_with("dimension::aim"));
    of_aims.map(|finding| (finding.code, finding.severity)).collect()
}

fn bound_by(aimed: &Aimed) -> Vec<(&str, &str, &str, f64)> {
    let told = aimed.binding.iter();
    told.map(|b| (b.of.word(), b.origin.name.as_str(), b.side, b.value)).collect()
}

#[track_caller]
fn assert_near(got: f64, wanted: f64, tolerance: f64) {
    assert!((got - wanted).abs() <= tolerance, "{got} against {wanted}");
}

#[test]
fn flange_shrinks_to_what_it_must_have_at_least() {
    let mut history = channel(200.0, 80.0);
    history.dimensions = vec![
        dimension("wide", wide(), Target::Held(n(180.0))),
        dimension("high", high(), Target::AtLeast(n(30.0))),
    ];
    for figure in AimFigure::ALL {
        let part = made(&aimed_for(history.clone(), figure));
        assert_near(part.settled.free[0], 180.0, 1e-6);
        assert_near(part.settled.free[1], 30.0, 1e-6);
        let aimed = aim_of(&part);
        assert_eq!(bound_by(aimed), [("dimension", "high", "at least", 30.0)]);
        assert_eq!(codes(&part), []);
        let [before, after] = [80.0, 30.0].map(|height| {
            let length = blank_of_channel(180.0, height);
            match figure {
                AimFigure::BlankArea => length * DEPTH,
                // Density of steel as in the stock: 7.85e-6 kg/mm³.
                AimFigure::Mass => length * DEPTH * T * 7.85e-6,
                AimFigure::CutLength => 2.0 * (length + DEPTH),
            }
        });
        assert_near(aimed.before, before, 1e-9 * before);
        assert_near(aimed.after, after, 1e-7 * after);
        let [moved] = aimed.moved.as_slice() else { panic!("{:?}", aimed.moved) };
        assert_eq!((moved.number.as_str(), moved.from), ("height", 80.0));
    }
}

#[test]
fn range_of_a_free_number_binds() {
    let mut history = channel(200.0, 80.0);
    history.free_numbers[0].min = Some(150.0);
    history.free_numbers[1].min = Some(40.0);
    let part = made(&aimed_for(history, AimFigure::BlankArea));
    assert_near(part.settled.free[0], 150.0, 1e-9);
    assert_near(part.settled.free[1], 40.0, 1e-9);
    let wanted = [("free number", "width", "at least", 150.0), ("free number", "height", "at least", 40.0)];
    assert_eq!(bound_by(aim_of(&part)), wanted);
    assert_eq!(codes(&part), []);
}

/// Width and height hang together by a difference, so that both follow the one limit.
#[test]
fn two_numbers_held_together_go_down_together() {
    let mut history = channel(200.0, 80.0);
    let difference = DimensionKind::Difference(Box::new([wide(), high()]));
    history.dimensions = vec![
        dimension("wider than high", difference, Target::Held(n(90.0))),
        dimension("wide", wide(), Target::AtLeast(n(150.0))),
        dimension("high", high(), Target::AtLeast(n(50.0))),
    ];
    let part = made(&aimed_for(history, AimFigure::CutLength));
    assert_near(part.settled.free[0], 150.0, 1e-6);
    assert_near(part.settled.free[1], 60.0, 1e-6);
    assert_eq!(bound_by(aim_of(&part)), [("dimension", "wide", "at least", 150.0)]);
}

/// Of all plates of one area the square one has the least edge.
#[test]
fn plate_of_a_held_area_becomes_square() {
    let [length, width] = plate_sides();
    let mut history = plate(300.0, 160.0);
    history.dimensions = vec![dimension("area", product(length, width), Target::Held(n(4.8)))];
    let part = made(&aimed_for(history, AimFigure::CutLength));
    let side = 48_000.0_f64.sqrt();
    assert_near(part.settled.free[0], side, 1e-4);
    assert_near(part.settled.free[1], side, 1e-4);
    assert_near(aim_of(&part).after, 4.0 * side, 1e-8);
    assert_eq!((codes(&part), bound_by(aim_of(&part))), (vec![], vec![]));
}

/// Width `w` and height `h` outside with `w h` held at `c`: `w + 2 c / w` is least at `w = √(2 c) = 2 h`.
#[test]
fn channel_of_a_held_section_becomes_twice_as_wide_as_high() {
    let mut trials = Vec::new();
    for (width, height) in [(60.0, 90.0), (200.0, 80.0), (390.0, 45.0)] {
        let mut history = channel(width, height);
        history.dimensions = vec![dimension("section", product(wide(), high()), Target::Held(n(0.98)))];
        let part = made(&aimed_for(history, AimFigure::BlankArea));
        assert_near(part.settled.free[0], 140.0, 1e-3);
        assert_near(part.settled.free[1], 70.0, 1e-3);
        let least = DEPTH * blank_of_channel(140.0, 70.0);
        assert_near(aim_of(&part).after, least, 1e-9 * least);
        trials.push(aim_of(&part).trials);
    }
    // As `docs/math/solver.md` says.
    assert!(trials.iter().all(|&trials| trials < 40), "{trials:?}");
}

/// The same section as at least, with a wall that may not be so high: the optimum lies on both.
#[test]
fn curved_limit_and_straight_limit_meet_in_a_corner() {
    let mut history = channel(300.0, 50.0);
    history.free_numbers[1].max = Some(56.0);
    history.dimensions = vec![dimension("section", product(wide(), high()), Target::AtLeast(n(0.98)))];
    let part = made(&aimed_for(history, AimFigure::BlankArea));
    assert_near(part.settled.free[0], 9800.0 / 56.0, 1e-4);
    assert_near(part.settled.free[1], 56.0, 1e-9);
    let wanted = [("dimension", "section", "at least", 0.98), ("free number", "height", "at most", 56.0)];
    assert_eq!(bound_by(aim_of(&part)), wanted);
}

#[test]
fn aim_with_nothing_loose_says_so_and_changes_nothing() {
    let mut history = channel(200.0, 80.0);
    history.dimensions = vec![
        dimension("wide", wide(), Target::Held(n(180.0))),
        dimension("high", high(), Target::Held(n(30.0))),
    ];
    let without = made(&history);
    let part = made(&aimed_for(history, AimFigure::Mass));
    assert_eq!(codes(&part), [("dimension::aim_nothing_loose", Severity::Note)]);
    assert_eq!(part.settled.free, without.settled.free);
    assert_eq!((aim_of(&part).trials, aim_of(&part).moved.len()), (0, 0));
}

#[test]
fn loose_number_that_the_figure_does_not_know_stays() {
    let mut history = channel(200.0, 80.0);
    history.free_numbers.push(FreeNumber::new("idle", 7.0));
    history.dimensions = vec![
        dimension("wide", wide(), Target::Held(n(180.0))),
        dimension("high", high(), Target::Held(n(30.0))),
    ];
    let part = made(&aimed_for(history, AimFigure::BlankArea));
    assert_eq!(codes(&part), [("dimension::aim_without_effect", Severity::Note)]);
    assert_eq!(part.settled.free[2], 7.0);
}

/// Nothing holds the wall: it shrinks to its bend, and what was bound stays bound.
#[test]
fn number_without_a_limit_ends_where_the_part_does_and_is_named() {
    let mut history = channel(200.0, 80.0);
    history.dimensions = vec![dimension("wide", wide(), Target::AtLeast(n(150.0)))];
    let part = made(&aimed_for(history, AimFigure::BlankArea));
    assert_near(part.settled.free[0], 150.0, 1e-6);
    // An outside length takes `r + t` for its bend.
    assert_near(part.settled.free[1], R + T, 1e-6);
    assert_eq!(codes(&part), [("dimension::aim_at_wall", Severity::Warning)]);
    let finding = part.findings.iter().find(|f| f.code == "dimension::aim_at_wall").expect("it is there");
    assert!(finding.message.contains("`height` = 3.500"), "{}", finding.message);
    assert!(finding.hints[0].contains("its bend alone takes 3.500 mm"), "{:?}", finding.hints);
    assert_eq!(bound_by(aim_of(&part)), [("dimension", "wide", "at least", 150.0)]);
    assert!(aim_of(&part).failed > 0);
}

/// A side may shrink while the other one grows: of the two corners, the start decides, and it is told.
#[test]
fn hollow_figure_is_told_to_have_more_than_one_low_place() {
    let [length, width] = plate_sides();
    let sum = DimensionKind::Difference(Box::new([
        length,
        DimensionKind::Difference(Box::new([
            DimensionKind::Clear {
                a: Thing::Point([n(0.0), n(0.0), n(0.0)]),
                b: Thing::Point([n(500.0), n(0.0), n(0.0)]),
            },
            width,
        ])),
    ]));
    let mut history = plate(240.0, 260.0);
    for number in &mut history.free_numbers {
        (number.min, number.max) = (Some(100.0), Some(400.0));
    }
    history.dimensions = vec![dimension("length and width less 500", sum, Target::AtLeast(n(0.0)))];
    let part = made(&aimed_for(history, AimFigure::BlankArea));
    assert_near(aim_of(&part).after, 100.0 * 400.0, 1e-3);
    assert_eq!(codes(&part), [("dimension::aim_one_of_several", Severity::Warning)]);
}

/// A panel that stays keeps the numbers that move it, with an aim too.
#[test]
fn what_stays_stays() {
    let mut history = channel(200.0, 80.0);
    history.dimensions = vec![dimension("high", high(), Target::AtLeast(n(30.0)))];
    history.dimensions[0].stays = Some(panel("wall.right"));
    let part = made(&aimed_for(history, AimFigure::BlankArea));
    assert_eq!(part.settled.free[0], 200.0);
    assert_near(part.settled.free[1], 30.0, 1e-6);
}

#[test]
fn sizes_of_the_blank_hold_while_the_mass_falls() {
    let mut history = channel(200.0, 80.0);
    history.free_numbers[1].min = Some(20.0);
    history.dimensions = vec![
        dimension("blank", DimensionKind::BlankLength, Target::AtLeast(n(250.0))),
        dimension("wide", wide(), Target::AtMost(n(190.0))),
    ];
    let part = made(&aimed_for(history, AimFigure::Mass));
    assert_near(part.blank.bounding_box().width(), 250.0, 1e-5);
    assert_eq!(bound_by(aim_of(&part))[0], ("dimension", "blank", "at least", 250.0));
}

#[test]
fn explanations_and_remarks_work_with_an_aim() {
    let mut history = channel(200.0, 80.0);
    history.dimensions = vec![
        dimension("wide", wide(), Target::Held(n(180.0))),
        dimension("high", high(), Target::AtLeast(n(30.0))),
        dimension("length", DimensionKind::BlankLength, Target::Measured),
    ];
    let history = aimed_for(history, AimFigure::BlankArea);
    let part = made(&history);
    assert_eq!(part.remarks(&history).loose.len(), 1);
    let high = &part.explain(&history, "high").expect("there is such a dimension")[0];
    assert_near(high.total.as_ref().expect("lengths add up").value, 30.0, 1e-6);
    let height = &part.explain(&history, "height").expect("there is such a number")[0];
    let steps: Vec<(&str, f64)> = height.steps.iter().map(|s| (s.what.as_str(), s.figure.value)).collect();
    assert_eq!(steps[0], ("start", 80.0));
    assert_eq!(steps[1], ("moved by", 0.0));
    assert_eq!(steps[2].0, "and then by");
    assert_near(steps[2].1, -50.0, 1e-6);
    assert!(!part.tolerance_stack(&history).dimensions.is_empty());
}

/// Limits of a random channel; each holds at its start of 300 by 120 mm.
#[derive(Clone, Debug)]
struct Limits {
    least: [f64; 2],
    most: [f64; 2],
    /// `wide ≥ share · high`.
    share: f64,
    /// `high ≥ wide − difference`.
    difference: f64,
    /// `wide · high ≥ section · 10 000`.
    section: f64,
}

impl Limits {
    fn hold(&self, [width, height]: [f64; 2]) -> bool {
        let within = |i: usize, value: f64| self.least[i] <= value && value <= self.most[i];
        within(0, width)
            && within(1, height)
            && width >= self.share * height
            && height >= width - self.difference
            && width * height >= 1e4 * self.section
    }
}

prop_compose! {
    fn limits()(
        least in [20.0..290.0_f64, 10.0..110.0],
        most in [300.0..500.0_f64, 120.0..250.0],
        share in 0.2..2.4_f64,
        difference in 185.0..400.0_f64,
        section in 0.1..3.5_f64,
    ) -> Limits {
        Limits { least, most, share, difference, section }
    }
}

proptest! {
    #![proptest_config(ProptestConfig { failure_persistence: None, ..ProptestConfig::with_cases(48) })]

    /// Both figures are straight in width and height and the limits enclose a convex figure, so that a grid
    /// cannot find better.
    #[test]
    fn no_place_of_a_grid_is_better(limits in limits(), cut_length in any::<bool>()) {
        let mut history = channel(300.0, 120.0);
        for (number, i) in history.free_numbers.iter_mut().zip(0..) {
            (number.min, number.max) = (Some(limits.least[i]), Some(limits.most[i]));
        }
        let of_two = |kind: fn(Box<[DimensionKind; 2]>) -> DimensionKind| kind(Box::new([wide(), high()]));
        history.dimensions = vec![
            dimension("share", of_two(DimensionKind::Ratio), Target::AtLeast(n(limits.share))),
            dimension("difference", of_two(DimensionKind::Difference), Target::AtMost(n(limits.difference))),
            dimension("section", product(wide(), high()), Target::AtLeast(n(limits.section))),
        ];
        let figure = if cut_length { AimFigure::CutLength } else { AimFigure::BlankArea };
        let history = aimed_for(history, figure);
        let value = |width: f64, height: f64| {
            let length = blank_of_channel(width, height);
            if cut_length { 2.0 * (length + DEPTH) } else { length * DEPTH }
        };
        let part = made(&history);
        let (aimed, free) = (aim_of(&part), &part.settled.free);
        prop_assert!(aimed.after <= aimed.before);
        prop_assert!((aimed.after - value(free[0], free[1])).abs() <= 1e-9 * aimed.after);
        prop_assert_eq!(codes(&part), vec![]);
        const STEPS: u32 = 200;
        let at = |i: usize, step: u32| {
            limits.least[i] + (limits.most[i] - limits.least[i]) * f64::from(step) / f64::from(STEPS)
        };
        let places = (0..=STEPS).flat_map(|i| (0..=STEPS).map(move |j| (i, j)));
        let places = places.map(|(i, j)| [at(0, i), at(1, j)]).filter(|&place| limits.hold(place));
        let best = places.map(|[width, height]| value(width, height)).fold(f64::INFINITY, f64::min);
        prop_assert!(aimed.after <= best * (1.0 + 1e-6), "{} against {best} at {free:?}", aimed.after);
        // The same history gives the same bits.
        let again = made(&history);
        prop_assert_eq!(&again.settled.free, free);
        prop_assert_eq!(again.aimed.as_ref(), Some(aimed));
    }
}
