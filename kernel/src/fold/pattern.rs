//! Where the openings of one cutout are set.
//!
//! Invariant: places come in the order in which the pattern names them, as motions of the shape in the panel's
//! drawn coordinates. Must not know: how openings are cut.

use crate::dimension::PanelPose;
use crate::geom::{
    BoundingBox, Contour, Motion2, Point2, Region, Vec2, Vec3, clear_of_outlines, nearer_than,
};
use crate::history::feature::{Facing, FillArea, Pattern, Spacing};
use crate::history::{NeighbourAxis, NeighbourDatums, Number, PanelName};
use crate::quantity::{maths, tolerance};

use super::FoldFault;

/// More openings than this in one pattern are taken for a slip of the pen.
const MOST_OPENINGS: f64 = 200_000.0;

/// The panel that a pattern is set on.
pub(super) struct Ground<'a> {
    pub(super) panel: &'a PanelName,
    /// What there is so far of the flat drawing that the panel belongs to.
    pub(super) sheet: &'a Region,
    pub(super) pose: &'a PanelPose<f64>,
    /// From drawn coordinates to those of the panel.
    pub(super) shift: Vec2,
    /// Axes that places may lie on.
    pub(super) neighbours: &'a NeighbourDatums,
}

impl Ground<'_> {
    /// A place in the panel's drawn coordinates as a motion into the sheet.
    pub(super) fn in_sheet(&self, place: Motion2) -> Motion2 {
        let turned = Motion2 { origin: Point2::ORIGIN, ..place };
        self.pose.drawn_in_flat(place.origin + self.shift).after(turned)
    }

    /// Where an axis meets the panel, in the panel's drawn coordinates.
    fn on_axis(&self, axis: &NeighbourAxis) -> Result<Point2, FoldFault> {
        let along = self.neighbours.axis(axis).expect("the skeleton has resolved every axis");
        let met = square_to(self.pose, along).map_err(|off| FoldFault::NotSquare {
            panel: self.panel.clone(),
            of: axis.of.clone(),
            off,
        })?;
        Ok(met - self.shift)
    }

    /// The extent of the sheet in the panel's drawn coordinates.
    fn extent(&self) -> BoundingBox {
        let to_panel = self.pose.in_flat.motion().inverse();
        let outers = self.sheet.outers().map(|outer| outer.moved(to_panel).bounding_box());
        let all = outers.fold(BoundingBox::EMPTY, BoundingBox::union);
        BoundingBox { min: all.min - self.shift, max: all.max - self.shift }
    }
}

/// Where an axis meets a panel that it is square to, in the panel's own coordinates; otherwise how many degrees it is
/// from square.
pub(super) fn square_to(panel: &PanelPose<f64>, [through, along]: [Vec3<f64>; 2]) -> Result<Point2, f64> {
    let placement = panel.placement;
    let off = maths::asin(along.cross(placement.n).length().min(1.0));
    if off > tolerance::SQUARE_RAD {
        return Err(off * (180.0 / maths::PI));
    }
    let above = placement.coordinates(through);
    let slope = Vec2::new(along.dot(placement.x), along.dot(placement.y)) * (1.0 / along.dot(placement.n));
    Ok(Point2::new(above.x, above.y) - slope * above.z)
}

/// The places of a pattern.
pub(super) fn places(
    pattern: &Pattern,
    free: &[f64],
    shape: &Contour,
    ground: &Ground<'_>,
) -> Result<Vec<Motion2>, FoldFault> {
    let point = |[x, y]: &[Number; 2]| Point2::new(x.evaluate(free), y.evaluate(free));
    match pattern {
        Pattern::At(points) => Ok(points.iter().map(|p| unturned(point(p))).collect()),
        Pattern::OnAxes(axes) => axes.iter().map(|axis| ground.on_axis(axis).map(unturned)).collect(),
        Pattern::Grid { from, columns, rows, column_pitch, row_pitch, staggered } => {
            let lattice = Lattice {
                from: point(from),
                columns: *columns,
                rows: *rows,
                pitch: Vec2::new(column_pitch.evaluate(free), row_pitch.evaluate(free)),
                staggered: *staggered,
            };
            lattice.places()
        }
        Pattern::Row { from, to, spacing } => row(point(from), point(to), spacing, free, shape),
        Pattern::Ring { centre, diameter, count, first, span, facing } => {
            let (first, span) = (first.evaluate(free), span.evaluate(free));
            ring(point(centre), 0.5 * diameter.evaluate(free), *count, [first, span], *facing)
        }
        Pattern::Fill { area, column_pitch, row_pitch, staggered, margin } => {
            let pitch = Vec2::new(column_pitch.evaluate(free), row_pitch.evaluate(free));
            let margin = not_negative("margin", margin.evaluate(free))?;
            let inner = match area {
                FillArea::Panel => ground.extent().grown(-margin),
                FillArea::Rectangle { from, to } => BoundingBox::EMPTY.with(point(from)).with(point(to)),
            };
            fill(inner, pitch, *staggered, margin, shape, ground)
        }
    }
}

