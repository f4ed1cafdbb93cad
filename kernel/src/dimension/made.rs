//! The part as a shop makes it: the pose with thickness, bends and cuts a little off.
//!
//! The blank is cut to its nominal sizes and each bend is made about its line, so that all metal keeps its
//! place in the blank: a point of a panel has the coordinates it has nominally. A bend of actual turn `a'` and
//! inside radius `r'` in sheet of thickness `t'` takes up `B' = a' (r' + K t')` of the blank, half on each side
//! of its line; with its line off by `δ` it starts `δ − (B' − B)/2` and ends `δ + (B' − B)/2` farther outwards
//! than drawn. Derivation and worked figures: `docs/math/tolerance-stack.md`.
//!
//! Invariant: one formula over [`Scalar`]; without deviations it gives the pose it was made from, to the last bit.

use crate::geom::{Point2, Scalar, Vec2, Vec3};
use crate::history::EdgeName;
use crate::history::feature::HeldFace;
use crate::ident::PanelId;
use crate::quantity::maths;
use crate::stock::{LengthDatum, datum_setback_as_at, neutral_arc};

use super::line_bend::{FlatFrame, bend_k};
use super::pose::{BendPose, PanelPose, Pose, SheetNumbers};
use super::{Skeleton, Source};

/// One thing that may be off. A bend is named by the panel behind it.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Deviation {
    /// Thickness of the sheet, in mm.
    Thickness,
    /// Turn of a bend, in degrees.
    Turn(PanelId),
    /// Inside radius of a bend, in mm.
    Radius(PanelId),
    /// Place of a bend line in the blank, in mm away from the panel before it.
    BendPlace(PanelId),
    /// Place of a cut edge, by the panel that it was drawn on and its index there, in mm outwards.
    Cut(PanelId, usize),
}

/// A point of a panel's metal.
#[derive(Clone, Debug, PartialEq)]
pub struct MaterialPoint {
    /// The panel.
    pub panel: PanelId,
    /// Place in the panel's frame.
    pub at: Point2,
    /// Depth below the inner face as a share of the thickness.
    pub depth: f64,
    /// How far it moves in the panel for each mm that a drawn edge is cut farther outwards, by the edge's index.
    pub cuts: Vec<(usize, Vec2)>,
}

/// A place of the metal of any zone.
#[derive(Clone, Debug, PartialEq)]
pub enum MetalPlace {
    /// Of a flat panel.
    Flat(MaterialPoint),
    /// Of a bend.
    Rolled(RolledPoint),
    /// Of a bump.
    Pressed(PressedPoint),
}

/// A point of a bend's metal.
#[derive(Clone, Debug, PartialEq)]
pub struct RolledPoint {
    /// The panel behind the bend.
    pub panel: PanelId,
    /// Place along the bend, in mm.
    pub along: f64,
    /// Place in the flat strip, in mm from where the bend starts as drawn.
    pub across: f64,
    /// Depth below the inner face as a share of the thickness.
    pub depth: f64,
    /// How far it moves along the bend for each mm that a drawn edge of the panel is cut farther outwards.
    pub cuts: Vec<(usize, f64)>,
}

/// A point of a bump. Its raised face keeps its shape over that of the panel, and the other one is parallel to it.
#[derive(Clone, Debug, PartialEq)]
pub struct PressedPoint {
    /// The panel.
    pub panel: PanelId,
    /// Place in the panel's frame, normal last.
    pub at: Vec3<f64>,
    /// How far it moves in that frame for each mm of thickness.
    pub by_thickness: Vec3<f64>,
}

/// A skeleton with what is needed to pose it as made.
#[derive(Clone, Debug)]
pub struct Made<'a, 'h> {
    skeleton: &'a Skeleton<'h>,
    nominal: &'a Pose<f64>,
    /// Indexed by panel; none for the base.
    bends: Vec<Option<MadeBend>>,
    deviations: Vec<Deviation>,
    /// Where the cuts of each panel begin among the deviations; those of a piece are its whole panel's.
    first_cuts: Vec<usize>,
}

/// What stays as it is in a bend.
#[derive(Clone, Copy, Debug)]
struct MadeBend {
    nominal: BendPose<f64>,
    parent: PanelId,
    /// The drawn edge that is bent, and what lies on its line as made; none behind a drawn line.
    edge: Option<(usize, LengthDatum)>,
    /// `+1` up, `−1` down.
    sign: f64,
    k_factor: f64,
}

