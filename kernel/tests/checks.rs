//! Every check just inside its limit, just outside, and at it.

#[allow(dead_code, reason = "tests and benches use different parts")]
#[path = "../benches/parts.rs"]
mod parts;

use kernel::diag::Severity;
use kernel::history::feature::{Feature, FlangeEnd, FoldSide, HeldFace, Hem, HemForm, HemSpec, Pattern};
use kernel::history::{EdgeName, Profile, Shape};
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

/// Codes and messages for a hem on a plate of 1.5 mm.
fn of_hem(form: HemForm) -> Vec<(&'static str, String)> {
    let end = || FlangeEnd { inset: n(0.0), taper: n(0.0) };
    let hem = Hem::from(HemSpec {
        edges: vec![EdgeName::new("plate/front").expect("well formed")],
        form,
        side: FoldSide::Up,
        left: end(),
        right: end(),
    });
    let plate = base("plate", Profile::rectangle(&n(100.0), &n(80.0)));
    let part = regenerate(&history(1.5, 2.0, 0.4, vec![plate, entry("hem", Feature::Hem(hem))]))
        .expect("the part can be made");
    assert!(part.findings.iter().all(|f| f.severity == Severity::Warning && f.origins[0].name == "hem"));
    part.findings.into_iter().map(|f| (f.code, f.message)).collect()
}

#[test]
fn hem_return_warns_below_six_thicknesses_pressed_flat_and_four_open() {
    // 6 · 1.5 = 9 mm (forming guideline of a fabrication service, seen), 4 · 1.5 = 6 mm (common practice, no
    // source).
    let closed = |length: f64| of_hem(HemForm::Closed { length: n(length), k_factor: None });
    assert_eq!(closed(9.0), []);
    let message = "hem `hem` is 8.99 mm long over its bend, at least 9.00 mm (6 t) is usual for a hem pressed \
                   flat (forming guideline of a fabrication service)";
    assert_eq!(closed(8.99), [("check::hem_return", message.to_owned())]);
    let open = |length: f64, gap: f64| of_hem(HemForm::Open { length: n(length), gap: n(gap) });
    for gap in [0.2, 1.5, 3.0] {
        assert_eq!(open(6.0, gap), []);
        let message = "hem `hem` is 5.99 mm long over its bend, at least 6.00 mm (4 t) is usual for an open hem \
                       (common practice, no published source)";
        assert_eq!(open(5.99, gap), [("check::hem_return", message.to_owned())]);
    }
    assert_eq!(of_hem(HemForm::Rolled { diameter: n(4.0), turn: n(270.0) }), []);
}
