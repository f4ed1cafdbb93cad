//! Cuts that go on across bends: laid on the blank, or straight through the folded part.
//!
//! They act on the finished zones, panels and bend strips, each in its own coordinates, after lines have
//! parted the panels: all cuts of one part commute, so that their order does not matter.
//! Invariant: after each cut the two zones at a crease agree about where sheet goes on between them; where
//! only one of them is left at the crease, its piece of the crease has become an edge of the opening; along a
//! crease no web of sheet and no gap is narrower than an edge may be.

use crate::geom::{
    Contour, Motion2, OpeningError, OpeningPlace, Placement, Point2, Region, Segment, Tag, Vec2,
    cut_openings, opening_places,
};
use crate::history::PanelName;
use crate::ident::{FeatureId, PanelId};
use crate::quantity::tolerance;

use super::map::{FoldFractions, StripMap};
use super::opening::with_creases_of;
use super::short_edges::without_short_edges;
use super::straight::StraightCut;
use super::tree::{Bend, FoldTree, Panel};
use super::{EdgeLabel, FoldFault, Labels, creases};

/// Openings of one feature that go on across bends.
pub(super) struct AcrossCut<'h> {
    pub(super) feature: FeatureId,
    pub(super) tag: Tag,
    /// The panel that they were drawn on.
    pub(super) panel: PanelName,
    pub(super) openings: Vec<Contour>,
    pub(super) way: Way<'h>,
}

/// How openings are carried from zone to zone.
pub(super) enum Way<'h> {
    /// On the flat blank; they are given in the flat drawing of this panel.
    Blank(PanelId),
    /// Straight through the folded part; they are given in the plane of the panel.
    Straight(StraightCut<'h>),
}

/// Where the zones of a part lie.
pub(super) struct Laid {
    /// In the blank, indexed by panel.
    flat: Vec<Motion2>,
    /// In the folded part, indexed by panel.
    pub(super) frames: Vec<Placement<f64>>,
    /// In the folded part, indexed by bend.
    pub(super) maps: Vec<StripMap>,
    /// Of the sheet, in mm.
    pub(super) thickness: f64,
}

/// What is cut out of each zone, in its own coordinates.
pub(super) struct ZoneCuts {
    /// Indexed by panel.
    pub(super) panels: Vec<Vec<Contour>>,
    /// Indexed by bend.
    pub(super) strips: Vec<Vec<Contour>>,
}

impl Laid {
    pub(super) fn of(tree: &FoldTree) -> Self {
        let folded = FoldFractions::all(tree, 1.0);
        let frames = tree.placements(&folded);
        let maps = tree.bends().iter().map(|bend| tree.strip_map(bend, &frames, &folded)).collect();
        Self { flat: tree.flat_motions(), frames, maps, thickness: tree.thickness() }
    }
}

impl AcrossCut<'_> {
    /// Cuts every zone that an opening meets.
    pub(super) fn make(
        &self,
        panels: &mut [Panel],
        bends: &mut [Bend],
        labels: &mut Labels,
        laid: &Laid,
    ) -> Result<(), FoldFault> {
        let mut work = Work { panels, bends, labels, flat: &laid.flat };
        let cuts = match &self.way {
            Way::Blank(root) => {
                let lie = laid.flat[root.index()];
                let on_blank: Vec<Contour> = self.openings.iter().map(|c| c.moved(lie)).collect();
                work.laid_on_blank(&on_blank)
            }
            Way::Straight(straight) => {
                straight.laid(&self.openings, work.panels, work.bends, work.labels, laid, self.tag)?
            }
        };
        let met = work.cut_zones(&cuts)?;
        if let Way::Straight(straight) = &self.way
            && let Some(missed) = straight.named().iter().find(|name| !met.contains(name))
        {
            return Err(FoldFault::CutMissesPanel { missed: missed.clone() });
        }
        if met.is_empty() {
            return Err(FoldFault::CutMissesBlank { panel: self.panel.clone() });
        }
        work.agree(self.tag);
        let zones = work.panels.iter_mut().map(|p| &mut p.region);
        for region in zones.chain(work.bends.iter_mut().map(|b| &mut b.region)) {
            *region = without_short_edges(region, work.labels);
        }
        for bend in &*work.bends {
            // A strip without any start has lost its parent.
            let start = work.labels.tag(EdgeLabel::CreaseStart(bend.id));
            if creases::tagged(&bend.region, start).next().is_none() {
                let bend = work.panels[bend.child.index()].name.clone();
                return Err(FoldFault::BendCutAway { bend });
            }
        }
        Ok(())
    }
}

