//! Dimensions: `inside`, `outside`, `width`, `angle`, and `hold` or `measure` them.
//!
//! Invariant: a measure says between what; `hold` says how much.

use kernel::history::{DimensionEntry, DimensionKind, EdgeName, PanelName, Target};
use rhai::{Dynamic, Engine, NativeCallContext};

use super::panel::Panels;
use super::part::Part;
use super::{Word, register_text};
use crate::options::argument;
use crate::session::Bound;

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
        name: "hold",
        call: "part.hold(name, measure, value)",
        meaning: "Makes the solver change free numbers until the measure has this value.",
    },
    Word { name: "measure", call: "part.measure(name, measure)", meaning: "Only reports the measure." },
];

pub(super) fn register(engine: &mut Engine) {
    engine.register_type_with_name::<DimensionKind>("measure");
    register_text(engine, |_: &mut DimensionKind| "a measure".to_owned());
    register_between(engine, "inside", |a, b| DimensionKind::Inside { a, b });
    register_between(engine, "outside", |a, b| DimensionKind::Outside { a, b });
    register_between(engine, "angle", |a, b| DimensionKind::Angle { a, b });
    engine.register_fn(
        "width",
        |context: NativeCallContext<'_>, a: Dynamic, b: Dynamic| -> Bound<DimensionKind> {
            let edge = |value| argument(&context, "width", "edge", value).handle::<EdgeName>("an edge");
            Ok(DimensionKind::PanelWidth { a: edge(a)?, b: edge(b)? })
        },
    );
    engine.register_fn(
        "hold",
        |context: NativeCallContext<'_>,
         part: &mut Part,
         name: Dynamic,
         measure: Dynamic,
         value: Dynamic|
         -> Bound<()> {
            let value = argument(&context, "hold", "value", value).number()?;
            add(&context, part, "hold", name, measure, Target::Held(value))
        },
    );
    engine.register_fn(
        "measure",
        |context: NativeCallContext<'_>, part: &mut Part, name: Dynamic, measure: Dynamic| -> Bound<()> {
            add(&context, part, "measure", name, measure, Target::Measured)
        },
    );
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

fn add(
    context: &NativeCallContext<'_>,
    part: &Part,
    function: &str,
    name: Dynamic,
    measure: Dynamic,
    target: Target,
) -> Bound<()> {
    let name = argument(context, function, "name", name).text()?;
    let kind = argument(context, function, "measure", measure)
        .handle("a measure, for example `inside(panel, panel)`")?;
    let span = Some(part.session.span(context));
    part.session.with_draft(|draft| draft.dimensions.push(DimensionEntry { name, kind, target, span }));
    Ok(())
}
