//! `report.json`: every figure of the part, for people and programs that read nothing else.
//!
//! Job: the contract that others may build on, described by [`schema`] and `docs/report.schema.json`.
//! Invariant: keys keep their order and meaning within one [`REPORT_VERSION`]; units stand in the keys;
//! numbers are rounded to 1e-6 of their unit, what the solver answers to 1e-10. Must not know: how figures are found.

mod aim;
mod bend_order;
mod estimate;
mod neighbours;
mod openings;
mod rules;
mod test_strips;

use std::collections::BTreeMap;

use schemars::JsonSchema;
use serde::Serialize;

use crate::blank::hole_table;
use crate::brake::BendRow;
use crate::diag::Diagnostic;
use crate::dimension::{Follow, Limit, RadiusLimit, Remarks, SketchResult, Spread, Tolerances};
use crate::fold::{Form, Gap};
use crate::geom::{Contour, Point2};
use crate::history::ParameterValue;
use crate::quantity::maths;

use super::decimal::{answer, rounded};
use super::{Format, Subject};
use aim::{AimFigures, aim_figures};
use bend_order::{BendOrderFigures, SettingFigures, bend_order_figures, setting_figures};
use estimate::{NestingFigures, PriceFigures, WorkFigures, nesting_figures, price_figures, work_figures};
use neighbours::{NeighbourFigures, neighbour_figures};
use openings::{GuardingFigures, guarding_figures};
use rules::{RuleFigures, rule_figures};
use test_strips::{TestStripsFigures, test_strips_figures};

/// `report.json`.
pub(super) const FORMAT: Format =
    Format { file_name: "report.json", what: "every figure of the part, bends and findings", write };

/// Version of the report's form; raised when a key changes its meaning or goes away, not when one is added.
pub const REPORT_VERSION: u32 = 1;

const CAUTION: &str = "These figures are an aid, not a release. \
    Confirm K or the bend deduction with a test bend of the same sheet, die and method. \
    A competent person assesses the risks; local law and, where practice is licensed, a licensed professional decide. \
    Strength, ejection, noise and heat are not checked. \
    Cut edges are sharp: deburr and wear gloves. \
    After fitting, check on the machine that no one can reach what moves, before it runs.";

/// Report on one folded sheet-metal part.
#[derive(Serialize, JsonSchema)]
#[schemars(title = "Foldwright report", inline)]
struct Report {
    /// Version of this form. Keys may be added within a version; none changes its meaning.
    format: u32,
    /// Name of the family the part belongs to.
    family: String,
    /// Values of the family's parameters by name; units as the family declares them.
    parameters: BTreeMap<String, ParameterFigure>,
    /// The sheet the part is cut from.
    sheet: SheetFigures,
    /// The flat figure that is cut.
    blank: BlankFigures,
    /// The folded part.
    folded: FoldedFigures,
    /// Its exact boundary, as in `folded.step`.
    solid: SolidFigures,
    /// Mass of the part in kg, at nominal thickness and density.
    mass_kg: f64,
    /// How many directions the free numbers could still move in with every held dimension held.
    degrees_of_freedom: usize,
    /// Values that the solver gave to the declared free numbers, by name, in mm or degrees.
    free_numbers: BTreeMap<String, f64>,
    /// What the dimensions leave open, and which of them add nothing.
    remarks: RemarkFigures,
    /// What came of the aim; left out where there is none.
    #[serde(skip_serializing_if = "Option::is_none")]
    aim: Option<AimFigures>,
    /// Outlines whose coordinates were left to the solver, in the order in which they were begun.
    sketches: Vec<SketchFigures>,
    /// Dimensions in the order in which they were asked for.
    dimensions: Vec<DimensionFigures>,
    /// Distances of the flat sheets at seams, then at corners where two flanges meet.
    gaps: Vec<GapFigures>,
    /// By how much the shop may be off to either side: what `spread` is worked out from.
    tolerances: Vec<ToleranceFigures>,
    /// Bends in the order of bending, or in that of the script if there is none; those that are made in one stroke
    /// share a number.
    bends: Vec<BendFigures>,
    /// How good the order of bending is, or what is in its way.
    bend_order: BendOrderFigures,
    /// Round holes and slots by size, the smallest first; openings that run into an edge or another opening
    /// do not count.
    holes: Vec<HoleFigures>,
    /// Formed bumps in the order in which they were asked for.
    bumps: Vec<BumpFigures>,
    /// What one part needs.
    work: WorkFigures,
    /// Blanks on the stock sheet; null if none was chosen.
    nesting: Option<NestingFigures>,
    /// Price of one part at the rates of the family; null if there are none.
    cost: Option<PriceFigures>,
    /// What the part lives with, in the order in which it was described; left out if there is nothing.
    #[serde(skip_serializing_if = "Option::is_none")]
    neighbours: Option<Vec<NeighbourFigures>>,
    /// Openings against hazards; null if no rule was chosen.
    guarding: Option<GuardingFigures>,
    /// Findings of the checks; empty if there was nothing to say.
    checks: Vec<Finding>,
    /// Every check that was made, passed or not, in the order of findings of one severity.
    rules: Vec<RuleFigures>,
    /// What the figures cannot answer for.
    caution: &'static str,
}

