//! `blank.dxf` read back group by group.

use std::collections::BTreeSet;

use kernel::geom::{Contour, Point2};
use kernel::quantity::maths;

use super::sample;

/// Group code and value.
type Group = (i32, String);

struct Entity {
    kind: String,
    layer: String,
    groups: Vec<Group>,
}

impl Entity {
    fn numbers(&self, code: i32) -> Vec<f64> {
        self.groups.iter().filter(|(c, _)| *c == code).map(|(_, v)| v.parse().unwrap()).collect()
    }

    fn number(&self, code: i32) -> f64 {
        self.numbers(code)[0]
    }

    /// Vertices with the bulge that follows each; 0 if there is none.
    fn vertices(&self) -> Vec<(Point2, f64)> {
        let mut vertices: Vec<(Point2, f64)> = Vec::new();
        for (code, value) in &self.groups {
            let value = || value.parse::<f64>().unwrap();
            match code {
                10 => vertices.push((Point2::new(value(), f64::NAN), 0.0)),
                20 => vertices.last_mut().unwrap().0.y = value(),
                42 => vertices.last_mut().unwrap().1 = value(),
                _ => {}
            }
        }
        vertices
    }

    /// Signed area between the closed polyline's arcs and lines.
    fn area(&self) -> f64 {
        let vertices = self.vertices();
        let next = vertices.iter().cycle().skip(1);
        vertices
            .iter()
            .zip(next)
            .map(|(&(a, bulge), &(b, _))| {
                let chord = a.distance(b);
                let sweep = 4.0 * maths::atan2(bulge, 1.0);
                let cap = if bulge == 0.0 {
                    0.0
                } else {
                    let radius = chord * (1.0 + bulge * bulge) / (4.0 * bulge.abs());
                    0.5 * radius * radius * (sweep - maths::sin(sweep))
                };
                0.5 * (a.x * b.y - a.y * b.x) + cap
            })
            .sum()
    }
}

fn groups(text: &str) -> Vec<Group> {
    let lines: Vec<&str> = text.lines().collect();
    assert_eq!(lines.len() % 2, 0, "codes and values come in pairs");
    lines.chunks(2).map(|pair| (pair[0].trim().parse().unwrap(), pair[1].to_owned())).collect()
}

fn entities(groups: &[Group]) -> Vec<Entity> {
    let from = groups.iter().position(|g| *g == (2, "ENTITIES".to_owned())).unwrap() + 1;
    let to = from + groups[from..].iter().position(|g| *g == (0, "ENDSEC".to_owned())).unwrap();
    let mut found: Vec<Entity> = Vec::new();
    for (code, value) in &groups[from..to] {
        match code {
            0 => found.push(Entity { kind: value.clone(), layer: String::new(), groups: Vec::new() }),
            8 => found.last_mut().unwrap().layer.clone_from(value),
            _ => found.last_mut().unwrap().groups.push((*code, value.clone())),
        }
    }
    found
}

fn of_layer<'a>(entities: &'a [Entity], layer: &str) -> Vec<&'a Entity> {
    entities.iter().filter(|e| e.layer == layer).collect()
}

#[test]
fn outer_contour_is_closed_and_has_the_area_of_the_blank() {
    let sample = sample::part();
    let entities = entities(&groups(&sample.text("blank.dxf")));
    let [outer] = of_layer(&entities, "CUT_OUTER")[..] else { panic!("one outer contour") };
    assert_eq!((outer.kind.as_str(), outer.number(70)), ("LWPOLYLINE", 1.0));
    let expected: f64 = sample.part.blank.region.outers().map(Contour::signed_area).sum();
    // Coordinates are good to 5e-11 mm over an outline of about 2 m.
    assert!((outer.area() - expected).abs() < 1e-6, "{} {expected}", outer.area());
}

