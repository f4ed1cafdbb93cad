//! Gauge tables and materials against published values.
//!
//! Sources are named beside each check; their titles are in `tests/reference/sources.csv`.

#![allow(clippy::unwrap_used, reason = "a check stops at the first surprise, in its helping functions too")]

use std::collections::BTreeMap;

use foldwright_tests::reference_rows;
use kernel::quantity::{Length, maths};
use kernel::stock::{
    BEND_PLACE_MM, Band, CLEARANCE_HOLES, ClearanceFit, GaugeSystem, HEX_HEADS, HEX_NUTS, MATERIALS,
    Published, SourceStatus, TURN_DEG, Thickness, WASHERS, clearance_hole, fastener, laser_cut_limit,
    material, thickness_limit,
};

fn system_of(published: &str) -> GaugeSystem {
    match published {
        "sheet steel (Manufacturers' Standard Gauge)" => GaugeSystem::SheetSteel,
        "galvanised steel" => GaugeSystem::Galvanised,
        "stainless steel (US Standard Gauge)" => GaugeSystem::Stainless,
        "aluminium and brass (AWG / Brown and Sharpe)" => GaugeSystem::AluminiumAndBrass,
        unknown => panic!("no gauge system for {unknown}"),
    }
}

/// The inch columns are printed to four decimals.
const HALF_DIGIT: f64 = 5e-5;

fn inches(system: GaugeSystem, gauge: u32) -> f64 {
    system.thickness(gauge).unwrap().length().to_inch()
}

#[test]
fn every_published_gauge_row_is_reproduced() {
    // Source: GAUGE-ZEB (supplier chart, inch column) and USC206 (15 U.S.C. 206); the rows that correct a
    // misprint of the chart are from memory.
    let rows = reference_rows("gauges.csv");
    assert_eq!(rows.len(), 95);
    for row in &rows {
        let system = system_of(row.text("gauge_system"));
        let got = inches(system, row.number("gauge") as u32);
        let wanted = row.number("thickness_in");
        assert!((got - wanted).abs() < 1e-12, "{}: {got} against {wanted}", row.place());
    }
}

#[test]
fn steel_gauges_follow_the_weight_they_stand_for() {
    // Source: USC206 gives lb/ft²; 28 and 29 gauge from memory. Divisors 41.82 (sheet steel, and galvanised
    // with 2.5 oz/ft² = 0.15625 lb/ft² more) and 40 (stainless): GAUGE-ZEB, seen.
    let weights: BTreeMap<u32, f64> = reference_rows("us_standard_gauge.csv")
        .iter()
        .map(|row| (row.number("gauge") as u32, row.number("weight_lb_per_ft2")))
        .collect();
    for gauge in 7..=30 {
        let weight = weights[&gauge];
        let steel = inches(GaugeSystem::SheetSteel, gauge);
        assert!((steel - weight / 41.82).abs() <= HALF_DIGIT, "sheet steel {gauge}: {steel}");
        let stainless = inches(GaugeSystem::Stainless, gauge);
        assert!((stainless - weight / 40.0).abs() < 1e-12, "stainless {gauge}: {stainless}");
        if gauge >= 8 {
            let galvanised = inches(GaugeSystem::Galvanised, gauge);
            assert!(
                (galvanised - (weight + 0.15625) / 41.82).abs() <= HALF_DIGIT,
                "galvanised {gauge}: {galvanised}"
            );
        }
    }
}

#[test]
fn wire_gauges_follow_their_law() {
    // Source: GAUGE-ZEB; 0.005 in at 36 gauge and 0.46 in at 0000, 39 equal ratios apart: ratio 92.
    for gauge in 7..=30 {
        let law = 0.005 * maths::pow(92.0, (36.0 - f64::from(gauge)) / 39.0);
        let got = inches(GaugeSystem::AluminiumAndBrass, gauge);
        assert!((got - law).abs() <= HALF_DIGIT, "{gauge}: {got} against {law}");
    }
}

#[test]
fn densities_are_the_published_ones() {
    // Source: materials.csv, property density; carbon steel, 1.4401 and CuZn37 from memory.
    let published: BTreeMap<String, f64> = reference_rows("materials.csv")
        .iter()
        .filter(|row| row.text("property") == "density")
        .map(|row| (row.text("material").to_owned(), row.number("value")))
        .collect();
    let carbon = "carbon steel (DC01, DC04, S235, S355)";
    for (name, row) in [
        ("DC01", carbon),
        ("DC04", carbon),
        ("S235JR", carbon),
        ("S355J2", carbon),
        ("1.4301", "1.4301"),
        ("1.4401", "1.4401"),
        ("EN AW-5754 H22", "EN AW-5754"),
        ("EN AW-5754 H111", "EN AW-5754"),
        ("EN AW-6061 T6", "EN AW-6061"),
        ("CuZn37 R300", "CuZn37"),
    ] {
        assert_eq!(material(name).unwrap().density_kg_per_dm3.value, published[row], "{name}");
    }
    assert_eq!(MATERIALS.len(), 10);
}

