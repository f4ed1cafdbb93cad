//! `aim`: what the free numbers that dimensions leave loose are for.
//!
//! Invariant: said once.

use kernel::history::{Aim, AimFigure};
use rhai::{Dynamic, Engine, NativeCallContext};

use super::Word;
use super::part::Part;
use crate::fault::ScriptFault;
use crate::options::argument;
use crate::session::{Bound, refuse};

pub(super) const WORDS: &[Word] = &[Word {
    name: "aim",
    call: "part.aim(\"blank area\" | \"mass\" | \"cut length\")",
    meaning: "Makes this figure of the blank as small as the dimensions and the ranges of free numbers let it, by those free numbers that are still loose.",
}];

pub(super) fn register(engine: &mut Engine) {
    engine.register_fn(
        "aim",
        |context: NativeCallContext<'_>, part: &mut Part, figure: Dynamic| -> Bound<()> {
            let words = AimFigure::ALL.map(|figure| (figure.word(), figure));
            let smallest = argument(&context, "aim", "figure", figure).word(&words)?;
            let aim = Aim { smallest, span: Some(part.session.span(&context)) };
            match part.session.with_draft(|draft| draft.aim.replace(aim)) {
                Some(_) => Err(refuse(&context, ScriptFault::AimTwice)),
                None => Ok(()),
            }
        },
    );
}
