//! The part together with its neighbours as one mesh, and which face is whose.
//!
//! Invariant: faces of the part come first, in their own order. Must not know: what a neighbour is for, but that it
//! may be a hazard.

use crate::ident::FormId;
use crate::machine::Neighbour;
use crate::solid::{Face, Mesh, Surface, Zone};

/// What a face is of.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Paint {
    /// The sheet.
    Sheet,
    /// A neighbour.
    Neighbour,
    /// A neighbour that hurts who reaches it.
    Hazard,
}

/// The part among its neighbours.
pub(super) struct Surroundings {
    pub(super) mesh: Mesh,
    /// For each face.
    pub(super) paints: Vec<Paint>,
}

impl Surroundings {
    pub(super) fn new(part: &Mesh, neighbours: &[Neighbour]) -> Self {
        let mut mesh = part.clone();
        let mut paints = vec![Paint::Sheet; part.faces.len()];
        let surfaces = neighbours.iter().flat_map(|neighbour| {
            let paint = if neighbour.is_hazard { Paint::Hazard } else { Paint::Neighbour };
            neighbour.pieces.iter().flat_map(|piece| piece.faceted()).map(move |surface| (surface, paint))
        });
        for (number, (surface, paint)) in surfaces.enumerate() {
            let first = u32::try_from(mesh.vertices.len()).expect("a picture has less than 2^32 corners");
            mesh.vertices.extend(&surface.vertices);
            // A zone only tells surfaces apart here, and those of forms may be round.
            let zone = Zone::Form(FormId::new(part.faces.len() + number));
            let face = |corners: &[u32; 3]| Face {
                corners: corners.map(|corner| first + corner),
                zone,
                surface: Surface::Outer,
            };
            mesh.faces.extend(surface.triangles.iter().map(face));
            paints.resize(mesh.faces.len(), paint);
        }
        Self { mesh, paints }
    }
}
