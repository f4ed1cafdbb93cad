//! Openings of whole covers against hazards: at, just under and just over each limit, by holes, seams, open sides and
//! the gap that a plate leaves.

#![allow(clippy::unwrap_used, reason = "a check stops at the first surprise, in its helping functions too")]

#[allow(dead_code, reason = "tests and benches use different parts")]
#[path = "../benches/parts.rs"]
mod parts;

use kernel::geom::Vec3;
use kernel::guard::{Judged, Judgement, OpeningKind};
use kernel::guarding::{BARRIERS, Filling, LOWER_LIMBS, Outcome, POINT_OF_OPERATION, UPPER_LIMBS};
use kernel::history::feature::{Feature, Pattern};
use kernel::history::{
    FloorSpec, GuardRule, GuardingSpec, History, NeighbourEntry, NeighbourSpec, Profile, RiskSpec, Shape,
    Stand,
};
use kernel::quantity::Length;
use kernel::regenerate::{Part, regenerate};
use parts::{base, cutout, entry, five_panel_cover, flange, history, n, perforated_plate};

/// So little beside a limit, in mm.
const BESIDE: f64 = 1e-3;

fn block(name: &str, at: [f64; 3], size: [f64; 3], hazard: bool) -> NeighbourEntry {
    let stand = Stand { at, along: [0.0, 0.0, 1.0], across: None };
    NeighbourEntry {
        name: name.to_owned(),
        kind: NeighbourSpec::Block { stand, size },
        clearance: None,
        hazard: Some(hazard),
        bolted: false,
        travel: None,
        turning: None,
        span: None,
    }
}

/// The part with one hazard, a block of 20 mm on its bottom `at`.
fn against(mut part: History, rule: GuardRule, at: Vec3<f64>) -> Part {
    part.neighbours.push(block("cutter", [at.x, at.y, at.z], [20.0, 20.0, 20.0], true));
    part.guarding = Some(GuardingSpec { rule, risk: RiskSpec::High, floor: None, span: None });
    regenerate(&part).unwrap()
}

fn of_kind(judged: &Judged, kind: OpeningKind) -> Judgement {
    let found = judged.openings.iter().find(|judged| judged.opening.kind == kind).unwrap();
    found.judgements[0].clone()
}

/// Moves the hazard along the way to it until it is exactly so far away, and a little more or less, and says what the
/// table finds. Along its shortest way the distance of convex bodies grows by what they are moved.
fn around_the_limit(part: &History, rule: GuardRule, kind: OpeningKind, start: Vec3<f64>) -> [Outcome; 3] {
    let first = of_kind(against(part.clone(), rule, start).judged.as_ref().unwrap(), kind);
    let needs = first.verdict.needs().unwrap().to_mm();
    let way = first.reach.to - first.reach.from;
    let unit = way.times(1.0 / way.length());
    [-BESIDE, 0.0, BESIDE].map(|more| {
        let at = start + unit.times(needs - first.reach.distance + more);
        let found = of_kind(against(part.clone(), rule, at).judged.as_ref().unwrap(), kind);
        assert_eq!(found.verdict.needs().unwrap().to_mm(), needs);
        let got = found.reach.distance;
        assert!((got - needs - more).abs() < 1e-6, "{got} against {needs} and {more}");
        found.outcome()
    })
}

const AT_THE_LIMIT: [Outcome; 3] = [Outcome::Fails, Outcome::Passes, Outcome::Passes];

fn plate(shape: Shape) -> History {
    let window = cutout("plate", shape, Pattern::At(vec![[n(400.0), n(300.0)]]));
    let outline = Profile::rectangle(&n(800.0), &n(600.0));
    history(2.0, 2.0, 0.4, vec![base("plate", outline), entry("window", Feature::Cutout(window))])
}

fn round(diameter: f64) -> History {
    plate(Shape::Circle { diameter: n(diameter) })
}

fn slot(width: f64, length: f64) -> History {
    plate(Shape::Slot { width: n(width), length: n(length), direction: n(0.0) })
}

fn needs(part: &History, rule: GuardRule) -> Option<f64> {
    let part = against(part.clone(), rule, Vec3::new(400.0, 300.0, 30.0));
    of_kind(part.judged.as_ref().unwrap(), OpeningKind::Hole).verdict.needs().map(Length::to_mm)
}

