//! `flange`: panels bent from edges.
//!
//! Invariant: every option has the default that the documentation states.

use kernel::history::feature::{
    CornerRelief, Feature, Flange, FlangeEnd, FoldSide, HeldFace, LengthFrom, NotchSize, Relief,
};
use kernel::history::{
    DimensionEntry, DimensionKind, EdgeName, FreeNumber, Number, PanelName, Target, Thing, ThingKind,
};
use kernel::ident::VarId;
use rhai::{Dynamic, Engine, Map, NativeCallContext};

use super::Word;
use super::outline::Outline;
use super::panel::Panels;
use super::part::Part;
use crate::fault::ScriptFault;
use crate::options::{Argument, Options, argument};
use crate::session::{Bound, refuse};

pub(super) const WORDS: &[Word] = &[Word {
    name: "flange",
    call: "part.flange(name, edge or [edge, ...], #{ length or outline or up_to, from, turn, side, holds, inset, inset_left, inset_right, taper, taper_left, taper_right, inside_radius, relief: #{ shape, width, depth }, corner_relief: #{ shape, size }, gap })",
    meaning: "Bends a panel from each edge. `length` counts `from` \"outside\" (default), \"inside\" or \"tangent\"; `turn` is 90 degrees by default, `side` \"up\" or \"down\"; what `holds` the drawn edge is the \"outer\" face (default), the \"inner\" face or the \"bend start\". An `inset` stops the flange short of the drawn edge's end and a `taper` leans its side inwards (a negative one outwards), on both ends or on one. `up_to` a plane, its length is a free number that the solver finds so that the tip lies in that plane; `length` is then where it starts, 50 mm if left out. An `outline` says the whole shape instead of length, inset and taper: closed, with x along the drawn edge from its left end, y counted as the length is, and its first edge along y = 0; its other edges keep their names. The shape of a `relief`, beside a bend that ends within its edge, is \"square\" (default), \"round\", \"tear\" (a slit) or \"none\" (the edge beside the bend lies at the bend's start); of a `corner_relief`, where two bends meet, it is \"tear\" (default: nothing is cut), \"square\", \"round\" or \"none\" (the bends stop short of the corner). Sizes follow a rule unless given. `gap` is left at corners between neighbours, 1 mm by default.",
}];

/// Gap in mm between neighbouring flanges at a corner unless the script says otherwise (common practice, no
/// source).
pub(super) const DEFAULT_GAP_MM: f64 = 1.0;

const OPTIONS: [&str; 17] = [
    "length",
    "up_to",
    "outline",
    "from",
    "turn",
    "side",
    "holds",
    "inset",
    "inset_left",
    "inset_right",
    "taper",
    "taper_left",
    "taper_right",
    "inside_radius",
    "relief",
    "corner_relief",
    "gap",
];

/// What an outline says besides its shape.
const OUTLINED: [&str; 8] =
    ["length", "up_to", "inset", "inset_left", "inset_right", "taper", "taper_left", "taper_right"];

/// The words that say from where a length is measured.
pub(super) const LENGTH_FROM: &[(&str, LengthFrom)] =
    &[("outside", LengthFrom::Outside), ("inside", LengthFrom::Inside), ("tangent", LengthFrom::Tangent)];

pub(super) fn register(engine: &mut Engine) {
    engine.register_fn(
        "flange",
        |context: NativeCallContext<'_>,
         part: &mut Part,
         name: Dynamic,
         edges: Dynamic,
         options: Map|
         -> Bound<Panels> {
            let name = argument(&context, "flange", "name", name).text()?;
            let (options, up_to) = with_free_length(&context, part, &name, options)?;
            let flange = flange(&context, edges, options)?;
            let alone = flange.edges.len() == 1;
            let names = flange
                .edges
                .iter()
                .map(|edge| PanelName::of_flange(&name, edge, alone))
                .collect::<Result<Vec<PanelName>, _>>()
                .map_err(|e| refuse(&context, ScriptFault::Name(e)))?;
            part.add(&context, name.clone(), Feature::Flange(flange));
            if let Some(plane) = up_to {
                hold_tips(&context, part, &names, &plane);
            }
            Ok(Panels { feature: name, names, pieces: Vec::new() })
        },
    );
}

