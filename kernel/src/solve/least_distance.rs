//! The shortest way to relations that are linearised, with one-sided ones and ranges.
//!
//! Smallest `|d − g|²` with `a·d = b` for equal relations and `a·d ≥ b` for one-sided ones and ends of
//! ranges. A dual method (Goldfarb and Idnani): from the answer without limits, the one that is crossed most
//! is made tight, tight ones that would pull are let go, and so on; each round goes farther from `g`, so that
//! none comes twice. Invariant: what is tight pushes: its multiplier is positive.

use crate::quantity::tolerance;

use super::End;
use super::gradients::{Gradients, add_multiple, dot};
use super::weighted::{Point, Weighted};

/// Something that a way may not cross.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Limit {
    /// A relation of the block.
    Relation(usize),
    /// An end of the range of an unknown of the block.
    Range(usize, End),
}

impl Limit {
    /// Whether it is an end of the range of this unknown.
    pub(super) fn is_of_unknown(self, unknown: usize) -> bool {
        match self {
            Self::Relation(_) => false,
            Self::Range(own, _) => own == unknown,
        }
    }
}

/// Gradients with an orthonormal base of what they span: the triangle of Gram and Schmidt.
struct Base {
    vectors: Vec<Vec<f64>>,
    /// Column `k` has the parts of gradient `k` along the first `k + 1` vectors.
    triangle: Vec<Vec<f64>>,
}

impl Base {
    /// What of a gradient is not spanned yet, and its parts along the vectors.
    fn split(&self, gradient: &[f64]) -> (Vec<f64>, Vec<f64>) {
        let mut rest = gradient.to_vec();
        let mut parts = vec![0.0; self.vectors.len()];
        // Twice, because once leaves rounding along the vectors.
        for _ in 0..2 {
            for (part, vector) in parts.iter_mut().zip(&self.vectors) {
                let along = dot(vector, &rest);
                *part += along;
                add_multiple(&mut rest, -along, vector);
            }
        }
        (rest, parts)
    }

    /// The factors of the gradients that sum up to what has these parts along the vectors.
    fn factors(&self, mut parts: Vec<f64>) -> Vec<f64> {
        for k in (0..parts.len()).rev() {
            parts[k] /= self.triangle[k][k];
            for i in 0..k {
                parts[i] -= self.triangle[k][i] * parts[k];
            }
        }
        parts
    }

    fn push(&mut self, mut rest: Vec<f64>, mut parts: Vec<f64>) {
        let length = dot(&rest, &rest).sqrt();
        rest.iter_mut().for_each(|part| *part /= length);
        parts.push(length);
        self.vectors.push(rest);
        self.triangle.push(parts);
    }
}

/// A limit that is tight.
struct Tight {
    limit: Limit,
    gradient: Vec<f64>,
    multiplier: f64,
    /// Whether it may be let go.
    one_sided: bool,
}

/// The way from `point` that ends nearest to `aim` (both scaled, `aim` from the point), with the one-sided
/// relations and ends of ranges that keep it from the aim. `None` if no way keeps all limits to first order.
///
/// Gradients that the equal relations before them span are taken to be held with those.
pub(super) fn least_distance(
    weighted: &Weighted,
    gradients: &Gradients,
    point: &Point,
    aim: &[f64],
) -> Option<(Vec<f64>, Vec<Limit>)> {
    let limits = limits(weighted, gradients, point);
    let mut way = aim.to_vec();
    let mut tight: Vec<Tight> = Vec::new();
    let mut base = Base { vectors: Vec::new(), triangle: Vec::new() };
    for relation in (0..gradients.relation_count()).filter(|&relation| !weighted.is_one_sided(relation)) {
        let gradient = gradients.full_row(relation);
        let (rest, parts) = base.split(&gradient);
        if dot(&rest, &rest) <= tolerance::RANK_SHARE * tolerance::RANK_SHARE * dot(&gradient, &gradient) {
            continue;
        }
        let missing = -point.residuals[relation] - dot(&gradient, &way);
        add_multiple(&mut way, missing / dot(&rest, &rest), &rest);
        base.push(rest, parts);
        tight.push(Tight { limit: Limit::Relation(relation), gradient, multiplier: 0.0, one_sided: false });
    }
    let equal = tight.len();
    // Each limit comes and goes a few times at most; more would be rounding.
    for _ in 0..4 * (limits.len() + 1) {
        let crossed = limits.iter().enumerate().filter_map(|(at, (limit, gradient, least))| {
            let length = dot(gradient, gradient).sqrt();
            let missing = (least - dot(gradient, &way)) / length;
            let is_tight = tight.iter().any(|own| own.limit == *limit);
            (length > 0.0 && missing > tolerance::CROSSED && !is_tight).then_some((at, missing))
        });
        let Some((most, _)) = crossed.reduce(|a, b| if b.1 > a.1 { b } else { a }) else {
            let pushing = tight[equal..].iter().map(|own| own.limit).collect();
            return Some((way, pushing));
        };
        let (limit, gradient, least) = &limits[most];
        let mut multiplier = 0.0;
        loop {
            let (rest, parts) = base.split(gradient);
            let square = dot(&rest, &rest);
            let spanned = square <= tolerance::RANK_SHARE * tolerance::RANK_SHARE * dot(gradient, gradient);
            let factors = base.factors(parts.clone());
            let whole =
                if spanned { f64::INFINITY } else { (least - dot(gradient, &way)).max(0.0) / square };
            let letting_go = tight.iter().zip(&factors).enumerate().filter_map(|(at, (own, &factor))| {
                (own.one_sided && factor > 0.0).then_some((at, own.multiplier / factor))
            });
            let first = letting_go.reduce(|a, b| if b.1 < a.1 { b } else { a });
            let until = first.map_or(f64::INFINITY, |(_, until)| until);
            let share = whole.min(until);
            if share.is_infinite() {
                return None;
            }
            if !spanned {
                add_multiple(&mut way, share, &rest);
            }
            for (own, factor) in tight.iter_mut().zip(&factors) {
                own.multiplier -= share * factor;
            }
            multiplier += share;
            match first {
                Some((at, _)) if until < whole => {
                    tight.remove(at);
                    base.vectors.truncate(at);
                    base.triangle.truncate(at);
                    for own in &tight[at..] {
                        let (rest, parts) = base.split(&own.gradient);
                        base.push(rest, parts);
                    }
                }
                _ => {
                    base.push(rest, parts);
                    tight.push(Tight { limit: *limit, gradient: gradient.clone(), multiplier, one_sided: true });
                    break;
                }
            }
        }
    }
    None
}

/// Every one-sided limit with its gradient and the least change along it.
fn limits(weighted: &Weighted, gradients: &Gradients, point: &Point) -> Vec<(Limit, Vec<f64>, f64)> {
    let mut limits = Vec::new();
    for relation in (0..gradients.relation_count()).filter(|&relation| weighted.is_one_sided(relation)) {
        limits.push((Limit::Relation(relation), gradients.full_row(relation), -point.residuals[relation]));
    }
    for (unknown, &value) in point.unknowns.iter().enumerate() {
        let unit = weighted.unit(unknown);
        let [least, most] = weighted.range(unknown);
        for (end, side, change) in [(End::Least, 1.0, least - value), (End::Most, -1.0, value - most)] {
            if change.is_finite() {
                let mut gradient = vec![0.0; point.unknowns.len()];
                gradient[unknown] = side;
                limits.push((Limit::Range(unknown, end), gradient, change / unit));
            }
        }
    }
    limits
}
