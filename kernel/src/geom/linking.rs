//! Directed pieces linked into simple loops.
//!
//! Invariant: every piece is in exactly one loop, no loop passes a vertex twice, no two loops cross. Must not
//! know: where the pieces come from.

use crate::quantity::maths;

use super::arrangement::Arrangement;
use super::{Curve, Point2, Vec2};

/// A piece of an arrangement (by index) and the way it is run.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Directed {
    /// From its start to its end.
    Forward(usize),
    /// From its end to its start.
    Backward(usize),
}

impl Directed {
    /// Index of the piece.
    pub(super) fn index(self) -> usize {
        match self {
            Self::Forward(index) | Self::Backward(index) => index,
        }
    }

    /// The vertex from which it is run.
    pub(super) fn start(self, arrangement: &Arrangement) -> usize {
        match self {
            Self::Forward(index) => arrangement.pieces[index].from,
            Self::Backward(index) => arrangement.pieces[index].to,
        }
    }

    /// The vertex to which it is run.
    pub(super) fn end(self, arrangement: &Arrangement) -> usize {
        match self {
            Self::Forward(index) => arrangement.pieces[index].to,
            Self::Backward(index) => arrangement.pieces[index].from,
        }
    }

    /// Direction from its start (or, looking back, from its end) to the point of it that is `reach` mm away.
    fn direction(self, arrangement: &Arrangement, reach: f64, look: Look) -> Vec2 {
        let piece = &arrangement.pieces[self.index()];
        let (from, to) = (arrangement.vertices[piece.from], arrangement.vertices[piece.to]);
        let from_start =
            matches!((self, look), (Self::Forward(_), Look::Ahead) | (Self::Backward(_), Look::Back));
        let at = if from_start { from } else { to };
        match piece.curve {
            Curve::Line => (if from_start { to - from } else { from - to }).normalized(),
            Curve::Arc { centre, radius, turn } => {
                let sign = if from_start { turn.sign() } else { -turn.sign() };
                let tangent = ((at - centre).left() * sign).normalized();
                // The chord of length `reach` leaves the tangent by asin(reach / 2r) towards the centre.
                let sin = sign * (0.5 * reach / radius).min(1.0);
                let cos = ((1.0 - sin) * (1.0 + sin)).sqrt();
                tangent * cos + tangent.left() * sin
            }
        }
    }
}

#[derive(Clone, Copy)]
enum Look {
    Ahead,
    Back,
}

/// Links the pieces; the inside lies to the left of each. Fails with a vertex where they do not close.
///
/// At a vertex with a choice the sharpest turn to the left is taken, as seen at half the shortest chord from
/// the vertex, so that tangent pieces are told apart by their curvature. A loop that comes back to one of its
/// vertices is closed there, so figures that touch in a point stay apart.
pub(super) fn link(arrangement: &Arrangement, kept: &[Directed]) -> Result<Vec<Vec<Directed>>, Point2> {
    const NONE: usize = usize::MAX;
    let listed = |place: usize| (place != NONE).then_some(place);
    // The pieces that leave each vertex, as lists through `after`.
    let mut leaving = vec![NONE; arrangement.vertices.len()];
    let mut after = vec![NONE; kept.len()];
    let mut balance = vec![0_i32; arrangement.vertices.len()];
    for (place, directed) in kept.iter().enumerate().rev() {
        let start = directed.start(arrangement);
        after[place] = leaving[start];
        leaving[start] = place;
        balance[start] += 1;
        balance[directed.end(arrangement)] -= 1;
    }
    if let Some(open) = balance.iter().position(|&b| b != 0) {
        return Err(arrangement.home[open]);
    }
    let mut used = vec![false; kept.len()];
    // For each vertex on the current path, how many pieces of the path lie before it.
    let mut passed = vec![NONE; arrangement.vertices.len()];
    let mut loops = Vec::new();
    let mut path: Vec<Directed> = Vec::new();
    for first in 0..kept.len() {
        let mut next = if used[first] { NONE } else { first };
        while next != NONE {
            let directed = kept[next];
            used[next] = true;
            passed[directed.start(arrangement)] = path.len();
            path.push(directed);
            let vertex = directed.end(arrangement);
            if passed[vertex] != NONE {
                let closed = path.split_off(passed[vertex]);
                for d in &closed {
                    passed[d.start(arrangement)] = NONE;
                }
                loops.push(closed);
                if path.is_empty() {
                    break;
                }
            }
            let choices = || {
                let after = &after;
                std::iter::successors(listed(leaving[vertex]), move |&place| listed(after[place]))
                    .filter(|&place| !used[place])
            };
            next = match (choices().next(), choices().nth(1)) {
                (Some(only), None) => only,
                (Some(_), Some(_)) => sharpest_left(arrangement, kept, directed, choices),
                (None, _) => NONE,
            };
        }
    }
    Ok(loops)
}

/// Of several pieces that leave the end of `arriving`, the first one clockwise from the way back.
fn sharpest_left<I: Iterator<Item = usize>>(
    arrangement: &Arrangement,
    kept: &[Directed],
    arriving: Directed,
    choices: impl Fn() -> I,
) -> usize {
    let chord = |d: Directed| {
        let piece = &arrangement.pieces[d.index()];
        arrangement.vertices[piece.from].distance(arrangement.vertices[piece.to])
    };
    let shortest = choices().map(|p| chord(kept[p])).fold(chord(arriving), f64::min);
    let back = arriving.direction(arrangement, 0.5 * shortest, Look::Back);
    let clockwise_from_back = |place: usize| {
        let ahead = kept[place].direction(arrangement, 0.5 * shortest, Look::Ahead);
        let angle = -maths::atan2(back.cross(ahead), back.dot(ahead));
        if angle > 0.0 { angle } else { angle + maths::TAU }
    };
    choices()
        .min_by(|&a, &b| clockwise_from_back(a).total_cmp(&clockwise_from_back(b)))
        .expect("the caller has at least two choices")
}
