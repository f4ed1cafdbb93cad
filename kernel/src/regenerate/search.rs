//! The part with the smallest figure that is aimed for, among those in which the dimensions hold.
//!
//! Job: give the search of [`crate::solve`] its ground: settle, fold and unfold for each trial. Invariant: the
//! figure is that of the finished blank, and never larger than without the aim. Must not know: how places are
//! chosen.

use crate::blank::{self, Blank};
use crate::diag::Diagnostic;
use crate::dimension::{self, Aimed, Reasons, Settled, SheetNumbers};
use crate::fold;
use crate::history::{AimFigure, History, Profile};
use crate::solve::{self, Ground, Straightened};
use crate::stock::Sheet;

use super::{Asked, Known, Made, made_from};

/// How far beyond a wall it is asked why there is no part, in mm or degrees.
const BEYOND: f64 = 1e-3;

/// Goes from a part to the one that the aim asks for; tells what came of it, and what should be known of that.
pub(super) fn aim(asked: Asked<'_, '_>, made: Made) -> (Made, Option<Aimed>, Vec<Diagnostic>) {
    let Asked { history, sheet, .. } = asked;
    let Some(aim) = &history.aim else { return (made, None, Vec::new()) };
    let before = figure(aim.smallest, &made.blank, sheet);
    let is_of_part = history.dimensions.iter().any(|entry| entry.kind.is_of_finished_part());
    let known = is_of_part.then(|| known(&made.settled));
    let sides = sides(history, &made.settled.free);
    let mut parts = Parts { asked, figure: aim.smallest, sides, known };
    let found = solve::smallest(&mut parts, &made.settled.free, before);
    let why_not: Vec<Vec<Diagnostic>> =
        found.walls.iter().map(|way| parts.why_not(&found.unknowns, way)).collect();
    let moved = parts.made(&found.unknowns).ok().map(|there| {
        let after = figure(aim.smallest, &there.blank, sheet);
        (there, after)
    });
    let moved = moved.filter(|(_, after)| *after < before);
    let end = moved.as_ref().map_or((&made.settled, before), |(there, after)| (&there.settled, *after));
    let (aimed, findings) = dimension::aimed(history, aim, [(&made.settled, before), end], &found, &why_not);
    (moved.map_or(made, |(there, _)| there), Some(aimed), findings)
}

/// What a part was solved with.
fn known(settled: &Settled) -> Known {
    Known { blank: settled.blank, nearest: settled.nearest.clone() }
}

fn figure(figure: AimFigure, blank: &Blank, sheet: &Sheet) -> f64 {
    match figure {
        AimFigure::BlankArea => blank.region.area(),
        AimFigure::Mass => sheet.mass_of_area_kg(blank.region.area()),
        AimFigure::CutLength => blank.cut_length(),
    }
}

/// For each outline the signed area over its corners in mm²: one that changes its sign was turned inside out, which
/// is another part.
fn sides(history: &History, free: &[f64]) -> Vec<f64> {
    let profiles = history.features.iter().filter_map(|entry| entry.feature.profile());
    let side = |profile: &Profile| {
        let corners: Vec<[f64; 2]> =
            profile.corners.iter().map(|corner| corner.each_ref().map(|at| at.evaluate(free))).collect();
        let next = corners.iter().cycle().skip(1);
        corners.iter().zip(next).map(|(a, b)| 0.5 * (a[0] * b[1] - a[1] * b[0])).sum()
    };
    profiles.map(side).collect()
}

/// The parts of a history, each with its figure.
struct Parts<'a, 'h> {
    asked: Asked<'a, 'h>,
    figure: AimFigure,
    /// Which way round each outline runs.
    sides: Vec<f64>,
    /// What was known of the last part, if dimensions are of it.
    known: Option<Known>,
}

impl Parts<'_, '_> {
    /// The part of a trial; nobody reads why there is none.
    fn made(&self, free: &[f64]) -> Result<Made, Vec<Diagnostic>> {
        made_from(Asked { reasons: Reasons::Unsought, ..self.asked }, self.known.clone(), free)
    }

    /// What is wrong with the part a little farther on a way.
    fn why_not(&self, free: &[f64], way: &[f64]) -> Vec<Diagnostic> {
        let beyond: Vec<f64> = free.iter().zip(way).map(|(value, part)| value + BEYOND * part).collect();
        made_from(self.asked, self.known.clone(), &beyond).err().unwrap_or_default()
    }
}

impl Ground for Parts<'_, '_> {
    fn settle(&mut self, free: &[f64]) -> Option<(Vec<f64>, f64)> {
        let Made { settled, blank, .. } = self.made(free).ok()?;
        let is_turned = |(now, start): (&f64, &f64)| now * start < 0.0;
        if sides(self.asked.history, &settled.free).iter().zip(&self.sides).any(is_turned) {
            return None;
        }
        self.known = self.known.take().map(|_| known(&settled));
        Some((settled.free, figure(self.figure, &blank, self.asked.sheet)))
    }

    fn value(&mut self, free: &[f64]) -> Option<f64> {
        let Asked { history, skeleton, sheet, .. } = self.asked;
        let pose = skeleton.pose(SheetNumbers::from(sheet), free);
        let tree = fold::build(history, skeleton, &pose, free, sheet).ok()?;
        Some(figure(self.figure, &blank::unfold(&tree).ok()?, sheet))
    }

    fn straighten(&self, free: &[f64]) -> Straightened {
        let Asked { history, skeleton, sheet, .. } = self.asked;
        let Known { blank, nearest } = self.known.clone().unwrap_or_default();
        let skeleton = skeleton.clone().knowing(nearest);
        dimension::straightened(history, &skeleton, SheetNumbers::from(sheet), blank, free)
    }
}
