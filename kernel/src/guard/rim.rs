//! The rim of the sheet: its cut edges, zone by zone, joined to loops; and lines in space with their measures.
//!
//! Invariant: a loop runs with the sheet to its left, every cut edge that ends at a bend belongs to one loop.
//! Must not know: what a loop is an opening of.

use std::collections::BTreeMap;

use crate::fold::{Bend, EdgeLabel, FoldTree};
use crate::geom::{Contour, Curve, Motion2, Placement, Point2, Segment, Tag, Vec2, Vec3};
use crate::ident::{BendId, PanelId};
use crate::quantity::{maths, tolerance};

use super::{Figure, Folded, Measures};

/// Largest distance between a true arc and its chords in a rim, in mm; what contains a rim is widened by twice that.
pub const CHORD_MM: f64 = 0.01;

/// A flat zone or a strip.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Zone {
    Panel(PanelId),
    Bend(BendId),
}

/// A cut edge in the coordinates of its zone.
#[derive(Clone, Copy, Debug)]
pub(super) struct RimPiece {
    pub(super) zone: Zone,
    pub(super) piece: Segment,
    /// Direction of its chord in the blank.
    pub(super) flat: Vec2,
}

/// A closed loop of cut edges.
pub(super) struct Loop {
    pub(super) pieces: Vec<RimPiece>,
    /// In the blank, in mm²: below zero for a loop around an opening.
    pub(super) area: f64,
}

/// Loops of cut edges that pass bends; openings within one zone are left out. What is folded right back is thought
/// away, so that the rim runs along its fold: less metal never makes an opening smaller.
pub(super) fn loops(tree: &FoldTree) -> Vec<Loop> {
    let motions = tree.flat_motions();
    let kept = unfolded_back(tree);
    let is_kept = |bend: &&Bend| kept[bend.child.index()];
    let panels = tree.panels().iter().filter(|p| kept[p.id.index()]);
    let panels = panels.map(|p| (Zone::Panel(p.id), &p.region, motions[p.id.index()]));
    let bends = tree.bends().iter().filter(is_kept);
    let bends = bends.map(|b| (Zone::Bend(b.id), &b.region, b.strip_motion(motions[b.parent.index()])));
    let mut open: Vec<(RimPiece, Segment)> = Vec::new();
    for (zone, region, motion) in panels.chain(bends) {
        let is_to_hem = |label: &EdgeLabel| matches!(label, EdgeLabel::CreaseStart(id) if !kept[tree.bend(*id).child.index()]);
        let is_crease = |s: &Segment| tree.label(s).is_crease() && !is_to_hem(tree.label(s));
        for contour in region.contours() {
            if contour.signed_area() < 0.0 && !contour.segments().iter().any(is_crease) {
                continue;
            }
            for piece in contour.segments().iter().filter(|s| !is_crease(s)) {
                let laid = piece.moved(motion);
                open.push((
                    RimPiece { zone, piece: *piece, flat: (laid.end - laid.start).normalized() },
                    laid,
                ));
            }
        }
    }
    joined(&open)
}

/// For each panel whether it hangs on no bend that is folded right back.
fn unfolded_back(tree: &FoldTree) -> Vec<bool> {
    let mut kept: Vec<bool> = Vec::new();
    for panel in tree.panels() {
        kept.push(panel.bend.is_none_or(|id| {
            let bend = tree.bend(id);
            kept[bend.parent.index()] && bend.turn() < maths::PI - tolerance::PARALLEL
        }));
    }
    kept
}

/// Joins pieces end to start in the blank, where common vertices agree to rounding.
fn joined(open: &[(RimPiece, Segment)]) -> Vec<Loop> {
    /// Side of a grid cell in mm, far above the snap tolerance.
    const CELL_MM: f64 = 0.01;
    #[expect(clippy::cast_possible_truncation, reason = "parts are far smaller than the range")]
    let cell = |p: Point2| ((p.x / CELL_MM).floor() as i64, (p.y / CELL_MM).floor() as i64);
    let mut starts: BTreeMap<(i64, i64), Vec<usize>> = BTreeMap::new();
    for (index, (_, laid)) in open.iter().enumerate() {
        starts.entry(cell(laid.start)).or_default().push(index);
    }
    let mut used = vec![false; open.len()];
    let next_at = |p: Point2, used: &[bool]| {
        let (x, y) = cell(p);
        let around = (-1..=1).flat_map(|i| (-1..=1).map(move |j| (x + i, y + j)));
        let near = around.filter_map(|key| starts.get(&key)).flatten().copied().filter(|&i| !used[i]);
        near.min_by(|&a, &b| p.distance(open[a].1.start).total_cmp(&p.distance(open[b].1.start)))
    };
    let mut found = Vec::new();
    for first in 0..open.len() {
        if used[first] {
            continue;
        }
        let (mut pieces, mut area, mut current) = (Vec::new(), 0.0, Some(first));
        while let Some(index) = current {
            used[index] = true;
            let (rim, laid) = open[index];
            pieces.push(rim);
            area += laid.area_about(open[first].1.start);
            let back = laid.end.distance(open[first].1.start) <= tolerance::SNAP_MM;
            current = if back { None } else { next_at(laid.end, &used) };
        }
        found.push(Loop { pieces, area });
    }
    found
}

