//! Bend orders of parts with a known answer, and planner against brute force.

#![allow(clippy::unwrap_used, reason = "a check stops at the first surprise, in its helping functions too")]

#[allow(dead_code, reason = "tests and benches use different parts")]
#[path = "../../benches/parts.rs"]
mod parts;

mod brute_force;
mod generator;
mod half_folded;

use kernel::brake::{Block, Dies, Drawn, Outcome, SettledBend, StepCosts, Tool, Trial, plan};
use kernel::history::feature::{Feature, FoldSide};
use kernel::history::{FeatureEntry, LimitSpec, Profile, ShopValue};
use kernel::regenerate::{Bending, Part, regenerate};
use kernel::solid::Zone;
use kernel::stock::{Die, Punch, Tooling};
use parts::{base, entry, flange, history, n};

fn made(features: Vec<FeatureEntry>) -> Part {
    regenerate(&history(2.0, 2.0, 0.44, features)).unwrap_or_else(|faults| panic!("{faults:?}"))
}

fn plate(length: f64, width: f64) -> FeatureEntry {
    base("base", Profile::rectangle(&n(length), &n(width)))
}

fn wall(name: &str, edge: &str, length: f64, side: FoldSide) -> FeatureEntry {
    let mut made = flange(&[edge], 90.0, length);
    made.side = side;
    entry(name, Feature::Flange(made))
}

/// A return of 15 mm that keeps off its neighbours.
fn inward(name: &str, edge: &str) -> FeatureEntry {
    let mut made = flange(&[edge], 90.0, 15.0);
    made.left.inset = n(6.0);
    made.right.inset = n(6.0);
    entry(name, Feature::Flange(made))
}

/// Names of the bends in their order.
fn order(part: &Part) -> Vec<String> {
    assert!(!part.bend_plan().steps.is_empty(), "{:#?}", part.bend_plan().findings);
    part.bend_table().iter().map(|row| row.name.to_string()).collect()
}

/// The same part with a shop that has one punch only.
fn with_punch(part: Part, name: &str) -> Part {
    let mut tooling = Tooling::default();
    tooling.punches.retain(|p| p.name == name);
    assert_eq!(tooling.punches.len(), 1);
    part.bent_with(Bending { tooling, ..Bending::default() })
}

fn cheapest(part: &Part) -> u32 {
    match &part.bend_plan().outcome {
        Outcome::Order { cost, bound, .. } => {
            assert_eq!(cost, bound, "not proven");
            *cost
        }
        other @ (Outcome::Impossible { .. } | Outcome::GivenUp { .. }) => panic!("{other:?}"),
    }
}

#[test]
fn a_wide_channel_is_pushed_through_with_one_move_of_the_gauge() {
    // Base 200 x 100, walls of 30. Turning the sheet costs 5, so it is pushed on instead and the gauge moved (3): a
    // wall lies at the gauge once, and once the rest of the blank.
    let part = made(vec![
        plate(200.0, 100.0),
        wall("left", "base/left", 30.0, FoldSide::Up),
        wall("right", "base/right", 30.0, FoldSide::Up),
    ]);
    assert_eq!(order(&part).len(), 2);
    assert_eq!(cheapest(&part), 3);
    // Outside length 30 less half of the deduction 3.476107: 28.261947; the blank is 260 less two deductions long,
    // 253.047786, so that the rest is 224.785840.
    let mut gauges: Vec<f64> = part.bend_plan().steps.iter().map(|s| s.setting.gauge.unwrap()).collect();
    gauges.sort_by(f64::total_cmp);
    // The first wall, once it stands, may be the stop in place of its edge: 200 between outer faces less a setback.
    assert!((gauges[0] - 28.261_947).abs() < 1e-5, "{gauges:?}");
    for step in &part.bend_plan().steps {
        assert_eq!((step.setting.punch.as_str(), step.setting.die.as_str()), ("straight", "V12"));
        // 90° / 0.99, DIN 6935 for DC01 at r = t.
        assert!((step.setting.turn_under_load_deg() - 90.909).abs() < 1e-3);
    }
}

