//! A bend: K, allowance and deduction from turn, radius and thickness.
//! Invariant: the formulas are those of [`crate::stock::Bend`], with the numbers put in.

use crate::brake::BendRow;
use crate::stock::LengthDatum;

use super::{Explanation, Step, Subject};

pub(super) fn explain(subject: Subject<'_>, row: &BendRow) -> Explanation {
    let tree = subject.tree;
    let bend = tree.bend(row.bend);
    let feature = tree.origin(tree.panel(bend.child).feature);
    let (r, t, k) = (bend.inside_radius(), tree.thickness(), bend.k_factor());
    let (turn_deg, allowance) = (row.turn.to_deg(), row.allowance.to_mm());
    let outside =
        LengthDatum::Outside.setback(bend.formula.turn, bend.formula.inside_radius, tree.sheet_thickness());
    // A hem pressed flat has a K of its own, whatever the sheet's rule.
    let rule = &subject.sheet.bend_rule;
    let by_rule = rule.k_factor(tree.sheet_thickness(), bend.formula.inside_radius, bend.formula.turn);
    let (k_name, k_source) = if by_rule.is_ok_and(|by_rule| by_rule == bend.formula.k_factor) {
        (rule.name(), rule.source())
    } else {
        ("of the hem itself".to_owned(), "measured, or 0.5 for a hem pressed flat")
    };
    let setback_formula = if turn_deg <= 90.0 { "(r + t) tan(a / 2)" } else { "r + t, above 90°" };
    let steps = vec![
        Step::new("turn a", turn_deg, "deg", "as asked for or solved").at(feature),
        Step::new("inside radius r", r, "mm", "of the bend, or of the sheet where it has none").at(feature),
        Step::new("thickness t", t, "mm", "of the sheet"),
        Step::new("K", k, "", format!("{k_name}, at r / t = {:.4}", r / t)),
        Step::new(
            "allowance",
            allowance,
            "mm",
            format!("a (r + K t) = {:.6} · ({r:.4} + {k:.4} · {t:.4})", row.turn.to_rad()),
        ),
        Step::new("outside setback", outside.to_mm(), "mm", setback_formula),
        Step::new(
            "deduction",
            row.deduction.to_mm(),
            "mm",
            format!("2 setbacks − allowance = 2 · {:.4} − {allowance:.4}", outside.to_mm()),
        ),
    ];
    let place = row.order.map(|order| format!("number {order} in the bend table, ")).unwrap_or_default();
    Explanation {
        heading: format!("bend of {}: {place}takes {allowance:.3} mm of the blank", row.name),
        origin: Some(feature.clone()),
        steps,
        total: None,
        sources: vec![
            "allowance and deduction: docs/math/bend-allowance.md".to_owned(),
            format!("K: {k_source}"),
        ],
    }
}
