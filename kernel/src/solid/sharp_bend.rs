//! The inside of a bend without radius, where a face shrinks to a line.
//!
//! On that side every point of the strip lies on the bend's axis, at its own x. Cut by upright lines through
//! all vertices and outermost points, the strip falls into slabs between a lower and an upper piece; both
//! lie on the same stretch of the axis, and so they share one edge. Invariant: what a slab joins is the piece
//! under it and the piece over it, so that two openings that only touch the axis stay two.

use crate::fold::{Bend, StripMap};
use crate::geom::{Contour, Curve, Segment};
use crate::ident::VertexId;
use crate::quantity::tolerance;

use super::brep::{Curve3, Sense, Use};
use super::sewing::{PostId, Sewing, SheetSide, following};

/// Gives the posts of a strip their vertices on the closed side, and its creases their edges; returns the
/// edges along each piece there, contour by contour.
pub(super) fn close(
    sewing: &mut Sewing<'_>,
    bend: &Bend,
    map: StripMap,
    posts: &[PostId],
    side: SheetSide,
) -> Vec<Vec<Use>> {
    let contours = bend.region.contours();
    let next = following(contours);
    let pieces: Vec<Segment> = contours.iter().flat_map(Contour::segments).copied().collect();
    let places = places(&pieces);
    // Stretches of each piece from place to place, in order of travel.
    let steps: Vec<Vec<Step>> = pieces.iter().map(|piece| steps(piece, &places)).collect();
    let mut nodes = Nodes::new(&steps, &next);
    let mut slabs: Vec<Vec<(f64, usize, usize)>> = vec![Vec::new(); places.len().saturating_sub(1)];
    for (index, steps) in steps.iter().enumerate() {
        if steps.is_empty() {
            nodes.join(nodes.of(index, 0), nodes.of(next[index], 0));
        }
        for (at, step) in steps.iter().enumerate() {
            slabs[step.slab].push((step.height, index, at));
        }
    }
    let mut pairs = Vec::new();
    for slab in &mut slabs {
        slab.sort_by(|a, b| a.0.total_cmp(&b.0).then(a.1.cmp(&b.1)));
        for pair in slab.chunks_exact(2) {
            let [(_, lower, i), (_, upper, j)] = [pair[0], pair[1]];
            // The lower piece runs to the right, the upper one to the left.
            nodes.join(nodes.of(lower, i), nodes.of(upper, j + 1));
            nodes.join(nodes.of(lower, i + 1), nodes.of(upper, j));
            pairs.push([(lower, i), (upper, j)]);
        }
    }
    // A neighbouring bend without radius may have made vertices and edges already.
    let mut vertices: Vec<Option<VertexId>> = vec![None; nodes.count()];
    for (index, &post) in posts.iter().enumerate() {
        if let Some(made) = sewing.made_corner(post, side) {
            vertices[nodes.root(nodes.of(index, 0))] = Some(made);
        }
    }
    let mut runs: Vec<Vec<Option<Use>>> = steps.iter().map(|s| vec![None; s.len()]).collect();
    for (index, run) in runs.iter_mut().enumerate() {
        let made = sewing.made_run(&pieces[index], [posts[index], posts[next[index]]], side);
        for (slot, used) in run.iter_mut().zip(made.into_iter().flatten()) {
            *slot = Some(used);
        }
    }
    let depth = sewing.depths[side.index()];
    for [(lower, i), (upper, j)] in pairs {
        let slab = steps[lower][i].slab;
        let ends = [(nodes.of(lower, i), slab), (nodes.of(lower, i + 1), slab + 1)].map(|(node, place)| {
            let root = nodes.root(node);
            *vertices[root].get_or_insert_with(|| sewing.vertex(map.point(places[place], 0.0, depth)))
        });
        let made = runs[lower][i].or(runs[upper][j].map(Use::reversed));
        let used =
            made.unwrap_or_else(|| Use { edge: sewing.edge(ends, Curve3::Line, None), sense: Sense::Same });
        runs[lower][i] = Some(used);
        runs[upper][j] = Some(used.reversed());
    }
    for (index, &post) in posts.iter().enumerate() {
        if let Some(vertex) = vertices[nodes.root(nodes.of(index, 0))] {
            sewing.set_corner(post, side, vertex);
        }
    }
    let runs: Vec<Vec<Use>> = runs.into_iter().map(|run| run.into_iter().flatten().collect()).collect();
    for (index, run) in runs.iter().enumerate() {
        sewing.set_run(&pieces[index], [posts[index], posts[next[index]]], side, run);
    }
    runs
}

