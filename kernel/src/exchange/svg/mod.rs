//! `blank.svg`: a picture of the blank at true size, for people.
//!
//! Lengths are in mm, y runs up as in the blank. Invariant: arcs are true arcs; text and lines keep their
//! share of the picture whatever the size of the blank; folds up and down differ in colour and in dashes;
//! all text from outside is escaped.

mod labels;

use std::fmt::Write;

use crate::blank::{BendLine, FormMark};
use crate::geom::{BoundingBox, Contour, Curve, Point2};
use crate::history::feature::{BumpSide, FoldSide};
use crate::quantity::maths;

use super::decimal::text;
use super::half_turns::pieces;
use super::{Format, Subject};
use labels::{Label, labels};

/// `blank.svg`.
pub(super) const FORMAT: Format =
    Format { file_name: "blank.svg", what: "picture of the blank with bend lines, SVG in mm", write };

/// Places after the point of a coordinate in mm.
const PLACES: usize = 6;

/// Colours that stay apart for colour-blind eyes: blue and vermilion of Okabe and Ito (Color Universal
/// Design, 2008), on neutral tones.
const UP: &str = "#0072b2";
const DOWN: &str = "#d55e00";
pub(super) const PAPER: &str = "#fcfcfa";
pub(super) const SHEET: &str = "#e4e7ea";
pub(super) const INK: &str = "#22262a";

/// Sizes as shares of the longer side of the blank.
const MARGIN: f64 = 0.04;
const TEXT_HEIGHT: f64 = 0.024;
const STROKE: f64 = 0.002;
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
    let height = size.y + 3.0 * margin + 2.8 * height_of_text;
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
    for mark in &subject.blank.forms {
        line(page.form(mark));
    }
    // Above the caption only.
    let room = BoundingBox {
        min: Point2::new(left, bounds.min.y - margin),
        max: Point2::new(left + width, bounds.max.y + margin),
    };
    for label in labels(subject, height_of_text, room) {
        line(page.label(&label));
    }
    let baseline = -bounds.min.y + margin + height_of_text;
    out.push_str(&caption.draw(&page, left + margin, baseline, height_of_text));
    out.push_str("</svg>\n");
    out
}

/// `&`, `<`, `>` and quotes by name; characters that XML forbids become U+FFFD.
pub(super) fn escaped(raw: &str) -> String {
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

pub(super) fn path_of(contour: &Contour) -> String {
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

    /// Foot and top of a form, with short dashes.
    fn form(&self, mark: &FormMark) -> String {
        let outlines = format!("{}{}", path_of(&mark.foot), path_of(&mark.top));
        let side = match mark.side {
            BumpSide::In => FoldSide::Up,
            BumpSide::Out => FoldSide::Down,
        };
        format!(
            r#"<path d="{}" fill="none" stroke="{}" stroke-width="{}" stroke-dasharray="{}"><title>{}</title></path>"#,
            outlines.trim_end(),
            colour(side),
            text(0.7 * STROKE * self.unit, PLACES),
            text(0.004 * self.unit, PLACES),
            escaped(&format!("{}, pressed {}", mark.name, mark.side.word())),
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

/// Two lines below the blank: what it is, and how to read it.
struct Caption {
    family: String,
    figures: String,
    note: &'static str,
}

/// Words of the key and room for a sample of the line before them, in text heights.
const KEY: [(FoldSide, &str); 2] = [(FoldSide::Up, "fold up"), (FoldSide::Down, "fold down")];
const NOTE: &str = "1 · 90°: order of bending · turn";
const NOTE_NO_ORDER: &str = "name · 90°: bend · turn, no order of bending";
const SAMPLE: f64 = 3.2;
const SPACE: f64 = 1.4;
/// How much wider bold letters are.
const BOLD: f64 = 1.15;

impl Caption {
    fn new(subject: &Subject<'_>) -> Self {
        let bounds = subject.blank.bounding_box();
        let size = bounds.max - bounds.min;
        let n = |x: f64| text(x, 2);
        let thickness = n(subject.sheet.thickness.length().to_mm());
        let figures = format!(
            "blank {} × {} mm, {}, {thickness} mm thick",
            n(size.x),
            n(size.y),
            subject.sheet.material.name
        );
        let has_names = subject.bend_table.iter().any(|row| row.order.is_none());
        let note = if has_names { NOTE_NO_ORDER } else { NOTE };
        Self { family: subject.history.family.clone(), figures, note }
    }

    /// Width of the longer line in mm.
    fn width(&self, height: f64) -> f64 {
        let family = BOLD * text_width(&self.family, height);
        let first = family + SPACE * height + text_width(&self.figures, height);
        let entry = |word: &str| (SAMPLE + 0.5 + SPACE) * height + text_width(word, height);
        let second = KEY.iter().map(|(_, word)| entry(word)).sum::<f64>() + text_width(self.note, height);
        first.max(second)
    }

    fn draw(&self, page: &Page, left: f64, baseline: f64, height: f64) -> String {
        let n = |x: f64| text(x, PLACES);
        let mut out = String::new();
        let words = |x: f64, y: f64, colour: &str, content: &str| {
            format!(
                r#"<text x="{}" y="{}" font-size="{}" fill="{colour}">{}</text>"#,
                n(x),
                n(y),
                n(height),
                escaped(content)
            )
        };
        // One text, so that the figures begin where the name really ends.
        out.push_str(&format!(
            r#"<text x="{}" y="{}" font-size="{}" fill="{INK}"><tspan font-weight="bold">{}</tspan><tspan dx="{}">{}</tspan></text>"#,
            n(left),
            n(baseline),
            n(height),
            escaped(&self.family),
            n(SPACE * height),
            escaped(&self.figures),
        ));
        out.push('\n');
        let (mut x, y) = (left, baseline + 1.8 * height);
        for (side, word) in KEY {
            let line_y = y - 0.5 * FIGURE_HEIGHT * height;
            let sample = [Point2::new(x, -line_y), Point2::new(x + SAMPLE * height, -line_y)];
            out.push_str(&page.fold_line(sample, side));
            out.push('\n');
            x += (SAMPLE + 0.5) * height;
            out.push_str(&words(x, y, colour(side), word));
            out.push('\n');
            x += text_width(word, height) + SPACE * height;
        }
        out.push_str(&words(x, y, INK, self.note));
        out.push('\n');
        out
    }
}

fn text_width(words: &str, height: f64) -> f64 {
    #[expect(clippy::cast_precision_loss, reason = "a short text")]
    let letters = words.chars().count() as f64;
    LETTER_WIDTH * letters * height
}
