//! The scripts and outputs printed in the documents are the real ones.
//!
//! A code block says in its first line what it is: `rhai` followed by `complete` must make a part, followed
//! by `refused` must be refused with the message in the next `text` block; `complete` followed by a `text`
//! block prints what stands there, and `...` in it stands for lines left out.

#![allow(clippy::unwrap_used, reason = "a check stops at the first surprise, in its helping functions too")]

use std::collections::BTreeMap;
use std::path::{Path, PathBuf};

use foldwright::commands::{Contributors, Picture, ShopFiles, make};

/// Most bytes of a picture in the documents.
const LARGEST_PICTURE: u64 = 300_000;

fn project() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).parent().unwrap().to_owned()
}

fn document(path: &str) -> String {
    std::fs::read_to_string(project().join(path)).unwrap_or_else(|fault| panic!("{path}: {fault}"))
}

/// A fenced block of a document: the words after the fence, and the lines between.
#[derive(Debug)]
struct Block {
    words: Vec<String>,
    text: String,
}

impl Block {
    fn is(&self, words: &[&str]) -> bool {
        self.words == words
    }
}

fn blocks(markdown: &str) -> Vec<Block> {
    let mut found = Vec::new();
    let mut lines = markdown.lines();
    while let Some(line) = lines.next() {
        let Some(words) = line.strip_prefix("```") else { continue };
        let body: Vec<&str> = lines.by_ref().take_while(|line| *line != "```").collect();
        let words = words.split_whitespace().map(str::to_owned).collect();
        found.push(Block { words, text: body.join("\n") + "\n" });
    }
    found
}

/// What `foldwright make fan_cover.rhai` prints for a script: the summary, or the message of the refusal.
fn printed(script: &str, settings: BTreeMap<String, String>) -> Result<String, String> {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("fan_cover.rhai");
    std::fs::write(&path, script).unwrap();
    let out = folder.path().join("out").join("fan_cover");
    let mut summary = Vec::new();
    let prefix = format!("{}{}", folder.path().display(), std::path::MAIN_SEPARATOR);
    match make(
        &path,
        settings,
        ShopFiles::default(),
        Some(&out),
        Picture::None,
        Contributors::Unsaid,
        &mut summary,
    ) {
        Ok(_) => Ok(String::from_utf8(summary).unwrap().replace(&prefix, "")),
        Err(failure) => Err(failure.text().replace(&prefix, "")),
    }
}

/// The `--set name=value` pairs of a command line.
fn settings(command: &str) -> BTreeMap<String, String> {
    let pairs = command.split("--set ").skip(1).map(|rest| rest.split_whitespace().next().unwrap());
    pairs.map(|pair| pair.split_once('=').unwrap()).map(|(n, v)| (n.to_owned(), v.to_owned())).collect()
}

/// Checks that the shown lines stand in the real output in this order, next to each other but for `...`.
fn assert_shows(shown: &str, real: &str) {
    let mut rest = real;
    for (index, part) in shown.split("...\n").enumerate() {
        let at = rest.find(part).unwrap_or_else(|| panic!("the document shows\n{part}\nbut it is\n{real}"));
        assert!(index > 0 || at == 0, "the document leaves out the beginning of\n{real}");
        rest = &rest[at + part.len()..];
    }
    assert!(shown.ends_with("...\n") || rest.trim().is_empty(), "the document leaves out the end of\n{real}");
}

