//! Openings in one flat panel.
//!
//! Invariant: after cutting, the panel is one piece and its creases are untouched, bit for bit.

use crate::dimension::{LinePart, PanelPose, Pose, Skeleton, Source};
use crate::geom::{
    ArcTurn, BoundingBox, Contour, ContourError, Motion2, OpeningError, Place, Point2, Region, Segment, Tag,
    Vec2, clip_to_left, cut_openings, distance_between, place_in_contour,
};
use crate::history::feature::{Cutout, Reach, XFrom};
use crate::history::{PanelName, Shape};
use crate::ident::{FeatureId, PanelId};
use crate::quantity::{maths, tolerance};
use crate::stock::{ClearanceFit, clearance_hole};

use super::creases::with_vertices;
use super::pattern::{Ground, places};
use super::profile_shape::outline_pieces;
use super::short_edges::without_short_edges;
use super::tree::Panel;
use super::{EdgeLabel, FoldFault, Labels};

/// Cuts the openings of one feature.
pub(super) fn cut(
    panels: &mut [Panel],
    labels: &mut Labels,
    skeleton: &Skeleton<'_>,
    pose: &Pose<f64>,
    free: &[f64],
    feature: FeatureId,
    cutout: &Cutout,
) -> Result<(), FoldFault> {
    let tag = labels.tag(EdgeLabel::Opening(feature));
    let Drawn { panel: id, openings, places, shift } = Drawn::new(panels, skeleton, pose, free, cutout, tag)?;
    let panel = &mut panels[skeleton.root(id).index()];
    keep_clear_of_bends(panel, labels, skeleton, &openings, &places)?;
    let cut = cut_openings(&panel.region, &openings).map_err(|error| match error {
        OpeningError::Outside { index } => {
            let own = own_extent(&panel.region, skeleton, pose, id);
            FoldFault::OpeningOutside {
                panel: cutout.panel.clone(),
                index,
                count: places.len(),
                at: places[index],
                least: tidy(own.min - shift),
                most: tidy(own.max - shift),
            }
        }
        OpeningError::Boolean(problem) => FoldFault::Boolean { panel: panel.name.clone(), problem },
    })?;
    let pieces = cut.outers().count();
    if pieces != 1 {
        return Err(FoldFault::PanelInPieces { panel: panel.name.clone(), pieces });
    }
    panel.region = without_short_edges(&with_creases_of(&panel.region, &cut, labels), labels);
    Ok(())
}

/// A point whose coordinates are zero where only rounding is left of them, so that no `-0.000` is printed.
fn tidy(point: Point2) -> Point2 {
    let whole = |value: f64| if value.abs() <= tolerance::SNAP_MM { 0.0 } else { value };
    Point2::new(whole(point.x), whole(point.y))
}

/// The extent, in its own coordinates, of a panel that is still part of the flat drawing `sheet`: what lies
/// behind the lines that move it and before all others.
fn own_extent(sheet: &Region, skeleton: &Skeleton<'_>, pose: &Pose<f64>, id: PanelId) -> BoundingBox {
    let root = skeleton.root(id);
    let (drawn, lines) = (&skeleton.panels()[root.index()].lines, &pose.panel(root).lines);
    let mut own = sheet.clone();
    // Where a cut cannot be made, the extent is a little wide.
    let mut keep = |frame: Motion2, level: f64, along: f64| {
        let through = frame.point(Point2::new(0.0, level));
        if let Ok(clipped) = clip_to_left(&own, through, frame.x_axis * along, Tag::default()) {
            own = clipped;
        }
    };
    let behind: Vec<(usize, LinePart)> = match skeleton.panels()[id.index()].source {
        Source::Base(_) | Source::Flange { .. } => Vec::new(),
        Source::Piece { line, part, .. } => {
            let earlier = drawn[line].behind.iter().map(|&earlier| (earlier, LinePart::Moved));
            earlier.chain([(line, part)]).collect()
        }
    };
    for (index, line) in lines.iter().enumerate() {
        let (frame, numbers) = (line.frame(), &line.numbers);
        match behind.iter().find(|(at, _)| *at == index) {
            None => keep(frame, 0.0, -1.0),
            Some((_, LinePart::Moved)) => keep(frame, numbers.developed, 1.0),
            Some((_, LinePart::Web)) => {
                keep(frame, numbers.allowances[0], 1.0);
                keep(frame, numbers.allowances[0] + numbers.web, -1.0);
            }
        }
    }
    own.moved(pose.panel(id).in_flat.motion().inverse()).bounding_box()
}

