//! Settles the free numbers of a history: solve, then check that the numbers make sense.
//!
//! Invariant: a [`Settled`] pose has every held dimension within tolerance, every turn in (0°, 180°) and
//! every flange that has a length longer than its bend takes.

use std::collections::{BTreeMap, BTreeSet};

use crate::diag::{Diagnostic, Origin};
use crate::geom::{Dual, Scalar};
use crate::history::feature::{CornerRelief, Flange};
use crate::history::{DimensionEntry, DimensionKind, History, Number, Target};
use crate::ident::{DimensionId, PanelId};
use crate::quantity::{maths, tolerance};
use crate::solve::{self, Ending, Solution, SolveReport, System};

use super::developed::BlankSize;
use super::equations::{Bound, Equations};
use super::explained::{self, Remarks};
use super::forked;
use super::judged::Unjudged;
use super::line_bend::{LineSpec, thicknesses};
use super::measure::{Measure, MeasureFault, Resolver, Scene, Way};
use super::pose::{BendPose, Pose, SheetNumbers};
use super::relation::{self, Sketched};
use super::{DimensionFault, Hindrance, LinePart, Nearest, Skeleton, Source};

/// The numbers of a part.
#[derive(Clone, Debug)]
pub struct Settled {
    /// Values of the free numbers, indexed by [`VarId`](crate::ident::VarId).
    pub free: Vec<f64>,
    /// Where the panels lie.
    pub pose: Pose<f64>,
    /// One for each dimension of the history.
    pub dimensions: Vec<DimensionResult>,
    /// How the solve went.
    pub report: SolveReport,
    /// In how many directions the declared free numbers could still move, with everything held held; those
    /// of sketches are counted with their sketch.
    pub left_free: usize,
    /// One for each sketch, in the order in which they were begun.
    pub sketches: Vec<SketchResult>,
    /// What was known of the finished blank.
    pub blank: BlankSize,
    /// Where it was known to come nearest to neighbours.
    pub nearest: Vec<Nearest>,
    /// Length and width in mm of the blank between its drawn corners, if a dimension is of the blank.
    pub blank_corners: Option<[f64; 2]>,
    /// Warnings where the answer is another one than the start values lead to.
    pub warnings: Vec<Diagnostic>,
}

/// How far the relations and dimensions determine a sketch.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct SketchResult {
    /// Its name.
    pub name: String,
    /// How many free numbers it has: coordinates of corners and rises of arcs.
    pub numbers: usize,
    /// In how many directions they could still move, with everything held held. A sketch that is tied to
    /// nothing has three: two to shift and one to turn.
    pub left_free: usize,
}

/// What a dimension measures in the settled part.
#[derive(Clone, Debug, PartialEq)]
pub struct DimensionResult {
    /// Its name.
    pub name: String,
    /// What it measures, for example `inside` or `panel width`.
    pub kind: &'static str,
    /// `mm`, `deg`, or nothing for a ratio.
    pub unit: &'static str,
    /// What was asked for, if it must hold.
    pub asked: Option<f64>,
    /// What it measures.
    pub got: f64,
    /// Whether it must hold, and does.
    pub state: DimensionState,
    /// The ways that it spans: one for a distance, two where it is made of two, none for an angle or a size
    /// of the blank.
    pub ways: Vec<Way>,
}

/// State of a dimension in a settled part.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum DimensionState {
    /// Asked for, and within tolerance.
    Held,
    /// Asked for as a least value, and above it.
    AboveLeast,
    /// Asked for as a least value, and at it within tolerance.
    AtLeast,
    /// Asked for as a largest value, and below it.
    BelowMost,
    /// Asked for as a largest value, and at it within tolerance.
    AtMost,
    /// Only measured.
    Measured,
}

impl DimensionState {
    /// `held`, `above least`, `at least`, `below most`, `at most` or `measured`.
    #[must_use]
    pub fn word(self) -> &'static str {
        match self {
            Self::Held => "held",
            Self::AboveLeast => "above least",
            Self::AtLeast => "at least",
            Self::BelowMost => "below most",
            Self::AtMost => "at most",
            Self::Measured => "measured",
        }
    }
}

