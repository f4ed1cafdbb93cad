//! The nearest places of two flat panels of the folded part.
//!
//! The flat sheet of a panel is a plate: two faces, and a wall on every piece of its outline. Two plates that
//! do not reach into each other are nearest between an arris and an arris, or between a vertex and a face or
//! wall; where they are alike along a stretch, both of its ends are found.
//! Arcs count by chords, [`CHORD_MM`] from the arc at most.
//! Invariant: every pair found is as near as the nearest one, to [`tolerance::SNAP_MM`]. Must not know: why the
//! panels lie near each other.

use crate::dimension::{MaterialPair, MaterialPoint, Skeleton};
use crate::geom::{
    BoundingBox, Contour, Place, Placement, Point2, Region, Segment, Vec2, Vec3, place_in_region,
};
use crate::ident::PanelId;
use crate::quantity::tolerance;

use super::{EdgeLabel, FoldTree};

/// How far chords may leave arcs of an outline, in mm: a tenth of the narrowest gap.
const CHORD_MM: f64 = 0.1 * tolerance::LEAST_GAP_MM;

/// Two panels where they are nearest.
#[derive(Clone, Debug)]
pub(super) struct Nearest {
    /// In mm.
    pub(super) distance: f64,
    /// All pairs of points at this distance, those of the first panel first.
    pub(super) pairs: Vec<MaterialPair>,
}

/// Where two panels are nearest; none if they touch or reach into each other, or one has no sheet.
pub(super) fn nearest(
    tree: &FoldTree,
    skeleton: &Skeleton<'_>,
    frames: &[Placement<f64>],
    [a, b]: [PanelId; 2],
) -> Option<Nearest> {
    let [a, b] = [a, b].map(|panel| Plate::of(tree, skeleton, frames, panel, |_| true));
    let mut search = Search { distance: f64::INFINITY, found: Vec::new() };
    let (edges_a, edges_b) = (a.edges(), b.edges());
    for own in &edges_a {
        for other in &edges_b {
            if own.at_least_from(other) <= search.distance + tolerance::SNAP_MM {
                own.nearest_to(other, &mut search);
            }
        }
    }
    a.vertices_to_faces(&b, |p, q, distance| search.offer(distance, [p, q]));
    b.vertices_to_faces(&a, |p, q, distance| search.offer(distance, [q, p]));
    let distance = search.distance;
    let pairs = search.places().map(|[p, q]| [a.material(p), b.material(q)]).collect();
    (tolerance::SNAP_MM < distance && distance < f64::INFINITY).then_some(Nearest { distance, pairs })
}

/// A place of a panel's flat as a point of its metal, with the cuts that move it where it lies on the outline.
#[must_use]
pub fn material_point(
    tree: &FoldTree,
    skeleton: &Skeleton<'_>,
    frames: &[Placement<f64>],
    panel: PanelId,
    in_space: Vec3<f64>,
) -> MaterialPoint {
    let local = frames[panel.index()].coordinates(in_space);
    let (at, depth) = (Point2::new(local.x, local.y), -local.z / tree.thickness());
    let beside = |contour: &Contour| {
        let BoundingBox { min, max } = contour.bounding_box();
        let off = (min.x - at.x).max(at.x - max.x).max(min.y - at.y).max(at.y - max.y);
        off <= CHORD_MM
    };
    let plate = Plate::of(tree, skeleton, frames, panel, beside);
    plate.material(Spot { at, depth, on: plate.part_at(at) })
}

/// A place of a plate: in its plane, at a share of its thickness, and on which vertex or piece of its outline.
#[derive(Clone, Copy)]
struct Spot {
    at: Point2,
    depth: f64,
    on: On,
}

/// What part of a plate's outline a place is on.
#[derive(Clone, Copy)]
enum On {
    /// Where the piece with this index starts.
    Vertex(usize),
    /// Within a piece.
    Piece(usize),
    /// Within a face.
    Face,
}

struct Search {
    distance: f64,
    found: Vec<(f64, [Spot; 2])>,
}

impl Search {
    /// The places found, each pair once.
    fn places(&self) -> impl Iterator<Item = [Spot; 2]> {
        let same = |a: Spot, b: Spot| {
            (a.at - b.at).length() <= tolerance::SNAP_MM && (a.depth - b.depth).abs() <= tolerance::SNAP_MM
        };
        let places = self.found.iter().enumerate().filter(move |(index, (_, spots))| {
            let mut earlier = self.found[..*index].iter();
            !earlier.any(|(_, known)| same(known[0], spots[0]) && same(known[1], spots[1]))
        });
        places.map(|(_, (_, spots))| *spots)
    }