/// A number or a word.
#[derive(Serialize, JsonSchema)]
#[serde(untagged)]
enum ParameterFigure {
    /// A number.
    Number(f64),
    /// A word out of the family's choices.
    Word(String),
}

/// The sheet the part is cut from.
#[derive(Serialize, JsonSchema)]
struct SheetFigures {
    /// Designation of the material.
    material: &'static str,
    /// Nominal thickness in mm.
    thickness_mm: f64,
    /// Inside radius in mm of bends that have none of their own.
    inside_radius_mm: f64,
    /// Where the K-factor comes from.
    bend_rule: String,
    /// The test strips that it was fitted to; left out where it comes from something else.
    #[serde(skip_serializing_if = "Option::is_none")]
    test_strips: Option<TestStripsFigures>,
}

/// The flat figure that is cut.
#[derive(Serialize, JsonSchema)]
struct BlankFigures {
    /// Extent along x in mm.
    length_mm: f64,
    /// Extent along y in mm.
    width_mm: f64,
    /// Area in mm², openings taken off.
    area_mm2: f64,
    /// Length of all cuts in mm, outline and openings.
    cut_length_mm: f64,
    /// Number of closed cuts, each with one pierce.
    pierces: usize,
}

/// The folded part.
#[derive(Serialize, JsonSchema)]
struct FoldedFigures {
    /// Volume of metal in mm³.
    volume_mm3: f64,
    /// Whole surface in mm², cut edges included.
    surface_area_mm2: f64,
    /// Lower and upper corner `[x, y, z]` in mm of the smallest box along the base panel's axes, true
    /// for round surfaces too.
    bbox_mm: [[f64; 3]; 2],
}

/// The exact boundary of the folded part.
#[derive(Serialize, JsonSchema)]
struct SolidFigures {
    /// Number of vertices.
    vertices: usize,
    /// Number of edges.
    edges: usize,
    /// Number of faces by the kind of their surface.
    faces: FaceFigures,
}

/// Number of faces by the kind of their surface.
#[derive(Serialize, JsonSchema)]
struct FaceFigures {
    /// Planes.
    planes: usize,
    /// Cylinders.
    cylinders: usize,
    /// Cones.
    cones: usize,
    /// Tori.
    tori: usize,
    /// Cuts that cross a bend at a slant or in an arc, which are splines in `folded.step`.
    splines: usize,
}

/// One dimension.
#[derive(Serialize, JsonSchema)]
struct DimensionFigures {
    /// Its name.
    name: String,
    /// What was asked for, in `unit`; null if it is only measured.
    asked: Option<f64>,
    /// What it measures in the part, in `unit`.
    got: f64,
    /// `mm` or `deg`.
    unit: &'static str,
    /// What it measures: `inside`, `outside`, `panel width`, `angle`.
    kind: &'static str,
    /// `held` or `measured`.
    state: &'static str,
    /// How far it spreads in the shop, in `unit`.
    spread: SpreadFigures,
    /// If it is only measured, how it follows what is asked of held dimensions.
    follows: Vec<FollowFigures>,
}

/// How far a figure spreads to either side when the shop is off by its tolerances, to first order.
#[derive(Serialize, JsonSchema)]
struct SpreadFigures {
    /// With everything at its limit at once.
    worst: f64,
    /// Root of the sum of squares: the same multiple of the standard deviation that the tolerances are, if they
    /// are independent and equal multiples of theirs.
    likely: f64,
    /// What moves it most, at most five, the largest first.
    by: Vec<ContributionFigures>,
}

/// What one thing that is off adds to a spread.
#[derive(Serialize, JsonSchema)]
struct ContributionFigures {
    /// What is off, for example ``turn of bend `wall.left` ``.
    name: String,
    /// By how much the figure moves for each mm, or each degree of a turn.
    sensitivity: f64,
    /// How far it may be off, in mm or degrees.
    tolerance: f64,
    /// Its part of the square of `likely`, in percent.
    share_percent: f64,
}

