//! Whether one stroke can be made on a half-folded part, and how.
//!
//! Job: for what is done and a choice of stroke, wing at the gauge and tool pair, the first thing in the way, or
//! length of the tools and place of the gauge. Invariant: an answer hangs on what is done only through the zones
//! that it moves, and is remembered so. Must not know: costs, which order is sought.
//!
//! Gauge fingers are looked at before the stroke only: they draw back once the punch holds the sheet (common
//! practice). How a part is put between the tools and taken out is not looked at.

use std::collections::HashMap;

use crate::fold::FoldTree;
use crate::geom::{Point2, Segment, convex_hull, convex_pieces};
use crate::ident::PanelId;
use crate::quantity::{maths, tolerance};
use crate::solid::Zone;
use crate::stock::{Die, Punch, Sheet, ShopLimits, Tooling, turn_under_load};

use super::cell::Section;
use super::sweep::{Stroke, Tool, ToolPiece, Towards, lying_meets_tool, meets_tool, wings_meet};
use super::wings::{Mask, Wing, Wings};

/// Turns beyond are begun as far as acute tools go, springback included, and closed in a second hit between flats
/// (common practice).
pub(super) const CLOSED_FROM_RAD: f64 = 145.0 * maths::PI / 180.0;

/// How far acute tools of 30° turn the sheet, in rad.
const FARTHEST_RAD: f64 = 150.0 * maths::PI / 180.0;

/// How many punches are tried for one bend.
const MOST_PAIRS: usize = 3;

/// How far beyond the ends of a bend its tools may stand out, in mm: one short segment.
const OVERHANG_MM: f64 = 10.0;

/// Shortest edge that the gauge can hold a sheet by, in mm (common practice, no source).
const LEAST_CONTACT_MM: f64 = 10.0;

/// A punch and a die, by their places in the shop's lists.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct ToolPair {
    /// Index of the punch.
    pub punch: usize,
    /// Index of the die.
    pub die: usize,
}

/// One way to make a stroke.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub struct Choice {
    /// Which stroke.
    pub stroke: usize,
    /// The wing that lies at the back, against the gauge.
    pub back: Wing,
    /// The tools.
    pub tools: ToolPair,
}

/// What keeps a stroke from being made.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Block {
    /// A zone meets a tool.
    Tool {
        /// The zone.
        zone: Zone,
        /// What it meets.
        tool: Tool,
    },
    /// Zones of the two wings meet.
    Itself {
        /// One zone in each wing.
        zones: [Zone; 2],
    },
    /// Tools as long as the bend find no room beside a zone.
    Room {
        /// The zone beside the bend.
        zone: Zone,
        /// Room for the tools along the bend in mm.
        clear: f64,
        /// Least length of the tools in mm.
        needed: f64,
    },
    /// No segments add up to a length between these, in mm.
    Segments {
        /// Least length of the tools.
        needed: f64,
        /// Room for them.
        clear: f64,
    },
}

/// Where the back gauge stands.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Gauge {
    /// Distance from the middle of the bend in mm.
    pub distance: f64,
    /// The panel whose edge, or the bend whose outer face, lies against it.
    pub against: Zone,
}

/// How a stroke is made.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Step {
    /// Length of punch and die in mm.
    pub tool_length: f64,
    /// The gauge; none if no straight edge can be reached, so that the bend is laid to a marked line.
    pub gauge: Option<Gauge>,
    /// Zones that touch while the bend is turned too far for its springback, and are free again afterwards.
    pub rubs: Option<[Zone; 2]>,
}

/// What is known of a stroke before any order.
#[derive(Clone, Debug)]
pub(super) struct StrokeFacts {
    /// Tool pairs in the order of preference.
    pub(super) pairs: Vec<ToolPair>,
    /// Half of the turn that was asked for, in rad, and of that under load.
    pub(super) half: [f64; 2],
    /// Width of the strip and place of the neutral fibre in mm.
    pub(super) motion: [f64; 2],
    pub(super) span: [f64; 2],
    contacts: Vec<Contact>,
}

/// A straight edge parallel to the bend that the gauge may hold.
#[derive(Clone, Copy, Debug)]
pub(super) struct Contact {
    wing: Wing,
    /// Strokes that must be flat, and those that must be made.
    flat: Mask,
    made: Mask,
    /// Distance from the wing's start in mm.
    pub(super) away: f64,
    along: [f64; 2],
    /// Heights of a finger over the die at which it meets the edge, in mm.
    height: [f64; 2],
    against: Zone,
}

