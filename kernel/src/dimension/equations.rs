//! Dimensions that must hold and relations of outlines, as one system of equations.
//!
//! Invariant: rows are the dimensions in their order, then the relations of each outline in theirs; a one-sided
//! dimension is a residual that must not be negative.

use crate::geom::Scalar;
use crate::history::{History, Number, Target};
use crate::ident::DimensionId;
use crate::solve::{Kind, System};

use super::Skeleton;
use super::developed::BlankSize;
use super::measure::{Measure, Scene};
use super::pose::SheetNumbers;
use super::relation::{Drawn, Resolved, Sketched};

/// The dimensions of a history that must hold, followed by the relations of its outlines.
pub(super) struct Equations<'a, 'h> {
    pub(super) skeleton: &'a Skeleton<'h>,
    pub(super) sheet: SheetNumbers<'a>,
    pub(super) blank: BlankSize,
    pub(super) held: Vec<Held<'a, 'h>>,
    pub(super) sketched: Vec<Sketched<'h>>,
    /// One for each equation.
    tolerances: Vec<f64>,
    /// One for each free number.
    free: Vec<Freedom>,
}

/// One dimension that must hold.
pub(super) struct Held<'a, 'h> {
    pub(super) id: DimensionId,
    pub(super) measure: &'a Measure<'h>,
    pub(super) target: &'h Number,
    pub(super) bound: Bound,
}

/// On which sides a dimension may be off.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Bound {
    Exact,
    AtLeast,
    AtMost,
}

/// How far and how willingly a free number moves.
#[derive(Clone, Copy, Debug)]
pub(super) struct Freedom {
    pub(super) weight: f64,
    pub(super) bounds: [f64; 2],
    pub(super) pinned_by: Option<DimensionId>,
}

impl<'a, 'h> Equations<'a, 'h> {
    pub(super) fn new(
        history: &'h History,
        skeleton: &'a Skeleton<'h>,
        sheet: SheetNumbers<'a>,
        blank: BlankSize,
        measures: &'a [Measure<'h>],
        sketched: Vec<Sketched<'h>>,
    ) -> Self {
        let held: Vec<Held<'a, 'h>> = history
            .dimensions
            .iter()
            .zip(measures)
            .enumerate()
            .filter_map(|(index, (entry, measure))| {
                let (target, bound) = match &entry.target {
                    Target::Held(target) => (target, Bound::Exact),
                    Target::AtLeast(target) => (target, Bound::AtLeast),
                    Target::AtMost(target) => (target, Bound::AtMost),
                    Target::Measured => return None,
                };
                Some(Held { id: DimensionId::new(index), measure, target, bound })
            })
            .collect();
        let mut tolerances: Vec<f64> = held.iter().map(|held| held.measure.tolerance()).collect();
        for relation in sketched.iter().flat_map(|sketched| &sketched.relations) {
            tolerances.resize(tolerances.len() + relation.rows(), relation.tolerance());
        }
        let freedom = |number: &crate::history::FreeNumber| Freedom {
            weight: number.weight.unwrap_or(1.0),
            bounds: [number.min.unwrap_or(f64::NEG_INFINITY), number.max.unwrap_or(f64::INFINITY)],
            pinned_by: None,
        };
        let free = history.free_numbers.iter().map(freedom).collect();
        Self { skeleton, sheet, blank, held, sketched, tolerances, free }
    }

    /// What a measure comes to with these free numbers, in the solver's unit.
    pub(super) fn measured(&self, measure: &Measure<'_>, free: &[f64]) -> f64 {
        let pose = self.skeleton.pose(self.sheet, free);
        let only = std::iter::once(measure);
        measure.value(&Scene::new(self.skeleton, &pose, self.sheet, free, self.blank, only))
    }

    /// How far an equation of an outline is off with these free numbers, in mm or degrees.
    pub(super) fn off(&self, row: usize, free: &[f64]) -> f64 {
        let mut residuals = vec![0.0; self.relation_count()];
        self.residuals(free, &mut residuals);
        let unit =
            self.relations().find(|(_, _, relation, first)| (*first..first + relation.rows()).contains(&row));
        residuals[row] / unit.map_or(1.0, |(_, _, relation, _)| relation.unit())
    }

    /// Holds one thing more, after the dimensions.
    pub(super) fn also(&mut self, held: Held<'a, 'h>) {
        self.tolerances.insert(self.held.len(), held.measure.tolerance());
        self.held.push(held);
    }

    /// Lets a free number keep this value, because a dimension asks a panel to stay.
    pub(super) fn pin(&mut self, number: usize, value: f64, because: DimensionId) {
        self.free[number].bounds = [value, value];
        self.free[number].pinned_by = Some(because);
    }

    /// The dimension because of which a free number keeps its value.
    pub(super) fn pinned_by(&self, number: usize) -> Option<DimensionId> {
        self.free[number].pinned_by
    }

    /// Whether a free number has one value only.
    pub(super) fn is_fixed(&self, number: usize) -> bool {
        let [least, most] = self.free[number].bounds;
        least >= most
    }

    /// Every relation with the outline it is of, its place there, and the first of its equations.
    pub(super) fn relations(&self) -> impl Iterator<Item = (&Sketched<'h>, usize, &Resolved, usize)> {
        let mut row = self.held.len();
        let all = self.sketched.iter().flat_map(|sketched| {
            sketched.relations.iter().enumerate().map(move |(index, relation)| (sketched, index, relation))
        });
        all.map(move |(sketched, index, relation)| {
            let first = row;
            row += relation.rows();
            (sketched, index, relation, first)
        })
    }
}

