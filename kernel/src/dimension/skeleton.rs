//! The skeleton: every panel of a history with the edge it hangs on, names resolved to ids, no numbers yet.
//!
//! Invariant: panels are in the order in which they were made, so that a parent comes before its children;
//! panel 0 is the base panel. Every edge reference points at a straight edge that exists, and no edge
//! reference is left unresolved.

use std::collections::BTreeSet;

use thiserror::Error;

use crate::diag::{Diagnostic, Origin};
use crate::history::feature::{BasePanel, Feature, Flange};
use crate::history::{
    DimensionEntry, EdgeName, EdgeShape, FORMAT_VERSION, History, NameError, PanelName, Profile, Shape,
    check_plain_name,
};
use crate::ident::{FeatureId, PanelId};
use crate::stock::{CLEARANCE_HOLES, UnknownBolt, clearance_hole};

/// Panels and how they hang together.
#[derive(Clone, Debug)]
pub struct Skeleton<'h> {
    panels: Vec<SkeletonPanel<'h>>,
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
}

/// How a panel was made.
#[derive(Clone, Copy, Debug)]
pub enum Source<'h> {
    /// The base panel.
    Base(&'h BasePanel),
    /// A flange on an edge of an earlier panel.
    Flange {
        /// The flange feature.
        flange: &'h Flange,
        /// The panel it stands on.
        parent: PanelId,
        /// Index of the edge among the parent's drawn edges.
        edge: usize,
    },
}

/// Roles of a flange's edges, in counter-clockwise order from the bend.
pub(super) const FLANGE_ROLES: [&str; 4] = ["root", "right", "tip", "left"];

impl<'h> SkeletonPanel<'h> {
    /// Roles of the drawn edges, in the order in which they were drawn.
    #[must_use]
    pub fn edge_roles(&self) -> Vec<&'h str> {
        match self.source {
            Source::Base(base) => base.outline.edges.iter().map(|e| e.name.as_str()).collect(),
            Source::Flange { .. } => FLANGE_ROLES.to_vec(),
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
    NoEdge { edge: EdgeName, known: Vec<String> },
    #[error("edge `{edge}` is an arc; a flange needs a straight edge")]
    ArcEdge { edge: EdgeName },
    #[error("edge `{edge}` is where its panel is bent from; it cannot carry a flange")]
    RootEdge { edge: EdgeName },
    #[error(
        "the outline of `{name}` needs at least two edges and as many corners as edges, got corners: {corners}, edges: {edges}"
    )]
    OutlineCount { name: String, corners: usize, edges: usize },
    #[error("flange `{name}` names no edge")]
    NoEdges { name: String },
    #[error(transparent)]
    UnknownBolt(#[from] UnknownBolt),
}

impl SkeletonFault {
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
            Self::ArcEdge { .. } => "history::flange_on_arc",
            Self::RootEdge { .. } => "history::flange_on_root",
            Self::OutlineCount { .. } => "history::outline_count",
            Self::NoEdges { .. } => "history::no_edges",
            Self::UnknownBolt(_) => "history::unknown_bolt",
        };
        let finding = Diagnostic::fault(code, self.to_string(), origin);
        match self {
            Self::NoPanel { known, .. } => finding.hint(format!("panels so far: {}", list(known))),
            Self::NoEdge { known, .. } => finding.hint(format!("its edges are: {}", list(known))),
            Self::NameTwice { .. } => finding.hint("give each one a name of its own"),
            Self::Empty | Self::NoBase { .. } => finding.hint("make the base panel before anything else"),
            Self::ArcEdge { .. } => finding.hint("a press brake bends along straight lines only"),
            Self::RootEdge { .. } => finding.hint("use its `tip`, `left` or `right`"),
            Self::Format { .. }
            | Self::SecondBase { .. }
            | Self::BadName { .. }
            | Self::OutlineCount { .. } => finding,
            Self::UnknownBolt(_) => {
                let known: Vec<&str> = CLEARANCE_HOLES.iter().map(|row| row.bolt).collect();
                finding.hint(format!("ISO 273 sizes are {}", list(&known)))
            }
            Self::NoEdges { .. } => {
                finding.hint("give it at least one edge, for example `top.edge(\"front\")`")
            }
        }
    }
}

