//! Short texts for the terminal.
//!
//! Invariant: every number has its unit; columns line up.

use std::fmt::Write as _;

use kernel::check;
use kernel::cost::{Estimate, ToolChanges};
use kernel::diag::{Diagnostic, Origin, Severity};
use kernel::dimension::{Aimed, Binding, Open, RadiusLimit, Remarks, Spread, Tolerances};
use kernel::explain::{Explanation, Figure};
use kernel::fold::Gap;
use kernel::geom::place_in_words;
use kernel::guard::{JudgedOpening, Judgement};
use kernel::history::{History, ParameterValue};
use kernel::regenerate::{Details, Part};
use kernel::solid::ClearanceSpread;
use kernel::stock::{BendRule, StripFit};

use crate::finding::Finding;
use crate::source::{Place, Source};

/// Printed under every made part.
pub(crate) const CAUTION: &str = "Caution: figures are aids. Confirm K with a test bend; local codes and a licensed professional decide;\nedges are sharp; a guard must be validated on the machine.";

/// What was made: blank, mass, bends, dimensions, aim, gaps.
#[must_use]
pub(crate) fn of_part(
    history: &History,
    part: &Part,
    details: &Details,
    source: &Source,
    places: &[Option<Place>],
) -> String {
    let Details { stack, clearance_spreads, remarks, estimate, lines: _, findings: _ } = details;
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
    of_estimate(&mut text, estimate);
    let _ = writeln!(text, "  bends    {}", part.bend_table().len());
    for row in part.bend_table() {
        let _ = writeln!(
            text,
            "    {:>2}  {:<name_width$}  {:>7.2}° {:<4}  r {:.2} mm  length {:>8.2} mm  allowance {:.3} mm",
            row.order.map_or_else(|| "-".to_owned(), |order| order.to_string()),
            row.name.as_str(),
            row.turn.to_deg(),
            row.side.word(),
            row.inside_radius.length().to_mm(),
            row.length.to_mm(),
            row.allowance.to_mm()
        );
    }
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
    of_remarks(&mut text, remarks);
    if let Some(aimed) = &part.aimed {
        of_aim(&mut text, aimed, |origin| place_of(origin, source, places));
    }
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
    of_neighbours(&mut text, part, clearance_spreads);
    of_openings(&mut text, part);
    let width = part.settled.sketches.iter().map(|s| s.name.chars().count()).max().unwrap_or(0);
    if width > 0 {
        let _ = writeln!(text, "  sketches");
    }
    for s in &part.settled.sketches {
        let _ = writeln!(text, "    {:<width$}  {} numbers, {} left free", s.name, s.numbers, s.left_free);
    }
    text
}

/// A line for each neighbour: how near the part comes to it, what is required, how near it may come in the shop, and
/// where.
fn of_neighbours(text: &mut String, part: &Part, spreads: &[ClearanceSpread]) {
    if part.neighbours.is_empty() {
        return;
    }
    let _ = writeln!(text, "  neighbours");
    let width = part.neighbours.iter().map(|n| n.name.chars().count()).max().unwrap_or(0);
    let measured = part.clearances.iter().zip(spreads);
    for (neighbour, (found, spread)) in part.neighbours.iter().zip(measured) {
        let _ = writeln!(
            text,
            "    {:<width$}  {:>8.3} mm  required {:>7.3}  {:<11}  {}  at {} {}{}",
            neighbour.name,
            found.distance,
            neighbour.clearance,
            check::room(neighbour, found).words(),
            of_spread(&spread.spread),
            found.zone.described(&part.tree),
            place_in_words(found.on_part, 1),
            if found.is_open { "; surface not closed, so not told from inside it" } else { "" }
        );
    }
}

