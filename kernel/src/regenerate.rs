//! From a history to a finished part: the one place where the stages meet.
//!
//! Invariant: each stage gets only what it needs and returns a new value; the same history gives the same
//! part. Must not know: scripts.

mod known;
mod search;

use std::borrow::Cow;
use std::sync::OnceLock;

use crate::blank::{self, Blank};
use crate::brake::{self, BendPlan, BendRow, SettledBend, StepCosts};
use crate::check;
use crate::cost::{Estimate, Order};
use crate::diag::{Diagnostic, Origin};
use crate::dimension::{
    self, Aimed, BlankSize, Reasons, Remarks, Settled, SheetNumbers, Skeleton, Stack, Tolerances,
};
use crate::drawing::{self, View};
use crate::exchange;
use crate::explain;
use crate::fold::{self, FoldFractions, FoldTree, ToleranceStack};
use crate::guard::{self, Judged};
use crate::history::{GuardingSpec, History, StockSheetSpec, Target, shop_limits};
use crate::machine::{MeshFiles, Neighbour};
use crate::quantity::tolerance;
use crate::solid::{self, Brep, Clearance, ClearanceSpread, Measures, Mesh, MeshFault, Metal};
use crate::stock::{Sheet, ShopLimits, Tooling};
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
    /// What it is folded with, and what is settled about the order.
    bending: Bending,
    /// The plan and the bend table, once someone has asked.
    bent: OnceLock<(BendPlan, Vec<BendRow>)>,
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
    /// How far the clearance to each neighbour spreads.
    pub clearance_spreads: Vec<ClearanceSpread>,
    /// What the dimensions leave open, and which of them add nothing.
    pub remarks: Remarks,
    /// What the part needs and costs.
    pub estimate: Estimate,
    /// Findings of the part and of its bend order, faults first.
    pub findings: Vec<Diagnostic>,
    /// The line of the script for each [`Span`](crate::diag::Span) of the history, by its number; empty until
    /// whoever read the script says it.
    pub lines: Vec<Option<usize>>,
}

/// Solve, aim, fold, unfold and check a part whose neighbours come from no files.
///
/// # Errors
/// As [`regenerate_among`]; a neighbour that comes from a file is a fault.
pub fn regenerate(history: &History) -> Result<Part, Vec<Diagnostic>> {
    regenerate_among(history, &MeshFiles::default(), Tooling::default())
}

