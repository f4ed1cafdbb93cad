//! Boxes along the axes of some frame, and what a straight way has of one.
//!
//! Invariant: a box that misses another one by [`tolerance::COLLISION_MM`] or more is passed over. Must not
//! know: what lies in it.

use crate::geom::Vec3;
use crate::quantity::tolerance;

/// A box along the axes of some frame, in mm.
#[derive(Clone, Copy, Debug)]
pub(super) struct Box3 {
    pub(super) low: Vec3<f64>,
    pub(super) high: Vec3<f64>,
}

impl Box3 {
    pub(super) fn around(points: impl IntoIterator<Item = Vec3<f64>>) -> Self {
        let inf = f64::INFINITY;
        let nothing = Self { low: Vec3::new(inf, inf, inf), high: Vec3::new(-inf, -inf, -inf) };
        points.into_iter().fold(nothing, |b, p| Self {
            low: Vec3::new(b.low.x.min(p.x), b.low.y.min(p.y), b.low.z.min(p.z)),
            high: Vec3::new(b.high.x.max(p.x), b.high.y.max(p.y), b.high.z.max(p.z)),
        })
    }

    pub(super) fn corners(self) -> [Vec3<f64>; 8] {
        let ends = [self.low, self.high];
        std::array::from_fn(|i| Vec3::new(ends[i & 1].x, ends[(i >> 1) & 1].y, ends[i >> 2].z))
    }

    /// Whether the boxes share more than a collision may be shallow.
    pub(super) fn overlaps(self, other: Self) -> bool {
        let least = tolerance::COLLISION_MM;
        let apart = |low: f64, high: f64| low + least >= high;
        !(apart(self.low.x, other.high.x)
            || apart(other.low.x, self.high.x)
            || apart(self.low.y, other.high.y)
            || apart(other.low.y, self.high.y)
            || apart(self.low.z, other.high.z)
            || apart(other.low.z, self.high.z))
    }

    /// The shares of the straight way from `p` to `q` between which it lies in the box.
    pub(super) fn shares(self, p: Vec3<f64>, q: Vec3<f64>) -> Option<[f64; 2]> {
        let slabs = [
            between(p.x, q.x, self.low.x, self.high.x)?,
            between(p.y, q.y, self.low.y, self.high.y)?,
            between(p.z, q.z, self.low.z, self.high.z)?,
        ];
        let [first, last] =
            slabs.into_iter().fold([0.0_f64, 1.0_f64], |[f, l], [from, to]| [f.max(from), l.min(to)]);
        (first < last).then_some([first, last])
    }
}

/// The shares of the way from `from` to `to` between which a linear measure lies between two limits.
pub(super) fn between(from: f64, to: f64, low: f64, high: f64) -> Option<[f64; 2]> {
    let step = to - from;
    let [mut first, mut last] = [0.0_f64, 1.0];
    if step.abs() <= tolerance::SNAP_MM {
        return (low < from && from < high).then_some([first, last]);
    }
    let [enter, leave] =
        if step > 0.0 { [low, high] } else { [high, low] }.map(|limit| (limit - from) / step);
    (first, last) = (first.max(enter), last.min(leave));
    (first < last).then_some([first, last])
}
