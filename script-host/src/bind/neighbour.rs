//! Neighbours: what the cover lives with, and their axes, planes and points.
//!
//! Invariant: a handle holds a name; where the thing stands, and in which group, shows when the part is made. Files are
//! read after the script has ended.

use kernel::history::{
    BoltEndSpec, BoltSpec, MeshSpec, MeshUnit, NeighbourAxis, NeighbourEntry, NeighbourGroup, NeighbourSpec,
    NeighbourThing, Number, Stand, Thing, ThingKind, Turning, WheelSpec,
};
use rhai::{Dynamic, Engine, Map, NativeCallContext};

use super::part::Part;
use super::{Word, register_text};
use crate::options::{Argument, Options, argument};
use crate::session::Bound;

pub(super) const WORDS: &[Word] = &[
    Word {
        name: "bolt",
        call: "part.bolt(name, #{ size, at: [x, y, z], along: [dx, dy, dz], across, length | beyond_nut, nut_at, washer, … })",
        meaning: "A hexagon bolt that is there before the cover: ISO 4017 head, ISO 7089 `washer` (false by default), ISO 4032 nut. `at` is where its head, or the washer under it, bears; `along` is where its shank runs from there; `across` is where a corner of its head points. `length` counts from under the head, or the shank ends `beyond_nut` mm behind the nut that bears `nut_at` mm behind `at`. Sizes are plain numbers in the base panel's coordinates. It has the axis `axis`, the points `seat`, `head` and `end`, and the planes `seat`, `head`, `end` and, with a nut, `nut`. Every neighbour takes, too: `clearance` (0 by default), the distance that the cover keeps to it; `hazard`, whether it hurts who reaches it; `bolted`, whether the cover may touch it; `travel: [dx, dy, dz]`, how far it slides; `turning: true` if it turns about its axis, or the axis it turns about.",
    },
    Word {
        name: "shaft",
        call: "part.shaft(name, #{ from: [x, y, z], to: [x, y, z], diameter, … })",
        meaning: "A round bar. It has the axis `axis`, and the points and planes `start` and `end`. Other options are those of every neighbour: see `bolt`.",
    },
    Word {
        name: "plate",
        call: "part.plate(name, #{ at: [x, y, z], along: [dx, dy, dz], across, size: [w, h], thickness, … })",
        meaning: "A plate behind its face, whose middle is `at` and which looks `along`; `w` runs `across`, level if left out, and `h` square to it. It has the axis `axis`, the point `face`, and the planes `face` and `back`. Other options: see `bolt`.",
    },
    Word {
        name: "block",
        call: "part.block(name, #{ at: [x, y, z], along, across, size: [w, d, h], … })",
        meaning: "A cuboid on its bottom, whose middle is `at`; its top lies `h` mm `along` from there, upwards ([0, 0, 1]) by default, and `w` runs `across`. It has the axis `axis`, the points `bottom` and `top`, and the planes `bottom`, `top`, `left`, `right`, `front` and `back`. Other options: see `bolt`.",
    },
    Word {
        name: "drive_loop",
        call: "part.drive_loop(name, #{ wheels: [#{ centre: [x, y, z], radius }, …], along: [dx, dy, dz], width, height, … })",
        meaning: "A chain or belt around two or more wheels with axes `along`; `radius` is that of the pitch circle, `height` how far chain or belt stands out beyond it, and half of `width` lies on each side of the wheels' middles. All that it encloses counts as solid. It has the axes `wheel-1`, `wheel-2` and so on, and the planes `front` and `back`. Other options: see `bolt`.",
    },
    Word {
        name: "import_mesh",
        call: "part.import_mesh(name, file, #{ unit, at: [x, y, z], along, across, … })",
        meaning: "A shape from an STL, OBJ, glTF or GLB file, whose path counts from the script. `unit` is \"mm\", \"cm\", \"m\" or \"inch\"; a glTF file is in metres and takes none. The file's origin lies at `at` ([0, 0, 0] by default), its z points `along` ([0, 0, 1]) and its x `across` ([1, 0, 0]); what glTF calls y, upwards, is z here. It has the axis `axis`, and the point and plane `origin`. Other options: see `bolt`.",
    },
    Word {
        name: "group",
        call: "part.group(name, [neighbour, …], #{ at: [x, y, z], along, across, clearance, hazard })",
        meaning: "Neighbours that stand together: their coordinates are those of the group, whose origin lies at `at` ([0, 0, 0] by default), and whose z points `along` ([0, 0, 1]) and x `across` ([1, 0, 0]). `clearance` and `hazard` hold for members that do not say it themselves.",
    },
];

/// A neighbour.
#[derive(Clone, Debug)]
pub(super) struct NeighbourHandle {
    /// Its name.
    pub(super) name: String,
    /// Its thread size, if it is a bolt.
    pub(super) bolt_size: Option<String>,
}

