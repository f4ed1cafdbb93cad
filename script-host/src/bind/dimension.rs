//! Dimensions: measures, and `hold`, `at_least`, `at_most` or `measure` them.
//!
//! Invariant: a measure says between what; `hold` and its kin say how much.

use kernel::history::{DimensionEntry, DimensionKind, EdgeName, Number, PanelName, SheetFace, Target, Thing};
use rhai::{Dynamic, Engine, Map, NativeCallContext};

use super::neighbour::{A_NEIGHBOUR, NeighbourHandle};
use super::panel::Panels;
use super::part::Part;
use super::{Word, register_text};
use crate::fault::ScriptFault;
use crate::options::{Options, argument};
use crate::session::{Bound, refuse};

pub(super) const WORDS: &[Word] = &[
    Word {
        name: "inside",
        call: "inside(panel, panel)",
        meaning: "Clear distance between two parallel panels: between the faces that look at each other.",
    },
    Word {
        name: "outside",
        call: "outside(panel, panel)",
        meaning: "Overall distance over two parallel panels: between the faces that look away.",
    },
    Word {
        name: "clear",
        call: "clear(thing, thing)",
        meaning: "Smallest distance between two parallel things, each a panel, a face, an edge, a point, an axis or a plane: from the face that looks at the other thing, from the nearer arris of an edge.",
    },
    Word {
        name: "overall",
        call: "overall(thing, thing)",
        meaning: "Largest distance between two parallel things, as for `clear`: from the face that looks away, from the farther arris. Between two edges it is the straight distance of the two arrises that lie farthest apart, which runs askew through the thickness where both edges lie in one sheet; for a size square across use `width`, `outside`, or the faces.",
    },
    Word {
        name: "off_centre",
        call: "off_centre(thing, thing, about)",
        meaning: "How far the middle between two things lies off a third; 0 makes them symmetric about it.",
    },
    Word {
        name: "width",
        call: "width(edge, edge)",
        meaning: "Distance between two parallel edges of one panel, as drawn.",
    },
    Word {
        name: "angle",
        call: "angle(panel, panel)",
        meaning: "Angle in degrees through which one panel is turned against the other.",
    },
    Word {
        name: "blank_length",
        call: "blank_length()",
        meaning: "Extent of the flat blank along the base panel's x.",
    },
    Word {
        name: "blank_width",
        call: "blank_width()",
        meaning: "Extent of the flat blank along the base panel's y.",
    },
    Word {
        name: "clear_of",
        call: "clear_of(neighbour) or clear_of(panel, neighbour)",
        meaning: "Smallest distance in space of the folded part, or of one panel with its bend and bumps, to a neighbour, wherever it is; negative where both need the same place.",
    },
    Word {
        name: "difference",
        call: "difference(measure, measure)",
        meaning: "The first measure less the second one.",
    },
    Word {
        name: "ratio",
        call: "ratio(measure, measure)",
        meaning: "The first measure over the second one.",
    },
    Word {
        name: "face",
        call: "panel.face(\"inner\" | \"outer\")",
        meaning: "One face of a panel; the inner one of the base panel looks up, a bend goes on with both.",
    },
    Word {
        name: "point",
        call: "point([x, y, z]) or neighbour.point(name)",
        meaning: "A place to measure to, in the base panel's coordinates; z counts from its inner face. Or a point of a neighbour.",
    },
    Word {
        name: "axis",
        call: "axis([x, y, z], [dx, dy, dz]) or neighbour.axis() or neighbour.axis(name)",
        meaning: "A straight axis through a point, to measure to. Or that of a neighbour.",
    },
    Word {
        name: "plane",
        call: "plane([x, y, z], [nx, ny, nz]) or neighbour.plane(name) or neighbour.plane(name, off)",
        meaning: "A plane through a point, square to a direction, to measure to, for example the face of a machine. Or a plane of a neighbour, or one that lies `off` mm out of it.",
    },
    Word {
        name: "hold",
        call: "part.hold(name, measure, value, #{ stays })",
        meaning: "Makes the solver change free numbers until the measure has this value, a number or another measure. With `stays`, that panel keeps its place, and the rest gives way.",
    },
    Word {
        name: "at_least",
        call: "part.at_least(name, measure, value, #{ stays })",
        meaning: "Makes the solver change free numbers until the measure is not smaller than this value.",
    },
    Word {
        name: "at_most",
        call: "part.at_most(name, measure, value, #{ stays })",
        meaning: "Makes the solver change free numbers until the measure is not larger than this value.",
    },
    Word { name: "measure", call: "part.measure(name, measure)", meaning: "Only reports the measure." },
];

const MEASURE: &str = "a measure, for example `inside(panel, panel)`";

