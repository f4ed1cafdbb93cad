//! Real outlines of the flat panels: drawn edges moved back where a flange is bent from them, corners
//! between neighbouring flanges, reliefs beside bends that end within their edge.
//!
//! Depths count from a drawn edge inwards, places along an edge by the x of the flange on it (from right
//! to left as the panel's outline runs counter-clockwise).
//! Invariant: for every flange the panel's outline holds exactly one crease piece, from the crease's
//! `to_point` to its `from_point`; the flange's own outline has the same crease at y = 0 between `from` and
//! `to`.

use std::collections::BTreeMap;

use crate::dimension::{FLANGE_ROLES, Pose, Skeleton, Source};
use crate::geom::{Contour, Curve, Point2, Region, Segment, Tag, Vec2, first_self_contact};
use crate::history::{EdgeName, PanelName};
use crate::ident::{BendId, FeatureId, PanelId};
use crate::quantity::{maths, tolerance};

use super::bend_ends::{Corners, End};
use super::corner_seam::{EndLine, FlangeSide, SheetEnd, meet};
use super::flange_outline::{DrawnFlange, drawn_flanges};
use super::outline_path::Path;
use super::profile_shape::{meet_line, outline_pieces};
use super::seam_cuts::{Posed, SeamCuts};
use super::seat::{CornerCut, CutShape, Drawn, Seat, Side};
use super::{CreaseSpan, EdgeLabel, FoldFault, Labels};

/// The outline of one panel, and the crease of the bend it hangs on.
pub(super) struct Outline {
    pub(super) region: Region,
    pub(super) crease: Option<CreaseSpan>,
}

/// The bend that a flange panel hangs on: bends are numbered like their panels, without the base.
pub(super) fn bend_of_panel(panel: PanelId) -> BendId {
    BendId::new(panel.index() - 1)
}

/// Outlines of all panels, in order, or the faults with the features that have to change.
pub(super) fn outlines(
    skeleton: &Skeleton<'_>,
    pose: &Pose<f64>,
    free: &[f64],
    thickness: f64,
    labels: &mut Labels,
) -> Result<Vec<Outline>, Vec<(FeatureId, FoldFault)>> {
    let posed = Posed { skeleton, pose, free, thickness };
    let shapes = drawn_flanges(posed)?;
    let mut cuts = SeamCuts::new(posed)?;
    for closing in cuts.closings() {
        let (_, drawn) = draw(posed, &shapes, &cuts, &mut labels.clone())?;
        cuts.close(&closing, posed, &drawn).map_err(|fault| vec![(closing.feature, fault)])?;
    }
    let (made, drawn) = draw(posed, &shapes, &cuts, labels)?;
    let faults = cuts.faults(posed, &drawn);
    if faults.is_empty() { Ok(made) } else { Err(faults) }
}

/// Outlines of all panels, and what was drawn of each.
type Figures = (Vec<Outline>, Vec<Option<Drawn>>);

