//! The shortest way along which an obstacle that reaches into the metal comes free of it.
//!
//! Along a given direction the way is exact: the obstacle is moved to where the last piece that it meets lets go
//! of it, until it meets none. Directions that are tried are square to the faces that meet and to their edges; then,
//! as long as the way becomes shorter, those in which the faces lie that let go last. Invariant: moved by the way
//! that is given, the obstacle is free. Must not know: what is required.

use crate::geom::{Apart, Box3, Branch, Convex, Vec3, separation};
use crate::quantity::tolerance;

use super::cell::{Cell, Shell};
use super::metal::Metal;
use super::nearest::{forks, pair_normal};
use super::obstacle::{Body, Moved, Obstacle, unit};

/// A way that frees an obstacle.
#[derive(Clone, Copy, Debug)]
pub(super) struct Way {
    /// Unit vector.
    pub(super) direction: Vec3<f64>,
    /// Length in mm.
    pub(super) length: f64,
}

/// No more directions are tried at first: triangles that meet round faces have hundreds.
const MOST_DIRECTIONS: usize = 64;

/// The shortest way that is found; `inside` is a point of the metal.
pub(super) fn freeing(metal: &Metal<'_>, obstacle: &Obstacle<'_>, inside: Vec3<f64>) -> Way {
    let freeing = Freeing { metal, obstacle, inside };
    let mut best: Option<Way> = None;
    for direction in freeing.directions() {
        for direction in [direction, -direction] {
            freeing.shorten(&mut best, direction);
        }
    }
    freeing.turn(&mut best);
    best.unwrap_or_else(|| freeing.out_of_the_box())
}

struct Freeing<'a, 'm, 'o> {
    metal: &'a Metal<'m>,
    obstacle: &'a Obstacle<'o>,
    inside: Vec3<f64>,
}

