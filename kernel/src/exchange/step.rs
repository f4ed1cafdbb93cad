//! `folded.step`: the exact folded part, as ISO 10303-21 with the schema of application protocol 214.
//!
//! One closed solid (`MANIFOLD_SOLID_BREP`) in millimetres and radians. Faces are named after their panel,
//! bend or edge and coloured by side. Invariant: a number read back is the number written, bit for bit, but
//! for figures below 1e-15, which are written as zero; the same part gives the same bytes, so that the time
//! stamp of the header is a fixed one. Entities and their order of attributes are those of ISO 10303-41, -42,
//! -43 and -46, from memory; why this schema: `docs/decisions/0013-exact-boundary-and-step.md`.

use std::collections::HashMap;
use std::fmt::Write as _;

use crate::fold::{EdgeLabel, FoldTree};
use crate::geom::{Placement, Vec3};
use crate::history::History;
use crate::ident::VertexId;
use crate::quantity::tolerance;
use crate::solid::brep::{Brep, Curve3, Edge, Face, FacePart, Sense, Surface3};
use crate::solid::{Surface, Zone, spline};

use super::{Format, Subject};

/// `folded.step`.
pub(super) const FORMAT: Format =
    Format { file_name: "folded.step", what: "folded part, exact, ISO 10303-21 (AP214), in mm", write };

/// A valid time stamp (ISO 10303-21, header section, from memory) that says nothing, because files hold no
/// date.
const TIME_STAMP: &str = "1970-01-01T00:00:00";

fn write(subject: &Subject<'_>) -> Vec<u8> {
    let mut writer = Writer::new(subject);
    writer.header(subject.history);
    writer.data(subject.history);
    writer.out.push_str("ENDSEC;\nEND-ISO-10303-21;\n");
    writer.out.into_bytes()
}

/// Number of an entity in the file.
type Entity = u32;

struct Writer<'a> {
    out: String,
    last: Entity,
    tree: &'a FoldTree,
    brep: &'a Brep,
    directions: HashMap<[u64; 3], Entity>,
    /// Point and vertex entity of each vertex.
    vertices: Vec<[Entity; 2]>,
    edges: Vec<Entity>,
}

/// Writes one entity: its type and attributes by the pieces given, between `#n=` and `;`.
macro_rules! entity {
    ($writer:expr, $($piece:expr),+) => {{
        let id = $writer.begin();
        $($piece.put(&mut $writer.out);)+
        $writer.out.push_str(");\n");
        id
    }};
}

/// A piece of an entity's text.
trait Put {
    fn put(&self, out: &mut String);
}

impl Put for &str {
    fn put(&self, out: &mut String) {
        out.push_str(self);
    }
}

impl Put for Entity {
    fn put(&self, out: &mut String) {
        out.push('#');
        put_digits(u64::from(*self), out);
    }
}

impl Put for f64 {
    fn put(&self, out: &mut String) {
        put_real(*self, out);
    }
}

impl Put for &[Entity] {
    fn put(&self, out: &mut String) {
        out.push('(');
        for (index, id) in self.iter().enumerate() {
            if index > 0 {
                out.push(',');
            }
            id.put(out);
        }
        out.push(')');
    }
}

/// Text of a person, in quotes.
struct Quoted<'a>(&'a str);

impl Put for Quoted<'_> {
    fn put(&self, out: &mut String) {
        out.push('\'');
        for c in self.0.chars() {
            match c {
                '\'' => out.push_str("''"),
                '\\' => out.push_str("\\\\"),
                ' '..='~' => out.push(c),
                // Beyond ASCII (ISO 10303-21, control directives of strings, from memory): UTF-32 in hex digits.
                _ => {
                    let _ = write!(out, "\\X4\\{:08X}\\X0\\", u32::from(c));
                }
            }
        }
        out.push('\'');
    }
}

fn put_digits(mut number: u64, out: &mut String) {
    let mut digits = [0_u8; 20];
    let mut at = digits.len();
    loop {
        at -= 1;
        digits[at] = b'0' + u8::try_from(number % 10).expect("a digit");
        number /= 10;
        if number == 0 {
            break;
        }
    }
    out.extend(digits[at..].iter().map(|&d| char::from(d)));
}

/// Numbers from this size on are written without an exponent.
const LEAST_PLAIN: f64 = 1e-5;

