//! Lasting names of panels and edges: `cheek`, `cheek.left`, `cheek.left/tip`.
//!
//! Invariant: a name is made of the feature's name and roles, never of a running number, so that it stays
//! the same when sizes change or a feature is inserted before. Characters: letters, digits, `_`, `-`;
//! `.` joins panel roles, `/` an edge role.

use std::fmt;

use serde::{Deserialize, Serialize};
use thiserror::Error;

/// Name of a panel: the feature's name, followed by roles where one feature makes several panels.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(try_from = "String", into = "String")]
pub struct PanelName(String);

/// Name of an edge of a panel: the panel and the edge's role in it.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(try_from = "String", into = "String")]
pub struct EdgeName {
    /// The panel.
    pub panel: PanelName,
    /// Role of the edge in the panel, for example `tip` or `front`.
    pub role: String,
}

/// Why a text is not a name.
#[derive(Clone, Debug, PartialEq, Eq, Error)]
pub enum NameError {
    /// Nothing where a name belongs.
    #[error("a name is empty")]
    Empty,
    /// A character that names may not have.
    #[error("the name `{name}` has the character `{character}`; letters, digits, `_` and `-` are allowed")]
    Character {
        /// The name.
        name: String,
        /// The character.
        character: char,
    },
    /// An edge name without the stroke that parts panel and edge.
    #[error("`{name}` is not `panel/edge`")]
    NoStroke {
        /// The name.
        name: String,
    },
}

/// Checks the name of a feature, an edge role or a free number.
///
/// # Errors
/// [`NameError`] if it is empty or has a character other than letters, digits, `_` and `-`.
pub fn check_plain_name(name: &str) -> Result<(), NameError> {
    if name.is_empty() {
        return Err(NameError::Empty);
    }
    match name.chars().find(|c| !c.is_alphanumeric() && !matches!(c, '_' | '-')) {
        Some(character) => Err(NameError::Character { name: name.to_owned(), character }),
        None => Ok(()),
    }
}

impl PanelName {
    /// Checks a text such as `cheek.left`.
    ///
    /// # Errors
    /// [`NameError`] if a part between the dots is not a plain name.
    pub fn new(name: &str) -> Result<Self, NameError> {
        name.split('.').try_for_each(check_plain_name)?;
        Ok(Self(name.to_owned()))
    }

    /// Name of the panel that a flange feature makes on `edge`: the feature's own name if it stands on this
    /// edge alone, otherwise followed by the parent's roles and then the edge's, unless that is a tip. So a
    /// chain of flanges keeps its word: `cheek.left`, `lip.left`, `hem.left`.
    ///
    /// # Errors
    /// [`NameError`] if the feature's name is not a plain name.
    pub fn of_flange(feature: &str, edge: &EdgeName, alone: bool) -> Result<Self, NameError> {
        check_plain_name(feature)?;
        if alone {
            return Ok(Self(feature.to_owned()));
        }
        let inherited = edge.panel.roles();
        let own = if edge.role == "tip" && !inherited.is_empty() { "" } else { &edge.role };
        let parts = [feature, inherited, own];
        Ok(Self(parts.into_iter().filter(|p| !p.is_empty()).collect::<Vec<_>>().join(".")))
    }

    /// The text.
    #[must_use]
    pub fn as_str(&self) -> &str {
        &self.0
    }

    /// The edge of this panel with the given role.
    #[must_use]
    pub fn edge(&self, role: &str) -> EdgeName {
        EdgeName { panel: self.clone(), role: role.to_owned() }
    }

    /// The piece of the feature with the given role, for example the `web` of an offset.
    #[must_use]
    pub fn piece(&self, role: &str) -> Self {
        Self(format!("{self}.{role}"))
    }

    /// The roles after the feature's name: `left` for `cheek.left`, empty for `cheek`.
    #[must_use]
    pub fn roles(&self) -> &str {
        self.0.split_once('.').map_or("", |(_, roles)| roles)
    }
}

impl EdgeName {
    /// Checks a text such as `cheek.left/tip`.
    ///
    /// # Errors
    /// [`NameError`] if it is not a panel name and a plain name with a stroke between.
    pub fn new(name: &str) -> Result<Self, NameError> {
        let Some((panel, role)) = name.split_once('/') else {
            return Err(NameError::NoStroke { name: name.to_owned() });
        };
        check_plain_name(role)?;
        Ok(PanelName::new(panel)?.edge(role))
    }
}

impl fmt::Display for PanelName {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.0)
    }
}

impl fmt::Display for EdgeName {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}/{}", self.panel, self.role)
    }
}

impl TryFrom<String> for PanelName {
    type Error = NameError;
    fn try_from(text: String) -> Result<Self, NameError> {
        Self::new(&text)
    }
}

impl From<PanelName> for String {
    fn from(name: PanelName) -> Self {
        name.0
    }
}

impl TryFrom<String> for EdgeName {
    type Error = NameError;
    fn try_from(text: String) -> Result<Self, NameError> {
        Self::new(&text)
    }
}

impl From<EdgeName> for String {
    fn from(name: EdgeName) -> Self {
        name.to_string()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn names_are_read_and_written_alike() {
        let edge = EdgeName::new("cheek.left/tip").unwrap();
        assert_eq!(edge.panel.roles(), "left");
        assert_eq!(edge.to_string(), "cheek.left/tip");
        assert_eq!(PanelName::new("cheek").unwrap().roles(), "");
    }

    #[test]
    fn malformed_names_are_refused() {
        assert_eq!(EdgeName::new("cheek"), Err(NameError::NoStroke { name: "cheek".into() }));
        assert_eq!(PanelName::new("a..b"), Err(NameError::Empty));
        assert_eq!(
            PanelName::new("left wall"),
            Err(NameError::Character { name: "left wall".into(), character: ' ' })
        );
    }
}
