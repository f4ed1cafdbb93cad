//! Every check just inside its limit, just outside, and at it.

#[allow(dead_code, reason = "tests and benches use different parts")]
#[path = "../benches/parts.rs"]
mod parts;

use kernel::diag::Severity;
use kernel::history::feature::{Feature, HeldFace, Pattern};
use kernel::history::{Profile, Shape};
use kernel::regenerate::regenerate;
use parts::{base, cutout, entry, flange, history, n};

/// Codes and messages for openings in a plate of 2 mm with one bend that starts at y = 0.
fn findings(shape: Shape, places: &[[f64; 2]]) -> Vec<(&'static str, String)> {
    let mut wall = flange(&["plate/front"], 90.0, 30.0);
    wall.holds = HeldFace::BendStart;
    let pattern = Pattern::At(places.iter().map(|[x, y]| [n(*x), n(*y)]).collect());
    let openings = cutout("plate", shape, pattern);
    let part = regenerate(&history(
        2.0,
        2.0,
        0.4,
        vec![
            base("plate", Profile::rectangle(&n(100.0), &n(80.0))),
            entry("wall", Feature::Flange(wall)),
            entry("openings", Feature::Cutout(openings)),
        ],
    ))
    .expect("the part can be made");
    assert!(part.findings.iter().all(|f| f.severity == Severity::Warning && f.origins[0].name == "openings"));
    part.findings.into_iter().map(|f| (f.code, f.message)).collect()
}

#[test]
fn hole_near_bend_warns_below_two_thicknesses_only() {
    // Limit: 2 t = 4 mm from the start of the bend (fabrication guide, seen). One hole is far away.
    let at = |distance: f64| {
        findings(Shape::Circle { diameter: n(10.0) }, &[[50.0, 5.0 + distance], [70.0, 55.0]])
    };
    assert_eq!(at(4.0), []);
    assert_eq!(at(4.01), []);
    let message = "an opening in panel `plate` is 3.99 mm from the bend of `wall`, at least 4.00 mm is usual";
    assert_eq!(at(3.99), [("check::hole_near_bend", message.to_owned())]);
}

#[test]
fn hole_near_bend_sees_notches_too() {
    // A notch from the left edge, 1 mm above the start of the bend.
    let notch = Shape::Outline(Profile::rectangle(&n(20.0), &n(10.0)));
    let message = "an opening in panel `plate` is 1.00 mm from the bend of `wall`, at least 4.00 mm is usual";
    assert_eq!(findings(notch, &[[-5.0, 1.0]]), [("check::hole_near_bend", message.to_owned())]);
}
