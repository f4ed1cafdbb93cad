//! Where the seams that were asked for cut the ends of flanges.
//!
//! Invariant: one cut for each edge that a seam names; cuts follow from the pose, except where an edge is
//! closed to the end of another panel, which must be drawn before.

use std::collections::BTreeMap;

use crate::dimension::{Pose, Skeleton, SkeletonSeam, Source};
use crate::geom::{Point2, Segment, Vec2, Vec3};
use crate::history::feature::{Neighbour, Seam, SheetFace};
use crate::history::{EdgeName, Number};
use crate::ident::{FeatureId, PanelId};
use crate::quantity::{maths, tolerance};

use super::FoldFault;
use super::corner_seam::{
    CutLine, EndLine, FlangeSide, NoCut, SheetEnd, meet, past, past_until_flush, short_of_end, short_of_face,
};
use super::seat::Drawn;

/// An edge: its panel, and its index among that panel's drawn edges.
pub(super) type EdgeAt = (PanelId, usize);

/// Indices of a flange's edges.
const RIGHT: usize = 1;
/// See [`RIGHT`].
const TIP: usize = 2;
/// See [`RIGHT`].
const LEFT: usize = 3;

/// What the seams of a part cut.
pub(super) struct SeamCuts<'h> {
    cuts: BTreeMap<EdgeAt, Cut>,
    /// Edges closed to ends that have to be drawn before.
    closings: Vec<Closing<'h>>,
}

/// A cut of one edge.
#[derive(Clone, Copy, Debug)]
struct Cut {
    line: CutLine,
    seam: FeatureId,
    /// The edge that it keeps its distance from.
    opposite: Option<EdgeAt>,
}

/// An edge that is closed to the end of another panel.
#[derive(Clone, Copy)]
pub(super) struct Closing<'h> {
    pub(super) feature: FeatureId,
    edge: &'h EdgeName,
    own: EdgeAt,
    to: &'h EdgeName,
    target: EdgeAt,
    gap: f64,
}

/// Where the panels of a part lie, for finding cuts.
#[derive(Clone, Copy)]
pub(super) struct Posed<'h, 'a> {
    pub(super) skeleton: &'a Skeleton<'h>,
    pub(super) pose: &'a Pose<f64>,
    pub(super) free: &'a [f64],
    pub(super) thickness: f64,
}