#[test]
fn openings_keep_their_area_by_hand() {
    let sample = sample::part();
    let entities = entities(&groups(&sample.text("blank.dxf")));
    let inner = of_layer(&entities, "CUT_INNER");
    assert_eq!(inner.len(), 5);
    let circle = inner[0];
    assert_eq!(circle.kind, "CIRCLE");
    assert_eq!((circle.number(10), circle.number(20), circle.number(40)), (150.0, 75.0, 5.5));
    let pi = maths::PI;
    // Slot 30 x 10 with round ends; disc of radius 8 less its cap of 60°, (60° in rad - sin 60°) r²/2; lens
    // of two quarter caps of radius √200, (π/2 - 1) r²/2 each; square less (1 - π/4) r².
    let sin_60 = 0.75_f64.sqrt();
    let by_hand = [
        300.0 + 25.0 * pi,
        64.0 * pi - 32.0 * (pi / 3.0 - sin_60),
        200.0 * (pi / 2.0 - 1.0),
        100.0 - (1.0 - pi / 4.0) * 1e-8,
    ];
    for (polyline, expected) in inner[1..].iter().zip(by_hand) {
        assert_eq!((polyline.kind.as_str(), polyline.number(70)), ("LWPOLYLINE", 1.0));
        assert!((polyline.area() + expected).abs() < 1e-8, "{} {expected}", polyline.area());
        #[expect(clippy::cast_precision_loss, reason = "a handful of vertices")]
        let count = polyline.vertices().len() as f64;
        assert_eq!(polyline.number(90), count);
        assert!(polyline.vertices().iter().all(|(_, bulge)| bulge.abs() <= 1.0 + 1e-9));
    }
    // The disc with a flat comes as two arcs of 150° to the right and a line: bulge -tan(37.5°).
    let bulges: Vec<f64> = inner[2].vertices().iter().map(|(_, bulge)| *bulge).collect();
    let expected = -maths::tan(37.5 * pi / 180.0);
    assert_eq!(bulges.len(), 3);
    assert!(bulges.iter().filter(|b| (**b - expected).abs() < 1e-12).count() == 2, "{bulges:?}");
}

#[test]
fn every_vertex_is_within_a_millionth_of_a_micrometre() {
    let sample = sample::part();
    let entities = entities(&groups(&sample.text("blank.dxf")));
    let polylines: Vec<Point2> = entities
        .iter()
        .filter(|e| e.kind == "LWPOLYLINE")
        .flat_map(Entity::vertices)
        .map(|(p, _)| p)
        .collect();
    let contours = sample.part.blank.region.contours().iter().filter(|c| c.as_circle().is_none());
    for piece in contours.flat_map(Contour::segments) {
        assert!(polylines.iter().any(|p| p.distance(piece.start) < 1e-9), "{:?}", piece.start);
    }
}

#[test]
fn bend_lines_lie_on_the_layer_of_their_direction() {
    let sample = sample::part();
    let entities = entities(&groups(&sample.text("blank.dxf")));
    assert_eq!(of_layer(&entities, "FOLD_UP").len(), 3);
    assert_eq!(of_layer(&entities, "FOLD_DOWN").len(), 2);
    let lines: Vec<&Entity> = entities.iter().filter(|e| e.kind == "LINE").collect();
    for (line, expected) in lines.iter().zip(&sample.part.blank.bend_lines) {
        let [from, to] = expected.centre;
        assert!(Point2::new(line.number(10), line.number(20)).distance(from) < 1e-9);
        assert!(Point2::new(line.number(11), line.number(21)).distance(to) < 1e-9);
    }
}

#[test]
fn handles_are_unique_and_below_the_seed() {
    let groups = groups(&sample::part().text("blank.dxf"));
    let seed_at = groups.iter().position(|g| *g == (9, "$HANDSEED".to_owned())).unwrap() + 1;
    let number = |text: &str| u32::from_str_radix(text, 16).unwrap();
    let seed = number(&groups[seed_at].1);
    let mut seen = BTreeSet::new();
    for (index, (code, value)) in groups.iter().enumerate() {
        if index != seed_at && matches!(code, 5 | 105) {
            assert!(seen.insert(number(value)), "handle {value} is used twice");
        }
    }
    assert!(seen.len() > 30);
    assert!(seen.iter().all(|handle| (1..seed).contains(handle)));
    for (_, owner) in groups.iter().filter(|(code, _)| *code == 330) {
        assert!(owner == "0" || seen.contains(&number(owner)), "owner {owner} is nobody");
    }
}

#[test]
fn numbers_are_plain_and_millimetres_are_declared() {
    let text = sample::part().text("blank.dxf");
    let groups = groups(&text);
    let after = |name: &str| &groups[groups.iter().position(|g| *g == (9, name.to_owned())).unwrap() + 1];
    assert_eq!(after("$INSUNITS"), &(70, "4".to_owned()));
    assert_eq!(after("$MEASUREMENT"), &(70, "1".to_owned()));
    let bounds = sample::part().part.blank.bounding_box();
    assert!((after("$EXTMIN").1.parse::<f64>().unwrap() - bounds.min.x).abs() < 1e-9);
    assert!((after("$EXTMAX").1.parse::<f64>().unwrap() - bounds.max.x).abs() < 1e-9);
    for (code, value) in groups.iter().filter(|(code, _)| (10..60).contains(code)) {
        assert!(
            !value.contains(['e', 'E']) && value.contains('.') && !value.starts_with("-0.0\n"),
            "{code} {value}"
        );
        assert!(value != "-0.0");
    }
}
