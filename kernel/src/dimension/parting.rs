//! Into which pieces drawn lines part a panel.
//!
//! All lines of a panel are taken together, whenever they were asked for: a line that another one moves comes
//! after it, so that a fold drawn first travels along with a step drawn later in front of it.
//! Invariant: sides are judged at the start values, sketches solved, in the flat drawing of the panel.

use crate::history::feature::DrawnLine;
use crate::history::{EdgeName, History, Number, PanelName};
use crate::ident::{FeatureId, PanelId};
use crate::quantity::tolerance;

use super::line_bend::{LinePose, LineSpec};
use super::pose::{PanelPose, SheetNumbers, line_pose};
use super::skeleton::{LinePart, SkeletonFault, SkeletonLine, SkeletonPanel, Source};

/// Where a drawn edge of a parted panel lies.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum EdgeHome {
    /// On this piece.
    On(PanelId),
    /// On several: this line of the panel crosses it.
    Cut { line: usize },
}

/// A panel and the history in which lines may part it.
#[derive(Clone, Copy)]
pub(super) struct Given<'a, 'h> {
    pub(super) history: &'h History,
    pub(super) root: PanelId,
    pub(super) panel: &'a SkeletonPanel<'h>,
    pub(super) pose: &'a PanelPose<f64>,
    pub(super) sheet: SheetNumbers<'a>,
    pub(super) start: &'a [f64],
    /// The turn that a later feature gives to a panel.
    pub(super) turned: &'a dyn Fn(&PanelName) -> Option<&'h Number>,
}

/// What lines make of a panel.
pub(super) struct Parted<'h> {
    pub(super) lines: Vec<SkeletonLine<'h>>,
    pub(super) edge_homes: Vec<EdgeHome>,
    /// The panel with its lines, at the start values.
    pub(super) pose: PanelPose<f64>,
    /// In the order of their ids, which follow that of the panel.
    pub(super) pieces: Vec<Piece<'h>>,
}

/// A piece behind a line.
pub(super) struct Piece<'h> {
    pub(super) feature: FeatureId,
    pub(super) name: PanelName,
    pub(super) source: Source<'h>,
}

/// A line as asked for.
#[derive(Clone, Copy)]
struct Asked<'h> {
    feature: FeatureId,
    name: &'h str,
    panel: &'h PanelName,
    spec: LineSpec<'h>,
}

/// The pieces of a panel; none if no line parts it.
pub(super) fn part<'h>(given: Given<'_, 'h>) -> Result<Option<Parted<'h>>, SkeletonFault> {
    let asked = lines_asked(given);
    if asked.is_empty() {
        return Ok(None);
    }
    let mut work = Work { given, pose: given.pose.clone(), asked: Vec::new(), lines: Vec::new() };
    for line in in_order(given, &asked)? {
        work.draw(line)?;
    }
    let homes = work.corner_homes();
    let root_home = homes[given.pose.edge_order[0]];
    if let (Some(line), Some(_)) = (root_home, &given.pose.bend) {
        let line = work.asked[line].name.to_owned();
        return Err(SkeletonFault::RootMoves { line, panel: given.panel.name.clone() });
    }
    let pieces = work.pieces()?;
    let edge_homes = work.edge_homes(&homes);
    Ok(Some(Parted { lines: work.lines, edge_homes, pose: work.pose, pieces }))
}

/// The lines on the panel and on its pieces, in the order of the history.
fn lines_asked<'h>(given: Given<'_, 'h>) -> Vec<Asked<'h>> {
    let mut asked: Vec<Asked<'h>> = Vec::new();
    for (feature, entry) in given.history.features_with_ids() {
        let Some(spec) = LineSpec::of(&entry.feature) else { continue };
        let panel = spec.panel();
        let on_piece = || asked.iter().any(|a| part_of(panel, a.name).is_some());
        if feature > given.panel.feature && (*panel == given.panel.name || on_piece()) {
            asked.push(Asked { feature, name: &entry.name, panel, spec });
        }
    }
    asked
}

