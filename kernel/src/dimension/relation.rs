//! Relations of outlines, resolved: names become edges and corners, and which of two answers is meant is
//! read off the start values.
//!
//! Lines parallel as drawn (in one direction or against each other), the side on which a point lies, the
//! way an angle opens and the way circles touch are decided once, so that a residual stays one smooth
//! formula during a solve. Invariant: rows of one relation are all in mm or all in rad.

use std::collections::BTreeSet;

use crate::diag::{Diagnostic, Origin};
use crate::geom::{Flat, FlatArc, FlatCircle, FlatLine, Scalar};
use crate::history::{EdgeShape, Element, FeatureEntry, Number, Profile, ProfileRelation};
use crate::ident::FeatureId;
use crate::quantity::{maths, tolerance};
use crate::solve::relation::{
    Touch, circle_touches_line, circles_touch, equal, line_distance, off_circle, plane_turn, span, symmetric,
};

use super::DimensionFault;

/// An outline with the corners put in.
pub(super) struct Drawn<'a, S> {
    profile: &'a Profile,
    free: &'a [S],
    corners: Vec<Flat<S>>,
}

/// A line of an outline.
#[derive(Clone, Copy, Debug)]
enum LineAt {
    Edge(usize),
    XAxis,
    YAxis,
}

/// A point of an outline.
#[derive(Clone, Debug)]
enum PointAt {
    Corner(usize),
    Centre(usize),
    Place([Number; 2]),
}

/// A direction of an outline, run as drawn.
#[derive(Clone, Copy, Debug)]
enum Heading {
    Along(LineAt),
    /// As the edge leaves its start.
    Leaving(usize),
    /// As the edge reaches its end.
    Reaching(usize),
}

/// The circle of an arc; `sense` is the sign of its radius.
#[derive(Clone, Copy, Debug)]
struct CircleAt {
    arc: usize,
    sense: f64,
}

/// What is asked for, with every choice made.
#[derive(Clone, Debug)]
enum Form {
    /// The turn from one heading to another, each taken with its sign; `sense` is the sign of the turn.
    Turn { from: (Heading, f64), to: (Heading, f64), sense: f64, target: Number },
    /// The ends of an edge are level: in y for horizontal, in x for vertical.
    Level { edge: usize, horizontal: bool },
    /// Two points are one.
    Meet { a: PointAt, b: PointAt },
    /// Two points are a length apart.
    Span { a: PointAt, b: PointAt, target: Number },
    /// Each of the points is a distance from the line, on its side.
    Beside { points: Vec<PointAt>, line: LineAt, side: f64, target: Number },
    /// A point is on a circle.
    OnCircle { point: PointAt, circle: CircleAt },
    /// A circle touches a line from one side.
    TouchLine { circle: CircleAt, line: LineAt, side: f64 },
    /// Two circles touch.
    TouchCircle { a: CircleAt, b: CircleAt, touch: Touch },
    /// Two edges have one length.
    EqualLengths { a: usize, b: usize },
    /// Two circles have one radius.
    EqualRadii { a: CircleAt, b: CircleAt },
    /// A circle has a radius.
    Radius { circle: CircleAt, target: Number },
    /// Points mirror each other, and arcs rise alike.
    Mirror { pairs: Vec<[PointAt; 2]>, arcs: Option<[usize; 2]>, about: LineAt },
}

/// A relation resolved.
#[derive(Clone, Debug)]
pub(super) struct Resolved {
    form: Form,
}

/// The relations of one feature's outline.
pub(super) struct Sketched<'h> {
    pub(super) feature: FeatureId,
    pub(super) profile: &'h Profile,
    pub(super) relations: Vec<Resolved>,
}

impl<'a, S: Scalar> Drawn<'a, S> {
    pub(super) fn new(profile: &'a Profile, free: &'a [S]) -> Self {
        let corners = profile.corners.iter().map(|[x, y]| Flat::new(x.evaluate(free), y.evaluate(free)));
        Self { profile, free, corners: corners.collect() }
    }

    fn ends(&self, edge: usize) -> [Flat<S>; 2] {
        [self.corners[edge], self.corners[(edge + 1) % self.corners.len()]]
    }

