//! Findings about a part: what is wrong, where, with which numbers, and what to do.
//!
//! Job: carry a fault from the stage that found it to whoever shows it. A [`Span`] is opaque here; the
//! script host turns it into file, line and column. Invariant: a message is a full sentence with its
//! numbers and names; a code is `module::snake_case` and never changes its meaning.
//! Must not know: sheet metal, scripts, terminals.

/// A place in a source that only the maker of the source can read: its number in the maker's list.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub struct Span(pub u32);

/// How bad a finding is.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Severity {
    /// The part cannot be made, or is not what was asked for.
    Fault,
    /// The part can be made, but someone should look.
    Warning,
    /// Good to know.
    Note,
}

impl Severity {
    /// `fault`, `warning` or `note`.
    #[must_use]
    pub fn word(self) -> &'static str {
        match self {
            Self::Fault => "fault",
            Self::Warning => "warning",
            Self::Note => "note",
        }
    }
}

/// What a finding is about: the name of the feature or dimension, and where it was written.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Origin {
    /// Name in the history, for example `cheek` or `clear width`.
    pub name: String,
    /// Where it was written, if it came from a script.
    pub span: Option<Span>,
}

/// One finding.
#[derive(Clone, Debug, PartialEq)]
pub struct Diagnostic {
    /// `module::snake_case`; names the fault, not the cure.
    pub code: &'static str,
    /// How bad it is.
    pub severity: Severity,
    /// What was found, with names and numbers; starts in lower case, no full stop.
    pub message: String,
    /// What it is about, most important first; may be empty.
    pub origins: Vec<Origin>,
    /// What to do about it; may be empty.
    pub hints: Vec<String>,
    /// What was measured against which limit, if it was.
    pub measure: Option<Box<Measure>>,
}

/// A measured number and the limit that it does not keep.
#[derive(Clone, Debug, PartialEq)]
pub struct Measure {
    /// What was measured: of several alike, the one farthest off.
    pub got: f64,
    /// Its limit.
    pub limit: f64,
    /// On which side of the limit it should lie.
    pub bound: Bound,
    /// Unit of both.
    pub unit: &'static str,
    /// In how many places it is so.
    pub places: usize,
    /// Whose limit it is: the source of a default, or who said another one.
    pub source: String,
}

/// On which side of its limit a number should lie; the limit itself is right.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Bound {
    /// Above it.
    AtLeast,
    /// Below it.
    AtMost,
}

impl Bound {
    /// `at least` or `at most`.
    #[must_use]
    pub fn words(self) -> &'static str {
        match self {
            Self::AtLeast => "at least",
            Self::AtMost => "at most",
        }
    }
}

impl Diagnostic {
    /// A fault about one thing, or with `None` about the whole part.
    #[must_use]
    pub fn fault(code: &'static str, message: String, origin: impl Into<Option<Origin>>) -> Self {
        let origins = origin.into().into_iter().collect();
        Self { code, severity: Severity::Fault, message, origins, hints: Vec::new(), measure: None }
    }

    /// A warning about one thing.
    #[must_use]
    pub fn warning(code: &'static str, message: String, origin: Origin) -> Self {
        Self {
            code,
            severity: Severity::Warning,
            message,
            origins: vec![origin],
            hints: Vec::new(),
            measure: None,
        }
    }

    /// The same finding with a line of advice more.
    #[must_use]
    pub fn hint(mut self, hint: impl Into<String>) -> Self {
        self.hints.push(hint.into());
        self
    }

    /// The same finding with `did you mean` the known word nearest to a misspelt one, if one is near.
    #[must_use]
    pub fn hint_nearest<T: AsRef<str>>(self, word: &str, known: &[T]) -> Self {
        match nearest(word, known) {
            Some(near) => self.hint(format!("did you mean `{near}`?")),
            None => self,
        }
    }
}

/// The known word nearest to a misspelt one, if one is near.
#[must_use]
pub fn nearest<'a, T: AsRef<str>>(word: &str, known: &'a [T]) -> Option<&'a str> {
    known
        .iter()
        .map(|k| (strsim::damerau_levenshtein(word, k.as_ref()), k.as_ref()))
        .min()
        .filter(|(distance, k)| *distance <= 1 + k.chars().count().min(word.chars().count()) / 3)
        .map(|(_, k)| k)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn misspelt_words_find_their_neighbour() {
        let known = ["length", "turn", "taper_left"];
        assert_eq!(nearest("lenght", &known), Some("length"));
        assert_eq!(nearest("taper_lft", &known), Some("taper_left"));
        assert_eq!(nearest("colour", &known), None);
    }
}
