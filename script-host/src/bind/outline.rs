//! Outlines and shapes: `rectangle`, `outline`, `circle`, `slot`, `bolt_hole`, `bolt_slot`.
//!
//! Invariant: an outline has an edge for every corner once it is closed.

use kernel::history::{EdgeShape, Number, Profile, ProfileEdge, RelationEntry, Shape};
use kernel::stock::ClearanceFit;
use rhai::{Dynamic, Engine, Map, NativeCallContext};

use super::neighbour::{A_NEIGHBOUR, NeighbourHandle};
use super::{Word, register_text};
use crate::fault::ScriptFault;
use crate::options::{Argument, Options, argument};
use crate::session::{Bound, refuse};

pub(super) const WORDS: &[Word] = &[
    Word {
        name: "rectangle",
        call: "rectangle(length, width)",
        meaning: "A rectangle from the origin along x and y; edges `front`, `right`, `back`, `left`.",
    },
    Word {
        name: "outline",
        call: "outline(x, y)",
        meaning: "Begins an outline of lines and arcs at a point.",
    },
    Word {
        name: "line_to",
        call: "outline.line_to(x, y) or (x, y, name)",
        meaning: "Goes straight to a point; the edge can be given a name.",
    },
    Word {
        name: "arc_to",
        call: "outline.arc_to(x, y, radius) or (x, y, radius, name)",
        meaning: "Goes to a point along an arc of at most a half circle; a positive radius turns left.",
    },
    Word {
        name: "arc_through",
        call: "outline.arc_through(via_x, via_y, x, y) or (via_x, via_y, x, y, name)",
        meaning: "Goes to a point along the arc through another one.",
    },
    Word {
        name: "close",
        call: "outline.close() or (name)",
        meaning: "Goes straight back to the start, or ends there if the outline is there already.",
    },
    Word { name: "circle", call: "circle(diameter)", meaning: "A round opening about its place." },
    Word {
        name: "slot",
        call: "slot(length, width) or (length, width, direction)",
        meaning: "A slot with round ends about its place; length over the ends, direction in degrees from x.",
    },
    Word {
        name: "bolt_hole",
        call: "bolt_hole(bolt) or (bolt, fit)",
        meaning: "The clearance hole of a bolt, \"M1.6\" to \"M64\", or of a bolt among the neighbours, after ISO 273; the fit is \"fine\", \"medium\" (default) or \"coarse\".",
    },
    Word {
        name: "bolt_slot",
        call: "bolt_slot(bolt, length) or (bolt, length, #{ fit, direction })",
        meaning: "A slot as wide as the clearance hole of a bolt; length over the ends, direction in degrees from x.",
    },
];

/// An outline on the way, or closed.
#[derive(Clone, Debug)]
pub(super) struct Outline {
    profile: Profile,
    closed: bool,
}

impl Outline {
    /// The finished outline.
    pub(super) fn closed(self, context: &NativeCallContext<'_>) -> Bound<Profile> {
        if self.closed { Ok(self.profile) } else { Err(refuse(context, ScriptFault::OutlineOpen)) }
    }

    /// A closed outline.
    pub(super) fn of(profile: Profile) -> Self {
        Self { profile, closed: true }
    }

    /// Adds a relation between its edges and corners.
    pub(super) fn relate(&mut self, context: &NativeCallContext<'_>, relation: RelationEntry) -> Bound<()> {
        if !self.closed {
            return Err(refuse(context, ScriptFault::OutlineOpen));
        }
        self.profile.relations.push(relation);
        Ok(())
    }

    fn go(
        &self,
        context: &NativeCallContext<'_>,
        to: [Number; 2],
        shape: EdgeShape,
        name: Option<String>,
    ) -> Bound<Self> {
        if self.closed {
            return Err(refuse(context, ScriptFault::OutlineClosed));
        }
        let mut next = self.clone();
        next.edge(shape, name);
        next.profile.corners.push(to);
        Ok(next)
    }

    fn edge(&mut self, shape: EdgeShape, name: Option<String>) {
        let name = name.unwrap_or_else(|| format!("side-{}", self.profile.edges.len() + 1));
        self.profile.edges.push(ProfileEdge { name, shape });
    }

