//! Writes random parts with random neighbours and our distances, for the outside checks:
//! `random_neighbours FOLDER COUNT`, where COUNT pairs are wanted.
//!
//! Parts are plane plates with polygonal holes, so that their meshes are exact, and neighbours are boxes and hexagon
//! heads. Each pair is one line of `pairs.json`: vertices and triangles of both, and the distance.

#![allow(clippy::print_stdout, reason = "a program for the command line")]

#[allow(dead_code, reason = "tests and benches use different parts")]
#[path = "../benches/parts.rs"]
mod parts;

use std::error::Error;
use std::fmt::Write as _;
use std::fs;
use std::path::Path;

use kernel::fold::FoldFractions;
use kernel::geom::{Placement, Point2, Vec3};
use kernel::history::feature::{Feature, Pattern};
use kernel::history::{History, Shape};
use kernel::machine::{self, Disc, Piece, Prism};
use kernel::quantity::{maths, tolerance};
use kernel::regenerate::regenerate;
use kernel::solid::{Metal, Obstacle, clearance};
use parts::{base, cutout, entry, history, line, n, outline};
use proptest::prelude::*;
use proptest::strategy::ValueTree;
use proptest::test_runner::TestRunner;

/// A star-shaped polygon of five to eight corners with a slanting square hole, on sheet of 1 to 6 mm.
fn plate() -> impl Strategy<Value = History> {
    (prop::collection::vec(60.0..140.0_f64, 5..9), 0.0..90.0_f64, 1.0..6.0_f64).prop_map(
        |(spokes, turn, thickness)| {
            let count = spokes.len();
            let at = |index: usize, radius: f64, of: usize, turn: f64| {
                #[expect(clippy::cast_precision_loss, reason = "a few corners")]
                let (sin, cos) = maths::sin_cos(maths::TAU * (index as f64 / of as f64) + turn.to_radians());
                [radius * cos, radius * sin]
            };
            let names = |of: usize| (0..of).map(|i| line(&format!("e{i}"))).collect::<Vec<_>>();
            let corners: Vec<_> = spokes.iter().enumerate().map(|(i, &r)| at(i, r, count, 0.0)).collect();
            let hole: Vec<_> = (0..4).map(|i| at(i, 25.0, 4, turn)).collect();
            let place = Pattern::At(vec![[n(0.0), n(0.0)]]);
            let hole = cutout("plate", Shape::Outline(outline(&hole, names(4))), place);
            let plate = base("plate", outline(&corners, names(count)));
            history(thickness, 2.0, 0.42, vec![plate, entry("hole", Feature::Cutout(hole))])
        },
    )
}

fn neighbour() -> impl Strategy<Value = Prism> {
    let unit = || prop::array::uniform3(-1.0..1.0_f64);
    (prop::array::uniform3(-160.0..160.0_f64), unit(), unit(), 1.0..30.0_f64, 1.0..60.0_f64, any::<bool>())
        .prop_map(|(at, a, b, size, height, hexagon)| {
            let scaled = |v: Vec3<f64>| v.times(1.0 / v.length());
            let n = scaled(Vec3::new(a[0], a[1], a[2] + 0.01));
            let x = scaled(n.cross(Vec3::new(b[0] + 0.01, b[1], b[2])));
            let placement = Placement { origin: Vec3::new(at[0], at[1], at[2]), x, y: n.cross(x), n };
            let of = if hexagon { 6 } else { 4 };
            let discs = (0..of).map(|i| {
                let (sin, cos) = maths::sin_cos(maths::TAU * f64::from(i) / f64::from(of));
                Disc { centre: Point2::new(size * cos, size * sin), radius: 0.0 }
            });
            Prism { placement, discs: discs.collect(), reach: [0.0, height] }
        })
}

/// Vertices and triangles of a prism over corners.
fn surface(prism: &Prism) -> (Vec<Vec3<f64>>, Vec<[usize; 3]>) {
    let count = prism.discs.len();
    let ring = |height: f64| prism.discs.iter().map(move |disc| prism.placement.lift(disc.centre, height));
    let vertices = ring(prism.reach[0]).chain(ring(prism.reach[1])).collect();
    let caps = (1..count - 1).flat_map(|i| [[0, i + 1, i], [count, count + i, count + i + 1]]);
    let sides = (0..count).flat_map(|i| {
        let next = (i + 1) % count;
        [[i, next, count + next], [i, count + next, count + i]]
    });
    (vertices, caps.chain(sides).collect())
}

fn mesh_json(vertices: &[Vec3<f64>], triangles: &[[usize; 3]]) -> String {
    let points: Vec<[f64; 3]> = vertices.iter().map(|p| [p.x, p.y, p.z]).collect();
    // Debug form of floats and integers in brackets is JSON.
    format!("{{\"vertices\": {points:?}, \"triangles\": {triangles:?}}}")
}

fn main() -> Result<(), Box<dyn Error>> {
    let mut arguments = std::env::args().skip(1);
    let (Some(folder), Some(count)) = (arguments.next(), arguments.next()) else {
        return Err("two arguments are needed: FOLDER COUNT".into());
    };
    let count: usize = count.parse()?;
    let mut runner = TestRunner::deterministic();
    let strategy = (plate(), prop::collection::vec(neighbour(), 10));
    let (mut lines, mut written, mut meeting) = (Vec::new(), 0, 0);
    while written < count {
        let (history, prisms) =
            strategy.new_tree(&mut runner).map_err(|reason| reason.to_string())?.current();
        let Ok(part) = regenerate(&history) else { continue };
        let folded = FoldFractions::all(&part.tree, 1.0);
        let (Ok(mesh), Ok(metal)) =
            (part.mesh(&folded, tolerance::CHORD_MM), Metal::new(&part.tree, &folded))
        else {
            continue;
        };
        let triangles: Vec<[usize; 3]> =
            mesh.faces.iter().map(|face| face.corners.map(|i| i as usize)).collect();
        let mut line = format!("{{\"part\": {}, \"neighbours\": [", mesh_json(&mesh.vertices, &triangles));
        for (index, prism) in prisms.iter().enumerate() {
            let pieces = [Piece::still(machine::Shape::Prism(prism.clone()))];
            let Some(found) = clearance(&metal, &Obstacle::new(&pieces)) else { continue };
            let (vertices, triangles) = surface(prism);
            let way = found.direction;
            write!(
                line,
                "{}{{\"mesh\": {}, \"distance\": {:?}, \"direction\": {:?}}}",
                if index > 0 { ", " } else { "" },
                mesh_json(&vertices, &triangles),
                found.distance,
                [way.x, way.y, way.z]
            )?;
            written += 1;
            meeting += usize::from(found.distance <= 0.0);
        }
        line.push_str("]}");
        lines.push(line);
    }
    fs::create_dir_all(&folder)?;
    fs::write(Path::new(&folder).join("pairs.json"), format!("[{}]\n", lines.join(",\n")))?;
    println!("{written} pairs, {meeting} of them meet");
    Ok(())
}
