//! What the rim of the folded sheet leaves open: seams between flanges at a corner, the reliefs at their feet, and
//! the open sides.
//!
//! Where two flanges stand on edges of one panel that are not parallel, the rim runs down the side of one, around
//! the corner and up the side of the other. Two lines are drawn across: at the foot, where the bends end, and at the
//! mouth, where the shorter side ends. Between them lies the seam, below the relief; what is left of the rim, with
//! the mouths as edges, bounds the open side. Invariant: no piece of the rim is left out. Derivation:
//! `docs/math/guard-openings.md`. Must not know: openings that are cut.

use crate::fold::{Bend, EdgeLabel};
use crate::geom::{Contour, Place, Point2, Region, Vec3, place_in_region};
use crate::history::PanelName;
use crate::ident::PanelId;
use crate::quantity::{maths, tolerance};

use super::rim::{Loop, RimPiece, Zone, figure};
use super::{Figure, Folded, Measures, Opening, OpeningKind, rim};

/// Flanges stand around a corner when their bends are not parallel by more than this cosine, 10°.
const PARALLEL_COS: f64 = 0.984_807_753;

/// A side of a flange runs away from its bend by at least this cosine, 50°: mitred lips do.
const SIDE_COS: f64 = 0.642_787_610;

/// Places along a seam at which its width is looked at: a straight seam is widest at an end, which are among them.
const STATIONS: u32 = 16;

/// Seams and reliefs along a loop, then the open side that is left.
pub(super) fn along(folded: &Folded<'_>, rim: &Loop) -> Vec<Opening> {
    let mut found = Vec::new();
    let mut left: Vec<Option<RimPiece>> = rim.pieces.iter().copied().map(Some).collect();
    for corner in corners(folded, rim) {
        found.extend(corner.seam(folded));
        found.extend(corner.relief(folded));
        corner.take_from(&mut left);
    }
    found.extend(open_side(folded, &left.into_iter().flatten().collect::<Vec<_>>()));
    found
}

/// A corner of the cover: the rim from mouth to mouth.
struct Corner {
    panels: [PanelId; 2],
    parent: PanelId,
    /// Pieces of the first side from mouth to foot, and of the second from foot to mouth.
    sides: [Vec<RimPiece>; 2],
    foot: Vec<RimPiece>,
    /// Indices in the loop of the pieces in which the mouth lies, with the place there.
    mouth: [(usize, Point2); 2],
    count: usize,
}

fn corners(folded: &Folded<'_>, rim: &Loop) -> Vec<Corner> {
    let tree = folded.tree;
    let motions = tree.flat_motions();
    let pieces = &rim.pieces;
    let count = pieces.len();
    let at = |index: usize| &pieces[index % count];
    let mut found = Vec::new();
    for last in 0..count {
        // From the side of a flange to the strip that it hangs on.
        let (Zone::Panel(a), Zone::Bend(strip)) = (at(last).zone, at(last + 1).zone) else { continue };
        let first = tree.bend(strip);
        if first.child != a {
            continue;
        }
        // Around the corner, over the parent's own edges, to the strip of the next flange.
        let foot_at = |index: usize| match at(index).zone {
            Zone::Bend(id) => id == strip || tree.bend(id).parent == first.parent,
            Zone::Panel(id) => id == first.parent,
        };
        let Some(next) = (last + 1..last + count).find(|&index| !foot_at(index)) else { continue };
        let (Zone::Panel(b), Zone::Bend(other)) = (at(next).zone, at(next - 1).zone) else { continue };
        let second = tree.bend(other);
        if second.child != b || other == strip || second.side != first.side {
            continue;
        }
        if first.along.dot(second.along).abs() >= PARALLEL_COS {
            continue;
        }
        let outward = |bend: &Bend| motions[bend.parent.index()].vector(bend.outward);
        // Beside the bends only what is left of their own two edges; a free edge between them is no corner.
        let own_edge = |index: usize| {
            let piece = at(index);
            let of_parent = piece.zone == Zone::Panel(first.parent);
            let is_named = matches!(tree.label(&piece.piece), EdgeLabel::Edge(_));
            let along = |bend: &Bend| piece.flat.dot(outward(bend).left()) >= PARALLEL_COS;
            !(of_parent && is_named) || along(first) || along(second)
        };
        if !(last + 1..next).all(own_edge) {
            continue;
        }
        let is_side = |index: usize, away: f64, bend: &Bend, panel: PanelId| {
            let piece = at(index);
            let broken = matches!(tree.label(&piece.piece), EdgeLabel::CornerBreak(_));
            !broken && piece.flat.dot(outward(bend)) * away >= SIDE_COS && is_on(folded, piece.zone, panel)
        };
        // The foot of a side may have a ledge beside the bend.
        let is_ledge = |index: usize, panel: PanelId| {
            let label = tree.label(&at(index).piece);
            at(index).zone == Zone::Panel(panel) && matches!(label, EdgeLabel::Relief(_))
        };
        let (mut last_side, mut first_side) = (last + count, next + count);
        while is_ledge(last_side, a) && last_side > last {
            last_side -= 1;
        }
        while is_ledge(first_side, b) && first_side < next + 2 * count {
            first_side += 1;
        }
        let back = (0..count).take_while(|&i| is_side(last_side + count - i, -1.0, first, a)).count();
        let ahead = (0..count).take_while(|&i| is_side(first_side + i, 1.0, second, b)).count();
        if back == 0 || ahead == 0 {
            continue;
        }
        let start = last_side + 1 - back;
        let side = |range: std::ops::Range<usize>| range.map(|i| *at(i)).collect::<Vec<RimPiece>>();
        let sides = [side(start..last_side + 1), side(first_side..first_side + ahead)];
        let foot = side(last_side + 1..first_side);
        let indices = [start % count, first_side % count];
        found.push(cut_to_mouth(folded, [a, b], first.parent, sides, foot, indices, count));
    }
    found
}

