//! A TOML file that is given on the command line, with the places of what stands in it.
//!
//! Invariant: every fault has its line in the file. Knows nothing of what the file is for.

use std::ops::Range;
use std::path::Path;

use kernel::diag::Severity;
use kernel::exchange::reader_words;
use serde::Deserialize;
use serde::de::DeserializeOwned;
use toml::Spanned;

use crate::files;
use crate::finding::{Failure, Finding};
use crate::source::{Place, Source};

/// A list of as many numbers; the reader of TOML would let more of them pass.
#[derive(Clone, Copy, Debug, Deserialize)]
#[serde(try_from = "Vec<f64>")]
pub(crate) struct Row<const N: usize>(pub(crate) [f64; N]);

impl<const N: usize> TryFrom<Vec<f64>> for Row<N> {
    type Error = String;

    fn try_from(numbers: Vec<f64>) -> Result<Self, String> {
        let got = numbers.len();
        numbers.try_into().map(Self).map_err(|_| format!("there are {got} numbers where {N} belong"))
    }
}

/// A file as it was read, and what is told of faults in it.
pub(crate) struct TomlFile {
    source: Source,
    code: &'static str,
    hint: &'static str,
}

impl TomlFile {
    /// Reads a file; its faults have a code, and a hint where they are about how it is written.
    ///
    /// # Errors
    /// [`Failure::File`] if it cannot be read.
    pub(crate) fn read(path: &Path, code: &'static str, hint: &'static str) -> Result<Self, Failure> {
        let text = files::read(path).map_err(Failure::File)?;
        Ok(Self { source: Source { path: path.display().to_string(), text }, code, hint })
    }

    /// What the file says.
    ///
    /// # Errors
    /// [`Failure::Findings`] if it is no TOML, or not what is expected.
    pub(crate) fn parsed<T: DeserializeOwned>(&self) -> Result<T, Failure> {
        toml::from_str(&self.source.text).map_err(|error| {
            let message = reader_words::plain(error.message().trim(), "a table");
            let finding = Finding {
                place: error.span().map(|span| self.place(&span)),
                hints: vec![self.hint.to_owned()],
                ..self.fault(message, None)
            };
            self.failed(vec![finding])
        })
    }

    /// The place where a range of bytes begins.
    pub(crate) fn place(&self, at: &Range<usize>) -> Place {
        self.source.place(at.start)
    }

    /// A fault at a range of bytes.
    pub(crate) fn fault(&self, message: String, at: Option<Range<usize>>) -> Finding {
        Finding {
            severity: Severity::Fault,
            code: self.code,
            message,
            place: at.map(|at| self.place(&at)),
            also: Vec::new(),
            hints: Vec::new(),
        }
    }

    /// The failure that findings about this file are.
    pub(crate) fn failed(&self, findings: Vec<Finding>) -> Failure {
        Failure::Findings { source: self.source.clone(), findings }
    }
}

/// Checks what stands in a file one after the other, so that all faults are told at once.
pub(crate) struct Checks<'f> {
    file: &'f TomlFile,
    findings: Vec<Finding>,
}

impl<'f> Checks<'f> {
    pub(crate) fn of(file: &'f TomlFile) -> Self {
        Self { file, findings: Vec::new() }
    }

    /// Notes a fault.
    pub(crate) fn refuse(&mut self, message: String, at: Range<usize>) {
        self.findings.push(self.file.fault(message, Some(at)));
    }

    /// A number that must lie in a range, its ends included.
    pub(crate) fn number(&mut self, what: &str, unit: &str, written: &Spanned<f64>, range: [f64; 2]) -> f64 {
        let (got, [least, most]) = (*written.get_ref(), range);
        if !(least <= got && got <= most) {
            let unit = if unit.is_empty() { String::new() } else { format!(" {unit}") };
            self.refuse(
                format!("{what} cannot be {got}: it goes from {least} to {most}{unit}"),
                written.span(),
            );
        }
        got
    }

    /// What was checked, if nothing is at fault.
    ///
    /// # Errors
    /// [`Failure::Findings`] with all faults, in the order of their lines.
    pub(crate) fn end<T>(mut self, checked: T) -> Result<T, Failure> {
        if self.findings.is_empty() {
            return Ok(checked);
        }
        self.findings.sort_by_key(|finding| finding.place);
        Err(self.file.failed(self.findings))
    }
}
