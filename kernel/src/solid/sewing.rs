//! Sews the zones of a fold tree into one boundary.
//!
//! Every vertex of a zone's contour is a *post*: one vertex on the inner face, one on the outer face. Two
//! zones that meet at a crease share its posts and its edges, so that nothing has to be matched by distance.
//! Invariant: a post and a crease are found again by
//! bit-equal points, but where a panel has shrunk to a line. A bend without radius has no face
//! on its inside: what lies over each other there becomes one edge.

use std::ops::Range;

use crate::fold::{Bend, EdgeLabel, FoldFractions, FoldTree, Form, StripMap, around_forms};
use crate::geom::{ArcTurn, Contour, Curve, Nesting, Placement, Point2, Region, Segment, Vec3, nesting};
use crate::history::feature::FoldSide;
use crate::ident::{EdgeId, FormId, PanelId, VertexId};
use crate::quantity::tolerance;

use super::brep::{Brep, CircleArc, Curve3, Edge, FacePart, OverStrip, RolledCurve, Sense, Surface3, Use};
use super::{Zone, sharp_bend};

/// The exact boundary of the part at these fold fractions.
///
/// # Panics
/// If the tree breaks its own promise that panel and bend share the vertices of their creases.
#[must_use]
pub fn brep(tree: &FoldTree, fractions: &FoldFractions) -> Brep {
    let frames = tree.placements(fractions);
    let mut sewing = Sewing {
        tree,
        depths: [0.0, -tree.thickness()],
        brep: Brep::default(),
        posts: Vec::new(),
        shared: vec![SharedPosts::default(); tree.panels().len()],
        frames,
    };
    let mut strips: Vec<SewnStrip> = tree
        .bends()
        .iter()
        .map(|bend| {
            let map = tree.strip_map(bend, &sewing.frames, fractions);
            sewing.brep.strips.push(map);
            SewnStrip { map, posts: sewing.strip_posts(bend, map), closed: None }
        })
        .collect();
    for (bend, strip) in tree.bends().iter().zip(&mut strips) {
        let inside = match bend.side {
            FoldSide::Up => SheetSide::Inner,
            FoldSide::Down => SheetSide::Outer,
        };
        if strip.map.angle() > 0.0 && strip.map.radius(sewing.depths[inside.index()]) <= tolerance::SNAP_MM {
            let runs = sharp_bend::close(&mut sewing, bend, strip.map, &strip.posts, inside);
            strip.closed = Some(ClosedSide { side: inside, runs });
        }
    }
    for panel in tree.panels() {
        let frame = sewing.frames[panel.id.index()];
        let (ids, forms): (Vec<FormId>, Vec<&Form>) = tree
            .forms()
            .iter()
            .enumerate()
            .filter(|(_, form)| form.panel == panel.id)
            .map(|(index, form)| (FormId::new(index), form))
            .unzip();
        let region = around_forms(&panel.region, &forms);
        // Each form's foot has been added as the last hole.
        let feet = region.contours().len() - forms.len()..region.contours().len();
        let posts = sewing.panel_posts(panel.id, &region, &feet);
        let feet = sewing.zone(Zone::Panel(panel.id), &region, &posts, Lie::Flat(frame), None, feet);
        for ((id, form), foot) in ids.into_iter().zip(forms).zip(feet) {
            sewing.form(id, form, &panel.region, frame, &foot);
        }
    }
    for (bend, strip) in tree.bends().iter().zip(&strips) {
        let lie = if strip.map.angle() > 0.0 { Lie::Rolled(strip.map) } else { Lie::Flat(strip.map.start()) };
        sewing.zone(Zone::Bend(bend.id), &bend.region, &strip.posts, lie, strip.closed.as_ref(), 0..0);
    }
    sewing.brep.frames = sewing.frames;
    sewing.brep
}

/// One of the sheet's two faces.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum SheetSide {
    Inner,
    Outer,
}

impl SheetSide {
    pub(super) const BOTH: [Self; 2] = [Self::Inner, Self::Outer];

    pub(super) fn index(self) -> usize {
        match self {
            Self::Inner => 0,
            Self::Outer => 1,
        }
    }
}

/// Place in the list of posts.
pub(super) type PostId = usize;

/// A vertex of the sheet.
struct Post {
    /// Positions on the inner and on the outer face.
    at: [Vec3<f64>; 2],
    corners: [Option<VertexId>; 2],
    /// The edge from the outer face to the inner one.
    rise: Option<EdgeId>,
}