#[test]
fn holes_at_every_limit_of_iso_13857() {
    let start = Vec3::new(400.0, 300.0, 30.0);
    for row in UPPER_LIMBS {
        let e = row.up_to_mm;
        let rule = GuardRule::Iso13857Arms;
        assert_eq!(needs(&round(e), rule), Some(row.round_mm));
        assert_eq!(needs(&round(e - BESIDE), rule), Some(row.round_mm));
        assert_eq!(needs(&slot(e, e + 150.0), rule), Some(row.slot_mm));
        let over =
            UPPER_LIMBS.iter().find(|next| next.over_mm >= e).map(|next| (next.round_mm, next.slot_mm));
        assert_eq!(needs(&round(e + BESIDE), rule), over.map(|(round, _)| round));
        assert_eq!(needs(&slot(e + BESIDE, e + 150.0), rule), over.map(|(_, slot)| slot));
        for part in [round(e), slot(e, e + 150.0)] {
            assert_eq!(around_the_limit(&part, rule, OpeningKind::Hole, start), AT_THE_LIMIT, "{row:?}");
        }
    }
    for row in LOWER_LIMBS {
        let (e, rule) = (row.up_to_mm, GuardRule::Iso13857Legs);
        assert_eq!(needs(&round(e), rule), Some(row.square_or_round_mm));
        assert_eq!(needs(&round(e - BESIDE), rule), Some(row.square_or_round_mm));
        let over = LOWER_LIMBS.iter().find(|next| next.over_mm >= e).map(|next| next.square_or_round_mm);
        assert_eq!(needs(&round(e + BESIDE), rule), over);
        // Toes are stopped at once by the smallest openings.
        if row.square_or_round_mm > 0.0 {
            assert_eq!(around_the_limit(&round(e), rule, OpeningKind::Hole, start), AT_THE_LIMIT, "{row:?}");
        }
    }
}

#[test]
fn holes_at_every_limit_of_table_o_10() {
    let start = Vec3::new(400.0, 300.0, 30.0);
    for row in POINT_OF_OPERATION {
        let widest = Length::inch(row.widest_in).to_mm();
        let part = slot(widest, widest + 100.0);
        let got = needs(&part, GuardRule::Cfr1910_217).unwrap();
        assert!((got - Length::inch(row.from_in).to_mm()).abs() < 1e-9, "{row:?}");
        assert_eq!(
            around_the_limit(&part, GuardRule::Cfr1910_217, OpeningKind::Hole, start),
            AT_THE_LIMIT,
            "{row:?}"
        );
    }
}

#[test]
fn seams_at_every_limit_that_a_seam_can_have() {
    for row in UPPER_LIMBS.iter().filter(|row| row.up_to_mm <= 12.0) {
        let mut part = five_panel_cover();
        for entry in &mut part.features {
            if let Feature::Flange(flange) = &mut entry.feature {
                flange.corner_gap = n(row.up_to_mm);
            }
        }
        // Inside, so that its nearest seam is that at the origin's corner.
        let start = Vec3::new(60.0, 50.0, 20.0);
        let first = of_kind(
            against(part.clone(), GuardRule::Iso13857Arms, start).judged.as_ref().unwrap(),
            OpeningKind::Seam,
        );
        assert!((first.shape.narrow().to_mm() - row.up_to_mm).abs() < 1e-6);
        // A seam of 56.5 mm is a short slot where the table has such.
        assert_eq!(first.verdict.needs().unwrap().to_mm(), row.slot_mm, "{row:?}");
        assert_eq!(
            around_the_limit(&part, GuardRule::Iso13857Arms, OpeningKind::Seam, start),
            AT_THE_LIMIT,
            "{row:?}"
        );
    }
}

/// A plate with two walls of 200 mm that meet at a corner with this gap.
fn cornered(gap: f64) -> History {
    let wall = |edge: &str| {
        let mut made = flange(&[edge], 90.0, 200.0);
        made.corner_gap = n(gap);
        Feature::Flange(made)
    };
    let features = vec![
        base("plate", Profile::rectangle(&n(500.0), &n(400.0))),
        entry("front", wall("plate/front")),
        entry("side", wall("plate/right")),
    ];
    history(2.0, 2.0, 0.44, features)
}

/// What the table finds of the opening of this kind at its limit and beside it: for each size the distance that it
/// needs, or none.
fn needs_of(part: &History, rule: GuardRule, kind: OpeningKind, hazard: Vec3<f64>) -> Option<f64> {
    let part = against(part.clone(), rule, hazard);
    of_kind(part.judged.as_ref().unwrap(), kind).verdict.needs().map(Length::to_mm)
}

