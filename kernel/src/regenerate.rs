//! From a history to a finished part: the one place where the stages meet.
//!
//! Invariant: each stage gets only what it needs and returns a new value; the same history gives the same
//! part. Must not know: scripts.

use crate::blank::{self, Blank};
use crate::brake::{self, BendRow};
use crate::check;
use crate::diag::{Diagnostic, Origin};
use crate::dimension::{self, Settled, SheetNumbers, Skeleton};
use crate::drawing::{self, View};
use crate::exchange;
use crate::fold::{self, FoldFractions, FoldTree};
use crate::history::History;
use crate::quantity::tolerance;
use crate::solid::{self, Brep, Measures, Mesh};
use crate::stock::Sheet;

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
    /// Bends in order.
    pub bend_table: Vec<BendRow>,
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
    let sheet = history.sheet.resolve().map_err(|fault| vec![fault])?;
    let numbers = SheetNumbers::from(&sheet);
    let skeleton = Skeleton::new(history, numbers)?;
    let settled = dimension::settle(history, &skeleton, numbers)?;
    let tree = fold::build(history, &skeleton, &settled.pose, &settled.free, &sheet)?;
    let blank = blank::unfold(&tree)?;
    let bend_table = brake::bend_table(&tree, &blank);
    let measures = solid::measures(&tree);
    let sheet_origin = history.sheet.origin();
    let findings = check::run_all(check::Subject {
        sheet: &sheet,
        sheet_origin: &sheet_origin,
        tree: &tree,
        blank: &blank,
    });
    Ok(Part { sheet, settled, tree, blank, bend_table, measures, findings })
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
        let subject = exchange::Subject {
            history,
            sheet: &self.sheet,
            settled: &self.settled,
            tree: &self.tree,
            blank: &self.blank,
            bend_table: &self.bend_table,
            measures: self.measures,
            brep: &brep,
            mesh: &mesh,
            mass_kg: self.mass_kg(),
            findings: &self.findings,
        };
        Ok(exchange::ALL.iter().map(|format| (format.file_name, (format.write)(&subject))).collect())
    }
}
