//! From the bumps of a history to forms, and whether each has room on its panel.
//!
//! Invariant: a form that is made keeps one sheet thickness of flat metal between its foot and every bend,
//! edge, opening and other form, and between the outline of its top and every opening in the top.
//! (One thickness is the kernel's own limit: less is no web that holds. Usual practice asks for more, which
//! is the business of checks.)

use crate::diag::Diagnostic;
use crate::dimension::{Pose, Skeleton};
use crate::geom::{
    ArcTurn, Contour, Curve, Motion2, Nesting, OffsetError, Place, RoundingError, Segment, Tag,
    first_self_contact, nearer_than, nesting, offset, place_in_contour, round_corner,
};
use crate::history::feature::{Bump, Feature};
use crate::history::{History, Number, Shape};
use crate::ident::{FeatureId, PanelId};
use crate::quantity::{maths, tolerance};

use super::bump_fault::{BumpFault, EdgeWords};
use super::form::Form;
use super::form_section::FormSection;
use super::pattern::{Ground, places};
use super::profile_shape::outline_pieces;
use super::tree::FoldTree;
use super::{EdgeLabel, FoldFault, bump_over, opening};

/// More bumps than this in one pattern are taken for a slip of the pen.
const MOST_BUMPS: usize = 2_000;

/// Every form of the history, in the order of the features; panels have all their openings and breaks.
pub(super) fn forms(
    history: &History,
    skeleton: &Skeleton<'_>,
    pose: &Pose<f64>,
    free: &[f64],
    tree: &FoldTree,
) -> Result<Vec<Form>, Vec<Diagnostic>> {
    let mut forms: Vec<Form> = Vec::new();
    let mut faults = Vec::new();
    for (id, entry) in history.features_with_ids() {
        let asked = match &entry.feature {
            Feature::Bump(bump) => Ok(bump.clone()),
            Feature::BumpOver(over) => bump_over::as_bump(over, skeleton, pose, free, tree.thickness()),
            Feature::BasePanel(_)
            | Feature::Flange(_)
            | Feature::Seam(_)
            | Feature::Hem(_)
            | Feature::FoldLine(_)
            | Feature::Offset(_)
            | Feature::Turned(_)
            | Feature::Cutout(_)
            | Feature::CornerBreak(_)
            | Feature::BumpChange(_) => continue,
        };
        let asked = match asked {
            Ok(asked) => asked,
            Err(fault) => {
                faults.push(fault.diagnose(history.origin(id)));
                continue;
            }
        };
        let (bump, changed_by) = with_changes(history, &entry.name, asked);
        let made = shaped(&bump, free, tree.thickness())
            .and_then(|shape| placed(&shape, &bump, (id, &entry.name), skeleton, pose, free, tree));
        let mut note = |fault: FoldFault| {
            let mut finding = fault.diagnose(history.origin(id));
            finding.origins.extend(changed_by.iter().map(|&change| history.origin(change)));
            faults.push(finding);
        };
        match made {
            Ok(made) => {
                for form in made {
                    let crowded = on_panel(&form, tree).and_then(|()| clear_of(&form, &forms, tree));
                    match crowded {
                        Ok(()) => forms.push(form),
                        Err(problem) => note(FoldFault::Bump { bump: form.name, problem }),
                    }
                }
            }
            Err(problem) => note(problem.named(&entry.name)),
        }
    }
    if faults.is_empty() { Ok(forms) } else { Err(faults) }
}

/// The bump as later features leave it, and those features.
fn with_changes(history: &History, name: &str, mut bump: Bump) -> (Bump, Vec<FeatureId>) {
    let mut changed_by = Vec::new();
    for (id, entry) in history.features_with_ids() {
        if let Feature::BumpChange(change) = &entry.feature
            && change.bump == name
        {
            changed_by.push(id);
            if let Some(profile) = &change.profile {
                bump.profile = profile.clone();
            }
            if let Some(height) = &change.height {
                bump.height = height.clone();
            }
        }
    }
    (bump, changed_by)
}

/// A fault of a bump that has no place yet.
enum ShapeFault {
    Bump(BumpFault),
    Fold(FoldFault),
}

impl ShapeFault {
    fn named(self, bump: &str) -> FoldFault {
        match self {
            Self::Bump(problem) => FoldFault::Bump { bump: bump.to_owned(), problem },
            Self::Fold(fault) => fault,
        }
    }
}

impl From<BumpFault> for ShapeFault {
    fn from(fault: BumpFault) -> Self {
        Self::Bump(fault)
    }
}

/// Cross-section, outline of the top about its origin, and names of its pieces.
struct BumpShape {
    section: FormSection,
    top: Contour,
    roles: Vec<String>,
}

