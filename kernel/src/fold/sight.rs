//! Lines of sight: how points in space, and the zones of a part, look along the direction of a cut.
//!
//! Invariant: every figure of a zone here (where it is seen, how high it lies) is affine in space, so that over
//! a flat zone it is linear and over a rolled one a constant with a sine and a cosine: a [`Track`]. Must not
//! know openings. Derivation: `docs/math/straight-cut.md`.

use crate::geom::{BoundingBox, Contour, Motion2, Placement, Point2, Region, Vec2, Vec3};
use crate::quantity::{maths, tolerance};

use super::StripMap;

/// Lines of sight through the plane of a drawn panel.
#[derive(Clone, Copy, Debug)]
pub(super) struct Sight {
    /// The panel's frame.
    frame: Placement<f64>,
    /// What is seen at the frame's x and y, as functions of space.
    seen: [Affine; 2],
    /// Height above the middle of the panel's sheet, positive where the cut is made; none for a cut both ways.
    height: Option<Affine>,
}

/// A figure of points in space: a scalar product and a constant.
#[derive(Clone, Copy, Debug)]
struct Affine {
    slope: Vec3<f64>,
    constant: f64,
}

/// On which side of the drawn panel a cut is made, as `+1` for that of the inner face and `-1`.
pub(super) type SideSign = f64;

impl Sight {
    /// Lines along `direction` (components in the frame, any length). None if they lie in the plane.
    pub(super) fn new(
        frame: Placement<f64>,
        direction: Vec3<f64>,
        side: Option<SideSign>,
        thickness: f64,
    ) -> Option<Self> {
        let Vec3 { x, y, z } = direction;
        if z.abs() <= tolerance::PARALLEL * direction.length() {
            return None;
        }
        let through_origin = |slope: Vec3<f64>| Affine { slope, constant: -slope.dot(frame.origin) };
        Some(Self {
            frame,
            seen: [
                through_origin(frame.x - frame.n.times(x / z)),
                through_origin(frame.y - frame.n.times(y / z)),
            ],
            height: side.map(|sign| Affine {
                slope: frame.n.times(sign),
                constant: sign * (0.5 * thickness - frame.n.dot(frame.origin)),
            }),
        })
    }

    /// Where a point in space is seen in the panel's plane.
    pub(super) fn seen(self, p: Vec3<f64>) -> Point2 {
        let [x, y] = self.seen.map(|figure| figure.of(p));
        Point2::new(x, y)
    }

    /// Whether a flat zone looks as it is, at every depth alike, and is cut at all; none if it does not look as
    /// it is.
    pub(super) fn square_on(self, frame: Placement<f64>, thickness: f64) -> Option<bool> {
        let moves = self.seen.iter().map(|figure| figure.slope.dot(frame.n).abs()).fold(0.0, f64::max);
        let tilt = self.frame.n.cross(frame.n).length();
        (moves.max(tilt) <= tolerance::PARALLEL).then(|| {
            let middle = frame.point(0.0, 0.0, -0.5 * thickness);
            self.height.is_none_or(|height| height.of(middle) >= -tolerance::SNAP_MM)
        })
    }
}

impl Affine {
    fn of(self, p: Vec3<f64>) -> f64 {
        self.slope.dot(p) + self.constant
    }

    fn turned(figures: [Self; 2], by: Vec2) -> Self {
        let [a, b] = figures;
        Self {
            slope: a.slope.times(by.x) + b.slope.times(by.y),
            constant: a.constant * by.x + b.constant * by.y,
        }
    }
}

/// How a figure changes over the y of a zone, along x = 0 and at one depth.
#[derive(Clone, Copy, Debug)]
pub(super) enum Track {
    Flat { at: f64, per_y: f64 },
    Rolled { at: f64, sine: f64, cosine: f64, rad_per_y: f64 },
}

impl Track {
    pub(super) fn at(self, y: f64) -> f64 {
        match self {
            Self::Flat { at, per_y } => at + per_y * y,
            Self::Rolled { at, sine, cosine, rad_per_y } => {
                let (sin, cos) = maths::sin_cos(rad_per_y * y);
                at + sine * sin + cosine * cos
            }
        }
    }

