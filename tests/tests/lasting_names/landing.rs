//! Where the names in a history land in the finished part.
//!
//! Job: for every edge, panel and face that a feature or a dimension names, find the real thing in the fold
//! tree, check that it lies where the numbers of the history put it, and give what identifies it. Names are
//! taken from one history and the part from another, so that a change shows whether the old names still land.
//! Invariant: only shapes, frames and labels of the tree are read; nothing here looks a name up the way the
//! kernel does.

use kernel::fold::{Bend, EdgeLabel, FoldFractions, Panel};
use kernel::geom::{Contour, Placement, Point2, Segment, Vec2, Vec3};
use kernel::history::feature::{
    BasePanel, Bump, CornerBreak, Corners, Cutout, DrawnLine, Feature, Flange, HeldFace, KeptSize,
    LengthFrom, LineMarks, Offset, Pattern, Reach, Seam, Straight, StraightSide, XFrom,
};
use kernel::history::{
    DimensionEntry, DimensionKind, EdgeName, History, NeighbourSpec, PanelName, Shape, Target,
};
use kernel::ident::FeatureId;
use kernel::quantity::maths;
use kernel::regenerate::{Part, regenerate};

/// Largest deviation in mm of what must lie at the same place: a hundred times the solver's tolerance.
const SAME_MM: f64 = 1e-6;

/// Names turned by less than this mean the same side of a panel; the sides of a panel are apart by more.
const SAME_SIDE_COS: f64 = 0.75;

/// One name with what it stands for.
#[derive(Clone, Debug)]
pub(crate) struct Landing {
    /// Who names what.
    pub name: String,
    /// The panel on which it lies.
    pub on: String,
    /// Direction from the middle of the panel to the edge, in the panel's own frame, if an edge is named.
    side: Option<Vec2>,
    /// Numbers that change only if it is another thing, or if sizes change: lines, points, turns.
    at: Vec<f64>,
}

/// How much may differ between two parts.
#[derive(Clone, Copy, PartialEq)]
pub(crate) enum Sizes {
    /// Nothing: the sizes are the same.
    Same,
    /// Places and lengths, but not on which side of which panel a thing lies.
    Changed,
}

/// The first landing that is not what it was.
pub(crate) fn moved(before: &[Landing], after: &[Landing], sizes: Sizes) -> Option<String> {
    before.iter().find_map(|old| {
        let Some(new) = after.iter().find(|new| new.name == old.name) else {
            return Some(format!("{} is lost", old.name));
        };
        if old.on != new.on {
            return Some(format!("{} was on {} and is on {}", old.name, old.on, new.on));
        }
        if let (Some(was), Some(is)) = (old.side, new.side)
            && was.dot(is) < SAME_SIDE_COS
        {
            return Some(format!("{} was at the side {was:?} and is at {is:?}", old.name));
        }
        let alike = old.at.len() == new.at.len()
            && old.at.iter().zip(&new.at).all(|(was, is)| (was - is).abs() <= SAME_MM);
        (sizes == Sizes::Same && !alike)
            .then(|| format!("{} was at {:?} and is at {:?}", old.name, old.at, new.at))
    })
}

/// Looks the names of `asked` up in the part that was made from `now`. Features that `now` has no more are
/// left out.
pub(crate) fn landings(asked: &History, now: &History, part: &Part) -> Result<Vec<Landing>, String> {
    let frames = part.tree.placements(&FoldFractions::all(&part.tree, 1.0));
    let uncut = without_straight_cuts(now);
    let whole = regenerate(&uncut).map_err(|faults| format!("without its straight cuts: {faults:?}"))?;
    let look = Look { now, part, frames, whole };
    let mut found = Vec::new();
    for entry in &asked.features {
        let Some(id) = now.features.iter().position(|f| f.name == entry.name) else { continue };
        let place = Named { id: FeatureId::new(id), name: &entry.name };
        let landed = look.feature(place, &entry.feature, &now.features[id].feature);
        found.extend(landed.map_err(|fault| format!("`{}`: {fault}", entry.name))?);
    }
    for dimension in &asked.dimensions {
        let landed = look.dimension(dimension);
        found.push(landed.map_err(|fault| format!("`{}`: {fault}", dimension.name))?);
    }
    Ok(found)
}