/// Finds values of the free numbers for which every dimension holds, moving them as little as possible from
/// their start values; sketches start where their own relations hold. `blank` is what is known of the finished
/// blank.
///
/// # Errors
/// Findings for numbers that are not finite, names that do not resolve, dimensions that cannot hold, and
/// flanges that cannot be bent.
pub fn settle(
    history: &History,
    skeleton: &Skeleton<'_>,
    sheet: SheetNumbers<'_>,
    blank: BlankSize,
) -> Result<Settled, Vec<Diagnostic>> {
    settle_from(history, skeleton, sheet, blank, skeleton.start(), Reasons::Sought)
}

/// What is said when dimensions cannot hold.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Reasons {
    /// Which of them conflict, which takes many solves to find.
    Sought,
    /// Only which do not hold, for whoever asks whether there is an answer.
    Unsought,
}

/// [`settle`], moving the free numbers as little as possible from `start` instead; those that a panel keeps in
/// place stay where they were declared to start.
///
/// # Errors
/// As [`settle`].
///
/// # Panics
/// If `start` has not one value for each free number.
pub fn settle_from(
    history: &History,
    skeleton: &Skeleton<'_>,
    sheet: SheetNumbers<'_>,
    blank: BlankSize,
    start: &[f64],
    reasons: Reasons,
) -> Result<Settled, Vec<Diagnostic>> {
    let start_pose = skeleton.pose(sheet, start);
    let (measures, solution) = Unjudged { history, skeleton, sheet, blank }.solved(start)?;
    let equations = equations(history, skeleton, sheet, blank, &measures)?;
    let free = &solution.unknowns;
    let pose = skeleton.pose(sheet, free);
    match solution.report.ending {
        Ending::Held | Ending::NothingToSolve => {}
        Ending::NotFinite => {
            let faults = bend_faults(history, skeleton, &start_pose, sheet.thickness, start);
            return Err(if faults.is_empty() {
                vec![DimensionFault::RanAway.diagnose(None)]
            } else {
                faults
            });
        }
        Ending::Stalled | Ending::IterationLimit => {
            let residuals = &solution.residuals;
            // At the nearest that was found a measure may be at its largest, with no slope left.
            let slopes = [solve::jacobian(&equations, start), solve::jacobian(&equations, free)];
            let is_moved = |s: &f64| s.abs() > tolerance::RANK_SHARE;
            let movable = |row: usize| slopes.iter().any(|at| at.row(row).iter().any(is_moved));
            let slanted = not_parallel_throughout(history, &measures, [(&start_pose, start), (&pose, free)]);
            if !slanted.is_empty() {
                return Err(slanted);
            }
            let conflicts = match reasons {
                Reasons::Sought => explained::conflicts(history, &equations, start, &solution, &movable),
                Reasons::Unsought => Vec::new(),
            };
            if !conflicts.is_empty() {
                return Err(conflicts);
            }
            let mut faults = missed(history, &equations, free, residuals, &movable);
            faults.extend(relations_missed(history, &equations, free, residuals, &movable));
            return Err(worst_first(faults));
        }
    }
    let mut faults = bend_faults(history, skeleton, &pose, sheet.thickness, free);
    let slanted =
        |(entry, measure): (&DimensionEntry, &Measure<'_>)| not_parallel(entry, measure, &pose, free);
    faults.extend(history.dimensions.iter().zip(&measures).filter_map(slanted));
    let scene = Scene::new(skeleton, &pose, sheet, free, blank, measures.iter());
    faults.extend(history.dimensions.iter().zip(&measures).filter_map(|(entry, measure)| {
        let over_nothing = DimensionFault::OverNothing { dimension: entry.name.clone() };
        measure.is_over_nothing(&scene).then(|| over_nothing.diagnose(entry.origin()))
    }));
    if !faults.is_empty() {
        return Err(faults);
    }
    let results = history.dimensions.iter().zip(&measures);
    let dimensions = results.map(|(entry, measure)| result(entry, measure, &scene, free)).collect();
    let blank_corners = scene.blank_corners(&measures, skeleton, sheet);
    let (left_free, sketches) = freedoms(history, &equations, &solution);
    let warnings = forked::warnings(history, &equations, start, &solution);
    let report = solution.report;
    Ok(Settled {
        free: solution.unknowns,
        pose,
        dimensions,
        report,
        left_free,
        sketches,
        blank,
        nearest: skeleton.nearest().to_vec(),
        blank_corners,
        warnings,
    })
}

/// The equations of a history, with numbers pinned that move a panel which stays.
pub(super) fn equations<'a, 'h>(
    history: &'h History,
    skeleton: &'a Skeleton<'h>,
    sheet: SheetNumbers<'a>,
    blank: BlankSize,
    measures: &'a [Measure<'h>],
) -> Result<Equations<'a, 'h>, Vec<Diagnostic>> {
    let start = skeleton.start();
    let sketched = sketched(history, &history.start_values())?;
    let mut equations = Equations::new(history, skeleton, sheet, blank, measures, sketched);
    for (number, dimension) in kept_in_place(history, skeleton, sheet, start)? {
        equations.pin(number, start[number], dimension);
    }
    Ok(equations)
}