/// What a zone does to the tools of a stroke.
#[derive(Clone, Debug, Default)]
struct Verdict {
    blocked: Option<Tool>,
    /// Where along the bend it needs the place of punch or die.
    stands: Vec<([f64; 2], Tool)>,
}

/// Whether two zones of the wings meet.
#[derive(Clone, Copy, Debug, PartialEq)]
enum Meeting {
    Never,
    Overbent,
    Before,
}

type VerdictKey = (usize, usize, Mask, ToolPair, Towards);

/// Answers for one part on one brake.
pub(super) struct Steps<'a> {
    pub(super) wings: Wings<'a>,
    tooling: &'a Tooling,
    pub(super) facts: Vec<StrokeFacts>,
    pieces: HashMap<ToolPair, Vec<ToolPiece>>,
    verdicts: HashMap<VerdictKey, Verdict>,
    meetings: HashMap<(usize, usize, usize, Mask), Meeting>,
    /// Lengths in whole mm that segments add up to.
    lengths: Vec<bool>,
}

impl<'a> Steps<'a> {
    pub(super) fn new(tree: &'a FoldTree, sheet: &Sheet, limits: &ShopLimits, tooling: &'a Tooling) -> Self {
        let wings = Wings::new(tree);
        let facts: Vec<StrokeFacts> =
            (0..wings.strokes.len()).map(|stroke| facts(&wings, stroke, sheet, limits, tooling)).collect();
        let mut pieces = HashMap::new();
        for pair in facts.iter().flat_map(|f| &f.pairs) {
            pieces.entry(*pair).or_insert_with(|| tool_pieces(tooling, *pair));
        }
        Self {
            wings,
            tooling,
            facts,
            pieces,
            verdicts: HashMap::new(),
            meetings: HashMap::new(),
            lengths: lengths(tooling),
        }
    }

    pub(super) fn count(&self) -> usize {
        self.facts.len()
    }

    /// Every way to make a stroke, the preferred one first.
    pub(super) fn choices(&self, stroke: usize) -> Vec<Choice> {
        let pairs = self.facts[stroke].pairs.iter();
        pairs
            .flat_map(|tools| [Wing::Parent, Wing::Child].map(|back| Choice { stroke, back, tools: *tools }))
            .collect()
    }

    pub(super) fn motion(&self, choice: &Choice) -> Stroke {
        let [allowance, neutral] = self.facts[choice.stroke].motion;
        let opening = self.tooling.dies[choice.tools.die].opening;
        Stroke { allowance, neutral, thickness: self.wings.tree.thickness(), opening }
    }

    /// Tries a stroke with the strokes `done` made and all others flat.
    pub(super) fn step(&mut self, done: Mask, choice: &Choice) -> Result<Step, Block> {
        let tool_length = self.tools(done, choice)?;
        let rubs = self.wings_apart(done, choice.stroke)?;
        Ok(Step { tool_length, gauge: self.gauge(done, choice), rubs })
    }

    /// Length of the tools, if no zone is in their way.
    fn tools(&mut self, done: Mask, choice: &Choice) -> Result<f64, Block> {
        let span = self.facts[choice.stroke].span;
        let middle = 0.5 * (span[0] + span[1]);
        let mut room = [span[0] - OVERHANG_MM, span[1] + OVERHANG_MM];
        let mut narrowed = None;
        for zone in 0..self.wings.zones.len() {
            let Some((wing, mask)) = self.wings.sides[choice.stroke][zone] else { continue };
            let towards = if wing == choice.back { Towards::Back } else { Towards::Front };
            let key = (choice.stroke, zone, done & mask, choice.tools, towards);
            if !self.verdicts.contains_key(&key) {
                let verdict = self.verdict(zone, wing, key, choice);
                self.verdicts.insert(key, verdict);
            }
            let verdict = &self.verdicts[&key];
            let zone = self.wings.zones[zone].zone;
            if let Some(tool) = verdict.blocked {
                return Err(Block::Tool { zone, tool });
            }
            for ([from, to], tool) in &verdict.stands {
                if *to <= middle {
                    if *to > room[0] {
                        room[0] = *to;
                        narrowed = Some(zone);
                    }
                } else if *from >= middle {
                    if *from < room[1] {
                        room[1] = *from;
                        narrowed = Some(zone);
                    }
                } else {
                    return Err(Block::Tool { zone, tool: *tool });
                }
            }
        }
        let clear = room[1] - room[0];
        let length = span[1] - span[0];
        // Room beyond one end does not make up for what is missing at the other one.
        let covered = room[1].min(span[1]) - room[0].max(span[0]);
        let needed = (length - self.tooling.shortfall).max(0.5 * length);
        match narrowed {
            Some(zone) if covered < needed => Err(Block::Room { zone, clear: covered, needed }),
            Some(_) | None => {
                made_up(&self.lengths, length, needed, clear).ok_or(Block::Segments { needed, clear })
            }
        }
    }

