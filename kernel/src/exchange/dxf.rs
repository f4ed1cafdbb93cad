//! `blank.dxf`: the blank for the cutting machine, with its bend lines, their places in the bend order (their names
//! where there is no order), and the outlines of its forms.
//!
//! Written as published for R2000 (AC1015), the oldest version that has closed light polylines, a unit for
//! the whole file and handles for everything. Invariant: cuts are closed polylines with true arcs (a bulge
//! is `tan(sweep / 4)`, positive to the left) or circles; lengths are in mm; a coordinate is within 1e-10 mm
//! of the blank's; every handle is used once.

use std::fmt::Write;

use crate::blank::{BendLine, Blank};
use crate::brake::BendRow;
use crate::geom::{BoundingBox, Contour, Point2};
use crate::history::feature::{BumpSide, FoldSide};
use crate::quantity::maths;

use super::decimal::text;
use super::half_turns::pieces;
use super::{Format, Subject};

/// `blank.dxf`.
pub(super) const FORMAT: Format =
    Format { file_name: "blank.dxf", what: "blank with bend lines for cutting, DXF R2000 in mm", write };

/// Places after the point of a coordinate in mm.
const COORDINATE_PLACES: usize = 10;
/// Places of a bulge: a chord of 10 m then leaves its arc by less than 1e-11 mm.
const BULGE_PLACES: usize = 15;

/// A layer: name, colour index, line type.
struct Layer {
    name: &'static str,
    colour: i32,
    line_type: &'static str,
}

/// Black or white against the paper for what is cut outside, grey inside, azure and orange for folds: these
/// stay apart for colour-blind eyes, and the line types differ too.
const CUT_OUTER: Layer = Layer { name: "CUT_OUTER", colour: 7, line_type: "CONTINUOUS" };
const CUT_INNER: Layer = Layer { name: "CUT_INNER", colour: 8, line_type: "CONTINUOUS" };
const FOLD_UP: Layer = Layer { name: "FOLD_UP", colour: 150, line_type: "FOLD_UP" };
const FOLD_DOWN: Layer = Layer { name: "FOLD_DOWN", colour: 30, line_type: "FOLD_DOWN" };
/// Foot and top of forms, in the colours of folds to the same side: they are marks, and no cut.
const FORM_UP: Layer = Layer { name: "FORM_UP", colour: 150, line_type: "FORM" };
const FORM_DOWN: Layer = Layer { name: "FORM_DOWN", colour: 30, line_type: "FORM" };
/// Places in the bend order, or names where there is none: writing, to be left out where the file is cut.
const BEND_ORDER: Layer = Layer { name: "BEND_ORDER", colour: 8, line_type: "CONTINUOUS" };
/// The format demands this one.
const LAYER_ZERO: Layer = Layer { name: "0", colour: 7, line_type: "CONTINUOUS" };

/// Line types: name, description, strokes in mm (below zero: gaps).
const LINE_TYPES: [(&str, &str, &[f64]); 6] = [
    ("BYBLOCK", "", &[]),
    ("BYLAYER", "", &[]),
    ("CONTINUOUS", "Solid", &[]),
    ("FOLD_UP", "Dashes: fold towards the viewer", &[6.0, -3.0]),
    ("FOLD_DOWN", "Dash and dot: fold away from the viewer", &[6.0, -2.0, 0.0, -2.0]),
    ("FORM", "Short dashes: outline of a pressed form", &[2.0, -1.0]),
];

fn write(subject: &Subject<'_>) -> Vec<u8> {
    bytes(subject.blank, subject.bend_table)
}

fn bytes(blank: &Blank, bend_table: &[BendRow]) -> Vec<u8> {
    let bounds = blank.bounding_box();
    let mut body = Groups::default();
    let model = tables(&mut body, bounds);
    blocks(&mut body, model);
    body.section("ENTITIES", |body| {
        for contour in blank.region.contours() {
            let layer = if contour.signed_area() > 0.0 { &CUT_OUTER } else { &CUT_INNER };
            closed(body, model.model, layer, contour);
        }
        for line in &blank.bend_lines {
            fold(body, model.model, line);
        }
        for row in bend_table {
            mark(body, model.model, row);
        }
        for mark in &blank.forms {
            let layer = match mark.side {
                BumpSide::In => &FORM_UP,
                BumpSide::Out => &FORM_DOWN,
            };
            closed(body, model.model, layer, &mark.foot);
            closed(body, model.model, layer, &mark.top);
        }
    });
    objects(&mut body);
    let mut file = header(bounds, body.next_handle + 1);
    file.push_str(&body.out);
    file.push_str("  0\nEOF\n");
    file.into_bytes()
}