/// Length in mm from which a flange up to a plane starts: on the way to any plane it is only a start (common
/// practice, no source).
const START_LENGTH_MM: f64 = 50.0;

/// The options with a free number for the length, and the plane up to which it goes; as they are without `up_to`.
fn with_free_length(
    context: &NativeCallContext<'_>,
    part: &Part,
    name: &str,
    mut options: Map,
) -> Bound<(Map, Option<Thing>)> {
    const WANTED: &str = "a plane, for example `plane([0, 0, 80], [0, 0, 1])` or `bolt.plane(\"seat\")`";
    let outlined = options.contains_key("outline");
    let Some(plane) = options.get("up_to").filter(|_| !outlined) else { return Ok((options, None)) };
    let plane = argument(context, "flange", "up_to", plane.clone());
    let thing: Thing = plane.as_handle(WANTED)?;
    let is_plane = match &thing {
        Thing::Plane { .. } => true,
        Thing::Neighbour(thing) => thing.kind == ThingKind::Plane,
        Thing::Panel(_) | Thing::Face { .. } | Thing::Edge(_) | Thing::Point(_) | Thing::Axis { .. } => false,
    };
    if !is_plane {
        return Err(plane.wrong(WANTED));
    }
    let start = match options.remove("length") {
        Some(start) => argument(context, "flange", "length", start).plain()?,
        None => START_LENGTH_MM,
    };
    let span = Some(part.session.span(context));
    let length = part.session.with_draft(|draft| {
        draft.free_numbers.push(FreeNumber { span, ..FreeNumber::new(&format!("{name}.length"), start) });
        Number::free(VarId::new(draft.free_numbers.len() - 1))
    });
    options.remove("up_to");
    options.insert("length".into(), Dynamic::from(length));
    Ok((options, Some(thing)))
}

/// Holds the tips of these flanges in a plane.
fn hold_tips(context: &NativeCallContext<'_>, part: &Part, panels: &[PanelName], plane: &Thing) {
    for panel in panels {
        let (tip, plane) = (Thing::Edge(panel.edge("tip")), plane.clone());
        let entry = DimensionEntry {
            name: format!("{panel} up to {plane}"),
            kind: DimensionKind::Clear { a: tip, b: plane },
            target: Target::Held(Number::constant(0.0)),
            stays: None,
            span: Some(part.session.span(context)),
        };
        part.session.with_draft(|draft| draft.dimensions.push(entry));
    }
}

fn flange(context: &NativeCallContext<'_>, edges: Dynamic, options: Map) -> Bound<Flange> {
    let edges = edges_of(context, "flange", edges)?;
    let mut options = Options::new(context, "flange", options, &OPTIONS)?;
    let relief = match options.get("relief") {
        Some(relief) => self::relief(context, relief)?,
        None => Relief::by_rule(),
    };
    let corner_relief = options.get("corner_relief").map(|r| self::corner_relief(context, r)).transpose()?;
    for size in OUTLINED {
        options.not_both("outline", size)?;
    }
    let outline = options.get("outline").map(|outline| {
        let drawn: Outline = outline.handle("an outline, for example `rectangle(60, 40)`")?;
        drawn.closed(context)
    });
    let outline = outline.transpose()?;
    let length = match &outline {
        Some(_) => Number::constant(0.0),
        None => options.need("length")?.number()?,
    };
    let [inset_left, inset_right] = pair(&mut options, "inset", ["inset_left", "inset_right"])?;
    let [taper_left, taper_right] = pair(&mut options, "taper", ["taper_left", "taper_right"])?;
    Ok(Flange {
        edges,
        turn: options.number_or("turn", 90.0)?,
        side: options.word_or("side", &[("up", FoldSide::Up), ("down", FoldSide::Down)], FoldSide::Up)?,
        length,
        length_from: options.word_or("from", LENGTH_FROM, LengthFrom::Outside)?,
        holds: options.word_or(
            "holds",
            &[("outer", HeldFace::Outer), ("inner", HeldFace::Inner), ("bend start", HeldFace::BendStart)],
            HeldFace::Outer,
        )?,
        left: FlangeEnd { inset: inset_left, taper: taper_left },
        right: FlangeEnd { inset: inset_right, taper: taper_right },
        outline,
        inside_radius: options.get("inside_radius").map(Argument::number).transpose()?,
        relief,
        corner_relief,
        corner_gap: options.number_or("gap", DEFAULT_GAP_MM)?,
    })
}

