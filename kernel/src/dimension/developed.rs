//! The skeleton laid flat: how long and wide the blank is, as a formula.
//!
//! A panel hangs on its bend as in the fold map, with the bend rolled out: its frame lies the developed width
//! behind the crease. The extent is that of the drawn corners; what corners, reliefs, arcs and cuts add to it or
//! take from it is a correction that whoever has the finished blank supplies ([`BlankSize`]).
//! Invariant: one formula over [`Scalar`]; which corners stand out is decided once.

use crate::geom::Scalar;
use crate::ident::PanelId;

use super::line_bend::{FlatFrame, allowance};
use super::pose::{Pose, SheetNumbers};
use super::{Skeleton, Source};

/// Along the base panel's x or y.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum BlankAxis {
    Length,
    Width,
}

/// What of the blank's sizes the drawn corners do not tell.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct BlankSize {
    /// Length and width in mm of the finished blank less those between its drawn corners.
    pub beyond_corners: [f64; 2],
}

/// The drawn corners that stand out most along an axis, by panel and position among its corners.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Extent {
    axis: BlankAxis,
    low: (PanelId, usize),
    high: (PanelId, usize),
    /// The drawn edges at the two corners that face along the axis most.
    ends: [(PanelId, usize); 2],
}

impl BlankSize {
    /// The larger one of the differences along both axes, in mm.
    #[must_use]
    pub fn change(&self, other: Self) -> f64 {
        let change = |i: usize| (self.beyond_corners[i] - other.beyond_corners[i]).abs();
        change(0).max(change(1))
    }
}

impl BlankAxis {
    pub(super) fn index(self) -> usize {
        match self {
            Self::Length => 0,
            Self::Width => 1,
        }
    }
}

impl Extent {
    /// The extent of the blank at this pose; ties go to the panel made first.
    pub(super) fn of(
        axis: BlankAxis,
        skeleton: &Skeleton<'_>,
        pose: &Pose<f64>,
        sheet: SheetNumbers<'_>,
    ) -> Self {
        let frames = flat_frames(skeleton, pose, sheet);
        let base = (PanelId::new(0), 0);
        let (mut low, mut high) = ((base, f64::INFINITY), (base, f64::NEG_INFINITY));
        for (index, panel) in skeleton.panels().iter().enumerate() {
            if matches!(panel.source, Source::Piece { .. }) {
                continue;
            }
            for (at, &corner) in pose.panels[index].corners.iter().enumerate() {
                let place = frames[index].point(corner)[axis.index()];
                let corner = (PanelId::new(index), at);
                if place < low.1 {
                    low = (corner, place);
                }
                if place > high.1 {
                    high = (corner, place);
                }
            }
        }
        let (low, high) = (low.0, high.0);
        let ends = [(low, -1.0), (high, 1.0)].map(|((panel, at), way)| {
            let own = pose.panel(panel);
            let facing = |edge: usize| {
                let (_, [dx, dy]) = own.edge(edge).length_and_direction();
                way * frames[panel.index()].vector([dy, -dx])[axis.index()]
            };
            let count = own.corners.len();
            let beside = |edge: &usize| [at, (at + count - 1) % count].contains(&own.edge_order[*edge]);
            let end = (0..count).filter(beside).max_by(|a, b| facing(*a).total_cmp(&facing(*b)));
            (panel, end.expect("an edge leaves every corner"))
        });
        Self { axis, low, high, ends }
    }

    /// The drawn edges at its two ends.
    pub(super) fn ends(&self) -> [(PanelId, usize); 2] {
        self.ends
    }

    pub(super) fn axis(&self) -> BlankAxis {
        self.axis
    }

    /// Its size in mm in a skeleton laid flat.
    pub(super) fn size<S: Scalar>(&self, pose: &Pose<S>, frames: &[FlatFrame<S>]) -> S {
        let place = |(panel, corner): (PanelId, usize)| {
            frames[panel.index()].point(pose.panel(panel).corners[corner])[self.axis.index()]
        };
        place(self.high) - place(self.low)
    }
}

/// Where every panel lies in the blank, in the base panel's frame.
pub(super) fn flat_frames<S: Scalar>(
    skeleton: &Skeleton<'_>,
    pose: &Pose<S>,
    sheet: SheetNumbers<'_>,
) -> Vec<FlatFrame<S>> {
    let mut frames: Vec<FlatFrame<S>> = Vec::with_capacity(pose.panels.len());
    for (panel, own) in skeleton.panels().iter().zip(&pose.panels) {
        let frame = match (panel.source, own.bend) {
            (Source::Flange { parent, hem, .. }, Some(bend)) => {
                let k = hem.and_then(crate::history::feature::HemForm::k_factor);
                let developed = allowance(bend.turn, bend.inside_radius, k, sheet);
                let [ox, oy] = bend.outward;
                let end = [bend.origin[0] + ox * developed, bend.origin[1] + oy * developed];
                frames[parent.index()].within(FlatFrame { origin: end, x: bend.along })
            }
            (Source::Piece { root, .. }, _) => frames[root.index()].within(own.in_flat),
            (Source::Base(_) | Source::Flange { .. }, _) => FlatFrame::identity(),
        };
        frames.push(frame);
    }
    frames
}