impl Folded<'_> {
    /// A point of a zone in space.
    pub(super) fn lift(&self, zone: Zone, p: Point2, depth: f64) -> Vec3<f64> {
        match zone {
            Zone::Panel(id) => self.frames[id.index()].lift(p, depth),
            Zone::Bend(id) => self.strips[id.index()].point(p.x, p.y, depth),
        }
    }

    /// Points along cut edges in space, without the last end; straight edges of panels as they are.
    pub(super) fn points(&self, pieces: &[RimPiece], depth: f64) -> Vec<Vec3<f64>> {
        let mut points = Vec::new();
        for rim in pieces {
            let count = self.chords(rim);
            for step in 0..count {
                let share = f64::from(step) / f64::from(count);
                points.push(self.lift(rim.zone, rim.piece.point_at(share), depth));
            }
        }
        points
    }

    /// Whether some of the cut edges are arcs in space, so that their points are known to a chord only.
    pub(super) fn is_curved(&self, pieces: &[RimPiece]) -> bool {
        pieces.iter().any(|rim| self.chords(rim) > 1)
    }

    fn chords(&self, rim: &RimPiece) -> u32 {
        let flat = rim.piece.chord_count(CHORD_MM);
        let count = match rim.zone {
            Zone::Panel(_) => flat,
            Zone::Bend(id) => {
                let map = &self.strips[id.index()];
                let across = (rim.piece.end.y - rim.piece.start.y).abs() / map.allowance();
                let radius = map.radius(0.0).max(map.radius(-self.tree.thickness()));
                flat.max(crate::geom::chords_for_arc(radius, map.angle() * across, CHORD_MM))
            }
        };
        u32::try_from(count).expect("an edge has few chords")
    }
}

/// Points along a closed outline, arcs as chords.
pub(super) fn sampled(pieces: &[Segment]) -> Vec<Point2> {
    let along = pieces.iter().flat_map(|piece| {
        let count = u32::try_from(piece.chord_count(CHORD_MM)).expect("an edge has few chords");
        (0..count).map(move |step| piece.point_at(f64::from(step) / f64::from(count)))
    });
    along.collect()
}

/// The plane that a closed line in space lies nearest to: its normal is that of the area it encloses, x along its
/// longest edge. None if it encloses none.
pub(super) fn best_plane(points: &[Vec3<f64>]) -> Option<Placement<f64>> {
    let first = *points.first()?;
    let next = || points.iter().cycle().skip(1);
    let zero = Vec3::new(0.0, 0.0, 0.0);
    let area = points.iter().zip(next()).fold(zero, |sum, (a, b)| sum + (*a - first).cross(*b - first));
    let size = area.length();
    if size <= tolerance::DUST_AREA_MM2 {
        return None;
    }
    let n = area.times(1.0 / size);
    let flat = |v: Vec3<f64>| v - n.times(v.dot(n));
    let edges = points.iter().zip(next()).map(|(a, b)| flat(*b - *a));
    let longest = edges.max_by(|a, b| a.length().total_cmp(&b.length()))?;
    let x = longest.times(1.0 / longest.length());
    Some(Placement { origin: first, x, y: n.cross(x), n })
}

/// A closed line in space as a figure with the measures of what it looks like along the normal of its area; wider
/// by what chords may lack if it is curved.
pub(super) fn figure(points: Vec<Vec3<f64>>, curved: bool) -> Option<(Figure, Measures)> {
    let frame = best_plane(&points)?;
    let flat = points.iter().map(|p| frame.coordinates(*p)).map(|c| Point2::new(c.x, c.y));
    let measures = Measures::of(&without_repeats(flat)?);
    let measures = if curved { measures.widened(2.0 * CHORD_MM) } else { measures };
    Some((Figure::Rim { points, frame }, measures))
}

/// A polygon through points, without those that repeat the one before or lie on a straight edge.
pub(super) fn without_repeats(points: impl Iterator<Item = Point2>) -> Option<Contour> {
    let mut kept: Vec<Point2> = Vec::new();
    for p in points {
        if kept.last().is_none_or(|last| last.distance(p) > tolerance::LEAST_EDGE_MM) {
            kept.push(p);
        }
    }
    while kept.len() > 1 && kept[0].distance(kept[kept.len() - 1]) <= tolerance::LEAST_EDGE_MM {
        kept.pop();
    }
    let count = kept.len();
    let is_corner = |i: usize| {
        let (before, at, after) = (kept[(i + count - 1) % count], kept[i], kept[(i + 1) % count]);
        let (u, v) = (at - before, after - at);
        u.cross(v).abs() > tolerance::SNAP_MM * u.length().max(v.length()) || u.dot(v) < 0.0
    };
    let corners: Vec<Point2> = (0..count).filter(|&i| is_corner(i)).map(|i| kept[i]).collect();
    Contour::polygon(&corners, Tag::default()).ok().filter(|c| c.segments().len() > 2)
}

/// A motion that undoes the place and direction of a contour's first piece.
pub(super) fn own_frame(contour: &Contour) -> Motion2 {
    let first = contour.segments()[0];
    let along = match first.curve {
        Curve::Line => first.start_direction(),
        // Its first point seen from the centre, so that equal circles have equal figures whatever their rounding.
        Curve::Arc { centre, .. } => (first.start - centre).normalized(),
    };
    Motion2 { x_axis: along, origin: first.start }
}