fn unturned(origin: Point2) -> Motion2 {
    Motion2 { origin, ..Motion2::IDENTITY }
}

fn above_zero(what: &'static str, got: f64) -> Result<f64, FoldFault> {
    if got > tolerance::SNAP_MM && got.is_finite() {
        Ok(got)
    } else {
        Err(FoldFault::PatternSize { what, got, must: "be above zero" })
    }
}

fn not_negative(what: &'static str, got: f64) -> Result<f64, FoldFault> {
    if got >= 0.0 && got.is_finite() {
        Ok(got)
    } else {
        Err(FoldFault::PatternSize { what, got, must: "not be negative" })
    }
}

/// Places in rows and columns.
struct Lattice {
    from: Point2,
    columns: u32,
    rows: u32,
    pitch: Vec2,
    /// Every second row is shifted by half a pitch and has one place less.
    staggered: bool,
}

impl Lattice {
    fn places(&self) -> Result<Vec<Motion2>, FoldFault> {
        limited(f64::from(self.columns) * f64::from(self.rows))?;
        let mut places = Vec::new();
        for row in 0..self.rows {
            let shifted = self.staggered && row % 2 == 1;
            let (count, shift) =
                if shifted { (self.columns.saturating_sub(1), 0.5) } else { (self.columns, 0.0) };
            for column in 0..count {
                let along = (f64::from(column) + shift) * self.pitch.x;
                places.push(unturned(self.from + Vec2::new(along, f64::from(row) * self.pitch.y)));
            }
        }
        Ok(places)
    }
}

fn limited(count: f64) -> Result<(), FoldFault> {
    if count <= MOST_OPENINGS {
        Ok(())
    } else {
        Err(FoldFault::TooManyOpenings { count, limit: MOST_OPENINGS })
    }
}

/// How many steps of `pitch` fit into `room` mm, both above zero.
fn steps(room: f64, pitch: f64) -> Result<u32, FoldFault> {
    let count = ((room + tolerance::SNAP_MM) / pitch).floor();
    limited(count + 1.0)?;
    #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "limited just before")]
    Ok(count as u32)
}

/// Places along a straight line, with a web between any two openings.
fn row(
    from: Point2,
    to: Point2,
    spacing: &Spacing,
    free: &[f64],
    shape: &Contour,
) -> Result<Vec<Motion2>, FoldFault> {
    let length = from.distance(to);
    let (first, step, count) = match spacing {
        Spacing::Count(count) => {
            limited(f64::from(*count))?;
            let gaps = f64::from((*count).max(2) - 1);
            (0.0, length / gaps, *count)
        }
        Spacing::Pitch { pitch, ends } => {
            let pitch = above_zero("pitch", pitch.evaluate(free))?;
            let ends = not_negative("distance to the ends", ends.evaluate(free))?;
            let room = length - 2.0 * ends;
            if room < -tolerance::SNAP_MM {
                return Err(FoldFault::RowTooShort { length, ends });
            }
            let gaps = steps(room, pitch)?;
            // What is left over is shared by both ends.
            (0.5 * (length - f64::from(gaps) * pitch), pitch, gaps + 1)
        }
    };
    let along = if length > tolerance::SNAP_MM { (to - from).normalized() } else { Vec2::new(0.0, 0.0) };
    if count > 1 && run_together(shape, along * step) {
        return Err(no_web(vec![step], shape));
    }
    Ok((0..count).map(|i| unturned(from + along * (first + f64::from(i) * step))).collect())
}

