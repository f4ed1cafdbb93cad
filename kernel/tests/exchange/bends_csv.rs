//! `bends.csv` read back.

use kernel::geom::Point2;

use super::sample;

#[test]
fn rows_carry_the_bend_table_by_hand() {
    let sample = sample::part();
    let text = sample.text("bends.csv");
    assert!(text.starts_with(
        "order,name,turn_deg,direction,inside_radius_mm,length_mm,allowance_mm,deduction_mm,k_factor,x1_mm,y1_mm,x2_mm,y2_mm,punch,die,die_opening_mm,tool_length_mm,gauge_mm,turn_under_load_deg,force_kn,least_force_kn,most_force_kn\n"
    ));
    let mut reader = csv::Reader::from_reader(text.as_bytes());
    let rows: Vec<csv::StringRecord> = reader.records().map(Result::unwrap).collect();
    assert_eq!(rows.len(), 5);
    // 90°: π/2 (2 + 0.44 · 2) = 4.523893, 2 · 4 - 4.523893 = 3.476107.
    // 45°: π/4 · 2.88 = 2.261947, 2 · 4 tan 22.5° - 2.261947 = 1.051762.
    let wall = ["90", "up", "2"];
    let lip = ["45", "down", "2"];
    for (row, entry) in rows.iter().zip(sample.part.bend_table()) {
        let is_wall = entry.name.as_str().starts_with("wall");
        assert_eq!((&row[0], &row[1]), (entry.order.unwrap().to_string().as_str(), entry.name.as_str()));
        assert_eq!([&row[2], &row[3], &row[4]], if is_wall { wall } else { lip });
        let (allowance, deduction) =
            if is_wall { ("4.523893", "3.476107") } else { ("2.261947", "1.051762") };
        assert_eq!((&row[6], &row[7], &row[8]), (allowance, deduction, "0.44"));
        let number = |i: usize| row[i].parse::<f64>().unwrap();
        assert!((number(5) - entry.length.to_mm()).abs() <= 5.1e-7);
        let [from, to] = entry.blank_line;
        assert!(Point2::new(number(9), number(10)).distance(from) < 1e-6);
        assert!(Point2::new(number(11), number(12)).distance(to) < 1e-6);
        for cell in row {
            assert!(!cell.starts_with("-0") || cell.starts_with("-0."), "{cell}");
        }
    }
}
