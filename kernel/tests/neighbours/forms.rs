//! How far each kind of neighbour reaches, by hand; how it moves; and what is no neighbour.

use kernel::history::{
    BoltEndSpec, BoltSpec, History, NeighbourAxis, NeighbourEntry, NeighbourSpec, Stand, Turning, WheelSpec,
};
use kernel::machine::{Contact, NeighbourKind};

use super::{among, bolt, extent, group, made, neighbour, refused, stand};

fn shaft(from: [f64; 3], to: [f64; 3], diameter: f64) -> NeighbourSpec {
    NeighbourSpec::Shaft { from, to, diameter }
}

fn block(at: [f64; 3], size: [f64; 3]) -> NeighbourSpec {
    NeighbourSpec::Block { stand: stand(at, [0.0, 0.0, 1.0]), size }
}

fn drive(wheels: &[([f64; 3], f64)]) -> NeighbourSpec {
    NeighbourSpec::DriveLoop {
        wheels: wheels.iter().map(|&(centre, radius)| WheelSpec { centre, radius }).collect(),
        along: [0.0, 1.0, 0.0],
        width: 12.0,
        height: 6.0,
    }
}

/// Width across flats and height of the head, washer and nut, written again from ISO 4017 (M10 to M14 from memory), ISO
/// 7089 and ISO 4032 (from memory): `[s, k, washer outside, washer thickness, nut]`.
const SIZES: [(&str, [f64; 5]); 11] = [
    ("M3", [5.5, 2.0, 7.0, 0.5, 2.4]),
    ("M4", [7.0, 2.8, 9.0, 0.8, 3.2]),
    ("M5", [8.0, 3.5, 10.0, 1.0, 4.7]),
    ("M6", [10.0, 4.0, 12.0, 1.6, 5.2]),
    ("M8", [13.0, 5.3, 16.0, 1.6, 6.8]),
    ("M10", [16.0, 6.4, 20.0, 2.0, 8.4]),
    ("M12", [18.0, 7.5, 24.0, 2.5, 10.8]),
    ("M14", [21.0, 8.8, 28.0, 2.5, 12.8]),
    ("M16", [24.0, 10.0, 30.0, 3.0, 14.8]),
    ("M18", [27.0, 11.5, 34.0, 3.0, 15.8]),
    ("M20", [30.0, 12.5, 37.0, 3.0, 18.0]),
];

#[test]
fn every_bolt_reaches_as_far_as_its_standards_say() {
    let round = |x: f64| (x * 1000.0).round() / 1000.0 + 0.0;
    for (size, [s, k, washer, h, nut]) in SIZES {
        // Down into the machine: the head is above z = 5, its corners along x.
        let plain = bolt(size, [40.0, 30.0, 5.0], [0.0, 0.0, -1.0]);
        let got = extent(&among(vec![neighbour("b", NeighbourSpec::Bolt(plain.clone()))]));
        let corner = s / 3.0_f64.sqrt();
        let wanted = [[40.0 - corner, 30.0 - s / 2.0, -25.0], [40.0 + corner, 30.0 + s / 2.0, 5.0 + k]];
        assert_eq!(got, wanted.map(|v| v.map(round)), "{size}");
        // With a washer the bolt comes out by its thickness; the end is counted from the nut now.
        let dressed =
            BoltSpec { washer: true, nut_at: Some(12.0), end: BoltEndSpec::BeyondNut(3.0), ..plain };
        let got = extent(&among(vec![neighbour("b", NeighbourSpec::Bolt(dressed))]));
        let [x, y] = [corner, s / 2.0].map(|half| half.max(washer / 2.0));
        let wanted = [[40.0 - x, 30.0 - y, 5.0 - 12.0 - nut - 3.0], [40.0 + x, 30.0 + y, 5.0 + h + k]];
        assert_eq!(got, wanted.map(|v| v.map(round)), "{size}");
    }
}

#[test]
fn bolt_turned_about_its_axis_shows_its_flats() {
    let across = Some([0.0, 1.0, 0.0]);
    let turned = Stand { across, ..stand([0.0, 0.0, 0.0], [0.0, 0.0, -1.0]) };
    let bolt = BoltSpec { stand: turned, ..bolt("M10", [0.0; 3], [0.0, 0.0, -1.0]) };
    let [low, high] = extent(&among(vec![neighbour("b", NeighbourSpec::Bolt(bolt))]));
    assert_eq!((low[0], high[0], high[1]), (-8.0, 8.0, 9.238));
}

