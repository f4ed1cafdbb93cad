//! The part that all readers look at: a coupling guard with an arc in its outline, walls, lips bent down,
//! and openings of every awkward kind in its blank.

use kernel::cost::Estimate;
use kernel::dimension::Remarks;
use kernel::exchange::{self, Subject};
use kernel::fold::{FoldFractions, ToleranceStack};
use kernel::geom::{ArcTurn, Contour, Point2, Region, Segment, Tag, Vec2};
use kernel::history::feature::{BasePanel, FoldSide, LengthFrom, NotchSize, Relief};
use kernel::history::{
    BendRuleSpec, DimensionEntry, DimensionKind, EdgeShape, Feature, FeatureEntry, FreeNumber, GrainSpec,
    History, Number, PanelName, Parameter, ParameterRange, ParameterValue, Profile, SheetSpec, Target,
    TestStripSpec, TestStripsSpec, ThicknessSpec,
};
use kernel::ident::VarId;
use kernel::quantity::{maths, tolerance};
use kernel::regenerate::{Part, regenerate};
use kernel::solid::{Brep, Mesh};

use super::parts::{self, entry, n};

/// A regenerated part with its history and mesh.
pub(crate) struct Sample {
    pub(crate) history: History,
    pub(crate) part: Part,
    pub(crate) brep: Brep,
    pub(crate) mesh: Mesh,
    pub(crate) stack: ToleranceStack,
    pub(crate) remarks: Remarks,
    pub(crate) estimate: Estimate,
}

impl Sample {
    pub(crate) fn subject(&self) -> Subject<'_> {
        Subject {
            history: &self.history,
            sheet: &self.part.sheet,
            settled: &self.part.settled,
            aimed: self.part.aimed.as_ref(),
            tree: &self.part.tree,
            blank: &self.part.blank,
            bend_table: self.part.bend_table(),
            plan: self.part.bend_plan(),
            tooling: &self.part.bending().tooling,
            measures: self.part.measures,
            brep: &self.brep,
            mesh: &self.mesh,
            mass_kg: self.part.mass_kg(),
            limits: &self.part.limits,
            neighbours: &self.part.neighbours,
            clearances: &self.part.clearances,
            judged: self.part.judged.as_ref(),
            findings: &self.part.findings,
            stack: &self.stack,
            clearance_spreads: &[],
            remarks: &self.remarks,
            estimate: &self.estimate,
            lines: &[],
        }
    }

    /// All files of the sample.
    pub(crate) fn files(&self) -> Vec<(&'static str, Vec<u8>)> {
        exchange::ALL.iter().map(|format| (format.file_name, (format.write)(&self.subject()))).collect()
    }

    /// One file of the sample.
    pub(crate) fn file(&self, name: &str) -> Vec<u8> {
        let format = exchange::ALL.iter().find(|format| format.file_name == name).unwrap();
        (format.write)(&self.subject())
    }

    pub(crate) fn text(&self, name: &str) -> String {
        String::from_utf8(self.file(name)).unwrap()
    }
}

fn flange(name: &str, edges: &[&str], turn: f64, length: f64, side: FoldSide) -> FeatureEntry {
    let mut made = parts::flange(edges, turn, length);
    made.side = side;
    made.relief = Relief::Round(NotchSize { width: None, depth: None });
    entry(name, Feature::Flange(made))
}

/// The strips of `docs/math/test-strips.md`.
pub(crate) fn test_strips(uncertainty: Option<f64>) -> BendRuleSpec {
    let strip = |legs: [f64; 2], inside_radius, flat| TestStripSpec {
        legs: legs.to_vec(),
        turn: 90.0,
        thickness: 1.98,
        inside_radius,
        flat,
    };
    BendRuleSpec::TestStrips(TestStripsSpec {
        legs_from: LengthFrom::Outside,
        uncertainty,
        strips: vec![
            strip([40.10, 60.08], 2.0, 96.70),
            strip([40.00, 60.12], 2.0, 96.66),
            strip([40.06, 60.10], 2.0, 96.70),
            strip([40.04, 60.14], 4.0, 95.93),
            strip([40.02, 60.10], 4.0, 95.90),
        ],
    })
}

