//! `folded.step` read back by a small reader of ISO 10303-21.

use std::collections::{BTreeMap, BTreeSet};

use kernel::geom::Vec3;

use super::sample;

/// The entities of a file by number: type and attributes as text.
struct Entities(BTreeMap<u32, (String, String)>);

impl Entities {
    fn read(text: &str) -> Self {
        let data = text.split("DATA;\n").nth(1).unwrap().split("ENDSEC;").next().unwrap();
        let mut all = BTreeMap::new();
        for line in data.lines() {
            let (number, rest) = line.split_once('=').unwrap();
            let (kind, attributes) = rest.split_once('(').unwrap();
            let attributes = attributes.strip_suffix(");").unwrap();
            let number = number.strip_prefix('#').unwrap().parse().unwrap();
            assert!(all.insert(number, (kind.to_owned(), attributes.to_owned())).is_none());
        }
        Self(all)
    }

    fn of(&self, kind: &str) -> Vec<(u32, &str)> {
        self.0.iter().filter(|(_, (k, _))| k == kind).map(|(n, (_, a))| (*n, a.as_str())).collect()
    }

    fn count(&self, kind: &str) -> usize {
        self.of(kind).len()
    }

    fn attributes(&self, number: u32) -> &str {
        &self.0[&number].1
    }

    /// The three numbers of a point or direction.
    fn vector(&self, number: u32) -> Vec3<f64> {
        let inner = self.attributes(number).split('(').nth(1).unwrap().trim_end_matches(')');
        let numbers: Vec<f64> = inner.split(',').map(real).collect();
        Vec3::new(numbers[0], numbers[1], numbers[2])
    }
}

/// A real of the format has a point.
fn real(text: &str) -> f64 {
    assert!(text.contains('.'), "{text}");
    text.replace(".E", ".0E").parse().unwrap()
}

/// Numbers of the entities that a text refers to.
fn references(text: &str) -> Vec<u32> {
    // Names hold no number signs.
    text.split('#')
        .skip(1)
        .map(|t| t.split(|c: char| !c.is_ascii_digit()).next().unwrap().parse().unwrap())
        .collect()
}

#[test]
fn one_closed_shell_whose_edges_are_used_once_each_way() {
    let sample = sample::part();
    let text = sample.text("folded.step");
    assert!(text.starts_with("ISO-10303-21;\nHEADER;\n") && text.ends_with("ENDSEC;\nEND-ISO-10303-21;\n"));
    assert!(text.contains("FILE_SCHEMA(('AUTOMOTIVE_DESIGN { 1 0 10303 214 1 1 1 1 }'));"));
    assert!(text.contains("SI_UNIT(.MILLI.,.METRE.)") && text.contains("SI_UNIT($,.RADIAN.)"));
    let entities = Entities::read(&text);
    for (_, attributes) in entities.0.values() {
        assert!(references(attributes).iter().all(|n| entities.0.contains_key(n)), "{attributes}");
    }
    assert_eq!((entities.count("MANIFOLD_SOLID_BREP"), entities.count("CLOSED_SHELL")), (1, 1));
    let brep = &sample.brep;
    assert_eq!(entities.count("VERTEX_POINT"), brep.vertices().len());
    assert_eq!(entities.count("EDGE_CURVE"), brep.edges().len());
    assert_eq!(entities.count("ADVANCED_FACE"), brep.faces().len());
    let counts = brep.face_counts();
    assert_eq!(entities.count("PLANE"), counts.planes);
    assert_eq!(entities.count("CYLINDRICAL_SURFACE"), counts.cylinders);
    assert_eq!(entities.count("B_SPLINE_SURFACE_WITH_KNOTS"), counts.rolled);
    let (_, shell) = entities.of("CLOSED_SHELL")[0];
    assert_eq!(references(shell).len(), brep.faces().len());
    assert_eq!(references(shell).iter().collect::<BTreeSet<_>>().len(), brep.faces().len());
    let mut uses: BTreeMap<u32, Vec<bool>> = BTreeMap::new();
    for (_, attributes) in entities.of("ORIENTED_EDGE") {
        uses.entry(references(attributes)[0]).or_default().push(attributes.ends_with(".T."));
    }
    assert_eq!(uses.len(), brep.edges().len());
    assert!(uses.values().all(|senses| senses.len() == 2 && senses[0] != senses[1]), "{uses:?}");
    // Each loop runs from vertex to vertex and comes back.
    for (_, attributes) in entities.of("EDGE_LOOP") {
        let ends: Vec<[u32; 2]> = references(attributes)
            .into_iter()
            .map(|used| {
                let attributes = entities.attributes(used);
                let [from, to, _] = references(entities.attributes(references(attributes)[0]))[..] else {
                    panic!("{attributes}")
                };
                if attributes.ends_with(".T.") { [from, to] } else { [to, from] }
            })
            .collect();
        assert!((0..ends.len()).all(|i| ends[i][1] == ends[(i + 1) % ends.len()][0]), "{attributes}");
    }
}