/// Which piece of the line `line` the name is, if any.
fn part_of(panel: &PanelName, line: &str) -> Option<LinePart> {
    let name = panel.as_str();
    if name == line {
        return Some(LinePart::Moved);
    }
    (name.strip_prefix(line)? == ".web").then_some(LinePart::Web)
}

/// Lines that move another one come before it; otherwise the order of the history stays.
fn in_order<'h>(given: Given<'_, 'h>, asked: &[Asked<'h>]) -> Result<Vec<Asked<'h>>, SkeletonFault> {
    // Lines drawn on a piece come after all that are drawn on the panel itself, which may move the piece.
    let (own, on_pieces): (Vec<Asked<'h>>, Vec<Asked<'h>>) =
        asked.iter().partition(|a| *a.panel == given.panel.name);
    let drawn = own.iter().map(|&line| alone(given, line)).collect::<Result<Vec<_>, _>>()?;
    let moves = |a: usize, b: usize| a != b && drawn[a].behind(middle(&drawn[b])) > 0.0;
    let mut order: Vec<usize> = Vec::with_capacity(own.len());
    while order.len() < own.len() {
        let waiting = || (0..own.len()).filter(|i| !order.contains(i));
        let free = waiting().find(|&i| !waiting().any(|j| moves(j, i)));
        let Some(next) = free else {
            let mut stuck = waiting();
            let (a, b) = (stuck.next().unwrap_or(0), stuck.next().unwrap_or(0));
            return Err(SkeletonFault::LinesMoveEachOther {
                a: own[a].name.to_owned(),
                b: own[b].name.to_owned(),
            });
        };
        order.push(next);
    }
    Ok(order.into_iter().map(|i| own[i]).chain(on_pieces).collect())
}

/// A line on the panel as if it were the only one.
fn alone<'h>(given: Given<'_, 'h>, line: Asked<'h>) -> Result<LinePose<f64>, SkeletonFault> {
    let line = SkeletonLine {
        spec: line.spec,
        feature: line.feature,
        turned: [None; 2],
        drawn_on: None,
        edge: edge_beside(given, line)?,
        behind: Vec::new(),
        beyond: Vec::new(),
    };
    Ok(line_pose(&line, given.pose, given.sheet, given.start))
}

fn edge_beside(given: Given<'_, '_>, line: Asked<'_>) -> Result<Option<usize>, SkeletonFault> {
    let DrawnLine::Beside { edge, .. } = line.spec.line() else { return Ok(None) };
    let index = given.panel.edge_index(edge).ok_or_else(|| SkeletonFault::NoEdge {
        edge: EdgeName { panel: line.panel.clone(), role: edge.clone() },
        known: given.panel.edge_roles().into_iter().map(str::to_owned).collect(),
        line: Some(line.name.to_owned()),
    })?;
    if given.panel.is_arc(index) {
        let edge = EdgeName { panel: line.panel.clone(), role: edge.clone() };
        return Err(SkeletonFault::LineBesideArc { edge, line: line.name.to_owned() });
    }
    Ok(Some(index))
}

fn middle(line: &LinePose<f64>) -> [f64; 2] {
    let ([x, y], [ex, ey]) = (line.through, line.along);
    [x + 0.5 * line.length * ex, y + 0.5 * line.length * ey]
}

/// Lines drawn so far.
struct Work<'a, 'h> {
    given: Given<'a, 'h>,
    pose: PanelPose<f64>,
    asked: Vec<Asked<'h>>,
    lines: Vec<SkeletonLine<'h>>,
}

