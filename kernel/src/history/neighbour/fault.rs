//! Why a neighbour cannot be. Invariant: every variant has a code that never changes its meaning.

use thiserror::Error;

use crate::diag::{Diagnostic, Origin};
use crate::history::NameError;
use crate::machine::{DatumKind, MeshFault, NeighbourKind};
use crate::stock::{HEX_HEADS, UnknownFastener};

/// A fault of a neighbour or a group. Lengths in mm.
#[derive(Clone, Debug, PartialEq, Error)]
#[expect(missing_docs, reason = "the message of each fault says what its fields are")]
pub enum NeighbourFault {
    #[error("{0}")]
    Name(NameError),
    #[error("the name `{name}` is used twice among neighbours and groups")]
    NameTwice { name: String },
    #[error("the {what} of `{neighbour}` is {got}; it must be {must}")]
    Size { neighbour: String, what: &'static str, got: f64, must: &'static str },
    #[error("`{neighbour}` stands nowhere: {problem}")]
    Direction { neighbour: String, problem: &'static str },
    #[error(transparent)]
    UnknownFastener(#[from] UnknownFastener),
    #[error(
        "the shank of `{neighbour}` ends {end:.3} mm behind the face that its head bears on; it must end above {least:.3} mm"
    )]
    BoltTooShort { neighbour: String, end: f64, least: f64 },
    #[error("`{neighbour}` has an end counted from its nut, but no nut")]
    NoNut { neighbour: String },
    #[error("`{neighbour}` goes around {count} {}; it takes two at least", if *count == 1 { "wheel" } else { "wheels" })]
    TooFewWheels { neighbour: String, count: usize },
    #[error("wheel {wheel} of `{neighbour}` lies {off:.3} mm beside the plane of the first one")]
    WheelBeside { neighbour: String, wheel: usize, off: f64 },
    #[error("there is no neighbour `{asked}`")]
    UnknownNeighbour { asked: String, known: Vec<String> },
    #[error("`{neighbour}` is a {}, and no bolt", kind.word())]
    NotABolt { neighbour: String, kind: NeighbourKind },
    #[error("neighbour `{neighbour}` has no {} `{asked}`", kind.word())]
    UnknownThing { neighbour: String, kind: DatumKind, asked: String, known: Vec<String> },
    #[error("neighbour `{neighbour}` is in two groups, `{first}` and `{second}`")]
    TwoGroups { neighbour: String, first: String, second: String },
    #[error("`{neighbour}` has no axis of its own to turn about")]
    NoOwnAxis { neighbour: String },
    #[error("the mesh `{file}` of `{neighbour}` {}", if *asked { "needs the unit of its numbers" } else { "is in metres, as every glTF file; it takes no other unit" })]
    MeshUnit { neighbour: String, file: String, asked: bool },
    #[error("the content of `{file}` was not given")]
    MeshNotGiven { file: String },
    #[error(
        "`{file}` is not the file that the history was written with: it has the fingerprint {got}, not {asked}"
    )]
    MeshChanged { file: String, asked: String, got: String },
    #[error("`{file}` cannot be read as a mesh: {fault}")]
    Mesh { file: String, fault: MeshFault },
}

impl NeighbourFault {
    /// The finding for whoever described the neighbour.
    #[must_use]
    pub fn diagnose(&self, origin: impl Into<Option<Origin>>) -> Diagnostic {
        let finding = Diagnostic::fault(self.code(), self.to_string(), origin);
        match self {
            Self::Name(_) | Self::Size { .. } => finding,
            Self::NameTwice { .. } => finding.hint("give each one a name of its own"),
            Self::Direction { .. } => finding
                .hint("directions are lists such as `[0, 0, 1]`; `along` and `across` stand askew at least"),
            Self::UnknownFastener(_) => {
                let known: Vec<&str> = HEX_HEADS.iter().map(|row| row.bolt).collect();
                finding.hint(format!("sizes are {}", list(&known)))
            }
            Self::BoltTooShort { .. } => finding.hint("take a longer bolt, or leave out what stands on it"),
            Self::NoNut { .. } => finding.hint("say where the nut bears with `nut_at`, or give the `length`"),
            Self::TooFewWheels { .. } => finding.hint("a round thing without a loop is a `shaft`"),
            Self::WheelBeside { .. } => {
                finding.hint("the middles of all wheels lie in one plane square to `along`")
            }
            Self::UnknownNeighbour { asked, known } => {
                let finding = finding.hint_nearest(asked, known);
                if known.is_empty() {
                    finding.hint("the history has no neighbours")
                } else {
                    finding.hint(format!("neighbours are {}", list(known)))
                }
            }
            Self::UnknownThing { kind, asked, known, .. } => {
                let finding = finding.hint_nearest(asked, known);
                if known.is_empty() {
                    finding.hint(format!("it has no {} at all", kind.word()))
                } else {
                    finding.hint(format!("it has {}", list(known)))
                }
            }
            Self::NotABolt { .. } => finding.hint("name a neighbour made with `bolt`"),
            Self::TwoGroups { .. } => finding.hint("leave it out of one of them"),
            Self::NoOwnAxis { .. } => {
                finding.hint("say which axis: `turning: axis([x, y, z], [dx, dy, dz])`")
            }
            Self::MeshUnit { asked: true, .. } => {
                finding.hint("add `unit: \"mm\"`, or \"cm\", \"m\" or \"inch\"")
            }
            Self::MeshUnit { .. } => finding.hint("leave `unit` out"),
            Self::MeshNotGiven { .. } => {
                finding.hint("put the file beside the script, or beside the history")
            }
            Self::MeshChanged { .. } => {
                finding.hint("run the script again if the new file is right, or bring the old one back")
            }
            Self::Mesh { fault, .. } => match fault.hint() {
                Some(hint) => finding.hint(hint),
                None => finding,
            },
        }
    }

    fn code(&self) -> &'static str {
        match self {
            Self::Name(_) => "history::bad_name",
            Self::NameTwice { .. } => "history::name_used_twice",
            Self::Size { .. } => "history::neighbour_size",
            Self::Direction { .. } => "history::neighbour_direction",
            Self::UnknownFastener(_) => "history::unknown_fastener",
            Self::BoltTooShort { .. } => "history::bolt_too_short",
            Self::NoNut { .. } => "history::no_nut",
            Self::TooFewWheels { .. } => "history::too_few_wheels",
            Self::WheelBeside { .. } => "history::wheel_beside",
            Self::UnknownNeighbour { .. } => "history::unknown_neighbour",
            Self::NotABolt { .. } => "history::not_a_bolt",
            Self::UnknownThing { .. } => "history::unknown_neighbour_thing",
            Self::TwoGroups { .. } => "history::two_groups",
            Self::NoOwnAxis { .. } => "history::no_own_axis",
            Self::MeshUnit { .. } => "history::mesh_unit",
            Self::MeshNotGiven { .. } => "history::mesh_not_given",
            Self::MeshChanged { .. } => "history::mesh_changed",
            Self::Mesh { .. } => "machine::mesh_unreadable",
        }
    }
}

fn list<T: AsRef<str>>(items: &[T]) -> String {
    items.iter().map(|item| format!("`{}`", item.as_ref())).collect::<Vec<_>>().join(", ")
}
