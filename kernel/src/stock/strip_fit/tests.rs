//! The fit against figures by hand, laws, and thousands of made-up strips whose K is known. Invariant: noise
//! comes from a fixed sequence, so that a test gives the same count everywhere.

use proptest::prelude::*;

use super::*;
use crate::quantity::{Angle, Radius, Turn, maths};
use crate::stock::{Bend, BendRule};

fn sheet(mm: f64) -> Thickness {
    Thickness::new(Length::mm(mm)).unwrap()
}

fn strip(legs: &[f64], turn_deg: f64, t: f64, r: f64, flat: f64) -> TestStrip {
    TestStrip {
        legs: legs.iter().map(|&leg| Length::mm(leg)).collect(),
        turn: Turn::new(Angle::deg(turn_deg)).unwrap(),
        thickness: sheet(t),
        inside_radius: Radius::new(Length::mm(r)).unwrap(),
        flat: Length::mm(flat),
    }
}

/// A strip whose bends have this K, with legs long enough, and whose flat length is measured `off` mm too long.
fn bent(k: f64, turn_deg: f64, t: f64, r: f64, bends: usize, legs_from: LengthDatum, off: f64) -> TestStrip {
    let legs = vec![2.0 * (r + t) + 20.0; bends + 1];
    let made = strip(&legs, turn_deg, t, r, 0.0);
    let bend =
        Bend { turn: made.turn, inside_radius: made.inside_radius, k_factor: KFactor::new(k).unwrap() };
    let setback = legs_from.setback(bend.turn, bend.inside_radius, made.thickness).to_mm();
    let took = bends as f64 * (bend.allowance(made.thickness).to_mm() - 2.0 * setback);
    strip(&legs, turn_deg, t, r, legs.iter().sum::<f64>() + took + off)
}

fn outside(strips: Vec<TestStrip>) -> StripFit {
    StripFit::new(strips, LengthDatum::Outside, None).unwrap()
}

fn assert_near(got: f64, wanted: f64, within: f64) {
    assert!((got - wanted).abs() <= within, "got {got}, wanted {wanted} within {within}");
}

/// The strips of `docs/math/test-strips.md`: 2 mm sheet that measures 1.98 mm, bent through 90° over 2 and 4 mm.
fn by_hand() -> Vec<TestStrip> {
    vec![
        strip(&[40.10, 60.08], 90.0, 1.98, 2.0, 96.70),
        strip(&[40.00, 60.12], 90.0, 1.98, 2.0, 96.66),
        strip(&[40.06, 60.10], 90.0, 1.98, 2.0, 96.70),
        strip(&[40.04, 60.14], 90.0, 1.98, 4.0, 95.93),
        strip(&[40.02, 60.10], 90.0, 1.98, 4.0, 95.90),
    ]
}

#[test]
fn fit_by_hand() {
    let fit = outside(by_hand());
    // Allowances 4.48, 4.50, 4.50 and 7.71, 7.74, so K by strip, with t π/2 = 3.110177 mm for one K.
    let k_of_strips = [0.430_332, 0.436_762, 0.436_762, 0.458_757, 0.468_403];
    // Means of allowances 4.493333 and 7.725.
    let residuals = [-0.013_333, 0.006_667, 0.006_667, -0.015, 0.015];
    for (fitted, (k, residual)) in fit.strips().iter().zip(k_of_strips.into_iter().zip(residuals)) {
        assert_near(fitted.k_factor.value(), k, 5.1e-7);
        assert_near(fitted.residual.to_mm(), residual, 5.1e-7);
        assert_eq!(fitted.outlier, None);
    }
    // Squares 0.000716667 over 5 − 2: s = 0.0154560.
    let scatter = fit.scatter().unwrap();
    assert_eq!(scatter.degrees_of_freedom, 3);
    assert_near(scatter.deviation.to_mm(), 0.015_456, 5.1e-7);
    // t = 3.182446: 0.0491879 over 3.110177 √3 and √2.
    let [sharp, round] = fit.ratios() else { panic!("two radii, got {:?}", fit.ratios()) };
    assert_eq!((&sharp.strips[..], &round.strips[..]), (&[1, 2, 3][..], &[4, 5][..]));
    for (row, ratio, k, plus_minus) in
        [(sharp, 1.010_101, 0.434_619, 0.009_131), (round, 2.020_202, 0.463_580, 0.011_183)]
    {
        assert_near(row.ratio, ratio, 5.1e-7);
        assert_near(row.k_factor.value(), k, 5.1e-7);
        assert_near(row.plus_minus.unwrap(), plus_minus, 5.1e-7);
    }
}

