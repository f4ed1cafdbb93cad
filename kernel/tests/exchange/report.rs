//! `report.json` read back, and its schema kept fresh.

use kernel::diag::{Diagnostic, Origin};
use kernel::exchange::report;
use kernel::history::feature::{Cutout, Feature, FeatureEntry, Pattern, Reach, XFrom};
use kernel::history::{History, Number, PanelName, Shape};
use kernel::regenerate::regenerate;
use kernel::stock::ClearanceFit;
use serde_json::Value;

use super::{parts, sample};

/// `report.json` of a history.
fn report_of(history: &History) -> Value {
    let part = regenerate(history).unwrap();
    let files = part.files(history, &part.details(history)).unwrap();
    let bytes = &files.iter().find(|(name, _)| *name == "report.json").unwrap().1;
    serde_json::from_slice(bytes).unwrap()
}

/// Asserts that the keys stand in the text in this order, each after the one before.
fn in_order(text: &str, keys: &[&str]) {
    let mut from = 0;
    for key in keys {
        let at = text[from..].find(&format!("\"{key}\":"));
        from += at.unwrap_or_else(|| panic!("`{key}` is missing or out of order"));
    }
}

fn near(value: &Value, expected: f64, tolerance: f64) {
    let got = value.as_f64().unwrap();
    assert!((got - expected).abs() <= tolerance, "{got} {expected}");
}

#[test]
fn keys_keep_their_order() {
    let text = sample::part().text("report.json");
    in_order(
        &text,
        &[
            "format",
            "family",
            "parameters",
            "sheet",
            "material",
            "thickness_mm",
            "inside_radius_mm",
            "bend_rule",
            "blank",
            "length_mm",
            "width_mm",
            "area_mm2",
            "cut_length_mm",
            "pierces",
            "folded",
            "volume_mm3",
            "surface_area_mm2",
            "bbox_mm",
            "solid",
            "vertices",
            "edges",
            "faces",
            "planes",
            "cylinders",
            "cones",
            "tori",
            "splines",
            "mass_kg",
            "degrees_of_freedom",
            "free_numbers",
            "sketches",
            "dimensions",
            "name",
            "asked",
            "got",
            "unit",
            "kind",
            "state",
            "bends",
            "name",
            "order",
            "turn_deg",
            "direction",
            "inside_radius_mm",
            "length_mm",
            "allowance_mm",
            "deduction_mm",
            "k_factor",
            "blank_line_mm",
            "holes",
            "checks",
            "rules",
            "caution",
        ],
    );
    assert!(text.starts_with("{\n  \"format\": 1,\n"));
}

#[test]
fn figures_by_hand() {
    let sample = sample::part();
    let report: Value = serde_json::from_str(&sample.text("report.json")).unwrap();
    assert_eq!(report["parameters"], serde_json::json!({ "duty": "wet", "wall": 60.0 }));
    assert_eq!(report["sheet"]["bend_rule"], "fixed K 0.44");
    // Outside legs 300, 60 and 60 less two deductions of 3.476107, and twice a lip of 15 less 1.051762.
    near(&report["blank"]["length_mm"], 420.0 + 30.0 - 2.0 * (3.476_107 + 1.051_762), 3e-6);
    near(&report["blank"]["area_mm2"], sample.part.blank.region.area(), 1e-6);
    // The outline and five openings.
    assert_eq!(report["blank"]["pierces"], 6);
    // 7.85e-6 kg/mm³ over 2 mm.
    near(&report["mass_kg"], sample.part.blank.region.area() * 2.0 * 7.85e-6, 1e-6);
    near(&report["free_numbers"]["base_length"], 300.0, 1e-6);
    assert_eq!(report["degrees_of_freedom"], 0);
    let dimension = &report["dimensions"][0];
    assert_eq!(
        (&dimension["name"], &dimension["unit"], &dimension["kind"], &dimension["state"]),
        (&"clear width".into(), &"mm".into(), &"inside".into(), &"held".into())
    );
    near(&dimension["asked"], 296.0, 0.0);
    near(&dimension["got"], 296.0, 1e-6);
    let angle = &report["dimensions"][1];
    assert_eq!(
        (&angle["asked"], &angle["unit"], &angle["state"]),
        (&Value::Null, &"deg".into(), &"measured".into())
    );
    near(&angle["got"], 45.0, 1e-6);
    // The base is 2 mm thick below zero; walls stand 60 mm high from its outer face.
    near(&report["folded"]["bbox_mm"][0][2], -2.0, 0.0);
    // Lips are bent before the walls that they stand on.
    assert_eq!(report["bends"][0]["direction"], "down");
    assert_eq!(report["bend_order"]["state"], "cheapest");
    let bend = &report["bends"][4];
    assert_eq!((&bend["direction"], &bend["order"]), (&"up".into(), &5.into()));
    assert_eq!(bend["setting"]["die"], "V12");
    near(&bend["allowance_mm"], 4.523_893, 0.0);
    near(&bend["deduction_mm"], 3.476_107, 0.0);
}

