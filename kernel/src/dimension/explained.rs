//! What the solver found out, in the history's own names.
//!
//! Job: numbers that are still loose and how they move together, dimensions that follow from others, numbers at
//! an end of their range, and, where dimensions cannot hold together, the smallest set of them with what each
//! would come to without itself. Invariant: every set is as small as the solver's; nothing is solved here but
//! to say what a member of a conflict would come to. Must not know: how a set was found.

use crate::diag::{Diagnostic, Origin};
use crate::geom::Scalar;
use crate::history::{DimensionKind, History};
use crate::solve::{
    self, End, Ending, Explanation, Kind, Member, Motion, Redundant, Solution, System, Touched,
};

use super::DimensionFault;
use super::equations::{Bound, Equations, Held};

/// What the dimensions leave open, and which of them add nothing.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Remarks {
    /// One for each way in which declared free numbers can still move.
    pub loose: Vec<Loose>,
    /// Dimensions and relations of outlines that follow from others.
    pub implied: Vec<Implied>,
    /// Free numbers at an end of their range.
    pub at_bounds: Vec<AtBound>,
    /// Dimensions and relations that no free number moves; they hold by what is drawn.
    pub without_effect: Vec<String>,
}

/// A way in which free numbers can still move, with everything held.
#[derive(Clone, Debug, PartialEq)]
pub struct Loose {
    /// The free numbers that move together, each with how far it moves when the first one moves by 1.
    pub numbers: Vec<(String, f64)>,
}

/// Something asked for that follows from other things asked for.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Implied {
    /// Name of the dimension, or of the outline with its relation.
    pub what: String,
    /// From what it follows.
    pub by: Vec<String>,
}

/// A free number that cannot go on.
#[derive(Clone, Debug, PartialEq)]
pub struct AtBound {
    /// Its name.
    pub number: String,
    /// Its value, in mm or degrees.
    pub value: f64,
    /// `least` or `most`.
    pub end: &'static str,
}

/// Says what an answer leaves open.
pub(super) fn remarks(
    history: &History,
    equations: &Equations<'_, '_>,
    start: &[f64],
    solution: &Solution,
) -> Remarks {
    let Explanation { loose, redundant, without_effect, .. } = solve::explain(equations, start, solution);
    let namer = Namer::new(history, equations, &solution.unknowns);
    let loose = loose.iter().filter_map(|motion| namer.loose(motion));
    let implied = redundant.iter().filter_map(|redundant| namer.implied(redundant));
    // What has one value only is not at the end of a range.
    let touched = solution.report.touched.iter().filter(|touched| !equations.is_fixed(touched.unknown));
    let at_bounds = touched.map(|touched| namer.at_bound(*touched, solution.unknowns[touched.unknown]));
    let mut unmoved: Vec<String> = without_effect.iter().map(|&row| namer.rows[row].name.clone()).collect();
    unmoved.dedup();
    Remarks {
        loose: loose.collect(),
        implied: implied.collect(),
        at_bounds: at_bounds.collect(),
        without_effect: unmoved,
    }
}

/// The findings for the smallest sets of dimensions and relations that cannot hold together; none if it is only
/// that no answer was found, or for sets of one.
pub(super) fn conflicts(
    history: &History,
    equations: &Equations<'_, '_>,
    start: &[f64],
    solution: &Solution,
) -> Vec<Diagnostic> {
    let explanation = solve::explain(equations, start, solution);
    let namer = Namer::new(history, equations, start);
    let real = explanation.conflicts.iter().filter(|members| members.len() > 1);
    real.map(|members| namer.conflict(start, members)).collect()
}

/// Names for what equations are of.
pub(super) struct Namer<'a, 'h> {
    history: &'a History,
    equations: &'a Equations<'a, 'h>,
    /// What each equation is of.
    pub(super) rows: Vec<Asked>,
}

/// A dimension, or a relation of an outline.
#[derive(Clone)]
pub(super) struct Asked {
    /// How it is called in a list.
    name: String,
    /// How it is called in a sentence.
    pub(super) words: String,
    /// `=`, `≥` or `≤`, the value in the engineer's unit, and that unit; none for a relation without a value.
    pub(super) value: Option<(&'static str, f64, &'static str)>,
    pub(super) origin: Origin,
}

/// One member of a conflict, as it is told.
struct Told {
    words: String,
    origin: Origin,
}

impl Asked {
    fn told(&self) -> Told {
        let words = match self.value {
            Some((sign, value, unit)) => format!("{} {sign} {value:.3} {unit}", self.words),
            None => self.words.clone(),
        };
        Told { words: words.trim_end().to_owned(), origin: self.origin.clone() }
    }
}

