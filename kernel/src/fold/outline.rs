//! Real outlines of the flat panels: drawn edges moved back where a flange is bent from them, corners
//! between neighbouring flanges, reliefs beside bends that end within their edge.
//!
//! Depths count from a drawn edge inwards, places along an edge by the x of the flange on it (from right
//! to left as the panel's outline runs counter-clockwise).
//! Invariant: for every flange the panel's outline holds exactly one crease piece, from the crease's
//! `to_point` to its `from_point`; the flange's own outline has the same crease at y = 0 between `from` and
//! `to`.

use crate::dimension::{BendPose, Pose, Skeleton, Source};
use crate::geom::{ArcTurn, Contour, Point2, Region, Segment, Tag, Vec2, first_self_contact};
use crate::history::feature::{Flange, ReliefShape};
use crate::ident::{BendId, PanelId};
use crate::quantity::{maths, tolerance};

use super::corner_seam::{EndLine, FlangeSide, inner_face_depth, seam};
use super::profile_shape::{meet_line, outline_pieces};
use super::{Crease, EdgeLabel, FoldFault, Labels};

/// The outline of one panel, and the crease of the bend it hangs on.
pub(super) struct Outline {
    pub(super) region: Region,
    pub(super) crease: Option<Crease>,
}

/// Smallest relief width in mm. Source: fabrication-service guideline `width ≥ max(t, 0.030 in)`.
const RELIEF_WIDTH_MM: f64 = 0.762;

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
        if let Source::Base(base) = panel.source {
            match outline_pieces(panel.name.as_str(), &base.outline, free) {
                Ok(pieces) => drawn[index] = Some(Drawn { sides: sides_in_order(pieces), crease: None }),
                Err(fault) => faults.push((id, fault)),
            }
        }
        let Some(own) = drawn[index].clone() else { continue };
        let mut plan = PanelPlan::new(id, &own, skeleton, pose, free, thickness);
        if let Err(fault) = plan.resolve() {
            faults.push((id, fault));
            continue;
        }
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

/// A panel as drawn, before its own flanges take their part: sides counter-clockwise.
#[derive(Clone, Debug)]
struct Drawn {
    sides: Vec<Side>,
    /// Of the bend it hangs on; its side is the first one.
    crease: Option<Crease>,
}

#[derive(Clone, Copy, Debug)]
struct Side {
    /// Index of the drawn edge in the skeleton's panel.
    edge: usize,
    piece: Segment,
}

fn sides_in_order(pieces: Vec<(usize, Segment)>) -> Vec<Side> {
    pieces.into_iter().map(|(edge, piece)| Side { edge, piece }).collect()
}

/// How a flange ends on its edge.
#[derive(Clone, Copy, Debug, PartialEq)]
enum End {
    /// At the panel's corner.
    Corner,
    /// Within the edge at this x, with a relief beside it.
    Within { x: f64 },
    /// So near to the corner that the relief opens into the neighbouring edge.
    WithinOpen { x: f64 },
}

/// Sizes of the relief beside a bend, in mm.
#[derive(Clone, Copy, Debug)]
struct ReliefSize {
    shape: ReliefShape,
    width: f64,
    depth: f64,
}

/// One flange on a side of the panel at hand.
struct Child<'h> {
    panel: PanelId,
    flange: &'h Flange,
    side: usize,
    bend: BendPose<f64>,
    relief: ReliefSize,
    left: End,
    right: End,
    /// Where its left and right sides run.
    lines: [EndLine; 2],
    crease: Crease,
}

