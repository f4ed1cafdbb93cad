//! From a history to a finished part: the one place where the stages meet.
//!
//! Invariant: each stage gets only what it needs and returns a new value; the same history gives the same
//! part. Must not know: scripts.

mod known;
mod search;

use std::borrow::Cow;

use crate::blank::{self, Blank};
use crate::brake::{self, BendRow};
use crate::check;
use crate::cost::{Estimate, Order};
use crate::diag::{Diagnostic, Origin};
use crate::dimension::{self, Aimed, BlankSize, Remarks, Settled, SheetNumbers, Skeleton};
use crate::drawing::{self, View};
use crate::exchange;
use crate::explain;
use crate::fold::{self, FoldFractions, FoldTree, ToleranceStack};
use crate::guard::{self, Judged};
use crate::history::{GuardingSpec, History, Target, shop_limits};
use crate::machine::{MeshFiles, Neighbour};
use crate::quantity::tolerance;
use crate::solid::{self, Brep, Clearance, Measures, Mesh, MeshFault, Metal};
use crate::stock::{Sheet, ShopLimits};
use known::Known;

/// A part with everything that follows from its history but the mesh.
#[derive(Clone, Debug)]
pub struct Part {
    /// The sheet it is cut from.
    pub sheet: Sheet,
    /// What the shop can make.
    pub limits: ShopLimits,
    /// Free numbers and dimensions.
    pub settled: Settled,
    /// What came of the aim, if there is one.
    pub aimed: Option<Aimed>,
    /// Panels and bends.
    pub tree: FoldTree,
    /// The flat figure.
    pub blank: Blank,
    /// Bends in order.
    pub bend_table: Vec<BendRow>,
    /// Volume and surface of the folded part.
    pub measures: Measures,
    /// What the part lives with, in the base panel's coordinates.
    pub neighbours: Vec<Neighbour>,
    /// How near the folded part comes to each of them.
    pub clearances: Vec<Clearance>,
    /// Openings held against hazards, if that was asked for.
    pub judged: Option<Judged>,
    /// Warnings of the dimensions and findings of the checks, faults first; faults of earlier stages are errors instead.
    pub findings: Vec<Diagnostic>,
}

/// What is worked out of a part only when it is shown.
#[derive(Clone, Debug)]
pub struct Details {
    /// How far dimensions and gaps spread in the shop.
    pub stack: ToleranceStack,
    /// What the dimensions leave open, and which of them add nothing.
    pub remarks: Remarks,
    /// What the part needs and costs.
    pub estimate: Estimate,
}

/// Solve, aim, fold, unfold and check a part whose neighbours come from no files.
///
/// # Errors
/// As [`regenerate_among`]; a neighbour that comes from a file is a fault.
pub fn regenerate(history: &History) -> Result<Part, Vec<Diagnostic>> {
    regenerate_among(history, &MeshFiles::default())
}