#[test]
fn strips_of_unequal_bends_count_by_their_length_for_one_k() {
    // One K is π/2 · 2 = 3.1416 mm for the first strip, and twice that for the one with two bends; flat lengths
    // that are 0.03 mm too long and right give K = 0.4 + 0.03 · π / (π² + 4 π²) = 0.4 + 0.006 / π.
    let strips = vec![
        bent(0.4, 90.0, 2.0, 2.0, 1, LengthDatum::Outside, 0.03),
        bent(0.4, 90.0, 2.0, 2.0, 2, LengthDatum::Outside, 0.0),
    ];
    let fit = outside(strips);
    assert_near(fit.ratios()[0].k_factor.value(), 0.4 + 0.006 / maths::PI, 1e-12);
    // Residuals 0.03 − 0.006 and 0 − 0.012; the mean of K would leave 0.015 and −0.03.
    assert_near(fit.strips()[0].residual.to_mm(), 0.024, 1e-12);
    assert_near(fit.strips()[1].residual.to_mm(), -0.012, 1e-12);
}

#[test]
fn k_is_linear_between_tested_ratios_and_held_for_a_tenth_beyond() {
    let make = |k, r| bent(k, 90.0, 2.0, r, 1, LengthDatum::Outside, 0.0);
    let fit =
        StripFit::new(vec![make(0.46, 4.0), make(0.42, 2.0)], LengthDatum::Outside, Some(Length::mm(0.05)))
            .unwrap();
    for (ratio, k) in [(0.91, 0.42), (1.0, 0.42), (1.25, 0.43), (1.5, 0.44), (2.0, 0.46), (2.2, 0.46)] {
        assert_near(fit.k_factor(ratio).unwrap().value(), k, 1e-12);
    }
    assert_eq!((fit.k_factor(0.909), fit.k_factor(2.201)), (None, None));
    let refused = BendRule::TestStrips(fit)
        .k_factor(sheet(2.0), Radius::new(Length::mm(1.0)).unwrap(), Turn::new(Angle::deg(90.0)).unwrap())
        .unwrap_err();
    assert_eq!(
        refused.to_string(),
        "no test strip was bent like an inside radius of 1.000 mm in 2.000 mm sheet: r/t is 0.500, tested are \
         1.000, 2.000"
    );
}

#[test]
fn sharp_bends_are_a_ratio_of_their_own() {
    let make = |k, r| bent(k, 90.0, 2.0, r, 1, LengthDatum::Outside, 0.0);
    let fit = outside(vec![make(0.3, 0.0), make(0.3, 0.0), make(0.35, 0.1)]);
    assert_eq!(fit.ratios().len(), 2);
    assert_near(fit.k_factor(0.0).unwrap().value(), 0.3, 1e-12);
    assert_near(fit.k_factor(0.025).unwrap().value(), 0.325, 1e-12);
}

#[test]
fn the_stated_uncertainty_holds_where_it_is_the_larger() {
    let stated = |uncertainty| {
        StripFit::new(by_hand(), LengthDatum::Outside, Some(Length::mm(uncertainty))).unwrap().ratios()[0]
            .plus_minus
            .unwrap()
    };
    // Scatter alone gives 0.009131; 0.01 mm over 3.110177 mm is less, 0.1 mm is more and is not averaged.
    assert_near(stated(0.01), 0.009_131, 5.1e-7);
    assert_near(stated(0.1), 0.1 / 3.110_177, 5.1e-7);
    // Without a second strip of any radius it is all there is.
    let alone = vec![by_hand()[0].clone()];
    let fit = StripFit::new(alone.clone(), LengthDatum::Outside, Some(Length::mm(0.1))).unwrap();
    assert_near(fit.ratios()[0].plus_minus.unwrap(), 0.1 / 3.110_177, 5.1e-7);
    assert_eq!(fit.scatter(), None);
    assert_eq!(StripFit::new(alone, LengthDatum::Outside, None), Err(StripFitError::NothingShowsScatter));
}

