//! `round_corners`, `chamfer_corners`: broken outer corners.
//!
//! Invariant: without a list of corners all outer ones are meant.

use kernel::history::Number;
use kernel::history::feature::{BreakShape, CornerBreak, CornerName, Corners, Feature};
use rhai::{Dynamic, Engine, NativeCallContext};

use super::Word;
use super::part::Part;
use crate::options::argument;
use crate::session::Bound;

pub(super) const WORDS: &[Word] = &[
    Word {
        name: "round_corners",
        call: "part.round_corners(name, radius) or (name, [corner, ...], radius)",
        meaning: "Rounds all outer corners of the panels so far, those where a cut notches the outline included, or the given ones. Corners at bends, beside reliefs and those broken already stay.",
    },
    Word {
        name: "chamfer_corners",
        call: "part.chamfer_corners(name, size) or (name, [corner, ...], size)",
        meaning: "Cuts all outer corners of the panels so far straight, as `round_corners` does, or the given ones, `size` along both sides.",
    },
];

pub(super) fn register(engine: &mut Engine) {
    register_break(engine, "round_corners", "radius", BreakShape::Round);
    register_break(engine, "chamfer_corners", "size", BreakShape::Chamfer);
}

fn register_break(
    engine: &mut Engine,
    function: &'static str,
    size: &'static str,
    shape: fn(Number) -> BreakShape,
) {
    engine.register_fn(
        function,
        move |context: NativeCallContext<'_>, part: &mut Part, name: Dynamic, value: Dynamic| -> Bound<()> {
            let name = argument(&context, function, "name", name).text()?;
            let shape = shape(argument(&context, function, size, value).number()?);
            part.add(&context, name, Feature::CornerBreak(CornerBreak { corners: Corners::AllOuter, shape }));
            Ok(())
        },
    );
    engine.register_fn(
        function,
        move |context: NativeCallContext<'_>,
              part: &mut Part,
              name: Dynamic,
              corners: Dynamic,
              value: Dynamic|
              -> Bound<()> {
            let name = argument(&context, function, "name", name).text()?;
            let one = |d| {
                argument(&context, function, "corners", d)
                    .handle::<CornerName>("a corner, for example `lid.corner(\"front\", \"left\")`")
            };
            let list = argument(&context, function, "corners", corners).list()?;
            let corners = Corners::Named(list.into_iter().map(one).collect::<Bound<_>>()?);
            let shape = shape(argument(&context, function, size, value).number()?);
            part.add(&context, name, Feature::CornerBreak(CornerBreak { corners, shape }));
            Ok(())
        },
    );
}
