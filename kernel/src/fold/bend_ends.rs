//! Where bends end on their edges: at the panel's corner, or within the edge beside a relief.
//!
//! At a convex corner that the outline turns through the angle `τ`, the lines at depth `d` of the one edge
//! and `e` of the other meet `(e − d cos τ) / sin τ` from the corner along the first edge. That is how a bend
//! at the corner is shortened or lengthened; where it would be by more than [`FARTHEST`] bend starts, the
//! corner is too flat to end a bend at, and the bend stops at a relief instead.
//! Invariant: two flanges that both run to one corner end in one common point.

use crate::history::{EdgeName, PanelName};
use crate::ident::PanelId;
use crate::quantity::tolerance;

use super::FoldFault;
use super::corner_seam::FlangeSide;
use super::seat::{CutShape, Drawn, Seat};

/// How a flange ends on its edge.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) enum End {
    /// At the panel's corner.
    Corner,
    /// Within the edge at this x, with a relief beside it.
    Within { x: f64 },
    /// Within the edge at this x, and the edge between the bend and the corner lies at the relief's bottom:
    /// the bend ends so near to the corner that its relief opens into the neighbouring edge, or it has no
    /// notch.
    WithinOpen { x: f64 },
}

/// A corner moves along an edge by at most this many times the larger depth: reached by a free corner that
/// turns through 27° (common practice, no source: a flatter one would leave a bend much longer than its edge).
const FARTHEST: f64 = 2.0;

/// What decides about the ends of one panel's flanges.
pub(super) struct Corners<'a, 'h> {
    pub(super) drawn: &'a Drawn,
    /// In the order in which the outline meets them.
    pub(super) seats: &'a [Seat<'h>],
    pub(super) thickness: f64,
    pub(super) edge_name: &'a dyn Fn(usize) -> EdgeName,
    pub(super) panel_name: &'a dyn Fn(PanelId) -> PanelName,
}

impl<'h> Corners<'_, 'h> {
    /// Left and right end of every flange.
    ///
    /// # Errors
    /// [`FoldFault::CornerTooFlat`] if two flanges run to a corner that can end neither;
    /// [`FoldFault::ReliefNeeded`] if a flange without relief stands beside its panel's own bend.
    pub(super) fn ends(&self) -> Result<Vec<[End; 2]>, FoldFault> {
        self.seats
            .iter()
            .map(|seat| Ok([self.end(seat, FlangeSide::Left)?, self.end(seat, FlangeSide::Right)?]))
            .collect()
    }

    /// The sides that meet at an end of a flange: the one before the corner and the one after.
    fn sides_at(&self, seat: &Seat<'_>, end: FlangeSide) -> (usize, usize) {
        let count = self.drawn.sides.len();
        match end {
            FlangeSide::Right => ((seat.side + count - 1) % count, seat.side),
            FlangeSide::Left => (seat.side, (seat.side + 1) % count),
        }
    }

    /// The side that meets the flange's own one at its end.
    pub(super) fn neighbour_side(&self, seat: &Seat<'_>, end: FlangeSide) -> usize {
        let (before, after) = self.sides_at(seat, end);
        if before == seat.side { after } else { before }
    }

    /// The flange on a side that is the nearest to its right or left end.
    pub(super) fn seat_at(&self, side: usize, end: FlangeSide) -> Option<usize> {
        // Counter-clockwise a side starts at the right end of its flanges.
        let mut on_side = (0..self.seats.len()).filter(|&i| self.seats[i].side == side);
        match end {
            FlangeSide::Right => on_side.next(),
            FlangeSide::Left => on_side.next_back(),
        }
    }

    /// The neighbouring flange that is asked to run to the corner, too.
    fn full_neighbour(&self, seat: &Seat<'_>, end: FlangeSide) -> Option<&Seat<'h>> {
        let other_end = end.opposite();
        let other = &self.seats[self.seat_at(self.neighbour_side(seat, end), other_end)?];
        (other.inset(other_end) <= tolerance::SNAP_MM).then_some(other)
    }

    fn end(&self, seat: &Seat<'h>, end: FlangeSide) -> Result<End, FoldFault> {
        let asked = seat.inset(end);
        let within = |inset: f64| {
            let x = seat.x_from_end(end, inset);
            match seat.relief.shape {
                CutShape::Square | CutShape::Round => End::Within { x },
                CutShape::Level => End::WithinOpen { x },
            }
        };
        let width = seat.relief.width;
        if self.drawn.crease.is_some() && self.neighbour_side(seat, end) == 0 {
            if seat.relief.shape == CutShape::Level {
                return Err(FoldFault::ReliefNeeded { panel: (self.panel_name)(seat.panel) });
            }
            // Beside the bend that the panel hangs on: leave a web between the two.
            return Ok(within(asked.max(width + self.thickness)));
        }
        let (before, after) = self.sides_at(seat, end);
        let (incoming, outgoing) =
            (self.drawn.sides[before].piece.end_direction(), self.drawn.sides[after].piece.start_direction());
        let (sin, cos) = (incoming.cross(outgoing), incoming.dot(outgoing));
        let other = self.full_neighbour(seat, end);
        let (own_depth, other_depth) = (seat.bend.setback, other.map_or(0.0, |o| o.bend.setback));
        let farthest = FARTHEST * own_depth.max(other_depth) + tolerance::SNAP_MM;
        let meet = |d: f64, e: f64| (e - d * cos) / sin;
        let can_meet = sin > tolerance::PARALLEL
            && meet(own_depth, other_depth).abs() <= farthest
            && (other.is_none() || meet(other_depth, own_depth).abs() <= farthest);
        if !can_meet {
            // Sheet goes on beside the end of the bend: it stops a relief short of that.
            if let (Some(other), true, true) = (other, asked <= tolerance::SNAP_MM, sin > -FLAT_SINE) {
                let (a, b) = ((self.edge_name)(before), (self.edge_name)(after));
                // The one asked for later is the one to change.
                let panel = (self.panel_name)(seat.panel.max(other.panel));
                return Err(FoldFault::CornerTooFlat { panel, a, b });
            }
            return Ok(within(asked.max(width)));
        }
        let corner = seat.inset_of(end, self.drawn.sides[after].piece.start);
        // A side that a seam cuts a little farther in needs no relief: the edge beside the bend, no wider than
        // a relief, lies at the bend's start.
        let slack = if seat.cuts[end.index()].is_some() { width } else { 0.0 };
        if asked <= (corner + meet(own_depth, other_depth)).max(0.0) + slack + tolerance::SNAP_MM {
            return Ok(End::Corner);
        }
        // What would be left of the edge between the relief and the real corner.
        let web = asked - width - (corner + other_depth / sin);
        let open = End::WithinOpen { x: seat.x_from_end(end, asked) };
        Ok(if web < self.thickness { open } else { within(asked) })
    }
}

/// Corners that turn inwards by less than this sine have no room for two reliefs side by side.
const FLAT_SINE: f64 = 0.5;

impl End {
    /// Depth of the drawn side's line where the flange ends so.
    pub(super) fn depth(self, seat: &Seat<'_>) -> f64 {
        match self {
            Self::Corner => seat.bend.setback,
            Self::Within { .. } => 0.0,
            Self::WithinOpen { .. } => seat.bend.setback + seat.relief.depth,
        }
    }
}