/// What the dimensions of a settled history leave open, and which of them add nothing; much dearer than settling.
#[must_use]
pub fn remarks(
    history: &History,
    skeleton: &Skeleton<'_>,
    sheet: SheetNumbers<'_>,
    settled: &Settled,
) -> Remarks {
    let start = skeleton.start();
    let resolver = Resolver { skeleton, pose: &settled.pose, free: &settled.free, sheet };
    let Ok(measures) = measures(history, &resolver) else { return Remarks::default() };
    let Ok(equations) = equations(history, skeleton, sheet, settled.blank, &measures) else {
        return Remarks::default();
    };
    let mut residuals = vec![0.0; equations.relation_count()];
    equations.residuals(&settled.free, &mut residuals);
    let solution = Solution { unknowns: settled.free.clone(), residuals, report: settled.report.clone() };
    explained::remarks(history, &equations, start, &solution)
}

/// What a dimension has come to.
fn result(
    entry: &DimensionEntry,
    measure: &Measure<'_>,
    scene: &Scene<'_, f64>,
    free: &[f64],
) -> DimensionResult {
    let got = measure.value(scene) / measure.unit();
    let asked = entry.target.number().map(|number| number.evaluate(free));
    let at_limit = asked.is_some_and(|asked| (got - asked).abs() <= measure.tolerance() / measure.unit());
    let state = match (&entry.target, at_limit) {
        (Target::Held(_), _) => DimensionState::Held,
        (Target::AtLeast(_), true) => DimensionState::AtLeast,
        (Target::AtLeast(_), false) => DimensionState::AboveLeast,
        (Target::AtMost(_), true) => DimensionState::AtMost,
        (Target::AtMost(_), false) => DimensionState::BelowMost,
        (Target::Measured, _) => DimensionState::Measured,
    };
    let (name, kind, unit) = (entry.name.clone(), entry.kind.word(), entry.kind.unit());
    let ways = measure.ways(scene.pose, free);
    DimensionResult { name, kind, unit, asked, got, state, ways }
}

