//! Where a picture is taken from, and the parallel projection that follows from it.
//!
//! Invariant: a [`View`] looks in a unit direction and has a size that can be allocated; a [`Camera`] keeps
//! every vertex of its mesh inside the margin. Must not know: colours, light.

use thiserror::Error;

use crate::geom::{Vec3, unit};
use crate::solid::Mesh;

/// Largest width or height of a picture in px: the long side of an A3 sheet (420 mm) at 300 dots per inch.
pub const LARGEST_PX: u32 = 4961;

/// Direction of sight of the default view: from the front right, above. Not equal in x and y, so that
/// corners of square parts do not fall onto one vertical line.
const CORNER_SIGHT: Vec3<f64> = Vec3 { x: -0.58, y: 0.82, z: -0.74 };

/// Room left free on each side, as a share of the shorter side of the picture: enough for the ground shadow
/// to fade out.
const MARGIN_SHARE: f64 = 0.07;

/// Direction and size of a picture. Projection is parallel; the part is fitted into the picture.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct View {
    towards: Vec3<f64>,
    width_px: u32,
    height_px: u32,
}

/// Why a picture cannot be taken.
#[derive(Clone, Copy, Debug, PartialEq, Error)]
pub enum ViewFault {
    /// The direction of sight has no length, or is not finite.
    #[error("({}, {}, {}) is no direction to look in", .towards.x, .towards.y, .towards.z)]
    NoDirection {
        /// What was asked for.
        towards: Vec3<f64>,
    },
    /// A side of the picture is 0 or above [`LARGEST_PX`].
    #[error(
        "a picture of {width_px} x {height_px} px cannot be drawn; each side must be 1 to {LARGEST_PX} px"
    )]
    Size {
        /// Width asked for, in px.
        width_px: u32,
        /// Height asked for, in px.
        height_px: u32,
    },
}

impl View {
    /// A view in direction `towards` (from the eye to the part, any length), `width_px` by `height_px`
    /// (1 to [`LARGEST_PX`] each). Space's z points up in the picture; y does if one looks along z.
    ///
    /// # Errors
    /// [`ViewFault`] if there is no direction or the size is out of range.
    pub fn new(towards: Vec3<f64>, width_px: u32, height_px: u32) -> Result<Self, ViewFault> {
        let towards = unit(towards).ok_or(ViewFault::NoDirection { towards })?;
        let allowed = 1..=LARGEST_PX;
        if !allowed.contains(&width_px) || !allowed.contains(&height_px) {
            return Err(ViewFault::Size { width_px, height_px });
        }
        Ok(Self { towards, width_px, height_px })
    }

    /// The same direction at another size.
    ///
    /// # Errors
    /// [`ViewFault::Size`] if a side is out of range.
    pub fn sized(self, width_px: u32, height_px: u32) -> Result<Self, ViewFault> {
        Self::new(self.towards, width_px, height_px)
    }

    /// Unit direction from the eye to the part.
    #[must_use]
    pub fn towards(&self) -> Vec3<f64> {
        self.towards
    }

    /// Width in px.
    #[must_use]
    pub fn width_px(&self) -> u32 {
        self.width_px
    }

    /// Height in px.
    #[must_use]
    pub fn height_px(&self) -> u32 {
        self.height_px
    }

    /// Whether the part is seen from below, so that light and ground change sides.
    fn is_from_below(&self) -> bool {
        self.towards.z > 0.0
    }

    /// The vertical on the viewer's side: light comes from there.
    pub(super) fn pole(&self) -> Vec3<f64> {
        Vec3::new(0.0, 0.0, if self.is_from_below() { -1.0 } else { 1.0 })
    }

    /// Unit directions to the right and up in the picture.
    pub(super) fn axes(&self) -> [Vec3<f64>; 2] {
        let z = Vec3::new(0.0, 0.0, 1.0);
        let right = unit(self.towards.cross(z)).unwrap_or(Vec3::new(1.0, 0.0, 0.0));
        [right, right.cross(self.towards)]
    }
}

impl Default for View {
    /// From the front right and above, 1200 x 900 px.
    fn default() -> Self {
        Self::new(CORNER_SIGHT, 1200, 900).expect("the default view has a direction and a size")
    }
}

