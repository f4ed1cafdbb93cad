//! Outer corners that should be broken.
//!
//! What it does: looks at every corner of the blank's outline between drawn edges and openings where the sheet
//! stands out.
//! Limit: an angle of the sheet of 120° or more, so that a right angle with a chamfer (135°) or a rounding is
//! broken. Source: common practice, no source.
//! Why it is bad: a sharp corner of sheet cuts hands and catches on sleeves.
//! Use instead: `round_corners` or `chamfer_corners`; a hem.
//! Invariant: one note for the part, with the sharpest corners; corners beside bends and reliefs do not count.

use crate::diag::{Bound, Diagnostic, Severity};
use crate::fold::EdgeLabel;
use crate::geom::{Point2, Segment};
use crate::quantity::{maths, tolerance};
use crate::stock::Limit;

use super::limited::{Broken, By, Formula, Least};
use super::{Check, Subject};

pub(super) const CHECK: Check = Check {
    code: CODE,
    limit: "the sheet has an angle of 120° or more at outer corners",
    source: "common practice, no source",
    of: &[Limit::SharpCorner],
    run,
};

const CODE: &str = "check::sharp_corner";

/// How many places are named.
const SHOWN: usize = 3;

fn run(subject: Subject<'_>) -> Vec<Diagnostic> {
    let tree = subject.tree;
    let limit = Least {
        value: subject.limits.number(Limit::SharpCorner),
        formula: Formula::Words("a right angle with a chamfer has 135°"),
        by: By::Shop(Limit::SharpCorner),
    };
    let mut sharp: Vec<(f64, Point2, &Segment)> = Vec::new();
    for contour in subject.blank.region.outers() {
        let pieces = contour.segments();
        for (index, piece) in pieces.iter().enumerate() {
            let next = &pieces[(index + 1) % pieces.len()];
            if !(is_free(tree.label(piece)) && is_free(tree.label(next))) {
                continue;
            }
            let (before, after) = (piece.end_direction(), next.start_direction());
            let turn = maths::atan2(before.cross(after), before.dot(after));
            let angle = 180.0 - turn * (180.0 / maths::PI);
            if turn > tolerance::SMOOTH_RAD && limit.is_above(angle) {
                sharp.push((angle, piece.end, piece));
            }
        }
    }
    // The sort is stable: of equal ones the first stay in front.
    sharp.sort_by(|a, b| a.0.total_cmp(&b.0));
    let Some(&(got, _, worst)) = sharp.first() else { return Vec::new() };
    let places: Vec<String> = sharp
        .iter()
        .take(SHOWN)
        .map(|(_, at, piece)| format!("`{}` ({:.1}, {:.1})", tree.owner(tree.label(piece)), at.x, at.y))
        .collect();
    let (corners, have) = if sharp.len() == 1 { ("outer corner", "has") } else { ("outer corners", "have") };
    let more = match sharp.len().saturating_sub(SHOWN) {
        0 => String::new(),
        more => format!(" and {more} more"),
    };
    let broken = Broken {
        code: CODE,
        severity: Severity::Note,
        what: format!(
            "{} {corners} of the blank {have} sharp angles, at {}{more}: {got:.2}°",
            sharp.len(),
            places.join(", ")
        ),
        got,
        bound: Bound::AtLeast,
        limit: &limit,
        unit: "°",
        places: sharp.len(),
        origin: tree.origin_of(tree.label(worst)).clone(),
    };
    vec![broken.finding(subject).hint("break them with `round_corners` or `chamfer_corners`")]
}

fn is_free(label: &EdgeLabel) -> bool {
    match label {
        EdgeLabel::Edge(_) | EdgeLabel::Opening(_) | EdgeLabel::CornerBreak(_) => true,
        EdgeLabel::CreaseStart(_)
        | EdgeLabel::CreaseEnd(_)
        | EdgeLabel::StripEnd(_)
        | EdgeLabel::Relief(_) => false,
    }
}
