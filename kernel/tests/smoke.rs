//! scratch
use kernel::fold::FoldFractions;
use kernel::history::feature::*;
use kernel::history::*;
use kernel::regenerate::regenerate;

fn n(x: f64) -> Number {
    Number::constant(x)
}
fn end() -> FlangeEnd {
    FlangeEnd { inset: n(0.0), taper: n(0.0) }
}
fn flange(name: &str, edges: &[&str], turn: f64, len: f64) -> FeatureEntry {
    FeatureEntry {
        name: name.into(),
        span: None,
        feature: Feature::Flange(Flange {
            edges: edges.iter().map(|e| EdgeName::new(e).unwrap()).collect(),
            turn: n(turn),
            side: FoldSide::Up,
            length: n(len),
            length_from: LengthFrom::Outside,
            holds: HeldFace::Outer,
            left: end(),
            right: end(),
            inside_radius: None,
            relief: Relief { shape: ReliefShape::Round, width: None, depth: None },
            corner_gap: n(1.0),
        }),
    }
}
#[test]
fn box_with_lips() {
    let mut lip = flange("lip", &["wall.left/tip", "wall.right/tip"], 90.0, 15.0);
    if let Feature::Flange(f) = &mut lip.feature {
        f.left.inset = n(20.0);
        f.right.taper = n(30.0);
    }
    let h = History {
        format: 1,
        family: "x".into(),
        title: String::new(),
        parameters: vec![],
        sheet: SheetSpec {
            material: "DC01".into(),
            thickness: ThicknessSpec::Mm(2.0),
            inside_radius: 2.0,
            bend_rule: BendRuleSpec::FixedK(0.44),
            span: None,
        },
        free_numbers: vec![],
        features: vec![
            FeatureEntry {
                name: "base".into(),
                span: None,
                feature: Feature::BasePanel(BasePanel { outline: Profile::rectangle(&n(300.0), &n(200.0)) }),
            },
            flange("wall", &["base/front", "base/right", "base/back", "base/left"], 90.0, 60.0),
            lip,
        ],
        dimensions: vec![DimensionEntry {
            name: "clear".into(),
            kind: DimensionKind::Inside {
                a: PanelName::new("wall.left").unwrap(),
                b: PanelName::new("wall.right").unwrap(),
            },
            target: Target::Measured,
            span: None,
        }],
    };
    let p = regenerate(&h).unwrap();
    println!("{:#?}", p.settled.dimensions);
    println!("{:?} area {} pierces {}", p.blank.bounding_box(), p.blank.region.area(), p.blank.pierces());
    for f in [0.0, 0.3, 1.0] {
        let m = p.mesh(&FoldFractions::all(&p.tree, f), 0.001).unwrap();
        println!("vol {} {} faces {} {:?}", m.volume(), p.measures.volume, m.faces.len(), m.bounding_box());
        println!("surf {} {}", m.surface(), p.measures.surface);
        let mut edges = std::collections::BTreeMap::new();
        for f in &m.faces {
            for i in 0..3 {
                *edges.entry((f.corners[i], f.corners[(i + 1) % 3])).or_insert(0) += 1;
            }
        }
        assert!(edges.iter().all(|((a, b), c)| *c == 1 && edges.get(&(*b, *a)) == Some(&1)));
    }
    for row in &p.bend_table {
        println!("{} {} {:?}", row.order, row.name, row.blank_line);
    }
    println!("{}", serde_json::to_string(&h).unwrap().len());
}
