//! `history.json`: the history itself, which regenerates the part without its script.
//!
//! Job: write and read the saved form of `docs/history-format.md`. Invariant: what is written reads back
//! equal, every number bit for bit. Must not know: what the features mean.

use serde::Deserialize;

use crate::diag::Diagnostic;
use crate::history::{FORMAT_VERSION, History, Parameter};

use super::{Format, Subject, history_fault};

/// `history.json`.
pub(super) const FORMAT: Format =
    Format { file_name: "history.json", what: "history that regenerates the part without its script", write };

fn write(subject: &Subject<'_>) -> Vec<u8> {
    text(subject.history).into_bytes()
}

/// The saved form, indented, with a line end at its end.
///
/// Numbers must be finite, as those of a settled history are: JSON has no others, and would not read back.
///
/// # Panics
/// Never: a history has only keys that are text.
#[must_use]
pub fn text(history: &History) -> String {
    let mut text = serde_json::to_string_pretty(history).expect("a history has only keys that are text");
    text.push('\n');
    text
}

/// The version alone, whatever else the text holds.
#[derive(Deserialize)]
struct Stamp {
    format: u32,
}

/// Reads the saved form.
///
/// # Errors
/// `history::unknown_format` if another version wrote it, `history::unreadable` with line, column and keys that
/// lead there if the text is no history, and `history::parameter_out_of_range`. Whether the history makes sense is for later stages to say.
pub fn read(text: &str) -> Result<History, Diagnostic> {
    if let Ok(Stamp { format }) = serde_json::from_str(text)
        && format != FORMAT_VERSION
    {
        let message = format!("the history has format {format}; this program reads format {FORMAT_VERSION}");
        return Err(Diagnostic::fault("history::unknown_format", message, None)
            .hint("read it with the version of Foldwright that wrote it, or run its script again"));
    }
    let history: History = serde_json::from_str(text).map_err(|fault| {
        let message = format!("the history cannot be read, {}", history_fault::words(text, &fault));
        Diagnostic::fault("history::unreadable", message, None)
            .hint("compare the place with `docs/history-format.md`, or run the script again")
    })?;
    match history.parameters.iter().find(|parameter| !parameter.range.allows(&parameter.value)) {
        None => Ok(history),
        Some(Parameter { name, value, range, .. }) => {
            let message = format!("parameter `{name}` is {value}; it may be {range}");
            Err(Diagnostic::fault("history::parameter_out_of_range", message, None).hint(
                "change its value, or run the script again: sizes do not follow a parameter changed here",
            ))
        }
    }
}
