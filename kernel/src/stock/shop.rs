//! What a shop can make: one number, or one list, for each limit that shops differ in.
//!
//! Job: every limit with its name, unit, range, default and source; and the limits of one shop, each with
//! whoever said it. Invariant: a value lies in the range of its limit, lists rise and are never empty.
//! Must not know: the part that is checked.

use thiserror::Error;

use crate::quantity::{maths, tolerance};

use super::stock_sheet::METRIC_SHEETS;

/// A limit that shops differ in.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
#[expect(missing_docs, reason = "`LIMITS` says what each one means")]
pub enum Limit {
    VOpenings,
    VByThickness,
    VByRadius,
    MinimumFlange,
    StepHeight,
    HoleToBend,
    SlotToBend,
    HoleToEdge,
    HoleToEdgeFloor,
    HoleToHole,
    HoleWidth,
    HoleWidthFloor,
    TabWidth,
    TabWidthFloor,
    NotchWidth,
    NotchWidthFloor,
    ReliefWidth,
    ReliefWidthFloor,
    ReliefDepth,
    InsideRadius,
    BumpHeight,
    BumpToBend,
    BumpToEdge,
    BumpToHole,
    BumpToBump,
    ClosedHem,
    OpenHem,
    HemGap,
    CurlRadius,
    HemToBend,
    Sheets,
    SheetMargin,
    BrakeLength,
    SharpCorner,
}

/// What a limit is, and what holds where nobody says otherwise.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct LimitInfo {
    /// The limit.
    pub limit: Limit,
    /// Its name in scripts, shop files and saved histories.
    pub name: &'static str,
    /// Its unit: `t` for thicknesses, `V` for die openings, `r` for inside radii, `mm`, `°`.
    pub unit: &'static str,
    /// What it limits, in a few words.
    pub meaning: &'static str,
    /// Its default.
    pub default: Usual,
    /// Where the default comes from, and whether that was read.
    pub source: &'static str,
    /// Least and greatest value that any number of it may have.
    pub range: [f64; 2],
}

/// The default of a limit, which also says what kind of value it takes.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Usual {
    /// This number.
    Number(f64),
    /// A number may be given; where it is not, the rule has a table.
    Table,
    /// These numbers, rising.
    Numbers(&'static [f64]),
    /// These pairs.
    Pairs(&'static [[f64; 2]]),
}

impl Usual {
    /// What kind of value the limit takes.
    #[must_use]
    pub fn kind(self) -> &'static str {
        match self {
            Self::Number(_) | Self::Table => "a number",
            Self::Numbers(_) => "a list of rising numbers",
            Self::Pairs(_) => "a list of pairs of numbers",
        }
    }
}

