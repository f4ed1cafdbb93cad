//! The exact boundary as triangles.
//!
//! Every edge is cut into chords once, whatever faces use it; then every face is filled between the points of
//! its edges: flat faces by constrained Delaunay triangles, bends in bands of equal angle, cuts by rungs
//! between the two faces of the sheet. Invariant: no face adds a point of its own, so that faces cannot come
//! apart; a chord leaves its curve by at most the chord tolerance.

use std::collections::BTreeMap;

use crate::fold::{FoldTree, StripMap};
use crate::geom::{Curve, Place, Placement, Point2, RegionLocator, Segment, Vec2, chords_for_arc};
use crate::ident::{BendId, EdgeId, VertexId};
use crate::quantity::tolerance;

use super::brep::{self, Brep, CircleArc, Curve3, FacePart, OverStrip, Sense, Surface3, Use};
use super::slivers::without_slivers;
use super::triangles::{triangulate, untied};
use super::{EdgedMesh, Face, Mesh, MeshFault, Surface, Zone};

/// Meshes a boundary of the tree's part, chords within `chord_tolerance` mm of true curves.
///
/// # Errors
/// [`MeshFault`] if a panel's contours touch each other.
pub fn mesh(tree: &FoldTree, brep: &Brep, chord_tolerance: f64) -> Result<Mesh, MeshFault> {
    edged_mesh(tree, brep, chord_tolerance).map(|edged| edged.mesh)
}

/// The same mesh with the places where the boundary's edges run in it.
///
/// # Errors
/// As [`mesh`].
pub fn edged_mesh(tree: &FoldTree, brep: &Brep, chord_tolerance: f64) -> Result<EdgedMesh, MeshFault> {
    let bands: Vec<usize> = tree
        .bends()
        .iter()
        .map(|b| chords_for_arc(b.inside_radius() + tree.thickness(), b.turn(), chord_tolerance))
        .collect();
    let mut meshing = Meshing {
        tree,
        brep,
        bands,
        mesh: Mesh { vertices: brep.vertices().to_vec(), faces: Vec::new() },
        between: Vec::new(),
        places: Vec::with_capacity(brep.edges().len()),
    };
    meshing.cut_edges(chord_tolerance);
    let mut faces = brep.faces().iter();
    while let Some(face) = faces.next() {
        match face.part {
            FacePart::Cut { lower, .. } => meshing.cut(face, lower as usize),
            FacePart::Form { side, .. } => meshing.patch(face, side),
            FacePart::Inner => match faces.as_slice().first() {
                Some(below) if below.part == FacePart::Outer && below.zone == face.zone => {
                    faces.next();
                    meshing.sheet(Some(face), Some(below))?;
                }
                _ => meshing.sheet(Some(face), None)?,
            },
            FacePart::Outer => meshing.sheet(None, Some(face))?,
        }
    }
    let mut vertices = Vec::with_capacity(2 * brep.edges().len() + meshing.between.len());
    let mut ends = Vec::with_capacity(brep.edges().len());
    for (edge, &[from, to]) in brep.edges().iter().zip(&meshing.places) {
        let [first, last] = edge.ends.map(vertex_number);
        vertices.push(first);
        vertices.extend(meshing.between[from..to].iter().map(|&(_, v)| v));
        vertices.push(last);
        ends.push(vertices.len());
    }
    let mesh = without_slivers(meshing.mesh, &mut vertices);
    Ok(EdgedMesh { mesh, vertices, ends, chord_tolerance })
}

struct Meshing<'a> {
    tree: &'a FoldTree,
    brep: &'a Brep,
    /// Number of bands of each bend.
    bands: Vec<usize>,
    mesh: Mesh,
    /// Points between the ends of edges: share of the edge, and the mesh's vertex.
    between: Vec<(f64, u32)>,
    /// Where the points of each edge begin and end in `between`.
    places: Vec<[usize; 2]>,
}

/// A point of a loop on its way into a plane figure.
#[derive(Clone, Copy)]
struct LoopPoint {
    vertex: u32,
    /// Place in the flat zone in mm.
    at: Point2,
    /// Whether it is a chord's end within a curve.
    on_curve: bool,
}

