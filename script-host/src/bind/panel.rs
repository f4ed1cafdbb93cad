//! Handles of panels, edges and corners.
//!
//! Invariant: a handle holds a lasting name; whether the thing exists shows when the part is made.

use kernel::history::feature::CornerName;
use kernel::history::{EdgeName, NameError, PanelName, check_plain_name};
use rhai::{Array, Dynamic, Engine, NativeCallContext};

use super::{Word, register_text};
use crate::fault::ScriptFault;
use crate::options::argument;
use crate::session::{Bound, refuse};

pub(super) const WORDS: &[Word] = &[
    Word {
        name: "panel",
        call: "flanges.panel(role)",
        meaning: "One panel of a feature that makes several, by the role in its name: `left` for `cheek.left`.",
    },
    Word {
        name: "edge",
        call: "panel.edge(role)",
        meaning: "An edge of a panel: of an outline by its name, of a flange `tip`, `left` or `right`.",
    },
    Word {
        name: "edges",
        call: "panel.edges([role, ...])",
        meaning: "Several edges of a panel, or the same edge of each of several panels.",
    },
    Word {
        name: "corner",
        call: "panel.corner(side, side)",
        meaning: "The corners of a panel between two sides: an edge by its role, an opening by the name of its cut, a relief by the panel whose bend it ends.",
    },
];

/// The panels that one feature makes.
#[derive(Clone, Debug)]
pub(super) struct Panels {
    /// Name of the feature.
    pub feature: String,
    /// Names of its panels, in order.
    pub names: Vec<PanelName>,
    /// Further panels that are meant only when asked for by their role.
    pub pieces: Vec<PanelName>,
}

impl Panels {
    /// The panel, if there is only one.
    pub(super) fn only(&self, context: &NativeCallContext<'_>) -> Bound<&PanelName> {
        match self.names.as_slice() {
            [one] => Ok(one),
            several => Err(refuse(
                context,
                ScriptFault::WhichPanel {
                    feature: self.feature.clone(),
                    panels: several.iter().map(|p| p.roles().to_owned()).collect(),
                },
            )),
        }
    }
}

pub(super) fn register(engine: &mut Engine) {
    engine.register_type_with_name::<Panels>("panel");
    engine.register_type_with_name::<EdgeName>("edge");
    engine.register_type_with_name::<CornerName>("corner");
    register_text(engine, |panels: &mut Panels| {
        panels.names.iter().map(ToString::to_string).collect::<Vec<_>>().join(", ")
    });
    register_text(engine, |edge: &mut EdgeName| edge.to_string());
    register_text(engine, |corner: &mut CornerName| corner.to_string());
    engine.register_fn(
        "panel",
        |context: NativeCallContext<'_>, panels: &mut Panels, role: Dynamic| -> Bound<Panels> {
            let role = argument(&context, "panel", "role", role).text()?;
            let mut made = panels.names.iter().chain(&panels.pieces);
            let found = made.find(|p| p.roles() == role).cloned();
            let name = found.ok_or_else(|| {
                let made = panels.names.iter().chain(&panels.pieces).map(|p| p.roles().to_owned());
                let panels_made = made.filter(|role| !role.is_empty()).collect();
                let feature = panels.feature.clone();
                refuse(&context, ScriptFault::NoSuchPanel { feature, asked: role, panels: panels_made })
            })?;
            Ok(Panels { feature: panels.feature.clone(), names: vec![name], pieces: Vec::new() })
        },
    );
    engine.register_fn(
        "edge",
        |context: NativeCallContext<'_>, panels: &mut Panels, role: Dynamic| -> Bound<EdgeName> {
            let role = role_of(&context, "edge", role)?;
            Ok(panels.only(&context)?.edge(&role))
        },
    );
    engine.register_fn(
        "edges",
        |context: NativeCallContext<'_>, panels: &mut Panels, roles: Dynamic| -> Bound<Array> {
            let roles = if roles.is_array() {
                argument(&context, "edges", "roles", roles).list()?
            } else {
                vec![roles]
            };
            let mut edges = Vec::new();
            for panel in &panels.names {
                for role in &roles {
                    edges.push(Dynamic::from(panel.edge(&role_of(&context, "edges", role.clone())?)));
                }
            }
            Ok(edges)
        },
    );
    engine.register_fn(
        "corner",
        |context: NativeCallContext<'_>, panels: &mut Panels, a: Dynamic, b: Dynamic| -> Bound<CornerName> {
            let between = [side_of(&context, a)?, side_of(&context, b)?];
            Ok(CornerName { panel: panels.only(&context)?.clone(), between })
        },
    );
}

pub(super) fn role_of(context: &NativeCallContext<'_>, function: &str, role: Dynamic) -> Bound<String> {
    let role = argument(context, function, "role", role).text()?;
    check_plain_name(&role).map_err(|e: NameError| refuse(context, ScriptFault::Name(e)))?;
    Ok(role)
}

/// A side of a corner: an edge's role, or the name of a cut or a panel.
fn side_of(context: &NativeCallContext<'_>, side: Dynamic) -> Bound<String> {
    let side = argument(context, "corner", "side", side).text()?;
    PanelName::new(&side).map_err(|e: NameError| refuse(context, ScriptFault::Name(e)))?;
    Ok(side)
}