/// Whether a zone is a panel or hangs on it.
fn is_on(folded: &Folded<'_>, zone: Zone, panel: PanelId) -> bool {
    let tree = folded.tree;
    let mut now = match zone {
        Zone::Panel(id) => id,
        Zone::Bend(id) => tree.bend(id).parent,
    };
    while now != panel {
        let Some(bend) = tree.panel(now).bend else { return false };
        now = tree.bend(bend).parent;
    }
    true
}

/// Cuts the longer side at the place that is nearest to the end of the shorter one.
fn cut_to_mouth(
    folded: &Folded<'_>,
    panels: [PanelId; 2],
    parent: PanelId,
    [mut first, mut second]: [Vec<RimPiece>; 2],
    foot: Vec<RimPiece>,
    indices: [usize; 2],
    count: usize,
) -> Corner {
    let start = |rim: &RimPiece| folded.lift(rim.zone, rim.piece.start, 0.0);
    let end = |rim: &RimPiece| folded.lift(rim.zone, rim.piece.end, 0.0);
    let ends = [start(&first[0]), end(&second[second.len() - 1])];
    let on_first = nearest_on(folded, &first, ends[1]);
    let on_second = nearest_on(folded, &second, ends[0]);
    let (mut skipped, mut kept) = (0, second.len());
    if on_first.distance <= on_second.distance {
        skipped = on_first.index;
        first.drain(..skipped);
        first[0].piece.start = on_first.place;
    } else {
        kept = on_second.index + 1;
        second.truncate(kept);
        second[kept - 1].piece.end = on_second.place;
    }
    let mouth = [
        ((indices[0] + skipped) % count, first[0].piece.start),
        ((indices[1] + kept - 1) % count, second[kept - 1].piece.end),
    ];
    Corner { panels, parent, sides: [first, second], foot, mouth, count }
}

struct Nearest {
    index: usize,
    place: Point2,
    distance: f64,
}

/// The place of a side nearest to a point in space, by ends and stations of its pieces; a straight piece of a panel
/// exactly.
fn nearest_on(folded: &Folded<'_>, side: &[RimPiece], p: Vec3<f64>) -> Nearest {
    let mut best = Nearest { index: 0, place: side[0].piece.start, distance: f64::INFINITY };
    for (index, rim) in side.iter().enumerate() {
        let (a, b) = (rim.piece.start, rim.piece.end);
        let (from, to) = (folded.lift(rim.zone, a, 0.0), folded.lift(rim.zone, b, 0.0));
        let along = to - from;
        let foot = ((p - from).dot(along) / along.dot(along)).clamp(0.0, 1.0);
        let stations = (0..=STATIONS).map(|k| f64::from(k) / f64::from(STATIONS));
        for share in stations.chain([foot]) {
            let place = rim.piece.point_at(share);
            let distance = (folded.lift(rim.zone, place, 0.0) - p).length();
            // A piece without length would be left beyond its very end.
            if distance < best.distance - tolerance::SNAP_MM {
                best = Nearest { index, place, distance };
            }
        }
    }
    best
}

