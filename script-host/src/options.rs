//! Arguments and option maps of bound functions, read with the place of the call.
//!
//! Invariant: an unknown option is an error that lists the allowed ones; a value of the wrong kind is an
//! error that says what was wanted and what was given.

use kernel::history::Number;
use rhai::{Array, Dynamic, ImmutableString, Map, NativeCallContext};

use crate::fault::{NUMBER, PLAIN_NUMBER, ScriptFault};
use crate::session::{Bound, refuse};

/// A value as a person would call it.
fn described(context: &NativeCallContext<'_>, value: &Dynamic) -> String {
    if value.is_string() {
        return format!("the text \"{value}\"");
    }
    match value.type_name() {
        "i64" | "f64" => format!("the number {value}"),
        "bool" => format!("`{value}`"),
        "array" => "a list".to_owned(),
        "map" => "an option map".to_owned(),
        "()" => "nothing".to_owned(),
        other => with_article(type_word(context.engine().map_type_name(other))),
    }
}

/// What a type of the interpreter is called in messages; handles have their own names already.
pub(crate) fn type_word(name: &str) -> &str {
    match name {
        "i64" | "int" => "whole number",
        "f64" | "float" => "number",
        "string" | "&str | ImmutableString | String" => "text",
        "array" => "list",
        "map" => "option map",
        "bool" => "truth value",
        "range" | "range=" => "range",
        "Fn" => "function",
        other => other,
    }
}

/// The word with `a` or `an` before it.
pub(crate) fn with_article(word: &str) -> String {
    let article = if word.starts_with(['a', 'e', 'i', 'o', 'u']) { "an" } else { "a" };
    format!("{article} {word}")
}

/// A plain or free number, if the value is one.
pub(crate) fn as_number(value: &Dynamic) -> Option<Number> {
    as_plain(value).map(Number::constant).or_else(|| value.clone().try_cast::<Number>())
}

/// A plain number, if the value is one.
#[expect(clippy::cast_precision_loss, reason = "whole numbers in scripts are far below 2^53")]
pub(crate) fn as_plain(value: &Dynamic) -> Option<f64> {
    value.as_float().ok().or_else(|| value.as_int().ok().map(|i| i as f64))
}

/// One argument of a call.
pub(crate) struct Argument<'a, 'c> {
    context: &'a NativeCallContext<'c>,
    place: String,
    value: Dynamic,
}

/// An argument by its name in the function's documentation.
pub(crate) fn argument<'a, 'c>(
    context: &'a NativeCallContext<'c>,
    function: &str,
    name: &str,
    value: Dynamic,
) -> Argument<'a, 'c> {
    Argument { context, place: format!("`{function}`: `{name}`"), value }
}

impl Argument<'_, '_> {
    /// The fault of a value that is not what was wanted.
    pub(crate) fn wrong(&self, wanted: &'static str) -> Box<rhai::EvalAltResult> {
        let got = described(self.context, &self.value);
        refuse(self.context, ScriptFault::WrongType { place: self.place.clone(), wanted, got })
    }

    /// A plain or free number.
    pub(crate) fn number(self) -> Bound<Number> {
        as_number(&self.value).ok_or_else(|| self.wrong(NUMBER))
    }

    /// A number that the solver cannot change.
    pub(crate) fn plain(self) -> Bound<f64> {
        let wanted = if self.value.is::<Number>() { PLAIN_NUMBER } else { NUMBER };
        as_plain(&self.value).ok_or_else(|| self.wrong(wanted))
    }