impl Freeing<'_, '_, '_> {
    /// Takes the way along a direction if it is shorter.
    fn shorten(&self, best: &mut Option<Way>, direction: Vec3<f64>) -> bool {
        let limit = best.map_or(f64::INFINITY, |way| way.length - tolerance::CLEARANCE_MM);
        let found = self.length(direction, limit);
        if let Some(length) = found {
            *best = Some(Way { direction, length });
        }
        found.is_some()
    }

    /// Upwards until the boxes around both let go: the way that is always there.
    fn out_of_the_box(&self) -> Way {
        let direction = Vec3::new(0.0, 0.0, 1.0);
        let boxes = self.metal.extent().zip(self.obstacle.extent());
        let length = boxes.map_or(0.0, |(own, theirs)| own.high.z - theirs.low.z);
        Way { direction, length }
    }

    /// Turns the best direction towards the faces that let go last, as long as its way becomes shorter.
    ///
    /// A way is the shortest one about it if none is shorter that keeps to the planes of those faces.
    fn turn(&self, best: &mut Option<Way>) {
        const MOST_TURNS: usize = 40;
        for _ in 0..MOST_TURNS {
            let Some(way) = *best else { return };
            let normals = self.let_go_last(way);
            let end = way.direction.times(way.length);
            let mut tried = normals.clone();
            // As far towards the foot on one plane as others allow.
            for normal in &normals {
                let sideways = end - normal.times(end.dot(*normal));
                let shares = (1..12).map(|halvings| 1.0 / f64::from(1 << halvings));
                tried.extend(shares.filter_map(|share| unit(end - sideways.times(share))));
            }
            for (index, a) in normals.iter().enumerate() {
                for b in &normals[index + 1..] {
                    // The shortest way that ends on both planes is a sum of their normals.
                    let (cosine, [da, db]) = (a.dot(*b), [a, b].map(|n| n.dot(end)));
                    tried.extend(unit(a.times(da - cosine * db) + b.times(db - cosine * da)));
                }
            }
            let shortened = tried.into_iter().filter(|&direction| self.shorten(best, direction)).count();
            if shortened == 0 {
                return;
            }
        }
    }

    /// Normals of the places at which metal and obstacle part when it has gone a way.
    fn let_go_last(&self, way: Way) -> Vec<Vec3<f64>> {
        const MOST: usize = 10;
        let by = way.direction.times(way.length + tolerance::LIFT_MM);
        let mut found = Directions::default();
        self.each_near(by, 2.0 * tolerance::LIFT_MM, &mut |cell, body| {
            if found.0.len() < MOST {
                let normal =
                    pair_normal(self.metal, self.obstacle, [cell, body], by, 2.0 * tolerance::LIFT_MM);
                normal.into_iter().for_each(|normal| found.add(normal));
            }
        });
        found.0
    }

    /// Directions that may free it.
    fn directions(&self) -> Vec<Vec3<f64>> {
        /// Pairs whose middles give directions.
        const MOST_PAIRS: usize = 4;
        let mut cells: Vec<usize> = Vec::new();
        let mut bodies: Vec<usize> = Vec::new();
        let here = Vec3::new(0.0, 0.0, 0.0);
        self.each_near(here, 0.0, &mut |cell, body| {
            let (shell, other) = (&self.metal.cells[cell].1, &self.obstacle.bodies[body]);
            if meets(shell, &Moved { body: other, by: here }, self.start(shell, body)) {
                cells.push(cell);
                bodies.push(body);
            }
        });
        let ways: Vec<Vec3<f64>> = cells
            .iter()
            .zip(&bodies)
            .take(MOST_PAIRS)
            .map(|(&cell, &body)| self.start(&self.metal.cells[cell].1, body))
            .collect();
        let cells = sorted(cells).into_iter().map(|cell| &self.metal.cells[cell].0);
        let bodies = sorted(bodies).into_iter().map(|body| &self.obstacle.bodies[body]);
        let mut own = Directions::default();
        cells.clone().flat_map(Cell::normals).for_each(|axis| own.add(axis));
        let mut theirs = Directions::default();
        bodies.clone().flat_map(Body::axes).for_each(|axis| theirs.add(axis));
        let mut edges = Directions::default();
        bodies.filter(|body| body.has_edges()).flat_map(Body::axes).for_each(|axis| edges.add(axis));
        let mut all = Directions::default();
        own.0.iter().chain(&theirs.0).for_each(|&axis| all.add(axis));
        for way in ways {
            for axis in own.0.iter().chain(&edges.0) {
                unit(way - axis.times(way.dot(*axis))).into_iter().for_each(|axis| all.add(axis));
            }
        }
        for a in &own.0 {
            edges.0.iter().filter_map(|b| unit(a.cross(*b))).for_each(|axis| all.add(axis));
        }
        cells.flat_map(Cell::sides).for_each(|axis| all.add(axis));
        if all.0.is_empty() {
            all.add(Vec3::new(0.0, 0.0, 1.0));
        }
        all.0
    }

    /// From the middle of a piece of metal to that of a body.
    fn start(&self, shell: &Shell, body: usize) -> Vec3<f64> {
        self.obstacle.middles[body] - shell.hull.middle()
    }

    /// How far the obstacle has to be moved along a direction to be free; none if by `limit` mm or more.
    fn length(&self, direction: Vec3<f64>, limit: f64) -> Option<f64> {
        let mut gone = 0.0;
        while gone < limit {
            let by = direction.times(gone);
            let mut farther = gone;
            let way = Along { direction, gone, limit };
            self.each_near(by, 0.0, &mut |cell, body| {
                let (cell, shell) = &self.metal.cells[cell];
                self.let_go(cell, shell, body, way, &mut farther);
            });
            if farther > gone + tolerance::CLEARANCE_MM {
                gone = farther;
            } else if self.obstacle.holds(self.inside - by) {
                gone = self.last_let_go(direction, gone)?;
            } else {
                return Some(farther).filter(|&length| length < limit);
            }
        }
        None
    }

    /// Where the very last pieces let go of each other, if that is beyond what is gone already.
    fn last_let_go(&self, direction: Vec3<f64>, gone: f64) -> Option<f64> {
        let mut farther = gone;
        let (m, o) = (self.metal.tree.root()?, self.obstacle.tree.root()?);
        let mut pending = vec![[m, o]];
        while let Some([m, o]) = pending.pop() {
            let [(own, branch), (theirs, other)] = [self.metal.tree.branch(m), self.obstacle.tree.branch(o)];
            if reach(own, direction) + reach(theirs, -direction) <= farther {
                continue;
            }
            match (branch, other) {
                (Branch::Leaf(cell), Branch::Leaf(body)) => {
                    let (cell, shell) = &self.metal.cells[cell];
                    self.let_go_at_last(cell, shell, body, direction, &mut farther);
                }
                (branch, other) => pending.extend(forks([m, o], [branch, other], [own, theirs])),
            }
        }
        (farther > gone).then_some(farther)
    }

    /// Moves on to where a piece lets go of a body that it meets now; once that is past the limit, the rest does
    /// not matter.
    fn let_go(&self, cell: &Cell<'_>, shell: &Shell, body: usize, way: Along, farther: &mut f64) {
        let moved = Moved { body: &self.obstacle.bodies[body], by: way.direction.times(way.gone) };
        if *farther >= way.limit || !meets(shell, &moved, self.start(shell, body) + moved.by) {
            return;
        }
        let Some(least) = self.exit(shell, body, way.direction, *farther) else { return };
        if shell.is_fine() {
            *farther = least;
            return;
        }
        for (part, shell) in self.farthest_first(cell, way.direction) {
            self.let_go(&part, &shell, body, way, farther);
        }
    }

    /// Moves on to where a piece lets go of a body that it meets anywhere on the way.
    fn let_go_at_last(
        &self,
        cell: &Cell<'_>,
        shell: &Shell,
        body: usize,
        direction: Vec3<f64>,
        farther: &mut f64,
    ) {
        let Some(least) = self.exit(shell, body, direction, *farther) else { return };
        if shell.is_fine() {
            *farther = least;
            return;
        }
        for (part, shell) in self.farthest_first(cell, direction) {
            self.let_go_at_last(&part, &shell, body, direction, farther);
        }
    }

    /// Parts of a piece, those that reach farthest along a direction first.
    fn farthest_first<'c>(&self, cell: &Cell<'c>, direction: Vec3<f64>) -> Vec<(Cell<'c>, Shell)> {
        let mut parts: Vec<(f64, Cell<'c>, Shell)> = cell
            .parts()
            .into_iter()
            .map(|part| {
                let shell = part.shell();
                (shell.hull.farthest(direction).dot(direction), part, shell)
            })
            .collect();
        parts.sort_by(|a, b| b.0.total_cmp(&a.0));
        parts.into_iter().map(|(_, part, shell)| (part, shell)).collect()
    }

    /// How far a body has to be moved so that a hull lets go of it, if that is farther than `known` mm.
    ///
    /// The distance is a convex function of the way, so that from beyond the way out Newton's steps never pass it.
    fn exit(&self, shell: &Shell, body: usize, direction: Vec3<f64>, known: f64) -> Option<f64> {
        const MOST_STEPS: usize = 60;
        let other = &self.obstacle.bodies[body];
        let reach = shell.hull.farthest(direction).dot(direction) - other.farthest(-direction).dot(direction);
        let mut way = reach;
        for _ in 0..MOST_STEPS {
            if way <= known + tolerance::CLEARANCE_MM {
                return None;
            }
            let moved = Moved { body: other, by: direction.times(way) };
            let start = self.start(shell, body) + moved.by;
            match separation(&shell.hull, &moved, start, f64::INFINITY) {
                Apart::By(found) => {
                    let off = found.distance;
                    let slope = found.normal.dot(direction);
                    if off <= tolerance::SEPARATION_MM {
                        break;
                    }
                    if slope <= tolerance::PARALLEL {
                        return None;
                    }
                    way -= off / slope;
                }
                Apart::Beyond(_) | Apart::Meet(_) => break,
            }
        }
        Some(way)
    }

    /// Pairs of pieces and bodies whose boxes are within `margin` mm when the obstacle is moved.
    fn each_near(&self, by: Vec3<f64>, margin: f64, visit: &mut impl FnMut(usize, usize)) {
        let (Some(m), Some(o)) = (self.metal.tree.root(), self.obstacle.tree.root()) else { return };
        let mut pending = vec![[m, o]];
        while let Some([m, o]) = pending.pop() {
            let [(own, branch), (theirs, other)] = [self.metal.tree.branch(m), self.obstacle.tree.branch(o)];
            if own.distance_to(theirs.moved(by)) > margin {
                continue;
            }
            match (branch, other) {
                (Branch::Leaf(cell), Branch::Leaf(body)) => visit(cell, body),
                (branch, other) => pending.extend(forks([m, o], [branch, other], [own, theirs])),
            }
        }
    }
}

