//! Cuts straight through the folded part: which outline goes from which zone.
//!
//! Invariant: every zone that is cut is looked at in its place in the folded part, whatever it loses to other
//! cuts, so that their order does not matter. What is taken of a zone is told by
//! [`Opening`](super::stretch::Opening).

use crate::geom::{
    BooleanError, Contour, Curve, Motion2, Placement, Point2, Region, Segment, Tag, Vec2, Vec3,
};
use crate::history::PanelName;
use crate::history::feature::{Straight, StraightSide};
use crate::ident::PanelId;

use super::across::{Laid, ZoneCuts};
use super::opening::crease_pieces;
use super::sight::{Sight, ZoneSight};
use super::stretch::Opening;
use super::tree::{Bend, Panel};
use super::{FoldFault, Labels};

/// A straight cut with its numbers put in.
pub(super) struct StraightCut<'h> {
    asked: &'h Straight,
    /// Its direction in the frame of the panel it is drawn on.
    direction: Vec3<f64>,
    drawn_on: PanelId,
}

impl<'h> StraightCut<'h> {
    pub(super) fn new(asked: &'h Straight, drawn_on: PanelId, free: &[f64]) -> Self {
        let [x, y, z] = &asked.along;
        let direction = Vec3::new(x.evaluate(free), y.evaluate(free), z.evaluate(free));
        Self { asked, direction, drawn_on }
    }

    /// The panels that it was asked for by name.
    pub(super) fn named(&self) -> &[PanelName] {
        self.asked.panels.as_deref().unwrap_or_default()
    }

    fn cuts(&self, panel: &PanelName) -> bool {
        self.asked.panels.as_ref().is_none_or(|panels| panels.contains(panel))
    }

    /// What goes from each zone; `openings` are drawn in the panel's own frame.
    pub(super) fn laid(
        &self,
        openings: &[Contour],
        panels: &[Panel],
        bends: &[Bend],
        labels: &Labels,
        place: &Laid,
        tag: Tag,
    ) -> Result<ZoneCuts, FoldFault> {
        let drawn_on = &panels[self.drawn_on.index()].name;
        let side = match self.asked.side {
            StraightSide::Both => None,
            StraightSide::Inner => Some(1.0),
            StraightSide::Outer => Some(-1.0),
        };
        let frame = place.frames[self.drawn_on.index()];
        let sight = Sight::new(frame, self.direction, side, place.thickness)
            .ok_or_else(|| FoldFault::StraightAlongPanel { panel: drawn_on.clone() })?;
        let fault = |problem, panel: &PanelName| FoldFault::Boolean { panel: panel.clone(), problem };
        let mut cuts = ZoneCuts { panels: Vec::new(), strips: Vec::new() };
        for panel in panels {
            let mut taken = Vec::new();
            if self.cuts(&panel.name) && !panel.region.is_empty() {
                let frame = place.frames[panel.id.index()];
                taken = of_panel(sight, openings, frame, &panel.region, labels, place.thickness, tag)
                    .map_err(|problem| fault(problem, &panel.name))?;
            }
            cuts.panels.push(taken);
        }
        for (bend, map) in bends.iter().zip(&place.maps) {
            let mut taken = Vec::new();
            if [bend.parent, bend.child].iter().all(|id| self.cuts(&panels[id.index()].name)) {
                let zone = ZoneSight::of_strip(sight, *map, &bend.region, place.thickness);
                let creases = [0.0, bend.allowance()].map(|y| (Point2::new(0.0, y), Vec2::new(1.0, 0.0)));
                for opening in openings.iter().filter_map(|outline| Opening::new(outline, &zone)) {
                    let name = &panels[bend.child.index()].name;
                    taken
                        .extend(opening.taken(&zone, &creases, tag).map_err(|problem| fault(problem, name))?);
                }
            }
            cuts.strips.push(taken);
        }
        Ok(cuts)
    }
}

fn of_panel(
    sight: Sight,
    openings: &[Contour],
    frame: Placement<f64>,
    region: &Region,
    labels: &Labels,
    thickness: f64,
    tag: Tag,
) -> Result<Vec<Contour>, BooleanError> {
    if let Some(is_cut) = sight.square_on(frame, thickness) {
        let copies = openings.iter().filter(|_| is_cut).map(|outline| seen_square_on(sight, frame, outline));
        return Ok(copies.collect());
    }
    let zone = ZoneSight::of_panel(sight, frame, region, thickness);
    let creases: Vec<(Point2, Vec2)> =
        crease_pieces(region, labels).map(|s| (s.start, (s.end - s.start).normalized())).collect();
    let mut taken = Vec::new();
    for opening in openings.iter().filter_map(|outline| Opening::new(outline, &zone)) {
        taken.extend(opening.taken(&zone, &creases, tag)?);
    }
    Ok(taken)
}

/// An opening on a panel that is seen as it is, or as in a mirror.
fn seen_square_on(sight: Sight, frame: Placement<f64>, outline: &Contour) -> Contour {
    let origin = sight.seen(frame.origin);
    let x_axis = sight.seen(frame.point(1.0, 0.0, 0.0)) - origin;
    let y_axis = sight.seen(frame.point(0.0, 1.0, 0.0)) - origin;
    let back = Motion2 { x_axis: x_axis.normalized(), origin }.inverse();
    let copy = outline.moved(back);
    if x_axis.cross(y_axis) > 0.0 { copy } else { mirrored(&copy) }
}

/// The contour mirrored in the x axis.
fn mirrored(contour: &Contour) -> Contour {
    let point = |p: Point2| Point2::new(p.x, -p.y);
    let piece = |s: &Segment| Segment {
        start: point(s.start),
        end: point(s.end),
        curve: match s.curve {
            Curve::Line => Curve::Line,
            Curve::Arc { centre, radius, turn } => {
                Curve::Arc { centre: point(centre), radius, turn: turn.reversed() }
            }
        },
        tag: s.tag,
    };
    let pieces = contour.segments().iter().map(piece).collect();
    Contour::new(pieces).expect("mirrored pieces close as the pieces do").reversed()
}