fn shaped(bump: &Bump, free: &[f64], thickness: f64) -> Result<BumpShape, ShapeFault> {
    let section = section(bump, free, thickness)?;
    let corner_radius = length(
        "corner radius",
        bump.corner_radius.as_ref(),
        section.punch_radius + 2.0 * thickness,
        tolerance::LEAST_ROUND_MM,
        free,
    )?;
    let (mould, mut roles) = mould_outline(&bump.profile, free)?;
    gentle_concave_corners(&mould, &roles, &section)?;
    let top = top_outline(&mould, &mut roles, section.setback(), corner_radius)?;
    let roles: Vec<String> = top.segments().iter().map(|s| roles[s.tag.0 as usize].clone()).collect();
    Ok(BumpShape { section, top, roles })
}

fn length(
    what: &'static str,
    asked: Option<&Number>,
    otherwise: f64,
    least: f64,
    free: &[f64],
) -> Result<f64, BumpFault> {
    let got = asked.map_or(otherwise, |n| n.evaluate(free));
    // Written so that a number that is none is refused too.
    if got >= least { Ok(got) } else { Err(BumpFault::Size { what, got, least }) }
}

fn section(bump: &Bump, free: &[f64], thickness: f64) -> Result<FormSection, BumpFault> {
    let least = tolerance::LEAST_ROUND_MM;
    let draft_degrees = bump.draft.evaluate(free);
    let section = FormSection {
        thickness,
        height: length("height", Some(&bump.height), 0.0, least, free)?,
        draft: draft_degrees * (maths::PI / 180.0),
        punch_radius: length("punch radius", bump.punch_radius.as_ref(), thickness, least, free)?,
        die_radius: length("die radius", bump.die_radius.as_ref(), thickness, least, free)?,
    };
    // Just below 90° the wall never arrives.
    if !(0.0 <= draft_degrees && maths::cos(section.draft) > tolerance::FLAT_RAD) {
        return Err(BumpFault::Draft { got: draft_degrees });
    }
    if section.wall_length() < -tolerance::SNAP_MM {
        return Err(BumpFault::TooLow { height: section.height, needed: section.least_height() });
    }
    Ok(section)
}

/// The profile counter-clockwise, each piece tagged with the index of its name.
fn mould_outline(shape: &Shape, free: &[f64]) -> Result<(Contour, Vec<String>), ShapeFault> {
    let (pieces, names): (Vec<Segment>, Vec<String>) = match shape {
        Shape::Circle { .. } | Shape::Slot { .. } | Shape::BoltHole { .. } | Shape::BoltSlot { .. } => {
            let contour = opening::shape_contour(shape, free, Tag::default()).map_err(size_fault)?;
            let names: &[&str] =
                if contour.as_circle().is_some() { &["round"] } else { &["front", "right", "back", "left"] };
            let tagged = contour.segments().iter().enumerate().map(|(i, s)| (i.min(names.len() - 1), *s));
            (tagged.map(|(i, s)| retagged(s, i)).collect(), names.iter().map(|&n| n.to_owned()).collect())
        }
        Shape::Outline(profile) => {
            let pieces = outline_pieces("bump", profile, free).map_err(ShapeFault::Fold)?;
            let names = profile.edges.iter().map(|edge| edge.name.clone()).collect();
            (pieces.into_iter().map(|(i, s)| retagged(s, i)).collect(), names)
        }
    };
    let contour = Contour::new(pieces)
        .map_err(|problem| ShapeFault::Fold(FoldFault::OutlineOpen { outline: "bump".into(), problem }))?;
    Ok((contour, names))
}

fn retagged(piece: Segment, index: usize) -> Segment {
    Segment { tag: Tag(u32::try_from(index).expect("a profile has fewer than 2^32 edges")), ..piece }
}

fn size_fault(fault: FoldFault) -> ShapeFault {
    if let FoldFault::OpeningSize { what, got, above } = fault {
        return BumpFault::Size { what, got, least: above + tolerance::LEAST_ROUND_MM }.into();
    }
    ShapeFault::Fold(fault)
}

/// Signed turn in rad from a piece to the next one: positive to the left.
fn turn_between(before: Segment, after: Segment) -> f64 {
    let (arriving, leaving) = (before.end_direction(), after.start_direction());
    maths::atan2(arriving.cross(leaving), arriving.dot(leaving))
}

