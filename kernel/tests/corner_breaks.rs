//! Which corners are broken, and how much metal that takes, by hand.

#[allow(dead_code, reason = "tests and benches use different parts")]
#[path = "../benches/parts.rs"]
mod parts;

use kernel::diag::Diagnostic;
use kernel::history::feature::{
    BreakShape, CornerBreak, CornerName, Corners, Feature, NotchSize, Pattern, Relief,
};
use kernel::history::{FeatureEntry, Profile, Shape};
use kernel::quantity::maths;
use kernel::regenerate::{Part, regenerate};
use parts::{base, cutout, entry, flange, history, n, panel};

/// A rectangle of 40 x 20 mm that is cut out of the middle of the front edge.
fn notch() -> FeatureEntry {
    let shape = Shape::Outline(Profile::rectangle(&n(40.0), &n(25.0)));
    let pattern = Pattern::At(vec![[n(80.0), n(-5.0)]]);
    entry("notch", Feature::Cutout(cutout("plate", shape, pattern)))
}

fn all_outer(name: &str, shape: BreakShape) -> FeatureEntry {
    entry(name, Feature::CornerBreak(CornerBreak { corners: Corners::AllOuter, shape }))
}

fn corner_names(corners: &[(&str, [&str; 2])]) -> Vec<CornerName> {
    let corner = |(on, between): &(&str, [&str; 2])| CornerName {
        panel: panel(on),
        between: between.map(str::to_owned),
    };
    corners.iter().map(corner).collect()
}

fn named(name: &str, corners: &[(&str, [&str; 2])], shape: BreakShape) -> FeatureEntry {
    let corners = Corners::Named(corner_names(corners));
    entry(name, Feature::CornerBreak(CornerBreak { corners, shape }))
}

fn all_outer_but(name: &str, corners: &[(&str, [&str; 2])], shape: BreakShape) -> FeatureEntry {
    let corners = Corners::AllOuterBut(corner_names(corners));
    entry(name, Feature::CornerBreak(CornerBreak { corners, shape }))
}

/// A plate of 200 x 100 mm with these features.
fn plate(features: Vec<FeatureEntry>) -> Result<Part, Vec<Diagnostic>> {
    let mut all = vec![base("plate", Profile::rectangle(&n(200.0), &n(100.0)))];
    all.extend(features);
    regenerate(&history(1.0, 1.0, 0.42, all))
}

fn area(features: Vec<FeatureEntry>) -> f64 {
    plate(features).expect("the part can be made").blank.region.area()
}

fn refusal(features: Vec<FeatureEntry>) -> (&'static str, String) {
    let fault = plate(features).expect_err("it cannot be made").remove(0);
    (fault.code, fault.message)
}

fn chamfer(size: f64) -> BreakShape {
    BreakShape::Chamfer(n(size))
}

fn assert_near(got: f64, wanted: f64) {
    assert!((got - wanted).abs() < 1e-9, "{got} instead of {wanted}");
}

#[test]
fn all_outer_corners_include_those_of_a_notch() {
    // Four corners of the plate and two beside the notch; its two inner corners turn the other way.
    let whole = 200.0 * 100.0 - 40.0 * 20.0;
    assert_near(area(vec![notch(), all_outer("soft", chamfer(4.0))]), whole - 6.0 * 8.0);
    // A square corner rounded with radius r loses r² (1 - π/4).
    let rounded = area(vec![notch(), all_outer("soft", BreakShape::Round(n(3.0)))]);
    assert_near(rounded, whole - 6.0 * 9.0 * (1.0 - 0.25 * maths::PI));
}

#[test]
fn corners_that_are_left_out_stay_sharp() {
    let front = [("plate", ["front", "left"]), ("plate", ["right", "front"])];
    let whole = 200.0 * 100.0 - 40.0 * 20.0;
    let got = area(vec![notch(), all_outer_but("soft", &front, chamfer(10.0))]);
    assert_near(got, whole - 4.0 * 50.0);
    // The notch is 20 mm deep, so that its own corners have no room for 40 mm; both go by one name.
    let (code, _) = refusal(vec![notch(), all_outer("soft", chamfer(40.0))]);
    assert_eq!(code, "fold::break_does_not_fit");
    let notched = [("plate", ["notch", "front"])];
    assert_near(area(vec![notch(), all_outer_but("soft", &notched, chamfer(40.0))]), whole - 4.0 * 800.0);
    let (code, message) = refusal(vec![all_outer_but("soft", &notched, chamfer(4.0))]);
    assert_eq!(code, "fold::no_such_corner");
    assert_eq!(message, "panel `plate` has no free corner between `notch` and `front`");
}

#[test]
fn a_corner_of_an_edge_and_a_cut_is_found_by_both_names() {
    let whole = 200.0 * 100.0 - 40.0 * 20.0;
    let one = |between| area(vec![notch(), named("soft", &[("plate", between)], chamfer(4.0))]);
    // Both ends of the notch have this name.
    assert_near(one(["front", "notch"]), whole - 2.0 * 8.0);
    assert_near(one(["notch", "front"]), whole - 2.0 * 8.0);
}