/// A plate of 400 x 100 with tabs of 60 at both ends of one edge, on a brake of this length.
fn far_tabs(brake_length: f64) -> Part {
    let tab = |name: &str, left: f64, right: f64| {
        let mut made = flange(&["base/front"], 90.0, 30.0);
        made.left.inset = n(left);
        made.right.inset = n(right);
        entry(name, Feature::Flange(made))
    };
    let mut history =
        history(2.0, 2.0, 0.44, vec![plate(400.0, 100.0), tab("a", 0.0, 340.0), tab("b", 340.0, 0.0)]);
    let value = ShopValue::Number(brake_length);
    let name = "brake_length".to_owned();
    history.shop.push(LimitSpec { name, value, file: None, of_tools: false, span: None });
    regenerate(&history).unwrap_or_else(|faults| panic!("{faults:?}"))
}

#[test]
fn bends_on_one_line_are_made_together_as_far_as_the_brake_is_long() {
    for (brake_length, steps) in [(400.0, 1), (399.0, 2), (60.0, 2)] {
        assert_eq!(far_tabs(brake_length).bend_plan().steps.len(), steps, "{brake_length}");
    }
    let short = far_tabs(59.0);
    assert!(matches!(short.bend_plan().outcome, Outcome::Impossible { .. }));
    let finding = &short.bend_plan().findings[0];
    assert!(
        finding.hints.iter().any(|hint| hint.contains("`a`: it is longer than the brake")),
        "{finding:?}"
    );
}

/// A wave of so many bends, two up and two down, with flats of 50.
fn wave(bends: usize, turn: f64) -> Part {
    let mut features = vec![plate(60.0, 200.0)];
    for i in 0..bends {
        let edge = if i == 0 { "base/right".to_owned() } else { format!("w{}/tip", i - 1) };
        let mut made = flange(&[&edge], turn, 50.0);
        made.side = if i / 2 % 2 == 0 { FoldSide::Up } else { FoldSide::Down };
        features.push(entry(&format!("w{i}"), Feature::Flange(made)));
    }
    made(features)
}

#[test]
fn that_many_bends_have_no_order_is_proven_back_from_the_finished_part() {
    // A box of four walls, each with four returns, whose innermost lips no punch reaches.
    let mut features = vec![plate(300.0, 200.0)];
    let sides = ["front", "right", "back", "left"];
    for (level, length) in [60.0, 30.0, 15.0, 9.0, 9.0].into_iter().enumerate() {
        for side in sides {
            let edge = if level == 0 { format!("base/{side}") } else { format!("{side}{}/tip", level - 1) };
            let up = level == 0 || level > 2;
            let name = format!("{side}{level}");
            features.push(wall(&name, &edge, length, if up { FoldSide::Up } else { FoldSide::Down }));
        }
    }
    let part = regenerate(&history(1.5, 1.5, 0.44, features)).unwrap_or_else(|faults| panic!("{faults:?}"));
    let Outcome::Impossible { reached, backwards, dead_ends } = &part.bend_plan().outcome else {
        panic!("{:?}", part.bend_plan().outcome)
    };
    // No bend of the smallest set can have been its last one, with any tools: tried here one by one.
    assert!(*backwards && *reached > 0 && !dead_ends.is_empty());
    let tooling = Tooling::default();
    let costs = StepCosts::default();
    let mut trial = Trial::new(&part.tree, &part.sheet, &part.limits, &tooling, Dies::Narrower, costs);
    for end in dead_ends {
        let last = end.blocks[0].0.stroke;
        assert_eq!(end.blocks.len(), trial.choices(last).len());
        for choice in trial.choices(last) {
            assert!(trial.step(&end.done, &choice).is_err(), "{last}");
        }
    }
    assert!(part.bend_plan().obstacle.is_some());
}

