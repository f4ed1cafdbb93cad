//! A grid of square cells over a view, for finding what lies near a line.
//!
//! Invariant: every cell that a box or a thickened line touches is visited, none twice in one call.

/// The cells of a view.
#[derive(Clone, Copy, Debug)]
pub(super) struct Grid {
    low: [f64; 2],
    /// Cells per mm.
    per_mm: f64,
    count: [usize; 2],
}

impl Grid {
    /// About so many cells over a box.
    pub(super) fn new(low: [f64; 2], high: [f64; 2], cells: usize) -> Self {
        let size = [high[0] - low[0], high[1] - low[1]].map(|s| s.max(f64::MIN_POSITIVE));
        let cells = cells.clamp(1, MOST_CELLS) as f64;
        // A long narrow view has few cells across.
        let side = (size[0] * size[1] / cells).sqrt().max(size[0].max(size[1]) / cells);
        let per_mm = if side.is_finite() && side > f64::MIN_POSITIVE { 1.0 / side } else { 1.0 };
        let count = size.map(|s| whole(s * per_mm) + 1);
        Self { low, per_mm, count }
    }

    pub(super) fn cells(&self) -> usize {
        self.count[0] * self.count[1]
    }

    fn place(&self, axis: usize, at: f64) -> usize {
        whole((at - self.low[axis]) * self.per_mm).min(self.count[axis] - 1)
    }

    /// Visits the cells of a line that is thickened by `margin` mm.
    pub(super) fn along(&self, a: [f64; 2], b: [f64; 2], margin: f64, mut visit: impl FnMut(usize)) {
        let [a, b] = if a[1] <= b[1] { [a, b] } else { [b, a] };
        let [bottom, top] = [self.place(1, a[1] - margin), self.place(1, b[1] + margin)];
        let rise = b[1] - a[1];
        for row in bottom..=top {
            let (mut from, mut to) = (a[0], b[0]);
            if rise > 0.0 && bottom < top {
                // Where it enters and leaves the row, thickened.
                let floor = self.low[1] + row as f64 / self.per_mm - margin;
                let at = |y: f64| a[0] + (b[0] - a[0]) * ((y - a[1]) / rise).clamp(0.0, 1.0);
                (from, to) = (at(floor), at(floor + 1.0 / self.per_mm + 2.0 * margin));
            }
            let [left, right] = [self.place(0, from.min(to) - margin), self.place(0, from.max(to) + margin)];
            for column in left..=right {
                visit(row * self.count[0] + column);
            }
        }
    }

    /// Visits the cells of a convex figure that is thickened by `margin` mm.
    pub(super) fn within(&self, corners: [[f64; 2]; 3], margin: f64, mut visit: impl FnMut(usize)) {
        let least = |axis: usize| corners.iter().map(|c| c[axis]).fold(f64::INFINITY, f64::min);
        let most = |axis: usize| corners.iter().map(|c| c[axis]).fold(f64::NEG_INFINITY, f64::max);
        let [bottom, top] = [self.place(1, least(1) - margin), self.place(1, most(1) + margin)];
        for row in bottom..=top {
            let (mut from, mut to) = (least(0), most(0));
            if bottom < top {
                let floor = self.low[1] + row as f64 / self.per_mm - margin;
                let ceiling = floor + 1.0 / self.per_mm + 2.0 * margin;
                (from, to) = (f64::INFINITY, f64::NEG_INFINITY);
                for i in 0..3 {
                    let [a, b] = [corners[i], corners[(i + 1) % 3]];
                    let [a, b] = if a[1] <= b[1] { [a, b] } else { [b, a] };
                    if b[1] < floor || a[1] > ceiling {
                        continue;
                    }
                    let rise = b[1] - a[1];
                    let at = |y: f64| a[0] + (b[0] - a[0]) * ((y - a[1]) / rise).clamp(0.0, 1.0);
                    let ends = if rise > 0.0 { [at(floor), at(ceiling)] } else { [a[0], b[0]] };
                    from = from.min(ends[0]).min(ends[1]);
                    to = to.max(ends[0]).max(ends[1]);
                }
                if from > to {
                    continue;
                }
            }
            let [left, right] = [self.place(0, from - margin), self.place(0, to + margin)];
            for column in left..=right {
                visit(row * self.count[0] + column);
            }
        }
    }
}

/// A grid with more cells is no faster.
const MOST_CELLS: usize = 1 << 20;

#[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "casts of floats saturate")]
fn whole(x: f64) -> usize {
    x as usize
}