#[test]
fn wide_seams_at_every_limit_of_both_codes() {
    // Sides of 200 − 3.5 mm are long slots in both tables.
    let inside = Vec3::new(300.0, 200.0, 80.0);
    let kind = OpeningKind::Seam;
    let iso = UPPER_LIMBS.iter().map(|row| (GuardRule::Iso13857Arms, row.up_to_mm, row.slot_mm));
    let osha = POINT_OF_OPERATION.iter().map(|row| {
        let [widest, from] = [row.widest_in, row.from_in].map(|inch| Length::inch(inch).to_mm());
        (GuardRule::Cfr1910_217, widest, from)
    });
    let limits: Vec<(GuardRule, f64, f64)> = iso.chain(osha).collect();
    for (index, &(rule, e, wanted)) in limits.iter().enumerate() {
        for gap in [e - BESIDE, e] {
            assert_eq!(needs_of(&cornered(gap), rule, kind, inside), Some(wanted), "{rule:?} {gap}");
        }
        let next = limits.get(index + 1).filter(|next| next.0 == rule).map(|next| next.2);
        assert_eq!(needs_of(&cornered(e + BESIDE), rule, kind, inside), next, "{rule:?} over {e}");
        assert_eq!(around_the_limit(&cornered(e), rule, kind, inside), AT_THE_LIMIT, "{rule:?} {e}");
    }
}

/// A box whose open side is clear by this width.
fn trough(clear: f64) -> History {
    let walls = flange(&["floor/front", "floor/right", "floor/back", "floor/left"], 90.0, 40.0);
    let features = vec![
        base("floor", Profile::rectangle(&n(400.0), &n(clear + 3.0))),
        entry("wall", Feature::Flange(walls)),
    ];
    history(1.5, 2.0, 0.44, features)
}

#[test]
fn open_sides_at_every_limit_that_an_open_side_can_have() {
    // Nothing narrower can be bent. The hazard stands above, so that its way starts in the open side.
    let above = Vec3::new(200.0, 8.0, 60.0);
    let kind = OpeningKind::OpenSide;
    for row in UPPER_LIMBS.iter().filter(|row| row.up_to_mm >= 8.0) {
        let (rule, e) = (GuardRule::Iso13857Arms, row.up_to_mm);
        for clear in [e - BESIDE, e] {
            let part = against(trough(clear), rule, above);
            let found = of_kind(part.judged.as_ref().unwrap(), kind);
            assert!((found.shape.narrow().to_mm() - clear).abs() < 1e-6, "{found:?}");
            assert_eq!(found.verdict.needs().map(Length::to_mm), Some(row.slot_mm), "{clear}");
        }
        let next = UPPER_LIMBS.iter().find(|next| next.over_mm >= e).map(|next| next.slot_mm);
        assert_eq!(needs_of(&trough(e + BESIDE), rule, kind, above), next, "over {e}");
        assert_eq!(around_the_limit(&trough(e), rule, kind, above), AT_THE_LIMIT, "{row:?}");
    }
}

#[test]
fn holes_and_seams_at_every_limit_of_table_o_12() {
    // A cover is sheet with holes: perforated metal. Under 4 in 1/2 in, from 4 in 2 in (state copy of the table,
    // seen), beyond that no row.
    let rule = GuardRule::Cfr1910_219;
    let rows: Vec<_> = BARRIERS.iter().filter(|row| row.filling == Filling::PerforatedMetal).collect();
    assert_eq!(rows.len(), 2);
    let above = Vec3::new(400.0, 300.0, 30.0);
    let inside = Vec3::new(300.0, 200.0, 80.0);
    for (index, row) in rows.iter().enumerate() {
        let e = Length::inch(row.widest_in.unwrap()).to_mm();
        let [wanted, next] = [Some(*row), rows.get(index + 1).copied()]
            .map(|row| row.map(|row| Length::inch(row.from_in).to_mm()));
        for size in [e - BESIDE, e] {
            assert_eq!(needs(&round(size), rule), wanted);
            assert_eq!(needs(&slot(size, size + 150.0), rule), wanted);
            assert_eq!(needs_of(&cornered(size), rule, OpeningKind::Seam, inside), wanted);
        }
        assert_eq!(needs(&round(e + BESIDE), rule), next);
        assert_eq!(needs(&slot(e + BESIDE, e + 150.0), rule), next);
        assert_eq!(needs_of(&cornered(e + BESIDE), rule, OpeningKind::Seam, inside), next);
        // Whatever is small enough may be right before the hazard.
        if wanted > Some(0.0) {
            for part in [round(e), slot(e, e + 150.0)] {
                assert_eq!(around_the_limit(&part, rule, OpeningKind::Hole, above), AT_THE_LIMIT, "{row:?}");
            }
            let seam = around_the_limit(&cornered(e), rule, OpeningKind::Seam, inside);
            assert_eq!(seam, AT_THE_LIMIT, "{row:?}");
        }
    }
    // Around 2 in No. 14 sheet, 5/64 in, is the thinnest.
    for (thickness, outcome) in [(1.985, Outcome::Passes), (1.984, Outcome::NotCovered)] {
        let mut part = round(Length::inch(2.0).to_mm());
        part.sheet.thickness = kernel::history::ThicknessSpec::Mm(thickness);
        let part = against(part, rule, Vec3::new(400.0, 300.0, 5000.0));
        let found = of_kind(part.judged.as_ref().unwrap(), OpeningKind::Hole);
        assert_eq!(found.verdict.outcome, outcome, "{}", found.verdict);
    }
    let widest = Length::inch(2.0).to_mm();
    let part = against(round(widest + BESIDE), rule, Vec3::new(400.0, 300.0, 5000.0));
    assert_eq!(of_kind(part.judged.as_ref().unwrap(), OpeningKind::Hole).outcome(), Outcome::NotCovered);
}

