//! `hem`: edges bent back on themselves.
//!
//! Invariant: every option has the default that the documentation states.

use kernel::history::PanelName;
use kernel::history::feature::{Feature, FlangeEnd, FoldSide, Hem, HemForm, HemSpec};
use rhai::{Dynamic, Engine, Map, NativeCallContext};

use super::flange::{edges_of, pair};
use super::panel::Panels;
use super::part::Part;
use super::{Word, register_optional, register_text};
use crate::fault::ScriptFault;
use crate::options::{Options, argument};
use crate::session::{Bound, refuse};

pub(super) const WORDS: &[Word] = &[
    Word {
        name: "hem",
        call: "part.hem(name, edge or [edge, ...], form) or (name, edges, form, #{ side, inset, inset_left, inset_right, taper, taper_left, taper_right })",
        meaning: "Bends an edge back on itself. The drawn size is the size over the hem. `side` is \"up\" or \"down\"; insets and tapers are those of a flange.",
    },
    Word {
        name: "closed",
        call: "closed(length) or closed(length, k)",
        meaning: "The form of a hem pressed flat, with its length over the bend; drawn 0.1 mm open. Its blank is reckoned with a K of its own, 0.5 unless given, because bend rules are for bends made in a die.",
    },
    Word {
        name: "open",
        call: "open(length, gap)",
        meaning: "The form of a hem turned through 180 degrees with a gap between the facing faces.",
    },
    Word {
        name: "rolled",
        call: "rolled(diameter, turn)",
        meaning: "The form of a rolled hem with its inside diameter; `turn` is between 180 degrees and where the roll meets its own panel.",
    },
];

pub(super) fn register(engine: &mut Engine) {
    engine.register_type_with_name::<HemForm>("form of a hem");
    register_text(engine, |_: &mut HemForm| "a form of a hem".to_owned());
    register_optional(engine, "hem", hem);
    engine.register_fn("closed", |context: NativeCallContext<'_>, length: Dynamic| -> Bound<HemForm> {
        let length = argument(&context, "closed", "length", length).number()?;
        Ok(HemForm::Closed { length, k_factor: None })
    });
    engine.register_fn(
        "closed",
        |context: NativeCallContext<'_>, length: Dynamic, k: Dynamic| -> Bound<HemForm> {
            let length = argument(&context, "closed", "length", length).number()?;
            let k_factor = Some(argument(&context, "closed", "k", k).plain()?);
            Ok(HemForm::Closed { length, k_factor })
        },
    );
    engine.register_fn(
        "open",
        |context: NativeCallContext<'_>, length: Dynamic, gap: Dynamic| -> Bound<HemForm> {
            Ok(HemForm::Open {
                length: argument(&context, "open", "length", length).number()?,
                gap: argument(&context, "open", "gap", gap).number()?,
            })
        },
    );
    engine.register_fn(
        "rolled",
        |context: NativeCallContext<'_>, diameter: Dynamic, turn: Dynamic| -> Bound<HemForm> {
            Ok(HemForm::Rolled {
                diameter: argument(&context, "rolled", "diameter", diameter).number()?,
                turn: argument(&context, "rolled", "turn", turn).number()?,
            })
        },
    );
}

fn hem(
    context: &NativeCallContext<'_>,
    part: &Part,
    [name, edges, form]: [Dynamic; 3],
    options: Map,
) -> Bound<Panels> {
    let name = argument(context, "hem", "name", name).text()?;
    let edges = edges_of(context, "hem", edges)?;
    let form = argument(context, "hem", "form", form)
        .handle("the form of a hem: `closed(12)`, `open(12, 2)` or `rolled(6, 270)`")?;
    let allowed = ["side", "inset", "inset_left", "inset_right", "taper", "taper_left", "taper_right"];
    let mut options = Options::new(context, "hem", options, &allowed)?;
    let [inset_left, inset_right] = pair(&mut options, "inset", ["inset_left", "inset_right"])?;
    let [taper_left, taper_right] = pair(&mut options, "taper", ["taper_left", "taper_right"])?;
    let alone = edges.len() == 1;
    let names = edges
        .iter()
        .map(|edge| PanelName::of_flange(&name, edge, alone))
        .collect::<Result<_, _>>()
        .map_err(|e| refuse(context, ScriptFault::Name(e)))?;
    let spec = HemSpec {
        edges,
        form,
        side: options.word_or("side", &[("up", FoldSide::Up), ("down", FoldSide::Down)], FoldSide::Up)?,
        left: FlangeEnd { inset: inset_left, taper: taper_left },
        right: FlangeEnd { inset: inset_right, taper: taper_right },
    };
    part.add(context, name.clone(), Feature::Hem(Hem::from(spec)));
    Ok(Panels { feature: name, names, pieces: Vec::new() })
}
