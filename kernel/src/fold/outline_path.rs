//! An outline being drawn, piece by piece, with the cuts beside bends.
//!
//! Invariant: the sheet lies to the left; pieces no longer than the snap tolerance are left out, and the
//! next one starts where the last one ended.

use crate::geom::{ArcTurn, Contour, Point2, Segment, Tag};
use crate::quantity::tolerance;

use super::FoldFault;
use super::bend_ends::End;
use super::corner_seam::FlangeSide;
use super::seat::{CornerCut, CornerShape, CutShape, Seat};

/// An outline on the way.
pub(super) struct Path {
    pieces: Vec<Segment>,
    at: Point2,
}

impl Path {
    /// Begins at a point.
    pub(super) fn from(at: Point2) -> Self {
        Self { pieces: Vec::new(), at }
    }

    /// Goes straight on.
    pub(super) fn line_to(&mut self, to: Point2, tag: Tag) {
        self.push(Segment::line(self.at, to, tag));
    }

    /// Goes on to `to` on the curve of `piece`, whose ends may have been moved along it.
    pub(super) fn along(&mut self, piece: Segment, to: Point2, tag: Tag) {
        self.push(Segment { start: self.at, end: to, tag, ..piece });
    }

    fn push(&mut self, piece: Segment) {
        if piece.start.distance(piece.end) > tolerance::SNAP_MM {
            self.at = piece.end;
            self.pieces.push(piece);
        }
    }

    /// The cut beside a bend that ends at `crease_x`: from the drawn edge into the sheet and back to the
    /// crease at the right end, and the other way round at the left end. The edge up to the cut gets the tag
    /// `edge`.
    pub(super) fn relief(
        &mut self,
        seat: &Seat<'_>,
        side: FlangeSide,
        end: End,
        crease_x: f64,
        edge: Tag,
        tag: Tag,
    ) {
        let size = seat.relief;
        let bottom = seat.bend.setback + size.depth;
        let far_x = crease_x + side.sign() * size.width;
        match end {
            End::Corner => {}
            // The edge beside the bend lies at the relief's bottom.
            End::WithinOpen { .. } => self.line_to(seat.at(crease_x, bottom), tag),
            End::Within { .. } => {
                let (first, last) = match side {
                    FlangeSide::Right => (far_x, crease_x),
                    FlangeSide::Left => (crease_x, far_x),
                };
                if side == FlangeSide::Right {
                    self.line_to(seat.at(first, 0.0), edge);
                }
                match size.shape {
                    CutShape::Square | CutShape::Level => {
                        self.line_to(seat.at(first, bottom), tag);
                        self.line_to(seat.at(last, bottom), tag);
                    }
                    CutShape::Round => {
                        let straight = bottom - 0.5 * size.width;
                        self.line_to(seat.at(first, straight), tag);
                        let centre = seat.at(0.5 * (first + last), straight);
                        let to = seat.at(last, straight);
                        // With the sheet on its left, the outline goes clockwise round the notch.
                        self.push(Segment::arc(self.at, to, centre, ArcTurn::Right, tag));
                    }
                }
                if side == FlangeSide::Left {
                    self.line_to(seat.at(last, 0.0), tag);
                }
            }
        }
    }

    /// What is cut out at a corner where two bends meet, from where the one bend stops to where the next one
    /// begins, both at the cut's size from the corner.
    pub(super) fn corner(&mut self, cut: CornerCut, corner: Point2, [from, to]: [Point2; 2], tag: Tag) {
        self.line_to(from, tag);
        match cut.shape {
            CornerShape::Square => {
                self.line_to(from + (to - corner), tag);
                self.line_to(to, tag);
            }
            CornerShape::Round => self.push(Segment::arc(self.at, to, corner, ArcTurn::Right, tag)),
            CornerShape::Uncut => {
                self.line_to(corner, tag);
                self.line_to(to, tag);
            }
        }
    }

    pub(super) fn close(mut self) -> Result<Contour, FoldFault> {
        // Neighbouring points within the snap tolerance were taken as one; the last one is the first.
        if let (Some(first), Some(last)) = (self.pieces.first().map(|p| p.start), self.pieces.last_mut()) {
            last.end = first;
        }
        Contour::new(self.pieces).map_err(|problem| FoldFault::PanelOpen { problem })
    }
}
