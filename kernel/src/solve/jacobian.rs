//! Exact derivatives of a system by forward differentiation with dual numbers.
//!
//! The unknowns are differentiated in chunks: each pass of the residuals over dual numbers of some lanes
//! gives that many columns of the Jacobian. Unknowns that no relation knows together share a lane: those of
//! different blocks, and those of one colour in a sparse block. Invariant: the result does not depend on the
//! chunking.

use nalgebra::DMatrix;

use crate::geom::{Dual, Scalar};

use super::System;
use super::gradients::Gradients;
use super::linearised::{Colours, Linearised};
use super::structure::Block;

/// Unknowns differentiated in one pass. Measured on chains of placements with 10 to 100 unknowns
/// (`benches/solve.rs`): 4 lanes repeat values, sines and arc tangents too often; from 16 on dual numbers
/// no longer fit the registers and the last pass is half empty. Between 8 and 12 there is little to choose.
const LANES: usize = 10;

type Lane = Dual<LANES>;

/// The Jacobian at `unknowns`: one row for each relation, one column for each unknown, in the residual's
/// unit for a unit of the unknown. Exact to rounding.
///
/// # Panics
/// If `unknowns` has not one value for each unknown.
pub fn jacobian<P: System>(system: &P, unknowns: &[f64]) -> DMatrix<f64> {
    assert_eq!(unknowns.len(), system.variable_count(), "one value for each unknown");
    let block =
        Block { unknowns: (0..unknowns.len()).collect(), relations: (0..system.relation_count()).collect() };
    let mut gradients = Gradients::full(unknowns.len(), system.relation_count());
    let part = Part { block: &block, colours: &Colours::Own, gradients: &mut gradients };
    Passes::default().gradients(system, unknowns, &mut [part]);
    DMatrix::from_row_slice(system.relation_count(), unknowns.len(), &gradients.values)
}

/// A block whose gradients are wanted.
pub(super) struct Part<'a> {
    block: &'a Block,
    colours: &'a Colours,
    gradients: &'a mut Gradients,
}

impl<'a> Part<'a> {
    pub(super) fn new(block: &'a Block, linearised: &'a mut Linearised) -> Self {
        Self { block, colours: &linearised.colours, gradients: &mut linearised.gradients }
    }

    /// How many lanes there must be.
    fn lanes(&self) -> usize {
        match self.colours {
            Colours::Own => self.block.unknowns.len(),
            Colours::Shared { count, .. } => *count,
        }
    }

    /// Calls with each unknown of the block that has one of ten lanes, and with its place among them.
    fn each_lane(&self, first: usize, mut call: impl FnMut(usize, usize)) {
        match self.colours {
            Colours::Own => {
                let own = self.block.unknowns.iter().skip(first).take(LANES);
                own.enumerate().for_each(|(lane, &unknown)| call(unknown, lane));
            }
            Colours::Shared { colour, .. } => {
                for (&colour, &unknown) in colour.iter().zip(&self.block.unknowns) {
                    if (first..first + LANES).contains(&colour) {
                        call(unknown, colour - first);
                    }
                }
            }
        }
    }

    /// Takes the derivatives of ten lanes.
    fn take(&mut self, first: usize, residuals: &[Lane]) {
        for (row, &relation) in self.block.relations.iter().enumerate() {
            let parts = &residuals[relation].parts;
            match self.colours {
                Colours::Own => {
                    let end = self.block.unknowns.len().min(first + LANES);
                    self.gradients.row_mut(row)[first..end].copy_from_slice(&parts[..end - first]);
                }
                Colours::Shared { colour, .. } => {
                    let (places, values) = self.gradients.places_and_row_mut(row);
                    for (&place, value) in places.iter().zip(values) {
                        if let Some(part) = colour[place].checked_sub(first).and_then(|lane| parts.get(lane))
                        {
                            *value = *part;
                        }
                    }
                }
            }
        }
    }
}

/// Room for the dual numbers of a pass, kept between Jacobians.
#[derive(Default)]
pub(super) struct Passes {
    unknowns: Vec<Lane>,
    residuals: Vec<Lane>,
}

impl Passes {
    /// Writes the gradients of the relations of these blocks.
    pub(super) fn gradients<P: System>(&mut self, system: &P, unknowns: &[f64], parts: &mut [Part<'_>]) {
        self.unknowns.clear();
        self.unknowns.extend(unknowns.iter().map(|&value| Lane::constant(value)));
        self.residuals.resize(system.relation_count(), Lane::constant(0.0));
        let lanes = parts.iter().map(Part::lanes).max().unwrap_or(0);
        for first in (0..lanes).step_by(LANES) {
            for part in &*parts {
                part.each_lane(first, |unknown, lane| self.unknowns[unknown].parts[lane] = 1.0);
            }
            system.residuals(&self.unknowns, &mut self.residuals);
            for part in &mut *parts {
                part.each_lane(first, |unknown, lane| self.unknowns[unknown].parts[lane] = 0.0);
                if first < part.lanes() {
                    part.take(first, &self.residuals);
                }
            }
        }
    }
}

#[cfg(test)]
pub(crate) mod central_difference {
    //! Independent derivatives to check exact ones against.

    use super::{System, jacobian};

    /// Asserts that every derivative of `system` at `unknowns` agrees with its central difference to
    /// `share` of the larger of 1 and the derivative.
    pub(crate) fn assert_agrees<P: System>(system: &P, unknowns: &[f64], share: f64) {
        let exact = jacobian(system, unknowns);
        let relations = system.relation_count();
        let (mut ahead, mut behind) = (vec![0.0; relations], vec![0.0; relations]);
        for column in 0..unknowns.len() {
            let step = 1e-5 * (1.0 + unknowns[column].abs());
            let mut moved = unknowns.to_vec();
            moved[column] = unknowns[column] + step;
            system.residuals(&moved, &mut ahead);
            moved[column] = unknowns[column] - step;
            system.residuals(&moved, &mut behind);
            for row in 0..relations {
                let difference = (ahead[row] - behind[row]) / (2.0 * step);
                let got = exact[(row, column)];
                assert!(
                    (got - difference).abs() <= share * (1.0 + difference.abs()),
                    "relation {row}, unknown {column}: {got} against {difference}"
                );
            }
        }
    }
}
