//! Why the flat zones cannot be made, with names and numbers.
//!
//! Invariant: every variant has a code of its own that never changes its meaning, and says what to change.

use thiserror::Error;

use crate::diag::{Diagnostic, Origin};
use crate::geom::{BooleanError, ContourError, Point2};
use crate::history::feature::CornerName;
use crate::history::{EdgeName, PanelName};
use crate::quantity::QuantityError;
use crate::stock::{BendRuleError, StockError};

use super::BumpFault;

/// A fault of the fold stage. Lengths in mm.
#[derive(Clone, Debug, PartialEq, Error)]
#[expect(missing_docs, reason = "the message of each fault says what its fields are")]
pub enum FoldFault {
    #[error(transparent)]
    Quantity(#[from] QuantityError),
    #[error("no K for the bend of `{panel}`: {problem}")]
    BendRule { panel: PanelName, problem: BendRuleError },
    #[error("the K of hem `{panel}` cannot be used: {problem}")]
    HemK { panel: PanelName, problem: StockError },
    #[error("edge `{edge}` of outline `{outline}` has no length")]
    EdgeWithoutLength { outline: String, edge: String },
    #[error("arc `{edge}` of outline `{outline}` has radius {:.3} mm, but its ends are {:.3} mm apart", radius.abs(), 2.0 * needed)]
    ArcTooSmall { outline: String, edge: String, radius: f64, needed: f64 },
    #[error("arc `{edge}` of outline `{outline}` is straight: its points lie on one line")]
    ArcThroughLine { outline: String, edge: String },
    #[error("outline `{outline}` is not closed: {problem}")]
    OutlineOpen { outline: String, problem: ContourError },
    #[error("outline `{outline}` crosses itself: `{a}` meets `{b}` at ({:.3}, {:.3})", at.x, at.y)]
    OutlineCrosses { outline: String, a: String, b: String, at: Point2 },
    #[error("edges `{a}` and `{b}` no longer meet when the bend's start is set back {depth:.3} mm")]
    NoCorner { a: EdgeName, b: EdgeName, depth: f64 },
    #[error("the corner between `{a}` and `{b}` is too flat for two bends to end at")]
    CornerTooFlat { panel: PanelName, a: EdgeName, b: EdgeName },
    #[error(
        "the round relief of flange `{panel}` is {depth:.3} mm deep; its half circle needs {needed:.3} mm"
    )]
    ReliefTooShallow { panel: PanelName, depth: f64, needed: f64 },
    #[error("the bend of `{panel}` takes up {allowance:.9} mm of the blank: too little to bend")]
    NoAllowance { panel: PanelName, allowance: f64 },
    #[error("edge `{edge}` is {length:.3} mm long, but the bends beside it take {taken:.3} mm of it")]
    EdgeEatenUp { edge: EdgeName, length: f64, taken: f64 },
    #[error(
        "flange `{panel}` has no width left on edge `{edge}`: of {edge_length:.3} mm, insets and neighbours take {taken:.3} mm"
    )]
    NoWidth { panel: PanelName, edge: EdgeName, edge_length: f64, taken: f64 },
    #[error("the relief of flange `{panel}` needs {needed:.3} mm of edge `{edge}`, {room:.3} mm are left")]
    NoRoomForRelief { panel: PanelName, edge: EdgeName, room: f64, needed: f64 },
    #[error("flanges `{a}` and `{b}` {} on one edge, their reliefs need {needed:.3} mm", room_words(*room))]
    FlangesTooNear { a: PanelName, b: PanelName, room: f64, needed: f64 },
    #[error("flange `{panel}` needs a relief beside the bend of the panel that it stands on; it has none")]
    ReliefNeeded { panel: PanelName },
    #[error("flanges `{a}` and `{b}` stand side by side on edge `{edge}`, and only one of them has no notch")]
    ReliefsDiffer { a: PanelName, b: PanelName, edge: EdgeName },
    #[error("flanges `{a}` and `{b}` ask for different corner reliefs at their common corner")]
    CornerReliefsDiffer { a: PanelName, b: PanelName },
    #[error("corner reliefs take {needed:.3} mm of the bend of flange `{panel}`, which is {room:.3} mm long")]
    NoRoomForCornerRelief { panel: PanelName, room: f64, needed: f64 },
    #[error("the {what} of the seam is {got:.3} mm; it must be at least {least} mm")]
    SeamSize { what: &'static str, got: f64, least: f64 },
    #[error("edge `{edge}` carries flange `{flange}`, so that no seam can use it")]
    SeamOnBentEdge { edge: EdgeName, flange: PanelName },
    #[error(
        "the sheets of `{edge}` and `{other}` are parallel, {apart:.3} mm from middle to middle, and meet in no line"
    )]
    SeamParallel { edge: EdgeName, other: String, apart: f64 },
    #[error("moving `{edge}` out or in brings it no nearer to `{other}`")]
    SeamAlongEdge { edge: EdgeName, other: String },
    #[error("`{edge}` never comes within {gap:.3} mm of `{other}`, however far it is moved")]
    SeamOutOfReach { edge: EdgeName, other: String, gap: f64 },
    #[error("edge `{other}` runs at {off:.3}° to the panel of `{edge}`, so that no gap can be kept along it")]
    SeamNotAlong { edge: EdgeName, other: String, off: f64 },
    #[error("`{edge}` is closed to `{to}`, whose own place is found later")]
    SeamOrder { edge: EdgeName, to: EdgeName },
    #[error("once the seams of its flange are cut, edge `{edge}` is {left:.3} mm long")]
    SeamTurnsEdge { edge: EdgeName, left: f64 },
    #[error(
        "the seam leaves flange `{panel}` nothing of edge `{edge}`: of {edge_length:.3} mm, it and what else ends the flange take {taken:.3} mm"
    )]
    SeamTakesAll { panel: PanelName, edge: EdgeName, edge_length: f64, taken: f64 },
    #[error("`{edge}` and `{other}` do not lie side by side: along the seam they are {apart:.3} mm apart")]
    SeamNotFacing { edge: EdgeName, other: EdgeName, apart: f64 },
    #[error(
        "the sides of flange `{panel}` meet {meet_at:.3} mm from the bend, before its tip at {flat:.3} mm"
    )]
    SidesMeet { panel: PanelName, flat: f64, meet_at: f64 },
    #[error(
        "edge `{edge}` of the outline of flange `{panel}` runs from y = {:.3} to y = {:.3} mm; the first edge stands on the bend, at y = 0", ends[0], ends[1]
    )]
    OutlineOffBend { panel: PanelName, edge: String, ends: [f64; 2] },
    #[error(
        "edge `{edge}` of the outline of flange `{panel}` lies as low as y = {lowest:.3} mm; the bend takes all up to y = {level:.3} mm"
    )]
    OutlineInBend { panel: PanelName, edge: String, lowest: f64, level: f64 },
    #[error(
        "flange `{panel}` comes out of its bend from x = {:.3} to {:.3} mm; edge `{edge}` that it stands on runs from 0 to {edge_length:.3} mm", feet[0], feet[1]
    )]
    WiderThanEdge { panel: PanelName, edge: EdgeName, feet: [f64; 2], edge_length: f64 },
    #[error("the line of `{line}` leaves nothing of its panel on one of its sides, or misses it")]
    LineMisses { line: PanelName },
    #[error("the line of `{line}` parts `{panel}` into {pieces} pieces")]
    PartedInPieces { line: PanelName, panel: PanelName, pieces: usize },
    #[error("the bend of `{flange}` runs into the bend of `{line}`")]
    FlangeInLineBend { flange: PanelName, line: PanelName },
    #[error("the line of an offset crosses arc `{edge}`, which cannot be stretched to the blank's size")]
    ArcCrossed { edge: EdgeName },
    #[error("an opening of `{cutout}` reaches into the bend of `{line}` at ({:.3}, {:.3}) of the flat panel", at.x, at.y)]
    OpeningInLineBend { cutout: String, line: PanelName, at: Point2 },
    #[error("`{panel}` is rolled: nothing flat lies behind its bend that another one could stand on")]
    NothingBehindRoll { panel: PanelName },
    #[error("a cut only just touches the bend of `{bend}`, so that it is neither cut nor whole")]
    CutGrazesBend { bend: PanelName },
    #[error("the outline of panel `{panel}` crosses itself at ({:.3}, {:.3}) once bends and reliefs are cut", at.x, at.y)]
    PanelCrossesItself { panel: PanelName, at: Point2 },
    #[error("the outline of a panel is not closed: {problem}")]
    PanelOpen { problem: ContourError },
    #[error("the {what} of an opening is {got:.3} mm; it must be above {above:.3} mm")]
    OpeningSize { what: &'static str, got: f64, above: f64 },
    #[error("places on panel `{panel}` cannot count from the middle: it stands on no edge")]
    NoMiddle { panel: PanelName },
    #[error(
        "{} lies outside panel `{panel}`, which spans x {:.3} to {:.3} and y {:.3} to {:.3}",
        opening_words(*index, *count, *at), least.x, most.x, least.y, most.y
    )]
    OpeningOutside { panel: PanelName, index: usize, count: usize, at: Point2, least: Point2, most: Point2 },
    #[error("{} touches the bend of `{bend}`", opening_words(*index, *count, *at))]
    OpeningTouchesBend { panel: PanelName, bend: PanelName, index: usize, count: usize, at: Point2 },
    #[error("the openings leave {} of panel `{panel}`", pieces_words(*pieces))]
    PanelInPieces { panel: PanelName, pieces: usize },
    #[error("no opening drawn on panel `{panel}` meets the blank")]
    CutMissesBlank { panel: PanelName },
    #[error("the cut does not meet panel `{missed}`, which it is asked to cut")]
    CutMissesPanel { missed: PanelName },
    #[error("the direction of the cut has no length")]
    StraightWithoutDirection,
    #[error("the direction of the cut runs along panel `{panel}`, on which its opening is drawn")]
    StraightAlongPanel { panel: PanelName },
    #[error("the cut takes away all of the bend of `{bend}`, or all that joins it to what it stands on")]
    BendCutAway { bend: PanelName },
    #[error("the openings in panel `{panel}` could not be cut: {problem}")]
    Boolean { panel: PanelName, problem: BooleanError },
    #[error("a pattern of {count:.0} openings is above the limit of {limit:.0}")]
    TooManyOpenings { count: f64, limit: f64 },
    #[error("the {what} of a pattern is {got:.3} mm; it must {must}")]
    PatternSize { what: &'static str, got: f64, must: &'static str },
    #[error("panel `{panel}` is {off:.3}° from square to the axis of `{of}`")]
    NotSquare { panel: PanelName, of: String, off: f64 },
    #[error("the head of no bolt comes nearer to panel `{panel}` than {clearance:.3} mm")]
    NothingUnder { panel: PanelName, clearance: f64 },
    #[error("a row of {length:.3} mm has no place that is {ends:.3} mm away from both its ends")]
    RowTooShort { length: f64, ends: f64 },
    #[error("the places of a ring span {got:.3}°, which is more than once around")]
    RingSpan { got: f64 },
    #[error(
        "openings of {:.3} x {:.3} mm run into each other at {}", size[0], size[1], pitches_words(pitches)
    )]
    NoWeb { pitches: Vec<f64>, size: [f64; 2] },
    #[error(
        "no opening of the fill has room on panel `{panel}`, {margin:.3} mm away from edges, bends and earlier openings"
    )]
    NothingFits { panel: PanelName, margin: f64 },
    #[error("panel `{}` has no free corner between `{}` and `{}`", corner.panel, corner.between[0], corner.between[1])]
    NoSuchCorner { corner: CornerName, free: Vec<String> },
    #[error("corner `{corner}` is broken already, by `{by}`")]
    BrokenAlready { corner: CornerName, by: String },
    #[error("there is no outer corner left to break{}", breakers_words(broken_by))]
    NothingToBreak { broken_by: Vec<String> },
    #[error("a break of {size:.3} mm has no room at corner `{corner}`: {}", room_for_break(*size, *largest))]
    Break { corner: CornerName, size: f64, largest: f64 },
    #[error(
        "between `{a}` and `{b}` {drawn:.3} mm were drawn, but the corners beside them leave {made:.3} mm"
    )]
    WidthNotAsMade { a: EdgeName, b: EdgeName, drawn: f64, made: f64 },
    #[error("the size of a corner break is {got:.3} mm; it must be above zero")]
    BreakSize { got: f64 },
    #[error("bump `{bump}` {problem}")]
    Bump { bump: String, problem: BumpFault },
}

