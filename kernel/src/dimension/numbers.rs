//! Every number of a history, checked before anything is computed from it.
//!
//! Invariant: what passes here is finite, and every free number that it uses is declared, starts within its own
//! bounds, and has a weight above zero.

use crate::diag::{Diagnostic, Origin};
use crate::history::feature::{CornerRelief, DrawnLine, Feature, FillArea, Flange, Pattern, Reach, Spacing};
use crate::history::{DimensionKind, FreeNumber, History, Number, Profile, Shape};
use crate::ident::VarId;
use crate::quantity::tolerance;

use super::DimensionFault;

/// Numbers that are not finite or use a free number that is not there.
pub(super) fn number_faults(history: &History) -> Vec<Diagnostic> {
    let count = history.free_numbers.len();
    let mut faults = Vec::new();
    let mut check = |origin: Origin, what: &'static str, number: &Number| {
        let unknown = number.highest_free().map(VarId::index).filter(|&index| index >= count);
        let fault = match unknown {
            Some(index) => DimensionFault::UnknownFree { owner: origin.name.clone(), index, count },
            None if !number.is_finite() => DimensionFault::NotFinite { owner: origin.name.clone(), what },
            None => return,
        };
        faults.push(fault.diagnose(origin));
    };
    for free in &history.free_numbers {
        check(
            Origin { name: free.name.clone(), span: free.span },
            "the start value",
            &Number::constant(free.start),
        );
    }
    for (id, entry) in history.features_with_ids() {
        for (what, number) in feature_numbers(&entry.feature) {
            check(history.origin(id), what, number);
        }
        for asked in entry.feature.profile().iter().flat_map(|profile| &profile.relations) {
            for number in asked.relation.numbers() {
                let origin = Origin { name: entry.name.clone(), span: asked.span.or(entry.span) };
                check(origin, "a number of a relation", &number);
            }
        }
    }
    for entry in &history.dimensions {
        for number in entry.numbers() {
            check(entry.origin(), "a number", number);
        }
    }
    faults.extend(history.free_numbers.iter().filter_map(freedom_fault));
    faults.extend(history.dimensions.iter().filter_map(|entry| {
        let (count, most) = (entry.kind.measure_count(), DimensionKind::MOST_MEASURES);
        let fault = || DimensionFault::TooManyMeasures { dimension: entry.name.clone(), count, most };
        (count > most).then(|| fault().diagnose(entry.origin()))
    }));
    if let Some(spec) = &history.tolerances {
        let is_wrong = |(_, value): &(&'static str, f64)| !(value.is_finite() && *value >= 0.0);
        let wrong = spec.given().filter(is_wrong);
        faults.extend(
            wrong.map(|(name, got)| {
                DimensionFault::Tolerance { tolerance: name, got }.diagnose(spec.origin())
            }),
        );
    }
    faults
}

/// A free number whose bounds or weight make no sense.
fn freedom_fault(free: &FreeNumber) -> Option<Diagnostic> {
    let name = || free.name.clone();
    let origin = Origin { name: free.name.clone(), span: free.span };
    let (min, max) = (free.min.unwrap_or(f64::NEG_INFINITY), free.max.unwrap_or(f64::INFINITY));
    if min > max {
        return Some(DimensionFault::BoundsCrossed { number: name(), min, max }.diagnose(origin));
    }
    if !(min <= free.start && free.start <= max) {
        let fault = DimensionFault::StartOutOfBounds { number: name(), start: free.start, min, max };
        return Some(fault.diagnose(origin));
    }
    let weight = free.weight.unwrap_or(1.0);
    let (least, most) = (tolerance::LEAST_WEIGHT, 1.0 / tolerance::LEAST_WEIGHT);
    let fault = || DimensionFault::Weight { number: name(), weight, least, most };
    (!(least <= weight && weight <= most)).then(|| fault().diagnose(origin))
}

fn feature_numbers(feature: &Feature) -> Vec<(&'static str, &Number)> {
    use crate::history::feature::BreakShape;
    match feature {
        Feature::BasePanel(base) => profile_numbers(&base.outline),
        Feature::Seam(seam) => {
            let gap = seam.gap().map(|n| ("the gap", n));
            gap.into_iter().chain(seam.overlap().map(|n| ("the overlap", n))).collect()
        }
        Feature::Hem(hem) => flange_numbers(hem.flange()),
        Feature::Flange(flange) => flange_numbers(flange),
        Feature::FoldLine(fold) => {
            let mut all = vec![("the turn", &fold.turn)];
            all.extend(line_numbers(&fold.line));
            all.extend(fold.inside_radius.as_ref().map(|n| ("the inside radius", n)));
            all
        }
        Feature::Offset(step) => {
            let mut all = vec![("the turn", &step.turn), ("the height", &step.height)];
            all.extend(line_numbers(&step.line));
            all.extend(step.inside_radius.as_ref().map(|n| ("the inside radius", n)));
            all
        }
        Feature::Turned(turned) => vec![("the turn", &turned.turn)],
        Feature::Cutout(cutout) => {
            let mut all = shape_numbers(&cutout.shape);
            all.extend(pattern_numbers(&cutout.pattern));
            if let Reach::Straight(straight) = &cutout.reach {
                all.extend(straight.along.iter().map(|n| ("the direction", n)));
            }
            all
        }
        Feature::Bump(bump) => {
            let mut all = shape_numbers(&bump.profile);
            all.extend(pattern_numbers(&bump.pattern));
            all.extend([("the height", &bump.height), ("the draft", &bump.draft)]);
            all.extend(bump.punch_radius.as_ref().map(|n| ("the punch radius", n)));
            all.extend(bump.die_radius.as_ref().map(|n| ("the die radius", n)));
            all.extend(bump.corner_radius.as_ref().map(|n| ("the corner radius", n)));
            all
        }
        Feature::BumpOver(over) => {
            let mut all = vec![("the clearance", &over.clearance), ("the draft", &over.draft)];
            all.extend(over.punch_radius.as_ref().map(|n| ("the punch radius", n)));
            all.extend(over.die_radius.as_ref().map(|n| ("the die radius", n)));
            all
        }
        Feature::BumpChange(change) => {
            let mut all = change.profile.as_ref().map_or_else(Vec::new, shape_numbers);
            all.extend(change.height.as_ref().map(|n| ("the height", n)));
            all
        }
        Feature::CornerBreak(corners) => match &corners.shape {
            BreakShape::Round(n) | BreakShape::Chamfer(n) => vec![("the size", n)],
        },
    }
}

