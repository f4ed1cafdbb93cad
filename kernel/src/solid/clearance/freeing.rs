//! The shortest way along which an obstacle that reaches into the metal comes free of it.
//!
//! Along a given direction the way is exact: the obstacle is moved to where the last piece that it meets lets go
//! of it, until it meets none. Directions that are tried are square to the faces that meet and to their edges; then,
//! as long as the way becomes shorter, those in which the faces lie that let go last. Invariant: moved by the way
//! that is given, the obstacle is free. Must not know: what is required.

use std::cell::Cell as Counter;

use crate::geom::{Apart, Box3, Branch, Convex, Vec3, separation, unit};
use crate::quantity::tolerance;

use super::cell::{Cell, Shell};
use super::metal::Metal;
use super::nearest::{forks, pair_apart};
use super::obstacle::{Body, Moved, Obstacle};

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

/// So many comparisons are spent on one neighbour, which is far more than it takes as a rule; from then on hulls
/// count as metal, and the best way that is known stands. Counted, not timed, so that the answer is always the same.
const MOST_WORK: u32 = 100_000;

/// The shortest way that is found; `inside` is a point of the metal.
pub(super) fn freeing(metal: &Metal<'_>, obstacle: &Obstacle<'_>, inside: Vec3<f64>) -> Way {
    let freeing = Freeing { metal, obstacle, inside, work: Counter::new(0) };
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
    /// How often two convex bodies were compared.
    work: Counter<u32>,
}

