//! Which faces, arrises and corners count where a solve ends.
//!
//! A distance between an edge and something else is that of the nearer of its two arrises, or of the farther one. One
//! of them is chosen, so that the measure is smooth; where the solver ends the other one may count, and it is solved
//! again with that. When the choices come round in a circle, neither holds by itself: with each in turn as the one
//! that counts, the others are then kept from counting. Derivation: `docs/math/solver.md`.
//!
//! Invariant: what is said to hold holds with what counts at the answer. Must not know: the finished part.

use crate::diag::Diagnostic;
use crate::history::{DimensionKind, History, Target};
use crate::ident::DimensionId;
use crate::solve::{self, Ending, Solution, System};

use super::developed::BlankSize;
use super::equations::{Bound, Equations, Held};
use super::measure::{Measure, Resolver};
use super::pose::SheetNumbers;
use super::settle::{equations, measures};
use super::{DimensionFault, Hindrance, Skeleton};

/// How often it is judged anew where the solver ended, as long as others count there.
const JUDGEMENTS: usize = 5;

/// A system of dimensions whose measures are not chosen yet.
#[derive(Clone, Copy)]
pub(super) struct Unjudged<'a, 'h> {
    pub(super) history: &'h History,
    pub(super) skeleton: &'a Skeleton<'h>,
    pub(super) sheet: SheetNumbers<'a>,
    pub(super) blank: BlankSize,
}

/// What counts, and the answer with it.
type Answer<'h> = (Vec<Measure<'h>>, Solution);