#[test]
fn corners_between_two_pieces_of_one_opening_can_be_named() {
    // A tongue of 20 x 10 mm stands into a window: both its corners turn outwards, but on no outline.
    let corners = [(0, 0), (60, 0), (60, 30), (40, 30), (40, 20), (20, 20), (20, 30), (0, 30)];
    let mut profile = Profile::rectangle(&n(1.0), &n(1.0));
    let line = profile.edges[0].clone();
    profile.edges = vec![line; corners.len()];
    profile.corners = corners.map(|(x, y)| [n(f64::from(x)), n(f64::from(y))]).to_vec();
    let window = || {
        let pattern = Pattern::At(vec![[n(60.0), n(40.0)]]);
        let shape = Shape::Outline(profile.clone());
        entry("window", Feature::Cutout(cutout("plate", shape, pattern)))
    };
    let whole = 200.0 * 100.0 - (60.0 * 30.0 - 20.0 * 10.0);
    let tongue = named("soft", &[("plate", ["window", "window"])], chamfer(3.0));
    assert_near(area(vec![window(), tongue]), whole - 2.0 * 4.5);
    assert_near(area(vec![window(), all_outer("soft", chamfer(3.0))]), whole - 4.0 * 4.5);
}

#[test]
fn a_second_break_goes_round_broken_corners_and_says_so_when_none_are_left() {
    let first = || named("nose", &[("plate", ["front", "left"])], chamfer(10.0));
    let whole = 200.0 * 100.0;
    assert_near(area(vec![first(), all_outer("soft", chamfer(4.0))]), whole - 50.0 - 3.0 * 8.0);
    let again = refusal(vec![first(), all_outer("soft", chamfer(4.0)), all_outer("more", chamfer(1.0))]);
    let message = "there is no outer corner left to break: they are broken already, by `nose`, `soft`";
    assert_eq!(again, ("fold::nothing_to_break", message.to_owned()));
    let twice = refusal(vec![first(), named("more", &[("plate", ["left", "front"])], chamfer(1.0))]);
    let message = "corner `plate/left+front` is broken already, by `nose`";
    assert_eq!(twice, ("fold::corner_broken_already", message.to_owned()));
}

#[test]
fn too_large_a_break_says_what_all_its_corners_have_room_for() {
    // Two corners share each edge of 100 mm: 50 mm is the most, and exactly that fits.
    let (code, message) = refusal(vec![all_outer("soft", chamfer(60.0))]);
    assert_eq!(code, "fold::break_does_not_fit");
    assert!(
        message.ends_with("10.001 mm too much, 49.999 mm is the most")
            || message.ends_with("10.000 mm too much, 50.000 mm is the most"),
        "{message}"
    );
    assert_near(area(vec![all_outer("soft", chamfer(50.0))]), 20_000.0 - 4.0 * 1250.0);
    // One corner alone has the whole edge.
    assert_near(
        area(vec![named("nose", &[("plate", ["front", "left"])], chamfer(100.0))]),
        20_000.0 - 5000.0,
    );
    // It uses up the edge to the next corner, which is then gone.
    let both = [("plate", ["front", "left"]), ("plate", ["left", "back"])];
    assert_eq!(refusal(vec![named("nose", &both, chamfer(100.0))]).0, "fold::break_does_not_fit");
}

#[test]
fn corners_beside_a_relief_are_broken_only_by_name() {
    let mut lip = flange(&["plate/front"], 90.0, 30.0);
    (lip.left.inset, lip.right.inset) = (n(40.0), n(40.0));
    lip.relief = Relief::Square(NotchSize { width: Some(n(4.0)), depth: Some(n(6.0)) });
    let lip = || entry("lip", Feature::Flange(lip.clone()));
    let made = |features: Vec<FeatureEntry>| area(features);
    let whole = made(vec![lip()]);
    // The plate's four corners and the lip's two.
    assert_near(made(vec![lip(), all_outer("soft", chamfer(2.0))]), whole - 6.0 * 2.0);
    assert_near(
        made(vec![lip(), named("soft", &[("plate", ["front", "lip"])], chamfer(2.0))]),
        whole - 2.0 * 2.0,
    );
}

#[test]
fn flange_ends_beside_a_seam_are_outer_corners() {
    let whole = |features: Vec<FeatureEntry>| area(features);
    let walls = || entry("wall", Feature::Flange(flange(&["plate/front", "plate/right"], 90.0, 30.0)));
    let cut = whole(vec![walls()]) - whole(vec![walls(), all_outer("soft", chamfer(2.0))]);
    // Two corners at each wall's tip, one of the plate; its other three end a bend.
    assert_near(cut, 5.0 * 2.0);
    let seam =
        named("soft", &[("wall.front", ["tip", "left"]), ("wall.right", ["right", "tip"])], chamfer(2.0));
    assert_near(whole(vec![walls()]) - whole(vec![walls(), seam]), 2.0 * 2.0);
}