    fn line(&self, line: LineAt) -> FlatLine<S> {
        let (zero, one) = (S::constant(0.0), S::constant(1.0));
        let origin = Flat::new(zero, zero);
        match line {
            LineAt::Edge(edge) => {
                let [start, end] = self.ends(edge);
                FlatLine { point: start, direction: end - start }
            }
            LineAt::XAxis => FlatLine { point: origin, direction: Flat::new(one, zero) },
            LineAt::YAxis => FlatLine { point: origin, direction: Flat::new(zero, one) },
        }
    }

    /// The edge as an arc; a straight one turns through nothing.
    fn arc(&self, edge: usize) -> FlatArc<S> {
        let [start, end] = self.ends(edge);
        self.profile.edges[edge].shape.arc(start, end, self.free)
    }

    fn circle(&self, circle: CircleAt) -> FlatCircle<S> {
        let arc = self.arc(circle.arc);
        FlatCircle { centre: arc.centre(), radius: arc.signed_radius().scaled(circle.sense) }
    }

    fn point(&self, point: &PointAt) -> Flat<S> {
        match point {
            PointAt::Corner(corner) => self.corners[*corner],
            PointAt::Centre(edge) => self.arc(*edge).centre(),
            PointAt::Place([x, y]) => Flat::new(x.evaluate(self.free), y.evaluate(self.free)),
        }
    }

    fn heading(&self, heading: Heading) -> Flat<S> {
        match heading {
            Heading::Along(line) => self.line(line).direction,
            Heading::Leaving(edge) => self.arc(edge).start_direction(),
            Heading::Reaching(edge) => self.arc(edge).end_direction(),
        }
    }
}

impl Resolved {
    /// How many equations it is.
    pub(super) fn rows(&self) -> usize {
        match &self.form {
            Form::Turn { .. }
            | Form::Level { .. }
            | Form::Span { .. }
            | Form::OnCircle { .. }
            | Form::TouchLine { .. }
            | Form::TouchCircle { .. }
            | Form::EqualLengths { .. }
            | Form::EqualRadii { .. }
            | Form::Radius { .. } => 1,
            Form::Meet { .. } => 2,
            Form::Beside { points, .. } => points.len(),
            Form::Mirror { pairs, arcs, .. } => 2 * pairs.len() + usize::from(arcs.is_some()),
        }
    }

    /// Residual below which a row counts as held, in mm or rad.
    pub(super) fn tolerance(&self) -> f64 {
        if self.is_angle() { tolerance::HELD_RAD } else { tolerance::HELD_MM }
    }

    fn is_angle(&self) -> bool {
        matches!(self.form, Form::Turn { .. })
    }

    /// What the engineer's unit is in the solver's: 1 for mm, π/180 for degrees.
    pub(super) fn unit(&self) -> f64 {
        if self.is_angle() { maths::PI / 180.0 } else { 1.0 }
    }

    /// `mm` or `deg`.
    pub(super) fn unit_word(&self) -> &'static str {
        if self.is_angle() { "deg" } else { "mm" }
    }

    /// Writes [`rows`](Self::rows) residuals in mm or rad.
    pub(super) fn residuals<S: Scalar>(&self, drawn: &Drawn<'_, S>, rows: &mut [S]) {
        let value = |number: &Number| number.evaluate(drawn.free);
        match &self.form {
            Form::Turn { from, to, sense, target } => {
                let run = |(heading, sign): (Heading, f64)| drawn.heading(heading).scaled(sign);
                let target = value(target).scaled(sense * maths::PI / 180.0);
                rows[0] = plane_turn(run(*from), run(*to), target).scaled(*sense);
            }
            Form::Level { edge, horizontal } => {
                let [start, end] = drawn.ends(*edge);
                rows[0] = if *horizontal { equal(end.y, start.y) } else { equal(end.x, start.x) };
            }
            Form::Meet { a, b } => {
                let (a, b) = (drawn.point(a), drawn.point(b));
                rows[0] = equal(a.x, b.x);
                rows[1] = equal(a.y, b.y);
            }
            Form::Span { a, b, target } => rows[0] = span(drawn.point(a), drawn.point(b), value(target)),
            Form::Beside { points, line, side, target } => {
                let (line, target) = (drawn.line(*line), value(target));
                for (point, row) in points.iter().zip(rows) {
                    let distance = line_distance(drawn.point(point), line, S::constant(0.0));
                    *row = distance.scaled(*side) - target;
                }
            }
            Form::OnCircle { point, circle } => {
                rows[0] = off_circle(drawn.point(point), drawn.circle(*circle));
            }
            Form::TouchLine { circle, line, side } => {
                rows[0] = circle_touches_line(drawn.circle(*circle), drawn.line(*line), *side);
            }
            Form::TouchCircle { a, b, touch } => {
                rows[0] = circles_touch(drawn.circle(*a), drawn.circle(*b), *touch);
            }
            Form::EqualLengths { a, b } => {
                let length = |edge: usize| {
                    let [start, end] = drawn.ends(edge);
                    (end - start).length()
                };
                rows[0] = equal(length(*a), length(*b));
            }
            Form::EqualRadii { a, b } => {
                rows[0] = equal(drawn.circle(*a).radius, drawn.circle(*b).radius);
            }
            Form::Radius { circle, target } => rows[0] = equal(drawn.circle(*circle).radius, value(target)),
            Form::Mirror { pairs, arcs, about } => {
                let mirror = drawn.line(*about);
                let (points, rise) = rows.split_at_mut(2 * pairs.len());
                for ([a, b], rows) in pairs.iter().zip(points.chunks_exact_mut(2)) {
                    rows.copy_from_slice(&symmetric(drawn.point(a), drawn.point(b), mirror));
                }
                if let (Some([a, b]), Some(row)) = (arcs, rise.first_mut()) {
                    *row = equal(drawn.arc(*a).rise(), drawn.arc(*b).rise());
                }
            }
        }
    }
}

