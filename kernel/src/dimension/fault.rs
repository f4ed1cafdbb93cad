//! Why numbers cannot be settled, in the history's own names.
//!
//! Invariant: every variant has a code of its own that never changes its meaning.

use thiserror::Error;

use crate::diag::{Diagnostic, Origin};
use crate::history::{EdgeName, PanelName};
use crate::quantity::tolerance;

/// A fault of the dimension stage. Lengths in mm, angles in degrees.
#[derive(Clone, Debug, PartialEq, Error)]
#[expect(missing_docs, reason = "the message of each fault says what its fields are")]
pub enum DimensionFault {
    #[error("{what} of `{owner}` is not a finite number")]
    NotFinite { owner: String, what: &'static str },
    #[error("`{owner}` uses free number {index}, but the history has {count}")]
    UnknownFree { owner: String, index: usize, count: usize },
    #[error(
        "`{dimension}` asks for {asked:.3} {unit}, the nearest that was found is {got:.3} {unit}{}",
        hindrance.words()
    )]
    NotHeld { dimension: String, asked: f64, got: f64, unit: &'static str, hindrance: Hindrance },
    #[error("{} cannot hold together", members.join(" and "))]
    Conflict { members: Vec<String> },
    #[error("`{dimension}` asks for a distance of {asked:.3} mm; a distance that is held is above 0 mm")]
    NoDistance { dimension: String, asked: f64 },
    #[error("`{dimension}` measures between `{a}` and `{b}`, which are {off:.3}° from parallel")]
    NotParallel { dimension: String, a: String, b: String, off: f64 },
    #[error("`{dimension}` measures panel `{a}` against itself")]
    SamePanel { dimension: String, a: PanelName },
    #[error("`{dimension}` measures a panel's width between `{a}` and `{b}`, which are on two panels")]
    TwoPanels { dimension: String, a: EdgeName, b: EdgeName },
    #[error("`{dimension}` measures between `{a}` and `{b}`, which are of one panel and cannot come apart")]
    OneThing { dimension: String, a: String, b: String },
    #[error("`{dimension}` compares {a} with {b}, which are not in one unit")]
    TwoUnits { dimension: String, a: String, b: String },
    #[error(
        "`{dimension}`: `{a}` and `{b}` do not start straight across from each other on both sides of {about}"
    )]
    OneSide { dimension: String, a: String, b: String, about: String },
    #[error("`{dimension}` is a ratio over a measure of nothing")]
    OverNothing { dimension: String },
    #[error("free number `{number}` has a least value of {min} above its largest one, {max}")]
    BoundsCrossed { number: String, min: f64, max: f64 },
    #[error("`{dimension}` is made of {count} measures; {most} are the most")]
    TooManyMeasures { dimension: String, count: usize, most: usize },
    #[error("`{dimension}`: a direction has no length")]
    NoDirection { dimension: String },
    #[error("free number `{number}` starts at {start}, outside its bounds {min} to {max}")]
    StartOutOfBounds { number: String, start: f64, min: f64, max: f64 },
    #[error(
        "the weight of free number `{number}` is {weight}; it must be at least {least} and at most {most}"
    )]
    Weight { number: String, weight: f64, least: f64, most: f64 },
    #[error("the tolerance `{tolerance}` is {got}; it must be a number of 0 or more")]
    Tolerance { tolerance: &'static str, got: f64 },
    #[error("the bend of `{panel}` is turned through {turn:.3}°; it must be above 0° and below 180°")]
    Turn { panel: PanelName, turn: f64 },
    #[error("the inside radius of `{panel}` is {radius:.3} mm; it cannot be negative")]
    Radius { panel: PanelName, radius: f64 },
    #[error("flange `{panel}` is {length:.3} mm long, but its bend alone takes {least:.3} mm of that")]
    FlangeTooShort { panel: PanelName, length: f64, least: f64 },
    #[error("the {what} of flange `{panel}` is {got:.3}{unit}; {}", range_words(*least, *most, unit))]
    OutOfRange { panel: PanelName, what: &'static str, got: f64, unit: &'static str, least: f64, most: f64 },
    #[error("the outline of `{outline}` has no edge `{edge}`")]
    NoOutlineEdge { outline: String, edge: String, known: Vec<String> },
    #[error("the outline of `{outline}` has no corner between `{a}` and `{b}`")]
    NoOutlineCorner { outline: String, a: String, b: String },
    #[error("two edges of the outline of `{outline}` are called `{edge}`")]
    OutlineEdgeTwice { outline: String, edge: String },
    #[error("in the outline of `{outline}`: {relation}: this takes {takes}")]
    RelationMisfit { outline: String, relation: String, takes: &'static str },
    #[error("in the outline of `{outline}`: {relation}: this relates a thing to itself")]
    RelatedToItself { outline: String, relation: String },
    #[error("in the outline of `{outline}`: {relation}: it cannot be measured as drawn")]
    RelationNotMeasurable { outline: String, relation: String },
    #[error(
        "in the outline of `{outline}`: {relation}: {}{}",
        missed_words(*asked, *got, unit),
        hindrance.words()
    )]
    RelationNotHeld {
        outline: String,
        relation: String,
        asked: Option<f64>,
        got: f64,
        unit: &'static str,
        hindrance: Hindrance,
    },
    #[error(
        "hem `{panel}` is turned through {turn:.3}°; it must be at least 180° and below {most:.3}°, where it meets its own panel"
    )]
    HemTurn { panel: PanelName, turn: f64, most: f64 },
    #[error("hem `{panel}` has {got:.4} mm of room inside; it needs at least {least} mm")]
    HemWithoutRoom { panel: PanelName, got: f64, least: f64 },
    #[error(
        "the step of `{panel}` is {height:.3} mm high; measured like this it must be above {least:.3} mm"
    )]
    StepTooLow { panel: PanelName, height: f64, least: f64 },
    #[error("the blank's size does not come to rest: it still changes by {off:.6} mm as it is solved for")]
    BlankNotSettled { off: f64 },
    #[error(
        "the smallest distance to `{neighbour}` does not come to rest: it still is {off:.6} mm off what was solved for"
    )]
    ClearanceNotSettled { neighbour: String, off: f64 },
    #[error(
        "the aim for the smallest {figure} has nothing to choose: the dimensions leave no free number loose"
    )]
    AimNothingLoose { figure: &'static str },
    #[error("no free number that the dimensions leave loose changes the {figure}")]
    AimWithoutEffect { figure: &'static str },
    #[error(
        "the {figure} was still falling after {trials} trials, when the search for the smallest one was given up"
    )]
    AimUnfinished { figure: &'static str, trials: usize },
    #[error("the {figure} would fall further, but the part cannot be made beyond {}", numbers.join(" and "))]
    AimAtWall { figure: &'static str, numbers: Vec<String> },
    #[error("the {figure} has more than one low place; this is the lowest of those that were seen")]
    AimOneOfSeveral { figure: &'static str },
    #[error("the dimensions could not be settled: a number ran away on the way")]
    RanAway,
}

/// What keeps something asked for from holding.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Hindrance {
    /// No free number moves it.
    NothingMoves,
    /// It is out of reach by itself, whatever else is asked for.
    OutOfReach {
        /// Free numbers at an end of their range there.
        bounds: Vec<BoundTouched>,
    },
    /// Other things asked for, as far as is known.
    Others,
}

/// A free number at an end of its range.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct BoundTouched {
    /// Its name.
    pub number: String,
    /// The end in words, for example `at most 210.000`.
    pub end: String,
}

