//! `history.json`: what is written reads back equal, and what is wrong is said with its place.

use kernel::exchange::history_json;
use kernel::history::feature::{
    BreakShape, Bump, BumpChange, BumpOver, BumpSide, CornerBreak, CornerName, CornerRelief, Corners, Cutout,
    Facing, Feature, FeatureEntry, FillArea, Flange, Neighbour, NotchSize, Pattern, Reach, Relief, Seam,
    SheetFace, Spacing, XFrom,
};
use kernel::history::{
    BendRuleSpec, BoltEndSpec, BoltSpec, DimensionEntry, DimensionKind, EdgeName, EdgeShape, Element,
    History, MeshSpec, MeshUnit, NeighbourAxis, NeighbourEntry, NeighbourGroup, NeighbourSpec,
    NeighbourThing, Number, PanelName, Parameter, ParameterRange, ParameterValue, Profile, ProfileEdge,
    ProfileRelation, RelationEntry, Shape, Stand, Target, ThicknessSpec, Thing, ThingKind, Turning,
    WheelSpec,
};
use kernel::ident::VarId;
use kernel::regenerate::{Part, regenerate};
use kernel::stock::ClearanceFit;
use proptest::prelude::*;

use super::{parts, sample};

fn entry(name: &str, feature: Feature) -> FeatureEntry {
    FeatureEntry { name: name.to_owned(), feature, span: None }
}

/// Every relation, and every element that one can be about.
fn relations(numbers: &mut dyn FnMut() -> Number) -> Vec<RelationEntry> {
    let edge = |name: &str| Element::Edge(name.to_owned());
    let corner = || Element::Corner(["a".to_owned(), "b".to_owned()]);
    let name = || "a".to_owned();
    [
        ProfileRelation::Parallel { a: edge("a"), b: Element::XAxis },
        ProfileRelation::Perpendicular { a: edge("a"), b: Element::YAxis },
        ProfileRelation::Horizontal { edge: name() },
        ProfileRelation::Vertical { edge: name() },
        ProfileRelation::Tangent { a: edge("a"), b: edge("b") },
        ProfileRelation::Equal { a: name(), b: "b".to_owned() },
        ProfileRelation::Coincident { a: corner(), b: Element::Place([numbers(), numbers()]) },
        ProfileRelation::Symmetric { a: corner(), b: Element::Centre("b".to_owned()), about: edge("a") },
        ProfileRelation::Distance { a: corner(), b: edge("c"), value: numbers() },
        ProfileRelation::Length { edge: name(), value: numbers() },
        ProfileRelation::Angle { a: edge("a"), b: edge("c"), value: numbers() },
        ProfileRelation::Radius { edge: "b".to_owned(), value: numbers() },
    ]
    .map(|relation| RelationEntry { relation, span: None })
    .to_vec()
}

/// Every kind of neighbour, and every way to move.
fn neighbours(axis: NeighbourAxis) -> Vec<NeighbourEntry> {
    let stand = |across| Stand { at: [0.1, -2.0, 1.0 / 3.0], along: [0.0, 0.0, -1.0], across };
    let across = Some([0.6, 0.8, 0.0]);
    let about = Turning::About { through: [1.0, 2.0, 3.0], along: [0.0, 1.0, 0.0] };
    let bolt =
        |end, nut_at| BoltSpec { size: "M8".to_owned(), stand: stand(None), end, washer: true, nut_at };
    let wheel = |x| WheelSpec { centre: [x, 0.0, 0.0], radius: 30.0 };
    let mesh = |unit| MeshSpec {
        file: "machine/frame.stl".to_owned(),
        unit,
        stand: stand(across),
        fingerprint: "0-cbf29ce484222325".to_owned(),
    };
    [
        ("bolt", NeighbourSpec::Bolt(bolt(BoltEndSpec::Length(25.0), None)), None),
        ("nut", NeighbourSpec::Bolt(bolt(BoltEndSpec::BeyondNut(3.5), Some(8.0))), Some(about)),
        (
            "shaft",
            NeighbourSpec::Shaft { from: [0.0; 3], to: [0.0, 0.0, 90.0], diameter: 25.0 },
            Some(Turning::Own),
        ),
        ("plate", NeighbourSpec::Plate { stand: stand(across), size: [90.0, 60.0], thickness: 8.0 }, None),
        (
            "key",
            NeighbourSpec::Block { stand: stand(None), size: [40.0, 8.0, 7.0] },
            Some(Turning::Axis(axis)),
        ),
        (
            "chain",
            NeighbourSpec::DriveLoop {
                wheels: vec![wheel(0.0), wheel(150.5)],
                along: [0.0, 1.0, 0.0],
                width: 12.7,
                height: 6.1,
            },
            None,
        ),
        ("frame", NeighbourSpec::Mesh(mesh(Some(MeshUnit::Inch))), None),
        ("housing", NeighbourSpec::Mesh(mesh(None)), None),
    ]
    .into_iter()
    .map(|(name, kind, turning)| NeighbourEntry {
        name: name.to_owned(),
        kind,
        clearance: turning.is_some().then_some(4.5),
        hazard: turning.is_some().then_some(true),
        bolted: turning.is_none(),
        travel: turning.is_some().then_some([0.0, 0.0, -12.0]),
        turning,
        span: None,
    })
    .collect()
}