    fn offer(&mut self, distance: f64, spots: [Spot; 2]) {
        if distance > self.distance + tolerance::SNAP_MM {
            return;
        }
        if distance < self.distance {
            self.distance = distance;
            self.found.retain(|(known, _)| *known <= distance + tolerance::SNAP_MM);
        }
        self.found.push((distance, spots));
    }
}

/// A straight piece of an outline.
#[derive(Clone, Copy)]
struct Chord {
    start: Point2,
    end: Point2,
    /// The piece before it and the piece after it.
    before: usize,
    after: usize,
    /// The drawn edge that it is cut along.
    edge: Option<usize>,
}

impl Chord {
    fn outward(self) -> Vec2 {
        (self.end - self.start).right().normalized()
    }
}

struct Plate<'a> {
    panel: PanelId,
    frame: Placement<f64>,
    thickness: f64,
    region: &'a Region,
    chords: Vec<Chord>,
}

/// A straight edge of a plate in space.
struct Edge {
    from: Vec3<f64>,
    way: Vec3<f64>,
    ends: [Spot; 2],
    /// What a place within it is on.
    on: On,
}

impl<'a> Plate<'a> {
    /// The plate of a panel with those contours of its outline that count.
    fn of(
        tree: &'a FoldTree,
        skeleton: &Skeleton<'_>,
        frames: &[Placement<f64>],
        panel: PanelId,
        counts: impl Fn(&Contour) -> bool,
    ) -> Self {
        let region = &tree.panel(panel).region;
        let edge_of = |piece: &Segment| match tree.label(piece) {
            EdgeLabel::Edge(name) => {
                let found = skeleton.edge(name).ok();
                found.filter(|(on, _)| skeleton.root(*on) == skeleton.root(panel)).map(|(_, edge)| edge)
            }
            EdgeLabel::CreaseStart(_)
            | EdgeLabel::CreaseEnd(_)
            | EdgeLabel::StripEnd(_)
            | EdgeLabel::Relief(_)
            | EdgeLabel::Opening(_)
            | EdgeLabel::CornerBreak(_) => None,
        };
        let mut chords: Vec<Chord> = Vec::new();
        for contour in region.contours().iter().filter(|contour| counts(contour)) {
            let first = chords.len();
            for piece in contour.segments() {
                let edge = edge_of(piece);
                let count = piece.chord_count(CHORD_MM);
                let share = |i: usize| if i == count { 1.0 } else { i as f64 / count as f64 };
                for i in 0..count {
                    let (start, end) = (piece.point_at(share(i)), piece.point_at(share(i + 1)));
                    let at = chords.len();
                    chords.push(Chord { start, end, before: at.saturating_sub(1), after: at + 1, edge });
                }
            }
            let last = chords.len() - 1;
            chords[first].before = last;
            chords[last].after = first;
        }
        Self { panel, frame: frames[panel.index()], thickness: tree.thickness(), region, chords }
    }

    /// What part of the outline a place is on.
    fn part_at(&self, at: Point2) -> On {
        let near = self.chords.iter().enumerate().find_map(|(index, chord)| {
            let way = chord.end - chord.start;
            let share = ((at - chord.start).dot(way) / way.dot(way)).clamp(0.0, 1.0);
            if (chord.start + way * share).distance(at) > CHORD_MM {
                return None;
            }
            let ends = [(chord.start, index), (chord.end, chord.after)];
            let end = ends.into_iter().find(|(end, _)| end.distance(at) <= CHORD_MM);
            Some(end.map_or(On::Piece(index), |(_, piece)| On::Vertex(piece)))
        });
        near.unwrap_or(On::Face)
    }

    fn in_space(&self, spot: Spot) -> Vec3<f64> {
        self.frame.lift(spot.at, -spot.depth * self.thickness)
    }

    /// All arrises, and the edges across the sheet.
    fn edges(&self) -> Vec<Edge> {
        let edge = |ends: [Spot; 2], on: On| {
            let [from, to] = ends.map(|spot| self.in_space(spot));
            Edge { from, way: to - from, ends, on }
        };
        let mut edges = Vec::with_capacity(3 * self.chords.len());
        for (index, chord) in self.chords.iter().enumerate() {
            let start = |depth| Spot { at: chord.start, depth, on: On::Vertex(index) };
            for depth in [0.0, 1.0] {
                let end = Spot { at: chord.end, depth, on: On::Vertex(chord.after) };
                edges.push(edge([start(depth), end], On::Piece(index)));
            }
            edges.push(edge([start(0.0), start(1.0)], On::Vertex(index)));
        }
        edges
    }

