//! The text of a script, and places in it.
//!
//! Invariant: a [`Place`] counts lines and columns from 1, columns in characters.

use std::ops::Range;

/// A place in a script.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub struct Place {
    /// Line, from 1.
    pub line: usize,
    /// Column in characters, from 1.
    pub column: usize,
}

impl Place {
    /// The place of a position that the interpreter gives, if it has one.
    #[must_use]
    pub fn of(position: rhai::Position) -> Option<Self> {
        let line = position.line()?;
        Some(Self { line, column: position.position().unwrap_or(1) })
    }
}

/// A script as it was read.
#[derive(Clone, Debug)]
pub struct Source {
    /// The path as the user gave it.
    pub path: String,
    /// The text.
    pub text: String,
}

impl Source {
    /// The place of a byte of the text.
    #[must_use]
    pub fn place(&self, at: usize) -> Place {
        let before = self.text.get(..at).unwrap_or(&self.text);
        let line_start = before.rfind('\n').map_or(0, |at| at + 1);
        Place { line: before.matches('\n').count() + 1, column: before[line_start..].chars().count() + 1 }
    }

    /// The bytes to underline at a place: the word there, or one character.
    #[must_use]
    pub fn word_at(&self, place: Place) -> Range<usize> {
        let line_start: usize =
            self.text.split_inclusive('\n').take(place.line.saturating_sub(1)).map(str::len).sum();
        let line = self.text[line_start..].split('\n').next().unwrap_or("");
        let start = line.char_indices().nth(place.column.saturating_sub(1)).map_or(line.len(), |(i, _)| i);
        let rest = &line[start..];
        let word = rest.find(|c: char| !c.is_alphanumeric() && c != '_').unwrap_or(rest.len());
        let length = if word > 0 { word } else { rest.chars().next().map_or(0, char::len_utf8) };
        line_start + start..line_start + start + length
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_word_at_a_place_is_found_behind_wide_letters() {
        let source = Source { path: "x".into(), text: "let ä = 1;\nlet größe = flange(3);\n".into() };
        assert_eq!(&source.text[source.word_at(Place { line: 2, column: 5 })], "größe");
        assert_eq!(&source.text[source.word_at(Place { line: 2, column: 13 })], "flange");
        assert_eq!(&source.text[source.word_at(Place { line: 2, column: 19 })], "(");
        assert_eq!(source.word_at(Place { line: 9, column: 9 }).len(), 0);
    }
}