/// The table of the checks: a line for each finding, faults first; `shown` are the same findings with places.
#[must_use]
pub(crate) fn of_checks(findings: &[Diagnostic], shown: &[Finding], source: &Source) -> String {
    let count = |severity| findings.iter().filter(|finding| finding.severity == severity).count();
    let counts: Vec<String> = [Severity::Fault, Severity::Warning, Severity::Note]
        .into_iter()
        .filter(|severity| count(*severity) > 0)
        .map(|severity| {
            let (count, word) = (count(severity), severity.word());
            format!("{count} {word}{}", if count == 1 { "" } else { "s" })
        })
        .collect();
    let said = if counts.is_empty() { "nothing to say".to_owned() } else { counts.join(", ") };
    let mut text = format!("  checks   {} made, {said}\n", check::ALL.len());
    let rows: Vec<[String; 5]> = findings
        .iter()
        .zip(shown)
        .map(|(finding, shown)| {
            let name = finding.code.split("::").last().unwrap_or(finding.code);
            let (got, limit) = finding.measure.as_ref().map_or_else(Default::default, |m| {
                let several = if m.places > 1 { format!(" ({} places)", m.places) } else { String::new() };
                let limit = format!("{} {:.2} {}{several}", m.bound.words(), m.limit, m.unit);
                (format!("{:.2} {}", m.got, m.unit), limit)
            });
            let about = finding.origins.first().map_or_else(String::new, |o| format!("`{}`", o.name));
            let place = shown.place.map(|p| format!(" {}:{}:{}", source.path, p.line, p.column));
            let place = format!("{about}{}", place.unwrap_or_default());
            [finding.severity.word().to_owned(), name.to_owned(), got, limit, place]
        })
        .collect();
    let width = |column: usize| rows.iter().map(|row| row[column].chars().count()).max().unwrap_or(0);
    let [a, b, c, d] = [0, 1, 2, 3].map(width);
    for [severity, name, got, limit, place] in &rows {
        let line = format!("    {severity:<a$}  {name:<b$}  {got:>c$}  {limit:<d$}  {place}");
        let _ = writeln!(text, "{}", line.trim_end());
    }
    text
}

/// Blanks on the stock sheet, and work and price of one part; nothing where neither was asked for.
fn of_estimate(text: &mut String, estimate: &Estimate) {
    if let Some(nesting) = &estimate.nesting {
        let sheet = &nesting.room.sheet;
        let _ = writeln!(
            text,
            "  nest     {} on a sheet of {:.1} x {:.1} mm, {:.1} % used ({} as rectangles)",
            nesting.placed.len(),
            sheet.width.to_mm(),
            sheet.height.to_mm(),
            100.0 * nesting.share,
            nesting.rectangles
        );
    }
    if let Some(price) = &estimate.price {
        let (strokes, changes) = (estimate.work.strokes, estimate.work.tool_changes.count());
        let by = match estimate.work.tool_changes {
            ToolChanges::Planned(_) => "in the bend order",
            ToolChanges::ByRadii(_) => "by inside radii, as there is no bend order",
        };
        let _ = writeln!(
            text,
            "  work     {strokes} bending {}, {changes} tool {} {by}",
            if strokes == 1 { "stroke" } else { "strokes" },
            if changes == 1 { "change" } else { "changes" }
        );
        let lines = price.lines.iter().map(|line| format!("{} {:.2}", line.what, line.amount()));
        let _ = writeln!(
            text,
            "  cost     {:.2} {} a part: {}",
            price.total(),
            price.currency,
            lines.collect::<Vec<_>>().join(", ")
        );
    }
}

