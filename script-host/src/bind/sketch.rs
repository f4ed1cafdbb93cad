//! `sketch`, and the relations of an outline.
//!
//! Invariant: a relation is added to the outline it is called on; whether the edges exist, and whether it can
//! hold, shows when the part is made.

use kernel::history::{Element, Number, ProfileRelation, RelationEntry, check_plain_name};
use rhai::{Array, Dynamic, Engine, ImmutableString, NativeCallContext};

use super::outline::Outline;
use super::part::Part;
use super::{Word, register_text};
use crate::fault::ScriptFault;
use crate::options::{argument, as_number};
use crate::session::{Bound, Shared, refuse};

pub(super) const WORDS: &[Word] = &[
    Word {
        name: "sketch",
        call: "part.sketch(name, outline)",
        meaning: "The outline with its corners, and the bulge of its arcs, left to the solver: they start as drawn and move as little as its relations ask for. Coordinates that hold a free number already stay so.",
    },
    Word {
        name: "parallel",
        call: "outline.parallel(edge, edge)",
        meaning: "Two straight edges run parallel. In all relations an edge is its name, \"x axis\" and \"y axis\" are lines too, a corner is the list of the two edges that meet there, and a place is a list of two numbers.",
    },
    Word {
        name: "perpendicular",
        call: "outline.perpendicular(edge, edge)",
        meaning: "Two straight edges stand at a right angle.",
    },
    Word { name: "horizontal", call: "outline.horizontal(edge)", meaning: "A straight edge runs along x." },
    Word { name: "vertical", call: "outline.vertical(edge)", meaning: "A straight edge runs along y." },
    Word {
        name: "tangent",
        call: "outline.tangent(edge, edge)",
        meaning: "An arc runs smoothly into the edge beside it, or its circle touches the line or circle of an edge elsewhere.",
    },
    Word {
        name: "equal",
        call: "outline.equal(edge, edge)",
        meaning: "Two straight edges have the same length, or two arcs the same radius.",
    },
    Word {
        name: "coincident",
        call: "outline.coincident(point, point) or (point, edge) or (edge, edge)",
        meaning: "Two points are one, a point lies on an edge or its extension, or two straight edges lie in one line. Points are corners, places and `centre(arc)`.",
    },
    Word {
        name: "symmetric",
        call: "outline.symmetric(a, b, edge)",
        meaning: "Two points, two straight edges or two arcs mirror each other about a straight edge, \"x axis\" or \"y axis\".",
    },
    Word {
        name: "distance",
        call: "outline.distance(a, b, value)",
        meaning: "Distance between two points, from a point to a straight edge, or between two straight edges, which become parallel; on the side on which they were drawn.",
    },
    Word { name: "length", call: "outline.length(edge, value)", meaning: "Length of a straight edge." },
    Word {
        name: "corner_angle",
        call: "outline.corner_angle(edge, edge, degrees)",
        meaning: "Angle between two straight edges, 0 to 180, as seen from the corner where they meet or would meet.",
    },
    Word { name: "radius", call: "outline.radius(arc, value)", meaning: "Radius of an arc." },
    Word {
        name: "fix",
        call: "outline.fix(point, x, y)",
        meaning: "Puts a corner, or the centre of an arc, at a place.",
    },
    Word { name: "centre", call: "centre(arc)", meaning: "The centre of an arc, as a point for relations." },
];

type Call<'c> = NativeCallContext<'c>;

/// Reads what a relation is about.
struct Reader<'a, 'c> {
    context: &'a Call<'c>,
    function: &'static str,
}

impl Reader<'_, '_> {
    fn edge(&self, value: Dynamic) -> Bound<String> {
        argument(self.context, self.function, "edge", value).text()
    }

    fn number(&self, name: &str, value: Dynamic) -> Bound<Number> {
        argument(self.context, self.function, name, value).number()
    }

    /// An edge or an axis by its name, a corner or a place as a list, or the centre of an arc.
    fn element(&self, value: Dynamic) -> Bound<Element> {
        let wanted = "an edge, a corner `[edge, edge]`, a place `[x, y]` or `centre(arc)`";
        if let Some(name) = value.clone().try_cast::<ImmutableString>() {
            return Ok(match name.as_str() {
                "x axis" => Element::XAxis,
                "y axis" => Element::YAxis,
                edge => Element::Edge(edge.to_owned()),
            });
        }
        if let Some(list) = value.clone().try_cast::<Array>()
            && let [a, b] = list.as_slice()
        {
            if let Some((x, y)) = as_number(a).zip(as_number(b)) {
                return Ok(Element::Place([x, y]));
            }
            let name = |d: &Dynamic| d.clone().try_cast::<ImmutableString>().map(String::from);
            if let Some((a, b)) = name(a).zip(name(b)) {
                return Ok(Element::Corner([a, b]));
            }
        }
        argument(self.context, self.function, "element", value).handle(wanted)
    }
}

/// Adds relations to outlines.
#[derive(Clone)]
struct Relations {
    session: Shared,
}

impl Relations {
    /// Adds the relation that a function makes of its arguments.
    fn add<const N: usize>(
        &self,
        context: &Call<'_>,
        function: &'static str,
        outline: &mut Outline,
        given: [Dynamic; N],
        relation: fn(&Reader<'_, '_>, [Dynamic; N]) -> Bound<ProfileRelation>,
    ) -> Bound<()> {
        let relation = relation(&Reader { context, function }, given)?;
        let span = Some(self.session.span(context));
        outline.relate(context, RelationEntry { relation, span })
    }
}

