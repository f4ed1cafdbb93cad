//! Openings held against hazards by the rule that the user chose.
//!
//! Job: for each opening and each hazard the reach, what the rule asks, and a finding where it is not kept. An
//! opening that a neighbour nearly closes is judged by the slot that is left. Invariant: a doubt goes to the safer
//! side: the straight way is never longer than that of a hand, figures that contain are never smaller than the
//! opening. Must not know: how tables were read, any output format.

use crate::diag::{Bound, Diagnostic, Measure, Severity};
use crate::fold::{FoldFractions, FoldTree};
use crate::geom::{Box3, Vec3, place_in_words};
use crate::guarding::{
    Filling, OpeningRule, OpeningShape, Outcome, ReachOver, Risk, Source, Status, Verdict, reach_over,
    verdict,
};
use crate::history::{GuardRule, GuardingSpec, RiskSpec};
use crate::ident::PanelId;
use crate::machine::Neighbour;
use crate::quantity::{Length, tolerance};
use crate::solid::Metal;

use super::closing::{Stretch, left_open, reach_from, widest};
use super::near::{Reach, is_blocked, over, reach};
use super::rim::CHORD_MM;
use super::{Opening, OpeningKind, openings};

/// Openings of a cover with what was found about them.
#[derive(Clone, Debug)]
pub struct Judged {
    /// Every opening, in the order of [`openings`].
    pub openings: Vec<JudgedOpening>,
}

/// An opening, or several equal ones, against each hazard.
#[derive(Clone, Debug)]
pub struct JudgedOpening {
    /// The opening.
    pub opening: Opening,
    /// How many of its places neighbours close altogether.
    pub closed: usize,
    /// For each hazard the worst place, those that a neighbour nearly closes apart.
    pub judgements: Vec<Judgement>,
}

/// The worst of equal openings against one hazard.
#[derive(Clone, Debug)]
pub struct Judgement {
    /// Name of the hazard.
    pub hazard: String,
    /// How many places it is the worst of.
    pub places: usize,
    /// The neighbour that leaves only a gap of the opening, if one does.
    pub beside: Option<String>,
    /// What passes, as the table sees it.
    pub shape: OpeningShape,
    /// The way to the hazard.
    pub reach: Reach,
    /// Whether metal stands in the straight way, so that a hand has farther to go.
    pub is_blocked: bool,
    /// What the table says.
    pub verdict: Verdict,
    /// What the table for reaching over says, where it takes the place of that for openings and the floor is known.
    pub over: Option<ReachOver>,
}

impl Judgement {
    /// What came out in the end.
    #[must_use]
    pub fn outcome(&self) -> Outcome {
        self.over.as_ref().map_or(self.verdict.outcome, |over| over.outcome)
    }

    /// The distance at hand: the straight way, or the one across where the table for reaching over judges.
    #[must_use]
    pub fn got(&self) -> Length {
        self.over.as_ref().map_or(self.verdict.got, |over| over.got)
    }

    /// The distance that is needed, if one is enough.
    #[must_use]
    pub fn needs(&self) -> Option<Length> {
        self.over.as_ref().map_or_else(|| self.verdict.needs(), |over| over.needs)
    }

    /// The table that judges.
    #[must_use]
    pub fn source(&self) -> &'static Source {
        self.over.as_ref().map_or(self.verdict.required.source, |over| over.source)
    }

    /// Whether what judges was read.
    #[must_use]
    pub fn status(&self) -> Status {
        self.over.as_ref().map_or(self.verdict.required.status, |over| over.source.status)
    }
}

