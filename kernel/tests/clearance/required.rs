//! What is measured against what is required: the check, its words, and what the report says.

use kernel::check::{Room, room};
use kernel::diag::{Bound, Diagnostic};
use kernel::history::{NeighbourEntry, NeighbourSpec, Stand};
use kernel::regenerate::{Part, regenerate};
use serde_json::Value;

use super::{assert_near, bracket_asked, made};

fn neighbour(name: &str, kind: NeighbourSpec, clearance: f64, bolted: bool) -> NeighbourEntry {
    NeighbourEntry {
        name: name.to_owned(),
        kind,
        clearance: Some(clearance),
        hazard: None,
        bolted,
        travel: None,
        turning: None,
        span: None,
    }
}

/// The bracket among these neighbours.
fn among(neighbours: Vec<NeighbourEntry>) -> Part {
    made(&kernel::history::History { neighbours, ..bracket_asked() })
}

/// A shaft of 20 mm diameter along x, its axis 25 mm over the plate: 15 mm away.
fn shaft(clearance: f64) -> NeighbourEntry {
    let kind = NeighbourSpec::Shaft { from: [0.0, 30.0, 25.0], to: [120.0, 30.0, 25.0], diameter: 20.0 };
    neighbour("drive-shaft", kind, clearance, false)
}

/// A block of 20 x 20 x 10 mm above the plate, its bottom at this height.
fn foot(z: f64, bolted: bool) -> NeighbourEntry {
    let stand = Stand { at: [30.0, 30.0, z], along: [0.0, 0.0, 1.0], across: None };
    neighbour("pump-foot", NeighbourSpec::Block { stand, size: [20.0, 20.0, 10.0] }, 2.0, bolted)
}

fn found(part: &Part) -> Vec<&Diagnostic> {
    part.findings.iter().filter(|finding| finding.code == "check::neighbour_too_near").collect()
}

#[test]
fn distance_is_compared_with_what_the_neighbour_asks_for() {
    for (asked, wrong) in [(15.0, false), (15.0 + 5e-7, false), (15.0 + 2e-6, true), (18.0, true)] {
        let part = among(vec![shaft(asked)]);
        assert_eq!(found(&part).len(), usize::from(wrong), "{asked}");
        assert_near(part.clearances[0].distance, 15.0);
    }
    let part = among(vec![shaft(18.0)]);
    let [finding] = found(&part)[..] else { panic!("one finding") };
    assert!(
        finding.message.starts_with("panel `plate` comes within 15.00 mm of neighbour `drive-shaft`, at ("),
        "{}",
        finding.message
    );
    assert!(finding.message.ends_with("; 18.00 mm are required"), "{}", finding.message);
    assert!(
        finding.hints[0].starts_with("move the neighbour by 3.00 mm along (0.000, 0.000, 1.000)"),
        "{:?}",
        finding.hints
    );
    let names: Vec<&str> = finding.origins.iter().map(|origin| origin.name.as_str()).collect();
    assert_eq!(names, ["drive-shaft", "plate"]);
    let measure = finding.measure.as_ref().unwrap();
    assert_near(measure.got, 15.0);
    assert_eq!((measure.limit, measure.bound), (18.0, Bound::AtLeast));
}

#[test]
fn contact_is_right_where_bolted_and_overlap_never_is() {
    let is_wrong = |bolted, z| !found(&among(vec![foot(z, bolted)])).is_empty();
    assert!(is_wrong(false, 0.0));
    assert!(!is_wrong(true, 0.0));
    // Half-way is neither contact nor clearance; 0.5 mm deep is an overlap.
    assert!(is_wrong(true, 1.0));
    assert!(!is_wrong(true, 2.0));
    let part = among(vec![foot(-0.5, true)]);
    let [deep] = found(&part)[..] else { panic!("one finding") };
    assert!(deep.message.contains("need the same place, 0.50 mm deep"), "{}", deep.message);
    // Half a millimetre up sets it free, two more are the clearance.
    assert!(
        deep.hints[0].starts_with("move the neighbour by 2.50 mm along (0.000, 0.000, 1.000)"),
        "{deep:?}"
    );
    assert_near(part.clearances[0].distance, -0.5);
}

#[test]
fn every_room_has_its_word() {
    let cases = [
        (foot(2.0, false), "kept"),
        (foot(0.0, true), "touching"),
        (foot(1.0, false), "too near"),
        (foot(-1.0, true), "overlapping"),
    ];
    for (entry, word) in cases {
        let part = among(vec![entry]);
        assert_eq!(room(&part.neighbours[0], &part.clearances[0]).words(), word);
    }
    // Touching what must be kept clear of is nearness, even if nothing but not overlapping is asked for.
    let mut bare = foot(0.0, false);
    bare.clearance = None;
    let part = among(vec![bare]);
    assert_eq!(room(&part.neighbours[0], &part.clearances[0]), Room::Kept);
}

#[test]
fn report_says_how_near_each_neighbour_is_and_that_the_rule_was_asked() {
    let history =
        kernel::history::History { neighbours: vec![shaft(18.0), foot(0.0, true)], ..bracket_asked() };
    let part = regenerate(&history).unwrap();
    let files = part.files(&history, &part.details(&history)).unwrap();
    let (_, bytes) = files.iter().find(|(name, _)| *name == "report.json").unwrap();
    let report: Value = serde_json::from_slice(bytes).unwrap();
    let [shaft, foot] = [0, 1].map(|index| &report["neighbours"][index]["nearest"]);
    assert_eq!(shaft["distance_mm"], 15.0);
    assert_eq!((&shaft["verdict"], &shaft["feature"]), (&"too near".into(), &"plate".into()));
    assert_eq!(shaft["zone"], "panel `plate`");
    assert_eq!(shaft["on_part_mm"][2], 0.0);
    assert_eq!(shaft["on_neighbour_mm"][2], 15.0);
    assert_eq!(shaft["open"], false);
    assert_eq!((&foot["distance_mm"], &foot["verdict"]), (&0.0.into(), &"touching".into()));
    let rules = report["rules"].as_array().unwrap();
    let rule = rules.iter().find(|rule| rule["code"] == "check::neighbour_too_near").unwrap();
    assert_eq!((&rule["status"], &rule["findings"]), (&"fault".into(), &1.into()));
}
