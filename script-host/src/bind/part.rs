//! `part`, `base`, `free`: beginning a part.
//!
//! Invariant: one part a script.

use kernel::history::feature::{BasePanel, Feature};
use kernel::history::{
    BendRuleSpec, FeatureEntry, FreeNumber, GrainSpec, Number, PanelName, SheetSpec, ThicknessSpec,
    check_plain_name,
};
use kernel::ident::VarId;
use rhai::{Dynamic, Engine, Map, NativeCallContext};

use super::outline::Outline;
use super::panel::Panels;
use super::{Word, register_text};
use crate::fault::ScriptFault;
use crate::options::{Argument, Options, argument};
use crate::session::{Bound, Draft, Shared, refuse};

pub(super) const WORDS: &[Word] = &[
    Word {
        name: "part",
        call: "part(#{ material, thickness | gauge + gauge_system, inside_radius, bend_rule, grain })",
        meaning: "Begins the part with its sheet. Materials: DC01, DC04, S235JR, S355J2, 1.4301, 1.4401, EN AW-5754 H22, EN AW-5754 H111, EN AW-6061 T6, CuZn37 R300. Gauge systems: sheet steel, galvanised steel, stainless steel, aluminium and brass. `bend_rule` is `din_6935()` when left out. `grain` is which way the sheet was rolled, seen in the blank: \"x\", \"y\", or \"any\" when left out, if the shop may lay it either way.",
    },
    Word {
        name: "base",
        call: "part.base(name, outline)",
        meaning: "The base panel, from which everything else is bent; its inner face looks up.",
    },
    Word {
        name: "free",
        call: "part.free(name, start, #{ min, max, weight })",
        meaning: "A number that the solver may change, starting at `start` (mm or degrees), within `min` and `max`. Of two numbers that could give way alike, one with twice the `weight` moves a quarter as far.",
    },
];

/// The part that a script makes.
#[derive(Clone, Debug)]
pub(super) struct Part {
    pub(super) session: Shared,
}

impl Part {
    /// Adds a feature at the place of the call.
    pub(super) fn add(&self, context: &NativeCallContext<'_>, name: String, feature: Feature) {
        let span = Some(self.session.span(context));
        self.session.with_draft(|draft| draft.features.push(FeatureEntry { name, feature, span }));
    }
}

pub(super) fn register(engine: &mut Engine, session: &Shared) {
    engine.register_type_with_name::<Part>("part");
    register_text(engine, |_: &mut Part| "a part".to_owned());
    let shared = session.clone();
    engine.register_fn("part", move |context: NativeCallContext<'_>, options: Map| -> Bound<Part> {
        let sheet = sheet(&context, &shared, options)?;
        let mut session = shared.lock();
        if session.draft.is_some() {
            return Err(refuse(&context, ScriptFault::SecondPart));
        }
        session.draft = Some(Draft {
            sheet,
            free_numbers: Vec::new(),
            features: Vec::new(),
            dimensions: Vec::new(),
            aim: None,
            neighbours: Vec::new(),
            neighbour_groups: Vec::new(),
            guarding: None,
            tolerances: None,
            bend_order: Vec::new(),
            shop: None,
            stock_sheet: None,
            rates: None,
        });
        Ok(Part { session: shared.clone() })
    });
    engine.register_fn(
        "base",
        |context: NativeCallContext<'_>, part: &mut Part, name: Dynamic, outline: Dynamic| -> Bound<Panels> {
            let name = argument(&context, "base", "name", name).text()?;
            let outline: Outline = argument(&context, "base", "outline", outline)
                .handle("an outline, for example `rectangle(300, 200)`")?;
            let outline = outline.closed(&context)?;
            let panel = PanelName::new(&name).map_err(|e| refuse(&context, ScriptFault::Name(e)))?;
            part.add(&context, name.clone(), Feature::BasePanel(BasePanel { outline }));
            Ok(Panels { feature: name, names: vec![panel], pieces: Vec::new() })
        },
    );
    let free = |context: &NativeCallContext<'_>,
                part: &Part,
                name: Dynamic,
                start: Dynamic,
                options: Map|
     -> Bound<Number> {
        let name = argument(context, "free", "name", name).text()?;
        check_plain_name(&name).map_err(|e| refuse(context, ScriptFault::Name(e)))?;
        let start = argument(context, "free", "start", start).plain()?;
        let mut options = Options::new(context, "free", options, &["min", "max", "weight"])?;
        let mut plain = |option| options.get(option).map(Argument::plain).transpose();
        let (min, max, weight) = (plain("min")?, plain("max")?, plain("weight")?);
        let span = Some(part.session.span(context));
        Ok(part.session.with_draft(|draft| {
            draft.free_numbers.push(FreeNumber { min, max, weight, span, ..FreeNumber::new(&name, start) });
            Number::free(VarId::new(draft.free_numbers.len() - 1))
        }))
    };
    engine.register_fn(
        "free",
        move |context: NativeCallContext<'_>, part: &mut Part, name: Dynamic, start: Dynamic| {
            free(&context, part, name, start, Map::new())
        },
    );
    engine.register_fn(
        "free",
        move |context: NativeCallContext<'_>,
              part: &mut Part,
              name: Dynamic,
              start: Dynamic,
              options: Map| free(&context, part, name, start, options),
    );
}

fn sheet(context: &NativeCallContext<'_>, shared: &Shared, options: Map) -> Bound<SheetSpec> {
    let allowed = ["material", "thickness", "gauge", "gauge_system", "inside_radius", "bend_rule", "grain"];
    let mut options = Options::new(context, "part", options, &allowed)?;
    options.not_both("thickness", "gauge")?;
    let thickness = match options.get("gauge") {
        Some(number) => ThicknessSpec::Gauge {
            // Gauge tables end long before this.
            number: number.count(1, 99)?,
            system: options.need("gauge_system")?.text()?,
        },
        None => ThicknessSpec::Mm(options.need("thickness")?.plain()?),
    };
    let bend_rule = match options.get("bend_rule") {
        Some(rule) => rule.handle("a bend rule, for example `din_6935()` or `fixed_k(0.44)`")?,
        None => BendRuleSpec::Din6935,
    };
    Ok(SheetSpec {
        material: options.need("material")?.text()?,
        thickness,
        inside_radius: options.need("inside_radius")?.plain()?,
        bend_rule,
        grain: options.word_or(
            "grain",
            &[("any", GrainSpec::Any), ("x", GrainSpec::X), ("y", GrainSpec::Y)],
            GrainSpec::Any,
        )?,
        span: Some(shared.span(context)),
    })
}