impl<'a, 'h> Namer<'a, 'h> {
    /// `free` are the values at which what is asked for is told.
    pub(super) fn new(history: &'a History, equations: &'a Equations<'a, 'h>, free: &[f64]) -> Self {
        let dimension = |held: &Held<'_, '_>| {
            let entry = &history.dimensions[held.id.index()];
            let sign = match held.bound {
                Bound::Exact => "=",
                Bound::AtLeast => "≥",
                Bound::AtMost => "≤",
            };
            Asked {
                name: entry.name.clone(),
                words: format!("`{}`", entry.name),
                value: Some((sign, held.target.evaluate(free), entry.kind.unit())),
                origin: entry.origin(),
            }
        };
        let mut rows: Vec<Asked> = equations.held.iter().map(dimension).collect();
        for (sketched, index, resolved, _) in equations.relations() {
            let entry = &sketched.profile.relations[index];
            let feature = history.feature(sketched.feature);
            let words = format!("{} in outline `{}`", entry.relation, feature.name);
            let value = entry.relation.value().map(|value| ("=", value.evaluate(free), resolved.unit_word()));
            let origin = Origin { name: feature.name.clone(), span: entry.span.or(feature.span) };
            let asked = Asked { name: words.clone(), words, value, origin };
            rows.resize(rows.len() + resolved.rows(), asked);
        }
        Self { history, equations, rows }
    }

    /// Sketches say by themselves how far they are determined.
    fn loose(&self, motion: &Motion) -> Option<Loose> {
        let declared = |unknown: usize| self.history.free_numbers[unknown].sketch.is_none();
        let part =
            |&(unknown, share): &(usize, f64)| (self.history.free_numbers[unknown].name.clone(), share);
        let mut numbers: Vec<(String, f64)> =
            motion.parts.iter().filter(|(unknown, _)| declared(*unknown)).map(part).collect();
        let own = &self.history.free_numbers[motion.unknown].name;
        numbers.sort_by_key(|(name, _)| name != own);
        let first = numbers.first()?.1;
        numbers.iter_mut().for_each(|(_, share)| *share /= first);
        Some(Loose { numbers })
    }

    /// Rows of one relation may follow from each other; that is no news.
    fn implied(&self, redundant: &Redundant) -> Option<Implied> {
        let what = self.rows[redundant.relation].name.clone();
        let mut by: Vec<String> =
            redundant.implied_by.iter().map(|&row| self.rows[row].name.clone()).collect();
        by.dedup();
        (!by.contains(&what)).then_some(Implied { what, by })
    }

    fn at_bound(&self, touched: Touched, value: f64) -> AtBound {
        let end = match touched.end {
            End::Least => "least",
            End::Most => "most",
        };
        AtBound { number: self.history.free_numbers[touched.unknown].name.clone(), value, end }
    }

    fn conflict(&self, start: &[f64], members: &[Member]) -> Diagnostic {
        let mut told: Vec<Told> = Vec::new();
        for member in members {
            let one = self.told(start, *member);
            // Rows of one relation are one thing.
            if !told.iter().any(|known| known.words == one.words) {
                told.push(one);
            }
        }
        let list: Vec<String> = told.iter().map(|one| one.words.clone()).collect();
        let fault = DimensionFault::Conflict { members: list };
        let mut finding = fault.diagnose(told.first().map(|one| one.origin.clone()));
        finding.origins.extend(told.iter().skip(1).map(|one| one.origin.clone()));
        for hint in self.would_be(start, members) {
            finding = finding.hint(hint);
        }
        if let Some(hint) = self.two_thicknesses(start, members) {
            finding = finding.hint(hint);
        }
        finding.hint("change one of them, only measure it, or let one more number be free")
    }

    fn told(&self, start: &[f64], member: Member) -> Told {
        let row = match member {
            Member::Relation(row) => row,
            Member::End(Touched { unknown, end }) => {
                let free = &self.history.free_numbers[unknown];
                if let Some(dimension) = self.equations.pinned_by(unknown) {
                    let entry = &self.history.dimensions[dimension.index()];
                    let stays = entry.stays.as_ref().map_or_else(String::new, ToString::to_string);
                    let words = format!(
                        "free number `{}` = {:.3}, kept because `{}` says that `{stays}` stays",
                        free.name, start[unknown], entry.name
                    );
                    return Told { words, origin: entry.origin() };
                }
                let (word, value) = match end {
                    End::Least => ("at least", free.min),
                    End::Most => ("at most", free.max),
                };
                let value = value.unwrap_or(start[unknown]);
                let words = format!("free number `{}` {word} {value:.3}", free.name);
                return Told { words, origin: Origin { name: free.name.clone(), span: free.span } };
            }
        };
        self.rows[row].told()
    }

