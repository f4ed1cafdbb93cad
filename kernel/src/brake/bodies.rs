//! What stands at the brake, as convex pieces of its section.
//!
//! Invariant: pieces of one body cover its outline; bodies that are alike are there once. Must not know: the part.

use crate::geom::{Point2, convex_hull, convex_pieces};
use crate::quantity::tolerance;
use crate::stock::Tooling;

use super::cell::Section;
use super::steps::ToolPair;
use super::sweep::{Tool, ToolPiece};

/// One tool, or one part of the brake.
#[derive(Clone, Debug)]
pub(super) struct Body {
    pub(super) tool: Tool,
    pub(super) pieces: Vec<ToolPiece>,
    /// Whether its back is as its front.
    pub(super) is_symmetric: bool,
    outline: Vec<Point2>,
}

/// Every body that some pair of tools needs.
#[derive(Clone, Debug, Default)]
pub(super) struct Bodies {
    all: Vec<Body>,
    of_pair: Vec<(ToolPair, Vec<usize>)>,
}

/// How far the side frames reach back, up and down, in mm: farther than any part does.
const FRAME_MM: f64 = 5000.0;

impl Bodies {
    /// Adds what stands there with a pair of tools.
    pub(super) fn add(&mut self, tooling: &Tooling, pair: ToolPair) {
        if self.of_pair.iter().any(|(known, _)| *known == pair) {
            return;
        }
        let (punch, die, brake) = (&tooling.punches[pair.punch], &tooling.dies[pair.die], &tooling.brake);
        let lifted = |outline: &[Point2], lift: f64| -> Vec<Point2> {
            outline.iter().map(|p| Point2::new(p.x, p.y + lift)).collect()
        };
        let frame = [
            [brake.throat, -FRAME_MM],
            [FRAME_MM, -FRAME_MM],
            [FRAME_MM, FRAME_MM],
            [brake.throat, FRAME_MM],
        ];
        let outlines = [
            (Tool::Punch, punch.outline.clone()),
            (Tool::Die, die.outline.clone()),
            (Tool::Ram, lifted(&brake.ram, punch.height)),
            (Tool::Bed, lifted(&brake.bed, -die.height)),
            (Tool::Frame, frame.map(|[y, z]| Point2::new(y, z)).to_vec()),
        ];
        let bodies = outlines.map(|(tool, outline)| {
            let known = self.all.iter().position(|body| body.tool == tool && body.outline == outline);
            known.unwrap_or_else(|| {
                self.all.push(Body::new(tool, outline));
                self.all.len() - 1
            })
        });
        self.of_pair.push((pair, bodies.to_vec()));
    }

    /// Numbers of the bodies that stand there with a pair that was added.
    pub(super) fn of(&self, pair: ToolPair) -> &[usize] {
        self.of_pair.iter().find(|(known, _)| *known == pair).map_or(&[], |(_, bodies)| bodies)
    }

    /// The body of a number.
    pub(super) fn body(&self, number: usize) -> &Body {
        &self.all[number]
    }
}

impl Body {
    fn new(tool: Tool, outline: Vec<Point2>) -> Self {
        let near = |a: &Point2, b: &Point2| (*a - *b).length() <= tolerance::SNAP_MM;
        let is_symmetric = outline.iter().all(|p| {
            let mirrored = Point2::new(-p.x, p.y);
            outline.iter().any(|q| near(q, &mirrored))
        });
        let pieces = convex_pieces(&outline).into_iter();
        let pieces = pieces.map(|piece| ToolPiece::new(tool, Section::new(convex_hull(&piece)))).collect();
        Self { tool, pieces, is_symmetric, outline }
    }
}