#[test]
fn numbers_read_back_bit_for_bit_and_curves_pass_through_their_ends() {
    let sample = sample::part();
    let entities = Entities::read(&sample.text("folded.step"));
    let points: Vec<Vec3<f64>> =
        entities.of("VERTEX_POINT").iter().map(|(_, a)| entities.vector(references(a)[0])).collect();
    for (read, vertex) in points.iter().zip(sample.brep.vertices()) {
        for (a, b) in [(read.x, vertex.x), (read.y, vertex.y), (read.z, vertex.z)] {
            // What is below 1e-15 is written as zero.
            assert!(a.to_bits() == b.to_bits() || (a == 0.0 && b.abs() < 1e-15), "{a} {b}");
        }
    }
    for (_, attributes) in entities.of("DIRECTION").iter().map(|(n, _)| (n, entities.vector(*n))) {
        assert!((attributes.length() - 1.0).abs() < 1e-14);
    }
    let mut circles = 0;
    for (_, attributes) in entities.of("EDGE_CURVE") {
        let [from, to, curve] = references(attributes)[..] else { panic!("{attributes}") };
        let [from, to] = [from, to].map(|v| entities.vector(references(entities.attributes(v))[0]));
        if entities.0[&curve].0 == "CIRCLE" {
            circles += 1;
            let circle = entities.attributes(curve);
            let radius = real(circle.rsplit(',').next().unwrap());
            let [centre, axis, reference] = references(entities.attributes(references(circle)[0]))[..] else {
                panic!("{circle}")
            };
            let [centre, axis, reference] = [centre, axis, reference].map(|n| entities.vector(n));
            for end in [from, to] {
                assert!(((end - centre).length() - radius).abs() < 1e-9);
                assert!((end - centre).dot(axis).abs() < 1e-9);
            }
            assert!((centre + reference.times(radius) - from).length() < 1e-9);
        }
    }
    assert!(circles > 0);
}

#[test]
fn faces_have_names_of_people_and_one_of_three_colours() {
    let sample = sample::part();
    let text = sample.text("folded.step");
    let entities = Entities::read(&text);
    let names: BTreeSet<&str> =
        entities.of("ADVANCED_FACE").iter().map(|(_, a)| a.split('\'').nth(1).unwrap()).collect();
    for name in [
        "base inner",
        "base outer",
        "wall.left inner",
        "wall.left/tip",
        "bend of wall.left outer",
        "bend of wall.left end",
    ] {
        assert!(names.contains(name), "{name} is not among {names:?}");
    }
    assert!(text.contains("PRODUCT('coupling_guard','coupling_guard',"));
    assert_eq!(entities.count("COLOUR_RGB"), 3);
    let styled: BTreeSet<u32> =
        entities.of("STYLED_ITEM").iter().map(|(_, a)| *references(a).last().unwrap()).collect();
    let faces: BTreeSet<u32> = entities.of("ADVANCED_FACE").iter().map(|(n, _)| *n).collect();
    assert_eq!(styled, faces);
}

#[test]
fn names_are_quoted_as_the_format_wants_it() {
    let mut sample = sample::part();
    sample.history.family = "Halter d'Öse \\ 2".to_owned();
    assert!(sample.text("folded.step").contains("PRODUCT('Halter d''\\X4\\000000D6\\X0\\se \\\\ 2',"));
}