/// A feature in the history from which the part was made.
#[derive(Clone, Copy)]
struct Named<'a> {
    id: FeatureId,
    name: &'a str,
}

struct Look<'a> {
    now: &'a History,
    part: &'a Part,
    frames: Vec<Placement<f64>>,
    /// The part without its straight cuts, whose bends are as long as drawn.
    whole: Part,
}

/// The history without its straight cuts, and without broken corners, which may be those of such a cut.
pub(crate) fn without_straight_cuts(history: &History) -> History {
    let mut uncut = history.clone();
    uncut.features.retain(|entry| match &entry.feature {
        Feature::Cutout(cutout) => !matches!(cutout.reach, Reach::Straight(_)),
        Feature::CornerBreak(_) => false,
        Feature::BasePanel(_)
        | Feature::Flange(_)
        | Feature::Seam(_)
        | Feature::Hem(_)
        | Feature::FoldLine(_)
        | Feature::Offset(_)
        | Feature::Turned(_)
        | Feature::Bump(_)
        | Feature::BumpOver(_)
        | Feature::BumpChange(_) => true,
    });
    uncut
}

fn same(got: f64, expected: f64, what: &str) -> Result<(), String> {
    if (got - expected).abs() <= SAME_MM {
        Ok(())
    } else {
        Err(format!("{what} is {got}, by the numbers of the history {expected}"))
    }
}

fn as_vec(p: Point2) -> Vec2 {
    p - Point2::ORIGIN
}

/// Distance from a bend's inner or outer corner to the line where the bend starts or ends.
fn corner_distance(bend: &Bend, radius: f64) -> f64 {
    if bend.turn() > 0.5 * maths::PI + 1e-12 { radius } else { radius * maths::tan(0.5 * bend.turn()) }
}

