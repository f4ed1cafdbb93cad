//! The smallest distance between the metal and an obstacle that do not meet.
//!
//! Both trees are walked at once, nearest boxes first, and nothing is looked at that cannot be nearer than what is
//! known. Pieces of the metal whose hulls miss them are parted as long as the answer hangs on them. Invariant: the
//! distance is that of the true metal to [`tolerance::CLEARANCE_MM`]. Must not know: what is inside of what.

use crate::geom::{Apart, Box3, Branch, Hull, Separation, Vec3, separation};
use crate::quantity::tolerance;
use crate::solid::Zone;

use super::cell::{Cell, Shell};
use super::metal::Metal;
use super::motion::Motion;
use super::obstacle::{Moved, Obstacle};

/// How metal and obstacle lie.
#[derive(Clone, Copy, Debug)]
pub(super) enum Nearest {
    /// They are so far apart.
    Apart(Separation, Zone),
    /// They share this point, or touch.
    Meet(Vec3<f64>, Zone),
}

struct Search<'a, 'm, 'o, M> {
    metal: &'a Metal<'m>,
    obstacle: &'a Obstacle<'o>,
    /// Where the obstacle has been moved to.
    by: M,
    /// No farther than this is the nearest place.
    bound: f64,
    found: Option<Nearest>,
}

/// The nearest places; none if there is no metal or no obstacle.
pub(super) fn nearest(metal: &Metal<'_>, obstacle: &Obstacle<'_>) -> Option<Nearest> {
    nearest_moved(metal, obstacle, Vec3::new(0.0, 0.0, 0.0), f64::INFINITY)
}

/// The nearest places if the obstacle were moved, which the places of the obstacle then are; none if no place is
/// nearer than `limit` mm.
pub(super) fn nearest_moved(
    metal: &Metal<'_>,
    obstacle: &Obstacle<'_>,
    by: impl Motion,
    limit: f64,
) -> Option<Nearest> {
    let roots = [metal.tree.root()?, obstacle.tree.root()?];
    let mut search = Search { metal, obstacle, by, bound: limit, found: None };
    search.descend(roots);
    search.found
}

/// How far a moved obstacle is from a point; none if the point is in one of its bodies.
pub(super) fn nearest_to_point(
    point: Vec3<f64>,
    obstacle: &Obstacle<'_>,
    by: impl Motion,
) -> Option<Separation> {
    let here = Hull::new(&[point]);
    let at = Box3 { low: point, high: point };
    let mut pending = vec![obstacle.tree.root()?];
    let mut nearest: Option<Separation> = None;
    while let Some(index) = pending.pop() {
        let (extent, branch) = obstacle.tree.branch(index);
        let bound = nearest.map_or(f64::INFINITY, |known| known.distance);
        if by.extent(extent).distance_to(at) >= bound {
            continue;
        }
        match branch {
            Branch::Fork(fork) => {
                let off = |index: usize| by.extent(obstacle.tree.branch(index).0).distance_to(at);
                let [a, b] = fork;
                // The nearer one is looked at first.
                pending.extend(if off(a) <= off(b) { [b, a] } else { [a, b] });
            }
            Branch::Leaf(body) => {
                let moved = Moved { body: &obstacle.bodies[body], by };
                match separation(&here, &moved, by.point(obstacle.middles[body]) - point, bound) {
                    Apart::By(found) => nearest = Some(found),
                    Apart::Beyond(_) => {}
                    Apart::Meet(_) => return None,
                }
            }
        }
    }
    nearest
}

/// How far a piece of the metal and a body of the obstacle moved by a way are apart, if they are, but no farther
/// than `limit` mm.
pub(super) fn pair_apart(
    metal: &Metal<'_>,
    obstacle: &Obstacle<'_>,
    [cell, body]: [usize; 2],
    by: Vec3<f64>,
    limit: f64,
) -> Option<Separation> {
    let mut search = Search { metal, obstacle, by, bound: limit, found: None };
    let (cell, shell) = &metal.cells[cell];
    search.compare(cell, shell, body);
    match search.found? {
        Nearest::Apart(apart, _) => Some(apart),
        Nearest::Meet(..) => None,
    }
}