#[test]
fn other_kinds_reach_as_far_as_their_sizes_say() {
    let across = shaft([-50.0, 60.0, 40.0], [250.0, 60.0, 40.0], 25.0);
    assert_eq!(extent(&among(vec![neighbour("s", across)])), [[-50.0, 47.5, 27.5], [250.0, 72.5, 52.5]]);
    // A shaft that runs 3 aside for 4 along: its rim stands 10 * 0.8 aside and 10 * 0.6 beyond its ends.
    let askew = shaft([0.0, 0.0, 0.0], [30.0, 40.0, 0.0], 20.0);
    assert_eq!(extent(&among(vec![neighbour("s", askew)])), [[-8.0, -6.0, -10.0], [38.0, 46.0, 10.0]]);
    let plate = NeighbourSpec::Plate {
        stand: stand([100.0, 50.0, 70.0], [0.0, 0.0, -1.0]),
        size: [300.0, 200.0],
        thickness: 10.0,
    };
    assert_eq!(extent(&among(vec![neighbour("p", plate)])), [[-50.0, -50.0, 70.0], [250.0, 150.0, 80.0]]);
    let block = block([10.0, 20.0, 5.0], [60.0, 40.0, 30.0]);
    assert_eq!(extent(&among(vec![neighbour("k", block)])), [[-20.0, 0.0, 5.0], [40.0, 40.0, 35.0]]);
    let chain =
        drive(&[([0.0, 50.0, 100.0], 60.0), ([220.0, 50.0, 130.0], 35.0), ([110.0, 50.0, 0.0], 20.0)]);
    assert_eq!(extent(&among(vec![neighbour("c", chain)])), [[-66.0, 44.0, -26.0], [261.0, 56.0, 171.0]]);
}

#[test]
fn travel_and_turning_hold_all_places() {
    let moving = |travel, turning, kind| NeighbourEntry { travel, turning, ..neighbour("m", kind) };
    let take_up = moving(Some([-15.0, 0.0, 4.0]), None, block([0.0; 3], [20.0, 20.0, 20.0]));
    assert_eq!(extent(&among(vec![take_up])), [[-25.0, -10.0, 0.0], [10.0, 10.0, 24.0]]);
    // A block of 30 x 40 about its own axis needs a circle of radius 25.
    let own = moving(None, Some(Turning::Own), block([0.0; 3], [30.0, 40.0, 10.0]));
    assert_eq!(extent(&among(vec![own])), [[-25.0, -25.0, 0.0], [25.0, 25.0, 10.0]]);
    // About an axis through one corner: radius 50.
    let axis = Turning::About { through: [15.0, 20.0, -3.0], along: [0.0, 0.0, 2.0] };
    let about = moving(Some([0.0, 0.0, 5.0]), Some(axis), block([0.0; 3], [30.0, 40.0, 10.0]));
    assert_eq!(extent(&among(vec![about])), [[-35.0, -30.0, 0.0], [65.0, 70.0, 15.0]]);
    // A key that turns with its shaft along x, 12 to 18 above the axis and 6 wide: radius sqrt(18^2 + 3^2) = 18.248.
    let turning = Turning::Axis(NeighbourAxis { of: "shaft".to_owned(), axis: "axis".to_owned() });
    let key = moving(None, Some(turning), block([50.0, 0.0, 12.0], [40.0, 6.0, 6.0]));
    let along_x = neighbour("shaft", shaft([0.0; 3], [100.0, 0.0, 0.0], 25.0));
    let part = made(&among(vec![along_x, key]));
    let got = super::rounded(part.neighbours[1].extent().unwrap());
    assert_eq!(got, [[30.0, -18.248, -18.248], [70.0, 18.248, 18.248]]);
}

