//! The cross-section of a formed bump, at right angles to the outline of its top.
//!
//! It lies in a plane with the offset from the top's outline (mm, outwards) as abscissa and the height over
//! the panel's raised face (mm) as ordinate. From top to panel: punch fillet, straight wall, die fillet; all
//! three have the sheet's thickness, and the two faces are parallel. Derivation:
//! `docs/math/formed-bump.md`. Invariant: neighbouring pieces share their ends bit for bit and run into each
//! other smoothly. Must not know: the outline in plan, panels.

use crate::geom::{ArcTurn, Curve, Point2, Segment, Tag};
use crate::quantity::{maths, tolerance};

/// A part of the cross-section, and the ring of surface that it makes round the top.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Ring {
    /// From the flat top to the wall.
    PunchFillet,
    /// The straight wall.
    Wall,
    /// From the wall to the panel.
    DieFillet,
}

impl Ring {
    /// `punch_fillet`, `wall` or `die_fillet`.
    #[must_use]
    pub fn word(self) -> &'static str {
        match self {
            Self::PunchFillet => "punch_fillet",
            Self::Wall => "wall",
            Self::DieFillet => "die_fillet",
        }
    }
}

/// A face of the sheet, as the form shows it.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum FormFace {
    /// The face to whose side the form rises; the die touches it at the foot.
    Raised,
    /// The other face; the punch touches it at the top.
    Hollow,
}

impl FormFace {
    /// Both faces.
    pub const BOTH: [Self; 2] = [Self::Raised, Self::Hollow];
}

/// Numbers of a cross-section, in mm and rad.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct FormSection {
    /// Thickness of the sheet.
    pub thickness: f64,
    /// From the panel's face to the top's face of the same side.
    pub height: f64,
    /// Angle of the wall from the panel's normal, from 0 to below π/2.
    pub draft: f64,
    /// Radius of the punch fillet's hollow face.
    pub punch_radius: f64,
    /// Radius of the die fillet's raised face.
    pub die_radius: f64,
}

/// What a strip of metal or a line of the cross-section amounts to.
#[derive(Clone, Copy, Debug, PartialEq)]
struct Moments {
    /// Area in mm², or length in mm.
    size: f64,
    /// Integral of the offset over it, in mm³ or mm².
    first: f64,
}

impl FormSection {
    /// Angle in rad through which the sheet is turned at either fillet: `π/2 − draft`.
    #[must_use]
    pub fn turn(&self) -> f64 {
        maths::FRAC_PI_2 - self.draft
    }

    /// Distance in mm from the mould line to the end of the die fillet: `r_d tan(turn/2)`.
    #[must_use]
    pub fn die_reach(&self) -> f64 {
        self.die_radius * maths::tan(0.5 * self.turn())
    }

    /// Distance in mm from where wall and top would meet on the raised face to the punch fillet's ends:
    /// `(r_p + t) tan(turn/2)`.
    #[must_use]
    pub fn punch_reach(&self) -> f64 {
        (self.punch_radius + self.thickness) * maths::tan(0.5 * self.turn())
    }

    /// Distance in mm from the top's outline to the mould line: `h tan(draft) + (r_p + t) tan(turn/2)`.
    #[must_use]
    pub fn setback(&self) -> f64 {
        self.height * maths::tan(self.draft) + self.punch_reach()
    }

    /// Distance in mm from the top's outline to the foot, where the die fillet ends in the panel.
    #[must_use]
    pub fn width(&self) -> f64 {
        self.setback() + self.die_reach()
    }

    /// Length of the straight wall in mm: `h / cos(draft)` less what both fillets take of it. Negative if the
    /// height is too small for them.
    #[must_use]
    pub fn wall_length(&self) -> f64 {
        self.height / maths::cos(self.draft) - self.die_reach() - self.punch_reach()
    }

    /// Smallest height in mm for these fillets and this draft; the wall then has no length.
    #[must_use]
    pub fn least_height(&self) -> f64 {
        (self.die_reach() + self.punch_reach()) * maths::cos(self.draft)
    }