#[test]
fn test_strips_are_shown_with_their_residuals() {
    let mut history = sample::history();
    history.sheet.bend_rule = sample::test_strips(Some(0.03));
    let report = report_of(&history);
    let rule = &report["sheet"]["test_strips"];
    assert_eq!(report["sheet"]["bend_rule"], "5 test strips at 2 radii");
    assert_eq!((&rule["legs_from"], &rule["uncertainty_mm"]), (&"outside".into(), &0.03.into()));
    assert_eq!((&rule["degrees_of_freedom"], &rule["scatter_mm"]), (&3.into(), &0.015_456.into()));
    // By hand in `docs/math/test-strips.md`; the uncertainty gives 0.03 / 3.110177 = 0.009646, more than the
    // scatter where there are three strips (0.009131), and less where there are two (0.011183).
    assert_eq!(
        rule["ratios"],
        serde_json::json!([
            {"radius_over_thickness": 1.010_101, "k_factor": 0.434_619, "k_plus_minus": 0.009_646,
             "strips": [1, 2, 3]},
            {"radius_over_thickness": 2.020_202, "k_factor": 0.463_58, "k_plus_minus": 0.011_183,
             "strips": [4, 5]},
        ])
    );
    assert_eq!(
        rule["strips"][3],
        serde_json::json!({
            "strip": 4, "legs_mm": [40.04, 60.14], "turn_deg": 90.0, "thickness_mm": 1.98,
            "inside_radius_mm": 4.0, "flat_mm": 95.93, "k_factor": 0.458_757, "residual_mm": -0.015,
            "outlier": false
        })
    );
    // The sheet's r/t of 1 is within a tenth of the sharpest strips.
    assert_eq!(report["bends"][0]["k_factor"], 0.434_619);
    // With strips of its own, a sheet is described to the last key.
    assert_described(&report);
}

#[test]
fn holes_are_listed_by_size_with_the_bolt_that_they_are_for() {
    let mut history = sample::history();
    let cut = |name: &str, shape, places: &[[f64; 2]]| FeatureEntry {
        name: name.to_owned(),
        feature: Feature::Cutout(Cutout {
            panel: PanelName::new("base").unwrap(),
            shape,
            pattern: Pattern::At(places.iter().map(|p| p.map(Number::constant)).collect()),
            x_from: XFrom::Left,
            reach: Reach::Panel,
        }),
        span: None,
    };
    let bolt_hole = || Shape::BoltHole { bolt: "M6".to_owned(), fit: ClearanceFit::Medium };
    let slot = Shape::BoltSlot {
        bolt: "M6".to_owned(),
        fit: ClearanceFit::Fine,
        length: Number::constant(20.0),
        direction: Number::constant(30.0),
    };
    history.features.extend([
        cut("feet", bolt_hole(), &[[50.0, 50.0], [250.0, 50.0]]),
        // One of these is half an opening in the bowed edge: no hole.
        cut("lid", bolt_hole(), &[[50.0, 150.0], [150.0, 250.0]]),
        cut("cable", Shape::Circle { diameter: Number::constant(6.6) }, &[[150.0, 50.0]]),
        cut("tray", slot, &[[150.0, 100.0]]),
    ]);
    let report = report_of(&history);
    // ISO 273: M6 fine 6.4, medium 6.6.
    let row = |bolt: Option<&str>,
               fit: Option<&str>,
               diameter: f64,
               length: f64,
               count: usize,
               by: &[&str]| {
        serde_json::json!({
            "bolt": bolt, "fit": fit, "diameter_mm": diameter, "length_mm": length, "count": count, "features": by,
        })
    };
    assert_eq!(
        report["holes"],
        Value::Array(vec![
            row(Some("M6"), Some("fine"), 6.4, 20.0, 1, &["tray"]),
            row(Some("M6"), Some("medium"), 6.6, 6.6, 3, &["feet", "lid"]),
            row(None, None, 6.6, 6.6, 1, &["cable"]),
        ])
    );
}

