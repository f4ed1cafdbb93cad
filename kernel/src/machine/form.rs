//! The forms that neighbours have, each about its own origin, with its datums.
//!
//! A form lies in coordinates of its own: its axis, or the normal of its main face, is z. Sizes are checked by
//! whoever describes it. Invariant: the prisms of a form leave nothing of it out; hexagons have sharp corners here,
//! where real ones are a little rounded. Must not know: where it stands.

use crate::geom::{Placement, Point2, Vec3};
use crate::quantity::maths;

use super::{Datum, Disc, Named, NeighbourKind, Prism, Shape, Surface};

/// A form with its sizes in mm.
#[derive(Clone, Debug, PartialEq)]
pub enum Form {
    /// A bolt: its head bears at the origin, and its shank runs along z.
    Bolt(BoltForm),
    /// A round bar from the origin along z.
    Shaft {
        /// Diameter.
        diameter: f64,
        /// Length.
        length: f64,
    },
    /// A plate: the middle of its face is the origin, and the plate lies behind it.
    Plate {
        /// Sizes along x and y.
        size: [f64; 2],
        /// How far it reaches behind its face.
        thickness: f64,
    },
    /// A cuboid: the middle of its bottom is the origin.
    Block {
        /// Sizes along x, y and z.
        size: [f64; 3],
    },
    /// A chain or belt around wheels whose middle planes are z = 0; what the wheels and the loop enclose is filled.
    DriveLoop {
        /// Two wheels at least.
        wheels: Vec<Wheel>,
        /// Width of chain or belt along z, half of it on each side.
        width: f64,
        /// How far chain or belt stands out beyond the wheels' radii.
        height: f64,
    },
    /// Triangles.
    Mesh(Surface),
}

/// A wheel of a drive.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Wheel {
    /// Its middle.
    pub centre: Point2,
    /// Radius of the pitch circle.
    pub radius: f64,
}

/// A hexagon bolt with what belongs to it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct BoltForm {
    /// Diameter of the thread.
    pub thread: f64,
    /// Width of head and nut across flats.
    pub across_flats: f64,
    /// Height of the head.
    pub head: f64,
    /// Outside diameter and thickness of the washer under the head, if there is one.
    pub washer: Option<[f64; 2]>,
    /// Where the nut bears, counted from the origin, and its height, if there is one.
    pub nut: Option<[f64; 2]>,
    /// Where the shank ends.
    pub end: BoltEnd,
}

/// Where the shank of a bolt ends.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum BoltEnd {
    /// This far from under the head, as bolts are ordered.
    Length(f64),
    /// This far from the face at which its head, or the washer under it, bears.
    FromSeat(f64),
}

impl BoltForm {
    /// Thickness of the washer, zero without one.
    fn washer_thickness(&self) -> f64 {
        self.washer.map_or(0.0, |[_, thickness]| thickness)
    }

    /// Height of the head's top over the face at which head or washer bears.
    #[must_use]
    pub fn head_top(&self) -> f64 {
        self.washer_thickness() + self.head
    }

    /// Where the shank ends, from that face.
    #[must_use]
    pub fn end(&self) -> f64 {
        match self.end {
            BoltEnd::Length(length) => length - self.washer_thickness(),
            BoltEnd::FromSeat(end) => end,
        }
    }

    /// Radius of the circle around the head and its washer.
    #[must_use]
    pub fn head_radius(&self) -> f64 {
        let washer = self.washer.map_or(0.0, |[outside, _]| outside / 2.0);
        corner_radius(self.across_flats).max(washer)
    }
}

/// From the middle of a hexagon to its corners: `s / (2 cos 30°) = s / √3`.
fn corner_radius(across_flats: f64) -> f64 {
    across_flats / 3.0_f64.sqrt()
}

/// A hexagon across flats, two of which are square to y.
fn hexagon(across_flats: f64, reach: [f64; 2]) -> Prism {
    let radius = corner_radius(across_flats);
    let corner = |i: u32| {
        let (sin, cos) = maths::sin_cos(f64::from(i) * maths::PI / 3.0);
        Disc { centre: Point2::new(radius * cos, radius * sin), radius: 0.0 }
    };
    Prism { placement: Placement::identity(), discs: (0..6).map(corner).collect(), reach }
}

