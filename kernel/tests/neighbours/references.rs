//! Dimensions to neighbours, and features that follow them.

use kernel::history::feature::{BumpOver, BumpSide, Feature, Pattern};
use kernel::history::{
    BoltSpec, DimensionEntry, DimensionKind, FreeNumber, History, NeighbourAxis, NeighbourSpec,
    NeighbourThing, Number, Shape, Target, Thing, ThingKind,
};
use kernel::ident::VarId;
use kernel::stock::ClearanceFit;

use super::parts::{base, cutout, entry, flange, history, n, panel};
use super::{among, bolt, group, made, neighbour, plate, refused, stand};

const DOWN: [f64; 3] = [0.0, 0.0, -1.0];

fn thing(of: &str, kind: ThingKind, name: &str, off: f64) -> Thing {
    Thing::Neighbour(NeighbourThing { of: of.to_owned(), kind, name: name.to_owned(), off })
}

fn dimension(kind: DimensionKind, target: Target) -> DimensionEntry {
    DimensionEntry { name: "to the machine".to_owned(), kind, target, stays: None, span: None }
}

fn b1(at: [f64; 3]) -> NeighbourSpec {
    NeighbourSpec::Bolt(BoltSpec { washer: true, ..bolt("M10", at, DOWN) })
}

fn on(of: &str) -> NeighbourAxis {
    NeighbourAxis { of: of.to_owned(), axis: "axis".to_owned() }
}

#[test]
fn distances_to_axes_planes_and_points() {
    let floor = || Thing::Panel(panel("floor"));
    let measured = |other| {
        let mut history = among(vec![neighbour("b1", b1([60.0, 40.0, 20.0]))]);
        history.dimensions = vec![dimension(DimensionKind::Clear { a: floor(), b: other }, Target::Measured)];
        made(&history).settled.dimensions[0].got
    };
    // The inner face of the floor is z = 0; washer 2 and head 6.4 lie above the seat at 20, the end 28 below.
    let near = |got: f64, wanted: f64| assert!((got - wanted).abs() < 1e-9, "{got} {wanted}");
    near(measured(thing("b1", ThingKind::Plane, "seat", 0.0)), 20.0);
    near(measured(thing("b1", ThingKind::Plane, "head", 0.0)), 28.4);
    near(measured(thing("b1", ThingKind::Plane, "head", 3.0)), 31.4);
    near(measured(thing("b1", ThingKind::Point, "head", 0.0)), 28.4);
    // Beyond the outer face at -2.
    near(measured(thing("b1", ThingKind::Point, "end", 0.0)), 6.0);
}

#[test]
fn wall_keeps_off_an_axis_that_a_group_moves() {
    let length = Number::free(VarId::new(0));
    let outline = kernel::history::Profile::rectangle(&length, &n(100.0));
    let walls = flange(&["floor/left", "floor/right"], 90.0, 40.0);
    let mut cover =
        history(2.0, 2.0, 0.45, vec![base("floor", outline), entry("wall", Feature::Flange(walls))]);
    cover.free_numbers = vec![FreeNumber::new("length", 150.0)];
    let upright = NeighbourSpec::Shaft { from: [0.0, 0.0, -50.0], to: [0.0, 0.0, 80.0], diameter: 20.0 };
    cover.neighbours = vec![neighbour("shaft", upright)];
    let kind = DimensionKind::Clear {
        a: Thing::Panel(panel("wall.right")),
        b: thing("shaft", ThingKind::Axis, "axis", 0.0),
    };
    cover.dimensions = vec![dimension(kind, Target::Held(n(35.0)))];
    for x in [80.0, 110.0] {
        cover.neighbour_groups = vec![group("drive", &["shaft"], stand([x, 50.0, 0.0], [0.0, 0.0, 1.0]))];
        // The inner face of the right wall is 2 mm inside of the drawn edge.
        let got = made(&cover).settled.free[0];
        assert!((got - (x + 35.0 + 2.0)).abs() < 1e-6, "{got} for {x}");
    }
}

