//! From descriptions to neighbours in the base panel's coordinates.
//!
//! Invariant: whatever passes has finite sizes within [`FARTHEST_MM`] and names that resolve. The content of files is
//! needed for shapes, but not for axes, planes and points.

use std::collections::BTreeSet;

use crate::diag::{Diagnostic, Origin};
use crate::geom::{Placement, Point2, Vec3};
use crate::history::{History, NeighbourAxis, NeighbourThing, check_plain_name};
use crate::machine::{
    self, BoltEnd, BoltForm, Contact, Datum, DatumKind, Form, MeshFiles, Motion, Named, Neighbour, Surface,
    Wheel,
};
use crate::quantity::tolerance;
use crate::quantity::tolerance::FARTHEST_MM;
use crate::stock::fastener;

use super::{
    BoltEndSpec, BoltSpec, MeshSpec, NeighbourEntry, NeighbourFault, NeighbourGroup, NeighbourSpec, Stand,
    Turning,
};

/// Axes, planes and points of all neighbours, in the base panel's coordinates.
#[derive(Clone, Debug, Default)]
pub struct NeighbourDatums {
    placed: Vec<Placed>,
}

/// A neighbour without the content of files.
#[derive(Clone, Debug)]
struct Placed {
    name: String,
    form: Form,
    placement: Placement<f64>,
    datums: Vec<Named>,
}

impl NeighbourDatums {
    /// The axis, plane or point that is meant.
    ///
    /// # Errors
    /// [`NeighbourFault::UnknownNeighbour`] or [`NeighbourFault::UnknownThing`] with the names that there are.
    pub fn find(&self, thing: &NeighbourThing) -> Result<Datum, NeighbourFault> {
        let datum = self.datum(&thing.of, thing.kind.datum(), &thing.name)?;
        Ok(datum.moved_out(thing.off))
    }

    /// The axis by which features are set on a neighbour: a point of it and its unit direction.
    ///
    /// # Errors
    /// As [`NeighbourDatums::find`].
    pub fn axis(&self, axis: &NeighbourAxis) -> Result<[Vec3<f64>; 2], NeighbourFault> {
        match self.datum(&axis.of, DatumKind::Axis, &axis.axis)? {
            Datum::Axis(through, along) => Ok([through, along]),
            Datum::Plane(..) | Datum::Point(_) => unreachable!("an axis was asked for"),
        }
    }

    /// Whether there is a neighbour with this name.
    ///
    /// # Errors
    /// [`NeighbourFault::UnknownNeighbour`] with the names that there are.
    pub fn known(&self, name: &str) -> Result<(), NeighbourFault> {
        self.placed(name).map(|_| ())
    }

    /// The bolt with this name.
    ///
    /// # Errors
    /// [`NeighbourFault::UnknownNeighbour`] or [`NeighbourFault::NotABolt`].
    pub fn bolt(&self, name: &str) -> Result<BoltForm, NeighbourFault> {
        match &self.placed(name)?.form {
            Form::Bolt(bolt) => Ok(*bolt),
            form @ (Form::Shaft { .. }
            | Form::Plate { .. }
            | Form::Block { .. }
            | Form::DriveLoop { .. }
            | Form::Mesh(_)) => {
                Err(NeighbourFault::NotABolt { neighbour: name.to_owned(), kind: form.kind() })
            }
        }
    }

    fn placed(&self, name: &str) -> Result<&Placed, NeighbourFault> {
        self.placed.iter().find(|placed| placed.name == name).ok_or_else(|| {
            let known = self.placed.iter().map(|placed| placed.name.clone()).collect();
            NeighbourFault::UnknownNeighbour { asked: name.to_owned(), known }
        })
    }