/// A plate before the open side of the cover, so far away.
fn closed_to(gap: f64) -> History {
    let mut part = five_panel_cover();
    part.neighbours.push(block("mount", [155.0, 95.0, 58.5 + gap], [500.0, 400.0, 10.0], false));
    part
}

#[test]
fn gaps_at_a_mounting_plate_are_slots_of_every_width() {
    let at = Vec3::new(155.0, 95.0, 20.0);
    for row in UPPER_LIMBS {
        // The outline may have arcs, so that a hundredth is added to be safe.
        for (gap, more) in [(row.up_to_mm - 0.02, false), (row.up_to_mm + BESIDE, true)] {
            let part = against(closed_to(gap), GuardRule::Iso13857Arms, at);
            let found = of_kind(part.judged.as_ref().unwrap(), OpeningKind::OpenSide);
            let width = found.shape.narrow().to_mm();
            assert_eq!(found.beside.as_deref(), Some("mount"));
            assert!(gap - 1e-9 <= width && width <= gap + 0.01 + 1e-9, "{width} against {gap}");
            if !more {
                assert_eq!(found.verdict.needs().unwrap().to_mm(), row.slot_mm, "{row:?}");
            } else if let Some(next) = UPPER_LIMBS.iter().find(|next| next.over_mm >= row.up_to_mm) {
                assert_eq!(found.verdict.needs().unwrap().to_mm(), next.slot_mm, "{row:?}");
            } else {
                assert_eq!(found.outcome(), Outcome::ByReachOver);
            }
        }
    }
    let part = against(closed_to(0.0), GuardRule::Iso13857Arms, at);
    let judged = part.judged.as_ref().unwrap();
    let side = judged.openings.iter().find(|o| o.opening.kind == OpeningKind::OpenSide).unwrap();
    assert_eq!((side.closed, side.judgements.len()), (1, 0));
}

#[test]
fn several_plates_close_an_open_side_together() {
    // Two plates 3 mm before the rim of a box of 310 x 190, each over more than half of it; then as much apart.
    let with = |apart: f64| {
        let mut part = five_panel_cover();
        for (name, x) in [("left", -250.0 - 0.5 * apart), ("right", 250.0 + 0.5 * apart)] {
            part.neighbours.push(block(name, [155.0 + x, 95.0, 61.5], [500.0, 400.0, 10.0], false));
        }
        let at = Vec3::new(155.0, 95.0, 20.0);
        let made = against(part, GuardRule::Iso13857Arms, at);
        let judged = made.judged.unwrap();
        of_kind(&judged, OpeningKind::OpenSide).shape.narrow().to_mm()
    };
    // Where they overlap, the gap is 3 mm on either side of the chord between them.
    let together = with(-10.0);
    assert!((3.0..=6.0 + 0.02).contains(&together), "{together}");
    // A gap between them is never told narrower than it is.
    for apart in [2.0, 8.0, 20.0, 60.0] {
        let width = with(apart);
        assert!(width >= apart, "{width} against {apart}");
    }
}

