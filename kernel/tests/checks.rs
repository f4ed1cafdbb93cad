//! Every check just inside its limit, just outside, and at it.

#[allow(dead_code, reason = "tests and benches use different parts")]
#[path = "../benches/parts.rs"]
mod parts;

use kernel::diag::Severity;
use kernel::history::feature::{Cutout, Feature, HeldFace, Pattern, XFrom};
use kernel::history::{Profile, Shape};
use kernel::regenerate::regenerate;
use parts::{base, entry, flange, history, n, panel};

/// Codes and messages for two holes of 10 mm in 2 mm sheet, whose edges are `distance` and 50 mm from where
/// the bend starts.
fn findings_at(distance: f64) -> Vec<(&'static str, String)> {
    let mut wall = flange(&["plate/front"], 90.0, 30.0);
    wall.holds = HeldFace::BendStart;
    let holes = Cutout {
        panel: panel("plate"),
        shape: Shape::Circle { diameter: n(10.0) },
        pattern: Pattern::At(vec![[n(50.0), n(5.0 + distance)], [n(70.0), n(55.0)]]),
        x_from: XFrom::Left,
    };
    let part = regenerate(&history(
        2.0,
        2.0,
        0.4,
        vec![
            base("plate", Profile::rectangle(&n(100.0), &n(80.0))),
            entry("wall", Feature::Flange(wall)),
            entry("holes", Feature::Cutout(holes)),
        ],
    ))
    .expect("the part can be made");
    assert!(part.findings.iter().all(|f| f.severity == Severity::Warning && f.origins[0].name == "holes"));
    part.findings.into_iter().map(|f| (f.code, f.message)).collect()
}

#[test]
fn hole_near_bend_warns_below_two_thicknesses_only() {
    // Limit: 2 t = 4 mm from the start of the bend (fabrication guide, seen).
    assert_eq!(findings_at(4.0), []);
    assert_eq!(findings_at(4.01), []);
    let found = findings_at(3.99);
    assert_eq!(found.len(), 1);
    assert_eq!(found[0].0, "check::hole_near_bend");
    assert_eq!(
        found[0].1,
        "an opening in panel `plate` is 3.99 mm from the bend of `wall`, at least 4.00 mm is usual"
    );
}

#[test]
fn hole_near_bend_sees_notches_too() {
    // A notch from the left edge, 1 mm above the start of the bend.
    let mut wall = flange(&["plate/front"], 90.0, 30.0);
    wall.holds = HeldFace::BendStart;
    let notch = Cutout {
        panel: panel("plate"),
        shape: Shape::Outline(Profile::rectangle(&n(20.0), &n(10.0))),
        pattern: Pattern::At(vec![[n(-5.0), n(1.0)]]),
        x_from: XFrom::Left,
    };
    let part = regenerate(&history(
        2.0,
        2.0,
        0.4,
        vec![
            base("plate", Profile::rectangle(&n(100.0), &n(80.0))),
            entry("wall", Feature::Flange(wall)),
            entry("notch", Feature::Cutout(notch)),
        ],
    ))
    .expect("the part can be made");
    let messages: Vec<_> = part.findings.iter().map(|f| f.message.as_str()).collect();
    assert_eq!(
        messages,
        ["an opening in panel `plate` is 1.00 mm from the bend of `wall`, at least 4.00 mm is usual"]
    );
}
