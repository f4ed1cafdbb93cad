//! A formed bump with all numbers put in: outline of its flat top, cross-section, and the exact surfaces
//! that the section makes round the outline.
//!
//! A form lies over its panel, whose region stays whole: whoever draws takes the flat around the forms from
//! [`around_forms`] and the flat top from [`Form::top_region`], and joins them by [`Form::patches`].
//! Invariant: the top's outline runs counter-clockwise without corners; every other outline of the form is
//! the top's, moved outwards; patches that meet share their corners bit for bit, with each other and with
//! the outlines of [`Form::top`] and [`Form::foot`]. Must not know: how a form was asked for.
//!
//! Coordinates are those of the panel `(x, y, n)`, with the sheet between `n = 0` and `n = −t`.

use std::borrow::Cow;

use crate::geom::{
    ArcTurn, BoundingBox, Contour, Curve, Nesting, Point2, Region, Segment, Vec2, Vec3, nesting,
};
use crate::history::feature::BumpSide;
use crate::ident::{FeatureId, PanelId};
use crate::quantity::{maths, tolerance};

use super::form_section::{FormFace, FormSection, Level, Ring};

/// A local raised form of one panel.
#[derive(Clone, Debug, PartialEq)]
pub struct Form {
    /// Its lasting name: the feature's, followed by the role of its place where there are several.
    pub name: String,
    /// The feature that made it.
    pub feature: FeatureId,
    /// The panel it lies over.
    pub panel: PanelId,
    /// To which side it rises.
    pub side: BumpSide,
    /// Its cross-section.
    pub section: FormSection,
    top: Contour,
    /// Unit vector outwards at the start of each piece of the top's outline, at right angles to it.
    outwards: Vec<Vec2>,
    /// What each piece of the top's outline is called.
    roles: Vec<String>,
    foot: Contour,
}

/// The surface that carries a patch; all directions are unit vectors, all radii in mm.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum FormSurface {
    /// A plane.
    Plane {
        /// A point of it.
        point: Vec3<f64>,
        /// Normal, out of the metal.
        normal: Vec3<f64>,
    },
    /// A cylinder.
    Cylinder {
        /// A point of its axis.
        point: Vec3<f64>,
        /// Direction of its axis.
        axis: Vec3<f64>,
        /// Radius.
        radius: f64,
        /// Where the metal's normal points.
        normal: NormalSense,
    },
    /// A cone.
    Cone {
        /// A point of its axis.
        point: Vec3<f64>,
        /// Direction of its axis in which the radius grows.
        axis: Vec3<f64>,
        /// Radius at the point, above zero.
        radius: f64,
        /// Angle in rad between axis and surface.
        half_angle: f64,
        /// Where the metal's normal points.
        normal: NormalSense,
    },
    /// A torus. Where the tube's radius is above the ring's, the patch is of the outer sheet, that farther
    /// from the axis.
    Torus {
        /// Its centre.
        centre: Vec3<f64>,
        /// Direction of its axis.
        axis: Vec3<f64>,
        /// Radius of the circle on which the tube's centre runs, above zero.
        ring_radius: f64,
        /// Radius of the tube.
        tube_radius: f64,
        /// Where the metal's normal points, seen from the centre of the tube.
        normal: NormalSense,
    },
}

/// Where the normal out of the metal points.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum NormalSense {
    /// Away from the axis, or from the centre of the tube.
    Away,
    /// Towards it.
    Towards,
}

impl NormalSense {
    /// `+1` away, `-1` towards.
    #[must_use]
    pub fn sign(self) -> f64 {
        match self {
            Self::Away => 1.0,
            Self::Towards => -1.0,
        }
    }

    fn when_away(away: bool) -> Self {
        if away { Self::Away } else { Self::Towards }
    }
}

/// One face of a form: a part of its cross-section, moved along one piece of the top's outline.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Patch<'a> {
    form: &'a Form,
    /// Which part of the cross-section.
    pub ring: Ring,
    /// Which face of the sheet.
    pub face: FormFace,
    /// Index of the piece of [`Form::top`] along which it runs.
    pub piece: usize,
    /// That part of the cross-section, as (offset from the top's outline, height over the panel's raised
    /// face), from the top towards the foot.
    pub across: Segment,
    /// The surface that carries it.
    pub surface: FormSurface,
}

