//! Lines of simple parts, counted and placed by hand.
//!
//! The channel: a plate of 100 x 60 with walls up along front and back, sheet 2 mm, inside radius 3 mm. Its metal lies
//! at −2 ≤ z ≤ 0 in the floor and within 0 ≤ y ≤ 60; bends begin at y = 5 and y = 55 and end at z = 3.

use kernel::drawing::views::{Direction, Line, LineKind, Path, Projection, Sight};
use kernel::geom::Point2;
use kernel::history::feature::{Feature, HeldFace, Pattern};
use kernel::history::{Profile, Shape};
use kernel::regenerate::regenerate;

use super::parts::{base, cutout, entry, flange, history, n};
use super::{Body, v};

fn channel(front: f64, back: f64) -> Body {
    let part = regenerate(&history(
        2.0,
        3.0,
        0.4,
        vec![
            base("floor", Profile::rectangle(&n(100.0), &n(60.0))),
            entry("near", Feature::Flange(flange(&["floor/front"], 90.0, front))),
            entry("far", Feature::Flange(flange(&["floor/back"], 90.0, back))),
        ],
    ));
    Body::of(&part.unwrap()).unwrap()
}

/// Numbers of visible sharp lines, silhouettes, tangent lines, and the same hidden.
fn counts(projection: &Projection) -> [usize; 6] {
    let mut counts = [0; 6];
    for line in &projection.lines {
        let first = match line.sight {
            Sight::Visible => 0,
            Sight::Hidden => 3,
        };
        let kind = match line.kind {
            LineKind::Sharp => 0,
            LineKind::Silhouette => 1,
            LineKind::Tangent => 2,
        };
        counts[first + kind] += 1;
    }
    counts
}

/// The line from one point to another, whichever way it runs.
fn straight(projection: &Projection, a: [f64; 2], b: [f64; 2]) -> Option<&Line> {
    let [a, b] = [a, b].map(|[x, y]| Point2::new(x, y));
    let near = |p: Point2, q: Point2| p.distance(q) < 1e-9;
    projection.lines.iter().find(|line| match line.path {
        Path::Segment([p, q]) => (near(p, a) && near(q, b)) || (near(p, b) && near(q, a)),
        Path::Arc(_) | Path::Chords(_) => false,
    })
}

#[test]
fn channel_from_its_end_is_its_profile() {
    // Eight straight lines and four arcs; the far end lies under the near one.
    let seen = channel(40.0, 40.0).seen(Direction::RIGHT);
    assert_eq!(counts(&seen), [12, 0, 0, 0, 0, 0]);
    let mut arcs: Vec<[f64; 4]> = seen
        .lines
        .iter()
        .filter_map(|line| match line.path {
            Path::Arc(arc) => Some([arc.centre.x, arc.centre.y, arc.radius, arc.sweep]),
            Path::Segment(_) | Path::Chords(_) => None,
        })
        .collect();
    arcs.sort_by(|a, b| a[0].total_cmp(&b[0]).then(a[2].total_cmp(&b[2])));
    let quarter = std::f64::consts::FRAC_PI_2;
    let expected = [
        [5.0, 3.0, 3.0, quarter],
        [5.0, 3.0, 5.0, quarter],
        [55.0, 3.0, 3.0, quarter],
        [55.0, 3.0, 5.0, quarter],
    ];
    assert_eq!(arcs.len(), 4);
    for (found, asked) in arcs.iter().zip(expected) {
        assert!((0..4).all(|i| (found[i] - asked[i]).abs() < 1e-9), "{found:?} {asked:?}");
    }
}

#[test]
fn channel_from_the_front_hides_its_floor() {
    // Top edge and two side edges of the wall, the bend's two ends below them; the bottom as a silhouette, where the
    // bend starts; and where it ends a tangent line. The floor's inner face is seen on its edge, behind the wall.
    let seen = channel(40.0, 40.0).seen(Direction::FRONT);
    assert_eq!(counts(&seen), [5, 1, 1, 0, 1, 0]);
    let bottom = straight(&seen, [0.0, -2.0], [100.0, -2.0]).unwrap();
    assert_eq!((bottom.sight, bottom.kind), (Sight::Visible, LineKind::Silhouette));
    let floor = straight(&seen, [0.0, 0.0], [100.0, 0.0]).unwrap();
    assert_eq!(floor.sight, Sight::Hidden);
    let tangent = straight(&seen, [0.0, 3.0], [100.0, 3.0]).unwrap();
    assert_eq!((tangent.sight, tangent.kind), (Sight::Visible, LineKind::Tangent));
    assert!(straight(&seen, [0.0, 38.0], [100.0, 38.0]).is_some());
}

#[test]
fn channel_from_above_shows_all() {
    // Two edges along the top of each wall; at each end the tops of two walls, two bends and the floor; two lines
    // where bends begin.
    let seen = channel(40.0, 40.0).seen(Direction::TOP);
    assert_eq!(counts(&seen), [14, 0, 2, 0, 0, 0]);
    assert!(straight(&seen, [0.0, 2.0], [100.0, 2.0]).is_some());
    assert!(straight(&seen, [100.0, 5.0], [100.0, 55.0]).is_some());
}

