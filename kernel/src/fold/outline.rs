//! Real outlines of the flat panels: drawn edges moved back where a flange is bent from them, corners
//! between neighbouring flanges, reliefs beside bends that end within their edge.
//!
//! Depths count from a drawn edge inwards, places along an edge by the x of the flange on it (from right
//! to left as the panel's outline runs counter-clockwise).
//! Invariant: for every flange the panel's outline holds exactly one crease piece, from the crease's
//! `to_point` to its `from_point`; the flange's own outline has the same crease at y = 0 between `from` and
//! `to`.

use crate::dimension::{Pose, Skeleton, Source};
use crate::geom::{Contour, Curve, Point2, Region, Segment, Tag, Vec2, first_self_contact};
use crate::history::feature::ReliefShape;
use crate::history::{EdgeName, PanelName};
use crate::ident::{BendId, PanelId};
use crate::quantity::{maths, tolerance};

use super::bend_ends::{Corners, End};
use super::corner_seam::{EndLine, FlangeSide, inner_face_depth, seam};
use super::outline_path::Path;
use super::profile_shape::{meet_line, outline_pieces};
use super::seat::{Drawn, Seat, Side};
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

/// Outlines of all panels, in order. A panel whose parent has no outline has none either.
pub(super) fn outlines(
    skeleton: &Skeleton<'_>,
    pose: &Pose<f64>,
    free: &[f64],
    thickness: f64,
    labels: &mut Labels,
) -> Result<Vec<Outline>, Vec<(PanelId, FoldFault)>> {
    let mut drawn: Vec<Option<Drawn>> = vec![None; skeleton.panels().len()];
    let mut made = Vec::with_capacity(drawn.len());
    let mut faults = Vec::new();
    for (index, panel) in skeleton.panels().iter().enumerate() {
        let id = PanelId::new(index);
        match panel.source {
            Source::Base(base) => {
                let pieces = outline_pieces(panel.name.as_str(), &base.outline, free);
                match pieces.and_then(|pieces| grown_sides(skeleton, pose, id, pieces)) {
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
        let plan = match PanelPlan::new(Given { id, drawn: &own, skeleton, pose, free, thickness }) {
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
    if faults.is_empty() { Ok(made) } else { Err(faults) }
}

fn child_of(skeleton: &Skeleton<'_>, id: PanelId) -> Option<PanelId> {
    let mut sources = skeleton.panels().iter().map(|p| p.source);
    sources
        .position(|source| matches!(source, Source::Flange { parent, .. } if parent == id))
        .map(PanelId::new)
}

/// The sides of a base panel, with the corners behind lines where the growth puts them.
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
    skeleton: &'a Skeleton<'h>,
    pose: &'a Pose<f64>,
    free: &'a [f64],
    thickness: f64,
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
    /// Where the left and right sides of each flange run.
    lines: Vec<[EndLine; 2]>,
    creases: Vec<CreaseSpan>,
}

impl<'h> Given<'h, '_> {
    fn name(&self, panel: PanelId) -> PanelName {
        self.skeleton.panels()[panel.index()].name.clone()
    }

    fn edge_name(&self, side: usize) -> EdgeName {
        let panel = &self.skeleton.panels()[self.id.index()];
        panel.name.edge(panel.edge_roles()[self.drawn.sides[side].edge])
    }

    /// The flanges on this panel.
    fn seats(&self) -> Result<Vec<Seat<'h>>, FoldFault> {
        let mut seats = Vec::new();
        for (index, panel) in self.skeleton.panels().iter().enumerate() {
            let Source::Flange { flange, parent, edge, .. } = panel.source else { continue };
            if self.skeleton.root(parent) != self.id {
                continue;
            }
            let id = PanelId::new(index);
            let bend = self.pose.panel(id).bend.expect("a flange has a bend");
            let bend = bend.in_flat(&self.pose.panel(parent).in_flat);
            let side = self.drawn.sides.iter().position(|s| s.edge == edge);
            let side = side.expect("every drawn edge is a side of the outline");
            let seat = Seat::new(id, flange, side, bend, self.thickness, self.free);
            let needed = 0.5 * seat.relief.width;
            let depth = bend.setback + seat.relief.depth;
            if seat.relief.shape == ReliefShape::Round && depth < needed - tolerance::SNAP_MM {
                return Err(FoldFault::ReliefTooShallow { panel: panel.name.clone(), depth, needed });
            }
            seats.push(seat);
        }
        let middle = |s: &Seat<'_>| {
            let inset = |end| s.asked(end).inset.evaluate(self.free);
            0.5 * (inset(FlangeSide::Left) + s.bend.edge_length - inset(FlangeSide::Right))
        };
        seats.sort_by(|a, b| {
            a.side.cmp(&b.side).then(middle(b).total_cmp(&middle(a))).then(a.panel.cmp(&b.panel))
        });
        Ok(seats)
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
            thickness: given.thickness,
            free: given.free,
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
        let creases = (0..seats.len())
            .map(|i| {
                let [(from, from_point), (to, to_point)] = both.map(|end| {
                    let corner = corner_at(&corners, seats[i].side, end);
                    crease_end(&seats[i], end, ends[i][end.index()], lines[i][end.index()].foot, corner)
                });
                CreaseSpan { from, to, from_point, to_point }
            })
            .collect();
        let plan = Self { given, seats, ends, corners, lines, creases };
        plan.check_room()?;
        Ok(plan)
    }

    /// Every flange has some width, and neighbours on one edge leave room for their reliefs.
    fn check_room(&self) -> Result<(), FoldFault> {
        for (i, seat) in self.seats.iter().enumerate() {
            let (crease, edge_length) = (&self.creases[i], seat.bend.edge_length);
            let (panel, edge) = (self.given.name(seat.panel), self.given.edge_name(seat.side));
            if crease.to - crease.from <= tolerance::SNAP_MM {
                let taken = edge_length - (crease.to - crease.from);
                return Err(FoldFault::NoWidth { panel, edge, edge_length, taken });
            }
            for (end, x) in [(FlangeSide::Left, crease.from), (FlangeSide::Right, crease.to)] {
                let corner = corner_at(&self.corners, seat.side, end);
                let room = (seat.x_of(corner) - x) * end.sign();
                let needed = match self.ends[i][end.index()] {
                    End::Corner | End::WithinOpen { .. } => 0.0,
                    End::Within { .. } => seat.relief.width,
                };
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
            let needed = a.relief.width + b.relief.width;
            if room < needed - tolerance::SNAP_MM {
                let (a, b) = (self.given.name(a.panel), self.given.name(b.panel));
                return Err(FoldFault::FlangesTooNear { a, b, room, needed });
            }
        }
        Ok(())
    }

    /// The flanges' own outlines as drawn: bend end, right, tip, left.
    fn drawn_flanges(&self) -> Vec<(PanelId, Result<Drawn, FoldFault>)> {
        (0..self.seats.len()).map(|i| (self.seats[i].panel, self.drawn_flange(i))).collect()
    }

    fn drawn_flange(&self, index: usize) -> Result<Drawn, FoldFault> {
        let [left, right] = self.lines[index];
        let panel = self.seats[index].panel;
        let posed = self.given.pose.panel(panel);
        let flat = self.seats[index].bend.flat;
        let mut p = [
            Point2::new(left.foot, 0.0),
            Point2::new(right.foot, 0.0),
            Point2::new(right.foot + right.outward_lean * flat, flat),
            Point2::new(left.foot - left.outward_lean * flat, flat),
        ];
        if p[2].x - p[3].x <= tolerance::SNAP_MM {
            let closing = -(left.outward_lean + right.outward_lean);
            let meet_at = (right.foot - left.foot) / closing;
            return Err(FoldFault::SidesMeet { panel: self.given.name(panel), flat, meet_at });
        }
        for (corner, &[x, y]) in p.iter_mut().zip(&posed.corner_shifts) {
            *corner = *corner + Vec2::new(x, y);
        }
        let side = |i: usize| Side { edge: i, piece: Segment::line(p[i], p[(i + 1) % 4], Tag::default()) };
        Ok(Drawn { sides: (0..4).map(side).collect(), crease: Some(self.creases[index]) })
    }

    /// The panel's outline with creases and reliefs.
    fn contour(&self, labels: &mut Labels) -> Result<Contour, FoldFault> {
        let given = &self.given;
        let panel = &given.skeleton.panels()[given.id.index()];
        let roles = panel.edge_roles();
        let mut path = Path::from(self.corners[0]);
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
            for (i, seat) in self.seats.iter().enumerate().filter(|(_, s)| s.side == index) {
                let ([left, right], crease) = (self.ends[i], &self.creases[i]);
                let relief = labels.tag(EdgeLabel::Relief(given.name(seat.panel)));
                path.relief(seat, FlangeSide::Right, right, crease.to, edge, relief);
                path.line_to(crease.to_point, relief);
                path.line_to(
                    crease.from_point,
                    labels.tag(EdgeLabel::CreaseStart(bend_of_panel(seat.panel))),
                );
                path.relief(seat, FlangeSide::Left, left, crease.from, edge, relief);
                on_drawn_line = matches!(left, End::Within { .. });
                if !on_drawn_line {
                    path.line_to(end, relief);
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
        let taper = seat.asked(end).taper.evaluate(self.free);
        let outward_lean = -maths::tan(taper * (maths::PI / 180.0));
        if self.carries_flange(seat.panel, end) {
            // A side that is bent itself stays as drawn, so that its own flange stands where it was asked for.
            let foot = self.pose.panel(seat.panel).corners[end.index()][0];
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

    fn carries_flange(&self, panel: PanelId, end: FlangeSide) -> bool {
        let role = match end {
            FlangeSide::Right => "right",
            FlangeSide::Left => "left",
        };
        let wanted = self.skeleton.panels()[panel.index()].edge_index(role);
        self.skeleton.panels().iter().any(|p| {
            matches!(p.source, Source::Flange { parent, edge, .. }
                if self.skeleton.root(parent) == panel && Some(edge) == wanted)
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
        let gap = |s: &Seat<'_>| s.flange.corner_gap.evaluate(self.free);
        let line = seam(
            self.pose.panel(seat.panel).placement,
            self.pose.panel(other.panel).placement,
            end,
            inner_face_depth(seat.flange.side, self.thickness),
            gap(seat).max(gap(other)),
        )?;
        Some((line, seat.bend.inside_radius.max(other.bend.inside_radius)))
    }
}

/// The panel's corner at an end of a side.
fn corner_at(corners: &[Point2], side: usize, end: FlangeSide) -> Point2 {
    match end {
        FlangeSide::Right => corners[side],
        FlangeSide::Left => corners[(side + 1) % corners.len()],
    }
}

/// Where a bend ends: at the panel's corner, at the relief, or where the flange's own side begins if that
/// comes first; with the point in the panel's frame.
fn crease_end(seat: &Seat<'_>, side: FlangeSide, end: End, foot: f64, corner: Point2) -> (f64, Point2) {
    let bare = match end {
        End::Corner => seat.x_of(corner),
        End::Within { x } | End::WithinOpen { x } => x,
    };
    let cut_short = (bare - foot) * side.sign() > tolerance::SNAP_MM;
    if end == End::Corner && !cut_short {
        return (bare, corner);
    }
    let x = if cut_short { foot } else { bare };
    (x, seat.at(x, seat.bend.setback))
}
