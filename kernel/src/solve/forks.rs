//! Whether an answer lies on the branch that leads on from its start.
//!
//! What each relation is off at the start is taken away in small steps, and the unknowns follow by the shortest
//! steps that hold it so. Where they cannot follow any more, two answers have met and ended; where they arrive,
//! but elsewhere, the solver has leapt. Derivation: `docs/math/solver.md`. Invariant: each step is so small that
//! only one answer is near, by the contraction of its corrections; nothing is changed, and nothing said of an
//! answer that was reached without a bend.

use nalgebra::{DMatrix, SymmetricEigen};

use crate::quantity::tolerance;

use super::descent::Descent;
use super::gradients::{Gradients, add_multiple, dot};
use super::jacobian::{Part, Passes};
use super::least_distance::least_distance;
use super::levenberg_marquardt::Bench;
use super::linearised::{Linearised, damping};
use super::lockstep;
use super::pattern::Pattern;
use super::span::{Span, is_spanned};
use super::structure::{Block, blocks};
use super::trace::trace;
use super::weighted::{Point, Weighted};
use super::{Ending, Kind, Solution, System, within};

/// Tries of steps along a branch at most: a few for each of the least steps that must be even. A fold takes about 60.
const STEP_LIMIT: usize = 6000;

/// A second correction may have this share of the first one: then Newton's method has one answer in reach, and
/// goes there (Kantorovich's condition in the form of Deuflhard).
const CONTRACTION: f64 = 0.25;

/// Gradients may change in a step by this share of what the least independent one has of its own; at 1, the
/// change would be enough to make them dependent.
const EVEN_SHARE: f64 = 0.5;

/// Steps below this share of the way need not be looked at for that: near a fold the contraction alone lets them come
/// near enough to it.
const EVEN_STEP: f64 = 1e-3;

/// Corrections of a step at most; each is a quarter of the one before.
const CORRECTION_LIMIT: usize = 8;

/// A step ends when a correction is below this share of the first one.
const CORRECTED_SHARE: f64 = 1e-2;

/// At a kink the unknowns may turn and run faster, by this at most.
const KINK_LIMIT: f64 = 100.0;

/// The first way at a kink is at most this share of the unknowns; it serves a millionth of what relations have to go.
const KINK_REACH: f64 = 1e-3;

/// Relations take part in a fold with at least this share of the largest part.
const LOCKING_SHARE: f64 = 0.05;

/// An answer that does not lie on the branch of its start.
#[derive(Clone, Debug, PartialEq)]
pub struct Fork {
    /// Numbers of the unknowns that hang together here, in order.
    pub unknowns: Vec<usize>,
    /// Relations that lock each other where the branch ends, or all that hang together; in order.
    pub relations: Vec<usize>,
    /// One value for each unknown of the system: those of [`Fork::unknowns`] where the branch leads, the others as
    /// they are in the answer.
    pub followed: Vec<f64>,
    /// What became of the branch.
    pub branch: Branch,
}

/// Where the branch of a start leads.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Branch {
    /// It ends after this share of the way, 0 at the start and 1 at an answer.
    Ends {
        /// From 0 to below 1.
        share: f64,
    },
    /// To another answer.
    LeadsElsewhere,
}

/// Follows the branch of `start` for each block of a solution of [`solve`](super::solve), and says where it does
/// not lead to the solution. Nothing for a solution that does not hold, or was reached without a bend.
///
/// # Panics
/// If `start` or the solution have not one value for each unknown.
#[must_use]
pub fn forks<P: System>(system: &P, start: &[f64], solution: &Solution) -> Vec<Fork> {
    assert_eq!(start.len(), system.variable_count(), "one start value for each unknown");
    assert_eq!(solution.unknowns.len(), system.variable_count(), "one value for each unknown");
    if solution.report.ending != Ending::Held || !solution.report.bent {
        return Vec::new();
    }
    let inside: Vec<f64> = (0..start.len()).map(|unknown| within(system, unknown, start[unknown])).collect();
    let (mut pattern, first) = trace(system, &inside);
    pattern.join(&trace(system, &solution.unknowns).0);
    let fork = |block| fork(system, &pattern, block, [start, &inside], &first, &solution.unknowns);
    blocks(&pattern).into_iter().filter_map(fork).collect()
}