pub(super) fn register(engine: &mut Engine) {
    engine.register_type_with_name::<DimensionKind>("measure");
    register_text(engine, |_: &mut DimensionKind| "a measure".to_owned());
    engine.register_type_with_name::<Thing>("place");
    register_text(engine, |thing: &mut Thing| thing.to_string());
    register_between(engine, "inside", |a, b| DimensionKind::Inside { a, b });
    register_between(engine, "outside", |a, b| DimensionKind::Outside { a, b });
    register_between(engine, "angle", |a, b| DimensionKind::Angle { a, b });
    register_things(engine, "clear", |a, b| DimensionKind::Clear { a, b });
    register_things(engine, "overall", |a, b| DimensionKind::Overall { a, b });
    register_of_two(engine, "difference", DimensionKind::Difference);
    register_of_two(engine, "ratio", DimensionKind::Ratio);
    engine.register_fn("blank_length", || DimensionKind::BlankLength);
    engine.register_fn("blank_width", || DimensionKind::BlankWidth);
    engine.register_fn(
        "clear_of",
        |context: NativeCallContext<'_>, neighbour: Dynamic| -> Bound<DimensionKind> {
            Ok(DimensionKind::ClearOf { neighbour: neighbour_name(&context, neighbour)?, panel: None })
        },
    );
    engine.register_fn(
        "clear_of",
        |context: NativeCallContext<'_>, panel: Dynamic, neighbour: Dynamic| -> Bound<DimensionKind> {
            let panels: Panels = argument(&context, "clear_of", "panel", panel).handle("a panel")?;
            let panel = Some(panels.only(&context)?.clone());
            Ok(DimensionKind::ClearOf { neighbour: neighbour_name(&context, neighbour)?, panel })
        },
    );
    engine.register_fn(
        "off_centre",
        |context: NativeCallContext<'_>, a: Dynamic, b: Dynamic, about: Dynamic| -> Bound<DimensionKind> {
            let thing = |value| thing(&context, "off_centre", value);
            Ok(DimensionKind::OffCentre { a: thing(a)?, b: thing(b)?, about: thing(about)? })
        },
    );
    engine.register_fn(
        "width",
        |context: NativeCallContext<'_>, a: Dynamic, b: Dynamic| -> Bound<DimensionKind> {
            let edge = |value| argument(&context, "width", "edge", value).handle::<EdgeName>("an edge");
            Ok(DimensionKind::PanelWidth { a: edge(a)?, b: edge(b)? })
        },
    );
    register_places(engine);
    register_target(engine, "hold", Target::Held);
    register_target(engine, "at_least", Target::AtLeast);
    register_target(engine, "at_most", Target::AtMost);
    engine.register_fn(
        "measure",
        |context: NativeCallContext<'_>, part: &mut Part, name: Dynamic, measure: Dynamic| -> Bound<()> {
            let name = argument(&context, "measure", "name", name).text()?;
            let kind = argument(&context, "measure", "measure", measure).handle(MEASURE)?;
            add(&context, part, name, kind, Target::Measured, None);
            Ok(())
        },
    );
}

/// What a distance is measured to: a handle of something, by its type.
fn thing(context: &NativeCallContext<'_>, function: &'static str, value: Dynamic) -> Bound<Thing> {
    let argument = argument(context, function, "thing", value);
    if argument.is::<Panels>() {
        let panels: Panels = argument.handle("a panel")?;
        return panels.only(context).cloned().map(Thing::Panel);
    }
    if argument.is::<EdgeName>() {
        return argument.handle("an edge").map(Thing::Edge);
    }
    argument.handle("a panel, a face, an edge, a point, an axis or a plane")
}

fn neighbour_name(context: &NativeCallContext<'_>, value: Dynamic) -> Bound<String> {
    let neighbour: NeighbourHandle = argument(context, "clear_of", "neighbour", value).handle(A_NEIGHBOUR)?;
    Ok(neighbour.name)
}

fn register_places(engine: &mut Engine) {
    engine.register_fn(
        "face",
        |context: NativeCallContext<'_>, panels: &mut Panels, face: Dynamic| -> Bound<Thing> {
            let words = [SheetFace::Inner, SheetFace::Outer].map(|face| (face.word(), face));
            let face = argument(&context, "face", "face", face).word(&words)?;
            Ok(Thing::Face { panel: panels.only(&context)?.clone(), face })
        },
    );
    engine.register_fn("point", |context: NativeCallContext<'_>, at: Dynamic| -> Bound<Thing> {
        Ok(Thing::Point(place(&context, "point", at)?))
    });
    engine.register_fn(
        "axis",
        |context: NativeCallContext<'_>, through: Dynamic, along: Dynamic| -> Bound<Thing> {
            let along = direction(&context, "axis", along)?;
            Ok(Thing::Axis { through: place(&context, "axis", through)?, along })
        },
    );
    engine.register_fn(
        "plane",
        |context: NativeCallContext<'_>, through: Dynamic, normal: Dynamic| -> Bound<Thing> {
            let normal = direction(&context, "plane", normal)?;
            Ok(Thing::Plane { through: place(&context, "plane", through)?, normal })
        },
    );
}

