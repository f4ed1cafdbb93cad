//! The shortest way along which an obstacle that reaches into the metal comes free of it.
//!
//! Along a given direction the way is exact: the obstacle is moved to where the last piece that it meets lets go
//! of it, until it meets none. Directions that are tried are square to the faces that meet and to their edges, and
//! then turned as long as the way becomes shorter. Invariant: moved by the way that is given, the obstacle is free.
//! Must not know: what is required.

use crate::geom::{Apart, Box3, Branch, Convex, Vec3, separation};
use crate::quantity::{maths, tolerance};

use super::cell::{Cell, Shell};
use super::metal::Metal;
use super::obstacle::{Moved, Obstacle, unit};

/// A way that frees an obstacle.
#[derive(Clone, Copy, Debug)]
pub(super) struct Way {
    /// Unit vector.
    pub(super) direction: Vec3<f64>,
    /// Length in mm.
    pub(super) length: f64,
}

/// No more directions are tried at first: hundreds of triangles that meet round faces have as many.
const MOST_DIRECTIONS: usize = 256;

/// The shortest way that is found; `inside` is a point of the metal.
pub(super) fn freeing(metal: &Metal<'_>, obstacle: &Obstacle<'_>, inside: Vec3<f64>) -> Option<Way> {
    let freeing = Freeing { metal, obstacle, inside };
    let mut best: Option<Way> = None;
    for direction in freeing.directions() {
        for direction in [direction, -direction] {
            freeing.shorten(&mut best, direction);
        }
    }
    freeing.turn(&mut best);
    best
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

    /// Turns the best direction as long as its way becomes shorter.
    fn turn(&self, best: &mut Option<Way>) {
        /// From a sixth of a turn down to where the way, which is flat at its shortest, changes no more.
        const STEPS: u32 = 14;
        let mut angle = maths::PI / 3.0;
        for _ in 0..STEPS {
            let Some(Way { direction, .. }) = *best else { return };
            let across = [Vec3::new(1.0, 0.0, 0.0), Vec3::new(0.0, 1.0, 0.0)]
                .map(|axis| direction.cross(axis))
                .into_iter()
                .fold(Vec3::new(0.0, 0.0, 0.0), |a, b| if b.length() > a.length() { b } else { a });
            let Some(u) = unit(across) else { return };
            let v = direction.cross(u);
            let (sin, cos) = maths::sin_cos(angle);
            let tried = [u, -u, v, -v].map(|side| direction.times(cos) + side.times(sin));
            let improved = tried.into_iter().filter(|&side| self.shorten(best, side)).count();
            if improved == 0 {
                angle *= 0.5;
            }
        }
    }

    /// Directions that may free it.
    fn directions(&self) -> Vec<Vec3<f64>> {
        let mut cells: Vec<usize> = Vec::new();
        let mut bodies: Vec<usize> = Vec::new();
        let here = Vec3::new(0.0, 0.0, 0.0);
        self.each_near(here, &mut |cell, body| {
            let (shell, other) = (&self.metal.cells[cell].1, &self.obstacle.bodies[body]);
            if meets(shell, &Moved { body: other, by: here }, self.start(shell, body)) {
                cells.push(cell);
                bodies.push(body);
            }
        });
        let pairs: Vec<(usize, usize)> = cells.iter().copied().zip(bodies.iter().copied()).collect();
        let mut own = Directions::default();
        let mut theirs = Directions::default();
        let mut edges = Directions::default();
        sorted(cells).iter().flat_map(|&cell| self.metal.cells[cell].0.axes()).for_each(|axis| own.add(axis));
        for body in sorted(bodies).into_iter().map(|body| &self.obstacle.bodies[body]) {
            for axis in body.axes() {
                theirs.add(axis);
                if body.has_edges() {
                    edges.add(axis);
                }
            }
        }
        let mut all = Directions::default();
        own.0.iter().chain(&theirs.0).for_each(|&axis| all.add(axis));
        for (cell, body) in pairs {
            let way = self.start(&self.metal.cells[cell].1, body);
            for axis in own.0.iter().chain(&edges.0).take(MOST_DIRECTIONS) {
                unit(way - axis.times(way.dot(*axis))).into_iter().for_each(|axis| all.add(axis));
            }
        }
        for a in &own.0 {
            edges.0.iter().filter_map(|b| unit(a.cross(*b))).for_each(|axis| all.add(axis));
        }
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
            self.each_near(by, &mut |cell, body| {
                if farther < limit {
                    let (cell, shell) = &self.metal.cells[cell];
                    self.let_go(cell, shell, body, direction, gone, &mut farther);
                }
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
        for (cell, shell) in &self.metal.cells {
            for body in 0..self.obstacle.bodies.len() {
                self.let_go_at_last(cell, shell, body, direction, &mut farther);
            }
        }
        (farther > gone).then_some(farther)
    }

    /// Moves on to where a piece lets go of a body that it meets now.
    fn let_go(
        &self,
        cell: &Cell<'_>,
        shell: &Shell,
        body: usize,
        direction: Vec3<f64>,
        gone: f64,
        farther: &mut f64,
    ) {
        let moved = Moved { body: &self.obstacle.bodies[body], by: direction.times(gone) };
        if !meets(shell, &moved, self.start(shell, body) + moved.by) {
            return;
        }
        let Some(least) = self.exit(shell, body, direction, *farther) else { return };
        if shell.is_fine() {
            *farther = least;
            return;
        }
        for part in cell.parts() {
            self.let_go(&part, &part.shell(), body, direction, gone, farther);
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
        for part in cell.parts() {
            self.let_go_at_last(&part, &part.shell(), body, direction, farther);
        }
    }

    /// How far a body has to be moved so that a hull lets go of it, if that is farther than `known` mm.
    ///
    /// The distance is a convex function of the way, so that from beyond the way out Newton's steps never pass it.
    fn exit(&self, shell: &Shell, body: usize, direction: Vec3<f64>, known: f64) -> Option<f64> {
        const MOST_STEPS: usize = 60;
        let other = &self.obstacle.bodies[body];
        let reach = shell.hull.farthest(direction).dot(direction) - other.farthest(-direction).dot(direction);
        let mut way = reach + shell.beyond;
        for _ in 0..MOST_STEPS {
            if way <= known + tolerance::CLEARANCE_MM {
                return None;
            }
            let moved = Moved { body: other, by: direction.times(way) };
            let start = self.start(shell, body) + moved.by;
            match separation(&shell.hull, &moved, start, f64::INFINITY) {
                Apart::By(found) => {
                    let off = found.distance - shell.beyond;
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

    /// Pairs of pieces and bodies whose boxes meet when the obstacle is moved.
    fn each_near(&self, by: Vec3<f64>, visit: &mut impl FnMut(usize, usize)) {
        let (Some(m), Some(o)) = (self.metal.tree.root(), self.obstacle.tree.root()) else { return };
        let mut pending = vec![[m, o]];
        while let Some([m, o]) = pending.pop() {
            let ((own, branch), (theirs, other)) = (self.metal.tree.branch(m), self.obstacle.tree.branch(o));
            if !touch(own, theirs.moved(by)) {
                continue;
            }
            match (branch, other) {
                (Branch::Leaf(cell), Branch::Leaf(body)) => visit(cell, body),
                (Branch::Fork(fork), Branch::Leaf(_)) => pending.extend(fork.map(|m| [m, o])),
                (Branch::Leaf(_), Branch::Fork(fork)) => pending.extend(fork.map(|o| [m, o])),
                (Branch::Fork(fork), Branch::Fork(_)) if own.diagonal() >= theirs.diagonal() => {
                    pending.extend(fork.map(|m| [m, o]));
                }
                (Branch::Fork(_), Branch::Fork(fork)) => pending.extend(fork.map(|o| [m, o])),
            }
        }
    }
}

fn touch(one: Box3, other: Box3) -> bool {
    one.distance_to(other) <= 0.0
}

/// Whether a piece of metal may meet a body.
fn meets(shell: &Shell, moved: &Moved<'_, '_>, start: Vec3<f64>) -> bool {
    match separation(&shell.hull, moved, start, shell.beyond) {
        Apart::Meet(_) => true,
        Apart::By(found) => found.distance <= shell.beyond,
        Apart::Beyond(_) => false,
    }
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