impl Corner {
    fn names(&self, folded: &Folded<'_>) -> [PanelName; 2] {
        self.panels.map(|id| folded.tree.panel(id).name.clone())
    }

    /// The slot between the two sides.
    fn seam(&self, folded: &Folded<'_>) -> Option<Opening> {
        let [first, second] = &self.sides;
        let length = |side: &[RimPiece]| side.iter().map(|rim| rim.piece.length()).sum::<f64>();
        let long = length(first).max(length(second));
        let width = self.width(folded);
        if width <= 0.0 || long <= tolerance::SNAP_MM {
            return None;
        }
        let mut points = folded.points(first, 0.0);
        points.push(last_point(folded, first));
        points.extend(folded.points(second, 0.0));
        points.push(last_point(folded, second));
        let frame = rim::best_plane(&points)?;
        let [a, b] = self.names(folded);
        Some(Opening {
            name: format!("seam `{a}` / `{b}`"),
            kind: OpeningKind::Seam,
            panels: vec![a, b],
            origin: folded.tree.origin(folded.tree.panel(self.panels[1]).feature).clone(),
            figure: Figure::Rim { points, frame },
            measures: Measures::rectangle(width, long),
        })
    }

    /// The widest place of the seam, each place being as wide as the metal of both sides is apart there.
    fn width(&self, folded: &Folded<'_>) -> f64 {
        let [first, second] = &self.sides;
        let reversed: Vec<RimPiece> = first.iter().rev().copied().collect();
        let (one, other) = (Side::new(folded, &reversed, true), Side::new(folded, second, false));
        let wide = |share: f64| {
            let from = |side: &Side<'_>, to: &Side<'_>| {
                side.at(share).into_iter().map(|p| to.distance(p)).fold(f64::INFINITY, f64::min)
            };
            from(&one, &other).min(from(&other, &one))
        };
        (0..=STATIONS).map(|k| wide(f64::from(k) / f64::from(STATIONS))).fold(0.0, f64::max)
    }

    /// What is open around the ends of the bends, up to the foot of the seam.
    fn relief(&self, folded: &Folded<'_>) -> Option<Opening> {
        let mut points = folded.points(&self.foot, 0.0);
        points.push(last_point(folded, &self.foot));
        let (figure, measures) = figure(points, folded.is_curved(&self.foot))?;
        let [a, b] = self.names(folded);
        let parent = &folded.tree.panel(self.parent).name;
        Some(Opening {
            name: format!("corner of `{parent}` between `{a}` and `{b}`"),
            kind: OpeningKind::CornerRelief,
            panels: vec![parent.clone(), a, b],
            origin: folded.tree.origin(folded.tree.panel(self.panels[1]).feature).clone(),
            figure,
            measures,
        })
    }

    /// Takes the rim between the mouths away.
    fn take_from(&self, left: &mut [Option<RimPiece>]) {
        let [(from, start), (to, end)] = self.mouth;
        let mut index = (from + 1) % self.count;
        while index != to {
            left[index] = None;
            index = (index + 1) % self.count;
        }
        let mut cut = |index: usize, change: &dyn Fn(&mut RimPiece)| {
            if let Some(rim) = &mut left[index] {
                change(rim);
                if rim.piece.start.distance(rim.piece.end) <= tolerance::SNAP_MM {
                    left[index] = None;
                }
            }
        };
        cut(from, &|rim| rim.piece.end = start);
        cut(to, &|rim| rim.piece.start = end);
    }
}

fn last_point(folded: &Folded<'_>, pieces: &[RimPiece]) -> Vec3<f64> {
    let last = pieces.last().expect("a side has pieces");
    folded.lift(last.zone, last.piece.end, 0.0)
}

