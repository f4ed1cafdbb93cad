//! Golden replays: every family at several sizes, stage by stage.
//!
//! The files lie in `tests/families/<family>/`. `FOLDWRIGHT_ACCEPT=1 cargo test -p foldwright-tests --test
//! families` writes them anew and keeps their sections by hand; accept in a commit of its own, with the
//! reason. A hash that differs says only that bytes moved: make the family before and after the change and
//! compare the files.

#![allow(clippy::unwrap_used, reason = "a check stops at the first surprise, in its helping functions too")]

use std::collections::BTreeMap;
use std::path::{Path, PathBuf};

use foldwright::{Failure, Loaded, load};
use foldwright_tests::golden::{Golden, figures_by_hand};
use foldwright_tests::project_folder;
use kernel::diag::Severity;
use kernel::guarding::UPPER_LIMBS;
use kernel::history::feature::Feature;
use kernel::history::{ParameterRange, ParameterValue};
use kernel::quantity::Length;
use kernel::regenerate::{Part, regenerate};

/// A size of a family with a golden file.
#[derive(Clone, Copy)]
enum Size {
    /// Nothing set.
    Nominal,
    /// Every number at its least.
    Narrowest,
    /// Every number at its most.
    Widest,
    /// These parameters set.
    Set(&'static [(&'static str, &'static str)]),
}

const USUAL: &[(Size, &str)] =
    &[(Size::Nominal, "nominal"), (Size::Narrowest, "narrowest"), (Size::Widest, "widest")];

/// The extremes of the fan screen have openings by the thousand; the benches and the outside checks make those.
const FAN_SCREENS: &[(Size, &str)] = &[
    (Size::Set(&[("length", "240"), ("width", "180"), ("hole", "6")]), "small"),
    (
        Size::Set(&[
            ("length", "200"),
            ("width", "160"),
            ("depth", "30"),
            ("hole", "10"),
            ("thickness", "2"),
        ]),
        "thick",
    ),
    (
        Size::Set(&[
            ("length", "900"),
            ("width", "160"),
            ("depth", "120"),
            ("hole", "10"),
            ("thickness", "0.8"),
        ]),
        "long",
    ),
];

/// Every family with its sizes.
const FAMILIES: [(&str, &[(Size, &str)]); 5] = [
    ("chain_guard", USUAL),
    ("coupling_guard", USUAL),
    ("fan_screen", FAN_SCREENS),
    ("sprocket_shield", USUAL),
    ("terminal_cover", USUAL),
];

/// Chords across openings begin at places no farther apart than this, in mm: `docs/math/guard-openings.md`.
const BEGINS_EVERY_MM: f64 = 5.0;

type Settings = BTreeMap<String, String>;

fn settings_from(pairs: &[(&str, &str)]) -> Settings {
    pairs.iter().map(|(n, v)| ((*n).to_owned(), (*v).to_owned())).collect()
}

fn loaded(family: &str, settings: &Settings) -> Result<Loaded, Failure> {
    load(&project_folder().join("scripts").join(family).with_extension("rhai"), settings.clone())
}

/// The settings of a size; words are as the family has them.
fn settings_of(family: &str, size: Size) -> Settings {
    let extremes = |pick: fn(f64, f64) -> f64| {
        let parameters = loaded(family, &Settings::new()).unwrap().history.parameters;
        let extreme = |range: &ParameterRange| match range {
            ParameterRange::Numbers { min, max, .. } => Some(pick(*min, *max).to_string()),
            ParameterRange::Choices(_) | ParameterRange::Words(_) => None,
        };
        parameters.iter().filter_map(|p| Some((p.name.clone(), extreme(&p.range)?))).collect()
    };
    match size {
        Size::Nominal => Settings::new(),
        Size::Narrowest => extremes(|min, _| min),
        Size::Widest => extremes(|_, max| max),
        Size::Set(pairs) => settings_from(pairs),
    }
}

fn golden_file(family: &str, case: &str) -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("families").join(family).join(case).with_extension("md")
}