/// Solve, aim, fold, unfold and check; `files` holds the content of every file that a neighbour comes from.
///
/// # Errors
/// The findings of the first stage that cannot go on, each with the feature, dimension or neighbour it is about.
pub fn regenerate_among(history: &History, files: &MeshFiles) -> Result<Part, Vec<Diagnostic>> {
    let sheet = history.sheet.resolve().map_err(|fault| vec![fault])?;
    let limits = shop_limits(&history.shop)?;
    history.guarding.iter().try_for_each(GuardingSpec::checked).map_err(|fault| vec![fault])?;
    let order = Order::of(history)?;
    let numbers = SheetNumbers::from(&sheet);
    let skeleton = Skeleton::new(history, numbers)?;
    let (neighbours, mut findings) = history.neighbours(files)?;
    let asked = Asked { history, skeleton: &skeleton, sheet: &sheet, neighbours: &neighbours };
    let made = made(asked)?;
    let (made, aimed, said) = search::aim(asked, made);
    findings.extend(said);
    let Made { settled, tree, blank } = made;
    findings.extend(settled.warnings.iter().cloned());
    let bend_table = brake::bend_table(&tree, &blank);
    let measures = solid::measures(&tree);
    let metal = (!neighbours.is_empty()).then(|| Metal::new(&tree, &FoldFractions::all(&tree, 1.0)));
    let metal = metal.transpose().map_err(|fault| vec![not_meshed(&tree, &fault)])?;
    let clearances = metal.as_ref().map_or_else(Vec::new, |metal| solid::clearances(metal, &neighbours));
    let sheet_origin = history.sheet.origin();
    findings.extend(check::run_all(check::Subject {
        sheet: &sheet,
        sheet_origin: &sheet_origin,
        limits: &limits,
        shop: &history.shop,
        tree: &tree,
        blank: &blank,
        described: &history.neighbours,
        neighbours: &neighbours,
        clearances: &clearances,
    }));
    let judged = history.guarding.as_ref().map(|spec| {
        let (judged, said) = guard::judge(&tree, metal.as_ref(), &neighbours, spec);
        findings.extend(said);
        judged
    });
    findings.extend(order.findings(history, &blank));
    // Of one severity in the order in which they came.
    findings.sort_by_key(|finding| finding.severity);
    Ok(Part {
        sheet,
        limits,
        settled,
        aimed,
        tree,
        blank,
        bend_table,
        measures,
        neighbours,
        clearances,
        judged,
        findings,
    })
}

/// Numbers, folded and flat part, which agree on what can only be known once it is made.
struct Made {
    settled: Settled,
    tree: FoldTree,
    blank: Blank,
}

/// What a part is made of.
#[derive(Clone, Copy)]
struct Asked<'a, 'h> {
    history: &'h History,
    skeleton: &'a Skeleton<'h>,
    sheet: &'a Sheet,
    neighbours: &'a [Neighbour],
}

/// Solve, fold and unfold; where dimensions are of the finished part, again until what they were solved with is what
/// is read off it.
fn made(asked: Asked<'_, '_>) -> Result<Made, Vec<Diagnostic>> {
    made_from(asked, known_at_start(asked)?, asked.skeleton.start())
}

/// The part whose free numbers are moved as little as possible from `start`; `known` is what is known of the finished
/// part there, if dimensions are of it.
fn made_from(asked: Asked<'_, '_>, known: Option<Known>, start: &[f64]) -> Result<Made, Vec<Diagnostic>> {
    /// What is known of the finished part hardly depends on the free numbers as a rule, so that two or three
    /// rounds do; the bulge of an arc that grows with the part may need forty.
    const MOST_ROUNDS: usize = 80;
    let Some(mut known) = known else { return once(asked, &Known::default(), start) };
    let mut off = None;
    for _ in 0..MOST_ROUNDS {
        let made = once(asked, &known, start)?;
        let found = Known::of(&made, asked.history, asked.neighbours);
        off = known.off(&made, &found);
        if off.is_none() {
            return Ok(made);
        }
        known = found;
    }
    Err(off.into_iter().map(|fault| fault.diagnose(None)).collect())
}

fn once(asked: Asked<'_, '_>, known: &Known, start: &[f64]) -> Result<Made, Vec<Diagnostic>> {
    let Asked { history, skeleton, sheet, .. } = asked;
    let knowing = || Cow::Owned(skeleton.clone().knowing(known.nearest.clone()));
    let skeleton = if known.nearest.is_empty() { Cow::Borrowed(skeleton) } else { knowing() };
    let numbers = SheetNumbers::from(sheet);
    let settled = dimension::settle_from(history, &skeleton, numbers, known.blank, start)?;
    let tree = fold::build(history, &skeleton, &settled.pose, &settled.free, sheet)?;
    let blank = blank::unfold(&tree)?;
    Ok(Made { settled, tree, blank })
}