impl<'h> Posed<'h, '_> {
    fn at(&self, edge: &EdgeName) -> EdgeAt {
        self.skeleton.edge(edge).expect("the skeleton has looked up every name of a seam")
    }

    fn end(&self, (panel, edge): EdgeAt) -> SheetEnd {
        let inward = match edge {
            RIGHT => Vec2::new(-1.0, 0.0),
            TIP => Vec2::new(0.0, -1.0),
            LEFT => Vec2::new(1.0, 0.0),
            _ => unreachable!("the skeleton lets seams cut the left, right and tip of flanges only"),
        };
        SheetEnd { frame: self.pose.panel(panel).placement, inward, thickness: self.thickness }
    }

    /// An edge that no flange stands on.
    fn bare(&self, name: &EdgeName) -> Result<EdgeAt, FoldFault> {
        let at = self.at(name);
        let bent = self.skeleton.panels().iter().find(|p| match p.source {
            Source::Flange { parent, edge, .. } => (parent, edge) == at,
            Source::Base(_) | Source::Piece { .. } => false,
        });
        match bent {
            Some(flange) => {
                Err(FoldFault::SeamOnBentEdge { edge: name.clone(), flange: flange.name.clone() })
            }
            None => Ok(at),
        }
    }

    fn size(&self, what: &'static str, number: &Number, least: f64) -> Result<f64, FoldFault> {
        let got = number.evaluate(self.free);
        if least <= got { Ok(got) } else { Err(FoldFault::SeamSize { what, got, least }) }
    }

    /// Edges, each with its cut.
    fn cuts(&self, seam: &Seam) -> Result<Vec<(EdgeAt, CutLine, Option<EdgeAt>)>, FoldFault> {
        let gap_of = |gap| self.size("gap", gap, tolerance::LEAST_GAP_MM);
        match seam {
            Seam::Meet { a, b, gap } => {
                let gap = gap_of(gap)?;
                let (at_a, at_b) = (self.bare(a)?, self.bare(b)?);
                let (end_a, end_b) = (self.end(at_a), self.end(at_b));
                let line_a = meet(&end_a, &end_b, gap).map_err(|why| refused(a, &b.to_string(), gap, why))?;
                let line_b = meet(&end_b, &end_a, gap).map_err(|why| refused(b, &a.to_string(), gap, why))?;
                Ok(vec![(at_a, line_a, Some(at_b)), (at_b, line_b, Some(at_a))])
            }
            Seam::Lap { cover, under, gap, overlap } => {
                let gap = gap_of(gap)?;
                let overlap = overlap.as_ref().map(|o| self.size("overlap", o, 0.0)).transpose()?;
                let (at_cover, at_under) = (self.bare(cover)?, self.bare(under)?);
                let (end_cover, end_under) = (self.end(at_cover), self.end(at_under));
                let line = match overlap {
                    Some(overlap) => past(&end_cover, &end_under, overlap),
                    None => past_until_flush(&end_cover, &end_under),
                };
                let line = line.map_err(|why| refused(cover, &under.to_string(), gap, why))?;
                let stop = short_of_end(&end_under, end_cover.frame, line, gap)
                    .map_err(|why| refused(under, &cover.to_string(), gap, why))?;
                Ok(vec![(at_cover, line, Some(at_under)), (at_under, stop, Some(at_cover))])
            }
            Seam::Close { edge, to: Neighbour::Panel(panel), gap } => {
                let gap = gap_of(gap)?;
                let at = self.bare(edge)?;
                let end = self.end(at);
                let other = self.skeleton.find(panel).expect("the skeleton has looked it up");
                let face = end.face_seen(self.pose.panel(other).placement);
                let line = face.and_then(|face| short_of_face(&end, face, gap));
                Ok(vec![(at, line.map_err(|why| refused(edge, panel.as_str(), gap, why))?, None)])
            }
            Seam::Close { to: Neighbour::Edge(_), .. } => Ok(Vec::new()),
            Seam::Flush { edge, panel, face } => {
                let at = self.bare(edge)?;
                let end = self.end(at);
                let other = self.skeleton.find(panel).expect("the skeleton has looked it up");
                let depth = match face {
                    SheetFace::Inner => 0.0,
                    SheetFace::Outer => -self.thickness,
                };
                let face = end.face_of(self.pose.panel(other).placement, depth);
                let line = face.and_then(|face| short_of_face(&end, face, 0.0));
                Ok(vec![(at, line.map_err(|why| refused(edge, panel.as_str(), 0.0, why))?, None)])
            }
        }
    }

    fn closing(&self, seam: &SkeletonSeam<'h>) -> Result<Option<Closing<'h>>, FoldFault> {
        let Seam::Close { edge, to: Neighbour::Edge(to), gap } = seam.seam else { return Ok(None) };
        let gap = self.size("gap", gap, tolerance::LEAST_GAP_MM)?;
        let (own, target) = (self.bare(edge)?, self.bare(to)?);
        Ok(Some(Closing { feature: seam.feature, edge, own, to, target, gap }))
    }
}

/// What to say where a rule gives no cut.
fn refused(edge: &EdgeName, other: &str, gap: f64, why: NoCut) -> FoldFault {
    let (edge, other) = (edge.clone(), other.to_owned());
    match why {
        NoCut::Parallel { apart } => FoldFault::SeamParallel { edge, other, apart },
        NoCut::AlongTheEnd => FoldFault::SeamAlongEdge { edge, other },
        NoCut::OutOfReach => FoldFault::SeamOutOfReach { edge, other, gap },
        NoCut::NotAlong { off } => FoldFault::SeamNotAlong { edge, other, off: off * (180.0 / maths::PI) },
    }
}

impl<'h> SeamCuts<'h> {
    /// All cuts but those of edges that are closed to ends.
    ///
    /// # Errors
    /// A fault for each seam that has none.
    pub(super) fn new(posed: Posed<'h, '_>) -> Result<Self, Vec<(FeatureId, FoldFault)>> {
        let mut found = Self { cuts: BTreeMap::new(), closings: Vec::new() };
        let mut faults = Vec::new();
        for asked in posed.skeleton.seams() {
            match posed.cuts(asked.seam).and_then(|cuts| Ok((cuts, posed.closing(asked)?))) {
                Ok((cuts, closing)) => {
                    for (at, line, opposite) in cuts {
                        found.cuts.insert(at, Cut { line, seam: asked.feature, opposite });
                    }
                    found.closings.extend(closing);
                }
                Err(fault) => faults.push((asked.feature, fault)),
            }
        }
        if faults.is_empty() { Ok(found) } else { Err(faults) }
    }