fn register_on_one(
    engine: &mut Engine,
    session: &Shared,
    function: &'static str,
    relation: fn(&Reader<'_, '_>, [Dynamic; 1]) -> Bound<ProfileRelation>,
) {
    let relations = Relations { session: session.clone() };
    engine.register_fn(function, move |c: Call<'_>, o: &mut Outline, a: Dynamic| -> Bound<()> {
        relations.add(&c, function, o, [a], relation)
    });
}

fn register_on_two(
    engine: &mut Engine,
    session: &Shared,
    function: &'static str,
    relation: fn(&Reader<'_, '_>, [Dynamic; 2]) -> Bound<ProfileRelation>,
) {
    let relations = Relations { session: session.clone() };
    engine.register_fn(function, move |c: Call<'_>, o: &mut Outline, a: Dynamic, b: Dynamic| -> Bound<()> {
        relations.add(&c, function, o, [a, b], relation)
    });
}

fn register_on_three(
    engine: &mut Engine,
    session: &Shared,
    function: &'static str,
    relation: fn(&Reader<'_, '_>, [Dynamic; 3]) -> Bound<ProfileRelation>,
) {
    let relations = Relations { session: session.clone() };
    engine.register_fn(
        function,
        move |c: Call<'_>, o: &mut Outline, a: Dynamic, b: Dynamic, third: Dynamic| -> Bound<()> {
            relations.add(&c, function, o, [a, b, third], relation)
        },
    );
}

pub(super) fn register(engine: &mut Engine, session: &Shared) {
    engine.register_type_with_name::<Element>("point");
    register_text(engine, |element: &mut Element| element.to_string());
    engine.register_fn("centre", |c: Call<'_>, arc: Dynamic| -> Bound<Element> {
        Ok(Element::Centre(argument(&c, "centre", "arc", arc).text()?))
    });
    engine.register_fn(
        "sketch",
        |c: Call<'_>, part: &mut Part, name: Dynamic, outline: Dynamic| -> Bound<Outline> {
            let name = argument(&c, "sketch", "name", name).text()?;
            check_plain_name(&name).map_err(|e| refuse(&c, ScriptFault::Name(e)))?;
            let outline: Outline = argument(&c, "sketch", "outline", outline)
                .handle("an outline, for example `rectangle(300, 200)`")?;
            let drawn = outline.closed(&c)?;
            let span = Some(part.session.span(&c));
            let made = part.session.with_draft(|draft| {
                if draft.free_numbers.iter().any(|number| number.sketch.as_ref() == Some(&name)) {
                    return Err(ScriptFault::SketchTwice { name });
                }
                drawn.sketched(&name, span, &mut draft.free_numbers).map_err(ScriptFault::Sketch)
            });
            made.map(Outline::of).map_err(|fault| refuse(&c, fault))
        },
    );

    register_on_two(engine, session, "parallel", |read, [a, b]| {
        Ok(ProfileRelation::Parallel { a: read.element(a)?, b: read.element(b)? })
    });
    register_on_two(engine, session, "perpendicular", |read, [a, b]| {
        Ok(ProfileRelation::Perpendicular { a: read.element(a)?, b: read.element(b)? })
    });
    register_on_one(engine, session, "horizontal", |read, [edge]| {
        Ok(ProfileRelation::Horizontal { edge: read.edge(edge)? })
    });
    register_on_one(engine, session, "vertical", |read, [edge]| {
        Ok(ProfileRelation::Vertical { edge: read.edge(edge)? })
    });
    register_on_two(engine, session, "tangent", |read, [a, b]| {
        Ok(ProfileRelation::Tangent { a: read.element(a)?, b: read.element(b)? })
    });
    register_on_two(engine, session, "equal", |read, [a, b]| {
        Ok(ProfileRelation::Equal { a: read.edge(a)?, b: read.edge(b)? })
    });
    register_on_two(engine, session, "coincident", |read, [a, b]| {
        Ok(ProfileRelation::Coincident { a: read.element(a)?, b: read.element(b)? })
    });
    register_on_three(engine, session, "symmetric", |read, [a, b, about]| {
        let [a, b] = [read.element(a)?, read.element(b)?];
        Ok(ProfileRelation::Symmetric { a, b, about: read.element(about)? })
    });
    register_on_three(engine, session, "distance", |read, [a, b, value]| {
        let [a, b] = [read.element(a)?, read.element(b)?];
        Ok(ProfileRelation::Distance { a, b, value: read.number("value", value)? })
    });
    register_on_two(engine, session, "length", |read, [edge, value]| {
        Ok(ProfileRelation::Length { edge: read.edge(edge)?, value: read.number("value", value)? })
    });
    register_on_three(engine, session, "corner_angle", |read, [a, b, degrees]| {
        let [a, b] = [read.element(a)?, read.element(b)?];
        Ok(ProfileRelation::Angle { a, b, value: read.number("degrees", degrees)? })
    });
    register_on_two(engine, session, "radius", |read, [edge, value]| {
        Ok(ProfileRelation::Radius { edge: read.edge(edge)?, value: read.number("value", value)? })
    });
    register_on_three(engine, session, "fix", |read, [point, x, y]| {
        let place = Element::Place([read.number("x", x)?, read.number("y", y)?]);
        Ok(ProfileRelation::Coincident { a: read.element(point)?, b: place })
    });
}
