//! What of a line lies behind triangles.
//!
//! Triangles that look away from the eye hide nothing that others do not hide as well, since a mesh is closed; those
//! seen on their edge cover no area. A triangle covers its border too: what lies behind the seam of two triangles is
//! hidden, and what lies behind an outline is drawn as that outline. Invariant: of every chord, just the spans that
//! lie inside a triangle and farther from the eye than it are hidden.

use crate::quantity::tolerance;
use crate::solid::Mesh;

use super::direction::Direction;
use super::grid::Grid;

/// The triangles that look at the eye.
pub(super) struct Cover {
    grid: Grid,
    /// Where the triangles of each cell start in `entries`.
    starts: Vec<u32>,
    entries: Vec<u32>,
    /// Nearest first.
    sheets: Vec<Sheet>,
    /// The chord for which each triangle was last looked at.
    looked: Vec<u32>,
    chord: u32,
}

/// A triangle as seen.
struct Sheet {
    /// Its smallest depth in mm.
    near: f64,
    low: [f64; 2],
    high: [f64; 2],
    /// For each side `a u + b v + c`: the distance from it in mm, positive inside.
    sides: [[f64; 3]; 3],
    /// Depth `a u + b v + c` of its plane.
    depth: [f64; 3],
}

impl Sheet {
    /// None for a triangle that looks away or is seen on its edge.
    fn new(corners: [[f64; 3]; 3]) -> Option<Self> {
        let [a, b, c] = corners;
        let from_a = |p: [f64; 3]| [p[0] - a[0], p[1] - a[1], p[2] - a[2]];
        let [p, q] = [from_a(b), from_a(c)];
        // Its normal by its two parts in the view and the one away from the eye; the axes of a view are left-handed.
        let normal = [p[1] * q[2] - p[2] * q[1], p[2] * q[0] - p[0] * q[2], p[0] * q[1] - p[1] * q[0]];
        let length = (normal[0] * normal[0] + normal[1] * normal[1] + normal[2] * normal[2]).sqrt();
        if normal[2] <= tolerance::EDGE_ON * length {
            return None;
        }
        let slopes = [-normal[0] / normal[2], -normal[1] / normal[2]];
        let side = |p: [f64; 3], q: [f64; 3]| {
            let way = [q[0] - p[0], q[1] - p[1]];
            let length = (way[0] * way[0] + way[1] * way[1]).sqrt();
            let [x, y] = [-way[1] / length, way[0] / length];
            [x, y, -(x * p[0] + y * p[1])]
        };
        let sides = [side(a, b), side(b, c), side(c, a)];
        let least = |axis: usize| a[axis].min(b[axis]).min(c[axis]);
        let most = |axis: usize| a[axis].max(b[axis]).max(c[axis]);
        Some(Self {
            near: least(2),
            low: [least(0), least(1)],
            high: [most(0), most(1)],
            sides,
            depth: [slopes[0], slopes[1], a[2] - slopes[0] * a[0] - slopes[1] * a[1]],
        })
    }

    /// Shares of the chord from `a` to `b` between which it lies in the triangle and behind it.
    fn hides(&self, [a, b]: [[f64; 3]; 2], behind: f64) -> Option<[f64; 2]> {
        let mut span = [0.0, 1.0];
        // Keeps where a number that goes evenly from `at_a` to `at_b` is not below zero.
        let mut keep = |at_a: f64, at_b: f64| {
            if at_a < 0.0 && at_b < 0.0 {
                return false;
            }
            if at_a < 0.0 {
                span[0] = f64::max(span[0], at_a / (at_a - at_b));
            } else if at_b < 0.0 {
                span[1] = f64::min(span[1], at_a / (at_a - at_b));
            }
            span[0] < span[1]
        };
        let margin = tolerance::SNAP_MM;
        for axis in 0..2 {
            let (low, high) = (self.low[axis] - margin, self.high[axis] + margin);
            if !keep(a[axis] - low, b[axis] - low) || !keep(high - a[axis], high - b[axis]) {
                return None;
            }
        }
        let value = |[x, y, z]: [f64; 3], p: [f64; 3]| x * p[0] + y * p[1] + z;
        for side in self.sides {
            if !keep(value(side, a) + margin, value(side, b) + margin) {
                return None;
            }
        }
        let beyond = |p: [f64; 3]| p[2] - behind - value(self.depth, p);
        let past = |p: [f64; 3]| p[2] - behind - self.near;
        (keep(beyond(a), beyond(b)) && keep(past(a), past(b))).then_some(span)
    }
}

