//! What is measured against what is required.

use kernel::check::{Contact, Required, too_near};

use super::{bar, bracket, cuboid, measured, v};

#[test]
fn distance_is_compared_with_what_the_neighbour_asks_for() {
    let part = bracket();
    // 15 mm over the plate.
    let found = measured(&part, &[bar(v(0.0, 30.0, 25.0), v(1.0, 0.0, 0.0), 10.0)]);
    let required =
        |clearance_mm| Required { neighbour: "drive shaft", clearance_mm, contact: Contact::Forbidden };
    assert_eq!(too_near(&part.tree, required(15.0), &found), None);
    let finding = too_near(&part.tree, required(18.0), &found).unwrap();
    assert!(
        finding.message.starts_with("panel `plate` comes within 15.00 mm of neighbour `drive shaft`, at ("),
        "{}",
        finding.message
    );
    assert!(finding.message.ends_with("; 18.00 mm are required"), "{}", finding.message);
    assert!(
        finding.hint.starts_with("move the neighbour by 3.00 mm along (0.000, 0.000, 1.000)"),
        "{}",
        finding.hint
    );
}

#[test]
fn contact_is_right_where_bolted_and_overlap_never_is() {
    let part = bracket();
    let seat = |z: f64| measured(&part, &[cuboid(v(20.0, 20.0, z), v(40.0, 40.0, 10.0))]);
    let of = |contact| Required { neighbour: "pump foot", clearance_mm: 2.0, contact };
    let is_wrong = |contact, z| too_near(&part.tree, of(contact), &seat(z)).is_some();
    assert!(is_wrong(Contact::Forbidden, 0.0));
    assert!(!is_wrong(Contact::Allowed, 0.0));
    // Half-way is neither contact nor clearance; 0.5 mm deep is an overlap.
    assert!(is_wrong(Contact::Allowed, 1.0));
    assert!(!is_wrong(Contact::Allowed, 2.0));
    let deep = too_near(&part.tree, of(Contact::Allowed), &seat(-0.5)).unwrap();
    assert!(deep.message.contains("need the same place, 0.50 mm deep"), "{}", deep.message);
    assert!(deep.hint.contains("2.50 mm"), "{}", deep.hint);
}