/// The free numbers, by index, that move a panel which a dimension asks to stay where it starts, with that dimension.
fn kept_in_place(
    history: &History,
    skeleton: &Skeleton<'_>,
    sheet: SheetNumbers<'_>,
    start: &[f64],
) -> Result<BTreeMap<usize, DimensionId>, Vec<Diagnostic>> {
    let mut kept = BTreeMap::new();
    let mut faults = Vec::new();
    for (index, entry) in history.dimensions.iter().enumerate() {
        let Some(panel) = &entry.stays else { continue };
        let panel = match skeleton.find(panel) {
            Ok(panel) => panel,
            Err(fault) => {
                faults.push(fault.diagnose(entry.origin()));
                continue;
            }
        };
        for number in 0..start.len() {
            let mut moved: Vec<Dual<1>> = start.iter().map(|&value| Dual::constant(value)).collect();
            moved[number].parts[0] = 1.0;
            let frame = skeleton.pose(sheet, &moved).panel(panel).placement;
            let slopes = [frame.origin, frame.x, frame.n].map(|v| [v.x, v.y, v.z]);
            if slopes.iter().flatten().any(|slope| slope.parts[0].abs() > tolerance::RANK_SHARE) {
                kept.entry(number).or_insert(DimensionId::new(index));
            }
        }
    }
    if faults.is_empty() { Ok(kept) } else { Err(faults) }
}

/// A finding if a distance is measured between things that are not parallel.
fn not_parallel(
    entry: &DimensionEntry,
    measure: &Measure<'_>,
    pose: &Pose<f64>,
    free: &[f64],
) -> Option<Diagnostic> {
    let off = measure.off_parallel(pose, free);
    if off <= tolerance::HELD_RAD.max(tolerance::PARALLEL) {
        return None;
    }
    let (a, b) = entry.kind.between();
    let dimension = entry.name.clone();
    let fault = DimensionFault::NotParallel { dimension, a, b, off: off * (180.0 / maths::PI) };
    Some(fault.diagnose(entry.origin()))
}

/// Distances that must hold between things that are parallel neither at the start nor where the solver ended,
/// unless angles are held, too: what else did not hold then follows from them.
fn not_parallel_throughout(
    history: &History,
    measures: &[Measure<'_>],
    [start, end]: [(&Pose<f64>, &[f64]); 2],
) -> Vec<Diagnostic> {
    let held = || {
        let all = history.dimensions.iter().zip(measures);
        all.filter(|(entry, _)| entry.target.number().is_some())
    };
    if held().any(|(entry, _)| matches!(entry.kind, DimensionKind::Angle { .. })) {
        return Vec::new();
    }
    let slanted = held().filter(|(entry, measure)| not_parallel(entry, measure, end.0, end.1).is_some());
    slanted.filter_map(|(entry, measure)| not_parallel(entry, measure, start.0, start.1)).collect()
}

/// Something asked for that does not hold.
struct Missed {
    /// How far off it is, in mm or degrees, without sign.
    off: f64,
    /// What a mm or degree off counts for: one over its tolerance.
    weight: f64,
    finding: Diagnostic,
}

/// The findings a person can use: those off by something that shows in the message, worst first.
fn worst_first(mut missed: Vec<Missed>) -> Vec<Diagnostic> {
    /// More would be read by nobody: they follow from the same few.
    const MOST: usize = 5;
    /// Half of the last digit that is printed.
    const SHOWN: f64 = 0.0005;
    if missed.iter().any(|m| m.off >= SHOWN) {
        missed.retain(|m| m.off >= SHOWN);
    }
    // What is printed alike stays in the order in which it was asked for.
    let share = |m: &Missed| (m.off / SHOWN).round() * m.weight;
    missed.sort_by(|a, b| share(b).total_cmp(&share(a)));
    let rest = missed.len().saturating_sub(MOST);
    let mut findings: Vec<Diagnostic> = missed.into_iter().take(MOST).map(|m| m.finding).collect();
    if rest > 0 {
        findings = findings
            .into_iter()
            .enumerate()
            .map(|(index, finding)| {
                if index + 1 < MOST {
                    finding
                } else {
                    finding.hint(format!("{rest} more do not hold, by less"))
                }
            })
            .collect();
    }
    findings
}

/// The relations of every outline that has some.
fn sketched<'h>(history: &'h History, start: &[f64]) -> Result<Vec<Sketched<'h>>, Vec<Diagnostic>> {
    let mut sketched = Vec::new();
    let mut faults = Vec::new();
    for (id, entry) in history.features_with_ids() {
        match relation::resolve(id, entry, start) {
            Ok(found) => sketched.extend(found),
            Err(found) => faults.extend(found),
        }
    }
    if faults.is_empty() { Ok(sketched) } else { Err(faults) }
}

