//! What the readers of JSON and TOML say, in plain words.
//!
//! Invariant: what is not known is passed on as it is, never lost. Must not know: what a key means, where it stands.

/// What the reader says, in plain words; `object` is what the format calls keys with values, for example `a table`.
#[must_use]
pub fn plain(said: &str, object: &str) -> String {
    let named = |start: &str| {
        let rest = said.strip_prefix(start)?.strip_prefix(" `")?;
        let (name, rest) = rest.split_once('`')?;
        let known = rest.strip_prefix(", expected ").map(|all| all.trim_start_matches("one of "));
        Some((name, known.map(|all| all.replace("` or `", "`, `"))))
    };
    if let Some((name, _)) = named("missing field") {
        return format!("`{name}` is missing");
    }
    if let Some((name, _)) = named("duplicate field") {
        return format!("`{name}` is given twice");
    }
    if let Some((name, known)) = named("unknown field") {
        let known = known.unwrap_or_else(|| "none".to_owned());
        return format!("there is no key `{name}` here; the keys are {known}");
    }
    if let Some((name, known)) = named("unknown variant") {
        return format!(
            "`{name}` is not known here; known are {}",
            known.unwrap_or_else(|| "none".to_owned())
        );
    }
    for start in ["invalid type: ", "invalid value: "] {
        if let Some((got, wanted)) = said.strip_prefix(start).and_then(|rest| rest.rsplit_once(", expected "))
        {
            return format!("this is {}, where {} belongs", found(got, object), expected(wanted, object));
        }
    }
    if let Some((got, wanted)) =
        said.strip_prefix("invalid length ").and_then(|rest| rest.split_once(", expected "))
    {
        return format!("this is a list of {got}, where {} belongs", expected(wanted, object));
    }
    match said {
        "data did not match any variant of untagged enum ParameterValue" => {
            "a number or a word in quotes belongs here".to_owned()
        }
        "data did not match any variant of untagged enum Saved" => {
            "a number belongs here, or an object with `constant` and `terms`".to_owned()
        }
        "data did not match any variant of untagged enum ShopValue" => {
            "a number, a list of numbers or a list of pairs of numbers belongs here".to_owned()
        }
        "trailing characters" => "something follows after the end".to_owned(),
        "duplicate key" => "this key is given twice".to_owned(),
        "trailing comma" => "a comma stands before a closing bracket".to_owned(),
        "expected value" => "another kind of value belongs here".to_owned(),
        "key must be a string" => "a key in quotes belongs here".to_owned(),
        said if said.starts_with("EOF while parsing") => "the text ends too early".to_owned(),
        said => syntax(said),
    }
}

/// What stands there.
fn found(got: &str, object: &str) -> String {
    let (kind, value) = got.split_once(' ').unwrap_or((got, ""));
    match kind {
        "string" => format!("the text {value}"),
        "integer" => format!("the number {}", value.trim_matches('`')),
        "floating" => format!("the number {}", value.trim_start_matches("point ").trim_matches('`')),
        "boolean" => value.trim_matches('`').to_owned(),
        "sequence" => "a list".to_owned(),
        "map" => object.to_owned(),
        _ => got.to_owned(),
    }
}

/// What belongs there.
fn expected(wanted: &str, object: &str) -> String {
    let (kind, rest) = wanted.split_once(' ').unwrap_or((wanted, ""));
    match (kind, rest) {
        ("f64", _) => "a number".to_owned(),
        ("u8" | "u16" | "u32" | "u64" | "usize", _) => "a whole number of 0 or more".to_owned(),
        ("i8" | "i16" | "i32" | "i64", _) => "a whole number".to_owned(),
        ("a" | "string", "string" | "") => "text in quotes".to_owned(),
        ("a", "boolean") => "`true` or `false`".to_owned(),
        ("a", "sequence") => "a list".to_owned(),
        ("a", "map") | ("struct", _) => format!("{object} with keys"),
        ("enum", _) => format!("a word in quotes, or {object} with one key,"),
        ("an", rest) if rest.starts_with("array of length ") => {
            format!("a list of {}", rest.trim_start_matches("array of length "))
        }
        _ => wanted.to_owned(),
    }
}

/// What is written otherwise than the format wants it.
fn syntax(said: &str) -> String {
    let one_line = said.split_whitespace().collect::<Vec<_>>().join(" ");
    match one_line.split_once("expected ") {
        Some((what, wanted)) => match what.trim_end_matches([' ', ',']) {
            "" => format!("{wanted} belongs here"),
            // The reader of TOML guesses that a word was meant.
            "string values must be quoted" => {
                "a number, text in quotes, `true`, `false`, a list or a table belongs here".to_owned()
            }
            "unclosed table" => format!("a bracket is not closed: here belongs {wanted}"),
            "invalid basic string" => format!("text in quotes is not closed: here belongs {wanted}"),
            what => format!("{what}: here belongs {wanted}"),
        },
        None => one_line,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_the_readers_say_becomes_plain() {
        for (said, want) in [
            ("missing field `angle`", "`angle` is missing"),
            (
                "unknown field `a`, expected one of `b`, `c`",
                "there is no key `a` here; the keys are `b`, `c`",
            ),
            ("unknown field `a`, expected `b` or `c`", "there is no key `a` here; the keys are `b`, `c`"),
            (
                "invalid type: string \"wide\", expected f64",
                "this is the text \"wide\", where a number belongs",
            ),
            ("invalid type: map, expected a sequence", "this is a table, where a list belongs"),
            (
                "invalid type: integer `3`, expected struct Brake",
                "this is the number 3, where a table with keys belongs",
            ),
            ("invalid type: boolean `true`, expected a string", "this is true, where text in quotes belongs"),
            ("unclosed table, expected `]`", "a bracket is not closed: here belongs `]`"),
            ("expected `,` or `]`", "`,` or `]` belongs here"),
            ("duplicate key", "this key is given twice"),
            ("anything\n else", "anything else"),
        ] {
            assert_eq!(plain(said, "a table"), want);
        }
    }
}
