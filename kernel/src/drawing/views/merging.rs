//! Lines that lie on top of each other become one.
//!
//! Runs are taken in the order of their rank: visible before hidden, edges and silhouettes before tangent lines, then
//! as they come. Of each, only what no earlier one lies on is left. Invariant: of places that any run covers, each is
//! covered by the lines that are left, to [`tolerance::SAME_LINE_MM`].

use std::collections::BTreeMap;

use crate::geom::Point2;
use crate::quantity::{maths, tolerance};

use super::grid::Grid;
use super::strand::{Round, Strand};
use super::{ArcPath, Line, LineKind, Path, Run};

/// What is left of the runs of strands.
pub(super) fn merged(strands: &[Strand], mut runs: Vec<Run>) -> Vec<Line> {
    // What is drawn alike keeps its order.
    let is_tangent = |run: &Run| strands[run.strand].kind == LineKind::Tangent;
    runs.sort_by_key(|run| (run.sight, is_tangent(run)));
    let mut drawn = Drawn::over(strands);
    let mut lines = Vec::new();
    for run in &runs {
        let strand = &strands[run.strand];
        let mut add =
            |path| lines.push(Line { sight: run.sight, kind: strand.kind, faces: strand.faces, path });
        match &strand.round {
            Some(round) => drawn.arcs(strand, round, run).into_iter().map(Path::Arc).for_each(&mut add),
            None => drawn.chains(strand, run).into_iter().map(path_along).for_each(&mut add),
        }
    }
    lines
}

/// What has been drawn so far.
struct Drawn {
    grid: Grid,
    /// Straight pieces that touch each cell.
    cells: Vec<Vec<u32>>,
    pieces: Vec<[Point2; 2]>,
    /// The straight piece for which each has been looked at last.
    looked: Vec<usize>,
    count: usize,
    /// Arcs by where their centre lies in a lattice of 1 mm.
    arcs: BTreeMap<[i64; 2], Vec<ArcPath>>,
}

impl Drawn {
    fn over(strands: &[Strand]) -> Self {
        let mut low = [f64::INFINITY; 2];
        let mut high = [f64::NEG_INFINITY; 2];
        let mut chords = 1;
        for strand in strands.iter().filter(|strand| strand.round.is_none()) {
            chords += strand.points.len();
            for p in &strand.points {
                for axis in 0..2 {
                    low[axis] = low[axis].min(p[axis]);
                    high[axis] = high[axis].max(p[axis]);
                }
            }
        }
        let grid = Grid::new(low, high, chords);
        let cells = vec![Vec::new(); grid.cells()];
        Self { grid, cells, pieces: Vec::new(), looked: Vec::new(), count: 0, arcs: BTreeMap::new() }
    }

    /// What of a run on a circle no earlier arc lies on.
    fn arcs(&mut self, strand: &Strand, round: &Round, run: &Run) -> Vec<ArcPath> {
        let ends = [run.from, run.to].map(|place| strand.angle(round, place));
        let (centre, radius) = (round.centre, round.radius);
        let from = ends[0].min(ends[1]);
        let sweep = (ends[1] - ends[0]).abs();
        let mut covered = Vec::new();
        let cell = |offset: f64| [centre.x + offset, centre.y + offset].map(|x| x.floor() as i64);
        let (low, high) = (cell(-tolerance::SAME_LINE_MM), cell(tolerance::SAME_LINE_MM));
        for x in low[0]..=high[0] {
            for arc in (low[1]..=high[1]).filter_map(|y| self.arcs.get(&[x, y])).flatten() {
                let off = arc.centre.distance(centre) + (arc.radius - radius).abs();
                if off > tolerance::SAME_LINE_MM {
                    continue;
                }
                let start = arc.from - from;
                let start = start - maths::TAU * ((start + arc.sweep) / maths::TAU).floor();
                for start in [start, start + maths::TAU] {
                    covered.push([start / sweep, (start + arc.sweep) / sweep]);
                }
            }
        }
        let piece =
            |[a, b]: [f64; 2]| ArcPath { centre, radius, from: from + a * sweep, sweep: (b - a) * sweep };
        let left: Vec<ArcPath> =
            bare(&mut covered, tolerance::SAME_LINE_MM / (radius * sweep)).into_iter().map(piece).collect();
        self.arcs.entry(cell(0.0)).or_default().extend(&left);
        left
    }

