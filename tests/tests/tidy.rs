//! Rules of the project that the compiler does not know, read from its own sources.

#![allow(clippy::unwrap_used, reason = "a check stops at the first surprise, in its helping functions too")]

use std::collections::{BTreeMap, BTreeSet};
use std::path::{Path, PathBuf};

use foldwright_tests::{project_folder, source_files};

/// The layers of the kernel, lowest first. A module knows lower layers only; modules of one layer do not know
/// each other.
const LAYERS: &[&[&str]] = &[
    &["quantity", "ident"],
    &["geom", "diag"],
    &["solve", "stock", "machine", "guarding"],
    &["history"],
    &["dimension"],
    &["fold"],
    &["blank", "solid"],
    &["check", "brake", "cost", "guard"],
    &["drawing", "exchange", "explain"],
    &["regenerate"],
];

/// Lines of a Rust source without comments and without what follows `#[cfg(test)]`, each with its number.
///
/// Test modules stand at the end of a file and may look anywhere: they make parts from histories.
fn product_lines(text: &str) -> impl Iterator<Item = (usize, &str)> {
    let starts =
        ["mod ", "pub mod ", "pub(crate) mod ", "pub(super) mod "].map(|m| format!("#[cfg(test)]\n{m}"));
    let end = starts.iter().filter_map(|start| text.find(start)).min().unwrap_or(text.len());
    let code = |line| str::split(line, "//").next().unwrap_or("");
    text[..end].lines().enumerate().map(move |(index, line)| (index + 1, code(line)))
}

fn is_test_file(path: &Path) -> bool {
    path.file_name().is_some_and(|name| name == "tests.rs")
}

/// Product sources of the kernel.
fn kernel_sources() -> Vec<(PathBuf, String)> {
    source_files(&["kernel/src"]).into_iter().filter(|(path, _)| !is_test_file(path)).collect()
}

/// `kernel/src/fold/tree.rs` and `kernel/src/diag.rs` belong to `fold` and `diag`.
fn module_of(path: &Path) -> String {
    let first = path.components().nth(2).unwrap().as_os_str().to_str().unwrap();
    first.trim_end_matches(".rs").to_owned()
}

/// Modules named in `crate::…` paths, also in `use crate::{a::…, b::…}`.
fn modules_named(code: &str) -> BTreeSet<String> {
    let word =
        |text: &str| text.chars().take_while(|c| c.is_ascii_lowercase() || *c == '_').collect::<String>();
    let mut named = BTreeSet::new();
    for rest in code.split("crate::").skip(1) {
        match rest.strip_prefix('{') {
            Some(group) => {
                let mut depth = 0_i32;
                let group: String = group
                    .chars()
                    .take_while(|&c| {
                        depth += i32::from(c == '{') - i32::from(c == '}');
                        depth >= 0
                    })
                    .collect();
                let mut depth = 0_i32;
                let top_level = group.split(|c| {
                    depth += i32::from(c == '{') - i32::from(c == '}');
                    c == ',' && depth == 0
                });
                named.extend(top_level.map(|part| word(part.trim())));
            }
            None => drop(named.insert(word(rest))),
        }
    }
    named.remove("");
    named
}

#[test]
fn modules_of_the_kernel_know_lower_layers_only() {
    let layer_of: BTreeMap<&str, usize> = LAYERS
        .iter()
        .enumerate()
        .flat_map(|(layer, names)| names.iter().map(move |name| (*name, layer)))
        .collect();
    let mut wrong = Vec::new();
    let mut arrows = 0;
    for (path, text) in kernel_sources() {
        let own = module_of(&path);
        if own == "lib" {
            continue;
        }
        let own_layer = *layer_of.get(own.as_str()).unwrap_or_else(|| panic!("`{own}` is in no layer"));
        let code: String = product_lines(&text).flat_map(|(_, line)| [line, "\n"]).collect();
        for named in modules_named(&code).into_iter().filter(|named| *named != own) {
            arrows += 1;
            match layer_of.get(named.as_str()) {
                Some(&layer) if layer < own_layer => {}
                Some(_) => wrong.push(format!("{}: `{own}` must not know `{named}`", path.display())),
                None => wrong.push(format!("{}: `{named}` is in no layer", path.display())),
            }
        }
    }
    assert!(arrows > 100, "only {arrows} uses were found");
    assert_eq!(wrong, Vec::<String>::new());
}

