//! Whether one stroke can be made on a half-folded part, and how.
//!
//! Job: for what is done and a choice of stroke, wing at the gauge and tool pair, the first thing in the way, or
//! length of the tools and place of the gauge. Invariant: an answer hangs on what is done only through the zones
//! that it moves, and is remembered so, for all zones that hang together. Must not know: costs, which order is
//! sought.
//!
//! How a part is put between the tools and taken out is not looked at.

use crate::fold::FoldTree;
use crate::geom::Vec3;
use crate::ident::PanelId;
use crate::quantity::{maths, tolerance};
use crate::solid::Zone;
use crate::stock::{BendForce, Limit, Sheet, ShopLimits, Tooling, turn_under_load};

use super::bodies::Bodies;
use super::gauge::{Contact, Gauge, contacts, finger};
use super::memo::Memo;
use super::pairs::{Dies, Wanted, lengths, made_up, pairs};
use super::sweep::{Stroke, Sweep, Tool, ToolPiece, Towards, lying_meets_tool, meets_tool, wings_meet};
use super::wings::{Mask, Wing, Wings, is_too_long};

/// Turns beyond are begun as far as acute tools go, springback included, and closed in a second hit between flats
/// (common practice).
pub(super) const CLOSED_FROM_RAD: f64 = 145.0 * maths::PI / 180.0;

/// How far acute tools of 30° turn the sheet, in rad.
const FARTHEST_RAD: f64 = 150.0 * maths::PI / 180.0;

/// How far beyond the ends of a bend its tools may stand out, in mm: one short segment.
const OVERHANG_MM: f64 = 10.0;

/// Narrowest die for a flange that does not reach over the one that suits the sheet, as a multiple of the thickness
/// (common practice, no source).
const LEAST_V_SHARE: f64 = 4.0;

/// Lengths along a bend for which forces of tools are told.
pub(super) const MM_PER_M: f64 = 1000.0;

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
    /// Tool pairs in the order of preference; none if it is too long.
    pub(super) pairs: Vec<ToolPair>,
    /// Whether it is longer than the brake.
    pub(super) too_long: bool,
    /// Half of the turn that was asked for, in rad, and of that under load.
    pub(super) half: [f64; 2],
    /// Width of the strip and place of the neutral fibre in mm.
    pub(super) motion: [f64; 2],
    pub(super) span: [f64; 2],
    contacts: Vec<Contact>,
}

/// Zones of one wing that hang together: what is done decides on the place of all of them by the same few bits.
#[derive(Clone, Debug)]
struct Group {
    wing: Wing,
    mask: Mask,
    zones: Vec<usize>,
}

/// What the zones of a group do to the tools of a choice.
#[derive(Clone, Copy, Debug, PartialEq)]
enum Answer {
    /// Not looked at yet.
    Unknown,
    /// They leave this room along the bend.
    Room(Room),
    /// This zone is in the way.
    Blocked(usize, Tool),
}

/// Room for punch and die along the bend in mm, and the zones that narrow it from either end.
#[derive(Clone, Copy, Debug, PartialEq)]
struct Room {
    from: f64,
    to: f64,
    narrowed: [Option<usize>; 2],
}

impl Room {
    fn narrowed_by(&mut self, other: &Self) {
        if other.from > self.from {
            (self.from, self.narrowed[0]) = (other.from, other.narrowed[0]);
        }
        if other.to < self.to {
            (self.to, self.narrowed[1]) = (other.to, other.narrowed[1]);
        }
    }
}

/// Whether zones of the two wings meet.
#[derive(Clone, Copy, Debug, PartialEq)]
enum Meeting {
    Never,
    Overbent([Zone; 2]),
    Before([Zone; 2]),
}

/// Answers for one part on one brake.
pub(super) struct Steps<'a> {
    pub(super) wings: Wings<'a>,
    tooling: &'a Tooling,
    pub(super) facts: Vec<StrokeFacts>,
    choices: Vec<Vec<Choice>>,
    groups: Vec<Vec<Group>>,
    /// Number of the first group of each stroke among all.
    first_group: Vec<u32>,
    bodies: Bodies,
    /// Motions by stroke and die.
    sweeps: Vec<Vec<(usize, Sweep)>>,
    /// Where the answers of a group begin, one for each choice of its stroke.
    rows: Memo<usize>,
    answers: Vec<Answer>,
    by_body: Memo<Answer>,
    meetings: Memo<Meeting>,
    zones_meet: Memo<Meeting>,
    reaches: Memo<bool>,
    /// Lengths in whole mm that segments add up to.
    lengths: Vec<bool>,
    /// Where the answers for what is looked at begin.
    looked_at: Vec<usize>,
}

