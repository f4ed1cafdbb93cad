//! Numbers: decimal division, and arithmetic of free numbers.
//!
//! Invariant: `10 / 4` is 2.5; a free number stays a constant plus multiples of free numbers.

use kernel::history::Number;
use rhai::{Dynamic, Engine, NativeCallContext};

use super::{Word, register_text};
use crate::fault::ScriptFault;
use crate::options::{as_number, as_plain};
use crate::session::{Bound, refuse};

pub(super) const WORDS: &[Word] = &[];

#[expect(clippy::cast_precision_loss, reason = "whole numbers in scripts are far below 2^53")]
pub(super) fn register(engine: &mut Engine) {
    engine.set_fast_operators(false);
    let divide = |context: &NativeCallContext<'_>, a: f64, b: f64| -> Bound<f64> {
        if b == 0.0 { Err(refuse(context, ScriptFault::DivisionByZero)) } else { Ok(a / b) }
    };
    engine.register_fn("/", move |context: NativeCallContext<'_>, a: i64, b: i64| {
        divide(&context, a as f64, b as f64)
    });
    engine.register_fn("/", move |context: NativeCallContext<'_>, a: i64, b: f64| {
        divide(&context, a as f64, b)
    });
    engine.register_fn("/", move |context: NativeCallContext<'_>, a: f64, b: i64| {
        divide(&context, a, b as f64)
    });
    engine.register_fn("/", move |context: NativeCallContext<'_>, a: f64, b: f64| divide(&context, a, b));

    // The interpreter's own `/=` would divide whole numbers without a rest, and keep their type.
    engine.register_fn(
        "/=",
        move |context: NativeCallContext<'_>, a: &mut Dynamic, b: Dynamic| -> Bound<()> {
            *a = match (as_plain(a), as_plain(&b)) {
                (Some(a), Some(b)) => Dynamic::from(divide(&context, a, b)?),
                _ => context.call_native_fn("/", (a.clone(), b))?,
            };
            Ok(())
        },
    );

    engine.register_type_with_name::<Number>("free number");
    register_text(engine, |_: &mut Number| "a free number".to_owned());
    engine.register_fn("-", |a: Number| a.times(-1.0));
    engine.register_fn("+", |a: Number, b: Number| a.plus(&b));
    engine.register_fn("-", |a: Number, b: Number| a.plus(&b.times(-1.0)));
    engine.register_fn("*", |context: NativeCallContext<'_>, _: Number, _: Number| -> Bound<Number> {
        Err(refuse(&context, ScriptFault::NotLinear))
    });
    engine.register_fn("/", |context: NativeCallContext<'_>, _: Number, _: Number| -> Bound<Number> {
        Err(refuse(&context, ScriptFault::NotLinear))
    });
    register_mixed::<i64>(engine);
    register_mixed::<f64>(engine);
    refuse_comparison(engine);
}

/// The interpreter takes values of different types for unequal without a word, so that `length > 150` would
/// be false whatever the solver finds.
fn refuse_comparison(engine: &mut Engine) {
    for operator in ["<", "<=", ">", ">=", "==", "!="] {
        let refused = |context: &NativeCallContext<'_>| -> Bound<bool> {
            Err(refuse(context, ScriptFault::ComparedFree))
        };
        engine.register_fn(operator, move |c: NativeCallContext<'_>, _: Number, _: Number| refused(&c));
        engine.register_fn(operator, move |c: NativeCallContext<'_>, _: Number, _: i64| refused(&c));
        engine.register_fn(operator, move |c: NativeCallContext<'_>, _: Number, _: f64| refused(&c));
        engine.register_fn(operator, move |c: NativeCallContext<'_>, _: i64, _: Number| refused(&c));
        engine.register_fn(operator, move |c: NativeCallContext<'_>, _: f64, _: Number| refused(&c));
    }
}

/// Arithmetic of a free number with a plain one of type `T`.
fn register_mixed<T: Clone + Send + Sync + 'static>(engine: &mut Engine) {
    let number = |value: T| as_number(&Dynamic::from(value)).unwrap_or_else(|| Number::constant(f64::NAN));
    let plain = |value: T| as_plain(&Dynamic::from(value)).unwrap_or(f64::NAN);
    engine.register_fn("+", move |a: Number, b: T| a.plus(&number(b)));
    engine.register_fn("+", move |a: T, b: Number| number(a).plus(&b));
    engine.register_fn("-", move |a: Number, b: T| a.plus(&number(b).times(-1.0)));
    engine.register_fn("-", move |a: T, b: Number| number(a).plus(&b.times(-1.0)));
    engine.register_fn("*", move |a: Number, b: T| a.times(plain(b)));
    engine.register_fn("*", move |a: T, b: Number| b.times(plain(a)));
    engine.register_fn("/", move |context: NativeCallContext<'_>, a: Number, b: T| -> Bound<Number> {
        let by = plain(b);
        if by == 0.0 { Err(refuse(&context, ScriptFault::DivisionByZero)) } else { Ok(a.times(1.0 / by)) }
    });
    engine.register_fn("/", |context: NativeCallContext<'_>, _: T, _: Number| -> Bound<Number> {
        Err(refuse(&context, ScriptFault::NotLinear))
    });
}
