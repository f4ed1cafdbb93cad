//! Changes to a family that must leave every name where it was.
//!
//! Invariant: a change keeps the names of all features; sizes change only where it says so.

use kernel::fold::{Bend, EdgeLabel, FoldTree, Panel};
use kernel::geom::{Contour, Place, Point2, place_in_region};
use kernel::history::feature::{
    BreakShape, Bump, BumpSide, CornerBreak, CornerName, Corners, Cutout, Feature, Flange, FlangeEnd,
    FoldSide, HeldFace, LengthFrom, Pattern, Reach, Relief, XFrom,
};
use kernel::history::{EdgeName, FeatureEntry, History, Number, ParameterRange, Shape};
use kernel::regenerate::Part;

use crate::landing::Sizes;
use crate::{Settings, loaded};

/// A changed history.
pub(crate) struct Change {
    /// What was changed.
    pub what: String,
    /// Whether sizes may differ.
    pub sizes: Sizes,
    pub history: History,
}

/// Name of the inserted feature.
const INSERTED: &str = "inserted";

/// Least distance in mm from the middle of an inserted opening or bump to whatever is there.
const ROOM: f64 = 9.0;

/// Every parameter at its extremes and in between, every word.
pub(crate) fn of_sizes(family: &str, start: &Settings) -> Vec<Change> {
    let parameters = loaded(family, start).history.parameters;
    let mut changes = Vec::new();
    for parameter in &parameters {
        let values: Vec<String> = match &parameter.range {
            ParameterRange::Words(words) => words.clone(),
            ParameterRange::Choices(numbers) => numbers.iter().map(ToString::to_string).collect(),
            ParameterRange::Numbers { min, max, whole } => {
                let between = min + 0.4 * (max - min);
                let between = if *whole { between.round() } else { between };
                [*min, between, *max].map(|v| v.to_string()).to_vec()
            }
        };
        for value in values {
            let mut settings = start.clone();
            settings.insert(parameter.name.clone(), value.clone());
            changes.push(Change {
                what: format!("{} is {value}", parameter.name),
                sizes: Sizes::Changed,
                history: loaded(family, &settings).history,
            });
        }
    }
    changes
}

/// Features inserted wherever there is room, and neighbours in the history swapped.
pub(crate) fn of_structure(history: &History, part: &Part) -> Vec<Change> {
    let given = Given { history, part };
    let mut changes = Vec::new();
    let mut insert = |what: String, at: usize, feature: Feature| {
        let mut history = history.clone();
        history.features.insert(at, FeatureEntry { name: INSERTED.to_owned(), feature, span: None });
        changes.push(Change { what, sizes: Sizes::Same, history });
    };
    let end = history.features.len();
    for panel in part.tree.panels() {
        let first = panel.feature.index() + 1;
        if let Some(place) = given.clear_place(panel) {
            insert(format!("hole in {}, right after it", panel.name), first, given.hole(panel, place));
            insert(format!("hole in {}, last", panel.name), end, given.hole(panel, place));
            insert(format!("bump in {}, right after it", panel.name), first, given.bump(panel, place));
        }
        for edge in given.free_edges(panel) {
            let word = &edge.role;
            insert(
                format!("flange on {}/{word}, right after it", panel.name),
                first,
                given.flange(edge.clone()),
            );
            insert(format!("flange on {}/{word}, last", panel.name), end, given.flange(edge));
        }
        for (edge, place) in given.cut_edges(panel) {
            insert(
                format!("hole across {}/{edge}, right after it", panel.name),
                first,
                given.hole(panel, place),
            );
        }
    }
    for bend in part.tree.bends() {
        let child = part.tree.panel(bend.child);
        if let Some((drawn_on, cut)) = given.slot_across(bend) {
            insert(format!("slot on the blank across the bend of {}", child.name), drawn_on + 1, cut);
        }
    }
    for (corner, last) in given.whole_corners() {
        let what = format!("chamfer on {corner}, as soon as it can be");
        let corners = Corners::Named(vec![corner]);
        let chamfer = CornerBreak { corners, shape: BreakShape::Chamfer(number(0.5)) };
        insert(what, last + 1, Feature::CornerBreak(chamfer));
    }
    for at in 1..end - 1 {
        let [first, second] = [&history.features[at], &history.features[at + 1]];
        if !given.names(second, &first.name) {
            let mut swapped = history.clone();
            swapped.features.swap(at, at + 1);
            changes.push(Change {
                what: format!("{} before {}", second.name, first.name),
                sizes: Sizes::Same,
                history: swapped,
            });
        }
    }
    changes
}