/// What one panel shares with the bends at it.
#[derive(Clone, Default)]
struct SharedPosts {
    posts: Vec<(Point2, PostId)>,
    creases: Vec<Crease>,
}

/// A line where two zones meet.
#[derive(Clone)]
struct Crease {
    posts: [PostId; 2],
    /// Its edges on the inner and on the outer face, run from the first post to the second; empty until made.
    runs: [Vec<Use>; 2],
}

/// A strip on its way into the boundary.
struct SewnStrip {
    map: StripMap,
    /// The post at the start of each piece, contour by contour.
    posts: Vec<PostId>,
    closed: Option<ClosedSide>,
}

/// The side of a bend without radius.
pub(super) struct ClosedSide {
    side: SheetSide,
    /// The edges along each piece, contour by contour.
    runs: Vec<Vec<Use>>,
}

/// How a zone lies in space.
#[derive(Clone, Copy)]
pub(super) enum Lie {
    Flat(Placement<f64>),
    Rolled(StripMap),
}

/// The work in progress.
pub(super) struct Sewing<'a> {
    pub(super) tree: &'a FoldTree,
    pub(super) depths: [f64; 2],
    pub(super) brep: Brep,
    posts: Vec<Post>,
    shared: Vec<SharedPosts>,
    frames: Vec<Placement<f64>>,
}

/// The index of the piece after each piece, contour by contour.
pub(super) fn following(contours: &[Contour]) -> Vec<usize> {
    let mut next = Vec::new();
    for contour in contours {
        let first = next.len();
        let count = contour.segments().len();
        next.extend((1..=count).map(|i| first + i % count));
    }
    next
}

