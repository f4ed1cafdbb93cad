//! A tree of boxes over things in space, for finding those near by.
//!
//! Invariant: the box of a branch holds those of all that hangs on it; the same boxes give the same tree. Must not
//! know: what lies in the boxes.

use super::{BoundingBox, Convex, Placement, Vec3};

/// A box along the axes, in mm.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Box3 {
    /// Its lowest coordinates.
    pub low: Vec3<f64>,
    /// Its highest coordinates.
    pub high: Vec3<f64>,
}

impl Box3 {
    /// The smallest box around points; none if there are none.
    #[must_use]
    pub fn of_points(points: impl IntoIterator<Item = Vec3<f64>>) -> Option<Self> {
        points.into_iter().map(|p| Self { low: p, high: p }).reduce(Self::union)
    }

    /// The box around a convex body.
    #[must_use]
    pub fn of_body(body: &impl Convex) -> Self {
        let far = |x: f64, y: f64, z: f64| body.farthest(Vec3::new(x, y, z));
        let low = Vec3::new(far(-1.0, 0.0, 0.0).x, far(0.0, -1.0, 0.0).y, far(0.0, 0.0, -1.0).z);
        let high = Vec3::new(far(1.0, 0.0, 0.0).x, far(0.0, 1.0, 0.0).y, far(0.0, 0.0, 1.0).z);
        Self { low, high }
    }

    /// The box around a rectangle of the plane that lies at a placement.
    #[must_use]
    pub fn of_flat(placement: Placement<f64>, flat: BoundingBox) -> Self {
        let [min, max] = [flat.min, flat.max];
        let corners = [[min.x, min.y], [max.x, min.y], [max.x, max.y], [min.x, max.y]];
        Self::of_points(corners.map(|[x, y]| placement.point(x, y, 0.0))).expect("a rectangle has corners")
    }

    /// The smallest box that holds both.
    #[must_use]
    pub fn union(self, other: Self) -> Self {
        let [a, b] = [self, other];
        Self {
            low: Vec3::new(a.low.x.min(b.low.x), a.low.y.min(b.low.y), a.low.z.min(b.low.z)),
            high: Vec3::new(a.high.x.max(b.high.x), a.high.y.max(b.high.y), a.high.z.max(b.high.z)),
        }
    }

    /// Grown by `margin` mm on every side.
    #[must_use]
    pub fn grown(self, margin: f64) -> Self {
        let all = Vec3::new(margin, margin, margin);
        Self { low: self.low - all, high: self.high + all }
    }

    /// The box moved by `way` mm.
    #[must_use]
    pub fn moved(self, way: Vec3<f64>) -> Self {
        Self { low: self.low + way, high: self.high + way }
    }

    /// Smallest distance to another box in mm; zero if they share a point.
    #[must_use]
    pub fn distance_to(self, other: Self) -> f64 {
        let gap = |low: f64, high: f64, from: f64, to: f64| (from - high).max(low - to).max(0.0);
        let x = gap(self.low.x, self.high.x, other.low.x, other.high.x);
        let y = gap(self.low.y, self.high.y, other.low.y, other.high.y);
        let z = gap(self.low.z, self.high.z, other.low.z, other.high.z);
        (x * x + y * y + z * z).sqrt()
    }

    /// Its middle.
    #[must_use]
    pub fn middle(self) -> Vec3<f64> {
        (self.low + self.high).times(0.5)
    }

    /// Length of its diagonal in mm.
    #[must_use]
    pub fn diagonal(self) -> f64 {
        (self.high - self.low).length()
    }
}

/// What hangs on a branch.
#[derive(Clone, Copy, Debug)]
pub enum Branch {
    /// The thing with this index.
    Leaf(usize),
    /// Two branches.
    Fork([usize; 2]),
}

/// A tree of boxes.
#[derive(Clone, Debug, Default)]
pub struct BoxTree {
    branches: Vec<(Box3, Branch)>,
}

impl BoxTree {
    /// The tree over things with these boxes; their indices are those of the list.
    #[must_use]
    pub fn new(boxes: &[Box3]) -> Self {
        let mut tree = Self { branches: Vec::with_capacity(2 * boxes.len()) };
        let mut order: Vec<usize> = (0..boxes.len()).collect();
        if !order.is_empty() {
            tree.grow(boxes, &mut order);
        }
        tree
    }

    /// The branch on which all hang; none if there is nothing.
    #[must_use]
    pub fn root(&self) -> Option<usize> {
        self.branches.len().checked_sub(1)
    }

    /// Box of a branch and what hangs on it.
    #[must_use]
    pub fn branch(&self, index: usize) -> (Box3, Branch) {
        self.branches[index]
    }

    /// Adds the branch of these things after those below it.
    fn grow(&mut self, boxes: &[Box3], things: &mut [usize]) -> usize {
        if let [only] = things {
            self.branches.push((boxes[*only], Branch::Leaf(*only)));
            return self.branches.len() - 1;
        }
        let middles = |index: usize| boxes[index].middle();
        let spread = Box3::of_points(things.iter().map(|&i| middles(i))).expect("a branch has things");
        let size = spread.high - spread.low;
        let axis = |p: Vec3<f64>| {
            if size.x >= size.y && size.x >= size.z {
                p.x
            } else if size.y >= size.z {
                p.y
            } else {
                p.z
            }
        };
        let half = things.len() / 2;
        things.select_nth_unstable_by(half, |&a, &b| {
            axis(middles(a)).total_cmp(&axis(middles(b))).then(a.cmp(&b))
        });
        let (below, above) = things.split_at_mut(half);
        let fork = [self.grow(boxes, below), self.grow(boxes, above)];
        let all = self.branches[fork[0]].0.union(self.branches[fork[1]].0);
        self.branches.push((all, Branch::Fork(fork)));
        self.branches.len() - 1
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn cube(x: f64, y: f64, z: f64) -> Box3 {
        let low = Vec3::new(x, y, z);
        Box3 { low, high: low + Vec3::new(1.0, 1.0, 1.0) }
    }

    #[test]
    fn boxes_that_miss_each_other_along_two_axes() {
        // 3 along x, 4 along z.
        assert!((cube(0.0, 0.0, 0.0).distance_to(cube(4.0, 0.5, -5.0)) - 5.0).abs() < 1e-15);
        assert_eq!(cube(0.0, 0.0, 0.0).distance_to(cube(0.5, 0.5, 1.0)), 0.0);
    }

    #[test]
    fn every_thing_hangs_on_the_tree_once_and_within_its_branches() {
        let boxes: Vec<Box3> =
            (0..37).map(|i| cube(f64::from(i * 7 % 11), f64::from(i * 5 % 13), f64::from(i % 3))).collect();
        let tree = BoxTree::new(&boxes);
        let mut seen = vec![0; boxes.len()];
        let mut pending: Vec<usize> = tree.root().into_iter().collect();
        while let Some(index) = pending.pop() {
            let (outer, branch) = tree.branch(index);
            match branch {
                Branch::Leaf(thing) => seen[thing] += 1,
                Branch::Fork(fork) => {
                    assert!(fork.iter().all(|&i| outer.union(tree.branch(i).0) == outer));
                    pending.extend(fork);
                }
            }
        }
        assert_eq!(seen, vec![1; boxes.len()]);
        assert_eq!(BoxTree::new(&[]).root(), None);
    }
}