/// FNV-1a, 64 bits: enough to see that bytes moved, and the same everywhere.
fn hash(bytes: &[u8]) -> String {
    let hash = bytes.iter().fold(0xcbf2_9ce4_8422_2325_u64, |hash, &byte| {
        (hash ^ u64::from(byte)).wrapping_mul(0x0000_0100_0000_01b3)
    });
    format!("{hash:016x}")
}

fn made(family: &str, settings: &Settings) -> (Loaded, Part) {
    let loaded = loaded(family, settings).unwrap_or_else(|failure| panic!("{}", failure.text()));
    let part = regenerate(&loaded.history).unwrap_or_else(|findings| panic!("{findings:?}"));
    (loaded, part)
}

fn golden(family: &str, case: &str, settings: &Settings) -> Golden {
    let (loaded, part) = made(family, settings);
    let history = &loaded.history;
    let mut golden = Golden::new(&format!("{family}, {case}"));
    golden.section("parameters");
    for parameter in &history.parameters {
        let value = match &parameter.value {
            ParameterValue::Number(number) => format!("{number:.4} {}", parameter.unit),
            ParameterValue::Word(word) => word.clone(),
        };
        golden.line(&parameter.name, value.trim_end());
    }
    golden.section("history");
    for entry in &history.features {
        golden.line(&entry.name, feature_word(&entry.feature));
    }
    golden.section("solution");
    for (free, value) in history.free_numbers.iter().zip(&part.settled.free) {
        golden.line(&free.name, &format!("{value:.4}"));
    }
    golden.line("left free", &part.settled.report.degrees_of_freedom.to_string());
    for d in &part.settled.dimensions {
        let asked = d.asked.map_or_else(|| "-".to_owned(), |asked| format!("{asked:.4}"));
        golden.line(
            &d.name,
            &format!("{} asked {asked} got {:.4} {} {}", d.kind, d.got, d.unit, d.state.word()),
        );
    }
    golden.section("fold tree");
    for panel in part.tree.panels() {
        let name = format!("panel {}", panel.name);
        if panel.region.is_empty() {
            golden.line(&name, "no flat");
            continue;
        }
        let contours = panel.region.contours().len();
        let edges: usize = panel.region.outers().map(|c| c.segments().len()).sum();
        let area = panel.region.area();
        golden.line(&name, &format!("edges {edges} contours {contours} area {area:.4} mm²"));
    }
    for bend in part.tree.bends() {
        let turn = bend.formula.turn.angle().to_deg();
        let values = format!(
            "from {} {} turn {turn:.4} ° r {:.4} mm K {:.4} length {:.4} mm allowance {:.4} mm",
            part.tree.panel(bend.parent).name,
            bend.side.word(),
            bend.inside_radius(),
            bend.k_factor(),
            bend.length(),
            bend.allowance(),
        );
        golden.line(&format!("bend {}", part.tree.panel(bend.child).name), &values);
    }
    golden.section("blank");
    let size = part.blank.bounding_box();
    golden.line("size", &format!("{:.4} x {:.4} mm", size.width(), size.height()));
    golden.line("area", &format!("{:.4} mm²", part.blank.region.area()));
    golden.line("cut length", &format!("{:.4} mm", part.blank.cut_length()));
    golden.line("contours", &part.blank.pierces().to_string());
    golden.line("mass", &format!("{:.6} kg", part.mass_kg()));
    golden.line("volume", &format!("{:.4} mm³", part.measures.volume));
    golden.section("checks");
    for finding in &part.findings {
        golden.line(finding.code, &format!("{} {}", finding.severity.word(), finding.message));
    }
    golden.section("hashes");
    for (name, bytes) in part.files(history, &part.details(history)).unwrap() {
        golden.line(name, &hash(&bytes));
    }
    golden
}

fn feature_word(feature: &Feature) -> &'static str {
    match feature {
        Feature::BasePanel(_) => "base panel",
        Feature::Flange(_) => "flange",
        Feature::Cutout(_) => "cutout",
        Feature::Seam(_) => "seam",
        Feature::CornerBreak(_) => "corner break",
        Feature::Hem(_) => "hem",
        Feature::FoldLine(_) => "fold line",
        Feature::Offset(_) => "offset",
        Feature::Turned(_) => "turned panel",
        Feature::Bump(_) => "bump",
        Feature::BumpOver(_) => "bump over bolts",
        Feature::BumpChange(_) => "changed bump",
    }
}

