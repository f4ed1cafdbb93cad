//! What came of the aim, for `report.json`.
//!
//! Invariant: as in the report that it is part of. Must not know: how a smallest figure is found.

use schemars::JsonSchema;
use serde::Serialize;

use crate::dimension::{Aimed, Binding, Moved};

use super::super::decimal::rounded;

/// A figure of the blank made as small as the dimensions let it.
#[derive(Serialize, JsonSchema)]
pub(super) struct AimFigures {
    /// `blank area`, `mass` or `cut length`.
    smallest: &'static str,
    /// `mm²`, `kg` or `mm`.
    unit: &'static str,
    /// The figure where the dimensions hold with the least change of the free numbers, in `unit`.
    before: f64,
    /// The figure of the part, in `unit`.
    after: f64,
    /// How often the figure was worked out.
    trials: usize,
    /// How often of these there was no such part.
    failed: usize,
    /// Free numbers that the aim moved, sketched ones too.
    moved: Vec<AimMovedFigures>,
    /// One-sided dimensions and ends of ranges that are reached.
    binding: Vec<BindingFigures>,
}

/// A free number that the aim moved.
#[derive(Serialize, JsonSchema)]
struct AimMovedFigures {
    /// Its name.
    free_number: String,
    /// Where the dimensions alone had it, in mm or degrees.
    from: f64,
    /// Where it is.
    to: f64,
}

/// Something that keeps the figure from being smaller.
#[derive(Serialize, JsonSchema)]
struct BindingFigures {
    /// `dimension` or `free number`.
    of: &'static str,
    /// Its name.
    name: String,
    /// `at least` or `at most`.
    side: &'static str,
    /// The limit.
    value: f64,
    /// Unit of the limit; empty for a ratio, and for a free number, which has that of its use.
    unit: &'static str,
    /// Line of the script that asks for it; null for a part that comes from no script.
    line: Option<usize>,
}

pub(super) fn aim_figures(aimed: &Aimed, lines: &[Option<usize>]) -> AimFigures {
    let moved = |Moved { number, from, to }: &Moved| AimMovedFigures {
        free_number: number.clone(),
        from: rounded(*from),
        to: rounded(*to),
    };
    let binding = |binding: &Binding| BindingFigures {
        of: binding.of.word(),
        name: binding.origin.name.clone(),
        side: binding.side,
        value: rounded(binding.value),
        unit: binding.unit,
        line: binding.origin.span.and_then(|span| lines.get(span.0 as usize).copied().flatten()),
    };
    AimFigures {
        smallest: aimed.figure.word(),
        unit: aimed.figure.unit(),
        before: rounded(aimed.before),
        after: rounded(aimed.after),
        trials: aimed.trials,
        failed: aimed.failed,
        moved: aimed.moved.iter().map(moved).collect(),
        binding: aimed.binding.iter().map(binding).collect(),
    }
}
