//! Where a node lies: a linear map and a shift. Invariant: no checks; numbers that are none stay so and are found
//! later.

/// `p ↦ A p + b`, with the rows of `A`.
#[derive(Clone, Debug)]
pub(super) struct Transform {
    rows: [[f64; 3]; 3],
    shift: [f64; 3],
}

impl Transform {
    pub(super) fn identity() -> Self {
        Self { rows: [[1.0, 0.0, 0.0], [0.0, 1.0, 0.0], [0.0, 0.0, 1.0]], shift: [0.0; 3] }
    }

    /// From a matrix of four columns.
    pub(super) fn of_columns(m: [f64; 16]) -> Self {
        let row = |i: usize| [m[i], m[4 + i], m[8 + i]];
        Self { rows: [row(0), row(1), row(2)], shift: [m[12], m[13], m[14]] }
    }

    /// First scaled, then turned by the quaternion `x, y, z, w`, then shifted.
    pub(super) fn of_parts(shift: [f64; 3], [x, y, z, w]: [f64; 4], scale: [f64; 3]) -> Self {
        let turn = [
            [1.0 - 2.0 * (y * y + z * z), 2.0 * (x * y - z * w), 2.0 * (x * z + y * w)],
            [2.0 * (x * y + z * w), 1.0 - 2.0 * (x * x + z * z), 2.0 * (y * z - x * w)],
            [2.0 * (x * z - y * w), 2.0 * (y * z + x * w), 1.0 - 2.0 * (x * x + y * y)],
        ];
        Self { rows: turn.map(|row| [row[0] * scale[0], row[1] * scale[1], row[2] * scale[2]]), shift }
    }

    /// First `inner`, then `self`.
    pub(super) fn after(&self, inner: &Self) -> Self {
        let column = |j: usize| inner.rows.map(|row| row[j]);
        let rows = self.rows.map(|row| [0, 1, 2].map(|j| dot(row, column(j))));
        Self { rows, shift: self.point(inner.shift) }
    }

    pub(super) fn point(&self, p: [f64; 3]) -> [f64; 3] {
        [0, 1, 2].map(|i| dot(self.rows[i], p) + self.shift[i])
    }

    /// Whether it makes a left hand of a right one.
    pub(super) fn mirrors(&self) -> bool {
        let [a, b, c] = self.rows;
        let cross = [b[1] * c[2] - b[2] * c[1], b[2] * c[0] - b[0] * c[2], b[0] * c[1] - b[1] * c[0]];
        dot(a, cross) < 0.0
    }
}

fn dot(a: [f64; 3], b: [f64; 3]) -> f64 {
    a[0] * b[0] + a[1] * b[1] + a[2] * b[2]
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn parts_and_columns_say_the_same() {
        // A quarter turn about z, then doubled along x before it.
        let half = 0.5_f64.sqrt();
        let parts = Transform::of_parts([10.0, 0.0, 0.0], [0.0, 0.0, half, half], [2.0, 1.0, 1.0]);
        let columns = Transform::of_columns([
            0.0, 2.0, 0.0, 0.0, -1.0, 0.0, 0.0, 0.0, 0.0, 0.0, 1.0, 0.0, 10.0, 0.0, 0.0, 1.0,
        ]);
        for p in [[1.0, 0.0, 0.0], [0.0, 1.0, 0.0], [3.0, -4.0, 5.0]] {
            let (a, b) = (parts.point(p), columns.point(p));
            assert!((0..3).all(|i| (a[i] - b[i]).abs() < 1e-12), "{a:?} {b:?}");
        }
        assert!(!parts.mirrors());
        assert!(
            parts.after(&Transform::of_parts([0.0; 3], [0.0, 0.0, 0.0, 1.0], [1.0, -1.0, 1.0])).mirrors()
        );
    }
}