#[test]
fn families_give_what_they_always_gave() {
    let mut wrong = Vec::new();
    for (family, sizes) in FAMILIES {
        for &(size, case) in sizes {
            let golden = golden(family, case, &settings_of(family, size));
            wrong.extend(golden.check(&golden_file(family, case)).err());
        }
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}

#[test]
fn families_give_what_was_worked_out_by_hand() {
    for (family, sizes) in FAMILIES {
        for &(size, case) in sizes {
            let (_, part) = made(family, &settings_of(family, size));
            let blank = part.blank.bounding_box();
            for (name, figure) in figures_by_hand(&golden_file(family, case)) {
                let got = match name.as_str() {
                    "blank along x" => blank.width(),
                    "blank along y" => blank.height(),
                    other => panic!("{family}/{case}: no one knows what `{other}` is"),
                };
                // Figures by hand have four decimals, and so are good to half of the last one.
                assert!(
                    (got - figure).abs() <= 0.5e-4 + 1e-9,
                    "{family}/{case}: {name} is {got}, by hand {figure}"
                );
            }
        }
    }
}

/// Texts between two markers, each as it stands there.
fn between<'t>(text: &'t str, from: &str, to: &str) -> Vec<&'t str> {
    text.split(from).skip(1).filter_map(|rest| rest.split(to).next()).collect()
}

/// The place in the order of a bend by name.
type Places = BTreeMap<String, usize>;

#[test]
fn every_family_has_a_bend_order_and_all_its_files_give_bends_the_same_numbers() {
    for (family, sizes) in FAMILIES {
        for &(size, case) in sizes {
            let about = format!("{family}, {case}");
            let (loaded, part) = made(family, &settings_of(family, size));
            assert!(!part.bend_plan().steps.is_empty(), "{about}: {:?}", part.bend_plan().findings);
            let [cost, bound] = part.bend_plan().cost;
            assert_eq!(cost, bound, "{about}: not proven to be cheapest");
            let files = part.files(&loaded.history, &part.details(&loaded.history)).unwrap();
            let file = |name: &str| {
                let (_, bytes) = files.iter().find(|(known, _)| *known == name).unwrap();
                String::from_utf8(bytes.clone()).unwrap()
            };
            let table: Vec<Vec<String>> = file("bends.csv")
                .lines()
                .skip(1)
                .map(|row| row.split(',').map(str::to_owned).collect())
                .collect();
            let by_table: Places =
                table.iter().map(|row| (row[1].clone(), row[0].parse().unwrap())).collect();
            assert_eq!(by_table.len(), part.tree.bends().len(), "{about}");

            let report: serde_json::Value = serde_json::from_str(&file("report.json")).unwrap();
            let bends = report["bends"].as_array().unwrap();
            let number = |value: &serde_json::Value| usize::try_from(value.as_u64().unwrap()).unwrap();
            let name = |value: &serde_json::Value| value.as_str().unwrap().to_owned();
            let by_report: Places = bends.iter().map(|b| (name(&b["name"]), number(&b["order"]))).collect();
            assert_eq!(by_report, by_table, "{about}: report.json");

            let order: serde_json::Value = serde_json::from_str(&file("order.json")).unwrap();
            let entries = order.as_array().unwrap();
            let by_order: Places = entries.iter().map(|e| (name(&e["panel"]), number(&e["step"]))).collect();
            assert_eq!(by_order, by_table, "{about}: order.json");

            // Titles are in bold: `3 · side.left + side.right · 90° up`.
            let pictures = file("order.svg");
            let mut by_picture = Places::new();
            for title in between(&pictures, "font-weight=\"bold\" fill=\"#22262a\">", "</text>") {
                let [step, names, _] = title.split(" · ").collect::<Vec<_>>()[..] else { panic!("{title}") };
                by_picture
                    .extend(names.split(" + ").map(|name| (name.to_owned(), step.parse::<usize>().unwrap())));
            }
            assert_eq!(by_picture, by_table, "{about}: order.svg");

            // Drawings have no names: numbers with turns, and numbers at the middles of bend lines.
            let mut labels: Vec<String> =
                between(&file("blank.svg"), "text-anchor=\"middle\" fill=\"", "</text>")
                    .iter()
                    .filter_map(|text| text.split('>').nth(1))
                    .filter(|text| text.contains(" · "))
                    .map(str::to_owned)
                    .collect();
            labels.sort();
            let mut wanted: Vec<String> = part
                .bend_table()
                .iter()
                .map(|row| format!("{} · {}°", row.order.unwrap(), (10.0 * row.turn.to_deg()).round() / 10.0))
                .collect();
            wanted.sort();
            assert_eq!(labels, wanted, "{about}: blank.svg");

            let drawing = file("blank.dxf");
            let lines: Vec<&str> = drawing.lines().collect();
            let texts: Vec<(usize, [f64; 2])> = (0..lines.len())
                .filter(|i| lines[*i] == "TEXT")
                .map(|at| {
                    let value = |code: &str| {
                        // Codes and values take turns.
                        let place = (at + 1..).step_by(2).find(|i| lines[*i].trim() == code).unwrap();
                        lines[place + 1]
                    };
                    let place = ["11", "21"].map(|code| value(code).parse::<f64>().unwrap());
                    (value("1").parse().unwrap(), place)
                })
                .collect();
            assert_eq!(texts.len(), by_table.len(), "{about}: blank.dxf");
            for row in part.bend_table() {
                let [from, to] = row.blank_line;
                let middle = from.midpoint(to);
                // A third of the height of 5 mm over the line.
                let is_there = texts.iter().any(|(number, [x, y])| {
                    Some(*number) == row.order && (x - middle.x).abs() < 2.0 && (y - middle.y).abs() < 2.0
                });
                assert!(is_there, "{about}: no {:?} for {} in blank.dxf: {texts:?}", row.order, row.name);
            }
        }
    }
}

