//! The bend order of a part: the cheapest one that works, or what is in the way.
//!
//! Job: from a fold tree, a shop and what the engineer has settled to an order, its findings, and what each step
//! looks like at the brake. Invariant: a bend has a place in an order only; bends that are made in one stroke share
//! theirs. Must not know: any output format.

use crate::diag::{Diagnostic, Origin};
use crate::fold::FoldTree;
use crate::ident::BendId;
use crate::quantity::maths;
use crate::solid::Zone;
use crate::stock::{BendForce, Sheet, ShopLimits, Tooling, air_bend_radius_share};

use super::pairs::Dies;
use super::picture::{StepPicture, picture};
use super::prices::{Prices, StepCosts};
use super::search::{DeadEnd, MOST_STATES, Outcome, Planned, Wishes, search};
use super::settled::SettledBend;
use super::steps::{Block, CLOSED_FROM_RAD, Choice, MM_PER_M, Steps};
use super::wings::{Mask, Wing};

/// How one bend is set up at the brake.
#[derive(Clone, Debug, PartialEq)]
pub struct Setting {
    /// Name of the punch.
    pub punch: String,
    /// Name of the die.
    pub die: String,
    /// Opening of the die in mm.
    pub die_opening: f64,
    /// Length of the bend in mm, of all together where several are made in one stroke.
    pub bend_length: f64,
    /// Length of the tools in mm.
    pub tool_length: f64,
    /// Distance of the back gauge from the middle of the bend in mm; none if the bend is laid to a marked line.
    pub gauge: Option<f64>,
    /// What lies against the gauge.
    pub gauge_at: Option<Zone>,
    /// The wing at the back.
    pub back: Wing,
    /// Turn under load in rad: an estimate, see [`SPRINGBACK_SOURCE`](crate::stock::SPRINGBACK_SOURCE).
    pub turn_under_load: f64,
    /// Whether the bend is only begun so, and closed between flats in a second hit.
    pub closed_after: bool,
    /// Force in kN of all bends of the stroke; none where nothing is known of the material's strength.
    pub force: Option<BendForce>,
    /// Inside radius in mm that bending in air over this die gives, `[least, usual, most]`.
    pub air_bend_radius: [f64; 3],
}

/// One step: bends that are made together.
#[derive(Clone, Debug, PartialEq)]
pub struct PlanStep {
    /// The bends.
    pub bends: Vec<BendId>,
    /// How they are made.
    pub setting: Setting,
    /// What the step costs after the one before it, in the unit of [`StepCosts`].
    pub cost: u32,
    /// The brake at the end of the step, seen along the bend.
    pub picture: StepPicture,
}

/// The bend order of a part.
#[derive(Clone, Debug, PartialEq)]
pub struct BendPlan {
    /// Steps in order; empty if there is no order.
    pub steps: Vec<PlanStep>,
    /// Cost of the order, and what no order can cost less than: the same if it is proven to be cheapest.
    pub cost: [u32; 2],
    /// What was found, for those who want to know more than the steps.
    pub outcome: Outcome,
    /// Bends of each stroke that `outcome` speaks of.
    pub strokes: Vec<Vec<BendId>>,
    /// Where there is no order: the brake at the first thing in the way.
    pub obstacle: Option<StepPicture>,
    /// What the shop should know.
    pub findings: Vec<Diagnostic>,
}

impl BendPlan {
    /// Place of a bend in the order from 1, if there is an order.
    #[must_use]
    pub fn place(&self, bend: BendId) -> Option<usize> {
        self.steps.iter().position(|s| s.bends.contains(&bend)).map(|at| at + 1)
    }

    /// How a bend is set up, if there is an order.
    #[must_use]
    pub fn setting(&self, bend: BendId) -> Option<&Setting> {
        self.steps.iter().find(|s| s.bends.contains(&bend)).map(|s| &s.setting)
    }

    /// How often tools are changed between the first set and the last one, flats that close bends among them: those
    /// that are begun one after the other with the same tools are closed together after the last of them (common
    /// practice, no source). None if there is no order.
    #[must_use]
    pub fn tool_changes(&self) -> Option<usize> {
        if !matches!(self.outcome, Outcome::Order { .. }) {
            return None;
        }
        let mut sets: Vec<Option<[&str; 2]>> = Vec::new();
        for (index, PlanStep { setting, .. }) in self.steps.iter().enumerate() {
            let begun = |s: &Setting| s.closed_after && s.punch == setting.punch && s.die == setting.die;
            let goes_on = self.steps.get(index + 1).is_some_and(|next| begun(&next.setting));
            sets.push(Some([&setting.punch, &setting.die]));
            if setting.closed_after && !goes_on {
                sets.push(None);
            }
        }
        sets.dedup();
        Some(sets.len().saturating_sub(1))
    }
}