fn fork<P: System>(
    system: &P,
    pattern: &Pattern,
    block: Block,
    [start, inside]: [&[f64]; 2],
    residuals: &[f64],
    answer: &[f64],
) -> Option<Fork> {
    let independent = independent(system, pattern, &block, inside, answer);
    let mut follower = Follower::new(system, pattern, independent, inside, residuals, answer);
    let (point, share) = follower.follow(inside)?;
    let mut followed = answer.to_vec();
    follower.weighted.put_unknowns(&point, &mut followed);
    let apart = |from: &[f64]| {
        let off = |unknown: &usize| (from[*unknown] - answer[*unknown]).abs();
        let way = |unknown: &usize| (inside[*unknown] - answer[*unknown]).abs();
        let farthest = block.unknowns.iter().map(way).fold(0.0, f64::max);
        // Where freedom is left, the nearest answer is a flat place that both come to from their own side.
        let is_loose = follower.weighted.block.relations.len() < block.unknowns.len();
        let limit = if is_loose { tolerance::BRANCH_LOOSE * farthest } else { 0.0 };
        block.unknowns.iter().map(off).fold(0.0, f64::max) > limit.max(tolerance::BRANCH)
    };
    if !apart(&followed) || !agree(system, &block, &follower.weighted.block, share, residuals, &followed) {
        return None;
    }
    if share < 1.0 - tolerance::BRANCH_END {
        let relations = follower.locking(&point);
        return Some(Fork { unknowns: block.unknowns, relations, followed, branch: Branch::Ends { share } });
    }
    arrive(system, pattern, &block, start, &mut followed);
    apart(&followed).then(|| Fork {
        unknowns: block.unknowns.clone(),
        relations: block.relations.clone(),
        followed,
        branch: Branch::LeadsElsewhere,
    })
}

/// Whether relations that were left out have gone the same share of their way as those that were followed. Where
/// they have not, no answer is near the branch, and which one holds them all is no matter of the start.
fn agree<P: System>(
    system: &P,
    all: &Block,
    kept: &Block,
    share: f64,
    first: &[f64],
    followed: &[f64],
) -> bool {
    /// Points of a branch are that near to it, as a share of the way.
    const NEAR: f64 = 1e-2;
    let mut residuals = vec![0.0; system.relation_count()];
    system.residuals(followed, &mut residuals);
    let mut left_out = all.relations.iter().filter(|relation| !kept.relations.contains(relation));
    left_out.all(|&relation| {
        let off = residuals[relation] - (1.0 - share) * first[relation];
        off.abs() <= NEAR * first[relation].abs() + system.tolerance(relation)
    })
}

/// Goes on from where a branch arrives to the answer there that is nearest to the start.
fn arrive<P: System>(system: &P, pattern: &Pattern, block: &Block, start: &[f64], followed: &mut [f64]) {
    let mut residuals = vec![0.0; system.relation_count()];
    system.residuals(&*followed, &mut residuals);
    let bench = Bench::new(Weighted::new(system, block.clone()), Linearised::new(pattern, block));
    let descent = Descent::begin_at(bench, start, followed, &residuals);
    lockstep::run(system, vec![descent], followed, &mut residuals);
}

