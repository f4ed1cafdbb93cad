//! `order.svg`: the bend order, a small picture for each step.
//!
//! Each picture is the section at the brake at the end of the step: operator on the left, gauge on the right.
//! A corner of each shows sheet, tip and V enlarged; a gauge beyond the picture is told by an arrow at its edge. Where
//! there is no order, the one picture shows what is in the way. Invariant: all pictures have one scale, and the step
//! and what is done in it stand in the caption, so that the file is read without colours too.
//! Must not know: how the order was found.

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
const LINE: f64 = 15.0;
const GAP: f64 = 14.0;
const COLUMNS: usize = 4;

/// Side of the enlarged corner in px, and the width that it shows, in openings of the die, or in mm where there is
/// none.
const CLOSE_UP_PX: f64 = 84.0;
const CLOSE_UP_OPENINGS: f64 = 2.6;
const LEAST_CLOSE_UP_MM: f64 = 30.0;

/// Letters of a title and of a line below it that fit below a picture.
const MOST_LETTERS: [usize; 2] = [36, 48];

/// How many lines a caption has at most.
const MOST_LINES: usize = 12;

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
const IN_THE_WAY: &str = "#cc79a7";

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
            words: caption(&[
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
                    if setting.closed_after { "(estimate) and closed between flats" } else { "(estimate)" }
                ),
            ]),
        });
    }
    if let (Some(picture), Some(finding)) = (&plan.obstacle, plan.findings.first()) {
        let first = finding.hints.first().cloned().unwrap_or_default();
        let words = [NO_ORDER.to_owned(), finding.message.clone(), first];
        tiles.push(Tile { picture, close_up: LEAST_CLOSE_UP_MM, words: caption(&words) });
    }
    sheet_of(&subject.history.family, &tiles).into_bytes()
}

/// Title of the picture where there is no order.
const NO_ORDER: &str = "no order";

/// Lines of a caption: the title, then the rest, broken between words where they are too long.
fn caption(words: &[String]) -> Vec<String> {
    let mut lines: Vec<String> = Vec::new();
    for (index, words) in words.iter().enumerate() {
        let most = MOST_LETTERS[index.min(1)];
        let mut line = String::new();
        for word in words.split(' ') {
            let letters = |text: &str| text.chars().count();
            if !line.is_empty() && letters(&line) + 1 + letters(word) > most {
                lines.push(std::mem::take(&mut line));
            }
            if !line.is_empty() {
                line.push(' ');
            }
            line.push_str(word);
        }
        lines.push(line);
    }
    if lines.len() > MOST_LINES {
        lines.truncate(MOST_LINES);
        lines[MOST_LINES - 1].push('…');
    }
    lines
}

/// One picture with its caption.
struct Tile<'p> {
    picture: &'p StepPicture,
    /// Width that its enlarged corner shows, in mm.
    close_up: f64,
    /// The first one is the title.
    words: Vec<String>,
}

fn sheet_of(family: &str, tiles: &[Tile<'_>]) -> String {
    let columns = tiles.len().clamp(1, COLUMNS);
    let rows = tiles.len().div_ceil(columns).max(1);
    let lines = tiles.iter().map(|tile| tile.words.len()).max().unwrap_or(0);
    #[expect(clippy::cast_precision_loss, reason = "a caption has few lines")]
    let below = 7.0 + LINE * lines as f64;
    #[expect(clippy::cast_precision_loss, reason = "a small number of pictures")]
    let at = |i: usize, size: f64| GAP + i as f64 * (size + GAP);
    let (width, height) = (at(columns, TILE[0]), at(rows, TILE[1] + below) + 24.0);
    let view = tiles.iter().fold(least_view(), |view, tile| view.union(extent(tile.picture)));
    let mut out = format!(
        "<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"{0}\" height=\"{1}\" viewBox=\"0 0 {0} {1}\" font-family=\"sans-serif\">\n<title>{2}</title>\n<rect width=\"{0}\" height=\"{1}\" fill=\"{PAPER}\"/>\n",
        text(width, 1),
        text(height, 1),
        escaped(&format!("Bend order of {family}"))
    );
    for (index, tile) in tiles.iter().enumerate() {
        let (x, y) = (at(index % columns, TILE[0]), at(index / columns, TILE[1] + below));
        tile.draw(&mut out, [x, y], view);
    }
    legend(&mut out, [GAP, height - 12.0], tiles);
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
        Drawn::Panel | Drawn::Bend(_) | Drawn::InTheWay | Drawn::Beyond => true,
    });
    sheet.flat_map(|outline| &outline.corners).fold(BoundingBox::EMPTY, |all, p| all.with(*p)).grown(4.0)
}

