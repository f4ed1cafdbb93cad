//! `meet`, `lap`, `close_gap`, `flush`: how ends of flanges are cut where they come near to other panels.
//!
//! Invariant: gaps are what they are for flanges unless the script says otherwise.

use kernel::history::EdgeName;
use kernel::history::feature::{Feature, Neighbour, Seam, SheetFace};
use rhai::{Dynamic, Engine, Map, NativeCallContext};

use super::flange::DEFAULT_GAP_MM;
use super::panel::Panels;
use super::part::Part;
use super::{Word, register_optional};
use crate::options::{Argument, Options, argument};
use crate::session::Bound;

pub(super) const WORDS: &[Word] = &[
    Word {
        name: "meet",
        call: "part.meet(name, edge, edge) or (name, edge, edge, #{ gap })",
        meaning: "Cuts the two edges so that the inner edges of the two flanges lie `gap` apart, 1 mm by default. Edges are the left, right or tip of flanges; the cut replaces inset and taper there.",
    },
    Word {
        name: "lap",
        call: "part.lap(name, cover_edge, under_edge) or (name, cover_edge, under_edge, #{ gap, overlap })",
        meaning: "Lets the flange of the first edge run past the other one, which stops `gap` short of it, 1 mm by default. The cover ends flush with the other one's outer face, or `overlap` mm past its inner face.",
    },
    Word {
        name: "close_gap",
        call: "part.close_gap(name, edge, panel or edge) or (name, edge, panel or edge, #{ gap })",
        meaning: "Makes the flange of the first edge longer or shorter there, until it is `gap` from the panel's face or from the other edge, 1 mm by default.",
    },
    Word {
        name: "flush",
        call: "part.flush(name, edge, panel, \"inner\" or \"outer\")",
        meaning: "Makes the flange of the edge longer or shorter there, until it ends in the plane of the panel's inner or outer face.",
    },
];

pub(super) fn register(engine: &mut Engine) {
    register_optional(engine, "meet", meet);
    register_optional(engine, "lap", lap);
    register_optional(engine, "close_gap", close);
    engine.register_fn(
        "flush",
        |context: NativeCallContext<'_>,
         part: &mut Part,
         name: Dynamic,
         edge_to_move: Dynamic,
         panel: Dynamic,
         face: Dynamic|
         -> Bound<()> {
            let name = argument(&context, "flush", "name", name).text()?;
            let edge = edge(argument(&context, "flush", "edge", edge_to_move))?;
            let panel = argument(&context, "flush", "panel", panel).handle::<Panels>("a panel")?;
            let panel = panel.only(&context)?.clone();
            let face = argument(&context, "flush", "face", face)
                .word(&[("inner", SheetFace::Inner), ("outer", SheetFace::Outer)])?;
            part.add(&context, name, Feature::Seam(Seam::Flush { edge, panel, face }));
            Ok(())
        },
    );
}

fn edge(argument: Argument<'_, '_>) -> Bound<EdgeName> {
    argument.handle("an edge, for example `wall.edge(\"left\")`")
}

fn meet(context: &NativeCallContext<'_>, part: &Part, [name, a, b]: [Dynamic; 3], options: Map) -> Bound<()> {
    let name = argument(context, "meet", "name", name).text()?;
    let a = edge(argument(context, "meet", "first edge", a))?;
    let b = edge(argument(context, "meet", "second edge", b))?;
    let mut options = Options::new(context, "meet", options, &["gap"])?;
    let gap = options.number_or("gap", DEFAULT_GAP_MM)?;
    part.add(context, name, Feature::Seam(Seam::Meet { a, b, gap }));
    Ok(())
}

fn lap(
    context: &NativeCallContext<'_>,
    part: &Part,
    [name, cover, under]: [Dynamic; 3],
    options: Map,
) -> Bound<()> {
    let name = argument(context, "lap", "name", name).text()?;
    let cover = edge(argument(context, "lap", "cover edge", cover))?;
    let under = edge(argument(context, "lap", "under edge", under))?;
    let mut options = Options::new(context, "lap", options, &["gap", "overlap"])?;
    let gap = options.number_or("gap", DEFAULT_GAP_MM)?;
    let overlap = options.get("overlap").map(Argument::number).transpose()?;
    part.add(context, name, Feature::Seam(Seam::Lap { cover, under, gap, overlap }));
    Ok(())
}

fn close(
    context: &NativeCallContext<'_>,
    part: &Part,
    [name, moved, to]: [Dynamic; 3],
    options: Map,
) -> Bound<()> {
    let name = argument(context, "close_gap", "name", name).text()?;
    let moved = edge(argument(context, "close_gap", "edge", moved))?;
    let to = match to.clone().try_cast::<Panels>() {
        Some(panels) => Neighbour::Panel(panels.only(context)?.clone()),
        None => {
            Neighbour::Edge(argument(context, "close_gap", "neighbour", to).handle("a panel or an edge")?)
        }
    };
    let mut options = Options::new(context, "close_gap", options, &["gap"])?;
    let gap = options.number_or("gap", DEFAULT_GAP_MM)?;
    part.add(context, name, Feature::Seam(Seam::Close { edge: moved, to, gap }));
    Ok(())
}
