//! Every tolerance of the kernel, with its unit and its reason.
//!
//! Invariant: a comparison elsewhere names one of these; a bare `1e-6` in other code is a mistake.

/// Points closer than this are one point, in mm. Far below any cutting accuracy (about 0.05 mm) and far
/// above the rounding of coordinates up to 10 m (about 2e-12 mm).
pub const SNAP_MM: f64 = 1e-7;

/// Loops smaller than this are dust left by snapping, in mm².
pub const DUST_AREA_MM2: f64 = 1e-6;

/// Edges that cuts leave are not shorter than this, in mm: as much as such a cut may be off anyway
/// ([`STRAIGHT_CUT_MM`]), and above what single-precision files tell apart in a part of 1 m (6e-5 mm). A shorter
/// edge would become triangles without area there.
pub const LEAST_EDGE_MM: f64 = 1e-4;

/// Smallest gap between neighbouring flanges at a corner, in mm: far below any cut's width, and above what
/// single-precision files tell apart at 10 m (1e-3 mm).
pub const LEAST_GAP_MM: f64 = 0.01;

/// Width of the slit that stands for a tear, in mm: a line to whoever bends, yet two edges to every reader of
/// files, and above what single-precision files tell apart at 10 m (1e-3 mm).
pub const TEAR_MM: f64 = 0.01;

/// No circle that is larger by more than this in radius passes through an opening than the one that is told, in mm:
/// a hundredth of [`SNAP_MM`].
pub const PASSING_MM: f64 = 1e-9;

/// No square that is larger by more than this share passes through an opening than the one that is told.
pub const PASSING_SQUARE_SHARE: f64 = 1e-3;

/// Zones of the folded part that reach into each other by less only touch, in mm: a tenth of what a press
/// brake repeats (common practice, no source), and far above the rounding of coordinates.
pub const COLLISION_MM: f64 = 0.01;

/// Distances of convex bodies are exact to this, in mm: some hundred times the rounding of coordinates of a
/// machine 10 m long.
pub const SEPARATION_MM: f64 = 1e-10;

/// Clearances of curved metal are exact to this, in mm: a tenth of what figures are compared to, and as near as
/// points are when they count as one.
pub const CLEARANCE_MM: f64 = 1e-7;

/// By how much a neighbour is lifted off the metal to see which faces parted last, in mm: far above the rounding of
/// distances, and less than any two faces of a part are apart.
pub const LIFT_MM: f64 = 1e-3;

/// A dimension counts as held when it is this near to what was asked, in mm.
pub const HELD_MM: f64 = 1e-6;

/// An angle dimension counts as held when it is this near to what was asked, in rad.
pub const HELD_RAD: f64 = 1e-9;

/// Directions whose cross product is below this are parallel (unit vectors, so about the angle in rad).
pub const PARALLEL: f64 = 1e-9;

/// Two pieces of an outline run into each other smoothly when their directions differ by less, in rad: a half
/// circle asked for with a radius rounded in its last digit is off by 1.5e-8, and an outline moved by 10 mm
/// gapes by 1e-6 mm.
pub const SMOOTH_RAD: f64 = 1e-7;

/// Smallest radius of any arc of a formed bump, in plan and in section, in mm: no tool is sharper, and a
/// round surface stays one in files that tell apart 1e-3 mm.
pub const LEAST_ROUND_MM: f64 = 0.01;

/// Below this angle in rad a bend is drawn flat: its radius would be above 10⁹ times its length.
pub const FLAT_RAD: f64 = 1e-9;

/// Largest distance between a true curve and its chords in meshes, in mm, unless the caller asks for less.
pub const CHORD_MM: f64 = 0.05;

/// Largest distance between a true curve and its chords in the lines of a drawing, in mm: a tenth of the thinnest
/// line that a drawing has (0.13 mm, ISO 128) at a scale of 1:1.
pub const DRAWN_CHORD_MM: f64 = 0.013;