    /// Where the figure has this value, at angles up to a full turn.
    pub(super) fn places(self, value: f64) -> Vec<f64> {
        match self {
            Self::Flat { at, per_y } => {
                if per_y == 0.0 {
                    Vec::new()
                } else {
                    vec![(value - at) / per_y]
                }
            }
            Self::Rolled { at, sine, cosine, rad_per_y } => {
                // sine sin τ + cosine cos τ = A sin(τ + φ)
                let amplitude = maths::hypot(sine, cosine);
                let share = (value - at) / amplitude;
                // Just beyond its top a level is that of the top: a corner may lie on it but for rounding.
                if share.is_nan() || share.abs() > 1.0 + tolerance::PARALLEL {
                    return Vec::new();
                }
                let phase = maths::atan2(cosine, sine);
                let first = maths::asin(share.clamp(-1.0, 1.0));
                let turns = [-1.0, 0.0, 1.0];
                let all = [first, maths::PI - first]
                    .into_iter()
                    .flat_map(|angle| turns.map(|turn| angle - phase + turn * maths::TAU));
                all.map(|angle| angle / rad_per_y).collect()
            }
        }
    }

    /// The figure at one depth less the same figure at another.
    fn minus(self, other: Self) -> Self {
        match (self, other) {
            (Self::Flat { at, per_y }, Self::Flat { at: b, per_y: d }) => {
                Self::Flat { at: at - b, per_y: per_y - d }
            }
            (
                Self::Rolled { at, sine, cosine, rad_per_y },
                Self::Rolled { at: b, sine: s, cosine: c, .. },
            ) => Self::Rolled { at: at - b, sine: sine - s, cosine: cosine - c, rad_per_y },
            _ => unreachable!("all figures of a zone run alike"),
        }
    }

    /// The values between which the figure stays over these y, or somewhat wider ones.
    fn bounds(self, [from, to]: [f64; 2]) -> [f64; 2] {
        match self {
            Self::Flat { .. } => {
                let (a, b) = (self.at(from), self.at(to));
                [a.min(b), a.max(b)]
            }
            Self::Rolled { at, sine, cosine, .. } => {
                let amplitude = maths::hypot(sine, cosine);
                [at - amplitude, at + amplitude]
            }
        }
    }
}

/// How a zone lies in space.
#[derive(Clone, Copy)]
enum Lie {
    Flat(Placement<f64>),
    Rolled(StripMap),
}

/// A zone as lines of sight see it, in coordinates `(u, v)` in which its lines along x run along u.
#[derive(Clone, Debug)]
pub(super) struct ZoneSight {
    /// Where x = 0 is seen on the inner and on the outer face.
    pub(super) u: [Track; 2],
    /// How high lines along x are seen on the inner and on the outer face.
    pub(super) v: [Track; 2],
    /// `v` of the inner face less that of the outer one.
    pub(super) between: Track,
    /// How long one mm along x looks; 0 where lines of sight run along x.
    pub(super) scale: f64,
    /// Height of the sheet's middle above that of the drawn panel at x = 0, and its change per mm of x;
    /// positive where the cut is made. None if it is made everywhere.
    pub(super) height: Option<(Track, f64)>,
    /// From where to where the zone reaches along x, and a little more.
    pub(super) x: [f64; 2],
    /// The same along y.
    pub(super) y: [f64; 2],
    /// From the plane of the drawn panel to `(u, v)`.
    pub(super) upright: Motion2,
    /// From coordinates with x and y as here to those of the zone.
    pub(super) to_zone: Motion2,
}

impl ZoneSight {
    /// A panel: x runs along the line in which its plane meets that of the drawn panel.
    pub(super) fn of_panel(sight: Sight, frame: Placement<f64>, region: &Region, thickness: f64) -> Self {
        let common = sight.frame.n.cross(frame.n);
        let along = Vec2::new(common.dot(frame.x), common.dot(frame.y));
        let x_axis =
            if along.length() <= tolerance::PARALLEL { Vec2::new(1.0, 0.0) } else { along.normalized() };
        let to_zone = Motion2 { x_axis, origin: Point2::ORIGIN };
        let y_axis = x_axis.left();
        let turned = Placement {
            origin: frame.origin,
            x: frame.direction(x_axis.x, x_axis.y, 0.0),
            y: frame.direction(y_axis.x, y_axis.y, 0.0),
            n: frame.n,
        };
        let reach = region.moved(to_zone.inverse()).bounding_box().grown(MARGIN_MM);
        Self::new(sight, Lie::Flat(turned), reach, to_zone, thickness)
    }

