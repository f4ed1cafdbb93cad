//! Settles the free numbers of a history: solve, then check that the numbers make sense.
//!
//! Invariant: a [`Settled`] pose has every held dimension within tolerance, every turn in (0°, 180°) and
//! every flange longer than its bend takes.

use crate::diag::{Diagnostic, Origin};
use crate::history::feature::{Feature, FillArea, Flange, Pattern, Spacing};
use crate::history::{History, Number, Profile, Shape, Target};
use crate::ident::{PanelId, VarId};
use crate::quantity::{maths, tolerance};
use crate::solve::{self, Ending, SolveReport, System};

use super::equations::{Equations, Measure, MeasureFault, measure_of};
use super::pose::{Pose, SheetNumbers};
use super::{DimensionFault, Skeleton, Source};

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
/// from their start values.
///
/// # Errors
/// Findings for numbers that are not finite, names that do not resolve, dimensions that cannot hold, and
/// flanges that cannot be bent.
pub fn settle(
    history: &History,
    skeleton: &Skeleton<'_>,
    sheet: SheetNumbers,
) -> Result<Settled, Vec<Diagnostic>> {
    let faults = number_faults(history);
    if !faults.is_empty() {
        return Err(faults);
    }
    let start = history.start_values();
    let start_pose = skeleton.pose(sheet, &start);
    let measures = measures(history, skeleton, &start_pose, sheet.thickness)?;
    let equations = Equations::new(history, skeleton, sheet, &measures);
    let solution = solve::solve(&equations, &start);
    let pose = skeleton.pose(sheet, &solution.unknowns);
    match solution.report.ending {
        Ending::Held | Ending::NothingToSolve => {}
        Ending::NotFinite => {
            let faults = flange_faults(history, skeleton, &start_pose, &start);
            return Err(if faults.is_empty() {
                vec![DimensionFault::RanAway.diagnose(None)]
            } else {
                faults
            });
        }
        Ending::Stalled | Ending::IterationLimit => {
            return Err(missed(history, &equations, &solution.unknowns, &solution.residuals));
        }
    }
    let mut faults = flange_faults(history, skeleton, &pose, &solution.unknowns);
    for (entry, measure) in history.dimensions.iter().zip(&measures) {
        let off = measure.off_parallel(&pose);
        if off > tolerance::HELD_RAD.max(tolerance::PARALLEL) {
            let (a, b) = entry.kind.between();
            let fault = DimensionFault::NotParallel {
                dimension: entry.name.clone(),
                a,
                b,
                off: off * (180.0 / maths::PI),
            };
            faults.push(fault.diagnose(entry.origin()));
        }
    }
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
    Ok(Settled { free: solution.unknowns, pose, dimensions, report: solution.report })
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
) -> Vec<Diagnostic> {
    let slopes = solve::jacobian(equations, free);
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
            alone: equations.held.len() == 1,
            movable: slopes.row(row).iter().any(|s| s.abs() > tolerance::RANK_SHARE),
        };
        faults.push(fault.diagnose(entry.origin()));
    }
    faults
}

/// Flanges whose settled numbers cannot be bent.
fn flange_faults(
    history: &History,
    skeleton: &Skeleton<'_>,
    pose: &Pose<f64>,
    free: &[f64],
) -> Vec<Diagnostic> {
    let mut faults = Vec::new();
    for (index, panel) in skeleton.panels().iter().enumerate() {
        let Source::Flange { flange, .. } = panel.source else { continue };
        let own = pose.panel(PanelId::new(index));
        let Some(bend) = own.bend else { continue };
        let name = || panel.name.clone();
        let turn = bend.turn * (180.0 / maths::PI);
        let least = -own.drawn_shift;
        let fault = if !(0.0 < turn && turn < 180.0) {
            Some(DimensionFault::Turn { panel: name(), turn })
        } else if bend.inside_radius < 0.0 {
            Some(DimensionFault::Radius { panel: name(), radius: bend.inside_radius })
        } else if bend.length - least <= tolerance::SNAP_MM {
            Some(DimensionFault::FlangeTooShort { panel: name(), length: bend.length, least })
        } else {
            range_fault(&name, flange, free)
        };
        faults.extend(fault.map(|f| f.diagnose(history.origin(panel.feature))));
    }
    faults
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
    ranges.extend(flange.relief.width.as_ref().map(|w| not_negative("relief width", w)));
    ranges.extend(flange.relief.depth.as_ref().map(|d| not_negative("relief depth", d)));
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
fn number_faults(history: &History) -> Vec<Diagnostic> {
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
        Feature::Flange(f) => {
            let mut all = vec![
                ("the turn", &f.turn),
                ("the length", &f.length),
                ("the inset on the left", &f.left.inset),
                ("the inset on the right", &f.right.inset),
                ("the taper on the left", &f.left.taper),
                ("the taper on the right", &f.right.taper),
                ("the corner gap", &f.corner_gap),
            ];
            all.extend(f.inside_radius.as_ref().map(|n| ("the inside radius", n)));
            all.extend(f.relief.width.as_ref().map(|n| ("the relief width", n)));
            all.extend(f.relief.depth.as_ref().map(|n| ("the relief depth", n)));
            all
        }
        Feature::Cutout(cutout) => {
            let mut all = match &cutout.shape {
                Shape::Circle { diameter } => vec![("the diameter", diameter)],
                Shape::Slot { length, width, direction } => {
                    vec![("the length", length), ("the width", width), ("the direction", direction)]
                }
                Shape::BoltHole { .. } => Vec::new(),
                Shape::BoltSlot { length, direction, .. } => {
                    vec![("the length", length), ("the direction", direction)]
                }
                Shape::Outline(profile) => profile_numbers(profile),
            };
            all.extend(pattern_numbers(&cutout.pattern));
            all
        }
        Feature::CornerBreak(corners) => match &corners.shape {
            BreakShape::Round(n) | BreakShape::Chamfer(n) => vec![("the size", n)],
        },
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

fn profile_numbers(profile: &Profile) -> Vec<(&'static str, &Number)> {
    use crate::history::EdgeShape;
    let corners = profile.corners.iter().flatten().map(|n| ("a corner", n));
    let arcs = profile.edges.iter().flat_map(|e| match &e.shape {
        EdgeShape::Line => Vec::new(),
        EdgeShape::Arc(radius) => vec![("an arc's radius", radius)],
        EdgeShape::ArcThrough(via) => via.iter().map(|n| ("a point on an arc", n)).collect(),
    });
    corners.chain(arcs).collect()
}
