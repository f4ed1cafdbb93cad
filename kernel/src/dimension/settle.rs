//! Settles the free numbers of a history: solve, then check that the numbers make sense.
//!
//! Invariant: a [`Settled`] pose has every held dimension within tolerance, every turn in (0°, 180°) and
//! every flange that has a length longer than its bend takes.

use std::collections::BTreeSet;

use crate::diag::{Diagnostic, Origin};
use crate::history::feature::{CornerRelief, DrawnLine, Feature, FillArea, Flange, Pattern, Reach, Spacing};
use crate::history::{DimensionEntry, DimensionKind, History, Number, Profile, Shape, Target};
use crate::ident::{PanelId, VarId};
use crate::quantity::{maths, tolerance};
use crate::solve::{self, Ending, SolveReport, System};

use super::equations::{Equations, Measure, MeasureFault, measure_of};
use super::line_bend::{LineSpec, thicknesses};
use super::pose::{BendPose, Pose, SheetNumbers};
use super::relation::{self, Sketched};
use super::{DimensionFault, LinePart, Skeleton, Source};

/// The numbers of a part.
#[derive(Clone, Debug)]
pub struct Settled {
    /// Values of the free numbers, indexed by [`VarId`].
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
    /// What it measures: `inside`, `outside`, `panel width`, `angle`.
    pub kind: &'static str,
    /// `mm` or `deg`.
    pub unit: &'static str,
    /// What was asked for, if it must hold.
    pub asked: Option<f64>,
    /// What it measures.
    pub got: f64,
    /// Whether it must hold, and does.
    pub state: DimensionState,
}

/// State of a dimension in a settled part.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum DimensionState {
    /// Asked for, and within tolerance.
    Held,
    /// Only measured.
    Measured,
}

impl DimensionState {
    /// `held` or `measured`.
    #[must_use]
    pub fn word(self) -> &'static str {
        match self {
            Self::Held => "held",
            Self::Measured => "measured",
        }
    }
}

/// Finds values of the free numbers for which every held dimension holds, moving them as little as possible
/// from their start values; sketches start where their own relations hold.
///
/// # Errors
/// Findings for numbers that are not finite, names that do not resolve, dimensions that cannot hold, and
/// flanges that cannot be bent.
pub fn settle(
    history: &History,
    skeleton: &Skeleton<'_>,
    sheet: SheetNumbers<'_>,
) -> Result<Settled, Vec<Diagnostic>> {
    let start = skeleton.start().to_vec();
    let start_pose = skeleton.pose(sheet, &start);
    let measures = measures(history, skeleton, &start_pose, sheet.thickness)?;
    let sketched = sketched(history, &history.start_values())?;
    let equations = Equations::new(history, skeleton, sheet, &measures, sketched);
    let solution = solve::solve(&equations, &start);
    let pose = skeleton.pose(sheet, &solution.unknowns);
    match solution.report.ending {
        Ending::Held | Ending::NothingToSolve => {}
        Ending::NotFinite => {
            let faults = bend_faults(history, skeleton, &start_pose, sheet.thickness, &start);
            return Err(if faults.is_empty() {
                vec![DimensionFault::RanAway.diagnose(None)]
            } else {
                faults
            });
        }
        Ending::Stalled | Ending::IterationLimit => {
            let (free, residuals) = (&solution.unknowns, &solution.residuals);
            let slopes = solve::jacobian(&equations, free);
            let movable = |row: usize| slopes.row(row).iter().any(|s| s.abs() > tolerance::RANK_SHARE);
            let slanted = not_parallel_throughout(history, &measures, &start_pose, &pose);
            if !slanted.is_empty() {
                return Err(slanted);
            }
            let mut faults = missed(history, &equations, free, residuals, &movable);
            faults.extend(relations_missed(history, &equations, free, residuals, &movable));
            return Err(worst_first(faults));
        }
    }
    let mut faults = bend_faults(history, skeleton, &pose, sheet.thickness, &solution.unknowns);
    let slanted = |(entry, measure): (&DimensionEntry, &Measure)| not_parallel(entry, measure, &pose);
    faults.extend(history.dimensions.iter().zip(&measures).filter_map(slanted));
    if !faults.is_empty() {
        return Err(faults);
    }
    let dimensions = history
        .dimensions
        .iter()
        .zip(&measures)
        .map(|(entry, measure)| DimensionResult {
            name: entry.name.clone(),
            kind: entry.kind.word(),
            unit: entry.kind.unit(),
            asked: match &entry.target {
                Target::Held(number) => Some(number.evaluate(&solution.unknowns)),
                Target::Measured => None,
            },
            got: measure.residual(&pose, 0.0) / measure.unit(),
            state: match entry.target {
                Target::Held(_) => DimensionState::Held,
                Target::Measured => DimensionState::Measured,
            },
        })
        .collect();
    let (left_free, sketches) = freedoms(history, &equations, &solution);
    let report = solution.report;
    Ok(Settled { free: solution.unknowns, pose, dimensions, report, left_free, sketches })
}