/// Numbers below this size are written without an exponent.
const MOST_PLAIN: f64 = 1e15;

/// Places after the point up to which a number is tried as a short decimal.
const SHORT_PLACES: usize = 6;
const SHORT_SCALE: f64 = 1e6;
/// Largest number tried as a short decimal: scaled it stays exact.
const LARGEST_SHORT: f64 = 1e9;
/// Below this a figure in mm, rad or of a unit vector is rounding.
const ROUNDING: f64 = 1e-15;

/// A real with a point in it, the shortest that reads back to the same bits.
fn put_real(value: f64, out: &mut String) {
    if value.abs() < ROUNDING {
        out.push_str("0.");
        return;
    }
    let scaled = (value * SHORT_SCALE).round();
    // Both are whole or a power of ten, so that the quotient is the double nearest to the decimal.
    if value.abs() < LARGEST_SHORT && scaled / SHORT_SCALE == value {
        put_short(scaled, out);
        return;
    }
    let from = out.len();
    if LEAST_PLAIN <= value.abs() && value.abs() < MOST_PLAIN {
        let _ = write!(out, "{value}");
        if !out[from..].contains('.') {
            out.push('.');
        }
    } else {
        let _ = write!(out, "{value:E}");
        if !out[from..].contains('.') {
            let exponent = out[from..].find('E').map_or(out.len(), |at| from + at);
            out.insert(exponent, '.');
        }
    }
}

/// A whole number of millionths.
fn put_short(scaled: f64, out: &mut String) {
    if scaled < 0.0 {
        out.push('-');
    }
    #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "whole, at most 1e15")]
    let scaled = scaled.abs() as u64;
    put_digits(scaled / 1_000_000, out);
    out.push('.');
    let mut fraction = scaled % 1_000_000;
    let mut digits = [b'0'; SHORT_PLACES];
    for digit in digits.iter_mut().rev() {
        *digit += u8::try_from(fraction % 10).expect("a digit");
        fraction /= 10;
    }
    let used = digits.iter().rposition(|&d| d != b'0').map_or(0, |at| at + 1);
    out.extend(digits[..used].iter().map(|&d| char::from(d)));
}

impl<'a> Writer<'a> {
    fn new(subject: &Subject<'a>) -> Self {
        let brep = subject.brep;
        Self {
            // About what an edge and its share of faces take.
            out: String::with_capacity(4096 + 512 * brep.edges().len()),
            last: 0,
            tree: subject.tree,
            brep,
            directions: HashMap::new(),
            vertices: Vec::with_capacity(brep.vertices().len()),
            edges: Vec::with_capacity(brep.edges().len()),
        }
    }

    fn begin(&mut self) -> Entity {
        self.last += 1;
        self.last.put(&mut self.out);
        self.out.push('=');
        self.last
    }

    fn header(&mut self, history: &History) {
        self.out.push_str("ISO-10303-21;\nHEADER;\nFILE_DESCRIPTION((");
        Quoted(&history.title).put(&mut self.out);
        self.out.push_str("),'2;1');\nFILE_NAME(");
        Quoted(&format!("{}.step", history.family)).put(&mut self.out);
        let _ = writeln!(self.out, ",'{TIME_STAMP}',(''),(''),'Foldwright','Foldwright','');");
        self.out.push_str("FILE_SCHEMA(('AUTOMOTIVE_DESIGN { 1 0 10303 214 1 1 1 1 }'));\nENDSEC;\nDATA;\n");
    }

    fn data(&mut self, history: &History) {
        let name = Quoted(&history.family);
        let application =
            entity!(self, "APPLICATION_CONTEXT('core data for automotive mechanical design processes'");
        entity!(
            self,
            "APPLICATION_PROTOCOL_DEFINITION('international standard','automotive_design',2000,",
            application
        );
        let context = entity!(self, "PRODUCT_CONTEXT('',", application, ",'mechanical'");
        let product =
            entity!(self, "PRODUCT(", name, ",", name, ",", Quoted(&history.title), ",(", context, ")");
        entity!(self, "PRODUCT_RELATED_PRODUCT_CATEGORY('part',$,(", product, ")");
        let formation = entity!(self, "PRODUCT_DEFINITION_FORMATION('','',", product);
        let stage = entity!(self, "PRODUCT_DEFINITION_CONTEXT('part definition',", application, ",'design'");
        let definition = entity!(self, "PRODUCT_DEFINITION('design','',", formation, ",", stage);
        let shape = entity!(self, "PRODUCT_DEFINITION_SHAPE('','',", definition);
        let units = self.units();
        let solid = self.solid(&history.family, units);
        let origin = Placement::identity();
        let origin = self.placement(origin.origin, origin.n, origin.x);
        let representation =
            entity!(self, "ADVANCED_BREP_SHAPE_REPRESENTATION(", name, ",(", origin, ",", solid, "),", units);
        entity!(self, "SHAPE_DEFINITION_REPRESENTATION(", shape, ",", representation);
    }

