//! Exact derivatives of a system by forward differentiation with dual numbers.
//!
//! The unknowns are differentiated in chunks: each pass of the residuals over dual numbers of some lanes
//! gives that many columns of the Jacobian. Invariant: the result does not depend on the chunking.

use nalgebra::DMatrix;

use crate::geom::{Dual, Scalar};

use super::System;

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
    let mut gradients = DMatrix::zeros(unknowns.len(), system.relation_count());
    Passes::default().gradients(system, unknowns, &mut gradients);
    gradients.transpose()
}

/// Room for the dual numbers of a pass, kept between Jacobians.
#[derive(Default)]
pub(super) struct Passes {
    unknowns: Vec<Lane>,
    residuals: Vec<Lane>,
}

impl Passes {
    /// Writes the gradient of every relation into the column of `gradients` (unknowns × relations).
    pub(super) fn gradients<P: System>(
        &mut self,
        system: &P,
        unknowns: &[f64],
        gradients: &mut DMatrix<f64>,
    ) {
        self.unknowns.clear();
        self.unknowns.extend(unknowns.iter().map(|&value| Lane::constant(value)));
        self.residuals.resize(system.relation_count(), Lane::constant(0.0));
        for first in (0..unknowns.len()).step_by(LANES) {
            let end = unknowns.len().min(first + LANES);
            for index in first..end {
                self.unknowns[index].parts[index - first] = 1.0;
            }
            system.residuals(&self.unknowns, &mut self.residuals);
            for index in first..end {
                self.unknowns[index].parts[index - first] = 0.0;
            }
            let columns = gradients.as_mut_slice().chunks_exact_mut(unknowns.len());
            for (gradient, residual) in columns.zip(&self.residuals) {
                gradient[first..end].copy_from_slice(&residual.parts[..end - first]);
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