/// The block without equal relations that follow from others, seen between start and answer: what follows there
/// follows anywhere, and what only touches at one end does not.
fn independent<P: System>(
    system: &P,
    pattern: &Pattern,
    block: &Block,
    start: &[f64],
    answer: &[f64],
) -> Block {
    /// Not the middle, where a drawing may be symmetric.
    const BETWEEN: f64 = 0.382;
    let between: Vec<f64> = start.iter().zip(answer).map(|(from, to)| from + BETWEEN * (to - from)).collect();
    let mut linearised = Linearised::new(pattern, block);
    Passes::default().gradients(system, &between, &mut [Part::new(block, &mut linearised)]);
    let is_equal = |at: usize| system.kind(block.relations[at]) == Kind::Equal;
    let equal = (0..block.relations.len()).filter(|&at| is_equal(at)).count();
    let finite = linearised.gradients.values.iter().all(|part| part.is_finite());
    if !finite || linearised.rank(is_equal).count == equal {
        return block.clone();
    }
    let mut span = Span::default();
    let mut kept = |at: usize| {
        let mut gradient = linearised.gradients.full_row(at);
        let length = dot(&gradient, &gradient).sqrt();
        gradient.iter_mut().for_each(|part| *part /= length);
        let (rest, parts) = span.split(&gradient);
        let is_new = length > 0.0 && !is_spanned(&rest, &gradient);
        if is_new {
            span.push(rest, parts);
        }
        is_new
    };
    let relations =
        (0..block.relations.len()).filter(|&at| !is_equal(at) || kept(at)).map(|at| block.relations[at]);
    Block { unknowns: block.unknowns.clone(), relations: relations.collect() }
}

/// A block on its way along a branch.
struct Follower<'p, P> {
    system: &'p P,
    weighted: Weighted,
    linearised: Linearised,
    /// Whether steps can be taken from the last linearisation.
    is_factored: bool,
    passes: Passes,
    /// What each relation misses at the start, weighted.
    first: Vec<f64>,
    /// Unknowns and residuals of the whole system.
    unknowns: Vec<f64>,
    residuals: Vec<f64>,
}

impl<'p, P: System> Follower<'p, P> {
    fn new(
        system: &'p P,
        pattern: &Pattern,
        block: Block,
        start: &[f64],
        residuals: &[f64],
        answer: &[f64],
    ) -> Self {
        let linearised = Linearised::new(pattern, &block);
        let weighted = Weighted::new(system, block);
        let mut point = weighted.room();
        weighted.take_unknowns(start, &mut point);
        weighted.take_residuals(residuals, &mut point);
        let first = point.missed().to_vec();
        let (unknowns, residuals) = (answer.to_vec(), residuals.to_vec());
        let passes = Passes::default();
        Self { system, weighted, linearised, is_factored: false, passes, first, unknowns, residuals }
    }

    /// How far the branch can be followed from the start: the point there, and which share of the way that is. `None`
    /// if that is not known after many steps.
    fn follow(&mut self, start: &[f64]) -> Option<(Point, f64)> {
        let (mut share, mut step) = (0.0, 1.0_f64);
        let mut point = self.weighted.room();
        self.weighted.take_unknowns(start, &mut point);
        self.linearise(&point);
        for _ in 0..STEP_LIMIT {
            let to = f64::min(1.0, share + step);
            let earlier = self.linearised.gradients.clone();
            let mut followed = self.corrected(&point, to);
            if let Some((next, _)) = &followed {
                self.linearise(next);
                if step > EVEN_STEP && !self.is_straight_since(&earlier) {
                    self.linearised.gradients = earlier;
                    self.factor();
                    followed = None;
                }
            }
            if followed.is_none() && step <= tolerance::BRANCH_STEP {
                followed = self.beyond_kink(&point, to).map(|next| (next, CONTRACTION));
                if followed.is_none() {
                    return Some((point, share));
                }
            }
            let Some((next, contraction)) = followed else {
                step *= 0.5;
                continue;
            };
            (point, share) = (next, to);
            if share >= 1.0 {
                return Some((point, share));
            }
            // Contraction is proportional to the step.
            step *= match contraction / CONTRACTION {
                ..0.25 => 4.0,
                ..0.5 => 2.0,
                _ => 1.0,
            };
        }
        None
    }

