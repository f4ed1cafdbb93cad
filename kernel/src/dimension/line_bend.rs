//! Bends along drawn lines, in the flat drawing of the panel that they part.
//!
//! A panel keeps one flat drawing, its own frame, however many lines part it. A line with unit direction `e`
//! moves what lies on the side of `u`, the left normal of `e`. Its zone begins at `origin`, takes the developed
//! width `d` and, seen along the panel's normal, the width `s`; where the folded size is kept, all that is
//! drawn behind the line is shifted by the growth `d − s` along `u`.
//! One bend: `d = a (r + K t)`. A step of height `h` from inner face to inner face with two bends through `a`
//! and a web `w`: `h = (2 r + t)(1 − cos a) + w sin a`, `s = (2 r + t) sin a + w cos a`,
//! `d = 2 a (r + K t) + w`; where that asks for `w < 0`, `w = 0` and `cos a = 1 − h / (2 r + t)`.
//! Derivation and worked table: `docs/math/line-bends.md`.
//!
//! Invariant: on which side of a line a corner or a later line lies is decided once, by the skeleton, at the
//! start values. Must not know: regions.

use crate::geom::{Motion2, Point2, Scalar, Vec2};
use crate::history::feature::{
    DrawnLine, Feature, FoldLine, FoldSide, HemForm, KeptSize, LineMarks, Offset, StepFaces,
};
use crate::history::{Number, PanelName};
use crate::quantity::{Angle, Length, Radius, Turn, maths};
use crate::stock::{BendRule, Thickness, neutral_arc};

use super::pose::{DrawnCorner, DrawnEdge, SheetNumbers};

/// What a line bend asks for.
#[derive(Clone, Copy, Debug)]
pub enum LineSpec<'h> {
    /// One bend.
    Fold(&'h FoldLine),
    /// Two bends with a web.
    Step(&'h Offset),
}

/// A line in the flat drawing of its panel, with the numbers of its bends.
#[derive(Clone, Copy, Debug)]
pub struct LinePose<S> {
    /// A point of the drawn line.
    pub through: DrawnCorner<S>,
    /// Where the first bend starts, at the line's `x = 0`.
    pub origin: DrawnCorner<S>,
    /// Unit direction of the line.
    pub along: DrawnCorner<S>,
    /// Unit normal towards what is moved.
    pub outward: DrawnCorner<S>,
    /// Length of the drawn line in mm.
    pub length: S,
    /// Its bends.
    pub numbers: LineNumbers<S>,
}

/// Numbers of one or two bends along a line, in mm and rad.
#[derive(Clone, Copy, Debug)]
pub struct LineNumbers<S> {
    /// Turn of the first bend, and of the last one.
    pub turns: [S; 2],
    /// Inside radius of all.
    pub inside_radius: S,
    /// Developed width of the first bend, and of the last one.
    pub allowances: [S; 2],
    /// Length of the web; zero if it vanishes or if there is but one bend.
    pub web: S,
    /// Width of the zone in the flat drawing before the growth.
    pub drawn_width: S,
    /// Width of the zone in the blank.
    pub developed: S,
}

impl<S: Scalar> LineNumbers<S> {
    /// By how much what is drawn behind the line is shifted.
    pub fn growth(&self) -> S {
        self.developed - self.drawn_width
    }
}

impl<'h> LineSpec<'h> {
    /// What a feature asks for, if it is a bend along a line.
    pub(super) fn of(feature: &'h Feature) -> Option<Self> {
        if let Feature::FoldLine(fold) = feature {
            return Some(Self::Fold(fold));
        }
        if let Feature::Offset(step) = feature { Some(Self::Step(step)) } else { None }
    }

    /// The panel on which the line is drawn.
    pub(super) fn panel(self) -> &'h PanelName {
        match self {
            Self::Fold(fold) => &fold.panel,
            Self::Step(step) => &step.panel,
        }
    }

    /// The line as drawn.
    #[must_use]
    pub fn line(self) -> &'h DrawnLine {
        match self {
            Self::Fold(fold) => &fold.line,
            Self::Step(step) => &step.line,
        }
    }

    /// The side of the first bend.
    #[must_use]
    pub fn side(self) -> FoldSide {
        match self {
            Self::Fold(fold) => fold.side,
            Self::Step(step) => step.side,
        }
    }

    fn marks(self) -> LineMarks {
        match self {
            Self::Fold(fold) => fold.marks,
            Self::Step(step) => step.marks,
        }
    }

    /// Numbers of the bends; `turned` replaces the turns of the first and of the last one.
    fn numbers<S: Scalar>(
        self,
        turned: [Option<&Number>; 2],
        sheet: SheetNumbers<'_>,
        free: &[S],
    ) -> LineNumbers<S> {
        let rad = |number: &Number| number.evaluate(free).scaled(maths::PI / 180.0);
        let radius = |asked: &Option<Number>| {
            asked.as_ref().map_or(S::constant(sheet.inside_radius), |r| r.evaluate(free))
        };
        match self {
            Self::Fold(fold) => {
                let (turn, r) = (rad(turned[0].unwrap_or(&fold.turn)), radius(&fold.inside_radius));
                let developed = allowance(turn, r, None, sheet);
                LineNumbers {
                    turns: [turn, turn],
                    inside_radius: r,
                    allowances: [developed, developed],
                    web: S::constant(0.0),
                    drawn_width: developed,
                    developed,
                }
            }
            Self::Step(step) => {
                let r = radius(&step.inside_radius);
                let height = step.height.evaluate(free) + S::constant(sheet.thickness * thicknesses(step));
                let asked = rad(turned[0].unwrap_or(&step.turn));
                let fit = step_that_fits(height, asked, r, S::constant(sheet.thickness));
                let last = turned[1].map_or(fit.turn, rad);
                let allowances = [allowance(fit.turn, r, None, sheet), allowance(last, r, None, sheet)];
                let developed = allowances[0] + fit.web + allowances[1];
                LineNumbers {
                    turns: [fit.turn, last],
                    inside_radius: r,
                    allowances,
                    web: fit.web,
                    drawn_width: match step.keeps {
                        KeptSize::Folded => fit.run,
                        KeptSize::Blank => developed,
                    },
                    developed,
                }
            }
        }
    }

    /// The line in the flat drawing with these corners. `edge` is the drawn edge beside which it lies, if so;
    /// `placed` brings a drawn point into the flat drawing.
    pub(super) fn pose<S: Scalar>(
        self,
        turned: [Option<&Number>; 2],
        edge: Option<DrawnEdge<S>>,
        placed: impl Fn(DrawnCorner<S>) -> DrawnCorner<S>,
        sheet: SheetNumbers<'_>,
        free: &[S],
    ) -> LinePose<S> {
        let numbers = self.numbers(turned, sheet, free);
        let (through, along, length) = match (self.line(), edge) {
            (DrawnLine::Beside { distance, .. }, Some(edge)) => {
                // Counter-clockwise, the sheet lies to the left of the edge.
                let (length, [ex, ey]) = edge.length_and_direction();
                let distance = distance.evaluate(free);
                let through = [edge.end[0] - ey * distance, edge.end[1] + ex * distance];
                (through, [-ex, -ey], length)
            }
            (DrawnLine::Through(from, to), _) => {
                let [from, to] = [from, to].map(|[x, y]| placed([x.evaluate(free), y.evaluate(free)]));
                let (length, along) = DrawnEdge { start: from, end: to }.length_and_direction();
                (from, along, length)
            }
            (DrawnLine::Beside { .. }, None) => unreachable!("the skeleton resolves the edge of every line"),
        };
        let outward = [-along[1], along[0]];
        let before = numbers.drawn_width.scaled(match self.marks() {
            LineMarks::Start => 0.0,
            LineMarks::Middle => 0.5,
            LineMarks::End => 1.0,
        });
        let origin = [through[0] - outward[0] * before, through[1] - outward[1] * before];
        LinePose { through, origin, along, outward, length, numbers }
    }
}

