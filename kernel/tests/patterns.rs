//! Where patterns set their openings, against places found by hand, and laws of every fill.

#[allow(dead_code, reason = "tests and benches use different parts")]
#[path = "../benches/parts.rs"]
mod parts;

use kernel::blank::hole_table;
use kernel::geom::{Contour, Point2, Region, distance_between};
use kernel::history::feature::{Facing, Feature, FillArea, Pattern, Spacing};
use kernel::history::{History, Profile, Shape};
use kernel::quantity::maths;
use kernel::regenerate::{Part, regenerate};
use kernel::stock::ClearanceFit;
use parts::{base, cutout, entry, flange, history, n};
use proptest::prelude::*;

fn cut(name: &str, on: &str, shape: Shape, pattern: Pattern) -> kernel::history::FeatureEntry {
    entry(name, Feature::Cutout(cutout(on, shape, pattern)))
}

fn circle(diameter: f64) -> Shape {
    Shape::Circle { diameter: n(diameter) }
}

/// A plate of 200 x 100 mm with these openings.
fn plate(openings: Vec<kernel::history::FeatureEntry>) -> History {
    let mut features = vec![base("plate", Profile::rectangle(&n(200.0), &n(100.0)))];
    features.extend(openings);
    history(1.0, 1.0, 0.42, features)
}

fn made(history: &History) -> Part {
    regenerate(history).unwrap_or_else(|faults| panic!("{faults:?}"))
}

fn code(history: &History) -> &'static str {
    regenerate(history).expect_err("it cannot be made")[0].code
}

/// Centres of the round holes of panel `index`, in order.
fn centres(part: &Part, index: usize) -> Vec<Point2> {
    part.tree.panels()[index]
        .region
        .holes()
        .filter_map(Contour::as_circle)
        .map(|(centre, _)| centre)
        .collect()
}

fn assert_places(got: &[Point2], wanted: &[[f64; 2]]) {
    assert_eq!(got.len(), wanted.len(), "{got:?}");
    for (p, [x, y]) in got.iter().zip(wanted) {
        assert!(p.distance(Point2::new(*x, *y)) < 1e-9, "{p:?} instead of ({x}, {y})");
    }
}

fn row(from: [f64; 2], to: [f64; 2], spacing: Spacing) -> Pattern {
    Pattern::Row { from: from.map(n), to: to.map(n), spacing }
}

#[test]
fn rows_reach_from_end_to_end_or_keep_their_ends() {
    // 60 to the right and 80 up: 100 mm long, so that 25 mm along it are (15, 20).
    let by_count = made(&plate(vec![cut(
        "a",
        "plate",
        circle(4.0),
        row([30.0, 10.0], [90.0, 90.0], Spacing::Count(5)),
    )]));
    assert_places(
        &centres(&by_count, 0),
        &[[30.0, 10.0], [45.0, 30.0], [60.0, 50.0], [75.0, 70.0], [90.0, 90.0]],
    );
    // 100 mm less 8 mm at both ends have room for two pitches of 40 mm; 10 mm are left over at each end.
    let by_pitch = Spacing::Pitch { pitch: n(40.0), ends: n(8.0) };
    let by_pitch =
        made(&plate(vec![cut("a", "plate", circle(4.0), row([20.0, 50.0], [120.0, 50.0], by_pitch))]));
    assert_places(&centres(&by_pitch, 0), &[[30.0, 50.0], [70.0, 50.0], [110.0, 50.0]]);
    // Room for a whole number of pitches, but for rounding: 0.1 · 3 is a little more than 0.3.
    let tenths = Spacing::Pitch { pitch: n(0.1 * 3.0), ends: n(0.0) };
    let tenths = made(&plate(vec![cut("a", "plate", circle(0.1), row([20.0, 50.0], [20.3, 50.0], tenths))]));
    assert_eq!(centres(&tenths, 0).len(), 2);
}

fn ring(count: u32, first: f64, span: f64, facing: Facing) -> Pattern {
    Pattern::Ring {
        centre: [n(100.0), n(50.0)],
        diameter: n(60.0),
        count,
        first: n(first),
        span: n(span),
        facing,
    }
}

#[test]
fn rings_go_once_around_or_through_a_part() {
    let at = |pattern| centres(&made(&plate(vec![cut("a", "plate", circle(4.0), pattern)])), 0);
    let around = [[130.0, 50.0], [100.0, 80.0], [70.0, 50.0], [100.0, 20.0]];
    assert_places(&at(ring(4, 0.0, 360.0, Facing::Fixed)), &around);
    // A part of the circle has a place at both its ends, and may go clockwise.
    assert_places(&at(ring(3, 0.0, 180.0, Facing::Fixed)), &around[..3]);
    assert_places(&at(ring(2, 0.0, -90.0, Facing::Fixed)), &[around[0], around[3]]);
    assert_eq!(
        code(&plate(vec![cut("a", "plate", circle(4.0), ring(4, 0.0, 361.0, Facing::Fixed))])),
        "fold::ring_span"
    );
}