/// Numbers of a bend as made, in mm.
#[derive(Clone, Copy, Debug)]
struct MadeNumbers<S> {
    turn: S,
    inside_radius: S,
    /// How far outwards of the drawn start it starts.
    start: S,
    /// How far beyond the drawn end it ends.
    end: S,
    /// How far outwards of the drawn edge the line lies that the edge was drawn for.
    edge: S,
}

/// Values of the deviations, by name.
#[derive(Clone, Copy)]
pub(super) struct Off<'a, S> {
    values: &'a [S],
    first_cuts: &'a [usize],
}

impl<S: Scalar> Off<'_, S> {
    fn thickness(self) -> S {
        self.values[0]
    }

    /// Turn in degrees, inside radius and place of a bend.
    fn bend(self, panel: PanelId) -> [S; 3] {
        let first = first_of_bend(panel);
        [0, 1, 2].map(|i| self.values[first + i])
    }

    /// How far outwards a drawn edge is cut.
    pub(super) fn cut(self, panel: PanelId, edge: usize) -> S {
        self.values[self.first_cuts[panel.index()] + edge]
    }
}

/// Where the deviations of the bend before a panel begin: after the thickness, three for each panel but the base.
fn first_of_bend(panel: PanelId) -> usize {
    1 + 3 * (panel.index() - 1)
}

impl<'a, 'h> Made<'a, 'h> {
    /// What may be off in this pose of a skeleton.
    #[must_use]
    pub fn new(skeleton: &'a Skeleton<'h>, nominal: &'a Pose<f64>, sheet: SheetNumbers<'_>) -> Self {
        let ids = || (0..skeleton.panels().len()).map(PanelId::new);
        let mut deviations = vec![Deviation::Thickness];
        for panel in ids().skip(1) {
            deviations.extend([
                Deviation::Turn(panel),
                Deviation::Radius(panel),
                Deviation::BendPlace(panel),
            ]);
        }
        let mut first_cuts: Vec<usize> = Vec::new();
        for panel in ids() {
            let root = skeleton.root(panel);
            if root == panel {
                first_cuts.push(deviations.len());
                let edges = nominal.panel(panel).edge_order.len();
                deviations.extend((0..edges).map(|edge| Deviation::Cut(panel, edge)));
            } else {
                first_cuts.push(first_cuts[root.index()]);
            }
        }
        let bends = ids().map(|panel| MadeBend::of(skeleton, nominal, sheet, panel)).collect();
        Self { skeleton, nominal, bends, deviations, first_cuts }
    }

    /// Everything that may be off, in the order in which values are given.
    #[must_use]
    pub fn deviations(&self) -> &[Deviation] {
        &self.deviations
    }

    /// Thickness as drawn, in mm.
    #[must_use]
    pub fn nominal_thickness(&self) -> f64 {
        self.nominal.thickness
    }

    /// Inside radius in mm of the bend before a panel, as asked for; zero for the base.
    pub(super) fn inside_radius(&self, panel: PanelId) -> f64 {
        self.bends[panel.index()].map_or(0.0, |bend| bend.nominal.inside_radius)
    }

    /// The words for a deviation, for example `turn of bend `wall.left``.
    #[must_use]
    pub fn name(&self, deviation: Deviation) -> String {
        let panel = |panel: PanelId| &self.skeleton.panels()[panel.index()];
        match deviation {
            Deviation::Thickness => "thickness".to_owned(),
            Deviation::Turn(p) => format!("turn of bend `{}`", panel(p).name),
            Deviation::Radius(p) => format!("inside radius of bend `{}`", panel(p).name),
            Deviation::BendPlace(p) => format!("place of bend `{}`", panel(p).name),
            Deviation::Cut(p, edge) => {
                let name: EdgeName = panel(p).name.edge(panel(p).edge_roles()[edge]);
                format!("cut of `{name}`")
            }
        }
    }

    pub(super) fn off<'v, S: Scalar>(&'v self, values: &'v [S]) -> Off<'v, S> {
        Off { values, first_cuts: &self.first_cuts }
    }

