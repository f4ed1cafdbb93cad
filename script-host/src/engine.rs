//! Runs a script and gives its history.
//!
//! Invariant: a script has no access to files, clock or network, and its work is limited by counted
//! operations, so that the same script ends at the same place on every machine.

use std::collections::BTreeMap;
use std::path::Path;

use kernel::history::History;
use rhai::{AST, Engine, EvalAltResult, ParseError, Position, Scope};

use crate::bind;
use crate::fault::{ScriptFault, nearest};
use crate::files;
use crate::finding::{Failure, Finding};
use crate::session::{Session, Shared};
use crate::source::{Place, Source};

/// A script that has run.
#[derive(Debug)]
pub struct Loaded {
    /// What it asked for.
    pub history: History,
    /// Its text.
    pub source: Source,
    /// Places of its calls, by the number of a span.
    pub places: Vec<Option<Place>>,
    /// What it printed.
    pub printed: Vec<String>,
}

/// Operations that a script may use: some seconds of work.
const MOST_OPERATIONS: u64 = 20_000_000;
/// Elements of a list, entries of a map.
const MOST_ELEMENTS: usize = 1_000_000;
/// Bytes of a text.
const MOST_TEXT: usize = 1_000_000;
/// Calls within calls.
const MOST_CALLS: usize = 64;
/// Brackets within brackets.
const MOST_DEPTH: usize = 64;
/// Lines that a script may print.
const MOST_LINES: usize = 1_000;
/// Stack of the thread that runs a script, in bytes: room for the deepest script that the limits allow.
const STACK_BYTES: usize = 256 << 20;

/// Runs a family script, or reads a saved history if the file's name ends with `.json`.
///
/// # Errors
/// [`Failure::File`] if the file cannot be read, [`Failure::Findings`] if the script is at fault.
pub fn load(path: &Path, overrides: BTreeMap<String, String>) -> Result<Loaded, Failure> {
    let text = files::read(path).map_err(Failure::File)?;
    let source = Source { path: path.display().to_string(), text };
    if path.extension().is_some_and(|e| e == "json") {
        return saved_history(source, &overrides);
    }
    let family = path.file_stem().map_or_else(String::new, |stem| stem.to_string_lossy().into_owned());
    let session = Shared::new(overrides);
    let outcome = on_a_large_stack(|| run(&source, &session));
    let mut session = session.lock();
    let finding = match outcome {
        Ok(()) => session_fault(&session).map(|fault| fault.finding(None)),
        Err(finding) => Some(finding),
    };
    if let Some(finding) = finding {
        return Err(Failure::Findings { source, findings: vec![finding] });
    }
    match session.history(&family) {
        Some(history) => Ok(Loaded {
            history,
            source,
            places: std::mem::take(&mut session.places),
            printed: std::mem::take(&mut session.printed),
        }),
        None => Err(Failure::Findings { source, findings: vec![ScriptFault::NoPart.finding(None)] }),
    }
}

fn saved_history(source: Source, overrides: &BTreeMap<String, String>) -> Result<Loaded, Failure> {
    let finding = match (overrides.keys().next(), kernel::exchange::history_json::read(&source.text)) {
        (Some(name), _) => {
            ScriptFault::UnknownParameter { name: name.clone(), known: Vec::new() }.finding(None)
        }
        (None, Err(diagnostic)) => crate::finding::located(diagnostic, &[]),
        (None, Ok(history)) => {
            return Ok(Loaded { history, source, places: Vec::new(), printed: Vec::new() });
        }
    };
    Err(Failure::Findings { source, findings: vec![finding] })
}

fn on_a_large_stack<T: Send>(work: impl FnOnce() -> T + Send) -> T {
    std::thread::scope(|scope| {
        let thread = std::thread::Builder::new()
            .stack_size(STACK_BYTES)
            .spawn_scoped(scope, work)
            .expect("the system can start one more thread");
        thread.join().unwrap_or_else(|panic| std::panic::resume_unwind(panic))
    })
}

fn session_fault(session: &Session) -> Option<ScriptFault> {
    let known = || session.parameters.iter().map(|p| p.name.clone()).collect::<Vec<_>>();
    let unknown = session.overrides.keys().find(|name| !known().contains(name));
    if let Some(name) = unknown {
        return Some(ScriptFault::UnknownParameter { name: name.clone(), known: known() });
    }
    session.draft.is_none().then_some(ScriptFault::NoPart)
}