    /// Whether gradients have changed so little since these that they were independent all the way, if they
    /// changed evenly. Contraction does not show it: it knows only the direction that the unknowns go in.
    fn is_straight_since(&self, earlier: &Gradients) -> bool {
        let rank = self.linearised.rank(|relation| !self.weighted.is_one_sided(relation));
        self.linearised.gradients.change_since(earlier) <= EVEN_SHARE * rank.least_share
    }

    fn linearise(&mut self, point: &Point) {
        self.weighted.put_unknowns(point, &mut self.unknowns);
        let part = Part::new(&self.weighted.block, &mut self.linearised);
        self.passes.gradients(self.system, &self.unknowns, &mut [part]);
        self.linearised.gradients.scale(&self.weighted.weights, &self.weighted.units);
        self.factor();
    }

    fn factor(&mut self) {
        self.is_factored = self.weighted.is_sided() || {
            let largest = self.linearised.form_normal();
            self.linearised.factor(damping(0.0, largest))
        };
    }

    /// Puts into a point what its relations are off beside what they shall be off after this share of the way.
    fn look(&mut self, point: &mut Point, share: f64) -> bool {
        self.weighted.put_unknowns(point, &mut self.unknowns);
        self.system.residuals(&self.unknowns, &mut self.residuals);
        self.weighted.take_residuals(&self.residuals, point);
        add_multiple(&mut point.residuals, share - 1.0, &self.first);
        point.residuals.iter().all(|residual| residual.is_finite())
    }

    /// The shortest way from a point to where its relations shall be, by the last linearisation.
    fn way(&mut self, point: &Point) -> Option<Vec<f64>> {
        let mut way = vec![0.0; point.unknowns.len()];
        if !self.is_factored {
            return None;
        }
        if self.weighted.is_sided() {
            way = least_distance(&self.weighted, &self.linearised.gradients, point, &way)?.0;
        } else {
            self.linearised.step(&point.residuals, &mut way);
            way.iter_mut().for_each(|part| *part = -*part);
        }
        way.iter().all(|part| part.is_finite()).then_some(way)
    }

    /// The point of the branch after this share of the way, and how fast corrections towards it shrink; `None` if
    /// they do not shrink fast enough to tell it from others.
    fn corrected(&mut self, from: &Point, share: f64) -> Option<(Point, f64)> {
        let mut point = from.clone();
        let mut contraction = 0.0_f64;
        let (mut first, mut before) = (None, 0.0);
        for _ in 0..CORRECTION_LIMIT {
            if !self.look(&mut point, share) {
                return None;
            }
            let way = self.way(&point)?;
            let length = dot(&way, &way).sqrt();
            let Some(first) = first else {
                // Nothing has to move.
                if length <= self.rounding(&point) {
                    return Some((point, 0.0));
                }
                self.advance(&mut point, &way);
                (first, before) = (Some(length), length);
                continue;
            };
            contraction = contraction.max(length / before);
            if contraction > CONTRACTION {
                return None;
            }
            self.advance(&mut point, &way);
            if length <= CORRECTED_SHARE * first {
                return Some((point, contraction));
            }
            before = length;
        }
        None
    }

    /// The point after this share of the way if a kink is all that lies between: there derivatives leap, so that
    /// corrections shrink no better for a smaller step, but fresh ones lead on.
    fn beyond_kink(&mut self, from: &Point, share: f64) -> Option<Point> {
        let mut point = from.clone();
        let mut first = None;
        let mut found = None;
        for _ in 0..CORRECTION_LIMIT {
            if !self.look(&mut point, share) {
                break;
            }
            let Some(way) = self.way(&point) else { break };
            let length = dot(&way, &way).sqrt();
            let first = *first.get_or_insert(length);
            // Where gradients vanish, the way leads anywhere.
            if first > KINK_REACH * (1.0 + self.weighted.squared_length(&point.unknowns).sqrt()) {
                break;
            }
            self.advance(&mut point, &way);
            let mut gone = vec![0.0; way.len()];
            self.weighted.way(&from.unknowns, &point.unknowns, &mut gone);
            if dot(&gone, &gone).sqrt() > KINK_LIMIT * first {
                break;
            }
            if length <= CORRECTED_SHARE * first {
                found = Some(point);
                break;
            }
            self.linearise(&point);
        }
        self.linearise(found.as_ref().unwrap_or(from));
        found
    }

