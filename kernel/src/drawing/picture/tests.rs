//! Pictures of simple bodies, against areas and colours known by hand.

use super::*;
use crate::ident::PanelId;
use crate::solid::{Surface, Zone};

/// A box from one corner to the other with every face marked as the same surface.
pub(super) fn block(low: [f64; 3], high: [f64; 3], surface: Surface) -> Mesh {
    let vertices = (0..8)
        .map(|i| {
            let [x, y, z] = [0, 1, 2].map(|axis| if i >> axis & 1 == 1 { high[axis] } else { low[axis] });
            Vec3::new(x, y, z)
        })
        .collect();
    // Each side as a square, counter-clockwise from outside; bit 0 of a corner is x, bit 1 y, bit 2 z.
    let squares = [[0, 2, 3, 1], [4, 5, 7, 6], [0, 1, 5, 4], [2, 6, 7, 3], [0, 4, 6, 2], [1, 3, 7, 5]];
    let zone = Zone::Panel(PanelId::new(0));
    let faces = squares
        .iter()
        .flat_map(|&[a, b, c, d]| [[a, b, c], [a, c, d]])
        .map(|corners| Face { corners, zone, surface })
        .collect();
    Mesh { vertices, faces }
}