#[test]
fn group_moves_its_members_and_lends_them_what_they_do_not_say() {
    let quiet = neighbour("quiet", shaft([0.0; 3], [0.0, 0.0, 50.0], 20.0));
    let said = NeighbourEntry {
        clearance: Some(2.0),
        hazard: Some(false),
        travel: Some([10.0, 0.0, 0.0]),
        bolted: true,
        ..neighbour("said", block([0.0, 0.0, 0.0], [10.0, 20.0, 30.0]))
    };
    let mut drive = group("drive", &["quiet", "said"], stand([100.0, 0.0, 0.0], [1.0, 0.0, 0.0]));
    (drive.clearance, drive.hazard) = (Some(8.0), Some(true));
    let history = History { neighbour_groups: vec![drive], ..among(vec![quiet, said]) };
    let part = made(&history);
    let [quiet, said] = part.neighbours.as_slice() else { panic!("two neighbours") };
    // The group's z is the base's x; its x, level, the base's y; its y the base's z.
    assert_eq!(super::rounded(quiet.extent().unwrap()), [[100.0, -10.0, -10.0], [150.0, 10.0, 10.0]]);
    assert_eq!(super::rounded(said.extent().unwrap()), [[100.0, -5.0, -10.0], [130.0, 15.0, 10.0]]);
    assert_eq!((quiet.clearance, quiet.is_hazard, quiet.contact), (8.0, true, Contact::Forbidden));
    assert_eq!((said.clearance, said.is_hazard, said.contact), (2.0, false, Contact::Allowed));
    assert_eq!((quiet.kind, said.kind), (NeighbourKind::Shaft, NeighbourKind::Block));
    assert_eq!(quiet.group.as_deref(), Some("drive"));
}

#[test]
fn what_is_no_neighbour_is_said_with_its_name() {
    let one = |kind| among(vec![neighbour("it", kind)]);
    let bolted = |bolt| one(NeighbourSpec::Bolt(bolt));
    let up = [0.0, 0.0, 1.0];
    let plain = || bolt("M10", [0.0; 3], up);
    let cases = [
        (one(shaft([0.0; 3], [0.0; 3], 10.0)), "history::neighbour_size"),
        (one(shaft([0.0; 3], up, f64::NAN)), "history::neighbour_size"),
        (one(shaft([0.0; 3], [2e6, 0.0, 0.0], 10.0)), "history::neighbour_size"),
        (one(block([0.0; 3], [10.0, -10.0, 10.0])), "history::neighbour_size"),
        (bolted(bolt("M10", [0.0; 3], [0.0; 3])), "history::neighbour_direction"),
        (bolted(bolt("M11", [0.0; 3], up)), "history::unknown_fastener"),
        (bolted(BoltSpec { nut_at: Some(30.0), ..plain() }), "history::bolt_too_short"),
        (bolted(BoltSpec { end: BoltEndSpec::BeyondNut(3.0), ..plain() }), "history::no_nut"),
        (one(drive(&[([0.0; 3], 20.0)])), "history::too_few_wheels"),
        (one(drive(&[([0.0; 3], 20.0), ([90.0, 1.0, 0.0], 20.0)])), "history::wheel_beside"),
        (
            among(vec![NeighbourEntry {
                turning: Some(Turning::Own),
                ..neighbour("it", drive(&[([0.0; 3], 20.0), ([90.0, 0.0, 0.0], 20.0)]))
            }]),
            "history::no_own_axis",
        ),
        (
            among(vec![
                neighbour("it", block([0.0; 3], [1.0; 3])),
                neighbour("it", block([0.0; 3], [1.0; 3])),
            ]),
            "history::name_used_twice",
        ),
        (one(block([0.0; 3], [f64::INFINITY, 1.0, 1.0])), "history::neighbour_size"),
    ];
    for (history, code) in cases {
        let finding = refused(&history);
        assert_eq!(finding.code, code, "{}", finding.message);
        assert_eq!(finding.origins[0].name, "it");
    }
}

#[test]
fn groups_have_members_of_their_own() {
    let with = |groups| History {
        neighbour_groups: groups,
        ..among(vec![neighbour("it", block([0.0; 3], [1.0; 3]))])
    };
    let here = || stand([0.0; 3], [0.0, 0.0, 1.0]);
    let twice = with(vec![group("a", &["it"], here()), group("b", &["it"], here())]);
    assert_eq!(refused(&twice).code, "history::two_groups");
    assert_eq!(refused(&with(vec![group("a", &["that"], here())])).code, "history::unknown_neighbour");
    assert_eq!(refused(&with(vec![group("it", &["it"], here())])).code, "history::name_used_twice");
}