#[test]
fn slots_turn_with_their_ring() {
    let slot = || Shape::Slot { length: n(20.0), width: n(6.0), direction: n(0.0) };
    // The extents of the slot at 90° of the ring, above its centre.
    let size = |facing| {
        let part = made(&plate(vec![cut("a", "plate", slot(), ring(2, 0.0, 90.0, facing))]));
        let boxes: Vec<_> = part.tree.panels()[0].region.holes().map(Contour::bounding_box).collect();
        let above = boxes.iter().find(|b| b.max.y > 80.0).expect("one slot lies above the centre");
        [above.width(), above.height()]
    };
    for (facing, wanted) in
        [(Facing::Fixed, [20.0, 6.0]), (Facing::Outward, [6.0, 20.0]), (Facing::Along, [20.0, 6.0])]
    {
        let got = size(facing);
        assert!(
            (got[0] - wanted[0]).abs() < 1e-9 && (got[1] - wanted[1]).abs() < 1e-9,
            "{facing:?}: {got:?}"
        );
    }
}

fn fill(area: FillArea, pitch: f64, staggered: bool, margin: f64) -> Pattern {
    let row_pitch = if staggered { 0.5 * 3.0_f64.sqrt() * pitch } else { pitch };
    Pattern::Fill { area, column_pitch: n(pitch), row_pitch: n(row_pitch), staggered, margin: n(margin) }
}

#[test]
fn a_fill_is_centred_in_its_rectangle() {
    // 61 x 41 mm less a hole of 5 mm: 56 and 36 mm, 5 and 3 pitches of 10 mm, 3 mm over at both ends.
    let area = FillArea::Rectangle { from: [n(71.0), n(51.0)], to: [n(10.0), n(10.0)] };
    let part = made(&plate(vec![cut("air", "plate", circle(5.0), fill(area, 10.0, false, 0.0))]));
    let got = centres(&part, 0);
    assert_eq!(got.len(), 24);
    assert_places(&[got[0], got[23]], &[[15.5, 15.5], [65.5, 45.5]]);
}

#[test]
fn staggered_rows_leave_alike_webs() {
    let area = FillArea::Rectangle { from: [n(10.0), n(10.0)], to: [n(110.0), n(90.0)] };
    let part = made(&plate(vec![cut("air", "plate", circle(5.0), fill(area, 8.0, true, 0.0))]));
    // 95 mm: 11 pitches of 8 mm, 12 in a row and 11 in the next; 75 mm: 10 row pitches of 6.928 mm.
    let got = centres(&part, 0);
    assert_eq!(got.len(), 6 * 12 + 5 * 11);
    for p in &got {
        let nearest = got.iter().filter(|q| *q != p).map(|q| q.distance(*p)).fold(f64::INFINITY, f64::min);
        assert!((nearest - 8.0).abs() < 1e-9, "{nearest}");
    }
}

#[test]
fn a_fill_of_a_panel_keeps_its_margin_to_edges_bends_and_earlier_openings() {
    let mut wall = flange(&["plate/front", "plate/left"], 90.0, 30.0);
    wall.left.inset = n(0.0);
    let part = made(&history(
        1.5,
        1.5,
        0.42,
        vec![
            base("plate", Profile::rectangle(&n(200.0), &n(100.0))),
            entry("wall", Feature::Flange(wall)),
            cut(
                "bolt",
                "plate",
                Shape::BoltHole { bolt: "M8".to_owned(), fit: ClearanceFit::Medium },
                Pattern::At(vec![[n(120.0), n(40.0)]]),
            ),
            cut("air", "plate", circle(5.0), fill(FillArea::Panel, 7.0, true, 9.0)),
        ],
    ));
    let region = &part.tree.panels()[0].region;
    let air: Vec<&Contour> =
        region.holes().filter(|c| c.as_circle().is_some_and(|(_, r)| r == 2.5)).collect();
    let others: Vec<&Contour> = region.contours().iter().filter(|c| !air.contains(c)).collect();
    assert_eq!(others.len(), 2);
    let mut least = f64::INFINITY;
    for (a, b) in air.iter().flat_map(|a| others.iter().map(move |b| (a, b))) {
        for (s, t) in a.segments().iter().flat_map(|s| b.segments().iter().map(move |t| (s, t))) {
            least = least.min(distance_between(s, t));
        }
    }
    assert!(least >= 9.0 - 1e-6, "{least}");
    // The bolt hole takes the place of some, but of no more than have their centre within 4.5 + 9 + 2.5 mm.
    let density = 1.0 / (7.0 * 7.0 * 0.5 * 3.0_f64.sqrt());
    let taken = density * maths::PI * 16.0 * 16.0;
    let inner = region.bounding_box().grown(-9.0 - 2.5);
    let expected = density * inner.width() * inner.height() - taken;
    let got = air.len() as f64;
    assert!((got - expected).abs() < 0.12 * expected, "{got} openings, about {expected} expected");
}