    fn verdict(&mut self, zone: usize, wing: Wing, key: VerdictKey, choice: &Choice) -> Verdict {
        let (stroke, _, done, tools, towards) = key;
        let motion = self.motion(choice);
        let end = self.facts[stroke].half[1];
        let span = self.facts[stroke].span;
        let index = self.wings.cells_at(stroke, zone, wing, done);
        let is_form = match self.wings.zones[zone].zone {
            Zone::Form(_) => true,
            Zone::Panel(_) | Zone::Bend(_) => false,
        };
        let lies_flat = done == 0 && !is_form;
        let mut verdict = Verdict::default();
        for piece in &self.pieces[&tools] {
            for cell in self.wings.cells(index) {
                let beside = cell.along[1] <= span[0] - OVERHANG_MM || span[1] + OVERHANG_MM <= cell.along[0];
                if piece.tool.is_made_up() && beside {
                    continue;
                }
                let meets = if lies_flat { lying_meets_tool } else { meets_tool };
                if !meets(&motion, end, cell, towards, piece) {
                    continue;
                }
                if piece.tool.is_made_up() {
                    // A touch at the ends is none.
                    let [from, to] = cell.along;
                    let touch = tolerance::BRAKE_TOUCH_MM;
                    verdict.stands.push(([from + touch, to - touch], piece.tool));
                } else {
                    verdict.blocked = Some(piece.tool);
                    return verdict;
                }
            }
        }
        verdict
    }

    /// Zones that touch while overbent, if the wings keep apart otherwise.
    fn wings_apart(&mut self, done: Mask, stroke: usize) -> Result<Option<[Zone; 2]>, Block> {
        let mut rubs = None;
        for a in 0..self.wings.zones.len() {
            let Some((Wing::Parent, mask_a)) = self.wings.sides[stroke][a] else { continue };
            for b in 0..self.wings.zones.len() {
                let Some((Wing::Child, mask_b)) = self.wings.sides[stroke][b] else { continue };
                // Both flat beside the bend: they only turn away from their common plane.
                let mask = mask_a | mask_b;
                if done & mask == 0 {
                    continue;
                }
                let key = (stroke, a, b, done & mask);
                let meeting = match self.meetings.get(&key) {
                    Some(known) => *known,
                    None => {
                        let found = self.meeting(stroke, [a, b], [done & mask_a, done & mask_b]);
                        self.meetings.insert(key, found);
                        found
                    }
                };
                let zones = [self.wings.zones[a].zone, self.wings.zones[b].zone];
                match meeting {
                    Meeting::Never => {}
                    Meeting::Overbent => rubs = rubs.or(Some(zones)),
                    Meeting::Before => return Err(Block::Itself { zones }),
                }
            }
        }
        Ok(rubs)
    }

    fn meeting(&mut self, stroke: usize, zones: [usize; 2], done: [Mask; 2]) -> Meeting {
        let parent = self.wings.cells_at(stroke, zones[0], Wing::Parent, done[0]);
        let child = self.wings.cells_at(stroke, zones[1], Wing::Child, done[1]);
        let [allowance, neutral] = self.facts[stroke].motion;
        // The die's opening lifts both wings alike.
        let motion = Stroke { allowance, neutral, thickness: self.wings.tree.thickness(), opening: 0.0 };
        let [asked, loaded] = self.facts[stroke].half;
        let mut found = Meeting::Never;
        for a in self.wings.cells(parent) {
            for b in self.wings.cells(child) {
                match wings_meet(&motion, loaded, a, b) {
                    Some(half) if half <= asked => return Meeting::Before,
                    Some(_) => found = Meeting::Overbent,
                    None => {}
                }
            }
        }
        found
    }