#[test]
fn a_wave_of_twenty_bends_has_an_order_with_a_gap() {
    let part = wave(20, 20.0);
    let plan = part.bend_plan();
    let Outcome::Order { cost, bound, steps } = &plan.outcome else { panic!("{:?}", plan.outcome) };
    assert!(bound < cost && steps.len() == 20);
    let tooling = Tooling::default();
    let costs = StepCosts::default();
    let mut trial = Trial::new(&part.tree, &part.sheet, &part.limits, &tooling, Dies::Usual, costs);
    let mut done = Vec::new();
    for planned in steps {
        assert_eq!(trial.step(&done, &planned.choice).as_ref(), Ok(&planned.step));
        done.push(planned.choice.stroke);
    }
}

#[test]
fn a_z_is_turned_over_once() {
    let part = made(vec![
        plate(120.0, 80.0),
        wall("up", "base/left", 30.0, FoldSide::Up),
        wall("down", "base/right", 30.0, FoldSide::Down),
    ]);
    assert_eq!(order(&part).len(), 2);
    // Turned over about the bend line, so that the other wall lies at the gauge: nothing else changes.
    assert_eq!(cheapest(&part), 8);
}

#[test]
fn a_hat_keeps_its_brims_for_one_side_of_the_sheet() {
    let part = made(vec![
        plate(120.0, 100.0),
        wall("left", "base/left", 40.0, FoldSide::Up),
        wall("right", "base/right", 40.0, FoldSide::Up),
        wall("brim_left", "left/tip", 25.0, FoldSide::Down),
        wall("brim_right", "right/tip", 25.0, FoldSide::Down),
    ]);
    let order = order(&part);
    let side = |name: &str| name.starts_with("brim");
    let turns_over = order.windows(2).filter(|pair| side(&pair[0]) != side(&pair[1])).count();
    assert_eq!(turns_over, 1, "{order:?}");
}

#[test]
fn returns_are_bent_before_the_walls_they_stand_on() {
    let part = made(vec![
        plate(300.0, 200.0),
        wall("front", "base/front", 50.0, FoldSide::Up),
        wall("right", "base/right", 50.0, FoldSide::Up),
        wall("back", "base/back", 50.0, FoldSide::Up),
        wall("left", "base/left", 50.0, FoldSide::Up),
        inward("return_front", "front/tip"),
        inward("return_back", "back/tip"),
    ]);
    let order = order(&part);
    let place = |name: &str| order.iter().position(|n| n == name).unwrap_or_else(|| panic!("{order:?}"));
    assert!(place("return_front") < place("front") && place("return_back") < place("back"), "{order:?}");
}

/// Inside 40 mm wide, walls 60 mm high: the first wall's tip comes to 60 cos 45° - 40 cos 45°, about 14 mm, behind the
/// middle of the straight punch, which is 8 mm thick there.
fn deep_channel() -> Part {
    made(vec![
        plate(44.0, 150.0),
        wall("left", "base/left", 62.0, FoldSide::Up),
        wall("right", "base/right", 62.0, FoldSide::Up),
    ])
}

#[test]
fn a_deep_narrow_channel_needs_a_relieved_punch() {
    let straight = with_punch(deep_channel(), "straight");
    let Outcome::Impossible { dead_ends, .. } = &straight.bend_plan().outcome else {
        panic!("{:?}", straight.bend_plan().outcome)
    };
    // Proof: after either wall, the other one meets the punch whichever way it is laid.
    for end in dead_ends {
        // Over dies of 12, 10 and 8 mm.
        assert_eq!((end.done.len(), end.blocks.len()), (1, 6));
        for (_, block) in &end.blocks {
            assert!(matches!(block, Block::Tool { tool: Tool::Punch, zone: Zone::Panel(_) }), "{block:?}");
        }
    }
    assert_eq!(straight.bend_plan().findings[0].code, "brake::no_order");
    let relieved = with_punch(deep_channel(), "relieved");
    assert_eq!(order(&relieved).len(), 2);
    // With both at hand, one change of tools is dearer than to begin with the relieved one.
    let any = deep_channel();
    assert!(any.bend_plan().steps.iter().all(|s| s.setting.punch == "relieved"));
}