fn run(source: &Source, session: &Shared) -> Result<(), Finding> {
    let engine = engine(session);
    let ast: AST = engine.compile(&source.text).map_err(|error| syntax(&error))?;
    engine.run_ast_with_scope(&mut Scope::new(), &ast).map_err(|error| runtime(*error))
}

fn engine(session: &Shared) -> Engine {
    let mut engine = Engine::new();
    engine
        .set_max_operations(MOST_OPERATIONS)
        .set_max_array_size(MOST_ELEMENTS)
        .set_max_map_size(MOST_ELEMENTS)
        .set_max_string_size(MOST_TEXT)
        .set_max_call_levels(MOST_CALLS)
        .set_max_expr_depths(MOST_DEPTH, MOST_DEPTH)
        .disable_symbol("eval");
    let lines = session.clone();
    engine.on_print(move |text| {
        let mut session = lines.lock();
        if session.printed.len() < MOST_LINES {
            session.printed.push(text.to_owned());
        }
    });
    bind::register(&mut engine, session);
    engine
}

fn syntax(error: &ParseError) -> Finding {
    let message = lower_first(&error.err_type().to_string());
    ScriptFault::Language { message, hint: None }.finding(Place::of(error.position()))
}

/// The finding of a run-time error: our own fault if it is one, otherwise the language's, in our words.
#[expect(
    clippy::wildcard_enum_match_arm,
    reason = "the interpreter has some thirty errors, most alike to us"
)]
fn runtime(error: EvalAltResult) -> Finding {
    match error {
        EvalAltResult::ErrorInFunctionCall(_, _, inner, _) => runtime(*inner),
        EvalAltResult::ErrorRuntime(value, position) => {
            let place = Place::of(position);
            match value.clone().try_cast::<ScriptFault>() {
                Some(fault) => fault.finding(place),
                None => ScriptFault::Language { message: value.to_string(), hint: None }.finding(place),
            }
        }
        EvalAltResult::ErrorFunctionNotFound(signature, position) => {
            function_not_found(&signature).finding(Place::of(position))
        }
        EvalAltResult::ErrorVariableNotFound(name, position) => {
            let message = format!("there is no variable `{name}`");
            let hint = Some("declare it before with `let`".to_owned());
            ScriptFault::Language { message, hint }.finding(Place::of(position))
        }
        EvalAltResult::ErrorTooManyOperations(position) => {
            let message = format!("the script takes more than {MOST_OPERATIONS} operations");
            let hint = Some("is there a loop without end?".to_owned());
            ScriptFault::Language { message, hint }.finding(Place::of(position))
        }
        other => {
            let position = other.position();
            let message = lower_first(&without_position(&other, position));
            ScriptFault::Language { message, hint: None }.finding(Place::of(position))
        }
    }
}

fn without_position(error: &EvalAltResult, position: Position) -> String {
    let text = error.to_string();
    text.strip_suffix(&format!(" ({position})")).map_or(text.clone(), str::to_owned)
}

/// `flange (Part, &str, map)` as a fault: an unknown word, or a known one called in a wrong way.
fn function_not_found(signature: &str) -> ScriptFault {
    let (name, arguments) = signature.split_once(' ').unwrap_or((signature, ""));
    let words: Vec<_> = bind::WORDS.iter().copied().flatten().collect();
    if let Some(word) = words.iter().find(|w| w.name == name) {
        let message = format!("`{name}` cannot be called like this");
        return ScriptFault::Language { message, hint: Some(format!("it is called {}", word.call)) };
    }
    let known: Vec<&str> = words.iter().map(|w| w.name).collect();
    let hint = nearest(name, &known).map(|k| format!("did you mean `{k}`?"));
    let is_operator = !name.starts_with(|c: char| c.is_alphabetic() || c == '_');
    let message = if is_operator {
        format!(
            "`{name}` does not work between {}",
            arguments.trim_matches(['(', ')']).replace(", ", " and ")
        )
    } else {
        format!("there is no function `{name}`")
    };
    ScriptFault::Language { message, hint }
}

fn lower_first(text: &str) -> String {
    let mut letters = text.chars();
    letters.next().map_or_else(String::new, |first| first.to_lowercase().chain(letters).collect())
}
