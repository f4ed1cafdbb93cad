//! How the sheet moves while one bend is made, and what it meets on its way.
//!
//! Seen along the bend, with the middle of the die's opening as origin, y to the back and z up: at half turn `h` both
//! wings lie on the die's shoulders and rise by `h`. With allowance `w`, inside radius `r = w / (2 h) - K t`, outer
//! radius `R = r + t` and opening `V` the axis of the bend lies at `z = R / cos h - (V / 2) tan h` (or, where the
//! round part itself lies on the shoulders, at `sqrt(R² - V² / 4)`), and the punch's tip at `r` below it.
//! Derivation: `docs/math/bend-order.md`.
//!
//! Invariant: a body that is said to be clear is apart from the other one at every moment of the sweep, except for
//! grazes shorter than the last step. Must not know: the order of bends, the fold tree.

use crate::geom::{Point2, Vec2, Vec3};
use crate::quantity::{maths, tolerance};

use super::cell::{Cell, Section, gap};

/// Into how many steps, as a power of two, a sweep is cut at most: of 90°, steps of a sixth of a degree.
const DEEPEST: u32 = 8;

/// Intervals in which nothing moves farther than this, in mm, are not cut any more: a graze within is as shallow.
const GRAZE_MM: f64 = 0.5;

/// How many moments of a sweep lie in its table.
const LAST: usize = 1 << (DEEPEST + 1);

/// Every how many moments of the table it is looked at a wing that lies flat.
const STRIDE: usize = LAST / 8;

/// Motion of one bend between punch and die.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Stroke {
    /// Width of the strip in the blank in mm.
    pub(super) allowance: f64,
    /// Distance of the neutral fibre from the inside in mm.
    pub(super) neutral: f64,
    pub(super) thickness: f64,
    /// Opening of the die in mm.
    pub(super) opening: f64,
}

/// One moment of a stroke.
#[derive(Clone, Copy, Debug)]
pub(super) struct Moment {
    /// Half turn in rad.
    pub(super) half: f64,
    pub(super) sin: f64,
    pub(super) cos: f64,
    /// Where the wing's upper face begins: away from the middle, and up, in mm.
    pub(super) start: Point2,
    /// Height of the punch's tip in mm.
    pub(super) tip: f64,
}

impl Stroke {
    /// At half turn `half` in rad.
    pub(super) fn at(&self, half: f64) -> Moment {
        if half < tolerance::FLAT_RAD {
            let start = Point2::new(0.5 * self.allowance, self.thickness);
            return Moment { half, sin: 0.0, cos: 1.0, start, tip: self.thickness };
        }
        let (sin, cos) = maths::sin_cos(half);
        let inner = self.inside_radius(half);
        let outer = inner + self.thickness;
        let seat = 0.5 * self.opening;
        let axis = if outer * sin < seat {
            outer / cos - seat * sin / cos
        } else {
            (outer * outer - seat * seat).max(0.0).sqrt()
        };
        Moment { half, sin, cos, start: Point2::new(inner * sin, axis - inner * cos), tip: axis - inner }
    }

    /// Radius of the inside at half turn `half` in mm.
    pub(super) fn inside_radius(&self, half: f64) -> f64 {
        (0.5 * self.allowance / half - self.neutral).max(0.0)
    }

    /// How far from the start of the wing's lower face it lies on the shoulder at half turn `half`, in mm.
    pub(super) fn lies_at(&self, half: f64) -> f64 {
        let (sin, cos) = maths::sin_cos(half);
        (0.5 * self.opening - (self.inside_radius(half) + self.thickness) * sin) / cos
    }
}

/// A stroke from flat to its turn under load, as a table of moments at equal steps of the turn.
#[derive(Clone, Debug)]
pub(super) struct Sweep {
    moments: Vec<Moment>,
}

impl Sweep {
    /// Up to half turn `end` in rad.
    pub(super) fn new(stroke: Stroke, end: f64) -> Self {
        #[expect(clippy::cast_precision_loss, reason = "a few hundred moments")]
        let share = |i: usize| i as f64 / LAST as f64;
        Self { moments: (0..=LAST).map(|i| stroke.at(end * share(i))).collect() }
    }
}

