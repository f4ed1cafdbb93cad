//! Punches, dies and the press brake as plain values, with a small default set.
//!
//! Job: say what stands in the way when sheet is folded, seen along the bend: outlines in the plane across it.
//! Coordinates `(y, z)` in mm: y to the back of the brake (towards the gauge), z up.
//! Invariant: a punch has its tip at the origin and reaches up, a die has the middle of its opening there and
//! reaches down; the default set has invented names and is drawn from trade practice (common practice, no source).
//! Must not know: the part.

use crate::geom::Point2;
use crate::quantity::maths;

use super::shop::V_OPENINGS;

/// A punch, straight along the bend.
#[derive(Clone, Debug, PartialEq)]
pub struct Punch {
    /// What the shop calls it.
    pub name: String,
    /// Its outline, counter-clockwise with y to the right and z up, in mm; the tip is the origin.
    pub outline: Vec<Point2>,
    /// Angle between its flanks at the tip, in degrees.
    pub angle_deg: f64,
    /// Radius of the tip in mm.
    pub tip_radius: f64,
    /// Height from tip to ram in mm.
    pub height: f64,
    /// Force that it stands, in kN for each metre.
    pub most_kn_per_m: f64,
}

/// A die with one V.
#[derive(Clone, Debug, PartialEq)]
pub struct Die {
    /// What the shop calls it.
    pub name: String,
    /// Width of the V at the top in mm.
    pub opening: f64,
    /// Angle of the V in degrees.
    pub angle_deg: f64,
    /// Its outline with the V, counter-clockwise, in mm; the top is at z = 0 and the V's middle at y = 0.
    pub outline: Vec<Point2>,
    /// Height from its foot to the top in mm.
    pub height: f64,
    /// Force that it stands, in kN for each metre.
    pub most_kn_per_m: f64,
}

/// What moves and what stands around the tools.
#[derive(Clone, Debug, PartialEq)]
pub struct PressBrake {
    /// What the shop calls it.
    pub name: String,
    /// Clear width between the side frames in mm.
    pub between_frames: f64,
    /// How far behind the bend the side frames stand open, in mm.
    pub throat: f64,
    /// Force in kN.
    pub force_kn: f64,
    /// Greatest distance between ram and bed, tools taken out, in mm.
    pub daylight: f64,
    /// Outline of the ram: the middle of the punch's seat is the origin, and it reaches up.
    pub ram: Vec<Point2>,
    /// Outline of the bed: the middle of the die's seat is the origin, and it reaches down.
    pub bed: Vec<Point2>,
    /// Nearest and farthest place of the back gauge from the bend, in mm.
    pub gauge_reach: [f64; 2],
    /// Width along the bend, height and depth of a gauge finger, in mm.
    pub gauge_finger: [f64; 3],
}

/// Everything that a shop folds with.
#[derive(Clone, Debug, PartialEq)]
pub struct Tooling {
    /// The machine.
    pub brake: PressBrake,
    /// Punches, the one taken first in front.
    pub punches: Vec<Punch>,
    /// Dies, narrow ones first.
    pub dies: Vec<Die>,
    /// Lengths in mm of the segments that every punch and die is made up from, each there once.
    pub segments: Vec<f64>,
    /// How much shorter than the bend the tools may be, both ends together, in mm.
    pub shortfall: f64,
}

/// Widest opening of the default acute dies in mm.
const WIDEST_ACUTE_MM: f64 = 25.0;

impl Die {
    /// A die with a V between two flat shoulders, on a square block.
    #[must_use]
    pub fn with_v(name: String, opening: f64, angle_deg: f64, shoulder: f64, height: f64) -> Self {
        let half = 0.5 * opening;
        let depth = half / maths::tan((0.5 * angle_deg).to_radians());
        let side = half + shoulder;
        let outline = points(&[
            (-side, 0.0),
            (-side, -height),
            (side, -height),
            (side, 0.0),
            (half, 0.0),
            (0.0, -depth),
            (-half, 0.0),
        ]);
        Self { name, opening, angle_deg, outline, height, most_kn_per_m: 1000.0 }
    }
}

impl Default for Tooling {
    /// A mid-sized brake with a straight, a relieved, an acute and a tall punch, and dies for sheet up to 8 mm.
    fn default() -> Self {
        let right = V_OPENINGS.iter().map(|&v| {
            let (shoulder, angle) = (4.0 + 0.1 * v, if v <= 32.0 { 84.0 } else { 78.0 });
            Die::with_v(format!("V{v}"), v, angle, shoulder, 120.0_f64.max(0.8 * v))
        });
        let acute = V_OPENINGS
            .iter()
            .filter(|v| **v <= WIDEST_ACUTE_MM)
            .map(|&v| Die::with_v(format!("sharp V{v}"), v, 30.0, 4.0 + 0.2 * v, 120.0));
        Self {
            brake: PressBrake {
                name: "Packhouse 3000".to_owned(),
                between_frames: 2550.0,
                throat: 400.0,
                force_kn: 1000.0,
                daylight: 560.0,
                ram: points(&[(-25.0, 0.0), (45.0, 0.0), (45.0, 900.0), (-25.0, 900.0)]),
                bed: points(&[(-45.0, 0.0), (-45.0, -900.0), (45.0, -900.0), (45.0, 0.0)]),
                gauge_reach: [5.0, 750.0],
                gauge_finger: [20.0, 12.0, 60.0],
            },
            punches: vec![straight_punch(), relieved_punch(), acute_punch(), tall_punch()],
            dies: right.chain(acute).collect(),
            segments: vec![
                10.0, 15.0, 20.0, 25.0, 30.0, 35.0, 40.0, 45.0, 50.0, 100.0, 100.0, 200.0, 300.0, 500.0,
                500.0, 500.0, 500.0,
            ],
            shortfall: 6.0,
        }
    }
}

