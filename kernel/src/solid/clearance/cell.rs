//! Pieces of the metal, each with a convex hull that is nearly the piece itself.
//!
//! A hull of a round piece misses it by a little, for which bounds are known; parts of the piece have hulls that
//! miss it by less. So any question about the true metal can be answered by parting those few pieces on which the
//! answer hangs. Derivation: `docs/math/clearance.md`.
//!
//! Invariant: the parts of a piece cover it, the whole of it and nothing else; a hull holds its piece, and every
//! point of it lies within [`Shell::excess`] of the piece. Must not know: neighbours.

use crate::fold::{Patch, StripMap};
use crate::geom::{Box3, Curve, Hull, Placement, Point2, RolledTriangle, RoundSide, Segment, Vec2, Vec3};
use crate::quantity::{maths, tolerance};
use crate::solid::Zone;

use super::plan::Plan;

/// A piece of one zone.
#[derive(Clone, Debug)]
pub(super) struct Cell<'a> {
    pub(super) zone: Zone,
    lump: Lump<'a>,
}

#[derive(Clone, Debug)]
enum Lump<'a> {
    /// A plane figure between two heights over a plane.
    Flat { frame: Placement<f64>, plan: Plan, heights: [f64; 2] },
    /// A box of the flat strip, rolled.
    Sector(Sector),
    /// Any other figure of the flat strip, rolled, between two depths.
    Rolled { map: StripMap, plan: Plan, depths: [f64; 2] },
    /// What lies between two patches of a bump that face each other.
    Wall(Box<Wall<'a>>),
}

#[derive(Clone, Copy, Debug)]
struct Sector {
    map: StripMap,
    along: [f64; 2],
    across: [f64; 2],
    thickness: f64,
}

#[derive(Clone, Copy, Debug)]
struct Wall<'a> {
    frame: Placement<f64>,
    faces: [Patch<'a>; 2],
    /// The piece of the outline of the foot that it runs along.
    foot: Segment,
    along: [f64; 2],
    across: [f64; 2],
}

/// A hull that holds what it stands for.
#[derive(Clone, Debug)]
pub(super) struct Shell {
    pub(super) hull: Hull,
    /// How far it may reach beyond what it stands for, in mm.
    pub(super) excess: f64,
}

impl Shell {
    /// Whether the hull is as good as what it stands for.
    pub(super) fn is_fine(&self) -> bool {
        self.excess <= tolerance::CLEARANCE_MM
    }

    /// The box around it.
    pub(super) fn extent(&self) -> Box3 {
        Box3::of_body(&self.hull)
    }
}

/// A piece of a ring about an axis in which a round piece lies: no nearer to the axis, no farther along it, and
/// between two directions from it.
#[derive(Clone, Copy, Debug)]
pub(super) struct Ring {
    /// A point of the axis.
    pub(super) centre: Vec3<f64>,
    /// Its direction, of length one.
    pub(super) axis: Vec3<f64>,
    /// Least distance from the axis in mm.
    pub(super) radius: f64,
    /// From where to where it reaches along the axis from the centre, in mm.
    pub(super) along: [f64; 2],
    /// Unit vectors from the axis to both ends, less than half a turn apart.
    pub(super) ends: [Vec3<f64>; 2],
}

impl Ring {
    /// How far a way from the centre leads at most along a direction from the axis to a place of the ring, in mm.
    pub(super) fn farthest_toward(&self, way: Vec3<f64>) -> f64 {
        let [one, other] = self.ends;
        let at_ends = way.dot(one).max(way.dot(other));
        let across = way - self.axis.times(way.dot(self.axis));
        let is_between = one.cross(across).dot(one.cross(other)) >= 0.0
            && across.cross(other).dot(one.cross(other)) >= 0.0;
        if is_between { across.length() } else { at_ends }
    }
}

/// No rolled piece turns through more in rad, so that its hull is not far off it.
const COARSEST_RAD: f64 = maths::PI / 6.0;

impl<'a> Cell<'a> {
    /// A figure of a panel's plane between two heights.
    pub(super) fn flat(zone: Zone, frame: Placement<f64>, plan: Plan, heights: [f64; 2]) -> Self {
        Self { zone, lump: Lump::Flat { frame, plan, heights } }
    }

    /// A box of a strip that is rolled, in pieces.
    pub(super) fn sectors(
        zone: Zone,
        map: StripMap,
        [along, across]: [[f64; 2]; 2],
        thickness: f64,
    ) -> impl Iterator<Item = Self> {
        let turn = map.angle_at(across[1]) - map.angle_at(across[0]);
        #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "a few")]
        let count = ((turn / COARSEST_RAD).ceil() as u32).max(1);
        (0..count).map(move |index| {
            let at = |index: u32| across[0] + (across[1] - across[0]) * (f64::from(index) / f64::from(count));
            let across = [at(index), at(index + 1)];
            Self { zone, lump: Lump::Sector(Sector { map, along, across, thickness }) }
        })
    }