    /// A whole number.
    pub(crate) fn count(self, least: u32, most: u32) -> Bound<u32> {
        let whole = as_plain(&self.value)
            .filter(|n| n.fract() == 0.0 && f64::from(least) <= *n && *n <= f64::from(most));
        #[expect(
            clippy::cast_possible_truncation,
            clippy::cast_sign_loss,
            reason = "checked to lie in the range"
        )]
        whole.map(|n| n as u32).ok_or_else(|| {
            let got = described(self.context, &self.value);
            refuse(self.context, ScriptFault::WrongCount { place: self.place.clone(), least, most, got })
        })
    }

    /// `true` or `false`.
    pub(crate) fn truth(self) -> Bound<bool> {
        self.value.as_bool().map_err(|_| self.wrong("`true` or `false`"))
    }

    /// A text.
    pub(crate) fn text(self) -> Bound<String> {
        self.value.clone().try_cast::<ImmutableString>().map(Into::into).ok_or_else(|| self.wrong("a text"))
    }

    /// A list.
    pub(crate) fn list(self) -> Bound<Array> {
        self.value.clone().try_cast::<Array>().ok_or_else(|| self.wrong("a list"))
    }

    /// A list of two numbers.
    pub(crate) fn point(self) -> Bound<[Number; 2]> {
        self.numbers("a point `[x, y]`")
    }

    /// A list of `N` numbers.
    pub(crate) fn numbers<const N: usize>(self, wanted: &'static str) -> Bound<[Number; N]> {
        let list = self.value.clone().try_cast::<Array>();
        let numbers = list.and_then(|list| list.iter().map(as_number).collect::<Option<Vec<Number>>>());
        numbers.and_then(|numbers| numbers.try_into().ok()).ok_or_else(|| self.wrong(wanted))
    }

    /// A list of `N` plain numbers.
    pub(crate) fn vector<const N: usize>(self, wanted: &'static str) -> Bound<[f64; N]> {
        let list = self.value.clone().try_cast::<Array>();
        let numbers = list.and_then(|list| list.iter().map(as_plain).collect::<Option<Vec<f64>>>());
        numbers.and_then(|numbers| numbers.try_into().ok()).ok_or_else(|| self.wrong(wanted))
    }

    /// A list of plain numbers, as many as there are.
    pub(crate) fn plain_list(self) -> Bound<Vec<f64>> {
        let list = self.value.clone().try_cast::<Array>();
        let numbers = list.and_then(|list| list.iter().map(as_plain).collect());
        numbers.ok_or_else(|| self.wrong("a list of numbers"))
    }

    /// A list of option maps.
    pub(crate) fn maps(self, wanted: &'static str) -> Bound<Vec<Map>> {
        let list = self.value.clone().try_cast::<Array>();
        let maps = list.and_then(|list| list.into_iter().map(Dynamic::try_cast::<Map>).collect());
        maps.ok_or_else(|| self.wrong(wanted))
    }

    /// A list of lists of `N` plain numbers.
    pub(crate) fn rows<const N: usize>(self, wanted: &'static str) -> Bound<Vec<[f64; N]>> {
        let row = |row: &Dynamic| {
            let list = row.clone().try_cast::<Array>()?;
            let numbers: Option<Vec<f64>> = list.iter().map(as_plain).collect();
            <[f64; N]>::try_from(numbers?).ok()
        };
        let list = self.value.clone().try_cast::<Array>();
        list.and_then(|l| l.iter().map(row).collect()).ok_or_else(|| self.wrong(wanted))
    }

    /// One of several words, each with its meaning.
    pub(crate) fn word<T: Copy>(self, words: &[(&'static str, T)]) -> Bound<T> {
        let place = self.place.clone();
        let context = self.context;
        let got = self.text()?;
        words.iter().find(|(w, _)| *w == got).map(|(_, t)| *t).ok_or_else(|| {
            let allowed = words.iter().map(|(w, _)| *w).collect();
            refuse(context, ScriptFault::WrongWord { place, allowed, got })
        })
    }

    /// Whether it is a handle of this kind.
    pub(crate) fn is<T: Clone + 'static>(&self) -> bool {
        self.value.is::<T>()
    }

    /// A handle that another function gave.
    pub(crate) fn handle<T: Clone + Send + Sync + 'static>(self, wanted: &'static str) -> Bound<T> {
        self.as_handle(wanted)
    }

    /// The same, where more is asked of the handle.
    pub(crate) fn as_handle<T: Clone + Send + Sync + 'static>(&self, wanted: &'static str) -> Bound<T> {
        self.value.clone().try_cast::<T>().ok_or_else(|| self.wrong(wanted))
    }
}

/// An option map of a call.
pub(crate) struct Options<'a, 'c> {
    context: &'a NativeCallContext<'c>,
    function: &'static str,
    map: Map,
}

impl<'a, 'c> Options<'a, 'c> {
    /// Takes a map whose keys must all be allowed.
    pub(crate) fn new(
        context: &'a NativeCallContext<'c>,
        function: &'static str,
        map: Map,
        allowed: &[&'static str],
    ) -> Bound<Self> {
        match map.keys().find(|key| !allowed.contains(&key.as_str())) {
            Some(option) => {
                let allowed = allowed.to_vec();
                Err(refuse(
                    context,
                    ScriptFault::UnknownOption { function, option: option.to_string(), allowed },
                ))
            }
            None => Ok(Self { context, function, map }),
        }
    }

    /// An option that may be left out.
    pub(crate) fn get(&mut self, option: &'static str) -> Option<Argument<'a, 'c>> {
        let value = self.map.remove(option)?;
        Some(Argument {
            context: self.context,
            place: format!("option `{option}` of `{}`", self.function),
            value,
        })
    }

    /// An option that must be there.
    pub(crate) fn need(&mut self, option: &'static str) -> Bound<Argument<'a, 'c>> {
        self.get(option).ok_or_else(|| self.missing(option))
    }

    /// The fault of an option that is not there.
    pub(crate) fn missing(&self, option: &'static str) -> Box<rhai::EvalAltResult> {
        refuse(self.context, ScriptFault::MissingOption { function: self.function, option })
    }

    /// A number, or what it is when left out.
    pub(crate) fn number_or(&mut self, option: &'static str, otherwise: f64) -> Bound<Number> {
        self.get(option).map_or(Ok(Number::constant(otherwise)), Argument::number)
    }

    /// A word, or what it means when left out.
    pub(crate) fn word_or<T: Copy>(
        &mut self,
        option: &'static str,
        words: &[(&'static str, T)],
        otherwise: T,
    ) -> Bound<T> {
        self.get(option).map_or(Ok(otherwise), |argument| argument.word(words))
    }

    /// Whether an option was given.
    pub(crate) fn has(&self, option: &'static str) -> bool {
        self.map.contains_key(option)
    }

    /// Refuses two options that say the same thing in two ways.
    pub(crate) fn not_both(&self, a: &'static str, b: &'static str) -> Bound<()> {
        if self.map.contains_key(a) && self.map.contains_key(b) {
            return Err(refuse(self.context, ScriptFault::Either { function: self.function, a, b }));
        }
        Ok(())
    }
}
