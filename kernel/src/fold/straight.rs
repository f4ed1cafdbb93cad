//! Cuts straight through the folded part: which outline goes from which zone.
//!
//! Invariant: every zone that is cut is looked at in its place in the folded part, whatever it loses to other
//! cuts, so that their order does not matter. What is taken of a zone is told by
//! [`Opening`](super::stretch::Opening).

use crate::geom::{
    BooleanError, BoundingBox, Contour, Curve, Motion2, Placement, Point2, Region, Segment, Tag, Vec2, Vec3,
};
use crate::history::PanelName;
use crate::history::feature::{Straight, StraightSide};
use crate::ident::PanelId;
use crate::quantity::tolerance;

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
        if self.direction.length() <= 0.0 {
            return Err(FoldFault::StraightWithoutDirection);
        }
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
    let bends: Vec<BoundingBox> =
        crease_pieces(region, labels).map(|s| s.bounding_box().grown(tolerance::LEAST_EDGE_MM)).collect();
    let reach = region.bounding_box().grown(tolerance::SNAP_MM);
    let mut taken = Vec::new();
    let mut model: Option<Model<'_>> = None;
    for outline in openings {
        if let Some(copies) = model.as_ref().and_then(|model| model.followed(outline, &zone)) {
            taken.extend(copies.into_iter().filter(|copy| reach.touches(copy.bounding_box())));
            continue;
        }
        let Some(opening) = Opening::new(outline, &zone) else { continue };
        let figure = opening.taken(&zone, &creases, tag)?;
        if model.is_none() {
            model = Model::new(outline, &figure, &zone, &bends);
        }
        taken.extend(figure);
    }
    Ok(taken)
}

/// What one opening of a pattern takes of a panel, where it ends neither at a bend nor with the panel: others
/// of the same shape take the same, only elsewhere.
struct Model<'a> {
    outline: &'a Contour,
    taken: Vec<Contour>,
    bends: &'a [BoundingBox],
}

impl<'a> Model<'a> {
    fn new(
        outline: &'a Contour,
        taken: &[Contour],
        zone: &ZoneSight,
        bends: &'a [BoundingBox],
    ) -> Option<Self> {
        let model = Self { outline, taken: taken.to_vec(), bends };
        (!taken.is_empty() && taken.iter().all(|figure| model.is_plain(figure, zone))).then_some(model)
    }

    fn is_plain(&self, figure: &Contour, zone: &ZoneSight) -> bool {
        let bounds = figure.bounding_box();
        zone.holds_whole(figure) && !self.bends.iter().any(|bend| bend.touches(bounds))
    }

    /// What an opening takes, if it has the model's shape and is as plain.
    fn followed(&self, outline: &Contour, zone: &ZoneSight) -> Option<Vec<Contour>> {
        let shift = shift_between(self.outline, outline)?;
        let origin = Point2::ORIGIN + zone.followed(shift)?;
        let motion = Motion2 { origin, ..Motion2::IDENTITY };
        let copies: Vec<Contour> = self.taken.iter().map(|figure| figure.moved(motion)).collect();
        copies.iter().all(|copy| self.is_plain(copy, zone)).then_some(copies)
    }
}

