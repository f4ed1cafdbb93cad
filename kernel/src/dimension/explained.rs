//! What the solver found out, in the history's own names.
//!
//! Job: numbers that are still loose and how they move together, dimensions that follow from others, numbers at
//! an end of their range, and, where dimensions cannot hold together, the smallest set of them with what each
//! would come to without itself. Invariant: every set is as small as the solver's; nothing is solved here but
//! to say what a member of a conflict would come to. Must not know: how a set was found.

use crate::diag::{Diagnostic, Origin};
use crate::geom::Scalar;
use crate::history::{DimensionKind, History};
use crate::quantity::tolerance;
use crate::solve::{
    self, End, Ending, Explanation, Kind, Member, Motion, Redundant, Solution, System, Touched,
};

use super::equations::{Bound, Equations, Held};
use super::relation::{Resolved, Sketched};
use super::{BoundTouched, DimensionFault, Hindrance};

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
    /// Which way the first one can move as things are.
    pub open: Open,
}

/// Which ways a motion is open, by limits that are reached: at-least and at-most dimensions, ends of ranges.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Open {
    /// Up and down.
    Both,
    /// To larger values only.
    Up,
    /// To smaller values only.
    Down,
    /// Neither way by itself: limits press from both sides.
    Neither,
}

impl Open {
    /// `both`, `up`, `down` or `neither`.
    #[must_use]
    pub fn word(self) -> &'static str {
        match self {
            Self::Both => "both",
            Self::Up => "up",
            Self::Down => "down",
            Self::Neither => "neither",
        }
    }
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
    let slopes = solve::jacobian(equations, &solution.unknowns);
    let pressed = |row: &usize| {
        equations.kind(*row) == Kind::AtLeast && solution.residuals[*row].abs() <= equations.tolerance(*row)
    };
    let pressed: Vec<usize> = (0..equations.relation_count()).filter(pressed).collect();
    let limits = |motion: &Motion| {
        let slope = |&row: &usize| motion.parts.iter().map(|(u, by)| slopes[(row, *u)] * by).sum();
        let to_ends = solution.report.touched.iter().map(|touched| {
            let by = motion.parts.iter().find(|(unknown, _)| *unknown == touched.unknown);
            let by = by.map_or(0.0, |(_, by)| *by);
            match touched.end {
                End::Least => by,
                End::Most => -by,
            }
        });
        pressed.iter().map(slope).chain(to_ends).collect::<Vec<f64>>()
    };
    let loose = loose.iter().filter_map(|motion| namer.loose(motion, &limits(motion)));
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

