//! Brake and tools of a shop, read from TOML.
//!
//! Invariant: every fault has its line in the file; what is left out is as in the default set; own punches and dies
//! come before those of the default set, which `only_own` leaves out. Knows nothing of parts.

use std::path::Path;

use kernel::geom::{Contour, ContourError, Point2, Tag, first_self_contact};
use kernel::history::{LimitSpec, ShopValue};
use kernel::quantity::maths;
use kernel::stock::{Die, Limit, PressBrake, Punch, Tooling};
use serde::Deserialize;
use toml::Spanned;

use crate::finding::Failure;
use crate::toml_file::{Checks, Row, TomlFile};

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct ToolsFile {
    #[serde(default)]
    only_own: bool,
    segments: Option<Spanned<Vec<Spanned<f64>>>>,
    shortfall: Option<Spanned<f64>>,
    brake: Option<BrakeEntry>,
    #[serde(default)]
    punch: Vec<PunchEntry>,
    #[serde(default)]
    die: Vec<DieEntry>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct BrakeEntry {
    name: Option<Spanned<String>>,
    length: Option<Spanned<f64>>,
    between_frames: Option<Spanned<f64>>,
    throat: Option<Spanned<f64>>,
    force_kn: Option<Spanned<f64>>,
    daylight: Option<Spanned<f64>>,
    ram: Option<Outline>,
    bed: Option<Outline>,
    gauge_reach: Option<Spanned<Row<2>>>,
    gauge_finger: Option<Spanned<Row<3>>>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct PunchEntry {
    name: Spanned<String>,
    angle: Spanned<f64>,
    tip_radius: Spanned<f64>,
    outline: Outline,
    most_kn_per_m: Spanned<f64>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct DieEntry {
    name: Spanned<String>,
    opening: Spanned<f64>,
    angle: Spanned<f64>,
    shoulder: Spanned<f64>,
    height: Spanned<f64>,
    most_kn_per_m: Spanned<f64>,
}

/// Corners as they were drawn.
type Outline = Spanned<Vec<Spanned<Row<2>>>>;

/// Sizes of tools and brake in mm: above what any sheet is bent with, and below what stands in any shop.
const SIZES_MM: [f64; 2] = [0.1, 20_000.0];

/// Distances in mm that may be nothing.
const DISTANCES_MM: [f64; 2] = [0.0, 20_000.0];

/// Angles of tools in degrees.
const ANGLES_DEG: [f64; 2] = [1.0, 179.0];

/// Forces in kN, of a brake or of a metre of tools.
const FORCES_KN: [f64; 2] = [1.0, 100_000.0];

/// Lengths of segments in whole mm.
const SEGMENTS_MM: [f64; 2] = [1.0, 10_000.0];

/// How many segments there may be.
const MOST_SEGMENTS: usize = 200;

/// How many corners an outline may have.
const MOST_CORNERS: usize = 200;

/// What a tools file says.
#[derive(Debug)]
pub(crate) struct Tools {
    /// Brake and tools.
    pub(crate) tooling: Tooling,
    /// Limits of the shop that the tools set.
    limits: Vec<(Limit, ShopValue)>,
}

impl Tools {
    /// Adds what the tools set to the limits of the shop, where neither the family nor the shop file of this run says
    /// it; limits of another file in a saved history go.
    pub(crate) fn add_limits(&self, file: &str, shop_file: Option<&str>, shop: &mut Vec<LimitSpec>) {
        for (limit, value) in &self.limits {
            let name = limit.info().name;
            let stays = |said: &LimitSpec| said.file.is_none() || said.file.as_deref() == shop_file;
            shop.retain(|said| said.name != name || stays(said));
            if shop.iter().all(|said| said.name != name) {
                let (name, file) = (name.to_owned(), Some(file.to_owned()));
                shop.push(LimitSpec { name, value: value.clone(), file, of_tools: true, span: None });
            }
        }
    }
}

/// Reads a tools file.
///
/// # Errors
/// [`Failure::File`] if it cannot be read, [`Failure::Findings`] if it is no TOML, or has a key or a number that
/// cannot be.
pub(crate) fn read(path: &Path) -> Result<Tools, Failure> {
    let hint = "compare it with the section on bend orders of `docs/writing-a-family.md`";
    let file = TomlFile::read(path, "files::bad_tools_file", hint)?;
    let written: ToolsFile = file.parsed()?;
    let mut checks = Checks::of(&file);
    let mut tooling = Tooling::default();
    let mut limits = Vec::new();
    if written.only_own {
        tooling.punches.clear();
        tooling.dies.clear();
    }
    let own = written.punch.iter().map(|entry| &entry.name);
    names(&mut checks, "punch", own, tooling.punches.iter().map(|punch| punch.name.as_str()));
    let own = written.die.iter().map(|entry| &entry.name);
    names(&mut checks, "die", own, tooling.dies.iter().map(|die| die.name.as_str()));
    let punches = written.punch.iter().map(|entry| punch(&mut checks, entry));
    let punches: Vec<Punch> = punches.collect();
    tooling.punches.splice(0..0, punches);
    let usual = openings(&Tooling::default().dies);
    tooling.dies.extend(written.die.iter().map(|entry| die(&mut checks, entry)));
    // Narrow ones first; of alike ones the shop's own.
    tooling.dies.reverse();
    tooling.dies.sort_by(|a, b| a.opening.total_cmp(&b.opening));
    for (kind, is_there) in [("punch", !tooling.punches.is_empty()), ("die", !tooling.dies.is_empty())] {
        if !is_there {
            let message = format!("`only_own` leaves no {kind}: a shop needs a punch and a die");
            checks.refuse(message, 0..0);
        }
    }
    let on_hand = openings(&tooling.dies);
    if on_hand != usual {
        limits.push((Limit::VOpenings, ShopValue::Numbers(on_hand)));
    }
    if let Some(entries) = &written.segments {
        tooling.segments = segments(&mut checks, entries);
    }
    if let Some(entry) = &written.shortfall {
        tooling.shortfall = checks.number("`shortfall`", "mm", entry, DISTANCES_MM);
    }
    if let Some(entry) = &written.brake {
        brake(&mut checks, entry, &mut tooling.brake);
        if let Some(length) = &entry.length {
            let length = checks.number("`length`", "mm", length, Limit::BrakeLength.info().range);
            limits.push((Limit::BrakeLength, ShopValue::Number(length)));
        }
    }
    checks.end(Tools { tooling, limits })
}

/// Openings of dies, rising, each once.
fn openings(dies: &[Die]) -> Vec<f64> {
    let mut openings: Vec<f64> = dies.iter().map(|die| die.opening).collect();
    openings.sort_by(f64::total_cmp);
    openings.dedup();
    openings
}

/// Every name is there once, is none of the default set, and can be read on one line.
fn names<'n>(
    checks: &mut Checks<'_>,
    kind: &str,
    own: impl Iterator<Item = &'n Spanned<String>>,
    usual: impl Iterator<Item = &'n str>,
) {
    let usual: Vec<&str> = usual.collect();
    let mut known: Vec<&str> = Vec::new();
    for name in own {
        name_of(checks, kind, name);
        if usual.contains(&name.get_ref().as_str()) {
            let message = format!(
                "{kind} `{}` is one of the default set: give yours another name, or leave the default set out with `only_own = true`",
                name.get_ref()
            );
            checks.refuse(message, name.span());
        }
        if known.contains(&name.get_ref().as_str()) {
            checks.refuse(format!("there are two of {kind} `{}`", name.get_ref()), name.span());
        }
        known.push(name.get_ref());
    }
}

fn name_of(checks: &mut Checks<'_>, kind: &str, name: &Spanned<String>) {
    let text = name.get_ref();
    if text.trim().is_empty() || text.chars().any(char::is_control) {
        checks.refuse(format!("a {kind} needs a name that can be read on one line"), name.span());
    }
}

fn segments(checks: &mut Checks<'_>, entries: &Spanned<Vec<Spanned<f64>>>) -> Vec<f64> {
    let count = entries.get_ref().len();
    if count == 0 || count > MOST_SEGMENTS {
        checks.refuse(
            format!("there are {count} segments; a shop has 1 to {MOST_SEGMENTS} of them"),
            entries.span(),
        );
    }
    let lengths = entries.get_ref().iter().map(|entry| {
        let length = checks.number("a segment", "mm", entry, SEGMENTS_MM);
        if length.fract() != 0.0 {
            let message = format!("a segment of {length} mm: write the whole mm below");
            checks.refuse(message, entry.span());
        }
        length
    });
    lengths.collect()
}

fn brake(checks: &mut Checks<'_>, entry: &BrakeEntry, brake: &mut PressBrake) {
    if let Some(name) = &entry.name {
        name_of(checks, "brake", name);
        brake.name.clone_from(name.get_ref());
    }
    for (given, what, unit, range, place) in [
        (&entry.between_frames, "`between_frames`", "mm", SIZES_MM, &mut brake.between_frames),
        (&entry.throat, "`throat`", "mm", DISTANCES_MM, &mut brake.throat),
        (&entry.force_kn, "`force_kn`", "kN", FORCES_KN, &mut brake.force_kn),
        (&entry.daylight, "`daylight`", "mm", SIZES_MM, &mut brake.daylight),
    ] {
        if let Some(given) = given {
            *place = checks.number(what, unit, given, range);
        }
    }
    if let Some(given) = &entry.gauge_reach {
        let Row([near, far]) = *given.get_ref();
        if !(0.0 <= near && near < far && far <= DISTANCES_MM[1]) {
            let message = format!(
                "`gauge_reach` cannot be [{near}, {far}]: it is the nearest and the farthest place from the bend, in mm"
            );
            checks.refuse(message, given.span());
        }
        brake.gauge_reach = [near, far];
    }
    if let Some(given) = &entry.gauge_finger {
        let Row(size) = *given.get_ref();
        let [least, most] = SIZES_MM;
        if let Some(got) = size.iter().find(|got| !(least <= **got && **got <= most)) {
            let message =
                format!("a size of `gauge_finger` cannot be {got}: it goes from {least} to {most} mm");
            checks.refuse(message, given.span());
        }
        brake.gauge_finger = size;
    }
    if let Some(given) = &entry.ram {
        brake.ram = corners(checks, "the ram", given);
        if brake.ram.iter().all(|p| p.y <= 0.0) {
            checks.refuse("the ram reaches up from the punch's seat at z = 0".to_owned(), given.span());
        }
    }
    if let Some(given) = &entry.bed {
        brake.bed = corners(checks, "the bed", given);
        if brake.bed.iter().all(|p| p.y >= 0.0) {
            checks.refuse("the bed reaches down from the die's seat at z = 0".to_owned(), given.span());
        }
    }
}

fn punch(checks: &mut Checks<'_>, entry: &PunchEntry) -> Punch {
    let name = entry.name.get_ref();
    let what = |key: &str| format!("`{key}` of punch `{name}`");
    let outline = corners(checks, &format!("punch `{name}`"), &entry.outline);
    let height = outline.iter().map(|p| p.y).fold(0.0, f64::max);
    let lowest = outline.iter().map(|p| p.y).fold(f64::INFINITY, f64::min);
    if !(lowest == 0.0 && outline.contains(&Point2::ORIGIN)) {
        let message = format!("the tip of punch `{name}` must stand at [0, 0], as its lowest corner");
        checks.refuse(message, entry.outline.span());
    }
    Punch {
        name: name.clone(),
        outline,
        angle_deg: checks.number(&what("angle"), "°", &entry.angle, ANGLES_DEG),
        tip_radius: checks.number(&what("tip_radius"), "mm", &entry.tip_radius, DISTANCES_MM),
        height,
        most_kn_per_m: checks.number(&what("most_kn_per_m"), "kN", &entry.most_kn_per_m, FORCES_KN),
    }
}

fn die(checks: &mut Checks<'_>, entry: &DieEntry) -> Die {
    let name = entry.name.get_ref();
    let what = |key: &str| format!("`{key}` of die `{name}`");
    let opening = checks.number(&what("opening"), "mm", &entry.opening, Limit::VOpenings.info().range);
    let angle = checks.number(&what("angle"), "°", &entry.angle, ANGLES_DEG);
    let shoulder = checks.number(&what("shoulder"), "mm", &entry.shoulder, SIZES_MM);
    let height = checks.number(&what("height"), "mm", &entry.height, SIZES_MM);
    let depth = 0.5 * opening / maths::tan((0.5 * angle).to_radians());
    if depth >= height {
        let message =
            format!("the V of die `{name}` is {depth:.1} mm deep, which is through its {height} mm");
        checks.refuse(message, entry.height.span());
    }
    let mut die = Die::with_v(name.clone(), opening, angle, shoulder, height);
    die.most_kn_per_m = checks.number(&what("most_kn_per_m"), "kN", &entry.most_kn_per_m, FORCES_KN);
    die
}

/// Corners counter-clockwise, whichever way they were drawn.
fn corners(checks: &mut Checks<'_>, whose: &str, drawn: &Outline) -> Vec<Point2> {
    let entries = drawn.get_ref();
    let corners: Vec<Point2> =
        entries.iter().map(|p| p.get_ref()).map(|Row([y, z])| Point2::new(*y, *z)).collect();
    if !(3..=MOST_CORNERS).contains(&corners.len()) {
        let message =
            format!("the outline of {whose} has {} corners; it needs 3 to {MOST_CORNERS}", corners.len());
        checks.refuse(message, drawn.span());
        return corners;
    }
    let far = DISTANCES_MM[1];
    let is_far = |p: &Spanned<Row<2>>| !p.get_ref().0.iter().all(|at| at.abs() <= far);
    if let Some(corner) = entries.iter().find(|corner| is_far(corner)) {
        let message = format!("a corner of {whose} lies beyond {far} mm");
        checks.refuse(message, corner.span());
        return corners;
    }
    let contour = match Contour::polygon(&corners, Tag::default()) {
        Ok(contour) => contour,
        Err(ContourError::NoLength { index } | ContourError::Open { index, .. }) => {
            let message = format!("corner {} and the next one of {whose} are one", index + 1);
            checks.refuse(message, entries[index].span());
            return corners;
        }
        Err(ContourError::TooFewPieces { .. }) => unreachable!("there are three corners"),
    };
    if let Some(contact) = first_self_contact(&contour) {
        let message = format!(
            "the outline of {whose} meets itself at [{:.2}, {:.2}]: its lines behind corners {} and {} cross or touch",
            contact.point.x,
            contact.point.y,
            contact.first + 1,
            contact.second + 1
        );
        checks.refuse(message, entries[contact.second].span());
        return corners;
    }
    let mut corners = corners;
    if contour.signed_area() < 0.0 {
        corners.reverse();
    }
    corners
}
