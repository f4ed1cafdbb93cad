//! How large an opening is: what passes through it and what contains it.
//!
//! Circles, slots and rectangles are measured in closed form, everything else by search. Invariant: a figure that
//! contains is never smaller than the opening, one that passes never larger; all lengths in mm. Must not know:
//! where the opening is.

use crate::geom::{
    ArcTurn, Contour, Curve, Region, Segment, largest_circle_in, largest_square_in, longest_bar_of,
    narrowest_slot_around, smallest_circle_around, smallest_square_around,
};
use crate::guarding::{Containing, OpeningShape};
use crate::quantity::{Length, maths, tolerance};

/// Measures of one opening.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Measures {
    /// The shape by which tables judge it.
    pub shape: OpeningShape,
    /// Diameter of the largest circle that passes.
    pub passing_circle: f64,
    /// Side of the largest square that passes, of any orientation.
    pub passing_square: f64,
    /// Width and length of the slot that passes: as wide as the largest circle, and as long as that width goes on
    /// straight.
    pub passing_slot: [f64; 2],
    /// Diameter of the smallest circle that contains it.
    pub around_circle: f64,
    /// Side of the smallest square that contains it.
    pub around_square: f64,
    /// Width and length of the narrowest slot that contains it.
    pub around_slot: [f64; 2],
}

impl Measures {
    /// Measures of the figure inside a closed contour.
    #[must_use]
    pub fn of(contour: &Contour) -> Self {
        let length = |value: f64| Length::mm(value);
        match simple(contour) {
            Some(Simple::Circle { diameter }) => Self::circle(diameter),
            Some(Simple::Rectangle { width, length: long }) => Self::rectangle(width, long),
            Some(Simple::Slot { width, length: long }) => {
                let straight = long - width;
                let square = if straight >= width { Some(width) } else { None };
                Self {
                    shape: OpeningShape::slot(length(width), length(long)),
                    passing_circle: width,
                    passing_square: square.unwrap_or_else(|| Self::searched(contour).passing_square),
                    passing_slot: [width, long],
                    around_circle: long,
                    // The square stands with its diagonal along the slot.
                    around_square: straight * std::f64::consts::FRAC_1_SQRT_2 + width,
                    around_slot: [width, long],
                }
            }
            None => Self::searched(contour),
        }
    }

    fn circle(diameter: f64) -> Self {
        Self {
            shape: OpeningShape::Round { diameter: Length::mm(diameter) },
            passing_circle: diameter,
            passing_square: diameter * std::f64::consts::FRAC_1_SQRT_2,
            passing_slot: [diameter; 2],
            around_circle: diameter,
            around_square: diameter,
            around_slot: [diameter; 2],
        }
    }

    /// Measures of a rectangle; a square if both sides agree within the snap tolerance.
    #[must_use]
    pub fn rectangle(one: f64, other: f64) -> Self {
        let (width, length) = (one.min(other), one.max(other));
        let shape = if length - width <= tolerance::SNAP_MM {
            OpeningShape::Square { side: Length::mm(length) }
        } else {
            OpeningShape::slot(Length::mm(width), Length::mm(length))
        };
        Self {
            shape,
            passing_circle: width,
            passing_square: width,
            passing_slot: [width, length],
            around_circle: maths::hypot(width, length),
            around_square: length.min((width + length) * std::f64::consts::FRAC_1_SQRT_2),
            around_slot: [width, length],
        }
    }

    /// Measures by search, for any contour.
    #[must_use]
    pub fn searched(contour: &Contour) -> Self {
        let region = Region::inside(contour.clone());
        let circle = largest_circle_in(&region);
        let bar = circle.map(|circle| longest_bar_of(&region, circle));
        let around_circle = 2.0 * smallest_circle_around(contour).radius;
        let around_square = smallest_square_around(contour).length;
        let slot = narrowest_slot_around(contour);
        let containing = Containing {
            circle: Length::mm(around_circle),
            square: Length::mm(around_square),
            slot_width: Length::mm(slot.width),
            slot_length: Length::mm(slot.length),
        };
        Self {
            shape: OpeningShape::Irregular(containing),
            passing_circle: circle.map_or(0.0, |c| 2.0 * c.radius),
            passing_square: circle.map_or(0.0, |c| largest_square_in(&region, c).length),
            passing_slot: bar.map_or([0.0; 2], |b| [b.width, b.length]),
            around_circle,
            around_square,
            around_slot: [slot.width, slot.length],
        }
    }