/// A finding if a distance is measured between things that are not parallel.
fn not_parallel(entry: &DimensionEntry, measure: &Measure, pose: &Pose<f64>) -> Option<Diagnostic> {
    let off = measure.off_parallel(pose);
    if off <= tolerance::HELD_RAD.max(tolerance::PARALLEL) {
        return None;
    }
    let (a, b) = entry.kind.between();
    let dimension = entry.name.clone();
    let fault = DimensionFault::NotParallel { dimension, a, b, off: off * (180.0 / maths::PI) };
    Some(fault.diagnose(entry.origin()))
}

/// Held distances between things that are parallel neither at the start nor where the solver ended, unless
/// angles are held, too: what else did not hold then follows from them.
fn not_parallel_throughout(
    history: &History,
    measures: &[Measure],
    start: &Pose<f64>,
    end: &Pose<f64>,
) -> Vec<Diagnostic> {
    let held =
        || history.dimensions.iter().zip(measures).filter(|(d, _)| matches!(d.target, Target::Held(_)));
    if held().any(|(entry, _)| matches!(entry.kind, DimensionKind::Angle { .. })) {
        return Vec::new();
    }
    let slanted = held().filter(|(entry, measure)| not_parallel(entry, measure, end).is_some());
    slanted.filter_map(|(entry, measure)| not_parallel(entry, measure, start)).collect()
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

fn measures(
    history: &History,
    skeleton: &Skeleton<'_>,
    start: &Pose<f64>,
    thickness: f64,
) -> Result<Vec<Measure>, Vec<Diagnostic>> {
    let mut measures = Vec::with_capacity(history.dimensions.len());
    let mut faults = Vec::new();
    for entry in &history.dimensions {
        if let (Target::Held(number), "mm") = (&entry.target, entry.kind.unit())
            && let Some(asked) = number.as_constant().filter(|asked| *asked <= 0.0)
        {
            let fault = DimensionFault::NoDistance { dimension: entry.name.clone(), asked };
            faults.push(fault.diagnose(entry.origin()));
            continue;
        }
        match measure_of(&entry.name, &entry.kind, skeleton, start, thickness) {
            Ok(measure) => measures.push(measure),
            Err(MeasureFault::Name(fault)) => faults.push(fault.diagnose(entry.origin())),
            Err(MeasureFault::Dimension(fault)) => faults.push(fault.diagnose(entry.origin())),
        }
    }
    if faults.is_empty() { Ok(measures) } else { Err(faults) }
}

/// A finding for every held dimension that is out of tolerance.
fn missed(
    history: &History,
    equations: &Equations<'_, '_>,
    free: &[f64],
    residuals: &[f64],
    movable: &impl Fn(usize) -> bool,
) -> Vec<Missed> {
    let mut faults = Vec::new();
    for (row, (held, residual)) in equations.held.iter().zip(residuals).enumerate() {
        if residual.abs() <= equations.tolerance(row) {
            continue;
        }
        let entry = &history.dimensions[held.id.index()];
        let asked = held.target.evaluate(free);
        let fault = DimensionFault::NotHeld {
            dimension: entry.name.clone(),
            asked,
            got: asked + residual / held.measure.unit(),
            unit: entry.kind.unit(),
            alone: equations.relation_count() == 1,
            movable: movable(row),
        };
        faults.push(Missed {
            off: (residual / held.measure.unit()).abs(),
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
            movable: movable(row),
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

/// Numbers that are not finite or use a free number that is not there.
pub(super) fn number_faults(history: &History) -> Vec<Diagnostic> {
    let count = history.free_numbers.len();
    let mut faults = Vec::new();
    let mut check = |origin: Origin, what: &'static str, number: &Number| {
        let unknown = number.highest_free().map(VarId::index).filter(|&index| index >= count);
        let fault = match unknown {
            Some(index) => DimensionFault::UnknownFree { owner: origin.name.clone(), index, count },
            None if !number.is_finite() => DimensionFault::NotFinite { owner: origin.name.clone(), what },
            None => return,
        };
        faults.push(fault.diagnose(origin));
    };
    for free in &history.free_numbers {
        check(
            Origin { name: free.name.clone(), span: free.span },
            "the start value",
            &Number::constant(free.start),
        );
    }
    for (id, entry) in history.features_with_ids() {
        for (what, number) in feature_numbers(&entry.feature) {
            check(history.origin(id), what, number);
        }
        for asked in entry.feature.profile().iter().flat_map(|profile| &profile.relations) {
            for number in asked.relation.numbers() {
                let origin = Origin { name: entry.name.clone(), span: asked.span.or(entry.span) };
                check(origin, "a number of a relation", &number);
            }
        }
    }
    for entry in &history.dimensions {
        if let Target::Held(number) = &entry.target {
            check(entry.origin(), "the asked-for value", number);
        }
    }
    faults
}

fn feature_numbers(feature: &Feature) -> Vec<(&'static str, &Number)> {
    use crate::history::feature::BreakShape;
    match feature {
        Feature::BasePanel(base) => profile_numbers(&base.outline),
        Feature::Seam(seam) => {
            let gap = seam.gap().map(|n| ("the gap", n));
            gap.into_iter().chain(seam.overlap().map(|n| ("the overlap", n))).collect()
        }
        Feature::Hem(hem) => flange_numbers(hem.flange()),
        Feature::Flange(flange) => flange_numbers(flange),
        Feature::FoldLine(fold) => {
            let mut all = vec![("the turn", &fold.turn)];
            all.extend(line_numbers(&fold.line));
            all.extend(fold.inside_radius.as_ref().map(|n| ("the inside radius", n)));
            all
        }
        Feature::Offset(step) => {
            let mut all = vec![("the turn", &step.turn), ("the height", &step.height)];
            all.extend(line_numbers(&step.line));
            all.extend(step.inside_radius.as_ref().map(|n| ("the inside radius", n)));
            all
        }
        Feature::Turned(turned) => vec![("the turn", &turned.turn)],
        Feature::Cutout(cutout) => {
            let mut all = shape_numbers(&cutout.shape);
            all.extend(pattern_numbers(&cutout.pattern));
            if let Reach::Straight(straight) = &cutout.reach {
                all.extend(straight.along.iter().map(|n| ("the direction", n)));
            }
            all
        }
        Feature::Bump(bump) => {
            let mut all = shape_numbers(&bump.profile);
            all.extend(pattern_numbers(&bump.pattern));
            all.extend([("the height", &bump.height), ("the draft", &bump.draft)]);
            all.extend(bump.punch_radius.as_ref().map(|n| ("the punch radius", n)));
            all.extend(bump.die_radius.as_ref().map(|n| ("the die radius", n)));
            all.extend(bump.corner_radius.as_ref().map(|n| ("the corner radius", n)));
            all
        }
        Feature::BumpChange(change) => {
            let mut all = change.profile.as_ref().map_or_else(Vec::new, shape_numbers);
            all.extend(change.height.as_ref().map(|n| ("the height", n)));
            all
        }
        Feature::CornerBreak(corners) => match &corners.shape {
            BreakShape::Round(n) | BreakShape::Chamfer(n) => vec![("the size", n)],
        },
    }
}

fn shape_numbers(shape: &Shape) -> Vec<(&'static str, &Number)> {
    match shape {
        Shape::Circle { diameter } => vec![("the diameter", diameter)],
        Shape::Slot { length, width, direction } => {
            vec![("the length", length), ("the width", width), ("the direction", direction)]
        }
        Shape::BoltHole { .. } => Vec::new(),
        Shape::BoltSlot { length, direction, .. } => {
            vec![("the length", length), ("the direction", direction)]
        }
        Shape::Outline(profile) => profile_numbers(profile),
    }
}

fn pattern_numbers(pattern: &Pattern) -> Vec<(&'static str, &Number)> {
    fn both<'a>(what: &'static str, [x, y]: &'a [Number; 2]) -> [(&'static str, &'a Number); 2] {
        [(what, x), (what, y)]
    }
    match pattern {
        Pattern::At(points) => points.iter().flat_map(|p| both("a place", p)).collect(),
        Pattern::Grid { from, column_pitch, row_pitch, .. } => {
            let mut all = both("the first place", from).to_vec();
            all.extend([("the column pitch", column_pitch), ("the row pitch", row_pitch)]);
            all
        }
        Pattern::Row { from, to, spacing } => {
            let mut all = [both("the start of the row", from), both("the end of the row", to)].concat();
            if let Spacing::Pitch { pitch, ends } = spacing {
                all.extend([("the pitch", pitch), ("the distance to the ends", ends)]);
            }
            all
        }
        Pattern::Ring { centre, diameter, first, span, .. } => {
            let mut all = both("the centre", centre).to_vec();
            all.extend([("the diameter", diameter), ("the first direction", first), ("the span", span)]);
            all
        }
        Pattern::Fill { area, column_pitch, row_pitch, margin, .. } => {
            let mut all = vec![
                ("the column pitch", column_pitch),
                ("the row pitch", row_pitch),
                ("the margin", margin),
            ];
            if let FillArea::Rectangle { from, to } = area {
                all.extend([from, to].into_iter().flat_map(|corner| both("a corner", corner)));
            }
            all
        }
    }
}

fn flange_numbers(f: &Flange) -> Vec<(&'static str, &Number)> {
    let mut all = vec![
        ("the turn", &f.turn),
        ("the length", &f.length),
        ("the inset on the left", &f.left.inset),
        ("the inset on the right", &f.right.inset),
        ("the taper on the left", &f.left.taper),
        ("the taper on the right", &f.right.taper),
        ("the corner gap", &f.corner_gap),
    ];
    all.extend(f.outline.iter().flat_map(profile_numbers));
    all.extend(f.inside_radius.as_ref().map(|n| ("the inside radius", n)));
    let notch = f.relief.notch();
    all.extend(notch.and_then(|n| n.width.as_ref()).map(|n| ("the relief width", n)));
    all.extend(notch.and_then(|n| n.depth.as_ref()).map(|n| ("the relief depth", n)));
    let corner = f.corner_relief.as_ref().and_then(CornerRelief::size);
    all.extend(corner.map(|n| ("the size of the corner relief", n)));
    all
}

fn line_numbers(line: &DrawnLine) -> Vec<(&'static str, &Number)> {
    match line {
        DrawnLine::Through(from, to) => from.iter().chain(to).map(|n| ("a point of the line", n)).collect(),
        DrawnLine::Beside { distance, .. } => vec![("the line's distance", distance)],
    }
}

pub(super) fn profile_numbers(profile: &Profile) -> Vec<(&'static str, &Number)> {
    use crate::history::EdgeShape;
    let corners = profile.corners.iter().flatten().map(|n| ("a corner", n));
    let arcs = profile.edges.iter().flat_map(|e| match &e.shape {
        EdgeShape::Line => Vec::new(),
        EdgeShape::Arc(radius) => vec![("an arc's radius", radius)],
        EdgeShape::ArcThrough(via) => via.iter().map(|n| ("a point on an arc", n)).collect(),
        EdgeShape::ArcRise(rise) => vec![("an arc's rise", rise)],
    });
    corners.chain(arcs).collect()
}