/// The same history, but with two edges of the base panel under each other's name: what a kernel would make
/// of it that mixes them up.
pub(crate) fn with_edges_mixed_up(history: &History, [a, b]: [&str; 2]) -> History {
    let mut changed = history.clone();
    let Feature::BasePanel(base) = &mut changed.features[0].feature else {
        panic!("a history starts with its base panel")
    };
    for edge in &mut base.outline.edges {
        if edge.name == a {
            edge.name = b.to_owned();
        } else if edge.name == b {
            edge.name = a.to_owned();
        }
    }
    changed
}

fn number(value: f64) -> Number {
    Number::constant(value)
}

struct Given<'a> {
    history: &'a History,
    part: &'a Part,
}

impl Given<'_> {
    fn tree(&self) -> &FoldTree {
        &self.part.tree
    }

    /// Whether a feature names another one, or acts on all that come before it.
    fn names(&self, entry: &FeatureEntry, other: &str) -> bool {
        let text = serde_json::to_string(&entry.feature).expect("a feature can be saved");
        ["\"", ".", "/"].iter().any(|end| text.contains(&format!("\"{other}{end}")))
    }

    /// What is added to a place in the panel's own frame to get drawn coordinates.
    fn drawn(&self, panel: &Panel, p: Point2) -> [Number; 2] {
        let shift = self.part.settled.pose.panel(panel.id).drawn_shift;
        [number(p.x), number(p.y - shift)]
    }

    /// Whether it is the panel of a base, a flange or a hem, so that it has drawn coordinates of its own.
    fn is_drawn(&self, panel: &Panel) -> bool {
        match &self.history.feature(panel.feature).feature {
            Feature::BasePanel(_) | Feature::Flange(_) | Feature::Hem(_) => true,
            Feature::Offset(_) | Feature::FoldLine(_) => false,
            Feature::Seam(_)
            | Feature::Turned(_)
            | Feature::Cutout(_)
            | Feature::CornerBreak(_)
            | Feature::Bump(_)
            | Feature::BumpOver(_)
            | Feature::BumpChange(_) => panic!("{} makes no panel", panel.name),
        }
    }

    /// The place of the panel farthest from whatever is there, if there is room.
    fn clear_place(&self, panel: &Panel) -> Option<Point2> {
        if panel.region.is_empty() || !self.is_drawn(panel) {
            return None;
        }
        let bounds = panel.region.bounding_box();
        let forms = self.tree().forms().iter().filter(|f| f.panel == panel.id).map(|f| f.foot());
        let contours: Vec<&Contour> = panel.region.contours().iter().chain(forms).collect();
        let free = |p: Point2| {
            let distances = contours.iter().flat_map(|c| c.segments()).map(|s| s.distance_to(p));
            distances.fold(f64::INFINITY, f64::min)
        };
        let shares = |count: u32| (1..count).map(move |i| f64::from(i) / f64::from(count));
        let places = shares(24).flat_map(|u| {
            shares(24).map(move |v| {
                Point2::new(bounds.min.x + u * bounds.width(), bounds.min.y + v * bounds.height())
            })
        });
        let inside = places.filter(|p| place_in_region(&panel.region, *p) == Place::Inside);
        let (room, place) = inside.map(|p| (free(p), p)).max_by(|a, b| a.0.total_cmp(&b.0))?;
        (room >= ROOM).then_some(place)
    }

    fn hole(&self, panel: &Panel, place: Point2) -> Feature {
        Feature::Cutout(Cutout {
            panel: panel.name.clone(),
            shape: Shape::Circle { diameter: number(4.0) },
            pattern: Pattern::At(vec![self.drawn(panel, place)]),
            x_from: XFrom::Left,
            reach: Reach::Panel,
        })
    }

    fn bump(&self, panel: &Panel, place: Point2) -> Feature {
        Feature::Bump(Bump {
            panel: panel.name.clone(),
            profile: Shape::Circle { diameter: number(8.0) },
            pattern: Pattern::At(vec![self.drawn(panel, place)]),
            x_from: XFrom::Left,
            height: number(1.2),
            side: BumpSide::In,
            draft: number(45.0),
            punch_radius: Some(number(0.5)),
            die_radius: Some(number(0.5)),
            corner_radius: None,
        })
    }

    /// Edges of the panel that no feature names and no opening cuts, and that are long enough for a small flange.
    fn free_edges(&self, panel: &Panel) -> Vec<EdgeName> {
        let label = |s: &&kernel::geom::Segment| match self.tree().label(s) {
            EdgeLabel::Edge(edge) => Some(edge.clone()),
            EdgeLabel::CreaseStart(_)
            | EdgeLabel::CreaseEnd(_)
            | EdgeLabel::StripEnd(_)
            | EdgeLabel::Relief(_)
            | EdgeLabel::Opening(_)
            | EdgeLabel::CornerBreak(_) => None,
        };
        let saved: Vec<String> = self
            .history
            .features
            .iter()
            .map(|f| serde_json::to_string(&f.feature).expect("a feature can be saved"))
            .collect();
        let unnamed = |edge: &EdgeName| !saved.iter().any(|text| text.contains(&format!("\"{edge}\"")));
        let pieces = || panel.region.outers().flat_map(Contour::segments);
        if pieces().any(|s| matches!(self.tree().label(s), EdgeLabel::Opening(_))) {
            return Vec::new();
        }
        let straight = pieces().filter(|s| s.curvature() == 0.0 && s.length() > 3.0 * FLANGE_INSET);
        let mut edges: Vec<EdgeName> = straight.filter_map(|s| label(&s)).filter(unnamed).collect();
        edges.retain(|e| self.is_drawn(panel) && (e.role == "tip" || panel.bend.is_none()));
        edges.sort();
        edges.dedup();
        edges
    }

    /// Outer corners between two drawn edges that nothing has broken, with the panel's feature.
    fn whole_corners(&self) -> Vec<(CornerName, usize)> {
        let mut found = Vec::new();
        for panel in self.tree().panels() {
            for contour in panel.region.outers() {
                let pieces = contour.segments();
                for (i, piece) in pieces.iter().enumerate() {
                    let next = &pieces[(i + 1) % pieces.len()];
                    let labels = [piece, next].map(|s| self.tree().label(s));
                    let [EdgeLabel::Edge(a), EdgeLabel::Edge(b)] = labels else { continue };
                    if a.role != b.role && piece.end_direction().cross(next.start_direction()) > 0.5 {
                        let between = [a.role.clone(), b.role.clone()];
                        let corner = CornerName { panel: panel.name.clone(), between };
                        found.push((corner, panel.feature.index()));
                    }
                }
            }
        }
        found
    }

    fn flange(&self, edge: EdgeName) -> Feature {
        let end = || FlangeEnd { inset: number(FLANGE_INSET), taper: number(0.0) };
        Feature::Flange(Flange {
            edges: vec![edge],
            turn: number(40.0),
            side: FoldSide::Down,
            length: number(10.0),
            length_from: LengthFrom::Outside,
            holds: HeldFace::Outer,
            left: end(),
            right: end(),
            inside_radius: None,
            relief: Relief::by_rule(),
            corner_relief: None,
            corner_gap: number(1.0),
            outline: None,
        })
    }

    /// Straight cut edges of the panel that some feature names, each with the middle of its longest piece.
    fn cut_edges(&self, panel: &Panel) -> Vec<(String, Point2)> {
        let mut found: Vec<(String, Point2, f64)> = Vec::new();
        if !self.is_drawn(panel) {
            return Vec::new();
        }
        for piece in panel.region.outers().flat_map(Contour::segments) {
            let EdgeLabel::Edge(edge) = self.tree().label(piece) else { continue };
            if piece.curvature() != 0.0 || piece.length() < 3.0 * ROOM {
                continue;
            }
            let (middle, length) = (piece.point_at(0.5), piece.length());
            match found.iter_mut().find(|(role, ..)| *role == edge.role) {
                Some(longest) if longest.2 < length => *longest = (edge.role.clone(), middle, length),
                Some(_) => {}
                None => found.push((edge.role.clone(), middle, length)),
            }
        }
        found.into_iter().map(|(role, middle, _)| (role, middle)).collect()
    }

    /// A slot right across a bend, and so across the edge from which the panel behind it is bent; with the
    /// index of the last feature that it needs.
    fn slot_across(&self, bend: &Bend) -> Option<(usize, Feature)> {
        let [parent, child] = [bend.parent, bend.child].map(|id| self.tree().panel(id));
        let [from, to] = bend.reach();
        let along = from + 0.31 * (to - from);
        let half = 0.5 * bend.allowance();
        // Drawn on the panel that is there first, so that it comes before the flange that it cuts.
        let (panel, place, turned) = if self.is_drawn(parent) {
            (parent, bend.origin + bend.along * along + bend.outward * half, bend.outward.angle())
        } else if self.is_drawn(child) {
            (child, Point2::new(along, -half), 0.5 * std::f64::consts::PI)
        } else {
            return None;
        };
        let cut = Cutout {
            panel: panel.name.clone(),
            shape: Shape::Slot {
                length: number(bend.allowance() + 7.0),
                width: number(2.0),
                direction: number(turned.to_degrees()),
            },
            pattern: Pattern::At(vec![self.drawn(panel, place)]),
            x_from: XFrom::Left,
            reach: Reach::Blank,
        };
        Some((panel.feature.index(), Feature::Cutout(cut)))
    }
}

/// How far an inserted flange stays from the ends of its edge in mm: clear of its neighbours.
const FLANGE_INSET: f64 = 15.0;
