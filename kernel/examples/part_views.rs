//! Draws views of a part as plain SVG, to be looked at: `part_views HISTORY.json FOLDER`.
//!
//! Each view gets a file by its name. Visible lines are wide, tangent lines thin, hidden lines dashed.

#![allow(clippy::print_stdout, reason = "a program for the command line")]

use std::error::Error;
use std::fmt::Write;
use std::fs;
use std::path::Path as FilePath;

use kernel::drawing::views::{Direction, LineKind, Path, Projection, Sight, project};
use kernel::exchange;
use kernel::fold::FoldFractions;
use kernel::geom::Point2;
use kernel::quantity::tolerance;
use kernel::regenerate::regenerate;
use kernel::solid;

const VIEWS: [(&str, Direction); 4] = [
    ("front", Direction::FRONT),
    ("top", Direction::TOP),
    ("right", Direction::RIGHT),
    ("isometric", Direction::ISOMETRIC),
];

fn main() -> Result<(), Box<dyn Error>> {
    let mut arguments = std::env::args().skip(1);
    let (Some(file), Some(folder)) = (arguments.next(), arguments.next()) else {
        return Err("two arguments are needed: HISTORY.json FOLDER".into());
    };
    let history = exchange::history_json::read(&fs::read_to_string(file)?).map_err(|fault| fault.message)?;
    let part = regenerate(&history).map_err(|faults| format!("{faults:?}"))?;
    let brep = part.brep(&FoldFractions::all(&part.tree, 1.0));
    let mesh = solid::edged_mesh(&part.tree, &brep, tolerance::DRAWN_CHORD_MM)?;
    fs::create_dir_all(&folder)?;
    for (name, direction) in VIEWS {
        let projection = project(&brep, &mesh, direction);
        fs::write(FilePath::new(&folder).join(format!("{name}.svg")), svg(&projection)?)?;
        println!("{name}: {} lines", projection.lines.len());
    }
    Ok(())
}

fn svg(projection: &Projection) -> Result<String, std::fmt::Error> {
    let mut low = [f64::INFINITY; 2];
    let mut high = [f64::NEG_INFINITY; 2];
    let mut body = String::new();
    for line in projection.lines.iter().rev() {
        let (width, dash) = match (line.sight, line.kind) {
            (Sight::Visible, LineKind::Sharp | LineKind::Silhouette) => (0.7, ""),
            (Sight::Visible, LineKind::Tangent) => (0.25, ""),
            (Sight::Hidden, LineKind::Sharp | LineKind::Silhouette) => (0.35, " stroke-dasharray=\"3 1.5\""),
            (Sight::Hidden, LineKind::Tangent) => continue,
        };
        let points: Vec<Point2> = match &line.path {
            Path::Segment(ends) => ends.to_vec(),
            Path::Chords(points) => points.clone(),
            Path::Arc(arc) => {
                let at = |i: u32| arc.from + arc.sweep * f64::from(i) / 24.0;
                (0..=24).map(|i| arc.centre + kernel::geom::Vec2::unit(at(i)) * arc.radius).collect()
            }
        };
        for p in &points {
            low = [low[0].min(p.x), low[1].min(-p.y)];
            high = [high[0].max(p.x), high[1].max(-p.y)];
        }
        let places: Vec<String> = points.iter().map(|p| format!("{:.3},{:.3}", p.x, -p.y)).collect();
        let places = places.join(" ");
        writeln!(body, "<polyline points=\"{places}\" stroke-width=\"{width}\"{dash}/>")?;
    }
    let [x, y] = low.map(|c| c - 5.0);
    let [width, height] = [high[0] - low[0] + 10.0, high[1] - low[1] + 10.0];
    Ok(format!(
        "<svg xmlns=\"http://www.w3.org/2000/svg\" viewBox=\"{x} {y} {width} {height}\" width=\"{}\" height=\"{}\">\n\
         <rect x=\"{x}\" y=\"{y}\" width=\"{width}\" height=\"{height}\" fill=\"white\"/>\n\
         <g fill=\"none\" stroke=\"black\" stroke-linecap=\"round\">\n{body}</g>\n</svg>\n",
        4.0 * width,
        4.0 * height
    ))
}
