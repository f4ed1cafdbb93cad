//! Named parts that tests and benches share, written as histories.
//!
//! Invariant: every part here can be made. Numbers are invented.

use kernel::history::feature::{
    BasePanel, Bump, BumpSide, Cutout, Feature, FeatureEntry, Flange, FlangeEnd, FoldSide, HeldFace,
    LengthFrom, Pattern, Reach, Relief, XFrom,
};
use kernel::history::{
    Aim, AimFigure, BendRuleSpec, DimensionEntry, DimensionKind, EdgeName, EdgeShape, Element,
    FORMAT_VERSION, FreeNumber, GrainSpec, History, Number, PanelName, Profile, ProfileEdge, ProfileRelation,
    RelationEntry, Shape, SheetSpec, Target, ThicknessSpec, ToleranceSpec,
};
use kernel::ident::VarId;

/// A number that nothing can change.
pub(crate) fn n(value: f64) -> Number {
    Number::constant(value)
}

/// A feature at no place of a script.
pub(crate) fn entry(name: &str, feature: Feature) -> FeatureEntry {
    FeatureEntry { name: name.to_owned(), feature, span: None }
}

/// A straight edge of an outline.
pub(crate) fn line(name: &str) -> ProfileEdge {
    ProfileEdge { name: name.to_owned(), shape: EdgeShape::Line }
}

/// An arc of an outline by its radius; positive turns left.
pub(crate) fn arc(name: &str, radius: f64) -> ProfileEdge {
    ProfileEdge { name: name.to_owned(), shape: EdgeShape::Arc(n(radius)) }
}

/// An outline by its corners.
pub(crate) fn outline(corners: &[[f64; 2]], edges: Vec<ProfileEdge>) -> Profile {
    Profile::new(corners.iter().map(|c| c.map(n)).collect(), edges)
}

/// A base panel.
pub(crate) fn base(name: &str, outline: Profile) -> FeatureEntry {
    entry(name, Feature::BasePanel(BasePanel { outline }))
}

/// A flange with every option at its default.
pub(crate) fn flange(edges: &[&str], turn: f64, length: f64) -> Flange {
    let end = || FlangeEnd { inset: n(0.0), taper: n(0.0) };
    Flange {
        edges: edges.iter().map(|e| EdgeName::new(e).expect("parts have well-formed names")).collect(),
        turn: n(turn),
        side: FoldSide::Up,
        length: n(length),
        length_from: LengthFrom::Outside,
        holds: HeldFace::Outer,
        left: end(),
        right: end(),
        outline: None,
        inside_radius: None,
        relief: Relief::by_rule(),
        corner_relief: None,
        corner_gap: n(1.0),
    }
}

/// Openings in one panel with every option at its default.
pub(crate) fn cutout(on: &str, shape: Shape, pattern: Pattern) -> Cutout {
    Cutout { panel: panel(on), shape, pattern, x_from: XFrom::Left, reach: Reach::Panel }
}

/// A panel's name.
pub(crate) fn panel(name: &str) -> PanelName {
    PanelName::new(name).expect("parts have well-formed names")
}