#[test]
fn a_row_of_plates_closes_an_open_side_wherever_it_is_slid_to() {
    // Nine plates 3 mm before the rim, each 10 mm over the next one, more than are tried as the main one. Both of two
    // neighbours are 3 mm away along a chord between them, wherever they overlap.
    for slide in 0..50 {
        let mut part = five_panel_cover();
        for plate in 0..9 {
            let x = 50.0 * f64::from(plate) - f64::from(slide);
            let name = format!("plate_{plate}");
            part.neighbours.push(block(&name, [x, 95.0, 61.5], [60.0, 400.0, 10.0], false));
        }
        let made = against(part, GuardRule::Iso13857Arms, Vec3::new(155.0, 95.0, 20.0));
        let found = of_kind(made.judged.as_ref().unwrap(), OpeningKind::OpenSide);
        let width = found.shape.narrow().to_mm();
        assert!((3.0..=6.0 + 0.02).contains(&width), "slid by {slide}: {width}");
    }
}

/// What blocks of 10 mm, each from a corner to another one and so high over the sheet, leave of a window of 100 mm from
/// (400, 300) to (500, 400) towards a hazard behind them: how wide the gap is, none where it is closed.
fn left_of_window(blocks: &[[[f64; 2]; 2]], height: f64) -> Option<f64> {
    let mut part = plate(Shape::Outline(Profile::rectangle(&n(100.0), &n(100.0))));
    for (index, [low, high]) in blocks.iter().enumerate() {
        let middle = [0.5 * (low[0] + high[0]), 0.5 * (low[1] + high[1]), height];
        let size = [high[0] - low[0], high[1] - low[1], 10.0];
        part.neighbours.push(block(&format!("block_{index}"), middle, size, false));
    }
    let made = against(part, GuardRule::Iso13857Arms, Vec3::new(450.0, 350.0, 200.0));
    let judged = made.judged.unwrap();
    let hole = judged.openings.iter().find(|judged| judged.opening.kind == OpeningKind::Hole).unwrap();
    assert_eq!(hole.closed + hole.judgements.len(), 1);
    hole.judgements.first().map(|judgement| judgement.shape.narrow().to_mm())
}

/// Blocks that butt at these places along x, and, for each of them, at these along y.
fn tiles(columns: &[f64], rows: &[&[f64]]) -> Vec<[[f64; 2]; 2]> {
    let mut found = Vec::new();
    for (x, rows) in columns.windows(2).zip(rows) {
        found.extend(rows.windows(2).map(|y| [[x[0], y[0]], [x[1], y[1]]]));
    }
    found
}

/// Along a chord between two blocks that butt, both are as far away as one block is from the outline. Told is the
/// stretch with least to spare: where chords lead down to a place that three blocks have in common, nothing may be left.
fn assert_closed_by(blocks: &[[[f64; 2]; 2]]) {
    assert_eq!(left_of_window(blocks, 0.0), None, "{blocks:?}");
    for height in [0.5, 8.0] {
        let width = left_of_window(blocks, height).unwrap();
        assert!(width <= 2.0 * height + 0.01 + 1e-6, "{width} by {blocks:?}");
    }
}

/// Blocks reach from here to there along both sides.
const LOW: f64 = 200.0;
const HIGH: f64 = 700.0;

#[test]
fn blocks_that_butt_close_a_window_wherever_they_meet() {
    // Places every 5 mm begin at the corner, x = 400: most of these lie between two of them.
    let side: &[f64] = &[LOW, HIGH];
    for slide in 0..12 {
        let x = 447.0 + 0.83 * f64::from(slide);
        assert_closed_by(&tiles(&[LOW, x, HIGH], &[side; 2]));
        assert_closed_by(&tiles(&[LOW, x - 31.4, x, x + 1.2, HIGH], &[side; 4]));
    }
}

#[test]
fn blocks_that_meet_at_one_place_close_a_window() {
    let side: &[f64] = &[LOW, HIGH];
    for slide in 0..12 {
        let (x, y) = (438.0 + 1.7 * f64::from(slide), 361.0 - 2.3 * f64::from(slide));
        let halves: &[f64] = &[LOW, y, HIGH];
        // Three at a place, four at a place, and two such places.
        assert_closed_by(&tiles(&[LOW, x, HIGH], &[side, halves]));
        assert_closed_by(&tiles(&[LOW, x, HIGH], &[halves; 2]));
        assert_closed_by(&tiles(&[LOW, x - 21.3, x, HIGH], &[halves; 3]));
        assert_closed_by(&tiles(&[LOW, x, HIGH], &[&[LOW, y - 13.0, y + 4.1, HIGH], side]));
        // A block that no place of the outline is near to.
        let thirds: &[f64] = &[LOW, y - 10.0, y + 9.0, HIGH];
        assert_closed_by(&tiles(&[LOW, x - 10.3, x + 11.9, HIGH], &[thirds; 3]));
    }
}