/// Tagged lines, and the last handle given out.
#[derive(Default)]
struct Groups {
    out: String,
    next_handle: u32,
}

/// A handle: a number that no other thing in the file has.
#[derive(Clone, Copy)]
struct Handle(u32);

/// Handles of the two block records that entities and blocks belong to.
#[derive(Clone, Copy)]
struct Spaces {
    model: Handle,
    paper: Handle,
}

impl Groups {
    fn text(&mut self, code: u16, value: &str) {
        writeln!(self.out, "{code:>3}\n{value}").expect("text takes all that is written");
    }

    fn whole(&mut self, code: u16, value: i32) {
        self.text(code, &value.to_string());
    }

    fn real(&mut self, code: u16, value: f64, places: usize) {
        let mut value = text(value, places);
        if !value.contains('.') {
            value.push_str(".0");
        }
        self.text(code, &value);
    }

    fn length(&mut self, code: u16, value: f64) {
        self.real(code, value, COORDINATE_PLACES);
    }

    fn point(&mut self, code: u16, p: Point2) {
        self.length(code, p.x);
        self.length(code + 10, p.y);
    }

    fn point_in_space(&mut self, code: u16, [x, y, z]: [f64; 3]) {
        self.length(code, x);
        self.length(code + 10, y);
        self.length(code + 20, z);
    }

    fn refer(&mut self, code: u16, to: Handle) {
        self.text(code, &format!("{:X}", to.0));
    }

    fn new_handle(&mut self) -> Handle {
        self.next_handle += 1;
        Handle(self.next_handle)
    }

    /// Begins a thing with a handle of its own and an owner (0 for none).
    fn begin(&mut self, kind: &str, handle_code: u16, owner: Handle) -> Handle {
        let handle = self.new_handle();
        self.text(0, kind);
        self.refer(handle_code, handle);
        self.refer(330, owner);
        handle
    }

    fn section(&mut self, name: &str, content: impl FnOnce(&mut Self)) {
        self.text(0, "SECTION");
        self.text(2, name);
        content(self);
        self.text(0, "ENDSEC");
    }

    fn table(&mut self, name: &str, count: usize, content: impl FnOnce(&mut Self, Handle)) {
        self.text(0, "TABLE");
        self.text(2, name);
        let handle = self.new_handle();
        self.refer(5, handle);
        self.refer(330, NOBODY);
        self.text(100, "AcDbSymbolTable");
        self.whole(70, i32::try_from(count).expect("tables are short"));
        if name == "DIMSTYLE" {
            self.text(100, "AcDbDimStyleTable");
        }
        content(self, handle);
        self.text(0, "ENDTAB");
    }

    fn record(&mut self, kind: &str, subclass: &str, owner: Handle, name: &str) -> Handle {
        let handle = self.begin(kind, if kind == "DIMSTYLE" { 105 } else { 5 }, owner);
        self.text(100, "AcDbSymbolTableRecord");
        self.text(100, subclass);
        self.text(2, name);
        handle
    }

    fn entity(&mut self, kind: &str, owner: Handle, layer: &str) {
        self.begin(kind, 5, owner);
        self.text(100, "AcDbEntity");
        self.text(8, layer);
    }
}

/// The owner of what nobody owns.
const NOBODY: Handle = Handle(0);

fn header(bounds: BoundingBox, first_unused: u32) -> String {
    let mut groups = Groups::default();
    groups.section("HEADER", |g| {
        let mut variable = |name: &str, value: &dyn Fn(&mut Groups)| {
            g.text(9, name);
            value(g);
        };
        variable("$ACADVER", &|g| g.text(1, "AC1015"));
        variable("$DWGCODEPAGE", &|g| g.text(3, "ANSI_1252"));
        variable("$INSBASE", &|g| g.point_in_space(10, [0.0; 3]));
        variable("$EXTMIN", &|g| g.point_in_space(10, [bounds.min.x, bounds.min.y, 0.0]));
        variable("$EXTMAX", &|g| g.point_in_space(10, [bounds.max.x, bounds.max.y, 0.0]));
        variable("$LIMMIN", &|g| g.point(10, bounds.min));
        variable("$LIMMAX", &|g| g.point(10, bounds.max));
        variable("$LTSCALE", &|g| g.length(40, 1.0));
        variable("$LUNITS", &|g| g.whole(70, 2));
        variable("$LUPREC", &|g| g.whole(70, 4));
        variable("$INSUNITS", &|g| g.whole(70, 4));
        variable("$MEASUREMENT", &|g| g.whole(70, 1));
        variable("$CLAYER", &|g| g.text(8, LAYER_ZERO.name));
        variable("$HANDSEED", &|g| g.refer(5, Handle(first_unused)));
    });
    groups.section("CLASSES", |_| {});
    groups.out
}

