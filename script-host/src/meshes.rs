//! Files that neighbours come from: read once their script has ended.
//!
//! Invariant: a script names files, but never sees what is in them. Paths count from the script; those of a saved
//! history from its own folder, or from the folder in which the program was started.

use std::path::{Path, PathBuf};

use kernel::diag::Span;
use kernel::history::{History, MeshSpec, NeighbourEntry, NeighbourSpec};
use kernel::machine::{MeshFiles, fingerprint};

use crate::fault::ScriptFault;
use crate::files;
use crate::finding::Finding;
use crate::source::Place;

/// Reads the files of a script's neighbours and notes their fingerprints.
pub(crate) fn of_script(
    history: &mut History,
    script: &Path,
) -> Result<MeshFiles, Vec<(Option<Span>, ScriptFault)>> {
    let (mut meshes, mut faults) = (MeshFiles::default(), Vec::new());
    for NeighbourEntry { kind, span, .. } in &mut history.neighbours {
        let NeighbourSpec::Mesh(mesh) = kind else { continue };
        match content(mesh, &[beside(script, &mesh.file)]) {
            Ok(content) => {
                mesh.fingerprint = fingerprint(&content);
                meshes.insert(mesh.file.clone(), content);
            }
            Err(fault) => faults.push((*span, fault)),
        }
    }
    if faults.is_empty() { Ok(meshes) } else { Err(faults) }
}

/// Reads the files of a saved history's neighbours.
pub(crate) fn of_history(history: &History, path: &Path) -> Result<MeshFiles, Vec<ScriptFault>> {
    let (mut meshes, mut faults) = (MeshFiles::default(), Vec::new());
    for NeighbourEntry { kind, .. } in &history.neighbours {
        let NeighbourSpec::Mesh(mesh) = kind else { continue };
        let mut places = vec![beside(path, &mesh.file), PathBuf::from(&mesh.file)];
        places.dedup();
        match content(mesh, &places) {
            Ok(content) => meshes.insert(mesh.file.clone(), content),
            Err(fault) => faults.push(fault),
        }
    }
    if faults.is_empty() { Ok(meshes) } else { Err(faults) }
}

fn beside(file: &Path, other: &str) -> PathBuf {
    file.parent().unwrap_or(Path::new("")).join(other)
}

/// The content of the first of these files that is there.
fn content(mesh: &MeshSpec, paths: &[PathBuf]) -> Result<Vec<u8>, ScriptFault> {
    let found = paths.iter().find(|path| path.exists()).unwrap_or(&paths[0]);
    files::read_bytes(found).map_err(|reason| ScriptFault::NeighbourFile {
        file: mesh.file.clone(),
        looked: paths.iter().map(|path| path.display().to_string()).collect(),
        reason: reason.to_string(),
    })
}

/// The finding at the place of its call.
pub(crate) fn located(span: Option<Span>, fault: ScriptFault, places: &[Option<Place>]) -> Finding {
    fault.finding(span.and_then(|span| places.get(span.0 as usize).copied().flatten()))
}