#[test]
fn a_gap_among_four_blocks_is_never_told_narrower_than_it_is() {
    // A cross of this width is open between the blocks. Its middle is √½ as far away from each of them.
    for apart in [0.3, 1.0, 4.0, 11.0] {
        let (x, y, half) = (452.3, 346.1, 0.5 * apart);
        let blocks = [
            [[LOW, LOW], [x - half, y - half]],
            [[x + half, LOW], [HIGH, y - half]],
            [[LOW, y + half], [x - half, HIGH]],
            [[x + half, y + half], [HIGH, HIGH]],
        ];
        let width = left_of_window(&blocks, 0.0).unwrap();
        assert!((apart..=2.0_f64.sqrt() * apart + 0.01 + 1e-6).contains(&width), "{width} against {apart}");
        // Without one of them, its quarter is open.
        let quarter = left_of_window(&blocks[..3], 0.0).unwrap();
        assert!(quarter >= 47.0 - half, "{quarter}");
    }
}

#[test]
fn open_side_is_judged_by_reaching_over_its_lowest_edge() {
    // The rim lies 58.5 above the origin. The hazard stands beside the box, its bottom on the same level: seen from
    // above its nearest side is at y = 290, and the mouths of the seams reach to the outer face of the wall, 191.5.
    let mut part = five_panel_cover();
    part.neighbours.push(block("cutter", [155.0, 300.0, 58.5], [20.0, 20.0, 20.0], true));
    let floor = Some(FloorSpec { up: [0.0, 0.0, 2.0], below: 1341.5 });
    let spec = |risk| GuardingSpec { rule: GuardRule::Iso13857Arms, risk, floor, span: None };
    for (risk, wanted) in [(RiskSpec::Low, 900.0), (RiskSpec::High, 1100.0)] {
        part.guarding = Some(spec(risk));
        let made = regenerate(&part).unwrap();
        let found = of_kind(made.judged.as_ref().unwrap(), OpeningKind::OpenSide);
        let over = found.over.unwrap();
        assert!((over.got.to_mm() - 98.5).abs() < 1e-6, "{over:?}");
        // Barrier 1400, hazard 1400 to 1420, between the rows 1400 and 1600 (tables 1 and 2).
        assert_eq!((over.outcome, over.needs.unwrap().to_mm()), (Outcome::Fails, wanted));
    }
}

#[test]
fn metal_in_the_way_is_told() {
    // A wall down from the plate's front edge stands between the window and what lies beyond it.
    let window = cutout("plate", Shape::Circle { diameter: n(8.0) }, Pattern::At(vec![[n(100.0), n(30.0)]]));
    let outline = Profile::rectangle(&n(200.0), &n(100.0));
    let part = history(
        1.5,
        1.5,
        0.4,
        vec![
            base("plate", outline),
            entry("wall", Feature::Flange(flange(&["plate/front"], 90.0, 60.0))),
            entry("window", Feature::Cutout(window)),
        ],
    );
    for (y, blocked) in [(-60.0, true), (60.0, false)] {
        let at = Vec3::new(100.0, y, 20.0);
        let found = of_kind(
            against(part.clone(), GuardRule::Iso13857Arms, at).judged.as_ref().unwrap(),
            OpeningKind::Hole,
        );
        assert_eq!(found.is_blocked, blocked, "{y}");
    }
}

#[test]
fn nearest_of_thousands_of_holes_counts() {
    let mut part = perforated_plate(100, 50);
    let [x, y] = [18.0 + 8.0 * 40.0, 18.0 + 8.0 * 20.0];
    // The bottom of the block is 20 wide around a hole's middle, so that the way is straight up.
    part.neighbours.push(block("fan", [x, y, 35.0], [20.0, 20.0, 20.0], true));
    let spec = GuardingSpec { rule: GuardRule::Iso13857Arms, risk: RiskSpec::High, floor: None, span: None };
    part.guarding = Some(spec);
    let made = regenerate(&part).unwrap();
    let found = of_kind(made.judged.as_ref().unwrap(), OpeningKind::Hole);
    assert_eq!(found.places, 5000);
    assert!((found.reach.distance - 35.0).abs() < 1e-9, "{found:?}");
}