const fn number(
    limit: Limit,
    name: &'static str,
    (default, unit): (f64, &'static str),
    range: [f64; 2],
    meaning: &'static str,
    source: &'static str,
) -> LimitInfo {
    LimitInfo { limit, name, unit, meaning, default: Usual::Number(default), source, range }
}

const PRACTICE: &str = "common practice, no source";
const GUIDELINE: &str = "guideline sheet of a manufacturing service (seen)";
const DESIGN: &str = "sheet metal design guidelines, dimples (seen)";
const FORMING: &str = "forming guideline of a fabrication service (seen)";
const FORCE_CHART: &str = "tooling maker's air bending chart (seen)";

/// Factors of the thickness may be this large; a larger one is most likely meant in mm.
const FACTOR: [f64; 2] = [0.0, 50.0];
/// Small lengths in mm.
const SMALL_MM: [f64; 2] = [0.0, 100.0];

/// V openings in mm of the dies on hand.
pub(super) const V_OPENINGS: &[f64] = &[
    4.0, 6.0, 7.0, 8.0, 10.0, 12.0, 14.0, 16.0, 18.0, 20.0, 25.0, 32.0, 40.0, 50.0, 63.0, 80.0, 100.0, 125.0,
    160.0, 200.0, 250.0,
];

/// Rows `[up to thickness in mm, V in thicknesses]`: to 12 gauge, to 5/16 in, to 1/2 in, thicker.
const V_BY_THICKNESS: &[[f64; 2]] = &[[2.67, 6.0], [8.0, 8.0], [12.7, 10.0], [50.0, 12.0]];

/// Rows `[width, length]` in mm.
const SHEETS: &[[f64; 2]] = &[METRIC_SHEETS[0].1, METRIC_SHEETS[1].1, METRIC_SHEETS[2].1, METRIC_SHEETS[3].1];

use Limit::{
    BrakeLength, BumpHeight, BumpToBend, BumpToBump, BumpToEdge, BumpToHole, ClosedHem, CurlRadius, HemGap,
    HemToBend, HoleToBend, HoleToEdge, HoleToEdgeFloor, HoleToHole, HoleWidth, HoleWidthFloor, InsideRadius,
    MinimumFlange, NotchWidth, NotchWidthFloor, OpenHem, ReliefDepth, ReliefWidth, ReliefWidthFloor,
    SharpCorner, SheetMargin, Sheets, SlotToBend, StepHeight, TabWidth, TabWidthFloor, VByRadius,
    VByThickness, VOpenings,
};

/// Every limit, in the order of [`Limit`].
pub const LIMITS: &[LimitInfo] = &[
    LimitInfo {
        limit: VOpenings,
        name: "v_openings",
        unit: "mm",
        meaning: "V openings of the dies on hand",
        default: Usual::Numbers(V_OPENINGS),
        source: FORCE_CHART,
        range: [1.0, 1000.0],
    },
    LimitInfo {
        limit: VByThickness,
        name: "v_by_thickness",
        unit: "mm, t",
        meaning: "rows [up to thickness, least V opening in thicknesses]; the last one holds above, too",
        default: Usual::Pairs(V_BY_THICKNESS),
        source: "air bending force chart with die opening rule, 12 gauge, 5/16 in and 1/2 in (seen)",
        range: [0.0, 1000.0],
    },
    number(
        VByRadius,
        "v_by_radius",
        (6.0, "r"),
        FACTOR,
        "V opening that gives an inside radius in air bending",
        "air bending chart, averaged: radius V/6 (seen)",
    ),
    number(
        MinimumFlange,
        "minimum_flange",
        (0.7, "V"),
        [0.0, 5.0],
        "outside length of a flange at 90°",
        FORCE_CHART,
    ),
    number(
        StepHeight,
        "step_height",
        (0.5, "V"),
        [0.0, 5.0],
        "distance of the two bend lines of a step, beyond t + r",
        PRACTICE,
    ),
    number(
        HoleToBend,
        "hole_to_bend",
        (2.0, "t"),
        FACTOR,
        "opening to the line where a bend starts or ends",
        "fabrication guide, hole edge to start of the bend radius (seen)",
    ),
    number(
        SlotToBend,
        "slot_to_bend",
        (4.0, "t"),
        FACTOR,
        "long opening beside a bend to the line where it starts or ends",
        PRACTICE,
    ),
    number(HoleToEdge, "hole_to_edge", (2.0, "t"), FACTOR, "opening to the edge of the blank", GUIDELINE),
    number(
        HoleToEdgeFloor,
        "hole_to_edge_floor",
        (1.575, "mm"),
        SMALL_MM,
        "the same for thin sheet",
        GUIDELINE,
    ),
    number(
        HoleToHole,
        "hole_to_hole",
        (1.2, "t"),
        FACTOR,
        "web between two openings",
        "design guideline of an enclosure maker (seen)",
    ),
    number(HoleWidth, "hole_width", (1.0, "t"), FACTOR, "diameter of a hole, width of a slot", GUIDELINE),
    number(HoleWidthFloor, "hole_width_floor", (0.787, "mm"), SMALL_MM, "the same for thin sheet", GUIDELINE),
    number(TabWidth, "tab_width", (2.0, "t"), FACTOR, "tab or tongue of the outline", PRACTICE),
    number(TabWidthFloor, "tab_width_floor", (3.2, "mm"), SMALL_MM, "the same for thin sheet", PRACTICE),
    number(NotchWidth, "notch_width", (1.0, "t"), FACTOR, "notch or slot that is open to the edge", PRACTICE),
    number(NotchWidthFloor, "notch_width_floor", (1.0, "mm"), SMALL_MM, "the same for thin sheet", PRACTICE),
    number(ReliefWidth, "relief_width", (1.0, "t"), FACTOR, "width of a relief beside a bend", GUIDELINE),
    number(
        ReliefWidthFloor,
        "relief_width_floor",
        (0.762, "mm"),
        SMALL_MM,
        "the same for thin sheet",
        GUIDELINE,
    ),
    number(
        ReliefDepth,
        "relief_depth",
        (1.0, "t"),
        FACTOR,
        "depth of a relief past the line where the bend starts, beyond the inside radius",
        PRACTICE,
    ),
    LimitInfo {
        limit: InsideRadius,
        name: "inside_radius",
        unit: "t",
        meaning: "inside radius of a bend",
        default: Usual::Table,
        source: "by material, thickness and grain",
        range: FACTOR,
    },
    number(BumpHeight, "bump_height", (3.0, "t"), FACTOR, "height of a bump", PRACTICE),
    number(
        BumpToBend,
        "bump_to_bend",
        (3.0, "t"),
        FACTOR,
        "foot of a bump to the line where a bend starts or ends",
        PRACTICE,
    ),
    number(BumpToEdge, "bump_to_edge", (4.0, "t"), FACTOR, "foot of a bump to a cut edge", DESIGN),
    number(BumpToHole, "bump_to_hole", (3.0, "t"), FACTOR, "foot of a bump to an opening", DESIGN),
    number(
        BumpToBump,
        "bump_to_bump",
        (4.0, "t"),
        FACTOR,
        "between the feet of two bumps",
        "sheet metal design guidelines, dimples (from memory)",
    ),
    number(ClosedHem, "closed_hem", (6.0, "t"), FACTOR, "return of a closed hem", FORMING),
    number(OpenHem, "open_hem", (4.0, "t"), FACTOR, "return of an open hem", PRACTICE),
    number(
        HemGap,
        "hem_gap",
        (1.0, "t"),
        FACTOR,
        "gap of an open hem",
        "forming guideline of a fabrication service, inside diameter of a hem (seen)",
    ),
    number(
        CurlRadius,
        "curl_radius",
        (2.0, "t"),
        FACTOR,
        "outside radius of a rolled hem",
        "sheet metal design guidelines, curls (seen)",
    ),
    number(
        HemToBend,
        "hem_to_bend",
        (5.0, "t"),
        FACTOR,
        "outside of a hem to the inside of the next bend, beyond both inside radii",
        "hem spacing note without author (seen)",
    ),
    LimitInfo {
        limit: Sheets,
        name: "sheets",
        unit: "mm",
        meaning: "sizes [width, length] of the sheets in stock; the grain runs along the length",
        default: Usual::Pairs(SHEETS),
        source: "trade formats; common practice, no source",
        range: [1.0, 100_000.0],
    },
    number(
        SheetMargin,
        "sheet_margin",
        (10.0, "mm"),
        SMALL_MM,
        "rim of a sheet that is left on each side of the blank",
        PRACTICE,
    ),
    number(BrakeLength, "brake_length", (3000.0, "mm"), [1.0, 100_000.0], "length of a bend", PRACTICE),
    number(
        SharpCorner,
        "sharp_corner",
        (120.0, "°"),
        [0.0, 180.0],
        "angle of the sheet at an outer corner",
        PRACTICE,
    ),
];

impl Limit {
    /// What it is.
    #[must_use]
    pub fn info(self) -> &'static LimitInfo {
        &LIMITS[self as usize]
    }

    /// The limit of this name.
    #[must_use]
    pub fn named(name: &str) -> Option<Self> {
        LIMITS.iter().find(|info| info.name == name).map(|info| info.limit)
    }
}