    /// Height in mm of a face where it is flat, at the panel or at the top.
    #[must_use]
    pub fn level(&self, face: FormFace, at: Level) -> f64 {
        let raised = match at {
            Level::Top => self.height,
            Level::Panel => 0.0,
        };
        match face {
            FormFace::Raised => raised,
            FormFace::Hollow => raised - self.thickness,
        }
    }

    /// The line of one face from the top's outline to the foot, as lines and arcs over (offset, height). The
    /// wall is left out if it has no length.
    #[must_use]
    pub fn profile(&self, face: FormFace) -> Vec<(Ring, Segment)> {
        let (sin, cos) = maths::sin_cos(self.draft);
        let (punch, die) = match face {
            FormFace::Raised => (self.punch_radius + self.thickness, self.die_radius),
            FormFace::Hollow => (self.punch_radius, self.die_radius + self.thickness),
        };
        let punch_centre = Point2::new(0.0, self.height - self.punch_radius - self.thickness);
        let die_centre = Point2::new(self.width(), self.die_radius);
        let top = Point2::new(0.0, self.level(face, Level::Top));
        let foot = Point2::new(self.width(), self.level(face, Level::Panel));
        let upper = Point2::new(punch * cos, punch_centre.y + punch * sin);
        let lower = Point2::new(die_centre.x - die * cos, die_centre.y - die * sin);
        let has_wall = self.wall_length() > tolerance::SNAP_MM;
        let lower_start = if has_wall { lower } else { upper };
        let arc = |start, end, centre, radius, turn| {
            let curve = Curve::Arc { centre, radius, turn };
            Segment { start, end, curve, tag: Tag::default() }
        };
        let mut pieces = vec![(Ring::PunchFillet, arc(top, upper, punch_centre, punch, ArcTurn::Right))];
        if has_wall {
            pieces.push((Ring::Wall, Segment::line(upper, lower, Tag::default())));
        }
        pieces.push((Ring::DieFillet, arc(lower_start, foot, die_centre, die, ArcTurn::Left)));
        pieces
    }

    /// Length in mm of the sheet's middle layer from the top's outline to the foot.
    #[must_use]
    pub fn developed_length(&self) -> f64 {
        let half = 0.5 * self.thickness;
        self.turn() * (self.die_radius + half + self.punch_radius + half) + self.wall_length()
    }

    /// True strain of the cross-section if metal comes from nowhere else: `ln(developed / plan)`.
    #[must_use]
    pub fn true_strain(&self) -> f64 {
        maths::ln(self.developed_length() / self.width())
    }

    /// Elongation of the cross-section as a share: `developed / plan − 1`.
    #[must_use]
    pub fn elongation(&self) -> f64 {
        self.developed_length() / self.width() - 1.0
    }

    /// Share of the thickness that is lost when the cross-section is stretched and the outline keeps its
    /// length: `1 − exp(−true strain)`.
    #[must_use]
    pub fn thinning(&self) -> f64 {
        1.0 - self.width() / self.developed_length()
    }

    /// Volume in mm³ of the ring of metal round a top whose smooth outline is `outline` mm long: by Pappus
    /// and Guldin, a straight piece sweeps the section's area along its length and an arc round its centre;
    /// all arcs together turn once, so that the ring is `area · outline + 2π · first moment`.
    #[must_use]
    pub fn ring_volume(&self, outline: f64) -> f64 {
        swept(self.metal(), outline)
    }

    /// Surface in mm² of one face of that ring.
    #[must_use]
    pub fn ring_surface(&self, face: FormFace, outline: f64) -> f64 {
        let pieces = self.profile(face);
        let total = pieces.iter().fold(Moments { size: 0.0, first: 0.0 }, |sum, (_, s)| {
            let length = s.length();
            let first = match s.curve {
                Curve::Line => length * 0.5 * (s.start.x + s.end.x),
                Curve::Arc { centre, radius, turn } => {
                    length * centre.x + radius * turn.sign() * (s.end.y - s.start.y)
                }
            };
            Moments { size: sum.size + length, first: sum.first + first }
        });
        swept(total, outline)
    }

