//! Short texts for the terminal.
//!
//! Invariant: every number has its unit; columns line up.

use std::fmt::Write as _;

use kernel::diag::Origin;
use kernel::dimension::{RadiusLimit, Remarks, Spread, Tolerances};
use kernel::explain::{Explanation, Figure};
use kernel::fold::Gap;
use kernel::history::{History, ParameterValue};
use kernel::regenerate::Part;
use kernel::stock::{BendRule, StripFit};

use crate::bind::parameter::Allowed;
use crate::source::{Place, Source};

/// Printed under every made part.
pub(crate) const CAUTION: &str = "Caution: figures are aids. Confirm K with a test bend; local codes and a licensed professional decide;\nedges are sharp; a guard must be validated on the machine.";

/// What was made: blank, mass, bends, dimensions, gaps.
#[must_use]
pub(crate) fn of_part(history: &History, part: &Part) -> String {
    let stack = part.tolerance_stack(history);
    let mut text = String::new();
    let sheet = &part.sheet;
    let _ = writeln!(
        text,
        "{}{}",
        history.family,
        if history.title.is_empty() { String::new() } else { format!(": {}", history.title) }
    );
    let _ = writeln!(
        text,
        "  sheet    {} {:.2} mm, inside radius {:.2} mm, {}",
        sheet.material.name,
        sheet.thickness.length().to_mm(),
        sheet.inside_radius.length().to_mm(),
        sheet.bend_rule.name()
    );
    if let BendRule::TestStrips(fit) = &sheet.bend_rule {
        of_strips(&mut text, fit);
    }
    let size = part.blank.bounding_box();
    let _ = writeln!(
        text,
        "  blank    {:.2} x {:.2} mm, cut length {:.0} mm, {} {}",
        size.width(),
        size.height(),
        part.blank.cut_length(),
        part.blank.pierces(),
        if part.blank.pierces() == 1 { "pierce" } else { "pierces" }
    );
    let _ = writeln!(text, "  mass     {:.3} kg", part.mass_kg());
    let name_width = part.bend_table().iter().map(|b| b.name.as_str().chars().count()).max().unwrap_or(0);
    let _ = writeln!(text, "  bends    {}", part.bend_table().len());
    for row in part.bend_table() {
        let _ = writeln!(
            text,
            "    {:>2}  {:<name_width$}  {:>7.2}° {:<4}  r {:.2} mm  length {:>8.2} mm  allowance {:.3} mm",
            row.order,
            row.name.as_str(),
            row.turn.to_deg(),
            row.side.word(),
            row.inside_radius.length().to_mm(),
            row.length.to_mm(),
            row.allowance.to_mm()
        );
    }
    let remarks = part.remarks(history);
    if !part.settled.dimensions.is_empty() {
        let _ = writeln!(text, "  dimensions ({} left free)", remarks.loose.len());
        let kind_width =
            part.settled.dimensions.iter().map(|d| d.kind.len()).max().unwrap_or(0).max("panel width".len());
        let width = part.settled.dimensions.iter().map(|d| d.name.chars().count()).max().unwrap_or(0);
        for (d, spread) in part.settled.dimensions.iter().zip(&stack.dimensions) {
            let asked = d.asked.map_or_else(|| "         -".to_owned(), |a| format!("{a:>10.3}"));
            let _ = writeln!(
                text,
                "    {:<width$}  {:<kind_width$}  asked {asked}  got {:>10.3} {:<3}  {:<11}  {}",
                d.name,
                d.kind,
                d.got,
                d.unit,
                d.state.word(),
                of_spread(spread)
            );
        }
    }
    of_remarks(&mut text, &remarks);
    if !stack.gaps.is_empty() {
        let _ = writeln!(text, "  gaps");
        let name = |gap: &Gap| {
            let [a, b] = &gap.between;
            gap.seam.clone().unwrap_or_else(|| format!("{a} to {b}"))
        };
        let width = stack.gaps.iter().map(|(gap, _)| name(gap).chars().count()).max().unwrap_or(0);
        for (gap, spread) in &stack.gaps {
            let _ = writeln!(
                text,
                "    {:<width$}  asked {:>6.3}  got {:>6.3} mm  {}",
                name(gap),
                gap.asked,
                gap.got,
                of_spread(spread)
            );
        }
    }
    let width = part.settled.sketches.iter().map(|s| s.name.chars().count()).max().unwrap_or(0);
    if width > 0 {
        let _ = writeln!(text, "  sketches");
    }
    for s in &part.settled.sketches {
        let _ = writeln!(text, "    {:<width$}  {} numbers, {} left free", s.name, s.numbers, s.left_free);
    }
    text
}

/// What the dimensions leave open, and which of them add nothing.
fn of_remarks(text: &mut String, remarks: &Remarks) {
    let quoted = |names: &[String]| names.iter().map(|n| format!("`{n}`")).collect::<Vec<_>>().join(", ");
    for loose in &remarks.loose {
        let part = |(name, by): &(String, f64)| format!("`{name}` by {by:.3}");
        let parts: Vec<String> = loose.numbers.iter().map(part).collect();
        let _ = match loose.numbers.as_slice() {
            [(name, _)] => writeln!(text, "    loose: `{name}`, as far as limits let it"),
            _ => writeln!(text, "    loose: {} together, as far as limits let them", parts.join(", ")),
        };
    }
    for implied in &remarks.implied {
        let _ = writeln!(text, "    `{}` follows from {}", implied.what, quoted(&implied.by));
    }
    for at in &remarks.at_bounds {
        let _ = writeln!(text, "    `{}` is at its {} value, {:.3}", at.number, at.end, at.value);
    }
    for what in &remarks.without_effect {
        let _ = writeln!(text, "    `{what}` holds by what is drawn: no free number moves it");
    }
}