/// Solve, aim, fold, unfold and check; `files` holds the content of every file that a neighbour comes from, and
/// `tooling` is what the part is folded with.
///
/// # Errors
/// The findings of the first stage that cannot go on, each with the feature, dimension or neighbour it is about.
pub fn regenerate_among(
    history: &History,
    files: &MeshFiles,
    tooling: Tooling,
) -> Result<Part, Vec<Diagnostic>> {
    let sheet = history.sheet.resolve().map_err(|fault| vec![fault])?;
    let limits = shop_limits(&history.shop)?;
    history.guarding.iter().try_for_each(GuardingSpec::checked).map_err(|fault| vec![fault])?;
    let order = Order::of(history, &sheet, &limits)?;
    let numbers = SheetNumbers::from(&sheet);
    let skeleton = Skeleton::new(history, numbers)?;
    let (neighbours, mut findings) = history.neighbours(files)?;
    let reasons = Reasons::Sought;
    let asked = Asked { history, skeleton: &skeleton, sheet: &sheet, neighbours: &neighbours, reasons };
    let made = made(asked)?;
    let (made, aimed, said) = search::aim(asked, made);
    findings.extend(said);
    let Made { settled, tree, blank } = made;
    findings.extend(settled.warnings.iter().cloned());
    let settled_bends =
        brake::settle(&history.bend_order, &tree, &limits, &tooling).map_err(|fault| vec![fault])?;
    let bending = Bending { tooling, settled: settled_bends, costs: StepCosts::default() };
    let measures = solid::measures(&tree);
    let metal = (!neighbours.is_empty()).then(|| Metal::new(&tree, &FoldFractions::all(&tree, 1.0)));
    let metal = metal.transpose().map_err(|fault| vec![not_meshed(&tree, &fault)])?;
    let clearances = metal.as_ref().map_or_else(Vec::new, |metal| solid::clearances(metal, &neighbours));
    let sheet_origin = history.sheet.origin();
    let cut_from_origin = history.stock_sheet.as_ref().map(StockSheetSpec::origin);
    findings.extend(check::run_all(check::Subject {
        sheet: &sheet,
        sheet_origin: &sheet_origin,
        limits: &limits,
        shop: &history.shop,
        cut_from: order.room.as_ref().map(|room| &room.sheet).zip(cut_from_origin.as_ref()),
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
    // Of one severity in the order in which they came.
    findings.sort_by_key(|finding| finding.severity);
    Ok(Part {
        sheet,
        limits,
        settled,
        aimed,
        tree,
        blank,
        bending,
        bent: OnceLock::new(),
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
    reasons: Reasons,
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
    let Asked { history, skeleton, sheet, reasons, .. } = asked;
    let knowing = || Cow::Owned(skeleton.clone().knowing(known.nearest.clone()));
    let skeleton = if known.nearest.is_empty() { Cow::Borrowed(skeleton) } else { knowing() };
    let numbers = SheetNumbers::from(sheet);
    let settled = dimension::settle_from(history, &skeleton, numbers, known.blank, start, reasons)?;
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
    let reasons = Reasons::Unsought;
    let only_measured = Asked { history: &measured, skeleton: &skeleton, sheet, neighbours, reasons };
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

/// What a part is folded with, and what the engineer has settled about it.
#[derive(Clone, Debug, Default)]
pub struct Bending {
    /// Brake and tools.
    pub tooling: Tooling,
    /// What is settled.
    pub settled: Vec<SettledBend>,
    /// What steps cost.
    pub costs: StepCosts,
}

impl Part {
    /// The same part folded in another way.
    #[must_use]
    pub fn bent_with(mut self, bending: Bending) -> Self {
        self.bending = bending;
        self.bent = OnceLock::new();
        self
    }

    /// What it is folded with.
    #[must_use]
    pub fn bending(&self) -> &Bending {
        &self.bending
    }

    /// The order of bending, worked out when first asked for.
    pub fn bend_plan(&self) -> &BendPlan {
        &self.bent().0
    }

    /// Bends in order.
    pub fn bend_table(&self) -> &[BendRow] {
        &self.bent().1
    }

    fn bent(&self) -> &(BendPlan, Vec<BendRow>) {
        self.bent.get_or_init(|| {
            let Bending { tooling, settled, costs } = &self.bending;
            let plan = brake::plan(&self.tree, &self.sheet, &self.limits, tooling, settled, *costs);
            let table = brake::bend_table(&self.tree, &self.blank, &plan);
            (plan, table)
        })
    }

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
        self.with_stack(history, |skeleton, tolerances, stack| {
            let Self { sheet, settled, tree, .. } = self;
            fold::tolerance_stack(history, skeleton, sheet, settled, tree, tolerances, stack)
        })
    }

    /// How far the clearance to each neighbour spreads in the shop; `history` is the one the part was regenerated
    /// from.
    ///
    /// # Panics
    /// If it is another one.
    #[must_use]
    pub fn clearance_spreads(&self, history: &History) -> Vec<ClearanceSpread> {
        if self.neighbours.is_empty() {
            return Vec::new();
        }
        let metal = Metal::new(&self.tree, &FoldFractions::all(&self.tree, 1.0));
        let metal = metal.expect("the part's clearances were measured");
        self.with_stack(history, |skeleton, _, stack| {
            let Self { tree, neighbours, clearances, .. } = self;
            solid::clearance_spreads(stack, skeleton, tree, metal, neighbours, clearances)
        })
    }

    /// Does something with the part ready to be off by its tolerances.
    fn with_stack<T>(
        &self,
        history: &History,
        look: impl FnOnce(&Skeleton<'_>, Tolerances, &Stack<'_, '_>) -> T,
    ) -> T {
        let skeleton = self.skeleton(history);
        let size = self.blank.bounding_box();
        let tolerances = fold::tolerances(history, &self.tree, [size.width(), size.height()]);
        let numbers = SheetNumbers::from(&self.sheet);
        let settled = &self.settled;
        let stack = Stack::new(history, &skeleton, numbers, settled, settled.blank, &tolerances);
        look(&skeleton, tolerances, &stack)
    }

    /// What one part needs, how many blanks the stock sheet gives, and what that costs; `history` is the one the
    /// part was regenerated from.
    ///
    /// # Panics
    /// If it is another one.
    #[must_use]
    pub fn estimate(&self, history: &History) -> Estimate {
        let order = Order::of(history, &self.sheet, &self.limits)
            .expect("the part was regenerated from the same history");
        order.estimate(&self.sheet, &self.tree, &self.blank, self.bend_plan().tool_changes())
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
        // They take long, and nothing else tells of them.
        let is_neighbour = self.neighbours.iter().any(|neighbour| neighbour.name == name);
        let clearance_spreads = if is_neighbour { self.clearance_spreads(history) } else { Vec::new() };
        let findings = self.all_findings();
        let subject = explain::Subject {
            history,
            sheet: &self.sheet,
            settled: &self.settled,
            aimed: self.aimed.as_ref(),
            tree: &self.tree,
            blank: &self.blank,
            bend_table: self.bend_table(),
            neighbours: &self.neighbours,
            clearances: &self.clearances,
            clearance_spreads: &clearance_spreads,
            findings: &findings,
            estimate: &estimate,
        };
        explain::explain(subject, name)
    }

    /// Mass of the blank in kg; bending neither adds nor takes metal.
    #[must_use]
    pub fn mass_kg(&self) -> f64 {
        self.sheet.mass_of_area_kg(self.blank.region.area())
    }

    /// Findings of the part and of its bend order, faults first.
    fn all_findings(&self) -> Vec<Diagnostic> {
        let mut findings = self.findings.clone();
        findings.extend(self.bend_plan().findings.iter().cloned());
        findings.sort_by_key(|finding| finding.severity);
        findings
    }

    /// All that is worked out only when the part is shown; `history` is the one the part was regenerated from.
    ///
    /// # Panics
    /// If it is another one.
    #[must_use]
    pub fn details(&self, history: &History) -> Details {
        Details {
            findings: self.all_findings(),
            stack: self.tolerance_stack(history),
            clearance_spreads: self.clearance_spreads(history),
            remarks: self.remarks(history),
            estimate: self.estimate(history),
            lines: Vec::new(),
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
            bend_table: self.bend_table(),
            plan: self.bend_plan(),
            tooling: &self.bending.tooling,
            measures: self.measures,
            brep: &brep,
            mesh: &mesh,
            mass_kg: self.mass_kg(),
            limits: &self.limits,
            neighbours: &self.neighbours,
            clearances: &self.clearances,
            judged: self.judged.as_ref(),
            findings: &details.findings,
            stack: &details.stack,
            clearance_spreads: &details.clearance_spreads,
            remarks: &details.remarks,
            estimate: &details.estimate,
            lines: &details.lines,
        };
        let nest = details.estimate.nesting.as_ref().map(|_| &exchange::NEST);
        let formats = exchange::ALL.iter().chain(nest);
        Ok(formats.map(|format| (format.file_name, (format.write)(&subject))).collect())
    }
}