#[test]
fn strips_that_agree_exactly_do_not_show_how_sure_k_is() {
    let twice = || vec![by_hand()[0].clone(), by_hand()[0].clone()];
    assert_eq!(outside(twice()).ratios()[0].plus_minus, None);
    let stated = StripFit::new(twice(), LengthDatum::Outside, Some(Length::mm(0.1))).unwrap();
    assert_near(stated.ratios()[0].plus_minus.unwrap(), 0.1 / 3.110_177, 5.1e-7);
}

#[test]
fn bad_strips_are_refused_by_number() {
    assert_eq!(StripFit::new(Vec::new(), LengthDatum::Outside, None), Err(StripFitError::Empty));
    let not_above_zero = StripFit::new(by_hand(), LengthDatum::Outside, Some(Length::ZERO));
    assert_eq!(not_above_zero, Err(StripFitError::UncertaintyNotPositive { got: Length::ZERO }));
    let mut strips = by_hand();
    // Legs added up wrongly by 10 mm: K = 0.458757 − 10 / 3.110177.
    strips[3].legs[0] = Length::mm(50.04);
    let refused = StripFit::new(strips, LengthDatum::Outside, None).unwrap_err();
    assert_eq!(
        refused.to_string(),
        "test strip 4: a K-factor of -2.756495 is not between 0 (inner face) and 1 (outer face)"
    );
}

#[test]
fn a_strip_that_disagrees_is_named_with_its_number_and_figures() {
    let mut strips = by_hand();
    strips.push(strip(&[40.06, 60.10], 90.0, 1.98, 2.0, 97.0));
    let fit = outside(strips);
    let named: Vec<usize> =
        (1..).zip(fit.strips()).filter(|(_, f)| f.outlier.is_some()).map(|(n, _)| n).collect();
    assert_eq!(named, [6]);
    // Its allowance is 4.80 where the others have 4.493333, and those scatter by 0.0154560.
    let outlier = fit.strips()[5].outlier.unwrap();
    assert_near(outlier.off.to_mm(), 0.306_667, 5.1e-7);
    assert_near(outlier.scatter_of_others.to_mm(), 0.015_456, 5.1e-7);
}

#[test]
fn what_lies_within_the_stated_uncertainty_is_no_outlier() {
    let make = |off| bent(0.4, 90.0, 2.0, 2.0, 1, LengthDatum::Outside, off);
    let strips = || vec![make(0.0), make(0.0), make(0.0), make(0.02)];
    // Three strips that agree to the last digit leave no scatter at all.
    assert!(outside(strips()).strips()[3].outlier.is_some());
    let stated = StripFit::new(strips(), LengthDatum::Outside, Some(Length::mm(0.05))).unwrap();
    assert!(stated.strips().iter().all(|fitted| fitted.outlier.is_none()));
}

#[test]
fn a_thickness_within_a_tenth_counts_as_tested() {
    let fit = outside(by_hand());
    for (t, tested) in [(1.79, false), (1.81, true), (2.0, true), (2.17, true), (2.19, false)] {
        assert_eq!(fit.has_thickness(sheet(t)), tested, "{t}");
    }
}

/// Numbers of a fixed sequence (splitmix64, Steele, Lea and Flood 2014, from memory), normally distributed by
/// the method of Box and Muller.
struct Noise(u64);

impl Noise {
    /// Uniform in `(0, 1)`.
    fn uniform(&mut self) -> f64 {
        self.0 = self.0.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        ((z ^ (z >> 31)) >> 11) as f64 / (1_u64 << 53) as f64 + f64::EPSILON / 4.0
    }

    fn normal(&mut self) -> f64 {
        let radius = (-2.0 * maths::ln(self.uniform())).sqrt();
        radius * maths::cos(maths::TAU * self.uniform())
    }
}

/// Strips as `(radius, thickness, turn in degrees, bends)`, and the true K of each radius over thickness.
type Design = &'static [(f64, f64, f64, usize)];

fn true_k(ratio: f64) -> f64 {
    0.38 + 0.02 * ratio
}