impl Cover {
    pub(super) fn new(mesh: &Mesh, direction: Direction) -> Self {
        let axes = direction.frame();
        let places: Vec<[f64; 3]> = mesh.vertices.iter().map(|&p| Direction::seen(axes, p)).collect();
        let mut low = [f64::INFINITY; 2];
        let mut high = [f64::NEG_INFINITY; 2];
        for place in &places {
            for axis in 0..2 {
                low[axis] = low[axis].min(place[axis]);
                high[axis] = high[axis].max(place[axis]);
            }
        }
        let mut found: Vec<(Sheet, [[f64; 2]; 3])> = mesh
            .faces
            .iter()
            .filter_map(|face| {
                let [a, b, c] = face.corners.map(|v| places[v as usize]);
                // Seen from the eye, a triangle that looks at it runs counter-clockwise.
                Some((Sheet::new([a, b, c])?, [a, b, c].map(|[u, v, _]| [u, v])))
            })
            .collect();
        found.sort_by(|a, b| a.0.near.total_cmp(&b.0.near));
        let grid = Grid::new(low, high, found.len());
        let mut pairs: Vec<(u32, u32)> = Vec::with_capacity(4 * found.len());
        for (number, (_, corners)) in (0_u32..).zip(&found) {
            let short = |cell: usize| u32::try_from(cell).expect("a grid has few cells");
            grid.within(*corners, tolerance::SNAP_MM, |cell| pairs.push((short(cell), number)));
        }
        let mut starts = vec![0_u32; grid.cells() + 1];
        for &(cell, _) in &pairs {
            starts[cell as usize + 1] += 1;
        }
        for cell in 0..grid.cells() {
            starts[cell + 1] += starts[cell];
        }
        let mut free = starts.clone();
        let mut entries = vec![0_u32; pairs.len()];
        for (cell, number) in pairs {
            let place = &mut free[cell as usize];
            entries[*place as usize] = number;
            *place += 1;
        }
        let looked = vec![0; found.len()];
        Self { grid, starts, entries, sheets: found.into_iter().map(|f| f.0).collect(), looked, chord: 0 }
    }

    /// Adds the spans of a chord that lie behind triangles by more than `behind` mm, as shares of it.
    pub(super) fn hidden(&mut self, chord: [[f64; 3]; 2], behind: f64, spans: &mut Vec<[f64; 2]>) {
        self.chord += 1;
        let Self { grid, starts, entries, sheets, looked, chord: number } = self;
        let first = spans.len();
        let [a, b] = chord;
        let far = a[2].max(b[2]) - behind;
        let mut whole = false;
        grid.along([a[0], a[1]], [b[0], b[1]], tolerance::SNAP_MM, |cell| {
            for &entry in &entries[starts[cell] as usize..starts[cell + 1] as usize] {
                let sheet = &sheets[entry as usize];
                // Those after it are no nearer.
                if whole || sheet.near >= far {
                    break;
                }
                if std::mem::replace(&mut looked[entry as usize], *number) == *number {
                    continue;
                }
                if let Some(span) = sheet.hides(chord, behind) {
                    whole |= span == [0.0, 1.0];
                    spans.push(span);
                }
            }
        });
        if whole {
            spans.truncate(first);
            spans.push([0.0, 1.0]);
        }
    }
}