/// Draws all panels, in order. A panel whose parent has no outline has none either.
fn draw(
    posed: Posed<'_, '_>,
    shapes: &BTreeMap<PanelId, DrawnFlange>,
    cuts: &SeamCuts<'_>,
    labels: &mut Labels,
) -> Result<Figures, Vec<(FeatureId, FoldFault)>> {
    let skeleton = posed.skeleton;
    let mut drawn: Vec<Option<Drawn>> = vec![None; skeleton.panels().len()];
    let mut made = Vec::with_capacity(drawn.len());
    let mut faults = Vec::new();
    for (index, panel) in skeleton.panels().iter().enumerate() {
        let id = PanelId::new(index);
        match panel.source {
            Source::Base(base) => {
                let pieces = outline_pieces(panel.name.as_str(), &base.outline, posed.free);
                match pieces.and_then(|pieces| grown_sides(skeleton, posed.pose, id, pieces)) {
                    Ok(sides) => drawn[index] = Some(Drawn { sides, crease: None }),
                    Err(fault) => faults.push((id, fault)),
                }
            }
            Source::Flange { .. } => {}
            // Drawn with the panel that it is a piece of.
            Source::Piece { .. } => made.push(Outline { region: Region::default(), crease: None }),
        }
        let Some(own) = drawn[index].clone() else { continue };
        if own.is_only_a_bend() {
            if let Some(child) = child_of(skeleton, id) {
                faults.push((child, FoldFault::NothingBehindRoll { panel: panel.name.clone() }));
            }
            made.push(Outline { region: Region::default(), crease: own.crease });
            continue;
        }
        let plan = match PanelPlan::new(Given { id, drawn: &own, posed, shapes, cuts }) {
            Ok(plan) => plan,
            Err(fault) => {
                faults.push((id, fault));
                continue;
            }
        };
        for (child, outline) in plan.drawn_flanges() {
            match outline {
                Ok(outline) => drawn[child.index()] = Some(outline),
                Err(fault) => faults.push((child, fault)),
            }
        }
        match plan.contour(labels) {
            Ok(contour) => made.push(Outline { region: Region::inside(contour), crease: own.crease }),
            Err(fault) => faults.push((id, fault)),
        }
    }
    if faults.is_empty() {
        return Ok((made, drawn));
    }
    let feature_of = |(id, fault): (PanelId, FoldFault)| {
        let flange = fault.flange().and_then(|name| skeleton.find(name).ok()).unwrap_or(id);
        let of_seam = matches!(fault, FoldFault::SeamTurnsEdge { .. } | FoldFault::SeamTakesAll { .. });
        let seam = if of_seam { cuts.last_on(flange) } else { None };
        (seam.unwrap_or(skeleton.panels()[flange.index()].feature), fault)
    };
    Err(faults.into_iter().map(feature_of).collect())
}

fn child_of(skeleton: &Skeleton<'_>, id: PanelId) -> Option<PanelId> {
    let mut sources = skeleton.panels().iter().map(|p| p.source);
    sources
        .position(|source| matches!(source, Source::Flange { parent, .. } if parent == id))
        .map(PanelId::new)
}

/// The sides of a drawn panel, with the corners behind lines where the growth puts them.
fn grown_sides(
    skeleton: &Skeleton<'_>,
    pose: &Pose<f64>,
    id: PanelId,
    pieces: Vec<(usize, Segment)>,
) -> Result<Vec<Side>, FoldFault> {
    let (panel, posed) = (&skeleton.panels()[id.index()], pose.panel(id));
    let shift_at = |position: usize| {
        let shift = posed.corner_shifts.get(position % posed.corners.len());
        shift.map_or(Vec2::new(0.0, 0.0), |&[x, y]| Vec2::new(x, y))
    };
    let grown = |(edge, piece): (usize, Segment)| {
        let position = posed.edge_order[edge];
        let (start, end) = (shift_at(position), shift_at(position + 1));
        let curve = match piece.curve {
            Curve::Line => Curve::Line,
            Curve::Arc { centre, radius, turn } if start == end => {
                Curve::Arc { centre: centre + start, radius, turn }
            }
            Curve::Arc { .. } => {
                return Err(FoldFault::ArcCrossed { edge: panel.name.edge(panel.edge_roles()[edge]) });
            }
        };
        let piece = Segment { start: piece.start + start, end: piece.end + end, curve, ..piece };
        Ok(Side { edge, piece })
    };
    pieces.into_iter().map(grown).collect()
}

/// One panel as drawn, and the part that it belongs to.
#[derive(Clone, Copy)]
struct Given<'h, 'a> {
    id: PanelId,
    drawn: &'a Drawn,
    posed: Posed<'h, 'a>,
    /// Flanges whose outlines were drawn.
    shapes: &'a BTreeMap<PanelId, DrawnFlange>,
    cuts: &'a SeamCuts<'h>,
}