impl<'a> Steps<'a> {
    pub(super) fn new(
        tree: &'a FoldTree,
        sheet: &Sheet,
        limits: &ShopLimits,
        tooling: &'a Tooling,
        dies: Dies,
    ) -> Self {
        let wings = Wings::new(tree, limits.number(Limit::BrakeLength));
        let count = wings.strokes.len();
        let facts: Vec<StrokeFacts> =
            (0..count).map(|stroke| facts(&wings, stroke, sheet, limits, tooling, dies)).collect();
        let mut bodies = Bodies::default();
        let mut sweeps = vec![Vec::new(); count];
        let mut choices = Vec::new();
        for (stroke, facts) in facts.iter().enumerate() {
            for pair in &facts.pairs {
                bodies.add(tooling, *pair);
                if sweeps[stroke].iter().all(|(die, _)| *die != pair.die) {
                    let opening = tooling.dies[pair.die].opening;
                    sweeps[stroke].push((pair.die, Sweep::new(facts.stroke(&wings, opening), facts.half[1])));
                }
            }
            let both = [Wing::Parent, Wing::Child];
            let pairs = facts.pairs.iter();
            let all = pairs.flat_map(|tools| both.map(|back| Choice { stroke, back, tools: *tools }));
            choices.push(all.collect());
        }
        let groups: Vec<Vec<Group>> = (0..count).map(|stroke| groups(&wings, stroke)).collect();
        let first_group = groups.iter().scan(0, |next, groups| {
            let first = *next;
            *next += few(groups.len());
            Some(first)
        });
        Self {
            first_group: first_group.collect(),
            wings,
            tooling,
            facts,
            choices,
            groups,
            bodies,
            sweeps,
            rows: Memo::default(),
            answers: Vec::new(),
            by_body: Memo::default(),
            meetings: Memo::default(),
            zones_meet: Memo::default(),
            reaches: Memo::default(),
            lengths: lengths(tooling),
            looked_at: Vec::new(),
        }
    }

    pub(super) fn count(&self) -> usize {
        self.facts.len()
    }

    /// How often a zone was looked at beside a tool, or beside another zone.
    pub(super) fn looks(&self) -> usize {
        self.by_body.len() + self.zones_meet.len()
    }

    /// All strokes.
    pub(super) fn all(&self) -> Mask {
        let count = self.count();
        if count == 0 { 0 } else { Mask::MAX >> (Mask::BITS as usize - count) }
    }

    /// Every way to make a stroke, the preferred one first.
    pub(super) fn choices(&self, stroke: usize) -> &[Choice] {
        &self.choices[stroke]
    }

    pub(super) fn motion(&self, choice: &Choice) -> Stroke {
        self.facts[choice.stroke].stroke(&self.wings, self.tooling.dies[choice.tools.die].opening)
    }

    /// Tries a stroke with the strokes `done` made and all others flat.
    pub(super) fn step(&mut self, done: Mask, choice: &Choice) -> Result<Step, Block> {
        self.look(done, choice.stroke);
        let index = self.choices[choice.stroke].iter().position(|known| known == choice);
        let tool_length = self.tools(done, choice, index.expect("choices are those of the stroke"))?;
        let rubs = self.wings_apart(done, choice.stroke)?;
        Ok(Step { tool_length, gauge: self.gauge(done, choice.stroke, choice.back), rubs })
    }