/// Plans the bend order of a part.
#[must_use]
pub fn plan(
    tree: &FoldTree,
    sheet: &Sheet,
    limits: &ShopLimits,
    tooling: &Tooling,
    settled: &[SettledBend],
    costs: StepCosts,
) -> BendPlan {
    let mut steps = Steps::new(tree, sheet, limits, tooling, Dies::Usual);
    let strokes = steps.wings.strokes.clone();
    let count = strokes.len();
    let mut wishes = Wishes::none(count);
    for wish in settled {
        let stroke = steps.wings.stroke_of[wish.bend.index()];
        wishes.place[stroke] = wish.place.map(|p| p.saturating_sub(1)).or(wishes.place[stroke]);
        wishes.back[stroke] = wish.back.or(wishes.back[stroke]);
        wishes.punch[stroke] = wish.punch.or(wishes.punch[stroke]);
    }
    let look = |steps: &mut Steps<'_>| {
        if count >= Mask::BITS as usize {
            return Outcome::GivenUp { states: 0 };
        }
        let prices = Prices::new(steps, costs);
        search(steps, &prices, &wishes, MOST_STATES)
    };
    let mut outcome = look(&mut steps);
    // Narrower dies only where there is no other way.
    if matches!(outcome, Outcome::Impossible { .. }) {
        steps = Steps::new(tree, sheet, limits, tooling, Dies::Narrower);
        outcome = look(&mut steps);
    }
    let mut plan =
        BendPlan { steps: Vec::new(), cost: [0, 0], outcome, strokes, obstacle: None, findings: Vec::new() };
    match plan.outcome.clone() {
        Outcome::Order { steps: order, cost, bound } => {
            plan.cost = [cost, bound];
            let mut done: Mask = 0;
            for planned in &order {
                let step = made(&mut steps, sheet, tooling, done, planned);
                plan.findings.extend(too_much_force(tree, tooling, &step, plan.steps.len() + 1));
                plan.steps.push(step);
                done |= 1 << planned.choice.stroke;
            }
            plan.findings.extend(overloads(tree, tooling, &plan.steps));
        }
        Outcome::Impossible { dead_ends, .. } => {
            plan.findings.push(no_order(&steps, tooling, &plan, settled));
            let first = dead_ends.first().and_then(|end| Some((end, end.blocks.first()?)));
            plan.obstacle = first.map(|(end, (choice, block))| {
                let done = end.done.iter().fold(0, |mask: Mask, stroke| mask | 1 << stroke);
                picture(&mut steps, done, choice, None, Some(block))
            });
        }
        Outcome::GivenUp { states } => {
            let message = format!(
                "no bend order was found for {count} bends after {states} states, and none was proven impossible"
            );
            let origin = tree.origin(tree.panels()[0].feature).clone();
            let finding = Diagnostic::warning("brake::no_order", message, origin);
            plan.findings.push(finding.hint("settle the step of some bends with `settle_bend`"));
        }
    }
    plan
}

fn made(steps: &mut Steps<'_>, sheet: &Sheet, tooling: &Tooling, done: Mask, planned: &Planned) -> PlanStep {
    let Planned { choice, step, cost } = planned;
    let picture = picture(steps, done, choice, step.gauge.as_ref(), None);
    let facts = &steps.facts[choice.stroke];
    let die = &tooling.dies[choice.tools.die];
    let share = air_bend_radius_share(sheet.material.name);
    // Only sheet resists, not what lies between bends that are made together.
    let bends = &steps.wings.strokes[choice.stroke];
    let length: f64 = bends.iter().map(|id| steps.wings.tree.bend(*id).length()).sum();
    PlanStep {
        bends: bends.clone(),
        setting: Setting {
            punch: tooling.punches[choice.tools.punch].name.clone(),
            die: die.name.clone(),
            die_opening: die.opening,
            bend_length: length,
            tool_length: step.tool_length,
            gauge: step.gauge.map(|g| g.distance),
            gauge_at: step.gauge.map(|g| g.against),
            back: choice.back,
            turn_under_load: 2.0 * facts.half[1],
            closed_after: steps.wings.lead(choice.stroke).turn() > CLOSED_FROM_RAD,
            force: BendForce::new(&sheet.material, sheet.thickness, length, die.opening),
            air_bend_radius: share.map(|s| s * die.opening),
        },
        cost: *cost,
        picture,
    }
}