/// What to do about an opening that meets a bend.
const KEEP_OFF_BENDS: &str =
    "keep the opening within the flat of one panel, or cut across the bend with `reach: \"blank\"`";

fn room_words(room: f64) -> String {
    if room < 0.0 { format!("overlap by {:.3} mm", -room) } else { format!("stand {room:.3} mm apart") }
}

fn opening_words(index: usize, count: usize, at: Point2) -> String {
    let which =
        if count == 1 { "the opening".to_owned() } else { format!("opening {} of {count}", index + 1) };
    format!("{which} at ({:.3}, {:.3})", at.x, at.y)
}

/// `a pitch of 4.000 mm`, or `pitches of 4.000 and 5.000 mm`.
fn pitches_words(pitches: &[f64]) -> String {
    let numbers: Vec<String> = pitches.iter().map(|pitch| format!("{pitch:.3}")).collect();
    format!("{} of {} mm", if pitches.len() == 1 { "a pitch" } else { "pitches" }, numbers.join(" and "))
}

fn pieces_words(pieces: usize) -> String {
    if pieces == 0 { "nothing".to_owned() } else { format!("{pieces} separate pieces") }
}

/// A size that can be written in a script and still fits.
fn rounded_down(size: f64) -> f64 {
    (size * 1000.0).floor() / 1000.0
}

