//! Brake and tools of a shop, read from TOML.
//!
//! Invariant: what is left out is as in the default set; own punches and dies come before those of the default set,
//! which `only_own` leaves out. Knows nothing of parts.

use kernel::diag::Diagnostic;
use kernel::geom::Point2;
use kernel::history::{LimitSpec, ShopValue};
use kernel::stock::{Die, Limit, Punch, Tooling};
use serde::Deserialize;

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct ToolsFile {
    #[serde(default)]
    only_own: bool,
    segments: Option<Vec<f64>>,
    shortfall: Option<f64>,
    brake: Option<BrakeEntry>,
    #[serde(default)]
    punch: Vec<PunchEntry>,
    #[serde(default)]
    die: Vec<DieEntry>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct BrakeEntry {
    name: Option<String>,
    length: Option<f64>,
    between_frames: Option<f64>,
    throat: Option<f64>,
    force_kn: Option<f64>,
    daylight: Option<f64>,
    ram: Option<Vec<[f64; 2]>>,
    bed: Option<Vec<[f64; 2]>>,
    gauge_reach: Option<[f64; 2]>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct PunchEntry {
    name: String,
    angle: f64,
    tip_radius: f64,
    outline: Vec<[f64; 2]>,
    most_kn_per_m: f64,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct DieEntry {
    name: String,
    opening: f64,
    angle: f64,
    shoulder: f64,
    height: f64,
    most_kn_per_m: f64,
}

/// What a tools file says.
#[derive(Debug)]
pub(crate) struct Tools {
    /// Brake and tools.
    pub(crate) tooling: Tooling,
    /// Limits of the shop that the tools set.
    limits: Vec<(Limit, ShopValue)>,
}

impl Tools {
    /// Adds what the tools set to the limits of the shop, where neither the family nor a shop file says it.
    pub(crate) fn add_limits(&self, file: &str, shop: &mut Vec<LimitSpec>) {
        for (limit, value) in &self.limits {
            let name = limit.info().name;
            if shop.iter().all(|said| said.name != name) {
                let (name, file) = (name.to_owned(), Some(file.to_owned()));
                shop.push(LimitSpec { name, value: value.clone(), file, span: None });
            }
        }
    }
}

/// Reads a tools file.
///
/// # Errors
/// `tools::unreadable` with the reader's words, or with the name of the tool that cannot be.
pub(crate) fn read(text: &str) -> Result<Tools, Diagnostic> {
    let file: ToolsFile = toml::from_str(text).map_err(|fault| refused(&fault.to_string()))?;
    let mut tooling = Tooling::default();
    let mut limits = Vec::new();
    if file.only_own {
        tooling.punches.clear();
        tooling.dies.clear();
    }
    let punches = file.punch.into_iter().map(punch).collect::<Result<Vec<_>, _>>()?;
    tooling.punches.splice(0..0, punches);
    let openings = |dies: &[Die]| {
        let mut openings: Vec<f64> = dies.iter().map(|die| die.opening).collect();
        openings.sort_by(f64::total_cmp);
        openings.dedup();
        openings
    };
    let usual = openings(&Tooling::default().dies);
    for entry in file.die {
        if !(entry.opening > 0.0 && 0.0 < entry.angle && entry.angle < 180.0 && entry.height > 0.0) {
            return Err(refused(&format!(
                "die `{}` needs an opening, an angle and a height above zero",
                entry.name
            )));
        }
        let mut die = Die::with_v(entry.name, entry.opening, entry.angle, entry.shoulder, entry.height);
        die.most_kn_per_m = entry.most_kn_per_m;
        tooling.dies.push(die);
    }
    // Narrow ones first; of alike ones the shop's own.
    tooling.dies.reverse();
    tooling.dies.sort_by(|a, b| a.opening.total_cmp(&b.opening));
    if tooling.punches.is_empty() || tooling.dies.is_empty() {
        return Err(refused("a shop needs a punch and a die"));
    }
    let on_hand = openings(&tooling.dies);
    if on_hand != usual {
        limits.push((Limit::VOpenings, ShopValue::Numbers(on_hand)));
    }
    tooling.segments = file.segments.unwrap_or(tooling.segments);
    tooling.shortfall = file.shortfall.unwrap_or(tooling.shortfall);
    if let Some(entry) = file.brake {
        let brake = &mut tooling.brake;
        brake.name = entry.name.unwrap_or_else(|| brake.name.clone());
        limits.extend(entry.length.map(|length| (Limit::BrakeLength, ShopValue::Number(length))));
        brake.between_frames = entry.between_frames.unwrap_or(brake.between_frames);
        brake.throat = entry.throat.unwrap_or(brake.throat);
        brake.force_kn = entry.force_kn.unwrap_or(brake.force_kn);
        brake.daylight = entry.daylight.unwrap_or(brake.daylight);
        brake.gauge_reach = entry.gauge_reach.unwrap_or(brake.gauge_reach);
        for (outline, given, name) in [(&mut brake.ram, entry.ram, "ram"), (&mut brake.bed, entry.bed, "bed")]
        {
            if let Some(given) = given {
                *outline = corners(&given, name)?;
            }
        }
    }
    Ok(Tools { tooling, limits })
}

fn punch(entry: PunchEntry) -> Result<Punch, Diagnostic> {
    let outline = corners(&entry.outline, &entry.name)?;
    let height = outline.iter().map(|p| p.y).fold(0.0, f64::max);
    let lowest = outline.iter().map(|p| p.y).fold(f64::INFINITY, f64::min);
    if !(lowest == 0.0 && outline.contains(&Point2::ORIGIN) && 0.0 < entry.angle && entry.angle < 180.0) {
        return Err(refused(&format!(
            "punch `{}` needs its tip at [0, 0], as its lowest corner",
            entry.name
        )));
    }
    Ok(Punch {
        name: entry.name,
        outline,
        angle_deg: entry.angle,
        tip_radius: entry.tip_radius,
        height,
        most_kn_per_m: entry.most_kn_per_m,
    })
}

/// Corners counter-clockwise, whichever way they were drawn.
fn corners(drawn: &[[f64; 2]], name: &str) -> Result<Vec<Point2>, Diagnostic> {
    let mut corners: Vec<Point2> = drawn.iter().map(|[y, z]| Point2::new(*y, *z)).collect();
    let next = corners.iter().cycle().skip(1);
    let area: f64 = corners.iter().zip(next).map(|(a, b)| 0.5 * (a.x * b.y - a.y * b.x)).sum();
    if corners.len() < 3 || !area.is_finite() || area == 0.0 {
        return Err(refused(&format!("the outline of `{name}` encloses nothing")));
    }
    if area < 0.0 {
        corners.reverse();
    }
    Ok(corners)
}

fn refused(why: &str) -> Diagnostic {
    Diagnostic::fault("tools::unreadable", format!("the tools cannot be read: {}", why.trim_end()), None)
        .hint("compare them with the section on bend orders of `docs/writing-a-family.md`")
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used, reason = "a check stops at the first surprise")]

    use super::*;

    #[test]
    fn own_tools_come_before_the_default_ones() {
        let text = r#"
            shortfall = 4
            [brake]
            name = "Orchard 2000"
            length = 2000
            [[punch]]
            name = "window"
            angle = 80
            tip_radius = 1
            outline = [[0, 0], [-10, 12], [-10, 100], [10, 100], [10, 12]]
            most_kn_per_m = 400
            [[die]]
            name = "V12 slim"
            opening = 12
            angle = 84
            shoulder = 2
            height = 90
            most_kn_per_m = 300
        "#;
        let Tools { tooling: shop, limits } = read(text).unwrap();
        assert_eq!((shop.brake.name.as_str(), shop.shortfall), ("Orchard 2000", 4.0));
        assert_eq!(limits, [(Limit::BrakeLength, ShopValue::Number(2000.0))]);
        assert_eq!(shop.punches[0].name, "window");
        // Drawn clockwise, turned round.
        assert_eq!(shop.punches[0].outline[0], Point2::new(10.0, 12.0));
        let first = shop.dies.iter().find(|d| d.opening == 12.0).unwrap();
        assert_eq!(first.name, "V12 slim");
        assert!(shop.punches.iter().any(|p| p.name == "relieved"));
    }

    #[test]
    fn what_cannot_be_is_refused_with_its_name() {
        let off = "[[punch]]\nname = \"odd\"\nangle = 80\ntip_radius = 1\nmost_kn_per_m = 1\noutline = [[1, 1], [5, 9], [0, 9]]";
        assert!(read(off).unwrap_err().message.contains("punch `odd` needs its tip"));
        assert!(read("anvil = 1").unwrap_err().message.contains("anvil"));
        assert!(read("only_own = true").unwrap_err().message.contains("a punch and a die"));
    }
}
