//! The tree itself and how it is built, panel by panel.
//!
//! Invariant: `bends[i].child` is the panel whose `bend` is `i`; a strip lies between `y = 0` and the bend's
//! allowance, and wherever it meets a panel, a [`CreaseSpan`] says which vertices the two share.

use crate::diag::{Diagnostic, Origin};
use crate::dimension::{Pose, Skeleton, Source};
use crate::geom::{Contour, Motion2, Point2, Region, Segment, Tag, Vec2};
use crate::history::feature::{CornerBreak, Feature, FoldSide, Reach};
use crate::history::{EdgeName, History, PanelName};
use crate::ident::{BendId, FeatureId, PanelId};
use crate::quantity::{Angle, Length, Radius, Turn, tolerance};
use crate::stock::{self, KFactor, Sheet};

use super::across::{AcrossCut, Laid, Way};
use super::short_edges::without_short_edges;
use super::straight::StraightCut;
use super::{
    EdgeLabel, FoldFault, Form, Labels, bump, corner_break, creases, held_width, opening, outline, parting,
};

/// Panels and bends of one part.
#[derive(Clone, Debug)]
pub struct FoldTree {
    thickness: stock::Thickness,
    panels: Vec<Panel>,
    bends: Vec<Bend>,
    labels: Labels,
    forms: Vec<Form>,
    /// Names and places of the features, indexed by feature id.
    origins: Vec<Origin>,
}

/// A flat zone.
#[derive(Clone, Debug)]
pub struct Panel {
    /// Its place in the tree.
    pub id: PanelId,
    /// Its lasting name.
    pub name: PanelName,
    /// The feature that made it.
    pub feature: FeatureId,
    /// The bend it hangs on; none for the base panel.
    pub bend: Option<BendId>,
    /// The shape in the panel's own frame, creases included; tags are read with [`FoldTree::label`].
    pub region: Region,
}

/// A straight piece that a panel and a bend share, from left to right in the flange's sense.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct CreaseSpan {
    /// Place along the flange's x in mm where the piece begins: the strip has a vertex with this very x.
    pub from: f64,
    /// Where it ends, in mm.
    pub to: f64,
    /// The panel's vertex at `from`, in the panel's frame.
    pub from_point: Point2,
    /// The panel's vertex at `to`, in the panel's frame.
    pub to_point: Point2,
}

/// A strip of sheet that is rolled onto a cylinder.
#[derive(Clone, Debug)]
pub struct Bend {
    /// Its place in the tree.
    pub id: BendId,
    /// The panel nearer to the base.
    pub parent: PanelId,
    /// The panel behind it.
    pub child: PanelId,
    /// Towards the inner face or away from it.
    pub side: FoldSide,
    /// Turn, inside radius and K.
    pub formula: stock::Bend,
    /// The strip: x along the bend as that of the flange behind it, y across from 0 to the allowance.
    pub region: Region,
    /// Where the parent panel goes on at `y = 0`, from left to right.
    pub start: Vec<CreaseSpan>,
    /// Where the child panel goes on at the allowance, from left to right.
    pub end: Vec<CreaseSpan>,
    /// Point of the crease's line at `x = 0`, in the parent's frame.
    pub origin: Point2,
    /// Unit direction of x in the parent's frame.
    pub along: Vec2,
    /// Unit direction away from the parent in its frame.
    pub outward: Vec2,
    thickness: stock::Thickness,
}

impl Bend {
    /// Turn in rad.
    #[must_use]
    pub fn turn(&self) -> f64 {
        self.formula.turn.angle().to_rad()
    }

    /// Inside radius in mm.
    #[must_use]
    pub fn inside_radius(&self) -> f64 {
        self.formula.inside_radius.length().to_mm()
    }

    /// Place of the neutral fibre as a share of the thickness from the inside.
    #[must_use]
    pub fn k_factor(&self) -> f64 {
        self.formula.k_factor.value()
    }

    /// Width in the blank in mm.
    #[must_use]
    pub fn allowance(&self) -> f64 {
        self.formula.allowance(self.thickness).to_mm()
    }