impl Look<'_> {
    /// `asked` has the names, `now` the numbers.
    fn feature(&self, place: Named<'_>, asked: &Feature, now: &Feature) -> Result<Vec<Landing>, String> {
        match (asked, now) {
            (Feature::BasePanel(asked), Feature::BasePanel(_)) => {
                let edges = asked.outline.edges.iter();
                edges.map(|edge| self.base_edge_landing(place, &edge.name)).collect()
            }
            (Feature::Flange(asked), Feature::Flange(now)) => self.flange(place, asked, now),
            (Feature::Hem(asked), Feature::Hem(now)) => self.flange(place, asked.flange(), now.flange()),
            (Feature::Seam(asked), Feature::Seam(now)) => self.seam(place, asked, now),
            (Feature::Turned(asked), Feature::Turned(now)) => {
                let bend = self.bend_before(self.panel(asked.panel.as_str())?)?;
                let turn = bend.turn() * 180.0 / maths::PI;
                same(turn, self.value(&now.turn), "its turn")?;
                Ok(vec![Landing {
                    name: format!("{}: {}", place.name, asked.panel),
                    on: asked.panel.to_string(),
                    side: None,
                    at: vec![turn],
                }])
            }
            (Feature::Offset(asked), Feature::Offset(now)) => self.offset(place, asked, now),
            (Feature::Cutout(asked), Feature::Cutout(now)) => Ok(vec![self.cutout(place, asked, now)?]),
            (Feature::Bump(asked), Feature::Bump(now)) => Ok(vec![self.bump(place, asked, now)?]),
            (Feature::CornerBreak(asked), Feature::CornerBreak(_)) => self.corner_break(place, asked),
            (Feature::FoldLine(_) | Feature::BumpOver(_) | Feature::BumpChange(_), _) => {
                Err("no family has had this feature: say here what its names stand for".to_owned())
            }
            _ => Err("it has become another kind of feature".to_owned()),
        }
    }

    fn value(&self, number: &kernel::history::Number) -> f64 {
        number.evaluate(&self.part.settled.free)
    }

    fn thickness(&self) -> f64 {
        self.part.tree.thickness()
    }

    fn panel(&self, name: &str) -> Result<&Panel, String> {
        let mut with_name = self.part.tree.panels().iter().filter(|p| p.name.as_str() == name);
        match (with_name.next(), with_name.next()) {
            (Some(panel), None) => Ok(panel),
            (None, _) => Err(format!("no panel is called {name}")),
            (Some(_), Some(_)) => Err(format!("two panels are called {name}")),
        }
    }

    fn bend_before(&self, panel: &Panel) -> Result<&Bend, String> {
        panel.bend.map(|id| self.part.tree.bend(id)).ok_or_else(|| format!("{} has no bend", panel.name))
    }

    fn base(&self) -> &BasePanel {
        let Feature::BasePanel(base) = &self.now.features[0].feature else {
            panic!("a history starts with its base panel")
        };
        base
    }

    /// A drawn edge of the base panel: a point of it and the direction away from the panel.
    fn base_edge(&self, role: &str) -> Result<(Vec2, Vec2), String> {
        let outline = &self.base().outline;
        let corner = |i: usize| {
            let [x, y] = &outline.corners[i % outline.corners.len()];
            Vec2::new(self.value(x), self.value(y))
        };
        let count = outline.corners.len();
        let twice_area: f64 = (0..count).map(|i| corner(i).cross(corner(i + 1))).sum();
        let index = outline.edges.iter().position(|e| e.name == role);
        let index = index.ok_or_else(|| format!("the base panel has no edge {role}"))?;
        let along = (corner(index + 1) - corner(index)).normalized();
        Ok((corner(index), along.right() * twice_area.signum()))
    }

    fn base_edge_landing(&self, place: Named<'_>, role: &str) -> Result<Landing, String> {
        let (point, away) = self.base_edge(role)?;
        Ok(Landing {
            name: format!("{}/{role}", place.name),
            on: place.name.to_owned(),
            side: Some(away),
            at: vec![away.x, away.y, point.dot(away)],
        })
    }

    /// The line in which a bend starts, in space: direction away from the parent, how far out it lies, how
    /// high it lies over the plane of the base panel's inner face.
    fn crease(&self, bend: &Bend) -> (Vec3<f64>, f64, f64) {
        let frame = self.frames[bend.parent.index()];
        let outward = frame.direction(bend.outward.x, bend.outward.y, 0.0);
        let point = frame.lift(bend.origin, 0.0);
        (outward, point.dot(outward), point.z)
    }

    fn flange(&self, place: Named<'_>, asked: &Flange, now: &Flange) -> Result<Vec<Landing>, String> {
        asked.edges.iter().map(|edge| self.flange_on(place, edge, asked.edges.len() == 1, now)).collect()
    }

    fn flange_on(
        &self,
        place: Named<'_>,
        edge: &EdgeName,
        alone: bool,
        now: &Flange,
    ) -> Result<Landing, String> {
        let name = PanelName::of_flange(place.name, edge, alone).map_err(|e| e.to_string())?;
        let child = self.panel(name.as_str())?;
        let bend = self.bend_before(child)?;
        let parent = self.part.tree.panel(bend.parent);
        if parent.name != edge.panel {
            return Err(format!("{name} hangs on {}, not on {}", parent.name, edge.panel));
        }
        let thick = self.thickness();
        let setback = match now.holds {
            HeldFace::Outer => corner_distance(bend, bend.inside_radius() + thick),
            HeldFace::Inner => corner_distance(bend, bend.inside_radius()),
            HeldFace::BendStart => 0.0,
        };
        let (outward, out, high) = self.crease(bend);
        match &self.now.feature(parent.feature).feature {
            Feature::BasePanel(_) | Feature::Offset(_) => {
                // The moved side of a step lies where it was drawn, seen from above.
                let (point, away) = self.base_edge(&edge.role)?;
                same(outward.dot(Vec3::new(away.x, away.y, 0.0)), 1.0, "its side")?;
                same(out, point.dot(away) - setback, "the line of its bend")?;
            }
            Feature::Flange(on) => {
                let own = bend.outward;
                let drawn = self.value(&on.length) - self.drop(parent, on)?;
                match edge.role.as_str() {
                    "tip" => {
                        same(own.y, 1.0, "its side")?;
                        same(bend.origin.y, drawn - setback, "the line of its bend")?;
                    }
                    "left" if own.x < -SAME_SIDE_COS => {}
                    "right" if own.x > SAME_SIDE_COS => {}
                    _ => return Err(format!("{name} hangs on the side {own:?} of {}", parent.name)),
                }
            }
            Feature::Hem(_) | Feature::FoldLine(_) => {
                return Err(format!("no family has had a flange on {}", parent.name));
            }
            Feature::Seam(_)
            | Feature::Turned(_)
            | Feature::Cutout(_)
            | Feature::CornerBreak(_)
            | Feature::Bump(_)
            | Feature::BumpOver(_)
            | Feature::BumpChange(_) => return Err(format!("{} was made by no bend", parent.name)),
        }
        let turn = bend.turn() * bend.side.sign();
        Ok(Landing {
            name: format!("{}: {edge}", place.name),
            on: parent.name.to_string(),
            side: Some(bend.outward),
            at: vec![outward.x, outward.y, outward.z, out, high, turn],
        })
    }

    /// Distance from where a flange's length is measured to where its flat begins.
    fn drop(&self, panel: &Panel, flange: &Flange) -> Result<f64, String> {
        let bend = self.bend_before(panel)?;
        Ok(match flange.length_from {
            LengthFrom::Outside => corner_distance(bend, bend.inside_radius() + self.thickness()),
            LengthFrom::Inside => corner_distance(bend, bend.inside_radius()),
            LengthFrom::Tangent => 0.0,
        })
    }

    /// The pieces of a panel's outline that are this cut edge.
    fn edge_pieces(&self, edge: &EdgeName) -> Result<Vec<Segment>, String> {
        let panel = self.panel(edge.panel.as_str())?;
        let pieces = panel.region.contours().iter().flat_map(Contour::segments);
        let named: Vec<Segment> =
            pieces.filter(|s| *self.part.tree.label(s) == EdgeLabel::Edge(edge.clone())).copied().collect();
        if named.is_empty() { Err(format!("nothing is left of {edge}")) } else { Ok(named) }
    }

    /// An edge of a flange that stays a cut edge: the line of its longest straight piece.
    fn cut_edge(&self, place: Named<'_>, edge: &EdgeName) -> Result<Landing, String> {
        let pieces = self.edge_pieces(edge)?;
        let longest = pieces.iter().max_by(|a, b| a.length().total_cmp(&b.length())).expect("there is one");
        let away = longest.start_direction().right();
        let expected = match edge.role.as_str() {
            "tip" => Vec2::new(0.0, 1.0),
            "left" => Vec2::new(-1.0, 0.0),
            "right" => Vec2::new(1.0, 0.0),
            role => return Err(format!("a flange has no edge {role}")),
        };
        // A side may lean by what the panel it meets leans.
        if away.dot(expected) < SAME_SIDE_COS {
            return Err(format!("{edge} lies at the side {away:?}"));
        }
        Ok(Landing {
            name: format!("{}: {edge}", place.name),
            on: edge.panel.to_string(),
            side: Some(away),
            at: vec![away.x, away.y, as_vec(longest.start).dot(away)],
        })
    }

    fn seam(&self, place: Named<'_>, asked: &Seam, now: &Seam) -> Result<Vec<Landing>, String> {
        let (Seam::Meet { a, b, .. }, Seam::Meet { gap, .. }) = (asked, now) else {
            return Err("no family has had this seam: say here what its names stand for".to_owned());
        };
        let lines = |edge: &EdgeName| -> Result<Vec<[Vec3<f64>; 2]>, String> {
            let frame = self.frames[self.panel(edge.panel.as_str())?.id.index()];
            let depths = [0.0, -self.thickness()];
            let pieces = self.edge_pieces(edge)?;
            let on_both_faces = pieces
                .iter()
                .flat_map(|s| depths.map(|depth| [frame.lift(s.start, depth), frame.lift(s.end, depth)]));
            Ok(on_both_faces.collect())
        };
        let (one, other) = (lines(a)?, lines(b)?);
        let pairs = one.iter().flat_map(|p| other.iter().map(|q| line_distance(*p, *q)));
        same(pairs.fold(f64::INFINITY, f64::min), self.value(gap), "its gap in space")?;
        Ok(vec![self.cut_edge(place, a)?, self.cut_edge(place, b)?])
    }

    fn offset(&self, place: Named<'_>, asked: &Offset, now: &Offset) -> Result<Vec<Landing>, String> {
        let (moved, web) = (self.panel(place.name)?, self.panel(&format!("{}.web", place.name))?);
        let (first, last) = (self.bend_before(web)?, self.bend_before(moved)?);
        let parent = self.part.tree.panel(first.parent);
        if parent.name != asked.panel || last.parent != web.id {
            return Err(format!("it steps {}, not {}", parent.name, asked.panel));
        }
        let DrawnLine::Beside { edge, .. } = &asked.line else {
            return Err("no family has had a step along this line".to_owned());
        };
        let (DrawnLine::Beside { distance, .. }, LineMarks::Middle, KeptSize::Folded) =
            (&now.line, now.marks, now.keeps)
        else {
            return Err("no family has had a step drawn like this".to_owned());
        };
        let (point, away) = self.base_edge(edge)?;
        let (outward, out, high) = self.crease(first);
        same(outward.dot(Vec3::new(away.x, away.y, 0.0)), 1.0, "the side that it moves")?;
        let behind = self.frames[moved.id.index()].origin.dot(outward);
        let middle = point.dot(away) - self.value(distance);
        same(0.5 * (out + behind), middle, "the middle of the step")?;
        Ok(vec![Landing {
            name: format!("{}: {}/{edge}", place.name, asked.panel),
            on: parent.name.to_string(),
            side: Some(first.outward),
            at: vec![outward.x, outward.y, outward.z, out, high, behind],
        }])
    }

    fn cutout(&self, place: Named<'_>, asked: &Cutout, now: &Cutout) -> Result<Landing, String> {
        if let (Reach::Straight(asked_way), Reach::Straight(way)) = (&asked.reach, &now.reach) {
            return self.straight_cut(place, asked, asked_way, now, way);
        }
        let tree = &self.part.tree;
        let is_own = |s: &Segment| *tree.label(s) == EdgeLabel::Opening(place.id);
        let mut on = Vec::new();
        let mut centres = Vec::new();
        for panel in tree.panels() {
            for contour in panel.region.contours() {
                let pieces: Vec<&Segment> = contour.segments().iter().filter(|s| is_own(s)).collect();
                let Some(first) = pieces.first() else { continue };
                let bounds = pieces.iter().map(|s| s.bounding_box());
                let bounds = bounds.fold(first.bounding_box(), |sum, b| sum.union(b));
                centres.push((panel, bounds.min.midpoint(bounds.max)));
                on.push(panel.name.as_str());
            }
        }
        on.dedup();
        if on != [asked.panel.as_str()] {
            return Err(format!("its openings are in {on:?}, not in {}", asked.panel));
        }
        if let (Pattern::At(places), false) = (&now.pattern, matches!(now.shape, Shape::Outline(_))) {
            let panel = self.panel(asked.panel.as_str())?;
            let expected = places.iter().map(|p| self.drawn_place(panel, p, now.x_from));
            let expected = expected.collect::<Result<Vec<_>, _>>()?;
            let got: Vec<Point2> = centres.iter().map(|(_, centre)| *centre).collect();
            every_place(&expected, &got)?;
        }
        let at = match now.pattern {
            // What is filled depends on what was cut before; the panel does not.
            Pattern::Fill { .. } => Vec::new(),
            Pattern::At(_)
            | Pattern::OnAxes(_)
            | Pattern::Grid { .. }
            | Pattern::Row { .. }
            | Pattern::Ring { .. } => {
                let mut points: Vec<[f64; 3]> = centres
                    .iter()
                    .map(|(panel, centre)| self.frames[panel.id.index()].lift(*centre, 0.0))
                    .map(|p| [p.x, p.y, p.z])
                    .collect();
                // In an order that does not depend on the last digits.
                points.sort_by_key(|p| p.map(|v| (v * 1e3).round() as i64));
                points.concat()
            }
        };
        Ok(Landing { name: format!("{}: {}", place.name, asked.panel), on: on.join(" "), side: None, at })
    }

    /// Where the axis of a shaft or bolt meets a panel that it is square to, in the panel's coordinates.
    fn on_square_axis(&self, panel: &Panel, of: &str) -> Result<Point2, String> {
        let entry = self.now.neighbours.iter().find(|entry| entry.name == of).ok_or("it is lost")?;
        let [x, y, z] = match &entry.kind {
            NeighbourSpec::Shaft { from, .. } => *from,
            NeighbourSpec::Bolt(bolt) => bolt.stand.at,
            NeighbourSpec::Plate { .. }
            | NeighbourSpec::Block { .. }
            | NeighbourSpec::DriveLoop { .. }
            | NeighbourSpec::Mesh(_) => return Err("no family has cut about another neighbour".to_owned()),
        };
        let seen = self.frames[panel.id.index()].coordinates(Vec3::new(x, y, z));
        Ok(Point2::new(seen.x, seen.y))
    }

    /// A round cut square to the base panel: its edges are seen on the drawn circle.
    fn straight_cut(
        &self,
        place: Named<'_>,
        asked: &Cutout,
        asked_way: &Straight,
        now: &Cutout,
        way: &Straight,
    ) -> Result<Landing, String> {
        let Straight { side: StraightSide::Both, panels: Some(panels), .. } = asked_way else {
            return Err("no family has cut the whole part".to_owned());
        };
        let (Shape::Circle { diameter }, [x, y, z]) = (&now.shape, &way.along) else {
            return Err("no family has had a straight cut of this shape".to_owned());
        };
        if [x, y].map(|n| self.value(n)) != [0.0; 2] || self.value(z) <= 0.0 {
            return Err("no family has cut slantwise".to_owned());
        }
        let drawn_on = self.panel(asked.panel.as_str())?;
        let centre = match &now.pattern {
            Pattern::At(places) => self.drawn_place(drawn_on, &places[0], now.x_from)?,
            Pattern::OnAxes(axes) => self.on_square_axis(drawn_on, &axes[0].of)?,
            Pattern::Grid { .. } | Pattern::Row { .. } | Pattern::Ring { .. } | Pattern::Fill { .. } => {
                return Err("no family has had a straight cut of this pattern".to_owned());
            }
        };
        let (frame, radius) = (self.frames[drawn_on.id.index()], 0.5 * self.value(diameter));
        let tree = &self.part.tree;
        let mut on = Vec::new();
        for panel in tree.panels() {
            for piece in panel.region.contours().iter().flat_map(Contour::segments) {
                if *tree.label(piece) != EdgeLabel::Opening(place.id) {
                    continue;
                }
                on.push(panel.name.as_str());
                // One of the faces just clears the circle.
                let off = [0.0, -self.thickness()].map(|depth| {
                    let seen = frame.coordinates(self.frames[panel.id.index()].lift(piece.start, depth));
                    Point2::new(seen.x, seen.y).distance(centre)
                });
                same(off[0].min(off[1]), radius, "the distance of the cut from its axis")?;
            }
        }
        on.dedup();
        let mut wanted: Vec<&str> = panels.iter().map(PanelName::as_str).collect();
        wanted.sort_unstable();
        on.sort_unstable();
        if on != wanted {
            return Err(format!("its openings are in {on:?}, not in {wanted:?}"));
        }
        let axis = frame.lift(centre, 0.0);
        Ok(Landing {
            name: format!("{}: {}", place.name, asked.panel),
            on: on.join(" "),
            side: None,
            at: vec![axis.x, axis.y, radius],
        })
    }

    /// A drawn place of a panel in the panel's own frame.
    fn drawn_place(
        &self,
        panel: &Panel,
        [x, y]: &[kernel::history::Number; 2],
        x_from: XFrom,
    ) -> Result<Point2, String> {
        let (x, y) = (self.value(x), self.value(y));
        match (&self.now.feature(panel.feature).feature, x_from) {
            (Feature::BasePanel(_), XFrom::Left) => Ok(Point2::new(x, y)),
            (Feature::Flange(flange), XFrom::Middle) => {
                let whole = self.whole.tree.panels().iter().find(|p| p.name == panel.name);
                let bend = whole.and_then(|p| p.bend).ok_or("it is lost without the straight cuts")?;
                let [from, to] = self.whole.tree.bend(bend).reach();
                Ok(Point2::new(0.5 * (from + to) + x, y - self.drop(panel, flange)?))
            }
            _ => Err(format!("no family has drawn like this on {}", panel.name)),
        }
    }

    fn bump(&self, place: Named<'_>, asked: &Bump, now: &Bump) -> Result<Landing, String> {
        let forms: Vec<_> = self.part.tree.forms().iter().filter(|f| f.feature == place.id).collect();
        let panel = self.panel(asked.panel.as_str())?;
        if forms.is_empty() || forms.iter().any(|f| f.panel != panel.id) {
            return Err(format!("its bumps are not in {}", asked.panel));
        }
        let expected: Vec<Point2> = match &now.pattern {
            Pattern::At(places) => {
                places.iter().map(|p| self.drawn_place(panel, p, now.x_from)).collect::<Result<_, _>>()?
            }
            Pattern::OnAxes(axes) => {
                axes.iter().map(|axis| self.on_square_axis(panel, &axis.of)).collect::<Result<_, _>>()?
            }
            Pattern::Grid { .. } | Pattern::Row { .. } | Pattern::Ring { .. } | Pattern::Fill { .. } => {
                return Err("no family has had bumps in this pattern".to_owned());
            }
        };
        let bounds = forms.iter().map(|f| f.foot().bounding_box());
        let got: Vec<Point2> = bounds.map(|b| b.min.midpoint(b.max)).collect();
        every_place(&expected, &got)?;
        let at = got.iter().map(|p| self.frames[panel.id.index()].lift(*p, 0.0));
        Ok(Landing {
            name: format!("{}: {}", place.name, asked.panel),
            on: panel.name.to_string(),
            side: None,
            at: at.flat_map(|p| [p.x, p.y, p.z]).collect(),
        })
    }

    fn corner_break(&self, place: Named<'_>, asked: &CornerBreak) -> Result<Vec<Landing>, String> {
        let Corners::Named(corners) = &asked.corners else { return Ok(Vec::new()) };
        let tree = &self.part.tree;
        let called = |s: &Segment| match tree.label(s) {
            EdgeLabel::Edge(edge) => edge.role.clone(),
            EdgeLabel::Opening(feature) => self.now.feature(*feature).name.clone(),
            EdgeLabel::Relief(panel) => panel.to_string(),
            EdgeLabel::CreaseStart(_)
            | EdgeLabel::CreaseEnd(_)
            | EdgeLabel::StripEnd(_)
            | EdgeLabel::CornerBreak(_) => String::new(),
        };
        let mut landed = Vec::new();
        for corner in corners {
            let panel = self.panel(corner.panel.as_str())?;
            let mut wanted = corner.between.clone();
            wanted.sort();
            let mut at = Vec::new();
            for contour in panel.region.contours() {
                let pieces = contour.segments();
                for (i, piece) in pieces.iter().enumerate() {
                    let [before, after] = [i + pieces.len() - 1, i + 1].map(|i| &pieces[i % pieces.len()]);
                    let mut sides = [called(before), called(after)];
                    sides.sort();
                    if *tree.label(piece) == EdgeLabel::CornerBreak(place.id) && sides == wanted {
                        let middle = self.frames[panel.id.index()].lift(piece.point_at(0.5), 0.0);
                        at.extend([middle.x, middle.y, middle.z]);
                    }
                }
            }
            if at.is_empty() {
                return Err(format!("no broken corner is at {corner}"));
            }
            landed.push(Landing {
                name: format!("{}: {corner}", place.name),
                on: panel.name.to_string(),
                side: None,
                at,
            });
        }
        Ok(landed)
    }

    /// Measures a dimension between the panels of the folded part, and compares with what was asked.
    fn dimension(&self, asked: &DimensionEntry) -> Result<Landing, String> {
        let frame = |name: &PanelName| Ok::<_, String>(self.frames[self.panel(name.as_str())?.id.index()]);
        let faces = |a: &PanelName, b: &PanelName| {
            let (a, b) = (frame(a)?, frame(b)?);
            let (apart, thick) = (a.n.dot(b.origin - a.origin), self.thickness());
            let [fa, fb] = [[0.0, -thick], [apart, apart - thick * a.n.dot(b.n)]];
            Ok::<_, String>(fa.iter().flat_map(|p| fb.map(|q| (p - q).abs())).collect::<Vec<f64>>())
        };
        let measured = match &asked.kind {
            DimensionKind::Inside { a, b } => faces(a, b)?.into_iter().fold(f64::INFINITY, f64::min),
            DimensionKind::Outside { a, b } => faces(a, b)?.into_iter().fold(0.0, f64::max),
            DimensionKind::Angle { a, b } => {
                maths::acos(frame(a)?.n.dot(frame(b)?.n).clamp(-1.0, 1.0)) * 180.0 / maths::PI
            }
            DimensionKind::PanelWidth { a, b } => {
                if [a, b].iter().any(|e| e.panel.as_str() != self.now.features[0].name) {
                    return Err("no family has measured the width of another panel".to_owned());
                }
                let ((p, away), (q, _)) = (self.base_edge(&a.role)?, self.base_edge(&b.role)?);
                (p - q).dot(away).abs()
            }
            kind @ (DimensionKind::Clear { .. }
            | DimensionKind::ClearOf { .. }
            | DimensionKind::Overall { .. }
            | DimensionKind::OffCentre { .. }
            | DimensionKind::BlankLength
            | DimensionKind::BlankWidth
            | DimensionKind::Difference(_)
            | DimensionKind::Ratio(_)) => return Err(format!("no family has measured {kind}")),
        };
        let index = self.now.dimensions.iter().position(|d| d.name == asked.name).ok_or("it is lost")?;
        same(self.part.settled.dimensions[index].got, measured, "its measure in the report")?;
        if let Target::Held(value) = &self.now.dimensions[index].target {
            same(measured, self.value(value), "its measure")?;
        }
        let (a, b) = asked.kind.between();
        Ok(Landing { name: asked.name.clone(), on: format!("{a} to {b}"), side: None, at: vec![measured] })
    }
}

