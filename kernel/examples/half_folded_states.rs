//! Writes random half-folded parts at the brake with our answers, for the outside checks:
//! `half_folded_states FOLDER COUNT`.
//!
//! Each state is one entry of `states.json`: panels as polygons in their own frames, bends as numbers, which of them
//! are made and which is being made, outlines of the tools, and what the planner says. Nothing is placed: whoever
//! reads it has to fold the part anew.

#![allow(clippy::print_stdout, reason = "a program for the command line")]

#[allow(dead_code, reason = "tests and benches use different parts")]
#[path = "../benches/parts.rs"]
mod parts;

#[path = "../tests/bend_order/generator.rs"]
mod generator;

use std::error::Error;
use std::fmt::Write as _;
use std::fs;
use std::path::Path;

use generator::Dice;
use kernel::brake::{Block, Choice, Dies, Step, StepCosts, Trial, Wing};
use kernel::geom::Point2;
use kernel::history::feature::FoldSide;
use kernel::regenerate::Part;
use kernel::solid::Zone;
use kernel::stock::Tooling;

/// Where the random parts begin, so that they are others than those of the kernel's own tests.
const FIRST_SEED: u64 = 50_000;

fn points(outline: impl IntoIterator<Item = Point2>) -> String {
    let points: Vec<[f64; 2]> = outline.into_iter().map(|p| [p.x, p.y]).collect();
    // Debug form of floats in brackets is JSON.
    format!("{points:?}")
}

fn panels(part: &Part) -> String {
    let outline = |panel: &kernel::fold::Panel| {
        points(panel.region.outers().flat_map(|contour| contour.segments().iter().map(|s| s.start)))
    };
    let all: Vec<String> = part.tree.panels().iter().map(outline).collect();
    format!("[{}]", all.join(", "))
}

fn bends(part: &Part) -> String {
    let all = part.tree.bends().iter().map(|bend| {
        format!(
            "{{\"parent\": {}, \"child\": {}, \"origin\": {:?}, \"along\": {:?}, \"outward\": {:?}, \"reach\": {:?}, \
             \"up\": {}, \"turn\": {:?}, \"allowance\": {:?}, \"k\": {:?}}}",
            bend.parent.index(),
            bend.child.index(),
            [bend.origin.x, bend.origin.y],
            [bend.along.x, bend.along.y],
            [bend.outward.x, bend.outward.y],
            bend.reach(),
            bend.side == FoldSide::Up,
            bend.turn(),
            bend.allowance(),
            bend.k_factor(),
        )
    });
    format!("[{}]", all.collect::<Vec<_>>().join(", "))
}

fn zone(zone: Zone) -> String {
    match zone {
        Zone::Panel(id) => format!("\"panel {}\"", id.index()),
        Zone::Bend(id) => format!("\"bend {}\"", id.index()),
        Zone::Form(id) => format!("\"form {}\"", id.index()),
    }
}

fn answer(answer: &Result<Step, Block>) -> String {
    match answer {
        Ok(step) => format!("{{\"says\": \"clear\", \"rubs\": {}}}", step.rubs.is_some()),
        Err(Block::Tool { zone: z, tool }) => {
            format!("{{\"says\": \"tool\", \"tool\": \"{}\", \"zone\": {}}}", tool.word(), zone(*z))
        }
        Err(Block::Itself { zones }) => {
            format!("{{\"says\": \"itself\", \"zones\": [{}, {}]}}", zone(zones[0]), zone(zones[1]))
        }
        Err(Block::Room { zone: z, .. }) => format!("{{\"says\": \"room\", \"zone\": {}}}", zone(*z)),
        Err(Block::Segments { .. }) => "{\"says\": \"segments\"}".to_owned(),
    }
}

/// One state; none where the dice leave nothing to try.
fn state(part: &Part, tooling: &Tooling, dice: &mut Dice) -> Option<String> {
    let mut trial =
        Trial::new(&part.tree, &part.sheet, &part.limits, tooling, Dies::Usual, StepCosts::default());
    let count = trial.strokes().len();
    let stroke = dice.below(count);
    let done: Vec<usize> = (0..count).filter(|s| *s != stroke && dice.below(2) == 0).collect();
    let choices = trial.choices(stroke);
    if choices.is_empty() || done.is_empty() {
        return None;
    }
    let choice: Choice = choices[dice.below(choices.len())];
    let said = trial.step(&done, &choice);
    let bends_of = |s: &usize| trial.strokes()[*s].iter().map(|id| id.index()).collect::<Vec<_>>();
    let made: Vec<usize> = done.iter().flat_map(bends_of).collect();
    let (punch, die) = (&tooling.punches[choice.tools.punch], &tooling.dies[choice.tools.die]);
    let mut line = String::new();
    write!(
        line,
        "{{\"thickness\": {:?}, \"panels\": {}, \"bends\": {}, \"made\": {made:?}, \"now\": {:?}, \
         \"parent_at_back\": {}, \"half_turns\": {:?}, \"opening\": {:?}, \"shortfall\": {:?}, \
         \"punch\": {}, \"punch_height\": {:?}, \"die\": {}, \"die_height\": {:?}, \"ram\": {}, \"bed\": {}, \
         \"answer\": {}}}",
        part.tree.thickness(),
        panels(part),
        bends(part),
        bends_of(&stroke),
        choice.back == Wing::Parent,
        trial.half_turns(stroke),
        die.opening,
        tooling.shortfall,
        points(punch.outline.iter().copied()),
        punch.height,
        points(die.outline.iter().copied()),
        die.height,
        points(tooling.brake.ram.iter().copied()),
        points(tooling.brake.bed.iter().copied()),
        answer(&said),
    )
    .ok()?;
    Some(line)
}

fn main() -> Result<(), Box<dyn Error>> {
    let mut arguments = std::env::args().skip(1);
    let (Some(folder), Some(count)) = (arguments.next(), arguments.next()) else {
        return Err("two arguments are needed: FOLDER COUNT".into());
    };
    let count: usize = count.parse()?;
    let tooling = Tooling::default();
    let (mut lines, mut seed) = (Vec::new(), FIRST_SEED);
    while lines.len() < count {
        seed += 1;
        let Some(part) = generator::part(seed, 6) else { continue };
        // Parts in their own way are rare: every tenth state is one, by what the planner says.
        let is_wanted = |line: &String| lines.len() % 10 > 0 || line.contains("\"says\": \"itself\"");
        let found = state(&part, &tooling, &mut Dice::new(seed + 7)).filter(is_wanted);
        lines.extend(found);
    }
    let folder = Path::new(&folder);
    fs::create_dir_all(folder)?;
    fs::write(folder.join("states.json"), format!("[\n{}\n]\n", lines.join(",\n")))?;
    println!("{} states", lines.len());
    Ok(())
}
