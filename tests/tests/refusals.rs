//! Every message, word for word: what `make` says to the scripts and histories in `tests/refusals/`.
//!
//! A case is a file `<code with __ for ::>[.<variant>].rhai` (or `.json`), with the text it must give beside it
//! in `.txt`, and values for its parameters in `.set`. `FOLDWRIGHT_ACCEPT=1 cargo test -p foldwright-tests
//! --test refusals` writes the texts anew; read each one that changed as the engineer who gets it.

#![allow(clippy::unwrap_used, reason = "a check stops at the first surprise, in its helping functions too")]

use std::collections::{BTreeMap, BTreeSet};
use std::fs;
use std::path::{Path, PathBuf};

use foldwright::commands::{self, Contributors, Picture, ShopFiles};
use foldwright_tests::{accepting, source_files};

/// Codes that no script can bring about, with the reason or the place of their test.
const ELSEWHERE: &[(&str, &str)] = &[
    (
        "dimension::too_many_measures",
        "kernel/tests/dimensions.rs: scripts refuse such a measure where it is made",
    ),
    ("fold::cut_grazes_bend", "a cut that ends within 0.0001 mm of a bend's start, on one side of it only"),
    ("brake::order_unreadable", "script-host/tests/command_line.rs, where there are files"),
    ("files::bad_tools_file", "script-host/tests/command_line.rs, where there are files"),
    ("dimension::aim_unfinished", "no part is known that four thousand trials do not finish"),
    (
        "history::mesh_not_given",
        "kernel/tests/neighbours/files.rs: the program gives every file or says why not",
    ),
    ("files::unreadable", "script-host/tests/command_line.rs, where there are files"),
    ("files::bad_shop_file", "script-host/tests/command_line.rs, where there are files"),
    ("stock::unknown_limit", "script-host/tests/command_line.rs: scripts refuse it as an unknown option"),
    ("stock::limit_of_another_kind", "script-host/tests/command_line.rs: scripts refuse it as a wrong type"),
    ("files::unwritable", "script-host/tests/command_line.rs, where there are files"),
    ("dimension::blank_not_settled", "no part is known that eighty rounds do not settle"),
    ("dimension::clearance_not_settled", "no part is known that eighty rounds do not settle"),
    (
        "explain::unknown_number",
        "script-host/tests/command_line.rs, since it is about a name of the command line",
    ),
    ("fold::bad_quantity", "turns and radii out of range are refused by the dimension stage before"),
    ("fold::outline_open", "an outline closes by its making, and edges without length are refused before"),
    ("fold::panel_open", "an edge that bends leave nothing of is refused before"),
    ("fold::opening_not_cut", "no known openings defeat the boolean, which tries again in a turned frame"),
    ("blank::not_closed", "would be a mistake of the fold stage: strips and panels share their vertices"),
];

fn cases() -> Vec<PathBuf> {
    let is_case = |path: &PathBuf| path.extension().is_some_and(|e| e == "rhai" || e == "json");
    let mut cases: Vec<PathBuf> =
        fs::read_dir("refusals").unwrap().map(|entry| entry.unwrap().path()).filter(is_case).collect();
    cases.sort();
    assert!(cases.len() > 100, "only {} cases were found", cases.len());
    cases
}

/// `script__wrong_type.text_for_number.rhai` is about `script::wrong_type`.
fn code_of(case: &Path) -> String {
    let name = case.file_name().unwrap().to_str().unwrap();
    name.split('.').next().unwrap().replace("__", "::")
}

fn settings_of(case: &Path) -> BTreeMap<String, String> {
    let text = fs::read_to_string(case.with_extension("set")).unwrap_or_default();
    text.lines().map(|line| line.split_once('=').unwrap()).map(|(n, v)| (n.into(), v.into())).collect()
}

/// What the program prints, with the output folder called `OUT`.
fn said(case: &Path) -> String {
    let folder = tempfile::tempdir().unwrap();
    let out = folder.path().join("out");
    let mut printed = Vec::new();
    match commands::make(
        case,
        settings_of(case),
        ShopFiles::default(),
        Some(&out),
        Picture::None,
        Contributors::Unsaid,
        &mut printed,
    ) {
        Ok(made) => {
            assert_eq!(made.folder, out);
            String::from_utf8(printed).unwrap().replace(out.to_str().unwrap(), "OUT")
        }
        Err(failure) => {
            assert_eq!(failure.exit_code(), 1, "{}", case.display());
            assert!(!out.exists(), "{} was refused, yet there is an output folder", case.display());
            failure.text()
        }
    }
}

#[test]
fn every_refusal_says_what_it_always_said() {
    let mut wrong = Vec::new();
    for case in cases() {
        let (text, expected_file) = (said(&case), case.with_extension("txt"));
        let code = code_of(&case);
        assert!(text.contains(&format!("[{code}]")), "{} does not give {code}:\n{text}", case.display());
        if accepting() {
            fs::write(&expected_file, &text).unwrap();
        }
        let expected = fs::read_to_string(&expected_file).unwrap_or_default();
        if text != expected {
            wrong.push(format!("--- {}\n{expected}+++ now\n{text}", case.display()));
        }
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}

#[test]
fn every_message_points_at_its_place_and_says_enough() {
    // Findings about the whole part or the whole file have no line of their own.
    let without_place =
        ["dimension::ran_away", "history::no_base_panel", "script::no_part", "script::unknown_parameter"];
    for case in cases().iter().filter(|case| case.extension().unwrap() == "rhai") {
        let text = said(case);
        let place = format!("--> {}:", case.display());
        let pointed =
            text.lines().any(|line| line.trim_start().starts_with(&place) && line.matches(':').count() == 2);
        assert_eq!(pointed, !without_place.contains(&code_of(case).as_str()), "{text}");
        assert!(!text.contains("foldwright::") && !text.contains("kernel::"), "a Rust name shows:\n{text}");
    }
}

#[test]
fn every_code_has_a_refusal_or_a_reason_why_not() {
    let mut codes = BTreeSet::new();
    for (path, text) in source_files(&["kernel/src", "script-host/src"]) {
        for literal in text.split('"').filter(|literal| is_code(literal)) {
            codes.insert(literal.to_owned());
        }
        assert!(!text.is_empty(), "{}", path.display());
    }
    assert!(codes.len() > 70, "only {} codes were found", codes.len());
    let tested: BTreeSet<String> = cases().iter().map(|case| code_of(case)).collect();
    let elsewhere: BTreeSet<String> = ELSEWHERE.iter().map(|(code, _)| (*code).to_owned()).collect();
    let known: BTreeSet<String> = tested.union(&elsewhere).cloned().collect();
    assert_eq!(codes.difference(&known).collect::<Vec<_>>(), Vec::<&String>::new(), "codes without a case");
    assert_eq!(known.difference(&codes).collect::<Vec<_>>(), Vec::<&String>::new(), "cases without a code");
    assert_eq!(
        tested.intersection(&elsewhere).collect::<Vec<_>>(),
        Vec::<&String>::new(),
        "a case after all"
    );
}

/// `module::snake_case`.
fn is_code(literal: &str) -> bool {
    let word = |w: &str| !w.is_empty() && w.chars().all(|c| c.is_ascii_lowercase() || c == '_');
    literal.split_once("::").is_some_and(|(module, fault)| word(module) && word(fault))
}