/// One edge or a list of edges.
pub(super) fn edges_of(
    context: &NativeCallContext<'_>,
    function: &str,
    edges: Dynamic,
) -> Bound<Vec<EdgeName>> {
    let one_edge =
        |value| argument(context, function, "edges", value).handle::<EdgeName>("an edge or a list of edges");
    if edges.is_array() {
        return argument(context, function, "edges", edges).list()?.into_iter().map(one_edge).collect();
    }
    Ok(vec![one_edge(edges)?])
}

/// A word for a shape of relief, and the relief of a given size.
type Shape<S, R> = (&'static str, fn(S) -> R);

/// An option for both ends, or one for each.
pub(super) fn pair(
    options: &mut Options<'_, '_>,
    both: &'static str,
    [left, right]: [&'static str; 2],
) -> Bound<[Number; 2]> {
    options.not_both(both, left)?;
    options.not_both(both, right)?;
    match options.get(both) {
        Some(value) => {
            let value = value.number()?;
            Ok([value.clone(), value])
        }
        None => Ok([options.number_or(left, 0.0)?, options.number_or(right, 0.0)?]),
    }
}

fn relief(context: &NativeCallContext<'_>, relief: Argument<'_, '_>) -> Bound<Relief> {
    let map = relief.handle::<Map>("an option map such as `#{ shape: \"round\", width: 2 }`")?;
    let mut options = Options::new(context, "relief", map, &["shape", "width", "depth"])?;
    let shapes: [Shape<NotchSize, Relief>; 4] = [
        ("square", Relief::Square),
        ("round", Relief::Round),
        ("tear", |_| Relief::Tear),
        ("none", |_| Relief::None),
    ];
    let shape = options.word_or("shape", &shapes, Relief::Square)?;
    let size = NotchSize {
        width: options.get("width").map(Argument::number).transpose()?,
        depth: options.get("depth").map(Argument::number).transpose()?,
    };
    let sized = size.width.is_some() || size.depth.is_some();
    let relief = shape(size);
    if sized && relief.notch().is_none() {
        return Err(refuse(context, ScriptFault::NoSize { function: "relief" }));
    }
    Ok(relief)
}

fn corner_relief(context: &NativeCallContext<'_>, relief: Argument<'_, '_>) -> Bound<CornerRelief> {
    let map = relief.handle::<Map>("an option map such as `#{ shape: \"round\", size: 3 }`")?;
    let mut options = Options::new(context, "corner_relief", map, &["shape", "size"])?;
    let shapes: [Shape<Option<Number>, CornerRelief>; 4] = [
        ("tear", |_| CornerRelief::Tear),
        ("square", CornerRelief::Square),
        ("round", CornerRelief::Round),
        ("none", CornerRelief::None),
    ];
    let shape = options.word_or("shape", &shapes, |_| CornerRelief::Tear)?;
    let size = options.get("size").map(Argument::number).transpose()?;
    let sized = size.is_some();
    let relief = shape(size);
    if sized && relief.size().is_none() {
        return Err(refuse(context, ScriptFault::NoSize { function: "corner_relief" }));
    }
    Ok(relief)
}