    /// Where the gauge holds the wing at the back: the longest edge that it reaches, of alike ones the nearest.
    fn gauge(&mut self, done: Mask, choice: &Choice) -> Option<Gauge> {
        let facts = &self.facts[choice.stroke];
        let half = 0.5 * facts.motion[0];
        let reach = self.tooling.brake.gauge_reach;
        let mut fit: Vec<Contact> = facts
            .contacts
            .iter()
            .filter(|c| c.wing == choice.back && c.flat & done == 0 && c.made & done == c.made)
            .filter(|c| reach[0] <= half + c.away && half + c.away <= reach[1])
            .copied()
            .collect();
        let length = |c: &Contact| c.along[1] - c.along[0];
        fit.sort_by(|a, b| length(b).total_cmp(&length(a)).then(a.away.total_cmp(&b.away)));
        let found = fit.into_iter().find(|contact| self.reaches(done, choice, contact))?;
        Some(Gauge { distance: half + found.away, against: found.against })
    }

    /// Whether nothing else stands where the fingers come from.
    fn reaches(&mut self, done: Mask, choice: &Choice, contact: &Contact) -> bool {
        let [width, _, depth] = self.tooling.brake.gauge_finger;
        let touch = tolerance::BRAKE_TOUCH_MM;
        let (near, far) = (contact.away + touch, contact.away + depth);
        let t = self.wings.tree.thickness();
        let [low, high] = contact.height.map(|z| z - t);
        let finger = Section::new(vec![
            Point2::new(near, low),
            Point2::new(far, low),
            Point2::new(far, high),
            Point2::new(near, high),
        ]);
        let [from, to] = contact.along;
        let places = if to - from > 2.0 * width {
            vec![[from, from + width], [to - width, to]]
        } else {
            vec![[0.5 * (from + to - LEAST_CONTACT_MM), 0.5 * (from + to + LEAST_CONTACT_MM)]]
        };
        for zone in 0..self.wings.zones.len() {
            let Some((wing, mask)) = self.wings.sides[choice.stroke][zone] else { continue };
            if wing != choice.back {
                continue;
            }
            let index = self.wings.cells_at(choice.stroke, zone, wing, done & mask);
            for cell in self.wings.cells(index) {
                let beside = |[a, b]: &[f64; 2]| cell.along[1] <= a + touch || b - touch <= cell.along[0];
                if !places.iter().all(beside) && cell.section.gap(&finger, -touch) < -touch {
                    return false;
                }
            }
        }
        true
    }

    /// Distances at which the gauge may stand for a stroke, over everything that may be done.
    pub(super) fn gauge_distances(&self, stroke: usize) -> impl Iterator<Item = f64> + '_ {
        let facts = &self.facts[stroke];
        facts.contacts.iter().map(|c| 0.5 * facts.motion[0] + c.away)
    }

    /// Width, height and depth of a gauge finger in mm.
    pub(super) fn finger(&self) -> [f64; 3] {
        self.tooling.brake.gauge_finger
    }

    pub(super) fn pieces(&self, pair: ToolPair) -> &[ToolPiece] {
        &self.pieces[&pair]
    }
}

fn facts(
    wings: &Wings<'_>,
    stroke: usize,
    sheet: &Sheet,
    limits: &ShopLimits,
    tooling: &Tooling,
) -> StrokeFacts {
    let lead = wings.lead(stroke);
    let t = wings.tree.thickness();
    let asked = lead.turn().min(CLOSED_FROM_RAD);
    let loaded = turn_under_load(sheet.material.name, asked, lead.inside_radius() / t);
    let loaded = if asked < lead.turn() { loaded.min(FARTHEST_RAD) } else { loaded };
    let motion = [lead.allowance(), lead.k_factor() * t];
    let contacts = contacts(wings, stroke);
    let lies = |opening: f64| {
        let motion = Stroke { allowance: motion[0], neutral: motion[1], thickness: t, opening };
        motion.lies_at(0.5 * loaded).max(0.5 * (opening - motion.allowance))
    };
    let shortest = shortest_wing(wings, stroke);
    let rule = limits.v_for_bend(t, lead.inside_radius(), asked);
    let on_hand = |opening: f64| limits.has_v(opening);
    let narrow = |opening: f64| opening >= LEAST_V_SHARE * t && lies(opening) <= shortest;
    StrokeFacts {
        pairs: pairs(tooling, loaded.to_degrees(), rule, on_hand, narrow),
        half: [0.5 * asked, 0.5 * loaded],
        motion,
        span: wings.span(stroke),
        contacts,
    }
}