/// A history of these features on this sheet, K fixed.
pub(crate) fn history(thickness: f64, inside_radius: f64, k: f64, features: Vec<FeatureEntry>) -> History {
    History {
        format: FORMAT_VERSION,
        family: "part".to_owned(),
        title: String::new(),
        parameters: Vec::new(),
        sheet: SheetSpec {
            material: "DC01".to_owned(),
            thickness: ThicknessSpec::Mm(thickness),
            inside_radius,
            bend_rule: BendRuleSpec::FixedK(k),
            grain: GrainSpec::Any,
            span: None,
        },
        free_numbers: Vec::new(),
        features,
        dimensions: Vec::new(),
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

/// A held inside distance.
pub(crate) fn hold_inside(name: &str, a: &str, b: &str, value: f64) -> DimensionEntry {
    DimensionEntry {
        name: name.to_owned(),
        kind: DimensionKind::Inside { a: panel(a), b: panel(b) },
        target: Target::Held(n(value)),
        stays: None,
        span: None,
    }
}

/// A pan with four walls, of which two inside widths are held, and twelve holes: the "five-panel cover".
pub(crate) fn five_panel_cover() -> History {
    let (length, width) = (Number::free(VarId::new(0)), Number::free(VarId::new(1)));
    let holes = Pattern::Grid {
        from: [n(60.0), n(50.0)],
        columns: 4,
        rows: 3,
        column_pitch: n(60.0),
        row_pitch: n(40.0),
        staggered: false,
    };
    let cutout = cutout("face", Shape::Circle { diameter: n(9.0) }, holes);
    let walls = flange(&["face/front", "face/right", "face/back", "face/left"], 90.0, 60.0);
    let features = vec![
        base("face", Profile::rectangle(&length, &width)),
        entry("wall", Feature::Flange(walls)),
        entry("holes", Feature::Cutout(cutout)),
    ];
    let mut history = history(1.5, 2.0, 0.44, features);
    let free = |name: &str, start| FreeNumber::new(name, start);
    history.free_numbers = vec![free("length", 300.0), free("width", 180.0)];
    history.dimensions = vec![
        hold_inside("clear length", "wall.left", "wall.right", 310.0),
        hold_inside("clear width", "wall.front", "wall.back", 190.0),
    ];
    history
}

/// The five-panel cover with walls of free height, widths that are at least held, and the smallest blank.
pub(crate) fn aimed_cover() -> History {
    let mut history = five_panel_cover();
    history.free_numbers.push(FreeNumber::new("height", 60.0));
    for entry in &mut history.features {
        if let Feature::Flange(walls) = &mut entry.feature {
            walls.length = Number::free(VarId::new(2));
        }
    }
    for (entry, value) in history.dimensions.iter_mut().zip([280.0, 170.0]) {
        entry.target = Target::AtLeast(n(value));
    }
    history.free_numbers[2].min = Some(40.0);
    history.aim = Some(Aim { smallest: AimFigure::BlankArea, span: None });
    history
}

/// A channel 30 mm wide between two walls with round bumps 18 mm high, four and three, that pass between each other.
pub(crate) fn bumped_channel() -> History {
    let mut walls = flange(&["floor/left", "floor/right"], 90.0, 60.0);
    walls.holds = HeldFace::Inner;
    let bumps = |on: &str, places: &[f64]| {
        entry(
            on.rsplit('.').next().expect("a split gives a piece"),
            Feature::Bump(Bump {
                panel: panel(on),
                profile: Shape::Circle { diameter: n(36.0) },
                pattern: Pattern::At(places.iter().map(|x| [n(*x), n(31.0)]).collect()),
                x_from: XFrom::Left,
                height: n(18.0),
                side: BumpSide::In,
                draft: n(20.0),
                punch_radius: None,
                die_radius: None,
                corner_radius: None,
            }),
        )
    };
    let features = vec![
        base("floor", Profile::rectangle(&n(30.0), &n(245.0))),
        entry("wall", Feature::Flange(walls)),
        bumps("wall.left", &[40.0, 95.0, 150.0, 205.0]),
        bumps("wall.right", &[67.5, 122.5, 177.5]),
    ];
    history(1.0, 1.0, 0.42, features)
}

/// A plate with one lip and `columns · rows` round holes.
pub(crate) fn perforated_plate(columns: u32, rows: u32) -> History {
    let pitch = 8.0;
    let size = |count: u32| n(f64::from(count + 1) * pitch + 20.0);
    let holes = Pattern::Grid {
        from: [n(pitch + 10.0), n(pitch + 10.0)],
        columns,
        rows,
        column_pitch: n(pitch),
        row_pitch: n(pitch),
        staggered: false,
    };
    let cutout = cutout("plate", Shape::Circle { diameter: n(5.0) }, holes);
    history(
        1.0,
        1.0,
        0.42,
        vec![
            base("plate", Profile::rectangle(&size(columns), &size(rows))),
            entry("lip", Feature::Flange(flange(&["plate/front"], 90.0, 20.0))),
            entry("holes", Feature::Cutout(cutout)),
        ],
    )
}

/// A comb of `teeth` teeth (four corners each) whose outline is a sketch: drawn up to 1 mm off, then made
/// right-angled, with equal teeth and gaps, and anchored by one corner. Two free numbers a corner.
pub(crate) fn sketched_comb(teeth: usize) -> History {
    let count = 4 * teeth;
    let slip = |i: usize| [0.7, -0.4, 0.1, -0.9, 0.5, 0.3, -0.8][i % 7];
    // Up at the left of each tooth, along its top, down, along the gap; the last gap runs back below all.
    let corner = |i: usize| {
        let tooth = (i / 4) as f64;
        let [x, y] = [[0.0, 0.0], [0.0, 20.0], [6.0, 20.0], [6.0, 0.0]][i % 4];
        let y = if i == 0 || i == count - 1 { -30.0 } else { y };
        [x + 16.0 * tooth + slip(i), y + slip(i + 3)]
    };
    let name = |i: usize| format!("e{}", i % count);
    let edges = (0..count).map(|i| ProfileEdge { name: name(i), shape: EdgeShape::Line });
    let drawn = Profile::new((0..count).map(|i| corner(i).map(n)).collect(), edges.collect());
    let mut free = Vec::new();
    let mut profile = drawn.sketched("comb", None, &mut free).expect("a comb of lines can be drawn");
    let level = |i: usize| {
        if i.is_multiple_of(2) {
            ProfileRelation::Vertical { edge: name(i) }
        } else {
            ProfileRelation::Horizontal { edge: name(i) }
        }
    };
    let mut relations: Vec<ProfileRelation> = (0..count).map(level).collect();
    relations.pop();
    let equal = |a: usize, b: usize| ProfileRelation::Equal { a: name(a), b: name(b) };
    relations.extend((1..teeth).map(|t| equal(1, 4 * t + 1)));
    relations.extend((1..teeth - 1).map(|t| equal(3, 4 * t + 3)));
    relations.extend((2..=2 * (teeth - 1)).map(|half| equal(2, 2 * half)));
    let length = |i: usize, value: f64| ProfileRelation::Length { edge: name(i), value: n(value) };
    relations.extend([length(1, 6.0), length(3, 10.0), length(2, 20.0), length(0, 50.0)]);
    let anchor = Element::Corner([name(count - 1), name(0)]);
    relations.push(ProfileRelation::Coincident { a: anchor, b: Element::Place([n(0.0), n(-30.0)]) });
    relations.push(ProfileRelation::Parallel { a: Element::Edge(name(count - 1)), b: Element::XAxis });
    profile.relations =
        relations.into_iter().map(|relation| RelationEntry { relation, span: None }).collect();
    let mut history = history(1.5, 1.5, 0.42, vec![base("comb", profile)]);
    history.free_numbers = free;
    history
}

/// This share of 1° of turn, 0.2 mm of radius, 0.1 mm of thickness, 0.5 mm of place and 0.2 mm of cuts.
pub(crate) fn tolerances(share: f64) -> ToleranceSpec {
    let spec = |value: f64| Some(value * share);
    ToleranceSpec {
        turn: spec(1.0),
        radius: spec(0.2),
        thickness: spec(0.1),
        bend_place: spec(0.5),
        cut: spec(0.2),
        span: None,
    }
}
