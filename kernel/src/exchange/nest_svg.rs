//! `nest.svg`: the stock sheet with its blanks, outlines only, in mm.
//!
//! Invariant: every blank is the one outline, placed; arcs stay arcs. Must not know: how places are found.

use std::fmt::Write as _;

use crate::cost::{Nesting, Placed};
use crate::quantity::tolerance;

use super::decimal::{figure, text};
use super::svg::{INK, PAPER, SHEET, escaped, path_of};
use super::{Format, Subject};

/// `nest.svg`.
pub(super) const FORMAT: Format =
    Format { file_name: "nest.svg", what: "blanks on the stock sheet, SVG in mm", write };

/// Sizes as shares of the longer side of the sheet.
const AROUND: f64 = 0.02;
const STROKE: f64 = 0.0008;
const TEXT_HEIGHT: f64 = 0.016;

fn write(subject: &Subject<'_>) -> Vec<u8> {
    subject.estimate.nesting.as_ref().map_or_else(Vec::new, |nesting| picture(subject, nesting).into_bytes())
}

fn picture(subject: &Subject<'_>, nesting: &Nesting) -> String {
    let room = &nesting.room;
    let (width, height) = (room.sheet.width.to_mm(), room.sheet.height.to_mm());
    let longer = width.max(height);
    let (around, letters) = (AROUND * longer, TEXT_HEIGHT * longer);
    let stroke = figure(STROKE * longer);
    let page = [width + 2.0 * around, height + 3.0 * around + letters].map(figure);
    let mut out = String::new();
    let mut line = |content: std::fmt::Arguments<'_>| {
        writeln!(out, "{content}").expect("text takes all that is written");
    };
    // The blanks are drawn with y up, as they lie in their coordinates: y on the page is −y.
    line(format_args!(
        r#"<svg xmlns="http://www.w3.org/2000/svg" width="{0}mm" height="{1}mm" viewBox="{2} {3} {0} {1}" font-family="sans-serif">"#,
        page[0],
        page[1],
        figure(-around),
        figure(-height - around),
    ));
    line(format_args!("<title>{}</title>", escaped(&format!("{} on a stock sheet", subject.history.family))));
    let rectangle = |[left, low, width, height]: [f64; 4], style: &str| {
        format!(
            r#"<rect x="{}" y="{}" width="{}" height="{}" {style}/>"#,
            figure(left),
            figure(-low - height),
            figure(width),
            figure(height)
        )
    };
    let whole = [-around, -2.0 * around - letters, width + 2.0 * around, height + 3.0 * around + letters];
    line(format_args!("{}", rectangle(whole, &format!(r#"fill="{PAPER}""#))));
    let border = format!(r#"fill="none" stroke="{INK}" stroke-width="{stroke}""#);
    line(format_args!("{}", rectangle([0.0, 0.0, width, height], &border)));
    let margin = room.margin.to_mm();
    if margin > tolerance::SNAP_MM {
        let dashes = figure(0.5 * letters);
        let inner = rectangle(
            [margin, margin, width - 2.0 * margin, height - 2.0 * margin],
            &format!(r#"{border} stroke-dasharray="{dashes}""#),
        );
        line(format_args!("{inner}"));
    }
    let outline: String = subject.blank.region.outers().map(path_of).collect();
    line(format_args!(r#"<defs><path id="blank" d="{}"/></defs>"#, outline.trim_end()));
    line(format_args!(
        r#"<g fill="{SHEET}" stroke="{INK}" stroke-width="{stroke}" stroke-linejoin="round">"#
    ));
    for Placed { quarter_turns, motion } in &nesting.placed {
        // On paper, a turn to the left is negative.
        line(format_args!(
            r##"<use href="#blank" transform="translate({} {}) rotate({})"/>"##,
            figure(motion.origin.x),
            figure(-motion.origin.y),
            -90 * i32::from(*quarter_turns),
        ));
    }
    line(format_args!("</g>"));
    line(format_args!(
        r#"<text x="0" y="{}" font-size="{}" fill="{INK}">{}</text>"#,
        figure(around + letters),
        figure(letters),
        escaped(&format!(
            "{}: {} on {} × {} mm, {} mm apart, {} mm along the edges, {} % used",
            subject.history.family,
            nesting.placed.len(),
            text(width, 2),
            text(height, 2),
            text(room.gap.to_mm(), 2),
            text(margin, 2),
            text(100.0 * nesting.share, 1),
        )),
    ));
    out.push_str("</svg>\n");
    out
}