/// Resolves every relation of a feature's outline at these start values.
pub(super) fn resolve<'h>(
    feature: FeatureId,
    entry: &'h FeatureEntry,
    start: &[f64],
) -> Result<Option<Sketched<'h>>, Vec<Diagnostic>> {
    let Some(profile) = entry.feature.profile().filter(|profile| !profile.relations.is_empty()) else {
        return Ok(None);
    };
    let origin = |span| Origin { name: entry.name.clone(), span };
    let mut names = BTreeSet::new();
    if let Some(again) = profile.edges.iter().find(|edge| !names.insert(&edge.name)) {
        let fault =
            DimensionFault::OutlineEdgeTwice { outline: entry.name.clone(), edge: again.name.clone() };
        return Err(vec![fault.diagnose(origin(entry.span))]);
    }
    let drawn = Drawn::new(profile, start);
    let mut relations = Vec::with_capacity(profile.relations.len());
    let mut faults = Vec::new();
    for asked in &profile.relations {
        let resolver = Resolver { outline: &entry.name, relation: &asked.relation, drawn: &drawn };
        match resolver.form().and_then(|form| resolver.measurable(Resolved { form })) {
            Ok(relation) => relations.push(relation),
            Err(fault) => faults.push(fault.diagnose(origin(asked.span.or(entry.span)))),
        }
    }
    if faults.is_empty() { Ok(Some(Sketched { feature, profile, relations })) } else { Err(faults) }
}

/// An element by what it is.
enum Kind {
    Point(PointAt),
    Line(LineAt),
    Arc(CircleAt),
}

/// One relation on the way to its form.
struct Resolver<'a> {
    outline: &'a str,
    relation: &'a ProfileRelation,
    drawn: &'a Drawn<'a, f64>,
}