/// What happens to one panel's outline; the lists of flanges all have the order in which the outline meets
/// them.
struct PanelPlan<'h, 'a> {
    given: Given<'h, 'a>,
    seats: Vec<Seat<'h>>,
    /// Left and right end of each flange on its edge.
    ends: Vec<[End; 2]>,
    /// Where the outline turns from side `i − 1` to side `i`.
    corners: Vec<Point2>,
    /// What is cut there where two bends meet.
    corner_cuts: Vec<CornerCut>,
    /// Where the left and right sides of each flange run.
    lines: Vec<[EndLine; 2]>,
    creases: Vec<CreaseSpan>,
}

impl<'h> Given<'h, '_> {
    fn name(&self, panel: PanelId) -> PanelName {
        self.posed.skeleton.panels()[panel.index()].name.clone()
    }

    fn edge_name(&self, side: usize) -> EdgeName {
        let panel = &self.posed.skeleton.panels()[self.id.index()];
        panel.name.edge(panel.edge_roles()[self.drawn.sides[side].edge])
    }

    /// The flanges on this panel.
    fn seats(&self) -> Result<Vec<Seat<'h>>, FoldFault> {
        let mut seats = Vec::new();
        let Posed { skeleton, pose, .. } = self.posed;
        for (index, panel) in skeleton.panels().iter().enumerate() {
            let Source::Flange { flange, parent, edge, .. } = panel.source else { continue };
            if skeleton.root(parent) != self.id {
                continue;
            }
            let id = PanelId::new(index);
            let bend = pose.panel(id).bend.expect("a flange has a bend");
            let bend = bend.in_flat(&pose.panel(parent).in_flat);
            let side = self.drawn.sides.iter().position(|s| s.edge == edge);
            let side = side.expect("every drawn edge is a side of the outline");
            let mut seat = Seat::new(id, flange, side, bend, self.posed.thickness, self.posed.free);
            if let Some(shape) = self.shapes.get(&id) {
                seat.insets = shape.insets;
            }
            let needed = 0.5 * seat.relief.width;
            let depth = bend.setback + seat.relief.depth;
            if seat.relief.shape == CutShape::Round && depth < needed - tolerance::SNAP_MM {
                return Err(FoldFault::ReliefTooShallow { panel: panel.name.clone(), depth, needed });
            }
            seats.push(seat);
        }
        self.cut_ends(&mut seats);
        let middle = |s: &Seat<'_>| {
            0.5 * (s.inset(FlangeSide::Left) + s.bend.edge_length - s.inset(FlangeSide::Right))
        };
        seats.sort_by(|a, b| {
            a.side.cmp(&b.side).then(middle(b).total_cmp(&middle(a))).then(a.panel.cmp(&b.panel))
        });
        Ok(seats)
    }

    /// Lets seams replace the insets of the ends that they cut: a bend that shares a corner with the one it
    /// keeps its distance from runs to that corner, another one as far as the side behind it.
    fn cut_ends(&self, seats: &mut [Seat<'h>]) {
        let count = self.drawn.sides.len();
        let sides: Vec<(PanelId, usize)> = seats.iter().map(|s| (s.panel, s.side)).collect();
        for seat in seats {
            for end in [FlangeSide::Left, FlangeSide::Right] {
                let Some(line) = self.cuts.end(seat.panel, end) else { continue };
                let next = match end {
                    FlangeSide::Left => (seat.side + 1) % count,
                    FlangeSide::Right => (seat.side + count - 1) % count,
                };
                let opposite = self.cuts.opposite(seat.panel, end);
                let at_corner = opposite.is_some_and(|panel| sides.contains(&(panel, next)));
                seat.cuts[end.index()] = Some(line);
                seat.insets[end.index()] =
                    if at_corner { 0.0 } else { seat.inset_of_x(end, line.foot).max(0.0) };
            }
        }
    }

    /// Where the outline turns from side `i − 1` to side `i`, with each side's line at its depth there.
    fn corners(&self, depth_at: impl Fn(usize, FlangeSide) -> f64) -> Result<Vec<Point2>, FoldFault> {
        let sides = &self.drawn.sides;
        (0..sides.len())
            .map(|after| {
                let before = (after + sides.len() - 1) % sides.len();
                let corner = sides[after].piece.start;
                let (in_depth, out_depth) =
                    (depth_at(before, FlangeSide::Left), depth_at(after, FlangeSide::Right));
                let moved = |side: usize, depth: f64| {
                    let piece = sides[side].piece;
                    let direction = piece.start_direction();
                    (piece.start + direction.left() * depth, direction)
                };
                let found = if in_depth == 0.0 && out_depth == 0.0 {
                    Some(corner)
                } else if in_depth > 0.0 {
                    let (point, direction) = moved(before, in_depth);
                    let (other, along) = moved(after, out_depth);
                    let target = if out_depth > 0.0 {
                        Segment::line(other, other + along, Tag::default())
                    } else {
                        sides[after].piece
                    };
                    meet_line(point, direction, &target, corner)
                } else {
                    let (point, direction) = moved(after, out_depth);
                    meet_line(point, direction, &sides[before].piece, corner)
                };
                found.ok_or_else(|| FoldFault::NoCorner {
                    a: self.edge_name(before),
                    b: self.edge_name(after),
                    depth: in_depth.max(out_depth),
                })
            })
            .collect()
    }

    /// Every side still runs the way it was drawn after its ends were moved.
    fn check_sides(&self, corners: &[Point2]) -> Result<(), FoldFault> {
        for (index, side) in self.drawn.sides.iter().enumerate() {
            let (start, end) = (corners[index], corners[(index + 1) % corners.len()]);
            let moved = start != side.piece.start || end != side.piece.end;
            let left = (end - start).dot(side.piece.end - side.piece.start);
            if moved && side.piece.curve == Curve::Line && left <= tolerance::SNAP_MM {
                let length = side.piece.length();
                let taken = length - left / length;
                return Err(FoldFault::EdgeEatenUp { edge: self.edge_name(index), length, taken });
            }
        }
        Ok(())
    }
}

