//! Writes the exact solids of random parts, for the outside checks: `random_parts FOLDER COUNT`.
//!
//! The same count gives the same parts. Each that can be made gets a folder named by its number, with
//! `folded.step`, `report.json` and `history.json`.

#![allow(clippy::print_stdout, reason = "a program for the command line")]

#[allow(dead_code, reason = "tests and benches use different parts")]
#[path = "../benches/parts.rs"]
mod parts;
#[path = "../tests/random/mod.rs"]
mod random;

use std::error::Error;
use std::fs;
use std::path::Path;

use kernel::regenerate::regenerate;
use proptest::strategy::{Strategy, ValueTree};
use proptest::test_runner::TestRunner;

const FILES: [&str; 3] = ["folded.step", "report.json", "history.json"];

fn main() -> Result<(), Box<dyn Error>> {
    let mut arguments = std::env::args().skip(1);
    let (Some(folder), Some(count)) = (arguments.next(), arguments.next()) else {
        return Err("two arguments are needed: FOLDER COUNT".into());
    };
    let count: usize = count.parse()?;
    let mut runner = TestRunner::deterministic();
    let strategy = random::random_part();
    let (mut tried, mut made) = (0, 0);
    while made < count {
        tried += 1;
        let history = strategy.new_tree(&mut runner).map_err(|reason| reason.to_string())?.current();
        let Ok(part) = regenerate(&history) else { continue };
        let Ok(files) = part.files(&history, &part.details(&history)) else { continue };
        let into = Path::new(&folder).join(format!("{made:03}"));
        fs::create_dir_all(&into)?;
        for (name, bytes) in files.iter().filter(|(name, _)| FILES.contains(name)) {
            fs::write(into.join(name), bytes)?;
        }
        made += 1;
    }
    println!("{made} of {tried} random histories can be made");
    Ok(())
}
