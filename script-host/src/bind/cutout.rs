//! `cut`, how far it goes, and the patterns in which openings are set.
//!
//! Invariant: a shape is set as drawn; coordinates are those of the panel.

use kernel::history::feature::{
    Cutout, Facing, Feature, FillArea, Pattern, Reach, Spacing, Straight, StraightSide, XFrom,
};
use kernel::history::{Number, Shape};
use rhai::{Dynamic, Engine, Map, NativeCallContext};

use super::neighbour::axes;
use super::outline::Outline;
use super::panel::Panels;
use super::part::Part;
use super::{Word, register_text};
use crate::options::{Argument, Options, argument};
use crate::session::Bound;

pub(super) const WORDS: &[Word] = &[
    Word {
        name: "cut",
        call: "part.cut(name, panel, shape, pattern) or (name, panel, shape, pattern, #{ x_from, reach })",
        meaning: "Cuts a shape out of one panel at every place of a pattern. On a flange, x counts along the whole edge that it stands on, insets included, from the edge's \"left\" end (default) or from its \"middle\", and y from where the flange's length is measured. On a panel behind a line (`fold`, `offset`), x runs along the bend from its left end, seen from the bend with the inner face up, and y away from it, from where the bend ends. With `reach: \"blank\"` the shape is laid on the flat blank and cuts all it meets there, bends and other panels too; by default (`\"panel\"`) it must keep clear of bends. With `reach: straight(…)` the cut goes straight through the folded part.",
    },
    Word {
        name: "straight",
        call: "straight() or straight(#{ along: [x, y, z], side, panels: [panel, ...] })",
        meaning: "How far a cut goes: straight through the folded part, so that one can look through the opening past both faces of every sheet. It runs square to the panel it is drawn on, or along a direction given in that panel's x, y and normal (towards its inner face); on \"both\" sides of the panel (default), or from there only towards its \"inner\" or its \"outer\" face and beyond. `panels` limits it to these panels and the bends between two of them; all must be met.",
    },
    Word {
        name: "on_axis",
        call: "on_axis(neighbour) or on_axis([neighbour or neighbour.axis(name), ...])",
        meaning: "Places where the axes of neighbours meet the panel, which must be square to them; they follow when the panel moves.",
    },
    Word { name: "at", call: "at(x, y)", meaning: "One place." },
    Word { name: "places", call: "places([[x, y], ...])", meaning: "Several places." },
    Word {
        name: "grid",
        call: "grid(#{ from: [x, y], columns, rows, column_pitch, row_pitch, staggered })",
        meaning: "Places in rows and columns; staggered, every second row is shifted by half a pitch and has one place less.",
    },
    Word {
        name: "row",
        call: "row(#{ from: [x, y], to: [x, y], count }) or row(#{ from, to, pitch, ends })",
        meaning: "Places along a line: so many, evenly from end to end, or as many as there is room for at a `pitch`, at least `ends` (0 by default) away from both ends and centred.",
    },
    Word {
        name: "ring",
        call: "ring(#{ centre: [x, y], diameter, count, first, span, facing })",
        meaning: "Places evenly on a circle, the first one in the direction `first` (degrees from x, 0 by default), the last one `span` degrees further, counter-clockwise (once around by default). The x of the shape stays \"fixed\" (default), points \"outward\", or \"along\" the ring.",
    },
    Word {
        name: "fill",
        call: "fill(#{ pitch | column_pitch + row_pitch, staggered, margin, from: [x, y], to: [x, y] })",
        meaning: "As many openings as fit into the panel, or into the rectangle between two corners, centred; none comes nearer than `margin` (0 by default) to an edge, a bend or an opening cut before. With one `pitch`, staggered rows are √3/2 of it apart, so that all webs of round openings are alike.",
    },
];

/// What a pattern is called where something else was given.
pub(super) const A_PATTERN: &str = "a pattern, for example `at(20, 30)` or `grid(#{ … })`";

/// More rows or columns than this are a slip of the pen.
const MOST_IN_A_ROW: u32 = 100_000;

