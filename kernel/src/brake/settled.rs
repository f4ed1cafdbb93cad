//! What the engineer has settled about bends.
//!
//! Invariant: a settled bend is one of the tree, a settled punch one of the shop. Must not know: the order.

use crate::diag::Diagnostic;
use crate::fold::FoldTree;
use crate::history::{GaugeSide, SettledBendSpec};
use crate::ident::{BendId, PanelId};
use crate::stock::{Limit, ShopLimits, Tooling};

use super::wings::{Wing, strokes};

/// What is settled about one bend.
#[derive(Clone, Debug, PartialEq)]
pub struct SettledBend {
    /// The bend.
    pub bend: BendId,
    /// Its place in the order, from 1.
    pub place: Option<usize>,
    /// The wing that lies at the gauge.
    pub back: Option<Wing>,
    /// The punch, by its place in the shop's list.
    pub punch: Option<usize>,
}

/// Finds bends and punches of what was asked for.
///
/// # Errors
/// A finding if a panel hangs on no bend, if the shop has no such punch, or if what is settled cannot be granted
/// together: a step beyond the last one, one step for two bends that are not made in one stroke, or different things
/// for bends that are.
pub fn settle(
    specs: &[SettledBendSpec],
    tree: &FoldTree,
    limits: &ShopLimits,
    tooling: &Tooling,
) -> Result<Vec<SettledBend>, Diagnostic> {
    let settled: Vec<SettledBend> =
        specs.iter().map(|spec| settle_one(spec, tree, tooling)).collect::<Result<_, _>>()?;
    let strokes = strokes(tree, limits.number(Limit::BrakeLength));
    let stroke = |bend: BendId| strokes.iter().position(|bends| bends.contains(&bend));
    for (at, (spec, one)) in specs.iter().zip(&settled).enumerate() {
        let refuse = |message: String, hint: &str| {
            Err(Diagnostic::fault("brake::settled_at_odds", message, spec.origin()).hint(hint))
        };
        let steps = strokes.len();
        if let Some(place) = one.place.filter(|place| !(1..=steps).contains(place)) {
            let message =
                format!("`{}` is settled as step {place}; the part is bent in {steps} steps", spec.panel);
            return refuse(message, "steps count from 1, and bends on one line are made in one");
        }
        for (other_spec, other) in specs.iter().zip(&settled).take(at) {
            let names = format!("`{}` and `{}`", other_spec.panel, spec.panel);
            if stroke(one.bend) != stroke(other.bend) {
                if let Some(place) = one.place.filter(|place| other.place == Some(*place)) {
                    let message =
                        format!("{names} are both settled as step {place}, but are not bent in one stroke");
                    return refuse(message, "give one of them another step, or none");
                }
            } else if apart(one.place, other.place)
                || apart(one.back, other.back)
                || apart(one.punch, other.punch)
            {
                let message = if one.bend == other.bend {
                    format!("`{}` is settled twice, each time otherwise", spec.panel)
                } else {
                    format!("{names} are bent in one stroke, but settled apart")
                };
                return refuse(message, "settle one of them only");
            }
        }
    }
    Ok(settled)
}

fn apart<T: PartialEq>(a: Option<T>, b: Option<T>) -> bool {
    a.is_some_and(|a| b.is_some_and(|b| a != b))
}

fn settle_one(spec: &SettledBendSpec, tree: &FoldTree, tooling: &Tooling) -> Result<SettledBend, Diagnostic> {
    let found = tree.bends().iter().find(|b| tree.panel(b.child).name == spec.panel);
    let bend = found.ok_or_else(|| {
        let names = |of: &mut dyn Iterator<Item = PanelId>| -> Vec<&str> {
            of.map(|id| tree.panel(id).name.as_str()).collect()
        };
        let bent = names(&mut tree.bends().iter().map(|b| b.child));
        let message = if names(&mut tree.panels().iter().map(|p| p.id)).contains(&spec.panel.as_str()) {
            format!("panel `{}` hangs on no bend, so that there is none to settle", spec.panel)
        } else {
            format!("there is no panel `{}` whose bend could be settled", spec.panel)
        };
        Diagnostic::fault("brake::no_bend", message, spec.origin())
            .hint_nearest(spec.panel.as_str(), &bent)
            .hint(format!("panels that are bent: {}", bent.join(", ")))
    })?;
    let punch = spec.punch.as_ref().map(|name| {
        let names: Vec<&str> = tooling.punches.iter().map(|p| p.name.as_str()).collect();
        names.iter().position(|known| known == name).ok_or_else(|| {
            let message = format!("there is no punch `{name}`; there are {}", names.join(", "));
            Diagnostic::fault("brake::unknown_punch", message, spec.origin()).hint_nearest(name, &names)
                .hint(format!("if `{name}` is of a tools file, give that file with `--tools`, also for a saved part or order"))
        })
    });
    Ok(SettledBend {
        bend: bend.id,
        place: spec.step.map(|step| step as usize),
        back: spec.gauge_at.map(|side| match side {
            GaugeSide::Flange => Wing::Child,
            GaugeSide::Parent => Wing::Parent,
        }),
        punch: punch.transpose()?,
    })
}