impl<'h> Unjudged<'_, 'h> {
    /// The answer nearest to `start` with what counts there.
    ///
    /// # Errors
    /// Findings for names that do not resolve, and for dimensions that hold with none of the choices.
    pub(super) fn solved(self, start: &[f64]) -> Result<Answer<'h>, Vec<Diagnostic>> {
        let mut tried =
            vec![measures(self.history, &self.at(start, &self.skeleton.pose(self.sheet, start)))?];
        loop {
            let chosen = &tried[tried.len() - 1];
            let solution = solve::solve(&self.equations(chosen)?, start);
            let Some(anew) = self.judged(&solution.unknowns).filter(|anew| anew != chosen) else {
                return Ok((tried.swap_remove(tried.len() - 1), solution));
            };
            if tried.len() < JUDGEMENTS && !tried.contains(&anew) {
                tried.push(anew);
                continue;
            }
            let missed = self.missed(&anew, &solution.unknowns)?;
            if !is_held(&solution) || !missed.is_empty() {
                if let Some(answer) = self.kept_apart(&tried, start)? {
                    return Ok(answer);
                }
                if is_held(&solution) {
                    return Err(missed);
                }
            }
            return Ok((tried.swap_remove(tried.len() - 1), solution));
        }
    }

    fn at<'p>(self, free: &'p [f64], pose: &'p super::Pose<f64>) -> Resolver<'p, 'h>
    where
        Self: 'p,
    {
        Resolver { skeleton: self.skeleton, pose, free, sheet: self.sheet }
    }

    /// What counts with these free numbers, if everything can be measured there.
    fn judged(self, free: &[f64]) -> Option<Vec<Measure<'h>>> {
        let pose = self.skeleton.pose(self.sheet, free);
        self.at(free, &pose).measures(self.history)
    }

    fn equations<'m>(self, measures: &'m [Measure<'h>]) -> Result<Equations<'m, 'h>, Vec<Diagnostic>>
    where
        Self: 'm,
    {
        equations(self.history, self.skeleton, self.sheet, self.blank, measures)
    }

    /// Findings for dimensions that do not hold with these measures.
    fn missed(self, measures: &[Measure<'h>], free: &[f64]) -> Result<Vec<Diagnostic>, Vec<Diagnostic>> {
        let equations = self.equations(measures)?;
        let mut residuals = vec![0.0; equations.relation_count()];
        equations.residuals(free, &mut residuals);
        let rows = equations.held.iter().zip(&residuals).enumerate();
        let missed = rows.filter(|(row, (held, residual))| match held.bound {
            Bound::Exact => residual.abs() > equations.tolerance(*row),
            Bound::AtLeast | Bound::AtMost => **residual < -equations.tolerance(*row),
        });
        let finding = |held: &Held<'_, 'h>| {
            let entry = &self.history.dimensions[held.id.index()];
            let fault = DimensionFault::NotHeld {
                dimension: entry.name.clone(),
                asked: held.target.evaluate(free),
                got: equations.measured(held.measure, free) / held.measure.unit(),
                unit: entry.kind.unit(),
                hindrance: if equations.relation_count() == 1 {
                    Hindrance::OutOfReach { bounds: Vec::new() }
                } else {
                    Hindrance::Others
                },
            };
            fault.diagnose(entry.origin())
        };
        Ok(missed.map(|(_, (held, _))| finding(held)).collect())
    }

    /// Of the answers with each of these choices while all others do not count, the one that moves the free numbers
    /// least.
    fn kept_apart(
        self,
        tried: &[Vec<Measure<'h>>],
        start: &[f64],
    ) -> Result<Option<Answer<'h>>, Vec<Diagnostic>> {
        let mut least: Option<(f64, Vec<f64>)> = None;
        for chosen in tried {
            let mut equations = self.equations(chosen)?;
            for others in tried {
                for (index, (_, other)) in chosen.iter().zip(others).enumerate().filter(|(_, (a, b))| a != b)
                {
                    let entry = &self.history.dimensions[index];
                    let (Some(bound), Some(target)) = (beyond(&entry.kind), entry.target.number()) else {
                        continue;
                    };
                    let is_bound_alike = match (&entry.target, bound) {
                        (Target::Held(_), _) => true,
                        (Target::AtLeast(_), bound) => bound == Bound::AtLeast,
                        (Target::AtMost(_), bound) => bound == Bound::AtMost,
                        (Target::Measured, _) => false,
                    };
                    if is_bound_alike {
                        let id = DimensionId::new(index);
                        equations.also(Held { id, measure: other, target, bound });
                    }
                }
            }
            let solution = solve::solve(&equations, start);
            let moved = (0..start.len()).map(|i| equations.weight(i) * (solution.unknowns[i] - start[i]));
            let moved: f64 = moved.map(|by| by * by).sum();
            if !is_held(&solution) || least.as_ref().is_some_and(|(known, _)| *known <= moved) {
                continue;
            }
            let holds = self.judged(&solution.unknowns).map(|anew| self.missed(&anew, &solution.unknowns));
            if holds.transpose()?.is_some_and(|missed| missed.is_empty()) {
                least = Some((moved, solution.unknowns));
            }
        }
        let Some((_, unknowns)) = least else { return Ok(None) };
        let measures = self.judged(&unknowns).expect("it was measured there");
        let mut solution = solve::solve(&self.equations(&measures)?, &unknowns);
        // From the start it is a way with turns, so that it is worth to ask for its branch.
        solution.report.bent = true;
        Ok(Some((measures, solution)))
    }
}

fn is_held(solution: &Solution) -> bool {
    matches!(solution.report.ending, Ending::Held | Ending::NothingToSolve)
}

/// On which side of what is asked for an arris lies that does not count; none where that says nothing.
fn beyond(kind: &DimensionKind) -> Option<Bound> {
    match kind {
        DimensionKind::Clear { .. } => Some(Bound::AtLeast),
        DimensionKind::Overall { .. } => Some(Bound::AtMost),
        DimensionKind::Inside { .. }
        | DimensionKind::Outside { .. }
        | DimensionKind::OffCentre { .. }
        | DimensionKind::ClearOf { .. }
        | DimensionKind::PanelWidth { .. }
        | DimensionKind::Angle { .. }
        | DimensionKind::BlankLength
        | DimensionKind::BlankWidth
        | DimensionKind::Difference(_)
        | DimensionKind::Ratio(_) => None,
    }
}