/// To which side of the bend a wing lies.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Towards {
    /// Away from the operator, where the gauge is.
    Back,
    /// Towards the operator.
    Front,
}

impl Towards {
    pub(super) fn sign(self) -> f64 {
        match self {
            Self::Back => 1.0,
            Self::Front => -1.0,
        }
    }

    /// The other side.
    #[must_use]
    pub fn opposite(self) -> Self {
        match self {
            Self::Back => Self::Front,
            Self::Front => Self::Back,
        }
    }
}

impl Moment {
    /// Where a place of a wing, `w` mm from its start and `q` mm above its upper face, lies in the section.
    pub(super) fn place(&self, w: f64, q: f64, towards: Towards) -> Point2 {
        Point2::new(
            towards.sign() * (self.start.x + w * self.cos - q * self.sin),
            self.start.y + w * self.sin + q * self.cos,
        )
    }
}

/// What a body is part of.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Tool {
    /// The punch.
    Punch,
    /// The ram that holds it.
    Ram,
    /// The die.
    Die,
    /// The bed that it stands on.
    Bed,
    /// A finger of the back gauge.
    Gauge,
    /// A side frame of the brake.
    Frame,
}

impl Tool {
    /// `punch`, `ram`, `die`, `bed`, `back gauge`, `side frame`.
    #[must_use]
    pub fn word(self) -> &'static str {
        match self {
            Self::Punch => "punch",
            Self::Ram => "ram",
            Self::Die => "die",
            Self::Bed => "bed",
            Self::Gauge => "back gauge",
            Self::Frame => "side frame",
        }
    }

    /// Whether it goes down with the punch.
    pub(super) fn moves(self) -> bool {
        match self {
            Self::Punch | Self::Ram => true,
            Self::Die | Self::Bed | Self::Gauge | Self::Frame => false,
        }
    }

    /// Whether it is as long as the bend only, and not as the brake.
    pub(super) fn is_made_up(self) -> bool {
        match self {
            Self::Punch | Self::Die => true,
            Self::Ram | Self::Bed | Self::Gauge | Self::Frame => false,
        }
    }
}

/// A convex piece of a tool in the section, as it stands when the punch's tip is at the origin.
#[derive(Clone, Debug)]
pub(super) struct ToolPiece {
    pub(super) tool: Tool,
    pub(super) section: Section,
    /// Its least and greatest coordinates.
    bounds: [Point2; 2],
}

impl ToolPiece {
    pub(super) fn new(tool: Tool, section: Section) -> Self {
        let start = [f64::INFINITY, f64::NEG_INFINITY].map(|far| Point2::new(far, far));
        let bounds = section.corners.iter().fold(start, |[low, high], p| {
            [Point2::new(low.x.min(p.x), low.y.min(p.y)), Point2::new(high.x.max(p.x), high.y.max(p.y))]
        });
        Self { tool, section, bounds }
    }

    /// No point of the piece is nearer.
    fn distance_bound(&self, p: Point2) -> f64 {
        let [low, high] = self.bounds;
        let (x, y) = ((low.x - p.x).max(p.x - high.x).max(0.0), (low.y - p.y).max(p.y - high.y).max(0.0));
        (x * x + y * y).sqrt()
    }
}

/// A cell of a wing: x along the bend, `w` away from the wing's start, `q` up from its upper face.
#[derive(Clone, Debug)]
pub(super) struct WingCell {
    pub(super) cell: Cell,
    pub(super) along: [f64; 2],
    pub(super) section: Section,
    /// Farthest distance from the wing's start in the section, in mm.
    pub(super) radius: f64,
    /// Middle and radius of a disc around its section.
    disc: (Point2, f64),
    /// Middle and radius of a ball around it.
    ball: (Vec3<f64>, f64),
}

