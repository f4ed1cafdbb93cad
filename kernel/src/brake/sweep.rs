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
    /// Half turn between two moments in rad.
    step: f64,
    /// For what stands and for what goes down with the punch: bounds on the second differences of the wing's start,
    /// in mm, as a heap whose root is the whole sweep and whose children are its halves.
    curved: [Vec<f64>; 2],
}

impl Sweep {
    /// Up to half turn `end` in rad.
    pub(super) fn new(stroke: Stroke, end: f64) -> Self {
        #[expect(clippy::cast_precision_loss, reason = "a few hundred moments")]
        let share = |i: usize| i as f64 / LAST as f64;
        let moments: Vec<Moment> = (0..=LAST).map(|i| stroke.at(end * share(i))).collect();
        let curved = [Tool::Die, Tool::Punch].map(|tool| curved(&moments, tool));
        Self { moments, step: end * share(1), curved }
    }

    /// What a place may fall short of the chord between its ends in an interval of the table: this much in mm, and
    /// this much for each mm that it lies off the middle of its turn.
    fn bulge(&self, [from, to]: [usize; 2], tool: Tool) -> [f64; 2] {
        #[expect(clippy::cast_precision_loss, reason = "a few hundred moments")]
        let steps = (to - from) as f64;
        let node = (LAST + from) / (to - from);
        let share = 0.125 * steps * steps;
        [share * self.curved[usize::from(tool.moves())][node], share * self.step * self.step]
    }
}