/// Lines of a drawing that lie nearer to each other than this are one, in mm: more than a tear's slit is wide, and
/// far less than the thinnest line is (0.13 mm, ISO 128).
pub const SAME_LINE_MM: f64 = 0.02;

/// A face hides a line of a drawing that lies behind it by more than this, in mm: above what rounding and joined
/// points of a mesh move, and less than any sheet is thick.
pub const BEHIND_MM: f64 = 1e-3;

/// A face whose normal has less than this part in the direction of sight is seen on its edge.
pub const EDGE_ON: f64 = 1e-6;

/// Faces that meet at less than this are drawn as one smooth face, in rad.
pub const DRAWN_SMOOTH_RAD: f64 = 1e-3;

/// Faces whose curvatures differ by less than this, in 1/mm, are bent alike: a radius of a kilometre is flat.
pub const SAME_CURVATURE_PER_MM: f64 = 1e-6;

/// How far to both sides one looks to see how a face is bent, in mm: its square over a radius is far above rounding,
/// and it is less than the smallest radius ([`LEAST_ROUND_MM`]).
pub const LOOK_BESIDE_MM: f64 = 1e-3;

/// Largest distance between a cut across a bend and the spline that stands for it in files, in mm: as near
/// as points are when they count as one, so that the figures of a file are those of the part to nine digits.
pub const SPLINE_MM: f64 = 1e-7;

/// By how much a straight cut through the folded part may take more than it must, in mm: a thousandth of what
/// a laser's kerf is wide (about 0.1 mm, common practice, no source).
pub const STRAIGHT_CUT_MM: f64 = 1e-4;

/// Where the ends of what a straight cut takes change their names, in mm: a thousandth of [`SNAP_MM`].
pub const CHANGE_MM: f64 = 1e-10;

/// Changes of what a straight cut takes that are nearer than this are one, in mm. Where an arc's outermost
/// place takes over from the arc, the two differ by the square of the distance, so that rounding hides the
/// change over 1e-6 mm.
pub const CHANGES_APART_MM: f64 = 1e-5;

/// How near to a change that is expected a straight cut is looked at, as a share of the way to the next one:
/// nearer, rounding decides on which side of the change that is.
pub const BESIDE_SHARE: f64 = 1e-6;

/// A quadrature is good when halving its interval changes it by less than this share: a few thousand times
/// the rounding of a double, so that a sum over many pieces still has twelve digits.
pub const QUADRATURE_SHARE: f64 = 1e-13;

/// How far points are moved for choosing triangles, in mm: enough to settle ties between points of one
/// circle, a thousandth of the finest chord tolerance that makes sense.
pub const UNTIE_MM: f64 = 1e-6;

/// A share of a chord below this is rounding, not a reason for one more chord.
pub const CHORD_SHARE: f64 = 1e-9;

/// A singular value below this share of the largest one counts as zero when a Jacobian's rank is counted.
/// Columns are in mm per mm or mm per degree, so that good systems lie above 1e-4.
pub const RANK_SHARE: f64 = 1e-9;

/// A sheet or radius matches a row of a shop's table when it is this near, in mm. Half of a thousandth of an
/// inch, to which such tables are printed, is 0.0127 mm (18 gauge: 0.0478 in, printed 0.048); neighbouring
/// gauges of one system are at least 0.033 mm apart.
pub const SHOP_TABLE_MM: f64 = 0.013;

/// Weights of free numbers lie between this and one over it. The solver works with their squares: farther apart,
/// the lighter number would have no digits left beside the heavier one.
pub const LEAST_WEIGHT: f64 = 1e-3;

/// A residual below this share of its tolerance is left alone: the answer is good to rounding. With
/// [`HELD_MM`] this is 1e-11 mm, a few times the rounding of coordinates of a machine 10 m long.
pub const POLISHED_SHARE: f64 = 1e-5;

/// Residuals that stay above this share of their tolerance are held back by curvature and not by rounding: the
/// answer is refined further. With [`HELD_MM`] this is 1e-9 mm.
pub const REFINED_SHARE: f64 = 1e-3;

