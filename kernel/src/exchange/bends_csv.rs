//! `bends.csv`: the bend table, one row a bend in the order of bending.
//!
//! Invariant: the unit of a column stands in its head. Where there is no order, rows are in the order of the fold tree,
//! and the cells of the order and of the brake are empty.

use crate::brake::{BendRow, Setting};

use super::decimal::figure;
use super::{Format, Subject};

/// `bends.csv`.
pub(super) const FORMAT: Format =
    Format { file_name: "bends.csv", what: "bend table, one row a bend in the order of bending", write };

const HEAD: [&str; 22] = [
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
    "punch",
    "die",
    "die_opening_mm",
    "tool_length_mm",
    "gauge_mm",
    "turn_under_load_deg",
    "force_kn",
    "least_force_kn",
    "most_force_kn",
];

fn write(subject: &Subject<'_>) -> Vec<u8> {
    let mut table = csv::Writer::from_writer(Vec::new());
    let rows = std::iter::once(HEAD.map(str::to_owned)).chain(subject.bend_table.iter().map(cells));
    for row in rows {
        table.write_record(&row).expect("every row has as many cells as the head, and memory takes them");
    }
    table.into_inner().expect("memory takes all that is left")
}

fn cells(row: &BendRow) -> [String; 22] {
    let setting = row.setting.as_ref();
    let word = |of: fn(&Setting) -> &str| setting.map(|s| of(s).to_owned()).unwrap_or_default();
    let number = |of: fn(&Setting) -> Option<f64>| setting.and_then(of).map(figure).unwrap_or_default();
    let [from, to] = row.blank_line;
    [
        row.order.map(|order| order.to_string()).unwrap_or_default(),
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
        word(|s| &s.punch),
        word(|s| &s.die),
        number(|s| Some(s.die_opening)),
        number(|s| Some(s.tool_length)),
        number(|s| s.gauge),
        number(|s| Some(s.turn_under_load_deg())),
        number(|s| s.force.map(|f| f.likely)),
        number(|s| s.force.map(|f| f.least)),
        number(|s| s.force.map(|f| f.most)),
    ]
}
