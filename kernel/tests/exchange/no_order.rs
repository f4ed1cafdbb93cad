//! A part for which the shop has no punch: no file numbers its bends.

use kernel::brake::Outcome;
use kernel::stock::Tooling;
use serde_json::Value;

use super::sample::{self, Sample};

/// Lips are called `küb`, which DXF writes in its own way.
fn without_order() -> Sample {
    let mut history = sample::history();
    history.features[2].name = "küb".to_owned();
    history.dimensions.truncate(1);
    let mut sample = sample::part_of(history);
    let mut bending = sample.part.bending().clone();
    bending.tooling = Tooling { punches: Vec::new(), ..bending.tooling };
    sample.part = sample.part.bent_with(bending);
    assert!(matches!(sample.part.bend_plan().outcome, Outcome::Impossible { .. }));
    sample
}

const NAMES: [&str; 5] = ["wall.front", "wall.right", "wall.left", "küb.left", "küb.right"];

#[test]
fn table_and_report_list_bends_as_the_tree_does_without_numbers() {
    let sample = without_order();
    let of_tree: Vec<&str> = sample
        .part
        .tree
        .bends()
        .iter()
        .map(|bend| sample.part.tree.panel(bend.child).name.as_str())
        .collect();
    assert_eq!(of_tree, NAMES);
    let text = sample.text("bends.csv");
    let mut reader = csv::Reader::from_reader(text.as_bytes());
    let cells: Vec<[String; 2]> =
        reader.records().map(Result::unwrap).map(|row| [row[0].to_owned(), row[1].to_owned()]).collect();
    assert_eq!(cells, NAMES.map(|name| [String::new(), name.to_owned()]));
    let report: Value = serde_json::from_str(&sample.text("report.json")).unwrap();
    assert_eq!(report["bend_order"]["state"], "impossible");
    let bends: Vec<(&Value, &Value)> =
        report["bends"].as_array().unwrap().iter().map(|bend| (&bend["name"], &bend["order"])).collect();
    assert_eq!(
        bends,
        NAMES.map(|name| (Value::from(name), Value::Null)).iter().map(|(n, o)| (n, o)).collect::<Vec<_>>()
    );
}

#[test]
fn drawings_name_bends_instead_of_numbering_them() {
    let sample = without_order();
    let picture = sample.text("blank.svg");
    for name in NAMES {
        let turn = if name.starts_with("küb") { 45 } else { 90 };
        assert_eq!(picture.matches(&format!(">{name} · {turn}°</text>")).count(), 1, "{name}");
    }
    assert!(picture.contains("no order of bending") && !picture.contains(">1 · "), "{picture}");
    let drawing = sample.text("blank.dxf");
    assert!(drawing.is_ascii());
    let lines: Vec<&str> = drawing.lines().collect();
    let marks: Vec<&str> = (0..lines.len())
        .filter(|at| lines[*at] == "TEXT")
        .map(|at| lines[(at + 1..).step_by(2).find(|at| lines[*at].trim() == "1").unwrap() + 1])
        .collect();
    // `\U+00FC` is the ü of the standard's code table.
    assert_eq!(marks, ["wall.front", "wall.right", "wall.left", "k\\U+00FCb.left", "k\\U+00FCb.right"]);
}