    /// Edges closed to ends, in the order in which they were asked for.
    pub(super) fn closings(&self) -> Vec<Closing<'h>> {
        self.closings.clone()
    }

    /// Finds the cut of an edge that is closed to an end, now that all panels are drawn without it.
    pub(super) fn close(
        &mut self,
        closing: &Closing<'h>,
        posed: Posed<'h, '_>,
        drawn: &[Option<Drawn>],
    ) -> Result<(), FoldFault> {
        let (panel, edge) = closing.target;
        let later = self.closings.iter().any(|c| c.own == closing.target);
        if later && !self.cuts.contains_key(&closing.target) {
            return Err(FoldFault::SeamOrder { edge: closing.edge.clone(), to: closing.to.clone() });
        }
        let side = side_of(drawn, (panel, edge));
        let outward = side.start_direction().right();
        let offset = outward.dot(side.start - Point2::ORIGIN);
        let frame = posed.pose.panel(panel).placement;
        let line = short_of_end(&posed.end(closing.own), frame, CutLine { outward, offset }, closing.gap)
            .map_err(|why| refused(closing.edge, &closing.to.to_string(), closing.gap, why))?;
        let cut = Cut { line, seam: closing.feature, opposite: Some(closing.target) };
        self.cuts.insert(closing.own, cut);
        Ok(())
    }

    /// The cut at the left or right end of a flange.
    pub(super) fn end(&self, flange: PanelId, end: FlangeSide) -> Option<EndLine> {
        let edge = match end {
            FlangeSide::Left => LEFT,
            FlangeSide::Right => RIGHT,
        };
        self.cuts.get(&(flange, edge)).map(|cut| cut.line.end_line(end))
    }

    /// The panel from whose edge the cut at the left or right end of a flange keeps its distance.
    pub(super) fn opposite(&self, flange: PanelId, end: FlangeSide) -> Option<PanelId> {
        let edge = match end {
            FlangeSide::Left => LEFT,
            FlangeSide::Right => RIGHT,
        };
        self.cuts.get(&(flange, edge))?.opposite.map(|(panel, _)| panel)
    }

    /// The cut at the tip of a flange.
    pub(super) fn tip(&self, flange: PanelId) -> Option<CutLine> {
        self.cuts.get(&(flange, TIP)).map(|cut| cut.line)
    }

    /// The last seam that cuts a flange.
    pub(super) fn last_on(&self, flange: PanelId) -> Option<FeatureId> {
        self.cuts.range((flange, RIGHT)..=(flange, LEFT)).map(|(_, cut)| cut.seam).max()
    }

    /// A fault for every seam whose two edges do not lie side by side anywhere, so that nothing keeps the
    /// distance that was asked for.
    pub(super) fn faults(
        &self,
        posed: Posed<'h, '_>,
        drawn: &[Option<Drawn>],
    ) -> Vec<(FeatureId, FoldFault)> {
        let mut faults = Vec::new();
        for (&at, cut) in &self.cuts {
            let Some(opposite) = cut.opposite.filter(|&opposite| {
                // Both edges of a pair have a cut: look at it once.
                at < opposite || self.cuts.get(&opposite).is_none_or(|other| other.seam != cut.seam)
            }) else {
                continue;
            };
            let in_space = |(panel, edge): EdgeAt| {
                let (side, frame) = (side_of(drawn, (panel, edge)), posed.pose.panel(panel).placement);
                [frame.lift(side.start, 0.0), frame.lift(side.end, 0.0)]
            };
            let apart = apart_along(in_space(at), in_space(opposite));
            if apart >= -tolerance::SNAP_MM {
                let [edge, other] = [at, opposite].map(|(panel, edge)| {
                    let panel = &posed.skeleton.panels()[panel.index()];
                    panel.name.edge(panel.edge_roles()[edge])
                });
                faults.push((cut.seam, FoldFault::SeamNotFacing { edge, other, apart: apart.max(0.0) }));
            }
        }
        faults
    }
}

/// A side of a drawn panel, counter-clockwise.
fn side_of(drawn: &[Option<Drawn>], (panel, edge): EdgeAt) -> Segment {
    let drawn = drawn[panel.index()].as_ref().expect("a seam uses panels with a drawing of their own");
    drawn.sides.iter().find(|s| s.edge == edge).expect("every drawn edge is a side").piece
}

/// How far two edges lie apart, measured along the first one; negative by how far they lie side by side.
fn apart_along([a, b]: [Vec3<f64>; 2], other: [Vec3<f64>; 2]) -> f64 {
    let length = (b - a).length();
    let along = (b - a).times(1.0 / length);
    let [p, q] = other.map(|p| (p - a).dot(along));
    p.min(q).max(0.0) - p.max(q).min(length)
}