    /// Offers every vertex of this plate with its place on a face or wall of the other one, if it has one.
    fn vertices_to_faces(&self, other: &Plate<'_>, mut offer: impl FnMut(Spot, Spot, f64)) {
        for (index, chord) in self.chords.iter().enumerate() {
            for depth in [0.0, 1.0] {
                let vertex = Spot { at: chord.start, depth, on: On::Vertex(index) };
                let local = other.frame.coordinates(self.in_space(vertex));
                let at = Point2::new(local.x, local.y);
                let face = if local.z >= -0.5 * other.thickness { 0.0 } else { 1.0 };
                if place_in_region(other.region, at) == Place::Inside {
                    let distance = (local.z + face * other.thickness).abs();
                    offer(vertex, Spot { at, depth: face, on: On::Face }, distance);
                }
                let share = -local.z / other.thickness;
                if !(0.0..=1.0).contains(&share) {
                    continue;
                }
                for (wall, chord) in other.chords.iter().enumerate() {
                    let way = chord.end - chord.start;
                    let along = (at - chord.start).dot(way) / way.dot(way);
                    if 0.0 < along && along < 1.0 {
                        let foot = chord.start + way * along;
                        let on = Spot { at: foot, depth: share, on: On::Piece(wall) };
                        offer(vertex, on, foot.distance(at));
                    }
                }
            }
        }
    }

    /// The place as a point of the metal, with the cuts that move it.
    fn material(&self, spot: Spot) -> MaterialPoint {
        let cuts = match spot.on {
            On::Face => Vec::new(),
            On::Piece(piece) => {
                let chord = self.chords[piece];
                chord.edge.map(|edge| (edge, chord.outward())).into_iter().collect()
            }
            On::Vertex(piece) => {
                let after = self.chords[piece];
                corner_moves(self.chords[after.before], after)
            }
        };
        MaterialPoint { panel: self.panel, at: spot.at, depth: spot.depth, cuts }
    }
}

/// How a corner moves when the pieces beside it are cut farther outwards: along the one to where the other goes.
fn corner_moves(before: Chord, after: Chord) -> Vec<(usize, Vec2)> {
    let (n, m) = (before.outward(), after.outward());
    let turn = n.cross(m);
    if before.edge == after.edge || turn.abs() <= tolerance::PARALLEL {
        // On an edge that is straight, or an arc, there.
        let edge = before.edge.or(after.edge);
        return edge.map(|edge| (edge, (n + m).normalized())).into_iter().collect();
    }
    // d · n = 1 and d · m = 0, and the other way round.
    let by_before = before.edge.map(|edge| (edge, m.right() * (-1.0 / turn)));
    let by_after = after.edge.map(|edge| (edge, n.right() * (1.0 / turn)));
    by_before.into_iter().chain(by_after).collect()
}

impl Edge {
    /// No places of the two edges are nearer than this, in mm.
    fn at_least_from(&self, other: &Self) -> f64 {
        let middle = |edge: &Self| edge.from + edge.way.times(0.5);
        (middle(other) - middle(self)).length() - 0.5 * (self.way.length() + other.way.length())
    }

    fn spot(&self, share: f64) -> Spot {
        let [start, end] = self.ends;
        if share <= 0.0 {
            return start;
        }
        if share >= 1.0 {
            return end;
        }
        let at = start.at + (end.at - start.at) * share;
        Spot { at, depth: start.depth + (end.depth - start.depth) * share, on: self.on }
    }

    /// Offers the nearest places; of parallel edges those at both ends of where they lie side by side.
    fn nearest_to(&self, other: &Self, search: &mut Search) {
        let mut offer = |s: f64, u: f64| {
            let (s, u) = (s.clamp(0.0, 1.0), u.clamp(0.0, 1.0));
            let apart = other.from + other.way.times(u) - self.from - self.way.times(s);
            search.offer(apart.length(), [self.spot(s), other.spot(u)]);
        };
        let between = other.from - self.from;
        let (aa, bb, ab) = (self.way.dot(self.way), other.way.dot(other.way), self.way.dot(other.way));
        let foot_here = |u: f64| (between + other.way.times(u)).dot(self.way) / aa;
        let foot_there = |s: f64| (self.way.times(s) - between).dot(other.way) / bb;
        let steep = aa * bb - ab * ab;
        if steep > tolerance::PARALLEL * aa * bb {
            let s = (between.dot(self.way) * bb - between.dot(other.way) * ab) / steep;
            if (0.0..=1.0).contains(&s) && (0.0..=1.0).contains(&foot_there(s)) {
                offer(s, foot_there(s));
                return;
            }
        }
        // Otherwise an end of one of them is one of the places.
        for end in [0.0, 1.0] {
            offer(foot_here(end), end);
            offer(end, foot_there(end));
        }
    }
}