fn tables(g: &mut Groups, bounds: BoundingBox) -> Spaces {
    let mut spaces = Spaces { model: NOBODY, paper: NOBODY };
    g.section("TABLES", |g| {
        g.table("VPORT", 1, |g, table| view_of(g, table, bounds));
        g.table("LTYPE", LINE_TYPES.len(), |g, table| {
            for line_type in &LINE_TYPES {
                line_type_record(g, table, line_type);
            }
        });
        let layers =
            [&LAYER_ZERO, &CUT_OUTER, &CUT_INNER, &FOLD_UP, &FOLD_DOWN, &FORM_UP, &FORM_DOWN, &BEND_ORDER];
        g.table("LAYER", layers.len(), |g, table| {
            for layer in layers {
                g.record("LAYER", "AcDbLayerTableRecord", table, layer.name);
                g.whole(70, 0);
                g.whole(62, layer.colour);
                g.text(6, layer.line_type);
            }
        });
        g.table("STYLE", 1, |g, table| {
            g.record("STYLE", "AcDbTextStyleTableRecord", table, "STANDARD");
            g.whole(70, 0);
            g.length(40, 0.0);
            g.length(41, 1.0);
            g.length(50, 0.0);
            g.whole(71, 0);
            g.length(42, 2.5);
            g.text(3, "txt");
            g.text(4, "");
        });
        g.table("VIEW", 0, |_, _| {});
        g.table("UCS", 0, |_, _| {});
        g.table("APPID", 1, |g, table| {
            g.record("APPID", "AcDbRegAppTableRecord", table, "ACAD");
            g.whole(70, 0);
        });
        g.table("DIMSTYLE", 1, |g, table| {
            g.record("DIMSTYLE", "AcDbDimStyleTableRecord", table, "STANDARD");
            g.whole(70, 0);
        });
        g.table("BLOCK_RECORD", 2, |g, table| {
            let mut space = |name| g.record("BLOCK_RECORD", "AcDbBlockTableRecord", table, name);
            spaces = Spaces { model: space("*Model_Space"), paper: space("*Paper_Space") };
        });
    });
    spaces
}

/// The view with which the file opens: the whole blank with a little air.
fn view_of(g: &mut Groups, table: Handle, bounds: BoundingBox) {
    const AIR: f64 = 1.1;
    g.record("VPORT", "AcDbViewportTableRecord", table, "*ACTIVE");
    g.whole(70, 0);
    g.point(10, Point2::ORIGIN);
    g.point(11, Point2::new(1.0, 1.0));
    g.point(12, bounds.min.midpoint(bounds.max));
    g.point(13, Point2::ORIGIN);
    g.point(14, Point2::new(10.0, 10.0));
    g.point(15, Point2::new(10.0, 10.0));
    g.point_in_space(16, [0.0, 0.0, 1.0]);
    g.point_in_space(17, [0.0; 3]);
    let size = bounds.max - bounds.min;
    g.length(40, AIR * size.y.max(0.5 * size.x));
    g.length(41, 2.0);
    g.length(42, 50.0);
    g.length(43, 0.0);
    g.length(44, 0.0);
    g.length(50, 0.0);
    g.length(51, 0.0);
    for (code, value) in [(71, 0), (72, 1000), (73, 1), (74, 3), (75, 0), (76, 0), (77, 0), (78, 0)] {
        g.whole(code, value);
    }
}

fn line_type_record(g: &mut Groups, table: Handle, (name, description, strokes): &(&str, &str, &[f64])) {
    g.record("LTYPE", "AcDbLinetypeTableRecord", table, name);
    g.whole(70, 0);
    g.text(3, description);
    g.whole(72, 65);
    g.whole(73, i32::try_from(strokes.len()).expect("a pattern is short"));
    g.length(40, strokes.iter().map(|s| s.abs()).sum());
    for &stroke in *strokes {
        g.length(49, stroke);
        g.whole(74, 0);
    }
}