fn vertex_number(vertex: VertexId) -> u32 {
    vertex.number()
}

impl Meshing<'_> {
    fn cut_edges(&mut self, chord_tolerance: f64) {
        let on_axes = self.axis_shares(chord_tolerance);
        let mut shares = Vec::new();
        for (index, edge) in self.brep.edges().iter().enumerate() {
            let from = self.between.len();
            shares.clear();
            if let Some(found) = on_axes.get(&EdgeId::new(index)) {
                shares.extend_from_slice(found);
            }
            match (&edge.over, &edge.curve) {
                (Some(over), _) => self.band_shares(over, chord_tolerance, &mut shares),
                (None, Curve3::Circle(arc)) => {
                    let radius = edge.chord_radius.unwrap_or(arc.radius);
                    let chords = chords_for_arc(radius, arc.sweep, chord_tolerance);
                    #[expect(clippy::cast_precision_loss, reason = "a small number of chords")]
                    shares.extend((1..chords).map(|i| i as f64 / chords as f64));
                }
                (None, Curve3::Line | Curve3::Rolled(_)) => {}
            }
            for &share in &shares {
                self.mesh.vertices.push(self.brep.point_on(edge, share));
                let number = u32::try_from(self.mesh.vertices.len() - 1);
                self.between.push((share, number.expect("a mesh has fewer than 2^32 vertices")));
            }
            self.places.push([from, self.between.len()]);
        }
    }

    /// Where edges on the axis of a bend without radius have to be cut: a slanted cut runs there from rung to
    /// rung, as on its other side.
    fn axis_shares(&self, chord_tolerance: f64) -> BTreeMap<EdgeId, Vec<f64>> {
        let mut found: BTreeMap<EdgeId, Vec<f64>> = BTreeMap::new();
        if self.tree.bends().iter().all(|b| b.inside_radius() > tolerance::SNAP_MM) {
            return found;
        }
        for face in self.brep.faces() {
            let (Surface3::Rolled { piece, map }, Some([lower, upper])) = (&face.surface, self.sides(face))
            else {
                continue;
            };
            let on_axis = |side: &[Use]| side.iter().all(|u| self.edge(*u).over.is_none());
            let (open, axis) = if on_axis(&upper) { (lower, upper) } else { (upper, lower) };
            let Some(over) = open.first().and_then(|u| self.edge(*u).over) else { continue };
            // A cut no wider than a point on the axis has no edge there.
            if axis.is_empty() || !on_axis(&axis) {
                continue;
            }
            let mut shares = Vec::new();
            self.band_shares(&over, chord_tolerance, &mut shares);
            let rungs: Vec<f64> = shares.iter().map(|&t| piece.point_at(t).x).collect();
            let mut path = vec![(0.0, piece.start.x)];
            for (&used, end) in axis.iter().zip(1_u32..) {
                let [_, to] = self.brep.ends(used);
                path.push((f64::from(end), map.unrolled(self.brep.at(to)).x));
            }
            for place in along_path(&path, &rungs) {
                #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "a small index")]
                let index = (place as usize).min(axis.len() - 1);
                #[expect(clippy::cast_precision_loss, reason = "a small index")]
                let share = place - index as f64;
                let share = match axis[index].sense {
                    Sense::Same => share,
                    Sense::Reversed => 1.0 - share,
                };
                found.entry(axis[index].edge).or_default().push(share);
            }
        }
        for (edge, shares) in &mut found {
            let [from, to] = self.brep.edges()[edge.index()].ends.map(|v| self.brep.at(v));
            let near = tolerance::SNAP_MM / (to - from).length();
            shares.sort_by(f64::total_cmp);
            shares.retain(|&t| near < t && t < 1.0 - near);
            shares.dedup_by(|b, a| *b - *a <= near);
        }
        found
    }

    fn edge(&self, used: Use) -> &brep::Edge {
        &self.brep.edges()[used.edge.index()]
    }

    /// Both sides of a cut in the direction of its piece: on the outer face and on the inner one.
    fn sides(&self, face: &brep::Face) -> Option<[Vec<Use>; 2]> {
        let FacePart::Cut { lower, .. } = face.part else { return None };
        let (lower, rest) = self.brep.loops(face).next()?.split_at(lower as usize);
        let [_, upper @ .., _] = rest else { return None };
        Some([lower.to_vec(), upper.iter().rev().map(|u| u.reversed()).collect()])
    }

    /// Shares at which a piece of a strip crosses the lines between bands, and those of its own chords.
    fn band_shares(&self, over: &OverStrip, chord_tolerance: f64, shares: &mut Vec<f64>) {
        let piece = over.piece;
        let lines = BandLines::new(self.tree, over.bend, self.bands[over.bend.index()]);
        let bounds = piece.bounding_box();
        for y in lines.within(bounds.min.y, bounds.max.y) {
            match piece.curve {
                Curve::Line => {
                    if (y - piece.start.y).abs() > tolerance::SNAP_MM
                        && (y - piece.end.y).abs() > tolerance::SNAP_MM
                    {
                        shares.push((y - piece.start.y) / (piece.end.y - piece.start.y));
                    }
                }
                Curve::Arc { centre, radius, .. } => {
                    let height = y - centre.y;
                    if radius - height.abs() > tolerance::SNAP_MM {
                        let beside = (radius * radius - height * height).sqrt();
                        for x in [-beside, beside] {
                            let p = centre + Vec2::new(x, height);
                            let apart = |q: Point2| q.distance(p) > tolerance::SNAP_MM;
                            if piece.spans(p) && apart(piece.start) && apart(piece.end) {
                                shares.push(piece.share_at(p));
                            }
                        }
                    }
                }
            }
        }
        let same = tolerance::SNAP_MM / piece.length();
        for p in piece.turning_points_along_x() {
            let share = piece.share_at(p);
            if shares.iter().all(|s| (s - share).abs() > same) {
                shares.push(share);
            }
        }
        let crossings = shares.len();
        let chords = piece.chord_count(chord_tolerance);
        // A chord's end this near to a band line is left out: the line's point does for both.
        let near = 0.1 / chords as f64;
        for i in 1..chords {
            #[expect(clippy::cast_precision_loss, reason = "a small number of chords")]
            let share = i as f64 / chords as f64;
            if shares[..crossings].iter().all(|s| (s - share).abs() > near) {
                shares.push(share);
            }
        }
        shares.sort_by(f64::total_cmp);
    }

    fn face(&mut self, corners: [u32; 3], zone: Zone, surface: Surface) {
        self.mesh.faces.push(Face { corners, zone, surface });
    }

    /// The points along an edge as a loop runs, from its start up to but not including its end, each with the
    /// share of the way.
    fn points_along(&self, used: Use, mut visit: impl FnMut(f64, u32)) {
        let [start, _] = self.brep.ends(used);
        visit(0.0, vertex_number(start));
        let [from, to] = self.places[used.edge.index()];
        match used.sense {
            Sense::Same => self.between[from..to].iter().for_each(|&(t, v)| visit(t, v)),
            Sense::Reversed => self.between[from..to].iter().rev().for_each(|&(t, v)| visit(1.0 - t, v)),
        }
    }

    /// A cut: rungs from the outer face to the inner one.
    fn cut(&mut self, face: &brep::Face, lower_count: usize) {
        let Some(run) = self.brep.loops(face).next() else { return };
        let (lower, rest) = run.split_at(lower_count);
        let [up, upper @ .., down] = rest else { return };
        let [bottom_right, top_right] = self.brep.ends(*up);
        let [top_left, bottom_left] = self.brep.ends(*down);
        let on_axis = |side: &[Use]| side.iter().all(|u| self.edge(*u).over.is_none());
        let (lower_on_axis, upper_on_axis) = (on_axis(lower), on_axis(upper));
        let mut lower = self.side(lower.iter().copied(), bottom_left, bottom_right);
        let mut upper = self.side(upper.iter().rev().map(|u| u.reversed()), top_left, top_right);
        if let Surface3::Rolled { piece, map } = &face.surface {
            if upper_on_axis {
                self.share_by_rungs(&mut upper, &lower, piece, map);
            } else if lower_on_axis {
                self.share_by_rungs(&mut lower, &upper, piece, map);
            }
        }
        let (zone, surface) = (face.zone, Surface::Cut);
        let (mut i, mut j) = (0, 0);
        while i + 1 < lower.len() || j + 1 < upper.len() {
            // The side whose next point comes first goes on; both where they come together.
            let below = lower.get(i + 1).map_or(f64::INFINITY, |p| p.0);
            let above = upper.get(j + 1).map_or(f64::INFINITY, |p| p.0);
            if below <= above {
                self.face([lower[i].1, lower[i + 1].1, upper[j].1], zone, surface);
                i += 1;
            } else {
                self.face([lower[i].1, upper[j + 1].1, upper[j].1], zone, surface);
                j += 1;
            }
        }
    }

    /// Gives points on the axis of a bend without radius the shares that they have on the cut's other side.
    fn share_by_rungs(
        &self,
        on_axis: &mut [(f64, u32)],
        rungs: &[(f64, u32)],
        piece: &Segment,
        map: &StripMap,
    ) {
        let path: Vec<(f64, f64)> = rungs.iter().map(|&(t, _)| (t, piece.point_at(t).x)).collect();
        let places: Vec<f64> =
            on_axis.iter().map(|&(_, v)| map.unrolled(self.mesh.vertices[v as usize]).x).collect();
        for (point, share) in on_axis.iter_mut().zip(along_path(&path, &places)) {
            point.0 = share;
        }
    }

    /// A face of a form: a grid between the points of its four edges.
    fn patch(&mut self, face: &brep::Face, side: Surface) {
        let Some(&[a, b, c, d]) = self.brep.loops(face).next() else { return };
        // Down the cross-section at the start, along the foot's side, down at the end, along the top's side.
        let [down, low, far, high] = match side {
            Surface::Inner | Surface::Cut => [a, b, c.reversed(), d.reversed()],
            Surface::Outer => [d.reversed(), c.reversed(), b, a],
        };
        let along = |used: Use| {
            let mut points = Vec::new();
            self.points_along(used, |_, v| points.push(v));
            points.push(vertex_number(self.brep.ends(used)[1]));
            points
        };
        let [down, low, far, high] = [down, low, far, high].map(|used| (along(used), used));
        let (rows, columns) = (down.0.len(), high.0.len());
        let at = |v: u32, mesh: &Mesh| mesh.vertices[v as usize];
        let mut before = high.0.clone();
        for row in 1..rows {
            let mut next = vec![down.0[row]];
            for column in 1..columns - 1 {
                let point = if row + 1 == rows {
                    low.0[column]
                } else {
                    #[expect(clippy::cast_precision_loss, reason = "a small number of chords")]
                    let share = column as f64 / (columns - 1) as f64;
                    let start = at(down.0[row], &self.mesh);
                    let p = match &self.edge(high.1).curve {
                        Curve3::Circle(arc) => {
                            let axis = match high.1.sense {
                                Sense::Same => arc.axis,
                                Sense::Reversed => -arc.axis,
                            };
                            let centre = arc.centre + axis.times((start - arc.centre).dot(axis));
                            CircleArc { centre, axis, ..*arc }.point(start, share)
                        }
                        Curve3::Line | Curve3::Rolled(_) => {
                            start
                                + (at(high.0[columns - 1], &self.mesh) - at(high.0[0], &self.mesh))
                                    .times(share)
                        }
                    };
                    self.mesh.vertices.push(p);
                    u32::try_from(self.mesh.vertices.len() - 1).expect("a mesh has fewer than 2^32 vertices")
                };
                next.push(point);
            }
            next.push(far.0[row]);
            for column in 0..columns - 1 {
                let [a, b, c, d] = [before[column], next[column], next[column + 1], before[column + 1]];
                for [p, q, r] in [[a, b, c], [a, c, d]] {
                    match side {
                        Surface::Inner | Surface::Cut => self.face([p, q, r], face.zone, side),
                        Surface::Outer => self.face([p, r, q], face.zone, side),
                    }
                }
            }
            before = next;
        }
    }

    /// The points along one side of a cut, each with its share of the way.
    fn side(
        &self,
        uses: impl ExactSizeIterator<Item = Use>,
        first: VertexId,
        last: VertexId,
    ) -> Vec<(f64, u32)> {
        let mut points = Vec::new();
        let count = uses.len();
        #[expect(clippy::cast_precision_loss, reason = "a cut has few edges")]
        for (index, used) in uses.enumerate() {
            self.points_along(used, |t, v| points.push(((index as f64 + t) / count as f64, v)));
        }
        if points.is_empty() {
            points.push((0.0, vertex_number(first)));
        } else {
            points.push((1.0, vertex_number(last)));
        }
        points
    }

    /// The inner and the outer face of an area of a zone; a bend without radius has only one of them.
    fn sheet(&mut self, inner: Option<&brep::Face>, outer: Option<&brep::Face>) -> Result<(), MeshFault> {
        let Some(leading) = inner.or(outer) else { return Ok(()) };
        match (leading.zone, inner, outer) {
            (Zone::Bend(bend), Some(inner), Some(outer)) if self.ladder(bend, inner, outer) => return Ok(()),
            (Zone::Bend(_) | Zone::Panel(_) | Zone::Form(_), _, _) => {}
        }
        let loops = self.figure(leading);
        let (points, outline) = outline_of(&loops);
        let within = match leading.zone {
            Zone::Panel(_) | Zone::Form(_) => Vec::new(),
            Zone::Bend(bend) => self.band_edges(bend, &points),
        };
        let filled = fill(&points, &outline, &within);
        let triangles = filled.ok_or_else(|| self.touching(leading.zone))?;
        let leads = match leading.part {
            FacePart::Inner => Surface::Inner,
            FacePart::Outer | FacePart::Cut { .. } | FacePart::Form { .. } => Surface::Outer,
        };
        for &[a, b, c] in &triangles {
            let [a, b, c] = [a, b, c].map(|i| points[i].vertex);
            match leads {
                Surface::Inner => self.face([a, b, c], leading.zone, leads),
                Surface::Outer | Surface::Cut => self.face([a, c, b], leading.zone, leads),
            }
        }
        let Some(outer) = outer.filter(|_| inner.is_some()) else { return Ok(()) };
        let below = self.figure(outer);
        if loops.len() == below.len() && loops.iter().zip(&below).all(|(a, b)| a.len() == b.len()) {
            let below: Vec<u32> = below.iter().flatten().map(|p| p.vertex).collect();
            for [a, b, c] in triangles {
                self.face([below[a], below[c], below[b]], outer.zone, Surface::Outer);
            }
            return Ok(());
        }
        self.sheet(None, Some(outer))
    }

    fn touching(&self, zone: Zone) -> MeshFault {
        let panel = match zone {
            Zone::Panel(id) => id,
            Zone::Bend(id) => self.tree.bend(id).child,
            Zone::Form(id) => self.tree.forms()[id.index()].panel,
        };
        MeshFault::ContoursTouch { panel: self.tree.panel(panel).name.clone() }
    }

    /// The loops of a face of the sheet, counter-clockwise seen from the inner face.
    fn figure(&self, face: &brep::Face) -> Vec<Vec<LoopPoint>> {
        let flat = Flat::of(self, face);
        let mut loops = Vec::new();
        for run in self.brep.loops(face) {
            let mut points = Vec::new();
            let mut add = |used: Use| {
                self.points_along(used, |t, vertex| {
                    let at = flat.place(self, used, t, vertex);
                    let on_curve =
                        t > 0.0 && !matches!(self.brep.edges()[used.edge.index()].curve, Curve3::Line);
                    points.push(LoopPoint { vertex, at, on_curve });
                });
            };
            match face.part {
                FacePart::Inner => run.iter().copied().for_each(&mut add),
                FacePart::Outer | FacePart::Cut { .. } | FacePart::Form { .. } => {
                    run.iter().rev().map(|u| u.reversed()).for_each(&mut add);
                }
            }
            loops.push(points);
        }
        loops
    }

    /// A strip that is cut off square at both ends: a ladder over the lines between bands. Says whether it is
    /// one.
    fn ladder(&mut self, bend: BendId, inner: &brep::Face, outer: &brep::Face) -> bool {
        let sides = |face: &brep::Face| -> Option<[Vec<u32>; 2]> {
            let mut loops = self.brep.loops(face);
            let (run, None) = (loops.next()?, loops.next()) else { return None };
            let &[a, b, c, d] = run else { return None };
            let steps = self.bands[bend.index()];
            let is_side = |used: Use| {
                let [from, to] = self.places[used.edge.index()];
                self.edge(used).over.is_some() && to - from + 1 == steps
            };
            let is_crease = |used: Use| {
                let [from, to] = self.places[used.edge.index()];
                self.edge(used).over.is_none() && from == to
            };
            // The side to the right goes up from the end of the first crease.
            let [right, left] = if is_crease(a) && is_side(b) && is_crease(c) && is_side(d) {
                [b, d]
            } else if is_side(a) && is_crease(b) && is_side(c) && is_crease(d) {
                [a, c]
            } else {
                return None;
            };
            Some([right, left.reversed()].map(|used| {
                let mut points = Vec::with_capacity(steps + 1);
                self.points_along(used, |_, v| points.push(v));
                points.push(vertex_number(self.brep.ends(used)[1]));
                points
            }))
        };
        let (Some([right, left]), Some([outer_left, outer_right])) = (sides(inner), sides(outer)) else {
            return false;
        };
        let zone = Zone::Bend(bend);
        for i in 0..right.len() - 1 {
            for (surface, [left, right]) in
                [(Surface::Inner, [&left, &right]), (Surface::Outer, [&outer_right, &outer_left])]
            {
                self.face([left[i], right[i], right[i + 1]], zone, surface);
                self.face([left[i], right[i + 1], left[i + 1]], zone, surface);
            }
        }
        true
    }

    /// Edges along the lines between bands, from outline to outline.
    fn band_edges(&self, bend: BendId, points: &[LoopPoint]) -> Vec<[usize; 2]> {
        let lines = BandLines::new(self.tree, bend, self.bands[bend.index()]);
        let mut on_lines: Vec<(f64, f64, usize)> = points
            .iter()
            .enumerate()
            .filter(|(_, p)| lines.inner().any(|y| y == p.at.y))
            .map(|(index, p)| (p.at.y, p.at.x, index))
            .collect();
        on_lines.sort_by(|a, b| a.0.total_cmp(&b.0).then(a.1.total_cmp(&b.1)));
        let region = RegionLocator::new(&self.tree.bend(bend).region);
        on_lines
            .windows(2)
            .filter(|pair| pair[0].0 == pair[1].0)
            .filter(|pair| {
                let middle = Point2::new(0.5 * (pair[0].1 + pair[1].1), pair[0].0);
                region.place(middle) == Place::Inside
            })
            .map(|pair| [pair[0].2, pair[1].2])
            .collect()
    }
}

