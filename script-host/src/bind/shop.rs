//! `shop`: what the shop can make, where it is not the default.
//!
//! Invariant: said once; names and kinds of values are those of the kernel's table, which checks the values.

use kernel::history::{LimitSpec, ShopValue};
use kernel::stock::{LIMITS, Usual};
use rhai::{Engine, Map, NativeCallContext};

use super::Word;
use super::part::Part;
use crate::fault::ScriptFault;
use crate::options::{Argument, Options};
use crate::session::{Bound, refuse};

pub(super) const WORDS: &[Word] = &[Word {
    name: "shop",
    call: "part.shop(#{ hole_to_bend, brake_length, v_openings: [mm, ...], sheets: [[width, length], ...], ... })",
    meaning: "What the shop can make, where it is not the usual: limits of the checks by name, which `docs/makeability.md` lists with unit, default and source. What a family says holds before what a shop file says.",
}];

pub(super) fn register(engine: &mut Engine) {
    engine.register_fn(
        "shop",
        |context: NativeCallContext<'_>, part: &mut Part, options: Map| -> Bound<()> {
            let allowed: Vec<&'static str> = LIMITS.iter().map(|info| info.name).collect();
            let mut options = Options::new(&context, "shop", options, &allowed)?;
            let span = Some(part.session.span(&context));
            let mut said = Vec::new();
            for info in LIMITS {
                if let Some(argument) = options.get(info.name) {
                    let value = value(argument, info.default)?;
                    said.push(LimitSpec {
                        name: info.name.to_owned(),
                        value,
                        file: None,
                        of_tools: false,
                        span,
                    });
                }
            }
            let earlier = part.session.with_draft(|draft| draft.shop.replace(said));
            match earlier {
                Some(_) => Err(refuse(&context, ScriptFault::ShopTwice)),
                None => Ok(()),
            }
        },
    );
}

fn value(argument: Argument<'_, '_>, like: Usual) -> Bound<ShopValue> {
    Ok(match like {
        Usual::Number(_) | Usual::Table => ShopValue::Number(argument.plain()?),
        Usual::Numbers(_) => ShopValue::Numbers(argument.plain_list()?),
        Usual::Pairs(_) => ShopValue::Pairs(argument.rows("a list of pairs of numbers `[[a, b], ...]`")?),
    })
}
