//! Where each zone lies beside the bend that is being made.
//!
//! Job: a bend parts the sheet into two wings; a zone's place in its wing hangs only on the bends between the two.
//! Invariant: bends of one stroke (same line, same panel, same formula, no longer than the brake) are made together; a
//! bit of a mask is one stroke. Must not know: tools, costs.

use crate::fold::{Bend, FoldFractions, FoldTree};
use crate::geom::Vec3;
use crate::history::feature::FoldSide;
use crate::ident::{BendId, PanelId};
use crate::quantity::tolerance;
use crate::solid::Zone;

use super::cell::{Cell, Pose, ZoneCells, zones};
use super::memo::Memo;
use super::sweep::WingCell;

/// Strokes that are done, a bit each.
pub(super) type Mask = u64;

/// One of the two parts of the sheet on either side of a bend.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Wing {
    /// On which the base panel lies.
    Parent,
    /// Behind the bend.
    Child,
}

impl Wing {
    /// The other one.
    #[must_use]
    pub fn other(self) -> Self {
        match self {
            Self::Parent => Self::Child,
            Self::Child => Self::Parent,
        }
    }
}

/// Zones of a part as seen from each of its strokes.
pub(super) struct Wings<'a> {
    pub(super) tree: &'a FoldTree,
    pub(super) zones: Vec<ZoneCells>,
    /// Bends of each stroke.
    pub(super) strokes: Vec<Vec<BendId>>,
    /// Stroke of each bend.
    pub(super) stroke_of: Vec<usize>,
    /// Child in its parent's frame by bend: flat, and folded.
    steps: Vec<[Pose; 2]>,
    /// For each stroke and zone: the wing, and the strokes whose state decides on the zone's place in it; none for
    /// the strips of the stroke itself.
    pub(super) sides: Vec<Vec<Option<(Wing, Mask)>>>,
    /// For each stroke and panel: the way from the panel beside the bend, as bends passed downwards or upwards.
    ways: Vec<Vec<Vec<(BendId, bool)>>>,
    made: Memo<usize>,
    cells: Vec<Vec<WingCell>>,
}

impl<'a> Wings<'a> {
    pub(super) fn new(tree: &'a FoldTree, brake_length: f64) -> Self {
        let strokes = strokes(tree, brake_length);
        let mut stroke_of = vec![0; tree.bends().len()];
        for (index, bends) in strokes.iter().enumerate() {
            for bend in bends {
                stroke_of[bend.index()] = index;
            }
        }
        let placed = [0.0, 1.0].map(|f| tree.placements(&FoldFractions::all(tree, f)));
        let steps = tree.bends().iter().map(|bend| {
            [0, 1].map(|f: usize| {
                let [parent, child] = [bend.parent, bend.child].map(|p| Pose::from(placed[f][p.index()]));
                parent.inverse().after(&child)
            })
        });
        let mut wings = Self {
            tree,
            zones: zones(tree),
            steps: steps.collect(),
            stroke_of,
            sides: Vec::new(),
            ways: Vec::new(),
            made: Memo::default(),
            cells: Vec::new(),
            strokes,
        };
        for stroke in 0..wings.strokes.len() {
            wings.see(stroke);
        }
        wings
    }