    /// The x at which the strip begins and that at which it ends, in mm.
    #[must_use]
    pub fn reach(&self) -> [f64; 2] {
        let bounds = self.region.bounding_box();
        [bounds.min.x, bounds.max.x]
    }

    /// Length along the bend in mm, from end to end.
    #[must_use]
    pub fn length(&self) -> f64 {
        let [from, to] = self.reach();
        to - from
    }

    /// Lays the strip (x along the bend, y across it) next to its parent, given the parent's own motion.
    #[must_use]
    pub fn strip_motion(&self, parent: Motion2) -> Motion2 {
        parent.after(Motion2 { x_axis: self.along, origin: self.origin })
    }
}

impl FoldTree {
    /// Panels, indexed by id.
    #[must_use]
    pub fn panels(&self) -> &[Panel] {
        &self.panels
    }

    /// Bends, indexed by id.
    #[must_use]
    pub fn bends(&self) -> &[Bend] {
        &self.bends
    }

    /// One panel.
    #[must_use]
    pub fn panel(&self, id: PanelId) -> &Panel {
        &self.panels[id.index()]
    }

    /// One bend.
    #[must_use]
    pub fn bend(&self, id: BendId) -> &Bend {
        &self.bends[id.index()]
    }

    /// Forms raised out of panels, whose regions stay whole; in the order in which they were asked for.
    #[must_use]
    pub fn forms(&self) -> &[Form] {
        &self.forms
    }

    /// Thickness of the sheet in mm.
    #[must_use]
    pub fn thickness(&self) -> f64 {
        self.thickness.length().to_mm()
    }

    /// Thickness of the sheet.
    #[must_use]
    pub fn sheet_thickness(&self) -> stock::Thickness {
        self.thickness
    }

    /// Name and place of a feature.
    #[must_use]
    pub fn origin(&self, feature: FeatureId) -> &Origin {
        &self.origins[feature.index()]
    }

    /// Name and place of the feature that made a piece of a contour what it is.
    #[must_use]
    pub fn origin_of(&self, label: &EdgeLabel) -> &Origin {
        self.origin(self.maker(label).0)
    }

    /// What a person calls the thing that a piece of a contour belongs to: the panel where there is one,
    /// otherwise the feature.
    #[must_use]
    pub fn owner(&self, label: &EdgeLabel) -> String {
        let (feature, panel) = self.maker(label);
        panel.map_or_else(|| self.origin(feature).name.clone(), |p| p.name.to_string())
    }

    /// The feature that made a piece of a contour what it is, and the panel if that feature made one there.
    fn maker(&self, label: &EdgeLabel) -> (FeatureId, Option<&Panel>) {
        let panel = match label {
            EdgeLabel::Edge(EdgeName { panel, .. }) | EdgeLabel::Relief(panel) => {
                self.panels.iter().find(|p| p.name == *panel)
            }
            EdgeLabel::CreaseStart(bend) | EdgeLabel::CreaseEnd(bend) | EdgeLabel::StripEnd(bend) => {
                Some(self.panel(self.bend(*bend).child))
            }
            EdgeLabel::Opening(feature) | EdgeLabel::CornerBreak(feature) => return (*feature, None),
        };
        (panel.map_or(FeatureId::new(0), |p| p.feature), panel)
    }

    /// What a piece of a panel's contour is.
    #[must_use]
    pub fn label(&self, piece: &Segment) -> &EdgeLabel {
        self.label_of(piece.tag)
    }

    /// What the pieces with this tag are.
    ///
    /// # Panics
    /// If the tag is of another tree.
    #[must_use]
    pub fn label_of(&self, tag: Tag) -> &EdgeLabel {
        self.labels.label(tag)
    }
}

