//! How far dimensions and distances spread when the shop is a little off.
//!
//! A reading changes by `Σ sᵢ δᵢ`, to first order, with its derivatives `sᵢ` at nominal numbers. With
//! `|δᵢ| ≤ Tᵢ` the worst case is `Σ |sᵢ| Tᵢ`; with independent deviations whose limits are equal multiples of
//! their standard deviations, `√Σ (sᵢ Tᵢ)²` is the same multiple of the reading's. Where a dimension has several
//! readings, the one with the largest worst case counts.
//! Derivation and worked figures: `docs/math/tolerance-stack.md`.
//!
//! Invariant: derivatives are exact; a spread is never negative. Must not know: the finished outlines; distances
//! between other places of the part come as pairs of points of its metal.

use nalgebra::DMatrix;

use crate::geom::{Scalar, Vec3};
use crate::history::History;
use crate::quantity::tolerance;
use crate::solve::{System, jacobian};

use super::developed::{BlankSize, flat_frames};
use super::line_bend::FlatFrame;
use super::made::{Deviation, Made, MaterialPoint, MetalPlace};
use super::measure::{Measure, Resolver, Scene};
use super::pose::SheetNumbers;
use super::reading::Reader;
use super::settle::measures;
use super::{Settled, Skeleton, Tolerances};

/// How far a measure spreads.
#[derive(Clone, Debug, PartialEq)]
pub struct Spread {
    /// Most it can be off to either side, in its unit.
    pub worst: f64,
    /// Root of the sum of squares, in its unit.
    pub likely: f64,
    /// What moves it, the largest part first.
    pub contributions: Vec<Contribution>,
}

/// What one deviation adds to a spread.
#[derive(Clone, Debug, PartialEq)]
pub struct Contribution {
    /// What is off.
    pub deviation: Deviation,
    /// Its words.
    pub name: String,
    /// By how much the measure moves for each mm or degree.
    pub sensitivity: f64,
    /// How far it may be off, in mm or degrees.
    pub limit: f64,
    /// Its share of the square of the likely spread, 0 to 1.
    pub share: f64,
}

/// Two points of the metal.
pub type MaterialPair = [MaterialPoint; 2];

/// A place of the metal near something that stands still. To first order the distance changes as if the thing were a
/// plane that the direction is square to.
#[derive(Clone, Debug, PartialEq)]
pub struct Approach {
    /// The place.
    pub place: MetalPlace,
    /// Unit vector from there to the thing.
    pub toward: Vec3<f64>,
    /// How far off that is as drawn, in mm.
    pub distance: f64,
}

/// How a place of the metal comes as near to something as it may.
#[derive(Clone, Debug, PartialEq)]
pub struct Closing {
    /// By how much it comes nearer, in mm.
    pub by: f64,
    /// The deviations that bring it there, in mm and degrees.
    pub deviations: Vec<f64>,
}

/// A settled part, ready to be off.
pub struct Stack<'a, 'h> {
    made: Made<'a, 'h>,
    free: &'a [f64],
    blank: BlankSize,
    flat: Vec<FlatFrame<f64>>,
    /// What each dimension measures, at each of its places.
    readings: Vec<Vec<Measure<'h>>>,
    limits: Vec<f64>,
}

impl<'a, 'h> Stack<'a, 'h> {
    /// The stack of a settled part; `blank` is what is known of the finished blank.
    ///
    /// # Panics
    /// If the part was settled from another history.
    #[must_use]
    pub fn new(
        history: &'h History,
        skeleton: &'a Skeleton<'h>,
        sheet: SheetNumbers<'_>,
        settled: &'a Settled,
        blank: BlankSize,
        tolerances: &Tolerances,
    ) -> Self {
        let resolver = Resolver { skeleton, pose: &settled.pose, free: &settled.free, sheet };
        let measures = measures(history, &resolver).expect("the part was settled with the same measures");
        let (pose, free) = (&settled.pose, settled.free.as_slice());
        let reader = Reader { skeleton, pose, free };
        let readings = measures.iter().map(|measure| reader.readings(measure)).collect();
        let made = Made::new(skeleton, pose, sheet);
        let limit = |&deviation: &Deviation| {
            let radius = match deviation {
                Deviation::Radius(panel) => made.inside_radius(panel),
                Deviation::Thickness | Deviation::Turn(_) | Deviation::BendPlace(_) | Deviation::Cut(..) => {
                    0.0
                }
            };
            tolerances.limit(deviation, radius)
        };
        let limits = made.deviations().iter().map(limit).collect();
        let flat = if measures.iter().any(Measure::is_of_blank) {
            flat_frames(skeleton, pose, sheet)
        } else {
            Vec::new()
        };
        Self { made, free, blank, flat, readings, limits }
    }

