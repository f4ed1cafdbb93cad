//! Random systems of relations built from a known answer: points, chains of links, sums, products.
//!
//! Formulas are written anew here and not taken from the kernel, except for the scalar they run over. Each
//! relation measures something of the unknowns; its target is what that is at the known answer.

use kernel::geom::Scalar;
use kernel::quantity::{maths, tolerance};
use kernel::solve::{Kind, System};

/// A sequence of numbers without a pattern: the splitmix generator, from memory.
pub(crate) struct Dice(u64);

impl Dice {
    /// The sequence with this number.
    pub(crate) fn new(number: u64) -> Self {
        Self(number.wrapping_mul(0xd6e8_feb8_6659_fd93))
    }

    fn bits(&mut self) -> u64 {
        self.0 = self.0.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let mut bits = self.0;
        bits = (bits ^ (bits >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        bits = (bits ^ (bits >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        bits ^ (bits >> 31)
    }

    pub(crate) fn between(&mut self, low: f64, high: f64) -> f64 {
        low + (high - low) * (self.bits() >> 11) as f64 / (1_u64 << 53) as f64
    }

    pub(crate) fn below(&mut self, count: usize) -> usize {
        (self.bits() % count as u64) as usize
    }

    /// Different numbers below `count`, in no order.
    pub(crate) fn pick(&mut self, wanted: usize, count: usize) -> Vec<usize> {
        let mut all: Vec<usize> = (0..count).collect();
        (0..wanted.min(count)).map(|_| all.swap_remove(self.below(all.len()))).collect()
    }
}

/// What a relation measures.
#[derive(Clone, Debug)]
pub(crate) enum Formula {
    /// A sum of unknowns, each taken some times.
    Sum(Vec<(usize, f64)>),
    /// The distance of two points, of which the unknowns are x and y.
    Distance([usize; 2], [usize; 2]),
    /// The angle at the second of three points, in rad.
    Corner([usize; 2], [usize; 2], [usize; 2]),
    /// How far the end of a chain of links (turn in degrees, length) lies in a direction.
    Reach(Vec<(usize, usize)>, [f64; 2]),
    /// A product of two lengths, in 100 mm².
    Area(usize, usize),
    /// A length that swells with another.
    Bowed(usize, usize),
}

impl Formula {
    pub(crate) fn value<S: Scalar>(&self, u: &[S]) -> S {
        let between = |a: [usize; 2], b: [usize; 2]| [u[b[0]] - u[a[0]], u[b[1]] - u[a[1]]];
        match self {
            Self::Sum(parts) => {
                parts.iter().fold(S::constant(0.0), |sum, &(i, factor)| sum + u[i].scaled(factor))
            }
            Self::Distance(a, b) => {
                let [x, y] = between(*a, *b);
                (x * x + y * y).sqrt()
            }
            Self::Corner(a, b, c) => {
                let ([x0, y0], [x1, y1]) = (between(*b, *a), between(*b, *c));
                (x0 * y1 - y0 * x1).atan2(x0 * x1 + y0 * y1)
            }
            Self::Reach(links, [along, across]) => {
                let mut heading = S::constant(0.0);
                let mut reach = S::constant(0.0);
                for &(turn, length) in links {
                    heading = heading + u[turn].scaled(maths::PI / 180.0);
                    let (sin, cos) = heading.sin_cos();
                    reach = reach + u[length] * (cos.scaled(*along) + sin.scaled(*across));
                }
                reach
            }
            Self::Area(i, j) => (u[*i] * u[*j]).scaled(0.01),
            Self::Bowed(i, j) => u[*i] + (u[*j].scaled(0.05)).sin_cos().0.scaled(8.0),
        }
    }

    fn is_angle(&self) -> bool {
        matches!(self, Self::Corner(..))
    }
}

/// A relation: a formula less its target, zero or at least zero.
#[derive(Clone, Debug)]
pub(crate) struct Relation {
    pub(crate) formula: Formula,
    pub(crate) target: f64,
    pub(crate) kind: Kind,
}

/// A system with the answer that it was built from.
#[derive(Clone, Debug)]
pub(crate) struct Built {
    pub(crate) relations: Vec<Relation>,
    pub(crate) answer: Vec<f64>,
}

impl System for Built {
    fn variable_count(&self) -> usize {
        self.answer.len()
    }
    fn relation_count(&self) -> usize {
        self.relations.len()
    }
    fn residuals<S: Scalar>(&self, unknowns: &[S], residuals: &mut [S]) {
        for (relation, residual) in self.relations.iter().zip(residuals) {
            let off = relation.formula.value(unknowns) - S::constant(relation.target);
            // An angle is the same after a whole turn.
            *residual = if relation.formula.is_angle() {
                off - S::constant((off.value() / maths::TAU).round() * maths::TAU)
            } else {
                off
            };
        }
    }
    fn tolerance(&self, relation: usize) -> f64 {
        if self.relations[relation].formula.is_angle() { tolerance::HELD_RAD } else { tolerance::HELD_MM }
    }
    fn kind(&self, relation: usize) -> Kind {
        self.relations[relation].kind
    }
}

/// What the unknowns of a system are.
#[derive(Clone, Copy, Debug, PartialEq)]
enum Unknown {
    Length,
    Coordinate,
    Turn,
}

impl Built {
    /// Adds a relation that holds at the answer.
    pub(crate) fn add(&mut self, formula: Formula, kind: Kind) {
        let target = formula.value(&self.answer);
        self.relations.push(Relation { formula, target, kind });
    }

    /// A start up to `share` of each value away from the answer.
    pub(crate) fn start(&self, share: f64, dice: &mut Dice) -> Vec<f64> {
        self.answer.iter().map(|value| value * (1.0 + dice.between(-share, share))).collect()
    }
}

/// A system of 2 to 20 unknowns: sketches, chains, or lengths, or some of each; as many relations as unknowns
/// or fewer, and sometimes more, that hold all the same.
pub(crate) fn built(dice: &mut Dice) -> Built {
    let mut unknowns = Vec::new();
    for _ in 0..1 + dice.below(3) {
        match dice.below(3) {
            0 => (0..2 + dice.below(4)).for_each(|_| unknowns.extend([Unknown::Coordinate; 2])),
            1 => (0..1 + dice.below(3)).for_each(|_| unknowns.extend([Unknown::Turn, Unknown::Length])),
            _ => unknowns.extend(vec![Unknown::Length; 1 + dice.below(4)]),
        }
    }
    let answer = unknowns
        .iter()
        .map(|unknown| match unknown {
            Unknown::Length => dice.between(10.0, 300.0),
            Unknown::Coordinate => dice.between(-200.0, 200.0),
            Unknown::Turn => dice.between(10.0, 170.0),
        })
        .collect();
    let mut built = Built { relations: Vec::new(), answer };
    let count = unknowns.len();
    let relations = match dice.below(10) {
        0..6 => count,
        6..9 => 1 + dice.below(count),
        _ => count + 1 + dice.below(3),
    };
    while built.relations.len() < relations {
        if let Some(formula) = formula(&unknowns, dice) {
            built.add(formula, Kind::Equal);
        }
    }
    built
}

fn formula(unknowns: &[Unknown], dice: &mut Dice) -> Option<Formula> {
    let of = |kind: Unknown| -> Vec<usize> { (0..unknowns.len()).filter(|&i| unknowns[i] == kind).collect() };
    let (lengths, coordinates, turns) = (of(Unknown::Length), of(Unknown::Coordinate), of(Unknown::Turn));
    let points: Vec<[usize; 2]> = coordinates.chunks_exact(2).map(|p| [p[0], p[1]]).collect();
    match dice.below(7) {
        0 => {
            let wanted = 1 + dice.below(3);
            let parts = dice.pick(wanted, unknowns.len());
            Some(Formula::Sum(parts.into_iter().map(|i| (i, [1.0, -1.0, 0.5, 2.0][dice.below(4)])).collect()))
        }
        1 | 2 if points.len() >= 2 => {
            let two = dice.pick(2, points.len());
            Some(Formula::Distance(points[two[0]], points[two[1]]))
        }
        3 if points.len() >= 3 => {
            let three = dice.pick(3, points.len());
            Some(Formula::Corner(points[three[0]], points[three[1]], points[three[2]]))
        }
        4 if !turns.is_empty() => {
            let links = 1 + dice.below(turns.len());
            let direction = dice.between(0.0, maths::TAU);
            let links = turns[..links].iter().map(|&turn| (turn, turn + 1)).collect();
            Some(Formula::Reach(links, [maths::cos(direction), maths::sin(direction)]))
        }
        5 if lengths.len() >= 2 => {
            let two = dice.pick(2, lengths.len());
            Some(Formula::Area(lengths[two[0]], lengths[two[1]]))
        }
        6 if lengths.len() >= 2 => {
            let two = dice.pick(2, lengths.len());
            Some(Formula::Bowed(lengths[two[0]], lengths[two[1]]))
        }
        _ => None,
    }
}

/// Something wrong with a system, put in on purpose.
#[derive(Clone, Debug)]
pub(crate) enum Planted {
    /// These relations contradict each other, and no fewer of them do.
    Conflict(Vec<usize>),
    /// The last of these relations follows from the others, and from no fewer of them.
    Redundant(Vec<usize>),
}

/// A system of independent relations with a conflict or something redundant planted in it.
///
/// What is planted goes round in a circle of the system's own lengths, points or sums, with a gap in it or
/// without, and stands among the other relations in any order. Everything else is a sum with an unknown of its
/// own, so that nothing else can be wrong.
pub(crate) fn planted(dice: &mut Dice) -> (Built, Planted) {
    let circle = circle(dice);
    let others = dice.below(6);
    // Four points or eight numbers hold every circle.
    let answer = (0..8 + 2 * others).map(|_| dice.between(10.0, 300.0)).collect();
    let mut built = Built { relations: Vec::new(), answer };
    let mut formulas: Vec<(Formula, bool)> = circle.into_iter().map(|formula| (formula, true)).collect();
    for other in 0..others {
        let own = 8 + 2 * other;
        let shared = dice.below(8);
        let formula = match dice.below(3) {
            0 => Formula::Sum(vec![(own, 1.0), (shared, 0.5)]),
            1 => Formula::Area(own, own + 1),
            _ => Formula::Bowed(own, shared),
        };
        formulas.push((formula, false));
    }
    let mut planted = Vec::new();
    for at in dice.pick(formulas.len(), formulas.len()) {
        let (formula, is_member) = &formulas[at];
        if *is_member {
            planted.push(built.relations.len());
        }
        built.add(formula.clone(), Kind::Equal);
    }
    if dice.below(2) == 0 {
        return (built, Planted::Redundant(planted));
    }
    let relation = &mut built.relations[planted[dice.below(planted.len())]];
    if relation.formula.is_angle() {
        // Less of an angle, because two that are together more than half a turn conflict without the third.
        relation.target *= dice.between(0.5, 0.9);
    } else {
        relation.target += dice.between(1.0, 20.0);
    }
    (built, Planted::Conflict(planted))
}

/// Relations of the first eight unknowns of which each follows from the others, and from no fewer.
fn circle(dice: &mut Dice) -> Vec<Formula> {
    let points = [[0, 1], [2, 3], [4, 5], [6, 7]];
    match dice.below(5) {
        // Steps from one number to the next, and the whole way.
        0 => {
            let steps = 1 + dice.below(5);
            let step = |from: usize, to: usize| Formula::Sum(vec![(to, 1.0), (from, -1.0)]);
            (0..steps).map(|i| step(i, i + 1)).chain([step(0, steps)]).collect()
        }
        // Parts with factors, and a sum of them.
        1 => {
            let parts = 1 + dice.below(4);
            let factors: Vec<f64> = (0..parts).map(|_| [1.0, -2.0, 0.5, 3.0][dice.below(4)]).collect();
            let part = |i: usize| Formula::Sum(vec![(i, 1.0), (i + 4, 1.0)]);
            let sum = (0..parts).flat_map(|i| [(i, factors[i]), (i + 4, factors[i])]).collect();
            (0..parts).map(part).chain([Formula::Sum(sum)]).collect()
        }
        // Four rectangles around a corner: the areas of opposite ones have the same product.
        2 => (0..4).map(|i| Formula::Area(i, (i + 1) % 4)).collect(),
        // The angles of a triangle.
        3 => (0..3).map(|i| Formula::Corner(points[i], points[(i + 1) % 3], points[(i + 2) % 3])).collect(),
        // The same distance twice, from either end.
        _ => vec![Formula::Distance(points[0], points[2]), Formula::Distance(points[2], points[0])],
    }
}