    /// Every choice of a stroke that can be made with the strokes `done`, by its place in [`Self::choices`].
    pub(super) fn steps(&mut self, done: Mask, stroke: usize, found: &mut Vec<(usize, Step)>) {
        self.look(done, stroke);
        let first = found.len();
        for index in 0..self.choices[stroke].len() {
            let choice = self.choices[stroke][index];
            if let Ok(tool_length) = self.tools(done, &choice, index) {
                found.push((index, Step { tool_length, gauge: None, rubs: None }));
            }
        }
        if found.len() == first {
            return;
        }
        let Ok(rubs) = self.wings_apart(done, stroke) else {
            found.truncate(first);
            return;
        };
        let gauges = [Wing::Parent, Wing::Child].map(|back| self.gauge(done, stroke, back));
        for (index, step) in &mut found[first..] {
            step.rubs = rubs;
            step.gauge = gauges[usize::from(self.choices[stroke][*index].back == Wing::Child)];
        }
    }

    /// Whether any allowed choice of a stroke can be made with the strokes `done`.
    pub(super) fn can(&mut self, done: Mask, stroke: usize, allowed: impl Fn(&Choice) -> bool) -> bool {
        self.look(done, stroke);
        let any = (0..self.choices[stroke].len()).any(|index| {
            let choice = self.choices[stroke][index];
            allowed(&choice) && self.tools(done, &choice, index).is_ok()
        });
        any && self.wings_apart(done, stroke).is_ok()
    }

    /// Finds the rows of answers for every group beside a stroke.
    fn look(&mut self, done: Mask, stroke: usize) {
        self.looked_at.clear();
        let choices = self.choices[stroke].len();
        for (group, number) in self.groups[stroke].iter().zip(self.first_group[stroke]..) {
            let row = *self.rows.entry((number, done & group.mask)).or_insert_with(|| {
                let row = self.answers.len();
                self.answers.resize(row + choices, Answer::Unknown);
                row
            });
            self.looked_at.push(row);
        }
    }

    /// Length of the tools, if no zone is in their way; after [`Self::look`].
    fn tools(&mut self, done: Mask, choice: &Choice, index: usize) -> Result<f64, Block> {
        let mut room = self.all_room(choice.stroke);
        for group in 0..self.groups[choice.stroke].len() {
            let at = self.looked_at[group] + index;
            if self.answers[at] == Answer::Unknown {
                self.answers[at] = self.answer(done, choice, group);
            }
            match self.answers[at] {
                Answer::Unknown => unreachable!("it was looked at"),
                Answer::Room(left) => room.narrowed_by(&left),
                Answer::Blocked(zone, tool) => {
                    return Err(Block::Tool { zone: self.wings.zones[zone].zone, tool });
                }
            }
        }
        let span = self.facts[choice.stroke].span;
        let clear = room.to - room.from;
        let length = span[1] - span[0];
        // Room beyond one end does not make up for what is missing at the other one.
        let covered = room.to.min(span[1]) - room.from.max(span[0]);
        let needed = (length - self.tooling.shortfall).max(0.5 * length);
        match room.narrowed[0].or(room.narrowed[1]) {
            Some(zone) if covered < needed => {
                Err(Block::Room { zone: self.wings.zones[zone].zone, clear: covered, needed })
            }
            Some(_) | None => {
                made_up(&self.lengths, length, needed, clear).ok_or(Block::Segments { needed, clear })
            }
        }
    }

    fn all_room(&self, stroke: usize) -> Room {
        let [from, to] = self.facts[stroke].span;
        Room { from: from - OVERHANG_MM, to: to + OVERHANG_MM, narrowed: [None, None] }
    }

    /// What a group does to all bodies of a choice.
    fn answer(&mut self, done: Mask, choice: &Choice, group: usize) -> Answer {
        const MOST_BODIES: u32 = 1 << 10;
        let mut room = self.all_room(choice.stroke);
        for at in 0..self.groups[choice.stroke][group].zones.len() {
            let zone = self.groups[choice.stroke][group].zones[at];
            let Some((wing, mask)) = self.wings.sides[choice.stroke][zone] else { continue };
            let towards = if wing == choice.back { Towards::Back } else { Towards::Front };
            for at in 0..self.bodies.of(choice.tools).len() {
                let body = self.bodies.of(choice.tools)[at];
                let is_turned = towards == Towards::Front && !self.bodies.body(body).is_symmetric;
                let place = few(body) * 2 + u32::from(is_turned);
                let key = (self.place(choice.stroke, zone) * MOST_BODIES + place, done & mask);
                let found = match self.by_body.get(&key) {
                    Some(known) => *known,
                    None => {
                        let found = self.beside(done & mask, choice, zone, towards, body);
                        self.by_body.insert(key, found);
                        found
                    }
                };
                match found {
                    Answer::Room(left) => room.narrowed_by(&left),
                    Answer::Unknown | Answer::Blocked(..) => return found,
                }
            }
        }
        Answer::Room(room)
    }

