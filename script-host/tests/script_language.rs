//! What the language does around our words: numbers, free numbers, printing.

#![allow(clippy::unwrap_used, reason = "a check stops at the first surprise, in its helping functions too")]

use std::collections::BTreeMap;
use std::fs;

use foldwright::{Failure, Loaded, load};
use kernel::history::Number;
use kernel::history::feature::Feature;

const PART: &str = "let lid = part(#{ material: \"DC01\", thickness: 1.5, inside_radius: 1.5 });\n";

fn run(script: &str) -> Result<Loaded, Failure> {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("lid.rhai");
    fs::write(&path, script).unwrap();
    load(&path, BTreeMap::new())
}

/// What `print` gives for each of these expressions.
fn printed(expressions: &[&str]) -> Vec<String> {
    let lines: String = expressions.iter().map(|e| format!("print({e});\n")).collect();
    run(&format!("let a = 10;\nlet b = 4;\nconst C = 9;\nfn half(x) {{ x / 2 }}\n{PART}{lines}"))
        .unwrap_or_else(|failure| panic!("{}", failure.text()))
        .printed
}

#[test]
fn division_is_decimal_wherever_it_stands() {
    assert_eq!(
        printed(&[
            "10 / 4",
            "a / b",
            "half(7)",
            "C / 2",
            "-7 / 2",
            "a / 4.0",
            "10.0 / b",
            "[7][0] / 2",
            "`${5 / 2}`"
        ]),
        ["2.5", "2.5", "3.5", "4.5", "-3.5", "2.5", "2.5", "3.5", "2.5"]
    );
    assert_eq!(
        printed(&["[1, 3].map(|x| x / 2)", "(10 / 4) * 2", "7 % 4", "2 * 3 + 1"]),
        ["[0.5, 1.5]", "5.0", "3", "7"]
    );
    let assigned =
        run(&format!("let n = 10;\nn /= 4;\nprint(n);\nlet m = 6;\nm /= 3;\nprint(m);\n{PART}")).unwrap();
    assert_eq!(assigned.printed, ["2.5", "2.0"]);
    let within = run(&format!(
        "let m = #{{ a: 5 }};\nm.a /= 2;\nprint(m.a);\nlet l = [3];\nl[0] /= 2;\nprint(l[0]);\n{PART}"
    ))
    .unwrap();
    assert_eq!(within.printed, ["2.5", "1.5"]);
}

#[test]
fn whole_numbers_stay_whole_in_loops_and_lists() {
    let looped = run(&format!(
        "let sum = 0;\nfor i in 0..4 {{ sum += i; }}\nprint(sum);\nlet list = [5, 6, 7];\nprint(list[sum - 4]);\n\
         for i in 0..(9 / 2).to_int() {{ print(i); }}\n{PART}"
    ))
    .unwrap();
    assert_eq!(looped.printed, ["6", "7", "0", "1", "2", "3"]);
}

#[test]
fn every_division_by_zero_is_refused() {
    for division in [
        "1 / 0",
        "{ let z = 3; z /= 0; z }",
        "1.0 / 0",
        "1 / 0.0",
        "0.0 / 0.0",
        "lid.free(\"l\", 5) / 0",
        "lid.free(\"l\", 5) / 0.0",
    ] {
        let failure = run(&format!("{PART}let x = {division};\n")).unwrap_err().text();
        assert!(failure.starts_with("error[script::division_by_zero]: division by zero\n"), "{failure}");
    }
}

/// The diameter of the only opening, as the history holds it, with `l` and `w` for free numbers.
fn number(expression: &str) -> Number {
    let script = format!(
        "{PART}let l = lid.free(\"l\", 200);\nlet w = lid.free(\"w\", 100);\n\
         let top = lid.base(\"top\", rectangle(200, 100));\nlet n = {expression};\n\
         lid.cut(\"hole\", top, circle(n), at(50, 50));\n"
    );
    let loaded = run(&script).unwrap_or_else(|failure| panic!("{}", failure.text()));
    let Feature::Cutout(cutout) = &loaded.history.features[1].feature else {
        panic!("the second one is a cutout")
    };
    let kernel::history::Shape::Circle { diameter } = &cutout.shape else { panic!("its shape is a circle") };
    diameter.clone()
}

#[test]
fn free_numbers_can_be_calculated_with() {
    // Values with l = 200 and w = 100; the factors are exact in binary.
    for (expression, wanted) in [
        ("l", 200.0),
        ("-l", -200.0),
        ("l + 3", 203.0),
        ("3 + l", 203.0),
        ("l + 0.5", 200.5),
        ("0.5 + l", 200.5),
        ("l - 3", 197.0),
        ("3 - l", -197.0),
        ("l - 0.5", 199.5),
        ("0.5 - l", -199.5),
        ("l * 2", 400.0),
        ("2 * l", 400.0),
        ("l * 0.25", 50.0),
        ("0.25 * l", 50.0),
        ("l / 8", 25.0),
        ("l / 0.5", 400.0),
        ("l + w", 300.0),
        ("l - w", 100.0),
        ("(l - w) / 2 + 3 * w", 350.0),
        ("{ let n = l; n += 5; n -= 0.5; n *= 2; n /= 4; n += w; n }", 202.25),
    ] {
        let number = number(expression);
        assert_eq!(number.evaluate(&[200.0, 100.0]), wanted, "{expression}");
        assert!(number.as_constant().is_none(), "{expression} no longer depends on the free number");
    }
    assert_eq!(number("l - l + 7"), Number::constant(7.0));
}