impl Resolver<'_> {
    fn misfit(&self) -> DimensionFault {
        DimensionFault::RelationMisfit {
            outline: self.outline.to_owned(),
            relation: self.relation.to_string(),
            takes: self.relation.takes(),
        }
    }

    /// The relation, if its residuals are numbers at the start.
    fn measurable(&self, relation: Resolved) -> Result<Resolved, DimensionFault> {
        let mut rows = vec![0.0; relation.rows()];
        relation.residuals(self.drawn, &mut rows);
        if rows.iter().all(|row| row.is_finite()) {
            return Ok(relation);
        }
        Err(DimensionFault::RelationNotMeasurable {
            outline: self.outline.to_owned(),
            relation: self.relation.to_string(),
        })
    }

    fn edge(&self, name: &str) -> Result<usize, DimensionFault> {
        let edges = &self.drawn.profile.edges;
        edges.iter().position(|edge| edge.name == name).ok_or_else(|| DimensionFault::NoOutlineEdge {
            outline: self.outline.to_owned(),
            edge: name.to_owned(),
            known: edges.iter().map(|edge| edge.name.clone()).collect(),
        })
    }

    /// The corner that two edges share: where the one ends and the other begins, in the order named first.
    fn shared(&self, a: usize, b: usize) -> Option<(usize, usize)> {
        let count = self.drawn.corners.len();
        [(a, b), (b, a)].into_iter().find(|(ending, starting)| (ending + 1) % count == *starting)
    }

    fn kind(&self, element: &Element) -> Result<Kind, DimensionFault> {
        match element {
            Element::Edge(name) => {
                let edge = self.edge(name)?;
                Ok(match self.drawn.profile.edges[edge].shape {
                    EdgeShape::Line => Kind::Line(LineAt::Edge(edge)),
                    EdgeShape::Arc(_) | EdgeShape::ArcThrough(_) | EdgeShape::ArcRise(_) => {
                        let sense = sign(self.drawn.arc(edge).half_turn);
                        Kind::Arc(CircleAt { arc: edge, sense })
                    }
                })
            }
            Element::Corner([a, b]) => {
                let shared = self.shared(self.edge(a)?, self.edge(b)?);
                let corner = shared.ok_or_else(|| DimensionFault::NoOutlineCorner {
                    outline: self.outline.to_owned(),
                    a: a.clone(),
                    b: b.clone(),
                })?;
                Ok(Kind::Point(PointAt::Corner(corner.1)))
            }
            Element::Centre(name) => match self.kind(&Element::Edge(name.clone()))? {
                Kind::Arc(circle) => Ok(Kind::Point(PointAt::Centre(circle.arc))),
                Kind::Line(_) | Kind::Point(_) => Err(self.misfit()),
            },
            Element::Place(place) => Ok(Kind::Point(PointAt::Place(place.clone()))),
            Element::XAxis => Ok(Kind::Line(LineAt::XAxis)),
            Element::YAxis => Ok(Kind::Line(LineAt::YAxis)),
        }
    }

    fn straight(&self, name: &str) -> Result<usize, DimensionFault> {
        match self.kind(&Element::Edge(name.to_owned()))? {
            Kind::Line(LineAt::Edge(edge)) => Ok(edge),
            Kind::Line(_) | Kind::Point(_) | Kind::Arc(_) => Err(self.misfit()),
        }
    }

    fn line(&self, element: &Element) -> Result<LineAt, DimensionFault> {
        match self.kind(element)? {
            Kind::Line(line) => Ok(line),
            Kind::Point(_) | Kind::Arc(_) => Err(self.misfit()),
        }
    }

    /// The ends of an edge; an axis has none.
    fn ends(&self, line: LineAt) -> Result<Vec<PointAt>, DimensionFault> {
        match line {
            LineAt::Edge(edge) => Ok(self.corners_of(edge).to_vec()),
            LineAt::XAxis | LineAt::YAxis => Err(self.misfit()),
        }
    }

    fn corners_of(&self, edge: usize) -> [PointAt; 2] {
        [edge, (edge + 1) % self.drawn.corners.len()].map(PointAt::Corner)
    }

    fn form(&self) -> Result<Form, DimensionFault> {
        let elements = self.relation.elements();
        if elements.iter().enumerate().any(|(i, element)| elements[..i].contains(element)) {
            return Err(DimensionFault::RelatedToItself {
                outline: self.outline.to_owned(),
                relation: self.relation.to_string(),
            });
        }
        let zero = || Number::constant(0.0);
        match self.relation {
            ProfileRelation::Parallel { a, b } => {
                let headings = [Heading::Along(self.line(a)?), Heading::Along(self.line(b)?)];
                Ok(self.aligned(headings))
            }
            ProfileRelation::Perpendicular { a, b } => {
                let [from, to] = [Heading::Along(self.line(a)?), Heading::Along(self.line(b)?)];
                Ok(self.opened((from, 1.0), (to, 1.0), Number::constant(90.0)))
            }
            ProfileRelation::Horizontal { edge } => {
                Ok(Form::Level { edge: self.straight(edge)?, horizontal: true })
            }
            ProfileRelation::Vertical { edge } => {
                Ok(Form::Level { edge: self.straight(edge)?, horizontal: false })
            }
            ProfileRelation::Tangent { a, b } => self.tangent(self.kind(a)?, self.kind(b)?),
            ProfileRelation::Equal { a, b } => {
                let kind = |name: &String| self.kind(&Element::Edge(name.clone()));
                match (kind(a)?, kind(b)?) {
                    (Kind::Line(_), Kind::Line(_)) => {
                        Ok(Form::EqualLengths { a: self.edge(a)?, b: self.edge(b)? })
                    }
                    (Kind::Arc(a), Kind::Arc(b)) => Ok(Form::EqualRadii { a, b }),
                    _ => Err(self.misfit()),
                }
            }
            ProfileRelation::Coincident { a, b } => match (self.kind(a)?, self.kind(b)?) {
                (Kind::Point(a), Kind::Point(b)) => Ok(Form::Meet { a, b }),
                (Kind::Point(point), Kind::Arc(circle)) | (Kind::Arc(circle), Kind::Point(point)) => {
                    Ok(Form::OnCircle { point, circle })
                }
                (Kind::Point(point), Kind::Line(line)) | (Kind::Line(line), Kind::Point(point)) => {
                    Ok(Form::Beside { points: vec![point], line, side: 1.0, target: zero() })
                }
                (Kind::Line(a), Kind::Line(b)) => {
                    let (line, other) = axis_first(a, b);
                    Ok(Form::Beside { points: self.ends(other)?, line, side: 1.0, target: zero() })
                }
                (Kind::Arc(_), Kind::Arc(_) | Kind::Line(_)) | (Kind::Line(_), Kind::Arc(_)) => {
                    Err(self.misfit())
                }
            },
            ProfileRelation::Symmetric { a, b, about } => {
                let about = self.line(about)?;
                let mirrored = |a: usize, b: usize| {
                    // A mirrored edge is run the other way: its start is where the first one ends.
                    let ([a0, a1], [b0, b1]) = (self.corners_of(a), self.corners_of(b));
                    vec![[a0, b1], [a1, b0]]
                };
                let (pairs, arcs) = match (self.kind(a)?, self.kind(b)?) {
                    (Kind::Point(a), Kind::Point(b)) => (vec![[a, b]], None),
                    (Kind::Line(LineAt::Edge(a)), Kind::Line(LineAt::Edge(b))) => (mirrored(a, b), None),
                    (Kind::Arc(a), Kind::Arc(b)) => (mirrored(a.arc, b.arc), Some([a.arc, b.arc])),
                    _ => return Err(self.misfit()),
                };
                Ok(Form::Mirror { pairs, arcs, about })
            }
            ProfileRelation::Distance { a, b, value } => match (self.kind(a)?, self.kind(b)?) {
                (Kind::Point(a), Kind::Point(b)) => Ok(Form::Span { a, b, target: value.clone() }),
                (Kind::Point(point), Kind::Line(line)) | (Kind::Line(line), Kind::Point(point)) => {
                    Ok(self.beside(vec![point], line, value))
                }
                (Kind::Line(a), Kind::Line(b)) => {
                    let (line, other) = axis_first(a, b);
                    Ok(self.beside(self.ends(other)?, line, value))
                }
                (Kind::Arc(_), _) | (_, Kind::Arc(_)) => Err(self.misfit()),
            },
            ProfileRelation::Length { edge, value } => {
                let [a, b] = self.corners_of(self.straight(edge)?);
                Ok(Form::Span { a, b, target: value.clone() })
            }
            ProfileRelation::Angle { a, b, value } => {
                let (a, b) = (self.line(a)?, self.line(b)?);
                let [from, to] = self.away_from_meeting(a, b);
                Ok(self.opened((Heading::Along(a), from), (Heading::Along(b), to), value.clone()))
            }
            ProfileRelation::Radius { edge, value } => match self.kind(&Element::Edge(edge.clone()))? {
                Kind::Arc(circle) => Ok(Form::Radius { circle, target: value.clone() }),
                Kind::Line(_) | Kind::Point(_) => Err(self.misfit()),
            },
        }
    }

    /// One direction, in the same or the opposite way, whichever is nearer as drawn.
    fn aligned(&self, [from, to]: [Heading; 2]) -> Form {
        let flip = sign(self.drawn.heading(from).dot(self.drawn.heading(to)));
        Form::Turn { from: (from, 1.0), to: (to, flip), sense: 1.0, target: Number::constant(0.0) }
    }

    /// An angle that opens to the side to which it opens as drawn.
    fn opened(&self, from: (Heading, f64), to: (Heading, f64), target: Number) -> Form {
        let run = |(heading, sign): (Heading, f64)| self.drawn.heading(heading).scaled(sign);
        let sense = sign(run(from).cross(run(to)));
        Form::Turn { from, to, sense, target }
    }

    fn beside(&self, points: Vec<PointAt>, line: LineAt, target: &Number) -> Form {
        let straight = self.drawn.line(line);
        let sum: f64 = points.iter().map(|point| line_distance(self.drawn.point(point), straight, 0.0)).sum();
        Form::Beside { points, line, side: sign(sum), target: target.clone() }
    }

    fn tangent(&self, a: Kind, b: Kind) -> Result<Form, DimensionFault> {
        let edge_of = |kind: &Kind| match kind {
            Kind::Line(LineAt::Edge(edge)) | Kind::Arc(CircleAt { arc: edge, .. }) => Some(*edge),
            Kind::Line(LineAt::XAxis | LineAt::YAxis) | Kind::Point(_) => None,
        };
        let shared = edge_of(&a).zip(edge_of(&b)).and_then(|(a, b)| self.shared(a, b));
        match (a, b) {
            (Kind::Arc(_), Kind::Arc(_) | Kind::Line(_)) | (Kind::Line(_), Kind::Arc(_))
                if shared.is_some() =>
            {
                let (ending, starting) = shared.unwrap_or_default();
                Ok(self.aligned([Heading::Reaching(ending), Heading::Leaving(starting)]))
            }
            (Kind::Arc(circle), Kind::Line(line)) | (Kind::Line(line), Kind::Arc(circle)) => {
                let centre = self.drawn.circle(circle).centre;
                let side = sign(line_distance(centre, self.drawn.line(line), 0.0));
                Ok(Form::TouchLine { circle, line, side })
            }
            (Kind::Arc(a), Kind::Arc(b)) => {
                let (first, second) = (self.drawn.circle(a), self.drawn.circle(b));
                let off = |touch| circles_touch(first, second, touch).abs();
                let within = if first.radius >= second.radius { Touch::Within } else { Touch::Around };
                let touch = if off(within) < off(Touch::Outside) { within } else { Touch::Outside };
                Ok(Form::TouchCircle { a, b, touch })
            }
            (Kind::Point(_), _) | (_, Kind::Point(_)) | (Kind::Line(_), Kind::Line(_)) => Err(self.misfit()),
        }
    }

    /// Signs that make two lines run away from where they meet, towards the middles of their edges; an axis
    /// runs as it runs. Lines that are parallel as drawn run the same way.
    fn away_from_meeting(&self, a: LineAt, b: LineAt) -> [f64; 2] {
        if let (LineAt::Edge(ea), LineAt::Edge(eb)) = (a, b)
            && let Some((ending, _)) = self.shared(ea, eb)
        {
            return if ending == ea { [-1.0, 1.0] } else { [1.0, -1.0] };
        }
        let (first, second) = (self.drawn.line(a), self.drawn.line(b));
        let cross = first.direction.cross(second.direction);
        if cross.abs() <= tolerance::PARALLEL * first.direction.length() * second.direction.length() {
            return [1.0, sign(first.direction.dot(second.direction))];
        }
        let along = (second.point - first.point).cross(second.direction) / cross;
        let meeting = first.point + first.direction.times(along);
        [(a, first), (b, second)].map(|(line, straight)| match line {
            LineAt::Edge(edge) => {
                let [start, end] = self.drawn.ends(edge);
                sign((start.middle(end) - meeting).dot(straight.direction))
            }
            LineAt::XAxis | LineAt::YAxis => 1.0,
        })
    }
}

/// The axis first, because it has no ends to measure from.
fn axis_first(a: LineAt, b: LineAt) -> (LineAt, LineAt) {
    match (a, b) {
        (LineAt::Edge(_), LineAt::XAxis | LineAt::YAxis) => (b, a),
        (LineAt::Edge(_), LineAt::Edge(_)) | (LineAt::XAxis | LineAt::YAxis, _) => (a, b),
    }
}

fn sign(value: f64) -> f64 {
    if value < 0.0 { -1.0 } else { 1.0 }
}
