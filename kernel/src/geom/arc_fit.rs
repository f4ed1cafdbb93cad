//! Arcs along a smooth curve that keep it on their left.
//!
//! Job: stand in for curves that are neither lines nor arcs, where they bound an opening that may be a trace
//! too large but not too small. Invariant: joints lie on the curve, no nearer to each other than edges may be
//! unless the caller's places are; nothing between lies farther to the right of it than was allowed, or to the
//! left by more than the snap tolerance.

use crate::quantity::tolerance;

use super::{Curve, Point2, Segment, Tag};

/// Halvings after which a piece is short enough for any curve without a kink.
const MOST_HALVINGS: usize = 24;
/// Places between the ends of a piece at which it is compared with the curve, as shares of the way; near the
/// ends too, where the curve may leave them more steeply than the piece does.
const PLACES: [f64; 9] = [0.04, 0.125, 0.25, 0.375, 0.5, 0.625, 0.75, 0.875, 0.96];

/// Lines and arcs along `curve` from `ends[0]` at 0 to `ends[1]` at 1, on the curve or to the right of it by
/// at most `within` mm. `stops` are shares at which two pieces must meet.
///
/// A straight curve is one line without stops.
pub(crate) fn arcs_on_right(
    curve: &impl Fn(f64) -> Point2,
    ends: [Point2; 2],
    stops: &[f64],
    within: f64,
    tag: Tag,
) -> Vec<Segment> {
    let mut fit = Fit { curve, within, tag, pieces: Vec::new() };
    let whole = [(0.0, ends[0]), (1.0, ends[1])];
    if let Some(line) = fit.candidate(whole).filter(|piece| piece.curve == Curve::Line) {
        return vec![line];
    }
    let mut marks = vec![whole[0]];
    marks.extend(stops.iter().map(|&share| (share, curve(share))));
    marks.push(whole[1]);
    for pair in marks.windows(2) {
        fit.add([pair[0], pair[1]], 0);
    }
    fit.pieces
}

struct Fit<'a, C> {
    curve: &'a C,
    within: f64,
    tag: Tag,
    pieces: Vec<Segment>,
}

impl<C: Fn(f64) -> Point2> Fit<'_, C> {
    /// Adds pieces between two places of the curve, each a share and its point.
    fn add(&mut self, ends: [(f64, Point2); 2], halvings: usize) {
        if let Some(piece) = self.candidate(ends) {
            self.pieces.push(piece);
            return;
        }
        match self.place_between(ends) {
            Some(at) if halvings < MOST_HALVINGS => {
                self.add([ends[0], at], halvings + 1);
                self.add([at, ends[1]], halvings + 1);
            }
            Some(_) | None => {
                let around = self.around(ends);
                self.pieces.push(around);
            }
        }
    }

    /// A place about half-way between two others that is far enough from both; none if they are too near to
    /// each other for that.
    fn place_between(&self, [(a, p), (b, q)]: [(f64, Point2); 2]) -> Option<(f64, Point2)> {
        let (mut low, mut high) = (a, b);
        for _ in 0..MOST_HALVINGS {
            let middle = 0.5 * (low + high);
            let at = (self.curve)(middle);
            match [p, q].map(|end| end.distance(at) >= tolerance::LEAST_EDGE_MM) {
                [true, true] => return Some((middle, at)),
                [false, true] => low = middle,
                [true, false] => high = middle,
                [false, false] => return None,
            }
        }
        None
    }

    /// One piece for a bit of curve that is too short to be parted: the flattest of a few arcs to the right of
    /// it.
    fn around(&self, [(a, p), (b, q)]: [(f64, Point2); 2]) -> Segment {
        let places = self.places([a, b]);
        let right = (q - p).normalized().right();
        let highest = places.iter().map(|s| (*s - p).dot(right)).fold(0.0, f64::max);
        let line = Segment::line(p, q, self.tag);
        if highest <= tolerance::SNAP_MM {
            return line;
        }
        let arcs = [1.0, 1.25, 1.5, 2.0, 3.0].map(|share| {
            let top = p.midpoint(q) + right * (share * highest);
            Segment::arc_through(p, top, q, self.tag).unwrap_or(line)
        });
        let holds = |arc: &&Segment| places.iter().all(|&s| right_of(arc, s) <= tolerance::SNAP_MM);
        *arcs.iter().find(holds).unwrap_or(&arcs[arcs.len() - 1])
    }

    /// Places of the curve between two shares.
    fn places(&self, [a, b]: [f64; 2]) -> [Point2; PLACES.len()] {
        PLACES.map(|share| (self.curve)(a + (b - a) * share))
    }

    /// The piece that may stand for the curve between two places, if there is one.
    fn candidate(&self, [(a, p), (b, q)]: [(f64, Point2); 2]) -> Option<Segment> {
        let places = self.places([a, b]);
        let right = (q - p).normalized().right();
        let rises = places.map(|s| (s - p).dot(right));
        let (low, high) = rises.iter().fold((0.0_f64, 0.0_f64), |(l, h), &r| (l.min(r), h.max(r)));
        // Rounder than this, an arc's centre is too far away for its coordinates.
        let flat = 0.1 * self.within;
        if high <= tolerance::SNAP_MM && low >= -flat {
            return Some(Segment::line(p, q, self.tag));
        }
        let middle = places[PLACES.len() / 2];
        let rise = rises[PLACES.len() / 2];
        let via = if rise.abs() < flat { middle + right * (flat - rise) } else { middle };
        let arc = Segment::arc_through(p, via, q, self.tag)?;
        let missed = places.map(|s| right_of(&arc, s));
        if via == middle && missed.iter().any(|m| m.abs() > 0.25 * self.within) {
            return None;
        }
        let most = missed.into_iter().fold(0.0, f64::max);
        // A cubic through both ends and the middle leaves its arc by C u(1 − u)(u − ½), at most 0.0481 C; a
        // bulge of height δ gives 4 δ u(1 − u), which is more everywhere once δ ≥ C / 8 = 2.6 of that.
        let arc =
            if most > 0.0 { Segment::arc_through(p, via + right * (3.0 * most), q, self.tag)? } else { arc };
        // Between the places that are looked at the curve may come farther out by a few times as much.
        let fits = |s: Point2| (-self.within..=0.1 * tolerance::SNAP_MM).contains(&right_of(&arc, s));
        places.into_iter().all(fits).then_some(arc)
    }
}