    /// Millimetres, radians and how near points have to be to be one.
    fn units(&mut self) -> Entity {
        let length = entity!(self, "(LENGTH_UNIT()NAMED_UNIT(*)SI_UNIT(.MILLI.,.METRE.)");
        let angle = entity!(self, "(NAMED_UNIT(*)PLANE_ANGLE_UNIT()SI_UNIT($,.RADIAN.)");
        let solid_angle = entity!(self, "(NAMED_UNIT(*)SI_UNIT($,.STERADIAN.)SOLID_ANGLE_UNIT()");
        let accuracy = entity!(
            self,
            "UNCERTAINTY_MEASURE_WITH_UNIT(LENGTH_MEASURE(",
            tolerance::SNAP_MM,
            "),",
            length,
            ",'distance_accuracy_value','points nearer than this are one point'"
        );
        let all: &[Entity] = &[length, angle, solid_angle];
        entity!(
            self,
            "(GEOMETRIC_REPRESENTATION_CONTEXT(3)GLOBAL_UNCERTAINTY_ASSIGNED_CONTEXT((",
            accuracy,
            "))GLOBAL_UNIT_ASSIGNED_CONTEXT(",
            all,
            ")REPRESENTATION_CONTEXT('','')"
        )
    }

    /// The body and its colours.
    fn solid(&mut self, name: &str, units: Entity) -> Entity {
        let brep = self.brep;
        for &at in brep.vertices() {
            let point = self.point(at);
            let vertex = entity!(self, "VERTEX_POINT('',", point);
            self.vertices.push([point, vertex]);
        }
        for edge in brep.edges() {
            let curve = self.curve(edge);
            let [from, to] = edge.ends.map(|v| self.vertices[v.index()][1]);
            let id = entity!(self, "EDGE_CURVE('',", from, ",", to, ",", curve, ",.T.");
            self.edges.push(id);
        }
        let mut faces = Vec::with_capacity(brep.faces().len());
        let mut face_name = String::new();
        for face in brep.faces() {
            faces.push(self.face(face, &mut face_name));
        }
        let shell = entity!(self, "CLOSED_SHELL('',", faces.as_slice());
        let solid = entity!(self, "MANIFOLD_SOLID_BREP(", Quoted(name), ",", shell);
        self.colours(&faces, units);
        solid
    }

    fn point(&mut self, at: Vec3<f64>) -> Entity {
        entity!(self, "CARTESIAN_POINT('',(", at.x, ",", at.y, ",", at.z, ")")
    }

    fn direction(&mut self, d: Vec3<f64>) -> Entity {
        let key = [d.x, d.y, d.z].map(|x| if x.abs() < ROUNDING { 0 } else { x.to_bits() });
        if let Some(&made) = self.directions.get(&key) {
            return made;
        }
        let made = entity!(self, "DIRECTION('',(", d.x, ",", d.y, ",", d.z, ")");
        self.directions.insert(key, made);
        made
    }

    fn placement(&mut self, origin: Vec3<f64>, axis: Vec3<f64>, reference: Vec3<f64>) -> Entity {
        let (origin, axis, reference) = (self.point(origin), self.direction(axis), self.direction(reference));
        entity!(self, "AXIS2_PLACEMENT_3D('',", origin, ",", axis, ",", reference)
    }

    fn at(&self, vertex: VertexId) -> Vec3<f64> {
        self.brep.at(vertex)
    }

