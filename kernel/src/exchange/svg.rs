//! `blank.svg`: a picture of the blank at true size, for people.
//!
//! Lengths are in mm, y runs up as in the blank. Invariant: arcs are true arcs; text and lines keep their
//! share of the picture whatever the size of the blank; folds up and down differ in colour and in dashes;
//! all text from outside is escaped.

use std::fmt::Write;

use crate::blank::BendLine;
use crate::geom::{Contour, Curve, Point2, Segment, Vec2};
use crate::history::feature::FoldSide;
use crate::quantity::{maths, tolerance};

use super::decimal::text;
use super::half_turns::pieces;
use super::{Format, Subject};

/// `blank.svg`.
pub(super) const FORMAT: Format =
    Format { file_name: "blank.svg", what: "picture of the blank with bend lines, SVG in mm", write };

/// Places after the point of a coordinate in mm.
const PLACES: usize = 6;

/// Colours that stay apart for colour-blind eyes: blue and vermilion of Okabe and Ito (Color Universal
/// Design, 2008), on neutral tones.
const UP: &str = "#0072b2";
const DOWN: &str = "#d55e00";
const PAPER: &str = "#fcfcfa";
const SHEET: &str = "#e4e7ea";
const INK: &str = "#22262a";

/// Sizes as shares of the longer side of the blank.
const MARGIN: f64 = 0.04;
const TEXT_HEIGHT: f64 = 0.024;
const STROKE: f64 = 0.0025;
/// Width of a letter and height of a figure, as shares of the text height; from memory of common sans-serif
/// faces, on the generous side.
const LETTER_WIDTH: f64 = 0.58;
const FIGURE_HEIGHT: f64 = 0.74;

fn write(subject: &Subject<'_>) -> Vec<u8> {
    picture(subject).into_bytes()
}

fn picture(subject: &Subject<'_>) -> String {
    let bounds = subject.blank.bounding_box();
    let size = bounds.max - bounds.min;
    let longer = size.x.max(size.y);
    let page = Page { unit: longer };
    let caption = Caption::new(subject);
    let margin = MARGIN * longer;
    let height_of_text = TEXT_HEIGHT * longer;
    let width = (size.x).max(caption.width(height_of_text)) + 2.0 * margin;
    let caption_height = 3.4 * height_of_text;
    let height = size.y + 3.0 * margin + caption_height;
    let left = bounds.min.x - 0.5 * (width - size.x);
    let top = -bounds.max.y - margin;
    let n = |x: f64| text(x, PLACES);
    let mut out = String::new();
    let mut line = |content: String| {
        out.push_str(&content);
        out.push('\n');
    };
    line(format!(
        r#"<svg xmlns="http://www.w3.org/2000/svg" width="{0}mm" height="{1}mm" viewBox="{2} {3} {0} {1}" font-family="sans-serif">"#,
        n(width),
        n(height),
        n(left),
        n(top),
    ));
    line(format!("<title>{}</title>", escaped(&format!("Blank of {}", subject.history.family))));
    line(format!(
        r#"<rect x="{}" y="{}" width="{}" height="{}" fill="{PAPER}"/>"#,
        n(left),
        n(top),
        n(width),
        n(height)
    ));
    let outline: String = subject.blank.region.contours().iter().map(path_of).collect();
    line(format!(
        r#"<path d="{}" fill="{SHEET}" fill-rule="evenodd" stroke="{INK}" stroke-width="{}" stroke-linejoin="round"/>"#,
        outline.trim_end(),
        n(STROKE * longer),
    ));
    for bend in &subject.blank.bend_lines {
        line(page.bend_zone(bend));
    }
    for bend in &subject.blank.bend_lines {
        line(page.fold_line(bend.centre, bend.side));
    }
    for label in labels(subject, &page) {
        line(page.label(&label));
    }
    let baseline = -bounds.min.y + 2.0 * margin;
    out.push_str(&caption.draw(&page, left + margin, baseline + height_of_text, height_of_text));
    out.push_str("</svg>\n");
    out
}

/// `&`, `<`, `>` and quotes by name; characters that XML forbids become U+FFFD.
fn escaped(raw: &str) -> String {
    let mut out = String::with_capacity(raw.len());
    for c in raw.chars() {
        match c {
            '&' => out.push_str("&amp;"),
            '<' => out.push_str("&lt;"),
            '>' => out.push_str("&gt;"),
            '"' => out.push_str("&quot;"),
            '\'' => out.push_str("&#39;"),
            '\t' | '\n' | '\r' => out.push(' '),
            c if c.is_control() || matches!(c, '\u{fffe}' | '\u{ffff}') => out.push('\u{fffd}'),
            c => out.push(c),
        }
    }
    out
}