    /// A number for a zone beside a stroke.
    fn place(&self, stroke: usize, zone: usize) -> u32 {
        few(stroke * self.wings.zones.len() + zone)
    }

    /// What a zone does to one body.
    fn beside(&mut self, done: Mask, choice: &Choice, zone: usize, towards: Towards, body: usize) -> Answer {
        let stroke = choice.stroke;
        let Some((wing, _)) = self.wings.sides[stroke][zone] else { return Answer::Unknown };
        let [from, to] = self.facts[stroke].span;
        let middle = 0.5 * (from + to);
        let mut room = self.all_room(stroke);
        let between = 0.5 * self.tooling.brake.between_frames;
        let touch = tolerance::BRAKE_TOUCH_MM;
        let index = self.wings.cells_at(stroke, zone, wing, done);
        let is_form = match self.wings.zones[zone].zone {
            Zone::Form(_) => true,
            Zone::Panel(_) | Zone::Bend(_) => false,
        };
        let sweep =
            self.sweep(stroke, choice.tools.die).expect("there is a sweep for every die of the stroke");
        let body = self.bodies.body(body);
        let meets = if done == 0 && !is_form { lying_meets_tool } else { meets_tool };
        for cell in self.wings.cells(index) {
            let [low, high] = cell.along;
            let is_away = match body.tool {
                Tool::Punch | Tool::Die => high <= room.from || room.to <= low,
                Tool::Frame => middle - between <= low && high <= middle + between,
                Tool::Ram | Tool::Bed | Tool::Gauge => false,
            };
            if is_away || !body.pieces.iter().any(|piece| meets(sweep, cell, towards, piece)) {
                continue;
            }
            // A touch at the ends is none.
            let (low, high) = (low + touch, high - touch);
            if !body.tool.is_made_up() || low < middle && middle < high {
                return Answer::Blocked(zone, body.tool);
            }
            if high <= middle {
                room.narrowed_by(&Room { from: high, narrowed: [Some(zone), None], ..room });
            } else {
                room.narrowed_by(&Room { to: low, narrowed: [None, Some(zone)], ..room });
            }
        }
        Answer::Room(room)
    }

    fn sweep(&self, stroke: usize, die: usize) -> Option<&Sweep> {
        self.sweeps[stroke].iter().find(|(known, _)| *known == die).map(|(_, sweep)| sweep)
    }

    /// Zones that touch while overbent, if the wings keep apart otherwise.
    fn wings_apart(&mut self, done: Mask, stroke: usize) -> Result<Option<[Zone; 2]>, Block> {
        let mut rubs = None;
        let (count, first) = (self.groups[stroke].len(), self.first_group[stroke]);
        let pairs = (0..count).flat_map(|a| (0..count).map(move |b| [a, b]));
        for (pair, number) in pairs.zip(0_u32..) {
            let [a, b] = pair.map(|at| &self.groups[stroke][at]);
            if a.wing != Wing::Parent || b.wing != Wing::Child || done & (a.mask | b.mask) == 0 {
                continue;
            }
            let key = (first * MOST_PAIRS_OF_GROUPS + number, done & (a.mask | b.mask));
            let meeting = match self.meetings.get(&key) {
                Some(known) => *known,
                None => {
                    let found = self.meeting(stroke, pair, done);
                    self.meetings.insert(key, found);
                    found
                }
            };
            match meeting {
                Meeting::Never => {}
                Meeting::Overbent(zones) => rubs = rubs.or(Some(zones)),
                Meeting::Before(zones) => return Err(Block::Itself { zones }),
            }
        }
        Ok(rubs)
    }

