//! The skeleton: every panel of a history with the edge it hangs on, names resolved to ids, no numbers yet.
//!
//! Invariant: panels are in the order in which they were made, so that a parent comes before its children;
//! panel 0 is the base panel. Every edge reference points at a straight edge that exists, and no edge
//! reference is left unresolved.

use std::collections::BTreeSet;

use thiserror::Error;

use crate::diag::{Diagnostic, Origin};
use crate::history::feature::{
    BasePanel, Feature, Flange, FoldSide, HemForm, Neighbour, Pattern, Reach, Seam, Straight,
};
use crate::history::{
    DimensionEntry, EdgeName, EdgeShape, FORMAT_VERSION, History, NameError, NeighbourDatums, NeighbourFault,
    Number, PanelName, Profile, Shape, check_plain_name,
};
use crate::ident::{FeatureId, PanelId};
use crate::stock::{CLEARANCE_HOLES, UnknownBolt, clearance_hole};

use super::line_bend::LineSpec;
use super::numbers::number_faults;
use super::parting::{self, EdgeHome};
use super::pose::{self, PanelPose, SheetNumbers};
use super::{Nearest, sketch_start};

/// Panels and how they hang together.
#[derive(Clone, Debug)]
pub struct Skeleton<'h> {
    panels: Vec<SkeletonPanel<'h>>,
    seams: Vec<SkeletonSeam<'h>>,
    /// Values of the free numbers at which sides were judged.
    start: Vec<f64>,
    neighbours: NeighbourDatums,
    /// Where the part comes nearest to neighbours, as far as that is known.
    nearest: Vec<Nearest>,
}

/// One panel of a skeleton.
#[derive(Clone, Debug)]
pub struct SkeletonPanel<'h> {
    /// Its lasting name.
    pub name: PanelName,
    /// The feature that made it.
    pub feature: FeatureId,
    /// How it was made.
    pub source: Source<'h>,
    /// The turn given to it later, in place of the one with which it was made.
    pub turned: Option<&'h Number>,
    /// The lines that part it, each behind those before it or beside them; none on a piece.
    pub lines: Vec<SkeletonLine<'h>>,
    /// On which piece each drawn edge lies; empty if no line parts the panel.
    pub(super) edge_homes: Vec<EdgeHome>,
}

/// A line that parts a panel.
#[derive(Clone, Debug)]
pub struct SkeletonLine<'h> {
    /// What was asked for.
    pub spec: LineSpec<'h>,
    /// The feature that drew it.
    pub feature: FeatureId,
    /// Turns given later to the first bend and to the last one.
    pub(super) turned: [Option<&'h Number>; 2],
    /// The earlier line behind which lies the piece whose coordinates it is drawn in; none for the panel's.
    pub(super) drawn_on: Option<(usize, LinePart)>,
    /// Index of the drawn edge beside which it lies, if so.
    pub(super) edge: Option<usize>,
    /// Earlier lines behind which it lies.
    pub(crate) behind: Vec<usize>,
    /// Positions of the corners that it moves.
    pub(super) beyond: Vec<usize>,
}

/// Which piece behind a line.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum LinePart {
    /// Between the two bends of a step.
    Web,
    /// What is moved.
    Moved,
}

/// One seam of a skeleton.
#[derive(Clone, Copy, Debug)]
pub struct SkeletonSeam<'h> {
    /// The feature that asks for it.
    pub feature: FeatureId,
    /// Name of that feature.
    pub name: &'h str,
    /// What is asked for.
    pub seam: &'h Seam,
}

/// How a panel was made.
#[derive(Clone, Copy, Debug)]
pub enum Source<'h> {
    /// The base panel.
    Base(&'h BasePanel),
    /// A flange or hem on an edge of an earlier panel.
    Flange {
        /// The flange feature.
        flange: &'h Flange,
        /// The panel it stands on.
        parent: PanelId,
        /// Index of the edge among the parent's drawn edges.
        edge: usize,
        /// The form, if it is a hem.
        hem: Option<&'h HemForm>,
    },
    /// A piece of an earlier panel behind a drawn line.
    Piece {
        /// The panel that is parted.
        root: PanelId,
        /// Index among its lines.
        line: usize,
        /// Which piece.
        part: LinePart,
        /// The piece nearer to the base.
        parent: PanelId,
        /// Side of the bend between the two.
        side: FoldSide,
    },
}

/// Roles of a flange's edges, in counter-clockwise order from the bend; of a drawn outline they are its names,
/// of which the first one is at the bend, too.
pub(crate) const FLANGE_ROLES: [&str; 4] = ["root", "right", "tip", "left"];

