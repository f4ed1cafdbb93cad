//! Volume and surface of the folded part by formula, without a mesh.
//!
//! A panel of area `A` and cut edges of length `s` has volume `A t` and surface `2 A + s t`. A bend of
//! length `l` through `a` is a sector of a tube: volume `l a ((r + t)² − r²) / 2`, surface
//! `l a (2 r + t)`, and two cut ends of area `a ((r + t)² − r²) / 2` each. Derivation:
//! `docs/math/fold-map.md`. A form is drawn with the sheet's thickness everywhere and adds what Pappus and
//! Guldin say of its cross-section: `docs/math/formed-bump.md`. Invariant: arcs count with their true length and area, so that a mesh approaches
//! these figures as its chords get shorter.

use crate::fold::FoldTree;
use crate::geom::Segment;

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
        let cut: f64 = panel
            .region
            .contours()
            .iter()
            .flat_map(|c| c.segments())
            .filter(|s| !tree.label(s).is_crease())
            .map(|s| Segment::length(*s))
            .sum();
        total.volume += area * t;
        total.surface += 2.0 * area + cut * t;
    }
    for bend in tree.bends() {
        let (a, r, l) = (bend.turn(), bend.inside_radius(), bend.length());
        let sector = 0.5 * a * ((r + t) * (r + t) - r * r);
        total.volume += l * sector;
        total.surface += l * a * (2.0 * r + t) + 2.0 * sector;
    }
    for form in tree.forms() {
        total.volume += form.added_volume();
        total.surface += form.added_surface();
    }
    total
}
