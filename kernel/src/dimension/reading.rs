//! Where a dimension is read when things that should be parallel are not quite.
//!
//! A distance between two faces is one number as drawn. As made it differs from place to place; it is read at
//! every drawn corner of the panel farther from the base, from there to the plane of the other face, and from
//! both panels where they are equally many bends from the base; and at both ends of an edge. Where both arrises of an edge are alike as drawn, both are read.
//! Invariant: all readings of a dimension agree in the pose that they were found in.

use crate::history::SheetFace;
use crate::ident::PanelId;
use crate::quantity::tolerance;

use super::located::{Located, OnArris, OnFace, ThingAt};
use super::measure::Measure;
use super::parting::EdgeHome;
use super::pose::Pose;
use super::{Skeleton, Source};

/// A settled part in which dimensions are read.
pub(super) struct Reader<'a, 'h> {
    pub(super) skeleton: &'a Skeleton<'h>,
    pub(super) pose: &'a Pose<f64>,
    pub(super) free: &'a [f64],
}

impl<'h> Reader<'_, 'h> {
    /// Every reading of a measure; at least one.
    pub(super) fn readings(&self, measure: &Measure<'h>) -> Vec<Measure<'h>> {
        let pairs = |two: &[Measure<'h>; 2]| {
            let [first, second] = [0, 1].map(|i| self.readings(&two[i]));
            let with =
                |a: &Measure<'h>| second.iter().map(|b| Box::new([a.clone(), b.clone()])).collect::<Vec<_>>();
            first.iter().flat_map(with).collect::<Vec<_>>()
        };
        match measure {
            &Measure::Faces { a, b, side } => {
                let face = |(panel, face)| ThingAt::Face { panel, face, at: OnFace::Anchor };
                self.between([&face(a), &face(b)], side)
            }
            Measure::Things { a, b, side } => self.between([a, b], *side),
            Measure::OffCentre(two) => pairs(two).into_iter().map(Measure::OffCentre).collect(),
            Measure::Difference(two) => pairs(two).into_iter().map(Measure::Difference).collect(),
            Measure::Ratio(two) => pairs(two).into_iter().map(Measure::Ratio).collect(),
            Measure::Edges { .. } | Measure::Angle { .. } | Measure::ClearOf(_) | Measure::Blank(_) => {
                vec![measure.clone()]
            }
        }
    }

    fn between(&self, [a, b]: [&ThingAt<'h>; 2], side: f64) -> Vec<Measure<'h>> {
        let mut found = Vec::new();
        let drawn = self.distance(a, b, side);
        for (own, other) in [(a, b), (b, a)] {
            let [own_bends, other_bends] = [own, other].map(|thing| self.bends_to(thing));
            if own_bends.zip(other_bends).is_some_and(|(own, other)| own < other) {
                continue;
            }
            for place in self.places(own) {
                let Some([first, second]) = self.measured_to(place, other) else { continue };
                // A distance that has a sign keeps it, whichever of the two planes gives it.
                let side = match self.distance(&first, &second, 1.0) * drawn {
                    product if product < 0.0 => -1.0,
                    _ => 1.0,
                };
                if (self.distance(&first, &second, side) - drawn).abs() <= tolerance::HELD_MM {
                    found.push(Measure::Things { a: first, b: second, side });
                }
            }
        }
        if found.is_empty() {
            found.push(Measure::Things { a: *a, b: *b, side });
        }
        found
    }

    /// How many bends lie between the base panel and a face; none for anything else, which has places of its own.
    fn bends_to(&self, thing: &ThingAt<'h>) -> Option<usize> {
        let ThingAt::Face { panel, .. } = *thing else { return None };
        let parent = |panel: &PanelId| match self.skeleton.panels()[panel.index()].source {
            Source::Base(_) => None,
            Source::Flange { parent, .. } | Source::Piece { parent, .. } => Some(parent),
        };
        Some(std::iter::successors(Some(panel), parent).count())
    }

    /// A place of a thing and the other thing, in the order in which the distance is that of the place.
    fn measured_to(&self, place: ThingAt<'h>, other: &ThingAt<'h>) -> Option<[ThingAt<'h>; 2]> {
        match (place.locate(self.pose, self.free), other.locate(self.pose, self.free)) {
            (_, Located::Plane(_)) => Some([place, *other]),
            (Located::Line(..) | Located::Point(_), Located::Line(..)) => Some([*other, place]),
            (Located::Line(..) | Located::Point(_), Located::Point(_)) => Some([place, *other]),
            (Located::Plane(_), Located::Line(..) | Located::Point(_)) => None,
        }
    }

    fn distance(&self, a: &ThingAt<'h>, b: &ThingAt<'h>, side: f64) -> f64 {
        a.locate(self.pose, self.free).distance_to(b.locate(self.pose, self.free), side)
    }

    fn places(&self, thing: &ThingAt<'h>) -> Vec<ThingAt<'h>> {
        match *thing {
            ThingAt::Face { panel, face, .. } => {
                let corners = self.corners(panel).into_iter().map(OnFace::Corner);
                let at = |at| ThingAt::Face { panel, face, at };
                std::iter::once(OnFace::Anchor).chain(corners).map(at).collect()
            }
            ThingAt::Arris { panel, edge, .. } => {
                let ends = [OnArris::Start, OnArris::End];
                let arrises = [SheetFace::Inner, SheetFace::Outer];
                arrises
                    .into_iter()
                    .flat_map(|face| ends.map(|at| ThingAt::Arris { panel, edge, face, at }))
                    .collect()
            }
            ThingAt::Point(_) | ThingAt::Axis { .. } | ThingAt::Plane { .. } | ThingAt::Neighbour(_) => {
                vec![*thing]
            }
        }
    }

    /// Positions of the drawn corners that lie on a panel, or on a piece of one.
    fn corners(&self, panel: PanelId) -> Vec<usize> {
        let pose = self.pose.panel(panel);
        let root = &self.skeleton.panels()[self.skeleton.root(panel).index()];
        let is_piece = matches!(self.skeleton.panels()[panel.index()].source, Source::Piece { .. });
        if root.lines.is_empty() && !is_piece {
            return (0..pose.corners.len()).collect();
        }
        let edges = root.edge_homes.iter().enumerate().filter(|(_, home)| **home == EdgeHome::On(panel));
        let ends = edges.flat_map(|(edge, _)| {
            let start = pose.edge_order[edge];
            [start, (start + 1) % pose.corners.len()]
        });
        let mut corners: Vec<usize> = ends.collect();
        corners.sort_unstable();
        corners.dedup();
        corners
    }
}
