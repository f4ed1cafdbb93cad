//! Cuts across bends as B-splines, for formats that know no rolled curves.
//!
//! Each span is the polynomial of degree five with the curve's own point, first and second derivative at both
//! ends (quintic Hermite), so that spans join with continuous curvature. Spans are halved until the
//! polynomial is within [`tolerance::SPLINE_MM`] of the curve at the middle and the quarters of every span on
//! both faces of the sheet; the error of such a polynomial is largest at the middle. Derivation:
//! `docs/math/solid.md`. Invariant: both edges of a cut have the same knots, so that the straight lines between
//! equal parameters are the cut itself and hold both edges exactly.

use crate::fold::StripMap;
use crate::geom::{Curve, Segment, Vec3};
use crate::quantity::{maths, tolerance};

/// Degree of the spans.
pub const DEGREE: usize = 5;

/// Curves over one cut across a bend, one for each depth, all over the same knots.
#[derive(Clone, Debug)]
pub struct RolledSplines<const DEPTHS: usize> {
    /// Number of spans; the knots are 0, 1, ... up to it, six times at the ends and three times between.
    pub spans: usize,
    /// Control points in mm of each curve.
    pub points: [Vec<Vec3<f64>>; DEPTHS],
}

/// Splines along a cut at these depths (mm along the sheet's normal).
#[must_use]
pub fn rolled_splines<const DEPTHS: usize>(
    piece: &Segment,
    map: &StripMap,
    thickness: f64,
    depths: [f64; DEPTHS],
) -> RolledSplines<DEPTHS> {
    let mut spans = 1;
    let faces = [0.0, -thickness];
    while faces.iter().any(|&depth| deviation(piece, map, depth, spans) > tolerance::SPLINE_MM) {
        spans *= 2;
    }
    RolledSplines { spans, points: depths.map(|depth| control_points(piece, map, depth, spans)) }
}

/// Point, first and second derivative of a rolled piece by its share `t`.
pub(super) fn derivatives(piece: &Segment, map: &StripMap, depth: f64, t: f64) -> [Vec3<f64>; 3] {
    // Place, velocity and acceleration in the flat strip.
    let (p, v, a) = match piece.curve {
        Curve::Line => {
            let way = piece.end - piece.start;
            (piece.start + way * t, [way.x, way.y], [0.0, 0.0])
        }
        Curve::Arc { centre, .. } => {
            let p = piece.point_at(t);
            let (out, sweep) = (p - centre, piece.sweep());
            (p, [-out.y * sweep, out.x * sweep], [-out.x * sweep * sweep, -out.y * sweep * sweep])
        }
    };
    let (radius, start) = (map.radius(depth), map.start());
    let (sin, cos) = maths::sin_cos(map.angle_at(p.y));
    let (turn, turn2) = (map.angle_at(v[1]), map.angle_at(a[1]));
    let sign = map.sign();
    [
        map.point(p.x, p.y, depth),
        start.direction(v[0], radius * cos * turn, sign * radius * sin * turn),
        start.direction(
            a[0],
            radius * (cos * turn2 - sin * turn * turn),
            sign * radius * (sin * turn2 + cos * turn * turn),
        ),
    ]
}

#[expect(clippy::cast_precision_loss, reason = "a small number of spans")]
fn share(span: usize, spans: usize) -> f64 {
    span as f64 / spans as f64
}

/// The six Bézier points of the span between two ends that are `width` apart in share.
fn bezier(from: [Vec3<f64>; 3], to: [Vec3<f64>; 3], width: f64) -> [Vec3<f64>; 6] {
    let [p, v, a] = from;
    let [q, w, b] = to;
    let (first, second) = (width / 5.0, width * width / 20.0);
    [
        p,
        p + v.times(first),
        p + v.times(2.0 * first) + a.times(second),
        q - w.times(2.0 * first) + b.times(second),
        q - w.times(first),
        q,
    ]
}

/// Largest distance of the polynomials from the curve at the middle and the quarters of the spans, in mm.
fn deviation(piece: &Segment, map: &StripMap, depth: f64, spans: usize) -> f64 {
    let width = share(1, spans);
    let mut largest: f64 = 0.0;
    let mut from = derivatives(piece, map, depth, 0.0);
    for span in 0..spans {
        let to = derivatives(piece, map, depth, share(span + 1, spans));
        let points = bezier(from, to, width);
        for u in [0.25, 0.5, 0.75] {
            let v = 1.0 - u;
            let weights = [
                v * v * v * v * v,
                5.0 * v * v * v * v * u,
                10.0 * v * v * v * u * u,
                10.0 * v * v * u * u * u,
                5.0 * v * u * u * u * u,
                u * u * u * u * u,
            ];
            let zero = Vec3::new(0.0, 0.0, 0.0);
            let got = points.iter().zip(weights).fold(zero, |sum, (p, w)| sum + p.times(w));
            let [wanted, ..] = derivatives(piece, map, depth, share(span, spans) + u * width);
            largest = largest.max((got - wanted).length());
        }
        from = to;
    }
    largest
}

/// Control points over knots that stand three times between spans.
fn control_points(piece: &Segment, map: &StripMap, depth: f64, spans: usize) -> Vec<Vec3<f64>> {
    let width = share(1, spans);
    let mut points = Vec::with_capacity(3 * spans + 3);
    let mut from = derivatives(piece, map, depth, 0.0);
    for span in 0..spans {
        let to = derivatives(piece, map, depth, share(span + 1, spans));
        let [p0, p1, p2, p3, p4, p5] = bezier(from, to, width);
        if span == 0 {
            points.extend([p0, p1]);
        }
        points.extend([p2, p3]);
        if span + 1 == spans {
            points.extend([p4, p5]);
        } else {
            // The blossom at one knot before the joint, three at it and one after: linear from `p3` to `p4`.
            points.push(p4 + (p4 - p3));
        }
        from = to;
    }
    points
}