/// How far one outline is moved from another of the same shape; none if shapes differ.
fn shift_between(from: &Contour, to: &Contour) -> Option<Vec2> {
    let (from, to) = (from.segments(), to.segments());
    let shift = to[0].start - from[0].start;
    let same = |a: Point2, b: Point2| (a + shift).distance(b) <= tolerance::SNAP_MM;
    let alike = |(a, b): (&Segment, &Segment)| {
        same(a.start, b.start)
            && match (a.curve, b.curve) {
                (Curve::Line, Curve::Line) => true,
                (
                    Curve::Arc { centre, turn, .. },
                    Curve::Arc { centre: other_centre, turn: other_turn, .. },
                ) => same(centre, other_centre) && turn == other_turn,
                (Curve::Line, Curve::Arc { .. }) | (Curve::Arc { .. }, Curve::Line) => false,
            }
    };
    (from.len() == to.len() && from.iter().zip(to).all(alike)).then_some(shift)
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

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;
    use crate::fold::EdgeLabel;
    use crate::ident::{BendId, FeatureId};
    use crate::quantity::maths;

    const T: f64 = 2.0;

    /// A frame turned about the drawn panel's y and then about its own x, and set some way off.
    fn frame(lean: f64, tilt: f64, away: f64) -> Placement<f64> {
        let ((sl, cl), (st, ct)) = (maths::sin_cos(lean), maths::sin_cos(tilt));
        let x = Vec3::new(cl, 0.0, sl);
        let (across, up) = (Vec3::new(0.0, 1.0, 0.0), Vec3::new(-sl, 0.0, cl));
        let y = across.times(ct) + up.times(st);
        Placement { origin: Vec3::new(-20.0, -30.0, away), x, y, n: x.cross(y) }
    }

    proptest! {
        #![proptest_config(ProptestConfig::with_cases(500))]

        #[test]
        fn a_pattern_takes_what_its_openings_take_one_by_one(
            lean in -1.5..1.5_f64,
            tilt in -1.5..1.5_f64,
            away in -40.0..40.0_f64,
            along in [-1.0..1.0_f64, -1.0..1.0_f64, 0.2..1.0_f64],
            side in prop_oneof![Just(None), Just(Some(1.0)), Just(Some(-1.0))],
            radius in 1.0..6.0_f64,
            slot in any::<bool>(),
            places in prop::collection::vec([-60.0..100.0_f64, -60.0..100.0_f64], 2..30),
        ) {
            let mut labels = Labels::default();
            let crease = labels.tag(EdgeLabel::CreaseStart(BendId::new(0)));
            let edge = labels.tag(EdgeLabel::StripEnd(BendId::new(0)));
            let tag = labels.tag(EdgeLabel::Opening(FeatureId::new(0)));
            let corners = [[0.0, 0.0], [90.0, 0.0], [90.0, 70.0], [0.0, 70.0]].map(|[x, y]| Point2::new(x, y));
            let piece = |i: usize| {
                Segment::line(corners[i], corners[(i + 1) % 4], if i == 0 { crease } else { edge })
            };
            let region = Region::inside(Contour::new((0..4).map(piece).collect()).unwrap());
            let at = |[x, y]: [f64; 2]| {
                let origin = Point2::new(x, y);
                if slot {
                    let corners = [[-2.0, -1.0], [2.0, -1.0], [1.0, 1.5]];
                    let corners = corners.map(|[x, y]| origin + Vec2::new(x, y) * radius);
                    Contour::polygon(&corners, tag).unwrap()
                } else {
                    Contour::circle(origin, radius, tag).unwrap()
                }
            };
            let openings: Vec<Contour> = places.into_iter().map(at).collect();
            let direction = Vec3::new(along[0], along[1], along[2]);
            let sight = Sight::new(Placement::identity(), direction, side, T).unwrap();
            let frame = frame(lean, tilt, away);
            let taken = |openings: &[Contour]| {
                let taken = of_panel(sight, openings, frame, &region, &labels, T, tag).unwrap();
                let reach = region.bounding_box();
                taken.into_iter().filter(|c| reach.touches(c.bounding_box())).collect::<Vec<_>>()
            };
            let together = taken(&openings);
            let alone: Vec<Contour> =
                openings.iter().flat_map(|opening| taken(std::slice::from_ref(opening))).collect();
            prop_assert_eq!(together.len(), alone.len());
            for (a, b) in together.iter().zip(&alone) {
                prop_assert!((a.signed_area() - b.signed_area()).abs() < 1e-6 * b.length());
                for piece in a.segments() {
                    let nearest = b.segments().iter().map(|s| s.distance_to(piece.start)).fold(1.0, f64::min);
                    prop_assert!(nearest < 1e-6, "{nearest}");
                }
            }
        }
    }

    #[test]
    fn one_model_serves_all_openings_that_end_neither_at_a_bend_nor_with_the_panel() {
        let outline = |x: f64| Contour::circle(Point2::new(x, 0.0), 3.0, Tag(0)).unwrap();
        let sight = Sight::new(Placement::identity(), Vec3::new(0.3, 0.0, 1.0), None, T).unwrap();
        let corners = [[-50.0, -50.0], [50.0, -50.0], [50.0, 50.0], [-50.0, 50.0]];
        let region =
            Region::inside(Contour::polygon(&corners.map(|[x, y]| Point2::new(x, y)), Tag(0)).unwrap());
        let zone = ZoneSight::of_panel(sight, frame(0.0, 0.0, 0.0), &region, T);
        let first = outline(0.0);
        let taken = Opening::new(&first, &zone).unwrap().taken(&zone, &[], Tag(0)).unwrap();
        let bend = BoundingBox { min: Point2::new(-50.0, -50.0), max: Point2::new(-30.0, 50.0) };
        let model = Model::new(&first, &taken, &zone, std::slice::from_ref(&bend)).unwrap();
        let copies = model.followed(&outline(20.0), &zone).unwrap();
        let moved = copies[0].bounding_box().min - taken[0].bounding_box().min;
        assert!((moved - Vec2::new(20.0, 0.0)).length() < 1e-12);
        // At the bend, at the panel's end, and of another shape.
        assert_eq!(model.followed(&outline(-48.0), &zone), None);
        assert_eq!(model.followed(&outline(120.0), &zone), None);
        let wider = Contour::circle(Point2::new(5.0, 0.0), 3.5, Tag(0)).unwrap();
        assert_eq!(model.followed(&wider, &zone), None);
    }
}
