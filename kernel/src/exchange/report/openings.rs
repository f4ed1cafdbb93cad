//! What a report says of openings and hazards.
//!
//! Invariant: whatever a table says comes with its row, source and mark. Must not know: how openings are found.

use schemars::JsonSchema;
use serde::Serialize;

use crate::exchange::decimal::rounded;
use crate::guard::{Judged, JudgedOpening, Judgement};
use crate::guarding;
use crate::quantity::Length;

/// Openings against hazards.
#[derive(Serialize, JsonSchema)]
pub(super) struct GuardingFigures {
    /// Every opening of the folded cover.
    openings: Vec<OpeningFigures>,
    /// What the distances to hazards are.
    distances: &'static str,
    /// What the verdicts cannot answer for.
    caution: &'static str,
}

/// An opening, or several equal ones.
#[derive(Serialize, JsonSchema)]
struct OpeningFigures {
    /// What it is called.
    name: String,
    /// `hole`, `hole across bends`, `seam`, `corner relief` or `open side`.
    kind: &'static str,
    /// How many equal ones there are.
    count: usize,
    /// How many of them neighbours close altogether.
    closed: usize,
    /// Diameter in mm of the largest circle that passes.
    passing_circle_mm: f64,
    /// Side in mm of the largest square that passes.
    passing_square_mm: f64,
    /// Width and length in mm of the slot that passes.
    passing_slot_mm: [f64; 2],
    /// Diameter in mm of the smallest circle that contains it.
    around_circle_mm: f64,
    /// Side in mm of the smallest square that contains it.
    around_square_mm: f64,
    /// Width and length in mm of the narrowest slot that contains it.
    around_slot_mm: [f64; 2],
    /// Against each hazard.
    hazards: Vec<JudgementFigures>,
}

/// The worst of equal openings against one hazard.
#[derive(Serialize, JsonSchema)]
struct JudgementFigures {
    /// Name of the hazard.
    hazard: String,
    /// How many places it is the worst of.
    places: usize,
    /// The neighbour that leaves only a gap of the opening; null if it is free.
    gap_beside: Option<String>,
    /// The narrow measure that the table judges, in mm.
    width_mm: f64,
    /// Straight way to the hazard in mm, or across where it is judged by reaching over.
    reach_mm: f64,
    /// Whether metal stands in the straight way.
    straight_through_metal: bool,
    /// Least distance in mm; null if no distance is enough or the table has none.
    required_mm: Option<f64>,
    /// `passes`, `needs further measures`, `fails`, `by reaching over` or `not covered`.
    verdict: &'static str,
    /// Row of the table in words.
    row: String,
    /// The table, its edition, and what was read of it.
    source: String,
    /// `seen` or `from memory`.
    mark: &'static str,
    /// Where sources disagree; may be empty.
    disagreement: &'static str,
}

pub(super) fn guarding_figures(judged: &Judged) -> GuardingFigures {
    GuardingFigures {
        openings: judged.openings.iter().map(opening).collect(),
        distances: guarding::STRAIGHT,
        caution: guarding::CAUTION,
    }
}

fn opening(judged: &JudgedOpening) -> OpeningFigures {
    let opening = &judged.opening;
    let m = &opening.measures;
    OpeningFigures {
        name: opening.name.clone(),
        kind: opening.kind.word(),
        count: opening.count(),
        closed: judged.closed,
        passing_circle_mm: rounded(m.passing_circle),
        passing_square_mm: rounded(m.passing_square),
        passing_slot_mm: m.passing_slot.map(rounded),
        around_circle_mm: rounded(m.around_circle),
        around_square_mm: rounded(m.around_square),
        around_slot_mm: m.around_slot.map(rounded),
        hazards: judged.judgements.iter().map(judgement).collect(),
    }
}

fn judgement(j: &Judgement) -> JudgementFigures {
    JudgementFigures {
        hazard: j.hazard.clone(),
        places: j.places,
        gap_beside: j.beside.clone(),
        width_mm: rounded(j.shape.narrow().to_mm()),
        reach_mm: rounded(j.got().to_mm()),
        straight_through_metal: j.is_blocked,
        required_mm: j.needs().map(Length::to_mm).map(rounded),
        verdict: j.outcome().text(),
        row: j.verdict.required.row.clone(),
        source: j.source().to_string(),
        mark: j.status().text(),
        disagreement: j.source().disagreement,
    }
}