    /// What of a run of chords no earlier one lies on, as points that follow each other.
    fn chains(&mut self, strand: &Strand, run: &Run) -> Vec<Vec<Point2>> {
        let mut chains: Vec<Vec<Point2>> = Vec::new();
        // Whether the last chain ends where the next chord starts.
        let mut open = false;
        let mut from = run.from;
        while from < run.to {
            let to = (from.floor() + 1.0).min(run.to);
            let ends = [strand.at(from), strand.at(to)];
            from = to;
            let length = ends[0].distance(ends[1]);
            if length <= tolerance::SNAP_MM {
                continue;
            }
            let mut covered = self.covered(ends);
            let left = bare(&mut covered, tolerance::SAME_LINE_MM / length);
            let last = left.len().saturating_sub(1);
            let was_open = std::mem::replace(&mut open, false);
            for (index, [a, b]) in left.into_iter().enumerate() {
                let piece = [ends[0].lerp(ends[1], a), ends[0].lerp(ends[1], b)];
                match chains.last_mut() {
                    Some(chain) if index == 0 && was_open && a == 0.0 => chain.push(piece[1]),
                    Some(_) | None => chains.push(piece.to_vec()),
                }
                open = index == last && b == 1.0;
                self.add(piece);
            }
        }
        chains.retain(|chain| {
            chain.windows(2).map(|pair| pair[0].distance(pair[1])).sum::<f64>() > tolerance::SAME_LINE_MM
        });
        chains
    }

    fn add(&mut self, piece: [Point2; 2]) {
        let number = u32::try_from(self.pieces.len()).expect("a view has fewer than 2^32 lines");
        self.pieces.push(piece);
        self.looked.push(0);
        let [a, b] = piece.map(|p| [p.x, p.y]);
        let Self { grid, cells, .. } = self;
        grid.along(a, b, 0.0, |cell| cells[cell].push(number));
    }

    /// Shares of a straight piece on which earlier ones lie.
    fn covered(&mut self, [a, b]: [Point2; 2]) -> Vec<[f64; 2]> {
        self.count += 1;
        let Self { grid, cells, pieces, looked, count, .. } = self;
        let length = a.distance(b);
        let along = (b - a) * (1.0 / length);
        let mut covered = Vec::new();
        grid.along([a.x, a.y], [b.x, b.y], tolerance::SAME_LINE_MM, |cell| {
            for &number in &cells[cell] {
                if std::mem::replace(&mut looked[number as usize], *count) == *count {
                    continue;
                }
                let places = pieces[number as usize].map(|p| [(p - a).dot(along), along.cross(p - a)]);
                let [[from, off_from], [to, off_to]] = places;
                if from == to {
                    continue;
                }
                let low = from.min(to).max(0.0);
                let high = from.max(to).min(length);
                let off = |x: f64| (off_from + (off_to - off_from) * (x - from) / (to - from)).abs();
                if low < high && off(low).max(off(high)) <= tolerance::SAME_LINE_MM {
                    covered.push([low / length, high / length]);
                }
            }
        });
        covered
    }
}

/// What is left of 0 to 1 outside of spans, without pieces shorter than `least`.
fn bare(spans: &mut [[f64; 2]], least: f64) -> Vec<[f64; 2]> {
    if spans.is_empty() {
        return vec![[0.0, 1.0]];
    }
    spans.sort_by(|a, b| a[0].total_cmp(&b[0]).then(a[1].total_cmp(&b[1])));
    let mut left = Vec::new();
    let mut at = 0.0_f64;
    for &[from, to] in spans.iter().filter(|[from, to]| *to > 0.0 && *from < 1.0) {
        if from - at > least {
            left.push([at, from]);
        }
        at = at.max(to);
    }
    if 1.0 - at > least || at == 0.0 {
        left.push([at, 1.0]);
    }
    left
}

/// Points that follow each other, without those between others on one straight line.
fn path_along(points: Vec<Point2>) -> Path {
    let mut kept: Vec<Point2> = Vec::with_capacity(points.len());
    for p in points {
        while let [.., a, b] = kept[..] {
            let way = p - a;
            let off = way.cross(b - a).abs();
            let is_between = (b - a).dot(way) >= 0.0 && (p - b).dot(way) >= 0.0;
            if off > tolerance::SNAP_MM * way.length() || !is_between {
                break;
            }
            kept.pop();
        }
        kept.push(p);
    }
    match kept[..] {
        [a, b] => Path::Segment([a, b]),
        _ => Path::Chords(kept),
    }
}