/// The openings of one feature as they were drawn.
pub(super) struct Drawn {
    /// The panel that they were drawn on.
    pub(super) panel: PanelId,
    /// Their outlines: in the flat drawing that the panel belongs to, where things move with the lines that
    /// part it; those of a straight cut in the plane of the panel, just as drawn.
    pub(super) openings: Vec<Contour>,
    /// Where they are set, in the panel's drawn coordinates.
    places: Vec<Point2>,
    /// From drawn coordinates to those of the panel's frame.
    shift: Vec2,
}

impl Drawn {
    pub(super) fn new(
        panels: &[Panel],
        skeleton: &Skeleton<'_>,
        pose: &Pose<f64>,
        free: &[f64],
        cutout: &Cutout,
        tag: Tag,
    ) -> Result<Self, FoldFault> {
        let panel = skeleton.find(&cutout.panel).expect("the skeleton has resolved every panel name");
        let shape = shape_contour(&cutout.shape, free, tag)?;
        let numbers = pose.panel(panel);
        let shift = drawn_shift(cutout.x_from, numbers, &cutout.panel)?;
        let sheet = &panels[skeleton.root(panel).index()];
        let neighbours = skeleton.neighbours();
        let ground = Ground { panel: &cutout.panel, sheet: &sheet.region, pose: numbers, shift, neighbours };
        let motions = places(&cutout.pattern, free, &shape, &ground)?;
        let laid = |place: Motion2| match cutout.reach {
            Reach::Straight(_) => Motion2 { origin: place.origin + shift, ..place },
            Reach::Panel | Reach::Blank => ground.in_sheet(place),
        };
        let openings = motions.iter().map(|&m| shape.moved(laid(m))).collect();
        let places = motions.iter().map(|m| m.origin).collect();
        Ok(Self { panel, openings, places, shift })
    }
}

/// What is added to drawn coordinates of a panel to get its own.
pub(super) fn drawn_shift(
    x_from: XFrom,
    numbers: &PanelPose<f64>,
    panel: &PanelName,
) -> Result<Vec2, FoldFault> {
    match (x_from, numbers.bend) {
        (XFrom::Left, _) => Ok(Vec2::new(0.0, numbers.drawn_shift)),
        (XFrom::Middle, Some(bend)) => Ok(Vec2::new(0.5 * bend.edge_length, numbers.drawn_shift)),
        (XFrom::Middle, None) => Err(FoldFault::NoMiddle { panel: panel.clone() }),
    }
}

fn keep_clear_of_bends(
    panel: &Panel,
    labels: &Labels,
    skeleton: &Skeleton<'_>,
    openings: &[Contour],
    places: &[Point2],
) -> Result<(), FoldFault> {
    let creases: Vec<&Segment> = crease_pieces(&panel.region, labels).collect();
    for (index, opening) in openings.iter().enumerate() {
        let near = opening.bounding_box().grown(tolerance::SNAP_MM);
        for crease in creases.iter().filter(|c| near.touches(c.bounding_box())) {
            let touches =
                opening.segments().iter().any(|s| distance_between(s, crease) <= tolerance::SNAP_MM)
                    || place_in_contour(opening, crease.start) != Place::Outside;
            if touches {
                let (EdgeLabel::CreaseStart(bend) | EdgeLabel::CreaseEnd(bend)) = labels.label(crease.tag)
                else {
                    continue;
                };
                return Err(FoldFault::OpeningTouchesBend {
                    panel: panel.name.clone(),
                    bend: skeleton.panels()[bend.index() + 1].name.clone(),
                    index,
                    count: openings.len(),
                    at: places[index],
                });
            }
        }
    }
    Ok(())
}

