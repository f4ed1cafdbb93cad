//! What of hand-made strands lies behind hand-made sheets. Seen from the front: x to the right, z up, y away.

use super::*;
use crate::geom::Vec3;
use crate::ident::PanelId;
use crate::solid::{Face, Mesh, Surface, Zone};

/// A sheet at `y = 0` from one corner to the other, which looks at the eye.
fn sheet(low: [f64; 2], high: [f64; 2]) -> Cover {
    let corners = [low, [high[0], low[1]], high, [low[0], high[1]]];
    let face = |corners| Face { corners, zone: Zone::Panel(PanelId::new(0)), surface: Surface::Outer };
    let vertices = corners.map(|[x, z]| Vec3::new(x, 0.0, z)).to_vec();
    Cover::new(&Mesh { vertices, faces: [[0, 1, 2], [0, 2, 3]].map(face).to_vec() }, Direction::FRONT)
}

/// A strand through points to the right, up and away.
fn through(points: &[[f64; 3]]) -> Strand {
    let veil = Veil::Others { behind: tolerance::BEHIND_MM };
    Strand { points: points.to_vec(), kind: LineKind::Sharp, faces: [0, 1], round: None, veil }
}

/// Lengths of what is seen and hidden in turn, with the kind of the first.
fn parts(strand: &Strand, cover: Cover) -> (Sight, Vec<f64>) {
    let runs = runs(std::slice::from_ref(strand), cover, 0.005);
    let lengths: Vec<f64> = runs.iter().map(|run| strand.length(run.from, run.to)).collect();
    let whole = strand.length(0.0, (strand.points.len() - 1) as f64);
    assert!((lengths.iter().sum::<f64>() - whole).abs() < 1e-9, "seen and hidden make up the whole");
    assert!(runs.windows(2).all(|pair| pair[0].sight != pair[1].sight && pair[0].to == pair[1].from));
    (runs[0].sight, lengths)
}

fn assert_parts(strand: &Strand, cover: Cover, sight: Sight, expected: &[f64]) {
    let (first, lengths) = parts(strand, cover);
    assert_eq!((first, lengths.len()), (sight, expected.len()), "{lengths:?}");
    assert!(lengths.iter().zip(expected).all(|(a, b)| (a - b).abs() < 2e-3), "{lengths:?}");
}

#[test]
fn a_sheet_hides_what_runs_behind_it_and_nothing_before_it() {
    let square = || sheet([10.0, -5.0], [30.0, 5.0]);
    let level = |y: f64| through(&[[0.0, 0.0, y], [100.0, 0.0, y]]);
    assert_parts(&level(4.0), square(), Sight::Visible, &[10.0, 20.0, 70.0]);
    assert_parts(&level(-4.0), square(), Sight::Visible, &[100.0]);
    // On the sheet itself.
    assert_parts(&level(0.0), square(), Sight::Visible, &[100.0]);
}

#[test]
fn a_line_that_pierces_a_sheet_is_hidden_from_there_on() {
    // It passes through y = 0 at x = 20 and comes out from behind at x = 30.
    let slanting = through(&[[0.0, 1.0, -10.0], [40.0, 1.0, 10.0]]);
    assert_parts(&slanting, sheet([10.0, -5.0], [30.0, 5.0]), Sight::Visible, &[20.0, 10.0, 10.0]);
}

#[test]
fn borders_and_seams_hide() {
    let border = through(&[[0.0, 5.0, 3.0], [40.0, 5.0, 3.0]]);
    assert_parts(&border, sheet([10.0, -5.0], [30.0, 5.0]), Sight::Visible, &[10.0, 20.0, 10.0]);
    // Along the seam of its two triangles, and around a corner.
    let seam = through(&[[10.0, -5.0, 3.0], [30.0, 5.0, 3.0], [30.0, 25.0, 3.0]]);
    assert_parts(&seam, sheet([10.0, -5.0], [30.0, 5.0]), Sight::Hidden, &[500.0_f64.sqrt(), 20.0]);
}

#[test]
fn specks_are_as_what_is_beside_them() {
    let level = through(&[[0.0, 0.0, 4.0], [15.0, 0.0, 4.0], [100.0, 0.0, 4.0]]);
    assert_parts(&level, sheet([10.0, -5.0], [10.015, 5.0]), Sight::Visible, &[100.0]);
    assert_parts(&level, sheet([10.0, -5.0], [99.99, 5.0]), Sight::Visible, &[10.0, 90.0]);
    assert_parts(&level, sheet([10.0, -5.0], [10.03, 5.0]), Sight::Visible, &[10.0, 0.03, 89.97]);
}

#[test]
fn of_lines_upon_each_other_the_seen_one_is_left() {
    // One behind the sheet, and a shorter one at its border before it: that one is left, and the rest of the first.
    let far = through(&[[0.0, 5.0, 3.0], [40.0, 5.0, 3.0]]);
    let near = Strand { faces: [2, 3], ..through(&[[10.0, 5.0, 0.0], [25.0, 5.0, 0.0]]) };
    let strands = [far, near];
    let lines = merging::merged(&strands, runs(&strands, sheet([10.0, -5.0], [30.0, 5.0]), 0.005));
    let found: Vec<(Sight, [usize; 2], f64)> =
        lines.iter().map(|line| (line.sight, line.faces, line.path.length().round())).collect();
    let (seen, hidden) = (Sight::Visible, Sight::Hidden);
    let expected = [(seen, [0, 1], 10.0), (seen, [0, 1], 10.0), (seen, [2, 3], 15.0), (hidden, [0, 1], 5.0)];
    assert_eq!(found, expected);
}