fn measured(design: Design, noise: &mut Noise, deviation: f64) -> Vec<TestStrip> {
    let make = |&(r, t, turn, bends): &(f64, f64, f64, usize)| {
        bent(true_k(r / t), turn, t, r, bends, LengthDatum::Outside, deviation * noise.normal())
    };
    design.iter().map(make).collect()
}

const TRIALS: usize = 2000;
// A binomial count of 2000 trials with chance 0.95 lies outside with a chance of 0.001 (scipy's `binom.ppf`).
const COVERED: std::ops::RangeInclusive<usize> = 1867..=1931;

#[test]
fn the_interval_covers_the_true_k_in_95_of_100_fits() {
    let designs: [(Design, usize); 4] = [
        // The fewest: two strips of one radius.
        (&[(2.0, 2.0, 90.0, 1), (2.0, 2.0, 90.0, 1)], 1),
        (&[(2.0, 2.0, 90.0, 1), (2.0, 2.0, 90.0, 1), (2.0, 2.0, 90.0, 1)], 1),
        // Unequal weights: other turns, sheets and numbers of bends at the same three ratios.
        (
            &[
                (1.0, 1.0, 90.0, 1),
                (3.0, 3.0, 45.0, 1),
                (2.0, 1.0, 135.0, 2),
                (4.0, 2.0, 30.0, 1),
                (6.0, 1.5, 90.0, 1),
                (6.0, 1.5, 90.0, 3),
            ],
            3,
        ),
        // A radius with one strip borrows the scatter of the others.
        (&[(2.0, 2.0, 90.0, 1), (2.0, 2.0, 90.0, 1), (2.0, 2.0, 90.0, 1), (6.0, 2.0, 90.0, 1)], 2),
    ];
    let mut noise = Noise(20_260_101);
    for (design, ratios) in designs {
        let mut covered = vec![0; ratios];
        let mut covered_by_normal = 0;
        for _ in 0..TRIALS {
            let fit = outside(measured(design, &mut noise, 0.05));
            assert_eq!(fit.ratios().len(), ratios);
            for (count, row) in covered.iter_mut().zip(fit.ratios()) {
                *count +=
                    usize::from((row.k_factor.value() - true_k(row.ratio)).abs() <= row.plus_minus.unwrap());
            }
            // As if a few strips showed their scatter as well as many.
            let row = &fit.ratios()[0];
            let freedom = fit.scatter().unwrap().degrees_of_freedom;
            let normal = row.plus_minus.unwrap() * 1.96 / two_sided_bound(CONFIDENCE, freedom);
            covered_by_normal += usize::from((row.k_factor.value() - true_k(row.ratio)).abs() <= normal);
        }
        for count in covered {
            assert!(COVERED.contains(&count), "{count} of {TRIALS} covered in {design:?}");
        }
        assert!(!COVERED.contains(&covered_by_normal), "the test would not notice a missing Student's t");
    }
}

#[test]
fn good_strips_are_called_outliers_in_27_of_10000_cases() {
    let design: Design = &[
        (2.0, 2.0, 90.0, 1),
        (2.0, 2.0, 90.0, 2),
        (2.0, 2.0, 45.0, 1),
        (6.0, 2.0, 90.0, 1),
        (6.0, 2.0, 90.0, 1),
    ];
    let mut noise = Noise(7);
    let mut named = [0_usize; 3];
    for _ in 0..10 * TRIALS {
        let fit = outside(measured(design, &mut noise, 0.05));
        for (count, fitted) in named.iter_mut().zip(fit.strips()) {
            *count += usize::from(fitted.outlier.is_some());
        }
    }
    // A binomial count of 20,000 with chance 0.0027 lies outside with a chance of 0.001 (scipy's `binom.ppf`).
    for count in named {
        assert!((32..=80).contains(&count), "{named:?}");
    }
}

fn datum() -> impl Strategy<Value = LengthDatum> {
    prop_oneof![Just(LengthDatum::Outside), Just(LengthDatum::Inside), Just(LengthDatum::Tangent)]
}

/// Turns that seek trouble: near flat, near the kink at 90° and near a half turn.
fn turn() -> impl Strategy<Value = f64> {
    prop_oneof![1.0..2.0, 89.9..90.1, 179.0..180.0, Just(90.0), Just(180.0), 5.0..175.0]
}