#[test]
fn findings_are_carried_over() {
    let mut sample = sample::part();
    let origin = Origin { name: "vents".to_owned(), span: None };
    let finding =
        Diagnostic::warning("check::example", "too near: 1.2 mm".to_owned(), origin).hint("move it");
    sample.part.findings = vec![finding];
    let report: Value = serde_json::from_str(&sample.text("report.json")).unwrap();
    assert_eq!(
        report["checks"],
        serde_json::json!([{
            "code": "check::example",
            "severity": "warning",
            "message": "too near: 1.2 mm",
            "about": ["vents"],
            "hints": ["move it"],
            "measure": null,
        }])
    );
}

#[test]
fn sketches_are_counted_and_their_numbers_are_not_listed() {
    let history = parts::sketched_comb(3);
    let report = report_of(&history);
    assert_eq!(report["free_numbers"], serde_json::json!({}));
    assert_eq!(report["sketches"], serde_json::json!([{ "name": "comb", "numbers": 24, "left_free": 0 }]));
    // Three teeth of 6 mm and gaps of 10 mm between: 38 mm; the outer sides reach 50 mm.
    near(&report["blank"]["length_mm"], 38.0, 1e-6);
    near(&report["blank"]["width_mm"], 50.0, 1e-6);
}

#[test]
fn report_schema_is_fresh() {
    let path = concat!(env!("CARGO_MANIFEST_DIR"), "/../docs/report.schema.json");
    let schema = report::schema();
    if std::env::var_os("FOLDWRIGHT_UPDATE_DOCS").is_some() {
        std::fs::write(path, &schema).unwrap();
    }
    let kept = std::fs::read_to_string(path).unwrap_or_default();
    assert!(
        kept == schema,
        "docs/report.schema.json is stale; run \
         `FOLDWRIGHT_UPDATE_DOCS=1 cargo test -p foldwright-kernel --test exchange report_schema_is_fresh`"
    );
}

/// Every key of the report is described, and every described key that must be there is.
fn assert_described(report: &Value) {
    fn compare(schema: &Value, root: &Value, value: &Value, path: &str) {
        // What may be left out is this or null.
        let schema = schema.get("anyOf").map_or(schema, |either| &either[0]);
        let schema = match schema.get("$ref") {
            Some(link) => root.pointer(link.as_str().unwrap().trim_start_matches('#')).unwrap(),
            None => schema,
        };
        if let (Some(properties), Some(object)) = (schema.get("properties"), value.as_object()) {
            for (key, value) in object {
                let described =
                    properties.get(key).unwrap_or_else(|| panic!("{path}/{key} is not in the schema"));
                assert!(described["description"].is_string(), "{path}/{key} has no description");
                compare(described, root, value, &format!("{path}/{key}"));
            }
            for key in schema["required"].as_array().unwrap() {
                assert!(object.contains_key(key.as_str().unwrap()), "{path}/{key} is missing");
            }
        }
        if let (Some(items), Some(array)) = (schema.get("items"), value.as_array()) {
            array.iter().for_each(|value| compare(items, root, value, path));
        }
    }
    let schema: Value = serde_json::from_str(&report::schema()).unwrap();
    assert!(schema["properties"].as_object().unwrap().len() == 28);
    compare(&schema, &schema, report, "");
}

#[test]
fn schema_describes_the_report() {
    assert_described(&serde_json::from_str(&sample::part().text("report.json")).unwrap());
}
