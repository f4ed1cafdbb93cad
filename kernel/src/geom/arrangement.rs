//! Many contours laid over each other and cut wherever they meet.
//!
//! Job: turn the segments of several figures into pieces that meet only at shared vertices, each kept once
//! with the number of times either side of the boolean runs along it. Invariant: two vertices are farther
//! apart than the snap distance; a piece joins two different vertices and only rises or only falls along
//! both axes. Must not know: which boolean is asked for.

use std::collections::HashMap;
use std::hash::{BuildHasherDefault, Hasher};

use super::intersect::carrier_crossings;
use super::monotone::for_monotone_pieces;
use super::pairs::for_touching_pairs;
use super::{ArcTurn, BoundingBox, Curve, Motion2, Point2, Segment};

/// The two sides of a boolean: what is kept, and what it is cut by.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Side {
    First,
    Second,
}

/// How finely an arrangement is made.
#[derive(Clone, Copy, Debug)]
pub(super) struct Working {
    /// The frame in which the work is done.
    pub(super) frame: Motion2,
    /// Points nearer than this are one vertex, in mm.
    pub(super) snap: f64,
    /// How often the pieces, which snapping moves a little, are cut against each other again.
    pub(super) rounds: usize,
}

/// A piece between two vertices.
#[derive(Clone, Copy, Debug)]
pub(super) struct Piece {
    /// Where it starts.
    pub(super) from: usize,
    /// Where it ends.
    pub(super) to: usize,
    /// The curve between, fitted to the snapped vertices.
    pub(super) curve: Curve,
    /// Index of the segment it was cut from, which runs the same way.
    pub(super) source: usize,
    /// How many more times the first and the second side run along it than against it.
    pub(super) net: [i32; 2],
}

/// Pieces and the vertices they join, in the working frame.
#[derive(Debug)]
pub(super) struct Arrangement {
    /// All vertices.
    pub(super) vertices: Vec<Point2>,
    /// The vertices in the frame of the caller; those that were given are bit-equal to what was given.
    pub(super) home: Vec<Point2>,
    /// Pieces with anything left of their two nets.
    pub(super) pieces: Vec<Piece>,
}

impl Arrangement {
    /// Cuts the segments at all their meetings.
    pub(super) fn new(sources: &[(Segment, Side)], working: Working) -> Self {
        let mut vertices = Vertices::new(working.snap);
        let mut home = Vec::with_capacity(2 * sources.len());
        let mut strands = Vec::with_capacity(2 * sources.len());
        for end in sources.iter().flat_map(|(segment, _)| [segment.start, segment.end]) {
            if vertices.at(working.frame.point(end)) == home.len() {
                home.push(end);
            }
        }
        for (source, (segment, _)) in sources.iter().enumerate() {
            for_monotone_pieces(segment.moved(working.frame), |piece| {
                let (from, to) = (vertices.at(piece.start), vertices.at(piece.end));
                if from != to {
                    strands.push(Strand { from, to, segment: piece, source });
                }
            });
        }
        for round in 0..working.rounds {
            // As given, strands of one segment follow each other; snapped, they may run over each other.
            let pairs = if round == 0 { Pairs::OfDifferentSegments } else { Pairs::All };
            let Some(cut) = cut_at_meetings(&strands, pairs, &mut vertices) else { break };
            strands = cut;
        }
        let back = working.frame.inverse();
        home.extend(vertices.points[home.len()..].iter().map(|&p| back.point(p)));
        let pieces = merge_coincident(&strands, sources, &vertices);
        Self { vertices: vertices.points, home, pieces }
    }
}

/// A stretch of one source segment between two vertices; the segment's ends may differ from them by the snap
/// distance.
#[derive(Clone, Copy, Debug)]
struct Strand {
    from: usize,
    to: usize,
    segment: Segment,
    source: usize,
}

impl Strand {
    /// Whether a point near the carrying curve lies between the ends.
    fn between_ends(&self, p: Point2) -> bool {
        let Segment { start, end, curve, .. } = self.segment;
        match curve {
            Curve::Line => (p - start).dot(end - start) >= 0.0 && (p - end).dot(start - end) >= 0.0,
            Curve::Arc { centre, turn, .. } => {
                let sign = turn.sign();
                let arm = p - centre;
                (start - centre).cross(arm) * sign >= 0.0
                    && arm.cross(end - centre) * sign >= 0.0
                    && arm.dot(start - centre) + arm.dot(end - centre) > 0.0
            }
        }
    }

