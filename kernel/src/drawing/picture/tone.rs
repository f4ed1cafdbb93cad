//! The colours of a picture.
//!
//! Blue-grey metal against orange-brown cut edges: a pair that people with any colour vision tell apart, and
//! that differs in lightness too. Invariant: light is added up in linear light and coded once, at the end.

use crate::quantity::maths;
use crate::solid::Surface;

use super::lines::LineKind;
use super::surroundings::Paint;

/// A colour in linear light: red, green, blue from 0 to 1.
pub(super) type Tone = [f64; 3];

/// The ground, and all that is not part: a neutral off-white, so that the picture stands on a page.
pub(super) const BACKGROUND: Tone = [0.905, 0.915, 0.925];
/// Colour that the ground's shadow moves to: dark, a little blue.
const GROUND_DARK: Tone = [0.30, 0.33, 0.38];
/// Inner face: the lighter one, as it is mostly in shade.
const INNER: Tone = [0.62, 0.68, 0.74];
/// Outer face.
const OUTER: Tone = [0.40, 0.48, 0.58];
/// Cut edge.
const CUT: Tone = [0.56, 0.30, 0.11];
/// A neighbour: a sand that is lighter than the metal.
const NEIGHBOUR: Tone = [0.72, 0.66, 0.50];
/// A neighbour that is a hazard: a red that is darker than a cut edge.
const HAZARD: Tone = [0.45, 0.06, 0.05];
/// Lines.
pub(super) const INK: Tone = [0.012, 0.020, 0.035];

/// Strength of the sheen that bends show where they mirror the key light.
const SHEEN: f64 = 0.10;

/// Colour of a surface in this light. `mirrored` is the cosine between its normal and the direction that
/// mirrors the key light to the eye.
pub(super) fn surface_tone(paint: Paint, surface: Surface, light: f64, mirrored: f64) -> Tone {
    let metal = match (paint, surface) {
        (Paint::Sheet, Surface::Inner) => INNER,
        (Paint::Sheet, Surface::Outer) => OUTER,
        (Paint::Sheet, Surface::Cut) => CUT,
        (Paint::Neighbour, _) => NEIGHBOUR,
        (Paint::Hazard, _) => HAZARD,
    };
    // Cosine to the 16th: a band about 30 degrees wide, as on brushed sheet.
    let sheen = (0..4).fold(mirrored.max(0.0), |c, _| c * c) * SHEEN * light;
    metal.map(|c| c * light + sheen)
}

/// Colour of the ground in this light, 0 to 1.
pub(super) fn ground_tone(light: f64) -> Tone {
    let light = light.clamp(0.0, 1.0);
    [0, 1, 2].map(|i| GROUND_DARK[i] + (BACKGROUND[i] - GROUND_DARK[i]) * light)
}

/// Strength of a kind of line, 0 to 1.
pub(super) fn ink_strength(kind: LineKind) -> f64 {
    match kind {
        LineKind::Tangent => 0.28,
        LineKind::Sharp => 0.85,
        LineKind::Outline => 1.0,
    }
}

/// Half the width of a kind of line in px: outlines half as wide again as edges, so that the shape reads
/// first; nothing below what a screen can show.
pub(super) fn half_width_px(kind: LineKind) -> f64 {
    match kind {
        LineKind::Tangent => 0.5,
        LineKind::Sharp => 0.6,
        LineKind::Outline => 0.95,
    }
}

/// Codes linear light as 8-bit sRGB (IEC 61966-2-1).
pub(super) struct Coder(Vec<u8>);

/// Steps of linear light: the steepest part of the curve moves 0.2 codes a step.
const STEPS: usize = 16_384;

impl Coder {
    pub(super) fn new() -> Self {
        let code = |step: usize| {
            let linear = step as f64 / (STEPS - 1) as f64;
            let coded = if linear <= 0.003_130_8 {
                12.92 * linear
            } else {
                1.055 * maths::pow(linear, 1.0 / 2.4) - 0.055
            };
            (255.0 * coded).round() as u8
        };
        Self((0..STEPS).map(code).collect())
    }

    pub(super) fn code(&self, tone: Tone) -> [u8; 3] {
        tone.map(|c| self.0[(c.clamp(0.0, 1.0) * (STEPS - 1) as f64).round() as usize])
    }
}