/// The greatest second difference of the wing's start as seen from a tool, and of the tool as seen from the wing,
/// for each interval of the table: `2^k` moments from `from` on have the number `(LAST + from) / 2^k`.
fn curved(moments: &[Moment], tool: Tool) -> Vec<f64> {
    let seen = moments.iter().map(|moment| {
        let Moment { start, sin, cos, .. } = moment.beside(tool);
        [start.x, start.y, start.x * cos + start.y * sin, start.y * cos - start.x * sin]
    });
    let seen: Vec<[f64; 4]> = seen.collect();
    let mut heap = vec![0.0; LAST];
    for node in (1..LAST).rev() {
        let width = LAST >> node.ilog2();
        let at = (node * width + width / 2) - LAST;
        let change = |i: usize| (seen[at - 1][i] - 2.0 * seen[at][i] + seen[at + 1][i]).abs();
        let own = (change(0) + change(1)).max(change(2) + change(3));
        let below = if width > 2 { f64::max(heap[2 * node], heap[2 * node + 1]) } else { 0.0 };
        heap[node] = own.max(below);
    }
    heap
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

    /// As it is seen from a tool: one that goes down with the punch has its tip at the origin.
    fn beside(mut self, tool: Tool) -> Self {
        if tool.moves() {
            self.start.y -= self.tip;
        }
        self
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
    /// How far each corner lies from the origin in mm.
    reaches: Vec<f64>,
}

/// Which side of a section is held against the corners of the other one.
#[derive(Clone, Copy, Debug)]
enum Side {
    Cell(usize),
    Tool(usize),
}

impl ToolPiece {
    pub(super) fn new(tool: Tool, section: Section) -> Self {
        let start = [f64::INFINITY, f64::NEG_INFINITY].map(|far| Point2::new(far, far));
        let bounds = section.corners.iter().fold(start, |[low, high], p| {
            [Point2::new(low.x.min(p.x), low.y.min(p.y)), Point2::new(high.x.max(p.x), high.y.max(p.y))]
        });
        let reaches = section.corners.iter().map(|p| maths::hypot(p.x, p.y)).collect();
        Self { tool, section, bounds, reaches }
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
    /// That of each corner of the section.
    reaches: Vec<f64>,
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
        let reaches: Vec<f64> = section.corners.iter().map(|p| maths::hypot(p.x, p.y)).collect();
        let radius = flat.iter().map(|p| maths::hypot(p.x, p.y)).fold(0.0, f64::max);
        #[expect(clippy::cast_precision_loss, reason = "a small number of corners")]
        let share = 1.0 / cell.corners.len() as f64;
        let middle = cell.corners.iter().fold(Vec3::new(0.0, 0.0, 0.0), |sum, p| sum + *p).times(share);
        let reach = cell.corners.iter().map(|p| (*p - middle).length()).fold(0.0, f64::max);
        let centre = Point2::new(middle.y, middle.z);
        let disc = flat.iter().map(|p| (*p - centre).length()).fold(0.0, f64::max);
        Self { cell, along, section, radius, reaches, disc: (centre, disc), ball: (middle, reach) }
    }

    /// As [`Section::gap`] to a piece of a tool at a moment of the stroke, and the side that parts them most; none if
    /// discs and boxes do.
    fn gap_to(
        &self,
        piece: &ToolPiece,
        moment: &Moment,
        towards: Towards,
        enough: f64,
    ) -> (f64, Option<Side>) {
        let (centre, radius) = self.disc;
        let seen = moment.beside(piece.tool);
        let far = piece.distance_bound(seen.place(centre.x, centre.y, towards)) - radius;
        if far > enough {
            return (far, None);
        }
        let mut best = (f64::NEG_INFINITY, None);
        let cell_sides = (0..self.section.sides.len()).map(Side::Cell);
        for side in cell_sides.chain((0..piece.section.sides.len()).map(Side::Tool)) {
            let apart = self.apart_along(side, piece, &seen, towards, 0.0);
            if apart > best.0 {
                best = (apart, Some(side));
            }
            if best.0 > enough {
                break;
            }
        }
        best
    }

    /// How far a side parts the cell from a piece of a tool, at a moment as seen from the tool; each corner counts as
    /// nearer by `share` of its way to the middle of its turn.
    fn apart_along(&self, side: Side, piece: &ToolPiece, seen: &Moment, towards: Towards, share: f64) -> f64 {
        let place = |p: &Point2| seen.place(p.x, p.y, towards);
        let tool = &piece.section;
        // Each side keeps its corner, also where mirroring turns the order round.
        match side {
            Side::Cell(at) => {
                let (corner, side) = (place(&self.section.corners[at]), self.section.sides[at]);
                let side = Vec2::new(
                    towards.sign() * (side.x * seen.cos - side.y * seen.sin),
                    side.x * seen.sin + side.y * seen.cos,
                );
                let corners = tool.corners.iter().zip(&piece.reaches);
                corners.map(|(p, r)| (*p - corner).dot(side) - share * r).fold(f64::INFINITY, f64::min)
            }
            Side::Tool(at) => {
                let (corner, side) = (tool.corners[at], tool.sides[at]);
                let corners = self.section.corners.iter().zip(&self.reaches);
                corners.map(|(p, r)| (place(p) - corner).dot(side) - share * r).fold(f64::INFINITY, f64::min)
            }
        }
    }

    /// Whether one side keeps the cell and a piece of a tool apart, or touching, at every moment of an interval.
    fn stays_apart(
        &self,
        side: Side,
        piece: &ToolPiece,
        sweep: &Sweep,
        interval: [usize; 2],
        towards: Towards,
    ) -> bool {
        let [bulge, share] = sweep.bulge(interval, piece.tool);
        interval.iter().all(|at| {
            let seen = sweep.moments[*at].beside(piece.tool);
            self.apart_along(side, piece, &seen, towards, share) - bulge >= -tolerance::BRAKE_TOUCH_MM
        })
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
    let stays_apart = |interval: [usize; 2], side: Option<Side>| {
        side.is_some_and(|side| cell.stays_apart(side, piece, sweep, interval, towards))
    };
    first_meeting(sweep, [0, LAST], &probe, &motion, &stays_apart).is_some()
}

/// The same for a wing that lies flat next to the bend: its faces turn towards the flanks of the punch and of the V
/// all the time and away from all else, so that moments tell.
pub(super) fn lying_meets_tool(sweep: &Sweep, cell: &WingCell, towards: Towards, piece: &ToolPiece) -> bool {
    let touch = -tolerance::BRAKE_TOUCH_MM;
    // What parts them at one moment mostly does at the next one.
    let mut parted_by = None;
    sweep.moments.iter().rev().step_by(STRIDE).any(|moment| {
        let parts = |side| cell.apart_along(side, piece, &moment.beside(piece.tool), towards, 0.0) >= touch;
        if parted_by.is_some_and(parts) {
            return false;
        }
        let (apart, side) = cell.gap_to(piece, moment, towards, touch);
        parted_by = side;
        apart < touch
    })
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
            return (apart, ());
        }
        (gap(&back.cell_at(moment, Towards::Back), &front.cell_at(moment, Towards::Front), enough), ())
    };
    // Both rise alike, so that only their way apart counts beside the turns.
    let motion = |a: &Moment, b: &Moment| {
        (back.radius + front.radius) * (b.half - a.half) + 2.0 * (a.start.x - b.start.x).abs()
    };
    first_meeting(sweep, [0, LAST], &probe, &motion, &|_, ()| false)
}

