//! From a drawn outline to a sketch: coordinates that the solver may move.
//!
//! Invariant: the sketch at the start values of its free numbers is the outline as drawn; a coordinate that
//! holds a free number already stays as it is.

use std::collections::BTreeSet;

use thiserror::Error;

use super::{EdgeShape, FreeNumber, Number, Profile};
use crate::diag::Span;
use crate::geom::{Flat, FlatArc};
use crate::ident::VarId;
use crate::quantity::tolerance;

/// Why an outline cannot become a sketch.
#[derive(Clone, Debug, PartialEq, Eq, Error)]
pub enum SketchFault {
    /// An arc whose radius is too small for its ends, or whose three points lie on one line.
    #[error("arc `{edge}` cannot be drawn: its ends are more than a diameter apart, or it is straight")]
    NoSuchArc {
        /// The edge.
        edge: String,
    },
    /// Two edges of one name: the corners beside them could not be told apart.
    #[error("two edges of the outline are called `{edge}`")]
    EdgeTwice {
        /// Their name.
        edge: String,
    },
}

impl Profile {
    /// The outline with every constant coordinate of a corner made a free number, and every arc of constant
    /// numbers drawn by a free rise; the new free numbers are added to `free` and start as drawn.
    ///
    /// They are named after the sketch, the edge that ends at a corner and the one that starts there:
    /// `door.left+front.x`, and `door.nose.rise` for an arc.
    ///
    /// # Errors
    /// [`SketchFault`] if two edges have one name, or an arc cannot be drawn at the start values.
    ///
    /// # Panics
    /// If the outline has not as many corners as edges, or uses a free number that is not in `free`.
    pub fn sketched(
        &self,
        sketch: &str,
        span: Option<Span>,
        free: &mut Vec<FreeNumber>,
    ) -> Result<Self, SketchFault> {
        let mut names = BTreeSet::new();
        if let Some(again) = self.edges.iter().find(|edge| !names.insert(&edge.name)) {
            return Err(SketchFault::EdgeTwice { edge: again.name.clone() });
        }
        let start: Vec<f64> = free.iter().map(|number| number.start).collect();
        let at = |[x, y]: &[Number; 2]| Flat::new(x.evaluate(&start), y.evaluate(&start));
        let count = self.corners.len();
        let mut loosen = |number: &Number, what: String| match number.as_constant() {
            None => number.clone(),
            Some(start) => {
                let sketch = Some(sketch.to_owned());
                free.push(FreeNumber { sketch, span, ..FreeNumber::new(&what, start) });
                Number::free(VarId::new(free.len() - 1))
            }
        };
        let mut made = self.clone();
        for (index, corner) in made.corners.iter_mut().enumerate() {
            let (ending, starting) = (&self.edges[(index + count - 1) % count], &self.edges[index]);
            for (number, axis) in corner.iter_mut().zip(["x", "y"]) {
                *number = loosen(number, format!("{sketch}.{}+{}.{axis}", ending.name, starting.name));
            }
        }
        for (index, edge) in made.edges.iter_mut().enumerate() {
            let (from, to) = (at(&self.corners[index]), at(&self.corners[(index + 1) % count]));
            let arc = match &edge.shape {
                EdgeShape::Arc(radius) => {
                    radius.as_constant().map(|radius| FlatArc::of_radius(from, to, radius))
                }
                EdgeShape::ArcThrough(via) if via.iter().all(|n| n.as_constant().is_some()) => {
                    Some(FlatArc::through(from, at(via), to))
                }
                EdgeShape::ArcRise(rise) => rise.as_constant().map(|rise| FlatArc::of_rise(from, to, rise)),
                EdgeShape::Line | EdgeShape::ArcThrough(_) => None,
            };
            if let Some(arc) = arc {
                let rise = arc.rise();
                if !rise.is_finite() || rise.abs() <= tolerance::SNAP_MM {
                    return Err(SketchFault::NoSuchArc { edge: edge.name.clone() });
                }
                let name = format!("{sketch}.{}.rise", edge.name);
                edge.shape = EdgeShape::ArcRise(loosen(&Number::constant(rise), name));
            }
        }
        Ok(made)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::history::ProfileEdge;

    fn n(value: f64) -> Number {
        Number::constant(value)
    }

    fn edge(name: &str, shape: EdgeShape) -> ProfileEdge {
        ProfileEdge { name: name.to_owned(), shape }
    }

    #[test]
    fn a_sketch_starts_as_drawn_and_keeps_free_numbers_that_were_there() {
        let width = Number::free(VarId::new(0));
        let drawn = Profile::new(
            vec![[n(0.0), n(0.0)], [width.clone(), n(0.0)], [width.clone(), n(30.0)]],
            vec![
                edge("front", EdgeShape::Line),
                edge("nose", EdgeShape::Arc(n(15.0))),
                edge("back", EdgeShape::ArcThrough([n(20.0), n(35.0)])),
            ],
        );
        let mut free = vec![FreeNumber::new("width", 40.0)];
        let sketch = drawn.sketched("door", None, &mut free).unwrap();
        let names: Vec<&str> = free.iter().map(|f| f.name.as_str()).collect();
        assert_eq!(
            names,
            [
                "width",
                "door.back+front.x",
                "door.back+front.y",
                "door.front+nose.y",
                "door.nose+back.y",
                "door.nose.rise",
                "door.back.rise"
            ]
        );
        assert!(free[1..].iter().all(|f| f.sketch.as_deref() == Some("door")));
        let start: Vec<f64> = free.iter().map(|f| f.start).collect();
        for (made, corner) in sketch.corners.iter().zip(&drawn.corners) {
            assert_eq!(
                made.each_ref().map(|n| n.evaluate(&start)),
                corner.each_ref().map(|n| n.evaluate(&start))
            );
        }
        assert_eq!(sketch.corners[1][0], width);
        // A half circle stands as high as its radius.
        assert!((start[5] - 15.0).abs() < 1e-12);
    }

    #[test]
    fn arcs_that_cannot_be_drawn_are_refused() {
        for shape in [EdgeShape::Arc(n(10.0)), EdgeShape::ArcThrough([n(20.0), n(0.0)])] {
            let drawn = Profile::new(
                vec![[n(0.0), n(0.0)], [n(40.0), n(0.0)], [n(20.0), n(30.0)]],
                vec![edge("nose", shape), edge("right", EdgeShape::Line), edge("left", EdgeShape::Line)],
            );
            let refused = drawn.sketched("door", None, &mut Vec::new());
            assert_eq!(refused, Err(SketchFault::NoSuchArc { edge: "nose".into() }));
        }
    }
}