struct Work<'a> {
    panels: &'a mut [Panel],
    bends: &'a mut [Bend],
    labels: &'a mut Labels,
    flat: &'a [Motion2],
}

impl Work<'_> {
    /// Openings of the blank in the coordinates of every zone.
    fn laid_on_blank(&self, openings: &[Contour]) -> ZoneCuts {
        let in_zone = |zone: Motion2, region: &Region| -> Vec<Contour> {
            let back = zone.inverse();
            let reach = region.bounding_box().grown(tolerance::SNAP_MM);
            openings.iter().map(|c| c.moved(back)).filter(|c| reach.touches(c.bounding_box())).collect()
        };
        ZoneCuts {
            panels: self.panels.iter().map(|p| in_zone(self.flat[p.id.index()], &p.region)).collect(),
            strips: self
                .bends
                .iter()
                .map(|b| in_zone(b.strip_motion(self.flat[b.parent.index()]), &b.region))
                .collect(),
        }
    }

    /// Cuts every zone; the panels that lost something, or whose bend did.
    fn cut_zones(&mut self, cuts: &ZoneCuts) -> Result<Vec<PanelName>, FoldFault> {
        let mut met = Vec::new();
        for (panel, cut) in self.panels.iter_mut().zip(&cuts.panels) {
            if let Some(left) = without(&panel.region, cut, &panel.name)? {
                met.push(panel.name.clone());
                if left.is_empty() {
                    return Err(FoldFault::PanelInPieces { panel: panel.name.clone(), pieces: 0 });
                }
                panel.region = with_creases_of(&panel.region, &left, self.labels);
            }
        }
        for (bend, cut) in self.bends.iter_mut().zip(&cuts.strips) {
            let name = &self.panels[bend.child.index()].name;
            if let Some(left) = without(&bend.region, cut, name)? {
                met.push(name.clone());
                bend.region = with_creases_of(&bend.region, &left, self.labels);
            }
        }
        Ok(met)
    }

    /// Lets the zones on both sides of every crease agree about where sheet goes on.
    fn agree(&mut self, cut: Tag) {
        for index in 0..self.bends.len() {
            let (before, from) = self.bends.split_at_mut(index);
            let bend = &mut from[0];
            let along_strip = |level, tag| CreaseSide { origin: Point2::new(0.0, level), along: X, tag };
            let start = self.labels.tag(EdgeLabel::CreaseStart(bend.id));
            let own = along_strip(0.0, start);
            let parent = &mut self.panels[bend.parent.index()];
            match parent.bend.filter(|_| parent.region.is_empty()) {
                // The bend follows another one directly.
                Some(first) => {
                    let first = &mut before[first.index()];
                    let end = self.labels.tag(EdgeLabel::CreaseEnd(first.id));
                    let other = along_strip(first.allowance(), end);
                    agree_along(&mut bend.region, own, &mut first.region, other, cut);
                }
                None => {
                    let other = CreaseSide { origin: bend.origin, along: bend.along, tag: start };
                    agree_along(&mut bend.region, own, &mut parent.region, other, cut);
                }
            }
            let child = &mut self.panels[bend.child.index()];
            if !child.region.is_empty() {
                let end = self.labels.tag(EdgeLabel::CreaseEnd(bend.id));
                let own = along_strip(bend.allowance(), end);
                agree_along(&mut child.region, along_strip(0.0, end), &mut bend.region, own, cut);
            }
        }
    }
}

const X: Vec2 = Vec2::new(1.0, 0.0);

/// What is left of a zone after a cut; none if nothing was removed.
fn without(region: &Region, openings: &[Contour], panel: &PanelName) -> Result<Option<Region>, FoldFault> {
    let fault = |problem| FoldFault::Boolean { panel: panel.clone(), problem };
    if openings.is_empty() || region.is_empty() {
        return Ok(None);
    }
    let places = opening_places(region, openings).map_err(fault)?;
    let meeting: Vec<Contour> = openings
        .iter()
        .zip(&places)
        .filter(|&(_, &place)| place != OpeningPlace::Outside)
        .map(|(opening, _)| opening.clone())
        .collect();
    if meeting.is_empty() {
        return Ok(None);
    }
    match cut_openings(region, &meeting) {
        Ok(left) => Ok(Some(left)),
        Err(OpeningError::Boolean(problem)) => Err(fault(problem)),
        Err(OpeningError::Outside { .. }) => Ok(None),
    }
}

/// A crease as one of its two zones sees it.
#[derive(Clone, Copy)]
struct CreaseSide {
    /// Where x is zero.
    origin: Point2,
    /// Unit direction of x.
    along: Vec2,
    tag: Tag,
}

