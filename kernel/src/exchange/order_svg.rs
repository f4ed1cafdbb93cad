//! `order.svg`: the bend order, a small picture for each step.
//!
//! Each picture is the section at the brake at the end of the step: operator on the left, gauge on the right.
//! A corner of each shows sheet, tip and V enlarged. Invariant: all pictures have one scale; bends that are done, made now and to do differ in colour and in their
//! place in the caption, so that the file is read without colours too. Must not know: how the order was found.

use std::fmt::Write;

use crate::brake::{Drawn, Outline, Progress, StepPicture, Tool};
use crate::geom::{BoundingBox, Point2};

use super::decimal::text;
use super::svg::escaped;
use super::{Format, Subject};

/// `order.svg`.
pub(super) const FORMAT: Format =
    Format { file_name: "order.svg", what: "bend order, a small picture for each step, SVG", write };

/// Size of one picture and of its caption, in px.
const TILE: [f64; 2] = [300.0, 240.0];
const CAPTION: f64 = 52.0;
const GAP: f64 = 14.0;
const COLUMNS: usize = 4;

/// Side of the enlarged corner in px, and the width that it shows, in openings of the die, or in mm where there is
/// none.
const CLOSE_UP_PX: f64 = 84.0;
const CLOSE_UP_OPENINGS: f64 = 2.6;
const LEAST_CLOSE_UP_MM: f64 = 30.0;

/// Extent around the die that is always shown, in mm: behind and before it, below and above its top.
const LEAST_VIEW_MM: [f64; 2] = [90.0, 70.0];

/// Colours that stay apart for colour-blind eyes (Okabe and Ito, Color Universal Design, 2008), on neutral tones.
const PAPER: &str = "#fcfcfa";
const INK: &str = "#22262a";
const STEEL: &str = "#b9c0c7";
const FRAME: &str = "#dde1e5";
const GAUGE: &str = "#8c6d9e";
const SHEET: &str = "#3b4854";
const DONE: &str = "#009e73";
const NOW: &str = "#d55e00";
const TO_DO: &str = "#56b4e9";

fn write(subject: &Subject<'_>) -> Vec<u8> {
    let plan = subject.plan;
    let mut tiles: Vec<Tile<'_>> = Vec::new();
    for (index, step) in plan.steps.iter().enumerate() {
        let names: Vec<String> = step
            .bends
            .iter()
            .map(|id| subject.tree.panel(subject.tree.bend(*id).child).name.to_string())
            .collect();
        let bend = subject.tree.bend(step.bends[0]);
        let setting = &step.setting;
        let gauge = setting
            .gauge
            .map_or_else(|| "to a marked line".to_owned(), |g| format!("gauge {} mm", text(g, 2)));
        tiles.push(Tile {
            picture: &step.picture,
            close_up: CLOSE_UP_OPENINGS * setting.die_opening,
            words: [
                format!(
                    "{} · {} · {}° {}",
                    index + 1,
                    names.join(" + "),
                    text(bend.turn().to_degrees(), 1),
                    bend.side.word()
                ),
                format!(
                    "{} punch, {} die, {} mm long",
                    setting.punch,
                    setting.die,
                    text(setting.tool_length, 0)
                ),
                format!(
                    "{gauge}, turned to {}° {}",
                    text(setting.turn_under_load_deg(), 1),
                    if setting.closed_after { "and closed between flats" } else { "(estimate)" }
                ),
            ],
        });
    }
    if let (Some(picture), Some(finding)) = (&plan.obstacle, plan.findings.first()) {
        let first = finding.hints.first().cloned().unwrap_or_default();
        let words = ["no order".to_owned(), finding.message.clone(), first];
        tiles.push(Tile { picture, close_up: LEAST_CLOSE_UP_MM, words });
    }
    sheet_of(&subject.history.family, &tiles).into_bytes()
}

/// One picture with its caption.
struct Tile<'p> {
    picture: &'p StepPicture,
    /// Width that its enlarged corner shows, in mm.
    close_up: f64,
    words: [String; 3],
}