    fn advance(&self, point: &mut Point, way: &[f64]) {
        let from = point.unknowns.clone();
        self.weighted.advance(&from, 1.0, way, &mut point.unknowns);
    }

    /// A way shorter than this is rounding.
    fn rounding(&self, point: &Point) -> f64 {
        tolerance::STEP_SHARE * (1.0 + self.weighted.squared_length(&point.unknowns).sqrt())
    }

    /// The relations of which a sum of gradients nearly vanishes at a point: the ones that lock each other.
    fn locking(&mut self, point: &Point) -> Vec<usize> {
        self.linearise(point);
        let mut point = point.clone();
        self.look(&mut point, 1.0);
        let weighted = &self.weighted;
        let takes_part = |&at: &usize| !weighted.is_one_sided(at) || point.residuals[at] <= 1.0;
        let rows: Vec<usize> = (0..weighted.block.relations.len()).filter(takes_part).collect();
        let at_end = |unknown: usize| {
            [super::End::Least, super::End::Most]
                .into_iter()
                .any(|end| weighted.is_at(unknown, end, point.unknowns[unknown]))
        };
        let gradient = |&at: &usize| {
            let mut row = self.linearised.gradients.full_row(at);
            row.iter_mut()
                .enumerate()
                .filter(|(unknown, _)| at_end(*unknown))
                .for_each(|(_, part)| *part = 0.0);
            let length = dot(&row, &row).sqrt();
            if length > 0.0 {
                row.iter_mut().for_each(|part| *part /= length);
            }
            row
        };
        let gradients: Vec<Vec<f64>> = rows.iter().map(gradient).collect();
        let products = DMatrix::from_fn(rows.len(), rows.len(), |i, j| dot(&gradients[i], &gradients[j]));
        let parts = SymmetricEigen::new(products);
        let least = parts.eigenvalues.iter().enumerate().min_by(|a, b| a.1.total_cmp(b.1));
        let Some((least, _)) = least else { return Vec::new() };
        let part = parts.eigenvectors.column(least);
        let limit = LOCKING_SHARE * part.amax();
        let locking = rows.iter().zip(part.iter()).filter(|(_, part)| part.abs() >= limit);
        locking.map(|(&at, _)| weighted.block.relations[at]).collect()
    }
}

#[cfg(test)]
mod tests {
    use super::super::tests::Straight;
    use super::super::{Kind, solve};
    use super::*;
    use crate::geom::Scalar;

    /// `x³ − 3x = asked`, where the unknown is 10 more than `x`. Answers meet at `x = −1`, where 2 is asked, and
    /// at `x = 1`, where −2 is.
    struct Cubic {
        asked: f64,
        range: [f64; 2],
        kind: Kind,
        twice: bool,
    }

    impl Cubic {
        fn asked(asked: f64) -> Self {
            Self { asked, range: [f64::NEG_INFINITY, f64::INFINITY], kind: Kind::Equal, twice: false }
        }
    }

    impl System for Cubic {
        fn variable_count(&self) -> usize {
            1
        }
        fn relation_count(&self) -> usize {
            if self.twice { 2 } else { 1 }
        }
        fn residuals<S: Scalar>(&self, u: &[S], residuals: &mut [S]) {
            let x = u[0] - S::constant(10.0);
            let off = x * x * x - x.scaled(3.0) - S::constant(self.asked);
            residuals.fill(off);
        }
        fn tolerance(&self, _: usize) -> f64 {
            tolerance::HELD_MM
        }
        fn kind(&self, _: usize) -> Kind {
            self.kind
        }
        fn bounds(&self, _: usize) -> [f64; 2] {
            self.range
        }
    }