impl WingCell {
    pub(super) fn new(cell: Cell) -> Self {
        let flat: Vec<Point2> = cell.corners.iter().map(|p| Point2::new(p.y, p.z)).collect();
        let section = Section::new(crate::geom::convex_hull(&flat));
        let along = cell
            .corners
            .iter()
            .fold([f64::INFINITY, f64::NEG_INFINITY], |[low, high], p| [low.min(p.x), high.max(p.x)]);
        let radius = flat.iter().map(|p| maths::hypot(p.x, p.y)).fold(0.0, f64::max);
        #[expect(clippy::cast_precision_loss, reason = "a small number of corners")]
        let share = 1.0 / cell.corners.len() as f64;
        let middle = cell.corners.iter().fold(Vec3::new(0.0, 0.0, 0.0), |sum, p| sum + *p).times(share);
        let reach = cell.corners.iter().map(|p| (*p - middle).length()).fold(0.0, f64::max);
        let centre = Point2::new(middle.y, middle.z);
        let disc = flat.iter().map(|p| (*p - centre).length()).fold(0.0, f64::max);
        Self { cell, along, section, radius, disc: (centre, disc), ball: (middle, reach) }
    }

    /// As [`Section::gap`] to a piece of a tool at a moment of the stroke; a piece that moves goes down with the punch.
    fn gap_to(&self, piece: &ToolPiece, moment: &Moment, towards: Towards, enough: f64) -> f64 {
        let mut moment = *moment;
        if piece.tool.moves() {
            moment.start.y -= moment.tip;
        }
        let (centre, radius) = self.disc;
        let far = piece.distance_bound(moment.place(centre.x, centre.y, towards)) - radius;
        if far > enough {
            return far;
        }
        let place = |p: &Point2| moment.place(p.x, p.y, towards);
        let sign = towards.sign();
        let turned = |side: Vec2| {
            Vec2::new(
                sign * (side.x * moment.cos - side.y * moment.sin),
                side.x * moment.sin + side.y * moment.cos,
            )
        };
        let tool = &piece.section;
        let mut best = f64::NEG_INFINITY;
        // Each side keeps its corner, also where mirroring turns the order round.
        for (corner, side) in self.section.corners.iter().zip(&self.section.sides) {
            let (corner, side) = (place(corner), turned(*side));
            let nearest = tool.corners.iter().map(|p| (*p - corner).dot(side)).fold(f64::INFINITY, f64::min);
            best = best.max(nearest);
            if best > enough {
                return best;
            }
        }
        for (corner, side) in tool.corners.iter().zip(&tool.sides) {
            let corners = self.section.corners.iter();
            let nearest = corners.map(|p| (place(p) - *corner).dot(*side)).fold(f64::INFINITY, f64::min);
            best = best.max(nearest);
            if best > enough {
                return best;
            }
        }
        best
    }

    fn cell_at(&self, moment: &Moment, towards: Towards) -> Cell {
        let turned = |v: Vec3<f64>| {
            let away = v.y * moment.cos - v.z * moment.sin;
            Vec3::new(v.x, towards.sign() * away, v.y * moment.sin + v.z * moment.cos)
        };
        let start = Vec3::new(0.0, towards.sign() * moment.start.x, moment.start.y);
        Cell {
            corners: self.cell.corners.iter().map(|p| start + turned(*p)).collect(),
            normals: self.cell.normals.iter().map(|v| turned(*v)).collect(),
            edges: self.cell.edges.iter().map(|v| turned(*v)).collect(),
        }
    }
}

/// Whether a cell of the wing on one side meets a piece of a tool during a sweep.
pub(super) fn meets_tool(sweep: &Sweep, cell: &WingCell, towards: Towards, piece: &ToolPiece) -> bool {
    let probe = |moment: &Moment, enough: f64| cell.gap_to(piece, moment, towards, enough);
    let motion = |a: &Moment, b: &Moment| {
        let height = |m: &Moment| if piece.tool.moves() { m.start.y - m.tip } else { m.start.y };
        let drift = (a.start.x - b.start.x).abs() + (height(a) - height(b)).abs();
        cell.radius * (b.half - a.half) + drift
    };
    first_meeting(sweep, [0, LAST], &probe, &motion).is_some()
}

/// The same for a wing that lies flat next to the bend: its faces turn towards the flanks of the punch and of the V
/// all the time and away from all else, so that moments tell.
pub(super) fn lying_meets_tool(sweep: &Sweep, cell: &WingCell, towards: Towards, piece: &ToolPiece) -> bool {
    let touch = -tolerance::BRAKE_TOUCH_MM;
    let mut moments = sweep.moments.iter().rev().step_by(STRIDE);
    moments.any(|moment| cell.gap_to(piece, moment, towards, touch) < touch)
}