/// A stretch of a piece between two neighbouring places of the axis.
struct Step {
    /// Index of the place at its left end.
    slab: usize,
    /// The y at which it passes the middle of the slab, in mm.
    height: f64,
}

/// The x of all vertices and outermost points, from left to right; those within the snap tolerance are one.
fn places(pieces: &[Segment]) -> Vec<f64> {
    let mut all: Vec<f64> = pieces.iter().map(|p| p.start.x).collect();
    all.extend(pieces.iter().flat_map(|p| p.turning_points_along_x()).map(|p| p.x));
    all.sort_by(f64::total_cmp);
    all.dedup_by(|b, a| *b - *a <= tolerance::SNAP_MM);
    all
}

fn steps(piece: &Segment, places: &[f64]) -> Vec<Step> {
    let place_of = |x: f64| {
        let after = places.partition_point(|&p| p <= x + tolerance::SNAP_MM);
        after.saturating_sub(1)
    };
    let mut corners = vec![piece.start];
    corners.extend(piece.turning_points_along_x());
    corners.push(piece.end);
    let mut steps = Vec::new();
    for pair in corners.windows(2) {
        let part = Segment { start: pair[0], end: pair[1], ..*piece };
        let (from, to) = (place_of(part.start.x), place_of(part.end.x));
        let mut step = |slab: usize| {
            let x = 0.5 * (places[slab] + places[slab + 1]);
            steps.push(Step { slab, height: height_at(&part, x) });
        };
        if from < to {
            (from..to).for_each(&mut step);
        } else {
            (to..from).rev().for_each(&mut step);
        }
    }
    steps
}

/// The y at which a piece that only goes one way passes `x`.
fn height_at(part: &Segment, x: f64) -> f64 {
    match part.curve {
        Curve::Line => {
            let way = part.end - part.start;
            part.start.y + way.y * (x - part.start.x) / way.x
        }
        Curve::Arc { centre, radius, turn } => {
            let off = (radius * radius - (x - centre.x) * (x - centre.x)).max(0.0).sqrt();
            // Counter-clockwise, the lower half of a circle runs to the right.
            if (part.end.x - part.start.x) * turn.sign() > 0.0 { centre.y - off } else { centre.y + off }
        }
    }
}

/// Points of the pieces at places, joined where they are one point of the axis.
struct Nodes {
    first: Vec<usize>,
    next: Vec<usize>,
    lengths: Vec<usize>,
    parent: Vec<usize>,
}

impl Nodes {
    fn new(steps: &[Vec<Step>], next: &[usize]) -> Self {
        let lengths: Vec<usize> = steps.iter().map(Vec::len).collect();
        let mut first = Vec::with_capacity(lengths.len());
        let mut count = 0;
        for length in &lengths {
            first.push(count);
            // The last point of a piece is the first one of the next.
            count += (*length).max(1);
        }
        Self { first, next: next.to_vec(), lengths, parent: (0..count).collect() }
    }

    fn count(&self) -> usize {
        self.parent.len()
    }

    /// The point after `steps` steps along a piece.
    fn of(&self, piece: usize, steps: usize) -> usize {
        if steps > 0 && steps == self.lengths[piece] {
            self.first[self.next[piece]]
        } else {
            self.first[piece] + steps
        }
    }

    fn root(&self, mut node: usize) -> usize {
        while self.parent[node] != node {
            node = self.parent[node];
        }
        node
    }

    fn join(&mut self, a: usize, b: usize) {
        let (a, b) = (self.root(a), self.root(b));
        self.parent[a.max(b)] = a.min(b);
    }
}