/// `x,y` on the page, where y runs down.
fn at(p: Point2) -> String {
    format!("{},{}", text(p.x, PLACES), text(-p.y, PLACES))
}

fn path_of(contour: &Contour) -> String {
    let pieces = pieces(contour);
    let mut path = format!("M{}", at(pieces[0].start));
    for piece in pieces {
        match piece.curve {
            Curve::Line => write!(path, " L{}", at(piece.end)),
            Curve::Arc { radius, turn, .. } => {
                // Left on paper is the negative sense of the format, whose y runs down. No piece is
                // longer than a half circle.
                let clockwise = u8::from(turn.sign() < 0.0);
                let radius = text(radius, PLACES);
                write!(path, " A{radius},{radius} 0 0 {clockwise} {}", at(piece.end))
            }
        }
        .expect("text takes all that is written");
    }
    path.push_str(" Z ");
    path
}

/// The length in mm that text and lines are scaled by: the longer side of the blank.
struct Page {
    unit: f64,
}

fn colour(side: FoldSide) -> &'static str {
    match side {
        FoldSide::Up => UP,
        FoldSide::Down => DOWN,
    }
}

impl Page {
    /// Dashes for up, dash and dot for down.
    fn dashes(&self, side: FoldSide) -> String {
        let shares: &[f64] = match side {
            FoldSide::Up => &[0.016, 0.008],
            FoldSide::Down => &[0.016, 0.006, 0.003, 0.006],
        };
        shares.iter().map(|s| text(s * self.unit, PLACES)).collect::<Vec<_>>().join(" ")
    }

    /// A light band over the width of the bend.
    fn bend_zone(&self, bend: &BendLine) -> String {
        let corners = [bend.start[0], bend.start[1], bend.end[1], bend.end[0]].map(at).join(" ");
        format!(r#"<polygon points="{corners}" fill="{}" fill-opacity="0.14"/>"#, colour(bend.side))
    }

    fn fold_line(&self, [from, to]: [Point2; 2], side: FoldSide) -> String {
        format!(
            r#"<path d="M{} L{}" stroke="{}" stroke-width="{}" stroke-dasharray="{}"/>"#,
            at(from),
            at(to),
            colour(side),
            text(STROKE * self.unit, PLACES),
            self.dashes(side),
        )
    }

    fn label(&self, label: &Label) -> String {
        let n = |x: f64| text(x, PLACES);
        let turn = -label.frame.along.angle() * (180.0 / maths::PI);
        format!(
            r#"<text transform="translate({}) rotate({})" font-size="{}" text-anchor="middle" fill="{}">{}</text>"#,
            at(label.frame.origin),
            n(turn),
            n(label.height),
            colour(label.side),
            escaped(&label.words),
        )
    }
}

/// A place for text: the middle of its baseline and its reading direction.
#[derive(Clone, Copy)]
struct TextFrame {
    origin: Point2,
    along: Vec2,
}

/// Order and turn beside a bend line.
struct Label {
    words: String,
    side: FoldSide,
    height: f64,
    frame: TextFrame,
}

/// A label for each bend, set where it covers no cut, no bend line and no other label if there is such a
/// place, otherwise above the middle of its line.
fn labels(subject: &Subject<'_>, page: &Page) -> Vec<Label> {
    let mut obstacles: Vec<[Point2; 2]> = Vec::new();
    let tolerance = 0.1 * STROKE * page.unit;
    let cuts = subject.blank.region.contours().iter().flat_map(Contour::segments);
    obstacles.extend(cuts.flat_map(|piece| chords(*piece, tolerance)));
    obstacles.extend(subject.blank.bend_lines.iter().map(|line| line.centre));
    let mut labels: Vec<Label> = Vec::new();
    for row in subject.bend_table {
        let words = format!("{} · {}°", row.order, text(row.turn.to_deg(), 1));
        #[expect(clippy::cast_precision_loss, reason = "a short text")]
        let letters = words.chars().count() as f64;
        let chosen = candidates(row.blank_line, TEXT_HEIGHT * page.unit).find(|(frame, height)| {
            let reach = reach(*frame, letters, *height);
            obstacles.iter().all(|line| !reach.meets(*line))
        });
        let fallback = candidates(row.blank_line, TEXT_HEIGHT * page.unit).next();
        let (frame, height) = chosen.or(fallback).expect("there is always a candidate");
        obstacles.extend(reach(frame, letters, height).sides());
        labels.push(Label { words, side: row.side, height, frame });
    }
    labels
}

fn chords(piece: Segment, tolerance: f64) -> impl Iterator<Item = [Point2; 2]> {
    let count = piece.chord_count(tolerance);
    #[expect(clippy::cast_precision_loss, reason = "a small number of chords")]
    let point = move |i: usize| piece.point_at(i as f64 / count as f64);
    (0..count).map(move |i| [point(i), point(i + 1)])
}

/// Places for text along a line, best first: above or below, from the middle outwards, then smaller.
fn candidates([a, b]: [Point2; 2], full_height: f64) -> impl Iterator<Item = (TextFrame, f64)> {
    let along = (b - a).normalized();
    // Text reads from the left or from below.
    let upright = along.x.abs() <= tolerance::PARALLEL;
    let backwards = if upright { along.y < 0.0 } else { along.x < 0.0 };
    let along = if backwards { -along } else { along };
    [1.0, 0.75, 0.55].into_iter().flat_map(move |scale| {
        let height = scale * full_height;
        let gap = 0.35 * height;
        [0.5, 0.35, 0.65, 0.2, 0.8].into_iter().flat_map(move |share| {
            [gap, -gap - FIGURE_HEIGHT * height].into_iter().map(move |rise| {
                (TextFrame { origin: a.lerp(b, share) + along.left() * rise, along }, height)
            })
        })
    })
}

/// The rectangle that a text covers, with a little air.
struct Reach {
    frame: TextFrame,
    low: Point2,
    high: Point2,
}

fn reach(frame: TextFrame, letters: f64, height: f64) -> Reach {
    let (half, air) = (0.5 * LETTER_WIDTH * letters * height, 0.12 * height);
    Reach {
        frame,
        low: Point2::new(-half - air, -air),
        high: Point2::new(half + air, FIGURE_HEIGHT * height + air),
    }
}

impl Reach {
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

/// Two lines below the blank: what it is, and how to read it.
struct Caption {
    family: String,
    figures: String,
}

/// Words of the key and room for a sample of the line before them, in text heights.
const KEY: [(FoldSide, &str); 2] = [(FoldSide::Up, "fold up"), (FoldSide::Down, "fold down")];
const KEY_NOTE: &str = "order · turn";
const SAMPLE: f64 = 3.2;
const SPACE: f64 = 1.4;

impl Caption {
    fn new(subject: &Subject<'_>) -> Self {
        let bounds = subject.blank.bounding_box();
        let size = bounds.max - bounds.min;
        let n = |x: f64| text(x, 2);
        let thickness = n(subject.sheet.thickness.length().to_mm());
        let figures =
            format!("{} × {} mm, {} {thickness} mm", n(size.x), n(size.y), subject.sheet.material.name);
        Self { family: subject.history.family.clone(), figures }
    }