impl<'h, 'a> PanelPlan<'h, 'a> {
    /// Finds where every flange begins and ends, and from that the panel's corners.
    fn new(given: Given<'h, 'a>) -> Result<Self, FoldFault> {
        let seats = given.seats()?;
        let rule = Corners {
            drawn: given.drawn,
            seats: &seats,
            thickness: given.posed.thickness,
            edge_name: &|side| given.edge_name(side),
            panel_name: &|panel| given.name(panel),
        };
        let ends = rule.ends()?;
        let corners = given.corners(|side, end| {
            rule.seat_at(side, end).map_or(0.0, |i| ends[i][end.index()].depth(&seats[i]))
        })?;
        given.check_sides(&corners)?;
        let both = [FlangeSide::Left, FlangeSide::Right];
        let lines: Vec<[EndLine; 2]> = (0..seats.len())
            .map(|i| both.map(|end| given.flange_line(&rule, &ends, &corners, i, end)))
            .collect();
        let corner_cuts = given.corner_cuts(&rule, &ends)?;
        let creases = (0..seats.len())
            .map(|i| {
                let [(from, from_point), (to, to_point)] = both.map(|end| {
                    let corner = corner_at(&corners, seats[i].side, end);
                    let stop = corner_at(&corner_cuts, seats[i].side, end).size;
                    let foot = lines[i][end.index()].foot;
                    crease_end(&seats[i], end, ends[i][end.index()], foot, corner, stop)
                });
                CreaseSpan { from, to, from_point, to_point }
            })
            .collect();
        let plan = Self { given, seats, ends, corners, corner_cuts, lines, creases };
        plan.check_room()?;
        Ok(plan)
    }

    /// What is cut where the bend of a flange meets that of a neighbour.
    fn corner_cut(&self, index: usize, end: FlangeSide) -> CornerCut {
        match self.ends[index][end.index()] {
            End::Corner => corner_at(&self.corner_cuts, self.seats[index].side, end),
            End::Within { .. } | End::WithinOpen { .. } => CornerCut::TEAR,
        }
    }

    /// Where the bend of a flange stops at a corner that it shares with a neighbour.
    fn stop_at(&self, index: usize, end: FlangeSide) -> Point2 {
        let seat = &self.seats[index];
        let corner = seat.x_of(corner_at(&self.corners, seat.side, end));
        seat.at(corner - end.sign() * self.corner_cut(index, end).size, seat.bend.setback)
    }

