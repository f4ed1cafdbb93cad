//! The bend order in the report. Invariant: as in the whole report, units stand in the keys.

use schemars::JsonSchema;
use serde::Serialize;

use super::super::Subject;
use super::super::decimal::rounded;
use crate::brake::{Outcome, Setting, Wing, described};

/// The order of bending.
#[derive(Serialize, JsonSchema)]
pub(super) struct BendOrderFigures {
    /// `cheapest` if it is proven that no order costs less, `found` if one might, `impossible` if it is proven that
    /// there is none with these tools, `not found` otherwise; then bends have no places.
    state: &'static str,
    /// What the order costs in seconds of handling, an estimate that only compares orders.
    cost: u32,
    /// What no order can cost less than.
    bound: u32,
    /// Brake that it was planned for.
    brake: String,
    /// Where there is no order: the stages with the most bends done that can be reached, and what is in the way there.
    dead_ends: Vec<DeadEndFigures>,
}

/// A half-folded part from which nothing leads on.
#[derive(Serialize, JsonSchema)]
struct DeadEndFigures {
    /// Names of the bends that are done.
    done: Vec<String>,
    /// What is in the way of each choice that is left.
    blocked: Vec<BlockedFigures>,
}

/// A step that cannot be made.
#[derive(Serialize, JsonSchema)]
struct BlockedFigures {
    /// Name of the bend.
    bend: String,
    /// Name of the punch.
    punch: String,
    /// `flange` or `parent`, whichever lies at the back gauge.
    gauge_at: &'static str,
    /// What is in the way.
    by: String,
}

/// How one bend is set up at the brake.
#[derive(Serialize, JsonSchema)]
pub(super) struct SettingFigures {
    /// Name of the punch.
    punch: String,
    /// Name of the die.
    die: String,
    /// Opening of the die in mm.
    die_opening_mm: f64,
    /// Length of punch and die in mm.
    tool_length_mm: f64,
    /// Distance of the back gauge from the middle of the bend in mm; null if the bend is laid to a marked line.
    gauge_mm: Option<f64>,
    /// `flange` or `parent`, whichever lies at the back.
    gauge_at: &'static str,
    /// Turn under load in degrees, so that it springs back to what was asked for: an estimate by DIN 6935 factors.
    turn_under_load_deg: f64,
    /// Whether the bend is only begun so, and closed between flats in a second hit.
    closed_after: bool,
    /// Least, likely and greatest force in kN; null where the strength of the material is not known.
    force_kn: Option<[f64; 3]>,
    /// Least, usual and greatest inside radius in mm that bending in air over this die gives.
    air_bend_radius_mm: [f64; 3],
}

fn side(back: Wing) -> &'static str {
    match back {
        Wing::Parent => "parent",
        Wing::Child => "flange",
    }
}

pub(super) fn setting_figures(setting: &Setting) -> SettingFigures {
    SettingFigures {
        punch: setting.punch.clone(),
        die: setting.die.clone(),
        die_opening_mm: rounded(setting.die_opening),
        tool_length_mm: rounded(setting.tool_length),
        gauge_mm: setting.gauge.map(rounded),
        gauge_at: side(setting.back),
        turn_under_load_deg: rounded(setting.turn_under_load_deg()),
        closed_after: setting.closed_after,
        force_kn: setting.force.map(|f| [f.least, f.likely, f.most].map(rounded)),
        air_bend_radius_mm: setting.air_bend_radius.map(rounded),
    }
}

pub(super) fn bend_order_figures(subject: &Subject<'_>) -> BendOrderFigures {
    let plan = subject.plan;
    let [cost, bound] = plan.cost;
    let name = |stroke: usize| {
        let bend = subject.tree.bend(plan.strokes[stroke][0]);
        subject.tree.panel(bend.child).name.to_string()
    };
    let (state, dead_ends) = match &plan.outcome {
        Outcome::Order { cost, bound, .. } if cost == bound => ("cheapest", &[][..]),
        Outcome::Order { .. } => ("found", &[][..]),
        Outcome::Impossible { dead_ends, .. } => ("impossible", &dead_ends[..]),
        Outcome::GivenUp { .. } => ("not found", &[][..]),
    };
    let dead_ends = dead_ends.iter().map(|end| DeadEndFigures {
        done: end.done.iter().map(|s| name(*s)).collect(),
        blocked: end
            .blocks
            .iter()
            .map(|(choice, block)| BlockedFigures {
                bend: name(choice.stroke),
                punch: subject.tooling.punches[choice.tools.punch].name.clone(),
                gauge_at: side(choice.back),
                by: described(subject.tree, block),
            })
            .collect(),
    });
    BendOrderFigures {
        state,
        cost,
        bound,
        brake: subject.tooling.brake.name.clone(),
        dead_ends: dead_ends.collect(),
    }
}