/// Builds the tree of a history whose numbers are settled.
///
/// # Errors
/// All faults of the first step that has any, each with the feature it is about.
pub fn build(
    history: &History,
    skeleton: &Skeleton<'_>,
    pose: &Pose<f64>,
    free: &[f64],
    sheet: &Sheet,
) -> Result<FoldTree, Vec<Diagnostic>> {
    let mut tree = FoldTree {
        thickness: sheet.thickness,
        panels: Vec::new(),
        bends: Vec::new(),
        labels: Labels::default(),
        forms: Vec::new(),
        origins: history.features_with_ids().map(|(id, _)| history.origin(id)).collect(),
    };
    let of_panel = |id: PanelId| history.origin(skeleton.panels()[id.index()].feature);
    let thickness = sheet.thickness.length().to_mm();
    let outlines =
        outline::outlines(skeleton, pose, free, thickness, &mut tree.labels).map_err(|faults| {
            let found = faults.into_iter().map(|(feature, fault)| fault.diagnose(history.origin(feature)));
            found.collect::<Vec<_>>()
        })?;
    for (index, (panel, outline)) in skeleton.panels().iter().zip(outlines).enumerate() {
        let id = PanelId::new(index);
        let bend = bend_of(panel, id, pose, sheet, &outline, &mut tree.labels)
            .map_err(|fault| vec![fault.diagnose(of_panel(id))])?;
        tree.panels.push(Panel {
            id,
            name: panel.name.clone(),
            feature: panel.feature,
            bend: bend.as_ref().map(|b| b.id),
            region: outline.region,
        });
        tree.bends.extend(bend);
    }
    let (mut faults, mut across) = (Vec::new(), Vec::<Across<'_>>::new());
    for (id, entry) in history.features_with_ids() {
        let done = match &entry.feature {
            Feature::BasePanel(_)
            | Feature::Flange(_)
            | Feature::Hem(_)
            | Feature::FoldLine(_)
            | Feature::Offset(_)
            | Feature::Turned(_)
            // Forms come last: they keep clear of whatever the panels have lost.
            | Feature::Bump(_)
            | Feature::BumpOver(_)
            | Feature::BumpChange(_)
            | Feature::Seam(_) => Ok(()),
            // Made below, once lines have parted the panels.
            Feature::Cutout(cutout) if cutout.reach != Reach::Panel => {
                let tag = tree.labels.tag(EdgeLabel::Opening(id));
                opening::Drawn::new(&tree.panels, skeleton, pose, free, cutout, tag).map(|drawn| {
                    let way = match &cutout.reach {
                        Reach::Panel | Reach::Blank => Way::Blank(skeleton.root(drawn.panel)),
                        Reach::Straight(asked) => {
                            Way::Straight(StraightCut::new(asked, drawn.panel, free))
                        }
                    };
                    across.push(Across::Cut(AcrossCut {
                        feature: id,
                        tag,
                        panel: cutout.panel.clone(),
                        openings: drawn.openings,
                        way,
                    }));
                })
            }
            Feature::Cutout(cutout) => {
                opening::cut(&mut tree.panels, &mut tree.labels, skeleton, pose, free, id, cutout)
            }
            // What follows a cut across bends finds its corners.
            Feature::CornerBreak(corners) if !across.is_empty() => {
                across.push(Across::Corners(id, corners));
                Ok(())
            }
            Feature::CornerBreak(corners) => {
                let FoldTree { panels, labels, origins, .. } = &mut tree;
                corner_break::apply(panels, labels, origins, skeleton, free, id, corners)
            }
        };
        if let Err(fault) = done {
            faults.push(fault.diagnose(history.origin(id)));
        }
    }
    if !faults.is_empty() {
        return Err(faults);
    }
    let parted = skeleton.panels().iter().any(|p| !p.lines.is_empty());
    if parted {
        parting::part(&mut tree.panels, &mut tree.bends, &mut tree.labels, skeleton, pose, history)
            .map_err(|fault| vec![fault])?;
        let zones = tree.panels.iter_mut().map(|p| &mut p.region);
        for region in zones.chain(tree.bends.iter_mut().map(|b| &mut b.region)) {
            *region = without_short_edges(region, &tree.labels);
        }
    }
    if !across.is_empty() {
        let laid = Laid::of(&tree);
        for step in &across {
            let FoldTree { panels, bends, labels, origins, .. } = &mut tree;
            let (feature, done) = match step {
                Across::Cut(cut) => (cut.feature, cut.make(panels, bends, labels, &laid)),
                Across::Corners(feature, corners) => (
                    *feature,
                    corner_break::apply(panels, labels, origins, skeleton, free, *feature, corners),
                ),
            };
            done.map_err(|fault| vec![fault.diagnose(history.origin(feature))])?;
        }
    }
    if parted || !across.is_empty() {
        creases::join(&mut tree.panels, &mut tree.bends, &mut tree.labels, &of_panel)
            .map_err(|fault| vec![fault])?;
    }
    faults.extend(held_width::faults(history, skeleton, pose, &tree));
    if !faults.is_empty() {
        return Err(faults);
    }
    tree.forms = bump::forms(history, skeleton, pose, free, &tree)?;
    Ok(tree)
}

/// What acts on the finished zones, in the order of the history.
enum Across<'h> {
    Cut(AcrossCut<'h>),
    Corners(FeatureId, &'h CornerBreak),
}

fn bend_of(
    panel: &crate::dimension::SkeletonPanel<'_>,
    child: PanelId,
    pose: &Pose<f64>,
    sheet: &Sheet,
    outline: &outline::Outline,
    labels: &mut Labels,
) -> Result<Option<Bend>, FoldFault> {
    let Some(numbers) = pose.panel(child).bend else { return Ok(None) };
    let (parent, side) = match panel.source {
        Source::Base(_) => return Ok(None),
        Source::Flange { flange, parent, .. } => (parent, flange.side),
        Source::Piece { parent, side, .. } => (parent, side),
    };
    let turn = Turn::new(Angle::rad(numbers.turn))?;
    let inside_radius = Radius::new(Length::mm(numbers.inside_radius))?;
    let by_form = match panel.source {
        Source::Flange { hem: Some(form), .. } => form.k_factor(),
        Source::Base(_) | Source::Flange { hem: None, .. } | Source::Piece { .. } => None,
    };
    let k_factor = match by_form {
        Some(k) => {
            KFactor::new(k).map_err(|problem| FoldFault::HemK { panel: panel.name.clone(), problem })?
        }
        None => sheet
            .bend_rule
            .k_factor(sheet.thickness, inside_radius, turn)
            .map_err(|problem| FoldFault::BendRule { panel: panel.name.clone(), problem })?,
    };
    let formula = stock::Bend { turn, inside_radius, k_factor };
    let allowance = formula.allowance(sheet.thickness).to_mm();
    if allowance <= tolerance::LEAST_EDGE_MM {
        return Err(FoldFault::NoAllowance { panel: panel.name.clone(), allowance });
    }
    let point = |[x, y]: [f64; 2]| Vec2::new(x, y);
    let id = outline::bend_of_panel(child);
    let mut bend = Bend {
        id,
        parent,
        child,
        side,
        formula,
        region: Region::default(),
        start: Vec::new(),
        end: Vec::new(),
        origin: Point2::ORIGIN + point(numbers.origin),
        along: point(numbers.along),
        outward: point(numbers.outward),
        thickness: sheet.thickness,
    };
    // The strip of a line bend is cut out of the panel that the line parts.
    if let Some(crease) = outline.crease {
        let behind = if outline.region.is_empty() {
            EdgeLabel::Edge(panel.name.edge("tip"))
        } else {
            let [from_point, to_point] = [crease.from, crease.to].map(|x| Point2::new(x, 0.0));
            bend.end = vec![CreaseSpan { from_point, to_point, ..crease }];
            EdgeLabel::CreaseEnd(id)
        };
        bend.region = strip(id, [crease.from, crease.to], allowance, behind, labels);
        bend.start = vec![crease];
    }
    Ok(Some(bend))
}

/// The strip of a bend that is cut off square at both ends; `behind` is where it ends.
fn strip(
    bend: BendId,
    [from, to]: [f64; 2],
    allowance: f64,
    behind: EdgeLabel,
    labels: &mut Labels,
) -> Region {
    let corners =
        [(from, 0.0), (to, 0.0), (to, allowance), (from, allowance)].map(|(x, y)| Point2::new(x, y));
    let what = [EdgeLabel::CreaseStart(bend), EdgeLabel::StripEnd(bend), behind, EdgeLabel::StripEnd(bend)];
    let sides = what.map(|label| labels.tag(label));
    let pieces = (0..4).map(|i| Segment::line(corners[i], corners[(i + 1) % 4], sides[i])).collect();
    Region::inside(Contour::new(pieces).expect("a strip has length and width"))
}