fn room_for_break(size: f64, largest: f64) -> String {
    let most = rounded_down(largest);
    if most > 0.0 {
        format!("{:.3} mm too much, {most:.3} mm is the most", size - most)
    } else {
        "none has".to_owned()
    }
}

fn breakers_words(broken_by: &[String]) -> String {
    if broken_by.is_empty() {
        return String::new();
    }
    let names: Vec<String> = broken_by.iter().map(|name| format!("`{name}`")).collect();
    format!(": they are broken already, by {}", names.join(", "))
}

impl FoldFault {
    /// The flange that someone has to change, where the fault shows on the panel that it stands on.
    #[must_use]
    pub(super) fn flange(&self) -> Option<&PanelName> {
        match self {
            Self::NoWidth { panel, .. }
            | Self::NoRoomForRelief { panel, .. }
            | Self::CornerTooFlat { panel, .. }
            | Self::ReliefTooShallow { panel, .. }
            | Self::NoAllowance { panel, .. }
            | Self::ReliefNeeded { panel }
            | Self::OutlineOffBend { panel, .. }
            | Self::OutlineInBend { panel, .. }
            | Self::WiderThanEdge { panel, .. }
            | Self::ReliefsDiffer { b: panel, .. }
            | Self::CornerReliefsDiffer { b: panel, .. }
            | Self::NoRoomForCornerRelief { panel, .. }
            | Self::SeamTakesAll { panel, .. }
            | Self::FlangesTooNear { b: panel, .. } => Some(panel),
            Self::Quantity(_)
            | Self::BendRule { .. }
            | Self::HemK { .. }
            | Self::EdgeWithoutLength { .. }
            | Self::ArcTooSmall { .. }
            | Self::ArcThroughLine { .. }
            | Self::OutlineOpen { .. }
            | Self::OutlineCrosses { .. }
            | Self::NoCorner { .. }
            | Self::EdgeEatenUp { .. }
            | Self::SidesMeet { .. }
            | Self::SeamSize { .. }
            | Self::SeamOnBentEdge { .. }
            | Self::SeamParallel { .. }
            | Self::SeamAlongEdge { .. }
            | Self::SeamOutOfReach { .. }
            | Self::SeamNotAlong { .. }
            | Self::SeamOrder { .. }
            | Self::SeamTurnsEdge { .. }
            | Self::SeamNotFacing { .. }
            | Self::LineMisses { .. }
            | Self::PartedInPieces { .. }
            | Self::FlangeInLineBend { .. }
            | Self::ArcCrossed { .. }
            | Self::CutGrazesBend { .. }
            | Self::OpeningInLineBend { .. }
            | Self::NothingBehindRoll { .. }
            | Self::PanelCrossesItself { .. }
            | Self::PanelOpen { .. }
            | Self::OpeningSize { .. }
            | Self::NoMiddle { .. }
            | Self::OpeningOutside { .. }
            | Self::OpeningTouchesBend { .. }
            | Self::PanelInPieces { .. }
            | Self::CutMissesBlank { .. }
            | Self::CutMissesPanel { .. }
            | Self::StraightWithoutDirection
            | Self::StraightAlongPanel { .. }
            | Self::BendCutAway { .. }
            | Self::Boolean { .. }
            | Self::TooManyOpenings { .. }
            | Self::PatternSize { .. }
            | Self::NotSquare { .. }
            | Self::NothingUnder { .. }
            | Self::RowTooShort { .. }
            | Self::RingSpan { .. }
            | Self::NoWeb { .. }
            | Self::NothingFits { .. }
            | Self::NoSuchCorner { .. }
            | Self::Break { .. }
            | Self::BrokenAlready { .. }
            | Self::NothingToBreak { .. }
            | Self::WidthNotAsMade { .. }
            | Self::BreakSize { .. }
            | Self::Bump { .. } => None,
        }
    }