impl Tile<'_> {
    fn draw(&self, out: &mut String, [x, y]: [f64; 2], view: BoundingBox) {
        // Room for the same share of mm in both directions.
        let scale = (TILE[0] / view.width()).min(TILE[1] / view.height());
        let middle = view.min.midpoint(view.max);
        self.window(out, [x, y], TILE, middle, scale);
        let on_paper = |p: &Point2| {
            Point2::new(0.5 * TILE[0] + (p.x - middle.x) * scale, 0.5 * TILE[1] - (p.y - middle.y) * scale)
        };
        self.gauge_beyond(out, [x, y], &on_paper);
        let left = self.close_up_hides_less_on_the_left(&on_paper);
        let corner = [if left { x } else { x + TILE[0] - CLOSE_UP_PX }, y + TILE[1] - CLOSE_UP_PX];
        self.window(out, corner, [CLOSE_UP_PX; 2], Point2::ORIGIN, CLOSE_UP_PX / self.close_up);
        let n = |v: f64| text(v, 3);
        for (line, words) in self.words.iter().enumerate() {
            let (size, weight) = if line == 0 { (13.0, "bold") } else { (11.0, "normal") };
            #[expect(clippy::cast_precision_loss, reason = "a caption has few lines")]
            let baseline = y + TILE[1] + LINE + LINE * line as f64;
            let _ = writeln!(
                out,
                "<text x=\"{}\" y=\"{}\" font-size=\"{size}\" font-weight=\"{weight}\" fill=\"{INK}\">{}</text>",
                n(x),
                n(baseline),
                escaped(words)
            );
        }
    }

    /// Whether as few corners of cut sheet and gauge lie below the close-up on the left as on the right.
    fn close_up_hides_less_on_the_left(&self, on_paper: &dyn Fn(&Point2) -> Point2) -> bool {
        let shown = self.picture.outlines.iter().filter(|outline| match outline.of {
            Drawn::Tool(tool) => tool == Tool::Gauge,
            Drawn::Panel | Drawn::Bend(_) | Drawn::InTheWay => true,
            Drawn::Beyond => false,
        });
        let mut hidden = [0, 0];
        for p in shown.flat_map(|outline| &outline.corners).map(on_paper) {
            if p.y > TILE[1] - CLOSE_UP_PX {
                hidden[0] += u32::from(p.x < CLOSE_UP_PX);
                hidden[1] += u32::from(p.x > TILE[0] - CLOSE_UP_PX);
            }
        }
        hidden[0] <= hidden[1]
    }

    /// An arrow at the right edge, where the gauge stands beyond it.
    fn gauge_beyond(&self, out: &mut String, [x, y]: [f64; 2], on_paper: &dyn Fn(&Point2) -> Point2) {
        const ARROW_PX: f64 = 9.0;
        let gauge = self.picture.outlines.iter().find(|outline| outline.of == Drawn::Tool(Tool::Gauge));
        let Some(face) = gauge.and_then(|gauge| gauge.corners.first()).map(on_paper) else { return };
        if face.x < TILE[0] {
            return;
        }
        let n = |v: f64| text(v, 3);
        let (tip, level) = (x + TILE[0] - 3.0, y + face.y.clamp(ARROW_PX, TILE[1] - ARROW_PX));
        let _ = writeln!(
            out,
            "<path d=\"M{} {}v{}l{} {}z\" fill=\"{GAUGE}\"/>",
            n(tip - ARROW_PX),
            n(level - 0.5 * ARROW_PX),
            n(ARROW_PX),
            n(ARROW_PX),
            n(-0.5 * ARROW_PX)
        );
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

fn drawn(out: &mut String, outline: &Outline, px: f64) {
    let (fill, opacity, stroke) = match outline.of {
        Drawn::Tool(Tool::Punch | Tool::Die) => (STEEL, 1.0, STEEL),
        Drawn::Tool(Tool::Ram | Tool::Bed | Tool::Frame) => (FRAME, 1.0, FRAME),
        Drawn::Tool(Tool::Gauge) => (GAUGE, 0.6, GAUGE),
        Drawn::Panel => (SHEET, 1.0, SHEET),
        Drawn::Bend(Progress::Done) => (DONE, 1.0, DONE),
        Drawn::Bend(Progress::Now) => (NOW, 1.0, NOW),
        Drawn::Bend(Progress::ToDo) => (TO_DO, 1.0, TO_DO),
        Drawn::InTheWay => (IN_THE_WAY, 1.0, IN_THE_WAY),
        Drawn::Beyond => (SHEET, 0.12, "none"),
    };
    // Thin sheet stays visible: at least about two pixels, coloured bends three.
    let width = match outline.of {
        Drawn::Bend(_) | Drawn::InTheWay => 2.0,
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

/// What the colours mean that the pictures have.
fn legend(out: &mut String, [x, y]: [f64; 2], tiles: &[Tile<'_>]) {
    let drawn: Vec<Drawn> =
        tiles.iter().flat_map(|tile| &tile.picture.outlines).map(|outline| outline.of).collect();
    let mut at = x;
    for (of, colour, words) in [
        (Drawn::Bend(Progress::Done), DONE, "bent before"),
        (Drawn::Bend(Progress::Now), NOW, "bent now"),
        (Drawn::Bend(Progress::ToDo), TO_DO, "bent later"),
        (Drawn::Tool(Tool::Gauge), GAUGE, "back gauge"),
        (Drawn::InTheWay, IN_THE_WAY, "in the way"),
    ] {
        if !drawn.contains(&of) {
            continue;
        }
        let _ = writeln!(
            out,
            "<rect x=\"{0}\" y=\"{1}\" width=\"10\" height=\"10\" fill=\"{colour}\"/><text x=\"{2}\" y=\"{3}\" font-size=\"10\" fill=\"{INK}\">{words}</text>",
            text(at, 1),
            text(y - 9.0, 1),
            text(at + 14.0, 1),
            text(y, 1)
        );
        #[expect(clippy::cast_precision_loss, reason = "a few letters")]
        let letters = words.len() as f64;
        at += 22.0 + 6.2 * letters;
    }
}
