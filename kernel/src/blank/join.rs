//! Joins cut pieces end to start to closed contours.
//!
//! Invariant: every piece is used once, in its own direction; two ends are one point when they lie within
//! the snap tolerance. The pieces come from zones laid flat by different motions, so that common vertices
//! agree to rounding only.

use std::collections::BTreeMap;

use crate::geom::{Contour, Point2, Segment};
use crate::quantity::tolerance;

/// The closed contours that the pieces form.
///
/// # Errors
/// A point at which the pieces do not close.
pub(super) fn closed_contours(pieces: &[Segment]) -> Result<Vec<Contour>, Point2> {
    let starts = StartIndex::new(pieces);
    let mut used = vec![false; pieces.len()];
    let mut contours = Vec::new();
    for first in 0..pieces.len() {
        if used[first] {
            continue;
        }
        let mut chain: Vec<Segment> = Vec::new();
        let mut current = first;
        loop {
            used[current] = true;
            chain.push(pieces[current]);
            let end = pieces[current].end;
            if end.distance(chain[0].start) <= tolerance::SNAP_MM {
                break;
            }
            current = starts.nearest(end, pieces, &used).ok_or(end)?;
        }
        contours.push(closed(chain)?);
    }
    Ok(contours)
}

/// Makes the joints bit-equal by letting every piece end where the next one starts.
fn closed(mut chain: Vec<Segment>) -> Result<Contour, Point2> {
    let starts: Vec<Point2> = chain.iter().map(|s| s.start).collect();
    for (piece, &next) in chain.iter_mut().zip(starts.iter().cycle().skip(1)) {
        piece.end = next;
    }
    Contour::new(chain).map_err(|_| starts[0])
}

/// Pieces by the grid cell of their start point.
struct StartIndex(BTreeMap<(i64, i64), Vec<usize>>);

/// Side of a grid cell in mm, far above the snap tolerance so that a look at nine cells is enough.
const CELL_MM: f64 = 0.01;

impl StartIndex {
    fn new(pieces: &[Segment]) -> Self {
        let mut cells: BTreeMap<_, Vec<usize>> = BTreeMap::new();
        for (index, piece) in pieces.iter().enumerate() {
            cells.entry(Self::cell(piece.start)).or_default().push(index);
        }
        Self(cells)
    }

    #[expect(clippy::cast_possible_truncation, reason = "coordinates are far below 2^63 cells")]
    fn cell(p: Point2) -> (i64, i64) {
        ((p.x / CELL_MM).floor() as i64, (p.y / CELL_MM).floor() as i64)
    }

    /// The unused piece that starts nearest to a point, within the snap tolerance.
    fn nearest(&self, p: Point2, pieces: &[Segment], used: &[bool]) -> Option<usize> {
        let (cx, cy) = Self::cell(p);
        let around = (-1..=1).flat_map(|dx| (-1..=1).map(move |dy| (cx + dx, cy + dy)));
        around
            .filter_map(|cell| self.0.get(&cell))
            .flatten()
            .copied()
            .filter(|&i| !used[i] && pieces[i].start.distance(p) <= tolerance::SNAP_MM)
            .min_by(|&a, &b| {
                pieces[a].start.distance(p).total_cmp(&pieces[b].start.distance(p)).then(a.cmp(&b))
            })
    }
}