/// A value that was given for a limit.
#[derive(Clone, Debug, PartialEq)]
pub enum LimitValue {
    /// A number.
    Number(f64),
    /// Numbers, rising.
    Numbers(Vec<f64>),
    /// Pairs.
    Pairs(Vec<[f64; 2]>),
}

/// Whose limit it is.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Whose {
    /// Nobody said it: the default.
    Default,
    /// A shop file of this name.
    File(String),
    /// A tools file of this name.
    Tools(String),
    /// The family.
    Family,
}

/// Why a value is none of its limit.
#[derive(Clone, Copy, Debug, PartialEq, Error)]
pub enum LimitError {
    /// Not the kind of value that the limit takes.
    #[error("the limit `{}` takes {}", limit.info().name, limit.info().default.kind())]
    Kind {
        /// The limit.
        limit: Limit,
    },
    /// A number outside the range of the limit, or not a number.
    #[error(
        "the limit `{}` cannot be {got}: it goes from {} to {} ({})",
        limit.info().name, limit.info().range[0], limit.info().range[1], limit.info().unit
    )]
    Range {
        /// The limit.
        limit: Limit,
        /// The number that was given.
        got: f64,
    },
    /// An empty list, or one that does not rise.
    #[error("the list of limit `{}` must rise, and have something in it", limit.info().name)]
    NotRising {
        /// The limit.
        limit: Limit,
    },
}

/// One limit that was said.
#[derive(Clone, Debug, PartialEq)]
struct Said {
    limit: Limit,
    value: LimitValue,
    whose: Whose,
}

/// The limits of a shop: the defaults, but for what was said.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct ShopLimits {
    said: Vec<Said>,
}