/// How many thicknesses the step is higher from inner face to inner face than as measured.
pub(super) fn thicknesses(step: &Offset) -> f64 {
    match step.between {
        StepFaces::Same => 0.0,
        StepFaces::Facing => 1.0,
        StepFaces::Away => -1.0,
    }
}

/// A step that reaches its height.
#[derive(Clone, Copy, Debug)]
pub(super) struct StepFit<S> {
    pub(super) turn: S,
    pub(super) web: S,
    /// Width seen along the panel's normal.
    pub(super) run: S,
}

/// Web and width of a step of `height` from inner face to inner face at the asked-for turn, or the turn that
/// fits without a web. Heights in `(0, 2 (2 r + t))` fit for turns in `(0, π)`.
pub(super) fn step_that_fits<S: Scalar>(height: S, asked: S, radius: S, thickness: S) -> StepFit<S> {
    let both = radius.scaled(2.0) + thickness;
    let (sin, cos) = asked.sin_cos();
    let one = S::constant(1.0);
    let web = (height - both * (one - cos)) / sin;
    if web.value() >= 0.0 {
        return StepFit { turn: asked, web, run: both * sin + web * cos };
    }
    let cos = one - height / both;
    let sin = (one - cos * cos).sqrt();
    StepFit { turn: sin.atan2(cos), web: S::constant(0.0), run: both * sin }
}

/// Developed width of a bend with its own K, or with that of the sheet's rule. The derivatives of the latter by
/// turn and radius are taken as differences: the rules for K are tables as often as formulas.
pub(super) fn allowance<S: Scalar>(turn: S, radius: S, own_k: Option<f64>, sheet: SheetNumbers<'_>) -> S {
    if let Some(k) = own_k {
        return neutral_arc(turn, radius, S::constant(k), S::constant(sheet.thickness));
    }
    let k_at = |turn: f64, radius: f64| k_factor(sheet, turn, radius);
    let (a, r) = (turn.value(), radius.value());
    let mut k = S::constant(k_at(a, r));
    if !matches!(sheet.bend_rule, BendRule::Fixed(_)) {
        let step = K_STEP;
        let by_turn = (k_at(a + step, r) - k_at(a - step, r)) / (2.0 * step);
        let by_radius = (k_at(a, r + step) - k_at(a, r)) / step;
        k = k + (turn - S::constant(a)).scaled(by_turn) + (radius - S::constant(r)).scaled(by_radius);
    }
    neutral_arc(turn, radius, k, S::constant(sheet.thickness))
}