#[test]
fn families_refuse_what_cannot_be() {
    for (family, case, settings) in [
        ("chain_guard", "refuses_shaft_out_of_range", [("depth", "60"), ("shaft", "40.5")]),
        ("terminal_cover", "refuses_screws_of_no_kind", [("fixing", "glue"), ("width", "150")]),
    ] {
        let settings = settings_from(&settings);
        let mut golden = Golden::new(&format!("{family}, {case}"));
        golden.section("refusal");
        let text = loaded(family, &settings).unwrap_err().text();
        // The path depends on where the tests stand.
        let message: Vec<&str> = text.lines().filter(|line| !line.contains("-->")).collect();
        golden.line("message", &message.join("\n"));
        golden.check(&golden_file(family, case)).unwrap();
    }
}

#[test]
fn every_extreme_of_the_parameters_is_made() {
    for (family, _) in FAMILIES {
        let parameters = loaded(family, &Settings::new()).unwrap().history.parameters;
        // Rules for openings change no shape, so that they take turns.
        let rules = parameters.iter().find(|p| p.name == "rule").map(|p| match &p.range {
            ParameterRange::Words(words) => words.clone(),
            ParameterRange::Numbers { .. } | ParameterRange::Choices(_) => panic!("rules are words"),
        });
        let extremes: Vec<(String, Vec<String>)> = parameters
            .iter()
            .filter(|p| p.name != "rule")
            .map(|p| match &p.range {
                ParameterRange::Numbers { min, max, .. } => {
                    (p.name.clone(), vec![min.to_string(), max.to_string()])
                }
                ParameterRange::Choices(numbers) => {
                    (p.name.clone(), numbers.iter().map(ToString::to_string).collect())
                }
                ParameterRange::Words(words) => (p.name.clone(), words.clone()),
            })
            .collect();
        let mut refused = Vec::new();
        for corner in 0..1_usize << extremes.len() {
            let pick = |(index, (name, values)): (usize, &(String, Vec<String>))| {
                (name.clone(), values[(corner >> index & 1) % values.len()].clone())
            };
            let mut settings: Settings = extremes.iter().enumerate().map(pick).collect();
            if let Some(rules) = &rules {
                let turn = usize::try_from(corner.count_ones()).unwrap();
                settings.insert("rule".to_owned(), rules[turn % rules.len()].clone());
            }
            let loaded = loaded(family, &settings).unwrap_or_else(|failure| panic!("{}", failure.text()));
            let findings = regenerate(&loaded.history).map_or_else(
                |findings| findings,
                |part| part.findings.into_iter().filter(|f| f.severity == Severity::Fault).collect(),
            );
            refused.extend(findings.first().map(|f| format!("{settings:?}: {}", f.message)));
        }
        assert_eq!(refused, Vec::<String>::new(), "{family}");
    }
}