fn sheet_of(family: &str, tiles: &[Tile<'_>]) -> String {
    let columns = tiles.len().clamp(1, COLUMNS);
    let rows = tiles.len().div_ceil(columns).max(1);
    #[expect(clippy::cast_precision_loss, reason = "a small number of pictures")]
    let at = |i: usize, size: f64| GAP + i as f64 * (size + GAP);
    let (width, height) = (at(columns, TILE[0]), at(rows, TILE[1] + CAPTION) + 24.0);
    let view = tiles.iter().fold(least_view(), |view, tile| view.union(extent(tile.picture)));
    let mut out = format!(
        "<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"{0}\" height=\"{1}\" viewBox=\"0 0 {0} {1}\" font-family=\"sans-serif\">\n<title>{2}</title>\n<rect width=\"{0}\" height=\"{1}\" fill=\"{PAPER}\"/>\n",
        text(width, 1),
        text(height, 1),
        escaped(&format!("Bend order of {family}"))
    );
    for (index, tile) in tiles.iter().enumerate() {
        let (x, y) = (at(index % columns, TILE[0]), at(index / columns, TILE[1] + CAPTION));
        tile.draw(&mut out, [x, y], view);
    }
    legend(&mut out, [GAP, height - 12.0]);
    out.push_str("</svg>\n");
    out
}

fn least_view() -> BoundingBox {
    let [y, z] = LEAST_VIEW_MM;
    BoundingBox { min: Point2::new(-y, -z), max: Point2::new(y, z) }
}

/// The extent of the sheet in a picture.
fn extent(picture: &StepPicture) -> BoundingBox {
    let sheet = picture.outlines.iter().filter(|outline| match outline.of {
        Drawn::Tool(_) => false,
        Drawn::Panel | Drawn::Bend(_) | Drawn::Beyond => true,
    });
    sheet.flat_map(|outline| &outline.corners).fold(BoundingBox::EMPTY, |all, p| all.with(*p)).grown(4.0)
}

impl Tile<'_> {
    fn draw(&self, out: &mut String, [x, y]: [f64; 2], view: BoundingBox) {
        // Room for the same share of mm in both directions.
        let scale = (TILE[0] / view.width()).min(TILE[1] / view.height());
        self.window(out, [x, y], TILE, view.min.midpoint(view.max), scale);
        let corner = [x, y + TILE[1] - CLOSE_UP_PX];
        self.window(out, corner, [CLOSE_UP_PX; 2], Point2::ORIGIN, CLOSE_UP_PX / self.close_up);
        let n = |v: f64| text(v, 3);
        for (line, (words, (size, weight))) in
            self.words.iter().zip([(13.0, "bold"), (11.0, "normal"), (11.0, "normal")]).enumerate()
        {
            #[expect(clippy::cast_precision_loss, reason = "three lines")]
            let baseline = y + TILE[1] + 15.0 + 15.0 * line as f64;
            let short: String = words.chars().take(MOST_LETTERS).collect();
            let _ = writeln!(
                out,
                "<text x=\"{}\" y=\"{}\" font-size=\"{size}\" font-weight=\"{weight}\" fill=\"{INK}\">{}</text>",
                n(x),
                n(baseline),
                escaped(&short)
            );
        }
    }

    /// The picture about a place, in a frame of a size in px.
    fn window(&self, out: &mut String, [x, y]: [f64; 2], size: [f64; 2], middle: Point2, scale: f64) {
        let [w, h] = size.map(|side| side / scale);
        let n = |v: f64| text(v, 3);
        let [left, top] = [n(middle.x - 0.5 * w), n(-middle.y - 0.5 * h)];
        let _ = writeln!(
            out,
            "<svg x=\"{}\" y=\"{}\" width=\"{}\" height=\"{}\" viewBox=\"{left} {top} {} {}\" stroke-linejoin=\"round\">",
            n(x),
            n(y),
            n(size[0]),
            n(size[1]),
            n(w),
            n(h)
        );
        let _ = writeln!(
            out,
            "<rect x=\"{left}\" y=\"{top}\" width=\"{}\" height=\"{}\" fill=\"#ffffff\"/>",
            n(w),
            n(h)
        );
        for outline in &self.picture.outlines {
            drawn(out, outline, 1.0 / scale);
        }
        out.push_str("</svg>\n");
        let _ = writeln!(
            out,
            "<rect x=\"{}\" y=\"{}\" width=\"{}\" height=\"{}\" fill=\"none\" stroke=\"{STEEL}\"/>",
            n(x),
            n(y),
            n(size[0]),
            n(size[1])
        );
    }
}

/// Letters of a caption that fit below a picture.
const MOST_LETTERS: usize = 54;

fn drawn(out: &mut String, outline: &Outline, px: f64) {
    let (fill, opacity, stroke) = match outline.of {
        Drawn::Tool(Tool::Punch | Tool::Die) => (STEEL, 1.0, STEEL),
        Drawn::Tool(Tool::Ram | Tool::Bed | Tool::Frame) => (FRAME, 1.0, FRAME),
        Drawn::Tool(Tool::Gauge) => (GAUGE, 0.6, GAUGE),
        Drawn::Panel => (SHEET, 1.0, SHEET),
        Drawn::Bend(Progress::Done) => (DONE, 1.0, DONE),
        Drawn::Bend(Progress::Now) => (NOW, 1.0, NOW),
        Drawn::Bend(Progress::ToDo) => (TO_DO, 1.0, TO_DO),
        Drawn::Beyond => (SHEET, 0.12, "none"),
    };
    // Thin sheet stays visible: at least about two pixels, coloured bends three.
    let width = match outline.of {
        Drawn::Bend(_) => 2.0,
        Drawn::Tool(_) | Drawn::Panel | Drawn::Beyond => 0.7,
    };
    let points: Vec<String> =
        outline.corners.iter().map(|p| format!("{},{}", text(p.x, 3), text(0.0 - p.y, 3))).collect();
    let _ = writeln!(
        out,
        "<polygon points=\"{}\" fill=\"{fill}\" fill-opacity=\"{opacity}\" stroke=\"{stroke}\" stroke-width=\"{}\"/>",
        points.join(" "),
        text(width * px, 3)
    );
}

fn legend(out: &mut String, [x, y]: [f64; 2]) {
    let mut at = x;
    for (colour, words) in
        [(DONE, "bent before"), (NOW, "bent now"), (TO_DO, "bent later"), (GAUGE, "back gauge")]
    {
        let _ = writeln!(
            out,
            "<rect x=\"{0}\" y=\"{1}\" width=\"10\" height=\"10\" fill=\"{colour}\"/><text x=\"{2}\" y=\"{3}\" font-size=\"11\" fill=\"{INK}\">{words}</text>",
            text(at, 1),
            text(y - 9.0, 1),
            text(at + 15.0, 1),
            text(y, 1)
        );
        at += 100.0;
    }
}
