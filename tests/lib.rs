//! Shared readers for the replays and reference checks in this folder.
//!
//! Job: hand out rows of the published check values in `tests/reference/`. Invariant: a missing file,
//! column or number stops the test with its place, so that no check passes by reading nothing.
//! Must not know: what is checked.

use std::collections::BTreeMap;
use std::path::Path;

/// One row of a reference table, by column name.
#[derive(Clone, Debug)]
pub struct ReferenceRow {
    /// File and line, for messages.
    place: String,
    cells: BTreeMap<String, String>,
}

/// Every row of `tests/reference/<file>`.
///
/// # Panics
/// If the file cannot be read or has no rows.
#[must_use]
pub fn reference_rows(file: &str) -> Vec<ReferenceRow> {
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("reference").join(file);
    let mut reader = csv::Reader::from_path(&path).unwrap_or_else(|fault| panic!("{file}: {fault}"));
    let rows: Vec<ReferenceRow> = reader
        .deserialize()
        .enumerate()
        .map(|(index, cells)| {
            let place = format!("{file} row {}", index + 1);
            let cells = cells.unwrap_or_else(|fault| panic!("{place}: {fault}"));
            ReferenceRow { place, cells }
        })
        .collect();
    assert!(!rows.is_empty(), "{file} has no rows");
    rows
}

impl ReferenceRow {
    /// File and row, for messages.
    #[must_use]
    pub fn place(&self) -> &str {
        &self.place
    }

    /// The text of a column.
    ///
    /// # Panics
    /// If there is no such column.
    #[must_use]
    pub fn text(&self, column: &str) -> &str {
        self.cells.get(column).unwrap_or_else(|| panic!("{}: no column {column}", self.place))
    }

    /// The number in a column.
    ///
    /// # Panics
    /// If there is no such column or no number in it.
    #[must_use]
    pub fn number(&self, column: &str) -> f64 {
        self.numbers(column)[0]
    }

    /// The numbers in a column that lists several, separated by semicolons.
    ///
    /// # Panics
    /// If there is no such column or something other than numbers in it.
    #[must_use]
    pub fn numbers(&self, column: &str) -> Vec<f64> {
        let text = self.text(column);
        text.split(';')
            .map(|number| number.parse().unwrap_or_else(|_| panic!("{}: {column} is `{text}`", self.place)))
            .collect()
    }
}
