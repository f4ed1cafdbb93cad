//! Where the label of each bend goes on the picture of the blank.
//!
//! Invariant: a label reads from the left or from below, and covers no cut, bend line or other label if one
//! of the places tried is free. Must not know: colours, the page.

use crate::geom::{BoundingBox, Contour, Point2, Segment, Vec2};
use crate::history::feature::FoldSide;
use crate::quantity::tolerance;

use super::super::Subject;
use super::super::decimal::text;
use super::{FIGURE_HEIGHT, text_width};

/// How far chords may leave a cut when room is sought, as a share of the text height.
const CHORD_SHARE: f64 = 0.01;

/// A place for text: the middle of its baseline and its reading direction.
#[derive(Clone, Copy)]
pub(super) struct TextFrame {
    /// Middle of the baseline.
    pub(super) origin: Point2,
    /// Unit reading direction.
    pub(super) along: Vec2,
}

/// Order (or name, where there is none) and turn beside a bend line.
pub(super) struct Label {
    pub(super) words: String,
    pub(super) side: FoldSide,
    /// Height of the text in mm.
    pub(super) height: f64,
    pub(super) frame: TextFrame,
}

/// A label for each bend, set where it covers no cut, no bend line and no other label if there is such a
/// place on the page, otherwise above the middle of its line.
pub(super) fn labels(subject: &Subject<'_>, text_height: f64, page: BoundingBox) -> Vec<Label> {
    let mut obstacles: Vec<[Point2; 2]> = Vec::new();
    let chord_tolerance = CHORD_SHARE * text_height;
    let marks = subject.blank.forms.iter().flat_map(|mark| [&mark.foot, &mark.top]);
    let cuts = subject.blank.region.contours().iter().chain(marks).flat_map(Contour::segments);
    obstacles.extend(cuts.flat_map(|piece| chords(*piece, chord_tolerance)));
    obstacles.extend(subject.blank.bend_lines.iter().map(|line| line.centre));
    let mut labels: Vec<Label> = Vec::new();
    for row in subject.bend_table {
        let words = format!("{} · {}°", row.mark(), text(row.turn.to_deg(), 1));
        let mut places = beside(row.blank_line, text_height).chain(beyond(
            row.blank_line,
            text_width(&words, text_height),
            text_height,
        ));
        let free = places.find(|&(frame, height)| {
            let reach = reach(frame, &words, height);
            reach.is_within(page) && obstacles.iter().all(|line| !reach.meets(*line))
        });
        let (frame, height) = free.unwrap_or_else(|| above_middle(row.blank_line, text_height));
        obstacles.extend(reach(frame, &words, height).sides());
        labels.push(Label { words, side: row.side, height, frame });
    }
    labels
}

fn chords(piece: Segment, chord_tolerance: f64) -> impl Iterator<Item = [Point2; 2]> {
    let count = piece.chord_count(chord_tolerance);
    #[expect(clippy::cast_precision_loss, reason = "a small number of chords")]
    let point = move |i: usize| piece.point_at(i as f64 / count as f64);
    (0..count).map(move |i| [point(i), point(i + 1)])
}

/// Unit direction of a line in which text reads from the left or from below.
fn reading_direction([a, b]: [Point2; 2]) -> Vec2 {
    let along = (b - a).normalized();
    let upright = along.x.abs() <= tolerance::PARALLEL;
    let backwards = if upright { along.y < 0.0 } else { along.x < 0.0 };
    if backwards { -along } else { along }
}

/// Clear height between a line and text on it, as a share of the text height.
const GAP: f64 = 0.35;

/// Above the middle of a line at full size.
fn above_middle(line: [Point2; 2], height: f64) -> (TextFrame, f64) {
    let along = reading_direction(line);
    let origin = line[0].midpoint(line[1]) + along.left() * (GAP * height);
    (TextFrame { origin, along }, height)
}

/// Places above or below a line with their text heights, best first: from the middle outwards, then smaller.
fn beside(line: [Point2; 2], full_height: f64) -> impl Iterator<Item = (TextFrame, f64)> {
    let along = reading_direction(line);
    [1.0, 0.75, 0.55].into_iter().flat_map(move |scale| {
        let height = scale * full_height;
        [0.5, 0.35, 0.65, 0.2, 0.8].into_iter().flat_map(move |share| {
            let middle = line[0].lerp(line[1], share);
            [GAP, -GAP - FIGURE_HEIGHT]
                .map(|rise| (TextFrame { origin: middle + along.left() * (rise * height), along }, height))
        })
    })
}

/// Places in line with it beyond its ends, near ones first, for lines too short to write on.
fn beyond(line: [Point2; 2], width: f64, height: f64) -> impl Iterator<Item = (TextFrame, f64)> {
    let along = reading_direction(line);
    let half_length = 0.5 * line[0].distance(line[1]);
    let middle = line[0].midpoint(line[1]) - along.left() * (0.5 * FIGURE_HEIGHT * height);
    [1.0, 2.0, 3.0, 4.0].into_iter().flat_map(move |distance| {
        let away = half_length + 0.5 * width + distance * height;
        [away, -away].map(|away| (TextFrame { origin: middle + along * away, along }, height))
    })
}

