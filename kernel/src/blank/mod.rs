//! The blank: the flat figure that is cut from the sheet, with its bend lines and the marks of its forms.
//!
//! Job: lay panels and bend strips side by side as the fold tree's flat motions say, and join their cut
//! edges to closed contours. Invariant: one counter-clockwise outer contour and clockwise openings, made of
//! lines and arcs (arcs are never replaced by chords); no zone overlaps another.
//! Must not know: the solid, any output format.

mod fault;
mod hole_table;
mod join;

use crate::diag::{Diagnostic, Origin};
use crate::fold::{Bend, CreaseSpan, EdgeLabel, FoldTree};
use crate::geom::{BoundingBox, Contour, Motion2, Point2, Region, Segment, first_self_contact};
use crate::history::PanelName;
use crate::history::feature::{BumpSide, FoldSide};
use crate::ident::BendId;

pub use fault::BlankFault;
pub use hole_table::{HoleRow, hole_table};

/// The flat figure and its bend lines, in the base panel's coordinates in mm.
#[derive(Clone, Debug)]
pub struct Blank {
    /// The figure; tags are those of the fold tree.
    pub region: Region,
    /// One for each bend, indexed by [`BendId`].
    pub bend_lines: Vec<BendLine>,
    /// Where forms are pressed later: marks, not cuts; in the order of the fold tree's forms.
    pub forms: Vec<FormMark>,
}

/// Where a form lies in the blank. A form is drawn over its panel and changes no outline of the blank.
#[derive(Clone, Debug, PartialEq)]
pub struct FormMark {
    /// Name of the form.
    pub name: String,
    /// To which side it rises.
    pub side: BumpSide,
    /// Where it begins to rise, counter-clockwise.
    pub foot: Contour,
    /// Outline of its flat top, counter-clockwise.
    pub top: Contour,
}

/// Where a bend lies in the blank: three parallel lines, each from the first to the last place where there is
/// sheet, from left to right in the flange's sense.
#[derive(Clone, Debug, PartialEq)]
pub struct BendLine {
    /// The bend.
    pub bend: BendId,
    /// The panel behind it, after which the bend is named.
    pub name: PanelName,
    /// Towards the inner face or away from it.
    pub side: FoldSide,
    /// Half-way between start and end of the bend: where the punch meets the sheet.
    pub centre: [Point2; 2],
    /// Where the bend starts, next to the parent panel.
    pub start: [Point2; 2],
    /// Where it ends.
    pub end: [Point2; 2],
}

impl Blank {
    /// The smallest box with sides along the base panel's x and y.
    #[must_use]
    pub fn bounding_box(&self) -> BoundingBox {
        self.region.bounding_box()
    }

    /// Length of all cuts in mm.
    #[must_use]
    pub fn cut_length(&self) -> f64 {
        self.region.boundary_length()
    }

    /// Number of closed cuts, each of which needs one pierce.
    #[must_use]
    pub fn pierces(&self) -> usize {
        self.region.contours().len()
    }
}

/// Lays the fold tree flat.
///
/// # Errors
/// A finding for every pair of zones that would need the same piece of sheet.
pub fn unfold(tree: &FoldTree) -> Result<Blank, Vec<Diagnostic>> {
    let motions = tree.flat_motions();
    let mut cut_pieces: Vec<Segment> = Vec::new();
    let mut openings: Vec<Contour> = Vec::new();
    let strips = tree.bends().iter().map(|b| (&b.region, b.strip_motion(motions[b.parent.index()])));
    for (region, motion) in tree.panels().iter().zip(&motions).map(|(p, &m)| (&p.region, m)).chain(strips) {
        for contour in region.contours() {
            if contour.segments().iter().any(|s| tree.label(s).is_crease()) || contour.signed_area() > 0.0 {
                let cut = contour.segments().iter().filter(|s| !tree.label(s).is_crease());
                cut_pieces.extend(cut.map(|s| s.moved(motion)));
            } else {
                openings.push(contour.moved(motion));
            }
        }
    }
    let bend_lines = tree.bends().iter().map(|bend| bend_line(tree, bend, &motions)).collect();
    let base = tree.origin(tree.panels()[0].feature);
    let closed = join::closed_contours(&cut_pieces)
        .map_err(|at| vec![BlankFault::NotClosed { at }.diagnose(base.clone())])?;
    // An opening across a bend was cut zone by zone.
    let cut_across = |c: &Contour| {
        c.signed_area() < 0.0 && c.segments().iter().any(|s| matches!(tree.label(s), EdgeLabel::Opening(_)))
    };
    let (across, outer): (Vec<Contour>, Vec<Contour>) = closed.into_iter().partition(cut_across);
    let mut faults = Vec::new();
    for contour in outer.iter().chain(&across) {
        if let Some(contact) = first_self_contact(contour) {
            let label = |i: usize| tree.label(&contour.segments()[i]);
            let (a, b) = (label(contact.first), label(contact.second));
            let fault = BlankFault::Overlap { a: tree.owner(a), b: tree.owner(b), at: contact.point };
            faults.push(fault.diagnose(later(tree.origin_of(a), tree.origin_of(b)).clone()));
        }
    }
    if outer.len() != 1 || outer[0].signed_area() <= 0.0 {
        let at = outer.get(1).map_or(Point2::ORIGIN, |c| c.segments()[0].start);
        faults.push(BlankFault::SeveralOutlines { count: outer.len(), at }.diagnose(base.clone()));
    }
    if !faults.is_empty() {
        return Err(faults);
    }
    let contours = outer.into_iter().chain(openings).chain(across).collect();
    let forms = tree.forms().iter().map(|form| {
        let motion = motions[form.panel.index()];
        FormMark {
            name: form.name.clone(),
            side: form.side,
            foot: form.foot().moved(motion),
            top: form.top().moved(motion),
        }
    });
    Ok(Blank { region: Region::from_oriented(contours), bend_lines, forms: forms.collect() })
}

/// Each line runs from the first to the last place where there is sheet; cuts may have parted it between.
fn bend_line(tree: &FoldTree, bend: &Bend, motions: &[Motion2]) -> BendLine {
    let strip = bend.strip_motion(motions[bend.parent.index()]);
    let line = |y: f64, spans: Vec<[f64; 2]>| {
        let ends = match (spans.first(), spans.last()) {
            (Some(first), Some(last)) => [first[0], last[1]],
            _ => bend.reach(),
        };
        ends.map(|x| strip.point(Point2::new(x, y)))
    };
    let of_crease = |crease: &[CreaseSpan]| crease.iter().map(|s| [s.from, s.to]).collect();
    let middle = 0.5 * bend.allowance();
    BendLine {
        bend: bend.id,
        name: tree.panel(bend.child).name.clone(),
        side: bend.side,
        centre: line(middle, bend.region.level_spans(middle)),
        start: line(0.0, of_crease(&bend.start)),
        end: line(bend.allowance(), of_crease(&bend.end)),
    }
}

/// The one written later, which is more likely the one to change.
fn later<'a>(a: &'a Origin, b: &'a Origin) -> &'a Origin {
    if a.span >= b.span { a } else { b }
}
