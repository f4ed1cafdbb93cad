//! `bends.csv`: the bend table, one row a bend in the order of bending.
//!
//! Invariant: the unit of a column stands in its head.

use crate::brake::BendRow;

use super::decimal::figure;
use super::{Format, Subject};

/// `bends.csv`.
pub(super) const FORMAT: Format =
    Format { file_name: "bends.csv", what: "bend table, one row a bend in the order of bending", write };

const HEAD: [&str; 13] = [
    "order",
    "name",
    "turn_deg",
    "direction",
    "inside_radius_mm",
    "length_mm",
    "allowance_mm",
    "deduction_mm",
    "k_factor",
    "x1_mm",
    "y1_mm",
    "x2_mm",
    "y2_mm",
];

fn write(subject: &Subject<'_>) -> Vec<u8> {
    let mut table = csv::Writer::from_writer(Vec::new());
    let rows = std::iter::once(HEAD.map(str::to_owned)).chain(subject.bend_table.iter().map(cells));
    for row in rows {
        table.write_record(&row).expect("every row has as many cells as the head, and memory takes them");
    }
    table.into_inner().expect("memory takes all that is left")
}

fn cells(row: &BendRow) -> [String; 13] {
    let [from, to] = row.blank_line;
    [
        row.order.to_string(),
        row.name.to_string(),
        figure(row.turn.to_deg()),
        row.side.word().to_owned(),
        figure(row.inside_radius.length().to_mm()),
        figure(row.length.to_mm()),
        figure(row.allowance.to_mm()),
        figure(row.deduction.to_mm()),
        figure(row.k_factor.value()),
        figure(from.x),
        figure(from.y),
        figure(to.x),
        figure(to.y),
    ]
}