/// Freedom of the declared free numbers, and of each sketch.
fn freedoms(
    history: &History,
    equations: &Equations<'_, '_>,
    solution: &solve::Solution,
) -> (usize, Vec<SketchResult>) {
    let mut names: Vec<&String> = Vec::new();
    for name in history.free_numbers.iter().filter_map(|number| number.sketch.as_ref()) {
        if !names.contains(&name) {
            names.push(name);
        }
    }
    if names.is_empty() {
        return (solution.report.degrees_of_freedom, Vec::new());
    }
    let group_of = |sketch: &Option<String>| {
        sketch
            .as_ref()
            .and_then(|sketch| names.iter().position(|name| *name == sketch))
            .map_or(0, |at| at + 1)
    };
    let groups: Vec<usize> = history.free_numbers.iter().map(|number| group_of(&number.sketch)).collect();
    let freedoms = solve::freedoms(equations, &solution.unknowns, &groups);
    let sketches = names.iter().zip(1..).map(|(name, group)| SketchResult {
        name: (*name).clone(),
        numbers: groups.iter().filter(|own| **own == group).count(),
        left_free: freedoms[group],
    });
    (freedoms[0], sketches.collect())
}

/// What each dimension measures, resolved.
pub(super) fn measures<'h>(
    history: &'h History,
    resolver: &Resolver<'_, 'h>,
) -> Result<Vec<Measure<'h>>, Vec<Diagnostic>> {
    let mut measures = Vec::with_capacity(history.dimensions.len());
    let mut faults = Vec::new();
    for entry in &history.dimensions {
        match resolver.measure(&entry.name, &entry.kind) {
            Ok(measure) => {
                faults.extend(no_distance(entry, &measure, resolver));
                measures.push(measure);
            }
            Err(MeasureFault::Name(fault)) => faults.push(fault.diagnose(entry.origin())),
            Err(MeasureFault::Neighbour(fault)) => faults.push(fault.diagnose(entry.origin())),
            Err(MeasureFault::Dimension(fault)) => faults.push(fault.diagnose(entry.origin())),
        }
    }
    if faults.is_empty() { Ok(measures) } else { Err(faults) }
}

/// A finding if a distance is asked to be zero or less and cannot.
fn no_distance(
    entry: &DimensionEntry,
    measure: &Measure<'_>,
    resolver: &Resolver<'_, '_>,
) -> Option<Diagnostic> {
    let asked = entry.target.number()?.as_constant()?;
    let is_distance = entry.kind.unit() == "mm" && !measure.has_sign(resolver.pose, resolver.free);
    let fault = || DimensionFault::NoDistance { dimension: entry.name.clone(), asked };
    let is_out = match entry.target {
        Target::Held(_) => asked <= 0.0,
        Target::AtMost(_) => asked < 0.0,
        Target::AtLeast(_) | Target::Measured => false,
    };
    (is_distance && is_out).then(|| fault().diagnose(entry.origin()))
}

/// What is known of what hinders something, where no conflict was found.
fn hindrance(movable: bool) -> Hindrance {
    if movable { Hindrance::Others } else { Hindrance::NothingMoves }
}

