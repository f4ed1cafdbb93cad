//! Parts the flat drawing of a panel along its lines: what stays, bend strips, webs, what is moved.
//!
//! Each line is cut in its own frame, x along the line from where its bends start and y outwards, where its
//! strips are the bands of constant y. Invariant: pieces and strips together are the drawing, and two
//! neighbours have the same vertices along their common line.

use crate::diag::Diagnostic;
use crate::dimension::{LinePart, LinePose, Pose, Skeleton, Source};
use crate::geom::{Contour, Motion2, Point2, Region, Segment, Tag, Vec2, clip_to_left};
use crate::history::{History, PanelName};
use crate::ident::{BendId, PanelId};
use crate::quantity::tolerance;

use super::outline::bend_of_panel;
use super::tree::{Bend, Panel};
use super::{EdgeLabel, FoldFault, Labels};

/// Parts every panel that has lines. Before, a panel's region is its whole flat drawing and its pieces have
/// none; after, each has its own in its own frame.
pub(super) fn part(
    panels: &mut [Panel],
    bends: &mut [Bend],
    labels: &mut Labels,
    skeleton: &Skeleton<'_>,
    pose: &Pose<f64>,
    history: &History,
) -> Result<(), Diagnostic> {
    for (index, drawn) in skeleton.panels().iter().enumerate() {
        let root = PanelId::new(index);
        for (number, line) in drawn.lines.iter().enumerate() {
            let pieces = pieces_of(skeleton, root, number);
            let work = Line {
                pose: &pose.panel(root).lines[number],
                name: panels[pieces.moved.index()].name.clone(),
                pieces,
                history,
            };
            work.cut(panels, bends, labels).map_err(|fault| fault.diagnose(history.origin(line.feature)))?;
        }
        if drawn.lines.is_empty() {
            continue;
        }
        for piece in skeleton.panels().iter().enumerate().filter_map(|(i, p)| match p.source {
            Source::Piece { root: of, .. } if of == root => Some(PanelId::new(i)),
            Source::Base(_) | Source::Flange { .. } | Source::Piece { .. } => None,
        }) {
            let panel = &mut panels[piece.index()];
            panel.region = panel.region.moved(pose.panel(piece).in_flat.motion().inverse());
        }
    }
    Ok(())
}

/// The panels on both sides of a line.
#[derive(Clone, Copy)]
struct Pieces {
    before: PanelId,
    web: Option<PanelId>,
    moved: PanelId,
}

fn pieces_of(skeleton: &Skeleton<'_>, root: PanelId, number: usize) -> Pieces {
    let find = |wanted: LinePart| {
        skeleton.panels().iter().enumerate().find_map(|(i, p)| match p.source {
            Source::Piece { root: of, line, part, parent, .. }
                if of == root && line == number && part == wanted =>
            {
                Some((PanelId::new(i), parent))
            }
            Source::Base(_) | Source::Flange { .. } | Source::Piece { .. } => None,
        })
    };
    let (moved, before) = find(LinePart::Moved).expect("every line moves a piece");
    match find(LinePart::Web) {
        None => Pieces { before, web: None, moved },
        Some((web, before)) => Pieces { before, web: Some(web), moved },
    }
}

struct Line<'a> {
    pose: &'a LinePose<f64>,
    name: PanelName,
    pieces: Pieces,
    history: &'a History,
}

