//! Blanks on a stock sheet, and what a part costs: laws over random outlines, figures by hand, and small cases
//! against every possible packing.

#![allow(clippy::unwrap_used, reason = "a check stops at the first surprise, in its helping functions too")]

#[path = "../benches/parts.rs"]
#[allow(dead_code, reason = "benches and tests use different parts")]
mod parts;

use kernel::brake::SettledBend;
use kernel::cost::{CostFault, Nesting, Rates, Room, ToolChanges, nest};
use kernel::geom::{Contour, Point2, Segment, Tag, Vec2, nearer_than};
use kernel::history::feature::{Feature, FlangeEnd, FoldSide, Hem, HemForm, HemSpec};
use kernel::history::{EdgeName, Profile, RatesSpec, SheetCharge, StockSheetSpec, StockSizeSpec};
use kernel::quantity::{maths, tolerance};
use kernel::regenerate::{Bending, Part, regenerate};
use kernel::stock::{Grain, Tooling};
use parts::n;
use proptest::prelude::*;

fn room(sides: [f64; 2], margin: f64, gap: f64, grain: Grain) -> Room {
    let size = StockSizeSpec::Mm(sides);
    Room::of(&StockSheetSpec { size, gap, span: None }, margin, grain).unwrap()
}

fn polygon(points: &[[f64; 2]]) -> Contour {
    let points: Vec<Point2> = points.iter().map(|&[x, y]| Point2::new(x, y)).collect();
    Contour::polygon(&points, Tag(0)).unwrap()
}

fn nested(outline: &Contour, room: &Room) -> Nesting {
    nest(outline, outline.signed_area(), room)
}

/// All lie within the margins, no two come nearer than the gap, and there are no fewer than rectangles.
fn assert_sound(outline: &Contour, nesting: &Nesting) {
    let room = &nesting.room;
    let placed: Vec<Contour> = nesting.placed.iter().map(|p| outline.moved(p.motion)).collect();
    let (margin, gap) = (room.margin.to_mm(), room.gap.to_mm());
    let near = 2.0 * tolerance::SNAP_MM;
    for contour in &placed {
        let bounds = contour.bounding_box();
        assert!(bounds.min.x >= margin - near && bounds.min.y >= margin - near, "{bounds:?}");
        assert!(bounds.max.x <= room.sheet.width.to_mm() - margin + near, "{bounds:?}");
        assert!(bounds.max.y <= room.sheet.height.to_mm() - margin + near, "{bounds:?}");
    }
    for (i, a) in placed.iter().enumerate() {
        for b in &placed[i + 1..] {
            // Equal figures that do not meet lie beside each other: none fits into another one.
            if let Some(approach) = nearer_than(a, b, gap - tolerance::SNAP_MM) {
                panic!("{approach:?} where {gap} mm were asked");
            }
        }
    }
    assert!(placed.len() >= nesting.rectangles, "{} of {}", placed.len(), nesting.rectangles);
    #[expect(clippy::cast_precision_loss, reason = "a few blanks")]
    let area = placed.len() as f64 * outline.signed_area();
    assert!((nesting.share - area / room.sheet.area()).abs() < 1e-12 && nesting.share < 1.0);
}

/// Corners around a point, with an arc from every second one to the next.
fn star(radii: &[f64], bulge: f64, turn: f64) -> Contour {
    let count = radii.len();
    #[expect(clippy::cast_precision_loss, reason = "a handful of corners")]
    let corner = |i: usize| {
        Point2::ORIGIN + Vec2::unit(turn + maths::TAU * (i % count) as f64 / count as f64) * radii[i % count]
    };
    let piece = |i: usize| {
        let (a, b) = (corner(i), corner(i + 1));
        let via = a.midpoint(b) + (b - a).right() * bulge;
        let arc = if i.is_multiple_of(2) { Segment::arc_through(a, via, b, Tag(0)) } else { None };
        arc.unwrap_or_else(|| Segment::line(a, b, Tag(0)))
    };
    Contour::new((0..count).map(piece).collect()).unwrap()
}