/// What a handle is called where something else was given.
pub(super) const A_NEIGHBOUR: &str = "a neighbour, for example a bolt or a shaft";

/// Options that every neighbour takes.
const COMMON: [&str; 5] = ["clearance", "hazard", "bolted", "travel", "turning"];

const ORIGIN: [f64; 3] = [0.0, 0.0, 0.0];
const UPWARDS: [f64; 3] = [0.0, 0.0, 1.0];
const ALONG_X: [f64; 3] = [1.0, 0.0, 0.0];

type Given<'a, 'c> = Options<'a, 'c>;

pub(super) fn register(engine: &mut Engine) {
    engine.register_type_with_name::<NeighbourHandle>("neighbour");
    register_text(engine, |neighbour: &mut NeighbourHandle| neighbour.name.clone());
    engine.register_fn(
        "bolt",
        |context: NativeCallContext<'_>, part: &mut Part, name: Dynamic, options: Map| {
            let own = ["size", "at", "along", "across", "length", "beyond_nut", "nut_at", "washer"];
            add(&context, part, "bolt", name, options, &own, bolt)
        },
    );
    engine.register_fn(
        "shaft",
        |context: NativeCallContext<'_>, part: &mut Part, name: Dynamic, options: Map| {
            add(&context, part, "shaft", name, options, &["from", "to", "diameter"], |options| {
                Ok(NeighbourSpec::Shaft {
                    from: options.need("from")?.vector(A_PLACE)?,
                    to: options.need("to")?.vector(A_PLACE)?,
                    diameter: options.need("diameter")?.plain()?,
                })
            })
        },
    );
    engine.register_fn(
        "plate",
        |context: NativeCallContext<'_>, part: &mut Part, name: Dynamic, options: Map| {
            let own = ["at", "along", "across", "size", "thickness"];
            add(&context, part, "plate", name, options, &own, |options| {
                Ok(NeighbourSpec::Plate {
                    stand: Stand {
                        at: options.need("at")?.vector(A_PLACE)?,
                        along: options.need("along")?.vector(A_DIRECTION)?,
                        across: across(options, None)?,
                    },
                    size: options.need("size")?.vector("a size `[w, h]`")?,
                    thickness: options.need("thickness")?.plain()?,
                })
            })
        },
    );
    engine.register_fn(
        "block",
        |context: NativeCallContext<'_>, part: &mut Part, name: Dynamic, options: Map| {
            add(&context, part, "block", name, options, &["at", "along", "across", "size"], |options| {
                let stand = Stand {
                    at: options.need("at")?.vector(A_PLACE)?,
                    along: vector_or(options, "along", UPWARDS)?,
                    across: across(options, None)?,
                };
                Ok(NeighbourSpec::Block { stand, size: options.need("size")?.vector("a size `[w, d, h]`")? })
            })
        },
    );
    engine.register_fn(
        "drive_loop",
        |context: NativeCallContext<'_>, part: &mut Part, name: Dynamic, options: Map| {
            let own = ["wheels", "along", "width", "height"];
            add(&context, part, "drive_loop", name, options, &own, |options| drive_loop(&context, options))
        },
    );
    engine.register_fn(
        "import_mesh",
        |context: NativeCallContext<'_>, part: &mut Part, name: Dynamic, file: Dynamic, options: Map| {
            let file = argument(&context, "import_mesh", "file", file).text()?;
            let own = ["unit", "at", "along", "across"];
            add(&context, part, "import_mesh", name, options, &own, |options| {
                let units = MeshUnit::ALL.map(|unit| (unit.word(), unit));
                let unit = options.get("unit").map(|unit| unit.word(&units)).transpose()?;
                let stand = upright(options)?;
                Ok(NeighbourSpec::Mesh(MeshSpec { file, unit, stand, fingerprint: String::new() }))
            })
        },
    );
    engine.register_fn(
        "group",
        |context: NativeCallContext<'_>, part: &mut Part, name: Dynamic, members: Dynamic, options: Map| {
            group(&context, part, name, members, options)
        },
    );
    register_things(engine);
}

