//! Bend rules: where the K-factor comes from.
//!
//! Invariant: rows are handed on as written; the kernel checks them with the sheet.

use kernel::history::BendRuleSpec;
use rhai::{Dynamic, Engine, NativeCallContext};

use super::{Word, register_text};
use crate::options::argument;
use crate::session::Bound;

pub(super) const WORDS: &[Word] = &[
    Word { name: "din_6935", call: "din_6935()", meaning: "K by the formula of DIN 6935." },
    Word { name: "fixed_k", call: "fixed_k(k)", meaning: "The same K for every bend." },
    Word {
        name: "k_by_ratio",
        call: "k_by_ratio([[radius_over_thickness, k], ...])",
        meaning: "K by inside radius over thickness, linear between rows, held outside them.",
    },
    Word {
        name: "deductions",
        call: "deductions([[thickness, inside_radius, turn, deduction], ...])",
        meaning: "K from bend deductions that the shop has measured: at its thicknesses only, between its radii in proportion, and beyond its turns with the K of the nearest turn.",
    },
];

pub(super) fn register(engine: &mut Engine) {
    engine.register_type_with_name::<BendRuleSpec>("bend rule");
    register_text(engine, |_: &mut BendRuleSpec| "a bend rule".to_owned());
    engine.register_fn("din_6935", || BendRuleSpec::Din6935);
    engine.register_fn("fixed_k", |context: NativeCallContext<'_>, k: Dynamic| -> Bound<BendRuleSpec> {
        Ok(BendRuleSpec::FixedK(argument(&context, "fixed_k", "k", k).plain()?))
    });
    engine.register_fn(
        "k_by_ratio",
        |context: NativeCallContext<'_>, rows: Dynamic| -> Bound<BendRuleSpec> {
            let rows = argument(&context, "k_by_ratio", "rows", rows);
            Ok(BendRuleSpec::RatioTable(rows.rows("rows `[radius_over_thickness, k]`")?))
        },
    );
    engine.register_fn(
        "deductions",
        |context: NativeCallContext<'_>, rows: Dynamic| -> Bound<BendRuleSpec> {
            let rows = argument(&context, "deductions", "rows", rows);
            Ok(BendRuleSpec::Deductions(rows.rows("rows `[thickness, inside_radius, turn, deduction]`")?))
        },
    );
}