impl<'h> Work<'_, 'h> {
    fn draw(&mut self, asked: Asked<'h>) -> Result<(), SkeletonFault> {
        let (given, name) = (self.given, PanelName::new(asked.name));
        let name = name.map_err(|problem| SkeletonFault::BadName { problem })?;
        let drawn_on = (*asked.panel != given.panel.name)
            .then(|| {
                let found = self.asked.iter().enumerate();
                found.filter_map(|(i, a)| Some((i, part_of(asked.panel, a.name)?))).next()
            })
            .flatten();
        if let Some((_, LinePart::Web)) = drawn_on {
            return Err(SkeletonFault::LineOnWeb { line: asked.name.to_owned(), panel: asked.panel.clone() });
        }
        let turned = match asked.spec {
            LineSpec::Fold(_) => [(given.turned)(&name), None],
            LineSpec::Step(_) => [(given.turned)(&name.piece("web")), (given.turned)(&name)],
        };
        let mut line = SkeletonLine {
            spec: asked.spec,
            feature: asked.feature,
            turned,
            drawn_on,
            edge: edge_beside(given, asked)?,
            behind: Vec::new(),
            beyond: Vec::new(),
        };
        for index in 0..self.lines.len() {
            let drawn = line_pose(&line, &self.pose, given.sheet, given.start);
            if self.pose.lines[index].behind(middle(&drawn)) > 0.0 {
                line.behind.push(index);
            }
        }
        let drawn = line_pose(&line, &self.pose, given.sheet, given.start);
        line.beyond = (0..self.pose.corners.len())
            .filter(|&corner| drawn.behind(self.pose.corners[corner]) > tolerance::SNAP_MM)
            .collect();
        self.pose.draw_line(drawn, &line.beyond);
        self.lines.push(line);
        self.asked.push(asked);
        Ok(())
    }

    /// For each corner the last line that moves it.
    fn corner_homes(&self) -> Vec<Option<usize>> {
        (0..self.pose.corners.len())
            .map(|corner| self.lines.iter().rposition(|line| line.beyond.contains(&corner)))
            .collect()
    }

    fn edge_homes(&self, corner_homes: &[Option<usize>]) -> Vec<EdgeHome> {
        let count = corner_homes.len();
        self.pose
            .edge_order
            .iter()
            .map(|&at| match (corner_homes[at], corner_homes[(at + 1) % count]) {
                (a, b) if a == b => EdgeHome::On(a.map_or(self.given.root, |line| self.moved(line))),
                (a, b) => EdgeHome::Cut { line: a.max(b).unwrap_or(0) },
            })
            .collect()
    }

    /// Id of the piece that a line moves.
    fn moved(&self, line: usize) -> PanelId {
        let pieces: usize = self.lines[..=line].iter().map(|l| pieces_of(l.spec)).sum();
        PanelId::new(self.given.root.index() + pieces)
    }

    fn pieces(&self) -> Result<Vec<Piece<'h>>, SkeletonFault> {
        let root = self.given.root;
        let mut pieces = Vec::new();
        for (index, (line, asked)) in self.lines.iter().zip(&self.asked).enumerate() {
            let name = PanelName::new(asked.name).map_err(|problem| SkeletonFault::BadName { problem })?;
            let before = line.behind.last().map_or(root, |&earlier| self.moved(earlier));
            let side = line.spec.side();
            let mut add = |name, part, parent, side| {
                let source = Source::Piece { root, line: index, part, parent, side };
                pieces.push(Piece { feature: line.feature, name, source });
            };
            match line.spec {
                LineSpec::Fold(_) => add(name, LinePart::Moved, before, side),
                LineSpec::Step(_) => {
                    let web = PanelId::new(self.moved(index).index() - 1);
                    add(name.piece("web"), LinePart::Web, before, side);
                    add(name, LinePart::Moved, web, side.opposite());
                }
            }
        }
        Ok(pieces)
    }
}

fn pieces_of(spec: LineSpec<'_>) -> usize {
    match spec {
        LineSpec::Fold(_) => 1,
        LineSpec::Step(_) => 2,
    }
}