    /// Whether a point lies on the piece within `snap`.
    fn passes(&self, p: Point2, snap: f64) -> bool {
        let Segment { start, end, curve, .. } = self.segment;
        if !self.between_ends(p) {
            return false;
        }
        match curve {
            Curve::Line => {
                let along = end - start;
                along.cross(p - start).abs() <= snap * along.length()
            }
            Curve::Arc { centre, radius, .. } => (centre.distance(p) - radius).abs() <= snap,
        }
    }
}

/// Which strands are cut against each other.
#[derive(Clone, Copy, PartialEq)]
enum Pairs {
    OfDifferentSegments,
    All,
}

/// Cuts every strand where another one ends on it or crosses it; `None` if nothing was left to cut.
fn cut_at_meetings(strands: &[Strand], pairs: Pairs, vertices: &mut Vertices) -> Option<Vec<Strand>> {
    let snap = vertices.snap;
    // Where snapped pieces nearly touch, more vertices would only make them shorter.
    let touch = match pairs {
        Pairs::OfDifferentSegments => snap,
        Pairs::All => 0.0,
    };
    let boxes: Vec<BoundingBox> = strands
        .iter()
        .map(|s| BoundingBox::EMPTY.with(s.segment.start).with(s.segment.end).grown(snap))
        .collect();
    // (strand, vertex on it)
    let mut cuts: Vec<(usize, usize)> = Vec::new();
    for_touching_pairs(&boxes, |i, j| {
        let (a, b) = (&strands[i], &strands[j]);
        if pairs == Pairs::OfDifferentSegments && a.source == b.source {
            return;
        }
        for (end, vertex) in [(b.segment.start, b.from), (b.segment.end, b.to)] {
            if vertex != a.from && vertex != a.to && a.passes(end, snap) {
                cuts.push((i, vertex));
            }
        }
        for (end, vertex) in [(a.segment.start, a.from), (a.segment.end, a.to)] {
            if vertex != b.from && vertex != b.to && b.passes(end, snap) {
                cuts.push((j, vertex));
            }
        }
        for &p in carrier_crossings(&a.segment, &b.segment, touch).points() {
            if a.between_ends(p) && b.between_ends(p) {
                let vertex = vertices.at(p);
                if vertex != a.from && vertex != a.to {
                    cuts.push((i, vertex));
                }
                if vertex != b.from && vertex != b.to {
                    cuts.push((j, vertex));
                }
            }
        }
    });
    let mut keyed: Vec<(usize, f64, usize)> = cuts
        .into_iter()
        .map(|(strand, vertex)| {
            let Segment { start, end, .. } = strands[strand].segment;
            (strand, (vertices.points[vertex] - start).dot(end - start), vertex)
        })
        .collect();
    // A vertex may lie a trifle beyond an end; to go there and back would fold the strand.
    keyed.retain(|&(strand, along, _)| {
        let Segment { start, end, .. } = strands[strand].segment;
        0.0 < along && along < (end - start).dot(end - start)
    });
    if keyed.is_empty() {
        return None;
    }
    keyed.sort_unstable_by(|a, b| a.0.cmp(&b.0).then(a.1.total_cmp(&b.1)).then(a.2.cmp(&b.2)));
    keyed.dedup_by_key(|&mut (strand, _, vertex)| (strand, vertex));
    let mut cut = Vec::with_capacity(strands.len() + keyed.len());
    let mut keyed = keyed.into_iter().peekable();
    for (index, strand) in strands.iter().enumerate() {
        let mut from = strand.from;
        while let Some((_, _, to)) = keyed.next_if(|&(owner, _, _)| owner == index) {
            cut.push(vertices.strand(strand, from, to));
            from = to;
        }
        cut.push(vertices.strand(strand, from, strand.to));
    }
    Some(cut)
}

/// Keeps one of the strands that join the same vertices along the same way, and counts the others into it.
fn merge_coincident(strands: &[Strand], sources: &[(Segment, Side)], vertices: &Vertices) -> Vec<Piece> {
    let mut order: Vec<usize> = (0..strands.len()).collect();
    let key = |s: &Strand| (s.from.min(s.to), s.from.max(s.to));
    order.sort_unstable_by_key(|&i| (key(&strands[i]), i));
    let mut pieces: Vec<(usize, Point2, Piece)> = Vec::with_capacity(strands.len());
    let mut run_start = 0;
    let mut run_key = None;
    for index in order {
        let strand = &strands[index];
        if run_key != Some(key(strand)) {
            run_key = Some(key(strand));
            run_start = pieces.len();
        }
        let fitted = vertices.strand(strand, strand.from, strand.to).segment;
        let middle = middle_of(&fitted);
        let side = match sources[strand.source].1 {
            Side::First => 0,
            Side::Second => 1,
        };
        let same = pieces[run_start..].iter_mut().find(|(_, m, _)| m.distance(middle) <= vertices.snap);
        if let Some((_, _, piece)) = same {
            piece.net[side] += if piece.from == strand.from { 1 } else { -1 };
        } else {
            let mut net = [0; 2];
            net[side] = 1;
            let piece =
                Piece { from: strand.from, to: strand.to, curve: fitted.curve, source: strand.source, net };
            pieces.push((index, middle, piece));
        }
    }
    pieces.retain(|(_, _, piece)| piece.net != [0, 0]);
    pieces.sort_unstable_by_key(|&(index, _, _)| index);
    pieces.into_iter().map(|(_, _, piece)| piece).collect()
}