    /// Area and first moment of the metal between the two faces.
    fn metal(&self) -> Moments {
        let (sin, cos) = maths::sin_cos(self.draft);
        let t = self.thickness;
        // A sector of a tube about a centre at offset `c`, on the side `sign` of it.
        let fillet = |inner: f64, c: f64, sign: f64| {
            let outer = inner + t;
            let area = 0.5 * self.turn() * (outer * outer - inner * inner);
            let about_centre = (outer * outer * outer - inner * inner * inner) / 3.0 * (1.0 - sin);
            Moments { size: area, first: c * area + sign * about_centre }
        };
        let punch = fillet(self.punch_radius, 0.0, 1.0);
        let die = fillet(self.die_radius, self.width(), -1.0);
        let wall_area = self.wall_length() * t;
        let upper = (self.punch_radius + t) * cos;
        let lower = self.width() - self.die_radius * cos;
        let wall_middle = 0.5 * (upper + lower) - 0.5 * t * cos;
        Moments {
            size: punch.size + wall_area + die.size,
            first: punch.first + wall_area * wall_middle + die.first,
        }
    }
}

/// Where a form is flat.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Level {
    /// The flat top.
    Top,
    /// The panel around.
    Panel,
}

fn swept(moments: Moments, outline: f64) -> f64 {
    moments.size * outline + maths::TAU * moments.first
}

#[cfg(test)]
mod tests {
    use super::*;

    fn degrees(angle: f64) -> f64 {
        angle * (maths::PI / 180.0)
    }

    #[test]
    fn section_of_an_upright_wall_by_hand() {
        // t = 2, h = 20, r_p = 3, r_d = 4: fillets of a quarter turn, wall 20 − 4 − 5 = 11.
        let s = FormSection { thickness: 2.0, height: 20.0, draft: 0.0, punch_radius: 3.0, die_radius: 4.0 };
        assert!((s.setback() - 5.0).abs() < 1e-12);
        assert!((s.width() - 9.0).abs() < 1e-12);
        assert!((s.wall_length() - 11.0).abs() < 1e-12);
        assert!((s.least_height() - 9.0).abs() < 1e-12);
        // Middle layer: π/2 (4 + 5) + 11 = 25.13717 over 9 mm.
        assert!((s.developed_length() - 25.137_166_941_154_07).abs() < 1e-12);
        assert!((s.thinning() - (1.0 - 9.0 / 25.137_166_941_154_07)).abs() < 1e-12);
    }

    #[test]
    fn section_of_a_wall_at_45_degrees_by_hand() {
        // t = 1, h = 4, both tools 1 mm: tan 22.5° = √2 − 1; setback 4 + 2 (√2 − 1) = 4.828427,
        // die reach 0.414214, wall 4 √2 − 3 (√2 − 1) = √2 + 3.
        let s = FormSection {
            thickness: 1.0,
            height: 4.0,
            draft: degrees(45.0),
            punch_radius: 1.0,
            die_radius: 1.0,
        };
        let root = 2.0_f64.sqrt();
        assert!((s.setback() - (2.0 + 2.0 * root)).abs() < 1e-12);
        assert!((s.width() - (1.0 + 3.0 * root)).abs() < 1e-12);
        assert!((s.wall_length() - (root + 3.0)).abs() < 1e-12);
        // π/4 · 3 + √2 + 3 = 6.770408 over 5.242641: true strain ln 1.291412 = 0.255736.
        assert!((s.true_strain() - 0.255_736).abs() < 1e-6, "{}", s.true_strain());
    }