impl CreaseSide {
    fn x(self, p: Point2) -> f64 {
        (p - self.origin).dot(self.along)
    }

    fn at(self, x: f64) -> Point2 {
        self.origin + self.along * x
    }

    /// From where to where the zone reaches the crease.
    fn spans(self, region: &Region) -> Vec<[f64; 2]> {
        creases::tagged(region, self.tag)
            .map(|s| {
                let (a, b) = (self.x(s.start), self.x(s.end));
                [a.min(b), a.max(b)]
            })
            .collect()
    }
}

/// Splits the pieces of both zones at the same places; where no sheet is left to go on, the pieces become edges
/// of the opening. The vertices of `one` are set to those of `other`.
fn agree_along(one: &mut Region, on_one: CreaseSide, other: &mut Region, on_other: CreaseSide, cut: Tag) {
    let kept = kept(&on_one.spans(one), &on_other.spans(other));
    *other = split_at(other, on_other, &kept, cut);
    *one = split_at(one, on_one, &kept, cut);
    let exact: Vec<f64> = on_other.spans(other).into_iter().flatten().collect();
    let to_line = |region: &Region, side: CreaseSide| -> Vec<(Point2, Point2)> {
        let ends = creases::ends_of(region, side.tag);
        ends.filter_map(|p| Some((p, side.at(creases::nearest(&exact, side.x(p))?)))).collect()
    };
    *one = creases::with_vertices(one, &to_line(one, on_one));
    *other = creases::with_vertices(other, &to_line(other, on_other));
}

/// Where sheet goes on from zone to zone, from left to right, parted wherever a piece of either zone ends.
fn kept(own: &[[f64; 2]], others: &[[f64; 2]]) -> Vec<[f64; 2]> {
    let mut breaks: Vec<f64> = others.iter().chain(own).flatten().copied().collect();
    breaks.sort_by(f64::total_cmp);
    breaks.dedup_by(|b, a| *b - *a <= creases::JOINT_MM);
    let covers = |spans: &[[f64; 2]], x: f64| spans.iter().any(|&[from, to]| from <= x && x <= to);
    let mut kept: Vec<[f64; 2]> = breaks
        .windows(2)
        .map(|pair| [pair[0], pair[1]])
        .filter(|[from, to]| [own, others].iter().all(|spans| covers(spans, 0.5 * (from + to))))
        .collect();
    // An opening may be a trace too large: a gap that is too narrow becomes wider.
    for index in 1..kept.len() {
        let gap = kept[index][0] - kept[index - 1][1];
        if 0.0 < gap && gap < tolerance::LEAST_EDGE_MM {
            let wider = 0.5 * (tolerance::LEAST_EDGE_MM - gap) + 2.0 * creases::JOINT_MM;
            kept[index - 1][1] -= wider;
            kept[index][0] += wider;
        }
    }
    // A web too narrow to be cut holds nothing.
    let runs: Vec<Vec<[f64; 2]>> = kept.chunk_by(|a, b| a[1] == b[0]).map(<[_]>::to_vec).collect();
    let is_wide = |run: &Vec<[f64; 2]>| run[run.len() - 1][1] - run[0][0] >= tolerance::LEAST_EDGE_MM;
    runs.into_iter().filter(is_wide).flatten().collect()
}

/// The region with its pieces on a crease split at the ends of these spans, and marked as cut outside them.
fn split_at(region: &Region, side: CreaseSide, spans: &[[f64; 2]], cut: Tag) -> Region {
    let piece = |p: Point2, q: Point2| {
        let middle = side.x(p.midpoint(q));
        let covered = spans.iter().any(|&[from, to]| from <= middle && middle <= to);
        Segment::line(p, q, if covered { side.tag } else { cut })
    };
    let split = |s: &Segment| -> Vec<Segment> {
        if s.tag != side.tag {
            return vec![*s];
        }
        let (from, to) = (side.x(s.start), side.x(s.end));
        let (low, high) = (from.min(to) + creases::JOINT_MM, from.max(to) - creases::JOINT_MM);
        let mut within: Vec<f64> = spans.iter().flatten().copied().filter(|&x| low < x && x < high).collect();
        within.dedup();
        if to < from {
            within.reverse();
        }
        let mut points = vec![s.start];
        points.extend(within.into_iter().map(|x| side.at(x)));
        points.push(s.end);
        points.windows(2).map(|pair| piece(pair[0], pair[1])).collect()
    };
    let contour = |c: &Contour| {
        Contour::new(c.segments().iter().flat_map(split).collect()).unwrap_or_else(|_| c.clone())
    };
    Region::from_oriented(region.contours().iter().map(contour).collect())
}