/// The sample with every feature and form of the saved format added.
fn rich(numbers: &mut dyn FnMut() -> Number) -> History {
    let mut history = sample::history();
    let panel = || PanelName::new("base").unwrap();
    let shapes = [
        EdgeShape::Line,
        EdgeShape::Arc(numbers()),
        EdgeShape::ArcThrough([numbers(), numbers()]),
        EdgeShape::ArcRise(numbers()),
    ];
    let edges = ["a", "b", "c", "d"].into_iter().zip(shapes);
    let mut outline = Profile::new(
        vec![[numbers(), numbers()], [numbers(), numbers()], [numbers(), numbers()], [numbers(), numbers()]],
        edges.map(|(name, shape)| ProfileEdge { name: name.to_owned(), shape }).collect(),
    );
    outline.relations = relations(numbers);
    let cutout = |shape, pattern| {
        Feature::Cutout(Cutout { panel: panel(), shape, pattern, x_from: XFrom::Left, reach: Reach::Panel })
    };
    let slot = Shape::Slot { length: numbers(), width: numbers(), direction: numbers() };
    let grid = Pattern::Grid {
        from: [numbers(), numbers()],
        columns: 4,
        rows: 3,
        column_pitch: numbers(),
        row_pitch: numbers(),
        staggered: true,
    };
    let ring = Pattern::Ring {
        centre: [numbers(), numbers()],
        diameter: numbers(),
        count: 6,
        first: numbers(),
        span: numbers(),
        facing: Facing::Outward,
    };
    let rows = [Spacing::Count(5), Spacing::Pitch { pitch: numbers(), ends: numbers() }]
        .map(|spacing| Pattern::Row { from: [numbers(), numbers()], to: [numbers(), numbers()], spacing });
    let corners = FillArea::Rectangle { from: [numbers(), numbers()], to: [numbers(), numbers()] };
    let [fill_panel, fill_rectangle] = [FillArea::Panel, corners].map(|area| Pattern::Fill {
        area,
        column_pitch: numbers(),
        row_pitch: numbers(),
        staggered: true,
        margin: numbers(),
    });
    let bolt_slot = Shape::BoltSlot {
        bolt: "M8".to_owned(),
        fit: ClearanceFit::Coarse,
        length: numbers(),
        direction: numbers(),
    };
    let bolt_hole = |fit| Shape::BoltHole { bolt: "M6".to_owned(), fit };
    let [by_count, by_pitch] = rows;
    let bump = Feature::Bump(Bump {
        panel: panel(),
        profile: Shape::Circle { diameter: numbers() },
        pattern: Pattern::At(vec![[numbers(), numbers()]]),
        x_from: XFrom::Left,
        height: numbers(),
        side: BumpSide::Out,
        draft: numbers(),
        punch_radius: Some(numbers()),
        die_radius: None,
        corner_radius: Some(numbers()),
    });
    let over = Feature::BumpOver(BumpOver {
        panel: panel(),
        bolts: vec!["bolt".to_owned()],
        clearance: numbers(),
        draft: numbers(),
        punch_radius: None,
        die_radius: Some(numbers()),
    });
    let axis = || NeighbourAxis { of: "shaft".to_owned(), axis: "axis".to_owned() };
    let on_axes = Pattern::OnAxes(vec![axis()]);
    history.neighbours = neighbours(axis());
    history.neighbour_groups = vec![NeighbourGroup {
        name: "drive".to_owned(),
        members: vec!["shaft".to_owned(), "chain".to_owned()],
        stand: Stand { at: [0.1, 0.2, 0.3], along: [0.0, 1.0, 0.0], across: Some([1.0, 0.0, 0.0]) },
        clearance: Some(8.0),
        hazard: Some(true),
        span: None,
    }];
    for (index, (kind, off)) in
        [(ThingKind::Axis, 0.0), (ThingKind::Plane, 2.5), (ThingKind::Point, 0.0)].into_iter().enumerate()
    {
        let thing = NeighbourThing { of: "bolt".to_owned(), kind, name: "seat".to_owned(), off };
        history.dimensions.push(DimensionEntry {
            name: format!("to the machine {index}"),
            kind: DimensionKind::Clear { a: Thing::Panel(panel()), b: Thing::Neighbour(thing) },
            target: Target::Measured,
            stays: None,
            span: None,
        });
    }
    let changed = Feature::BumpChange(BumpChange {
        bump: "clearance".to_owned(),
        profile: None,
        height: Some(numbers()),
    });
    let corner = CornerName { panel: panel(), between: ["left".to_owned(), "back".to_owned()] };
    let edge = |name: &str| EdgeName::new(name).unwrap();
    let (a, b) = (edge("wall.left/left"), edge("wall.right/tip"));
    let seams = [
        Seam::Meet { a: a.clone(), b: b.clone(), gap: numbers() },
        Seam::Lap { cover: a.clone(), under: b.clone(), gap: numbers(), overlap: Some(numbers()) },
        Seam::Lap { cover: b.clone(), under: a.clone(), gap: numbers(), overlap: None },
        Seam::Close { edge: a.clone(), to: Neighbour::Edge(b.clone()), gap: numbers() },
        Seam::Close { edge: a.clone(), to: Neighbour::Panel(panel()), gap: numbers() },
        Seam::Flush { edge: a, panel: panel(), face: SheetFace::Outer },
    ];
    let reliefs = [
        (Relief::Tear, Some(CornerRelief::Tear)),
        (Relief::None, Some(CornerRelief::None(None))),
        (
            Relief::Square(NotchSize { width: Some(numbers()), depth: Some(numbers()) }),
            Some(CornerRelief::Square(Some(numbers()))),
        ),
        (Relief::by_rule(), Some(CornerRelief::Round(Some(numbers())))),
    ];
    for (index, (relief, corner_relief)) in reliefs.into_iter().enumerate() {
        let made = Flange { relief, corner_relief, ..parts::flange(&["wall.left/tip"], 90.0, 20.0) };
        history.features.push(entry(&format!("relieved-{index}"), Feature::Flange(made)));
    }
    let drawn = Flange { outline: Some(outline.clone()), ..parts::flange(&["wall.left/tip"], 90.0, 0.0) };
    history.features.push(entry("drawn", Feature::Flange(drawn)));
    for (index, seam) in seams.into_iter().enumerate() {
        history.features.push(entry(&format!("seam-{index}"), Feature::Seam(seam)));
    }
    history.features.extend([
        entry("clearance", bump),
        entry("dome", over),
        entry("through", cutout(bolt_hole(ClearanceFit::Coarse), on_axes)),
        entry("higher", changed),
        entry("bolts", cutout(Shape::Circle { diameter: numbers() }, ring)),
        entry("vents", cutout(slot, grid)),
        entry("feet", cutout(bolt_hole(ClearanceFit::Fine), by_count)),
        entry("lid", cutout(bolt_hole(ClearanceFit::Medium), by_pitch)),
        entry("air", cutout(bolt_slot, fill_panel)),
        entry("more-air", cutout(Shape::Circle { diameter: numbers() }, fill_rectangle)),
        entry("window", cutout(Shape::Outline(outline), Pattern::At(vec![[numbers(), numbers()]]))),
        entry(
            "soft",
            Feature::CornerBreak(CornerBreak {
                corners: Corners::AllOuter,
                shape: BreakShape::Round(numbers()),
            }),
        ),
        entry(
            "cut",
            Feature::CornerBreak(CornerBreak {
                corners: Corners::Named(vec![corner]),
                shape: BreakShape::Chamfer(numbers()),
            }),
        ),
    ]);
    history
}