    #[test]
    fn faces_run_smoothly_from_top_to_foot_a_thickness_apart() {
        for (draft, height) in [(0.0, 12.0), (20.0, 9.0), (45.0, 5.0), (80.0, 6.0)] {
            let s = FormSection {
                thickness: 1.5,
                height,
                draft: degrees(draft),
                punch_radius: 2.0,
                die_radius: 3.0,
            };
            let [raised, hollow] = FormFace::BOTH.map(|face| s.profile(face));
            for pieces in [&raised, &hollow] {
                assert_eq!(pieces.len(), 3);
                for pair in pieces.windows(2) {
                    assert_eq!(pair[0].1.end, pair[1].1.start);
                    let (a, b) = (pair[0].1.end_direction(), pair[1].1.start_direction());
                    assert!(a.dot(b) > 1.0 - 1e-12);
                }
                assert!(pieces[0].1.start_direction().x > 1.0 - 1e-12);
                assert!(pieces[2].1.end_direction().x > 1.0 - 1e-12);
            }
            for ((_, over), (_, under)) in raised.iter().zip(&hollow) {
                for share in [0.0, 0.3, 0.8, 1.0] {
                    let apart = over.point_at(share).distance(under.point_at(share));
                    assert!((apart - 1.5).abs() < 1e-12);
                }
            }
        }
    }

    #[test]
    fn a_wall_without_length_is_left_out() {
        let mut s =
            FormSection { thickness: 1.0, height: 1.0, draft: 0.0, punch_radius: 2.0, die_radius: 2.0 };
        s.height = s.least_height();
        let pieces = s.profile(FormFace::Raised);
        assert_eq!(pieces.len(), 2);
        assert_eq!(pieces[0].1.end, pieces[1].1.start);
    }

    #[test]
    fn round_bump_without_fillets_is_a_hollow_cone_frustum() {
        // Mensuration of the frustum of a cone (handbook formula): V = π h (R² + R r + r²) / 3. With sharp
        // edges on the hollow side and r_d = 0 on the raised side the outer body has fillets of radius t only;
        // with t → 0 nothing of them is left, and the ring is t times the mantle π s (R + r).
        let (height, r_top, draft) = (10.0, 20.0, degrees(30.0));
        let s = FormSection { thickness: 1e-7, height, draft, punch_radius: 0.0, die_radius: 0.0 };
        let r_foot = r_top + height * maths::tan(draft);
        let mantle = maths::PI * height / maths::cos(draft) * (r_top + r_foot);
        let outline = maths::TAU * r_top;
        assert!((s.ring_surface(FormFace::Raised, outline) - mantle).abs() < 1e-4);
        assert!((s.ring_volume(outline) / 1e-7 - mantle).abs() < 1e-4);
    }

    #[test]
    fn upright_round_bump_by_handbook_formulas() {
        // As the first test, round, top radius 30. Tube: π (R² − r²) l. A quarter ring of a torus by Pappus:
        // the centroid of a quarter disc of radius r lies 4 r / 3π from both its sides.
        let s = FormSection { thickness: 2.0, height: 20.0, draft: 0.0, punch_radius: 3.0, die_radius: 4.0 };
        let pi = maths::PI;
        let quarter = |r: f64, centre: f64, sign: f64| {
            let area = pi * r * r / 4.0;
            maths::TAU * (centre + sign * 4.0 * r / (3.0 * pi)) * area
        };
        let punch = quarter(5.0, 30.0, 1.0) - quarter(3.0, 30.0, 1.0);
        let die = quarter(6.0, 39.0, -1.0) - quarter(4.0, 39.0, -1.0);
        let wall = pi * (35.0 * 35.0 - 33.0 * 33.0) * 11.0;
        let outline = maths::TAU * 30.0;
        assert!((s.ring_volume(outline) - (punch + wall + die)).abs() < 1e-9);
        // Zone of a torus: a quarter arc's centroid lies 2 r / π from both its sides.
        let zone =
            |r: f64, centre: f64, sign: f64| maths::TAU * (centre + sign * 2.0 * r / pi) * (0.5 * pi * r);
        let raised = zone(5.0, 30.0, 1.0) + maths::TAU * 35.0 * 11.0 + zone(4.0, 39.0, -1.0);
        let hollow = zone(3.0, 30.0, 1.0) + maths::TAU * 33.0 * 11.0 + zone(6.0, 39.0, -1.0);
        assert!((s.ring_surface(FormFace::Raised, outline) - raised).abs() < 1e-9);
        assert!((s.ring_surface(FormFace::Hollow, outline) - hollow).abs() < 1e-9);
    }
}