/// A bar with teeth to both sides, so that figures hook into each other.
fn comb(depths: &[f64]) -> Contour {
    let mut points = vec![[0.0, 0.0]];
    let mut x = 0.0;
    for pair in depths.chunks_exact(2) {
        points.extend([[x + 6.0, 0.0], [x + 6.0, -pair[0]], [x + 10.0, -pair[0]], [x + 10.0, 0.0]]);
        x += 14.0;
    }
    points.push([x, 0.0]);
    points.push([x, 8.0]);
    for pair in depths.chunks_exact(2).rev() {
        points.extend([[x - 3.0, 8.0], [x - 3.0, 8.0 + pair[1]], [x - 9.0, 8.0 + pair[1]], [x - 9.0, 8.0]]);
        x -= 14.0;
    }
    points.push([0.0, 8.0]);
    polygon(&points)
}

fn outlines() -> impl Strategy<Value = Contour> {
    let radius = || prop_oneof![Just(40.0), 15.0..80.0_f64];
    let stars =
        (proptest::collection::vec(radius(), 3..9), -0.15..0.25_f64, prop_oneof![Just(0.0), 0.0..6.0_f64])
            .prop_map(|(radii, bulge, turn)| star(&radii, bulge, turn));
    let combs = proptest::collection::vec(1.0..40.0_f64, 2..8).prop_map(|depths| comb(&depths));
    let frames = (60.0..200.0_f64, 60.0..200.0_f64, 5.0..29.0_f64).prop_map(|(w, h, t)| {
        // A channel: a pocket that only a lift would reach.
        polygon(&[[0.0, 0.0], [w, 0.0], [w, h], [w - t, h], [w - t, t], [t, t], [t, h], [0.0, h]])
    });
    let ells = (60.0..200.0_f64, 60.0..200.0_f64, 5.0..50.0_f64, 5.0..50.0_f64)
        .prop_map(|(w, h, a, b)| polygon(&[[0.0, 0.0], [w, 0.0], [w, a], [b, a], [b, h], [0.0, h]]));
    prop_oneof![stars, combs, frames, ells]
}

proptest! {
    #[test]
    fn no_two_blanks_come_nearer_than_the_gap_and_all_lie_within_the_margins(
        outline in outlines(),
        width in 150.0..700.0_f64,
        height in 150.0..500.0_f64,
        margin in prop_oneof![Just(0.0), 0.0..20.0_f64],
        gap in prop_oneof![Just(0.01), Just(5.0), 0.1..12.0_f64],
        grain in prop_oneof![Just(Grain::Any), Just(Grain::AlongX), Just(Grain::AlongY)],
    ) {
        let room = room([width, height], margin, gap, grain);
        let nesting = nested(&outline, &room);
        assert_sound(&outline, &nesting);
        let long_along_x = width > height;
        let allowed = |turns: u8| match grain {
            Grain::Any => true,
            Grain::AlongX => turns.is_multiple_of(2) == long_along_x,
            Grain::AlongY => turns.is_multiple_of(2) != long_along_x,
        };
        prop_assert!(nesting.placed.iter().all(|p| allowed(p.quarter_turns)));
    }
}

#[test]
fn squares_lie_in_straight_rows() {
    let square = polygon(&[[0.0, 0.0], [100.0, 0.0], [100.0, 100.0], [0.0, 100.0]]);
    // 980 = 9 · 100 + 8 · 5 + 40 and 480 = 4 · 100 + 3 · 5 + 65.
    let nesting = nested(&square, &room([1000.0, 500.0], 10.0, 5.0, Grain::Any));
    assert_eq!((nesting.placed.len(), nesting.rectangles), (36, 36));
    assert!((nesting.share - 0.72).abs() < 1e-12);
    assert_sound(&square, &nesting);
    // Just not enough for the second column, and just enough.
    let count = |width| nested(&square, &room([width, 110.0], 0.0, 5.0, Grain::Any)).placed.len();
    assert_eq!((count(204.999), count(205.0)), (1, 2));
}

#[test]
fn the_grain_forbids_the_turn_that_gives_more() {
    let strip = polygon(&[[0.0, 0.0], [300.0, 0.0], [300.0, 100.0], [0.0, 100.0]]);
    let count = |grain| nested(&strip, &room([520.0, 310.0], 5.0, 1.0, grain)).placed.len();
    // Upright 5 · 1, lying 1 · 2.
    assert_eq!((count(Grain::Any), count(Grain::AlongX), count(Grain::AlongY)), (5, 2, 5));
    assert_eq!(nested(&strip, &room([290.0, 90.0], 5.0, 1.0, Grain::Any)).placed.len(), 0);
}