/// Name in our table for the material column of `materials.csv`, if we carry it.
fn carried(published: &str) -> Option<&'static str> {
    Some(match published {
        "DC01" => "DC01",
        "DC04" => "DC04",
        "S235JR" => "S235JR",
        "S355J2" => "S355J2",
        "AISI 304" => "1.4301",
        "AISI 316" => "1.4401",
        "EN AW-5754 H22/H32" => "EN AW-5754 H22",
        "EN AW-5754 O/H111" => "EN AW-5754 H111",
        "EN AW-6061 T6" => "EN AW-6061 T6",
        "CuZn37 R300" => "CuZn37 R300",
        _ => return None,
    })
}

/// A thickness in mm to which a row applies.
fn thickness_of(condition: &str) -> f64 {
    match condition {
        "3 <= t <= 100 mm" | "3 <= t <= 40" | "3 <= t <= 40 (5.65 sqrt S0)" => 3.0,
        _ => 1.0,
    }
}

#[test]
fn strengths_are_the_published_ones() {
    // Source: materials.csv: EN10130, EN10025, AZOM5754, EN485 seen; EN10088, EN1652 and EN 485-2 for 6061
    // from memory. Typical values (Aluminum Association) are no limits and not carried. Elongations that a
    // row lists by thickness are checked in the next test.
    let mut compared = 0;
    for row in reference_rows("materials.csv") {
        let Some(name) = carried(row.text("material")) else { continue };
        if row.text("standard").starts_with("typical") {
            continue;
        }
        let known = material(name).unwrap();
        let sheet = Thickness::new(Length::mm(thickness_of(row.text("condition")))).unwrap();
        let (bands, least, most): (Option<Published<Band>>, bool, bool) = match row.text("property") {
            "Rm" => (known.tensile_strength_at(sheet), true, true),
            "Rm min" => (known.tensile_strength_at(sheet), true, false),
            "ReH min" | "Rp0.2 min" => (known.yield_strength_at(sheet), true, false),
            "ReL max" | "Rp0.2 max" => (known.yield_strength_at(sheet), false, true),
            "A80 min" | "A min transverse" => (known.elongation_at(sheet), true, false),
            _ => continue,
        };
        let got = bands.unwrap_or_else(|| panic!("{}: {name} has no such row", row.place()));
        let numbers: Vec<f64> = row.text("value").split('-').map(|number| number.parse().unwrap()).collect();
        let wanted_least = least.then(|| numbers[0]);
        let wanted_most = most.then(|| numbers[numbers.len() - 1]);
        assert_eq!((got.value.least, got.value.most), (wanted_least, wanted_most), "{}", row.place());
        assert_eq!(got.status.text(), row.text("status"), "{}", row.place());
        compared += 1;
    }
    assert_eq!(compared, 27);
}

#[test]
fn aluminium_elongations_follow_the_published_thickness_steps() {
    // Source: materials.csv, A50 min: AZOM5754 and EN485 seen; 6061 T6 from memory.
    for (name, steps) in [
        ("EN AW-5754 H22", &[(0.3, 7.0), (2.0, 10.0), (4.0, 11.0)][..]),
        ("EN AW-5754 H111", &[(0.3, 12.0), (1.0, 14.0), (2.0, 16.0), (4.0, 18.0)]),
        ("EN AW-6061 T6", &[(1.0, 6.0), (2.0, 7.0), (4.0, 10.0)]),
    ] {
        for &(mm, percent) in steps {
            let sheet = Thickness::new(Length::mm(mm)).unwrap();
            let got = material(name).unwrap().elongation_at(sheet).unwrap().value.least;
            assert_eq!(got, Some(percent), "{name} at {mm} mm");
        }
    }
}

#[test]
fn clearance_holes_are_the_published_ones() {
    // Source: ISO273-EH, ISO 273 as listed by a fastener supplier; M18 and M20 from memory.
    let rows = reference_rows("iso273_clearance_holes.csv");
    for row in &rows {
        let known = clearance_hole(row.text("thread")).unwrap();
        let columns = ["fine_H12", "medium_H13", "coarse_H14"];
        for (fit, column) in ClearanceFit::ALL.into_iter().zip(columns) {
            assert_eq!(known.diameter(fit).to_mm(), row.number(column), "{} {column}", row.place());
        }
        assert_eq!(known.status.text(), row.text("status"), "{}", row.place());
    }
    let seen = CLEARANCE_HOLES.iter().filter(|row| row.status == SourceStatus::Seen).count();
    assert_eq!((rows.len(), seen), (13, 11));
}