/// What the dimensions leave open, and which of them add nothing.
#[derive(Serialize, JsonSchema)]
struct RemarkFigures {
    /// One for each way in which declared free numbers can still move: each number with how far it moves when the
    /// first one moves by 1.
    loose: Vec<Vec<MovedFigure>>,
    /// For each of these ways whether limits that are reached leave it open to larger values of its first number
    /// (`up`), to smaller ones (`down`), `both` or `neither`.
    loose_open: Vec<&'static str>,
    /// Dimensions and relations of outlines that follow from others.
    implied: Vec<ImpliedFigures>,
    /// Free numbers at an end of their range.
    at_bounds: Vec<AtBoundFigures>,
    /// Dimensions and relations of outlines that no free number moves; they hold by what is drawn.
    without_effect: Vec<String>,
}

/// A free number that moves.
#[derive(Serialize, JsonSchema)]
struct MovedFigure {
    /// Its name.
    free_number: String,
    /// How far it moves, in its own unit.
    by: f64,
}

/// Something asked for that follows from other things asked for.
#[derive(Serialize, JsonSchema)]
struct ImpliedFigures {
    /// What follows.
    what: String,
    /// From what.
    by: Vec<String>,
}

/// A free number that cannot go on.
#[derive(Serialize, JsonSchema)]
struct AtBoundFigures {
    /// Its name.
    free_number: String,
    /// Its value, in mm or degrees.
    value: f64,
    /// `least` or `most`.
    end: &'static str,
}

/// How a measured dimension follows a held one.
#[derive(Serialize, JsonSchema)]
struct FollowFigures {
    /// Name of the held dimension.
    dimension: String,
    /// By how much the measure moves for each unit that is asked more of it, the free numbers moving as little as
    /// they must.
    by: f64,
}

/// One gap between two panels.
#[derive(Serialize, JsonSchema)]
struct GapFigures {
    /// Name of the seam; null at a corner without one.
    seam: Option<String>,
    /// Names of the two panels.
    between: [String; 2],
    /// What was asked for, in mm.
    asked_mm: f64,
    /// Smallest distance of the flat sheets in mm.
    got_mm: f64,
    /// How far that spreads in the shop, in mm.
    spread: SpreadFigures,
}

/// By how much one kind of thing may be off.
#[derive(Serialize, JsonSchema)]
struct ToleranceFigures {
    /// `turn`, `radius`, `thickness`, `bend_place` or `cut`.
    of: &'static str,
    /// To either side, in `unit`.
    plus_minus: f64,
    /// `deg`, `mm`, or `of the radius` for a share of it.
    unit: &'static str,
    /// Where that is said: `stated`, or the source of the default.
    source: &'static str,
}

/// One sketch.
#[derive(Serialize, JsonSchema)]
struct SketchFigures {
    /// Its name.
    name: String,
    /// How many free numbers it has: coordinates of corners, and rises of arcs.
    numbers: usize,
    /// How many directions they could still move in with everything held; 3 if nothing ties it to a place.
    left_free: usize,
}

/// One bend.
#[derive(Serialize, JsonSchema)]
struct BendFigures {
    /// Name of the panel behind the bend.
    name: String,
    /// Place in the order of bending, from 1; null if there is no order.
    order: Option<usize>,
    /// Angle through which the sheet is turned, in degrees from flat.
    turn_deg: f64,
    /// `up` towards the inner face, `down` away from it.
    direction: &'static str,
    /// Radius of the inside of the bend in mm.
    inside_radius_mm: f64,
    /// Length along the bend in mm.
    length_mm: f64,
    /// Width that the bend takes in the blank, in mm.
    allowance_mm: f64,
    /// What two outside lengths lose in the blank, in mm: `a + b - flat`, with lengths to the outer mould line
    /// up to 90 degrees and to the tangent of the outer face above.
    deduction_mm: f64,
    /// Place of the neutral fibre as a share of the thickness from the inside.
    k_factor: f64,
    /// Ends `[x, y]` in mm of the bend's centre line in the blank.
    blank_line_mm: [[f64; 2]; 2],
    /// How it is set up at the brake; null if there is no order.
    setting: Option<SettingFigures>,
}

