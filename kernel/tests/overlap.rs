//! Zones that need the same piece of the blank, however they lie on each other.

#[allow(dead_code, reason = "tests and benches use different parts")]
#[path = "../benches/parts.rs"]
mod parts;

use kernel::blank;
use kernel::dimension::{BlankSize, SheetNumbers, Skeleton, settle};
use kernel::fold::{self, FoldTree};
use kernel::geom::{Region, union};
use kernel::history::feature::Feature;
use kernel::history::{History, Profile};
use parts::{base, entry, flange, history, n};
use proptest::prelude::*;

fn tree(history: &History) -> Option<FoldTree> {
    let sheet = history.sheet.resolve().ok()?;
    let numbers = SheetNumbers::from(&sheet);
    let skeleton = Skeleton::new(history, numbers).ok()?;
    let settled = settle(history, &skeleton, numbers, BlankSize::default()).ok()?;
    fold::build(history, &skeleton, &settled.pose, &settled.free, &sheet).ok()
}

/// Area that all zones laid flat have together, and the area that they cover.
fn areas(tree: &FoldTree) -> [f64; 2] {
    let motions = tree.flat_motions();
    let panels = tree.panels().iter().zip(&motions).map(|(p, &m)| p.region.moved(m));
    let strips = tree.bends().iter().map(|b| b.region.moved(b.strip_motion(motions[b.parent.index()])));
    let zones: Vec<Region> = panels.chain(strips).collect();
    let covered = union(&zones).expect("plain polygons");
    [zones.iter().map(Region::area).sum(), covered.area()]
}

/// An arm of flanges that winds round the back left corner of a plate of 200 x 200 mm and comes back over it:
/// left along x, up past the back, `gap` mm behind it to the right, and down again.
fn arm(lengths: [f64; 4], gap: f64, tip: Option<f64>) -> History {
    let mut features = vec![base("top", Profile::rectangle(&n(200.0), &n(200.0)))];
    // Seen with the bend at the bottom, each one stands on the right side of the one before.
    let edges = ["top/left", "a/right", "b/right", "c/right"];
    for ((name, edge), length) in ["a", "b", "c", "d"].into_iter().zip(edges).zip(lengths) {
        let mut made = flange(&[edge], 90.0, length);
        if name == "c" {
            made.right.inset = n(gap);
        }
        features.push(entry(name, Feature::Flange(made)));
    }
    if let Some(length) = tip {
        features.push(entry("e", Feature::Flange(flange(&["d/tip"], 90.0, length))));
    }
    history(1.0, 1.0, 0.42, features)
}

fn codes(history: &History) -> Vec<&'static str> {
    let tree = tree(history).expect("every zone can be made");
    blank::unfold(&tree).err().unwrap_or_default().iter().map(|fault| fault.code).collect()
}

#[test]
fn a_panel_that_lies_wholly_in_another_one_is_an_overlap() {
    // The tip of the arm lies somewhere within the plate; its outline crosses no other one.
    let history = arm([40.0, 80.0, 150.0, 100.0], 30.0, Some(30.0));
    let [sum, covered] = areas(&tree(&history).expect("every zone can be made"));
    assert!(sum - covered > 30.0 * 30.0, "{sum} {covered}");
    assert_eq!(codes(&history), ["blank::overlap"]);
    // An arm that stops short of the plate is none.
    let short = arm([40.0, 80.0, 150.0, 20.0], 30.0, None);
    let [sum, covered] = areas(&tree(&short).expect("every zone can be made"));
    assert!((sum - covered).abs() < 1e-6, "{sum} {covered}");
    assert_eq!(codes(&short), Vec::<&str>::new());
}

proptest! {
    #![proptest_config(ProptestConfig { failure_persistence: None, ..ProptestConfig::with_cases(200) })]

    #[test]
    fn an_overlap_is_found_exactly_where_zones_cover_less_than_their_areas(
        lengths in [15.0..120.0_f64, 15.0..200.0, 15.0..250.0, 15.0..200.0],
        gap in 0.0..150.0_f64,
        tip in prop::option::of(10.0..60.0_f64),
    ) {
        let history = arm(lengths, gap, tip);
        let Some(tree) = tree(&history) else { return Ok(()) };
        let [sum, covered] = areas(&tree);
        let overlaps = sum - covered > 1e-3;
        let found = codes(&history).contains(&"blank::overlap");
        prop_assert_eq!(overlaps, found, "{} {}", sum, covered);
    }
}