/// Judges every opening of the folded cover, and says what a safety engineer would; `metal` is that of the cover, and
/// only needed where there are neighbours.
#[must_use]
pub fn judge(
    tree: &FoldTree,
    metal: Option<&Metal<'_>>,
    neighbours: &[Neighbour],
    spec: &GuardingSpec,
) -> (Judged, Vec<Diagnostic>) {
    let rule = rule_of(spec.rule, Length::mm(tree.thickness()));
    let judged = openings(tree).into_iter().map(|opening| {
        let mut closed = 0;
        let mut free = Vec::new();
        let mut gaps = Vec::new();
        for place in 0..opening.count() {
            let choices = left_open(&opening, place, neighbours, opening.measures.shape.narrow().to_mm());
            if choices.is_empty() {
                free.push(place);
            } else if choices.iter().any(|gap| widest(gap) <= tolerance::COLLISION_MM) {
                closed += 1;
            } else {
                gaps.push((place, choices));
            }
        }
        let mut judgements = Vec::new();
        for hazard in neighbours.iter().filter(|neighbour| neighbour.is_hazard) {
            let judged = |shape: OpeningShape, reach: Reach, places: usize, beside: Option<String>| {
                let verdict = verdict(rule, &shape, Length::mm(reach.distance));
                let over = (verdict.outcome == Outcome::ByReachOver)
                    .then(|| reached_over(&opening, hazard, spec))
                    .flatten();
                let hazard = hazard.name.clone();
                Judgement { hazard, places, beside, shape, reach, is_blocked: false, verdict, over }
            };
            let free = reach(&opening, &free, hazard)
                .map(|reach| judged(opening.measures.shape, reach, free.len(), None));
            // Narrow places need less room, so that each stretch of a gap is judged for itself. Whatever chords are
            // chosen, what is told is true: the choice with most to spare counts.
            let left = gaps.iter().filter_map(|(place, choices)| {
                let long = around(&opening, *place);
                let by_stretch = |stretch: &Stretch| {
                    let width = stretch.width + CHORD_MM;
                    let reach = reach_from(stretch, hazard)?;
                    let shape = OpeningShape::slot(Length::mm(width), Length::mm(long.max(width)));
                    Some(judged(shape, reach, gaps.len(), Some(neighbours[stretch.neighbour].name.clone())))
                };
                let by_choice =
                    choices.iter().filter_map(|gap| gap.iter().filter_map(by_stretch).reduce(worse));
                by_choice.reduce(|a, b| if spare(&a) < spare(&b) { b } else { a })
            });
            for mut judgement in free.into_iter().chain(left.reduce(worse)) {
                judgement.is_blocked = metal.is_some_and(|metal| is_blocked(metal, &judgement.reach));
                judgements.push(judgement);
            }
        }
        JudgedOpening { opening, closed, judgements }
    });
    let judged = Judged { openings: judged.collect() };
    let findings = judged.findings(tree, neighbours, spec);
    (judged, findings)
}

/// By how much a judgement keeps its distance, in mm; below all bounds where none is enough.
fn spare(judgement: &Judgement) -> f64 {
    judgement.verdict.margin().map_or(f64::NEG_INFINITY, Length::to_mm)
}

/// The one with less to spare.
fn worse(a: Judgement, b: Judgement) -> Judgement {
    if spare(&b) < spare(&a) { b } else { a }
}

fn rule_of(rule: GuardRule, thickness: Length) -> OpeningRule {
    match rule {
        GuardRule::Iso13857Arms => OpeningRule::Iso13857UpperLimbs,
        GuardRule::Iso13857Legs => OpeningRule::Iso13857LowerLimbs,
        GuardRule::Cfr1910_217 => OpeningRule::Osha1910_217,
        GuardRule::Cfr1910_219 => OpeningRule::Osha1910_219(Filling::PerforatedMetal, thickness),
    }
}

/// Length of the outline of an opening at one place.
fn around(opening: &Opening, place: usize) -> f64 {
    let outline = opening.outline(place);
    (0..outline.len()).map(|i| (outline[(i + 1) % outline.len()] - outline[i]).length()).sum()
}

/// The worst that the table for reaching over says of the heights at which the hazard stands; none where the floor
/// is unknown.
fn reached_over(opening: &Opening, hazard: &Neighbour, spec: &GuardingSpec) -> Option<ReachOver> {
    let floor = spec.floor?;
    let [x, y, z] = floor.up;
    let up = Vec3::new(x, y, z);
    let up = up.times(1.0 / up.length());
    let (horizontal, barrier, [low, high]) = over(opening, hazard, up)?;
    let risk = match spec.risk {
        RiskSpec::Low => Risk::Low,
        RiskSpec::High => Risk::High,
    };
    let [low, high] = [low, high].map(|height| height + floor.below);
    let between = risk.table().rows.iter().map(|(height, _)| *height).filter(|h| (low..=high).contains(h));
    let asked = |height: f64| {
        reach_over(risk, Length::mm(height), Length::mm(barrier + floor.below), Length::mm(horizontal))
    };
    let rank = |over: &ReachOver| {
        let outcome = match over.outcome {
            Outcome::Passes => 0,
            Outcome::NeedsFurtherMeasures => 1,
            Outcome::ByReachOver => 2,
            Outcome::NotCovered => 3,
            Outcome::Fails => 4,
        };
        (outcome, over.needs.map_or(0.0, Length::to_mm))
    };
    [low, high].into_iter().chain(between).map(asked).max_by(|a, b| {
        let (a, b) = (rank(a), rank(b));
        a.0.cmp(&b.0).then(a.1.total_cmp(&b.1))
    })
}

