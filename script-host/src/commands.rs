//! What the program does for each command.
//!
//! Invariant: a command prints to the writer it is given and returns a failure instead of ending the
//! program.

use std::collections::BTreeMap;
use std::io::Write;
use std::path::{Path, PathBuf};

use kernel::diag::{Diagnostic, Severity, Span};
use kernel::drawing::View;
use kernel::exchange::order_json;
use kernel::history::SettledBendSpec;
use kernel::regenerate::regenerate_among;
use kernel::stock::Tooling;

use crate::engine::{Loaded, load};
use crate::finding::{Failure, located, shown};
use crate::source::{Place, Source};
use crate::{files, shop_file, summary, tools_file};

/// Whether a picture is written beside the other outputs.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Picture {
    /// No picture.
    None,
    /// `picture.png`, the folded part shaded, with its neighbours.
    Shaded,
    /// `picture.png`, the folded part alone.
    PartAlone,
}

/// Whether it is told what moves each dimension in the shop.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Contributors {
    /// Only how far each one spreads.
    Unsaid,
    /// By how much the shop may be off, and what that adds to each spread.
    Listed,
}

/// Files of the shop that are read beside the script.
#[derive(Clone, Copy, Debug, Default)]
pub struct ShopFiles<'a> {
    /// Limits of the shop.
    pub limits: Option<&'a Path>,
    /// Bends that are settled.
    pub order: Option<&'a Path>,
    /// Brake and tools.
    pub tools: Option<&'a Path>,
}

/// What `make` has done.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Made {
    /// Where the outputs are.
    pub folder: PathBuf,
    /// How many faults the checks have found in the part; the outputs show it as it is.
    pub faults: usize,
}

/// What a fault that a check finds in the part does to the exit code.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Faults {
    /// The exit code is 4.
    Fail,
    /// They are shown, and the exit code is 0.
    Allowed,
}

impl Made {
    /// Exit code of the program: 0, or 4 for a part with faults unless they are allowed.
    #[must_use]
    pub fn exit_code(&self, faults: Faults) -> u8 {
        match faults {
            Faults::Fail if self.faults > 0 => 4,
            Faults::Fail | Faults::Allowed => 0,
        }
    }
}

/// Makes the part of a script and writes every output.
///
/// # Errors
/// [`Failure`] if the script, the part or a file is at fault; then no output is changed.
pub fn make(
    script: &Path,
    settings: BTreeMap<String, String>,
    shop: ShopFiles<'_>,
    folder: Option<&Path>,
    picture: Picture,
    contributors: Contributors,
    out: &mut impl Write,
) -> Result<Made, Failure> {
    let mut loaded = load(script, settings)?;
    let Shop { tooling, order } = read_shop(&mut loaded, shop)?;
    for line in &loaded.printed {
        let _ = writeln!(out, "{line}");
    }
    let failed = |diagnostics| failure(&loaded, order.as_ref(), diagnostics);
    let part = regenerate_among(&loaded.history, &loaded.meshes, tooling).map_err(failed)?;
    let mut details = part.details(&loaded.history);
    details.lines = loaded.places.iter().map(|place| place.map(|place| place.line)).collect();
    let mut written = part.files(&loaded.history, &details).map_err(|diagnostic| failed(vec![diagnostic]))?;
    let png = match picture {
        Picture::None => None,
        Picture::Shaded => Some(part.picture_png_among_neighbours(&View::default())),
        Picture::PartAlone => Some(part.picture_png(&View::default())),
    };
    if let Some(png) = png {
        written.push(("picture.png", png.map_err(|diagnostic| failed(vec![diagnostic]))?));
    }
    let folder = folder.map_or_else(|| Path::new("out").join(&loaded.history.family), Path::to_owned);
    files::write_all(&folder, &written).map_err(Failure::File)?;
    let names: Vec<&str> = written.iter().map(|(name, _)| *name).collect();
    let _ =
        write!(out, "{}", summary::of_part(&loaded.history, &part, &details, &loaded.source, &loaded.places));
    if contributors == Contributors::Listed {
        let _ = write!(out, "\n{}", summary::of_tolerances(&part, &details));
    }
    let findings: Vec<_> = details.findings.iter().map(|d| located(d.clone(), &loaded.places)).collect();
    let _ = write!(out, "{}", summary::of_checks(&details.findings, &findings, &loaded.source));
    if !findings.is_empty() {
        let _ = write!(out, "\n{}", shown(&loaded.source, &findings));
    }
    let _ = writeln!(out, "\nwrote {} into {}", names.join(", "), folder.display());
    let _ = writeln!(out, "{}", summary::CAUTION);
    let faults = details.findings.iter().filter(|d| d.severity == Severity::Fault).count();
    Ok(Made { folder, faults })
}