/// A view fitted to a mesh: maps space to picture coordinates in px (x right, y down) and depth in mm along
/// the direction of sight.
#[derive(Clone, Copy, Debug)]
pub(super) struct Camera {
    right: Vec3<f64>,
    up: Vec3<f64>,
    pub(super) towards: Vec3<f64>,
    /// Size of one mm in px.
    pub(super) px_per_mm: f64,
    /// Place of space's origin in px.
    origin_px: [f64; 2],
}

impl Camera {
    /// Fits the vertices into the picture; none if they have no extent across the direction of sight.
    pub(super) fn fitted(mesh: &Mesh, view: &View) -> Option<Self> {
        let [right, up] = view.axes();
        let (mut low, mut high) = ([f64::INFINITY; 2], [f64::NEG_INFINITY; 2]);
        for v in &mesh.vertices {
            for (i, c) in [v.dot(right), -v.dot(up)].into_iter().enumerate() {
                low[i] = low[i].min(c);
                high[i] = high[i].max(c);
            }
        }
        let size = [f64::from(view.width_px), f64::from(view.height_px)];
        let margin = MARGIN_SHARE * size[0].min(size[1]);
        let px_per_mm =
            (0..2).map(|i| (size[i] - 2.0 * margin) / (high[i] - low[i])).fold(f64::INFINITY, f64::min);
        if !px_per_mm.is_finite() || px_per_mm <= 0.0 {
            return None;
        }
        let origin_px = [0, 1].map(|i| 0.5 * size[i] - 0.5 * (low[i] + high[i]) * px_per_mm);
        Some(Self { right, up, towards: view.towards, px_per_mm, origin_px })
    }

    /// Picture coordinates in px and depth in mm.
    pub(super) fn project(&self, p: Vec3<f64>) -> [f64; 3] {
        [
            self.origin_px[0] + p.dot(self.right) * self.px_per_mm,
            self.origin_px[1] - p.dot(self.up) * self.px_per_mm,
            p.dot(self.towards),
        ]
    }

    /// The point of space at these picture coordinates and this depth.
    pub(super) fn unproject(&self, [x, y, depth]: [f64; 3]) -> Vec3<f64> {
        let (u, v) = ((x - self.origin_px[0]) / self.px_per_mm, (self.origin_px[1] - y) / self.px_per_mm);
        self.right.times(u) + self.up.times(v) + self.towards.times(depth)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn view_without_direction_or_size_is_refused() {
        let z = Vec3::new(0.0, 0.0, -1.0);
        assert!(matches!(View::new(Vec3::new(0.0, 0.0, 0.0), 10, 10), Err(ViewFault::NoDirection { .. })));
        assert!(matches!(
            View::new(Vec3::new(f64::NAN, 0.0, 1.0), 10, 10),
            Err(ViewFault::NoDirection { .. })
        ));
        assert_eq!(View::new(z, 0, 10), Err(ViewFault::Size { width_px: 0, height_px: 10 }));
        assert!(View::new(z, 10, LARGEST_PX + 1).is_err());
        assert!(View::new(z, LARGEST_PX, 1).is_ok());
    }

    #[test]
    fn axes_are_right_handed_from_every_side() {
        for towards in [[0.0, 0.0, -1.0], [0.0, 0.0, 1.0], [0.0, 1.0, 0.0], [-0.5, 0.7, -0.6]] {
            let view = View::new(Vec3::new(towards[0], towards[1], towards[2]), 10, 10).unwrap();
            let [right, up] = view.axes();
            assert!((right.length() - 1.0).abs() < 1e-12 && (up.length() - 1.0).abs() < 1e-12);
            assert!((right.cross(up) + view.towards()).length() < 1e-12);
            assert!(up.z > -1e-12, "z never points down in the picture");
        }
    }

    #[test]
    fn unproject_undoes_project() {
        let vertices = vec![Vec3::new(-20.0, 5.0, 1.0), Vec3::new(310.0, 40.0, 90.0)];
        let mesh = Mesh { vertices, faces: Vec::new() };
        let camera = Camera::fitted(&mesh, &View::default()).unwrap();
        let p = Vec3::new(12.5, -7.0, 33.0);
        assert!((camera.unproject(camera.project(p)) - p).length() < 1e-9);
    }
}