fn cylinder(diameter: f64, reach: [f64; 2]) -> Prism {
    Prism::cylinder(Placement::identity(), diameter / 2.0, reach)
}

const UP: Vec3<f64> = Vec3 { x: 0.0, y: 0.0, z: 1.0 };

fn height(z: f64) -> Vec3<f64> {
    Vec3::new(0.0, 0.0, z)
}

fn named(name: &str, datum: Datum) -> Named {
    Named { name: name.to_owned(), datum }
}

impl Form {
    /// What it is.
    #[must_use]
    pub fn kind(&self) -> NeighbourKind {
        match self {
            Self::Bolt(_) => NeighbourKind::Bolt,
            Self::Shaft { .. } => NeighbourKind::Shaft,
            Self::Plate { .. } => NeighbourKind::Plate,
            Self::Block { .. } => NeighbourKind::Block,
            Self::DriveLoop { .. } => NeighbourKind::DriveLoop,
            Self::Mesh(_) => NeighbourKind::Mesh,
        }
    }

    /// The space that it takes up where it stands.
    #[must_use]
    pub fn shapes(&self) -> Vec<Shape> {
        let prisms = match self {
            Self::Mesh(surface) => return vec![Shape::Surface(surface.clone())],
            Self::Bolt(bolt) => {
                let under_head = -bolt.washer_thickness();
                let head = hexagon(bolt.across_flats, [-bolt.head_top(), under_head]);
                let mut all = vec![head, cylinder(bolt.thread, [under_head, bolt.end()])];
                all.extend(bolt.washer.map(|[outside, thickness]| cylinder(outside, [-thickness, 0.0])));
                all.extend(bolt.nut.map(|[grip, nut]| hexagon(bolt.across_flats, [grip, grip + nut])));
                all
            }
            Self::Shaft { diameter, length } => vec![cylinder(*diameter, [0.0, *length])],
            Self::Plate { size, thickness } => {
                vec![Prism::cuboid(Placement::identity(), *size, [-thickness, 0.0])]
            }
            Self::Block { size: [width, depth, height] } => {
                vec![Prism::cuboid(Placement::identity(), [*width, *depth], [0.0, *height])]
            }
            Self::DriveLoop { wheels, width, height } => {
                let disc = |wheel: &Wheel| Disc { centre: wheel.centre, radius: wheel.radius + height };
                let reach = [-width / 2.0, width / 2.0];
                let discs = wheels.iter().map(disc).collect();
                vec![Prism { placement: Placement::identity(), discs, reach }]
            }
        };
        prisms.into_iter().map(Shape::Prism).collect()
    }

    /// Its axes, planes and points; planes look out of it.
    #[must_use]
    pub fn datums(&self) -> Vec<Named> {
        let axis = named("axis", Datum::Axis(height(0.0), UP));
        let point = |name, z| named(name, Datum::Point(height(z)));
        let above = |name, z| named(name, Datum::Plane(height(z), UP));
        let below = |name, z| named(name, Datum::Plane(height(z), -UP));
        match self {
            Self::Bolt(bolt) => {
                let (top, end) = (-bolt.head_top(), bolt.end());
                let mut all = vec![
                    axis,
                    point("seat", 0.0),
                    point("head", top),
                    point("end", end),
                    below("seat", 0.0),
                    below("head", top),
                    above("end", end),
                ];
                all.extend(bolt.nut.map(|[grip, nut]| above("nut", grip + nut)));
                all
            }
            Self::Shaft { length, .. } => vec![
                axis,
                point("start", 0.0),
                point("end", *length),
                below("start", 0.0),
                above("end", *length),
            ],
            Self::Plate { thickness, .. } => {
                vec![axis, point("face", 0.0), above("face", 0.0), below("back", -thickness)]
            }
            Self::Block { size: [width, depth, tall] } => {
                let side = |name, out: Vec3<f64>, half: f64| {
                    named(name, Datum::Plane(out.times(half) + height(tall / 2.0), out))
                };
                let (x, y) = (Vec3::new(1.0, 0.0, 0.0), Vec3::new(0.0, 1.0, 0.0));
                vec![
                    axis,
                    point("bottom", 0.0),
                    point("top", *tall),
                    below("bottom", 0.0),
                    above("top", *tall),
                    side("right", x, width / 2.0),
                    side("left", -x, width / 2.0),
                    side("back", y, depth / 2.0),
                    side("front", -y, depth / 2.0),
                ]
            }
            Self::DriveLoop { wheels, width, .. } => {
                let axes = wheels.iter().zip(1..).map(|(wheel, number)| {
                    let centre = Vec3::new(wheel.centre.x, wheel.centre.y, 0.0);
                    named(&format!("wheel-{number}"), Datum::Axis(centre, UP))
                });
                let mut all: Vec<Named> = axes.collect();
                all.extend([above("front", width / 2.0), below("back", -width / 2.0)]);
                all
            }
            Self::Mesh(_) => vec![axis, point("origin", 0.0), below("origin", 0.0)],
        }
    }
}