    /// Every flange has some width, and neighbours on one edge leave room for their reliefs.
    fn check_room(&self) -> Result<(), FoldFault> {
        for (i, seat) in self.seats.iter().enumerate() {
            let (crease, edge_length) = (&self.creases[i], seat.bend.edge_length);
            let (panel, edge) = (self.given.name(seat.panel), self.given.edge_name(seat.side));
            if crease.to - crease.from <= tolerance::SNAP_MM {
                let needed = [FlangeSide::Left, FlangeSide::Right].map(|end| self.corner_cut(i, end).size);
                let needed: f64 = needed.iter().sum();
                let room = crease.to - crease.from + needed;
                if room > tolerance::SNAP_MM {
                    return Err(FoldFault::NoRoomForCornerRelief { panel, room, needed });
                }
                let taken = edge_length - (crease.to - crease.from);
                return Err(if seat.cuts.iter().any(Option::is_some) {
                    FoldFault::SeamTakesAll { panel, edge, edge_length, taken }
                } else {
                    FoldFault::NoWidth { panel, edge, edge_length, taken }
                });
            }
            for (end, x) in [(FlangeSide::Left, crease.from), (FlangeSide::Right, crease.to)] {
                let corner = corner_at(&self.corners, seat.side, end);
                let room = (seat.x_of(corner) - x) * end.sign();
                let needed = match self.ends[i][end.index()] {
                    End::Corner | End::WithinOpen { .. } => 0.0,
                    End::Within { .. } => seat.relief.width,
                };
                if let (Some(shape), End::Within { x } | End::WithinOpen { x }) =
                    (self.given.shapes.get(&seat.panel), self.ends[i][end.index()])
                {
                    // A drawn outline does not give way to a relief.
                    let [room, needed] = [shape.foot(end), x].map(|x| seat.inset_of_x(end, x));
                    if room < needed - tolerance::SNAP_MM {
                        return Err(FoldFault::NoRoomForRelief { panel, edge, room, needed });
                    }
                }
                if room < needed - tolerance::SNAP_MM {
                    return Err(FoldFault::NoRoomForRelief { panel, edge, room: room.max(0.0), needed });
                }
            }
        }
        for (i, pair) in self.seats.windows(2).enumerate() {
            let (a, b) = (&pair[0], &pair[1]);
            if a.side != b.side {
                continue;
            }
            let room = self.creases[i].from - self.creases[i + 1].to;
            if (a.relief.shape == CutShape::Level) != (b.relief.shape == CutShape::Level) {
                let edge = self.given.edge_name(a.side);
                let (a, b) = (self.given.name(a.panel), self.given.name(b.panel));
                return Err(FoldFault::ReliefsDiffer { a, b, edge });
            }
            let needed = a.relief.width + b.relief.width;
            if room < needed - tolerance::SNAP_MM {
                let (a, b) = (self.given.name(a.panel), self.given.name(b.panel));
                return Err(FoldFault::FlangesTooNear { a, b, room, needed });
            }
        }
        Ok(())
    }

    /// The flanges' own outlines: bend end, right, tip, left, or as they were drawn.
    fn drawn_flanges(&self) -> Vec<(PanelId, Result<Drawn, FoldFault>)> {
        (0..self.seats.len()).map(|i| (self.seats[i].panel, self.drawn_flange(i))).collect()
    }

