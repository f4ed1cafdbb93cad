//! The shortest way to relations that are linearised, with one-sided ones and ranges.
//!
//! Smallest `|d − g|²` with `a·d = b` for equal relations and `a·d ≥ b` for one-sided ones and ends of
//! ranges. A dual method (Goldfarb and Idnani): from the answer without limits, the one that is crossed most
//! is made tight, tight ones that would pull are let go, and so on; each round goes farther from `g`, so that
//! none comes twice. Invariant: what is tight pushes: its multiplier is positive.

use crate::quantity::tolerance;

use super::End;
use super::gradients::{Gradients, add_multiple, dot};
use super::span::{Span, is_spanned};
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

/// A limit that is tight.
struct Tight {
    limit: Limit,
    gradient: Vec<f64>,
    multiplier: f64,
    /// Whether it may be let go.
    one_sided: bool,
}

/// A limit with its gradient and the change along it: exactly that for equal ones, at least that for others.
#[derive(Clone)]
pub(super) struct Limited {
    pub(super) limit: Limit,
    pub(super) gradient: Vec<f64>,
    pub(super) change: f64,
}

/// The way from `point` that ends nearest to `aim` (both scaled, `aim` from the point), with the one-sided
/// relations and ends of ranges that keep it from the aim. `None` if no way keeps all limits to first order.
pub(super) fn least_distance(
    weighted: &Weighted,
    gradients: &Gradients,
    point: &Point,
    aim: &[f64],
) -> Option<(Vec<f64>, Vec<Limit>)> {
    let limited = |relation| Limited {
        limit: Limit::Relation(relation),
        gradient: gradients.full_row(relation),
        change: -point.residuals[relation],
    };
    let (one_sided, equal): (Vec<usize>, Vec<usize>) =
        (0..gradients.relation_count()).partition(|&relation| weighted.is_one_sided(relation));
    let mut limits: Vec<Limited> = one_sided.into_iter().map(limited).collect();
    for (unknown, &value) in point.unknowns.iter().enumerate() {
        let unit = weighted.unit(unknown);
        let [least, most] = weighted.range(unknown);
        limits.extend(range_limit(point.unknowns.len(), unknown, End::Least, (least - value) / unit));
        limits.extend(range_limit(point.unknowns.len(), unknown, End::Most, (value - most) / unit));
    }
    shortest_way(aim, equal.into_iter().map(limited).collect(), &limits)
}

/// The end of a range as a limit, with the change inwards; `None` if there is no end.
pub(super) fn range_limit(unknowns: usize, unknown: usize, end: End, change: f64) -> Option<Limited> {
    let mut gradient = vec![0.0; unknowns];
    gradient[unknown] = match end {
        End::Least => 1.0,
        End::Most => -1.0,
    };
    change.is_finite().then_some(Limited { limit: Limit::Range(unknown, end), gradient, change })
}

/// The way that ends nearest to `aim` with these changes along equal limits and at least those along others,
/// and the others that keep it from the aim.
///
/// Gradients that the equal ones before them span are taken to be held with those.
pub(super) fn shortest_way(
    aim: &[f64],
    equal: Vec<Limited>,
    limits: &[Limited],
) -> Option<(Vec<f64>, Vec<Limit>)> {
    let mut way = aim.to_vec();
    let mut tight: Vec<Tight> = Vec::new();
    let mut span = Span::default();
    for Limited { limit, gradient, change } in equal {
        let (rest, parts) = span.split(&gradient);
        if is_spanned(&rest, &gradient) {
            continue;
        }
        let missing = change - dot(&gradient, &way);
        add_multiple(&mut way, missing / dot(&rest, &rest), &rest);
        span.push(rest, parts);
        tight.push(Tight { limit, gradient, multiplier: 0.0, one_sided: false });
    }
    let equal = tight.len();
    // Each limit comes and goes a few times at most; more would be rounding.
    for _ in 0..4 * (limits.len() + 1) {
        let crossed = limits.iter().enumerate().filter_map(|(at, Limited { limit, gradient, change })| {
            let length = dot(gradient, gradient).sqrt();
            let missing = (change - dot(gradient, &way)) / length;
            let is_tight = tight.iter().any(|own| own.limit == *limit);
            (length > 0.0 && missing > tolerance::CROSSED && !is_tight).then_some((at, missing))
        });
        let Some((most, _)) = crossed.reduce(|a, b| if b.1 > a.1 { b } else { a }) else {
            let pushing = tight[equal..].iter().map(|own| own.limit).collect();
            return Some((way, pushing));
        };
        let Limited { limit, gradient, change } = &limits[most];
        let mut multiplier = 0.0;
        loop {
            let (rest, parts) = span.split(gradient);
            let spanned = is_spanned(&rest, gradient);
            let factors = span.factors(parts.clone());
            let whole = if spanned {
                f64::INFINITY
            } else {
                (change - dot(gradient, &way)).max(0.0) / dot(&rest, &rest)
            };
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
                    span.truncate(at);
                    for own in &tight[at..] {
                        let (rest, parts) = span.split(&own.gradient);
                        span.push(rest, parts);
                    }
                }
                _ => {
                    span.push(rest, parts);
                    tight.push(Tight {
                        limit: *limit,
                        gradient: gradient.clone(),
                        multiplier,
                        one_sided: true,
                    });
                    break;
                }
            }
        }
    }
    None
}
