//! Bend rules: where the K-factor comes from.
//!
//! Invariant: rows are handed on as written; the kernel checks them with the sheet.

use kernel::history::feature::LengthFrom;
use kernel::history::{BendRuleSpec, TestStripSpec, TestStripsSpec};
use rhai::{Dynamic, Engine, Map, NativeCallContext};

use super::flange::LENGTH_FROM;
use super::{Word, register_text};
use crate::options::{Options, argument};
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
    Word {
        name: "test_strips",
        call: "test_strips([#{ legs: [a, b, ...], turn, thickness, inside_radius, flat }, ...], #{ from, uncertainty })",
        meaning: "K fitted to test strips as measured: flat length before bending, legs after it; strips of more legs have equal bends. K goes by inside radius over thickness, linear between the tested ones, and a bend beyond them by more than a tenth is refused. `from` says what the legs are measured from: \"outside\" (when left out: the outer corner, or the outer tangent above 90°), \"inside\" or \"tangent\". `uncertainty` is by how many mm a flat length less its legs may be measured wrong (95 %); it must be given if no radius has two strips. The options may be left out.",
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
    engine.register_fn(
        "test_strips",
        |context: NativeCallContext<'_>, strips: Dynamic| -> Bound<BendRuleSpec> {
            test_strips(&context, strips, Map::new())
        },
    );
    engine.register_fn(
        "test_strips",
        |context: NativeCallContext<'_>, strips: Dynamic, options: Map| -> Bound<BendRuleSpec> {
            test_strips(&context, strips, options)
        },
    );
}

fn test_strips(context: &NativeCallContext<'_>, strips: Dynamic, options: Map) -> Bound<BendRuleSpec> {
    let strips = argument(context, "test_strips", "strips", strips)
        .maps("a list of strips `#{ legs: [a, b], turn, thickness, inside_radius, flat }`")?;
    let mut options = Options::new(context, "test_strips", options, &["from", "uncertainty"])?;
    Ok(BendRuleSpec::TestStrips(TestStripsSpec {
        legs_from: options.word_or("from", LENGTH_FROM, LengthFrom::Outside)?,
        uncertainty: options.get("uncertainty").map(|number| number.plain()).transpose()?,
        strips: strips.into_iter().map(|strip| test_strip(context, strip)).collect::<Bound<_>>()?,
    }))
}

fn test_strip(context: &NativeCallContext<'_>, strip: Map) -> Bound<TestStripSpec> {
    let allowed = ["legs", "turn", "thickness", "inside_radius", "flat"];
    let mut options = Options::new(context, "test_strips", strip, &allowed)?;
    Ok(TestStripSpec {
        legs: options.need("legs")?.plain_list()?,
        turn: options.need("turn")?.plain()?,
        thickness: options.need("thickness")?.plain()?,
        inside_radius: options.need("inside_radius")?.plain()?,
        flat: options.need("flat")?.plain()?,
    })
}