    /// A figure of a strip that is rolled, in pieces.
    pub(super) fn rolled(zone: Zone, map: StripMap, plan: Plan, thickness: f64) -> Vec<Self> {
        let mut found = Vec::new();
        let mut pending = vec![plan];
        while let Some(plan) = pending.pop() {
            if turn(&map, plan) > COARSEST_RAD {
                pending.extend(plan.parts());
            } else {
                found.push(Self { zone, lump: Lump::Rolled { map, plan, depths: [-thickness, 0.0] } });
            }
        }
        found
    }

    /// What lies between two patches of a bump that face each other, in pieces.
    pub(super) fn walls(
        zone: Zone,
        frame: Placement<f64>,
        faces: [Patch<'a>; 2],
        foot: Segment,
    ) -> Vec<Self> {
        let whole = Wall { frame, faces, foot, along: [0.0, 1.0], across: [0.0, 1.0] };
        let mut found = Vec::new();
        let mut pending = vec![whole];
        while let Some(wall) = pending.pop() {
            let [along, across] = wall.turns();
            if along.max(across) > COARSEST_RAD {
                pending.extend(wall.halves());
            } else {
                found.push(Self { zone, lump: Lump::Wall(Box::new(wall)) });
            }
        }
        found
    }

    /// Its hull.
    pub(super) fn shell(&self) -> Shell {
        match &self.lump {
            Lump::Flat { frame, plan, heights } => flat_shell(frame, *plan, *heights),
            Lump::Sector(sector) => sector.shell(),
            Lump::Rolled { map, plan, depths } => rolled_shell(map, *plan, *depths),
            Lump::Wall(wall) => wall.shell(),
        }
    }

    /// Its parts.
    pub(super) fn parts(&self) -> Vec<Self> {
        let zone = self.zone;
        match &self.lump {
            Lump::Flat { frame, plan, heights } => {
                plan.parts().into_iter().map(|plan| Self::flat(zone, *frame, plan, *heights)).collect()
            }
            Lump::Sector(sector) => {
                let [from, to] = sector.across;
                let middle = 0.5 * (from + to);
                [[from, middle], [middle, to]]
                    .map(|across| Self { zone, lump: Lump::Sector(Sector { across, ..*sector }) })
                    .to_vec()
            }
            Lump::Rolled { map, plan, depths } => {
                let [low, high] = *depths;
                let angle = turn(map, *plan);
                if high - low > angle * outer_radius(map, *depths) {
                    let middle = 0.5 * (low + high);
                    return [[low, middle], [middle, high]]
                        .map(|depths| Self { zone, lump: Lump::Rolled { map: *map, plan: *plan, depths } })
                        .to_vec();
                }
                let parts = plan.parts().into_iter();
                parts
                    .map(|plan| Self { zone, lump: Lump::Rolled { map: *map, plan, depths: *depths } })
                    .collect()
            }
            Lump::Wall(wall) => {
                wall.halves().map(|wall| Self { zone, lump: Lump::Wall(Box::new(wall)) }).to_vec()
            }
        }
    }

    /// The ring in which a piece lies whose round face is hollow; none if it has none.
    pub(super) fn ring(&self) -> Option<Ring> {
        match &self.lump {
            Lump::Flat { frame, plan: Plan::Corner(arc), heights } => Some(Ring {
                centre: frame.lift(arc.centre, 0.0),
                axis: frame.n,
                radius: arc.radius,
                along: *heights,
                ends: arc.between.map(|angle| {
                    let out = Vec2::unit(angle);
                    frame.direction(out.x, out.y, 0.0)
                }),
            }),
            Lump::Sector(Sector { map, along, across, thickness }) => {
                Some(ring(map, *along, *across, [0.0, -thickness]))
            }
            Lump::Rolled { map, plan, depths } => {
                let around = plan.around();
                Some(ring(map, ends(around.map(|p| p.x)), ends(around.map(|p| p.y)), *depths))
            }
            Lump::Flat { .. } | Lump::Wall(_) => None,
        }
    }

    /// Unit vectors square to its faces, or along its axis.
    pub(super) fn normals(&self) -> Vec<Vec3<f64>> {
        match &self.lump {
            Lump::Flat { frame, .. } => vec![frame.n, frame.x, frame.y],
            Lump::Sector(Sector { map, across, .. }) => {
                vec![map.normal(0.5 * (across[0] + across[1])), map.start().x]
            }
            Lump::Rolled { map, plan, .. } => vec![map.normal(plan.around()[1].y), map.start().x],
            Lump::Wall(wall) => {
                let local = wall.faces[0].normal(wall.along[0], wall.across[0]);
                vec![wall.frame.direction(local.x, local.y, local.z), wall.frame.n]
            }
        }
    }

    /// Unit vectors along the sheet and square to the sides of a flat piece.
    pub(super) fn sides(&self) -> Vec<Vec3<f64>> {
        match &self.lump {
            Lump::Flat { frame, plan, .. } => {
                let [a, b, c] = plan.around();
                let square = |side: Vec2| {
                    let out = side.normalized().right();
                    frame.direction(out.x, out.y, 0.0)
                };
                [b - a, c - b, a - c].map(square).to_vec()
            }
            Lump::Sector(_) | Lump::Rolled { .. } | Lump::Wall(_) => Vec::new(),
        }
    }
}

fn flat_shell(frame: &Placement<f64>, plan: Plan, heights: [f64; 2]) -> Shell {
    let prism = |base: [Point2; 3]| {
        let [low, high] = heights.map(|height| base.map(|p| frame.lift(p, height)));
        Hull::new(&[low[0], low[1], low[2], high[0], high[1], high[2]])
    };
    match plan {
        Plan::Triangle(corners) => Shell { hull: prism(corners), excess: 0.0 },
        Plan::Slice(arc) => {
            let [from, to] = arc.ends();
            let [low, high] = heights.map(|height| [from, to].map(|p| frame.lift(p, height)));
            let out = Vec2::unit(arc.middle_angle());
            let hull = Hull::new(&[low[0], low[1], high[0], high[1]]).rounded(RoundSide {
                centre: frame.lift(arc.centre, heights[0]),
                along: frame.n.times(heights[1] - heights[0]),
                toward: frame.direction(out.x, out.y, 0.0),
                beside: frame.direction(-out.y, out.x, 0.0),
                least_cosine: maths::cos(arc.half_angle()),
                radius: arc.radius,
            });
            Shell { hull, excess: 0.0 }
        }
        Plan::Corner(arc) => Shell { hull: prism(plan.around()), excess: arc.sagitta() },
    }
}

impl Sector {
    fn shell(&self) -> Shell {
        let map = &self.map;
        let depths = [0.0, -self.thickness];
        let [one, other] = depths.map(|depth| map.radius(depth));
        let (inner, outer) = if one < other { (depths[0], depths[1]) } else { (depths[1], depths[0]) };
        let corner = |x: usize, y: usize, depth: f64| map.point(self.along[x], self.across[y], depth);
        let points = [inner, outer].map(|depth| {
            [corner(0, 0, depth), corner(0, 1, depth), corner(1, 0, depth), corner(1, 1, depth)]
        });
        let half = 0.5 * (map.angle_at(self.across[1]) - map.angle_at(self.across[0]));
        let centre = map.axis_point(self.along[0]);
        let radius = map.radius(outer);
        let middle = 0.5 * (self.across[0] + self.across[1]);
        let toward = (map.point(self.along[0], middle, outer) - centre).times(1.0 / radius);
        let axis = map.start().x;
        let hull = Hull::new(&points.concat()).rounded(RoundSide {
            centre,
            along: axis.times(self.along[1] - self.along[0]),
            toward,
            beside: axis.cross(toward),
            least_cosine: maths::cos(half),
            radius,
        });
        let sin = maths::sin(0.5 * half);
        Shell { hull, excess: 2.0 * map.radius(inner) * sin * sin }
    }
}

/// The piece of a ring between two places along a bend and two across it, outside of the inner one of two depths.
fn ring(map: &StripMap, along: [f64; 2], across: [f64; 2], [one, other]: [f64; 2]) -> Ring {
    let radius = map.radius(one).min(map.radius(other));
    let ends = across.map(|across| map.normal(across).times(-map.sign()));
    Ring { centre: map.axis_point(0.0), axis: map.start().x, radius, along, ends }
}

/// The least and the largest.
fn ends([a, b, c]: [f64; 3]) -> [f64; 2] {
    [a.min(b).min(c), a.max(b).max(c)]
}

/// Angle in rad through which a figure of a strip turns.
fn turn(map: &StripMap, plan: Plan) -> f64 {
    let [low, high] = ends(plan.around().map(|p| p.y));
    map.angle_at(high) - map.angle_at(low)
}

fn outer_radius(map: &StripMap, depths: [f64; 2]) -> f64 {
    map.radius(depths[0]).max(map.radius(depths[1]))
}

fn rolled_shell(map: &StripMap, plan: Plan, depths: [f64; 2]) -> Shell {
    let base = plan.around();
    let [low, high] = depths.map(|depth| base.map(|p| map.point(p.x, p.y, depth)));
    let radius = outer_radius(map, depths);
    let axis = map.start().x;
    let angles = base.map(|p| map.angle_at(p.y));
    let [least, most] = ends(angles);
    let (middle, angle) = (0.5 * (least + most), most - least);
    let centre = map.axis_point(0.0);
    let across = middle * map.allowance() / map.angle();
    let toward = map.normal(across).times(-map.sign());
    let beside = map.heading(across);
    let corners = [0, 1, 2].map(|i| Point2::new(base[i].x, angles[i] - middle));
    let hull = Hull::new(&[low[0], low[1], low[2], high[0], high[1], high[2]]).with_rolled(RolledTriangle {
        centre,
        axis,
        toward,
        beside,
        radius,
        corners,
    });
    // A step across the strip becomes longer outside of the fibre that keeps its length.
    let stretch = (radius * map.angle() / map.allowance()).max(1.0);
    let arcs = stretch
        * match plan {
            Plan::Triangle(_) => 0.0,
            Plan::Slice(arc) => arc.tip_height(),
            Plan::Corner(arc) => arc.sagitta(),
        };
    let bulge = radius * angle * angle / 8.0;
    // A mean of inner and outer corners lies nearer to the angle of the outer ones.
    let twist = 0.25 * (depths[1] - depths[0]) * angle;
    Shell { hull, excess: 2.0 * bulge + arcs + twist }
}

impl Wall<'_> {
    /// Angles in rad through which it turns, along the outline and across the section.
    fn turns(&self) -> [f64; 2] {
        let share = |ends: [f64; 2]| ends[1] - ends[0];
        [self.foot.sweep().abs() * share(self.along), self.faces[0].across.sweep().abs() * share(self.across)]
    }

