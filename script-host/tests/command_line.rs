//! The built program as people run it: commands, settings, exit codes, files.
//!
//! Every test works in a folder of its own, which is its working directory.

#![allow(clippy::unwrap_used, reason = "a check stops at the first surprise, in its helping functions too")]

use std::collections::BTreeMap;
use std::fs;
use std::path::{Path, PathBuf};
use std::process::Command;

use tempfile::TempDir;

const LID: &str = r#"family("Lid of a dryer fan");
let width = parameter("width", 100, #{ min: 50, max: 300, unit: "mm", meaning: "clear width" });
let kind = parameter("kind", "plain", #{ choices: ["plain", "vented"], meaning: "with a vent or without" });
let lid = part(#{ material: "DC01", thickness: 1.5, inside_radius: 1.5 });
let span = lid.free("span", width);
let top = lid.base("top", rectangle(span, 80));
let walls = lid.flange("wall", top.edges(["left", "right"]), #{ length: 25 });
lid.hold("clear width", inside(walls.panel("left"), walls.panel("right")), width);
if kind == "vented" { lid.cut("vent", top, circle(20), at(40, 40)); }
print(`width ${width}`);
"#;

const OUTPUTS: [&str; 10] = [
    "bends.csv",
    "blank.dxf",
    "blank.svg",
    "folded.glb",
    "folded.step",
    "folded.stl",
    "history.json",
    "order.json",
    "order.svg",
    "report.json",
];

struct Run {
    code: i32,
    out: String,
    err: String,
}

fn run_in(folder: &Path, arguments: &[&str]) -> Run {
    let output =
        Command::new(env!("CARGO_BIN_EXE_foldwright")).args(arguments).current_dir(folder).output().unwrap();
    Run {
        code: output.status.code().unwrap(),
        out: String::from_utf8(output.stdout).unwrap(),
        err: String::from_utf8(output.stderr).unwrap(),
    }
}

/// A folder with the lid's script in it.
fn workshop() -> TempDir {
    let folder = tempfile::tempdir().unwrap();
    fs::write(folder.path().join("lid.rhai"), LID).unwrap();
    folder
}

fn bytes_in(folder: &Path) -> BTreeMap<String, Vec<u8>> {
    let entries = fs::read_dir(folder).unwrap().map(|entry| entry.unwrap().path());
    entries.map(|p| (p.file_name().unwrap().to_str().unwrap().to_owned(), fs::read(&p).unwrap())).collect()
}

fn family_script(name: &str) -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("../scripts").join(name)
}

#[test]
fn a_part_that_collides_with_itself_is_written_and_ends_with_code_4() {
    // The lip comes down 40 − 100 · sin 30° = −10 mm: through the plate, 87 mm from the wall.
    let script = r#"let part = part(#{ material: "DC01", thickness: 1, inside_radius: 1 });
let plate = part.base("plate", rectangle(100, 60));
let wall = part.flange("wall", plate.edge("left"), #{ length: 40 });
part.flange("lip", wall.edge("tip"), #{ length: 100, turn: 120 });
"#;
    let folder = tempfile::tempdir().unwrap();
    fs::write(folder.path().join("bag.rhai"), script).unwrap();
    let run = run_in(folder.path(), &["make", "bag.rhai"]);
    assert_eq!(run.code, 4, "{}", run.err);
    assert!(run.out.contains("error[check::folded_into_itself]"), "{}", run.out);
    assert_eq!(bytes_in(&folder.path().join("out/bag")).keys().collect::<Vec<_>>(), OUTPUTS);
}

#[test]
fn a_bump_that_meets_the_wall_opposite_is_told_of_by_name() {
    // Walls 22 mm apart between their inner faces, the bump 24 mm high: 2 mm too much.
    let script = r#"let part = part(#{ material: "DC01", thickness: 1, inside_radius: 1 });
let plate = part.base("plate", rectangle(22, 100));
let walls = part.flange("wall", plate.edges(["left", "right"]), #{ length: 80, holds: "inner" });
part.bump("cap", walls.panel("left"), circle(40), at(50, 40), #{ height: 24, side: "in", draft: 0 });
"#;
    let folder = tempfile::tempdir().unwrap();
    fs::write(folder.path().join("trough.rhai"), script).unwrap();
    let run = run_in(folder.path(), &["make", "trough.rhai"]);
    assert_eq!(run.code, 4, "{}{}", run.out, run.err);
    let message = "error[check::folded_into_itself]: panel `wall.right` and bump `cap` of `wall.left` of the folded part";
    assert!(run.out.contains(message), "{}", run.out);
    assert!(run.out.contains("trough.rhai:4:"), "{}", run.out);
    // A lower one is right.
    fs::write(folder.path().join("trough.rhai"), script.replace("height: 24", "height: 22")).unwrap();
    let run = run_in(folder.path(), &["make", "trough.rhai"]);
    assert_eq!(run.code, 0, "{}{}", run.out, run.err);
}

#[test]
fn make_writes_every_output_and_says_what_it_made() {
    let folder = workshop();
    let run = run_in(folder.path(), &["make", "lid.rhai"]);
    assert_eq!((run.code, run.err.as_str()), (0, ""));
    assert_eq!(bytes_in(&folder.path().join("out/lid")).keys().collect::<Vec<_>>(), OUTPUTS);
    // U with inside width 100, t = r = 1.5, walls 25 over all: BA = π/2 (1.5 + K 1.5), K = k/2, DIN 6935
    // k = 0.65 + 0.5 lg 1 = 0.65, so BA = 3.1220 and the blank is 103 + 2·25 − 2 (2·3 − 3.1220) = 147.24 mm.
    for words in [
        "width 100.0\n",
        "lid: Lid of a dryer fan",
        "sheet    DC01 1.50 mm, inside radius 1.50 mm, DIN 6935",
        "blank    147.24 x 80.00 mm",
        "bends    2",
        "wall.left     90.00° up",
        "clear width  inside       asked    100.000  got    100.000 mm   held",
        "wrote blank.dxf, blank.svg, folded.step, folded.stl, folded.glb, bends.csv, order.svg, order.json, report.json, history.json into out/lid",
        "Caution:",
    ] {
        assert!(run.out.contains(words), "no `{words}` in\n{}", run.out);
    }
}

#[test]
fn tolerances_are_listed_with_what_they_add_when_asked_for() {
    let folder = workshop();
    let run = run_in(folder.path(), &["make", "lid.rhai", "--tolerances"]);
    assert_eq!(run.code, 0, "{}", run.err);
    // At the tips of the walls, y = 25 - 2·1.5 behind their bends, a turn of 1° is (y + (1.5 + 0.325·1.5)/2) π/180
    // = 0.401 mm; of two such walls and two bend lines off by 0.5 mm it is 0.161 of 2 (0.161 + 0.25) + 0.004.
    for words in [
        "\ntolerances\n  turn             ±  1.000 °      press brake guide",
        "\nclear width  ±  ",
        "\n  ±  0.401   19 %  turn of bend `wall.left`\n",
        "\n  ±  0.500   30 %  place of bend `wall.right`\n",
    ] {
        assert!(run.out.contains(words), "no `{words}` in\n{}", run.out);
    }
    let short = run_in(folder.path(), &["make", "lid.rhai"]);
    assert!(!short.out.contains("\ntolerances\n"), "{}", short.out);
}

#[test]
fn picture_is_written_only_when_asked_for() {
    let folder = workshop();
    let run = run_in(folder.path(), &["make", "lid.rhai", "--picture", "--out", "here"]);
    assert_eq!(run.code, 0, "{}", run.err);
    let made = bytes_in(&folder.path().join("here"));
    assert_eq!(made.len(), OUTPUTS.len() + 1);
    assert_eq!(&made["picture.png"][..8], b"\x89PNG\r\n\x1a\n");
}

#[test]
fn settings_change_the_part_and_keep_words_and_numbers_apart() {
    let folder = workshop();
    let run = run_in(
        folder.path(),
        &["make", "lid.rhai", "--set", "width=212.5", "--set", "kind = vented", "--out", "w"],
    );
    assert_eq!(run.code, 0, "{}", run.err);
    assert!(run.out.contains("width 212.5\n"), "{}", run.out);
    assert!(run.out.contains("asked    212.500  got    212.500 mm   held"), "{}", run.out);
    assert!(run.out.contains("2 pierces"), "the outline and the vent:\n{}", run.out);
    let report = fs::read_to_string(folder.path().join("w/report.json")).unwrap();
    assert!(report.contains("\"width\": 212.5") && report.contains("\"kind\": \"vented\""), "{report}");
}

#[test]
fn making_again_gives_the_same_bytes() {
    let folder = workshop();
    for script in
        [PathBuf::from("lid.rhai"), family_script("chain_guard.rhai"), family_script("terminal_cover.rhai")]
    {
        let script = script.to_str().unwrap();
        for out in ["once", "twice"] {
            let run = run_in(folder.path(), &["make", script, "--picture", "--out", out]);
            assert_eq!(run.code, 0, "{}", run.err);
        }
        assert_eq!(bytes_in(&folder.path().join("once")), bytes_in(&folder.path().join("twice")), "{script}");
    }
}

#[test]
fn a_saved_history_makes_the_same_bytes_as_its_script() {
    let folder = workshop();
    for script in
        [PathBuf::from("lid.rhai"), family_script("chain_guard.rhai"), family_script("terminal_cover.rhai")]
    {
        let script = script.to_str().unwrap();
        assert_eq!(run_in(folder.path(), &["make", script, "--out", "script"]).code, 0);
        let run = run_in(folder.path(), &["make", "script/history.json", "--out", "history"]);
        assert_eq!(run.code, 0, "{}", run.err);
        assert_eq!(
            bytes_in(&folder.path().join("script")),
            bytes_in(&folder.path().join("history")),
            "{script}"
        );
    }
}

#[test]
fn a_saved_history_goes_to_the_folder_of_its_family() {
    let folder = workshop();
    assert_eq!(run_in(folder.path(), &["make", "lid.rhai", "--out", "first"]).code, 0);
    assert_eq!(run_in(folder.path(), &["make", "first/history.json"]).code, 0);
    assert_eq!(bytes_in(&folder.path().join("first")), bytes_in(&folder.path().join("out/lid")));
}

#[test]
fn explain_prints_steps_with_their_script_lines_and_writes_nothing() {
    let folder = workshop();
    let run = run_in(folder.path(), &["explain", "lid.rhai", "blank width"]);
    assert_eq!((run.code, run.err.as_str()), (0, ""));
    let lines: Vec<&str> = run.out.lines().collect();
    assert!(lines[0].starts_with("blank width: "), "{}", run.out);
    assert!(lines[1].contains("lid.rhai:"), "{}", run.out);
    assert!(run.out.contains("\n    together"), "{}", run.out);
    assert_eq!(bytes_in(folder.path()).keys().collect::<Vec<_>>(), ["lid.rhai"]);
    let run = run_in(folder.path(), &["explain", "lid.rhai", "blank wide"]);
    assert_eq!((run.code, run.out.as_str()), (1, ""));
    assert!(run.err.contains("error[explain::unknown_number]"), "{}", run.err);
    assert!(run.err.contains("did you mean `blank width`?"), "{}", run.err);
}

#[test]
fn what_binds_an_aim_is_told_with_the_line_that_asks_for_it() {
    let folder = tempfile::tempdir().unwrap();
    let script = r#"let part = part(#{ material: "DC01", thickness: 1, inside_radius: 1 });
let long = part.free("long", 90, #{ min: 70 });
let wide = part.free("wide", 60);
let plate = part.base("plate", rectangle(long, wide));

part.at_least("room", width(plate.edge("front"), plate.edge("back")), 45);
part.aim("blank area");
"#;
    fs::write(folder.path().join("plate.rhai"), script).unwrap();
    let run = run_in(folder.path(), &["make", "plate.rhai"]);
    assert_eq!((run.code, run.err.as_str()), (0, ""));
    for told in [
        "bound by dimension `room`: at least 45.000 mm (plate.rhai:6:6)",
        "bound by free number `long`: at least 70.000 (plate.rhai:2:17)",
    ] {
        assert!(run.out.contains(told), "{}", run.out);
    }
    let report = fs::read_to_string(folder.path().join("out/plate/report.json")).unwrap();
    let binding = report.split_once("\"binding\"").unwrap().1.split_once(']').unwrap().0;
    let told = binding.lines().filter(|line| line.contains("\"name\"") || line.contains("\"line\""));
    let told: Vec<&str> = told.map(|line| line.trim().trim_end_matches(',')).collect();
    assert_eq!(told, [r#""name": "room""#, r#""line": 6"#, r#""name": "long""#, r#""line": 2"#]);
}

#[test]
fn explain_tells_how_near_the_part_comes_to_a_neighbour() {
    let folder = tempfile::tempdir().unwrap();
    // The shaft lies 40 mm over the plate's inner face, and is 30 mm thick.
    let script = r#"let part = part(#{ material: "DC01", thickness: 1, inside_radius: 1 });
let plate = part.base("plate", rectangle(200, 100));
part.shaft("drive", #{ from: [50, 50, 40], to: [150, 50, 40], diameter: 30, clearance: 10 });
"#;
    fs::write(folder.path().join("plate.rhai"), script).unwrap();
    let run = run_in(folder.path(), &["explain", "plate.rhai", "drive"]);
    assert_eq!((run.code, run.err.as_str()), (0, ""));
    for told in
        ["clearance to `drive` is 25.000 mm at panel `plate`", "10.000 mm are required", "plate.rhai:3:6"]
    {
        assert!(run.out.contains(told), "{}", run.out);
    }
}

#[test]
fn show_lists_parameters_with_ranges_and_writes_nothing() {
    let folder = workshop();
    let run = run_in(folder.path(), &["show", "lid.rhai"]);
    assert_eq!((run.code, run.err.as_str()), (0, ""));
    assert_eq!(
        run.out,
        "lid: Lid of a dryer fan\n\
         \x20 width         100 mm    50 to 300                 clear width\n\
         \x20 kind      \"plain\"       \"plain\", \"vented\"         with a vent or without\n"
    );
    assert_eq!(bytes_in(folder.path()).keys().collect::<Vec<_>>(), ["lid.rhai"]);
}

/// A lid with a flange of 6.5 mm: less than the 7 mm of V 10, more than the 5.6 mm of V 8.
const LOW_LID: &str = r#"let lid = part(#{ material: "DC01", thickness: 1.5, inside_radius: 1.2 });
let top = lid.base("top", rectangle(120, 80));
lid.flange("wall", top.edge("left"), #{ length: 6.5 });
"#;

#[test]
fn a_fault_of_a_check_ends_with_code_4_unless_it_is_allowed() {
    let folder = workshop();
    fs::write(folder.path().join("low.rhai"), LOW_LID).unwrap();
    let run = run_in(folder.path(), &["make", "low.rhai"]);
    assert_eq!(run.code, 4, "{}", run.err);
    let table = run.out.split("  checks   ").nth(1).unwrap();
    let rows: Vec<&str> = table.lines().skip(1).take_while(|line| !line.is_empty()).collect();
    assert!(rows[0].starts_with("    fault    minimum_flange  6.50 mm  at least 7.00 mm"), "{table}");
    assert!(rows[0].ends_with("`wall` low.rhai:3:5"), "{table}");
    assert!(rows[1].starts_with("    warning  inside_radius"), "{table}");
    assert!(rows[2].starts_with("    note     sharp_corner"), "{table}");
    let allowed = run_in(folder.path(), &["make", "low.rhai", "--allow-faults"]);
    assert_eq!((allowed.code, allowed.out), (0, run.out));
}

#[test]
fn a_shop_file_sets_the_limits_of_every_family_and_what_a_family_says_holds() {
    let folder = workshop();
    let write = |name: &str, text: &str| fs::write(folder.path().join(name), text).unwrap();
    write("low.rhai", LOW_LID);
    write("said.rhai", &format!("{LOW_LID}lid.shop(#{{ minimum_flange: 0.9 }});"));
    write(
        "shop.toml",
        "v_openings = [8, 16.0]\nv_by_thickness = [[3, 5]]\ninside_radius = 0.5\nminimum_flange = 0.8\n",
    );
    let make =
        |script: &str| run_in(folder.path(), &["make", script, "--shop", "shop.toml", "--out", "made"]);
    // 5 · 1.5 = 7.5: V 8; 0.8 · 8 = 6.4 mm.
    let run = make("low.rhai");
    assert_eq!(run.code, 0, "{}{}", run.out, run.err);
    assert!(!run.out.contains("inside_radius"), "{}", run.out);
    // The saved history has the limits, and needs no file.
    let history = fs::read_to_string(folder.path().join("made/history.json")).unwrap();
    assert!(
        history.contains("\"file\": \"shop.toml\"") && !history.contains(folder.path().to_str().unwrap())
    );
    let before = bytes_in(&folder.path().join("made"));
    let again = run_in(folder.path(), &["make", "made/history.json", "--out", "again"]);
    assert_eq!(again.code, 0, "{}", again.err);
    assert_eq!(bytes_in(&folder.path().join("again")), before);
    let report = fs::read_to_string(folder.path().join("made/report.json")).unwrap();
    assert!(report.contains("shop file `shop.toml`"), "{report}");
    // 0.9 · 8 = 7.2 mm, which the family says.
    let said = make("said.rhai");
    assert_eq!(said.code, 4, "{}", said.out);
    assert!(said.out.contains("at least 7.20 mm (0.9 V at 90°, V 8 mm; said by the family)"), "{}", said.out);
}

#[test]
fn a_bad_shop_file_is_named_with_its_line() {
    let folder = workshop();
    for (text, message, line) in [
        (
            "# ours\nbrake_lenght = 2500\n",
            "error[stock::unknown_limit]: a shop has no limit `brake_lenght`",
            2,
        ),
        (
            "brake_length = [2500]\n",
            "error[stock::limit_of_another_kind]: the limit `brake_length` takes a number",
            1,
        ),
        ("brake_length = 0\n", "error[stock::limit_out_of_range]: the limit `brake_length` cannot be 0", 1),
        ("v_openings = [12, 8]\n", "error[stock::limit_not_rising]", 1),
        (
            "\nsheets = [[1000, 2000, 3]]\n",
            "error[files::bad_shop_file]: `sheets` is neither a number nor",
            2,
        ),
        ("v_openings = \"wide\"\n", "error[files::bad_shop_file]: `v_openings` is neither a number nor", 1),
        ("hole_to_bend = 2\nhole to edge = 3\n", "error[files::bad_shop_file]", 2),
    ] {
        fs::write(folder.path().join("shop.toml"), text).unwrap();
        let run = run_in(folder.path(), &["make", "lid.rhai", "--shop", "shop.toml"]);
        assert_eq!(run.code, 1, "{text}");
        assert!(run.err.contains(message), "{}", run.err);
        assert!(run.err.contains(&format!("--> shop.toml:{line}:")), "{}", run.err);
        assert!(!folder.path().join("out").exists(), "{text}");
    }
    let missing = run_in(folder.path(), &["make", "lid.rhai", "--shop", "none.toml"]);
    assert_eq!(missing.code, 3);
}

#[test]
fn help_states_commands_and_exit_codes() {
    let folder = workshop();
    let help = run_in(folder.path(), &["--help"]);
    assert_eq!(help.code, 0);
    for words in ["make", "show", "Exit codes:", "  0  ", "  1  ", "  2  ", "  3  "] {
        assert!(help.out.contains(words), "no `{words}` in\n{}", help.out);
    }
    let make = run_in(folder.path(), &["make", "--help"]);
    assert_eq!(make.code, 0);
    for words in
        OUTPUTS.iter().copied().chain(["--set <NAME=VALUE>", "--out <DIR>", "out/<family>", "--picture"])
    {
        assert!(make.out.contains(words), "no `{words}` in\n{}", make.out);
    }
}

#[test]
fn examples_in_the_help_work_as_they_stand() {
    let folder = tempfile::tempdir().unwrap();
    fs::create_dir(folder.path().join("scripts")).unwrap();
    fs::copy(family_script("chain_guard.rhai"), folder.path().join("scripts/chain_guard.rhai")).unwrap();
    let help = run_in(folder.path(), &["make", "--help"]).out;
    let examples: Vec<&str> =
        help.lines().filter_map(|line| line.trim().strip_prefix("foldwright ")).collect();
    assert_eq!(examples.len(), 3, "{help}");
    fs::write(folder.path().join("our_shop.toml"), "brake_length = 2500\n").unwrap();
    for example in examples {
        let run = run_in(folder.path(), &example.split(' ').collect::<Vec<_>>());
        assert_eq!(run.code, 0, "{example}\n{}", run.err);
    }
}

#[test]
fn wrong_command_lines_end_with_2() {
    let folder = workshop();
    for (arguments, words) in [
        (vec!["make"], "<SCRIPT>"),
        (vec!["bend", "lid.rhai"], "unrecognized subcommand 'bend'"),
        (vec!["make", "lid.rhai", "--set", "width"], "write NAME=VALUE, for example clear_height=220"),
        (vec!["make", "lid.rhai", "--set", "=5"], "write NAME=VALUE, for example clear_height=220"),
        (vec!["make", "lid.rhai", "--set", "width=90", "--set", "width=95"], "`width` is set twice"),
        (vec!["make", "lid.rhai", "--color", "red"], "--color"),
    ] {
        let run = run_in(folder.path(), &arguments);
        assert_eq!(run.code, 2, "{arguments:?}\n{}", run.err);
        assert!(run.err.contains(words), "{arguments:?} gives no `{words}` but\n{}", run.err);
        assert_eq!(run.out, "");
    }
    assert!(!folder.path().join("out").exists());
}

#[test]
fn settings_that_do_not_fit_end_with_1_and_write_nothing() {
    let folder = workshop();
    for (setting, words) in [
        ("widht=90", "there is no parameter `widht`"),
        ("widht=90", "did you mean `width`?"),
        ("width=301", "parameter `width` cannot be `301`: it takes 50 to 300"),
        ("width=wide", "parameter `width` cannot be `wide`: it takes a number, 50 to 300"),
        ("width=NaN", "parameter `width` cannot be `NaN`"),
        ("width=inf", "parameter `width` cannot be `inf`"),
        ("width=", "parameter `width` cannot be ``"),
        ("kind=round", "parameter `kind` cannot be `round`: it takes \"plain\", \"vented\""),
    ] {
        let run = run_in(folder.path(), &["make", "lid.rhai", "--set", setting]);
        assert_eq!(run.code, 1, "{setting}\n{}", run.err);
        assert!(run.err.contains(words), "{setting} gives no `{words}` but\n{}", run.err);
    }
    assert!(!folder.path().join("out").exists());
}

#[test]
fn a_missing_script_ends_with_3_and_says_which() {
    let folder = workshop();
    for command in ["make", "show"] {
        let run = run_in(folder.path(), &[command, "lit.rhai"]);
        assert_eq!((run.code, run.out.as_str()), (3, ""));
        assert_eq!(
            run.err,
            "error[files::unreadable]: cannot read `lit.rhai`: No such file or directory (os error 2); \
             check the name and the folder\n"
        );
    }
    let folder_as_script = run_in(folder.path(), &["make", "."]);
    assert_eq!(folder_as_script.code, 3, "{}", folder_as_script.err);
    assert!(folder_as_script.err.contains("cannot read `.`: Is a directory"), "{}", folder_as_script.err);
}

#[test]
fn a_script_that_is_no_text_ends_with_3() {
    let folder = workshop();
    fs::write(folder.path().join("latin.rhai"), b"// Abdeckung f\xfcr L\xfcfter\n").unwrap();
    let run = run_in(folder.path(), &["make", "latin.rhai"]);
    assert_eq!(run.code, 3);
    assert_eq!(
        run.err,
        "error[files::unreadable]: cannot read `latin.rhai`: it is not UTF-8 text; save it as UTF-8\n"
    );
}

#[test]
fn an_output_folder_that_cannot_be_ends_with_3_and_harms_nothing() {
    let folder = workshop();
    fs::write(folder.path().join("taken"), "a file").unwrap();
    for out in ["taken", "taken/below"] {
        let run = run_in(folder.path(), &["make", "lid.rhai", "--out", out]);
        assert_eq!((run.code, run.out.as_str()), (3, "width 100.0\n"), "{}", run.err);
        assert!(
            run.err.starts_with(&format!("error[files::unwritable]: cannot write into `{out}`: ")),
            "{}",
            run.err
        );
        assert!(run.err.ends_with("; choose another folder with --out\n"), "{}", run.err);
    }
    assert_eq!(fs::read(folder.path().join("taken")).unwrap(), b"a file");
    assert_eq!(bytes_in(folder.path()).keys().collect::<Vec<_>>(), ["lid.rhai", "taken"]);
}

#[test]
fn a_refused_part_leaves_the_files_of_the_last_one_as_they_were() {
    let folder = workshop();
    assert_eq!(run_in(folder.path(), &["make", "lid.rhai"]).code, 0);
    let before = bytes_in(&folder.path().join("out/lid"));
    fs::write(folder.path().join("lid.rhai"), LID.replace("length: 25", "length: 2")).unwrap();
    let run = run_in(folder.path(), &["make", "lid.rhai"]);
    assert_eq!((run.code, run.out.as_str()), (1, "width 100.0\n"));
    assert!(run.err.contains("error[dimension::flange_too_short]"), "{}", run.err);
    assert!(run.err.contains("--> lid.rhai:7:17"), "{}", run.err);
    assert_eq!(bytes_in(&folder.path().join("out/lid")), before);
}

#[test]
fn a_file_that_cannot_be_replaced_leaves_all_others_as_they_were() {
    let folder = workshop();
    assert_eq!(run_in(folder.path(), &["make", "lid.rhai"]).code, 0);
    let out = folder.path().join("out/lid");
    // The last one to be renamed is a folder now, onto which no file can be renamed.
    fs::remove_file(out.join("history.json")).unwrap();
    let before = bytes_in(&out);
    fs::create_dir(out.join("history.json")).unwrap();
    let run = run_in(folder.path(), &["make", "lid.rhai", "--set", "width=120"]);
    assert_eq!(run.code, 3, "{}", run.err);
    assert!(run.err.contains("cannot write into `out/lid`: `history.json` is a folder there"), "{}", run.err);
    fs::remove_dir(out.join("history.json")).unwrap();
    assert_eq!(bytes_in(&out), before, "a file has changed, or one was left behind");
}

/// Disk full half-way through: the limit of a file's size stops the second file, as a full disk would.
#[cfg(unix)]
#[test]
fn a_full_disk_leaves_the_files_of_the_last_part_as_they_were() {
    let folder = workshop();
    assert_eq!(run_in(folder.path(), &["make", "lid.rhai"]).code, 0);
    let out = folder.path().join("out/lid");
    let before = bytes_in(&out);
    let smallest_that_fails = before.values().map(Vec::len).max().unwrap() - 1;
    // Blocks of 512 bytes; a signal at the limit is ignored, so that writing gives an error.
    let script = format!(
        "trap '' XFSZ; ulimit -f {}; exec \"$0\" make lid.rhai --set width=120",
        smallest_that_fails / 512
    );
    let run = Command::new("sh")
        .args(["-c", &script, env!("CARGO_BIN_EXE_foldwright")])
        .current_dir(folder.path())
        .output()
        .unwrap();
    let err = String::from_utf8(run.stderr).unwrap();
    assert_eq!(run.status.code(), Some(3), "{err}");
    assert!(err.contains("error[files::unwritable]: cannot write into `out/lid`: File too large"), "{err}");
    assert_eq!(bytes_in(&out), before, "a file has changed, or one was left behind");
}

#[test]
fn windows_line_ends_and_a_byte_order_mark_change_nothing() {
    let folder = workshop();
    assert_eq!(run_in(folder.path(), &["make", "lid.rhai", "--out", "plain"]).code, 0);
    fs::write(folder.path().join("lid.rhai"), format!("\u{feff}{}", LID.replace('\n', "\r\n"))).unwrap();
    let run = run_in(folder.path(), &["make", "lid.rhai", "--out", "windows"]);
    assert_eq!(run.code, 0, "{}", run.err);
    assert_eq!(bytes_in(&folder.path().join("plain")), bytes_in(&folder.path().join("windows")));
    // Places are the same, too: line 7, the flange.
    let broken = format!("\u{feff}{}", LID.replace("length: 25", "lenght: 25").replace('\n', "\r\n"));
    fs::write(folder.path().join("lid.rhai"), broken).unwrap();
    let run = run_in(folder.path(), &["make", "lid.rhai"]);
    assert!(run.err.contains("--> lid.rhai:7:17"), "{}", run.err);
    assert!(run.err.contains("                 ^^^^^^"), "{}", run.err);
}

#[test]
fn folders_and_scripts_may_have_spaces_and_letters_of_any_language() {
    let folder = tempfile::tempdir().unwrap();
    fs::create_dir(folder.path().join("wash pump")).unwrap();
    fs::write(folder.path().join("wash pump/lid for größe 2.rhai"), LID).unwrap();
    let run = run_in(folder.path(), &["make", "wash pump/lid for größe 2.rhai"]);
    assert_eq!(run.code, 0, "{}", run.err);
    assert_eq!(bytes_in(&folder.path().join("out/lid for größe 2")).len(), OUTPUTS.len());
}

#[test]
fn every_output_has_an_end_and_no_temporary_file_is_left() {
    let folder = workshop();
    assert_eq!(run_in(folder.path(), &["make", "lid.rhai", "--out", "a/b/c"]).code, 0);
    let made = bytes_in(&folder.path().join("a/b/c"));
    assert_eq!(made.keys().collect::<Vec<_>>(), OUTPUTS);
    assert!(made.values().all(|bytes| !bytes.is_empty()));
    assert!(made["blank.dxf"].ends_with(b"EOF\r\n") || made["blank.dxf"].ends_with(b"EOF\n"));
    assert!(made["blank.svg"].ends_with(b"</svg>\n"));
}

#[test]
fn an_order_is_read_back_and_changed_by_hand() {
    let folder = workshop();
    assert_eq!(run_in(folder.path(), &["make", "lid.rhai"]).code, 0);
    let order = fs::read_to_string(folder.path().join("out/lid/order.json")).unwrap();
    let before = fs::read_to_string(folder.path().join("out/lid/bends.csv")).unwrap();
    fs::write(folder.path().join("order.json"), &order).unwrap();
    let run = run_in(folder.path(), &["make", "lid.rhai", "--order", "order.json"]);
    assert_eq!(run.code, 0, "{}", run.err);
    assert_eq!(fs::read_to_string(folder.path().join("out/lid/bends.csv")).unwrap(), before);
    fs::write(folder.path().join("order.json"), "[{ \"panel\": \"lid\", \"stage\": 1 }]").unwrap();
    let run = run_in(folder.path(), &["make", "lid.rhai", "--order", "order.json"]);
    assert!(run.code == 1 && run.err.contains("brake::order_unreadable"), "{}", run.err);
    assert!(run.err.contains("--> order.json") && run.err.contains("line 1, column"), "{}", run.err);
    fs::write(folder.path().join("tools.toml"), "[brake]\nlength = 20\n").unwrap();
    let run = run_in(folder.path(), &["make", "lid.rhai", "--tools", "tools.toml"]);
    assert!(run.code == 4 && run.out.contains("check::brake_length"), "{}", run.out);
    assert!(run.out.contains("tools file `tools.toml`"), "{}", run.out);
    // What is shown can be taken apart with the same files.
    let explained = ["explain", "lid.rhai", "check::brake_length", "--tools", "tools.toml"];
    let run = run_in(folder.path(), &explained);
    assert!(run.code == 0 && run.out.contains("`tools.toml`"), "{} {}", run.out, run.err);
    let run = run_in(folder.path(), &explained[..3]);
    assert!(run.code == 0 && !run.out.contains("tools.toml"), "{} {}", run.out, run.err);
}

const TRAY: &str = r#"let tray = part(#{ material: "DC01", thickness: 1.5, inside_radius: 2.5 });
let floor = tray.base("floor", rectangle(300, 200));
let front = tray.flange("front", floor.edge("front"), #{ length: 40 });
let right = tray.flange("right", floor.edge("right"), #{ length: 40 });
let back = tray.flange("back", floor.edge("back"), #{ length: 40 });
let left = tray.flange("left", floor.edge("left"), #{ length: 40 });
let lip = tray.flange("lip", left.edge("tip"), #{ length: 15 });
"#;

/// Names in the order of bending, out of `bends.csv` in a folder.
fn order_in(folder: &Path) -> Vec<String> {
    let table = fs::read_to_string(folder.join("bends.csv")).unwrap();
    table.lines().skip(1).map(|row| row.split(',').nth(1).unwrap().to_owned()).collect()
}

#[test]
fn bends_that_are_settled_keep_their_steps_and_the_rest_is_planned_around_them() {
    let folder = tempfile::tempdir().unwrap();
    let path = |name: &str| folder.path().join(name);
    fs::write(path("tray.rhai"), TRAY).unwrap();
    assert_eq!(run_in(folder.path(), &["make", "tray.rhai", "--out", "free"]).code, 0);
    let free = order_in(&path("free"));
    assert_eq!(free.len(), 5);
    // The last two become the first ones, by script words.
    let settle = |name: &str, step: usize| format!("tray.settle_bend({name}, #{{ step: {step} }});\n");
    let is_free = |name: &&String| *name != "left" && *name != "lip";
    let moved: Vec<&String> = free.iter().rev().filter(is_free).take(2).collect();
    let script = format!("{TRAY}{}{}", settle(moved[0], 1), settle(moved[1], 2));
    fs::write(path("settled.rhai"), script).unwrap();
    let run = run_in(folder.path(), &["make", "settled.rhai", "--out", "settled"]);
    assert!(run.code == 0 && !run.out.contains("brake::"), "{}{}", run.out, run.err);
    let settled = order_in(&path("settled"));
    assert_eq!([&settled[0], &settled[1]], [moved[0], moved[1]]);
    assert_ne!(settled, free);
    let sorted = |names: &[String]| {
        let mut names = names.to_vec();
        names.sort();
        names
    };
    assert_eq!(sorted(&settled), sorted(&free));
    // The same by a saved order of which only these two entries are kept: the same files.
    let order =
        format!(r#"[{{ "panel": "{}", "step": 1 }}, {{ "panel": "{}", "step": 2 }}]"#, moved[0], moved[1]);
    fs::write(path("two.json"), order).unwrap();
    let run = run_in(folder.path(), &["make", "tray.rhai", "--order", "two.json", "--out", "read"]);
    assert_eq!(run.code, 0, "{}", run.err);
    assert_eq!(order_in(&path("read")), settled);
    assert_eq!(fs::read(path("read/bends.csv")).unwrap(), fs::read(path("settled/bends.csv")).unwrap());
    // Punch and gauge are granted too.
    let first = &moved[0];
    let order = format!(r#"[{{ "panel": "{first}", "punch": "relieved", "gauge_at": "parent" }}]"#);
    fs::write(path("punch.json"), order).unwrap();
    let run = run_in(folder.path(), &["make", "tray.rhai", "--order", "punch.json", "--out", "punch"]);
    assert_eq!(run.code, 0, "{}", run.err);
    let saved = fs::read_to_string(path("punch/order.json")).unwrap();
    let entry = saved.split('{').find(|entry| entry.contains(&format!("\"{first}\""))).unwrap();
    assert!(entry.contains("\"relieved\"") && entry.contains("\"parent\""), "{saved}");
}

#[test]
fn faults_of_an_order_file_are_told_with_its_line_and_the_nearest_name() {
    let folder = tempfile::tempdir().unwrap();
    let path = |name: &str| folder.path().join(name);
    // What the script settles has places of its own.
    fs::write(path("tray.rhai"), format!("{TRAY}tray.settle_bend(right, #{{ gauge_at: \"flange\" }});\n"))
        .unwrap();
    for (order, code, message, line, hint) in [
        (
            "[\n  { \"panel\": \"frnt\", \"step\": 1 }\n]",
            "no_bend",
            "there is no panel `frnt` whose bend could be settled",
            "2:15",
            "did you mean `front`?",
        ),
        (
            "[\n  {\n    \"step\": 1,\n    \"panel\": \"floor\"\n  }\n]",
            "no_bend",
            "panel `floor` hangs on no bend",
            "4:15",
            "panels that are bent: front, right, back, left, lip",
        ),
        (
            "[{ \"panel\": \"lip\" },\n { \"panel\": \"front\", \"punch\": \"relived\" }]",
            "unknown_punch",
            "there is no punch `relived`",
            "2:14",
            "did you mean `relieved`?",
        ),
        (
            "[{ \"panel\": \"front\", \"step\": 2 },\n\n { \"panel\": \"lip\", \"step\": 2 }]",
            "settled_at_odds",
            "`front` and `lip` are both settled as step 2",
            "3:14",
            "give one of them another step, or none",
        ),
        (
            "[{ \"panel\": \"front\",\n \"step\": 1.5 }]",
            "order_unreadable",
            ", in `[0].step`: this is the number 1.5, where a whole number of 0 or more belongs",
            "",
            "compare it with the `order.json` of a part",
        ),
        (
            "[{ \"panel\": \"front\", \"stage\": 1 }]",
            "order_unreadable",
            "there is no key `stage` here; the keys are `panel`, `step`, `gauge_at`, `punch`",
            "",
            "compare it with the `order.json` of a part",
        ),
    ] {
        fs::write(path("order.json"), order).unwrap();
        let run = run_in(folder.path(), &["make", "tray.rhai", "--order", "order.json"]);
        assert_eq!(run.code, 1, "{order}{}", run.out);
        let place =
            if line.is_empty() { "--> order.json".to_owned() } else { format!("--> order.json:{line}\n") };
        for words in [&format!("error[brake::{code}]: "), message, &place, hint] {
            assert!(run.err.contains(words), "{words} in {}", run.err);
        }
        assert!(!run.err.contains("expected"), "{}", run.err);
    }
    // A fault of the script is still one of the script.
    fs::write(path("order.json"), "[{ \"panel\": \"front\", \"step\": 2 }]").unwrap();
    fs::write(path("odd.rhai"), format!("{TRAY}tray.settle_bend(lip, #{{ punch: \"relived\" }});\n"))
        .unwrap();
    let run = run_in(folder.path(), &["make", "odd.rhai", "--order", "order.json"]);
    assert!(run.code == 1 && run.err.contains("--> odd.rhai:8:"), "{}", run.err);
}

#[test]
fn a_saved_part_that_settles_an_own_punch_says_that_it_needs_the_tools_file() {
    let folder = tempfile::tempdir().unwrap();
    let path = |name: &str| folder.path().join(name);
    fs::write(path("tray.rhai"), format!("{TRAY}tray.settle_bend(lip, #{{ punch: \"window\" }});\n"))
        .unwrap();
    fs::write(
        path("tools.toml"),
        "[[punch]]\nname = \"window\"\nangle = 80\ntip_radius = 1\nmost_kn_per_m = 400\noutline = [[0, 0], [10, 12], [10, 100], [-10, 100], [-10, 12]]\n",
    )
    .unwrap();
    let run = run_in(folder.path(), &["make", "tray.rhai", "--tools", "tools.toml", "--out", "saved"]);
    assert_eq!(run.code, 0, "{}", run.err);
    let saved = "saved/history.json";
    let run = run_in(folder.path(), &["make", saved, "--out", "again"]);
    assert!(
        run.code == 1 && run.err.contains("there is no punch `window`; there are straight"),
        "{}",
        run.err
    );
    let hint =
        "if `window` is of a tools file, give that file with `--tools`, also for a saved part or order";
    assert!(run.err.contains(hint) && run.err.contains("--> saved/history.json"), "{}", run.err);
    let run = run_in(folder.path(), &["make", saved, "--tools", "tools.toml", "--out", "again"]);
    assert_eq!(run.code, 0, "{}", run.err);
}

#[test]
fn an_order_that_cannot_be_says_its_step_and_what_meets_what() {
    let folder = tempfile::tempdir().unwrap();
    let path = |name: &str| folder.path().join(name);
    fs::write(path("tray.rhai"), TRAY).unwrap();
    // The lip is bent on a wall that stands already: the floor leans over the bend, and the front wall, which is
    // still flat with it, is the first that is found to meet something.
    let order = r#"[{ "panel": "left", "step": 1 }, { "panel": "lip", "step": 2, "punch": "straight" }]"#;
    fs::write(path("order.json"), order).unwrap();
    let run = run_in(folder.path(), &["make", "tray.rhai", "--order", "order.json"]);
    assert_eq!(run.code, 0, "{}", run.err);
    let message = "the settled bend order fails at step 2, with `left` made";
    assert!(run.out.contains(&format!("warning[brake::no_order]: {message}")), "{}", run.out);
    assert!(
        run.out.contains("help: `lip`: panel `front` meets the ram (straight punch, either way round)"),
        "{}",
        run.out
    );
    let picture = fs::read_to_string(path("out/tray/order.svg")).unwrap();
    let words = ["no order", "in the way", "the settled bend order fails at step 2, with"];
    assert!(words.iter().all(|words| picture.contains(words)), "{picture}");
    // It is drawn in a colour of its own.
    assert!(picture.matches("fill=\"#cc79a7\"").count() >= 2, "{picture}");
    // What was settled is given back, so that nothing is lost where it is written over itself.
    let bare = |text: &str| text.split_whitespace().collect::<String>();
    let saved = fs::read_to_string(path("out/tray/order.json")).unwrap();
    assert_eq!(bare(&saved), bare(order));
}

#[test]
fn a_bad_tools_file_is_named_with_its_line() {
    let punch = |changed: (&str, &str)| {
        let entry = "[[punch]]\nname = \"odd\"\nangle = 80\ntip_radius = 1\nmost_kn_per_m = 400\noutline = [[0, 0], [10, 12], [10, 90], [-10, 90], [-10, 12]]\n";
        assert!(entry.contains(changed.0));
        entry.replace(changed.0, changed.1)
    };
    let die = |changed: (&str, &str)| {
        let entry = "[[die]]\nname = \"V12 odd\"\nopening = 12\nangle = 84\nshoulder = 2\nheight = 90\nmost_kn_per_m = 300\n";
        assert!(entry.contains(changed.0));
        entry.replace(changed.0, changed.1)
    };
    let folder = workshop();
    for (text, message, line) in [
        // Keys.
        (
            "[brake]\nlength = 2000\nanvil = 3\n".to_owned(),
            "there is no key `anvil` here; the keys are `name`, `length`",
            3,
        ),
        ("\nanvil = 1\n".to_owned(), "there is no key `anvil` here; the keys are `only_own`", 2),
        (punch(("tip_radius", "tip_radios")), "there is no key `tip_radios` here; the keys are `name`", 4),
        (punch(("angle = 80\n", "")), "`angle` is missing", 1),
        // Types.
        ("# ours\nshortfall = \"wide\"\n".to_owned(), "this is the text \"wide\", where a number belongs", 2),
        ("[brake]\nram = 3\n".to_owned(), "this is the number 3, where a list belongs", 2),
        (punch(("[10, 12]", "[10, 12, 3]")), "there are 3 numbers where 2 belong", 6),
        ("segments = [10, \"20\"]\n".to_owned(), "this is the text \"20\", where a number belongs", 1),
        ("[brake\n".to_owned(), "a bracket is not closed: here belongs `]`", 1),
        ("shortfall = wide\n".to_owned(), "a number, text in quotes, `true`, `false`", 1),
        ("only_own = 1\n".to_owned(), "this is the number 1, where `true` or `false` belongs", 1),
        // Numbers.
        ("segments = [10, -20]\n".to_owned(), "a segment cannot be -20: it goes from 1 to 10000 mm", 1),
        ("segments = [10, 12.5]\n".to_owned(), "a segment of 12.5 mm: write the whole mm below", 1),
        ("segments = []\n".to_owned(), "there are 0 segments; a shop has 1 to 200 of them", 1),
        ("shortfall = -1\n".to_owned(), "`shortfall` cannot be -1", 1),
        ("[brake]\nforce_kn = 0\n".to_owned(), "`force_kn` cannot be 0: it goes from 1 to 100000 kN", 2),
        ("[brake]\ndaylight = nan\n".to_owned(), "`daylight` cannot be NaN", 2),
        ("[brake]\nlength = 0.5\n".to_owned(), "`length` cannot be 0.5", 2),
        ("[brake]\nthroat = -3\n".to_owned(), "`throat` cannot be -3", 2),
        ("[brake]\nbetween_frames = inf\n".to_owned(), "`between_frames` cannot be inf", 2),
        ("[brake]\ngauge_reach = [500, 5]\n".to_owned(), "`gauge_reach` cannot be [500, 5]", 2),
        ("[brake]\ngauge_finger = [20, 0, 60]\n".to_owned(), "a size of `gauge_finger` cannot be 0", 2),
        (
            punch(("angle = 80", "angle = 180")),
            "`angle` of punch `odd` cannot be 180: it goes from 1 to 179 °",
            3,
        ),
        (punch(("= 400", "= 0")), "`most_kn_per_m` of punch `odd` cannot be 0", 5),
        (die(("opening = 12", "opening = -12")), "`opening` of die `V12 odd` cannot be -12", 3),
        (
            die(("height = 90", "height = 5")),
            "the V of die `V12 odd` is 6.7 mm deep, which is through its 5 mm",
            6,
        ),
        (die(("shoulder = 2", "shoulder = 0")), "`shoulder` of die `V12 odd` cannot be 0", 5),
        // Names.
        (punch(("\"odd\"", "\" \"")), "a punch needs a name that can be read on one line", 2),
        (format!("{}{}", die(("90", "90")), die(("90", "95"))), "there are two of die `V12 odd`", 9),
        (format!("{}{}", punch(("80", "80")), punch(("80", "70"))), "there are two of punch `odd`", 8),
        (
            punch(("odd", "relieved")),
            "punch `relieved` is one of the default set: give yours another name",
            2,
        ),
        (die(("V12 odd", "V12")), "die `V12` is one of the default set: give yours another name", 2),
        ("only_own = true\n".to_owned(), "`only_own` leaves no punch", 1),
        // Outlines.
        (
            punch((", [10, 90], [-10, 90], [-10, 12]", "")),
            "the outline of punch `odd` has 2 corners; it needs 3",
            6,
        ),
        (
            punch(("[10, 90], [-10, 90]", "[-10, 90], [10, 90]")),
            "the outline of punch `odd` meets itself at [0.00, 51.00]",
            6,
        ),
        (punch(("[10, 12]", "[10, 12], [10, 12]")), "corner 2 and the next one of punch `odd` are one", 6),
        (punch(("[0, 0]", "[0, 1]")), "the tip of punch `odd` must stand at [0, 0], as its lowest corner", 6),
        (punch(("[10, 90]", "[10, 90000]")), "a corner of punch `odd` lies beyond 20000 mm", 6),
        ("[brake]\nram = [[0, 0], [5, -9], [9, -3]]\n".to_owned(), "the ram reaches up", 2),
        ("[brake]\nbed = [[0, 0], [5, 9], [9, 3]]\n".to_owned(), "the bed reaches down", 2),
    ] {
        fs::write(folder.path().join("tools.toml"), &text).unwrap();
        let run = run_in(folder.path(), &["make", "lid.rhai", "--tools", "tools.toml"]);
        assert_eq!(run.code, 1, "{text}{}", run.out);
        assert!(run.err.contains(&format!("error[files::bad_tools_file]: {message}")), "{text}{}", run.err);
        assert!(run.err.contains(&format!("--> tools.toml:{line}:")), "{text}{}", run.err);
        assert!(!folder.path().join("out").exists(), "{text}");
    }
    // All faults are told at once, in the order of their lines.
    fs::write(folder.path().join("tools.toml"), "shortfall = -1\n[brake]\nforce_kn = 0\nthroat = -3\n")
        .unwrap();
    let run = run_in(folder.path(), &["make", "lid.rhai", "--tools", "tools.toml"]);
    let at = |words: &str| run.err.find(words).unwrap_or_else(|| panic!("{}", run.err));
    assert!(at("`shortfall`") < at("`force_kn`") && at("`force_kn`") < at("`throat`"));
    // Alone, a shop may call its punch what it likes.
    let own = format!("only_own = true\n{}{}", punch(("odd", "relieved")), die(("V12 odd", "V12")));
    fs::write(folder.path().join("own.toml"), own).unwrap();
    let run = run_in(folder.path(), &["make", "lid.rhai", "--tools", "own.toml"]);
    assert!(!run.err.contains("files::bad_tools_file"), "{}", run.err);
    let missing = run_in(folder.path(), &["make", "lid.rhai", "--tools", "none.toml"]);
    assert_eq!(missing.code, 3);
}

#[test]
fn own_tools_are_taken_before_the_default_ones() {
    let folder = workshop();
    // Drawn clockwise, which is as good.
    let tools = "[[punch]]\nname = \"window\"\nangle = 80\ntip_radius = 1\nmost_kn_per_m = 400\noutline = [[0, 0], [-10, 12], [-10, 100], [10, 100], [10, 12]]\n[[die]]\nname = \"V10 slim\"\nopening = 10\nangle = 84\nshoulder = 2\nheight = 90\nmost_kn_per_m = 300\n";
    fs::write(folder.path().join("tools.toml"), tools).unwrap();
    let run = run_in(folder.path(), &["make", "lid.rhai", "--tools", "tools.toml"]);
    assert_eq!(run.code, 0, "{}", run.err);
    let table = fs::read_to_string(folder.path().join("out/lid/bends.csv")).unwrap();
    assert_eq!(table.matches(",window,V10 slim,10,").count(), 2, "{table}");
    // Of a saved part, another tools file sets its own limits, and none that the family or a shop file says.
    fs::write(folder.path().join("short.toml"), "[brake]\nlength = 20\n").unwrap();
    fs::write(folder.path().join("long.toml"), "[brake]\nlength = 2000\n").unwrap();
    fs::write(folder.path().join("shop.toml"), "brake_length = 30\n").unwrap();
    let run = run_in(folder.path(), &["make", "lid.rhai", "--tools", "short.toml", "--out", "short"]);
    assert!(run.code == 4 && run.out.contains("check::brake_length"), "{}", run.out);
    let saved = "short/history.json";
    let run = run_in(folder.path(), &["make", saved, "--tools", "long.toml", "--out", "long"]);
    assert_eq!(run.code, 0, "{}", run.out);
    let both = ["make", saved, "--tools", "long.toml", "--shop", "shop.toml", "--out", "both"];
    let run = run_in(folder.path(), &both);
    assert!(run.code == 4 && run.out.contains("shop file `shop.toml`"), "{}", run.out);
}