    fn datum(&self, of: &str, kind: DatumKind, name: &str) -> Result<Datum, NeighbourFault> {
        let neighbour = self.placed(of)?;
        let datums = || neighbour.datums.iter().filter(|named| named.datum.kind() == kind);
        let found = datums().find(|named| named.name == name).map(|named| named.datum);
        found.ok_or_else(|| NeighbourFault::UnknownThing {
            neighbour: of.to_owned(),
            kind,
            asked: name.to_owned(),
            known: datums().map(|named| named.name.clone()).collect(),
        })
    }
}

impl History {
    /// Axes, planes and points of all neighbours.
    ///
    /// # Errors
    /// A finding for every neighbour and group that cannot be.
    pub fn neighbour_datums(&self) -> Result<NeighbourDatums, Vec<Diagnostic>> {
        let mut faults = name_faults(self);
        let mut placed = Vec::with_capacity(self.neighbours.len());
        let groups: Vec<Placement<f64>> = self
            .neighbour_groups
            .iter()
            .filter_map(|group| noted(group_placement(group), group.origin(), &mut faults))
            .collect();
        if !faults.is_empty() {
            return Err(faults);
        }
        for entry in &self.neighbours {
            let group = group_of(self, &entry.name).map(|(index, _)| groups[index]);
            placed.extend(noted(place(entry, group), entry.origin(), &mut faults));
        }
        if faults.is_empty() { Ok(NeighbourDatums { placed }) } else { Err(faults) }
    }

    /// All neighbours in the base panel's coordinates, with warnings about files.
    ///
    /// # Errors
    /// A finding for every neighbour and group that cannot be, and for every file that is not there, is not the one that
    /// the history was written with, or cannot be read.
    pub fn neighbours(
        &self,
        files: &MeshFiles,
    ) -> Result<(Vec<Neighbour>, Vec<Diagnostic>), Vec<Diagnostic>> {
        let datums = self.neighbour_datums()?;
        let (mut faults, mut warnings, mut made) = (Vec::new(), Vec::new(), Vec::new());
        for (entry, placed) in self.neighbours.iter().zip(&datums.placed) {
            let group = group_of(self, &entry.name).map(|(_, group)| group);
            let finished = motion(entry, placed, group, &datums).and_then(|motion| {
                let form = match &entry.kind {
                    NeighbourSpec::Mesh(mesh) => Form::Mesh(surface(&entry.name, mesh, files)?),
                    NeighbourSpec::Bolt(_)
                    | NeighbourSpec::Shaft { .. }
                    | NeighbourSpec::Plate { .. }
                    | NeighbourSpec::Block { .. }
                    | NeighbourSpec::DriveLoop { .. } => placed.form.clone(),
                };
                Ok((form, motion))
            });
            let Some((form, motion)) = noted(finished, entry.origin(), &mut faults) else { continue };
            warnings.extend(open_mesh(entry, &form));
            made.push(Neighbour {
                name: entry.name.clone(),
                kind: form.kind(),
                group: group.map(|group| group.name.clone()),
                pieces: machine::pieces(&form, placed.placement, motion),
                clearance: entry.clearance.or(group.and_then(|group| group.clearance)).unwrap_or(0.0),
                contact: if entry.bolted { Contact::Allowed } else { Contact::Forbidden },
                is_hazard: entry.hazard.or(group.and_then(|group| group.hazard)).unwrap_or(false),
                datums: placed.datums.clone(),
            });
        }
        if faults.is_empty() { Ok((made, warnings)) } else { Err(faults) }
    }
}

/// What was made, or nothing and its fault noted.
fn noted<T>(made: Result<T, NeighbourFault>, origin: Origin, faults: &mut Vec<Diagnostic>) -> Option<T> {
    made.map_err(|fault| faults.push(fault.diagnose(origin))).ok()
}

fn group_of<'h>(history: &'h History, neighbour: &str) -> Option<(usize, &'h NeighbourGroup)> {
    let mut groups = history.neighbour_groups.iter().enumerate();
    groups.find(|(_, group)| group.members.iter().any(|member| member == neighbour))
}

