//! What the engineer has settled about bends.
//!
//! Invariant: a settled bend is one of the tree, a settled punch one of the shop. Must not know: the order.

use crate::diag::Diagnostic;
use crate::fold::FoldTree;
use crate::history::{GaugeSide, SettledBendSpec};
use crate::ident::BendId;
use crate::stock::Tooling;

use super::wings::Wing;

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

/// Finds bend and punch of what was asked for.
///
/// # Errors
/// A finding if the panel hangs on no bend, or if the shop has no such punch.
pub fn settle(spec: &SettledBendSpec, tree: &FoldTree, tooling: &Tooling) -> Result<SettledBend, Diagnostic> {
    let found = tree.bends().iter().find(|b| tree.panel(b.child).name == spec.panel);
    let bend = found.ok_or_else(|| {
        let message = format!("panel `{}` hangs on no bend, so that there is none to settle", spec.panel);
        Diagnostic::fault("brake::no_bend", message, spec.origin()).hint("name a panel that is bent")
    })?;
    let punch = spec.punch.as_ref().map(|name| {
        let names: Vec<&str> = tooling.punches.iter().map(|p| p.name.as_str()).collect();
        names.iter().position(|known| known == name).ok_or_else(|| {
            let message = format!("there is no punch `{name}`; there are {}", names.join(", "));
            Diagnostic::fault("brake::unknown_punch", message, spec.origin()).hint_nearest(name, &names)
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