/// Numbers as scripts make them, and awkward ones: thirds, tiny, huge, negative.
fn number() -> impl Strategy<Value = Number> {
    let value = || prop_oneof![-1e4_f64..1e4, (1_i32..1000).prop_map(|i| f64::from(i) / 3.0), any::<f64>()];
    let finite = || value().prop_filter("finite", |x| x.is_finite());
    (finite(), proptest::collection::vec((0_usize..4, finite()), 0..3)).prop_map(|(constant, terms)| {
        let start = Number::constant(constant);
        let sum = terms
            .into_iter()
            .fold(start, |sum, (id, factor)| sum.plus(&Number::free(VarId::new(id)).times(factor)));
        if sum.is_finite() { sum } else { Number::constant(constant) }
    })
}

proptest! {
    #![proptest_config(ProptestConfig { failure_persistence: None, ..ProptestConfig::with_cases(200) })]

    #[test]
    fn any_history_reads_back_equal(pool in proptest::collection::vec(number(), 40)) {
        let mut next = pool.iter().cycle().cloned();
        let history = rich(&mut || next.next().unwrap());
        let text = history_json::text(&history);
        prop_assert_eq!(&history_json::read(&text).unwrap(), &history);
        prop_assert_eq!(history_json::text(&history_json::read(&text).unwrap()), text);
    }

    #[test]
    fn damaged_text_is_refused_or_read_but_never_panics(at in 0_usize..6000, to in any::<char>()) {
        let text = history_json::text(&sample::history());
        let mut damaged: Vec<char> = text.chars().collect();
        let at = at % damaged.len();
        damaged[at] = to;
        let damaged: String = damaged.into_iter().collect();
        if let Err(fault) = history_json::read(&damaged) {
            prop_assert!(fault.code.starts_with("history::"));
        }
    }
}