/// Every place expected is there, and no other.
fn every_place(expected: &[Point2], got: &[Point2]) -> Result<(), String> {
    let there = expected.iter().all(|p| got.iter().any(|q| p.distance(*q) <= SAME_MM));
    if there && expected.len() == got.len() {
        Ok(())
    } else {
        Err(format!("it lies at {got:?}, by the numbers of the history at {expected:?}"))
    }
}

/// Smallest distance between two straight lines in space, each from end to end.
fn line_distance([p0, p1]: [Vec3<f64>; 2], [q0, q1]: [Vec3<f64>; 2]) -> f64 {
    let to_line = |p: Vec3<f64>, a: Vec3<f64>, b: Vec3<f64>| {
        let along = b - a;
        let share = ((p - a).dot(along) / along.dot(along)).clamp(0.0, 1.0);
        (p - (a + along.times(share))).length()
    };
    let at_ends = [to_line(p0, q0, q1), to_line(p1, q0, q1), to_line(q0, p0, p1), to_line(q1, p0, p1)];
    let at_ends = at_ends.into_iter().fold(f64::INFINITY, f64::min);
    // Between the ends the nearest points lie on the common normal.
    let (u, v, w) = (p1 - p0, q1 - q0, p0 - q0);
    let (uu, uv, vv, uw, vw) = (u.dot(u), u.dot(v), v.dot(v), u.dot(w), v.dot(w));
    let common = uu * vv - uv * uv;
    if common <= 1e-12 * uu * vv {
        return at_ends;
    }
    let (s, t) = ((uv * vw - vv * uw) / common, (uu * vw - uv * uw) / common);
    let between = (0.0..=1.0).contains(&s) && (0.0..=1.0).contains(&t);
    if between { (w + u.times(s) - v.times(t)).length() } else { at_ends }
}