impl Patch<'_> {
    /// The four corners: at the piece's start on the side of the top and on that of the foot, then at the
    /// piece's end on the side of the foot and on that of the top.
    ///
    /// The edges between are, in this order: `across` at the start, the foot-side ring, `across` at the end,
    /// the top-side ring run backwards.
    #[must_use]
    pub fn corners(&self) -> [Vec3<f64>; 4] {
        let next = (self.piece + 1) % self.form.top.segments().len();
        let at = |vertex, p: Point2| self.form.lift(self.form.vertex(vertex, p.x), p.y);
        let Segment { start, end, .. } = self.across;
        [at(self.piece, start), at(self.piece, end), at(next, end), at(next, start)]
    }

    /// The point at share `along` of the piece and share `across` of the section, both from 0 to 1.
    #[must_use]
    pub fn point(&self, along: f64, across: f64) -> Vec3<f64> {
        let p = self.across.point_at(across);
        self.form.lift(self.form.moved_piece(self.piece, p.x).point_at(along), p.y)
    }

    /// Unit normal out of the metal there.
    #[must_use]
    pub fn normal(&self, along: f64, across: f64) -> Vec3<f64> {
        let at_share = Segment { end: self.across.point_at(across), ..self.across };
        let direction = match self.across.curve {
            Curve::Line => self.across.end_direction(),
            Curve::Arc { .. } if across <= 0.0 => self.across.start_direction(),
            Curve::Arc { .. } => at_share.end_direction(),
        };
        // Left of the way from top to foot lies the air over the raised face.
        let sign = match self.face {
            FormFace::Raised => 1.0,
            FormFace::Hollow => -1.0,
        };
        let (out, up) = (-direction.y * sign, direction.x * sign);
        let outwards = self.form.outwards_at(self.piece, along) * out;
        Vec3::new(outwards.x, outwards.y, up * self.form.rise())
    }
}

impl Form {
    /// A form over a top whose outline is given; `roles` are the names of its pieces.
    ///
    /// The outline must run counter-clockwise without corners, its foot must not meet itself, and arcs to the
    /// right must have a radius above the section's width.
    pub(super) fn new(
        (name, feature, panel): (String, FeatureId, PanelId),
        side: BumpSide,
        section: FormSection,
        top: Contour,
        roles: Vec<String>,
    ) -> Self {
        let outwards = top.segments().iter().map(|s| s.start_direction().right()).collect();
        let mut form = Self { name, feature, panel, side, section, foot: top.clone(), top, outwards, roles };
        form.foot = form.outline_at(form.section.width());
        form
    }

    /// Outline of the flat top: where the punch fillets end, on both faces.
    #[must_use]
    pub fn top(&self) -> &Contour {
        &self.top
    }

    /// Outline of the foot: where the die fillets end in the panel, on both faces.
    #[must_use]
    pub fn foot(&self) -> &Contour {
        &self.foot
    }

    /// What a piece of the top's outline is called: the role of the profile's edge, or of both edges with
    /// `+` between for the rounded corner between them.
    #[must_use]
    pub fn role(&self, piece: usize) -> &str {
        &self.roles[piece]
    }

    /// The outline `offset` mm outside the top's, from 0 to the section's width; piece `i` runs beside piece
    /// `i` of the top.
    #[must_use]
    pub fn outline_at(&self, offset: f64) -> Contour {
        let pieces = (0..self.top.segments().len()).map(|i| self.moved_piece(i, offset)).collect();
        Contour::new(pieces).expect("arcs to the right are wider than the form, so that no piece vanishes")
    }

    /// Position along the panel's normal of a height over the raised face.
    #[must_use]
    pub fn depth(&self, height: f64) -> f64 {
        match self.side {
            BumpSide::In => height,
            BumpSide::Out => -self.section.thickness - height,
        }
    }

    /// Position along the panel's normal of the flat top's face.
    #[must_use]
    pub fn top_depth(&self, face: FormFace) -> f64 {
        self.depth(self.section.level(face, Level::Top))
    }

