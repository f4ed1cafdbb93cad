//! Golden files: what a family gave when someone last looked at it and found it right.
//!
//! A golden file is Markdown: a title, a comment section with figures derived by hand, then one section for
//! each stage with lines `name: values`. Invariant: words are compared as words, numbers within
//! [`NUMBER_TOLERANCE`]; the comment is kept when a file is written anew. Must not know: families, stages.

use std::fmt::Write as _;
use std::path::Path;

use crate::accepting;

/// Numbers are written with four decimals; a number that moved by one in the last place has not moved.
pub const NUMBER_TOLERANCE: f64 = 1.5e-4;

/// Heading of the section that a person writes.
const BY_HAND: &str = "## by hand\n";

/// One golden file as the program would write it today.
#[derive(Debug)]
pub struct Golden {
    title: String,
    text: String,
}

impl Golden {
    /// Begins a file.
    #[must_use]
    pub fn new(title: &str) -> Self {
        Self { title: title.to_owned(), text: String::new() }
    }

    /// Begins a section.
    pub fn section(&mut self, name: &str) {
        let _ = write!(self.text, "\n## {name}\n\n");
    }

    /// Adds a line `name: values`.
    pub fn line(&mut self, name: &str, values: &str) {
        let _ = writeln!(self.text, "- {name}: {values}");
    }

    /// Compares with the file, or writes it if the person at the keyboard accepts what is new.
    ///
    /// # Errors
    /// The lines that differ.
    ///
    /// # Panics
    /// If the file cannot be written.
    pub fn check(&self, file: &Path) -> Result<(), String> {
        let old = std::fs::read_to_string(file).unwrap_or_default();
        let (by_hand, golden) = parted(&old);
        if accepting() {
            let by_hand = by_hand.trim();
            let by_hand =
                if by_hand.is_empty() { String::new() } else { format!("\n{BY_HAND}\n{by_hand}\n") };
            let text = format!("# {}\n{by_hand}{}", self.title, self.text);
            std::fs::write(file, text).unwrap_or_else(|e| panic!("{}: {e}", file.display()));
            return Ok(());
        }
        let differing = differing_lines(&golden, &self.text);
        if differing.is_empty() {
            Ok(())
        } else {
            Err(format!("{}:\n{}", file.display(), differing.join("\n")))
        }
    }
}

/// The figures in the section written by hand, as lines `- name: number`.
///
/// # Panics
/// If the file cannot be read or has no such lines.
#[must_use]
pub fn figures_by_hand(file: &Path) -> Vec<(String, f64)> {
    let text = std::fs::read_to_string(file).unwrap_or_else(|e| panic!("{}: {e}", file.display()));
    let (by_hand, _) = parted(&text);
    let figures: Vec<_> = by_hand
        .lines()
        .filter_map(|line| line.strip_prefix("- ")?.split_once(": "))
        .map(|(name, number)| {
            let number = number.trim().parse();
            (name.to_owned(), number.unwrap_or_else(|e| panic!("{}: {name}: {e}", file.display())))
        })
        .collect();
    assert!(!figures.is_empty(), "{} has no figure by hand", file.display());
    figures
}

/// The section by hand, and everything else but the title.
fn parted(text: &str) -> (String, String) {
    let Some((_, rest)) = text.split_once(BY_HAND) else {
        let after_title = text.split_once('\n').map_or("", |(_, rest)| rest);
        return (String::new(), after_title.to_owned());
    };
    let end = rest.find("\n## ").unwrap_or(rest.len());
    (rest[..end].to_owned(), rest[end..].to_owned())
}

fn differing_lines(old: &str, new: &str) -> Vec<String> {
    let lines = |text: &str| text.lines().map(str::to_owned).filter(|l| !l.is_empty()).collect::<Vec<_>>();
    let (old, new) = (lines(old), lines(new));
    let mut differing = Vec::new();
    for index in 0..old.len().max(new.len()) {
        match (old.get(index), new.get(index)) {
            (Some(a), Some(b)) if same_line(a, b) => {}
            (a, b) => {
                differing.extend(a.map(|a| format!("- {a}")));
                differing.extend(b.map(|b| format!("+ {b}")));
            }
        }
    }
    differing
}

/// Word by word; words that are numbers may differ by the tolerance.
fn same_line(a: &str, b: &str) -> bool {
    let same_word = |(a, b): (&str, &str)| match (a.parse::<f64>(), b.parse::<f64>()) {
        (Ok(x), Ok(y)) => (x - y).abs() <= NUMBER_TOLERANCE,
        _ => a == b,
    };
    a.split(' ').count() == b.split(' ').count() && a.split(' ').zip(b.split(' ')).all(same_word)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn numbers_are_compared_as_numbers_and_words_as_words() {
        assert!(same_line("- size: 12.0000 mm", "- size: 12.0001 mm"));
        assert!(!same_line("- size: 12.0000 mm", "- size: 12.0002 mm"));
        assert!(!same_line("- size: 12.0000 mm", "- width: 12.0000 mm"));
        assert!(!same_line("- size: 12 13", "- size: 12"));
    }

    #[test]
    fn a_line_too_many_or_too_few_differs() {
        assert_eq!(differing_lines("a\n\nb", "a\nb"), Vec::<String>::new());
        assert_eq!(differing_lines("a\nb", "a"), ["- b"]);
        assert_eq!(differing_lines("a", "a\nc"), ["+ c"]);
    }

    #[test]
    fn the_section_by_hand_is_told_from_the_rest() {
        let (by_hand, rest) = parted("# lid\n\n## by hand\n\nwhy\n- length: 3\n\n## parameters\n\n- a: 1\n");
        assert_eq!(by_hand.trim(), "why\n- length: 3");
        assert_eq!(rest.trim(), "## parameters\n\n- a: 1");
        assert_eq!(parted("# lid\n\n## refusal\n"), (String::new(), "\n## refusal\n".to_owned()));
    }
}
