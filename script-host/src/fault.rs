//! What a script can do wrong at the border to the kernel.
//!
//! Invariant: every variant has a code that never changes its meaning; texts live here only.

use kernel::diag::{Severity, nearest};
use kernel::history::{NameError, SketchFault};
use thiserror::Error;

use crate::finding::Finding;
use crate::source::Place;

/// A fault of a call in a script.
#[derive(Clone, Debug, PartialEq, Error)]
pub(crate) enum ScriptFault {
    #[error("`{function}` has no option `{option}`")]
    UnknownOption { function: &'static str, option: String, allowed: Vec<&'static str> },
    #[error("`{function}` needs the option `{option}`")]
    MissingOption { function: &'static str, option: &'static str },
    #[error("{place} takes {wanted}, got {got}")]
    WrongType { place: String, wanted: &'static str, got: String },
    #[error("{place} takes {}, got \"{got}\"", quoted(allowed))]
    WrongWord { place: String, allowed: Vec<&'static str>, got: String },
    #[error("{place} takes a whole number from {least} to {most}, got {got}")]
    WrongCount { place: String, least: u32, most: u32, got: String },
    #[error("`{a}` and `{b}` cannot both be given to `{function}`")]
    Either { function: &'static str, a: &'static str, b: &'static str },
    #[error("a `{function}` of this shape has no size")]
    NoSize { function: &'static str },
    #[error("{0}")]
    Name(NameError),
    #[error("a script makes one part; this is a second one")]
    SecondPart,
    #[error("this `{function}` is made of {count} measures; {most} are the most")]
    TooManyMeasures { function: &'static str, count: usize, most: usize },
    #[error("the tolerances of a part are said once; this is the second time")]
    TolerancesTwice,
    #[error("the limits of the shop are said once; this is the second time")]
    ShopTwice,
    #[error("the stock sheet of a part is said once; this is the second time")]
    StockSheetTwice,
    #[error("how openings are judged is said once; this is the second time")]
    GuardingTwice,
    #[error("the rates of a part are said once; this is the second time")]
    RatesTwice,
    #[error("a part has one aim; this is the second one")]
    AimTwice,
    #[error("the script ends without a part")]
    NoPart,
    #[error("the parameter `{name}` is declared twice")]
    ParameterTwice { name: String },
    #[error("the default {got} of parameter `{name}` is not allowed: it takes {allowed}")]
    DefaultOutOfRange { name: String, got: String, allowed: String },
    #[error("parameter `{name}` cannot be `{got}`: it takes {allowed}")]
    ValueOutOfRange { name: String, got: String, allowed: String },
    #[error("there is no parameter `{name}`")]
    UnknownParameter { name: String, known: Vec<String> },
    #[error("`{feature}` makes {} panels; say which one", panels.len())]
    WhichPanel { feature: String, panels: Vec<String> },
    #[error("`{feature}` makes no panel `{asked}`")]
    NoSuchPanel { feature: String, asked: String, panels: Vec<String> },
    #[error("the outline is closed already")]
    OutlineClosed,
    #[error("the outline is not closed")]
    OutlineOpen,
    #[error("there are two sketches `{name}`")]
    SketchTwice { name: String },
    #[error("{0}")]
    Sketch(SketchFault),
    #[error("division by zero")]
    DivisionByZero,
    #[error(
        "a free number can be added, subtracted, and multiplied or divided by plain numbers, but not by a free number"
    )]
    NotLinear,
    #[error("a free number cannot be compared: its value is known only once the solver has run")]
    ComparedFree,
    #[error("a free number cannot go into `{function}`: its value is known only once the solver has run")]
    FreeInFunction { function: String },
    #[error("`{word}` is not for family scripts")]
    NotForScripts { word: &'static str, reason: &'static str },
    #[error("`{name}` cannot be set: a saved history has its numbers put in already")]
    HistoryIsFixed { name: String },
    #[error("the family `{family}` has a name that is no folder name")]
    FamilyName { family: String },
    #[error("the file `{file}` of a neighbour cannot be read: {reason}")]
    NeighbourFile { file: String, looked: Vec<String>, reason: String },
    #[error("{message}")]
    Language { message: String, hint: Option<String> },
}

fn quoted(words: &[&str]) -> String {
    words.iter().map(|w| format!("\"{w}\"")).collect::<Vec<_>>().join(" or ")
}

fn listed<T: AsRef<str>>(words: &[T]) -> String {
    words.iter().map(|w| format!("`{}`", w.as_ref())).collect::<Vec<_>>().join(", ")
}

impl ScriptFault {
    /// The finding for whoever wrote the script.
    #[must_use]
    pub(crate) fn finding(self, place: Option<Place>) -> Finding {
        let (code, hints) = self.code_and_hints();
        Finding { severity: Severity::Fault, code, message: self.to_string(), place, also: Vec::new(), hints }
    }

    fn code_and_hints(&self) -> (&'static str, Vec<String>) {
        let meant =
            |word: &str, known: &[String]| nearest(word, known).map(|k| format!("did you mean `{k}`?"));
        match self {
            Self::UnknownOption { option, allowed, .. } => {
                let near = nearest(option, allowed).map(|k| format!("did you mean `{k}`?"));
                let all = format!("options are {}", listed(allowed));
                ("script::unknown_option", near.into_iter().chain([all]).collect())
            }
            Self::MissingOption { function: "part", option: "thickness" } => (
                "script::missing_option",
                vec!["add `thickness: …`, or `gauge: …` and `gauge_system: …`, between `#{` and `}`".to_owned()],
            ),
            Self::MissingOption { function: "row", option: "pitch" } => (
                "script::missing_option",
                vec!["add `count: …` or `pitch: …` between `#{` and `}`".to_owned()],
            ),
            Self::MissingOption { option, .. } => {
                ("script::missing_option", vec![format!("add `{option}: …` between `#{{` and `}}`")])
            }
            Self::WrongType { wanted, got, .. } => {
                let hint = if *wanted == PLAIN_NUMBER {
                    Some("the solver cannot change this one: give its value")
                } else if *wanted == NUMBER && got.starts_with("the text") {
                    Some("write the number without quotes")
                } else {
                    None
                };
                ("script::wrong_type", hint.map(str::to_owned).into_iter().collect())
            }
            Self::WrongWord { got, .. } if got == "straight" => {
                ("script::wrong_word", vec!["a straight cut is `straight()`, without quotes".to_owned()])
            }
            Self::WrongWord { got, allowed, .. } => {
                let hint = nearest(got, allowed).map_or_else(
                    || "write one of these words, in quotes".to_owned(),
                    |near| format!("did you mean \"{near}\"?"),
                );
                ("script::wrong_word", vec![hint])
            }
            Self::WrongCount { .. } => ("script::wrong_count", Vec::new()),
            Self::Either { a, b, .. } => ("script::either_or", vec![format!("keep `{a}` or `{b}`")]),
            Self::NoSize { .. } => ("script::shape_without_size", vec!["leave the size out".to_owned()]),
            Self::Name(_) => ("script::bad_name", Vec::new()),
            Self::SecondPart => ("script::second_part", vec!["write a script for each part".to_owned()]),
            Self::TooManyMeasures { .. } => {
                ("script::too_many_measures", vec!["hold the parts as dimensions of their own".to_owned()])
            }
            Self::TolerancesTwice => {
                ("script::tolerances_twice", vec!["put all options into one `tolerances`".to_owned()])
            }
            Self::ShopTwice => {
                ("script::shop_twice", vec!["put all limits into one `shop`".to_owned()])
            }
            Self::StockSheetTwice => {
                ("script::stock_sheet_twice", vec!["a blank is cut from one kind of sheet".to_owned()])
            }
            Self::GuardingTwice => {
                ("script::guarding_twice", vec!["one rule judges all openings of a part".to_owned()])
            }
            Self::RatesTwice => ("script::rates_twice", vec!["put all options into one `rates`".to_owned()]),
            Self::AimTwice => (
                "script::aim_twice",
                vec!["keep one of them: only one figure can be smallest".to_owned()],
            ),
            Self::NoPart => {
                ("script::no_part", vec!["begin one with `let cover = part(#{ material: \"DC01\", thickness: 1.5, inside_radius: 1.5 });`".to_owned()])
            }
            Self::ParameterTwice { .. } => {
                ("script::parameter_twice", vec!["give each parameter a name of its own".to_owned()])
            }
            Self::DefaultOutOfRange { .. } => ("script::default_out_of_range", Vec::new()),
            Self::ValueOutOfRange { .. } => {
                ("script::value_out_of_range", vec!["`foldwright show SCRIPT` lists parameters and ranges".to_owned()])
            }
            Self::UnknownParameter { name, known } => {
                let all = if known.is_empty() {
                    "this family has no parameters".to_owned()
                } else {
                    format!("parameters are {}", listed(known))
                };
                ("script::unknown_parameter", meant(name, known).into_iter().chain([all]).collect())
            }
            Self::WhichPanel { panels, .. } => {
                ("script::which_panel", vec![format!("use `.panel(\"…\")` with one of {}", listed(panels))])
            }
            Self::NoSuchPanel { panels, .. } if panels.len() == 1 && panels[0].is_empty() => {
                ("script::no_such_panel", vec!["it makes one panel: leave `.panel(…)` out".to_owned()])
            }
            Self::NoSuchPanel { asked, panels, .. } => {
                let all = format!("it makes {}", listed(panels));
                ("script::no_such_panel", meant(asked, panels).into_iter().chain([all]).collect())
            }
            Self::OutlineClosed => ("script::outline_closed", vec!["add lines and arcs before `.close()`".to_owned()]),
            Self::OutlineOpen => ("script::outline_open", vec!["end it with `.close()` or `.close(\"name\")`".to_owned()]),
            Self::SketchTwice { .. } => ("script::sketch_twice", vec!["give each one a name of its own".to_owned()]),
            Self::Sketch(SketchFault::NoSuchArc { .. }) => (
                "script::no_such_arc",
                vec!["draw it roughly as it shall be; relations do the rest".to_owned()],
            ),
            Self::Sketch(SketchFault::EdgeTwice { .. }) => {
                ("script::edge_twice", vec!["relations name edges: give each one a name of its own".to_owned()])
            }
            Self::DivisionByZero => ("script::division_by_zero", Vec::new()),
            Self::NotLinear => {
                ("script::not_linear", vec!["declare the product as a free number of its own, and hold it".to_owned()])
            }
            Self::ComparedFree => {
                ("script::compared_free_number", vec!["compare the number that it starts from".to_owned()])
            }
            Self::FreeInFunction { .. } => (
                "script::free_number_in_function",
                vec!["use plain numbers there, or add, subtract and scale the free number".to_owned()],
            ),
            Self::NotForScripts { reason, .. } => ("script::not_for_scripts", vec![(*reason).to_owned()]),
            Self::HistoryIsFixed { .. } => {
                ("script::history_is_fixed", vec!["set it when you make the family's script".to_owned()])
            }
            Self::FamilyName { .. } => (
                "script::family_name",
                vec!["outputs go to a folder of this name: write it without strokes and dots".to_owned()],
            ),
            Self::NeighbourFile { looked, .. } => {
                ("script::neighbour_file", vec![format!("looked for {}", listed(looked))])
            }
            Self::Language { hint, .. } => ("script::language", hint.iter().cloned().collect()),
        }
    }
}

/// What [`ScriptFault::WrongType`] calls a number where a free one was given and will not do.
pub(crate) const PLAIN_NUMBER: &str = "a plain number";

/// What [`ScriptFault::WrongType`] calls a number.
pub(crate) const NUMBER: &str = "a number";