#[test]
fn sheet_forms_read_back_equal() {
    let mut history = sample::history();
    history.sheet.thickness = ThicknessSpec::Gauge { system: "sheet steel".to_owned(), number: 14 };
    for rule in [
        BendRuleSpec::Din6935,
        BendRuleSpec::RatioTable(vec![[0.5, 0.33], [1.0, 0.4]]),
        BendRuleSpec::Deductions(vec![[2.0, 2.0, 90.0, 3.5]]),
        sample::test_strips(None),
        sample::test_strips(Some(0.05)),
    ] {
        history.sheet.bend_rule = rule;
        assert_eq!(history_json::read(&history_json::text(&history)).unwrap(), history);
    }
}

#[test]
fn test_strips_are_saved_as_measured() {
    let mut history = sample::history();
    history.sheet.bend_rule = sample::test_strips(None);
    let saved: serde_json::Value = serde_json::from_str(&history_json::text(&history)).unwrap();
    let rule = &saved["sheet"]["bend_rule"]["test_strips"];
    assert_eq!(rule["legs_from"], "outside");
    assert!(rule["uncertainty"].is_null());
    assert_eq!(
        rule["strips"][0],
        serde_json::json!({
            "legs": [40.1, 60.08], "turn": 90.0, "thickness": 1.98, "inside_radius": 2.0, "flat": 96.7
        })
    );
    let first = files(&regenerate(&history).unwrap(), &history);
    let read = history_json::read(&history_json::text(&history)).unwrap();
    assert_eq!(first, files(&regenerate(&read).unwrap(), &read));
}