/// Outside 300 x 200 mm with a back edge bowed out by 50 mm (radius 250), walls of 60 mm, lips of 15 mm bent
/// down by 45°. The length 300 is a free number, found from a clear width of 296 mm.
pub(crate) fn history() -> History {
    let length = Number::free(VarId::new(0));
    let mut outline = Profile::rectangle(&length, &n(200.0));
    outline.edges[2].shape = EdgeShape::Arc(n(250.0));
    let base = Feature::BasePanel(BasePanel { outline });
    let panel = |name| PanelName::new(name).unwrap();
    let mut lip = flange("lip", &["wall.left/tip", "wall.right/tip"], 45.0, 15.0, FoldSide::Down);
    if let Feature::Flange(lip) = &mut lip.feature {
        lip.left.inset = n(20.0);
    }
    History {
        format: 1,
        family: "coupling_guard".to_owned(),
        title: "Guard over a wash-pump coupling".to_owned(),
        parameters: vec![
            Parameter {
                name: "wall".to_owned(),
                value: ParameterValue::Number(60.0),
                default: ParameterValue::Number(45.5),
                range: ParameterRange::Numbers { min: 20.0, max: 120.0, whole: false },
                unit: "mm".to_owned(),
                meaning: "Height of the walls, outside.".to_owned(),
            },
            Parameter {
                name: "duty".to_owned(),
                value: ParameterValue::Word("wet".to_owned()),
                default: ParameterValue::Word("dry".to_owned()),
                range: ParameterRange::Words(vec!["dry".to_owned(), "wet".to_owned()]),
                unit: String::new(),
                meaning: "Where the pump stands.".to_owned(),
            },
        ],
        sheet: SheetSpec {
            material: "DC01".to_owned(),
            thickness: ThicknessSpec::Mm(2.0),
            inside_radius: 2.0,
            bend_rule: BendRuleSpec::FixedK(0.44),
            grain: GrainSpec::Any,
            span: None,
        },
        free_numbers: vec![FreeNumber::new("base_length", 250.0)],
        features: vec![
            FeatureEntry { name: "base".to_owned(), feature: base, span: None },
            flange("wall", &["base/front", "base/right", "base/left"], 90.0, 60.0, FoldSide::Up),
            lip,
        ],
        dimensions: vec![
            DimensionEntry {
                name: "clear width".to_owned(),
                kind: DimensionKind::Inside { a: panel("wall.left"), b: panel("wall.right") },
                target: Target::Held(n(296.0)),
                stays: None,
                span: None,
            },
            DimensionEntry {
                name: "lip angle".to_owned(),
                kind: DimensionKind::Angle { a: panel("wall.left"), b: panel("lip.left") },
                target: Target::Measured,
                stays: None,
                span: None,
            },
        ],
        aim: None,
        neighbours: Vec::new(),
        neighbour_groups: Vec::new(),
        guarding: None,
        tolerances: None,
        bend_order: Vec::new(),
        shop: Vec::new(),
        stock_sheet: None,
        rates: None,
    }
}

/// Openings that are hard to write: a circle, a slot, a disc with a flat (two pieces, 300°), a lens (two
/// pieces), and a square with a corner rounded by a ten-thousandth of a millimetre. All clockwise.
pub(crate) fn openings() -> Vec<Contour> {
    let p = Point2::new;
    let tag = Tag(0);
    let degrees = |deg: f64| Vec2::unit(deg * (maths::PI / 180.0));
    let disc_centre = p(220.0, 60.0);
    let (east, south_east) = (disc_centre + degrees(0.0) * 8.0, disc_centre + degrees(300.0) * 8.0);
    let tiny = 1e-4;
    let contours = [
        vec![
            Segment::line(p(60.0, 55.0), p(90.0, 55.0), tag),
            Segment::arc(p(90.0, 55.0), p(90.0, 65.0), p(90.0, 60.0), ArcTurn::Left, tag),
            Segment::line(p(90.0, 65.0), p(60.0, 65.0), tag),
            Segment::arc(p(60.0, 65.0), p(60.0, 55.0), p(60.0, 60.0), ArcTurn::Left, tag),
        ],
        vec![
            Segment::arc(east, south_east, disc_centre, ArcTurn::Left, tag),
            Segment::line(south_east, east, tag),
        ],
        vec![
            Segment::arc(p(190.0, 100.0), p(210.0, 100.0), p(200.0, 110.0), ArcTurn::Left, tag),
            Segment::arc(p(210.0, 100.0), p(190.0, 100.0), p(200.0, 90.0), ArcTurn::Left, tag),
        ],
        vec![
            Segment::line(p(100.0, 120.0), p(110.0, 120.0), tag),
            Segment::line(p(110.0, 120.0), p(110.0, 130.0 - tiny), tag),
            Segment::arc(
                p(110.0, 130.0 - tiny),
                p(110.0 - tiny, 130.0),
                p(110.0 - tiny, 130.0 - tiny),
                ArcTurn::Left,
                tag,
            ),
            Segment::line(p(110.0 - tiny, 130.0), p(100.0, 130.0), tag),
            Segment::line(p(100.0, 130.0), p(100.0, 120.0), tag),
        ],
    ];
    let circle = Contour::circle(p(150.0, 75.0), 5.5, tag).unwrap();
    let others = contours.into_iter().map(|pieces| Contour::new(pieces).unwrap());
    std::iter::once(circle).chain(others).map(|contour| contour.reversed()).collect()
}

/// The regenerated sample; the openings are cut in the blank only.
pub(crate) fn part() -> Sample {
    part_of(history())
}

/// The sample out of a history that is much the same.
pub(crate) fn part_of(history: History) -> Sample {
    let mut part = regenerate(&history).unwrap();
    let contours = part.blank.region.contours().iter().cloned().chain(openings()).collect();
    part.blank.region = Region::from_oriented(contours);
    let folded = FoldFractions::all(&part.tree, 1.0);
    let mesh = part.mesh(&folded, tolerance::CHORD_MM).unwrap();
    let brep = part.brep(&folded);
    let stack = part.tolerance_stack(&history);
    let remarks = part.remarks(&history);
    let estimate = part.estimate(&history);
    Sample { history, part, brep, mesh, stack, remarks, estimate }
}