fn check_counts(name: &str, outline: &Profile) -> Result<(), SkeletonFault> {
    let (corners, edges) = (outline.corners.len(), outline.edges.len());
    if corners != edges || edges < 2 {
        return Err(SkeletonFault::OutlineCount { name: name.to_owned(), corners, edges });
    }
    Ok(())
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
    /// The first name that does not resolve, as a finding with the feature it is about.
    pub fn new(history: &'h History) -> Result<Self, Diagnostic> {
        if history.format != FORMAT_VERSION {
            return Err(SkeletonFault::Format { got: history.format }.diagnose(None));
        }
        let mut skeleton = Self { panels: Vec::new() };
        let mut names = BTreeSet::new();
        for (id, entry) in history.features_with_ids() {
            skeleton
                .add(id, &entry.name, &entry.feature, &mut names)
                .map_err(|fault| fault.diagnose(history.origin(id)))?;
        }
        if skeleton.panels.is_empty() {
            return Err(SkeletonFault::Empty.diagnose(None));
        }
        check_report_names(history)?;
        Ok(skeleton)
    }

    fn add(
        &mut self,
        id: FeatureId,
        name: &'h str,
        feature: &'h Feature,
        names: &mut BTreeSet<&'h str>,
    ) -> Result<(), SkeletonFault> {
        check_plain_name(name).map_err(|problem| SkeletonFault::BadName { problem })?;
        if !names.insert(name) {
            return Err(SkeletonFault::NameTwice { name: name.to_owned() });
        }
        match feature {
            Feature::BasePanel(base) => {
                if !self.panels.is_empty() {
                    return Err(SkeletonFault::SecondBase { name: name.to_owned() });
                }
                check_counts(name, &base.outline)?;
                let mut roles = BTreeSet::new();
                for edge in &base.outline.edges {
                    check_plain_name(&edge.name).map_err(|problem| SkeletonFault::BadName { problem })?;
                    if !roles.insert(&edge.name) {
                        return Err(SkeletonFault::NameTwice { name: format!("{name}/{}", edge.name) });
                    }
                }
                let name = PanelName::new(name).map_err(|problem| SkeletonFault::BadName { problem })?;
                self.panels.push(SkeletonPanel { name, feature: id, source: Source::Base(base) });
            }
            Feature::Flange(flange) => {
                self.need_base(name)?;
                if flange.edges.is_empty() {
                    return Err(SkeletonFault::NoEdges { name: name.to_owned() });
                }
                for edge in &flange.edges {
                    let (parent, index) = self.straight_edge(edge)?;
                    let label = PanelName::of_flange(name, edge, flange.edges.len() == 1)
                        .map_err(|problem| SkeletonFault::BadName { problem })?;
                    if self.panel(&label).is_some() {
                        return Err(SkeletonFault::NameTwice { name: label.to_string() });
                    }
                    let source = Source::Flange { flange, parent, edge: index };
                    self.panels.push(SkeletonPanel { name: label, feature: id, source });
                }
            }
            Feature::Cutout(cutout) => {
                self.need_base(name)?;
                if let Shape::Outline(profile) = &cutout.shape {
                    check_counts(name, profile)?;
                }
                if let Some((bolt, _)) = cutout.shape.bolt() {
                    clearance_hole(bolt)?;
                }
                self.find(&cutout.panel)?;
            }
            Feature::CornerBreak(_) => self.need_base(name)?,
        }
        Ok(())
    }

    fn need_base(&self, name: &str) -> Result<(), SkeletonFault> {
        if self.panels.is_empty() { Err(SkeletonFault::NoBase { first: name.to_owned() }) } else { Ok(()) }
    }

    fn straight_edge(&self, edge: &EdgeName) -> Result<(PanelId, usize), SkeletonFault> {
        let (id, index) = self.edge(edge)?;
        match self.panels[id.index()].source {
            Source::Base(base) => match base.outline.edges[index].shape {
                EdgeShape::Line => Ok((id, index)),
                EdgeShape::Arc(_) | EdgeShape::ArcThrough(_) => {
                    Err(SkeletonFault::ArcEdge { edge: edge.clone() })
                }
            },
            Source::Flange { .. } if index == 0 => Err(SkeletonFault::RootEdge { edge: edge.clone() }),
            Source::Flange { .. } => Ok((id, index)),
        }
    }

    /// The panel and the index of the drawn edge with this name.
    ///
    /// # Errors
    /// [`SkeletonFault::NoPanel`] or [`SkeletonFault::NoEdge`] with the names that exist.
    pub fn edge(&self, edge: &EdgeName) -> Result<(PanelId, usize), SkeletonFault> {
        let id = self.find(&edge.panel)?;
        let panel = &self.panels[id.index()];
        let known = || panel.edge_roles().into_iter().map(str::to_owned).collect();
        let index = panel
            .edge_index(&edge.role)
            .ok_or_else(|| SkeletonFault::NoEdge { edge: edge.clone(), known: known() })?;
        Ok((id, index))
    }

    /// The panel with this name.
    ///
    /// # Errors
    /// [`SkeletonFault::NoPanel`] with the names that exist.
    pub fn find(&self, name: &PanelName) -> Result<PanelId, SkeletonFault> {
        self.panel(name).ok_or_else(|| SkeletonFault::NoPanel {
            panel: name.clone(),
            known: self.panels.iter().map(|p| p.name.clone()).collect(),
        })
    }

    fn panel(&self, name: &PanelName) -> Option<PanelId> {
        self.panels.iter().position(|p| p.name == *name).map(PanelId::new)
    }

    /// All panels, indexed by [`PanelId`].
    #[must_use]
    pub fn panels(&self) -> &[SkeletonPanel<'h>] {
        &self.panels
    }
}