/// What is known of the finished part while dimensions of it are only measured; none if there are no such dimensions.
fn known_at_start(asked: Asked<'_, '_>) -> Result<Option<Known>, Vec<Diagnostic>> {
    let Asked { history, sheet, neighbours, .. } = asked;
    if !history.dimensions.iter().any(|entry| entry.kind.is_of_finished_part()) {
        return Ok(None);
    }
    let mut measured = history.clone();
    for entry in measured.dimensions.iter_mut().filter(|entry| entry.kind.is_of_finished_part()) {
        entry.target = Target::Measured;
    }
    let skeleton = Skeleton::new(&measured, SheetNumbers::from(sheet))?;
    let only_measured = Asked { history: &measured, skeleton: &skeleton, sheet, neighbours };
    // Start values need not make a part.
    let started = once(only_measured, &Known::default(), skeleton.start());
    Ok(Some(started.map_or_else(|_| Known::default(), |made| Known::of(&made, history, neighbours))))
}

fn not_meshed(tree: &FoldTree, fault: &MeshFault) -> Diagnostic {
    let MeshFault::ContoursTouch { panel } = fault;
    let origin = tree
        .panels()
        .iter()
        .find(|p| p.name == *panel)
        .map_or_else(|| Origin { name: panel.to_string(), span: None }, |p| tree.origin(p.feature).clone());
    Diagnostic::fault("solid::contours_touch", fault.to_string(), origin)
        .hint("move them apart, or let them overlap")
}

impl Made {
    fn beyond_corners(&self) -> BlankSize {
        let size = self.blank.bounding_box();
        let corners = self.settled.blank_corners.unwrap_or_default();
        BlankSize { beyond_corners: [size.width() - corners[0], size.height() - corners[1]] }
    }
}

impl Part {
    /// The exact boundary at these fold fractions.
    #[must_use]
    pub fn brep(&self, fractions: &FoldFractions) -> Brep {
        solid::brep(&self.tree, fractions)
    }

    /// The mesh at these fold fractions, chords within `chord_tolerance` mm of true curves.
    ///
    /// # Errors
    /// A finding if contours of a panel touch each other.
    pub fn mesh(&self, fractions: &FoldFractions, chord_tolerance: f64) -> Result<Mesh, Diagnostic> {
        self.mesh_of(&self.brep(fractions), chord_tolerance)
    }

    /// How far dimensions and gaps spread in the shop; `history` is the one the part was regenerated from.
    ///
    /// # Panics
    /// If it is another one.
    #[must_use]
    pub fn tolerance_stack(&self, history: &History) -> ToleranceStack {
        let skeleton = self.skeleton(history);
        let size = self.blank.bounding_box();
        let blank = [size.width(), size.height()];
        fold::tolerance_stack(history, &skeleton, &self.sheet, &self.settled, &self.tree, blank)
    }

    /// What one part needs, how many blanks the stock sheet gives, and what that costs; `history` is the one the
    /// part was regenerated from.
    ///
    /// # Panics
    /// If it is another one.
    #[must_use]
    pub fn estimate(&self, history: &History) -> Estimate {
        let order = Order::of(history).expect("the part was regenerated from the same history");
        order.estimate(&self.sheet, &self.tree, &self.blank)
    }