    fn curve(&mut self, edge: &Edge) -> Entity {
        let [from, to] = edge.ends.map(|v| self.at(v));
        match &edge.curve {
            Curve3::Line => {
                let way = to - from;
                let direction = self.direction(way.times(1.0 / way.length()));
                let vector = entity!(self, "VECTOR('',", direction, ",1.");
                entity!(self, "LINE('',", self.vertices[edge.ends[0].index()][0], ",", vector)
            }
            Curve3::Circle(arc) => {
                let out = from - arc.centre;
                let position = self.placement(arc.centre, arc.axis, out.times(1.0 / out.length()));
                entity!(self, "CIRCLE('',", position, ",", arc.radius)
            }
            Curve3::Rolled(curve) => {
                let thickness = self.tree.thickness();
                let splines = spline::rolled_splines(&curve.piece, &curve.map, thickness, [curve.depth]);
                let points: Vec<Entity> = splines.points[0].iter().map(|&p| self.point(p)).collect();
                entity!(
                    self,
                    "B_SPLINE_CURVE_WITH_KNOTS('',5,",
                    points.as_slice(),
                    ",.UNSPECIFIED.,.F.,.F.,",
                    Knots(splines.spans),
                    ",.UNSPECIFIED."
                )
            }
        }
    }

    fn surface(&mut self, surface: &Surface3) -> Entity {
        match surface {
            Surface3::Plane(frame) => {
                let position = self.placement(frame.origin, frame.n, frame.x);
                entity!(self, "PLANE('',", position)
            }
            Surface3::Cylinder { frame, radius } => {
                let position = self.placement(frame.origin, frame.n, frame.x);
                entity!(self, "CYLINDRICAL_SURFACE('',", position, ",", *radius)
            }
            Surface3::Cone { frame, radius, half_angle } => {
                let position = self.placement(frame.origin, frame.n, frame.x);
                entity!(self, "CONICAL_SURFACE('',", position, ",", *radius, ",", *half_angle)
            }
            Surface3::Torus { frame, ring_radius, tube_radius } => {
                let position = self.placement(frame.origin, frame.n, frame.x);
                if ring_radius > tube_radius {
                    entity!(self, "TOROIDAL_SURFACE('',", position, ",", *ring_radius, ",", *tube_radius)
                } else {
                    entity!(
                        self,
                        "DEGENERATE_TOROIDAL_SURFACE('',",
                        position,
                        ",",
                        *ring_radius,
                        ",",
                        *tube_radius,
                        ",.T."
                    )
                }
            }
            Surface3::Rolled { piece, map } => {
                let thickness = self.tree.thickness();
                let splines = spline::rolled_splines(piece, map, thickness, [-thickness, 0.0]);
                let [outer, inner] = &splines.points;
                let rows: Vec<[Entity; 2]> =
                    outer.iter().zip(inner).map(|(&o, &i)| [self.point(o), self.point(i)]).collect();
                let id = self.begin();
                self.out.push_str("B_SPLINE_SURFACE_WITH_KNOTS('',5,1,(");
                for (index, row) in rows.iter().enumerate() {
                    if index > 0 {
                        self.out.push(',');
                    }
                    (&row[..]).put(&mut self.out);
                }
                self.out.push_str("),.RULED_SURF.,.F.,.F.,.F.,");
                RuledKnots(splines.spans).put(&mut self.out);
                self.out.push_str(",.UNSPECIFIED.);\n");
                id
            }
        }
    }

    fn face(&mut self, face: &Face, name: &mut String) -> Entity {
        let brep = self.brep;
        let surface = self.surface(&face.surface);
        let mut bounds: Vec<Entity> = Vec::with_capacity(1);
        for run in brep.loops(face) {
            let mut uses: Vec<Entity> = Vec::with_capacity(run.len());
            for used in run {
                let sense = match used.sense {
                    Sense::Same => ",.T.",
                    Sense::Reversed => ",.F.",
                };
                uses.push(entity!(self, "ORIENTED_EDGE('',*,*,", self.edges[used.edge.index()], sense));
            }
            let around = entity!(self, "EDGE_LOOP('',", uses.as_slice());
            let kind = if bounds.is_empty() { "FACE_OUTER_BOUND(''," } else { "FACE_BOUND(''," };
            bounds.push(entity!(self, kind, around, ",.T."));
        }
        name.clear();
        face_name(self.tree, face, name);
        let sense = match face.outward {
            Sense::Same => ",.T.",
            Sense::Reversed => ",.F.",
        };
        entity!(self, "ADVANCED_FACE(", Quoted(name), ",", bounds.as_slice(), ",", surface, sense)
    }