#[test]
fn triangles_lie_hypotenuse_to_hypotenuse() {
    let triangle = polygon(&[[0.0, 0.0], [100.0, 0.0], [0.0, 100.0]]);
    // A pair is 100 + 5 √2 wide, the next one begins 5 mm later: 112.07. In 580 five pairs need 555.4.
    let nesting = nested(&triangle, &room([600.0, 120.0], 10.0, 5.0, Grain::Any));
    assert_eq!((nesting.placed.len(), nesting.rectangles), (10, 5));
    assert_sound(&triangle, &nesting);
    let needed = 5.0 * (105.0 + 5.0 * 2.0_f64.sqrt()) - 5.0;
    let count = |width| nested(&triangle, &room([width, 100.0], 0.0, 5.0, Grain::Any)).placed.len();
    assert_eq!((count(needed - 1e-3), count(needed + 1e-6)), (9, 10));
}

#[test]
fn crosses_lie_between_each_other_in_every_second_row() {
    // Arms 40 long and 30 wide: beside a row of pitch 111, arms of the next row go into spaces of 81.
    let cross = polygon(&[
        [40.0, 0.0],
        [70.0, 0.0],
        [70.0, 40.0],
        [110.0, 40.0],
        [110.0, 70.0],
        [70.0, 70.0],
        [70.0, 110.0],
        [40.0, 110.0],
        [40.0, 70.0],
        [0.0, 70.0],
        [0.0, 40.0],
        [40.0, 40.0],
    ]);
    // A row is 71 above the one before: 110 + 4 · 71 = 394 where rectangles take 3 · 110 + 2 = 332.
    let nesting = nested(&cross, &room([332.0, 394.0], 0.0, 1.0, Grain::AlongY));
    assert_sound(&cross, &nesting);
    assert_eq!((nesting.placed.len(), nesting.rectangles), (13, 9));
}

/// Cells of a figure.
type Cells = Vec<[usize; 2]>;

/// The most figures that lie on a board of cells, by trying everything: the first free cell is filled in every way
/// or left empty.
fn most_on_board(figures: &[Cells], [width, height]: [usize; 2]) -> usize {
    fn go(figures: &[Cells], size: [usize; 2], taken: &mut [bool], from: usize) -> usize {
        let Some(at) = (from..taken.len()).find(|&i| !taken[i]) else { return 0 };
        let (x, y) = (at % size[0], at / size[0]);
        let mut best = go(figures, size, taken, at + 1);
        for figure in figures {
            // The figure's first cell in reading order lies on the free one.
            let first = figure[0];
            let cells: Option<Vec<usize>> = figure
                .iter()
                .map(|cell| {
                    let (x, y) = ((x + cell[0]).checked_sub(first[0])?, y + cell[1]);
                    (x < size[0] && y < size[1] && !taken[y * size[0] + x]).then_some(y * size[0] + x)
                })
                .collect();
            if let Some(cells) = cells {
                cells.iter().for_each(|&c| taken[c] = true);
                best = best.max(1 + go(figures, size, taken, at + 1));
                cells.iter().for_each(|&c| taken[c] = false);
            }
        }
        best
    }
    go(figures, [width, height], &mut vec![false; width * height], 0)
}

/// A bar of cells with one more cell upon its first one, in four turns, each in reading order.
fn turned_ells(length: usize) -> Vec<Cells> {
    let plain: Cells = (0..length).map(|x| [x, 0]).chain([[0, 1]]).collect();
    let turn = |cells: &Cells| -> Cells {
        let highest = cells.iter().map(|c| c[1]).max().unwrap();
        cells.iter().map(|c| [highest - c[1], c[0]]).collect()
    };
    let mut turned = vec![plain];
    for i in 0..3 {
        turned.push(turn(&turned[i]));
    }
    for cells in &mut turned {
        cells.sort_by_key(|c| (c[1], c[0]));
    }
    turned
}