/// How far a point lies to the right of an arc's circle, in mm.
fn right_of(arc: &Segment, p: Point2) -> f64 {
    match arc.curve {
        Curve::Line => (p - arc.start).dot((arc.end - arc.start).normalized().right()),
        Curve::Arc { centre, radius, turn } => turn.sign() * (p.distance(centre) - radius),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::quantity::maths;

    const WITHIN: f64 = 1e-4;

    fn fitted(curve: impl Fn(f64) -> Point2, stops: &[f64]) -> Vec<Segment> {
        let pieces = arcs_on_right(&curve, [curve(0.0), curve(1.0)], stops, WITHIN, Tag::default());
        for (a, b) in pieces.iter().zip(pieces.iter().skip(1)) {
            assert_eq!(a.end, b.start);
        }
        for i in 0..=10_000 {
            let p = curve(f64::from(i) / 10_000.0);
            let near = pieces.iter().min_by(|a, b| a.distance_to(p).total_cmp(&b.distance_to(p))).unwrap();
            let right = right_of(near, p);
            assert!((-WITHIN..=2.0 * tolerance::SNAP_MM).contains(&right), "{p:?} {right}");
        }
        pieces
    }

    #[test]
    fn a_line_is_one_line_and_a_circle_few_arcs() {
        let line = fitted(|t| Point2::new(100.0 * t, 20.0 * t), &[0.3]);
        assert_eq!(line.len(), 1);
        let circle = fitted(|t| Point2::ORIGIN + crate::geom::Vec2::unit(3.0 * t) * 50.0, &[]);
        assert_eq!(circle.len(), 1);
        assert!((circle[0].length() - 150.0).abs() < 1e-9);
    }

    #[test]
    fn sinusoids_are_kept_on_the_left_either_way() {
        for sign in [1.0, -1.0] {
            let wave = |t: f64| Point2::new(30.0 * t, sign * 4.0 * maths::sin(maths::TAU * t));
            let pieces = fitted(wave, &[0.4]);
            assert!(pieces.len() <= 128, "{}", pieces.len());
            assert!(pieces.iter().any(|s| s.end == wave(0.4)));
        }
    }

    #[test]
    fn the_tip_of_a_needle_is_not_followed_into_dust() {
        // 60 mm long, 0.1 mm wide: the tip has a radius of 4e-5 mm.
        let needle =
            |t: f64| Point2::new(30.0 * maths::sin(maths::PI * t), -0.05 * maths::cos(maths::PI * t));
        let shortest = fitted(needle, &[]).iter().map(|s| s.length()).fold(f64::INFINITY, f64::min);
        assert!(shortest >= tolerance::LEAST_EDGE_MM, "{shortest}");
    }

    #[test]
    fn the_end_of_an_ellipse_is_followed_around() {
        // As a function of the height the ends have no slope; as a smooth curve they have.
        fitted(|t| Point2::new(30.0 * maths::sin(maths::PI * t), -5.0 * maths::cos(maths::PI * t)), &[]);
    }
}