#[test]
fn every_relation_of_an_outline_can_be_said() {
    let lines = [
        ("s.parallel(\"a\", \"x axis\")", "`a` parallel to the x axis"),
        ("s.perpendicular(\"a\", \"y axis\")", "`a` perpendicular to the y axis"),
        ("s.horizontal(\"a\")", "`a` horizontal"),
        ("s.vertical(\"b\")", "`b` vertical"),
        ("s.tangent(\"a\", \"b\")", "`a` tangent to `b`"),
        ("s.equal(\"a\", \"b\")", "`a` equal to `b`"),
        ("s.coincident([\"a\", \"b\"], \"c\")", "corner `a`+`b` on `c`"),
        ("s.symmetric(\"a\", centre(\"b\"), \"c\")", "`a` and the centre of `b` symmetric about `c`"),
        ("s.distance([3, 4.5], \"b\", 7)", "distance of (3, 4.5) and `b`"),
        ("s.length(\"a\", l)", "length of `a`"),
        ("s.corner_angle(\"a\", \"b\", 90)", "angle between `a` and `b`"),
        ("s.radius(\"a\", 5)", "radius of `a`"),
        ("s.fix([\"a\", \"b\"], 1, l)", "corner `a`+`b` on a place"),
    ];
    let said: String = lines.iter().map(|(line, _)| format!("{line};\n")).collect();
    let head = "let l = lid.free(\"l\", 200);\nlet s = lid.sketch(\"s\", rectangle(80, 40));\n";
    let loaded = run(&format!("{PART}{head}{said}lid.base(\"base\", s);")).unwrap();
    let profile = loaded.history.features[0].feature.profile().unwrap();
    let read: Vec<String> = profile.relations.iter().map(|entry| entry.relation.to_string()).collect();
    assert_eq!(read, lines.map(|(_, wanted)| wanted));
    // The declared number and two for each of four corners.
    let sketches: Vec<_> = loaded.history.free_numbers.iter().map(|f| f.sketch.as_deref()).collect();
    assert_eq!((sketches[0], &sketches[1..]), (None, [Some("s"); 8].as_slice()));
    assert!(profile.relations.iter().all(|entry| entry.span.is_some()));
}

#[test]
fn products_of_free_numbers_and_comparisons_are_refused() {
    let head = format!("{PART}let l = lid.free(\"l\", 200);\nlet w = lid.free(\"w\", 100);\n");
    for (expression, code) in [
        ("l * w", "script::not_linear"),
        ("l / w", "script::not_linear"),
        ("1 / l", "script::not_linear"),
        ("1.5 / l", "script::not_linear"),
        ("l > 150", "script::compared_free_number"),
        ("150 < l", "script::compared_free_number"),
        ("l >= 0.5", "script::compared_free_number"),
        ("0.5 <= l", "script::compared_free_number"),
        ("l == 200", "script::compared_free_number"),
        ("l != w", "script::compared_free_number"),
    ] {
        let failure = run(&format!("{head}let x = {expression};\n")).unwrap_err().text();
        assert!(failure.starts_with(&format!("error[{code}]")), "{expression} gives\n{failure}");
        assert!(failure.contains("lid.rhai:4:"), "{failure}");
    }
}

#[test]
fn things_of_the_part_print_as_themselves() {
    let lines = run(&format!(
        "{PART}let l = lid.free(\"length\", 200);\nlet top = lid.base(\"top\", rectangle(l, 100));\n\
         print(l);\nprint(\"edge \" + top.edge(\"left\"));\nprint(`on ${{top}}`);\nprint(lid);\nprint(circle(5));\ndebug(7);\n"
    ))
    .unwrap_or_else(|failure| panic!("{}", failure.text()))
    .printed;
    assert_eq!(lines, ["a free number", "edge top/left", "on top", "a part", "a shape", "7"]);
}

#[test]
fn a_flood_of_lines_is_cut_off() {
    let flood =
        run(&format!("for i in 0..50000 {{ print(\"the same line again and again\"); }}\n{PART}")).unwrap();
    let bytes: usize = flood.printed.iter().map(|line| line.len() + 1).sum();
    assert!((90_000..=100_000).contains(&bytes), "{bytes} bytes were kept");
}

#[test]
fn option_maps_can_be_kept_and_changed() {
    let script = format!(
        "{PART}let top = lid.base(\"top\", rectangle(200, 100));\nlet usual = #{{ length: 30, from: \"inside\" }};\n\
         lid.flange(\"a\", top.edge(\"left\"), usual);\nusual.length = 40;\n\
         lid.flange(\"b\", top.edge(\"right\"), usual + #{{ turn: 45 }});\n"
    );
    let loaded = run(&script).unwrap_or_else(|failure| panic!("{}", failure.text()));
    let flange = |i: usize| {
        let Feature::Flange(flange) = &loaded.history.features[i].feature else { panic!("it is a flange") };
        (flange.length.as_constant().unwrap(), flange.turn.as_constant().unwrap())
    };
    assert_eq!((flange(1), flange(2)), ((30.0, 90.0), (40.0, 45.0)));
}

#[test]
fn a_script_can_refuse_values_that_do_not_go_together_and_can_catch_a_refusal() {
    let failure = run("throw \"too low\";\n").unwrap_err().text();
    assert!(failure.starts_with("error[script::language]: too low\n --> "), "{failure}");
    let caught =
        run(&format!("{PART}try {{ lid.base(\"a b\", rectangle(1, 2)); }} catch {{ print(\"caught\"); }}\n"));
    assert_eq!(caught.unwrap().printed, ["caught"]);
}