#[test]
fn a_fill_without_webs_or_without_room_is_refused() {
    let area = || FillArea::Rectangle { from: [n(10.0), n(10.0)], to: [n(110.0), n(90.0)] };
    let square =
        |pitch| code(&plate(vec![cut("air", "plate", circle(5.0), fill(area(), pitch, false, 0.0))]));
    assert_eq!(square(5.0), "fold::no_web");
    assert_eq!(square(0.0), "fold::pattern_size");
    let too_large = cut("air", "plate", circle(81.0), fill(area(), 100.0, false, 0.0));
    assert_eq!(code(&plate(vec![too_large])), "fold::nothing_fits");
    let no_room = cut("air", "plate", circle(5.0), fill(FillArea::Panel, 8.0, false, 48.0));
    assert_eq!(code(&plate(vec![no_room])), "fold::nothing_fits");
    // With the columns far apart, neighbours of the next row are the nearest.
    let rows = Pattern::Fill {
        area: area(),
        column_pitch: n(8.0),
        row_pitch: n(2.9),
        staggered: true,
        margin: n(0.0),
    };
    assert_eq!(code(&plate(vec![cut("air", "plate", circle(5.0), rows)])), "fold::no_web");
}

proptest! {
    #![proptest_config(ProptestConfig { failure_persistence: None, ..ProptestConfig::with_cases(100) })]

    /// A fill cuts whole openings only, whatever there is already, and leaves the outline as it was.
    #[test]
    fn a_fill_never_notches(
        corners in prop::collection::vec(40.0..90.0_f64, 5..8),
        hole in 4.0..40.0_f64,
        size in 2.0..9.0_f64,
        web in 0.1..8.0_f64,
        margin in prop_oneof![Just(0.0), 0.0..12.0_f64],
        staggered in any::<bool>(),
        slots in any::<bool>(),
    ) {
        let count = corners.len();
        let point = |i: usize| {
            let angle = i as f64 * maths::TAU / count as f64;
            [corners[i] * maths::cos(angle), corners[i] * maths::sin(angle)]
        };
        let mut outline = Profile::rectangle(&n(1.0), &n(1.0));
        let line = outline.edges[0].clone();
        outline.corners = (0..count).map(|i| point(i).map(n)).collect();
        outline.edges = (0..count).map(|i| { let mut edge = line.clone(); edge.name = format!("e{i}"); edge }).collect();
        let shape = if slots { Shape::Slot { length: n(1.5 * size), width: n(size), direction: n(90.0) } } else { circle(size) };
        let features = vec![
            base("plate", outline),
            cut("hole", "plate", circle(hole), Pattern::At(vec![[n(0.0), n(0.0)]])),
            cut("air", "plate", shape, fill(FillArea::Panel, 1.5 * size + web, staggered, margin)),
        ];
        let history = history(1.0, 1.0, 0.42, features);
        let part = match regenerate(&history) {
            Ok(part) => part,
            Err(faults) => {
                prop_assert!(["fold::nothing_fits", "fold::opening_outside", "fold::panel_in_pieces", "fold::no_web"].contains(&faults[0].code), "{faults:?}");
                return Ok(());
            }
        };
        let region: &Region = &part.tree.panels()[0].region;
        let air = region.contours().len() - 2;
        let table = hole_table(&history, &part.settled.free, &part.tree, &part.blank);
        prop_assert_eq!(table.iter().map(|row| row.count).sum::<usize>(), air + 1);
        prop_assert_eq!(region.contours()[0].segments().len(), count);
        let holes: Vec<&Contour> = region.holes().collect();
        for (i, a) in holes.iter().enumerate() {
            for b in &holes[..i] {
                prop_assert!(kernel::geom::nearer_than(a, b, 1e-6).is_none());
            }
            let to_edge = if i == 0 { 0.0 } else { margin };
            prop_assert!(to_edge == 0.0 || kernel::geom::nearer_than(a, &region.contours()[0], to_edge - 1e-6).is_none());
        }
    }
}
