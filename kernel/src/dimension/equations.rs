//! Dimensions that must hold and relations of outlines, as one system of equations.
//!
//! Invariant: rows are the dimensions in their order, then the relations of each outline in theirs; a one-sided
//! dimension is a residual that must not be negative.

use crate::geom::Scalar;
use crate::history::{History, Number, Target};
use crate::ident::DimensionId;
use crate::solve::{Kind, System};

use super::Skeleton;
use super::developed::BlankSize;
use super::measure::{Measure, Scene};
use super::pose::SheetNumbers;
use super::relation::{Drawn, Resolved, Sketched};

/// The dimensions of a history that must hold, followed by the relations of its outlines.
pub(super) struct Equations<'a, 'h> {
    pub(super) skeleton: &'a Skeleton<'h>,
    pub(super) sheet: SheetNumbers<'a>,
    pub(super) blank: BlankSize,
    pub(super) held: Vec<Held<'a, 'h>>,
    pub(super) sketched: Vec<Sketched<'h>>,
    /// One for each equation.
    tolerances: Vec<f64>,
    /// One for each free number.
    free: Vec<Freedom>,
}

/// One dimension that must hold.
pub(super) struct Held<'a, 'h> {
    pub(super) id: DimensionId,
    pub(super) measure: &'a Measure<'h>,
    pub(super) target: &'h Number,
    pub(super) bound: Bound,
}

/// On which sides a dimension may be off.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Bound {
    Exact,
    AtLeast,
    AtMost,
}

/// How far and how willingly a free number moves.
#[derive(Clone, Copy, Debug)]
pub(super) struct Freedom {
    pub(super) weight: f64,
    pub(super) bounds: [f64; 2],
}

impl<'a, 'h> Equations<'a, 'h> {
    pub(super) fn new(
        history: &'h History,
        skeleton: &'a Skeleton<'h>,
        sheet: SheetNumbers<'a>,
        blank: BlankSize,
        measures: &'a [Measure<'h>],
        sketched: Vec<Sketched<'h>>,
    ) -> Self {
        let held: Vec<Held<'a, 'h>> = history
            .dimensions
            .iter()
            .zip(measures)
            .enumerate()
            .filter_map(|(index, (entry, measure))| {
                let (target, bound) = match &entry.target {
                    Target::Held(target) => (target, Bound::Exact),
                    Target::AtLeast(target) => (target, Bound::AtLeast),
                    Target::AtMost(target) => (target, Bound::AtMost),
                    Target::Measured => return None,
                };
                Some(Held { id: DimensionId::new(index), measure, target, bound })
            })
            .collect();
        let mut tolerances: Vec<f64> = held.iter().map(|held| held.measure.tolerance()).collect();
        for relation in sketched.iter().flat_map(|sketched| &sketched.relations) {
            tolerances.resize(tolerances.len() + relation.rows(), relation.tolerance());
        }
        let freedom = |number: &crate::history::FreeNumber| Freedom {
            weight: number.weight.unwrap_or(1.0),
            bounds: [number.min.unwrap_or(f64::NEG_INFINITY), number.max.unwrap_or(f64::INFINITY)],
        };
        let free = history.free_numbers.iter().map(freedom).collect();
        Self { skeleton, sheet, blank, held, sketched, tolerances, free }
    }

    /// Lets a free number keep this value.
    pub(super) fn pin(&mut self, number: usize, value: f64) {
        self.free[number].bounds = [value, value];
    }

    /// Every relation with the outline it is of, its place there, and the first of its equations.
    pub(super) fn relations(&self) -> impl Iterator<Item = (&Sketched<'h>, usize, &Resolved, usize)> {
        let mut row = self.held.len();
        let all = self.sketched.iter().flat_map(|sketched| {
            sketched.relations.iter().enumerate().map(move |(index, relation)| (sketched, index, relation))
        });
        all.map(move |(sketched, index, relation)| {
            let first = row;
            row += relation.rows();
            (sketched, index, relation, first)
        })
    }
}

impl Held<'_, '_> {
    /// The measure less what is asked for, in the solver's unit, for a residual of the system.
    pub(super) fn off(&self, residual: f64) -> f64 {
        match self.bound {
            Bound::Exact | Bound::AtLeast => residual,
            Bound::AtMost => -residual,
        }
    }
}

impl System for Equations<'_, '_> {
    fn variable_count(&self) -> usize {
        self.free.len()
    }

    fn relation_count(&self) -> usize {
        self.tolerances.len()
    }

    fn residuals<S: Scalar>(&self, unknowns: &[S], residuals: &mut [S]) {
        let (dimensions, mut rest) = residuals.split_at_mut(self.held.len());
        if !self.held.is_empty() {
            let pose = self.skeleton.pose(self.sheet, unknowns);
            let measures = self.held.iter().map(|held| held.measure);
            let scene = Scene::new(self.skeleton, &pose, self.sheet, unknowns, self.blank, measures);
            for (held, residual) in self.held.iter().zip(dimensions) {
                let target = held.target.evaluate(unknowns).scaled(held.measure.unit());
                let off = held.measure.residual(&scene, target);
                *residual = match held.bound {
                    Bound::Exact | Bound::AtLeast => off,
                    Bound::AtMost => -off,
                };
            }
        }
        for sketched in &self.sketched {
            let drawn = Drawn::new(sketched.profile, unknowns);
            for relation in &sketched.relations {
                let rows;
                (rows, rest) = rest.split_at_mut(relation.rows());
                relation.residuals(&drawn, rows);
            }
        }
    }

    fn tolerance(&self, relation: usize) -> f64 {
        self.tolerances[relation]
    }

    fn kind(&self, relation: usize) -> Kind {
        match self.held.get(relation).map(|held| held.bound) {
            None | Some(Bound::Exact) => Kind::Equal,
            Some(Bound::AtLeast | Bound::AtMost) => Kind::AtLeast,
        }
    }

    fn weight(&self, unknown: usize) -> f64 {
        self.free[unknown].weight
    }

    fn bounds(&self, unknown: usize) -> [f64; 2] {
        self.free[unknown].bounds
    }
}
