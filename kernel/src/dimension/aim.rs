//! What came of an aim, in the history's own names.
//!
//! Job: the equations of a part, straightened for the search; and which one-sided dimensions and ends of ranges
//! are tight where it ended, which free numbers moved, and what an engineer should know of the end. Invariant:
//! only says what the search and the settled numbers say. Must not know: how a figure is found.

use crate::diag::{Diagnostic, Origin, Severity};
use crate::history::{Aim, AimFigure, History};
use crate::quantity::tolerance;
use crate::solve::{Conclusion, End, Smallest, Straightened, straighten};

use super::developed::BlankSize;
use super::measure::Resolver;
use super::pose::SheetNumbers;
use super::settle::{DimensionState, Settled, equations, measures};
use super::{DimensionFault, Skeleton};

/// What came of an aim.
#[derive(Clone, Debug, PartialEq)]
pub struct Aimed {
    /// What should be smallest.
    pub figure: AimFigure,
    /// The figure where the dimensions hold with the least change of the free numbers.
    pub before: f64,
    /// The figure of the part, never larger.
    pub after: f64,
    /// How often the figure was worked out.
    pub trials: usize,
    /// How often of these there was no such part.
    pub failed: usize,
    /// Free numbers that the aim moved.
    pub moved: Vec<Moved>,
    /// One-sided dimensions and ends of ranges that are reached at the end.
    pub binding: Vec<Binding>,
    /// The free numbers before, indexed by [`VarId`](crate::ident::VarId).
    pub free_before: Vec<f64>,
}

/// A free number that an aim moved, in mm or degrees.
#[derive(Clone, Debug, PartialEq)]
pub struct Moved {
    /// Its name.
    pub number: String,
    /// Where the dimensions alone had it.
    pub from: f64,
    /// Where it is.
    pub to: f64,
}

/// Something that is reached where an aim ended.
#[derive(Clone, Debug, PartialEq)]
pub struct Binding {
    /// Name of the dimension or free number, and where it was written.
    pub origin: Origin,
    /// Whether it is a dimension or the range of a free number.
    pub of: BindingKind,
    /// `at least` or `at most`.
    pub side: &'static str,
    /// The limit.
    pub value: f64,
    /// Unit of the limit; empty for a ratio and for the range of a number.
    pub unit: &'static str,
}

/// What can bind.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum BindingKind {
    /// A one-sided dimension.
    Dimension,
    /// An end of the range of a free number.
    Range,
}

impl BindingKind {
    /// `dimension` or `free number`.
    #[must_use]
    pub fn word(self) -> &'static str {
        match self {
            Self::Dimension => "dimension",
            Self::Range => "free number",
        }
    }
}

/// The equations of a part settled to these free numbers, as straight as they look from it; `blank` is what was
/// known of the finished blank.
///
/// # Panics
/// If the part was settled from another history.
#[must_use]
pub fn straightened(
    history: &History,
    skeleton: &Skeleton<'_>,
    sheet: SheetNumbers<'_>,
    blank: BlankSize,
    free: &[f64],
) -> Straightened {
    const SETTLED: &str = "the part was settled with the same history";
    let resolver = Resolver { skeleton, pose: &skeleton.pose(sheet, free), free, sheet };
    let measures = measures(history, &resolver).expect(SETTLED);
    let equations = equations(history, skeleton, sheet, blank, &measures).expect(SETTLED);
    straighten(&equations, free)
}