impl Sewing<'_> {
    fn post(&mut self, at: [Vec3<f64>; 2]) -> PostId {
        self.posts.push(Post { at, corners: [None; 2], rise: None });
        self.posts.len() - 1
    }

    /// The post at a place of a panel where a bend begins or ends. Where the panel is nothing but that line,
    /// two strips say where they meet in numbers of their own, which agree to rounding.
    fn shared_post(&mut self, panel: PanelId, p: Point2) -> PostId {
        let same: fn(Point2, Point2) -> bool = if self.tree.panel(panel).region.is_empty() {
            |a, b| a.distance(b) <= tolerance::SNAP_MM
        } else {
            |a, b| a == b
        };
        let known = self.shared[panel.index()].posts.iter().find(|(q, _)| same(*q, p)).map(|(_, post)| *post);
        known.unwrap_or_else(|| {
            let frame = self.frames[panel.index()];
            let post = self.post(self.depths.map(|depth| frame.lift(p, depth)));
            self.shared[panel.index()].posts.push((p, post));
            post
        })
    }

    /// Posts of contours that meet no bend, on a flat with this frame.
    pub(super) fn plain_posts(&mut self, contours: &[Contour], frame: Placement<f64>) -> Vec<PostId> {
        let pieces = contours.iter().flat_map(Contour::segments);
        pieces.map(|piece| self.post(self.depths.map(|depth| frame.lift(piece.start, depth)))).collect()
    }

    /// Posts of a panel; contours from `feet` on are those of forms.
    fn panel_posts(&mut self, panel: PanelId, region: &Region, feet: &Range<usize>) -> Vec<PostId> {
        let mut posts = Vec::new();
        let frame = self.frames[panel.index()];
        for (index, contour) in region.contours().iter().enumerate() {
            if feet.contains(&index) {
                posts.extend(self.plain_posts(std::slice::from_ref(contour), frame));
                continue;
            }
            let pieces = contour.segments();
            let mut after_crease = self.is_crease(&pieces[pieces.len() - 1]);
            for piece in pieces {
                let crease = self.is_crease(piece);
                posts.push(if crease || after_crease {
                    self.shared_post(panel, piece.start)
                } else {
                    self.post(self.depths.map(|depth| frame.lift(piece.start, depth)))
                });
                after_crease = crease;
            }
        }
        posts
    }

    fn is_crease(&self, piece: &Segment) -> bool {
        self.tree.label(piece).is_crease()
    }

    /// The posts of a strip; its creases become known to its panels.
    fn strip_posts(&mut self, bend: &Bend, map: StripMap) -> Vec<PostId> {
        let mut posts = Vec::new();
        for contour in bend.region.contours() {
            let pieces = contour.segments();
            let first = posts.len();
            for (index, piece) in pieces.iter().enumerate() {
                let before = &pieces[(index + pieces.len() - 1) % pieces.len()];
                let x = piece.start.x;
                let shared = self.on_crease(bend, piece, x).or_else(|| self.on_crease(bend, before, x));
                posts.push(match shared {
                    Some((panel, p)) => self.shared_post(panel, p),
                    None => self.post(self.depths.map(|depth| map.point(x, piece.start.y, depth))),
                });
            }
            for (index, piece) in pieces.iter().enumerate() {
                if let Some((panel, _)) = self.on_crease(bend, piece, piece.start.x) {
                    let ends = [posts[first + index], posts[first + (index + 1) % pieces.len()]];
                    let creases = &mut self.shared[panel.index()].creases;
                    if !creases.iter().any(|c| c.joins(ends)) {
                        creases.push(Crease { posts: ends, runs: [Vec::new(), Vec::new()] });
                    }
                }
            }
        }
        posts
    }

    /// The panel that goes on behind a piece of a strip, and its point at `x` of the strip.
    fn on_crease(&self, bend: &Bend, piece: &Segment, x: f64) -> Option<(PanelId, Point2)> {
        let (panel, spans) = match self.tree.label(piece) {
            EdgeLabel::CreaseStart(id) if *id == bend.id => (bend.parent, &bend.start),
            EdgeLabel::CreaseEnd(id) if *id == bend.id => (bend.child, &bend.end),
            EdgeLabel::CreaseStart(_)
            | EdgeLabel::CreaseEnd(_)
            | EdgeLabel::Edge(_)
            | EdgeLabel::StripEnd(_)
            | EdgeLabel::Relief(_)
            | EdgeLabel::Opening(_)
            | EdgeLabel::CornerBreak(_) => return None,
        };
        let point = spans.iter().find_map(|span| {
            if span.from == x {
                Some(span.from_point)
            } else if span.to == x {
                Some(span.to_point)
            } else {
                None
            }
        });
        Some((panel, point.expect("a strip's creases are its spans")))
    }

    /// The panel that a crease belongs to.
    fn crease_panel(&self, piece: &Segment) -> Option<PanelId> {
        match self.tree.label(piece) {
            EdgeLabel::CreaseStart(id) => Some(self.tree.bend(*id).parent),
            EdgeLabel::CreaseEnd(id) => Some(self.tree.bend(*id).child),
            EdgeLabel::Edge(_)
            | EdgeLabel::StripEnd(_)
            | EdgeLabel::Relief(_)
            | EdgeLabel::Opening(_)
            | EdgeLabel::CornerBreak(_) => None,
        }
    }

    /// The vertex of a post on one side.
    pub(super) fn corner(&mut self, post: PostId, side: SheetSide) -> VertexId {
        let side = side.index();
        if let Some(made) = self.posts[post].corners[side] {
            return made;
        }
        let made = self.vertex(self.posts[post].at[side]);
        self.posts[post].corners[side] = Some(made);
        made
    }

    /// The vertex of a post on one side, if it has been made.
    pub(super) fn made_corner(&self, post: PostId, side: SheetSide) -> Option<VertexId> {
        self.posts[post].corners[side.index()]
    }

    /// Lets a post have this vertex on one side.
    pub(super) fn set_corner(&mut self, post: PostId, side: SheetSide, vertex: VertexId) {
        self.posts[post].corners[side.index()] = Some(vertex);
    }

    pub(super) fn vertex(&mut self, at: Vec3<f64>) -> VertexId {
        self.brep.vertices.push(at);
        VertexId::new(self.brep.vertices.len() - 1)
    }

    pub(super) fn edge(&mut self, ends: [VertexId; 2], curve: Curve3, over: Option<OverStrip>) -> EdgeId {
        self.brep.edges.push(Edge { ends, curve, over, chord_radius: None });
        EdgeId::new(self.brep.edges.len() - 1)
    }

    /// The edge of a post from the outer face to the inner one.
    fn rise(&mut self, post: PostId) -> EdgeId {
        if let Some(made) = self.posts[post].rise {
            return made;
        }
        let ends = [self.corner(post, SheetSide::Outer), self.corner(post, SheetSide::Inner)];
        let made = self.edge(ends, Curve3::Line, None);
        self.posts[post].rise = Some(made);
        made
    }

    /// The edges of a crease that has been sewn on one side, run from one post to the other.
    pub(super) fn made_run(&self, piece: &Segment, ends: [PostId; 2], side: SheetSide) -> Option<Vec<Use>> {
        let crease = self.crease(self.crease_panel(piece)?, ends);
        let run = &crease.runs[side.index()];
        (!run.is_empty()).then(|| crease.run_from(ends[0], side))
    }

    /// Lets the crease under a piece, if there is one, have these edges.
    pub(super) fn set_run(&mut self, piece: &Segment, ends: [PostId; 2], side: SheetSide, run: &[Use]) {
        let Some(panel) = self.crease_panel(piece) else { return };
        let crease = self.crease_mut(panel, ends);
        crease.runs[side.index()] = if crease.posts == ends {
            run.to_vec()
        } else {
            run.iter().rev().map(|u| u.reversed()).collect()
        };
    }

    fn crease(&self, panel: PanelId, ends: [PostId; 2]) -> &Crease {
        let found = self.shared[panel.index()].creases.iter().find(|c| c.joins(ends));
        found.expect("panel and bend share their creases")
    }

    fn crease_mut(&mut self, panel: PanelId, ends: [PostId; 2]) -> &mut Crease {
        let found = self.shared[panel.index()].creases.iter_mut().find(|c| c.joins(ends));
        found.expect("panel and bend share their creases")
    }

    /// Adds the edges along a piece on one side to a run.
    fn along(
        &mut self,
        piece: &Segment,
        ends: [PostId; 2],
        side: SheetSide,
        (zone, lie, crease): (Zone, Lie, Option<PanelId>),
        run: &mut Vec<Use>,
    ) {
        if let Some(panel) = crease {
            if self.crease(panel, ends).runs[side.index()].is_empty() {
                let corners = ends.map(|post| self.corner(post, side));
                let edge = self.edge(corners, Curve3::Line, None);
                self.set_run(piece, ends, side, &[Use { edge, sense: Sense::Same }]);
            }
            let crease = self.crease(panel, ends);
            match &crease.runs[side.index()][..] {
                [only] if crease.posts == ends => run.push(*only),
                [only] => run.push(only.reversed()),
                _ => run.extend(crease.run_from(ends[0], side)),
            }
        } else {
            let corners = ends.map(|post| self.corner(post, side));
            let curve = lie.curve(piece, self.depths[side.index()]);
            let over = match zone {
                Zone::Panel(_) | Zone::Form(_) => None,
                Zone::Bend(bend) => Some(OverStrip { bend, piece: *piece }),
            };
            run.push(Use { edge: self.edge(corners, curve, over), sense: Sense::Same });
        }
    }

    /// All faces of one zone. Behind the contours `formed` the sheet goes on in a form: their edges are
    /// returned, on the inner and on the outer face.
    pub(super) fn zone(
        &mut self,
        zone: Zone,
        region: &Region,
        posts: &[PostId],
        lie: Lie,
        closed: Option<&ClosedSide>,
        formed: Range<usize>,
    ) -> Vec<[Vec<Use>; 2]> {
        let contours = region.contours();
        let next = following(contours);
        // The edges along all pieces on both sides, and where those of each piece begin.
        let mut runs: [Vec<Use>; 2] = [Vec::with_capacity(next.len()), Vec::with_capacity(next.len())];
        let mut begins: Vec<[usize; 2]> = Vec::with_capacity(next.len() + 1);
        let pieces =
            || contours.iter().enumerate().flat_map(|(at, c)| c.segments().iter().map(move |s| (at, s)));
        for (index, (at, piece)) in pieces().enumerate() {
            let crease = if formed.contains(&at) { None } else { self.crease_panel(piece) };
            begins.push([runs[0].len(), runs[1].len()]);
            let ends = [posts[index], posts[next[index]]];
            for side in SheetSide::BOTH {
                match closed {
                    Some(closed) if closed.side == side => {
                        runs[side.index()].extend_from_slice(&closed.runs[index]);
                    }
                    _ => self.along(piece, ends, side, (zone, lie, crease), &mut runs[side.index()]),
                }
            }
        }
        begins.push([runs[0].len(), runs[1].len()]);
        let firsts: Vec<usize> = contours
            .iter()
            .scan(0, |at, c| {
                let first = *at;
                *at += c.segments().len();
                Some(first)
            })
            .collect();
        for area in areas(contours) {
            for side in SheetSide::BOTH {
                if closed.is_some_and(|c| c.side == side) {
                    continue;
                }
                let first_loop = self.brep.loops.len();
                for &contour in &area {
                    let from = begins[firsts[contour]][side.index()];
                    let to = begins[firsts[contour] + contours[contour].segments().len()][side.index()];
                    let run = &runs[side.index()][from..to];
                    match side {
                        SheetSide::Inner => self.brep.add_loop(run.iter().copied()),
                        SheetSide::Outer => self.brep.add_loop(run.iter().rev().map(|u| u.reversed())),
                    }
                }
                let (surface, outward) = lie.sheet_surface(side, self.depths[side.index()], region);
                let part = match side {
                    SheetSide::Inner => FacePart::Inner,
                    SheetSide::Outer => FacePart::Outer,
                };
                self.brep.add_face(surface, outward, zone, part, first_loop);
            }
        }
        for (index, (at, piece)) in pieces().enumerate() {
            if formed.contains(&at) || self.is_crease(piece) {
                continue;
            }
            let [upper, lower] = [0, 1].map(|side| begins[index][side]..begins[index + 1][side]);
            let rises = [posts[index], posts[next[index]]].map(|post| self.rise(post));
            let first_loop = self.brep.loops.len();
            let below = u32::try_from(lower.len()).expect("a cut has few edges");
            let up = Use { edge: rises[1], sense: Sense::Same };
            let down = Use { edge: rises[0], sense: Sense::Reversed };
            let back = runs[0][upper].iter().rev().map(|u| u.reversed());
            self.brep.add_loop(runs[1][lower].iter().copied().chain([up]).chain(back).chain([down]));
            let (surface, outward) = lie.cut_surface(piece);
            self.brep.add_face(
                surface,
                outward,
                zone,
                FacePart::Cut { tag: piece.tag, lower: below },
                first_loop,
            );
        }
        formed
            .map(|contour| {
                let (from, to) = (firsts[contour], firsts[contour] + contours[contour].segments().len());
                [0, 1].map(|side| runs[side][begins[from][side]..begins[to][side]].to_vec())
            })
            .collect()
    }
}