    /// Whether zones of two groups meet.
    fn meeting(&mut self, stroke: usize, [a, b]: [usize; 2], done: Mask) -> Meeting {
        let mut found = Meeting::Never;
        for i in 0..self.groups[stroke][a].zones.len() {
            for j in 0..self.groups[stroke][b].zones.len() {
                let zones = [self.groups[stroke][a].zones[i], self.groups[stroke][b].zones[j]];
                let masks = zones.map(|zone| self.wings.sides[stroke][zone].map_or(0, |(_, mask)| mask));
                // Both flat beside the bend: they only turn away from their common plane.
                if done & (masks[0] | masks[1]) == 0 {
                    continue;
                }
                let place = self.place(stroke, zones[0]) * few(self.wings.zones.len()) + few(zones[1]);
                let key = (place, done & (masks[0] | masks[1]));
                let meeting = match self.zones_meet.get(&key) {
                    Some(known) => *known,
                    None => {
                        let found = self.zones_meet(stroke, zones, masks.map(|mask| done & mask));
                        self.zones_meet.insert(key, found);
                        found
                    }
                };
                match meeting {
                    Meeting::Never => {}
                    Meeting::Overbent(_) => found = meeting,
                    Meeting::Before(_) => return meeting,
                }
            }
        }
        found
    }

    fn zones_meet(&mut self, stroke: usize, zones: [usize; 2], done: [Mask; 2]) -> Meeting {
        let [asked, _] = self.facts[stroke].half;
        let parent = self.wings.cells_at(stroke, zones[0], Wing::Parent, done[0]);
        let child = self.wings.cells_at(stroke, zones[1], Wing::Child, done[1]);
        let names = zones.map(|zone| self.wings.zones[zone].zone);
        // The die's opening lifts both wings alike.
        let Some((_, sweep)) = self.sweeps[stroke].first() else { return Meeting::Never };
        let mut found = Meeting::Never;
        for a in self.wings.cells(parent) {
            for b in self.wings.cells(child) {
                match wings_meet(sweep, a, b) {
                    Some(half) if half <= asked => return Meeting::Before(names),
                    Some(_) => found = Meeting::Overbent(names),
                    None => {}
                }
            }
        }
        found
    }

    /// Where the gauge holds the wing at the back: the longest edge that it reaches, of alike ones the nearest.
    fn gauge(&mut self, done: Mask, stroke: usize, back: Wing) -> Option<Gauge> {
        let half = 0.5 * self.facts[stroke].motion[0];
        let reach = self.tooling.brake.gauge_reach;
        for at in 0..self.facts[stroke].contacts.len() {
            let contact = self.facts[stroke].contacts[at];
            let stands =
                contact.wing == back && contact.flat & done == 0 && contact.made & done == contact.made;
            let is_near = reach[0] <= half + contact.away && half + contact.away <= reach[1];
            if stands && is_near && self.is_free(done, stroke, at) {
                let [low, high] = contact.height;
                let (distance, height) = (half + contact.away, 0.5 * (low + high));
                return Some(Gauge { distance, against: contact.against, height });
            }
        }
        None
    }

    /// Whether nothing else stands where the fingers come to a contact.
    fn is_free(&mut self, done: Mask, stroke: usize, contact: usize) -> bool {
        const MOST_CONTACTS: u32 = 1 << 12;
        let back = self.facts[stroke].contacts[contact].wing;
        for zone in 0..self.wings.zones.len() {
            let Some((wing, mask)) = self.wings.sides[stroke][zone] else { continue };
            if wing != back {
                continue;
            }
            let key = (self.place(stroke, zone) * MOST_CONTACTS + few(contact), done & mask);
            let free = match self.reaches.get(&key) {
                Some(known) => *known,
                None => {
                    let found = self.leaves_free(done & mask, stroke, zone, contact);
                    self.reaches.insert(key, found);
                    found
                }
            };
            if !free {
                return false;
            }
        }
        true
    }