/// Half turn at which a cell of the wing at the back meets one of the wing in front, if they do during a sweep.
pub(super) fn wings_meet(sweep: &Sweep, back: &WingCell, front: &WingCell) -> Option<f64> {
    if back.along[0] > front.along[1] || front.along[0] > back.along[1] {
        return None;
    }
    let probe = |moment: &Moment, enough: f64| {
        let middle = |of: &WingCell, towards: Towards| {
            let place = moment.place(of.ball.0.y, of.ball.0.z, towards);
            Vec3::new(of.ball.0.x, place.x, place.y)
        };
        let apart = (middle(back, Towards::Back) - middle(front, Towards::Front)).length()
            - back.ball.1
            - front.ball.1;
        if apart > enough {
            return apart;
        }
        gap(&back.cell_at(moment, Towards::Back), &front.cell_at(moment, Towards::Front), enough)
    };
    // Both rise alike, so that only their way apart counts beside the turns.
    let motion = |a: &Moment, b: &Moment| {
        (back.radius + front.radius) * (b.half - a.half) + 2.0 * (a.start.x - b.start.x).abs()
    };
    first_meeting(sweep, [0, LAST], &probe, &motion)
}

/// Half turn of the first moment at which `probe` is negative, of those that `motion` does not rule out.
///
/// `probe(moment, enough)` bounds the distance from below and may stop above `enough`; `motion(a, b)` bounds by how
/// much it changes between two moments.
fn first_meeting(
    sweep: &Sweep,
    [from, to]: [usize; 2],
    probe: &impl Fn(&Moment, f64) -> f64,
    motion: &impl Fn(&Moment, &Moment) -> f64,
) -> Option<f64> {
    let at = usize::midpoint(from, to);
    let middle = &sweep.moments[at];
    let moved = motion(&sweep.moments[from], middle).max(motion(middle, &sweep.moments[to]));
    let apart = probe(middle, moved);
    if apart > moved {
        return None;
    }
    let meets = apart < -tolerance::BRAKE_TOUCH_MM;
    if to - from == 2 || moved <= GRAZE_MM {
        return meets.then_some(middle.half);
    }
    // A deep overlap in the middle is reported from the earlier half, which may meet earlier.
    if let Some(found) = first_meeting(sweep, [from, at], probe, motion) {
        return Some(found);
    }
    if meets {
        return Some(middle.half);
    }
    first_meeting(sweep, [at, to], probe, motion)
}

#[cfg(test)]
mod tests {
    use super::*;

    const STROKE: Stroke = Stroke { allowance: 4.5239, neutral: 0.88, thickness: 2.0, opening: 12.0 };

    #[test]
    fn a_stroke_by_hand() {
        // Flat: the sheet lies on the die, its upper face 2 mm up, the tip on it.
        let start = STROKE.at(0.0);
        assert_eq!((start.start, start.tip), (Point2::new(2.261_95, 2.0), 2.0));
        // At 90° (half 45°): r = 2, R = 4; axis at 4 · √2 - 6 = -0.3431, tip 2 below.
        let end = STROKE.at(maths::FRAC_PI_2 / 2.0);
        assert!((STROKE.inside_radius(maths::FRAC_PI_2 / 2.0) - 2.0).abs() < 1e-4);
        assert!((end.tip + 2.3431).abs() < 1e-3, "{end:?}");
        assert!((end.start.x - 2.0 * 0.5_f64.sqrt()).abs() < 1e-4);
        // A little turn changes little.
        let near = STROKE.at(1e-6);
        assert!((near.start.x - start.start.x).abs() < 1e-5 && (near.tip - 2.0).abs() < 1e-4, "{near:?}");
    }

    #[test]
    fn the_lower_face_of_a_wing_runs_over_the_shoulder_all_the_time() {
        for i in 1..=10 {
            let half = 0.08 * f64::from(i);
            let (moment, w) = (STROKE.at(half), STROKE.lies_at(half));
            let place = moment.place(w, -STROKE.thickness, Towards::Front);
            assert!((place.x + 6.0).abs() < 1e-9 && place.y.abs() < 1e-9, "{half}: {place:?}");
        }
    }
}
