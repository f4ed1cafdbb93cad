//! Names that last: an edge, a face or a panel keeps its name when sizes change, when a feature is inserted
//! before, when a cut splits it, when features come in another order.
//!
//! Every family is changed in far more than twenty ways; after each change every name in its history must
//! still stand for the same thing, by where that lies and not only by that it is found.

#![allow(clippy::unwrap_used, reason = "a check stops at the first surprise, in its helping functions too")]

mod changes;
mod landing;

use std::collections::BTreeMap;
use std::path::Path;

use foldwright::{Loaded, load};
use foldwright_tests::project_folder;
use kernel::exchange::history_json;
use kernel::history::History;
use kernel::regenerate::{Part, regenerate};

use changes::{Change, of_sizes, of_structure, with_edges_mixed_up};
use landing::{Landing, Sizes, landings, moved, without_straight_cuts};

type Settings = BTreeMap<String, String>;

/// What a family is like before it is changed, if not as its script says: the fan screen starts small.
const STARTS: [(&str, &[(&str, &str)]); 1] =
    [("fan_screen", &[("length", "240"), ("width", "180"), ("hole", "6")])];

/// Two edges of each family's base panel that could be taken for each other, so that a part still comes out.
const MIXED_UP: [(&str, [&str; 2]); 5] = [
    ("chain_guard", ["left", "right"]),
    ("coupling_guard", ["front_foot", "back_foot"]),
    ("fan_screen", ["front", "back"]),
    ("sprocket_shield", ["left", "right"]),
    ("terminal_cover", ["left", "right"]),
];

fn script(family: &str) -> std::path::PathBuf {
    project_folder().join("scripts").join(family).with_extension("rhai")
}

fn loaded(family: &str, settings: &Settings) -> Loaded {
    load(&script(family), settings.clone()).unwrap_or_else(|failure| panic!("{}", failure.text()))
}

fn start_of(family: &str) -> Settings {
    let start = STARTS.iter().find(|(name, _)| *name == family).map_or(&[][..], |(_, pairs)| pairs);
    start.iter().map(|(n, v)| ((*n).to_owned(), (*v).to_owned())).collect()
}

/// Every script of the project.
fn families() -> Vec<String> {
    let folder = std::fs::read_dir(project_folder().join("scripts")).unwrap();
    let paths = folder.map(|entry| entry.unwrap().path());
    let is_script = |path: &Path| path.extension().is_some_and(|e| e == "rhai");
    let mut names: Vec<String> = paths
        .filter(|path| is_script(path))
        .map(|path| path.file_stem().unwrap().to_str().unwrap().to_owned())
        .collect();
    names.sort();
    names
}

struct Family {
    name: String,
    start: Settings,
    history: History,
    part: Part,
    landings: Vec<Landing>,
}

impl Family {
    fn new(name: &str) -> Self {
        let start = start_of(name);
        // The history as it is saved and read again: later changes are made to that.
        let saved = history_json::text(&loaded(name, &start).history);
        let history = history_json::read(&saved).unwrap();
        let part = regenerate(&history).unwrap_or_else(|findings| panic!("{name}: {findings:?}"));
        let landings = landings(&history, &history, &part).unwrap_or_else(|fault| panic!("{name}: {fault}"));
        Self { name: name.to_owned(), start, history, part, landings }
    }

    /// What is wrong after a change, if anything.
    fn fault_after(&self, change: &Change) -> Option<String> {
        let part = match regenerate(&change.history) {
            Ok(part) => part,
            Err(findings) => return Some(format!("cannot be made: {}", findings[0].message)),
        };
        match landings(&self.history, &change.history, &part) {
            Err(fault) => Some(fault),
            Ok(after) => {
                // A word of a parameter may leave features out; a changed structure may not.
                let kept =
                    |l: &&Landing| change.sizes == Sizes::Same || after.iter().any(|a| a.name == l.name);
                let before: Vec<Landing> = self.landings.iter().filter(kept).cloned().collect();
                moved(&before, &after, change.sizes)
            }
        }
    }

    fn assert_names_last(&self, changes: &[Change]) {
        let faults = changes.iter().filter_map(|c| Some(format!("{}: {}", c.what, self.fault_after(c)?)));
        let faults: Vec<String> = faults.collect();
        assert!(faults.is_empty(), "{}, {} changes:\n{}", self.name, changes.len(), faults.join("\n"));
    }
}

#[test]
fn names_last_when_sizes_change() {
    for name in families() {
        let family = Family::new(&name);
        assert!(family.landings.len() >= 5, "{name}: {:?}", family.landings);
        let changes = of_sizes(&name, &family.start);
        assert!(changes.len() >= 6, "{name} has only {} sizes", changes.len());
        family.assert_names_last(&changes);
    }
}

#[test]
fn names_last_when_features_are_inserted_or_swapped() {
    for name in families() {
        let family = Family::new(&name);
        let changes = of_structure(&family.history, &family.part);
        assert!(changes.len() >= 20, "{name} has only {} changes", changes.len());
        for kind in ["hole in", "bump in", "hole across", "flange on", "slot on the blank", " before "] {
            assert!(changes.iter().any(|c| c.what.contains(kind)), "{name}: no change with `{kind}`");
        }
        family.assert_names_last(&changes);
    }
}

#[test]
fn a_slot_across_a_bend_splits_the_edge_that_the_bend_starts_from() {
    let mut split = 0;
    for name in families() {
        let family = Family::new(&name);
        for change in of_structure(&family.history, &family.part) {
            let Some((_, child)) = change.what.split_once("slot on the blank across the bend of ") else {
                continue;
            };
            let spans = |part: &Part| {
                let bends = part.tree.bends().iter();
                let bend = bends.into_iter().find(|b| part.tree.panel(b.child).name.as_str() == child);
                bend.map(|b| b.start.len()).unwrap()
            };
            let part = regenerate(&change.history).unwrap();
            assert_eq!(spans(&part), spans(&family.part) + 1, "{name}: {}", change.what);
            split += 1;
        }
    }
    assert!(split >= 20, "only {split} edges were split");
}

#[test]
fn an_edge_that_is_mixed_up_with_another_is_noticed() {
    for name in families() {
        let family = Family::new(&name);
        let edges = MIXED_UP.iter().find(|(of, _)| *of == name).map(|(_, edges)| *edges);
        let edges = edges.unwrap_or_else(|| panic!("say which edges of {name} to mix up"));
        // A straight cut that misses a panel which it is asked to cut would be refused: noticed too, but earlier.
        let history = without_straight_cuts(&with_edges_mixed_up(&family.history, edges));
        let part = match regenerate(&history) {
            Ok(part) => part,
            // An opening on the axis of a bolt does not go with its panel, and is refused: noticed, but earlier.
            Err(findings) if findings.iter().all(|finding| finding.code == "fold::opening_outside") => {
                continue;
            }
            Err(findings) => panic!("{name}: {findings:?}"),
        };
        let after =
            landings(&family.history, &history, &part).unwrap_or_else(|fault| panic!("{name}: {fault}"));
        // Only where things lie tells: every name is found, and everything is as the changed numbers say.
        let of_flanges = |l: &&Landing| l.name.contains(": ");
        let before: Vec<Landing> = family.landings.iter().filter(of_flanges).cloned().collect();
        for sizes in [Sizes::Same, Sizes::Changed] {
            let fault = moved(&before, &after, sizes).unwrap_or_default();
            assert!(fault.contains(" was at "), "{name}: noticed only `{fault}`");
        }
    }
}