    fn close(&self, context: &NativeCallContext<'_>, name: Option<String>) -> Bound<Self> {
        if self.closed {
            return Err(refuse(context, ScriptFault::OutlineClosed));
        }
        let mut next = self.clone();
        next.closed = true;
        let corners = &next.profile.corners;
        // Back at the start already: the last corner is the first one.
        if corners.len() > 1 && corners.first() == corners.last() {
            next.profile.corners.pop();
            if let (Some(name), Some(edge)) = (name, next.profile.edges.last_mut()) {
                edge.name = name;
            }
        } else {
            next.edge(EdgeShape::Line, name);
        }
        Ok(next)
    }
}

type Call<'c> = NativeCallContext<'c>;

fn numbers<const N: usize>(
    context: &Call<'_>,
    function: &str,
    given: [(&str, Dynamic); N],
) -> Bound<[Number; N]> {
    let mut read = Vec::with_capacity(N);
    for (name, value) in given {
        read.push(argument(context, function, name, value).number()?);
    }
    Ok(<[Number; N]>::try_from(read).expect("as many numbers as were given"))
}

fn name_of(context: &Call<'_>, function: &str, name: Dynamic) -> Bound<Option<String>> {
    argument(context, function, "name", name).text().map(Some)
}

pub(super) fn register(engine: &mut Engine) {
    engine.register_type_with_name::<Outline>("outline");
    register_text(engine, |_: &mut Outline| "an outline".to_owned());
    engine.register_type_with_name::<Shape>("shape");
    register_text(engine, |_: &mut Shape| "a shape".to_owned());
    engine.register_fn("rectangle", |c: Call<'_>, length: Dynamic, width: Dynamic| -> Bound<Outline> {
        let [length, width] = numbers(&c, "rectangle", [("length", length), ("width", width)])?;
        for (name, size) in [("length", &length), ("width", &width)] {
            if let Some(got) = size.as_constant().filter(|size| *size <= 0.0) {
                let place = format!("`rectangle`: `{name}`");
                let got = format!("the number {got}");
                return Err(refuse(&c, ScriptFault::WrongType { place, wanted: "a number above zero", got }));
            }
        }
        Ok(Outline::of(Profile::rectangle(&length, &width)))
    });
    engine.register_fn("outline", |c: Call<'_>, x: Dynamic, y: Dynamic| -> Bound<Outline> {
        let start = numbers(&c, "outline", [("x", x), ("y", y)])?;
        Ok(Outline { profile: Profile::new(vec![start], Vec::new()), closed: false })
    });
    engine.register_fn("line_to", |c: Call<'_>, o: &mut Outline, x: Dynamic, y: Dynamic| -> Bound<Outline> {
        o.go(&c, numbers(&c, "line_to", [("x", x), ("y", y)])?, EdgeShape::Line, None)
    });
    engine.register_fn(
        "line_to",
        |c: Call<'_>, o: &mut Outline, x: Dynamic, y: Dynamic, name: Dynamic| -> Bound<Outline> {
            let name = name_of(&c, "line_to", name)?;
            o.go(&c, numbers(&c, "line_to", [("x", x), ("y", y)])?, EdgeShape::Line, name)
        },
    );
    let arc_to = |c: &Call<'_>, o: &Outline, given: [Dynamic; 3], name: Option<String>| {
        let [x, y, radius] = given;
        let [x, y, radius] = numbers(c, "arc_to", [("x", x), ("y", y), ("radius", radius)])?;
        o.go(c, [x, y], EdgeShape::Arc(radius), name)
    };
    engine.register_fn(
        "arc_to",
        move |c: Call<'_>, o: &mut Outline, x: Dynamic, y: Dynamic, radius: Dynamic| -> Bound<Outline> {
            arc_to(&c, o, [x, y, radius], None)
        },
    );
    engine.register_fn(
        "arc_to",
        move |c: Call<'_>,
              o: &mut Outline,
              x: Dynamic,
              y: Dynamic,
              radius: Dynamic,
              name: Dynamic|
              -> Bound<Outline> {
            let name = name_of(&c, "arc_to", name)?;
            arc_to(&c, o, [x, y, radius], name)
        },
    );
    let arc_through = |c: &Call<'_>, o: &Outline, given: [Dynamic; 4], name: Option<String>| {
        let [via_x, via_y, x, y] = given;
        let [via_x, via_y, x, y] =
            numbers(c, "arc_through", [("via_x", via_x), ("via_y", via_y), ("x", x), ("y", y)])?;
        o.go(c, [x, y], EdgeShape::ArcThrough([via_x, via_y]), name)
    };
    engine.register_fn(
        "arc_through",
        move |c: Call<'_>,
              o: &mut Outline,
              vx: Dynamic,
              vy: Dynamic,
              x: Dynamic,
              y: Dynamic|
              -> Bound<Outline> { arc_through(&c, o, [vx, vy, x, y], None) },
    );
    engine.register_fn(
        "arc_through",
        move |c: Call<'_>,
              o: &mut Outline,
              vx: Dynamic,
              vy: Dynamic,
              x: Dynamic,
              y: Dynamic,
              name: Dynamic|
              -> Bound<Outline> {
            let name = name_of(&c, "arc_through", name)?;
            arc_through(&c, o, [vx, vy, x, y], name)
        },
    );
    engine.register_fn("close", |c: Call<'_>, o: &mut Outline| -> Bound<Outline> { o.close(&c, None) });
    engine.register_fn("close", |c: Call<'_>, o: &mut Outline, name: Dynamic| -> Bound<Outline> {
        let name = name_of(&c, "close", name)?;
        o.close(&c, name)
    });
    engine.register_fn("circle", |c: Call<'_>, diameter: Dynamic| -> Bound<Shape> {
        Ok(Shape::Circle { diameter: argument(&c, "circle", "diameter", diameter).number()? })
    });
    let slot = |c: &Call<'_>, length: Dynamic, width: Dynamic, direction: Dynamic| {
        let [length, width, direction] =
            numbers(c, "slot", [("length", length), ("width", width), ("direction", direction)])?;
        Ok(Shape::Slot { length, width, direction })
    };
    engine.register_fn("slot", move |c: Call<'_>, length: Dynamic, width: Dynamic| -> Bound<Shape> {
        slot(&c, length, width, Dynamic::from(0.0))
    });
    engine.register_fn(
        "slot",
        move |c: Call<'_>, length: Dynamic, width: Dynamic, direction: Dynamic| -> Bound<Shape> {
            slot(&c, length, width, direction)
        },
    );
    register_bolts(engine);
}

