//! `family`, `parameter`: what a family is called and what can be changed from outside.
//!
//! Invariant: a parameter's value lies in its declared range, whether it is the default or was set.

use kernel::history::{Parameter, ParameterRange, ParameterValue, check_plain_name};
use rhai::{Dynamic, Engine, Map, NativeCallContext};

use super::Word;
use crate::fault::ScriptFault;
use crate::options::{Argument, Options, argument, as_plain};
use crate::session::{Bound, Shared, refuse};

pub(crate) const WORDS: &[Word] = &[
    Word {
        name: "family",
        call: "family(title)",
        meaning: "Says in a line what the family is; it is printed on every output.",
    },
    Word {
        name: "parameter",
        call: "parameter(name, default, #{ min, max, whole, choices, unit, meaning })",
        meaning: "Declares a number between `min` and `max`, or a number or word out of `choices`, and gives the value used.",
    },
];

pub(crate) fn register(engine: &mut Engine, session: &Shared) {
    let shared = session.clone();
    engine.register_fn("family", move |context: NativeCallContext<'_>, title: Dynamic| -> Bound<()> {
        shared.lock().title = argument(&context, "family", "title", title).text()?;
        Ok(())
    });
    let shared = session.clone();
    engine.register_fn(
        "parameter",
        move |context: NativeCallContext<'_>,
              name: Dynamic,
              default: Dynamic,
              options: Map|
              -> Bound<Dynamic> {
            let name = argument(&context, "parameter", "name", name).text()?;
            declare(&shared, &context, name, default, options)
        },
    );
}

fn declare(
    shared: &Shared,
    context: &NativeCallContext<'_>,
    name: String,
    default: Dynamic,
    options: Map,
) -> Bound<Dynamic> {
    check_plain_name(&name).map_err(|e| refuse(context, ScriptFault::Name(e)))?;
    let mut options =
        Options::new(context, "parameter", options, &["min", "max", "whole", "choices", "unit", "meaning"])?;
    options.not_both("min", "choices")?;
    options.not_both("max", "choices")?;
    let range = match options.get("choices") {
        Some(choices) => {
            let one = |d: Dynamic| argument(context, "parameter", "choices", d);
            let choices = choices.list()?;
            if choices.first().is_some_and(|first| as_plain(first).is_some()) {
                ParameterRange::Choices(choices.into_iter().map(|d| one(d).plain()).collect::<Bound<_>>()?)
            } else {
                ParameterRange::Words(choices.into_iter().map(|d| one(d).text()).collect::<Bound<_>>()?)
            }
        }
        None => ParameterRange::Numbers {
            min: options.need("min")?.plain()?,
            max: options.need("max")?.plain()?,
            whole: options.get("whole").map_or(Ok(false), Argument::truth)?,
        },
    };
    let unit = options.get("unit").map_or(Ok(String::new()), Argument::text)?;
    let meaning = options.get("meaning").map_or(Ok(String::new()), Argument::text)?;
    let default = match &range {
        ParameterRange::Numbers { .. } | ParameterRange::Choices(_) => {
            ParameterValue::Number(argument(context, "parameter", "default", default).plain()?)
        }
        ParameterRange::Words(_) => {
            ParameterValue::Word(argument(context, "parameter", "default", default).text()?)
        }
    };
    if !range.allows(&default) {
        let (got, allowed) = (default.to_string(), range.to_string());
        return Err(refuse(context, ScriptFault::DefaultOutOfRange { name, got, allowed }));
    }
    let mut session = shared.lock();
    if session.parameters.iter().any(|p| p.name == name) {
        return Err(refuse(context, ScriptFault::ParameterTwice { name }));
    }
    let value = match session.overrides.get(&name) {
        None => default.clone(),
        Some(text) => {
            let refused = |kind: &str| {
                let allowed = format!("{kind}{range}");
                refuse(
                    context,
                    ScriptFault::ValueOutOfRange { name: name.clone(), got: text.clone(), allowed },
                )
            };
            let value = match &range {
                ParameterRange::Numbers { .. } | ParameterRange::Choices(_) => {
                    ParameterValue::Number(text.parse().map_err(|_| refused("a number, "))?)
                }
                ParameterRange::Words(_) => ParameterValue::Word(text.clone()),
            };
            if range.allows(&value) { value } else { return Err(refused("")) }
        }
    };
    let given = match (&value, &range) {
        #[expect(clippy::cast_possible_truncation, reason = "checked to be a whole number in its range")]
        (ParameterValue::Number(n), ParameterRange::Numbers { whole: true, .. }) => Dynamic::from(*n as i64),
        (ParameterValue::Number(n), _) => Dynamic::from(*n),
        (ParameterValue::Word(w), _) => Dynamic::from(w.clone()),
    };
    session.parameters.push(Parameter { name, value, default, range, unit, meaning });
    Ok(given)
}