/// What the dimensions leave open, and which of them add nothing.
fn of_remarks(text: &mut String, remarks: &Remarks) {
    let quoted = |names: &[String]| names.iter().map(|n| format!("`{n}`")).collect::<Vec<_>>().join(", ");
    for loose in &remarks.loose {
        let part = |(name, by): &(String, f64)| format!("`{name}` by {by:.3}");
        let parts: Vec<String> = loose.numbers.iter().map(part).collect();
        let (who, them) = match loose.numbers.as_slice() {
            [(name, _)] => (format!("`{name}`"), "it"),
            _ => (format!("{} together", parts.join(", ")), "them"),
        };
        let first = if loose.numbers.len() > 1 { "the first " } else { "" };
        let way = match loose.open {
            Open::Both => format!("as far as limits let {them}"),
            Open::Up => format!("{first}upwards only"),
            Open::Down => format!("{first}downwards only"),
            Open::Neither => format!("{first}held both ways by limits unless others move too"),
        };
        let _ = writeln!(text, "    loose: {who}, {way}");
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

/// What came of the aim: the figure, what keeps it from being smaller, and what moved for it.
fn of_aim(text: &mut String, aimed: &Aimed, at: impl Fn(&Origin) -> Option<String>) {
    let (figure, unit) = (aimed.figure.word(), aimed.figure.unit());
    let _ = writeln!(
        text,
        "  aim      smallest {figure}: {:.3} {unit}, {:.3} {unit} before ({} trials, {} of them no part)",
        aimed.after, aimed.before, aimed.trials, aimed.failed
    );
    for moved in &aimed.moved {
        let _ = writeln!(text, "    `{}` from {:.3} to {:.3}", moved.number, moved.from, moved.to);
    }
    for Binding { origin, of, side, value, unit } in &aimed.binding {
        let place = at(origin).map_or_else(String::new, |place| format!(" ({place})"));
        let unit = if unit.is_empty() { String::new() } else { format!(" {unit}") };
        let _ =
            writeln!(text, "    bound by {} `{}`: {side} {value:.3}{unit}{place}", of.word(), origin.name);
    }
}

/// Where a number comes from: heading, steps with their sum, and sources.
#[must_use]
pub(crate) fn of_explanation(explanation: &Explanation, source: &Source, places: &[Option<Place>]) -> String {
    let place_of = |origin: &Option<Origin>| place_of(origin.as_ref()?, source, places);
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

/// File, line and column of an origin.
fn place_of(origin: &Origin, source: &Source, places: &[Option<Place>]) -> Option<String> {
    let place = places.get(origin.span?.0 as usize).copied().flatten()?;
    Some(format!("{}:{}:{}", source.path, place.line, place.column))
}

/// How far a figure may be off in the shop: at worst, and likely.
fn of_spread(spread: &Spread) -> String {
    format!("± {:>6.3} worst, {:>6.3} likely", spread.worst, spread.likely)
}

/// The table of `--tolerances`: by how much the shop may be off, and what moves each dimension, gap and clearance.
#[must_use]
pub(crate) fn of_tolerances(part: &Part, details: &Details) -> String {
    let Details { stack, clearance_spreads, .. } = details;
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
    let clearances = part.neighbours.iter().zip(clearance_spreads).map(|(neighbour, found)| {
        let name = format!("clearance to {}, at least {:.3} mm", neighbour.name, found.least);
        (name, "mm", &found.spread)
    });
    for (name, unit, spread) in dimensions.chain(gaps).chain(clearances) {
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
        let sure = row.plus_minus.map_or_else(
            || "how sure is not known: the strips agree exactly, state `uncertainty`".to_owned(),
            |plus_minus| format!("± {plus_minus:.4} (95 %)"),
        );
        let _ = writeln!(text, "    r/t {:>7.3}  K {:.4} {sure}", row.ratio, row.k_factor.value());
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
        let allowed = p.range.to_string();
        let _ =
            writeln!(text, "  {:<width$}  {value:>10} {:<4}  {allowed:<24}  {}", p.name, p.unit, p.meaning);
    }
    text
}

/// Openings against hazards, a line for each pair; nothing where no rule was chosen.
fn of_openings(text: &mut String, part: &Part) {
    let Some(judged) = &part.judged else { return };
    let _ = writeln!(text, "  openings");
    let all = || judged.openings.iter().flat_map(|o| o.judgements.iter().map(move |j| (o, j)));
    let name = |o: &JudgedOpening, j: &Judgement| {
        let places = if j.places > 1 { format!(", {} alike", j.places) } else { String::new() };
        let gap = j.beside.as_ref().map_or_else(String::new, |beside| format!(", gap at `{beside}`"));
        format!("{}{gap}{places}", o.opening.name)
    };
    let width = all().map(|(o, j)| name(o, j).chars().count()).max().unwrap_or(0);
    for (o, j) in all() {
        let needs =
            j.needs().map_or_else(|| "        -".to_owned(), |needs| format!("{:>9.2}", needs.to_mm()));
        let _ = writeln!(
            text,
            "    {:<width$}  {:>7.2} mm wide, `{}` {:>8.2} mm away, needs {needs}  {} ({})",
            name(o, j),
            j.shape.narrow().to_mm(),
            j.hazard,
            j.got().to_mm(),
            j.outcome().text(),
            j.status().text()
        );
    }
    let _ = writeln!(text, "    {}", kernel::guarding::STRAIGHT);
    let _ = writeln!(text, "    {}", kernel::guarding::CAUTION);
}
