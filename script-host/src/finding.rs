//! Findings as people read them: message, place, the line itself with a caret, advice.
//!
//! Invariant: whatever goes wrong ends as a [`Failure`], which can be shown and has an exit code.

use std::fmt::Write as _;

use annotate_snippets::{AnnotationKind, Group, Level, Origin, Renderer, Snippet};
use kernel::diag::{Diagnostic, Severity};

use crate::files::FileFault;
use crate::source::{Place, Source};

/// A finding with its place in the script.
#[derive(Clone, Debug, PartialEq)]
pub struct Finding {
    /// How bad it is.
    pub severity: Severity,
    /// `module::snake_case`.
    pub code: &'static str,
    /// What was found.
    pub message: String,
    /// Where, if it has a place in the script.
    pub place: Option<Place>,
    /// Other places in the script that it is about.
    pub also: Vec<Place>,
    /// What to do.
    pub hints: Vec<String>,
}

/// Why a command did not do what was asked.
#[derive(Debug)]
pub enum Failure {
    /// The script, or the part that it describes, is at fault.
    Findings {
        /// The script.
        source: Source,
        /// At least one.
        findings: Vec<Finding>,
    },
    /// A file cannot be read or written.
    File(FileFault),
}

impl Failure {
    /// Exit code of the program: 1 for the script or part, 3 for files. (2 is a wrong command line.)
    #[must_use]
    pub fn exit_code(&self) -> u8 {
        match self {
            Self::Findings { .. } => 1,
            Self::File(_) => 3,
        }
    }

    /// The text for a person.
    #[must_use]
    pub fn text(&self) -> String {
        match self {
            Self::Findings { source, findings } => shown(source, findings),
            Self::File(fault) => format!("error[{}]: {fault}\n", fault.code()),
        }
    }
}

/// The places of a kernel finding, found by the numbers of its spans.
#[must_use]
pub(crate) fn located(diagnostic: Diagnostic, places: &[Option<Place>]) -> Finding {
    let spans = diagnostic.origins.iter().filter_map(|origin| origin.span);
    let mut all = spans.filter_map(|span| places.get(span.0 as usize).copied().flatten());
    let place = all.next();
    let mut also: Vec<Place> = all.filter(|other| Some(*other) != place).collect();
    also.sort_unstable();
    also.dedup();
    let mut message = diagnostic.message;
    if let (None, Some(origin)) = (place, diagnostic.origins.first())
        && !message.contains(&format!("`{}`", origin.name))
    {
        let _ = write!(message, " (at `{}`)", origin.name);
    }
    let Diagnostic { severity, code, hints, .. } = diagnostic;
    Finding { severity, code, message, place, also, hints }
}

/// All findings, one after the other.
#[must_use]
pub(crate) fn shown(source: &Source, findings: &[Finding]) -> String {
    let renderer = Renderer::plain();
    findings
        .iter()
        .map(|finding| renderer.render(&[group(source, finding)]) + "\n")
        .collect::<Vec<_>>()
        .join("\n")
}

fn group<'a>(source: &'a Source, finding: &'a Finding) -> Group<'a> {
    let level = match finding.severity {
        Severity::Fault => Level::ERROR,
        Severity::Warning => Level::WARNING,
        Severity::Note => Level::NOTE,
    };
    let mut group = Group::with_title(level.primary_title(&*finding.message).id(finding.code));
    group = match finding.place {
        Some(place) => group.element(
            Snippet::source(&*source.text)
                .path(&*source.path)
                .annotation(AnnotationKind::Primary.span(source.word_at(place)))
                .annotations(
                    finding.also.iter().map(|other| AnnotationKind::Context.span(source.word_at(*other))),
                ),
        ),
        None => group.element(Origin::path(&*source.path)),
    };
    for hint in &finding.hints {
        group = group.element(Level::HELP.message(&**hint));
    }
    group
}