/// Of each strip: which ratio, turn, thickness, bends, error of the flat length.
fn any_strips() -> impl Strategy<Value = Vec<(usize, f64, f64, usize, f64)>> {
    proptest::collection::vec((0_usize..4, turn(), 0.4..6.0, 1_usize..4, -0.05..0.05), 1..12)
}

/// Ratios more than a tenth apart, the first of them sharp, each with its K.
const RATIOS: [(f64, f64); 4] = [(0.0, 0.25), (0.5, 0.45), (0.7, 0.36), (8.0, 0.62)];

fn made(strips: &[(usize, f64, f64, usize, f64)], datum: LengthDatum, noise: f64) -> Vec<TestStrip> {
    let make = |&(which, turn, t, bends, off): &(usize, f64, f64, usize, f64)| {
        let (ratio, k) = RATIOS[which];
        // The error as a share of what one K is, so that near flat no K leaves the metal.
        let for_one_k = bends as f64 * turn * (maths::PI / 180.0) * t;
        bent(k, turn, t, ratio * t, bends, datum, noise * off * for_one_k)
    };
    strips.iter().map(make).collect()
}

proptest! {
    #[test]
    fn exact_strips_give_back_their_k(strips in any_strips(), datum in datum()) {
        let fit = StripFit::new(made(&strips, datum, 0.0), datum, Some(Length::mm(0.1))).unwrap();
        for row in fit.ratios() {
            let which = strips[row.strips[0] - 1].0;
            prop_assert!((row.k_factor.value() - RATIOS[which].1).abs() <= 1e-9);
            prop_assert!((fit.k_factor(row.ratio).unwrap().value() - RATIOS[which].1).abs() <= 1e-9);
            for number in &row.strips {
                prop_assert_eq!(strips[number - 1].0, which);
            }
        }
        let counted: usize = fit.ratios().iter().map(|row| row.strips.len()).sum();
        prop_assert_eq!(counted, strips.len());
        for fitted in fit.strips() {
            prop_assert!(fitted.residual.to_mm().abs() <= 1e-9 && fitted.outlier.is_none());
        }
    }

    /// Where squares are smallest their slope vanishes: the residuals of a ratio, each times its length for one
    /// K, add up to nothing.
    #[test]
    fn no_other_k_has_smaller_squares(strips in any_strips(), datum in datum()) {
        let fit = StripFit::new(made(&strips, datum, 1.0), datum, Some(Length::mm(0.1))).unwrap();
        for row in fit.ratios() {
            let slope: f64 = row.strips.iter().map(|number| {
                let fitted = &fit.strips()[number - 1];
                fitted.residual.to_mm() * fitted.strip.mm_for_one_k()
            }).sum();
            prop_assert!(slope.abs() <= 1e-9, "slope {slope}");
        }
    }

    #[test]
    fn neither_order_nor_unit_of_length_matters(strips in any_strips(), datum in datum()) {
        let inch = |strip: TestStrip| TestStrip {
            legs: strip.legs.iter().map(|&leg| leg * 25.4).collect(),
            turn: strip.turn,
            thickness: Thickness::new(strip.thickness.length() * 25.4).unwrap(),
            inside_radius: Radius::new(strip.inside_radius.length() * 25.4).unwrap(),
            flat: strip.flat * 25.4,
        };
        let strips = made(&strips, datum, 1.0);
        let turned: Vec<TestStrip> = strips.iter().rev().cloned().map(inch).collect();
        let fit = StripFit::new(strips, datum, Some(Length::mm(0.01))).unwrap();
        let other = StripFit::new(turned, datum, Some(Length::inch(0.01))).unwrap();
        prop_assert_eq!(fit.ratios().len(), other.ratios().len());
        for (a, b) in fit.ratios().iter().zip(other.ratios()) {
            prop_assert!((a.k_factor.value() - b.k_factor.value()).abs() <= 1e-9);
            match (a.plus_minus, b.plus_minus) {
                (Some(a), Some(b)) => prop_assert!((a - b).abs() <= 1e-9 * (1.0 + a)),
                (None, None) => {}
                one_only => prop_assert!(false, "{one_only:?}"),
            }
        }
        for (a, b) in fit.strips().iter().zip(other.strips().iter().rev()) {
            prop_assert!((a.residual.to_mm() - b.residual.to_inch()).abs() <= 1e-9);
        }
    }
}