impl<'h> SkeletonPanel<'h> {
    fn new(name: PanelName, feature: FeatureId, source: Source<'h>) -> Self {
        Self { name, feature, source, turned: None, lines: Vec::new(), edge_homes: Vec::new() }
    }

    /// Roles of the drawn edges, in the order in which they were drawn.
    #[must_use]
    pub fn edge_roles(&self) -> Vec<&'h str> {
        match self.source {
            Source::Base(BasePanel { outline })
            | Source::Flange { flange: Flange { outline: Some(outline), .. }, .. } => {
                outline.edges.iter().map(|e| e.name.as_str()).collect()
            }
            Source::Flange { flange: Flange { outline: None, .. }, .. } => FLANGE_ROLES.to_vec(),
            // A piece has no drawing of its own: its edges are those of the panel that it is a piece of.
            Source::Piece { .. } => Vec::new(),
        }
    }

    /// Whether the drawn edge with this index is an arc.
    pub(super) fn is_arc(&self, index: usize) -> bool {
        match self.source {
            Source::Base(BasePanel { outline })
            | Source::Flange { flange: Flange { outline: Some(outline), .. }, .. } => {
                outline.edges[index].shape != EdgeShape::Line
            }
            Source::Flange { flange: Flange { outline: None, .. }, .. } | Source::Piece { .. } => false,
        }
    }

    /// Index of the drawn edge with this role.
    #[must_use]
    pub fn edge_index(&self, role: &str) -> Option<usize> {
        self.edge_roles().iter().position(|r| *r == role)
    }
}