/// Holes of one size.
#[derive(Serialize, JsonSchema)]
struct HoleFigures {
    /// Thread size of the bolt that they are made for, for example `M6`; null for any other hole.
    bolt: Option<String>,
    /// `fine`, `medium` or `coarse` after ISO 273; null where `bolt` is.
    fit: Option<&'static str>,
    /// Diameter of round holes, width of slots, in mm.
    diameter_mm: f64,
    /// Length of slots over their ends in mm; the diameter for round holes.
    length_mm: f64,
    /// How many there are.
    count: usize,
    /// Names of the features that cut them.
    features: Vec<String>,
}

/// One formed bump, drawn with the thickness of the sheet everywhere.
#[derive(Serialize, JsonSchema)]
struct BumpFigures {
    /// Its name.
    name: String,
    /// Name of the panel it is pressed into.
    panel: String,
    /// `in` towards the inner face, `out` away from it.
    direction: &'static str,
    /// Distance of the flat top from the panel in mm, between faces of the same side.
    height_mm: f64,
    /// Angle of the wall from the panel's normal in degrees.
    draft_deg: f64,
    /// Radius of the punch's edge in mm.
    punch_radius_mm: f64,
    /// Radius of the die's edge in mm.
    die_radius_mm: f64,
    /// Extent `[x, y]` in mm of the foot, die fillets included, along the panel's axes.
    foot_mm: [f64; 2],
    /// Extent `[x, y]` in mm of the flat top along the panel's axes.
    top_mm: [f64; 2],
    /// Estimate of the true strain of the wall's cross-section: `ln(developed length / plan length)`.
    true_strain: f64,
    /// The same as an elongation in percent, to be compared with that of the material.
    elongation_percent: f64,
    /// Estimate of the thickness lost in the wall, in percent.
    thinning_percent: f64,
    /// What the drawn form adds to the volume of its flat panel, in mm³; the mass does not change.
    added_volume_mm3: f64,
}

/// One finding of a check.
#[derive(Serialize, JsonSchema)]
struct Finding {
    /// `module::snake_case`; never changes its meaning.
    code: &'static str,
    /// `fault`, `warning` or `note`.
    severity: &'static str,
    /// What was found, with names and numbers.
    message: String,
    /// Names of what it is about, most important first.
    about: Vec<String>,
    /// What to do about it.
    hints: Vec<String>,
    /// What was measured against which limit; null where nothing was.
    measure: Option<MeasureFigures>,
}

/// A measured number and the limit that it does not keep.
#[derive(Serialize, JsonSchema)]
struct MeasureFigures {
    /// What was measured: of several places, the worst.
    got: f64,
    /// Its limit.
    limit: f64,
    /// `at least` or `at most`: on which side of the limit it should lie.
    bound: &'static str,
    /// Unit of both.
    unit: &'static str,
    /// In how many places it is so.
    places: usize,
    /// Source of the limit, or who said it.
    source: String,
}

/// JSON Schema of the report, indented, with a line end at its end.
///
/// # Panics
/// Never: a schema is a value like any other.
#[must_use]
pub fn schema() -> String {
    let schema = schemars::schema_for!(Report);
    let mut text = serde_json::to_string_pretty(&schema).expect("a schema has only keys that are text");
    text.push('\n');
    text
}

fn write(subject: &Subject<'_>) -> Vec<u8> {
    let mut text =
        serde_json::to_string_pretty(&report(subject)).expect("a report has only keys that are text");
    text.push('\n');
    text.into_bytes()
}