    /// The part as it may be made.
    #[must_use]
    pub fn made(&self) -> &Made<'a, 'h> {
        &self.made
    }

    /// How far each of the deviations may be off, in mm or degrees.
    #[must_use]
    pub fn limits(&self) -> &[f64] {
        &self.limits
    }

    /// The readings of each dimension with these deviations, in its unit.
    pub fn readings<S: Scalar>(&self, deviations: &[S]) -> Vec<Vec<S>> {
        let pose = self.made.pose(deviations);
        let free: Vec<S> = self.free.iter().map(|&value| S::constant(value)).collect();
        let flat = self.flat.iter().map(FlatFrame::lifted).collect();
        let scene = Scene::as_made(&pose, &free, flat, self.blank, self.made.off(deviations));
        let value = |reading: &Measure<'_>| reading.value(&scene).scaled(1.0 / reading.unit());
        self.readings.iter().map(|readings| readings.iter().map(value).collect()).collect()
    }

    /// The distances of pairs of points with these deviations, in mm.
    pub fn distances<S: Scalar>(&self, pairs: &[MaterialPair], deviations: &[S]) -> Vec<S> {
        let pose = self.made.pose(deviations);
        let distance = |[a, b]: &MaterialPair| {
            let [a, b] = [a, b].map(|point| self.made.point(&pose, deviations, point));
            (b - a).length()
        };
        pairs.iter().map(distance).collect()
    }

    /// How far each dimension spreads, in their order.
    #[must_use]
    pub fn dimensions(&self) -> Vec<Spread> {
        let slopes = jacobian(&ReadDimensions(self), &self.no_deviations());
        self.largest_of_each(&slopes, self.readings.iter().map(Vec::len))
    }

    /// How far the smallest of several distances that are alike as drawn spreads, for each group of them.
    #[must_use]
    pub fn smallest_distances(&self, groups: &[&[MaterialPair]]) -> Vec<Spread> {
        let slopes = jacobian(&ReadDistances { stack: self, pairs: &groups.concat() }, &self.no_deviations());
        self.largest_of_each(&slopes, groups.iter().map(|pairs| pairs.len()))
    }

    /// The spreads of groups of readings that follow each other.
    fn largest_of_each(&self, slopes: &DMatrix<f64>, groups: impl Iterator<Item = usize>) -> Vec<Spread> {
        let mut row = 0;
        let spread = |count: usize| {
            let rows = row..row + count;
            row = rows.end;
            self.largest(rows.map(|row| slopes.row(row).iter().copied().collect()))
        };
        groups.map(spread).collect()
    }

    /// How the distance of each of these places spreads.
    #[must_use]
    pub fn approaches(&self, approaches: &[Approach]) -> Vec<Spread> {
        let slopes = jacobian(&ReadApproaches { stack: self, approaches }, &self.no_deviations());
        self.largest_of_each(&slopes, approaches.iter().map(|_| 1))
    }

    /// How each of these places comes as near as it may.
    #[must_use]
    pub fn closings(&self, approaches: &[Approach]) -> Vec<Closing> {
        let slopes = jacobian(&ReadApproaches { stack: self, approaches }, &self.no_deviations());
        let nearer = |slope: &f64, limit: &f64| if *slope > 0.0 { -limit } else { *limit };
        let closing = |row: usize| {
            let row = slopes.row(row);
            let parts = || row.iter().zip(&self.limits);
            Closing {
                by: parts().map(|(slope, limit)| slope.abs() * limit).sum(),
                deviations: parts().map(|(slope, limit)| nearer(slope, limit)).collect(),
            }
        };
        (0..approaches.len()).map(closing).collect()
    }

    fn no_deviations(&self) -> Vec<f64> {
        vec![0.0; self.limits.len()]
    }