    /// Width of the longer line in mm.
    fn width(&self, height: f64) -> f64 {
        let first = text_width(&self.family, height) + SPACE * height + text_width(&self.figures, height);
        let entry = |word: &str| (SAMPLE + 0.5 + SPACE) * height + text_width(word, height);
        let second = KEY.iter().map(|(_, word)| entry(word)).sum::<f64>() + text_width(KEY_NOTE, height);
        first.max(second)
    }

    fn draw(&self, page: &Page, left: f64, baseline: f64, height: f64) -> String {
        let n = |x: f64| text(x, PLACES);
        let mut out = String::new();
        let words = |x: f64, y: f64, style: &str, content: &str| {
            format!(
                r#"<text x="{}" y="{}" font-size="{}" {style}>{}</text>"#,
                n(x),
                n(y),
                n(height),
                escaped(content)
            )
        };
        out.push_str(&words(left, baseline, &format!(r#"font-weight="bold" fill="{INK}""#), &self.family));
        out.push('\n');
        let x = left + text_width(&self.family, height) + SPACE * height;
        out.push_str(&words(x, baseline, &format!(r#"fill="{INK}""#), &self.figures));
        out.push('\n');
        let (mut x, y) = (left, baseline + 1.8 * height);
        for (side, word) in KEY {
            let line_y = y - 0.5 * FIGURE_HEIGHT * height;
            let sample = [Point2::new(x, -line_y), Point2::new(x + SAMPLE * height, -line_y)];
            out.push_str(&page.fold_line(sample, side));
            out.push('\n');
            x += (SAMPLE + 0.5) * height;
            out.push_str(&words(x, y, &format!(r#"fill="{}""#, colour(side)), word));
            out.push('\n');
            x += text_width(word, height) + SPACE * height;
        }
        out.push_str(&words(x, y, &format!(r#"fill="{INK}""#), KEY_NOTE));
        out.push('\n');
        out
    }
}

fn text_width(words: &str, height: f64) -> f64 {
    #[expect(clippy::cast_precision_loss, reason = "a short text")]
    let letters = words.chars().count() as f64;
    LETTER_WIDTH * letters * height
}
