//! Runs a script and gives its history.
//!
//! Invariant: a script has no access to files, clock or network, and its work is limited by counted
//! operations, so that the same script ends at the same place on every machine.

use std::collections::BTreeMap;
use std::path::{Component, Path};

use kernel::diag::nearest;
use kernel::history::History;
use kernel::machine::MeshFiles;
use rhai::module_resolvers::DummyModuleResolver;
use rhai::{AST, Engine, EvalAltResult, ParseError, Position, Scope};

use crate::bind;
use crate::fault::ScriptFault;
use crate::files;
use crate::finding::{Failure, Finding};
use crate::meshes;
use crate::options::{type_word, with_article};
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
    /// Contents of the files that neighbours come from.
    pub meshes: MeshFiles,
}

/// Operations that a script may use: some seconds of work. A loop over 5,000 places takes about 100,000.
const MOST_OPERATIONS: u64 = 2_000_000;
/// Values of a list with those of the lists in it, entries of a map: 5,000 places `[x, y]`. One operation can
/// touch all of them, so that this limits the work of an operation, too.
const MOST_ELEMENTS: usize = 15_000;
/// Bytes of a text, or of all texts in a list. Texts that functions have captured are not counted; at this
/// size a full list of such functions takes 300 MB.
const MOST_TEXT: usize = 20_000;
/// Calls within calls.
const MOST_CALLS: usize = 64;
/// Brackets within brackets.
const MOST_DEPTH: usize = 64;
/// Bytes that a script may print; what comes after is dropped.
const MOST_PRINTED: usize = 100_000;
/// Stack of the thread that runs a script, in bytes: room for the deepest script that the limits allow.
const STACK_BYTES: usize = 256 << 20;

/// Functions of the language that work on plain numbers.
const OF_PLAIN_NUMBERS: [&str; 10] =
    ["abs", "ceiling", "cos", "floor", "max", "min", "round", "sin", "sqrt", "tan"];

/// Runs a family script, or reads a saved history if the file's name ends with `.json`.
///
/// # Errors
/// [`Failure::File`] if the file cannot be read, [`Failure::Findings`] if the script is at fault.
pub fn load(path: &Path, overrides: BTreeMap<String, String>) -> Result<Loaded, Failure> {
    let text = files::read(path).map_err(Failure::File)?;
    let source = Source { path: path.display().to_string(), text };
    if path.extension().is_some_and(|e| e == "json") {
        return saved_history(source, &overrides, path);
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
        Some(mut history) => {
            let places = std::mem::take(&mut session.places);
            let meshes = match meshes::of_script(&mut history, path) {
                Ok(meshes) => meshes,
                Err(findings) => {
                    let findings =
                        findings.into_iter().map(|(span, fault)| meshes::located(span, fault, &places));
                    return Err(Failure::Findings { source, findings: findings.collect() });
                }
            };
            Ok(Loaded { history, source, places, printed: std::mem::take(&mut session.printed), meshes })
        }
        None => Err(Failure::Findings { source, findings: vec![ScriptFault::NoPart.finding(None)] }),
    }
}

fn saved_history(
    source: Source,
    overrides: &BTreeMap<String, String>,
    path: &Path,
) -> Result<Loaded, Failure> {
    let finding = match (overrides.keys().next(), kernel::exchange::history_json::read(&source.text)) {
        (Some(name), _) => ScriptFault::HistoryIsFixed { name: name.clone() }.finding(None),
        (None, Err(diagnostic)) => crate::finding::located(diagnostic, &[]),
        (None, Ok(history)) if !is_folder_name(&history.family) => {
            ScriptFault::FamilyName { family: history.family }.finding(None)
        }
        (None, Ok(history)) => match meshes::of_history(&history, path) {
            Ok(meshes) => {
                return Ok(Loaded { history, source, places: Vec::new(), printed: Vec::new(), meshes });
            }
            Err(findings) => {
                let findings = findings.into_iter().map(|fault| fault.finding(None)).collect();
                return Err(Failure::Findings { source, findings });
            }
        },
    };
    Err(Failure::Findings { source, findings: vec![finding] })
}

/// Outputs go to a folder of the family's name, which must not lead anywhere else.
fn is_folder_name(family: &str) -> bool {
    let mut parts = Path::new(family).components();
    matches!((parts.next(), parts.next()), (Some(Component::Normal(name)), None) if name == family)
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
    let ast: AST = engine.compile(&source.text).map_err(|error| syntax(source, &error))?;
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
        .disable_symbol("eval")
        .disable_symbol("curry");
    engine.set_module_resolver(DummyModuleResolver::new());
    let (printed, debugged) = (session.clone(), session.clone());
    engine.on_print(move |text| print(&printed, text));
    engine.on_debug(move |text, _, _| print(&debugged, text));
    bind::register(&mut engine, session);
    engine
}