    fn drawn_flange(&self, index: usize) -> Result<Drawn, FoldFault> {
        let [left, right] = self.lines[index];
        let panel = self.seats[index].panel;
        let crease = self.creases[index];
        if let Some(shape) = self.given.shapes.get(&panel) {
            let pieces = shape.standing_on([crease.from, crease.to]);
            let Posed { skeleton, pose, .. } = self.given.posed;
            return Ok(Drawn { sides: grown_sides(skeleton, pose, panel, pieces)?, crease: Some(crease) });
        }
        let name = || self.given.name(panel);
        let posed = self.given.posed.pose.panel(panel);
        let flat = self.seats[index].bend.flat;
        let tip = self.given.cuts.tip(panel);
        let [right_tip, left_tip] = match tip {
            None => [
                Point2::new(right.foot + right.outward_lean * flat, flat),
                Point2::new(left.foot - left.outward_lean * flat, flat),
            ],
            Some(tip) => [(right, FlangeSide::Right), (left, FlangeSide::Left)]
                .map(|(line, side)| line.cut_line(side).crossing(tip)),
        };
        let mut p = [Point2::new(left.foot, 0.0), Point2::new(right.foot, 0.0), right_tip, left_tip];
        let seamed = tip.is_some() || self.seats[index].cuts.iter().any(Option::is_some);
        if seamed {
            let tip_along = tip.map_or(Vec2::new(-1.0, 0.0), |tip| tip.outward.left());
            let along = [
                Vec2::new(1.0, 0.0),
                right.upwards(FlangeSide::Right),
                tip_along,
                -left.upwards(FlangeSide::Left),
            ];
            for (i, (role, along)) in FLANGE_ROLES.into_iter().zip(along).enumerate() {
                let left = (p[(i + 1) % 4] - p[i]).dot(along);
                if left.is_nan() || left <= tolerance::SNAP_MM {
                    return Err(FoldFault::SeamTurnsEdge { edge: name().edge(role), left });
                }
            }
        }
        if p[2].x - p[3].x <= tolerance::SNAP_MM {
            let closing = -(left.outward_lean + right.outward_lean);
            let meet_at = (right.foot - left.foot) / closing;
            return Err(FoldFault::SidesMeet { panel: name(), flat, meet_at });
        }
        for (corner, &[x, y]) in p.iter_mut().zip(&posed.corner_shifts) {
            *corner = *corner + Vec2::new(x, y);
        }
        let side = |i: usize| Side { edge: i, piece: Segment::line(p[i], p[(i + 1) % 4], Tag::default()) };
        Ok(Drawn { sides: (0..4).map(side).collect(), crease: Some(crease) })
    }

    /// The flange that shares the corner at the left end of this one's edge.
    fn next_at_corner(&self, index: usize) -> Option<usize> {
        let next_side = (self.seats[index].side + 1) % self.corners.len();
        let next = self.seats.iter().position(|s| s.side == next_side)?;
        let both = [self.ends[index][FlangeSide::Left.index()], self.ends[next][FlangeSide::Right.index()]];
        (both == [End::Corner; 2]).then_some(next)
    }

    /// Where the first side begins: at the corner, or where a relief cut there ends.
    fn outline_start(&self) -> Point2 {
        let first = self.seats.iter().position(|s| s.side == 0);
        match first.filter(|&i| self.corner_cut(i, FlangeSide::Right).size > 0.0) {
            Some(first) => self.stop_at(first, FlangeSide::Right),
            None => self.corners[0],
        }
    }

