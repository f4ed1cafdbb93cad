//! Every output file of one rich part, read back by small readers of its own and compared with the part.
//!
//! Invariant: a reader here shares no code with the writer it checks.

#![expect(clippy::unwrap_used, reason = "a reader of a test stops at the first thing amiss")]

mod bends_csv;
mod dxf;
mod glb;
mod history_json;
mod no_order;
#[allow(dead_code, reason = "tests and benches use different parts")]
#[path = "../../benches/parts.rs"]
mod parts;
mod report;
mod sample;
mod step;
mod stl;
mod svg;

use kernel::exchange;

#[test]
fn same_part_same_bytes_and_every_format_once() {
    let sample = sample::part();
    let (first, second) = (sample.files(), sample::part().files());
    assert_eq!(first, second);
    let names: Vec<&str> = exchange::ALL.iter().map(|format| format.file_name).collect();
    assert_eq!(
        names,
        [
            "blank.dxf",
            "blank.svg",
            "folded.step",
            "folded.stl",
            "folded.glb",
            "bends.csv",
            "order.svg",
            "order.json",
            "report.json",
            "history.json"
        ]
    );
    assert!(first.iter().all(|(_, bytes)| !bytes.is_empty()));
}
