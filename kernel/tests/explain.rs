//! Explanations add up to the numbers that they explain.

#[allow(dead_code, reason = "tests and benches use different parts")]
#[path = "../benches/parts.rs"]
mod parts;
#[allow(dead_code, reason = "tests use different parts")]
mod random;

use kernel::history::feature::Feature;
use kernel::history::{DimensionEntry, DimensionKind, PanelName, Target};
use kernel::regenerate::{Part, regenerate};
use parts::{five_panel_cover, n, panel};
use proptest::prelude::*;

fn sum(part: &Part, history: &kernel::history::History, name: &str) -> (f64, f64) {
    let explanation = &part.explain(history, name).unwrap_or_else(|unknown| panic!("{unknown}"))[0];
    let total = explanation.total.as_ref().expect("a size is a sum").value;
    (explanation.steps.iter().map(|step| step.figure.value).sum(), total)
}

#[test]
fn a_clear_width_is_a_flat_and_two_radii() {
    let mut history = five_panel_cover();
    history.dimensions = vec![DimensionEntry {
        name: "over".to_owned(),
        kind: DimensionKind::Outside { a: panel("wall.left"), b: panel("wall.right") },
        target: Target::Measured,
        stays: None,
        span: None,
    }];
    let part = regenerate(&history).expect("it can be made");
    let explanation = &part.explain(&history, "over").expect("it is a dimension")[0];
    let steps: Vec<(&str, f64)> =
        explanation.steps.iter().map(|step| (step.what.as_str(), step.figure.value)).collect();
    let outer = part.tree.bends()[0].inside_radius() + part.tree.thickness();
    let [(first, a), (along, flat), (last, b)] = steps.as_slice() else { panic!("{steps:?}") };
    assert_eq!(
        [*first, *along, *last],
        ["over the bend of wall.left", "along face", "over the bend of wall.right"]
    );
    assert!((a - outer).abs() < 1e-9 && (b - outer).abs() < 1e-9, "{steps:?}");
    assert!((a + flat + b - part.settled.dimensions[0].got).abs() < 1e-9, "{steps:?}");
}

#[test]
fn a_name_that_two_numbers_have_explains_both() {
    let mut history = five_panel_cover();
    let over = |name: &str| DimensionEntry {
        name: name.to_owned(),
        kind: DimensionKind::Outside { a: panel("wall.left"), b: panel("wall.right") },
        target: Target::Measured,
        stays: None,
        span: None,
    };
    history.dimensions = vec![over("mass"), over("wall.left")];
    let part = regenerate(&history).expect("it can be made");
    for name in ["mass", "wall.left"] {
        let both = part.explain(&history, name).expect("there are two");
        let [dimension, other] = both.as_slice() else { panic!("{both:?}") };
        assert!(dimension.heading.contains("outside of"), "{}", dimension.heading);
        assert!(!other.heading.contains("outside of"), "{}", other.heading);
    }
}

#[test]
fn a_name_that_is_not_there_gets_the_names_that_are() {
    let history = five_panel_cover();
    let part = regenerate(&history).expect("it can be made");
    let unknown = part.explain(&history, "wall.lefd").expect_err("there is no such number");
    let finding = unknown.diagnose();
    assert_eq!(finding.code, "explain::unknown_number");
    assert_eq!(finding.hints[0], "did you mean `wall.left`?");
    assert!(finding.hints[1].contains("blank length"), "{:?}", finding.hints);
}

#[test]
fn a_check_is_explained_by_its_limit_and_source_whether_it_found_something_or_not() {
    let history = five_panel_cover();
    let part = regenerate(&history).expect("it can be made");
    for check in kernel::check::ALL {
        let explanation = &part.explain(&history, check.code).expect("every check can be explained")[0];
        assert!(
            explanation.sources[0].contains(check.limit) && explanation.sources[1].contains(check.source)
        );
    }
}

#[test]
fn findings_that_no_check_made_are_explained_and_those_of_the_bend_order_too() {
    // A tray deeper than any punch: its second wall meets the ram.
    let mut history = five_panel_cover();
    for feature in &mut history.features {
        if let Feature::Flange(flange) = &mut feature.feature {
            flange.length = n(400.0);
        }
    }
    let part = regenerate(&history).expect("it can be made");
    let explanation = &part.explain(&history, "brake::no_order").expect("it is found")[0];
    assert!(explanation.heading.starts_with("brake::no_order: 1 finding\n  no bend order works"));
    assert!(explanation.origin.is_some() && explanation.sources.is_empty());
    let plain = five_panel_cover();
    let part = regenerate(&plain).expect("it can be made");
    assert!(part.explain(&plain, "brake::no_order").is_err(), "nothing found, nothing known");
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 256, ..ProptestConfig::default() })]

    #[test]
    fn steps_add_up_for_random_parts(history in random::random_history(), pick in any::<prop::sample::Index>()) {
        let Ok(part) = regenerate(&history) else { return Ok(()) };
        let box_ = part.blank.bounding_box();
        for (name, wanted) in [("blank length", box_.width()), ("blank width", box_.height())] {
            let (steps, total) = sum(&part, &history, name);
            prop_assert!((steps - wanted).abs() < 1e-7 && (total - wanted).abs() < 1e-7, "{name}: {steps}, {wanted}");
        }
        // From the base panel to every panel that is parallel to another one.
        let names: Vec<PanelName> = part.tree.panels().iter().map(|panel| panel.name.clone()).collect();
        let a = pick.get(&names).clone();
        for b in names.iter().filter(|b| **b != a) {
            let mut measured = history.clone();
            measured.dimensions = vec![DimensionEntry {
                name: "across".to_owned(),
                kind: DimensionKind::Outside { a: a.clone(), b: b.clone() },
                target: Target::Measured,
                stays: None,
                span: None,
            }];
            let Ok(part) = regenerate(&measured) else { continue };
            let (steps, total) = sum(&part, &measured, "across");
            prop_assert!((steps - total).abs() < 1e-7, "{a} to {b}: {steps}, {total}");
        }
    }
}