/// What the files of the shop say.
struct Shop {
    tooling: Tooling,
    /// The order file.
    order: Option<OrderFile>,
}

/// An order file, with the places of its entries: their spans follow those of the script.
struct OrderFile {
    source: Source,
    places: Vec<Option<Place>>,
}

/// Reads the files of the shop; what an order file settles counts before what the script does.
fn read_shop(loaded: &mut Loaded, files: ShopFiles<'_>) -> Result<Shop, Failure> {
    if let Some(path) = files.limits {
        shop_file::apply(path, &mut loaded.history.shop)?;
    }
    let order = files.order.map(|path| read_order(loaded, path)).transpose()?;
    let Some(path) = files.tools else { return Ok(Shop { tooling: Tooling::default(), order }) };
    let tools = tools_file::read(path)?;
    let shop_file = files.limits.map(files::name_of);
    tools.add_limits(&files::name_of(path), shop_file.as_deref(), &mut loaded.history.shop);
    Ok(Shop { tooling: tools.tooling, order })
}

/// Reads an order file, and settles what it settles.
fn read_order(loaded: &mut Loaded, path: &Path) -> Result<OrderFile, Failure> {
    let source = Source { path: path.display().to_string(), text: files::read(path).map_err(Failure::File)? };
    let entries = match order_json::read(&source.text) {
        Ok(entries) => entries,
        Err(fault) => return Err(Failure::Findings { source, findings: vec![located(fault, &[])] }),
    };
    let history = &mut loaded.history;
    history.bend_order.retain(|own| entries.iter().all(|(other, _)| other.panel != own.panel));
    // Nothing of the script has these numbers.
    let mut places = vec![None; loaded.places.len()];
    for (entry, at) in entries {
        let span = Span(u32::try_from(places.len()).unwrap_or(u32::MAX));
        places.push(Some(source.place(at)));
        history.bend_order.push(SettledBendSpec { span: Some(span), ..entry });
    }
    Ok(OrderFile { source, places })
}

/// Prints the parameters of a script with their ranges.
///
/// # Errors
/// [`Failure`] if the script is at fault.
pub fn show(script: &Path, out: &mut impl Write) -> Result<(), Failure> {
    let loaded = load(script, BTreeMap::new())?;
    let _ = write!(out, "{}", summary::of_parameters(&loaded.history));
    Ok(())
}

/// Prints where each number called `name` of a script's part comes from.
///
/// # Errors
/// [`Failure`] if the script or the part is at fault, or if the part has no such number.
pub fn explain(
    script: &Path,
    settings: BTreeMap<String, String>,
    shop: ShopFiles<'_>,
    name: &str,
    out: &mut impl Write,
) -> Result<(), Failure> {
    let mut loaded = load(script, settings)?;
    let Shop { tooling, order } = read_shop(&mut loaded, shop)?;
    let failed = |diagnostics| failure(&loaded, order.as_ref(), diagnostics);
    let part = regenerate_among(&loaded.history, &loaded.meshes, tooling).map_err(failed)?;
    let explanations =
        part.explain(&loaded.history, name).map_err(|unknown| failed(vec![unknown.diagnose()]))?;
    for explanation in &explanations {
        let _ = write!(out, "{}", summary::of_explanation(explanation, &loaded.source, &loaded.places));
    }
    Ok(())
}

/// Findings of the kernel at their places in the script, or in the order file if that is what they are about.
fn failure(loaded: &Loaded, order: Option<&OrderFile>, diagnostics: Vec<Diagnostic>) -> Failure {
    let is_of = |order: &&OrderFile| {
        let spans = diagnostics.iter().flat_map(|d| &d.origins).filter_map(|origin| origin.span);
        spans.into_iter().any(|span| order.places.get(span.0 as usize).is_some_and(Option::is_some))
    };
    let (source, places) = match order.filter(is_of) {
        Some(order) => (&order.source, &order.places),
        None => (&loaded.source, &loaded.places),
    };
    let findings = diagnostics.into_iter().map(|d| located(d, places)).collect();
    Failure::Findings { source: source.clone(), findings }
}