/// Where numbers that follow each other lie along a path of (place, x), which may turn back in x at its corners.
fn along_path(path: &[(f64, f64)], xs: &[f64]) -> Vec<f64> {
    let mut corner = 0;
    let mut last = path[0].1;
    xs.iter()
        .map(|&x| {
            while corner + 2 < path.len() {
                let (from, to) = (path[corner].1, path[corner + 1].1);
                let way = (to - from).signum();
                let (back, beyond) = ((last - x) * way, (x - to) * way);
                if back <= tolerance::SNAP_MM && beyond <= tolerance::SNAP_MM {
                    break;
                }
                last = to;
                corner += 1;
            }
            let [(place, from), (next, to)] = [path[corner], path[corner + 1]];
            last = x;
            let share = if to == from { 0.0 } else { ((x - from) / (to - from)).clamp(0.0, 1.0) };
            place + share * (next - place)
        })
        .collect()
}

/// Points and edges of all loops.
fn outline_of(loops: &[Vec<LoopPoint>]) -> (Vec<LoopPoint>, Vec<[usize; 2]>) {
    let points: Vec<LoopPoint> = loops.iter().flatten().copied().collect();
    let mut outline = Vec::with_capacity(points.len());
    let mut first = 0;
    for run in loops {
        let count = run.len();
        outline.extend((0..count).map(|i| [first + i, first + (i + 1) % count]));
        first += count;
    }
    (points, outline)
}