impl Crease {
    fn joins(&self, [a, b]: [PostId; 2]) -> bool {
        self.posts == [a, b] || self.posts == [b, a]
    }

    fn run_from(&self, post: PostId, side: SheetSide) -> Vec<Use> {
        let run = &self.runs[side.index()];
        if self.posts[0] == post { run.clone() } else { run.iter().rev().map(|u| u.reversed()).collect() }
    }
}

/// The contours of each connected area, its outline first.
fn areas(contours: &[Contour]) -> Vec<Vec<usize>> {
    let is_outer = |c: &Contour| c.signed_area() > 0.0;
    let outers: Vec<usize> = (0..contours.len()).filter(|&i| is_outer(&contours[i])).collect();
    let holes = (0..contours.len()).filter(|&i| !is_outer(&contours[i]));
    if let [only] = outers[..] {
        return vec![std::iter::once(only).chain(holes).collect()];
    }
    let mut areas: Vec<Vec<usize>> = outers.iter().map(|&outer| vec![outer]).collect();
    for hole in holes {
        // Of outlines within each other, the smallest is the hole's own.
        let around = areas
            .iter_mut()
            .filter(|area| nesting(&contours[hole], &contours[area[0]]) == Nesting::Inside)
            .min_by(|a, b| contours[a[0]].signed_area().total_cmp(&contours[b[0]].signed_area()));
        if let Some(area) = around {
            area.push(hole);
        }
    }
    areas
}