impl Line<'_> {
    fn cut(&self, panels: &mut [Panel], bends: &mut [Bend], labels: &mut Labels) -> Result<(), FoldFault> {
        let Pieces { before, web, moved } = self.pieces;
        let frame = self.pose.frame();
        let numbers = &self.pose.numbers;
        let drawing = panels[before.index()].region.moved(frame.inverse());
        let bend = |panel: PanelId| bend_of_panel(panel);
        let first = bend(web.unwrap_or(moved));
        let (stays, rest) = self.split(&drawing, 0.0, Sides::start(first, labels))?;
        let mut across = numbers.allowances[0];
        let (strip, mut rest) = self.split(&rest, across, Sides::end(first, labels))?;
        let mut cut_out = vec![(before, stays)];
        let mut strips = vec![(first, strip, 0.0)];
        if let Some(web) = web {
            let last = bend(moved);
            if numbers.web > tolerance::SNAP_MM {
                let (between, behind) =
                    self.split(&rest, across + numbers.web, Sides::start(last, labels))?;
                across += numbers.web;
                cut_out.push((web, between));
                rest = behind;
            } else {
                // Both bends meet in one line; each has its own name for it.
                let (end, start) =
                    (labels.tag(EdgeLabel::CreaseEnd(first)), labels.tag(EdgeLabel::CreaseStart(last)));
                rest = retagged(&rest, end, start);
            }
            let begins = across;
            across += numbers.allowances[1];
            let (strip, behind) = self.split(&rest, across, Sides::end(last, labels))?;
            strips.push((last, strip, begins));
            rest = behind;
        }
        cut_out.push((moved, rest));
        for (piece, region) in cut_out {
            let pieces = region.outers().count();
            if pieces != 1 {
                let panel = panels[piece.index()].name.clone();
                return Err(FoldFault::PartedInPieces { line: self.name.clone(), panel, pieces });
            }
            panels[piece.index()].region = region.moved(frame);
        }
        for (id, strip, begins) in strips {
            self.check_strip(&strip, panels, bends, labels)?;
            let down = Motion2 { x_axis: Vec2::new(1.0, 0.0), origin: Point2::new(0.0, -begins) };
            bends[id.index()].region = strip.moved(down);
        }
        Ok(())
    }

    /// What lies below and above the level `at` in the line's frame; both have some of the drawing.
    fn split(&self, drawing: &Region, at: f64, sides: Sides) -> Result<(Region, Region), FoldFault> {
        let through = Point2::new(0.0, at);
        let clip = |direction, tag| {
            clip_to_left(drawing, through, direction, tag)
                .map_err(|problem| FoldFault::Boolean { panel: self.name.clone(), problem })
        };
        let below = clip(Vec2::new(-1.0, 0.0), sides.below)?;
        let above = clip(Vec2::new(1.0, 0.0), sides.above)?;
        if below.is_empty() || above.is_empty() {
            return Err(FoldFault::LineMisses { line: self.name.clone() });
        }
        Ok((below, above))
    }

    /// No flange's bend and no opening that must keep clear lies in a strip.
    fn check_strip(
        &self,
        strip: &Region,
        panels: &[Panel],
        bends: &[Bend],
        labels: &Labels,
    ) -> Result<(), FoldFault> {
        for piece in strip.contours().iter().flat_map(Contour::segments) {
            if let EdgeLabel::Opening(cutout) = labels.label(piece.tag) {
                let cutout = self.history.feature(*cutout).name.clone();
                return Err(FoldFault::OpeningInLineBend {
                    cutout,
                    line: self.name.clone(),
                    at: piece.start,
                });
            }
            if let EdgeLabel::CreaseStart(other) = labels.label(piece.tag) {
                let child = bends[other.index()].child;
                if child != self.pieces.moved && Some(child) != self.pieces.web {
                    let flange = panels[child.index()].name.clone();
                    return Err(FoldFault::FlangeInLineBend { flange, line: self.name.clone() });
                }
            }
        }
        Ok(())
    }
}

/// Tags of the two sides of a common line.
#[derive(Clone, Copy)]
struct Sides {
    below: Tag,
    above: Tag,
}

impl Sides {
    fn start(bend: BendId, labels: &mut Labels) -> Self {
        let tag = labels.tag(EdgeLabel::CreaseStart(bend));
        Self { below: tag, above: tag }
    }

    fn end(bend: BendId, labels: &mut Labels) -> Self {
        let tag = labels.tag(EdgeLabel::CreaseEnd(bend));
        Self { below: tag, above: tag }
    }
}

fn retagged(region: &Region, from: Tag, to: Tag) -> Region {
    let piece = |s: &Segment| if s.tag == from { Segment { tag: to, ..*s } } else { *s };
    let contour =
        |c: &Contour| Contour::new(c.segments().iter().map(piece).collect()).expect("only tags have changed");
    Region::from_oriented(region.contours().iter().map(contour).collect())
}