/// The point of a line or an arc of at most about a quarter circle half-way along.
pub(super) fn middle_of(piece: &Segment) -> Point2 {
    let chord_middle = piece.start.midpoint(piece.end);
    match piece.curve {
        Curve::Line => chord_middle,
        Curve::Arc { centre, radius, .. } => centre + (chord_middle - centre).normalized() * radius,
    }
}

/// All vertices, found again by place.
struct Vertices {
    snap: f64,
    points: Vec<Point2>,
    /// The vertex made before this one in the same cell, plus one; zero for none.
    older: Vec<usize>,
    newest: HashMap<(i64, i64), usize, BuildHasherDefault<CellHasher>>,
}

impl Vertices {
    fn new(snap: f64) -> Self {
        Self { snap, points: Vec::new(), older: Vec::new(), newest: HashMap::default() }
    }

    fn cell(&self, p: Point2) -> (i64, i64) {
        // Cells of eight snap distances: a point and its surroundings mostly lie in one of them.
        let per_mm = 0.125 / self.snap;
        #[expect(clippy::cast_possible_truncation, reason = "10 m are 1.25e10 cells")]
        let cell = |c: f64| (c * per_mm).floor() as i64;
        (cell(p.x), cell(p.y))
    }

    /// The nearest vertex within the snap distance, or a new one.
    fn at(&mut self, p: Point2) -> usize {
        let around = BoundingBox { min: p, max: p }.grown(self.snap);
        let (low, high) = (self.cell(around.min), self.cell(around.max));
        let mut nearest: Option<(f64, usize)> = None;
        for x in low.0..=high.0 {
            for y in low.1..=high.1 {
                let mut next = self.newest.get(&(x, y)).copied().unwrap_or(0);
                while next > 0 {
                    let vertex = next - 1;
                    let distance = self.points[vertex].distance(p);
                    if distance <= self.snap && nearest.is_none_or(|best| (distance, vertex) < best) {
                        nearest = Some((distance, vertex));
                    }
                    next = self.older[vertex];
                }
            }
        }
        if let Some((_, vertex)) = nearest {
            return vertex;
        }
        self.points.push(p);
        let older = self.newest.insert(self.cell(p), self.points.len());
        self.older.push(older.unwrap_or(0));
        self.points.len() - 1
    }

    /// The part of a strand between two vertices; an arc keeps its radius and moves its centre by about the
    /// snap distance so that it passes through both.
    fn strand(&self, strand: &Strand, from: usize, to: usize) -> Strand {
        let (start, end) = (self.points[from], self.points[to]);
        let curve = match strand.segment.curve {
            Curve::Line => Curve::Line,
            Curve::Arc { radius, turn, .. } => {
                let chord = end - start;
                let half = 0.5 * chord.length();
                let radius = radius.max(half);
                let height = ((radius - half) * (radius + half)).sqrt();
                let inward = match turn {
                    ArcTurn::Left => chord.left(),
                    ArcTurn::Right => chord.right(),
                };
                Curve::Arc { centre: start.midpoint(end) + inward.normalized() * height, radius, turn }
            }
        };
        let segment = Segment { start, end, curve, tag: strand.segment.tag };
        Strand { from, to, segment, source: strand.source }
    }
}

/// Mixes the two indices of a cell; no order is ever taken from the table.
#[derive(Default)]
struct CellHasher(u64);

impl Hasher for CellHasher {
    fn finish(&self) -> u64 {
        self.0
    }

    fn write(&mut self, bytes: &[u8]) {
        for &byte in bytes {
            self.write_u64(u64::from(byte));
        }
    }

    fn write_u64(&mut self, value: u64) {
        // Multiplier of a full-period congruential generator (Knuth, MMIX).
        let mixed = (self.0.rotate_left(29) ^ value).wrapping_mul(6_364_136_223_846_793_005);
        self.0 = mixed ^ (mixed >> 32);
    }

    fn write_i64(&mut self, value: i64) {
        self.write_u64(value.cast_unsigned());
    }
}