    /// The same with everything that contains larger by `more` mm, for an outline that is known to so much only.
    #[must_use]
    pub(super) fn widened(self, more: f64) -> Self {
        let wider = |length: Length| length + Length::mm(more);
        let shape = match self.shape {
            OpeningShape::Round { diameter } => OpeningShape::Round { diameter: wider(diameter) },
            OpeningShape::Square { side } => OpeningShape::Square { side: wider(side) },
            OpeningShape::Slot { width, length } => {
                OpeningShape::Slot { width: wider(width), length: wider(length) }
            }
            OpeningShape::Irregular(c) => OpeningShape::Irregular(Containing {
                circle: wider(c.circle),
                square: wider(c.square),
                slot_width: wider(c.slot_width),
                slot_length: wider(c.slot_length),
            }),
        };
        Self {
            shape,
            around_circle: self.around_circle + more,
            around_square: self.around_square + more,
            around_slot: self.around_slot.map(|value| value + more),
            ..self
        }
    }
}

/// Shapes with a closed form, in mm.
enum Simple {
    Circle { diameter: f64 },
    Slot { width: f64, length: f64 },
    Rectangle { width: f64, length: f64 },
}

fn simple(contour: &Contour) -> Option<Simple> {
    if let Some((_, radius)) = contour.as_circle() {
        return Some(Simple::Circle { diameter: 2.0 * radius });
    }
    let &[a, b, c, d] = contour.segments() else { return None };
    let near = |x: f64, y: f64| (x - y).abs() <= tolerance::SNAP_MM;
    let square_to =
        |p: Segment, q: Segment| p.end_direction().dot(q.start_direction()).abs() <= tolerance::SMOOTH_RAD;
    let smooth = |p: Segment, q: Segment| {
        let (u, v) = (p.end_direction(), q.start_direction());
        u.cross(v).abs() <= tolerance::SMOOTH_RAD && u.dot(v) > 0.0
    };
    let outward = if contour.signed_area() >= 0.0 { ArcTurn::Left } else { ArcTurn::Right };
    let half = |s: Segment| match s.curve {
        Curve::Arc { radius, turn, .. } if turn == outward && near(s.start.distance(s.end), 2.0 * radius) => {
            Some(radius)
        }
        Curve::Arc { .. } | Curve::Line => None,
    };
    let is_line = |s: Segment| matches!(s.curve, Curve::Line);
    if [a, b, c, d].into_iter().all(is_line) {
        let right = square_to(a, b) && square_to(b, c) && square_to(c, d) && square_to(d, a);
        return right.then(|| Simple::Rectangle {
            width: a.length().max(c.length()),
            length: b.length().max(d.length()),
        });
    }
    let (lines, ends) = if is_line(a) { ([a, c], [b, d]) } else { ([b, d], [a, c]) };
    let [Some(one), Some(other)] = ends.map(half) else { return None };
    let runs_on = smooth(a, b) && smooth(b, c) && smooth(c, d) && smooth(d, a);
    let slot = lines.into_iter().all(is_line) && runs_on && near(one, other);
    let width = 2.0 * one.max(other);
    slot.then(|| Simple::Slot { width, length: width + lines[0].length().max(lines[1].length()) })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::geom::{Motion2, Point2, Tag, Vec2};

    #[track_caller]
    fn agree(contour: &Contour) {
        let (quick, slow) = (Measures::of(contour), Measures::searched(contour));
        let all = |m: &Measures| {
            let [w, l] = m.around_slot;
            [m.passing_circle, m.passing_slot[0], m.passing_square, m.around_circle, m.around_square, w, l]
        };
        for (index, (a, b)) in all(&quick).into_iter().zip(all(&slow)).enumerate() {
            assert!((a - b).abs() < 1e-8, "measure {index}: {a} against {b}");
        }
        assert!(!matches!(quick.shape, OpeningShape::Irregular(_)));
    }

    #[test]
    fn closed_forms_agree_with_the_search() {
        let motion = Motion2 { x_axis: Vec2::unit(0.4), origin: Point2::new(70.0, 20.0) };
        for (length, width) in [(60.0, 10.0), (14.0, 10.0), (20.0, 10.0)] {
            let (h, r) = (0.5 * (length - width), 0.5 * width);
            let p = Point2::new;
            let arc = |a, b, c| Segment::arc(a, b, c, ArcTurn::Left, Tag(0));
            let slot = Contour::new(vec![
                Segment::line(p(-h, -r), p(h, -r), Tag(0)),
                arc(p(h, -r), p(h, r), p(h, 0.0)),
                Segment::line(p(h, r), p(-h, r), Tag(0)),
                arc(p(-h, r), p(-h, -r), p(-h, 0.0)),
            ])
            .unwrap();
            agree(&slot);
            agree(&slot.reversed().moved(motion));
            let corners = [p(0.0, 0.0), p(length, 0.0), p(length, width), p(0.0, width)];
            agree(&Contour::polygon(&corners, Tag(0)).unwrap().moved(motion));
        }
        let square = [[0.0, 0.0], [9.0, 0.0], [9.0, 9.0], [0.0, 9.0]].map(|[x, y]| Point2::new(x, y));
        let square = Contour::polygon(&square, Tag(0)).unwrap();
        assert_eq!(Measures::of(&square).shape, OpeningShape::Square { side: Length::mm(9.0) });
    }
}