    /// The panel's outline with creases and reliefs.
    fn contour(&self, labels: &mut Labels) -> Result<Contour, FoldFault> {
        let given = &self.given;
        let panel = &given.posed.skeleton.panels()[given.id.index()];
        let roles = panel.edge_roles();
        let mut path = Path::from(self.outline_start());
        for (index, side) in given.drawn.sides.iter().enumerate() {
            let end = self.corners[(index + 1) % self.corners.len()];
            if let (0, Some(crease)) = (index, given.drawn.crease) {
                let ledge = labels.tag(EdgeLabel::Relief(panel.name.clone()));
                path.line_to(Point2::new(crease.from, 0.0), ledge);
                let root = labels.tag(EdgeLabel::CreaseEnd(bend_of_panel(given.id)));
                path.line_to(Point2::new(crease.to, 0.0), root);
                path.line_to(end, ledge);
                continue;
            }
            let edge = labels.tag(EdgeLabel::Edge(panel.name.edge(roles[side.edge])));
            let mut on_drawn_line = true;
            let on_side: Vec<usize> =
                (0..self.seats.len()).filter(|&i| self.seats[i].side == index).collect();
            for (place, &i) in on_side.iter().enumerate() {
                let (seat, [left, right], crease) = (&self.seats[i], self.ends[i], &self.creases[i]);
                let relief = match seat.relief.shape {
                    // Nothing is cut beside the bend: the edge keeps its name.
                    CutShape::Level => edge,
                    CutShape::Square | CutShape::Round => {
                        labels.tag(EdgeLabel::Relief(given.name(seat.panel)))
                    }
                };
                let before = place.checked_sub(1).map(|k| &self.seats[on_side[k]]);
                if let Some(before) = before.filter(|_| seat.relief.shape == CutShape::Level) {
                    // The stretch between two bends lies at the start of the deeper one.
                    let level = before.bend.setback.max(seat.bend.setback);
                    path.line_to(before.at(self.creases[on_side[place - 1]].from, level), edge);
                    path.line_to(seat.at(crease.to, level), edge);
                }
                path.relief(seat, FlangeSide::Right, right, crease.to, edge, relief);
                path.line_to(crease.to_point, relief);
                path.line_to(
                    crease.from_point,
                    labels.tag(EdgeLabel::CreaseStart(bend_of_panel(seat.panel))),
                );
                path.relief(seat, FlangeSide::Left, left, crease.from, edge, relief);
                on_drawn_line = matches!(left, End::Within { .. });
                if on_drawn_line || place + 1 < on_side.len() {
                    continue;
                }
                let cut = self.corner_cut(i, FlangeSide::Left);
                match self.next_at_corner(i).filter(|_| cut.size > 0.0) {
                    Some(next) => {
                        let stops =
                            [self.stop_at(i, FlangeSide::Left), self.stop_at(next, FlangeSide::Right)];
                        path.corner(cut, end, stops, relief);
                    }
                    None => path.line_to(end, relief),
                }
            }
            if on_drawn_line {
                path.along(side.piece, end, edge);
            }
        }
        let contour = path.close()?;
        match first_self_contact(&contour) {
            Some(contact) => {
                Err(FoldFault::PanelCrossesItself { panel: panel.name.clone(), at: contact.point })
            }
            None => Ok(contour),
        }
    }
}

impl Given<'_, '_> {
    /// Where a side of a flange runs.
    fn flange_line(
        &self,
        rule: &Corners<'_, '_>,
        ends: &[[End; 2]],
        corners: &[Point2],
        index: usize,
        end: FlangeSide,
    ) -> EndLine {
        let seat = &rule.seats[index];
        if let Some(line) = seat.cuts[end.index()] {
            return line;
        }
        if let Some(shape) = self.shapes.get(&seat.panel) {
            return EndLine { foot: shape.foot(end), outward_lean: 0.0 };
        }
        let taper = seat.taper(end).evaluate(self.posed.free);
        let outward_lean = -maths::tan(taper * (maths::PI / 180.0));
        if self.carries_flange(seat.panel, end) {
            // A side that is bent itself stays as drawn, so that its own flange stands where it was asked for.
            let foot = self.posed.pose.panel(seat.panel).corners[end.index()][0];
            return EndLine { foot, outward_lean };
        }
        match ends[index][end.index()] {
            End::Within { x } | End::WithinOpen { x } => EndLine { foot: x, outward_lean },
            End::Corner => {
                let corner = seat.x_of(corner_at(corners, seat.side, end));
                match self.seam_at(rule, ends, seat, end) {
                    None => EndLine { foot: corner, outward_lean },
                    Some((seam, radius)) => {
                        // A neighbour that hardly leaves the panel's plane would be met far out: the side
                        // stands out by no more than it has to between two equal turns, the inside radius,
                        // and leans outwards only as far as its taper asks.
                        let farthest = corner + end.sign() * radius;
                        let foot =
                            if (seam.foot - farthest) * end.sign() > 0.0 { farthest } else { seam.foot };
                        EndLine { foot, outward_lean: seam.outward_lean.min(outward_lean) }
                    }
                }
            }
        }
    }