/// Why a history has no skeleton.
#[derive(Clone, Debug, PartialEq, Error)]
#[expect(missing_docs, reason = "the message of each fault says what its fields are")]
pub enum SkeletonFault {
    #[error("this history has format {got}, this program reads format {FORMAT_VERSION}")]
    Format { got: u32 },
    #[error("a part starts with a base panel, but `{first}` comes first")]
    NoBase { first: String },
    #[error("a part needs a base panel, but the history has no features")]
    Empty,
    #[error("`{name}` is a second base panel; a part has one")]
    SecondBase { name: String },
    #[error("{problem}")]
    BadName { problem: NameError },
    #[error("the name `{name}` is used twice")]
    NameTwice { name: String },
    #[error("there is no panel `{panel}`")]
    NoPanel { panel: PanelName, known: Vec<PanelName> },
    #[error("panel `{}` has no edge `{}`", edge.panel, edge.role)]
    NoEdge { edge: EdgeName, known: Vec<String>, line: Option<String> },
    #[error("edge `{edge}` is an arc; a flange needs a straight edge")]
    ArcEdge { edge: EdgeName },
    #[error("edge `{edge}` is an arc; a line is drawn beside a straight one")]
    LineBesideArc { edge: EdgeName, line: String },
    #[error("edge `{edge}` is where its panel is bent from; it cannot carry a flange")]
    RootEdge { edge: EdgeName, others: Vec<String> },
    #[error("flange `{name}` has an outline, which says all of its shape, and its {what} besides")]
    OutlineAndSize { name: String, what: &'static str },
    #[error("a seam cannot cut edge `{edge}`: the outline of its flange says where it lies")]
    SeamOnDrawnEdge { edge: EdgeName },
    #[error(
        "the outline of `{name}` needs at least two edges and as many corners as edges, got corners: {corners}, edges: {edges}"
    )]
    OutlineCount { name: String, corners: usize, edges: usize },
    #[error("flange `{name}` names no edge")]
    NoEdges { name: String },
    #[error(transparent)]
    UnknownBolt(#[from] UnknownBolt),
    #[error(transparent)]
    Neighbour(#[from] NeighbourFault),
    #[error("`{name}` goes over no bolt")]
    NoBolts { name: String },
    #[error("there is no bump `{bump}` before it")]
    NoBump { bump: String, known: Vec<String> },
    #[error("`{name}` changes neither profile nor height of a bump")]
    NothingChanged { name: String },
    #[error("a seam cannot use edge `{edge}`: of flanges it cuts the `left`, `right` or `tip`")]
    SeamEdge { edge: EdgeName },
    #[error("a seam cannot use edge `{edge}`: the line of `{line}` parts its panel")]
    SeamOnPartedPanel { edge: EdgeName, line: String },
    #[error("edge `{edge}` is an arc; an edge is closed to a straight one")]
    SeamToArc { edge: EdgeName },
    #[error("seam `{name}` is between panel `{panel}` and itself")]
    SeamOnOnePanel { name: String, panel: PanelName },
    #[error("edge `{edge}` is cut by two seams, `{first}` and `{second}`")]
    SeamTwice { edge: EdgeName, first: String, second: String },
    #[error("edge `{edge}` carries `{child}`, but the line of `{line}` crosses it")]
    EdgeCrossed { edge: EdgeName, child: String, line: String },
    #[error("the line of `{line}` would move the piece of `{panel}` that hangs on its bend")]
    RootMoves { line: String, panel: PanelName },
    #[error("the lines of `{a}` and `{b}` would each move the other")]
    LinesMoveEachOther { a: String, b: String },
    #[error("the web `{panel}` of an offset cannot be parted by a line")]
    LineOnWeb { line: String, panel: PanelName },
    #[error("`{panel}` has no bend that could be given another turn")]
    NotTurnable { panel: PanelName },
    #[error("panel `{panel}` is given another turn twice")]
    TurnedTwice { panel: PanelName },
}

impl SkeletonFault {
    /// The feature to change, if it is not the one at which the fault was met: of two the one asked for later.
    fn about(&self, history: &History) -> Option<FeatureId> {
        let find = |name: &str| {
            let index = history.features.iter().position(|entry| entry.name == *name);
            index.map(FeatureId::new)
        };
        match self {
            Self::RootMoves { line, .. }
            | Self::LineOnWeb { line, .. }
            | Self::LineBesideArc { line, .. }
            | Self::NoEdge { line: Some(line), .. } => find(line),
            Self::LinesMoveEachOther { a, b } | Self::EdgeCrossed { child: a, line: b, .. } => {
                find(a).max(find(b))
            }
            Self::Format { .. }
            | Self::NoBase { .. }
            | Self::Empty
            | Self::SecondBase { .. }
            | Self::BadName { .. }
            | Self::NameTwice { .. }
            | Self::NoPanel { .. }
            | Self::NoEdge { line: None, .. }
            | Self::ArcEdge { .. }
            | Self::RootEdge { .. }
            | Self::OutlineCount { .. }
            | Self::NoEdges { .. }
            | Self::OutlineAndSize { .. }
            | Self::SeamOnDrawnEdge { .. }
            | Self::SeamEdge { .. }
            | Self::SeamOnPartedPanel { .. }
            | Self::SeamToArc { .. }
            | Self::SeamOnOnePanel { .. }
            | Self::SeamTwice { .. }
            | Self::NotTurnable { .. }
            | Self::TurnedTwice { .. }
            | Self::NoBump { .. }
            | Self::NothingChanged { .. }
            | Self::Neighbour(_)
            | Self::NoBolts { .. }
            | Self::UnknownBolt(_) => None,
        }
    }

    /// The finding for whoever wrote the history.
    #[must_use]
    pub fn diagnose(&self, origin: impl Into<Option<Origin>>) -> Diagnostic {
        let code = match self {
            Self::Format { .. } => "history::unknown_format",
            Self::NoBase { .. } | Self::Empty => "history::no_base_panel",
            Self::SecondBase { .. } => "history::second_base_panel",
            Self::BadName { .. } => "history::bad_name",
            Self::NameTwice { .. } => "history::name_used_twice",
            Self::NoPanel { .. } => "history::unknown_panel",
            Self::NoEdge { .. } => "history::unknown_edge",
            Self::ArcEdge { .. } | Self::LineBesideArc { .. } => "history::flange_on_arc",
            Self::RootEdge { .. } => "history::flange_on_root",
            Self::OutlineCount { .. } => "history::outline_count",
            Self::NoEdges { .. } => "history::no_edges",
            Self::UnknownBolt(_) => "history::unknown_bolt",
            Self::Neighbour(fault) => return fault.diagnose(origin),
            Self::NoBolts { .. } => "history::no_bolts",
            Self::NoBump { .. } => "history::unknown_bump",
            Self::NothingChanged { .. } => "history::nothing_changed",
            Self::OutlineAndSize { .. } => "history::outline_and_size",
            Self::SeamOnDrawnEdge { .. } => "history::seam_on_drawn_edge",
            Self::SeamEdge { .. } => "history::seam_edge",
            Self::SeamOnPartedPanel { .. } => "history::seam_on_parted_panel",
            Self::SeamToArc { .. } => "history::seam_to_arc",
            Self::SeamOnOnePanel { .. } => "history::seam_on_one_panel",
            Self::SeamTwice { .. } => "history::seam_twice",
            Self::EdgeCrossed { .. } => "history::edge_crossed",
            Self::RootMoves { .. } => "history::root_would_move",
            Self::LinesMoveEachOther { .. } => "history::lines_move_each_other",
            Self::LineOnWeb { .. } => "history::line_on_web",
            Self::NotTurnable { .. } => "history::not_turnable",
            Self::TurnedTwice { .. } => "history::turned_twice",
        };
        let finding = Diagnostic::fault(code, self.to_string(), origin);
        match self {
            Self::NoPanel { known, .. } => finding.hint(format!("panels so far: {}", list(known))),
            Self::NoEdge { edge, known, .. } => {
                finding.hint_nearest(&edge.role, known).hint(format!("its edges are: {}", list(known)))
            }
            Self::NameTwice { .. } => finding.hint("give each one a name of its own"),
            Self::Empty | Self::NoBase { .. } => finding.hint("make the base panel before anything else"),
            Self::LineBesideArc { .. } => finding.hint("draw it through two points: `line([x, y], [x, y])`"),
            Self::ArcEdge { .. } => finding.hint("a press brake bends along straight lines only"),
            Self::RootEdge { others, .. } => finding.hint(format!("its other edges are: {}", list(others))),
            Self::OutlineAndSize { .. } => finding.hint("draw it into the outline, or leave the outline out"),
            Self::SeamOnDrawnEdge { .. } => {
                finding.hint("draw the edge where the seam shall be, or cut the flange that comes near to it")
            }
            Self::NoBump { known, .. } if known.is_empty() => finding.hint("make the bump first"),
            Self::NoBump { known, .. } => finding.hint(format!("bumps so far: {}", list(known))),
            Self::NothingChanged { .. } => finding.hint("give it a `profile`, a `height`, or both"),
            Self::NoBolts { .. } => finding.hint("give it at least one bolt, or press a `bump` at a place"),
            Self::Format { .. }
            | Self::SecondBase { .. }
            | Self::BadName { .. }
            | Self::Neighbour(_)
            | Self::OutlineCount { .. } => finding,
            Self::UnknownBolt(_) => {
                let known: Vec<&str> = CLEARANCE_HOLES.iter().map(|row| row.bolt).collect();
                finding.hint(format!("ISO 273 sizes are {}", list(&known)))
            }
            Self::EdgeCrossed { .. } => finding
                .hint("move the line off the edge, or put two flanges on an outline with two edges there"),
            Self::RootMoves { .. } => {
                finding.hint("swap the two points of the line: what lies to the left moves")
            }
            Self::LinesMoveEachOther { .. } => finding.hint("swap the two points of one of them"),
            Self::LineOnWeb { .. } => finding.hint("draw the line on the panel before or behind it"),
            Self::NotTurnable { .. } => {
                finding.hint("name a flange or a panel behind a drawn line; a hem is turned by its form")
            }
            Self::TurnedTwice { .. } => finding.hint("leave one of them out"),
            Self::NoEdges { .. } => {
                finding.hint("give it at least one edge, for example `top.edge(\"front\")`")
            }
            Self::SeamEdge { .. } => finding.hint("cut the flange that comes near to it"),
            Self::SeamOnPartedPanel { .. } => finding.hint("draw its outline as it has to be instead"),
            Self::SeamToArc { .. } => finding.hint("close it to the panel behind that edge instead"),
            Self::SeamOnOnePanel { .. } => finding.hint("name edges of two panels"),
            Self::SeamTwice { .. } => finding.hint("leave one of the two out"),
        }
    }
}

fn check_shape(name: &str, shape: &Shape) -> Result<(), SkeletonFault> {
    if let Some(profile) = shape.profile() {
        check_counts(name, profile)?;
    }
    if let Some((bolt, _)) = shape.bolt() {
        clearance_hole(bolt)?;
    }
    Ok(())
}

fn check_counts(name: &str, outline: &Profile) -> Result<(), SkeletonFault> {
    let (corners, edges) = (outline.corners.len(), outline.edges.len());
    if corners != edges || edges < 2 {
        return Err(SkeletonFault::OutlineCount { name: name.to_owned(), corners, edges });
    }
    Ok(())
}

/// The edges of an outline that makes a panel are told apart by their names.
fn check_edge_names(name: &str, outline: &Profile) -> Result<(), SkeletonFault> {
    let mut roles = BTreeSet::new();
    for edge in &outline.edges {
        check_plain_name(&edge.name).map_err(|problem| SkeletonFault::BadName { problem })?;
        if !roles.insert(&edge.name) {
            return Err(SkeletonFault::NameTwice { name: format!("{name}/{}", edge.name) });
        }
    }
    Ok(())
}

/// An outline drawn for a flange has a straight edge first, which stands on the bend, and says all of the shape.
fn check_flange_outline(name: &str, flange: &Flange, outline: &Profile) -> Result<(), SkeletonFault> {
    check_counts(name, outline)?;
    check_edge_names(name, outline)?;
    let base = &outline.edges[0];
    if base.shape != EdgeShape::Line {
        let panel = PanelName::new(name).map_err(|problem| SkeletonFault::BadName { problem })?;
        return Err(SkeletonFault::ArcEdge { edge: panel.edge(&base.name) });
    }
    match flange.sizes().into_iter().find(|(_, size)| size.as_constant() != Some(0.0)) {
        Some((what, _)) => Err(SkeletonFault::OutlineAndSize { name: name.to_owned(), what }),
        None => Ok(()),
    }
}

/// Free numbers and dimensions are told apart by their names in every report.
fn check_report_names(history: &History) -> Result<(), Diagnostic> {
    let free = history.free_numbers.iter().map(|f| Origin { name: f.name.clone(), span: f.span });
    let dimensions = history.dimensions.iter().map(DimensionEntry::origin);
    for origins in [free.collect::<Vec<_>>(), dimensions.collect()] {
        let mut names = BTreeSet::new();
        if let Some(again) = origins.iter().find(|o| !names.insert(&o.name)) {
            return Err(SkeletonFault::NameTwice { name: again.name.clone() }.diagnose(again.clone()));
        }
    }
    Ok(())
}

fn list<T: ToString>(items: &[T]) -> String {
    items.iter().map(|i| format!("`{}`", i.to_string())).collect::<Vec<_>>().join(", ")
}

impl<'h> Skeleton<'h> {
    /// Resolves all names of a history.
    ///
    /// # Errors
    /// Numbers that are not finite, or the first name that does not resolve, as findings with the feature
    /// they are about.
    pub fn new(history: &'h History, sheet: SheetNumbers<'_>) -> Result<Self, Vec<Diagnostic>> {
        if history.format != FORMAT_VERSION {
            return Err(vec![SkeletonFault::Format { got: history.format }.diagnose(None)]);
        }
        let faults = number_faults(history);
        if !faults.is_empty() {
            return Err(faults);
        }
        let neighbours = history.neighbour_datums()?;
        let mut builder = Builder {
            history,
            neighbours: &neighbours,
            sheet,
            start: sketch_start::start_values(history),
            panels: Vec::new(),
            poses: Vec::new(),
            names: BTreeSet::new(),
            seams: Vec::new(),
        };
        for (id, entry) in history.features_with_ids() {
            builder
                .add(id, &entry.name, &entry.feature)
                .map_err(|fault| vec![fault.diagnose(history.origin(fault.about(history).unwrap_or(id)))])?;
        }
        if builder.panels.is_empty() {
            return Err(vec![SkeletonFault::Empty.diagnose(None)]);
        }
        check_report_names(history).map_err(|fault| vec![fault])?;
        let Builder { panels, seams, start, .. } = builder;
        Ok(Self { panels, seams, start, neighbours, nearest: Vec::new() })
    }

    /// The panel and the index of the drawn edge with this name. For an edge that a line has parted, the
    /// panel that was drawn.
    ///
    /// # Errors
    /// [`SkeletonFault::NoPanel`] or [`SkeletonFault::NoEdge`] with the names that exist.
    pub fn edge(&self, edge: &EdgeName) -> Result<(PanelId, usize), SkeletonFault> {
        find_edge(&self.panels, edge)
    }

    /// The panel with this name.
    ///
    /// # Errors
    /// [`SkeletonFault::NoPanel`] with the names that exist.
    pub fn find(&self, name: &PanelName) -> Result<PanelId, SkeletonFault> {
        find_panel(&self.panels, name)
    }

    /// Values of the free numbers from which a solve starts, indexed by [`VarId`](crate::ident::VarId): as
    /// declared, with every sketch at an answer of its own relations, if there is one.
    #[must_use]
    pub fn start(&self) -> &[f64] {
        &self.start
    }

    /// The same skeleton, with smallest distances to neighbours measured at these places.
    #[must_use]
    pub fn knowing(self, nearest: Vec<Nearest>) -> Self {
        Self { nearest, ..self }
    }

    /// Where the part comes nearest to neighbours, as far as that is known.
    #[must_use]
    pub fn nearest(&self) -> &[Nearest] {
        &self.nearest
    }

    /// Axes, planes and points of the neighbours.
    #[must_use]
    pub fn neighbours(&self) -> &NeighbourDatums {
        &self.neighbours
    }

    /// All panels, indexed by [`PanelId`].
    #[must_use]
    pub fn panels(&self) -> &[SkeletonPanel<'h>] {
        &self.panels
    }

    /// Seams in the order in which they were asked for; all their names resolve.
    #[must_use]
    pub fn seams(&self) -> &[SkeletonSeam<'h>] {
        &self.seams
    }

    /// The panel that a piece is part of; any other panel itself.
    #[must_use]
    pub fn root(&self, id: PanelId) -> PanelId {
        root(&self.panels, id)
    }
}

fn root(panels: &[SkeletonPanel<'_>], id: PanelId) -> PanelId {
    match panels[id.index()].source {
        Source::Base(_) | Source::Flange { .. } => id,
        Source::Piece { root, .. } => root,
    }
}

fn find_panel(panels: &[SkeletonPanel<'_>], name: &PanelName) -> Result<PanelId, SkeletonFault> {
    panels.iter().position(|p| p.name == *name).map(PanelId::new).ok_or_else(|| SkeletonFault::NoPanel {
        panel: name.clone(),
        known: panels.iter().map(|p| p.name.clone()).collect(),
    })
}

fn find_edge(panels: &[SkeletonPanel<'_>], edge: &EdgeName) -> Result<(PanelId, usize), SkeletonFault> {
    let named = find_panel(panels, &edge.panel)?;
    let drawn = root(panels, named);
    let panel = &panels[drawn.index()];
    let home = |index: usize| match panel.edge_homes.get(index) {
        None => Some(drawn),
        Some(EdgeHome::On(piece)) => Some(*piece),
        Some(EdgeHome::Cut { .. }) => None,
    };
    // By the name of the whole panel every edge is found; by that of a piece those that lie on it.
    let belongs = |index: usize| named == drawn || home(index).is_none_or(|piece| piece == named);
    let index = panel.edge_index(&edge.role).filter(|&index| belongs(index)).ok_or_else(|| {
        let roles = panel.edge_roles().into_iter().enumerate();
        let known = roles.filter(|(i, _)| belongs(*i)).map(|(_, r)| r.to_owned()).collect();
        SkeletonFault::NoEdge { edge: edge.clone(), known, line: None }
    })?;
    Ok((home(index).unwrap_or(drawn), index))
}

/// A skeleton on the way, with the poses of its panels at the start values.
struct Builder<'h, 's> {
    history: &'h History,
    neighbours: &'s NeighbourDatums,
    sheet: SheetNumbers<'s>,
    start: Vec<f64>,
    panels: Vec<SkeletonPanel<'h>>,
    poses: Vec<PanelPose<f64>>,
    names: BTreeSet<&'h str>,
    seams: Vec<SkeletonSeam<'h>>,
}

impl<'h> Builder<'h, '_> {
    fn add(&mut self, id: FeatureId, name: &'h str, feature: &'h Feature) -> Result<(), SkeletonFault> {
        check_plain_name(name).map_err(|problem| SkeletonFault::BadName { problem })?;
        if !self.names.insert(name) {
            return Err(SkeletonFault::NameTwice { name: name.to_owned() });
        }
        match feature {
            Feature::BasePanel(base) => {
                if !self.panels.is_empty() {
                    return Err(SkeletonFault::SecondBase { name: name.to_owned() });
                }
                check_counts(name, &base.outline)?;
                check_edge_names(name, &base.outline)?;
                let name = PanelName::new(name).map_err(|problem| SkeletonFault::BadName { problem })?;
                self.push(id, name, Source::Base(base))?;
            }
            Feature::Flange(flange) => self.add_flange(id, name, flange, None)?,
            Feature::Hem(hem) => self.add_flange(id, name, hem.flange(), Some(hem.form()))?,
            // Pieces are made together with the panel that the line parts.
            Feature::FoldLine(fold) => self.need_panel(id, name, &fold.panel)?,
            Feature::Offset(step) => self.need_panel(id, name, &step.panel)?,
            Feature::Turned(turned) => {
                self.need_panel(id, name, &turned.panel)?;
                let panel = find_panel(&self.panels, &turned.panel)?;
                let source = self.panels[panel.index()].source;
                if matches!(source, Source::Base(_) | Source::Flange { hem: Some(_), .. }) {
                    return Err(SkeletonFault::NotTurnable { panel: turned.panel.clone() });
                }
                if self.turned(&turned.panel).is_some_and(|first| !std::ptr::eq(first, &turned.turn)) {
                    return Err(SkeletonFault::TurnedTwice { panel: turned.panel.clone() });
                }
            }
            Feature::Seam(seam) => {
                self.need_base(name)?;
                self.check_seam(name, seam)?;
                self.seams.push(SkeletonSeam { feature: id, name, seam });
            }
            Feature::Cutout(cutout) => {
                check_shape(name, &cutout.shape)?;
                self.need_panel(id, name, &cutout.panel)?;
                self.need_axes(&cutout.pattern)?;
                if let Reach::Straight(Straight { panels: Some(panels), .. }) = &cutout.reach {
                    panels.iter().try_for_each(|panel| self.need_panel(id, name, panel))?;
                }
            }
            Feature::CornerBreak(_) => self.need_base(name)?,
            Feature::Bump(bump) => {
                self.need_base(name)?;
                check_shape(name, &bump.profile)?;
                self.need_panel(id, name, &bump.panel)?;
                self.need_axes(&bump.pattern)?;
            }
            Feature::BumpOver(over) => {
                self.need_panel(id, name, &over.panel)?;
                if over.bolts.is_empty() {
                    return Err(SkeletonFault::NoBolts { name: name.to_owned() });
                }
                over.bolts.iter().try_for_each(|bolt| self.neighbours.bolt(bolt).map(|_| ()))?;
            }
            Feature::BumpChange(change) => {
                self.need_base(name)?;
                self.need_bump(id, &change.bump)?;
                if let Some(shape) = &change.profile {
                    check_shape(name, shape)?;
                }
                if change.profile.is_none() && change.height.is_none() {
                    return Err(SkeletonFault::NothingChanged { name: name.to_owned() });
                }
            }
        }
        Ok(())
    }

    fn check_seam(&self, name: &str, seam: &Seam) -> Result<(), SkeletonFault> {
        let mut panels = Vec::new();
        for edge in seam.cut_edges() {
            let (id, index) = self.whole_edge(edge)?;
            match self.panels[id.index()].source {
                Source::Flange { flange: Flange { outline: Some(_), .. }, .. } => {
                    return Err(SkeletonFault::SeamOnDrawnEdge { edge: edge.clone() });
                }
                Source::Flange { .. } if index > 0 => panels.push(id),
                Source::Flange { .. } | Source::Base(_) | Source::Piece { .. } => {
                    return Err(SkeletonFault::SeamEdge { edge: edge.clone() });
                }
            }
            if let Some(first) = self.seams.iter().find(|s| s.seam.cut_edges().contains(&edge)) {
                let (first, second) = (first.name.to_owned(), name.to_owned());
                return Err(SkeletonFault::SeamTwice { edge: edge.clone(), first, second });
            }
        }
        match seam {
            Seam::Meet { .. } | Seam::Lap { .. } => {}
            Seam::Close { to: Neighbour::Panel(panel), .. } | Seam::Flush { panel, .. } => {
                panels.push(find_panel(&self.panels, panel)?);
            }
            Seam::Close { to: Neighbour::Edge(edge), .. } => {
                let (id, index) = self.whole_edge(edge)?;
                let panel = &self.panels[id.index()];
                if panel.is_arc(index) {
                    return Err(SkeletonFault::SeamToArc { edge: edge.clone() });
                }
                if index == 0 && matches!(panel.source, Source::Flange { .. }) {
                    return Err(SkeletonFault::SeamEdge { edge: edge.clone() });
                }
                panels.push(id);
            }
        }
        match panels.as_slice() {
            [a, b] if a == b => {
                let panel = self.panels[a.index()].name.clone();
                Err(SkeletonFault::SeamOnOnePanel { name: name.to_owned(), panel })
            }
            _ => Ok(()),
        }
    }

    /// An edge of a panel that no line parts.
    fn whole_edge(&self, edge: &EdgeName) -> Result<(PanelId, usize), SkeletonFault> {
        let (id, index) = find_edge(&self.panels, edge)?;
        let drawn = root(&self.panels, id);
        match self.panels[drawn.index()].lines.first() {
            Some(line) => {
                let line = self.history.feature(line.feature).name.clone();
                Err(SkeletonFault::SeamOnPartedPanel { edge: edge.clone(), line })
            }
            None => Ok((drawn, index)),
        }
    }

    fn add_flange(
        &mut self,
        id: FeatureId,
        name: &'h str,
        flange: &'h Flange,
        hem: Option<&'h HemForm>,
    ) -> Result<(), SkeletonFault> {
        self.need_base(name)?;
        if flange.edges.is_empty() {
            return Err(SkeletonFault::NoEdges { name: name.to_owned() });
        }
        if let Some(outline) = &flange.outline {
            check_flange_outline(name, flange, outline)?;
        }
        for edge in &flange.edges {
            let (parent, index) = self.straight_edge(name, edge)?;
            let label = PanelName::of_flange(name, edge, flange.edges.len() == 1)
                .map_err(|problem| SkeletonFault::BadName { problem })?;
            self.push(id, label, Source::Flange { flange, parent, edge: index, hem })?;
        }
        Ok(())
    }

    fn need_base(&self, name: &str) -> Result<(), SkeletonFault> {
        if self.panels.is_empty() { Err(SkeletonFault::NoBase { first: name.to_owned() }) } else { Ok(()) }
    }

    /// The panel is there, and was there before the feature.
    fn need_bump(&self, id: FeatureId, bump: &str) -> Result<(), SkeletonFault> {
        let before = &self.history.features[..id.index()];
        let bumps =
            before.iter().filter(|entry| matches!(entry.feature, Feature::Bump(_) | Feature::BumpOver(_)));
        let known: Vec<String> = bumps.map(|entry| entry.name.clone()).collect();
        if known.iter().any(|name| name == bump) {
            return Ok(());
        }
        Err(SkeletonFault::NoBump { bump: bump.to_owned(), known })
    }

    /// The axes of a pattern are there.
    fn need_axes(&self, pattern: &Pattern) -> Result<(), SkeletonFault> {
        let Pattern::OnAxes(axes) = pattern else { return Ok(()) };
        axes.iter().try_for_each(|axis| self.neighbours.axis(axis).map(|_| ()))?;
        Ok(())
    }

    fn need_panel(&self, id: FeatureId, name: &str, panel: &PanelName) -> Result<(), SkeletonFault> {
        self.need_base(name)?;
        let found = find_panel(&self.panels, panel)?;
        if self.panels[found.index()].feature < id {
            return Ok(());
        }
        let known = self.panels.iter().filter(|p| p.feature < id).map(|p| p.name.clone()).collect();
        Err(SkeletonFault::NoPanel { panel: panel.clone(), known })
    }

    /// The turn that a later feature gives to a panel.
    fn turned(&self, panel: &PanelName) -> Option<&'h Number> {
        self.history.features.iter().find_map(|entry| {
            let Feature::Turned(turned) = &entry.feature else { return None };
            (turned.panel == *panel).then_some(&turned.turn)
        })
    }

    /// Adds a drawn panel and the pieces into which lines part it.
    fn push(&mut self, feature: FeatureId, name: PanelName, source: Source<'h>) -> Result<(), SkeletonFault> {
        let root = self.add_panel(feature, name, source)?;
        let parted = parting::part(parting::Given {
            history: self.history,
            root,
            panel: &self.panels[root.index()],
            pose: &self.poses[root.index()],
            sheet: self.sheet,
            start: &self.start,
            turned: &|panel| self.turned(panel),
        })?;
        let Some(parted) = parted else { return Ok(()) };
        let panel = &mut self.panels[root.index()];
        panel.lines = parted.lines;
        panel.edge_homes = parted.edge_homes;
        self.poses[root.index()] = parted.pose;
        for piece in parted.pieces {
            self.add_panel(piece.feature, piece.name, piece.source)?;
        }
        Ok(())
    }

    fn add_panel(
        &mut self,
        feature: FeatureId,
        name: PanelName,
        source: Source<'h>,
    ) -> Result<PanelId, SkeletonFault> {
        if find_panel(&self.panels, &name).is_ok() {
            return Err(SkeletonFault::NameTwice { name: name.to_string() });
        }
        let turned = self.turned(&name);
        let panel = SkeletonPanel { turned, ..SkeletonPanel::new(name, feature, source) };
        self.poses.push(pose::panel_pose(&panel, &self.poses, self.sheet, &self.start));
        self.panels.push(panel);
        Ok(PanelId::new(self.panels.len() - 1))
    }

    fn straight_edge(&self, child: &str, edge: &EdgeName) -> Result<(PanelId, usize), SkeletonFault> {
        let (id, index) = find_edge(&self.panels, edge)?;
        let drawn = root(&self.panels, id);
        let panel = &self.panels[drawn.index()];
        if let Some(EdgeHome::Cut { line }) = panel.edge_homes.get(index) {
            let line = self.history.feature(panel.lines[*line].feature).name.clone();
            return Err(SkeletonFault::EdgeCrossed { edge: edge.clone(), child: child.to_owned(), line });
        }
        match panel.source {
            _ if panel.is_arc(index) => Err(SkeletonFault::ArcEdge { edge: edge.clone() }),
            Source::Flange { .. } if index == 0 => {
                let others = panel.edge_roles().into_iter().skip(1).map(str::to_owned).collect();
                Err(SkeletonFault::RootEdge { edge: edge.clone(), others })
            }
            Source::Base(_) | Source::Flange { .. } | Source::Piece { .. } => Ok((id, index)),
        }
    }
}