/// The same thickness up to the ram.
fn straight_punch() -> Punch {
    upright_punch("straight", 9.0, 84.0, 1000.0)
}

/// For turns well beyond a right angle.
fn acute_punch() -> Punch {
    upright_punch("acute", 32.5, 28.0, 700.0)
}

/// Alike on both sides, as thick as its neck from this height above the tip on, in mm.
fn upright_punch(name: &str, tip_height: f64, angle_deg: f64, most_kn_per_m: f64) -> Punch {
    Punch {
        name: name.to_owned(),
        outline: points(&[
            (0.0, 0.0),
            (8.0, tip_height),
            (8.0, 95.0),
            (15.0, 102.0),
            (15.0, 150.0),
            (-15.0, 150.0),
            (-15.0, 102.0),
            (-8.0, 95.0),
            (-8.0, tip_height),
        ]),
        angle_deg,
        tip_radius: 0.8,
        height: 150.0,
        most_kn_per_m,
    }
}

/// Stands back from what rises in front of it, and comes forward again below the ram.
fn relieved_punch() -> Punch {
    Punch {
        name: "relieved".to_owned(),
        outline: points(&[
            (0.0, 0.0),
            (40.0, 46.0),
            (42.0, 86.0),
            (20.0, 112.0),
            (20.0, 150.0),
            (-15.0, 150.0),
            (-15.0, 118.0),
            (22.0, 86.0),
            (22.0, 46.0),
            (-3.0, 13.0),
            (-3.0, 3.4),
        ]),
        angle_deg: 84.0,
        tip_radius: 0.8,
        height: 150.0,
        most_kn_per_m: 500.0,
    }
}

/// Relieved so far up that a wall higher than its neighbour is away leans over the bend below the ram.
///
/// Its web of 30 mm stands up to 43 mm behind the tip: bent by 300 kN a metre it is strained by
/// `300 · 43 / (30² / 6) + 300 / 30 = 96 N/mm²`.
fn tall_punch() -> Punch {
    Punch {
        name: "tall".to_owned(),
        outline: points(&[
            (0.0, 0.0),
            (58.0, 66.0),
            (58.0, 256.0),
            (20.0, 300.0),
            (20.0, 340.0),
            (-15.0, 340.0),
            (-15.0, 306.0),
            (28.0, 256.0),
            (28.0, 46.0),
            (-3.0, 13.0),
            (-3.0, 3.4),
        ]),
        angle_deg: 84.0,
        tip_radius: 0.8,
        height: 340.0,
        most_kn_per_m: 300.0,
    }
}

fn points(corners: &[(f64, f64)]) -> Vec<Point2> {
    corners.iter().map(|&(y, z)| Point2::new(y, z)).collect()
}

/// Share of the opening that the inside radius comes to in air bending, `[least, usual, most]`.
///
/// Mild steel 0.15 to 0.17 (FORCE-AMA, seen; 1/6 in FORCE-SMME, seen), stainless 0.20 to 0.22 (FAB-20, from memory),
/// aluminium 0.13 to 0.15 (FAB-20, seen). Brass as mild steel (common practice, no source).
#[must_use]
pub fn air_bend_radius_share(material_name: &str) -> [f64; 3] {
    if material_name.starts_with("1.4") {
        [0.20, 0.21, 0.22]
    } else if material_name.starts_with("EN AW") {
        [0.13, 0.14, 0.15]
    } else {
        [0.15, 1.0 / 6.0, 0.17]
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn area(outline: &[Point2]) -> f64 {
        let next = outline.iter().cycle().skip(1);
        outline.iter().zip(next).map(|(a, b)| 0.5 * (a.x * b.y - a.y * b.x)).sum()
    }

    #[test]
    fn default_tools_stand_as_they_say() {
        let shop = Tooling::default();
        for punch in &shop.punches {
            let top = punch.outline.iter().map(|p| p.y).fold(0.0, f64::max);
            assert!(punch.outline[0] == Point2::ORIGIN && top == punch.height, "{}", punch.name);
            assert!(area(&punch.outline) > 0.0, "{} runs clockwise", punch.name);
            // Nothing stands out of the two flanks, so that the wings may rise as far as the angle says.
            let half = (0.5 * punch.angle_deg).to_radians();
            let within = |p: &Point2| p.x.abs() <= p.y * maths::tan(half) + 1e-9;
            assert!(punch.outline.iter().all(within), "{}", punch.name);
        }
        for die in &shop.dies {
            let bottom = die.outline.iter().map(|p| p.y).fold(0.0, f64::min);
            assert!(bottom == -die.height && area(&die.outline) > 0.0, "{}", die.name);
        }
        assert!(area(&shop.brake.ram) > 0.0 && area(&shop.brake.bed) > 0.0);
    }

    #[test]
    fn the_v_of_a_die_by_hand() {
        // Half of 12 mm over tan 42° = 6.664 mm deep.
        let die = Die::with_v("V12".to_owned(), 12.0, 84.0, 5.0, 100.0);
        assert!((die.outline[5].y + 6.6637).abs() < 1e-4);
        assert_eq!(die.outline[3], Point2::new(11.0, 0.0));
    }
}