/// A finding for every dimension that is out of tolerance.
fn missed(
    history: &History,
    equations: &Equations<'_, '_>,
    free: &[f64],
    residuals: &[f64],
    movable: &impl Fn(usize) -> bool,
) -> Vec<Missed> {
    let mut faults = Vec::new();
    for (row, (held, residual)) in equations.held.iter().zip(residuals).enumerate() {
        let is_held = match held.bound {
            Bound::Exact => residual.abs() <= equations.tolerance(row),
            Bound::AtLeast | Bound::AtMost => *residual >= -equations.tolerance(row),
        };
        if is_held {
            continue;
        }
        let entry = &history.dimensions[held.id.index()];
        let asked = held.target.evaluate(free);
        let got = equations.measured(held.measure, free) / held.measure.unit();
        let off = got - asked;
        let fault = DimensionFault::NotHeld {
            dimension: entry.name.clone(),
            asked,
            got,
            unit: entry.kind.unit(),
            hindrance: hindrance(movable(row)),
        };
        faults.push(Missed {
            off: off.abs(),
            weight: held.measure.unit() / equations.tolerance(row),
            finding: fault.diagnose(entry.origin()),
        });
    }
    faults
}

/// A finding for every relation of an outline that is out of tolerance.
fn relations_missed(
    history: &History,
    equations: &Equations<'_, '_>,
    free: &[f64],
    residuals: &[f64],
    movable: &impl Fn(usize) -> bool,
) -> Vec<Missed> {
    let mut faults = Vec::new();
    for (sketched, index, resolved, first) in equations.relations() {
        let rows = first..first + resolved.rows();
        let worst = rows.max_by(|a, b| residuals[*a].abs().total_cmp(&residuals[*b].abs()));
        let Some(row) = worst.filter(|row| residuals[*row].abs() > equations.tolerance(*row)) else {
            continue;
        };
        let entry = &sketched.profile.relations[index];
        let feature = history.feature(sketched.feature);
        let asked = entry.relation.value().map(|value| value.evaluate(free));
        let off = residuals[row] / resolved.unit();
        let fault = DimensionFault::RelationNotHeld {
            outline: feature.name.clone(),
            relation: entry.relation.to_string(),
            asked,
            got: asked.map_or(off.abs(), |asked| asked + off),
            unit: resolved.unit_word(),
            hindrance: hindrance(movable(row)),
        };
        let origin = Origin { name: feature.name.clone(), span: entry.span.or(feature.span) };
        faults.push(Missed {
            off: off.abs(),
            weight: resolved.unit() / equations.tolerance(row),
            finding: fault.diagnose(origin),
        });
    }
    faults
}

/// Bends whose settled numbers cannot be made.
fn bend_faults(
    history: &History,
    skeleton: &Skeleton<'_>,
    pose: &Pose<f64>,
    sheet_thickness: f64,
    free: &[f64],
) -> Vec<Diagnostic> {
    let mut faults: Vec<Diagnostic> = Vec::new();
    // What is wrong with a flange is wrong at each of its edges, and said once.
    let mut said = BTreeSet::new();
    for (index, panel) in skeleton.panels().iter().enumerate() {
        let own = pose.panel(PanelId::new(index));
        let Some(bend) = own.bend else { continue };
        let name = || panel.name.clone();
        let turn = bend.turn * (180.0 / maths::PI);
        let bent = || {
            if !(0.0 < turn && turn < 180.0) {
                return Some(DimensionFault::Turn { panel: name(), turn });
            }
            let radius = bend.inside_radius;
            (radius < 0.0).then(|| DimensionFault::Radius { panel: name(), radius })
        };
        let too_short = |flange: &Flange| {
            // What of a drawn outline lies beyond the bend is seen when it is drawn.
            let (length, least) = (bend.length, 0.0 - own.drawn_shift);
            (flange.outline.is_none() && length - least <= tolerance::SNAP_MM)
                .then(|| DimensionFault::FlangeTooShort { panel: name(), length, least })
        };
        let fault = match panel.source {
            Source::Base(_) => None,
            Source::Flange { hem: Some(_), .. } => hem_fault(&name, turn, &bend, sheet_thickness),
            Source::Flange { flange, hem: None, .. } => {
                bent().or_else(|| too_short(flange)).or_else(|| range_fault(&name, flange, free))
            }
            Source::Piece { root, line, part, .. } => {
                let spec = skeleton.panels()[root.index()].lines[line].spec;
                match step_fault(&name, spec, sheet_thickness, free) {
                    // A step is told of once, of what it moves.
                    Some(fault) => (part == LinePart::Moved).then_some(fault),
                    None => bent(),
                }
            }
        };
        let found = fault.map(|f| f.diagnose(history.origin(panel.feature)));
        faults.extend(found.filter(|finding| said.insert((panel.feature, finding.code))));
    }
    faults
}

