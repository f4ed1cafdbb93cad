//! The checks and the limits of a shop as a document.
//!
//! Invariant: every check and every limit once, in the order of the kernel's tables. Must not know: how a check
//! works.

use std::fmt::Write as _;

use kernel::check;
use kernel::stock::{LIMITS, Usual};

/// `docs/makeability.md`.
#[must_use]
pub fn makeability_as_markdown() -> String {
    let mut text = String::from(
        "# What is checked\n\n\
         Generated from the program; the tests say how to write it anew.\n\
         Every part that `make` makes goes through these checks.\n\
         A **fault** is something that cannot be made or is not what was asked for, a **warning** is poor practice or comes out distorted, a **note** is advice.\n\
         A number at its limit is right.\n\
         `seen` is a source that was read, `from memory` one that was not; habits of the trade have no source.\n\n\
         | check | usual limit | source |\n|---|---|---|\n",
    );
    for check in check::ALL {
        let _ = writeln!(text, "| `{}` | {} | {} |", check.code, check.limit, check.source);
    }
    text += "\n## Limits of a shop\n\n\
         A shop that differs says so in a file of its own (TOML, one limit a line), which `foldwright make --shop FILE` puts in the place of the defaults for any family.\n\
         A family may say limits itself, with `part.shop(#{ … })`; what it says holds before the file.\n\
         Findings, `report.json` and `history.json` tell whose limit it was.\n\n\
         Units: `t` thicknesses, `V` die openings, `r` inside radii.\n\n\
         | limit | unit | default | allowed | limits | source of the default |\n|---|---|---|---|---|---|\n";
    for info in LIMITS {
        let rows = |rows: &[[f64; 2]]| {
            let rows: Vec<String> = rows.iter().map(|[a, b]| format!("[{a}, {b}]")).collect();
            rows.join(", ")
        };
        let default = match info.default {
            Usual::Number(number) => number.to_string(),
            Usual::Table => "a table".to_owned(),
            Usual::Numbers(list) => list.iter().map(ToString::to_string).collect::<Vec<_>>().join(", "),
            Usual::Pairs(list) => rows(list),
        };
        let [least, most] = info.range;
        let _ = writeln!(
            text,
            "| `{}` | {} | {default} | {least} to {most} | {} | {} |",
            info.name, info.unit, info.meaning, info.source
        );
    }
    text
}
