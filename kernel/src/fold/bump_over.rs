//! Bumps over the heads of bolts: which profile and height clear them.
//!
//! In cross-section the hollow face of the wall leans by the draft `d` from the panel's normal. Its flat top lies `h`
//! over the hollow face of the panel and must be flat out to the radius `R` of head and clearance; the punch fillet and
//! the wall take the setback of [`FormSection`] from there to the profile:
//! `R + h tan d + (r_p + t) tan((90° - d)/2)`. Invariant: a cylinder of radius `R` and height `h` fits under the bump.

use crate::dimension::{PanelPose, Pose, Skeleton};
use crate::history::feature::{Bump, BumpOver, BumpSide, Pattern, XFrom};
use crate::history::{NeighbourAxis, Number, Shape};
use crate::quantity::{maths, tolerance};

use super::FoldFault;
use super::form_section::FormSection;
use super::pattern::square_to;

/// The bump that clears the heads.
pub(super) fn as_bump(
    over: &BumpOver,
    skeleton: &Skeleton<'_>,
    pose: &Pose<f64>,
    free: &[f64],
    thickness: f64,
) -> Result<Bump, FoldFault> {
    let panel = skeleton.find(&over.panel).expect("the skeleton has resolved every panel name");
    let clearance = over.clearance.evaluate(free);
    let nothing = || FoldFault::NothingUnder { panel: over.panel.clone(), clearance };
    if clearance.is_nan() || clearance < 0.0 {
        return Err(FoldFault::PatternSize { what: "clearance", got: clearance, must: "not be negative" });
    }
    let heads = over.bolts.iter().map(|bolt| Head::of(bolt, over, skeleton, pose.panel(panel), thickness));
    let heads = heads.collect::<Result<Vec<_>, _>>()?;
    let highest = |side| {
        let heights = heads.iter().filter(|head| head.side == side).map(|head| head.height);
        heights.fold(f64::NEG_INFINITY, f64::max)
    };
    // Heads on both sides of a panel would need two bumps; those that do not reach it need none.
    let [inwards, outwards] = [BumpSide::In, BumpSide::Out].map(highest);
    let (side, height) =
        if inwards >= outwards { (BumpSide::In, inwards) } else { (BumpSide::Out, outwards) };
    let height = height + clearance;
    if height <= tolerance::SNAP_MM {
        return Err(nothing());
    }
    let radius = heads.iter().map(|head| head.radius).fold(0.0, f64::max) + clearance;
    let draft = over.draft.evaluate(free) * (maths::PI / 180.0);
    let radius_or = |asked: &Option<Number>| asked.as_ref().map_or(thickness, |n| n.evaluate(free));
    let (punch_radius, die_radius) = (radius_or(&over.punch_radius), radius_or(&over.die_radius));
    let section = FormSection { thickness, height, draft, punch_radius, die_radius };
    // A head that hardly reaches the panel gets a bump as low as its fillets allow.
    let section = FormSection { height: height.max(section.least_height()), ..section };
    let axes = over.bolts.iter().map(|bolt| axis_of(bolt));
    Ok(Bump {
        panel: over.panel.clone(),
        profile: Shape::Circle { diameter: Number::constant(2.0 * (radius + section.setback())) },
        pattern: Pattern::OnAxes(axes.collect()),
        x_from: XFrom::Left,
        height: Number::constant(section.height),
        side,
        draft: over.draft.clone(),
        punch_radius: over.punch_radius.clone(),
        die_radius: over.die_radius.clone(),
        corner_radius: None,
    })
}

fn axis_of(bolt: &str) -> NeighbourAxis {
    NeighbourAxis { of: bolt.to_owned(), axis: "axis".to_owned() }
}

/// The head of one bolt, as a panel sees it.
struct Head {
    /// To which side of the panel it points.
    side: BumpSide,
    /// How far its top lies beyond the face that it points at, in mm; negative if it ends before.
    height: f64,
    /// Radius around head and washer in mm.
    radius: f64,
}

impl Head {
    fn of(
        bolt: &str,
        over: &BumpOver,
        skeleton: &Skeleton<'_>,
        panel: &PanelPose<f64>,
        thickness: f64,
    ) -> Result<Self, FoldFault> {
        let neighbours = skeleton.neighbours();
        let form = neighbours.bolt(bolt).expect("the skeleton has resolved every bolt");
        let [seat, along] = neighbours.axis(&axis_of(bolt)).expect("a bolt has an axis");
        square_to(panel, [seat, along]).map_err(|off| FoldFault::NotSquare {
            panel: over.panel.clone(),
            of: bolt.to_owned(),
            off,
        })?;
        let top = panel.placement.coordinates(seat - along.times(form.head_top())).z;
        // A head points against its shank. The panel's faces lie at 0 and -t.
        let (side, height) = if along.dot(panel.placement.n) < 0.0 {
            (BumpSide::In, top + thickness)
        } else {
            (BumpSide::Out, -top)
        };
        Ok(Self { side, height, radius: form.head_radius() })
    }
}