    /// The spread of the reading with the largest worst case.
    fn largest(&self, slopes: impl Iterator<Item = Vec<f64>>) -> Spread {
        let worst_of = |slopes: &[f64]| -> f64 {
            slopes.iter().zip(&self.limits).map(|(slope, limit)| slope.abs() * limit).sum()
        };
        let largest = slopes.fold(None::<(f64, Vec<f64>)>, |known, slopes| {
            let worst = worst_of(&slopes);
            match known {
                // The same to rounding is the same: the first one counts.
                Some(known) if worst <= known.0 + tolerance::SNAP_MM => Some(known),
                Some(_) | None => Some((worst, slopes)),
            }
        });
        let (worst, slopes) = largest.unwrap_or_default();
        let parts = || slopes.iter().zip(&self.limits).map(|(slope, limit)| slope * limit);
        let square: f64 = parts().map(|part| part * part).sum();
        let mut contributions: Vec<Contribution> = self
            .made
            .deviations()
            .iter()
            .zip(slopes.iter().zip(&self.limits))
            .filter(|(_, (slope, limit))| (**slope * **limit).abs() > tolerance::SNAP_MM)
            .map(|(&deviation, (&sensitivity, &limit))| {
                let part = sensitivity * limit;
                let name = self.made.name(deviation);
                Contribution { deviation, name, sensitivity, limit, share: part * part / square }
            })
            .collect();
        let part = |c: &Contribution| (c.sensitivity * c.limit).abs();
        // To what is printed: what is alike stays in the order of the part.
        let printed = |c: &Contribution| (part(c) / tolerance::SNAP_MM).round();
        contributions.sort_by(|a, b| printed(b).total_cmp(&printed(a)));
        Spread { worst, likely: square.sqrt(), contributions }
    }
}

/// All readings of all dimensions, as functions of the deviations.
struct ReadDimensions<'s, 'a, 'h>(&'s Stack<'a, 'h>);

impl System for ReadDimensions<'_, '_, '_> {
    fn variable_count(&self) -> usize {
        self.0.limits.len()
    }

    fn relation_count(&self) -> usize {
        self.0.readings.iter().map(Vec::len).sum()
    }

    fn residuals<S: Scalar>(&self, unknowns: &[S], residuals: &mut [S]) {
        let values = self.0.readings(unknowns);
        for (residual, value) in residuals.iter_mut().zip(values.into_iter().flatten()) {
            *residual = value;
        }
    }

    fn tolerance(&self, _: usize) -> f64 {
        tolerance::HELD_MM
    }
}

/// Distances of pairs, as functions of the deviations.
struct ReadDistances<'s, 'a, 'h> {
    stack: &'s Stack<'a, 'h>,
    pairs: &'s [MaterialPair],
}

impl System for ReadDistances<'_, '_, '_> {
    fn variable_count(&self) -> usize {
        self.stack.limits.len()
    }

    fn relation_count(&self) -> usize {
        self.pairs.len()
    }

    fn residuals<S: Scalar>(&self, unknowns: &[S], residuals: &mut [S]) {
        residuals.copy_from_slice(&self.stack.distances(self.pairs, unknowns));
    }

    fn tolerance(&self, _: usize) -> f64 {
        tolerance::HELD_MM
    }
}

/// How far places of the metal have come nearer to what they are near to, as functions of the deviations.
struct ReadApproaches<'s, 'a, 'h> {
    stack: &'s Stack<'a, 'h>,
    approaches: &'s [Approach],
}

impl System for ReadApproaches<'_, '_, '_> {
    fn variable_count(&self) -> usize {
        self.stack.limits.len()
    }

    fn relation_count(&self) -> usize {
        self.approaches.len()
    }

    fn residuals<S: Scalar>(&self, unknowns: &[S], residuals: &mut [S]) {
        let made = &self.stack.made;
        let pose = made.pose(unknowns);
        for (residual, Approach { place, toward, .. }) in residuals.iter_mut().zip(self.approaches) {
            let toward = Vec3::constant(toward.x, toward.y, toward.z);
            *residual = -made.place(&pose, unknowns, place).dot(toward);
        }
    }

    fn tolerance(&self, _: usize) -> f64 {
        tolerance::HELD_MM
    }
}