impl Judged {
    /// What a safety engineer would say on seeing the openings, in their order.
    #[must_use]
    pub fn findings(
        &self,
        tree: &FoldTree,
        neighbours: &[Neighbour],
        spec: &GuardingSpec,
    ) -> Vec<Diagnostic> {
        let mut found = Vec::new();
        if !neighbours.iter().any(|neighbour| neighbour.is_hazard) {
            let message = "openings are to be judged, but no neighbour is a hazard".to_owned();
            found.push(
                Diagnostic::warning("guard::no_hazard", message, spec.origin())
                    .hint("say `hazard: true` of the neighbour that hurts who reaches it"),
            );
        }
        found.extend(self.openings.iter().flat_map(|judged| {
            judged.judgements.iter().filter_map(|judgement| finding(&judged.opening, judgement))
        }));
        let around = guarded(tree, neighbours);
        for hazard in neighbours.iter().filter(|neighbour| neighbour.is_hazard) {
            if let (Some(extent), Some(around)) = (hazard.extent(), around)
                && around.union(extent) != around
            {
                let message = format!(
                    "hazard `{}` reaches beyond the box around cover and standing neighbours: what is outside is \
                     not guarded by this part",
                    hazard.name
                );
                found.push(
                    Diagnostic::warning("guard::hazard_outside", message, spec.origin())
                        .hint("make the cover longer, guard the rest by another part, or describe the rest of the machine"),
                );
            }
        }
        found
    }
}

/// The box around the cover and the neighbours that are no hazard.
fn guarded(tree: &FoldTree, neighbours: &[Neighbour]) -> Option<Box3> {
    let frames = tree.placements(&FoldFractions::all(tree, 1.0));
    let frame = |panel: PanelId| frames[panel.index()];
    let panels =
        tree.panels().iter().map(|panel| Box3::of_flat(frame(panel.id), panel.region.bounding_box()));
    let harmless = neighbours.iter().filter(|neighbour| !neighbour.is_hazard);
    panels.chain(harmless.filter_map(Neighbour::extent)).reduce(Box3::union)
}

fn finding(opening: &Opening, judgement: &Judgement) -> Option<Diagnostic> {
    if judgement.outcome() == Outcome::Passes {
        return None;
    }
    let Judgement { hazard, verdict, .. } = judgement;
    let mut what = opening.name.clone();
    if judgement.places > 1 {
        what = format!("{what} ({} alike)", judgement.places);
    }
    if let Some(beside) = &judgement.beside {
        what = format!("the gap that `{beside}` leaves of {what}");
    }
    let at = format!("at {}", place_in_words(judgement.reach.from, 1));
    let said = &verdict.required;
    let by = format!("{}; {}; {}", said.row, said.source, said.status.text());
    let way = if judgement.is_blocked { ", straight through metal" } else { "" };
    let got = judgement.reach.distance;
    let diagnostic = |code, severity, message| Diagnostic {
        severity,
        ..Diagnostic::fault(code, message, opening.origin.clone())
    };
    let too_near = |got: f64, needs: f64, source: String, message: String| {
        let mut found = diagnostic("guard::reach_too_short", Severity::Fault, message);
        found.measure = Some(Box::new(Measure {
            got,
            limit: needs,
            bound: Bound::AtLeast,
            unit: "mm",
            places: judgement.places,
            source,
        }));
        found
    };
    let wider = "make it smaller, or put more room between it and the hazard";
    match (judgement.outcome(), &judgement.over) {
        (Outcome::Passes, _) => None,
        (Outcome::Fails, None) => {
            let needs = verdict.needs()?.to_mm();
            let message = format!(
                "through {what} {at}, `{hazard}` is {got:.2} mm away{way}, at least {needs:.2} mm ({by}): {:.2} mm too near",
                needs - got
            );
            Some(too_near(got, needs, by, message).hint(wider))
        }
        (Outcome::Fails, Some(over)) => {
            let needs = over.needs?.to_mm();
            let got = over.got.to_mm();
            let message = format!(
                "over the edge of {what}, `{hazard}` is {got:.2} mm away across, at least {needs:.2} mm ({}): {:.2} mm too near",
                over.source,
                needs - got
            );
            Some(too_near(got, needs, over.source.to_string(), message).hint("close it, or make its edge higher"))
        }
        (Outcome::NeedsFurtherMeasures, _) => Some(
            diagnostic(
                "guard::further_measures",
                Severity::Warning,
                format!("the edge of {what} is so low that distance to `{hazard}` is not enough by itself"),
            )
            .hint("make its edge higher, or take further measures as the standard asks"),
        ),
        (Outcome::ByReachOver, _) => Some(
            diagnostic(
                "guard::floor_unknown",
                Severity::Warning,
                format!("{what} {at} lets a whole arm pass towards `{hazard}`, {got:.2} mm away, and where the floor is was not said ({by})"),
            )
            .hint("close it by a neighbour, or say `up` and `floor_below` in `guarding`"),
        ),
        (Outcome::NotCovered, over) => {
            let by = over.as_ref().map_or(by, |over| over.source.to_string());
            let message = format!("{what} {at} towards `{hazard}`, {got:.2} mm away{way}, is in no row of the table ({by})");
            Some(diagnostic("guard::not_covered", Severity::Fault, message).hint(wider))
        }
    }
}

impl OpeningKind {
    /// A word or two for reports.
    #[must_use]
    pub fn word(self) -> &'static str {
        match self {
            Self::Hole => "hole",
            Self::AcrossBends => "hole across bends",
            Self::Seam => "seam",
            Self::CornerRelief => "corner relief",
            Self::OpenSide => "open side",
        }
    }
}