impl Child<'_> {
    fn end(&self, side: FlangeSide) -> End {
        match side {
            FlangeSide::Left => self.left,
            FlangeSide::Right => self.right,
        }
    }

    /// Depth of the side's line where the flange ends there.
    fn depth_at(&self, side: FlangeSide) -> f64 {
        match self.end(side) {
            End::Corner => self.bend.setback,
            End::Within { .. } => 0.0,
            End::WithinOpen { .. } => self.bend.setback + self.relief.depth,
        }
    }

    /// The point at this x and depth inwards of the drawn edge, in the panel's frame.
    fn at(&self, x: f64, depth: f64) -> Point2 {
        let along = Vec2::new(self.bend.along[0], self.bend.along[1]);
        let outward = Vec2::new(self.bend.outward[0], self.bend.outward[1]);
        let crease = Point2::new(self.bend.origin[0], self.bend.origin[1]);
        crease + along * x + outward * (self.bend.setback - depth)
    }

    /// Where the bend ends: at the panel's corner, at the relief, or where the flange's own side begins if
    /// that comes first; with the point in the panel's frame.
    fn crease_end(&self, end: FlangeSide, foot: f64, corner: Point2) -> (f64, Point2) {
        let bare = match self.end(end) {
            End::Corner => self.x_of(corner),
            End::Within { x } | End::WithinOpen { x } => x,
        };
        let cut_short = (bare - foot) * end.sign() > tolerance::SNAP_MM;
        match self.end(end) {
            End::Corner if !cut_short => (bare, corner),
            End::Corner | End::Within { .. } | End::WithinOpen { .. } => {
                let x = if cut_short { foot } else { bare };
                (x, self.at(x, self.bend.setback))
            }
        }
    }

    fn x_of(&self, p: Point2) -> f64 {
        (p - Point2::new(self.bend.origin[0], self.bend.origin[1]))
            .dot(Vec2::new(self.bend.along[0], self.bend.along[1]))
    }
}

/// What happens to one panel's outline.
struct PanelPlan<'h, 'a> {
    id: PanelId,
    drawn: &'a Drawn,
    skeleton: &'a Skeleton<'h>,
    pose: &'a Pose<f64>,
    free: &'a [f64],
    thickness: f64,
    /// In the order in which the outline meets them.
    children: Vec<Child<'h>>,
    /// Where the outline turns from side `i − 1` to side `i`.
    corners: Vec<Point2>,
}

impl<'h, 'a> PanelPlan<'h, 'a> {
    fn new(
        id: PanelId,
        drawn: &'a Drawn,
        skeleton: &'a Skeleton<'h>,
        pose: &'a Pose<f64>,
        free: &'a [f64],
        thickness: f64,
    ) -> Self {
        Self { id, drawn, skeleton, pose, free, thickness, children: Vec::new(), corners: Vec::new() }
    }

    fn side_of_edge(&self, edge: usize) -> usize {
        self.drawn
            .sides
            .iter()
            .position(|s| s.edge == edge)
            .expect("every drawn edge is a side of the outline")
    }