/// A hem has room inside and, behind a half turn, a flat; a roll ends before it meets its own panel: its end
/// comes down to the panel's face at `270° + asin(r / (r + t))`.
fn hem_fault(
    name: &dyn Fn() -> crate::history::PanelName,
    turn: f64,
    bend: &BendPose<f64>,
    thickness: f64,
) -> Option<DimensionFault> {
    let (radius, outer) = (bend.inside_radius, bend.inside_radius + thickness);
    if radius < 0.5 * tolerance::LEAST_GAP_MM {
        let least = tolerance::LEAST_GAP_MM;
        return Some(DimensionFault::HemWithoutRoom { panel: name(), got: 2.0 * radius, least });
    }
    let most = 270.0 + maths::asin(radius / outer) * (180.0 / maths::PI);
    // The half turn is written as 180 degrees, and comes out as that to rounding.
    if !(180.0 - tolerance::PARALLEL <= turn && turn < most) {
        return Some(DimensionFault::HemTurn { panel: name(), turn, most });
    }
    let rolled = bend.flat.abs() <= tolerance::SNAP_MM && bend.length.abs() <= tolerance::SNAP_MM;
    (!rolled && bend.flat <= tolerance::SNAP_MM).then(|| DimensionFault::FlangeTooShort {
        panel: name(),
        length: bend.length,
        least: outer,
    })
}

/// A step rises by something.
fn step_fault(
    name: &dyn Fn() -> crate::history::PanelName,
    spec: LineSpec<'_>,
    thickness: f64,
    free: &[f64],
) -> Option<DimensionFault> {
    let LineSpec::Step(step) = spec else { return None };
    let asked = step.height.evaluate(free);
    let height = asked + thickness * thicknesses(step);
    (height <= tolerance::SNAP_MM).then(|| DimensionFault::StepTooLow {
        panel: name(),
        height: asked,
        least: 0.0 - thickness * thicknesses(step),
    })
}

fn range_fault(
    name: &dyn Fn() -> crate::history::PanelName,
    flange: &Flange,
    free: &[f64],
) -> Option<DimensionFault> {
    /// Tapers near a right angle would make sides without end.
    const TAPER_LIMIT_DEG: f64 = 85.0;
    let not_negative = |what, number: &Number| (what, number.evaluate(free), " mm", 0.0, f64::INFINITY);
    let taper = |what, number: &Number| (what, number.evaluate(free), "°", -TAPER_LIMIT_DEG, TAPER_LIMIT_DEG);
    let mut ranges = vec![
        not_negative("inset on the left", &flange.left.inset),
        not_negative("inset on the right", &flange.right.inset),
        ("corner gap", flange.corner_gap.evaluate(free), " mm", tolerance::LEAST_GAP_MM, f64::INFINITY),
        taper("taper on the left", &flange.left.taper),
        taper("taper on the right", &flange.right.taper),
    ];
    let notch = flange.relief.notch();
    ranges.extend(notch.and_then(|n| n.width.as_ref()).map(|w| not_negative("relief width", w)));
    ranges.extend(notch.and_then(|n| n.depth.as_ref()).map(|d| not_negative("relief depth", d)));
    let corner = flange.corner_relief.as_ref().and_then(CornerRelief::size);
    ranges.extend(corner.map(|s| not_negative("corner relief size", s)));
    ranges.into_iter().find(|(_, got, _, least, most)| !(least <= got && got < most)).map(
        |(what, got, unit, least, most)| DimensionFault::OutOfRange {
            panel: name(),
            what,
            got,
            unit,
            least,
            most,
        },
    )
}
