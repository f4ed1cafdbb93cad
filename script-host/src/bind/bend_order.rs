//! `settle_bend`: what the engineer has settled about the order of bending.
//!
//! Invariant: one saying for each panel named; what is left out is planned. Knows nothing of tools: the kernel
//! refuses names that it does not have.

use kernel::history::{GaugeSide, SettledBendSpec};
use rhai::{Dynamic, Engine, Map, NativeCallContext};

use super::Word;
use super::panel::Panels;
use super::part::Part;
use crate::options::{Argument, Options, argument};
use crate::session::Bound;

pub(super) const WORDS: &[Word] = &[Word {
    name: "settle_bend",
    call: "part.settle_bend(panel, #{ step, gauge_at, punch })",
    meaning: "Settles how the bend of a panel is made; the rest of the order is planned around it. `step` is its place in the order from 1, `gauge_at` is `flange` or `parent`, whichever lies against the back gauge, `punch` is `straight`, `relieved`, `acute` or `tall`, or one of the tools file.",
}];

const SIDES: &[(&str, GaugeSide)] = &[("flange", GaugeSide::Flange), ("parent", GaugeSide::Parent)];

/// The last step that can be asked for.
const MOST_STEPS: u32 = 63;

pub(super) fn register(engine: &mut Engine) {
    engine.register_fn(
        "settle_bend",
        |context: NativeCallContext<'_>, part: &mut Part, panel: Dynamic, options: Map| -> Bound<()> {
            let panels: Panels =
                argument(&context, "settle_bend", "panel", panel).handle("a panel, as `flange` gives it")?;
            let panel = panels.only(&context)?.clone();
            let mut options = Options::new(&context, "settle_bend", options, &["step", "gauge_at", "punch"])?;
            let spec = SettledBendSpec {
                panel,
                step: options.get("step").map(|step| step.count(1, MOST_STEPS)).transpose()?,
                gauge_at: options.get("gauge_at").map(|side| side.word(SIDES)).transpose()?,
                punch: options.get("punch").map(Argument::text).transpose()?,
                span: Some(part.session.span(&context)),
            };
            part.session.with_draft(|draft| draft.bend_order.push(spec));
            Ok(())
        },
    );
}
