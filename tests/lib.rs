//! Shared readers for the replays and reference checks in this folder.
//!
//! Job: hand out rows of the published check values in `tests/reference/`, golden files, and the project's own
//! sources. Invariant: a missing file, column or number stops the test with its place, so that no check passes
//! by reading nothing. Must not know: what is checked.

pub mod golden;

use std::collections::BTreeMap;
use std::path::{Path, PathBuf};

/// Whether the person at the keyboard has asked to take what the program does now for right:
/// `FOLDWRIGHT_ACCEPT=1`.
#[must_use]
pub fn accepting() -> bool {
    std::env::var_os("FOLDWRIGHT_ACCEPT").is_some_and(|value| value == "1")
}

/// The top folder of the project.
#[must_use]
pub fn project_folder() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("..")
}

/// Every Rust source in these folders of the project, with its path from the top and its text, in the order
/// of the paths.
///
/// # Panics
/// If a folder cannot be read or has no sources.
#[must_use]
pub fn source_files(folders: &[&str]) -> Vec<(PathBuf, String)> {
    let mut found = Vec::new();
    for folder in folders {
        let before = found.len();
        collect_sources(&project_folder().join(folder), &mut found);
        assert!(found.len() > before, "{folder} has no sources");
    }
    found.sort();
    found
        .into_iter()
        .map(|path| {
            let text = std::fs::read_to_string(&path).unwrap_or_else(|e| panic!("{}: {e}", path.display()));
            let from_top = path.strip_prefix(project_folder()).unwrap_or(&path).to_owned();
            (from_top, text)
        })
        .collect()
}

fn collect_sources(folder: &Path, found: &mut Vec<PathBuf>) {
    let entries = std::fs::read_dir(folder).unwrap_or_else(|e| panic!("{}: {e}", folder.display()));
    for entry in entries {
        let path = entry.unwrap_or_else(|e| panic!("{}: {e}", folder.display())).path();
        if path.is_dir() {
            collect_sources(&path, found);
        } else if path.extension().is_some_and(|e| e == "rs") {
            found.push(path);
        }
    }
}

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
