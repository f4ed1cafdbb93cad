//! Built-in functions of the interpreter that family scripts may not use.
//!
//! Invariant: a script can neither wait nor read a clock or a file, however it names the function: a call
//! through `Fn("sleep")` finds the refusal too.

use rhai::{Dynamic, Engine, NativeCallContext};

use crate::fault::ScriptFault;
use crate::session::{Bound, refuse};

/// `sleep` in both its forms, and `timestamp`.
pub(super) fn register(engine: &mut Engine) {
    engine.register_fn("sleep", |context: NativeCallContext<'_>, _: i64| wait(&context));
    engine.register_fn("sleep", |context: NativeCallContext<'_>, _: f64| wait(&context));
    engine.register_fn("timestamp", |context: NativeCallContext<'_>| -> Bound<Dynamic> {
        let reason = "the same parameters must give the same part at any time";
        Err(refuse(&context, ScriptFault::NotForScripts { word: "timestamp", reason }))
    });
}

fn wait(context: &NativeCallContext<'_>) -> Bound<()> {
    let reason = "there is nothing to wait for: take it out";
    Err(refuse(context, ScriptFault::NotForScripts { word: "sleep", reason }))
}

/// What is said of a word that the engine takes for no word at all.
pub(crate) fn symbol(word: &str) -> Option<ScriptFault> {
    let (word, reason) = match word {
        "eval" => ("eval", "write the code itself where it belongs"),
        "curry" => ("curry", "write a function with fewer arguments, `|x| place(x, 20)`"),
        _ => return None,
    };
    Some(ScriptFault::NotForScripts { word, reason })
}

/// What is said of `import`.
pub(crate) fn import() -> ScriptFault {
    let reason = "a family is one file; write the functions that it needs into it";
    ScriptFault::NotForScripts { word: "import", reason }
}