/// The rectangle that a text covers, with a little air.
struct Reach {
    frame: TextFrame,
    low: Point2,
    high: Point2,
}

fn reach(frame: TextFrame, words: &str, height: f64) -> Reach {
    let (half, air) = (0.5 * text_width(words, height), 0.12 * height);
    Reach {
        frame,
        low: Point2::new(-half - air, -air),
        high: Point2::new(half + air, FIGURE_HEIGHT * height + air),
    }
}

impl Reach {
    fn is_within(&self, page: BoundingBox) -> bool {
        let inside =
            |p: &Point2| page.min.x <= p.x && p.x <= page.max.x && page.min.y <= p.y && p.y <= page.max.y;
        self.sides().iter().flatten().all(inside)
    }

    /// Whether a line has a point in the rectangle: the share of the line between all four sides is not
    /// empty (clipping after Liang and Barsky, 1984).
    fn meets(&self, [a, b]: [Point2; 2]) -> bool {
        let local = |p: Point2| {
            let d = p - self.frame.origin;
            Point2::new(d.dot(self.frame.along), d.dot(self.frame.along.left()))
        };
        let (a, b) = (local(a), local(b));
        let (mut from, mut to) = (0.0_f64, 1.0_f64);
        for (start, end, low, high) in
            [(a.x, b.x, self.low.x, self.high.x), (a.y, b.y, self.low.y, self.high.y)]
        {
            let run = end - start;
            if run == 0.0 {
                if !(low <= start && start <= high) {
                    return false;
                }
                continue;
            }
            let (enter, leave) = ((low - start) / run, (high - start) / run);
            from = from.max(enter.min(leave));
            to = to.min(enter.max(leave));
        }
        from <= to
    }

    /// The four sides and one diagonal, so that a later text can neither cross it nor lie within it.
    fn sides(&self) -> [[Point2; 2]; 5] {
        let place = |x: f64, y: f64| self.frame.origin + self.frame.along * x + self.frame.along.left() * y;
        let [a, b] = [place(self.low.x, self.low.y), place(self.high.x, self.low.y)];
        let [c, d] = [place(self.high.x, self.high.y), place(self.low.x, self.high.y)];
        [[a, b], [b, c], [c, d], [d, a], [a, c]]
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn text_reads_from_the_left_or_from_below_whichever_way_the_line_runs() {
        let o = Point2::ORIGIN;
        let cases = [
            (Point2::new(10.0, 0.0), Vec2::new(1.0, 0.0)),
            (Point2::new(-10.0, 0.0), Vec2::new(1.0, 0.0)),
            (Point2::new(0.0, 10.0), Vec2::new(0.0, 1.0)),
            (Point2::new(1e-12, -10.0), Vec2::new(0.0, 1.0)),
        ];
        for (to, expected) in cases {
            assert!((reading_direction([o, to]) - expected).length() < 1e-9, "{to:?}");
        }
    }

    #[test]
    fn places_by_hand() {
        let line = [Point2::new(0.0, 10.0), Point2::new(20.0, 10.0)];
        let near = |frame: TextFrame, x: f64, y: f64| frame.origin.distance(Point2::new(x, y)) < 1e-12;
        let (frame, height) = beside(line, 2.0).next().unwrap();
        // 0.35 · 2 above the middle.
        assert!(near(frame, 10.0, 10.7) && height == 2.0);
        let ends: Vec<(TextFrame, f64)> = beyond(line, 8.0, 2.0).take(2).collect();
        // Half the line, half the text and one text height from the middle; 0.74 · 2 / 2 below the line.
        assert!(near(ends[0].0, 26.0, 9.26) && near(ends[1].0, -6.0, 9.26));
    }

    #[test]
    fn a_line_meets_the_reach_only_where_it_touches_it() {
        let frame = TextFrame { origin: Point2::new(100.0, 50.0), along: Vec2::new(0.0, 1.0) };
        let reach = Reach { frame, low: Point2::new(-5.0, 0.0), high: Point2::new(5.0, 3.0) };
        // The text runs up the page at x = 100 and takes x from 97 to 100, y from 45 to 55.
        let line = |a: (f64, f64), b: (f64, f64)| [Point2::new(a.0, a.1), Point2::new(b.0, b.1)];
        assert!(reach.meets(line((90.0, 50.0), (110.0, 50.0))));
        assert!(reach.meets(line((98.0, 48.0), (99.0, 52.0))), "a line within");
        assert!(!reach.meets(line((90.0, 49.0), (101.0, 60.0))), "passes the corner by");
        assert!(!reach.meets(line((101.0, 0.0), (101.0, 100.0))));
        assert!(!reach.meets(line((98.0, 56.0), (98.0, 90.0))));
    }
}