/// The pieces of a panel's outline on which a bend starts or ends.
pub(super) fn crease_pieces<'a>(region: &'a Region, labels: &'a Labels) -> impl Iterator<Item = &'a Segment> {
    region.contours().iter().flat_map(|c| c.segments()).filter(|s| labels.label(s.tag).is_crease())
}

/// The region after a cut, with the creases' vertices set back to what they were bit for bit: a cut may move
/// a vertex within the snap tolerance.
pub(super) fn with_creases_of(before: &Region, after: &Region, labels: &Labels) -> Region {
    let vertices: Vec<Point2> = crease_pieces(before, labels).flat_map(|s| [s.start, s.end]).collect();
    let old = |p: Point2| vertices.iter().copied().find(|v| v.distance(p) <= tolerance::SNAP_MM);
    let points = after.outers().flat_map(Contour::segments).map(|s| s.start);
    let moves: Vec<(Point2, Point2)> =
        points.filter_map(|p| Some((p, old(p)?))).filter(|(p, v)| p != v).collect();
    with_vertices(after, &moves)
}

/// The outline of one opening about its own origin, counter-clockwise.
pub(super) fn shape_contour(shape: &Shape, free: &[f64], tag: Tag) -> Result<Contour, FoldFault> {
    let above = |what, got: f64, above: f64| {
        if got > above + tolerance::SNAP_MM && got.is_finite() {
            Ok(got)
        } else {
            Err(FoldFault::OpeningSize { what, got, above })
        }
    };
    let made = match shape {
        Shape::Circle { diameter } => {
            let diameter = above("diameter", diameter.evaluate(free), 0.0)?;
            Contour::circle(Point2::ORIGIN, 0.5 * diameter, tag)
        }
        Shape::Slot { length, width, direction } => {
            let width = above("width", width.evaluate(free), 0.0)?;
            let length = above("length", length.evaluate(free), width)?;
            let direction = direction.evaluate(free) * (maths::PI / 180.0);
            slot(length, width, direction, tag)
        }
        Shape::BoltHole { bolt, fit } => {
            Contour::circle(Point2::ORIGIN, 0.5 * bolt_diameter(bolt, *fit), tag)
        }
        Shape::BoltSlot { bolt, fit, length, direction } => {
            let width = bolt_diameter(bolt, *fit);
            let length = above("length", length.evaluate(free), width)?;
            slot(length, width, direction.evaluate(free) * (maths::PI / 180.0), tag)
        }
        Shape::Outline(profile) => {
            let pieces = outline_pieces("opening", profile, free)?;
            Contour::new(pieces.into_iter().map(|(_, s)| Segment { tag, ..s }).collect())
        }
    };
    made.map_err(|problem| FoldFault::OutlineOpen { outline: "opening".into(), problem })
}

fn bolt_diameter(bolt: &str, fit: ClearanceFit) -> f64 {
    clearance_hole(bolt).expect("the skeleton has resolved every bolt").diameter(fit).to_mm()
}

fn slot(length: f64, width: f64, direction: f64, tag: Tag) -> Result<Contour, ContourError> {
    let u = Vec2::unit(direction);
    let (half, side) = (u * (0.5 * (length - width)), u.left() * (0.5 * width));
    let (a, b) = (Point2::ORIGIN - half, Point2::ORIGIN + half);
    Contour::new(vec![
        Segment::line(a - side, b - side, tag),
        Segment::arc(b - side, b + side, b, ArcTurn::Left, tag),
        Segment::line(b + side, a + side, tag),
        Segment::arc(a + side, a - side, a, ArcTurn::Left, tag),
    ])
}
