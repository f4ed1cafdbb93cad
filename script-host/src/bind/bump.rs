//! `bump` and `change_bump`: raised forms pressed into a panel.
//!
//! Invariant: every option has the default that the documentation states; a handle of a bump holds the name
//! of the feature that made it.

use kernel::history::feature::{Bump, BumpChange, BumpOver, BumpSide, Feature, XFrom};
use rhai::{Dynamic, Engine, Map, NativeCallContext};

use super::cutout::{A_PATTERN, shape_of};
use super::neighbour::neighbours;
use super::panel::Panels;
use super::part::Part;
use super::{Word, register_text};
use crate::options::{Argument, Options, argument};
use crate::session::Bound;

pub(super) const WORDS: &[Word] = &[
    Word {
        name: "bump",
        call: "part.bump(name, panel, profile, pattern, #{ height, side, draft, punch_radius, die_radius, corner_radius, x_from })",
        meaning: "Presses a raised form into one panel at every place of a pattern, for example to clear the head of a bolt. Its wall, prolonged, meets the panel in the profile, on the face that is raised; `height` is from the panel to the flat top; `side` is \"out\" (default) or \"in\", towards the inner face; `draft` is the angle of the wall from the panel's normal in degrees, 45 by default, 0 for an upright wall. The radii of the punch's and the die's edge are the sheet's thickness by default; sharp corners of the top get `corner_radius` in plan, the punch radius and two thicknesses by default. Several bumps are called `name.place-1`, `name.place-2` and so on.",
    },
    Word {
        name: "bump_over",
        call: "part.bump_over(name, panel, bolt or [bolt, ...], #{ clearance, draft, punch_radius, die_radius })",
        meaning: "Presses a round bump over the head of each bolt, to the side to which the heads point: wide and high enough that `clearance` is left between the hollow face and every head with its washer. It follows when bolts or panel move; the panel must be square to the bolts. The other options are those of `bump`.",
    },
    Word {
        name: "change_bump",
        call: "part.change_bump(name, bump, #{ profile, height })",
        meaning: "Gives the bumps of an earlier feature another profile, another height, or both; the last change wins and the bumps keep their name.",
    },
];

/// Draft in degrees unless the script says otherwise: walls of embossed forms at 45° to the sheet are preferred
/// (common practice, no source).
const DEFAULT_DRAFT_DEG: f64 = 45.0;

const OPTIONS: [&str; 7] =
    ["height", "side", "draft", "punch_radius", "die_radius", "corner_radius", "x_from"];

/// The bumps that one feature makes.
#[derive(Clone, Debug)]
struct BumpHandle {
    /// Name of the feature.
    feature: String,
}

pub(super) fn register(engine: &mut Engine) {
    engine.register_type_with_name::<BumpHandle>("bump");
    register_text(engine, |bump: &mut BumpHandle| bump.feature.clone());
    engine.register_fn(
        "bump",
        |context: NativeCallContext<'_>,
         part: &mut Part,
         name: Dynamic,
         panel: Dynamic,
         profile: Dynamic,
         pattern: Dynamic,
         options: Map|
         -> Bound<BumpHandle> {
            let name = argument(&context, "bump", "name", name).text()?;
            let bump = bump(&context, [panel, profile, pattern], options)?;
            part.add(&context, name.clone(), Feature::Bump(bump));
            Ok(BumpHandle { feature: name })
        },
    );
    engine.register_fn(
        "bump_over",
        |context: NativeCallContext<'_>,
         part: &mut Part,
         name: Dynamic,
         panel: Dynamic,
         bolts: Dynamic,
         options: Map|
         -> Bound<BumpHandle> {
            let name = argument(&context, "bump_over", "name", name).text()?;
            let panels: Panels = argument(&context, "bump_over", "panel", panel).handle("a panel")?;
            let panel = panels.only(&context)?.clone();
            let bolts = neighbours(&context, "bump_over", bolts)?;
            let allowed = ["clearance", "draft", "punch_radius", "die_radius"];
            let mut options = Options::new(&context, "bump_over", options, &allowed)?;
            let over = BumpOver {
                panel,
                bolts,
                clearance: options.need("clearance")?.number()?,
                draft: options.number_or("draft", DEFAULT_DRAFT_DEG)?,
                punch_radius: options.get("punch_radius").map(Argument::number).transpose()?,
                die_radius: options.get("die_radius").map(Argument::number).transpose()?,
            };
            part.add(&context, name.clone(), Feature::BumpOver(over));
            Ok(BumpHandle { feature: name })
        },
    );
    engine.register_fn(
        "change_bump",
        |context: NativeCallContext<'_>,
         part: &mut Part,
         name: Dynamic,
         bump: Dynamic,
         options: Map|
         -> Bound<()> {
            let name = argument(&context, "change_bump", "name", name).text()?;
            let bump: BumpHandle = argument(&context, "change_bump", "bump", bump).handle("a bump")?;
            let mut given = options.clone();
            let mut options = Options::new(&context, "change_bump", options, &["profile", "height"])?;
            let profile = match (options.get("profile"), given.remove("profile")) {
                (Some(place), Some(profile)) => Some(shape_of(&context, place, profile)?),
                (None, _) | (_, None) => None,
            };
            let height = options.get("height").map(Argument::number).transpose()?;
            part.add(&context, name, Feature::BumpChange(BumpChange { bump: bump.feature, profile, height }));
            Ok(())
        },
    );
}

fn bump(
    context: &NativeCallContext<'_>,
    [panel, profile, pattern]: [Dynamic; 3],
    options: Map,
) -> Bound<Bump> {
    let panels: Panels = argument(context, "bump", "panel", panel).handle("a panel")?;
    let panel = panels.only(context)?.clone();
    let profile = shape_of(context, argument(context, "bump", "profile", profile.clone()), profile)?;
    let pattern = argument(context, "bump", "pattern", pattern).handle(A_PATTERN)?;
    let mut options = Options::new(context, "bump", options, &OPTIONS)?;
    let mut radius = |name| options.get(name).map(Argument::number).transpose();
    let (punch_radius, die_radius, corner_radius) =
        (radius("punch_radius")?, radius("die_radius")?, radius("corner_radius")?);
    Ok(Bump {
        panel,
        profile,
        pattern,
        x_from: options.word_or(
            "x_from",
            &[("left", XFrom::Left), ("middle", XFrom::Middle)],
            XFrom::Left,
        )?,
        height: options.need("height")?.number()?,
        side: options.word_or("side", &[("in", BumpSide::In), ("out", BumpSide::Out)], BumpSide::Out)?,
        draft: options.number_or("draft", DEFAULT_DRAFT_DEG)?,
        punch_radius,
        die_radius,
        corner_radius,
    })
}