fn name_faults(history: &History) -> Vec<Diagnostic> {
    let neighbours = history.neighbours.iter().map(NeighbourEntry::origin);
    let groups = history.neighbour_groups.iter().map(NeighbourGroup::origin);
    let (mut faults, mut names) = (Vec::new(), BTreeSet::new());
    for origin in neighbours.chain(groups) {
        if let Err(problem) = check_plain_name(&origin.name) {
            faults.push(NeighbourFault::Name(problem).diagnose(origin));
        } else if !names.insert(origin.name.clone()) {
            faults.push(NeighbourFault::NameTwice { name: origin.name.clone() }.diagnose(origin));
        }
    }
    let known: Vec<String> = history.neighbours.iter().map(|entry| entry.name.clone()).collect();
    for (index, group) in history.neighbour_groups.iter().enumerate() {
        for member in &group.members {
            let neighbour = member.clone();
            if !known.contains(member) {
                let fault = NeighbourFault::UnknownNeighbour { asked: neighbour, known: known.clone() };
                faults.push(fault.diagnose(group.origin()));
            } else if let Some((first, earlier)) = group_of(history, member)
                && first != index
            {
                let (first, second) = (earlier.name.clone(), group.name.clone());
                faults.push(NeighbourFault::TwoGroups { neighbour, first, second }.diagnose(group.origin()));
            }
        }
    }
    faults
}

/// A neighbour whose numbers are being checked.
#[derive(Clone, Copy)]
struct Checked<'a>(&'a str);

impl Checked<'_> {
    fn size(
        self,
        what: &'static str,
        got: f64,
        must: &'static str,
        holds: bool,
    ) -> Result<f64, NeighbourFault> {
        let neighbour = self.0.to_owned();
        if holds { Ok(got) } else { Err(NeighbourFault::Size { neighbour, what, got, must }) }
    }

    fn above_zero(self, what: &'static str, got: f64) -> Result<f64, NeighbourFault> {
        let holds = got > tolerance::SNAP_MM && got <= FARTHEST_MM;
        self.size(what, got, "above 0 and at most 1000000 mm", holds)
    }

    fn not_negative(self, what: &'static str, got: f64) -> Result<f64, NeighbourFault> {
        self.size(what, got, "0 or more and at most 1000000 mm", (0.0..=FARTHEST_MM).contains(&got))
    }

    fn vector(self, what: &'static str, [x, y, z]: [f64; 3]) -> Result<Vec3<f64>, NeighbourFault> {
        for got in [x, y, z] {
            self.size(what, got, "within 1000000 mm of the base panel's origin", got.abs() <= FARTHEST_MM)?;
        }
        Ok(Vec3::new(x, y, z))
    }

    fn stand(self, stand: &Stand) -> Result<Placement<f64>, NeighbourFault> {
        let (at, along) = (self.vector("place", stand.at)?, self.vector("direction", stand.along)?);
        let across = match stand.across {
            Some(across) => self.vector("direction across", across)?,
            None => machine::level(along),
        };
        machine::stand(at, along, across).ok_or_else(|| NeighbourFault::Direction {
            neighbour: self.0.to_owned(),
            problem: if along.length() > tolerance::SNAP_MM {
                "its `across` has no length, or runs along its axis"
            } else {
                "its `along` has no length"
            },
        })
    }

    fn stands(self, at: Vec3<f64>, along: Vec3<f64>) -> Result<Placement<f64>, NeighbourFault> {
        let list = |v: Vec3<f64>| [v.x, v.y, v.z];
        self.stand(&Stand { at: list(at), along: list(along), across: None })
    }
}

fn group_placement(group: &NeighbourGroup) -> Result<Placement<f64>, NeighbourFault> {
    let checked = Checked(&group.name);
    if let Some(clearance) = group.clearance {
        checked.not_negative("clearance", clearance)?;
    }
    checked.stand(&group.stand)
}

