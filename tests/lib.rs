//! Shared readers for the replays and reference checks in this folder.