fn too_much_force(tree: &FoldTree, tooling: &Tooling, step: &PlanStep, place: usize) -> Option<Diagnostic> {
    let setting = &step.setting;
    let force = setting.force.filter(|force| force.most > tooling.brake.force_kn)?;
    let name = &tree.panel(tree.bend(step.bends[0]).child).name;
    let message = format!(
        "the bend of `{name}` (step {place}) needs {:.0} to {:.0} kN over the {} die; brake `{}` has {:.0} kN",
        force.least, force.most, setting.die, tooling.brake.name, tooling.brake.force_kn
    );
    let finding = Diagnostic::warning("brake::too_much_force", message, origin_of(tree, &step.bends));
    Some(finding.hint("take a wider die, or another brake"))
}

/// What tools do not stand, once for each tool with all bends that load it too much.
fn overloads(tree: &FoldTree, tooling: &Tooling, steps: &[PlanStep]) -> Vec<Diagnostic> {
    // Kind of the tool, its name, what it stands, and the steps that load it more.
    let mut told: Vec<(&str, &str, f64, Vec<usize>)> = Vec::new();
    let load = |step: &PlanStep| {
        let setting = &step.setting;
        setting.force.map(|force| [force.least, force.most].map(|kn| kn / setting.bend_length * MM_PER_M))
    };
    for (at, step) in steps.iter().enumerate() {
        let Some([_, most]) = load(step) else { continue };
        let punch = tooling.punches.iter().find(|punch| punch.name == step.setting.punch);
        let die = tooling.dies.iter().find(|die| die.name == step.setting.die);
        let tools = [
            punch.map(|punch| ("punch", punch.name.as_str(), punch.most_kn_per_m)),
            die.map(|die| ("die", die.name.as_str(), die.most_kn_per_m)),
        ];
        for (kind, name, stands) in tools.into_iter().flatten().filter(|(_, _, stands)| most > *stands) {
            match told.iter_mut().find(|known| (known.0, known.1) == (kind, name)) {
                Some(known) => known.3.push(at),
                None => told.push((kind, name, stands, vec![at])),
            }
        }
    }
    let warn = |(kind, tool, stands, places): (&str, &str, f64, Vec<usize>)| {
        let bends: Vec<String> = places
            .iter()
            .map(|at| {
                format!("`{}` (step {})", tree.panel(tree.bend(steps[*at].bends[0]).child).name, at + 1)
            })
            .collect();
        let loads = places.iter().filter_map(|at| load(&steps[*at]));
        let [least, most] = loads.fold([0.0; 2], |worst, load| if load[1] > worst[1] { load } else { worst });
        let message = format!(
            "{kind} `{tool}` stands {stands:.0} kN a metre; {} {} {} it with {least:.0} to {most:.0} kN a metre",
            if bends.len() == 1 { "the bend of" } else { "the bends of" },
            bends.join(", "),
            if bends.len() == 1 { "loads" } else { "load" },
        );
        Diagnostic::warning("brake::tool_overloaded", message, origin_of(tree, &steps[places[0]].bends))
            .hint("give wider dies for the sheet in `v_by_thickness`, settle another punch with `settle_bend`, or give a stouter tool in a tools file")
    };
    told.into_iter().map(warn).collect()
}

