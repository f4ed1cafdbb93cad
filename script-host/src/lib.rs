//! Script host.
