//! What an opening needs by the chosen rule, and whether a distance at hand is enough.
//!
//! Invariant: a measure at a limit belongs to the row below it, one over it to the row above; a measure within
//! the snap tolerance of a limit is at it. For each shape the distance never falls with a larger opening.

use std::fmt;

use crate::quantity::{Length, tolerance};

use super::iso_openings::{
    IRREGULAR_SOURCE, LOWER_LIMBS, LOWER_SOURCE, SHORT_SLOT_ARM_MM, SHORT_SLOT_LEG_MM, UPPER_LIMBS,
    UPPER_SOURCE,
};
use super::opening::{Containing, OpeningShape};
use super::osha_openings::{
    BARRIER_SOURCE, Filling, POINT_OF_OPERATION_SOURCE, barrier_row, point_of_operation,
};
use super::source::{Source, Status};

/// The rule that the user chose for openings.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum OpeningRule {
    /// ISO 13857, arms of persons of 14 years and older.
    Iso13857UpperLimbs,
    /// ISO 13857, legs.
    Iso13857LowerLimbs,
    /// 29 CFR 1910.217 table O-10, point of operation.
    Osha1910_217,
    /// 29 CFR 1910.219 table O-12, power transmission, by what the guard is filled with and how thick that is.
    Osha1910_219(Filling, Length),
}

/// What a rule asks of an opening.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Demand {
    /// The hazard lies at least this far behind it.
    Distance(Length),
    /// It is so large that the table for reaching over takes its place.
    ByReachOver,
    /// No distance makes it admissible by this table.
    NotAdmissible,
}

/// What a rule asks of an opening, with its row.
#[derive(Clone, Debug, PartialEq)]
pub struct Required {
    /// What is asked.
    pub demand: Demand,
    /// The row in words, for example `hand, slot over 12 up to 20 mm`.
    pub row: String,
    /// The table.
    pub source: &'static Source,
    /// The weaker mark of the table and of the rule that led to its row.
    pub status: Status,
}

/// Whether something holds.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Outcome {
    /// It is far enough.
    Passes,
    /// It is far enough, but the guard is too low to be enough by itself.
    NeedsFurtherMeasures,
    /// It is too near.
    Fails,
    /// Another table has to say.
    ByReachOver,
    /// The table has nothing for it, so it counts as not safe.
    NotCovered,
}

impl Outcome {
    /// A word or two.
    #[must_use]
    pub fn text(self) -> &'static str {
        match self {
            Self::Passes => "passes",
            Self::NeedsFurtherMeasures => "needs further measures",
            Self::Fails => "fails",
            Self::ByReachOver => "by reaching over",
            Self::NotCovered => "not covered",
        }
    }
}

/// An opening against a hazard.
#[derive(Clone, Debug, PartialEq)]
pub struct Verdict {
    /// Whether the distance is enough.
    pub outcome: Outcome,
    /// The distance at hand.
    pub got: Length,
    /// What is asked, with its row.
    pub required: Required,
}

impl Verdict {
    /// The distance that is needed, if one is enough.
    #[must_use]
    pub fn needs(&self) -> Option<Length> {
        match self.required.demand {
            Demand::Distance(needs) => Some(needs),
            Demand::ByReachOver | Demand::NotAdmissible => None,
        }
    }

    /// What is left over: got less needed.
    #[must_use]
    pub fn margin(&self) -> Option<Length> {
        self.needs().map(|needs| self.got - needs)
    }
}

impl fmt::Display for Verdict {
    /// `fails: 100.000 mm, needs 120.000 mm (hand, slot over 12 up to 20 mm; ISO 13857 table 4 …)`.
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}: {}", self.outcome.text(), self.got)?;
        if let Some(needs) = self.needs() {
            write!(f, ", needs {needs}")?;
        }
        write!(f, " ({}; {}; {})", self.required.row, self.required.source, self.required.status.text())
    }
}

/// What the rule asks of an opening.
#[must_use]
pub fn required(rule: OpeningRule, shape: &OpeningShape) -> Required {
    match rule {
        OpeningRule::Iso13857UpperLimbs => by_iso(shape, upper_limbs),
        OpeningRule::Iso13857LowerLimbs => by_iso(shape, lower_limbs),
        OpeningRule::Osha1910_217 => by_point_of_operation(shape.narrow()),
        OpeningRule::Osha1910_219(filling, thickness) => by_barrier(filling, thickness, shape.narrow()),
    }
}

/// Whether a hazard at this distance behind the opening is far enough.
#[must_use]
pub fn verdict(rule: OpeningRule, shape: &OpeningShape, distance: Length) -> Verdict {
    let required = required(rule, shape);
    let outcome = match required.demand {
        Demand::Distance(needs) if distance.to_mm() >= needs.to_mm() - tolerance::SNAP_MM => Outcome::Passes,
        Demand::Distance(_) => Outcome::Fails,
        Demand::ByReachOver => Outcome::ByReachOver,
        Demand::NotAdmissible => Outcome::NotCovered,
    };
    Verdict { outcome, got: distance, required }
}

/// A shape with one column of the tables of ISO 13857.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Column {
    Slot,
    Square,
    Round,
}

impl Column {
    fn name(self) -> &'static str {
        match self {
            Self::Slot => "slot",
            Self::Square => "square",
            Self::Round => "round",
        }
    }
}