/// Says what is in the way of every choice that is left where the order cannot go on.
fn no_order(steps: &Steps<'_>, tooling: &Tooling, plan: &BendPlan, settled: &[SettledBend]) -> Diagnostic {
    let tree = steps.wings.tree;
    let Outcome::Impossible { reached, backwards, dead_ends } = &plan.outcome else {
        unreachable!("only asked where there is no order")
    };
    let name = |stroke: &usize| {
        let bend = tree.bend(plan.strokes[*stroke][0]);
        format!("`{}`", tree.panel(bend.child).name)
    };
    let end = &dead_ends[0];
    let step = end.done.len() + 1;
    let names = |strokes: &[usize]| strokes.iter().map(name).collect::<Vec<_>>().join(", ");
    let after = |end: &DeadEnd| {
        let left: Vec<usize> = (0..plan.strokes.len()).filter(|s| !end.done.contains(s)).collect();
        if end.done.is_empty() {
            "at the flat blank".to_owned()
        } else if left.len() < end.done.len() {
            format!("with all but {} made", names(&left))
        } else {
            format!("with {} made", names(&end.done))
        }
    };
    let works = if settled.is_empty() { "works" } else { "grants what is settled" };
    let message = if *backwards {
        format!(
            "no bend order {works}: looking back from the finished part, all stages that it can be finished from were \
             tried ({reached}); whichever bend is made as step {step}, something is in its way"
        )
    } else if settled.iter().any(|s| s.place.is_some()) {
        format!("the settled bend order fails at step {step}, {}", after(end))
    } else {
        format!(
            "no bend order {works}: all stages that can be reached were tried ({reached}); step {step} fails, {}",
            after(end)
        )
    };
    // With other tools there may be one.
    let left = (0..plan.strokes.len()).find(|s| !end.done.contains(s)).unwrap_or(0);
    let about = end.blocks.first().map_or(left, |(choice, _)| choice.stroke);
    let mut finding = Diagnostic::warning("brake::no_order", message, origin_of(tree, &plan.strokes[about]));
    for end in dead_ends {
        let begun = if dead_ends.len() == 1 { String::new() } else { format!("{}, ", after(end)) };
        for stroke in (0..plan.strokes.len()).filter(|s| !end.done.contains(s)) {
            for (what, how) in in_the_way(steps, tooling, end, stroke) {
                finding.hints.push(format!("{begun}{}: {what}{how}", name(&stroke)));
            }
        }
    }
    finding
}

/// What is in the way of a stroke, each with the tools and the way round for which it is.
///
/// Nothing where it is settled that the stroke is not made then.
fn in_the_way(steps: &Steps<'_>, tooling: &Tooling, end: &DeadEnd, stroke: usize) -> Vec<(String, String)> {
    if steps.facts[stroke].too_long {
        return vec![("it is longer than the brake".to_owned(), String::new())];
    }
    if steps.choices(stroke).is_empty() {
        return vec![("no tools suit its turn, or fit into the brake".to_owned(), String::new())];
    }
    let blocks: Vec<_> = end.blocks.iter().filter(|(choice, _)| choice.stroke == stroke).collect();
    let mut told: Vec<(String, Vec<&Choice>)> = Vec::new();
    for (choice, block) in blocks {
        let what = described(steps.wings.tree, block);
        match told.iter_mut().find(|(known, _)| *known == what) {
            Some((_, choices)) => choices.push(choice),
            None => told.push((what, vec![choice])),
        }
    }
    let how = |choices: &[&Choice]| {
        let mut punches: Vec<&str> = Vec::new();
        for choice in choices {
            let name = tooling.punches[choice.tools.punch].name.as_str();
            if !punches.contains(&name) {
                punches.push(name);
            }
        }
        let [parent, child] = [Wing::Parent, Wing::Child]
            .map(|wing| choices.iter().filter(|choice| choice.back == wing).count());
        let back = match (parent, child) {
            (_, 0) => "parent at the back",
            (0, _) => "flange at the back",
            _ => "either way round",
        };
        format!(" ({} punch, {back})", punches.join(", "))
    };
    told.into_iter().map(|(what, choices)| (what, how(&choices))).collect()
}

fn origin_of(tree: &FoldTree, bends: &[BendId]) -> Origin {
    tree.origin(tree.panel(tree.bend(bends[0]).child).feature).clone()
}

/// What is in the way, in words.
#[must_use]
pub fn described(tree: &FoldTree, block: &Block) -> String {
    let zone = |zone: &Zone| match zone {
        Zone::Panel(id) => format!("panel `{}`", tree.panel(*id).name),
        Zone::Bend(id) => format!("the bend of `{}`", tree.panel(tree.bend(*id).child).name),
        Zone::Form(id) => format!("bump `{}`", tree.forms()[id.index()].name),
    };
    match block {
        Block::Tool { zone: z, tool } => format!("{} meets the {}", zone(z), tool.word()),
        Block::Itself { zones } => format!("{} meets {}", zone(&zones[0]), zone(&zones[1])),
        Block::Room { zone: z, clear, needed } => {
            format!("{} leaves {clear:.1} mm along the bend for tools of {needed:.1} mm", zone(z))
        }
        Block::Segments { needed, clear } => {
            format!("no segments add up to between {needed:.1} and {clear:.1} mm")
        }
    }
}

impl Setting {
    /// Turn under load in degrees.
    #[must_use]
    pub fn turn_under_load_deg(&self) -> f64 {
        self.turn_under_load * 180.0 / maths::PI
    }
}