    /// The first bend of a stroke, which gives x.
    pub(super) fn lead(&self, stroke: usize) -> &'a Bend {
        self.tree.bend(self.strokes[stroke][0])
    }

    /// Where the stroke's strips begin and end along the bend, in the lead's x.
    pub(super) fn span(&self, stroke: usize) -> [f64; 2] {
        span(self.tree, &self.strokes[stroke])
    }

    fn see(&mut self, stroke: usize) {
        let tree = self.tree;
        let mut ways: Vec<Option<Vec<(BendId, bool)>>> = vec![None; tree.panels().len()];
        let parent = self.lead(stroke).parent;
        let mut begin = vec![parent];
        ways[parent.index()] = Some(Vec::new());
        let mut wing_of = vec![Wing::Parent; tree.panels().len()];
        for id in &self.strokes[stroke] {
            let child = tree.bend(*id).child;
            ways[child.index()] = Some(Vec::new());
            wing_of[child.index()] = Wing::Child;
            begin.push(child);
        }
        // From each panel to those around it, but not over the stroke itself.
        while let Some(panel) = begin.pop() {
            let way = ways[panel.index()].clone().expect("only panels with a way are looked at");
            for bend in tree.bends() {
                if self.stroke_of[bend.id.index()] == stroke {
                    continue;
                }
                let (to, down) = match panel {
                    p if p == bend.parent => (bend.child, true),
                    p if p == bend.child => (bend.parent, false),
                    _ => continue,
                };
                if ways[to.index()].is_none() {
                    let mut longer = way.clone();
                    longer.push((bend.id, down));
                    ways[to.index()] = Some(longer);
                    wing_of[to.index()] = wing_of[panel.index()];
                    begin.push(to);
                }
            }
        }
        let ways: Vec<Vec<(BendId, bool)>> =
            ways.into_iter().map(|way| way.expect("every panel hangs on the base panel")).collect();
        let bits = |way: &[(BendId, bool)]| {
            way.iter().fold(0, |mask, (bend, _)| mask | 1 << self.stroke_of[bend.index()])
        };
        let sides = self.zones.iter().map(|zone| {
            let mut mask: Mask = bits(&ways[zone.anchor.index()]);
            if let Zone::Bend(id) = zone.zone {
                let own = self.stroke_of[id.index()];
                if own == stroke {
                    return None;
                }
                mask |= 1 << own;
            }
            Some((wing_of[zone.anchor.index()], mask))
        });
        self.sides.push(sides.collect());
        self.ways.push(ways);
    }

    /// The mask that decides on a panel's place beside a stroke.
    pub(super) fn panel_mask(&self, stroke: usize, panel: PanelId) -> Mask {
        self.ways[stroke][panel.index()]
            .iter()
            .fold(0, |mask, (bend, _)| mask | 1 << self.stroke_of[bend.index()])
    }

    /// Frame of a panel in its wing: x along the bend, then away from the wing's start, then up from its upper face.
    pub(super) fn pose(&self, stroke: usize, panel: PanelId, wing: Wing, done: Mask) -> Pose {
        let way = &self.ways[stroke][panel.index()];
        let mut pose = match wing {
            Wing::Parent => self.parent_seat(stroke),
            Wing::Child => {
                // The child at which the way begins may be that of any bend of the stroke.
                let first = way.first().map_or(panel, |(bend, down)| {
                    let bend = self.tree.bend(*bend);
                    if *down { bend.parent } else { bend.child }
                });
                self.child_seat(stroke, first)
            }
        };
        for (bend, down) in way {
            let folded = usize::from(done >> self.stroke_of[bend.index()] & 1 == 1);
            let step = self.steps[bend.index()][folded];
            pose = if *down { pose.after(&step) } else { pose.after(&step.inverse()) };
        }
        pose
    }

    fn up(&self, stroke: usize) -> (f64, f64) {
        match self.lead(stroke).side {
            FoldSide::Up => (1.0, 0.0),
            FoldSide::Down => (-1.0, -self.tree.thickness()),
        }
    }

    fn parent_seat(&self, stroke: usize) -> Pose {
        let lead = self.lead(stroke);
        let (sign, lift) = self.up(stroke);
        let (along, away) = (lead.along, lead.outward);
        let origin = lead.origin;
        let from = |u: crate::geom::Vec2| origin.x * u.x + origin.y * u.y;
        Pose {
            origin: Vec3::new(-from(along), from(away), lift),
            axes: [
                Vec3::new(along.x, -away.x, 0.0),
                Vec3::new(along.y, -away.y, 0.0),
                Vec3::new(0.0, 0.0, sign),
            ],
        }
    }

    fn child_seat(&self, stroke: usize, child: PanelId) -> Pose {
        let lead = self.lead(stroke);
        let (sign, lift) = self.up(stroke);
        let own = self.strokes[stroke].iter().map(|id| self.tree.bend(*id)).find(|b| b.child == child);
        let bend = own.unwrap_or(lead);
        let shift = (bend.origin - lead.origin).dot(lead.along);
        let same = bend.along.dot(lead.along).signum();
        Pose {
            origin: Vec3::new(shift, 0.0, lift),
            axes: [Vec3::new(same, 0.0, 0.0), Vec3::new(0.0, 1.0, 0.0), Vec3::new(0.0, 0.0, sign)],
        }
    }

    /// Index of the cells of a zone in its wing beside a stroke, at what is done; see [`Self::cells`].
    pub(super) fn cells_at(&mut self, stroke: usize, zone: usize, wing: Wing, done: Mask) -> usize {
        let place = u32::try_from(stroke * self.zones.len() + zone).expect("a part has few zones");
        let key = (place, done);
        if let Some(index) = self.made.get(&key) {
            return *index;
        }
        let own = &self.zones[zone];
        let pose = self.pose(stroke, own.anchor, wing, done);
        let is_made = match own.zone {
            Zone::Bend(id) => done >> self.stroke_of[id.index()] & 1 == 1,
            Zone::Panel(_) | Zone::Form(_) => false,
        };
        let cells: &Vec<Cell> = own.rolled.as_ref().filter(|_| is_made).unwrap_or(&own.flat);
        let cells = cells.iter().map(|cell| WingCell::new(cell.moved(&pose))).collect();
        self.cells.push(cells);
        self.made.insert(key, self.cells.len() - 1);
        self.cells.len() - 1
    }

    pub(super) fn cells(&self, index: usize) -> &[WingCell] {
        &self.cells[index]
    }
}