#[test]
fn hole_follows_a_bolt_and_the_panel() {
    let hole = |size: &str| Shape::BoltHole { bolt: size.to_owned(), fit: ClearanceFit::Medium };
    let on_floor = |at| {
        let cut = cutout("floor", hole("M10"), Pattern::OnAxes(vec![on("b1")]));
        let history = plate(vec![entry("hole", Feature::Cutout(cut))]);
        made(&History { neighbours: vec![neighbour("b1", b1(at))], ..history })
    };
    for at in [[60.0, 40.0, 0.0], [83.0, 55.5, 12.0]] {
        let part = on_floor(at);
        let [_, opening] = part.tree.panels()[0].region.contours() else { panic!("one opening") };
        let circle = opening.as_circle().unwrap();
        assert!((circle.0.x - at[0]).abs() < 1e-9 && (circle.0.y - at[1]).abs() < 1e-9, "{circle:?}");
        assert!((circle.1 - 5.5).abs() < 1e-9);
    }
    // On the wall on the right, whose outer face is x = 200: coordinates along y and z of the base. A wall's x runs from
    // its left end, seen from inside with the bend at the bottom: from the back, y = 100, to the front.
    let wall = flange(&["floor/right"], 90.0, 60.0);
    let cut = cutout("wall", hole("M10"), Pattern::OnAxes(vec![on("b1")]));
    let features = vec![entry("wall", Feature::Flange(wall)), entry("hole", Feature::Cutout(cut))];
    let across = NeighbourSpec::Bolt(bolt("M10", [150.0, 30.0, 25.0], [1.0, 0.0, 0.0]));
    let part = made(&History { neighbours: vec![neighbour("b1", across)], ..plate(features) });
    let [_, opening] = part.tree.panels()[1].region.contours() else { panic!("one opening") };
    let (centre, radius) = opening.as_circle().unwrap();
    let placed = part.settled.pose.panel(part.tree.panels()[1].id).placement.lift(centre, 0.0);
    assert!((placed.y - 30.0).abs() < 1e-9 && (placed.z - 25.0).abs() < 1e-9, "{placed:?}");
    assert!((radius - 5.5).abs() < 1e-9);
}

fn dome(clearance: f64) -> Feature {
    Feature::BumpOver(BumpOver {
        panel: panel("floor"),
        bolts: vec!["b1".to_owned()],
        clearance: n(clearance),
        draft: n(30.0),
        punch_radius: Some(n(3.0)),
        die_radius: None,
    })
}

#[test]
fn bump_clears_the_head_below_it_and_follows_it() {
    for (x, seat) in [(60.0, -4.0), (90.0, -6.5)] {
        let history = plate(vec![entry("dome", dome(3.0))]);
        let history = History { neighbours: vec![neighbour("b1", b1([x, 40.0, seat]))], ..history };
        let part = made(&history);
        let [form] = part.tree.forms() else { panic!("one bump") };
        // The top of the head lies at seat + 8.4; the hollow face of the floor at -2.
        assert!((form.section.height - (seat + 8.4 + 2.0 + 3.0)).abs() < 1e-9);
        assert_eq!(form.side, BumpSide::In);
        let (centre, top) = form.top().as_circle().unwrap();
        assert!((centre.x - x).abs() < 1e-9 && (centre.y - 40.0).abs() < 1e-9);
        // The flat of the top reaches over the washer, 20 mm wide, and the clearance.
        assert!((top - 13.0).abs() < 1e-9, "{top}");
    }
}

#[test]
fn bump_goes_to_the_side_to_which_the_head_points() {
    let history = plate(vec![entry("dome", dome(1.0))]);
    let up = NeighbourSpec::Bolt(bolt("M10", [60.0, 40.0, 2.0], [0.0, 0.0, 1.0]));
    let part = made(&History { neighbours: vec![neighbour("b1", up)], ..history });
    let form = &part.tree.forms()[0];
    // The head ends at 2 - 6.4, the hollow face is z = 0.
    assert_eq!(form.side, BumpSide::Out);
    assert!((form.section.height - 5.4).abs() < 1e-9);
}

#[test]
fn what_cannot_follow_is_said() {
    let holed = |axis: NeighbourAxis, spec| {
        let cut = cutout("floor", Shape::Circle { diameter: n(10.0) }, Pattern::OnAxes(vec![axis]));
        History {
            neighbours: vec![neighbour("b1", spec)],
            ..plate(vec![entry("hole", Feature::Cutout(cut))])
        }
    };
    let askew = NeighbourSpec::Bolt(bolt("M10", [60.0, 40.0, 0.0], [0.01, 0.0, -1.0]));
    assert_eq!(refused(&holed(on("b1"), askew)).code, "fold::not_square");
    assert_eq!(refused(&holed(on("b2"), b1([60.0, 40.0, 0.0]))).code, "history::unknown_neighbour");
    let no_axis = NeighbourAxis { of: "b1".to_owned(), axis: "wheel-1".to_owned() };
    assert_eq!(refused(&holed(no_axis, b1([60.0, 40.0, 0.0]))).code, "history::unknown_neighbour_thing");
    let domed = |feature, spec| {
        let history = plate(vec![entry("dome", feature)]);
        refused(&History { neighbours: vec![neighbour("b1", spec)], ..history }).code
    };
    assert_eq!(domed(dome(3.0), b1([60.0, 40.0, -40.0])), "fold::nothing_under");
    assert_eq!(domed(dome(-1.0), b1([60.0, 40.0, -4.0])), "fold::pattern_size");
    let block = NeighbourSpec::Block { stand: stand([0.0; 3], DOWN), size: [1.0; 3] };
    assert_eq!(domed(dome(3.0), block), "history::not_a_bolt");
    let Feature::BumpOver(over) = dome(3.0) else { panic!("a bump over bolts") };
    let none = Feature::BumpOver(BumpOver { bolts: Vec::new(), ..over });
    assert_eq!(domed(none, b1([60.0, 40.0, -4.0])), "history::no_bolts");
}
