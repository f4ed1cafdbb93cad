//! Corners rounded or chamfered on flat panels.
//!
//! A corner of the metal is free where the outline turns outwards between two cut sides: drawn edges, edges of
//! openings, sides of reliefs. All outer corners are those of the panels' outlines between edges and openings:
//! beside a relief, as small as it can be made, nothing is broken unless it is named, and neither are corners
//! within an opening. After a cut across bends corners are those of the zones that it has left.
//! Invariant: no corner at a crease or at an earlier break is touched; either all corners of
//! a feature are broken or none.

use crate::diag::Origin;
use crate::dimension::Skeleton;
use crate::geom::{Contour, Point2, Region, Tag, chamfer_corner, round_corner};
use crate::history::PanelName;
use crate::history::feature::{BreakShape, CornerBreak, CornerName, Corners};
use crate::ident::FeatureId;
use crate::quantity::tolerance;

use super::tree::Panel;
use super::{EdgeLabel, FoldFault, Labels};

/// Breaks the corners of one feature; `origins` are those of all features.
pub(super) fn apply(
    panels: &mut [Panel],
    labels: &mut Labels,
    origins: &[Origin],
    skeleton: &Skeleton<'_>,
    free: &[f64],
    feature: FeatureId,
    corners: &CornerBreak,
) -> Result<(), FoldFault> {
    let size = match &corners.shape {
        BreakShape::Round(size) | BreakShape::Chamfer(size) => size.evaluate(free),
    };
    if !(size > tolerance::SNAP_MM && size.is_finite()) {
        return Err(FoldFault::BreakSize { got: size });
    }
    let tag = labels.tag(EdgeLabel::CornerBreak(feature));
    let namer = Namer { labels, origins };
    let chosen = match &corners.corners {
        Corners::Named(names) => namer.named(panels, skeleton, names)?,
        Corners::AllOuter => namer.all_outer(panels, feature, &Chosen::new())?,
        Corners::AllOuterBut(names) => {
            namer.all_outer(panels, feature, &namer.named(panels, skeleton, names)?)?
        }
    };
    let cut = Cut { shape: &corners.shape, tag };
    let mut done = Vec::new();
    for (index, chosen) in chosen {
        done.push((index, cut.all(&panels[index].region, &chosen, size)?));
    }
    for (index, region) in done {
        panels[index].region = region;
    }
    Ok(())
}

/// One corner of a region: where the contour with this index turns.
#[derive(Clone, Debug)]
struct Corner {
    name: CornerName,
    contour: usize,
    at: Point2,
    /// Of the pieces before and after it.
    tags: [Tag; 2],
}

/// Chosen corners by the index of their panel.
type Chosen = Vec<(usize, Vec<Corner>)>;

/// How corners are cut.
struct Cut<'a> {
    shape: &'a BreakShape,
    tag: Tag,
}

impl Cut<'_> {
    /// All corners cut with one size.
    ///
    /// # Errors
    /// The first corner where the size has no room, with the largest one that all of them have room for.
    fn all(&self, region: &Region, corners: &[Corner], size: f64) -> Result<Region, FoldFault> {
        self.tried(region, corners, size).map_err(|corner| FoldFault::Break {
            corner: corner.name.clone(),
            size,
            largest: self.largest(region, corners, size),
        })
    }

    fn tried<'c>(&self, region: &Region, corners: &'c [Corner], size: f64) -> Result<Region, &'c Corner> {
        let mut contours = region.contours().to_vec();
        for corner in corners {
            let contour = &contours[corner.contour];
            // Gone if the break of a neighbouring corner has used up the side between them.
            let pieces = contour.segments();
            let is_there = |i: &usize| {
                let tags = [pieces[*i].tag, pieces[(i + 1) % pieces.len()].tag];
                pieces[*i].end == corner.at && tags == corner.tags
            };
            let at = (0..pieces.len()).find(is_there).ok_or(corner)?;
            let broken = match self.shape {
                BreakShape::Round(_) => round_corner(contour, at, size, self.tag),
                BreakShape::Chamfer(_) => chamfer_corner(contour, at, size, self.tag),
            };
            contours[corner.contour] = broken.map_err(|_| corner)?;
        }
        Ok(Region::from_oriented(contours))
    }

    /// The largest size that all corners have room for, below one that is too large.
    fn largest(&self, region: &Region, corners: &[Corner], too_large: f64) -> f64 {
        let (mut fits, mut fails) = (0.0, too_large);
        while fails - fits > tolerance::HELD_MM {
            let middle = 0.5 * (fits + fails);
            if self.tried(region, corners, middle).is_ok() {
                fits = middle;
            } else {
                fails = middle;
            }
        }
        fits
    }
}