    /// What is cut at each corner: where two bends meet that say so, what they ask for, the larger size of the
    /// two; nothing elsewhere.
    fn corner_cuts(&self, rule: &Corners<'_, '_>, ends: &[[End; 2]]) -> Result<Vec<CornerCut>, FoldFault> {
        let count = self.drawn.sides.len();
        let meeting = |side: usize, end: FlangeSide| {
            rule.seat_at(side, end).filter(|&i| ends[i][end.index()] == End::Corner).map(|i| &rule.seats[i])
        };
        let cut = |after: usize| {
            let before = meeting((after + count - 1) % count, FlangeSide::Left);
            let Some((a, b)) = before.zip(meeting(after, FlangeSide::Right)) else {
                return Ok(CornerCut::TEAR);
            };
            match (a.corner, b.corner) {
                (Some(own), Some(other)) if own.shape != other.shape => {
                    let (a, b) = (a.panel.min(b.panel), a.panel.max(b.panel));
                    Err(FoldFault::CornerReliefsDiffer { a: self.name(a), b: self.name(b) })
                }
                (Some(own), Some(other)) => Ok(CornerCut { size: own.size.max(other.size), ..own }),
                (own, other) => Ok(own.or(other).unwrap_or(CornerCut::TEAR)),
            }
        };
        (0..count).map(cut).collect()
    }

    fn carries_flange(&self, panel: PanelId, end: FlangeSide) -> bool {
        let role = match end {
            FlangeSide::Right => "right",
            FlangeSide::Left => "left",
        };
        let skeleton = self.posed.skeleton;
        let wanted = skeleton.panels()[panel.index()].edge_index(role);
        skeleton.panels().iter().any(|p| {
            matches!(p.source, Source::Flange { parent, edge, .. }
                if skeleton.root(parent) == panel && Some(edge) == wanted)
        })
    }

    /// The seam with the neighbouring flange, and the larger inside radius of the two, in mm.
    fn seam_at(
        &self,
        rule: &Corners<'_, '_>,
        ends: &[[End; 2]],
        seat: &Seat<'_>,
        end: FlangeSide,
    ) -> Option<(EndLine, f64)> {
        let other_index = rule.seat_at(rule.neighbour_side(seat, end), end.opposite())?;
        let other = &rule.seats[other_index];
        let met = ends[other_index][end.opposite().index()] == End::Corner;
        if !met || other.flange.side != seat.flange.side {
            return None;
        }
        let gap = |s: &Seat<'_>| s.flange.corner_gap.evaluate(self.posed.free);
        let sheet_end = |panel: PanelId, end: FlangeSide| SheetEnd {
            frame: self.posed.pose.panel(panel).placement,
            inward: Vec2::new(-end.sign(), 0.0),
            thickness: self.posed.thickness,
        };
        let ends = [sheet_end(seat.panel, end), sheet_end(other.panel, end.opposite())];
        let line = meet(&ends[0], &ends[1], gap(seat).max(gap(other))).ok()?.end_line(end);
        Some((line, seat.bend.inside_radius.max(other.bend.inside_radius)))
    }
}

/// What belongs to the panel's corner at an end of a side.
fn corner_at<T: Copy>(corners: &[T], side: usize, end: FlangeSide) -> T {
    match end {
        FlangeSide::Right => corners[side],
        FlangeSide::Left => corners[(side + 1) % corners.len()],
    }
}

/// Where a bend ends: at the panel's corner or `stop` mm before it, at the relief, or where the flange's own side begins if that
/// comes first; with the point in the panel's frame.
fn crease_end(
    seat: &Seat<'_>,
    side: FlangeSide,
    end: End,
    foot: f64,
    corner: Point2,
    stop: f64,
) -> (f64, Point2) {
    let bare = match end {
        End::Corner => seat.x_of(corner) - side.sign() * stop,
        End::Within { x } | End::WithinOpen { x } => x,
    };
    let cut_short = (bare - foot) * side.sign() > tolerance::SNAP_MM;
    if end == End::Corner && stop <= 0.0 && !cut_short {
        return (bare, corner);
    }
    let x = if cut_short { foot } else { bare };
    (x, seat.at(x, seat.bend.setback))
}