    fn leaves_free(&mut self, done: Mask, stroke: usize, zone: usize, contact: usize) -> bool {
        let contact = self.facts[stroke].contacts[contact];
        let (section, places) =
            finger(&contact, self.tooling.brake.gauge_finger, self.wings.tree.thickness());
        let touch = tolerance::BRAKE_TOUCH_MM;
        let index = self.wings.cells_at(stroke, zone, contact.wing, done);
        self.wings.cells(index).iter().all(|cell| {
            let beside = |[a, b]: &[f64; 2]| cell.along[1] <= a + touch || b - touch <= cell.along[0];
            places.iter().all(beside) || cell.section.gap(&section, -touch) >= -touch
        })
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

    /// What stands there with a pair of tools.
    pub(super) fn pieces(&self, pair: ToolPair) -> impl Iterator<Item = &ToolPiece> {
        self.bodies.of(pair).iter().flat_map(|body| &self.bodies.body(*body).pieces)
    }
}

/// More pairs of groups than there are beside any group's stroke.
const MOST_PAIRS_OF_GROUPS: u32 = 1 << 14;

impl StrokeFacts {
    fn stroke(&self, wings: &Wings<'_>, opening: f64) -> Stroke {
        let [allowance, neutral] = self.motion;
        Stroke { allowance, neutral, thickness: wings.tree.thickness(), opening }
    }
}

/// A number of things of which a part has few.
fn few(count: usize) -> u32 {
    u32::try_from(count).expect("a part has few bends and zones")
}

/// Zones beside a stroke by wing, in as few groups as there are strokes at the ends of ways: the bits of a zone are
/// all of one of these ways, or the first of them.
fn groups(wings: &Wings<'_>, stroke: usize) -> Vec<Group> {
    let mut groups: Vec<Group> = Vec::new();
    let mut zones: Vec<(usize, Wing, Mask)> = (0..wings.zones.len())
        .filter_map(|zone| wings.sides[stroke][zone].map(|(wing, mask)| (zone, wing, mask)))
        .collect();
    zones.sort_by_key(|(zone, _, mask)| (std::cmp::Reverse(mask.count_ones()), *zone));
    for (zone, wing, mask) in zones {
        let holds = |group: &&mut Group| group.wing == wing && mask & !group.mask == 0;
        match groups.iter_mut().find(holds) {
            Some(group) => group.zones.push(zone),
            None => groups.push(Group { wing, mask, zones: vec![zone] }),
        }
    }
    groups
}

fn facts(
    wings: &Wings<'_>,
    stroke: usize,
    sheet: &Sheet,
    limits: &ShopLimits,
    tooling: &Tooling,
    dies: Dies,
) -> StrokeFacts {
    let lead = wings.lead(stroke);
    let t = wings.tree.thickness();
    let asked = lead.turn().min(CLOSED_FROM_RAD);
    let loaded = turn_under_load(sheet.material.name, asked, lead.inside_radius() / t);
    let loaded = if asked < lead.turn() { loaded.min(FARTHEST_RAD) } else { loaded };
    let motion = [lead.allowance(), lead.k_factor() * t];
    let [_, finger, _] = tooling.brake.gauge_finger;
    let contacts = contacts(wings, stroke, finger);
    let lies = |opening: f64| {
        let motion = Stroke { allowance: motion[0], neutral: motion[1], thickness: t, opening };
        motion.lies_at(0.5 * loaded).max(0.5 * (opening - motion.allowance))
    };
    let shortest = shortest_wing(wings, stroke);
    let rule = limits.v_for_bend(t, lead.inside_radius(), asked);
    let on_hand = |opening: f64| limits.has_v(opening);
    let lies_over = |opening: f64| opening >= LEAST_V_SHARE * t && lies(opening) <= shortest;
    let way_down = |opening: f64| {
        let motion = Stroke { allowance: motion[0], neutral: motion[1], thickness: t, opening };
        2.0 * t - motion.at(0.5 * loaded).tip
    };
    let load = |opening: f64| {
        BendForce::new(&sheet.material, sheet.thickness, MM_PER_M, opening).map_or(0.0, |force| force.most)
    };
    let wanted = Wanted {
        turn_deg: loaded.to_degrees(),
        rule,
        on_hand: &on_hand,
        lies: &lies_over,
        way_down: &way_down,
        load: &load,
    };
    let too_long = is_too_long(wings.span(stroke), limits.number(Limit::BrakeLength));
    StrokeFacts {
        pairs: if too_long { Vec::new() } else { pairs(tooling, &wanted, dies) },
        too_long,
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
        ends.map(|s| pose.point(Vec3::new(s.start.x, s.start.y, 0.0)).y).fold(0.0, f64::max)
    };
    let children = wings.strokes[stroke].iter().map(|id| reach(wings.tree.bend(*id).child, Wing::Child));
    children.fold(reach(wings.lead(stroke).parent, Wing::Parent), f64::min)
}