/// A side of a corner.
#[derive(Clone, Copy)]
struct Side<'a> {
    name: &'a str,
    kind: SideKind,
}

#[derive(Clone, Copy, PartialEq)]
enum SideKind {
    /// A drawn edge, by its role.
    Edge,
    /// The edge of an opening, by the feature that cut it.
    Opening,
    /// The side of a relief, by the panel whose bend it ends.
    Relief,
}

/// Knows what corners are called.
struct Namer<'a> {
    labels: &'a Labels,
    origins: &'a [Origin],
}

impl<'a> Namer<'a> {
    fn side(&self, label: &'a EdgeLabel) -> Option<Side<'a>> {
        let (name, kind) = match label {
            EdgeLabel::Edge(edge) => (edge.role.as_str(), SideKind::Edge),
            EdgeLabel::Opening(feature) => (self.feature(*feature), SideKind::Opening),
            EdgeLabel::Relief(panel) => (panel.as_str(), SideKind::Relief),
            EdgeLabel::CreaseStart(_)
            | EdgeLabel::CreaseEnd(_)
            | EdgeLabel::StripEnd(_)
            | EdgeLabel::CornerBreak(_) => return None,
        };
        Some(Side { name, kind })
    }

    fn feature(&self, feature: FeatureId) -> &'a str {
        &self.origins[feature.index()].name
    }

    /// The two sides that meet where piece `index` ends, if the corner there is free.
    fn sides(&self, contour: &Contour, index: usize) -> Option<[Side<'a>; 2]> {
        let pieces = contour.segments();
        let (before, after) = (&pieces[index], &pieces[(index + 1) % pieces.len()]);
        if before.end_direction().cross(after.start_direction()) <= tolerance::PARALLEL {
            return None;
        }
        let sides = [self.side(self.labels.label(before.tag))?, self.side(self.labels.label(after.tag))?];
        let one_edge = sides.iter().all(|s| s.kind == SideKind::Edge) && sides[0].name == sides[1].name;
        (!one_edge).then_some(sides)
    }