fn shape_numbers(shape: &Shape) -> Vec<(&'static str, &Number)> {
    match shape {
        Shape::Circle { diameter } => vec![("the diameter", diameter)],
        Shape::Slot { length, width, direction } => {
            vec![("the length", length), ("the width", width), ("the direction", direction)]
        }
        Shape::BoltHole { .. } => Vec::new(),
        Shape::BoltSlot { length, direction, .. } => {
            vec![("the length", length), ("the direction", direction)]
        }
        Shape::Outline(profile) => profile_numbers(profile),
    }
}

fn pattern_numbers(pattern: &Pattern) -> Vec<(&'static str, &Number)> {
    fn both<'a>(what: &'static str, [x, y]: &'a [Number; 2]) -> [(&'static str, &'a Number); 2] {
        [(what, x), (what, y)]
    }
    match pattern {
        Pattern::At(points) => points.iter().flat_map(|p| both("a place", p)).collect(),
        Pattern::OnAxes(_) => Vec::new(),
        Pattern::Grid { from, column_pitch, row_pitch, .. } => {
            let mut all = both("the first place", from).to_vec();
            all.extend([("the column pitch", column_pitch), ("the row pitch", row_pitch)]);
            all
        }
        Pattern::Row { from, to, spacing } => {
            let mut all = [both("the start of the row", from), both("the end of the row", to)].concat();
            if let Spacing::Pitch { pitch, ends } = spacing {
                all.extend([("the pitch", pitch), ("the distance to the ends", ends)]);
            }
            all
        }
        Pattern::Ring { centre, diameter, first, span, .. } => {
            let mut all = both("the centre", centre).to_vec();
            all.extend([("the diameter", diameter), ("the first direction", first), ("the span", span)]);
            all
        }
        Pattern::Fill { area, column_pitch, row_pitch, margin, .. } => {
            let mut all = vec![
                ("the column pitch", column_pitch),
                ("the row pitch", row_pitch),
                ("the margin", margin),
            ];
            if let FillArea::Rectangle { from, to } = area {
                all.extend([from, to].into_iter().flat_map(|corner| both("a corner", corner)));
            }
            all
        }
    }
}

fn flange_numbers(f: &Flange) -> Vec<(&'static str, &Number)> {
    let mut all = vec![
        ("the turn", &f.turn),
        ("the length", &f.length),
        ("the inset on the left", &f.left.inset),
        ("the inset on the right", &f.right.inset),
        ("the taper on the left", &f.left.taper),
        ("the taper on the right", &f.right.taper),
        ("the corner gap", &f.corner_gap),
    ];
    all.extend(f.outline.iter().flat_map(profile_numbers));
    all.extend(f.inside_radius.as_ref().map(|n| ("the inside radius", n)));
    let notch = f.relief.notch();
    all.extend(notch.and_then(|n| n.width.as_ref()).map(|n| ("the relief width", n)));
    all.extend(notch.and_then(|n| n.depth.as_ref()).map(|n| ("the relief depth", n)));
    let corner = f.corner_relief.as_ref().and_then(CornerRelief::size);
    all.extend(corner.map(|n| ("the size of the corner relief", n)));
    all
}

fn line_numbers(line: &DrawnLine) -> Vec<(&'static str, &Number)> {
    match line {
        DrawnLine::Through(from, to) => from.iter().chain(to).map(|n| ("a point of the line", n)).collect(),
        DrawnLine::Beside { distance, .. } => vec![("the line's distance", distance)],
    }
}

pub(super) fn profile_numbers(profile: &Profile) -> Vec<(&'static str, &Number)> {
    use crate::history::EdgeShape;
    let corners = profile.corners.iter().flatten().map(|n| ("a corner", n));
    let arcs = profile.edges.iter().flat_map(|e| match &e.shape {
        EdgeShape::Line => Vec::new(),
        EdgeShape::Arc(radius) => vec![("an arc's radius", radius)],
        EdgeShape::ArcThrough(via) => via.iter().map(|n| ("a point on an arc", n)).collect(),
        EdgeShape::ArcRise(rise) => vec![("an arc's rise", rise)],
    });
    corners.chain(arcs).collect()
}
