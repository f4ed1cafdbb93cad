//! Reaching around an edge with the arm held back: ISO 13857 table 3. Invariant: more support, less reach.

use crate::quantity::Length;

use super::source::{Source, Status};

/// Where the guard stops the arm.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum ArmSupport {
    /// Only at shoulder and armpit.
    ShoulderAndArmpit,
    /// Held up to the elbow.
    ToElbow,
    /// Held up to the wrist.
    ToWrist,
    /// Arm and hand held up to the knuckles.
    ToKnuckles,
}

const SOURCE: Source = Source {
    title: "ISO 13857 table 3, reaching around",
    edition: "2008 / 2019",
    read: "not read",
    status: Status::FromMemory,
    disagreement: "",
};

/// Distance that is out of reach, with its source.
#[must_use]
pub fn reach_around(support: ArmSupport) -> (Length, &'static Source) {
    let mm = match support {
        ArmSupport::ShoulderAndArmpit => 850.0,
        ArmSupport::ToElbow => 550.0,
        ArmSupport::ToWrist => 230.0,
        ArmSupport::ToKnuckles => 130.0,
    };
    (Length::mm(mm), &SOURCE)
}