#[cfg(test)]
mod tests {
    use super::super::Piece;
    use super::*;
    use crate::geom::Box3;

    fn extent(form: &Form) -> [[f64; 3]; 2] {
        let mut all = [[f64::INFINITY; 3], [f64::NEG_INFINITY; 3]];
        for shape in form.shapes() {
            let Box3 { low, high } = Piece::still(shape).extent().unwrap();
            let [low, high] = [low, high].map(|v| [v.x, v.y, v.z]);
            for i in 0..3 {
                all[0][i] = all[0][i].min(low[i]);
                all[1][i] = all[1][i].max(high[i]);
            }
        }
        all.map(|v| v.map(|x| (x * 1000.0).round() / 1000.0))
    }

    /// M10 x 30 with washer and nut on a grip of 12: across flats 16, so 18.475 across corners; washer 20 x 2; head 6.4;
    /// the end is 30 - 2 behind the seat.
    #[test]
    fn bolt_reaches_from_the_top_of_its_head_to_its_end() {
        let mut bolt = BoltForm {
            thread: 10.0,
            across_flats: 16.0,
            head: 6.4,
            washer: None,
            nut: None,
            end: BoltEnd::Length(30.0),
        };
        assert_eq!(extent(&Form::Bolt(bolt)), [[-9.238, -8.0, -6.4], [9.238, 8.0, 30.0]]);
        bolt.washer = Some([20.0, 2.0]);
        bolt.nut = Some([12.0, 8.4]);
        assert_eq!(extent(&Form::Bolt(bolt)), [[-10.0, -10.0, -8.4], [10.0, 10.0, 28.0]]);
        assert_eq!(bolt.head_radius(), 10.0);
        // Three turns of thread, 4.5 mm, beyond the nut.
        bolt.end = BoltEnd::FromSeat(12.0 + 8.4 + 4.5);
        assert_eq!(extent(&Form::Bolt(bolt))[1][2], 24.9);
        let find = |name: &str| Form::Bolt(bolt).datums().into_iter().rfind(|n| n.name == name).unwrap();
        assert_eq!(find("nut").datum, Datum::Plane(height(20.4), UP));
        assert_eq!(find("head").datum, Datum::Plane(height(-8.4), -UP));
    }

    #[test]
    fn other_forms_reach_as_far_as_their_sizes_say() {
        let shaft = Form::Shaft { diameter: 25.0, length: 140.0 };
        assert_eq!(extent(&shaft), [[-12.5, -12.5, 0.0], [12.5, 12.5, 140.0]]);
        let plate = Form::Plate { size: [200.0, 120.0], thickness: 8.0 };
        assert_eq!(extent(&plate), [[-100.0, -60.0, -8.0], [100.0, 60.0, 0.0]]);
        let block = Form::Block { size: [60.0, 40.0, 30.0] };
        assert_eq!(extent(&block), [[-30.0, -20.0, 0.0], [30.0, 20.0, 30.0]]);
        let wheel = |x, y, radius| Wheel { centre: Point2::new(x, y), radius };
        let wheels = vec![wheel(0.0, 0.0, 60.0), wheel(220.0, 0.0, 35.0), wheel(110.0, -80.0, 20.0)];
        let chain = Form::DriveLoop { wheels, width: 12.0, height: 6.0 };
        assert_eq!(extent(&chain), [[-66.0, -106.0, -6.0], [261.0, 66.0, 6.0]]);
    }
}