#[test]
fn low_far_wall_hides_behind_a_high_near_one() {
    let body = channel(40.0, 25.0);
    let seen = body.seen(Direction::FRONT);
    // The floor, and the far wall's top, whose two edges are one.
    assert_eq!(counts(&seen), [5, 1, 1, 1, 1, 0]);
    assert_eq!(straight(&seen, [0.0, 23.0], [100.0, 23.0]).unwrap().sight, Sight::Hidden);
    // From behind it is in front, and the high wall looks out above it.
    let seen = body.seen(Direction::BACK);
    assert_eq!(straight(&seen, [-100.0, 23.0], [0.0, 23.0]).unwrap().sight, Sight::Visible);
    assert_eq!(straight(&seen, [-100.0, 38.0], [0.0, 38.0]).unwrap().sight, Sight::Visible);
}

#[test]
fn wall_that_leans_in_shows_where_its_bend_turns_away() {
    // Bent by 120 degrees from the drawn edge on: seen from above, the bend stands out by r + t = 5 mm before it comes
    // back, and its hollow side by r = 3 mm, under metal.
    let mut wall = flange(&["plate/front"], 120.0, 30.0);
    wall.holds = HeldFace::BendStart;
    let features =
        vec![base("plate", Profile::rectangle(&n(100.0), &n(60.0))), entry("wall", Feature::Flange(wall))];
    let body = Body::of(&regenerate(&history(2.0, 3.0, 0.4, features)).unwrap()).unwrap();
    let seen = body.seen(Direction::TOP);
    let outer = straight(&seen, [0.0, -5.0], [100.0, -5.0]).unwrap();
    assert_eq!((outer.sight, outer.kind), (Sight::Visible, LineKind::Silhouette));
    assert_eq!(outer.faces[0], outer.faces[1]);
    let inner = straight(&seen, [0.0, -3.0], [100.0, -3.0]).unwrap();
    assert_eq!((inner.sight, inner.kind), (Sight::Hidden, LineKind::Silhouette));
    // From the front nothing of the bend turns away but below, where it begins.
    let seen = body.seen(Direction::FRONT);
    assert!(straight(&seen, [0.0, -2.0], [100.0, -2.0]).is_some());
}

#[test]
fn hole_is_a_circle_from_above_and_two_hidden_lines_from_the_side() {
    let hole = cutout("plate", Shape::Circle { diameter: n(20.0) }, Pattern::At(vec![[50.0, 30.0].map(n)]));
    let features =
        vec![base("plate", Profile::rectangle(&n(100.0), &n(60.0))), entry("hole", Feature::Cutout(hole))];
    let body = Body::of(&regenerate(&history(2.0, 3.0, 0.4, features)).unwrap()).unwrap();
    let seen = body.seen(Direction::TOP);
    let turn: f64 = seen
        .lines
        .iter()
        .filter_map(|line| match line.path {
            Path::Arc(arc) => {
                assert!(arc.centre.distance(Point2::new(50.0, 30.0)) < 1e-9 && arc.radius == 10.0);
                Some(arc.sweep)
            }
            Path::Segment(_) | Path::Chords(_) => None,
        })
        .sum();
    assert!((turn - std::f64::consts::TAU).abs() < 1e-9);
    // Four edges of the plate; where the hole's wall turns away lies in metal.
    let seen = body.seen(Direction::FRONT);
    assert_eq!(counts(&seen), [4, 0, 0, 0, 2, 0]);
    for x in [40.0, 60.0] {
        assert_eq!(straight(&seen, [x, -2.0], [x, 0.0]).unwrap().sight, Sight::Hidden);
    }
}

#[test]
fn lines_that_lie_upon_each_other_are_one() {
    // Along the four equal edges of each group nothing is drawn twice.
    for direction in [Direction::FRONT, Direction::TOP, Direction::RIGHT, Direction::ISOMETRIC] {
        let seen = channel(40.0, 40.0).seen(direction);
        for (index, line) in seen.lines.iter().enumerate() {
            for other in &seen.lines[index + 1..] {
                let middle = |line: &Line| {
                    let points = super::points_along(line, line.path.length() / 2.0);
                    points[points.len() / 2]
                };
                assert!(super::distance(other, middle(line)) > 0.02, "{line:?}\n{other:?}");
                assert!(super::distance(line, middle(other)) > 0.02, "{line:?}\n{other:?}");
            }
        }
    }
}

#[test]
fn bump_seen_slantwise_has_a_silhouette_where_its_wall_is_steep() {
    use kernel::history::feature::{Bump, BumpSide, XFrom};
    let bump = Bump {
        panel: super::parts::panel("plate"),
        profile: Shape::Circle { diameter: n(40.0) },
        pattern: Pattern::At(vec![[50.0, 40.0].map(n)]),
        x_from: XFrom::Left,
        height: n(9.0),
        side: BumpSide::In,
        draft: n(20.0),
        punch_radius: None,
        die_radius: None,
        corner_radius: None,
    };
    let features =
        vec![base("plate", Profile::rectangle(&n(100.0), &n(80.0))), entry("bump", Feature::Bump(bump))];
    let body = Body::of(&regenerate(&history(1.0, 1.0, 0.4, features)).unwrap()).unwrap();
    let count = |direction: Direction| {
        let seen = body.seen(direction);
        seen.lines
            .iter()
            .filter(|l| {
                (l.sight, l.kind) == (Sight::Visible, LineKind::Silhouette) && l.faces[0] == l.faces[1]
            })
            .count()
    };
    // From above no part of a wall with draft turns away; 45 degrees over the plate, the far side of a wall of 70 does.
    assert_eq!(count(Direction::TOP), 0);
    assert!(count(Direction::new(v(0.0, 1.0, -1.0)).unwrap()) > 0);
    assert_eq!(count(Direction::new(v(0.0, 0.2, -1.0)).unwrap()), 0);
}