fn fill(points: &[LoopPoint], outline: &[[usize; 2]], within: &[[usize; 2]]) -> Option<Vec<[usize; 3]>> {
    let exact: Vec<Point2> = points.iter().map(|p| p.at).collect();
    // Points on the lines between bands stay on them.
    if within.is_empty() {
        let apart: Vec<Point2> = points
            .iter()
            .enumerate()
            .map(|(index, p)| if p.on_curve { untied(p.at, index) } else { p.at })
            .collect();
        if let Some(triangles) = triangulate(&apart, outline, within) {
            return Some(triangles);
        }
    }
    triangulate(&exact, outline, within)
}

/// How points of a face are placed in its flat zone.
enum Flat {
    Panel(Placement<f64>),
    Strip(StripMap, BandLines),
}

impl Flat {
    fn of(meshing: &Meshing<'_>, face: &brep::Face) -> Self {
        match face.zone {
            Zone::Bend(bend) => Self::Strip(
                meshing.brep.strips[bend.index()],
                BandLines::new(meshing.tree, bend, meshing.bands[bend.index()]),
            ),
            Zone::Panel(id) => Self::Panel(meshing.brep.frames[id.index()]),
            Zone::Form(id) => {
                let panel = meshing.tree.forms()[id.index()].panel;
                Self::Panel(meshing.brep.frames[panel.index()])
            }
        }
    }