    /// The pose with these deviations, one value for each of [`Made::deviations`].
    ///
    /// # Panics
    /// If there are fewer values than deviations.
    pub fn pose<S: Scalar>(&self, values: &[S]) -> Pose<S> {
        let off = self.off(values);
        let thickness = S::constant(self.nominal.thickness) + off.thickness();
        let ids = || (0..self.bends.len()).map(PanelId::new);
        let numbers: Vec<Option<MadeNumbers<S>>> = ids()
            .map(|panel| {
                let bend = self.bends[panel.index()]?;
                Some(bend.numbers(off.bend(panel), self.nominal.thickness, thickness))
            })
            .collect();
        let mut panels: Vec<PanelPose<S>> = Vec::with_capacity(self.bends.len());
        for (panel, nominal) in ids().zip(&self.nominal.panels) {
            let mut made = nominal.lifted();
            if let (Some(bend), Some(numbers)) = (self.bends[panel.index()], numbers[panel.index()]) {
                let parent = panels[bend.parent.index()].placement;
                let pose = bend.pose(numbers);
                made.placement = pose.child_frame(&parent, bend.sign, thickness);
                made.placement.origin = made.placement.origin - made.placement.y.times(numbers.end);
                made.bend = Some(pose);
            }
            let hangs = matches!(self.skeleton.panels()[panel.index()].source, Source::Flange { .. });
            made.edges_made = (0..nominal.edge_order.len())
                .map(|edge| match numbers[panel.index()] {
                    Some(own) if hangs && edge == 0 => -own.end,
                    Some(_) | None => {
                        self.bent_at(panel, edge, &numbers).unwrap_or_else(|| off.cut(panel, edge))
                    }
                })
                .collect();
            panels.push(made);
        }
        Pose { panels, thickness }
    }

    /// How far outwards of a drawn edge its line lies as made, if a flange stands on it.
    fn bent_at<S: Scalar>(
        &self,
        parent: PanelId,
        edge: usize,
        numbers: &[Option<MadeNumbers<S>>],
    ) -> Option<S> {
        let child = self.bends.iter().position(|bend| {
            bend.is_some_and(|b| b.parent == parent && b.edge.is_some_and(|(at, _)| at == edge))
        })?;
        numbers[child].map(|numbers| numbers.edge)
    }

    /// Where a point of the metal lies in a pose as made with these deviations.
    pub fn point<S: Scalar>(&self, pose: &Pose<S>, values: &[S], point: &MaterialPoint) -> Vec3<S> {
        let off = self.off(values);
        let mut at = [S::constant(point.at.x), S::constant(point.at.y)];
        for &(edge, way) in &point.cuts {
            let cut = off.cut(point.panel, edge);
            at = [at[0] + cut.scaled(way.x), at[1] + cut.scaled(way.y)];
        }
        let depth = pose.thickness.scaled(-point.depth);
        pose.panel(point.panel).placement.point(at[0], at[1], depth)
    }

    /// Where a place of the metal lies in a pose as made with these deviations.
    ///
    /// # Panics
    /// If a rolled point is said to lie before a panel that has no bend.
    pub fn place<S: Scalar>(&self, pose: &Pose<S>, values: &[S], place: &MetalPlace) -> Vec3<S> {
        match place {
            MetalPlace::Flat(point) => self.point(pose, values, point),
            MetalPlace::Rolled(point) => self.rolled(pose, values, point),
            MetalPlace::Pressed(PressedPoint { panel, at, by_thickness }) => {
                let thicker = self.off(values).thickness();
                let [x, y, n] = [(at.x, by_thickness.x), (at.y, by_thickness.y), (at.z, by_thickness.z)]
                    .map(|(at, by)| S::constant(at) + thicker.scaled(by));
                pose.panel(*panel).placement.point(x, y, n)
            }
        }
    }

    /// The strip rolls up with its neutral fibre from where it starts as made.
    fn rolled<S: Scalar>(&self, pose: &Pose<S>, values: &[S], point: &RolledPoint) -> Vec3<S> {
        let off = self.off(values);
        let (bend, made) = self.bends[point.panel.index()]
            .zip(pose.panel(point.panel).bend.as_ref())
            .expect("metal is rolled only before a panel that is bent");
        let numbers = bend.numbers(off.bend(point.panel), self.nominal.thickness, pose.thickness);
        let neutral = made.inside_radius + pose.thickness.scaled(bend.k_factor);
        let angle = (S::constant(point.across) - numbers.start) / neutral;
        let thick = |share: f64| pose.thickness.scaled(share);
        let inner = made.inside_radius + thick(if bend.sign > 0.0 { 0.0 } else { 1.0 });
        let radius = inner + thick(bend.sign * point.depth);
        let along = point.cuts.iter().fold(S::constant(point.along), |along, &(edge, by)| {
            along + off.cut(point.panel, edge).scaled(by)
        });
        let (sin, cos) = angle.sin_cos();
        let parent = pose.panel(bend.parent).placement;
        let out = radius * sin;
        let [x, y] = [0, 1].map(|i| made.origin[i] + made.along[i] * along + made.outward[i] * out);
        parent.point(x, y, (inner - radius * cos).scaled(bend.sign))
    }
}