    fn halves(&self) -> [Self; 2] {
        let [along, across] = self.bulges();
        let halved = |[from, to]: [f64; 2]| [[from, 0.5 * (from + to)], [0.5 * (from + to), to]];
        if along >= across {
            halved(self.along).map(|along| Self { along, ..*self })
        } else {
            halved(self.across).map(|across| Self { across, ..*self })
        }
    }

    /// How far the hull may be off because of the turn along and across, in mm.
    fn bulges(&self) -> [f64; 2] {
        let [along, across] = self.turns();
        let section = self.faces.map(|face| radius(&face.across)).into_iter().fold(0.0, f64::max);
        // The outline is rounder nearer to the top where it turns to the right.
        let width = self.faces.iter().map(|f| f.across.end.x).fold(0.0, f64::max);
        let outline = radius(&self.foot) + if along > 0.0 { width } else { 0.0 };
        [outline * along * along / 8.0, section * (1.0 / maths::cos(0.5 * across) - 1.0)]
    }

    /// The section's corners, and where the tangents of the face that bulges meet, are moved along the outline.
    fn shell(&self) -> Shell {
        let mut points = Vec::with_capacity(10);
        for face in &self.faces {
            for along in self.along {
                let [from, to] = self.across.map(|across| face.point(along, across));
                points.extend([from, to]);
                if let Curve::Arc { radius, .. } = face.across.curve {
                    // Away from the chord, as far as the tangents meet.
                    let half = 0.5 * self.turns()[1];
                    let middle = face.point(along, 0.5 * (self.across[0] + self.across[1]));
                    let chord = (from + to).times(0.5);
                    let sagitta = radius * (1.0 - maths::cos(half));
                    let height = radius * (1.0 / maths::cos(half) - maths::cos(half));
                    if self.bulges_out(face) {
                        points.push(chord + (middle - chord).times(height / sagitta));
                    }
                }
            }
        }
        let placed: Vec<Vec3<f64>> = points.iter().map(|p| self.frame.point(p.x, p.y, p.z)).collect();
        let [outline, section] = self.bulges();
        let hull = Hull::new(&placed).swollen(self.frame.n, outline);
        Shell { hull, excess: section + 2.0 * outline }
    }

    /// Whether a face bulges out of the metal across the section: of two round faces about one centre the larger.
    fn bulges_out(&self, face: &Patch<'_>) -> bool {
        let largest = self.faces.map(|face| radius(&face.across)).into_iter().fold(0.0, f64::max);
        radius(&face.across) >= largest
    }
}

/// Radius of a piece in mm; zero for a line.
fn radius(piece: &Segment) -> f64 {
    match piece.curve {
        Curve::Line => 0.0,
        Curve::Arc { radius, .. } => radius,
    }
}
