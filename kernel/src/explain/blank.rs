//! Sizes of the blank, panel by panel and bend by bend, and the mass.
//! Invariant: the steps of a size add up to that of the blank's box.

use crate::fold::FoldFractions;
use crate::geom::Vec3;

use super::chain::{self, Place};
use super::{Explanation, Figure, Step, Subject};

/// A size by its name, with what explains it.
type Size = (&'static str, fn(Subject<'_>) -> Explanation);

/// Every size.
pub(super) const ALL: &[Size] = &[("blank length", length), ("blank width", width), ("mass", mass)];

fn length(subject: Subject<'_>) -> Explanation {
    extent(subject, "blank length", Vec3::new(1.0, 0.0, 0.0))
}

fn width(subject: Subject<'_>) -> Explanation {
    extent(subject, "blank width", Vec3::new(0.0, 1.0, 0.0))
}

pub(super) fn extent(subject: Subject<'_>, name: &str, direction: Vec3<f64>) -> Explanation {
    let tree = subject.tree;
    let flat = FoldFractions::all(tree, 0.0);
    let motions = tree.flat_motions();
    let zones = tree.panels().iter().map(|panel| (panel.id, &panel.region, motions[panel.id.index()]));
    let strips = tree
        .bends()
        .iter()
        .map(|bend| (bend.child, &bend.region, bend.strip_motion(motions[bend.parent.index()])));
    let mut low: Option<(f64, Place)> = None;
    let mut high: Option<(f64, Place)> = None;
    for (panel, region, motion) in zones.chain(strips) {
        for contour in region.outers() {
            let reach = contour.moved(motion).bounding_box();
            // Only what lies along the direction counts.
            for corner in [reach.min, reach.max] {
                let at = Vec3::new(corner.x, corner.y, 0.0);
                let reach = at.dot(direction);
                if low.is_none_or(|(known, _)| reach < known) {
                    low = Some((reach, Place { panel, at }));
                }
                if high.is_none_or(|(known, _)| reach > known) {
                    high = Some((reach, Place { panel, at }));
                }
            }
        }
    }
    let (from, to) = (low.map(|(_, place)| place), high.map(|(_, place)| place));
    let (from, to) = (from.expect("a part has an outline"), to.expect("a part has an outline"));
    let value = (to.at - from.at).dot(direction);
    Explanation {
        heading: format!("{name}: {value:.3} mm"),
        origin: None,
        steps: chain::along(tree, &flat, [from, to], direction, 0.0),
        total: Some(Figure { value, unit: "mm" }),
        sources: vec![
            "a bend takes its allowance; `explain` it by the name of its panel: docs/math/bend-allowance.md"
                .to_owned(),
        ],
    }
}

fn mass(subject: Subject<'_>) -> Explanation {
    let area = subject.blank.region.area();
    let material = &subject.sheet.material;
    let mass = subject.sheet.mass_of_area_kg(area);
    let thickness = subject.tree.thickness();
    let density = material.density_kg_per_dm3.value;
    Explanation {
        heading: format!("mass: {mass:.3} kg"),
        origin: None,
        steps: vec![
            Step::new("area of the blank", area, "mm²", "openings taken off"),
            Step::new("thickness", thickness, "mm", "of the sheet"),
            Step::new("density", density, "kg/dm³", material.name),
            Step::new("mass", mass, "kg", "area · thickness · density / 10⁶"),
        ],
        total: None,
        sources: vec![format!("density: {}", material.density_kg_per_dm3.source)],
    }
}
