//! Neighbours: how far each kind reaches, what files they are read from, and what features do with them.

#![expect(clippy::unwrap_used, reason = "a test stops at the first thing amiss")]

mod files;
mod forms;
#[allow(dead_code, reason = "tests and benches use different parts")]
#[path = "../../benches/parts.rs"]
mod parts;
mod references;

use kernel::diag::Diagnostic;
use kernel::geom::Box3;
use kernel::history::feature::FeatureEntry;
use kernel::history::{
    BoltEndSpec, BoltSpec, History, NeighbourEntry, NeighbourGroup, NeighbourSpec, Profile, Stand,
};
use kernel::regenerate::{Part, regenerate};

/// A plate of 200 x 100 mm, 2 mm thick, with these features on it.
fn plate(features: Vec<FeatureEntry>) -> History {
    let base = parts::base("floor", Profile::rectangle(&parts::n(200.0), &parts::n(100.0)));
    parts::history(2.0, 2.0, 0.45, std::iter::once(base).chain(features).collect())
}

fn among(neighbours: Vec<NeighbourEntry>) -> History {
    History { neighbours, ..plate(Vec::new()) }
}

fn neighbour(name: &str, kind: NeighbourSpec) -> NeighbourEntry {
    NeighbourEntry {
        name: name.to_owned(),
        kind,
        clearance: None,
        hazard: None,
        bolted: false,
        travel: None,
        turning: None,
        span: None,
    }
}

fn stand(at: [f64; 3], along: [f64; 3]) -> Stand {
    Stand { at, along, across: None }
}

fn group(name: &str, members: &[&str], stand: Stand) -> NeighbourGroup {
    let members = members.iter().map(|member| (*member).to_owned()).collect();
    NeighbourGroup { name: name.to_owned(), members, stand, clearance: None, hazard: None, span: None }
}

/// A bolt of 30 mm without washer.
fn bolt(size: &str, at: [f64; 3], along: [f64; 3]) -> BoltSpec {
    BoltSpec {
        size: size.to_owned(),
        stand: stand(at, along),
        end: BoltEndSpec::Length(30.0),
        washer: false,
        nut_at: None,
    }
}

fn made(history: &History) -> Part {
    regenerate(history).unwrap_or_else(|faults| panic!("{faults:?}"))
}

fn refused(history: &History) -> Diagnostic {
    regenerate(history).expect_err("it cannot be").remove(0)
}

/// Lowest and highest corner of the only neighbour, to a thousandth of a mm.
fn extent(history: &History) -> [[f64; 3]; 2] {
    let part = made(history);
    let [neighbour] = part.neighbours.as_slice() else { panic!("one neighbour is there") };
    rounded(neighbour.extent().unwrap())
}

fn rounded(extent: Box3) -> [[f64; 3]; 2] {
    // Adding zero makes -0 the same as 0.
    [extent.low, extent.high].map(|v| [v.x, v.y, v.z].map(|x| (x * 1000.0).round() / 1000.0 + 0.0))
}