fn report(subject: &Subject<'_>) -> Report {
    let history = subject.history;
    let parameters = history.parameters.iter().map(|p| {
        let value = match &p.value {
            ParameterValue::Number(number) => ParameterFigure::Number(rounded(*number)),
            ParameterValue::Word(word) => ParameterFigure::Word(word.clone()),
        };
        (p.name.clone(), value)
    });
    let declared =
        history.free_numbers.iter().zip(&subject.settled.free).filter(|(number, _)| number.sketch.is_none());
    Report {
        format: REPORT_VERSION,
        family: history.family.clone(),
        parameters: parameters.collect(),
        sheet: SheetFigures {
            material: subject.sheet.material.name,
            thickness_mm: rounded(subject.sheet.thickness.length().to_mm()),
            inside_radius_mm: rounded(subject.sheet.inside_radius.length().to_mm()),
            bend_rule: subject.sheet.bend_rule.name(),
            test_strips: test_strips_figures(&subject.sheet.bend_rule),
        },
        blank: blank_figures(subject),
        folded: folded_figures(subject),
        solid: solid_figures(subject),
        mass_kg: rounded(subject.mass_kg),
        degrees_of_freedom: subject.settled.report.degrees_of_freedom,
        free_numbers: declared.map(|(number, &value)| (number.name.clone(), answer(value))).collect(),
        remarks: remark_figures(subject.remarks),
        aim: subject.aimed.map(|aimed| aim_figures(aimed, subject.lines)),
        sketches: subject.settled.sketches.iter().map(sketch_figures).collect(),
        dimensions: dimension_figures(subject),
        gaps: subject.stack.gaps.iter().map(gap_figures).collect(),
        tolerances: tolerance_figures(&subject.stack.tolerances),
        bends: subject.bend_table.iter().map(bend_figures).collect(),
        bend_order: bend_order_figures(subject),
        holes: hole_figures(subject),
        bumps: subject.tree.forms().iter().map(|form| bump_figures(subject, form)).collect(),
        work: work_figures(&subject.estimate.work),
        nesting: subject.estimate.nesting.as_ref().map(nesting_figures),
        cost: subject.estimate.price.as_ref().map(price_figures),
        neighbours: (!subject.neighbours.is_empty()).then(|| neighbour_figures(subject)),
        guarding: subject.judged.map(guarding_figures),
        checks: subject.findings.iter().map(finding).collect(),
        rules: rule_figures(subject),
        caution: CAUTION,
    }
}

fn blank_figures(subject: &Subject<'_>) -> BlankFigures {
    let bounds = subject.blank.bounding_box();
    let size = bounds.max - bounds.min;
    BlankFigures {
        length_mm: rounded(size.x),
        width_mm: rounded(size.y),
        area_mm2: rounded(subject.blank.region.area()),
        cut_length_mm: rounded(subject.blank.cut_length()),
        pierces: subject.blank.pierces(),
    }
}

fn folded_figures(subject: &Subject<'_>) -> FoldedFigures {
    FoldedFigures {
        volume_mm3: rounded(subject.measures.volume),
        surface_area_mm2: rounded(subject.measures.surface),
        bbox_mm: subject
            .brep
            .bounding_box()
            .map_or([[0.0; 3]; 2], |corners| corners.map(|v| [v.x, v.y, v.z].map(rounded))),
    }
}

fn solid_figures(subject: &Subject<'_>) -> SolidFigures {
    let counts = subject.brep.face_counts();
    SolidFigures {
        vertices: subject.brep.vertices().len(),
        edges: subject.brep.edges().len(),
        faces: FaceFigures {
            planes: counts.planes,
            cylinders: counts.cylinders,
            cones: counts.cones,
            tori: counts.tori,
            splines: counts.rolled,
        },
    }
}

fn remark_figures(remarks: &Remarks) -> RemarkFigures {
    let moved = |(name, by): &(String, f64)| MovedFigure { free_number: name.clone(), by: rounded(*by) };
    RemarkFigures {
        loose: remarks.loose.iter().map(|loose| loose.numbers.iter().map(moved).collect()).collect(),
        loose_open: remarks.loose.iter().map(|loose| loose.open.word()).collect(),
        implied: remarks
            .implied
            .iter()
            .map(|implied| ImpliedFigures { what: implied.what.clone(), by: implied.by.clone() })
            .collect(),
        at_bounds: remarks
            .at_bounds
            .iter()
            .map(|at| AtBoundFigures {
                free_number: at.number.clone(),
                value: rounded(at.value),
                end: at.end,
            })
            .collect(),
        without_effect: remarks.without_effect.clone(),
    }
}

fn dimension_figures(subject: &Subject<'_>) -> Vec<DimensionFigures> {
    let (stack, settled) = (subject.stack, subject.settled);
    let spreads = stack.dimensions.iter().zip(&stack.follows);
    let figures = settled.dimensions.iter().zip(spreads).map(|(dimension, (spread, follows))| {
        let follow = |f: &Follow| FollowFigures { dimension: f.dimension.clone(), by: rounded(f.by) };
        DimensionFigures {
            name: dimension.name.clone(),
            asked: dimension.asked.map(rounded),
            got: answer(dimension.got),
            unit: dimension.unit,
            kind: dimension.kind,
            state: dimension.state.word(),
            spread: spread_figures(spread),
            follows: follows.iter().map(follow).collect(),
        }
    });
    figures.collect()
}