/// Concave corners must leave the outline of the foot a radius.
fn gentle_concave_corners(mould: &Contour, roles: &[String], section: &FormSection) -> Result<(), BumpFault> {
    let needed = section.die_reach() + tolerance::LEAST_ROUND_MM;
    let role = |s: &Segment| roles[s.tag.0 as usize].as_str();
    let pieces = mould.segments();
    for (index, piece) in pieces.iter().enumerate() {
        let next = &pieces[(index + 1) % pieces.len()];
        if turn_between(*piece, *next) < -tolerance::SMOOTH_RAD {
            let corner = format!("{}+{}", role(piece), role(next));
            return Err(BumpFault::ConcaveCorner { corner, radius: 0.0, needed });
        }
        if let Curve::Arc { radius, turn: ArcTurn::Right, .. } = piece.curve
            && radius < needed
        {
            return Err(BumpFault::ConcaveCorner { corner: role(piece).to_owned(), radius, needed });
        }
    }
    Ok(())
}

/// The profile moved inwards by the setback, its corners rounded; new corner arcs get names of their own.
fn top_outline(
    mould: &Contour,
    roles: &mut Vec<String>,
    setback: f64,
    corner_radius: f64,
) -> Result<Contour, BumpFault> {
    // Concave corners are rounded by now, so that no new arcs come in.
    let mut top = offset(mould, -setback, Tag::default()).map_err(|error| {
        let edge = match error {
            OffsetError::UsedUp { piece } | OffsetError::Apart { piece } => {
                Some(roles[mould.segments()[piece].tag.0 as usize].clone())
            }
            OffsetError::ClosesUp | OffsetError::MeetsItself { .. } | OffsetError::Contour(_) => None,
        };
        BumpFault::TopCloses { taken: setback, edge }
    })?;
    // From the last corner, so that the indices of those before stay.
    for index in (0..top.segments().len()).rev() {
        let pieces = top.segments();
        let (before, after) = (pieces[index], pieces[(index + 1) % pieces.len()]);
        if turn_between(before, after).abs() <= tolerance::SMOOTH_RAD {
            continue;
        }
        let corner = format!("{}+{}", roles[before.tag.0 as usize], roles[after.tag.0 as usize]);
        let tag = retagged(before, roles.len()).tag;
        top = round_corner(&top, index, corner_radius, tag).map_err(|error| {
            let room = match error {
                RoundingError::NeighbourTooShort { needed_mm, available_mm, .. } => {
                    Some((needed_mm, available_mm))
                }
                RoundingError::NoSuchCorner { .. }
                | RoundingError::NoTurn { .. }
                | RoundingError::TooSmall { .. }
                | RoundingError::NoTangentArc { .. }
                | RoundingError::Contour(_) => None,
            };
            BumpFault::CornerRadius { corner: corner.clone(), radius: corner_radius, room }
        })?;
        roles.push(corner);
    }
    match first_self_contact(&top) {
        None => Ok(top),
        Some(_) => Err(BumpFault::TopCloses { taken: setback, edge: None }),
    }
}

/// One form at every place.
fn placed(
    shape: &BumpShape,
    bump: &Bump,
    (feature, name): (FeatureId, &str),
    skeleton: &Skeleton<'_>,
    pose: &Pose<f64>,
    free: &[f64],
    tree: &FoldTree,
) -> Result<Vec<Form>, ShapeFault> {
    let panel = skeleton.find(&bump.panel).expect("the skeleton has resolved every panel name");
    let numbers = pose.panel(panel);
    let shift = opening::drawn_shift(bump.x_from, numbers, &bump.panel).map_err(ShapeFault::Fold)?;
    let sheet = &tree.panel(skeleton.root(panel)).region;
    let neighbours = skeleton.neighbours();
    let ground = Ground { panel: &bump.panel, sheet, pose: numbers, shift, neighbours };
    let places = places(&bump.pattern, free, &shape.top, &ground).map_err(ShapeFault::Fold)?;
    if places.len() > MOST_BUMPS {
        return Err(BumpFault::TooMany { count: places.len(), limit: MOST_BUMPS }.into());
    }
    let mut forms = Vec::with_capacity(places.len());
    for (index, &place) in places.iter().enumerate() {
        let in_flat = ground.in_sheet(place);
        let (panel, motion) = panel_below(&shape.top, in_flat, panel, skeleton, pose, tree);
        let name = if places.len() == 1 { name.to_owned() } else { format!("{name}.place-{}", index + 1) };
        let form = Form::new(
            (name, feature, panel),
            bump.side,
            shape.section,
            shape.top.moved(motion),
            shape.roles.clone(),
        );
        if let Some(contact) = first_self_contact(form.foot()) {
            let (at, reach) = (motion.inverse().point(contact.point), shape.section.die_reach());
            return Err(BumpFault::FootMeetsItself { at, reach }.into());
        }
        forms.push(form);
    }
    Ok(forms)
}

