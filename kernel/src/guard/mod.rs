//! Openings of the folded cover: what a hand, a finger or a bar may pass through.
//!
//! Job: list every hole, opening across a bend, seam gap, corner relief and open side as a figure in space with its
//! measures. Invariant: every cut edge of the sheet bounds an opening that is listed; measures of flat openings never
//! come out smaller than the opening, those of a rim in space are of its projection on the plane that it lies nearest
//! to; order is that of panels, then of the rim. Must not know: any output format. Only
//! `judged` knows hazards and tables.

mod closing;
mod holes;
mod judged;
mod measures;
mod near;
mod places;
mod rim;
mod seams;

use crate::diag::Origin;
use crate::fold::{EdgeLabel, FoldFractions, FoldTree, StripMap};
use crate::geom::{Contour, Placement, Vec3};
use crate::history::PanelName;

pub use judged::{Judged, JudgedOpening, Judgement, judge};
pub use measures::Measures;
pub use near::Reach;
pub use rim::CHORD_MM;

/// An opening of the folded cover, or several equal ones.
#[derive(Clone, Debug)]
pub struct Opening {
    /// What a person calls it: ``hole `drain` ``, ``seam `wall.front` / `wall.right` ``.
    pub name: String,
    /// What makes it an opening.
    pub kind: OpeningKind,
    /// The panels at it.
    pub panels: Vec<PanelName>,
    /// The feature that made it, with its place in the script.
    pub origin: Origin,
    /// Where it is.
    pub figure: Figure,
    /// How large it is.
    pub measures: Measures,
}

/// What makes an opening.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum OpeningKind {
    /// Cut within one panel.
    Hole,
    /// Cut across one or more bends.
    AcrossBends,
    /// Between the sides of two flanges at a corner.
    Seam,
    /// Where the bends of a corner end.
    CornerRelief,
    /// Between free edges all around.
    OpenSide,
}

/// An opening as a figure in space. Points lie on the inner face of the sheet.
#[derive(Clone, Debug)]
pub enum Figure {
    /// A flat figure, once for each equal opening.
    Flat {
        /// Its outline, counter-clockwise, about its own first point.
        contour: Contour,
        /// Where the figure's plane lies for each of them; `n` is the panel's normal.
        frames: Vec<Placement<f64>>,
    },
    /// A closed line in space.
    Rim {
        /// Its points in order; arcs as chords within [`CHORD_MM`].
        points: Vec<Vec3<f64>>,
        /// The plane that it lies nearest to: `n` is the normal to its area.
        frame: Placement<f64>,
    },
}

impl Opening {
    /// How many equal ones there are.
    #[must_use]
    pub fn count(&self) -> usize {
        match &self.figure {
            Figure::Flat { frames, .. } => frames.len(),
            Figure::Rim { .. } => 1,
        }
    }

    /// Points around the opening of this index in space, in order, arcs as chords within
    /// [`CHORD_MM`].
    ///
    /// # Panics
    /// If there are not so many.
    #[must_use]
    pub fn outline(&self, index: usize) -> Vec<Vec3<f64>> {
        match &self.figure {
            Figure::Flat { contour, frames } => {
                rim::sampled(contour.segments()).into_iter().map(|p| frames[index].lift(p, 0.0)).collect()
            }
            Figure::Rim { points, .. } => points.clone(),
        }
    }
}

/// Where every zone of the folded cover lies.
struct Folded<'t> {
    tree: &'t FoldTree,
    frames: Vec<Placement<f64>>,
    strips: Vec<StripMap>,
}

/// Every opening of the folded cover: holes by panel, those across bends, then seams and corners along the rim, then
/// open sides. A sheet without bends has no open side.
#[must_use]
pub fn openings(tree: &FoldTree) -> Vec<Opening> {
    let fractions = FoldFractions::all(tree, 1.0);
    let frames = tree.placements(&fractions);
    let strips = tree.bends().iter().map(|bend| tree.strip_map(bend, &frames, &fractions)).collect();
    let folded = Folded { tree, frames, strips };
    let mut found = holes::in_panels(&folded);
    let loops = rim::loops(tree);
    let is_cut = |l: &rim::Loop| l.area < 0.0;
    found.extend(loops.iter().filter(|l| is_cut(l)).filter_map(|l| holes::across_bends(&folded, l)));
    if !tree.bends().is_empty() {
        for l in loops.iter().filter(|l| !is_cut(l)) {
            found.extend(seams::along(&folded, l));
        }
    }
    found
}

/// What a person calls a cut, after what made its first edge.
fn cut_name(tree: &FoldTree, word: &str, label: &EdgeLabel) -> (String, Origin) {
    let origin = tree.origin_of(label).clone();
    (format!("{word} `{}`", origin.name), origin)
}