#[test]
fn the_tools_file_in_the_guide_is_read_and_folded_with() {
    let guide = document("docs/writing-a-family.md");
    let files: Vec<Block> = blocks(&guide).into_iter().filter(|b| b.is(&["toml", "tools"])).collect();
    let [shown] = files.as_slice() else { panic!("one tools file in the guide, got {files:?}") };
    let folder = tempfile::tempdir().unwrap();
    let path = |name: &str| folder.path().join(name);
    std::fs::write(path("our_tools.toml"), &shown.text).unwrap();
    let script = r#"let tray = part(#{ material: "DC01", thickness: 2, inside_radius: 3 });
let floor = tray.base("floor", rectangle(200, 120));
tray.flange("wall", floor.edges(["front", "back"]), #{ length: 40 });
"#;
    std::fs::write(path("tray.rhai"), script).unwrap();
    let tools = path("our_tools.toml");
    let shop = ShopFiles { tools: Some(&tools), ..ShopFiles::default() };
    let (none, unsaid) = (Picture::None, Contributors::Unsaid);
    make(&path("tray.rhai"), BTreeMap::new(), shop, Some(&path("out")), none, unsaid, &mut Vec::new())
        .unwrap_or_else(|failure| panic!("{}", failure.text()));
    let report = std::fs::read_to_string(path("out/report.json")).unwrap();
    let report: serde_json::Value = serde_json::from_str(&report).unwrap();
    assert_eq!(report["bend_order"]["brake"], "Orchard 2000");
    for bend in report["bends"].as_array().unwrap() {
        assert_eq!(
            (&bend["setting"]["punch"], &bend["setting"]["die"]),
            (&"window".into(), &"V12 slim".into())
        );
        // The bend of 200 mm is made with a segment of 200.
        assert_eq!(bend["setting"]["tool_length_mm"], 200.0);
    }
    // Every key that the file may have stands there.
    for key in
        ["only_own", "segments", "shortfall", "between_frames", "throat", "daylight", "gauge_finger", "bed"]
    {
        assert!(shown.text.contains(&format!("{key} = ")), "{key}");
    }
}

#[test]
fn the_family_in_the_readme_is_a_script_of_twenty_lines_that_makes_a_part() {
    let readme = document("README.md");
    let scripts: Vec<Block> = blocks(&readme).into_iter().filter(|b| b.is(&["rhai"])).collect();
    let [shown] = scripts.as_slice() else { panic!("one script in README.md, got {scripts:?}") };
    let script = project().join("scripts").join("sprocket_shield.rhai");
    assert_eq!(shown.text, std::fs::read_to_string(&script).unwrap());
    assert_eq!(shown.text.lines().count(), 20);
    let loaded = foldwright::load(&script, BTreeMap::new()).unwrap();
    let part = kernel::regenerate::regenerate(&loaded.history).unwrap();
    // Clear width 160 + 30, as the text below the script says.
    let clear = &part.settled.dimensions[0];
    assert!((clear.got - 190.0).abs() < 1e-6, "{clear:?}");
    assert_eq!(part.bend_table().len(), 5);
}

#[test]
fn the_readme_names_the_two_commands_and_every_output() {
    let readme = document("README.md");
    for command in ["cargo run --release -- make scripts/chain_guard.rhai\n", "cargo test --workspace\n"] {
        assert!(readme.contains(command), "README.md lacks {command}");
    }
    for format in kernel::exchange::ALL {
        assert!(
            readme.contains(&format!("| `{}` |", format.file_name)),
            "README.md lacks {}",
            format.file_name
        );
    }
}

#[test]
fn every_script_and_output_of_the_tutorial_is_real() {
    let tutorial = blocks(&document("docs/writing-a-family.md"));
    let (mut complete, mut refused, mut set) = (0, 0, 0);
    let mut last_complete = "";
    for (index, block) in tutorial.iter().enumerate() {
        let shown = tutorial.get(index + 1).filter(|next| next.is(&["text"])).map(|next| next.text.as_str());
        if block.is(&["rhai", "complete"]) {
            complete += 1;
            last_complete = &block.text;
            let summary = printed(&block.text, BTreeMap::new()).unwrap_or_else(|message| panic!("{message}"));
            if let Some(shown) = shown {
                assert_shows(shown, &summary);
            }
        } else if block.is(&["rhai", "refused"]) {
            refused += 1;
            let message = printed(&block.text, BTreeMap::new()).expect_err("the tutorial says it is refused");
            assert_shows(shown.expect("a refused script is followed by its message"), &message);
        } else if let (true, Some(shown)) = (block.is(&["sh"]), shown) {
            set += 1;
            let summary_or_message = printed(last_complete, settings(&block.text));
            assert_shows(shown, &summary_or_message.unwrap_or_else(|message| message));
        } else {
            // Tools files have a test of their own.
            let is_known = [&["text"][..], &["sh"], &["toml", "tools"]].iter().any(|words| block.is(words));
            assert!(is_known, "no test looks at {block:?}");
        }
    }
    assert_eq!((complete, refused, set), (20, 8, 2), "complete, refused and set scripts of the tutorial");
}

#[test]
fn links_between_documents_lead_to_files() {
    let mut pages = vec![PathBuf::from("README.md"), PathBuf::from("DEVELOPERS.md")];
    for folder in ["docs", "docs/math", "docs/decisions"] {
        for entry in std::fs::read_dir(project().join(folder)).unwrap() {
            let path = entry.unwrap().path();
            if path.extension().is_some_and(|e| e == "md") {
                pages.push(path.strip_prefix(project()).unwrap().to_owned());
            }
        }
    }
    let mut links = 0;
    for page in &pages {
        let text = document(page.to_str().unwrap());
        for rest in text.split("](").skip(1) {
            let target = rest.split(')').next().unwrap().split('#').next().unwrap();
            if target.is_empty() || target.contains("://") {
                continue;
            }
            links += 1;
            let file = project().join(page.parent().unwrap()).join(target);
            assert!(file.exists(), "{} links to {target}, which is not there", page.display());
        }
    }
    assert!(links > 20, "only {links} links found");
}

#[test]
fn pictures_stay_small() {
    let mut pictures = 0;
    for entry in std::fs::read_dir(project().join("docs/pictures")).unwrap() {
        let entry = entry.unwrap();
        pictures += 1;
        let bytes = entry.metadata().unwrap().len();
        assert!(bytes <= LARGEST_PICTURE, "{} has {bytes} bytes", entry.path().display());
    }
    assert!(pictures >= 2);
}
