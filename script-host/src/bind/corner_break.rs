//! `round_corners`, `chamfer_corners`: broken outer corners.
//!
//! Invariant: without a list of corners all outer ones are meant, but for those that an option leaves out.

use kernel::history::Number;
use kernel::history::feature::{BreakShape, CornerBreak, CornerName, Corners, Feature};
use rhai::{Dynamic, Engine, Map, NativeCallContext};

use super::Word;
use super::part::Part;
use crate::options::{Argument, Options, argument};
use crate::session::Bound;

pub(super) const WORDS: &[Word] = &[
    Word {
        name: "round_corners",
        call: "part.round_corners(name, radius) or (name, radius, #{ except: [corner, ...] }) or (name, [corner, ...], radius)",
        meaning: "Rounds all outer corners of the panels so far, those where a cut notches the outline included, all but some, or the given ones. Corners at bends, beside reliefs and those broken already stay.",
    },
    Word {
        name: "chamfer_corners",
        call: "part.chamfer_corners(name, size) or (name, size, #{ except: [corner, ...] }) or (name, [corner, ...], size)",
        meaning: "Cuts all outer corners of the panels so far straight, as `round_corners` does, all but some, or the given ones, `size` along both sides.",
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
              second: Dynamic,
              third: Dynamic|
              -> Bound<()> {
            let name = argument(&context, function, "name", name).text()?;
            // Options come last, as everywhere; without them the corners stand before the size.
            let (corners, value) = match third.try_cast_result::<Map>() {
                Ok(options) => {
                    let mut options = Options::new(&context, function, options, &["except"])?;
                    let but = named(&context, function, options.need("except")?)?;
                    (Corners::AllOuterBut(but), second)
                }
                Err(size) => {
                    let corners = argument(&context, function, "corners", second);
                    (Corners::Named(named(&context, function, corners)?), size)
                }
            };
            let shape = shape(argument(&context, function, size, value).number()?);
            part.add(&context, name, Feature::CornerBreak(CornerBreak { corners, shape }));
            Ok(())
        },
    );
}

/// A list of corners.
fn named(
    context: &NativeCallContext<'_>,
    function: &'static str,
    corners: Argument<'_, '_>,
) -> Bound<Vec<CornerName>> {
    let one = |corner| {
        argument(context, function, "corners", corner)
            .handle("a corner, for example `lid.corner(\"front\", \"left\")`")
    };
    corners.list()?.into_iter().map(one).collect()
}