    /// The answer for `x` and the forks before it.
    fn said(system: &Cubic, start: f64) -> (f64, Vec<Fork>) {
        let start = [start + 10.0];
        let solution = solve(system, &start);
        assert_eq!(solution.report.ending, Ending::Held, "{solution:?}");
        let forks = forks(system, &start, &solution);
        (solution.unknowns[0] - 10.0, forks)
    }

    #[test]
    fn sweep_across_a_fold_says_the_word_from_the_fold_on() {
        // From −1.5, where 1.125 is measured, 2 is reached at −1; beyond, only answers above 2 are left.
        for step in 0..=1000 {
            let asked = 1.5 + f64::from(step) * 1e-3;
            let (answer, forks) = said(&Cubic::asked(asked), -1.5);
            if asked <= 2.0 {
                assert!(answer < -0.99 && forks.is_empty(), "{asked}: {answer}, {forks:?}");
                continue;
            }
            let [fork] = &forks[..] else { panic!("{asked}: {answer}, {forks:?}") };
            let Branch::Ends { share } = fork.branch else { panic!("{asked}: {fork:?}") };
            let by_hand = (2.0 - 1.125) / (asked - 1.125);
            assert!((share - by_hand).abs() < 1e-5, "{asked}: {share} against {by_hand}");
            assert!(answer >= 2.0 && (fork.followed[0] - 9.0).abs() < 5e-3, "{asked}: {answer}, {fork:?}");
            assert_eq!((&fork.unknowns[..], &fork.relations[..]), (&[0][..], &[0][..]));
        }
    }

    #[test]
    fn what_is_asked_for_twice_is_followed_once() {
        let (_, forks) = said(&Cubic { twice: true, ..Cubic::asked(2.5) }, -1.5);
        assert_eq!(forks.len(), 1);
        let (_, forks) = said(&Cubic { twice: true, ..Cubic::asked(1.9) }, -1.5);
        assert_eq!(forks, []);
    }

    #[test]
    fn start_between_two_answers_is_the_end_of_its_branch() {
        // At x = 1 nothing moves to first order, and both sides rise.
        let (_, forks) = said(&Cubic::asked(-1.0), 1.0);
        assert_eq!(forks[0].branch, Branch::Ends { share: 0.0 });
    }

    #[test]
    fn at_least_is_followed_only_as_far_as_it_must() {
        // At least 1.9 is reached at −1.18, at least 2.5 beyond the fold only; what is held at the start stays.
        let at_least = |asked| Cubic { kind: Kind::AtLeast, ..Cubic::asked(asked) };
        assert_eq!(said(&at_least(1.9), -1.5).1, []);
        assert_eq!(said(&at_least(2.5), -1.5).1.len(), 1);
        assert_eq!(said(&at_least(1.0), -1.5), (-1.5, Vec::new()));
    }

    #[test]
    fn range_that_keeps_the_branch_in_is_no_fork() {
        // 1.9 is reached at −1.18.
        let held = Cubic { range: [7.0, 8.9], ..Cubic::asked(1.9) };
        assert_eq!(said(&held, -1.5).1, []);
    }

    #[test]
    fn answer_where_relations_only_touch_is_the_end_of_its_branch_and_no_fork() {
        for asked in [2.0, 2.0 - 1e-9, 2.0 - 1e-7] {
            let (answer, forks) = said(&Cubic::asked(asked), -1.5);
            assert!((answer + 1.0).abs() < 1e-2 && forks.is_empty(), "{asked}: {answer}, {forks:?}");
        }
    }

    #[test]
    fn straight_relations_are_not_even_looked_at() {
        let rows: [&[f64]; 2] = [&[1.0, 2.0, -1.0], &[0.0, 1.0, 3.0]];
        let solution = solve(&Straight::new(&rows, &[4.0, -1.0]), &[0.0; 3]);
        assert!(!solution.report.bent && solution.report.ending == Ending::Held);
    }
}
