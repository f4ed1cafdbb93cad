//! The command line of Foldwright.
//!
//! Invariant: messages go to standard error, results to standard output; exit codes are those of `--help`.

use std::collections::BTreeMap;
use std::io::Write as _;
use std::path::PathBuf;
use std::process::ExitCode;

use clap::error::ErrorKind;
use clap::{Args, CommandFactory, Parser, Subcommand};
use foldwright::commands::{self, Contributors, Faults, Picture, ShopFiles};

/// Folded sheet-metal covers, written once as a script and regenerated for any size.
#[derive(Parser)]
#[command(version, after_help = EXIT_CODES)]
struct Arguments {
    #[command(subcommand)]
    command: Command,
}

const EXIT_CODES: &str = "\
Exit codes:
  0  everything asked for was done
  1  the script, a value set for it, or the part that they describe is at fault; nothing was written
  2  the command line is wrong
  3  a file cannot be read or written
  4  everything was written, but a check has found a fault in the part (0 with --allow-faults)";

const MAKE_HELP: &str = "\
Writes blank.dxf, blank.svg, folded.step, folded.stl, folded.glb, bends.csv, order.svg, order.json, report.json and history.json.
A saved history.json can be given instead of a script; it makes the same part again.

Examples:
  foldwright make scripts/chain_guard.rhai
  foldwright make scripts/chain_guard.rhai --set clear_height=220 --set thickness=2 --out guards/220
  foldwright make scripts/chain_guard.rhai --shop our_shop.toml";

const EXPLAIN_HELP: &str = "\
Examples:
  foldwright explain scripts/chain_guard.rhai \"blank length\"
  foldwright explain scripts/chain_guard.rhai wall.left --set thickness=2
  foldwright explain scripts/chain_guard.rhai check::minimum_flange --shop our_shop.toml";

#[derive(Subcommand)]
enum Command {
    /// Make the part of a script: solve, fold, unfold, write every output
    #[command(after_help = MAKE_HELP)]
    Make {
        /// Family script (.rhai) or saved history (.json)
        script: PathBuf,
        /// Set a parameter of the family; `foldwright show` lists them
        #[arg(long, value_name = "NAME=VALUE", value_parser = setting)]
        set: Vec<(String, String)>,
        /// Folder for the outputs [default: out/<family>]
        #[arg(long, value_name = "DIR")]
        out: Option<PathBuf>,
        #[command(flatten)]
        shop: Shop,
        /// End with exit code 0 although a check has found a fault in the part
        #[arg(long)]
        allow_faults: bool,
        /// Also write picture.png, a shaded picture of the folded part among its neighbours
        #[arg(long)]
        picture: bool,
        /// Leave the neighbours out of the picture
        #[arg(long, requires = "picture")]
        without_neighbours: bool,
        /// Also list the tolerances and what they add to the spread of each dimension and gap
        #[arg(long)]
        tolerances: bool,
    },
    /// Explain where a number of the part comes from: formula, values, source, script line
    #[command(after_help = EXPLAIN_HELP)]
    Explain {
        /// Family script (.rhai) or saved history (.json)
        script: PathBuf,
        /// A dimension, a bend by the panel behind it, a free number, `blank length`, `blank width`, `mass`, or the
        /// code of a check
        name: String,
        /// Set a parameter of the family
        #[arg(long, value_name = "NAME=VALUE", value_parser = setting)]
        set: Vec<(String, String)>,
        #[command(flatten)]
        shop: Shop,
    },
    /// Show the parameters of a script with defaults, units and ranges
    Show {
        /// Family script (.rhai)
        script: PathBuf,
    },
}

/// Files of the shop that are read beside the script.
#[derive(Args)]
struct Shop {
    /// TOML file with the limits of the shop, for example `brake_length = 2500`; what a family says itself holds
    #[arg(long, value_name = "FILE")]
    shop: Option<PathBuf>,
    /// TOML file with brake and tools of the shop [default: a mid-sized brake]
    #[arg(long, value_name = "FILE")]
    tools: Option<PathBuf>,
    /// Bends that are settled: an order.json, changed by hand
    #[arg(long, value_name = "FILE")]
    order: Option<PathBuf>,
}

impl Shop {
    fn files(&self) -> ShopFiles<'_> {
        ShopFiles { limits: self.shop.as_deref(), order: self.order.as_deref(), tools: self.tools.as_deref() }
    }
}

fn setting(text: &str) -> Result<(String, String), String> {
    match text.split_once('=').map(|(name, value)| (name.trim(), value.trim())) {
        Some((name, value)) if !name.is_empty() => Ok((name.to_owned(), value.to_owned())),
        _ => Err("write NAME=VALUE, for example clear_height=220".to_owned()),
    }
}

/// The settings by name; a name that comes twice ends the program, since one of the two would be lost.
fn settings(set: Vec<(String, String)>) -> BTreeMap<String, String> {
    let mut settings = BTreeMap::new();
    for (name, value) in set {
        if settings.contains_key(&name) {
            let message = format!("`{name}` is set twice");
            Arguments::command().error(ErrorKind::ArgumentConflict, message).exit();
        }
        settings.insert(name, value);
    }
    settings
}

fn main() -> ExitCode {
    let arguments = Arguments::parse();
    let mut out = std::io::stdout().lock();
    let done = match arguments.command {
        Command::Make {
            script,
            set,
            out: folder,
            shop,
            allow_faults,
            picture,
            without_neighbours,
            tolerances,
        } => {
            let picture = match (picture, without_neighbours) {
                (false, _) => Picture::None,
                (true, false) => Picture::Shaded,
                (true, true) => Picture::PartAlone,
            };
            let contributors = if tolerances { Contributors::Listed } else { Contributors::Unsaid };
            let faults = if allow_faults { Faults::Allowed } else { Faults::Fail };
            let (settings, folder) = (settings(set), folder.as_deref());
            commands::make(&script, settings, shop.files(), folder, picture, contributors, &mut out)
                .map(|made| made.exit_code(faults))
        }
        Command::Explain { script, name, set, shop } => {
            commands::explain(&script, settings(set), shop.files(), &name, &mut out).map(|()| 0)
        }
        Command::Show { script } => commands::show(&script, &mut out).map(|()| 0),
    };
    match done {
        Ok(code) => ExitCode::from(code),
        Err(failure) => {
            let _ = write!(std::io::stderr(), "{}", failure.text());
            ExitCode::from(failure.exit_code())
        }
    }
}