/// The pairs below a pair of branches of which one at least is a fork: the larger one is parted.
pub(super) fn forks([m, o]: [usize; 2], branches: [Branch; 2], [own, theirs]: [Box3; 2]) -> [[usize; 2]; 2] {
    match branches {
        [Branch::Fork(fork), Branch::Fork(_)] if own.diagonal() >= theirs.diagonal() => fork.map(|m| [m, o]),
        [_, Branch::Fork(fork)] => fork.map(|o| [m, o]),
        [Branch::Fork(fork), Branch::Leaf(_)] => fork.map(|m| [m, o]),
        [Branch::Leaf(_), Branch::Leaf(_)] => [[m, o]; 2],
    }
}

impl<M: Motion> Search<'_, '_, '_, M> {
    /// Whether nothing that far away matters: of places that are as near one is enough.
    fn is_beyond(&self, distance: f64) -> bool {
        distance + tolerance::CLEARANCE_MM >= self.bound || matches!(self.found, Some(Nearest::Meet(..)))
    }

    fn descend(&mut self, [m, o]: [usize; 2]) {
        let [(own, branch), (theirs, other)] = [self.metal.tree.branch(m), self.obstacle.tree.branch(o)];
        if let (Branch::Leaf(cell), Branch::Leaf(body)) = (branch, other) {
            let (cell, shell) = &self.metal.cells[cell];
            self.compare(cell, shell, body);
            return;
        }
        let next = forks([m, o], [branch, other], [own, theirs]);
        let gap = |[m, o]: [usize; 2]| {
            self.metal.tree.branch(m).0.distance_to(self.by.extent(self.obstacle.tree.branch(o).0))
        };
        let [mut first, mut second] = next.map(|pair| (gap(pair), pair));
        if second.0 < first.0 {
            (first, second) = (second, first);
        }
        for (gap, pair) in [first, second] {
            if !self.is_beyond(gap) {
                self.descend(pair);
            }
        }
    }

    /// Compares a piece of the metal with a body.
    fn compare(&mut self, cell: &Cell<'_>, shell: &Shell, body: usize) {
        if let Some(apart) = self.measured(shell, body) {
            self.settle(cell, shell, body, apart);
        }
    }

    /// How far a hull is from a body; none if farther than matters.
    fn measured(&self, shell: &Shell, index: usize) -> Option<Apart> {
        let body = Moved { body: &self.obstacle.bodies[index], by: self.by };
        let start = self.by.point(self.obstacle.middles[index]) - shell.hull.middle();
        let apart = separation(&shell.hull, &body, start, self.bound);
        (!matches!(apart, Apart::Beyond(_))).then_some(apart)
    }

    fn settle(&mut self, cell: &Cell<'_>, shell: &Shell, body: usize, apart: Apart) {
        let distance = match apart {
            Apart::Beyond(_) => return,
            Apart::By(found) => found.distance,
            Apart::Meet(_) => 0.0,
        };
        if shell.is_fine() {
            match apart {
                Apart::Beyond(_) => {}
                Apart::By(found) if distance < self.bound => {
                    self.bound = distance;
                    self.found = Some(Nearest::Apart(found, cell.zone));
                }
                Apart::By(_) => {}
                Apart::Meet(at) => self.found = Some(Nearest::Meet(at, cell.zone)),
            }
            return;
        }
        // Round about a round neighbour all places are as near, and only this tells that no part is nearer.
        if let Some(ring) = cell.ring() {
            let body = &self.obstacle.bodies[body];
            if self.is_beyond(body.at_least_from(&self.by.ring_before(&ring), self.bound)) {
                return;
            }
        }
        // The true piece is no farther than its excess; a part of it must not seem too far.
        self.bound = self.bound.min(distance + shell.excess + 3.0 * tolerance::CLEARANCE_MM);
        let mut parts: Vec<(f64, Cell<'_>, Shell, Apart)> = Vec::new();
        for part in cell.parts() {
            let shell = part.shell();
            if let Some(apart) = self.measured(&shell, body) {
                let distance = match apart {
                    Apart::Beyond(_) => continue,
                    Apart::By(found) => found.distance,
                    Apart::Meet(_) => 0.0,
                };
                parts.push((distance, part, shell, apart));
            }
        }
        parts.sort_by(|a, b| a.0.total_cmp(&b.0));
        for (at_least, part, shell, apart) in parts {
            if !self.is_beyond(at_least) {
                self.settle(&part, &shell, body, apart);
            }
        }
    }
}