pub(super) fn register(engine: &mut Engine) {
    engine.register_type_with_name::<Pattern>("pattern");
    register_text(engine, |_: &mut Pattern| "a pattern".to_owned());
    engine.register_fn(
        "cut",
        |context: NativeCallContext<'_>,
         part: &mut Part,
         name: Dynamic,
         panel: Dynamic,
         shape: Dynamic,
         pattern: Dynamic|
         -> Bound<()> { cut(&context, part, [name, panel, shape, pattern], Map::new()) },
    );
    engine.register_fn(
        "cut",
        |context: NativeCallContext<'_>,
         part: &mut Part,
         name: Dynamic,
         panel: Dynamic,
         shape: Dynamic,
         pattern: Dynamic,
         options: Map|
         -> Bound<()> { cut(&context, part, [name, panel, shape, pattern], options) },
    );
    engine.register_type_with_name::<Straight>("straight cut");
    register_text(engine, |_: &mut Straight| "a straight cut".to_owned());
    engine.register_fn("straight", |context: NativeCallContext<'_>| straight(&context, Map::new()));
    engine
        .register_fn("straight", |context: NativeCallContext<'_>, options: Map| straight(&context, options));
    engine.register_fn("at", |context: NativeCallContext<'_>, x: Dynamic, y: Dynamic| -> Bound<Pattern> {
        let x = argument(&context, "at", "x", x).number()?;
        let y = argument(&context, "at", "y", y).number()?;
        Ok(Pattern::At(vec![[x, y]]))
    });
    engine.register_fn("on_axis", |context: NativeCallContext<'_>, neighbours: Dynamic| -> Bound<Pattern> {
        Ok(Pattern::OnAxes(axes(&context, "on_axis", neighbours)?))
    });
    engine.register_fn("places", |context: NativeCallContext<'_>, points: Dynamic| -> Bound<Pattern> {
        let points = argument(&context, "places", "points", points).list()?;
        let point = |p| argument(&context, "places", "points", p).point();
        Ok(Pattern::At(points.into_iter().map(point).collect::<Bound<_>>()?))
    });
    engine.register_fn("grid", |context: NativeCallContext<'_>, options: Map| -> Bound<Pattern> {
        let allowed = ["from", "columns", "rows", "column_pitch", "row_pitch", "staggered"];
        let mut options = Options::new(&context, "grid", options, &allowed)?;
        Ok(Pattern::Grid {
            from: options.need("from")?.point()?,
            columns: options.need("columns")?.count(1, MOST_IN_A_ROW)?,
            rows: options.need("rows")?.count(1, MOST_IN_A_ROW)?,
            column_pitch: options.number_or("column_pitch", 0.0)?,
            row_pitch: options.number_or("row_pitch", 0.0)?,
            staggered: options.get("staggered").map_or(Ok(false), Argument::truth)?,
        })
    });
    engine.register_fn("row", |context: NativeCallContext<'_>, options: Map| -> Bound<Pattern> {
        let allowed = ["from", "to", "count", "pitch", "ends"];
        let mut options = Options::new(&context, "row", options, &allowed)?;
        options.not_both("count", "pitch")?;
        options.not_both("count", "ends")?;
        let (from, to) = (options.need("from")?.point()?, options.need("to")?.point()?);
        let spacing = match options.get("count") {
            Some(count) => Spacing::Count(count.count(1, MOST_IN_A_ROW)?),
            None => Spacing::Pitch {
                pitch: options.need("pitch")?.number()?,
                ends: options.number_or("ends", 0.0)?,
            },
        };
        Ok(Pattern::Row { from, to, spacing })
    });
    engine.register_fn("ring", |context: NativeCallContext<'_>, options: Map| -> Bound<Pattern> {
        let allowed = ["centre", "diameter", "count", "first", "span", "facing"];
        let mut options = Options::new(&context, "ring", options, &allowed)?;
        let words = [("fixed", Facing::Fixed), ("outward", Facing::Outward), ("along", Facing::Along)];
        Ok(Pattern::Ring {
            centre: options.need("centre")?.point()?,
            diameter: options.need("diameter")?.number()?,
            count: options.need("count")?.count(1, MOST_IN_A_ROW)?,
            first: options.number_or("first", 0.0)?,
            span: options.number_or("span", 360.0)?,
            facing: options.word_or("facing", &words, Facing::Fixed)?,
        })
    });
    engine.register_fn("fill", |context: NativeCallContext<'_>, options: Map| -> Bound<Pattern> {
        fill(Options::new(&context, "fill", options, &FILL_OPTIONS)?)
    });
}

