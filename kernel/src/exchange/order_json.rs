//! `order.json`: the bend order as settled bends, to be changed by hand and read again.
//!
//! Job: write and read a list of [`SettledBendSpec`]. Invariant: an order that is read back unchanged is granted
//! unchanged; where there is no order, what was settled is written as it was given. Must not know: how the order was
//! found.

use crate::brake::{PlanStep, Wing};
use crate::diag::Diagnostic;
use crate::history::{GaugeSide, SettledBendSpec};

use super::{Format, Subject, history_fault};

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

/// Reads a saved order: each entry with the byte of the text where it names its panel.
///
/// # Errors
/// `brake::order_unreadable` with line and column if the text is no order.
pub fn read(text: &str) -> Result<Vec<(SettledBendSpec, usize)>, Diagnostic> {
    let entries: Vec<SettledBendSpec> = serde_json::from_str(text).map_err(|fault| {
        let message = format!("the bend order cannot be read, {}", history_fault::words(text, &fault));
        Diagnostic::fault("brake::order_unreadable", message, None)
            .hint("compare it with the `order.json` of a part")
    })?;
    Ok(entries.into_iter().zip(places(text)).collect())
}

/// Where each entry of a list of objects without lists or objects in them begins, or the value of its key `panel`.
fn places(text: &str) -> Vec<usize> {
    let mut places: Vec<usize> = Vec::new();
    let (mut is_value, mut key) = (false, "");
    let mut letters = text.char_indices();
    while let Some((at, letter)) = letters.next() {
        match letter {
            '{' => places.push(at),
            ':' => is_value = true,
            ',' => is_value = false,
            '"' => {
                let from = at + 1;
                let mut to = from;
                while let Some((at, letter)) = letters.next() {
                    to = at;
                    match letter {
                        '"' => break,
                        '\\' => drop(letters.next()),
                        _ => {}
                    }
                }
                match places.last_mut() {
                    Some(place) if is_value && key == "panel" => *place = from,
                    Some(_) | None if is_value => {}
                    Some(_) | None => key = &text[from..to],
                }
            }
            '}' => is_value = false,
            _ => {}
        }
    }
    places
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_entry_has_the_place_where_its_panel_is_named() {
        let text = "[\n  { \"punch\": \"a \\\" { : panel\", \"panel\": \"lid\", \"step\": 2 },\n  {\"step\": 1, \"panel\":\"größe.left\"},{\"p\\u0061nel\": \"back\"}\n]";
        let read = read(text).unwrap();
        let named: Vec<&str> =
            read.iter().map(|(_, at)| text[*at..].split(['"', '}']).next().unwrap()).collect();
        assert_eq!(named, ["lid", "größe.left", "{"]);
        assert_eq!(
            read.iter().map(|(entry, _)| entry.panel.as_str()).collect::<Vec<_>>(),
            ["lid", "größe.left", "back"]
        );
    }
}