    /// Inner faces, outer faces and cuts in three greys of metal.
    fn colours(&mut self, faces: &[Entity], units: Entity) {
        let tones = [
            ("inner face", 0.78, 0.76, 0.70),
            ("outer face", 0.42, 0.50, 0.60),
            ("cut edge", 0.16, 0.17, 0.19),
        ];
        let styles = tones.map(|(name, red, green, blue)| {
            let colour = entity!(self, "COLOUR_RGB('", name, "',", red, ",", green, ",", blue);
            let fill = entity!(self, "FILL_AREA_STYLE_COLOUR('',", colour);
            let fill = entity!(self, "FILL_AREA_STYLE('',(", fill, ")");
            let fill = entity!(self, "SURFACE_STYLE_FILL_AREA(", fill);
            let side = entity!(self, "SURFACE_SIDE_STYLE('',(", fill, ")");
            let usage = entity!(self, "SURFACE_STYLE_USAGE(.BOTH.,", side);
            entity!(self, "PRESENTATION_STYLE_ASSIGNMENT((", usage, ")")
        });
        let brep = self.brep;
        let items: Vec<Entity> = brep
            .faces()
            .iter()
            .zip(faces)
            .map(|(face, &id)| {
                let style = match face.part.surface() {
                    Surface::Inner => styles[0],
                    Surface::Outer => styles[1],
                    Surface::Cut => styles[2],
                };
                entity!(self, "STYLED_ITEM('',(", style, "),", id)
            })
            .collect();
        entity!(
            self,
            "MECHANICAL_DESIGN_GEOMETRIC_PRESENTATION_REPRESENTATION('',",
            items.as_slice(),
            ",",
            units
        );
    }
}

/// Multiplicities and values of the knots of a spline with this many spans.
struct Knots(usize);

impl Put for Knots {
    fn put(&self, out: &mut String) {
        multiplicities(self.0, out);
        out.push(',');
        values(self.0, out);
    }
}

/// The same of a surface that is straight from the outer face to the inner one.
struct RuledKnots(usize);

impl Put for RuledKnots {
    fn put(&self, out: &mut String) {
        multiplicities(self.0, out);
        out.push_str(",(2,2),");
        values(self.0, out);
        out.push_str(",(0.,1.)");
    }
}

fn multiplicities(spans: usize, out: &mut String) {
    out.push_str("(6");
    for _ in 1..spans {
        out.push_str(",3");
    }
    out.push_str(",6)");
}

fn values(spans: usize, out: &mut String) {
    out.push('(');
    for knot in 0..=spans {
        if knot > 0 {
            out.push(',');
        }
        put_digits(knot as u64, out);
        out.push('.');
    }
    out.push(')');
}

/// What a person calls a face: zone and side, or zone and edge.
fn face_name(tree: &FoldTree, face: &Face, out: &mut String) {
    let zone = match face.zone {
        Zone::Panel(id) => tree.panel(id).name.as_str(),
        Zone::Bend(id) => {
            out.push_str("bend of ");
            tree.panel(tree.bend(id).child).name.as_str()
        }
        Zone::Form(id) => &tree.forms()[id.index()].name,
    };
    out.push_str(zone);
    match face.part {
        FacePart::Form { side, ring } => {
            out.push(' ');
            out.push_str(ring.word());
            out.push_str(match side {
                Surface::Inner => " inner",
                Surface::Outer | Surface::Cut => " outer",
            });
        }
        FacePart::Inner => out.push_str(" inner"),
        FacePart::Outer => out.push_str(" outer"),
        FacePart::Cut { tag, .. } => match tree.label_of(tag) {
            EdgeLabel::Edge(edge) => {
                out.push('/');
                out.push_str(&edge.role);
            }
            label @ (EdgeLabel::Opening(_) | EdgeLabel::CornerBreak(_)) => {
                out.push_str(" at ");
                out.push_str(&tree.owner(label));
            }
            EdgeLabel::Relief(_) => out.push_str(" relief"),
            EdgeLabel::StripEnd(_) | EdgeLabel::CreaseStart(_) | EdgeLabel::CreaseEnd(_) => {
                out.push_str(" end");
            }
        },
    }
}