impl ShopLimits {
    /// Sets a limit; one that was said before is replaced.
    ///
    /// # Errors
    /// [`LimitError`] if the value is none of the limit.
    pub fn set(&mut self, limit: Limit, value: LimitValue, whose: Whose) -> Result<(), LimitError> {
        let info = limit.info();
        let all: Vec<f64> = match (&value, info.default) {
            (LimitValue::Number(number), Usual::Number(_) | Usual::Table) => vec![*number],
            (LimitValue::Numbers(list), Usual::Numbers(_)) => list.clone(),
            (LimitValue::Pairs(list), Usual::Pairs(_)) => list.iter().flatten().copied().collect(),
            _ => return Err(LimitError::Kind { limit }),
        };
        let [least, most] = info.range;
        if let Some(&got) = all.iter().find(|got| !(least <= **got && **got <= most)) {
            return Err(LimitError::Range { limit, got });
        }
        let rises = match &value {
            LimitValue::Number(_) => true,
            LimitValue::Numbers(list) => list.is_sorted_by(|a, b| a < b),
            // A width is not above its length, a thickness not above the one of the next row.
            LimitValue::Pairs(list) if limit == Sheets => list.iter().all(|[width, length]| width <= length),
            LimitValue::Pairs(list) => list.is_sorted_by(|a, b| a[0] < b[0]),
        };
        if all.is_empty() || !rises {
            return Err(LimitError::NotRising { limit });
        }
        self.said.retain(|said| said.limit != limit);
        self.said.push(Said { limit, value, whose });
        Ok(())
    }

    fn said(&self, limit: Limit) -> Option<&Said> {
        self.said.iter().find(|said| said.limit == limit)
    }

    /// Who said a limit.
    #[must_use]
    pub fn whose(&self, limit: Limit) -> Whose {
        self.said(limit).map_or(Whose::Default, |said| said.whose.clone())
    }

    /// Whose limit it is, in words: the source of the default, or who said it.
    #[must_use]
    pub fn source(&self, limit: Limit) -> String {
        match self.whose(limit) {
            Whose::Default => limit.info().source.to_owned(),
            Whose::File(name) => format!("shop file `{name}`"),
            Whose::Tools(name) => format!("tools file `{name}`"),
            Whose::Family => "said by the family".to_owned(),
        }
    }

    /// The number that was said for a limit, or its default.
    ///
    /// # Panics
    /// If the limit takes a list, or its default is a table: that is [`given`](Self::given).
    #[must_use]
    pub fn number(&self, limit: Limit) -> f64 {
        match (self.given(limit), limit.info().default) {
            (Some(number), _) | (None, Usual::Number(number)) => number,
            (None, Usual::Table | Usual::Numbers(_) | Usual::Pairs(_)) => {
                unreachable!("rules ask for numbers of limits that have one")
            }
        }
    }

    /// The number that was said for a limit, if one was.
    #[must_use]
    pub fn given(&self, limit: Limit) -> Option<f64> {
        match self.said(limit)?.value {
            LimitValue::Number(number) => Some(number),
            LimitValue::Numbers(_) | LimitValue::Pairs(_) => None,
        }
    }

    /// The numbers of a limit that takes a list of them; none of any other limit.
    #[must_use]
    pub fn numbers(&self, limit: Limit) -> &[f64] {
        match (self.said(limit).map(|said| &said.value), limit.info().default) {
            (Some(LimitValue::Numbers(list)), _) => list,
            (_, Usual::Numbers(list)) => list,
            (_, Usual::Number(_) | Usual::Table | Usual::Pairs(_)) => &[],
        }
    }

    /// The pairs of a limit that takes a list of them; none of any other limit.
    #[must_use]
    pub fn pairs(&self, limit: Limit) -> &[[f64; 2]] {
        match (self.said(limit).map(|said| &said.value), limit.info().default) {
            (Some(LimitValue::Pairs(list)), _) => list,
            (_, Usual::Pairs(list)) => list,
            (_, Usual::Number(_) | Usual::Table | Usual::Numbers(_)) => &[],
        }
    }

    /// The narrowest V opening on hand in mm that bends sheet of this thickness, and is at least `least` mm wide;
    /// the widest on hand if none is. All in mm.
    #[must_use]
    pub fn v_opening(&self, thickness: f64, least: f64) -> f64 {
        let rows = self.pairs(VByThickness);
        let row = rows.iter().find(|[up_to, _]| thickness <= up_to + tolerance::SNAP_MM);
        let factor = row.or(rows.last()).map_or(0.0, |[_, factor]| *factor);
        let wanted = least.max(factor * thickness) - tolerance::SNAP_MM;
        let openings = self.numbers(VOpenings);
        openings.iter().copied().find(|v| *v >= wanted).unwrap_or(openings[openings.len() - 1])
    }