/// The findings for the smallest sets of dimensions and relations that cannot hold together, and for each one
/// that is out of reach by itself; none if it is only that no answer was found, or that nothing moves.
pub(super) fn conflicts(
    history: &History,
    equations: &Equations<'_, '_>,
    start: &[f64],
    solution: &Solution,
    movable: &impl Fn(usize) -> bool,
) -> Vec<Diagnostic> {
    let explanation = solve::explain(equations, start, solution);
    let namer = Namer::new(history, equations, start);
    let finding = |members: &Vec<Member>| match namer.alone(members) {
        Some(row) if !movable(row) => None,
        Some(row) => namer.out_of_reach(start, row, members),
        None => Some(namer.conflict(start, members)),
    };
    explanation.conflicts.iter().filter_map(finding).collect()
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

    /// Sketches say by themselves how far they are determined. `limits` is how fast the room to each limit that
    /// is reached grows along the motion; where it shrinks, that way is closed.
    fn loose(&self, motion: &Motion, limits: &[f64]) -> Option<Loose> {
        let declared = |unknown: usize| self.history.free_numbers[unknown].sketch.is_none();
        let part =
            |&(unknown, share): &(usize, f64)| (self.history.free_numbers[unknown].name.clone(), share);
        let mut numbers: Vec<(String, f64)> =
            motion.parts.iter().filter(|(unknown, _)| declared(*unknown)).map(part).collect();
        let own = &self.history.free_numbers[motion.unknown].name;
        numbers.sort_by_key(|(name, _)| name != own);
        let first = numbers.first()?.1;
        numbers.iter_mut().for_each(|(_, share)| *share /= first);
        let is_closed = |way: f64| limits.iter().any(|room| room * first * way < -tolerance::MOTION_SHARE);
        let open = match (is_closed(1.0), is_closed(-1.0)) {
            (false, false) => Open::Both,
            (false, true) => Open::Up,
            (true, false) => Open::Down,
            (true, true) => Open::Neither,
        };
        Some(Loose { numbers, open })
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

    /// The equation of the only thing asked for in a conflict; `None` if there are several. A number that is
    /// kept because a panel stays is asked for, too.
    fn alone(&self, members: &[Member]) -> Option<usize> {
        let mut only: Option<usize> = None;
        for member in members {
            match *member {
                Member::Relation(row) => match only {
                    // Rows of one relation are one thing.
                    Some(known) if self.rows[known].words != self.rows[row].words => return None,
                    Some(_) => {}
                    None => only = Some(row),
                },
                Member::End(end) if self.equations.pinned_by(end.unknown).is_some() => return None,
                Member::End(_) => {}
            }
        }
        only
    }

    /// The finding for one thing that cannot hold whatever else is asked for; `None` if nothing is known about
    /// how near it comes.
    fn out_of_reach(&self, start: &[f64], row: usize, members: &[Member]) -> Option<Diagnostic> {
        let (_, asked, unit) = self.rows[row].value?;
        let got = self.comes_to(start, row, asked, members)?;
        let bound = |member: &Member| match *member {
            Member::Relation(_) => None,
            Member::End(touched) => Some(BoundTouched {
                number: self.history.free_numbers[touched.unknown].name.clone(),
                end: self.end_words(start, touched),
            }),
        };
        let hindrance = Hindrance::OutOfReach { bounds: members.iter().filter_map(bound).collect() };
        let fault = match self.equations.held.get(row) {
            Some(held) => {
                let dimension = self.history.dimensions[held.id.index()].name.clone();
                DimensionFault::NotHeld { dimension, asked, got, unit, hindrance }
            }
            None => {
                let in_row = |(_, _, relation, first): &(&Sketched<'_>, usize, &Resolved, usize)| {
                    (*first..*first + relation.rows()).contains(&row)
                };
                let (sketched, index, ..) = self.equations.relations().find(in_row)?;
                DimensionFault::RelationNotHeld {
                    outline: self.history.feature(sketched.feature).name.clone(),
                    relation: sketched.profile.relations[index].relation.to_string(),
                    asked: Some(asked),
                    got,
                    unit,
                    hindrance,
                }
            }
        };
        let mut finding = fault.diagnose(self.rows[row].origin.clone());
        let ends = members.iter().filter(|member| matches!(member, Member::End(_)));
        finding.origins.extend(ends.map(|end| self.told(start, *end).origin));
        Some(finding)
    }

    /// `at most 210.000`
    fn end_words(&self, start: &[f64], Touched { unknown, end }: Touched) -> String {
        let free = &self.history.free_numbers[unknown];
        let (word, value) = match end {
            End::Least => ("at least", free.min),
            End::Most => ("at most", free.max),
        };
        format!("{word} {:.3}", value.unwrap_or(start[unknown]))
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
            Member::End(touched) => {
                let unknown = touched.unknown;
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
                let words = format!("free number `{}` {}", free.name, self.end_words(start, touched));
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
            let Some(got) = self.comes_to(start, row, asked, members) else { continue };
            let words = &self.rows[row].words;
            hints.push(format!("with the others held, {words} comes no nearer than {got:.3} {unit}"));
        }
        hints.iter().map(|hint| hint.trim_end().to_owned()).collect()
    }

    /// What an equation with the value `asked` comes to where it is least off with the other members held, in
    /// the engineer's unit.
    fn comes_to(&self, start: &[f64], row: usize, asked: f64, members: &[Member]) -> Option<f64> {
        let own = Member::Relation(row);
        let rest: Vec<Member> = members.iter().copied().filter(|other| *other != own).collect();
        let solution = solve::solve_members(self.equations, &rest, start);
        if !matches!(solution.report.ending, Ending::Held | Ending::NothingToSolve) {
            return None;
        }
        let mut residuals = vec![0.0; self.equations.relation_count()];
        self.equations.residuals(&solution.unknowns, &mut residuals);
        let free = self.nearest(row, residuals[row], members, &solution.unknowns)?;
        Some(match self.equations.held.get(row) {
            Some(held) => self.equations.measured(held.measure, &free) / held.measure.unit(),
            None => asked + self.equations.off(row, &free),
        })
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