/// K of the bend of a flange, hem or line.
pub(super) fn bend_k(turn: f64, radius: f64, hem: Option<&HemForm>, sheet: SheetNumbers<'_>) -> f64 {
    hem.and_then(HemForm::k_factor).unwrap_or_else(|| k_factor(sheet, turn, radius))
}

/// Step in rad and mm of the differences that give the slope of K.
const K_STEP: f64 = 0.0001;

/// K of a bend. Where the rule has none, or the numbers are no bend, the middle of the sheet: the fold tree
/// asks the rule again and says why.
fn k_factor(sheet: SheetNumbers<'_>, turn: f64, radius: f64) -> f64 {
    let found = || {
        let thickness = Thickness::new(Length::try_mm(sheet.thickness).ok()?).ok()?;
        let radius = Radius::new(Length::try_mm(radius).ok()?).ok()?;
        let turn = Turn::new(Angle::try_deg(turn * (180.0 / maths::PI)).ok()?).ok()?;
        sheet.bend_rule.k_factor(thickness, radius, turn).ok()
    };
    found().map_or(0.5, |k| k.value())
}

/// Where a piece of a parted panel lies in the panel's flat drawing.
#[derive(Clone, Copy, Debug)]
pub struct FlatFrame<S> {
    /// The piece's origin.
    pub origin: DrawnCorner<S>,
    /// Direction of its x, unit length.
    pub x: DrawnCorner<S>,
}

impl<S: Scalar> FlatFrame<S> {
    /// The frame of the flat drawing itself.
    pub(super) fn identity() -> Self {
        let (zero, one) = (S::constant(0.0), S::constant(1.0));
        Self { origin: [zero, zero], x: [one, zero] }
    }

    /// A point of the piece, in the flat drawing.
    pub(super) fn point(&self, [x, y]: DrawnCorner<S>) -> DrawnCorner<S> {
        let [dx, dy] = self.vector([x, y]);
        [self.origin[0] + dx, self.origin[1] + dy]
    }

    /// A direction in the piece, in the flat drawing.
    pub(super) fn vector(&self, [x, y]: DrawnCorner<S>) -> DrawnCorner<S> {
        let [c, s] = self.x;
        [c * x - s * y, s * x + c * y]
    }

    /// The frame with these coordinates in this one.
    pub(super) fn within(&self, inner: Self) -> Self {
        Self { origin: self.point(inner.origin), x: self.vector(inner.x) }
    }

    /// A point of the flat drawing, in the piece's own coordinates.
    pub(super) fn coordinates(&self, [x, y]: DrawnCorner<S>) -> DrawnCorner<S> {
        self.turned_back([x - self.origin[0], y - self.origin[1]])
    }

    /// A direction of the flat drawing, in the piece's own coordinates.
    pub(super) fn turned_back(&self, [x, y]: DrawnCorner<S>) -> DrawnCorner<S> {
        let [c, s] = self.x;
        [c * x + s * y, c * y - s * x]
    }
}

impl<S: Scalar> LinePose<S> {
    /// Frame of the piece that begins `across` mm behind the start of the first bend.
    pub(super) fn frame_at(&self, across: S) -> FlatFrame<S> {
        let [ux, uy] = self.outward;
        FlatFrame { origin: [self.origin[0] + ux * across, self.origin[1] + uy * across], x: self.along }
    }

    /// A point behind the line, where the growth puts it.
    pub(super) fn grown(&self, [x, y]: DrawnCorner<S>) -> DrawnCorner<S> {
        let growth = self.numbers.growth();
        [x + self.outward[0] * growth, y + self.outward[1] * growth]
    }

    /// Distance of a point behind the drawn line in mm; negative before it.
    pub(super) fn behind(&self, [x, y]: DrawnCorner<S>) -> f64 {
        let (dx, dy) = (x - self.through[0], y - self.through[1]);
        (dx * self.outward[0] + dy * self.outward[1]).value()
    }
}

impl LinePose<f64> {
    /// The line's own frame in the flat drawing: x along the line from where its bends start, y outwards.
    #[must_use]
    pub fn frame(&self) -> Motion2 {
        self.frame_at(0.0).motion()
    }
}

impl FlatFrame<f64> {
    /// Brings the piece into the flat drawing.
    #[must_use]
    pub fn motion(&self) -> Motion2 {
        let ([x, y], [ax, ay]) = (self.origin, self.x);
        Motion2 { x_axis: Vec2::new(ax, ay), origin: Point2::new(x, y) }
    }
}