    /// The narrowest V opening on hand in mm that bends sheet of this thickness and has room for a bend: its round
    /// part, of radius `r + t` outside, ends before the shoulders, `V ≥ 2 (r + t) sin(a/2)`. Thickness and inside
    /// radius in mm, turn in rad.
    #[must_use]
    pub fn v_for_bend(&self, thickness: f64, inside_radius: f64, turn: f64) -> f64 {
        self.v_opening(thickness, 2.0 * (inside_radius + thickness) * maths::sin(0.5 * turn))
    }

    /// Whether a die of this opening in mm is on hand.
    #[must_use]
    pub fn has_v(&self, opening: f64) -> bool {
        self.numbers(VOpenings).iter().any(|v| (v - opening).abs() <= tolerance::SNAP_MM)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_table_is_in_the_order_of_the_limits_and_defaults_are_values_of_theirs() {
        for (index, info) in LIMITS.iter().enumerate() {
            assert_eq!(info.limit as usize, index, "{}", info.name);
            assert_eq!(Limit::named(info.name), Some(info.limit));
            let value = match info.default {
                Usual::Number(number) => LimitValue::Number(number),
                Usual::Table => LimitValue::Number(1.0),
                Usual::Numbers(list) => LimitValue::Numbers(list.to_vec()),
                Usual::Pairs(list) => LimitValue::Pairs(list.to_vec()),
            };
            ShopLimits::default().set(info.limit, value, Whose::Family).unwrap();
            assert!(["seen", "memory", "no source", "grain"].iter().any(|word| info.source.contains(word)));
        }
    }

    #[test]
    fn a_die_is_chosen_by_thickness_and_least_width() {
        let mut limits = ShopLimits::default();
        // 6 · 1.5 = 9, the next on hand is 10; 6 · 2 = 12 is on hand; 8 · 3 = 24, the next is 25.
        assert_eq!([1.5, 2.0, 3.0].map(|t| limits.v_opening(t, 0.0)), [10.0, 12.0, 25.0]);
        // 2.67 mm is still 6 t: 16.02, the next on hand is 18. A little more is 8 t: 21.4, the next is 25.
        assert_eq!([2.67, 2.671].map(|t| limits.v_opening(t, 0.0)), [18.0, 25.0]);
        assert_eq!(limits.v_opening(1.5, 12.0), 12.0);
        limits.set(VOpenings, LimitValue::Numbers(vec![8.0, 16.0]), Whose::Family).unwrap();
        assert_eq!([1.0, 1.5, 10.0].map(|t| limits.v_opening(t, 0.0)), [8.0, 16.0, 16.0]);
    }

    #[test]
    fn what_is_no_value_of_a_limit_is_refused() {
        let mut limits = ShopLimits::default();
        let mut set = |limit, value| limits.set(limit, value, Whose::Family);
        let kind = |limit| Err(LimitError::Kind { limit });
        assert_eq!(set(HoleToBend, LimitValue::Numbers(vec![2.0])), kind(HoleToBend));
        assert_eq!(set(Sheets, LimitValue::Number(2.0)), kind(Sheets));
        for got in [-0.1, 50.1, f64::INFINITY] {
            assert_eq!(
                set(HoleToBend, LimitValue::Number(got)),
                Err(LimitError::Range { limit: HoleToBend, got })
            );
        }
        assert!(set(HoleToBend, LimitValue::Number(f64::NAN)).is_err());
        let not_rising = |limit| Err(LimitError::NotRising { limit });
        assert_eq!(set(VOpenings, LimitValue::Numbers(vec![])), not_rising(VOpenings));
        assert_eq!(set(VOpenings, LimitValue::Numbers(vec![8.0, 8.0])), not_rising(VOpenings));
        assert_eq!(set(Sheets, LimitValue::Pairs(vec![[2000.0, 1000.0]])), not_rising(Sheets));
        assert_eq!(limits, ShopLimits::default());
    }

    #[test]
    fn the_last_word_holds_and_is_named() {
        let mut limits = ShopLimits::default();
        assert_eq!(limits.source(HoleToHole), "design guideline of an enclosure maker (seen)");
        limits.set(HoleToHole, LimitValue::Number(2.0), Whose::File("shop.toml".to_owned())).unwrap();
        assert_eq!(
            (limits.number(HoleToHole), limits.source(HoleToHole)),
            (2.0, "shop file `shop.toml`".to_owned())
        );
        limits.set(HoleToHole, LimitValue::Number(1.5), Whose::Family).unwrap();
        assert_eq!((limits.number(HoleToHole), limits.whose(HoleToHole)), (1.5, Whose::Family));
    }
}
