//! `order.json`: the bend order as settled bends, to be changed by hand and read again.
//!
//! Job: write and read a list of [`SettledBendSpec`]. Invariant: an order that is read back unchanged is granted
//! unchanged; where there is no order, what was settled is written as it was given. Must not know: how the order was
//! found.

use crate::brake::{PlanStep, Wing};
use crate::diag::Diagnostic;
use crate::history::{GaugeSide, SettledBendSpec};

use super::{Format, Subject};

/// `order.json`.
pub(super) const FORMAT: Format =
    Format { file_name: "order.json", what: "bend order, to be changed and given back with --order", write };

fn write(subject: &Subject<'_>) -> Vec<u8> {
    let steps = subject.plan.steps.iter().zip(1..);
    let mut entries: Vec<SettledBendSpec> =
        steps.flat_map(|(step, place)| entries(subject, step, place)).collect();
    if entries.is_empty() {
        entries.clone_from(&subject.history.bend_order);
    }
    let mut text = serde_json::to_string_pretty(&entries).expect("an order has only keys that are text");
    text.push('\n');
    text.into_bytes()
}

fn entries(subject: &Subject<'_>, step: &PlanStep, place: u32) -> Vec<SettledBendSpec> {
    let entry = |bend: &crate::ident::BendId| SettledBendSpec {
        panel: subject.tree.panel(subject.tree.bend(*bend).child).name.clone(),
        step: Some(place),
        gauge_at: Some(match step.setting.back {
            Wing::Parent => GaugeSide::Parent,
            Wing::Child => GaugeSide::Flange,
        }),
        punch: Some(step.setting.punch.clone()),
        span: None,
    };
    step.bends.iter().map(entry).collect()
}

/// Reads a saved order.
///
/// # Errors
/// `brake::order_unreadable` with line and column if the text is no order.
pub fn read(text: &str) -> Result<Vec<SettledBendSpec>, Diagnostic> {
    serde_json::from_str(text).map_err(|fault| {
        let message = format!("the bend order cannot be read: {fault}");
        Diagnostic::fault("brake::order_unreadable", message, None)
            .hint("compare it with the `order.json` of a part")
    })
}