/// A direction, how far the obstacle has gone along it, and what is too far, in mm.
#[derive(Clone, Copy)]
struct Along {
    direction: Vec3<f64>,
    gone: f64,
    limit: f64,
}

/// How far a box reaches along a direction.
fn reach(of: Box3, direction: Vec3<f64>) -> f64 {
    let half = (of.high - of.low).times(0.5);
    let spread = half.x * direction.x.abs() + half.y * direction.y.abs() + half.z * direction.z.abs();
    of.middle().dot(direction) + spread
}

/// Whether a piece of metal may meet a body.
fn meets(shell: &Shell, moved: &Moved<'_, '_>, start: Vec3<f64>) -> bool {
    matches!(separation(&shell.hull, moved, start, 0.0), Apart::Meet(_))
}

fn sorted(mut numbers: Vec<usize>) -> Vec<usize> {
    numbers.sort_unstable();
    numbers.dedup();
    numbers
}

/// Directions of which no two are parallel.
#[derive(Default)]
struct Directions(Vec<Vec3<f64>>);

impl Directions {
    fn add(&mut self, axis: Vec3<f64>) {
        let known = |other: &Vec3<f64>| other.cross(axis).length() <= tolerance::PARALLEL;
        if self.0.len() < MOST_DIRECTIONS && !self.0.iter().any(known) {
            self.0.push(axis);
        }
    }
}
