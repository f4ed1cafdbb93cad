//! Orders and colours that keep sparse systems cheap.
//!
//! Both see only bundles: sets of nodes that stand together somewhere, such as the unknowns of one relation.
//! Invariant: the same bundles give the same result; ties go to the lower number.

use std::collections::VecDeque;

/// The nodes of each bundle, with every bundle of each node.
pub(super) struct Bundles {
    pub(super) bundles: Vec<Vec<usize>>,
    of_node: Vec<Vec<usize>>,
}

impl Bundles {
    pub(super) fn new(bundles: Vec<Vec<usize>>, nodes: usize) -> Self {
        let mut of_node = vec![Vec::new(); nodes];
        for (index, bundle) in bundles.iter().enumerate() {
            bundle.iter().for_each(|&node| of_node[node].push(index));
        }
        Self { bundles, of_node }
    }

    /// The other way round: the nodes are bundles of bundles.
    pub(super) fn turned(&self) -> Self {
        Self { bundles: self.of_node.clone(), of_node: self.bundles.clone() }
    }

    /// The place of each node in an order in which nodes of one bundle are near each other: breadth first
    /// from a node at the rim, neighbours with few bundles first, and then reversed (Cuthill and McKee).
    pub(super) fn narrow_order(&self) -> Vec<usize> {
        let nodes = self.of_node.len();
        let mut order = Vec::with_capacity(nodes);
        let mut placed = vec![false; nodes];
        for start in 0..nodes {
            if placed[start] {
                continue;
            }
            // The last one met on a walk through the component lies at its rim.
            let mut met = placed.clone();
            let rim = *self.walk(start, &mut met).last().expect("a walk has its start");
            order.extend(self.walk(rim, &mut placed));
        }
        let mut place = vec![0; nodes];
        for (at, &node) in order.iter().rev().enumerate() {
            place[node] = at;
        }
        place
    }

    fn walk(&self, start: usize, met: &mut [bool]) -> Vec<usize> {
        let mut seen = vec![false; self.bundles.len()];
        let mut order = Vec::new();
        let mut queue = VecDeque::from([start]);
        met[start] = true;
        while let Some(node) = queue.pop_front() {
            order.push(node);
            let mut next = Vec::new();
            for &bundle in &self.of_node[node] {
                if std::mem::replace(&mut seen[bundle], true) {
                    continue;
                }
                next.extend(
                    self.bundles[bundle].iter().copied().filter(|&n| !std::mem::replace(&mut met[n], true)),
                );
            }
            next.sort_by_key(|&node| (self.of_node[node].len(), node));
            queue.extend(next);
        }
        order
    }

    /// A colour for each node, from 0, so that the nodes of a bundle have different ones: each node takes the
    /// lowest that is left (Curtis, Powell and Reid).
    pub(super) fn colours(&self) -> Vec<usize> {
        let mut colours = vec![usize::MAX; self.of_node.len()];
        let mut taken_for = Vec::new();
        for node in 0..colours.len() {
            for &bundle in &self.of_node[node] {
                for &other in &self.bundles[bundle] {
                    let colour = colours[other];
                    if colour != usize::MAX {
                        if colour >= taken_for.len() {
                            taken_for.resize(colour + 1, usize::MAX);
                        }
                        taken_for[colour] = node;
                    }
                }
            }
            colours[node] = taken_for.iter().position(|&taken| taken != node).unwrap_or(taken_for.len());
        }
        colours
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Neighbours on a line whose nodes are numbered without order.
    fn shuffled_line(nodes: usize) -> Bundles {
        let number = |i: usize| (i * 7) % nodes;
        Bundles::new((1..nodes).map(|i| vec![number(i - 1), number(i)]).collect(), nodes)
    }

    #[test]
    fn line_is_put_in_its_order() {
        let line = shuffled_line(100);
        let place = line.narrow_order();
        for bundle in &line.bundles {
            assert_eq!(place[bundle[0]].abs_diff(place[bundle[1]]), 1);
        }
    }

    #[test]
    fn every_node_has_one_place_and_parts_may_be_apart() {
        let parts = Bundles::new(vec![vec![4, 1], vec![0, 3]], 6);
        let mut place = parts.narrow_order();
        place.sort_unstable();
        assert_eq!(place, [0, 1, 2, 3, 4, 5]);
    }

    #[test]
    fn nodes_of_a_bundle_have_different_colours_and_a_line_needs_two() {
        let line = shuffled_line(100);
        let colours = line.colours();
        assert!(line.bundles.iter().all(|bundle| colours[bundle[0]] != colours[bundle[1]]));
        // Greedy colours in an order without order need one more at places.
        assert!(colours.iter().all(|&colour| colour < 3));
        let full = Bundles::new(vec![vec![0, 1, 2, 3]], 4);
        assert_eq!(full.colours(), [0, 1, 2, 3]);
    }
}
