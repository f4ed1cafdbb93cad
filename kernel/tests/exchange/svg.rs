//! `blank.svg` read back: true size, true arcs, escaped text.

use kernel::geom::Point2;
use kernel::quantity::maths;

use super::sample;

fn attribute<'a>(element: &'a str, name: &str) -> &'a str {
    let from = element.find(&format!(" {name}=\"")).unwrap() + name.len() + 3;
    &element[from..from + element[from..].find('"').unwrap()]
}

/// Area enclosed by a path of `M`, `L`, `A` (no arc above a half circle) and `Z`, positive when clockwise on
/// the page.
fn area(path: &str) -> f64 {
    let point = |text: &str| {
        let (x, y) = text.split_once(',').unwrap();
        Point2::new(x.parse().unwrap(), y.parse().unwrap())
    };
    let mut words = path.split_whitespace();
    let (mut total, mut first, mut last) = (0.0, Point2::ORIGIN, Point2::ORIGIN);
    while let Some(word) = words.next() {
        match word.split_at(1) {
            ("M", to) => (first, last) = (point(to), point(to)),
            ("L", to) => {
                let to = point(to);
                total += 0.5 * (last.x * to.y - last.y * to.x);
                last = to;
            }
            ("A", radii) => {
                let radius = point(radii).x;
                assert_eq!((words.next(), words.next()), (Some("0"), Some("0")));
                let positive = words.next() == Some("1");
                let to = point(words.next().unwrap());
                let sweep = 2.0 * maths::asin(0.5 * last.distance(to) / radius);
                let cap = 0.5 * radius * radius * (sweep - maths::sin(sweep));
                total += 0.5 * (last.x * to.y - last.y * to.x) + if positive { cap } else { -cap };
                last = to;
            }
            ("Z", "") => assert_eq!(first, last, "a contour ends where it began"),
            (other, _) => panic!("{other}"),
        }
    }
    total
}

#[test]
fn outline_has_true_arcs_and_the_area_of_the_blank() {
    let sample = sample::part();
    let text = sample.text("blank.svg");
    let outline = text.lines().find(|line| line.contains("fill-rule")).unwrap();
    let got = area(attribute(outline, "d"));
    let expected = sample.part.blank.region.area();
    // Radii are written to 5e-7 mm; at a half circle of radius 5 that is 4e-4 rad of arc, 0.01 mm².
    assert!((got + expected).abs() < 0.02, "{got} {expected}");
}

#[test]
fn page_is_in_millimetres_and_holds_the_blank() {
    let sample = sample::part();
    let text = sample.text("blank.svg");
    let head = text.lines().next().unwrap();
    let view: Vec<f64> = attribute(head, "viewBox").split(' ').map(|n| n.parse().unwrap()).collect();
    assert_eq!(attribute(head, "width"), format!("{}mm", view[2]));
    assert_eq!(attribute(head, "height"), format!("{}mm", view[3]));
    let bounds = sample.part.blank.bounding_box();
    assert!(view[0] < bounds.min.x && bounds.max.x < view[0] + view[2]);
    assert!(view[1] < -bounds.max.y && -bounds.min.y < view[1] + view[3]);
}

#[test]
fn every_bend_has_its_order_and_turn_and_both_directions_differ() {
    let sample = sample::part();
    let text = sample.text("blank.svg");
    for row in sample.part.bend_table() {
        let turn = if row.name.as_str().starts_with("lip") { 45 } else { 90 };
        let label = format!(">{} · {turn}°</text>", row.order.unwrap());
        assert_eq!(text.matches(&label).count(), 1, "{label}");
    }
    let dashed: Vec<&str> = text.lines().filter(|line| line.contains("stroke-dasharray")).collect();
    let (up, down) = (dashed[0], dashed[4]);
    assert_ne!(attribute(up, "stroke"), attribute(down, "stroke"));
    assert_ne!(attribute(up, "stroke-dasharray"), attribute(down, "stroke-dasharray"));
}

#[test]
fn text_from_outside_is_escaped() {
    let mut sample = sample::part();
    sample.history.family = "a<b & \"c\"\u{1}</text>".to_owned();
    let text = sample.text("blank.svg");
    assert!(text.contains("a&lt;b &amp; &quot;c&quot;\u{fffd}&lt;/text&gt;"));
    assert!(!text.contains("a<b"));
}
