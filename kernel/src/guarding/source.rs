//! Where a row of a table comes from. Invariant: what was not read is marked so, and the mark reaches the output.

use std::fmt;

/// Whether a value was read.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Status {
    /// Read in the source named, or in a reproduction of it.
    Seen,
    /// Known to be published there, but not read for this table.
    FromMemory,
}

impl Status {
    /// `seen` or `from memory`.
    #[must_use]
    pub fn text(self) -> &'static str {
        match self {
            Self::Seen => "seen",
            Self::FromMemory => "from memory",
        }
    }

    /// The weaker of two marks.
    #[must_use]
    pub fn weaker(self, other: Self) -> Self {
        self.max(other)
    }
}

/// A published table.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Source {
    /// Standard or law with its table.
    pub title: &'static str,
    /// Which edition, as far as it is known.
    pub edition: &'static str,
    /// What was read, if anything.
    pub read: &'static str,
    /// Whether it was read.
    pub status: Status,
    /// Where sources disagree, and which is used; may be empty.
    pub disagreement: &'static str,
}

impl fmt::Display for Source {
    /// `ISO 13857 table 4 (2008 / 2019; seen: restated by …)`.
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{} ({}; {}: {})", self.title, self.edition, self.status.text(), self.read)
    }
}