    /// The flat top with those of the panel's openings that lie in it; the same for both faces.
    #[must_use]
    pub fn top_region(&self, panel: &Region) -> Region {
        let openings = panel.holes().filter(|hole| self.carries(hole)).cloned();
        Region::from_oriented(std::iter::once(self.top.clone()).chain(openings).collect())
    }

    /// Whether a hole of the panel lies in the flat top.
    #[must_use]
    pub fn carries(&self, hole: &Contour) -> bool {
        self.top.bounding_box().touches(hole.bounding_box()) && nesting(hole, &self.top) == Nesting::Inside
    }

    /// Every curved or inclined face of the form: for both faces of the sheet, each part of the
    /// cross-section round each piece of the top's outline.
    pub fn patches(&self) -> impl Iterator<Item = Patch<'_>> {
        FormFace::BOTH.into_iter().flat_map(move |face| {
            self.section.profile(face).into_iter().flat_map(move |(ring, across)| {
                (0..self.top.segments().len()).map(move |piece| Patch {
                    form: self,
                    ring,
                    face,
                    piece,
                    across,
                    surface: self.surface(ring, face, piece, across),
                })
            })
        })
    }

    /// What the form adds to the volume in mm³ of its panel, drawn flat and with the thickness of the sheet
    /// everywhere.
    #[must_use]
    pub fn added_volume(&self) -> f64 {
        let flat = self.top.signed_area() - self.foot.signed_area();
        flat * self.section.thickness + self.section.ring_volume(self.top.length())
    }

    /// What the form adds to the surface in mm² of its panel.
    #[must_use]
    pub fn added_surface(&self) -> f64 {
        let flat = 2.0 * (self.top.signed_area() - self.foot.signed_area());
        let outline = self.top.length();
        flat + FormFace::BOTH.map(|face| self.section.ring_surface(face, outline)).iter().sum::<f64>()
    }

    /// The smallest box of the foot, in the panel.
    #[must_use]
    pub fn bounding_box(&self) -> BoundingBox {
        self.foot.bounding_box()
    }

    /// `+1` if the form rises along the panel's normal, `-1` against it.
    fn rise(&self) -> f64 {
        match self.side {
            BumpSide::In => 1.0,
            BumpSide::Out => -1.0,
        }
    }

    fn lift(&self, p: Point2, height: f64) -> Vec3<f64> {
        Vec3::new(p.x, p.y, self.depth(height))
    }

    /// The start of a piece, moved outwards: the one place where points of outlines are made.
    fn vertex(&self, index: usize, offset: f64) -> Point2 {
        self.top.segments()[index].start + self.outwards[index] * offset
    }

    fn moved_piece(&self, index: usize, offset: f64) -> Segment {
        let piece = self.top.segments()[index];
        let next = (index + 1) % self.top.segments().len();
        let curve = match piece.curve {
            Curve::Line => Curve::Line,
            Curve::Arc { centre, radius, turn } => {
                Curve::Arc { centre, radius: radius + turn.sign() * offset, turn }
            }
        };
        Segment { start: self.vertex(index, offset), end: self.vertex(next, offset), curve, tag: piece.tag }
    }

    fn outwards_at(&self, index: usize, along: f64) -> Vec2 {
        let piece = self.top.segments()[index];
        match piece.curve {
            Curve::Line => self.outwards[index],
            Curve::Arc { centre, turn, .. } => (piece.point_at(along) - centre).normalized() * turn.sign(),
        }
    }

    fn surface(&self, ring: Ring, face: FormFace, index: usize, across: Segment) -> FormSurface {
        let piece = self.top.segments()[index];
        let n = Vec3::new(0.0, 0.0, 1.0);
        // Of the fillets, the punch's raised face and the die's hollow one bulge.
        let bulges = matches!(
            (ring, face),
            (Ring::PunchFillet, FormFace::Raised) | (Ring::DieFillet, FormFace::Hollow)
        );
        match (piece.curve, across.curve) {
            (Curve::Line, Curve::Line) => {
                let (point, direction) = (self.vertex(index, across.start.x), across.start_direction());
                let sign = if face == FormFace::Raised { 1.0 } else { -1.0 };
                let out = self.outwards[index] * (-direction.y * sign);
                let normal = Vec3::new(out.x, out.y, direction.x * sign * self.rise());
                FormSurface::Plane { point: self.lift(point, across.start.y), normal }
            }
            (Curve::Line, Curve::Arc { centre, radius, .. }) => {
                let along = piece.start_direction();
                FormSurface::Cylinder {
                    point: self.lift(self.vertex(index, centre.x), centre.y),
                    axis: Vec3::new(along.x, along.y, 0.0),
                    radius,
                    normal: NormalSense::when_away(bulges),
                }
            }
            (Curve::Arc { centre, radius, turn }, Curve::Line) => {
                let radius_at = |offset: f64| radius + turn.sign() * offset;
                let (upper, lower) = (radius_at(across.start.x), radius_at(across.end.x));
                // The raised face looks outwards from the top, which is away from the centre of a left turn.
                let normal = NormalSense::when_away((turn == ArcTurn::Left) == (face == FormFace::Raised));
                if self.section.draft <= tolerance::FLAT_RAD {
                    let point = self.lift(centre, across.start.y);
                    return FormSurface::Cylinder { point, axis: n, radius: upper, normal };
                }
                // Left turns widen towards the foot, right turns towards the top.
                let (point, least, sign) = match turn {
                    ArcTurn::Left => (across.start.y, upper, -self.rise()),
                    ArcTurn::Right => (across.end.y, lower, self.rise()),
                };
                FormSurface::Cone {
                    point: self.lift(centre, point),
                    axis: n.times(sign),
                    radius: least,
                    half_angle: self.section.draft,
                    normal,
                }
            }
            (Curve::Arc { centre, radius, turn }, Curve::Arc { centre: tube, radius: tube_radius, .. }) => {
                FormSurface::Torus {
                    centre: self.lift(centre, tube.y),
                    axis: n,
                    ring_radius: radius + turn.sign() * tube.x,
                    tube_radius,
                    normal: NormalSense::when_away(bulges),
                }
            }
        }
    }
}

