//! A band of the picture's rows in fine samples: what each sample shows, how deep, and how much ink is on it.
//!
//! Bands keep memory small (a few MB) whatever the picture's size. Invariant: bands overlap by the widest
//! line, so that a picture does not depend on where they are cut.

use std::ops::Range;

use super::lines::LineKind;
use super::scan::scan;
use super::tone;

/// Samples per pixel along each axis: 16 levels at every edge.
pub(super) const FINE: usize = 4;

/// Rows of pixels in a band.
pub(super) const BAND_PX: usize = 32;

/// Sample rows above and below a band that its lines may look at or start from: half the widest line, and one
/// for neighbours.
const OVERLAP: usize = FINE + 2;

/// No face: the ground.
pub(super) const NO_FACE: u32 = u32::MAX;

/// What is visible in one band.
pub(super) struct Band {
    columns: usize,
    /// Sample rows of the whole picture that are in store.
    rows: Range<usize>,
    depth: Vec<f32>,
    face: Vec<u32>,
    /// Strength of ink, 0 to 255.
    ink: Vec<u8>,
}

impl Band {
    /// An empty band of the pixel rows from `first_row` on, `columns_px` wide.
    pub(super) fn new(columns_px: usize, first_row: usize) -> Self {
        let columns = columns_px * FINE;
        let rows = (first_row * FINE).saturating_sub(OVERLAP)..(first_row + BAND_PX) * FINE + OVERLAP;
        let size = columns * rows.len();
        Self {
            columns,
            rows,
            depth: vec![f32::INFINITY; size],
            face: vec![NO_FACE; size],
            ink: vec![0; size],
        }
    }

    /// Adds a triangle where it is nearer than what is there. Corners in samples, depth in mm.
    pub(super) fn add_face(&mut self, index: u32, corners: [[f64; 3]; 3]) {
        let (columns, first) = (self.columns, self.rows.start);
        scan(corners, columns, self.rows.clone(), |column, row, depth| {
            let at = (row - first) * columns + column;
            if (depth as f32) < self.depth[at] {
                self.depth[at] = depth as f32;
                self.face[at] = index;
            }
        });
    }

    /// Inks a line where no face lies before it by more than `bias` mm. Ends in samples, depth in mm.
    pub(super) fn add_line(&mut self, [from, to]: [[f64; 3]; 2], kind: LineKind, bias: f64) {
        let radius = tone::half_width_px(kind) * FINE as f64;
        let strength = (255.0 * tone::ink_strength(kind)).round() as u8;
        let run = [0, 1, 2].map(|i| to[i] - from[i]);
        let steps = run[0].abs().max(run[1].abs()).ceil().max(1.0);
        if !steps.is_finite() {
            return;
        }
        // Only the part of the line that can reach into the band.
        let reach = |row: usize| if run[1] == 0.0 { None } else { Some((row as f64 - from[1]) / run[1]) };
        let (low, high) = match (reach(self.rows.start), reach(self.rows.end)) {
            (Some(a), Some(b)) => (a.min(b).clamp(0.0, 1.0), a.max(b).clamp(0.0, 1.0)),
            _ => (0.0, 1.0),
        };
        let (first, last) = ((low * steps).floor() as usize, (high * steps).ceil() as usize);
        for step in first..=last {
            let share = step as f64 / steps;
            let [x, y, depth] = [0, 1, 2].map(|i| from[i] + run[i] * share);
            if self.shows(x, y, depth - bias) {
                self.dot(x, y, radius, strength);
            }
        }
    }

    /// Whether a point is not behind all of the nine samples around it.
    fn shows(&self, x: f64, y: f64, depth: f64) -> bool {
        let (column, row) = (x.floor() as i64, y.floor() as i64);
        (row - 1..=row + 1).any(|row| {
            (column - 1..=column + 1)
                .any(|column| self.place(column, row).is_some_and(|at| depth <= f64::from(self.depth[at])))
        })
    }

    /// Index of a sample of the picture, if it is in store.
    fn place(&self, column: i64, row: i64) -> Option<usize> {
        let (column, row) = (usize::try_from(column).ok()?, usize::try_from(row).ok()?);
        (column < self.columns && self.rows.contains(&row))
            .then(|| (row - self.rows.start) * self.columns + column)
    }

    fn dot(&mut self, x: f64, y: f64, radius: f64, strength: u8) {
        let cells =
            |middle: f64| (middle - radius - 0.5).ceil() as i64..=(middle + radius - 0.5).floor() as i64;
        for row in cells(y) {
            for column in cells(x) {
                let (dx, dy) = (column as f64 + 0.5 - x, row as f64 + 0.5 - y);
                if dx * dx + dy * dy > radius * radius {
                    continue;
                }
                if let Some(at) = self.place(column, row) {
                    self.ink[at] = self.ink[at].max(strength);
                }
            }
        }
    }

    /// What a pixel shows if it is one face, or the ground, without ink: the face and its depth in mm in the
    /// middle of the pixel.
    pub(super) fn only_face(&self, column_px: usize, row_px: usize) -> Option<(u32, f64)> {
        let first = (row_px * FINE - self.rows.start) * self.columns + column_px * FINE;
        let face = self.face[first];
        let mut depth = 0.0;
        for row in 0..FINE {
            let at = first + row * self.columns;
            let run = at..at + FINE;
            if self.face[run.clone()] != [face; FINE] || self.ink[run.clone()] != [0; FINE] {
                return None;
            }
            depth += self.depth[run].iter().sum::<f32>();
        }
        Some((face, f64::from(depth) / (FINE * FINE) as f64))
    }

    /// The samples of a pixel: position in samples, face, depth in mm, and ink from 0 to 1.
    pub(super) fn samples(&self, column_px: usize, row_px: usize) -> impl Iterator<Item = Sample> {
        (0..FINE * FINE).map(move |i| {
            let (column, row) = (column_px * FINE + i % FINE, row_px * FINE + i / FINE);
            let at = (row - self.rows.start) * self.columns + column;
            Sample {
                place: [column as f64 + 0.5, row as f64 + 0.5, f64::from(self.depth[at])],
                face: self.face[at],
                ink: f64::from(self.ink[at]) / 255.0,
            }
        })
    }
}

/// One sample of the picture.
pub(super) struct Sample {
    /// Column and row in samples, depth in mm.
    pub(super) place: [f64; 3],
    /// Index of the face, or [`NO_FACE`].
    pub(super) face: u32,
    /// Strength of ink, 0 to 1.
    pub(super) ink: f64,
}