#[test]
fn small_ells_against_every_packing() {
    // Cells of 10 mm, half a millimetre off every side: figures of neighbouring cells are 1 mm apart.
    let mut best_reached = 0;
    for length in [2_usize, 3] {
        #[expect(clippy::cast_precision_loss, reason = "2 or 3")]
        let bar = 10.0 * length as f64 - 0.5;
        let outline = polygon(&[[0.5, 0.5], [bar, 0.5], [bar, 9.5], [9.5, 9.5], [9.5, 19.5], [0.5, 19.5]]);
        let figures = turned_ells(length);
        for width in 2..=6_usize {
            for height in 2..=5_usize {
                #[expect(clippy::cast_precision_loss, reason = "a few cells")]
                let sides = [10.0 * width as f64, 10.0 * height as f64];
                let nesting = nested(&outline, &room(sides, 0.5, 1.0, Grain::Any));
                assert_sound(&outline, &nesting);
                let most = most_on_board(&figures, [width, height]);
                assert!(nesting.placed.len() <= most, "{length} on {width} x {height}");
                // Two of them fill a rectangle of 2 by one more than their length; boards of such are filled.
                let [a, b] = [2, length + 1];
                if (width % a == 0 && height % b == 0) || (width % b == 0 && height % a == 0) {
                    assert_eq!(nesting.placed.len(), most, "{length} on {width} x {height}");
                    best_reached += 1;
                }
            }
        }
    }
    assert!(best_reached >= 8, "{best_reached}");
}

fn rates() -> RatesSpec {
    RatesSpec {
        currency: "EUR".to_owned(),
        material_per_kg: Some(2.0),
        cut_speed: Some(3.0),
        cutting_per_hour: Some(90.0),
        per_pierce: Some(0.1),
        per_bend: Some(0.5),
        per_tool_change: Some(6.0),
        per_batch: Some(40.0),
        batch_size: Some(10),
        ..RatesSpec::default()
    }
}

#[test]
fn the_price_of_a_plate_by_hand() {
    let mut history = parts::perforated_plate(3, 2);
    history.rates = Some(rates());
    let part = regenerate(&history).unwrap();
    let estimate = part.estimate(&history);
    let (work, price) = (estimate.work, estimate.price.unwrap());
    let size = part.blank.bounding_box();
    assert_eq!((work.pierces, work.bends, work.bumps), (7, 1, 0));
    assert_eq!(work.tool_changes, ToolChanges::Planned(0));
    assert!((work.rectangle_mm2 - size.width() * size.height()).abs() < 1e-9);
    // 90 an hour at 3 m a minute: 0.50 a metre.
    let by_hand = 2.0 * part.sheet.mass_of_area_kg(work.rectangle_mm2)
        + 0.5 * part.blank.cut_length() / 1000.0
        + 7.0 * 0.1
        + 0.5
        + 40.0 / 10.0;
    assert!((price.total() - by_hand).abs() < 1e-12, "{} against {by_hand}", price.total());
    assert_eq!(price.lines.len(), 6);
    assert_eq!(estimate.nesting, None);
}

#[test]
fn a_share_of_the_sheet_is_charged_by_what_the_sheet_gives() {
    let mut history = parts::perforated_plate(3, 2);
    history.rates = Some(RatesSpec {
        currency: "EUR".to_owned(),
        material_per_kg: Some(2.0),
        charge: SheetCharge::Sheet,
        ..RatesSpec::default()
    });
    assert_eq!(regenerate(&history).unwrap_err()[0].code, "cost::no_stock_sheet");
    let sheet = |size| Some(StockSheetSpec { size, gap: 5.0, span: None });
    history.stock_sheet = sheet(StockSizeSpec::Usual("small".to_owned()));
    let part = regenerate(&history).unwrap();
    let estimate = part.estimate(&history);
    let nesting = estimate.nesting.unwrap();
    #[expect(clippy::cast_precision_loss, reason = "a few blanks")]
    let by_hand = 2.0 * part.sheet.mass_of_area_kg(2e6) / nesting.placed.len() as f64;
    assert!(nesting.placed.len() > 1 && (estimate.price.unwrap().total() - by_hand).abs() < 1e-12);
    // A sheet that is too small: a fault, nothing placed, no price.
    history.stock_sheet = sheet(StockSizeSpec::Mm([40.0, 30.0]));
    let part = regenerate(&history).unwrap();
    assert_eq!(part.findings.first().map(|f| f.code), Some("check::sheet_size"));
    assert_eq!(part.estimate(&history).price, None);
}

