//! Volume and surface of the folded part by formula, without a mesh.
//!
//! A panel of area `A` and cut edges of length `s` has volume `A t` and surface `2 A + s t`. A bend through
//! `a` whose flat strip has the area `A` and the width `BA` turns every mm across into `a / BA` rad: volume
//! `A (a / BA) ((r + t)² − r²) / 2`, surface `A (a / BA) (2 r + t)`. A cut through a bend has the area
//! `∫∫ √(x′² + ρ² θ′²) dρ du`, by formula over the radius ρ from `r` to `r + t`, and along an arc by
//! quadrature. Derivation: `docs/math/solid.md`. A form is drawn with the sheet's thickness everywhere and adds
//! what Pappus and Guldin say of its cross-section: `docs/math/formed-bump.md`. Invariant: arcs count with
//! their true length and area, so that a mesh approaches these figures as its chords get shorter.

use crate::fold::{Bend, FoldTree};
use crate::geom::{Contour, Curve, Region, Segment};
use crate::quantity::{maths, tolerance};

/// Measures of the folded part.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Measures {
    /// Volume in mm³.
    pub volume: f64,
    /// Whole surface in mm², cut edges included.
    pub surface: f64,
}

/// Measures of the fully folded part.
#[must_use]
pub fn measures(tree: &FoldTree) -> Measures {
    let t = tree.thickness();
    let mut total = Measures { volume: 0.0, surface: 0.0 };
    for panel in tree.panels() {
        let area = panel.region.area();
        let cut: f64 = cuts(tree, &panel.region).map(|s| s.length()).sum();
        total.volume += area * t;
        total.surface += 2.0 * area + cut * t;
    }
    for bend in tree.bends() {
        let r = bend.inside_radius();
        let turned = bend.region.area() * bend.turn() / bend.allowance();
        total.volume += turned * t * (r + 0.5 * t);
        total.surface += turned * (2.0 * r + t);
        total.surface += cuts(tree, &bend.region).map(|piece| cut_area(bend, piece, t)).sum::<f64>();
    }
    for form in tree.forms() {
        total.volume += form.added_volume();
        total.surface += form.added_surface();
    }
    total
}

/// The pieces of a zone's contours behind which there is no more sheet.
fn cuts<'a>(tree: &'a FoldTree, region: &'a Region) -> impl Iterator<Item = &'a Segment> {
    let pieces = region.contours().iter().flat_map(Contour::segments);
    pieces.filter(|piece| !tree.label(piece).is_crease())
}

/// Area in mm² of the cut that stands on a piece of a bend's strip.
fn cut_area(bend: &Bend, piece: &Segment, thickness: f64) -> f64 {
    let per_mm = bend.turn() / bend.allowance();
    let radii = [bend.inside_radius(), bend.inside_radius() + thickness];
    match piece.curve {
        Curve::Line => {
            let way = piece.end - piece.start;
            across_sheet(way.x.abs(), way.y.abs() * per_mm, radii)
        }
        Curve::Arc { centre, radius, .. } => {
            let from = (piece.start - centre).angle();
            let integrand = |angle: f64| {
                let (sin, cos) = maths::sin_cos(angle);
                across_sheet(radius * sin.abs(), radius * cos.abs() * per_mm, radii)
            };
            // Where the arc runs straight along or across the bend the integrand may have a corner.
            let (low, high) = (from.min(from + piece.sweep()), from.max(from + piece.sweep()));
            let quarters = (-8..=8).map(|quarter| f64::from(quarter) * maths::FRAC_PI_2);
            let mut corners = vec![low];
            corners.extend(quarters.filter(|&q| low < q && q < high));
            corners.push(high);
            corners.windows(2).map(|c| integral(&integrand, c[0], c[1])).sum()
        }
    }
}