#[test]
fn heads_and_washers_are_the_published_ones() {
    // Sources: DIN933-CF, a supplier's table of DIN 933, as far as ISO 4017 has the same sizes; ISO4017, from memory, for
    // M10, M12 and M14, whose heads are wider in DIN 933; ISO7089-EH, a supplier's table of ISO 7089.
    let heads = reference_rows("hex_head_screws.csv");
    let iso = || heads.iter().filter(|row| row.text("standard").starts_with("ISO"));
    for row in iso() {
        let known = fastener(row.text("thread")).unwrap().head;
        assert_eq!(known.across_flats_mm, row.number("s_across_flats"), "{}", row.place());
        assert_eq!(known.height_mm, row.number("k_head_height"), "{}", row.place());
        assert_eq!(known.status.text(), row.text("status"), "{}", row.place());
        assert_eq!(known.thread_mm, row.text("thread")[1..].parse::<f64>().unwrap());
        // Published corners are rounded: 0.94 to 1 of those of a sharp hexagon, `2 s / sqrt(3)`.
        let share = row.number("e_across_corners") / (2.0 * known.across_flats_mm / 3.0_f64.sqrt());
        assert!((0.94..=1.0).contains(&share), "{} {share}", row.place());
    }
    let washers = reference_rows("iso7089_washers.csv");
    for row in &washers {
        let known = fastener(row.text("thread")).unwrap().washer;
        assert_eq!(known.outside_mm, row.number("d2"), "{}", row.place());
        assert_eq!(known.thickness_mm, row.number("h"), "{}", row.place());
        assert_eq!(known.status.text(), row.text("status"), "{}", row.place());
    }
    assert_eq!((iso().count(), washers.len()), (HEX_HEADS.len(), WASHERS.len()));
    // Nuts are from memory: a slip would break their order, or leave the usual 0.8 to 0.95 of the thread.
    for (nut, head) in HEX_NUTS.iter().zip(HEX_HEADS) {
        assert!((0.79..0.95).contains(&(nut.height_mm / head.thread_mm)), "{nut:?}");
    }
    assert!(HEX_NUTS.windows(2).all(|pair| pair[0].height_mm < pair[1].height_mm));
}

#[test]
fn clearance_holes_grow_with_the_bolt_and_with_the_fit() {
    // A slip in a row from memory would break the order of the published ones.
    let nominal = |bolt: &str| bolt.strip_prefix('M').unwrap().parse::<f64>().unwrap();
    for row in CLEARANCE_HOLES {
        let [fine, medium, coarse] = row.diameters_mm;
        assert!(nominal(row.bolt) < fine && fine < medium && medium < coarse, "{row:?}");
        // The published rows keep within this; M2 coarse is 1.3 times its bolt.
        assert!(coarse <= 1.3 * nominal(row.bolt), "{row:?}");
    }
    for pair in CLEARANCE_HOLES.windows(2) {
        let rises = pair[0].diameters_mm.iter().zip(pair[1].diameters_mm).all(|(a, b)| *a < b);
        assert!(rises && nominal(pair[0].bolt) < nominal(pair[1].bolt), "{pair:?}");
    }
    assert_eq!((CLEARANCE_HOLES[0].bolt, CLEARANCE_HOLES[CLEARANCE_HOLES.len() - 1].bolt), ("M1.6", "M64"));
}

#[test]
fn limits_of_cutting_are_the_published_ones() {
    // Source: ISO9013, class 1 as restated by a metal shop, seen.
    let rows = reference_rows("iso9013_class1.csv");
    assert_eq!(rows.len(), 48);
    for row in &rows {
        let wanted = row.number("plus_minus");
        for thickness in [row.number("thickness_over") + 0.01, row.number("thickness_up_to")] {
            for length in [row.number("nominal_from"), row.number("nominal_below") - 0.01] {
                let got = laser_cut_limit(thickness, length);
                assert!((got - wanted).abs() < 1e-12, "{}: {got} against {wanted}", row.place());
            }
        }
    }
}

#[test]
fn limits_of_thickness_are_the_published_ones() {
    // Source: EN10131, from memory; the columns for coils of 1200 to 1500 mm.
    let rows = reference_rows("cold_rolled_thickness_tolerance.csv");
    assert_eq!(rows.len(), 9);
    for row in &rows {
        for thickness in [row.number("over") + 0.01, row.number("up_to")] {
            assert_eq!(thickness_limit(thickness), row.number("tol_width_1200_1500"), "{}", row.place());
        }
    }
}

#[test]
fn limits_of_bending_are_the_published_ones() {
    // Source: RUCHENG, seen. Of a range the smaller limit is the one that a shop should keep to.
    let rows = reference_rows("press_brake_tolerances.csv");
    let limit = |what: &str| {
        let row = rows.iter().find(|row| row.text("what") == what).unwrap();
        row.text("plus_minus").split('-').next().unwrap().parse::<f64>().unwrap()
    };
    assert_eq!(TURN_DEG, limit("bend angle, common"));
    assert_eq!(BEND_PLACE_MM, limit("flange length, common"));
}