fn place(context: &NativeCallContext<'_>, function: &'static str, at: Dynamic) -> Bound<[Number; 3]> {
    argument(context, function, "point", at).numbers("a point `[x, y, z]`")
}

fn direction(context: &NativeCallContext<'_>, function: &'static str, value: Dynamic) -> Bound<[f64; 3]> {
    const WANTED: &str = "a direction `[x, y, z]` of plain numbers";
    let numbers: [Number; 3] = argument(context, function, "direction", value.clone()).numbers(WANTED)?;
    let plain: Option<Vec<f64>> = numbers.iter().map(Number::as_constant).collect();
    let three = plain.and_then(|plain| <[f64; 3]>::try_from(plain).ok());
    three.map_or_else(|| argument(context, function, "direction", value).handle(WANTED), Ok)
}

fn register_between(
    engine: &mut Engine,
    function: &'static str,
    kind: fn(PanelName, PanelName) -> DimensionKind,
) {
    engine.register_fn(
        function,
        move |context: NativeCallContext<'_>, a: Dynamic, b: Dynamic| -> Bound<DimensionKind> {
            let panel = |value| -> Bound<PanelName> {
                let panels: Panels = argument(&context, function, "panel", value).handle("a panel")?;
                panels.only(&context).cloned()
            };
            Ok(kind(panel(a)?, panel(b)?))
        },
    );
}

fn register_things(engine: &mut Engine, function: &'static str, kind: fn(Thing, Thing) -> DimensionKind) {
    engine.register_fn(
        function,
        move |context: NativeCallContext<'_>, a: Dynamic, b: Dynamic| -> Bound<DimensionKind> {
            Ok(kind(thing(&context, function, a)?, thing(&context, function, b)?))
        },
    );
}

fn register_of_two(
    engine: &mut Engine,
    function: &'static str,
    kind: fn(Box<[DimensionKind; 2]>) -> DimensionKind,
) {
    engine.register_fn(
        function,
        move |context: NativeCallContext<'_>, a: Dynamic, b: Dynamic| -> Bound<DimensionKind> {
            let measure = |value| argument(&context, function, "measure", value).handle(MEASURE);
            let two: [DimensionKind; 2] = [measure(a)?, measure(b)?];
            let (count, most) =
                (two.iter().map(DimensionKind::measure_count).sum(), DimensionKind::MOST_MEASURES);
            if count > most {
                return Err(refuse(&context, ScriptFault::TooManyMeasures { function, count, most }));
            }
            Ok(kind(Box::new(two)))
        },
    );
}

/// Registers a word that asks for a value, with and without options.
fn register_target(engine: &mut Engine, function: &'static str, target: fn(Number) -> Target) {
    let asked = move |context: &NativeCallContext<'_>,
                      part: &Part,
                      [name, measure, value]: [Dynamic; 3],
                      options: Map|
          -> Bound<()> {
        let name = argument(context, function, "name", name).text()?;
        let mut kind = argument(context, function, "measure", measure).handle(MEASURE)?;
        let value = argument(context, function, "value", value);
        let value = if value.is::<DimensionKind>() {
            kind = DimensionKind::Difference(Box::new([kind, value.handle(MEASURE)?]));
            Number::constant(0.0)
        } else {
            value.number()?
        };
        let mut options = Options::new(context, function, options, &["stays"])?;
        let stays = match options.get("stays") {
            Some(panels) => Some(panels.handle::<Panels>("a panel")?.only(context)?.clone()),
            None => None,
        };
        add(context, part, name, kind, target(value), stays);
        Ok(())
    };
    engine.register_fn(
        function,
        move |context: NativeCallContext<'_>,
              part: &mut Part,
              name: Dynamic,
              measure: Dynamic,
              value: Dynamic|
              -> Bound<()> { asked(&context, part, [name, measure, value], Map::new()) },
    );
    engine.register_fn(
        function,
        move |context: NativeCallContext<'_>,
              part: &mut Part,
              name: Dynamic,
              measure: Dynamic,
              value: Dynamic,
              options: Map|
              -> Bound<()> { asked(&context, part, [name, measure, value], options) },
    );
}

fn add(
    context: &NativeCallContext<'_>,
    part: &Part,
    name: String,
    kind: DimensionKind,
    target: Target,
    stays: Option<PanelName>,
) {
    let span = Some(part.session.span(context));
    let entry = DimensionEntry { name, kind, target, stays, span };
    part.session.with_draft(|draft| draft.dimensions.push(entry));
}