/// What is left of a panel's region around its forms: the feet become holes, the last ones, and openings in a
/// top go with the top.
#[must_use]
pub fn around_forms<'a>(panel: &'a Region, forms: &[&Form]) -> Cow<'a, Region> {
    if forms.is_empty() {
        return Cow::Borrowed(panel);
    }
    let stays = |c: &&Contour| c.signed_area() > 0.0 || !forms.iter().any(|form| form.carries(c));
    let around = panel.contours().iter().filter(stays).cloned();
    Cow::Owned(Region::from_oriented(around.chain(forms.iter().map(|form| form.foot.reversed())).collect()))
}

impl FormSurface {
    /// Distance of a point from the surface in mm, and the unit normal out of the metal at its foot.
    #[must_use]
    pub fn distance_and_normal(&self, p: Vec3<f64>) -> (f64, Vec3<f64>) {
        let unit = |v: Vec3<f64>| v.times(1.0 / v.length());
        let from_axis = |point: Vec3<f64>, axis: Vec3<f64>| {
            let d = p - point;
            let along = d.dot(axis);
            (along, d - axis.times(along))
        };
        match *self {
            Self::Plane { point, normal } => ((p - point).dot(normal), normal),
            Self::Cylinder { point, axis, radius, normal } => {
                let (_, radial) = from_axis(point, axis);
                (radial.length() - radius, unit(radial).times(normal.sign()))
            }
            Self::Cone { point, axis, radius, half_angle, normal } => {
                let (along, radial) = from_axis(point, axis);
                let (sin, cos) = maths::sin_cos(half_angle);
                let distance = (radial.length() - radius) * cos - along * sin;
                (distance, (unit(radial).times(cos) - axis.times(sin)).times(normal.sign()))
            }
            Self::Torus { centre, axis, ring_radius, tube_radius, normal } => {
                let (along, radial) = from_axis(centre, axis);
                let tube = unit(radial).times(radial.length() - ring_radius) + axis.times(along);
                (tube.length() - tube_radius, unit(tube).times(normal.sign()))
            }
        }
    }
}