/// `first` and `span` in degrees.
fn ring(
    centre: Point2,
    radius: f64,
    count: u32,
    [first, span]: [f64; 2],
    facing: Facing,
) -> Result<Vec<Motion2>, FoldFault> {
    let full = 360.0;
    limited(f64::from(count))?;
    if span.is_nan() || span.abs() > full {
        return Err(FoldFault::RingSpan { got: span });
    }
    // Once around, the last place stops short of the first.
    let gaps = if span.abs() >= full { count } else { count.max(2) - 1 };
    let step = span / f64::from(gaps.max(1));
    let place = |i: u32| {
        let out = Vec2::unit((first + f64::from(i) * step) * (maths::PI / 180.0));
        let x_axis = match facing {
            Facing::Fixed => Vec2::new(1.0, 0.0),
            Facing::Outward => out,
            Facing::Along => out.left(),
        };
        Motion2 { x_axis, origin: centre + out * radius }
    };
    Ok((0..count).map(place).collect())
}

/// As many places as keep their openings within a rectangle in drawn coordinates, centred there, less those
/// that come nearer than `margin` to an edge, a bend or an earlier opening.
fn fill(
    inner: BoundingBox,
    pitch: Vec2,
    staggered: bool,
    margin: f64,
    shape: &Contour,
    ground: &Ground<'_>,
) -> Result<Vec<Motion2>, FoldFault> {
    above_zero("column pitch", pitch.x)?;
    above_zero("row pitch", pitch.y)?;
    let nothing_fits = || FoldFault::NothingFits { panel: ground.panel.clone(), margin };
    let size = shape.bounding_box();
    let room = Vec2::new(inner.width() - size.width(), inner.height() - size.height());
    // Also false for a rectangle that margins have turned inside out.
    let fits = room.x >= -tolerance::SNAP_MM && room.y >= -tolerance::SNAP_MM;
    if !fits {
        return Err(nothing_fits());
    }
    let gaps = [steps(room.x, pitch.x)?, steps(room.y, pitch.y)?];
    keep_apart(pitch, staggered, gaps, shape)?;
    let [spare_x, spare_y] =
        [room.x - f64::from(gaps[0]) * pitch.x, room.y - f64::from(gaps[1]) * pitch.y].map(|s| 0.5 * s);
    let from = Point2::new(inner.min.x - size.min.x + spare_x, inner.min.y - size.min.y + spare_y);
    let lattice = Lattice { from, columns: gaps[0] + 1, rows: gaps[1] + 1, pitch, staggered };
    let candidates = lattice.places()?;
    let openings: Vec<Contour> =
        candidates.iter().map(|&place| shape.moved(ground.in_sheet(place))).collect();
    let clear = clear_of_outlines(ground.sheet, &openings, margin);
    let kept: Vec<Motion2> =
        candidates.into_iter().zip(clear).filter(|&(_, clear)| clear).map(|(place, _)| place).collect();
    if kept.is_empty() { Err(nothing_fits()) } else { Ok(kept) }
}

/// A fill leaves a web between any two openings: it is enough to look at the nearest ones.
fn keep_apart(pitch: Vec2, staggered: bool, gaps: [u32; 2], shape: &Contour) -> Result<(), FoldFault> {
    let half = if staggered { 0.5 } else { 1.0 };
    let neighbours = [
        (gaps[0] > 0, Vec2::new(pitch.x, 0.0)),
        (gaps[1] > 0 && !staggered, Vec2::new(0.0, pitch.y)),
        (gaps[0] > 0 && gaps[1] > 0, Vec2::new(half * pitch.x, pitch.y)),
        (gaps[0] > 0 && gaps[1] > 0, Vec2::new(-half * pitch.x, pitch.y)),
        (gaps[1] > 1 && staggered, Vec2::new(0.0, 2.0 * pitch.y)),
    ];
    for (_, by) in neighbours.into_iter().filter(|(there, _)| *there) {
        if run_together(shape, by) {
            return Err(no_web(vec![pitch.x, pitch.y], shape));
        }
    }
    Ok(())
}

/// Whether an opening and the next one, this far from it, have no web between them.
fn run_together(shape: &Contour, by: Vec2) -> bool {
    let other = shape.moved(unturned(Point2::ORIGIN + by));
    nearer_than(shape, &other, tolerance::SNAP_MM).is_some()
}

fn no_web(pitches: Vec<f64>, shape: &Contour) -> FoldFault {
    let size = shape.bounding_box();
    FoldFault::NoWeb { pitches, size: [size.width(), size.height()] }
}
