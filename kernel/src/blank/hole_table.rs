//! Round holes and slots by size, for reports and drawings.
//!
//! Invariant: only openings that are cut whole count; one that runs into an edge or another opening is no hole
//! of its size any more.

use crate::fold::{EdgeLabel, FoldTree};
use crate::history::feature::Feature;
use crate::history::{History, Shape};
use crate::ident::FeatureId;
use crate::quantity::{maths, tolerance};
use crate::stock::{ClearanceFit, clearance_hole};

use super::Blank;

/// Holes of one size.
#[derive(Clone, Debug, PartialEq)]
pub struct HoleRow {
    /// Thread size and fit of the bolt that they are made for, if they are.
    pub bolt: Option<(String, ClearanceFit)>,
    /// Diameter of a round hole, width of a slot, in mm.
    pub diameter: f64,
    /// Length of a slot over its ends in mm; the diameter for a round hole.
    pub length: f64,
    /// How many there are.
    pub count: usize,
    /// The features that cut them, in order.
    pub features: Vec<FeatureId>,
}

impl HoleRow {
    fn is_alike(&self, other: &Self) -> bool {
        self.bolt == other.bolt
            && (self.diameter - other.diameter).abs() <= tolerance::SNAP_MM
            && (self.length - other.length).abs() <= tolerance::SNAP_MM
    }

    /// Area of one hole in mm².
    fn area(&self) -> f64 {
        0.25 * maths::PI * self.diameter * self.diameter + (self.length - self.diameter) * self.diameter
    }
}

/// Round holes and slots of a part by size, the smallest first; `free` are the values of the history's free
/// numbers.
#[must_use]
pub fn hole_table(history: &History, free: &[f64], tree: &FoldTree, blank: &Blank) -> Vec<HoleRow> {
    let mut cut: Vec<Option<HoleRow>> =
        history.features_with_ids().map(|(id, entry)| size_of(id, &entry.feature, free)).collect();
    for contour in blank.region.holes() {
        let EdgeLabel::Opening(feature) = tree.label(&contour.segments()[0]) else { continue };
        let Some(row) = &mut cut[feature.index()] else { continue };
        let alone = contour.segments().iter().all(|s| tree.label(s) == &EdgeLabel::Opening(*feature));
        if alone && (contour.signed_area().abs() - row.area()).abs() <= tolerance::DUST_AREA_MM2 {
            row.count += 1;
        }
    }
    let mut table: Vec<HoleRow> = Vec::new();
    for row in cut.into_iter().flatten().filter(|row| row.count > 0) {
        match table.iter_mut().find(|other| other.is_alike(&row)) {
            Some(alike) => {
                alike.count += row.count;
                alike.features.extend(row.features);
            }
            None => table.push(row),
        }
    }
    table.sort_by(|a, b| {
        a.diameter
            .total_cmp(&b.diameter)
            .then(a.length.total_cmp(&b.length))
            .then(a.features.cmp(&b.features))
    });
    table
}

fn size_of(id: FeatureId, feature: &Feature, free: &[f64]) -> Option<HoleRow> {
    let Feature::Cutout(cutout) = feature else { return None };
    let of_bolt = |bolt: &str, fit| clearance_hole(bolt).ok().map(|hole| hole.diameter(fit).to_mm());
    let (diameter, length) = match &cutout.shape {
        Shape::Circle { diameter } => (diameter.evaluate(free), None),
        Shape::Slot { length, width, .. } => (width.evaluate(free), Some(length)),
        Shape::BoltHole { bolt, fit } => (of_bolt(bolt, *fit)?, None),
        Shape::BoltSlot { bolt, fit, length, .. } => (of_bolt(bolt, *fit)?, Some(length)),
        Shape::Outline(_) => return None,
    };
    let bolt = cutout.shape.bolt().map(|(bolt, fit)| (bolt.to_owned(), fit));
    let length = length.map_or(diameter, |length| length.evaluate(free));
    Some(HoleRow { bolt, diameter, length, count: 0, features: vec![id] })
}