/// A solve has stalled when every unknown's column of the Jacobian meets the residuals at a cosine below
/// this: no direction lowers them any more. The squares fall by the square of the cosine, so that below
/// 1e-8 rounding hides it.
pub const STALL_COSINE: f64 = 1e-9;

/// A step below this share of the unknowns is lost in their rounding.
pub const STEP_SHARE: f64 = 1e-15;

/// Gradients that change by less than this share of what the least independent one has of its own cannot have
/// become dependent between start and answer, if they change evenly: 1 would be enough for a change that is
/// straight, a quarter leaves room for one that is not.
pub const STRAIGHT_SHARE: f64 = 0.25;

/// An answer is another one than that of its branch when a free number differs by more, in mm or degrees: as
/// much as reports print, and far above what relations that only touch leave open (3e-6).
pub const BRANCH: f64 = 1e-3;

/// Where freedom is left, answers are on one branch when they differ by less than this share of the way from the
/// start.
pub const BRANCH_LOOSE: f64 = 1e-2;

/// A branch has ended when the unknowns can no longer follow by this share of the way that relations have to go.
pub const BRANCH_STEP: f64 = 1e-6;

/// A branch that ends within this share of its way before the answer ends at the answer: relations only touch
/// there.
pub const BRANCH_END: f64 = 1e-5;

/// Smallest damping of normal equations, as a share of their largest diagonal entry: above the rounding of
/// a factorisation of 300 rows (3e-14), so that redundant relations do not break it.
pub const DAMPING_FLOOR: f64 = 1e-13;

/// Where a stalled solve is tried again, as a share of each unknown plus one: far enough from a saddle for
/// slopes to show, near enough to stay in the same shape of the part.
pub const NUDGE_SHARE: f64 = 1e-3;

/// An answer is the one nearest to the start when what is left to move along the held relations is below
/// this share of the whole way.
pub const NEAREST_SHARE: f64 = 1e-8;

/// A value has no more to fall when its slope foresees less than this share of it: a hundred times below what a
/// double tells apart, since the fall goes with the square of the distance that is left.
pub const FALL_SHARE: f64 = 1e-14;

/// A value is bent when it differs from what its slope foresees by more than this share: above the rounding of
/// slopes that are taken by differences over 0.001 mm, and below what anyone pays for.
pub const BENT_SHARE: f64 = 1e-7;

/// A limit is crossed by a way of unknowns when it is so by more than this, in the unknowns' unit: above the
/// rounding of a way of 10 m, and below what is polished.
pub const CROSSED: f64 = 1e-11;

/// An unknown does not take part in a motion when it moves by less than this while the loosest one moves by 1.
pub const MOTION_SHARE: f64 = 1e-9;

/// A relation has no part in a sum of gradients (each of length 1) below this factor: far above the rounding
/// of gradients at an answer, and below any factor that a drawing has.
pub const PART_SHARE: f64 = 1e-7;

/// A figure in percent is above a limit when it is so by more than this: rounding of its formula is far less,
/// and no material is known so well.
pub const PERCENT: f64 = 1e-9;

/// Sheet and tools of the press brake that reach into each other by less only touch, in mm: they are drawn without
/// the rounding of shoulders and tips, and round bends with a few flats.
pub const BRAKE_TOUCH_MM: f64 = 0.05;

/// Two places of the back gauge are one when they are this near, in mm: half of what a gauge repeats (common
/// practice, no source).
pub const GAUGE_MM: f64 = 0.05;

/// Directions of bend lines that differ by less are one, in rad: a tenth of a degree, less than a sheet is laid on
/// by hand.
pub const HEADING_RAD: f64 = 2e-3;
/// Sizes and places of neighbours are not larger than this, in mm: a kilometre, so that sums of their squares stay far
/// within what numbers hold.
pub const FARTHEST_MM: f64 = 1e6;

/// A panel is square to an axis that is askew by less, in rad: through a sheet of 10 mm the axis then moves sideways by
/// a fifth of what a cut may be off (0.05 mm).
pub const SQUARE_RAD: f64 = 1e-3;