impl Hindrance {
    /// `: free number `length` touches its bound, at most 210.000`; empty where no range hinders.
    fn words(&self) -> String {
        match self {
            Self::NothingMoves | Self::Others => String::new(),
            Self::OutOfReach { bounds } if bounds.is_empty() => String::new(),
            Self::OutOfReach { bounds } => {
                let one =
                    |b: &BoundTouched| format!("free number `{}` touches its bound, {}", b.number, b.end);
                format!(": {}", bounds.iter().map(one).collect::<Vec<_>>().join(", "))
            }
        }
    }
}

/// What to do about something out of reach: the values that are within it, rounded to the side that holds.
fn reach_hint(asked: f64, got: f64, unit: &str, bounds: &[BoundTouched]) -> String {
    /// Steps of the last digit that is printed.
    const STEPS: f64 = 1000.0;
    let (within, word) = if got < asked {
        (((got + tolerance::HELD_MM) * STEPS).floor() / STEPS, "less")
    } else {
        (((got - tolerance::HELD_MM) * STEPS).ceil() / STEPS, "more")
    };
    let value = format!("{within:.3} {unit}");
    let value = value.trim_end();
    if bounds.is_empty() {
        return format!(
            "nothing nearer was found: ask for {value} or {word}, or let one more number be free"
        );
    }
    let names: Vec<String> = bounds.iter().map(|b| format!("`{}`", b.number)).collect();
    format!("ask for {value} or {word}, or widen the range of {}", names.join(", "))
}