/// Tells the end of a search, with what an engineer should know of it; `why_not` are the findings of a part a little beyond each of its walls.
#[must_use]
pub fn aimed(
    history: &History,
    aim: &Aim,
    [before, after]: [(&Settled, f64); 2],
    found: &Smallest,
    why_not: &[Vec<Diagnostic>],
) -> (Aimed, Vec<Diagnostic>) {
    let numbers = before.0.free.iter().zip(&after.0.free);
    let moved = history.free_numbers.iter().zip(numbers).filter_map(|(number, (&from, &to))| {
        let has_moved = (to - from).abs() > tolerance::HELD_MM;
        has_moved.then(|| Moved { number: number.name.clone(), from, to })
    });
    let aimed = Aimed {
        figure: aim.smallest,
        before: before.1,
        after: after.1,
        trials: found.trials,
        failed: found.failed,
        moved: moved.collect(),
        binding: binding(history, after.0),
        free_before: before.0.free.clone(),
    };
    (aimed, findings(history, aim, found, why_not))
}

fn binding(history: &History, settled: &Settled) -> Vec<Binding> {
    let dimensions = history.dimensions.iter().zip(&settled.dimensions).filter_map(|(entry, result)| {
        let side = match result.state {
            DimensionState::AtLeast | DimensionState::AtMost => result.state.word(),
            DimensionState::Held
            | DimensionState::AboveLeast
            | DimensionState::BelowMost
            | DimensionState::Measured => return None,
        };
        let (of, value) = (BindingKind::Dimension, result.asked?);
        Some(Binding { origin: entry.origin(), of, side, value, unit: result.unit })
    });
    let ranges = settled.report.touched.iter().filter_map(|touched| {
        let free = &history.free_numbers[touched.unknown];
        let (side, value) = match touched.end {
            End::Least => ("at least", free.min?),
            End::Most => ("at most", free.max?),
        };
        // What has one value only is no end that was gone to.
        let is_fixed = free.min == free.max;
        let origin = Origin { name: free.name.clone(), span: free.span };
        (!is_fixed).then_some(Binding { origin, of: BindingKind::Range, side, value, unit: "" })
    });
    dimensions.chain(ranges).collect()
}

/// What should be known of the end.
fn findings(history: &History, aim: &Aim, found: &Smallest, why_not: &[Vec<Diagnostic>]) -> Vec<Diagnostic> {
    let figure = aim.smallest.word();
    let say = |fault: DimensionFault, severity: Severity| {
        let mut finding = fault.diagnose(aim.origin());
        finding.severity = severity;
        finding
    };
    let mut findings = Vec::new();
    match found.conclusion {
        Conclusion::Smallest => {}
        Conclusion::NothingLoose => {
            findings.push(say(DimensionFault::AimNothingLoose { figure }, Severity::Note));
        }
        Conclusion::WithoutEffect => {
            findings.push(say(DimensionFault::AimWithoutEffect { figure }, Severity::Note));
        }
        Conclusion::TrialLimit => {
            let trials = found.trials;
            findings.push(say(DimensionFault::AimUnfinished { figure, trials }, Severity::Warning));
        }
    }
    for (wall, why_not) in found.walls.iter().zip(why_not) {
        let numbers = numbers_of(wall);
        let listed = numbers.iter().map(|&number| {
            let name = &history.free_numbers[number].name;
            format!("`{name}` = {:.3}", found.unknowns[number])
        });
        let fault = DimensionFault::AimAtWall { figure, numbers: listed.collect() };
        let mut finding = say(fault, Severity::Warning);
        for &number in &numbers {
            let free = &history.free_numbers[number];
            finding.origins.push(Origin { name: free.name.clone(), span: free.span });
        }
        if let Some(why) = why_not.first() {
            finding.hints.insert(0, format!("beyond it: {}", why.message));
        }
        findings.push(finding);
    }
    if found.one_of_several {
        findings.push(say(DimensionFault::AimOneOfSeveral { figure }, Severity::Warning));
    }
    findings
}

/// The free numbers with a part in a way.
fn numbers_of(way: &[f64]) -> Vec<usize> {
    let largest = way.iter().fold(0.0, |most: f64, part| most.max(part.abs()));
    (0..way.len()).filter(|&number| way[number].abs() > tolerance::MOTION_SHARE * largest).collect()
}