#[test]
fn an_order_that_cannot_be_is_refused_at_its_step() {
    let part = made(vec![
        plate(200.0, 120.0),
        wall("front", "base/front", 60.0, FoldSide::Up),
        wall("return", "front/tip", 25.0, FoldSide::Up),
        wall("inner", "return/tip", 12.0, FoldSide::Up),
    ]);
    let free = order(&part);
    let bend = |name: &str| part.bend_table().iter().find(|r| r.name.as_str() == name).unwrap().bend;
    let settled =
        |name: &str, place| SettledBend { bend: bend(name), place: Some(place), back: None, punch: None };
    let wished: Vec<SettledBend> =
        ["front", "return", "inner"].iter().zip(1..).map(|(name, place)| settled(name, place)).collect();
    let plan =
        plan(&part.tree, &part.sheet, &part.limits, &Tooling::default(), &wished, StepCosts::default());
    assert_ne!(free, ["front", "return", "inner"]);
    let Outcome::Impossible { dead_ends, .. } = &plan.outcome else { panic!("{:?}", plan.outcome) };
    assert!(plan.findings[0].message.contains("fails at step"), "{:?}", plan.findings);
    assert!(!dead_ends[0].blocks.is_empty() && plan.obstacle.is_some());
}

/// A scroll: a wall of 60 mm with a lip of 25 mm over the floor, and an edge of 12 mm on the lip.
fn scroll() -> Part {
    made(vec![
        plate(200.0, 120.0),
        wall("front", "base/front", 60.0, FoldSide::Up),
        wall("lip", "front/tip", 25.0, FoldSide::Up),
        wall("edge", "lip/tip", 12.0, FoldSide::Up),
    ])
}

#[test]
fn a_scroll_is_made_from_its_edge_inwards_and_in_no_other_order() {
    let part = scroll();
    let bend = |name: &str| part.bend_table().iter().find(|r| r.name.as_str() == name).unwrap().bend;
    let works = |order: &[&str; 3]| {
        let places = order.iter().zip(1..);
        let wished: Vec<SettledBend> = places
            .map(|(name, place)| SettledBend {
                bend: bend(name),
                place: Some(place),
                back: None,
                punch: None,
            })
            .collect();
        let tooling = Tooling::default();
        let plan = plan(&part.tree, &part.sheet, &part.limits, &tooling, &wished, StepCosts::default());
        matches!(plan.outcome, Outcome::Order { .. })
    };
    let all = [
        ["front", "lip", "edge"],
        ["front", "edge", "lip"],
        ["lip", "front", "edge"],
        ["lip", "edge", "front"],
        ["edge", "front", "lip"],
        ["edge", "lip", "front"],
    ];
    let working: Vec<&[&str; 3]> = all.iter().filter(|order| works(order)).collect();
    assert_eq!(working, [&["edge", "lip", "front"]]);
    assert_eq!(order(&part), ["edge", "lip", "front"]);
}

#[test]
fn forces_beyond_brake_and_tools_are_told_just_beyond_and_not_just_within() {
    let part = || made(vec![plate(200.0, 100.0), wall("left", "base/left", 30.0, FoldSide::Up)]);
    let force = part().bend_plan().steps[0].setting.force.unwrap().most;
    // 1 + 4 t / V = 1.6667 is above 1.597; 1.6667 · 410 · 4 · 100 / 12 = 22 777.8 N on 100 mm of DC01.
    assert!((force - 22.7778).abs() < 1e-3, "{force}");
    let per_metre = 10.0 * force;
    let told = |change: &dyn Fn(&mut Tooling)| -> Vec<&'static str> {
        let mut tooling = Tooling::default();
        change(&mut tooling);
        let part = part().bent_with(Bending { tooling, ..Bending::default() });
        part.bend_plan().findings.iter().map(|finding| finding.code).collect()
    };
    for (off, brake, tool) in [
        (1.0 - 1e-9, vec!["brake::too_much_force"], vec!["brake::tool_overloaded"]),
        (1.0 + 1e-9, vec![], vec![]),
    ] {
        assert_eq!(told(&|t| t.brake.force_kn = force * off), brake);
        assert_eq!(told(&|t| t.punches.iter_mut().for_each(|p| p.most_kn_per_m = per_metre * off)), tool);
        assert_eq!(told(&|t| t.dies.iter_mut().for_each(|d| d.most_kn_per_m = per_metre * off)), tool);
    }
}