/// Half turn of the first moment at which `probe` is negative, of those that `motion` does not rule out.
///
/// `probe(moment, enough)` bounds the distance from below and may stop above `enough`; `motion(a, b)` bounds by how
/// much it changes between two moments. What else the probe says, `stays_apart` may use to rule out an interval.
fn first_meeting<Side>(
    sweep: &Sweep,
    [from, to]: [usize; 2],
    probe: &impl Fn(&Moment, f64) -> (f64, Side),
    motion: &impl Fn(&Moment, &Moment) -> f64,
    stays_apart: &impl Fn([usize; 2], Side) -> bool,
) -> Option<f64> {
    let at = usize::midpoint(from, to);
    let middle = &sweep.moments[at];
    let moved = motion(&sweep.moments[from], middle).max(motion(middle, &sweep.moments[to]));
    let (apart, side) = probe(middle, moved);
    if apart > moved {
        return None;
    }
    let meets = apart < -tolerance::BRAKE_TOUCH_MM;
    if to - from == 2 || moved <= GRAZE_MM {
        return meets.then_some(middle.half);
    }
    if !meets && stays_apart([from, to], side) {
        return None;
    }
    // A deep overlap in the middle is reported from the earlier half, which may meet earlier.
    if let Some(found) = first_meeting(sweep, [from, at], probe, motion, stays_apart) {
        return Some(found);
    }
    if meets {
        return Some(middle.half);
    }
    first_meeting(sweep, [at, to], probe, motion, stays_apart)
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

    /// As [`meets_tool`] without ruling intervals out by one side.
    fn meets_by_halving(sweep: &Sweep, cell: &WingCell, towards: Towards, piece: &ToolPiece) -> bool {
        let probe = |moment: &Moment, enough: f64| cell.gap_to(piece, moment, towards, enough);
        let motion = |a: &Moment, b: &Moment| {
            let [a, b] = [a, b].map(|moment| moment.beside(piece.tool));
            let drift = (a.start.x - b.start.x).abs() + (a.start.y - b.start.y).abs();
            cell.radius * (b.half - a.half) + drift
        };
        first_meeting(sweep, [0, LAST], &probe, &motion, &|_, _| false).is_some()
    }

    fn prism(polygon: &[Point2]) -> Cell {
        let corners = polygon.iter().flat_map(|p| [0.0, 10.0].map(|x| Vec3::new(x, p.x, p.y)));
        Cell { corners: corners.collect(), normals: Vec::new(), edges: Vec::new() }
    }

    #[test]
    fn a_side_never_rules_out_what_halving_finds() {
        let mut rng = 7_u64;
        let mut random = |low: f64, high: f64| {
            rng = rng.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
            #[expect(clippy::cast_precision_loss, reason = "a random number")]
            let share = (rng >> 33) as f64 / (1_u64 << 31) as f64;
            low + share * (high - low)
        };
        let mut found = [0_u32; 2];
        for _ in 0..100 {
            let thickness = random(0.5, 4.0);
            let opening = thickness * random(4.0, 12.0);
            let (allowance, neutral) = (thickness * random(0.5, 5.0), thickness * random(0.3, 0.5));
            let end = 0.5 * random(0.3, 2.6);
            let sweep = Sweep::new(Stroke { allowance, neutral, thickness, opening }, end);
            for i in 0..100 {
                // Sheets that lie beside the bend as well as any quadrangle; tools from the tip or the shoulder on.
                let from = if random(0.0, 1.0) < 0.5 { 0.0 } else { random(0.0, 60.0) };
                let lift = if random(0.0, 1.0) < 0.5 { 0.0 } else { random(-10.0, 30.0) };
                let (to, tilt) = (from + random(1.0, 150.0), random(-3.0, 3.0) * random(0.0, 1.0).round());
                let quadrangle = [(from, -thickness), (to, tilt - thickness), (to, tilt), (from, 0.0)];
                let cell = WingCell::new(prism(&quadrangle.map(|(w, q)| Point2::new(w, q + lift))));
                let (tool, at, up) = if i % 2 == 0 {
                    (Tool::Punch, random(-1.0, 1.0), 1.0)
                } else {
                    (Tool::Die, 0.5 * opening + random(-0.1, 5.0), -1.0)
                };
                let rest = [(); 3].map(|()| Point2::new(at + random(-40.0, 40.0), up * random(0.1, 120.0)));
                let corners = [Point2::new(at, 0.0), rest[0], rest[1], rest[2]];
                let piece = ToolPiece::new(tool, Section::new(crate::geom::convex_hull(&corners)));
                for towards in [Towards::Back, Towards::Front] {
                    let meets = meets_by_halving(&sweep, &cell, towards, &piece);
                    assert_eq!(meets_tool(&sweep, &cell, towards, &piece), meets, "{cell:?} {piece:?}");
                    found[usize::from(meets)] += 1;
                }
            }
        }
        assert!(found.iter().all(|count| *count > 2000), "{found:?}");
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