impl Lie {
    /// The curve over a piece, and the sense in which it is run.
    pub(super) fn curve(self, piece: &Segment, depth: f64) -> Curve3 {
        match (self, piece.curve) {
            (Self::Flat(_), Curve::Line) => Curve3::Line,
            (Self::Flat(frame), Curve::Arc { centre, radius, turn }) => Curve3::Circle(CircleArc {
                centre: frame.lift(centre, depth),
                axis: frame.n.times(turn.sign()),
                radius,
                sweep: piece.sweep().abs(),
            }),
            (Self::Rolled(map), _) => match Course::of(piece) {
                Course::Along(_) => Curve3::Line,
                Course::Across(way) => Curve3::Circle(CircleArc {
                    centre: map.axis_point(piece.start.x),
                    axis: map.start().x.times(way * map.sign()),
                    radius: map.radius(depth),
                    sweep: map.angle_at((piece.end.y - piece.start.y).abs()),
                }),
                Course::Slanted => Curve3::Rolled(RolledCurve { piece: *piece, map, depth }),
            },
        }
    }

    /// The surface of the sheet's inner or outer face over a region.
    fn sheet_surface(self, side: SheetSide, depth: f64, region: &Region) -> (Surface3, Sense) {
        match self {
            Self::Flat(frame) => {
                let frame = match side {
                    SheetSide::Inner => frame,
                    SheetSide::Outer => Placement {
                        origin: frame.point(0.0, 0.0, depth),
                        x: frame.x,
                        y: -frame.y,
                        n: -frame.n,
                    },
                };
                (Surface3::Plane(frame), Sense::Same)
            }
            Self::Rolled(map) => {
                let bounds = region.bounding_box();
                // The normal of the inner face points to the axis of a bend up.
                let outward = if (map.sign() > 0.0) == (side == SheetSide::Inner) {
                    Sense::Reversed
                } else {
                    Sense::Same
                };
                // Angles count from opposite the middle of the strip, so that no face crosses their start.
                let towards_axis = map.normal(0.5 * (bounds.min.y + bounds.max.y)).times(map.sign());
                let frame = turned(map.axis_point(bounds.min.x), map.start().x, towards_axis);
                (Surface3::Cylinder { frame, radius: map.radius(depth) }, outward)
            }
        }
    }

