//! From a history to a finished part: the one place where the stages meet.
//!
//! Invariant: each stage gets only what it needs and returns a new value; the same history gives the same
//! part. Must not know: scripts.

use std::sync::OnceLock;

use crate::blank::{self, Blank};
use crate::brake::{self, BendPlan, BendRow, SettledBend, StepCosts};
use crate::check;
use crate::diag::{Diagnostic, Origin};
use crate::dimension::{self, BlankSize, DimensionFault, Remarks, Settled, SheetNumbers, Skeleton};
use crate::drawing::{self, View};
use crate::exchange;
use crate::explain;
use crate::fold::{self, FoldFractions, FoldTree, ToleranceStack};
use crate::history::{History, Target};
use crate::quantity::tolerance;
use crate::solid::{self, Brep, Measures, Mesh};
use crate::stock::{BrakeShop, Sheet};

/// A part with everything that follows from its history but the mesh.
#[derive(Clone, Debug)]
pub struct Part {
    /// The sheet it is cut from.
    pub sheet: Sheet,
    /// Free numbers and dimensions.
    pub settled: Settled,
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
    /// Findings of the checks; faults of earlier stages are errors instead.
    pub findings: Vec<Diagnostic>,
}

/// Solve, fold, unfold and check.
///
/// # Errors
/// The findings of the first stage that cannot go on, each with the feature or dimension it is about.
pub fn regenerate(history: &History) -> Result<Part, Vec<Diagnostic>> {
    regenerate_for(history, BrakeShop::default())
}

/// The same for a shop with a brake and tools of its own.
///
/// # Errors
/// As [`regenerate`].
pub fn regenerate_for(history: &History, shop: BrakeShop) -> Result<Part, Vec<Diagnostic>> {
    let sheet = history.sheet.resolve().map_err(|fault| vec![fault])?;
    let numbers = SheetNumbers::from(&sheet);
    let skeleton = Skeleton::new(history, numbers)?;
    let Made { settled, tree, blank } = made(history, &skeleton, &sheet)?;
    let measures = solid::measures(&tree);
    let sheet_origin = history.sheet.origin();
    let findings = check::run_all(check::Subject {
        sheet: &sheet,
        sheet_origin: &sheet_origin,
        tree: &tree,
        blank: &blank,
    });
    let settled_bends = settled_bends(history, &tree, &shop)?;
    let bending = Bending { shop, settled: settled_bends, costs: StepCosts::default() };
    Ok(Part { sheet, settled, tree, blank, bending, bent: OnceLock::new(), measures, findings })
}

/// What is settled about the order, by bend and punch.
fn settled_bends(
    history: &History,
    tree: &FoldTree,
    shop: &BrakeShop,
) -> Result<Vec<SettledBend>, Vec<Diagnostic>> {
    let found = history.bend_order.iter().map(|spec| brake::settle(spec, tree, shop));
    found.collect::<Result<_, _>>().map_err(|fault| vec![fault])
}

/// Numbers, folded and flat part, which agree on the blank's size.
struct Made {
    settled: Settled,
    tree: FoldTree,
    blank: Blank,
}

/// Solve, fold and unfold; where dimensions are of the blank, again until the size that they were solved with is
/// that of the blank.
fn made(history: &History, skeleton: &Skeleton<'_>, sheet: &Sheet) -> Result<Made, Vec<Diagnostic>> {
    /// What stands out beyond the drawn corners hardly depends on the free numbers as a rule, so that two or three
    /// rounds do; the bulge of an arc that grows with the part may need forty.
    const MOST_ROUNDS: usize = 80;
    let Some(mut known) = beyond_corners(history, sheet)? else {
        return once(history, skeleton, sheet, BlankSize::default());
    };
    let mut off = 0.0;
    for _ in 0..MOST_ROUNDS {
        let made = once(history, skeleton, sheet, known)?;
        let beyond = made.beyond_corners();
        off = known.change(beyond);
        if off <= tolerance::SNAP_MM {
            return Ok(made);
        }
        known = beyond;
    }
    Err(vec![DimensionFault::BlankNotSettled { off }.diagnose(None)])
}

fn once(
    history: &History,
    skeleton: &Skeleton<'_>,
    sheet: &Sheet,
    known: BlankSize,
) -> Result<Made, Vec<Diagnostic>> {
    let settled = dimension::settle(history, skeleton, SheetNumbers::from(sheet), known)?;
    let tree = fold::build(history, skeleton, &settled.pose, &settled.free, sheet)?;
    let blank = blank::unfold(&tree)?;
    Ok(Made { settled, tree, blank })
}