/// `∫ √(p² + q² ρ²) dρ` between two radii ρ, where `p` and `q` are how fast the cut runs along the bend and
/// around its axis.
fn across_sheet(p: f64, q: f64, [near, far]: [f64; 2]) -> f64 {
    let slant = |radius: f64| (p * p + q * q * radius * radius).sqrt();
    let (near_slant, far_slant) = (slant(near), slant(far));
    let half = 0.5 * (far * far_slant - near * near_slant);
    if p == 0.0 {
        return half;
    }
    if q == 0.0 {
        return p * (far - near);
    }
    // (p²/q) (arsinh(q far / p) − arsinh(q near / p)) / 2, written so that nothing cancels for small q.
    let growth = q * (far - near) + q * q * (far * far - near * near) / (far_slant + near_slant);
    half + 0.5 * p * p / q * maths::ln_1p(growth / (q * near + near_slant))
}

/// The integral of a smooth function, halved until halves agree with the whole.
fn integral(function: &impl Fn(f64) -> f64, from: f64, to: f64) -> f64 {
    refined(function, from, to, gauss(function, from, to), DEEPEST)
}

/// More halvings than it takes for the width to reach rounding.
const DEEPEST: usize = 40;

fn refined(function: &impl Fn(f64) -> f64, from: f64, to: f64, whole: f64, depth: usize) -> f64 {
    let middle = 0.5 * (from + to);
    let halves = [gauss(function, from, middle), gauss(function, middle, to)];
    let sum = halves[0] + halves[1];
    if depth == 0 || (sum - whole).abs() <= tolerance::QUADRATURE_SHARE * sum.abs() {
        return sum;
    }
    refined(function, from, middle, halves[0], depth - 1)
        + refined(function, middle, to, halves[1], depth - 1)
}

/// Places and weights of Gauss-Legendre quadrature with eight points on (−1, 1), right half; Abramowitz and
/// Stegun, table 25.4, from memory.
const GAUSS: [(f64, f64); 4] = [
    (0.183_434_642_495_649_8, 0.362_683_783_378_362),
    (0.525_532_409_916_329, 0.313_706_645_877_887_3),
    (0.796_666_477_413_626_7, 0.222_381_034_453_374_5),
    (0.960_289_856_497_536_3, 0.101_228_536_290_376_3),
];

fn gauss(function: &impl Fn(f64) -> f64, from: f64, to: f64) -> f64 {
    let (middle, half) = (0.5 * (from + to), 0.5 * (to - from));
    let sum: f64 = GAUSS
        .iter()
        .map(|(place, weight)| weight * (function(middle - half * place) + function(middle + half * place)))
        .sum();
    half * sum
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn quadrature_is_exact_for_polynomials_of_degree_15() {
        let power = |exponent: i32| move |x: f64| (0..exponent).fold(1.0, |product, _| product * x);
        assert!((gauss(&power(0), 0.0, 3.0) - 3.0).abs() < 1e-14);
        assert!((gauss(&power(14), -1.0, 1.0) - 2.0 / 15.0).abs() < 1e-15);
        assert!((gauss(&power(15), 0.0, 1.0) - 1.0 / 16.0).abs() < 1e-15);
        // |x| has a corner: halving must find it. ∫ |x| from −1 to 2 is 2.5.
        assert!((integral(&f64::abs, -1.0, 2.0) - 2.5).abs() < 1e-12);
    }

    #[test]
    fn slant_of_a_cut_by_hand() {
        // Straight along the bend: a rectangle. Straight across: a sector of a ring.
        assert_eq!(across_sheet(5.0, 0.0, [2.0, 3.5]), 7.5);
        assert!((across_sheet(0.0, 1.5, [2.0, 3.5]) - 1.5 * (3.5 * 3.5 - 4.0) / 2.0).abs() < 1e-15);
        // p = 3, q = 4, ρ from 0 to 1: ½ (5 + 9/4 arsinh(4/3)), and arsinh(4/3) = ln 3.
        let by_hand = 0.5 * (5.0 + 2.25 * 1.098_612_288_668_109_8);
        assert!((across_sheet(3.0, 4.0, [0.0, 1.0]) - by_hand).abs() < 1e-15);
        // A slant of a billionth is as good as none.
        assert!((across_sheet(5.0, 1e-9, [2.0, 3.5]) - 7.5).abs() < 1e-15);
    }
}