    fn place(&self, meshing: &Meshing<'_>, used: Use, t: f64, vertex: u32) -> Point2 {
        match self {
            Self::Panel(frame) => {
                let local = frame.coordinates(meshing.mesh.vertices[vertex as usize]);
                Point2::new(local.x, local.y)
            }
            Self::Strip(map, lines) => {
                let p = match &meshing.brep.edges()[used.edge.index()].over {
                    Some(over) => {
                        let share = match used.sense {
                            Sense::Same => t,
                            Sense::Reversed => 1.0 - t,
                        };
                        over.piece.point_at(share)
                    }
                    None => map.unrolled(meshing.mesh.vertices[vertex as usize]),
                };
                Point2::new(p.x, lines.snapped(p.y))
            }
        }
    }
}

/// The lines of equal angle that part a strip into bands.
struct BandLines {
    allowance: f64,
    bands: usize,
}

impl BandLines {
    fn new(tree: &FoldTree, bend: BendId, bands: usize) -> Self {
        Self { allowance: tree.bend(bend).allowance(), bands }
    }

    #[expect(clippy::cast_precision_loss, reason = "a small number of bands")]
    fn y(&self, line: usize) -> f64 {
        self.allowance * line as f64 / self.bands as f64
    }

    /// The y of all lines within the strip, from its start on.
    fn inner(&self) -> impl Iterator<Item = f64> {
        (1..self.bands).map(|line| self.y(line))
    }

    /// Those between two heights.
    fn within(&self, low: f64, high: f64) -> impl Iterator<Item = f64> {
        self.inner().skip_while(move |&y| y < low).take_while(move |&y| y <= high)
    }

    /// The y of the line that runs through a point, creases included, or else `y` itself.
    fn snapped(&self, y: f64) -> f64 {
        #[expect(clippy::cast_precision_loss, reason = "a small number of bands")]
        let line = (y / self.allowance * self.bands as f64).round();
        #[expect(clippy::cast_precision_loss, reason = "a small number of bands")]
        let on_line = self.allowance * line / self.bands as f64;
        if (on_line - y).abs() <= tolerance::SNAP_MM { on_line } else { y }
    }
}