/// How far the shorter of the two panels beside a stroke reaches away from it, in mm.
fn shortest_wing(wings: &Wings<'_>, stroke: usize) -> f64 {
    let reach = |panel: PanelId, wing: Wing| {
        let pose = wings.pose(stroke, panel, wing, 0);
        let ends = wings.tree.panel(panel).region.outers().flat_map(|c| c.segments());
        ends.map(|s| pose.point(crate::geom::Vec3::new(s.start.x, s.start.y, 0.0)).y).fold(0.0, f64::max)
    };
    let children = wings.strokes[stroke].iter().map(|id| reach(wings.tree.bend(*id).child, Wing::Child));
    children.fold(reach(wings.lead(stroke).parent, Wing::Parent), f64::min)
}

/// Narrowest die for a flange that does not reach over the one that suits the sheet, as a multiple of the thickness
/// (common practice, no source).
const LEAST_V_SHARE: f64 = 4.0;

/// Tools for a bend: the widest die on hand up to the opening `rule` that is not too narrow and over which the shorter
/// flange lies, with those punches whose angle suits, in the order of the shop's list.
fn pairs(
    tooling: &Tooling,
    turn_deg: f64,
    rule: f64,
    on_hand: impl Fn(f64) -> bool,
    lies: impl Fn(f64) -> bool,
) -> Vec<ToolPair> {
    let open = 180.0 - turn_deg;
    let suits = |die: &Die| on_hand(die.opening) && die.angle_deg <= open + tolerance::PERCENT;
    let widest_angle = tooling.dies.iter().filter(|d| suits(d)).map(|d| d.angle_deg).fold(0.0, f64::max);
    // Among those whose V fits the turn, blunt ones before sharp ones.
    let blunt = |die: &Die| die.angle_deg >= widest_angle - BLUNT_DEG;
    let fitting: Vec<usize> =
        (0..tooling.dies.len()).filter(|&i| suits(&tooling.dies[i]) && blunt(&tooling.dies[i])).collect();
    let by_rule = fitting.iter().copied().find(|&i| tooling.dies[i].opening >= rule - tolerance::SNAP_MM);
    let by_rule = by_rule.or(fitting.last().copied());
    let Some(by_rule) = by_rule else { return Vec::new() };
    let narrower = fitting.iter().copied().rev().find(|&i| {
        let opening = tooling.dies[i].opening;
        opening <= tooling.dies[by_rule].opening && lies(opening)
    });
    let die = narrower.unwrap_or(by_rule);
    let fits = |punch: &Punch| punch.angle_deg <= open + tolerance::PERCENT;
    (0..tooling.punches.len())
        .filter(|&i| fits(&tooling.punches[i]))
        .take(MOST_PAIRS)
        .map(|punch| ToolPair { punch, die })
        .collect()
}

/// Dies whose angles differ by less are of one kind, in degrees.
const BLUNT_DEG: f64 = 10.0;

fn tool_pieces(tooling: &Tooling, pair: ToolPair) -> Vec<ToolPiece> {
    let (punch, die) = (&tooling.punches[pair.punch], &tooling.dies[pair.die]);
    let outlines: [(Tool, &[Point2], f64); 4] = [
        (Tool::Punch, &punch.outline, 0.0),
        (Tool::Die, &die.outline, 0.0),
        (Tool::Ram, &tooling.brake.ram, punch.height),
        (Tool::Bed, &tooling.brake.bed, -die.height),
    ];
    outlines
        .into_iter()
        .flat_map(|(tool, outline, lift)| {
            convex_pieces(outline).into_iter().map(move |piece| {
                let lifted: Vec<Point2> = piece.iter().map(|p| Point2::new(p.x, p.y + lift)).collect();
                ToolPiece { tool, section: Section::new(convex_hull(&lifted)) }
            })
        })
        .collect()
}

fn lengths(tooling: &Tooling) -> Vec<bool> {
    #[expect(
        clippy::cast_possible_truncation,
        clippy::cast_sign_loss,
        reason = "segments are a few metres long"
    )]
    let whole = |length: f64| length.round().max(0.0) as usize;
    let most: usize = tooling.segments.iter().map(|segment| whole(*segment)).sum();
    let mut known = vec![false; most + 1];
    known[0] = true;
    for segment in &tooling.segments {
        let segment = whole(*segment);
        for length in (segment..=most).rev() {
            known[length] |= known[length - segment];
        }
    }
    known
}

