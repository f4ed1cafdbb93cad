//! Views of the folded part as plane lines at 1:1, with hidden lines told from visible ones.
//!
//! Lines are the edges of the exact boundary and the places where its curved faces turn away from the eye. What
//! hides them are the triangles of a mesh whose vertices lie on the same edges, so that a line and the faces beside
//! it agree to the bit. Derivation and limits: `docs/math/hidden-lines.md`. Invariant: no two lines of a projection
//! lie on top of each other for longer than [`tolerance::SAME_LINE_MM`]; where several did, the one that is seen is
//! left, and of those one that is no mere tangent line; the same part and direction give the same lines in the same
//! order. Must not know: sheets of paper, widths and patterns of lines, scales.

mod cover;
mod direction;
mod grid;
mod merging;
mod silhouette;
mod strand;

pub use direction::Direction;

use crate::geom::Point2;
use crate::quantity::tolerance;
use crate::solid::{Brep, EdgedMesh};

use cover::Cover;
use strand::{Strand, Veil};

/// The lines of a part seen from one side.
#[derive(Clone, Debug, PartialEq)]
pub struct Projection {
    /// Visible lines first, then hidden ones; of each, tangent lines last.
    pub lines: Vec<Line>,
}

/// A line of a view.
#[derive(Clone, Debug, PartialEq)]
pub struct Line {
    /// Whether it is seen.
    pub sight: Sight,
    /// What it is of the part.
    pub kind: LineKind,
    /// Indices of the faces of the boundary on both sides of it; the same twice for a silhouette within a face.
    pub faces: [usize; 2],
    /// Where it runs, in mm; the part's origin is that of the view, x to the right, y up.
    pub path: Path,
}

/// Whether a line is seen.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Sight {
    /// Nothing lies before it.
    Visible,
    /// Metal lies before it.
    Hidden,
}

/// What a line is of the part.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum LineKind {
    /// Two faces meet at an angle.
    Sharp,
    /// A curved face turns away from the eye.
    Silhouette,
    /// Two faces of the sheet run into each other: where a bend begins, or a blend of a bump. ISO 128 draws such
    /// imaginary lines thin, where they are seen at all.
    Tangent,
}

/// Where a line runs.
#[derive(Clone, Debug, PartialEq)]
pub enum Path {
    /// Straight from point to point.
    Segment([Point2; 2]),
    /// Along a circle that is seen from straight ahead.
    Arc(ArcPath),
    /// Along a curve, from point to point; three at least.
    Chords(Vec<Point2>),
}

/// A piece of circle.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct ArcPath {
    /// Its centre.
    pub centre: Point2,
    /// Its radius in mm.
    pub radius: f64,
    /// Where it starts, as an angle in rad counter-clockwise from x.
    pub from: f64,
    /// Angle in rad through which it runs counter-clockwise, above zero.
    pub sweep: f64,
}

impl Path {
    /// Its length in mm.
    #[must_use]
    pub fn length(&self) -> f64 {
        match self {
            Self::Segment([a, b]) => a.distance(*b),
            Self::Arc(arc) => arc.radius * arc.sweep,
            Self::Chords(points) => points.windows(2).map(|pair| pair[0].distance(pair[1])).sum(),
        }
    }
}

/// The lines of a part looked at in a direction. `mesh` is made of the same boundary; the finer its chords
/// ([`tolerance::DRAWN_CHORD_MM`] as a rule), the more exact are curves and the places where they are hidden.
#[must_use]
pub fn project(brep: &Brep, mesh: &EdgedMesh, direction: Direction) -> Projection {
    let strands = strand::strands(brep, mesh, direction);
    let runs = runs(&strands, Cover::new(&mesh.mesh, direction), mesh.chord_tolerance());
    Projection { lines: merging::merged(&strands, runs) }
}

/// A stretch of a strand that is all seen or all hidden.
#[derive(Clone, Copy, Debug)]
struct Run {
    strand: usize,
    sight: Sight,
    /// Where it starts and ends: number of the chord, and share of it.
    from: f64,
    to: f64,
}

/// Parts strands into what is seen and what is hidden behind a cover whose chords lie within `chord_tolerance` mm of
/// true curves.
fn runs(strands: &[Strand], mut cover: Cover, chord_tolerance: f64) -> Vec<Run> {
    let mut runs = Vec::new();
    let speck = tolerance::SAME_LINE_MM.max(2.0 * chord_tolerance);
    let mut hidden = Vec::new();
    for (index, strand) in strands.iter().enumerate() {
        let chords = strand.points.len() - 1;
        hidden.clear();
        match strand.veil {
            Veil::OwnMetal => hidden.push([0.0, chords as f64]),
            Veil::Others { behind } => {
                for (chord, ends) in strand.points.windows(2).enumerate() {
                    let first = hidden.len();
                    cover.hidden([ends[0], ends[1]], behind, &mut hidden);
                    for span in &mut hidden[first..] {
                        *span = span.map(|share| share + chord as f64);
                    }
                }
            }
        }
        let first = runs.len();
        let mut at = 0.0;
        let mut add = |sight, to: f64| {
            if to > at {
                runs.push(Run { strand: index, sight, from: at, to });
                at = to;
            }
        };
        for [from, to] in joined(&mut hidden) {
            add(Sight::Visible, from);
            add(Sight::Hidden, to);
        }
        add(Sight::Visible, chords as f64);
        without_specks(&mut runs, first, strand, speck);
    }
    runs
}

/// Spans in order, those that meet as one.
fn joined(spans: &mut [[f64; 2]]) -> Vec<[f64; 2]> {
    spans.sort_by(|a, b| a[0].total_cmp(&b[0]).then(a[1].total_cmp(&b[1])));
    let mut joined: Vec<[f64; 2]> = Vec::new();
    for &[from, to] in spans.iter() {
        match joined.last_mut() {
            Some(last) if from <= last[1] + tolerance::CHORD_SHARE => last[1] = last[1].max(to),
            Some(_) | None => joined.push([from, to]),
        }
    }
    joined
}

/// Lets runs from `first` on that are shorter than `speck` mm be as the longer one beside them: nearer than that, the
/// mesh does not tell where a curved face ends.
fn without_specks(runs: &mut Vec<Run>, first: usize, strand: &Strand, speck: f64) {
    while runs.len() - first > 1 {
        let lengths: Vec<f64> = runs[first..].iter().map(|run| strand.length(run.from, run.to)).collect();
        let Some(shortest) = (0..lengths.len())
            .filter(|&i| lengths[i] < speck)
            .min_by(|&a, &b| lengths[a].total_cmp(&lengths[b]))
        else {
            return;
        };
        let sight = match runs[first + shortest].sight {
            Sight::Visible => Sight::Hidden,
            Sight::Hidden => Sight::Visible,
        };
        let low = first + shortest.saturating_sub(1);
        let high = (first + shortest + 1).min(runs.len() - 1);
        let run = Run { sight, from: runs[low].from, to: runs[high].to, ..runs[low] };
        runs.splice(low..=high, [run]);
    }
}

#[cfg(test)]
mod tests;