/// `it cannot be negative`, `it must be at least 0.01 mm`, or `it must be at least -85° and below 85°`.
fn range_words(least: f64, most: f64, unit: &str) -> String {
    if most.is_infinite() {
        return match least {
            0.0 => "it cannot be negative".to_owned(),
            _ => format!("it must be at least {least}{unit}"),
        };
    }
    format!("it must be at least {least}{unit} and below {most}{unit}")
}

/// `asks for 20.000 mm, the nearest that was found is 18.500 mm`, or `it is still 1.500 mm off`.
fn missed_words(asked: Option<f64>, got: f64, unit: &str) -> String {
    match asked {
        Some(asked) => {
            format!("it asks for {asked:.3} {unit}, the nearest that was found is {got:.3} {unit}")
        }
        None => format!("the nearest that was found is {got:.3} {unit} off"),
    }
}

impl DimensionFault {
    /// The finding for whoever wrote the history.
    #[must_use]
    pub fn diagnose(&self, origin: impl Into<Option<Origin>>) -> Diagnostic {
        let (code, hint) = match self {
            Self::NotFinite { .. } => ("dimension::not_finite", None),
            Self::UnknownFree { .. } => ("dimension::unknown_free_number", None),
            Self::NotHeld { hindrance: Hindrance::NothingMoves, .. } => (
                "dimension::nothing_to_move",
                Some("no free number moves this measure; declare one with `free` and use it in the sizes between".to_owned()),
            ),
            Self::NotHeld { asked, got, unit, hindrance: Hindrance::OutOfReach { bounds }, .. } => {
                ("dimension::not_held", Some(reach_hint(*asked, *got, unit, bounds)))
            }
            Self::NotHeld { asked, got, hindrance: Hindrance::Others, .. } => (
                "dimension::not_held",
                Some(format!(
                    "it differs by {:.3}; other dimensions hold the same sizes: change one of them, or only measure it",
                    (asked - got).abs()
                )),
            ),
            Self::Conflict { .. } => ("dimension::conflict", None),
            Self::NoDistance { .. } => (
                "dimension::no_distance",
                Some("a distance has no sign; which side is which follows from how the part is drawn".to_owned()),
            ),
            Self::NotParallel { .. } => (
                "dimension::not_parallel",
                Some("a distance needs parallel panels or edges; hold their angle at 0° or 180°, or measure the angle".to_owned()),
            ),
            Self::SamePanel { .. } => ("dimension::same_panel", Some("name two panels".to_owned())),
            Self::TwoPanels { .. } => {
                ("dimension::two_panels", Some("between panels use an inside or outside dimension".to_owned()))
            }
            Self::OneThing { .. } => (
                "dimension::one_thing",
                Some("the width of a panel is measured by `width(edge, edge)`".to_owned()),
            ),
            Self::TwoUnits { .. } => {
                ("dimension::two_units", Some("compare distances with distances, angles with angles".to_owned()))
            }
            Self::OneSide { .. } => (
                "dimension::one_side",
                Some("start the free numbers so that one lies on each side, or hold both distances".to_owned()),
            ),
            Self::OverNothing { .. } => {
                ("dimension::over_nothing", Some("the second measure must differ from 0 in the finished part".to_owned()))
            }
            Self::BoundsCrossed { .. } => ("dimension::bounds_crossed", Some("exchange `min` and `max`".to_owned())),
            Self::TooManyMeasures { .. } => {
                ("dimension::too_many_measures", Some("hold the parts as dimensions of their own".to_owned()))
            }
            Self::NoDirection { .. } => (
                "dimension::no_direction",
                Some("give three numbers that are not all zero, for example `[0, 0, 1]`".to_owned()),
            ),
            Self::StartOutOfBounds { .. } => (
                "dimension::start_out_of_bounds",
                Some("start it within its bounds: the solver begins there".to_owned()),
            ),
            Self::Weight { .. } => ("dimension::weight", Some("1 is the weight of a number without one".to_owned())),
            Self::Tolerance { .. } => {
                ("dimension::tolerance", Some("give how much may be off to either side, in mm or degrees".to_owned()))
            }
            Self::Turn { turn, .. } => (
                "dimension::turn_out_of_range",
                Some(
                    if *turn < 0.0 {
                        "to bend the other way, say `side: \"down\"`"
                    } else if *turn > 0.0 {
                        "to fold the sheet back on itself use a hem"
                    } else {
                        "a panel that is not bent is part of the panel beside it: draw it there"
                    }
                    .to_owned(),
                ),
            ),
            Self::Radius { .. } => ("dimension::negative_radius", None),
            Self::FlangeTooShort { least, .. } => {
                ("dimension::flange_too_short", Some(format!("make it longer than {least:.3} mm, or its inside radius smaller")))
            }
            Self::OutOfRange { .. } => ("dimension::out_of_range", None),
            Self::HemTurn { .. } => ("dimension::hem_turn", None),
            Self::HemWithoutRoom { .. } => {
                ("dimension::hem_without_room", Some("for a hem pressed flat use the form `closed`".to_owned()))
            }
            Self::NoOutlineEdge { known, .. } => {
                let known: Vec<String> = known.iter().map(|k| format!("`{k}`")).collect();
                ("history::unknown_edge", Some(format!("its edges are: {}", known.join(", "))))
            }
            Self::NoOutlineCorner { .. } => (
                "history::unknown_corner",
                Some("a corner is named by two edges that follow each other".to_owned()),
            ),
            Self::OutlineEdgeTwice { .. } => {
                ("history::name_used_twice", Some("give each one a name of its own".to_owned()))
            }
            Self::RelationMisfit { .. } => (
                "history::relation_misfit",
                Some("edges are named by their names, a corner by its two edges, `[\"left\", \"front\"]`".to_owned()),
            ),
            Self::RelatedToItself { .. } => ("history::related_to_itself", None),
            Self::RelationNotMeasurable { .. } => (
                "dimension::relation_not_measurable",
                Some("an edge in it has no length, or the ends of an arc are more than a diameter apart".to_owned()),
            ),
            Self::RelationNotHeld { hindrance: Hindrance::NothingMoves, .. } => (
                "dimension::relation_not_held",
                Some("no free number moves it: begin the outline with `sketch`, or use free numbers in it".to_owned()),
            ),
            Self::RelationNotHeld {
                asked: Some(asked),
                got,
                unit,
                hindrance: Hindrance::OutOfReach { bounds },
                ..
            } => ("dimension::relation_not_held", Some(reach_hint(*asked, *got, unit, bounds))),
            Self::RelationNotHeld { hindrance: Hindrance::OutOfReach { .. } | Hindrance::Others, .. } => (
                "dimension::relation_not_held",
                Some("other relations or dimensions hold the same: take one of them out; or draw it nearer to what it shall be".to_owned()),
            ),
            Self::StepTooLow { .. } => (
                "dimension::step_too_low",
                Some("to step the other way, change the `side`".to_owned()),
            ),
            Self::BlankNotSettled { .. } => (
                "dimension::blank_not_settled",
                Some("what stands out of the blank changes with its size: hold another size, or only measure this one".to_owned()),
            ),
            Self::ClearanceNotSettled { .. } => (
                "dimension::clearance_not_settled",
                Some("ask for it at one panel, `clear_of(panel, neighbour)`, or hold a size instead".to_owned()),
            ),
            Self::AimNothingLoose { .. } => (
                "dimension::aim_nothing_loose",
                Some("let a number be `free`, or ask for `at_least` or `at_most` instead of `hold`".to_owned()),
            ),
            Self::AimWithoutEffect { .. } => {
                ("dimension::aim_without_effect", Some("take the aim out, or let a size of the blank be `free`".to_owned()))
            }
            Self::AimUnfinished { .. } => (
                "dimension::aim_unfinished",
                Some("start the free numbers nearer to their answer, or hold some of them".to_owned()),
            ),
            Self::AimAtWall { .. } => (
                "dimension::aim_at_wall",
                Some("say where it shall end: give the free number a `min` or `max`, or ask for a dimension `at_least` or `at_most`".to_owned()),
            ),
            Self::AimOneOfSeveral { .. } => (
                "dimension::aim_one_of_several",
                Some("make the part from other start values too and compare, or narrow the range of the free numbers".to_owned()),
            ),
            Self::RanAway => ("dimension::ran_away", Some("start the free numbers nearer to their answer".to_owned())),
        };
        let mut finding = Diagnostic::fault(code, self.to_string(), origin);
        if let Self::NoOutlineEdge { edge, known, .. } = self {
            finding = finding.hint_nearest(edge, known);
        }
        match hint {
            Some(hint) => finding.hint(hint),
            None => finding,
        }
    }
}