    /// Finds where every flange begins and ends, and from that the panel's corners.
    fn resolve(&mut self) -> Result<(), FoldFault> {
        for (index, panel) in self.skeleton.panels().iter().enumerate() {
            let Source::Flange { flange, parent, edge } = panel.source else { continue };
            if parent != self.id {
                continue;
            }
            let child = PanelId::new(index);
            let bend = self.pose.panel(child).bend.expect("a flange has a bend");
            let relief = self.relief_size(flange, &bend);
            let side = self.side_of_edge(edge);
            let mut made = Child {
                panel: child,
                flange,
                side,
                bend,
                relief,
                left: End::Corner,
                right: End::Corner,
                lines: [EndLine { foot: 0.0, outward_lean: 0.0 }; 2],
                crease: Crease { from: 0.0, to: 0.0, from_point: Point2::ORIGIN, to_point: Point2::ORIGIN },
            };
            made.left = self.end_of(&made, FlangeSide::Left);
            made.right = self.end_of(&made, FlangeSide::Right);
            self.children.push(made);
        }
        let middle = |c: &Child<'_>| {
            0.5 * (c.flange.left.inset.evaluate(self.free) + c.bend.edge_length
                - c.flange.right.inset.evaluate(self.free))
        };
        self.children.sort_by(|a, b| {
            a.side.cmp(&b.side).then(middle(b).total_cmp(&middle(a))).then(a.panel.cmp(&b.panel))
        });
        self.corners = self.find_corners()?;
        self.check_sides()?;
        let lines: Vec<[EndLine; 2]> = self.children.iter().map(|c| self.flange_ends(c)).collect();
        let count = self.corners.len();
        for (child, lines) in self.children.iter_mut().zip(lines) {
            let (start, next) = (self.corners[child.side], self.corners[(child.side + 1) % count]);
            let (from, from_point) = child.crease_end(FlangeSide::Left, lines[0].foot, next);
            let (to, to_point) = child.crease_end(FlangeSide::Right, lines[1].foot, start);
            child.lines = lines;
            child.crease = Crease { from, to, from_point, to_point };
        }
        self.check_room()
    }

    /// The flanges' own outlines as drawn: bend end, right, tip, left.
    fn drawn_flanges(&self) -> Vec<(PanelId, Result<Drawn, FoldFault>)> {
        self.children.iter().map(|child| (child.panel, self.drawn_flange(child))).collect()
    }

    /// Default sizes: width `max(t, 0.762 mm)` (fabrication-service guideline), depth `t + r` past the start
    /// of the bend (common practice, no source).
    fn relief_size(&self, flange: &Flange, bend: &BendPose<f64>) -> ReliefSize {
        let size = |number: &Option<crate::history::Number>, rule: f64| {
            number.as_ref().map_or(rule, |n| n.evaluate(self.free))
        };
        let width = size(&flange.relief.width, self.thickness.max(RELIEF_WIDTH_MM));
        let depth = size(&flange.relief.depth, (self.thickness + bend.inside_radius).max(0.5 * width));
        ReliefSize { shape: flange.relief.shape, width, depth }
    }

    /// The sides that meet at the end of a flange: the one before the corner and the one after.
    fn sides_at(&self, child: &Child<'_>, end: FlangeSide) -> (usize, usize) {
        let count = self.drawn.sides.len();
        match end {
            FlangeSide::Right => ((child.side + count - 1) % count, child.side),
            FlangeSide::Left => (child.side, (child.side + 1) % count),
        }
    }

    /// The side that meets the flange's own one at its end.
    fn neighbour(&self, child: &Child<'_>, end: FlangeSide) -> usize {
        let (before, after) = self.sides_at(child, end);
        if before == child.side { after } else { before }
    }

    fn end_of(&self, child: &Child<'_>, end: FlangeSide) -> End {
        let asked = match end {
            FlangeSide::Left => &child.flange.left.inset,
            FlangeSide::Right => &child.flange.right.inset,
        }
        .evaluate(self.free);
        let (before, after) = self.sides_at(child, end);
        let (incoming, outgoing) =
            (self.drawn.sides[before].piece.end_direction(), self.drawn.sides[after].piece.start_direction());
        // Above zero where the outline turns left, at a convex corner.
        let convex = incoming.cross(outgoing) > tolerance::PARALLEL;
        let beside_root = self.drawn.crease.is_some() && self.neighbour(child, end) == 0;
        // A bend must not run into sheet that goes on beside it: it stops a relief short of that.
        let least = if beside_root {
            child.relief.width + self.thickness
        } else if convex {
            0.0
        } else {
            child.relief.width
        };
        let inset = asked.max(least);
        let x = match end {
            FlangeSide::Left => inset,
            FlangeSide::Right => child.bend.edge_length - inset,
        };
        if inset <= tolerance::SNAP_MM {
            End::Corner
        } else if convex && !beside_root && inset <= child.relief.width + tolerance::SNAP_MM {
            End::WithinOpen { x }
        } else {
            End::Within { x }
        }
    }

    /// The flange that ends at the corner between side `before` and the next one, on the given side.
    fn flange_at(&self, side: usize, end: FlangeSide) -> Option<&Child<'h>> {
        // Counter-clockwise a side starts at the right end of its flanges.
        let mut on_side = self.children.iter().filter(|c| c.side == side);
        match end {
            FlangeSide::Right => on_side.next(),
            FlangeSide::Left => on_side.next_back(),
        }
    }

    fn depth_at(&self, side: usize, end: FlangeSide) -> f64 {
        self.flange_at(side, end).map_or(0.0, |c| c.depth_at(end))
    }

    fn find_corners(&self) -> Result<Vec<Point2>, FoldFault> {
        let sides = &self.drawn.sides;
        (0..sides.len())
            .map(|after| {
                let before = (after + sides.len() - 1) % sides.len();
                let corner = sides[after].piece.start;
                let (in_depth, out_depth) =
                    (self.depth_at(before, FlangeSide::Left), self.depth_at(after, FlangeSide::Right));
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

    fn edge_name(&self, side: usize) -> crate::history::EdgeName {
        let panel = &self.skeleton.panels()[self.id.index()];
        panel.name.edge(panel.edge_roles()[self.drawn.sides[side].edge])
    }

    /// Every side still runs the way it was drawn after its ends were moved.
    fn check_sides(&self) -> Result<(), FoldFault> {
        for (index, side) in self.drawn.sides.iter().enumerate() {
            let (start, end) = (self.corners[index], self.corners[(index + 1) % self.corners.len()]);
            let moved = start != side.piece.start || end != side.piece.end;
            let left = (end - start).dot(side.piece.end - side.piece.start);
            let on_line = matches!(side.piece.curve, crate::geom::Curve::Line);
            if moved && on_line && left <= tolerance::SNAP_MM {
                let length = side.piece.start.distance(side.piece.end);
                let taken = length - left / length;
                return Err(FoldFault::EdgeEatenUp { edge: self.edge_name(index), length, taken });
            }
        }
        Ok(())
    }

    /// Where the flange's two ends run.
    fn flange_ends(&self, child: &Child<'_>) -> [EndLine; 2] {
        [FlangeSide::Left, FlangeSide::Right].map(|end| self.flange_end(child, end))
    }

    fn flange_end(&self, child: &Child<'_>, end: FlangeSide) -> EndLine {
        let taper = match end {
            FlangeSide::Left => &child.flange.left.taper,
            FlangeSide::Right => &child.flange.right.taper,
        };
        let tapered = -maths::tan(taper.evaluate(self.free) * (maths::PI / 180.0));
        if self.carries_flange(child.panel, end) {
            // A side that is bent itself stays as drawn, so that its own flange stands where it was asked for.
            let pose = self.pose.panel(child.panel);
            let foot = match end {
                FlangeSide::Left => pose.corners[0][0],
                FlangeSide::Right => pose.corners[1][0],
            };
            return EndLine { foot, outward_lean: tapered };
        }
        let count = self.corners.len();
        match child.end(end) {
            End::Within { x } | End::WithinOpen { x } => EndLine { foot: x, outward_lean: tapered },
            End::Corner => {
                let corner = match end {
                    FlangeSide::Right => self.corners[child.side],
                    FlangeSide::Left => self.corners[(child.side + 1) % count],
                };
                let plain = EndLine { foot: child.x_of(corner), outward_lean: tapered };
                match self.seam_at(child, end) {
                    None => plain,
                    // Without a taper of its own the side follows the neighbour, outwards too.
                    Some(seam) if tapered == 0.0 => seam,
                    Some(seam) => EndLine { foot: seam.foot, outward_lean: seam.outward_lean.min(tapered) },
                }
            }
        }
    }

    fn carries_flange(&self, panel: PanelId, end: FlangeSide) -> bool {
        let wanted = match end {
            FlangeSide::Right => 1,
            FlangeSide::Left => 3,
        };
        self.skeleton.panels().iter().any(
            |p| matches!(p.source, Source::Flange { parent, edge, .. } if parent == panel && edge == wanted),
        )
    }

    fn seam_at(&self, child: &Child<'_>, end: FlangeSide) -> Option<EndLine> {
        let other_end = match end {
            FlangeSide::Left => FlangeSide::Right,
            FlangeSide::Right => FlangeSide::Left,
        };
        let other = self.flange_at(self.neighbour(child, end), other_end)?;
        if other.end(other_end) != End::Corner || other.flange.side != child.flange.side {
            return None;
        }
        let gap = |f: &Flange| f.corner_gap.evaluate(self.free);
        seam(
            self.pose.panel(child.panel).placement,
            self.pose.panel(other.panel).placement,
            end,
            inner_face_depth(child.flange.side, self.thickness),
            gap(child.flange).max(gap(other.flange)),
        )
    }

    /// Every flange has some width, and neighbours on one edge leave room for their reliefs.
    fn check_room(&self) -> Result<(), FoldFault> {
        let name = |c: &Child<'_>| self.skeleton.panels()[c.panel.index()].name.clone();
        for child in &self.children {
            if child.crease.to - child.crease.from <= tolerance::SNAP_MM {
                return Err(FoldFault::NoWidth {
                    panel: name(child),
                    edge: self.edge_name(child.side),
                    edge_length: child.bend.edge_length,
                    taken: child.bend.edge_length - (child.crease.to - child.crease.from),
                });
            }
            let width = |end: End| match end {
                End::Corner | End::WithinOpen { .. } => 0.0,
                End::Within { .. } => child.relief.width,
            };
            let (start, next) =
                (self.corners[child.side], self.corners[(child.side + 1) % self.corners.len()]);
            let room_right = child.x_of(start) - child.crease.to;
            let room_left = child.crease.from - child.x_of(next);
            for (room, needed) in [(room_right, width(child.right)), (room_left, width(child.left))] {
                if room < needed - tolerance::SNAP_MM {
                    return Err(FoldFault::NoRoomForRelief {
                        panel: name(child),
                        edge: self.edge_name(child.side),
                        room,
                        needed,
                    });
                }
            }
        }
        for pair in self.children.windows(2) {
            let [a, b] = pair else { continue };
            if a.side != b.side {
                continue;
            }
            let room = a.crease.from - b.crease.to;
            let needed = a.relief.width + b.relief.width;
            if room < needed - tolerance::SNAP_MM {
                return Err(FoldFault::FlangesTooNear { a: name(a), b: name(b), room, needed });
            }
        }
        Ok(())
    }

    fn drawn_flange(&self, child: &Child<'_>) -> Result<Drawn, FoldFault> {
        let [left, right] = child.lines;
        let flat = self.pose.panel(child.panel).corners[2][1];
        let p = [
            Point2::new(left.foot, 0.0),
            Point2::new(right.foot, 0.0),
            Point2::new(right.foot + right.outward_lean * flat, flat),
            Point2::new(left.foot - left.outward_lean * flat, flat),
        ];
        if p[2].x - p[3].x <= tolerance::SNAP_MM {
            let name = self.skeleton.panels()[child.panel.index()].name.clone();
            let closing = -(left.outward_lean + right.outward_lean);
            return Err(FoldFault::SidesMeet {
                panel: name,
                flat,
                meet_at: (right.foot - left.foot) / closing,
            });
        }
        let side = |i: usize| Side { edge: i, piece: Segment::line(p[i], p[(i + 1) % 4], Tag::default()) };
        Ok(Drawn { sides: (0..4).map(side).collect(), crease: Some(child.crease) })
    }

    /// The panel's outline with creases and reliefs.
    fn contour(&self, labels: &mut Labels) -> Result<Contour, FoldFault> {
        let panel = &self.skeleton.panels()[self.id.index()];
        let roles = panel.edge_roles();
        let mut path = Path { pieces: Vec::new(), at: self.corners[0] };
        for (index, side) in self.drawn.sides.iter().enumerate() {
            let end = self.corners[(index + 1) % self.corners.len()];
            if let (0, Some(crease)) = (index, self.drawn.crease) {
                let ledge = labels.tag(EdgeLabel::Relief(panel.name.clone()));
                path.line_to(Point2::new(crease.from, 0.0), ledge);
                path.line_to(
                    Point2::new(crease.to, 0.0),
                    labels.tag(EdgeLabel::CreaseEnd(bend_of_panel(self.id))),
                );
                path.line_to(end, ledge);
                continue;
            }
            let edge = labels.tag(EdgeLabel::Edge(panel.name.edge(roles[side.edge])));
            let mut on_drawn_line = true;
            for child in self.children.iter().filter(|c| c.side == index) {
                let name = self.skeleton.panels()[child.panel.index()].name.clone();
                let relief = labels.tag(EdgeLabel::Relief(name));
                let crease = labels.tag(EdgeLabel::CreaseStart(bend_of_panel(child.panel)));
                path.relief(child, FlangeSide::Right, edge, relief);
                path.line_to(child.crease.to_point, relief);
                path.line_to(child.crease.from_point, crease);
                path.relief(child, FlangeSide::Left, edge, relief);
                on_drawn_line = matches!(child.left, End::Within { .. });
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

/// An outline on the way.
struct Path {
    pieces: Vec<Segment>,
    at: Point2,
}

impl Path {
    fn line_to(&mut self, to: Point2, tag: Tag) {
        self.push(Segment::line(self.at, to, tag));
    }

    /// Goes on to `to` on the curve of `piece`, whose ends may have been moved along it.
    fn along(&mut self, piece: Segment, to: Point2, tag: Tag) {
        self.push(Segment { start: self.at, end: to, tag, ..piece });
    }

    fn push(&mut self, piece: Segment) {
        if piece.start.distance(piece.end) > tolerance::SNAP_MM {
            self.at = piece.end;
            self.pieces.push(piece);
        }
    }

    /// The cut beside a bend: from the drawn edge into the sheet and back to the crease at the right end,
    /// and the other way round at the left end.
    fn relief(&mut self, child: &Child<'_>, end: FlangeSide, edge: Tag, tag: Tag) {
        let (setback, size) = (child.bend.setback, child.relief);
        let bottom = setback + size.depth;
        let crease_x = match end {
            FlangeSide::Right => child.crease.to,
            FlangeSide::Left => child.crease.from,
        };
        let far_x = crease_x + end.sign() * size.width;
        match child.end(end) {
            End::Corner => {}
            // The panel's corner lies at the relief's bottom.
            End::WithinOpen { .. } => self.line_to(child.at(crease_x, bottom), tag),
            End::Within { .. } => {
                let (first, last) = match end {
                    FlangeSide::Right => (far_x, crease_x),
                    FlangeSide::Left => (crease_x, far_x),
                };
                if end == FlangeSide::Right {
                    self.line_to(child.at(first, 0.0), edge);
                }
                match size.shape {
                    ReliefShape::Square => {
                        self.line_to(child.at(first, bottom), tag);
                        self.line_to(child.at(last, bottom), tag);
                    }
                    ReliefShape::Round => {
                        let straight = bottom - 0.5 * size.width;
                        self.line_to(child.at(first, straight), tag);
                        let centre = child.at(0.5 * (first + last), straight);
                        let to = child.at(last, straight);
                        // With the sheet on its left, the outline goes clockwise round the notch.
                        self.push(Segment::arc(self.at, to, centre, ArcTurn::Right, tag));
                    }
                }
                if end == FlangeSide::Left {
                    self.line_to(child.at(last, 0.0), tag);
                }
            }
        }
    }

    fn close(mut self) -> Result<Contour, FoldFault> {
        // Neighbouring points within the snap tolerance were taken as one; the last one is the first.
        if let (Some(first), Some(last)) = (self.pieces.first().map(|p| p.start), self.pieces.last_mut()) {
            last.end = first;
        }
        Contour::new(self.pieces).map_err(|problem| FoldFault::PanelOpen { problem })
    }
}
