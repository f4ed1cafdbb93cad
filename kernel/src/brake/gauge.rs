//! Where the back gauge holds the sheet.
//!
//! Job: straight edges and upright flanges parallel to a bend, and what a finger takes up there. Invariant: a contact
//! is as long as a finger can hold. Must not know: what stands in a finger's way.
//!
//! Fingers are looked at before the stroke only: they draw back once the punch holds the sheet (common practice).

use crate::geom::{Point2, Segment, Tag, Vec3};
use crate::quantity::{maths, tolerance};
use crate::solid::Zone;

use super::cell::{Pose, Section};
use super::wings::{Mask, Wing, Wings};

/// Shortest edge that the gauge can hold a sheet by, in mm (common practice, no source).
const LEAST_CONTACT_MM: f64 = 10.0;

/// Where the back gauge stands.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Gauge {
    /// Distance from the middle of the bend in mm.
    pub distance: f64,
    /// The panel whose edge, or the bend whose outer face, lies against it.
    pub against: Zone,
    /// Height of the finger's middle over the die in mm.
    pub height: f64,
}

/// A straight edge parallel to the bend that the gauge may hold.
#[derive(Clone, Copy, Debug)]
pub(super) struct Contact {
    pub(super) wing: Wing,
    /// Strokes that must be flat, and those that must be made.
    pub(super) flat: Mask,
    pub(super) made: Mask,
    /// Distance from the wing's start in mm.
    pub(super) away: f64,
    along: [f64; 2],
    /// Heights of a finger over the die at which it meets the edge, in mm.
    pub(super) height: [f64; 2],
    pub(super) against: Zone,
}

/// Section of a finger that touches nearly, and its places along the bend: at both ends of a long edge, in the middle
/// of a short one. `size` is its width, height and depth in mm.
pub(super) fn finger(contact: &Contact, size: [f64; 3], thickness: f64) -> (Section, Vec<[f64; 2]>) {
    let [width, _, depth] = size;
    let (near, far) = (contact.away + tolerance::BRAKE_TOUCH_MM, contact.away + depth);
    let [low, high] = contact.height.map(|z| z - thickness);
    let corners = [[near, low], [far, low], [far, high], [near, high]];
    let section = Section::new(corners.map(|[y, z]| Point2::new(y, z)).to_vec());
    let [from, to] = contact.along;
    let places = if to - from > 2.0 * width {
        vec![[from, from + width], [to - width, to]]
    } else {
        vec![[0.5 * (from + to - LEAST_CONTACT_MM), 0.5 * (from + to + LEAST_CONTACT_MM)]]
    };
    (section, places)
}

/// Straight edges and bent-up faces parallel to a stroke in both wings, the longest first, of alike ones the nearest.
/// Fingers are `finger` mm high.
pub(super) fn contacts(wings: &Wings<'_>, stroke: usize, finger: f64) -> Vec<Contact> {
    let tree = wings.tree;
    let t = tree.thickness();
    let lead = wings.lead(stroke);
    let mut found = Vec::new();
    for zone in 0..wings.zones.len() {
        let Some((wing, mask)) = wings.sides[stroke][zone] else { continue };
        let anchor = wings.zones[zone].anchor;
        match wings.zones[zone].zone {
            Zone::Panel(id) => {
                let pose = wings.pose(stroke, id, wing, 0);
                let pieces = tree.panel(id).region.outers().flat_map(|c| c.segments());
                for piece in pieces.filter(|s| !tree.label(s).is_crease()) {
                    let Some((away, along)) = parallel(piece, &pose) else { continue };
                    let height = [0.5 * (t - finger), 0.5 * (t + finger)];
                    let against = Zone::Panel(id);
                    found.push(Contact { wing, flat: mask, made: 0, away, along, height, against });
                }
            }
            Zone::Bend(id) => {
                let bend = tree.bend(id);
                let panel_mask = wings.panel_mask(stroke, anchor);
                let own: Mask = 1 << wings.stroke_of[id.index()];
                // Beyond the anchor, seen from the stroke, and turned by a right angle or more.
                if panel_mask & own != 0 || bend.turn() < UPRIGHT_RAD {
                    continue;
                }
                let pose = wings.pose(stroke, anchor, wing, 0);
                let [from, to] = bend.reach();
                let ends = [from, to].map(|x| bend.origin + bend.along * x);
                let crease = Segment::line(ends[0], ends[1], Tag::default());
                let Some((away, along)) = parallel(&crease, &pose) else { continue };
                let outer = bend.inside_radius() + t;
                let up = bend.side == lead.side;
                let height = if up { [outer, outer + finger] } else { [t - outer - finger, t - outer] };
                found.push(Contact {
                    wing,
                    flat: panel_mask,
                    made: own,
                    away: away + outer,
                    along,
                    height,
                    against: Zone::Bend(id),
                });
            }
            Zone::Form(_) => {}
        }
    }
    let length = |c: &Contact| c.along[1] - c.along[0];
    found.sort_by(|a, b| length(b).total_cmp(&length(a)).then(a.away.total_cmp(&b.away)));
    found
}

/// Least turn at which the outer face of a flange is upright, in rad: a right angle within half a degree.
const UPRIGHT_RAD: f64 = 89.5 * maths::PI / 180.0;

/// Distance from the wing's start and reach along it of a straight piece that runs along the bend.
fn parallel(piece: &Segment, pose: &Pose) -> Option<(f64, [f64; 2])> {
    if piece.curvature() != 0.0 {
        return None;
    }
    let [a, b] = [piece.start, piece.end].map(|p| pose.point(Vec3::new(p.x, p.y, 0.0)));
    let along = [a.x.min(b.x), a.x.max(b.x)];
    let length = along[1] - along[0];
    let level = (a.y - b.y).abs() <= tolerance::GAUGE_MM && length >= LEAST_CONTACT_MM && a.y > 0.0;
    level.then_some((0.5 * (a.y + b.y), along))
}