#[test]
fn modules_named_sees_paths_and_groups() {
    let code = "use crate::{fold::{Panel, tree}, geom::Point2};\nfn f(p: crate::stock::Sheet) {}\nuse crate::diag::Span;";
    assert_eq!(modules_named(code), ["diag", "fold", "geom", "stock"].map(str::to_owned).into());
}

#[test]
fn the_kernel_reads_no_file_no_clock_and_prints_nothing() {
    let banned = [
        "std::fs",
        "std::env",
        "std::net",
        "std::process",
        "std::io",
        "println!",
        "print!",
        "eprintln!",
        "Instant",
        "SystemTime",
        "foldwright::",
        "rhai",
        "script_host",
    ];
    for (path, text) in kernel_sources() {
        for (number, line) in product_lines(&text) {
            let known = banned.iter().find(|word| line.contains(**word));
            assert_eq!(known, None, "{}:{number}: the kernel must not know this", path.display());
        }
    }
    let manifest = std::fs::read_to_string(project_folder().join("kernel/Cargo.toml")).unwrap();
    assert!(!manifest.contains("rhai") && !manifest.contains("foldwright.workspace"), "{manifest}");
}

#[test]
fn every_module_states_its_invariant() {
    let mut without = Vec::new();
    for (path, text) in source_files(&["kernel/src", "script-host/src"]) {
        let head: String = text.lines().take_while(|line| line.starts_with("//!")).collect();
        if head.is_empty() || !(is_test_file(&path) || head.contains("Invariant")) {
            without.push(path);
        }
    }
    assert_eq!(without, Vec::<PathBuf>::new());
}

#[test]
fn small_numbers_have_a_name() {
    let mut found = 0;
    let mut nameless = Vec::new();
    for (path, text) in kernel_sources() {
        for (number, line) in product_lines(&text) {
            // `1e-9`, `2.5e-3`: a digit, `e-`, a digit.
            let small = line.match_indices("e-").any(|(at, _)| {
                let digit =
                    |i: Option<usize>| i.and_then(|i| line.as_bytes().get(i)).is_some_and(u8::is_ascii_digit);
                digit(at.checked_sub(1)) && digit(Some(at + 2))
            });
            if small {
                found += 1;
                if !line.trim_start().trim_start_matches("pub ").starts_with("const ") {
                    nameless.push(format!("{}:{number}: {}", path.display(), line.trim()));
                }
            }
        }
    }
    assert!(found >= 10, "only {found} were found, yet `quantity::tolerance` alone has more");
    assert_eq!(nameless, Vec::<String>::new(), "give them a name in `quantity::tolerance`");
}

/// Compares a generated document with what the program would write now, or writes it anew.
fn assert_generated(path: &str, now: &str) {
    let file = project_folder().join(path);
    if std::env::var_os("FOLDWRIGHT_UPDATE_DOCS").is_some_and(|value| value == "1") {
        std::fs::write(&file, now).unwrap();
    }
    let written = std::fs::read_to_string(&file).unwrap_or_default();
    assert!(
        written == now,
        "{path} is out of date: run FOLDWRIGHT_UPDATE_DOCS=1 cargo test -p foldwright-tests --test tidy"
    );
}

#[test]
fn the_list_of_words_is_up_to_date() {
    assert_generated("docs/script-words.md", &foldwright::words_as_markdown());
}

#[test]
fn the_list_of_checks_is_up_to_date() {
    assert_generated("docs/makeability.md", &foldwright::makeability_as_markdown());
}