    /// The free corners of a region with their sides.
    fn free(&self, panel: &PanelName, region: &Region) -> Vec<(Corner, [Side<'a>; 2])> {
        let mut found = Vec::new();
        for (contour_index, contour) in region.contours().iter().enumerate() {
            for (index, piece) in contour.segments().iter().enumerate() {
                let Some(sides) = self.sides(contour, index) else { continue };
                let between = sides.map(|side| side.name.to_owned());
                let name = CornerName { panel: panel.clone(), between };
                let next = contour.segments()[(index + 1) % contour.segments().len()];
                let tags = [piece.tag, next.tag];
                found.push((Corner { name, contour: contour_index, at: piece.end, tags }, sides));
            }
        }
        found
    }

    /// Every outer corner but those of `left_out`.
    fn all_outer(
        &self,
        panels: &[Panel],
        feature: FeatureId,
        left_out: &Chosen,
    ) -> Result<Chosen, FoldFault> {
        let stays = |panel: usize, corner: &Corner| {
            let of_panel = left_out.iter().filter(|(index, _)| *index == panel);
            of_panel.flat_map(|(_, corners)| corners).any(|known| known.at == corner.at)
        };
        let earlier = panels.iter().enumerate().filter(|(_, p)| p.feature < feature);
        let outer = |(corner, sides): (Corner, [Side<'_>; 2]), region: &Region| {
            let on_outline = region.contours()[corner.contour].signed_area() > 0.0;
            (on_outline && sides.iter().all(|s| s.kind != SideKind::Relief)).then_some(corner)
        };
        let chosen: Chosen = earlier
            .map(|(index, p)| {
                let free = self.free(&p.name, &p.region).into_iter();
                let corners = free.filter_map(|found| outer(found, &p.region));
                (index, corners.filter(|corner| !stays(index, corner)).collect::<Vec<_>>())
            })
            .filter(|(_, corners)| !corners.is_empty())
            .collect();
        if chosen.is_empty() {
            return Err(FoldFault::NothingToBreak { broken_by: self.breakers(panels) });
        }
        Ok(chosen)
    }

    /// The features that have broken corners, in order.
    fn breakers(&self, panels: &[Panel]) -> Vec<String> {
        let pieces = panels.iter().flat_map(|p| p.region.contours()).flat_map(Contour::segments);
        let mut features: Vec<FeatureId> = pieces
            .filter_map(|piece| match self.labels.label(piece.tag) {
                EdgeLabel::CornerBreak(feature) => Some(*feature),
                EdgeLabel::Edge(_)
                | EdgeLabel::CreaseStart(_)
                | EdgeLabel::CreaseEnd(_)
                | EdgeLabel::StripEnd(_)
                | EdgeLabel::Relief(_)
                | EdgeLabel::Opening(_) => None,
            })
            .collect();
        features.sort_unstable();
        features.dedup();
        features.into_iter().map(|f| self.feature(f).to_owned()).collect()
    }

    fn named(
        &self,
        panels: &[Panel],
        skeleton: &Skeleton<'_>,
        names: &[CornerName],
    ) -> Result<Chosen, FoldFault> {
        let mut chosen: Chosen = Vec::new();
        for name in names {
            let no_such = |free| FoldFault::NoSuchCorner { corner: name.clone(), free };
            let id = skeleton.find(&name.panel).map_err(|_| no_such(Vec::new()))?;
            // A panel that lines have parted lies there in pieces.
            let root = skeleton.root(id);
            let pieces: Vec<&Panel> = panels.iter().filter(|p| skeleton.root(p.id) == root).collect();
            let mut free: Vec<(usize, Corner)> = Vec::new();
            for piece in &pieces {
                let corners = self.free(&name.panel, &piece.region).into_iter();
                free.extend(corners.map(|(corner, _)| (piece.id.index(), corner)));
            }
            // Two sides may meet at several corners: the name means all of them.
            let (found, others): (Vec<_>, Vec<_>) =
                free.into_iter().partition(|(_, corner)| corner.name.is_alike(name));
            if found.is_empty() {
                if let Some(by) = pieces.iter().find_map(|piece| self.breaker(&piece.region, name)) {
                    return Err(FoldFault::BrokenAlready { corner: name.clone(), by });
                }
                let mut known: Vec<String> =
                    others.iter().map(|(_, corner)| as_written(&corner.name)).collect();
                known.sort_unstable();
                known.dedup();
                return Err(no_such(known));
            }
            for (index, corner) in found {
                match chosen.iter_mut().find(|(known, _)| *known == index) {
                    Some((_, corners)) if corners.iter().any(|c| c.at == corner.at) => {}
                    Some((_, corners)) => corners.push(corner),
                    None => chosen.push((index, vec![corner])),
                }
            }
        }
        Ok(chosen)
    }

    /// The feature that has broken a corner of this name.
    fn breaker(&self, region: &Region, name: &CornerName) -> Option<String> {
        region.contours().iter().find_map(|contour| {
            let pieces = contour.segments();
            (0..pieces.len()).find_map(|i| {
                let label = |shift: usize| self.labels.label(pieces[(i + shift) % pieces.len()].tag);
                let EdgeLabel::CornerBreak(feature) = label(1) else { return None };
                let between = [self.side(label(0))?, self.side(label(2))?].map(|s| s.name.to_owned());
                let broken = CornerName { panel: name.panel.clone(), between };
                broken.is_alike(name).then(|| self.feature(*feature).to_owned())
            })
        })
    }
}

/// A corner as a script writes it, the panel's name in place of its variable.
fn as_written(corner: &CornerName) -> String {
    let [a, b] = &corner.between;
    format!("{}.corner(\"{a}\", \"{b}\")", corner.panel)
}