fn print(session: &Shared, text: &str) {
    let mut session = session.lock();
    let so_far: usize = session.printed.iter().map(|line| line.len() + 1).sum();
    if so_far + text.len() < MOST_PRINTED {
        session.printed.push(text.to_owned());
    }
}

fn syntax(source: &Source, error: &ParseError) -> Finding {
    let place = Place::of(error.position());
    if let Some(fault) = place.and_then(|p| bind::refused::symbol(&source.text[source.word_at(p)])) {
        return fault.finding(place);
    }
    let message = lower_first(&error.err_type().to_string());
    ScriptFault::Language { message, hint: None }.finding(place)
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
        EvalAltResult::ErrorTooManyOperations(position) => said(
            format!("the script takes more than {MOST_OPERATIONS} operations"),
            "is there a loop without end?",
            position,
        ),
        EvalAltResult::ErrorStackOverflow(position) => said(
            format!("functions call each other more than {MOST_CALLS} deep"),
            "does a function call itself without end?",
            position,
        ),
        EvalAltResult::ErrorDataTooLarge(what, position) => {
            let message = if what.contains("string") {
                format!("a text, or the texts in a list, grow above {MOST_TEXT} bytes")
            } else {
                format!("a list or map, with those within it, grows above {MOST_ELEMENTS} values")
            };
            said(message, "is there a loop without end? `grid` and `ring` set many places at once", position)
        }
        EvalAltResult::ErrorModuleNotFound(_, position) => {
            bind::refused::import().finding(Place::of(position))
        }
        EvalAltResult::ErrorArrayBounds(count, index, position) => said(
            format!("the list has no place {index}: it has {count} values"),
            "places count from 0",
            position,
        ),
        EvalAltResult::ErrorDotExpr(text, position) => property_not_found(&text).finding(Place::of(position)),
        EvalAltResult::ErrorMismatchDataType(wanted, got, position) => said(
            format!("this takes {}, got {}", with_article(type_word(&wanted)), with_article(type_word(&got))),
            if got == "f64" { "`x.to_int()` makes a whole number of x" } else { "" },
            position,
        ),
        other => {
            let position = other.position();
            let message = lower_first(&without_position(&other, position));
            ScriptFault::Language { message, hint: None }.finding(Place::of(position))
        }
    }
}

/// A fault of the language in our words, with a hint unless that is empty.
fn said(message: String, hint: &str, position: Position) -> Finding {
    let hint = (!hint.is_empty()).then(|| hint.to_owned());
    ScriptFault::Language { message, hint }.finding(Place::of(position))
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
    if is_operator {
        return operator_not_found(name, arguments);
    }
    if OF_PLAIN_NUMBERS.contains(&name) && arguments.contains("free number") {
        return ScriptFault::FreeInFunction { function: name.to_owned() };
    }
    ScriptFault::Language { message: format!("there is no function `{name}`"), hint }
}

/// A property that handles do not have; the interpreter says
/// `Unknown property 'width' - a getter is not registered for type 'panel'`.
fn property_not_found(text: &str) -> ScriptFault {
    let quoted: Vec<&str> = text.split('\'').collect();
    let [_, property, _, kind, ..] = quoted.as_slice() else {
        return ScriptFault::Language { message: lower_first(text), hint: None };
    };
    let message = format!("{} has no property `{property}`", with_article(type_word(kind)));
    let word = bind::WORDS.iter().copied().flatten().find(|w| w.name == *property);
    ScriptFault::Language { message, hint: word.map(|w| format!("there is a function {}", w.call)) }
}

/// An operator between things that it does not work on; `arguments` are their types, `(i64, array)`.
fn operator_not_found(name: &str, arguments: &str) -> ScriptFault {
    let types: Vec<&str> = arguments.trim_matches(['(', ')']).split(", ").collect();
    let words: Vec<String> = types.iter().map(|t| with_article(type_word(t))).collect();
    let message = match words.as_slice() {
        [one] => format!("`{name}` does not work on {one}"),
        several => format!("`{name}` does not work between {}", several.join(" and ")),
    };
    let hint = match name {
        ".." | "..=" => Some("ranges run over whole numbers; `x.to_int()` makes a whole number of x"),
        _ => None,
    };
    ScriptFault::Language { message, hint: hint.map(str::to_owned) }
}

fn lower_first(text: &str) -> String {
    let mut letters = text.chars();
    letters.next().map_or_else(String::new, |first| first.to_lowercase().chain(letters).collect())
}
