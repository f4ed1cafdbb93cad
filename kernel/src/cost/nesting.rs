//! How many blanks a stock sheet gives.
//!
//! Job: the best of a fixed list of patterns, all of one blank: [`lattice`](super::lattice). Invariant: two blanks
//! are never nearer than the gap, all lie within the margins, and there are never fewer than rectangles in
//! straight rows would give. Must not know: prices. Derivation: `docs/math/nesting.md`.

use crate::geom::{Contour, Motion2, Vec2};
use crate::history::{StockSheetSpec, StockSizeSpec};
use crate::quantity::{Length, tolerance};
use crate::stock::{Grain, StockSheet};

use super::CostFault;
use super::lattice::{self, Lattice, Turned};

/// A stock sheet and what must stay free on it.
#[derive(Clone, Debug, PartialEq)]
pub struct Room {
    /// The sheet.
    pub sheet: StockSheet,
    /// Strip along every edge that stays free, 0 or more.
    pub margin: Length,
    /// Least distance between two blanks, above 0: a cut has a width.
    pub gap: Length,
    /// Which way the sheet was rolled, seen in the blank; that lies along the longer side of the sheet.
    pub grain: Grain,
}

/// Blanks on a stock sheet.
#[derive(Clone, Debug, PartialEq)]
pub struct Nesting {
    /// Where they lie.
    pub room: Room,
    /// The blanks, row by row.
    pub placed: Vec<Placed>,
    /// How many rectangles around the blank would lie there in straight rows.
    pub rectangles: usize,
    /// Area of the blanks as a share of that of the sheet.
    pub share: f64,
}

/// One blank on the sheet.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Placed {
    /// Quarter turns to the left, 0 to 3.
    pub quarter_turns: u8,
    /// From the blank's coordinates to those of the sheet, whose lower left corner is the origin.
    pub motion: Motion2,
}

impl Room {
    /// Checks a stock sheet, on which the shop leaves a margin of so many mm, for a part with this grain.
    ///
    /// # Errors
    /// [`CostFault`] for an unknown format, a side or gap that cannot be, and margins that leave nothing.
    pub fn of(spec: &StockSheetSpec, margin: f64, grain: Grain) -> Result<Self, CostFault> {
        let checked = |what, got: f64, least: f64, wanted| match Length::try_mm(got) {
            Ok(length) if got >= least => Ok(length),
            Ok(_) | Err(_) => Err(CostFault::StockSheet { what, got, wanted }),
        };
        let least = tolerance::LEAST_GAP_MM;
        let sheet = match &spec.size {
            StockSizeSpec::Usual(name) => StockSheet::usual(name)?,
            &StockSizeSpec::Mm([width, height]) => StockSheet {
                name: String::new(),
                width: checked("width", width, least, "above 0")?,
                height: checked("height", height, least, "above 0")?,
            },
        };
        let margin = checked("margin", margin, 0.0, "0 or more")?;
        let gap = checked("gap", spec.gap, least, "at least 0.01 mm: a cut has a width")?;
        let room = Self { sheet, margin, gap, grain };
        let inner = room.inner();
        if inner.x <= 0.0 || inner.y <= 0.0 {
            let sides = [room.sheet.width.to_mm(), room.sheet.height.to_mm()];
            return Err(CostFault::NothingLeft { margin: margin.to_mm(), sides });
        }
        Ok(room)
    }

    /// What the margins leave, in mm.
    #[must_use]
    pub fn inner(&self) -> Vec2 {
        let both = 2.0 * self.margin.to_mm();
        Vec2::new(self.sheet.width.to_mm() - both, self.sheet.height.to_mm() - both)
    }

    /// Quarter turns that the grain allows; a half turn keeps it.
    fn quarter_turns(&self) -> &'static [u8] {
        let long_along_x = self.sheet.width > self.sheet.height;
        match (self.grain, long_along_x) {
            (Grain::Any, _) => &[0, 1],
            (Grain::AlongX, true) | (Grain::AlongY, false) => &[0],
            (Grain::AlongX, false) | (Grain::AlongY, true) => &[1],
        }
    }
}

/// Lays as many blanks with this outline and area (mm²) on the sheet as the patterns give.
///
/// Of patterns with equal counts the one that leaves the longest strip at the end of the longer side of the
/// sheet, then the simplest. Openings of a blank stay empty.
#[must_use]
pub fn nest(outline: &Contour, area: f64, room: &Room) -> Nesting {
    let inner = room.inner();
    let mut best: Option<Found> = None;
    let mut rectangles = 0;
    for &turns in room.quarter_turns() {
        let [ahead, back] = [turns, turns + 2].map(|turns| Turned::new(outline, turns));
        rectangles = rectangles.max(in_straight_rows(ahead.size, inner, room.gap.to_mm()));
        for lattice in lattice::all(&ahead, &back, inner, room.gap.to_mm()) {
            let found = Found::new(lattice, inner);
            if best.as_ref().is_none_or(|best| found.is_better_than(best)) {
                best = Some(found);
            }
        }
    }
    let corner = Vec2::new(room.margin.to_mm(), room.margin.to_mm());
    let mut placed = Vec::new();
    if let Some(found) = best {
        found.lattice.for_places(inner, |turned, at| {
            let motion = Motion2 { origin: turned.motion.origin + at + corner, ..turned.motion };
            placed.push(Placed { quarter_turns: turned.quarter_turns, motion });
        });
    }
    #[expect(clippy::cast_precision_loss, reason = "a count of blanks")]
    let share = placed.len() as f64 * area / room.sheet.area();
    Nesting { room: room.clone(), placed, rectangles, share }
}

/// How many rectangles lie in straight rows.
fn in_straight_rows(size: Vec2, inner: Vec2, gap: f64) -> usize {
    let along = |size: f64, inner: f64| {
        let steps = ((inner - size + tolerance::SNAP_MM) / (size + gap)).floor();
        #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "0 or more")]
        if steps >= 0.0 { steps as usize + 1 } else { 0 }
    };
    along(size.x, inner.x) * along(size.y, inner.y)
}

/// A lattice and what it gives.
struct Found {
    lattice: Lattice,
    count: usize,
    /// How much of the longer side is used, in mm.
    used: f64,
}

impl Found {
    fn new(lattice: Lattice, inner: Vec2) -> Self {
        let (mut count, mut used) = (0, 0.0_f64);
        lattice.for_places(inner, |turned, at| {
            count += 1;
            used = used.max(if inner.x > inner.y { at.x + turned.size.x } else { at.y + turned.size.y });
        });
        Self { lattice, count, used }
    }

    fn is_better_than(&self, other: &Self) -> bool {
        let shorter = self.used < other.used - tolerance::SNAP_MM;
        self.count > other.count || (self.count == other.count && shorter)
    }
}
