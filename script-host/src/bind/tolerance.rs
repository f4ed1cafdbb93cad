//! `tolerances`: by how much the shop may be off.
//!
//! Invariant: said once; what is left out has its default in the kernel, which checks the rest.

use kernel::history::ToleranceSpec;
use rhai::{Engine, Map, NativeCallContext};

use super::Word;
use super::part::Part;
use crate::fault::ScriptFault;
use crate::options::{Argument, Options};
use crate::session::{Bound, refuse};

pub(super) const WORDS: &[Word] = &[Word {
    name: "tolerances",
    call: "part.tolerances(#{ turn, radius, thickness, bend_place, cut })",
    meaning: "By how much the shop may be off to either side: turn of each bend (degrees), its inside radius, thickness of the sheet, place of each bend line and of each cut edge (mm). What is left out is ±1°, a tenth of the radius, EN 10131, ±0.5 mm and half of ISO 9013 class 1.",
}];

pub(super) fn register(engine: &mut Engine) {
    engine.register_fn(
        "tolerances",
        |context: NativeCallContext<'_>, part: &mut Part, options: Map| -> Bound<()> {
            let allowed = ["turn", "radius", "thickness", "bend_place", "cut"];
            let mut options = Options::new(&context, "tolerances", options, &allowed)?;
            let mut plain = |option| options.get(option).map(Argument::plain).transpose();
            let spec = ToleranceSpec {
                turn: plain("turn")?,
                radius: plain("radius")?,
                thickness: plain("thickness")?,
                bend_place: plain("bend_place")?,
                cut: plain("cut")?,
                span: Some(part.session.span(&context)),
            };
            let earlier = part.session.with_draft(|draft| draft.tolerances.replace(spec));
            match earlier {
                Some(_) => Err(refuse(&context, ScriptFault::TolerancesTwice)),
                None => Ok(()),
            }
        },
    );
}
