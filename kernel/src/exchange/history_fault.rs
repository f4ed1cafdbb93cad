//! Why a saved history or bend order cannot be read, in words of our own.
//!
//! Job: say where in the text a fault is, and what the reader has against it ([`super::reader_words`]). Invariant: a
//! fault has its line and column. Must not know: what a key means.

use super::reader_words;

/// What the reader of the text says, in plain words, with the place.
pub(super) fn words(text: &str, fault: &serde_json::Error) -> String {
    let (line, column) = (fault.line(), fault.column());
    let said = fault.to_string();
    // The reader repeats the place at the end of its own words.
    let said = said.strip_suffix(&format!(" at line {line} column {column}")).unwrap_or(&said);
    // These name a key themselves; the place is what the key is in.
    let names_key = ["missing field", "unknown field", "duplicate field"].iter().any(|s| said.starts_with(s));
    // These are known only once the bracket of the object is read.
    let is_closed = said.starts_with("missing field") || said == "expected value";
    let end = end(text, line, column);
    let end = if is_closed { text[..end].strip_suffix('}').map_or(end, str::len) } else { end };
    let place = place(&text[..end], if names_key { LastKey::Left } else { LastKey::Told });
    let place = if place.is_empty() { String::new() } else { format!(", in `{place}`") };
    format!("line {line}, column {column}{place}: {}", reader_words::plain(said, "an object"))
}

/// Whether the key that was read last is part of a place.
#[derive(Clone, Copy, PartialEq, Eq)]
enum LastKey {
    Told,
    Left,
}

/// What is open at a place of the text.
enum Opened {
    Object { key: Option<String>, awaits_key: bool },
    List { index: usize },
}

/// Where in the text a column of a line ends; both count from 1, columns in bytes.
fn end(text: &str, line: usize, column: usize) -> usize {
    let before: usize = text.split_inclusive('\n').take(line.saturating_sub(1)).map(str::len).sum();
    let mut end = (before + column).min(text.len());
    while !text.is_char_boundary(end) {
        end -= 1;
    }
    end
}

/// Where a text ends that was read so far, as keys and indices from 0: `features[2].feature.flange`; empty at
/// the top.
fn place(read: &str, last: LastKey) -> String {
    let mut opened: Vec<Opened> = Vec::new();
    let mut rest = read.chars();
    while let Some(c) = rest.next() {
        match (c, opened.last_mut()) {
            ('"', top) => {
                let string = string(&mut rest);
                if let Some(Opened::Object { key, awaits_key: true }) = top {
                    *key = Some(string);
                }
            }
            (':', Some(Opened::Object { awaits_key, .. })) => *awaits_key = false,
            (',', Some(Opened::Object { key, awaits_key })) => (*key, *awaits_key) = (None, true),
            (',', Some(Opened::List { index })) => *index += 1,
            ('{', _) => opened.push(Opened::Object { key: None, awaits_key: true }),
            ('[', _) => opened.push(Opened::List { index: 0 }),
            ('}' | ']', _) => drop(opened.pop()),
            _ => {}
        }
    }
    if let (LastKey::Left, Some(Opened::Object { key, .. })) = (last, opened.last_mut()) {
        *key = None;
    }
    let mut place = String::new();
    for one in &opened {
        match one {
            Opened::Object { key: Some(key), .. } if place.is_empty() => place.push_str(key),
            Opened::Object { key: Some(key), .. } => place.push_str(&format!(".{key}")),
            Opened::Object { key: None, .. } => {}
            Opened::List { index } => place.push_str(&format!("[{index}]")),
        }
    }
    place
}

/// The rest of a string whose opening quote was read.
fn string(rest: &mut std::str::Chars<'_>) -> String {
    let mut string = String::new();
    while let Some(c) = rest.next() {
        match c {
            '"' => break,
            '\\' => string.extend(rest.next()),
            c => string.push(c),
        }
    }
    string
}

#[cfg(test)]
mod tests {
    use serde::Deserialize;

    use super::*;

    #[derive(Debug, Deserialize)]
    #[serde(deny_unknown_fields, rename_all = "snake_case")]
    #[expect(dead_code, reason = "only read")]
    enum Shape {
        Round(f64),
        Square { side: [f64; 2] },
        Plain,
    }

    #[derive(Debug, Deserialize)]
    #[serde(deny_unknown_fields)]
    #[expect(dead_code, reason = "only read")]
    struct Sheet {
        name: String,
        count: u32,
        shapes: Vec<Shape>,
    }

    fn said(text: &str) -> String {
        words(text, &serde_json::from_str::<Sheet>(text).unwrap_err())
    }

    #[test]
    fn each_kind_of_fault_has_its_place_and_plain_words() {
        let whole = |shapes: &str| format!(r#"{{"name": "a, \"b\" {{", "count": 1, "shapes": [{shapes}]}}"#);
        for (text, want) in [
            (r#"{"name": "a", "count": 1}"#.to_owned(), ": `shapes` is missing".to_owned()),
            (
                r#"{"nme": "a"}"#.to_owned(),
                ": there is no key `nme` here; the keys are `name`, `count`, `shapes`".into(),
            ),
            (r#"{"name": "a", "name": "b"}"#.to_owned(), ": `name` is given twice".into()),
            (
                r#"{"name": 5}"#.to_owned(),
                ", in `name`: this is the number 5, where text in quotes belongs".into(),
            ),
            (
                r#"{"count": -2}"#.to_owned(),
                ", in `count`: this is the number -2, where a whole number of 0 or more belongs".into(),
            ),
            (
                whole(r#""plain", {"round": "x"}"#),
                r#", in `shapes[1].round`: this is the text "x", where a number belongs"#.into(),
            ),
            (
                whole(r#""plain", "flat""#),
                ", in `shapes[1]`: `flat` is not known here; known are `round`, `square`, `plain`".into(),
            ),
            (whole(r#"{"square": {}}"#), ", in `shapes[0].square`: `side` is missing".into()),
            (
                whole(r#"{"square": {"side": [1.0]}}"#),
                ", in `shapes[0].square.side`: this is a list of 1, where a list of 2 belongs".into(),
            ),
            (whole("7"), ", in `shapes[0]`: another kind of value belongs here".into()),
            (r#"{"name": "a", "#.to_owned(), ": the text ends too early".into()),
            (r#"{"name": }"#.to_owned(), ", in `name`: another kind of value belongs here".into()),
        ] {
            let got = said(&text);
            let place = got.find([',', ':'].as_slice()).map_or("", |_| got.split_once("column ").unwrap().1);
            let got = place.trim_start_matches(|c: char| c.is_ascii_digit());
            assert_eq!(got, want, "{text}");
        }
    }
}