fn files(part: &Part, history: &History) -> Vec<(&'static str, Vec<u8>)> {
    part.files(history, &part.details(history)).unwrap()
}

#[test]
fn the_saved_history_regenerates_the_same_files() {
    let sample = sample::part();
    let read = history_json::read(&sample.text("history.json")).unwrap();
    let (first, second) = (regenerate(&sample.history).unwrap(), regenerate(&read).unwrap());
    assert_eq!(files(&first, &sample.history), files(&second, &read));
}

#[test]
fn a_fault_says_line_column_and_reason() {
    let text = history_json::text(&sample::history()).replace("\"family\"", "\"familly\"");
    let fault = history_json::read(&text).unwrap_err();
    assert_eq!(fault.code, "history::unreadable");
    let start = "the history cannot be read, line 3, column 11: there is no key `familly` here; the keys are `format`";
    assert!(fault.message.starts_with(start), "{}", fault.message);
    assert!(!fault.message.contains(" at line"), "{}", fault.message);
    assert!(fault.hints[0].contains("docs/history-format.md"));
    let cut_off = history_json::read("{\"format\": 1,").unwrap_err();
    assert_eq!(cut_off.code, "history::unreadable");
    let bad_name = history_json::text(&sample::history()).replace("\"base/front\"", "\"base front\"");
    assert!(history_json::read(&bad_name).unwrap_err().message.contains("`base front` is not `panel/edge`"));
}

#[test]
fn a_parameter_out_of_its_range_is_refused_with_the_range() {
    let mut history = sample::history();
    let parameter = |value: ParameterValue, range: ParameterRange| Parameter {
        name: "count".to_owned(),
        default: value.clone(),
        value,
        range,
        unit: String::new(),
        meaning: String::new(),
    };
    let whole = || ParameterRange::Numbers { min: 1.0, max: 12.0, whole: true };
    let words = || ParameterRange::Words(vec!["left".to_owned(), "right".to_owned()]);
    let word = |word: &str| ParameterValue::Word(word.to_owned());
    for (value, range, want) in [
        (ParameterValue::Number(12.0), whole(), None),
        (ParameterValue::Number(13.0), whole(), Some("13; it may be whole numbers 1 to 12")),
        (ParameterValue::Number(2.5), whole(), Some("2.5; it may be whole numbers 1 to 12")),
        (word("left"), words(), None),
        (word("top"), words(), Some("\"top\"; it may be \"left\", \"right\"")),
        (word("top"), ParameterRange::Choices(vec![1.0, 1.5]), Some("\"top\"; it may be 1, 1.5")),
    ] {
        history.parameters = vec![parameter(value, range)];
        let read = history_json::read(&history_json::text(&history));
        let fault = read.err().map(|fault| (fault.code, fault.message));
        let wanted =
            want.map(|want| ("history::parameter_out_of_range", format!("parameter `count` is {want}")));
        assert_eq!(fault, wanted);
    }
}

#[test]
fn another_version_is_named_even_if_the_rest_is_strange() {
    let fault = history_json::read("{\"format\": 7, \"novelty\": true}").unwrap_err();
    assert_eq!(fault.code, "history::unknown_format");
    assert_eq!(fault.message, "the history has format 7; this program reads format 1");
}

/// The example of `docs/history-format.md` is a part.
#[test]
fn documented_example_regenerates() {
    let page = include_str!("../../../docs/history-format.md");
    let from = page.find("```json\n").unwrap() + "```json\n".len();
    let example = &page[from..from + page[from..].find("```").unwrap()];
    let history = history_json::read(example).unwrap();
    assert_eq!(history_json::text(&history), example, "the example is written as the program writes it");
    let part = regenerate(&history).unwrap();
    // Two legs of 50 and 30 mm outside, less 2 (2 + 2) - π/2 (2 + 0.44 · 2) = 3.476107.
    let bounds = part.blank.bounding_box();
    assert!((bounds.max.y - bounds.min.y - 76.523_893).abs() < 1e-6);
}
