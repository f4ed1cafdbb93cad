//! Sews a form into the boundary: its flat top, and on both faces of the sheet the rings between the top and
//! the foot in the panel.
//!
//! Invariant: the edges at top and foot are those of the flats beside them; every ring has one face for each
//! piece of the top's outline. Must not know: how a form was asked for.

use crate::fold::{Form, FormFace, FormSurface, NormalSense, Patch};
use crate::geom::{Curve, Placement, Region, Segment, Vec3};
use crate::history::feature::BumpSide;
use crate::ident::{FormId, VertexId};

use super::brep::{CircleArc, Curve3, FacePart, Sense, Surface3, Use};
use super::sewing::{Lie, Sewing, SheetSide, turned};
use super::{Surface, Zone};

impl Sewing<'_> {
    /// All faces of a form over a panel with this region and frame; `foot` has the edges of the panel's hole
    /// for it.
    pub(super) fn form(
        &mut self,
        id: FormId,
        form: &Form,
        panel: &Region,
        frame: Placement<f64>,
        foot: &[Vec<Use>; 2],
    ) {
        let (rise, raised) = match form.side {
            BumpSide::In => (1.0, SheetSide::Inner),
            BumpSide::Out => (-1.0, SheetSide::Outer),
        };
        let lifted = Placement { origin: frame.point(0.0, 0.0, rise * form.section.height), ..frame };
        let top = form.top_region(panel);
        let posts = self.plain_posts(top.contours(), lifted);
        let zone = Zone::Form(id);
        let mut upper = self.zone(zone, &top, &posts, Lie::Flat(lifted), None, 0..1);
        let Some(upper) = upper.pop() else { return };
        let patches: Vec<Patch<'_>> = form.patches().collect();
        for side in SheetSide::BOTH {
            let face = if side == raised { FormFace::Raised } else { FormFace::Hollow };
            let rings: Vec<&[Patch<'_>]> = patches
                .chunks(form.top().segments().len())
                .filter(|ring| ring.iter().all(|patch| patch.face == face))
                .collect();
            // The panel's hole runs the other way round.
            let lower: Vec<Use> = foot[side.index()].iter().rev().map(|u| u.reversed()).collect();
            let mut levels = vec![upper[side.index()].clone()];
            for ring in rings.split_last().map_or(&[][..], |(_, above)| above) {
                levels.push(self.level(form, ring[0].across, frame));
            }
            levels.push(lower);
            self.share_chords(form, &levels);
            for (ring, level) in rings.iter().zip(levels.windows(2)) {
                self.ring(form, (zone, side), ring, [&level[0], &level[1]], (frame, rise));
            }
        }
    }

    /// The edges between two rings.
    fn level(&mut self, form: &Form, across: Segment, frame: Placement<f64>) -> Vec<Use> {
        let (offset, depth) = (across.end.x, form.depth(across.end.y));
        let outline = form.outline_at(offset);
        let pieces = outline.segments();
        let vertices: Vec<VertexId> =
            pieces.iter().map(|piece| self.vertex(frame.lift(piece.start, depth))).collect();
        (0..pieces.len())
            .map(|i| {
                let ends = [vertices[i], vertices[(i + 1) % pieces.len()]];
                let edge = self.edge(ends, Lie::Flat(frame).curve(&pieces[i], depth), None);
                Use { edge, sense: Sense::Same }
            })
            .collect()
    }

    /// Lets the edges over one piece have as many chords as the widest of them.
    fn share_chords(&mut self, form: &Form, levels: &[Vec<Use>]) {
        for (index, (top, foot)) in form.top().segments().iter().zip(form.foot().segments()).enumerate() {
            let (Curve::Arc { radius: a, .. }, Curve::Arc { radius: b, .. }) = (top.curve, foot.curve) else {
                continue;
            };
            for level in levels {
                self.brep.edges[level[index].edge.index()].chord_radius = Some(a.max(b));
            }
        }
    }

    /// The faces between two levels.
    fn ring(
        &mut self,
        form: &Form,
        (zone, side): (Zone, SheetSide),
        patches: &[Patch<'_>],
        [upper, lower]: [&[Use]; 2],
        (frame, rise): (Placement<f64>, f64),
    ) {
        let across = patches[0].across;
        let count = patches.len();
        let centres = match across.curve {
            Curve::Line => None,
            Curve::Arc { centre, .. } => Some(form.outline_at(centre.x)),
        };
        let edges: Vec<Use> = (0..count)
            .map(|i| {
                let ends = [self.brep.ends(upper[i])[0], self.brep.ends(lower[i])[0]];
                let curve = match (across.curve, &centres) {
                    (Curve::Arc { centre, radius, turn }, Some(outline)) => {
                        let out = form.top().segments()[i].start_direction().right();
                        let (out, up) = (frame.direction(out.x, out.y, 0.0), frame.n.times(rise));
                        let centre = frame.lift(outline.segments()[i].start, form.depth(centre.y));
                        let axis = out.cross(up).times(turn.sign());
                        Curve3::Circle(CircleArc { centre, axis, radius, sweep: across.sweep().abs() })
                    }
                    _ => Curve3::Line,
                };
                Use { edge: self.edge(ends, curve, None), sense: Sense::Same }
            })
            .collect();
        for (i, patch) in patches.iter().enumerate() {
            let run = [edges[i], lower[i], edges[(i + 1) % count].reversed(), upper[i].reversed()];
            let first_loop = self.brep.loops.len();
            let surface = match side {
                SheetSide::Inner => {
                    self.brep.add_loop(run.into_iter());
                    Surface::Inner
                }
                SheetSide::Outer => {
                    self.brep.add_loop(run.into_iter().rev().map(Use::reversed));
                    Surface::Outer
                }
            };
            let (carrier, outward) = carrier(form, patch, frame);
            let part = FacePart::Form { side: surface, ring: patch.ring };
            self.brep.add_face(carrier, outward, zone, part, first_loop);
        }
    }
}

/// The surface of a patch in space, and whether its own normal points out of the metal.
fn carrier(form: &Form, patch: &Patch<'_>, frame: Placement<f64>) -> (Surface3, Sense) {
    let place = |p: Vec3<f64>| frame.point(p.x, p.y, p.z);
    let direction = |d: Vec3<f64>| frame.direction(d.x, d.y, d.z);
    let sense = |normal: NormalSense| match normal {
        NormalSense::Away => Sense::Same,
        NormalSense::Towards => Sense::Reversed,
    };
    let middle = patch.point(0.5, 0.5);
    // Angles count from opposite the middle of the patch, so that no face crosses their start.
    let about = |point: Vec3<f64>, axis: Vec3<f64>| {
        let out = middle - point;
        let radial = out - axis.times(out.dot(axis));
        turned(place(point), direction(axis), direction(radial.times(-1.0 / radial.length())))
    };
    match patch.surface {
        FormSurface::Plane { point, normal } => {
            let along = form.top().segments()[patch.piece].start_direction();
            let x = frame.direction(along.x, along.y, 0.0);
            (Surface3::Plane(turned(place(point), direction(normal), x)), Sense::Same)
        }
        FormSurface::Cylinder { point, axis, radius, normal } => {
            (Surface3::Cylinder { frame: about(point, axis), radius }, sense(normal))
        }
        FormSurface::Cone { point, axis, radius, half_angle, normal } => {
            (Surface3::Cone { frame: about(point, axis), radius, half_angle }, sense(normal))
        }
        FormSurface::Torus { centre, axis, ring_radius, tube_radius, normal } => {
            (Surface3::Torus { frame: about(centre, axis), ring_radius, tube_radius }, sense(normal))
        }
    }
}