/// What stands out of the blank while its own dimensions are only measured; none if there are no such dimensions.
fn beyond_corners(history: &History, sheet: &Sheet) -> Result<Option<BlankSize>, Vec<Diagnostic>> {
    if !history.dimensions.iter().any(|entry| entry.kind.is_of_blank()) {
        return Ok(None);
    }
    let mut measured = history.clone();
    for entry in measured.dimensions.iter_mut().filter(|entry| entry.kind.is_of_blank()) {
        entry.target = Target::Measured;
    }
    let skeleton = Skeleton::new(&measured, SheetNumbers::from(sheet))?;
    // Start values need not make a part.
    let started = once(&measured, &skeleton, sheet, BlankSize::default());
    Ok(Some(started.map_or_else(|_| BlankSize::default(), |made| made.beyond_corners())))
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
    pub shop: BrakeShop,
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
            let Bending { shop, settled, costs } = &self.bending;
            let plan = brake::plan(&self.tree, &self.sheet, shop, settled, *costs);
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
        let skeleton = Skeleton::new(history, SheetNumbers::from(&self.sheet))
            .expect("the part was regenerated from the same history");
        let size = self.blank.bounding_box();
        let blank = [size.width(), size.height()];
        fold::tolerance_stack(history, &skeleton, &self.sheet, &self.settled, &self.tree, blank)
    }

    fn mesh_of(&self, brep: &Brep, chord_tolerance: f64) -> Result<Mesh, Diagnostic> {
        solid::mesh(&self.tree, brep, chord_tolerance).map_err(|fault| {
            let solid::MeshFault::ContoursTouch { panel } = &fault;
            let origin = self.tree.panels().iter().find(|p| p.name == *panel).map_or_else(
                || Origin { name: panel.to_string(), span: None },
                |p| self.tree.origin(p.feature).clone(),
            );
            Diagnostic::fault("solid::contours_touch", fault.to_string(), origin)
                .hint("move them apart, or let them overlap")
        })
    }

    /// A shaded picture of the folded part, as PNG.
    ///
    /// # Errors
    /// As [`Part::mesh`].
    pub fn picture_png(&self, view: &View) -> Result<Vec<u8>, Diagnostic> {
        let mesh = self.mesh(&FoldFractions::all(&self.tree, 1.0), tolerance::CHORD_MM)?;
        Ok(drawing::picture_png(&mesh, view))
    }

    /// What the dimensions leave open, and which of them add nothing; `history` is the one the part was
    /// regenerated from.
    ///
    /// # Panics
    /// If it is another one.
    #[must_use]
    pub fn remarks(&self, history: &History) -> Remarks {
        let numbers = SheetNumbers::from(&self.sheet);
        let skeleton =
            Skeleton::new(history, numbers).expect("the part was regenerated from the same history");
        dimension::remarks(history, &skeleton, numbers, &self.settled)
    }

    /// Where the number called `name` comes from; `history` is the one the part was regenerated from.
    ///
    /// # Errors
    /// [`UnknownNumber`](explain::UnknownNumber) with the names that there are.
    pub fn explain(
        &self,
        history: &History,
        name: &str,
    ) -> Result<explain::Explanation, explain::UnknownNumber> {
        let subject = explain::Subject {
            history,
            sheet: &self.sheet,
            settled: &self.settled,
            tree: &self.tree,
            blank: &self.blank,
            bend_table: self.bend_table(),
            findings: &self.findings,
        };
        explain::explain(subject, name)
    }

    /// Mass of the blank in kg; bending neither adds nor takes metal.
    #[must_use]
    pub fn mass_kg(&self) -> f64 {
        self.sheet.mass_of_area_kg(self.blank.region.area())
    }

    /// Every file of [`exchange::ALL`] with its name, for the fully folded part; `history` is the one the
    /// part was regenerated from.
    ///
    /// # Errors
    /// As [`Part::mesh`].
    pub fn files(&self, history: &History) -> Result<Vec<(&'static str, Vec<u8>)>, Diagnostic> {
        let folded = FoldFractions::all(&self.tree, 1.0);
        let brep = self.brep(&folded);
        let mesh = self.mesh_of(&brep, tolerance::CHORD_MM)?;
        let stack = self.tolerance_stack(history);
        let remarks = self.remarks(history);
        let subject = exchange::Subject {
            history,
            sheet: &self.sheet,
            settled: &self.settled,
            tree: &self.tree,
            blank: &self.blank,
            bend_table: self.bend_table(),
            plan: self.bend_plan(),
            shop: &self.bending.shop,
            measures: self.measures,
            brep: &brep,
            mesh: &mesh,
            mass_kg: self.mass_kg(),
            findings: &self.findings,
            stack: &stack,
            remarks: &remarks,
        };
        Ok(exchange::ALL.iter().map(|format| (format.file_name, (format.write)(&subject))).collect())
    }
}