const FILL_OPTIONS: [&str; 7] = ["pitch", "column_pitch", "row_pitch", "staggered", "margin", "from", "to"];

fn fill(mut options: Options<'_, '_>) -> Bound<Pattern> {
    options.not_both("pitch", "column_pitch")?;
    options.not_both("pitch", "row_pitch")?;
    let staggered = options.get("staggered").map_or(Ok(false), Argument::truth)?;
    let (column_pitch, row_pitch) = match options.get("pitch") {
        Some(pitch) => {
            let pitch = pitch.number()?;
            // Rows of equilateral triangles.
            let row_pitch = if staggered { pitch.times(0.5 * 3.0_f64.sqrt()) } else { pitch.clone() };
            (pitch, row_pitch)
        }
        None => (options.need("column_pitch")?.number()?, options.need("row_pitch")?.number()?),
    };
    let margin = options.number_or("margin", 0.0)?;
    let area = match (options.get("from"), options.get("to")) {
        (None, None) => FillArea::Panel,
        (Some(from), Some(to)) => FillArea::Rectangle { from: from.point()?, to: to.point()? },
        (Some(_), None) => return Err(options.missing("to")),
        (None, Some(_)) => return Err(options.missing("from")),
    };
    Ok(Pattern::Fill { area, column_pitch, row_pitch, staggered, margin })
}

fn cut(
    context: &NativeCallContext<'_>,
    part: &Part,
    [name, panel, shape, pattern]: [Dynamic; 4],
    options: Map,
) -> Bound<()> {
    let name = argument(context, "cut", "name", name).text()?;
    let panels: Panels = argument(context, "cut", "panel", panel).handle("a panel")?;
    let panel = panels.only(context)?.clone();
    let shape = shape_of(context, argument(context, "cut", "shape", shape.clone()), shape)?;
    let pattern = argument(context, "cut", "pattern", pattern).handle(A_PATTERN)?;
    let mut options = Options::new(context, "cut", options, &["x_from", "reach"])?;
    let words = [("left", XFrom::Left), ("middle", XFrom::Middle)];
    let x_from = options.word_or("x_from", &words, XFrom::Left)?;
    let reach = options.get("reach").map_or(Ok(Reach::Panel), reach_of)?;
    part.add(context, name, Feature::Cutout(Cutout { panel, shape, pattern, x_from, reach }));
    Ok(())
}

/// A word, or the handle of a straight cut.
fn reach_of(reach: Argument<'_, '_>) -> Bound<Reach> {
    if reach.is::<Straight>() {
        return Ok(Reach::Straight(reach.handle("`straight(…)`")?));
    }
    let on_blank = reach.word(&[("panel", false), ("blank", true)])?;
    Ok(if on_blank { Reach::Blank } else { Reach::Panel })
}

fn straight(context: &NativeCallContext<'_>, options: Map) -> Bound<Straight> {
    let mut options = Options::new(context, "straight", options, &["along", "side", "panels"])?;
    let along = match options.get("along") {
        Some(along) => along.numbers("a direction `[x, y, z]`")?,
        None => [0.0, 0.0, 1.0].map(Number::constant),
    };
    let sides =
        [("both", StraightSide::Both), ("inner", StraightSide::Inner), ("outer", StraightSide::Outer)];
    let side = options.word_or("side", &sides, StraightSide::Both)?;
    let panels = match options.get("panels") {
        None => None,
        Some(list) => {
            let mut names = Vec::new();
            for panels in list.list()? {
                let panels: Panels =
                    argument(context, "straight", "panels", panels).handle("a list of panels")?;
                names.extend(panels.names);
            }
            Some(names)
        }
    };
    Ok(Straight { along, side, panels })
}

/// A shape or a closed outline.
pub(super) fn shape_of(
    context: &NativeCallContext<'_>,
    place: Argument<'_, '_>,
    shape: Dynamic,
) -> Bound<Shape> {
    match shape.try_cast::<Outline>() {
        Some(outline) => Ok(Shape::Outline(outline.closed(context)?)),
        None => place.handle("a shape: `circle(…)`, `slot(…)`, `bolt_hole(…)`, `rectangle(…)` or an outline"),
    }
}
