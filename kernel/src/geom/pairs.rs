//! Which boxes of a list touch, and which lie at a given height.
//!
//! Job: keep the work of boolean, crossing and hole tests near-linear. Invariant: pairs come out in an order
//! that depends on the boxes only. Must not know: what the boxes hold.

use super::BoundingBox;

/// The axis along which boxes are swept.
#[derive(Clone, Copy)]
enum Axis {
    X,
    Y,
}

/// Calls `visit` once for every pair of boxes that share a point, each pair with the smaller index first.
///
/// A sweep along the axis on which the boxes overlap less; the order of the calls is the sweep's.
pub(super) fn for_touching_pairs(boxes: &[BoundingBox], mut visit: impl FnMut(usize, usize)) {
    let all = boxes.iter().fold(BoundingBox::EMPTY, |all, &b| all.union(b));
    let crowd_x: f64 = boxes.iter().map(|b| b.width()).sum::<f64>() * all.height();
    let crowd_y: f64 = boxes.iter().map(|b| b.height()).sum::<f64>() * all.width();
    let axis = if crowd_x <= crowd_y { Axis::X } else { Axis::Y };
    let range = |b: &BoundingBox| match axis {
        Axis::X => (b.min.x, b.max.x),
        Axis::Y => (b.min.y, b.max.y),
    };
    let mut order: Vec<(f64, f64, usize)> = boxes
        .iter()
        .enumerate()
        .map(|(i, b)| {
            let (low, high) = range(b);
            (low, high, i)
        })
        .collect();
    order.sort_unstable_by(|a, b| a.0.total_cmp(&b.0).then(a.2.cmp(&b.2)));
    for (place, &(_, high, i)) in order.iter().enumerate() {
        for &(low, _, j) in &order[place + 1..] {
            if low > high {
                break;
            }
            if boxes[i].touches(boxes[j]) {
                visit(i.min(j), i.max(j));
            }
        }
    }
}

/// Horizontal strips of equal height, each listing the intervals of y that reach into it.
pub(super) struct Strips {
    bottom: f64,
    per_mm: f64,
    /// Where the list of each strip starts in `members`; one more entry than strips.
    starts: Vec<u32>,
    members: Vec<u32>,
}

impl Strips {
    /// Sorts the intervals `(low, high)` of y into about a quarter as many strips as there are intervals.
    pub(super) fn new(intervals: &[(f64, f64)]) -> Self {
        let (bottom, top) = intervals
            .iter()
            .fold((f64::INFINITY, f64::NEG_INFINITY), |(b, t), &(low, high)| (b.min(low), t.max(high)));
        let count = (intervals.len() / 4).max(1);
        let height = top - bottom;
        #[expect(clippy::cast_precision_loss, reason = "a number of strips is far below 2^52")]
        let per_mm = if height > 0.0 { count as f64 / height } else { 0.0 };
        let mut strips = Self { bottom, per_mm, starts: vec![0; count + 1], members: Vec::new() };
        for &(low, high) in intervals {
            for strip in strips.strip_of(low)..=strips.strip_of(high) {
                strips.starts[strip + 1] += 1;
            }
        }
        for strip in 0..count {
            strips.starts[strip + 1] += strips.starts[strip];
        }
        let mut next = strips.starts.clone();
        strips.members = vec![0; strips.starts[count] as usize];
        for (index, &(low, high)) in intervals.iter().enumerate() {
            let index = u32::try_from(index).expect("fewer than 2^32 pieces fit into memory");
            for place in &mut next[strips.strip_of(low)..=strips.strip_of(high)] {
                strips.members[*place as usize] = index;
                *place += 1;
            }
        }
        strips
    }

    /// Indices of all intervals that may hold `y`, in increasing order.
    pub(super) fn at(&self, y: f64) -> &[u32] {
        let strip = self.strip_of(y);
        &self.members[self.starts[strip] as usize..self.starts[strip + 1] as usize]
    }

    fn strip_of(&self, y: f64) -> usize {
        #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "clamped at zero")]
        let strip = ((y - self.bottom) * self.per_mm).max(0.0) as usize;
        strip.min(self.starts.len() - 2)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::geom::Point2;

    #[test]
    fn every_touching_pair_is_visited_once() {
        // A 7 × 7 grid of unit boxes with pitch 1 touches its neighbours along edges and at corners:
        // 2·6·7 edges and 2·6·6 corners.
        let mut boxes = Vec::new();
        for i in 0..7 {
            for j in 0..7 {
                let corner = Point2::new(f64::from(i), f64::from(j));
                boxes.push(BoundingBox { min: corner, max: Point2::new(corner.x + 1.0, corner.y + 1.0) });
            }
        }
        let mut pairs = Vec::new();
        for_touching_pairs(&boxes, |i, j| pairs.push((i, j)));
        assert_eq!(pairs.len(), 84 + 72);
        pairs.sort_unstable();
        pairs.dedup();
        assert_eq!(pairs.len(), 156);
        assert!(pairs.iter().all(|&(i, j)| i < j && boxes[i].touches(boxes[j])));
    }

    #[test]
    fn strips_list_every_interval_at_a_height() {
        let intervals: Vec<(f64, f64)> =
            (0..100).map(|i| (f64::from(i % 10), f64::from(i % 10 + i / 10))).collect();
        let strips = Strips::new(&intervals);
        for tenth in 0..200 {
            let y = 0.1 * f64::from(tenth);
            let listed = strips.at(y);
            for (i, &(low, high)) in intervals.iter().enumerate() {
                let holds = low <= y && y <= high;
                assert!(!holds || listed.contains(&u32::try_from(i).unwrap()));
            }
        }
    }
}