    fn skeleton<'h>(&self, history: &'h History) -> Skeleton<'h> {
        let skeleton = Skeleton::new(history, SheetNumbers::from(&self.sheet));
        skeleton
            .expect("the part was regenerated from the same history")
            .knowing(self.settled.nearest.clone())
    }

    fn mesh_of(&self, brep: &Brep, chord_tolerance: f64) -> Result<Mesh, Diagnostic> {
        solid::mesh(&self.tree, brep, chord_tolerance).map_err(|fault| not_meshed(&self.tree, &fault))
    }

    /// A shaded picture of the folded part, as PNG.
    ///
    /// # Errors
    /// As [`Part::mesh`].
    pub fn picture_png(&self, view: &View) -> Result<Vec<u8>, Diagnostic> {
        let mesh = self.mesh(&FoldFractions::all(&self.tree, 1.0), tolerance::CHORD_MM)?;
        Ok(drawing::picture_png(&mesh, view))
    }

    /// The same with the neighbours around it.
    ///
    /// # Errors
    /// As [`Part::mesh`].
    pub fn picture_png_among_neighbours(&self, view: &View) -> Result<Vec<u8>, Diagnostic> {
        let mesh = self.mesh(&FoldFractions::all(&self.tree, 1.0), tolerance::CHORD_MM)?;
        Ok(drawing::picture_png_among(&mesh, &self.neighbours, view))
    }

    /// What the dimensions leave open, and which of them add nothing; `history` is the one the part was
    /// regenerated from.
    ///
    /// # Panics
    /// If it is another one.
    #[must_use]
    pub fn remarks(&self, history: &History) -> Remarks {
        let numbers = SheetNumbers::from(&self.sheet);
        let skeleton = self.skeleton(history);
        dimension::remarks(history, &skeleton, numbers, &self.settled)
    }

    /// Where each number called `name` comes from, most often one; `history` is the one the part was regenerated from.
    ///
    /// # Errors
    /// [`UnknownNumber`](explain::UnknownNumber) with the names that there are.
    pub fn explain(
        &self,
        history: &History,
        name: &str,
    ) -> Result<Vec<explain::Explanation>, explain::UnknownNumber> {
        let estimate = self.estimate(history);
        let subject = explain::Subject {
            history,
            sheet: &self.sheet,
            settled: &self.settled,
            aimed: self.aimed.as_ref(),
            tree: &self.tree,
            blank: &self.blank,
            bend_table: &self.bend_table,
            findings: &self.findings,
            estimate: &estimate,
        };
        explain::explain(subject, name)
    }

    /// Mass of the blank in kg; bending neither adds nor takes metal.
    #[must_use]
    pub fn mass_kg(&self) -> f64 {
        self.sheet.mass_of_area_kg(self.blank.region.area())
    }

    /// All that is worked out only when the part is shown; `history` is the one the part was regenerated from.
    ///
    /// # Panics
    /// If it is another one.
    #[must_use]
    pub fn details(&self, history: &History) -> Details {
        Details {
            stack: self.tolerance_stack(history),
            remarks: self.remarks(history),
            estimate: self.estimate(history),
        }
    }

    /// Every file of [`exchange::ALL`] with its name, for the fully folded part, and [`exchange::NEST`] if a stock
    /// sheet was chosen; `history` is the one the part was regenerated from, and `details` are the part's own.
    ///
    /// # Errors
    /// As [`Part::mesh`].
    pub fn files(
        &self,
        history: &History,
        details: &Details,
    ) -> Result<Vec<(&'static str, Vec<u8>)>, Diagnostic> {
        let folded = FoldFractions::all(&self.tree, 1.0);
        let brep = self.brep(&folded);
        let mesh = self.mesh_of(&brep, tolerance::CHORD_MM)?;
        let subject = exchange::Subject {
            history,
            sheet: &self.sheet,
            settled: &self.settled,
            aimed: self.aimed.as_ref(),
            tree: &self.tree,
            blank: &self.blank,
            bend_table: &self.bend_table,
            measures: self.measures,
            brep: &brep,
            mesh: &mesh,
            mass_kg: self.mass_kg(),
            limits: &self.limits,
            neighbours: &self.neighbours,
            clearances: &self.clearances,
            judged: self.judged.as_ref(),
            findings: &self.findings,
            stack: &details.stack,
            remarks: &details.remarks,
            estimate: &details.estimate,
        };
        let nest = details.estimate.nesting.as_ref().map(|_| &exchange::NEST);
        let formats = exchange::ALL.iter().chain(nest);
        Ok(formats.map(|format| (format.file_name, (format.write)(&subject))).collect())
    }
}
