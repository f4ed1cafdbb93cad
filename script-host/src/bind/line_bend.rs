//! `fold`, `offset`, `turn`: bends along drawn lines, and other angles for bends that are there.
//!
//! Invariant: every option has the default that the documentation states.

use kernel::history::feature::{
    DrawnLine, Feature, FoldLine, FoldSide, KeptSize, LineMarks, Offset, StepFaces, Turned,
};
use kernel::history::{Number, PanelName};
use rhai::{Dynamic, Engine, Map, NativeCallContext};

use super::panel::{Panels, role_of};
use super::part::Part;
use super::{Word, register_text};
use crate::fault::ScriptFault;
use crate::options::{Argument, Options, argument};
use crate::session::{Bound, refuse};

pub(super) const WORDS: &[Word] = &[
    Word {
        name: "line",
        call: "line([x, y], [x, y])",
        meaning: "A straight line on a panel; what lies to its left, going from the first point to the second, is moved.",
    },
    Word {
        name: "beside",
        call: "beside(role, distance)",
        meaning: "The line parallel to a straight edge of the panel, `distance` inwards of it; the edge's side is moved.",
    },
    Word {
        name: "fold",
        call: "part.fold(name, panel, line, #{ turn, side, marks, inside_radius })",
        meaning: "Bends a panel along a line; the blank keeps its size. What is moved becomes the panel `name`. `turn` is 90 degrees by default, `side` \"up\" or \"down\"; the line `marks` the \"middle\" of the bend (default), its \"start\" or its \"end\".",
    },
    Word {
        name: "offset",
        call: "part.offset(name, panel, line, #{ height, between, turn, side, marks, keeps, inside_radius })",
        meaning: "Steps a panel along a line by two bends. What is moved becomes the panel `name`, what lies between the bends its panel `web`. `height` counts `between` the \"same\" faces (default), the \"facing\" ones (clear height) or those that look \"away\" (overall height); `turn` is 90 degrees by default, and smaller if the step is too small for a web. The panel `keeps` its \"folded\" size (default) or that of the \"blank\".",
    },
    Word {
        name: "turn",
        call: "part.turn(name, panel, degrees)",
        meaning: "Gives a flange, a panel behind a line or the web of an offset another turn; what is held stays held.",
    },
];

pub(super) fn register(engine: &mut Engine) {
    engine.register_type_with_name::<DrawnLine>("line");
    register_text(engine, |_: &mut DrawnLine| "a line".to_owned());
    engine.register_fn(
        "line",
        |context: NativeCallContext<'_>, from: Dynamic, to: Dynamic| -> Bound<DrawnLine> {
            let from = argument(&context, "line", "from", from).point()?;
            Ok(DrawnLine::Through(from, argument(&context, "line", "to", to).point()?))
        },
    );
    engine.register_fn(
        "beside",
        |context: NativeCallContext<'_>, edge: Dynamic, distance: Dynamic| -> Bound<DrawnLine> {
            let edge = role_of(&context, "beside", edge)?;
            Ok(DrawnLine::Beside {
                edge,
                distance: argument(&context, "beside", "distance", distance).number()?,
            })
        },
    );
    engine.register_fn(
        "fold",
        |context: NativeCallContext<'_>,
         part: &mut Part,
         name: Dynamic,
         panel: Dynamic,
         line: Dynamic,
         options: Map|
         -> Bound<Panels> {
            let asked = Asked::new(&context, "fold", [name, panel, line])?;
            let allowed = ["turn", "side", "marks", "inside_radius"];
            let mut options = Options::new(&context, "fold", options, &allowed)?;
            let bends = Bends::new(&mut options)?;
            let fold = FoldLine {
                panel: asked.panel,
                line: asked.line,
                marks: bends.marks,
                turn: bends.turn,
                side: bends.side,
                inside_radius: bends.inside_radius,
            };
            part.add(&context, asked.name.clone(), Feature::FoldLine(fold));
            Ok(Panels { feature: asked.name, names: vec![asked.moved], pieces: Vec::new() })
        },
    );
    engine.register_fn(
        "offset",
        |context: NativeCallContext<'_>,
         part: &mut Part,
         name: Dynamic,
         panel: Dynamic,
         line: Dynamic,
         options: Map|
         -> Bound<Panels> {
            let asked = Asked::new(&context, "offset", [name, panel, line])?;
            let allowed = ["height", "between", "turn", "side", "marks", "keeps", "inside_radius"];
            let mut options = Options::new(&context, "offset", options, &allowed)?;
            let faces = [("same", StepFaces::Same), ("facing", StepFaces::Facing), ("away", StepFaces::Away)];
            let sizes = [("folded", KeptSize::Folded), ("blank", KeptSize::Blank)];
            let bends = Bends::new(&mut options)?;
            let step = Offset {
                panel: asked.panel,
                line: asked.line,
                marks: bends.marks,
                height: options.need("height")?.number()?,
                between: options.word_or("between", &faces, StepFaces::Same)?,
                turn: bends.turn,
                side: bends.side,
                inside_radius: bends.inside_radius,
                keeps: options.word_or("keeps", &sizes, KeptSize::Folded)?,
            };
            part.add(&context, asked.name.clone(), Feature::Offset(step));
            let pieces = vec![asked.moved.piece("web")];
            Ok(Panels { feature: asked.name, names: vec![asked.moved], pieces })
        },
    );
    engine.register_fn(
        "turn",
        |context: NativeCallContext<'_>,
         part: &mut Part,
         name: Dynamic,
         panel: Dynamic,
         degrees: Dynamic|
         -> Bound<()> {
            let name = argument(&context, "turn", "name", name).text()?;
            let panel: Panels = argument(&context, "turn", "panel", panel).handle("a panel")?;
            let turn = argument(&context, "turn", "degrees", degrees).number()?;
            let panel = panel.only(&context)?.clone();
            part.add(&context, name, Feature::Turned(Turned { panel, turn }));
            Ok(())
        },
    );
}

/// What both kinds of line bend are asked with.
struct Asked {
    name: String,
    /// The panel that the line makes of what it moves.
    moved: PanelName,
    panel: PanelName,
    line: DrawnLine,
}

impl Asked {
    fn new(
        context: &NativeCallContext<'_>,
        function: &str,
        [name, panel, line]: [Dynamic; 3],
    ) -> Bound<Self> {
        let name = argument(context, function, "name", name).text()?;
        let moved = PanelName::new(&name).map_err(|e| refuse(context, ScriptFault::Name(e)))?;
        let panel: Panels = argument(context, function, "panel", panel).handle("a panel")?;
        let panel = panel.only(context)?.clone();
        let line = argument(context, function, "line", line)
            .handle("a line, for example `line([0, 40], [200, 40])` or `beside(\"back\", 25)`")?;
        Ok(Self { name, moved, panel, line })
    }
}

/// The options that both have.
struct Bends {
    turn: Number,
    side: FoldSide,
    marks: LineMarks,
    inside_radius: Option<Number>,
}

impl Bends {
    fn new(options: &mut Options<'_, '_>) -> Bound<Self> {
        let marks = [("start", LineMarks::Start), ("middle", LineMarks::Middle), ("end", LineMarks::End)];
        Ok(Self {
            turn: options.number_or("turn", 90.0)?,
            side: options.word_or("side", &[("up", FoldSide::Up), ("down", FoldSide::Down)], FoldSide::Up)?,
            marks: options.word_or("marks", &marks, LineMarks::Middle)?,
            inside_radius: options.get("inside_radius").map(Argument::number).transpose()?,
        })
    }
}