    /// The finding for whoever wrote the feature.
    #[must_use]
    pub fn diagnose(&self, origin: Origin) -> Diagnostic {
        let (code, hint) = self.code_and_hint();
        let finding = Diagnostic::fault(code, self.to_string(), origin);
        match hint {
            Some(hint) => finding.hint(hint),
            None => finding,
        }
    }

    fn code_and_hint(&self) -> (&'static str, Option<String>) {
        match self {
            Self::Quantity(_) => ("fold::bad_quantity", None),
            Self::BendRule { .. } => (
                "fold::no_k_factor",
                Some("choose a bend rule that covers this thickness, radius and turn".into()),
            ),
            Self::HemK { .. } => ("fold::hem_k", Some("give a K between 0 and 1, or leave it out".into())),
            Self::EdgeWithoutLength { .. } => {
                ("fold::edge_without_length", Some("remove the doubled corner".into()))
            }
            Self::ArcTooSmall { needed, .. } => {
                ("fold::arc_too_small", Some(format!("the radius must be at least {needed:.3} mm")))
            }
            Self::ArcThroughLine { .. } => ("fold::arc_is_straight", Some("draw a line instead".into())),
            Self::OutlineOpen { .. } => ("fold::outline_open", None),
            Self::OutlineCrosses { .. } => (
                "fold::outline_crosses_itself",
                Some("go round the outline in one direction without crossing it".into()),
            ),
            Self::NoCorner { .. } => (
                "fold::edges_do_not_meet",
                Some("make the panel larger, or the bend's radius smaller".into()),
            ),
            Self::CornerTooFlat { .. } => (
                "fold::corner_too_flat",
                Some("give one of the two flanges an inset there, or draw the two edges as one".into()),
            ),
            Self::ReliefTooShallow { .. } => {
                ("fold::relief_too_shallow", Some("make the relief deeper or narrower, or square".into()))
            }
            Self::NoAllowance { .. } => {
                ("fold::no_allowance", Some("make the inside radius, K or the turn larger".into()))
            }
            Self::EdgeEatenUp { .. } => (
                "fold::edge_eaten_up",
                Some("make the edge longer, or let the flanges beside it hold `bend start`".into()),
            ),
            Self::NoWidth { .. } => ("fold::flange_without_width", Some("make the insets smaller".into())),
            Self::NoRoomForRelief { .. } => {
                ("fold::no_room_for_relief", Some("make the inset larger or the relief narrower".into()))
            }
            Self::FlangesTooNear { .. } => (
                "fold::flanges_too_near",
                Some("give them insets that part them, or narrower reliefs".into()),
            ),
            Self::ReliefNeeded { .. } => (
                "fold::relief_needed",
                Some("let the sheet be cut or torn there: `square`, `round` or `tear`".into()),
            ),
            Self::ReliefsDiffer { .. } => {
                ("fold::reliefs_differ", Some("give both the relief `none`, or neither".into()))
            }
            Self::CornerReliefsDiffer { .. } => (
                "fold::corner_reliefs_differ",
                Some("give both the same shape and size, or leave it out on one of them".into()),
            ),
            Self::NoRoomForCornerRelief { .. } => (
                "fold::no_room_for_corner_relief",
                Some("make the corner reliefs smaller or the flange wider".into()),
            ),
            Self::SeamSize { .. } => ("fold::seam_size", None),
            Self::SeamOnBentEdge { .. } => (
                "fold::seam_on_bent_edge",
                Some("make the seam at the edges of the flange that stands on it".into()),
            ),
            Self::SeamParallel { .. } => (
                "fold::seam_between_parallel_faces",
                Some("name edges of flanges whose planes cross, or close the one edge to the other".into()),
            ),
            Self::SeamAlongEdge { .. } => {
                ("fold::seam_along_edge", Some("name the edges that come near to each other".into()))
            }
            Self::SeamOutOfReach { .. } => {
                ("fold::seam_out_of_reach", Some("name the edges that come near to each other".into()))
            }
            Self::SeamNotAlong { .. } => {
                ("fold::seam_not_along", Some("let the two meet, or close the edge to the panel".into()))
            }
            Self::SeamOrder { .. } => {
                ("fold::seam_order", Some("ask for this seam after the one it depends on".into()))
            }
            Self::SeamTakesAll { .. } => (
                "fold::seam_takes_all",
                Some("name the two ends that are at one corner: `left` and `right` are as seen from a flange's inner face with its bend below".into()),
            ),
            Self::SeamTurnsEdge { .. } => (
                "fold::seam_turns_edge",
                Some("make the flange longer or wider, or name other edges for its seams".into()),
            ),
            Self::SeamNotFacing { .. } => {
                ("fold::seam_not_facing", Some("name edges of flanges that stand beside each other".into()))
            }
            Self::SidesMeet { .. } => {
                ("fold::flange_sides_meet", Some("make the tapers smaller or the flange shorter".into()))
            }
            Self::OutlineOffBend { .. } => (
                "fold::outline_off_bend",
                Some("begin the outline at y = 0 and let its first edge run along y = 0".into()),
            ),
            Self::OutlineInBend { level, .. } => (
                "fold::outline_in_bend",
                Some(format!(
                    "keep all but the first edge, and the feet of the two edges beside it, above y = {level:.3} mm"
                )),
            ),
            Self::WiderThanEdge { .. } => (
                "fold::wider_than_edge",
                Some("draw it narrower there; farther from the bend it may be wider than the edge".into()),
            ),
            Self::LineMisses { .. } => (
                "fold::line_misses_panel",
                Some("move the line so that flat sheet is left on both sides of its bends".into()),
            ),
            Self::PartedInPieces { .. } => (
                "fold::parted_in_pieces",
                Some("move the line, or change the outline, so that it is parted once".into()),
            ),
            Self::FlangeInLineBend { .. } => {
                ("fold::flange_in_line_bend", Some("move the line away, or give the flange an inset".into()))
            }
            Self::ArcCrossed { .. } => (
                "fold::arc_crossed",
                Some(
                    "let the offset keep the blank's size (`keeps: \"blank\"`), or move the line off the arc"
                        .into(),
                ),
            ),
            Self::NothingBehindRoll { .. } => {
                ("fold::nothing_behind_roll", Some("use an open hem, or a flange of its own".into()))
            }
            Self::CutGrazesBend { .. } => {
                ("fold::cut_grazes_bend", Some("move the cut a little, in either direction".into()))
            }
            Self::OpeningInLineBend { .. } => ("fold::opening_touches_bend", Some(KEEP_OFF_BENDS.into())),
            Self::PanelCrossesItself { .. } => {
                ("fold::panel_crosses_itself", Some("make the reliefs smaller or the panel larger".into()))
            }
            Self::PanelOpen { .. } => ("fold::panel_open", None),
            Self::OpeningSize { above, .. } => (
                "fold::opening_size",
                (*above > 0.0)
                    .then(|| "a slot is longer than it is wide; for a round opening use `circle`".into()),
            ),
            Self::NoMiddle { .. } => {
                ("fold::no_middle", Some("on the base panel, places count as its outline was drawn".into()))
            }
            Self::OpeningOutside { .. } => (
                "fold::opening_outside",
                Some("move the opening onto the panel, or name the panel it belongs to".into()),
            ),
            Self::OpeningTouchesBend { .. } => ("fold::opening_touches_bend", Some(KEEP_OFF_BENDS.into())),
            Self::PanelInPieces { pieces: 0, .. } => {
                ("fold::panel_in_pieces", Some("make the opening smaller than the panel".into()))
            }
            Self::PanelInPieces { .. } => {
                ("fold::panel_in_pieces", Some("leave a web between the openings".into()))
            }
            Self::CutMissesBlank { .. } => (
                "fold::cut_removes_nothing",
                Some("move the opening onto the sheet, or name the panel that it was meant for".into()),
            ),
            Self::CutMissesPanel { .. } => (
                "fold::cut_misses_panel",
                Some("leave the panel out of `panels`, or move the opening in front of it".into()),
            ),
            Self::StraightWithoutDirection => (
                "fold::cut_without_direction",
                Some("give `along` three numbers that are not all zero, or leave it out to cut square to the panel".into()),
            ),
            Self::StraightAlongPanel { .. } => (
                "fold::cut_along_panel",
                Some("draw the opening on a panel that faces the direction of the cut".into()),
            ),
            Self::BendCutAway { .. } => {
                ("fold::bend_cut_away", Some("make the opening smaller than the bend is long".into()))
            }
            Self::Boolean { .. } => ("fold::opening_not_cut", None),
            Self::TooManyOpenings { .. } => {
                ("fold::too_many_openings", Some("check pitches and the numbers of rows and columns".into()))
            }
            Self::PatternSize { .. } => ("fold::pattern_size", None),
            Self::NotSquare { .. } => (
                "fold::not_square",
                Some("turn the panel square to the axis, or set places by coordinates".into()),
            ),
            Self::NothingUnder { .. } => (
                "fold::nothing_under",
                Some("leave the bump out, or name bolts whose heads reach the panel".into()),
            ),
            Self::RowTooShort { .. } => {
                ("fold::row_too_short", Some("make the row longer or `ends` smaller".into()))
            }
            Self::RingSpan { .. } => ("fold::ring_span", Some("a span is from -360 to 360 degrees".into())),
            Self::NoWeb { .. } => {
                ("fold::no_web", Some("make the pitch larger or the openings smaller".into()))
            }
            Self::NothingFits { .. } => (
                "fold::nothing_fits",
                Some("make the margin or the opening smaller, or the area larger".into()),
            ),
            Self::NoSuchCorner { free, .. } => (
                "fold::no_such_corner",
                Some(format!(
                    "free corners of this panel: {}",
                    free.iter().map(|corner| format!("`{corner}`")).collect::<Vec<_>>().join(", ")
                )),
            ),
            Self::WidthNotAsMade { .. } => (
                "fold::width_not_as_made",
                Some(
                    "give the flange insets, or hold the inside or outside distance of its neighbours".into(),
                ),
            ),
            Self::Break { .. } => (
                "fold::break_does_not_fit",
                Some("make the break smaller, or break this corner by itself: of all outer corners, `except` leaves some out".into()),
            ),
            Self::BrokenAlready { .. } => (
                "fold::corner_broken_already",
                Some("leave it out here, or change the feature that breaks it".into()),
            ),
            Self::NothingToBreak { broken_by } => (
                "fold::nothing_to_break",
                Some(
                    if broken_by.is_empty() {
                        "leave the feature out; corners at bends and beside reliefs are no outer corners"
                    } else {
                        "leave the feature out, or put it before those that name their corners"
                    }
                    .into(),
                ),
            ),
            Self::BreakSize { .. } => ("fold::break_size", None),
            Self::Bump { problem, .. } => problem.code_and_hint(),
        }
    }
}