    /// A bend strip in its own coordinates.
    pub(super) fn of_strip(sight: Sight, map: StripMap, region: &Region, thickness: f64) -> Self {
        let reach = region.bounding_box().grown(MARGIN_MM);
        let lie = if map.angle() > 0.0 { Lie::Rolled(map) } else { Lie::Flat(map.start()) };
        Self::new(sight, lie, reach, Motion2::IDENTITY, thickness)
    }

    fn new(sight: Sight, lie: Lie, reach: BoundingBox, to_zone: Motion2, thickness: f64) -> Self {
        let frame = match lie {
            Lie::Flat(frame) => frame,
            Lie::Rolled(map) => map.start(),
        };
        let track = |figure: Affine, depth: f64| match lie {
            Lie::Flat(frame) => {
                Track::Flat { at: figure.of(frame.point(0.0, 0.0, depth)), per_y: figure.slope.dot(frame.y) }
            }
            Lie::Rolled(map) => Track::Rolled {
                at: figure.of(map.axis_point(0.0)),
                sine: map.radius(depth) * figure.slope.dot(frame.y),
                cosine: -map.sign() * map.radius(depth) * figure.slope.dot(frame.n),
                rad_per_y: map.angle_at(1.0),
            },
        };
        let [x_seen, y_seen] = sight.seen.map(|figure| figure.slope.dot(frame.x));
        let along = Vec2::new(x_seen, y_seen);
        let scale = along.length();
        // Where lines of sight run along x, any direction will do.
        let across = scale > tolerance::PARALLEL;
        let (scale, u_axis) = if across { (scale, along.normalized()) } else { (0.0, Vec2::new(1.0, 0.0)) };
        let depths = [0.0, -thickness];
        let u = Affine::turned(sight.seen, u_axis);
        let v = Affine::turned(sight.seen, u_axis.left());
        let v = depths.map(|depth| track(v, depth));
        Self {
            u: depths.map(|depth| track(u, depth)),
            v,
            between: v[0].minus(v[1]),
            scale,
            height: sight.height.map(|height| (track(height, -0.5 * thickness), height.slope.dot(frame.x))),
            x: [reach.min.x, reach.max.x],
            y: [reach.min.y, reach.max.y],
            upright: Motion2 { x_axis: u_axis, origin: Point2::ORIGIN }.inverse(),
            to_zone,
        }
    }

    /// By how much a flat zone's places move, in the zone's coordinates, when what is seen moves by so much in
    /// the plane of the drawn panel; none for a rolled zone and for one that is seen edge on.
    pub(super) fn followed(&self, seen: Vec2) -> Option<Vec2> {
        let ([Track::Flat { per_y: u_per_y, .. }, _], [Track::Flat { per_y: v_per_y, .. }, _]) =
            (self.u, self.v)
        else {
            return None;
        };
        if v_per_y.abs().min(self.scale) <= tolerance::PARALLEL {
            return None;
        }
        let seen = self.upright.vector(seen);
        let y = seen.y / v_per_y;
        Some(self.to_zone.vector(Vec2::new((seen.x - u_per_y * y) / self.scale, y)))
    }

    /// Whether a figure in the zone's coordinates ends neither where the zone's reach does nor where a cut on
    /// one side does.
    pub(super) fn holds_whole(&self, figure: &Contour) -> bool {
        let bounds = figure.moved(self.to_zone.inverse()).bounding_box().grown(tolerance::SNAP_MM);
        let corners = [bounds.min.x, bounds.max.x].map(|x| [bounds.min.y, bounds.max.y].map(|y| (x, y)));
        corners.iter().flatten().all(|&(x, y)| {
            let is_cut = self.height.is_none_or(|(height, per_x)| height.at(y) + per_x * x > 0.0);
            let ([left, right], [low, high]) = (self.x, self.y);
            is_cut && left < x && x < right && low < y && y < high
        })
    }

    /// A box in `(u, v)` that holds all that is seen of the zone.
    pub(super) fn reach(&self) -> BoundingBox {
        let ends = self.x.map(|x| x * self.scale);
        let mut reach = BoundingBox::EMPTY;
        for (u, v) in self.u.into_iter().zip(self.v) {
            let ([u_low, u_high], [v_low, v_high]) = (u.bounds(self.y), v.bounds(self.y));
            reach =
                reach.with(Point2::new(u_low + ends[0], v_low)).with(Point2::new(u_high + ends[1], v_high));
        }
        reach
    }
}

/// How far beyond a zone a cut goes on, in mm, so that the zone's own edges are not those of the cut.
const MARGIN_MM: f64 = 0.1;