fn spread_figures(spread: &Spread) -> SpreadFigures {
    /// More are read by nobody.
    const MOST: usize = 5;
    let by = spread.contributions.iter().take(MOST).map(|c| ContributionFigures {
        name: c.name.clone(),
        sensitivity: rounded(c.sensitivity),
        tolerance: rounded(c.limit),
        share_percent: rounded(100.0 * c.share),
    });
    SpreadFigures { worst: rounded(spread.worst), likely: rounded(spread.likely), by: by.collect() }
}

fn gap_figures((gap, spread): &(Gap, Spread)) -> GapFigures {
    GapFigures {
        seam: gap.seam.clone(),
        between: gap.between.each_ref().map(ToString::to_string),
        asked_mm: rounded(gap.asked),
        got_mm: rounded(gap.got),
        spread: spread_figures(spread),
    }
}

fn tolerance_figures(tolerances: &Tolerances) -> Vec<ToleranceFigures> {
    let Tolerances { turn, radius, thickness, bend_place, cut } = *tolerances;
    let (radius, radius_unit) = match radius {
        RadiusLimit::Each(limit) => (limit, "mm"),
        RadiusLimit::Share(limit) => (limit, "of the radius"),
    };
    let figures = |of, unit, limit: Limit| ToleranceFigures {
        of,
        plus_minus: rounded(limit.value),
        unit,
        source: limit.source,
    };
    vec![
        figures("turn", "deg", turn),
        figures("radius", radius_unit, radius),
        figures("thickness", "mm", thickness),
        figures("bend_place", "mm", bend_place),
        figures("cut", "mm", cut),
    ]
}

fn sketch_figures(sketch: &SketchResult) -> SketchFigures {
    let SketchResult { name, numbers, left_free } = sketch.clone();
    SketchFigures { name, numbers, left_free }
}

fn bend_figures(row: &BendRow) -> BendFigures {
    BendFigures {
        name: row.name.to_string(),
        order: row.order,
        turn_deg: rounded(row.turn.to_deg()),
        direction: row.side.word(),
        inside_radius_mm: rounded(row.inside_radius.length().to_mm()),
        length_mm: rounded(row.length.to_mm()),
        allowance_mm: rounded(row.allowance.to_mm()),
        deduction_mm: rounded(row.deduction.to_mm()),
        k_factor: rounded(row.k_factor.value()),
        blank_line_mm: row.blank_line.map(|Point2 { x, y }| [rounded(x), rounded(y)]),
        setting: row.setting.as_ref().map(setting_figures),
    }
}

fn hole_figures(subject: &Subject<'_>) -> Vec<HoleFigures> {
    let table = hole_table(subject.history, &subject.settled.free, subject.tree, subject.blank);
    let figures = table.into_iter().map(|row| HoleFigures {
        fit: row.bolt.as_ref().map(|(_, fit)| fit.word()),
        bolt: row.bolt.map(|(bolt, _)| bolt),
        diameter_mm: rounded(row.diameter),
        length_mm: rounded(row.length),
        count: row.count,
        features: row.features.iter().map(|&f| subject.history.feature(f).name.clone()).collect(),
    });
    figures.collect()
}

fn bump_figures(subject: &Subject<'_>, form: &Form) -> BumpFigures {
    let size = |outline: &Contour| {
        let bounds = outline.bounding_box();
        [bounds.width(), bounds.height()].map(rounded)
    };
    let section = &form.section;
    BumpFigures {
        name: form.name.clone(),
        panel: subject.tree.panel(form.panel).name.to_string(),
        direction: form.side.word(),
        height_mm: rounded(section.height),
        draft_deg: rounded(section.draft * (180.0 / maths::PI)),
        punch_radius_mm: rounded(section.punch_radius),
        die_radius_mm: rounded(section.die_radius),
        foot_mm: size(form.foot()),
        top_mm: size(form.top()),
        true_strain: rounded(section.true_strain()),
        elongation_percent: rounded(100.0 * section.elongation()),
        thinning_percent: rounded(100.0 * section.thinning()),
        added_volume_mm3: rounded(form.added_volume()),
    }
}

fn finding(diagnostic: &Diagnostic) -> Finding {
    Finding {
        code: diagnostic.code,
        severity: diagnostic.severity.word(),
        message: diagnostic.message.clone(),
        about: diagnostic.origins.iter().map(|origin| origin.name.clone()).collect(),
        hints: diagnostic.hints.clone(),
        measure: diagnostic.measure.as_ref().map(|m| MeasureFigures {
            got: rounded(m.got),
            limit: rounded(m.limit),
            bound: m.bound.words(),
            unit: m.unit,
            places: m.places,
            source: m.source.clone(),
        }),
    }
}