/// Bends that are made together: same panel, line, side, turn and radius, and no farther apart than the brake is long,
/// in mm.
pub(super) fn strokes(tree: &FoldTree, brake_length: f64) -> Vec<Vec<BendId>> {
    let mut strokes: Vec<Vec<BendId>> = Vec::new();
    for bend in tree.bends() {
        let together = strokes.iter_mut().find(|known| {
            let lead = tree.bend(known[0]);
            let across = |d: crate::geom::Vec2| d.dot(lead.outward).abs();
            lead.parent == bend.parent
                && lead.side == bend.side
                && (lead.turn() - bend.turn()).abs() < tolerance::SMOOTH_RAD
                && (lead.allowance() - bend.allowance()).abs() < tolerance::SNAP_MM
                && lead.outward.dot(bend.outward) > 0.0
                && across(bend.along) < tolerance::SMOOTH_RAD
                && across(bend.origin - lead.origin) < tolerance::LEAST_EDGE_MM
                && !is_too_long(span(tree, &[known.as_slice(), &[bend.id]].concat()), brake_length)
        });
        match together {
            Some(known) => known.push(bend.id),
            None => strokes.push(vec![bend.id]),
        }
    }
    strokes
}

/// Whether a stroke with this span is longer than the brake, in mm.
pub(super) fn is_too_long([from, to]: [f64; 2], brake_length: f64) -> bool {
    to - from > brake_length + tolerance::SNAP_MM
}

/// Where the strips of bends on one line begin and end along it, in the x of the first one.
fn span(tree: &FoldTree, bends: &[BendId]) -> [f64; 2] {
    let lead = tree.bend(bends[0]);
    bends.iter().fold([f64::INFINITY, f64::NEG_INFINITY], |[low, high], id| {
        let bend = tree.bend(*id);
        let shift = (bend.origin - lead.origin).dot(lead.along);
        let sign = bend.along.dot(lead.along).signum();
        let ends = bend.reach().map(|x| shift + sign * x);
        [low.min(ends[0]).min(ends[1]), high.max(ends[0]).max(ends[1])]
    })
}