    /// How near each member of a conflict with a value comes to it if the rest of it holds.
    fn would_be(&self, start: &[f64], members: &[Member]) -> Vec<String> {
        let mut hints = Vec::new();
        for member in members {
            let Member::Relation(row) = *member else { continue };
            let Some((_, asked, unit)) = self.rows[row].value else { continue };
            let rest: Vec<Member> = members.iter().copied().filter(|other| other != member).collect();
            let solution = solve::solve_members(self.equations, &rest, start);
            if solution.report.ending != Ending::Held {
                continue;
            }
            let mut residuals = vec![0.0; self.equations.relation_count()];
            self.equations.residuals(&solution.unknowns, &mut residuals);
            let Some(free) = self.nearest(row, residuals[row], members, &solution.unknowns) else { continue };
            let got = match self.equations.held.get(row) {
                Some(held) => self.equations.measured(held.measure, &free) / held.measure.unit(),
                None => asked + self.equations.off(row, &free),
            };
            let words = &self.rows[row].words;
            hints.push(format!("with the others held, {words} comes no nearer than {got:.3} {unit}"));
        }
        hints.iter().map(|hint| hint.trim_end().to_owned()).collect()
    }

    /// The free numbers at which an equation is least off with the other members held, given how far it is off
    /// with them where it was left out.
    fn nearest(&self, row: usize, off: f64, members: &[Member], from: &[f64]) -> Option<Vec<f64>> {
        /// Halvings of the way from what is asked to what holds: a part in 10¹².
        const HALVINGS: usize = 40;
        let eased = |shift: f64| {
            let eased = Eased { equations: self.equations, row, shift };
            let solution = solve::solve_members(&eased, members, from);
            (solution.report.ending == Ending::Held).then_some(solution.unknowns)
        };
        let mut found = eased(off)?;
        let (mut fails, mut holds) = (0.0, 1.0);
        for _ in 0..HALVINGS {
            let share = 0.5 * (fails + holds);
            match eased(share * off) {
                Some(free) => (found, holds) = (free, share),
                None => fails = share,
            }
        }
        Some(found)
    }

    /// Inside and outside of the same two panels are always two thicknesses apart.
    fn two_thicknesses(&self, start: &[f64], members: &[Member]) -> Option<String> {
        let held = |member: &Member| match *member {
            Member::Relation(row) => self.equations.held.get(row),
            Member::End(_) => None,
        };
        let [first, second] = members else { return None };
        let (first, second) = (held(first)?, held(second)?);
        if [first, second].iter().any(|held| held.bound != Bound::Exact) {
            return None;
        }
        let kind = |id: crate::ident::DimensionId| &self.history.dimensions[id.index()].kind;
        let (inside, outside) = match (kind(first.id), kind(second.id)) {
            (DimensionKind::Inside { a, b }, DimensionKind::Outside { a: c, b: d })
            | (DimensionKind::Outside { a: c, b: d }, DimensionKind::Inside { a, b })
                if (a == c && b == d) || (a == d && b == c) =>
            {
                let first_is_inside = matches!(kind(first.id), DimensionKind::Inside { .. });
                if first_is_inside { (first, second) } else { (second, first) }
            }
            _ => return None,
        };
        let (inside, outside) = (inside.target.evaluate(start), outside.target.evaluate(start));
        let two = 2.0 * self.equations.sheet.thickness;
        Some(format!(
            "inside {inside:.3} and outside {outside:.3} differ by {:.3}; two thicknesses are {two:.3}",
            outside - inside
        ))
    }
}

/// Equations of which one may be off by so much.
struct Eased<'e, 'a, 'h> {
    equations: &'e Equations<'a, 'h>,
    row: usize,
    shift: f64,
}

impl System for Eased<'_, '_, '_> {
    fn variable_count(&self) -> usize {
        self.equations.variable_count()
    }

    fn relation_count(&self) -> usize {
        self.equations.relation_count()
    }

    fn residuals<S: Scalar>(&self, unknowns: &[S], residuals: &mut [S]) {
        self.equations.residuals(unknowns, residuals);
        residuals[self.row] = residuals[self.row] - S::constant(self.shift);
    }

    fn tolerance(&self, relation: usize) -> f64 {
        self.equations.tolerance(relation)
    }

    fn kind(&self, relation: usize) -> Kind {
        self.equations.kind(relation)
    }

    fn weight(&self, unknown: usize) -> f64 {
        self.equations.weight(unknown)
    }

    fn bounds(&self, unknown: usize) -> [f64; 2] {
        self.equations.bounds(unknown)
    }
}