/// Column, measure in mm, and length of a slot in mm.
type Asked = (Column, f64, f64);

/// An irregular opening may use the shortest of the distances of the circle, square and slot that contain it.
fn by_iso(shape: &OpeningShape, table: fn(Asked) -> Required) -> Required {
    match *shape {
        OpeningShape::Round { diameter } => table((Column::Round, diameter.to_mm(), 0.0)),
        OpeningShape::Square { side } => table((Column::Square, side.to_mm(), 0.0)),
        OpeningShape::Slot { width, length } => table((Column::Slot, width.to_mm(), length.to_mm())),
        OpeningShape::Irregular(Containing { circle, square, slot_width, slot_length }) => {
            let figures = [
                (Column::Slot, slot_width.to_mm(), slot_length.to_mm()),
                (Column::Square, square.to_mm(), 0.0),
                (Column::Round, circle.to_mm(), 0.0),
            ];
            let of = |required: &Required| match required.demand {
                Demand::Distance(distance) => distance.to_mm(),
                Demand::ByReachOver | Demand::NotAdmissible => f64::INFINITY,
            };
            let shortest = figures.map(table).into_iter().min_by(|a, b| of(a).total_cmp(&of(b)));
            let shortest = shortest.expect("there are three figures");
            let status = shortest.status.weaker(IRREGULAR_SOURCE.status);
            Required { row: format!("irregular, by its {}", shortest.row), status, ..shortest }
        }
    }
}

fn row_in_words(limb: &str, column: Column, over: f64, up_to: f64) -> String {
    format!("{limb}, {} over {over} up to {up_to} mm", column.name())
}

fn upper_limbs((column, measure, length): Asked) -> Required {
    let source = &UPPER_SOURCE;
    let Some(row) = UPPER_LIMBS.iter().find(|row| measure <= row.up_to_mm + tolerance::SNAP_MM) else {
        let row = format!("{} over 120 mm", column.name());
        return Required { demand: Demand::ByReachOver, row, source, status: source.status };
    };
    let mut words = row_in_words(row.limb, column, row.over_mm, row.up_to_mm);
    let distance = match (column, row.short_slot_mm) {
        (Column::Slot, Some(short)) if length <= SHORT_SLOT_ARM_MM + tolerance::SNAP_MM => {
            words.push_str(", not longer than 65 mm");
            short
        }
        (Column::Slot, _) => row.slot_mm,
        (Column::Square, _) => row.square_mm,
        (Column::Round, _) => row.round_mm,
    };
    Required { demand: Demand::Distance(Length::mm(distance)), row: words, source, status: source.status }
}

fn lower_limbs((column, measure, length): Asked) -> Required {
    let source = &LOWER_SOURCE;
    let refused =
        |row: String| Required { demand: Demand::NotAdmissible, row, source, status: source.status };
    let Some(row) = LOWER_LIMBS.iter().find(|row| measure <= row.up_to_mm + tolerance::SNAP_MM) else {
        return refused(format!("whole body, {} over 240 mm", column.name()));
    };
    let mut words = row_in_words(row.limb, column, row.over_mm, row.up_to_mm);
    let distance = match (column, row.short_slot_mm) {
        (Column::Slot, Some(short)) if length <= SHORT_SLOT_LEG_MM + tolerance::SNAP_MM => {
            words.push_str(", not longer than 75 mm");
            Some(short)
        }
        (Column::Slot, _) => row.slot_mm,
        (Column::Square | Column::Round, _) => Some(row.square_or_round_mm),
    };
    let Some(distance) = distance else { return refused(words) };
    Required { demand: Demand::Distance(Length::mm(distance)), row: words, source, status: source.status }
}

/// A width within the snap tolerance of a limit is at it.
fn slack_in() -> f64 {
    Length::mm(tolerance::SNAP_MM).to_inch()
}

fn by_point_of_operation(width: Length) -> Required {
    let source = &POINT_OF_OPERATION_SOURCE;
    let (demand, row) = match point_of_operation(width.to_inch(), slack_in()) {
        Some(row) => (
            Demand::Distance(Length::inch(row.from_in)),
            format!("opening up to {} in at {} to {} in", row.widest_in, row.from_in, row.to_in),
        ),
        None => (Demand::NotAdmissible, "opening over 2.125 in".to_owned()),
    };
    Required { demand, row, source, status: source.status }
}

fn by_barrier(filling: Filling, thickness: Length, width: Length) -> Required {
    let source = &BARRIER_SOURCE;
    let (demand, row) = match barrier_row(filling, width.to_inch(), slack_in()) {
        Some((from, row)) => {
            let widest = row.widest_in.expect("a row that admits an opening says how wide");
            let words = format!(
                "{}, opening up to {widest} in at {} to {} in, at least {} thick",
                filling.name(),
                row.from_in,
                row.to_in,
                row.thinnest
            );
            if thickness.to_inch() < row.thinnest_in - slack_in() {
                (Demand::NotAdmissible, format!("{words}, and this is {thickness}"))
            } else {
                (Demand::Distance(Length::inch(from)), words)
            }
        }
        None => (Demand::NotAdmissible, format!("{}, wider than any row", filling.name())),
    };
    Required { demand, row, source, status: source.status }
}