/// A side of a seam, from its foot to its mouth.
struct Side<'f> {
    folded: &'f Folded<'f>,
    pieces: &'f [RimPiece],
    /// Whether the pieces run towards the foot.
    backwards: bool,
    length: f64,
    /// Outlines of the panels that it passes; their openings do not make it wider.
    plates: Vec<(PanelId, Region)>,
}

impl<'f> Side<'f> {
    fn new(folded: &'f Folded<'f>, pieces: &'f [RimPiece], backwards: bool) -> Self {
        let mut plates: Vec<(PanelId, Region)> = Vec::new();
        for rim in pieces {
            if let Zone::Panel(id) = rim.zone
                && plates.iter().all(|(known, _)| *known != id)
            {
                let outers: Vec<Contour> = folded.tree.panel(id).region.outers().cloned().collect();
                plates.push((id, Region::from_oriented(outers)));
            }
        }
        let length = pieces.iter().map(|rim| rim.piece.length()).sum();
        Self { folded, pieces, backwards, length, plates }
    }

    /// The place at this share of the way on inner and outer face.
    fn at(&self, share: f64) -> [Vec3<f64>; 2] {
        let mut rest = share * self.length;
        let mut found = (self.pieces[self.pieces.len() - 1], 1.0);
        for rim in self.pieces {
            let length = rim.piece.length();
            if rest <= length {
                found = (*rim, if length > 0.0 { rest / length } else { 0.0 });
                break;
            }
            rest -= length;
        }
        let (rim, share) = found;
        let place = rim.piece.point_at(if self.backwards { 1.0 - share } else { share });
        [0.0, -self.folded.tree.thickness()].map(|depth| self.folded.lift(rim.zone, place, depth))
    }

    /// Distance of a point in space to the metal of this side: the flat panels, and the line of the side itself.
    fn distance(&self, p: Vec3<f64>) -> f64 {
        let thickness = self.folded.tree.thickness();
        let plates = self.plates.iter().map(|(id, region)| {
            let local = self.folded.frames[id.index()].coordinates(p);
            let flat = Point2::new(local.x, local.y);
            let aside = if place_in_region(region, flat) == Place::Outside {
                let pieces = region.contours().iter().flat_map(Contour::segments);
                pieces.map(|s| s.distance_to(flat)).fold(f64::INFINITY, f64::min)
            } else {
                0.0
            };
            let above = (local.z - local.z.clamp(-thickness, 0.0)).abs();
            maths::hypot(aside, above)
        });
        let line = (0..=STATIONS)
            .flat_map(|k| self.at(f64::from(k) / f64::from(STATIONS)))
            .map(|q| (q - p).length());
        plates.chain(line).fold(f64::INFINITY, f64::min)
    }
}

/// What is left of the rim, with straight lines across the mouths.
fn open_side(folded: &Folded<'_>, pieces: &[RimPiece]) -> Option<Opening> {
    let tree = folded.tree;
    let mut points = Vec::new();
    for rim in pieces {
        points.extend(folded.points(std::slice::from_ref(rim), 0.0));
        points.push(folded.lift(rim.zone, rim.piece.end, 0.0));
    }
    points.dedup_by(|a, b| (*a - *b).length() <= tolerance::SNAP_MM);
    let mut panels: Vec<PanelName> = Vec::new();
    for rim in pieces {
        if let Zone::Panel(id) = rim.zone
            && !panels.contains(&tree.panel(id).name)
        {
            panels.push(tree.panel(id).name.clone());
        }
    }
    let (figure, measures) = figure(points, folded.is_curved(pieces))?;
    let base = &tree.panels()[0];
    let opposite = match &figure {
        Figure::Rim { frame, .. } => frame.n.z.abs() >= PARALLEL_COS && !panels.contains(&base.name),
        Figure::Flat { .. } => false,
    };
    let name = if opposite {
        format!("open side opposite `{}`", base.name)
    } else {
        let names: Vec<String> = panels.iter().map(|name| format!("`{name}`")).collect();
        format!("open side along {}", names.join(", "))
    };
    let origin = tree.origin(base.feature).clone();
    Some(Opening { name, kind: OpeningKind::OpenSide, panels, origin, figure, measures })
}