impl Freeing<'_, '_, '_> {
    /// Takes the way along a direction if it is shorter.
    fn shorten(&self, best: &mut Option<Way>, direction: Vec3<f64>) -> bool {
        if best.is_some() && self.work.get() >= MOST_WORK {
            return false;
        }
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
            let planes = self.let_go_last(way);
            let end = way.direction.times(way.length);
            let mut tried: Vec<Vec3<f64>> = planes.iter().map(|plane| plane.normal).collect();
            // As far towards the foot on one plane as others allow.
            for plane in &planes {
                let sideways = end - plane.normal.times(end.dot(plane.normal));
                let shares = (1..12).map(|halvings| 1.0 / f64::from(1 << halvings));
                tried.extend(shares.filter_map(|share| unit(end - sideways.times(share))));
            }
            for (index, a) in planes.iter().enumerate() {
                for b in &planes[index + 1..] {
                    // The shortest way that ends on both planes is a sum of their normals.
                    let cosine = a.normal.dot(b.normal);
                    let (p, q) = (a.off - cosine * b.off, b.off - cosine * a.off);
                    tried.extend(unit(a.normal.times(p) + b.normal.times(q)));
                }
            }
            let shortened = tried.into_iter().filter(|&direction| self.shorten(best, direction)).count();
            if shortened == 0 {
                return;
            }
        }
    }

    /// The planes up to which ways have to lead so that the places part at which metal and obstacle parted last.
    fn let_go_last(&self, way: Way) -> Vec<FarEnough> {
        const MOST: usize = 10;
        let by = way.direction.times(way.length + tolerance::LIFT_MM);
        let mut found: Vec<FarEnough> = Vec::new();
        self.each_near(by, 2.0 * tolerance::LIFT_MM, &mut |cell, body| {
            if found.len() >= MOST {
                return;
            }
            let pair = [cell, body];
            let apart = pair_apart(self.metal, self.obstacle, pair, by, 2.0 * tolerance::LIFT_MM);
            if let Some(apart) = apart {
                let plane = FarEnough { normal: apart.normal, off: by.dot(apart.normal) - apart.distance };
                if found.iter().all(|known| known.normal.cross(plane.normal).length() > tolerance::PARALLEL) {
                    found.push(plane);
                }
            }
        });
        found
    }

    /// Directions that may free it.
    fn directions(&self) -> Vec<Vec3<f64>> {
        /// Pairs whose middles give directions.
        const MOST_PAIRS: usize = 4;
        let mut cells: Vec<usize> = Vec::new();
        let mut bodies: Vec<usize> = Vec::new();
        let here = Vec3::new(0.0, 0.0, 0.0);
        self.each_near(here, 0.0, &mut |cell, body| {
            if self.meets(&self.metal.cells[cell].1, body, here) {
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
            let farther = self.let_go(direction, gone, limit);
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

    /// How far the obstacle has to be moved from where it is, so that all pieces let go of it that it meets there;
    /// anything from `limit` mm on is as good as any other.
    fn let_go(&self, direction: Vec3<f64>, gone: f64, limit: f64) -> f64 {
        let by = direction.times(gone);
        let mut pairs: Vec<(f64, usize, usize)> = Vec::new();
        let mut farther = gone;
        self.each_near(by, 0.0, &mut |cell, body| {
            let shell = &self.metal.cells[cell].1;
            if farther >= limit || !self.meets(shell, body, by) {
                return;
            }
            match self.exit(shell, body, direction, farther) {
                Some(way) if shell.is_fine() => farther = way,
                Some(way) => pairs.push((way, cell, body)),
                None => {}
            }
        });
        pairs.sort_by(|a, b| b.0.total_cmp(&a.0).then((a.1, a.2).cmp(&(b.1, b.2))));
        for (way, cell, body) in pairs {
            if farther >= limit || way <= farther + tolerance::CLEARANCE_MM {
                break;
            }
            let (cell, shell) = &self.metal.cells[cell];
            if self.meets_truly(cell, shell, body, by) {
                self.exit_truly(cell, shell, body, direction, &mut farther);
            }
        }
        farther
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
                    self.exit_truly(cell, shell, body, direction, &mut farther);
                }
                (branch, other) => pending.extend(forks([m, o], [branch, other], [own, theirs])),
            }
        }
        (farther > gone).then_some(farther)
    }

    /// Whether a hull is taken for the piece that it holds: because it is as good, or because all the work that an
    /// answer may take is done. The way out is then a little too long, since hulls hold the metal.
    fn is_fine(&self, shell: &Shell) -> bool {
        shell.is_fine() || self.work.get() >= MOST_WORK
    }

    /// Whether a hull meets a body that has been moved.
    fn meets(&self, shell: &Shell, body: usize, by: Vec3<f64>) -> bool {
        self.work.set(self.work.get() + 1);
        let moved = Moved { body: &self.obstacle.bodies[body], by };
        let start = self.start(shell, body) + by;
        matches!(separation(&shell.hull, &moved, start, 0.0), Apart::Meet(_))
    }

    /// Whether a piece whose hull meets a body meets it itself.
    fn meets_truly(&self, cell: &Cell<'_>, shell: &Shell, body: usize, by: Vec3<f64>) -> bool {
        self.is_fine(shell)
            || cell.parts().iter().any(|part| {
                let shell = part.shell();
                self.meets(&shell, body, by) && self.meets_truly(part, &shell, body, by)
            })
    }

    /// Moves on to where a piece lets go of a body, if that is farther.
    fn exit_truly(
        &self,
        cell: &Cell<'_>,
        shell: &Shell,
        body: usize,
        direction: Vec3<f64>,
        farther: &mut f64,
    ) {
        let Some(way) = self.exit(shell, body, direction, *farther) else { return };
        if self.is_fine(shell) {
            *farther = way;
            return;
        }
        let mut parts: Vec<(f64, Cell<'_>, Shell)> = Vec::new();
        for part in cell.parts() {
            let shell = part.shell();
            if let Some(way) = self.exit(&shell, body, direction, *farther) {
                parts.push((way, part, shell));
            }
        }
        parts.sort_by(|a, b| b.0.total_cmp(&a.0));
        for (way, part, shell) in parts {
            if way > *farther + tolerance::CLEARANCE_MM {
                self.exit_truly(&part, &shell, body, direction, farther);
            }
        }
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
            self.work.set(self.work.get() + 1);
            match separation(&shell.hull, &moved, start, f64::INFINITY) {
                Apart::By(found) => {
                    let off = found.at_least;
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

/// A plane: ways that end on it or beyond are long enough.
#[derive(Clone, Copy)]
struct FarEnough {
    normal: Vec3<f64>,
    /// How far along the normal it lies, in mm.
    off: f64,
}

/// How far a box reaches along a direction.
fn reach(of: Box3, direction: Vec3<f64>) -> f64 {
    let half = (of.high - of.low).times(0.5);
    let spread = half.x * direction.x.abs() + half.y * direction.y.abs() + half.z * direction.z.abs();
    of.middle().dot(direction) + spread
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