fn place(entry: &NeighbourEntry, group: Option<Placement<f64>>) -> Result<Placed, NeighbourFault> {
    let checked = Checked(&entry.name);
    if let Some(clearance) = entry.clearance {
        checked.not_negative("clearance", clearance)?;
    }
    let (form, own) = form(entry)?;
    let placement = group.map_or(own, |group| group.after(own));
    let datums = form.datums().into_iter();
    let datums = datums.map(|Named { name, datum }| Named { name, datum: datum.placed(placement) }).collect();
    Ok(Placed { name: entry.name.clone(), form, placement, datums })
}

fn form(entry: &NeighbourEntry) -> Result<(Form, Placement<f64>), NeighbourFault> {
    let checked = Checked(&entry.name);
    match &entry.kind {
        NeighbourSpec::Bolt(bolt) => Ok((Form::Bolt(bolt_form(checked, bolt)?), checked.stand(&bolt.stand)?)),
        NeighbourSpec::Shaft { from, to, diameter } => {
            let (from, to) = (checked.vector("start", *from)?, checked.vector("end", *to)?);
            let length = checked.above_zero("length", (to - from).length())?;
            let diameter = checked.above_zero("diameter", *diameter)?;
            Ok((Form::Shaft { diameter, length }, checked.stands(from, to - from)?))
        }
        NeighbourSpec::Plate { stand, size, thickness } => {
            let size = [checked.above_zero("width", size[0])?, checked.above_zero("height", size[1])?];
            let thickness = checked.above_zero("thickness", *thickness)?;
            Ok((Form::Plate { size, thickness }, checked.stand(stand)?))
        }
        NeighbourSpec::Block { stand, size } => {
            for (what, got) in ["width", "depth", "height"].into_iter().zip(*size) {
                checked.above_zero(what, got)?;
            }
            Ok((Form::Block { size: *size }, checked.stand(stand)?))
        }
        NeighbourSpec::DriveLoop { wheels, along, width, height } => {
            let (Some(first), true) = (wheels.first(), wheels.len() > 1) else {
                let neighbour = entry.name.clone();
                return Err(NeighbourFault::TooFewWheels { neighbour, count: wheels.len() });
            };
            let along = checked.vector("direction", *along)?;
            let plane = checked.stands(checked.vector("middle of a wheel", first.centre)?, along)?;
            let mut placed = Vec::with_capacity(wheels.len());
            for (wheel, number) in wheels.iter().zip(1..) {
                let at = plane.coordinates(checked.vector("middle of a wheel", wheel.centre)?);
                if at.z.abs() > tolerance::SNAP_MM {
                    let neighbour = entry.name.clone();
                    return Err(NeighbourFault::WheelBeside { neighbour, wheel: number, off: at.z.abs() });
                }
                let radius = checked.above_zero("radius of a wheel", wheel.radius)?;
                placed.push(Wheel { centre: Point2::new(at.x, at.y), radius });
            }
            let width = checked.above_zero("width", *width)?;
            let height = checked.not_negative("height", *height)?;
            Ok((Form::DriveLoop { wheels: placed, width, height }, plane))
        }
        NeighbourSpec::Mesh(mesh) => Ok((Form::Mesh(Surface::default()), checked.stand(&mesh.stand)?)),
    }
}

fn bolt_form(checked: Checked<'_>, bolt: &BoltSpec) -> Result<BoltForm, NeighbourFault> {
    let sizes = fastener(&bolt.size)?;
    let nut = match bolt.nut_at {
        Some(grip) => Some([checked.above_zero("place of the nut", grip)?, sizes.nut.height_mm]),
        None => None,
    };
    let end = match (&bolt.end, nut) {
        (BoltEndSpec::Length(length), _) => BoltEnd::Length(checked.above_zero("length", *length)?),
        (BoltEndSpec::BeyondNut(beyond), Some([grip, nut])) => {
            BoltEnd::FromSeat(grip + nut + checked.not_negative("protrusion", *beyond)?)
        }
        (BoltEndSpec::BeyondNut(_), None) => {
            return Err(NeighbourFault::NoNut { neighbour: checked.0.to_owned() });
        }
    };
    let form = BoltForm {
        thread: sizes.head.thread_mm,
        across_flats: sizes.head.across_flats_mm,
        head: sizes.head.height_mm,
        washer: bolt.washer.then_some([sizes.washer.outside_mm, sizes.washer.thickness_mm]),
        nut,
        end,
    };
    // A shank that does not reach its nut holds nothing.
    let least = nut.map_or(0.0, |[grip, _]| grip);
    if form.end() <= least + tolerance::SNAP_MM {
        let neighbour = checked.0.to_owned();
        return Err(NeighbourFault::BoltTooShort { neighbour, end: form.end(), least });
    }
    Ok(form)
}