#[test]
fn a_hem_needs_two_sets_of_tools_and_two_strokes() {
    let history = parts::five_panel_cover();
    let plain = regenerate(&history).unwrap().estimate(&history).work;
    assert_eq!((plain.bends, plain.strokes, plain.tool_changes), (4, 4, ToolChanges::Planned(0)));
    let end = || FlangeEnd { inset: n(0.0), taper: n(0.0) };
    for (walls, bends, strokes) in [(&["front"][..], 5, 6), (&["front", "back"], 6, 8)] {
        let mut history = history.clone();
        let hem = HemSpec {
            edges: walls.iter().map(|wall| EdgeName::new(&format!("wall.{wall}/tip")).unwrap()).collect(),
            form: HemForm::Closed { length: n(12.0), k_factor: None },
            side: FoldSide::Up,
            left: end(),
            right: end(),
        };
        history.features.push(parts::entry("hem", Feature::Hem(Hem::from(hem))));
        let made = regenerate(&history).unwrap();
        let hemmed = made.estimate(&history).work;
        // Hems are begun with acute tools and closed between flats, and the walls are bent after them.
        assert_eq!((hemmed.bends, hemmed.strokes), (bends, strokes));
        assert_eq!(hemmed.tool_changes, ToolChanges::Planned(2));
        let without = without_punches(made).estimate(&history).work;
        assert_eq!(without.tool_changes, ToolChanges::ByRadii(2));
    }
}

/// The same part in a shop that has no punch, so that there is no bend order.
fn without_punches(part: Part) -> Part {
    let tooling = Tooling { punches: Vec::new(), ..Tooling::default() };
    part.bent_with(Bending { tooling, ..Bending::default() })
}

#[test]
fn tool_changes_are_those_of_the_bend_order_where_there_is_one() {
    // Three walls of one radius, so that the rule knows of no change. The middle one is settled to another punch: made
    // last or first it takes one change, between the others two.
    let wall =
        |name: &str, edge: &str| parts::entry(name, Feature::Flange(parts::flange(&[edge], 90.0, 30.0)));
    let features = vec![
        parts::base("base", Profile::rectangle(&n(120.0), &n(80.0))),
        wall("left", "base/left"),
        wall("front", "base/front"),
        wall("right", "base/right"),
    ];
    let mut history = parts::history(2.0, 2.0, 0.44, features);
    history.rates = Some(rates());
    let tooling = Tooling::default();
    let punch = |name: &str| tooling.punches.iter().position(|punch| punch.name == name);
    let [straight, acute] = ["straight", "acute"].map(punch);
    assert!(straight.is_some() && acute.is_some());
    for (places, wanted) in [([None; 3], 1), ([Some(1), Some(2), Some(3)], 2)] {
        let part = regenerate(&history).unwrap();
        let bends = part.tree.bends().iter().map(|bend| bend.id);
        let settled = bends.zip(places).zip([straight, acute, straight]);
        let settled = settled.map(|((bend, place), punch)| SettledBend { bend, place, back: None, punch });
        let settled = settled.collect();
        let part = part.bent_with(Bending { settled, ..Bending::default() });
        let estimate = part.estimate(&history);
        assert_eq!(
            estimate.work.tool_changes,
            ToolChanges::Planned(wanted),
            "{:?}",
            part.bend_plan().outcome
        );
        let price = estimate.price.unwrap();
        let line = price.lines.iter().find(|line| line.what == "tool changes").unwrap();
        // A batch of 10 shares them.
        assert!((line.quantity - 0.1 * f64::from(u32::try_from(wanted).unwrap())).abs() < 1e-12);
    }
    let estimate = without_punches(regenerate(&history).unwrap()).estimate(&history);
    assert_eq!(estimate.work.tool_changes, ToolChanges::ByRadii(0));
    assert!(estimate.price.unwrap().lines.iter().any(|line| line.what == "tool changes by inside radii"));
}

#[test]
fn rates_that_cannot_be_are_refused() {
    let fault = |change: fn(&mut RatesSpec)| {
        let mut spec = rates();
        change(&mut spec);
        Rates::of(&spec).unwrap_err()
    };
    let below = fault(|r| r.per_bend = Some(-0.1));
    assert_eq!(below, CostFault::Rate { rate: "per_bend", got: -0.1, wanted: "a number of 0 or more" });
    assert!(matches!(fault(|r| r.per_batch = Some(f64::NAN)), CostFault::Rate { rate: "per_batch", .. }));
    assert!(matches!(fault(|r| r.cut_speed = Some(0.0)), CostFault::Rate { rate: "cut_speed", .. }));
    assert!(matches!(fault(|r| r.batch_size = Some(0)), CostFault::Rate { rate: "batch_size", .. }));
    assert_eq!(fault(|r| r.cut_per_m = Some(1.0)), CostFault::CutRate { twice: true });
    assert_eq!(fault(|r| r.cut_speed = None), CostFault::CutRate { twice: false });
}