/// The panel on which a top lies, and the motion that brings it there from its own origin: of the pieces into
/// which lines part the panel that was named, the one with its middle. Where there is none, the panel that
/// was named, so that a fault can name it.
fn panel_below(
    top: &Contour,
    in_flat: Motion2,
    named: PanelId,
    skeleton: &Skeleton<'_>,
    pose: &Pose<f64>,
    tree: &FoldTree,
) -> (PanelId, Motion2) {
    let root = skeleton.root(named);
    let motion_to = |id: PanelId| pose.panel(id).in_flat.motion().inverse().after(in_flat);
    let bounds = top.bounding_box();
    let middle = bounds.min.midpoint(bounds.max);
    let holds = |id: &PanelId| {
        let place = motion_to(*id).point(middle);
        tree.panel(*id).region.outers().any(|outer| place_in_contour(outer, place) != Place::Outside)
    };
    let mut pieces = (0..skeleton.panels().len()).map(PanelId::new).filter(|&id| skeleton.root(id) == root);
    let id = pieces.find(holds).unwrap_or(named);
    (id, motion_to(id))
}

/// Whether the form lies on its panel, clear of all that is there.
fn on_panel(form: &Form, tree: &FoldTree) -> Result<(), BumpFault> {
    let panel = tree.panel(form.panel);
    let needed = tree.thickness();
    let mut on_flat = false;
    for contour in panel.region.contours() {
        let carried = contour.signed_area() < 0.0 && form.carries(contour);
        let outline = if carried { form.top() } else { form.foot() };
        // A little less than needed is enough, so that a distance drawn exactly will do.
        let near = nearer_than(outline, contour, needed - tolerance::SNAP_MM);
        if let Some(approach) = near {
            let (piece, got) = (&contour.segments()[approach.second], approach.distance_mm);
            return Err(too_near(form, tree, piece, got, needed, carried));
        }
        if carried {
            continue;
        }
        match (contour.signed_area() > 0.0, nesting(form.foot(), contour)) {
            (true, Nesting::Inside) => on_flat = true,
            (true, Nesting::Apart) | (false, Nesting::Apart) => {}
            (true, Nesting::Around | Nesting::InContact) | (false, Nesting::Inside) => {
                return Err(BumpFault::OffPanel { panel: panel.name.clone() });
            }
            (false, Nesting::Around | Nesting::InContact) => {
                return Err(too_near(form, tree, &contour.segments()[0], 0.0, needed, false));
            }
        }
    }
    if on_flat { Ok(()) } else { Err(BumpFault::OffPanel { panel: panel.name.clone() }) }
}

fn too_near(form: &Form, tree: &FoldTree, piece: &Segment, got: f64, needed: f64, on_top: bool) -> BumpFault {
    match tree.label(piece) {
        EdgeLabel::CreaseStart(bend) | EdgeLabel::CreaseEnd(bend) | EdgeLabel::StripEnd(bend) => {
            BumpFault::NearBend { bend: tree.panel(tree.bend(*bend).child).name.clone(), got, needed }
        }
        EdgeLabel::Opening(feature) => {
            let opening = tree.origin(*feature).name.clone();
            // Inside the foot an opening may only lie on the top.
            let within = place_in_contour(form.foot(), piece.start) != Place::Outside;
            match (on_top, within) {
                (true, _) => BumpFault::OpeningInWall { opening, got: Some(got), needed },
                (false, true) => BumpFault::OpeningInWall { opening, got: None, needed },
                (false, false) => BumpFault::NearOpening { opening, got, needed },
            }
        }
        EdgeLabel::Edge(edge) => BumpFault::NearEdge { edge: EdgeWords::Edge(edge.clone()), got, needed },
        EdgeLabel::Relief(panel) => {
            BumpFault::NearEdge { edge: EdgeWords::Relief(panel.clone()), got, needed }
        }
        EdgeLabel::CornerBreak(feature) => {
            let edge = EdgeWords::CornerBreak(tree.origin(*feature).name.clone());
            BumpFault::NearEdge { edge, got, needed }
        }
    }
}

/// Whether the form is clear of those made before it on its panel.
fn clear_of(form: &Form, others: &[Form], tree: &FoldTree) -> Result<(), BumpFault> {
    let needed = tree.thickness();
    for other in others.iter().filter(|other| other.panel == form.panel) {
        let fault = |got| BumpFault::NearBump { other: other.name.clone(), got, needed };
        if let Some(approach) = nearer_than(form.foot(), other.foot(), needed - tolerance::SNAP_MM) {
            return Err(fault(approach.distance_mm));
        }
        if nesting(form.foot(), other.foot()) != Nesting::Apart {
            return Err(fault(0.0));
        }
    }
    Ok(())
}
