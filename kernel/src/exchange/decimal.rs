//! Numbers as text and rounded numbers, for every text format here.
//!
//! Invariant: no exponent, no trailing zero, never `-0`; the text read back is within half a unit of the
//! last place of the number.

/// Places after the point for figures that people and programs read: a nanometre, a micro-square-millimetre.
pub(super) const FIGURE_PLACES: usize = 6;

/// Places after the point for what the solver answers, so that it can be held against another solver's answer to a
/// billionth.
const ANSWER_PLACES: usize = 10;

/// `value` with at most `places` digits after the point: `300`, `299.123457`.
pub(super) fn text(value: f64, places: usize) -> String {
    let mut text = format!("{value:.places$}");
    if text.contains('.') {
        text.truncate(text.trim_end_matches('0').trim_end_matches('.').len());
    }
    if text == "-0" { "0".to_owned() } else { text }
}

/// `value` to [`FIGURE_PLACES`].
pub(super) fn figure(value: f64) -> String {
    text(value, FIGURE_PLACES)
}

/// The number nearest to `value` with [`FIGURE_PLACES`] digits after the point; never `-0`.
pub(super) fn rounded(value: f64) -> f64 {
    nearest(value, FIGURE_PLACES)
}

/// The number nearest to `value` with [`ANSWER_PLACES`] digits after the point; never `-0`.
pub(super) fn answer(value: f64) -> f64 {
    nearest(value, ANSWER_PLACES)
}

fn nearest(value: f64, places: usize) -> f64 {
    text(value, places).parse().expect("a formatted number reads back")
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    #[test]
    fn numbers_by_hand() {
        let cases = [
            (300.0, "300"),
            (299.123_456_6, "299.123457"),
            (-1e-9, "0"),
            (-0.0, "0"),
            (0.1 + 0.2, "0.3"),
            (1e15, "1000000000000000"),
            (-2.5e-6, "-0.000003"),
            (100.0, "100"),
        ];
        for (value, expected) in cases {
            assert_eq!(figure(value), expected, "{value:e}");
        }
        assert_eq!(rounded(-1e-9).to_bits(), 0.0_f64.to_bits());
    }

    proptest! {
        #[test]
        fn text_reads_back_within_half_a_unit(value in -1e5_f64..1e5, places in 0_usize..12) {
            let read: f64 = text(value, places).parse().unwrap();
            let unit: f64 = format!("1e-{places}").parse().unwrap();
            // A double of this size is itself only good to 1.5e-11.
            prop_assert!((read - value).abs() <= 0.5 * unit + 1.5e-11);
            prop_assert!(!text(value, places).contains('e'));
        }
    }
}