impl Held<'_, '_> {
    /// The measure less what is asked for, in the solver's unit, for a residual of the system.
    pub(super) fn off(&self, residual: f64) -> f64 {
        match self.bound {
            Bound::Exact | Bound::AtLeast => residual,
            Bound::AtMost => -residual,
        }
    }
}

impl System for Equations<'_, '_> {
    fn variable_count(&self) -> usize {
        self.free.len()
    }

    fn relation_count(&self) -> usize {
        self.tolerances.len()
    }

    fn residuals<S: Scalar>(&self, unknowns: &[S], residuals: &mut [S]) {
        let (dimensions, mut rest) = residuals.split_at_mut(self.held.len());
        if !self.held.is_empty() {
            let pose = self.skeleton.pose(self.sheet, unknowns);
            let measures = self.held.iter().map(|held| held.measure);
            let scene = Scene::new(self.skeleton, &pose, self.sheet, unknowns, self.blank, measures);
            for (held, residual) in self.held.iter().zip(dimensions) {
                let target = held.target.evaluate(unknowns).scaled(held.measure.unit());
                let off = held.measure.residual(&scene, target);
                *residual = match held.bound {
                    Bound::Exact | Bound::AtLeast => off,
                    Bound::AtMost => -off,
                };
            }
        }
        for sketched in &self.sketched {
            let drawn = Drawn::new(sketched.profile, unknowns);
            for relation in &sketched.relations {
                let rows;
                (rows, rest) = rest.split_at_mut(relation.rows());
                relation.residuals(&drawn, rows);
            }
        }
    }

    fn tolerance(&self, relation: usize) -> f64 {
        self.tolerances[relation]
    }

    fn kind(&self, relation: usize) -> Kind {
        match self.held.get(relation).map(|held| held.bound) {
            None | Some(Bound::Exact) => Kind::Equal,
            Some(Bound::AtLeast | Bound::AtMost) => Kind::AtLeast,
        }
    }

    fn weight(&self, unknown: usize) -> f64 {
        self.free[unknown].weight
    }

    fn bounds(&self, unknown: usize) -> [f64; 2] {
        self.free[unknown].bounds
    }
}

#[cfg(test)]
mod tests {
    use serde_json::json;

    use super::*;
    use crate::dimension::measure::Resolver;
    use crate::solve::jacobian::central_difference::assert_agrees;
    use crate::stock::BendRule;