/// An opening, or the gap that is left of it, against a hazard, in mm.
#[derive(Clone, Copy, Debug)]
struct Spare {
    width: f64,
    spare: f64,
}

/// The judgement of each opening and hazard of a family at these settings; a distance without bound where none is
/// enough.
fn spares(family: &str, settings: &Settings) -> BTreeMap<String, Spare> {
    let (_, part) = made(family, settings);
    let judged = part.judged.as_ref().unwrap();
    let mut found = BTreeMap::new();
    for opening in &judged.openings {
        for judgement in &opening.judgements {
            let needs = judgement.needs().map_or(f64::INFINITY, Length::to_mm);
            let spare =
                Spare { width: judgement.shape.narrow().to_mm(), spare: judgement.got().to_mm() - needs };
            let name =
                format!("{} {} {}", opening.opening.name, judgement.hazard, judgement.beside.is_some());
            assert!(found.insert(name, spare).is_none(), "{}", opening.opening.name);
        }
    }
    found
}

/// A parameter with its first and last value and the step between, and other parameters.
type Sweep<'a> = (&'a str, [f64; 3], &'a [(&'a str, &'a str)]);

#[test]
fn what_openings_have_to_spare_changes_little_with_every_millimetre() {
    // Most of what stands in the coupling guard is placed by these sizes. An end of the way moves with the outline by a
    // step at most, the other end with the coupling, whose middle and radius move by half a step each: no more than three
    // steps in all, and as far as chords can jump.
    let least = [("length", "310"), ("clear_width", "110"), ("height", "130")];
    let sweeps: &[Sweep] = &[
        ("length", [310.0, 380.0, 2.0], &[]),
        ("length", [310.0, 380.0, 2.0], &least),
        ("clear_width", [110.0, 260.0, 3.0], &[]),
        ("height", [130.0, 220.0, 2.0], &[]),
        // Thicker than 1.5 mm the inside radius is another one.
        ("thickness", [1.55, 2.0, 0.05], &[("length", "310")]),
    ];
    for &(name, [from, to, step], others) in sweeps {
        let mut before: Option<(f64, BTreeMap<String, Spare>)> = None;
        let mut value = from;
        while value <= to + 1e-9 {
            let mut settings = settings_from(others);
            settings.insert(name.to_owned(), format!("{value:.2}"));
            let now = spares("coupling_guard", &settings);
            assert!(now.values().all(|now| now.spare >= 0.0), "{name} {value}: {now:?}");
            if let Some((last, before)) = &before {
                for (what, now) in &now {
                    let Some(before) = before.get(what) else { continue };
                    let little = (now.spare - before.spare).abs() <= 3.0 * step + BEGINS_EVERY_MM;
                    // The next row of the table asks for more of what is hardly wider.
                    let (low, high) = (before.width.min(now.width), before.width.max(now.width));
                    let crosses = UPPER_LIMBS.iter().any(|row| low <= row.up_to_mm && row.up_to_mm < high);
                    let next_row = crosses && high - low <= step;
                    assert!(little || next_row, "{name} {last} to {value}: {what} {before:?} {now:?}");
                }
            }
            before = Some((value, now));
            value += step;
        }
    }
}