impl MadeBend {
    fn of(
        skeleton: &Skeleton<'_>,
        pose: &Pose<f64>,
        sheet: SheetNumbers<'_>,
        panel: PanelId,
    ) -> Option<Self> {
        let nominal = pose.panel(panel).bend?;
        let (parent, side, edge, hem) = match skeleton.panels()[panel.index()].source {
            Source::Base(_) => return None,
            Source::Flange { flange, parent, edge, hem } => {
                let datum = match flange.holds {
                    HeldFace::Outer => LengthDatum::Outside,
                    HeldFace::Inner => LengthDatum::Inside,
                    HeldFace::BendStart => LengthDatum::Tangent,
                };
                (parent, flange.side, Some((edge, datum)), hem)
            }
            Source::Piece { parent, side, .. } => (parent, side, None, None),
        };
        let k_factor = bend_k(nominal.turn, nominal.inside_radius, hem, sheet);
        Some(Self { nominal, parent, edge, sign: side.sign(), k_factor })
    }

    fn numbers<S: Scalar>(
        &self,
        [turn, radius, place]: [S; 3],
        nominal_thickness: f64,
        thickness: S,
    ) -> MadeNumbers<S> {
        let nominal = &self.nominal;
        let turn = S::constant(nominal.turn) + turn.scaled(maths::PI / 180.0);
        let inside_radius = S::constant(nominal.inside_radius) + radius;
        let taken = neutral_arc(turn, inside_radius, S::constant(self.k_factor), thickness);
        let drawn = neutral_arc(nominal.turn, nominal.inside_radius, self.k_factor, nominal_thickness);
        let grown = (taken - S::constant(drawn)).scaled(0.5);
        let start = place - grown;
        let edge = match self.edge {
            None => start,
            Some((_, datum)) => {
                let setback = datum_setback_as_at(nominal.turn, datum, turn, inside_radius, thickness);
                start + setback - S::constant(nominal.setback)
            }
        };
        MadeNumbers { turn, inside_radius, start, end: place + grown, edge }
    }

    fn pose<S: Scalar>(&self, numbers: MadeNumbers<S>) -> BendPose<S> {
        let lifted = |[x, y]: [f64; 2]| [S::constant(x), S::constant(y)];
        let nominal = &self.nominal;
        let ([x, y], outward) = (lifted(nominal.origin), lifted(nominal.outward));
        BendPose {
            turn: numbers.turn,
            inside_radius: numbers.inside_radius,
            length: S::constant(nominal.length),
            flat: S::constant(nominal.flat),
            setback: S::constant(nominal.setback),
            edge_length: S::constant(nominal.edge_length),
            origin: [x + outward[0] * numbers.start, y + outward[1] * numbers.start],
            along: lifted(nominal.along),
            outward,
        }
    }
}

impl PanelPose<f64> {
    /// The same over another scalar, without its lines and bend.
    fn lifted<S: Scalar>(&self) -> PanelPose<S> {
        let point = |[x, y]: [f64; 2]| [S::constant(x), S::constant(y)];
        let vector = |v: Vec3<f64>| Vec3::constant(v.x, v.y, v.z);
        let frame = &self.placement;
        PanelPose {
            placement: crate::geom::Placement {
                origin: vector(frame.origin),
                x: vector(frame.x),
                y: vector(frame.y),
                n: vector(frame.n),
            },
            corners: self.corners.iter().map(|&c| point(c)).collect(),
            edge_order: self.edge_order.clone(),
            drawn_shift: S::constant(self.drawn_shift),
            bend: None,
            anchor: point(self.anchor),
            lines: Vec::new(),
            corner_shifts: Vec::new(),
            in_flat: self.in_flat.lifted(),
            edges_made: Vec::new(),
        }
    }
}

impl FlatFrame<f64> {
    pub(super) fn lifted<S: Scalar>(&self) -> FlatFrame<S> {
        let point = |[x, y]: [f64; 2]| [S::constant(x), S::constant(y)];
        FlatFrame { origin: point(self.origin), x: point(self.x) }
    }
}