fn blocks(g: &mut Groups, spaces: Spaces) {
    g.section("BLOCKS", |g| {
        for (name, record) in [("*Model_Space", spaces.model), ("*Paper_Space", spaces.paper)] {
            g.entity("BLOCK", record, LAYER_ZERO.name);
            g.text(100, "AcDbBlockBegin");
            g.text(2, name);
            g.whole(70, 0);
            g.point_in_space(10, [0.0; 3]);
            g.text(3, name);
            g.text(1, "");
            g.entity("ENDBLK", record, LAYER_ZERO.name);
            g.text(100, "AcDbBlockEnd");
        }
    });
}

fn closed(g: &mut Groups, space: Handle, layer: &Layer, contour: &Contour) {
    if let Some((centre, radius)) = contour.as_circle() {
        g.entity("CIRCLE", space, layer.name);
        g.text(100, "AcDbCircle");
        g.point_in_space(10, [centre.x, centre.y, 0.0]);
        g.length(40, radius);
        return;
    }
    let pieces = pieces(contour);
    g.entity("LWPOLYLINE", space, layer.name);
    g.text(100, "AcDbPolyline");
    g.whole(90, i32::try_from(pieces.len()).expect("a contour has fewer than 2^31 pieces"));
    g.whole(70, 1);
    g.length(43, 0.0);
    for piece in pieces {
        g.point(10, piece.start);
        let sweep = piece.sweep();
        if sweep != 0.0 {
            g.real(42, maths::tan(0.25 * sweep), BULGE_PLACES);
        }
    }
}

fn fold(g: &mut Groups, space: Handle, line: &BendLine) {
    let layer = match line.side {
        FoldSide::Up => &FOLD_UP,
        FoldSide::Down => &FOLD_DOWN,
    };
    g.entity("LINE", space, layer.name);
    g.text(100, "AcDbLine");
    for (code, p) in [(10, line.centre[0]), (11, line.centre[1])] {
        g.point_in_space(code, [p.x, p.y, 0.0]);
    }
}

/// Greatest height of a mark in mm, and as a share of its bend line.
const MARK_MM: f64 = 5.0;
const MARK_SHARE: f64 = 0.25;

/// Place in the order, or name, over the middle of the bend line, read along it.
fn mark(g: &mut Groups, space: Handle, row: &BendRow) {
    let [from, to] = row.blank_line;
    let (text, length) = (row.mark(), from.distance(to));
    // A letter is less wide than high, so that a long name ends within its line.
    #[expect(clippy::cast_precision_loss, reason = "a name has few letters")]
    let height = MARK_MM.min(MARK_SHARE * length).min(length / text.chars().count() as f64);
    let along = (to - from).normalized();
    let middle = from.midpoint(to) + along.left() * (0.3 * height);
    g.entity("TEXT", space, BEND_ORDER.name);
    g.text(100, "AcDbText");
    g.point_in_space(10, [middle.x, middle.y, 0.0]);
    g.length(40, height);
    g.text(1, &plain(&text));
    g.length(50, along.angle() * 180.0 / maths::PI);
    g.whole(72, 1);
    g.point_in_space(11, [middle.x, middle.y, 0.0]);
    g.text(100, "AcDbText");
}

/// Text of which letters beyond ASCII are written as `\U+XXXX`, as the format demands of files before R2007; those
/// beyond the first plane have no such form and become `?`.
fn plain(text: &str) -> String {
    let letter = |c: char| match u32::from(c) {
        _ if c.is_ascii() => c.to_string(),
        code @ ..=0xFFFF => format!("\\U+{code:04X}"),
        _ => "?".to_owned(),
    };
    text.chars().map(letter).collect()
}

fn objects(g: &mut Groups) {
    g.section("OBJECTS", |g| {
        let root = g.begin("DICTIONARY", 5, NOBODY);
        g.text(100, "AcDbDictionary");
        g.whole(281, 1);
        g.text(3, "ACAD_GROUP");
        let groups = Handle(root.0 + 1);
        g.refer(350, groups);
        g.begin("DICTIONARY", 5, root);
        g.text(100, "AcDbDictionary");
        g.whole(281, 1);
    });
}