fn motion(
    entry: &NeighbourEntry,
    placed: &Placed,
    group: Option<&NeighbourGroup>,
    datums: &NeighbourDatums,
) -> Result<Motion, NeighbourFault> {
    let checked = Checked(&entry.name);
    let group = match group {
        Some(group) => group_placement(group)?,
        None => Placement::identity(),
    };
    let point = |v: Vec3<f64>| group.point(v.x, v.y, v.z);
    let direction = |v: Vec3<f64>| group.direction(v.x, v.y, v.z);
    let travel = match entry.travel {
        Some(travel) => direction(checked.vector("travel", travel)?),
        None => Vec3::new(0.0, 0.0, 0.0),
    };
    let turning = match &entry.turning {
        None => None,
        Some(Turning::Own) => {
            let own = placed.datums.iter().find_map(|named| match named.datum {
                Datum::Axis(through, along) if named.name == "axis" => Some([through, along]),
                Datum::Axis(..) | Datum::Plane(..) | Datum::Point(_) => None,
            });
            Some(own.ok_or_else(|| NeighbourFault::NoOwnAxis { neighbour: entry.name.clone() })?)
        }
        Some(Turning::About { through, along }) => {
            let (through, along) = (checked.vector("axis", *through)?, checked.vector("direction", *along)?);
            Some([point(through), direction(checked.stands(through, along)?.n)])
        }
        Some(Turning::Axis(axis)) => Some(datums.axis(axis)?),
    };
    Ok(Motion { turning, travel })
}

fn surface(neighbour: &str, mesh: &MeshSpec, files: &MeshFiles) -> Result<Surface, NeighbourFault> {
    let file = || mesh.file.clone();
    let bytes = files.get(&mesh.file).ok_or_else(|| NeighbourFault::MeshNotGiven { file: file() })?;
    let got = machine::fingerprint(bytes);
    if !mesh.fingerprint.is_empty() && mesh.fingerprint != got {
        return Err(NeighbourFault::MeshChanged { file: file(), asked: mesh.fingerprint.clone(), got });
    }
    let unreadable = |fault| NeighbourFault::Mesh { file: file(), fault };
    let format = machine::MeshFormat::of_file(&mesh.file).map_err(unreadable)?;
    if format.has_unit() == mesh.unit.is_some() {
        let neighbour = neighbour.to_owned();
        return Err(NeighbourFault::MeshUnit { neighbour, file: file(), asked: !format.has_unit() });
    }
    machine::read_mesh(format, bytes, mesh.unit.map_or(1.0, super::MeshUnit::in_mm)).map_err(unreadable)
}

/// A warning if a surface has no inside.
fn open_mesh(entry: &NeighbourEntry, form: &Form) -> Option<Diagnostic> {
    let (Form::Mesh(surface), NeighbourSpec::Mesh(mesh)) = (form, &entry.kind) else { return None };
    let open = surface.open_edges();
    (open > 0).then(|| {
        let edges = if open == 1 { "edge" } else { "edges" };
        let message = format!(
            "the mesh `{}` of `{}` is not closed: {open} {edges} do not lie between two triangles, so that what \
             lies inside it cannot be told",
            mesh.file, entry.name
        );
        Diagnostic::warning("machine::mesh_open", message, entry.origin())
            .hint("close it in the program that made it; its triangles themselves are heeded as they are")
    })
}