/// Where a number comes from: heading, steps with their sum, and sources.
#[must_use]
pub(crate) fn of_explanation(explanation: &Explanation, source: &Source, places: &[Option<Place>]) -> String {
    let place_of = |origin: &Option<Origin>| {
        let span = origin.as_ref()?.span?;
        let place = places.get(span.0 as usize).copied().flatten()?;
        Some(format!("{}:{}:{}", source.path, place.line, place.column))
    };
    let mut text = format!("{}\n", explanation.heading);
    if let Some(place) = place_of(&explanation.origin) {
        let _ = writeln!(text, "  asked for at {place}");
    }
    let width = explanation.steps.iter().map(|step| step.what.chars().count()).max().unwrap_or(0);
    for step in &explanation.steps {
        let how = match (step.how.as_str(), place_of(&step.origin)) {
            ("", Some(place)) => place,
            (how, Some(place)) => format!("{how} ({place})"),
            (how, None) => how.to_owned(),
        };
        let Figure { value, unit } = &step.figure;
        let line = format!("    {:<width$}  {value:>12.4} {unit:<6}  {how}", step.what);
        let _ = writeln!(text, "{}", line.trim_end());
    }
    if let Some(Figure { value, unit }) = &explanation.total {
        let _ = writeln!(text, "    {:<width$}  {value:>12.4} {unit}", "together");
    }
    for source in &explanation.sources {
        let _ = writeln!(text, "  {source}");
    }
    text
}

/// How far a figure may be off in the shop: at worst, and likely.
fn of_spread(spread: &Spread) -> String {
    format!("± {:>6.3} worst, {:>6.3} likely", spread.worst, spread.likely)
}

/// The table of `--tolerances`: by how much the shop may be off, and what moves each dimension and gap.
#[must_use]
pub(crate) fn of_tolerances(history: &History, part: &Part) -> String {
    let stack = part.tolerance_stack(history);
    let Tolerances { turn, radius, thickness, bend_place, cut } = stack.tolerances;
    let (radius, of_radius) = match radius {
        RadiusLimit::Each(limit) => (limit, "mm"),
        RadiusLimit::Share(limit) => (limit, "of it"),
    };
    let mut text = "tolerances\n".to_owned();
    for (name, limit, unit) in [
        ("turn", turn, "°"),
        ("inside radius", radius, of_radius),
        ("thickness", thickness, "mm"),
        ("place of a bend", bend_place, "mm"),
        ("cut edge", cut, "mm"),
    ] {
        let _ = writeln!(text, "  {name:<15}  ± {:>6.3} {unit:<5}  {}", limit.value, limit.source);
    }
    let dimensions = part.settled.dimensions.iter().zip(&stack.dimensions);
    let dimensions = dimensions.map(|(d, spread)| (d.name.clone(), d.unit, spread));
    let gaps = stack.gaps.iter().map(|(gap, spread)| {
        let [a, b] = &gap.between;
        let seam = gap.seam.as_ref().map(|seam| format!("{seam}, "));
        (format!("gap {}{a} to {b}", seam.unwrap_or_default()), "mm", spread)
    });
    for (name, unit, spread) in dimensions.chain(gaps) {
        let _ = writeln!(text, "{name}  {} {unit}", of_spread(spread));
        for c in &spread.contributions {
            let moved = (c.sensitivity * c.limit).abs();
            let _ = writeln!(text, "  ± {moved:>6.3}  {:>3.0} %  {}", 100.0 * c.share, c.name);
        }
    }
    text
}

/// The K of each tested radius, and how far each strip lies off it.
fn of_strips(text: &mut String, fit: &StripFit) {
    let scatter = fit.scatter().map_or_else(
        || "one at each radius".to_owned(),
        |scatter| {
            let (freedom, mm) = (scatter.degrees_of_freedom, scatter.deviation.to_mm());
            let plural = if freedom == 1 { "degree" } else { "degrees" };
            format!("flat lengths scatter by {mm:.3} mm with {freedom} {plural} of freedom")
        },
    );
    let _ = writeln!(text, "  strips   legs measured from {}, {scatter}", fit.legs_from().word());
    for row in fit.ratios() {
        let _ = writeln!(
            text,
            "    r/t {:>7.3}  K {:.4} ± {:.4} (95 %)",
            row.ratio,
            row.k_factor.value(),
            row.plus_minus
        );
        for &number in &row.strips {
            let fitted = &fit.strips()[number - 1];
            let strip = &fitted.strip;
            let _ = writeln!(
                text,
                "    {number:>2}  t {:.3} mm  r {:.3} mm  {:>7.2}°  K {:.4}  residual {:>+7.3} mm{}",
                strip.thickness.length().to_mm(),
                strip.inside_radius.length().to_mm(),
                strip.turn.angle().to_deg(),
                fitted.k_factor.value(),
                fitted.residual.to_mm(),
                if fitted.outlier.is_some() { "  outlier" } else { "" }
            );
        }
    }
}

/// The parameters of a family.
#[must_use]
pub(crate) fn of_parameters(history: &History) -> String {
    let mut text = format!("{}: {}\n", history.family, history.title);
    if history.parameters.is_empty() {
        text.push_str("  no parameters\n");
    }
    let width = history.parameters.iter().map(|p| p.name.chars().count()).max().unwrap_or(0);
    for p in &history.parameters {
        let value = match &p.value {
            ParameterValue::Number(n) => n.to_string(),
            ParameterValue::Word(w) => format!("\"{w}\""),
        };
        let allowed = Allowed(&p.range).to_string();
        let _ =
            writeln!(text, "  {:<width$}  {value:>10} {:<4}  {allowed:<24}  {}", p.name, p.unit, p.meaning);
    }
    text
}