fn register_bolts(engine: &mut Engine) {
    let hole = |c: &Call<'_>, bolt: Dynamic, fit: ClearanceFit| -> Bound<Shape> {
        Ok(Shape::BoltHole { bolt: size_of(argument(c, "bolt_hole", "bolt", bolt))?, fit })
    };
    engine.register_fn("bolt_hole", move |c: Call<'_>, bolt: Dynamic| -> Bound<Shape> {
        hole(&c, bolt, ClearanceFit::Medium)
    });
    engine.register_fn("bolt_hole", move |c: Call<'_>, bolt: Dynamic, fit: Dynamic| -> Bound<Shape> {
        let fit = argument(&c, "bolt_hole", "fit", fit).word(&fits())?;
        hole(&c, bolt, fit)
    });
    let slot = |c: &Call<'_>, bolt: Dynamic, length: Dynamic, options: Map| -> Bound<Shape> {
        let bolt = size_of(argument(c, "bolt_slot", "bolt", bolt))?;
        let length = argument(c, "bolt_slot", "length", length).number()?;
        let mut options = Options::new(c, "bolt_slot", options, &["fit", "direction"])?;
        let fit = options.word_or("fit", &fits(), ClearanceFit::Medium)?;
        Ok(Shape::BoltSlot { bolt, fit, length, direction: options.number_or("direction", 0.0)? })
    };
    engine.register_fn("bolt_slot", move |c: Call<'_>, bolt: Dynamic, length: Dynamic| -> Bound<Shape> {
        slot(&c, bolt, length, Map::new())
    });
    engine.register_fn(
        "bolt_slot",
        move |c: Call<'_>, bolt: Dynamic, length: Dynamic, options: Map| -> Bound<Shape> {
            slot(&c, bolt, length, options)
        },
    );
}

/// The thread size of a bolt, given by its size or as a neighbour.
fn size_of(bolt: Argument<'_, '_>) -> Bound<String> {
    if !bolt.is::<NeighbourHandle>() {
        return bolt.text();
    }
    let handle: NeighbourHandle = bolt.as_handle(A_NEIGHBOUR)?;
    handle.bolt_size.ok_or_else(|| bolt.wrong("a bolt"))
}

fn fits() -> [(&'static str, ClearanceFit); 3] {
    ClearanceFit::ALL.map(|fit| (fit.word(), fit))
}