/// The shortest length of tools that covers the bend, or else the longest one that is nearly as long. For a bend
/// longer than all segments together it is the bend's own, and the plan warns of it.
fn made_up(lengths: &[bool], bend: f64, needed: f64, clear: f64) -> Option<f64> {
    #[expect(clippy::cast_precision_loss, reason = "lengths of a few metres")]
    let all = || (0..lengths.len()).filter(|i| lengths[*i]).map(|i| i as f64);
    let longest = all().next_back().unwrap_or(0.0);
    if longest < needed {
        return (bend <= clear).then_some(bend);
    }
    let covering = all().find(|l| bend <= *l && *l <= clear);
    covering.or_else(|| all().rfind(|l| needed <= *l && *l <= clear))
}

/// Straight edges and bent-up faces parallel to a stroke in both wings.
fn contacts(wings: &Wings<'_>, stroke: usize) -> Vec<Contact> {
    let tree = wings.tree;
    let t = tree.thickness();
    let lead = wings.lead(stroke);
    let mut found = Vec::new();
    for zone in 0..wings.zones.len() {
        let Some((wing, mask)) = wings.sides[stroke][zone] else { continue };
        let anchor = wings.zones[zone].anchor;
        match wings.zones[zone].zone {
            Zone::Panel(id) => {
                let pose = wings.pose(stroke, id, wing, 0);
                let pieces = tree.panel(id).region.outers().flat_map(|c| c.segments());
                for piece in pieces.filter(|s| !tree.label(s).is_crease()) {
                    let Some((away, along)) = parallel(piece, &pose) else { continue };
                    let height = [0.5 * t - FINGER_HALF_MM, 0.5 * t + FINGER_HALF_MM];
                    let against = Zone::Panel(id);
                    found.push(Contact { wing, flat: mask, made: 0, away, along, height, against });
                }
            }
            Zone::Bend(id) => {
                let bend = tree.bend(id);
                let panel_mask = wings.panel_mask(stroke, anchor);
                let own: Mask = 1 << wings.stroke_of[id.index()];
                // Beyond the anchor, seen from the stroke, and turned by a right angle or more.
                if panel_mask & own != 0 || bend.turn() < UPRIGHT_RAD {
                    continue;
                }
                let pose = wings.pose(stroke, anchor, wing, 0);
                let [from, to] = bend.reach();
                let ends = [from, to].map(|x| bend.origin + bend.along * x);
                let crease = Segment::line(ends[0], ends[1], crate::geom::Tag::default());
                let Some((away, along)) = parallel(&crease, &pose) else { continue };
                let outer = bend.inside_radius() + t;
                let up = bend.side == lead.side;
                let height = if up {
                    [outer, outer + 2.0 * FINGER_HALF_MM]
                } else {
                    [t - outer - 2.0 * FINGER_HALF_MM, t - outer]
                };
                found.push(Contact {
                    wing,
                    flat: panel_mask,
                    made: own,
                    away: away + outer,
                    along,
                    height,
                    against: Zone::Bend(id),
                });
            }
            Zone::Form(_) => {}
        }
    }
    found
}

/// Half the height of a gauge finger's face in mm.
const FINGER_HALF_MM: f64 = 3.0;

/// Least turn at which the outer face of a flange is upright, in rad: a right angle within half a degree.
const UPRIGHT_RAD: f64 = 89.5 * maths::PI / 180.0;

/// Distance from the wing's start and reach along it of a straight piece that runs along the bend.
fn parallel(piece: &Segment, pose: &super::cell::Pose) -> Option<(f64, [f64; 2])> {
    if piece.curvature() != 0.0 {
        return None;
    }
    let [a, b] = [piece.start, piece.end].map(|p| pose.point(crate::geom::Vec3::new(p.x, p.y, 0.0)));
    let along = [a.x.min(b.x), a.x.max(b.x)];
    let length = along[1] - along[0];
    let level = (a.y - b.y).abs() <= tolerance::GAUGE_MM && length >= LEAST_CONTACT_MM && a.y > 0.0;
    level.then_some((0.5 * (a.y + b.y), along))
}