#[test]
fn tools_that_do_not_stand_the_force_are_taken_only_where_nothing_else_serves() {
    let channel = |punches: &[&str]| {
        let mut tooling = Tooling::default();
        tooling.punches.retain(|p| punches.contains(&p.name.as_str()));
        // 227.8 kN a metre are needed over 12 mm, more over narrower dies.
        tooling.punches.iter_mut().filter(|p| p.name == "relieved").for_each(|p| p.most_kn_per_m = 200.0);
        deep_channel().bent_with(Bending { tooling, ..Bending::default() })
    };
    let plain = || made(vec![plate(200.0, 100.0), wall("left", "base/left", 30.0, FoldSide::Up)]);
    let mut tooling = Tooling::default();
    tooling.punches[0].most_kn_per_m = 200.0;
    // The die in front stands less than one that is alike.
    let at = tooling.dies.iter().position(|die| die.name == "V12").unwrap();
    let weak = Die { name: "weak V12".to_owned(), most_kn_per_m: 100.0, ..tooling.dies[at].clone() };
    tooling.dies.insert(at, weak);
    let part = plain().bent_with(Bending { tooling, ..Bending::default() });
    let plan = part.bend_plan();
    let setting = &plan.steps[0].setting;
    assert_eq!([setting.punch.as_str(), setting.die.as_str()], ["relieved", "V12"]);
    assert!(plan.findings.is_empty(), "{:?}", plan.findings);
    // Only the relieved one reaches into the channel: it is told once, with both bends.
    let part = channel(&["straight", "relieved"]);
    let plan = part.bend_plan();
    assert!(plan.steps.iter().any(|step| step.setting.punch == "relieved"));
    let [finding] = plan.findings.as_slice() else { panic!("{:?}", plan.findings) };
    assert_eq!(finding.code, "brake::tool_overloaded");
    assert!(
        finding.message.starts_with("punch `relieved` stands 200 kN a metre; the bend"),
        "{}",
        finding.message
    );
}

#[test]
fn bends_that_are_made_together_need_the_force_of_their_sheet_only() {
    // Two tabs of 40 mm, 120 mm apart on one edge: one stroke of 200 mm, force of 80 mm.
    let tab = |name: &str, left: f64, right: f64| {
        let mut made = flange(&["base/front"], 90.0, 30.0);
        made.left.inset = n(left);
        made.right.inset = n(right);
        entry(name, Feature::Flange(made))
    };
    let part = made(vec![plate(200.0, 100.0), tab("one", 0.0, 160.0), tab("two", 160.0, 0.0)]);
    let plan = part.bend_plan();
    let [step] = plan.steps.as_slice() else { panic!("{:?}", plan.steps.len()) };
    assert_eq!((step.bends.len(), step.setting.tool_length), (2, 200.0));
    // 1.42 · 340 · 4 · 80 / 12 = 12 874.7 N.
    assert!((step.setting.bend_length - 80.0).abs() < 1e-9, "{}", step.setting.bend_length);
    assert!((step.setting.force.unwrap().likely - 12.8747).abs() < 1e-3, "{:?}", step.setting.force);
}

#[test]
fn a_punch_far_down_the_list_is_found_and_one_in_front_is_preferred() {
    let mut tooling = Tooling::default();
    let straight = tooling.punches.iter().find(|p| p.name == "straight").unwrap().clone();
    let relieved = tooling.punches.iter().find(|p| p.name == "relieved").unwrap().clone();
    tooling.punches = (0..6).map(|i| Punch { name: format!("straight {i}"), ..straight.clone() }).collect();
    tooling.punches.push(relieved);
    let last = deep_channel().bent_with(Bending { tooling: tooling.clone(), ..Bending::default() });
    // The first bend would do with a straight one, but for the change of tools.
    assert!(last.bend_plan().steps.iter().all(|s| s.setting.punch == "relieved"));
    let plain = made(vec![plate(200.0, 100.0), wall("left", "base/left", 30.0, FoldSide::Up)]);
    let plain = plain.bent_with(Bending { tooling, ..Bending::default() });
    assert_eq!(plain.bend_plan().steps[0].setting.punch, "straight 0");
    assert_eq!(plain.bend_plan().cost, [0, 0]);
}