    /// A tray with walls on two sides and lips on the walls; free are length and width of its floor, turn,
    /// length and inside radius of the walls, and a place. Every kind of dimension is asked for.
    fn every_kind() -> History {
        let free = |index: u32| json!({ "constant": 0.0, "terms": [[index, 1.0]] });
        let flange = |edges: [&str; 2],
                      turn: serde_json::Value,
                      length: serde_json::Value,
                      radius: serde_json::Value| {
            json!({ "flange": {
                "edges": edges, "turn": turn, "side": "up", "length": length, "length_from": "outside",
                "holds": "outer", "left": { "inset": 0.0, "taper": 0.0 }, "right": { "inset": 0.0, "taper": 0.0 },
                "inside_radius": radius, "relief": { "round": { "width": null, "depth": null } },
                "corner_relief": null, "corner_gap": 1.0
            } })
        };
        let edges = ["front", "right", "back", "left"].map(|name| json!({ "name": name, "shape": "line" }));
        let corners = json!([[0.0, 0.0], [free(0), 0.0], [free(0), free(1)], [0.0, free(1)]]);
        let panel = |name: &str| json!({ "panel": name });
        let edge = |name: &str| json!({ "edge": name });
        let outer = |name: &str| json!({ "face": { "panel": name, "face": "outer" } });
        let point = json!({ "point": [10.0, 5.0, free(5)] });
        let axis = json!({ "axis": { "through": [3.0, 0.0, free(5)], "along": [0.0, 1.0, 0.2] } });
        let plane = json!({ "plane": { "through": [90.0, 0.0, 0.0], "normal": [1.0, 0.3, 0.0] } });
        let clear = |a: &serde_json::Value, b: &serde_json::Value| json!({ "clear": { "a": a, "b": b } });
        let walls = clear(&panel("wall.left"), &panel("wall.right"));
        let kinds = [
            json!({ "inside": { "a": "wall.left", "b": "wall.right" } }),
            json!({ "outside": { "a": "lip.left", "b": "floor" } }),
            json!({ "panel_width": { "a": "floor/front", "b": "floor/back" } }),
            json!({ "angle": { "a": "wall.left", "b": "lip.right" } }),
            walls.clone(),
            clear(&outer("lip.left"), &edge("wall.right/tip")),
            clear(&edge("lip.left/tip"), &edge("lip.right/tip")),
            clear(&edge("lip.left/tip"), &axis),
            clear(&point, &axis),
            clear(&point, &edge("wall.left/tip")),
            clear(&point, &plane),
            clear(&plane, &panel("wall.right")),
            json!({ "overall": { "a": edge("lip.left/tip"), "b": panel("floor") } }),
            json!({ "off_centre": { "a": panel("wall.left"), "b": panel("wall.right"), "about": plane } }),
            json!("blank_length"),
            json!("blank_width"),
            json!({ "difference": [walls.clone(), "blank_width"] }),
            json!({ "ratio": ["blank_length", walls] }),
        ];
        let targets = ["held", "at_least", "at_most"];
        let dimensions: Vec<_> = kinds.iter().enumerate().map(|(index, kind)| {
            json!({ "name": format!("d{index}"), "kind": kind, "target": { targets[index % 3]: 2.5 } })
        }).collect();
        let numbers = [
            ("length", 120.0),
            ("width", 80.0),
            ("turn", 80.0),
            ("wall", 40.0),
            ("radius", 2.5),
            ("place", 30.0),
        ];
        let free_numbers = numbers.map(|(name, start)| json!({ "name": name, "start": start }));
        let history = json!({
            "format": 1, "family": "tray", "title": "", "parameters": [],
            "sheet": { "material": "DC01", "thickness": { "mm": 2.0 }, "inside_radius": 2.0,
                "bend_rule": { "fixed_k": 0.44 } },
            "free_numbers": free_numbers,
            "features": [
                { "name": "floor", "feature": { "base_panel": { "outline": { "corners": corners, "edges": edges } } } },
                { "name": "wall", "feature": flange(["floor/left", "floor/right"], free(2), free(3), free(4)) },
                { "name": "lip", "feature": flange(["wall.left/tip", "wall.right/tip"], json!(75.0), json!(15.0), json!(null)) },
            ],
            "dimensions": dimensions,
        });
        serde_json::from_value(history).unwrap()
    }

    #[test]
    fn derivatives_of_every_kind_match_central_differences() {
        let history = every_kind();
        let rule = BendRule::Fixed(crate::stock::KFactor::new(0.44).unwrap());
        let sheet = SheetNumbers { thickness: 2.0, inside_radius: 2.0, bend_rule: &rule };
        let skeleton = Skeleton::new(&history, sheet).unwrap();
        let start = skeleton.start().to_vec();
        let pose = skeleton.pose(sheet, &start);
        let resolver = Resolver { skeleton: &skeleton, pose: &pose, free: &start, sheet };
        let measures: Vec<_> = history
            .dimensions
            .iter()
            .map(|entry| resolver.measure(&entry.name, &entry.kind).ok().expect("every kind can be measured"))
            .collect();
        let blank = BlankSize { beyond_corners: [0.4, -0.2] };
        let equations = Equations::new(&history, &skeleton, sheet, blank, &measures, Vec::new());
        assert_eq!(equations.relation_count(), 18);
        for unknowns in [[120.0, 80.0, 80.0, 40.0, 2.5, 30.0], [95.0, 110.0, 118.0, 33.0, 4.0, 12.0]] {
            assert_agrees(&equations, &unknowns, 1e-7);
        }
    }
}