/// Adds a neighbour with the options that all have and with its own ones, which `spec` reads.
fn add<'a, 'c>(
    context: &'a NativeCallContext<'c>,
    part: &Part,
    function: &'static str,
    name: Dynamic,
    options: Map,
    own: &[&'static str],
    spec: impl FnOnce(&mut Given<'a, 'c>) -> Bound<NeighbourSpec>,
) -> Bound<NeighbourHandle> {
    let name = argument(context, function, "name", name).text()?;
    let allowed: Vec<&'static str> = own.iter().chain(&COMMON).copied().collect();
    let mut options = Options::new(context, function, options, &allowed)?;
    let entry = NeighbourEntry {
        name: name.clone(),
        kind: spec(&mut options)?,
        clearance: options.get("clearance").map(Argument::plain).transpose()?,
        hazard: options.get("hazard").map(Argument::truth).transpose()?,
        bolted: options.get("bolted").map_or(Ok(false), Argument::truth)?,
        travel: options.get("travel").map(|travel| travel.vector(A_DIRECTION)).transpose()?,
        turning: options.get("turning").map(turning).transpose()?.flatten(),
        span: Some(part.session.span(context)),
    };
    let bolt_size = match &entry.kind {
        NeighbourSpec::Bolt(bolt) => Some(bolt.size.clone()),
        NeighbourSpec::Shaft { .. }
        | NeighbourSpec::Plate { .. }
        | NeighbourSpec::Block { .. }
        | NeighbourSpec::DriveLoop { .. }
        | NeighbourSpec::Mesh(_) => None,
    };
    part.session.with_draft(|draft| draft.neighbours.push(entry));
    Ok(NeighbourHandle { name, bolt_size })
}

const A_PLACE: &str = "a place `[x, y, z]` of plain numbers";
const A_DIRECTION: &str = "a direction `[x, y, z]` of plain numbers";

fn vector_or(options: &mut Given<'_, '_>, option: &'static str, otherwise: [f64; 3]) -> Bound<[f64; 3]> {
    options.get(option).map_or(Ok(otherwise), |vector| vector.vector(A_DIRECTION))
}

fn across(options: &mut Given<'_, '_>, otherwise: Option<[f64; 3]>) -> Bound<Option<[f64; 3]>> {
    options.get("across").map_or(Ok(otherwise), |across| across.vector(A_DIRECTION).map(Some))
}

/// How a group or a mesh stands: as the base panel unless something else is said.
fn upright(options: &mut Given<'_, '_>) -> Bound<Stand> {
    let given = options.has("along");
    Ok(Stand {
        at: vector_or(options, "at", ORIGIN)?,
        along: vector_or(options, "along", UPWARDS)?,
        across: across(options, (!given).then_some(ALONG_X))?,
    })
}

fn bolt(options: &mut Given<'_, '_>) -> Bound<NeighbourSpec> {
    options.not_both("length", "beyond_nut")?;
    let end = match options.get("beyond_nut") {
        Some(beyond) => BoltEndSpec::BeyondNut(beyond.plain()?),
        None => BoltEndSpec::Length(options.need("length")?.plain()?),
    };
    Ok(NeighbourSpec::Bolt(BoltSpec {
        size: options.need("size")?.text()?,
        stand: Stand {
            at: options.need("at")?.vector(A_PLACE)?,
            along: options.need("along")?.vector(A_DIRECTION)?,
            across: across(options, None)?,
        },
        end,
        washer: options.get("washer").map_or(Ok(false), Argument::truth)?,
        nut_at: options.get("nut_at").map(Argument::plain).transpose()?,
    }))
}

fn drive_loop<'a, 'c>(
    context: &'a NativeCallContext<'c>,
    options: &mut Given<'a, 'c>,
) -> Bound<NeighbourSpec> {
    let wheel = |map| {
        let mut options = Options::new(context, "wheels", map, &["centre", "radius"])?;
        let centre = options.need("centre")?.vector(A_PLACE)?;
        Ok(WheelSpec { centre, radius: options.need("radius")?.plain()? })
    };
    let maps = options.need("wheels")?.maps("a list of wheels `#{ centre: [x, y, z], radius: … }`")?;
    Ok(NeighbourSpec::DriveLoop {
        wheels: maps.into_iter().map(wheel).collect::<Bound<_>>()?,
        along: options.need("along")?.vector(A_DIRECTION)?,
        width: options.need("width")?.plain()?,
        height: options.need("height")?.plain()?,
    })
}

/// `true`, `false`, an axis given by plain numbers, or one of a neighbour.
fn turning(value: Argument<'_, '_>) -> Bound<Option<Turning>> {
    const WANTED: &str = "`true`, `false` or an axis of plain numbers";
    if value.is::<bool>() {
        return Ok(value.truth()?.then_some(Turning::Own));
    }
    match value.as_handle::<Thing>(WANTED)? {
        Thing::Axis { through, along } => {
            let through = through.each_ref().map(Number::as_constant);
            match through {
                [Some(x), Some(y), Some(z)] => Ok(Some(Turning::About { through: [x, y, z], along })),
                _ => Err(value.wrong(WANTED)),
            }
        }
        Thing::Neighbour(NeighbourThing { of, kind: ThingKind::Axis, name, .. }) => {
            Ok(Some(Turning::Axis(NeighbourAxis { of, axis: name })))
        }
        Thing::Neighbour(_)
        | Thing::Panel(_)
        | Thing::Face { .. }
        | Thing::Edge(_)
        | Thing::Point(_)
        | Thing::Plane { .. } => Err(value.wrong(WANTED)),
    }
}

fn group(
    context: &NativeCallContext<'_>,
    part: &Part,
    name: Dynamic,
    members: Dynamic,
    options: Map,
) -> Bound<()> {
    let name = argument(context, "group", "name", name).text()?;
    let members = neighbours(context, "group", members)?;
    let allowed = ["at", "along", "across", "clearance", "hazard"];
    let mut options = Options::new(context, "group", options, &allowed)?;
    let group = NeighbourGroup {
        name,
        members,
        stand: upright(&mut options)?,
        clearance: options.get("clearance").map(Argument::plain).transpose()?,
        hazard: options.get("hazard").map(Argument::truth).transpose()?,
        span: Some(part.session.span(context)),
    };
    part.session.with_draft(|draft| draft.neighbour_groups.push(group));
    Ok(())
}

/// The axes of one neighbour or of a list of them.
pub(super) fn axes(
    context: &NativeCallContext<'_>,
    function: &str,
    value: Dynamic,
) -> Bound<Vec<NeighbourAxis>> {
    const WANTED: &str = "a neighbour, or an axis of one";
    let one = |value| {
        let argument = argument(context, function, "neighbours", value);
        if argument.is::<NeighbourHandle>() {
            let neighbour: NeighbourHandle = argument.handle(WANTED)?;
            return Ok(NeighbourAxis { of: neighbour.name, axis: "axis".to_owned() });
        }
        match argument.as_handle::<Thing>(WANTED)? {
            Thing::Neighbour(NeighbourThing { of, kind: ThingKind::Axis, name, .. }) => {
                Ok(NeighbourAxis { of, axis: name })
            }
            Thing::Neighbour(_)
            | Thing::Panel(_)
            | Thing::Face { .. }
            | Thing::Edge(_)
            | Thing::Point(_)
            | Thing::Axis { .. }
            | Thing::Plane { .. } => Err(argument.wrong(WANTED)),
        }
    };
    if value.is_array() {
        return argument(context, function, "neighbours", value).list()?.into_iter().map(one).collect();
    }
    Ok(vec![one(value)?])
}

/// Names of one neighbour or of a list of them.
pub(super) fn neighbours(
    context: &NativeCallContext<'_>,
    function: &str,
    value: Dynamic,
) -> Bound<Vec<String>> {
    let one = |value| {
        let neighbour: NeighbourHandle =
            argument(context, function, "neighbours", value).handle(A_NEIGHBOUR)?;
        Ok(neighbour.name)
    };
    if value.is_array() {
        return argument(context, function, "neighbours", value).list()?.into_iter().map(one).collect();
    }
    Ok(vec![one(value)?])
}

fn register_things(engine: &mut Engine) {
    let thing = |neighbour: &NeighbourHandle, kind, name, off| {
        Thing::Neighbour(NeighbourThing { of: neighbour.name.clone(), kind, name, off })
    };
    engine.register_fn("axis", move |neighbour: &mut NeighbourHandle| {
        thing(neighbour, ThingKind::Axis, "axis".to_owned(), 0.0)
    });
    engine.register_fn(
        "axis",
        move |context: NativeCallContext<'_>,
              neighbour: &mut NeighbourHandle,
              name: Dynamic|
              -> Bound<Thing> {
            Ok(thing(neighbour, ThingKind::Axis, argument(&context, "axis", "name", name).text()?, 0.0))
        },
    );
    engine.register_fn(
        "point",
        move |context: NativeCallContext<'_>,
              neighbour: &mut NeighbourHandle,
              name: Dynamic|
              -> Bound<Thing> {
            Ok(thing(neighbour, ThingKind::Point, argument(&context, "point", "name", name).text()?, 0.0))
        },
    );
    engine.register_fn(
        "plane",
        move |context: NativeCallContext<'_>,
              neighbour: &mut NeighbourHandle,
              name: Dynamic|
              -> Bound<Thing> {
            Ok(thing(neighbour, ThingKind::Plane, argument(&context, "plane", "name", name).text()?, 0.0))
        },
    );
    engine.register_fn(
        "plane",
        move |context: NativeCallContext<'_>,
              neighbour: &mut NeighbourHandle,
              name: Dynamic,
              off: Dynamic|
              -> Bound<Thing> {
            let name = argument(&context, "plane", "name", name).text()?;
            let off = argument(&context, "plane", "off", off).plain()?;
            Ok(thing(neighbour, ThingKind::Plane, name, off))
        },
    );
}