#[test]
fn a_wall_higher_than_its_channel_is_wide_leans_over_the_bend_below_the_ram() {
    // Inside 116 mm wide, walls 130 mm high inside: the tip of the first wall comes (130 - 116) / √2 = 9.9 mm over the
    // middle of the bend, (130 + 116) / √2 = 174 mm over it, where the ram of punches of 150 mm is.
    let trough = || {
        made(vec![
            plate(120.0, 150.0),
            wall("left", "base/left", 132.0, FoldSide::Up),
            wall("right", "base/right", 132.0, FoldSide::Up),
        ])
    };
    for (name, is_made) in [("straight", false), ("relieved", false), ("acute", false), ("tall", true)] {
        let part = with_punch(trough(), name);
        assert_eq!(!part.bend_plan().steps.is_empty(), is_made, "{name}");
    }
    assert!(trough().bend_plan().steps.iter().all(|s| s.setting.punch == "tall"));
}

#[test]
fn the_finger_in_the_picture_stands_where_the_gauge_is() {
    // A Z whose first wall hangs down at the gauge: the finger holds its outer face below the die's top.
    let part = made(vec![
        plate(120.0, 80.0),
        wall("up", "base/left", 30.0, FoldSide::Up),
        wall("down", "base/right", 30.0, FoldSide::Down),
    ]);
    for step in &part.bend_plan().steps {
        let gauge = step.picture.outlines.iter().find(|o| o.of == Drawn::Tool(Tool::Gauge)).unwrap();
        let distance = step.setting.gauge.unwrap();
        let face = gauge.corners.iter().map(|p| p.x).fold(f64::INFINITY, f64::min);
        assert!((face - distance).abs() < 1e-9, "{face} {distance}");
        let [low, high] = gauge
            .corners
            .iter()
            .fold([f64::INFINITY, f64::NEG_INFINITY], |[low, high], p| [low.min(p.y), high.max(p.y)]);
        assert!((high - low - 12.0).abs() < 1e-9, "a finger is 12 mm high");
        match step.setting.gauge_at {
            // Half way up the sheet of 2 mm.
            Some(Zone::Panel(_)) => assert!((0.5 * (low + high) - 1.0).abs() < 1e-9),
            // Beyond the axis of a bend of outer radius 4 that goes the other way.
            Some(Zone::Bend(_)) => assert!((high - (2.0 - 4.0)).abs() < 1e-9),
            other => panic!("{other:?}"),
        }
    }
}

#[test]
fn a_short_web_is_bent_over_a_narrower_die_where_the_usual_one_leaves_no_room() {
    // A Z of 2 mm with a web of 15 mm outside: 15 - 3.476 = 11.5 mm between the bend lines, so that the first bend
    // begins 9.3 mm from the second one. The die of V 12 reaches 6 + 5.2 = 11.2 mm out, that of V 8 only 8.8 mm.
    let part = made(vec![
        plate(120.0, 80.0),
        wall("web", "base/left", 15.0, FoldSide::Up),
        wall("brim", "web/tip", 40.0, FoldSide::Down),
    ]);
    assert_eq!(order(&part).len(), 2);
    assert!(
        part.bend_plan().steps.iter().any(|s| s.setting.die != "V12"),
        "{:?}",
        part.bend_plan().steps.len()
    );
    // Where there is room, the usual one is taken.
    let wide = made(vec![
        plate(120.0, 80.0),
        wall("web", "base/left", 30.0, FoldSide::Up),
        wall("brim", "web/tip", 40.0, FoldSide::Down),
    ]);
    assert!(wide.bend_plan().steps.iter().all(|s| s.setting.die == "V12"));
}
