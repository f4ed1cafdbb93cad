//! `guarding`: by which rule openings are held against hazards.
//!
//! Invariant: it is said once; which rule is right for a machine is never guessed.

use kernel::history::{FloorSpec, GuardRule, GuardingSpec, RiskSpec};
use rhai::{Engine, Map, NativeCallContext};

use super::Word;
use super::part::Part;
use crate::fault::ScriptFault;
use crate::options::Options;
use crate::session::{Bound, refuse};

const RULES: [(&str, GuardRule); 4] = [
    ("iso 13857 arms", GuardRule::Iso13857Arms),
    ("iso 13857 legs", GuardRule::Iso13857Legs),
    ("29 cfr 1910.217", GuardRule::Cfr1910_217),
    ("29 cfr 1910.219", GuardRule::Cfr1910_219),
];

pub(super) const WORDS: &[Word] = &[Word {
    name: "guarding",
    call: "part.guarding(#{ rule, risk, up: [x, y, z], floor_below })",
    meaning: "Holds every opening of the folded cover against each neighbour that is a hazard. `rule` is \"iso 13857 arms\", \"iso 13857 legs\", \"29 cfr 1910.217\" or \"29 cfr 1910.219\"; `risk`, \"low\" or \"high\" (default), is for reaching over an open side; so are `up`, the direction away from the floor in the base panel's coordinates, and `floor_below`, how far below the origin the floor lies, in mm.",
}];

pub(super) fn register(engine: &mut Engine) {
    engine.register_fn(
        "guarding",
        |context: NativeCallContext<'_>, part: &mut Part, options: Map| -> Bound<()> {
            let mut options =
                Options::new(&context, "guarding", options, &["rule", "risk", "up", "floor_below"])?;
            let rule = options.need("rule")?.word(&RULES)?;
            let risks = [("low", RiskSpec::Low), ("high", RiskSpec::High)];
            let risk = options.word_or("risk", &risks, RiskSpec::High)?;
            let floor = if options.has("up") || options.has("floor_below") {
                let up = options.need("up")?.vector("a direction [x, y, z]")?;
                Some(FloorSpec { up, below: options.need("floor_below")?.plain()? })
            } else {
                None
            };
            let span = Some(part.session.span(&context));
            let spec = GuardingSpec { rule, risk, floor, span };
            match part.session.with_draft(|draft| draft.guarding.replace(spec)) {
                Some(_) => Err(refuse(&context, ScriptFault::GuardingTwice)),
                None => Ok(()),
            }
        },
    );
}