    /// The surface of a cut, and whether its own normal points out of the metal.
    fn cut_surface(self, piece: &Segment) -> (Surface3, Sense) {
        match (self, piece.curve) {
            (Self::Flat(frame), Curve::Line) => {
                let along = piece.start_direction();
                let x = frame.direction(along.x, along.y, 0.0);
                let n = frame.direction(along.right().x, along.right().y, 0.0);
                let origin = frame.lift(piece.start, 0.0);
                (Surface3::Plane(Placement { origin, x, y: frame.n, n }), Sense::Same)
            }
            (Self::Flat(frame), Curve::Arc { centre, radius, turn }) => {
                let middle = centre - piece.point_at(0.5);
                let opposite = frame.direction(middle.x / radius, middle.y / radius, 0.0);
                let frame = turned(frame.lift(centre, 0.0), frame.n, opposite);
                let outward = match turn {
                    ArcTurn::Left => Sense::Same,
                    ArcTurn::Right => Sense::Reversed,
                };
                (Surface3::Cylinder { frame, radius }, outward)
            }
            (Self::Rolled(map), _) => {
                let origin = map.point(piece.start.x, piece.start.y, 0.0);
                let outwards = |n: Vec3<f64>| {
                    (Surface3::Plane(turned(origin, n, map.normal(piece.start.y))), Sense::Same)
                };
                match Course::of(piece) {
                    Course::Along(way) => outwards(map.heading(piece.start.y).times(-way)),
                    Course::Across(way) => outwards(map.start().x.times(way)),
                    Course::Slanted => (Surface3::Rolled { piece: *piece, map }, Sense::Same),
                }
            }
        }
    }
}

/// The frame with these axes, both unit vectors at right angles.
pub(super) fn turned(origin: Vec3<f64>, n: Vec3<f64>, x: Vec3<f64>) -> Placement<f64> {
    Placement { origin, x, y: n.cross(x), n }
}

/// How a piece runs on a strip.
enum Course {
    /// Straight along the bend, +1 or −1.
    Along(f64),
    /// Straight across the bend, +1 or −1.
    Across(f64),
    /// Anyhow else.
    Slanted,
}

impl Course {
    fn of(piece: &Segment) -> Self {
        let Curve::Line = piece.curve else { return Self::Slanted };
        let way = piece.end - piece.start;
        if way.y.abs() <= tolerance::PARALLEL * way.x.abs() {
            Self::Along(way.x.signum())
        } else if way.x.abs() <= tolerance::PARALLEL * way.y.abs() {
            Self::Across(way.y.signum())
        } else {
            Self::Slanted
        }
    }
}
